/* The board at 1:1: one drawing of all boards side by side. Pages are cut from it by
 * draw/board_tiles.h. */
#ifndef DRAW_BOARD_PLOT_H
#define DRAW_BOARD_PLOT_H

#include "draw/board_pen.h"

/* The whole drawing; its paper is as large as the boards and a rim. */
void board_plot_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Board *board,
                     DrawList *list);

/* Where the lower left corner of the first board lies on it. */
DrawPoint board_plot_zero(const DrawList *whole);

/* Key of the harness's module. */
const char *board_module(const DrawView *view, const Board *board);

#endif
