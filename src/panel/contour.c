/* Shapes out of lines and arcs, and what follows from their closed forms: area and moments by
 * Green's theorem piece by piece, point in contour by counting crossings of a ray with pieces that
 * rise or fall, each taken half open so that a corner counts once. */
#include "panel/contour.h"

#include <math.h>

#include "base/units.h"

#define PI 3.14159265358979323846
#define TURN (2.0 * PI)

/* --- points and boxes ---------------------------------------------------------------------------
 */

double panel_distance_mm(PanelPoint a, PanelPoint b) {
    return hypot(a.u_mm - b.u_mm, a.v_mm - b.v_mm);
}

PanelBox panel_box_grown(PanelBox box, double by_mm) {
    return (PanelBox){box.u0_mm - by_mm, box.u1_mm + by_mm, box.v0_mm - by_mm, box.v1_mm + by_mm};
}

PanelBox panel_box_moved(PanelBox box, PanelPoint by) {
    return (PanelBox){box.u0_mm + by.u_mm, box.u1_mm + by.u_mm, box.v0_mm + by.v_mm,
                      box.v1_mm + by.v_mm};
}

PanelBox panel_box_around(PanelBox a, PanelBox b) {
    return (PanelBox){
        .u0_mm = fmin(a.u0_mm, b.u0_mm),
        .u1_mm = fmax(a.u1_mm, b.u1_mm),
        .v0_mm = fmin(a.v0_mm, b.v0_mm),
        .v1_mm = fmax(a.v1_mm, b.v1_mm),
    };
}

double panel_box_gap_mm(const PanelBox *a, const PanelBox *b) {
    double du = fmax(fmax(a->u0_mm - b->u1_mm, b->u0_mm - a->u1_mm), 0.0);
    double dv = fmax(fmax(a->v0_mm - b->v1_mm, b->v0_mm - a->v1_mm), 0.0);
    return du == 0.0 ? dv : dv == 0.0 ? du : sqrt(du * du + dv * dv);
}

static PanelBox box_of(PanelPoint a, PanelPoint b) {
    return (PanelBox){
        .u0_mm = fmin(a.u_mm, b.u_mm),
        .u1_mm = fmax(a.u_mm, b.u_mm),
        .v0_mm = fmin(a.v_mm, b.v_mm),
        .v1_mm = fmax(a.v_mm, b.v_mm),
    };
}

/* --- pieces -------------------------------------------------------------------------------------
 */

static PanelPoint on_circle(PanelPoint centre, double radius_mm, double angle_rad) {
    return (PanelPoint){centre.u_mm + radius_mm * cos(angle_rad),
                        centre.v_mm + radius_mm * sin(angle_rad)};
}

PanelPiece panel_line(PanelPoint from, PanelPoint to) {
    return (PanelPiece){.from = from, .to = to, .box = box_of(from, to)};
}

/* The arc's box: its ends, and the quarter points that it passes. */
static PanelBox arc_box(const PanelPiece *arc) {
    static const double ways[4][2] = {{1.0, 0.0}, {0.0, 1.0}, {-1.0, 0.0}, {0.0, -1.0}};
    PanelBox box = box_of(arc->from, arc->to);
    double first = fmin(arc->start_rad, arc->start_rad + arc->sweep_rad);
    double last = fmax(arc->start_rad, arc->start_rad + arc->sweep_rad);
    for (double quarter = ceil(first / (PI / 2.0)); quarter * (PI / 2.0) <= last; quarter += 1.0) {
        int way = (int)(quarter - 4.0 * floor(quarter / 4.0));
        PanelPoint far = {arc->centre.u_mm + arc->radius_mm * ways[way & 3][0],
                          arc->centre.v_mm + arc->radius_mm * ways[way & 3][1]};
        box = panel_box_around(box, box_of(far, far));
    }
    return box;
}

static PanelPiece arc_between(PanelPoint from, PanelPoint to, PanelPoint centre, double radius_mm,
                              double start_rad, double sweep_rad) {
    PanelPiece arc = {
        .from = from,
        .to = to,
        .arc = true,
        .centre = centre,
        .radius_mm = radius_mm,
        .start_rad = start_rad,
        .sweep_rad = sweep_rad,
    };
    arc.box = arc_box(&arc);
    return arc;
}

PanelPiece panel_arc(PanelPoint centre, double radius_mm, double start_rad, double sweep_rad) {
    PanelPoint from = on_circle(centre, radius_mm, start_rad);
    PanelPoint to =
        fabs(sweep_rad) >= TURN ? from : on_circle(centre, radius_mm, start_rad + sweep_rad);
    return arc_between(from, to, centre, radius_mm, start_rad, sweep_rad);
}

PanelPiece panel_arc_through(PanelPoint from, PanelPoint middle, PanelPoint to) {
    double au = middle.u_mm - from.u_mm;
    double av = middle.v_mm - from.v_mm;
    double bu = to.u_mm - from.u_mm;
    double bv = to.v_mm - from.v_mm;
    double cross = au * bv - av * bu;
    double chord = hypot(bu, bv);
    /* Less sagitta than any cutter shows is a line. */
    if (fabs(cross) < PANEL_SAME_MM * fmax(chord, PANEL_SAME_MM)) {
        return panel_line(from, to);
    }
    double a2 = au * au + av * av;
    double b2 = bu * bu + bv * bv;
    PanelPoint centre = {from.u_mm + (bv * a2 - av * b2) / (2.0 * cross),
                         from.v_mm + (au * b2 - bu * a2) / (2.0 * cross)};
    double radius_mm = panel_distance_mm(centre, from);
    double start_rad = atan2(from.v_mm - centre.v_mm, from.u_mm - centre.u_mm);
    double end_rad = atan2(to.v_mm - centre.v_mm, to.u_mm - centre.u_mm);
    double sweep_rad = end_rad - start_rad;
    /* from, middle, to turn left: the arc runs counterclockwise. */
    if (cross > 0.0 && sweep_rad <= 0.0) {
        sweep_rad += TURN;
    } else if (cross < 0.0 && sweep_rad >= 0.0) {
        sweep_rad -= TURN;
    }
    return arc_between(from, to, centre, radius_mm, start_rad, sweep_rad);
}

PanelPoint panel_piece_at(const PanelPiece *piece, double share) {
    if (piece->arc) {
        return on_circle(piece->centre, piece->radius_mm,
                         piece->start_rad + share * piece->sweep_rad);
    }
    return (PanelPoint){piece->from.u_mm + share * (piece->to.u_mm - piece->from.u_mm),
                        piece->from.v_mm + share * (piece->to.v_mm - piece->from.v_mm)};
}

PanelPoint panel_piece_direction(const PanelPiece *piece, double share) {
    if (piece->arc) {
        double angle_rad = piece->start_rad + share * piece->sweep_rad;
        double sign = piece->sweep_rad < 0.0 ? -1.0 : 1.0;
        return (PanelPoint){-sign * sin(angle_rad), sign * cos(angle_rad)};
    }
    double length_mm = panel_distance_mm(piece->from, piece->to);
    return (PanelPoint){(piece->to.u_mm - piece->from.u_mm) / length_mm,
                        (piece->to.v_mm - piece->from.v_mm) / length_mm};
}

static double piece_length_mm(const PanelPiece *piece) {
    return piece->arc ? piece->radius_mm * fabs(piece->sweep_rad)
                      : panel_distance_mm(piece->from, piece->to);
}

static PanelPiece piece_turned_around(const PanelPiece *piece) {
    if (!piece->arc) {
        return panel_line(piece->to, piece->from);
    }
    return arc_between(piece->to, piece->from, piece->centre, piece->radius_mm,
                       piece->start_rad + piece->sweep_rad, -piece->sweep_rad);
}

/* --- area ---------------------------------------------------------------------------------------
 */

/* Twice the signed area between the piece and nought. */
static double piece_area2(const PanelPiece *piece) {
    double cross = piece->from.u_mm * piece->to.v_mm - piece->from.v_mm * piece->to.u_mm;
    if (!piece->arc) {
        return cross;
    }
    return piece->radius_mm * piece->radius_mm * piece->sweep_rad +
           piece->centre.u_mm * (piece->to.v_mm - piece->from.v_mm) -
           piece->centre.v_mm * (piece->to.u_mm - piece->from.u_mm);
}

static double signed_area_mm2(const PanelPiece *pieces, uint32_t count) {
    double area2 = 0.0;
    for (uint32_t i = 0; i < count; i++) {
        area2 += piece_area2(&pieces[i]);
    }
    return 0.5 * area2;
}

double panel_contour_area_mm2(const PanelContour *contour) {
    return signed_area_mm2(contour->pieces, contour->count);
}

double panel_contour_length_mm(const PanelContour *contour) {
    double length_mm = 0.0;
    for (uint32_t i = 0; i < contour->count; i++) {
        length_mm += piece_length_mm(&contour->pieces[i]);
    }
    return length_mm;
}

/* Integral of u over the area left of the piece (1/2 of u^2 dv), and of v (-1/2 of v^2 du), with
 * coordinates from `about`. */
static PanelPoint piece_moment(const PanelPiece *piece, PanelPoint about) {
    double u0 = piece->from.u_mm - about.u_mm;
    double v0 = piece->from.v_mm - about.v_mm;
    double u1 = piece->to.u_mm - about.u_mm;
    double v1 = piece->to.v_mm - about.v_mm;
    if (!piece->arc) {
        return (PanelPoint){(v1 - v0) * (u0 * u0 + u0 * u1 + u1 * u1) / 6.0,
                            -(u1 - u0) * (v0 * v0 + v0 * v1 + v1 * v1) / 6.0};
    }
    double cu = piece->centre.u_mm - about.u_mm;
    double cv = piece->centre.v_mm - about.v_mm;
    double r = piece->radius_mm;
    double whole[2][2]; /* of u and v, at start and end */
    for (int end = 0; end < 2; end++) {
        double t = piece->start_rad + (end == 0 ? 0.0 : piece->sweep_rad);
        double s = sin(t);
        double c = cos(t);
        whole[0][end] =
            0.5 * r * (cu * cu * s + cu * r * (t + s * c) + r * r * (s - s * s * s / 3.0));
        whole[1][end] =
            0.5 * r * (-cv * cv * c + cv * r * (t - s * c) + r * r * (c * c * c / 3.0 - c));
    }
    return (PanelPoint){whole[0][1] - whole[0][0], whole[1][1] - whole[1][0]};
}

PanelPoint panel_contour_centroid(const PanelContour *contour) {
    PanelPoint about = contour->pieces[0].from;
    PanelPoint moment = {0.0, 0.0};
    for (uint32_t i = 0; i < contour->count; i++) {
        PanelPoint part = piece_moment(&contour->pieces[i], about);
        moment.u_mm += part.u_mm;
        moment.v_mm += part.v_mm;
    }
    double area = panel_contour_area_mm2(contour);
    return (PanelPoint){about.u_mm + moment.u_mm / area, about.v_mm + moment.v_mm / area};
}

/* --- contours -----------------------------------------------------------------------------------
 */

PanelContour panel_contour(Arena *out, const PanelPiece *pieces, uint32_t count) {
    PanelContour contour = {.pieces = ARENA_ARRAY(out, PanelPiece, count)};
    bool around = signed_area_mm2(pieces, count) < 0.0;
    for (uint32_t i = 0; i < count; i++) {
        const PanelPiece *piece = &pieces[around ? count - 1 - i : i];
        if (piece_length_mm(piece) < PANEL_SAME_MM) {
            continue;
        }
        PanelPiece *put = &contour.pieces[contour.count];
        *put = around ? piece_turned_around(piece) : *piece;
        contour.box = contour.count == 0 ? put->box : panel_box_around(contour.box, put->box);
        contour.count++;
    }
    /* Both pieces at a joint have one point to the last bit: a ray through it is counted once. */
    for (uint32_t i = 0; i < contour.count; i++) {
        PanelPiece *next = &contour.pieces[(i + 1) % contour.count];
        if (panel_distance_mm(contour.pieces[i].to, next->from) < PANEL_SAME_MM) {
            contour.pieces[i].to = next->from;
        }
    }
    return contour;
}

PanelContour panel_circle(Arena *out, PanelPoint centre, double diameter_mm) {
    PanelPiece circle = panel_arc(centre, diameter_mm / 2.0, 0.0, TURN);
    return panel_contour(out, &circle, 1);
}

PanelContour panel_rectangle(Arena *out, PanelPoint centre, double width_mm, double height_mm,
                             double radius_mm) {
    double u = width_mm / 2.0;
    double v = height_mm / 2.0;
    double r = fmin(radius_mm, fmin(u, v));
    const double corner[4][2] = {{u - r, v - r}, {r - u, v - r}, {r - u, r - v}, {u - r, r - v}};
    PanelPiece pieces[8];
    uint32_t count = 0;
    PanelPoint before = {0.0, 0.0};
    PanelPoint first = {0.0, 0.0};
    for (int i = 0; i < 4; i++) {
        PanelPoint at = {centre.u_mm + corner[i][0], centre.v_mm + corner[i][1]};
        PanelPiece arc = panel_arc(at, r, i * PI / 2.0, PI / 2.0);
        if (i == 0) {
            first = arc.from;
        } else {
            pieces[count++] = panel_line(before, arc.from);
        }
        if (r > 0.0) {
            pieces[count++] = arc;
        }
        before = arc.to;
    }
    pieces[count++] = panel_line(before, first);
    return panel_contour(out, pieces, count);
}

/* How much of each edge a rounded corner takes: radius x tan of half the turn; negative when the
 * edges fold back. */
static double corner_takes_mm(PanelPoint before, PanelPoint at, PanelPoint after,
                              double radius_mm) {
    double a = panel_distance_mm(before, at);
    double b = panel_distance_mm(at, after);
    double au = (at.u_mm - before.u_mm) / a;
    double av = (at.v_mm - before.v_mm) / a;
    double bu = (after.u_mm - at.u_mm) / b;
    double bv = (after.v_mm - at.v_mm) / b;
    double turn_rad = fabs(atan2(au * bv - av * bu, au * bu + av * bv));
    return turn_rad > PI - 1e-9 ? -1.0 : radius_mm * tan(turn_rad / 2.0);
}

static PanelPoint toward(PanelPoint from, PanelPoint to, double by_mm) {
    double share = by_mm / panel_distance_mm(from, to);
    return (PanelPoint){from.u_mm + share * (to.u_mm - from.u_mm),
                        from.v_mm + share * (to.v_mm - from.v_mm)};
}

bool panel_polygon(Arena *out, const PanelPoint *corners, const double *round_mm, uint32_t count,
                   PanelContour *contour) {
    PanelPiece *pieces = ARENA_ARRAY(out, PanelPiece, 2 * (size_t)count);
    double *takes_mm = ARENA_ARRAY(out, double, count);
    uint32_t used = 0;
    for (uint32_t i = 0; i < count; i++) {
        double radius_mm = round_mm == NULL ? 0.0 : round_mm[i];
        takes_mm[i] = radius_mm > 0.0
                          ? corner_takes_mm(corners[(i + count - 1) % count], corners[i],
                                            corners[(i + 1) % count], radius_mm)
                          : 0.0;
        if (!(takes_mm[i] >= 0.0)) {
            return false;
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        uint32_t next = (i + 1) % count;
        PanelPoint at = corners[i];
        double edge_mm = panel_distance_mm(at, corners[next]);
        if (takes_mm[i] + takes_mm[next] > edge_mm + PANEL_SAME_MM) {
            return false;
        }
        PanelPoint leave = at;
        if (takes_mm[i] > 0.0 && round_mm != NULL) {
            double radius_mm = round_mm[i];
            PanelPoint arrive = toward(at, corners[(i + count - 1) % count], takes_mm[i]);
            leave = toward(at, corners[next], takes_mm[i]);
            /* The arc's middle lies on the way from the corner to its centre. */
            PanelPoint half = {(arrive.u_mm + leave.u_mm) / 2.0, (arrive.v_mm + leave.v_mm) / 2.0};
            double to_half_mm = panel_distance_mm(at, half);
            double to_centre_mm = hypot(takes_mm[i], radius_mm);
            PanelPoint middle = toward(at, half, to_centre_mm - radius_mm);
            if (to_half_mm > PANEL_SAME_MM) {
                pieces[used++] = panel_arc_through(arrive, middle, leave);
            }
        }
        PanelPoint stop =
            takes_mm[next] > 0.0 ? toward(corners[next], at, takes_mm[next]) : corners[next];
        pieces[used++] = panel_line(leave, stop);
    }
    *contour = panel_contour(out, pieces, used);
    return contour->count > 0;
}

static PanelPoint point_moved(PanelPoint point, double cosine, double sine, PanelPoint by) {
    return (PanelPoint){by.u_mm + cosine * point.u_mm - sine * point.v_mm,
                        by.v_mm + sine * point.u_mm + cosine * point.v_mm};
}

PanelContour panel_contour_moved(Arena *out, const PanelContour *contour, double rotation_rad,
                                 PanelPoint by) {
    double cosine = cos(rotation_rad);
    double sine = sin(rotation_rad);
    PanelContour moved = {.pieces = ARENA_ARRAY(out, PanelPiece, contour->count),
                          .count = contour->count};
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *piece = &contour->pieces[i];
        PanelPoint from = point_moved(piece->from, cosine, sine, by);
        PanelPoint to = point_moved(piece->to, cosine, sine, by);
        moved.pieces[i] =
            piece->arc
                ? arc_between(from, to, point_moved(piece->centre, cosine, sine, by),
                              piece->radius_mm, piece->start_rad + rotation_rad, piece->sweep_rad)
                : panel_line(from, to);
        moved.box = i == 0 ? moved.pieces[i].box : panel_box_around(moved.box, moved.pieces[i].box);
    }
    return moved;
}

double panel_contour_diameter_mm(const PanelContour *contour) {
    bool circle = contour->count == 1 && contour->pieces[0].arc;
    return circle ? 2.0 * contour->pieces[0].radius_mm : 0.0;
}

double panel_contour_corner_mm(const PanelContour *contour) {
    /* A turn of less than this between two pieces is a smooth join. */
    const double SMOOTH_RAD = 1e-6;
    double smallest_mm = INFINITY;
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *piece = &contour->pieces[i];
        const PanelPiece *next = &contour->pieces[(i + 1) % contour->count];
        if (piece->arc && piece->sweep_rad > 0.0) {
            smallest_mm = fmin(smallest_mm, piece->radius_mm);
        }
        PanelPoint in = panel_piece_direction(piece, 1.0);
        PanelPoint out = panel_piece_direction(next, 0.0);
        double turn_rad =
            atan2(in.u_mm * out.v_mm - in.v_mm * out.u_mm, in.u_mm * out.u_mm + in.v_mm * out.v_mm);
        if (turn_rad > SMOOTH_RAD) {
            smallest_mm = 0.0;
        }
    }
    return smallest_mm;
}

/* --- inside -------------------------------------------------------------------------------------
 */

/* Crossings of the ray from `point` to the right with a piece that only rises or only falls between
 * two heights; `u_mm` is where it is at the point's height. */
static int crosses(double from_v_mm, double to_v_mm, double u_mm, PanelPoint point) {
    bool rises = from_v_mm <= point.v_mm && point.v_mm < to_v_mm;
    bool falls = to_v_mm <= point.v_mm && point.v_mm < from_v_mm;
    return (rises || falls) && u_mm > point.u_mm ? 1 : 0;
}

static int arc_crosses(const PanelPiece *arc, PanelPoint point) {
    double h = point.v_mm - arc->centre.v_mm;
    /* Level with the very top or bottom the heights below decide, not the root: what rounding lifts
     * over the circle must still be counted in pairs. */
    if (fabs(h) > arc->radius_mm + PANEL_SAME_MM) {
        return 0;
    }
    double half_mm = sqrt(fmax(arc->radius_mm * arc->radius_mm - h * h, 0.0));
    double first = fmin(arc->start_rad, arc->start_rad + arc->sweep_rad);
    double last = fmax(arc->start_rad, arc->start_rad + arc->sweep_rad);
    double first_v_mm = arc->sweep_rad > 0.0 ? arc->from.v_mm : arc->to.v_mm;
    double last_v_mm = arc->sweep_rad > 0.0 ? arc->to.v_mm : arc->from.v_mm;
    /* Pieces between the top (pi/2) and bottom (3 pi/2) points: right side and left side by
     * turns. */
    double turn = floor((first + PI / 2.0) / PI);
    double at = first;
    double at_v_mm = first_v_mm;
    int count = 0;
    for (;; turn += 1.0) {
        double stop = turn * PI + PI / 2.0;
        bool right = fmod(fabs(turn), 2.0) < 0.5; /* from -pi/2 to pi/2 and so on */
        bool done = stop >= last;
        double top_mm = arc->centre.v_mm + (right ? arc->radius_mm : -arc->radius_mm);
        double stop_v_mm = done ? last_v_mm : top_mm;
        if (stop > at || done) {
            double u_mm = arc->centre.u_mm + (right ? half_mm : -half_mm);
            count += crosses(at_v_mm, stop_v_mm, u_mm, point);
        }
        if (done) {
            return count;
        }
        at = stop;
        at_v_mm = stop_v_mm;
    }
}

bool panel_contour_holds(const PanelContour *contour, PanelPoint point) {
    const PanelBox *box = &contour->box;
    if (point.u_mm < box->u0_mm - PANEL_SAME_MM || point.u_mm > box->u1_mm + PANEL_SAME_MM ||
        point.v_mm < box->v0_mm - PANEL_SAME_MM || point.v_mm > box->v1_mm + PANEL_SAME_MM) {
        return false;
    }
    int count = 0;
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *piece = &contour->pieces[i];
        PanelPoint nearest;
        if (panel_point_distance_mm(point, piece, &nearest) < PANEL_SAME_MM) {
            return true;
        }
        if (piece->arc) {
            count += arc_crosses(piece, point);
        } else {
            double rise_mm = piece->to.v_mm - piece->from.v_mm;
            double share = rise_mm == 0.0 ? 0.0 : (point.v_mm - piece->from.v_mm) / rise_mm;
            double u_mm = piece->from.u_mm + share * (piece->to.u_mm - piece->from.u_mm);
            count += crosses(piece->from.v_mm, piece->to.v_mm, u_mm, point);
        }
    }
    return count % 2 == 1;
}
