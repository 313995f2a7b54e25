/* What can be said of a solved point before anything fails: where in the collapsed network each
 * node and element is, which chains hold it together, and how far the voltage over each chain may
 * move before something on it changes its state or its curve is felt. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "power/fail_inner.h"

/* Margins are taken this much narrower, so that nothing is overlooked. */
#define BASE_NARROWER_V 1e-7
/* The error of a bend is taken this much larger than its second derivative says. */
#define BASE_BEND_FACTOR 2.0

/* --- Places ---------------------------------------------------------------------------------- */

static void places_find(Arena *arena, FailBase *base) {
    const Network *network = &base->network;
    const Collapse *collapse = base->point->collapse;
    base->resistor_chain = ARENA_ARRAY(arena, uint32_t, network->resistor_count);
    base->node_kept = ARENA_ARRAY(arena, uint32_t, network->node_count);
    base->node_chain = ARENA_ARRAY(arena, uint32_t, network->node_count);
    base->node_link = ARENA_ARRAY(arena, uint32_t, network->node_count);
    for (uint32_t node = 0; node < network->node_count; node++) {
        base->node_kept[node] = NETWORK_NONE;
        base->node_chain[node] = NETWORK_NONE;
    }
    for (uint32_t k = 0; k <= collapse->kept_count; k++) {
        base->node_kept[collapse->kept_node[k]] = k;
    }
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        for (uint32_t k = collapse->chain_first[c]; k < collapse->chain_end[c]; k++) {
            CollapseLink link = collapse->links[k];
            NetworkKind kind = collapse_link_kind(link);
            uint32_t index = collapse_link_index(link);
            if (kind == NETWORK_RESISTOR) {
                base->resistor_chain[index] = c;
            }
            if (k + 1 < collapse->chain_end[c]) {
                uint32_t ends[2];
                network_element_ends(network, kind, index, ends);
                uint32_t node = collapse_link_sign(link) > 0 ? ends[1] : ends[0];
                base->node_chain[node] = c;
                base->node_link[node] = k + 1;
            }
        }
    }
}

/* --- What holds it together ------------------------------------------------------------------ */

typedef struct Tree {
    uint32_t *root;   /* union-find */
    uint32_t *parent; /* by kept node */
    uint32_t *up;     /* by kept node: its chain to the parent */
    uint32_t *depth;
    uint32_t *queue; /* nodes, parents before children */
    bool *chain;     /* by chain: is in the tree */
} Tree;

static uint32_t tree_root(uint32_t *root, uint32_t node) {
    while (root[node] != node) {
        root[node] = root[root[node]];
        node = root[node];
    }
    return node;
}

static bool conducts(const Chain *chain) {
    return (chain->law == CHAIN_LINEAR || chain->law == CHAIN_LOAD) && !chain->dead;
}

/* Takes chains into the tree, those without a load first (what only a load holds is held badly), or
 * only those. */
static void tree_choose(const FailBase *base, Tree *tree, bool loads) {
    const Collapse *collapse = base->point->collapse;
    for (int pass = 0; pass < (loads ? 2 : 1); pass++) {
        for (uint32_t c = 0; c < collapse->chain_count; c++) {
            const Chain *chain = &base->point->chains[c];
            if (!conducts(chain) || (chain->law == CHAIN_LOAD) != (pass == 1)) {
                continue;
            }
            uint32_t a = tree_root(tree->root, chain->a);
            uint32_t b = tree_root(tree->root, chain->b);
            if (a != b) {
                tree->root[a] = b;
                tree->chain[c] = true;
            }
        }
    }
}

/* Parents and depths by walks from the reference and from one node of each other part. */
static void tree_walk(Arena *scratch, const FailBase *base, Tree *tree) {
    const Collapse *collapse = base->point->collapse;
    const Chain *chains = base->point->chains;
    uint32_t nodes = collapse->kept_count + 1;
    uint32_t *first = ARENA_ARRAY(scratch, uint32_t, (size_t)nodes + 2);
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        if (tree->chain[c]) {
            first[chains[c].a + 2]++;
            first[chains[c].b + 2]++;
        }
    }
    for (uint32_t k = 2; k < nodes + 2; k++) {
        first[k] += first[k - 1];
    }
    uint32_t *near = ARENA_ARRAY(scratch, uint32_t, first[nodes + 1]);
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        if (tree->chain[c]) {
            near[first[chains[c].a + 1]++] = c;
            near[first[chains[c].b + 1]++] = c;
        }
    }
    uint32_t count = 0;
    for (uint32_t k = 0; k < nodes; k++) {
        tree->up[k] = NETWORK_NONE;
        tree->depth[k] = 0;
        tree->parent[k] = NETWORK_NONE;
    }
    for (uint32_t start = nodes; start-- > 0;) { /* the reference is the last */
        if (tree->parent[start] != NETWORK_NONE) {
            continue;
        }
        tree->parent[start] = start;
        uint32_t head = count;
        tree->queue[count++] = start;
        for (; head < count; head++) {
            uint32_t node = tree->queue[head];
            for (uint32_t k = first[node]; k < first[node + 1]; k++) {
                uint32_t c = near[k];
                uint32_t to = chains[c].a == node ? chains[c].b : chains[c].a;
                if (tree->parent[to] == NETWORK_NONE) {
                    tree->parent[to] = node;
                    tree->up[to] = c;
                    tree->depth[to] = tree->depth[node] + 1;
                    tree->queue[count++] = to;
                }
            }
        }
    }
}

/* A tree chain is a bridge unless another chain goes round it. Each is passed once: `jump` leads to
 * the next node above whose chain upwards nothing has gone round yet. */
static void bridges_find(Arena *scratch, const FailBase *base, const Tree *tree, bool loads,
                         bool *bridge) {
    const Collapse *collapse = base->point->collapse;
    uint32_t nodes = collapse->kept_count + 1;
    uint32_t *jump = ARENA_ARRAY(scratch, uint32_t, nodes);
    for (uint32_t k = 0; k < nodes; k++) {
        jump[k] = k;
        if (tree->up[k] != NETWORK_NONE) {
            bridge[tree->up[k]] = true;
        }
    }
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        const Chain *chain = &base->point->chains[c];
        if (!conducts(chain) || tree->chain[c] || (!loads && chain->law == CHAIN_LOAD)) {
            continue;
        }
        uint32_t a = tree_root(jump, chain->a);
        uint32_t b = tree_root(jump, chain->b);
        while (a != b) {
            uint32_t *low = tree->depth[a] >= tree->depth[b] ? &a : &b;
            bridge[tree->up[*low]] = false;
            jump[*low] = tree->parent[*low];
            *low = tree_root(jump, *low);
        }
    }
}

static Tree tree_new(Arena *scratch, const FailBase *base, bool loads) {
    uint32_t nodes = base->point->collapse->kept_count + 1;
    Tree tree = {
        .root = ARENA_ARRAY(scratch, uint32_t, nodes),
        .parent = ARENA_ARRAY(scratch, uint32_t, nodes),
        .up = ARENA_ARRAY(scratch, uint32_t, nodes),
        .depth = ARENA_ARRAY(scratch, uint32_t, nodes),
        .queue = ARENA_ARRAY(scratch, uint32_t, nodes),
        .chain = ARENA_ARRAY(scratch, bool, base->point->collapse->chain_count),
    };
    for (uint32_t k = 0; k < nodes; k++) {
        tree.root[k] = k;
    }
    tree_choose(base, &tree, loads);
    tree_walk(scratch, base, &tree);
    return tree;
}

/* The walk of the tree without loads, and which chains have all below them to themselves. */
static void strong_find(Arena *arena, Arena *scratch, FailBase *base) {
    const Point *point = base->point;
    const Collapse *collapse = point->collapse;
    uint32_t nodes = collapse->kept_count + 1;
    Tree tree = tree_new(scratch, base, false);
    bool *bridge = ARENA_ARRAY(scratch, bool, collapse->chain_count);
    bridges_find(scratch, base, &tree, false, bridge);
    base->walk = ARENA_ARRAY(arena, uint32_t, nodes);
    base->walk_place = ARENA_ARRAY(arena, uint32_t, nodes);
    base->walk_size = ARENA_ARRAY(arena, uint32_t, nodes);
    base->walk_source = ARENA_ARRAY(arena, uint32_t, (size_t)nodes + 1);
    base->below = ARENA_ARRAY(arena, uint32_t, collapse->chain_count);
    uint32_t *next = ARENA_ARRAY(scratch, uint32_t, nodes); /* place for the next child */
    for (uint32_t k = nodes; k-- > 0;) {                    /* children before parents */
        uint32_t node = tree.queue[k];
        base->walk_size[node]++;
        if (tree.parent[node] != node) {
            base->walk_size[tree.parent[node]] += base->walk_size[node];
        }
    }
    uint32_t place = 0;
    for (uint32_t k = 0; k < nodes; k++) {
        uint32_t node = tree.queue[k];
        uint32_t parent = tree.parent[node];
        uint32_t *at = parent == node ? &place : &next[parent];
        base->walk_place[node] = *at;
        base->walk[*at] = node;
        next[node] = *at + 1;
        *at += base->walk_size[node];
    }
    for (uint32_t i = 0; i < base->network.battery_count + base->network.alternator_count; i++) {
        bool battery = i < base->network.battery_count;
        uint32_t c = battery
                         ? collapse->chain_of[NETWORK_BATTERY][i]
                         : collapse->chain_of[NETWORK_ALTERNATOR][i - base->network.battery_count];
        base->walk_source[base->walk_place[point->chains[c].a] + 1]++;
        base->walk_source[base->walk_place[point->chains[c].b] + 1]++;
    }
    for (uint32_t k = 1; k <= nodes; k++) {
        base->walk_source[k] += base->walk_source[k - 1];
    }
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        base->below[c] = NETWORK_NONE;
    }
    for (uint32_t k = 0; k < nodes; k++) {
        if (tree.up[k] != NETWORK_NONE && bridge[tree.up[k]]) {
            base->below[tree.up[k]] = k;
        }
    }
}

static void structure_find(Arena *arena, Arena *scratch, FailBase *base) {
    const Collapse *collapse = base->point->collapse;
    uint32_t nodes = collapse->kept_count + 1;
    base->bridge = ARENA_ARRAY(arena, bool, collapse->chain_count);
    base->floating = ARENA_ARRAY(arena, bool, nodes);
    for (uint32_t k = 0; k < nodes; k++) {
        base->floating[k] = !base->point->dead[k] &&
                            base->point->root[k] != base->point->root[collapse->kept_count];
    }
    Tree tree = tree_new(arena, base, true); /* kept: which chains are in it */
    base->tree = tree.chain;
    bridges_find(scratch, base, &tree, true, base->bridge);
    strong_find(arena, scratch, base);
}

/* --- What to watch --------------------------------------------------------------------------- */

typedef struct Margin {
    uint32_t a, b; /* the kept nodes whose difference it is about */
    double low_v;
    double high_v;
    double bend_s; /* half the second derivative of the current, A/V2 */
} Margin;

/* The voltage over the chain at which its load has u_v. */
static double chain_v_at(const FailBase *base, const Chain *chain, double u_v) {
    double slope_s;
    double load_a =
        network_load_a(&base->network.loads[chain->load], u_v, base->point->ceiling_v, &slope_s);
    return u_v + chain->ohm * load_a + chain->emf_v;
}

static double chain_now_v(const FailBase *base, const Chain *chain) {
    return point_kept_v(base->point, chain->a) - point_kept_v(base->point, chain->b);
}

static uint32_t chain_open_links(const FailBase *base, uint32_t c) {
    const Collapse *collapse = base->point->collapse;
    uint32_t count = 0;
    for (uint32_t k = collapse->chain_first[c]; k < collapse->chain_end[c]; k++) {
        count += point_link_open(base->point, collapse->links[k]) ? 1U : 0U;
    }
    return count;
}

/* A load that is on: to the voltage it needs, and to the knee of its law on whichever side. */
static Margin margin_load_on(const FailBase *base, const Chain *chain) {
    const NetworkLoad *load = &base->network.loads[chain->load];
    double least_v = fmax(load->minimum_v, NETWORK_LOAD_NOTHING * load->nominal_v);
    double knee_v = load->kind == NETWORK_LOAD_RESISTANCE ? 0 : NETWORK_LOAD_KNEE * load->nominal_v;
    double now_v = chain_now_v(base, chain);
    bool above = chain->x_v >= knee_v;
    Margin margin = {
        .low_v = chain_v_at(base, chain, above ? fmax(least_v, knee_v) : least_v) - now_v,
        .high_v = above ? HUGE_VAL : chain_v_at(base, chain, knee_v) - now_v,
    };
    if (margin.low_v > 0) { /* has next to no voltage: any would show */
        double nothing_v = NETWORK_LOAD_NOTHING * load->nominal_v;
        margin.low_v = chain_v_at(base, chain, -nothing_v) - now_v;
        margin.high_v = chain_v_at(base, chain, nothing_v) - now_v;
    }
    if (load->kind == NETWORK_LOAD_POWER && above) {
        margin.bend_s = fabs(chain->current_a) / (chain->x_v * chain->x_v);
    }
    return margin;
}

/* An element that is the one open link of its chain: the voltage over it moves with the ends. */
static Margin margin_open(FailBase *base, NetworkKind kind, uint32_t index, double sign) {
    Margin margin = {.low_v = -HUGE_VAL, .high_v = HUGE_VAL};
    bool seen;
    double v = point_element_v(base->point, kind, index, &seen);
    double above_v = HUGE_VAL; /* over the element, in its own direction */
    double below_v = HUGE_VAL;
    if (kind == NETWORK_LOAD) {
        const NetworkLoad *load = &base->network.loads[index];
        if (!base->point->state.load_on[index]) {
            above_v = load->minimum_v + load->hysteresis_v - v;
        } else {
            double least_v = fmax(load->minimum_v, NETWORK_LOAD_NOTHING * load->nominal_v);
            below_v = v - least_v; /* is off, and could work */
            above_v = v > least_v ? HUGE_VAL : least_v - v;
        }
    } else if (kind == NETWORK_DIODE) {
        above_v = base->network.diodes[index].drop_v - v;
    } else if (kind == NETWORK_ALTERNATOR) {
        below_v = v - base->network.alternators[index].set_v;
    }
    margin.high_v = sign > 0 ? above_v : below_v;
    margin.low_v = -(sign > 0 ? below_v : above_v);
    return margin;
}

/* An element with a straight law in a straight chain: its current may move from low_a to high_a. */
static Margin margin_current(const Chain *chain, double now_a, double low_a, double high_a,
                             double sign) {
    Margin margin = {.low_v = (low_a - now_a) * chain->ohm,
                     .high_v = (high_a - now_a) * chain->ohm};
    if (sign < 0) {
        double low_v = margin.low_v;
        margin.low_v = -margin.high_v;
        margin.high_v = -low_v;
    }
    return margin;
}

static Margin margin_coil(const FailBase *base, const Chain *chain, uint32_t index, double now_a,
                          double sign) {
    const NetworkCoil *coil = &base->network.coils[index];
    if (!base->point->state.coil_energised[index]) {
        double most_a = coil->pickup_v / coil->ohm;
        return margin_current(chain, now_a, -most_a, most_a, sign);
    }
    double least_a = coil->dropout_v / coil->ohm;
    return now_a > 0 ? margin_current(chain, now_a, least_a, HUGE_VAL, sign)
                     : margin_current(chain, now_a, -HUGE_VAL, -least_a, sign);
}

static Margin margin_alternator(const FailBase *base, const Chain *chain, uint32_t index,
                                double now_a, double sign) {
    const NetworkAlternator *alternator = &base->network.alternators[index];
    if (base->point->state.alternator_mode[index] == NETWORK_ALTERNATOR_LIMITING) {
        double corner_v = alternator->set_v - alternator->slope_ohm * alternator->limit_a;
        return (Margin){.low_v = -HUGE_VAL, .high_v = corner_v - chain->x_v};
    }
    return margin_current(chain, now_a, -alternator->limit_a, 0, sign);
}

/* A diode in a broken chain where nothing flows: with one side joined to an end of the chain and
 * the other dead, it is on while the voltage of the live side is enough. That decides what a
 * voltmeter shows behind it, and whether a second diode in the chain is asked to conduct. False
 * when no side is joined to an end. */
static bool margin_dangling(FailBase *base, uint32_t index, CollapseLink link, Margin *margin) {
    const Collapse *collapse = base->point->collapse;
    uint32_t c = collapse->chain_of[NETWORK_DIODE][index];
    const Chain *chain = &base->point->chains[c];
    point_chain_expand(base->point, c);
    uint32_t k = 0;
    while (collapse->links[collapse->chain_first[c] + k] != link) {
        k++;
    }
    const ChainSide *side = base->point->side;
    bool joined = side[k] == CHAIN_SIDE_A || side[k] == CHAIN_SIDE_B;
    uint32_t live = joined ? k : k + 1;
    if (side[live] != CHAIN_SIDE_A && side[live] != CHAIN_SIDE_B) {
        return false;
    }
    /* Forward voltage when off: of the anode over 0, or of 0 over the cathode. */
    bool anode = (live == k) == (collapse_link_sign(link) > 0);
    double forward_v = anode ? base->point->potential_v[live] : -base->point->potential_v[live];
    double left_v = base->network.diodes[index].drop_v - forward_v;
    double low_v = left_v < 0 ? left_v : -HUGE_VAL;
    double high_v = left_v < 0 ? HUGE_VAL : left_v;
    margin->a = side[live] == CHAIN_SIDE_A ? chain->a : chain->b;
    margin->b = collapse->kept_count;
    margin->low_v = anode ? low_v : -high_v;
    margin->high_v = anode ? high_v : -low_v;
    margin->bend_s = 0;
    return true;
}

static void margin_conducting(const FailBase *base, const Chain *chain, NetworkKind kind,
                              uint32_t index, double now_a, double sign, Margin *margin) {
    if (kind == NETWORK_LOAD) {
        *margin = margin_load_on(base, chain);
    } else if (chain->law == CHAIN_LOAD ||
               (chain->law == CHAIN_CURRENT && kind != NETWORK_ALTERNATOR)) {
        *margin = (Margin){.low_v = 0, .high_v = 0}; /* looked at each time: rare */
    } else if (kind == NETWORK_DIODE) {
        *margin = margin_current(chain, now_a, 0, HUGE_VAL, sign);
    } else if (kind == NETWORK_COIL) {
        *margin = margin_coil(base, chain, index, now_a, sign);
    } else {
        *margin = margin_alternator(base, chain, index, now_a, sign);
    }
}

/* False when nothing there can change. */
static bool margin_find(FailBase *base, NetworkKind kind, uint32_t index, CollapseLink link,
                        Margin *margin) {
    uint32_t c = base->point->collapse->chain_of[kind][index];
    const Chain *chain = &base->point->chains[c];
    double sign = collapse_link_sign(link);
    if (chain->dead) {
        return false;
    }
    if (chain->law == CHAIN_OPEN) {
        if (point_link_open(base->point, link) && chain_open_links(base, c) == 1) {
            *margin = margin_open(base, kind, index, sign);
        } else if (kind != NETWORK_DIODE) {
            return false;
        } else {
            return margin_dangling(base, index, link, margin);
        }
        margin->a = chain->a;
        margin->b = chain->b;
        return kind != NETWORK_COIL;
    }
    double now_a = point_element_a(base->point, kind, index);
    margin_conducting(base, chain, kind, index, now_a, sign, margin);
    margin->a = chain->a;
    margin->b = chain->b;
    return true;
}

/* Volts over the chain for an ampere through it from elsewhere. */
static double port_ohm(const FailBase *base, const Chain *chain, double *work, uint32_t *rows,
                       double *values) {
    const Point *point = base->point;
    uint32_t a = point->fixed[chain->a] ? FACTOR_NO_ROW : chain->a;
    uint32_t b = point->fixed[chain->b] ? FACTOR_NO_ROW : chain->b;
    uint32_t count = factor_path(point->factor, a, b, work, rows, values);
    double ohm = 0;
    for (uint32_t i = 0; i < count; i++) {
        ohm += values[i] * values[i] / factor_pivot(point->factor, rows[i]);
    }
    return ohm;
}

typedef struct Watch {
    uint32_t chain;
    uint32_t index;
    NetworkKind kind;
    Margin margin;
    uint32_t number; /* in the order found */
} Watch;

static int watches_compare(const void *a, const void *b) {
    const Watch *x = a;
    const Watch *y = b;
    if (x->margin.a != y->margin.a) {
        return x->margin.a < y->margin.a ? -1 : 1;
    }
    if (x->margin.b != y->margin.b) {
        return x->margin.b < y->margin.b ? -1 : 1;
    }
    return x->number < y->number ? -1 : 1;
}

static uint32_t watches_collect(FailBase *base, Watch *list) {
    const Collapse *collapse = base->point->collapse;
    uint32_t count = 0;
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        for (uint32_t k = collapse->chain_first[c]; k < collapse->chain_end[c]; k++) {
            CollapseLink link = collapse->links[k];
            Watch watch = {.chain = c,
                           .index = collapse_link_index(link),
                           .kind = collapse_link_kind(link),
                           .number = count};
            if (watch.kind != NETWORK_RESISTOR && watch.kind != NETWORK_CONTACT &&
                watch.kind != NETWORK_BATTERY &&
                margin_find(base, watch.kind, watch.index, link, &watch.margin)) {
                list[count++] = watch;
            }
        }
    }
    qsort(list, count, sizeof *list, watches_compare);
    return count;
}

static void groups_find(Arena *arena, FailBase *base) {
    FailWatches *watches = &base->watches;
    uint32_t most = watches->count;
    uint32_t chain_count = base->point->collapse->chain_count;
    watches->group_first = ARENA_ARRAY(arena, uint32_t, (size_t)most + 1);
    watches->group_a = ARENA_ARRAY(arena, uint32_t, most);
    watches->group_b = ARENA_ARRAY(arena, uint32_t, most);
    watches->group_low_v = ARENA_ARRAY(arena, double, most);
    watches->group_high_v = ARENA_ARRAY(arena, double, most);
    watches->group_bend = ARENA_ARRAY(arena, double, most);
    watches->group_ohm = ARENA_ARRAY(arena, double, most);
    watches->group_of = ARENA_ARRAY(arena, uint32_t, most);
    watches->chain_group = ARENA_ARRAY(arena, uint32_t, chain_count);
    for (uint32_t c = 0; c < chain_count; c++) {
        watches->chain_group[c] = NETWORK_NONE;
    }
    for (uint32_t i = 0; i < most; i++) {
        uint32_t g = watches->group_count;
        if (i == 0 || watches->a[i] != watches->a[i - 1] || watches->b[i] != watches->b[i - 1]) {
            watches->group_first[g] = i;
            watches->group_a[g] = watches->a[i];
            watches->group_b[g] = watches->b[i];
            watches->group_low_v[g] = -HUGE_VAL;
            watches->group_high_v[g] = HUGE_VAL;
            watches->group_count = ++g;
        }
        g--;
        watches->group_of[i] = g;
        watches->group_low_v[g] = fmax(watches->group_low_v[g], watches->low_v[i]);
        watches->group_high_v[g] = fmin(watches->group_high_v[g], watches->high_v[i]);
        watches->group_bend[g] += watches->bend[i];
        watches->group_ohm[g] = fmax(watches->group_ohm[g], watches->port_ohm[i]);
        if (watches->bent[i]) {
            watches->chain_group[watches->chain[i]] = g;
        }
    }
    watches->group_first[watches->group_count] = most;
}

/* What the bent loads of a group draw beyond their tangents at a change of voltage. */
static double group_more_a(const FailBase *base, uint32_t group, double change) {
    const FailWatches *watches = &base->watches;
    double more_a = 0;
    for (uint32_t i = watches->group_first[group]; i < watches->group_first[group + 1]; i++) {
        if (watches->bent[i]) {
            const Chain *was = &base->point->chains[watches->chain[i]];
            Chain chain = *was;
            double now_v = chain_now_v(base, was) + change;
            point_chain_law_at(base->point, &chain, now_v);
            more_a += chain.current_a - was->current_a - was->slope_s * change;
        }
    }
    return more_a;
}

/* The series through FAIL_SERIES points on both sides of no change. A current goes with 1 /
 * voltage: two parts in a hundred away, the sixth power of that is left out. */
#define BASE_REACH_SHARE 0.02

static void series_find(Arena *arena, FailBase *base) {
    static const double AT[FAIL_SERIES] = {-1, -0.5, 0.5, 1};
    FailWatches *watches = &base->watches;
    watches->group_reach_v = ARENA_ARRAY(arena, double, watches->group_count);
    watches->group_series = ARENA_ARRAY(arena, double, (size_t)FAIL_SERIES * watches->group_count);
    for (uint32_t g = 0; g < watches->group_count; g++) {
        double reach_v = 0;
        for (uint32_t i = watches->group_first[g]; i < watches->group_first[g + 1]; i++) {
            if (watches->bent[i]) {
                double load_v = fabs(base->point->chains[watches->chain[i]].x_v);
                double part_v = BASE_REACH_SHARE * load_v;
                reach_v = reach_v > 0 ? fmin(reach_v, part_v) : part_v;
            }
        }
        reach_v = fmin(reach_v, fmin(-watches->group_low_v[g], watches->group_high_v[g]));
        if (!(reach_v > 0)) {
            continue;
        }
        watches->group_reach_v[g] = reach_v;
        /* Newton's divided differences, then powers. */
        double *c = &watches->group_series[(size_t)FAIL_SERIES * g];
        for (int k = 0; k < FAIL_SERIES; k++) {
            double change = AT[k] * reach_v;
            c[k] = group_more_a(base, g, change) / (change * change);
        }
        for (int level = 1; level < FAIL_SERIES; level++) {
            for (int k = FAIL_SERIES - 1; k >= level; k--) {
                c[k] = (c[k] - c[k - 1]) / ((AT[k] - AT[k - level]) * reach_v);
            }
        }
        for (int k = FAIL_SERIES - 2; k >= 0; k--) {
            for (int m = k; m < FAIL_SERIES - 1; m++) {
                c[m] -= AT[k] * reach_v * c[m + 1];
            }
        }
    }
}

static void watches_find(Arena *arena, Arena *scratch, FailBase *base) {
    const Network *network = &base->network;
    const Collapse *collapse = base->point->collapse;
    FailWatches *watches = &base->watches;
    uint32_t most = network->diode_count + network->alternator_count + network->load_count +
                    network->coil_count;
    Watch *list = ARENA_ARRAY(scratch, Watch, most);
    watches->count = watches_collect(base, list);
    watches->a = ARENA_ARRAY(arena, uint32_t, watches->count);
    watches->b = ARENA_ARRAY(arena, uint32_t, watches->count);
    watches->low_v = ARENA_ARRAY(arena, double, watches->count);
    watches->high_v = ARENA_ARRAY(arena, double, watches->count);
    watches->bend = ARENA_ARRAY(arena, double, watches->count);
    watches->port_ohm = ARENA_ARRAY(arena, double, watches->count);
    watches->chain = ARENA_ARRAY(arena, uint32_t, watches->count);
    watches->index = ARENA_ARRAY(arena, uint32_t, watches->count);
    watches->kind = ARENA_ARRAY(arena, uint8_t, watches->count);
    watches->bent = ARENA_ARRAY(arena, bool, watches->count);
    double *work = ARENA_ARRAY(scratch, double, (size_t)collapse->kept_count + 1);
    uint32_t *rows = ARENA_ARRAY(scratch, uint32_t, 2 * (size_t)base->height + 2);
    double *values = ARENA_ARRAY(scratch, double, 2 * (size_t)base->height + 2);
    for (uint32_t i = 0; i < watches->count; i++) {
        const Watch *watch = &list[i];
        const Chain *chain = &base->point->chains[watch->chain];
        double ohm = fabs(port_ohm(base, chain, work, rows, values));
        watches->a[i] = watch->margin.a;
        watches->b[i] = watch->margin.b;
        watches->low_v[i] = watch->margin.low_v + BASE_NARROWER_V;
        watches->high_v[i] = watch->margin.high_v - BASE_NARROWER_V;
        watches->bend[i] = BASE_BEND_FACTOR * watch->margin.bend_s * ohm;
        watches->port_ohm[i] = ohm;
        watches->chain[i] = watch->chain;
        watches->index[i] = watch->index;
        watches->kind[i] = (uint8_t)watch->kind;
        watches->bent[i] = watch->kind == NETWORK_LOAD && chain->law == CHAIN_LOAD &&
                           network->loads[watch->index].kind != NETWORK_LOAD_RESISTANCE;
    }
    groups_find(arena, base);
    series_find(arena, base);
}

static void rows_find(Arena *arena, Arena *scratch, FailBase *base) {
    uint32_t count = base->point->collapse->kept_count;
    double *work = ARENA_ARRAY(scratch, double, (size_t)count + 1);
    uint32_t *rows = ARENA_ARRAY(scratch, uint32_t, 2 * (size_t)base->height + 2);
    double *values = ARENA_ARRAY(scratch, double, 2 * (size_t)base->height + 2);
    base->row_ohm = ARENA_ARRAY(arena, double, count);
    for (uint32_t k = 0; k < count; k++) {
        uint32_t path = factor_path(base->point->factor, k, FACTOR_NO_ROW, work, rows, values);
        for (uint32_t i = 0; i < path; i++) {
            base->row_ohm[k] += values[i] * values[i] / factor_pivot(base->point->factor, rows[i]);
        }
    }
}

/* Which groups with bent loads hang on each node. */
static void loads_index(Arena *arena, FailBase *base) {
    const FailWatches *watches = &base->watches;
    uint32_t nodes = base->point->collapse->kept_count + 1;
    base->load_first = ARENA_ARRAY(arena, uint32_t, (size_t)nodes + 2);
    base->load_group = ARENA_ARRAY(arena, uint32_t, 2 * (size_t)watches->group_count);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t g = 0; g < watches->group_count; g++) {
            bool bent = false;
            for (uint32_t i = watches->group_first[g]; i < watches->group_first[g + 1]; i++) {
                bent |= watches->bent[i];
            }
            const uint32_t ends[2] = {watches->group_a[g], watches->group_b[g]};
            for (int end = 0; bent && end < 2; end++) {
                if (pass == 0) {
                    base->load_first[ends[end] + 2]++;
                } else {
                    base->load_group[base->load_first[ends[end] + 1]++] = g;
                }
            }
        }
        for (uint32_t k = 2; pass == 0 && k < nodes + 2; k++) {
            base->load_first[k] += base->load_first[k - 1];
        }
    }
}

/* --- Exported -------------------------------------------------------------------------------- */

void fail_base_prepare(Arena *arena, FailBase *base) {
    if (base->result.status != SOLVE_OK) {
        return;
    }
    FactorOutcome outcome = point_factor(base->point);
    base->fast = outcome == FACTOR_LDL;
    factor_release(base->point->factor);
    Arena scratch = {0};
    base->height = base->fast ? factor_height(base->point->factor) : 0;
    places_find(arena, base);
    structure_find(arena, &scratch, base);
    if (base->fast) {
        watches_find(arena, &scratch, base);
        loads_index(arena, base);
        rows_find(arena, &scratch, base);
    }
    arena_free(&scratch);
}
