#include "route/graph.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"

/* --- order of elimination --------------------------------------------------------------------- */

/* Neighbours of a node that are still there; unordered, no doubles. */
typedef struct NodeList {
    uint32_t *nodes;
    size_t count;
    size_t capacity;
} NodeList;

/* Nodes by degree: doubly linked lists, so that a node changes its degree at constant cost. */
typedef struct DegreeQueue {
    uint32_t *head; /* by degree */
    uint32_t *next; /* by node */
    uint32_t *before;
    uint32_t *degree;
    uint32_t lowest;
} DegreeQueue;

static void queue_remove(DegreeQueue *queue, uint32_t node) {
    uint32_t before = queue->before[node];
    uint32_t next = queue->next[node];
    if (before == GRAPH_NONE) {
        queue->head[queue->degree[node]] = next;
    } else {
        queue->next[before] = next;
    }
    if (next != GRAPH_NONE) {
        queue->before[next] = before;
    }
}

static void queue_add(DegreeQueue *queue, uint32_t node, uint32_t degree) {
    queue->degree[node] = degree;
    queue->before[node] = GRAPH_NONE;
    queue->next[node] = queue->head[degree];
    if (queue->next[node] != GRAPH_NONE) {
        queue->before[queue->next[node]] = node;
    }
    queue->head[degree] = node;
    queue->lowest = degree < queue->lowest ? degree : queue->lowest;
}

static uint32_t queue_take(DegreeQueue *queue) {
    while (queue->head[queue->lowest] == GRAPH_NONE) {
        queue->lowest++;
    }
    uint32_t node = queue->head[queue->lowest];
    queue_remove(queue, node);
    return node;
}

static void list_add(Arena *arena, NodeList *list, uint32_t node) {
    *ARENA_PUSH(arena, list->nodes, list->count, list->capacity) = node;
}

static void list_remove(NodeList *list, uint32_t node) {
    for (size_t i = 0; i < list->count; i++) {
        if (list->nodes[i] == node) {
            list->nodes[i] = list->nodes[--list->count];
            return;
        }
    }
}

static bool segment_is_open(const RouteGraph *graph, uint32_t segment) {
    uint32_t a = graph->segment_a[segment];
    uint32_t b = graph->segment_b[segment];
    return a != b && a < graph->node_count && b < graph->node_count;
}

/* Neighbour lists of the graph as given, each neighbour once. */
static NodeList *list_neighbours(Arena *scratch, const RouteGraph *graph, uint32_t *mark) {
    NodeList *lists = ARENA_ARRAY(scratch, NodeList, graph->node_count);
    for (uint32_t i = 0; i < graph->segment_count; i++) {
        if (segment_is_open(graph, i)) {
            list_add(scratch, &lists[graph->segment_a[i]], graph->segment_b[i]);
            list_add(scratch, &lists[graph->segment_b[i]], graph->segment_a[i]);
        }
    }
    for (uint32_t i = 0; i < graph->node_count; i++) { /* parallel segments */
        NodeList *list = &lists[i];
        size_t kept = 0;
        for (size_t k = 0; k < list->count; k++) {
            if (mark[list->nodes[k]] != i + 1) {
                mark[list->nodes[k]] = i + 1;
                list->nodes[kept++] = list->nodes[k];
            }
        }
        list->count = kept;
    }
    memset(mark, 0, graph->node_count * sizeof *mark);
    return lists;
}

/* Takes `node` out: its neighbours become neighbours of one another. `round` marks, one for each
 * neighbour, are used up from *round on. */
static void eliminate(Arena *scratch, NodeList *lists, uint32_t node, DegreeQueue *queue,
                      uint32_t *mark, uint32_t *round) {
    const NodeList *gone = &lists[node];
    for (size_t i = 0; i < gone->count; i++) {
        uint32_t at = gone->nodes[i];
        NodeList *list = &lists[at];
        list_remove(list, node);
        uint32_t tag = ++*round;
        mark[at] = tag;
        for (size_t k = 0; k < list->count; k++) {
            mark[list->nodes[k]] = tag;
        }
        for (size_t k = 0; k < gone->count; k++) {
            if (mark[gone->nodes[k]] != tag) {
                list_add(scratch, list, gone->nodes[k]);
            }
        }
        queue_remove(queue, at);
        queue_add(queue, at, (uint32_t)list->count);
    }
}

static int compare_ranks(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return (a > b) - (a < b);
}

/* Small lists mostly: insertion sort up to some length, then the library's. */
static void sort_ranks(uint32_t *ranks, size_t count) {
    enum { SMALL = 16 };
    if (count > SMALL) {
        qsort(ranks, count, sizeof *ranks, compare_ranks);
        return;
    }
    for (size_t i = 1; i < count; i++) {
        uint32_t rank = ranks[i];
        size_t k = i;
        for (; k > 0 && ranks[k - 1] > rank; k--) {
            ranks[k] = ranks[k - 1];
        }
        ranks[k] = rank;
    }
}

/* Arcs from the neighbour lists as they stood when each node was taken out. */
static void lay_arcs(Arena *out, RouteGraph *graph, const NodeList *lists) {
    uint32_t count = graph->node_count;
    graph->up_first = ARENA_ARRAY(out, uint32_t, (size_t)count + 1);
    graph->parent = ARENA_ARRAY(out, uint32_t, count);
    size_t arcs = 0;
    for (uint32_t i = 0; i < count; i++) {
        arcs += lists[i].count;
    }
    CHECK(arcs < GRAPH_NONE);
    graph->up_to = ARENA_ARRAY(out, uint32_t, arcs);
    uint32_t next = 0;
    for (uint32_t rank = 0; rank < count; rank++) {
        const NodeList *list = &lists[graph->node[rank]];
        graph->up_first[rank] = next;
        for (size_t i = 0; i < list->count; i++) {
            graph->up_to[next + i] = graph->rank[list->nodes[i]];
        }
        sort_ranks(graph->up_to + next, list->count);
        graph->parent[rank] = list->count > 0 ? graph->up_to[next] : GRAPH_NONE;
        next += (uint32_t)list->count;
    }
    graph->up_first[count] = next;
}

static void measure_height(Arena *scratch, RouteGraph *graph) {
    uint32_t *height = ARENA_ARRAY(scratch, uint32_t, graph->node_count);
    for (uint32_t rank = graph->node_count; rank-- > 0;) {
        uint32_t parent = graph->parent[rank];
        height[rank] = parent == GRAPH_NONE ? 1 : height[parent] + 1;
        graph->tallest = height[rank] > graph->tallest ? height[rank] : graph->tallest;
    }
}

void graph_build(Arena *out, uint32_t node_count, uint32_t segment_count, const uint32_t *segment_a,
                 const uint32_t *segment_b, RouteGraph *graph) {
    *graph = (RouteGraph){
        .node_count = node_count,
        .segment_count = segment_count,
        .segment_a = segment_a,
        .segment_b = segment_b,
        .rank = ARENA_ARRAY(out, uint32_t, node_count),
        .node = ARENA_ARRAY(out, uint32_t, node_count),
    };
    Arena scratch = {0};
    uint32_t *mark = ARENA_ARRAY(&scratch, uint32_t, node_count);
    NodeList *lists = list_neighbours(&scratch, graph, mark);
    DegreeQueue queue = {
        .head = ARENA_ARRAY(&scratch, uint32_t, (size_t)node_count + 1),
        .next = ARENA_ARRAY(&scratch, uint32_t, node_count),
        .before = ARENA_ARRAY(&scratch, uint32_t, node_count),
        .degree = ARENA_ARRAY(&scratch, uint32_t, node_count),
    };
    memset(queue.head, 0xff, ((size_t)node_count + 1) * sizeof *queue.head);
    for (uint32_t i = node_count; i-- > 0;) { /* so that low ids come first among equals */
        queue_add(&queue, i, (uint32_t)lists[i].count);
    }
    queue.lowest = 0;
    uint32_t round = 0;
    for (uint32_t rank = 0; rank < node_count; rank++) {
        uint32_t node = queue_take(&queue);
        graph->rank[node] = rank;
        graph->node[rank] = node;
        eliminate(&scratch, lists, node, &queue, mark, &round);
    }
    lay_arcs(out, graph, lists);
    measure_height(&scratch, graph);
    arena_free(&scratch);
}

/* --- weights ---------------------------------------------------------------------------------- */

/* A weight is the length in ten-thousandths of a millimetre, times 2^22, plus a tie number below
 * 2^10 that follows from the segment's place in the order: ways of equal length differ in the sum
 * of those, and a thousand of them stay far below one unit of length. 2^63 is 200 km. */
#define LENGTH_UNIT_PER_MM 1e4
#define LENGTH_MAX_MM 2e7
#define TIE_BITS 22

static uint64_t segment_weight(double length_mm, uint32_t segment) {
    double length = length_mm < LENGTH_MAX_MM ? length_mm : LENGTH_MAX_MM;
    uint64_t mixed = ((uint64_t)segment + 1) * UINT64_C(0x9E3779B97F4A7C15);
    mixed ^= mixed >> 29;
    mixed *= UINT64_C(0xBF58476D1CE4E5B9);
    uint64_t tie = (mixed >> 54) + 1;
    return ((uint64_t)llround(length * LENGTH_UNIT_PER_MM) << TIE_BITS) + tie;
}

/* The arc from `low` to `high`; it must be there. */
static uint32_t find_arc(const RouteGraph *graph, uint32_t low, uint32_t high) {
    uint32_t first = graph->up_first[low];
    uint32_t end = graph->up_first[low + 1];
    while (first < end) {
        uint32_t middle = first + (end - first) / 2;
        if (graph->up_to[middle] < high) {
            first = middle + 1;
        } else {
            end = middle;
        }
    }
    CHECK(first < graph->up_first[low + 1] && graph->up_to[first] == high);
    return first;
}

/* Arcs among the upper neighbours of `rank` may be shorter through it. */
static void bridge(const RouteGraph *graph, RouteWeights *weights, uint32_t rank) {
    uint32_t first = graph->up_first[rank];
    uint32_t end = graph->up_first[rank + 1];
    for (uint32_t i = first; i < end; i++) {
        uint64_t cost = weights->weight[i];
        if (cost >= GRAPH_FAR) {
            continue;
        }
        uint32_t arc = graph->up_first[graph->up_to[i]];
        for (uint32_t k = i + 1; k < end; k++) {
            while (graph->up_to[arc] < graph->up_to[k]) {
                arc++; /* both lists rise, and the upper one holds all of ours */
            }
            uint64_t sum = cost + weights->weight[k];
            if (sum < weights->weight[arc]) {
                weights->weight[arc] = sum;
                weights->via[arc] = rank;
            }
        }
    }
}

void graph_weigh(Arena *out, const RouteGraph *graph, const double *length_mm, const bool *closed,
                 RouteWeights *weights) {
    size_t arcs = graph->up_first[graph->node_count];
    weights->weight = ARENA_ARRAY(out, uint64_t, arcs);
    weights->via = ARENA_ARRAY(out, uint32_t, arcs);
    weights->segment = ARENA_ARRAY(out, uint32_t, arcs);
    for (size_t i = 0; i < arcs; i++) {
        weights->weight[i] = GRAPH_FAR;
        weights->via[i] = weights->segment[i] = GRAPH_NONE;
    }
    for (uint32_t i = 0; i < graph->segment_count; i++) {
        if (!segment_is_open(graph, i) || isnan(length_mm[i]) || length_mm[i] < 0.0 ||
            (closed != NULL && closed[i])) {
            continue;
        }
        uint32_t a = graph->rank[graph->segment_a[i]];
        uint32_t b = graph->rank[graph->segment_b[i]];
        uint32_t arc = a < b ? find_arc(graph, a, b) : find_arc(graph, b, a);
        uint64_t weight = segment_weight(length_mm[i], i);
        if (weight < weights->weight[arc]) {
            weights->weight[arc] = weight;
            weights->segment[arc] = i;
        }
    }
    for (uint32_t rank = 0; rank < graph->node_count; rank++) {
        bridge(graph, weights, rank);
    }
}

/* --- questions -------------------------------------------------------------------------------- */

static void climb_room(Arena *arena, uint32_t node_count, RouteClimb *climb) {
    *climb = (RouteClimb){
        .cost = ARENA_ARRAY(arena, uint64_t, node_count),
        .arc = ARENA_ARRAY(arena, uint32_t, node_count),
        .below = ARENA_ARRAY(arena, uint32_t, node_count),
        .stamp = ARENA_ARRAY(arena, uint32_t, node_count),
    };
}

void graph_room(Arena *arena, const RouteGraph *graph, RouteRoom *room) {
    *room = (RouteRoom){
        .arena = arena,
        .descent = ARENA_ARRAY(arena, uint32_t, graph->tallest),
    };
    climb_room(arena, graph->node_count, &room->from);
    climb_room(arena, graph->node_count, &room->to);
}

void graph_climb(const RouteGraph *graph, const RouteWeights *weights, uint32_t node,
                 RouteClimb *climb) {
    climb->start = graph->rank[node];
    climb->round++;
    climb->stamp[climb->start] = climb->round;
    climb->cost[climb->start] = 0;
    climb->arc[climb->start] = GRAPH_NONE;
    for (uint32_t at = climb->start; at != GRAPH_NONE; at = graph->parent[at]) {
        if (climb->stamp[at] != climb->round) {
            continue; /* closed off below; those above may be reached all the same */
        }
        for (uint32_t arc = graph->up_first[at]; arc < graph->up_first[at + 1]; arc++) {
            uint32_t to = graph->up_to[arc];
            uint64_t cost = climb->cost[at] + weights->weight[arc];
            if (cost < GRAPH_FAR && (climb->stamp[to] != climb->round || cost < climb->cost[to])) {
                climb->stamp[to] = climb->round;
                climb->cost[to] = cost;
                climb->arc[to] = arc;
                climb->below[to] = at;
            }
        }
    }
}

/* Rank where both climbs meet at the smallest sum; GRAPH_NONE when they do not. */
static uint32_t meeting(const RouteGraph *graph, const RouteClimb *from, const RouteClimb *to) {
    uint32_t best = GRAPH_NONE;
    uint64_t best_cost = GRAPH_FAR;
    for (uint32_t at = to->start; at != GRAPH_NONE; at = graph->parent[at]) {
        if (from->stamp[at] == from->round && to->stamp[at] == to->round &&
            from->cost[at] + to->cost[at] < best_cost) {
            best_cost = from->cost[at] + to->cost[at];
            best = at;
        }
    }
    return best;
}

static void push_walk(RouteRoom *room, uint32_t low, uint32_t arc, bool down) {
    *ARENA_PUSH(room->arena, room->walks, room->walk_count, room->walk_capacity) =
        (ArcWalk){low, arc, down};
}

/* Replaces bridges by the two arcs they stand for until only segments are left. */
static void unpack(const RouteGraph *graph, const RouteWeights *weights, RouteRoom *room,
                   SegmentList *list) {
    while (room->walk_count > 0) {
        ArcWalk walk = room->walks[--room->walk_count];
        uint32_t via = weights->via[walk.arc];
        if (via == GRAPH_NONE) {
            *ARENA_PUSH(list->arena, list->segments, list->count, list->capacity) =
                weights->segment[walk.arc];
            continue;
        }
        uint32_t low = find_arc(graph, via, walk.low);
        uint32_t high = find_arc(graph, via, graph->up_to[walk.arc]);
        push_walk(room, via, walk.down ? low : high, false); /* walked second */
        push_walk(room, via, walk.down ? high : low, true);
    }
}

bool graph_way(const RouteGraph *graph, const RouteWeights *weights, RouteRoom *room,
               SegmentList *list) {
    const RouteClimb *from = &room->from;
    const RouteClimb *to = &room->to;
    uint32_t top = meeting(graph, from, to);
    if (top == GRAPH_NONE) {
        return false;
    }
    /* What is walked last goes on the stack first: the way down, from its lower end. */
    uint32_t steps = 0;
    for (uint32_t at = top; at != to->start; at = to->below[at]) {
        room->descent[steps++] = at;
    }
    while (steps > 0) {
        uint32_t at = room->descent[--steps];
        push_walk(room, to->below[at], to->arc[at], true);
    }
    for (uint32_t at = top; at != from->start; at = from->below[at]) {
        push_walk(room, from->below[at], from->arc[at], false);
    }
    unpack(graph, weights, room, list);
    return true;
}
