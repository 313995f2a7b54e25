/* A contour moved to one side by a distance. Every piece is moved along its normal: a line to a
 * line, an arc to an arc around the same centre. Where neighbours come apart an arc around the old
 * corner joins them; where they overlap they are cut at their crossing. */
#include "panel/contour.h"

#include <math.h>

#define PI 3.14159265358979323846

/* A turn of less than this between two pieces is a smooth join. */
#define SMOOTH_RAD 1e-7

/* The piece moved to its right by distance_mm; false when an arc's radius vanishes. */
static bool piece_moved(const PanelPiece *piece, double distance_mm, PanelPiece *moved) {
    if (!piece->arc) {
        PanelPoint way = panel_piece_direction(piece, 0.0);
        double du = way.v_mm * distance_mm;
        double dv = -way.u_mm * distance_mm;
        *moved = panel_line((PanelPoint){piece->from.u_mm + du, piece->from.v_mm + dv},
                            (PanelPoint){piece->to.u_mm + du, piece->to.v_mm + dv});
        return true;
    }
    double radius_mm = piece->radius_mm + (piece->sweep_rad > 0.0 ? distance_mm : -distance_mm);
    if (radius_mm < PANEL_SAME_MM) {
        return false;
    }
    *moved = panel_arc(piece->centre, radius_mm, piece->start_rad, piece->sweep_rad);
    return true;
}

static double turn_rad(const PanelPiece *piece, const PanelPiece *next) {
    PanelPoint in = panel_piece_direction(piece, 1.0);
    PanelPoint out = panel_piece_direction(next, 0.0);
    return atan2(in.u_mm * out.v_mm - in.v_mm * out.u_mm, in.u_mm * out.u_mm + in.v_mm * out.v_mm);
}

/* The piece with other ends; false when nothing of it is left. */
static bool piece_cut(PanelPiece *piece, PanelPoint from, PanelPoint to) {
    if (!piece->arc) {
        PanelPoint way = panel_piece_direction(piece, 0.0);
        double along_mm = (to.u_mm - from.u_mm) * way.u_mm + (to.v_mm - from.v_mm) * way.v_mm;
        *piece = panel_line(from, to);
        return along_mm > PANEL_SAME_MM;
    }
    if (fabs(piece->sweep_rad) >= 2.0 * PI - SMOOTH_RAD) {
        return true;
    }
    double sign = piece->sweep_rad > 0.0 ? 1.0 : -1.0;
    double middle_rad = piece->start_rad + piece->sweep_rad / 2.0;
    double ends_rad[2];
    const PanelPoint ends[2] = {from, to};
    for (int i = 0; i < 2; i++) {
        double angle_rad =
            atan2(ends[i].v_mm - piece->centre.v_mm, ends[i].u_mm - piece->centre.u_mm);
        double off = angle_rad - middle_rad;
        ends_rad[i] = middle_rad + off - 2.0 * PI * floor((off + PI) / (2.0 * PI));
    }
    double sweep_rad = ends_rad[1] - ends_rad[0];
    double radius_mm = piece->radius_mm;
    *piece = panel_arc(piece->centre, radius_mm, ends_rad[0], sweep_rad);
    piece->from = from;
    piece->to = to;
    return sweep_rad * sign * radius_mm > PANEL_SAME_MM;
}

bool panel_contour_offset(Arena *out, const PanelContour *contour, double distance_mm,
                          PanelContour *grown) {
    uint32_t count = contour->count;
    PanelPiece *moved = ARENA_ARRAY(out, PanelPiece, count);
    PanelPoint *from = ARENA_ARRAY(out, PanelPoint, count);
    PanelPoint *to = ARENA_ARRAY(out, PanelPoint, count);
    bool *joined = ARENA_ARRAY(out, bool, count); /* by an arc to the next */
    for (uint32_t i = 0; i < count; i++) {
        if (!piece_moved(&contour->pieces[i], distance_mm, &moved[i])) {
            return false;
        }
        from[i] = moved[i].from;
        to[i] = moved[i].to;
    }
    for (uint32_t i = 0; i < count && count > 1; i++) {
        uint32_t next = (i + 1) % count;
        double turn = turn_rad(&contour->pieces[i], &contour->pieces[next]);
        if (fabs(turn) < SMOOTH_RAD || distance_mm == 0.0) {
            from[next] = to[i];
            continue;
        }
        joined[i] = (turn > 0.0) == (distance_mm > 0.0);
        if (joined[i]) {
            continue;
        }
        PanelPoint points[2];
        uint32_t found = panel_piece_crossings(&moved[i], &moved[next], points);
        if (found == 0) {
            return false;
        }
        PanelPoint corner = contour->pieces[i].to;
        bool second = found == 2 &&
                      panel_distance_mm(points[1], corner) < panel_distance_mm(points[0], corner);
        to[i] = points[second ? 1 : 0];
        from[next] = to[i];
    }
    PanelPiece *pieces = ARENA_ARRAY(out, PanelPiece, 2 * (size_t)count);
    uint32_t used = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (count > 1 && !piece_cut(&moved[i], from[i], to[i])) {
            return false;
        }
        pieces[used++] = moved[i];
        if (joined[i]) {
            uint32_t next = (i + 1) % count;
            PanelPoint corner = contour->pieces[i].to;
            double turn = turn_rad(&contour->pieces[i], &contour->pieces[next]);
            double start = atan2(to[i].v_mm - corner.v_mm, to[i].u_mm - corner.u_mm);
            PanelPiece arc = panel_arc(corner, fabs(distance_mm), start, turn);
            arc.from = to[i];
            arc.to = from[next];
            pieces[used++] = arc;
        }
    }
    *grown = panel_contour(out, pieces, used);
    return panel_contour_closed(grown) && panel_contour_area_mm2(grown) > 0.0;
}
