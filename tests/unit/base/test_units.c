/* Unit conversions against their definitions (NIST SP 811, appendix B.8), there and back, and the
 * ways people write a wire gauge. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>

#include "base/units.h"
#include "../../near.h"

static void factors_are_the_published_ones(void **state) {
    (void)state;
    assert_near(units_m_from_ft(1.0), 0.3048, 0.0);
    assert_near(units_mm_from_in(0.5), 12.7, 0.0);
    assert_near(units_m_from_in(40.0), 1.016, 1e-12);
    assert_near(units_n_from_lbf(1.0), 4.448222, 1e-6);
    assert_near(units_kg_from_lb(1.0), 0.45359237, 0.0);
    /* NIST prints 1 circular mil = 5.067075E-10 m2 and 1 lb/ft = 1.488164 kg/m. */
    assert_near(units_mm2_from_cmil(1.0), 5.067075e-4, 1e-10);
    assert_near(units_kg_per_km_from_lb_per_kft(1.0), 1.488164, 1e-6);
    assert_near(units_ohm_per_km_from_ohm_per_kft(1.26), 4.133858, 1e-6);
    assert_near(units_db_per_m_from_db_per_100ft(3.3), 0.108268, 1e-6);
    assert_near(units_degc_from_degf(80.0), 26.6667, 1e-4);
    assert_near(units_degf_from_degc(-40.0), -40.0, 1e-12);
    assert_near(units_kelvin_from_degc(26.85), 300.0, 1e-9);
    assert_near(units_rad_from_deg(180.0), UNITS_PI, 1e-15);
}

static void there_and_back_is_the_same(void **state) {
    (void)state;
    for (double x = 0.001; x < 1e6; x *= 7.3) {
        double tolerance = x * 1e-14; /* a few roundings */
        assert_near(units_in_from_mm(units_mm_from_in(x)), x, tolerance);
        assert_near(units_in_from_m(units_m_from_in(x)), x, tolerance);
        assert_near(units_ft_from_m(units_m_from_ft(x)), x, tolerance);
        assert_near(units_mm_from_m(units_m_from_mm(x)), x, tolerance);
        assert_near(units_cmil_from_mm2(units_mm2_from_cmil(x)), x, tolerance);
        assert_near(units_lbf_from_n(units_n_from_lbf(x)), x, tolerance);
        assert_near(units_lb_from_kg(units_kg_from_lb(x)), x, tolerance);
        assert_near(units_ohm_per_kft_from_ohm_per_km(units_ohm_per_km_from_ohm_per_kft(x)), x,
                    tolerance);
        assert_near(units_lb_per_kft_from_kg_per_km(units_kg_per_km_from_lb_per_kft(x)), x,
                    tolerance);
        assert_near(units_db_per_100ft_from_db_per_m(units_db_per_m_from_db_per_100ft(x)), x,
                    tolerance);
        assert_near(units_degf_from_degc(units_degc_from_degf(x)), x, tolerance + 1e-13);
        assert_near(units_deg_from_rad(units_rad_from_deg(x)), x, tolerance);
    }
}

static void gauges_as_people_write_them(void **state) {
    (void)state;
    const struct {
        const char *text;
        int awg;
    } good[] = {{"22", 22},   {"1", 1},         {"0", 0},    {"00", -1},  {"000", -2},
                {"0000", -3}, {"1/0", 0},       {"2/0", -1}, {"4/0", -3}, {"14 AWG", 14},
                {"8awg", 8},  {"2/0 Awg ", -1}, {"56", 56}};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        int awg = 99;
        assert_true(units_awg_parse(good[i].text, &awg));
        assert_int_equal(awg, good[i].awg);
    }
    const char *bad[] = {"",   "AWG",  "57",  "022", "5/0",      "0/0",         "22A",
                         "-1", "22.5", "1/1", "1/",  "22 AWG x", "99999999999", "00000"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        int awg = 99;
        assert_false(units_awg_parse(bad[i], &awg));
        assert_int_equal(awg, 99);
    }
}

static void gauges_read_back_as_written(void **state) {
    (void)state;
    for (int awg = UNITS_AWG_THICKEST; awg <= UNITS_AWG_THINNEST; awg++) {
        char text[UNITS_AWG_TEXT];
        int again = 99;
        assert_true(units_awg_parse(units_awg_format(awg, text), &again));
        assert_int_equal(again, awg);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(factors_are_the_published_ones),
        cmocka_unit_test(there_and_back_is_the_same),
        cmocka_unit_test(gauges_as_people_write_them),
        cmocka_unit_test(gauges_read_back_as_written),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
