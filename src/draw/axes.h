/* Axes of a plot: round numbers (1, 2 or 5 times a power of ten), ticks, units, and where a value
 * lies on paper. */
#ifndef DRAW_AXES_H
#define DRAW_AXES_H

#include "draw/list.h"

/* The smallest round step that cuts `span` into at most `most` parts; span > 0, most > 0. */
double axes_step(double span, unsigned most);

typedef struct Axes {
    DrawBox area;  /* inside the axes */
    double x_from; /* values at the edges */
    double x_to;
    double y_from;
    double y_to;
    double x_step;
    double y_step;
} Axes;

/* Axes over these values, widened to round numbers; `field` holds axes, numbers and titles. A span
 * of nothing becomes one of 1. */
Axes axes_place(DrawBox field, double x_from, double x_to, double y_from, double y_to);

/* Frame, ticks with numbers, light lines across, the title of each axis with its unit. `numbers`:
 * whether the x axis carries numbers and title (of stacked plots only the lowest does). */
void axes_draw(DrawList *list, const Axes *axes, const char *x_title, const char *y_title,
               bool numbers);

/* Words at the ends of curves, each on its own line in a strip between the axes and `right_mm`,
 * with a leader from its place. Sorts `words` from top to bottom. */
typedef struct AxesWord {
    DrawPoint at;
    const char *text;
} AxesWord;

void axes_end_words(DrawList *list, const Axes *axes, AxesWord *words, size_t count,
                    double right_mm);

static inline double axes_x_mm(const Axes *axes, double value) {
    return axes->area.left_mm + (value - axes->x_from) / (axes->x_to - axes->x_from) *
                                    (axes->area.right_mm - axes->area.left_mm);
}

static inline double axes_y_mm(const Axes *axes, double value) {
    return axes->area.bottom_mm - (value - axes->y_from) / (axes->y_to - axes->y_from) *
                                      (axes->area.bottom_mm - axes->area.top_mm);
}

#endif
