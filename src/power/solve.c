/* The plan holds what structure alone decides (chains, order, factor pattern) and one point as
 * scratch; a run settles the point and reads the result off it. */
#include "power/solve.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "power/states.h"

struct SolvePlan {
    const Collapse *collapse; /* shared with clones, like the two below */
    const FactorPattern *pattern;
    const int32_t *slots;
    Point point;
    SolveResult own; /* the arrays of results that nobody gave a place for */
};

/* --- Options and results --------------------------------------------------------------------- */

static SolveOptions options_fill(const Network *network, const SolveOptions *given) {
    SolveOptions options = given != NULL ? *given : (SolveOptions){0};
    options.balance_ratio = options.balance_ratio > 0 ? options.balance_ratio : 1e-12;
    options.newton_limit = options.newton_limit > 0 ? options.newton_limit : 100;
    if (options.weak_pivot_growth <= 0) {
        options.weak_pivot_growth = 1e4;
    }
    if (options.state_change_limit == 0) {
        options.state_change_limit =
            200 + 4 * (network->contact_count + network->coil_count + network->diode_count +
                       network->alternator_count + network->load_count);
    }
    return options;
}

static void result_new(SolveResult *result, Arena *arena, const Network *network, bool expand) {
    if (expand) {
        result->node_v = ARENA_ARRAY(arena, double, network->node_count);
        result->node_state = ARENA_ARRAY(arena, SolveNodeState, network->node_count);
        result->resistor_a = ARENA_ARRAY(arena, double, network->resistor_count);
        result->contact_a = ARENA_ARRAY(arena, double, network->contact_count);
    }
    result->coil_a = ARENA_ARRAY(arena, double, network->coil_count);
    result->coil_v = ARENA_ARRAY(arena, double, network->coil_count);
    result->diode_a = ARENA_ARRAY(arena, double, network->diode_count);
    result->battery_a = ARENA_ARRAY(arena, double, network->battery_count);
    result->alternator_a = ARENA_ARRAY(arena, double, network->alternator_count);
    result->load_a = ARENA_ARRAY(arena, double, network->load_count);
    result->load_v = ARENA_ARRAY(arena, double, network->load_count);
}

static SolveNodeState kept_state(const Point *point, uint32_t kept) {
    if (point->dead[kept]) {
        return SOLVE_NODE_DEAD;
    }
    bool grounded = point->root[kept] == point->root[point->collapse->kept_count];
    return grounded ? SOLVE_NODE_LIVE : SOLVE_NODE_FLOATING;
}

static SolveNodeState side_state(const Point *point, const Chain *chain, ChainSide side) {
    switch (side) {
    case CHAIN_SIDE_A:
        return kept_state(point, chain->a);
    case CHAIN_SIDE_B:
        return kept_state(point, chain->b);
    case CHAIN_SIDE_BETWEEN:
        return SOLVE_NODE_FLOATING;
    case CHAIN_SIDE_DEAD:
    default:
        return SOLVE_NODE_DEAD;
    }
}

/* Fills node_v, node_state, resistor_a and contact_a, chain by chain. */
static void result_expand(Point *point, SolveResult *result) {
    const Collapse *collapse = point->collapse;
    for (uint32_t node = 0; node < point->network->node_count; node++) {
        result->node_v[node] = 0;
        result->node_state[node] = SOLVE_NODE_DEAD; /* of those without an element */
    }
    for (uint32_t k = 0; k <= collapse->kept_count; k++) {
        result->node_v[collapse->kept_node[k]] = point_kept_v(point, k);
        result->node_state[collapse->kept_node[k]] = kept_state(point, k);
    }
    for (uint32_t c = 0; c < collapse->chain_count; c++) {
        const Chain *chain = &point->chains[c];
        uint32_t first = collapse->chain_first[c];
        uint32_t length = collapse->chain_end[c] - first;
        if (length > 1) {
            point_chain_expand(point, c);
        }
        for (uint32_t k = 0; k < length; k++) {
            CollapseLink link = collapse->links[first + k];
            NetworkKind kind = collapse_link_kind(link);
            uint32_t index = collapse_link_index(link);
            double current_a = collapse_link_sign(link) * chain->current_a + 0.0; /* no -0 */
            if (kind == NETWORK_RESISTOR) {
                result->resistor_a[index] = current_a;
            } else if (kind == NETWORK_CONTACT) {
                result->contact_a[index] = current_a;
            }
            if (k + 1 < length) {
                uint32_t ends[2];
                if (kind == NETWORK_RESISTOR) {
                    ends[0] = point->network->resistors[index].a;
                    ends[1] = point->network->resistors[index].b;
                } else {
                    network_element_ends(point->network, kind, index, ends);
                }
                uint32_t node = collapse_link_sign(link) > 0 ? ends[1] : ends[0];
                result->node_v[node] = point->potential_v[k + 1];
                result->node_state[node] = side_state(point, chain, point->side[k + 1]);
            }
        }
    }
}

/* Currents and voltages of the elements that have their own, and the power of each. */
static void result_elements(Point *point, SolveResult *result) {
    const Network *network = point->network;
    double heat_w = 0;
    for (uint32_t c = 0; c < point->collapse->chain_count; c++) {
        const Chain *chain = &point->chains[c];
        heat_w += chain->ohm * chain->current_a * chain->current_a;
    }
    for (uint32_t i = 0; i < network->coil_count; i++) {
        double current_a = point_element_a(point, NETWORK_COIL, i);
        result->coil_a[i] = current_a;
        result->coil_v[i] = current_a != 0 ? current_a * network->coils[i].ohm : 0;
    }
    for (uint32_t i = 0; i < network->diode_count; i++) {
        result->diode_a[i] = point_element_a(point, NETWORK_DIODE, i);
        heat_w += network->diodes[i].drop_v * result->diode_a[i];
    }
    for (uint32_t i = 0; i < network->battery_count; i++) {
        result->battery_a[i] = 0.0 - point_element_a(point, NETWORK_BATTERY, i);
        double power_w = network->batteries[i].open_v * result->battery_a[i];
        result->source_w += power_w > 0 ? power_w : 0;
        result->charge_w -= power_w < 0 ? power_w : 0;
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        const NetworkAlternator *alternator = &network->alternators[i];
        double current_a = 0.0 - point_element_a(point, NETWORK_ALTERNATOR, i);
        result->alternator_a[i] = current_a;
        if (current_a == 0) {
            continue;
        }
        double terminal_v = alternator->set_v - alternator->slope_ohm * current_a;
        if (point->state.alternator_mode[i] == NETWORK_ALTERNATOR_LIMITING) {
            terminal_v = point->chains[point->collapse->chain_of[NETWORK_ALTERNATOR][i]].x_v;
        } else {
            /* Its slope is how it regulates, not a resistance that gets warm. */
            heat_w -= alternator->slope_ohm * current_a * current_a;
        }
        result->source_w += terminal_v * current_a;
    }
    for (uint32_t i = 0; i < network->load_count; i++) {
        bool seen;
        result->load_a[i] = point_element_a(point, NETWORK_LOAD, i);
        double load_v = point_element_v(point, NETWORK_LOAD, i, &seen);
        result->load_v[i] = seen ? load_v : 0;
        result->load_w += result->load_a[i] * result->load_v[i];
    }
    result->loss_w = heat_w;
}

/* --- Plans ----------------------------------------------------------------------------------- */

static void plan_fill(SolvePlan *plan, Arena *arena, const Network *network) {
    point_new(&plan->point, arena, network, plan->collapse, plan->pattern, plan->slots);
    result_new(&plan->own, arena, network, true);
}

static SolvePlan *plan_new(Arena *arena, const Network *network, bool whole) {
    Arena scratch = {0};
    SolvePlan *plan = ARENA_NEW(arena, SolvePlan);
    Collapse *collapse = collapse_network(arena, &scratch, network, whole);
    uint32_t *place_of = ARENA_ARRAY(&scratch, uint32_t, collapse->kept_count);
    int32_t *slots = ARENA_ARRAY(arena, int32_t, collapse->chain_count);
    plan->pattern = factor_analyse(arena, &scratch, collapse->kept_count, collapse->chain_count,
                                   collapse->chain_a, collapse->chain_b, place_of, slots);
    collapse_renumber(collapse, place_of, &scratch);
    plan->collapse = collapse;
    plan->slots = slots;
    plan_fill(plan, arena, network);
    arena_free(&scratch);
    return plan;
}

Point *solve_plan_point(SolvePlan *plan) {
    return &plan->point;
}

/* --- Exported -------------------------------------------------------------------------------- */

SolvePlan *solve_analyse(Arena *arena, const Network *network) {
    return plan_new(arena, network, false);
}

SolvePlan *solve_analyse_whole(Arena *arena, const Network *network) {
    return plan_new(arena, network, true);
}

SolvePlan *solve_plan_clone(Arena *arena, const SolvePlan *plan, const Network *network) {
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        CHECK(network_kind_count(network, kind) == network_kind_count(plan->point.network, kind));
    }
    CHECK(network->node_count == plan->point.network->node_count);
    SolvePlan *clone = ARENA_NEW(arena, SolvePlan);
    clone->collapse = plan->collapse;
    clone->pattern = plan->pattern;
    clone->slots = plan->slots;
    plan_fill(clone, arena, network);
    return clone;
}

bool solve_run(SolvePlan *plan, const NetworkState *start, const SolveOptions *options, Arena *out,
               SolveResult *result) {
    Point *point = &plan->point;
    const Network *network = point->network;
    SolveOptions filled = options_fill(network, options);
    network_state_rest_set(&point->state, network);
    if (start != NULL) {
        network_state_set(&point->state, network, start);
    }
    for (uint32_t i = 0; i < network->contact_count; i++) {
        const NetworkContact *contact = &network->contacts[i];
        if (contact->coil != NETWORK_NONE) {
            CHECK(contact->coil < network->coil_count);
            point->state.contact_closed[i] =
                point->state.coil_energised[contact->coil] == contact->closed_when_energised;
        }
    }
    point_begin(point, &filled);
    NetworkKind offender_kind = NETWORK_RESISTOR;
    uint32_t offender = NETWORK_NONE;
    SolveStatus status = states_settle(point, &offender_kind, &offender);
    factor_release(point->factor);

    if (out != NULL) {
        *result = (SolveResult){0};
        result_new(result, out, network, !filled.skip_expand);
        result->state = network_state_copy(out, network, &point->state);
    } else {
        *result = plan->own;
        result->state = point->state;
        if (filled.skip_expand) {
            result->node_v = NULL;
            result->node_state = NULL;
            result->resistor_a = NULL;
            result->contact_a = NULL;
        }
    }
    result->status = status;
    result->offender_kind = offender_kind;
    result->offender = offender;
    result->worst_node = status == SOLVE_NOT_CONVERGED
                             ? point->collapse->kept_node[point->worst_kept]
                             : NETWORK_NONE;
    result->residual_a = point->residual_a;
    result->total_a = point->total_a;
    result_elements(point, result);
    if (!filled.skip_expand) {
        result_expand(point, result);
    }
    result->counts = point->counts;
    return status == SOLVE_OK;
}

bool solve_load_works(const Network *network, const SolveResult *result, uint32_t index) {
    const NetworkLoad *load = &network->loads[index];
    return result->state.load_on[index] &&
           result->load_v[index] > NETWORK_LOAD_NOTHING * load->nominal_v &&
           result->load_v[index] >= load->minimum_v - 1e-9;
}
