#include "draw/list.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"

const char *draw_layer_name(DrawLayer layer) {
    static const char *const NAMES[] = {
#define DRAW_LAYER_NAME(id, name, what) name,
        DRAW_LAYERS(DRAW_LAYER_NAME)
#undef DRAW_LAYER_NAME
    };
    CHECK(layer < LAYER_COUNT);
    return NAMES[layer];
}

void draw_start(DrawList *list, Arena *arena, DrawFonts *fonts, double width_mm, double height_mm) {
    *list = (DrawList){
        .arena = arena,
        .fonts = fonts,
        .width_mm = width_mm,
        .height_mm = height_mm,
        .layer = LAYER_NOTE,
        .table = TABLE_COUNT,
        .key = "",
        .rgb = STYLE_INK,
    };
}

/* --- what the next items get --------------------------------------------------------------------
 */

void draw_layer(DrawList *list, DrawLayer layer) {
    list->layer = layer;
}

void draw_row(DrawList *list, TableId table, const char *key) {
    list->table = table;
    list->key = key;
}

void draw_rgb(DrawList *list, uint32_t rgb) {
    list->rgb = rgb;
}

void draw_dash(DrawList *list, DrawDash dash) {
    list->dash = dash;
}

static DrawItem *add(DrawList *list, DrawKind kind) {
    DrawItem *item = ARENA_PUSH(list->arena, list->items, list->count, list->capacity);
    *item = (DrawItem){
        .kind = kind,
        .layer = list->layer,
        .table = list->table,
        .key = list->key,
        .rgb = list->rgb,
        .dash = list->dash,
        .text = "",
    };
    return item;
}

static void add_points(DrawList *list, DrawItem *item, const DrawPoint *points, size_t count) {
    CHECK(count > 0);
    item->point_first = (uint32_t)list->point_count;
    item->point_count = (uint32_t)count;
    DrawBox box = {points[0].x_mm, points[0].y_mm, points[0].x_mm, points[0].y_mm};
    for (size_t i = 0; i < count; i++) {
        CHECK(isfinite(points[i].x_mm) && isfinite(points[i].y_mm));
        *ARENA_PUSH(list->arena, list->points, list->point_count, list->point_capacity) = points[i];
        box.left_mm = fmin(box.left_mm, points[i].x_mm);
        box.right_mm = fmax(box.right_mm, points[i].x_mm);
        box.top_mm = fmin(box.top_mm, points[i].y_mm);
        box.bottom_mm = fmax(box.bottom_mm, points[i].y_mm);
    }
    item->box = box;
}

/* --- lines and filled shapes --------------------------------------------------------------------
 */

static DrawItem *add_path(DrawList *list, const DrawPoint *points, size_t count, bool closed,
                          double weight_mm) {
    DrawItem *item = add(list, DRAW_PATH);
    item->closed = closed;
    item->weight_mm = weight_mm;
    add_points(list, item, points, count);
    return item;
}

static DrawItem *add_arc(DrawList *list, double x_mm, double y_mm, double radius_mm,
                         double from_deg, double to_deg, double weight_mm) {
    DrawItem *item = add(list, DRAW_ARC);
    item->closed = to_deg - from_deg >= 360.0;
    item->weight_mm = weight_mm;
    item->radius_mm = radius_mm;
    item->from_deg = from_deg;
    item->to_deg = to_deg;
    add_points(list, item, &(DrawPoint){x_mm, y_mm}, 1);
    item->box = (DrawBox){x_mm - radius_mm, y_mm - radius_mm, x_mm + radius_mm, y_mm + radius_mm};
    return item;
}

static DrawItem *fill(DrawItem *item, uint32_t rgb) {
    item->filled = true;
    item->fill_rgb = rgb;
    return item;
}

void draw_line(DrawList *list, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
               double weight_mm) {
    add_path(list, (DrawPoint[]){{x1_mm, y1_mm}, {x2_mm, y2_mm}}, 2, false, weight_mm);
}

void draw_path(DrawList *list, const DrawPoint *points, size_t count, bool closed,
               double weight_mm) {
    add_path(list, points, count, closed, weight_mm);
}

void draw_rectangle(DrawList *list, DrawBox box, double weight_mm) {
    DrawPoint corners[] = {{box.left_mm, box.top_mm},
                           {box.right_mm, box.top_mm},
                           {box.right_mm, box.bottom_mm},
                           {box.left_mm, box.bottom_mm}};
    add_path(list, corners, 4, true, weight_mm);
}

void draw_circle(DrawList *list, double x_mm, double y_mm, double radius_mm, double weight_mm) {
    add_arc(list, x_mm, y_mm, radius_mm, 0.0, 360.0, weight_mm);
}

void draw_arc(DrawList *list, double x_mm, double y_mm, double radius_mm, double from_deg,
              double to_deg, double weight_mm) {
    CHECK(to_deg > from_deg);
    DrawItem *item = add_arc(list, x_mm, y_mm, radius_mm, from_deg, to_deg, weight_mm);
    /* The box of the arc alone: its ends, and every quarter it passes. */
    DrawBox box = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    double stops[8] = {from_deg, to_deg};
    size_t count = 2;
    for (double quarter = ceil(from_deg / 90.0) * 90.0; quarter <= to_deg && count < 8;
         quarter += 90.0) {
        stops[count++] = quarter;
    }
    for (size_t i = 0; i < count; i++) {
        double x = x_mm + radius_mm * cos(units_rad_from_deg(stops[i]));
        double y = y_mm - radius_mm * sin(units_rad_from_deg(stops[i]));
        box.left_mm = fmin(box.left_mm, x);
        box.right_mm = fmax(box.right_mm, x);
        box.top_mm = fmin(box.top_mm, y);
        box.bottom_mm = fmax(box.bottom_mm, y);
    }
    item->box = box;
}

void draw_fill(DrawList *list, const DrawPoint *points, size_t count) {
    fill(add_path(list, points, count, true, 0.0), list->rgb);
}

void draw_fill_rectangle(DrawList *list, DrawBox box) {
    draw_rectangle(list, box, 0.0);
    fill(&list->items[list->count - 1], list->rgb);
}

void draw_disc(DrawList *list, double x_mm, double y_mm, double radius_mm) {
    fill(add_arc(list, x_mm, y_mm, radius_mm, 0.0, 360.0, 0.0), list->rgb);
}

void draw_fill_outlined(DrawList *list, const DrawPoint *points, size_t count, uint32_t fill_rgb,
                        double weight_mm) {
    fill(add_path(list, points, count, true, weight_mm), fill_rgb);
}

void draw_disc_outlined(DrawList *list, double x_mm, double y_mm, double radius_mm,
                        uint32_t fill_rgb, double weight_mm) {
    fill(add_arc(list, x_mm, y_mm, radius_mm, 0.0, 360.0, weight_mm), fill_rgb);
}

/* --- text ---------------------------------------------------------------------------------------
 */

double draw_text_width(DrawList *list, DrawTextStyle style, const char *text) {
    return fonts_width_mm(list->fonts, text, style.height_mm, style.bold);
}

double draw_text(DrawList *list, double x_mm, double y_mm, DrawTextStyle style, const char *text) {
    if (*text == '\0') {
        return 0.0;
    }
    DrawItem *item = add(list, DRAW_TEXT);
    item->shaped = fonts_shape(list->fonts, text, style.bold);
    item->text = item->shaped->text;
    item->height_mm = style.height_mm;
    item->bold = style.bold;
    item->turned = style.turned;
    double size_mm = fonts_size_mm(list->fonts, style.height_mm);
    double width_mm = item->shaped->advance_em * size_mm;
    double before_mm = style.align == ALIGN_LEFT     ? 0.0
                       : style.align == ALIGN_MIDDLE ? width_mm / 2.0
                                                     : width_mm;
    double above_mm = item->shaped->above_em * size_mm;
    double below_mm = item->shaped->below_em * size_mm;
    if (style.turned) {
        item->origin = (DrawPoint){x_mm, y_mm + before_mm};
        item->box = (DrawBox){x_mm - above_mm, item->origin.y_mm - width_mm, x_mm + below_mm,
                              item->origin.y_mm};
    } else {
        item->origin = (DrawPoint){x_mm - before_mm, y_mm};
        item->box = (DrawBox){item->origin.x_mm, y_mm - above_mm, item->origin.x_mm + width_mm,
                              y_mm + below_mm};
    }
    return width_mm;
}

double draw_text_fit(DrawList *list, double x_mm, double y_mm, DrawTextStyle style,
                     const char *text, double width_mm) {
    return draw_text(
        list, x_mm, y_mm, style,
        fonts_fit(list->fonts, list->arena, text, style.height_mm, style.bold, width_mm));
}

/* --- links --------------------------------------------------------------------------------------
 */

void draw_link(DrawList *list, DrawBox box, const char *name) {
    DrawItem *item = add(list, DRAW_LINK);
    item->box = box;
    item->text = name;
}

void draw_anchor(DrawList *list, const char *name, double x_mm, double y_mm) {
    DrawItem *item = add(list, DRAW_ANCHOR);
    item->text = name;
    item->origin = (DrawPoint){x_mm, y_mm};
    item->box = (DrawBox){x_mm, y_mm, x_mm, y_mm};
}
