/* Which column every node of a wiring diagram stands in. Part of wiring_layout. */
#ifndef DRAW_WIRING_COLUMNS_H
#define DRAW_WIRING_COLUMNS_H

#include "draw/wiring_layout.h"

/* Sets column and copy_of of every node, appends copies where a link could not be drawn otherwise.
 * `most` columns at most, and at least two more than the gates of any link. Returns the number
 * used: every column holds a node or a gate. */
uint32_t wiring_columns(Arena *arena, LayoutProblem *problem, uint32_t most);

#endif
