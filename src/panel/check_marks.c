/* What is engraved must be seen whole. The ink of every legend (true outlines of its letters) is
 * held against what covers or cuts the sheet around it: openings, bezels, knobs and levers with
 * their travel, heads of screws and rivets, painted bands, bends, the edge, and the ink of other
 * legends. Obstacles are sorted by their left end; a legend looks at those within its gap only, and
 * its outlines are moved to their place when the first box comes that near. */
#include "panel/checks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"

static const double SLACK_MM = 1e-6;

typedef struct Obstacle {
    PanelContour contour;
    uint32_t item; /* ID_NONE: a free opening */
    const char *name;
} Obstacle;

typedef struct Mark {
    uint32_t text;
    PanelBox box;
    PanelContour *contours; /* NULL until somebody comes near */
} Mark;

typedef struct Marks {
    PanelChecking *checking;
    Obstacle *obstacles; /* by left end */
    uint32_t obstacle_count, obstacle_capacity;
    double *right_mm; /* by obstacle: largest right end of it and those before it */
    Mark *marks;      /* by left end */
    uint32_t mark_count;
    double gap_mm;
} Marks;

/* --- ink ----------------------------------------------------------------------------------------
 */

static const PanelInk *ink_of(const Panel *panel, uint32_t text) {
    return &panel->ink[panel->texts[text].row];
}

static void place_ink(const Marks *marks, Mark *mark) {
    if (mark->contours != NULL) {
        return;
    }
    const Panel *panel = marks->checking->panel;
    const PanelInk *ink = ink_of(panel, mark->text);
    const PanelText *text = &panel->texts[mark->text];
    Arena *out = marks->checking->out;
    mark->contours = ARENA_ARRAY(out, PanelContour, ink->count);
    for (uint32_t i = 0; i < ink->count; i++) {
        mark->contours[i] =
            panel_contour_moved(out, &ink->contours[i], text->rotation_rad, text->at);
    }
}

static void add_mark(Marks *marks, uint32_t text) {
    const Panel *panel = marks->checking->panel;
    const PanelInk *ink = ink_of(panel, text);
    if (ink->count == 0) {
        return;
    }
    marks->marks[marks->mark_count++] =
        (Mark){.text = text, .box = panel_text_box(marks->checking->out, panel, text)};
}

static int compare_marks(const void *left, const void *right) {
    const Mark *a = left;
    const Mark *b = right;
    if (a->box.u0_mm != b->box.u0_mm) {
        return a->box.u0_mm < b->box.u0_mm ? -1 : 1;
    }
    return a->text < b->text ? -1 : a->text > b->text;
}

/* From ink to an area, or to its line alone; never looks further than the gap. */
static double ink_mm(const Marks *marks, Mark *mark, const PanelContour *other, bool line) {
    place_ink(marks, mark);
    const PanelInk *ink = ink_of(marks->checking->panel, mark->text);
    double least_mm = INFINITY;
    for (uint32_t i = 0; i < ink->count; i++) {
        const PanelContour *contour = &mark->contours[i];
        if (panel_box_gap_mm(&contour->box, &other->box) > marks->gap_mm) {
            continue;
        }
        double mm = line || ink->hollow
                        ? panel_contour_distance_mm(contour, other, marks->gap_mm, NULL, NULL)
                        : panel_area_distance_mm(contour, other, marks->gap_mm, NULL, NULL);
        least_mm = fmin(least_mm, mm);
    }
    return least_mm;
}

/* --- obstacles ----------------------------------------------------------------------------------
 */

static void add_obstacle(Marks *marks, PanelContour contour, uint32_t item, const char *name) {
    size_t count = marks->obstacle_count;
    size_t capacity = marks->obstacle_capacity;
    *ARENA_PUSH(marks->checking->out, marks->obstacles, count, capacity) =
        (Obstacle){contour, item, name};
    marks->obstacle_count = (uint32_t)count;
    marks->obstacle_capacity = (uint32_t)capacity;
}

static void find_obstacles(Marks *marks, const PanelFace *face) {
    PanelChecking *checking = marks->checking;
    const Panel *panel = checking->panel;
    for (uint32_t i = face->hole_first; i < face->hole_first + face->hole_count; i++) {
        const PanelHole *hole = &panel->holes[i];
        add_obstacle(marks, hole->contour, hole->item,
                     hole->kind == PANEL_OPENING ? "opening" : "hole");
        if (hole->head_mm > 0.0) {
            add_obstacle(marks, panel_circle(checking->out, hole->centre, hole->head_mm),
                         hole->item, hole->kind == PANEL_RIVET ? "rivet head" : "screw head");
        }
    }
    for (uint32_t i = face->item_first; i < face->item_first + face->item_count; i++) {
        const PanelItem *item = &panel->items[i];
        add_obstacle(marks, item->bezel, i, "bezel");
        for (uint32_t j = item->front_first; j < item->front_first + item->front_count; j++) {
            if (panel->fronts[j].high_mm > 0.0) {
                add_obstacle(marks, panel->fronts[j].contour, i,
                             panel->model->set->cutout_front.rows[panel->fronts[j].row].kind);
            }
        }
    }
    const TableSet *set = panel->model->set;
    for (uint32_t i = 0; i < set->panel_coat.count; i++) {
        PanelContour band;
        uint32_t item = ID_NONE;
        if (strcmp(set->panel_coat.rows[i].face, face->key) == 0 &&
            panel_band(checking->out, panel, i, &band, &item)) {
            add_obstacle(marks, band, item, "band");
        }
    }
}

static int compare_obstacles(const void *left, const void *right) {
    const Obstacle *a = left;
    const Obstacle *b = right;
    if (a->contour.box.u0_mm != b->contour.box.u0_mm) {
        return a->contour.box.u0_mm < b->contour.box.u0_mm ? -1 : 1;
    }
    if (a->item != b->item) {
        return a->item < b->item ? -1 : 1;
    }
    return strcmp(a->name, b->name);
}

static void sort_obstacles(Marks *marks) {
    if (marks->obstacle_count > 1) {
        qsort(marks->obstacles, marks->obstacle_count, sizeof *marks->obstacles, compare_obstacles);
    }
    marks->right_mm = ARENA_ARRAY(marks->checking->out, double, marks->obstacle_count);
    double right_mm = -INFINITY;
    for (uint32_t i = 0; i < marks->obstacle_count; i++) {
        right_mm = fmax(right_mm, marks->obstacles[i].contour.box.u1_mm);
        marks->right_mm[i] = right_mm;
    }
}

/* The first obstacle that reaches as far right as u. */
static uint32_t first_reaching(const Marks *marks, double u_mm) {
    uint32_t low = 0;
    uint32_t high = marks->obstacle_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (marks->right_mm[middle] < u_mm) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* --- findings -----------------------------------------------------------------------------------
 */

/* The words, or what the symbol is. */
static const char *words_of(const Marks *marks, uint32_t text) {
    const Panel *panel = marks->checking->panel;
    const LegendRow *row = &panel->model->set->legend.rows[panel->texts[text].row];
    return arena_format(marks->checking->findings->arena,
                        *row->symbol == '\0' ? "\"%s\"" : "the %s",
                        *row->symbol == '\0' ? row->text : row->symbol);
}

static void report(const Marks *marks, uint32_t text, double mm, const char *what,
                   const char *rows) {
    PanelChecking *checking = marks->checking;
    const Panel *panel = checking->panel;
    const char *words = words_of(marks, text);
    Finding *finding =
        mm > 0.0
            ? report_row(checking->findings, panel->model, RULE_PANEL_MARK, TABLE_legend,
                         panel->texts[text].row, "", "%.2f mm between %s and %s; at least %.2f mm",
                         mm, words, what, marks->gap_mm)
            : report_row(checking->findings, panel->model, RULE_PANEL_MARK, TABLE_legend,
                         panel->texts[text].row, "", "%s runs into %s", words, what);
    panel_values(checking, finding, mm, marks->gap_mm, "mm", "panel_mark");
    finding->rows = rows;
    report_hint(checking->findings, finding,
                "move it by %.2f mm or more, break it into lines with a stroke, or write less",
                marks->gap_mm - mm);
}

/* --- checks -------------------------------------------------------------------------------------
 */

/* The nearest obstacle of every item is named, free openings each. */
static void check_obstacles(Marks *marks, Mark *mark) {
    PanelChecking *checking = marks->checking;
    const Panel *panel = checking->panel;
    enum { NEAR_MOST = 64 };
    struct {
        uint32_t item;
        const char *name;
        double mm;
    } near[NEAR_MOST] = {0};
    uint32_t count = 0;
    for (uint32_t i = first_reaching(marks, mark->box.u0_mm - marks->gap_mm);
         i < marks->obstacle_count; i++) {
        const Obstacle *obstacle = &marks->obstacles[i];
        if (obstacle->contour.box.u0_mm > mark->box.u1_mm + marks->gap_mm) {
            break;
        }
        if (panel_box_gap_mm(&mark->box, &obstacle->contour.box) > marks->gap_mm) {
            continue;
        }
        double mm = ink_mm(marks, mark, &obstacle->contour, false);
        if (!(mm < marks->gap_mm - SLACK_MM)) {
            continue;
        }
        uint32_t at = 0;
        while (at < count && (near[at].item != obstacle->item || obstacle->item == ID_NONE)) {
            at++;
        }
        if (at == NEAR_MOST) {
            continue; /* a legend across so many items is told of often enough */
        }
        if (at == count || mm < near[at].mm) {
            near[at].item = obstacle->item;
            near[at].name = obstacle->name;
            near[at].mm = mm;
        }
        count = at == count ? count + 1 : count;
    }
    Arena *arena = checking->findings->arena;
    for (uint32_t i = 0; i < count; i++) {
        const char *key = near[i].item == ID_NONE ? "" : panel->items[near[i].item].key;
        report(marks, mark->text, near[i].mm,
               near[i].item == ID_NONE ? "a free opening"
               : strcmp(near[i].name, "band") == 0
                   ? arena_format(arena, "the band around %s", key)
                   : arena_format(arena, "the %s of %s", near[i].name, key),
               key);
    }
}

static void check_sheet(Marks *marks, Mark *mark, const PanelFace *face) {
    const Panel *panel = marks->checking->panel;
    const PanelBox *box = &mark->box;
    const PanelBox *sheet = &face->outline.box;
    double mm = INFINITY;
    bool within = box->u0_mm >= sheet->u0_mm && box->u1_mm <= sheet->u1_mm &&
                  box->v0_mm >= sheet->v0_mm && box->v1_mm <= sheet->v1_mm;
    if (within) {
        place_ink(marks, mark);
        within = panel_contour_holds(&face->outline, mark->contours[0].pieces[0].from);
        mm = ink_mm(marks, mark, &face->outline, true);
    }
    if (!within || mm < marks->gap_mm - SLACK_MM) {
        report(marks, mark->text, within ? mm : 0.0, "the edge of the sheet", face->key);
    }
    for (uint32_t i = face->bend_first; i < face->bend_first + face->bend_count; i++) {
        PanelPiece line = panel_line(panel->bends[i].from, panel->bends[i].to);
        PanelContour bend = {&line, 1, line.box};
        mm = panel_box_gap_mm(box, &line.box) > marks->gap_mm ? (double)INFINITY
                                                              : ink_mm(marks, mark, &bend, true);
        if (mm < marks->gap_mm - SLACK_MM) {
            report(marks, mark->text, mm, "a bend",
                   panel->model->set->panel_bend.rows[panel->bends[i].row].bend);
        }
    }
}

static void check_pair(Marks *marks, Mark *a, Mark *b) {
    if (b->text < a->text) {
        Mark *first = b;
        b = a;
        a = first;
    }
    const Panel *panel = marks->checking->panel;
    const PanelInk *ink = ink_of(panel, b->text);
    place_ink(marks, b);
    double mm = INFINITY;
    for (uint32_t i = 0; i < ink->count; i++) {
        if (panel_box_gap_mm(&a->box, &b->contours[i].box) <= marks->gap_mm) {
            mm = fmin(mm, ink_mm(marks, a, &b->contours[i], ink->hollow));
        }
    }
    if (mm < marks->gap_mm - SLACK_MM) {
        report(marks, a->text, mm, words_of(marks, b->text),
               panel->model->set->legend.rows[panel->texts[b->text].row].legend);
    }
}

static void check_face(PanelChecking *checking, const PanelFace *face) {
    const Panel *panel = checking->panel;
    Marks marks = {
        .checking = checking,
        .marks = ARENA_ARRAY(checking->out, Mark, face->text_count),
        .gap_mm = model_limit(panel->model, "panel_mark"),
    };
    for (uint32_t i = face->text_first; i < face->text_first + face->text_count; i++) {
        add_mark(&marks, i);
    }
    if (marks.mark_count == 0) {
        return;
    }
    qsort(marks.marks, marks.mark_count, sizeof *marks.marks, compare_marks);
    find_obstacles(&marks, face);
    sort_obstacles(&marks);
    for (uint32_t i = 0; i < marks.mark_count; i++) {
        Mark *mark = &marks.marks[i];
        check_obstacles(&marks, mark);
        check_sheet(&marks, mark, face);
        for (uint32_t j = i + 1; j < marks.mark_count; j++) {
            Mark *other = &marks.marks[j];
            if (other->box.u0_mm - mark->box.u1_mm > marks.gap_mm) {
                break;
            }
            if (panel_box_gap_mm(&mark->box, &other->box) <= marks.gap_mm) {
                check_pair(&marks, mark, other);
            }
        }
    }
}

void panel_check_marks(PanelChecking *checking) {
    for (uint32_t i = 0; checking->panel->ink != NULL && i < checking->panel->face_count; i++) {
        check_face(checking, &checking->panel->faces[i]);
    }
}
