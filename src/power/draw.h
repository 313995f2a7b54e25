/* Draw: what hangs on every feed and what it draws together. In: loads with their amps by phase.
 * Out: by row of `feed` the current that sizes it. Rules (docs/theory/size.md): a feed of ports
 * carries the design currents of its loads and of what they give onward; a feed of a bus carries
 * the bus's highest phase sum, intermittent loads added at their design current; a second feed of
 * a bus carries the highest sum of the phases it is for; an alternator's lead its
 * rating; a battery's lead what its buses draw, or the starter. */
#ifndef POWER_DRAW_H
#define POWER_DRAW_H

#include "power/feeders.h"

typedef struct Draw {
    Duty *feeds;                 /* by row of `feed` */
    uint32_t *feed_load_first;   /* by row of `feed`, and one more: into feed_loads */
    uint32_t *feed_loads;        /* loads, in the order of the feed's targets */
    uint32_t *giver;             /* by row of `feed`: load whose box gives it; ID_NONE */
    uint32_t *source;            /* by row of `feed`: row of `source` it comes from; ID_NONE */
    uint32_t *main_feed;         /* by BusId: feed that usually supplies it from a bus; ID_NONE */
    OwnerId *bus_device;         /* by BusId: device that protects wires off its stud; ID_NONE */
    double *load_design_a;       /* by load: own design current and what it gives onward */
    uint32_t starter_feed;       /* row of `feed` that supplies the starter, ID_NONE */
    uint32_t *minus_source;      /* by TerminalId: row of `source` whose return it is; ID_NONE */
    bool *alternator;            /* by row of `source`: is one (else a battery) */
    double largest_alternator_a; /* 0 when there is none */
} Draw;

void draw_find(Arena *out, Arena *scratch, const Model *model, const Supply *supply, Draw *draw);

/* Device upstream of the first wire of a feed: that of its bus or of what gives it; ID_NONE. */
OwnerId draw_device_before(const Model *model, const Supply *supply, const Draw *draw,
                           uint32_t feed);

/* Kind of a load, by its row; coils are inductive. */
DrawKind draw_kind(const Model *model, const SupplyLoad *load);

#endif
