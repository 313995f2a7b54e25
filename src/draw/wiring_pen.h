/* What the files that draw a wiring diagram share: the sheet being drawn, the sizes of its texts,
 * and where ends of links are. Only for wiring_draw.c and wiring_nodes.c. */
#ifndef DRAW_WIRING_PEN_H
#define DRAW_WIRING_PEN_H

#include "draw/wiring_sheets.h"

#define PEN_TEXT_OVER_MM 0.9 /* key above its line */
#define PEN_PIN_TEXT_MM 3.0  /* from the edge of a box to the texts of its pins */

#define PEN_TAG ((DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true})
#define PEN_VALUE ((DrawTextStyle){.height_mm = STYLE_VALUE_MM})
#define PEN_NOTE ((DrawTextStyle){.height_mm = STYLE_NOTE_MM})

typedef struct Drawer {
    const SheetPlan *plan;
    const WiringKept *kept;
    const WiringScene *scene;
    const WiringSheet *sheet;
    DrawList *list;
    Arena *arena;
} Drawer;

static inline const Model *model_of(const Drawer *drawer) {
    return drawer->plan->view->model;
}

static inline DrawTextStyle aligned(DrawTextStyle style, DrawAlign align) {
    style.align = align;
    return style;
}

static inline void no_row(const Drawer *drawer) {
    draw_row(drawer->list, TABLE_COUNT, "");
}

/* y of a row of a link at one of its ends. */
static inline double end_row_mm(const Drawer *drawer, const LayoutEnd *end, uint32_t row) {
    double step_mm = drawer->scene->layout.nodes[end->node].row_mm;
    return end->y_mm + (end->reversed ? -step_mm : step_mm) * (double)row;
}

static inline double end_edge_mm(const Drawer *drawer, const LayoutEnd *end) {
    const DrawBox *box = &drawer->scene->layout.nodes[end->node].box;
    return end->right ? box->right_mm : box->left_mm;
}

/* Draws one node of the layout with its pins, symbols, texts and references. */
void wiring_draw_node(const Drawer *drawer, uint32_t node);

/* Draws a link that is a stub: where the other wires of a pin are. */
void wiring_draw_stub(const Drawer *drawer, uint32_t link);

#endif
