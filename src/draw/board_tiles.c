#include "draw/board_tiles.h"

#include <math.h>
#include <string.h>

#include "base/units.h"

#define TILE_EDGE_MM 10.0
#define TILE_OVERLAP_MM 16.0
#define TILE_STRIP_MM 8.0 /* words below the window */
#define MARK_MM 5.0       /* half a register mark */
#define ARC_STEP_DEG 3.0  /* arcs are looked at as chords of it */
#define LOOK_MM 5.0       /* and lines in such steps; less than half of what tiles share */

/* --- cutting ------------------------------------------------------------------------------------
 */

static uint32_t pieces_of(double length_mm, double window_mm, double step_mm) {
    return length_mm <= window_mm ? 1 : 1 + (uint32_t)ceil((length_mm - window_mm) / step_mm);
}

/* The column or row that is nearest to a place: neighbours take over from each other in the middle
 * of what they share. */
static uint32_t nearest_piece(double at_mm, double window_mm, double step_mm, uint32_t count) {
    double piece = floor((at_mm - 0.5 * (window_mm - step_mm)) / step_mm);
    return (uint32_t)fmin(fmax(piece, 0.0), count - 1.0);
}

static void mark_drawn(const BoardTiles *tiles, bool *drawn, double x_mm, double y_mm) {
    drawn[nearest_piece(y_mm, tiles->window_height_mm, tiles->step_y_mm, tiles->rows) *
              tiles->columns +
          nearest_piece(x_mm, tiles->window_width_mm, tiles->step_x_mm, tiles->columns)] = true;
}

/* Every tile that a line passes. A corner that it cuts off in less than a step is within what the
 * tiles before and after share with that one: it is printed there. */
static void mark_line(const BoardTiles *tiles, bool *drawn, DrawPoint a, DrawPoint b) {
    double length_mm = hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
    int parts = 1 + (int)(length_mm / LOOK_MM);
    for (int i = 0; i <= parts; i++) {
        double share = (double)i / parts;
        mark_drawn(tiles, drawn, a.x_mm + share * (b.x_mm - a.x_mm),
                   a.y_mm + share * (b.y_mm - a.y_mm));
    }
}

static void mark_item(const BoardTiles *tiles, bool *drawn, const DrawList *whole,
                      const DrawItem *item) {
    const DrawPoint *points = draw_points(whole, item);
    switch (item->kind) {
    case DRAW_PATH:
        for (uint32_t i = 0; i < item->point_count; i++) {
            bool last = i + 1 == item->point_count;
            uint32_t next = !last ? i + 1 : item->closed ? 0 : i;
            mark_line(tiles, drawn, points[i], points[next]);
        }
        break;
    case DRAW_ARC: {
        int parts = 1 + (int)((item->to_deg - item->from_deg) / ARC_STEP_DEG);
        DrawPoint last = {0};
        for (int i = 0; i <= parts; i++) {
            double at_rad =
                units_rad_from_deg(item->from_deg + (item->to_deg - item->from_deg) * i / parts);
            DrawPoint at = {points[0].x_mm + item->radius_mm * cos(at_rad),
                            points[0].y_mm - item->radius_mm * sin(at_rad)};
            mark_line(tiles, drawn, i == 0 ? at : last, at);
            last = at;
        }
        break;
    }
    case DRAW_TEXT: {
        const DrawBox *box = &item->box;
        const DrawPoint c[4] = {{box->left_mm, box->top_mm},
                                {box->right_mm, box->top_mm},
                                {box->right_mm, box->bottom_mm},
                                {box->left_mm, box->bottom_mm}};
        for (int i = 0; i < 4; i++) {
            mark_line(tiles, drawn, c[i], c[(i + 1) % 4]);
        }
        break;
    }
    case DRAW_LINK:
    case DRAW_ANCHOR:
        break;
    }
}

/* --- which are printed --------------------------------------------------------------------------
 */

/* The neighbour of a tile to the right, below, to the left, above; ID_NONE. */
static uint32_t beside(const BoardTiles *tiles, uint32_t tile, int side) {
    uint32_t column = tile % tiles->columns;
    uint32_t row = tile / tiles->columns;
    switch (side) {
    case 0:
        return column + 1 < tiles->columns ? tile + 1 : ID_NONE;
    case 1:
        return row + 1 < tiles->rows ? tile + tiles->columns : ID_NONE;
    case 2:
        return column > 0 ? tile - 1 : ID_NONE;
    default:
        return row > 0 ? tile - tiles->columns : ID_NONE;
    }
}

/* The nearest printed tile that does not hang together with the first, with the way to it in
 * `from`; ID_NONE when all do. Breadth first: steps over printed tiles cost nothing, so they are
 * taken before any other. */
static uint32_t nearest_apart(Arena *scratch, const BoardTiles *tiles, const bool *printed,
                              uint32_t first, uint32_t *from) {
    uint32_t count = tiles->columns * tiles->rows;
    bool *seen = ARENA_ARRAY(scratch, bool, count);
    uint32_t *now = ARENA_ARRAY(scratch, uint32_t, count + 1);
    uint32_t filled = 0;
    now[filled++] = first;
    seen[first] = true;
    from[first] = first;
    for (int round = 0; round < 2; round++) { /* all that hangs together; then over what is empty */
        for (uint32_t i = 0; i < filled; i++) {
            for (int side = 0; side < 4; side++) {
                uint32_t next = beside(tiles, now[i], side);
                if (next == ID_NONE || seen[next] || (round == 0 && !printed[next])) {
                    continue;
                }
                seen[next] = true;
                from[next] = now[i];
                if (round == 1 && printed[next]) {
                    return next;
                }
                now[filled++] = next;
            }
        }
    }
    return ID_NONE;
}

/* Those on which something is drawn, and what joins them: islands are tied to the rest over the
 * fewest empty tiles. Of a board's edge the corners count: what lies between needs no paper. */
static void print_drawn(Arena *arena, const DrawList *whole, BoardTiles *tiles) {
    uint32_t count = tiles->columns * tiles->rows;
    bool *printed = ARENA_ARRAY(arena, bool, count);
    for (size_t i = 0; i < whole->count; i++) {
        const DrawItem *item = &whole->items[i];
        if (item->table == TABLE_COUNT && strcmp(item->key, BOARD_EDGE) == 0) {
            for (uint32_t k = 0; k < item->point_count; k++) {
                DrawPoint corner = draw_points(whole, item)[k];
                mark_drawn(tiles, printed, corner.x_mm, corner.y_mm);
            }
        } else {
            mark_item(tiles, printed, whole, item);
        }
    }
    uint32_t first = 0;
    while (first + 1 < count && !printed[first]) {
        first++;
    }
    for (bool apart = true; apart;) {
        Arena scratch = {0};
        uint32_t *from = ARENA_ARRAY(&scratch, uint32_t, count);
        uint32_t tile = nearest_apart(&scratch, tiles, printed, first, from);
        apart = tile != ID_NONE;
        for (; apart && from[tile] != tile; tile = from[tile]) {
            printed[tile] = true;
        }
        arena_free(&scratch);
    }
    tiles->printed = printed;
    for (uint32_t i = 0; i < count; i++) {
        tiles->printed_count += printed[i] ? 1 : 0;
    }
}

BoardTiles board_tiles_on(Arena *arena, PaperSize paper, const DrawList *whole) {
    BoardTiles tiles = {.page_width_mm = paper_width_mm(paper),
                        .page_height_mm = paper_height_mm(paper),
                        .edge_mm = TILE_EDGE_MM};
    tiles.window_width_mm = tiles.page_width_mm - 2.0 * TILE_EDGE_MM;
    tiles.window_height_mm = tiles.page_height_mm - 2.0 * TILE_EDGE_MM - TILE_STRIP_MM;
    tiles.step_x_mm = tiles.window_width_mm - TILE_OVERLAP_MM;
    tiles.step_y_mm = tiles.window_height_mm - TILE_OVERLAP_MM;
    tiles.columns = pieces_of(whole->width_mm, tiles.window_width_mm, tiles.step_x_mm);
    tiles.rows = pieces_of(whole->height_mm, tiles.window_height_mm, tiles.step_y_mm);
    print_drawn(arena, whole, &tiles);
    return tiles;
}

BoardTiles board_tiles_of_boards(Arena *arena, const FlatShop *shop, const Board *board,
                                 const DrawList *whole) {
    BoardTiles tiles = {.edge_mm = TILE_EDGE_MM,
                        .columns = board->flat.columns,
                        .rows = board->flat.rows,
                        .step_x_mm = shop->board_length_mm + shop->gap_mm,
                        .step_y_mm = shop->board_width_mm + shop->gap_mm};
    tiles.window_width_mm = whole->width_mm - (tiles.columns - 1) * tiles.step_x_mm;
    tiles.window_height_mm = whole->height_mm - (tiles.rows - 1) * tiles.step_y_mm;
    tiles.page_width_mm = tiles.window_width_mm + 2.0 * tiles.edge_mm;
    tiles.page_height_mm = tiles.window_height_mm + 2.0 * tiles.edge_mm + TILE_STRIP_MM;
    bool *all = ARENA_ARRAY(arena, bool, tiles.columns *tiles.rows);
    for (uint32_t i = 0; i < tiles.columns * tiles.rows; i++) {
        all[i] = true;
    }
    tiles.printed = all;
    tiles.printed_count = tiles.columns * tiles.rows;
    return tiles;
}

/* --- pages --------------------------------------------------------------------------------------
 */

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

const char *board_tile_name(Arena *arena, const BoardTiles *tiles, uint32_t tile) {
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

/* Crosses in the middle of what two printed neighbours share: the same on both. A mark is named by
 * its place in the grid of marks. */
static void draw_marks(DrawList *list, const BoardTiles *tiles, uint32_t tile) {
    double share_x_mm = tiles->window_width_mm - tiles->step_x_mm;
    double share_y_mm = tiles->window_height_mm - tiles->step_y_mm;
    uint32_t column = tile % tiles->columns;
    uint32_t row = tile / tiles->columns;
    for (uint32_t i = 0; i < 2; i++) {
        for (uint32_t k = 0; k < 2; k++) {
            uint32_t across = beside(tiles, tile, k == 0 ? 2 : 0);
            uint32_t along = beside(tiles, tile, i == 0 ? 3 : 1);
            if ((across != ID_NONE && tiles->printed[across]) ||
                (along != ID_NONE && tiles->printed[along])) {
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
                     board_tile_name(arena, tiles, tile), tiles->rows, tiles->columns),
        tiles->window_width_mm);
}

/* What of the whole drawing a column or row of tiles is nearest to. */
static double piece_begins(uint32_t piece, double window_mm, double step_mm) {
    return piece == 0 ? 0.0 : piece * step_mm + 0.5 * (window_mm - step_mm);
}

/* The grid of tiles over the harness; those that are not printed are crossed out. */
static void draw_grid(const BoardTiles *tiles, const DrawList *whole, DrawPoint corner,
                      double scale, DrawList *list) {
    DrawTextStyle name = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE};
    for (uint32_t tile = 0; tile < tiles->columns * tiles->rows; tile++) {
        uint32_t column = tile % tiles->columns;
        uint32_t row = tile / tiles->columns;
        double left_mm = piece_begins(column, tiles->window_width_mm, tiles->step_x_mm);
        double top_mm = piece_begins(row, tiles->window_height_mm, tiles->step_y_mm);
        double right_mm = piece_begins(column + 1, tiles->window_width_mm, tiles->step_x_mm);
        double low_mm = piece_begins(row + 1, tiles->window_height_mm, tiles->step_y_mm);
        DrawBox box = {corner.x_mm + scale * left_mm, corner.y_mm + scale * top_mm,
                       corner.x_mm + scale * fmin(right_mm, whole->width_mm),
                       corner.y_mm + scale * fmin(low_mm, whole->height_mm)};
        draw_layer(list, LAYER_BOARD);
        draw_rectangle(list, box, STYLE_THIN_MM);
        if (!tiles->printed[tile]) {
            draw_line(list, box.left_mm, box.top_mm, box.right_mm, box.bottom_mm, STYLE_THIN_MM);
            draw_line(list, box.left_mm, box.bottom_mm, box.right_mm, box.top_mm, STYLE_THIN_MM);
        }
        draw_layer(list, LAYER_TAG);
        if (row == 0) {
            draw_text(list, (box.left_mm + box.right_mm) / 2.0, corner.y_mm - 1.5, name,
                      arena_format(list->arena, "%u", column + 1));
        }
        if (column == 0) {
            draw_text(list, corner.x_mm - 4.0, (box.top_mm + box.bottom_mm + STYLE_NOTE_MM) / 2.0,
                      name, row_name(list->arena, row));
        }
    }
}

void board_tile_map(Arena *arena, const DrawView *view, const Board *board, const DrawList *whole,
                    const BoardTiles *tiles, DrawList *list) {
    draw_start(list, arena, whole->fonts, tiles->page_width_mm, tiles->page_height_mm);
    DrawPoint corner = {tiles->edge_mm + 7.0, 53.0}; /* beside the letters of the rows */
    double scale = fmin((list->width_mm - corner.x_mm - tiles->edge_mm) / whole->width_mm,
                        (list->height_mm - corner.y_mm - tiles->edge_mm) / whole->height_mm);
    uint32_t count = tiles->columns * tiles->rows;
    uint32_t empty = count - tiles->printed_count;
    draw_layer(list, LAYER_TAG);
    draw_text(list, tiles->edge_mm, 18.0, (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
              arena_format(arena, "%s board %s: map of %u pages", view->set->job.rows[0].job,
                           board_module(view, board), tiles->printed_count));
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
    draw_text_fit(list, tiles->edge_mm, 41.0, small,
                  empty == 0
                      ? "Every page of the grid is printed."
                      : arena_format(arena,
                                     "Crossed out on the map: %u of the grid's %u pages are not "
                                     "printed; they show nothing, or a board's edge alone.",
                                     empty, count),
                  width_mm);
    DrawPoint zero = board_plot_zero(whole);
    BoardPen pen = {.list = list,
                    .view = view,
                    .board = board,
                    .scale = scale,
                    .zero = {corner.x_mm + scale * zero.x_mm, corner.y_mm + scale * zero.y_mm}};
    board_pen_arms(&pen, false);
    board_pen_ends(&pen);
    draw_grid(tiles, whole, corner, scale, list);
}
