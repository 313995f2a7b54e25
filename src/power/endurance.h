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
} EnduranceSolved;

typedef struct Endurance {
    EnduranceSolved *solved; /* by entry of Loads.endurances */
    uint32_t count;
    uint32_t solves; /* operating points found on the way */
} Endurance;

/* Steps all situations. The pilot's actions come with their delays; the states of the network begin
 * as in the situation's phase. Findings: loads.endurance. Always returns true. */
bool endurance_run(Arena *out, const Model *model, const Supply *supply, PowerNetwork *built,
                   const Phases *phases, const Loads *loads, Endurance *endurance,
                   Findings *findings);

/* Appends rows of `endurance`. */
void endurance_rows(Arena *arena, const Model *model, const Loads *loads,
                    const Endurance *endurance, TableSet *results);

/* A line about the solved figure. */
void endurance_why(Buffer *out, const Model *model, const Loads *loads, const Endurance *endurance,
                   uint32_t entry);

#endif
