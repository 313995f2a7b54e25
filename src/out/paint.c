#include "out/paint.h"

#include "base/check.h"
#include "base/units.h"

/* What the context was told last: cairo does work for every word it is told. */
typedef struct Painter {
    cairo_t *cairo;
    const DrawList *list;
    bool text_kept;
    uint32_t rgb;
    const DrawItem *line; /* the lines of the path so far are drawn as this one; NULL: none */
    cairo_glyph_t *glyphs;
    size_t glyph_capacity;
} Painter;

static void set_rgb(Painter *painter, uint32_t rgb) {
    if (painter->rgb != rgb) {
        painter->rgb = rgb;
        cairo_set_source_rgb(painter->cairo, (double)(rgb >> 16 & 0xFFu) / 255.0,
                             (double)(rgb >> 8 & 0xFFu) / 255.0, (double)(rgb & 0xFFu) / 255.0);
    }
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

/* --- lines --------------------------------------------------------------------------------------
 */

static void stroke(Painter *painter, const DrawItem *item) {
    set_rgb(painter, item->rgb);
    set_dash(painter->cairo, item->dash);
    cairo_set_line_width(painter->cairo, item->weight_mm);
    cairo_stroke(painter->cairo);
}

/* Draws the lines that wait. */
static void flush_lines(Painter *painter) {
    if (painter->line != NULL) {
        stroke(painter, painter->line);
        painter->line = NULL;
    }
}

static bool same_line(const DrawItem *left, const DrawItem *right) {
    return left->weight_mm == right->weight_mm && left->dash == right->dash &&
           left->rgb == right->rgb;
}

static void add_path(Painter *painter, const DrawItem *item) {
    cairo_t *cairo = painter->cairo;
    const DrawPoint *points = draw_points(painter->list, item);
    if (item->kind == DRAW_ARC) {
        cairo_new_sub_path(cairo);
        cairo_arc_negative(cairo, points[0].x_mm, points[0].y_mm, item->radius_mm,
                           -units_rad_from_deg(item->from_deg), -units_rad_from_deg(item->to_deg));
    } else {
        cairo_move_to(cairo, points[0].x_mm, points[0].y_mm);
        for (uint32_t i = 1; i < item->point_count; i++) {
            cairo_line_to(cairo, points[i].x_mm, points[i].y_mm);
        }
    }
    if (item->closed) {
        cairo_close_path(cairo);
    }
}

/* Lines of one look wait for each other and are drawn as one path, which cairo takes several times
 * faster. A filled shape may hide them, so they are drawn before it. They may come after a text
 * that stood before them: no line crosses a text. */
static void paint_lines(Painter *painter, const DrawItem *item) {
    if (painter->line != NULL && (item->filled || !same_line(painter->line, item))) {
        flush_lines(painter);
    }
    add_path(painter, item);
    if (!item->filled) {
        painter->line = item;
        return;
    }
    set_rgb(painter, item->fill_rgb);
    if (item->weight_mm > 0.0) {
        cairo_fill_preserve(painter->cairo);
        stroke(painter, item);
    } else {
        cairo_fill(painter->cairo);
    }
}

/* --- text ---------------------------------------------------------------------------------------
 */

/* The glyphs of a run at their places on paper. Places are worked out here and the context stays as
 * it is, for cairo looks a face up anew after every change of its matrix. */
static const cairo_glyph_t *placed(Painter *painter, const DrawItem *item, const FontRun *run,
                                   double size_mm) {
    if (run->glyph_count > painter->glyph_capacity) {
        cairo_glyph_free(painter->glyphs);
        painter->glyph_capacity = 2 * run->glyph_count;
        painter->glyphs = cairo_glyph_allocate((int)painter->glyph_capacity);
        CHECK(painter->glyphs != NULL);
    }
    for (size_t i = 0; i < run->glyph_count; i++) {
        double along_mm = run->glyphs[i].x * size_mm;
        double down_mm = run->glyphs[i].y * size_mm;
        painter->glyphs[i] = (cairo_glyph_t){
            .index = run->glyphs[i].index,
            .x = item->origin.x_mm + (item->turned ? down_mm : along_mm),
            .y = item->origin.y_mm + (item->turned ? -along_mm : down_mm),
        };
    }
    return painter->glyphs;
}

static void paint_text(Painter *painter, const DrawItem *item) {
    cairo_t *cairo = painter->cairo;
    double size_mm = fonts_size_mm(painter->list->fonts, item->height_mm);
    cairo_matrix_t matrix;
    cairo_matrix_init(&matrix, item->turned ? 0.0 : size_mm, item->turned ? -size_mm : 0.0,
                      item->turned ? size_mm : 0.0, item->turned ? 0.0 : size_mm, 0.0, 0.0);
    if (!painter->text_kept) {
        flush_lines(painter); /* their path would be taken for the text's */
    }
    set_rgb(painter, item->rgb);
    cairo_set_font_matrix(cairo, &matrix);
    for (size_t i = 0; i < item->shaped->run_count; i++) {
        const FontRun *run = &item->shaped->runs[i];
        const cairo_glyph_t *glyphs = placed(painter, item, run, size_mm);
        cairo_set_font_face(cairo, run->face);
        if (painter->text_kept) {
            cairo_show_text_glyphs(cairo, run->text, (int)run->length, glyphs,
                                   (int)run->glyph_count, run->clusters, (int)run->cluster_count,
                                   run->backward ? CAIRO_TEXT_CLUSTER_FLAG_BACKWARD : 0);
        } else {
            /* As outlines: glyphs of their own would be set on whole pixels. */
            cairo_glyph_path(cairo, glyphs, (int)run->glyph_count);
            cairo_fill(cairo);
        }
    }
}

/* --- sheets -------------------------------------------------------------------------------------
 */

void paint_list(cairo_t *cairo, const DrawList *list, bool text_kept) {
    Painter painter = {.cairo = cairo, .list = list, .text_kept = text_kept, .rgb = UINT32_MAX};
    /* A page that is white first lets cairo take everything above it as opaque: 25 times faster. */
    set_rgb(&painter, STYLE_PAPER);
    cairo_paint(cairo);
    cairo_set_line_cap(cairo, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_MITER);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(cairo, options);
    cairo_font_options_destroy(options);
    cairo_new_path(cairo);
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        switch (item->kind) {
        case DRAW_PATH:
        case DRAW_ARC:
            paint_lines(&painter, item);
            break;
        case DRAW_TEXT:
            paint_text(&painter, item);
            break;
        case DRAW_LINK:
        case DRAW_ANCHOR:
            break;
        }
    }
    flush_lines(&painter);
    cairo_glyph_free(painter.glyphs);
}
