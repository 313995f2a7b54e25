/* What displays show, so that the customer sees their place and size: an attitude, a map, a few
 * figures. It follows no maker's screen: colours, order and signs are ours, and each says
 * "illustration". */
#include "out/portrait_inner.h"

#include <math.h>
#include <stdio.h>

#include "base/text.h"
#include "base/units.h"

#define SKY_HIGH_RGB 0x1F4A6Eu
#define SKY_LOW_RGB 0x8DB3C4u
#define EARTH_HIGH_RGB 0x8A7355u
#define EARTH_LOW_RGB 0x3B3024u
#define LAND_RGB 0x24352Cu
#define LAND_2_RGB 0x2F4437u
#define LAKE_RGB 0x24506Eu
#define SCALE_RGB 0x10161Cu

static void line(const Brush *brush, double x1, double y1, double x2, double y2, uint32_t rgb,
                 double alpha, double width_mm) {
    cairo_new_path(brush->cairo);
    cairo_move_to(brush->cairo, x1, y1);
    cairo_line_to(brush->cairo, x2, y2);
    brush_stroke(brush, rgb, alpha, width_mm);
    cairo_new_path(brush->cairo);
}

/* --- attitude -----------------------------------------------------------------------------------
 */

/* Sky and earth with a ladder, tilted a little, about (x, y); clipped by the caller. */
static void attitude(const Brush *brush, double x, double y, double size_mm) {
    cairo_t *cairo = brush->cairo;
    double far = 3.0 * size_mm;
    cairo_save(cairo);
    cairo_translate(cairo, x, y - 0.04 * size_mm);
    cairo_rotate(cairo, units_rad_from_deg(4.0));
    brush_box(brush, 0.0, far / 2.0, 2.0 * far, far, 0.0);
    brush_fill_along(brush, 0.0, size_mm * 0.7, 0.0, 0.0, SKY_HIGH_RGB, SKY_LOW_RGB);
    brush_box(brush, 0.0, -far / 2.0, 2.0 * far, far, 0.0);
    brush_fill_along(brush, 0.0, 0.0, 0.0, -size_mm * 0.6, EARTH_HIGH_RGB, EARTH_LOW_RGB);
    line(brush, -far, 0.0, far, 0.0, 0xFBF6E8u, 0.95, size_mm * 0.012);
    for (int i = -3; i <= 3; i++) {
        double half = (i % 2 == 0 ? 0.13 : 0.07) * size_mm;
        if (i != 0) {
            line(brush, -half, i * 0.1 * size_mm, half, i * 0.1 * size_mm, 0xFBF6E8u, 0.75,
                 size_mm * 0.007);
        }
    }
    cairo_restore(cairo);
}

/* The aircraft's own sign: two strokes and a ring. */
static void own_sign(const Brush *brush, double x, double y, double size_mm) {
    for (int side = -1; side <= 1; side += 2) {
        line(brush, x + side * 0.09 * size_mm, y, x + side * 0.26 * size_mm, y, 0x0A0A0Au, 0.6,
             size_mm * 0.034);
        line(brush, x + side * 0.09 * size_mm, y, x + side * 0.26 * size_mm, y, AMBER_RGB, 1.0,
             size_mm * 0.022);
    }
    brush_circle(brush, x, y, size_mm * 0.022);
    brush_stroke(brush, AMBER_RGB, 1.0, size_mm * 0.012);
    cairo_new_path(brush->cairo);
}

/* A column of figures with a window in its middle. */
static void column(const Brush *brush, double x, double y, double width_mm, double height_mm,
                   int middle, int step, bool ticks_right) {
    cairo_t *cairo = brush->cairo;
    brush_box(brush, x, y, width_mm, height_mm, width_mm * 0.06);
    brush_fill(brush, SCALE_RGB, 0.55);
    cairo_save(cairo);
    cairo_clip(cairo);
    double pitch = height_mm / 6.0;
    double letter = width_mm * 0.17;
    double side = ticks_right ? 1.0 : -1.0;
    for (int i = -3; i <= 3; i++) {
        double at = y + (i + 0.2) * pitch;
        line(brush, x + side * width_mm * 0.5, at, x + side * width_mm * 0.38, at, LIT_RGB, 0.8,
             letter * 0.14);
        char text[16];
        snprintf(text, sizeof text, "%d", middle + i * step);
        brush_text(brush, x - side * width_mm * 0.06, at - letter / 2.0, letter, false,
                   ALIGN_MIDDLE, LIT_RGB, 0.8, text);
    }
    cairo_restore(cairo);
    brush_box(brush, x, y, width_mm * 1.08, letter * 2.6, letter * 0.4);
    brush_fill(brush, 0x05080Bu, 0.95);
    brush_stroke(brush, LIT_RGB, 0.9, letter * 0.11);
    char text[16];
    snprintf(text, sizeof text, "%d", middle + step / 5);
    brush_text(brush, x, y - letter * 0.68, letter * 1.36, true, ALIGN_MIDDLE, 0xFFFFFFu, 1.0,
               text);
}

/* A strip of headings along the foot. */
static void heading_strip(const Brush *brush, double x, double y, double width_mm,
                          double height_mm) {
    static const char *const MARKS[] = {"21", "24", "W", "30", "33", "N", "3"};
    brush_box(brush, x, y, width_mm, height_mm, height_mm * 0.2);
    brush_fill(brush, SCALE_RGB, 0.6);
    cairo_new_path(brush->cairo);
    for (int i = -3; i <= 3; i++) {
        double at = x + i * width_mm * 0.14;
        line(brush, at, y + height_mm * 0.5, at, y + height_mm * 0.28, LIT_RGB, 0.8,
             height_mm * 0.05);
        brush_text(brush, at, y - height_mm * 0.28, height_mm * 0.36, i == 0, ALIGN_MIDDLE, LIT_RGB,
                   0.9, MARKS[i + 3]);
    }
    double xy[] = {
        x - height_mm * 0.18, y + height_mm * 0.72, x + height_mm * 0.18, y + height_mm * 0.72, x,
        y + height_mm * 0.44};
    brush_polygon(brush, xy, 3);
    brush_fill(brush, AMBER_RGB, 1.0);
    cairo_new_path(brush->cairo);
}

static void primary_face(const Brush *brush, PortraitBox box) {
    double size = fmin(box.width_mm, box.height_mm);
    double w = box.width_mm;
    double h = box.height_mm;
    attitude(brush, box.u_mm, box.v_mm + 0.06 * h, size);
    own_sign(brush, box.u_mm, box.v_mm + 0.06 * h, size);
    column(brush, box.u_mm - 0.37 * w, box.v_mm + 0.06 * h, 0.15 * w, 0.66 * h, 95, 10, true);
    column(brush, box.u_mm + 0.37 * w, box.v_mm + 0.06 * h, 0.15 * w, 0.66 * h, 2400, 100, false);
    heading_strip(brush, box.u_mm, box.v_mm - 0.38 * h, 0.56 * w, 0.11 * h);
}

/* --- map ----------------------------------------------------------------------------------------
 */

/* A smooth closed shape through eight places around (x, y). */
static void blob(const Brush *brush, double x, double y, double size_mm, const double *share) {
    cairo_t *cairo = brush->cairo;
    double px[8];
    double py[8];
    for (int i = 0; i < 8; i++) {
        double angle = units_rad_from_deg(45.0 * i);
        px[i] = x + size_mm * share[i] * 1.5 * cos(angle);
        py[i] = y + size_mm * share[i] * sin(angle);
    }
    cairo_new_path(cairo);
    cairo_move_to(cairo, (px[7] + px[0]) / 2.0, (py[7] + py[0]) / 2.0);
    for (int i = 0; i < 8; i++) {
        double ex = (px[i] + px[(i + 1) % 8]) / 2.0;
        double ey = (py[i] + py[(i + 1) % 8]) / 2.0;
        double fx;
        double fy;
        cairo_get_current_point(cairo, &fx, &fy);
        cairo_curve_to(cairo, fx + (px[i] - fx) * 2.0 / 3.0, fy + (py[i] - fy) * 2.0 / 3.0,
                       ex + (px[i] - ex) * 2.0 / 3.0, ey + (py[i] - ey) * 2.0 / 3.0, ex, ey);
    }
    cairo_close_path(cairo);
}

static void own_place(const Brush *brush, double x, double y, double size_mm) {
    double s = size_mm;
    double xy[] = {x, y + s, x + 0.62 * s, y - 0.7 * s, x, y - 0.36 * s, x - 0.62 * s, y - 0.7 * s};
    brush_polygon(brush, xy, 4);
    brush_fill(brush, 0xFFFFFFu, 1.0);
    brush_stroke(brush, 0x101010u, 0.8, 0.12 * s);
    cairo_new_path(brush->cairo);
}

static void map(const Brush *brush, double x, double y, double w, double h) {
    static const double LAKE[] = {0.9, 0.5, 0.35, 0.6, 1.1, 0.7, 0.5, 0.8};
    static const double HILLS[] = {0.8, 1.0, 0.6, 0.9, 0.7, 1.1, 0.8, 0.6};
    cairo_t *cairo = brush->cairo;
    cairo_save(cairo);
    brush_box(brush, x, y, w, h, 0.0);
    brush_fill(brush, LAND_RGB, 1.0);
    cairo_clip(cairo);
    blob(brush, x + 0.30 * w, y + 0.26 * h, 0.30 * h, HILLS);
    brush_fill(brush, LAND_2_RGB, 1.0);
    blob(brush, x + 0.32 * w, y + 0.28 * h, 0.17 * h, HILLS);
    brush_fill(brush, brush_shade(LAND_2_RGB, 0.10), 1.0);
    blob(brush, x - 0.22 * w, y - 0.18 * h, 0.27 * h, LAKE);
    brush_fill(brush, LAKE_RGB, 1.0);
    brush_stroke(brush, brush_shade(LAKE_RGB, 0.25), 0.7, 0.006 * h);
    blob(brush, x + 0.36 * w, y - 0.38 * h, 0.12 * h, LAKE);
    brush_fill(brush, LAKE_RGB, 1.0);
    double cx = x - 0.03 * w;
    double cy = y - 0.14 * h;
    for (int i = 1; i <= 2; i++) {
        brush_circle(brush, cx, cy, 0.24 * i * h);
        brush_stroke(brush, LIT_RGB, 0.35, 0.005 * h);
    }
    double route[][2] = {{-0.36, -0.46}, {-0.03, -0.14}, {0.06, 0.18}, {0.34, 0.42}};
    cairo_new_path(cairo);
    for (int i = 0; i < 4; i++) {
        cairo_line_to(cairo, x + route[i][0] * w, y + route[i][1] * h);
    }
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    brush_stroke(brush, 0x000000u, 0.35, 0.022 * h);
    brush_stroke(brush, AMBER_RGB, 1.0, 0.011 * h);
    for (int i = 2; i < 4; i++) {
        brush_circle(brush, x + route[i][0] * w, y + route[i][1] * h, 0.018 * h);
        brush_fill(brush, LAND_RGB, 1.0);
        brush_stroke(brush, AMBER_RGB, 1.0, 0.009 * h);
    }
    own_place(brush, cx, cy, 0.045 * h);
    cairo_new_path(cairo);
    cairo_restore(cairo);
}

/* Bars of the engine in a column. */
static void bars(const Brush *brush, double x, double y, double w, double h) {
    static const double SHARES[] = {0.62, 0.48, 0.71, 0.55, 0.66, 0.40};
    static const char *const NAMES[] = {"RPM", "MAP", "OIL P", "OIL T", "FUEL L", "FUEL R"};
    brush_box(brush, x, y, w, h, 0.0);
    brush_fill(brush, SCALE_RGB, 1.0);
    cairo_new_path(brush->cairo);
    for (int i = 0; i < 6; i++) {
        double at = y + h * (0.40 - 0.155 * i);
        double letter = h * 0.026;
        brush_text(brush, x - w * 0.40, at + h * 0.02, letter, false, ALIGN_LEFT, LIT_RGB, 0.75,
                   NAMES[i]);
        brush_box(brush, x, at, w * 0.80, h * 0.020, h * 0.010);
        brush_fill(brush, 0x2A333Au, 1.0);
        double filled = w * 0.80 * SHARES[i];
        brush_box(brush, x - w * 0.40 + filled / 2.0, at, filled, h * 0.020, h * 0.010);
        brush_fill_along(brush, x - w * 0.4, at, x + w * 0.4, at, brush_shade(GREEN_RGB, -0.3),
                         GREEN_RGB);
        double mark = x - w * 0.40 + filled;
        line(brush, mark, at - h * 0.022, mark, at + h * 0.022, 0xFFFFFFu, 0.9, h * 0.006);
    }
}

/* --- screens ------------------------------------------------------------------------------------
 */

static void small_face(const Brush *brush, PortraitBox box) {
    double size = fmin(box.width_mm, box.height_mm);
    attitude(brush, box.u_mm, box.v_mm, size);
    own_sign(brush, box.u_mm, box.v_mm, size);
    brush_box(brush, box.u_mm, box.v_mm - 0.34 * size, size, 0.32 * size, 0.0);
    brush_fill(brush, SCALE_RGB, 0.80);
    cairo_new_path(brush->cairo);
    brush_text(brush, box.u_mm - 0.17 * size, box.v_mm - 0.31 * size, 0.085 * size, true,
               ALIGN_MIDDLE, 0xFFFFFFu, 1.0, "97");
    brush_text(brush, box.u_mm + 0.15 * size, box.v_mm - 0.31 * size, 0.085 * size, true,
               ALIGN_MIDDLE, 0xFFFFFFu, 1.0, "2420");
}

/* Light of the room in the glass: a pale slanting band. */
static void reflection(const Brush *brush, PortraitBox box) {
    double w = box.width_mm;
    double h = box.height_mm;
    double u = box.u_mm;
    double v = box.v_mm;
    double xy[] = {u - 0.5 * w, v + 0.5 * h, u - 0.5 * w, v - 0.1 * h, u - 0.12 * w, v + 0.5 * h};
    brush_polygon(brush, xy, 3);
    brush_fill(brush, 0xFFFFFFu, 0.055);
    double band[] = {u - 0.02 * w, v + 0.5 * h, u - 0.5 * w,  v - 0.26 * h,
                     u - 0.5 * w,  v - 0.5 * h, u + 0.12 * w, v + 0.5 * h};
    brush_polygon(brush, band, 4);
    brush_fill(brush, 0xFFFFFFu, 0.030);
    cairo_new_path(brush->cairo);
}

/* Two figures in use, two waiting, as boxes in trays show them. */
static void figures_face(const Brush *brush, PortraitBox box) {
    static const char *const ABOVE[] = {"118.00", "HDG 300"};
    static const char *const BELOW[] = {"121.50", "ALT 2400"};
    double w = box.width_mm;
    double h = box.height_mm;
    double letter = fmin(0.26 * h, 0.074 * w);
    bool two = h > 1.1 * 4.0 * letter;
    for (int i = 0; i < 2; i++) {
        double x = box.u_mm + (i == 0 ? -0.25 : 0.25) * w;
        double y = box.v_mm + (two ? 0.14 * h : -0.38 * letter);
        brush_text(brush, x, y, letter, true, ALIGN_MIDDLE, i == 0 ? 0xE9F6EFu : 0xBFD9E6u, 1.0,
                   ABOVE[i]);
        if (two) {
            brush_text(brush, x, y - 0.36 * h, letter * 0.72, false, ALIGN_MIDDLE, LIT_RGB, 0.62,
                       BELOW[i]);
        }
    }
    line(brush, box.u_mm, box.v_mm + 0.40 * h, box.u_mm, box.v_mm - 0.30 * h, LIT_RGB, 0.25,
         0.012 * h);
}

void portrait_screen(const Brush *brush, PortraitBox box, PortraitScreen shows, bool round) {
    cairo_t *cairo = brush->cairo;
    double size = fmin(box.width_mm, box.height_mm);
    cairo_save(cairo);
    if (round) {
        brush_circle(brush, box.u_mm, box.v_mm, size / 2.0);
    } else {
        brush_box(brush, box.u_mm, box.v_mm, box.width_mm, box.height_mm, 1.5);
    }
    brush_fill(brush, GLASS_RGB, 1.0);
    cairo_clip(cairo);
    bool small = size < 90.0;
    switch (shows) {
    case SCREEN_PRIMARY:
        primary_face(brush, box);
        break;
    case SCREEN_SMALL:
        small_face(brush, box);
        break;
    case SCREEN_FIGURES:
        figures_face(brush, box);
        break;
    case SCREEN_MAP: {
        double side = 0.24 * box.width_mm;
        map(brush, box.u_mm - side / 2.0, box.v_mm, box.width_mm - side, box.height_mm);
        bars(brush, box.u_mm + (box.width_mm - side) / 2.0, box.v_mm, side, box.height_mm);
        break;
    }
    }
    reflection(brush, box);
    double letter = small ? fmin(1.8, size * 0.045) : 2.2;
    double up = round ? size * 0.075 : letter * 0.9;
    brush_text(brush, box.u_mm, box.v_mm - box.height_mm / 2.0 + up, letter, false, ALIGN_MIDDLE,
               LIT_RGB, 0.75, "ILLUSTRATION");
    if (round) {
        brush_circle(brush, box.u_mm, box.v_mm, size / 2.0);
    } else {
        brush_box(brush, box.u_mm, box.v_mm, box.width_mm, box.height_mm, 1.5);
    }
    brush_inner_shadow(brush, 0.9, 0.55);
    cairo_restore(cairo);
    cairo_new_path(cairo);
}

void portrait_window(const Brush *brush, PortraitBox box, const char *text) {
    cairo_t *cairo = brush->cairo;
    cairo_save(cairo);
    brush_box(brush, box.u_mm, box.v_mm, box.width_mm, box.height_mm, 1.0);
    brush_fill_along(brush, box.u_mm, box.v_mm + box.height_mm / 2.0, box.u_mm,
                     box.v_mm - box.height_mm / 2.0, 0x06090Cu, 0x10161Bu);
    cairo_clip(cairo);
    double letter = fmin(box.height_mm * 0.38, box.width_mm * 0.09);
    brush_text(brush, box.u_mm, box.v_mm - letter * 0.45, letter, false, ALIGN_MIDDLE, 0xCFE8DAu,
               0.95, text);
    reflection(brush, box);
    brush_box(brush, box.u_mm, box.v_mm, box.width_mm, box.height_mm, 1.0);
    brush_inner_shadow(brush, 0.7, 0.6);
    cairo_restore(cairo);
    cairo_new_path(cairo);
}

void portrait_lights(const Brush *brush, PortraitBox box) {
    static const uint32_t LENSES[] = {0x2E6A49u, 0x2E6A49u, 0x2A5580u, 0x2A5580u};
    cairo_t *cairo = brush->cairo;
    cairo_save(cairo);
    brush_box(brush, box.u_mm, box.v_mm, box.width_mm, box.height_mm, 1.0);
    brush_fill(brush, 0x0B0D10u, 1.0);
    cairo_clip(cairo);
    double r = 0.15 * fmin(box.width_mm, box.height_mm);
    for (int i = 0; i < 4; i++) {
        double x = box.u_mm + (i % 2 == 0 ? -0.24 : 0.24) * box.width_mm;
        double y = box.v_mm + (i < 2 ? 0.20 : -0.14) * box.height_mm;
        brush_circle(brush, x, y, 1.18 * r);
        brush_fill(brush, 0x24282Cu, 1.0);
        brush_circle(brush, x, y, r);
        brush_fill_ball(brush, x, y, r, LENSES[i]);
    }
    double letter = 0.055 * box.width_mm;
    brush_text(brush, box.u_mm, box.v_mm - 0.45 * box.height_mm, letter, false, ALIGN_MIDDLE,
               LIT_RGB, 0.7, "ILLUSTRATION");
    reflection(brush, box);
    brush_box(brush, box.u_mm, box.v_mm, box.width_mm, box.height_mm, 1.0);
    brush_inner_shadow(brush, 0.7, 0.6);
    cairo_restore(cairo);
    cairo_new_path(cairo);
}
