/* Packing: true packings of any mix of circles, the same every time, and good where the answer is
 * known. The mixes are random from a fixed seed, which is printed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include <string.h>

#include "board/packing.h"
#include "rating/bundle.h"
#include "../../near.h"

static uint64_t random_state;

static double next_number(void) {
    random_state = random_state * 6364136223846793005u + 1442695040888963407u;
    return (double)(random_state >> 40) / 16777216.0;
}

static size_t random_mix(PackingCircle *circles) {
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
    for (int round = 0; round < 40; round++) {
        PackingCircle circles[80];
        double d[80];
        size_t count = random_mix(circles);
        double outer = packing_round(circles, count);
        for (size_t i = 0; i < count; i++) {
            d[i] = circles[i].diameter_mm;
        }
        PackingCheck check = packing_check(circles, count, outer);
        assert_true(check.overlap_mm <= 1e-9);
        assert_true(check.outside_mm <= 1e-9);
        /* Between what no bundle can be thinner than and 5 % above the route's rule. */
        assert_true(outer >= bundle_least_mm(d, count) * (1 - 1e-9));
        assert_true(outer <= 1.05 * bundle_mm(d, count));
    }
}

static void same_circles_same_places(void **state) {
    (void)state;
    random_state = 7;
    for (int round = 0; round < 5; round++) {
        PackingCircle first[80] = {0};
        PackingCircle second[80] = {0};
        size_t count = random_mix(first);
        memcpy(second, first, sizeof first);
        double outer = packing_round(first, count);
        assert_near(packing_round(second, count), outer, 0.0);
        assert_memory_equal(first, second, sizeof first);
        /* Another order of the same wires: the same diameter, as the thickest go first. */
        for (size_t i = 0; i < count; i++) {
            second[i] = first[count - 1 - i];
        }
        assert_near(packing_round(second, count), outer, 1e-9 * outer);
    }
}

static void small_ones_exactly(void **state) {
    (void)state;
    assert_near(packing_round(NULL, 0), 0, 0.0);
    PackingCircle one = {.diameter_mm = 3, .x_mm = 9, .y_mm = 9};
    assert_near(packing_round(&one, 1), 3, 0.0);
    assert_near(hypot(one.x_mm, one.y_mm), 0, 0.0);
    PackingCircle two[] = {{.diameter_mm = 3}, {.diameter_mm = 1}};
    assert_near(packing_round(two, 2), 4, 0.0);
    assert_near(two[1].x_mm - two[0].x_mm, 2, 0.0);
    /* Two thick ones with thin ones in the hollows: no thicker than the two. */
    PackingCircle hollow[] = {{.diameter_mm = 1}, {.diameter_mm = 5}, {.diameter_mm = 1},
                              {.diameter_mm = 1}, {.diameter_mm = 5}, {.diameter_mm = 1}};
    assert_near(packing_round(hollow, 6), 10, 1e-4);
    /* Three touching circles of 1, 1 and 0.8: Descartes' theorem gives 2.0345. */
    PackingCircle three[] = {{.diameter_mm = 1}, {.diameter_mm = 1}, {.diameter_mm = 0.8}};
    assert_near(packing_round(three, 3), 2.0345, 0.002);
}

/* The check is what all else rests on: places known by hand, spoilt by a known amount. */
static void check_sees_what_is_wrong(void **state) {
    (void)state;
    PackingCircle two[] = {{2, -1, 0}, {2, 1, 0}};
    PackingCheck check = packing_check(two, 2, 4);
    assert_near(check.overlap_mm, 0, 0.0);
    assert_near(check.outside_mm, 0, 0.0);
    two[1].x_mm = 0.75;
    check = packing_check(two, 2, 4);
    assert_near(check.overlap_mm, 0.25, 1e-12);
    assert_near(check.outside_mm, 0, 0.0);
    two[1].x_mm = 1.5;
    check = packing_check(two, 2, 4);
    assert_near(check.overlap_mm, 0, 0.0);
    assert_near(check.outside_mm, 0.5, 1e-12);
}

/* Twice or a quarter the size: the same packing, to the last bit. */
static void scales(void **state) {
    (void)state;
    random_state = 11;
    for (int round = 0; round < 4; round++) {
        PackingCircle first[80] = {0};
        PackingCircle scaled[80] = {0};
        size_t count = random_mix(first);
        double factor = round % 2 == 0 ? 2.0 : 0.25;
        for (size_t i = 0; i < count; i++) {
            scaled[i].diameter_mm = first[i].diameter_mm * factor;
        }
        double outer = packing_round(first, count);
        assert_near(packing_round(scaled, count), outer * factor, 0.0);
        for (size_t i = 0; i < count; i++) {
            assert_near(scaled[i].x_mm, first[i].x_mm * factor, 0.0);
            assert_near(scaled[i].y_mm, first[i].y_mm * factor, 0.0);
        }
    }
}

/* Another wire in the bundle, or a thicker one, makes it no thinner: the optimum can't, and the
 * search by no more than it may miss, 1 %. */
static void one_more_is_not_thinner(void **state) {
    (void)state;
    random_state = 5;
    PackingCircle circles[40] = {0};
    double before = 0.0;
    for (size_t count = 1; count <= 40; count++) {
        circles[count - 1].diameter_mm = 1 + next_number();
        PackingCircle work[40];
        memcpy(work, circles, sizeof work);
        double outer = packing_round(work, count);
        assert_true(outer >= 0.99 * before);
        work[0].diameter_mm *= 1.1;
        assert_true(packing_round(work, count) >= 0.99 * outer);
        before = outer;
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_overlap_nothing_outside),
        cmocka_unit_test(same_circles_same_places),
        cmocka_unit_test(small_ones_exactly),
        cmocka_unit_test(check_sees_what_is_wrong),
        cmocka_unit_test(scales),
        cmocka_unit_test(one_more_is_not_thinner),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
