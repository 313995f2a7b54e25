/* The network piece by piece. What hangs together without the structure is a part: a fault in one
 * changes nothing in another, so each is solved alone and the work stays linear. In a part what
 * draws current is a resistance, as it stands in the phase, and contacts stay as they were put:
 * what a device must clear flows before anything else has moved, and nothing is proved by a
 * contactor or a box that lets go in the dip. */
#include <math.h>
#include <string.h>

#include "power/guard_inner.h"
#include "power/merge.h"
#include "rating/resistance.h"

/* --- phases -------------------------------------------------------------------------------------
 */

/* Copies of what a phase sets at the sources. */
void guard_keep_phase(GuardWork *work, uint32_t phase) {
    const GuardInput *in = work->in;
    const Network *network = &work->built->network;
    const SolveResult *result = &in->phases->results[phase];
    NetworkState state = network_state_copy(work->scratch, network, &result->state);
    phases_set(work->built, in->model, in->supply, phase, in->supply->positions[phase], &state);
    phases_stop_unfed(work->built, result, NULL);
    GuardPhase *kept = &work->phases[phase];
    kept->batteries = ARENA_ARRAY(work->scratch, NetworkBattery, network->battery_count);
    kept->alternators = ARENA_ARRAY(work->scratch, NetworkAlternator, network->alternator_count);
    for (uint32_t i = 0; i < network->battery_count; i++) {
        kept->batteries[i] = network->batteries[i];
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        kept->alternators[i] = network->alternators[i];
    }
}

/* --- parts --------------------------------------------------------------------------------------
 */

/* A node of an element that is not the structure; 0 when both ends are. */
static uint32_t own_node(const Network *network, NetworkKind kind, uint32_t index) {
    uint32_t ends[2];
    network_element_ends(network, kind, index, ends);
    return ends[0] != 0 ? ends[0] : ends[1];
}

static void join_all(const Network *network, uint32_t *parent) {
    for (int kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        uint32_t count = network_kind_count(network, (NetworkKind)kind);
        for (uint32_t i = 0; i < count; i++) {
            uint32_t ends[2];
            network_element_ends(network, (NetworkKind)kind, i, ends);
            if (ends[0] != 0 && ends[1] != 0) {
                merge_join(parent, ends[0], ends[1]);
            }
        }
    }
}

/* Numbers the parts by their lowest node, and nodes within their part. */
static void number_nodes(GuardWork *work, uint32_t *parent) {
    uint32_t nodes = work->built->network.node_count;
    for (uint32_t i = 1; i < nodes; i++) {
        uint32_t root = merge_root(parent, i);
        work->part_of[i] = root == i ? work->part_count++ : work->part_of[root];
    }
    work->part_node = ARENA_ARRAY(work->scratch, uint32_t, (size_t)work->part_count + 1);
    work->nodes = ARENA_ARRAY(work->scratch, uint32_t, nodes);
    for (uint32_t i = 1; i < nodes; i++) {
        work->part_node[work->part_of[i] + 1]++;
    }
    for (uint32_t p = 1; p <= work->part_count; p++) {
        work->part_node[p] += work->part_node[p - 1];
    }
    uint32_t *next = ARENA_ARRAY(work->scratch, uint32_t, work->part_count);
    for (uint32_t i = 1; i < nodes; i++) {
        uint32_t part = work->part_of[i];
        work->nodes[work->part_node[part] + next[part]] = i;
        work->local_node[i] = ++next[part];
    }
}

/* The elements of each part, by kind and number; loads and coils become its last resistors. */
static void number_elements(GuardWork *work) {
    const Network *network = &work->built->network;
    size_t parts = work->part_count;
    for (int kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        uint32_t count = network_kind_count(network, (NetworkKind)kind);
        uint32_t *first = ARENA_ARRAY(work->scratch, uint32_t, parts + 2);
        work->element[kind] = ARENA_ARRAY(work->scratch, uint32_t, count);
        work->local[kind] = ARENA_ARRAY(work->scratch, uint32_t, count);
        for (uint32_t i = 0; i < count; i++) {
            uint32_t node = own_node(network, (NetworkKind)kind, i);
            if (node != 0) {
                first[work->part_of[node] + 2]++;
            }
        }
        for (size_t p = 2; p < parts + 2; p++) {
            first[p] += first[p - 1];
        }
        for (uint32_t i = 0; i < count; i++) {
            uint32_t node = own_node(network, (NetworkKind)kind, i);
            work->local[kind][i] = NETWORK_NONE;
            if (node != 0) {
                uint32_t place = first[work->part_of[node] + 1]++;
                work->element[kind][place] = i;
                work->local[kind][i] = place; /* made relative below */
            }
        }
        work->element_first[kind] = first;
        for (uint32_t i = 0; i < count; i++) {
            uint32_t node = own_node(network, (NetworkKind)kind, i);
            if (node != 0) {
                work->local[kind][i] -= first[work->part_of[node]];
            }
        }
    }
}

/* What a resistor has with its copper at 20 degC. */
static void find_cold(GuardWork *work) {
    const GuardInput *in = work->in;
    const Network *network = &work->built->network;
    BuildWires wires;
    build_wires(in->model, &wires);
    double *degc = build_conductor_degc(work->scratch, in->model, in->wiring, in->routing, 0.0);
    size_heat(in->sizing, degc);
    work->cold_ohm = ARENA_ARRAY(work->scratch, double, network->resistor_count);
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        const BuildSource *source = &in->built->resistor_source[i];
        double ohm = network->resistors[i].ohm;
        work->cold_ohm[i] = ohm;
        if (source->kind != BUILD_CONDUCTOR || isinf(ohm)) {
            continue;
        }
        double copper_ohm = build_ohm_per_km(in->model, in->wiring, &wires, source->index,
                                             in->sizing->awg[source->index], false) *
                            in->routing->length_mm[in->wiring->conductors[source->index].cable] *
                            1e-6;
        double more_ohm = resistance_at(METAL_COPPER, copper_ohm, degc[source->index]) - copper_ohm;
        if (more_ohm > 0.0) {
            work->cold_ohm[i] = fmax(ohm - more_ohm, BUILD_BOLTED_OHM);
        }
    }
}

void guard_parts_find(GuardWork *work) {
    const Network *network = &work->built->network;
    uint32_t *parent = ARENA_ARRAY(work->scratch, uint32_t, network->node_count);
    merge_start(parent, network->node_count);
    join_all(network, parent);
    work->part_of = ARENA_ARRAY(work->scratch, uint32_t, network->node_count);
    work->local_node = ARENA_ARRAY(work->scratch, uint32_t, network->node_count);
    work->part_of[0] = NETWORK_NONE;
    number_nodes(work, parent);
    number_elements(work);
    find_cold(work);
}

/* --- one part -----------------------------------------------------------------------------------
 */

static uint32_t count_of(const GuardWork *work, NetworkKind kind) {
    const uint32_t *first = work->element_first[kind];
    return first[work->part + 1] - first[work->part];
}

static const uint32_t *elements_of(const GuardWork *work, NetworkKind kind) {
    return &work->element[kind][work->element_first[kind][work->part]];
}

void guard_part_enter(GuardWork *work, uint32_t part) {
    const Network *whole = &work->built->network;
    const uint32_t *local = work->local_node;
    work->part = part;
    work->part_arena = (Arena){0};
    Arena *arena = &work->part_arena;
    Network *own = &work->network;
    *own = (Network){.node_count = work->part_node[part + 1] - work->part_node[part] + 1};
    uint32_t coils = count_of(work, NETWORK_COIL);
    uint32_t loads = count_of(work, NETWORK_LOAD);
    work->wire_count = count_of(work, NETWORK_RESISTOR);
    own->resistor_count = work->wire_count + coils + loads;
    own->contact_count = count_of(work, NETWORK_CONTACT);
    own->diode_count = count_of(work, NETWORK_DIODE);
    own->battery_count = count_of(work, NETWORK_BATTERY);
    own->alternator_count = count_of(work, NETWORK_ALTERNATOR);
    own->resistors = ARENA_ARRAY(arena, NetworkResistor, own->resistor_count);
    own->contacts = ARENA_ARRAY(arena, NetworkContact, own->contact_count);
    own->diodes = ARENA_ARRAY(arena, NetworkDiode, own->diode_count);
    own->batteries = ARENA_ARRAY(arena, NetworkBattery, own->battery_count);
    own->alternators = ARENA_ARRAY(arena, NetworkAlternator, own->alternator_count);
    NetworkResistor *to = own->resistors;
    for (uint32_t i = 0; i < work->wire_count; i++) {
        const NetworkResistor *from = &whole->resistors[elements_of(work, NETWORK_RESISTOR)[i]];
        *to++ = (NetworkResistor){local[from->a], local[from->b], from->ohm};
    }
    for (uint32_t i = 0; i < coils; i++) {
        const NetworkCoil *from = &whole->coils[elements_of(work, NETWORK_COIL)[i]];
        *to++ = (NetworkResistor){local[from->plus], local[from->minus], from->ohm};
    }
    for (uint32_t i = 0; i < loads; i++) {
        const NetworkLoad *from = &whole->loads[elements_of(work, NETWORK_LOAD)[i]];
        *to++ = (NetworkResistor){local[from->plus], local[from->minus], (double)INFINITY};
    }
    for (uint32_t i = 0; i < own->contact_count; i++) {
        const NetworkContact *from = &whole->contacts[elements_of(work, NETWORK_CONTACT)[i]];
        own->contacts[i] =
            (NetworkContact){local[from->a], local[from->b], from->ohm, NETWORK_NONE, false};
    }
    for (uint32_t i = 0; i < own->diode_count; i++) {
        own->diodes[i] = whole->diodes[elements_of(work, NETWORK_DIODE)[i]];
        own->diodes[i].anode = local[own->diodes[i].anode];
        own->diodes[i].cathode = local[own->diodes[i].cathode];
    }
    for (uint32_t i = 0; i < own->battery_count; i++) {
        own->batteries[i] = whole->batteries[elements_of(work, NETWORK_BATTERY)[i]];
        own->batteries[i].plus = local[own->batteries[i].plus];
        own->batteries[i].minus = local[own->batteries[i].minus];
    }
    for (uint32_t i = 0; i < own->alternator_count; i++) {
        own->alternators[i] = whole->alternators[elements_of(work, NETWORK_ALTERNATOR)[i]];
        own->alternators[i].plus = local[own->alternators[i].plus];
        own->alternators[i].minus = local[own->alternators[i].minus];
    }
    work->plan = solve_analyse(arena, own);
    work->runs = ARENA_ARRAY(arena, FailRun *, 2 * work->in->model->set->phase.count);
}

void guard_part_leave(GuardWork *work) {
    for (size_t i = 0; i < 2 * work->in->model->set->phase.count; i++) {
        if (work->runs[i] != NULL) {
            work->guard->fast += fail_counts(work->runs[i])->fast;
            fail_run_free(work->runs[i]);
        }
    }
    arena_free(&work->part_arena);
}

/* The resistance that a load is at its point of the phase. */
static double load_ohm(const SolveResult *result, uint32_t load) {
    double amps_a = result->load_a[load];
    double ohm = amps_a != 0.0 ? result->load_v[load] / amps_a : (double)INFINITY;
    return ohm > 0.0 ? ohm : (double)INFINITY;
}

/* Sets the numbers of the part to a phase. */
static NetworkState set_numbers(GuardWork *work, uint32_t phase, bool cold) {
    Network *own = &work->network;
    const Network *whole = &work->built->network;
    const SolveResult *result = &work->in->phases->results[phase];
    const GuardPhase *kept = &work->phases[phase];
    NetworkState state = network_state_rest(&work->part_arena, own);
    for (uint32_t i = 0; i < work->wire_count; i++) {
        uint32_t from = elements_of(work, NETWORK_RESISTOR)[i];
        own->resistors[i].ohm = cold ? work->cold_ohm[from] : whole->resistors[from].ohm;
    }
    uint32_t loads = count_of(work, NETWORK_LOAD);
    for (uint32_t i = 0; i < loads; i++) {
        own->resistors[own->resistor_count - loads + i].ohm =
            load_ohm(result, elements_of(work, NETWORK_LOAD)[i]);
    }
    for (uint32_t i = 0; i < own->contact_count; i++) {
        uint32_t from = elements_of(work, NETWORK_CONTACT)[i];
        state.contact_closed[i] = result->state.contact_closed[from];
    }
    for (uint32_t i = 0; i < own->diode_count; i++) {
        state.diode_on[i] = result->state.diode_on[elements_of(work, NETWORK_DIODE)[i]];
    }
    for (uint32_t i = 0; i < own->battery_count; i++) {
        const NetworkBattery *from = &kept->batteries[elements_of(work, NETWORK_BATTERY)[i]];
        own->batteries[i].open_v = from->open_v;
        own->batteries[i].ohm = from->ohm;
    }
    for (uint32_t i = 0; i < own->alternator_count; i++) {
        uint32_t index = elements_of(work, NETWORK_ALTERNATOR)[i];
        const NetworkAlternator *from = &kept->alternators[index];
        own->alternators[i].set_v = from->set_v;
        own->alternators[i].slope_ohm = from->slope_ohm;
        own->alternators[i].limit_a = from->limit_a;
        own->alternators[i].running = from->running;
        state.alternator_mode[i] = result->state.alternator_mode[index];
    }
    return state;
}

FailRun *guard_run_of(GuardWork *work, uint32_t phase, bool cold) {
    FailRun **run = &work->runs[2 * (size_t)phase + (cold ? 1 : 0)];
    if (*run == NULL) {
        NetworkState start = set_numbers(work, phase, cold);
        FailBase *base = fail_base_new(&work->part_arena, work->plan, &work->network, &start);
        *run = fail_run_new(&work->part_arena, base);
    }
    return *run;
}
