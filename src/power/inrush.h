/* Inrush: what happens when a thing is switched on. In: what each box draws at first and how long
 * (library), which devices and contacts that current passes. Out: whether the early edge of the
 * device's band lets it pass, whether the contact may close on it. What the library does not say is
 * not decided, and gathered. docs/theory/time.md. */
#ifndef POWER_INRUSH_H
#define POWER_INRUSH_H

#include "power/size.h"

typedef enum InrushVerdict {
    INRUSH_HOLDS,    /* a device: stays closed, wherever in its band it lies */
    INRUSH_MAY_OPEN, /* inside its band */
    INRUSH_OPENS,
    INRUSH_ENOUGH, /* a contact */
    INRUSH_TOO_SMALL,
    INRUSH_UNDECIDED,
    INRUSH_VERDICT_COUNT
} InrushVerdict;

const char *inrush_verdict_name(InrushVerdict verdict);

typedef struct InrushItem {
    OwnerId owner;
    uint32_t *loads; /* of Supply.loads, in rising order */
    uint32_t load_count;
    uint32_t phase; /* row of `phase`; ID_NONE: all of them are counted */
    double usual_a;
    double inrush_a;   /* NAN: not known */
    double inrush_s;   /* NAN: not known */
    double charge_a2s; /* of the capacitors behind it, through the wires' resistance; 0: none */
    double rating_a;
    InrushVerdict verdict;
    const char *why;
} InrushItem;

typedef struct Inrush {
    InrushItem *items; /* in the order of owners */
    uint32_t count;
} Inrush;

/* Everything that closes on loads: the devices and contacts of the feeds of boxes, and of those
 * feeds of buses that a switch, relay or contactor is in. Findings: time.inrush, time.unknown.
 * Always returns true. */
bool inrush_run(Arena *out, const Model *model, const Supply *supply, const Sizing *sizing,
                Inrush *inrush, Findings *findings);

/* Appends rows of `inrush`. */
void inrush_rows(Arena *arena, const Model *model, const Supply *supply, const Inrush *inrush,
                 TableSet *results);

#endif
