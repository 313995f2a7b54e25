/* Inside of fail: what its sources share. Not for others. */
#ifndef POWER_FAIL_INNER_H
#define POWER_FAIL_INNER_H

#include "power/fail.h"
#include "power/point.h"

struct FailBase {
    const SolvePlan *plan;
    Network network; /* own copies of all arrays */
    SolveResult result;
};

struct FailRun {
    const FailBase *base;
    Arena arena; /* the lists below, given back by fail_run_free() */
    FailEdit *edits;
    size_t edit_count;
    size_t edit_capacity;
    size_t bridge_count;
    NetworkKind offender_kind;
    uint32_t offender;

    bool is_full; /* the point reached is in `full` */
    Arena full_arena;
    Network full_network;
    SolveResult full;

    uint32_t *lost;
    uint32_t *gained;
    FailCounts counts;
};

/* Copies of the arrays of `from`, with room for `bridges` more resistors (not counted). */
Network fail_network_copy(Arena *arena, const Network *from, uint32_t bridges);

/* Carries out one edit on a network and a state. A bridge becomes the next resistor. */
void fail_edit_network(Network *network, NetworkState *state, const FailEdit *edit);

/* Settles all edits of the run from nothing, into run->full. */
SolveStatus fail_full_settle(FailRun *run);

#endif
