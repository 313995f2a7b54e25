/* Where disconnects cut segments, and what one cable wants there. For the route
 * layer, and for the board, which asks on which side of a cut a piece lies. */
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
    ShellId *kind;      /* by row of disconnect_shell: row of `shell`, ID_NONE when unknown */
    ContactId *contact; /* by row of disconnect_shell: ID_NONE when unknown */
    Face **faces;       /* by row of disconnect_shell; shells of one kind share one */
} Cuts;

void cuts_read(Arena *out, const Model *model, Cuts *cuts);

/* The thickest wire a shell is used for: as its row says, else as its contact; INT_BLANK: any. */
int32_t cuts_largest_awg(const Model *model, const Cuts *cuts, uint32_t shell);

/* The shell of a cut for a wire of that gauge and group; prefers `kept`, a row of disconnect_shell
 * or ID_NONE, then one with `count` free ways by free[] (by row, may be NULL). ID_NONE: no shell
 * takes it. */
uint32_t cuts_shell(const Model *model, const Cuts *cuts, const Cut *cut, int32_t awg,
                    uint8_t group, uint32_t kept, const int32_t *free, int32_t count);

#endif
