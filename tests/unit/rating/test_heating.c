/* How long a wire stands a current: the adiabatic law where there is no time, no end at what it
 * carries for good, and never more than the heat balance gives between. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "rating/adiabatic.h"
#include "rating/heating.h"
#include "../../near.h"

#define AREA_MM2 0.382
#define CARRIES_A 9.0

static HeatingWire wire_of(double start_degc) {
    return heating_wire(AREA_MM2, start_degc, 150, 40, CARRIES_A);
}

/* The balance integrated in small steps of temperature: c dT = (I^2 - I(T)^2) dt with I(T) the
 * current that the rise at T gives off. */
static double balance_s(double start_degc, double current_a) {
    enum { STEPS = 20000 };
    double seconds = 0;
    for (int i = 0; i < STEPS; i++) {
        double from = start_degc + (150 - start_degc) * i / STEPS;
        double to = start_degc + (150 - start_degc) * (i + 1) / STEPS;
        double middle = (from + to) / 2;
        double lost_a2 = CARRIES_A * CARRIES_A * pow((middle - 40) / 110, 1.25);
        seconds += adiabatic_safer_i2t(AREA_MM2, from, to) / (current_a * current_a - lost_a2);
    }
    return seconds;
}

static void short_times_are_adiabatic(void **state) {
    (void)state;
    HeatingWire wire = wire_of(60);
    double i2t = adiabatic_safer_i2t(AREA_MM2, 60, 150);
    assert_near(heating_time_s(&wire, 2000) * 2000 * 2000 / i2t, 1, 1e-4);
}

static void what_it_carries_has_no_end(void **state) {
    (void)state;
    HeatingWire wire = wire_of(60);
    assert_true(isinf(heating_time_s(&wire, CARRIES_A)));
    assert_true(isinf(heating_time_s(&wire, 1)));
    assert_true(isfinite(heating_time_s(&wire, CARRIES_A * 1.001)));
}

static void never_more_than_the_balance(void **state) {
    (void)state;
    for (double start_degc = 40; start_degc < 149; start_degc += 12) {
        HeatingWire wire = wire_of(start_degc);
        double i2t = adiabatic_safer_i2t(AREA_MM2, start_degc, 150);
        for (double current_a = CARRIES_A * 1.02; current_a < 300; current_a *= 1.3) {
            double told = heating_time_s(&wire, current_a);
            double true_s = balance_s(start_degc, current_a);
            assert_true(told <= true_s * (1 + 1e-6));
            assert_true(told >= i2t / (current_a * current_a) * (1 - 1e-9));
            if (current_a > 2 * CARRIES_A) { /* and not much less where it matters */
                assert_true(told > 0.95 * true_s);
            }
        }
    }
}

static void temperature_and_time_agree(void **state) {
    (void)state;
    HeatingWire wire = wire_of(60);
    for (double current_a = 12; current_a < 200; current_a *= 1.7) {
        double seconds = heating_time_s(&wire, current_a);
        assert_near(heating_degc(&wire, AREA_MM2, current_a, seconds * 0.999999), 150, 0.01);
        assert_true(heating_degc(&wire, AREA_MM2, current_a, seconds / 2) < 150);
        assert_true(heating_degc(&wire, AREA_MM2, current_a, seconds * 2) > 150);
        assert_near(heating_degc(&wire, AREA_MM2, current_a, 0), 60, 1e-9);
    }
    assert_near(heating_degc(&wire, AREA_MM2, 1000, 1e9), ADIABATIC_COPPER_MELTS_DEGC, 1e-9);
    assert_true(heating_degc(&wire, AREA_MM2, CARRIES_A, (double)INFINITY) <= 150);
}

static void hot_from_the_start(void **state) {
    (void)state;
    HeatingWire wire = wire_of(150);
    assert_near(heating_time_s(&wire, 1), 0, 0);
    wire = wire_of(170);
    assert_near(heating_time_s(&wire, 1), 0, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(short_times_are_adiabatic),   cmocka_unit_test(what_it_carries_has_no_end),
        cmocka_unit_test(never_more_than_the_balance), cmocka_unit_test(temperature_and_time_agree),
        cmocka_unit_test(hot_from_the_start),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
