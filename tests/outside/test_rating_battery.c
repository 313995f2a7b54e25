/* Batteries and alternators: worked examples of Peukert's law (two public pages; opened), of an
 * installation manual's endurance (p. 3-38; opened), five resting-voltage tables for lead acid and
 * five for lithium iron phosphate (opened; they disagree), an output curve (small marine engine
 * manual, p. 83; opened). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "base/units.h"
#include "rating/alternator.h"
#include "rating/battery.h"
#include "../near.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define CURVE(points) ((RatingCurve){(points), COUNT(points)})

/* --- Peukert
 * -------------------------------------------------------------------------------------- */

/* C35: 100 Ah, 5 A, k 1.2: 14.5 h. Published to a tenth. */
static void c35_peukert_100_ah(void **state) {
    (void)state;
    assert_near(battery_one_amp_h(100, 5, 1.2), 14.5, 0.05);
}

/* C36: 250 Ah, 20 A, k 1.3: 5.088631644 h. Published. */
static void c36_peukert_250_ah(void **state) {
    (void)state;
    assert_near(battery_one_amp_h(250, 20, 1.3), 5.088631644, 1e-8);
}

/* C117: of those 250 Ah, 101.7726 are drawn. Published. */
static void c117_peukert_drawn(void **state) {
    (void)state;
    assert_near(battery_one_amp_drawn_ah(250, 20, 1.3), 101.7726, 0.0005);
}

/* The rated form: at the rated current exactly the rated hours; 10 A from 100 Ah in 20 h, k 1.2:
 * 8.7055 h (computed); and C*(C/R)^(k-1)/I^k, the other way it is printed. */
static void peukert_rated_form(void **state) {
    (void)state;
    assert_near(battery_rated_h(100, 20, 5, 1.2), 20.0, 1e-9);
    assert_near(battery_rated_h(100, 20, 10, 1.2), 8.7055, 5e-5);
    for (double a = 1; a < 50; a *= 1.7) {
        double other = 100 * pow(100.0 / 20, 0.2) / pow(a, 1.2);
        assert_near(battery_rated_h(100, 20, a, 1.2), other, 1e-9 * other);
    }
}

/* --- endurance
 * ------------------------------------------------------------------------------------ */

/* C116: 35 Ah at 0.75, 5 min at 43.5 A before shedding, 10 min at 48.1 A for landing, the rest at
 * 34.0 A: 25.8 min of cruise, 40.8 min in all. Published. */
static void c116_endurance(void **state) {
    (void)state;
    const BatteryStep fixed[] = {{43.5, 5}, {48.1, 10}};
    BatteryEndurance got = battery_endurance(35, 0.75, fixed, 2, 34.0);
    assert_true(got.fixed_covered);
    assert_near(got.open_min, 25.8, 0.05);
    assert_near(got.total_min, 40.8, 0.05);
}

/* A battery too small for its own reserves says so and when it is flat. */
static void endurance_without_reserve(void **state) {
    (void)state;
    const BatteryStep fixed[] = {{60, 5}, {60, 10}};
    BatteryEndurance got = battery_endurance(10, 1.0, fixed, 2, 30); /* 600 A min of 900 */
    assert_false(got.fixed_covered);
    assert_near(got.total_min, 10, 1e-9);
    assert_near(got.open_min, 0, 0.0);
}

/* --- lead acid
 * ------------------------------------------------------------------------------------ */

static const RatingPoint lead_volts[] = {
    {11.89, 0}, {12.06, 25}, {12.24, 50}, {12.45, 75}, {12.65, 100}};
static const RatingPoint lead_gravity[] = {
    {1.120, 0}, {1.155, 25}, {1.190, 50}, {1.225, 75}, {1.265, 100}};

/* C118: 12.24 V resting is 50 % in the table with specific gravities. Published, 1 %. */
static void c118_lead_acid_volts(void **state) {
    (void)state;
    assert_near(battery_charge_percent(CURVE(lead_volts), 12.24).value, 50, 1);
}

/* C119: specific gravity 1.225 is 75 %. Published. */
static void c119_lead_acid_gravity(void **state) {
    (void)state;
    assert_near(battery_charge_percent(CURVE(lead_gravity), 1.225).value, 75, 0.0);
}

/* C120: 12.45 V at 60 degF reads 12.402 V at the reference of 80 degF: colder lowers. Recomputed.
 */
static void c120_lead_acid_cold(void **state) {
    (void)state;
    double degc = units_degc_from_degf(60);
    assert_near(battery_lead_acid_v_at_reference(12.45, degc, 6), 12.402, 0.001);
    assert_near(battery_lead_acid_v_at_reference(24.90, degc, 12), 24.804, 0.001);
    assert_near(battery_lead_acid_gravity_at_reference(1.225, degc), 1.217, 1e-9);
}

/* Volts and gravities of that table belong together: six cells of SG + 0.84 (opened, "about"):
 * 0.02 V when full, 0.13 V when empty. */
static void lead_acid_cell_rule(void **state) {
    (void)state;
    for (size_t i = 0; i < COUNT(lead_volts); i++) {
        assert_near(6 * battery_lead_acid_cell_v(lead_gravity[i].x), lead_volts[i].x, 0.14);
    }
}

/* Five lead-acid tables together at 12.3 V: between 50 and 69 %; within the 25 % a shop may ask of
 * a voltmeter, not within 10 %. Where no table reaches there is no answer. */
static const RatingPoint lead_1[] = {{11.6, 0}, {12.0, 25}, {12.2, 50}, {12.4, 75}, {12.6, 100}};
static const RatingPoint lead_3[] = {{12.15, 25}, {12.3, 50}, {12.45, 75}, {12.66, 100}};
static const RatingPoint lead_4[] = {{11.95, 25}, {12.15, 50}, {12.35, 75}, {12.6, 100}};
static const RatingPoint lead_5_least[] = {
    {11.8, 0}, {12.06, 25}, {12.24, 50}, {12.45, 75}, {12.68, 100}};
static const RatingPoint lead_5_most[] = {
    {11.8, 0}, {12.0, 25}, {12.2, 50}, {12.4, 75}, {12.6, 100}};

static void lead_acid_tables_together(void **state) {
    (void)state;
    const BatteryChargeTable tables[] = {{CURVE(lead_1), CURVE(lead_1)},
                                         {CURVE(lead_volts), CURVE(lead_volts)},
                                         {CURVE(lead_3), CURVE(lead_3)},
                                         {CURVE(lead_4), CURVE(lead_4)},
                                         {CURVE(lead_5_least), CURVE(lead_5_most)}};
    BatteryCharge charge = battery_charge_by_tables(tables, COUNT(tables), 12.3, 25);
    assert_int_equal(charge.verdict, BATTERY_CLEAR);
    assert_near(charge.least_percent, 50, 1e-9);
    assert_near(charge.most_percent, 68.75, 1e-6);
    charge = battery_charge_by_tables(tables, COUNT(tables), 12.3, 10);
    assert_int_equal(charge.verdict, BATTERY_AMBIGUOUS);
    charge = battery_charge_by_tables(tables, COUNT(tables), 14.4, 10);
    assert_int_equal(charge.verdict, BATTERY_NOT_IN_TABLES);
}

/* --- lithium iron phosphate
 * ----------------------------------------------------------------------- */

/* Five tables, volts of four cells; ranges give a least and a most charge. */
static const RatingPoint iron_a[] = {{10.0, 0},  {12.0, 10}, {12.8, 20}, {13.0, 30}, {13.2, 40},
                                     {13.3, 70}, {13.4, 90}, {13.6, 99}, {14.6, 100}};
static const RatingPoint iron_b_least[] = {{12.0, 0},  {12.4, 25}, {12.8, 50}, {13.2, 75},
                                           {13.4, 85}, {13.6, 95}, {14.6, 100}};
static const RatingPoint iron_b_most[] = {{11.4, 10}, {12.4, 30}, {12.8, 50}, {13.2, 80},
                                          {13.4, 90}, {13.6, 95}, {14.6, 100}};
static const RatingPoint iron_c_least[] = {
    {10.8, 0}, {12.8, 25}, {13.2, 50}, {13.6, 75}, {14.0, 100}};
static const RatingPoint iron_c_most[] = {
    {10.0, 0}, {12.4, 25}, {13.0, 50}, {13.4, 75}, {13.8, 100}};
static const RatingPoint iron_d_least[] = {{13.2, 80}, {13.6, 90}, {13.8, 95}, {14.6, 100}};
static const RatingPoint iron_d_most[] = {{13.2, 80}, {13.6, 95}, {13.8, 95.5}, {14.6, 100}};
static const RatingPoint iron_e[] = {{13.08, 50}, {13.8, 90}, {14.6, 100}};

/* C121: at 13.2 V the tables say 40, 50 or 75 to 80 %: ambiguous. Published. The flat part from
 * 12.9 to 13.4 V is ambiguous throughout; an empty battery is not. */
static void c121_lithium_flat_part(void **state) {
    (void)state;
    const BatteryChargeTable tables[] = {{CURVE(iron_a), CURVE(iron_a)},
                                         {CURVE(iron_b_least), CURVE(iron_b_most)},
                                         {CURVE(iron_c_least), CURVE(iron_c_most)},
                                         {CURVE(iron_d_least), CURVE(iron_d_most)},
                                         {CURVE(iron_e), CURVE(iron_e)}};
    BatteryCharge charge = battery_charge_by_tables(tables, COUNT(tables), 13.2, 15);
    assert_int_equal(charge.verdict, BATTERY_AMBIGUOUS);
    assert_near(charge.least_percent, 40, 1e-9);
    assert_near(charge.most_percent, 80, 1e-9);
    for (double v = 12.9; v <= 13.4; v += 0.02) {
        assert_int_equal(battery_charge_by_tables(tables, COUNT(tables), v, 15).verdict,
                         BATTERY_AMBIGUOUS);
    }
    assert_int_equal(battery_charge_by_tables(tables, COUNT(tables), 10.5, 15).verdict,
                     BATTERY_CLEAR);
    assert_int_equal(battery_charge_by_tables(tables, COUNT(tables), 14.6, 15).verdict,
                     BATTERY_CLEAR);
}

/* Percent to volts and back is the same table. */
static void charge_there_and_back(void **state) {
    (void)state;
    for (double percent = 0; percent <= 100; percent += 2.5) {
        RatingValue v = battery_rest_v(CURVE(lead_volts), percent);
        assert_near(battery_charge_percent(CURVE(lead_volts), v.value).value, percent, 1e-9);
    }
    assert_int_equal(battery_rest_v(CURVE(lead_3), 10).basis, RATING_NOT_PROVED);
    assert_int_equal(battery_charge_percent(CURVE(lead_volts), 13).basis, RATING_DERIVED);
}

/* --- alternator
 * ----------------------------------------------------------------------------------- */

static const RatingPoint hot_a[] = {{1300, 16}, {2500, 41}, {5000, 48}};

/* C122: 2500 rpm hot, 41 A. Published. */
static void c122_alternator_at_2500(void **state) {
    (void)state;
    assert_near(alternator_output_a(CURVE(hot_a), 2500).value, 41, 0.0);
}

/* C123: 1900 rpm hot, half way from 1300 to 2500: 28.5 A. Recomputed. Outside the points nothing is
 * proved: none below, no more than the last above. */
static void c123_alternator_at_1900(void **state) {
    (void)state;
    assert_near(alternator_output_a(CURVE(hot_a), 1900).value, 28.5, 0.1);
    RatingValue slow = alternator_output_a(CURVE(hot_a), 1200);
    assert_near(slow.value, 0, 0.0);
    assert_int_equal(slow.basis, RATING_NOT_PROVED);
    RatingValue fast = alternator_output_a(CURVE(hot_a), 6000);
    assert_near(fast.value, 48, 0.0);
    assert_int_equal(fast.basis, RATING_NOT_PROVED);
    /* That engine turns its alternator 1.78 times (same page): 2500 rpm at 1404 of the engine. */
    assert_near(alternator_output_a(CURVE(hot_a), alternator_rpm(2500 / 1.78, 1.78)).value, 41,
                1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c35_peukert_100_ah),
        cmocka_unit_test(c36_peukert_250_ah),
        cmocka_unit_test(c117_peukert_drawn),
        cmocka_unit_test(peukert_rated_form),
        cmocka_unit_test(c116_endurance),
        cmocka_unit_test(endurance_without_reserve),
        cmocka_unit_test(c118_lead_acid_volts),
        cmocka_unit_test(c119_lead_acid_gravity),
        cmocka_unit_test(c120_lead_acid_cold),
        cmocka_unit_test(lead_acid_cell_rule),
        cmocka_unit_test(lead_acid_tables_together),
        cmocka_unit_test(c121_lithium_flat_part),
        cmocka_unit_test(charge_there_and_back),
        cmocka_unit_test(c122_alternator_at_2500),
        cmocka_unit_test(c123_alternator_at_1900),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
