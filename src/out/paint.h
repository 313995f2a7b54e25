/* Replays a display list on a cairo context: the common part of PDF and PNG. */
#ifndef OUT_PAINT_H
#define OUT_PAINT_H

#include <cairo.h>

#include "draw/list.h"

/* Paints the paper white, then every item in order. The context's unit must be 1 mm. `text_kept`:
 * glyphs carry the text they stand for, so that it can be searched (PDF). Links and anchors are the
 * caller's. */
void paint_list(cairo_t *cairo, const DrawList *list, bool text_kept);

#endif
