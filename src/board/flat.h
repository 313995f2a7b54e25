/* A tree of a harness laid flat on a table at full scale. In: arms with true lengths, outer
 * diameters and the direction in which they leave their nodes in the aircraft, connectors at the
 * ends, the size of a board. Out: for every arm straight parts and arcs whose lengths add up to its
 * own, for every end a pose; nothing crosses, nothing comes nearer than the spacing, everything is
 * on a board, left stays left. flat_check.c believes none of it. docs/theory/board.md. */
#ifndef BOARD_FLAT_H
#define BOARD_FLAT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

#define FLAT_NONE UINT32_MAX

/* What the table and the shop ask for. Lengths in mm. */
typedef struct FlatShop {
    double board_length_mm; /* along x */
    double board_width_mm;
    double margin_mm;  /* free along the outer edge of all boards */
    double gap_mm;     /* between two boards */
    double seam_mm;    /* free of nodes, arcs and connectors on either side of such a gap */
    double spacing_mm; /* between the outsides of two arms */
    double hand_mm;    /* between a connector and anything but its own arm */
    double zone_mm;    /* nearer than this to a breakout its arms may be closer to each other */
} FlatShop;

/* An arm between two nodes. A bearing is the direction, counter-clockwise in degrees as the
 * aircraft is looked at, in which the arm leaves that node; NAN: it may leave anywhere. */
typedef struct FlatArm {
    uint32_t a;
    uint32_t b;
    double length_mm; /* above 0 */
    double od_mm;
    double bend_mm; /* smallest radius of its middle line */
    double bearing_a_deg;
    double bearing_b_deg;
} FlatArm;

/* A connector (or lug, or cut end) at the end of an arm: as wide across the arm as `width_mm`, as
 * deep along it as `depth_mm`, beginning at the node. 0: none. Only at nodes with one arm. */
typedef struct FlatEnd {
    double width_mm;
    double depth_mm;
} FlatEnd;

typedef struct FlatTree {
    const FlatArm *arms; /* a forest: no loops; in the order of their keys */
    uint32_t arm_count;
    const FlatEnd *ends; /* by node */
    uint32_t node_count;
} FlatTree;

/* A straight part or an arc. Walking on by s turns the heading by s x turn_per_mm (positive: to the
 * left). x to the right along the boards, y up (away from the reader), origin at the lower left
 * corner of the first board. */
typedef struct FlatPiece {
    uint32_t arm;
    double x_mm;
    double y_mm;
    double heading_rad;
    double length_mm;
    double turn_per_mm;
} FlatPiece;

typedef enum FlatLean {
    FLAT_KEPT,   /* leaves its node on the side and in the order of the aircraft, or need not */
    FLAT_TURNED, /* on the other side */
} FlatLean;

typedef struct FlatNode {
    double x_mm;
    double y_mm;
    double zone_mm; /* of its breakout: FlatShop.zone_mm, more where many arms leave */
} FlatNode;

typedef struct Flat {
    FlatPiece *pieces;
    uint32_t piece_count;
    uint32_t *arm_first; /* by arm, and one more: its pieces, from node a to node b */
    FlatNode *nodes;     /* by node */
    FlatLean *leans;     /* by arm: at the node nearer to the trunk's beginning */
    bool *trunk;         /* by arm */
    uint32_t columns;    /* boards side by side along x */
    uint32_t rows;       /* and along y */
    uint32_t folds;      /* turns of half a circle or more within one run, trunk and arms */
    uint32_t bends;      /* arcs */
    uint32_t turned;     /* arms */
    uint32_t failed;     /* arms that found no place: they lie over others */
    double width_mm;     /* used: right-most point */
    double height_mm;
    double path_mm;   /* all arms */
    double travel_mm; /* of a pen that draws every arm once, lifted moves included */
    uint64_t trials;  /* places tried: the measure of work */
} Flat;

/* Lays the tree flat with the fewest boards, then the fewest folds it can find. Deterministic.
 * Never fails: what finds no place is counted in `failed` and reported by flat_check. */
void flat_solve(Arena *out, const FlatTree *tree, const FlatShop *shop, Flat *flat);

/* For comparison: every subtree in its own wedge, all arms straight. Nothing crosses; spacing and
 * boards are as they come (columns and rows are those of its extent). */
void flat_radial(Arena *out, const FlatTree *tree, const FlatShop *shop, Flat *flat);

/* Way of a pen that draws every arm once, always going on at the nearest end that is left. */
double flat_travel_mm(const FlatTree *tree, const Flat *flat);

/* --- checking -----------------------------------------------------------------------------------
 */

/* What was found; counts are of pairs of arms or of single arms, lengths in mm. */
typedef struct FlatReport {
    uint32_t crossings;     /* arms whose middle lines meet away from a common node */
    uint32_t close;         /* pairs of arms nearer than the spacing */
    double closest_mm;      /* smallest distance between outsides beyond the breakouts' zones */
    uint32_t hands;         /* connectors nearer than hand_mm to another thing */
    double closest_hand_mm; /* INFINITY with no pair near enough to measure */
    uint32_t off_board;   /* arms or connectors over an edge, nodes, arcs or connectors on a seam */
    uint32_t tight;       /* arcs of less than the arm's radius */
    uint32_t broken;      /* arms whose pieces do not meet end to end, or miss their nodes */
    double length_off_mm; /* largest difference from a true length */
    uint32_t swapped;     /* nodes whose order differs from the aircraft's, turned arms apart */
    uint32_t first_arm;   /* of the first fault of any kind; FLAT_NONE */
    uint32_t second_arm;
} FlatReport;

/* Looks at the result alone: pieces, nodes, what the tree asks for. */
void flat_check(Arena *scratch, const FlatTree *tree, const FlatShop *shop, const Flat *flat,
                FlatReport *report);

/* Whether nothing was found: crossings, close, hands, off_board, tight, broken, swapped are 0 and
 * no length is off by more than a millionth of a mm per metre. */
bool flat_is_clean(const FlatReport *report);

/* --- geometry -----------------------------------------------------------------------------------
 */

typedef struct FlatPoint {
    double x_mm;
    double y_mm;
} FlatPoint;

/* Where a piece is after `s_mm`, and its heading there (unless NULL). */
FlatPoint flat_piece_at(const FlatPiece *piece, double s_mm, double *heading_rad);

/* Where an arm is at `s_mm` from its node a. */
FlatPoint flat_arm_at(const Flat *flat, uint32_t arm, double s_mm, double *heading_rad);

/* Heading of an arm as it leaves its node `node` (either of its ends). */
double flat_leaving_rad(const FlatTree *tree, const Flat *flat, uint32_t arm, uint32_t node);

/* The corners of a connector, first the two at the arm. */
void flat_end_corners(const FlatEnd *end, FlatPoint at, double heading_rad, FlatPoint corners[4]);

#endif
