#include "draw/axes.h"

#include <math.h>
#include <stdio.h>

#include "base/check.h"

#define LEFT_MM 17.0  /* room of the numbers and the title of the y axis */
#define BELOW_MM 13.0 /* of the x axis */
#define TITLE_MM 4.5  /* of the title of the y axis, turned, with what must be free beside it */
#define ABOVE_MM 3.0
#define RIGHT_MM 5.0
#define TICK_MM 1.5
#define X_TICK_MM 18.0 /* least distance between numbers */
#define Y_TICK_MM 9.0
#define FIGURE_MM 2.14 /* of the typeface at STYLE_NOTE_MM; figures are tabular */
#define POINT_MM 1.0
#define MINUS_MM 1.5

double axes_step(double span, unsigned most) {
    CHECK(span > 0.0 && most > 0);
    double rough = span / most;
    double power = pow(10.0, floor(log10(rough)));
    static const double ROUND[] = {1.0, 2.0, 5.0, 10.0};
    for (size_t i = 0; i < 4; i++) {
        if (ROUND[i] * power >= rough * (1.0 - 1e-9)) {
            return ROUND[i] * power;
        }
    }
    return 10.0 * power;
}

static unsigned ticks_in(double length_mm, double each_mm) {
    double count = floor(length_mm / each_mm);
    return count < 1.0 ? 1 : (unsigned)count;
}

enum { NUMBER_TEXT = 340 }; /* the largest double with all its figures */

/* As many places as the step has. */
static const char *number(double value, double step, char text[NUMBER_TEXT]) {
    int places = step >= 1.0 ? 0 : (int)ceil(-log10(step) - 1e-9);
    snprintf(text, NUMBER_TEXT, "%.*f", places, fabs(value) < step * 1e-6 ? 0.0 : value);
    return text;
}

/* Width of a number: axes are placed before there is a list to measure in. */
static double number_mm(double value, double step) {
    char text[NUMBER_TEXT];
    double width_mm = 0.0;
    for (const char *at = number(value, step, text); *at != '\0'; at++) {
        width_mm += *at == '.' ? POINT_MM : *at == '-' ? MINUS_MM : FIGURE_MM;
    }
    return width_mm;
}

Axes axes_place(DrawBox field, double x_from, double x_to, double y_from, double y_to) {
    Axes axes = {.area = {field.left_mm + LEFT_MM, field.top_mm + ABOVE_MM,
                          field.right_mm - RIGHT_MM, field.bottom_mm - BELOW_MM}};
    x_to = x_to > x_from ? x_to : x_from + 1.0;
    y_to = y_to > y_from ? y_to : y_from + 1.0;
    axes.y_step =
        axes_step(y_to - y_from, ticks_in(axes.area.bottom_mm - axes.area.top_mm, Y_TICK_MM));
    axes.y_from = floor(y_from / axes.y_step + 1e-9) * axes.y_step;
    axes.y_to = ceil(y_to / axes.y_step - 1e-9) * axes.y_step;
    /* Plots above each other have their axes in line unless numbers are longer than usual. */
    double widest_mm = fmax(number_mm(axes.y_from, axes.y_step), number_mm(axes.y_to, axes.y_step));
    axes.area.left_mm = field.left_mm + fmax(LEFT_MM, TITLE_MM + widest_mm + TICK_MM + 1.0);
    axes.x_step =
        axes_step(x_to - x_from, ticks_in(axes.area.right_mm - axes.area.left_mm, X_TICK_MM));
    axes.x_from = floor(x_from / axes.x_step + 1e-9) * axes.x_step;
    axes.x_to = ceil(x_to / axes.x_step - 1e-9) * axes.x_step;
    axes.area.right_mm =
        field.right_mm - fmax(RIGHT_MM, number_mm(axes.x_to, axes.x_step) / 2.0 + 0.1);
    return axes;
}

void axes_draw(DrawList *list, const Axes *axes, const char *x_title, const char *y_title,
               bool numbers) {
    char text[NUMBER_TEXT];
    const DrawBox *area = &axes->area;
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE};
    draw_layer(list, LAYER_RULE);
    draw_rectangle(list, *area, STYLE_MEDIUM_MM);
    int x_count = (int)lround((axes->x_to - axes->x_from) / axes->x_step);
    for (int i = 0; i <= x_count; i++) {
        double value = axes->x_from + i * axes->x_step;
        double x_mm = axes_x_mm(axes, value);
        draw_line(list, x_mm, area->bottom_mm, x_mm, area->bottom_mm + TICK_MM, STYLE_THIN_MM);
        if (numbers) {
            draw_text(list, x_mm, area->bottom_mm + TICK_MM + 1.0 + STYLE_NOTE_MM, style,
                      number(value, axes->x_step, text));
        }
    }
    style.align = ALIGN_RIGHT;
    int y_count = (int)lround((axes->y_to - axes->y_from) / axes->y_step);
    for (int i = 0; i <= y_count; i++) {
        double value = axes->y_from + i * axes->y_step;
        double y_mm = axes_y_mm(axes, value);
        draw_line(list, area->left_mm - TICK_MM, y_mm, area->left_mm, y_mm, STYLE_THIN_MM);
        draw_text(list, area->left_mm - TICK_MM - 1.0, y_mm + STYLE_NOTE_MM / 2.0, style,
                  number(value, axes->y_step, text));
    }
    style.align = ALIGN_MIDDLE;
    if (numbers) {
        draw_text(list, (area->left_mm + area->right_mm) / 2.0,
                  area->bottom_mm + TICK_MM + 2.0 + 2.0 * STYLE_NOTE_MM + 2.0, style, x_title);
    }
    style.turned = true;
    double widest_mm =
        fmax(number_mm(axes->y_from, axes->y_step), number_mm(axes->y_to, axes->y_step));
    double title_mm =
        area->left_mm - fmax(LEFT_MM, TITLE_MM + widest_mm + TICK_MM + 1.0) + STYLE_NOTE_MM + 0.5;
    draw_text(list, title_mm, (area->top_mm + area->bottom_mm) / 2.0, style, y_title);
}

static bool ends_above(DrawPoint one, DrawPoint other) {
    return fabs(one.y_mm - other.y_mm) < STYLE_MEDIUM_MM ? one.x_mm > other.x_mm
                                                         : one.y_mm < other.y_mm;
}

void axes_end_words(DrawList *list, const Axes *axes, AxesWord *words, size_t count,
                    double right_mm) {
    /* From top to bottom; of two at one height the one further right first, so that the leader of
     * the other passes below its end. */
    for (size_t i = 1; i < count; i++) {
        for (size_t j = i; j > 0 && ends_above(words[j].at, words[j - 1].at); j--) {
            AxesWord swap = words[j];
            words[j] = words[j - 1];
            words[j - 1] = swap;
        }
    }
    double pitch_mm = STYLE_NOTE_MM + 2.0;
    double floor_mm = axes->area.bottom_mm - 1.0 - pitch_mm * (double)(count > 0 ? count - 1 : 0);
    double y_mm = axes->area.top_mm + STYLE_NOTE_MM;
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < count; i++) {
        double wish_mm = words[i].at.y_mm + STYLE_NOTE_MM / 2.0;
        y_mm = fmin(fmax(y_mm, wish_mm), floor_mm + pitch_mm * (double)i);
        double x_mm = axes->area.right_mm + 4.0;
        draw_line(list, words[i].at.x_mm, words[i].at.y_mm, x_mm - 1.0, y_mm - STYLE_NOTE_MM / 2.0,
                  STYLE_THIN_MM);
        draw_text_fit(list, x_mm, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, words[i].text,
                      right_mm - x_mm);
        y_mm += pitch_mm;
    }
}
