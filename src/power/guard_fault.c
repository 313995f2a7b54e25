/* Faults on the network. Which phase gives most and least at a node follows from the sources in the
 * part of the network that the node is joined to. */
#include <math.h>
#include <string.h>

#include "power/guard_inner.h"
#include "power/merge.h"

/* --- phases -------------------------------------------------------------------------------------
 */

/* Joins the two ends of an element unless one is the structure: a fault there is the end of it. */
static void join(uint32_t *parent, uint32_t a, uint32_t b) {
    if (a != 0 && b != 0) {
        merge_join(parent, a, b);
    }
}

/* Joins all nodes that current can pass between in a state; diodes in both directions. */
static void join_nodes(const Network *network, const NetworkState *state, uint32_t *parent) {
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        if (!isinf(network->resistors[i].ohm)) {
            join(parent, network->resistors[i].a, network->resistors[i].b);
        }
    }
    for (uint32_t i = 0; i < network->contact_count; i++) {
        if (state->contact_closed[i]) {
            join(parent, network->contacts[i].a, network->contacts[i].b);
        }
    }
    for (uint32_t i = 0; i < network->diode_count; i++) {
        join(parent, network->diodes[i].anode, network->diodes[i].cathode);
    }
}

/* What a source gives into a short at its own terminals. */
static void add_sources(const Network *network, const GuardPhase *phase, uint32_t *parent,
                        double *given_a) {
    for (uint32_t i = 0; i < network->battery_count; i++) {
        const NetworkBattery *battery = &phase->batteries[i];
        if (!isinf(battery->ohm)) {
            given_a[merge_root(parent, battery->plus)] += battery->open_v / battery->ohm;
        }
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        const NetworkAlternator *alternator = &phase->alternators[i];
        if (alternator->running) {
            given_a[merge_root(parent, alternator->plus)] += alternator->limit_a;
        }
    }
}

void guard_rank_phases(GuardWork *work) {
    const Phases *phases = work->in->phases;
    const Network *network = &work->in->built->network;
    uint32_t nodes = network->node_count;
    uint32_t count = (uint32_t)work->in->model->set->phase.count;
    for (int which = 0; which < 2; which++) {
        work->given_a[which] = ARENA_ARRAY(work->scratch, double, nodes);
        work->phase_of[which] = ARENA_ARRAY(work->scratch, uint32_t, nodes);
        memset(work->phase_of[which], 0xff, nodes * sizeof(uint32_t));
    }
    uint32_t *parent = ARENA_ARRAY(work->scratch, uint32_t, nodes);
    double *given_a = ARENA_ARRAY(work->scratch, double, nodes);
    for (uint32_t rank = 0; rank < count; rank++) {
        uint32_t phase = phases->order[rank];
        if (!phases->solved[phase]) {
            continue;
        }
        guard_keep_phase(work, phase);
        for (uint32_t i = 0; i < nodes; i++) {
            parent[i] = i;
            given_a[i] = 0.0;
        }
        join_nodes(network, &phases->results[phase].state, parent);
        add_sources(network, &work->phases[phase], parent, given_a);
        for (uint32_t i = 1; i < nodes; i++) {
            double own_a = given_a[merge_root(parent, i)];
            if (!(own_a > 0.0)) {
                continue;
            }
            if (work->phase_of[GUARD_HIGH][i] == ID_NONE || own_a > work->given_a[GUARD_HIGH][i]) {
                work->given_a[GUARD_HIGH][i] = own_a;
                work->phase_of[GUARD_HIGH][i] = phase;
            }
            if (work->phase_of[GUARD_LOW][i] == ID_NONE || own_a < work->given_a[GUARD_LOW][i]) {
                work->given_a[GUARD_LOW][i] = own_a;
                work->phase_of[GUARD_LOW][i] = phase;
            }
        }
    }
}

/* --- faults -------------------------------------------------------------------------------------
 */

/* The gate of a step that leads from where it is entered to core `core` of where it is left. */
static uint32_t gate_of_step(const GuardWork *work, const FeedStep *step, uint16_t core) {
    const Gates *gates = &work->in->supply->gates;
    const ModelTerminal *in = &work->in->model->terminals[step->in];
    const ModelTerminal *out = &work->in->model->terminals[step->out];
    uint32_t leaves = out->pin_first + (core < out->pin_count ? core : 0);
    for (uint32_t g = gates->owner_first[step->owner]; g < gates->owner_first[step->owner + 1];
         g++) {
        uint32_t a = gates->rows[g].a;
        uint32_t b = gates->rows[g].b;
        bool enters_a = a >= in->pin_first && a < in->pin_first + in->pin_count;
        bool enters_b = b >= in->pin_first && b < in->pin_first + in->pin_count;
        if ((enters_a && b == leaves) || (enters_b && a == leaves)) {
            return g;
        }
    }
    return ID_NONE;
}

enum { HOLDS_MOST = 64 };

/* Is a contact in the part that is looked at? */
static bool is_here(const GuardWork *work, uint32_t contact) {
    uint32_t ends[2];
    network_element_ends(&work->built->network, NETWORK_CONTACT, contact, ends);
    uint32_t node = ends[0] != 0 ? ends[0] : ends[1];
    return node != 0 && work->part_of[node] == work->part;
}

/* Edits that put every switch, relay and contactor on the way of a feed to where it conducts. */
static uint32_t hold_feed(const GuardWork *work, const FailRun *run, uint32_t feed, uint16_t core,
                          FailEdit *edits) {
    const Model *model = work->in->model;
    const Gates *gates = &work->in->supply->gates;
    const ModelFeed *row = &model->feeds[feed];
    uint32_t count = 0;
    for (uint32_t s = 0; s < row->step_count; s++) {
        const FeedStep *step = &model->steps[row->step_first + s];
        uint32_t way = gate_of_step(work, step, core);
        if (way == ID_NONE || *gates->rows[way].closed_in == '\0') {
            continue;
        }
        BuildElement element = work->in->built->gate_element[way];
        if (element.kind != NETWORK_CONTACT || !is_here(work, element.index) ||
            fail_state(run)->contact_closed[work->local[NETWORK_CONTACT][element.index]]) {
            continue;
        }
        const char *place = gates->rows[way].closed_in;
        const char *word = NULL;
        size_t length = 0;
        text_next_word(&place, &word, &length);
        const char *position = arena_text(work->scratch, word, length);
        for (uint32_t g = gates->owner_first[step->owner];
             g < gates->owner_first[step->owner + 1] && count < HOLDS_MOST; g++) {
            BuildElement other = work->in->built->gate_element[g];
            if (other.kind == NETWORK_CONTACT && is_here(work, other.index)) {
                edits[count++] = fail_hold(work->local[NETWORK_CONTACT][other.index],
                                           gates_closed(&gates->rows[g], position));
            }
        }
    }
    return count;
}

FailRun *guard_lay(GuardWork *work, uint32_t phase, uint32_t node, uint32_t target, double ohm,
                   uint32_t feed, uint16_t core) {
    FailEdit edits[HOLDS_MOST + 1];
    FailRun *run = guard_run_of(work, phase, ohm == BUILD_BOLTED_OHM);
    fail_begin(run);
    uint32_t count = feed == ID_NONE ? 0 : hold_feed(work, run, feed, core, edits);
    edits[count++] = fail_bridge(work->local_node[node], work->local_node[target], ohm);
    work->guard->faults++;
    return fail_apply(run, edits, count) == SOLVE_OK ? run : NULL;
}

/* --- pairs --------------------------------------------------------------------------------------
 */

static GuardPair *pair_of(GuardWork *work, uint32_t device, uint32_t upstream) {
    Guard *guard = work->guard;
    for (uint32_t i = work->pair_head[device]; i != ID_NONE; i = work->pair_next[i]) {
        if (guard->pairs[i].upstream == upstream) {
            return &guard->pairs[i];
        }
    }
    size_t count = guard->pair_count;
    size_t same = count;
    *ARENA_PUSH(work->scratch, work->pair_next, same, work->pair_next_capacity) =
        work->pair_head[device];
    GuardPair *pair = ARENA_PUSH(work->out, guard->pairs, count, work->pair_capacity);
    *pair = (GuardPair){.device = device,
                        .upstream = upstream,
                        .phase = {ID_NONE, ID_NONE},
                        .node = {NETWORK_NONE, NETWORK_NONE}};
    work->pair_head[device] = guard->pair_count;
    guard->pair_count = (uint32_t)count;
    return pair;
}

void guard_note_pairs(GuardWork *work, FailRun *run, const GuardFeed *feed, GuardCase which,
                      uint32_t node, uint32_t phase) {
    if (feed->device == NETWORK_NONE || !(feed->amps_a > GUARD_LEAST_A) ||
        feed->amps_a <= work->guard->devices[feed->device].rating_a) {
        return; /* what it carries for good others clear */
    }
    GuardFlow flow;
    guard_flow(&work->walk, run, feed->upstream, NETWORK_NONE,
               fmax(GUARD_LEAST_A, feed->amps_a * GUARD_LEAST_SHARE), &flow);
    for (uint32_t i = 0; i < flow.count; i++) {
        uint32_t upstream = flow.feeds[i].device;
        if (upstream == NETWORK_NONE || upstream == feed->device) {
            continue;
        }
        GuardPair *pair = pair_of(work, feed->device, upstream);
        bool take = pair->phase[which] == ID_NONE ||
                    (which == GUARD_HIGH ? feed->amps_a > pair->device_a[which]
                                         : feed->amps_a < pair->device_a[which]);
        if (take) {
            pair->phase[which] = phase;
            pair->node[which] = node;
            pair->device_a[which] = feed->amps_a;
            pair->upstream_a[which] = flow.feeds[i].amps_a;
        }
    }
}
