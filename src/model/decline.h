/* What the customer declined is not built: before a job is read into a model, units and panel
 * places of options that were answered with no go, and with them what only they needed: switches
 * behind those places, feeds, grounds and links that have no end left, devices without a feed,
 * aerials without a link, loads, settings and actions of what is gone. A way of a need goes only
 * when another way of that clause stays: what would make a need weaker stays and is told as
 * missing. */
#ifndef MODEL_DECLINE_H
#define MODEL_DECLINE_H

#include "table/rows.h"

/* Takes rows out of the job tables of a sorted set. True when any went: the tables as they were are
 * in *whole then (texts and rows shared), which is otherwise a copy of the set. `arena` owns the
 * shorter tables. Rows of `mount` stay: a panel shows what could stand there; a place that lost all
 * it held without being the option's own is a plugged one. */
bool decline_leave_out(Arena *arena, TableSet *set, TableSet *whole);

#endif
