/* Pages cut from the full-scale drawing of a board: one a board for a plotter, or tiles for any
 * printer. They overlap and carry register marks in the middle of what they share; a tile on which
 * nothing is drawn, or a board's edge alone, is not printed, and the map says so. */
#ifndef DRAW_BOARD_TILES_H
#define DRAW_BOARD_TILES_H

#include "draw/board_plot.h"

/* How the drawing is cut into pages. Windows of width and height are taken every step; what two
 * share is the overlap, in the middle of which the register marks stand and the one takes over from
 * the other. */
typedef struct BoardTiles {
    double page_width_mm; /* paper */
    double page_height_mm;
    double edge_mm; /* of the paper that stays white */
    double window_width_mm;
    double window_height_mm;
    double step_x_mm;
    double step_y_mm;
    uint32_t columns;
    uint32_t rows;
    const bool
        *printed; /* by tile: something is drawn where it is nearest to, or it joins others */
    uint32_t printed_count;
} BoardTiles;

/* Tiles on a paper. Those printed hang together edge by edge, so that each can be laid beside
 * another by its marks. */
BoardTiles board_tiles_on(Arena *arena, PaperSize paper, const DrawList *whole);
/* A page for each board, with a rim. */
BoardTiles board_tiles_of_boards(Arena *arena, const FlatShop *shop, const Board *board,
                                 const DrawList *whole);

/* Left upper corner of a tile's window on the whole drawing. */
DrawPoint board_tile_corner(const BoardTiles *tiles, uint32_t tile);

/* "C4": rows by letters, columns by figures; tiles count along rows from the upper left. */
const char *board_tile_name(Arena *arena, const BoardTiles *tiles, uint32_t tile);

/* One page. */
void board_tile_draw(Arena *arena, const DrawView *view, const Board *board, const DrawList *whole,
                     const BoardTiles *tiles, uint32_t tile, DrawList *list);

/* The map of all tiles, on the tiles' own paper: which page lies where, which there are not, how to
 * join them. */
void board_tile_map(Arena *arena, const DrawView *view, const Board *board, const DrawList *whole,
                    const BoardTiles *tiles, DrawList *list);

#endif
