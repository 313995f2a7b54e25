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
    fail_begin(run);
    return run;
}

void fail_run_free(FailRun *run) {
    arena_free(&run->arena);
    arena_free(&run->full_arena);
}

void fail_begin(FailRun *run) {
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
    return fail_apply_full(run, edits, count);
}

SolveStatus fail_apply_full(FailRun *run, const FailEdit *edits, uint32_t count) {
    keep_edits(run, edits, count);
    if (run->base->result.status != SOLVE_OK) {
        return run->base->result.status;
    }
    return fail_full_settle(run);
}

void fail_offender(const FailRun *run, NetworkKind *kind, uint32_t *index) {
    *kind = run->offender_kind;
    *index = run->offender;
}

/* --- Reading --------------------------------------------------------------------------------- */

static const SolveResult *reached(const FailRun *run) {
    return run->is_full ? &run->full : &run->base->result;
}

double fail_node_v(const FailRun *run, uint32_t node) {
    return reached(run)->node_v[node];
}

SolveNodeState fail_node_state(const FailRun *run, uint32_t node) {
    return reached(run)->node_state[node];
}

double fail_element_a(const FailRun *run, NetworkKind kind, uint32_t index) {
    const SolveResult *result = reached(run);
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

double fail_bridge_a(const FailRun *run, uint32_t bridge) {
    CHECK(bridge < run->bridge_count);
    return run->is_full ? run->full.resistor_a[run->base->network.resistor_count + bridge] : 0;
}

double fail_load_v(const FailRun *run, uint32_t load) {
    return reached(run)->load_v[load];
}

bool fail_load_works(const FailRun *run, uint32_t load) {
    return run->is_full ? solve_load_works(&run->full_network, &run->full, load)
                        : solve_load_works(&run->base->network, &run->base->result, load);
}

const NetworkState *fail_state(const FailRun *run) {
    return &reached(run)->state;
}

static uint32_t list_loads(FailRun *run, bool worked, uint32_t *list) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < run->base->network.load_count; i++) {
        bool base = solve_load_works(&run->base->network, &run->base->result, i);
        if (base == worked && fail_load_works(run, i) != worked) {
            list[count++] = i;
        }
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
