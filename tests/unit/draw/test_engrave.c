/* Letters as contours: height, place, holes, mirror; the area of a curved letter against the same
 * letter filled by cairo. */
#include <cairo.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "draw/cutfile.h"
#include "draw/engrave.h"
#include "near.h"

static int set_up(void **state) {
    *state = fonts_open();
    return 0;
}

static int tear_down(void **state) {
    fonts_close(*state);
    return 0;
}

static ContourBox box_of(const ContourList *list) {
    ContourBox all = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (size_t i = 0; i < list->count; i++) {
        ContourBox box = contour_box(&list->items[i]);
        all.left_mm = fmin(all.left_mm, box.left_mm);
        all.right_mm = fmax(all.right_mm, box.right_mm);
        all.bottom_mm = fmin(all.bottom_mm, box.bottom_mm);
        all.top_mm = fmax(all.top_mm, box.top_mm);
    }
    return all;
}

static double area_of(const ContourList *list) {
    double area = 0.0;
    for (size_t i = 0; i < list->count; i++) {
        area += contour_area_mm2(&list->items[i]);
    }
    return area;
}

static void capitals_are_as_high_as_asked(void **state) {
    Arena arena = {0};
    ContourList list = {0};
    EngraveStyle style = {.height_mm = 4.2, .align = ALIGN_MIDDLE};
    double width_mm = engrave_text(&arena, *state, "HIT", &style, 100.0, 50.0, &list);
    ContourBox box = box_of(&list);
    assert_int_equal(list.count, 3);
    assert_near(box.bottom_mm, 50.0, 1e-6);
    /* Shaping rounds to 1/200 em. */
    assert_near(box.top_mm, 54.2, 0.03);
    assert_near((box.left_mm + box.right_mm) / 2.0, 100.0, 0.3);
    assert_true(box.right_mm - box.left_mm < width_mm);
    arena_free(&arena);
}

static void holes_run_the_other_way_round(void **state) {
    Arena arena = {0};
    ContourList list = {0};
    EngraveStyle style = {.height_mm = 10.0};
    engrave_text(&arena, *state, "O", &style, 0.0, 0.0, &list);
    assert_int_equal(list.count, 2);
    double a = contour_area_mm2(&list.items[0]);
    double b = contour_area_mm2(&list.items[1]);
    assert_true(a * b < 0.0);
    assert_true(a + b > 0.0);
    arena_free(&arena);
}

static void a_mirrored_text_is_the_mirror_of_the_text(void **state) {
    Arena arena = {0};
    ContourList plain = {0};
    ContourList mirrored = {0};
    EngraveStyle style = {.height_mm = 5.0};
    engrave_text(&arena, *state, "R2", &style, 0.0, 0.0, &plain);
    style.mirrored = true;
    engrave_text(&arena, *state, "R2", &style, 0.0, 0.0, &mirrored);
    ContourBox left = box_of(&plain);
    ContourBox right = box_of(&mirrored);
    assert_near(left.right_mm, -right.left_mm, 1e-9);
    assert_near(area_of(&plain), -area_of(&mirrored), 1e-9);
    arena_free(&arena);
}

/* The same glyphs filled by cairo, as area: an image of them, summed. */
static void areas_agree_with_a_filled_picture(void **state) {
    static const char TEXT[] = "S83&";
    Arena arena = {0};
    ContourList list = {0};
    double height_mm = 20.0;
    EngraveStyle style = {.height_mm = height_mm};
    engrave_text(&arena, *state, TEXT, &style, 0.0, 0.0, &list);
    const FontText *shaped = fonts_shape(*state, TEXT, false);
    enum { WIDE = 1600, HIGH = 500 };
    const double PER_MM = 16.0;
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, WIDE, HIGH);
    cairo_t *cairo = cairo_create(surface);
    double size = fonts_size_mm(*state, height_mm) * PER_MM;
    cairo_matrix_t matrix;
    cairo_matrix_init_scale(&matrix, size, size);
    for (size_t i = 0; i < shaped->run_count; i++) {
        const FontRun *run = &shaped->runs[i];
        cairo_set_font_face(cairo, run->face);
        cairo_set_font_matrix(cairo, &matrix);
        for (size_t j = 0; j < run->glyph_count; j++) {
            cairo_glyph_t glyph = {run->glyphs[j].index, run->glyphs[j].x * size + 8.0, 400.0};
            cairo_glyph_path(cairo, &glyph, 1);
        }
    }
    cairo_fill(cairo);
    cairo_surface_flush(surface);
    const unsigned char *bytes = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface);
    double sum = 0.0;
    for (int y = 0; y < HIGH; y++) {
        for (int x = 0; x < WIDE; x++) {
            sum += bytes[y * stride + x] / 255.0;
        }
    }
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    double seen_mm2 = sum / (PER_MM * PER_MM);
    assert_near(area_of(&list), seen_mm2, 0.005 * seen_mm2);
    arena_free(&arena);
}

static void curves_become_few_arcs(void **state) {
    Arena arena = {0};
    ContourList list = {0};
    EngraveStyle style = {.height_mm = 5.0};
    engrave_text(&arena, *state, "O", &style, 0.0, 0.0, &list);
    for (size_t i = 0; i < list.count; i++) {
        assert_true(list.items[i].count < 80);
        size_t arcs = 0;
        for (size_t j = 0; j < list.items[i].count; j++) {
            arcs += list.items[i].points[j].bulge != 0.0;
        }
        assert_true(arcs >= 8);
    }
    arena_free(&arena);
}

static void what_lies_on_another_is_left_out_once(void **state) {
    (void)state;
    Arena arena = {0};
    CutFile file = {.arena = &arena};
    cut_add_outline(&file, "P", contour_rectangle(&arena, 0.0, 0.0, 100.0, 50.0, 4.0));
    cut_add(&file, CUT_LAYER_CUT, "B", contour_circle(&arena, 10.0, 0.0, 6.0));
    cut_add(&file, CUT_LAYER_CUT, "A", contour_circle(&arena, -10.0, 0.0, 3.0));
    cut_add(&file, CUT_LAYER_CUT, "C", contour_circle(&arena, -10.0, 0.0, 3.0));
    cut_add(&file, CUT_LAYER_CSK_FRONT, "A", contour_circle(&arena, -10.0, 0.0, 3.0));
    assert_int_equal(cut_sort(&file), 1);
    assert_int_equal(file.count, 4);
    assert_string_equal(file.items[0].key, "A");
    assert_string_equal(file.items[1].key, "B");
    assert_true(file.items[2].outline);
    assert_int_equal(file.items[3].layer, CUT_LAYER_CSK_FRONT);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(capitals_are_as_high_as_asked),
        cmocka_unit_test(holes_run_the_other_way_round),
        cmocka_unit_test(a_mirrored_text_is_the_mirror_of_the_text),
        cmocka_unit_test(areas_agree_with_a_filled_picture),
        cmocka_unit_test(curves_become_few_arcs),
        cmocka_unit_test(what_lies_on_another_is_left_out_once),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
