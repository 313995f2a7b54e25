#include "rating/required.h"

#include "base/check.h"

/* --- supply --------------------------------------------------------------------------------------
 */

unsigned required_spare_fuses(unsigned fitted) {
    return fitted / 2 + fitted % 2; /* for one or more that is never less than one */
}

unsigned required_spare_fuses_night(unsigned fitted) {
    return fitted < 3 ? fitted : 3;
}

bool required_generator_accepted(double rated_a, double continuous_a) {
    return continuous_a <= REQUIRED_GENERATOR_SHARE * rated_a;
}

double required_battery_min(double certified_ceiling_ft) {
    return certified_ceiling_ft <= 25000.0 ? 30.0 : 60.0;
}

bool required_hot_circuit_accepted(double protected_at_a, bool engine_needs_it) {
    return engine_needs_it || protected_at_a <= REQUIRED_HOT_CIRCUIT_A;
}

bool required_hot_sum_accepted(const double *protected_at_a, size_t count) {
    double sum_a = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum_a += protected_at_a[i];
    }
    return sum_a <= REQUIRED_HOT_CIRCUIT_A;
}

RatingValue required_low_volt_warning_v(double nominal_v) {
    if (nominal_v == 14.0) {
        return rating_published(13.0);
    }
    return nominal_v == 28.0 ? rating_published(26.0) : rating_not_proved();
}

/* --- bonding -------------------------------------------------------------------------------------
 */

double required_bond_limit_ohm(RequiredBond bond) {
    switch (bond) {
    case BOND_FRAME:
        return 0.0025;
    case BOND_JUMPER:
        return 0.003;
    case BOND_RETURN:
        return 0.005;
    case BOND_STATIC:
        return 1.0;
    case BOND_COUNT:
        break;
    }
    CHECK(!"a bond of the list");
    return 0.0;
}

bool required_bond_accepted(RequiredBond bond, double measured_ohm) {
    return measured_ohm <= required_bond_limit_ohm(bond);
}

/* --- flight rules --------------------------------------------------------------------------------
 */

RequiredOxygen required_oxygen(double cabin_ft, double minutes) {
    if (cabin_ft > 15000.0) {
        return OXYGEN_EVERYONE;
    }
    bool crew = cabin_ft > 14000.0 || (cabin_ft > 12500.0 && minutes > 30.0);
    return crew ? OXYGEN_CREW : OXYGEN_NONE;
}

bool required_altitude_report_accepted(double altimeter_ft, double reported_ft) {
    return fabs(altimeter_ft - reported_ft) <= 125.0;
}

bool required_beacon_battery_replace(double used_min, double life_used_share) {
    return used_min > 60.0 || life_used_share >= 0.5;
}

RequiredCompass required_compass(double deviation_deg) {
    return fabs(deviation_deg) <= 10.0 ? COMPASS_ACCEPTED : COMPASS_NEEDS_PLACARD_AND_SECOND_SOURCE;
}

bool required_compass_card_accepted(double step_deg) {
    return step_deg > 0.0 && step_deg <= 30.0;
}

RequiredMark required_instrument_mark(RequiredRange range) {
    switch (range) {
    case RANGE_LIMIT:
        return MARK_RED_RADIAL;
    case RANGE_NORMAL:
        return MARK_GREEN_ARC;
    case RANGE_CAUTION:
        return MARK_YELLOW_ARC;
    case RANGE_RESTRICTED:
        return MARK_RED_ARC;
    }
    CHECK(!"a range of the list");
    return MARK_RED_ARC;
}

/* --- dates ---------------------------------------------------------------------------------------
 */

/* Gregorian. */
static int days_in_month(int year, int month) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && leap ? 1 : 0);
}

RequiredDate required_due(RequiredDate last, int months) {
    CHECK(last.month >= 1 && last.month <= 12 && months >= 0);
    int counted = last.month - 1 + months;
    RequiredDate due = {.year = last.year + counted / 12, .month = counted % 12 + 1};
    due.day = days_in_month(due.year, due.month);
    return due;
}

/* --- safety --------------------------------------------------------------------------------------
 */

RatingValue required_probability(const RequiredProbability *rows, size_t count, int aircraft_class,
                                 RequiredSeverity severity) {
    CHECK(severity < FAILURE_COUNT);
    for (size_t i = 0; i < count; i++) {
        if (rows[i].aircraft_class == aircraft_class) {
            return rating_published(rows[i].per_hour[severity]);
        }
    }
    return rating_not_proved();
}
