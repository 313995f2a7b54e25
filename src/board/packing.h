/* A real packing of a bundle: circles of unequal size into the smallest round container that a
 * search finds. Goes in: outer diameters of wires and cables. Comes out: the container's diameter
 * and a place for every circle, for drawing a section and for what must pass a hole. Beside it
 * stands the shop's rule (rating/bundle.h), which knows nothing of places.
 * docs/theory/bundle.md. */
#ifndef BOARD_PACKING_H
#define BOARD_PACKING_H

#include <stdbool.h>
#include <stddef.h>

typedef struct PackingCircle {
    double diameter_mm; /* in; above 0 */
    double x_mm;        /* out, from the centre of the bundle */
    double y_mm;
} PackingCircle;

/* More circles than these are not packed: it would be our own error to ask. */
#define PACKING_MOST 256u

/* Packs the circles into a round container and returns its diameter. What comes out is a true
 * packing (packing_check) but the search may miss the best one: within 1 % of the best known for 1
 * to 40 equal circles (tests/outside/test_packing.c), for others not known. The same circles in the
 * same order give the same places; another order of the same circles gives the same diameter. All
 * diameters times a power of two: all places times the same. 0 circles give 0. */
double packing_round(PackingCircle *circles, size_t count);

/* How far the places are from a true packing, by looking at every pair: the deepest overlap of two
 * circles and the furthest that one reaches beyond the container; 0 where there is none. */
typedef struct PackingCheck {
    double overlap_mm;
    double outside_mm;
} PackingCheck;

PackingCheck packing_check(const PackingCircle *circles, size_t count, double container_mm);

#endif
