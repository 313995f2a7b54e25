/* Contacts, studs, switches and crimps: FAA AC 43.13-1B Table 11-4, p. 11-17, par. 11-174b,
 * p. 11-67, Table 11-13, p. 11-62 (opened); NASA-STD-8739.4 Table 13-1 (opened); terminal pull-test
 * sheets quoting UL 486A and AS7928 (opened); MIL-DTL-83454A Table VIII (opened); a connector's
 * product specification (opened). Exact figures, so exact comparisons. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "base/units.h"
#include "rating/contact.h"
#include "rating/termination.h"
#include "../near.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))

/* --- switches
 * ------------------------------------------------------------------------------------- */

static const SwitchFactor switch_rows[] = {
    {28, SWITCH_LOAD_LAMP, 8},      {28, SWITCH_LOAD_INDUCTIVE, 4}, {28, SWITCH_LOAD_RESISTIVE, 2},
    {28, SWITCH_LOAD_MOTOR, 3},     {12, SWITCH_LOAD_LAMP, 5},      {12, SWITCH_LOAD_INDUCTIVE, 2},
    {12, SWITCH_LOAD_RESISTIVE, 1}, {12, SWITCH_LOAD_MOTOR, 2}};

static RatingValue switch_a(double nominal_v, SwitchLoad load, double load_a) {
    return contact_switch_needed_a(switch_rows, COUNT(switch_rows), nominal_v, load, load_a);
}

/* C21, Table 11-4: 2 A of lamps at 28 V need a 16 A switch. Published. */
static void c21_lamp_at_28(void **state) {
    (void)state;
    assert_near(switch_a(28, SWITCH_LOAD_LAMP, 2).value, 16, 0.0);
}

/* C22, Table 11-4: a 5 A motor at 12 V needs a 10 A switch. Published. */
static void c22_motor_at_12(void **state) {
    (void)state;
    assert_near(switch_a(12, SWITCH_LOAD_MOTOR, 5).value, 10, 0.0);
}

/* The rest of Table 11-4, and the nominal voltages that people write for the same two systems. */
static void table_11_4(void **state) {
    (void)state;
    for (size_t i = 0; i < COUNT(switch_rows); i++) {
        RatingValue a = switch_a(switch_rows[i].nominal_v, switch_rows[i].load, 10);
        assert_near(a.value, 10 * switch_rows[i].factor, 0.0);
        assert_int_equal(a.basis, RATING_PUBLISHED);
    }
    RatingValue at_14 = switch_a(14, SWITCH_LOAD_LAMP, 1);
    assert_near(at_14.value, 5, 0.0);
    assert_int_equal(at_14.basis, RATING_DERIVED);
    assert_near(switch_a(24, SWITCH_LOAD_LAMP, 1).value, 8, 0.0);
    assert_int_equal(switch_a(48, SWITCH_LOAD_LAMP, 1).basis, RATING_NOT_PROVED);
}

/* AC par. 11-53g, p. 11-17 (opened): silver contacts not below 8 V or 0.5 A. */
static void silver_contacts(void **state) {
    (void)state;
    assert_true(contact_silver_accepted(14, 1));
    assert_false(contact_silver_accepted(5, 1));
    assert_false(contact_silver_accepted(14, 0.4));
}

/* --- crimps
 * --------------------------------------------------------------------------------------- */

static const GaugeValue military_lbf[] = {{26, 7},  {24, 10}, {22, 15},  {20, 19}, {18, 38},
                                          {16, 50}, {14, 70}, {12, 110}, {10, 150}};
static const GaugeValue commercial_lbf[] = {
    {30, 1.5}, {28, 2},  {26, 3}, {24, 5},  {22, 8},  {20, 13}, {18, 20}, {16, 30}, {14, 50},
    {12, 70},  {10, 80}, {8, 90}, {6, 100}, {4, 140}, {2, 180}, {0, 250}, {-1, 300}};
static const GaugeValue contact_lbf[] = {{24, 8}, {22, 13}, {20, 21}};

/* A table in lbf, read in newtons as the program does, and shown in lbf again. */
static double least_lbf(const GaugeValue *rows_lbf, size_t count, int awg) {
    GaugeValue rows_n[32];
    for (size_t i = 0; i < count; i++) {
        rows_n[i] = (GaugeValue){rows_lbf[i].awg, units_n_from_lbf(rows_lbf[i].value)};
    }
    return units_lbf_from_n(termination_least_pull_n(rows_n, count, awg).value);
}

/* C37: 22 AWG, military class, 15 lbf. Published. */
static void c37_military_22(void **state) {
    (void)state;
    assert_near(least_lbf(military_lbf, COUNT(military_lbf), 22), 15, 1e-9);
}

/* C38: 20 AWG, commercial class, 13 lbf. Published. */
static void c38_commercial_20(void **state) {
    (void)state;
    assert_near(least_lbf(commercial_lbf, COUNT(commercial_lbf), 20), 13, 1e-9);
}

/* C101: size-20 contact on 20 AWG, 21 lbf (second-hand). */
static void c101_contact_20(void **state) {
    (void)state;
    assert_near(least_lbf(contact_lbf, COUNT(contact_lbf), 20), 21, 1e-9);
}

/* C102, NASA-STD-8739.4 Table 13-1: size-20 contact on 24 AWG needs 8 lbf (36 N): 7.5 is rejected,
 * 8 is not. */
static void c102_contact_24_rejected(void **state) {
    (void)state;
    double least_n = units_n_from_lbf(least_lbf(contact_lbf, COUNT(contact_lbf), 24));
    assert_false(termination_pull_accepted(least_n, units_n_from_lbf(7.5)));
    assert_true(termination_pull_accepted(least_n, units_n_from_lbf(8.0)));
}

/* The same table prints newtons beside pounds-force: 36, 57, 92. Whole newtons, rounded or cut, and
 * 21 lbf is 93.4 N: 1.5 N. */
static void contact_pull_in_newtons(void **state) {
    (void)state;
    const double newton[] = {36, 57, 92};
    for (size_t i = 0; i < 3; i++) {
        assert_near(units_n_from_lbf(contact_lbf[i].value), newton[i], 1.5);
    }
}

/* A gauge left out asks for the thicker wire's force; the military class is never the weaker. */
static void pull_tables(void **state) {
    (void)state;
    assert_near(least_lbf(commercial_lbf, COUNT(commercial_lbf), 1), 250, 1e-9);
    for (size_t i = 0; i < COUNT(military_lbf); i++) {
        assert_true(military_lbf[i].value >
                    least_lbf(commercial_lbf, COUNT(commercial_lbf), military_lbf[i].awg));
    }
    assert_near(termination_untabled_pull_n(100), 60, 1e-9); /* NASA-STD-8739.4 par. 13.7.4 */
}

/* NASA-STD-8739.4 par. 10.1.7b: 0.01 to 0.03 in for 20 AWG and thinner, to 0.05 in for thicker. */
static void insulation_gap(void **state) {
    (void)state;
    assert_true(termination_gap_accepted(22, units_mm_from_in(0.03)));
    assert_false(termination_gap_accepted(22, units_mm_from_in(0.04)));
    assert_true(termination_gap_accepted(18, units_mm_from_in(0.05)));
    assert_false(termination_gap_accepted(18, units_mm_from_in(0.005)));
}

/* AC Table 11-13, p. 11-62: 24..14 AWG two nicked, none broken; 12..10 four nicked; 8..4 six. */
static void strand_damage(void **state) {
    (void)state;
    const StrandLimit rows[] = {{24, 14, 2, 0}, {12, 10, 4, 0}, {8, 4, 6, 6}};
    assert_true(termination_strands_accepted(rows, 3, 20, 2, 0));
    assert_false(termination_strands_accepted(rows, 3, 20, 3, 0));
    assert_false(termination_strands_accepted(rows, 3, 20, 0, 1));
    assert_true(termination_strands_accepted(rows, 3, 10, 4, 0));
    assert_true(termination_strands_accepted(rows, 3, 6, 6, 6));
    assert_false(termination_strands_accepted(rows, 3, 26, 1, 0));
    assert_true(termination_strands_accepted(rows, 3, 26, 0, 0));
}

/* --- studs and contacts
 * --------------------------------------------------------------------------- */

/* C45, AC par. 11-174b: five lugs on one stud are rejected, on two studs they are not. Published.
 */
static void c45_five_lugs(void **state) {
    (void)state;
    assert_false(contact_lugs_accepted(5, 1));
    assert_true(contact_lugs_accepted(4, 1));
    assert_true(contact_lugs_accepted(5, 2));
    assert_false(contact_lugs_accepted(1, 0));
}

/* C114, MIL-DTL-83454A Table VIII: a .190-32 stud is rated 35 A: 36 A are rejected. Published. */
static void c114_stud(void **state) {
    (void)state;
    assert_false(contact_stud_accepted(35, 36));
    assert_true(contact_stud_accepted(35, 35));
    assert_false(contact_stud_accepted(35, -36));
}

static const double loading_percent[] = {0, 26, 50, 76, 100};
static const struct {
    int awg;
    double factor[5];
} loading_rows[] = {
    {28, {0.384, 0.237, 0.164, 0.132, 0.114}}, {26, {0.45, 0.278, 0.193, 0.155, 0.134}},
    {24, {0.536, 0.342, 0.229, 0.184, 0.159}}, {22, {0.647, 0.4, 0.277, 0.222, 0.192}},
    {20, {0.795, 0.491, 0.341, 0.273, 0.236}}, {18, {1, 0.618, 0.428, 0.344, 0.297}}};

static RatingValue loading(int awg, double percent) {
    RatingPoint points[COUNT(loading_rows)][5];
    ContactLoading rows[COUNT(loading_rows)];
    for (size_t i = 0; i < COUNT(loading_rows); i++) {
        for (size_t k = 0; k < 5; k++) {
            points[i][k] = (RatingPoint){loading_percent[k], loading_rows[i].factor[k]};
        }
        rows[i] = (ContactLoading){loading_rows[i].awg, {points[i], 5}};
    }
    return contact_loading_factor(rows, COUNT(rows), awg, percent);
}

/* C113: 22 AWG with every contact loaded: 0.192. Published. */
static void c113_loading_22(void **state) {
    (void)state;
    assert_near(loading(22, 100).value, 0.192, 0.0);
}

/* The whole table, its monotony, the line between columns, the gauges it leaves out. */
static void loading_table(void **state) {
    (void)state;
    for (size_t i = 0; i < COUNT(loading_rows); i++) {
        for (size_t k = 0; k < 5; k++) {
            assert_near(loading(loading_rows[i].awg, loading_percent[k]).value,
                        loading_rows[i].factor[k], 0.0);
        }
        for (double percent = 5; percent <= 100; percent += 5) {
            assert_true(loading(loading_rows[i].awg, percent).value <
                        loading(loading_rows[i].awg, percent - 5).value);
        }
    }
    assert_near(loading(20, 38).value, 0.416, 1e-9); /* half way from 26 to 50 % */
    assert_near(loading(16, 100).value, 0.297, 0.0); /* thicker than the table: as 18 */
    assert_int_equal(loading(16, 100).basis, RATING_DERIVED);
    assert_int_equal(loading(30, 100).basis, RATING_NOT_PROVED);
}

/* Contact currents by gauge of one data sheet (second-hand): gauges between rows take the thinner
 * wire's current, and the range of a contact says which wires go in. */
static void contact_current(void **state) {
    (void)state;
    const GaugeValue operating_a[] = {{26, 2},  {24, 3},  {22, 5}, {20, 7.5},
                                      {18, 10}, {16, 13}, {14, 17}};
    for (size_t i = 1; i < COUNT(operating_a); i++) {
        int between = operating_a[i].awg + 1;
        RatingValue a = gauge_value(operating_a, COUNT(operating_a), between, GAUGE_THINNER_ROW);
        assert_near(a.value, operating_a[i - 1].value, 0.0);
        assert_int_equal(a.basis, RATING_DERIVED);
    }
    assert_true(contact_takes_gauge(24, 20, 22));
    assert_true(contact_takes_gauge(24, 20, 20));
    assert_false(contact_takes_gauge(24, 20, 18));
    assert_false(contact_takes_gauge(24, 20, 26));
    assert_true(contact_takes_gauge(2, -1, 0));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c21_lamp_at_28),
        cmocka_unit_test(c22_motor_at_12),
        cmocka_unit_test(table_11_4),
        cmocka_unit_test(silver_contacts),
        cmocka_unit_test(c37_military_22),
        cmocka_unit_test(c38_commercial_20),
        cmocka_unit_test(c101_contact_20),
        cmocka_unit_test(c102_contact_24_rejected),
        cmocka_unit_test(contact_pull_in_newtons),
        cmocka_unit_test(pull_tables),
        cmocka_unit_test(insulation_gap),
        cmocka_unit_test(strand_damage),
        cmocka_unit_test(c45_five_lugs),
        cmocka_unit_test(c114_stud),
        cmocka_unit_test(c113_loading_22),
        cmocka_unit_test(loading_table),
        cmocka_unit_test(contact_current),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
