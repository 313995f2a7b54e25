/* Every failure of the example aircraft and of the first job, in every phase that failures are
 * tried in: answered the fast way and from nothing, all node voltages, loads and states alike. What
 * it costs is counted, not timed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>

#include "app/prove.h"
#include "power/faults.h"

#define AGREE_V 1e-6

typedef struct Tally {
    uint32_t tried, unsettled;
    uint64_t fast, full, steps;
    double apart_v;
} Tally;

static void check_alike(const Failure *failure, FailRun *fast, FailRun *full, const Network *n,
                        Tally *tally) {
    for (uint32_t k = 0; k < n->node_count; k++) {
        double apart_v = fabs(fail_node_v(fast, k) - fail_node_v(full, k));
        if (!(apart_v <= AGREE_V)) {
            fail_msg("%s: node %u has %.9f V, from nothing %.9f V", failure->key, k,
                     fail_node_v(fast, k), fail_node_v(full, k));
        }
        tally->apart_v = fmax(tally->apart_v, apart_v);
    }
    for (uint32_t i = 0; i < n->load_count; i++) {
        if (fail_load_works(fast, i) != fail_load_works(full, i)) {
            fail_msg("%s: load %u works %d, from nothing %d", failure->key, i,
                     (int)fail_load_works(fast, i), (int)fail_load_works(full, i));
        }
    }
}

static void try_phase(Arena *arena, const Faults *faults, uint32_t phase, Tally *tally) {
    const FaultsList *list = &faults->list;
    FailBase *base = faults->phases[phase].base;
    const Network *n = fail_base_network(base);
    FailRun *fast = fail_run_new(arena, base);
    FailRun *full = fail_run_new(arena, base);
    for (uint32_t i = 0; i < list->count; i++) {
        const Failure *failure = &list->failures[i];
        const FailEdit *edits = &list->edits[failure->edit_first];
        fail_begin(fast);
        fail_begin(full);
        SolveStatus a = fail_apply(fast, edits, failure->edit_count);
        SolveStatus b = fail_apply_full(full, edits, failure->edit_count);
        if (a != b) {
            fail_msg("%s: status %d, from nothing %d", failure->key, (int)a, (int)b);
        }
        tally->tried++;
        tally->unsettled += a == SOLVE_OK ? 0U : 1U;
        if (a == SOLVE_OK) {
            check_alike(failure, fast, full, n, tally);
        }
    }
    tally->fast += fail_counts(fast)->fast;
    tally->full += fail_counts(fast)->full;
    tally->steps += fail_counts(fast)->newton_steps;
    fail_run_free(fast);
    fail_run_free(full);
}

static Tally try_job(const char *job) {
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_results = true};
    Proof proof;
    proof_run(job, &options, &proof);
    assert_true(proof.complete);
    FaultsInput input = {
        .model = &proof.model,
        .wiring = &proof.wiring,
        .routing = &proof.routing,
        .disconnects = &proof.disconnects,
        .supply = &proof.supply,
        .built = &proof.network,
        .phases = &proof.phases,
        .rating_a = proof.sizing.rating_a,
    };
    Faults faults;
    Findings unheard = {.arena = &proof.arena};
    faults_build(&proof.arena, &input, &faults, &unheard);
    Tally tally = {0};
    for (uint32_t phase = 0; phase < faults.phase_count; phase++) {
        try_phase(&proof.arena, &faults, phase, &tally);
    }
    print_message("%s: %u tried, %llu fast, %llu in full, %.2f steps each, %u unsettled, at most "
                  "%.1e V apart\n",
                  job, tally.tried, (unsigned long long)tally.fast, (unsigned long long)tally.full,
                  (double)tally.steps / tally.tried, tally.unsettled, tally.apart_v);
    proof_free(&proof);
    return tally;
}

static void example_fails_alike(void **state) {
    (void)state;
    Tally tally = try_job(MARLING_SOURCE_DIR "/examples/osier_mended");
    assert_true(tally.tried >= 4000);
    assert_true(tally.full * 5 <= tally.tried);
    assert_true(tally.steps <= 6 * (uint64_t)tally.tried);
}

static void first_fails_alike(void **state) {
    (void)state;
    Tally tally = try_job(MARLING_SOURCE_DIR "/examples/first");
    assert_true(tally.tried >= 100);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(example_fails_alike),
        cmocka_unit_test(first_fails_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
