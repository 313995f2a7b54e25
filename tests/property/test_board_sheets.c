/* Sheets of boards as a builder reads them, on every paper: each end of a harness has its number
 * once and a line of that number in a list, leaders cross no leader, nothing was left without a
 * place, and on the larger papers all of it is in letters that are read from 60 cm. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/text.h"
#include "board/board.h"
#include "support/drawn.h"

#define ENDS_MOST 512u

/* What is on all sheets of a harness's boards. */
typedef struct Seen {
    uint32_t noted[ENDS_MOST];  /* by number: beside its end */
    uint32_t listed[ENDS_MOST]; /* in the list of its board */
    uint32_t leaders;
    uint32_t crossings;
    uint32_t lost;
    double least_mm; /* of a letter of a note */
} Seen;

static double side_of(DrawPoint a, DrawPoint b, DrawPoint p) {
    return (b.x_mm - a.x_mm) * (p.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (p.x_mm - a.x_mm);
}

static bool cross(const DrawPoint a[2], const DrawPoint b[2]) {
    return side_of(a[0], a[1], b[0]) * side_of(a[0], a[1], b[1]) < 0.0 &&
           side_of(b[0], b[1], a[0]) * side_of(b[0], b[1], a[1]) < 0.0;
}

static bool is_leader(const DrawItem *item) {
    return item->kind == DRAW_PATH && item->layer == LAYER_NOTE && item->point_count == 2;
}

/* A text that is a number and nothing else; 0. */
static uint32_t number_of(const char *text) {
    return strspn(text, "0123456789") == strlen(text) ? (uint32_t)strtoul(text, NULL, 10) : 0;
}

/* `alone`: a sheet of one board, not of all. On small paper that of all may list a node by its
 * place instead of naming it there: the board's own sheet names it. */
static void look(const DrawList *list, bool alone, bool large, Seen *seen) {
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (is_leader(item)) {
            seen->leaders++;
            for (size_t k = 0; k < i; k++) {
                const DrawItem *other = &list->items[k];
                seen->crossings +=
                    is_leader(other) && cross(draw_points(list, item), draw_points(list, other))
                        ? 1
                        : 0;
            }
        }
        if (item->kind != DRAW_TEXT) {
            continue;
        }
        seen->lost += (alone || large) && strncmp(item->text, "No room", 7) == 0 ? 1 : 0;
        if (item->layer == LAYER_TAG && item->height_mm < seen->least_mm) {
            seen->least_mm = item->height_mm;
        }
        uint32_t number = item->layer == LAYER_TAG ? number_of(item->text) : 0;
        assert_true(number < ENDS_MOST);
        if (number > 0 && alone) {
            (item->bold ? seen->listed : seen->noted)[number]++;
        }
    }
}

static void check_board(const SheetPlan *plan, const char *module, const Board *board, bool large) {
    Arena arena = {0};
    Seen seen = {.least_mm = 100.0};
    bool several = board->flat.columns * board->flat.rows > 1;
    size_t length = strlen(module);
    for (uint32_t i = 0; i < plan->count; i++) {
        const Sheet *sheet = &plan->sheets[i];
        const char *rest = sheet->title + strlen("Board: ") + length;
        if (sheet->kind != SHEET_BOARD ||
            strncmp(sheet->title + strlen("Board: "), module, length) != 0 ||
            (*rest != '\0' && *rest != ',')) {
            continue;
        }
        DrawList list;
        sheet_draw(plan, i, &arena, false, &list);
        look(&list, !several || strstr(sheet->title, ", board ") != NULL, large, &seen);
    }
    for (uint32_t number = 1; number <= board->stub_count; number++) {
        assert_int_equal(seen.noted[number], 1);
        assert_int_equal(seen.listed[number], 1);
    }
    assert_int_equal(seen.noted[board->stub_count + 1], 0);
    assert_int_equal(seen.crossings, 0);
    assert_int_equal(seen.lost, 0);
    assert_true(seen.least_mm >= (large ? STYLE_VALUE_MM : STYLE_NOTE_MM));
    print_message("%s: %u ends, %u leaders, letters of %.1f mm\n", module, board->stub_count,
                  seen.leaders, seen.least_mm);
    arena_free(&arena);
}

static void check_paper(DrawnShop *shop, const char *paper, bool large) {
    for (size_t job = 0; job < DRAWN_JOBS; job++) {
        Arena arena = {0};
        DrawView view;
        SheetPlan plan;
        Findings findings;
        drawn_plan(shop, job, &(DrawChoice){.paper = paper}, &arena, &view, &plan, &findings);
        assert_non_null(view.boards);
        uint32_t boards = 0;
        for (uint32_t i = 0; i < view.boards->count; i++) {
            const Board *board = &view.boards->boards[i];
            if (board->flat.piece_count > 0) {
                uint32_t module = view.harness->harnesses[board->harness].module;
                check_board(&plan, view.set->module.rows[module].module, board, large);
                boards++;
            }
        }
        assert_true(boards >= 3);
        arena_free(&arena);
    }
}

static void boards_are_read_on_a3(void **state) {
    check_paper(*state, "A3", true);
}

static void boards_are_read_on_tabloid(void **state) {
    check_paper(*state, "Tabloid", true);
}

static void boards_are_read_on_a4(void **state) {
    check_paper(*state, "A4", false);
}

static void boards_are_read_on_letter(void **state) {
    check_paper(*state, "Letter", false);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(boards_are_read_on_a3),
        cmocka_unit_test(boards_are_read_on_tabloid),
        cmocka_unit_test(boards_are_read_on_a4),
        cmocka_unit_test(boards_are_read_on_letter),
    };
    return cmocka_run_group_tests(tests, drawn_set_up, drawn_tear_down);
}
