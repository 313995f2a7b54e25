/* Loads: what a person adds up before anything is solved. Amps by phase and bus at nominal voltage;
 * each phase's sum against the alternator that must carry it; minutes of each battery with what
 * hangs on it (capacity x usable share x 60 / amps); days until a parked aircraft is flat.
 * Method: docs/theory/loads.md. The solved figures stand beside these (power/phases.h,
 * power/endurance.h); the stricter counts. */
#ifndef POWER_LOADS_H
#define POWER_LOADS_H

#include "power/supply.h"

typedef struct LoadsMargin {
    double total_a;
    uint32_t source;      /* row of `source` that must carry it; ID_NONE: none is named */
    double rated_a;       /* NAN when no source is named, like all below */
    double available_a;   /* at this engine speed; 0 when it is off */
    double rating_pct;    /* of the rating */
    double available_pct; /* of what is available; NAN when nothing is */
    double limit_pct;     /* allowed share of the rating */
} LoadsMargin;

/* One situation with one state of its battery. */
typedef struct LoadsEndurance {
    uint32_t situation; /* row of `situation` */
    bool aged;
    uint32_t source;  /* row of `source`: the battery; ID_NONE when it is none */
    uint32_t battery; /* row of `battery` */
    double load_a;    /* what hangs on it after all actions, at nominal voltage */
    double usable;    /* share of the capacity */
    double plain_min; /* INFINITY without load */
    double asked_min; /* NAN when nothing is asked */
} LoadsEndurance;

/* A battery in a phase with the engine off. */
typedef struct LoadsParked {
    uint32_t phase;
    uint32_t source;
    uint32_t battery;
    double drain_a;
    double days_day; /* new battery; INFINITY without drain */
    double aged_day;
    const char *live; /* buses with voltage, by name, separated by blanks */
} LoadsParked;

typedef struct Loads {
    uint32_t bus_count;
    double *bus_a;              /* [phase * bus_count + bus], by the bus they are reported under */
    bool *bus_used;             /* by bus: something is reported under it */
    double *total_a;            /* by phase */
    LoadsMargin *margins;       /* by phase */
    LoadsEndurance *endurances; /* situations in order, new before aged */
    uint32_t endurance_count;
    LoadsParked *parked; /* phases in order, then sources */
    uint32_t parked_count;
} Loads;

/* Findings: loads.rating, loads.available, loads.carried, loads.parked. (loads.endurance is said by
 * endurance_run, which knows the solved minutes too.) Always returns true. */
bool loads_run(Arena *out, const Model *model, const Supply *supply, Loads *loads,
               Findings *findings);

/* Amps of a load in a situation: as in its phase, 0 when an action puts its port off; a coil by its
 * owner's position. */
double loads_situation_a(const Model *model, const Supply *supply, const char *const *positions,
                         uint32_t situation, uint32_t actions, uint32_t load);

/* Appends rows of load_total, and the plain columns of supply_margin, to `results`. */
void loads_rows(Arena *arena, const Model *model, const Loads *loads, TableSet *results);

/* Lines that say where a number comes from, one a line: of a bus total (`bus` ID_NONE: of the
 * phase), of a margin, of a battery's minutes. */
void loads_why_total(Buffer *out, const Model *model, const Supply *supply, const Loads *loads,
                     uint32_t phase, BusId bus);
void loads_why_margin(Buffer *out, const Model *model, const Loads *loads, uint32_t phase);
void loads_why_endurance(Buffer *out, const Model *model, const Supply *supply, const Loads *loads,
                         uint32_t endurance);

#endif
