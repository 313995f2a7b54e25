/* Packing of circles against the published ratios of optimal circle packing (2 to 20 in an
 * encyclopaedia's table, 21 to 40 in two tables that come with programs; opened). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include <math.h>

#include "board/packing.h"
#include "../near.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))

/* How far our packing may lie above the best known one, and the rounding of the published figures
 * below which it may not fall. The finding of good packings is a search; 1 % of a bundle of 20 mm
 * is a fifth of a thin wire. */
#define PACKING_ABOVE 0.01
#define PACKING_ROUNDING 1e-8

/* Best known outer diameter over circle diameter, 1 to 40. */
static const double ratios[41] = {
    0,           1,           2,           2.154700538, 2.414213562, 2.701301617, 3,
    3,           3.304764871, 3.61312593,  3.813025631, 3.9238044,   4.02960193,  4.236067978,
    4.328428555, 4.521356965, 4.615425595, 4.792033748, 4.863703305, 4.863703305, 5.122320737,
    5.252317475, 5.439718959, 5.545204223, 5.651661092, 5.752824331, 5.828176537, 5.906397847,
    6.014938097, 6.138597904, 6.197741071, 6.291502622, 6.429462971, 6.486703124, 6.61095709,
    6.697171092, 6.746753793, 6.758770483, 6.961886965, 7.057884163, 7.123846436};

static double pack_equal(size_t count, double diameter_mm) {
    PackingCircle circles[64];
    for (size_t i = 0; i < count; i++) {
        circles[i] = (PackingCircle){.diameter_mm = diameter_mm};
    }
    return packing_round(circles, count);
}

static void check_packing(size_t count, double published, double published_rounding) {
    double got = pack_equal(count, 1.0);
    print_message("%zu: %.3f %% above\n", count, 100.0 * (got / published - 1.0));
    assert_near(ratios[count], published, published_rounding);
    assert_true(got >= published - fmax(published_rounding, PACKING_ROUNDING));
    assert_true(got <= published * (1.0 + PACKING_ABOVE));
}

/* C91..C97: 5, 8, 10, 12, 19 (published), 30 and 37 equal circles (second-hand). */
static void c91_packing_5(void **state) {
    (void)state;
    check_packing(5, 2.7013016, 1e-6);
}

static void c92_packing_8(void **state) {
    (void)state;
    check_packing(8, 3.3047649, 1e-6);
}

static void c93_packing_10(void **state) {
    (void)state;
    check_packing(10, 3.8130256, 1e-6);
}

static void c94_packing_12(void **state) {
    (void)state;
    check_packing(12, 4.0296019, 1e-6);
}

static void c95_packing_19(void **state) {
    (void)state;
    check_packing(19, 4.8637033, 1e-6);
}

static void c96_packing_30(void **state) {
    (void)state;
    check_packing(30, 6.1977411, 1e-6);
}

static void c97_packing_37(void **state) {
    (void)state;
    check_packing(37, 6.7587705, 1e-6);
}

/* Every count from 1 to 40: never below the best known, never 1 % above it. */
static void packing_1_to_40(void **state) {
    (void)state;
    double worst = 0.0;
    for (size_t n = 1; n <= 40; n++) {
        double got = pack_equal(n, 1.0) / ratios[n];
        worst = fmax(worst, got - 1.0);
        assert_true(got >= 1.0 - PACKING_ROUNDING);
        assert_true(got <= 1.0 + PACKING_ABOVE);
    }
    print_message("at most %.3f %% above\n", 100.0 * worst);
}

/* Circles of radius 1, 2, ... n: the unequal ones that a contest of 2005 made a benchmark of.
 * Radius of the container of the best known packing; from memory, so it may only be a warning that
 * ours got worse: our own for 5 to 8 and 14 agree with it to 0.1 %, the others lie up to 2.5 %
 * above. */
static void radii_one_to_n(void **state) {
    (void)state;
    const double best_mm[] = {9.0014,  11.0570, 13.4621, 16.2217, 19.2332, 22.0002,
                              24.9606, 28.3714, 31.5459, 35.0956, 38.8380, 42.4581};
    for (size_t n = 5; n < 5 + COUNT(best_mm); n++) {
        PackingCircle circles[16];
        for (size_t i = 0; i < n; i++) {
            circles[i] = (PackingCircle){.diameter_mm = 2.0 * (double)(i + 1)};
        }
        double above = packing_round(circles, n) / (2.0 * best_mm[n - 5]) - 1.0;
        print_message("1 to %zu: %.2f %% above\n", n, 100.0 * above);
        assert_true(above >= -1e-5);
        assert_true(above <= (n <= 8 || n == 14 ? 0.001 : 0.025));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c91_packing_5),  cmocka_unit_test(c92_packing_8),
        cmocka_unit_test(c93_packing_10), cmocka_unit_test(c94_packing_12),
        cmocka_unit_test(c95_packing_19), cmocka_unit_test(c96_packing_30),
        cmocka_unit_test(c97_packing_37), cmocka_unit_test(packing_1_to_40),
        cmocka_unit_test(radii_one_to_n),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
