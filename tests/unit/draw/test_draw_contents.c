/* The table of contents of books of many sheets: pages enough, every line once and in its place,
 * every link to a sheet that is there. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/text.h"
#include "draw/measure.h"
#include "draw/sheets.h"

typedef struct Desk {
    Arena arena;
    DrawFonts *fonts;
    TableSet set;
    DrawView view;
    SheetPlan plan;
} Desk;

static void open_desk(Desk *desk, PaperSize paper) {
    *desk = (Desk){.fonts = fonts_open()};
    JobRow *job = table_append(&desk->set, &desk->arena, TABLE_job);
    job->job = "many";
    job->title = "a book of many sheets";
    desk->view = (DrawView){.set = &desk->set, .paper = paper, .hash = "", .version = ""};
    desk->plan = (SheetPlan){.arena = &desk->arena, .fonts = desk->fonts, .view = &desk->view};
}

static void close_desk(Desk *desk) {
    fonts_close(desk->fonts);
    arena_free(&desk->arena);
}

/* Sheets of which each begins `each` things (none: it only goes on), in parts of `part` sheets. */
static void add_sheets(Desk *desk, size_t count, size_t each, size_t part) {
    for (uint32_t i = 0; i < count; i++) {
        const char *name = arena_format(&desk->arena, "sheet-%u", i);
        uint32_t sheet = sheet_add(
            &desk->plan, SHEET_TABLE, i,
            part == 0 ? "" : arena_format(&desk->arena, "Part %zu", i / part), name, name, "");
        Buffer begins = {.arena = &desk->arena};
        for (size_t j = 0; j < each; j++) {
            buffer_format(&begins, "%sthing %u.%zu", j == 0 ? "" : "; ", i, j);
        }
        desk->plan.sheets[sheet].begins = begins.length == 0 ? "" : begins.bytes;
    }
}

/* The body first, then the contents, as sheets_plan does. */
static void plan_book(Desk *desk, size_t count, size_t each, size_t part) {
    desk->plan.count = 0;
    desk->plan.front = 0;
    add_sheets(desk, count, each, part);
    contents_plan(&desk->plan);
}

/* Draws a page of contents and fails at the first thing a checker would mark. */
static void draw_page(Desk *desk, uint32_t page, Arena *arena, DrawList *list) {
    sheet_draw(&desk->plan, page, arena, false, list);
    Measure measure;
    draw_measure(arena, list, sheet_field(desk->view.paper), &measure);
    for (size_t i = 0; i < measure.mark_count; i++) {
        fail_msg("%s", draw_mark_text(arena, list, &measure.marks[i]));
    }
}

/* The number that stands in the box of a link, as the reader sees it. */
static const char *number_in(const DrawList *list, const DrawItem *link) {
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->kind == DRAW_TEXT && fabs(item->box.right_mm - link->box.right_mm) < 0.3 &&
            item->origin.y_mm > link->box.top_mm && item->origin.y_mm < link->box.bottom_mm) {
            return item->text;
        }
    }
    fail_msg("no number at the link to %s", link->text);
    return "";
}

static void check_book(size_t count, size_t each, size_t part, PaperSize paper) {
    Desk desk;
    open_desk(&desk, paper);
    plan_book(&desk, count, each, part);
    size_t *times = ARENA_ARRAY(&desk.arena, size_t, desk.plan.count);
    size_t parts = 0;
    for (uint32_t page = 0; page < desk.plan.front; page++) {
        Arena arena = {0};
        DrawList list;
        draw_page(&desk, sheet_at(&desk.plan, page), &arena, &list);
        for (size_t i = 0; i < list.count; i++) {
            const DrawItem *item = &list.items[i];
            if (item->kind == DRAW_LINK) {
                uint32_t sheet = sheet_find(&desk.plan, item->text);
                assert_true(sheet != ID_NONE);
                assert_string_equal(number_in(&list, item),
                                    sheet_number(&desk.plan, &arena, sheet));
                times[sheet]++;
            }
            parts += item->kind == DRAW_TEXT && strncmp(item->text, "Part ", 5) == 0;
        }
        arena_free(&arena);
    }
    assert_int_equal(parts, part == 0 ? 0 : (count + part - 1) / part);
    for (uint32_t i = 0; i < desk.plan.count - desk.plan.front; i++) {
        assert_int_equal(times[i], each);
    }
    close_desk(&desk);
}

static void front_pages_have_roman_numbers(void **state) {
    (void)state;
    Arena arena = {0};
    static const struct {
        uint32_t number;
        const char *text;
    } KNOWN[] = {{1, "i"}, {4, "iv"}, {9, "ix"}, {14, "xiv"}, {40, "xl"}, {1994, "mcmxciv"}};
    for (size_t i = 0; i < sizeof KNOWN / sizeof *KNOWN; i++) {
        assert_string_equal(text_roman(&arena, KNOWN[i].number), KNOWN[i].text);
    }
    arena_free(&arena);
    Desk desk;
    open_desk(&desk, PAPER_A4);
    plan_book(&desk, 700, 1, 0);
    assert_true(desk.plan.front > 2);
    assert_string_equal(sheet_number(&desk.plan, &desk.arena, 0), "1");
    assert_string_equal(sheet_number(&desk.plan, &desk.arena, sheet_at(&desk.plan, 1)), "ii");
    assert_int_equal(sheet_at(&desk.plan, (uint32_t)desk.plan.front), 0);
    close_desk(&desk);
}

static void every_line_leads_to_its_sheet(void **state) {
    (void)state;
    static const size_t COUNTS[] = {0, 1, 40, 130, 700};
    for (size_t i = 0; i < sizeof COUNTS / sizeof *COUNTS; i++) {
        for (int paper = 0; paper < PAPER_COUNT; paper++) {
            check_book(COUNTS[i], 1, 0, (PaperSize)paper);
            check_book(COUNTS[i], 1, 7, (PaperSize)paper);
        }
    }
    check_book(300, 3, 11, PAPER_A3);
    check_book(2000, 1, 1, PAPER_A4); /* as many parts as sheets */
    check_book(500, 0, 0, PAPER_A3);  /* nothing begins anywhere */
}

/* Parts whose line would be the last of a column begin on the next: room for that is reserved, too.
 */
static void room_for_parts_is_reserved_at_every_length(void **state) {
    (void)state;
    for (size_t count = 1; count < 160; count++) {
        Desk desk;
        open_desk(&desk, PAPER_A4);
        plan_book(&desk, count, 1, 2);
        size_t lines = 0;
        for (uint32_t page = 0; page < desk.plan.front; page++) {
            Arena arena = {0};
            DrawList list;
            sheet_draw(&desk.plan, sheet_at(&desk.plan, page), &arena, false, &list);
            size_t here = 0;
            for (size_t i = 0; i < list.count; i++) {
                here += list.items[i].kind == DRAW_LINK;
            }
            assert_true(here > 0); /* no page too many */
            lines += here;
            arena_free(&arena);
        }
        assert_int_equal(lines, count + 1); /* and the contents' own */
        close_desk(&desk);
    }
}

static void long_titles_are_shortened_before_their_number(void **state) {
    (void)state;
    Desk desk;
    open_desk(&desk, PAPER_A4);
    add_sheets(&desk, 20, 1, 3);
    contents_plan(&desk.plan);
    char title[201];
    memset(title, 'M', 200);
    title[200] = '\0';
    desk.plan.sheets[5].begins = title;
    desk.plan.sheets[6].part = title;
    Arena arena = {0};
    DrawList list;
    draw_page(&desk, sheet_at(&desk.plan, 0), &arena, &list);
    arena_free(&arena);
    close_desk(&desk);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(front_pages_have_roman_numbers),
        cmocka_unit_test(every_line_leads_to_its_sheet),
        cmocka_unit_test(room_for_parts_is_reserved_at_every_length),
        cmocka_unit_test(long_titles_are_shortened_before_their_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
