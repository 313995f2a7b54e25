/* Shorts that return wires and straps see: between a box's supply port and its return, and at the
 * terminals of every source. */
#include <math.h>

#include "power/guard_inner.h"

/* --- returns ------------------------------------------------------------------------------------
 */

enum { RETURN_WIRES_MOST = 16 };

/* The return wires that carry a fault away from `node`, with their currents. */
static uint32_t wires_away(GuardWork *work, FailRun *run, uint32_t node, uint32_t *rows,
                           double *amps_a) {
    GuardWalk *walk = &work->walk;
    uint32_t count = 0;
    uint32_t length = 0;
    walk->number++;
    walk->seen[node] = walk->number;
    walk->queue[length++] = node;
    for (uint32_t q = 0; q < length && count < RETURN_WIRES_MOST; q++) {
        uint32_t at = walk->queue[q];
        for (uint32_t i = work->net.first[at]; i < work->net.first[at + 1]; i++) {
            const GuardLink *link = &work->net.links[i];
            double away_a = -guard_link_a(run, link);
            if (!(away_a > GUARD_LEAST_A) || link->kind == NETWORK_BATTERY ||
                link->kind == NETWORK_ALTERNATOR) {
                continue;
            }
            uint32_t wire =
                link->kind == NETWORK_RESISTOR ? guard_conductor_of(work, link->index) : ID_NONE;
            if (wire == ID_NONE && link->kind == NETWORK_RESISTOR) {
                continue; /* a bond: the way home is no wire from here on */
            }
            if (wire != ID_NONE) {
                if (size_role(work->in->sizing, wire) != WIRE_RETURN) {
                    continue;
                }
                if (count < RETURN_WIRES_MOST) {
                    rows[count] = work->guard->row_of[wire];
                    amps_a[count++] = away_a;
                }
            }
            if (link->other != 0 && walk->seen[link->other] != walk->number) {
                walk->seen[link->other] = walk->number;
                walk->queue[length++] = link->other;
            }
        }
    }
    return count;
}

/* All devices that feed the fault, by slow edge; the wire is taken to carry its first current until
 * the last of them has opened. */
static void stages_of_flow(const GuardWork *work, const GuardFlow *flow, double carries_a,
                           GuardFault *fault) {
    fault->left_a = fault->wire_a;
    if (fault->wire_a <= carries_a) {
        return;
    }
    double bare_a = guard_bare_a(flow);
    for (uint32_t i = 0; i < flow->count; i++) {
        const GuardFeed *feed = &flow->feeds[i];
        if (feed->device == NETWORK_NONE) {
            continue;
        }
        if (fault->stage_count == GUARD_STAGES_MOST) {
            fault->lost = true;
        } else {
            fault->stages[fault->stage_count++] =
                (GuardStage){fault->wire_a, feed->amps_a, &work->guard->devices[feed->device]};
        }
    }
    fault->left_a = bare_a;
    fault->bare = guard_note_source(fault, flow) && bare_a > carries_a;
    fault->lost = fault->lost || flow->count == 0;
}

/* One case of a short between two nodes: what each return wire carries. False when no wire carries
 * more than it does for good. */
static bool measure(GuardWork *work, const uint32_t ends[2], GuardCase which,
                    const GuardPlace *place, GuardSide *sides, uint32_t *count) {
    uint32_t phase = place->phase[which];
    FailRun *run = guard_lay(work, phase, ends[0], ends[1],
                             which == GUARD_HIGH ? BUILD_BOLTED_OHM : work->contact_ohm,
                             place->feed, work->core_of[ends[0]]);
    if (run == NULL) {
        guard_mark_lost(sides, *count, which, phase);
        return false;
    }
    uint32_t rows[RETURN_WIRES_MOST];
    double amps_a[RETURN_WIRES_MOST];
    uint32_t found = wires_away(work, run, ends[1], rows, amps_a);
    GuardFlow flow;
    guard_flow(&work->walk, run, ends[0], NETWORK_NONE, GUARD_LEAST_A, &flow);
    bool over = false;
    for (uint32_t i = 0; i < found; i++) {
        uint32_t at = 0;
        while (at < *count && sides[at].row != rows[i]) {
            at++;
        }
        if (at == *count && which == GUARD_HIGH) {
            sides[(*count)++] =
                (GuardSide){.row = rows[i], .faults = {{.phase = ID_NONE}, {.phase = ID_NONE}}};
        }
        const HeatingWire *wire = guard_row_wire(work, rows[i]);
        if (at < *count && wire != NULL) {
            guard_start_fault(&sides[at].faults[which], phase, amps_a[i]);
            stages_of_flow(work, &flow, wire->carries_a, &sides[at].faults[which]);
            over = over || amps_a[i] > wire->carries_a;
        }
    }
    return over;
}

/* A short between the supply end `at` of a box or coil and its return: what its return wires
 * stand. */
static void fault_between(GuardWork *work, uint32_t plus, uint32_t minus, PinId at) {
    if (plus == 0 || minus == 0 || plus == minus || work->part_of[plus] != work->part ||
        work->part_of[minus] != work->part) {
        return;
    }
    GuardPlace place = guard_place(work, plus);
    if (place.phase[GUARD_HIGH] == ID_NONE) {
        return;
    }
    const uint32_t ends[2] = {plus, minus};
    GuardSide sides[RETURN_WIRES_MOST];
    uint32_t count = 0;
    if (measure(work, ends, GUARD_HIGH, &place, sides, &count)) {
        measure(work, ends, GUARD_LOW, &place, sides, &count);
    }
    for (uint32_t i = 0; i < count; i++) {
        guard_keep_side(work, &sides[i], at, place.feed != ID_NONE, true);
    }
}

void guard_fault_returns(GuardWork *work) {
    const GuardInput *in = work->in;
    const Network *network = &in->built->network;
    for (uint32_t i = work->element_first[NETWORK_LOAD][work->part];
         i < work->element_first[NETWORK_LOAD][work->part + 1]; i++) {
        uint32_t own = work->element[NETWORK_LOAD][i];
        uint32_t load = in->built->load_supply[own];
        if (load == NETWORK_NONE) {
            continue;
        }
        const SupplyLoad *row = &in->supply->loads[load];
        if (row->return_port != ID_NONE && row->return_port != row->port) {
            fault_between(work, network->loads[own].plus, network->loads[own].minus,
                          in->model->terminals[row->port].pin_first);
        }
    }
    for (uint32_t i = work->element_first[NETWORK_COIL][work->part];
         i < work->element_first[NETWORK_COIL][work->part + 1]; i++) {
        uint32_t own = work->element[NETWORK_COIL][i];
        TerminalId port = in->supply->loads[in->supply->coils[own].load].port;
        fault_between(work, network->coils[own].plus, network->coils[own].minus,
                      in->model->terminals[port].pin_first);
    }
}

/* --- straps -------------------------------------------------------------------------------------
 */

/* The node of a source's plus in the part that is looked at, and the point; NETWORK_NONE. */
static uint32_t source_node(const GuardWork *work, uint32_t source, uint32_t *plus) {
    const GuardInput *in = work->in;
    const SourceRow *row = &in->model->set->source.rows[source];
    *plus = gates_owner_point(in->model, model_owner(in->model, row->unit), row->plus);
    uint32_t node = *plus == ID_NONE ? NETWORK_NONE : in->built->point_node[*plus];
    bool here = node != NETWORK_NONE && node != 0 && work->part_of[node] == work->part &&
                node != work->target[node] &&
                (work->target[node] == 0 || work->part_of[work->target[node]] == work->part);
    return here ? node : NETWORK_NONE;
}

void guard_fault_trunks(GuardWork *work) {
    const GuardInput *in = work->in;
    const uint32_t *wires =
        &work->element[NETWORK_RESISTOR][work->element_first[NETWORK_RESISTOR][work->part]];
    GuardSide *sides = ARENA_ARRAY(&work->part_arena, GuardSide, work->wire_count);
    PinId *at = ARENA_ARRAY(&work->part_arena, PinId, work->wire_count);
    for (uint32_t s = 0; s < in->model->set->source.count; s++) {
        uint32_t plus = ID_NONE;
        uint32_t node = source_node(work, s, &plus);
        uint32_t phase = node == NETWORK_NONE ? ID_NONE : work->phase_of[GUARD_HIGH][node];
        FailRun *run = phase == ID_NONE ? NULL
                                        : guard_lay(work, phase, node, work->target[node],
                                                    BUILD_BOLTED_OHM, ID_NONE, 0);
        for (uint32_t i = 0; run != NULL && i < work->wire_count; i++) {
            ConductorId wire = guard_conductor_of(work, wires[i]);
            GuardFault *fault = &sides[i].faults[GUARD_HIGH];
            if (wire == ID_NONE || size_role(in->sizing, wire) != WIRE_TRUNK) {
                continue;
            }
            double wire_a = fabs(fail_element_a(run, NETWORK_RESISTOR, i));
            if (wire_a > fault->wire_a) { /* the source that drives most through it */
                guard_start_fault(fault, phase, wire_a);
                at[i] = plus;
            }
        }
    }
    for (uint32_t i = 0; i < work->wire_count; i++) {
        GuardFault *fault = &sides[i].faults[GUARD_HIGH];
        if (fault->wire_a > GUARD_LEAST_A) {
            sides[i].row = work->guard->row_of[guard_conductor_of(work, wires[i])];
            sides[i].faults[GUARD_LOW].phase = ID_NONE;
            const HeatingWire *own = guard_row_wire(work, sides[i].row);
            fault->left_a = fault->wire_a;
            fault->bare = own != NULL && fault->wire_a > own->carries_a;
            guard_keep_side(work, &sides[i], at[i], false, true);
        }
    }
}
