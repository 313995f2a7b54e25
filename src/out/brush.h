/* What the picture of a panel is painted with: paths of contours, soft shadows, shaded fills. Works
 * on a cairo context whose unit is 1 mm and whose y runs up. The light comes from the upper left.
 */
#ifndef OUT_BRUSH_H
#define OUT_BRUSH_H

#include <cairo.h>
#include <stdint.h>

#include "base/contour.h"
#include "draw/engrave.h"

typedef struct Brush {
    cairo_t *cairo;
    Arena *arena;
    DrawFonts *fonts;
} Brush;

/* --- colours ------------------------------------------------------------------------------------
 */

/* `share` of `other` in it, 0 to 1. */
uint32_t brush_mix(uint32_t rgb, uint32_t other, double share);
/* Lighter (share > 0, towards white) or darker (< 0, towards black). */
uint32_t brush_shade(uint32_t rgb, double share);
/* "#rrggbb" as a number; false when it is not one. */
bool brush_rgb(const char *text, uint32_t *rgb);
/* Relative luminance, 0 to 1 (formula of WCAG 2.1). */
double brush_luminance(uint32_t rgb);

/* --- paths: each begins a new one ---------------------------------------------------------------
 */

void brush_contour(const Brush *brush, const Contour *contour);
/* Adds to the path; begin a new one before. */
void brush_contours(const Brush *brush, const ContourList *contours);
void brush_circle(const Brush *brush, double x_mm, double y_mm, double radius_mm);
/* About its middle. */
void brush_box(const Brush *brush, double x_mm, double y_mm, double width_mm, double height_mm,
               double corner_mm);
void brush_polygon(const Brush *brush, const double *xy_mm, size_t points);

/* --- on the path; it stays ----------------------------------------------------------------------
 */

void brush_fill(const Brush *brush, uint32_t rgb, double alpha);
void brush_stroke(const Brush *brush, uint32_t rgb, double alpha, double width_mm);
/* From one place to the other; colours blend between. */
void brush_fill_along(const Brush *brush, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
                      uint32_t from_rgb, uint32_t to_rgb);
void brush_fill_along_3(const Brush *brush, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
                        uint32_t from_rgb, uint32_t middle_rgb, uint32_t to_rgb);
/* A highlight at (x, y) that fades out at `radius_mm`. */
void brush_fill_glow(const Brush *brush, double x_mm, double y_mm, double radius_mm, uint32_t rgb,
                     double alpha);
/* A ball: bright at the upper left, dark at the lower right. */
void brush_fill_ball(const Brush *brush, double x_mm, double y_mm, double radius_mm, uint32_t rgb);
void brush_stroke_along(const Brush *brush, double x1_mm, double y1_mm, double x2_mm, double y2_mm,
                        uint32_t from_rgb, uint32_t to_rgb, double alpha, double width_mm);
/* The shadow of what the path encloses and that stands `high_mm` above what it falls on. The path
 * is used up. */
void brush_shadow_at(const Brush *brush, double right_mm, double down_mm, double wide_mm,
                     double strength); /* moved by so much, fading over `wide_mm` */
void brush_shadow(const Brush *brush, double high_mm, double strength);
/* The shadow that the rim of a recess throws into it. The path stays. */
void brush_inner_shadow(const Brush *brush, double deep_mm, double strength);

/* --- letters ------------------------------------------------------------------------------------
 */

/* About the middle (x) and the baseline (y); returns the width. */
double brush_text(const Brush *brush, double x_mm, double y_mm, double height_mm, bool bold,
                  DrawAlign align, uint32_t rgb, double alpha, const char *text);

#endif
