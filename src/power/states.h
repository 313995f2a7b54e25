/* Which states the elements of a network are in. In: a point whose states are a first guess. Out:
 * states that no element wants to leave, with the voltages that belong to them. */
#ifndef POWER_STATES_H
#define POWER_STATES_H

#include "power/point.h"

/* Settles the states of `point` and its voltages, in the order that solve_run() promises. The
 * status of the result; *offender_kind and *offender name the element when it is
 * SOLVE_OSCILLATES. */
SolveStatus states_settle(Point *point, NetworkKind *offender_kind, uint32_t *offender);

/* One element at a time, with the voltages and the chain's current as they are: for who has found
 * out otherwise which elements to look at. Margins as in states_settle() at its end. */
bool states_diode_wrong(Point *point, uint32_t index);
NetworkAlternatorMode states_alternator_wants(Point *point, uint32_t index);
bool states_diode_rests(Point *point, uint32_t index); /* on, and carries nothing */

/* Adds the element to point->offers when it wants to change: a load that cuts out (`on`) or comes
 * back, a coil. */
void states_load_offer(Point *point, uint32_t index, bool on);
void states_coil_offer(Point *point, uint32_t index);

/* A number of 64 bits that belongs to one element: the state of the whole is the exclusive-or of
 * the numbers of what has changed. */
uint64_t states_mark(NetworkKind kind, uint32_t index);

/* Where a walk through states stands that looks for one that came before. All zero at first. */
typedef struct StatesCycle {
    uint64_t now;
    uint64_t kept; /* Brent: an earlier state, moved up at each power of two */
    uint32_t since;
    uint32_t power;
} StatesCycle;

/* Counts the changes in point->offers in; true when the state that follows has been before. */
bool states_cycle(StatesCycle *cycle, const Point *point, NetworkKind kind);

/* Leaves in point->offers those that change first. */
void states_offers_choose(Point *point);

#endif
