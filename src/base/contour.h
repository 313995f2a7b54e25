/* Closed contours of straight lines and true arcs, as cutters take them: points in order, each with
 * the bulge of the way to the next one (tangent of a quarter of the arc's angle; 0 straight,
 * positive turns left, 1 a half circle). Units mm, x to the right, y up. A contour that runs
 * counter-clockwise has a positive area. */
#ifndef BASE_CONTOUR_H
#define BASE_CONTOUR_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

typedef struct ContourPoint {
    double x_mm;
    double y_mm;
    double bulge;
} ContourPoint;

typedef struct Contour {
    ContourPoint *points;
    size_t count;
} Contour;

typedef struct ContourList {
    Contour *items;
    size_t count;
    size_t capacity;
} ContourList;

typedef struct ContourBox {
    double left_mm;
    double bottom_mm;
    double right_mm;
    double top_mm;
} ContourBox;

/* Mirrored in x first, then turned counter-clockwise, then moved. */
typedef struct ContourMove {
    bool mirrored;
    double turn_deg;
    double x_mm;
    double y_mm;
} ContourMove;

/* A circle: two half circles, counter-clockwise, beginning at the left. */
Contour contour_circle(Arena *arena, double x_mm, double y_mm, double radius_mm);

/* A rectangle about its middle, counter-clockwise; corners rounded by `corner_mm` (0: sharp; at
 * most half the shorter side is taken). */
Contour contour_rectangle(Arena *arena, double x_mm, double y_mm, double width_mm, double height_mm,
                          double corner_mm);

/* True for a whole circle of two half circles; its middle and radius. */
bool contour_is_circle(const Contour *contour, double *x_mm, double *y_mm, double *radius_mm);

/* Exact, arcs included; negative when it runs clockwise. */
double contour_area_mm2(const Contour *contour);

/* Exact, arcs included. */
ContourBox contour_box(const Contour *contour);

/* A moved copy. A mirrored one runs the other way round. */
Contour contour_moved(Arena *arena, const Contour *contour, const ContourMove *move);

/* A copy that runs the other way round. */
Contour contour_reversed(Arena *arena, const Contour *contour);

/* A copy with straight lines only, no farther than `tolerance_mm` from the arcs. */
Contour contour_straightened(Arena *arena, const Contour *contour, double tolerance_mm);

/* Middle and radius of the arc from one point to the next; false when it is straight. */
bool contour_arc(const ContourPoint *from, const ContourPoint *to, double *x_mm, double *y_mm,
                 double *radius_mm);

void contour_add(Arena *arena, ContourList *list, Contour contour);

#endif
