/* Plots: what each phase draws against what its alternator may give, and how each battery goes down
 * in each situation. Curves are told apart by their line and by a word at their end, never by
 * colour. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "draw/axes.h"
#include "draw/sheets.h"

#define TITLE_MM 16.0 /* room of a plot's title and its second line */
#define GAP_MM 6.0
#define LEGEND_LINE_MM 4.2
#define TWO_COLUMNS_MM 340.0 /* a field as wide holds two plots beside each other */
#define PLOT_PART "Loads"

/* Sheets: one of load bars for so many phases, then endurance, some situations each. */
typedef struct PlotPlan {
    uint32_t bar_sheets;
    uint32_t phases_each;
    uint32_t situations_each;
} PlotPlan;

/* --- load bars ----------------------------------------------------------------------------------
 */

#define BAR_MM 9.0  /* height of a bar */
#define ROW_MM 19.0 /* from bar to bar at least: bar, and the marks of the alternator below it */
#define ROW_MOST_MM 26.0
#define MARK_MM 72.0 /* room for the words at a mark */

static size_t phase_count(const DrawView *view) {
    return view->loads == NULL ? 0 : view->set->phase.count;
}

/* Rows of `phase` in the order of time. */
static uint32_t *phases_in_order(Arena *arena, const DrawView *view) {
    size_t count = view->set->phase.count;
    uint32_t *order = ARENA_ARRAY(arena, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        uint32_t at = i;
        while (at > 0 &&
               view->set->phase.rows[order[at - 1]].rank > view->set->phase.rows[i].rank) {
            order[at] = order[at - 1];
            at--;
        }
        order[at] = i;
    }
    return order;
}

static double largest_a(const DrawView *view) {
    double largest = 1.0;
    for (size_t i = 0; i < view->set->phase.count; i++) {
        const LoadsMargin *margin = &view->loads->margins[i];
        largest = fmax(largest, view->loads->total_a[i]);
        if (!isnan(margin->rated_a)) {
            largest = fmax(largest,
                           fmax(margin->rated_a * margin->limit_pct / 100.0, margin->available_a));
        }
    }
    return largest;
}

/* A mark at a bar: a stroke beside it and down to its words, which stand to its right. */
static void draw_mark(DrawList *list, double x_mm, double bar_bottom_mm, double y_mm, DrawDash dash,
                      const char *text) {
    draw_layer(list, LAYER_CURVE);
    draw_dash(list, dash);
    draw_line(list, x_mm, bar_bottom_mm - BAR_MM - 1.0, x_mm, y_mm - STYLE_NOTE_MM,
              STYLE_MEDIUM_MM);
    draw_dash(list, DASH_NONE);
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, x_mm + 1.5, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, text,
                  MARK_MM - 2.0);
}

/* One bar: a part for every bus, in the order of the bus table. */
static void draw_bar(DrawList *list, const DrawView *view, uint32_t phase, const Axes *axes,
                     double top_mm) {
    const Loads *loads = view->loads;
    double sum_a = 0.0;
    double bottom_mm = top_mm + BAR_MM;
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE};
    for (uint32_t bus = 0; bus < loads->bus_count; bus++) {
        double amps_a = loads->bus_a[phase * loads->bus_count + bus];
        if (amps_a <= 0.0) {
            continue;
        }
        double left_mm = axes_x_mm(axes, sum_a);
        double right_mm = axes_x_mm(axes, sum_a + amps_a);
        sum_a += amps_a;
        draw_layer(list, LAYER_CURVE);
        draw_row(list, TABLE_bus, view->set->bus.rows[bus].bus);
        draw_rectangle(list, (DrawBox){left_mm, top_mm, right_mm, bottom_mm}, STYLE_MEDIUM_MM);
        const char *name = view->set->bus.rows[bus].bus;
        const char *value = arena_format(list->arena, "%.1f", amps_a);
        double widest_mm =
            fmax(draw_text_width(list, style, name), draw_text_width(list, style, value));
        if (right_mm - left_mm > widest_mm + 2.0) {
            double middle_mm = (left_mm + right_mm) / 2.0;
            draw_text(list, middle_mm, top_mm + 1.4 + STYLE_NOTE_MM, style, name);
            draw_text(list, middle_mm, bottom_mm - 1.2, style, value);
        }
    }
    draw_row(list, TABLE_COUNT, "");
}

static void draw_phase(DrawList *list, const DrawView *view, uint32_t phase, const Axes *axes,
                       double top_mm) {
    const PhaseRow *row = &view->set->phase.rows[phase];
    const LoadsMargin *margin = &view->loads->margins[phase];
    double left_mm = axes->area.left_mm - 3.0;
    DrawTextStyle value = {.height_mm = STYLE_VALUE_MM, .align = ALIGN_RIGHT};
    DrawTextStyle note = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_RIGHT};
    draw_layer(list, LAYER_TAG);
    draw_row(list, TABLE_phase, row->phase);
    draw_text_fit(list, left_mm, top_mm + STYLE_VALUE_MM + 0.5, value, row->phase, 52.0);
    draw_text(list, left_mm, top_mm + STYLE_VALUE_MM + 5.6, note,
              arena_format(list->arena, "%.1f A", view->loads->total_a[phase]));
    draw_row(list, TABLE_COUNT, "");
    draw_bar(list, view, phase, axes, top_mm);
    if (isnan(margin->rated_a)) {
        return;
    }
    const char *alternator = view->set->source.rows[margin->source].unit;
    double allowed_a = margin->rated_a * margin->limit_pct / 100.0;
    const char *allowed =
        arena_format(list->arena, "%s: %.0f %% of %.0f A allowed, %.0f %% in use", alternator,
                     margin->limit_pct, margin->rated_a, margin->rating_pct);
    const char *given = arena_format(list->arena, "%s gives %.0f A at this engine speed",
                                     alternator, margin->available_a);
    bool both = margin->available_a < margin->rated_a;
    bool less = both && margin->available_a < allowed_a;
    /* The words of the stroke further right stand higher, so that no stroke runs through words. */
    double upper_mm = top_mm + BAR_MM + 1.5 + STYLE_NOTE_MM;
    double lower_mm = upper_mm + STYLE_NOTE_MM + 1.4;
    draw_mark(list, axes_x_mm(axes, allowed_a), top_mm + BAR_MM,
              both && !less ? lower_mm : upper_mm, DASH_NONE, allowed);
    if (both) {
        draw_mark(list, axes_x_mm(axes, margin->available_a), top_mm + BAR_MM,
                  less ? lower_mm : upper_mm, DASH_HIDDEN, given);
    }
}

static void draw_bars(const SheetPlan *plan, uint32_t index, DrawBox field, DrawList *list) {
    const DrawView *view = plan->view;
    const PlotPlan *kept = plan->kept[SHEET_PLOT];
    draw_layer(list, LAYER_TAG);
    draw_text(list, field.left_mm, field.top_mm + STYLE_TAG_MM + 1.0,
              (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true}, "Load by phase and bus");
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(
        list, field.left_mm, field.top_mm + TITLE_MM - 2.5,
        (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
        "Amps at nominal voltage, as added up by hand; a stroke is what the alternator "
        "may be asked for, a dashed one what it can give. Buses too small for their name: "
        "see the table of loads",
        field.right_mm - field.left_mm);
    DrawBox inner = {field.left_mm + 40.0, field.top_mm + TITLE_MM, field.right_mm - 10.0,
                     field.bottom_mm};
    double room_mm = inner.right_mm - inner.left_mm;
    Axes axes = axes_place(inner, 0.0, largest_a(view) * room_mm / (room_mm - MARK_MM), 0.0, 1.0);
    uint32_t here = (uint32_t)phase_count(view) - index * kept->phases_each;
    here = here < kept->phases_each ? here : kept->phases_each;
    double pitch_mm = fmin(ROW_MOST_MM, (axes.area.bottom_mm - axes.area.top_mm - 2.0) / here);
    uint32_t *order = phases_in_order(list->arena, view);
    uint32_t first = index * kept->phases_each;
    for (uint32_t i = 0; i < here; i++) {
        draw_phase(list, view, order[first + i], &axes, axes.area.top_mm + 2.0 + i * pitch_mm);
    }
    draw_layer(list, LAYER_RULE);
    draw_line(list, axes.area.left_mm, axes.area.top_mm, axes.area.left_mm, axes.area.bottom_mm,
              STYLE_MEDIUM_MM);
    draw_line(list, axes.area.left_mm, axes.area.bottom_mm, axes.area.right_mm, axes.area.bottom_mm,
              STYLE_MEDIUM_MM);
    int ticks = (int)lround((axes.x_to - axes.x_from) / axes.x_step);
    for (int i = 0; i <= ticks; i++) {
        double x_mm = axes_x_mm(&axes, axes.x_from + i * axes.x_step);
        draw_line(list, x_mm, axes.area.bottom_mm, x_mm, axes.area.bottom_mm + 1.5, STYLE_THIN_MM);
        draw_text(list, x_mm, axes.area.bottom_mm + 5.0,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE},
                  arena_format(list->arena, "%g", axes.x_from + i * axes.x_step));
    }
    draw_text(list, (axes.area.left_mm + axes.area.right_mm) / 2.0, axes.area.bottom_mm + 10.5,
              (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE}, "amps");
}

/* --- endurance ----------------------------------------------------------------------------------
 */

/* The two states of one situation. */
typedef struct Pair {
    const SituationRow *situation;
    const EnduranceTrace *traces[2]; /* new, aged */
    const LoadsEndurance *rows[2];
    const EnduranceSolved *solved[2];
    double end_min;
} Pair;

static const char *const STATES[] = {"new", "aged"};
static const DrawDash DASHES[] = {DASH_NONE, DASH_HIDDEN};

static Pair pair_of(const DrawView *view, uint32_t situation) {
    Pair pair = {.situation = &view->set->situation.rows[situation]};
    for (uint32_t i = 0; i < view->endurance->count; i++) {
        const LoadsEndurance *row = &view->loads->endurances[i];
        if (row->situation == situation) {
            pair.traces[row->aged] = &view->endurance->traces[i];
            pair.rows[row->aged] = row;
            pair.solved[row->aged] = &view->endurance->solved[i];
        }
    }
    for (int state = 0; state < 2; state++) {
        for (size_t i = 0; pair.traces[state] != NULL && i < pair.traces[state]->count; i++) {
            pair.end_min = fmax(pair.end_min, pair.traces[state]->points[i].minute_min);
        }
        if (pair.rows[state] != NULL && !isnan(pair.rows[state]->asked_min)) {
            pair.end_min = fmax(pair.end_min, pair.rows[state]->asked_min);
        }
    }
    return pair;
}

/* All moments: behind the first box that goes out the others follow. */
static size_t curve_count(const Pair *pair, int state) {
    return pair->traces[state] == NULL ? 0 : pair->traces[state]->count;
}

static double point_value(const EndurancePoint *point, int which) {
    return which == 0 ? point->charge_pct : which == 1 ? point->volts_v : point->lowest_v;
}

/* Draws a curve in hours or minutes and returns its last place. */
static bool draw_curve(DrawList *list, const Axes *axes, const Pair *pair, int state, int which,
                       double per_unit, DrawPoint *last) {
    size_t count = curve_count(pair, state);
    DrawPoint *points = ARENA_ARRAY(list->arena, DrawPoint, count);
    size_t used = 0;
    for (size_t i = 0; i < count; i++) {
        const EndurancePoint *point = &pair->traces[state]->points[i];
        double value = point_value(point, which);
        if (!isnan(value)) {
            points[used++] =
                (DrawPoint){axes_x_mm(axes, point->minute_min / per_unit), axes_y_mm(axes, value)};
        }
    }
    if (used < 2) {
        return false;
    }
    draw_layer(list, LAYER_CURVE);
    draw_dash(list, DASHES[state]);
    draw_path(list, points, used, false, STYLE_MEDIUM_MM);
    draw_dash(list, DASH_NONE);
    *last = points[used - 1];
    return true;
}

/* The asked minutes as a chain line through a panel, with words above it where `words`. */
static void draw_asked(DrawList *list, const Axes *axes, const Pair *pair, double per_unit,
                       bool words) {
    draw_layer(list, LAYER_RULE);
    draw_dash(list, DASH_AXIS);
    for (int state = 0; state < 2; state++) {
        if (pair->rows[state] != NULL && !isnan(pair->rows[state]->asked_min)) {
            double x_mm = axes_x_mm(axes, pair->rows[state]->asked_min / per_unit);
            draw_line(list, x_mm, axes->area.top_mm, x_mm, axes->area.bottom_mm, STYLE_THIN_MM);
            if (words) {
                draw_text(list, x_mm, axes->area.top_mm - 1.2 - 3.6 * (state == 0 ? 1.0 : 0.0),
                          (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE},
                          arena_format(list->arena, "asked, %s", STATES[state]));
            }
        }
    }
    draw_dash(list, DASH_NONE);
}

static void volts_range(const Pair *pair, double *from, double *to) {
    *from = (double)INFINITY;
    *to = -(double)INFINITY;
    for (int state = 0; state < 2; state++) {
        for (size_t i = 0; i < curve_count(pair, state); i++) {
            for (int which = 1; which < 3; which++) {
                double value = point_value(&pair->traces[state]->points[i], which);
                if (!isnan(value)) {
                    *from = fmin(*from, value);
                    *to = fmax(*to, value);
                }
            }
        }
    }
    if (*from > *to) {
        *from = 0.0;
        *to = 1.0;
    }
}

/* "46.2 min", "587 h". */
static const char *time_text(Arena *arena, double minutes_min, bool hours) {
    return hours ? arena_format(arena, "%.0f h", minutes_min / 60.0)
                 : arena_format(arena, "%.1f min", minutes_min);
}

/* What happens on the way, as lines of text; returns how many. */
static size_t event_lines(Arena *arena, const Pair *pair, bool hours, const char ***lines) {
    size_t count = 0;
    size_t capacity = 0;
    *lines = NULL;
    for (int state = 0; state < 2; state++) {
        if (pair->rows[state] == NULL) {
            continue;
        }
        const EnduranceSolved *solved = pair->solved[state];
        *ARENA_PUSH(arena, *lines, count, capacity) = arena_format(
            arena, "%s: %s solved, %s plain%s; ends with: %s", STATES[state],
            time_text(arena, solved->minutes_min, hours),
            time_text(arena, pair->rows[state]->plain_min, hours),
            isnan(pair->rows[state]->asked_min)
                ? ""
                : arena_format(arena, ", %.0f min asked", pair->rows[state]->asked_min),
            solved->ends_with);
    }
    Buffer actions = {.arena = arena};
    int shown = pair->traces[0] != NULL ? 0 : 1;
    size_t moments = curve_count(pair, shown);
    for (size_t i = 0; pair->traces[shown] != NULL && i + 1 < moments; i++) {
        const EndurancePoint *point = &pair->traces[shown]->points[i];
        if (*point->event != '\0') {
            buffer_format(&actions, "%s%.1f min %s", actions.length == 0 ? "" : "; ",
                          point->minute_min, point->event);
        }
    }
    if (actions.length > 0) {
        *ARENA_PUSH(arena, *lines, count, capacity) =
            arena_format(arena, "on the way: %s", actions.bytes);
    }
    return count;
}

static void draw_pair(DrawList *list, const DrawView *view, uint32_t situation, DrawBox field) {
    Pair pair = pair_of(view, situation);
    double width_mm = field.right_mm - field.left_mm;
    draw_layer(list, LAYER_TAG);
    draw_row(list, TABLE_situation, pair.situation->situation);
    draw_text_fit(list, field.left_mm, field.top_mm + STYLE_TAG_MM + 1.0,
                  (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
                  arena_format(list->arena, "%s, battery %s", pair.situation->situation,
                               pair.situation->battery),
                  width_mm);
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, field.left_mm, field.top_mm + TITLE_MM - 2.5,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, pair.situation->name, width_mm);
    bool hours = pair.end_min > 600.0;
    const char **events;
    size_t event_count = event_lines(list->arena, &pair, hours, &events);
    /* Words below, then the two panels share what is left. */
    double words_mm = 0.0;
    const char **wrapped[4];
    size_t wrapped_count[4];
    for (size_t i = 0; i < event_count && i < 4; i++) {
        wrapped_count[i] = fonts_wrap(list->fonts, list->arena, events[i], STYLE_NOTE_MM, false,
                                      width_mm, &wrapped[i]);
        words_mm += LEGEND_LINE_MM * (double)wrapped_count[i];
    }
    double top_mm = field.top_mm + TITLE_MM + 5.0;
    double bottom_mm = field.bottom_mm - words_mm - 2.0;
    double middle_mm = (top_mm + bottom_mm) / 2.0 - 6.0;
    double word_mm = 30.0; /* strip for the words at the ends of curves */
    double per_unit = hours ? 60.0 : 1.0;
    double end = pair.end_min / per_unit;

    Axes charge =
        axes_place((DrawBox){field.left_mm, top_mm, field.right_mm - word_mm, middle_mm + 11.0},
                   0.0, end, 0.0, 100.0);
    double from_v;
    double to_v;
    volts_range(&pair, &from_v, &to_v);
    Axes volts =
        axes_place((DrawBox){field.left_mm, middle_mm + 2.0, field.right_mm - word_mm, bottom_mm},
                   0.0, end, from_v, to_v);
    axes_draw(list, &charge, "", "charge %", false);
    axes_draw(list, &volts, hours ? "hours" : "minutes", "volts", true);
    draw_asked(list, &charge, &pair, per_unit, true);
    draw_asked(list, &volts, &pair, per_unit, false);
    AxesWord words[6];
    size_t count = 0;
    for (int state = 0; state < 2; state++) {
        DrawPoint at;
        if (draw_curve(list, &charge, &pair, state, 0, per_unit, &at)) {
            words[count++] = (AxesWord){at, STATES[state]};
        }
    }
    axes_end_words(list, &charge, words, count, field.right_mm);
    count = 0;
    for (int state = 0; state < 2; state++) {
        DrawPoint at;
        static const char *const NAMES[] = {"battery", "worst box"};
        for (int which = 1; which < 3; which++) {
            if (draw_curve(list, &volts, &pair, state, which, per_unit, &at)) {
                words[count++] = (AxesWord){
                    at, arena_format(list->arena, "%s, %s", NAMES[which - 1], STATES[state])};
            }
        }
    }
    axes_end_words(list, &volts, words, count, field.right_mm);
    double y_mm = bottom_mm + 2.0 + STYLE_NOTE_MM;
    for (size_t i = 0; i < event_count && i < 4; i++) {
        for (size_t j = 0; j < wrapped_count[i]; j++) {
            draw_text(list, field.left_mm, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
                      wrapped[i][j]);
            y_mm += LEGEND_LINE_MM;
        }
    }
    draw_row(list, TABLE_COUNT, "");
}

/* --- sheets -------------------------------------------------------------------------------------
 */

void plot_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    DrawBox field = sheet_field(view->paper);
    PlotPlan *kept = ARENA_NEW(plan->arena, PlotPlan);
    plan->kept[SHEET_PLOT] = kept;
    double height_mm = field.bottom_mm - field.top_mm - TITLE_MM - 20.0;
    kept->phases_each = (uint32_t)fmax(1.0, floor(height_mm / ROW_MM));
    kept->situations_each = field.right_mm - field.left_mm >= TWO_COLUMNS_MM ? 2 : 1;
    size_t phases = phase_count(view);
    kept->bar_sheets = (uint32_t)((phases + kept->phases_each - 1) / kept->phases_each);
    for (uint32_t i = 0; i < kept->bar_sheets; i++) {
        sheet_add(plan, SHEET_PLOT, i, PLOT_PART, arena_format(plan->arena, "load-plot-%u", i + 1),
                  "Load by phase and bus", "plot");
    }
    size_t situations = view->endurance->traces == NULL ? 0 : view->set->situation.count;
    uint32_t number = 0;
    for (uint32_t first = 0; first < situations; first += kept->situations_each) {
        Buffer title = {.arena = plan->arena};
        for (uint32_t i = first; i < first + kept->situations_each && i < situations; i++) {
            buffer_format(&title, "%s%s", i == first ? "Endurance: " : ", ",
                          view->set->situation.rows[i].situation);
        }
        sheet_add(plan, SHEET_PLOT, kept->bar_sheets + number, PLOT_PART,
                  arena_format(plan->arena, "endurance-%u", number + 1), title.bytes, "plot");
        number++;
    }
}

void plot_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const PlotPlan *kept = plan->kept[SHEET_PLOT];
    if (sheet->index < kept->bar_sheets) {
        draw_bars(plan, sheet->index, field, list);
        return;
    }
    uint32_t first = (sheet->index - kept->bar_sheets) * kept->situations_each;
    double gap_mm = 12.0;
    double each_mm = (field.right_mm - field.left_mm - gap_mm * (kept->situations_each - 1)) /
                     kept->situations_each;
    for (uint32_t i = 0; i < kept->situations_each; i++) {
        if (first + i < plan->view->set->situation.count) {
            double left_mm = field.left_mm + i * (each_mm + gap_mm);
            draw_pair(list, plan->view, first + i,
                      (DrawBox){left_mm, field.top_mm, left_mm + each_mm, field.bottom_mm});
        }
    }
}
