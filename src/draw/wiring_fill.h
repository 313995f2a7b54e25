/* Which circuits of a job stand on which wiring sheet. Part of planning; only for wiring_*.c. */
#ifndef DRAW_WIRING_FILL_H
#define DRAW_WIRING_FILL_H

#include "draw/wiring_sheets.h"

typedef struct WiringDraft {
    WiringSheet sheet;
    uint32_t *systems; /* places in the order of systems */
    size_t system_count;
    uint32_t number;                     /* of the sheets of its first system, from 1 */
    uint32_t of;                         /* how many that system has */
    bool last;                           /* of a system */
    bool gone;                           /* put onto another one */
    double height_mm[WIRING_BANDS_MOST]; /* what a band takes at least; 0: not yet known */
} WiringDraft;

/* Drafts of all sheets in the order of the book, from `arena`; `order`: rows of `system` by rank.
 * Those that are not `gone` hold every cable once. */
WiringDraft *wiring_fill(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                         const uint32_t *order, size_t *count);

#endif
