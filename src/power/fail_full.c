/* From nothing: the edited network is built, ordered and factored anew. */
#include <math.h>
#include <string.h>

#include "base/check.h"
#include "power/fail_inner.h"

#define COPY(arena, from, count, more)                                                             \
    copy_array((arena), (from), (count), (size_t)(more), sizeof *(from))

static void *copy_array(Arena *arena, const void *from, size_t count, size_t more, size_t size) {
    void *to = arena_take(arena, count + more, size);
    if (count > 0) {
        memcpy(to, from, count * size);
    }
    return to;
}

Network fail_network_copy(Arena *arena, const Network *from, uint32_t bridges) {
    Network to = *from;
    to.resistors = COPY(arena, from->resistors, from->resistor_count, bridges);
    to.contacts = COPY(arena, from->contacts, from->contact_count, 0);
    to.coils = COPY(arena, from->coils, from->coil_count, 0);
    to.diodes = COPY(arena, from->diodes, from->diode_count, 0);
    to.batteries = COPY(arena, from->batteries, from->battery_count, 0);
    to.alternators = COPY(arena, from->alternators, from->alternator_count, 0);
    to.loads = COPY(arena, from->loads, from->load_count, 0);
    return to;
}

static void set_ohm(Network *network, NetworkKind kind, uint32_t index, double ohm) {
    switch (kind) {
    case NETWORK_RESISTOR:
        network->resistors[index].ohm = ohm;
        return;
    case NETWORK_CONTACT:
        network->contacts[index].ohm = ohm;
        return;
    case NETWORK_COIL:
        network->coils[index].ohm = ohm;
        return;
    case NETWORK_DIODE:
        network->diodes[index].ohm = ohm;
        return;
    case NETWORK_BATTERY:
        network->batteries[index].ohm = ohm;
        return;
    case NETWORK_ALTERNATOR:
        network->alternators[index].running = !isinf(ohm);
        return;
    case NETWORK_LOAD:
        network->loads[index].nominal_a = 0;
        return;
    case NETWORK_KIND_COUNT:
    default:
        CHECK(false);
    }
}

void fail_edit_network(Network *network, NetworkState *state, const FailEdit *edit) {
    switch (edit->kind) {
    case FAIL_OPEN:
        CHECK(edit->index < network_kind_count(network, edit->element));
        set_ohm(network, edit->element, edit->index, (double)INFINITY);
        return;
    case FAIL_HOLD:
        CHECK(edit->index < network->contact_count);
        network->contacts[edit->index].coil = NETWORK_NONE;
        state->contact_closed[edit->index] = edit->closed;
        return;
    case FAIL_BRIDGE:
        CHECK(edit->a < network->node_count && edit->b < network->node_count && edit->value > 0);
        network->resistors[network->resistor_count++] =
            (NetworkResistor){edit->a, edit->b, edit->value};
        return;
    case FAIL_OHM:
        CHECK(edit->element <= NETWORK_BATTERY && edit->value > 0);
        CHECK(edit->index < network_kind_count(network, edit->element));
        set_ohm(network, edit->element, edit->index, edit->value);
        return;
    case FAIL_VOLTS:
        if (edit->element == NETWORK_BATTERY) {
            network->batteries[edit->index].open_v = edit->value;
        } else {
            CHECK(edit->element == NETWORK_ALTERNATOR);
            network->alternators[edit->index].set_v = edit->value;
        }
        return;
    case FAIL_DRAW:
        CHECK(edit->element == NETWORK_LOAD);
        network->loads[edit->index].nominal_a = edit->value;
        return;
    default:
        CHECK(false);
    }
}

void fail_unedit_network(Network *network, const Network *from, const FailEdit *edit) {
    uint32_t i = edit->index;
    if (edit->kind == FAIL_BRIDGE) {
        return;
    }
    switch (edit->element) {
    case NETWORK_RESISTOR:
        network->resistors[i] = from->resistors[i];
        return;
    case NETWORK_CONTACT:
        network->contacts[i] = from->contacts[i];
        return;
    case NETWORK_COIL:
        network->coils[i] = from->coils[i];
        return;
    case NETWORK_DIODE:
        network->diodes[i] = from->diodes[i];
        return;
    case NETWORK_BATTERY:
        network->batteries[i] = from->batteries[i];
        return;
    case NETWORK_ALTERNATOR:
        network->alternators[i] = from->alternators[i];
        return;
    case NETWORK_LOAD:
        network->loads[i] = from->loads[i];
        return;
    case NETWORK_KIND_COUNT:
    default:
        CHECK(false);
    }
}

SolveStatus fail_full_settle(FailRun *run, const NetworkState *from) {
    const Network *base = &run->base->network;
    Arena before = run->full_arena; /* may hold the states to start from */
    Arena now = {0};
    NetworkState state = network_state_copy(&now, base, from);
    Network network = fail_network_copy(&now, base, (uint32_t)run->bridge_count);
    for (size_t i = 0; i < run->edit_count; i++) {
        fail_edit_network(&network, &state, &run->edits[i]);
    }
    run->full_network = network;
    SolvePlan *plan = solve_analyse(&now, &run->full_network);
    solve_run(plan, &state, NULL, &now, &run->full);
    arena_free(&before);
    run->full_arena = now;
    run->is_full = true;
    run->offender_kind =
        run->full.status == SOLVE_NOT_CONVERGED ? FAIL_OFFENDER_NODE : run->full.offender_kind;
    run->offender =
        run->full.status == SOLVE_NOT_CONVERGED ? run->full.worst_node : run->full.offender;
    run->counts.full++;
    run->counts.state_changes += run->full.counts.state_changes;
    return run->full.status;
}
