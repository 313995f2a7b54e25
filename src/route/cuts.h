/* Where disconnects cut segments and at which end of them they sit, and what one cable wants there.
 * For the route layer, and for the board, which asks on which side of a cut a piece lies. A
 * disconnect sits at one end of its segment, so all of the segment but one stretch between two cuts
 * has no length. */
#ifndef ROUTE_CUTS_H
#define ROUTE_CUTS_H

#include "route/cavity.h"
#include "route/disconnect.h"

/* One disconnect on one segment, with its shells. */
typedef struct Cut {
    uint32_t disconnect;  /* row of `disconnect` */
    uint32_t shell_first; /* into Cuts.shells */
    uint32_t shell_count;
} Cut;

typedef struct Cuts {
    uint32_t *segment_first; /* by SegmentId, and one more: its cuts, by name of disconnect */
    Cut *cuts;
    uint32_t *shells;   /* rows of `disconnect_shell`, by tag inside a cut */
    uint32_t *long_gap; /* by SegmentId: the stretch that has the segment's length; stretch i lies
                           between its cuts i - 1 and i */
    bool *far_is_a;     /* by SegmentId: node_a lies on the far side of its disconnects */
    ShellId *kind;      /* by row of disconnect_shell: row of `shell`, ID_NONE when unknown */
    ContactId *contact; /* by row of disconnect_shell: ID_NONE when unknown */
    Face **faces;       /* by row of disconnect_shell; shells of one kind share one */
} Cuts;

/* Where the cuts are; `kind`, `contact` and `faces` stay NULL. */
void cuts_find(Arena *out, const Model *model, Cuts *cuts);

/* The same with what the shells are. */
void cuts_read(Arena *out, const Model *model, Cuts *cuts);

/* Rows that name no end of their segment, or two ends for one disconnect (rule harness.node). */
void cuts_check(const Model *model, const Cuts *cuts, Findings *findings);

/* The node at which the k-th cut of a segment sits. */
NodeId cuts_node(const Model *model, const Cuts *cuts, SegmentId segment, uint32_t k);

/* The thickest wire a shell is used for: as its row says, else as its contact; INT_BLANK: any. */
int32_t cuts_largest_awg(const Model *model, const Cuts *cuts, uint32_t shell);

/* The shell of a cut for a wire of that gauge and group; prefers `kept`, a row of disconnect_shell
 * or ID_NONE, then one with `count` free ways by free[] (by row, may be NULL). ID_NONE: no shell
 * takes it. */
uint32_t cuts_shell(const Model *model, const Cuts *cuts, const Cut *cut, int32_t awg,
                    uint8_t group, uint32_t kept, const int32_t *free, int32_t count);

#endif
