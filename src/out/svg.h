/* A display list as SVG 1.1 (W3C): real text, the few glyphs it needs carried along in the file, so
 * that a browser fetches nothing; rows as groups with data-table and data-key, layers as classes.
 */
#ifndef OUT_SVG_H
#define OUT_SVG_H

#include "base/text.h"
#include "draw/list.h"

/* Appends the whole document. `title` is what a browser's tab says. */
void svg_write(Buffer *out, const DrawList *list, const char *title);

#endif
