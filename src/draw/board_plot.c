#include "draw/board_plot.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"

#define RIM_LEFT_MM 40.0 /* around the boards, for scale bars and words */
#define RIM_RIGHT_MM 25.0
#define RIM_TOP_MM 45.0
#define RIM_BOTTOM_MM 40.0
#define BAR_MM 1000.0
#define BAR_STEP_MM 100.0
#define TILE_EDGE_MM 10.0
#define TILE_OVERLAP_MM 16.0
#define TILE_STRIP_MM 8.0 /* words below the window */
#define PLOT_OVERLAP_MM 40.0
#define MARK_MM 5.0 /* half a register mark */

const char *board_module(const DrawView *view, const Board *board) {
    return view->set->module.rows[view->harness->harnesses[board->harness].module].module;
}

/* --- words around the boards --------------------------------------------------------------------
 */

static void draw_bar(BoardPen *pen, DrawPoint from, bool up, double length_mm) {
    DrawPoint to = {from.x_mm + (up ? 0.0 : length_mm), from.y_mm - (up ? length_mm : 0.0)};
    draw_layer(pen->list, LAYER_BOARD);
    board_pen_line(pen, from, to, STYLE_MEDIUM_MM);
    for (int i = 0; i * BAR_STEP_MM <= length_mm + 0.001; i++) {
        double at_mm = i * BAR_STEP_MM;
        double tick_mm = i % 10 == 0 || i * BAR_STEP_MM + 0.001 > length_mm ? 6.0 : 3.0;
        DrawPoint a = {from.x_mm + (up ? 0.0 : at_mm), from.y_mm - (up ? at_mm : 0.0)};
        DrawPoint b = {a.x_mm - (up ? tick_mm : 0.0), a.y_mm + (up ? 0.0 : tick_mm)};
        board_pen_line(pen, a, b, STYLE_MEDIUM_MM);
    }
    const char *text =
        arena_format(pen->list->arena, "scale bar %.0f mm: measure it on the paper, %.0f +/- 1",
                     length_mm, length_mm);
    DrawTextStyle style = {.height_mm = STYLE_VALUE_MM, .turned = up};
    DrawPoint at = up ? (DrawPoint){from.x_mm - 9.0, from.y_mm - 30.0}
                      : (DrawPoint){from.x_mm + 30.0, from.y_mm + 12.5};
    board_pen_text(pen, at, style, text);
}

static void draw_datum(BoardPen *pen) {
    DrawPoint zero = board_pen_at(pen, 0.0, 0.0);
    draw_layer(pen->list, LAYER_BOARD);
    draw_circle(pen->list, zero.x_mm, zero.y_mm, 5.0, STYLE_MEDIUM_MM);
    board_pen_line(pen, (DrawPoint){zero.x_mm - 8.0, zero.y_mm},
                   (DrawPoint){zero.x_mm + 8.0, zero.y_mm}, STYLE_THIN_MM);
    board_pen_line(pen, (DrawPoint){zero.x_mm, zero.y_mm - 8.0},
                   (DrawPoint){zero.x_mm, zero.y_mm + 8.0}, STYLE_THIN_MM);
    draw_layer(pen->list, LAYER_TAG);
    board_pen_text(pen, (DrawPoint){zero.x_mm - 34.0, zero.y_mm + 16.0},
                   (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true}, "datum");
}

static void draw_heading(BoardPen *pen) {
    const DrawView *view = pen->view;
    const JobRow *job = &view->set->job.rows[0];
    const FlatShop *shop = &view->boards->shop;
    Arena *arena = pen->list->arena;
    draw_layer(pen->list, LAYER_TAG);
    board_pen_text(
        pen, (DrawPoint){RIM_LEFT_MM, 14.0},
        (DrawTextStyle){.height_mm = STYLE_TITLE_MM, .bold = true},
        arena_format(arena,
                     "%s harness %s: board 1:1, %s. Do not mirror: if this reads backwards, "
                     "do not build on it",
                     job->job, board_module(view, pen->board),
                     board_sight_words(pen->board->sight)));
    board_pen_text(
        pen, (DrawPoint){RIM_LEFT_MM, 23.0}, (DrawTextStyle){.height_mm = STYLE_VALUE_MM},
        arena_format(
            arena,
            "%s, revision %s (%.8s), marling %s. %u board%s of %.0f x %.0f mm, gap %.0f. "
            "Cross: nail. Stroke across: tie, at most %.0f mm apart. Small frame: clamp of "
            "the aircraft.",
            job->title, *job->revision == '\0' ? "-" : job->revision, view->hash, view->version,
            pen->board->flat.columns * pen->board->flat.rows,
            pen->board->flat.columns * pen->board->flat.rows == 1 ? "" : "s", shop->board_length_mm,
            shop->board_width_mm, shop->gap_mm, view->boards->tie_mm));
    board_pen_text(
        pen, (DrawPoint){RIM_LEFT_MM, 30.0}, (DrawTextStyle){.height_mm = STYLE_VALUE_MM},
        arena_format(arena,
                     "Connectors: mating face away from the branch, wire side towards it; %.0f mm "
                     "kept free around them. Lengths in mm along the middle line; behind + the way "
                     "from the trunk's beginning.",
                     shop->hand_mm));
    board_pen_text(pen, (DrawPoint){RIM_LEFT_MM, 37.0}, (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
                   sheet_caution());
}

/* --- notes on arms ------------------------------------------------------------------------------
 */

static DrawPoint arm_middle(const BoardPen *pen, uint32_t arm) {
    FlatPoint at =
        flat_arm_at(&pen->board->flat, arm, pen->board->tree.arms[arm].length_mm / 2.0, NULL);
    return board_pen_at(pen, at.x_mm, at.y_mm);
}

static const char *sleeve_words(const BoardPen *pen, uint32_t arm) {
    const DrawView *view = pen->view;
    const Harness *own = &view->harness->harnesses[pen->board->harness];
    if (arm >= pen->board->arm_count || view->fits == NULL) {
        return "";
    }
    SegmentId segment = view->harness->arms[own->arm_first + arm].segment;
    const BundleFit *fit = &view->fits->bundles[segment];
    if (fit->wire_count == 0 || fit->shrink == ID_NONE) {
        return "";
    }
    return arena_format(pen->list->arena, ", %s", view->set->sleeve.rows[fit->shrink].sleeve);
}

static void note_names(BoardPen *pen) {
    const Board *board = pen->board;
    for (uint32_t node = 0; node < board->node_count; node++) {
        const FlatNode *at = &board->flat.nodes[node];
        board_pen_note(pen, board_pen_at(pen, at->x_mm, at->y_mm), STYLE_TAG_MM, true,
                       board_node_name(pen->view->boards, board, node), 8.0, 200.0);
    }
    for (uint32_t i = 0; i < board->stub_count; i++) {
        const FlatNode *at = &board->flat.nodes[board->node_count + i];
        const FlatEnd *end = &board->tree.ends[board->node_count + i];
        double heading_rad = flat_leaving_rad(&board->tree, &board->flat, board->arm_count + i,
                                              board->node_count + i) +
                             UNITS_PI;
        DrawPoint middle = board_pen_at(pen, at->x_mm + 0.5 * end->depth_mm * cos(heading_rad),
                                        at->y_mm + 0.5 * end->depth_mm * sin(heading_rad));
        board_pen_note(pen, middle, STYLE_TAG_MM, true, board->stubs[i].name,
                       0.5 * fmin(end->depth_mm, end->width_mm) + 1.0, 260.0);
    }
}

/* Length and diameter of every arm; on the trunk the way from its beginning. */
static void note_lengths(BoardPen *pen) {
    const Board *board = pen->board;
    Arena *arena = pen->list->arena;
    for (uint32_t arm = 0; arm < board->tree.arm_count; arm++) {
        const FlatArm *row = &board->tree.arms[arm];
        const char *name =
            arm < board->arm_count ? board_arm_name(pen->view->boards, board, arm) : "";
        board_pen_note(pen, arm_middle(pen, arm), STYLE_VALUE_MM, false,
                       arena_format(arena, "%s%s%.0f mm, dia. %.1f%s%s", name,
                                    *name == '\0' ? "" : ": ", row->length_mm, row->od_mm,
                                    sleeve_words(pen, arm),
                                    board->flat.leans[arm] == FLAT_TURNED ? ", TURNED" : ""),
                       row->od_mm / 2.0 + 1.5, 200.0);
    }
}

/* Ways along the trunk, at its nodes, from the end that its first arm begins at. */
static void note_chain(BoardPen *pen) {
    const Board *board = pen->board;
    uint32_t arm = FLAT_NONE;
    uint32_t node = FLAT_NONE;
    for (uint32_t i = 0; i < board->tree.arm_count && arm == FLAT_NONE; i++) {
        for (int end = 0; end < 2 && board->flat.trunk[i]; end++) {
            uint32_t at = end == 0 ? board->tree.arms[i].a : board->tree.arms[i].b;
            uint32_t trunks = 0;
            for (uint32_t k = 0; k < board->tree.arm_count; k++) {
                trunks += board->flat.trunk[k] &&
                                  (board->tree.arms[k].a == at || board->tree.arms[k].b == at)
                              ? 1
                              : 0;
            }
            if (trunks == 1) {
                arm = i;
                node = at;
                break;
            }
        }
    }
    double way_mm = 0.0;
    while (arm != FLAT_NONE) {
        uint32_t next =
            board->tree.arms[arm].a == node ? board->tree.arms[arm].b : board->tree.arms[arm].a;
        way_mm += board->tree.arms[arm].length_mm;
        const FlatNode *at = &board->flat.nodes[next];
        board_pen_note(pen, board_pen_at(pen, at->x_mm, at->y_mm), STYLE_VALUE_MM, false,
                       arena_format(pen->list->arena, "+ %.0f", way_mm), 9.0, 200.0);
        uint32_t on = FLAT_NONE;
        for (uint32_t k = 0; k < board->tree.arm_count; k++) {
            bool here = board->tree.arms[k].a == next || board->tree.arms[k].b == next;
            on = k != arm && board->flat.trunk[k] && here ? k : on;
        }
        node = next;
        arm = on;
    }
}

static void note_bends(BoardPen *pen) {
    const Flat *flat = &pen->board->flat;
    for (uint32_t i = 0; i < flat->piece_count; i++) {
        const FlatPiece *piece = &flat->pieces[i];
        if (piece->turn_per_mm != 0.0) {
            FlatPoint at = flat_piece_at(piece, piece->length_mm / 2.0, NULL);
            board_pen_note(pen, board_pen_at(pen, at.x_mm, at.y_mm), STYLE_VALUE_MM, false,
                           arena_format(pen->list->arena, "R %.0f", 1.0 / fabs(piece->turn_per_mm)),
                           pen->board->tree.arms[piece->arm].od_mm / 2.0 + 2.0, 120.0);
        }
    }
}

void board_plot_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Board *board,
                     DrawList *list) {
    double width_mm = board_pen_width_mm(view->boards, board);
    double height_mm = board_pen_height_mm(view->boards, board);
    draw_start(list, arena, fonts, RIM_LEFT_MM + width_mm + RIM_RIGHT_MM,
               RIM_TOP_MM + height_mm + RIM_BOTTOM_MM);
    BoardPen pen = {
        .list = list,
        .view = view,
        .board = board,
        .scale = 1.0,
        .zero = {RIM_LEFT_MM, RIM_TOP_MM + height_mm},
        .limits = {RIM_LEFT_MM, RIM_TOP_MM, RIM_LEFT_MM + width_mm, RIM_TOP_MM + height_mm}};
    draw_heading(&pen);
    board_pen_boards(&pen);
    draw_datum(&pen);
    double bar_mm = BAR_MM;
    draw_bar(&pen, (DrawPoint){RIM_LEFT_MM, RIM_TOP_MM + height_mm + 14.0}, false,
             fmin(bar_mm, BAR_STEP_MM * floor(width_mm / BAR_STEP_MM)));
    draw_bar(&pen, (DrawPoint){RIM_LEFT_MM - 14.0, RIM_TOP_MM + height_mm}, true,
             fmin(bar_mm, BAR_STEP_MM * floor(height_mm / BAR_STEP_MM)));
    board_pen_arms(&pen, true);
    board_pen_ends(&pen);
    board_pen_nodes(&pen, true);
    note_names(&pen);
    board_pen_openings(&pen, STYLE_TAG_MM);
    board_pen_folds(&pen);
    note_chain(&pen);
    note_lengths(&pen);
    note_bends(&pen);
    board_pen_write_lost(&pen, (DrawPoint){RIM_LEFT_MM, list->height_mm - 8.0}, STYLE_VALUE_MM,
                         width_mm, 2);
}

/* --- pages --------------------------------------------------------------------------------------
 */

static uint32_t pieces_of(double length_mm, double window_mm, double step_mm) {
    return length_mm <= window_mm ? 1 : 1 + (uint32_t)ceil((length_mm - window_mm) / step_mm);
}

BoardTiles board_tiles_on(PaperSize paper, const DrawList *whole) {
    BoardTiles tiles = {.page_width_mm = paper_width_mm(paper),
                        .page_height_mm = paper_height_mm(paper),
                        .edge_mm = TILE_EDGE_MM};
    tiles.window_width_mm = tiles.page_width_mm - 2.0 * TILE_EDGE_MM;
    tiles.window_height_mm = tiles.page_height_mm - 2.0 * TILE_EDGE_MM - TILE_STRIP_MM;
    tiles.step_x_mm = tiles.window_width_mm - TILE_OVERLAP_MM;
    tiles.step_y_mm = tiles.window_height_mm - TILE_OVERLAP_MM;
    tiles.columns = pieces_of(whole->width_mm, tiles.window_width_mm, tiles.step_x_mm);
    tiles.rows = pieces_of(whole->height_mm, tiles.window_height_mm, tiles.step_y_mm);
    return tiles;
}

BoardTiles board_tiles_of_boards(const FlatShop *shop, const Board *board, const DrawList *whole) {
    BoardTiles tiles = {.edge_mm = TILE_EDGE_MM,
                        .columns = board->flat.columns,
                        .rows = board->flat.rows,
                        .step_x_mm = shop->board_length_mm + shop->gap_mm,
                        .step_y_mm = shop->board_width_mm + shop->gap_mm};
    tiles.window_width_mm = whole->width_mm - (tiles.columns - 1) * tiles.step_x_mm;
    tiles.window_height_mm = whole->height_mm - (tiles.rows - 1) * tiles.step_y_mm;
    tiles.page_width_mm = tiles.window_width_mm + 2.0 * tiles.edge_mm;
    tiles.page_height_mm = tiles.window_height_mm + 2.0 * tiles.edge_mm + TILE_STRIP_MM;
    return tiles;
}

DrawPoint board_tile_corner(const BoardTiles *tiles, uint32_t tile) {
    uint32_t column = tile % tiles->columns;
    uint32_t row = tile / tiles->columns;
    return (DrawPoint){column * tiles->step_x_mm, row * tiles->step_y_mm};
}

/* "C"; after Z comes AA. */
static const char *row_name(Arena *arena, uint32_t row) {
    char first = (char)('A' + row / 26 % 26 - 1);
    char letter = (char)('A' + row % 26);
    return row < 26 ? arena_format(arena, "%c", letter)
                    : arena_format(arena, "%c%c", first, letter);
}

/* "C4": rows by letters, columns by figures. */
static const char *tile_name(Arena *arena, const BoardTiles *tiles, uint32_t tile) {
    return arena_format(arena, "%s%u", row_name(arena, tile / tiles->columns),
                        tile % tiles->columns + 1);
}

/* Items that reach into the window, moved so that its corner is at `to`. */
static void copy_window(DrawList *list, const DrawList *whole, DrawBox window, DrawPoint to) {
    double dx = to.x_mm - window.left_mm;
    double dy = to.y_mm - window.top_mm;
    for (size_t i = 0; i < whole->count; i++) {
        const DrawItem *item = &whole->items[i];
        if (item->kind == DRAW_LINK || item->kind == DRAW_ANCHOR ||
            item->box.right_mm < window.left_mm || item->box.left_mm > window.right_mm ||
            item->box.bottom_mm < window.top_mm || item->box.top_mm > window.bottom_mm) {
            continue;
        }
        DrawItem *own = ARENA_PUSH(list->arena, list->items, list->count, list->capacity);
        *own = *item;
        own->point_first = (uint32_t)list->point_count;
        for (uint32_t k = 0; k < item->point_count; k++) {
            DrawPoint at = draw_points(whole, item)[k];
            *ARENA_PUSH(list->arena, list->points, list->point_count, list->point_capacity) =
                (DrawPoint){at.x_mm + dx, at.y_mm + dy};
        }
        own->origin.x_mm += dx;
        own->origin.y_mm += dy;
        own->box.left_mm += dx;
        own->box.right_mm += dx;
        own->box.top_mm += dy;
        own->box.bottom_mm += dy;
    }
}

static void draw_mark(DrawList *list, double x_mm, double y_mm, const char *name) {
    draw_layer(list, LAYER_BOARD);
    draw_row(list, TABLE_COUNT, name);
    draw_line(list, x_mm - MARK_MM, y_mm, x_mm + MARK_MM, y_mm, STYLE_THIN_MM);
    draw_line(list, x_mm, y_mm - MARK_MM, x_mm, y_mm + MARK_MM, STYLE_THIN_MM);
    draw_circle(list, x_mm, y_mm, MARK_MM / 2.0, STYLE_THIN_MM);
    draw_row(list, TABLE_COUNT, "");
}

/* Crosses in the middle of what two neighbours share: the same four on both. A mark is named by its
 * place in the grid of marks. */
static void draw_marks(DrawList *list, const BoardTiles *tiles, uint32_t tile) {
    double share_x_mm = tiles->window_width_mm - tiles->step_x_mm;
    double share_y_mm = tiles->window_height_mm - tiles->step_y_mm;
    uint32_t column = tile % tiles->columns;
    uint32_t row = tile / tiles->columns;
    for (uint32_t i = 0; i < 2; i++) {
        for (uint32_t k = 0; k < 2; k++) {
            bool shared = (k == 0 ? column > 0 : column + 1 < tiles->columns) ||
                          (i == 0 ? row > 0 : row + 1 < tiles->rows);
            if (shared) {
                draw_mark(list, tiles->edge_mm + share_x_mm / 2.0 + k * tiles->step_x_mm,
                          tiles->edge_mm + share_y_mm / 2.0 + i * tiles->step_y_mm,
                          arena_format(list->arena, "mark %u %u", row + i, column + k));
            }
        }
    }
}

void board_tile_draw(Arena *arena, const DrawView *view, const Board *board, const DrawList *whole,
                     const BoardTiles *tiles, uint32_t tile, DrawList *list) {
    draw_start(list, arena, whole->fonts, tiles->page_width_mm, tiles->page_height_mm);
    DrawPoint corner = board_tile_corner(tiles, tile);
    DrawBox window = {corner.x_mm, corner.y_mm, corner.x_mm + tiles->window_width_mm,
                      corner.y_mm + tiles->window_height_mm};
    copy_window(list, whole, window, (DrawPoint){tiles->edge_mm, tiles->edge_mm});
    DrawBox inside = {tiles->edge_mm, tiles->edge_mm, tiles->edge_mm + tiles->window_width_mm,
                      tiles->edge_mm + tiles->window_height_mm};
    /* White over what reaches out of the window, past the edges of the paper, which end between
     * pixels. */
    DrawBox paper = {-1.0, -1.0, list->width_mm + 1.0, list->height_mm + 1.0};
    draw_rgb(list, STYLE_PAPER);
    draw_fill_rectangle(list,
                        (DrawBox){paper.left_mm, paper.top_mm, paper.right_mm, inside.top_mm});
    draw_fill_rectangle(
        list, (DrawBox){paper.left_mm, inside.bottom_mm, paper.right_mm, paper.bottom_mm});
    draw_fill_rectangle(list,
                        (DrawBox){paper.left_mm, paper.top_mm, inside.left_mm, paper.bottom_mm});
    draw_fill_rectangle(list,
                        (DrawBox){inside.right_mm, paper.top_mm, paper.right_mm, paper.bottom_mm});
    draw_rgb(list, STYLE_INK);
    draw_layer(list, LAYER_FRAME);
    draw_rectangle(list, inside, STYLE_THIN_MM);
    draw_marks(list, tiles, tile);
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(
        list, tiles->edge_mm, inside.bottom_mm + 6.0,
        (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .bold = true},
        arena_format(arena,
                     "%s board %s (%.8s), page %s of %u x %u. Print at 100 %%, lay marks over "
                     "marks, measure the bars",
                     view->set->job.rows[0].job, board_module(view, board), view->hash,
                     tile_name(arena, tiles, tile), tiles->rows, tiles->columns),
        tiles->window_width_mm);
}

void board_tile_map(Arena *arena, const DrawView *view, const Board *board, const DrawList *whole,
                    const BoardTiles *tiles, DrawList *list) {
    draw_start(list, arena, whole->fonts, tiles->page_width_mm, tiles->page_height_mm);
    double top_mm = 46.0;
    double left_mm = tiles->edge_mm + 7.0; /* beside the letters of the rows */
    double scale = fmin((list->width_mm - left_mm - tiles->edge_mm) / whole->width_mm,
                        (list->height_mm - top_mm - tiles->edge_mm) / whole->height_mm);
    draw_layer(list, LAYER_TAG);
    draw_text(list, tiles->edge_mm, 18.0, (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
              arena_format(arena, "%s board %s: map of %u pages", view->set->job.rows[0].job,
                           board_module(view, board), tiles->columns * tiles->rows));
    DrawTextStyle small = {.height_mm = STYLE_VALUE_MM};
    double width_mm = list->width_mm - 2.0 * tiles->edge_mm;
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, tiles->edge_mm, 27.0, small,
                  arena_format(arena,
                               "Print every page at 100 %% (no fitting). Pages share %.0f mm: lay "
                               "cross over cross, tape along the frames.",
                               tiles->window_width_mm - tiles->step_x_mm),
                  width_mm);
    draw_text_fit(list, tiles->edge_mm, 34.0, small,
                  "Then measure both scale bars: 1000 mm +/- 1 along and across, or print again.",
                  width_mm);
    BoardPen pen = {.list = list,
                    .view = view,
                    .board = board,
                    .scale = scale,
                    .zero = {left_mm + scale * RIM_LEFT_MM,
                             top_mm + scale * (whole->height_mm - RIM_BOTTOM_MM)}};
    board_pen_arms(&pen, false);
    board_pen_ends(&pen);
    DrawTextStyle name = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE};
    for (uint32_t row = 0; row < tiles->rows; row++) {
        double low_mm = row * tiles->step_y_mm;
        double high_mm = fmin(whole->height_mm, low_mm + tiles->step_y_mm);
        for (uint32_t column = 0; column < tiles->columns; column++) {
            double from_mm = column * tiles->step_x_mm;
            double to_mm = fmin(whole->width_mm, from_mm + tiles->step_x_mm);
            draw_layer(list, LAYER_BOARD);
            draw_rectangle(list,
                           (DrawBox){left_mm + scale * from_mm, top_mm + scale * low_mm,
                                     left_mm + scale * to_mm, top_mm + scale * high_mm},
                           STYLE_THIN_MM);
            draw_layer(list, LAYER_TAG);
            if (row == 0) {
                draw_text(list, left_mm + scale * (from_mm + to_mm) / 2.0, top_mm - 1.5, name,
                          arena_format(arena, "%u", column + 1));
            }
        }
        draw_text(list, left_mm - 4.0,
                  top_mm + scale * (low_mm + high_mm) / 2.0 + STYLE_NOTE_MM / 2.0, name,
                  row_name(arena, row));
    }
}
