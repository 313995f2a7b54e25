#include "rating/ampacity.h"

#include "base/check.h"
#include "base/units.h"

/* --- one wire in free air ------------------------------------------------------------------------
 */

/* Free convection from a wire: heat ~ rise^1.25, heat ~ I^2, so I ~ rise^0.625. */
#define FREE_CONVECTION_EXPONENT 0.625

RatingValue ampacity_free_air(const AmpacityLine *line, double rise_k) {
    if (rise_k <= 0.0) {
        return rating_published(0.0);
    }
    if (rise_k < AMPACITY_RISE_READ_FROM) {
        double at_first = line->b * pow(AMPACITY_RISE_READ_FROM, line->m);
        return rating_derived(at_first *
                              pow(rise_k / AMPACITY_RISE_READ_FROM, FREE_CONVECTION_EXPONENT));
    }
    if (rise_k > AMPACITY_RISE_READ_TO) {
        return rating_derived(line->b * pow(AMPACITY_RISE_READ_TO, line->m));
    }
    return rating_published(line->b * pow(rise_k, line->m));
}

double ampacity_law_a(const AmpacityLaw *law, double area_cmil, double rise_k) {
    if (rise_k <= 0.0) {
        return 0.0;
    }
    return law->a * pow(area_cmil, law->p) * pow(rise_k / law->rise_at_k, law->n);
}

/* Slope of log I over log area, least squares over all lines at this rise. */
static double mean_slope(const AmpacityLine *lines, size_t count, double rise_k) {
    double n = (double)count;
    double sum_x = 0.0;
    double sum_y = 0.0;
    double sum_xx = 0.0;
    double sum_xy = 0.0;
    for (size_t i = 0; i < count; i++) {
        double x = log(lines[i].area_cmil);
        double y = log(ampacity_free_air(&lines[i], rise_k).value);
        sum_x += x;
        sum_y += y;
        sum_xx += x * x;
        sum_xy += x * y;
    }
    return (n * sum_xy - sum_x * sum_y) / (n * sum_xx - sum_x * sum_x);
}

RatingValue ampacity_free_air_by_area(const AmpacityLine *lines, size_t count,
                                      const AmpacityLaw *law, double area_cmil, double rise_k) {
    CHECK(count >= 2);
    if (rise_k <= 0.0) {
        return rating_published(0.0);
    }
    if (area_cmil < lines[0].area_cmil) {
        return rating_not_proved();
    }
    size_t i = 0;
    while (i + 1 < count && lines[i + 1].area_cmil <= area_cmil) {
        i++;
    }
    RatingValue below = ampacity_free_air(&lines[i], rise_k);
    if (lines[i].area_cmil == area_cmil) {
        return below;
    }
    double ratio = area_cmil / lines[i].area_cmil;
    if (i + 1 < count) {
        RatingValue above = ampacity_free_air(&lines[i + 1], rise_k);
        double part = log(ratio) / log(lines[i + 1].area_cmil / lines[i].area_cmil);
        return rating_derived(below.value * pow(above.value / below.value, part));
    }
    double along = below.value * pow(ratio, mean_slope(lines, count, rise_k));
    double by_law = law == NULL ? along : ampacity_law_a(law, area_cmil, rise_k);
    return rating_derived(fmin(along, by_law));
}

/* --- bundle --------------------------------------------------------------------------------------
 */

/* Beyond the table the factor falls as 1/(1 + g*((N-1)/(L-1))^TAIL). The points at 20 % give 0.887
 * from 10 to 19 wires and 0.879 from 10 to 20, those at 40..100 % 0.71..0.75: the steepest,
 * rounded up, is used for all. */
#define BUNDLE_TAIL_EXPONENT 0.89

/* The rows [first, last) of the points from `first` on that have the same wire count. */
static size_t row_end(AmpacityBundleTable table, size_t first) {
    size_t last = first + 1;
    while (last < table.count && table.points[last].wires == table.points[first].wires) {
        last++;
    }
    return last;
}

/* Factor of one row at `percent`; false when the row doesn't reach that far. At or below the row's
 * first percent: the first percent's factor. */
static bool row_factor(AmpacityBundleTable table, size_t first, size_t last, double percent,
                       double *factor) {
    const AmpacityBundlePoint *points = table.points;
    if (percent <= points[first].percent) {
        *factor = points[first].factor;
        return true;
    }
    for (size_t i = first; i + 1 < last; i++) {
        const AmpacityBundlePoint *a = &points[i];
        const AmpacityBundlePoint *b = &points[i + 1];
        if (percent <= b->percent) {
            double part = (percent - a->percent) / (b->percent - a->percent);
            *factor = a->factor + (b->factor - a->factor) * part;
            return true;
        }
    }
    return false;
}

RatingValue ampacity_bundle_factor(AmpacityBundleTable table, double wires, double percent) {
    CHECK(wires >= 1.0 && table.count > 0);
    if (!(percent <= 100.0)) {
        return rating_not_proved();
    }
    RatingBasis basis = percent < table.points[0].percent ? RATING_DERIVED : RATING_PUBLISHED;
    /* The last row before `wires` that reaches this percent, and the first one behind. */
    double before_wires = 0.0;
    double before_factor = 0.0;
    for (size_t first = 0; first < table.count;) {
        size_t last = row_end(table, first);
        double row_wires = table.points[first].wires;
        double factor = 0.0;
        if (row_factor(table, first, last, percent, &factor)) {
            if (row_wires == wires) {
                return (RatingValue){factor, basis};
            }
            if (row_wires > wires) {
                if (before_wires == 0.0) {
                    return rating_not_proved(); /* a table that starts above this count */
                }
                double part = (wires - before_wires) / (row_wires - before_wires);
                return (RatingValue){before_factor + (factor - before_factor) * part, basis};
            }
            before_wires = row_wires;
            before_factor = factor;
        }
        first = last;
    }
    if (before_wires <= 1.0) {
        return rating_not_proved(); /* one wire says nothing about many */
    }
    double growth = pow((wires - 1.0) / (before_wires - 1.0), BUNDLE_TAIL_EXPONENT);
    return rating_derived(1.0 / (1.0 + (1.0 / before_factor - 1.0) * growth));
}

/* --- altitude ------------------------------------------------------------------------------------
 */

/* Value at x of the parabola through three points (Lagrange). */
static double parabola(const RatingPoint *p, double x) {
    double l0 = (x - p[1].x) * (x - p[2].x) / ((p[0].x - p[1].x) * (p[0].x - p[2].x));
    double l1 = (x - p[0].x) * (x - p[2].x) / ((p[1].x - p[0].x) * (p[1].x - p[2].x));
    double l2 = (x - p[0].x) * (x - p[1].x) / ((p[2].x - p[0].x) * (p[2].x - p[1].x));
    return p[0].y * l0 + p[1].y * l1 + p[2].y * l2;
}

RatingValue ampacity_altitude_factor(RatingCurve points_ft, double altitude_ft) {
    CHECK(points_ft.count > 0);
    if (altitude_ft < points_ft.points[0].x) {
        return rating_published(points_ft.points[0].y);
    }
    RatingValue chord = curve_linear(points_ft, altitude_ft);
    if (chord.basis == RATING_NOT_PROVED || points_ft.count < 3) {
        return chord;
    }
    size_t i = 0; /* the interval holds altitude_ft: [i, i + 1] */
    while (i + 1 < points_ft.count && points_ft.points[i + 1].x <= altitude_ft) {
        i++;
    }
    if (points_ft.points[i].x == altitude_ft) {
        return chord;
    }
    /* The third point: the next one, or the one before when there is none. */
    size_t start = i + 2 < points_ft.count ? i : i - 1;
    double curved = parabola(&points_ft.points[start], altitude_ft);
    return curved < chord.value ? rating_derived(curved) : chord;
}

/* --- what may flow -------------------------------------------------------------------------------
 */

RatingValue ampacity_allowed(RatingValue free_air_a, RatingValue altitude_factor,
                             RatingValue bundle_factor) {
    RatingBasis basis = rating_weaker(free_air_a.basis, altitude_factor.basis);
    return (RatingValue){free_air_a.value * altitude_factor.value * bundle_factor.value,
                         rating_weaker(basis, bundle_factor.basis)};
}

RatingValue ampacity_worst_bundle_a(RatingCurve amps_by_rating, double rating_degc) {
    return curve_step_down(amps_by_rating, rating_degc);
}

double ampacity_harness_total_a(const AmpacityGroup *groups, size_t count, double percent) {
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += groups[i].wires * groups[i].allowed_a;
    }
    return sum * percent / 100.0;
}

/* --- how hot, how far ----------------------------------------------------------------------------
 */

double ampacity_conductor_degc(double ambient_degc, double rating_degc, double current_a,
                               double allowed_a) {
    double ratio = fabs(current_a) / allowed_a;
    double share = ratio <= 1.0 ? sqrt(ratio) : ratio * ratio;
    return ambient_degc + (rating_degc - ambient_degc) * share;
}

double ampacity_conductor_degc_by_line(double ambient_degc, double rating_degc, double current_a,
                                       double allowed_a, double m) {
    double ratio = fabs(current_a) / allowed_a;
    return ambient_degc + (rating_degc - ambient_degc) * pow(ratio, 1.0 / m);
}

double ampacity_length_at(RatingMetal metal, double length_at_20_m, double t2_degc) {
    return length_at_20_m / resistance_ratio(metal, t2_degc);
}

/* --- space-flight rules --------------------------------------------------------------------------
 */

double ampacity_space_bundle_factor(unsigned wires) {
    if (wires <= 1) {
        return 1.0;
    }
    return wires <= 15 ? (29.0 - wires) / 28.0 : 0.5;
}

RatingValue ampacity_space_a(double single_a, unsigned wires, RatingCurve factor_by_insulation,
                             double insulation_degc) {
    RatingValue insulation = curve_step_down(factor_by_insulation, insulation_degc);
    insulation.value *= single_a * ampacity_space_bundle_factor(wires);
    return insulation;
}

double ampacity_vacuum_a(const AmpacityVacuum *wire) {
    const double stefan_boltzmann_w_per_m2_k4 = 5.670374419e-8; /* CODATA 2018 */
    double hot_k = units_kelvin_from_degc(wire->wire_degc);
    double cold_k = units_kelvin_from_degc(wire->surroundings_degc);
    double heat_w_per_m = wire->emissivity * stefan_boltzmann_w_per_m2_k4 * UNITS_PI *
                          wire->diameter_m * (pow(hot_k, 4.0) - pow(cold_k, 4.0));
    double ohm_per_m = wire->ohm_20_per_m * (1.0 + wire->per_kelvin * (wire->wire_degc - 20.0));
    return sqrt(heat_w_per_m / ohm_per_m);
}
