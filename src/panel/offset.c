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

/* What is known of a contour while it is moved: the pieces that are left, and their new ends. */
typedef struct Moving {
    const PanelContour *contour;
    double distance_mm;
    uint32_t *kept; /* pieces of the contour whose radius has not vanished */
    PanelPiece *moved;
    PanelPoint *from;
    PanelPoint *to;
    bool *joined; /* by an arc to the next */
    uint32_t count;
} Moving;

/* The corner at which piece `kept[i]` and the next one that is left meet: for an arc that vanished
 * between them, its middle. */
static PanelPoint corner_after(const Moving *moving, uint32_t i) {
    const PanelContour *contour = moving->contour;
    uint32_t next = (moving->kept[i] + 1) % contour->count;
    bool gone = next != moving->kept[(i + 1) % moving->count];
    return gone ? panel_piece_at(&contour->pieces[next], 0.5) : contour->pieces[next].from;
}

/* Where piece i and the next one come together; false when they don't. */
static bool join(Moving *moving, uint32_t i) {
    const PanelContour *contour = moving->contour;
    uint32_t next = (i + 1) % moving->count;
    bool neighbours = (moving->kept[i] + 1) % contour->count == moving->kept[next];
    double turn = neighbours ? turn_rad(&contour->pieces[moving->kept[i]],
                                        &contour->pieces[moving->kept[next]])
                             : 0.0;
    bool smooth = neighbours && fabs(turn) < SMOOTH_RAD;
    if (smooth || panel_distance_mm(moving->to[i], moving->from[next]) < PANEL_SAME_MM) {
        moving->from[next] = moving->to[i];
        return true;
    }
    moving->joined[i] = neighbours && (turn > 0.0) == (moving->distance_mm > 0.0);
    if (moving->joined[i]) {
        return true;
    }
    PanelPoint points[2];
    uint32_t found = panel_piece_crossings(&moving->moved[i], &moving->moved[next], points);
    if (found == 0) {
        return false;
    }
    PanelPoint corner = corner_after(moving, i);
    bool second =
        found == 2 && panel_distance_mm(points[1], corner) < panel_distance_mm(points[0], corner);
    moving->to[i] = points[second ? 1 : 0];
    moving->from[next] = moving->to[i];
    return true;
}

/* The arc around the old corner from the end of piece i to the begin of the next. */
static PanelPiece corner_arc(const Moving *moving, uint32_t i) {
    const PanelContour *contour = moving->contour;
    uint32_t next = (i + 1) % moving->count;
    const PanelPiece *piece = &contour->pieces[moving->kept[i]];
    PanelPoint corner = piece->to;
    double turn = turn_rad(piece, &contour->pieces[moving->kept[next]]);
    double start = atan2(moving->to[i].v_mm - corner.v_mm, moving->to[i].u_mm - corner.u_mm);
    PanelPiece arc = panel_arc(corner, fabs(moving->distance_mm), start, turn);
    arc.from = moving->to[i];
    arc.to = moving->from[next];
    return arc;
}

bool panel_contour_offset(Arena *out, const PanelContour *contour, double distance_mm,
                          PanelContour *grown) {
    uint32_t count = contour->count;
    Moving moving = {
        .contour = contour,
        .distance_mm = distance_mm,
        .kept = ARENA_ARRAY(out, uint32_t, count),
        .moved = ARENA_ARRAY(out, PanelPiece, count),
        .from = ARENA_ARRAY(out, PanelPoint, count),
        .to = ARENA_ARRAY(out, PanelPoint, count),
        .joined = ARENA_ARRAY(out, bool, count),
    };
    for (uint32_t i = 0; i < count; i++) {
        PanelPiece *moved = &moving.moved[moving.count];
        if (piece_moved(&contour->pieces[i], distance_mm, moved)) {
            moving.from[moving.count] = moved->from;
            moving.to[moving.count] = moved->to;
            moving.kept[moving.count++] = i;
        }
    }
    if (moving.count == 0 || (moving.count == 1 && count > 1)) {
        return false;
    }
    for (uint32_t i = 0; i < moving.count && moving.count > 1; i++) {
        if (!join(&moving, i)) {
            return false;
        }
    }
    PanelPiece *pieces = ARENA_ARRAY(out, PanelPiece, 2 * (size_t)count);
    uint32_t used = 0;
    for (uint32_t i = 0; i < moving.count; i++) {
        if (moving.count > 1 && !piece_cut(&moving.moved[i], moving.from[i], moving.to[i])) {
            return false;
        }
        pieces[used++] = moving.moved[i];
        if (moving.joined[i]) {
            pieces[used++] = corner_arc(&moving, i);
        }
    }
    *grown = panel_contour(out, pieces, used);
    return panel_contour_closed(grown) && panel_contour_area_mm2(grown) > 0.0;
}
