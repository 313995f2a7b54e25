/* What covers what in front. Every item has covers: its bezel, knobs and levers with their travel,
 * heads of screws and rivets. Items are swept from left to right by the box around all their
 * covers; covers of two items must keep the usual gap, and between two things that fingers move the
 * larger of their rooms as well. An item's own knobs must leave its screw heads free. */
#include "panel/checks.h"

#include <math.h>
#include <stdlib.h>

#include "model/report.h"

static const double SLACK_MM = 1e-6;

typedef enum CoverKind { COVER_BEZEL, COVER_FRONT, COVER_HEAD } CoverKind;

typedef struct Cover {
    CoverKind kind;
    PanelContour contour;
    double room_mm;
    const char *name;
} Cover;

typedef struct Covered {
    uint32_t item;
    uint32_t first; /* into covers */
    uint32_t count;
    PanelBox box;
    double room_mm; /* largest of its covers */
} Covered;

typedef struct Fronts {
    PanelChecking *checking;
    Cover *covers;
    uint32_t cover_count;
    Covered *items; /* of one face, by left end of their boxes */
    uint32_t item_count;
    double gap_mm;
} Fronts;

static void add_cover(Fronts *fronts, Covered *covered, Cover cover) {
    fronts->covers[fronts->cover_count++] = cover;
    covered->box =
        covered->count == 0 ? cover.contour.box : panel_box_around(covered->box, cover.contour.box);
    covered->room_mm = fmax(covered->room_mm, cover.room_mm);
    covered->count++;
}

static void cover_item(Fronts *fronts, uint32_t id) {
    const Panel *panel = fronts->checking->panel;
    const PanelItem *item = &panel->items[id];
    Covered *covered = &fronts->items[fronts->item_count++];
    *covered = (Covered){.item = id, .first = fronts->cover_count};
    add_cover(fronts, covered, (Cover){COVER_BEZEL, item->bezel, 0.0, "bezel"});
    for (uint32_t i = item->front_first; i < item->front_first + item->front_count; i++) {
        const PanelFront *front = &panel->fronts[i];
        const CutoutFrontRow *row = &panel->model->set->cutout_front.rows[front->row];
        if (front->high_mm > 0.0) {
            add_cover(fronts, covered,
                      (Cover){COVER_FRONT, front->contour, front->room_mm, row->kind});
        }
    }
    for (uint32_t i = item->hole_first; i < item->hole_first + item->hole_count; i++) {
        const PanelHole *hole = &panel->holes[i];
        if (hole->head_mm > 0.0) {
            PanelContour head = panel_circle(fronts->checking->out, hole->centre, hole->head_mm);
            add_cover(fronts, covered,
                      (Cover){COVER_HEAD, head, 0.0,
                              hole->kind == PANEL_RIVET ? "rivet head" : "screw head"});
        }
    }
}

static int compare_covered(const void *left, const void *right) {
    const Covered *a = left;
    const Covered *b = right;
    if (a->box.u0_mm != b->box.u0_mm) {
        return a->box.u0_mm < b->box.u0_mm ? -1 : 1;
    }
    return a->item < b->item ? -1 : a->item > b->item;
}

static void report(Fronts *fronts, const Covered *a, const Cover *cover_a, const Covered *b,
                   const Cover *cover_b, double mm, double least_mm) {
    const Panel *panel = fronts->checking->panel;
    bool swapped = b->item < a->item;
    const char *key_a = panel->items[swapped ? b->item : a->item].key;
    const char *key_b = panel->items[swapped ? a->item : b->item].key;
    const char *name_a = swapped ? cover_b->name : cover_a->name;
    const char *name_b = swapped ? cover_a->name : cover_b->name;
    uint32_t item = swapped ? b->item : a->item;
    bool fingers = cover_a->kind == COVER_FRONT && cover_b->kind == COVER_FRONT;
    Finding *finding =
        mm > 0.0
            ? panel_report_item(fronts->checking, RULE_PANEL_FRONT, item, "",
                                "%.2f mm between the %s of %s and the %s of %s; at least %.2f mm%s",
                                mm, name_a, key_a, name_b, key_b, least_mm,
                                fingers ? " for fingers" : "")
            : panel_report_item(fronts->checking, RULE_PANEL_FRONT, item, "",
                                "the %s of %s and the %s of %s overlap", name_a, key_a, name_b,
                                key_b);
    panel_values(fronts->checking, finding, mm, least_mm, "mm", "panel_front");
    finding->rows = arena_format(fronts->checking->findings->arena, "%s %s", key_a, key_b);
    finding->hint = "move one of them, or take parts with a smaller front";
}

static void check_covers(Fronts *fronts, const Covered *a, const Covered *b) {
    for (uint32_t i = a->first; i < a->first + a->count; i++) {
        for (uint32_t j = b->first; j < b->first + b->count; j++) {
            const Cover *cover_a = &fronts->covers[i];
            const Cover *cover_b = &fronts->covers[j];
            double least_mm = fronts->gap_mm;
            if (cover_a->kind == COVER_FRONT && cover_b->kind == COVER_FRONT) {
                least_mm = fmax(least_mm, fmax(cover_a->room_mm, cover_b->room_mm));
            }
            if (panel_box_gap_mm(&cover_a->contour.box, &cover_b->contour.box) > least_mm) {
                continue;
            }
            fronts->checking->checks->measured++;
            double mm =
                panel_area_distance_mm(&cover_a->contour, &cover_b->contour, least_mm, NULL, NULL);
            if (mm < least_mm - SLACK_MM) {
                report(fronts, a, cover_a, b, cover_b, mm, least_mm);
            }
        }
    }
}

/* A knob over a screw head of its own item: no driver gets at it. */
static void check_own(Fronts *fronts, const Covered *covered) {
    const Panel *panel = fronts->checking->panel;
    for (uint32_t i = covered->first; i < covered->first + covered->count; i++) {
        for (uint32_t j = covered->first; j < covered->first + covered->count; j++) {
            const Cover *front = &fronts->covers[i];
            const Cover *head = &fronts->covers[j];
            if (front->kind != COVER_FRONT || head->kind != COVER_HEAD ||
                panel_area_distance_mm(&front->contour, &head->contour, SLACK_MM, NULL, NULL) >
                    0.0) {
                continue;
            }
            const char *key = panel->items[covered->item].key;
            Finding *finding = panel_report_item(fronts->checking, RULE_PANEL_FRONT, covered->item,
                                                 "cutout", "the %s of %s hides one of its own %ss",
                                                 front->name, key, head->name);
            panel_values(fronts->checking, finding, 0.0, 0.0, "mm", NULL);
            finding->rows = key;
        }
    }
}

static void check_face(PanelChecking *checking, const PanelFace *face) {
    const Panel *panel = checking->panel;
    uint32_t covers = face->item_count + face->hole_count;
    for (uint32_t i = face->item_first; i < face->item_first + face->item_count; i++) {
        covers += panel->items[i].front_count;
    }
    Fronts fronts = {
        .checking = checking,
        .covers = ARENA_ARRAY(checking->out, Cover, covers),
        .items = ARENA_ARRAY(checking->out, Covered, face->item_count),
        .gap_mm = model_limit(panel->model, "panel_front"),
    };
    double room_mm = fronts.gap_mm;
    for (uint32_t i = face->item_first; i < face->item_first + face->item_count; i++) {
        cover_item(&fronts, i);
        room_mm = fmax(room_mm, fronts.items[fronts.item_count - 1].room_mm);
    }
    if (fronts.item_count == 0) {
        return;
    }
    qsort(fronts.items, fronts.item_count, sizeof *fronts.items, compare_covered);
    for (uint32_t i = 0; i < fronts.item_count; i++) {
        const Covered *covered = &fronts.items[i];
        check_own(&fronts, covered);
        for (uint32_t j = i + 1; j < fronts.item_count; j++) {
            const Covered *other = &fronts.items[j];
            if (other->box.u0_mm - covered->box.u1_mm > room_mm) {
                break;
            }
            double need_mm = fmax(fronts.gap_mm, fmax(covered->room_mm, other->room_mm));
            if (panel_box_gap_mm(&covered->box, &other->box) <= need_mm) {
                check_covers(&fronts, covered, other);
            }
        }
    }
}

void panel_check_front(PanelChecking *checking) {
    for (uint32_t i = 0; i < checking->panel->face_count; i++) {
        check_face(checking, &checking->panel->faces[i]);
    }
}
