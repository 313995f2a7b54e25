/* Contours of lines and arcs, cut shapes and what is computed from them, against closed forms. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <string.h>
#include <cmocka.h>
#include "base/units.h"
#include "panel/check.h"
#include "panel/shapes.h"
#include "../../near.h"

#define ROUNDING 1e-9 /* a few operations on numbers of some hundred millimetres */

static CutoutHoleRow blank_row(const char *kind) {
    return (CutoutHoleRow){.cutout = "X",
                           .hole = 1,
                           .kind = kind,
                           .u_mm = NAN,
                           .v_mm = NAN,
                           .rotation_deg = NAN,
                           .width_mm = NAN,
                           .height_mm = NAN,
                           .radius_mm = NAN,
                           .flat_mm = NAN,
                           .notch_width_mm = NAN,
                           .notch_mm = NAN,
                           .corners = "",
                           .screw = "",
                           .nutplate = "",
                           .nutplate_deg = NAN};
}

/* --- areas and boxes ------------------------------------------------------------------------- */

static void a_circle_and_a_rounded_rectangle(void **state) {
    (void)state;
    Arena arena = {0};
    PanelContour circle = panel_circle(&arena, (PanelPoint){100, -40}, 79.8);
    assert_near(panel_contour_area_mm2(&circle), UNITS_PI * 39.9 * 39.9, ROUNDING * 1e3);
    assert_near(panel_contour_length_mm(&circle), UNITS_PI * 79.8, ROUNDING);
    assert_near(panel_contour_diameter_mm(&circle), 79.8, ROUNDING);
    assert_near(circle.box.u0_mm, 60.1, ROUNDING);
    assert_near(circle.box.v1_mm, -0.1, ROUNDING);
    PanelContour plate = panel_rectangle(&arena, (PanelPoint){10, 20}, 250, 170, 3);
    assert_int_equal(plate.count, 8);
    assert_near(panel_contour_area_mm2(&plate), 250 * 170 - (4 - UNITS_PI) * 9, ROUNDING * 1e3);
    assert_near(panel_contour_corner_mm(&plate), 3, ROUNDING);
    assert_near(plate.box.u0_mm, -115, ROUNDING);
    assert_near(plate.box.v1_mm, 105, ROUNDING);
    PanelPoint middle = panel_contour_centroid(&plate);
    assert_near(middle.u_mm, 10, ROUNDING);
    assert_near(middle.v_mm, 20, ROUNDING);
    assert_true(panel_contour_closed(&circle));
    assert_true(panel_contour_closed(&plate));
    arena_free(&arena);
}

/* Half disc: centroid 4 r / (3 pi) above its flat; area pi r^2 / 2. */
static void the_middle_of_a_half_disc(void **state) {
    (void)state;
    Arena arena = {0};
    PanelPiece pieces[2] = {panel_arc((PanelPoint){500, 300}, 60, 0, UNITS_PI),
                            panel_line((PanelPoint){440, 300}, (PanelPoint){560, 300})};
    PanelContour half = panel_contour(&arena, pieces, 2);
    assert_near(panel_contour_area_mm2(&half), UNITS_PI * 1800, 1e-6);
    PanelPoint middle = panel_contour_centroid(&half);
    assert_near(middle.u_mm, 500, 1e-8);
    assert_near(middle.v_mm, 300 + 4 * 60 / (3 * UNITS_PI), 1e-8);
    assert_near(panel_contour_corner_mm(&half), 0, 0);
    /* The same taken clockwise is turned around. */
    PanelPiece back[2] = {panel_arc((PanelPoint){500, 300}, 60, UNITS_PI, -UNITS_PI),
                          panel_line((PanelPoint){560, 300}, (PanelPoint){440, 300})};
    PanelContour turned = panel_contour(&arena, back, 2);
    assert_near(panel_contour_area_mm2(&turned), UNITS_PI * 1800, 1e-6);
    assert_true(panel_contour_closed(&turned));
    arena_free(&arena);
}

static void an_arc_through_three_points(void **state) {
    (void)state;
    PanelPiece arc =
        panel_arc_through((PanelPoint){-30, 0}, (PanelPoint){0, 10}, (PanelPoint){30, 0});
    /* sagitta 10 over a chord of 60: r = (30^2 + 10^2) / 20 */
    assert_true(arc.arc);
    assert_near(arc.radius_mm, 50, ROUNDING);
    assert_near(arc.centre.v_mm, -40, ROUNDING);
    assert_true(arc.sweep_rad < 0);
    assert_near(arc.box.v1_mm, 10, ROUNDING);
    assert_near(panel_piece_at(&arc, 0.5).v_mm, 10, ROUNDING);
    PanelPiece line =
        panel_arc_through((PanelPoint){0, 0}, (PanelPoint){5, 5}, (PanelPoint){10, 10});
    assert_false(line.arc);
}

/* --- inside ------------------------------------------------------------------------------------
 */

static void points_in_and_out(void **state) {
    (void)state;
    Arena arena = {0};
    PanelContour circle = panel_circle(&arena, (PanelPoint){0, 0}, 20);
    assert_true(panel_contour_holds(&circle, (PanelPoint){0, 0}));
    assert_true(panel_contour_holds(&circle, (PanelPoint){7, 7}));
    assert_true(panel_contour_holds(&circle, (PanelPoint){-10, 0}));
    assert_false(panel_contour_holds(&circle, (PanelPoint){-9.9, 5}));
    assert_false(panel_contour_holds(&circle, (PanelPoint){7.2, 7.2}));
    CutoutHoleRow row = blank_row("keyed");
    row.notch_width_mm = 2;
    row.notch_mm = 7;
    PanelContour keyed;
    assert_null(panel_shape(&arena, &row, 12, &keyed));
    assert_true(panel_contour_closed(&keyed));
    assert_true(panel_contour_holds(&keyed, (PanelPoint){0.9, 6.9}));
    assert_false(panel_contour_holds(&keyed, (PanelPoint){1.1, 6.9}));
    assert_false(panel_contour_holds(&keyed, (PanelPoint){0, -6.1}));
    arena_free(&arena);
}

/* --- distances ---------------------------------------------------------------------------------
 */

static void distances_in_closed_form(void **state) {
    (void)state;
    Arena arena = {0};
    PanelPoint on_a;
    PanelPoint on_b;
    PanelContour a = panel_circle(&arena, (PanelPoint){0, 0}, 11.3);
    PanelContour b = panel_circle(&arena, (PanelPoint){20, 0}, 11.3);
    assert_near(panel_area_distance_mm(&a, &b, INFINITY, &on_a, &on_b), 8.7, ROUNDING);
    assert_near(on_a.u_mm, 5.65, ROUNDING);
    assert_near(on_b.u_mm, 14.35, ROUNDING);
    assert_true(isinf(panel_area_distance_mm(&a, &b, 8.69, NULL, NULL)));
    /* One within the other: areas touch, lines are 1 apart. */
    PanelContour inner = panel_circle(&arena, (PanelPoint){1, 0}, 7.3);
    assert_near(panel_area_distance_mm(&a, &inner, INFINITY, NULL, NULL), 0, 0);
    assert_near(panel_contour_distance_mm(&a, &inner, INFINITY, NULL, NULL), 1, ROUNDING);
    /* A circle before the middle of a side, and before a corner. */
    PanelContour plate = panel_rectangle(&arena, (PanelPoint){0, 0}, 100, 50, 0);
    PanelContour side = panel_circle(&arena, (PanelPoint){10, 40}, 10);
    PanelContour corner = panel_circle(&arena, (PanelPoint){53, 29}, 4);
    assert_near(panel_area_distance_mm(&plate, &side, INFINITY, NULL, NULL), 10, ROUNDING);
    assert_near(panel_area_distance_mm(&plate, &corner, INFINITY, NULL, NULL), 3, ROUNDING);
    /* A corner rounded with 5 mm stands back from the same circle. */
    PanelContour soft = panel_rectangle(&arena, (PanelPoint){0, 0}, 100, 50, 5);
    assert_near(panel_area_distance_mm(&soft, &corner, INFINITY, NULL, NULL), hypot(8, 9) - 5 - 2,
                ROUNDING);
    arena_free(&arena);
}

/* The screw circle of a round instrument: opening of 79.8, screws on a square of 62.86, holes of
 * 3.7: 44.449 - 39.9 - 1.85 mm of metal. */
static void metal_at_the_screws_of_a_round_instrument(void **state) {
    (void)state;
    Arena arena = {0};
    PanelContour opening = panel_circle(&arena, (PanelPoint){0, 0}, 79.8);
    PanelContour screw = panel_circle(&arena, (PanelPoint){31.43, 31.43}, 3.7);
    assert_near(panel_area_distance_mm(&opening, &screw, INFINITY, NULL, NULL),
                31.43 * sqrt(2.0) - 39.9 - 1.85, ROUNDING);
    arena_free(&arena);
}

/* --- offset ------------------------------------------------------------------------------------
 */

/* Steiner: a convex shape grown by d gains perimeter x d + pi d^2. */
static void growing_follows_the_formula_of_steiner(void **state) {
    (void)state;
    Arena arena = {0};
    const double d = 0.081;
    PanelContour shapes[3] = {panel_circle(&arena, (PanelPoint){3, 4}, 29.2),
                              panel_rectangle(&arena, (PanelPoint){1, 2}, 160.5, 67.5, 1.5),
                              panel_rectangle(&arena, (PanelPoint){1, 2}, 160.5, 67.5, 0)};
    for (int i = 0; i < 3; i++) {
        PanelContour grown;
        assert_true(panel_contour_offset(&arena, &shapes[i], d, &grown));
        assert_near(panel_contour_area_mm2(&grown),
                    panel_contour_area_mm2(&shapes[i]) + d * panel_contour_length_mm(&shapes[i]) +
                        UNITS_PI * d * d,
                    1e-7);
        PanelContour back;
        assert_true(panel_contour_offset(&arena, &grown, -d, &back));
        assert_near(panel_contour_area_mm2(&back), panel_contour_area_mm2(&shapes[i]), 1e-6);
    }
    arena_free(&arena);
}

static void a_hole_smaller_than_the_beam_has_no_cut(void **state) {
    (void)state;
    Arena arena = {0};
    PanelContour hole = panel_circle(&arena, (PanelPoint){0, 0}, 0.2);
    PanelContour slit = panel_rectangle(&arena, (PanelPoint){0, 0}, 20, 0.2, 0);
    PanelContour cut;
    assert_false(panel_contour_offset(&arena, &hole, -0.11, &cut));
    assert_false(panel_contour_offset(&arena, &slit, -0.11, &cut));
    assert_true(panel_contour_offset(&arena, &slit, -0.09, &cut));
    arena_free(&arena);
}

/* --- shapes ------------------------------------------------------------------------------------
 */

static double shape_area(Arena *arena, const CutoutHoleRow *row, double width_mm) {
    PanelContour contour;
    const char *wrong = panel_shape(arena, row, width_mm, &contour);
    if (wrong != NULL) {
        print_error("%s: %s\n", row->kind, wrong);
    }
    assert_null(wrong);
    assert_true(panel_contour_closed(&contour));
    return panel_contour_area_mm2(&contour);
}

/* The part of a disc beyond a line at distance h from its middle. */
static double segment_area(double r, double h) {
    return r * r * acos(h / r) - h * sqrt(r * r - h * h);
}

static void every_shape_has_the_area_of_its_formula(void **state) {
    (void)state;
    Arena arena = {0};
    CutoutHoleRow dee = blank_row("dee");
    dee.flat_mm = 11;
    assert_near(shape_area(&arena, &dee, 12), UNITS_PI * 36 - segment_area(6, 5), 1e-9);
    CutoutHoleRow twice = blank_row("double_dee");
    twice.flat_mm = 10;
    assert_near(shape_area(&arena, &twice, 11.3),
                UNITS_PI * 5.65 * 5.65 - 2 * segment_area(5.65, 5), 1e-9);
    CutoutHoleRow slot = blank_row("slot");
    slot.height_mm = 6;
    assert_near(shape_area(&arena, &slot, 40), 34 * 6 + UNITS_PI * 9, 1e-9);
    CutoutHoleRow keyed = blank_row("keyed");
    keyed.notch_width_mm = 1.8;
    keyed.notch_mm = 6.8;
    double base = sqrt(6.1 * 6.1 - 0.9 * 0.9);
    assert_near(shape_area(&arena, &keyed, 12.2),
                UNITS_PI * 6.1 * 6.1 + 1.8 * (6.8 - base) - segment_area(6.1, base), 1e-9);
    /* Notches: what of their discs lies outside the hole. */
    CutoutHoleRow notched = blank_row("notched");
    notched.notch_width_mm = 9.6;
    notched.notch_mm = 29;
    notched.corners = "right-up left-up left-down right-down";
    double r = 57.5 / 2;
    double n = 4.8;
    double x = (29 * 29 + r * r - n * n) / (2 * 29); /* the common chord, from the hole's middle */
    double lens = segment_area(r, x) + segment_area(n, 29 - x);
    assert_near(shape_area(&arena, &notched, 57.5), UNITS_PI * (r * r + 4 * n * n) - 4 * lens,
                1e-8);
    notched.corners = "left-down";
    assert_near(shape_area(&arena, &notched, 57.5), UNITS_PI * (r * r + n * n) - lens, 1e-8);
    CutoutHoleRow trapezoid = blank_row("trapezoid");
    trapezoid.height_mm = 11.4;
    trapezoid.flat_mm = 16.9;
    assert_near(shape_area(&arena, &trapezoid, 20.5), (20.5 + 16.9) / 2 * 11.4, 1e-9);
    arena_free(&arena);
}

static void shapes_that_cannot_be(void **state) {
    (void)state;
    Arena arena = {0};
    PanelContour contour;
    CutoutHoleRow row = blank_row("dee");
    row.flat_mm = 12;
    assert_non_null(panel_shape(&arena, &row, 12, &contour));
    row = blank_row("rectangle");
    assert_non_null(panel_shape(&arena, &row, 12, &contour));
    row.height_mm = 10;
    row.radius_mm = 5.01;
    assert_non_null(panel_shape(&arena, &row, 12, &contour));
    row.radius_mm = 5;
    assert_null(panel_shape(&arena, &row, 12, &contour));
    assert_non_null(panel_shape(&arena, &row, NAN, &contour));
    row = blank_row("notched");
    row.notch_width_mm = 4;
    row.notch_mm = 20;
    row.corners = "left-down";
    assert_non_null(panel_shape(&arena, &row, 12, &contour));
    row.notch_mm = 6;
    row.corners = "left";
    assert_non_null(panel_shape(&arena, &row, 12, &contour));
    arena_free(&arena);
}

static void outlines_that_cross_themselves(void **state) {
    (void)state;
    Arena arena = {0};
    const PanelPoint bow[4] = {{0, 0}, {100, 0}, {0, 50}, {100, 50}};
    const PanelPoint fold[4] = {{0, 0}, {100, 0}, {40, 0}, {40, 50}};
    const PanelPoint square[4] = {{0, 0}, {100, 0}, {100, 50}, {0, 50}};
    PanelContour contour;
    assert_false(panel_polygon(&arena, bow, NULL, 4, &contour) && panel_contour_closed(&contour));
    assert_false(panel_polygon(&arena, fold, NULL, 4, &contour) && panel_contour_closed(&contour));
    assert_true(panel_polygon(&arena, square, NULL, 4, &contour));
    assert_true(panel_contour_closed(&contour));
    const double round_mm[4] = {10, 25, 25, 0};
    assert_true(panel_polygon(&arena, square, round_mm, 4, &contour));
    assert_true(panel_contour_closed(&contour));
    assert_near(panel_contour_area_mm2(&contour), 5000 - (1 - UNITS_PI / 4) * (100 + 625 + 625),
                1e-8);
    const double too_round_mm[4] = {10, 25, 25.1, 0};
    assert_false(panel_polygon(&arena, square, too_round_mm, 4, &contour));
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_circle_and_a_rounded_rectangle),
        cmocka_unit_test(the_middle_of_a_half_disc),
        cmocka_unit_test(an_arc_through_three_points),
        cmocka_unit_test(points_in_and_out),
        cmocka_unit_test(distances_in_closed_form),
        cmocka_unit_test(metal_at_the_screws_of_a_round_instrument),
        cmocka_unit_test(growing_follows_the_formula_of_steiner),
        cmocka_unit_test(a_hole_smaller_than_the_beam_has_no_cut),
        cmocka_unit_test(every_shape_has_the_area_of_its_formula),
        cmocka_unit_test(shapes_that_cannot_be),
        cmocka_unit_test(outlines_that_cross_themselves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
