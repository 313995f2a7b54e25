/* Distances in closed form. Two pieces are nearest where they cross, or at an end of one of them,
 * or where both have one normal: on the foot of the perpendicular from an arc's centre to a line,
 * and on the line through two centres. Every candidate is a true pair of points, so the least of
 * them is the distance. */
#include "panel/contour.h"

#include <math.h>

#define PI 3.14159265358979323846
#define TURN (2.0 * PI)

/* An angle this far outside an arc still belongs to it: at a metre's radius less than a
 * millionth of a millimetre. */
#define ANGLE_SLACK 1e-10

/* --- points -------------------------------------------------------------------------------------
 */

/* True when the ray from the centre to `point` meets the arc. */
static bool arc_faces(const PanelPiece *arc, double u_mm, double v_mm) {
    if (fabs(arc->sweep_rad) >= TURN - ANGLE_SLACK) {
        return true;
    }
    double angle_rad = atan2(v_mm - arc->centre.v_mm, u_mm - arc->centre.u_mm);
    double from_start =
        arc->sweep_rad > 0.0 ? angle_rad - arc->start_rad : arc->start_rad - angle_rad;
    from_start -= TURN * floor(from_start / TURN);
    return from_start <= fabs(arc->sweep_rad) + ANGLE_SLACK || from_start >= TURN - ANGLE_SLACK;
}

static double square(double value) {
    return value * value;
}

double panel_point_distance_mm(PanelPoint point, const PanelPiece *piece, PanelPoint *on_piece) {
    if (piece->arc) {
        double du = point.u_mm - piece->centre.u_mm;
        double dv = point.v_mm - piece->centre.v_mm;
        double away_mm = sqrt(du * du + dv * dv);
        if (away_mm > PANEL_SAME_MM && arc_faces(piece, point.u_mm, point.v_mm)) {
            double share = piece->radius_mm / away_mm;
            *on_piece =
                (PanelPoint){piece->centre.u_mm + share * du, piece->centre.v_mm + share * dv};
            return fabs(away_mm - piece->radius_mm);
        }
        double from2 =
            square(point.u_mm - piece->from.u_mm) + square(point.v_mm - piece->from.v_mm);
        double to2 = square(point.u_mm - piece->to.u_mm) + square(point.v_mm - piece->to.v_mm);
        *on_piece = from2 <= to2 ? piece->from : piece->to;
        return sqrt(fmin(from2, to2));
    }
    double du = piece->to.u_mm - piece->from.u_mm;
    double dv = piece->to.v_mm - piece->from.v_mm;
    double share = ((point.u_mm - piece->from.u_mm) * du + (point.v_mm - piece->from.v_mm) * dv) /
                   (du * du + dv * dv);
    share = share > 0.0 ? (share < 1.0 ? share : 1.0) : 0.0;
    *on_piece = (PanelPoint){piece->from.u_mm + share * du, piece->from.v_mm + share * dv};
    return sqrt(square(point.u_mm - on_piece->u_mm) + square(point.v_mm - on_piece->v_mm));
}

/* --- crossings ----------------------------------------------------------------------------------
 */

static uint32_t line_line(const PanelPiece *a, const PanelPiece *b, PanelPoint points[2]) {
    double au = a->to.u_mm - a->from.u_mm;
    double av = a->to.v_mm - a->from.v_mm;
    double bu = b->to.u_mm - b->from.u_mm;
    double bv = b->to.v_mm - b->from.v_mm;
    double cross = au * bv - av * bu;
    if (cross == 0.0) {
        return 0;
    }
    double du = b->from.u_mm - a->from.u_mm;
    double dv = b->from.v_mm - a->from.v_mm;
    double s = (du * bv - dv * bu) / cross;
    double t = (du * av - dv * au) / cross;
    if (s < 0.0 || s > 1.0 || t < 0.0 || t > 1.0) {
        return 0;
    }
    points[0] = (PanelPoint){a->from.u_mm + s * au, a->from.v_mm + s * av};
    return 1;
}

static uint32_t line_arc(const PanelPiece *line, const PanelPiece *arc, PanelPoint points[2]) {
    double du = line->to.u_mm - line->from.u_mm;
    double dv = line->to.v_mm - line->from.v_mm;
    double fu = line->from.u_mm - arc->centre.u_mm;
    double fv = line->from.v_mm - arc->centre.v_mm;
    double length2 = du * du + dv * dv;
    double foot = -(fu * du + fv * dv) / length2; /* share of the line nearest to the centre */
    double away2 = square(fu + foot * du) + square(fv + foot * dv);
    double rest2 = square(arc->radius_mm) - away2;
    if (rest2 < 0.0) {
        return 0;
    }
    double half = sqrt(rest2 / length2);
    uint32_t count = 0;
    for (int i = 0; i < 2; i++) {
        double share = foot + (i == 0 ? -half : half);
        PanelPoint at = {line->from.u_mm + share * du, line->from.v_mm + share * dv};
        if (share >= 0.0 && share <= 1.0 && arc_faces(arc, at.u_mm, at.v_mm)) {
            points[count++] = at;
        }
    }
    return count;
}

static uint32_t arc_arc(const PanelPiece *a, const PanelPiece *b, PanelPoint points[2]) {
    double du = b->centre.u_mm - a->centre.u_mm;
    double dv = b->centre.v_mm - a->centre.v_mm;
    double apart2 = du * du + dv * dv;
    if (apart2 < square(PANEL_SAME_MM)) {
        return 0;
    }
    double along = (apart2 + square(a->radius_mm) - square(b->radius_mm)) / (2.0 * apart2);
    double rest2 = square(a->radius_mm) - along * along * apart2;
    if (rest2 < 0.0) {
        return 0;
    }
    double aside = sqrt(rest2 / apart2);
    uint32_t count = 0;
    for (int i = 0; i < 2; i++) {
        double side = i == 0 ? aside : -aside;
        PanelPoint at = {a->centre.u_mm + along * du - side * dv,
                         a->centre.v_mm + along * dv + side * du};
        if (arc_faces(a, at.u_mm, at.v_mm) && arc_faces(b, at.u_mm, at.v_mm)) {
            points[count++] = at;
        }
    }
    return count;
}

uint32_t panel_piece_crossings(const PanelPiece *a, const PanelPiece *b, PanelPoint points[2]) {
    if (panel_box_gap_mm(&a->box, &b->box) > 0.0) {
        return 0;
    }
    if (a->arc) {
        return b->arc ? arc_arc(a, b, points) : line_arc(b, a, points);
    }
    return b->arc ? line_arc(a, b, points) : line_line(a, b, points);
}

/* --- pieces -------------------------------------------------------------------------------------
 */

typedef struct Nearest {
    double mm;
    PanelPoint on_a;
    PanelPoint on_b;
} Nearest;

static void take(Nearest *nearest, double mm, PanelPoint on_a, PanelPoint on_b) {
    if (mm < nearest->mm) {
        *nearest = (Nearest){mm, on_a, on_b};
    }
}

/* The ends of `a` against `b`. */
static void take_ends(Nearest *nearest, const PanelPiece *a, const PanelPiece *b, bool swapped) {
    bool closed = a->from.u_mm == a->to.u_mm && a->from.v_mm == a->to.v_mm;
    for (int end = 0; end < (closed ? 1 : 2); end++) {
        PanelPoint at = end == 0 ? a->from : a->to;
        PanelPoint on_b;
        double mm = panel_point_distance_mm(at, b, &on_b);
        take(nearest, mm, swapped ? on_b : at, swapped ? at : on_b);
    }
}

/* The point of the line nearest to the arc's centre, when it lies outside the circle. */
static void take_foot(Nearest *nearest, const PanelPiece *line, const PanelPiece *arc,
                      bool swapped) {
    PanelPoint foot;
    double away_mm = panel_point_distance_mm(arc->centre, line, &foot);
    if (away_mm < arc->radius_mm || !arc_faces(arc, foot.u_mm, foot.v_mm)) {
        return;
    }
    double share = arc->radius_mm / away_mm;
    PanelPoint on_arc = {arc->centre.u_mm + share * (foot.u_mm - arc->centre.u_mm),
                         arc->centre.v_mm + share * (foot.v_mm - arc->centre.v_mm)};
    take(nearest, away_mm - arc->radius_mm, swapped ? on_arc : foot, swapped ? foot : on_arc);
}

/* The four pairs of points on the line through both centres. */
static void take_centres(Nearest *nearest, const PanelPiece *a, const PanelPiece *b) {
    double du = b->centre.u_mm - a->centre.u_mm;
    double dv = b->centre.v_mm - a->centre.v_mm;
    double apart_mm = sqrt(du * du + dv * dv);
    if (apart_mm < PANEL_SAME_MM) {
        return; /* concentric: an end of one faces the other, or nothing does */
    }
    du /= apart_mm;
    dv /= apart_mm;
    for (int i = 0; i < 4; i++) {
        double ra = (i & 1) == 0 ? a->radius_mm : -a->radius_mm;
        double rb = (i & 2) == 0 ? b->radius_mm : -b->radius_mm;
        double mm = fabs(apart_mm + rb - ra);
        if (mm >= nearest->mm) {
            continue;
        }
        PanelPoint on_a = {a->centre.u_mm + ra * du, a->centre.v_mm + ra * dv};
        PanelPoint on_b = {b->centre.u_mm + rb * du, b->centre.v_mm + rb * dv};
        if (arc_faces(a, on_a.u_mm, on_a.v_mm) && arc_faces(b, on_b.u_mm, on_b.v_mm)) {
            take(nearest, mm, on_a, on_b);
        }
    }
}

double panel_piece_distance_mm(const PanelPiece *a, const PanelPiece *b, PanelPoint *on_a,
                               PanelPoint *on_b) {
    PanelPoint points[2];
    if (panel_piece_crossings(a, b, points) > 0) {
        *on_a = points[0];
        *on_b = points[0];
        return 0.0;
    }
    Nearest nearest = {.mm = INFINITY};
    if (a->arc && b->arc) {
        take_centres(&nearest, a, b);
    } else if (a->arc) {
        take_foot(&nearest, b, a, true);
    } else if (b->arc) {
        take_foot(&nearest, a, b, false);
    }
    take_ends(&nearest, a, b, false);
    take_ends(&nearest, b, a, true);
    *on_a = nearest.on_a;
    *on_b = nearest.on_b;
    return nearest.mm;
}

/* --- contours -----------------------------------------------------------------------------------
 */

double panel_contour_distance_mm(const PanelContour *a, const PanelContour *b, double reach_mm,
                                 PanelPoint *on_a, PanelPoint *on_b) {
    double least_mm = reach_mm;
    bool found = false;
    for (uint32_t i = 0; i < a->count; i++) {
        const PanelPiece *piece = &a->pieces[i];
        if (panel_box_gap_mm(&piece->box, &b->box) > least_mm) {
            continue;
        }
        for (uint32_t j = 0; j < b->count; j++) {
            const PanelPiece *other = &b->pieces[j];
            if (panel_box_gap_mm(&piece->box, &other->box) > least_mm) {
                continue;
            }
            PanelPoint near_a;
            PanelPoint near_b;
            double mm = panel_piece_distance_mm(piece, other, &near_a, &near_b);
            if (mm < least_mm || (mm == least_mm && !found)) {
                least_mm = mm;
                found = true;
                if (on_a != NULL) {
                    *on_a = near_a;
                }
                if (on_b != NULL) {
                    *on_b = near_b;
                }
            }
        }
    }
    return found ? least_mm : (double)INFINITY;
}

double panel_area_distance_mm(const PanelContour *a, const PanelContour *b, double reach_mm,
                              PanelPoint *on_a, PanelPoint *on_b) {
    if (panel_box_gap_mm(&a->box, &b->box) > reach_mm) {
        return INFINITY;
    }
    /* One point of each is enough: if neither holds the other's, the lines cross or the areas are
     * apart. */
    const PanelContour *inner = NULL;
    if (panel_contour_holds(a, b->pieces[0].from)) {
        inner = b;
    } else if (panel_contour_holds(b, a->pieces[0].from)) {
        inner = a;
    }
    if (inner != NULL) {
        if (on_a != NULL) {
            *on_a = inner->pieces[0].from;
        }
        if (on_b != NULL) {
            *on_b = inner->pieces[0].from;
        }
        return 0.0;
    }
    return panel_contour_distance_mm(a, b, reach_mm, on_a, on_b);
}

/* --- closed -------------------------------------------------------------------------------------
 */

static bool is_joint(const PanelContour *contour, uint32_t i, uint32_t j, PanelPoint at) {
    const PanelPiece *a = &contour->pieces[i];
    const PanelPiece *b = &contour->pieces[j];
    const double near_mm = 1e-5;
    bool a_then_b = (i + 1) % contour->count == j && panel_distance_mm(at, a->to) < near_mm;
    bool b_then_a = (j + 1) % contour->count == i && panel_distance_mm(at, b->to) < near_mm;
    return a_then_b || b_then_a;
}

/* Two pieces that meet only where one follows the other. */
static bool pair_is_simple(const PanelContour *contour, uint32_t i, uint32_t j) {
    const PanelPiece *a = &contour->pieces[i];
    const PanelPiece *b = &contour->pieces[j];
    if (panel_box_gap_mm(&a->box, &b->box) > PANEL_SAME_MM) {
        return true;
    }
    bool neighbours = (i + 1) % contour->count == j || (j + 1) % contour->count == i;
    if (!neighbours) {
        PanelPoint on_a;
        PanelPoint on_b;
        return panel_piece_distance_mm(a, b, &on_a, &on_b) > PANEL_SAME_MM;
    }
    PanelPoint points[2];
    uint32_t count = panel_piece_crossings(a, b, points);
    for (uint32_t k = 0; k < count; k++) {
        if (!is_joint(contour, i, j, points[k])) {
            return false;
        }
    }
    /* Folded back onto itself: an end of one on the other, away from where they join. */
    const PanelPoint ends[4] = {a->from, a->to, b->from, b->to};
    for (int k = 0; k < 4; k++) {
        PanelPoint on;
        double mm = panel_point_distance_mm(ends[k], k < 2 ? b : a, &on);
        if (mm < PANEL_SAME_MM && !is_joint(contour, i, j, ends[k])) {
            return false;
        }
    }
    return true;
}

bool panel_contour_closed(const PanelContour *contour) {
    if (contour->count == 0) {
        return false;
    }
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *next = &contour->pieces[(i + 1) % contour->count];
        if (panel_distance_mm(contour->pieces[i].to, next->from) > PANEL_SAME_MM) {
            return false;
        }
    }
    for (uint32_t i = 0; i < contour->count; i++) {
        for (uint32_t j = i + 1; j < contour->count; j++) {
            if (!pair_is_simple(contour, i, j)) {
                return false;
            }
        }
    }
    return true;
}
