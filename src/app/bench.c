#include "app/bench.h"

#include <time.h>

#include "app/bench_items.h"
#include "app/judge.h"
#include "app/ring.h"
#include "base/check.h"
#include "base/parallel.h"
#include "shop/ringout.h"

static double now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* --- steps --------------------------------------------------------------------------------------
 */

static void make_ends(Proof *proof) {
    ends_build(&proof->arena, &proof->model, &proof->wiring, &proof->routing, &proof->disconnects,
               proof->sizing.awg, &proof->bench->ends);
}

static void make_harness(Proof *proof) {
    Bench *bench = proof->bench;
    bench_step(proof, BENCH_ENDS);
    harness_build(&proof->arena, &bench->ends, &bench->harness, &bench->findings);
    harness_check_drops(&bench->harness, &proof->supply, &proof->sizing, &bench->findings);
    harness_rows(&proof->arena, &bench->harness, &proof->set);
}

static void make_fit(Proof *proof) {
    FitInput input = {
        .model = &proof->model,
        .wiring = &proof->wiring,
        .routing = &proof->routing,
        .bundles = proof->bundles,
        .awg = proof->sizing.awg,
        .threads = parallel_processors(),
    };
    fit_run(&proof->arena, &input, &proof->bench->fits, &proof->bench->findings);
    fit_rows(&proof->arena, &proof->model, &proof->bench->fits, &proof->set);
}

static void make_cutlist(Proof *proof) {
    Bench *bench = proof->bench;
    bench_step(proof, BENCH_HARNESS);
    cutlist_run(&proof->arena, &bench->harness, &bench->cutlist, &bench->findings);
    cutlist_rows(&proof->arena, &bench->harness, &bench->cutlist, &proof->set);
}

static void make_prep(Proof *proof) {
    Bench *bench = proof->bench;
    bench_step(proof, BENCH_HARNESS);
    prep_build(&proof->arena, &bench->harness, &bench->prep, &bench->findings);
    prep_rows(&proof->arena, &bench->prep, &proof->set);
}

static void make_work(Proof *proof) {
    Bench *bench = proof->bench;
    bench_step(proof, BENCH_PREP);
    work_build(&proof->arena, &bench->prep, &bench->work, &bench->findings);
    work_rows(&proof->arena, &bench->work, &proof->set);
}

static void make_board(Proof *proof) {
    Bench *bench = proof->bench;
    bench_step(proof, BENCH_HARNESS);
    board_lay(&proof->arena, &bench->harness, proof->bundles, &bench->boards, &bench->findings);
    board_rows(&proof->arena, &bench->boards, &proof->set);
}

static void make_ringout(Proof *proof) {
    RigInput input = ring_input(&proof->arena, proof);
    ringout_run(&proof->arena, &input, &proof->set);
}

/* Of the ticks that came with the job: those that count. */
static void make_record(Proof *proof) {
    const TableSet *set = &proof->set;
    for (size_t m = 0; m < set->module.count && set->bench_tick.count > 0; m++) {
        Arena scratch = {0};
        BenchItems items;
        bench_items(&scratch, proof, (ModuleId)m, &items);
        const BenchTickRow **done = bench_done(&scratch, proof, &items, set);
        for (size_t i = 0; i < items.count; i++) {
            if (done[i] != NULL) {
                BenchRecordRow *row = table_append(&proof->set, &proof->arena, TABLE_bench_record);
                row->module = set->module.rows[m].module;
                row->place = (int32_t)i + 1;
                row->operation = done[i]->operation;
                row->item = done[i]->item;
                row->built = done[i]->built;
                row->tool = done[i]->tool;
                row->lot = done[i]->lot;
                row->pull_n = done[i]->pull_n;
                row->person = done[i]->person;
                row->time = done[i]->time;
            }
        }
        arena_free(&scratch);
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void bench_step(Proof *proof, BenchStep step) {
    typedef void (*Make)(Proof *);
    static const Make MAKES[BENCH_STEP_COUNT] = {
#define BENCH_STEP_MAKE(id, name, function) make_##function,
        BENCH_STEPS(BENCH_STEP_MAKE)
#undef BENCH_STEP_MAKE
    };
    CHECK(proof->complete && step < BENCH_STEP_COUNT);
    if (proof->bench == NULL) {
        proof->bench = ARENA_NEW(&proof->arena, Bench);
        proof->bench->findings.arena = &proof->arena;
    }
    if (proof->bench->done[step]) {
        return;
    }
    double start_s = now_s();
    MAKES[step](proof);
    proof->bench->done[step] = true;
    proof->bench->step_s[step] = now_s() - start_s;
}

bool bench_table(Proof *proof, TableId table) {
    typedef struct TableStep {
        TableId table;
        BenchStep step;
    } TableStep;
    static const TableStep STEPS[] = {
#define BENCH_TABLE_STEP(table, step) {TABLE_##table, BENCH_##step},
        BENCH_TABLES(BENCH_TABLE_STEP)
#undef BENCH_TABLE_STEP
    };
    if (table == TABLE_bench_finding) {
        bench_all(proof);
        return true;
    }
    for (size_t i = 0; i < sizeof STEPS / sizeof *STEPS; i++) {
        if (STEPS[i].table == table) {
            bench_step(proof, STEPS[i].step);
            table_set_sort(&proof->set);
            return true;
        }
    }
    return false;
}

void bench_all(Proof *proof) {
    for (int i = 0; i < BENCH_STEP_COUNT; i++) {
        bench_step(proof, (BenchStep)i);
    }
    Bench *bench = proof->bench;
    if (bench->all) {
        return;
    }
    bench->all = true;
    judge_accept_bench(&proof->model, &bench->findings);
    findings_sort(&bench->findings);
    proof_finding_rows(proof, &bench->findings, TABLE_bench_finding);
    table_set_sort(&proof->set);
}
