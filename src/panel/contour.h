/* Closed contours of straight lines and circular arcs, exact: no facets anywhere. In: corners, arcs
 * through a point, circles. Out: area, box, distance of two contours with the place where it is
 * smallest, whether a point lies inside, the contour offset to one side. Millimetres, u to the
 * right and v up as the pilot sees the face; angles counterclockwise from +u. docs/theory/panel.md.
 */
#ifndef PANEL_CONTOUR_H
#define PANEL_CONTOUR_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

/* Two points nearer than this are one: a hundredth of what any cutter can show, far more than
 * rounding leaves. */
#define PANEL_SAME_MM 1e-6

typedef struct PanelPoint {
    double u_mm;
    double v_mm;
} PanelPoint;

typedef struct PanelBox {
    double u0_mm, u1_mm; /* left, right */
    double v0_mm, v1_mm; /* below, above */
} PanelBox;

/* A line from `from` to `to`, or an arc around `centre`. An arc begins at start_rad and turns by
 * sweep_rad (positive: counterclockwise, negative: clockwise); a whole circle is one piece with
 * from = to and a sweep of 2 pi either way. */
typedef struct PanelPiece {
    PanelPoint from;
    PanelPoint to;
    bool arc;
    PanelPoint centre;
    double radius_mm;
    double start_rad;
    double sweep_rad;
    PanelBox box; /* true, the arc's bulge included */
} PanelPiece;

/* Pieces head to tail; the last ends where the first begins. All contours are counterclockwise,
 * openings too. `box` is the true one, arcs included. */
typedef struct PanelContour {
    PanelPiece *pieces;
    uint32_t count;
    PanelBox box;
} PanelContour;

PanelPiece panel_line(PanelPoint from, PanelPoint to);

/* The arc from `from` to `to` through `middle`; a line when the three lie on one. */
PanelPiece panel_arc_through(PanelPoint from, PanelPoint middle, PanelPoint to);

/* The arc around `centre` from start_rad, turning by sweep_rad. */
PanelPiece panel_arc(PanelPoint centre, double radius_mm, double start_rad, double sweep_rad);

/* A contour of `count` pieces (copied into `out`): turned around when it is clockwise; pieces
 * shorter than PANEL_SAME_MM are left out. Joins are not checked: panel_contour_closed. */
PanelContour panel_contour(Arena *out, const PanelPiece *pieces, uint32_t count);

PanelContour panel_circle(Arena *out, PanelPoint centre, double diameter_mm);

/* Rectangle of width x height about `centre` with corner radius (cut to half the smaller side). */
PanelContour panel_rectangle(Arena *out, PanelPoint centre, double width_mm, double height_mm,
                             double radius_mm);

/* The polygon of `count` corners with corner i rounded by round_mm[i] (NULL: none). False when a
 * radius does not fit its corner. */
bool panel_polygon(Arena *out, const PanelPoint *corners, const double *round_mm, uint32_t count,
                   PanelContour *contour);

/* The contour turned by rotation_rad about nought and then moved by `by`. */
PanelContour panel_contour_moved(Arena *out, const PanelContour *contour, double rotation_rad,
                                 PanelPoint by);

/* The contour grown by distance_mm on all sides (negative: shrunk): lines moved, radii changed,
 * outer corners kept sharp when shrinking and rounded when growing, so that every point of the new
 * contour is exactly that far from the old one. Inner corners (of concave contours) are cut where
 * the moved pieces meet, an arc whose radius vanishes becomes a corner. False when a line vanishes:
 * the shape is smaller than the offset. */
bool panel_contour_offset(Arena *out, const PanelContour *contour, double distance_mm,
                          PanelContour *grown);

/* The contour has at least one piece, every piece ends where the next begins, and no two pieces
 * cross or touch elsewhere. */
bool panel_contour_closed(const PanelContour *contour);

double panel_contour_area_mm2(const PanelContour *contour);
double panel_contour_length_mm(const PanelContour *contour);

/* Middle of the area. */
PanelPoint panel_contour_centroid(const PanelContour *contour);

/* The whole circle that the contour is: its diameter; 0 when it is none. */
double panel_contour_diameter_mm(const PanelContour *contour);

/* Smallest radius of an inside corner of the opening, 0 for a sharp one: arcs and corners at which
 * the opening's own edge turns left. INFINITY when it has none. */
double panel_contour_corner_mm(const PanelContour *contour);

/* True when the point lies inside or on the contour. */
bool panel_contour_holds(const PanelContour *contour, PanelPoint point);

/* Distance between two pieces, 0 when they cross or touch; the nearest point on each. Closed
 * forms. */
double panel_piece_distance_mm(const PanelPiece *a, const PanelPiece *b, PanelPoint *on_a,
                               PanelPoint *on_b);

/* Distance between the two lines (not areas) of contours, looking no further than reach_mm
 * (INFINITY: all): INFINITY when it is more. `on_a`, `on_b` may be NULL. */
double panel_contour_distance_mm(const PanelContour *a, const PanelContour *b, double reach_mm,
                                 PanelPoint *on_a, PanelPoint *on_b);

/* Distance between the areas: 0 when they overlap or one holds the other. */
double panel_area_distance_mm(const PanelContour *a, const PanelContour *b, double reach_mm,
                              PanelPoint *on_a, PanelPoint *on_b);

/* Points that two pieces have in common (lines and arcs that cross or touch; not pieces that lie on
 * each other), at most two; returns how many. */
uint32_t panel_piece_crossings(const PanelPiece *a, const PanelPiece *b, PanelPoint points[2]);

/* The point of the piece nearest to `point`, and how far that is. */
double panel_point_distance_mm(PanelPoint point, const PanelPiece *piece, PanelPoint *on_piece);

/* The direction in which the piece is left (share 0) or arrived at (share 1): a unit vector. */
PanelPoint panel_piece_direction(const PanelPiece *piece, double share);

PanelPoint panel_piece_at(const PanelPiece *piece, double share);
double panel_distance_mm(PanelPoint a, PanelPoint b);
PanelBox panel_box_around(PanelBox a, PanelBox b);
PanelBox panel_box_grown(PanelBox box, double by_mm);
PanelBox panel_box_moved(PanelBox box, PanelPoint by);

/* Gap of two boxes, 0 when they overlap: never more than the distance of what they hold. */
double panel_box_gap_mm(const PanelBox *a, const PanelBox *b);

#endif
