/* Crank dip: what the buses fall to while the starter turns, plain (V = Voc - I x sum of R) and on
 * the solved network, and which boxes start again afterwards. */
#ifndef POWER_CRANK_H
#define POWER_CRANK_H

#include "power/phases.h"

/* Fills phases->crank from the solved phase whose engine speed is `cranking`: the starter's feed is
 * closed (its contactors through their coils) and it draws job.crank_a. Findings: solve.crank,
 * solve.held. */
void crank_run(Arena *out, const Model *model, const Supply *supply, PowerNetwork *built,
               Phases *phases, Findings *findings);

/* The first phase in time in which the engine is cranked and that was solved, ID_NONE. */
uint32_t crank_phase(const Model *model, const Phases *phases);

/* Positions of that phase with the starter's feed closed; in `out`. */
const char *const *crank_positions(Arena *out, const Model *model, const Supply *supply,
                                   uint32_t phase);

#endif
