/* The engine's start as a plot: volts of the buses against seconds, the voltages below which boxes
 * go out as chain lines, the starter's current below. Buses that stay together are one curve.
 * Curves and lines are told apart by their words at the right. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "draw/axes.h"
#include "draw/sheets.h"

#define TITLE_MM 16.0
#define WORD_MM 92.0 /* strip for the words at the right */
#define LEGEND_LINE_MM 4.2
#define TOGETHER_V 0.06 /* buses that never part further are one curve */
#define START_PART "Loads"

enum { NAMED_MOST = 5 }; /* names at one line */

/* Buses on one curve. */
typedef struct Curve {
    uint32_t bus; /* the first of them */
    uint32_t count;
    Buffer names;
} Curve;

static bool stay_together(const Dip *dip, uint32_t a, uint32_t b) {
    for (uint32_t i = 0; i < dip->step_count; i++) {
        const double *bus_v = dip->steps[i].bus_v;
        if (bus_v == NULL) {
            continue;
        }
        if (isnan(bus_v[a]) != isnan(bus_v[b]) || fabs(bus_v[a] - bus_v[b]) > TOGETHER_V) {
            return false;
        }
    }
    return true;
}

static bool is_live(const Dip *dip, uint32_t bus) {
    for (uint32_t i = 0; i < dip->step_count; i++) {
        if (dip->steps[i].bus_v != NULL && !isnan(dip->steps[i].bus_v[bus])) {
            return true;
        }
    }
    return false;
}

/* Buses have few curves: each is compared with the first of every curve before it. */
static size_t find_curves(Arena *arena, const DrawView *view, Curve **curves) {
    const Dip *dip = view->dip;
    size_t count = 0;
    *curves = ARENA_ARRAY(arena, Curve, view->set->bus.count);
    for (uint32_t bus = 0; bus < view->set->bus.count; bus++) {
        if (!is_live(dip, bus)) {
            continue;
        }
        size_t at = 0;
        while (at < count && !stay_together(dip, (*curves)[at].bus, bus)) {
            at++;
        }
        if (at == count) {
            (*curves)[count++] = (Curve){.bus = bus, .names = {.arena = arena}};
        }
        Curve *curve = &(*curves)[at];
        if (curve->count++ < NAMED_MOST) {
            buffer_format(&curve->names, "%s%s", curve->count == 1 ? "" : " ",
                          view->set->bus.rows[bus].bus);
        }
    }
    for (size_t i = 0; i < count; i++) {
        if ((*curves)[i].count > NAMED_MOST) {
            buffer_format(&(*curves)[i].names, " and %u more", (*curves)[i].count - NAMED_MOST);
        }
    }
    return count;
}

/* A voltage below which boxes go out, with their tags. */
typedef struct Limit {
    double volts_v;
    uint32_t boxes;
    OwnerId last; /* the box named last: one with two ports is named once */
    Buffer names;
} Limit;

static bool is_starter(const DrawView *view, uint32_t load) {
    return strcmp(view->model->terminals[view->supply->loads[load].port].end,
                  view->set->job.rows[0].starter) == 0;
}

/* Limits of everything that is on in the phase, by voltage. There are few different ones. */
static size_t find_limits(Arena *arena, const DrawView *view, Limit **limits) {
    size_t count = 0;
    size_t capacity = 0;
    *limits = NULL;
    for (uint32_t i = 0; i < view->supply->load_count; i++) {
        const SupplyLoad *load = &view->supply->loads[i];
        if (load->load_row == ID_NONE || is_starter(view, i) || !(load->minimum_v > 0.0) ||
            !(load->phase_a[view->dip->phase] > 0.0)) {
            continue;
        }
        size_t at = 0;
        while (at < count && fabs((*limits)[at].volts_v - load->minimum_v) > 1e-9) {
            at++;
        }
        if (at == count) {
            *ARENA_PUSH(arena, *limits, count, capacity) =
                (Limit){.volts_v = load->minimum_v, .names = {.arena = arena}};
        }
        Limit *limit = &(*limits)[at];
        if (limit->boxes > 0 && limit->last == load->owner) {
            continue;
        }
        limit->last = load->owner;
        limit->boxes++;
        if (limit->boxes <= NAMED_MOST) {
            buffer_format(&limit->names, "%s%s", limit->names.length == 0 ? "" : " ",
                          view->model->owners[load->owner].tag);
        }
    }
    for (size_t i = 0; i < count; i++) {
        if ((*limits)[i].boxes > NAMED_MOST) {
            buffer_format(&(*limits)[i].names, " and %u more", (*limits)[i].boxes - NAMED_MOST);
        }
    }
    return count;
}

static double step_value(const DipStep *step, uint32_t bus) {
    return bus == ID_NONE        ? (step->solved ? step->starter_a : (double)NAN)
           : step->bus_v == NULL ? (double)NAN
                                 : step->bus_v[bus];
}

/* Each value is held until the next moment; where there is none the curve has a gap. */
static bool draw_steps(DrawList *list, const Axes *axes, const Dip *dip, uint32_t bus,
                       DrawPoint *last) {
    DrawPoint *points = ARENA_ARRAY(list->arena, DrawPoint, 2 * (size_t)dip->step_count);
    size_t used = 0;
    bool any = false;
    draw_layer(list, LAYER_CURVE);
    for (uint32_t i = 0; i < dip->step_count; i++) {
        double value = step_value(&dip->steps[i], bus);
        if (!isnan(value)) {
            double end_s =
                i + 1 < dip->step_count ? dip->steps[i + 1].second_s : dip->steps[i].second_s;
            double y_mm = axes_y_mm(axes, value);
            points[used++] = (DrawPoint){axes_x_mm(axes, dip->steps[i].second_s), y_mm};
            points[used++] = (DrawPoint){axes_x_mm(axes, end_s), y_mm};
        }
        bool ends = i + 1 == dip->step_count || isnan(value);
        if (ends && used >= 2) {
            draw_path(list, points, used, false, STYLE_MEDIUM_MM);
            *last = points[used - 1];
            any = true;
        }
        used = isnan(value) ? 0 : used;
    }
    return any;
}

/* What the plot does not show: boxes with their times, contactors that let go. */
static const char *words_below(Arena *arena, const DrawView *view) {
    const Dip *dip = view->dip;
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < dip->restart_count; i++) {
        const DipRestart *restart = &dip->restarts[i];
        buffer_format(&text, "%s%s %.2f s", i == 0 ? "Out: " : "; ",
                      view->model->terminals[view->supply->loads[restart->load].port].end,
                      restart->out_s);
        if (!isnan(restart->back_s + restart->restart_s) && restart->restart_s > 0.0) {
            buffer_format(&text, " (works again at %.1f s)", restart->back_s + restart->restart_s);
        } else if (isnan(restart->back_s)) {
            buffer_text(&text, " (not back)");
        } else if (isnan(restart->restart_s)) {
            buffer_text(&text, " (how long it starts is not known)");
        }
    }
    if (dip->restart_count == 0) {
        buffer_text(&text, "No box goes out");
    }
    buffer_text(&text, ".");
    for (uint32_t i = 0; i < dip->step_count; i++) {
        if (dip->steps[i].coil != ID_NONE) {
            buffer_format(&text, " %s %s at %.2f s.",
                          view->model->owners[view->supply->coils[dip->steps[i].coil].owner].tag,
                          dip->steps[i].flutters ? "chatters" : "is open", dip->steps[i].second_s);
        }
    }
    return text.bytes;
}

static const char *subtitle(Arena *arena, const DrawView *view) {
    const Dip *dip = view->dip;
    const char *cells = isnan(dip->cells_degc)
                            ? "batteries not derated for cold"
                            : arena_format(arena, "batteries at %.0f degC", dip->cells_degc);
    return arena_format(arena,
                        "Phase %s, %s; the shape of the starter's current is typical, from memory, "
                        "unless the shop has measured one: each value held until the next",
                        view->set->phase.rows[dip->phase].phase, cells);
}

/* --- sheets -------------------------------------------------------------------------------------
 */

void start_plan(SheetPlan *plan) {
    const Dip *dip = plan->view->dip;
    if (dip == NULL || !dip->done) {
        return;
    }
    bool traced = false;
    for (uint32_t i = 0; i < dip->step_count; i++) {
        traced = traced || dip->steps[i].bus_v != NULL;
    }
    if (traced) {
        sheet_add(plan, SHEET_START, 0, START_PART, "start", "Engine start: volts and amps",
                  "plot");
    }
}

void start_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    (void)sheet;
    const DrawView *view = plan->view;
    const Dip *dip = view->dip;
    Arena *arena = list->arena;
    double width_mm = field.right_mm - field.left_mm;
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, field.left_mm, field.top_mm + STYLE_TAG_MM + 1.0,
                  (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
                  "Engine start: volts at the buses, amps of the starter", width_mm);
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, field.left_mm, field.top_mm + TITLE_MM - 2.5,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, subtitle(arena, view), width_mm);
    const char **below = NULL;
    size_t below_count = fonts_wrap(list->fonts, arena, words_below(arena, view), STYLE_NOTE_MM,
                                    false, width_mm, &below);
    double bottom_mm = field.bottom_mm - LEGEND_LINE_MM * (double)below_count - 2.0;
    double top_mm = field.top_mm + TITLE_MM + 2.0;
    double middle_mm = top_mm + (bottom_mm - top_mm) * 0.68;
    double end_s = dip->steps[dip->step_count - 1].second_s;
    Curve *curves = NULL;
    size_t curve_count = find_curves(arena, view, &curves);
    Limit *limits = NULL;
    size_t limit_count = find_limits(arena, view, &limits);
    double from_v = (double)INFINITY;
    double to_v = 0.0;
    double to_a = 1.0;
    for (size_t i = 0; i < limit_count; i++) {
        from_v = fmin(from_v, limits[i].volts_v);
        to_v = fmax(to_v, limits[i].volts_v);
    }
    for (uint32_t i = 0; i < dip->step_count; i++) {
        for (size_t k = 0; k < curve_count; k++) {
            double volts_v = step_value(&dip->steps[i], curves[k].bus);
            from_v = fmin(from_v, volts_v); /* a NAN loses */
            to_v = fmax(to_v, volts_v);
        }
        to_a = fmax(to_a, step_value(&dip->steps[i], ID_NONE));
    }
    double right_mm = field.right_mm - WORD_MM;
    Axes volts = axes_place((DrawBox){field.left_mm, top_mm, right_mm, middle_mm + 11.0}, 0.0,
                            end_s, fmin(from_v, to_v), to_v);
    Axes amps = axes_place((DrawBox){field.left_mm, middle_mm + 2.0, right_mm, bottom_mm}, 0.0,
                           end_s, 0.0, to_a);
    axes_draw(list, &volts, "", "volts", false);
    axes_draw(list, &amps, "seconds after the starter's contactor closed", "amps", true);
    AxesWord *words = ARENA_ARRAY(arena, AxesWord, curve_count + limit_count);
    size_t word_count = 0;
    draw_layer(list, LAYER_RULE);
    draw_dash(list, DASH_AXIS);
    for (size_t i = 0; i < limit_count; i++) {
        double y_mm = axes_y_mm(&volts, limits[i].volts_v);
        draw_line(list, volts.area.left_mm, y_mm, volts.area.right_mm, y_mm, STYLE_THIN_MM);
        words[word_count++] = (AxesWord){{volts.area.right_mm, y_mm},
                                         arena_format(arena, "below %.4g V: %s go out",
                                                      limits[i].volts_v, limits[i].names.bytes)};
    }
    draw_dash(list, DASH_NONE);
    for (size_t i = 0; i < curve_count; i++) {
        DrawPoint last;
        draw_row(list, TABLE_bus, view->set->bus.rows[curves[i].bus].bus);
        if (draw_steps(list, &volts, dip, curves[i].bus, &last)) {
            double first_v = step_value(&dip->steps[0], curves[i].bus);
            words[word_count++] =
                (AxesWord){last, isnan(first_v) ? curves[i].names.bytes
                                                : arena_format(arena, "bus %s, %.1f V at first",
                                                               curves[i].names.bytes, first_v)};
        }
    }
    draw_row(list, TABLE_COUNT, "");
    axes_end_words(list, &volts, words, word_count, field.right_mm);
    DrawPoint last;
    if (draw_steps(list, &amps, dip, ID_NONE, &last)) {
        AxesWord word = {last, view->set->job.rows[0].starter};
        axes_end_words(list, &amps, &word, 1, field.right_mm);
    }
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < below_count; i++) {
        draw_text(list, field.left_mm, bottom_mm + 2.0 + STYLE_NOTE_MM + LEGEND_LINE_MM * (double)i,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, below[i]);
    }
}
