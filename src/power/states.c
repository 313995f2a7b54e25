/* Diodes and alternators are piecewise linear and without memory: with passive neighbours their
 * states are the one solution of a linear complementarity problem with a P-matrix, so any way of
 * finding it is right. Block principal pivoting (Judice and Pires, Computers & Operations Research
 * 21, 1994) turns over all that are wrong while that makes fewer, else the lowest alone (Murty's
 * rule, which ends). What has a memory changes one at a time, the fastest first; a state of the
 * whole that comes back would come back for ever (found as by Brent, BIT 20, 1980). */
#include "power/states.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"

/* A state is left only when its condition is broken by more than this: share of the total current,
 * and volts. Far above what Newton leaves over, far below what anybody can measure. */
#define STATES_MARGIN_RATIO 1e-9
#define STATES_MARGIN_A 1e-12
#define STATES_MARGIN_V 1e-9
/* While other states are still wrong, Newton goes only so far, and only plain breaks count. */
#define STATES_LOOSE_RATIO 1e-4
#define STATES_LOOSE_MARGIN_RATIO 1e-2
#define STATES_LOOSE_MARGIN_V 0.05
/* Two elements whose thresholds are broken by shares this close are tied. */
#define STATES_TIE 1e-9
/* Rounds of turning all over without getting fewer, before one at a time. */
enum { STATES_PATIENCE = 3 };
/* More than this many cut-outs or relays that want to change at once are a crowd (one dip of a very
 * large network): one in STATES_CROWD_PART changes at a time, so that rounds grow with the
 * logarithm of the crowd. */
enum { STATES_CROWD = 4, STATES_CROWD_PART = 2 };

typedef struct Margin {
    double a;
    double v;
} Margin;

static Margin margin_of(const Point *point, bool loose) {
    double ratio = loose ? STATES_LOOSE_MARGIN_RATIO : STATES_MARGIN_RATIO;
    return (Margin){.a = ratio * point->total_a + STATES_MARGIN_A,
                    .v = loose ? STATES_LOOSE_MARGIN_V : STATES_MARGIN_V};
}

/* --- No memory: diodes and alternators ------------------------------------------------------- */

static bool diode_wrong(Point *point, uint32_t index, Margin margin) {
    if (isinf(point->network->diodes[index].ohm)) {
        return false;
    }
    if (point->state.diode_on[index]) {
        return point_element_a(point, NETWORK_DIODE, index) < -margin.a;
    }
    bool seen;
    double v = point_element_v(point, NETWORK_DIODE, index, &seen);
    return v > point->network->diodes[index].drop_v + margin.v;
}

/* The mode an alternator wants; its present one when content. */
static NetworkAlternatorMode alternator_wants(Point *point, uint32_t index, Margin margin) {
    const NetworkAlternator *alternator = &point->network->alternators[index];
    NetworkAlternatorMode mode = point->state.alternator_mode[index];
    if (!alternator->running || !(alternator->limit_a > 0)) {
        return mode;
    }
    double delivered_a = -point_element_a(point, NETWORK_ALTERNATOR, index);
    bool seen;
    switch (mode) {
    case NETWORK_ALTERNATOR_LIMITING: {
        double corner_v = alternator->set_v - alternator->slope_ohm * alternator->limit_a;
        double v = point_element_v(point, NETWORK_ALTERNATOR, index, &seen);
        return v > corner_v + margin.v ? NETWORK_ALTERNATOR_REGULATING : mode;
    }
    case NETWORK_ALTERNATOR_BLOCKED: {
        double v = point_element_v(point, NETWORK_ALTERNATOR, index, &seen);
        return v < alternator->set_v - margin.v ? NETWORK_ALTERNATOR_REGULATING : mode;
    }
    case NETWORK_ALTERNATOR_REGULATING:
    default:
        if (delivered_a > alternator->limit_a + margin.a) {
            return NETWORK_ALTERNATOR_LIMITING;
        }
        return delivered_a < -margin.a ? NETWORK_ALTERNATOR_BLOCKED : mode;
    }
}

static void chain_of_read(Point *point, NetworkKind kind, uint32_t index) {
    point_chain_read(point, point->collapse->chain_of[kind][index]);
}

static void diode_turn(Point *point, uint32_t index) {
    point->state.diode_on[index] = !point->state.diode_on[index];
    point->counts.state_changes++;
    chain_of_read(point, NETWORK_DIODE, index);
}

static void alternator_turn(Point *point, uint32_t index, NetworkAlternatorMode mode) {
    point->state.alternator_mode[index] = mode;
    point->counts.state_changes++;
    chain_of_read(point, NETWORK_ALTERNATOR, index);
}

bool states_diode_wrong(Point *point, uint32_t index) {
    return diode_wrong(point, index, margin_of(point, false));
}

NetworkAlternatorMode states_alternator_wants(Point *point, uint32_t index) {
    return alternator_wants(point, index, margin_of(point, false));
}

bool states_diode_rests(Point *point, uint32_t index) {
    return point->state.diode_on[index] &&
           fabs(point_element_a(point, NETWORK_DIODE, index)) <= margin_of(point, false).a;
}

/* Which memoryless elements are wrong: marks diodes, notes the modes alternators want. */
typedef struct Wrong {
    uint32_t count;
    NetworkKind first_kind; /* the lowest: diodes before alternators */
    uint32_t first;
} Wrong;

static Wrong wrong_find(Point *point, Margin margin) {
    Wrong wrong = {0};
    const Network *network = point->network;
    for (uint32_t i = 0; i < network->diode_count; i++) {
        point->diode_wrong[i] = diode_wrong(point, i, margin);
        if (point->diode_wrong[i] && wrong.count++ == 0) {
            wrong.first_kind = NETWORK_DIODE;
            wrong.first = i;
        }
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        point->alternator_wants[i] = alternator_wants(point, i, margin);
        if (point->alternator_wants[i] != point->state.alternator_mode[i] && wrong.count++ == 0) {
            wrong.first_kind = NETWORK_ALTERNATOR;
            wrong.first = i;
        }
    }
    return wrong;
}

/* Turns over all that wrong_find() marked, or only its first. */
static void wrong_turn(Point *point, const Wrong *wrong, bool all) {
    const Network *network = point->network;
    for (uint32_t i = 0; i < network->diode_count; i++) {
        bool chosen = all || (wrong->first_kind == NETWORK_DIODE && wrong->first == i);
        if (point->diode_wrong[i] && chosen) {
            diode_turn(point, i);
        }
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        bool chosen = all || (wrong->first_kind == NETWORK_ALTERNATOR && wrong->first == i);
        if (point->alternator_wants[i] != point->state.alternator_mode[i] && chosen) {
            alternator_turn(point, i, point->alternator_wants[i]);
        }
    }
}

/* Voltages of a part that floats are told against the minus end of its first source. */
static void floating_shift(Point *point) {
    uint32_t kept_count = point->collapse->kept_count;
    const Network *network = point->network;
    for (uint32_t root = 0; point->floating_parts > 0 && root < kept_count; root++) {
        if (point->root[root] != root || !point->fixed[root] || point->dead[root]) {
            continue;
        }
        uint32_t code = point->part_source[root];
        bool battery = code < network->battery_count;
        NetworkKind kind = battery ? NETWORK_BATTERY : NETWORK_ALTERNATOR;
        uint32_t index = battery ? code : code - network->battery_count;
        uint32_t c = point->collapse->chain_of[kind][index];
        point_chain_expand(point, c);
        double minus_v = 0;
        uint32_t first = point->collapse->chain_first[c];
        for (uint32_t k = first; k < point->collapse->chain_end[c]; k++) {
            CollapseLink link = point->collapse->links[k];
            if (link >> 1 == collapse_link(kind, index, false) >> 1) {
                minus_v = point->potential_v[k - first + (collapse_link_sign(link) > 0 ? 1 : 0)];
            }
        }
        for (uint32_t k = 0; k < kept_count; k++) {
            if (point->root[k] == root) {
                point->v[k] -= minus_v;
            }
        }
    }
}

/* Newton, and the reference of what floats. */
static bool point_solve(Point *point, double ratio) {
    bool solved = point_newton(point, ratio);
    floating_shift(point);
    return solved;
}

static SolveStatus memoryless_pivot(Point *point, NetworkKind *offender_kind, uint32_t *offender) {
    const Network *network = point->network;
    bool loose = network->diode_count + network->alternator_count > 0;
    uint32_t fewest = UINT32_MAX;
    int patience = STATES_PATIENCE;
    point_join(point);
    for (;;) {
        if (!point_solve(point, loose ? STATES_LOOSE_RATIO : point->options.balance_ratio)) {
            return SOLVE_NOT_CONVERGED;
        }
        Wrong wrong = wrong_find(point, margin_of(point, loose));
        if (wrong.count == 0 && !loose) {
            return SOLVE_OK;
        }
        if (wrong.count == 0) {
            loose = false;
            continue;
        }
        if (point->counts.state_changes >= point->options.state_change_limit) {
            *offender_kind = wrong.first_kind;
            *offender = wrong.first;
            return SOLVE_OSCILLATES;
        }
        if (wrong.count < fewest) {
            fewest = wrong.count;
            patience = STATES_PATIENCE;
        } else {
            patience--;
        }
        wrong_turn(point, &wrong, patience >= 0);
        point_join(point);
    }
}

/* A diode that is on and carries nothing can hold up the potential of a part that nothing else
 * feeds, as if it conducted backwards. All such diodes go off; those that have a voltage to conduct
 * come on again. True if there were any. */
static bool diodes_rest(Point *point) {
    bool any = false;
    for (uint32_t i = 0; i < point->network->diode_count; i++) {
        if (states_diode_rests(point, i)) {
            diode_turn(point, i);
            any = true;
        }
    }
    return any;
}

static SolveStatus memoryless_settle(Point *point, NetworkKind *offender_kind, uint32_t *offender) {
    SolveStatus status = memoryless_pivot(point, offender_kind, offender);
    if (status != SOLVE_OK) {
        return status;
    }
    return diodes_rest(point) ? memoryless_pivot(point, offender_kind, offender) : SOLVE_OK;
}

/* --- Memory: cut-outs and coils -------------------------------------------------------------- */

static void offer_add(Point *point, uint32_t index, double share) {
    if (share > 0) {
        point->offers[point->offer_count++] = (StatesOffer){share, index};
    }
}

void states_load_offer(Point *point, uint32_t index, bool on) {
    const NetworkLoad *load = &point->network->loads[index];
    if (point->state.load_on[index] != on || (on && !(load->minimum_v > 0))) {
        return;
    }
    bool seen;
    double v = point_element_v(point, NETWORK_LOAD, index, &seen);
    if (!seen || fabs(v) < NETWORK_LOAD_NOTHING * load->nominal_v) { /* it keeps its state */
        return;
    }
    double wanted_v = load->minimum_v + (on ? 0 : load->hysteresis_v);
    double over_v = on ? wanted_v - v - STATES_MARGIN_V : v - wanted_v + STATES_MARGIN_V;
    offer_add(point, index, over_v / load->nominal_v);
}

/* Loads that cut out (on true) or come back. */
static void loads_offer(Point *point, bool on) {
    for (uint32_t i = 0; i < point->network->load_count; i++) {
        states_load_offer(point, i, on);
    }
}

void states_coil_offer(Point *point, uint32_t index) {
    const NetworkCoil *coil = &point->network->coils[index];
    if (isinf(coil->ohm) && !point->state.coil_energised[index]) {
        return;
    }
    double v = isinf(coil->ohm) ? 0 : fabs(point_element_a(point, NETWORK_COIL, index)) * coil->ohm;
    double over_v = point->state.coil_energised[index] ? coil->dropout_v - v - STATES_MARGIN_V
                                                       : v - coil->pickup_v + STATES_MARGIN_V;
    double scale_v = coil->pickup_v > 0 ? coil->pickup_v : 1;
    offer_add(point, index, over_v / scale_v);
}

static void coils_offer(Point *point) {
    for (uint32_t i = 0; i < point->network->coil_count; i++) {
        states_coil_offer(point, i);
    }
}

static int shares_compare(const void *a, const void *b) {
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x < y) - (x > y);
}

/* Leaves in the offers those that change now: the first of the most violated, or, where very many
 * want to, a part of them. Ties go together there, so that no order of elements shows. */
void states_offers_choose(Point *point) {
    StatesOffer *offers = point->offers;
    uint32_t count = point->offer_count;
    if (count <= STATES_CROWD) {
        uint32_t best = 0;
        for (uint32_t i = 1; i < count; i++) {
            best = offers[i].share > offers[best].share + STATES_TIE ? i : best;
        }
        offers[0] = offers[best];
        point->offer_count = count > 0 ? 1 : 0;
        return;
    }
    for (uint32_t i = 0; i < count; i++) {
        point->shares[i] = offers[i].share;
    }
    qsort(point->shares, count, sizeof *point->shares, shares_compare);
    double least = point->shares[count / STATES_CROWD_PART - 1] - STATES_TIE;
    point->offer_count = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (offers[i].share >= least) {
            offers[point->offer_count++] = offers[i];
        }
    }
}

/* What changes next, in point->offers: all of the kind returned. */
static NetworkKind offers_find(Point *point) {
    NetworkKind kind = NETWORK_LOAD;
    point->offer_count = 0;
    loads_offer(point, true);
    if (point->offer_count == 0) {
        kind = NETWORK_COIL;
        coils_offer(point);
    }
    if (point->offer_count == 0) {
        kind = NETWORK_LOAD;
        loads_offer(point, false);
    }
    states_offers_choose(point);
    return kind;
}

static void offer_apply(Point *point, NetworkKind kind, uint32_t index) {
    const Network *network = point->network;
    point->counts.state_changes++;
    if (kind == NETWORK_LOAD) {
        point->state.load_on[index] = !point->state.load_on[index];
        chain_of_read(point, NETWORK_LOAD, index);
        return;
    }
    bool energised = !point->state.coil_energised[index];
    point->state.coil_energised[index] = energised;
    for (uint32_t i = 0; i < network->contact_count; i++) {
        const NetworkContact *contact = &network->contacts[i];
        if (contact->coil == index) {
            point->state.contact_closed[i] = energised == contact->closed_when_energised;
            chain_of_read(point, NETWORK_CONTACT, i);
        }
    }
}

/* SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). */
uint64_t states_mark(NetworkKind kind, uint32_t index) {
    uint64_t mark = ((uint64_t)index << 3 | (uint64_t)kind) + UINT64_C(0x9e3779b97f4a7c15);
    mark = (mark ^ mark >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    mark = (mark ^ mark >> 27) * UINT64_C(0x94d049bb133111eb);
    return mark ^ mark >> 31;
}

bool states_cycle(StatesCycle *cycle, const Point *point, NetworkKind kind) {
    cycle->power = cycle->power > 0 ? cycle->power : 1;
    for (uint32_t i = 0; i < point->offer_count; i++) {
        cycle->now ^= states_mark(kind, point->offers[i].index);
    }
    bool before = cycle->now == cycle->kept;
    if (++cycle->since == cycle->power) {
        cycle->kept = cycle->now;
        cycle->since = 0;
        cycle->power *= 2;
    }
    return before;
}

SolveStatus states_settle(Point *point, NetworkKind *offender_kind, uint32_t *offender) {
    StatesCycle cycle = {0};
    for (;;) {
        SolveStatus status = memoryless_settle(point, offender_kind, offender);
        if (status != SOLVE_OK) {
            return status;
        }
        NetworkKind kind = offers_find(point);
        if (point->offer_count == 0) {
            return SOLVE_OK;
        }
        if (states_cycle(&cycle, point, kind) ||
            point->counts.state_changes >= point->options.state_change_limit) {
            *offender_kind = kind;
            *offender = point->offers[0].index;
            return SOLVE_OSCILLATES;
        }
        /* The point that follows depends on the states, not on the way there. */
        point->cold = true;
        for (uint32_t i = 0; i < point->offer_count; i++) {
            offer_apply(point, kind, point->offers[i].index);
        }
    }
}
