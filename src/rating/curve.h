/* Curves and gauge tables as published: a few points, read between them and nowhere else.
 * What comes out of a table says how far it can be trusted: read off published points, derived by
 * a rule of ours that errs to the safe side, or not proved at all (then there is no number). A
 * caller that combines several values keeps the weakest basis. Rows come from the parts library;
 * nothing published is kept in the program. */
#ifndef RATING_CURVE_H
#define RATING_CURVE_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* From strongest to weakest. */
typedef enum RatingBasis {
    RATING_PUBLISHED, /* a published point, or the stated interpolation between two of them */
    RATING_DERIVED,   /* our own rule from published points, chosen to err to the safe side */
    RATING_NOT_PROVED /* no published point reaches here: the value is NAN or a safe bound */
} RatingBasis;

typedef struct RatingValue {
    double value;
    RatingBasis basis;
} RatingValue;

static inline RatingValue rating_published(double value) {
    return (RatingValue){value, RATING_PUBLISHED};
}

static inline RatingValue rating_derived(double value) {
    return (RatingValue){value, RATING_DERIVED};
}

static inline RatingValue rating_not_proved(void) {
    return (RatingValue){(double)NAN, RATING_NOT_PROVED};
}

static inline RatingBasis rating_weaker(RatingBasis a, RatingBasis b) {
    return a > b ? a : b;
}

/* "published", "derived", "not proved". */
const char *rating_basis_name(RatingBasis basis);

/* --- curves --------------------------------------------------------------------------------------
 */

typedef struct RatingPoint {
    double x;
    double y;
} RatingPoint;

/* `count` points with x rising strictly; the points belong to the caller. */
typedef struct RatingCurve {
    const RatingPoint *points;
    size_t count;
} RatingCurve;

/* x rises strictly and every number is finite. The functions below ask for this of their curves;
 * a reader of tables tests it once. */
bool curve_is_sound(RatingCurve curve);

/* Straight line between neighbouring points; not proved outside the first and the last. */
RatingValue curve_linear(RatingCurve curve, double x);

/* Straight line between the logarithms (a power law in between): time-current bands, attenuation.
 * Every x and y must be above 0. Not proved outside the first and the last point. */
RatingValue curve_log_log(RatingCurve curve, double x);

/* y of the last point whose x is not above the one asked for: where a table has classes rather
 * than a scale (a 135 degC wire takes the 105 degC column). Not proved before the first point. */
RatingValue curve_step_down(RatingCurve curve, double x);

/* --- tables by wire gauge -----------------------------------------------------------------------
 */

typedef struct GaugeValue {
    int awg;      /* 0, -1, -2, -3 are 1/0 ... 4/0 (base/units.h) */
    double value; /* NAN: the source leaves the place blank */
} GaugeValue;

/* What to do about a gauge that the table leaves out. */
typedef enum GaugeMissing {
    GAUGE_NOT_PROVED,  /* nothing */
    GAUGE_THINNER_ROW, /* the nearest thinner wire's row: for currents, which fall with the wire */
    GAUGE_THICKER_ROW  /* the nearest thicker wire's row: for least forces, which rise with it */
} GaugeMissing;

/* The row of that gauge as published; of a neighbour as derived; else not proved. Rows in any
 * order, no gauge twice. A blank row counts as left out. */
RatingValue gauge_value(const GaugeValue *rows, size_t count, int awg, GaugeMissing missing);

#endif
