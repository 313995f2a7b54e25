/* Newton on all nodes of a small network with a dense matrix, states fixed to those of a result.
 * LAPACK's dgesv does the linear algebra (partial pivoting). */
#ifndef SUPPORT_NETWORK_DENSE_H
#define SUPPORT_NETWORK_DENSE_H

#include <lapacke.h>

#include "network_oracle.h"

/* Fills matrix (column by column) and left (current flowing in) at v; the largest of left at a node
 * that has an equation. With `resistive` loads are resistances. */
static inline double dense_fill(const Oracle *oracle, const double *v, bool resistive,
                                double *matrix, double *left) {
    const Network *n = oracle->network;
    size_t size = n->node_count;
    memset(matrix, 0, size * size * sizeof *matrix);
    memset(left, 0, size * sizeof *left);
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            OracleBranch branch = oracle_branch(oracle, kind, i);
            double u = v[branch.a] - v[branch.b];
            double slope = branch.conductance_s;
            double amps = slope > 0 ? slope * (u - branch.emf_v) : 0;
            amps += branch.current_a;
            if (branch.load != NULL) {
                amps = oracle_load_a(branch.load, u, oracle->ceiling_v, &slope);
                if (resistive) {
                    slope = branch.load->nominal_a / branch.load->nominal_v;
                    amps = slope * u;
                }
            }
            left[branch.a] -= amps;
            left[branch.b] += amps;
            matrix[branch.a * size + branch.a] += slope;
            matrix[branch.b * size + branch.b] += slope;
            matrix[branch.a * size + branch.b] -= slope;
            matrix[branch.b * size + branch.a] -= slope;
        }
    }
    double worst = 0;
    for (uint32_t k = 0; k < size; k++) {
        uint32_t root = oracle_find(oracle->root, k);
        bool reference = oracle_find(oracle->root, 0) == root ? k == 0 : oracle->source[root] == k;
        if (oracle_node_state(oracle, k) == SOLVE_NODE_DEAD || reference) {
            for (uint32_t j = 0; j < size; j++) {
                matrix[j * size + k] = j == k ? 1 : 0;
            }
            left[k] = 0;
        }
        worst = fmax(worst, fabs(left[k]));
    }
    return worst;
}

/* Solves from `start`, or without one from 0 V with loads as resistances at first. True when the
 * current left over is below 1e-9 of the total; v has node_count voltages. */
static inline bool dense_solve(Arena *arena, const Oracle *oracle, const double *start,
                               double total_a, double *v) {
    size_t size = oracle->network->node_count;
    double *matrix = ARENA_ARRAY(arena, double, size *size);
    double *left = ARENA_ARRAY(arena, double, size);
    double *back = ARENA_ARRAY(arena, double, size);
    lapack_int *pivots = ARENA_ARRAY(arena, lapack_int, size);
    lapack_int order = (lapack_int)size;
    for (size_t k = 0; k < size; k++) {
        v[k] = start != NULL ? start[k] : 0;
    }
    bool resistive = start == NULL;
    double worst = dense_fill(oracle, v, resistive, matrix, left);
    for (int step = 0; step < 200; step++) {
        memcpy(back, v, size * sizeof *v);
        if (LAPACKE_dgesv(LAPACK_COL_MAJOR, order, 1, matrix, order, pivots, left, order) != 0) {
            return false;
        }
        double share = 1;
        double largest = 0;
        for (size_t k = 0; k < size; k++) {
            largest = fmax(largest, fabs(left[k]));
        }
        double before = step == 0 && resistive ? HUGE_VAL : worst;
        double *step_v = ARENA_ARRAY(arena, double, size);
        memcpy(step_v, left, size * sizeof *left);
        for (int i = 0; i < 12; i++) {
            for (size_t k = 0; k < size; k++) {
                v[k] = back[k] + share * step_v[k];
            }
            worst = dense_fill(oracle, v, false, matrix, left);
            if (worst < before) {
                break;
            }
            share /= 2;
        }
        if (step > 0 && largest < 1e-11) {
            break;
        }
    }
    return worst <= 1e-9 * total_a + 1e-9;
}

#endif
