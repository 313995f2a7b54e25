/* What the live chain costs: time and memory of every pass and the solver's work counts, for the
 * example aircraft and for grown jobs of 300 to 100,000 conductors (tests/support/job_grow.h: one
 * connected aircraft with the example's statistics). Best of a few runs; one process for each size,
 * so that peak memory is that size's own. The last lines give the growth exponent of each pass from
 * 1,000 conductors to the largest: 1 is linear. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "app/prove.h"
#include "support/job_grow.h"

enum { SIZE_COUNT = 5, COUNT_COUNT = 7 };
static const size_t SIZES[SIZE_COUNT] = {0, 300, 1000, 10000, 100000}; /* 0: the example */

typedef struct Measure {
    size_t conductors;
    size_t boxes;
    size_t findings;
    double step_s[PROOF_STEP_COUNT];
    size_t step_bytes[PROOF_STEP_COUNT];
    double peak_bytes;
    bool complete;
    SolveCounts counts;
} Measure;

static void read_example(Proof *proof) {
    proof->findings.arena = &proof->arena;
    Status library = table_read_folder(&proof->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                       &proof->set, &proof->findings);
    Status job = table_read_folder(&proof->arena, MARLING_SOURCE_DIR "/examples/osier", GROUP_JOB,
                                   &proof->set, &proof->findings);
    if (library.failed || job.failed) {
        fprintf(stderr, "bench: %s\n", library.failed ? library.text : job.text);
        exit(2);
    }
    table_check(&proof->arena, &proof->set, &proof->findings);
}

/* A compass and a magnetometer, a hand's breadth off the first and the last node. */
static void add_sensors(Proof *proof) {
    size_t nodes = proof->set.node.count;
    for (size_t i = 0; i < 2 && nodes > 0; i++) {
        const NodeRow node = proof->set.node.rows[i == 0 ? 0 : nodes - 1];
        SensorRow *row = table_append(&proof->set, &proof->arena, TABLE_sensor);
        row->sensor = i == 0 ? "CMP" : "MAG";
        row->kind = i == 0 ? "compass" : "magnetometer";
        row->x_mm = node.x_mm;
        row->y_mm = node.y_mm;
        row->z_mm = node.z_mm + 200.0;
        row->horizontal_ut = 18.0;
        row->limit_deg = row->pair_mm = (double)NAN;
        row->unit = row->swung_in = row->what = "";
    }
}

static void run_once(size_t size, bool first, Measure *measure) {
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    Proof example = {0};
    Proof proof = {0};
    if (size == 0) {
        proof_run(MARLING_SOURCE_DIR "/examples/osier", &options, &proof);
    } else {
        read_example(&example);
        job_grow(&proof.arena, &example.set, size, 1, &proof.set);
        add_sensors(&proof);
        proof_run_set(&options, &proof);
    }
    measure->conductors = proof.wiring.conductor_count;
    measure->boxes = proof.set.unit.count;
    measure->findings = proof.findings.count;
    measure->complete = proof.complete;
    measure->counts = proof.counts;
    for (int step = 0; step < PROOF_STEP_COUNT; step++) {
        bool faster = first || proof.step_s[step] < measure->step_s[step];
        measure->step_s[step] = faster ? proof.step_s[step] : measure->step_s[step];
        measure->step_bytes[step] = proof.step_bytes[step];
    }
    proof_free(&proof);
    arena_free(&example.arena);
}

/* Runs one size in a process of its own and sends the measure back through a pipe. */
static bool measure_size(size_t size, Measure *measure) {
    int ends[2];
    if (pipe(ends) != 0) {
        return false;
    }
    fflush(stdout);
    pid_t child = fork();
    if (child == 0) {
        Measure own = {0};
        int runs = size <= 1000 ? 20 : (size <= 10000 ? 5 : 2);
        for (int run = 0; run < runs; run++) {
            run_once(size, run == 0, &own);
        }
        struct rusage usage;
        getrusage(RUSAGE_SELF, &usage);
        own.peak_bytes = (double)usage.ru_maxrss * 1024.0;
        ssize_t sent = write(ends[1], &own, sizeof own);
        _exit(sent == (ssize_t)sizeof own ? 0 : 1);
    }
    close(ends[1]);
    ssize_t got = read(ends[0], measure, sizeof *measure);
    close(ends[0]);
    int status = 0;
    waitpid(child, &status, 0);
    return got == (ssize_t)sizeof *measure && WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

static double total_s(const Measure *measure) {
    double sum = 0.0;
    for (int step = 0; step < PROOF_STEP_COUNT; step++) {
        sum += measure->step_s[step];
    }
    return sum;
}

static void print_row(const char *name, const char *unit, const double *values, int decimals) {
    printf("%-16s %5s", name, unit);
    for (int i = 0; i < SIZE_COUNT; i++) {
        printf(" %12.*f", decimals, values[i]);
    }
    printf("\n");
}

static void print_sizes(const Measure *measures) {
    double conductors[SIZE_COUNT];
    double boxes[SIZE_COUNT];
    double findings[SIZE_COUNT];
    double peak_mb[SIZE_COUNT];
    for (int i = 0; i < SIZE_COUNT; i++) {
        conductors[i] = (double)measures[i].conductors;
        boxes[i] = (double)measures[i].boxes;
        findings[i] = (double)measures[i].findings;
        peak_mb[i] = measures[i].peak_bytes / 1e6;
    }
    printf("%22s %12s %12s %12s %12s %12s\n", "", "example", "grown", "grown", "grown", "grown");
    print_row("conductors", "", conductors, 0);
    print_row("boxes", "", boxes, 0);
    print_row("findings", "", findings, 0);
    print_row("peak memory", "MB", peak_mb, 1);
}

static void print_steps(const Measure *measures) {
    double values[SIZE_COUNT];
    for (int step = 0; step < PROOF_STEP_COUNT; step++) {
        for (int i = 0; i < SIZE_COUNT; i++) {
            values[i] = measures[i].step_s[step] * 1e3;
        }
        print_row(proof_step_name((ProofStep)step), "ms", values, 3);
    }
    for (int i = 0; i < SIZE_COUNT; i++) {
        values[i] = total_s(&measures[i]) * 1e3;
    }
    print_row("whole chain", "ms", values, 3);
    for (int step = 0; step < PROOF_STEP_COUNT; step++) {
        for (int i = 0; i < SIZE_COUNT; i++) {
            values[i] = (double)measures[i].step_bytes[step] / (double)measures[i].conductors;
        }
        print_row(proof_step_name((ProofStep)step), "B/cd", values, 0);
    }
}

static void print_counts(const Measure *measures) {
    static const char *const NAMES[COUNT_COUNT] = {
        "factorisations", "refactorisations", "substitutions", "newton steps",
        "state changes",  "weak pivots",      "KLU fallbacks"};
    for (size_t row = 0; row < COUNT_COUNT; row++) {
        double values[SIZE_COUNT];
        for (int i = 0; i < SIZE_COUNT; i++) {
            const SolveCounts *counts = &measures[i].counts;
            const uint32_t all[COUNT_COUNT] = {counts->factorisations, counts->refactorisations,
                                               counts->substitutions,  counts->newton_steps,
                                               counts->state_changes,  counts->weak_pivots,
                                               counts->klu_fallbacks};
            values[i] = all[row];
        }
        print_row(NAMES[row], "", values, 0);
    }
}

/* Slope of log time over log size between the 1,000-conductor job and the largest. */
static void print_growth(const Measure *measures) {
    const Measure *small = &measures[2];
    const Measure *large = &measures[SIZE_COUNT - 1];
    double sizes = log((double)large->conductors / (double)small->conductors);
    printf("growth exponent, %zu to %zu conductors:\n", small->conductors, large->conductors);
    for (int step = 0; step < PROOF_STEP_COUNT; step++) {
        double times = log(fmax(large->step_s[step], 1e-9) / fmax(small->step_s[step], 1e-9));
        printf("  %-14s %5.2f\n", proof_step_name((ProofStep)step), times / sizes);
    }
    printf("  %-14s %5.2f\n", "whole chain", log(total_s(large) / total_s(small)) / sizes);
}

int main(void) {
    static Measure measures[SIZE_COUNT];
    for (int i = 0; i < SIZE_COUNT; i++) {
        if (!measure_size(SIZES[i], &measures[i]) || !measures[i].complete) {
            fprintf(stderr, "bench: the job of %zu conductors did not run to the end\n", SIZES[i]);
            return 1;
        }
    }
    print_sizes(measures);
    print_steps(measures);
    print_counts(measures);
    print_growth(measures);
    return 0;
}
