/* Shortest ways on the airframe's skeleton, for very many pairs of nodes on one graph that hardly
 * changes. Nodes are put in an order of elimination (smallest degree first); taking a node out
 * joins its neighbours, which gives a triangulated graph whose arcs all lead upwards. That is done
 * once. Weights for a set of allowed segments are then swept through it once, and a question climbs
 * from both nodes to where they meet: no queue, no search over the whole graph (the method is known
 * as customisable contraction hierarchies; Dibbelt, Strasser, Wagner, ACM JEA 21, 2016; from
 * memory).
 *
 * Weights are whole numbers, so a sum does not depend on the direction walked; among ways of equal
 * length the one with the smaller sum of tie numbers is taken, which follow the order of segments.
 * Every answer therefore depends on the graph alone. */
#ifndef ROUTE_GRAPH_H
#define ROUTE_GRAPH_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

#define GRAPH_NONE UINT32_MAX
#define GRAPH_FAR (UINT64_MAX / 4)

typedef struct RouteGraph {
    uint32_t node_count;
    uint32_t segment_count;
    const uint32_t *segment_a; /* by segment: its nodes; GRAPH_NONE or a == b: left out */
    const uint32_t *segment_b;
    uint32_t *rank;     /* by node: when it was taken out */
    uint32_t *node;     /* by rank */
    uint32_t *up_first; /* by rank, and one more: its arcs, to higher ranks, rising */
    uint32_t *up_to;    /* by arc: rank */
    uint32_t *parent;   /* by rank: lowest rank above it; GRAPH_NONE for a root */
    uint32_t tallest;   /* nodes on the longest way up, for sizing */
} RouteGraph;

/* Weights of the arcs for one set of allowed segments. */
typedef struct RouteWeights {
    uint64_t *weight;  /* by arc; GRAPH_FAR: closed */
    uint32_t *via;     /* by arc: rank of the node it bridges, GRAPH_NONE when it is a segment */
    uint32_t *segment; /* by arc that is a segment */
} RouteWeights;

/* Where one node can climb to. */
typedef struct RouteClimb {
    uint32_t start;  /* rank */
    uint64_t *cost;  /* by rank; valid where stamp == round */
    uint32_t *arc;   /* by rank: arc it was reached by */
    uint32_t *below; /* by rank: rank it was reached from */
    uint32_t *stamp;
    uint32_t round;
} RouteClimb;

/* An arc to walk, upwards from `low` or down to it. */
typedef struct ArcWalk {
    uint32_t low;
    uint32_t arc;
    bool down;
} ArcWalk;

/* Room for questions, used again and again. */
typedef struct RouteRoom {
    Arena *arena;
    RouteClimb from;
    RouteClimb to;
    uint32_t *descent;
    ArcWalk *walks; /* a stack */
    size_t walk_count;
    size_t walk_capacity;
} RouteRoom;

/* Segments in the order walked; grows in its arena. */
typedef struct SegmentList {
    Arena *arena;
    uint32_t *segments;
    size_t count;
    size_t capacity;
} SegmentList;

/* Orders the nodes. segment_a and segment_b must outlive the graph. */
void graph_build(Arena *out, uint32_t node_count, uint32_t segment_count, const uint32_t *segment_a,
                 const uint32_t *segment_b, RouteGraph *graph);

/* Sweeps lengths through the graph. `closed`, by segment, may be NULL. Lengths are in mm, 0 or
 * more; NAN closes a segment. */
void graph_weigh(Arena *out, const RouteGraph *graph, const double *length_mm, const bool *closed,
                 RouteWeights *weights);

/* Room for questions on this graph; arena must outlive it. */
void graph_room(Arena *arena, const RouteGraph *graph, RouteRoom *room);

/* Climbs from `node`; the room's `from` or `to`. */
void graph_climb(const RouteGraph *graph, const RouteWeights *weights, uint32_t node,
                 RouteClimb *climb);

/* Appends the segments of the shortest way from where room->from was climbed to where room->to
 * was; false, and nothing appended, when there is none. */
bool graph_way(const RouteGraph *graph, const RouteWeights *weights, RouteRoom *room,
               SegmentList *list);

#endif
