/* What a test checks a solved network against, written apart from the solver: the element laws as
 * power/network.h states them, Kirchhoff's sums, what each state demands, the power balance, and a
 * dense Newton on all nodes (no chains, no sparse matrix, no low parts of voltages). */
#ifndef SUPPORT_NETWORK_ORACLE_H
#define SUPPORT_NETWORK_ORACLE_H

#include <stdio.h>
#include <string.h>

#include "network_make.h"
#include "power/solve.h"

/* A solved network beside its answer. */
typedef struct Oracle {
    const Network *network;
    const SolveResult *result;
    double ceiling_v;
    uint32_t *root;   /* parts of the network in the states found */
    uint32_t *source; /* of a root: node of the minus end of its first source */
} Oracle;

static inline bool oracle_alternator_runs(const Oracle *oracle, uint32_t i) {
    const NetworkAlternator *alternator = &oracle->network->alternators[i];
    return alternator->running && alternator->limit_a > 0 &&
           oracle->result->state.alternator_mode[i] != NETWORK_ALTERNATOR_BLOCKED;
}

static inline bool oracle_limits(const Oracle *oracle, uint32_t i) {
    return oracle->result->state.alternator_mode[i] == NETWORK_ALTERNATOR_LIMITING;
}

/* One two-ended branch in the states found: current from a to b = conductance * (v(a) - v(b) -
 * emf_v) + current_a, or a load's law. */
typedef struct OracleBranch {
    uint32_t a, b;
    double conductance_s;
    double emf_v;
    double current_a;
    const NetworkLoad *load; /* NULL for the others */
    bool carries;
} OracleBranch;

static inline OracleBranch oracle_branch(const Oracle *oracle, NetworkKind kind, uint32_t i) {
    const Network *n = oracle->network;
    const NetworkState *state = &oracle->result->state;
    OracleBranch branch = {0};
    uint32_t ends[2];
    network_element_ends(n, kind, i, ends);
    branch.a = ends[0];
    branch.b = ends[1];
    double ohm = HUGE_VAL;
    switch (kind) {
    case NETWORK_RESISTOR:
        ohm = n->resistors[i].ohm;
        break;
    case NETWORK_CONTACT:
        ohm = state->contact_closed[i] ? n->contacts[i].ohm : HUGE_VAL;
        break;
    case NETWORK_COIL:
        ohm = n->coils[i].ohm;
        break;
    case NETWORK_DIODE:
        ohm = state->diode_on[i] ? n->diodes[i].ohm : HUGE_VAL;
        branch.emf_v = n->diodes[i].drop_v;
        break;
    case NETWORK_BATTERY:
        ohm = n->batteries[i].ohm;
        branch.emf_v = n->batteries[i].open_v;
        break;
    case NETWORK_ALTERNATOR:
        if (oracle_alternator_runs(oracle, i) && !oracle_limits(oracle, i)) {
            ohm = n->alternators[i].slope_ohm;
            branch.emf_v = n->alternators[i].set_v;
        } else if (oracle_alternator_runs(oracle, i)) {
            branch.current_a = -n->alternators[i].limit_a;
        }
        break;
    case NETWORK_LOAD:
        branch.load = state->load_on[i] && n->loads[i].nominal_a > 0 ? &n->loads[i] : NULL;
        break;
    case NETWORK_KIND_COUNT:
    default:
        break;
    }
    branch.conductance_s = 1 / ohm;
    branch.carries = branch.conductance_s > 0 || branch.load != NULL;
    return branch;
}

/* The load law, from the words of the header. */
static inline double oracle_load_a(const NetworkLoad *load, double u, double ceiling_v,
                                   double *slope_s) {
    double knee = 0.5 * load->nominal_v;
    double power = load->nominal_a * load->nominal_v;
    bool low = u < knee || ceiling_v <= knee;
    bool high = !low && u > ceiling_v;
    double at = low ? knee : ceiling_v;
    if (load->kind == NETWORK_LOAD_RESISTANCE) {
        *slope_s = load->nominal_a / load->nominal_v;
        return u * *slope_s;
    }
    if (load->kind == NETWORK_LOAD_CURRENT) {
        *slope_s = low || high ? load->nominal_a / at : 0;
        return low || high ? load->nominal_a * u / at : load->nominal_a;
    }
    *slope_s = low || high ? power / (at * at) : -power / (u * u);
    return low || high ? power * u / (at * at) : power / u;
}

/* --- Parts ----------------------------------------------------------------------------------- */

static inline uint32_t oracle_find(uint32_t *root, uint32_t node) {
    while (root[node] != node) {
        root[node] = root[root[node]];
        node = root[node];
    }
    return node;
}

static inline Oracle oracle_new(Arena *arena, const Network *n, const SolveResult *result) {
    Oracle oracle = {.network = n, .result = result};
    for (uint32_t i = 0; i < n->battery_count; i++) {
        oracle.ceiling_v += n->batteries[i].open_v;
    }
    for (uint32_t i = 0; i < n->alternator_count; i++) {
        bool runs = n->alternators[i].running && n->alternators[i].limit_a > 0;
        oracle.ceiling_v += runs ? n->alternators[i].set_v : 0;
    }
    oracle.root = ARENA_ARRAY(arena, uint32_t, n->node_count);
    oracle.source = ARENA_ARRAY(arena, uint32_t, n->node_count);
    for (uint32_t i = 0; i < n->node_count; i++) {
        oracle.root[i] = i;
        oracle.source[i] = NETWORK_NONE;
    }
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            OracleBranch branch = oracle_branch(&oracle, kind, i);
            if (branch.carries) {
                uint32_t a = oracle_find(oracle.root, branch.a);
                uint32_t b = oracle_find(oracle.root, branch.b);
                oracle.root[a > b ? a : b] = a > b ? b : a;
            }
        }
    }
    for (uint32_t i = n->alternator_count; i-- > 0;) {
        if (oracle_alternator_runs(&oracle, i)) {
            oracle.source[oracle_find(oracle.root, n->alternators[i].minus)] =
                n->alternators[i].minus;
        }
    }
    for (uint32_t i = n->battery_count; i-- > 0;) {
        if (isfinite(n->batteries[i].ohm)) {
            oracle.source[oracle_find(oracle.root, n->batteries[i].minus)] = n->batteries[i].minus;
        }
    }
    return oracle;
}

static inline SolveNodeState oracle_node_state(const Oracle *oracle, uint32_t node) {
    uint32_t root = oracle_find(oracle->root, node);
    if (oracle->source[root] == NETWORK_NONE) {
        return SOLVE_NODE_DEAD;
    }
    return root == oracle_find(oracle->root, 0) ? SOLVE_NODE_LIVE : SOLVE_NODE_FLOATING;
}

/* --- Checks of an answer --------------------------------------------------------------------- */

static inline double oracle_current_a(const SolveResult *r, NetworkKind kind, uint32_t i) {
    switch (kind) {
    case NETWORK_RESISTOR:
        return r->resistor_a[i];
    case NETWORK_CONTACT:
        return r->contact_a[i];
    case NETWORK_COIL:
        return r->coil_a[i];
    case NETWORK_DIODE:
        return r->diode_a[i];
    case NETWORK_BATTERY:
        return -r->battery_a[i];
    case NETWORK_ALTERNATOR:
        return -r->alternator_a[i];
    case NETWORK_LOAD:
        return r->load_a[i];
    case NETWORK_KIND_COUNT:
    default:
        return 0;
    }
}

/* The largest sum of currents at a node. */
static inline double oracle_balance_a(Arena *arena, const Network *n, const SolveResult *r) {
    double *sum = ARENA_ARRAY(arena, double, n->node_count);
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            uint32_t ends[2];
            network_element_ends(n, kind, i, ends);
            sum[ends[0]] -= oracle_current_a(r, kind, i);
            sum[ends[1]] += oracle_current_a(r, kind, i);
        }
    }
    double worst = 0;
    for (uint32_t i = 0; i < n->node_count; i++) {
        worst = fabs(sum[i]) > worst ? fabs(sum[i]) : worst;
    }
    return worst;
}

/* The worst break of an element's own law, as a voltage. */
static inline double oracle_law_v(const Oracle *oracle) {
    const Network *n = oracle->network;
    const SolveResult *r = oracle->result;
    double worst = 0;
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            OracleBranch branch = oracle_branch(oracle, kind, i);
            double current = oracle_current_a(r, kind, i);
            double u = r->node_v[branch.a] - r->node_v[branch.b];
            double broken = 0;
            if (branch.load != NULL) {
                double slope;
                double wanted = oracle_load_a(branch.load, u, oracle->ceiling_v, &slope);
                broken = fabs(wanted - current) * branch.load->nominal_v / branch.load->nominal_a;
            } else if (branch.conductance_s > 0) {
                bool dead = oracle_node_state(oracle, branch.a) == SOLVE_NODE_DEAD;
                broken =
                    dead ? fabs(current) : fabs(u - branch.emf_v - current / branch.conductance_s);
            } else {
                broken = fabs(current - branch.current_a);
            }
            worst = broken > worst ? broken : worst;
        }
    }
    return worst;
}

/* How many elements want another state than the one found, and the largest want. */
static inline uint32_t oracle_unwilling(const Oracle *oracle, double slack_v, double slack_a) {
    const Network *n = oracle->network;
    const SolveResult *r = oracle->result;
    uint32_t count = 0;
    for (uint32_t i = 0; i < n->diode_count; i++) {
        double u = r->node_v[n->diodes[i].anode] - r->node_v[n->diodes[i].cathode];
        bool wants =
            r->state.diode_on[i] ? r->diode_a[i] < -slack_a : u > n->diodes[i].drop_v + slack_v;
        count += wants && isfinite(n->diodes[i].ohm) ? 1U : 0U;
    }
    for (uint32_t i = 0; i < n->alternator_count; i++) {
        const NetworkAlternator *g = &n->alternators[i];
        double u = r->node_v[g->plus] - r->node_v[g->minus];
        double amps = r->alternator_a[i];
        bool fine = true;
        if (!g->running || !(g->limit_a > 0)) {
            fine = amps == 0;
        } else if (r->state.alternator_mode[i] == NETWORK_ALTERNATOR_REGULATING) {
            fine = amps >= -slack_a && amps <= g->limit_a + slack_a;
        } else if (r->state.alternator_mode[i] == NETWORK_ALTERNATOR_LIMITING) {
            fine = u <= g->set_v - g->slope_ohm * g->limit_a + slack_v &&
                   fabs(amps - g->limit_a) <= slack_a;
        } else {
            fine = u >= g->set_v - slack_v;
        }
        count += fine ? 0U : 1U;
    }
    for (uint32_t i = 0; i < n->load_count; i++) {
        const NetworkLoad *load = &n->loads[i];
        double u = r->node_v[load->plus] - r->node_v[load->minus];
        bool seen = oracle_node_state(oracle, load->plus) != SOLVE_NODE_DEAD &&
                    oracle_node_state(oracle, load->minus) != SOLVE_NODE_DEAD &&
                    fabs(u) >= 1e-6 * load->nominal_v;
        bool wants = r->state.load_on[i] ? load->minimum_v > 0 && u < load->minimum_v - slack_v
                                         : u >= load->minimum_v + load->hysteresis_v + slack_v;
        count += seen && wants ? 1U : 0U;
    }
    for (uint32_t i = 0; i < n->coil_count; i++) {
        double u = fabs(r->node_v[n->coils[i].plus] - r->node_v[n->coils[i].minus]);
        bool wants = r->state.coil_energised[i] ? u < n->coils[i].dropout_v - slack_v
                                                : u > n->coils[i].pickup_v + slack_v;
        count += wants && isfinite(n->coils[i].ohm) ? 1U : 0U;
    }
    for (uint32_t i = 0; i < n->contact_count; i++) {
        const NetworkContact *contact = &n->contacts[i];
        bool follows = contact->coil == NETWORK_NONE ||
                       r->state.contact_closed[i] == (r->state.coil_energised[contact->coil] ==
                                                      contact->closed_when_energised);
        count += follows ? 0U : 1U;
    }
    return count;
}

/* source - charge - load - loss from the arrays alone, as a share of source; and that the totals of
 * the result say the same. */
static inline double oracle_power_ratio(const Oracle *oracle) {
    const Network *n = oracle->network;
    const SolveResult *r = oracle->result;
    double source_w = 0;
    double charge_w = 0;
    double load_w = 0;
    double loss_w = 0;
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = 0; i < network_kind_count(n, kind); i++) {
            uint32_t ends[2];
            network_element_ends(n, kind, i, ends);
            double amps = oracle_current_a(r, kind, i);
            double taken_w = amps * (r->node_v[ends[0]] - r->node_v[ends[1]]);
            if (kind == NETWORK_BATTERY) {
                double power_w = amps != 0 ? -amps * n->batteries[i].open_v : 0;
                loss_w += amps != 0 ? amps * amps * n->batteries[i].ohm : 0;
                source_w += power_w > 0 ? power_w : 0;
                charge_w += power_w < 0 ? -power_w : 0;
            } else if (kind == NETWORK_ALTERNATOR) {
                source_w -= taken_w;
            } else if (kind == NETWORK_LOAD) {
                load_w += taken_w;
            } else {
                loss_w += taken_w;
            }
        }
    }
    double scale_w = source_w > 1e-9 ? source_w : 1e-9;
    double worst = fabs(source_w - charge_w - load_w - loss_w);
    worst = fmax(worst, fabs(source_w - r->source_w));
    worst = fmax(worst, fabs(charge_w - r->charge_w));
    worst = fmax(worst, fabs(load_w - r->load_w));
    worst = fmax(worst, fabs(loss_w - r->loss_w));
    worst = fmax(worst, fabs(r->source_w - r->charge_w - r->load_w - r->loss_w));
    return worst / scale_w;
}

#endif
