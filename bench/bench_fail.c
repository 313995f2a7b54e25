/* Single failures per second on aircraft of 300, 3,000 and 30,000 wires: every wire broken open,
 * and the far end of every wire shorted to structure, by (a) building the failed network, ordering
 * and factoring it anew; (b) the same analysis with a new numeric factorisation at each step of
 * Newton, from the voltages before the failure; (c) the way of src/power/fail.h. All three answer
 * the same failures with series-equivalent ones merged; beside the distinct ones stand the failures
 * they stand for. (a) and (b) run on an even sample where all would take long. Voltages of the
 * sample are compared. Last line of each size: work done by (c), which is what is gated; seconds
 * are told. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/parallel.h"
#include "power/fail.h"
#include "support/network_grow.h"

enum { SIZE_COUNT = 3, SAMPLE_A = 60, SAMPLE_B = 120, SAMPLE_C = 4000 };
#define SAMPLE_S 2.0 /* no sample goes on longer */
#define SHORT_OHM 0.005

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The failures of one kind, distinct ones first by chain (opens) or by node (shorts). */
typedef struct Failures {
    FailEdit *edits;
    uint32_t distinct;
    uint32_t all;
} Failures;

/* Opens: one for each run of wires that nothing leaves, found by walking nodes with two elements.
 * Each resistor stands for itself; those of one chain get the same mark. */
static void chains_mark(Arena *arena, const Network *n, uint32_t *mark) {
    uint32_t *degree = ARENA_ARRAY(arena, uint32_t, n->node_count);
    uint32_t *root = ARENA_ARRAY(arena, uint32_t, n->resistor_count);
    uint32_t *at = ARENA_ARRAY(arena, uint32_t, n->node_count);
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            uint32_t ends[2];
            network_element_ends(n, kind, i, ends);
            degree[ends[0]]++;
            degree[ends[1]]++;
        }
    }
    memset(at, 0xff, n->node_count * sizeof *at);
    for (uint32_t i = 0; i < n->resistor_count; i++) {
        root[i] = i;
        const uint32_t ends[2] = {n->resistors[i].a, n->resistors[i].b};
        for (int end = 0; end < 2; end++) {
            uint32_t node = ends[end];
            if (node == 0 || degree[node] != 2) {
                continue;
            }
            if (at[node] != NETWORK_NONE) {
                uint32_t a = i;
                uint32_t b = at[node];
                while (root[a] != a) {
                    a = root[a];
                }
                while (root[b] != b) {
                    b = root[b];
                }
                root[a > b ? a : b] = a > b ? b : a;
            }
            at[node] = i;
        }
    }
    for (uint32_t i = 0; i < n->resistor_count; i++) {
        uint32_t a = i;
        while (root[a] != a) {
            a = root[a];
        }
        mark[i] = a;
    }
}

static Failures opens_list(Arena *arena, const Network *n) {
    uint32_t *mark = ARENA_ARRAY(arena, uint32_t, n->resistor_count);
    chains_mark(arena, n, mark);
    Failures failures = {.edits = ARENA_ARRAY(arena, FailEdit, n->resistor_count)};
    for (uint32_t i = 0; i < n->resistor_count; i++) {
        failures.all++;
        if (mark[i] == i) {
            failures.edits[failures.distinct++] = fail_open(NETWORK_RESISTOR, i);
        }
    }
    return failures;
}

static Failures shorts_list(Arena *arena, const Network *n) {
    Failures failures = {.edits = ARENA_ARRAY(arena, FailEdit, 2 * (size_t)n->resistor_count)};
    bool *seen = ARENA_ARRAY(arena, bool, n->node_count);
    seen[0] = true;
    for (uint32_t i = 0; i < n->resistor_count; i++) {
        const uint32_t ends[2] = {n->resistors[i].a, n->resistors[i].b};
        for (int end = 0; end < 2; end++) {
            failures.all++;
            if (!seen[ends[end]]) {
                seen[ends[end]] = true;
                failures.edits[failures.distinct++] = fail_bridge(ends[end], 0, SHORT_OHM);
            }
        }
    }
    return failures;
}

/* --- (b) ------------------------------------------------------------------------------------- */

/* A network with a broken bridge to the structure for each short of the sample, so that a short is
 * a change of numbers. */
typedef struct Numeric {
    Network network;
    NetworkState state;
    SolvePlan *plan;
    double *start_v;
    uint32_t first; /* of the bridges */
    bool shorts;
} Numeric;

static uint32_t sample_of(uint32_t i, uint32_t sample, uint32_t count) {
    return (uint32_t)((uint64_t)i * count / sample);
}

static Numeric *numeric_new(Arena *arena, const FailBase *base, const Failures *failures,
                            bool shorts, uint32_t sample) {
    const Network *from = fail_base_network(base);
    Numeric *numeric = ARENA_NEW(arena, Numeric);
    *numeric = (Numeric){.network = *from, .first = from->resistor_count, .shorts = shorts};
    numeric->network.resistors =
        ARENA_ARRAY(arena, NetworkResistor, (size_t)from->resistor_count + sample);
    memcpy(numeric->network.resistors, from->resistors,
           from->resistor_count * sizeof *from->resistors);
    for (uint32_t i = 0; shorts && i < sample; i++) {
        const FailEdit *edit = &failures->edits[sample_of(i, sample, failures->distinct)];
        numeric->network.resistors[numeric->network.resistor_count++] =
            (NetworkResistor){edit->a, edit->b, (double)INFINITY};
    }
    numeric->plan = solve_analyse(arena, &numeric->network);
    numeric->start_v = fail_base_result(base)->node_v;
    numeric->state = network_state_copy(arena, from, &fail_base_result(base)->state);
    return numeric;
}

static void numeric_run(Numeric *numeric, const FailEdit *edit, uint32_t i, SolveResult *result) {
    NetworkResistor *resistor =
        &numeric->network.resistors[numeric->shorts ? numeric->first + i : edit->index];
    double keep = resistor->ohm;
    resistor->ohm = numeric->shorts ? edit->value : (double)INFINITY;
    SolveOptions options = {.start_v = numeric->start_v, .balance_ratio = 1e-10};
    solve_run(numeric->plan, &numeric->state, &options, NULL, result);
    resistor->ohm = keep;
}

/* --- (c) ------------------------------------------------------------------------------------- */

typedef struct Sweep {
    FailRun *runs[2];
    const Failures *failures;
    uint32_t tried; /* of them, evenly */
    uint64_t lost[2];
} Sweep;

enum { SWEEP_BLOCK = 16 };

static void sweep_block(void *context, unsigned thread, uint32_t block) {
    Sweep *sweep = context;
    uint32_t end = (block + 1) * SWEEP_BLOCK;
    end = end < sweep->tried ? end : sweep->tried;
    for (uint32_t i = block * SWEEP_BLOCK; i < end; i++) {
        const uint32_t *loads;
        fail_begin(sweep->runs[thread]);
        uint32_t which = sample_of(i, sweep->tried, sweep->failures->distinct);
        fail_apply(sweep->runs[thread], &sweep->failures->edits[which], 1);
        sweep->lost[thread] += fail_loads_lost(sweep->runs[thread], &loads);
    }
}

static double sweep_run(Sweep *sweep, unsigned threads) {
    uint32_t blocks = (sweep->tried + SWEEP_BLOCK - 1) / SWEEP_BLOCK;
    double best_s = HUGE_VAL;
    double spent_s = 0;
    for (int k = 0; k < 40 && (k < 1 || spent_s < 0.5); k++) {
        double start_s = now_s();
        parallel_run(threads, blocks, sweep_block, sweep);
        double took_s = now_s() - start_s;
        spent_s += took_s;
        best_s = took_s < best_s ? took_s : best_s;
    }
    return best_s;
}

/* --- One table row --------------------------------------------------------------------------- */

static void bench_kind(Arena *arena, const FailBase *base, const Failures *failures, bool shorts) {
    uint32_t sample_a = failures->distinct < SAMPLE_A ? failures->distinct : SAMPLE_A;
    uint32_t sample_b = failures->distinct < SAMPLE_B ? failures->distinct : SAMPLE_B;
    FailRun *full = fail_run_new(arena, base);
    Sweep sweep = {.failures = failures,
                   .tried = failures->distinct < SAMPLE_C ? failures->distinct : SAMPLE_C,
                   .runs = {fail_run_new(arena, base), fail_run_new(arena, base)}};
    double apart_v = 0;
    double a_s = 0;
    uint32_t tried_a = 0;
    for (uint32_t i = 0; i < sample_a && a_s < SAMPLE_S; i++, tried_a++) {
        const FailEdit *edit = &failures->edits[sample_of(i, sample_a, failures->distinct)];
        double start_s = now_s();
        fail_begin(full);
        fail_apply_full(full, edit, 1);
        a_s += now_s() - start_s;
        fail_begin(sweep.runs[0]);
        fail_apply(sweep.runs[0], edit, 1);
        for (uint32_t node = 0; node < fail_base_network(base)->node_count; node++) {
            apart_v =
                fmax(apart_v, fabs(fail_node_v(full, node) - fail_node_v(sweep.runs[0], node)));
        }
    }
    Numeric *numeric = numeric_new(arena, base, failures, shorts, sample_b);
    SolveCounts work = {0};
    double start_s = now_s();
    uint32_t tried_b = 0;
    for (uint32_t i = 0; i < sample_b && now_s() - start_s < SAMPLE_S; i++, tried_b++) {
        SolveResult result;
        numeric_run(numeric, &failures->edits[sample_of(i, sample_b, failures->distinct)], i,
                    &result);
        work.refactorisations += result.counts.refactorisations + result.counts.factorisations;
    }
    double b_s = now_s() - start_s;
    FailCounts before = *fail_counts(sweep.runs[0]);
    double one_s = sweep_run(&sweep, 1);
    FailCounts after = *fail_counts(sweep.runs[0]);
    double two_s = sweep_run(&sweep, 2);
    double applies = (double)(after.applies - before.applies);
    double a_per_s = tried_a / a_s;
    double b_per_s = tried_b / b_s;
    double c_per_s = sweep.tried / one_s;
    printf("%-7s %8u %8u %10.0f %10.0f %10.0f %10.0f %11.0f %7.0f %7.0f  %.1e\n",
           shorts ? "shorts" : "opens", failures->all, failures->distinct, a_per_s, b_per_s,
           c_per_s, sweep.tried / two_s, c_per_s * failures->all / failures->distinct,
           c_per_s / b_per_s, c_per_s / a_per_s, apart_v);
    printf("        a failure costs: (b) %.1f factorisations; (c) %.2f paths, %.2f substitutions, "
           "%.2f steps, %.2f state changes, %.4f answered in full\n",
           (double)work.refactorisations / tried_b, (double)(after.paths - before.paths) / applies,
           (double)(after.substitutions - before.substitutions) / applies,
           (double)(after.newton_steps - before.newton_steps) / applies,
           (double)(after.state_changes - before.state_changes) / applies,
           (double)(after.full - before.full) / applies);
    fflush(stdout);
    fail_run_free(full);
    fail_run_free(sweep.runs[0]);
    fail_run_free(sweep.runs[1]);
}

int main(int argc, char **argv) {
    uint32_t largest = argc > 1 ? (uint32_t)atoi(argv[1]) : UINT32_MAX;
    static const uint32_t SIZES[SIZE_COUNT] = {300, 3000, 30000};
    printf("single failures per second; ratios are distinct failures of (c) on one thread against "
           "those of (b) and (a)\n");
    for (int i = 0; i < SIZE_COUNT && SIZES[i] <= largest; i++) {
        Arena arena = {0};
        Network network = grow_aircraft(&arena, 7, SIZES[i]);
        NetworkState start = grow_aircraft_state(&arena, &network);
        SolvePlan *plan = solve_analyse(&arena, &network);
        FailBase *base = fail_base_new(&arena, plan, &network, &start);
        Failures opens = opens_list(&arena, fail_base_network(base));
        Failures shorts = shorts_list(&arena, fail_base_network(base));
        printf("\n%u wires, %u unknowns\n%-7s %8s %8s %10s %10s %10s %10s %11s %7s %7s  %s\n",
               SIZES[i], fail_base_result(base)->counts.unknowns, "", "failures", "distinct",
               "(a)/s", "(b)/s", "(c)/s", "2 threads", "merged/s", "c:b", "c:a", "apart, V");
        bench_kind(&arena, base, &opens, false);
        bench_kind(&arena, base, &shorts, true);
        arena_free(&arena);
    }
    return 0;
}
