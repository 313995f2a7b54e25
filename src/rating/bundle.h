/* Outer diameter of a bundle of wires. Goes in: wire diameters. Comes out: millimetres, by three
 * ways: the shop rule, the published multipliers of equal wires, and a real packing of the circles
 * (with their places, for drawing a section). Holes, clamps and sleeves take the largest of the
 * three, for the shop rule lies below the truth for two wires and for very unequal ones.
 * docs/theory/bundle.md. */
#ifndef RATING_BUNDLE_H
#define RATING_BUNDLE_H

#include <stddef.h>

#include "rating/curve.h"

/* Factor of the shop rule for mixed sizes (a wire catalogue, p. 544; opened). */
#define BUNDLE_SHOP_FACTOR 1.2

/* D = 1.2*sqrt(sum d^2). */
double bundle_shop_mm(const double *diameters_mm, size_t count);

/* What no round bundle of these wires can be thinner than: the largest of the two thickest side by
 * side and the sum of the areas. One pass over the wires. */
double bundle_least_mm(const double *diameters_mm, size_t count);

/* Factor for the six thickest wires alone. Three to six equal wires need 1.244, 1.207, 1.208, 1.225
 * times sqrt(sum d^2), more than the shop rule gives, and so do three to six thick ones among thin
 * ones; 1.26 also covers three unequal ones (derived from the packing ratios). */
#define BUNDLE_FEW_FACTOR 1.26

/* The bundle diameter used along a route, in one pass over the wires: the largest of the shop rule,
 * 1.26*sqrt(sum d^2) over the six thickest, and the least diameter. One and two wires exactly. */
double bundle_mm(const double *diameters_mm, size_t count);

/* A row of the equal-wire table: outer diameter over wire diameter by optimal packing and by a wire
 * catalogue. NAN where a column stops. */
typedef struct BundleEqual {
    unsigned wires;
    double packing;
    double catalogue;
} BundleEqual;

/* Diameter of `wires` equal wires: the larger of packing and catalogue multiplier (12 and 24 wires
 * are printed below what rigid circles need). Beyond the table: the shop rule (derived). */
RatingValue bundle_equal_mm(const BundleEqual *rows, size_t count, unsigned wires,
                            double diameter_mm);

/* --- packing -------------------------------------------------------------------------------------
 */

typedef struct BundleCircle {
    double diameter_mm; /* in; above 0 */
    double x_mm;        /* out, from the centre of the bundle */
    double y_mm;
} BundleCircle;

/* Packs the circles into a round bundle and returns its diameter; no two circles overlap by more
 * than rounding (1e-9 of a diameter) and none reaches outside. Never below the optimum, within 3 %
 * of it for 2 to 40 equal circles (tests/outside/test_rating_bundle.c). The same circles in the
 * same order give the same places. 0 circles give 0. Work grows with the square of the count; above
 * BUNDLE_PACK_MOST circles it is our own error to ask: use bundle_mm. */
#define BUNDLE_PACK_MOST 256u
double bundle_pack(BundleCircle *circles, size_t count);

#endif
