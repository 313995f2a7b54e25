/* Method: cairo blurs nothing, and files for the browser must stay small; so a soft shadow is a
 * filled shape with strokes of growing width and little strength around it, which is the same to
 * the eye. */
#include "out/brush.h"

#include <math.h>
#include <string.h>

#include "base/units.h"

#define PI 3.14159265358979323846
#define SHADOW_RINGS 7
/* Where a shadow falls, for each mm of height. */
#define SHADOW_RIGHT 0.35
#define SHADOW_DOWN 0.60

/* --- colours ------------------------------------------------------------------------------------
 */

static unsigned part_of(uint32_t rgb, unsigned shift) {
    return rgb >> shift & 0xFFu;
}

uint32_t brush_mix(uint32_t rgb, uint32_t other, double share) {
    double s = fmin(1.0, fmax(0.0, share));
    uint32_t out = 0;
    for (unsigned shift = 0; shift <= 16; shift += 8) {
        double value = part_of(rgb, shift) * (1.0 - s) + part_of(other, shift) * s;
        out |= (uint32_t)lround(value) << shift;
    }
    return out;
}

uint32_t brush_shade(uint32_t rgb, double share) {
    return share >= 0.0 ? brush_mix(rgb, 0xFFFFFFu, share) : brush_mix(rgb, 0x000000u, -share);
}

bool brush_rgb(const char *text, uint32_t *rgb) {
    if (text[0] != '#' || strlen(text) != 7) {
        return false;
    }
    uint32_t value = 0;
    for (int i = 1; i < 7; i++) {
        char c = text[i];
        uint32_t digit;
        if (c >= '0' && c <= '9') {
            digit = (uint32_t)(c - '0');
        } else if (c >= 'a' && c <= 'f') {
            digit = (uint32_t)(c - 'a') + 10;
        } else if (c >= 'A' && c <= 'F') {
            digit = (uint32_t)(c - 'A') + 10;
        } else {
            return false;
        }
        value = value << 4 | digit;
    }
    *rgb = value;
    return true;
}

double brush_luminance(uint32_t rgb) {
    static const double WEIGHTS[] = {0.0722, 0.7152, 0.2126};
    double sum = 0.0;
    for (unsigned i = 0; i < 3; i++) {
        double c = part_of(rgb, 8 * i) / 255.0;
        sum += WEIGHTS[i] * (c <= 0.03928 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4));
    }
    return sum;
}

static void set_rgb(cairo_t *cairo, uint32_t rgb, double alpha) {
    cairo_set_source_rgba(cairo, part_of(rgb, 16) / 255.0, part_of(rgb, 8) / 255.0,
                          part_of(rgb, 0) / 255.0, alpha);
}

static void add_stop(cairo_pattern_t *pattern, double at, uint32_t rgb, double alpha) {
    cairo_pattern_add_color_stop_rgba(pattern, at, part_of(rgb, 16) / 255.0,
                                      part_of(rgb, 8) / 255.0, part_of(rgb, 0) / 255.0, alpha);
}

/* --- paths --------------------------------------------------------------------------------------
 */

static void add_contour(cairo_t *cairo, const Contour *contour) {
    cairo_new_sub_path(cairo);
    cairo_move_to(cairo, contour->points[0].x_mm, contour->points[0].y_mm);
    for (size_t i = 0; i < contour->count; i++) {
        const ContourPoint *a = &contour->points[i];
        const ContourPoint *b = &contour->points[(i + 1) % contour->count];
        double x;
        double y;
        double r;
        if (!contour_arc(a, b, &x, &y, &r)) {
            cairo_line_to(cairo, b->x_mm, b->y_mm);
            continue;
        }
        double from = atan2(a->y_mm - y, a->x_mm - x);
        double to = from + 4.0 * atan(a->bulge);
        if (a->bulge > 0.0) {
            cairo_arc(cairo, x, y, r, from, to);
        } else {
            cairo_arc_negative(cairo, x, y, r, from, to);
        }
    }
    cairo_close_path(cairo);
}

void brush_contour(const Brush *brush, const Contour *contour) {
    cairo_new_path(brush->cairo);
    add_contour(brush->cairo, contour);
}

void brush_contours(const Brush *brush, const ContourList *contours) {
    for (size_t i = 0; i < contours->count; i++) {
        add_contour(brush->cairo, &contours->items[i]);
    }
}

void brush_circle(const Brush *brush, double x_mm, double y_mm, double radius_mm) {
    cairo_new_path(brush->cairo);
    cairo_arc(brush->cairo, x_mm, y_mm, radius_mm, 0.0, 2.0 * PI);
    cairo_close_path(brush->cairo);
}

void brush_box(const Brush *brush, double x_mm, double y_mm, double width_mm, double height_mm,
               double corner_mm) {
    Contour contour =
        contour_rectangle(brush->arena, x_mm, y_mm, width_mm, height_mm, fmax(0.0, corner_mm));
    brush_contour(brush, &contour);
}

void brush_polygon(const Brush *brush, const double *xy_mm, size_t points) {
    cairo_new_path(brush->cairo);
    for (size_t i = 0; i < points; i++) {
        cairo_line_to(brush->cairo, xy_mm[2 * i], xy_mm[2 * i + 1]);
    }
    cairo_close_path(brush->cairo);
}

/* --- fills and strokes --------------------------------------------------------------------------
 */

void brush_fill(const Brush *brush, uint32_t rgb, double alpha) {
    set_rgb(brush->cairo, rgb, alpha);
    cairo_fill_preserve(brush->cairo);
}

void brush_stroke(const Brush *brush, uint32_t rgb, double alpha, double width_mm) {
    set_rgb(brush->cairo, rgb, alpha);
    cairo_set_line_width(brush->cairo, width_mm);
    cairo_stroke_preserve(brush->cairo);
}

static void fill_pattern(const Brush *brush, cairo_pattern_t *pattern) {
    cairo_set_source(brush->cairo, pattern);
    cairo_fill_preserve(brush->cairo);
    cairo_pattern_destroy(pattern);
}

void brush_fill_along(const Brush *brush, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
                      uint32_t from_rgb, uint32_t to_rgb) {
    cairo_pattern_t *pattern = cairo_pattern_create_linear(x1_mm, y1_mm, x2_mm, y2_mm);
    add_stop(pattern, 0.0, from_rgb, 1.0);
    add_stop(pattern, 1.0, to_rgb, 1.0);
    fill_pattern(brush, pattern);
}

void brush_fill_along_3(const Brush *brush, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
                        uint32_t from_rgb, uint32_t middle_rgb, uint32_t to_rgb) {
    cairo_pattern_t *pattern = cairo_pattern_create_linear(x1_mm, y1_mm, x2_mm, y2_mm);
    add_stop(pattern, 0.0, from_rgb, 1.0);
    add_stop(pattern, 0.5, middle_rgb, 1.0);
    add_stop(pattern, 1.0, to_rgb, 1.0);
    fill_pattern(brush, pattern);
}

void brush_fill_glow(const Brush *brush, double x_mm, double y_mm, double radius_mm, uint32_t rgb,
                     double alpha) {
    cairo_pattern_t *pattern = cairo_pattern_create_radial(x_mm, y_mm, 0.0, x_mm, y_mm, radius_mm);
    add_stop(pattern, 0.0, rgb, alpha);
    add_stop(pattern, 0.5, rgb, alpha * 0.45);
    add_stop(pattern, 1.0, rgb, 0.0);
    fill_pattern(brush, pattern);
}

void brush_fill_ball(const Brush *brush, double x_mm, double y_mm, double radius_mm, uint32_t rgb) {
    double off = radius_mm * 0.38;
    cairo_pattern_t *pattern =
        cairo_pattern_create_radial(x_mm - off, y_mm + off, 0.0, x_mm, y_mm, radius_mm * 1.04);
    add_stop(pattern, 0.0, brush_shade(rgb, 0.75), 1.0);
    add_stop(pattern, 0.25, brush_shade(rgb, 0.30), 1.0);
    add_stop(pattern, 0.65, rgb, 1.0);
    add_stop(pattern, 1.0, brush_shade(rgb, -0.55), 1.0);
    fill_pattern(brush, pattern);
}

void brush_stroke_along(const Brush *brush, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
                        uint32_t from_rgb, uint32_t to_rgb, double alpha, double width_mm) {
    cairo_pattern_t *pattern = cairo_pattern_create_linear(x1_mm, y1_mm, x2_mm, y2_mm);
    add_stop(pattern, 0.0, from_rgb, alpha);
    add_stop(pattern, 1.0, to_rgb, alpha);
    cairo_set_source(brush->cairo, pattern);
    cairo_set_line_width(brush->cairo, width_mm);
    cairo_stroke_preserve(brush->cairo);
    cairo_pattern_destroy(pattern);
}

/* --- shadows ------------------------------------------------------------------------------------
 */

/* The path that is there, moved. */
static void move_path(cairo_t *cairo, double dx_mm, double dy_mm) {
    cairo_path_t *path = cairo_copy_path(cairo);
    cairo_new_path(cairo);
    cairo_save(cairo);
    cairo_translate(cairo, dx_mm, dy_mm);
    cairo_append_path(cairo, path);
    cairo_restore(cairo);
    cairo_path_destroy(path);
}

void brush_shadow_at(const Brush *brush, double right_mm, double down_mm, double wide_mm,
                     double strength) {
    cairo_t *cairo = brush->cairo;
    int rings = (int)fmin(32.0, SHADOW_RINGS + 0.5 * wide_mm);
    double widest = 2.0 * wide_mm; /* a stroke lies half inside */
    /* As dark inside as all rings together are at its rim. */
    double ring = strength / rings;
    double core = 1.0 - pow(1.0 - ring, rings);
    cairo_save(cairo);
    move_path(cairo, right_mm, -down_mm);
    cairo_path_t *path = cairo_copy_path(cairo);
    set_rgb(cairo, 0x000000u, core);
    cairo_fill(cairo);
    double left;
    double low;
    double right;
    double high;
    cairo_append_path(cairo, path);
    cairo_path_extents(cairo, &left, &low, &right, &high);
    cairo_rectangle(cairo, left - 2.0 * widest, low - 2.0 * widest, right - left + 4.0 * widest,
                    high - low + 4.0 * widest);
    cairo_set_fill_rule(cairo, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_clip(cairo);
    cairo_append_path(cairo, path);
    cairo_path_destroy(path);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    set_rgb(cairo, 0x000000u, ring);
    for (int i = rings; i > 0; i--) {
        cairo_set_line_width(cairo, widest * pow((double)i / rings, 1.5));
        cairo_stroke_preserve(cairo);
    }
    cairo_restore(cairo);
    cairo_new_path(cairo);
}

void brush_shadow(const Brush *brush, double high_mm, double strength) {
    brush_shadow_at(brush, SHADOW_RIGHT * high_mm, SHADOW_DOWN * high_mm, 1.1 * high_mm, strength);
}

void brush_inner_shadow(const Brush *brush, double deep_mm, double strength) {
    cairo_t *cairo = brush->cairo;
    cairo_path_t *path = cairo_copy_path(cairo);
    cairo_save(cairo);
    cairo_clip(cairo);
    cairo_translate(cairo, SHADOW_RIGHT * deep_mm, -SHADOW_DOWN * deep_mm);
    cairo_append_path(cairo, path);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    for (int i = SHADOW_RINGS; i > 0; i--) {
        set_rgb(cairo, 0x000000u, strength / SHADOW_RINGS);
        cairo_set_line_width(cairo, 2.6 * deep_mm * i / SHADOW_RINGS);
        cairo_stroke_preserve(cairo);
    }
    cairo_restore(cairo);
    cairo_new_path(cairo);
    cairo_append_path(cairo, path);
    cairo_path_destroy(path);
}

/* --- letters ------------------------------------------------------------------------------------
 */

double brush_text(const Brush *brush, double x_mm, double y_mm, double height_mm, bool bold,
                  DrawAlign align, uint32_t rgb, double alpha, const char *text) {
    ContourList letters = {0};
    EngraveStyle style = {.height_mm = height_mm, .align = align, .bold = bold};
    double width_mm = engrave_text(brush->arena, brush->fonts, text, &style, x_mm, y_mm, &letters);
    cairo_new_path(brush->cairo);
    for (size_t i = 0; i < letters.count; i++) {
        add_contour(brush->cairo, &letters.items[i]);
    }
    brush_fill(brush, rgb, alpha);
    cairo_new_path(brush->cairo);
    return width_mm;
}
