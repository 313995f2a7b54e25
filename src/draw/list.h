/* The display list: what stands on one sheet, recorded once and replayed by every writer (src/out),
 * so that screen, paper and cutter show the same geometry. Units mm; origin at the top left corner
 * of the paper, x to the right, y down. Every item carries its layer (what it means) and the row it
 * stands for. Lives in an arena; a sheet's list is thrown away when the sheet is written. */
#ifndef DRAW_LIST_H
#define DRAW_LIST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "draw/font.h"
#include "draw/style.h"
#include "table/rows.h"

/* L(identifier, name, what it holds): the name is the layer's name in every file. */
#define DRAW_LAYERS(L)                                                                             \
    L(FRAME, "frame", "frame, zones, title strip, caution")                                        \
    L(RULE, "rule", "rules of tables, axes and grid of plots")                                     \
    L(NOTE, "note", "text that explains, and its leaders")                                         \
    L(BOX, "box", "outlines of boxes, shells and devices")                                         \
    L(TAG, "tag", "names of boxes, buses, shells, sheets")                                         \
    L(PIN, "pin", "pins, ports, cavities")                                                         \
    L(SYMBOL, "symbol", "electrical symbols")                                                      \
    L(INSULATION, "insulation", "stripes in the colour of the wire")                               \
    L(WIRE, "wire", "conductors")                                                                  \
    L(WIRE_TEXT, "wire_text", "keys, numbers, gauges of conductors")                               \
    L(SHIELD, "shield", "shields, their grounds, twists")                                          \
    L(DISCONNECT, "disconnect", "where modules part")                                              \
    L(REFERENCE, "reference", "where a thing goes on, on which sheet")                             \
    L(CURVE, "curve", "curves and bars of plots")                                                  \
    L(FINDING, "finding", "signs of findings")                                                     \
    L(CODE, "code", "machine-readable codes")                                                      \
    L(BOARD, "board", "edges of boards, datum, scale bars, register marks")                        \
    L(BUNDLE, "bundle", "arms of a harness at their outer diameter")                               \
    L(MIDDLE, "middle", "middle lines of arms: their true lengths")                                \
    L(NAIL, "nail", "nails and ties")

typedef enum DrawLayer {
#define DRAW_LAYER_ID(id, name, what) LAYER_##id,
    DRAW_LAYERS(DRAW_LAYER_ID)
#undef DRAW_LAYER_ID
        LAYER_COUNT
} DrawLayer;

const char *draw_layer_name(DrawLayer layer);

typedef enum DrawDash { DASH_NONE, DASH_HIDDEN, DASH_AXIS } DrawDash;
typedef enum DrawAlign { ALIGN_LEFT, ALIGN_MIDDLE, ALIGN_RIGHT } DrawAlign;

typedef struct DrawPoint {
    double x_mm;
    double y_mm;
} DrawPoint;

typedef struct DrawBox {
    double left_mm;
    double top_mm;
    double right_mm;
    double bottom_mm;
} DrawBox;

typedef enum DrawKind {
    DRAW_PATH,  /* points joined in order; drawn and/or filled */
    DRAW_ARC,   /* circle or part of one; drawn and/or filled */
    DRAW_TEXT,  /* one line of text */
    DRAW_LINK,  /* an area that leads to an anchor or, with "://" in it, out of the document */
    DRAW_ANCHOR /* a named point that links lead to */
} DrawKind;

typedef struct DrawItem {
    DrawKind kind;
    DrawLayer layer;
    TableId table;   /* the row it stands for; TABLE_COUNT: none */
    const char *key; /* "" when none */
    DrawBox box;     /* all of it: text from its ink, lines without their weight */
    /* lines */
    double weight_mm; /* 0: not drawn, only filled */
    DrawDash dash;
    uint32_t rgb; /* of line or text */
    bool filled;
    uint32_t fill_rgb;
    bool closed;
    uint32_t point_first; /* into DrawList.points; of a path; of an arc: its centre */
    uint32_t point_count;
    double radius_mm; /* arc; from and to in degrees, counter-clockwise as seen, 0 to the right */
    double from_deg;
    double to_deg;
    /* text, links, anchors */
    const char *text; /* or the anchor's name */
    const FontText *shaped;
    DrawPoint origin; /* left end of the baseline, before turning */
    double height_mm; /* of a capital */
    bool bold;
    bool turned; /* reads from the right edge: a quarter turn counter-clockwise about origin */
} DrawItem;

typedef struct DrawList {
    Arena *arena;
    DrawFonts *fonts;
    double width_mm; /* paper */
    double height_mm;
    DrawItem *items;
    size_t count;
    size_t capacity;
    DrawPoint *points;
    size_t point_count;
    size_t point_capacity;
    /* what the next items get */
    DrawLayer layer;
    TableId table;
    const char *key;
    uint32_t rgb;
    DrawDash dash;
} DrawList;

/* An empty list; ink, solid lines, layer note, no row. */
void draw_start(DrawList *list, Arena *arena, DrawFonts *fonts, double width_mm, double height_mm);

/* --- what the next items get --------------------------------------------------------------------
 */

void draw_layer(DrawList *list, DrawLayer layer);
/* The row the next items stand for; `key` is kept, not copied. draw_row(list, TABLE_COUNT, "") ends
 * it. */
void draw_row(DrawList *list, TableId table, const char *key);
void draw_rgb(DrawList *list, uint32_t rgb);
void draw_dash(DrawList *list, DrawDash dash);

/* --- lines --------------------------------------------------------------------------------------
 */

void draw_line(DrawList *list, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
               double weight_mm);
/* points are copied. */
void draw_path(DrawList *list, const DrawPoint *points, size_t count, bool closed,
               double weight_mm);
void draw_rectangle(DrawList *list, DrawBox box, double weight_mm);
void draw_circle(DrawList *list, double x_mm, double y_mm, double radius_mm, double weight_mm);
/* From and to in degrees, counter-clockwise as seen on paper, 0 to the right; to > from. */
void draw_arc(DrawList *list, double x_mm, double y_mm, double radius_mm, double from_deg,
              double to_deg, double weight_mm);

/* Filled shapes in the list's colour, without outline. */
void draw_fill(DrawList *list, const DrawPoint *points, size_t count);
void draw_fill_rectangle(DrawList *list, DrawBox box);
void draw_disc(DrawList *list, double x_mm, double y_mm, double radius_mm);
/* Filled in `fill_rgb`, outlined in the list's colour. */
void draw_fill_outlined(DrawList *list, const DrawPoint *points, size_t count, uint32_t fill_rgb,
                        double weight_mm);
void draw_disc_outlined(DrawList *list, double x_mm, double y_mm, double radius_mm,
                        uint32_t fill_rgb, double weight_mm);

/* --- text ---------------------------------------------------------------------------------------
 */

/* `x_mm`, `y_mm`: of the baseline at its left end, middle or right end by `align`. Turned text
 * reads from the right edge of the sheet (upwards); x is then its baseline and y runs up along it.
 * Returns the width. "" draws nothing. The text is kept, not copied. */
typedef struct DrawTextStyle {
    double height_mm; /* of a capital */
    DrawAlign align;
    bool bold;
    bool turned;
} DrawTextStyle;

double draw_text(DrawList *list, double x_mm, double y_mm, DrawTextStyle style, const char *text);

/* The same, shortened by "..." to what fits `width_mm`. */
double draw_text_fit(DrawList *list, double x_mm, double y_mm, DrawTextStyle style,
                     const char *text, double width_mm);

double draw_text_width(DrawList *list, DrawTextStyle style, const char *text);

/* --- links --------------------------------------------------------------------------------------
 */

/* Clicking in `box` leads to the anchor `name`. A name nobody anchors is our own error when a book
 * is closed. The texts are kept, not copied. */
void draw_link(DrawList *list, DrawBox box, const char *name);
void draw_anchor(DrawList *list, const char *name, double x_mm, double y_mm);

/* --- asking -------------------------------------------------------------------------------------
 */

static inline const DrawPoint *draw_points(const DrawList *list, const DrawItem *item) {
    return &list->points[item->point_first];
}

#endif
