/* Packing: true packings of any mix of circles, the same every time, and good where the answer is
 * known. The mixes are random from a fixed seed, which is printed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include <string.h>

#include "rating/bundle.h"
#include "../../near.h"

static uint64_t random_state;

static double next_number(void) {
    random_state = random_state * 6364136223846793005u + 1442695040888963407u;
    return (double)(random_state >> 40) / 16777216.0;
}

static size_t random_mix(BundleCircle *circles) {
    size_t count = 1 + (size_t)(next_number() * 75);
    double kind = next_number();
    for (size_t i = 0; i < count; i++) {
        double u = next_number();
        circles[i].diameter_mm = kind < 0.4   ? 1 + u
                                 : kind < 0.7 ? (u < 0.2 ? 5 : 1)
                                              : 0.5 + 8 * u * u * u;
    }
    return count;
}

static void no_overlap_nothing_outside(void **state) {
    (void)state;
    random_state = 20250301;
    print_message("seed %llu\n", (unsigned long long)random_state);
    for (int round = 0; round < 60; round++) {
        BundleCircle circles[80];
        double d[80];
        size_t count = random_mix(circles);
        double outer = bundle_pack(circles, count);
        for (size_t i = 0; i < count; i++) {
            d[i] = circles[i].diameter_mm;
            double reach = 2 * hypot(circles[i].x_mm, circles[i].y_mm) + d[i];
            assert_true(reach <= outer * (1 + 1e-9));
            for (size_t j = 0; j < i; j++) {
                double apart =
                    hypot(circles[i].x_mm - circles[j].x_mm, circles[i].y_mm - circles[j].y_mm);
                assert_true(2 * apart >= (d[i] + d[j]) * (1 - 1e-9));
            }
        }
        /* Between what no bundle can be thinner than and 5 % above the route's rule. */
        assert_true(outer >= bundle_least_mm(d, count) * (1 - 1e-9));
        assert_true(outer <= 1.05 * bundle_mm(d, count));
    }
}

static void same_circles_same_places(void **state) {
    (void)state;
    random_state = 7;
    for (int round = 0; round < 5; round++) {
        BundleCircle first[80] = {0};
        BundleCircle second[80] = {0};
        size_t count = random_mix(first);
        memcpy(second, first, sizeof first);
        double outer = bundle_pack(first, count);
        assert_near(bundle_pack(second, count), outer, 0.0);
        assert_memory_equal(first, second, sizeof first);
        /* Another order of the same wires: the same diameter, as the thickest go first. */
        for (size_t i = 0; i < count; i++) {
            second[i] = first[count - 1 - i];
        }
        assert_near(bundle_pack(second, count), outer, 1e-9 * outer);
    }
}

static void small_ones_exactly(void **state) {
    (void)state;
    assert_near(bundle_pack(NULL, 0), 0, 0.0);
    BundleCircle one = {.diameter_mm = 3, .x_mm = 9, .y_mm = 9};
    assert_near(bundle_pack(&one, 1), 3, 0.0);
    assert_near(hypot(one.x_mm, one.y_mm), 0, 0.0);
    BundleCircle two[] = {{.diameter_mm = 3}, {.diameter_mm = 1}};
    assert_near(bundle_pack(two, 2), 4, 0.0);
    assert_near(two[1].x_mm - two[0].x_mm, 2, 0.0);
    /* Two thick ones with thin ones in the hollows: no thicker than the two. */
    BundleCircle hollow[] = {{.diameter_mm = 1}, {.diameter_mm = 5}, {.diameter_mm = 1},
                             {.diameter_mm = 1}, {.diameter_mm = 5}, {.diameter_mm = 1}};
    assert_near(bundle_pack(hollow, 6), 10, 1e-4);
    /* Three touching circles of 1, 1 and 0.8: Descartes' theorem gives 2.0345. */
    BundleCircle three[] = {{.diameter_mm = 1}, {.diameter_mm = 1}, {.diameter_mm = 0.8}};
    assert_near(bundle_pack(three, 3), 2.0345, 0.002);
}

static void rules_of_one_pass(void **state) {
    (void)state;
    const double d[] = {1, 2, 3};
    assert_near(bundle_least_mm(d, 3), 5, 0.0);
    assert_near(bundle_shop_mm(d, 3), 1.2 * sqrt(14), 1e-12);
    assert_near(bundle_mm(d, 3), 5, 1e-12);
    assert_near(bundle_mm(d, 1), 1, 0.0);
    assert_near(bundle_mm(d, 2), 3, 0.0);
    assert_near(bundle_mm(d, 0), 0, 0.0);
    assert_near(bundle_shop_mm(d, 1), 1, 0.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_overlap_nothing_outside),
        cmocka_unit_test(same_circles_same_places),
        cmocka_unit_test(small_ones_exactly),
        cmocka_unit_test(rules_of_one_pass),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
