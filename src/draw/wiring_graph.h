/* What the steps of a wiring diagram's layout share: the layered graph. Every link is cut into
 * segments from column to column; its ends, the gates it passes and the empty places it passes
 * through are vertices. Only for wiring_layout.c, wiring_order.c and wiring_channel.c. */
#ifndef DRAW_WIRING_GRAPH_H
#define DRAW_WIRING_GRAPH_H

#include "draw/wiring_layout.h"

typedef enum VertexKind { VERTEX_NODE, VERTEX_GATE, VERTEX_DUMMY } VertexKind;
enum { SIDE_LEFT, SIDE_RIGHT, SIDE_COUNT };

/* Where a segment (or a stub) meets a vertex. */
typedef struct Attach {
    uint32_t vertex;
    uint32_t segment; /* LAYOUT_NONE: a stub */
    uint32_t link;
    uint32_t port; /* LAYOUT_NONE at gates and dummies */
    uint32_t rows;
    uint32_t side;
    double mark_mm;
    double inset_mm;
    double label_mm;  /* of a text that stands here; 0: none */
    double offset_mm; /* of its first row from the top of the vertex */
    uint32_t rank;    /* from the top, among all of its column's side */
    double key;       /* for sorting */
} Attach;

typedef struct Vertex {
    VertexKind kind;
    uint32_t of; /* node; gate; link */
    uint32_t column;
    bool tied;                  /* attach i at the left and attach i at the right are one row */
    uint32_t *side[SIDE_COUNT]; /* attaches, from the top */
    size_t side_count[SIDE_COUNT];
    size_t side_capacity[SIDE_COUNT];
    double row_mm;
    double head_mm;
    double foot_mm;
    double gap_mm; /* to the one below, at least */
    double height_mm;
    double top_mm;
    double key;
} Vertex;

/* Between neighbouring columns, or (turn) from the right side of a column back to it. */
typedef struct Segment {
    uint32_t attach[2]; /* left and right; of a turn any */
    uint32_t link;
    uint32_t piece; /* of the link, from end 0 */
    uint32_t rows;  /* lines */
    bool turn;
} Segment;

/* Columns 0 .. column_count-1; channel i lies left of column i, channel column_count right of the
 * last one. */
typedef struct LayoutGraph {
    Arena *arena;
    LayoutProblem *problem;
    Vertex *vertices;
    size_t vertex_count;
    size_t vertex_capacity;
    Attach *attaches;
    size_t attach_count;
    size_t attach_capacity;
    Segment *segments;
    size_t segment_count;
    size_t segment_capacity;
    uint32_t column_count;
    uint32_t *column[LAYOUT_COLUMNS_MAX]; /* vertices, from the top */
    size_t column_size[LAYOUT_COLUMNS_MAX];
    uint32_t *channel[LAYOUT_COLUMNS_MAX + 1]; /* segments */
    size_t channel_size[LAYOUT_COLUMNS_MAX + 1];
} LayoutGraph;

/* One line in a channel. */
typedef struct ChannelLine {
    uint32_t segment;
    uint32_t row;
    double left_mm;  /* y at its left end */
    double right_mm; /* y at its right end; of a turn: at its other left end */
    bool turn;
    uint32_t track;     /* of its vertical; LAYOUT_NONE: straight */
    uint32_t track_end; /* second vertical, when it has to step aside; else LAYOUT_NONE */
    double step_mm;     /* y between both */
} ChannelLine;

/* The other end of the segment at an attach. */
static inline const Attach *graph_opposite(const LayoutGraph *graph, const Attach *attach) {
    const Segment *segment = &graph->segments[attach->segment];
    const Attach *first = &graph->attaches[segment->attach[0]];
    return first == attach ? &graph->attaches[segment->attach[1]] : first;
}

/* Order of vertices in their columns and of attaches on their vertices, with few crossings. Returns
 * the crossings (of lines). */
size_t wiring_order(LayoutGraph *graph);

/* Crossings of the order as it stands. */
size_t wiring_order_crossings(const LayoutGraph *graph);

/* Tracks for the lines of one channel; returns their number. `plain`: by the left-edge rule under
 * the constraints that keep lines apart, and nothing else. */
uint32_t wiring_channel(Arena *arena, ChannelLine *lines, size_t count, bool plain);

#endif
