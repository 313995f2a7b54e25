/* Bookkeeping of edits, and reading the point reached. */
#include "power/fail.h"

#include <string.h>

#include "base/check.h"
#include "power/fail_inner.h"

/* --- Base ------------------------------------------------------------------------------------ */

FailBase *fail_base_new(Arena *arena, const SolvePlan *plan, const Network *network,
                        const NetworkState *start) {
    FailBase *base = ARENA_NEW(arena, FailBase);
    base->network = fail_network_copy(arena, network, 0);
    base->plan = plan;
    SolvePlan *own = solve_plan_clone(arena, plan, &base->network);
    solve_run(own, start, NULL, arena, &base->result);
    base->point = solve_plan_point(own);
    base->works = ARENA_ARRAY(arena, bool, network->load_count);
    for (uint32_t i = 0; i < network->load_count; i++) {
        base->works[i] = solve_load_works(&base->network, &base->result, i);
    }
    fail_base_prepare(arena, base);
    return base;
}

const SolveResult *fail_base_result(const FailBase *base) {
    return &base->result;
}

const Network *fail_base_network(const FailBase *base) {
    return &base->network;
}

/* --- Runs ------------------------------------------------------------------------------------ */

FailRun *fail_run_new(Arena *arena, const FailBase *base) {
    FailRun *run = ARENA_NEW(arena, FailRun);
    run->base = base;
    run->lost = ARENA_ARRAY(arena, uint32_t, base->network.load_count);
    run->gained = ARENA_ARRAY(arena, uint32_t, base->network.load_count);
    if (base->fast) {
        fail_fast_new(arena, run);
    }
    fail_begin(run);
    return run;
}

void fail_run_free(FailRun *run) {
    arena_free(&run->arena);
    arena_free(&run->full_arena);
}

void fail_begin(FailRun *run) {
    if (run->base->fast) {
        fail_fast_reset(run);
    }
    run->edit_count = 0;
    run->bridge_count = 0;
    run->is_full = false;
    run->offender_kind = NETWORK_RESISTOR;
    run->offender = NETWORK_NONE;
}

static void keep_edits(FailRun *run, const FailEdit *edits, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        *ARENA_PUSH(&run->arena, run->edits, run->edit_count, run->edit_capacity) = edits[i];
        run->bridge_count += edits[i].kind == FAIL_BRIDGE ? 1U : 0U;
    }
    run->counts.applies++;
}

SolveStatus fail_apply(FailRun *run, const FailEdit *edits, uint32_t count) {
    bool first = run->edit_count == 0;
    bool fast = run->base->fast && !run->is_full;
    if (fast && !first) {
        network_state_set(&run->before, &run->base->network, fail_state(run));
    }
    keep_edits(run, edits, count);
    if (run->base->result.status != SOLVE_OK) {
        return run->base->result.status;
    }
    SolveStatus status = SOLVE_OK;
    if (fast && fail_fast_apply(run, edits, count, &status)) {
        run->counts.fast++;
        return status;
    }
    run->offender_kind = NETWORK_RESISTOR;
    run->offender = NETWORK_NONE;
    const NetworkState *from = first ? &run->base->result.state : &run->before;
    return fail_full_settle(run, fast ? from : fail_state(run));
}

SolveStatus fail_apply_full(FailRun *run, const FailEdit *edits, uint32_t count) {
    keep_edits(run, edits, count);
    if (run->base->result.status != SOLVE_OK) {
        return run->base->result.status;
    }
    return fail_full_settle(run, fail_state(run));
}

void fail_offender(const FailRun *run, NetworkKind *kind, uint32_t *index) {
    *kind = run->offender_kind;
    *index = run->offender;
}

/* --- Reading --------------------------------------------------------------------------------- */

/* The full result reached; NULL when the point is that of the fast way. */
static const SolveResult *reached(const FailRun *run) {
    if (run->is_full) {
        return &run->full;
    }
    return run->base->fast ? NULL : &run->base->result;
}

double fail_node_v(FailRun *run, uint32_t node) {
    SolveNodeState state;
    const SolveResult *result = reached(run);
    return result != NULL ? result->node_v[node] : fail_fast_node_v(run, node, &state);
}

SolveNodeState fail_node_state(FailRun *run, uint32_t node) {
    SolveNodeState state;
    const SolveResult *result = reached(run);
    if (result != NULL) {
        return result->node_state[node];
    }
    fail_fast_node_v(run, node, &state);
    return state;
}

double fail_element_a(FailRun *run, NetworkKind kind, uint32_t index) {
    const SolveResult *result = reached(run);
    if (result == NULL) {
        return fail_fast_element_a(run, kind, index);
    }
    switch (kind) {
    case NETWORK_RESISTOR:
        return result->resistor_a[index];
    case NETWORK_CONTACT:
        return result->contact_a[index];
    case NETWORK_COIL:
        return result->coil_a[index];
    case NETWORK_DIODE:
        return result->diode_a[index];
    case NETWORK_BATTERY:
        return result->battery_a[index];
    case NETWORK_ALTERNATOR:
        return result->alternator_a[index];
    case NETWORK_LOAD:
        return result->load_a[index];
    case NETWORK_KIND_COUNT:
    default:
        CHECK(false);
        return 0;
    }
}

double fail_bridge_a(FailRun *run, uint32_t bridge) {
    CHECK(bridge < run->bridge_count);
    if (run->is_full) {
        return run->full.resistor_a[run->base->network.resistor_count + bridge];
    }
    return fail_fast_bridge_a(run, bridge);
}

double fail_load_v(FailRun *run, uint32_t load) {
    const SolveResult *result = reached(run);
    return result != NULL ? result->load_v[load] : fail_fast_load_v(run, load);
}

bool fail_load_works(FailRun *run, uint32_t load) {
    if (run->is_full) {
        return solve_load_works(&run->full_network, &run->full, load);
    }
    return run->base->fast ? fail_fast_load_works(run, load) : run->base->works[load];
}

const NetworkState *fail_state(const FailRun *run) {
    const SolveResult *result = reached(run);
    return result != NULL ? &result->state : &run->point->state;
}

/* Loads that did (`worked`) at the base what they do not do now. */
static uint32_t list_loads(FailRun *run, bool worked, uint32_t *list) {
    uint32_t count = 0;
    if (reached(run) != NULL) {
        for (uint32_t i = 0; i < run->base->network.load_count; i++) {
            if (run->base->works[i] == worked && fail_load_works(run, i) != worked) {
                list[count++] = i;
            }
        }
        return count;
    }
    for (uint32_t k = 0; k < run->load_count; k++) {
        uint32_t i = run->loads[k];
        if (run->base->works[i] != worked || fail_load_works(run, i) == worked) {
            continue;
        }
        uint32_t at = count++; /* few, and nearly in order */
        for (; at > 0 && list[at - 1] > i; at--) {
            list[at] = list[at - 1];
        }
        list[at] = i;
    }
    return count;
}

uint32_t fail_loads_lost(FailRun *run, const uint32_t **loads) {
    *loads = run->lost;
    return list_loads(run, true, run->lost);
}

uint32_t fail_loads_gained(FailRun *run, const uint32_t **loads) {
    *loads = run->gained;
    return list_loads(run, false, run->gained);
}

const FailCounts *fail_counts(const FailRun *run) {
    return &run->counts;
}
