/* Every symbol stays in its cell, reaches its terminals, and turns as one piece. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "draw/symbol.h"

static int set_up(void **state) {
    static Arena arena;
    static DrawFonts *fonts;
    static DrawList list;
    arena = (Arena){0};
    fonts = fonts_open();
    draw_start(&list, &arena, fonts, 420.0, 297.0);
    *state = &list;
    return 0;
}

static int tear_down(void **state) {
    DrawList *list = *state;
    fonts_close(list->fonts);
    arena_free(list->arena);
    return 0;
}

static void draw_alone(DrawList *list, DrawSymbol symbol, double x_mm, double y_mm, bool turned) {
    draw_start(list, list->arena, list->fonts, 420.0, 297.0);
    symbol_draw(list, symbol, x_mm, y_mm, turned);
}

static double to_piece_mm(DrawPoint at, DrawPoint a, DrawPoint b) {
    double dx = b.x_mm - a.x_mm;
    double dy = b.y_mm - a.y_mm;
    double length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? ((at.x_mm - a.x_mm) * dx + (at.y_mm - a.y_mm) * dy) / length2 : 0.0;
    t = fmin(1.0, fmax(0.0, t));
    return hypot(at.x_mm - a.x_mm - t * dx, at.y_mm - a.y_mm - t * dy);
}

/* Distance of the nearest line, or whole circle, from a point. */
static double to_ink_mm(const DrawList *list, DrawPoint at) {
    double nearest_mm = 1e9;
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        const DrawPoint *points = draw_points(list, item);
        if (item->kind == DRAW_ARC && item->closed) {
            double from_mm = hypot(at.x_mm - points[0].x_mm, at.y_mm - points[0].y_mm);
            nearest_mm = fmin(nearest_mm, fabs(from_mm - item->radius_mm));
        }
        for (size_t p = 1; item->kind == DRAW_PATH && p < item->point_count; p++) {
            nearest_mm = fmin(nearest_mm, to_piece_mm(at, points[p - 1], points[p]));
        }
    }
    return nearest_mm;
}

static void every_symbol_lies_in_its_cell(void **state) {
    DrawList *list = *state;
    for (DrawSymbol symbol = 0; symbol < SYMBOL_COUNT; symbol++) {
        for (int turned = 0; turned < 2; turned++) {
            draw_alone(list, symbol, 100.0, 80.0, turned == 1);
            assert_true(list->count > 0);
            DrawBox cell = symbol_cell(symbol, 100.0, 80.0, turned == 1);
            double along_mm = turned ? cell.bottom_mm - cell.top_mm : cell.right_mm - cell.left_mm;
            double across_mm = turned ? cell.right_mm - cell.left_mm : cell.bottom_mm - cell.top_mm;
            assert_true(fabs(along_mm - symbol_width_mm(symbol)) < 1e-9);
            assert_true(fabs(across_mm - symbol_height_mm(symbol)) < 1e-9);
            for (size_t i = 0; i < list->count; i++) {
                DrawBox box = list->items[i].box;
                assert_int_equal(list->items[i].layer, LAYER_SYMBOL);
                if (box.left_mm < cell.left_mm - 1e-9 || box.right_mm > cell.right_mm + 1e-9 ||
                    box.top_mm < cell.top_mm - 1e-9 || box.bottom_mm > cell.bottom_mm + 1e-9) {
                    fail_msg("%s leaves its cell", symbol_name(symbol));
                }
            }
        }
    }
}

static void every_symbol_touches_its_terminals(void **state) {
    DrawList *list = *state;
    for (DrawSymbol symbol = 0; symbol < SYMBOL_COUNT; symbol++) {
        for (int turned = 0; turned < 2; turned++) {
            draw_alone(list, symbol, 50.0, 70.0, turned == 1);
            DrawPoint terminals[SYMBOL_TERMINALS];
            size_t count = symbol_terminals(symbol, 50.0, 70.0, turned == 1, terminals);
            assert_in_range(count, 1, SYMBOL_TERMINALS);
            for (size_t i = 0; i < count; i++) {
                if (to_ink_mm(list, terminals[i]) > 1e-9) {
                    fail_msg("%s does not reach terminal %zu", symbol_name(symbol), i);
                }
            }
        }
    }
}

/* Stroke by stroke: (x, y) goes to (-y, x), arcs a quarter on, letters stay upright. */
static void a_turned_symbol_is_the_same_symbol(void **state) {
    DrawList *list = *state;
    for (DrawSymbol symbol = 0; symbol < SYMBOL_COUNT; symbol++) {
        draw_alone(list, symbol, 0.0, 0.0, false);
        DrawList level = *list;
        draw_alone(list, symbol, 0.0, 0.0, true);
        assert_int_equal(level.count, list->count);
        for (size_t i = 0; i < level.count; i++) {
            const DrawItem *a = &level.items[i];
            const DrawItem *b = &list->items[i];
            assert_int_equal(a->kind, b->kind);
            if (a->kind == DRAW_TEXT) {
                assert_false(b->turned);
                double ax = (a->box.left_mm + a->box.right_mm) / 2.0;
                double by = (b->box.top_mm + b->box.bottom_mm) / 2.0;
                assert_true(fabs(ax - by) < 0.2);
                continue;
            }
            assert_true(fabs(a->box.left_mm - b->box.top_mm) < 1e-9);
            assert_true(fabs(a->box.right_mm - b->box.bottom_mm) < 1e-9);
            assert_true(fabs(a->box.top_mm + b->box.right_mm) < 1e-9);
            assert_true(fabs(a->box.bottom_mm + b->box.left_mm) < 1e-9);
        }
    }
}

static void kinds_of_the_library_have_their_symbols(void **state) {
    (void)state;
    assert_int_equal(symbol_of_device("breaker"), SYMBOL_BREAKER);
    assert_int_equal(symbol_of_device("limiter"), SYMBOL_LIMITER);
    assert_int_equal(symbol_of_device("spoon"), SYMBOL_COUNT);
    assert_int_equal(symbol_of_switch("contactor", "open"), SYMBOL_CONTACTOR_OPEN);
    assert_int_equal(symbol_of_switch("contactor", "closed"), SYMBOL_CONTACTOR_CLOSED);
    assert_int_equal(symbol_of_switch("relay", "off"), SYMBOL_RELAY_OPEN);
    assert_int_equal(symbol_of_switch("diode", "x"), SYMBOL_DIODE);
    assert_int_equal(symbol_of_switch("shunt", ""), SYMBOL_SHUNT);
    assert_int_equal(symbol_of_load("motor"), SYMBOL_MOTOR);
    assert_int_equal(symbol_of_load("electronic"), SYMBOL_COUNT);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_symbol_lies_in_its_cell, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_symbol_touches_its_terminals, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_turned_symbol_is_the_same_symbol, set_up, tear_down),
        cmocka_unit_test(kinds_of_the_library_have_their_symbols),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
