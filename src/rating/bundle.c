#include "rating/bundle.h"

#include <math.h>

/* Wires that are packed loosely for being few. */
enum { FEW = 6 };

double bundle_shop_mm(const double *diameters_mm, size_t count) {
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += diameters_mm[i] * diameters_mm[i];
    }
    return count == 1 ? diameters_mm[0] : BUNDLE_SHOP_FACTOR * sqrt(sum);
}

double bundle_least_mm(const double *diameters_mm, size_t count) {
    double thickest = 0.0;
    double second = 0.0;
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        double d = diameters_mm[i];
        sum += d * d;
        second = fmax(second, fmin(thickest, d));
        thickest = fmax(thickest, d);
    }
    return fmax(thickest + second, sqrt(sum));
}

/* Sum of the squares of the `FEW` thickest (of all when there are fewer). */
static double few_squares(const double *diameters_mm, size_t count) {
    double thick[FEW] = {0.0};
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        double d = diameters_mm[i];
        for (size_t k = 0; k < FEW && d > 0.0; k++) {
            double larger = fmax(thick[k], d);
            d = fmin(thick[k], d);
            thick[k] = larger;
        }
    }
    for (size_t k = 0; k < FEW; k++) {
        sum += thick[k] * thick[k];
    }
    return sum;
}

double bundle_mm(const double *diameters_mm, size_t count) {
    double least = bundle_least_mm(diameters_mm, count);
    if (count <= 2) {
        return least; /* side by side, exactly */
    }
    double few = BUNDLE_FEW_FACTOR * sqrt(few_squares(diameters_mm, count));
    return fmax(fmax(bundle_shop_mm(diameters_mm, count), few), least);
}

RatingValue bundle_equal_mm(const BundleEqual *rows, size_t count, unsigned wires,
                            double diameter_mm) {
    for (size_t i = 0; i < count; i++) {
        if (rows[i].wires == wires) {
            /* fmax passes over a blank column. */
            return rating_published(fmax(rows[i].packing, rows[i].catalogue) * diameter_mm);
        }
    }
    return rating_derived(BUNDLE_SHOP_FACTOR * sqrt(wires) * diameter_mm);
}
