/* Maps of heading error: the aircraft from above, nose up, at the height of one sensor. In every
 * cell stands the error that a sensor would have there; a bold line parts what keeps its limit from
 * what does not. Numbers give way to lines, never the other way round: where a way of the harness
 * or the line of the limit passes, the error is told by the cells beside it. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "draw/sheets.h"

#define HEADING_PART "Loads"
#define TITLE_MM 16.0     /* room of the title and its second line */
#define COLUMN_SHARE 0.33 /* of the field: the column of words and of the map close by */
#define COLUMN_MOST_MM 122.0
#define GAP_MM 8.0
#define LINE_MM 4.2         /* from line to line of words */
#define AXIS_MM 8.0         /* room of the numbers below a map */
#define AXIS_X_MM 14.0      /* and of those at its left */
#define CELL_MM 7.0         /* least distance between numbers across */
#define FINE 4              /* places from number to number: lines of equal error go through all */
#define MARGIN_MM 400.0     /* around the nodes, in the aircraft */
#define CLOSE_MM 750.0      /* half the map close by, in the aircraft */
#define CLOSE_LEAST_MM 35.0 /* of that map on paper */
#define CROSS_MM 2.5        /* half of the sensor's mark */
#define TICK_MM 1.5
#define CLEAR_MM 0.8 /* between a number and a line */
#define WORST_CIRCUITS 8

typedef struct HeadingPlan {
    uint32_t *sensors; /* by sheet */
} HeadingPlan;

/* Where the aircraft lies on paper: y of the aircraft runs to the right, x down. */
typedef struct Plan {
    DrawBox area;
    double mm_per_mm;
    double x_mm; /* aircraft, at the upper edge */
    double y_mm; /* at the left edge */
} Plan;

static double paper_x_mm(const Plan *plan, double y_mm) {
    return plan->area.left_mm + (y_mm - plan->y_mm) * plan->mm_per_mm;
}

static double paper_y_mm(const Plan *plan, double x_mm) {
    return plan->area.top_mm + (x_mm - plan->x_mm) * plan->mm_per_mm;
}

/* --- lines that numbers keep clear of -----------------------------------------------------------
 */

typedef struct Stroke {
    DrawPoint a;
    DrawPoint b;
} Stroke;

typedef struct Strokes {
    Stroke *rows;
    size_t count;
    size_t capacity;
} Strokes;

static void stroke(DrawList *list, Strokes *strokes, DrawPoint a, DrawPoint b, double weight_mm) {
    draw_line(list, a.x_mm, a.y_mm, b.x_mm, b.y_mm, weight_mm);
    *ARENA_PUSH(list->arena, strokes->rows, strokes->count, strokes->capacity) = (Stroke){a, b};
}

/* The part of a stroke that lies in a box (Liang and Barsky); false when none does. */
static bool clip(Stroke *row, DrawBox box) {
    double low = 0.0;
    double high = 1.0;
    double dx = row->b.x_mm - row->a.x_mm;
    double dy = row->b.y_mm - row->a.y_mm;
    const double steps[4] = {-dx, dx, -dy, dy};
    const double rooms[4] = {row->a.x_mm - box.left_mm, box.right_mm - row->a.x_mm,
                             row->a.y_mm - box.top_mm, box.bottom_mm - row->a.y_mm};
    for (int side = 0; side < 4; side++) {
        if (steps[side] == 0.0) {
            if (rooms[side] < 0.0) {
                return false;
            }
        } else if (steps[side] < 0.0) {
            low = fmax(low, rooms[side] / steps[side]);
        } else {
            high = fmin(high, rooms[side] / steps[side]);
        }
    }
    if (low > high) {
        return false;
    }
    DrawPoint a = row->a;
    row->a = (DrawPoint){a.x_mm + low * dx, a.y_mm + low * dy};
    row->b = (DrawPoint){a.x_mm + high * dx, a.y_mm + high * dy};
    return true;
}

static bool is_clear(const Strokes *strokes, DrawBox box) {
    for (size_t i = 0; i < strokes->count; i++) {
        Stroke row = strokes->rows[i];
        if (clip(&row, box)) {
            return false;
        }
    }
    return true;
}

/* --- line of equal error ------------------------------------------------------------------------
 */

static DrawPoint place_point(const Plan *plan, const HeadingMap *map, uint32_t place) {
    uint32_t column = place % map->columns;
    uint32_t row = place / map->columns;
    return (DrawPoint){paper_x_mm(plan, map->y_mm + row * map->step_mm),
                       paper_y_mm(plan, map->x_mm + column * map->step_mm)};
}

/* An edge of the grid: from a place to the next in its column's way (0) or its row's (1). */
static uint32_t edge_of(uint32_t place, uint32_t way) {
    return 2 * place + way;
}

/* Where an error of `level` crosses an edge; errors grow steeply towards a wire, so between their
 * logarithms. */
static DrawPoint edge_cut(const Plan *plan, const HeadingMap *map, uint32_t edge,
                          double level_deg) {
    const double LEAST_DEG = 1e-6;
    uint32_t from = edge / 2;
    uint32_t to = from + (edge % 2 == 0 ? 1 : map->columns);
    DrawPoint a = place_point(plan, map, from);
    DrawPoint b = place_point(plan, map, to);
    double low = log(fmax(map->worst_deg[from], LEAST_DEG));
    double high = log(fmax(map->worst_deg[to], LEAST_DEG));
    double share = high == low ? 0.5 : (log(level_deg) - low) / (high - low);
    return (DrawPoint){a.x_mm + share * (b.x_mm - a.x_mm), a.y_mm + share * (b.y_mm - a.y_mm)};
}

/* The line of one error: from each cut edge to the next over one cell. */
typedef struct Contour {
    uint32_t (*next)[2]; /* by edge: its neighbours on the line, ID_NONE */
    uint32_t edge_count;
} Contour;

static void join_edges(Contour *contour, uint32_t a, uint32_t b) {
    contour->next[a][contour->next[a][0] == ID_NONE ? 0 : 1] = b;
    contour->next[b][contour->next[b][0] == ID_NONE ? 0 : 1] = a;
}

/* Marching squares over the places. */
static Contour find_contour(Arena *arena, const HeadingMap *map, double level_deg) {
    uint32_t places = map->columns * map->rows;
    Contour contour = {.edge_count = 2 * places};
    contour.next = arena_take(arena, contour.edge_count, sizeof *contour.next);
    memset(contour.next, 0xff, contour.edge_count * sizeof *contour.next);
    for (uint32_t row = 0; row + 1 < map->rows; row++) {
        for (uint32_t column = 0; column + 1 < map->columns; column++) {
            uint32_t at = row * map->columns + column;
            const uint32_t corners[4] = {at, at + 1, at + map->columns + 1, at + map->columns};
            const uint32_t edges[4] = {edge_of(at, 0), edge_of(at + 1, 1),
                                       edge_of(at + map->columns, 0), edge_of(at, 1)};
            uint32_t cuts[4];
            int count = 0;
            for (int i = 0; i < 4; i++) {
                bool above = map->worst_deg[corners[i]] > level_deg;
                bool next_above = map->worst_deg[corners[(i + 1) % 4]] > level_deg;
                if (above != next_above) {
                    cuts[count++] = edges[i];
                }
            }
            /* Two cuts make one piece; four, a saddle: each corner above is parted off alone. */
            int turn = count == 4 && map->worst_deg[corners[0]] > level_deg ? 3 : 0;
            for (int i = 0; i + 1 < count; i += 2) {
                join_edges(&contour, cuts[(i + turn) % count], cuts[(i + turn + 1) % count]);
            }
        }
    }
    return contour;
}

/* Draws the line from `edge` on as one path, so that its dashes run on, and takes it away. */
static void draw_chain(DrawList *list, Strokes *strokes, const Plan *plan, const HeadingMap *map,
                       Contour *contour, uint32_t edge, double level_deg, double weight_mm) {
    DrawPoint *points = NULL;
    size_t count = 0;
    size_t capacity = 0;
    while (edge != ID_NONE) {
        *ARENA_PUSH(list->arena, points, count, capacity) = edge_cut(plan, map, edge, level_deg);
        uint32_t next =
            contour->next[edge][0] != ID_NONE ? contour->next[edge][0] : contour->next[edge][1];
        contour->next[edge][contour->next[edge][0] != ID_NONE ? 0 : 1] = ID_NONE;
        for (int i = 0; next != ID_NONE && i < 2; i++) {
            if (contour->next[next][i] == edge) {
                contour->next[next][i] = ID_NONE;
                break;
            }
        }
        edge = next;
    }
    if (count > 1) {
        draw_path(list, points, count, false, weight_mm);
    }
    for (size_t i = 1; i < count; i++) {
        *ARENA_PUSH(list->arena, strokes->rows, strokes->count, strokes->capacity) =
            (Stroke){points[i - 1], points[i]};
    }
}

/* Open lines from their ends first, then what is left: closed ones. */
static void draw_level(DrawList *list, Strokes *strokes, const Plan *plan, const HeadingMap *map,
                       double level_deg, double weight_mm) {
    Contour contour = find_contour(list->arena, map, level_deg);
    for (int closed = 0; closed < 2; closed++) {
        for (uint32_t edge = 0; edge < contour.edge_count; edge++) {
            bool first = contour.next[edge][0] != ID_NONE;
            bool second = contour.next[edge][1] != ID_NONE;
            if (closed == 0 ? first != second : first && second) {
                draw_chain(list, strokes, plan, map, &contour, edge, level_deg, weight_mm);
            }
        }
    }
}

/* --- what is drawn ------------------------------------------------------------------------------
 */

static void draw_edges(DrawList *list, const Plan *plan, const HeadingMap *map, double each_mm) {
    draw_layer(list, LAYER_RULE);
    draw_rectangle(list, plan->area, STYLE_MEDIUM_MM);
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE};
    double y_end_mm = map->y_mm + (double)(map->rows - 1) * map->step_mm;
    double x_end_mm = map->x_mm + (double)(map->columns - 1) * map->step_mm;
    for (int i = (int)ceil(plan->y_mm / each_mm); i * each_mm <= y_end_mm; i++) {
        double y_mm = i * each_mm;
        double at_mm = paper_x_mm(plan, y_mm);
        const char *text = arena_format(list->arena, "%.0f", y_mm + 0.0);
        draw_line(list, at_mm, plan->area.bottom_mm, at_mm, plan->area.bottom_mm + TICK_MM,
                  STYLE_THIN_MM);
        draw_text(list, at_mm, plan->area.bottom_mm + TICK_MM + 1.0 + STYLE_NOTE_MM, style, text);
    }
    style.align = ALIGN_RIGHT;
    for (int i = (int)ceil(plan->x_mm / each_mm); i * each_mm <= x_end_mm; i++) {
        double x_mm = i * each_mm;
        double at_mm = paper_y_mm(plan, x_mm);
        draw_line(list, plan->area.left_mm - TICK_MM, at_mm, plan->area.left_mm, at_mm,
                  STYLE_THIN_MM);
        draw_text(list, plan->area.left_mm - TICK_MM - 1.0, at_mm + STYLE_NOTE_MM / 2.0, style,
                  arena_format(list->arena, "%.0f", x_mm + 0.0));
    }
}

static void draw_harness(DrawList *list, Strokes *strokes, const DrawView *view, const Plan *plan) {
    const Model *model = view->model;
    const NodeRow *nodes = view->set->node.rows;
    draw_layer(list, LAYER_CURVE);
    for (SegmentId i = 0; i < view->set->segment.count; i++) {
        if (model->segment_a[i] != ID_NONE && model->segment_b[i] != ID_NONE) {
            const NodeRow *a = &nodes[model->segment_a[i]];
            const NodeRow *b = &nodes[model->segment_b[i]];
            Stroke way = {{paper_x_mm(plan, a->y_mm), paper_y_mm(plan, a->x_mm)},
                          {paper_x_mm(plan, b->y_mm), paper_y_mm(plan, b->x_mm)}};
            if (clip(&way, plan->area)) {
                draw_row(list, TABLE_segment, view->set->segment.rows[i].segment);
                stroke(list, strokes, way.a, way.b, STYLE_THIN_MM);
            }
        }
    }
    draw_row(list, TABLE_COUNT, "");
}

/* A cross in a circle where the sensor is. */
static void draw_sensor(DrawList *list, Strokes *strokes, const Plan *plan, const SensorRow *row) {
    double x_mm = paper_x_mm(plan, row->y_mm);
    double y_mm = paper_y_mm(plan, row->x_mm);
    draw_layer(list, LAYER_SYMBOL);
    draw_row(list, TABLE_sensor, row->sensor);
    draw_disc_outlined(list, x_mm, y_mm, CROSS_MM, STYLE_PAPER, STYLE_MEDIUM_MM);
    stroke(list, strokes, (DrawPoint){x_mm - 1.8 * CROSS_MM, y_mm},
           (DrawPoint){x_mm + 1.8 * CROSS_MM, y_mm}, STYLE_MEDIUM_MM);
    stroke(list, strokes, (DrawPoint){x_mm, y_mm - 1.8 * CROSS_MM},
           (DrawPoint){x_mm, y_mm + 1.8 * CROSS_MM}, STYLE_MEDIUM_MM);
    draw_row(list, TABLE_COUNT, "");
    /* Numbers keep clear of the circle as well. */
    for (int i = 0; i < 4; i++) {
        double a_x = i < 2 ? -CROSS_MM : CROSS_MM;
        double a_y = i % 2 == 0 ? -CROSS_MM : CROSS_MM;
        *ARENA_PUSH(list->arena, strokes->rows, strokes->count, strokes->capacity) =
            (Stroke){{x_mm + a_x, y_mm + a_y}, {x_mm - a_y, y_mm + a_x}};
    }
}

/* "0.04", "0.3", "4.2", "27", "no": two figures. */
static const char *deg_text(Arena *arena, double deg) {
    if (deg >= 180.0) {
        return "no";
    }
    return arena_format(arena, deg < 0.095 ? "%.2f" : deg < 9.95 ? "%.1f" : "%.0f", deg);
}

static void draw_numbers(DrawList *list, const Strokes *strokes, const Plan *plan,
                         const HeadingMap *map, double limit_deg) {
    draw_layer(list, LAYER_CURVE);
    for (uint32_t row = 0; row < map->rows; row++) {
        for (uint32_t column = 0; column < map->columns; column++) {
            if ((row + FINE - map->own_row % FINE) % FINE != 0 ||
                (column + FINE - map->own_column % FINE) % FINE != 0) {
                continue;
            }
            double deg = map->worst_deg[(size_t)row * map->columns + column];
            DrawTextStyle style = {
                .height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE, .bold = deg > limit_deg};
            DrawPoint at = place_point(plan, map, row * map->columns + column);
            const char *text = deg_text(list->arena, deg);
            double half_mm = draw_text_width(list, style, text) / 2.0 + CLEAR_MM;
            double high_mm = STYLE_NOTE_MM / 2.0 + CLEAR_MM;
            DrawBox box = {at.x_mm - half_mm, at.y_mm - high_mm, at.x_mm + half_mm,
                           at.y_mm + high_mm};
            bool inside = box.left_mm > plan->area.left_mm && box.top_mm > plan->area.top_mm &&
                          box.right_mm < plan->area.right_mm &&
                          box.bottom_mm < plan->area.bottom_mm;
            if (inside && is_clear(strokes, box)) {
                draw_text(list, at.x_mm, at.y_mm + STYLE_NOTE_MM / 2.0, style, text);
            }
        }
    }
}

/* --- words --------------------------------------------------------------------------------------
 */

static double draw_words(DrawList *list, double left_mm, double y_mm, double width_mm, bool bold,
                         const char *text) {
    const char **lines;
    size_t count =
        fonts_wrap(list->fonts, list->arena, text, STYLE_NOTE_MM, bold, width_mm, &lines);
    for (size_t i = 0; i < count; i++) {
        draw_text(list, left_mm, y_mm, (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .bold = bold},
                  lines[i]);
        y_mm += LINE_MM;
    }
    return y_mm;
}

/* The sensor's worst circuits where it is, largest first. */
static double draw_worst(DrawList *list, const DrawView *view, uint32_t sensor, double left_mm,
                         double y_mm, double width_mm) {
    const HeadingRow *rows = view->set->heading.rows;
    const char *name = view->set->sensor.rows[sensor].sensor;
    y_mm =
        draw_words(list, left_mm, y_mm, width_mm, true, "Where it is now, switched on minus off");
    uint32_t told = 0;
    for (size_t i = 0; i < view->set->heading.count && told < WORST_CIRCUITS; i++) {
        const HeadingRow *row = &rows[i];
        if (strcmp(row->sensor, name) != 0 || isnan(row->amps_a)) {
            continue;
        }
        told++;
        draw_row(list, TABLE_heading,
                 arena_format(list->arena, "%s %s %s", row->sensor, row->circuit, row->phase));
        DrawTextStyle style = {.height_mm = STYLE_NOTE_MM};
        draw_text_fit(list, left_mm, y_mm, style, row->circuit, width_mm - 44.0);
        style.align = ALIGN_RIGHT;
        draw_text(list, left_mm + width_mm - 28.0, y_mm, style,
                  arena_format(list->arena, "%.1f A", row->amps_a));
        draw_text(list, left_mm + width_mm - 12.0, y_mm, style,
                  arena_format(list->arena, "%.2f deg", row->worst_deg));
        bool over = strcmp(row->verdict, "over") == 0;
        style.bold = over;
        draw_text(list, left_mm + width_mm, y_mm, style, over ? "over" : "");
        y_mm += LINE_MM;
    }
    draw_row(list, TABLE_COUNT, "");
    return y_mm + LINE_MM / 2.0;
}

/* Returns where the words end. */
static double draw_legend(DrawList *list, const DrawView *view, const HeadingMap *map,
                          double limit_deg, DrawBox room) {
    const SensorRow *row = &view->set->sensor.rows[map->sensor];
    const double KEY_MM = 15.0;
    double width_mm = room.right_mm - room.left_mm;
    double y_mm = room.top_mm + STYLE_NOTE_MM;
    draw_layer(list, LAYER_NOTE);
    y_mm = draw_worst(list, view, map->sensor, room.left_mm, y_mm, width_mm);
    static const double WEIGHTS[] = {STYLE_THICK_MM, STYLE_THIN_MM, STYLE_THIN_MM};
    static const DrawDash DASHES[] = {DASH_NONE, DASH_HIDDEN, DASH_NONE};
    const char *keys[] = {
        arena_format(list->arena, "the limit, %g deg", limit_deg),
        arena_format(list->arena, "%g and %g deg", limit_deg / 10.0, limit_deg * 10.0),
        "ways of the harness, at whatever height",
    };
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        draw_dash(list, DASHES[i]);
        draw_line(list, room.left_mm, y_mm - 1.0, room.left_mm + KEY_MM - 3.0, y_mm - 1.0,
                  WEIGHTS[i]);
        draw_dash(list, DASH_NONE);
        y_mm = draw_words(list, room.left_mm + KEY_MM, y_mm, width_mm - KEY_MM, false, keys[i]);
    }
    const char *texts[] = {
        arena_format(list->arena,
                     "Numbers: degrees of heading by which the worst single circuit would turn a "
                     "%s there, at the height of %s (%.0f mm); horizontal field %g uT. Bold: over "
                     "the limit; \"no\": no heading left.",
                     row->kind, row->sensor, row->z_mm, row->horizontal_ut),
        arena_format(list->arena,
                     "%u circuits, each in its worst phase for where the sensor is now%s, their "
                     "single wires in the middle of their bundles. Steel, magnets and motors are "
                     "not in it: keep the makers' distances, and measure with loads on and off.",
                     map->circuit_count,
                     map->circuits_left == 0
                         ? ""
                         : arena_format(list->arena, " (%u with less current are left out)",
                                        map->circuits_left)),
    };
    y_mm += LINE_MM / 2.0;
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        y_mm = draw_words(list, room.left_mm, y_mm, width_mm, false, texts[i]) + LINE_MM / 2.0;
    }
    return y_mm;
}

/* --- sheets -------------------------------------------------------------------------------------
 */

static double limit_of(const DrawView *view, uint32_t sensor) {
    for (size_t i = 0; i < view->set->heading.count; i++) {
        if (strcmp(view->set->heading.rows[i].sensor, view->set->sensor.rows[sensor].sensor) == 0) {
            return view->set->heading.rows[i].limit_deg;
        }
    }
    return (double)NAN;
}

void heading_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    HeadingPlan *kept = ARENA_NEW(plan->arena, HeadingPlan);
    plan->kept[SHEET_HEADING] = kept;
    size_t count = view->heading->errors == NULL ? 0 : view->set->sensor.count;
    kept->sensors = ARENA_ARRAY(plan->arena, uint32_t, count);
    uint32_t sheets = 0;
    /* Magnetometers first: it is their place that is looked for. */
    for (int compass = 0; compass < 2; compass++) {
        for (uint32_t i = 0; i < count; i++) {
            const SensorRow *row = &view->set->sensor.rows[i];
            if ((strcmp(row->kind, "compass") == 0) != (compass == 1)) {
                continue;
            }
            kept->sensors[sheets] = i;
            sheet_add(plan, SHEET_HEADING, sheets, HEADING_PART,
                      arena_format(plan->arena, "heading-%u", sheets + 1),
                      arena_format(plan->arena, "Heading error around %s", row->sensor), "plot");
            sheets++;
        }
    }
}

/* The largest scale and the finest round step of numbers that fit a room. */
static void draw_map(DrawList *list, const DrawView *view, uint32_t sensor, double limit_deg,
                     HeadingArea area, DrawBox room, double each_mm, HeadingMap *map) {
    static const double ROUND[] = {1.0, 2.0, 2.5, 4.0, 5.0, 10.0};
    double wide_mm = area.y_to_mm - area.y_from_mm;
    double deep_mm = area.x_to_mm - area.x_from_mm;
    double scale =
        fmin((room.right_mm - room.left_mm) / wide_mm, (room.bottom_mm - room.top_mm) / deep_mm);
    double least_mm = CELL_MM / scale;
    double power = pow(10.0, floor(log10(least_mm)));
    size_t step = 0;
    while (ROUND[step] * power < least_mm * (1.0 - 1e-9)) {
        step++;
    }
    area.step_mm = ROUND[step] * power / FINE;
    heading_map(list->arena, &view->heading_input, view->heading, sensor, &area, map);
    Plan plan = {
        .mm_per_mm = scale,
        .x_mm = area.x_from_mm,
        .y_mm = area.y_from_mm,
        .area = {room.left_mm, room.top_mm, room.left_mm + wide_mm * scale,
                 room.top_mm + deep_mm * scale},
    };
    Strokes strokes = {0};
    draw_edges(list, &plan, map, each_mm);
    draw_harness(list, &strokes, view, &plan);
    draw_layer(list, LAYER_CURVE);
    draw_dash(list, DASH_HIDDEN);
    draw_level(list, &strokes, &plan, map, limit_deg / 10.0, STYLE_THIN_MM);
    draw_level(list, &strokes, &plan, map, limit_deg * 10.0, STYLE_THIN_MM);
    draw_dash(list, DASH_NONE);
    draw_level(list, &strokes, &plan, map, limit_deg, STYLE_THICK_MM);
    draw_sensor(list, &strokes, &plan, &view->set->sensor.rows[sensor]);
    draw_numbers(list, &strokes, &plan, map, limit_deg);
}

void heading_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const DrawView *view = plan->view;
    const HeadingPlan *kept = plan->kept[SHEET_HEADING];
    uint32_t sensor = kept->sensors[sheet->index];
    const SensorRow *row = &view->set->sensor.rows[sensor];
    double limit_deg = limit_of(view, sensor);
    draw_layer(list, LAYER_TAG);
    draw_row(list, TABLE_sensor, row->sensor);
    draw_text_fit(list, field.left_mm, field.top_mm + STYLE_TAG_MM + 1.0,
                  (DrawTextStyle){.height_mm = STYLE_TAG_MM, .bold = true},
                  arena_format(list->arena, "Heading error around %s", row->sensor),
                  field.right_mm - field.left_mm);
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, field.left_mm, field.top_mm + TITLE_MM - 2.5,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
                  "From above, nose up; mm aft of the datum downwards, mm to the right across",
                  field.right_mm - field.left_mm);
    double column_mm = fmin(COLUMN_SHARE * (field.right_mm - field.left_mm), COLUMN_MOST_MM);
    DrawBox column = {field.right_mm - column_mm, field.top_mm + TITLE_MM, field.right_mm,
                      field.bottom_mm};
    DrawBox room = {field.left_mm + AXIS_X_MM, field.top_mm + TITLE_MM, column.left_mm - GAP_MM,
                    field.bottom_mm - AXIS_MM};
    HeadingArea area;
    heading_area(&view->heading_input, sensor, MARGIN_MM, &area);
    HeadingMap map;
    draw_map(list, view, sensor, limit_deg, area, room, 1000.0, &map);
    double words_mm = draw_legend(list, view, &map, limit_deg, column);
    double side_mm =
        fmin(column_mm - AXIS_X_MM, field.bottom_mm - AXIS_MM - words_mm - STYLE_NOTE_MM);
    if (side_mm < CLOSE_LEAST_MM) {
        return; /* no room on small paper */
    }
    DrawBox close = {column.right_mm - side_mm, field.bottom_mm - AXIS_MM - side_mm,
                     column.right_mm, field.bottom_mm - AXIS_MM};
    area = (HeadingArea){row->x_mm - CLOSE_MM, row->x_mm + CLOSE_MM, row->y_mm - CLOSE_MM,
                         row->y_mm + CLOSE_MM, 0.0};
    draw_map(list, view, sensor, limit_deg, area, close, 500.0, &map);
}
