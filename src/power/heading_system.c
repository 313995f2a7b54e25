/* Method: at its operating point a phase is a linear network, G v = j, with loads and coils as
 * currents j. The field at one place is a sum over elements of field per ampere x current,
 * B = w'v with w = sum of (field per ampere x conductance) at the ends, so one solution u of G u =
 * w for each component of B gives the field of every circuit: u(minus) - u(plus) for one ampere
 * from plus to minus. What hangs on open contacts is reached by a tree from what is live. */
#include <math.h>
#include <string.h>

#include "power/heading_inner.h"
#include "power/merge.h"

enum { COMPONENTS = 3 };

/* --- what conducts ------------------------------------------------------------------------------
 */

static double contact_s(const HeadingSystem *system, uint32_t index) {
    const NetworkContact *contact = &system->scene->input->built->network.contacts[index];
    return system->result->state.contact_closed[index] ? 1.0 / contact->ohm : 0.0;
}

/* A source at work is a resistance; at its limit an alternator is a current, which is no matter of
 * this network (but see join_limited). */
static double source_s(const HeadingSystem *system, NetworkKind kind, uint32_t index) {
    const PowerNetwork *built = system->scene->input->built;
    const SolveResult *result = system->result;
    if (kind == NETWORK_BATTERY) {
        double half_ohm = fmax(built->batteries[index].r_ohm / 2.0, BUILD_BOLTED_OHM);
        return result->battery_a[index] != 0.0 ? 1.0 / half_ohm : 0.0;
    }
    bool regulates = result->alternator_a[index] > 0.0 &&
                     result->state.alternator_mode[index] == NETWORK_ALTERNATOR_REGULATING;
    return regulates ? 1.0 / built->network.alternators[index].slope_ohm : 0.0;
}

/* The diode of a full battery; one that is not full has it open and its bypass closed
 * (build_set_charge). By the source's row: later passes may have set other charges. */
static double diode_s(const HeadingSystem *system, uint32_t index) {
    const HeadingInput *input = system->scene->input;
    const BuildSource *source = &input->built->diode_source[index];
    if (!system->result->state.diode_on[index]) {
        return 0.0;
    }
    if (source->kind != BUILD_INNER) {
        return 1.0 / input->built->network.diodes[index].ohm;
    }
    const SourceRow *row = &input->model->set->source.rows[source->index];
    uint32_t battery = system->scene->diode_battery[index];
    double half_ohm = input->built->batteries[battery].r_ohm / 2.0;
    bool full = isnan(row->charge_pct) || row->charge_pct >= 100.0;
    return full ? 1.0 / fmax(half_ohm, BUILD_BOLTED_OHM) : 0.0;
}

static void read_conductances(HeadingSystem *system) {
    const HeadingScene *scene = system->scene;
    const Network *network = &scene->input->built->network;
    double *all_s = system->conductance_s;
    memset(all_s, 0, scene->first[NETWORK_KIND_COUNT] * sizeof *all_s);
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        all_s[heading_element(scene, NETWORK_RESISTOR, i)] = 1.0 / network->resistors[i].ohm;
    }
    for (uint32_t i = 0; i < network->contact_count; i++) {
        all_s[heading_element(scene, NETWORK_CONTACT, i)] = contact_s(system, i);
    }
    for (uint32_t i = 0; i < network->diode_count; i++) {
        all_s[heading_element(scene, NETWORK_DIODE, i)] = diode_s(system, i);
    }
    for (uint32_t i = 0; i < network->battery_count; i++) {
        all_s[heading_element(scene, NETWORK_BATTERY, i)] = source_s(system, NETWORK_BATTERY, i);
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        all_s[heading_element(scene, NETWORK_ALTERNATOR, i)] =
            source_s(system, NETWORK_ALTERNATOR, i);
    }
}

static bool is_source(NetworkKind kind) {
    return kind == NETWORK_BATTERY || kind == NETWORK_ALTERNATOR;
}

static void join_nodes(HeadingSystem *system) {
    const HeadingScene *scene = system->scene;
    uint32_t nodes = scene->input->built->network.node_count;
    merge_start(system->wired, nodes);
    merge_start(system->joined, nodes);
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = scene->first[kind]; i < scene->first[kind + 1]; i++) {
            if (system->conductance_s[i] > 0.0) {
                merge_join(system->joined, scene->a[i], scene->b[i]);
                if (!is_source(kind)) {
                    merge_join(system->wired, scene->a[i], scene->b[i]);
                }
            }
        }
    }
}

/* Where nothing but alternators at their limit is left, they are what gives more or less. */
static void join_limited(HeadingSystem *system) {
    const HeadingScene *scene = system->scene;
    const Network *network = &scene->input->built->network;
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        const NetworkAlternator *alternator = &network->alternators[i];
        if (system->result->alternator_a[i] > 0.0 &&
            merge_root(system->joined, alternator->plus) !=
                merge_root(system->joined, alternator->minus)) {
            system->conductance_s[heading_element(scene, NETWORK_ALTERNATOR, i)] =
                1.0 / alternator->slope_ohm;
            merge_join(system->joined, alternator->plus, alternator->minus);
        }
    }
}

/* --- live and in reach --------------------------------------------------------------------------
 */

static bool source_off(const HeadingSystem *system, uint32_t phase, uint32_t source) {
    const HeadingInput *input = system->scene->input;
    OwnerId owner = model_owner(input->model, input->model->set->source.rows[source].unit);
    return owner != ID_NONE && strcmp(input->supply->positions[phase][owner], "off") == 0;
}

/* Marks the parts that hang on a plus, and those that hang on a minus or the structure. */
static void mark_live(HeadingSystem *system, uint32_t phase) {
    const PowerNetwork *built = system->scene->input->built;
    const Network *network = &built->network;
    memset(system->live, 0, network->node_count);
    system->live[merge_root(system->wired, 0)] = 1U << HEADING_GROUND;
    for (uint32_t i = 0; i < network->battery_count; i++) {
        system->live[merge_root(system->wired, network->batteries[i].minus)] |= 1U
                                                                                << HEADING_GROUND;
        if (!source_off(system, phase, built->batteries[i].source)) {
            system->live[merge_root(system->wired, network->batteries[i].plus)] |= 1U
                                                                                   << HEADING_HOT;
        }
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        system->live[merge_root(system->wired, network->alternators[i].minus)] |= 1U
                                                                                  << HEADING_GROUND;
        if (system->result->alternator_a[i] > 0.0) {
            system->live[merge_root(system->wired, network->alternators[i].plus)] |= 1U
                                                                                     << HEADING_HOT;
        }
    }
    for (uint32_t node = network->node_count; node-- > 0;) {
        system->live[node] = system->live[merge_root(system->wired, node)];
    }
}

/* A tree over what is not live, from the live nodes of one side, nearest first; ties by element. */
static void grow_tree(HeadingSystem *system, HeadingSide side) {
    const HeadingScene *scene = system->scene;
    uint32_t nodes = scene->input->built->network.node_count;
    uint32_t *order = system->order[side];
    uint32_t *parent = system->parent[side];
    uint32_t *anchor = system->anchor[side];
    memset(parent, 0xff, nodes * sizeof *parent);
    memset(anchor, 0xff, nodes * sizeof *anchor);
    uint32_t count = 0;
    for (uint32_t round = 0, node = 0; round < nodes + count; round++) {
        if (round < nodes) {
            node = round;
            if ((system->live[node] & 1U << side) == 0) {
                continue;
            }
        } else {
            node = order[round - nodes];
        }
        for (uint32_t i = scene->near_first[node]; i < scene->near_first[node + 1]; i++) {
            uint32_t element = scene->near[i];
            uint32_t other = scene->a[element] == node ? scene->b[element] : scene->a[element];
            if (system->live[other] == 0 && parent[other] == NETWORK_NONE) {
                parent[other] = element;
                anchor[other] = round < nodes ? node : anchor[node];
                order[count++] = other;
            }
        }
    }
    system->order_count[side] = count;
}

/* --- factor -------------------------------------------------------------------------------------
 */

static void fill_factor(HeadingSystem *system) {
    const HeadingScene *scene = system->scene;
    uint32_t nodes = scene->input->built->network.node_count;
    factor_clear(system->factor);
    for (uint32_t i = 0; i < scene->first[NETWORK_KIND_COUNT]; i++) {
        double s = system->conductance_s[i];
        if (!(s > 0.0)) {
            continue;
        }
        if (scene->a[i] > 0) {
            factor_add_diagonal(system->factor, scene->place_of[scene->a[i] - 1], s);
        }
        if (scene->b[i] > 0) {
            factor_add_diagonal(system->factor, scene->place_of[scene->b[i] - 1], s);
        }
        if (scene->slot[i] >= 0) {
            factor_add(system->factor, scene->slot[i], -s);
        }
    }
    /* A part that does not hang on the structure is tied to it at its first node: a single tie
     * carries nothing. */
    for (uint32_t node = 1; node < nodes; node++) {
        if (merge_root(system->joined, node) == node) {
            factor_add_diagonal(system->factor, scene->place_of[node - 1], 1.0);
        }
    }
    const double GROWTH = 1e6;
    factor_compute(system->factor, GROWTH);
}

void heading_system_new(Arena *out, const HeadingScene *scene, HeadingSystem *system) {
    uint32_t nodes = scene->input->built->network.node_count;
    *system = (HeadingSystem){
        .scene = scene,
        .factor = factor_new(out, scene->pattern),
        .conductance_s = ARENA_ARRAY(out, double, scene->first[NETWORK_KIND_COUNT]),
        .wired = ARENA_ARRAY(out, uint32_t, nodes),
        .joined = ARENA_ARRAY(out, uint32_t, nodes),
        .live = ARENA_ARRAY(out, uint8_t, nodes),
        .right = ARENA_ARRAY(out, double, nodes),
    };
    for (int side = 0; side < HEADING_SIDES; side++) {
        system->order[side] = ARENA_ARRAY(out, uint32_t, nodes);
        system->parent[side] = ARENA_ARRAY(out, uint32_t, nodes);
        system->anchor[side] = ARENA_ARRAY(out, uint32_t, nodes);
    }
}

void heading_system_set(HeadingSystem *system, uint32_t phase) {
    system->result = &system->scene->input->phases->results[phase];
    read_conductances(system);
    join_nodes(system);
    join_limited(system);
    mark_live(system, phase);
    grow_tree(system, HEADING_HOT);
    grow_tree(system, HEADING_GROUND);
    fill_factor(system);
}

/* --- field by node ------------------------------------------------------------------------------
 */

static double *component(FieldVector *vector, int which) {
    return which == 0 ? &vector->x : which == 1 ? &vector->y : &vector->z;
}

/* w at the two ends of an element with that field per ampere. */
static void add_weight(const HeadingSystem *system, uint32_t element, FieldVector field_ut,
                       bool metal, HeadingPotential *at) {
    const HeadingScene *scene = system->scene;
    double s = system->conductance_s[element];
    const uint32_t ends[2] = {scene->a[element], scene->b[element]};
    for (int end = 0; s > 0.0 && end < 2; end++) {
        HeadingPotential *to = &at[ends[end]];
        FieldVector *sum = metal ? &to->metal_ut : &to->wires_ut;
        *sum = heading_add(*sum, field_ut, end == 0 ? s : -s);
    }
}

/* Replaces w by u for one component. */
static void solve_component(HeadingSystem *system, HeadingPotential *at, bool metal, int which) {
    const HeadingScene *scene = system->scene;
    uint32_t nodes = scene->input->built->network.node_count;
    bool any = false;
    for (uint32_t node = 1; node < nodes; node++) {
        FieldVector *vector = metal ? &at[node].metal_ut : &at[node].wires_ut;
        double value = *component(vector, which);
        system->right[scene->place_of[node - 1]] = value;
        any = any || value != 0.0;
    }
    if (any) {
        factor_solve(system->factor, system->right);
    }
    for (uint32_t node = 1; node < nodes; node++) {
        FieldVector *vector = metal ? &at[node].metal_ut : &at[node].wires_ut;
        *component(vector, which) = system->right[scene->place_of[node - 1]];
    }
    *component(metal ? &at[0].metal_ut : &at[0].wires_ut, which) = 0.0;
}

/* Goes on along the tree: u(node) = u(parent) - field of one ampere from the parent to the node, as
 * a current drawn at the node passes it too. */
static void extend(const HeadingSystem *system, const HeadingSight *sight, HeadingSide side,
                   HeadingPotential *at) {
    const HeadingScene *scene = system->scene;
    for (uint32_t i = 0; i < system->order_count[side]; i++) {
        uint32_t node = system->order[side][i];
        uint32_t element = system->parent[side][node];
        bool to_node = scene->b[element] == node;
        uint32_t before = to_node ? scene->a[element] : scene->b[element];
        at[node] = at[before];
        at[node].wires_ut =
            heading_add(at[node].wires_ut, sight->element_ut[element], to_node ? -1.0 : 1.0);
    }
}

void heading_potentials(HeadingSystem *system, const HeadingSight *sight,
                        HeadingPotential *const by_side[HEADING_SIDES]) {
    const HeadingScene *scene = system->scene;
    uint32_t nodes = scene->input->built->network.node_count;
    HeadingPotential *at = by_side[HEADING_HOT];
    memset(at, 0, nodes * sizeof *at);
    for (uint32_t i = 0; i < scene->first[NETWORK_KIND_COUNT]; i++) {
        add_weight(system, i, sight->element_ut[i], false, at);
    }
    for (size_t i = 0; i < scene->piece_count; i++) {
        if (scene->pieces[i].metal) {
            add_weight(system, scene->pieces[i].element, sight->piece_ut[i], true, at);
        }
    }
    for (int which = 0; which < COMPONENTS; which++) {
        solve_component(system, at, false, which);
        solve_component(system, at, true, which);
    }
    memcpy(by_side[HEADING_GROUND], at, nodes * sizeof *at);
    extend(system, sight, HEADING_HOT, by_side[HEADING_HOT]);
    extend(system, sight, HEADING_GROUND, by_side[HEADING_GROUND]);
}

/* --- loads --------------------------------------------------------------------------------------
 */

HeadingShares heading_shares(const HeadingScene *scene, uint32_t load) {
    const PowerNetwork *built = scene->input->built;
    const SupplyLoad *row = &scene->input->supply->loads[load];
    if (row->load_row == ID_NONE) {
        bool coil = scene->load_coil[load] != ID_NONE;
        return (HeadingShares){
            coil ? heading_element(scene, NETWORK_COIL, scene->load_coil[load]) : 0, coil ? 1 : 0};
    }
    uint32_t count = built->load_first[load + 1] - built->load_first[load];
    /* A reversing motor is two, one each way: the field turns round with the current. */
    count = row->return_port == row->port && count > 1 ? 1 : count;
    return (HeadingShares){heading_element(scene, NETWORK_LOAD, built->load_first[load]), count};
}

/* The live node from which a node is reached, itself when it is live; NETWORK_NONE: out of reach.
 */
static uint32_t live_node(const HeadingSystem *system, uint32_t node, HeadingSide side) {
    if ((system->live[node] & 1U << side) != 0) {
        return node;
    }
    return system->live[node] == 0 ? system->anchor[side][node] : NETWORK_NONE;
}

bool heading_can_try(const HeadingSystem *system, uint32_t load) {
    const HeadingScene *scene = system->scene;
    const HeadingInput *input = scene->input;
    const SupplyLoad *row = &input->supply->loads[load];
    HeadingShares shares = heading_shares(scene, load);
    if (row->bus == ID_NONE || shares.count == 0) {
        return false;
    }
    const ModelTerminal *stud = &input->model->terminals[input->model->buses[row->bus].stud];
    uint32_t bus = stud->pin_count == 0 ? NETWORK_NONE : input->built->point_node[stud->pin_first];
    if (bus == NETWORK_NONE || (system->live[bus] & 1U << HEADING_HOT) == 0) {
        return false;
    }
    for (uint32_t i = shares.first; i < shares.first + shares.count; i++) {
        uint32_t plus = live_node(system, scene->a[i], HEADING_HOT);
        uint32_t minus = live_node(system, scene->b[i], HEADING_GROUND);
        /* Joined by a source: else the current has nowhere to come from. */
        if (plus == NETWORK_NONE || minus == NETWORK_NONE ||
            merge_root(system->joined, plus) != merge_root(system->joined, minus)) {
            return false;
        }
    }
    return true;
}

/* Follows the tree from a node to what is live; the current of one ampere flows along it. */
static uint32_t trace_tree(const HeadingSystem *system, uint32_t node, HeadingSide side,
                           double amps_a, double *element_a) {
    const HeadingScene *scene = system->scene;
    while (system->live[node] == 0 && system->parent[side][node] != NETWORK_NONE) {
        uint32_t element = system->parent[side][node];
        bool to_node = scene->b[element] == node;
        element_a[element] += (to_node ? 1.0 : -1.0) * amps_a;
        node = to_node ? scene->a[element] : scene->b[element];
    }
    return node;
}

void heading_trace(HeadingSystem *system, uint32_t load, double *element_a) {
    const HeadingScene *scene = system->scene;
    uint32_t nodes = scene->input->built->network.node_count;
    uint32_t count = scene->first[NETWORK_KIND_COUNT];
    HeadingShares shares = heading_shares(scene, load);
    memset(element_a, 0, count * sizeof *element_a);
    memset(system->right, 0, nodes * sizeof *system->right);
    for (uint32_t i = shares.first; i < shares.first + shares.count; i++) {
        double amps_a = 1.0 / shares.count;
        uint32_t plus = trace_tree(system, scene->a[i], HEADING_HOT, amps_a, element_a);
        uint32_t minus = trace_tree(system, scene->b[i], HEADING_GROUND, -amps_a, element_a);
        element_a[i] += amps_a;
        if (plus > 0) {
            system->right[scene->place_of[plus - 1]] -= amps_a;
        }
        if (minus > 0) {
            system->right[scene->place_of[minus - 1]] += amps_a;
        }
    }
    factor_solve(system->factor, system->right);
    for (uint32_t i = 0; i < count; i++) {
        double s = system->conductance_s[i];
        if (s > 0.0) {
            double a_v = scene->a[i] > 0 ? system->right[scene->place_of[scene->a[i] - 1]] : 0.0;
            double b_v = scene->b[i] > 0 ? system->right[scene->place_of[scene->b[i] - 1]] : 0.0;
            element_a[i] += s * (a_v - b_v);
        }
    }
}

double heading_try_a(const HeadingScene *scene, uint32_t load, const SolveResult *result) {
    const PowerNetwork *built = scene->input->built;
    double solved_a = 0.0;
    if (scene->load_coil[load] != ID_NONE) {
        solved_a = fabs(result->coil_a[scene->load_coil[load]]);
    }
    for (uint32_t i = built->load_first[load]; i < built->load_first[load + 1]; i++) {
        solved_a += fabs(result->load_a[i]);
    }
    return fmax(scene->input->supply->loads[load].design_a, solved_a);
}
