#include "out/paint.h"

#include "base/units.h"

static void set_rgb(cairo_t *cairo, uint32_t rgb) {
    cairo_set_source_rgb(cairo, (double)(rgb >> 16 & 0xFFu) / 255.0,
                         (double)(rgb >> 8 & 0xFFu) / 255.0, (double)(rgb & 0xFFu) / 255.0);
}

static void set_dash(cairo_t *cairo, DrawDash dash) {
    static const double HIDDEN[] = {STYLE_DASH_ON_MM, STYLE_DASH_OFF_MM};
    static const double AXIS[] = {3.0 * STYLE_DASH_ON_MM, STYLE_DASH_OFF_MM,
                                  STYLE_DASH_OFF_MM / 3.0, STYLE_DASH_OFF_MM};
    switch (dash) {
    case DASH_NONE:
        cairo_set_dash(cairo, NULL, 0, 0.0);
        break;
    case DASH_HIDDEN:
        cairo_set_dash(cairo, HIDDEN, 2, 0.0);
        break;
    case DASH_AXIS:
        cairo_set_dash(cairo, AXIS, 4, 0.0);
        break;
    }
}

/* Fills and draws the path that the context holds. */
static void ink(cairo_t *cairo, const DrawItem *item) {
    if (item->filled) {
        set_rgb(cairo, item->fill_rgb);
        cairo_fill_preserve(cairo);
    }
    if (item->weight_mm > 0.0) {
        set_rgb(cairo, item->rgb);
        set_dash(cairo, item->dash);
        cairo_set_line_width(cairo, item->weight_mm);
        cairo_stroke(cairo);
    }
    cairo_new_path(cairo);
}

static void paint_path(cairo_t *cairo, const DrawList *list, const DrawItem *item) {
    const DrawPoint *points = draw_points(list, item);
    cairo_move_to(cairo, points[0].x_mm, points[0].y_mm);
    for (uint32_t i = 1; i < item->point_count; i++) {
        cairo_line_to(cairo, points[i].x_mm, points[i].y_mm);
    }
    if (item->closed) {
        cairo_close_path(cairo);
    }
    ink(cairo, item);
}

static void paint_arc(cairo_t *cairo, const DrawList *list, const DrawItem *item) {
    DrawPoint centre = *draw_points(list, item);
    cairo_new_sub_path(cairo);
    cairo_arc_negative(cairo, centre.x_mm, centre.y_mm, item->radius_mm,
                       -units_rad_from_deg(item->from_deg), -units_rad_from_deg(item->to_deg));
    if (item->closed) {
        cairo_close_path(cairo);
    }
    ink(cairo, item);
}

static void paint_text(cairo_t *cairo, const DrawList *list, const DrawItem *item, bool text_kept) {
    set_rgb(cairo, item->rgb);
    cairo_save(cairo);
    cairo_translate(cairo, item->origin.x_mm, item->origin.y_mm);
    if (item->turned) {
        cairo_rotate(cairo, -UNITS_PI / 2.0);
    }
    double size_mm = fonts_size_mm(list->fonts, item->height_mm);
    cairo_scale(cairo, size_mm, size_mm);
    for (size_t i = 0; i < item->shaped->run_count; i++) {
        const FontRun *run = &item->shaped->runs[i];
        cairo_set_font_face(cairo, run->face);
        cairo_set_font_size(cairo, 1.0);
        if (text_kept) {
            cairo_show_text_glyphs(cairo, run->text, (int)run->length, run->glyphs,
                                   (int)run->glyph_count, run->clusters, (int)run->cluster_count,
                                   run->backward ? CAIRO_TEXT_CLUSTER_FLAG_BACKWARD : 0);
        } else {
            /* As outlines: glyphs of their own would be set on whole pixels. */
            cairo_glyph_path(cairo, run->glyphs, (int)run->glyph_count);
            cairo_fill(cairo);
        }
    }
    cairo_restore(cairo);
}

void paint_list(cairo_t *cairo, const DrawList *list, bool text_kept) {
    /* A page that is white first lets cairo take everything above it as opaque: 25 times faster. */
    set_rgb(cairo, STYLE_PAPER);
    cairo_paint(cairo);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_MITER);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(cairo, options);
    cairo_font_options_destroy(options);
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        switch (item->kind) {
        case DRAW_PATH:
            paint_path(cairo, list, item);
            break;
        case DRAW_ARC:
            paint_arc(cairo, list, item);
            break;
        case DRAW_TEXT:
            paint_text(cairo, list, item, text_kept);
            break;
        case DRAW_LINK:
        case DRAW_ANCHOR:
            break;
        }
    }
}
