/* Outer diameter of a bundle of wires, by rules that look at each wire once. Goes in: wire
 * diameters. Comes out: millimetres, by the shop rule, by the published multipliers of equal wires,
 * and by the rule used along a route, which covers the two cases where the shop rule lies below the
 * truth: few wires and very unequal ones. A real packing of the circles, with their places, is
 * board/packing.h. docs/theory/bundle.md. */
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

#endif
