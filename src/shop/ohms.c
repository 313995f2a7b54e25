#include "shop/ohms.h"

#include <math.h>
#include <stdbool.h>

#include "base/arena.h"

/* No joint has less: keeps the equations within what doubles can carry. */
#define LEAST_OHM 1e-7

typedef struct Net {
    uint32_t node_count;
    const OhmsEdge *edges;
    uint32_t edge_count;
    uint32_t *first; /* by node, and one more: its edges */
    uint32_t *list;
    uint32_t *back; /* by node: edge + 1 it was reached by */
    bool *seen;
} Net;

static void index_edges(Arena *scratch, Net *net) {
    net->first = ARENA_ARRAY(scratch, uint32_t, (size_t)net->node_count + 1);
    uint32_t *at = ARENA_ARRAY(scratch, uint32_t, (size_t)net->node_count + 1);
    for (uint32_t i = 0; i < net->edge_count; i++) {
        net->first[net->edges[i].a + 1]++;
        net->first[net->edges[i].b + 1]++;
    }
    for (uint32_t i = 0; i < net->node_count; i++) {
        net->first[i + 1] += net->first[i];
        at[i + 1] = net->first[i + 1];
    }
    net->list = ARENA_ARRAY(scratch, uint32_t, net->first[net->node_count]);
    for (uint32_t i = 0; i < net->edge_count; i++) {
        net->list[at[net->edges[i].a]++] = i;
        net->list[at[net->edges[i].b]++] = i;
    }
}

/* Breadth first from `from`; counts nodes, and ends of edges, of its part. */
static void sweep(Arena *scratch, Net *net, uint32_t from, uint32_t *nodes, uint32_t *ends) {
    uint32_t *queue = ARENA_ARRAY(scratch, uint32_t, net->node_count);
    net->back = ARENA_ARRAY(scratch, uint32_t, net->node_count);
    net->seen = ARENA_ARRAY(scratch, bool, net->node_count);
    uint32_t tail = 0;
    queue[tail++] = from;
    net->seen[from] = true;
    *ends = 0;
    for (uint32_t head = 0; head < tail; head++) {
        uint32_t node = queue[head];
        for (uint32_t e = net->first[node]; e < net->first[node + 1]; e++) {
            const OhmsEdge *edge = &net->edges[net->list[e]];
            uint32_t other = edge->a == node ? edge->b : edge->a;
            *ends += 1;
            if (!net->seen[other]) {
                net->seen[other] = true;
                net->back[other] = net->list[e] + 1;
                queue[tail++] = other;
            }
        }
    }
    *nodes = tail;
}

/* Dead ends carry nothing: they are taken away until none is left. */
static void strip(Arena *scratch, Net *net, uint32_t from, uint32_t to) {
    uint32_t *degree = ARENA_ARRAY(scratch, uint32_t, net->node_count);
    uint32_t *queue = ARENA_ARRAY(scratch, uint32_t, net->node_count);
    uint32_t tail = 0;
    for (uint32_t i = 0; i < net->node_count; i++) {
        degree[i] = net->first[i + 1] - net->first[i];
        if (net->seen[i] && degree[i] == 1 && i != from && i != to) {
            queue[tail++] = i;
        }
    }
    for (uint32_t head = 0; head < tail; head++) {
        uint32_t node = queue[head];
        net->seen[node] = false;
        for (uint32_t e = net->first[node]; e < net->first[node + 1]; e++) {
            const OhmsEdge *edge = &net->edges[net->list[e]];
            uint32_t other = edge->a == node ? edge->b : edge->a;
            if (net->seen[other] && --degree[other] == 1 && other != from && other != to) {
                queue[tail++] = other;
            }
        }
    }
}

/* y = G x with the node `to` held at 0. */
static void multiply(const Net *net, uint32_t to, const double *x, double *y) {
    for (uint32_t i = 0; i < net->node_count; i++) {
        y[i] = 0.0;
    }
    for (uint32_t i = 0; i < net->edge_count; i++) {
        const OhmsEdge *edge = &net->edges[i];
        if (!net->seen[edge->a] || !net->seen[edge->b] || edge->a == edge->b) {
            continue;
        }
        double g = 1.0 / fmax(edge->ohm, LEAST_OHM);
        double flow = g * (x[edge->a] - x[edge->b]);
        y[edge->a] += flow;
        y[edge->b] -= flow;
    }
    y[to] = 0.0;
}

/* One ampere in at `from`, out at `to`: the voltage. Jacobi's preconditioner. */
static double solve(Arena *scratch, const Net *net, uint32_t from, uint32_t to) {
    uint32_t n = net->node_count;
    double *x = ARENA_ARRAY(scratch, double, n);
    double *r = ARENA_ARRAY(scratch, double, n);
    double *p = ARENA_ARRAY(scratch, double, n);
    double *y = ARENA_ARRAY(scratch, double, n);
    double *diagonal = ARENA_ARRAY(scratch, double, n);
    for (uint32_t i = 0; i < net->edge_count; i++) {
        const OhmsEdge *edge = &net->edges[i];
        if (!net->seen[edge->a] || !net->seen[edge->b] || edge->a == edge->b) {
            continue;
        }
        if (isnan(edge->ohm)) {
            return (double)NAN;
        }
        diagonal[edge->a] += 1.0 / fmax(edge->ohm, LEAST_OHM);
        diagonal[edge->b] += 1.0 / fmax(edge->ohm, LEAST_OHM);
    }
    r[from] = 1.0;
    double before = 0.0;
    for (uint32_t i = 0; i < n; i++) {
        p[i] = r[i] == 0.0 ? 0.0 : r[i] / diagonal[i];
        before += r[i] * p[i];
    }
    double start = before;
    const double SMALL = 1e-24; /* of the square of the residue: twelve digits */
    for (uint32_t step = 0; step < 10 * n + 100 && before > SMALL * start; step++) {
        multiply(net, to, p, y);
        double curve = 0.0;
        for (uint32_t i = 0; i < n; i++) {
            curve += p[i] * y[i];
        }
        double reach = before / curve;
        double now = 0.0;
        for (uint32_t i = 0; i < n; i++) {
            x[i] += reach * p[i];
            r[i] -= reach * y[i];
            now += diagonal[i] > 0.0 ? r[i] * r[i] / diagonal[i] : 0.0;
        }
        for (uint32_t i = 0; i < n; i++) {
            p[i] = (diagonal[i] > 0.0 ? r[i] / diagonal[i] : 0.0) + now / before * p[i];
        }
        before = now;
    }
    return x[from];
}

double ohms_between(uint32_t node_count, const OhmsEdge *edges, uint32_t edge_count, uint32_t from,
                    uint32_t to) {
    if (from == to) {
        return 0.0;
    }
    Arena scratch = {0};
    Net net = {.node_count = node_count, .edges = edges, .edge_count = edge_count};
    index_edges(&scratch, &net);
    uint32_t nodes = 0;
    uint32_t ends = 0;
    sweep(&scratch, &net, from, &nodes, &ends);
    double ohm = (double)INFINITY;
    if (net.seen[to] && ends / 2 + 1 == nodes) {
        ohm = 0.0;
        for (uint32_t at = to; at != from;) {
            const OhmsEdge *edge = &edges[net.back[at] - 1];
            ohm += edge->ohm;
            at = edge->a == at ? edge->b : edge->a;
        }
    } else if (net.seen[to]) {
        strip(&scratch, &net, from, to);
        ohm = solve(&scratch, &net, from, to);
    }
    arena_free(&scratch);
    return ohm;
}
