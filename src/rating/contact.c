#include "rating/contact.h"

/* --- contacts ------------------------------------------------------------------------------------
 */

bool contact_takes_gauge(int thinnest_awg, int thickest_awg, int awg) {
    return awg <= thinnest_awg && awg >= thickest_awg;
}

RatingValue contact_loading_factor(const ContactLoading *rows, size_t count, int awg,
                                   double percent) {
    const ContactLoading *nearest = NULL;
    for (size_t i = 0; i < count; i++) {
        if (rows[i].awg >= awg && (nearest == NULL || rows[i].awg < nearest->awg)) {
            nearest = &rows[i];
        }
    }
    if (nearest == NULL) {
        return rating_not_proved();
    }
    RatingValue factor = curve_linear(nearest->factor_by_percent, percent);
    if (nearest->awg != awg) {
        factor.basis = rating_weaker(factor.basis, RATING_DERIVED);
    }
    return factor;
}

/* --- studs ---------------------------------------------------------------------------------------
 */

bool contact_lugs_accepted(unsigned lugs, unsigned studs) {
    return studs > 0 && (lugs + studs - 1) / studs <= CONTACT_LUGS_PER_STUD_MOST;
}

bool contact_stud_accepted(double rated_a, double current_a) {
    return fabs(current_a) <= rated_a;
}

/* --- switches ------------------------------------------------------------------------------------
 */

RatingValue contact_switch_needed_a(const SwitchFactor *rows, size_t count, double nominal_v,
                                    SwitchLoad load, double load_a) {
    const double near_enough = 0.2; /* of the row's voltage: 14 V is a "12 V" system charging */
    const SwitchFactor *nearest = NULL;
    double nearest_away_v = 0.0;
    for (size_t i = 0; i < count; i++) {
        double away_v = fabs(rows[i].nominal_v - nominal_v);
        if (rows[i].load != load || away_v > near_enough * rows[i].nominal_v) {
            continue;
        }
        /* Of two as near, the larger factor. */
        if (nearest == NULL || away_v < nearest_away_v ||
            (away_v == nearest_away_v && rows[i].factor > nearest->factor)) {
            nearest = &rows[i];
            nearest_away_v = away_v;
        }
    }
    if (nearest == NULL) {
        return rating_not_proved();
    }
    double needed_a = nearest->factor * load_a;
    return nearest_away_v == 0.0 ? rating_published(needed_a) : rating_derived(needed_a);
}

bool contact_silver_accepted(double volts, double current_a) {
    return volts >= 8.0 && current_a >= 0.5;
}
