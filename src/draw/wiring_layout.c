/* Method. From many columns to few, until the sheet is wide enough: columns for the nodes
 * (wiring_columns.c), the layered graph with gates and dummies, orders (wiring_order.c), heights
 * (every column slides its vertices to where most of their lines are straight: medians, pooled
 * where vertices would overlap), tracks (wiring_channel.c), and the lines from these. A text stands
 * in a zone of the channel beside the left end of its piece, where only that piece's own line runs;
 * verticals run in a zone of their own: so no line crosses a text. */
#include "draw/wiring_layout.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "draw/wiring_columns.h"
#include "draw/wiring_graph.h"

#define GRID_MM STYLE_GRID_MM
#define GATE_MARK_MM 2.5
#define GATE_FOOT_MM 2.5
#define DUMMY_HEAD_MM 0.0
#define GAP_BOX_MM 5.0
#define GAP_MM 0.0
#define LABEL_GAP_MM 1.5
#define NARROW_INSET_MM 18.0 /* room of an end inside such a node */
#define NARROW_MM 22.5       /* width of a node whose texts may be shortened */
#define CHANNEL_LEAST_MM 7.5 /* between boxes with nothing to join them */
#define COLUMN_LEAST_MM 48.0 /* a column with its channel is hardly ever narrower */

static double grid_up(double mm) {
    return GRID_MM * ceil(mm / GRID_MM - 1e-6);
}

/* --- the layered graph --------------------------------------------------------------------------
 */

static uint32_t add_vertex(LayoutGraph *graph, Vertex vertex) {
    *ARENA_PUSH(graph->arena, graph->vertices, graph->vertex_count, graph->vertex_capacity) =
        vertex;
    return (uint32_t)graph->vertex_count - 1;
}

static uint32_t add_attach(LayoutGraph *graph, uint32_t vertex, uint32_t side, uint32_t link,
                           const LayoutEnd *end) {
    CHECK(graph->vertices != NULL && vertex < graph->vertex_count);
    Vertex *row = &graph->vertices[vertex];
    uint32_t id = (uint32_t)graph->attach_count;
    *ARENA_PUSH(graph->arena, graph->attaches, graph->attach_count, graph->attach_capacity) =
        (Attach){.vertex = vertex,
                 .segment = LAYOUT_NONE,
                 .link = link,
                 .port = end->port,
                 .inset_mm = end->inset_mm,
                 .rows = graph->problem->links[link].rows,
                 .side = side,
                 .mark_mm = end->mark_mm};
    *ARENA_PUSH(graph->arena, row->side[side], row->side_count[side], row->side_capacity[side]) =
        id;
    return id;
}

static void add_segment(LayoutGraph *graph, uint32_t left, uint32_t right, uint32_t link,
                        uint32_t piece, bool turn) {
    uint32_t id = (uint32_t)graph->segment_count;
    *ARENA_PUSH(graph->arena, graph->segments, graph->segment_count, graph->segment_capacity) =
        (Segment){{left, right},
                  link,
                  piece,
                  graph->problem->links[link].rows - graph->problem->links[link].quiet_rows,
                  turn};
    graph->attaches[left].segment = id;
    graph->attaches[right].segment = id;
}

static uint32_t gate_vertex(LayoutGraph *graph, uint32_t gate, uint32_t column, bool make) {
    for (size_t i = graph->problem->node_count; i < graph->vertex_count; i++) {
        const Vertex *vertex = &graph->vertices[i];
        if (vertex->kind == VERTEX_GATE && vertex->of == gate && vertex->column == column) {
            return (uint32_t)i;
        }
    }
    if (!make) {
        return LAYOUT_NONE;
    }
    return add_vertex(graph, (Vertex){.kind = VERTEX_GATE,
                                      .of = gate,
                                      .column = column,
                                      .tied = true,
                                      .row_mm = LAYOUT_ROW_MM,
                                      .head_mm = graph->problem->gate_head_mm,
                                      .foot_mm = GATE_FOOT_MM,
                                      .gap_mm = GAP_BOX_MM});
}

/* The column of the next gate, from `first` to `last`: where it already stands, else the first. */
static uint32_t gate_column(LayoutGraph *graph, uint32_t gate, uint32_t first, uint32_t last) {
    for (uint32_t column = first; column <= last; column++) {
        if (gate_vertex(graph, gate, column, false) != LAYOUT_NONE) {
            return column;
        }
    }
    return first;
}

static void add_turn(LayoutGraph *graph, uint32_t id) {
    const LayoutLink *link = &graph->problem->links[id];
    uint32_t a = add_attach(graph, link->end[0].node, SIDE_RIGHT, id, &link->end[0]);
    uint32_t b = add_attach(graph, link->end[1].node, SIDE_RIGHT, id, &link->end[1]);
    graph->attaches[a].label_mm = link->label_mm;
    add_segment(graph, a, b, id, 0, true);
}

/* Cuts a link into segments from left to right. */
static void add_path(LayoutGraph *graph, uint32_t id) {
    const LayoutProblem *problem = graph->problem;
    const LayoutLink *link = &problem->links[id];
    uint32_t from = 0;
    uint32_t column = problem->nodes[link->end[0].node].column;
    uint32_t last = problem->nodes[link->end[1].node].column;
    if (column > last) {
        from = 1;
        uint32_t keep = column;
        column = last;
        last = keep;
    }
    const LayoutEnd *left_end = &link->end[from];
    const LayoutEnd *right_end = &link->end[1 - from];
    uint32_t gates = link->gate_count;
    uint32_t left = add_attach(graph, left_end->node, SIDE_RIGHT, id, left_end);
    graph->attaches[left].label_mm = link->label_mm;
    uint32_t passed = 0;
    uint32_t next_gate = LAYOUT_NONE;
    for (column++; column < last; column++) {
        uint32_t gate =
            passed < gates
                ? problem->gates[link->gate_first + (from == 0 ? passed : gates - 1 - passed)]
                : LAYOUT_NONE;
        if (passed < gates && next_gate == LAYOUT_NONE) {
            next_gate = gate_column(graph, gate, column, last - (gates - passed));
        }
        bool stops = next_gate == column;
        uint32_t vertex =
            stops ? gate_vertex(graph, gate, column, true)
                  : add_vertex(graph, (Vertex){.kind = VERTEX_DUMMY,
                                               .of = id,
                                               .column = column,
                                               .tied = true,
                                               .row_mm = link->rows > 1 ? LAYOUT_ROW_MM : 5.0,
                                               .gap_mm = GAP_MM});
        LayoutEnd end = {.port = LAYOUT_NONE, .mark_mm = stops ? GATE_MARK_MM : 0.0};
        end.mark_mm = stops ? fmax(end.mark_mm, link->gate_mark_mm) : 0.0;
        uint32_t in = add_attach(graph, vertex, SIDE_LEFT, id, &end);
        add_segment(graph, left, in, id, from == 0 ? passed : gates - passed, false);
        left = add_attach(graph, vertex, SIDE_RIGHT, id, &end);
        if (stops) {
            graph->attaches[left].label_mm = link->label_mm;
            passed++;
            next_gate = LAYOUT_NONE;
        }
    }
    CHECK(passed == gates);
    uint32_t right = add_attach(graph, right_end->node, SIDE_LEFT, id, right_end);
    add_segment(graph, left, right, id, from == 0 ? passed : gates - passed, false);
}

/* A stub leaves on the side of its port's links, else where fewer leave. */
static void add_stub(LayoutGraph *graph, uint32_t id) {
    const LayoutLink *link = &graph->problem->links[id];
    const LayoutEnd *end = &link->end[0];
    CHECK(graph->vertices != NULL && end->node < graph->vertex_count);
    const Vertex *vertex = &graph->vertices[end->node];
    uint32_t side =
        vertex->side_count[SIDE_LEFT] <= vertex->side_count[SIDE_RIGHT] ? SIDE_LEFT : SIDE_RIGHT;
    for (uint32_t s = 0; s < SIDE_COUNT; s++) {
        for (size_t i = 0; i < vertex->side_count[s]; i++) {
            if (graph->attaches[vertex->side[s][i]].port == end->port) {
                side = s;
            }
        }
    }
    if (graph->problem->narrow && vertex->side_count[1 - side] > vertex->side_count[side]) {
        side = 1 - side;
    }
    uint32_t attach = add_attach(graph, end->node, side, id, end);
    graph->attaches[attach].label_mm = link->label_mm;
}

/* How wide a node is follows from what its ends at each side need inside. */
static void set_node_widths(LayoutGraph *graph) {
    LayoutProblem *problem = graph->problem;
    for (size_t i = 0; i < problem->node_count; i++) {
        LayoutNode *node = &problem->nodes[i];
        const Vertex *vertex = &graph->vertices[i];
        for (uint32_t side = 0; side < SIDE_COUNT; side++) {
            node->inset_mm[side] = 0.0;
            for (size_t k = 0; k < vertex->side_count[side]; k++) {
                const Attach *attach = &graph->attaches[vertex->side[side][k]];
                double inset_mm = problem->narrow && node->fill
                                      ? fmin(attach->inset_mm, NARROW_INSET_MM)
                                      : attach->inset_mm;
                node->inset_mm[side] = fmax(node->inset_mm[side], inset_mm);
            }
        }
        double least_mm = problem->narrow ? fmin(node->width_mm, NARROW_MM) : node->width_mm;
        node->width_mm = grid_up(fmax(least_mm, node->inset_mm[SIDE_LEFT] + node->middle_mm +
                                                    node->inset_mm[SIDE_RIGHT]));
    }
}

static void fill_columns(LayoutGraph *graph) {
    for (size_t i = 0; i < graph->vertex_count; i++) {
        graph->column_size[graph->vertices[i].column]++;
    }
    for (uint32_t column = 0; column < graph->column_count; column++) {
        graph->column[column] = ARENA_ARRAY(graph->arena, uint32_t, graph->column_size[column]);
        graph->column_size[column] = 0;
    }
    for (uint32_t i = 0; i < graph->vertex_count; i++) {
        uint32_t column = graph->vertices[i].column;
        graph->column[column][graph->column_size[column]++] = i;
    }
    for (uint32_t channel = 0; channel <= graph->column_count; channel++) {
        graph->channel[channel] = ARENA_ARRAY(graph->arena, uint32_t, graph->segment_count);
    }
    for (uint32_t i = 0; i < graph->segment_count; i++) {
        const Attach *left = &graph->attaches[graph->segments[i].attach[0]];
        uint32_t channel = graph->vertices[left->vertex].column + 1;
        graph->channel[channel][graph->channel_size[channel]++] = i;
    }
}

static void build_graph(LayoutGraph *graph) {
    LayoutProblem *problem = graph->problem;
    for (uint32_t i = 0; i < problem->node_count; i++) {
        const LayoutNode *node = &problem->nodes[i];
        add_vertex(graph, (Vertex){.kind = VERTEX_NODE,
                                   .of = i,
                                   .column = node->column,
                                   .row_mm = node->row_mm,
                                   .head_mm = node->head_mm,
                                   .foot_mm = node->foot_mm,
                                   .gap_mm = node->fill ? GAP_BOX_MM : GAP_MM});
    }
    for (uint32_t i = 0; i < problem->link_count; i++) {
        const LayoutLink *link = &problem->links[i];
        if (link->end[1].node != LAYOUT_NONE) {
            bool turn = problem->nodes[link->end[0].node].column ==
                        problem->nodes[link->end[1].node].column;
            if (turn) {
                add_turn(graph, i);
            } else {
                add_path(graph, i);
            }
        }
    }
    for (uint32_t i = 0; i < problem->link_count; i++) {
        if (problem->links[i].end[1].node == LAYOUT_NONE) {
            add_stub(graph, i);
        }
    }
    for (uint32_t i = 0; i < problem->node_count; i++) {
        Vertex *vertex = &graph->vertices[i];
        LayoutNode *node = &problem->nodes[i];
        node->through = node->through && vertex->side_count[SIDE_LEFT] == 1 &&
                        vertex->side_count[SIDE_RIGHT] == 1;
    }
    set_node_widths(graph);
    fill_columns(graph);
}

/* --- heights ------------------------------------------------------------------------------------
 */

static void measure_vertices(LayoutGraph *graph) {
    for (size_t i = 0; i < graph->vertex_count; i++) {
        Vertex *vertex = &graph->vertices[i];
        uint32_t most = 0;
        for (uint32_t side = 0; side < SIDE_COUNT; side++) {
            uint32_t rows = 0;
            for (size_t k = 0; k < vertex->side_count[side]; k++) {
                Attach *attach = &graph->attaches[vertex->side[side][k]];
                attach->offset_mm = vertex->head_mm + vertex->row_mm * ((double)rows + 0.5);
                rows += attach->rows;
            }
            most = rows > most ? rows : most;
        }
        vertex->height_mm =
            vertex->head_mm + vertex->foot_mm + vertex->row_mm * (double)(most > 0 ? most : 1);
    }
}

/* Between a vertex of a column and the one below it. */
static double gap_mm(const LayoutGraph *graph, uint32_t column, size_t place) {
    if (place + 1 >= graph->column_size[column]) {
        return 0.0;
    }
    return fmax(graph->vertices[graph->column[column][place]].gap_mm,
                graph->vertices[graph->column[column][place + 1]].gap_mm);
}

/* Room a column takes, gaps included. */
static double column_height_mm(const LayoutGraph *graph, uint32_t column) {
    double sum_mm = 0.0;
    for (size_t i = 0; i < graph->column_size[column]; i++) {
        const Vertex *vertex = &graph->vertices[graph->column[column][i]];
        sum_mm += vertex->height_mm + gap_mm(graph, column, i);
    }
    return sum_mm;
}

/* Vertices that must move together, as one: the first and last of them, and where all their lines
 * would have it. */
typedef struct Pool {
    size_t first;
    size_t target_first;
    size_t target_count;
    double at_mm;
} Pool;

static int by_value(const void *left, const void *right) {
    double a = *(const double *)left;
    double b = *(const double *)right;
    return a < b ? -1 : a > b;
}

static void settle(Pool *pool, double *targets) {
    qsort(targets + pool->target_first, pool->target_count, sizeof *targets, by_value);
    pool->at_mm = targets[pool->target_first + (pool->target_count - 1) / 2];
}

/* Slides the vertices of a column towards the medians of where their lines on the given sides come
 * from, in their order and without overlap (pool adjacent violators). */
static void slide_column(LayoutGraph *graph, uint32_t column, bool use_left, bool use_right,
                         double *targets, Pool *pools) {
    const LayoutProblem *problem = graph->problem;
    size_t count = graph->column_size[column];
    size_t pool_count = 0;
    size_t target_count = 0;
    double offset_mm = 0.0;
    for (size_t i = 0; i < count; i++) {
        Vertex *vertex = &graph->vertices[graph->column[column][i]];
        Pool pool = {i, target_count, 0, 0.0};
        for (uint32_t side = 0; side < SIDE_COUNT; side++) {
            for (size_t k = 0;
                 (side == SIDE_LEFT ? use_left : use_right) && k < vertex->side_count[side]; k++) {
                const Attach *attach = &graph->attaches[vertex->side[side][k]];
                if (attach->segment == LAYOUT_NONE || graph->segments[attach->segment].turn) {
                    continue;
                }
                const Attach *other = graph_opposite(graph, attach);
                double there_mm = graph->vertices[other->vertex].top_mm + other->offset_mm;
                for (uint32_t row = 0; row < attach->rows; row++) {
                    targets[target_count++] = there_mm - attach->offset_mm - offset_mm;
                    pool.target_count++;
                }
            }
        }
        if (pool.target_count == 0) {
            targets[target_count++] = vertex->top_mm - offset_mm;
            pool.target_count = 1;
        }
        settle(&pool, targets);
        while (pool_count > 0 && pools[pool_count - 1].at_mm > pool.at_mm) {
            Pool *above = &pools[--pool_count];
            above->target_count += pool.target_count;
            pool = *above;
            settle(&pool, targets);
        }
        pools[pool_count++] = pool;
        offset_mm += vertex->height_mm + gap_mm(graph, column, i);
    }
    double low_mm = problem->field.top_mm;
    double high_mm = fmax(low_mm, problem->field.bottom_mm - column_height_mm(graph, column));
    high_mm = GRID_MM * floor((high_mm - low_mm) / GRID_MM + 1e-6) + low_mm;
    offset_mm = 0.0;
    size_t pool = 0;
    for (size_t i = 0; i < count; i++) {
        while (pool + 1 < pool_count && pools[pool + 1].first <= i) {
            pool++;
        }
        Vertex *vertex = &graph->vertices[graph->column[column][i]];
        vertex->top_mm = fmin(fmax(pools[pool].at_mm, low_mm), high_mm) + offset_mm;
        offset_mm += vertex->height_mm + gap_mm(graph, column, i);
    }
}

static void set_heights(LayoutGraph *graph) {
    LayoutProblem *problem = graph->problem;
    measure_vertices(graph);
    double tallest_mm = 0.0;
    for (uint32_t column = 0; column < graph->column_count; column++) {
        tallest_mm = fmax(tallest_mm, column_height_mm(graph, column));
    }
    problem->height_mm = tallest_mm;
    double field_mm = problem->field.bottom_mm - problem->field.top_mm;
    double spare_mm = fmax(0.0, field_mm - tallest_mm);
    for (uint32_t column = 0; column < graph->column_count; column++) {
        /* A start in the middle of the tallest column, which stands in the middle of the field. */
        double inner_mm = (tallest_mm - column_height_mm(graph, column)) / 2.0;
        double top_mm =
            problem->field.top_mm + GRID_MM * floor((spare_mm / 2.0 + inner_mm) / GRID_MM);
        for (size_t i = 0; i < graph->column_size[column]; i++) {
            Vertex *vertex = &graph->vertices[graph->column[column][i]];
            vertex->top_mm = top_mm;
            top_mm += vertex->height_mm + gap_mm(graph, column, i);
        }
    }
    size_t most = 0;
    for (size_t i = 0; i < graph->attach_count; i++) {
        most += graph->attaches[i].rows;
    }
    double *targets = ARENA_ARRAY(graph->arena, double, most + graph->vertex_count);
    Pool *pools = ARENA_ARRAY(graph->arena, Pool, graph->vertex_count);
    for (uint32_t round = 0; round < 4; round++) {
        for (uint32_t column = 1; column < graph->column_count; column++) {
            slide_column(graph, column, true, round == 3, targets, pools);
        }
        for (uint32_t column = graph->column_count; column-- > 0;) {
            slide_column(graph, column, round == 3, true, targets, pools);
        }
    }
}

/* --- moving groups ------------------------------------------------------------------------------
 */

/* How far the right end of a segment is below its left end. */
static double fall_mm(const LayoutGraph *graph, const Segment *segment) {
    const Attach *left = &graph->attaches[segment->attach[0]];
    const Attach *right = &graph->attaches[segment->attach[1]];
    return graph->vertices[right->vertex].top_mm + right->offset_mm -
           graph->vertices[left->vertex].top_mm - left->offset_mm;
}

/* Marks `start` and all that hangs on it by straight segments; appends them to queue[count], which
 * has room for all vertices. Returns the new number. */
static size_t gather(const LayoutGraph *graph, uint32_t start, bool *in, uint32_t *queue,
                     size_t count) {
    size_t next = count;
    queue[count++] = start;
    in[start] = true;
    for (; next < count; next++) {
        const Vertex *vertex = &graph->vertices[queue[next]];
        for (uint32_t side = 0; side < SIDE_COUNT; side++) {
            for (size_t k = 0; k < vertex->side_count[side]; k++) {
                const Attach *attach = &graph->attaches[vertex->side[side][k]];
                if (attach->segment == LAYOUT_NONE || graph->segments[attach->segment].turn ||
                    fabs(fall_mm(graph, &graph->segments[attach->segment])) > 0.1) {
                    continue;
                }
                uint32_t other = graph_opposite(graph, attach)->vertex;
                if (!in[other]) {
                    in[other] = true;
                    queue[count++] = other;
                }
            }
        }
    }
    return count;
}

/* A vertex that is in the way when those marked move by `by_mm`; LAYOUT_NONE: none. */
static uint32_t find_blocker(const LayoutGraph *graph, const bool *in, double by_mm) {
    for (uint32_t column = 0; column < graph->column_count; column++) {
        for (size_t i = 0; i + 1 < graph->column_size[column]; i++) {
            uint32_t id = graph->column[column][i];
            uint32_t below = graph->column[column][i + 1];
            if (in[id] == in[below]) {
                continue;
            }
            const Vertex *vertex = &graph->vertices[id];
            double foot_mm = vertex->top_mm + vertex->height_mm + (in[id] ? by_mm : 0.0);
            double next_mm = graph->vertices[below].top_mm + (in[below] ? by_mm : 0.0);
            if (foot_mm + gap_mm(graph, column, i) > next_mm + 0.01) {
                return in[id] ? below : id;
            }
        }
    }
    return LAYOUT_NONE;
}

/* Marks all that must move with those marked so that nothing is in the way; false when that would
 * leave the field. */
static bool push(const LayoutGraph *graph, bool *in, uint32_t *queue, size_t *count, double by_mm) {
    const LayoutProblem *problem = graph->problem;
    for (;;) {
        for (size_t i = 0; i < *count; i++) {
            const Vertex *vertex = &graph->vertices[queue[i]];
            double top_mm = vertex->top_mm + by_mm;
            if (top_mm < problem->field.top_mm - 0.01 ||
                top_mm + vertex->height_mm > problem->field.bottom_mm + 0.01) {
                return false;
            }
        }
        uint32_t blocker = find_blocker(graph, in, by_mm);
        if (blocker == LAYOUT_NONE) {
            return true;
        }
        *count = gather(graph, blocker, in, queue, *count);
    }
}

/* What moving those marked by `by_mm` does to the number of straight lines: those between one
 * marked and one not, now and then. */
static int64_t straight_gain(const LayoutGraph *graph, const bool *in, double by_mm) {
    int64_t gain = 0;
    for (size_t i = 0; i < graph->segment_count; i++) {
        const Segment *segment = &graph->segments[i];
        bool left = in[graph->attaches[segment->attach[0]].vertex];
        bool right = in[graph->attaches[segment->attach[1]].vertex];
        if (segment->turn || left == right) {
            continue;
        }
        double fall = fall_mm(graph, segment);
        double then = fall + (right ? by_mm : -by_mm);
        gain += fabs(then) < 0.1 ? (int64_t)segment->rows : 0;
        gain -= fabs(fall) < 0.1 ? (int64_t)segment->rows : 0;
    }
    return gain;
}

/* Vertices that hang together by straight lines are moved as one where that makes more lines
 * straight: what sliding single columns can't find. */
static void straighten(LayoutGraph *graph) {
    bool *in = ARENA_ARRAY(graph->arena, bool, graph->vertex_count);
    uint32_t *queue = ARENA_ARRAY(graph->arena, uint32_t, graph->vertex_count);
    bool better = true;
    for (uint32_t round = 0; round < 8 && better; round++) {
        better = false;
        for (size_t i = 0; i < graph->segment_count; i++) {
            const Segment *segment = &graph->segments[i];
            double fall = fall_mm(graph, segment);
            if (segment->turn || fabs(fall) < 0.1) {
                continue;
            }
            for (uint32_t side = 0; side < SIDE_COUNT; side++) {
                double by_mm = side == SIDE_LEFT ? fall : -fall;
                uint32_t start = graph->attaches[segment->attach[side]].vertex;
                uint32_t other = graph->attaches[segment->attach[1 - side]].vertex;
                memset(in, 0, graph->vertex_count * sizeof *in);
                size_t count = gather(graph, start, in, queue, 0);
                if (in[other] || !push(graph, in, queue, &count, by_mm) ||
                    straight_gain(graph, in, by_mm) <= 0) {
                    continue;
                }
                for (size_t k = 0; k < count; k++) {
                    graph->vertices[queue[k]].top_mm += by_mm;
                }
                better = true;
                break;
            }
        }
    }
}

/* All of it into the middle of the field. */
static void centre_heights(LayoutGraph *graph) {
    const LayoutProblem *problem = graph->problem;
    double top_mm = INFINITY;
    double bottom_mm = -INFINITY;
    for (size_t i = 0; i < graph->vertex_count; i++) {
        top_mm = fmin(top_mm, graph->vertices[i].top_mm);
        bottom_mm = fmax(bottom_mm, graph->vertices[i].top_mm + graph->vertices[i].height_mm);
    }
    double spare_mm = (problem->field.bottom_mm - bottom_mm) - (top_mm - problem->field.top_mm);
    double shift_mm = GRID_MM * floor(spare_mm / 2.0 / GRID_MM);
    shift_mm =
        top_mm + shift_mm < problem->field.top_mm ? problem->field.top_mm - top_mm : shift_mm;
    for (size_t i = 0; i < graph->vertex_count; i++) {
        graph->vertices[i].top_mm += shift_mm;
    }
}

/* --- tracks and widths --------------------------------------------------------------------------
 */

typedef struct ChannelPlan {
    ChannelLine *lines;
    size_t line_count;
    uint32_t *first; /* by place in graph->channel: its first line */
    uint32_t tracks;
    double left_mark_mm; /* room for marks at its left end, then texts, tracks, texts, marks */
    double left_label_mm;
    double right_label_mm; /* of stubs */
    double right_mark_mm;
    double x_mm; /* its left end */
    double width_mm;
} ChannelPlan;

static double row_y_mm(const LayoutGraph *graph, const Attach *attach, uint32_t row) {
    const Vertex *vertex = &graph->vertices[attach->vertex];
    return vertex->top_mm + attach->offset_mm + vertex->row_mm * (double)row;
}

/* Rows of the lower end of a turn run upwards, so that its lines lie in each other. */
static bool runs_up(const LayoutGraph *graph, const Attach *attach) {
    if (attach->segment == LAYOUT_NONE || !graph->segments[attach->segment].turn) {
        return false;
    }
    return attach->rank > graph_opposite(graph, attach)->rank;
}

static double line_y_mm(const LayoutGraph *graph, const Attach *attach, uint32_t row) {
    return row_y_mm(graph, attach, runs_up(graph, attach) ? attach->rows - 1 - row : row);
}

static void plan_channel(LayoutGraph *graph, uint32_t channel, ChannelPlan *plan) {
    size_t lines = 0;
    for (size_t i = 0; i < graph->channel_size[channel]; i++) {
        lines += graph->segments[graph->channel[channel][i]].rows;
    }
    plan->lines = ARENA_ARRAY(graph->arena, ChannelLine, lines);
    plan->first = ARENA_ARRAY(graph->arena, uint32_t, graph->channel_size[channel]);
    for (size_t i = 0; i < graph->channel_size[channel]; i++) {
        uint32_t id = graph->channel[channel][i];
        const Segment *segment = &graph->segments[id];
        plan->first[i] = (uint32_t)plan->line_count;
        for (uint32_t row = 0; row < segment->rows; row++) {
            plan->lines[plan->line_count++] = (ChannelLine){
                .segment = id,
                .row = row,
                .left_mm = line_y_mm(graph, &graph->attaches[segment->attach[0]], row),
                .right_mm = line_y_mm(graph, &graph->attaches[segment->attach[1]], row),
                .turn = segment->turn,
            };
        }
    }
    plan->tracks =
        wiring_channel(graph->arena, plan->lines, plan->line_count, graph->problem->plain);
}

static void measure_channels(LayoutGraph *graph, ChannelPlan *plans) {
    for (size_t i = 0; i < graph->attach_count; i++) {
        const Attach *attach = &graph->attaches[i];
        uint32_t column = graph->vertices[attach->vertex].column;
        ChannelPlan *plan = &plans[attach->side == SIDE_RIGHT ? column + 1 : column];
        double *mark_mm = attach->side == SIDE_RIGHT ? &plan->left_mark_mm : &plan->right_mark_mm;
        double *label_mm =
            attach->side == SIDE_RIGHT ? &plan->left_label_mm : &plan->right_label_mm;
        *mark_mm = fmax(*mark_mm, attach->mark_mm);
        *label_mm = fmax(*label_mm, attach->label_mm);
    }
}

static void set_widths(LayoutGraph *graph, ChannelPlan *plans, double *column_x_mm,
                       double *column_width_mm) {
    LayoutProblem *problem = graph->problem;
    for (size_t i = 0; i < graph->vertex_count; i++) {
        const Vertex *vertex = &graph->vertices[i];
        double width_mm = vertex->kind == VERTEX_NODE   ? problem->nodes[vertex->of].width_mm
                          : vertex->kind == VERTEX_GATE ? problem->gate_width_mm
                                                        : 0.0;
        column_width_mm[vertex->column] = fmax(column_width_mm[vertex->column], grid_up(width_mm));
    }
    measure_channels(graph, plans);
    double x_mm = 0.0;
    for (uint32_t channel = 0; channel <= graph->column_count; channel++) {
        ChannelPlan *plan = &plans[channel];
        plan_channel(graph, channel, plan);
        plan->x_mm = x_mm;
        double label_mm = plan->left_label_mm + (plan->left_label_mm > 0.0 ? LABEL_GAP_MM : 0.0) +
                          plan->right_label_mm + (plan->right_label_mm > 0.0 ? LABEL_GAP_MM : 0.0);
        double tracks_mm =
            channel == 0 && plan->tracks == 0 ? 0.0 : LAYOUT_TRACK_MM * (double)(plan->tracks + 1);
        if (channel == graph->column_count && plan->tracks == 0) {
            tracks_mm = 0.0;
        }
        plan->width_mm = grid_up(plan->left_mark_mm) + grid_up(label_mm) + tracks_mm +
                         grid_up(plan->right_mark_mm);
        if (channel > 0 && channel < graph->column_count) {
            plan->width_mm = fmax(plan->width_mm, CHANNEL_LEAST_MM);
        }
        x_mm += plan->width_mm;
        if (channel < graph->column_count) {
            column_x_mm[channel] = x_mm;
            x_mm += column_width_mm[channel];
        }
    }
    problem->width_mm = x_mm;
    double field_mm = problem->field.right_mm - problem->field.left_mm;
    double shift_mm =
        problem->field.left_mm + GRID_MM * floor(fmax(0.0, field_mm - x_mm) / 2.0 / GRID_MM);
    for (uint32_t channel = 0; channel <= graph->column_count; channel++) {
        plans[channel].x_mm += shift_mm;
        if (channel < graph->column_count) {
            column_x_mm[channel] += shift_mm;
        }
    }
}

/* --- geometry -----------------------------------------------------------------------------------
 */

static void place_boxes(LayoutGraph *graph, Arena *out, const double *column_x_mm,
                        const double *column_width_mm) {
    LayoutProblem *problem = graph->problem;
    size_t stands = 0;
    problem->stands = ARENA_ARRAY(out, LayoutGate, graph->vertex_count);
    for (size_t i = 0; i < graph->vertex_count; i++) {
        const Vertex *vertex = &graph->vertices[i];
        double left_mm = column_x_mm[vertex->column];
        double room_mm = column_width_mm[vertex->column];
        double width_mm = room_mm;
        if (vertex->kind == VERTEX_NODE && !problem->nodes[vertex->of].fill) {
            width_mm = grid_up(problem->nodes[vertex->of].width_mm);
        } else if (vertex->kind == VERTEX_GATE) {
            width_mm = grid_up(problem->gate_width_mm);
        }
        if (vertex->kind == VERTEX_NODE && vertex->side_count[SIDE_LEFT] == 0) {
            left_mm += room_mm - width_mm;
        } else if (vertex->kind == VERTEX_GATE || vertex->side_count[SIDE_RIGHT] > 0) {
            left_mm += GRID_MM * floor((room_mm - width_mm) / 2.0 / GRID_MM);
        }
        DrawBox box = {left_mm, vertex->top_mm, left_mm + width_mm,
                       vertex->top_mm + vertex->height_mm};
        if (vertex->kind == VERTEX_NODE) {
            problem->nodes[vertex->of].box = box;
        } else if (vertex->kind == VERTEX_GATE) {
            problem->stands[stands++] = (LayoutGate){vertex->of, box};
        }
    }
    problem->stand_count = stands;
}

/* The edge of a vertex that lines of its side come to: of gates the middle of their box's side. */
static double edge_mm(const LayoutGraph *graph, const Attach *attach, const double *column_x_mm,
                      const double *column_width_mm) {
    const LayoutProblem *problem = graph->problem;
    const Vertex *vertex = &graph->vertices[attach->vertex];
    if (vertex->kind == VERTEX_NODE) {
        const DrawBox *box = &problem->nodes[vertex->of].box;
        return attach->side == SIDE_RIGHT ? box->right_mm : box->left_mm;
    }
    double width_mm = grid_up(problem->gate_width_mm);
    double left_mm = column_x_mm[vertex->column] +
                     GRID_MM * floor((column_width_mm[vertex->column] - width_mm) / 2.0 / GRID_MM);
    return attach->side == SIDE_RIGHT ? left_mm + width_mm : left_mm;
}

static void add_point(LayoutProblem *problem, Arena *out, size_t first, double x_mm, double y_mm) {
    /* A point on the straight line of the two before it takes the place of the last. */
    if (problem->point_count >= first + 2) {
        DrawPoint *last = &problem->points[problem->point_count - 1];
        const DrawPoint *before = last - 1;
        bool level = fabs(before->y_mm - last->y_mm) < 1e-6 && fabs(last->y_mm - y_mm) < 1e-6;
        bool upright = fabs(before->x_mm - last->x_mm) < 1e-6 && fabs(last->x_mm - x_mm) < 1e-6;
        if (level || upright) {
            *last = (DrawPoint){x_mm, y_mm};
            return;
        }
    }
    *ARENA_PUSH(out, problem->points, problem->point_count, problem->point_capacity) =
        (DrawPoint){x_mm, y_mm};
}

typedef struct Geometry {
    LayoutGraph *graph;
    Arena *out;
    ChannelPlan *plans;
    uint32_t *segment_line; /* by segment: its first line in its channel */
    uint32_t *segment_channel;
    const double *column_x_mm;
    const double *column_width_mm;
} Geometry;

static void add_crossing(const Geometry *geometry, uint32_t id, uint32_t row, size_t first) {
    LayoutGraph *graph = geometry->graph;
    LayoutProblem *problem = graph->problem;
    const ChannelPlan *plan = &geometry->plans[geometry->segment_channel[id]];
    const ChannelLine *line = &plan->lines[geometry->segment_line[id] + row];
    double x0_mm = plan->x_mm + grid_up(plan->left_mark_mm) +
                   grid_up(plan->left_label_mm + (plan->left_label_mm > 0.0 ? LABEL_GAP_MM : 0.0) +
                           LAYOUT_TRACK_MM);
    if (line->track != LAYOUT_NONE) {
        double x_mm = x0_mm + LAYOUT_TRACK_MM * (double)line->track;
        double y_mm = line->track_end != LAYOUT_NONE ? line->step_mm : line->right_mm;
        add_point(problem, geometry->out, first, x_mm, line->left_mm);
        add_point(problem, geometry->out, first, x_mm, y_mm);
    }
    if (line->track_end != LAYOUT_NONE) {
        double x_mm = x0_mm + LAYOUT_TRACK_MM * (double)line->track_end;
        add_point(problem, geometry->out, first, x_mm, line->step_mm);
        add_point(problem, geometry->out, first, x_mm, line->right_mm);
    }
}

static void reverse(DrawPoint *points, size_t count) {
    for (size_t i = 0; i < count / 2; i++) {
        DrawPoint keep = points[i];
        points[i] = points[count - 1 - i];
        points[count - 1 - i] = keep;
    }
}

/* The lines of one piece: its segments from left to right are `segments`. */
static void add_piece(const Geometry *geometry, uint32_t link, const uint32_t *segments,
                      size_t count, bool backward, LayoutPiece *piece) {
    LayoutGraph *graph = geometry->graph;
    LayoutProblem *problem = graph->problem;
    const Attach *left = &graph->attaches[graph->segments[segments[0]].attach[0]];
    const Attach *right = &graph->attaches[graph->segments[segments[count - 1]].attach[1]];
    const ChannelPlan *plan = &geometry->plans[geometry->segment_channel[segments[0]]];
    piece->line_first = (uint32_t)problem->line_count;
    piece->label_mm = plan->x_mm + grid_up(plan->left_mark_mm);
    piece->label_at_end = backward;
    uint32_t rows = problem->links[link].rows - problem->links[link].quiet_rows;
    for (uint32_t row = 0; row < rows; row++) {
        size_t first = problem->point_count;
        add_point(problem, geometry->out, first,
                  edge_mm(graph, left, geometry->column_x_mm, geometry->column_width_mm),
                  line_y_mm(graph, left, row));
        for (size_t i = 0; i < count; i++) {
            add_crossing(geometry, segments[i], row, first);
        }
        add_point(problem, geometry->out, first,
                  edge_mm(graph, right, geometry->column_x_mm, geometry->column_width_mm),
                  line_y_mm(graph, right, row));
        if (backward) {
            reverse(&problem->points[first], problem->point_count - first);
        }
        problem->lines[problem->line_count++] =
            (LayoutLine){(uint32_t)first, (uint32_t)(problem->point_count - first)};
    }
}

static void set_end(const LayoutGraph *graph, const Attach *attach, LayoutEnd *end) {
    end->right = attach->side == SIDE_RIGHT;
    end->reversed = runs_up(graph, attach);
    end->y_mm = line_y_mm(graph, attach, 0);
}

static void add_stub_piece(const Geometry *geometry, const Attach *attach) {
    LayoutGraph *graph = geometry->graph;
    LayoutProblem *problem = graph->problem;
    LayoutLink *link = &problem->links[attach->link];
    uint32_t column = graph->vertices[attach->vertex].column;
    bool right = attach->side == SIDE_RIGHT;
    const ChannelPlan *plan = &geometry->plans[right ? column + 1 : column];
    set_end(graph, attach, &link->end[0]);
    LayoutPiece *piece = &problem->pieces[link->piece_first];
    piece->line_first = (uint32_t)problem->line_count;
    piece->label_mm =
        right ? plan->x_mm + grid_up(plan->left_mark_mm)
              : plan->x_mm + plan->width_mm - grid_up(plan->right_mark_mm) - attach->label_mm;
    size_t first = problem->point_count;
    add_point(problem, geometry->out, first,
              edge_mm(graph, attach, geometry->column_x_mm, geometry->column_width_mm),
              link->end[0].y_mm);
    problem->lines[problem->line_count++] = (LayoutLine){(uint32_t)first, 1};
}

/* Segments stand in the order they were made: those of a link together, from left to right. */
static void add_geometry(const Geometry *geometry) {
    LayoutGraph *graph = geometry->graph;
    LayoutProblem *problem = graph->problem;
    size_t pieces = 0;
    size_t lines = 0;
    for (size_t i = 0; i < problem->link_count; i++) {
        LayoutLink *link = &problem->links[i];
        link->piece_first = (uint32_t)pieces;
        pieces += link->gate_count + 1;
        lines += (size_t)(link->gate_count + 1) * (link->rows - link->quiet_rows);
    }
    problem->pieces = ARENA_ARRAY(geometry->out, LayoutPiece, pieces);
    problem->piece_count = pieces;
    problem->lines = ARENA_ARRAY(geometry->out, LayoutLine, lines);
    problem->line_count = 0;
    uint32_t *run = ARENA_ARRAY(graph->arena, uint32_t, graph->segment_count);
    for (size_t i = 0; i < graph->segment_count;) {
        const Segment *segment = &graph->segments[i];
        size_t next = i;
        size_t count = 0;
        while (next < graph->segment_count && graph->segments[next].link == segment->link &&
               graph->segments[next].piece == segment->piece) {
            run[count++] = (uint32_t)next++;
        }
        LayoutLink *link = &problem->links[segment->link];
        /* Made from left to right: backward when end 0 is at the right. */
        bool backward =
            problem->nodes[link->end[0].node].column > problem->nodes[link->end[1].node].column;
        add_piece(geometry, segment->link, run, count, backward,
                  &problem->pieces[link->piece_first + segment->piece]);
        i = next;
    }
    for (size_t i = 0; i < graph->attach_count; i++) {
        const Attach *attach = &graph->attaches[i];
        const Vertex *vertex = &graph->vertices[attach->vertex];
        LayoutLink *link = &problem->links[attach->link];
        if (attach->segment == LAYOUT_NONE) {
            add_stub_piece(geometry, attach);
        } else if (vertex->kind == VERTEX_NODE) {
            const Segment *segment = &graph->segments[attach->segment];
            uint32_t end = link->end[0].node == vertex->of ? 0 : 1;
            if (link->end[0].node == link->end[1].node) {
                end = segment->attach[0] == i ? 0 : 1;
            }
            set_end(graph, attach, &link->end[end]);
        }
    }
}

/* --- one try ------------------------------------------------------------------------------------
 */

/* Everything with at most `most` columns. */
static bool try_columns(Arena *out, LayoutProblem *problem, uint32_t most, bool quick) {
    Arena scratch = {0};
    bool asked_quick = problem->quick;
    problem->quick = quick;
    LayoutGraph graph = {.arena = &scratch, .problem = problem};
    size_t given = problem->node_count;
    graph.column_count = wiring_columns(out, problem, most);
    build_graph(&graph);
    problem->crossings = wiring_order(&graph);
    set_heights(&graph);
    if (graph.vertex_count > 0) {
        if (!quick && !problem->plain) {
            straighten(&graph);
        }
        centre_heights(&graph);
    }
    ChannelPlan plans[LAYOUT_COLUMNS_MAX + 1] = {{0}};
    double column_x_mm[LAYOUT_COLUMNS_MAX] = {0};
    double column_width_mm[LAYOUT_COLUMNS_MAX] = {0};
    set_widths(&graph, plans, column_x_mm, column_width_mm);
    problem->columns = graph.column_count;
    problem->copies = problem->node_count - given;
    bool fits = problem->width_mm <= problem->field.right_mm - problem->field.left_mm + 1e-6 &&
                problem->height_mm <= problem->field.bottom_mm - problem->field.top_mm + 1e-6;
    problem->point_count = 0;
    problem->quick = asked_quick;
    if (!quick) {
        place_boxes(&graph, out, column_x_mm, column_width_mm);
        Geometry geometry = {
            .graph = &graph,
            .out = out,
            .plans = plans,
            .segment_line = ARENA_ARRAY(&scratch, uint32_t, graph.segment_count),
            .segment_channel = ARENA_ARRAY(&scratch, uint32_t, graph.segment_count),
            .column_x_mm = column_x_mm,
            .column_width_mm = column_width_mm,
        };
        for (uint32_t channel = 0; channel <= graph.column_count; channel++) {
            for (size_t i = 0; i < graph.channel_size[channel]; i++) {
                uint32_t id = graph.channel[channel][i];
                geometry.segment_line[id] = plans[channel].first[i];
                geometry.segment_channel[id] = channel;
            }
        }
        add_geometry(&geometry);
    }
    arena_free(&scratch);
    return fits;
}

static bool lay_out(Arena *arena, LayoutProblem *problem) {
    size_t node_count = problem->node_count;
    LayoutNode *nodes = ARENA_ARRAY(arena, LayoutNode, node_count);
    LayoutLink *links = ARENA_ARRAY(arena, LayoutLink, problem->link_count);
    memcpy(nodes, problem->nodes, node_count * sizeof *nodes);
    memcpy(links, problem->links, problem->link_count * sizeof *links);
    uint32_t least = 2;
    for (size_t i = 0; i < problem->link_count; i++) {
        least = links[i].gate_count + 2 > least ? links[i].gate_count + 2 : least;
    }
    double field_mm = problem->field.right_mm - problem->field.left_mm;
    uint32_t most = (uint32_t)fmin(LAYOUT_COLUMNS_MAX, fmax(2.0, field_mm / COLUMN_LEAST_MM));
    most = most < least ? least : most;
    CHECK(least <= LAYOUT_COLUMNS_MAX);
    for (uint32_t count = most; count >= least;) {
        for (int full = 0; full < 2; full++) {
            memcpy(problem->nodes, nodes, node_count * sizeof *nodes);
            memcpy(problem->links, links, problem->link_count * sizeof *links);
            problem->node_count = node_count;
            bool fits = try_columns(arena, problem, count, full == 0);
            if (fits && (full == 1 || problem->quick)) {
                return true;
            }
            /* In earnest only what seems to fit, and the last try: it must give a geometry. */
            if (full == 0 && !fits && (problem->quick || count > least)) {
                break;
            }
        }
        /* Fewer than were asked for may have been used. */
        uint32_t used = problem->columns < count ? problem->columns : count;
        count = count > least && used <= least ? least : used - 1;
    }
    return false;
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool wiring_layout(Arena *arena, LayoutProblem *problem) {
    if (lay_out(arena, problem)) {
        return true;
    }
    size_t whole = 0;
    for (size_t i = 0; i < problem->link_count; i++) {
        whole += problem->links[i].end[1].node != LAYOUT_NONE ? 1 : 0;
    }
    if (whole != 1 || problem->quick || problem->copies > 0) {
        return false;
    }
    problem->narrow = true;
    return lay_out(arena, problem);
}
