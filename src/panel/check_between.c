/* Behind several faces: bodies of one against bodies of another, and against its sheet. Faces turn
 * about axes across the aircraft only, so their left and right agree and what is left is flat: a
 * box is an interval across times a rectangle in the plane of symmetry. Two such boxes share no
 * room exactly when they are apart across or along one of the four sides of the rectangles
 * (separating axes); the least overlap is how far one has to move. For a sheet the rectangle is cut
 * to the thickness, and what is left of it may lie beside the outline or inside one opening. */
#include "panel/checks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"

static const double SLACK_MM = 1e-6;

typedef struct Side {
    double x_mm, z_mm; /* in the plane of symmetry */
} Side;

/* One body as it stands in the aircraft. */
typedef struct Solid {
    uint32_t body;
    uint32_t face;
    double left_mm, right_mm; /* across */
    Side corners[4];          /* around */
} Solid;

static Solid solid_of(const Panel *panel, uint32_t id) {
    const PanelBody *body = &panel->bodies[id];
    uint32_t face_id = panel->items[body->item].face;
    const PanelFace *face = &panel->faces[face_id];
    Solid solid = {.body = id,
                   .face = face_id,
                   .left_mm = face->origin.y_mm + body->box.u0_mm,
                   .right_mm = face->origin.y_mm + body->box.u1_mm};
    const double vs[] = {body->box.v0_mm, body->box.v1_mm, body->box.v1_mm, body->box.v0_mm};
    const double depths[] = {body->from_mm, body->from_mm, body->to_mm, body->to_mm};
    for (int i = 0; i < 4; i++) {
        PanelSpot spot = panel_spot(face, (PanelPoint){0.0, vs[i]}, depths[i]);
        solid.corners[i] = (Side){spot.x_mm, spot.z_mm};
    }
    return solid;
}

static int compare_solids(const void *left, const void *right) {
    const Solid *a = left;
    const Solid *b = right;
    if (a->left_mm != b->left_mm) {
        return a->left_mm < b->left_mm ? -1 : 1;
    }
    return a->body < b->body ? -1 : a->body > b->body;
}

/* Overlap of two rectangles along the sides of the first; negative: apart. */
static double overlap_along(const Solid *a, const Solid *b) {
    double least_mm = INFINITY;
    for (int i = 0; i < 2; i++) {
        double x = a->corners[i + 1].x_mm - a->corners[i].x_mm;
        double z = a->corners[i + 1].z_mm - a->corners[i].z_mm;
        double length = hypot(x, z);
        double low[2] = {INFINITY, INFINITY};
        double high[2] = {-INFINITY, -INFINITY};
        for (int k = 0; k < 4; k++) {
            double on_a = (a->corners[k].x_mm * x + a->corners[k].z_mm * z) / length;
            double on_b = (b->corners[k].x_mm * x + b->corners[k].z_mm * z) / length;
            low[0] = fmin(low[0], on_a);
            high[0] = fmax(high[0], on_a);
            low[1] = fmin(low[1], on_b);
            high[1] = fmax(high[1], on_b);
        }
        least_mm = fmin(least_mm, fmin(high[0] - low[1], high[1] - low[0]));
    }
    return least_mm;
}

/* How far one would have to move to be clear; nought or less: they share nothing. */
static double shared_mm(const Solid *a, const Solid *b) {
    double across_mm = fmin(a->right_mm - b->left_mm, b->right_mm - a->left_mm);
    return fmin(across_mm, fmin(overlap_along(a, b), overlap_along(b, a)));
}

static void check_pair(PanelChecking *checking, const Solid *a, const Solid *b) {
    const Panel *panel = checking->panel;
    if (panel->bodies[b->body].item < panel->bodies[a->body].item) {
        const Solid *first = b;
        b = a;
        a = first;
    }
    const PanelBody *body_a = &panel->bodies[a->body];
    const PanelBody *body_b = &panel->bodies[b->body];
    double mm = shared_mm(a, b);
    if ((body_a->kind == PANEL_TOOL && body_b->kind == PANEL_TOOL) || !(mm > SLACK_MM)) {
        return;
    }
    const char *key_a = panel->items[body_a->item].key;
    const char *key_b = panel->items[body_b->item].key;
    Finding *finding = panel_report_item(
        checking, RULE_PANEL_BODIES, body_a->item, "",
        "the %s of %s behind face %s and the %s of %s behind face %s share %.2f mm",
        panel_body_name(body_a->kind), key_a, panel->faces[a->face].key,
        panel_body_name(body_b->kind), key_b, panel->faces[b->face].key, mm);
    panel_values(checking, finding, mm, 0.0, "mm", NULL);
    finding->rows = arena_format(checking->findings->arena, "%s %s", key_a, key_b);
    report_hint(checking->findings, finding, "move one of them by %.2f mm or more", mm);
}

/* --- sheets -------------------------------------------------------------------------------------
 */

/* The part of the rectangle between the front and the back of a face, as a range of its v; false
 * when there is none. */
static bool cut_to_sheet(const PanelFace *face, const Solid *solid, double *low_mm,
                         double *high_mm) {
    double c = cos(face->tilt_rad);
    double s = sin(face->tilt_rad);
    double v[4];
    double depth[4];
    for (int i = 0; i < 4; i++) {
        double x = solid->corners[i].x_mm - face->origin.x_mm;
        double z = solid->corners[i].z_mm - face->origin.z_mm;
        v[i] = c * z - s * x;
        depth[i] = -c * x - s * z;
    }
    *low_mm = INFINITY;
    *high_mm = -INFINITY;
    const double bounds[] = {SLACK_MM, face->thickness_mm - SLACK_MM};
    for (int i = 0; i < 4; i++) {
        int next = (i + 1) % 4;
        if (depth[i] > bounds[0] && depth[i] < bounds[1]) {
            *low_mm = fmin(*low_mm, v[i]);
            *high_mm = fmax(*high_mm, v[i]);
        }
        for (int k = 0; k < 2; k++) {
            if ((depth[i] < bounds[k]) != (depth[next] < bounds[k])) {
                double share = (bounds[k] - depth[i]) / (depth[next] - depth[i]);
                double at = v[i] + share * (v[next] - v[i]);
                *low_mm = fmin(*low_mm, at);
                *high_mm = fmax(*high_mm, at);
            }
        }
    }
    return *low_mm < *high_mm;
}

static bool is_within(const PanelContour *opening, const PanelBox *box) {
    const PanelPoint corners[] = {{box->u0_mm, box->v0_mm},
                                  {box->u1_mm, box->v0_mm},
                                  {box->u1_mm, box->v1_mm},
                                  {box->u0_mm, box->v1_mm}};
    for (int i = 0; i < 4; i++) {
        if (!panel_contour_holds(opening, corners[i])) {
            return false;
        }
    }
    return true;
}

/* The box goes through an opening of the sheet. */
static bool goes_through(const Panel *panel, const PanelFace *face, const PanelBox *box) {
    for (uint32_t i = face->hole_first; i < face->hole_first + face->hole_count; i++) {
        if (is_within(&panel->holes[i].contour, box)) {
            return true;
        }
    }
    return false;
}

static void check_sheet(PanelChecking *checking, const Solid *solid, const PanelFace *face) {
    const Panel *panel = checking->panel;
    const PanelBody *body = &panel->bodies[solid->body];
    PanelBox box = {.u0_mm = solid->left_mm - face->origin.y_mm + SLACK_MM,
                    .u1_mm = solid->right_mm - face->origin.y_mm - SLACK_MM};
    if (body->kind == PANEL_TOOL || !cut_to_sheet(face, solid, &box.v0_mm, &box.v1_mm) ||
        panel_box_gap_mm(&box, &face->outline.box) > 0.0) {
        return;
    }
    PanelPoint middle = {(box.u0_mm + box.u1_mm) / 2.0, (box.v0_mm + box.v1_mm) / 2.0};
    PanelContour cut =
        panel_rectangle(checking->out, middle, box.u1_mm - box.u0_mm, box.v1_mm - box.v0_mm, 0.0);
    if (panel_area_distance_mm(&cut, &face->outline, 1.0, NULL, NULL) > 0.0 ||
        goes_through(panel, face, &box)) {
        return;
    }
    const char *key = panel->items[body->item].key;
    Finding *finding =
        panel_report_item(checking, RULE_PANEL_BODIES, body->item, "",
                          "the %s of %s goes through the sheet of face %s, at u = %.1f, v = %.1f",
                          panel_body_name(body->kind), key, face->key, middle.u_mm, middle.v_mm);
    finding->rows = arena_format(checking->findings->arena, "%s %s", key, face->key);
    finding->hint = "move it, or give that face an opening there";
}

/* --- exported -----------------------------------------------------------------------------------
 */

void panel_check_between(PanelChecking *checking) {
    const Panel *panel = checking->panel;
    if (panel->face_count < 2 || panel->body_count == 0) {
        return;
    }
    Solid *solids = ARENA_ARRAY(checking->out, Solid, panel->body_count);
    for (uint32_t i = 0; i < panel->body_count; i++) {
        solids[i] = solid_of(panel, i);
        for (uint32_t k = 0; k < panel->face_count; k++) {
            if (k != solids[i].face) {
                check_sheet(checking, &solids[i], &panel->faces[k]);
            }
        }
    }
    qsort(solids, panel->body_count, sizeof *solids, compare_solids);
    for (uint32_t i = 0; i < panel->body_count; i++) {
        for (uint32_t j = i + 1; j < panel->body_count; j++) {
            if (solids[j].left_mm >= solids[i].right_mm) {
                break;
            }
            if (solids[i].face != solids[j].face) {
                check_pair(checking, &solids[i], &solids[j]);
            }
        }
    }
}
