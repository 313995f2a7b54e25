/* Axes: round steps, values that land where they say, and numbers that stand free of each other. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "draw/axes.h"
#include "draw/measure.h"

static const DrawBox FIELD = {30.0, 20.0, 210.0, 130.0};

/* --- steps --------------------------------------------------------------------------------------
 */

static bool is_round(double step) {
    double power = pow(10.0, floor(log10(step) + 1e-9));
    double figure = step / power;
    return fabs(figure - 1.0) < 1e-9 || fabs(figure - 2.0) < 1e-9 || fabs(figure - 5.0) < 1e-9;
}

static void steps_known_by_hand(void **state) {
    (void)state;
    assert_true(fabs(axes_step(10.0, 10) - 1.0) < 1e-12);
    assert_true(fabs(axes_step(10.0, 5) - 2.0) < 1e-12);
    assert_true(fabs(axes_step(10.0, 4) - 5.0) < 1e-12);
    assert_true(fabs(axes_step(10.0, 1) - 10.0) < 1e-12);
    assert_true(fabs(axes_step(101.0, 10) - 20.0) < 1e-12);
    assert_true(fabs(axes_step(0.3, 3) - 0.1) < 1e-12); /* 0.3 / 3 is a hair below 0.1 */
    assert_true(fabs(axes_step(0.0007, 3) - 0.0005) < 1e-15);
}

/* The smallest round step that cuts the span into at most so many parts. */
static void a_step_is_round_and_the_smallest(void **state) {
    (void)state;
    for (double span = 1.3e-7; span < 1e9; span *= 1.37) {
        for (unsigned most = 1; most < 40; most++) {
            double step = axes_step(span, most);
            assert_true(is_round(step));
            assert_true(span / step <= most * (1.0 + 1e-8));
            /* The next smaller one is a half or two fifths of it. */
            double power = pow(10.0, floor(log10(step) + 1e-9));
            double smaller = step / power > 4.0 ? step * 0.4 : step * 0.5;
            assert_true(span / smaller > most);
        }
    }
}

/* --- places -------------------------------------------------------------------------------------
 */

static void edges_are_round_and_hold_all_values(void **state) {
    (void)state;
    static const double RANGES[][2] = {{0.0, 100.0}, {12.43, 14.21}, {-3.7, 5.2},
                                       {0.0, 0.0},   {1e-4, 3e-4},   {0.0, 86400.0},
                                       {-9.0, -2.0}, {7.0, 7.0},     {1e6, 1e6 + 3}};
    size_t count = sizeof RANGES / sizeof *RANGES;
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < count; j++) {
            Axes axes = axes_place(FIELD, RANGES[i][0], RANGES[i][1], RANGES[j][0], RANGES[j][1]);
            assert_true(axes.x_from <= RANGES[i][0] + 1e-9 * axes.x_step);
            assert_true(axes.x_to >= RANGES[i][1] - axes.x_step * 1e-8);
            assert_true(axes.x_to > axes.x_from && axes.y_to > axes.y_from);
            assert_true(RANGES[i][0] - axes.x_from < axes.x_step * (1.0 + 1e-8));
            double steps = (axes.y_to - axes.y_from) / axes.y_step;
            assert_true(fabs(steps - round(steps)) < 1e-6);
            assert_true(axes.area.left_mm > FIELD.left_mm && axes.area.right_mm < FIELD.right_mm);
            assert_true(axes.area.top_mm > FIELD.top_mm && axes.area.bottom_mm < FIELD.bottom_mm);
        }
    }
}

static void values_lie_in_proportion(void **state) {
    (void)state;
    Axes axes = axes_place(FIELD, 0.0, 60.0, 10.0, 15.0);
    assert_true(fabs(axes_x_mm(&axes, axes.x_from) - axes.area.left_mm) < 1e-9);
    assert_true(fabs(axes_x_mm(&axes, axes.x_to) - axes.area.right_mm) < 1e-9);
    assert_true(fabs(axes_y_mm(&axes, axes.y_from) - axes.area.bottom_mm) < 1e-9);
    assert_true(fabs(axes_y_mm(&axes, axes.y_to) - axes.area.top_mm) < 1e-9);
    double middle = axes_y_mm(&axes, (axes.y_from + axes.y_to) / 2.0);
    assert_true(fabs(middle - (axes.area.top_mm + axes.area.bottom_mm) / 2.0) < 1e-9);
}

/* --- drawing ------------------------------------------------------------------------------------
 */

/* Draws, and fails at the first thing a checker would mark. Returns how many texts there are. */
static size_t checked_texts(DrawList *list, DrawBox field) {
    Measure measure;
    draw_measure(list->arena, list, field, &measure);
    for (size_t i = 0; i < measure.mark_count; i++) {
        fail_msg("%s", draw_mark_text(list->arena, list, &measure.marks[i]));
    }
    size_t texts = 0;
    for (size_t i = 0; i < list->count; i++) {
        texts += list->items[i].kind == DRAW_TEXT;
    }
    return texts;
}

/* Every number on an axis says the value of the place it stands at. */
static void numbers_say_where_they_stand(const DrawList *list, const Axes *axes) {
    size_t across = 0;
    size_t up = 0;
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        char *end;
        if (item->kind != DRAW_TEXT || item->turned) {
            continue;
        }
        double value = strtod(item->text, &end);
        if (end == item->text || *end != '\0') {
            continue;
        }
        double middle_x_mm = (item->box.left_mm + item->box.right_mm) / 2.0;
        double middle_y_mm = item->origin.y_mm - STYLE_NOTE_MM / 2.0;
        if (item->box.top_mm > axes->area.bottom_mm) {
            assert_true(fabs(middle_x_mm - axes_x_mm(axes, value)) < 0.01);
            across++;
        } else {
            assert_true(fabs(middle_y_mm - axes_y_mm(axes, value)) < 0.01);
            up++;
        }
    }
    assert_int_equal(across, lround((axes->x_to - axes->x_from) / axes->x_step) + 1);
    assert_int_equal(up, lround((axes->y_to - axes->y_from) / axes->y_step) + 1);
}

static void numbers_stand_free_and_say_their_place(void **state) {
    (void)state;
    static const double RANGES[][2] = {
        {0.0, 100.0}, {12.43, 14.21},  {-3.7, 5.2},   {0.0, 0.0},       {0.001, 0.0049},
        {0.0, 3.0},   {0.0, 123456.0}, {11.9, 12.02}, {-250.0, -120.0}, {0.0, 1440.0}};
    static const DrawBox FIELDS[] = {
        {30.0, 20.0, 210.0, 130.0}, {30.0, 20.0, 90.0, 60.0}, {25.0, 15.0, 400.0, 250.0}};
    size_t count = sizeof RANGES / sizeof *RANGES;
    DrawFonts *fonts = fonts_open();
    for (size_t at = 0; at < sizeof FIELDS / sizeof *FIELDS; at++) {
        for (size_t i = 0; i < count; i++) {
            for (size_t j = 0; j < count; j++) {
                Arena arena = {0};
                DrawList list;
                draw_start(&list, &arena, fonts, 420.0, 297.0);
                Axes axes =
                    axes_place(FIELDS[at], RANGES[i][0], RANGES[i][1], RANGES[j][0], RANGES[j][1]);
                axes_draw(&list, &axes, "minutes", "volts V", true);
                checked_texts(&list, FIELDS[at]);
                numbers_say_where_they_stand(&list, &axes);
                arena_free(&arena);
            }
        }
    }
    fonts_close(fonts);
}

static void an_upper_plot_has_no_numbers_below(void **state) {
    (void)state;
    Arena arena = {0};
    DrawFonts *fonts = fonts_open();
    DrawList list;
    Axes axes = axes_place(FIELD, 0.0, 90.0, 0.0, 100.0);
    draw_start(&list, &arena, fonts, 420.0, 297.0);
    axes_draw(&list, &axes, "", "charge %", false);
    size_t texts = checked_texts(&list, FIELD);
    assert_int_equal(texts, lround((axes.y_to - axes.y_from) / axes.y_step) + 2);
    for (size_t i = 0; i < list.count; i++) {
        assert_true(list.items[i].kind != DRAW_TEXT ||
                    list.items[i].box.top_mm < axes.area.bottom_mm);
    }
    fonts_close(fonts);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_known_by_hand),
        cmocka_unit_test(a_step_is_round_and_the_smallest),
        cmocka_unit_test(edges_are_round_and_hold_all_values),
        cmocka_unit_test(values_lie_in_proportion),
        cmocka_unit_test(numbers_stand_free_and_say_their_place),
        cmocka_unit_test(an_upper_plot_has_no_numbers_below),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
