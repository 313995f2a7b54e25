/* Disconnects: which cavity of which shell a conductor passes where two modules part. */
#ifndef ROUTE_DISCONNECT_H
#define ROUTE_DISCONNECT_H

#include "route/route.h"

/* One conductor (or shield) in one cavity of a disconnect shell. */
typedef struct CavityUse {
    uint32_t shell;  /* row of `disconnect_shell` */
    uint32_t cavity; /* index from 0 into the shell's ways, in numbering order */
    CableId cable;
    ConductorId conductor; /* ID_NONE for the cable's shield */
    uint16_t crossing;     /* which crossing along the cable, from 0 */
    bool kept;             /* by an allot_cavity row */
} CavityUse;

typedef struct Disconnects {
    CavityUse *uses; /* sorted by cable, crossing, conductor */
    uint32_t use_count;
    uint32_t *cable_first; /* by CableId, and one more: its uses */
    uint32_t *shell_used;  /* by row of disconnect_shell */
} Disconnects;

/* Gives every conductor that crosses a disconnect a cavity there. `awg` is by ConductorId (coax and
 * blank: INT_BLANK). Which shell: that of its group, or the `power` shell when the wire is thicker
 * than the others take; coax and heavy classes pass by bulkhead or stud and take none. Legal
 * allot_cavity rows stay; new ones keep power apart from signal and leave spares. Stable: what is
 * there keeps its place when something is added or taken away and allotments are kept. */
bool disconnects_allot(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                       const int32_t *awg, Disconnects *disconnects, Findings *findings);

#endif
