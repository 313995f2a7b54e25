/* Behind the panel everything is a box in the face's axes: left and right, below and above, from
 * one depth to another. A row of `behind` is a box that begins where the free depth ends. Boxes of
 * different items may not share room, nor may a tray that is pulled out meet another face. */
#include "panel/checks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"

/* Boxes that only touch share nothing. */
static const double SLACK_MM = 1e-6;

static bool areas_meet(const PanelBox *a, const PanelBox *b) {
    return a->u0_mm < b->u1_mm - SLACK_MM && b->u0_mm < a->u1_mm - SLACK_MM &&
           a->v0_mm < b->v1_mm - SLACK_MM && b->v0_mm < a->v1_mm - SLACK_MM;
}

static PanelBox behind_box(const BehindRow *row) {
    return (PanelBox){fmin(row->from_u_mm, row->to_u_mm), fmax(row->from_u_mm, row->to_u_mm),
                      fmin(row->from_v_mm, row->to_v_mm), fmax(row->from_v_mm, row->to_v_mm)};
}

const char *panel_body_name(PanelBoxKind kind) {
    switch (kind) {
    case PANEL_BODY:
        return "body";
    case PANEL_CONNECTOR:
        return "connector";
    case PANEL_TOOL:
        return "tool room";
    case PANEL_NUTPLATE:
        break;
    }
    return "nutplate";
}

/* --- depth --------------------------------------------------------------------------------------
 */

/* One item against one row of `behind`. */
static void check_depth(PanelChecking *checking, uint32_t id, uint32_t behind) {
    const Panel *panel = checking->panel;
    const PanelItem *item = &panel->items[id];
    const BehindRow *row = &panel->model->set->behind.rows[behind];
    double end_mm = isnan(row->until_mm) ? (double)INFINITY : row->until_mm;
    PanelBox there = behind_box(row);
    double needed_mm = 0.0;
    PanelBoxKind kind = PANEL_BODY;
    bool over = false;
    for (uint32_t i = item->body_first; i < item->body_first + item->body_count; i++) {
        const PanelBody *body = &panel->bodies[i];
        if (!areas_meet(&body->box, &there) || body->from_mm >= end_mm) {
            continue;
        }
        if (body->to_mm > needed_mm) {
            needed_mm = body->to_mm;
            kind = body->kind;
        }
        over = true;
    }
    if (!over) {
        return;
    }
    PanelChecks *checks = checking->checks;
    if (checking->figures) {
        *ARENA_PUSH(checking->out, checks->depths, checks->depth_count, checks->depth_capacity) =
            (PanelDepth){id, behind, needed_mm, row->depth_mm};
    }
    if (!(needed_mm > row->depth_mm + SLACK_MM)) {
        return;
    }
    Finding *finding = panel_report_item(
        checking, RULE_PANEL_DEPTH, id, "",
        "%s needs %.2f mm behind the panel, up to the end of its %s; %s (%s) leaves %.2f mm",
        item->key, needed_mm, panel_body_name(kind), row->behind, row->what, row->depth_mm);
    panel_values(checking, finding, needed_mm, row->depth_mm, "mm", NULL);
    finding->rows = arena_format(checking->findings->arena, "%s %s", item->key, row->behind);
    report_hint(checking->findings, finding,
                "move it to where %.2f mm are free, or take a right-angled connector", needed_mm);
}

/* Share of the box that rows of `behind` cover; exact for rows that do not overlap. */
static double covered(const Panel *panel, uint32_t first, uint32_t count, const PanelBox *box) {
    double area = 0.0;
    for (uint32_t i = first; i < first + count; i++) {
        PanelBox there = behind_box(&panel->model->set->behind.rows[i]);
        double width = fmin(box->u1_mm, there.u1_mm) - fmax(box->u0_mm, there.u0_mm);
        double height = fmin(box->v1_mm, there.v1_mm) - fmax(box->v0_mm, there.v0_mm);
        area += fmax(width, 0.0) * fmax(height, 0.0);
    }
    return area / ((box->u1_mm - box->u0_mm) * (box->v1_mm - box->v0_mm));
}

static void check_depths(PanelChecking *checking, const PanelFace *face) {
    const Panel *panel = checking->panel;
    const TableSet *set = panel->model->set;
    for (uint32_t i = face->item_first; i < face->item_first + face->item_count; i++) {
        const PanelItem *item = &panel->items[i];
        double share = 0.0;
        for (uint32_t j = 0; j < set->behind.count; j++) {
            if (strcmp(set->behind.rows[j].face, face->key) == 0 && item->body_count > 0) {
                check_depth(checking, i, j);
                share += covered(panel, j, 1, &panel->bodies[item->body_first].box);
            }
        }
        /* Less than a thousandth of a body is not worth a word. */
        if (item->body_count > 0 && share < 0.999) {
            Finding *finding = panel_report_item(
                checking, RULE_PANEL_UNKNOWN, i, "",
                "what is behind %.0f %% of %s is not known: its depth is not proved",
                100.0 * (1.0 - share), item->key);
            finding->hint = "add rows of `behind` that cover it";
        }
    }
}

/* --- bodies -------------------------------------------------------------------------------------
 */

typedef struct Spread {
    uint32_t body;
    double left_mm;
} Spread;

static int compare_spreads(const void *left, const void *right) {
    const Spread *a = left;
    const Spread *b = right;
    if (a->left_mm != b->left_mm) {
        return a->left_mm < b->left_mm ? -1 : 1;
    }
    return a->body < b->body ? -1 : a->body > b->body;
}

static void report_bodies(PanelChecking *checking, const PanelBody *a, const PanelBody *b) {
    const Panel *panel = checking->panel;
    if (b->item < a->item) {
        const PanelBody *first = b;
        b = a;
        a = first;
    }
    /* How far one would have to move sideways. */
    double across_mm = fmin(fmin(a->box.u1_mm - b->box.u0_mm, b->box.u1_mm - a->box.u0_mm),
                            fmin(a->box.v1_mm - b->box.v0_mm, b->box.v1_mm - a->box.v0_mm));
    const char *key_a = panel->items[a->item].key;
    const char *key_b = panel->items[b->item].key;
    Finding *finding = panel_report_item(
        checking, RULE_PANEL_BODIES, a->item, "",
        "behind the panel the %s of %s and the %s of %s share %.2f mm, from %.1f to %.1f mm deep",
        panel_body_name(a->kind), key_a, panel_body_name(b->kind), key_b, across_mm,
        fmax(a->from_mm, b->from_mm), fmin(a->to_mm, b->to_mm));
    panel_values(checking, finding, across_mm, 0.0, "mm", NULL);
    finding->rows = arena_format(checking->findings->arena, "%s %s", key_a, key_b);
    report_hint(checking->findings, finding, "move one of them sideways by %.2f mm or more",
                across_mm);
}

/* Bodies of one face, two by two where they come near each other from left to right. */
static void check_bodies(PanelChecking *checking, const PanelFace *face) {
    const Panel *panel = checking->panel;
    uint32_t first = UINT32_MAX;
    uint32_t count = 0;
    for (uint32_t i = face->item_first; i < face->item_first + face->item_count; i++) {
        if (panel->items[i].body_count > 0 && first == UINT32_MAX) {
            first = panel->items[i].body_first;
        }
        count += panel->items[i].body_count;
    }
    if (count == 0) {
        return;
    }
    Spread *spreads = ARENA_ARRAY(checking->out, Spread, count);
    for (uint32_t i = 0; i < count; i++) {
        spreads[i] = (Spread){first + i, panel->bodies[first + i].box.u0_mm};
    }
    qsort(spreads, count, sizeof *spreads, compare_spreads);
    for (uint32_t i = 0; i < count; i++) {
        const PanelBody *a = &panel->bodies[spreads[i].body];
        for (uint32_t j = i + 1; j < count; j++) {
            const PanelBody *b = &panel->bodies[spreads[j].body];
            if (b->box.u0_mm >= a->box.u1_mm) {
                break;
            }
            checking->checks->measured += areas_meet(&a->box, &b->box) ? 1 : 0;
            bool tools = a->kind == PANEL_TOOL && b->kind == PANEL_TOOL;
            if (a->item != b->item && !tools && areas_meet(&a->box, &b->box) &&
                a->from_mm < b->to_mm - SLACK_MM && b->from_mm < a->to_mm - SLACK_MM) {
                report_bodies(checking, a, b);
            }
        }
    }
}

/* --- trays --------------------------------------------------------------------------------------
 */

/* A spot of the airframe as (u, v, depth) of a face. */
static void seen_from(const PanelFace *face, PanelSpot spot, PanelPoint *at, double *depth_mm) {
    double dx = spot.x_mm - face->origin.x_mm;
    double dz = spot.z_mm - face->origin.z_mm;
    double c = cos(face->tilt_rad);
    double s = sin(face->tilt_rad);
    *at = (PanelPoint){spot.y_mm - face->origin.y_mm, c * dz - s * dx};
    *depth_mm = -c * dx - s * dz;
}

/* The way of a tray to the front: how far until it meets the outline of another face. Faces are
 * looked at by points along their edges, 5 mm apart. */
static double free_way_mm(const Panel *panel, uint32_t id, double pull_mm, uint32_t *meets) {
    enum { STEP_MM = 5 };
    const PanelItem *item = &panel->items[id];
    const PanelFace *face = &panel->faces[item->face];
    double free_mm = INFINITY;
    for (uint32_t i = 0; i < panel->face_count; i++) {
        const PanelFace *other = &panel->faces[i];
        if (i == item->face) {
            continue;
        }
        for (uint32_t j = 0; j < other->outline.count; j++) {
            const PanelPiece *piece = &other->outline.pieces[j];
            double length_mm = panel_distance_mm(piece->from, piece->to) +
                               (piece->arc ? piece->radius_mm * fabs(piece->sweep_rad) : 0.0);
            uint32_t steps = 1 + (uint32_t)(length_mm / STEP_MM);
            for (uint32_t k = 0; k < steps; k++) {
                PanelPoint along = panel_piece_at(piece, (double)k / steps);
                PanelPoint at;
                double depth_mm;
                seen_from(face, panel_spot(other, along, 0.0), &at, &depth_mm);
                const PanelBox *box = &item->bezel.box;
                bool before = at.u_mm > box->u0_mm && at.u_mm < box->u1_mm &&
                              at.v_mm > box->v0_mm && at.v_mm < box->v1_mm;
                if (before && depth_mm < 0.0 && -depth_mm < fmin(free_mm, pull_mm)) {
                    free_mm = -depth_mm;
                    *meets = i;
                }
            }
        }
    }
    return free_mm;
}

static void check_pulls(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    for (uint32_t i = 0; panel->face_count > 1 && i < panel->item_count; i++) {
        double pull_mm = panel_cutout(panel, i)->pull_mm;
        uint32_t meets = 0;
        double free_mm = isnan(pull_mm) ? (double)INFINITY : free_way_mm(panel, i, pull_mm, &meets);
        if (!(free_mm < pull_mm - SLACK_MM)) {
            continue;
        }
        const char *other = panel->faces[meets].key;
        Finding *finding =
            panel_report_item(checking, RULE_PANEL_PULL, i, "",
                              "%s is pulled out by %.2f mm and meets face %s after %.2f mm",
                              panel->items[i].key, pull_mm, other, free_mm);
        panel_values(checking, finding, free_mm, pull_mm, "mm", NULL);
        finding->rows =
            arena_format(checking->findings->arena, "%s %s", panel->items[i].key, other);
        finding->hint = "move it or the face before it, or take that face out first and say so";
    }
}

void panel_check_behind(PanelChecking *checking) {
    for (uint32_t i = 0; i < checking->panel->face_count; i++) {
        check_depths(checking, &checking->panel->faces[i]);
        check_bodies(checking, &checking->panel->faces[i]);
    }
    check_pulls(checking);
}
