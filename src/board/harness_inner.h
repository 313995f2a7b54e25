/* What the files of the harness pass share. */
#ifndef BOARD_HARNESS_INNER_H
#define BOARD_HARNESS_INNER_H

#include "board/harness.h"
#include "route/length.h"

/* A place where an arm can end: an airframe node (segment ID_NONE), or one end of the stretch
 * `gap` of a cut segment (gap i lies between its cuts i - 1 and i). */
typedef struct HarnessPlace {
    NodeId node;
    SegmentId segment;
    uint32_t gap;
    uint32_t end; /* 0: towards the segment's node_a */
} HarnessPlace;

HarnessPlace harness_gap_place(const Model *model, const Cuts *cuts, SegmentId segment,
                               uint32_t gap, uint32_t end);

/* Groups ends of pieces into leaves; set->runs and set->nodes must be there. `cross` has for each
 * run the segments of the disconnects it begins and ends at, ID_NONE. */
void harness_leaves_build(Arena *out, HarnessSet *set, const Cuts *cuts,
                          const SegmentId (*cross)[2], Findings *findings);

/* Gives every piece the length of its run (Routing.runs), and fills wire and mass of every harness;
 * all else must be there. */
void harness_lengths(HarnessSet *set);

/* Scales to length 1; false when it is 0. */
bool harness_unit_vector(double vector[3]);

#endif
