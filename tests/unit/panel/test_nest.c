/* Parts on stock sheets: nothing nearer than the gap, nothing over the edge, the same in any order,
 * corners used, never fewer sheets than the bound. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "panel/nest.h"

static Contour polygon(Arena *arena, const double *xy_mm, size_t count) {
    Contour contour = {ARENA_ARRAY(arena, ContourPoint, count), count};
    for (size_t i = 0; i < count; i++) {
        contour.points[i] = (ContourPoint){xy_mm[2 * i], xy_mm[2 * i + 1], 0.0};
    }
    return contour;
}

/* Checks a plan by itself; false with a message when it breaks a rule. */
static void check_plan(Arena *arena, const NestPart *parts, size_t count, const NestSheet *sheet,
                       const NestPlan *plan) {
    Contour *placed = ARENA_ARRAY(arena, Contour, count + 1);
    for (size_t i = 0; i < count; i++) {
        const NestPlace *place = &plan->places[i];
        if (place->sheet == NEST_NONE) {
            continue;
        }
        assert_true(place->sheet < plan->sheet_count);
        Contour moved = contour_moved(arena, parts[i].outline, &place->move);
        ContourBox box = contour_box(&moved);
        assert_true(box.left_mm >= sheet->edge_mm - 1e-6);
        assert_true(box.bottom_mm >= sheet->edge_mm - 1e-6);
        assert_true(box.right_mm <= sheet->width_mm - sheet->edge_mm + 1e-6);
        assert_true(box.top_mm <= sheet->height_mm - sheet->edge_mm + 1e-6);
        placed[i] = contour_straightened(arena, &moved, 0.01);
        for (size_t j = 0; j < i; j++) {
            if (plan->places[j].sheet == place->sheet) {
                assert_true(nest_distance_mm(&placed[i], &placed[j]) >= sheet->gap_mm - 1e-6);
            }
        }
    }
    assert_true(plan->sheet_count >= plan->least_sheets);
}

static void distances_are_those_of_outlines(void **state) {
    (void)state;
    Arena arena = {0};
    Contour a = contour_rectangle(&arena, 0.0, 0.0, 10.0, 10.0, 0.0);
    Contour b = contour_rectangle(&arena, 13.0, 14.0, 10.0, 10.0, 0.0);
    assert_true(fabs(nest_distance_mm(&a, &b) - 5.0) < 1e-12); /* 3, 4, 5 */
    Contour inside = contour_rectangle(&arena, 1.0, 1.0, 2.0, 2.0, 0.0);
    assert_true(nest_distance_mm(&a, &inside) == 0.0);
    assert_true(nest_distance_mm(&inside, &a) == 0.0);
    Contour across = contour_rectangle(&arena, 0.0, 0.0, 30.0, 2.0, 0.0);
    assert_true(nest_distance_mm(&a, &across) == 0.0);
    arena_free(&arena);
}

/* Two triangles that share a sheet only nose to tail: their boxes never fit beside each other. */
static void corners_that_are_free_are_used(void **state) {
    (void)state;
    Arena arena = {0};
    double low[] = {0.0, 0.0, 180.0, 0.0, 0.0, 90.0};
    double high[] = {180.0, 90.0, 0.0, 90.0, 180.0, 0.0};
    Contour outlines[] = {polygon(&arena, low, 3), polygon(&arena, high, 3)};
    NestPart parts[] = {{"A", &outlines[0], true}, {"B", &outlines[1], true}};
    NestSheet sheet = {220.0, 115.0, 5.0, 4.0};
    NestPlan plan;
    nest_plan(&arena, parts, 2, &sheet, &plan);
    check_plan(&arena, parts, 2, &sheet, &plan);
    assert_int_equal(plan.sheet_count, 1);
    arena_free(&arena);
}

static void what_only_fits_turned_is_turned_unless_it_has_grain(void **state) {
    (void)state;
    Arena arena = {0};
    Contour outline = contour_rectangle(&arena, 0.0, 0.0, 50.0, 180.0, 3.0);
    NestPart part = {"A", &outline, false};
    NestSheet sheet = {200.0, 100.0, 5.0, 4.0};
    NestPlan plan;
    nest_plan(&arena, &part, 1, &sheet, &plan);
    assert_true(plan.places[0].turned);
    assert_int_equal(plan.unplaced, 0);
    part.grain = true;
    nest_plan(&arena, &part, 1, &sheet, &plan);
    assert_int_equal(plan.unplaced, 1);
    assert_int_equal(plan.sheet_count, 0);
    arena_free(&arena);
}

static uint32_t next(uint32_t *seed) {
    *seed = *seed * 1664525u + 1013904223u;
    return *seed >> 8;
}

static void random_parts_keep_all_rules_in_any_order(void **state) {
    (void)state;
#ifdef MARLING_SANITIZED
    enum { SEEDS = 5 }; /* for slips, that is enough */
#else
    enum { SEEDS = 25 };
#endif
    for (uint32_t seed = 1; seed <= SEEDS; seed++) {
        Arena arena = {0};
        uint32_t random = seed * 7919u;
        enum { PARTS = 9 };
        Contour outlines[PARTS] = {0};
        NestPart parts[PARTS] = {0};
        NestPart turned[PARTS] = {0};
        static const char *const KEYS[] = {"A", "B", "C", "D", "E", "F", "G", "H", "I"};
        for (uint32_t i = 0; i < PARTS; i++) {
            double w = 60.0 + next(&random) % 300u;
            double h = 40.0 + next(&random) % 200u;
            double cut = fmin(w, h) * (next(&random) % 60u) / 100.0;
            double xy[] = {0.0, 0.0, w, 0.0, w, h - cut, w - cut, h, 0.0, h};
            outlines[i] =
                i % 3 == 0 ? contour_circle(&arena, 5.0, 5.0, h / 2.0) : polygon(&arena, xy, 5);
            parts[i] = (NestPart){KEYS[i], &outlines[i], i % 4 == 0};
            turned[PARTS - 1 - i] = parts[i];
        }
        NestSheet sheet = {800.0, 500.0, 10.0, 6.0};
        NestPlan plan;
        NestPlan other;
        nest_plan(&arena, parts, PARTS, &sheet, &plan);
        nest_plan(&arena, turned, PARTS, &sheet, &other);
        check_plan(&arena, parts, PARTS, &sheet, &plan);
        assert_int_equal(plan.unplaced, 0);
        for (uint32_t i = 0; i < PARTS; i++) {
            const NestPlace *a = &plan.places[i];
            const NestPlace *b = &other.places[PARTS - 1 - i];
            if (a->sheet != b->sheet || a->move.x_mm != b->move.x_mm ||
                a->move.y_mm != b->move.y_mm) {
                print_error("seed %u, part %u\n", seed, i);
                fail();
            }
        }
        arena_free(&arena);
    }
}

static void the_bound_holds_where_parts_need_a_sheet_each(void **state) {
    (void)state;
    Arena arena = {0};
    Contour outline = contour_rectangle(&arena, 0.0, 0.0, 700.0, 300.0, 0.0);
    NestPart parts[] = {{"A", &outline, false}, {"B", &outline, false}, {"C", &outline, false}};
    NestSheet sheet = {800.0, 500.0, 10.0, 6.0};
    NestPlan plan;
    nest_plan(&arena, parts, 3, &sheet, &plan);
    assert_int_equal(plan.sheet_count, 3);
    assert_int_equal(plan.least_sheets, 3); /* by areas alone it would be 2 */
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(distances_are_those_of_outlines),
        cmocka_unit_test(corners_that_are_free_are_used),
        cmocka_unit_test(what_only_fits_turned_is_turned_unless_it_has_grain),
        cmocka_unit_test(random_parts_keep_all_rules_in_any_order),
        cmocka_unit_test(the_bound_holds_where_parts_need_a_sheet_each),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
