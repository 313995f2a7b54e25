/* Small rules of the published regulations: 14 CFR parts 23 and 91 (texts opened; sections 23.13xx
 * and 23.15xx in the edition before 2017), FAA AC 43.13-1B section 5, AC 23.1309-1E (second-hand).
 * Verdicts, so nothing to tolerate. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "rating/required.h"
#include "../near.h"

/* C48, AC 43.13-1B par. 11-189, p. 11-75: 3.1 milliohm at a jumper connection is rejected. The
 * limits of 2.5 (frames, 11-188f) and 5 milliohm (return path) are other things. Published. */
static void c48_bond(void **state) {
    (void)state;
    assert_false(required_bond_accepted(BOND_JUMPER, 0.0031));
    assert_true(required_bond_accepted(BOND_JUMPER, 0.0030));
    assert_false(required_bond_accepted(BOND_FRAME, 0.0026));
    assert_true(required_bond_accepted(BOND_RETURN, 0.0031));
    assert_false(required_bond_accepted(BOND_RETURN, 0.0051));
    assert_true(required_bond_accepted(BOND_STATIC, 0.9));
    assert_false(required_bond_accepted(BOND_STATIC, 1.1));
}

/* C49, 23.1357(e): of seven 5 A fuses half are 3.5, so four spares. Published. */
static void c49_spare_fuses(void **state) {
    (void)state;
    assert_int_equal(required_spare_fuses(7), 4);
    assert_int_equal(required_spare_fuses(1), 1);
    assert_int_equal(required_spare_fuses(2), 1);
    assert_int_equal(required_spare_fuses(0), 0);
    /* 91.205(c)(6), night: a set, or three of each kind. */
    assert_int_equal(required_spare_fuses_night(7), 3);
    assert_int_equal(required_spare_fuses_night(2), 2);
}

/* C50, AC par. 11-35a, p. 11-12: 60 A alternator, 49 A continuous: above 80 % (48 A), flagged. */
static void c50_generator(void **state) {
    (void)state;
    assert_false(required_generator_accepted(60, 49));
    assert_true(required_generator_accepted(60, 48));
}

/* C132, 23.1327 and 23.1547: 11 degrees of deviation need a placard and a second source. */
static void c132_compass(void **state) {
    (void)state;
    assert_int_equal(required_compass(11), COMPASS_NEEDS_PLACARD_AND_SECOND_SOURCE);
    assert_int_equal(required_compass(-11), COMPASS_NEEDS_PLACARD_AND_SECOND_SOURCE);
    assert_int_equal(required_compass(10), COMPASS_ACCEPTED);
}

static void check_due(RequiredDate last, int months, RequiredDate expected) {
    RequiredDate due = required_due(last, months);
    assert_int_equal(due.year, expected.year);
    assert_int_equal(due.month, expected.month);
    assert_int_equal(due.day, expected.day);
}

/* C133, 91.411: tested 2024-03-10, good to 2026-03-31 (24 calendar months). Published. */
static void c133_altimeter_due(void **state) {
    (void)state;
    check_due((RequiredDate){2024, 3, 10}, 24, (RequiredDate){2026, 3, 31});
}

/* C134, 91.207(d): inspected 2025-05-02, good to 2026-05-31 (12 calendar months). Published. */
static void c134_beacon_due(void **state) {
    (void)state;
    check_due((RequiredDate){2025, 5, 2}, 12, (RequiredDate){2026, 5, 31});
    check_due((RequiredDate){2022, 2, 28}, 24, (RequiredDate){2024, 2, 29}); /* leap year */
    check_due((RequiredDate){1899, 2, 1}, 12, (RequiredDate){1900, 2, 28});  /* none in 1900 */
    check_due((RequiredDate){2025, 12, 31}, 1, (RequiredDate){2026, 1, 31});
    check_due((RequiredDate){2025, 12, 1}, 24, (RequiredDate){2027, 12, 31});
}

/* C135, 91.207(c): 61 minutes of use, replace; one hour is still good; half the life is not. */
static void c135_beacon_battery(void **state) {
    (void)state;
    assert_true(required_beacon_battery_replace(61, 0.1));
    assert_false(required_beacon_battery_replace(60, 0.1));
    assert_true(required_beacon_battery_replace(0, 0.5));
}

/* C136, 91.211(a)(1): 31 minutes at a cabin of 13,000 ft: the crew. Published. */
static void c136_oxygen_crew(void **state) {
    (void)state;
    assert_int_equal(required_oxygen(13000, 31), OXYGEN_CREW);
    assert_int_equal(required_oxygen(13000, 30), OXYGEN_NONE);
    assert_int_equal(required_oxygen(12500, 600), OXYGEN_NONE);
    assert_int_equal(required_oxygen(14000, 10), OXYGEN_NONE);
    assert_int_equal(required_oxygen(14001, 0), OXYGEN_CREW); /* (a)(2) */
}

/* C137, 91.211(a)(3): above 15,000 ft each occupant. Published. */
static void c137_oxygen_everyone(void **state) {
    (void)state;
    assert_int_equal(required_oxygen(15001, 0), OXYGEN_EVERYONE);
    assert_int_equal(required_oxygen(15000, 0), OXYGEN_CREW);
}

/* C138, 91.217: altimeter 5000, encoder 5130: 130 ft, fails. Published. */
static void c138_altitude_report(void **state) {
    (void)state;
    assert_false(required_altitude_report_accepted(5000, 5130));
    assert_true(required_altitude_report_accepted(5000, 5125));
    assert_false(required_altitude_report_accepted(5000, 4870));
}

static const RequiredProbability probabilities[] = {{1, {1e-3, 1e-4, 1e-5, 1e-6}},
                                                    {2, {1e-3, 1e-5, 1e-6, 1e-7}},
                                                    {3, {1e-3, 1e-5, 1e-7, 1e-8}},
                                                    {4, {1e-3, 1e-5, 1e-7, 1e-9}}};

/* C139, AC 23.1309-1E: class I, hazardous: 1e-5 per flight hour (second-hand). */
static void c139_class_1_hazardous(void **state) {
    (void)state;
    assert_near(required_probability(probabilities, 4, 1, FAILURE_HAZARDOUS).value, 1e-5, 0.0);
}

/* C140: class III, catastrophic: 1e-8. And the table is ordered both ways. */
static void c140_class_3_catastrophic(void **state) {
    (void)state;
    assert_near(required_probability(probabilities, 4, 3, FAILURE_CATASTROPHIC).value, 1e-8, 0.0);
    for (int c = 1; c <= 4; c++) {
        for (int s = FAILURE_MAJOR; s < FAILURE_COUNT; s++) {
            double here = required_probability(probabilities, 4, c, (RequiredSeverity)s).value;
            assert_true(here <
                        required_probability(probabilities, 4, c, (RequiredSeverity)(s - 1)).value);
            assert_true(
                c == 1 ||
                here <= required_probability(probabilities, 4, c - 1, (RequiredSeverity)s).value);
        }
    }
    assert_int_equal(required_probability(probabilities, 4, 5, FAILURE_MINOR).basis,
                     RATING_NOT_PROVED);
}

/* C162, 23.1361(b)(2): a hot circuit at 7.5 A that the engine doesn't need is rejected; two of 3 A
 * into one load are together more than 5 A. Published. */
static void c162_hot_circuit(void **state) {
    (void)state;
    assert_false(required_hot_circuit_accepted(7.5, false));
    assert_true(required_hot_circuit_accepted(7.5, true));
    assert_true(required_hot_circuit_accepted(5, false));
    const double two[] = {3, 3};
    assert_false(required_hot_sum_accepted(two, 2));
    assert_true(required_hot_sum_accepted(two, 1));
}

/* C163, 23.1549(a): a limit is a red radial line; green normal, yellow caution, red restricted. */
static void c163_instrument_mark(void **state) {
    (void)state;
    assert_int_equal(required_instrument_mark(RANGE_LIMIT), MARK_RED_RADIAL);
    assert_int_equal(required_instrument_mark(RANGE_NORMAL), MARK_GREEN_ARC);
    assert_int_equal(required_instrument_mark(RANGE_CAUTION), MARK_YELLOW_ARC);
    assert_int_equal(required_instrument_mark(RANGE_RESTRICTED), MARK_RED_ARC);
}

/* C164, 23.1547(d): a card with headings 45 degrees apart is rejected, 30 is not. */
static void c164_compass_card(void **state) {
    (void)state;
    assert_false(required_compass_card_accepted(45));
    assert_true(required_compass_card_accepted(30));
    assert_false(required_compass_card_accepted(0));
}

/* AC par. 11-35b, p. 11-12 (opened): warn below 13 V and 26 V. 23.1353(h): 30 minutes to 25,000 ft,
 * 60 above (split from memory). */
static void warning_and_reserve(void **state) {
    (void)state;
    assert_near(required_low_volt_warning_v(14).value, 13, 0.0);
    assert_near(required_low_volt_warning_v(28).value, 26, 0.0);
    assert_int_equal(required_low_volt_warning_v(48).basis, RATING_NOT_PROVED);
    assert_near(required_battery_min(18000), 30, 0.0);
    assert_near(required_battery_min(25001), 60, 0.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c48_bond),
        cmocka_unit_test(c49_spare_fuses),
        cmocka_unit_test(c50_generator),
        cmocka_unit_test(c132_compass),
        cmocka_unit_test(c133_altimeter_due),
        cmocka_unit_test(c134_beacon_due),
        cmocka_unit_test(c135_beacon_battery),
        cmocka_unit_test(c136_oxygen_crew),
        cmocka_unit_test(c137_oxygen_everyone),
        cmocka_unit_test(c138_altitude_report),
        cmocka_unit_test(c139_class_1_hazardous),
        cmocka_unit_test(c140_class_3_catastrophic),
        cmocka_unit_test(c162_hot_circuit),
        cmocka_unit_test(c163_instrument_mark),
        cmocka_unit_test(c164_compass_card),
        cmocka_unit_test(warning_and_reserve),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
