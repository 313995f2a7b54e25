/* Text as closed contours, for a cutter that has no typeface of ours: the outlines of the letters
 * in the typeface of every drawing, their curves as true arcs. y up, as in a cut file. */
#ifndef DRAW_ENGRAVE_H
#define DRAW_ENGRAVE_H

#include "base/contour.h"
#include "draw/font.h"
#include "draw/list.h"

/* No arc lies farther than this from the curve of the letter. */
#define ENGRAVE_TOLERANCE_MM 0.005

typedef struct EngraveStyle {
    double height_mm; /* of a capital */
    DrawAlign align;  /* of the baseline about its place */
    bool bold;
    bool mirrored;   /* reads from the other side of the sheet */
    double turn_deg; /* counter-clockwise about its place */
} EngraveStyle;

/* Adds the contours of one line of text to `out`; x, y: of the baseline. Returns its width.
 * Outlines of ink run counter-clockwise, those of the holes in it clockwise (of a mirrored text:
 * the other way). Letters without ink add nothing. */
double engrave_text(Arena *arena, DrawFonts *fonts, const char *text, const EngraveStyle *style,
                    double x_mm, double y_mm, ContourList *out);

#endif
