#include "rating/curve.h"

const char *rating_basis_name(RatingBasis basis) {
    switch (basis) {
    case RATING_PUBLISHED:
        return "published";
    case RATING_DERIVED:
        return "derived";
    case RATING_NOT_PROVED:
        break;
    }
    return "not proved";
}

/* --- curves --------------------------------------------------------------------------------------
 */

/* Index of the last point with x <= the one asked for; count when there is none. By halving: bands
 * and curves are read once per conductor. */
static size_t point_before(RatingCurve curve, double x) {
    size_t low = 0;
    size_t high = curve.count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (curve.points[middle].x <= x) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low == 0 ? curve.count : low - 1;
}

bool curve_is_sound(RatingCurve curve) {
    for (size_t i = 0; i < curve.count; i++) {
        if (!isfinite(curve.points[i].x) || !isfinite(curve.points[i].y)) {
            return false;
        }
        if (i > 0 && !(curve.points[i].x > curve.points[i - 1].x)) {
            return false;
        }
    }
    return true;
}

RatingValue curve_linear(RatingCurve curve, double x) {
    size_t i = point_before(curve, x);
    if (i == curve.count) {
        return rating_not_proved();
    }
    RatingPoint a = curve.points[i];
    if (x == a.x) {
        return rating_published(a.y); /* the printed figure itself, free of rounding */
    }
    if (i + 1 == curve.count) {
        return rating_not_proved();
    }
    RatingPoint b = curve.points[i + 1];
    return rating_published(a.y + (b.y - a.y) * ((x - a.x) / (b.x - a.x)));
}

RatingValue curve_log_log(RatingCurve curve, double x) {
    size_t i = point_before(curve, x);
    if (i == curve.count) {
        return rating_not_proved();
    }
    RatingPoint a = curve.points[i];
    if (x == a.x) {
        return rating_published(a.y);
    }
    if (i + 1 == curve.count) {
        return rating_not_proved();
    }
    RatingPoint b = curve.points[i + 1];
    double part = log(x / a.x) / log(b.x / a.x);
    return rating_published(a.y * pow(b.y / a.y, part));
}

RatingValue curve_step_down(RatingCurve curve, double x) {
    size_t i = point_before(curve, x);
    return i == curve.count ? rating_not_proved() : rating_published(curve.points[i].y);
}

/* --- tables by wire gauge -----------------------------------------------------------------------
 */

RatingValue gauge_value(const GaugeValue *rows, size_t count, int awg, GaugeMissing missing) {
    const GaugeValue *nearest = NULL;
    for (size_t i = 0; i < count; i++) {
        const GaugeValue *row = &rows[i];
        if (isnan(row->value)) {
            continue;
        }
        if (row->awg == awg) {
            return rating_published(row->value);
        }
        bool thinner = row->awg > awg;
        if (missing == GAUGE_NOT_PROVED || thinner != (missing == GAUGE_THINNER_ROW)) {
            continue;
        }
        /* Of the rows on the safe side, the one nearest to the gauge asked for. */
        if (nearest == NULL || (thinner ? row->awg < nearest->awg : row->awg > nearest->awg)) {
            nearest = row;
        }
    }
    return nearest == NULL ? rating_not_proved() : rating_derived(nearest->value);
}
