/* Method: the page is painted back to front: room, plate with its coat under soft light, bands and
 * letters, then what is mounted, lower things first. The same painter serves every kind of file;
 * cairo writes them. */
#include "out/portrait.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/check.h"
#include "base/file.h"
#include "base/units.h"
#include "out/paint.h"
#include "out/png.h"
#include "out/portrait_inner.h"

#define POINTS_PER_MM (72.0 / 25.4)

/* Shares of the page's width. */
#define MARGIN_SHARE 0.055
#define TITLE_SHARE 0.0145
#define CAPTION_SHARE 0.0098
#define SMALL_SHARE 0.0062

/* --- plate --------------------------------------------------------------------------------------
 */

/* Grain of a coat: grey points of many strengths, the same every time. */
static cairo_pattern_t *grain(void) {
    enum { SIDE = 128 };
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, SIDE, SIDE);
    unsigned char *bytes = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface);
    uint32_t state = 0x2545F491u;
    cairo_surface_flush(surface);
    for (int y = 0; y < SIDE; y++) {
        for (int x = 0; x < SIDE; x++) {
            state = state * 1664525u + 1013904223u;
            uint32_t strength = (state >> 24) % 26u;
            bool light = (state >> 16 & 1u) != 0;
            uint32_t part = light ? strength : 0;
            uint32_t pixel = strength << 24 | part << 16 | part << 8 | part;
            memcpy(bytes + y * stride + 4 * x, &pixel, sizeof pixel);
        }
    }
    cairo_surface_mark_dirty(surface);
    cairo_pattern_t *pattern = cairo_pattern_create_for_surface(surface);
    cairo_surface_destroy(surface);
    cairo_pattern_set_extend(pattern, CAIRO_EXTEND_REPEAT);
    cairo_matrix_t matrix;
    cairo_matrix_init_scale(&matrix, 1.0 / 0.30, 1.0 / 0.30); /* a point is 0.3 mm */
    cairo_pattern_set_matrix(pattern, &matrix);
    return pattern;
}

static Contour seen_contour(const Portrait *portrait, const PanelContour *contour, bool rear) {
    Contour path = cut_contour(portrait->brush.arena, contour);
    ContourMove move = {.mirrored = rear};
    return rear ? contour_moved(portrait->brush.arena, &path, &move) : path;
}

void portrait_plate(const Portrait *portrait, bool rear) {
    const Brush *brush = &portrait->brush;
    cairo_t *cairo = brush->cairo;
    const PanelFace *plate = &portrait->panel->faces[portrait->face];
    Contour edge = seen_contour(portrait, &plate->outline, rear);
    ContourBox box = contour_box(&edge);
    double w = box.right_mm - box.left_mm;
    double h = box.top_mm - box.bottom_mm;
    uint32_t rgb = rear ? brush_shade(portrait->look->rgb, -0.12) : portrait->look->rgb;
    brush_contour(brush, &edge);
    brush_shadow_at(brush, 0.0030 * w, 0.0075 * w, 0.048 * w, 0.30);
    brush_contour(brush, &edge);
    brush_shadow_at(brush, 0.0015 * w, 0.0035 * w, 0.014 * w, 0.36);
    brush_contour(brush, &edge);
    brush_shadow_at(brush, 0.0006 * w, 0.0012 * w, 0.004 * w, 0.40);
    brush_contour(brush, &edge);
    double gloss = portrait->look->gloss_pct / 100.0;
    brush_fill_along_3(brush, box.left_mm + 0.25 * w, box.top_mm, box.left_mm + 0.45 * w,
                       box.bottom_mm, brush_shade(rgb, 0.13 + 0.10 * gloss), rgb,
                       brush_shade(rgb, -0.16));
    brush_fill_glow(brush, box.left_mm + 0.30 * w, box.top_mm + 0.15 * h, 0.62 * w, 0xFFFFFFu,
                    0.10 + 0.16 * gloss);
    const FinishRow *finish = portrait->look->finish;
    if (finish != NULL && strcmp(finish->process, "powder") == 0) {
        cairo_pattern_t *points = grain();
        cairo_set_source(cairo, points);
        cairo_fill_preserve(cairo);
        cairo_pattern_destroy(points);
    }
    cairo_save(cairo);
    cairo_clip_preserve(cairo);
    brush_stroke_along(brush, box.left_mm, box.top_mm, box.left_mm + 0.2 * w, box.bottom_mm,
                       0xFFFFFFu, 0x000000u, 0.55, 2.2);
    brush_stroke_along(brush, box.left_mm, box.top_mm, box.left_mm + 0.2 * w, box.bottom_mm,
                       0xFFFFFFu, 0x000000u, 0.35, 0.9);
    cairo_restore(cairo);
    cairo_new_path(cairo);
    for (uint32_t i = 0; i < plate->hole_count; i++) {
        const PanelHole *hole = &portrait->panel->holes[plate->hole_first + i];
        bool open =
            hole->item == ID_NONE || !panel_look_shows(portrait->panel, portrait->look, hole->item);
        if (hole->item != ID_NONE && open) {
            continue; /* an option left out is not cut */
        }
        if (open) {
            Contour path = seen_contour(portrait, &hole->contour, rear);
            brush_contour(brush, &path);
            brush_fill(brush, HOLE_RGB, 0.92);
            brush_inner_shadow(brush, 1.6, 0.6);
            cairo_new_path(cairo);
        }
    }
    for (uint32_t i = 0; i < plate->bend_count; i++) {
        const PanelBend *bend = &portrait->panel->bends[plate->bend_first + i];
        double side = rear ? -1.0 : 1.0;
        cairo_new_path(cairo);
        cairo_move_to(cairo, side * bend->from.u_mm, bend->from.v_mm);
        cairo_line_to(cairo, side * bend->to.u_mm, bend->to.v_mm);
        brush_stroke(brush, 0x000000u, 0.20, 2.4);
        brush_stroke(brush, 0xFFFFFFu, 0.22, 0.8);
        cairo_new_path(cairo);
    }
}

/* --- letters and bands --------------------------------------------------------------------------
 */

static const FinishRow *finish_of(const TableSet *set, const char *key) {
    for (size_t i = 0; i < set->finish.count; i++) {
        if (strcmp(set->finish.rows[i].finish, key) == 0) {
            return &set->finish.rows[i];
        }
    }
    return NULL;
}

/* "yellow and black": stripes. */
static bool has_two_colours(const FinishRow *finish) {
    return strstr(finish->name, " and ") != NULL;
}

/* A painted band around an opening; of two colours it is striped. */
static void draw_band(const Portrait *portrait, const PanelContour *band, const FinishRow *finish) {
    const Brush *brush = &portrait->brush;
    uint32_t rgb = 0xE0B420u;
    brush_rgb(finish->srgb, &rgb);
    Contour path = cut_contour(brush->arena, band);
    ContourBox box = contour_box(&path);
    cairo_save(brush->cairo);
    brush_contour(brush, &path);
    brush_fill_along(brush, box.left_mm, box.top_mm, box.right_mm, box.bottom_mm,
                     brush_shade(rgb, 0.15), brush_shade(rgb, -0.12));
    cairo_clip(brush->cairo);
    if (has_two_colours(finish)) {
        double high = box.top_mm - box.bottom_mm;
        int stripes = (int)((box.right_mm - box.left_mm + high) / 12.0) + 1;
        for (int i = 0; i < stripes; i++) {
            double at = box.left_mm - high + 12.0 * i;
            double xy[] = {at,         box.bottom_mm, at + 6.0,  box.bottom_mm, at + 6.0 + high,
                           box.top_mm, at + high,     box.top_mm};
            brush_polygon(brush, xy, 4);
            brush_fill(brush, 0x1A1A1Au, 1.0);
        }
    }
    cairo_restore(brush->cairo);
    cairo_new_path(brush->cairo);
}

static void draw_bands(const Portrait *portrait) {
    const Panel *panel = portrait->panel;
    const TableSet *set = panel->model->set;
    for (size_t i = 0; i < set->panel_coat.count; i++) {
        const PanelCoatRow *coat = &set->panel_coat.rows[i];
        const FinishRow *finish = finish_of(set, coat->finish);
        PanelContour band;
        uint32_t item = ID_NONE;
        if (finish != NULL && strcmp(coat->face, panel->faces[portrait->face].key) == 0 &&
            panel_band(portrait->brush.arena, panel, (uint32_t)i, &band, &item)) {
            draw_band(portrait, &band, finish);
        }
    }
}

static void draw_legends(const Portrait *portrait) {
    const Brush *brush = &portrait->brush;
    const Panel *panel = portrait->panel;
    const PanelFace *plate = &panel->faces[portrait->face];
    for (uint32_t i = 0; i < plate->text_count; i++) {
        const PanelText *text = &panel->texts[plate->text_first + i];
        if (text->item != ID_NONE && !panel_look_shows(panel, portrait->look, text->item)) {
            continue;
        }
        ContourList letters = {0};
        cut_legend(brush->arena, brush->fonts, panel, text, &letters);
        cairo_new_path(brush->cairo);
        for (int pass = 0; pass < 2; pass++) { /* a mark in a coat has a lit lower edge */
            cairo_save(brush->cairo);
            cairo_translate(brush->cairo, pass == 0 ? 0.10 : 0.0, pass == 0 ? -0.14 : 0.0);
            brush_contours(brush, &letters);
            cairo_restore(brush->cairo);
            brush_fill(brush,
                       pass == 0 ? brush_shade(portrait->look->rgb, -0.55)
                                 : portrait->look->mark_rgb,
                       pass == 0 ? 0.55 : 1.0);
            cairo_new_path(brush->cairo);
        }
    }
}

/* --- front --------------------------------------------------------------------------------------
 */

typedef struct Layered {
    uint32_t item;
    double high_mm;
} Layered;

static int compare_layered(const void *left, const void *right) {
    const Layered *l = left;
    const Layered *r = right;
    if (l->high_mm != r->high_mm) {
        return l->high_mm < r->high_mm ? -1 : 1;
    }
    return l->item < r->item ? -1 : l->item > r->item;
}

static void paint_front(const Portrait *portrait) {
    const Panel *panel = portrait->panel;
    const PanelFace *plate = &panel->faces[portrait->face];
    portrait_plate(portrait, false);
    draw_bands(portrait);
    draw_legends(portrait);
    Layered *order = ARENA_ARRAY(portrait->brush.arena, Layered, (size_t)plate->item_count + 1);
    size_t count = 0;
    for (uint32_t i = 0; i < plate->item_count; i++) {
        uint32_t item = plate->item_first + i;
        if (panel_look_shows(panel, portrait->look, item)) {
            double high_mm = panel->items[item].bezel_high_mm;
            order[count++] = (Layered){item, isnan(high_mm) ? 0.0 : high_mm};
        }
    }
    qsort(order, count, sizeof *order, compare_layered);
    for (size_t i = 0; i < count; i++) {
        portrait_item(portrait, order[i].item);
    }
}

PanelBox portrait_extent(const Panel *panel, uint32_t face, PortraitView view) {
    const PanelFace *plate = &panel->faces[face];
    PanelBox box = plate->outline.box;
    if (view == PORTRAIT_FRONT) {
        return box;
    }
    if (view == PORTRAIT_REAR) {
        return (PanelBox){-box.u1_mm, -box.u0_mm, box.v0_mm, box.v1_mm};
    }
    double deep_mm = 100.0;
    double high_mm = 20.0;
    for (uint32_t i = 0; i < plate->item_count; i++) {
        const PanelItem *item = &panel->items[plate->item_first + i];
        for (uint32_t j = 0; j < item->body_count; j++) {
            deep_mm = fmax(deep_mm, panel->bodies[item->body_first + j].to_mm);
        }
        for (uint32_t j = 0; j < item->front_count; j++) {
            high_mm = fmax(high_mm, panel->fronts[item->front_first + j].high_mm);
        }
    }
    double lean_mm = fabs(tan(plate->tilt_rad)) * (box.v1_mm - box.v0_mm);
    return (PanelBox){-deep_mm - lean_mm - 40.0, high_mm + lean_mm + 30.0, box.v0_mm - 20.0,
                      box.v1_mm + 20.0};
}

void portrait_paint_shot(const Brush *brush, const Panel *panel, const PortraitShot *shot,
                         double left_mm, double bottom_mm, double width_mm, double height_mm) {
    PanelBox box = portrait_extent(panel, shot->face, shot->view);
    double w = box.u1_mm - box.u0_mm;
    double h = box.v1_mm - box.v0_mm;
    double scale = fmin(width_mm / w, height_mm / h);
    cairo_t *cairo = brush->cairo;
    Portrait portrait = {*brush, panel, shot->face, &shot->look};
    cairo_save(cairo);
    cairo_translate(cairo, left_mm + (width_mm - scale * w) / 2.0,
                    bottom_mm + (height_mm - scale * h) / 2.0);
    cairo_scale(cairo, scale, scale);
    cairo_translate(cairo, -box.u0_mm, -box.v0_mm);
    switch (shot->view) {
    case PORTRAIT_FRONT:
        paint_front(&portrait);
        if (shot->before != NULL) {
            portrait_changes(&portrait, shot);
        }
        break;
    case PORTRAIT_REAR:
        portrait_rear(&portrait);
        break;
    case PORTRAIT_SIDE:
        portrait_side(&portrait, shot->section_u_mm);
        break;
    }
    cairo_restore(cairo);
    cairo_new_path(cairo);
}

/* --- pages --------------------------------------------------------------------------------------
 */

typedef struct PageSizes {
    double width_mm;
    double height_mm;
    double margin_mm;
    double title_mm;
    double caption_mm;
    double small_mm;
    double head_mm;  /* from the top edge to the first picture */
    double strip_mm; /* height of the strip of finishes, 0: none */
    double foot_mm;
    double shot_w_mm; /* every picture's room */
    double shot_h_mm;
    double above_mm; /* captions above a picture */
    double gap_mm;
} PageSizes;

static bool has_captions(const PortraitPage *page) {
    for (size_t i = 0; i < page->count; i++) {
        if (*page->shots[i].caption != '\0') {
            return true;
        }
    }
    return false;
}

static size_t columns_of(const PortraitPage *page) {
    return page->columns == 0 ? 1 : page->columns;
}

static PageSizes sizes_of(const PortraitPage *page) {
    double w = 1.0;
    double h = 1.0;
    for (size_t i = 0; i < page->count; i++) {
        PanelBox box = portrait_extent(page->panel, page->shots[i].face, page->shots[i].view);
        w = fmax(w, box.u1_mm - box.u0_mm);
        h = fmax(h, box.v1_mm - box.v0_mm);
    }
    double columns = (double)columns_of(page);
    w = fmax(w, h * 1.25 / columns); /* a tall face gets room at its sides */
    PageSizes sizes = {.shot_w_mm = w, .shot_h_mm = h};
    double all = columns * w + (columns - 1.0) * 0.08 * w;
    sizes.width_mm = all / (1.0 - 2.0 * MARGIN_SHARE);
    sizes.margin_mm = MARGIN_SHARE * sizes.width_mm;
    sizes.title_mm = TITLE_SHARE * sizes.width_mm;
    sizes.caption_mm = CAPTION_SHARE * sizes.width_mm;
    sizes.small_mm = SMALL_SHARE * sizes.width_mm;
    sizes.head_mm = 4.6 * sizes.title_mm;
    sizes.strip_mm = page->strip ? 6.0 * sizes.caption_mm : 0.0;
    sizes.foot_mm = 5.0 * sizes.small_mm + sizes.margin_mm * 0.2;
    sizes.above_mm = has_captions(page) ? 4.4 * sizes.caption_mm : 0.0;
    sizes.gap_mm = 0.030 * sizes.width_mm;
    double used =
        sizes.head_mm + sizes.strip_mm + sizes.foot_mm +
        ceil((double)page->count / columns) * (sizes.shot_h_mm + sizes.above_mm + sizes.gap_mm);
    double screen = sizes.width_mm * 9.0 / 16.0; /* one picture fills a screen of the usual shape */
    if ((double)page->count <= columns && used < screen) {
        double more = screen - used;
        sizes.head_mm += 0.42 * more;
        sizes.gap_mm += 0.58 * more;
        used = screen;
    }
    sizes.height_mm = used;
    return sizes;
}

void portrait_size(const PortraitPage *page, double *width_mm, double *height_mm) {
    PageSizes sizes = sizes_of(page);
    *width_mm = sizes.width_mm;
    *height_mm = sizes.height_mm;
}

static bool is_surface(const FinishRow *finish) {
    return *finish->srgb != '\0' && !has_two_colours(finish) &&
           (strcmp(finish->process, "powder") == 0 || strcmp(finish->process, "paint") == 0 ||
            strcmp(finish->process, "anodise") == 0);
}

/* Every coat of the library as a chip with its name; the one on the panel in a ring. */
static void draw_strip(const Brush *brush, const PortraitPage *page, const PageSizes *sizes,
                       double top_mm) {
    const TableSet *set = page->panel->model->set;
    size_t count = 0;
    for (size_t i = 0; i < set->finish.count; i++) {
        count += is_surface(&set->finish.rows[i]) ? 1 : 0;
    }
    if (count == 0) {
        return;
    }
    double room = sizes->width_mm - 2.0 * sizes->margin_mm;
    double step = fmin(room / (double)count, 0.24 * sizes->width_mm);
    double chip_h = 2.4 * sizes->caption_mm;
    double chip_w = fmin(step * 0.30, 2.2 * chip_h);
    double x = sizes->margin_mm;
    double y = top_mm - chip_h / 2.0;
    for (size_t i = 0; i < set->finish.count; i++) {
        const FinishRow *finish = &set->finish.rows[i];
        uint32_t rgb;
        if (!is_surface(finish) || !brush_rgb(finish->srgb, &rgb)) {
            continue;
        }
        bool chosen = finish == page->shots[0].look.finish;
        double cx = x + chip_w / 2.0;
        double corner = 0.16 * chip_h;
        brush_box(brush, cx, y, chip_w, chip_h, corner);
        brush_shadow(brush, 0.06 * chip_h, 0.45);
        brush_box(brush, cx, y, chip_w, chip_h, corner);
        brush_fill_along_3(brush, x, y + chip_h / 2.0, x + chip_w, y - chip_h / 2.0,
                           brush_shade(rgb, 0.18), rgb, brush_shade(rgb, -0.18));
        if (chosen) {
            brush_box(brush, cx, y, chip_w + 0.34 * chip_h, chip_h + 0.34 * chip_h,
                      corner + 0.15 * chip_h);
            brush_stroke(brush, WORDS_RGB, 1.0, 0.07 * chip_h);
        }
        cairo_new_path(brush->cairo);
        double text_x = x + chip_w + 0.42 * chip_h;
        double room_mm = step - chip_w - 0.7 * chip_h;
        const char *name =
            fonts_fit(brush->fonts, brush->arena, finish->name, sizes->small_mm, chosen, room_mm);
        brush_text(brush, text_x, y + 0.10 * chip_h, sizes->small_mm, chosen, ALIGN_LEFT, WORDS_RGB,
                   1.0, name);
        brush_text(brush, text_x, y - 0.36 * chip_h, sizes->small_mm * 0.9, false, ALIGN_LEFT,
                   FAINT_RGB, 1.0, chosen ? "on this picture" : finish->srgb);
        x += step;
    }
}

void portrait_paint(const Brush *brush, const PortraitPage *page) {
    PageSizes sizes = sizes_of(page);
    cairo_t *cairo = brush->cairo;
    double w = sizes.width_mm;
    double h = sizes.height_mm;
    brush_box(brush, w / 2.0, h / 2.0, w, h, 0.0);
    brush_fill_along(brush, 0.0, h, 0.0, 0.0, ROOM_HIGH_RGB, ROOM_LOW_RGB);
    brush_fill_glow(brush, 0.32 * w, 0.92 * h, 0.75 * w, 0xFFFFFFu, 0.75);
    cairo_new_path(cairo);
    double top = h - 2.5 * sizes.title_mm;
    double right_mm = brush_text(brush, w - sizes.margin_mm, top, sizes.small_mm * 1.15, false,
                                 ALIGN_RIGHT, FAINT_RGB, 1.0, page->right);
    brush_text(brush, sizes.margin_mm, top, sizes.title_mm, true, ALIGN_LEFT, WORDS_RGB, 1.0,
               fonts_fit(brush->fonts, brush->arena, page->title, sizes.title_mm, true,
                         w - 2.5 * sizes.margin_mm - right_mm));
    double y = h - sizes.head_mm;
    size_t columns = columns_of(page);
    for (size_t i = 0; i < page->count; i++) {
        const PortraitShot *shot = &page->shots[i];
        double x = sizes.margin_mm + (double)(i % columns) * 1.08 * sizes.shot_w_mm;
        if (columns == 1) {
            x = (w - sizes.shot_w_mm) / 2.0;
        }
        if (sizes.above_mm > 0.0) {
            brush_text(brush, x, y - 1.4 * sizes.caption_mm, sizes.caption_mm, true, ALIGN_LEFT,
                       WORDS_RGB, 1.0, shot->caption);
            brush_text(brush, x, y - 3.1 * sizes.caption_mm, sizes.caption_mm * 0.78, false,
                       ALIGN_LEFT, FAINT_RGB, 1.0, shot->detail);
        }
        double low = y - sizes.above_mm - sizes.shot_h_mm;
        portrait_paint_shot(brush, page->panel, shot, x, low, sizes.shot_w_mm, sizes.shot_h_mm);
        if ((i + 1) % columns == 0) {
            y = low - sizes.gap_mm;
        }
    }
    if (page->strip) {
        draw_strip(brush, page, &sizes, sizes.foot_mm + 0.80 * sizes.strip_mm);
    }
    const char **lines;
    size_t count = fonts_wrap(brush->fonts, brush->arena, page->foot, sizes.small_mm * 0.92, false,
                              w - 2.0 * sizes.margin_mm, &lines);
    for (size_t i = 0; i < count && i < 3; i++) {
        brush_text(brush, sizes.margin_mm,
                   0.35 * sizes.margin_mm + (double)(count - 1 - i) * sizes.small_mm * 1.7,
                   sizes.small_mm * 0.92, false, ALIGN_LEFT, FAINT_RGB, 1.0, lines[i]);
    }
}

/* --- files --------------------------------------------------------------------------------------
 */

static cairo_status_t take_bytes(void *buffer, const unsigned char *bytes, unsigned length) {
    buffer_add(buffer, (const char *)bytes, length);
    return CAIRO_STATUS_SUCCESS;
}

/* What is painted: a page, or a sheet with pictures. */
enum { PAGES_MOST = 4 };

typedef struct Paintable {
    const PortraitPage *page; /* NULL: the sheet */
    const DrawList *list;
    const Panel *panel;
    const PortraitPlaced *pictures;
    size_t count;
    DrawFonts *fonts;
    double width_mm;
    double height_mm;
} Paintable;

static void paint_on(cairo_surface_t *surface, double units_per_mm, const Paintable *what,
                     Arena *arena) {
    bool text_kept = cairo_surface_get_type(surface) == CAIRO_SURFACE_TYPE_PDF;
    cairo_t *cairo = cairo_create(surface);
    cairo_scale(cairo, units_per_mm, units_per_mm);
    Brush brush = {cairo, arena, what->fonts};
    if (what->page == NULL) {
        paint_list(cairo, what->list, text_kept);
    }
    /* From here on y runs up from the lower left corner. */
    cairo_scale(cairo, 1.0, -1.0);
    cairo_translate(cairo, 0.0, -what->height_mm);
    if (what->page != NULL) {
        portrait_paint(&brush, what->page);
    }
    for (size_t i = 0; i < what->count; i++) {
        const DrawBox *box = &what->pictures[i].box;
        portrait_paint_shot(&brush, what->panel, &what->pictures[i].shot, box->left_mm,
                            what->height_mm - box->bottom_mm, box->right_mm - box->left_mm,
                            box->bottom_mm - box->top_mm);
    }
    cairo_destroy(cairo);
}

static bool ends_with(const char *path, const char *ending) {
    size_t length = strlen(path);
    size_t tail = strlen(ending);
    return length > tail && strcmp(path + length - tail, ending) == 0;
}

static Status write_paintables(const Paintable *what, size_t count, const char *path,
                               double pixels_per_mm) {
    Arena arena = {0};
    Buffer out = {.arena = &arena};
    double width_pt = what->width_mm * POINTS_PER_MM;
    double height_pt = what->height_mm * POINTS_PER_MM;
    cairo_surface_t *surface;
    if (ends_with(path, ".png")) {
        surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24,
                                             (int)lround(what->width_mm * pixels_per_mm),
                                             (int)lround(what->height_mm * pixels_per_mm));
        paint_on(surface, pixels_per_mm, what, &arena);
        cairo_surface_write_to_png_stream(surface, take_bytes, &out);
    } else if (ends_with(path, ".svg")) {
        surface = cairo_svg_surface_create_for_stream(take_bytes, &out, width_pt, height_pt);
        paint_on(surface, POINTS_PER_MM, what, &arena);
        cairo_surface_finish(surface);
    } else if (ends_with(path, ".pdf")) {
        surface = cairo_pdf_surface_create_for_stream(take_bytes, &out, width_pt, height_pt);
        /* The same job gives the same bytes, whatever the day. */
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                       "2000-01-01T00:00:00Z");
        for (size_t i = 0; i < count; i++) {
            paint_on(surface, POINTS_PER_MM, &what[i], &arena);
            if (i + 1 < count) {
                cairo_surface_show_page(surface);
            }
        }
        cairo_surface_finish(surface);
    } else {
        return status_failed("a picture ends in .svg, .pdf or .png", path, 0);
    }
    cairo_status_t said = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    Status status = said == CAIRO_STATUS_SUCCESS
                        ? file_write(path, out.bytes, out.length)
                        : status_failed(cairo_status_to_string(said), path, 0);
    arena_free(&arena);
    return status;
}

Status portrait_write(const PortraitPage *page, DrawFonts *fonts, const char *path, int width_px) {
    Paintable what = {.page = page, .fonts = fonts};
    portrait_size(page, &what.width_mm, &what.height_mm);
    return write_paintables(&what, 1, path, width_px / what.width_mm);
}

void portrait_png(Buffer *out, DrawFonts *fonts, const Panel *panel, const PortraitShot *shot,
                  double margin_mm, int width_px) {
    Arena arena = {0};
    PanelBox face = portrait_extent(panel, shot->face, shot->view);
    double w = face.u1_mm - face.u0_mm;
    double h = face.v1_mm - face.v0_mm;
    double pixels = width_px / (w + 2.0 * margin_mm);
    int height_px = (int)lround((h + 2.0 * margin_mm) * pixels);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width_px, height_px);
    cairo_t *cairo = cairo_create(surface);
    cairo_translate(cairo, 0.0, height_px);
    cairo_scale(cairo, pixels, -pixels);
    Brush brush = {cairo, &arena, fonts};
    portrait_paint_shot(&brush, panel, shot, margin_mm, margin_mm, w, h);
    cairo_destroy(cairo);
    cairo_surface_write_to_png_stream(surface, take_bytes, out);
    cairo_surface_destroy(surface);
    arena_free(&arena);
}

Status portrait_write_sheets(const PortraitSheet *sheets, size_t count, const Panel *panel,
                             const char *path) {
    CHECK(count > 0 && count <= PAGES_MOST);
    Paintable pages[PAGES_MOST] = {{0}};
    for (size_t i = 0; i < count; i++) {
        pages[i] = (Paintable){.list = sheets[i].list,
                               .panel = panel,
                               .pictures = sheets[i].pictures,
                               .count = sheets[i].count,
                               .fonts = sheets[i].list->fonts,
                               .width_mm = sheets[i].list->width_mm,
                               .height_mm = sheets[i].list->height_mm};
    }
    return write_paintables(pages, count, path, PNG_PIXELS_PER_MM);
}
