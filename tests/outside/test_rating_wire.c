/* Wire geometry and resistance against the solid-copper table of ASTM B258 as a handbook prints it
 * (25 and 65 degC columns opened; diameters and 20 degC from the definition), a published stranding
 * chart (opened) and the ohms of FAA AC 43.13-1B Table 11-9, p. 11-23 (opened). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>

#include "base/units.h"
#include "rating/resistance.h"
#include "../near.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))

static double solid_ohm_per_kft(int awg, double t_degc) {
    return units_ohm_per_kft_from_ohm_per_km(awg_solid_ohm_per_km(awg, t_degc));
}

/* C25: No. 22 solid at 25 degC, 16.5 ohm/kft. Published, half of the last digit. */
static void c25_awg22_at_25(void **state) {
    (void)state;
    assert_near(solid_ohm_per_kft(22, 25), 16.5, 0.05);
}

/* C26: No. 22 solid at 65 degC, 19.0 ohm/kft. Published. */
static void c26_awg22_at_65(void **state) {
    (void)state;
    assert_near(solid_ohm_per_kft(22, 65), 19.0, 0.05);
}

/* C27: No. 10 solid at 25 degC, 1.02 ohm/kft. Published. */
static void c27_awg10_at_25(void **state) {
    (void)state;
    assert_near(solid_ohm_per_kft(10, 25), 1.02, 0.005);
}

/* C28: 19 strands of 0.008 in are 1216 circular mils (stranding chart; AC Table 11-9). Published.
 */
static void c28_awg20_strands(void **state) {
    (void)state;
    assert_near(stranded_area_cmil(19, 0.008), 1216, 0.5);
}

/* C29: 19 strands of 0.0113 in are 2426 circular mils (same). The chart prints 2426.3, the product
 * is 2426.1: half a circular mil for the rounding of the strand. Published. */
static void c29_awg16_strands(void **state) {
    (void)state;
    assert_near(stranded_area_cmil(19, 0.0113), 2426.3, 0.5);
}

/* Every row of the solid-copper table that prints the 25 and 65 degC columns. Three digits are
 * printed, so 0.5 %. Gauge 0 at 65 degC is printed 0.166, a misprint for 0.116 (its neighbours and
 * its own 25 degC figure say so). */
static void b258_columns_at_25_and_65(void **state) {
    (void)state;
    const struct {
        int awg;
        double at_25;
        double at_65;
    } rows[] = {{-3, 0.05, 0.0577}, {-2, 0.063, 0.0727}, {-1, 0.0795, 0.0917}, {0, 0.1, 0.116},
                {1, 0.126, 0.146},  {2, 0.159, 0.184},   {4, 0.253, 0.292},    {6, 0.403, 0.465},
                {8, 0.641, 0.739},  {10, 1.02, 1.18},    {12, 1.62, 1.87},     {14, 2.58, 2.97},
                {16, 4.09, 4.73},   {18, 6.51, 7.51},    {20, 10.4, 11.9},     {22, 16.5, 19.0},
                {24, 26.2, 30.2},   {26, 41.6, 48.0},    {28, 66.2, 76.4},     {30, 105, 121}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        assert_near(solid_ohm_per_kft(rows[i].awg, 25), rows[i].at_25, 0.005 * rows[i].at_25);
        assert_near(solid_ohm_per_kft(rows[i].awg, 65), rows[i].at_65, 0.005 * rows[i].at_65);
    }
    assert_true(fabs(solid_ohm_per_kft(0, 65) - 0.166) > 0.04);
}

/* Diameter, area and mass of the same table; the diameters carry four digits, the areas five. */
static void b258_geometry(void **state) {
    (void)state;
    const struct {
        int awg;
        double diameter_in;
        double cmil;
        double mm2;
        double lb_per_kft;
    } rows[] = {
        {-3, 0.46000, 211600.0, 107.2193, 640.507}, {0, 0.32486, 105534.5, 53.4751, 319.450},
        {4, 0.20431, 41741.3, 21.1506, 126.350},    {10, 0.10190, 10383.0, 5.2612, 31.429},
        {16, 0.05082, 2582.7, 1.3087, 7.818},       {22, 0.02535, 642.4, 0.3255, 1.945},
        {30, 0.01003, 100.5, 0.0509, 0.304}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        assert_near(awg_diameter_in(rows[i].awg), rows[i].diameter_in, 6e-6);
        assert_near(awg_area_cmil(rows[i].awg), rows[i].cmil, 0.051);
        assert_near(awg_area_mm2(rows[i].awg), rows[i].mm2, 6e-5);
        double lb_per_kft =
            units_lb_per_kft_from_kg_per_km(resistance_copper_kg_per_km(awg_area_mm2(rows[i].awg)));
        assert_near(lb_per_kft, rows[i].lb_per_kft, 1e-3 * rows[i].lb_per_kft);
    }
    assert_near(awg_diameter_mm(36), 0.127, 1e-12); /* 0.005 in by definition */
    assert_near(awg_diameter_mm(-3), 11.684, 1e-9); /* 0.460 in by definition */
}

/* The stranding chart: area and mass of each row that is consistent in itself. Its 28 AWG row
 * (7 strands of 36 AWG, 0.005 in) prints 141.75 cmil, which belongs to 0.0045 in strands. */
static void stranding_chart(void **state) {
    (void)state;
    const struct {
        unsigned strands;
        double strand_in;
        double cmil;
        double lb_per_kft;
    } rows[] = {{7, 0.004, 112, 0.34},      {19, 0.004, 304, 0.92},  {19, 0.005, 475, 1.43},
                {19, 0.0063, 754.11, 2.28}, {19, 0.008, 1216, 3.68}, {19, 0.01, 1900, 5.75},
                {19, 0.0113, 2426.3, 7.35}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double cmil = stranded_area_cmil(rows[i].strands, rows[i].strand_in);
        assert_near(cmil, rows[i].cmil, 0.5);
        double kg_per_km = resistance_copper_kg_per_km(units_mm2_from_cmil(cmil));
        assert_near(units_lb_per_kft_from_kg_per_km(kg_per_km), rows[i].lb_per_kft, 0.011);
    }
    assert_near(stranded_area_cmil(7, 0.005), 175.0, 1e-9);
    assert_near(stranded_area_cmil(7, 0.0045), 141.75, 1e-9);
}

/* Bare copper of the chart's area at 20 degC against its ohm column, where the chart counts no lay
 * (26, 22..16 AWG): 1.5 % for the rounding of strand and ohm. */
static void stranding_chart_ohms(void **state) {
    (void)state;
    const double cmil[] = {304, 754.11, 1216, 1900, 2426.3};
    const double ohm_per_kft[] = {34.43, 13.73, 8.63, 5.46, 4.27};
    for (size_t i = 0; i < COUNT(cmil); i++) {
        double got = units_ohm_per_kft_from_ohm_per_km(resistance_copper_ohm_per_km(cmil[i], 20));
        assert_near(got, ohm_per_kft[i], 0.015 * ohm_per_kft[i]);
    }
}

/* AC Table 11-9, all sizes: tinned and laid wire never has less resistance than bare copper of the
 * same area, and at most 31 % more (24 AWG, printed 28.40 where the wire specification says 26.2).
 * A slip of a unit would show. */
static void table_11_9_ohms_above_bare_copper(void **state) {
    (void)state;
    const double ohm_per_kft[] = {28.40, 16.20, 9.88, 6.23, 4.81, 3.06, 2.02, 1.26, 0.70,
                                  0.44,  0.28,  0.18, 0.15, 0.12, 0.09, 0.07, 0.06};
    const double cmil[] = {475,   755,   1216,  1900,  2426,   3831,   5874,   9354,  16983,
                           26818, 42615, 66500, 81700, 104500, 133000, 166500, 210900};
    for (size_t i = 0; i < COUNT(cmil); i++) {
        double bare = units_ohm_per_kft_from_ohm_per_km(resistance_copper_ohm_per_km(cmil[i], 20));
        assert_true(ohm_per_kft[i] > bare);
        assert_true(ohm_per_kft[i] < 1.31 * bare);
    }
}

/* R ~ 234.5 + T for copper, 238.1 + T for aluminium (AC par. 11-66d(4), p. 11-22; opened): 20 degC
 * leaves a value alone, and copper doubles from 20 to 274.5 degC. */
static void resistance_rises_with_temperature(void **state) {
    (void)state;
    assert_near(resistance_at(METAL_COPPER, 1.0, 20), 1.0, 1e-15);
    assert_near(resistance_at(METAL_ALUMINIUM, 1.0, 20), 1.0, 1e-15);
    assert_near(resistance_at(METAL_COPPER, 1.0, 274.5), 2.0, 1e-12);
    /* 0.00393 per kelvin, the textbook coefficient of copper: within 1e-5. */
    assert_near(resistance_ratio(METAL_COPPER, 21) - 1.0, 0.00393, 1e-5);
}

/* Several wires in one barrel: add circular mils, take the gauge next larger than the sum
 * (NASA-STD-8739.4 par. 19.11, p. 86; opened). Two 22 AWG (642.4 each) need 19 AWG or thicker. */
static void gauge_for_added_wires(void **state) {
    (void)state;
    assert_near(awg_for_area(2 * awg_area_cmil(22)).value, 19, 0.0);
    assert_near(awg_for_area(awg_area_cmil(16)).value, 16, 0.0);
    assert_near(awg_for_area(1216).value, 19, 0.0);
    assert_int_equal(awg_for_area(300000).basis, RATING_NOT_PROVED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c25_awg22_at_25),
        cmocka_unit_test(c26_awg22_at_65),
        cmocka_unit_test(c27_awg10_at_25),
        cmocka_unit_test(c28_awg20_strands),
        cmocka_unit_test(c29_awg16_strands),
        cmocka_unit_test(b258_columns_at_25_and_65),
        cmocka_unit_test(b258_geometry),
        cmocka_unit_test(stranding_chart),
        cmocka_unit_test(stranding_chart_ohms),
        cmocka_unit_test(table_11_9_ohms_above_bare_copper),
        cmocka_unit_test(resistance_rises_with_temperature),
        cmocka_unit_test(gauge_for_added_wires),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
