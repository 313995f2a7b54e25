/* What the files of the harness pass share. */
#ifndef BOARD_HARNESS_INNER_H
#define BOARD_HARNESS_INNER_H

#include "board/harness.h"
#include "route/cuts.h"

/* A place where an arm can end: an airframe node (segment ID_NONE), or one end of the stretch
 * `gap` of a cut segment (gap i lies between its cuts i - 1 and i). */
typedef struct HarnessPlace {
    NodeId node;
    SegmentId segment;
    uint32_t gap;
    uint32_t end; /* 0: towards the segment's node_a */
} HarnessPlace;

/* Where disconnects sit on the segments. A disconnect sits at one end of its segment, so all of the
 * segment but one stretch has no length. */
typedef struct HarnessCuts {
    Cuts cuts;
    uint32_t *long_gap; /* by SegmentId: the stretch that has the segment's length */
    bool *far_is_a;     /* by SegmentId: node_a lies on the far side of its disconnects */
} HarnessCuts;

/* Reads and checks them (rule harness.node). */
void harness_cuts_read(Arena *out, const Model *model, HarnessCuts *cuts, Findings *findings);

HarnessPlace harness_gap_place(const Model *model, const HarnessCuts *cuts, SegmentId segment,
                               uint32_t gap, uint32_t end);

/* Groups ends of pieces into leaves; set->runs and set->nodes must be there. `cross` has for each
 * run the segments of the disconnects it begins and ends at, ID_NONE. */
void harness_leaves_build(Arena *out, HarnessSet *set, const HarnessCuts *cuts,
                          const SegmentId (*cross)[2], Findings *findings);

/* Fills HarnessPiece.length of every piece, and wire and mass of every harness; all else must be
 * there. */
void harness_lengths(HarnessSet *set);

/* The segment's direction from node_a to node_b, a unit vector; false when both lie at one point.
 */
bool harness_segment_direction(const Model *model, SegmentId segment, double direction[3]);

/* Scales to length 1; false when it is 0. */
bool harness_unit_vector(double vector[3]);

#endif
