/* Metal between holes. Holes of a face are sorted by their left end; for each, those to its right
 * that begin within the largest limit are measured, box first, then curve by curve. The nearest
 * neighbours for the result table are found by walking left and right until nothing nearer can
 * come. */
#include "panel/checks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "model/report.h"

/* Distances within this of a limit keep it: what rounding of a place in a table can do. */
static const double SLACK_MM = 1e-6;

typedef struct Sweep {
    PanelChecking *checking;
    const Panel *panel;
    const PanelFace *face;
    uint32_t *order;     /* holes by left end */
    uint32_t openings;   /* holes of the face that are openings; the others are screws and rivets */
    double *right_mm;    /* by place in `order`: the furthest right end of it and those before */
    double web_mm;       /* between openings */
    double web_screw_mm; /* beside a screw or rivet hole */
    double edge_mm;
    double edge_screw; /* x diameter */
    double bend_mm;
} Sweep;

typedef struct Place {
    double left_mm;
    uint32_t hole;
} Place;

static int compare_places(const void *left, const void *right) {
    const Place *a = left;
    const Place *b = right;
    if (a->left_mm != b->left_mm) {
        return a->left_mm < b->left_mm ? -1 : 1;
    }
    return a->hole < b->hole ? -1 : a->hole > b->hole;
}

static void sort_holes(Sweep *sweep) {
    const PanelFace *face = sweep->face;
    Arena *out = sweep->checking->out;
    Place *places = ARENA_ARRAY(out, Place, face->hole_count);
    sweep->order = ARENA_ARRAY(out, uint32_t, face->hole_count);
    sweep->right_mm = ARENA_ARRAY(out, double, face->hole_count);
    for (uint32_t i = 0; i < face->hole_count; i++) {
        uint32_t hole = face->hole_first + i;
        places[i] = (Place){sweep->panel->holes[hole].contour.box.u0_mm, hole};
    }
    qsort(places, face->hole_count, sizeof *places, compare_places);
    double right_mm = -INFINITY;
    for (uint32_t i = 0; i < face->hole_count; i++) {
        sweep->order[i] = places[i].hole;
        right_mm = fmax(right_mm, sweep->panel->holes[places[i].hole].contour.box.u1_mm);
        sweep->openings += sweep->panel->holes[places[i].hole].kind == PANEL_OPENING;
        sweep->right_mm[i] = right_mm;
    }
}

static double limit_mm(const Sweep *sweep, const PanelHole *a, const PanelHole *b) {
    bool openings = a->kind == PANEL_OPENING && b->kind == PANEL_OPENING;
    return openings ? sweep->web_mm : sweep->web_screw_mm;
}

/* --- too little -------------------------------------------------------------------------------
 */

static const char *hole_name(const Sweep *sweep, uint32_t hole) {
    return panel_hole_name(sweep->panel, sweep->checking->findings->arena, hole);
}

static void report_pair(Sweep *sweep, uint32_t a, uint32_t b, double distance_mm, double least_mm) {
    const PanelHole *hole = &sweep->panel->holes[a];
    const PanelHole *other = &sweep->panel->holes[b];
    bool openings = hole->kind == PANEL_OPENING && other->kind == PANEL_OPENING;
    const char *name_a = hole_name(sweep, a);
    const char *name_b = hole_name(sweep, b);
    Finding *finding =
        distance_mm > 0.0
            ? panel_report_hole(sweep->checking, RULE_PANEL_WEB, a,
                                "%.2f mm of metal between %s and %s; at least %.2f mm", distance_mm,
                                name_a, name_b, least_mm)
            : panel_report_hole(sweep->checking, RULE_PANEL_WEB, a, "%s and %s run into each other",
                                name_a, name_b);
    panel_values(sweep->checking, finding, distance_mm, least_mm, "mm",
                 openings ? "panel_web" : "panel_web_screw");
    finding->rows = arena_format(sweep->checking->findings->arena, "%s %s", name_a, name_b);
    report_hint(sweep->checking->findings, finding, "move one of them by %.2f mm or more",
                least_mm - distance_mm);
}

static void check_pairs(Sweep *sweep) {
    const PanelHole *holes = sweep->panel->holes;
    double reach_mm = fmax(sweep->web_mm, sweep->web_screw_mm);
    for (uint32_t i = 0; i < sweep->face->hole_count; i++) {
        const PanelHole *hole = &holes[sweep->order[i]];
        for (uint32_t j = i + 1; j < sweep->face->hole_count; j++) {
            const PanelHole *other = &holes[sweep->order[j]];
            if (other->contour.box.u0_mm - hole->contour.box.u1_mm > reach_mm) {
                break;
            }
            double least_mm = limit_mm(sweep, hole, other);
            if (panel_box_gap_mm(&hole->contour.box, &other->contour.box) > least_mm) {
                continue;
            }
            sweep->checking->checks->measured++;
            double mm =
                panel_area_distance_mm(&hole->contour, &other->contour, least_mm, NULL, NULL);
            if (mm < least_mm - SLACK_MM) {
                uint32_t a = sweep->order[i];
                uint32_t b = sweep->order[j];
                report_pair(sweep, a < b ? a : b, a < b ? b : a, mm, least_mm);
            }
        }
    }
}

/* --- edge and bends ---------------------------------------------------------------------------
 */

static double edge_limit_mm(const Sweep *sweep, const PanelHole *hole) {
    return hole->kind == PANEL_OPENING ? sweep->edge_mm : sweep->edge_screw * hole->diameter_mm;
}

static PanelWeb *add_web(Sweep *sweep) {
    PanelChecks *checks = sweep->checking->checks;
    return ARENA_PUSH(sweep->checking->out, checks->webs, checks->web_count, checks->web_capacity);
}

static void check_edge(Sweep *sweep, uint32_t id) {
    const PanelHole *hole = &sweep->panel->holes[id];
    double least_mm = edge_limit_mm(sweep, hole);
    double reach_mm = sweep->checking->figures ? (double)INFINITY : least_mm;
    PanelPoint at = hole->contour.pieces[0].from;
    sweep->checking->checks->measured++;
    double mm =
        panel_contour_distance_mm(&hole->contour, &sweep->face->outline, reach_mm, &at, NULL);
    bool inside = panel_contour_holds(&sweep->face->outline, hole->contour.pieces[0].from);
    if (!inside) {
        mm = 0.0;
    }
    if (sweep->checking->figures) {
        *add_web(sweep) = (PanelWeb){id, PANEL_TO_EDGE, ID_NONE, mm, least_mm, at};
    }
    if (!(mm < least_mm - SLACK_MM)) {
        return;
    }
    const char *name = hole_name(sweep, id);
    Finding *finding =
        mm > 0.0 ? panel_report_hole(sweep->checking, RULE_PANEL_EDGE, id,
                                     "%s is %.2f mm from the edge of %s; at least %.2f mm", name,
                                     mm, sweep->face->key, least_mm)
                 : panel_report_hole(sweep->checking, RULE_PANEL_EDGE, id,
                                     "%s reaches over the edge of %s", name, sweep->face->key);
    panel_values(sweep->checking, finding, mm, least_mm, "mm",
                 hole->kind == PANEL_OPENING ? "panel_edge" : "panel_edge_screw");
    finding->rows = name;
    report_hint(sweep->checking->findings, finding, "move it inwards by %.2f mm or more",
                least_mm - mm);
}

static void check_bends(Sweep *sweep, uint32_t id) {
    const PanelFace *face = sweep->face;
    const PanelHole *hole = &sweep->panel->holes[id];
    for (uint32_t i = face->bend_first; i < face->bend_first + face->bend_count; i++) {
        const PanelBend *bend = &sweep->panel->bends[i];
        PanelPiece line = panel_line(bend->from, bend->to);
        PanelContour contour = {&line, 1, line.box};
        double mm =
            panel_contour_holds(&hole->contour, bend->from)
                ? 0.0
                : panel_contour_distance_mm(&hole->contour, &contour, sweep->bend_mm, NULL, NULL);
        if (!(mm < sweep->bend_mm - SLACK_MM)) {
            continue;
        }
        const PanelBendRow *row = &sweep->panel->model->set->panel_bend.rows[bend->row];
        const char *name = hole_name(sweep, id);
        Finding *finding =
            panel_report_hole(sweep->checking, RULE_PANEL_BEND, id,
                              "%s is %.2f mm from bend %s; at least %.2f mm, or it is drawn out of "
                              "shape",
                              name, mm, row->bend, sweep->bend_mm);
        panel_values(sweep->checking, finding, mm, sweep->bend_mm, "mm", "panel_bend");
        finding->rows = arena_format(sweep->checking->findings->arena, "%s %s", name, row->bend);
    }
}

/* --- nearest ----------------------------------------------------------------------------------
 */

static void take_nearer(const Sweep *sweep, uint32_t id, uint32_t other_id, PanelWeb nearest[2]) {
    const PanelHole *hole = &sweep->panel->holes[id];
    const PanelHole *other = &sweep->panel->holes[other_id];
    PanelWeb *web = &nearest[other->kind == PANEL_OPENING ? 0 : 1];
    PanelPoint at;
    double mm =
        panel_area_distance_mm(&hole->contour, &other->contour, web->distance_mm, &at, NULL);
    if (mm < web->distance_mm ||
        (mm == web->distance_mm && mm < (double)INFINITY && other_id < web->other)) {
        web->distance_mm = mm;
        web->other = other_id;
        web->limit_mm = limit_mm(sweep, hole, other);
        web->at = at;
    }
}

/* How far something nearer than what is known may still be; a kind that no other hole is of is not
 * waited for. */
static double still_mm(const Sweep *sweep, const PanelWeb nearest[2]) {
    bool opening = sweep->panel->holes[nearest[0].hole].kind == PANEL_OPENING;
    uint32_t screws = sweep->face->hole_count - sweep->openings;
    bool openings_there = sweep->openings > (opening ? 1 : 0);
    bool screws_there = screws > (opening ? 0 : 1);
    return fmax(openings_there ? nearest[0].distance_mm : 0.0,
                screws_there ? nearest[1].distance_mm : 0.0);
}

static void find_nearest(Sweep *sweep, uint32_t place) {
    uint32_t id = sweep->order[place];
    const PanelBox *box = &sweep->panel->holes[id].contour.box;
    PanelWeb nearest[2] = {
        {id, PANEL_TO_OPENING, ID_NONE, INFINITY, 0.0, {0.0, 0.0}},
        {id, PANEL_TO_SCREW, ID_NONE, INFINITY, 0.0, {0.0, 0.0}},
    };
    for (uint32_t j = place + 1; j < sweep->face->hole_count; j++) {
        double far_mm = still_mm(sweep, nearest);
        uint32_t other = sweep->order[j];
        if (sweep->panel->holes[other].contour.box.u0_mm - box->u1_mm > far_mm) {
            break;
        }
        take_nearer(sweep, id, other, nearest);
    }
    for (uint32_t j = place; j-- > 0;) {
        double far_mm = still_mm(sweep, nearest);
        if (box->u0_mm - sweep->right_mm[j] > far_mm) {
            break;
        }
        take_nearer(sweep, id, sweep->order[j], nearest);
    }
    for (int i = 0; i < 2; i++) {
        if (nearest[i].other != ID_NONE) {
            *add_web(sweep) = nearest[i];
        }
    }
}

static int compare_webs(const void *left, const void *right) {
    const PanelWeb *a = left;
    const PanelWeb *b = right;
    if (a->hole != b->hole) {
        return a->hole < b->hole ? -1 : 1;
    }
    return (int)a->to - (int)b->to;
}

void panel_check_webs(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    for (uint32_t i = 0; i < panel->face_count; i++) {
        const PanelFace *face = &panel->faces[i];
        Sweep sweep = {
            .checking = checking,
            .panel = panel,
            .face = face,
            .web_mm = model_limit(panel->model, "panel_web") * face->thickness_mm,
            .web_screw_mm = model_limit(panel->model, "panel_web_screw") * face->thickness_mm,
            .edge_mm = model_limit(panel->model, "panel_edge"),
            .edge_screw = model_limit(panel->model, "panel_edge_screw"),
            .bend_mm = model_limit(panel->model, "panel_bend") * face->thickness_mm,
        };
        sort_holes(&sweep);
        check_pairs(&sweep);
        for (uint32_t j = face->hole_first; j < face->hole_first + face->hole_count; j++) {
            check_edge(&sweep, j);
            check_bends(&sweep, j);
        }
        for (uint32_t j = 0; checking->figures && j < face->hole_count; j++) {
            find_nearest(&sweep, j);
        }
    }
    if (checking->checks->web_count > 0) {
        qsort(checking->checks->webs, checking->checks->web_count, sizeof(PanelWeb), compare_webs);
    }
}
