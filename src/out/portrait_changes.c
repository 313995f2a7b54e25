/* What differs from an earlier panel, over a picture that fades behind it: where a thing was in a
 * dashed outline, where it is in a thick one, an arrow between, and the word beside it. Colour only
 * repeats what word and line say. */
#include "out/portrait_inner.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

#define MOVED_RGB 0x00609Cu
#define ADDED_RGB 0x1E6B33u
#define REMOVED_RGB 0x9E1B32u
#define CHANGED_RGB 0x8A4B00u

static const PanelItem *item_of(const Panel *panel, const char *key) {
    for (uint32_t i = 0; i < panel->item_count; i++) {
        if (strcmp(panel->items[i].key, key) == 0) {
            return &panel->items[i];
        }
    }
    return NULL;
}

static const PanelText *text_of(const Panel *panel, const char *key) {
    for (uint32_t i = 0; i < panel->text_count; i++) {
        if (strcmp(panel->model->set->legend.rows[panel->texts[i].row].legend, key) == 0) {
            return &panel->texts[i];
        }
    }
    return NULL;
}

/* Outline of an item or legend on a face; false when it is not there. */
static bool place_of(const Brush *brush, const Panel *panel, const char *face,
                     const SeenChange *change, Contour *outline) {
    if (strcmp(change->kind, "item") == 0) {
        const PanelItem *item = item_of(panel, change->key);
        if (item == NULL || strcmp(panel->faces[item->face].key, face) != 0) {
            return false;
        }
        *outline = cut_contour(brush->arena, &item->bezel);
        return true;
    }
    if (strcmp(change->kind, "legend") != 0) {
        return false;
    }
    const PanelText *text = text_of(panel, change->key);
    if (text == NULL || strcmp(panel->faces[text->face].key, face) != 0) {
        return false;
    }
    ContourList letters = {0};
    cut_legend(brush->arena, brush->fonts, panel, text, &letters);
    ContourBox all = {text->at.u_mm, text->at.v_mm, text->at.u_mm, text->at.v_mm};
    for (size_t i = 0; i < letters.count; i++) {
        ContourBox box = contour_box(&letters.items[i]);
        all.left_mm = fmin(all.left_mm, box.left_mm);
        all.right_mm = fmax(all.right_mm, box.right_mm);
        all.bottom_mm = fmin(all.bottom_mm, box.bottom_mm);
        all.top_mm = fmax(all.top_mm, box.top_mm);
    }
    *outline = contour_rectangle(
        brush->arena, (all.left_mm + all.right_mm) / 2.0, (all.bottom_mm + all.top_mm) / 2.0,
        all.right_mm - all.left_mm + 3.0, all.top_mm - all.bottom_mm + 3.0, 1.0);
    return true;
}

static void middle_of(const Contour *outline, double *x, double *y) {
    ContourBox box = contour_box(outline);
    *x = (box.left_mm + box.right_mm) / 2.0;
    *y = (box.bottom_mm + box.top_mm) / 2.0;
}

static void arrow(const Brush *brush, double x1, double y1, double x2, double y2, uint32_t rgb) {
    double length = hypot(x2 - x1, y2 - y1);
    if (length < 3.0) {
        return;
    }
    double dx = (x2 - x1) / length;
    double dy = (y2 - y1) / length;
    double head = fmin(7.0, 0.6 * length);
    cairo_new_path(brush->cairo);
    cairo_move_to(brush->cairo, x1, y1);
    cairo_line_to(brush->cairo, x2 - 0.8 * head * dx, y2 - 0.8 * head * dy);
    brush_stroke(brush, rgb, 1.0, 1.6);
    double xy[] = {x2,
                   y2,
                   x2 - head * dx - 0.45 * head * dy,
                   y2 - head * dy + 0.45 * head * dx,
                   x2 - head * dx + 0.45 * head * dy,
                   y2 - head * dy - 0.45 * head * dx};
    brush_polygon(brush, xy, 3);
    brush_fill(brush, rgb, 1.0);
    cairo_new_path(brush->cairo);
}

static void word(const Brush *brush, const Contour *outline, const SeenChange *change,
                 uint32_t rgb) {
    ContourBox box = contour_box(outline);
    double letter = strcmp(change->kind, "legend") == 0 ? 3.2 : 5.0;
    const char *text = arena_format(brush->arena, "%s %s", change->key, change->what);
    double w = fonts_width_mm(brush->fonts, text, letter, true) + letter;
    double x = (box.left_mm + box.right_mm) / 2.0;
    double y = box.top_mm + 1.3 * letter;
    brush_box(brush, x, y, w, 1.8 * letter, 0.4 * letter);
    brush_fill(brush, 0xFFFFFFu, 0.95);
    brush_stroke(brush, rgb, 1.0, 0.4);
    cairo_new_path(brush->cairo);
    brush_text(brush, x, y - letter / 2.0, letter, true, ALIGN_MIDDLE, rgb, 1.0, text);
}

static void outlined(const Brush *brush, const Contour *outline, uint32_t rgb, bool dashed) {
    static const double DASH[] = {4.0, 2.5};
    brush_contour(brush, outline);
    brush_fill(brush, rgb, dashed ? 0.06 : 0.16);
    cairo_set_dash(brush->cairo, DASH, dashed ? 2 : 0, 0.0);
    brush_stroke(brush, rgb, 1.0, dashed ? 1.0 : 1.8);
    cairo_set_dash(brush->cairo, NULL, 0, 0.0);
    cairo_new_path(brush->cairo);
}

void portrait_changes(const Portrait *portrait, const PortraitShot *shot) {
    const Brush *brush = &portrait->brush;
    const PanelFace *plate = &portrait->panel->faces[portrait->face];
    Contour edge = cut_contour(brush->arena, &plate->outline);
    brush_contour(brush, &edge);
    brush_fill(brush, 0xFFFFFFu, 0.55);
    cairo_new_path(brush->cairo);
    for (int pass = 0; pass < 2; pass++) { /* words lie above all outlines */
        for (size_t i = 0; i < shot->change_count; i++) {
            const SeenChange *change = &shot->changes[i];
            Contour was;
            Contour is;
            bool there_was = place_of(brush, shot->before, plate->key, change, &was);
            bool there_is = place_of(brush, portrait->panel, plate->key, change, &is);
            bool removed = strcmp(change->what, "removed") == 0;
            bool added = strcmp(change->what, "added") == 0;
            bool moved = strcmp(change->what, "moved") == 0;
            uint32_t rgb = removed ? REMOVED_RGB
                           : added ? ADDED_RGB
                           : moved ? MOVED_RGB
                                   : CHANGED_RGB;
            if (pass == 0) {
                if (there_was && (removed || moved)) {
                    outlined(brush, &was, rgb, true);
                }
                if (there_is && !removed) {
                    outlined(brush, &is, rgb, false);
                }
                if (there_was && there_is && moved) {
                    double x[2];
                    double y[2];
                    middle_of(&was, &x[0], &y[0]);
                    middle_of(&is, &x[1], &y[1]);
                    arrow(brush, x[0], y[0], x[1], y[1], rgb);
                }
            } else if (there_is && !removed) {
                word(brush, &is, change, rgb);
            } else if (there_was && removed) {
                word(brush, &was, change, rgb);
            }
        }
    }
}
