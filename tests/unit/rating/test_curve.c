/* Curves and gauge tables: between points only, the printed figure at a point, and the safe
 * neighbour where a gauge is left out. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "rating/curve.h"
#include "../../near.h"

static const RatingPoint points[] = {{1, 10}, {2, 30}, {8, 0.1}};
static const RatingCurve curve = {points, 3};

static void linear_reads_between_and_not_outside(void **state) {
    (void)state;
    assert_near(curve_linear(curve, 1).value, 10, 0.0);
    assert_near(curve_linear(curve, 1.25).value, 15, 1e-12);
    assert_near(curve_linear(curve, 8).value, 0.1, 0.0);
    assert_int_equal(curve_linear(curve, 0.999).basis, RATING_NOT_PROVED);
    assert_int_equal(curve_linear(curve, 8.001).basis, RATING_NOT_PROVED);
    assert_true(isnan(curve_linear(curve, 8.001).value));
    assert_int_equal(curve_linear((RatingCurve){NULL, 0}, 1).basis, RATING_NOT_PROVED);
    assert_int_equal(curve_linear(curve, (double)NAN).basis, RATING_NOT_PROVED);
}

static void log_log_is_a_power_law(void **state) {
    (void)state;
    const RatingPoint law[] = {{1, 5}, {100, 5000}}; /* 5 x^1.5 */
    RatingValue v = curve_log_log((RatingCurve){law, 2}, 4);
    assert_near(v.value, 40, 1e-12);
    assert_int_equal(v.basis, RATING_PUBLISHED);
    assert_near(curve_log_log((RatingCurve){law, 2}, 100).value, 5000, 0.0);
    assert_int_equal(curve_log_log((RatingCurve){law, 2}, 101).basis, RATING_NOT_PROVED);
}

static void step_down_takes_the_class_below(void **state) {
    (void)state;
    assert_near(curve_step_down(curve, 7.9).value, 30, 0.0);
    assert_near(curve_step_down(curve, 80).value, 0.1, 0.0);
    assert_int_equal(curve_step_down(curve, 0.5).basis, RATING_NOT_PROVED);
}

static void soundness(void **state) {
    (void)state;
    const RatingPoint twice[] = {{1, 2}, {1, 3}};
    const RatingPoint hole[] = {{1, 2}, {3, (double)NAN}};
    assert_true(curve_is_sound(curve));
    assert_true(curve_is_sound((RatingCurve){NULL, 0}));
    assert_false(curve_is_sound((RatingCurve){twice, 2}));
    assert_false(curve_is_sound((RatingCurve){hole, 2}));
}

static void gauges_fall_to_the_safe_side(void **state) {
    (void)state;
    const GaugeValue rows[] = {{10, 30}, {20, 7}, {16, (double)NAN}, {14, 15}, {-1, 200}};
    RatingValue v = gauge_value(rows, 5, 20, GAUGE_NOT_PROVED);
    assert_near(v.value, 7, 0.0);
    assert_int_equal(v.basis, RATING_PUBLISHED);
    v = gauge_value(rows, 5, 16, GAUGE_THINNER_ROW); /* blank: as 20 */
    assert_near(v.value, 7, 0.0);
    assert_int_equal(v.basis, RATING_DERIVED);
    assert_near(gauge_value(rows, 5, 16, GAUGE_THICKER_ROW).value, 15, 0.0);
    assert_near(gauge_value(rows, 5, 0, GAUGE_THINNER_ROW).value, 30, 0.0);
    assert_near(gauge_value(rows, 5, 0, GAUGE_THICKER_ROW).value, 200, 0.0);
    assert_int_equal(gauge_value(rows, 5, 16, GAUGE_NOT_PROVED).basis, RATING_NOT_PROVED);
    assert_int_equal(gauge_value(rows, 5, 22, GAUGE_THINNER_ROW).basis, RATING_NOT_PROVED);
    assert_int_equal(gauge_value(rows, 5, -2, GAUGE_THICKER_ROW).basis, RATING_NOT_PROVED);
    assert_string_equal(rating_basis_name(RATING_DERIVED), "derived");
    assert_int_equal(rating_weaker(RATING_PUBLISHED, RATING_NOT_PROVED), RATING_NOT_PROVED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(linear_reads_between_and_not_outside),
        cmocka_unit_test(log_log_is_a_power_law),
        cmocka_unit_test(step_down_takes_the_class_below),
        cmocka_unit_test(soundness),
        cmocka_unit_test(gauges_fall_to_the_safe_side),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
