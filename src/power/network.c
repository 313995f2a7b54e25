/* States are plain arrays; the load law is one function with three pieces, continuous where they
 * meet. */
#include "power/network.h"

#include <string.h>

void network_state_rest_set(NetworkState *state, const Network *network) {
    for (uint32_t i = 0; i < network->contact_count; i++) {
        const NetworkContact *contact = &network->contacts[i];
        state->contact_closed[i] = contact->coil != NETWORK_NONE && !contact->closed_when_energised;
    }
    for (uint32_t i = 0; i < network->coil_count; i++) {
        state->coil_energised[i] = false;
    }
    for (uint32_t i = 0; i < network->load_count; i++) {
        state->load_on[i] = true;
    }
    for (uint32_t i = 0; i < network->diode_count; i++) {
        state->diode_on[i] = true;
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        state->alternator_mode[i] = NETWORK_ALTERNATOR_REGULATING;
    }
}

NetworkState network_state_rest(Arena *arena, const Network *network) {
    NetworkState state = {
        .contact_closed = ARENA_ARRAY(arena, bool, network->contact_count),
        .coil_energised = ARENA_ARRAY(arena, bool, network->coil_count),
        .load_on = ARENA_ARRAY(arena, bool, network->load_count),
        .diode_on = ARENA_ARRAY(arena, bool, network->diode_count),
        .alternator_mode = ARENA_ARRAY(arena, NetworkAlternatorMode, network->alternator_count),
    };
    network_state_rest_set(&state, network);
    return state;
}

NetworkState network_state_copy(Arena *arena, const Network *network, const NetworkState *state) {
    NetworkState copy = network_state_rest(arena, network);
    network_state_set(&copy, network, state);
    return copy;
}

/* memcpy that accepts an empty array without a place. */
static void copy_items(void *to, const void *from, size_t count, size_t size) {
    if (count > 0) {
        memcpy(to, from, count * size);
    }
}

void network_state_set(NetworkState *to, const Network *network, const NetworkState *from) {
    copy_items(to->contact_closed, from->contact_closed, network->contact_count, sizeof(bool));
    copy_items(to->coil_energised, from->coil_energised, network->coil_count, sizeof(bool));
    copy_items(to->load_on, from->load_on, network->load_count, sizeof(bool));
    copy_items(to->diode_on, from->diode_on, network->diode_count, sizeof(bool));
    copy_items(to->alternator_mode, from->alternator_mode, network->alternator_count,
               sizeof(NetworkAlternatorMode));
}

void network_element_ends(const Network *network, NetworkKind kind, uint32_t index,
                          uint32_t ends[2]) {
    switch (kind) {
    case NETWORK_RESISTOR:
        ends[0] = network->resistors[index].a;
        ends[1] = network->resistors[index].b;
        break;
    case NETWORK_CONTACT:
        ends[0] = network->contacts[index].a;
        ends[1] = network->contacts[index].b;
        break;
    case NETWORK_COIL:
        ends[0] = network->coils[index].plus;
        ends[1] = network->coils[index].minus;
        break;
    case NETWORK_DIODE:
        ends[0] = network->diodes[index].anode;
        ends[1] = network->diodes[index].cathode;
        break;
    case NETWORK_BATTERY:
        ends[0] = network->batteries[index].plus;
        ends[1] = network->batteries[index].minus;
        break;
    case NETWORK_ALTERNATOR:
        ends[0] = network->alternators[index].plus;
        ends[1] = network->alternators[index].minus;
        break;
    case NETWORK_LOAD:
        ends[0] = network->loads[index].plus;
        ends[1] = network->loads[index].minus;
        break;
    case NETWORK_KIND_COUNT:
    default:
        ends[0] = 0;
        ends[1] = 0;
        break;
    }
}

uint32_t network_kind_count(const Network *network, NetworkKind kind) {
    const uint32_t counts[NETWORK_KIND_COUNT] = {
        [NETWORK_RESISTOR] = network->resistor_count,
        [NETWORK_CONTACT] = network->contact_count,
        [NETWORK_COIL] = network->coil_count,
        [NETWORK_DIODE] = network->diode_count,
        [NETWORK_BATTERY] = network->battery_count,
        [NETWORK_ALTERNATOR] = network->alternator_count,
        [NETWORK_LOAD] = network->load_count,
    };
    return kind < NETWORK_KIND_COUNT ? counts[kind] : 0;
}

double network_ceiling_v(const Network *network) {
    double sum_v = 0;
    for (uint32_t i = 0; i < network->battery_count; i++) {
        sum_v += network->batteries[i].open_v > 0 ? network->batteries[i].open_v : 0;
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        const NetworkAlternator *alternator = &network->alternators[i];
        sum_v += alternator->running && alternator->limit_a > 0 ? alternator->set_v : 0;
    }
    return sum_v;
}

double network_load_a(const NetworkLoad *load, double u_v, double ceiling_v, double *slope_s) {
    double knee_v = NETWORK_LOAD_KNEE * load->nominal_v;
    double edge_v =
        u_v > knee_v && ceiling_v > knee_v ? (u_v > ceiling_v ? ceiling_v : u_v) : knee_v;
    double conductance_s = 0; /* the chord through the edge, which is the law outside the middle */
    double middle_slope_s = 0;
    switch (load->kind) {
    case NETWORK_LOAD_CURRENT:
        conductance_s = load->nominal_a / edge_v;
        break;
    case NETWORK_LOAD_POWER:
        conductance_s = load->nominal_a * load->nominal_v / (edge_v * edge_v);
        middle_slope_s = -conductance_s;
        break;
    case NETWORK_LOAD_RESISTANCE:
    default:
        conductance_s = load->nominal_a / load->nominal_v;
        middle_slope_s = conductance_s;
        break;
    }
    bool middle = edge_v == u_v;
    *slope_s = middle ? middle_slope_s : conductance_s;
    return conductance_s * u_v;
}
