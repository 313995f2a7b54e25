/* Cut shapes of the library as contours: one row of `cutout_hole` to lines and arcs about its own
 * middle. In: the row's word and dimensions. Out: the contour, or what about the row can't be. */
#ifndef PANEL_SHAPES_H
#define PANEL_SHAPES_H

#include "panel/contour.h"
#include "table/rows.h"

/* The hole's contour about nought, turned as the row says but not moved. `width_mm` is the row's,
 * or the screw's hole where the row leaves it blank. NULL, or what is wrong in a few words. */
const char *panel_shape(Arena *out, const CutoutHoleRow *row, double width_mm,
                        PanelContour *contour);

#endif
