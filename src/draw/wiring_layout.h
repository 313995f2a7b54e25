/* Layout of one wiring diagram: pure geometry. Nodes (boxes, devices, terminals) are put into
 * columns, links (cables) run between them in the channels between columns, through gates (shells
 * of disconnects) that stand in columns of their own. Columns and crossing reduction after
 * Sugiyama, Tagawa and Toda (1981), with sifting; tracks in a channel by the left-edge rule of
 * Hashimoto and Stevens (1971) under constraints: see docs/theory/drawing.md. */
#ifndef DRAW_WIRING_LAYOUT_H
#define DRAW_WIRING_LAYOUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "draw/list.h"

#define LAYOUT_NONE UINT32_MAX
#define LAYOUT_TRACK_MM 2.5     /* between neighbouring vertical lines */
#define LAYOUT_ROW_MM 10.0      /* between the rows of a gate */
#define LAYOUT_COLUMNS_MAX 258u /* as many gates as a cable can have, and its ends */

/* What has ends of links. Sizes are multiples of the 2.5 mm grid. */
typedef struct LayoutNode {
    double width_mm;  /* at least */
    double middle_mm; /* between what its ends need inside it at the left and at the right */
    double head_mm;   /* above its first row */
    double foot_mm;   /* below its last row */
    double row_mm;    /* between its rows */
    bool fill;        /* drawn as wide as its column; else narrow, towards its links */
    bool through;     /* two ends: wants one at the left and one at the right, in one row. Out:
                         whether it got that */
    int lean;         /* -1: wants to stand left of what it is linked to, +1: right */
    /* out */
    uint32_t copy_of; /* another node that it is a part of; itself otherwise */
    uint32_t column;
    double inset_mm[2]; /* room taken inside by the ends at the left and at the right */
    DrawBox box;
} LayoutNode;

typedef struct LayoutEnd {
    uint32_t node;
    uint32_t port;   /* ends of one port on one side of a node stand together */
    double mark_mm;  /* room beside the node for what is drawn at this end */
    double inset_mm; /* room inside the node for what is drawn or written at this end */
    /* out */
    bool right;    /* on the right side of its node */
    bool reversed; /* its rows run upwards */
    double y_mm;   /* of its first row (the highest, or lowest when reversed) */
} LayoutEnd;

/* A link, or with gate_count 0 and end[1].node LAYOUT_NONE a stub: an end that goes nowhere on this
 * sheet but needs its row and `label_mm` beside it. */
typedef struct LayoutLink {
    LayoutEnd end[2];
    uint32_t rows;
    uint32_t quiet_rows; /* how many of the rows, at the foot, have a place but no line */
    double label_mm;     /* room for the text of one piece */
    double gate_mark_mm; /* room beside a gate for what is drawn there */
    uint32_t gate_first; /* into LayoutProblem.gates: passed from end 0 to end 1 */
    uint32_t gate_count;
    /* out */
    uint32_t piece_first; /* gate_count + 1 pieces */
} LayoutLink;

/* A piece of a link: from end or gate to gate or end. */
typedef struct LayoutPiece {
    uint32_t line_first; /* one line for each row that is not quiet */
    double label_mm;     /* x of the left end of its text */
    bool label_at_end;   /* the text stands by its last point, not its first */
} LayoutPiece;

typedef struct LayoutLine {
    uint32_t point_first;
    uint32_t point_count;
} LayoutLine;

/* A gate as it stands on the sheet: all that passes it in one column. */
typedef struct LayoutGate {
    uint32_t gate;
    DrawBox box;
} LayoutGate;

typedef struct LayoutProblem {
    LayoutNode *nodes;
    size_t node_count;
    size_t node_capacity;
    LayoutLink *links;
    size_t link_count;
    size_t link_capacity;
    uint32_t *gates; /* passed by links: which gate */
    size_t gate_count;
    size_t gate_capacity;
    double gate_width_mm;
    double gate_head_mm;
    DrawBox field; /* to draw in */
    bool plain;    /* plain barycentre and left-edge tracks: for comparison only */
    bool quick;    /* only to see whether it fits */
    bool narrow;   /* stubs go where links go, nodes are no wider than their ends need */
    /* out */
    LayoutPiece *pieces;
    size_t piece_count;
    LayoutLine *lines;
    size_t line_count;
    DrawPoint *points;
    size_t point_count;
    size_t point_capacity;
    LayoutGate *stands;
    size_t stand_count;
    double width_mm; /* what it took */
    double height_mm;
    uint32_t columns;
    size_t copies;    /* nodes that were appended */
    size_t crossings; /* of lines, counted on the geometry of the channels' orders */
} LayoutProblem;

/* Lays out everything; a lone link that is too wide for the field is tried again `narrow`. True
 * when it fits the field; the geometry is complete either way (it then goes over the edge). Nodes
 * may be appended: copies of a node whose links could not all be reached. Two lines of different
 * links never lie on each other. */
bool wiring_layout(Arena *arena, LayoutProblem *problem);

#endif
