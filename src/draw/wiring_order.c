/* Method. Two segments of one channel cross when their ends interleave round the channel's edge.
 * Swapping two neighbours in a column turns that round for every pair of their ends, so what a swap
 * gains is counted from the two vertices alone. From several first orders: barycentre sweeps (the
 * mean place of what a vertex is linked to), ports sorted by where their links go, then sifting
 * (every vertex is moved through its whole column and stays where crossings are fewest, and among
 * equals where lines are straightest) until nothing improves. The best order of all is kept. */
#include "draw/wiring_graph.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SWEEPS 8u
#define SWEEPS_QUICK 2u
#define SWEEPS_PLAIN 4u
#define STARTS 6u
#define ROUNDS_MAX 12u

/* --- ranks --------------------------------------------------------------------------------------
 */

static void rank_column(LayoutGraph *graph, uint32_t column) {
    for (uint32_t side = 0; side < SIDE_COUNT; side++) {
        uint32_t rank = 0;
        for (size_t i = 0; i < graph->column_size[column]; i++) {
            const Vertex *vertex = &graph->vertices[graph->column[column][i]];
            for (size_t k = 0; k < vertex->side_count[side]; k++) {
                graph->attaches[vertex->side[side][k]].rank = rank++;
            }
        }
    }
}

static void rank_all(LayoutGraph *graph) {
    for (uint32_t column = 0; column < graph->column_count; column++) {
        rank_column(graph, column);
    }
}

/* --- crossings ----------------------------------------------------------------------------------
 */

static bool between(uint32_t rank, uint32_t one, uint32_t other) {
    return (rank > one) != (rank > other);
}

/* Two segments of one channel. Turns have both ends at the left. */
static bool crosses(const LayoutGraph *graph, const Segment *a, const Segment *b) {
    uint32_t a0 = graph->attaches[a->attach[0]].rank;
    uint32_t a1 = graph->attaches[a->attach[1]].rank;
    uint32_t b0 = graph->attaches[b->attach[0]].rank;
    uint32_t b1 = graph->attaches[b->attach[1]].rank;
    if (a->turn && b->turn) {
        return between(b0, a0, a1) != between(b1, a0, a1);
    }
    if (a->turn) {
        return between(b0, a0, a1);
    }
    if (b->turn) {
        return between(a0, b0, b1);
    }
    return (a0 < b0) != (a1 < b1);
}

size_t wiring_order_crossings(const LayoutGraph *graph) {
    size_t total = 0;
    for (uint32_t channel = 0; channel <= graph->column_count; channel++) {
        for (size_t i = 0; i < graph->channel_size[channel]; i++) {
            const Segment *a = &graph->segments[graph->channel[channel][i]];
            for (size_t k = i + 1; k < graph->channel_size[channel]; k++) {
                const Segment *b = &graph->segments[graph->channel[channel][k]];
                total += crosses(graph, a, b) ? (size_t)a->rows * b->rows : 0;
            }
        }
    }
    return total;
}

/* What swapping neighbours u (above) and v changes. */
static int64_t swap_gain(const LayoutGraph *graph, const Vertex *u, const Vertex *v) {
    int64_t change = 0;
    for (uint32_t side = 0; side < SIDE_COUNT; side++) {
        for (size_t i = 0; i < u->side_count[side]; i++) {
            const Attach *a = &graph->attaches[u->side[side][i]];
            if (a->segment == LAYOUT_NONE) {
                continue;
            }
            for (size_t k = 0; k < v->side_count[side]; k++) {
                const Attach *b = &graph->attaches[v->side[side][k]];
                if (b->segment == LAYOUT_NONE || b->segment == a->segment) {
                    continue;
                }
                int64_t weight = (int64_t)a->rows * b->rows;
                change += crosses(graph, &graph->segments[a->segment], &graph->segments[b->segment])
                              ? -weight
                              : weight;
            }
        }
    }
    return change;
}

static void swap_neighbours(LayoutGraph *graph, uint32_t column, size_t place) {
    uint32_t *order = graph->column[column];
    Vertex *u = &graph->vertices[order[place]];
    Vertex *v = &graph->vertices[order[place + 1]];
    for (uint32_t side = 0; side < SIDE_COUNT; side++) {
        for (size_t i = 0; i < u->side_count[side]; i++) {
            graph->attaches[u->side[side][i]].rank += (uint32_t)v->side_count[side];
        }
        for (size_t i = 0; i < v->side_count[side]; i++) {
            graph->attaches[v->side[side][i]].rank -= (uint32_t)u->side_count[side];
        }
    }
    uint32_t keep = order[place];
    order[place] = order[place + 1];
    order[place + 1] = keep;
}

/* --- ports --------------------------------------------------------------------------------------
 */

/* Where the other end of a segment stands, from 0 to 1 in its column's side. */
static double opposite_place(const LayoutGraph *graph, const Attach *attach) {
    const Attach *other = graph_opposite(graph, attach);
    return (double)other->rank;
}

/* Order of an attach among those of its vertex's side: turns upwards at the top, nearest first;
 * those to the next column as their ends stand there; turns downwards at the foot. */
static double attach_key(const LayoutGraph *graph, const Attach *attach) {
    if (attach->segment == LAYOUT_NONE) {
        return (double)NAN;
    }
    const Segment *segment = &graph->segments[attach->segment];
    double place = opposite_place(graph, attach);
    if (!segment->turn) {
        return place;
    }
    double far = 1e6;
    return place < (double)attach->rank ? -far - place : 2.0 * far - place;
}

typedef struct SortItem {
    double group; /* mean key of the port */
    uint32_t port;
    double key;
    uint32_t attach;
    uint32_t pair; /* the attach on the other side of a tied row */
} SortItem;

static int by_group(const void *left, const void *right) {
    const SortItem *a = left;
    const SortItem *b = right;
    if (a->group < b->group || a->group > b->group) {
        return a->group < b->group ? -1 : 1;
    }
    if (a->port != b->port) {
        return a->port < b->port ? -1 : 1;
    }
    if (a->key < b->key || a->key > b->key) {
        return a->key < b->key ? -1 : 1;
    }
    return a->attach < b->attach ? -1 : a->attach > b->attach;
}

static void sort_side(LayoutGraph *graph, Vertex *vertex, uint32_t side, SortItem *items) {
    size_t count = vertex->side_count[side];
    if (count < 2) {
        return;
    }
    for (size_t i = 0; i < count; i++) {
        const Attach *attach = &graph->attaches[vertex->side[side][i]];
        items[i] =
            (SortItem){0.0, attach->port, attach_key(graph, attach), vertex->side[side][i], 0};
    }
    for (size_t i = 0; i < count; i++) {
        double sum = 0.0;
        size_t known = 0;
        for (size_t k = 0; k < count; k++) {
            if (items[k].port == items[i].port && !isnan(items[k].key)) {
                sum += items[k].key;
                known++;
            }
        }
        items[i].group = known > 0 ? sum / (double)known : -2e6;
    }
    for (size_t i = 0; i < count; i++) {
        items[i].key = isnan(items[i].key) ? items[i].group : items[i].key;
    }
    qsort(items, count, sizeof *items, by_group);
    for (size_t i = 0; i < count; i++) {
        vertex->side[side][i] = items[i].attach;
    }
}

/* Rows of a gate: by the mean of both sides. */
static void sort_ties(LayoutGraph *graph, Vertex *vertex, SortItem *items) {
    size_t count = vertex->side_count[SIDE_LEFT];
    if (count < 2) {
        return;
    }
    for (size_t i = 0; i < count; i++) {
        uint32_t left = vertex->side[SIDE_LEFT][i];
        uint32_t right = vertex->side[SIDE_RIGHT][i];
        double key = opposite_place(graph, &graph->attaches[left]) +
                     opposite_place(graph, &graph->attaches[right]);
        items[i] = (SortItem){key, 0, key, left, right};
    }
    qsort(items, count, sizeof *items, by_group);
    for (size_t i = 0; i < count; i++) {
        vertex->side[SIDE_LEFT][i] = items[i].attach;
        vertex->side[SIDE_RIGHT][i] = items[i].pair;
    }
}

/* The end at a node that a segment leads to over gates and empty places. */
static const Attach *follow(const LayoutGraph *graph, const Attach *attach) {
    const Attach *end = graph_opposite(graph, attach);
    const Vertex *vertex = &graph->vertices[end->vertex];
    while (vertex->tied) {
        size_t row = 0;
        while (&graph->attaches[vertex->side[end->side][row]] != end) {
            row++;
        }
        end = graph_opposite(graph, &graph->attaches[vertex->side[1 - end->side][row]]);
        vertex = &graph->vertices[end->vertex];
    }
    return end;
}

/* Rows of a gate in the order of the nodes they lead to on one side. */
static void sort_ties_far(LayoutGraph *graph, Vertex *vertex, uint32_t side, SortItem *items) {
    size_t count = vertex->side_count[SIDE_LEFT];
    for (size_t i = 0; i < count; i++) {
        uint32_t left = vertex->side[SIDE_LEFT][i];
        uint32_t right = vertex->side[SIDE_RIGHT][i];
        const Attach *far = follow(graph, &graph->attaches[side == SIDE_LEFT ? left : right]);
        items[i] = (SortItem){(double)far->rank, 0, (double)i, left, right};
    }
    qsort(items, count, sizeof *items, by_group);
    for (size_t i = 0; i < count; i++) {
        vertex->side[SIDE_LEFT][i] = items[i].attach;
        vertex->side[SIDE_RIGHT][i] = items[i].pair;
    }
}

static void sort_ports(LayoutGraph *graph, uint32_t column, SortItem *items) {
    for (size_t i = 0; i < graph->column_size[column]; i++) {
        Vertex *vertex = &graph->vertices[graph->column[column][i]];
        if (vertex->tied) {
            sort_ties(graph, vertex, items);
        } else {
            sort_side(graph, vertex, SIDE_LEFT, items);
            sort_side(graph, vertex, SIDE_RIGHT, items);
        }
    }
    rank_column(graph, column);
}

/* Neighbouring rows of gates are swapped while that saves crossings. */
static bool swap_ties(LayoutGraph *graph, Vertex *vertex) {
    bool better = false;
    for (size_t i = 0; i + 1 < vertex->side_count[SIDE_LEFT]; i++) {
        int64_t change = 0;
        for (uint32_t side = 0; side < SIDE_COUNT; side++) {
            const Attach *a = &graph->attaches[vertex->side[side][i]];
            const Attach *b = &graph->attaches[vertex->side[side][i + 1]];
            int64_t weight = (int64_t)a->rows * b->rows;
            change += crosses(graph, &graph->segments[a->segment], &graph->segments[b->segment])
                          ? -weight
                          : weight;
        }
        if (change < 0) {
            better = true;
            for (uint32_t side = 0; side < SIDE_COUNT; side++) {
                uint32_t *pair = &vertex->side[side][i];
                graph->attaches[pair[0]].rank++;
                graph->attaches[pair[1]].rank--;
                uint32_t keep = pair[0];
                pair[0] = pair[1];
                pair[1] = keep;
            }
        }
    }
    return better;
}

/* --- barycentre ---------------------------------------------------------------------------------
 */

static int by_key(const void *left, const void *right) {
    const SortItem *a = left;
    const SortItem *b = right;
    if (a->key < b->key || a->key > b->key) {
        return a->key < b->key ? -1 : 1;
    }
    return a->port < b->port ? -1 : a->port > b->port;
}

static void centre_column(LayoutGraph *graph, uint32_t column, uint32_t side, SortItem *items) {
    size_t count = graph->column_size[column];
    for (size_t i = 0; i < count; i++) {
        uint32_t id = graph->column[column][i];
        Vertex *vertex = &graph->vertices[id];
        double sum = 0.0;
        double weight = 0.0;
        for (size_t k = 0; k < vertex->side_count[side]; k++) {
            const Attach *attach = &graph->attaches[vertex->side[side][k]];
            if (attach->segment != LAYOUT_NONE && !graph->segments[attach->segment].turn) {
                sum += (double)attach->rows * opposite_place(graph, attach);
                weight += (double)attach->rows;
            }
        }
        vertex->key = weight > 0.0 ? sum / weight : (double)NAN;
    }
    /* What has nothing on that side stays behind what stands above it. */
    double last = -1.0;
    for (size_t i = 0; i < count; i++) {
        Vertex *vertex = &graph->vertices[graph->column[column][i]];
        if (isnan(vertex->key)) {
            vertex->key = last;
        }
        last = vertex->key;
        items[i] = (SortItem){0.0, (uint32_t)i, vertex->key, graph->column[column][i], 0};
    }
    qsort(items, count, sizeof *items, by_key);
    for (size_t i = 0; i < count; i++) {
        graph->column[column][i] = items[i].attach;
    }
    rank_column(graph, column);
}

static void sweep(LayoutGraph *graph, SortItem *items) {
    uint32_t count = graph->column_count;
    for (uint32_t column = 1; column < count; column++) {
        centre_column(graph, column, SIDE_LEFT, items);
        sort_ports(graph, column, items);
    }
    for (uint32_t column = count; column-- > 0;) {
        if (column + 1 < count) {
            centre_column(graph, column, SIDE_RIGHT, items);
        }
        sort_ports(graph, column, items);
    }
}

/* --- sifting ------------------------------------------------------------------------------------
 */

/* How far the ends of a vertex's segments stand from each other, in ranks: less is straighter. */
static double slant(const LayoutGraph *graph, const Vertex *vertex) {
    double sum = 0.0;
    for (uint32_t side = 0; side < SIDE_COUNT; side++) {
        for (size_t i = 0; i < vertex->side_count[side]; i++) {
            const Attach *attach = &graph->attaches[vertex->side[side][i]];
            if (attach->segment != LAYOUT_NONE) {
                sum += fabs(opposite_place(graph, attach) - (double)attach->rank);
            }
        }
    }
    return sum;
}

static bool sift(LayoutGraph *graph, uint32_t column, uint32_t id) {
    size_t count = graph->column_size[column];
    uint32_t *order = graph->column[column];
    size_t start = 0;
    while (order[start] != id) {
        start++;
    }
    const Vertex *vertex = &graph->vertices[id];
    int64_t now = 0;
    size_t best = start;
    int64_t best_change = 0;
    double best_slant = slant(graph, vertex);
    size_t place = start;
    for (; place > 0; place--) {
        now += swap_gain(graph, &graph->vertices[order[place - 1]], vertex);
        swap_neighbours(graph, column, place - 1);
        double at = slant(graph, vertex);
        if (now < best_change || (now == best_change && at < best_slant - 0.5)) {
            best = place - 1;
            best_change = now;
            best_slant = at;
        }
    }
    for (; place + 1 < count; place++) {
        now += swap_gain(graph, vertex, &graph->vertices[order[place + 1]]);
        swap_neighbours(graph, column, place);
        double at = slant(graph, vertex);
        if (now < best_change || (now == best_change && at < best_slant - 0.5)) {
            best = place + 1;
            best_change = now;
            best_slant = at;
        }
    }
    for (; place > best; place--) {
        swap_neighbours(graph, column, place - 1);
    }
    return best_change < 0;
}

static bool improve(LayoutGraph *graph, SortItem *items) {
    bool better = false;
    for (uint32_t column = 0; column < graph->column_count; column++) {
        size_t count = graph->column_size[column];
        uint32_t *turn = ARENA_ARRAY(graph->arena, uint32_t, count);
        memcpy(turn, graph->column[column], count * sizeof *turn);
        for (size_t i = 0; i < count; i++) {
            better |= sift(graph, column, turn[i]);
        }
        sort_ports(graph, column, items);
        for (size_t i = 0; i < count; i++) {
            Vertex *vertex = &graph->vertices[graph->column[column][i]];
            if (vertex->tied) {
                better |= swap_ties(graph, vertex);
            }
        }
        if (column > 0) {
            sort_ports(graph, column - 1, items);
        }
    }
    return better;
}

/* All gates at once in the order of what they lead to on one side, ports after them: what no swap
 * at a single gate can find. */
static void comb(LayoutGraph *graph, uint32_t side, SortItem *items) {
    for (size_t i = 0; i < graph->vertex_count; i++) {
        if (graph->vertices[i].tied && graph->vertices[i].side_count[SIDE_LEFT] > 1) {
            sort_ties_far(graph, &graph->vertices[i], side, items);
        }
    }
    rank_all(graph);
    for (uint32_t column = 0; column < graph->column_count; column++) {
        for (size_t i = 0; i < graph->column_size[column]; i++) {
            Vertex *vertex = &graph->vertices[graph->column[column][i]];
            if (!vertex->tied) {
                sort_side(graph, vertex, SIDE_LEFT, items);
                sort_side(graph, vertex, SIDE_RIGHT, items);
            }
        }
        rank_column(graph, column);
    }
}

/* --- keeping ------------------------------------------------------------------------------------
 */

typedef struct Order {
    uint32_t *places; /* vertices by column, then attaches by vertex and side */
    size_t count;
} Order;

static void order_copy(LayoutGraph *graph, Order *order, bool back) {
    size_t at = 0;
    for (uint32_t column = 0; column < graph->column_count; column++) {
        for (size_t i = 0; i < graph->column_size[column]; i++, at++) {
            if (back) {
                graph->column[column][i] = order->places[at];
            } else {
                order->places[at] = graph->column[column][i];
            }
        }
    }
    for (size_t v = 0; v < graph->vertex_count; v++) {
        for (uint32_t side = 0; side < SIDE_COUNT; side++) {
            for (size_t i = 0; i < graph->vertices[v].side_count[side]; i++, at++) {
                uint32_t *slot = &graph->vertices[v].side[side][i];
                if (back) {
                    *slot = order->places[at];
                } else {
                    order->places[at] = *slot;
                }
            }
        }
    }
}

/* The n-th first order: as given, upside down, then shuffled by a fixed rule. */
static void first_order(LayoutGraph *graph, uint32_t start) {
    uint32_t state = 2463534242u + start * 7919u;
    for (uint32_t column = 0; column < graph->column_count; column++) {
        size_t count = graph->column_size[column];
        uint32_t *order = graph->column[column];
        for (size_t i = 0; start == 1 && i < count / 2; i++) {
            uint32_t keep = order[i];
            order[i] = order[count - 1 - i];
            order[count - 1 - i] = keep;
        }
        for (size_t i = count; start > 1 && i-- > 1;) {
            state ^= state << 13;
            state ^= state >> 17;
            state ^= state << 5;
            size_t with = state % (i + 1);
            uint32_t keep = order[i];
            order[i] = order[with];
            order[with] = keep;
        }
    }
    rank_all(graph);
}

/* --- exported -----------------------------------------------------------------------------------
 */

size_t wiring_order(LayoutGraph *graph) {
    const LayoutProblem *problem = graph->problem;
    SortItem *items =
        ARENA_ARRAY(graph->arena, SortItem, graph->attach_count + graph->vertex_count + 1);
    size_t places = graph->vertex_count + graph->attach_count;
    Order given = {ARENA_ARRAY(graph->arena, uint32_t, places), places};
    Order best = {ARENA_ARRAY(graph->arena, uint32_t, places), places};
    order_copy(graph, &given, false);
    size_t fewest = SIZE_MAX;
    uint32_t starts = problem->plain || problem->quick ? 1 : STARTS;
    uint32_t sweeps = problem->plain ? SWEEPS_PLAIN : problem->quick ? SWEEPS_QUICK : SWEEPS;
    for (uint32_t start = 0; start < starts && fewest > 0; start++) {
        order_copy(graph, &given, true);
        first_order(graph, start);
        for (uint32_t i = 0; i < sweeps; i++) {
            sweep(graph, items);
            size_t crossings = wiring_order_crossings(graph);
            if (crossings < fewest) {
                fewest = crossings;
                order_copy(graph, &best, false);
            }
        }
        if (problem->plain || problem->quick) {
            continue;
        }
        for (uint32_t turn = 0; turn < 1 + SIDE_COUNT; turn++) {
            if (turn > 0) {
                comb(graph, turn % SIDE_COUNT == 0 ? SIDE_LEFT : SIDE_RIGHT, items);
            }
            bool better = true;
            for (uint32_t round = 0; round < ROUNDS_MAX && better; round++) {
                size_t crossings = wiring_order_crossings(graph);
                if (crossings < fewest) {
                    fewest = crossings;
                    order_copy(graph, &best, false);
                }
                better = improve(graph, items);
            }
            size_t crossings = wiring_order_crossings(graph);
            if (crossings < fewest) {
                fewest = crossings;
                order_copy(graph, &best, false);
            }
        }
    }
    order_copy(graph, &best, true);
    rank_all(graph);
    return fewest;
}
