/* The board at 1:1: one drawing of all boards side by side, and pages cut from it: one a board for
 * a plotter, or tiles for any printer that overlap and carry register marks, with a map. */
#ifndef DRAW_BOARD_PLOT_H
#define DRAW_BOARD_PLOT_H

#include "draw/board_pen.h"

/* The whole drawing; its paper is as large as the boards and a rim. */
void board_plot_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Board *board,
                     DrawList *list);

/* How the drawing is cut into pages. Windows of width and height are taken every step; what two
 * share is the overlap, in the middle of which the register marks stand. */
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
} BoardTiles;

/* Tiles on a paper. */
BoardTiles board_tiles_on(PaperSize paper, const DrawList *whole);
/* A page for each board, with a rim. */
BoardTiles board_tiles_of_boards(const FlatShop *shop, const Board *board, const DrawList *whole);

/* Left upper corner of a tile's window on the whole drawing. */
DrawPoint board_tile_corner(const BoardTiles *tiles, uint32_t tile);

/* One page; tiles count along rows from the upper left. */
void board_tile_draw(Arena *arena, const DrawView *view, const Board *board, const DrawList *whole,
                     const BoardTiles *tiles, uint32_t tile, DrawList *list);

/* The map of all tiles, on the tiles' own paper: which page lies where, how to join them. */
void board_tile_map(Arena *arena, const DrawView *view, const Board *board, const DrawList *whole,
                    const BoardTiles *tiles, DrawList *list);

/* Key of the harness's module. */
const char *board_module(const DrawView *view, const Board *board);

#endif
