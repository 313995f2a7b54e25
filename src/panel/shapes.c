/* Every shape is made of its corners and tangent points; none is approximated. */
#include "panel/shapes.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"

static const PanelPoint NOUGHT = {0.0, 0.0};

static bool given(double value) {
    return !isnan(value) && value > 0.0;
}

/* Half circles at both ends of the longer side. */
static PanelContour slot(Arena *out, double width_mm, double height_mm) {
    return panel_rectangle(out, NOUGHT, width_mm, height_mm, fmin(width_mm, height_mm) / 2.0);
}

/* A circle cut off above; `flat_mm` from the flat to the far side. */
static const char *dee(Arena *out, double diameter_mm, double flat_mm, PanelContour *contour) {
    double r = diameter_mm / 2.0;
    double h = flat_mm - r;
    if (!given(flat_mm) || !(h > -r && h < r)) {
        return "a dee needs flat_mm, less than its diameter";
    }
    double half = acos(h / r); /* from the upward direction to the flat's ends */
    PanelPiece pieces[2];
    pieces[0] = panel_arc(NOUGHT, r, UNITS_PI / 2.0 + half, 2.0 * (UNITS_PI - half));
    pieces[1] = panel_line(pieces[0].to, pieces[0].from);
    *contour = panel_contour(out, pieces, 2);
    return NULL;
}

static const char *double_dee(Arena *out, double diameter_mm, double flat_mm,
                              PanelContour *contour) {
    double r = diameter_mm / 2.0;
    if (!given(flat_mm) || !(flat_mm < diameter_mm)) {
        return "a double dee needs flat_mm, less than its diameter";
    }
    double quarter = asin(flat_mm / 2.0 / r);
    PanelPiece pieces[4];
    pieces[0] = panel_arc(NOUGHT, r, -quarter, 2.0 * quarter);
    pieces[2] = panel_arc(NOUGHT, r, UNITS_PI - quarter, 2.0 * quarter);
    pieces[1] = panel_line(pieces[0].to, pieces[2].from);
    pieces[3] = panel_line(pieces[2].to, pieces[0].from);
    *contour = panel_contour(out, pieces, 4);
    return NULL;
}

/* A circle with a square notch above, its end notch_mm above the middle. */
static const char *keyed(Arena *out, double diameter_mm, double notch_width_mm, double notch_mm,
                         PanelContour *contour) {
    double r = diameter_mm / 2.0;
    double w = notch_width_mm / 2.0;
    if (!given(notch_width_mm) || !given(notch_mm) || !(w < r) || !(notch_mm > r)) {
        return "a keyed hole needs notch_width_mm, less than its diameter, and notch_mm, more than "
               "half of it";
    }
    double half = asin(w / r);
    PanelPiece pieces[4];
    pieces[0] = panel_arc(NOUGHT, r, UNITS_PI / 2.0 + half, 2.0 * (UNITS_PI - half));
    PanelPoint right = {w, notch_mm};
    PanelPoint left = {-w, notch_mm};
    pieces[1] = panel_line(pieces[0].to, right);
    pieces[2] = panel_line(right, left);
    pieces[3] = panel_line(left, pieces[0].from);
    *contour = panel_contour(out, pieces, 4);
    return NULL;
}

/* A circle with round notches at corners of the square around it: room for the bosses of corner
 * screws and for a setting knob. Every notch is a circle whose middle lies notch_mm from the
 * middle, 45 degrees up or down. */
static const char *notched(Arena *out, const CutoutHoleRow *row, double diameter_mm,
                           PanelContour *contour) {
    static const char *const names[4] = {"right-up", "left-up", "left-down", "right-down"};
    double r = diameter_mm / 2.0;
    double n = row->notch_width_mm / 2.0;
    double d = row->notch_mm;
    if (!given(row->notch_width_mm) || !given(d) || !(d < r + n) || !(d + n > r) || !(d > r - n)) {
        return "a notched hole needs notch_width_mm and notch_mm so that the notch reaches over "
               "its "
               "edge";
    }
    /* Half angles of the notch as seen from the middle of the hole, and from its own. */
    double from_hole = acos((d * d + r * r - n * n) / (2.0 * d * r));
    double from_notch = acos((d * d + n * n - r * r) / (2.0 * d * n));
    if (!(from_hole < UNITS_PI / 4.0)) {
        return "a notch that reaches to the next one";
    }
    const char *place = row->corners;
    const char *word;
    size_t length;
    while (text_next_word(&place, &word, &length)) {
        bool known = false;
        for (int i = 0; i < 4; i++) {
            known = known || (strlen(names[i]) == length && memcmp(word, names[i], length) == 0);
        }
        if (!known) {
            return "corners are right-up, left-up, left-down, right-down";
        }
    }
    PanelPiece pieces[8];
    uint32_t count = 0;
    double start = 0.0;
    bool first = true;
    double first_start = 0.0;
    for (int i = 0; i < 4; i++) {
        if (!text_has_word(row->corners, names[i])) {
            continue;
        }
        double way = UNITS_PI / 4.0 + i * UNITS_PI / 2.0;
        PanelPoint middle = {d * cos(way), d * sin(way)};
        if (first) {
            first_start = way - from_hole;
            first = false;
        } else {
            pieces[count++] = panel_arc(NOUGHT, r, start, way - from_hole - start);
        }
        double turn = UNITS_PI - from_notch;
        pieces[count++] = panel_arc(middle, n, way - turn, 2.0 * turn);
        start = way + from_hole;
    }
    if (count == 0) {
        return "a notched hole needs corners";
    }
    pieces[count++] = panel_arc(NOUGHT, r, start, first_start + 2.0 * UNITS_PI - start);
    *contour = panel_contour(out, pieces, count);
    return NULL;
}

/* width above, flat_mm below: the shell of a connector. */
static const char *trapezoid(Arena *out, const CutoutHoleRow *row, double width_mm,
                             PanelContour *contour) {
    if (!given(row->height_mm) || !given(row->flat_mm)) {
        return "a trapezoid needs height_mm and flat_mm, its width below";
    }
    double v = row->height_mm / 2.0;
    double above = width_mm / 2.0;
    double below = row->flat_mm / 2.0;
    const PanelPoint corners[4] = {{-below, -v}, {below, -v}, {above, v}, {-above, v}};
    double r = given(row->radius_mm) ? row->radius_mm : 0.0;
    const double round_mm[4] = {r, r, r, r};
    return panel_polygon(out, corners, round_mm, 4, contour) ? NULL
                                                             : "corner radii larger than its sides";
}

static const char *upright(Arena *out, const CutoutHoleRow *row, double width_mm,
                           PanelContour *contour) {
    if (strcmp(row->kind, "round") == 0) {
        *contour = panel_circle(out, NOUGHT, width_mm);
        return NULL;
    }
    if (strcmp(row->kind, "rectangle") == 0 || strcmp(row->kind, "slot") == 0) {
        if (!given(row->height_mm)) {
            return "no height_mm";
        }
        double r = given(row->radius_mm) ? row->radius_mm : 0.0;
        if (2.0 * r > fmin(width_mm, row->height_mm)) {
            return "a corner radius of more than half a side";
        }
        *contour = strcmp(row->kind, "slot") == 0
                       ? slot(out, width_mm, row->height_mm)
                       : panel_rectangle(out, NOUGHT, width_mm, row->height_mm, r);
        return NULL;
    }
    if (strcmp(row->kind, "dee") == 0) {
        return dee(out, width_mm, row->flat_mm, contour);
    }
    if (strcmp(row->kind, "double_dee") == 0) {
        return double_dee(out, width_mm, row->flat_mm, contour);
    }
    if (strcmp(row->kind, "keyed") == 0) {
        return keyed(out, width_mm, row->notch_width_mm, row->notch_mm, contour);
    }
    if (strcmp(row->kind, "notched") == 0) {
        return notched(out, row, width_mm, contour);
    }
    return trapezoid(out, row, width_mm, contour);
}

const char *panel_shape(Arena *out, const CutoutHoleRow *row, double width_mm,
                        PanelContour *contour) {
    if (!given(width_mm)) {
        return "no width_mm, and no screw that gives it";
    }
    const char *wrong = upright(out, row, width_mm, contour);
    if (wrong == NULL && given(row->rotation_deg)) {
        *contour = panel_contour_moved(out, contour, row->rotation_deg * UNITS_PI / 180.0, NOUGHT);
    }
    return wrong;
}
