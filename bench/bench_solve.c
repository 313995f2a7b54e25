/* How long a network takes to solve, and what work that is, for aircraft of 600, 6,000 and 100,000
 * wires, beside KLU on the same network without collapsing (numbers already in its matrix). First
 * with the states found and the loads as resistances, so that both solve the same linear equations;
 * then the whole of it: power loads, diodes, alternators at their limit. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <suitesparse/klu.h>

#include "power/solve.h"
#include "support/network_grow.h"

enum { SIZE_COUNT = 3, LONGEST_REPEATS = 201 };

typedef struct Times {
    double cold_s, again_s;         /* analyse and solve; solve again with other numbers */
    double klu_cold_s, klu_again_s; /* the same by KLU on all nodes */
    double full_cold_s, full_again_s;
    double apart_v;
    SolveCounts linear, full;
    uint32_t nodes;
} Times;

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int times_compare(const void *a, const void *b) {
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, int count) {
    qsort(values, (size_t)count, sizeof *values, times_compare);
    return values[count / 2];
}

/* --- KLU on all nodes ------------------------------------------------------------------------ */

typedef struct Raw {
    int count;
    int *first;
    int *row;
    double *value;
    double *right;
} Raw;

/* A coupling of the raw matrix. */
typedef struct Entry {
    int row, column;
    double value;
} Entry;

static int entries_compare(const void *a, const void *b) {
    const Entry *x = a;
    const Entry *y = b;
    return x->column != y->column ? (x->column > y->column) - (x->column < y->column)
                                  : (x->row > y->row) - (x->row < y->row);
}

/* Adds a branch of conductance_s and emf_v between two nodes; node 0 has no row. */
static void raw_branch(Raw *raw, Entry *entries, size_t *count, uint32_t a, uint32_t b,
                       double conductance_s, double emf_v) {
    int row_a = (int)a - 1;
    int row_b = (int)b - 1;
    if (row_a >= 0) {
        entries[(*count)++] = (Entry){row_a, row_a, conductance_s};
        raw->right[row_a] += conductance_s * emf_v;
    }
    if (row_b >= 0) {
        entries[(*count)++] = (Entry){row_b, row_b, conductance_s};
        raw->right[row_b] -= conductance_s * emf_v;
    }
    if (row_a >= 0 && row_b >= 0) {
        entries[(*count)++] = (Entry){row_a, row_b, -conductance_s};
        entries[(*count)++] = (Entry){row_b, row_a, -conductance_s};
    }
}

/* The nodal equations of `n` with `state`; every load must be a resistance. */
static Raw raw_new(Arena *arena, const Network *n, const NetworkState *state) {
    Raw raw = {.count = (int)n->node_count - 1};
    size_t elements = 0;
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        elements += network_kind_count(n, kind);
    }
    Entry *entries = ARENA_ARRAY(arena, Entry, 4 * elements + n->node_count);
    raw.right = ARENA_ARRAY(arena, double, n->node_count);
    size_t count = 0;
    for (int i = 0; i < raw.count; i++) {
        entries[count++] = (Entry){i, i, 0};
    }
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            uint32_t ends[2];
            network_element_ends(n, kind, i, ends);
            double ohm = HUGE_VAL;
            double emf_v = 0;
            if (kind == NETWORK_RESISTOR) {
                ohm = n->resistors[i].ohm;
            } else if (kind == NETWORK_CONTACT) {
                ohm = state->contact_closed[i] ? n->contacts[i].ohm : HUGE_VAL;
            } else if (kind == NETWORK_COIL) {
                ohm = n->coils[i].ohm;
            } else if (kind == NETWORK_DIODE) {
                ohm = state->diode_on[i] ? n->diodes[i].ohm : HUGE_VAL;
                emf_v = n->diodes[i].drop_v;
            } else if (kind == NETWORK_BATTERY) {
                ohm = n->batteries[i].ohm;
                emf_v = n->batteries[i].open_v;
            } else if (kind == NETWORK_LOAD) {
                ohm = state->load_on[i] ? n->loads[i].nominal_v / n->loads[i].nominal_a : HUGE_VAL;
            } else if (state->alternator_mode[i] == NETWORK_ALTERNATOR_REGULATING) {
                ohm = n->alternators[i].slope_ohm;
                emf_v = n->alternators[i].set_v;
            }
            raw_branch(&raw, entries, &count, ends[0], ends[1], 1 / ohm, emf_v);
            if (kind == NETWORK_ALTERNATOR &&
                state->alternator_mode[i] == NETWORK_ALTERNATOR_LIMITING) {
                raw.right[ends[0] - 1] += n->alternators[i].limit_a;
            }
        }
    }
    qsort(entries, count, sizeof *entries, entries_compare);
    raw.first = ARENA_ARRAY(arena, int, (size_t)raw.count + 1);
    raw.row = ARENA_ARRAY(arena, int, count);
    raw.value = ARENA_ARRAY(arena, double, count);
    int used = 0;
    for (size_t k = 0; k < count; k++) {
        bool same = k > 0 && entries[k].row == entries[k - 1].row &&
                    entries[k].column == entries[k - 1].column;
        used += same ? 0 : 1;
        raw.row[used - 1] = entries[k].row;
        raw.value[used - 1] += entries[k].value;
        raw.first[entries[k].column + 1] = used;
    }
    return raw;
}

static void klu_times(const Raw *raw, int repeats, double *x, Times *times) {
    double cold[LONGEST_REPEATS];
    double again[LONGEST_REPEATS];
    for (int i = 0; i < repeats; i++) {
        klu_common common;
        klu_defaults(&common);
        memcpy(x, raw->right, (size_t)raw->count * sizeof *x);
        double begin_s = now_s();
        klu_symbolic *symbols = klu_analyze(raw->count, raw->first, raw->row, &common);
        klu_numeric *numbers = klu_factor(raw->first, raw->row, raw->value, symbols, &common);
        klu_solve(symbols, numbers, raw->count, 1, x, &common);
        cold[i] = now_s() - begin_s;
        memcpy(x, raw->right, (size_t)raw->count * sizeof *x);
        begin_s = now_s();
        klu_refactor(raw->first, raw->row, raw->value, symbols, numbers, &common);
        klu_solve(symbols, numbers, raw->count, 1, x, &common);
        again[i] = now_s() - begin_s;
        klu_free_numeric(&numbers, &common);
        klu_free_symbolic(&symbols, &common);
    }
    times->klu_cold_s = median(cold, repeats);
    times->klu_again_s = median(again, repeats);
}

/* --- Ours ------------------------------------------------------------------------------------ */

static void our_times(const Network *n, const NetworkState *start, int repeats, double *cold_s,
                      double *again_s, SolveResult *result, Arena *arena) {
    double cold[LONGEST_REPEATS];
    double again[LONGEST_REPEATS];
    for (int i = 0; i < repeats; i++) {
        Arena own = {0};
        double begin_s = now_s();
        SolvePlan *plan = solve_analyse(&own, n);
        bool solved = solve_run(plan, start, NULL, NULL, result);
        cold[i] = now_s() - begin_s;
        begin_s = now_s();
        solved &= solve_run(plan, start, NULL, NULL, result);
        again[i] = now_s() - begin_s;
        if (!solved) {
            fprintf(stderr, "bench_solve: status %d\n", (int)result->status);
            exit(1);
        }
        if (i + 1 == repeats) {
            solve_run(plan, start, NULL, arena, result);
        }
        arena_free(&own);
    }
    *cold_s = median(cold, repeats);
    *again_s = median(again, repeats);
}

static Times measure(uint32_t wires) {
    Arena arena = {0};
    Times times = {0};
    int repeats = wires > 50000 ? 9 : wires > 5000 ? 51 : LONGEST_REPEATS;
    Network n = grow_aircraft(&arena, 1, wires);
    times.nodes = n.node_count;
    NetworkState start = grow_aircraft_state(&arena, &n);
    SolveResult full;
    our_times(&n, &start, repeats, &times.full_cold_s, &times.full_again_s, &full, &arena);
    times.full = full.counts;

    Network linear = n;
    linear.loads = ARENA_ARRAY(&arena, NetworkLoad, n.load_count);
    for (uint32_t i = 0; i < n.load_count; i++) {
        linear.loads[i] = n.loads[i];
        linear.loads[i].kind = NETWORK_LOAD_RESISTANCE;
    }
    SolveResult result;
    our_times(&linear, &full.state, 1, &times.cold_s, &times.again_s, &result, &arena);
    NetworkState settled = result.state;
    our_times(&linear, &settled, repeats, &times.cold_s, &times.again_s, &result, &arena);
    times.linear = result.counts;

    Raw raw = raw_new(&arena, &linear, &settled);
    double *x = ARENA_ARRAY(&arena, double, n.node_count);
    klu_times(&raw, repeats, x, &times);
    for (uint32_t node = 1; node < n.node_count; node++) {
        times.apart_v = fmax(times.apart_v, fabs(x[node - 1] - result.node_v[node]));
    }
    arena_free(&arena);
    return times;
}

static double exponent(double small, double large, double sizes) {
    return log(large / small) / log(sizes);
}

int main(void) {
    const uint32_t wires[SIZE_COUNT] = {600, 6000, 100000};
    Times times[SIZE_COUNT];
    for (int i = 0; i < SIZE_COUNT; i++) {
        times[i] = measure(wires[i]);
    }
    printf("Linear (loads as resistances, states known); medians in ms.\n");
    printf("  wires   nodes unknowns | cold    KLU cold  ratio | again   KLU again ratio | "
           "apart V\n");
    for (int i = 0; i < SIZE_COUNT; i++) {
        const Times *t = &times[i];
        printf("%7u %7u %8u | %7.3f %8.3f %6.1f | %7.3f %8.3f %6.1f | %.1e\n", wires[i], t->nodes,
               t->linear.unknowns, 1e3 * t->cold_s, 1e3 * t->klu_cold_s, t->klu_cold_s / t->cold_s,
               1e3 * t->again_s, 1e3 * t->klu_again_s, t->klu_again_s / t->again_s, t->apart_v);
    }
    printf("\nWhole (power loads, diodes, alternators at their limit); medians in ms.\n");
    printf("  wires | cold     again   | factorisations substitutions newton state changes weak\n");
    for (int i = 0; i < SIZE_COUNT; i++) {
        const Times *t = &times[i];
        printf("%7u | %8.3f %8.3f | %14u %13u %6u %13u %4u\n", wires[i], 1e3 * t->full_cold_s,
               1e3 * t->full_again_s, t->full.factorisations + t->full.refactorisations,
               t->full.substitutions, t->full.newton_steps, t->full.state_changes,
               t->full.weak_pivots);
    }
    double sizes = (double)wires[2] / wires[0];
    printf("\nGrowth exponent from %u to %u wires: linear cold %.2f, KLU cold %.2f, whole cold "
           "%.2f\n",
           wires[0], wires[2], exponent(times[0].cold_s, times[2].cold_s, sizes),
           exponent(times[0].klu_cold_s, times[2].klu_cold_s, sizes),
           exponent(times[0].full_cold_s, times[2].full_cold_s, sizes));
    return 0;
}
