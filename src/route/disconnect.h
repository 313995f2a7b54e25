/* Disconnects: which cavity of which shell a conductor passes where two modules part. */
#ifndef ROUTE_DISCONNECT_H
#define ROUTE_DISCONNECT_H

#include "route/route.h"

/* Limits read from the library. */
#define DISCONNECT_LIMIT_SPARE "spare_contacts"

/* One conductor (or shield) in one cavity of a disconnect shell. */
typedef struct CavityUse {
    uint32_t shell;  /* row of `disconnect_shell` */
    uint32_t cavity; /* index from 0 into the shell's ways, in numbering order; ID_NONE: no way is
                        left (reported) */
    CableId cable;
    ConductorId conductor; /* ID_NONE for the cable's shield */
    uint16_t crossing;     /* which crossing along the cable, from 0 */
    bool kept;             /* by an allot_cavity row */
} CavityUse;

typedef struct Disconnects {
    CavityUse *uses; /* sorted by cable, crossing, conductor */
    uint32_t use_count;
    uint32_t *cable_first; /* by CableId, and one more: its uses */
    uint32_t *shell_used;  /* by row of disconnect_shell: contacts wanted, also beyond its ways */
    uint8_t *crossings;    /* by CableId: disconnects passed, by shell, bulkhead or stud */
} Disconnects;

/* Gives every conductor that crosses a disconnect a cavity there. `awg` is by ConductorId (coax and
 * blank: INT_BLANK). Which shell: that of its group, or the `power` shell when the wire is thicker
 * than the others take; coax and heavy classes pass by bulkhead or stud and take none. Legal
 * allot_cavity rows stay. New ones: signals from the first cavities on, power and returns from the
 * last ones back, a pair with its shield side by side, no power beside a signal where that can be
 * avoided. Stable: what is there keeps its place when something is added or taken away and
 * allotments are kept. Findings: see rules disconnect.*, place.sealed. */
bool disconnects_allot(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                       const int32_t *awg, Disconnects *disconnects, Findings *findings);

/* Rows of `allot_cavity` for all uses into `out` (which must have none), sorted. */
void disconnects_allot_rows(Arena *arena, const Model *model, const Wiring *wiring,
                            const Routing *routing, const Disconnects *disconnects, TableSet *out);

/* The number a cavity has on the shell; "" for ID_NONE. */
const char *disconnect_cavity_text(Arena *arena, const Model *model, const CavityUse *use);

/* Key of what sits there: the conductor's, or "W0012.S" for the shield of the cable whose first
 * conductor is W0012. */
const char *disconnect_use_key(Arena *arena, const Wiring *wiring, const CavityUse *use);

/* "power", "signal" or "shield". */
const char *disconnect_use_kind(const Model *model, const Wiring *wiring, const CavityUse *use);

/* Why that shell, in words: its group, or the gauge that is too thick for the others. */
const char *disconnect_shell_reason(Arena *arena, const Model *model, const Wiring *wiring,
                                    const int32_t *awg, const CavityUse *use);

/* The pieces disconnects cut each cable into, by CableId: for wiring_numbers. */
uint8_t *disconnects_pieces(Arena *out, const Wiring *wiring, const Disconnects *disconnects);

#endif
