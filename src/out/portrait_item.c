/* Bezels, controls and screw heads as they look: from the outline and height that the panel's
 * geometry gives, and the kind of thing the library says it is. */
#include "out/portrait_inner.h"

#include <math.h>
#include <string.h>

#include "base/units.h"

#define NUT_MOST_MM 30.0 /* nobody turns a wider nut in a panel */
#define PI 3.14159265358979323846

static bool is_kind(const char *kind, const char *name) {
    return strcmp(kind, name) == 0;
}

static Contour contour_of(const Portrait *portrait, const PanelContour *contour) {
    return cut_contour(portrait->brush.arena, contour);
}

static void path_of(const Portrait *portrait, const PanelContour *contour) {
    Contour path = contour_of(portrait, contour);
    brush_contour(&portrait->brush, &path);
}

/* --- screws -------------------------------------------------------------------------------------
 */

/* Nobody turns two screws to one angle: it follows from the place. */
static double slot_angle(double u_mm, double v_mm) {
    double turn = u_mm * 12.9898 + v_mm * 78.233;
    return (turn - floor(turn / 90.0) * 90.0) * PI / 180.0;
}

static void screw_head(const Brush *brush, double u, double v, double head_mm, bool sunk,
                       uint32_t rgb) {
    double r = head_mm / 2.0;
    if (!sunk) {
        brush_circle(brush, u, v, r);
        brush_shadow(brush, 1.1, 0.55);
    }
    brush_circle(brush, u, v, r);
    brush_fill_along(brush, u - r, v + r, u + r, v - r, brush_shade(rgb, 0.45),
                     brush_shade(rgb, -0.35));
    brush_stroke(brush, 0x000000u, sunk ? 0.55 : 0.35, head_mm * 0.045);
    if (sunk) {
        brush_circle(brush, u, v, r * 0.93);
        brush_stroke_along(brush, u - r, v + r, u + r, v - r, brush_shade(rgb, -0.5),
                           brush_shade(rgb, 0.7), 0.8, head_mm * 0.05);
    } else {
        brush_circle(brush, u - r * 0.15, v + r * 0.15, r * 0.72);
        brush_fill_glow(brush, u - r * 0.3, v + r * 0.3, r * 0.9, 0xFFFFFFu, 0.55);
    }
    double angle = slot_angle(u, v);
    cairo_save(brush->cairo);
    cairo_translate(brush->cairo, u, v);
    cairo_rotate(brush->cairo, angle);
    double a = r * 0.58;
    double b = r * 0.15;
    double xy[] = {a,  b,  b,  b,  b,  a,  -b, a,  -b, b,  -a, b,
                   -a, -b, -b, -b, -b, -a, b,  -a, b,  -b, a,  -b};
    brush_polygon(brush, xy, 12);
    brush_fill(brush, 0x15171Au, 0.92);
    cairo_restore(brush->cairo);
    cairo_new_path(brush->cairo);
}

/* --- bezels -------------------------------------------------------------------------------------
 */

/* A plate with a bevelled edge that stands `high_mm` out. */
static void plate(const Portrait *portrait, const PanelContour *contour, double high_mm,
                  uint32_t rgb) {
    const Brush *brush = &portrait->brush;
    PortraitBox box = portrait_box(contour);
    if (high_mm > 0.0) {
        path_of(portrait, contour);
        brush_shadow(brush, fmin(high_mm, 6.0), 0.60);
    }
    double left = box.u_mm - box.width_mm / 2.0;
    double right = box.u_mm + box.width_mm / 2.0;
    double high = box.v_mm + box.height_mm / 2.0;
    double low = box.v_mm - box.height_mm / 2.0;
    path_of(portrait, contour);
    brush_fill_along_3(brush, left, high, left + 0.3 * box.width_mm, low, brush_shade(rgb, 0.16),
                       rgb, brush_shade(rgb, -0.28));
    cairo_save(brush->cairo);
    cairo_clip_preserve(brush->cairo);
    brush_stroke_along(brush, left, high, right, low, 0xFFFFFFu, 0x000000u, 0.34, 1.4);
    brush_stroke_along(brush, left, high, right, low, 0xFFFFFFu, 0x000000u, 0.30, 0.6);
    cairo_restore(brush->cairo);
    brush_stroke(brush, 0x000000u, 0.55, 0.18);
    cairo_new_path(brush->cairo);
}

/* Ring of notches around a knob or collar. */
static void knurled(const Brush *brush, double u, double v, double radius_mm, int teeth,
                    double depth_mm) {
    cairo_t *cairo = brush->cairo;
    cairo_new_path(cairo);
    for (int i = 0; i < 2 * teeth; i++) {
        double from = PI * (i - 0.25) / teeth;
        double to = PI * (i + 0.25) / teeth;
        double r = i % 2 == 0 ? radius_mm : radius_mm - depth_mm;
        cairo_arc(cairo, u, v, r, from, to);
    }
    cairo_close_path(cairo);
}

static void hexagon(const Brush *brush, double u, double v, double across_mm, double turn_rad) {
    double r = across_mm / sqrt(3.0);
    double xy[12] = {0};
    for (int i = 0; i < 6; i++) {
        xy[2 * i] = u + r * cos(turn_rad + PI * i / 3.0);
        xy[2 * i + 1] = v + r * sin(turn_rad + PI * i / 3.0);
    }
    brush_polygon(brush, xy, 6);
}

/* Washer, nut and bush of a switch or jack. */
static void nut(const Portrait *portrait, PortraitBox box) {
    const Brush *brush = &portrait->brush;
    double d = fmin(box.width_mm, box.height_mm);
    double u = box.u_mm;
    double v = box.v_mm;
    brush_circle(brush, u, v, d / 2.0);
    brush_shadow(brush, 1.0, 0.5);
    brush_circle(brush, u, v, d / 2.0);
    brush_fill_along(brush, u - d / 2.0, v + d / 2.0, u + d / 2.0, v - d / 2.0, 0xE2E5E7u,
                     0x84898Eu);
    brush_stroke(brush, 0x000000u, 0.35, 0.15);
    hexagon(brush, u, v, d * 0.80, 0.26 + slot_angle(u, v) * 0.2);
    brush_shadow(brush, 0.8, 0.4);
    hexagon(brush, u, v, d * 0.80, 0.26 + slot_angle(u, v) * 0.2);
    brush_fill_along_3(brush, u - d * 0.3, v + d * 0.4, u + d * 0.3, v - d * 0.4, 0xF4F5F6u,
                       METAL_RGB, 0x6F757Au);
    brush_stroke(brush, 0x2A2D30u, 0.55, 0.16);
    brush_circle(brush, u, v, d * 0.34);
    brush_fill_along(brush, u - d * 0.3, v + d * 0.3, u + d * 0.3, v - d * 0.3, 0x8C9297u,
                     0xE9ECEEu);
    brush_circle(brush, u, v, d * 0.28);
    brush_fill_along(brush, u - d * 0.2, v + d * 0.2, u + d * 0.2, v - d * 0.2, 0x3A3E42u,
                     0x70767Bu);
    cairo_new_path(brush->cairo);
}

/* --- controls -----------------------------------------------------------------------------------
 */

/* The handle of a toggle switch, thrown up: thin at the bush, thick at its end, towards the eye. */
static void toggle(const Brush *brush, double u, double v, double length_mm) {
    cairo_t *cairo = brush->cairo;
    double base = 0.19 * length_mm + 0.6;
    double tip = 0.30 * length_mm + 0.9;
    double top = v + length_mm - tip;
    for (int pass = 0; pass < 2; pass++) {
        cairo_new_path(cairo);
        cairo_arc(cairo, u, v, base, PI, 2.0 * PI);
        cairo_arc(cairo, u, top, tip, 0.0, PI);
        cairo_close_path(cairo);
        if (pass == 0) {
            brush_shadow(brush, 3.4, 0.62);
        }
    }
    cairo_pattern_t *round = cairo_pattern_create_linear(u - tip, 0.0, u + tip, 0.0);
    cairo_pattern_add_color_stop_rgb(round, 0.00, 0.50, 0.52, 0.54);
    cairo_pattern_add_color_stop_rgb(round, 0.28, 0.97, 0.98, 0.98);
    cairo_pattern_add_color_stop_rgb(round, 0.55, 0.74, 0.76, 0.78);
    cairo_pattern_add_color_stop_rgb(round, 1.00, 0.27, 0.29, 0.31);
    cairo_set_source(cairo, round);
    cairo_fill_preserve(cairo);
    cairo_pattern_destroy(round);
    brush_stroke(brush, 0x17191Bu, 0.6, 0.15);
    brush_circle(brush, u, top, tip * 0.92);
    brush_fill_glow(brush, u - tip * 0.3, top + tip * 0.35, tip, 0xFFFFFFu, 0.75);
    cairo_new_path(cairo);
}

/* A flat handle in a slot. */
static void lever(const Portrait *portrait, PortraitBox box) {
    const Brush *brush = &portrait->brush;
    double slot = fmin(box.width_mm * 0.28, 6.0);
    brush_box(brush, box.u_mm, box.v_mm, slot, box.height_mm * 0.92, slot / 2.0);
    brush_fill(brush, HOLE_RGB, 1.0);
    brush_inner_shadow(brush, 0.8, 0.6);
    double w = box.width_mm * 0.94;
    double h = fmin(box.height_mm * 0.42, w * 0.95);
    double v = box.v_mm + box.height_mm * 0.5 - h * 0.62;
    brush_box(brush, box.u_mm, v, w, h, h * 0.24);
    brush_shadow(brush, 5.0, 0.65);
    brush_box(brush, box.u_mm, v, w, h, h * 0.24);
    brush_fill_along_3(brush, box.u_mm, v + h / 2.0, box.u_mm, v - h / 2.0, 0xF5F4F0u, 0xD9D7D0u,
                       0x98958Cu);
    brush_stroke(brush, 0x33312Du, 0.6, 0.2);
    for (int i = -2; i <= 2; i++) {
        brush_box(brush, box.u_mm, v + i * h * 0.12, w * 0.62, h * 0.035, h * 0.017);
        brush_fill(brush, 0x55524Bu, 0.75);
    }
    cairo_new_path(brush->cairo);
}

/* A lever whose handle is a wheel with a tyre: for what lets wheels up and down. */
static void wheel(const Portrait *portrait, PortraitBox box) {
    const Brush *brush = &portrait->brush;
    double slot = fmin(box.width_mm * 0.26, 7.0);
    double r = box.width_mm / 2.0 * 0.94;
    double u = box.u_mm;
    double v = box.v_mm + box.height_mm / 2.0 - r;
    if (box.height_mm > box.width_mm * 1.05) {
        brush_box(brush, u, box.v_mm, slot, box.height_mm * 0.94, slot / 2.0);
        brush_fill(brush, HOLE_RGB, 1.0);
        brush_inner_shadow(brush, 0.8, 0.6);
    }
    brush_circle(brush, u, v, r);
    brush_shadow(brush, 6.0, 0.65);
    brush_circle(brush, u, v, r);
    brush_fill_ball(brush, u, v, r, 0x2A2B2Du);
    for (int i = 0; i < 20; i++) {
        double angle = PI * i / 10.0;
        cairo_new_path(brush->cairo);
        cairo_move_to(brush->cairo, u + 0.84 * r * cos(angle), v + 0.84 * r * sin(angle));
        cairo_line_to(brush->cairo, u + 0.98 * r * cos(angle), v + 0.98 * r * sin(angle));
        brush_stroke(brush, 0x000000u, 0.6, r * 0.05);
    }
    brush_circle(brush, u, v, 0.62 * r);
    brush_fill_along(brush, u - r, v + r, u + r, v - r, 0xF3F4F5u, 0x7C8287u);
    brush_stroke(brush, 0x101112u, 0.7, r * 0.04);
    for (int i = 0; i < 5; i++) {
        double angle = PI / 2.0 + 2.0 * PI * i / 5.0;
        brush_circle(brush, u + 0.38 * r * cos(angle), v + 0.38 * r * sin(angle), 0.115 * r);
        brush_fill(brush, 0x26292Cu, 0.9);
    }
    brush_circle(brush, u, v, 0.15 * r);
    brush_fill_ball(brush, u, v, 0.15 * r, METAL_RGB);
    cairo_new_path(brush->cairo);
}

static void knob(const Brush *brush, PortraitBox box, double high_mm) {
    double r = fmin(box.width_mm, box.height_mm) / 2.0;
    double u = box.u_mm;
    double v = box.v_mm;
    int teeth = (int)fmax(16.0, 4.2 * r);
    knurled(brush, u, v, r, teeth, r * 0.06);
    brush_shadow(brush, fmin(4.5, fmax(1.5, 0.35 * high_mm)), 0.62);
    knurled(brush, u, v, r, teeth, r * 0.06);
    brush_fill_along(brush, u - r, v + r, u + r, v - r, 0x4A4D51u, 0x0D0E0Fu);
    brush_stroke(brush, 0x000000u, 0.7, 0.14);
    brush_circle(brush, u, v, r * 0.80);
    brush_fill_along_3(brush, u - r * 0.6, v + r * 0.6, u + r * 0.6, v - r * 0.6, 0x55595Du,
                       0x2B2D30u, 0x18191Bu);
    brush_stroke_along(brush, u - r * 0.6, v + r * 0.6, u + r * 0.6, v - r * 0.6, 0x9A9FA4u,
                       0x000000u, 0.7, 0.2);
    double angle = PI / 2.0 + 0.6 * (slot_angle(u, v) - 0.8);
    cairo_new_path(brush->cairo);
    cairo_move_to(brush->cairo, u + 0.28 * r * cos(angle), v + 0.28 * r * sin(angle));
    cairo_line_to(brush->cairo, u + 0.76 * r * cos(angle), v + 0.76 * r * sin(angle));
    cairo_set_line_cap(brush->cairo, CAIRO_LINE_CAP_ROUND);
    brush_stroke(brush, 0xF4F2ECu, 0.95, r * 0.09);
    cairo_set_line_cap(brush->cairo, CAIRO_LINE_CAP_BUTT);
    cairo_new_path(brush->cairo);
}

/* Round or rectangular key. */
static void button(const Portrait *portrait, const PanelFront *front, PortraitBox box,
                   uint32_t rgb) {
    const Brush *brush = &portrait->brush;
    double high = fmax(0.6, fmin(2.2, front->high_mm));
    path_of(portrait, &front->contour);
    brush_shadow(brush, high, 0.55);
    path_of(portrait, &front->contour);
    brush_fill_along_3(brush, box.u_mm - box.width_mm * 0.3, box.v_mm + box.height_mm / 2.0,
                       box.u_mm + box.width_mm * 0.3, box.v_mm - box.height_mm / 2.0,
                       brush_shade(rgb, 0.30), rgb, brush_shade(rgb, -0.40));
    brush_stroke(brush, 0x000000u, 0.6, 0.16);
    double r = fmin(box.width_mm, box.height_mm) * 0.40;
    brush_box(brush, box.u_mm, box.v_mm, box.width_mm - 0.2 * r, box.height_mm - 0.2 * r, r);
    brush_stroke_along(brush, box.u_mm, box.v_mm + box.height_mm / 2.0, box.u_mm,
                       box.v_mm - box.height_mm / 2.0, 0xFFFFFFu, 0x000000u, 0.25,
                       fmin(0.5, 0.08 * r + 0.1));
    cairo_new_path(brush->cairo);
}

/* A red cover over a switch that must not be moved by a sleeve, hinged below. */
static void guard(const Portrait *portrait, const PanelFront *front, PortraitBox box) {
    const Brush *brush = &portrait->brush;
    double w = box.width_mm;
    double h = box.height_mm;
    double u = box.u_mm;
    double v = box.v_mm;
    path_of(portrait, &front->contour);
    brush_shadow(brush, 4.5, 0.6);
    brush_box(brush, u, v, w, h, 2.0);
    brush_fill_along_3(brush, u - w / 2.0, v, u + w / 2.0, v, brush_shade(GUARD_RGB, 0.12),
                       GUARD_RGB, brush_shade(GUARD_RGB, -0.45));
    brush_stroke(brush, 0x2A0705u, 0.8, 0.25);
    double roof = w * 0.62;
    brush_box(brush, u, v + h * 0.05, roof, h * 0.80, roof * 0.16);
    brush_fill_along_3(brush, u, v + h * 0.45, u, v - h * 0.35, brush_shade(GUARD_RGB, 0.42),
                       brush_shade(GUARD_RGB, 0.12), brush_shade(GUARD_RGB, -0.18));
    brush_stroke(brush, 0x3A0A07u, 0.6, 0.18);
    for (int i = 0; i < 4; i++) {
        brush_box(brush, u, v + h * (0.36 - 0.045 * i), roof * 0.72, h * 0.016, h * 0.008);
        brush_fill(brush, 0x4A0D09u, 0.8);
    }
    brush_box(brush, u, v - h * 0.425, w * 0.92, h * 0.085, h * 0.04);
    brush_fill_along_3(brush, u, v - h * 0.38, u, v - h * 0.47, 0xECEEEFu, 0x9EA3A8u, 0x55595Du);
    brush_stroke(brush, 0x17191Bu, 0.6, 0.15);
    cairo_new_path(brush->cairo);
}

/* The push-pull button of a breaker, with its amps. */
static void breaker_cap(const Brush *brush, PortraitBox box, const char *rating) {
    double r = fmin(box.width_mm, box.height_mm) / 2.0;
    double u = box.u_mm;
    double v = box.v_mm;
    brush_circle(brush, u, v, r);
    brush_shadow(brush, 1.6, 0.6);
    brush_circle(brush, u, v, r);
    brush_fill_along(brush, u - r, v + r, u + r, v - r, 0x3F4246u, 0x0B0C0Du);
    brush_stroke(brush, 0x000000u, 0.8, 0.15);
    brush_circle(brush, u, v, r * 0.86);
    brush_fill_along(brush, u - r * 0.6, v + r * 0.6, u + r * 0.6, v - r * 0.6, 0x1C1E20u,
                     0x2E3135u);
    double length = (double)strlen(rating);
    double letter = length > 2.0 ? r * 0.64 : r * 0.84;
    brush_text(brush, u, v - letter / 2.0, letter, true, ALIGN_MIDDLE, 0xF6F4EEu, 1.0, rating);
}

static void breaker(const Portrait *portrait, const PanelItem *item, PortraitBox box,
                    const char *rating) {
    const Brush *brush = &portrait->brush;
    double r = fmin(box.width_mm, box.height_mm) / 2.0;
    double u = box.u_mm;
    double v = box.v_mm;
    if (item->spare) {
        brush_circle(brush, u, v, r);
        brush_shadow(brush, 0.9, 0.45);
        brush_circle(brush, u, v, r);
        brush_fill_ball(brush, u, v, r, 0x2A2C2Fu);
        cairo_new_path(brush->cairo);
        return;
    }
    knurled(brush, u, v, r, 30, r * 0.05);
    brush_shadow(brush, 1.2, 0.55);
    knurled(brush, u, v, r, 30, r * 0.05);
    brush_fill_along(brush, u - r, v + r, u + r, v - r, 0xD9DCDEu, 0x5D6267u);
    brush_stroke(brush, 0x101214u, 0.55, 0.14);
    brush_circle(brush, u, v, r * 0.84);
    brush_fill_along(brush, u - r, v + r, u + r, v - r, 0x777C81u, 0xDFE2E4u);
    brush_circle(brush, u, v, r * 0.74);
    brush_fill(brush, 0x0A0B0Cu, 1.0);
    if (item->front_count == 0) {
        breaker_cap(brush, (PortraitBox){u, v, r * 1.36, r * 1.36}, rating);
    }
    cairo_new_path(brush->cairo);
}

static void socket(const Portrait *portrait, const PanelFront *front, PortraitBox box) {
    const Brush *brush = &portrait->brush;
    path_of(portrait, &front->contour);
    brush_fill(brush, HOLE_RGB, 1.0);
    brush_inner_shadow(brush, 0.6, 0.7);
    brush_stroke_along(brush, box.u_mm, box.v_mm + box.height_mm / 2.0, box.u_mm,
                       box.v_mm - box.height_mm / 2.0, 0x000000u, 0xC9CDD0u, 0.8, 0.25);
    if (box.width_mm > 1.6 * box.height_mm) { /* a tongue, as data sockets have */
        brush_box(brush, box.u_mm, box.v_mm, box.width_mm * 0.70, box.height_mm * 0.24, 0.2);
        brush_fill(brush, 0xDADDDFu, 0.85);
    }
    cairo_new_path(brush->cairo);
}

static void lamp(const Brush *brush, PortraitBox box) {
    double r = fmin(box.width_mm, box.height_mm) / 2.0;
    brush_circle(brush, box.u_mm, box.v_mm, r);
    brush_shadow(brush, 0.9, 0.5);
    brush_circle(brush, box.u_mm, box.v_mm, r);
    brush_fill_along(brush, box.u_mm - r, box.v_mm + r, box.u_mm + r, box.v_mm - r, 0xEDEFF0u,
                     0x5C6166u);
    brush_circle(brush, box.u_mm, box.v_mm, r * 0.74);
    brush_fill_ball(brush, box.u_mm, box.v_mm, r * 0.74, brush_shade(GREEN_RGB, -0.35));
    cairo_new_path(brush->cairo);
}

/* --- items --------------------------------------------------------------------------------------
 */

/* Figures in a window: which ones follows from its place among the windows of the face. */
static const char *window_text(uint32_t index) {
    static const char *const TEXTS[] = {"ILLUSTRATION", "ILLUSTRATION   1 2 3", "ILLUSTRATION",
                                        "ILLUSTRATION   4 5 6"};
    return TEXTS[index % 4];
}

static void draw_front(const Portrait *portrait, uint32_t item, const PanelFront *front,
                       uint32_t number) {
    const Brush *brush = &portrait->brush;
    const PanelItem *it = &portrait->panel->items[item];
    const CutoutRow *cutout = panel_cutout(portrait->panel, item);
    const MountRow *mount = panel_mount(portrait->panel, item);
    const char *kind = portrait->panel->model->set->cutout_front.rows[front->row].kind;
    PortraitBox box = portrait_box(&front->contour);
    bool round = panel_contour_diameter_mm(&front->contour) > 0.0;
    if (is_kind(kind, "screen")) {
        PortraitScreen shows = is_kind(cutout->kind, "tray")              ? SCREEN_FIGURES
                               : is_kind(mount->use, "primary")           ? SCREEN_PRIMARY
                               : fmin(box.width_mm, box.height_mm) < 90.0 ? SCREEN_SMALL
                                                                          : SCREEN_MAP;
        portrait_screen(brush, box, shows, round);
    } else if (is_kind(kind, "window") && is_kind(cutout->kind, "instrument")) {
        portrait_screen(brush, box, SCREEN_SMALL, round);
    } else if (is_kind(kind, "window") && is_kind(cutout->kind, "lamp")) {
        portrait_lights(brush, box);
    } else if (is_kind(kind, "window")) {
        portrait_window(brush, box, window_text(number));
    } else if (is_kind(kind, "knob")) {
        knob(brush, box, front->high_mm);
    } else if (is_kind(kind, "wheel")) {
        wheel(portrait, box);
    } else if (is_kind(kind, "guard")) {
        guard(portrait, front, box);
    } else if (is_kind(kind, "socket")) {
        socket(portrait, front, box);
    } else if (is_kind(kind, "lever") && is_kind(cutout->kind, "lever")) {
        lever(portrait, box);
    } else if (is_kind(kind, "lever")) {
        toggle(brush, it->at.u_mm, it->at.v_mm,
               fmin(13.0, fmax(7.5, box.v_mm + box.height_mm / 2.0 - it->at.v_mm)));
    } else if (is_kind(kind, "cap") && is_kind(cutout->kind, "breaker")) {
        breaker_cap(brush, box, panel_item_rating(portrait->panel, brush->arena, item));
    } else {
        bool engine = is_kind(mount->use, "engine") && is_kind(cutout->kind, "switch");
        button(portrait, front, box, engine ? 0x3A3D40u : 0x2B2D30u);
    }
}

static bool has_front(const Portrait *portrait, const PanelItem *item, const char *kind) {
    for (uint32_t i = 0; i < item->front_count; i++) {
        const PanelFront *front = &portrait->panel->fronts[item->front_first + i];
        if (is_kind(portrait->panel->model->set->cutout_front.rows[front->row].kind, kind)) {
            return true;
        }
    }
    return false;
}

static void draw_bezel(const Portrait *portrait, uint32_t item, PortraitBox box) {
    const Brush *brush = &portrait->brush;
    const PanelItem *it = &portrait->panel->items[item];
    const char *kind = panel_cutout(portrait->panel, item)->kind;
    /* Larger and angular things have a plate of their own. */
    bool is_nut = panel_contour_diameter_mm(&it->bezel) > 0.0 && box.width_mm < NUT_MOST_MM;
    if (is_kind(kind, "breaker")) {
        breaker(portrait, it, box, panel_item_rating(portrait->panel, brush->arena, item));
    } else if (is_kind(kind, "switch")) {
        if (has_front(portrait, it, "guard")) {
            plate(portrait, &it->bezel, 0.8, BEZEL_RGB);
        } else if (!is_nut) {
            plate(portrait, &it->bezel, fmax(1.5, it->bezel_high_mm), BEZEL_RGB);
        } else {
            nut(portrait, box);
        }
        if (it->front_count == 0) {
            toggle(brush, it->at.u_mm, it->at.v_mm, 10.0);
        }
    } else if (is_kind(kind, "knob")) {
        if (it->front_count == 0) {
            knob(brush, box, 12.0);
        }
    } else if (is_kind(kind, "lamp") && is_nut) {
        lamp(brush, box);
    } else if (is_kind(kind, "jack") && is_nut) {
        nut(portrait, box);
        if (it->front_count == 0) {
            brush_circle(brush, it->at.u_mm, it->at.v_mm, 0.20 * box.width_mm);
            brush_fill(brush, HOLE_RGB, 1.0);
            cairo_new_path(brush->cairo);
        }
    } else if (is_kind(kind, "tray")) {
        plate(portrait, &it->bezel, fmax(1.0, it->bezel_high_mm), PLASTIC_RGB);
    } else {
        plate(portrait, &it->bezel, fmax(1.5, it->bezel_high_mm), BEZEL_RGB);
    }
}

void portrait_item(const Portrait *portrait, uint32_t item) {
    const PanelItem *it = &portrait->panel->items[item];
    PortraitBox box = portrait_box(&it->bezel);
    draw_bezel(portrait, item, box);
    for (uint32_t i = 0; i < it->hole_count; i++) {
        const PanelHole *hole = &portrait->panel->holes[it->hole_first + i];
        if (hole->kind == PANEL_SCREW && hole->head_mm > 0.0) {
            screw_head(&portrait->brush, hole->centre.u_mm, hole->centre.v_mm, hole->head_mm,
                       hole->sink_mm > 0.0, STEEL_RGB);
        }
    }
    if (it->spare) {
        return;
    }
    for (uint32_t i = 0; i < it->front_count; i++) {
        draw_front(portrait, item, &portrait->panel->fronts[it->front_first + i], i + item);
    }
}
