#include "rating/battery.h"

#include "base/units.h"

/* --- Peukert -------------------------------------------------------------------------------------
 */

double battery_one_amp_h(double capacity_ah, double current_a, double k) {
    return capacity_ah / pow(current_a, k);
}

double battery_rated_h(double capacity_ah, double rated_h, double current_a, double k) {
    return rated_h * pow(capacity_ah / (current_a * rated_h), k);
}

double battery_one_amp_drawn_ah(double capacity_ah, double current_a, double k) {
    return current_a * battery_one_amp_h(capacity_ah, current_a, k);
}

/* --- endurance -----------------------------------------------------------------------------------
 */

BatteryEndurance battery_endurance(double capacity_ah, double usable, const BatteryStep *fixed,
                                   size_t count, double open_a) {
    double left_a_min = capacity_ah * usable * 60.0;
    double minutes = 0.0;
    for (size_t i = 0; i < count; i++) {
        double step_a_min = fixed[i].current_a * fixed[i].minutes;
        if (step_a_min > left_a_min) {
            return (BatteryEndurance){.total_min = minutes + left_a_min / fixed[i].current_a};
        }
        left_a_min -= step_a_min;
        minutes += fixed[i].minutes;
    }
    double open_min = open_a > 0.0 ? left_a_min / open_a : (double)INFINITY;
    return (BatteryEndurance){
        .total_min = minutes + open_min, .open_min = open_min, .fixed_covered = true};
}

/* --- state of charge -----------------------------------------------------------------------------
 */

RatingValue battery_charge_percent(RatingCurve percent_by_reading, double reading) {
    size_t count = percent_by_reading.count;
    if (count == 0) {
        return rating_not_proved();
    }
    if (reading < percent_by_reading.points[0].x) {
        return rating_derived(percent_by_reading.points[0].y);
    }
    if (reading > percent_by_reading.points[count - 1].x) {
        return rating_derived(percent_by_reading.points[count - 1].y);
    }
    return curve_linear(percent_by_reading, reading);
}

RatingValue battery_rest_v(RatingCurve percent_by_volts, double percent) {
    const RatingPoint *p = percent_by_volts.points;
    for (size_t i = 0; i < percent_by_volts.count; i++) {
        if (p[i].y == percent) {
            return rating_published(p[i].x);
        }
        if (i + 1 < percent_by_volts.count && p[i].y < percent && percent < p[i + 1].y) {
            double part = (percent - p[i].y) / (p[i + 1].y - p[i].y);
            return rating_published(p[i].x + (p[i + 1].x - p[i].x) * part);
        }
    }
    return rating_not_proved();
}

BatteryCharge battery_charge_by_tables(const BatteryChargeTable *tables, size_t count,
                                       double rest_v, double spread_percent) {
    BatteryCharge charge = {(double)NAN, (double)NAN, BATTERY_NOT_IN_TABLES};
    for (size_t i = 0; i < count; i++) {
        RatingValue least = curve_linear(tables[i].least_by_volts, rest_v);
        RatingValue most = curve_linear(tables[i].most_by_volts, rest_v);
        /* fmin and fmax pass over the NAN of a side that doesn't reach this voltage. */
        charge.least_percent = fmin(charge.least_percent, fmin(least.value, most.value));
        charge.most_percent = fmax(charge.most_percent, fmax(least.value, most.value));
    }
    if (!isnan(charge.least_percent)) {
        bool agree = charge.most_percent - charge.least_percent <= spread_percent;
        charge.verdict = agree ? BATTERY_CLEAR : BATTERY_AMBIGUOUS;
    }
    return charge;
}

/* --- lead acid -----------------------------------------------------------------------------------
 */

/* Tens of degF above the reference of 80 degF. */
static double tens_above_reference(double degc) {
    return (units_degf_from_degc(degc) - 80.0) / 10.0;
}

double battery_lead_acid_v_at_reference(double measured_v, double electrolyte_degc,
                                        unsigned cells) {
    return measured_v + 0.024 / 6.0 * cells * tens_above_reference(electrolyte_degc);
}

double battery_lead_acid_gravity_at_reference(double measured, double electrolyte_degc) {
    return measured + 0.004 * tens_above_reference(electrolyte_degc);
}

double battery_lead_acid_cell_v(double gravity) {
    return gravity + 0.84;
}
