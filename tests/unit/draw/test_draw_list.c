/* The display list, measuring of text, the frame, and the checker with the pencil. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "draw/measure.h"
#include "draw/paper.h"
#include "draw/view.h"

typedef struct Desk {
    Arena arena;
    DrawFonts *fonts;
    DrawList list;
} Desk;

static int set_up(void **state) {
    static Desk desk;
    desk = (Desk){.fonts = fonts_open()};
    draw_start(&desk.list, &desk.arena, desk.fonts, 420.0, 297.0);
    *state = &desk;
    return 0;
}

static int tear_down(void **state) {
    Desk *desk = *state;
    arena_free(&desk->arena);
    fonts_close(desk->fonts);
    return 0;
}

static const DrawTextStyle VALUE = {.height_mm = STYLE_VALUE_MM};

/* --- text ---------------------------------------------------------------------------------------
 */

static void capitals_have_the_height_asked_for(void **state) {
    Desk *desk = *state;
    assert_true(fonts_usual(desk->fonts));
    draw_text(&desk->list, 100.0, 100.0, VALUE, "H");
    DrawBox box = desk->list.items[0].box;
    assert_true(fabs(box.bottom_mm - box.top_mm - STYLE_VALUE_MM) < 0.02);
    assert_true(fabs(box.bottom_mm - 100.0) < 0.02);
}

static void figures_are_tabular(void **state) {
    Desk *desk = *state;
    double one = fonts_width_mm(desk->fonts, "1111", 3.5, false);
    double eight = fonts_width_mm(desk->fonts, "8888", 3.5, false);
    assert_true(fabs(one - eight) < 1e-6);
}

static void text_is_placed_by_its_align(void **state) {
    Desk *desk = *state;
    DrawTextStyle style = VALUE;
    style.align = ALIGN_RIGHT;
    double width = draw_text(&desk->list, 100.0, 50.0, style, "W0412");
    assert_true(fabs(desk->list.items[0].box.right_mm - 100.0) < 1e-9);
    assert_true(fabs(desk->list.items[0].box.left_mm - (100.0 - width)) < 1e-9);
    style.align = ALIGN_MIDDLE;
    style.turned = true;
    draw_text(&desk->list, 100.0, 50.0, style, "W0412");
    DrawBox box = desk->list.items[1].box;
    assert_true(fabs(box.top_mm - (50.0 - width / 2.0)) < 1e-9);
    assert_true(fabs(box.bottom_mm - (50.0 + width / 2.0)) < 1e-9);
    assert_true(box.right_mm <= 100.1); /* round ones reach a little below */
    assert_int_equal(draw_text(&desk->list, 0.0, 0.0, style, "") > 0.0, 0);
    assert_int_equal(desk->list.count, 2);
}

static void long_text_is_shortened_to_what_fits(void **state) {
    Desk *desk = *state;
    char tag[201];
    memset(tag, 'M', 200);
    tag[200] = '\0';
    draw_text_fit(&desk->list, 10.0, 10.0, VALUE, tag, 60.0);
    const DrawItem *item = &desk->list.items[0];
    assert_true(item->box.right_mm <= 70.0 + 1e-9);
    assert_string_equal(item->text + strlen(item->text) - 3, "...");
    /* Nothing is cut that fits. */
    draw_text_fit(&desk->list, 10.0, 10.0, VALUE, "MM", 60.0);
    assert_string_equal(desk->list.items[1].text, "MM");
    /* Never inside a character. */
    const char *short_text =
        fonts_fit(desk->fonts, &desk->arena, "\xC3\x96\xC3\x96\xC3\x96\xC3\x96", 3.5, false, 13.0);
    assert_true(fonts_shape(desk->fonts, short_text, false)->unknown == 0);
    assert_null(strstr(fonts_shape(desk->fonts, short_text, false)->text, "\xEF\xBF\xBD"));
}

static void lines_break_at_blanks_and_nothing_is_lost(void **state) {
    Desk *desk = *state;
    const char *text = "solved drop with hot copper, contacts and devices in the worst phase";
    const char **lines;
    size_t count = fonts_wrap(desk->fonts, &desk->arena, text, 2.5, false, 40.0, &lines);
    assert_true(count > 2);
    char joined[200] = "";
    for (size_t i = 0; i < count; i++) {
        assert_true(fonts_width_mm(desk->fonts, lines[i], 2.5, false) <= 40.0);
        strcat(joined, i == 0 ? "" : " ");
        strcat(joined, lines[i]);
    }
    assert_string_equal(joined, text);
    assert_int_equal(fonts_wrap(desk->fonts, &desk->arena, "", 2.5, false, 40.0, &lines), 1);
    /* A word longer than the line is broken inside. */
    count = fonts_wrap(desk->fonts, &desk->arena, "WWWWWWWWWWWWWWWWWWWW", 2.5, false, 12.0, &lines);
    assert_true(count > 1);
    joined[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        strcat(joined, lines[i]);
    }
    assert_string_equal(joined, "WWWWWWWWWWWWWWWWWWWW");
}

static void bytes_that_are_no_text_are_shown_as_such(void **state) {
    Desk *desk = *state;
    assert_string_equal(fonts_shape(desk->fonts,
                                    "a\xFF"
                                    "b",
                                    false)
                            ->text,
                        "a\xEF\xBF\xBD"
                        "b");
    assert_string_equal(fonts_shape(desk->fonts, "a\nb", false)->text, "a b");
}

/* --- checker ------------------------------------------------------------------------------------
 */

static const DrawBox FIELD = {20.0, 10.0, 400.0, 250.0};

static Measure measured(Desk *desk) {
    Measure measure;
    draw_measure(&desk->arena, &desk->list, FIELD, &measure);
    return measure;
}

static void a_clean_sheet_has_no_marks(void **state) {
    Desk *desk = *state;
    draw_text(&desk->list, 100.0, 100.0, VALUE, "NAV1");
    draw_text(&desk->list, 100.0, 105.0, VALUE, "NAV2");
    draw_line(&desk->list, 90.0, 101.0, 150.0, 101.0, STYLE_MEDIUM_MM);
    draw_rectangle(&desk->list, (DrawBox){90.0, 90.0, 150.0, 110.0}, STYLE_THICK_MM);
    assert_int_equal(measured(desk).mark_count, 0);
}

static void every_fault_is_marked_once(void **state) {
    Desk *desk = *state;
    /* Long enough to share several cells of the checker's grid. */
    draw_text(&desk->list, 100.0, 100.0, VALUE, "a long text over several cells of the grid");
    draw_text(&desk->list, 105.0, 101.0, VALUE, "another long text over several cells");
    Measure measure = measured(desk);
    assert_int_equal(measure.fault_count[MEASURE_TEXT_ON_TEXT], 1);
    assert_int_equal(measure.mark_count, 1);
    assert_non_null(
        strstr(draw_mark_text(&desk->arena, &desk->list, &measure.marks[0]), "another"));
}

static void a_line_through_text_is_marked(void **state) {
    Desk *desk = *state;
    draw_text(&desk->list, 100.0, 100.0, VALUE, "NAV1");
    draw_line(&desk->list, 90.0, 60.0, 110.0, 140.0, STYLE_THIN_MM);
    assert_int_equal(measured(desk).fault_count[MEASURE_LINE_ON_TEXT], 1);
    draw_circle(&desk->list, 100.0, 98.0, 3.0, STYLE_THIN_MM);
    assert_int_equal(measured(desk).fault_count[MEASURE_LINE_ON_TEXT], 2);
}

static void a_thick_line_that_touches_text_is_marked(void **state) {
    Desk *desk = *state;
    draw_text(&desk->list, 100.0, 100.0, VALUE, "H");
    draw_line(&desk->list, 90.0, 100.2, 150.0, 100.2, STYLE_THICK_MM);
    assert_int_equal(measured(desk).fault_count[MEASURE_LINE_ON_TEXT], 1);
}

/* A symbol of row `key`: an upright line from 100 down to 110. */
static void draw_bar(DrawList *list, const char *key, double x_mm) {
    draw_layer(list, LAYER_SYMBOL);
    draw_row(list, TABLE_ground, key);
    draw_line(list, x_mm, 100.0, x_mm, 110.0, STYLE_MEDIUM_MM);
}

static void symbols_that_touch_are_marked(void **state) {
    Desk *desk = *state;
    draw_bar(&desk->list, "GB", 100.0);
    draw_bar(&desk->list, "GB", 100.5); /* of the same row */
    draw_bar(&desk->list, "GC", 101.5); /* half a millimetre of white */
    assert_int_equal(measured(desk).mark_count, 0);
    draw_bar(&desk->list, "GD", 102.2);
    Measure measure = measured(desk);
    assert_int_equal(measure.fault_count[MEASURE_SYMBOL_TOUCHED], 1);
    assert_int_equal(measure.mark_count, 1);
    assert_non_null(strstr(draw_mark_text(&desk->arena, &desk->list, &measure.marks[0]), "'GD'"));
}

static void symbols_whose_leads_go_on_in_each_other_are_clean(void **state) {
    Desk *desk = *state;
    draw_bar(&desk->list, "GB", 100.0);
    draw_row(&desk->list, TABLE_ground, "GC");
    draw_line(&desk->list, 100.0, 110.0, 120.0, 110.0, STYLE_MEDIUM_MM);
    assert_int_equal(measured(desk).mark_count, 0);
}

static void a_wire_through_a_symbol_is_marked(void **state) {
    Desk *desk = *state;
    draw_bar(&desk->list, "GB", 100.0);
    draw_layer(&desk->list, LAYER_WIRE);
    draw_row(&desk->list, TABLE_conductor, "W0001");
    draw_line(&desk->list, 80.0, 105.0, 100.0, 105.0, STYLE_MEDIUM_MM); /* ends there */
    assert_int_equal(measured(desk).mark_count, 0);
    draw_line(&desk->list, 80.0, 107.0, 120.0, 107.0, STYLE_MEDIUM_MM);
    assert_int_equal(measured(desk).fault_count[MEASURE_SYMBOL_TOUCHED], 1);
}

static void what_leaves_the_field_is_marked(void **state) {
    Desk *desk = *state;
    draw_line(&desk->list, 300.0, 100.0, 401.0, 100.0, STYLE_THIN_MM);
    draw_layer(&desk->list, LAYER_FRAME);
    draw_line(&desk->list, 300.0, 100.0, 410.0, 100.0, STYLE_THIN_MM);
    assert_int_equal(measured(desk).fault_count[MEASURE_OUTSIDE], 1);
    draw_line(&desk->list, 300.0, 100.0, 421.0, 100.0, STYLE_THIN_MM);
    assert_int_equal(measured(desk).fault_count[MEASURE_OUTSIDE], 2);
}

static void crossings_and_bends_are_counted(void **state) {
    Desk *desk = *state;
    draw_layer(&desk->list, LAYER_WIRE);
    draw_row(&desk->list, TABLE_conductor, "W1");
    draw_path(&desk->list, (DrawPoint[]){{50, 50}, {100, 50}, {100, 150}, {200, 150}}, 4, false,
              STYLE_MEDIUM_MM);
    draw_row(&desk->list, TABLE_conductor, "W2");
    draw_line(&desk->list, 60.0, 100.0, 180.0, 100.0, STYLE_MEDIUM_MM);
    /* The same conductor meets itself: no crossing. */
    draw_line(&desk->list, 120.0, 60.0, 120.0, 110.0, STYLE_MEDIUM_MM);
    /* A joint at an end is none either. */
    draw_row(&desk->list, TABLE_conductor, "W3");
    draw_line(&desk->list, 180.0, 100.0, 180.0, 140.0, STYLE_MEDIUM_MM);
    Measure measure = measured(desk);
    assert_int_equal(measure.crossings, 1);
    assert_int_equal(measure.bends, 2);
    assert_int_equal(measure.wires, 3);
    assert_true(fabs(measure.wire_mm - (50 + 100 + 100 + 120 + 50 + 40)) < 1e-9);
}

/* --- paper --------------------------------------------------------------------------------------
 */

static void every_paper_has_a_clean_frame(void **state) {
    Desk *desk = *state;
    SheetHead head = {
        .name = "wiring-engine-2",
        .title = "Wiring: engine and starter, fuel, sheet 2",
        .job = "a_job_with_a_name_that_is_much_too_long_for_the_cell_it_has_to_stand_in",
        .job_title = "two-seat floatplane for survey work, with a title that is much too long",
        .revision = "C",
        .hash = "0123456789abcdef",
        .date = "2026-01-31",
        .scale = "diagram",
        .units = "mm (in)",
        .version = "0.3.0",
        .number = "117",
        .of = 240,
    };
    for (int size = 0; size < PAPER_COUNT; size++) {
        draw_start(&desk->list, &desk->arena, desk->fonts, paper_width_mm((PaperSize)size),
                   paper_height_mm((PaperSize)size));
        DrawBox field = sheet_frame(&desk->list, &head);
        Measure measure;
        draw_measure(&desk->arena, &desk->list, field, &measure);
        for (size_t i = 0; i < measure.mark_count; i++) {
            print_message("%s: %s\n", paper_name((PaperSize)size),
                          draw_mark_text(&desk->arena, &desk->list, &measure.marks[i]));
        }
        assert_int_equal(measure.mark_count, 0);
        DrawBox known = sheet_field((PaperSize)size);
        assert_memory_equal(&known, &field, sizeof field);
    }
}

/* ISO 5457: zones begin at the corner of the frame that is read first. */
static void zones_run_from_the_top_left(void **state) {
    (void)state;
    char text[SHEET_ZONE_TEXT];
    assert_string_equal(sheet_zone(PAPER_A3, 21.0, 11.0, text), "A1");
    assert_string_equal(sheet_zone(PAPER_A3, 409.0, 286.0, text), "F8");
    assert_string_equal(sheet_zone(PAPER_A3, -5.0, 500.0, text), "F1");
}

static void papers_and_units_are_found_by_name(void **state) {
    Desk *desk = *state;
    assert_int_equal(paper_find("a3"), PAPER_A3);
    assert_int_equal(paper_find("A5"), PAPER_COUNT);
    assert_int_equal(draw_units_find("in"), LENGTH_IN);
    assert_int_equal(draw_units_find("inch"), LENGTH_COUNT);
    assert_string_equal(draw_length_text(&desk->arena, LENGTH_BOTH, 1234.4), "1234 mm (48.6 in)");
    assert_string_equal(draw_length_text(&desk->arena, LENGTH_IN, 254.0), "10.0 in");
}

/* Codes of IEC 60757 (from memory). */
static void insulation_has_its_code(void **state) {
    (void)state;
    char text[STYLE_CODE_TEXT];
    assert_string_equal(style_insulation_code("white", text), "WH");
    assert_string_equal(style_insulation_code("white/blue", text), "WHBU");
    assert_string_equal(style_insulation_code("mauve", text), "mauve");
    assert_string_equal(style_insulation_code("", text), "");
    uint32_t base;
    uint32_t tracer;
    assert_true(style_insulation_rgb("white/blue", &base, &tracer));
    assert_int_equal(base, 0xFFFFFF);
    assert_int_equal(tracer, 0x1F5FAE);
    assert_false(style_insulation_rgb("", &base, &tracer));
}

int main(void) {
#define DESK_TEST(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        DESK_TEST(capitals_have_the_height_asked_for),
        DESK_TEST(figures_are_tabular),
        DESK_TEST(text_is_placed_by_its_align),
        DESK_TEST(long_text_is_shortened_to_what_fits),
        DESK_TEST(lines_break_at_blanks_and_nothing_is_lost),
        DESK_TEST(bytes_that_are_no_text_are_shown_as_such),
        DESK_TEST(a_clean_sheet_has_no_marks),
        DESK_TEST(every_fault_is_marked_once),
        DESK_TEST(a_line_through_text_is_marked),
        DESK_TEST(a_thick_line_that_touches_text_is_marked),
        DESK_TEST(symbols_that_touch_are_marked),
        DESK_TEST(symbols_whose_leads_go_on_in_each_other_are_clean),
        DESK_TEST(a_wire_through_a_symbol_is_marked),
        DESK_TEST(what_leaves_the_field_is_marked),
        DESK_TEST(crossings_and_bends_are_counted),
        DESK_TEST(every_paper_has_a_clean_frame),
        DESK_TEST(zones_run_from_the_top_left),
        DESK_TEST(papers_and_units_are_found_by_name),
        DESK_TEST(insulation_has_its_code),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
