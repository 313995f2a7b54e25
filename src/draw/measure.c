/* Method: every text and every straight piece of line goes into the cells of a grid that it covers;
 * only what shares a cell is compared. Arcs count as chords. A pair that shares several cells is
 * judged in the first of them alone, so that nothing is counted twice. */
#include "draw/measure.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "base/units.h"

#define CELL_MM 12.0
#define CHORD_DEG 15.0

/* A straight piece of an item. */
typedef struct Piece {
    uint32_t item;
    DrawPoint a;
    DrawPoint b;
} Piece;

typedef struct Cell {
    uint32_t *texts; /* items */
    size_t text_count;
    size_t text_capacity;
    uint32_t *pieces;
    size_t piece_count;
    size_t piece_capacity;
} Cell;

typedef struct Measurer {
    Arena *arena;
    const DrawList *list;
    Measure *measure;
    Piece *pieces;
    size_t piece_count;
    size_t piece_capacity;
    Cell *cells;
    int across;
    int down;
} Measurer;

/* --- pieces -------------------------------------------------------------------------------------
 */

static void add_piece(Measurer *measurer, uint32_t item, DrawPoint a, DrawPoint b) {
    *ARENA_PUSH(measurer->arena, measurer->pieces, measurer->piece_count,
                measurer->piece_capacity) = (Piece){item, a, b};
}

static DrawPoint on_arc(const DrawItem *item, DrawPoint centre, double deg) {
    double rad = units_rad_from_deg(deg);
    return (DrawPoint){centre.x_mm + item->radius_mm * cos(rad),
                       centre.y_mm - item->radius_mm * sin(rad)};
}

static void take_pieces(Measurer *measurer, uint32_t at) {
    const DrawList *list = measurer->list;
    const DrawItem *item = &list->items[at];
    const DrawPoint *points = draw_points(list, item);
    if (item->kind == DRAW_PATH) {
        for (uint32_t i = 1; i < item->point_count; i++) {
            add_piece(measurer, at, points[i - 1], points[i]);
        }
        if (item->closed && item->point_count > 2) {
            add_piece(measurer, at, points[item->point_count - 1], points[0]);
        }
    } else {
        DrawPoint before = on_arc(item, points[0], item->from_deg);
        double deg = item->from_deg;
        while (deg < item->to_deg) {
            deg = fmin(deg + CHORD_DEG, item->to_deg);
            DrawPoint next = on_arc(item, points[0], deg);
            add_piece(measurer, at, before, next);
            before = next;
        }
    }
}

/* --- grid ---------------------------------------------------------------------------------------
 */

static int cell_index(double at_mm, int count) {
    int cell = (int)floor(at_mm / CELL_MM);
    return cell < 0 ? 0 : cell >= count ? count - 1 : cell;
}

typedef struct CellRange {
    int left;
    int top;
    int right;
    int bottom;
} CellRange;

static CellRange cells_of(const Measurer *measurer, DrawBox box) {
    return (CellRange){
        cell_index(box.left_mm, measurer->across), cell_index(box.top_mm, measurer->down),
        cell_index(box.right_mm, measurer->across), cell_index(box.bottom_mm, measurer->down)};
}

static DrawBox piece_box(const Piece *piece) {
    return (DrawBox){fmin(piece->a.x_mm, piece->b.x_mm), fmin(piece->a.y_mm, piece->b.y_mm),
                     fmax(piece->a.x_mm, piece->b.x_mm), fmax(piece->a.y_mm, piece->b.y_mm)};
}

/* The cell in which a pair is judged: the first that both cover. */
static bool is_first(CellRange left, CellRange right, int x, int y) {
    int first_x = left.left > right.left ? left.left : right.left;
    int first_y = left.top > right.top ? left.top : right.top;
    return x == first_x && y == first_y;
}

static void fill_grid(Measurer *measurer) {
    const DrawList *list = measurer->list;
    measurer->across = (int)ceil(list->width_mm / CELL_MM) + 1;
    measurer->down = (int)ceil(list->height_mm / CELL_MM) + 1;
    measurer->cells =
        ARENA_ARRAY(measurer->arena, Cell, (size_t)measurer->across * (size_t)measurer->down);
    for (uint32_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->kind == DRAW_TEXT) {
            CellRange range = cells_of(measurer, item->box);
            for (int y = range.top; y <= range.bottom; y++) {
                for (int x = range.left; x <= range.right; x++) {
                    Cell *cell = &measurer->cells[y * measurer->across + x];
                    *ARENA_PUSH(measurer->arena, cell->texts, cell->text_count,
                                cell->text_capacity) = i;
                }
            }
        } else if (item->kind == DRAW_PATH || item->kind == DRAW_ARC) {
            take_pieces(measurer, i);
        }
    }
    for (uint32_t i = 0; i < measurer->piece_count; i++) {
        CellRange range = cells_of(measurer, piece_box(&measurer->pieces[i]));
        for (int y = range.top; y <= range.bottom; y++) {
            for (int x = range.left; x <= range.right; x++) {
                Cell *cell = &measurer->cells[y * measurer->across + x];
                *ARENA_PUSH(measurer->arena, cell->pieces, cell->piece_count,
                            cell->piece_capacity) = i;
            }
        }
    }
}

/* --- judging ------------------------------------------------------------------------------------
 */

static void mark(Measurer *measurer, MeasureFault fault, uint32_t item, uint32_t other) {
    Measure *measure = measurer->measure;
    for (size_t i = 0; i < measure->mark_count; i++) { /* another piece of the same line */
        const MeasureMark *known = &measure->marks[i];
        if (known->fault == fault && known->item == item && known->other == other) {
            return;
        }
    }
    *ARENA_PUSH(measurer->arena, measure->marks, measure->mark_count, measure->mark_capacity) =
        (MeasureMark){fault, item, other};
    measure->fault_count[fault]++;
}

static DrawBox grown(DrawBox box, double by_mm) {
    return (DrawBox){box.left_mm - by_mm, box.top_mm - by_mm, box.right_mm + by_mm,
                     box.bottom_mm + by_mm};
}

static bool boxes_meet(DrawBox left, DrawBox right) {
    return left.left_mm < right.right_mm && right.left_mm < left.right_mm &&
           left.top_mm < right.bottom_mm && right.top_mm < left.bottom_mm;
}

/* Part of the piece inside the box (Liang and Barsky's clipping). */
static bool piece_meets(const Piece *piece, DrawBox box) {
    double dx = piece->b.x_mm - piece->a.x_mm;
    double dy = piece->b.y_mm - piece->a.y_mm;
    double p[4] = {-dx, dx, -dy, dy};
    double q[4] = {piece->a.x_mm - box.left_mm, box.right_mm - piece->a.x_mm,
                   piece->a.y_mm - box.top_mm, box.bottom_mm - piece->a.y_mm};
    double enter = 0.0;
    double leave = 1.0;
    for (int i = 0; i < 4; i++) {
        if (p[i] == 0.0) {
            if (q[i] <= 0.0) {
                return false;
            }
        } else if (p[i] < 0.0) {
            enter = fmax(enter, q[i] / p[i]);
        } else {
            leave = fmin(leave, q[i] / p[i]);
        }
    }
    return enter < leave;
}

static double turn(DrawPoint a, DrawPoint b, DrawPoint c) {
    return (b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm);
}

/* Both cross each other in their insides, not at an end. */
static bool pieces_cross(const Piece *left, const Piece *right) {
    double slack = 1e-6;
    double a = turn(left->a, left->b, right->a);
    double b = turn(left->a, left->b, right->b);
    double c = turn(right->a, right->b, left->a);
    double d = turn(right->a, right->b, left->b);
    return ((a > slack && b < -slack) || (a < -slack && b > slack)) &&
           ((c > slack && d < -slack) || (c < -slack && d > slack));
}

static void judge_texts(Measurer *measurer, const Cell *cell, int x, int y) {
    const DrawItem *items = measurer->list->items;
    CHECK(cell->piece_count == 0 || measurer->pieces != NULL);
    for (size_t i = 0; i < cell->text_count; i++) {
        const DrawItem *text = &items[cell->texts[i]];
        CellRange range = cells_of(measurer, text->box);
        DrawBox ink = grown(text->box, -MEASURE_SLACK_MM);
        for (size_t j = i + 1; j < cell->text_count; j++) {
            const DrawItem *other = &items[cell->texts[j]];
            if (boxes_meet(ink, grown(other->box, -MEASURE_SLACK_MM)) &&
                is_first(range, cells_of(measurer, other->box), x, y)) {
                mark(measurer, MEASURE_TEXT_ON_TEXT, cell->texts[i], cell->texts[j]);
            }
        }
        for (size_t j = 0; j < cell->piece_count; j++) {
            const Piece *piece = &measurer->pieces[cell->pieces[j]];
            double half_mm = items[piece->item].weight_mm / 2.0;
            if (piece_meets(piece, grown(ink, half_mm)) &&
                is_first(range, cells_of(measurer, piece_box(piece)), x, y)) {
                mark(measurer, MEASURE_LINE_ON_TEXT, cell->texts[i], piece->item);
            }
        }
    }
}

static double from_piece_mm(DrawPoint point, const Piece *piece) {
    double dx = piece->b.x_mm - piece->a.x_mm;
    double dy = piece->b.y_mm - piece->a.y_mm;
    double square = dx * dx + dy * dy;
    double along =
        square > 0.0
            ? ((point.x_mm - piece->a.x_mm) * dx + (point.y_mm - piece->a.y_mm) * dy) / square
            : 0.0;
    along = fmin(1.0, fmax(0.0, along));
    return hypot(piece->a.x_mm + along * dx - point.x_mm, piece->a.y_mm + along * dy - point.y_mm);
}

/* White between two pieces that do not cross; less than nothing where they lie on each other. */
static double white_mm(const Measurer *measurer, const Piece *left, const Piece *right) {
    const DrawItem *items = measurer->list->items;
    double lines_mm = (items[left->item].weight_mm + items[right->item].weight_mm) / 2.0;
    double apart_mm = fmin(fmin(from_piece_mm(left->a, right), from_piece_mm(left->b, right)),
                           fmin(from_piece_mm(right->a, left), from_piece_mm(right->b, left)));
    return apart_mm - lines_mm;
}

/* An end of one is an end of the other: leads that go on in each other. */
static bool pieces_join(const Piece *left, const Piece *right) {
    DrawPoint ends[2] = {left->a, left->b};
    for (int i = 0; i < 2; i++) {
        if (hypot(ends[i].x_mm - right->a.x_mm, ends[i].y_mm - right->a.y_mm) < MEASURE_SLACK_MM ||
            hypot(ends[i].x_mm - right->b.x_mm, ends[i].y_mm - right->b.y_mm) < MEASURE_SLACK_MM) {
            return true;
        }
    }
    return false;
}

static bool ends_in(const Piece *piece, DrawBox box) {
    DrawPoint ends[2] = {piece->a, piece->b};
    for (int i = 0; i < 2; i++) {
        if (ends[i].x_mm > box.left_mm && ends[i].x_mm < box.right_mm &&
            ends[i].y_mm > box.top_mm && ends[i].y_mm < box.bottom_mm) {
            return true;
        }
    }
    return false;
}

/* Symbols of different rows keep clear of each other unless a lead of one goes on in the other; a
 * wire may end in a symbol (an arrow's tip) but not run through it. */
static void judge_symbols(Measurer *measurer, const Cell *cell) {
    const DrawItem *items = measurer->list->items;
    CHECK(cell->piece_count == 0 || measurer->pieces != NULL);
    for (size_t i = 0; i < cell->piece_count; i++) {
        const Piece *piece = &measurer->pieces[cell->pieces[i]];
        const DrawItem *item = &items[piece->item];
        if (item->layer != LAYER_SYMBOL) {
            continue;
        }
        DrawBox box = grown(piece_box(piece), item->weight_mm + MEASURE_CLEAR_MM);
        for (size_t j = 0; j < cell->piece_count; j++) {
            const Piece *other = &measurer->pieces[cell->pieces[j]];
            const DrawItem *by = &items[other->item];
            bool symbol = by->layer == LAYER_SYMBOL && other->item > piece->item;
            if ((!symbol && by->layer != LAYER_WIRE) ||
                !boxes_meet(box, grown(piece_box(other), 1e-6)) ||
                (item->table == by->table && strcmp(item->key, by->key) == 0) ||
                pieces_join(piece, other)) {
                continue;
            }
            bool touch = symbol ? pieces_cross(piece, other) ||
                                      white_mm(measurer, piece, other) < MEASURE_CLEAR_MM
                                : pieces_cross(piece, other) &&
                                      !ends_in(other, grown(item->box, MEASURE_SLACK_MM));
            if (touch) {
                mark(measurer, MEASURE_SYMBOL_TOUCHED, piece->item, other->item);
            }
        }
    }
}

static void judge_crossings(Measurer *measurer, const Cell *cell, int x, int y) {
    const DrawItem *items = measurer->list->items;
    CHECK(cell->piece_count == 0 || measurer->pieces != NULL);
    for (size_t i = 0; i < cell->piece_count; i++) {
        const Piece *piece = &measurer->pieces[cell->pieces[i]];
        if (items[piece->item].layer != LAYER_WIRE) {
            continue;
        }
        CellRange range = cells_of(measurer, piece_box(piece));
        for (size_t j = i + 1; j < cell->piece_count; j++) {
            const Piece *other = &measurer->pieces[cell->pieces[j]];
            if (items[other->item].layer == LAYER_WIRE &&
                strcmp(items[piece->item].key, items[other->item].key) != 0 &&
                pieces_cross(piece, other) &&
                is_first(range, cells_of(measurer, piece_box(other)), x, y)) {
                measurer->measure->crossings++;
            }
        }
    }
}

static void judge_places(Measurer *measurer, DrawBox field) {
    const DrawList *list = measurer->list;
    DrawBox paper = {0.0, 0.0, list->width_mm, list->height_mm};
    for (uint32_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->kind == DRAW_ANCHOR) {
            continue;
        }
        DrawBox limit = grown(item->layer == LAYER_FRAME ? paper : field, MEASURE_SLACK_MM);
        DrawBox box = item->box;
        if (box.left_mm < limit.left_mm || box.right_mm > limit.right_mm ||
            box.top_mm < limit.top_mm || box.bottom_mm > limit.bottom_mm) {
            mark(measurer, MEASURE_OUTSIDE, i, UINT32_MAX);
        }
    }
}

/* Corners and lengths of the conductors. */
static void count_wires(Measurer *measurer) {
    const DrawList *list = measurer->list;
    NameMap keys = {0};
    for (uint32_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->layer != LAYER_WIRE || item->kind != DRAW_PATH) {
            continue;
        }
        name_map_add(&keys, measurer->arena, item->key, i);
        const DrawPoint *points = draw_points(list, item);
        for (uint32_t j = 1; j < item->point_count; j++) {
            measurer->measure->wire_mm +=
                hypot(points[j].x_mm - points[j - 1].x_mm, points[j].y_mm - points[j - 1].y_mm);
            if (j + 1 < item->point_count &&
                fabs(turn(points[j - 1], points[j], points[j + 1])) > 1e-6) {
                measurer->measure->bends++;
            }
        }
    }
    measurer->measure->wires = keys.count;
}

void draw_measure(Arena *arena, const DrawList *list, DrawBox field, Measure *measure) {
    *measure = (Measure){0};
    Measurer measurer = {.arena = arena, .list = list, .measure = measure};
    fill_grid(&measurer);
    for (int y = 0; y < measurer.down; y++) {
        for (int x = 0; x < measurer.across; x++) {
            const Cell *cell = &measurer.cells[y * measurer.across + x];
            judge_texts(&measurer, cell, x, y);
            judge_symbols(&measurer, cell);
            judge_crossings(&measurer, cell, x, y);
        }
    }
    judge_places(&measurer, field);
    count_wires(&measurer);
}

const char *draw_mark_text(Arena *arena, const DrawList *list, const MeasureMark *mark) {
    const DrawItem *item = &list->items[mark->item];
    const char *what =
        item->kind == DRAW_TEXT
            ? arena_format(arena, "text '%s'", item->text)
            : arena_format(arena, "%s of '%s'", draw_layer_name(item->layer), item->key);
    if (mark->fault == MEASURE_OUTSIDE) {
        return arena_format(arena, "%s leaves the field at %.1f, %.1f to %.1f, %.1f", what,
                            item->box.left_mm, item->box.top_mm, item->box.right_mm,
                            item->box.bottom_mm);
    }
    const DrawItem *other = &list->items[mark->other];
    if (mark->fault == MEASURE_TEXT_ON_TEXT) {
        return arena_format(arena, "%s overlaps text '%s' at %.1f, %.1f", what, other->text,
                            item->box.left_mm, item->box.top_mm);
    }
    return arena_format(arena, "%s is %s by %s '%s' at %.1f, %.1f", what,
                        mark->fault == MEASURE_LINE_ON_TEXT ? "crossed" : "touched",
                        draw_layer_name(other->layer), other->key, item->box.left_mm,
                        item->box.top_mm);
}
