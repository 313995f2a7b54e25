/* A failure answered the fast way equals the same failure on a network built, ordered and factored
 * anew, and a dense Newton written apart from both: random failures, one after the other in time,
 * on aircraft and on small odd networks. The independent solver is tests/support/network_dense.h.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "../support/fail_make.h"
#include "../support/network_dense.h"
#include "../support/network_grow.h"
#include "power/fail_inner.h"

enum { AIRCRAFT = 40, AIRCRAFT_FAILURES = 60, ODD = 400, ODD_FAILURES = 6 };

/* The aim for voltages. */
#define AGREE_V 1e-6

typedef struct Tally {
    uint32_t failures, fast, unsettled, dense, differ_status;
} Tally;

/* What was done, for the one who reads a failing test. */
static void tell_edits(const FailRun *run) {
    for (size_t i = 0; i < run->edit_count; i++) {
        const FailEdit *edit = &run->edits[i];
        print_message("edit %zu: kind %d element %d index %u nodes %u %u value %g closed %d\n", i,
                      (int)edit->kind, (int)edit->element, edit->index, edit->a, edit->b,
                      edit->value, (int)edit->closed);
    }
    print_message("fast: %s, %zu bridges\n", run->is_full ? "no" : "yes", run->bridge_count);
}

static uint32_t part_root(uint32_t *root, uint32_t node) {
    while (root[node] != node) {
        root[node] = root[root[node]];
        node = root[node];
    }
    return node;
}

/* What hangs only on diodes that carry nothing has no voltage that means anything: the two ways may
 * leave such diodes on or off. Marks the nodes that are held otherwise (or by nothing at all). */
static bool *nodes_held(Arena *arena, FailRun *full) {
    const Network *n = &full->full_network;
    const SolveResult *r = &full->full;
    uint32_t *with = ARENA_ARRAY(arena, uint32_t, n->node_count);
    uint32_t *without = ARENA_ARRAY(arena, uint32_t, n->node_count);
    bool *held = ARENA_ARRAY(arena, bool, n->node_count);
    for (uint32_t i = 0; i < n->node_count; i++) {
        with[i] = without[i] = i;
    }
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            uint32_t ends[2];
            network_element_ends(n, kind, i, ends);
            bool open = (kind == NETWORK_RESISTOR && isinf(n->resistors[i].ohm)) ||
                        (kind == NETWORK_CONTACT &&
                         (!r->state.contact_closed[i] || isinf(n->contacts[i].ohm))) ||
                        (kind == NETWORK_COIL && isinf(n->coils[i].ohm)) ||
                        (kind == NETWORK_DIODE && isinf(n->diodes[i].ohm)) ||
                        (kind == NETWORK_BATTERY && isinf(n->batteries[i].ohm)) ||
                        (kind == NETWORK_LOAD && !(n->loads[i].nominal_a > 0)) ||
                        (kind == NETWORK_ALTERNATOR && !n->alternators[i].running);
            if (!open) {
                with[part_root(with, ends[0])] = part_root(with, ends[1]);
                if (kind != NETWORK_DIODE || fabs(r->diode_a[i]) > 1e-9) {
                    without[part_root(without, ends[0])] = part_root(without, ends[1]);
                }
            }
        }
    }
    for (uint32_t i = 0; i < n->node_count; i++) {
        held[i] = part_root(without, i) == part_root(without, 0) ||
                  part_root(with, i) != part_root(with, 0);
    }
    return held;
}

static double worst_apart(FailRun *fast, FailRun *full, const Network *n, const bool *held,
                          uint32_t *worst) {
    double most = 0;
    for (uint32_t i = 0; i < n->node_count; i++) {
        double apart = held[i] ? fabs(fail_node_v(fast, i) - fail_node_v(full, i)) : 0;
        if (!(apart <= most)) {
            most = apart;
            *worst = i;
        }
    }
    return most;
}

/* The list of loads lost (or gained) holds just those that fare otherwise than at the base. */
static void check_list(FailRun *run, const Network *n, const bool *held, bool lost) {
    const uint32_t *list;
    uint32_t count = lost ? fail_loads_lost(run, &list) : fail_loads_gained(run, &list);
    uint32_t k = 0;
    for (uint32_t i = 0; i < n->load_count; i++) {
        bool listed = k < count && list[k] == i;
        k += listed ? 1U : 0U;
        bool other = run->base->works[i] == lost && fail_load_works(run, i) != lost;
        if (listed != other && held[n->loads[i].plus] && held[n->loads[i].minus]) {
            tell_edits(run);
            fail_msg("load %u: %slisted", i, listed ? "" : "not ");
        }
    }
    assert_int_equal(k, count);
}

/* Readings of both runs: voltages, currents, states of loads and nodes. */
static void check_same(uint64_t seed, uint32_t number, FailRun *fast, FailRun *full,
                       const Network *n) {
    uint32_t worst = 0;
    Arena arena = {0};
    const bool *held = nodes_held(&arena, full);
    double apart = worst_apart(fast, full, n, held, &worst);
    if (!(apart <= AGREE_V)) {
        tell_edits(fast);
        fail_msg("seed %llu failure %u: node %u has %.9f V, from nothing %.9f V",
                 (unsigned long long)seed, number, worst, fail_node_v(fast, worst),
                 fail_node_v(full, worst));
    }
    for (uint32_t i = 0; i < n->load_count; i++) {
        if (!held[n->loads[i].plus] || !held[n->loads[i].minus]) {
            continue;
        }
        if (fail_load_works(fast, i) != fail_load_works(full, i) ||
            fabs(fail_load_v(fast, i) - fail_load_v(full, i)) > 2 * AGREE_V) {
            tell_edits(fast);
            fail_msg("seed %llu failure %u: load %u differs: %.9f V, from nothing %.9f V",
                     (unsigned long long)seed, number, i, fail_load_v(fast, i),
                     fail_load_v(full, i));
        }
    }
    for (uint32_t i = 0; i < n->node_count; i++) {
        if (held[i] && fail_node_state(fast, i) != fail_node_state(full, i)) {
            tell_edits(fast);
            fail_msg("seed %llu failure %u: node %u: state %d, from nothing %d",
                     (unsigned long long)seed, number, i, (int)fail_node_state(fast, i),
                     (int)fail_node_state(full, i));
        }
    }
    check_list(fast, n, held, true);
    check_list(fast, n, held, false);
    arena_free(&arena);
}

/* Currents at every node sum to nothing, with the small ohms taken at their word. */
static void check_currents(uint64_t seed, FailRun *fast, FailRun *full, const Network *n) {
    for (uint32_t i = 0; i < n->resistor_count; i++) {
        double allowed = 2 * AGREE_V / fmax(fail_base_network(fast->base)->resistors[i].ohm, 1e-9);
        double apart = fabs(fail_element_a(fast, NETWORK_RESISTOR, i) -
                            fail_element_a(full, NETWORK_RESISTOR, i));
        if (!(apart <= fmax(allowed, 1e-3))) {
            fail_msg("seed %llu: resistor %u: %g A apart", (unsigned long long)seed, i, apart);
        }
    }
}

/* The dense Newton on the network that the full run built. */
static bool check_dense(uint64_t seed, FailRun *full, FailRun *fast) {
    Arena arena = {0};
    const Network *n = &full->full_network;
    Oracle oracle = oracle_new(&arena, n, &full->full);
    double *v = ARENA_ARRAY(&arena, double, n->node_count);
    double *start = ARENA_ARRAY(&arena, double, n->node_count);
    Dice dice = dice_new(seed);
    for (uint32_t i = 0; i < n->node_count; i++) {
        start[i] = full->full.node_v[i] * dice_between(&dice, 0.99, 1.01);
    }
    bool solved = dense_solve(&arena, &oracle, start, full->full.total_a, v);
    double most = 0;
    const bool *held = nodes_held(&arena, full);
    for (uint32_t i = 0; solved && i < n->node_count; i++) {
        most = fmax(most, held[i] ? fabs(v[i] - fail_node_v(fast, i)) : 0);
    }
    arena_free(&arena);
    if (solved && most > AGREE_V) {
        fail_msg("seed %llu: dense Newton is %g V apart", (unsigned long long)seed, most);
    }
    return solved;
}

static void try_failures(uint64_t seed, Arena *arena, const Network *n, const NetworkState *start,
                         uint32_t failures, bool dense, Tally *tally) {
    SolvePlan *plan = solve_analyse(arena, n);
    FailBase *base = fail_base_new(arena, plan, n, start);
    if (fail_base_result(base)->status != SOLVE_OK) {
        return;
    }
    FailRun *fast = fail_run_new(arena, base);
    FailRun *full = fail_run_new(arena, base);
    Dice dice = dice_new(seed * 7919 + 13);
    for (uint32_t i = 0; i < failures; i++) {
        fail_begin(fast);
        fail_begin(full);
        uint32_t steps = 1 + dice_below(&dice, 3);
        for (uint32_t step = 0; step < steps; step++) {
            FailEdit edits[3];
            uint32_t count = 1 + dice_below(&dice, 3);
            for (uint32_t k = 0; k < count; k++) {
                edits[k] = fail_make(&dice, n);
            }
            SolveStatus a = fail_apply(fast, edits, count);
            SolveStatus b = fail_apply_full(full, edits, count);
            tally->failures++;
            tally->fast += fast->is_full ? 0U : 1U;
            if (a != b) {
                tell_edits(fast);
                fail_msg("seed %llu failure %u step %u: status %d, from nothing %d",
                         (unsigned long long)seed, i, step, (int)a, (int)b);
            }
            if (a != SOLVE_OK) {
                tally->unsettled++;
                break;
            }
            check_same(seed, i, fast, full, n);
            check_currents(seed, fast, full, n);
            tally->dense += dense && check_dense(seed, full, fast) ? 1U : 0U;
        }
    }
    fail_run_free(fast);
    fail_run_free(full);
}

static void aircraft_fail_alike(void **state) {
    (void)state;
    Tally tally = {0};
    for (uint64_t seed = 1; seed <= AIRCRAFT; seed++) {
        Arena arena = {0};
        Network n = grow_aircraft(&arena, seed, 60 + 10 * (uint32_t)seed);
        NetworkState start = grow_aircraft_state(&arena, &n);
        try_failures(seed, &arena, &n, &start, AIRCRAFT_FAILURES, seed <= 3, &tally);
        arena_free(&arena);
    }
    print_message("aircraft: %u failures, %u fast, %u unsettled, %u against dense Newton\n",
                  tally.failures, tally.fast, tally.unsettled, tally.dense);
    assert_true(tally.fast * 2 >= tally.failures);
}

static void odd_networks_fail_alike(void **state) {
    (void)state;
    Tally tally = {0};
    for (uint64_t seed = 1; seed <= ODD; seed++) {
        Arena arena = {0};
        Network n = grow_odd(&arena, seed);
        NetworkState start = grow_odd_state(&arena, &n, seed);
        try_failures(seed, &arena, &n, &start, ODD_FAILURES, true, &tally);
        arena_free(&arena);
    }
    print_message("odd: %u failures, %u fast, %u unsettled, %u against dense Newton\n",
                  tally.failures, tally.fast, tally.unsettled, tally.dense);
    assert_true(tally.dense >= 2000);
    assert_true(tally.fast * 4 >= tally.failures);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(aircraft_fail_alike),
        cmocka_unit_test(odd_networks_fail_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
