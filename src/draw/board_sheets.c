/* Boards in the book: what a builder looks at from where he stands (docs/style.md: letters of 3.5
 * mm). A harness on several boards has a sheet with all of them, on which breakouts are named; each
 * board has a sheet of its own, as large as the paper lets it be, with a number at every end and
 * below it what the numbers mean. Numbers run along the boards from left to right, so that the eye
 * finds them. What does not fit goes on, on further sheets. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "draw/board_plot.h"
#include "draw/sheets.h"

#define BOARD_PART "Boards"
#define TITLE_MM 22.0 /* room of the words above the boards */
#define LIST_LINE_MM 5.2
#define LIST_GAP_MM 14.0 /* between boards and list: notes, and what was not lettered */
#define SIDE_MM 3.0      /* beside the boards: bundles that go on end askew */
#define COLUMN_MM 110.0
#define NUMBER_MM 10.0 /* columns of the list: number, name, node, length */
#define NODE_MM 24.0
#define LENGTH_MM 18.0
#define FAR_MM 220.0        /* of a note from its thing */
#define BESIDE_MM 4.0       /* and without a leader */
#define ATTEMPTS 10u        /* to find places for all notes, */
#define ATTEMPT_NOTES 1500u /* with so many notes placed in all of them */
#define LOST_LINES 1        /* above the list: what was not lettered */
#define BOARDS_LEAST 0.55   /* of the height; a list that leaves less is on a sheet of its own */

typedef struct BoardSheet {
    uint32_t board;
    uint32_t column; /* of the one board it shows; all: FLAT_NONE */
    uint32_t row;
    uint32_t first; /* of its list: into BoardOrder.stubs; of all boards: into by_name */
    uint32_t end;   /* of all that its list is about */
    bool with_boards;
} BoardSheet;

/* Ends of a harness in the order of their numbers: board after board, from left to right. */
typedef struct BoardOrder {
    uint32_t *stubs;
    uint32_t *numbers;    /* by stub: place in stubs, from 1 */
    uint32_t *by_name;    /* stubs again */
    uint32_t *cell_first; /* by row and column, and one more */
} BoardOrder;

typedef struct BoardPlan {
    BoardSheet *sheets;
    size_t count;
    size_t capacity;
    BoardOrder *orders; /* by board */
} BoardPlan;

/* --- order --------------------------------------------------------------------------------------
 */

typedef struct Placed {
    uint32_t stub;
    uint32_t cell;
    FlatPoint at;
    const char *name;
} Placed;

static int by_place(const void *a, const void *b) {
    const Placed *x = a;
    const Placed *y = b;
    if (x->cell != y->cell) {
        return x->cell < y->cell ? -1 : 1;
    }
    if (x->at.x_mm != y->at.x_mm) {
        return x->at.x_mm < y->at.x_mm ? -1 : 1;
    }
    if (x->at.y_mm != y->at.y_mm) {
        return x->at.y_mm > y->at.y_mm ? -1 : 1;
    }
    return x->stub < y->stub ? -1 : x->stub > y->stub;
}

static int by_name(const void *a, const void *b) {
    const Placed *x = a;
    const Placed *y = b;
    int order = strcmp(x->name, y->name);
    return order != 0 ? order : x->stub < y->stub ? -1 : x->stub > y->stub;
}

static BoardOrder order_of(Arena *arena, const DrawView *view, const Board *board) {
    Arena scratch = {0};
    uint32_t cells = board->flat.columns * board->flat.rows;
    Placed *placed = ARENA_ARRAY(&scratch, Placed, board->stub_count + 1);
    BoardOrder order = {.stubs = ARENA_ARRAY(arena, uint32_t, board->stub_count + 1),
                        .numbers = ARENA_ARRAY(arena, uint32_t, board->stub_count + 1),
                        .by_name = ARENA_ARRAY(arena, uint32_t, board->stub_count + 1),
                        .cell_first = ARENA_ARRAY(arena, uint32_t, cells + 1)};
    for (uint32_t i = 0; i < board->stub_count; i++) {
        const FlatNode *at = &board->flat.nodes[board->node_count + i];
        uint32_t column;
        uint32_t row;
        placed[i] = (Placed){.stub = i, .at = {at->x_mm, at->y_mm}, .name = board->stubs[i].name};
        board_pen_cell(view->boards, board, placed[i].at, &column, &row);
        placed[i].cell = row * board->flat.columns + column;
    }
    if (board->stub_count > 1) {
        qsort(placed, board->stub_count, sizeof *placed, by_place);
    }
    for (uint32_t i = 0; i < board->stub_count; i++) {
        order.stubs[i] = placed[i].stub;
        order.numbers[placed[i].stub] = i + 1;
        for (uint32_t cell = placed[i].cell + 1; cell <= cells; cell++) {
            order.cell_first[cell]++;
        }
    }
    if (board->stub_count > 1) {
        qsort(placed, board->stub_count, sizeof *placed, by_name);
    }
    for (uint32_t i = 0; i < board->stub_count; i++) {
        order.by_name[i] = placed[i].stub;
    }
    arena_free(&scratch);
    return order;
}

/* --- plan ---------------------------------------------------------------------------------------
 */

static uint32_t boards_of(const Board *board) {
    return board->flat.columns * board->flat.rows;
}

static uint32_t columns_of(DrawBox field) {
    return (uint32_t)fmax(1.0, floor((field.right_mm - field.left_mm) / COLUMN_MM));
}

/* Lines of the list from its entry `first` on. */
static uint32_t lines_wanted(const BoardSheet *sheet, DrawBox field) {
    uint32_t columns = columns_of(field);
    return (sheet->end - sheet->first + columns - 1) / columns;
}

/* Height that is left for boards and their list. */
static double room_mm(DrawBox field) {
    return field.bottom_mm - field.top_mm - TITLE_MM - LIST_GAP_MM;
}

/* Whether the list of a sheet with boards is too long to stand below them. */
static bool list_apart(const BoardSheet *sheet, DrawBox field) {
    return sheet->with_boards &&
           lines_wanted(sheet, field) * LIST_LINE_MM > (1.0 - BOARDS_LEAST) * room_mm(field);
}

/* As large as the field and the list below allow. */
static double scale_of(const DrawView *view, const Board *board, const BoardSheet *sheet,
                       DrawBox field) {
    const FlatShop *shop = &view->boards->shop;
    bool all = sheet->column == FLAT_NONE;
    double width_mm = all ? board_pen_width_mm(view->boards, board) : shop->board_length_mm;
    double height_mm = all ? board_pen_height_mm(view->boards, board) : shop->board_width_mm;
    double list_mm = list_apart(sheet, field) ? 0.0 : lines_wanted(sheet, field) * LIST_LINE_MM;
    return fmin((field.right_mm - field.left_mm - 2.0 * SIDE_MM) / width_mm,
                (room_mm(field) - list_mm) / height_mm);
}

/* Lines of the list on this sheet: as many as have room, as short as its columns allow. */
static uint32_t lines_of(const BoardSheet *sheet, DrawBox field) {
    uint32_t wanted = lines_wanted(sheet, field);
    if (sheet->with_boards) {
        return list_apart(sheet, field) ? 0 : wanted;
    }
    double high_mm = field.bottom_mm - field.top_mm - TITLE_MM;
    uint32_t most = (uint32_t)fmax(1.0, floor(high_mm / LIST_LINE_MM));
    return wanted < most ? wanted : most;
}

/* It stands at the foot of a sheet with boards, so that notes have room around them. */
static double list_top(const BoardSheet *sheet, DrawBox field, uint32_t lines) {
    return sheet->with_boards ? field.bottom_mm - LIST_LINE_MM * lines : field.top_mm + TITLE_MM;
}

static const char *title_of(Arena *arena, const DrawView *view, const Board *board,
                            const BoardSheet *sheet) {
    const char *module = board_module(view, board);
    if (sheet->column == FLAT_NONE || boards_of(board) == 1) {
        return arena_format(arena, "Board: %s%s", module, sheet->with_boards ? "" : ", ends");
    }
    return arena_format(arena, "Board: %s, board %u of %u%s", module,
                        sheet->row * board->flat.columns + sheet->column + 1, boards_of(board),
                        sheet->with_boards ? "" : ", ends");
}

static void add_sheet(SheetPlan *plan, BoardPlan *own, BoardSheet sheet, uint32_t *number) {
    const DrawView *view = plan->view;
    const Board *board = &view->boards->boards[sheet.board];
    const char *module = board_module(view, board);
    const char *name = *number == 0 ? arena_format(plan->arena, "board-%s", module)
                                    : arena_format(plan->arena, "board-%s-%u", module, *number + 1);
    const char *scale =
        sheet.with_boards
            ? arena_format(plan->arena, "1:%.1f",
                           1.0 / scale_of(view, board, &sheet, sheet_field(view->paper)))
            : "list";
    ++*number;
    sheet_add(plan, SHEET_BOARD, (uint32_t)own->count, BOARD_PART, name,
              title_of(plan->arena, view, board, &sheet), scale);
    *ARENA_PUSH(plan->arena, own->sheets, own->count, own->capacity) = sheet;
}

/* A sheet and those on which its list goes on. */
static void add_sheets(SheetPlan *plan, BoardPlan *own, BoardSheet sheet, uint32_t *number) {
    DrawBox field = sheet_field(plan->view->paper);
    do {
        add_sheet(plan, own, sheet, number);
        sheet.first += columns_of(field) * lines_of(&sheet, field);
        sheet.with_boards = false;
    } while (sheet.first < sheet.end);
}

void board_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    BoardPlan *own = ARENA_NEW(plan->arena, BoardPlan);
    plan->kept[SHEET_BOARD] = own;
    if (view->boards == NULL) {
        return;
    }
    own->orders = ARENA_ARRAY(plan->arena, BoardOrder, view->boards->count + 1);
    for (uint32_t i = 0; i < view->boards->count; i++) {
        const Board *board = &view->boards->boards[i];
        uint32_t number = 0;
        if (board->flat.piece_count == 0) {
            continue;
        }
        own->orders[i] = order_of(plan->arena, view, board);
        if (boards_of(board) > 1) {
            add_sheets(
                plan, own,
                (BoardSheet){
                    .board = i, .column = FLAT_NONE, .end = board->stub_count, .with_boards = true},
                &number);
        }
        for (uint32_t cell = 0; cell < boards_of(board); cell++) {
            add_sheets(plan, own,
                       (BoardSheet){.board = i,
                                    .column = cell % board->flat.columns,
                                    .row = cell / board->flat.columns,
                                    .first = own->orders[i].cell_first[cell],
                                    .end = own->orders[i].cell_first[cell + 1],
                                    .with_boards = true},
                       &number);
        }
    }
}

/* --- notes --------------------------------------------------------------------------------------
 */

/* A note that is still to be put somewhere. */
typedef struct Note {
    DrawPoint anchor;
    double toward_rad; /* NAN: anywhere */
    double near_mm;
    bool bold;
    const char *text;
} Note;

typedef struct Notes {
    Note *rows;
    size_t count;
    size_t capacity;
} Notes;

/* Its number, just beyond its end where there is room. */
static void note_end(const BoardPen *pen, uint32_t stub, uint32_t number, Notes *notes) {
    const Board *board = pen->board;
    Arena *arena = pen->list->arena;
    uint32_t node = board->node_count + stub;
    const FlatNode *at = &board->flat.nodes[node];
    double depth_mm = board->tree.ends[node].depth_mm;
    double heading_rad =
        flat_leaving_rad(&board->tree, &board->flat, board->arm_count + stub, node) + UNITS_PI;
    *ARENA_PUSH(arena, notes->rows, notes->count, notes->capacity) =
        (Note){.anchor = board_pen_at(pen, at->x_mm + depth_mm * cos(heading_rad),
                                      at->y_mm + depth_mm * sin(heading_rad)),
               .toward_rad = -heading_rad,
               .near_mm = 0.6,
               .text = arena_format(arena, "%u", number)};
}

/* "C05-A01" of "C05-A01 at A01": the place says nothing more. */
static const char *short_name(Arena *arena, const char *name) {
    const char *at = strstr(name, " at ");
    return at == NULL ? name : arena_text(arena, name, (size_t)(at - name));
}

/* The name of a node or of a stub's end; of an opened arm's the place it is closed at, after those
 * words. */
static const char *node_words(const BoardPen *pen, uint32_t node, const char *open) {
    const HarnessSet *harness = pen->view->harness;
    const Harness *own = &harness->harnesses[pen->board->harness];
    if (node < pen->board->node_count &&
        harness->nodes[own->node_first + node].kind == HARNESS_NODE_OPEN) {
        for (uint32_t i = 0; i < own->opening_count; i++) {
            const HarnessOpening *opening = &harness->openings[own->opening_first + i];
            if (opening->open == own->node_first + node) {
                return arena_format(pen->list->arena, "%s %s", open, opening->name);
            }
        }
        return "";
    }
    return short_name(pen->list->arena, board_node_name(pen->view->boards, pen->board, node));
}

static void note_node(const BoardPen *pen, uint32_t node, Notes *notes) {
    const FlatNode *at = &pen->board->flat.nodes[node];
    Arena *arena = pen->list->arena;
    if (!board_pen_shows(pen, (FlatPoint){at->x_mm, at->y_mm})) {
        return;
    }
    const char *text = node_words(pen, node, "close on aircraft at");
    if (*text != '\0') {
        *ARENA_PUSH(arena, notes->rows, notes->count, notes->capacity) =
            (Note){.anchor = board_pen_at(pen, at->x_mm, at->y_mm),
                   .toward_rad = (double)NAN,
                   .near_mm = 1.4,
                   .bold = true,
                   .text = text};
    }
}

/* Where an arm goes on, on another board. */
static void note_exits(const BoardPen *pen, Notes *notes) {
    const Board *board = pen->board;
    Arena *arena = pen->list->arena;
    for (uint32_t i = 0; i < board->flat.piece_count && pen->alone; i++) {
        FlatPiece cut = board->flat.pieces[i];
        const FlatPiece whole = cut;
        if (cut.turn_per_mm != 0.0 || !board_pen_cut(pen, &cut)) {
            continue;
        }
        const FlatPoint ends[2] = {{cut.x_mm, cut.y_mm}, flat_piece_at(&cut, cut.length_mm, NULL)};
        const FlatPoint wholes[2] = {{whole.x_mm, whole.y_mm},
                                     flat_piece_at(&whole, whole.length_mm, NULL)};
        for (int end = 0; end < 2; end++) {
            if (hypot(ends[end].x_mm - wholes[end].x_mm, ends[end].y_mm - wholes[end].y_mm) <
                1e-6) {
                continue;
            }
            const FlatArm *arm = &board->tree.arms[whole.arm];
            uint32_t column;
            uint32_t row;
            board_pen_cell(pen->view->boards, board, wholes[end], &column, &row);
            *ARENA_PUSH(arena, notes->rows, notes->count, notes->capacity) = (Note){
                .anchor = board_pen_at(pen, ends[end].x_mm, ends[end].y_mm),
                .toward_rad = (double)NAN,
                .near_mm = 1.4,
                .text = arena_format(arena, "to %s, board %u",
                                     node_words(pen, end == 0 ? arm->a : arm->b, "the open end at"),
                                     row * board->flat.columns + column + 1)};
        }
    }
}

/* Puts all notes somewhere: those that found no place before with leaders first, then those with
 * room beside their things, so that no leader takes it, then the rest. Returns how many found none;
 * they become urgent. */
static size_t place_notes(BoardPen *pen, const Notes *notes, double height_mm, bool *urgent) {
    bool *placed = ARENA_ARRAY(pen->list->arena, bool, notes->count + 1);
    size_t lost = pen->lost_count;
    for (int round = 0; round < 3; round++) {
        pen->lost_count = lost;
        for (size_t i = 0; i < notes->count; i++) {
            const Note *note = &notes->rows[i];
            if (!placed[i] && (round > 0 || urgent[i])) {
                placed[i] = board_pen_note_beyond(pen, note->anchor, note->toward_rad, height_mm,
                                                  note->bold, note->text, note->near_mm,
                                                  round == 1 ? BESIDE_MM : FAR_MM);
            }
        }
    }
    for (size_t i = 0; i < notes->count; i++) {
        urgent[i] = urgent[i] || !placed[i];
    }
    return pen->lost_count - lost;
}

/* What was put somewhere since is taken away again. */
static void take_back(BoardPen *pen, const BoardPen *before, const DrawList *list) {
    pen->stroke_count = before->stroke_count;
    pen->text_count = before->text_count;
    pen->leader_count = before->leader_count;
    pen->lost_count = before->lost_count;
    pen->list->count = list->count;
    pen->list->point_count = list->point_count;
}

/* Where none found a place for all, small letters are tried: they are read less easily, but where
 * they belong. */
static void write_notes(BoardPen *pen, const Notes *notes) {
    Arena *arena = pen->list->arena;
    DrawPoint *anchors = ARENA_ARRAY(arena, DrawPoint, notes->count + 1);
    for (size_t i = 0; i < notes->count; i++) {
        anchors[i] = notes->rows[i].anchor;
    }
    pen->anchors = anchors;
    pen->anchor_count = notes->count;
    const BoardPen before = *pen;
    const DrawList list = *pen->list;
    size_t attempts = ATTEMPT_NOTES / (notes->count + 1);
    attempts = attempts < 2 ? 2 : attempts > ATTEMPTS ? ATTEMPTS : attempts;
    size_t least = SIZE_MAX;
    double best_mm = STYLE_VALUE_MM;
    bool *best = NULL;
    for (int size = 0; size < 2 && least > 0; size++) {
        bool *urgent = ARENA_ARRAY(arena, bool, notes->count + 1);
        double height_mm = size == 0 ? STYLE_VALUE_MM : STYLE_NOTE_MM;
        for (size_t attempt = 0; attempt < attempts && least > 0; attempt++) {
            bool *tried = ARENA_ARRAY(arena, bool, notes->count + 1);
            memcpy(tried, urgent, notes->count * sizeof *tried);
            size_t lost = place_notes(pen, notes, height_mm, urgent);
            if (lost < least) {
                least = lost;
                best = tried;
                best_mm = height_mm;
            }
            take_back(pen, &before, &list);
        }
    }
    place_notes(pen, notes, best_mm, best);
}

/* --- drawing ------------------------------------------------------------------------------------
 */

static void draw_words(DrawList *list, const DrawView *view, const Board *board,
                       const BoardSheet *sheet, DrawBox field) {
    const Flat *flat = &board->flat;
    Arena *arena = list->arena;
    uint32_t boards = boards_of(board);
    double width_mm = field.right_mm - field.left_mm;
    const char *which = sheet->column == FLAT_NONE || boards == 1
                            ? arena_format(arena, "on %u board%s", boards, boards == 1 ? "" : "s")
                            : arena_format(arena, "on board %u of %u",
                                           sheet->row * flat->columns + sheet->column + 1, boards);
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, field.left_mm, field.top_mm + 7.0,
                  (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
                  arena_format(arena, "Harness %s %s, %s", board_module(view, board), which,
                               board_sight_words(board->sight)),
                  width_mm);
    DrawTextStyle note = {.height_mm = STYLE_NOTE_MM};
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(
        list, field.left_mm, field.top_mm + 13.0, note,
        arena_format(arena,
                     "Not for building: draw board-%s-plot or -tiles at 1:1. %s Boards of "
                     "%.0f x %.0f mm, %u fold%s, %u turned branch%s, %.1f m of branches.",
                     board_module(view, board),
                     sheet->column == FLAT_NONE ? "Ends are numbered on the sheets of the boards."
                                                : "Ends are numbered from left to right.",
                     view->boards->shop.board_length_mm, view->boards->shop.board_width_mm,
                     flat->folds, flat->folds == 1 ? "" : "s", flat->turned,
                     flat->turned == 1 ? "" : "es", flat->path_mm / 1000.0),
        width_mm);
}

/* Names of the boards, at the lower left of each. */
static void name_boards(BoardPen *pen, const BoardOrder *order) {
    const FlatShop *shop = &pen->view->boards->shop;
    const Flat *flat = &pen->board->flat;
    for (uint32_t cell = 0; cell < boards_of(pen->board); cell++) {
        uint32_t from = order->cell_first[cell];
        uint32_t to = order->cell_first[cell + 1];
        uint32_t column = cell % flat->columns;
        uint32_t row = cell / flat->columns;
        DrawPoint corner = board_pen_at(pen, column * (shop->board_length_mm + shop->gap_mm),
                                        row * (shop->board_width_mm + shop->gap_mm));
        DrawTextStyle style = {.height_mm = STYLE_VALUE_MM, .bold = true};
        draw_layer(pen->list, LAYER_TAG);
        board_pen_text(pen, (DrawPoint){corner.x_mm + 2.0, corner.y_mm + STYLE_VALUE_MM + 3.0},
                       style,
                       from == to ? arena_format(pen->list->arena, "board %u: no ends", cell + 1)
                                  : arena_format(pen->list->arena, "board %u: ends %u to %u",
                                                 cell + 1, from + 1, to));
    }
}

static void draw_over(DrawList *list, const DrawView *view, const Board *board,
                      const BoardOrder *order, const BoardSheet *sheet, DrawBox field) {
    const FlatShop *shop = &view->boards->shop;
    double scale = scale_of(view, board, sheet, field);
    bool all = sheet->column == FLAT_NONE;
    double width_mm =
        (all ? board_pen_width_mm(view->boards, board) : shop->board_length_mm) * scale;
    double high_mm =
        (all ? board_pen_height_mm(view->boards, board) : shop->board_width_mm) * scale;
    FlatPoint low = {all ? 0.0 : sheet->column * (shop->board_length_mm + shop->gap_mm),
                     all ? 0.0 : sheet->row * (shop->board_width_mm + shop->gap_mm)};
    double left_mm = (field.left_mm + field.right_mm - width_mm) / 2.0;
    BoardPen pen = {
        .list = list,
        .view = view,
        .board = board,
        .scale = scale,
        .zero = {left_mm - scale * low.x_mm, field.top_mm + TITLE_MM + high_mm + scale * low.y_mm},
        .alone = !all,
        .column = sheet->column,
        .row = sheet->row,
        .limits = {field.left_mm, field.top_mm + TITLE_MM - 3.5, field.right_mm,
                   list_top(sheet, field, lines_of(sheet, field)) - LOST_LINES * LIST_LINE_MM -
                       2.0}};
    Notes notes = {0};
    board_pen_boards(&pen);
    board_pen_arms(&pen, false);
    board_pen_ends(&pen);
    board_pen_nodes(&pen, false);
    if (all) {
        name_boards(&pen, order);
    } else {
        for (uint32_t i = sheet->first; i < sheet->end; i++) {
            note_end(&pen, order->stubs[i], i + 1, &notes);
        }
    }
    for (uint32_t i = 0; i < board->node_count; i++) {
        note_node(&pen, i, &notes);
    }
    note_exits(&pen, &notes);
    write_notes(&pen, &notes);
    board_pen_write_lost(&pen,
                         (DrawPoint){field.left_mm, pen.limits.bottom_mm + STYLE_VALUE_MM + 1.0},
                         STYLE_VALUE_MM, field.right_mm - field.left_mm, LOST_LINES);
}

/* The board on which an end lies that stands there in the order. */
static uint32_t cell_of(const BoardOrder *order, uint32_t place) {
    uint32_t cell = 0;
    while (order->cell_first[cell + 1] <= place) {
        cell++;
    }
    return cell;
}

/* The ends of a board by their numbers; those of all boards by name. */
static void draw_list(DrawList *list, const DrawView *view, const Board *board,
                      const BoardOrder *order, const BoardSheet *sheet, DrawBox field) {
    uint32_t columns = columns_of(field);
    uint32_t lines = lines_of(sheet, field);
    double column_mm = (field.right_mm - field.left_mm) / columns;
    double top_mm = list_top(sheet, field, lines) + STYLE_VALUE_MM;
    DrawTextStyle style = {.height_mm = STYLE_VALUE_MM};
    DrawTextStyle bold = {.height_mm = STYLE_VALUE_MM, .align = ALIGN_RIGHT, .bold = true};
    DrawTextStyle right = {.height_mm = STYLE_VALUE_MM, .align = ALIGN_RIGHT};
    for (uint32_t i = 0; i < lines * columns && sheet->first + i < sheet->end; i++) {
        bool all = sheet->column == FLAT_NONE;
        uint32_t stub = (all ? order->by_name : order->stubs)[sheet->first + i];
        uint32_t number = order->numbers[stub];
        const FlatArm *arm = &board->tree.arms[board->arm_count + stub];
        uint32_t column = i / lines;
        double left_mm = field.left_mm + column_mm * column;
        double y_mm = top_mm + LIST_LINE_MM * (i % lines);
        double name_mm = column_mm - NUMBER_MM - NODE_MM - LENGTH_MM - 5.0;
        draw_layer(list, LAYER_TAG);
        draw_text(list, left_mm + NUMBER_MM - 2.5, y_mm, bold,
                  arena_format(list->arena, "%u", number));
        draw_text_fit(list, left_mm + NUMBER_MM, y_mm, style, board->stubs[stub].name, name_mm);
        draw_layer(list, LAYER_NOTE);
        draw_text_fit(list, left_mm + NUMBER_MM + name_mm + 2.0, y_mm, style,
                      short_name(list->arena, board_node_name(view->boards, board, arm->a)),
                      NODE_MM - 1.0);
        draw_text(list, left_mm + column_mm - 4.0, y_mm, right,
                  all ? arena_format(list->arena, "board %u", cell_of(order, number - 1) + 1)
                      : arena_format(list->arena, "%.0f mm", arm->length_mm));
    }
}

void board_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const BoardPlan *own = plan->kept[SHEET_BOARD];
    const BoardSheet *what = &own->sheets[sheet->index];
    const Board *board = &plan->view->boards->boards[what->board];
    const BoardOrder *order = &own->orders[what->board];
    draw_words(list, plan->view, board, what, field);
    if (what->with_boards) {
        draw_over(list, plan->view, board, order, what, field);
    }
    draw_list(list, plan->view, board, order, what, field);
}
