/* Labels for wires, cables and connectors, laid out for the sheet or roll they are printed on (a
 * row of the library's `label_stock`). What stands on them is the result table `label`: at both
 * ends of every piece between disconnects, and on every connector. Readable from the tail: the text
 * begins at the contact, where a triangle points, and runs along the wire towards its tail. With
 * the connector in the left hand every label reads from left to right, at either end of the wire.
 */
#ifndef DRAW_LABEL_H
#define DRAW_LABEL_H

#include "draw/view.h"

typedef struct LabelPlan {
    const DrawView *view;
    DrawFonts *fonts;
    const LabelStockRow *stock;
    const LabelRow **labels; /* those that are printed on it: wires, jackets, connectors by key */
    size_t label_count;
    uint32_t per_page;
    uint32_t page_count;
    double page_width_mm;
    double page_height_mm;
} LabelPlan;

/* Chooses the stock of that name (NULL: the first sheet of the library) and what is printed on it:
 * on tubing only the labels of that size, else all. False after writing in *problem (in the arena)
 * what is wrong: no such stock (with the nearest name and all there are), or one without the sizes
 * it needs. No label: no page. */
bool label_plan(Arena *arena, DrawFonts *fonts, const DrawView *view, const char *stock,
                LabelPlan *plan, const char **problem);

/* One page, from 0. The list is started here with the stock's own size. */
void label_draw(const LabelPlan *plan, uint32_t page, Arena *arena, DrawList *list);

/* "labels, page 3 of 26", for bookmarks and progress. */
const char *label_page_title(const LabelPlan *plan, Arena *arena, uint32_t page);

/* A square code (ISO/IEC 18004) of `text`: its dark modules as filled rectangles, as few as whole
 * runs allow, in `box` with four light modules around. False, nothing drawn, when a module would be
 * smaller than LABEL_MODULE_MM or the text is too long. Layer code. */
#define LABEL_MODULE_MM 0.25 /* three dots of a 300 dpi printer (common practice, no source) */
bool label_code_draw(DrawList *list, DrawBox box, const char *text);

#endif
