/* Fail: the operating point of a network after something in it has failed. In: a network whose
 * numbers are those of one phase, and the state it is in. Out: node voltages, element currents and
 * states after edits (broken, bridged, stuck, stopped ...). Edits may follow each other in time:
 * each fail_apply() goes on from the states that the one before ended in, so a contactor that let
 * go during a short stays open after the fuse has cleared it.
 *
 * The same answer as building the edited network and solving it from nothing (fail_apply_full()
 * does just that and is the fallback), but found from the base point: each edit is a change of rank
 * one, whose effect on itself and the others follows from a walk up the elimination tree; Newton
 * goes on only where a load's curve is felt. docs/theory/fail.md. */
#ifndef POWER_FAIL_H
#define POWER_FAIL_H

#include "power/solve.h"

typedef enum FailEditKind {
    FAIL_OPEN,   /* the element is broken open; an alternator or battery gives nothing */
    FAIL_HOLD,   /* contact `index` stays as `closed` says; its coil has no say any more */
    FAIL_BRIDGE, /* `value` ohm between nodes `a` and `b` (node 0 is the structure) */
    FAIL_OHM,    /* a resistor, contact, coil, diode or battery has `value` ohm */
    FAIL_VOLTS,  /* an alternator's set_v, a battery's open_v is `value` */
    FAIL_DRAW    /* a load draws `value` A at its nominal voltage (0: switched off) */
} FailEditKind;

typedef struct FailEdit {
    FailEditKind kind;
    NetworkKind element; /* all but FAIL_BRIDGE */
    uint32_t index;
    uint32_t a, b; /* FAIL_BRIDGE */
    double value;
    bool closed; /* FAIL_HOLD */
} FailEdit;

static inline FailEdit fail_open(NetworkKind element, uint32_t index) {
    return (FailEdit){.kind = FAIL_OPEN, .element = element, .index = index};
}
static inline FailEdit fail_hold(uint32_t contact, bool closed) {
    return (FailEdit){
        .kind = FAIL_HOLD, .element = NETWORK_CONTACT, .index = contact, .closed = closed};
}
static inline FailEdit fail_bridge(uint32_t a, uint32_t b, double ohm) {
    return (FailEdit){.kind = FAIL_BRIDGE, .a = a, .b = b, .value = ohm};
}
static inline FailEdit fail_value(FailEditKind kind, NetworkKind element, uint32_t index,
                                  double value) {
    return (FailEdit){.kind = kind, .element = element, .index = index, .value = value};
}

typedef struct FailBase FailBase; /* constant once made; may be shared by threads */
typedef struct FailRun FailRun;   /* scratch of one thread */

/* Work done by a run since it was made. */
typedef struct FailCounts {
    uint64_t applies;       /* calls of fail_apply() */
    uint64_t fast;          /* of these: answered without a factorisation */
    uint64_t full;          /* answered by building and solving from nothing */
    uint64_t paths;         /* walks up the elimination tree */
    uint64_t substitutions; /* of whole vectors */
    uint64_t newton_steps;
    uint64_t state_changes;
} FailCounts;

/* Copies the numbers of `network` and solves it from `start` (as solve_run() does). `plan` is one
 * of that network (or of one with the same structure) and must outlive the base; its arrays are not
 * used. The base holds the solved point; fail_base_result() says how it went. When it did not
 * converge, every run of it answers with that status. */
FailBase *fail_base_new(Arena *arena, const SolvePlan *plan, const Network *network,
                        const NetworkState *start);

/* The base point, expanded. */
const SolveResult *fail_base_result(const FailBase *base);

/* The network of the base, as copied. */
const Network *fail_base_network(const FailBase *base);

/* Scratch for runs of `base`, in `arena`. */
FailRun *fail_run_new(Arena *arena, const FailBase *base);

/* Gives back what a run holds outside its arena. */
void fail_run_free(FailRun *run);

/* Back to the base point: no edits. */
void fail_begin(FailRun *run);

/* Adds edits to those since fail_begin() and settles. An edit of an element overrides an earlier
 * one of the same kind. On a status other than SOLVE_OK the run is at the last point reached and
 * fail_offender() names the element or node; later edits may still be applied. */
SolveStatus fail_apply(FailRun *run, const FailEdit *edits, uint32_t count);

/* The same answer from nothing: a new network with all edits so far, a new order, a new
 * factorisation. For checks, and what fail_apply() falls back to. */
SolveStatus fail_apply_full(FailRun *run, const FailEdit *edits, uint32_t count);

/* What oscillates (kind and index), or NETWORK_NODE_OFFENDER and the node that did not converge. */
void fail_offender(const FailRun *run, NetworkKind *kind, uint32_t *index);
#define FAIL_OFFENDER_NODE NETWORK_KIND_COUNT

/* Reading the point reached. Voltages of dead nodes are 0. Currents as in SolveResult. */
double fail_node_v(FailRun *run, uint32_t node);
SolveNodeState fail_node_state(FailRun *run, uint32_t node);
double fail_element_a(FailRun *run, NetworkKind kind, uint32_t index);
double fail_bridge_a(FailRun *run, uint32_t bridge); /* n-th bridge since begin, a to b */
double fail_load_v(FailRun *run, uint32_t load);
bool fail_load_works(FailRun *run, uint32_t load); /* as solve_load_works() */
const NetworkState *fail_state(const FailRun *run);

/* Loads that work at the base point and not here, and the other way round, in rising order; the
 * lists live until the next fail_begin() or fail_apply(). */
uint32_t fail_loads_lost(FailRun *run, const uint32_t **loads);
uint32_t fail_loads_gained(FailRun *run, const uint32_t **loads);

const FailCounts *fail_counts(const FailRun *run);

#endif
