/* Everything about a chain that does not need the matrix: reading it, joining parts, expanding. */
#include "power/point.h"

#include <math.h>
#include <string.h>

#include "base/check.h"

/* --- Chain numbers --------------------------------------------------------------------------- */

static bool alternator_open(const Point *point, uint32_t index) {
    const NetworkAlternator *alternator = &point->network->alternators[index];
    return !alternator->running || !(alternator->limit_a > 0) ||
           point->state.alternator_mode[index] == NETWORK_ALTERNATOR_BLOCKED;
}

static bool alternator_limiting(const Point *point, uint32_t index) {
    return point->state.alternator_mode[index] == NETWORK_ALTERNATOR_LIMITING;
}

bool point_link_open(const Point *point, CollapseLink link) {
    const Network *network = point->network;
    uint32_t index = collapse_link_index(link);
    switch (collapse_link_kind(link)) {
    case NETWORK_RESISTOR:
        return isinf(network->resistors[index].ohm) != 0;
    case NETWORK_CONTACT:
        return !point->state.contact_closed[index] || isinf(network->contacts[index].ohm) != 0;
    case NETWORK_COIL:
        return isinf(network->coils[index].ohm) != 0;
    case NETWORK_DIODE:
        return !point->state.diode_on[index] || isinf(network->diodes[index].ohm) != 0;
    case NETWORK_BATTERY:
        return isinf(network->batteries[index].ohm) != 0;
    case NETWORK_ALTERNATOR:
        return alternator_open(point, index);
    case NETWORK_LOAD:
        return !point->state.load_on[index] || !(network->loads[index].nominal_a > 0);
    case NETWORK_KIND_COUNT:
    default:
        return true;
    }
}

/* Resistance and voltage of an element that is not open, in the chain's direction. A load has
 * neither here: its voltage is the chain's x_v; nor has an alternator at its limit. */
static void link_numbers(const Point *point, CollapseLink link, double *ohm, double *emf_v) {
    const Network *network = point->network;
    uint32_t index = collapse_link_index(link);
    double sign = collapse_link_sign(link);
    *emf_v = 0;
    *ohm = 0;
    switch (collapse_link_kind(link)) {
    case NETWORK_RESISTOR:
        *ohm = network->resistors[index].ohm;
        break;
    case NETWORK_CONTACT:
        *ohm = network->contacts[index].ohm;
        break;
    case NETWORK_COIL:
        *ohm = network->coils[index].ohm;
        break;
    case NETWORK_DIODE:
        *ohm = network->diodes[index].ohm;
        *emf_v = sign * network->diodes[index].drop_v;
        break;
    case NETWORK_BATTERY:
        *ohm = network->batteries[index].ohm;
        *emf_v = sign * network->batteries[index].open_v;
        break;
    case NETWORK_ALTERNATOR:
        if (!alternator_limiting(point, index)) {
            *ohm = network->alternators[index].slope_ohm;
            *emf_v = sign * network->alternators[index].set_v;
        }
        return;
    case NETWORK_LOAD:
    case NETWORK_KIND_COUNT:
    default:
        return;
    }
    CHECK(*ohm > 0);
}

void point_chain_read(Point *point, uint32_t index) {
    const Collapse *collapse = point->collapse;
    Chain *chain = &point->chains[index];
    bool was_open = chain->law == CHAIN_OPEN;
    bool open = false;
    double sum_ohm = 0;
    double sum_v = 0;
    for (uint32_t k = collapse->chain_first[index]; k < collapse->chain_end[index]; k++) {
        CollapseLink link = collapse->links[k];
        if (collapse_link_kind(link) == NETWORK_RESISTOR) { /* nearly all of them */
            double ohm = point->network->resistors[collapse_link_index(link)].ohm;
            CHECK(ohm > 0);
            open |= isinf(ohm) != 0;
            sum_ohm += ohm;
            continue;
        }
        if (point_link_open(point, link)) {
            open = true;
            continue;
        }
        double ohm;
        double emf_v;
        link_numbers(point, link, &ohm, &emf_v);
        sum_ohm += ohm;
        sum_v += emf_v;
    }
    chain->ohm = open ? 0 : sum_ohm;
    chain->emf_v = sum_v;
    chain->x_v = 0;
    chain->current_a = 0;
    if (open) {
        chain->law = CHAIN_OPEN;
    } else if (chain->load != NETWORK_NONE) {
        chain->law = CHAIN_LOAD;
    } else if (chain->alternator != NETWORK_NONE && alternator_limiting(point, chain->alternator)) {
        chain->law = CHAIN_CURRENT;
    } else {
        chain->law = CHAIN_LINEAR;
        CHECK(sum_ohm > 0);
    }
    point->tangent_ready = false;
    point->cold |= was_open && !open;
}

/* --- Parts ----------------------------------------------------------------------------------- */

static uint32_t part_find(uint32_t *root, uint32_t node) {
    while (root[node] != node) {
        root[node] = root[root[node]];
        node = root[node];
    }
    return node;
}

static void part_unite(uint32_t *root, uint32_t a, uint32_t b) {
    a = part_find(root, a);
    b = part_find(root, b);
    root[a > b ? a : b] = a > b ? b : a;
}

/* Notes source `code`, if it can give a voltage to the part it is in. */
static void part_source_note(Point *point, NetworkKind kind, uint32_t index, uint32_t code) {
    const Collapse *collapse = point->collapse;
    uint32_t c = collapse->chain_of[kind][index];
    const Chain *chain = &point->chains[c];
    bool open_before = false;
    bool open_after = false;
    if (chain->law == CHAIN_OPEN) {
        bool passed = false;
        for (uint32_t k = collapse->chain_first[c]; k < collapse->chain_end[c]; k++) {
            CollapseLink link = collapse->links[k];
            bool self = link >> 1 == collapse_link(kind, index, false) >> 1;
            bool open = point_link_open(point, link);
            if (self && open) {
                return;
            }
            passed |= self;
            open_before |= open && !passed;
            open_after |= open && passed;
        }
    }
    if (open_before && open_after) {
        return; /* its part is inside the chain: point_chain_expand() sees to it */
    }
    uint32_t root = part_find(point->root, open_before ? chain->b : chain->a);
    uint32_t *first = &point->part_source[root];
    *first = code < *first ? code : *first;
}

/* An alternator at its limit drives its current whatever the voltage; without a conducting way
 * round, no voltage would do. */
static void part_limits_release(Point *point) {
    const Network *network = point->network;
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        if (!alternator_limiting(point, i) || alternator_open(point, i)) {
            continue;
        }
        uint32_t c = point->collapse->chain_of[NETWORK_ALTERNATOR][i];
        Chain *chain = &point->chains[c];
        if (chain->law == CHAIN_CURRENT &&
            part_find(point->root, chain->a) == part_find(point->root, chain->b)) {
            continue;
        }
        point->state.alternator_mode[i] = NETWORK_ALTERNATOR_REGULATING;
        point->counts.state_changes++;
        point_chain_read(point, c);
        if (chain->law == CHAIN_LINEAR) {
            part_unite(point->root, chain->a, chain->b);
        }
    }
}

void point_join(Point *point) {
    const Network *network = point->network;
    uint32_t kept_count = point->collapse->kept_count;
    uint32_t chain_count = point->collapse->chain_count;
    uint32_t nodes = kept_count + 1 + point->extra_count;
    for (uint32_t k = 0; k < nodes; k++) {
        point->root[k] = k;
        point->part_source[k] = NETWORK_NONE;
    }
    for (uint32_t c = 0; c < chain_count; c++) {
        const Chain *chain = &point->chains[c];
        if (chain->law == CHAIN_LINEAR || chain->law == CHAIN_LOAD) {
            part_unite(point->root, chain->a, chain->b);
        }
    }
    part_limits_release(point);
    for (uint32_t i = 0; i < network->battery_count; i++) {
        part_source_note(point, NETWORK_BATTERY, i, i);
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        part_source_note(point, NETWORK_ALTERNATOR, i, network->battery_count + i);
    }
    uint32_t ground = part_find(point->root, kept_count);
    point->floating_parts = 0;
    for (uint32_t k = 0; k < nodes; k++) {
        uint32_t root = part_find(point->root, k);
        point->root[k] = root;
        point->dead[k] = point->part_source[root] == NETWORK_NONE;
        bool reference = root == ground ? k == kept_count : k == root;
        point->fixed[k] = point->dead[k] || reference;
        point->floating_parts += reference && root != ground && !point->dead[k] ? 1U : 0U;
    }
    for (uint32_t c = 0; c < chain_count; c++) {
        Chain *chain = &point->chains[c];
        chain->dead = chain->law != CHAIN_OPEN && point->dead[chain->a];
    }
    point->tangent_ready = false;
}

/* --- Expansion ------------------------------------------------------------------------------- */

/* The voltage over an element that is not open, in the chain's direction. */
static double link_v(const Point *point, const Chain *chain, CollapseLink link) {
    if (collapse_link_kind(link) == NETWORK_RESISTOR) {
        return point->network->resistors[collapse_link_index(link)].ohm * chain->current_a;
    }
    double ohm;
    double emf_v;
    link_numbers(point, link, &ohm, &emf_v);
    NetworkKind kind = collapse_link_kind(link);
    bool x = kind == NETWORK_LOAD ||
             (kind == NETWORK_ALTERNATOR && alternator_limiting(point, collapse_link_index(link)));
    return x ? chain->x_v : emf_v + ohm * chain->current_a;
}

/* Potentials first..last between two open links: told against the minus end of the first source
 * among them, all 0 without one. */
static void between_settle(Point *point, uint32_t links, uint32_t first, uint32_t last) {
    const Collapse *collapse = point->collapse;
    uint32_t best = NETWORK_NONE;
    double shift_v = 0;
    for (uint32_t k = first; k < last; k++) {
        CollapseLink link = collapse->links[links + k];
        NetworkKind kind = collapse_link_kind(link);
        if (kind != NETWORK_BATTERY && kind != NETWORK_ALTERNATOR) {
            continue;
        }
        uint32_t code = collapse_link_index(link) +
                        (kind == NETWORK_ALTERNATOR ? point->network->battery_count : 0);
        if (code < best) {
            best = code;
            shift_v = point->potential_v[collapse_link_sign(link) > 0 ? k + 1 : k];
        }
    }
    for (uint32_t k = first; k <= last; k++) {
        bool dead = best == NETWORK_NONE;
        point->side[k] = dead ? CHAIN_SIDE_DEAD : CHAIN_SIDE_BETWEEN;
        point->potential_v[k] = dead ? 0 : point->potential_v[k] - shift_v;
    }
}

void point_chain_expand(Point *point, uint32_t c) {
    const Collapse *collapse = point->collapse;
    const Chain *chain = &point->chains[c];
    uint32_t links = collapse->chain_first[c];
    uint32_t length = collapse->chain_end[c] - links;
    double *potential_v = point->potential_v;
    bool dead_a = point->dead[chain->a];
    bool dead_b = point->dead[chain->b];
    potential_v[0] = point_kept_v(point, chain->a);
    point->side[0] = CHAIN_SIDE_A;
    uint32_t begin = 0; /* where the present piece begins */
    for (uint32_t k = 0; k < length; k++) {
        CollapseLink link = collapse->links[links + k];
        if (chain->law == CHAIN_OPEN && point_link_open(point, link)) {
            if (begin > 0) {
                between_settle(point, links, begin, k);
            }
            begin = k + 1;
            potential_v[k + 1] = 0;
        } else {
            double drop_v = begin == 0 && dead_a ? 0 : link_v(point, chain, link);
            potential_v[k + 1] = potential_v[k] - drop_v;
        }
        point->side[k + 1] = CHAIN_SIDE_A;
    }
    potential_v[length] = point_kept_v(point, chain->b);
    point->side[length] = CHAIN_SIDE_B;
    if (chain->law == CHAIN_OPEN) {
        for (uint32_t k = length; k > begin; k--) {
            CollapseLink link = collapse->links[links + k - 1];
            potential_v[k - 1] = potential_v[k] + (dead_b ? 0 : link_v(point, chain, link));
            point->side[k - 1] = CHAIN_SIDE_B;
        }
    }
}

static bool side_dead(const Point *point, const Chain *chain, ChainSide side) {
    return side == CHAIN_SIDE_DEAD || (side == CHAIN_SIDE_A && point->dead[chain->a]) ||
           (side == CHAIN_SIDE_B && point->dead[chain->b]);
}

double point_element_v(Point *point, NetworkKind kind, uint32_t index, bool *seen) {
    const Collapse *collapse = point->collapse;
    uint32_t c = collapse->chain_of[kind][index];
    const Chain *chain = &point->chains[c];
    if (chain->law == CHAIN_LOAD && kind == NETWORK_LOAD) {
        *seen = !chain->dead;
        return chain->dead ? 0 : chain->x_v;
    }
    point_chain_expand(point, c);
    for (uint32_t k = 0;; k++) {
        CollapseLink link = collapse->links[collapse->chain_first[c] + k];
        if (link >> 1 == collapse_link(kind, index, false) >> 1) {
            *seen = !side_dead(point, chain, point->side[k]) &&
                    !side_dead(point, chain, point->side[k + 1]);
            return collapse_link_sign(link) * (point->potential_v[k] - point->potential_v[k + 1]);
        }
    }
}

double point_element_a(const Point *point, NetworkKind kind, uint32_t index) {
    const Collapse *collapse = point->collapse;
    uint32_t c = collapse->chain_of[kind][index];
    const Chain *chain = &point->chains[c];
    if (chain->law == CHAIN_OPEN || kind == NETWORK_LOAD || kind == NETWORK_ALTERNATOR) {
        return chain->current_a;
    }
    for (uint32_t k = collapse->chain_first[c];; k++) {
        CollapseLink link = collapse->links[k];
        if (link >> 1 == collapse_link(kind, index, false) >> 1) {
            return collapse_link_sign(link) * chain->current_a;
        }
    }
}

/* --- Setting up ------------------------------------------------------------------------------ */

void point_new(Point *point, Arena *arena, const Network *network, const Collapse *collapse,
               const FactorPattern *pattern, const int32_t *slots) {
    size_t kept = (size_t)collapse->kept_count + 1;
    *point = (Point){.network = network, .collapse = collapse};
    point->factor = factor_new(arena, pattern);
    point->chains = ARENA_ARRAY(arena, Chain, collapse->chain_count);
    point->state = network_state_rest(arena, network);
    point->v = ARENA_ARRAY(arena, double, kept);
    point->v_low = ARENA_ARRAY(arena, double, kept);
    point->step_v = ARENA_ARRAY(arena, double, kept);
    point->inflow_a = ARENA_ARRAY(arena, double, kept);
    point->root = ARENA_ARRAY(arena, uint32_t, kept);
    point->part_source = ARENA_ARRAY(arena, uint32_t, kept);
    point->fixed = ARENA_ARRAY(arena, bool, kept);
    point->dead = ARENA_ARRAY(arena, bool, kept);
    point->diode_wrong = ARENA_ARRAY(arena, bool, network->diode_count);
    point->alternator_wants = ARENA_ARRAY(arena, NetworkAlternatorMode, network->alternator_count);
    uint32_t larger =
        network->load_count > network->coil_count ? network->load_count : network->coil_count;
    point->offers = ARENA_ARRAY(arena, StatesOffer, (size_t)larger + 1);
    point->shares = ARENA_ARRAY(arena, double, larger);
    point->potential_v = ARENA_ARRAY(arena, double, (size_t)collapse->link_longest + 1);
    point->side = ARENA_ARRAY(arena, ChainSide, (size_t)collapse->link_longest + 1);
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        point->chains[c] = (Chain){.a = collapse->chain_a[c],
                                   .b = collapse->chain_b[c],
                                   .slot = slots[c],
                                   .load = NETWORK_NONE,
                                   .alternator = NETWORK_NONE};
    }
    for (uint32_t i = 0; i < network->load_count; i++) {
        point->chains[collapse->chain_of[NETWORK_LOAD][i]].load = i;
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        point->chains[collapse->chain_of[NETWORK_ALTERNATOR][i]].alternator = i;
    }
}

void point_begin(Point *point, const SolveOptions *options) {
    point->options = *options;
    point->counts = (SolveCounts){.analyses = 1,
                                  .chains = point->collapse->chain_count,
                                  .unknowns = point->collapse->kept_count};
    point->ceiling_v = network_ceiling_v(point->network);
    for (uint32_t c = 0; c < point->collapse->chain_count; c++) {
        point_chain_read(point, c);
    }
    for (uint32_t k = 0; k <= point->collapse->kept_count; k++) {
        bool given = options->start_v != NULL;
        point->v[k] = given ? options->start_v[point->collapse->kept_node[k]] : 0;
        point->v_low[k] = 0;
    }
    point->v[point->collapse->kept_count] = 0;
    point->cold = options->start_v == NULL;
}
