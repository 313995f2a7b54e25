/* Several flat parts on stock sheets: which sheet, where, turned or not. True outlines count, so
 * that a part may stand in the corner that another one leaves free. Beside it a number of sheets
 * below which nothing can go. Units mm, y up, origin at the lower left corner of a sheet. */
#ifndef PANEL_NEST_H
#define PANEL_NEST_H

#include <stdint.h>

#include "base/contour.h"

typedef struct NestPart {
    const char *key;        /* unique; ties in size are settled by it */
    const Contour *outline; /* anywhere; what the part needs with all that is cut in it */
    bool grain;             /* must keep its direction: is not turned */
} NestPart;

typedef struct NestSheet {
    double width_mm;
    double height_mm;
    double edge_mm; /* strip along all four edges that stays free */
    double gap_mm;  /* between parts */
} NestSheet;

typedef struct NestPlace {
    uint32_t part;
    uint32_t sheet;   /* NEST_NONE: it fits no sheet */
    bool turned;      /* a quarter turn counter-clockwise */
    ContourMove move; /* takes the outline as it was given to its place */
} NestPlace;

#define NEST_NONE UINT32_MAX

typedef struct NestPlan {
    NestPlace *places; /* by part */
    size_t sheet_count;
    size_t least_sheets; /* no plan has fewer (areas; parts that can't share a sheet) */
    size_t unplaced;
    double used_share; /* parts' area over the area of the sheets taken */
} NestPlan;

/* Deterministic; the same for parts in any order. */
void nest_plan(Arena *arena, const NestPart *parts, size_t count, const NestSheet *sheet,
               NestPlan *plan);

/* Smallest distance between two contours without arcs; 0 when they touch, overlap, or one lies in
 * the other. */
double nest_distance_mm(const Contour *left, const Contour *right);

#endif
