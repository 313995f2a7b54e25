/* Method: one node after the other. A bolted fault there in its most capable phase says what flows
 * in every wire that ends there; where that is more than a wire carries, the devices upstream are
 * found, opened in the order of their slow edges, and the wire is judged; then the same through a
 * contact in the least capable phase, and at the currents between the two. */
#include "power/guard.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "power/guard_inner.h"
#include "rating/resistance.h"

/* --- wires --------------------------------------------------------------------------------------
 */

static double hottest_degc(const Limits *limits, CableId cable) {
    double hottest = -(double)INFINITY;
    for (uint32_t i = limits->stretch_first[cable]; i < limits->stretch_first[cable + 1]; i++) {
        ZoneId zone = limits->stretches[i].zone;
        hottest = fmax(hottest, limits->model->set->zone.rows[zone].ambient_max_degc);
    }
    return hottest;
}

bool guard_wire(const GuardInput *input, ConductorId conductor, HeatingWire *wire,
                double *area_mm2) {
    const Limits *limits = size_limits(input->sizing);
    CableId cable = input->wiring->conductors[conductor].cable;
    uint32_t place = size_place(input->sizing, cable);
    bool routed = limits->stretch_first[cable] != limits->stretch_first[cable + 1];
    if (place == GAUGE_NONE || !routed) {
        return false;
    }
    const Gauge *gauge = &limits->gauges[place];
    const WireRow *row = &input->model->set->wire.rows[gauge->wire];
    double cmil = isnan(row->cmil) ? awg_area_cmil(row->awg) : row->cmil;
    double area = units_mm2_from_cmil(cmil);
    double allowed_a = size_allowed_a(input->sizing, cable);
    double carries_a = isnan(allowed_a) ? 0.0 : allowed_a;
    double design_a =
        size_cranks(input->sizing, conductor) ? 0.0 : input->sizing->design_a[conductor];
    double start_degc = limits_conductor_degc(limits, cable, place, design_a);
    *wire =
        heating_wire(area, start_degc, gauge->rated_degc, hottest_degc(limits, cable), carries_a);
    if (area_mm2 != NULL) {
        *area_mm2 = area;
    }
    return true;
}

double guard_length_mm(const GuardInput *in, ConductorId conductor) {
    double own_mm = in->routing->length_mm[in->wiring->conductors[conductor].cable];
    return isnan(own_mm) ? 0.0 : own_mm;
}

uint32_t guard_conductor_of(const GuardWork *work, uint32_t resistor) {
    const BuildSource *source = &work->in->built->resistor_source[resistor];
    return source->kind == BUILD_CONDUCTOR ? source->index : ID_NONE;
}

const HeatingWire *guard_row_wire(GuardWork *work, uint32_t row) {
    GuardRow *own = &work->guard->rows[row];
    HeatingWire *wire = &work->wires[row];
    if (!work->wire_known[row] && guard_wire(work->in, own->conductor, wire, NULL)) {
        work->wire_known[row] = true;
        own->carries_a = wire->carries_a;
        own->start_degc = wire->start_degc;
        own->limit_degc = wire->limit_degc;
    }
    return work->wire_known[row] ? wire : NULL;
}

/* --- one fault, one wire ------------------------------------------------------------------------
 */

/* The latest that a device opens at a current. */
static double slow_s(const GuardDevice *device, double current_a) {
    double percent = 100.0 * current_a / device->rating_a;
    return isnan(percent) ? (double)INFINITY : protector_band(device->all, percent).open_s.value;
}

/* The feed whose device opens first, of those that nothing opens the one that carries most of its
 * rating; ID_NONE when none has a device. */
static uint32_t first_to_open(const GuardWork *work, const GuardFlow *flow) {
    uint32_t best = ID_NONE;
    double best_s = 0.0;
    double best_share = 0.0;
    for (uint32_t i = 0; i < flow->count; i++) {
        if (flow->feeds[i].device == NETWORK_NONE) {
            continue;
        }
        const GuardDevice *device = &work->guard->devices[flow->feeds[i].device];
        double own_s = slow_s(device, flow->feeds[i].amps_a);
        double own_share = flow->feeds[i].amps_a / device->rating_a;
        if (best == ID_NONE || own_s < best_s || (own_s == best_s && own_share > best_share)) {
            best = i;
            best_s = own_s;
            best_share = own_share;
        }
    }
    return best;
}

bool guard_note_source(GuardFault *fault, const GuardFlow *flow) {
    bool found = false;
    for (uint32_t i = 0; i < flow->count; i++) {
        const GuardFeed *feed = &flow->feeds[i];
        if (feed->device == NETWORK_NONE && (!found || feed->amps_a > fault->source.amps_a)) {
            fault->source = *feed;
            found = true;
        }
    }
    return found;
}

double guard_bare_a(const GuardFlow *flow) {
    double sum_a = 0.0;
    for (uint32_t i = 0; i < flow->count; i++) {
        sum_a += flow->feeds[i].device == NETWORK_NONE ? flow->feeds[i].amps_a : 0.0;
    }
    return sum_a;
}

static double least_a(double current_a) {
    return fmax(GUARD_LEAST_A, current_a * GUARD_LEAST_SHARE);
}

/* Follows a fault through `link` of its node until the wire carries what is left: devices open one
 * after the other. Returns true when `run` was changed on the way. */
static bool follow(GuardWork *work, FailRun *run, const GuardLink *link, double carries_a,
                   uint32_t node, GuardCase which, GuardFault *fault) {
    bool changed = false;
    double now_a = fault->wire_a;
    for (;;) {
        GuardFlow flow;
        guard_flow(&work->walk, run, link->other, link->index, least_a(now_a), &flow);
        for (uint32_t i = 0; i < flow.count && fault->stage_count == 0; i++) {
            guard_note_pairs(work, run, &flow.feeds[i], which, node, fault->phase);
        }
        bool sourced = guard_note_source(fault, &flow);
        fault->left_a = now_a;
        if (now_a <= carries_a) {
            return changed;
        }
        uint32_t first = first_to_open(work, &flow);
        double bare_a = guard_bare_a(&flow);
        if (first == ID_NONE || bare_a > carries_a) {
            fault->left_a = bare_a;
            fault->bare = sourced;
            fault->lost = !sourced;
            return changed;
        }
        const GuardFeed *feed = &flow.feeds[first];
        if (fault->stage_count == GUARD_STAGES_MOST || flow.left_out_a > 0.0) {
            fault->lost = true;
            return changed;
        }
        const GuardDevice *device = &work->guard->devices[feed->device];
        fault->stages[fault->stage_count++] = (GuardStage){now_a, feed->amps_a, device};
        fault->left_a = now_a - feed->amps_a;
        if (isinf(slow_s(device, feed->amps_a)) ||
            (flow.count == 1 && fault->left_a <= carries_a)) {
            return changed;
        }
        FailEdit open = fail_open(NETWORK_CONTACT, feed->contact);
        changed = true;
        work->guard->faults++;
        if (fail_apply(run, &open, 1) != SOLVE_OK) {
            fault->lost = true;
            return changed;
        }
        now_a = guard_link_a(run, link);
    }
}

static GuardJudgement judge_fault(const HeatingWire *wire, const GuardFault *fault) {
    GuardJudgement told = {.margin = (double)INFINITY, .damage_s = (double)INFINITY};
    if (fault->phase == ID_NONE || !(fault->wire_a > GUARD_LEAST_A)) {
        return told;
    }
    told.verdict = GUARD_PROVED;
    told.damage_s = wire == NULL ? 0.0 : heating_time_s(wire, fault->wire_a);
    bool found = fault->stage_count > 0 || fault->bare || isinf(told.damage_s);
    if (wire == NULL || fault->lost || !found) {
        told.verdict = GUARD_NOT_PROVED;
        told.margin = (double)NAN;
        told.slow_s = (double)INFINITY;
        return told;
    }
    if (fault->stage_count > 0) {
        told = guard_judge(wire, fault->stages, fault->stage_count);
    }
    if (fault->bare) {
        told.verdict = GUARD_BARE;
        told.edge = GUARD_EDGE_NONE;
        told.memory = false;
        told.margin = (double)NAN;
        told.slow_s = (double)INFINITY;
        told.fast_s = (double)INFINITY;
    }
    return told;
}

/* --- one end of a conductor ---------------------------------------------------------------------
 */

/* Judges at a current between the two faults, both cleared by one device. */
static void judge_between(const HeatingWire *wire, const GuardSide *side, double current_a,
                          GuardJudgement *worst, double *at_a) {
    const GuardStage *stage = &side->faults[GUARD_HIGH].stages[0];
    GuardStage between = {current_a, current_a * (stage->device_a / stage->wire_a), stage->device};
    GuardJudgement told = guard_judge(wire, &between, 1);
    if (guard_is_worse(&told, worst)) {
        *worst = told;
        *at_a = current_a;
    }
}

/* A fault may have any resistance: at the published gates between the two currents, and halfway
 * between neighbours (in logarithms) of all of them. */
static bool look_between(const HeatingWire *wire, const GuardSide *side, GuardJudgement *worst,
                         double *at_a) {
    const GuardFault *high = &side->faults[GUARD_HIGH];
    const GuardFault *low = &side->faults[GUARD_LOW];
    if (wire == NULL || high->stage_count != 1 || high->bare || high->lost ||
        low->stage_count > 1 || low->phase == ID_NONE ||
        (low->stage_count == 1 && low->stages[0].device != high->stages[0].device)) {
        return false;
    }
    const GuardStage *stage = &high->stages[0];
    double share = stage->device_a / stage->wire_a;
    double last_a = fmax(low->wire_a, wire->carries_a * (1.0 + 1e-9));
    double found_a = *at_a;
    ProtectorGates gates = stage->device->all;
    for (size_t i = 0; i <= gates.count; i++) {
        double next_a = i == gates.count
                            ? high->wire_a
                            : gates.rows[i].percent / 100.0 * stage->device->rating_a / share;
        if (!(next_a > last_a) || next_a > high->wire_a) {
            continue;
        }
        judge_between(wire, side, sqrt(last_a * next_a), worst, &found_a);
        if (i < gates.count) {
            judge_between(wire, side, next_a, worst, &found_a);
        }
        last_a = next_a;
    }
    bool found = found_a != *at_a;
    *at_a = found_a;
    return found;
}

void guard_keep_side(GuardWork *work, const GuardSide *side, PinId at, bool held, bool by_return) {
    GuardRow *row = &work->guard->rows[side->row];
    const HeatingWire *wire = guard_row_wire(work, side->row);
    GuardCase decides = GUARD_HIGH;
    GuardJudgement worst = judge_fault(wire, &side->faults[GUARD_HIGH]);
    GuardJudgement low = judge_fault(wire, &side->faults[GUARD_LOW]);
    double at_a = side->faults[GUARD_HIGH].wire_a;
    if (low.verdict != GUARD_NO_CURRENT && guard_is_worse(&low, &worst)) {
        worst = low;
        decides = GUARD_LOW;
        at_a = side->faults[GUARD_LOW].wire_a;
    }
    if (look_between(wire, side, &worst, &at_a)) {
        decides = GUARD_BETWEEN;
    }
    if (!guard_is_worse(&worst, &row->judgement) ||
        (worst.verdict == GUARD_NO_CURRENT && row->at != ID_NONE)) {
        return;
    }
    row->at = at;
    row->high = side->faults[GUARD_HIGH];
    row->low = side->faults[GUARD_LOW];
    row->held = held;
    row->by_return = by_return;
    row->decides = decides;
    row->at_a = at_a;
    row->judgement = worst;
    const GuardFault *fault = decides == GUARD_LOW ? &row->low : &row->high;
    row->way_mm = fault->source.wire_mm + guard_length_mm(work->in, row->conductor);
    row->reaches_degc = (double)NAN;
    double area_mm2 = 0.0;
    HeatingWire again;
    double open_s = worst.slow_s;
    if (wire != NULL && worst.verdict != GUARD_BARE && worst.verdict != GUARD_NO_CURRENT &&
        worst.verdict != GUARD_NOT_PROVED && fault->stage_count < 2 &&
        (!isinf(open_s) || fault->stage_count == 0) &&
        guard_wire(work->in, row->conductor, &again, &area_mm2)) {
        row->reaches_degc =
            heating_degc(wire, area_mm2, at_a, fault->stage_count == 0 ? (double)INFINITY : open_s);
    }
}

/* --- nodes --------------------------------------------------------------------------------------
 */

/* Volts of a node against where its fault leads, before the fault. */
static double volts_before(const GuardWork *work, uint32_t phase, uint32_t node) {
    const SolveResult *result = &work->in->phases->results[phase];
    return result->node_v[node] - result->node_v[work->target[node]];
}

void guard_start_fault(GuardFault *fault, uint32_t phase, double wire_a) {
    *fault = (GuardFault){.phase = phase, .wire_a = wire_a};
}

/* Measures one case on all sides of a node; the run stands at the fault when this is called. */
static void measure(GuardWork *work, GuardSide *sides, uint32_t count, GuardCase which,
                    FailRun *run, uint32_t node, double ohm, uint32_t feed) {
    uint32_t phase = sides[0].faults[which].phase;
    bool changed = false;
    for (uint32_t i = 0; i < count; i++) {
        sides[i].faults[which].wire_a = guard_link_a(run, sides[i].link);
    }
    for (uint32_t i = 0; i < count; i++) {
        const HeatingWire *wire = guard_row_wire(work, sides[i].row);
        GuardFault *fault = &sides[i].faults[which];
        if (wire == NULL || !(fault->wire_a > GUARD_LEAST_A)) {
            continue;
        }
        if (changed) {
            run = guard_lay(work, phase, node, work->target[node], ohm, feed, work->core_of[node]);
            if (run == NULL) {
                for (; i < count; i++) {
                    sides[i].faults[which].lost = true;
                }
                return;
            }
        }
        changed = follow(work, run, sides[i].link, wire->carries_a, node, which, fault);
    }
}

void guard_mark_lost(GuardSide *sides, uint32_t count, GuardCase which, uint32_t phase) {
    for (uint32_t i = 0; i < count; i++) {
        guard_start_fault(&sides[i].faults[which], phase, (double)INFINITY);
        sides[i].faults[which].lost = true;
    }
}

/* Does one case of a node; false when nothing was found. */
static bool do_case(GuardWork *work, GuardSide *sides, uint32_t count, GuardCase which,
                    uint32_t phase, uint32_t node, double ohm, uint32_t feed) {
    FailRun *run = guard_lay(work, phase, node, work->target[node], ohm, feed, work->core_of[node]);
    if (run == NULL) {
        guard_mark_lost(sides, count, which, phase);
        return false;
    }
    for (uint32_t i = 0; i < count; i++) {
        guard_start_fault(&sides[i].faults[which], phase, 0.0);
    }
    if (which == GUARD_HIGH) { /* a device bolted to this node: its first wire begins here */
        for (uint32_t i = work->net.first[node]; i < work->net.first[node + 1]; i++) {
            const GuardLink *link = &work->net.links[i];
            uint32_t device = link->kind == NETWORK_CONTACT ? work->net.contact_device[link->index]
                                                            : NETWORK_NONE;
            if (device != NETWORK_NONE) {
                GuardFeed feed_here = {.device = device,
                                       .contact = link->index,
                                       .upstream = link->other,
                                       .amps_a = guard_link_a(run, link)};
                guard_note_pairs(work, run, &feed_here, GUARD_HIGH, node, phase);
            }
        }
    }
    measure(work, sides, count, which, run, node, ohm, feed);
    return true;
}

static bool any_over(const GuardWork *work, const GuardSide *sides, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        const GuardFault *fault = &sides[i].faults[GUARD_HIGH];
        if (work->wire_known[sides[i].row] &&
            fault->wire_a > work->guard->rows[sides[i].row].carries_a) {
            return true;
        }
    }
    return false;
}

/* The wires that end at a node, as sides. */
static uint32_t sides_of(GuardWork *work, uint32_t node, GuardSide *sides) {
    uint32_t count = 0;
    for (uint32_t i = work->net.first[node]; i < work->net.first[node + 1]; i++) {
        const GuardLink *link = &work->net.links[i];
        uint32_t wire =
            link->kind == NETWORK_RESISTOR ? guard_conductor_of(work, link->index) : ID_NONE;
        if (wire != ID_NONE) {
            sides[count++] = (GuardSide){.link = link,
                                         .row = work->guard->row_of[wire],
                                         .faults = {{.phase = ID_NONE}, {.phase = ID_NONE}}};
        }
    }
    return count;
}

/* The pin of a conductor that lies at a node. */
static PinId pin_at(const GuardWork *work, ConductorId wire, uint32_t node) {
    const Conductor *row = &work->in->wiring->conductors[wire];
    return work->in->built->point_node[row->to] == node ? row->to : row->from;
}

/* In the least capable phase no source may lie on a side at all. Such sides have their small fault
 * in the most capable phase. */
static void low_where_it_flows(GuardWork *work, GuardSide *sides, uint32_t count, uint32_t phase,
                               uint32_t node, uint32_t feed) {
    for (uint32_t i = 0; i < count; i++) {
        if (sides[i].faults[GUARD_LOW].phase != phase &&
            sides[i].faults[GUARD_HIGH].wire_a > GUARD_LEAST_A &&
            !(sides[i].faults[GUARD_LOW].wire_a > GUARD_LEAST_A)) {
            do_case(work, &sides[i], 1, GUARD_LOW, phase, node, work->contact_ohm, feed);
        }
    }
}

GuardPlace guard_place(const GuardWork *work, uint32_t node) {
    GuardPlace place = {
        .phase = {work->phase_of[GUARD_HIGH][node], work->phase_of[GUARD_LOW][node]},
        .feed = ID_NONE};
    if (place.phase[GUARD_HIGH] != ID_NONE || work->feed_of[node] == ID_NONE) {
        return place;
    }
    const Model *model = work->in->model;
    TerminalId start = model->feeds[work->feed_of[node]].start;
    uint32_t from = start == ID_NONE
                        ? NETWORK_NONE
                        : work->in->built->point_node[model->terminals[start].pin_first];
    if (from != NETWORK_NONE) {
        place.feed = work->feed_of[node];
        place.phase[GUARD_HIGH] = work->phase_of[GUARD_HIGH][from];
        place.phase[GUARD_LOW] = work->phase_of[GUARD_LOW][from];
    }
    return place;
}

static void fault_node(GuardWork *work, uint32_t node, GuardSide *sides) {
    const double live_v = GUARD_LIVE_SHARE * work->in->model->set->job.rows[0].nominal_v;
    uint32_t target = work->target[node];
    uint32_t count = sides_of(work, node, sides);
    GuardPlace place = guard_place(work, node);
    if (count == 0 || place.phase[GUARD_HIGH] == ID_NONE || node == target ||
        (target != 0 && work->part_of[target] != work->part) ||
        (place.feed == ID_NONE &&
         !(fabs(volts_before(work, place.phase[GUARD_HIGH], node)) > live_v))) {
        return;
    }
    bool found = do_case(work, sides, count, GUARD_HIGH, place.phase[GUARD_HIGH], node,
                         BUILD_BOLTED_OHM, place.feed);
    if (found && any_over(work, sides, count)) {
        do_case(work, sides, count, GUARD_LOW, place.phase[GUARD_LOW], node, work->contact_ohm,
                place.feed);
        low_where_it_flows(work, sides, count, place.phase[GUARD_HIGH], node, place.feed);
    }
    for (uint32_t i = 0; i < count; i++) {
        ConductorId wire = work->guard->rows[sides[i].row].conductor;
        guard_keep_side(work, &sides[i], pin_at(work, wire, node), place.feed != ID_NONE, false);
    }
}

/* --- preparing ----------------------------------------------------------------------------------
 */

static void list_rows(GuardWork *work) {
    const GuardInput *in = work->in;
    Guard *guard = work->guard;
    uint32_t conductors = in->wiring->conductor_count;
    guard->row_of = ARENA_ARRAY(work->out, uint32_t, conductors);
    for (ConductorId i = 0; i < conductors; i++) {
        bool in_network = in->built->conductor_resistor[i] != NETWORK_NONE;
        guard->row_of[i] = in_network ? guard->row_count++ : ID_NONE;
    }
    guard->rows = ARENA_ARRAY(work->out, GuardRow, guard->row_count);
    work->wires = ARENA_ARRAY(work->scratch, HeatingWire, guard->row_count);
    work->wire_known = ARENA_ARRAY(work->scratch, bool, guard->row_count);
    for (ConductorId i = 0; i < conductors; i++) {
        if (guard->row_of[i] != ID_NONE) {
            GuardRow *row = &guard->rows[guard->row_of[i]];
            row->conductor = i;
            row->at = ID_NONE;
            row->high.phase = row->low.phase = ID_NONE;
            row->judgement.margin = (double)INFINITY;
            row->reaches_degc = (double)NAN;
            row->exempt = size_cranks(in->sizing, i) || size_role(in->sizing, i) == WIRE_TRUNK ||
                          size_role(in->sizing, i) == WIRE_RETURN;
        }
    }
}

/* The node of the first source's minus: where a fault leads when returns are wired. */
static uint32_t common_return(const GuardWork *work) {
    const GuardInput *in = work->in;
    for (uint32_t s = 0; s < in->model->set->source.count; s++) {
        const SourceRow *source = &in->model->set->source.rows[s];
        uint32_t minus = gates_owner_point(in->model, model_owner(in->model, source->unit),
                                           *source->minus == '\0' ? "case" : source->minus);
        if (minus != ID_NONE && in->built->point_node[minus] != NETWORK_NONE) {
            return in->built->point_node[minus];
        }
    }
    return 0;
}

static void find_targets(GuardWork *work) {
    const GuardInput *in = work->in;
    uint32_t nodes = in->built->network.node_count;
    work->target = ARENA_ARRAY(work->scratch, uint32_t, nodes);
    if (!work->wired) {
        return; /* node 0, the structure */
    }
    uint32_t common = common_return(work);
    for (uint32_t i = 0; i < nodes; i++) {
        work->target[i] = common;
    }
    for (uint32_t i = 0; i < in->built->network.load_count; i++) {
        const NetworkLoad *load = &in->built->network.loads[i];
        work->target[load->plus] = load->minus;
    }
}

static void find_feeds(GuardWork *work) {
    const GuardInput *in = work->in;
    uint32_t nodes = in->built->network.node_count;
    work->feed_of = ARENA_ARRAY(work->scratch, uint32_t, nodes);
    work->core_of = ARENA_ARRAY(work->scratch, uint16_t, nodes);
    memset(work->feed_of, 0xff, nodes * sizeof *work->feed_of);
    for (uint32_t i = 0; i < work->guard->row_count; i++) {
        const Conductor *wire = &in->wiring->conductors[work->guard->rows[i].conductor];
        const Net *net = &in->wiring->nets[in->wiring->cables[wire->cable].net];
        if (net->from_table != TABLE_feed || !in->model->feeds[net->from_row].usable) {
            continue;
        }
        const PinId pins[2] = {wire->from, wire->to};
        for (int end = 0; end < 2; end++) {
            uint32_t node = in->built->point_node[pins[end]];
            if (work->feed_of[node] == ID_NONE) {
                work->feed_of[node] = net->from_row;
                work->core_of[node] = wire->core;
            }
        }
    }
}

static void find_net(GuardWork *work) {
    const GuardInput *in = work->in;
    const Network *network = &in->built->network;
    uint32_t *device = ARENA_ARRAY(work->scratch, uint32_t, network->contact_count);
    for (uint32_t i = 0; i < network->contact_count; i++) {
        const BuildSource *source = &in->built->contact_source[i];
        device[i] = NETWORK_NONE;
        if (source->kind == BUILD_GATE) {
            const ModelOwner *owner =
                &in->model->owners[in->supply->gates.rows[source->index].owner];
            device[i] = owner->kind == OWNER_PROTECTION ? owner->row : NETWORK_NONE;
        }
    }
    double *wire_mm = ARENA_ARRAY(work->scratch, double, network->resistor_count);
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        uint32_t wire = guard_conductor_of(work, i);
        wire_mm[i] = wire == ID_NONE ? 0.0 : guard_length_mm(in, wire);
    }
    work->net = guard_net(work->scratch, network, work->local, device, wire_mm);
    work->walk = guard_walk_new(work->scratch, &work->net);
}

/* --- pairs --------------------------------------------------------------------------------------
 */

/* The first feed that passes each device, by row of `protection`; ID_NONE. */
static uint32_t *feeds_of_devices(const GuardWork *work) {
    const Model *model = work->in->model;
    uint32_t *feeds = ARENA_ARRAY(work->scratch, uint32_t, model->set->protection.count);
    memset(feeds, 0xff, model->set->protection.count * sizeof *feeds);
    for (uint32_t f = 0; f < model->set->feed.count; f++) {
        const ModelFeed *feed = &model->feeds[f];
        for (uint32_t s = 0; s < feed->step_count; s++) {
            const ModelOwner *owner = &model->owners[model->steps[feed->step_first + s].owner];
            if (owner->kind == OWNER_PROTECTION && feeds[owner->row] == ID_NONE) {
                feeds[owner->row] = f;
            }
        }
    }
    return feeds;
}

static int compare_pairs(const void *left, const void *right) {
    const GuardPair *a = left;
    const GuardPair *b = right;
    if (a->device != b->device) {
        return a->device < b->device ? -1 : 1;
    }
    return a->upstream < b->upstream ? -1 : (a->upstream > b->upstream ? 1 : 0);
}

/* Rows of `protection` are in the order of tags, so rows do for them. */
static void finish_pairs(GuardWork *work) {
    Guard *guard = work->guard;
    if (guard->pair_count > 1) {
        qsort(guard->pairs, guard->pair_count, sizeof *guard->pairs, compare_pairs);
    }
    const uint32_t *feeds = feeds_of_devices(work);
    for (uint32_t i = 0; i < guard->pair_count; i++) {
        GuardPair *pair = &guard->pairs[i];
        const GuardDevice *near = &guard->devices[pair->device];
        const GuardDevice *far = &guard->devices[pair->upstream];
        for (int which = GUARD_HIGH; which <= GUARD_LOW; which++) {
            if (pair->phase[which] != ID_NONE) {
                pair->selection[which] =
                    guard_select(near, pair->device_a[which], far, pair->upstream_a[which]);
            }
        }
        pair->one_feed =
            feeds[pair->device] != ID_NONE && feeds[pair->device] == feeds[pair->upstream];
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

const char *guard_role_name(const GuardInput *input, ConductorId conductor) {
    static const char *const NAMES[] = {
        [WIRE_SIGNAL] = "control",
        [WIRE_FEED] = "feed",
        [WIRE_RETURN] = "return",
        [WIRE_TRUNK] = "trunk",
    };
    return NAMES[size_role(input->sizing, conductor)];
}

static void do_part(GuardWork *work, uint32_t part) {
    uint32_t first = work->part_node[part];
    uint32_t end = work->part_node[part + 1];
    uint32_t widest = 0;
    bool fed = false;
    for (uint32_t i = first; i < end; i++) {
        uint32_t node = work->nodes[i];
        uint32_t links = work->net.first[node + 1] - work->net.first[node];
        widest = links > widest ? links : widest;
        fed = fed || work->phase_of[GUARD_HIGH][node] != ID_NONE;
    }
    if (!fed) {
        return;
    }
    guard_part_enter(work, part);
    GuardSide *sides = ARENA_ARRAY(&work->part_arena, GuardSide, widest);
    for (uint32_t i = first; i < end; i++) {
        fault_node(work, work->nodes[i], sides);
    }
    guard_fault_returns(work);
    guard_fault_trunks(work);
    guard_part_leave(work);
}

bool guard_run(Arena *out, const GuardInput *input, PowerNetwork *built, Guard *guard,
               Findings *findings) {
    Arena scratch = {0};
    GuardWork work = {.out = out, .scratch = &scratch, .in = input, .built = built, .guard = guard};
    *guard = (Guard){0};
    const TableSet *set = input->model->set;
    guard->devices = guard_devices(out, input->model, input->sizing->rating_a);
    work.contact_ohm = model_limit(input->model, GUARD_LIMIT_CONTACT) / 1000.0;
    work.wired = strcmp(set->job.rows[0].return_style, "wired") == 0;
    work.phases = ARENA_ARRAY(&scratch, GuardPhase, set->phase.count);
    work.pair_head = ARENA_ARRAY(&scratch, uint32_t, set->protection.count);
    memset(work.pair_head, 0xff, set->protection.count * sizeof *work.pair_head);
    list_rows(&work);
    guard_parts_find(&work);
    find_net(&work);
    find_targets(&work);
    find_feeds(&work);
    guard_rank_phases(&work);
    for (uint32_t part = 0; part < work.part_count; part++) {
        do_part(&work, part);
    }
    finish_pairs(&work);
    arena_free(&scratch);
    guard_report(input, guard, findings);
    return true;
}
