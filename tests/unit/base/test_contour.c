/* Areas, boxes and copies of contours with arcs, against figures worked out by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/contour.h"
#include "near.h"

#define PI 3.14159265358979323846

static void a_circle_is_exact(void **state) {
    (void)state;
    Arena arena = {0};
    Contour circle = contour_circle(&arena, 3.0, -2.0, 5.0);
    ContourBox box = contour_box(&circle);
    double x;
    double y;
    double r;
    assert_near(contour_area_mm2(&circle), 25.0 * PI, 1e-9);
    assert_near(box.left_mm, -2.0, 1e-12);
    assert_near(box.top_mm, 3.0, 1e-12);
    assert_true(contour_is_circle(&circle, &x, &y, &r));
    assert_near(x, 3.0, 1e-12);
    assert_near(r, 5.0, 1e-12);
    arena_free(&arena);
}

static void a_rounded_rectangle_loses_its_corners(void **state) {
    (void)state;
    Arena arena = {0};
    Contour box = contour_rectangle(&arena, 0.0, 0.0, 20.0, 10.0, 2.0);
    assert_near(contour_area_mm2(&box), 200.0 - (4.0 - PI) * 4.0, 1e-9);
    ContourBox all = contour_box(&box);
    assert_near(all.right_mm, 10.0, 1e-12);
    assert_near(all.bottom_mm, -5.0, 1e-12);
    /* A slot: the corners take all of the short sides. */
    Contour slot = contour_rectangle(&arena, 0.0, 0.0, 20.0, 10.0, 9.0);
    assert_near(contour_area_mm2(&slot), 100.0 + 25.0 * PI, 1e-9);
    assert_int_equal(slot.count, 6);
    /* Nothing but corners. */
    Contour round = contour_rectangle(&arena, 0.0, 0.0, 10.0, 10.0, 5.0);
    assert_near(contour_area_mm2(&round), 25.0 * PI, 1e-9);
    arena_free(&arena);
}

static void the_box_of_an_arc_passes_its_ends(void **state) {
    (void)state;
    Arena arena = {0};
    /* A half disc of radius 4: its arc from (4, 0) over (0, 4) to (-4, 0). */
    ContourPoint points[] = {{4.0, 0.0, 1.0}, {-4.0, 0.0, 0.0}};
    Contour half = {points, 2};
    ContourBox box = contour_box(&half);
    assert_near(box.top_mm, 4.0, 1e-12);
    assert_near(box.bottom_mm, 0.0, 1e-12);
    assert_near(contour_area_mm2(&half), 8.0 * PI, 1e-9);
    arena_free(&arena);
}

static void a_quarter_turn_is_exact(void **state) {
    (void)state;
    Arena arena = {0};
    Contour box = contour_rectangle(&arena, 7.0, 1.0, 20.0, 10.0, 2.0);
    ContourMove move = {.turn_deg = 90.0, .x_mm = 100.0, .y_mm = 0.5};
    Contour moved = contour_moved(&arena, &box, &move);
    ContourBox at = contour_box(&moved);
    assert_near(at.left_mm, 100.0 - 6.0, 1e-12);
    assert_near(at.right_mm, 100.0 + 4.0, 1e-12);
    assert_near(at.bottom_mm, 0.5 - 3.0, 1e-12);
    assert_near(contour_area_mm2(&moved), contour_area_mm2(&box), 1e-12);
    Contour back = contour_reversed(&arena, &moved);
    assert_near(contour_area_mm2(&back), -contour_area_mm2(&box), 1e-12);
    assert_near(contour_box(&back).top_mm, at.top_mm, 1e-12);
    move.mirrored = true;
    moved = contour_moved(&arena, &box, &move);
    assert_near(contour_area_mm2(&moved), -contour_area_mm2(&box), 1e-12);
    arena_free(&arena);
}

static void chords_stay_within_the_tolerance(void **state) {
    (void)state;
    Arena arena = {0};
    Contour circle = contour_circle(&arena, 0.0, 0.0, 50.0);
    for (double tolerance_mm = 1.0; tolerance_mm > 1e-4; tolerance_mm /= 10.0) {
        Contour straight = contour_straightened(&arena, &circle, tolerance_mm);
        double worst_mm = 0.0;
        for (size_t i = 0; i < straight.count; i++) {
            ContourPoint a = straight.points[i];
            ContourPoint b = straight.points[(i + 1) % straight.count];
            double middle_mm = hypot((a.x_mm + b.x_mm) / 2.0, (a.y_mm + b.y_mm) / 2.0);
            worst_mm = fmax(worst_mm, 50.0 - middle_mm);
        }
        assert_true(worst_mm <= tolerance_mm * (1.0 + 1e-9));
        assert_true(worst_mm > tolerance_mm / 4.0); /* and are not needlessly short */
    }
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_circle_is_exact),
        cmocka_unit_test(a_rounded_rectangle_loses_its_corners),
        cmocka_unit_test(the_box_of_an_arc_passes_its_ends),
        cmocka_unit_test(a_quarter_turn_is_exact),
        cmocka_unit_test(chords_stay_within_the_tolerance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
