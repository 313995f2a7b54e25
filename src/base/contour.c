/* Method: everything follows from chord and bulge b. Angle of the arc: 4 atan b. Radius: chord
 * times (1 + b^2) / 4b. Its middle lies off the chord's middle by chord times (1 - b^2) / 4b, to
 * the left for a positive b. The area between arc and chord is r^2 (angle - sin angle) / 2. */
#include "base/contour.h"

#include <math.h>

#include "base/check.h"
#include "base/units.h"

#define PI 3.14159265358979323846

static const ContourPoint *next_of(const Contour *contour, size_t i) {
    return &contour->points[i + 1 == contour->count ? 0 : i + 1];
}

void contour_add(Arena *arena, ContourList *list, Contour contour) {
    *ARENA_PUSH(arena, list->items, list->count, list->capacity) = contour;
}

/* --- shapes -------------------------------------------------------------------------------------
 */

Contour contour_circle(Arena *arena, double x_mm, double y_mm, double radius_mm) {
    CHECK(radius_mm > 0.0);
    Contour contour = {ARENA_ARRAY(arena, ContourPoint, 2), 2};
    contour.points[0] = (ContourPoint){x_mm - radius_mm, y_mm, 1.0};
    contour.points[1] = (ContourPoint){x_mm + radius_mm, y_mm, 1.0};
    return contour;
}

Contour contour_rectangle(Arena *arena, double x_mm, double y_mm, double width_mm, double height_mm,
                          double corner_mm) {
    CHECK(width_mm > 0.0 && height_mm > 0.0);
    double left = x_mm - width_mm / 2.0;
    double right = x_mm + width_mm / 2.0;
    double low = y_mm - height_mm / 2.0;
    double high = y_mm + height_mm / 2.0;
    double r = fmin(corner_mm, fmin(width_mm, height_mm) / 2.0);
    Contour contour = {ARENA_ARRAY(arena, ContourPoint, 8), 0};
    if (r <= 0.0) {
        ContourPoint corners[] = {
            {left, low, 0.0}, {right, low, 0.0}, {right, high, 0.0}, {left, high, 0.0}};
        for (size_t i = 0; i < 4; i++) {
            contour.points[contour.count++] = corners[i];
        }
        return contour;
    }
    double b = tan(PI / 8.0);
    ContourPoint rounded[] = {
        {left + r, low, 0.0},   {right - r, low, b}, {right, low + r, 0.0}, {right, high - r, b},
        {right - r, high, 0.0}, {left + r, high, b}, {left, high - r, 0.0}, {left, low + r, b},
    };
    for (size_t i = 0; i < 8; i++) {
        const ContourPoint *next = &rounded[(i + 1) % 8];
        if (rounded[i].bulge != 0.0 || next->x_mm != rounded[i].x_mm ||
            next->y_mm != rounded[i].y_mm) {
            contour.points[contour.count++] = rounded[i];
        }
    }
    return contour;
}

/* --- arcs ---------------------------------------------------------------------------------------
 */

bool contour_arc(const ContourPoint *from, const ContourPoint *to, double *x_mm, double *y_mm,
                 double *radius_mm) {
    double b = from->bulge;
    if (b == 0.0) {
        return false;
    }
    double dx = to->x_mm - from->x_mm;
    double dy = to->y_mm - from->y_mm;
    double off = (1.0 - b * b) / (4.0 * b);
    *x_mm = (from->x_mm + to->x_mm) / 2.0 - off * dy;
    *y_mm = (from->y_mm + to->y_mm) / 2.0 + off * dx;
    *radius_mm = hypot(dx, dy) * (1.0 + b * b) / (4.0 * fabs(b));
    return true;
}

bool contour_is_circle(const Contour *contour, double *x_mm, double *y_mm, double *radius_mm) {
    if (contour->count != 2) {
        return false;
    }
    const ContourPoint *a = &contour->points[0];
    const ContourPoint *b = &contour->points[1];
    if (fabs(fabs(a->bulge) - 1.0) > 1e-9 || fabs(a->bulge - b->bulge) > 1e-9) {
        return false;
    }
    *x_mm = (a->x_mm + b->x_mm) / 2.0;
    *y_mm = (a->y_mm + b->y_mm) / 2.0;
    *radius_mm = hypot(b->x_mm - a->x_mm, b->y_mm - a->y_mm) / 2.0;
    return true;
}

double contour_area_mm2(const Contour *contour) {
    double twice = 0.0;
    for (size_t i = 0; i < contour->count; i++) {
        const ContourPoint *a = &contour->points[i];
        const ContourPoint *b = next_of(contour, i);
        twice += a->x_mm * b->y_mm - b->x_mm * a->y_mm;
        double x;
        double y;
        double r;
        if (contour_arc(a, b, &x, &y, &r)) {
            double angle = 4.0 * atan(a->bulge);
            twice += r * r * (angle - sin(angle));
        }
    }
    return twice / 2.0;
}

static void widen(ContourBox *box, double x_mm, double y_mm) {
    box->left_mm = fmin(box->left_mm, x_mm);
    box->right_mm = fmax(box->right_mm, x_mm);
    box->bottom_mm = fmin(box->bottom_mm, y_mm);
    box->top_mm = fmax(box->top_mm, y_mm);
}

ContourBox contour_box(const Contour *contour) {
    CHECK(contour->count > 1);
    ContourBox box = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (size_t i = 0; i < contour->count; i++) {
        const ContourPoint *a = &contour->points[i];
        const ContourPoint *b = next_of(contour, i);
        widen(&box, a->x_mm, a->y_mm);
        double x;
        double y;
        double r;
        if (!contour_arc(a, b, &x, &y, &r)) {
            continue;
        }
        double from = atan2(a->y_mm - y, a->x_mm - x);
        double angle = 4.0 * atan(a->bulge);
        double low = fmin(from, from + angle);
        double high = fmax(from, from + angle);
        for (double quarter = ceil(low / (PI / 2.0)); quarter * PI / 2.0 <= high; quarter += 1.0) {
            widen(&box, x + r * cos(quarter * PI / 2.0), y + r * sin(quarter * PI / 2.0));
        }
    }
    return box;
}

/* --- copies -------------------------------------------------------------------------------------
 */

Contour contour_moved(Arena *arena, const Contour *contour, const ContourMove *move) {
    Contour out = {ARENA_ARRAY(arena, ContourPoint, contour->count), contour->count};
    /* Quarter turns are exact, so that a turned part measures the same to the last digit. */
    double quarters = move->turn_deg / 90.0;
    double c = cos(units_rad_from_deg(move->turn_deg));
    double s = sin(units_rad_from_deg(move->turn_deg));
    if (quarters == floor(quarters)) {
        c = round(c);
        s = round(s);
    }
    for (size_t i = 0; i < contour->count; i++) {
        double x = move->mirrored ? -contour->points[i].x_mm : contour->points[i].x_mm;
        double y = contour->points[i].y_mm;
        out.points[i] = (ContourPoint){
            .x_mm = move->x_mm + c * x - s * y,
            .y_mm = move->y_mm + s * x + c * y,
            .bulge = move->mirrored ? -contour->points[i].bulge : contour->points[i].bulge,
        };
    }
    return out;
}

Contour contour_reversed(Arena *arena, const Contour *contour) {
    size_t count = contour->count;
    Contour out = {ARENA_ARRAY(arena, ContourPoint, count), count};
    for (size_t i = 0; i < count; i++) {
        const ContourPoint *point = &contour->points[count - 1 - i];
        const ContourPoint *before = &contour->points[(2 * count - 2 - i) % count];
        out.points[i] = (ContourPoint){point->x_mm, point->y_mm, 0.0 - before->bulge};
    }
    return out;
}

/* Chords of an arc that stay within the tolerance: the rise of one is r (1 - cos of half its
 * angle). */
static size_t chords_of(double radius_mm, double angle_rad, double tolerance_mm) {
    double most = 2.0 * acos(fmax(0.0, 1.0 - tolerance_mm / radius_mm));
    double count = ceil(fabs(angle_rad) / fmax(most, 1e-3));
    return (size_t)fmax(1.0, count);
}

Contour contour_straightened(Arena *arena, const Contour *contour, double tolerance_mm) {
    CHECK(tolerance_mm > 0.0);
    Contour out = {0};
    size_t capacity = 0;
    for (size_t i = 0; i < contour->count; i++) {
        const ContourPoint *a = &contour->points[i];
        *ARENA_PUSH(arena, out.points, out.count, capacity) = (ContourPoint){a->x_mm, a->y_mm, 0.0};
        double x;
        double y;
        double r;
        if (!contour_arc(a, next_of(contour, i), &x, &y, &r)) {
            continue;
        }
        double from = atan2(a->y_mm - y, a->x_mm - x);
        double angle = 4.0 * atan(a->bulge);
        size_t chords = chords_of(r, angle, tolerance_mm);
        for (size_t j = 1; j < chords; j++) {
            double at = from + angle * (double)j / (double)chords;
            *ARENA_PUSH(arena, out.points, out.count, capacity) =
                (ContourPoint){x + r * cos(at), y + r * sin(at), 0.0};
        }
    }
    return out;
}
