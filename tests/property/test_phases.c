/* The solved phases of the examples, checked from outside the solver (support/network_oracle.h):
 * every element obeys its own law, the currents at every node cancel within 1e-9 of the total,
 * sources deliver what is taken, no state wants to change, and a dense Newton on all nodes finds
 * the same voltages. */
#include "support/powered.h"

#include <lapacke.h>

#include "support/network_dense.h"
#include "support/network_oracle.h"

#define BALANCE_RATIO 1e-9
/* Volts; what a law may be off by, and two solvers apart: 1e-6 of 14 V. */
#define LAW_V 1e-8
#define APART_V 14e-6

static void check_result(Arena *arena, const Network *network, const SolveResult *result) {
    Oracle oracle = oracle_new(arena, network, result);
    double slack_a = BALANCE_RATIO * result->total_a + 1e-12;
    assert_true(oracle_balance_a(arena, network, result) <= slack_a);
    assert_true(oracle_law_v(&oracle) <= LAW_V);
    assert_int_equal(oracle_unwilling(&oracle, LAW_V, 1e-8 * result->total_a + 1e-9), 0);
    assert_true(fabs(oracle_power_ratio(&oracle)) <= BALANCE_RATIO);
}

/* The dense solver, in the states found, from 0 V. */
static void check_dense(Arena *arena, const Network *network, const SolveResult *result) {
    Oracle oracle = oracle_new(arena, network, result);
    double *v = ARENA_ARRAY(arena, double, network->node_count);
    assert_true(dense_solve(arena, &oracle, NULL, result->total_a, v) ||
                dense_solve(arena, &oracle, result->node_v, result->total_a, v));
    for (uint32_t node = 0; node < network->node_count; node++) {
        assert_near(result->node_v[node], v[node], APART_V);
    }
}

/* Solves each phase again from its own states (they must stand) and checks that point. */
static void check_phases(Powered *powered) {
    Arena *arena = &powered->job.arena;
    const Model *model = &powered->job.model;
    for (uint32_t phase = 0; phase < model->set->phase.count; phase++) {
        assert_true(powered->phases.solved[phase]);
        const SolveResult *first = &powered->phases.results[phase];
        NetworkState state = network_state_copy(arena, &powered->built.network, &first->state);
        phases_set(&powered->built, model, &powered->supply, phase,
                   powered->supply.positions[phase], &state);
        SolveResult again;
        assert_true(phases_solve(powered->phases.plan, &powered->built, &powered->supply, &state,
                                 NULL, arena, &again, NULL));
        for (uint32_t node = 0; node < powered->built.network.node_count; node++) {
            assert_near(again.node_v[node], first->node_v[node], LAW_V);
        }
        check_result(arena, &powered->built.network, &again);
        check_dense(arena, &powered->built.network, &again);
    }
}

static void check_example(const char *folder) {
    Powered powered = {.hot = true};
    job_read_folder(&powered.job, folder);
    powered_load(&powered);
    powered_solve(&powered);
    check_phases(&powered);
    arena_free(&powered.job.arena);
}

static void example_balances(void **state) {
    (void)state;
    check_example(MARLING_SOURCE_DIR "/examples/osier");
}

static void mended_example_balances(void **state) {
    (void)state;
    check_example(MARLING_SOURCE_DIR "/examples/osier_mended");
}

static void first_job_balances(void **state) {
    (void)state;
    check_example(MARLING_SOURCE_DIR "/examples/first");
}

/* The same job gives the same bytes. */
static void runs_agree(void **state) {
    (void)state;
    SolveResult results[2][16];
    Powered powered[2] = {{.hot = true}, {.hot = true}};
    for (int run = 0; run < 2; run++) {
        job_read_example(&powered[run].job);
        powered_load(&powered[run]);
        powered_solve(&powered[run]);
        for (uint32_t phase = 0; phase < powered[run].job.set.phase.count && phase < 16; phase++) {
            results[run][phase] = powered[run].phases.results[phase];
        }
    }
    const Network *network = &powered[0].built.network;
    for (uint32_t phase = 0; phase < powered[0].job.set.phase.count; phase++) {
        assert_memory_equal(results[0][phase].node_v, results[1][phase].node_v,
                            network->node_count * sizeof(double));
    }
    assert_int_equal(powered[0].job.findings.count, powered[1].job.findings.count);
    for (uint32_t i = 0; i < powered[0].endurance.count; i++) {
        assert_memory_equal(&powered[0].endurance.solved[i].minutes_min,
                            &powered[1].endurance.solved[i].minutes_min, sizeof(double));
    }
    arena_free(&powered[0].job.arena);
    arena_free(&powered[1].job.arena);
}

/* Any failed conductor, one after the other, on the same network: what later passes will do. */
static void open_conductors_balance(void **state) {
    (void)state;
    Powered powered = {.hot = true};
    job_read_example(&powered.job);
    powered_load(&powered);
    powered_solve(&powered);
    const Model *model = &powered.job.model;
    Arena *arena = &powered.job.arena;
    uint32_t phase = powered_phase(&powered, "cruise_night");
    uint32_t solved = 0;
    for (ConductorId i = 0; i < powered.wiring.conductor_count; i++) {
        uint32_t resistor = powered.built.conductor_resistor[i];
        if (resistor == NETWORK_NONE) {
            continue;
        }
        NetworkState start =
            network_state_copy(arena, &powered.built.network, &powered.phases.results[phase].state);
        phases_set(&powered.built, model, &powered.supply, phase, powered.supply.positions[phase],
                   &start);
        double kept_ohm = powered.built.network.resistors[resistor].ohm;
        powered.built.network.resistors[resistor].ohm = (double)INFINITY;
        SolveResult result;
        if (phases_solve(powered.phases.plan, &powered.built, &powered.supply, &start, NULL, arena,
                         &result, NULL)) {
            check_result(arena, &powered.built.network, &result);
            solved++;
        }
        powered.built.network.resistors[resistor].ohm = kept_ohm;
    }
    assert_true(solved > 150);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(example_balances),        cmocka_unit_test(mended_example_balances),
        cmocka_unit_test(first_job_balances),      cmocka_unit_test(runs_agree),
        cmocka_unit_test(open_conductors_balance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
