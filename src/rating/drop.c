#include "rating/drop.h"

double drop_v(double ohm_per_km, double length_m, double current_a) {
    return ohm_per_km * (length_m / 1000.0) * current_a;
}

double drop_longest_m(double ohm_per_km, double current_a, double limit_v) {
    double per_m = drop_v(ohm_per_km, 1.0, current_a);
    return per_m > 0.0 ? limit_v / per_m : (double)INFINITY;
}

size_t drop_thinnest(const DropGauge *rows, size_t count, double length_m, double current_a,
                     double limit_v) {
    size_t best = count;
    for (size_t i = 0; i < count; i++) {
        bool fits = drop_v(rows[i].ohm_per_km, length_m, current_a) <= limit_v;
        if (fits && (best == count || rows[i].awg > rows[best].awg)) {
            best = i;
        }
    }
    return best;
}

RatingValue drop_limit_v(const DropLimit *rows, size_t count, double nominal_v, DropDuty duty) {
    for (size_t i = 0; i < count; i++) {
        if (rows[i].nominal_v != nominal_v) {
            continue;
        }
        if (duty == DUTY_INTERMITTENT && !isnan(rows[i].intermittent_v)) {
            return rating_published(rows[i].intermittent_v);
        }
        if (isnan(rows[i].continuous_v)) {
            return rating_not_proved();
        }
        return duty == DUTY_CONTINUOUS ? rating_published(rows[i].continuous_v)
                                       : rating_derived(rows[i].continuous_v);
    }
    return rating_not_proved();
}

double drop_main_feeder_limit_v(double regulated_v) {
    return DROP_MAIN_FEEDER_SHARE * regulated_v;
}
