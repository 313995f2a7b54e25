/* Overview of each board in the book: the boards at scale with nodes by name and branches by
 * number, below it what the numbers mean. What does not fit goes on, on further sheets. */
#include <math.h>

#include "base/text.h"
#include "base/units.h"
#include "draw/board_plot.h"
#include "draw/sheets.h"

#define BOARD_PART "Boards"
#define TITLE_MM 22.0 /* room of the words above the boards */
#define LIST_LINE_MM 4.4
#define LIST_GAP_MM 26.0 /* between boards and list: notes, and what was not lettered */
#define COLUMN_MM 85.0
#define NUMBER_MM 8.0 /* columns of the list: number, name, node, length */
#define NODE_MM 16.0
#define LENGTH_MM 16.0
#define FAR_MM 220.0  /* of a note from its thing */
#define BESIDE_MM 4.0 /* and without a leader */
#define LOST_LINES 4  /* above the list: what was not lettered */
#define LOST_LINE_MM 4.0
#define BOARDS_SHARE 0.62 /* of the field's height, at most, for the boards */

typedef struct BoardSheet {
    uint32_t board;
    uint32_t first; /* stub of the list */
    bool with_boards;
} BoardSheet;

typedef struct BoardPlan {
    BoardSheet *sheets;
    size_t count;
    size_t capacity;
} BoardPlan;

static double scale_of(const DrawView *view, const Board *board, DrawBox field) {
    double width_mm = board_pen_width_mm(view->boards, board);
    double height_mm = board_pen_height_mm(view->boards, board);
    double high_mm = (field.bottom_mm - field.top_mm) * BOARDS_SHARE - TITLE_MM;
    return fmin((field.right_mm - field.left_mm) / width_mm, high_mm / height_mm);
}

static uint32_t columns_of(DrawBox field) {
    return (uint32_t)fmax(1.0, floor((field.right_mm - field.left_mm) / COLUMN_MM));
}

/* Lines of the list that have room on a sheet, in each of its columns. */
static uint32_t lines_most(const DrawView *view, const Board *board, DrawBox field,
                           bool with_boards) {
    double boards_mm =
        with_boards ? TITLE_MM + LIST_GAP_MM +
                          board_pen_height_mm(view->boards, board) * scale_of(view, board, field)
                    : 0.0;
    double high_mm = field.bottom_mm - field.top_mm - boards_mm - LIST_LINE_MM;
    return (uint32_t)fmax(1.0, floor(high_mm / LIST_LINE_MM));
}

/* Lines of the part of the list that begins with stub `first`: as short as its columns allow. */
static uint32_t lines_of(const DrawView *view, const Board *board, DrawBox field, bool with_boards,
                         uint32_t first) {
    uint32_t columns = columns_of(field);
    uint32_t most = lines_most(view, board, field, with_boards);
    uint32_t needed = (board->stub_count - first + columns - 1) / columns;
    return needed < most ? needed : most;
}

/* It stands at the foot of the sheet, so that notes have room around the boards. */
static double list_top(DrawBox field, uint32_t lines) {
    return field.bottom_mm - LIST_LINE_MM * lines;
}

void board_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    BoardPlan *own = ARENA_NEW(plan->arena, BoardPlan);
    plan->kept[SHEET_BOARD] = own;
    if (view->boards == NULL) {
        return;
    }
    DrawBox field = sheet_field(view->paper);
    for (uint32_t i = 0; i < view->boards->count; i++) {
        const Board *board = &view->boards->boards[i];
        if (board->flat.piece_count == 0) {
            continue;
        }
        uint32_t first = 0;
        for (uint32_t number = 1; number == 1 || first < board->stub_count; number++) {
            const char *module = board_module(view, board);
            const char *name = number == 1
                                   ? arena_format(plan->arena, "board-%s", module)
                                   : arena_format(plan->arena, "board-%s-%u", module, number);
            const char *title =
                arena_format(plan->arena, "Board: %s%s", module,
                             number == 1 ? "" : arena_format(plan->arena, ", sheet %u", number));
            const char *scale = number == 1 ? arena_format(plan->arena, "1:%.1f",
                                                           1.0 / scale_of(view, board, field))
                                            : "list";
            sheet_add(plan, SHEET_BOARD, (uint32_t)own->count, BOARD_PART, name, title, scale);
            *ARENA_PUSH(plan->arena, own->sheets, own->count, own->capacity) =
                (BoardSheet){i, first, number == 1};
            first += columns_of(field) * lines_of(view, board, field, number == 1, first);
        }
    }
}

/* --- drawing ------------------------------------------------------------------------------------
 */

static void draw_words(DrawList *list, const DrawView *view, const Board *board, DrawBox field) {
    const Flat *flat = &board->flat;
    Arena *arena = list->arena;
    uint32_t boards = flat->columns * flat->rows;
    double width_mm = field.right_mm - field.left_mm;
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, field.left_mm, field.top_mm + 7.0,
                  (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
                  arena_format(arena, "Harness %s on %u board%s, %s", board_module(view, board),
                               boards, boards == 1 ? "" : "s", board_sight_words(board->sight)),
                  width_mm);
    DrawTextStyle note = {.height_mm = STYLE_NOTE_MM};
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, field.left_mm, field.top_mm + 13.0, note,
                  arena_format(arena,
                               "Boards of %.0f x %.0f mm, %u fold%s, %u turned branch%s, %.1f m of "
                               "branches. Not for building: draw board-%s-plot or -tiles at 1:1.",
                               view->boards->shop.board_length_mm,
                               view->boards->shop.board_width_mm, flat->folds,
                               flat->folds == 1 ? "" : "s", flat->turned,
                               flat->turned == 1 ? "" : "es", flat->path_mm / 1000.0,
                               board_module(view, board)),
                  width_mm);
}

/* Its number, just beyond its end where there is room. */
static bool note_stub(BoardPen *pen, uint32_t stub, double far_mm) {
    const Board *board = pen->board;
    uint32_t node = board->node_count + stub;
    const FlatNode *at = &board->flat.nodes[node];
    double depth_mm = board->tree.ends[node].depth_mm;
    double heading_rad =
        flat_leaving_rad(&board->tree, &board->flat, board->arm_count + stub, node) + UNITS_PI;
    return board_pen_note_beyond(pen,
                                 board_pen_at(pen, at->x_mm + depth_mm * cos(heading_rad),
                                              at->y_mm + depth_mm * sin(heading_rad)),
                                 -heading_rad, STYLE_NOTE_MM, false,
                                 arena_format(pen->list->arena, "%u", stub + 1), 0.4, far_mm);
}

static void draw_over(DrawList *list, const DrawView *view, const Board *board, DrawBox field) {
    double scale = scale_of(view, board, field);
    double high_mm = board_pen_height_mm(view->boards, board) * scale;
    BoardPen pen = {.list = list,
                    .view = view,
                    .board = board,
                    .scale = scale,
                    .zero = {field.left_mm, field.top_mm + TITLE_MM + high_mm},
                    .limits = {field.left_mm, field.top_mm + TITLE_MM - 3.5, field.right_mm,
                               list_top(field, lines_of(view, board, field, true, 0)) -
                                   LOST_LINES * LOST_LINE_MM - 3.0}};
    board_pen_boards(&pen);
    board_pen_arms(&pen, false);
    board_pen_ends(&pen);
    board_pen_nodes(&pen, false);
    for (uint32_t i = 0; i < board->node_count; i++) {
        const FlatNode *at = &board->flat.nodes[i];
        const HarnessNode *node =
            &view->harness->nodes[view->harness->harnesses[board->harness].node_first + i];
        if (node->kind != HARNESS_NODE_OPEN) {
            board_pen_note(&pen, board_pen_at(&pen, at->x_mm, at->y_mm), STYLE_NOTE_MM, true,
                           board_node_name(view->boards, board, i), 1.2, FAR_MM);
        }
    }
    board_pen_openings(&pen, STYLE_NOTE_MM);
    /* Those with room beside them first, so that no leader takes it. */
    bool *noted = ARENA_ARRAY(list->arena, bool, board->stub_count + 1);
    size_t lost = pen.lost_count;
    for (uint32_t i = 0; i < board->stub_count; i++) {
        noted[i] = note_stub(&pen, i, BESIDE_MM);
    }
    pen.lost_count = lost;
    for (uint32_t i = 0; i < board->stub_count; i++) {
        if (!noted[i]) {
            note_stub(&pen, i, FAR_MM);
        }
    }
    board_pen_write_lost(&pen,
                         (DrawPoint){field.left_mm, pen.limits.bottom_mm + STYLE_NOTE_MM + 1.0},
                         STYLE_NOTE_MM, field.right_mm - field.left_mm, LOST_LINES);
}

static void draw_list(DrawList *list, const DrawView *view, const Board *board, DrawBox field,
                      const BoardSheet *sheet) {
    uint32_t columns = columns_of(field);
    uint32_t lines = lines_of(view, board, field, sheet->with_boards, sheet->first);
    uint32_t room = lines * columns;
    double column_mm = (field.right_mm - field.left_mm) / columns;
    double top_mm = list_top(field, lines) + STYLE_NOTE_MM;
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM};
    DrawTextStyle right = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_RIGHT};
    for (uint32_t i = 0; i < room && sheet->first + i < board->stub_count; i++) {
        uint32_t stub = sheet->first + i;
        const FlatArm *arm = &board->tree.arms[board->arm_count + stub];
        uint32_t column = i / lines;
        double left_mm = field.left_mm + column_mm * column;
        double y_mm = top_mm + LIST_LINE_MM * (i % lines);
        double name_mm = column_mm - NUMBER_MM - NODE_MM - LENGTH_MM - 6.0;
        draw_layer(list, LAYER_TAG);
        draw_text(list, left_mm + NUMBER_MM - 2.0, y_mm, right,
                  arena_format(list->arena, "%u", stub + 1));
        draw_text_fit(list, left_mm + NUMBER_MM, y_mm, style, board->stubs[stub].name, name_mm);
        draw_layer(list, LAYER_NOTE);
        draw_text_fit(list, left_mm + NUMBER_MM + name_mm + 2.0, y_mm, style,
                      board_node_name(view->boards, board, arm->a), NODE_MM - 1.0);
        draw_text(list, left_mm + column_mm - 4.0, y_mm, right,
                  arena_format(list->arena, "%.0f mm", arm->length_mm));
    }
}

void board_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const BoardPlan *own = plan->kept[SHEET_BOARD];
    const BoardSheet *what = &own->sheets[sheet->index];
    const Board *board = &plan->view->boards->boards[what->board];
    if (what->with_boards) {
        draw_words(list, plan->view, board, field);
        draw_over(list, plan->view, board, field);
    }
    draw_list(list, plan->view, board, field, what);
}
