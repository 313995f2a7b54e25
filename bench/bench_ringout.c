/* Ring-out of the example, module by module and all mated. First what measuring costs: isolation
 * readings on each tester of the library (sessions, leads plugged again) beside the least that any
 * scheme does with on it and beside all pairs, as somebody with two probes would take them;
 * continuity readings with probes moved in the order of the script beside the order of wire
 * numbers. Then the time of making rig and script, and of the diagnosis of planted errors: singles,
 * pairs and, which nothing explains, triples, drawn with a fixed seed. Gated are counts, readings
 * and sets of errors tried: the program ends with 1 when one is above what is set here. Times
 * (of the processor) are told. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "app/ring.h"
#include "shop/diagnose.h"

enum { REPEATS = 20, PLANTED = 24 };

/* Gates. A tester that holds all nets does with the least there is; one that holds fewer within
 * three times of it; a diagnosis looks at so many sets of errors on average. */
static const double BLOCKS_OVER_LEAST = 3.0;
static const double TRIED_ON_AVERAGE[] = {0.0, 300000.0, 100000.0, 100000.0};

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static uint32_t below(uint64_t *state, uint32_t count) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(*state >> 33) % count;
}

static bool count_module(const Ringout *ringout) {
    const TableSet *library = ringout->rig->model->set;
    double nets = ringout->nets.count;
    bool good = true;
    for (size_t i = 0; i < library->tester.count; i++) {
        const TesterRow *tester = &library->tester.rows[i];
        uint32_t points = tester->points < 2 ? 2 : (uint32_t)tester->points;
        uint32_t leads = tester->leads < 2 ? 2 : (uint32_t)tester->leads;
        IsolationCount count = isolation_count(&ringout->nets.input, points, leads);
        bool whole = count.sessions <= 1.0;
        bool within = whole ? count.readings <= count.least
                            : count.readings <= BLOCKS_OVER_LEAST * count.least;
        printf("%-10s %-12s %6.0f %10.0f %8.0f %10.0f %8.0f %8.0f%s\n", ringout->rig->name,
               tester->tester, nets, count.readings, count.least, nets * (nets - 1.0) / 2.0,
               count.sessions, count.replugs, within ? "" : "  GATE");
        good = good && within;
    }
    return good;
}

/* Readings of the script on the harness as it is now. */
static uint32_t take(Arena *arena, const Ringout *ringout, WrongRig *state,
                     BenchReading *readings) {
    const double BAD_OHM = 5.0;
    uint32_t count = 0;
    for (uint32_t i = 0; i < ringout->step_count; i++) {
        BenchReading step;
        if (diagnose_step_points(arena, ringout, i, &step)) {
            diagnose_simulate(state, step.a, step.a_count, step.b, step.b_count, BAD_OHM,
                              &readings[count++]);
        }
    }
    return count;
}

static bool diagnose_module(const Rig *rig, const Ringout *ringout, uint32_t errors) {
    Arena arena = {0};
    WrongRig state;
    WrongList list;
    wrong_start(&arena, rig, &state);
    wrong_list(&arena, rig, &list);
    uint64_t random = 0x52494e47u + errors;
    double sum_s = 0.0;
    double worst_s = 0.0;
    double tried = 0.0;
    uint32_t explained = 0;
    uint32_t cut_off = 0;
    for (uint32_t i = 0; i < PLANTED; i++) {
        Arena scratch = {0};
        for (uint32_t k = 0; k < errors; k++) {
            wrong_add(&state, list.wrongs[below(&random, list.count)]);
        }
        wrong_parts(&state);
        BenchReading *readings = ARENA_ARRAY(&scratch, BenchReading, ringout->step_count);
        uint32_t count = take(&scratch, ringout, &state, readings);
        Diagnosis diagnosis;
        double start_s = now_s();
        diagnose_run(&scratch, rig, ringout, readings, count, true, &diagnosis);
        double took_s = now_s() - start_s;
        sum_s += took_s;
        worst_s = fmax(worst_s, took_s);
        tried += diagnosis.tried;
        explained += diagnosis.good || diagnosis.class_count > 0;
        cut_off += diagnosis.cut_off;
        for (uint32_t k = 0; k < errors; k++) {
            wrong_undo(&state);
        }
        arena_free(&scratch);
    }
    bool good = tried / PLANTED <= TRIED_ON_AVERAGE[errors] &&
                (errors > DIAGNOSE_ERRORS_MAX || explained == PLANTED);
    printf("%-10s %6u %8u %9u %8u %12.0f %10.2f %10.2f%s\n", rig->name, errors, PLANTED, explained,
           cut_off, tried / PLANTED, 1e3 * sum_s / PLANTED, 1e3 * worst_s, good ? "" : "  GATE");
    arena_free(&arena);
    return good;
}

static void time_script(const RigInput *input, ModuleId module) {
    double build_s = 0.0;
    double script_s = 0.0;
    uint32_t steps = 0;
    uint32_t points = 0;
    uint32_t moves[2] = {0, 0};
    const char *name = "";
    for (int i = 0; i < REPEATS; i++) {
        Arena arena = {0};
        Rig rig;
        Ringout ringout;
        double start_s = now_s();
        rig_build(&arena, input, module, &rig);
        double middle_s = now_s();
        ringout_build(&arena, &rig, &ringout);
        build_s += middle_s - start_s;
        script_s += now_s() - middle_s;
        steps = ringout.step_count;
        points = rig.point_count;
        moves[0] = ringout.moves;
        moves[1] = ringout.moves_by_wire;
        name = rig.name;
        arena_free(&arena);
    }
    printf("%-10s %7u %7u %8u %10u %9.2f %10.2f\n", name, points, steps, moves[0], moves[1],
           1e3 * build_s / REPEATS, 1e3 * script_s / REPEATS);
}

int main(void) {
    Proof proof;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    if (!proof.complete) {
        fprintf(stderr, "the example could not be proved\n");
        return 2;
    }
    Arena arena = {0};
    RigInput input = ring_input(&arena, &proof);
    uint32_t rigs = (uint32_t)proof.set.module.count + 1;
    Rig *rig = ARENA_ARRAY(&arena, Rig, rigs);
    Ringout *ringout = ARENA_ARRAY(&arena, Ringout, rigs);
    bool good = true;
    printf("%-10s %-12s %6s %10s %8s %10s %8s %8s\n", "isolation", "tester", "nets", "readings",
           "least", "all pairs", "sessions", "replugs");
    for (uint32_t i = 0; i < rigs; i++) {
        rig_build(&arena, &input, i + 1 < rigs ? i : ID_NONE, &rig[i]);
        ringout_build(&arena, &rig[i], &ringout[i]);
        good = count_module(&ringout[i]) && good;
    }
    printf("\n%-10s %7s %7s %8s %10s %9s %10s\n", "script", "points", "steps", "moves", "by wire",
           "rig ms", "script ms");
    for (uint32_t i = 0; i < rigs; i++) {
        time_script(&input, i + 1 < rigs ? i : ID_NONE);
    }
    printf("\n%-10s %6s %8s %9s %8s %12s %10s %10s\n", "diagnosis", "errors", "planted",
           "explained", "cut off", "tried, mean", "mean ms", "worst ms");
    for (uint32_t errors = 1; errors <= 3; errors++) {
        for (uint32_t i = 0; i < rigs; i++) {
            good = diagnose_module(&rig[i], &ringout[i], errors) && good;
        }
    }
    arena_free(&arena);
    proof_free(&proof);
    return good ? 0 : 1;
}
