/* Every failure of the example, class by class, in every phase that failures are tried in: with the
 * devices opening in the order of time, what is lost looked up, on one thread; beside it the
 * network alone by the way of src/power/fail.h, and from nothing. Voltages of all are compared. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "app/prove.h"
#include "power/fail.h"
#include "power/faults.h"

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static const FailEdit *edits_of(const FaultsList *list, uint32_t class_id, uint32_t *count) {
    const Failure *failure = &list->failures[list->class_members[list->class_first[class_id]]];
    *count = failure->edit_count;
    return &list->edits[failure->edit_first];
}

static void bench_phase(Arena *arena, const Faults *faults, uint32_t phase) {
    const FaultsList *list = &faults->list;
    FailBase *base = faults->phases[phase].base;
    FailRun *fast = fail_run_new(arena, base);
    FailRun *full = fail_run_new(arena, base);
    FaultsTrier *trier = faults_trier_new(arena, faults);
    double best_s = HUGE_VAL;
    double best_try_s = HUGE_VAL;
    double full_s = 0;
    double apart_v = 0;
    uint32_t unsettled = 0;
    for (int round = 0; round < 3; round++) {
        double start_s = now_s();
        for (uint32_t c = 0; c < list->class_count; c++) {
            uint32_t count;
            const FailEdit *edits = edits_of(list, c, &count);
            fail_begin(fast);
            fail_apply(fast, edits, count);
        }
        best_s = fmin(best_s, now_s() - start_s);
        start_s = now_s();
        for (uint32_t c = 0; c < list->class_count; c++) {
            faults_try(trier, phase, &list->class_members[list->class_first[c]], 1);
        }
        best_try_s = fmin(best_try_s, now_s() - start_s);
    }
    FailCounts counts = *fail_counts(fast);
    for (uint32_t c = 0; c < list->class_count; c++) {
        uint32_t count;
        const FailEdit *edits = edits_of(list, c, &count);
        fail_begin(fast);
        SolveStatus status = fail_apply(fast, edits, count);
        fail_begin(full);
        double start_s = now_s();
        fail_apply_full(full, edits, count);
        full_s += now_s() - start_s;
        unsettled += status == SOLVE_OK ? 0U : 1U;
        for (uint32_t k = 0; status == SOLVE_OK && k < fail_base_network(base)->node_count; k++) {
            apart_v = fmax(apart_v, fabs(fail_node_v(fast, k) - fail_node_v(full, k)));
        }
    }
    const SolveCounts *work = &fail_base_result(base)->counts;
    printf("%-14s %8u %8u %9.2f %9.2f %9.2f  %9.4f %9.2f %8u  %.1e  (%u unknowns)\n",
           faults->model->set->phase.rows[faults->phases[phase].phase].phase, list->count,
           list->class_count, 1e3 * best_try_s, 1e3 * best_s, 1e3 * full_s,
           (double)counts.full / (double)counts.applies,
           (double)counts.newton_steps / (double)counts.applies, unsettled, apart_v,
           work->unknowns);
    fflush(stdout);
    fail_run_free(fast);
    fail_run_free(full);
    faults_trier_free(trier);
}

int main(int argc, char **argv) {
    const char *job = argc > 1 ? argv[1] : MARLING_SOURCE_DIR "/examples/osier_mended";
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    Proof proof;
    proof_run(job, &options, &proof);
    if (!proof.complete) {
        printf("%s can't be proved\n", job);
        return 1;
    }
    FaultsInput input = {
        .model = &proof.model,
        .wiring = &proof.wiring,
        .routing = &proof.routing,
        .disconnects = &proof.disconnects,
        .supply = &proof.supply,
        .built = &proof.network,
        .phases = &proof.phases,
        .rating_a = proof.sizing.rating_a,
        .service = proof.service,
    };
    Faults faults;
    Findings unheard = {.arena = &proof.arena};
    double start_s = now_s();
    faults_build(&proof.arena, &input, &faults, &unheard);
    printf("building: %.2f ms\n%-14s %8s %8s %9s %9s %9s  %9s %9s %8s  %s\n",
           1e3 * (now_s() - start_s), "phase", "failures", "classes", "tried ms", "fast ms",
           "full ms", "in full", "steps", "unsettled", "apart, V");
    for (uint32_t i = 0; i < faults.phase_count; i++) {
        bench_phase(&proof.arena, &faults, i);
    }
    proof_free(&proof);
    return 0;
}
