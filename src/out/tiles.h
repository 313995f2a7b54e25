/* A display list that is larger than the paper, at 1:1 over as many pages as it takes, as PDF.
 * Pages overlap; crosses in the overlap lie on each other when they are put together, and every
 * page says which one it is and carries a rule of 100 mm. */
#ifndef OUT_TILES_H
#define OUT_TILES_H

#include "base/status.h"
#include "draw/list.h"

/* Strip along a page that stays free, and strip that neighbours share. */
#define TILE_MARGIN_MM 10.0
#define TILE_OVERLAP_MM 10.0

typedef struct TileGrid {
    size_t columns;
    size_t rows;
    double step_x_mm; /* from page to page */
    double step_y_mm;
    double inner_w_mm; /* of the list, on a page */
    double inner_h_mm;
} TileGrid;

/* How many pages of that paper, on its side. */
TileGrid tiles_grid(double width_mm, double height_mm, double paper_width_mm,
                    double paper_height_mm);

/* Written beside and renamed. */
STATUS_USE Status tiles_write(const DrawList *list, double paper_width_mm, double paper_height_mm,
                              const char *path, size_t *pages);

#endif
