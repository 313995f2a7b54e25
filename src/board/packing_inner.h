/* What the files of the packing share. Inside board/packing. */
#ifndef BOARD_PACKING_INNER_H
#define BOARD_PACKING_INNER_H

#include "board/packing.h"

typedef struct Packing {
    size_t count;
    double pitch;           /* mean diameter */
    double r[PACKING_MOST]; /* radii, the thickest first */
    double x[PACKING_MOST];
    double y[PACKING_MOST];
} Packing;

enum { PACKING_STARTS = 10 };

/* Places all circles for one of the starts, roughly: they may overlap. */
void packing_start(Packing *packing, int start);

/* Radius of a circle round all of them, whose middle then is the origin. The middle walks towards
 * the circle that reaches furthest, by ever smaller steps. */
double packing_enclose(Packing *packing);

#endif
