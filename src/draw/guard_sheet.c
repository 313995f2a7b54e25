/* Time and current on paper: what a device does at a current, what the wire behind it stands, what
 * a short drives. One small plot for each kind of device at each rating, with the wire that has
 * least to spare; any wire, circuit or device alone when it is asked for. Both axes are
 * logarithmic. Where no published gate says when the device opens the plot is hatched. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "draw/guard_sheet.h"
#include "power/guard.h"

#define GUARD_PART "Loads"
#define TITLE_MM 11.0   /* room of the sheet's title */
#define LEGEND_MM 6.0   /* a line of the legend at the foot */
#define CELL_MM 118.0   /* least width of a small plot */
#define CELL_HIGH_MM 92 /* and its least height */
#define GAP_MM 6.0
#define LEFT_MM 17.0 /* room of the numbers at the left of a plot, and below it */
#define BELOW_MM 12.5
#define ABOVE_MM 10.0 /* of its title and the marks of the faults */
#define LINE_MM 4.2
#define SAMPLE_MM 0.7 /* curves are followed in steps of this */
#define HATCH_MM 3.4
#define TICK_MM 1.5
#define NUMBER_MM 9.0 /* least distance between numbers */
#define MARK_MM 2.0
#define SIGN_MM 15.0 /* of the legend */
#define LEAST_S 1e-3 /* ends of the axis of time */
#define MOST_S 1e4

enum { WORD_LINES = 5, SAMPLES_MOST = 1200, TAGS_MOST = 8 };

/* What one plot shows. */
typedef struct Shown {
    const GuardDevice *device;
    const GuardRow *row;   /* the wire with least to spare */
    const GuardPair *pair; /* with the next device upstream; NULL */
    uint32_t wires;
    uint32_t devices;
    Buffer tags;
    const char *asked; /* the key that was asked for; NULL: of the book */
} Shown;

typedef struct GuardPlots {
    Shown *shown;
    size_t count;
    size_t capacity;
    size_t columns;
    size_t rows;
    size_t pages;
} GuardPlots;

/* --- choosing -----------------------------------------------------------------------------------
 */

static const GuardFault *fault_of(const GuardRow *row) {
    return row->decides == GUARD_LOW ? &row->low : &row->high;
}

/* The stage that is plotted: the first device to open. NULL: nothing opens. */
static const GuardStage *stage_of(const GuardRow *row) {
    const GuardFault *fault = fault_of(row);
    bool flows = row->judgement.verdict != GUARD_NO_CURRENT;
    return flows && fault->stage_count > 0 ? &fault->stages[0] : NULL;
}

static const DeviceRow *part_of(const DrawView *view, const GuardDevice *device) {
    return &view->set->device.rows[view->model->owners[device->owner].part];
}

/* The pair whose order is worst, of those that matter. */
static const GuardPair *pair_of(const DrawView *view, const GuardDevice *device) {
    const Guard *guard = view->guard;
    const GuardPair *worst = NULL;
    int worst_order = -1;
    for (uint32_t i = 0; i < guard->pair_count; i++) {
        const GuardPair *pair = &guard->pairs[i];
        if (&guard->devices[pair->device] != device || pair->one_feed) {
            continue;
        }
        for (int which = GUARD_HIGH; which <= GUARD_LOW; which++) {
            if (pair->phase[which] != ID_NONE && (int)pair->selection[which].order > worst_order) {
                worst_order = (int)pair->selection[which].order;
                worst = pair;
            }
        }
    }
    return worst;
}

static void take_row(const DrawView *view, Shown *shown, const GuardRow *row) {
    if (shown->row == NULL || guard_is_worse(&row->judgement, &shown->row->judgement)) {
        shown->row = row;
        shown->device = stage_of(row)->device;
    }
    shown->wires++;
    const char *tag = view->model->owners[stage_of(row)->device->owner].tag;
    const char *found = shown->tags.length == 0 ? NULL : strstr(shown->tags.bytes, tag);
    size_t length = strlen(tag);
    while (found != NULL && !(found[length] == ' ' || found[length] == '\0')) {
        found = strstr(found + 1, tag);
    }
    if (found == NULL) {
        shown->devices++;
        buffer_format(&shown->tags, "%s%s", shown->tags.length == 0 ? "" : " ", tag);
    }
}

static int compare_shown(const DrawView *view, const Shown *a, const Shown *b) {
    int parts = strcmp(part_of(view, a->device)->part, part_of(view, b->device)->part);
    return parts != 0 ? parts
                      : (a->device->rating_a > b->device->rating_a) -
                            (a->device->rating_a < b->device->rating_a);
}

static Shown *add_shown(Arena *arena, GuardPlots *plots) {
    Shown *shown = ARENA_PUSH(arena, plots->shown, plots->count, plots->capacity);
    *shown = (Shown){.tags = {.arena = arena}};
    return shown;
}

/* One for each part and rating. There are few. */
static void choose_of_book(SheetPlan *plan, GuardPlots *plots) {
    const DrawView *view = plan->view;
    for (uint32_t i = 0; i < view->guard->row_count; i++) {
        const GuardRow *row = &view->guard->rows[i];
        const GuardStage *stage = stage_of(row);
        if (stage == NULL || isnan(stage->device->rating_a) ||
            row->judgement.verdict == GUARD_BARE) {
            continue;
        }
        size_t at = 0;
        while (at < plots->count &&
               (plots->shown[at].device->rating_a != stage->device->rating_a ||
                part_of(view, plots->shown[at].device) != part_of(view, stage->device))) {
            at++;
        }
        take_row(view, at == plots->count ? add_shown(plan->arena, plots) : &plots->shown[at], row);
    }
    for (size_t i = 1; i < plots->count; i++) {
        for (size_t j = i; j > 0 && compare_shown(view, &plots->shown[j], &plots->shown[j - 1]) < 0;
             j--) {
            Shown swap = plots->shown[j];
            plots->shown[j] = plots->shown[j - 1];
            plots->shown[j - 1] = swap;
        }
    }
    for (size_t i = 0; i < plots->count; i++) {
        plots->shown[i].pair = pair_of(view, plots->shown[i].device);
    }
}

/* Is a row meant by a wire's key, its circuit, or the tag of a device that clears it? */
static bool is_asked(const DrawView *view, const GuardRow *row, const char *key) {
    const Conductor *wire = &view->wiring->conductors[row->conductor];
    const char *circuit = view->wiring->nets[view->wiring->cables[wire->cable].net].name;
    if (strcmp(wire->key, key) == 0 || strcmp(circuit, key) == 0) {
        return true;
    }
    const GuardFault *fault = fault_of(row);
    for (uint32_t i = 0; i < fault->stage_count; i++) {
        if (strcmp(view->model->owners[fault->stages[i].device->owner].tag, key) == 0) {
            return true;
        }
    }
    return false;
}

/* --- sheets -------------------------------------------------------------------------------------
 */

void guard_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    GuardPlots *plots = ARENA_NEW(plan->arena, GuardPlots);
    plan->kept[SHEET_GUARD] = plots;
    if (view->guard == NULL) {
        return;
    }
    choose_of_book(plan, plots);
    DrawBox field = sheet_field(view->paper);
    double width_mm = field.right_mm - field.left_mm;
    double height_mm = field.bottom_mm - field.top_mm - TITLE_MM - 3.0 * LEGEND_MM;
    plots->columns = (size_t)fmax(1.0, floor((width_mm + GAP_MM) / (CELL_MM + GAP_MM)));
    plots->rows = (size_t)fmax(1.0, floor((height_mm + GAP_MM) / (CELL_HIGH_MM + GAP_MM)));
    size_t each = plots->columns * plots->rows;
    plots->pages = (plots->count + each - 1) / each;
    for (size_t i = 0; i < plots->pages; i++) {
        const char *name = arena_format(plan->arena, "protection-%zu", i + 1);
        const char *title =
            plots->pages == 1
                ? "Time and current of devices and wires"
                : arena_format(plan->arena, "Time and current of devices and wires, sheet %zu",
                               i + 1);
        uint32_t sheet = sheet_add(plan, SHEET_GUARD, (uint32_t)i, GUARD_PART, name, title, "plot");
        plan->sheets[sheet].begins = i == 0 ? "Time and current of devices and wires" : "";
    }
}

uint32_t guard_sheet_ask(SheetPlan *plan, const char *name) {
    static const char PREFIX[] = "protection-";
    const DrawView *view = plan->view;
    if (view->guard == NULL || strncmp(name, PREFIX, sizeof PREFIX - 1) != 0) {
        return ID_NONE;
    }
    const char *key = name + sizeof PREFIX - 1;
    GuardPlots *plots = plan->kept[SHEET_GUARD];
    Shown asked = {.tags = {.arena = plan->arena}, .asked = key};
    for (uint32_t i = 0; i < view->guard->row_count; i++) {
        const GuardRow *row = &view->guard->rows[i];
        if (stage_of(row) != NULL && is_asked(view, row, key)) {
            take_row(view, &asked, row);
        }
    }
    if (asked.row == NULL) {
        return ID_NONE;
    }
    asked.pair = pair_of(view, asked.device);
    size_t own = plots->count;
    *add_shown(plan->arena, plots) = asked;
    return sheet_add(plan, SHEET_GUARD, (uint32_t)(plots->pages + own), GUARD_PART,
                     arena_format(plan->arena, "%s", name),
                     arena_format(plan->arena, "Time and current: %s", key), "plot");
}

/* --- axes ---------------------------------------------------------------------------------------
 */

/* Exponents of ten at the edges. */
typedef struct LogAxes {
    DrawBox area;
    double x_from, x_to;
    double y_from, y_to;
} LogAxes;

static double x_mm_of(const LogAxes *axes, double amps_a) {
    return axes->area.left_mm + (log10(amps_a) - axes->x_from) / (axes->x_to - axes->x_from) *
                                    (axes->area.right_mm - axes->area.left_mm);
}

static double amps_at(const LogAxes *axes, double x_mm) {
    return pow(10.0, axes->x_from + (x_mm - axes->area.left_mm) /
                                        (axes->area.right_mm - axes->area.left_mm) *
                                        (axes->x_to - axes->x_from));
}

/* Kept inside: above and below there is nothing to see. */
static double y_mm_of(const LogAxes *axes, double seconds) {
    double inside = fmin(fmax(seconds, pow(10.0, axes->y_from)), pow(10.0, axes->y_to));
    return axes->area.bottom_mm - (log10(inside) - axes->y_from) / (axes->y_to - axes->y_from) *
                                      (axes->area.bottom_mm - axes->area.top_mm);
}

/* 1, 2 or 5 times a power of ten, not above (or not below) a value. */
static double round_down(double value) {
    double power = pow(10.0, floor(log10(value)));
    double share = value / power;
    return power * (share >= 5.0 ? 5.0 : share >= 2.0 ? 2.0 : 1.0);
}

static double round_up(double value) {
    double power = pow(10.0, floor(log10(value)));
    double share = value / power;
    return power * (share <= 1.0 ? 1.0 : share <= 2.0 ? 2.0 : share <= 5.0 ? 5.0 : 10.0);
}

static void draw_numbers(DrawList *list, const LogAxes *axes, bool across) {
    const DrawBox *area = &axes->area;
    double from = across ? axes->x_from : axes->y_from;
    double to = across ? axes->x_to : axes->y_to;
    double length_mm = across ? area->right_mm - area->left_mm : area->bottom_mm - area->top_mm;
    double decade_mm = length_mm / (to - from);
    bool all = across && decade_mm * log10(2.0) >= NUMBER_MM;
    for (int decade = (int)floor(from); decade <= (int)ceil(to); decade++) {
        static const double FIGURES[] = {1.0, 2.0, 5.0};
        for (int k = 0; k < 3; k++) {
            double value = FIGURES[k] * pow(10.0, decade);
            double place = log10(value);
            if (place < from - 1e-9 || place > to + 1e-9 || (k > 0 && !across)) {
                continue;
            }
            const char *text = arena_format(list->arena, "%.10g", value);
            DrawTextStyle style = {.height_mm = STYLE_NOTE_MM};
            draw_layer(list, LAYER_RULE);
            if (across) {
                double x_mm = area->left_mm + (place - from) * decade_mm;
                draw_line(list, x_mm, k == 0 ? area->top_mm : area->bottom_mm, x_mm,
                          area->bottom_mm + TICK_MM, STYLE_THIN_MM);
                if (k == 0 || all) {
                    style.align = ALIGN_MIDDLE;
                    draw_text(list, x_mm, area->bottom_mm + TICK_MM + 1.0 + STYLE_NOTE_MM, style,
                              text);
                }
            } else {
                double y_mm = area->bottom_mm - (place - from) * decade_mm;
                style.align = ALIGN_RIGHT;
                draw_line(list, area->left_mm - TICK_MM, y_mm, area->right_mm, y_mm, STYLE_THIN_MM);
                draw_text(list, area->left_mm - TICK_MM - 1.0, y_mm + STYLE_NOTE_MM / 2.0, style,
                          text);
            }
        }
    }
}

static void draw_log_axes(DrawList *list, const LogAxes *axes) {
    const DrawBox *area = &axes->area;
    draw_numbers(list, axes, false);
    draw_numbers(list, axes, true);
    draw_rectangle(list, *area, STYLE_MEDIUM_MM);
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE};
    draw_text(list, (area->left_mm + area->right_mm) / 2.0,
              area->bottom_mm + TICK_MM + 2.5 + 2.0 * STYLE_NOTE_MM + 1.5, style,
              "amps in the device");
    style.turned = true;
    draw_text(list, area->left_mm - LEFT_MM + STYLE_NOTE_MM + 0.5,
              (area->top_mm + area->bottom_mm) / 2.0, style, "seconds");
}

/* --- bands --------------------------------------------------------------------------------------
 */

typedef enum Known { KNOWN_PUBLISHED, KNOWN_MEMORY, KNOWN_NOT } Known;

/* A device's band at one place of the axis. */
typedef struct Sample {
    double x_mm;
    double hold_s; /* bounds where nothing is published */
    double open_s;
    Known known;
} Sample;

static Sample sample_of(const LogAxes *axes, const GuardDevice *device, double x_mm, double share) {
    double percent = 100.0 * amps_at(axes, x_mm) * share / device->rating_a;
    ProtectorBand all = protector_band(device->all, percent);
    ProtectorBand firm = protector_band(device->firm, percent);
    Sample sample = {.x_mm = x_mm, .hold_s = all.hold_s.value, .open_s = all.open_s.value};
    bool published = firm.hold_s.basis == RATING_PUBLISHED && firm.open_s.basis == RATING_PUBLISHED;
    bool memory = all.hold_s.basis == RATING_PUBLISHED && all.open_s.basis == RATING_PUBLISHED;
    sample.known = published ? KNOWN_PUBLISHED : memory ? KNOWN_MEMORY : KNOWN_NOT;
    return sample;
}

/* The band at even steps and at every gate. */
static size_t take_samples(const LogAxes *axes, const GuardDevice *device, double share,
                           Sample *samples) {
    size_t count = 0;
    double last_mm = axes->area.left_mm;
    for (size_t gate = 0; gate <= device->all.count; gate++) {
        double next_mm = axes->area.right_mm;
        if (gate < device->all.count) {
            double amps_a = device->all.rows[gate].percent / 100.0 * device->rating_a / share;
            next_mm = fmin(fmax(x_mm_of(axes, amps_a), last_mm), axes->area.right_mm);
        }
        double span_mm = next_mm - last_mm;
        size_t steps = (size_t)ceil(span_mm / SAMPLE_MM);
        for (size_t i = 0; i < steps && count < SAMPLES_MOST; i++) {
            /* A hair off the gates: at one of them both sides are published. */
            double at = ((double)i + (i == 0 ? 0.001 : 0.0)) / (double)steps;
            samples[count++] = sample_of(axes, device, last_mm + span_mm * at, share);
        }
        if (steps > 0 && count < SAMPLES_MOST) {
            samples[count++] = sample_of(axes, device, next_mm - 0.001 * SAMPLE_MM, share);
        }
        last_mm = next_mm;
    }
    return count;
}

/* Samples [first, end) of one kind of knowledge. */
static size_t run_end(const Sample *samples, size_t count, size_t first) {
    size_t end = first + 1;
    while (end < count && samples[end].known == samples[first].known) {
        end++;
    }
    return end;
}

static void draw_edge(DrawList *list, const LogAxes *axes, const Sample *samples, size_t first,
                      size_t end, bool open, double weight_mm) {
    DrawPoint *points = ARENA_ARRAY(list->arena, DrawPoint, end - first);
    size_t used = 0;
    for (size_t i = first; i <= end; i++) {
        double seconds = i < end ? (open ? samples[i].open_s : samples[i].hold_s) : 0.0;
        bool inside =
            i < end && seconds >= pow(10.0, axes->y_from) && seconds <= pow(10.0, axes->y_to);
        if (inside) {
            points[used++] = (DrawPoint){samples[i].x_mm, y_mm_of(axes, seconds)};
        } else {
            if (used > 1) {
                draw_path(list, points, used, false, weight_mm);
            }
            used = 0;
        }
    }
}

static void fill_band(DrawList *list, const LogAxes *axes, const Sample *samples, size_t first,
                      size_t end) {
    size_t count = end - first;
    DrawPoint *points = ARENA_ARRAY(list->arena, DrawPoint, 2 * count);
    for (size_t i = 0; i < count; i++) {
        const Sample *own = &samples[first + i];
        points[i] = (DrawPoint){own->x_mm, y_mm_of(axes, own->open_s)};
        points[2 * count - 1 - i] = (DrawPoint){own->x_mm, y_mm_of(axes, own->hold_s)};
    }
    draw_rgb(list, STYLE_BAND);
    draw_fill(list, points, 2 * count);
    draw_rgb(list, STYLE_INK);
}

/* Strokes that rise to the right, where nothing is known: between the bounds. */
static void hatch(DrawList *list, const LogAxes *axes, const Sample *samples, size_t count) {
    const DrawBox *area = &axes->area;
    double width_mm = area->right_mm - area->left_mm;
    double height_mm = area->bottom_mm - area->top_mm;
    int strokes = (int)ceil((width_mm + height_mm) / HATCH_MM);
    for (int stroke = 1; stroke < strokes; stroke++) {
        double start_mm = HATCH_MM * stroke;
        double from_mm = 0.0;
        double last_mm = 0.0;
        bool inside = false;
        for (size_t i = 0; i <= count; i++) {
            /* x + y of a stroke is constant, from the lower left corner. */
            double y_mm = 0.0;
            bool in = false;
            if (i < count && samples[i].known == KNOWN_NOT) {
                y_mm = area->bottom_mm - start_mm + (width_mm - (area->right_mm - samples[i].x_mm));
                in = y_mm >= area->top_mm && y_mm <= area->bottom_mm &&
                     y_mm >= y_mm_of(axes, samples[i].open_s) &&
                     y_mm <= y_mm_of(axes, samples[i].hold_s);
            }
            if (in && !inside) {
                from_mm = samples[i].x_mm;
            } else if (!in && inside && last_mm > from_mm) {
                double base_mm = area->bottom_mm - start_mm - area->left_mm;
                draw_line(list, from_mm, base_mm + from_mm, last_mm, base_mm + last_mm,
                          STYLE_THIN_MM);
            }
            inside = in;
            last_mm = i < count ? samples[i].x_mm : last_mm;
        }
    }
}

static void draw_band(DrawList *list, const LogAxes *axes, const GuardDevice *device) {
    Sample *samples = ARENA_ARRAY(list->arena, Sample, SAMPLES_MOST);
    size_t count = take_samples(axes, device, 1.0, samples);
    draw_layer(list, LAYER_CURVE);
    for (size_t first = 0; first < count;) {
        size_t end = run_end(samples, count, first);
        if (samples[first].known == KNOWN_PUBLISHED) {
            fill_band(list, axes, samples, first, end);
        }
        first = end;
    }
    draw_layer(list, LAYER_RULE);
    hatch(list, axes, samples, count);
    draw_layer(list, LAYER_CURVE);
    for (size_t first = 0; first < count;) {
        size_t end = run_end(samples, count, first);
        bool bound = samples[first].known == KNOWN_NOT;
        draw_dash(list, samples[first].known == KNOWN_MEMORY ? DASH_HIDDEN : DASH_NONE);
        double weight_mm = bound ? STYLE_THIN_MM : STYLE_MEDIUM_MM;
        draw_edge(list, axes, samples, first, end, true, weight_mm);
        draw_edge(list, axes, samples, first, end, false, weight_mm);
        draw_dash(list, DASH_NONE);
        first = end;
    }
}

/* The upstream one at the share of the current that it carries. */
static void draw_upstream(DrawList *list, const LogAxes *axes, const DrawView *view,
                          const GuardPair *pair) {
    int which = pair->phase[GUARD_LOW] != ID_NONE ? GUARD_LOW : GUARD_HIGH;
    const GuardDevice *upstream = &view->guard->devices[pair->upstream];
    double share = pair->upstream_a[which] / pair->device_a[which];
    if (!(share > 0.0) || isnan(upstream->rating_a)) {
        return;
    }
    Sample *samples = ARENA_ARRAY(list->arena, Sample, SAMPLES_MOST);
    size_t count = take_samples(axes, upstream, share, samples);
    draw_layer(list, LAYER_CURVE);
    draw_dash(list, DASH_AXIS);
    for (size_t first = 0; first < count;) {
        size_t end = run_end(samples, count, first);
        if (samples[first].known != KNOWN_NOT) {
            draw_edge(list, axes, samples, first, end, true, STYLE_MEDIUM_MM);
            draw_edge(list, axes, samples, first, end, false, STYLE_MEDIUM_MM);
        }
        first = end;
    }
    draw_dash(list, DASH_NONE);
}

/* --- wire and faults ----------------------------------------------------------------------------
 */

static void draw_wire(DrawList *list, const LogAxes *axes, const DrawView *view,
                      const GuardRow *row, double share) {
    HeatingWire wire;
    if (!guard_wire(&view->guard_input, row->conductor, &wire, NULL)) {
        return;
    }
    size_t most = (size_t)((axes->area.right_mm - axes->area.left_mm) / SAMPLE_MM) + 2;
    DrawPoint *points = ARENA_ARRAY(list->arena, DrawPoint, most + 1);
    size_t used = 0;
    for (size_t i = 0; i < most; i++) {
        double x_mm = fmin(axes->area.left_mm + SAMPLE_MM * (double)i, axes->area.right_mm);
        double seconds = heating_time_s(&wire, amps_at(axes, x_mm) * share);
        if (seconds > pow(10.0, axes->y_to)) {
            continue;
        }
        if (used == 0 && i > 0) { /* it comes down from no end at what the wire carries */
            points[used++] = (DrawPoint){x_mm, axes->area.top_mm};
        }
        if (seconds < pow(10.0, axes->y_from)) {
            break;
        }
        points[used++] = (DrawPoint){x_mm, y_mm_of(axes, seconds)};
    }
    if (used > 1) {
        draw_layer(list, LAYER_CURVE);
        draw_row(list, TABLE_conductor, view->wiring->conductors[row->conductor].key);
        draw_path(list, points, used, false, STYLE_THICK_MM);
        draw_row(list, TABLE_COUNT, "");
    }
}

static void draw_mark(DrawList *list, double x_mm, double y_mm, bool filled) {
    const DrawPoint points[3] = {{x_mm, y_mm},
                                 {x_mm - MARK_MM / 2.0, y_mm - MARK_MM},
                                 {x_mm + MARK_MM / 2.0, y_mm - MARK_MM}};
    draw_fill_outlined(list, points, 3, filled ? STYLE_INK : STYLE_PAPER, STYLE_THIN_MM);
}

static void draw_fault(DrawList *list, const LogAxes *axes, const GuardFault *fault, bool bolted) {
    if (fault->phase == ID_NONE || fault->stage_count == 0) {
        return;
    }
    double x_mm = x_mm_of(axes, fault->stages[0].device_a);
    if (x_mm < axes->area.left_mm || x_mm > axes->area.right_mm) {
        return;
    }
    draw_layer(list, LAYER_CURVE);
    draw_dash(list, bolted ? DASH_NONE : DASH_HIDDEN);
    draw_line(list, x_mm, axes->area.top_mm, x_mm, axes->area.bottom_mm, STYLE_MEDIUM_MM);
    draw_dash(list, DASH_NONE);
    draw_mark(list, x_mm, axes->area.top_mm - 0.4, bolted);
}

/* --- words --------------------------------------------------------------------------------------
 */

static const char *order_words(Arena *arena, const DrawView *view, const Shown *shown) {
    if (shown->pair == NULL) {
        return "";
    }
    const GuardPair *pair = shown->pair;
    GuardOrder order = GUARD_ORDER_SELECTIVE;
    for (int which = GUARD_HIGH; which <= GUARD_LOW; which++) {
        if (pair->phase[which] != ID_NONE && pair->selection[which].order > order) {
            order = pair->selection[which].order;
        }
    }
    const GuardDevice *upstream = &view->guard->devices[pair->upstream];
    return arena_format(arena, "Upstream of %s: %s, %s %.4g A; which opens first: %s.",
                        view->model->owners[view->guard->devices[pair->device].owner].tag,
                        view->model->owners[upstream->owner].tag, part_of(view, upstream)->part,
                        upstream->rating_a, guard_order_name(order));
}

static const char *fault_words(Arena *arena, const DrawView *view, const GuardRow *row) {
    const Conductor *wire = &view->wiring->conductors[row->conductor];
    Buffer text = {.arena = arena};
    buffer_format(&text, "%s (%s), AWG %d", wire->key,
                  view->wiring->nets[view->wiring->cables[wire->cable].net].name,
                  view->sizing->awg[row->conductor]);
    const GuardFault *faults[2] = {&row->high, &row->low};
    for (int which = 0; which < 2; which++) {
        if (faults[which]->phase != ID_NONE && faults[which]->stage_count > 0) {
            buffer_format(&text, ", %s %.4g A", which == 0 ? "bolted" : "through a contact",
                          faults[which]->wire_a);
        }
    }
    buffer_format(&text, ", carries %.3g A for good", row->carries_a);
    return text.bytes;
}

/* "CB_ALT CB_COM and 12 more". */
static const char *tag_words(Arena *arena, const Shown *shown) {
    if (shown->tags.bytes == NULL) {
        return "";
    }
    const char *at = shown->tags.bytes;
    uint32_t named = 0;
    while (*at != '\0' && named < TAGS_MOST) {
        const char *blank = strchr(at, ' ');
        named++;
        at = blank == NULL ? at + strlen(at) : blank + 1;
    }
    size_t length = (size_t)(at - shown->tags.bytes);
    return named >= shown->devices ? shown->tags.bytes
                                   : arena_format(arena, "%.*sand %u more", (int)length,
                                                  shown->tags.bytes, shown->devices - named);
}

static void draw_words(DrawList *list, const DrawView *view, const Shown *shown, DrawBox cell,
                       double top_mm) {
    Arena *arena = list->arena;
    const GuardRow *row = shown->row;
    Buffer text = {.arena = arena};
    buffer_format(&text, "%s: %u %s. Least to spare: %s; %s. %s", tag_words(arena, shown),
                  shown->wires, shown->wires == 1 ? "wire" : "wires", fault_words(arena, view, row),
                  guard_because(arena, &view->guard_input, row), order_words(arena, view, shown));
    const char **lines = NULL;
    size_t count = fonts_wrap(list->fonts, arena, text.bytes, STYLE_NOTE_MM, false,
                              cell.right_mm - cell.left_mm, &lines);
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < count; i++) {
        double y_mm = top_mm + STYLE_NOTE_MM + LINE_MM * (double)i;
        if (y_mm > cell.bottom_mm) {
            break;
        }
        bool last = y_mm + LINE_MM > cell.bottom_mm && i + 1 < count;
        draw_text(list, cell.left_mm, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
                  last ? arena_format(arena, "%s ...", lines[i]) : lines[i]);
    }
}

/* --- plots --------------------------------------------------------------------------------------
 */

static LogAxes place_axes(const Shown *shown, DrawBox cell) {
    const GuardRow *row = shown->row;
    double least_a = shown->device->rating_a;
    double most_a = 8.0 * shown->device->rating_a;
    const GuardFault *faults[2] = {&row->high, &row->low};
    for (int which = 0; which < 2; which++) {
        if (faults[which]->phase != ID_NONE && faults[which]->stage_count > 0) {
            most_a = fmax(most_a, 1.05 * faults[which]->stages[0].device_a);
            least_a = fmin(least_a, faults[which]->stages[0].device_a);
        }
    }
    return (LogAxes){.area = {cell.left_mm + LEFT_MM, cell.top_mm + ABOVE_MM, cell.right_mm - 6.0,
                              cell.bottom_mm - BELOW_MM - LINE_MM * WORD_LINES - 2.0},
                     .x_from = log10(round_down(0.9 * least_a)),
                     .x_to = log10(round_up(most_a)),
                     .y_from = log10(LEAST_S),
                     .y_to = log10(MOST_S)};
}

static void draw_shown(DrawList *list, const DrawView *view, const Shown *shown, DrawBox cell) {
    const GuardStage *stage = stage_of(shown->row);
    double share = stage->wire_a / stage->device_a;
    LogAxes axes = place_axes(shown, cell);
    draw_layer(list, LAYER_TAG);
    const GuardJudgement *told = &shown->row->judgement;
    const char *verdict = told->verdict == GUARD_FAILS && told->memory
                              ? "fails by what is from memory"
                              : guard_verdict_name(told->verdict);
    DrawTextStyle style = {.height_mm = STYLE_VALUE_MM, .bold = true};
    double verdict_mm = draw_text_width(list, style, verdict);
    draw_text_fit(list, cell.left_mm, cell.top_mm + STYLE_VALUE_MM + 1.0, style,
                  arena_format(list->arena, "%s, %.4g A", part_of(view, shown->device)->part,
                               shown->device->rating_a),
                  cell.right_mm - cell.left_mm - verdict_mm - 10.0);
    style.align = ALIGN_RIGHT;
    draw_text(list, cell.right_mm - 6.0, cell.top_mm + STYLE_VALUE_MM + 1.0, style, verdict);
    draw_band(list, &axes, shown->device);
    draw_log_axes(list, &axes);
    if (shown->pair != NULL) {
        draw_upstream(list, &axes, view, shown->pair);
    }
    draw_wire(list, &axes, view, shown->row, share);
    draw_fault(list, &axes, &shown->row->high, true);
    draw_fault(list, &axes, &shown->row->low, false);
    draw_words(list, view, shown, cell, axes.area.bottom_mm + BELOW_MM + 1.5);
}

/* One sign of the legend with its words; returns where the next may begin. */
static double legend_words(DrawList *list, double x_mm, double y_mm, const char *words) {
    draw_layer(list, LAYER_NOTE);
    return x_mm + SIGN_MM + 6.0 +
           draw_text(list, x_mm + SIGN_MM + 2.0, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
                     words);
}

typedef enum Sign {
    SIGN_BAND,
    SIGN_MEMORY,
    SIGN_HATCH,
    SIGN_WIRE,
    SIGN_BOLTED,
    SIGN_CONTACT,
    SIGN_UPSTREAM,
    SIGN_COUNT
} Sign;

static void draw_sign(DrawList *list, Sign sign, double x_mm, double y_mm) {
    double middle_mm = y_mm - STYLE_NOTE_MM / 2.0;
    DrawBox box = {x_mm, y_mm - STYLE_NOTE_MM - 0.4, x_mm + SIGN_MM, y_mm + 0.4};
    draw_layer(list, LAYER_CURVE);
    switch (sign) {
    case SIGN_BAND:
        draw_rgb(list, STYLE_BAND);
        draw_fill_rectangle(list, box);
        draw_rgb(list, STYLE_INK);
        draw_line(list, box.left_mm, box.top_mm, box.right_mm, box.top_mm, STYLE_MEDIUM_MM);
        draw_line(list, box.left_mm, box.bottom_mm, box.right_mm, box.bottom_mm, STYLE_MEDIUM_MM);
        break;
    case SIGN_MEMORY:
        draw_dash(list, DASH_HIDDEN);
        draw_line(list, box.left_mm, box.top_mm, box.right_mm, box.top_mm, STYLE_MEDIUM_MM);
        draw_line(list, box.left_mm, box.bottom_mm, box.right_mm, box.bottom_mm, STYLE_MEDIUM_MM);
        break;
    case SIGN_HATCH:
        for (int i = 0; HATCH_MM * i < SIGN_MM - 3.0; i++) {
            double at_mm = x_mm + HATCH_MM * i;
            draw_line(list, at_mm, box.top_mm, at_mm + 3.3, box.bottom_mm, STYLE_THIN_MM);
        }
        break;
    case SIGN_WIRE:
        draw_line(list, x_mm, middle_mm, x_mm + SIGN_MM, middle_mm, STYLE_THICK_MM);
        break;
    case SIGN_BOLTED:
    case SIGN_CONTACT:
        draw_dash(list, sign == SIGN_BOLTED ? DASH_NONE : DASH_HIDDEN);
        draw_line(list, x_mm + 2.0, middle_mm, x_mm + SIGN_MM, middle_mm, STYLE_MEDIUM_MM);
        draw_dash(list, DASH_NONE);
        draw_mark(list, x_mm + 1.0, y_mm, sign == SIGN_BOLTED);
        break;
    case SIGN_UPSTREAM:
        draw_dash(list, DASH_AXIS);
        draw_line(list, x_mm, middle_mm, x_mm + SIGN_MM, middle_mm, STYLE_MEDIUM_MM);
        break;
    case SIGN_COUNT:
        break;
    }
    draw_dash(list, DASH_NONE);
}

static void draw_legend(DrawList *list, const DrawView *view, DrawBox field) {
    const char *const WORDS[SIGN_COUNT] = {
        [SIGN_BAND] = "the device opens between these edges",
        [SIGN_MEMORY] = "edges from memory: they prove nothing",
        [SIGN_HATCH] = "not proved: no published gate says when it opens",
        [SIGN_WIRE] = "the wire reaches its limit",
        [SIGN_BOLTED] = "bolted short",
        [SIGN_CONTACT] = arena_format(list->arena, "short through %.0f mohm",
                                      model_limit(view->model, GUARD_LIMIT_CONTACT)),
        [SIGN_UPSTREAM] = "next device upstream, at its share of the current",
    };
    double x_mm = field.left_mm;
    double y_mm = field.bottom_mm - 2.0 * LEGEND_MM - 1.0;
    for (int sign = 0; sign < SIGN_COUNT; sign++) {
        double width_mm =
            SIGN_MM + 4.0 +
            draw_text_width(list, (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, WORDS[sign]);
        if (x_mm > field.left_mm && x_mm + width_mm > field.right_mm) {
            x_mm = field.left_mm;
            y_mm += LEGEND_MM;
        }
        draw_sign(list, (Sign)sign, x_mm, y_mm);
        x_mm = legend_words(list, x_mm, y_mm, WORDS[sign]);
    }
}

void guard_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const DrawView *view = plan->view;
    const GuardPlots *plots = plan->kept[SHEET_GUARD];
    bool alone = sheet->index >= plots->pages;
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, field.left_mm, field.top_mm + STYLE_TAG_MM + 1.0,
                  (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
                  alone ? sheet->title
                        : "When the device opens, and what the wire behind it stands",
                  field.right_mm - field.left_mm);
    draw_legend(list, view, field);
    DrawBox room = {field.left_mm, field.top_mm + TITLE_MM, field.right_mm,
                    field.bottom_mm - 3.0 * LEGEND_MM};
    if (alone) {
        draw_shown(list, view, &plots->shown[sheet->index - plots->pages], room);
        return;
    }
    double width_mm = (room.right_mm - room.left_mm - GAP_MM * (double)(plots->columns - 1)) /
                      (double)plots->columns;
    double height_mm =
        (room.bottom_mm - room.top_mm - GAP_MM * (double)(plots->rows - 1)) / (double)plots->rows;
    size_t each = plots->columns * plots->rows;
    for (size_t i = 0; i < each; i++) {
        size_t own = sheet->index * each + i;
        if (own >= plots->count || plots->shown[own].asked != NULL) {
            break;
        }
        size_t column = i % plots->columns;
        size_t row = i / plots->columns;
        double left_mm = room.left_mm + (width_mm + GAP_MM) * (double)column;
        double top_mm = room.top_mm + (height_mm + GAP_MM) * (double)row;
        draw_shown(list, view, &plots->shown[own],
                   (DrawBox){left_mm, top_mm, left_mm + width_mm, top_mm + height_mm});
    }
}
