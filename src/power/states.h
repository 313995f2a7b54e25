/* Which states the elements of a network are in. In: a point whose states are a first guess. Out:
 * states that no element wants to leave, with the voltages that belong to them. */
#ifndef POWER_STATES_H
#define POWER_STATES_H

#include "power/point.h"

/* Settles the states of `point` and its voltages, in the order that solve_run() promises. The
 * status of the result; *offender_kind and *offender name the element when it is
 * SOLVE_OSCILLATES. */
SolveStatus states_settle(Point *point, NetworkKind *offender_kind, uint32_t *offender);

#endif
