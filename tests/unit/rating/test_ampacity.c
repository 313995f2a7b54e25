/* Edges of the ampacity method: outside what was read, tables with holes, no rise, overload. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "rating/ampacity.h"
#include "../../near.h"

static const AmpacityLine lines[] = {
    {22, 755, 1.83, 0.442}, {20, 1216, 2.21, 0.461}, {12, 5874, 5.81, 0.473}};

static void free_air_outside_the_reading(void **state) {
    (void)state;
    RatingValue none = ampacity_free_air(&lines[1], 0);
    assert_near(none.value, 0, 0.0);
    assert_near(ampacity_free_air(&lines[1], -10).value, 0, 0.0);
    RatingValue at_30 = ampacity_free_air(&lines[1], 30);
    RatingValue below = ampacity_free_air(&lines[1], 29.9999);
    assert_near(below.value, at_30.value, 1e-3);
    assert_int_equal(below.basis, RATING_DERIVED);
    /* below the reading it falls faster than the line would */
    assert_true(ampacity_free_air(&lines[1], 10).value < 2.21 * pow(10, 0.461));
    RatingValue above = ampacity_free_air(&lines[1], 300);
    assert_near(above.value, ampacity_free_air(&lines[1], 250).value, 0.0);
    assert_int_equal(above.basis, RATING_DERIVED);
}

static void free_air_by_area(void **state) {
    (void)state;
    RatingValue on = ampacity_free_air_by_area(lines, 3, NULL, 1216, 100);
    assert_near(on.value, ampacity_free_air(&lines[1], 100).value, 0.0);
    assert_int_equal(on.basis, RATING_PUBLISHED);
    RatingValue between = ampacity_free_air_by_area(lines, 3, NULL, 2426, 100);
    assert_int_equal(between.basis, RATING_DERIVED);
    assert_true(between.value > on.value);
    assert_true(between.value < ampacity_free_air(&lines[2], 100).value);
    assert_int_equal(ampacity_free_air_by_area(lines, 3, NULL, 700, 100).basis, RATING_NOT_PROVED);
    /* rising with area and with rise, without a jump at the last line */
    double last = 0;
    for (double cmil = 755; cmil < 211000; cmil *= 1.02) {
        double a = ampacity_free_air_by_area(lines, 3, NULL, cmil, 80).value;
        assert_true(a > last);
        assert_true(a < ampacity_free_air_by_area(lines, 3, NULL, cmil, 81).value);
        assert_true(last == 0 || a < 1.03 * last);
        last = a;
    }
    /* a law that is lower wins beyond the last line, a higher one does not */
    AmpacityLaw low = {0.01, 0.5, 130, 0.5};
    AmpacityLaw high = {10, 0.9, 130, 0.5};
    double plain = ampacity_free_air_by_area(lines, 3, NULL, 20000, 80).value;
    assert_near(ampacity_free_air_by_area(lines, 3, &low, 20000, 80).value,
                ampacity_law_a(&low, 20000, 80), 0.0);
    assert_near(ampacity_free_air_by_area(lines, 3, &high, 20000, 80).value, plain, 0.0);
    assert_near(ampacity_free_air_by_area(lines, 3, NULL, 20000, 0).value, 0, 0.0);
}

/* A table with a missing row, a short last row and no percentage below 20. */
static void bundle_table_with_holes(void **state) {
    (void)state;
    const AmpacityBundlePoint points[] = {{1, 20, 1},     {1, 100, 1},   {2, 20, 0.96},
                                          {2, 100, 0.82}, {4, 20, 0.90}, {4, 100, 0.66},
                                          {5, 20, 0.875}};
    AmpacityBundleTable table = {points, 7};
    RatingValue v = ampacity_bundle_factor(table, 3, 20);
    assert_near(v.value, 0.93, 1e-12);
    assert_int_equal(v.basis, RATING_PUBLISHED);
    assert_near(ampacity_bundle_factor(table, 3, 60).value, 0.835, 1e-12);
    /* the row of 5 reaches only 20 %: at 60 % the row of 4 is the last */
    v = ampacity_bundle_factor(table, 5, 60);
    assert_int_equal(v.basis, RATING_DERIVED);
    assert_true(v.value < 0.78 && v.value > 0.70);
    assert_near(ampacity_bundle_factor(table, 5, 20).value, 0.875, 0.0);
    v = ampacity_bundle_factor(table, 4, 5); /* below the lowest percent */
    assert_near(v.value, 0.90, 0.0);
    assert_int_equal(v.basis, RATING_DERIVED);
    assert_int_equal(ampacity_bundle_factor(table, 4, 101).basis, RATING_NOT_PROVED);
    assert_int_equal(ampacity_bundle_factor(table, 4, (double)NAN).basis, RATING_NOT_PROVED);
    assert_near(ampacity_bundle_factor(table, 1, 100).value, 1, 0.0);
    /* only a row for one wire, or none below the count: nothing to go by */
    assert_int_equal(ampacity_bundle_factor((AmpacityBundleTable){points, 2}, 7, 50).basis,
                     RATING_NOT_PROVED);
    assert_int_equal(ampacity_bundle_factor((AmpacityBundleTable){points + 4, 2}, 3, 50).basis,
                     RATING_NOT_PROVED);
}

static void altitude_with_few_points(void **state) {
    (void)state;
    const RatingPoint two[] = {{0, 1}, {20000, 0.91}};
    assert_near(ampacity_altitude_factor((RatingCurve){two, 2}, 10000).value, 0.955, 1e-12);
    const RatingPoint dome[] = {{0, 1}, {10000, 0.99}, {20000, 0.9}};
    /* where the parabola lies above the chord the chord is taken */
    RatingValue v = ampacity_altitude_factor((RatingCurve){dome, 3}, 5000);
    assert_near(v.value, 0.995, 1e-12);
    assert_int_equal(v.basis, RATING_PUBLISHED);
}

static void weakest_basis_is_kept(void **state) {
    (void)state;
    RatingValue v =
        ampacity_allowed(rating_published(10), rating_derived(0.9), rating_published(1));
    assert_near(v.value, 9, 1e-12);
    assert_int_equal(v.basis, RATING_DERIVED);
    v = ampacity_allowed(rating_published(10), rating_derived(0.9), rating_not_proved());
    assert_int_equal(v.basis, RATING_NOT_PROVED);
    assert_true(isnan(v.value));
}

static void conductor_temperature(void **state) {
    (void)state;
    assert_near(ampacity_conductor_degc(50, 150, 0, 10), 50, 0.0);
    assert_near(ampacity_conductor_degc(50, 150, 10, 10), 150, 1e-12);
    assert_near(ampacity_conductor_degc(50, 150, -10, 10), 150, 1e-12);
    assert_near(ampacity_conductor_degc(50, 150, 20, 10), 450, 1e-9); /* heat over heat */
    assert_near(ampacity_conductor_degc_by_line(50, 150, 10, 10, 0.47), 150, 1e-12);
    for (double a = 0.5; a < 10; a += 0.5) {
        /* the handbook's root is the hotter of the two below the limit */
        assert_true(ampacity_conductor_degc(50, 150, a, 10) >
                    ampacity_conductor_degc_by_line(50, 150, a, 10, 0.47));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(free_air_outside_the_reading), cmocka_unit_test(free_air_by_area),
        cmocka_unit_test(bundle_table_with_holes),      cmocka_unit_test(altitude_with_few_points),
        cmocka_unit_test(weakest_basis_is_kept),        cmocka_unit_test(conductor_temperature),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
