/* Endurance: minutes of a battery stepped through the solved network, new and aged, until the first
 * box on it goes out or its usable share is drawn. Stands beside the plain figure of
 * power/loads.h; the shorter of the two is compared with what is asked. docs/theory/loads.md. */
#ifndef POWER_ENDURANCE_H
#define POWER_ENDURANCE_H

#include "power/loads.h"
#include "power/phases.h"

typedef struct EnduranceSolved {
    double minutes_min;    /* INFINITY: nothing draws; NAN: not found (see ends_with) */
    const char *ends_with; /* what ends it */
    uint32_t load;         /* the box that goes out first; ID_NONE when none does */
    double cells_degc;     /* temperature of the cells; NAN: not derated */
} EnduranceSolved;

/* A moment on the way of one battery. */
typedef struct EndurancePoint {
    double minute_min;
    double charge_pct; /* of what the battery holds in its state of age */
    double volts_v;    /* at its terminals */
    double amps_a;     /* it gives */
    double lowest_v;   /* at the worst box that hangs on it; NAN when none works */
    const char *event; /* what happens there, "" for nothing */
} EndurancePoint;

typedef struct EnduranceTrace {
    EndurancePoint *points;
    size_t count;
    size_t capacity;
} EnduranceTrace;

typedef struct Endurance {
    EnduranceSolved *solved; /* by entry of Loads.endurances */
    EnduranceTrace
        *traces;           /* the same, until the battery is empty; NULL when none were asked for */
    EnduranceSolved *cold; /* aged and as cold as its zone ever is; ends_with "": not run. NULL
                              without traces */
    uint32_t count;
    uint32_t solves; /* operating points found on the way */
} Endurance;

/* Steps all situations; `traced`: keeps the moments on the way, with every box that goes out, and
 * runs aged batteries cold as well. The pilot's actions come with their
 * delays; the states of the network begin as in the situation's phase. Findings: loads.endurance.
 * Always returns true. */
bool endurance_run(Arena *out, const Model *model, const Supply *supply, PowerNetwork *built,
                   const Phases *phases, const Loads *loads, bool traced, Endurance *endurance,
                   Findings *findings);

/* Appends rows of `endurance` and, of a traced run, `endurance_step`. */
void endurance_rows(Arena *arena, const Model *model, const Loads *loads,
                    const Endurance *endurance, TableSet *results);

/* A line about the solved figure. */
void endurance_why(Buffer *out, const Model *model, const Loads *loads, const Endurance *endurance,
                   uint32_t entry);

#endif
