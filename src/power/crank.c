/* Method: the cranking phase again with the starter's feed closed and its current drawn. The plain
 * figure adds up the copper on the way of least resistance from the nearest battery to the starter
 * and back (Dijkstra's method over the network), the battery's inner resistance and the job's
 * figure for contactor and joints. */
#include "power/crank.h"

#include <math.h>
#include <string.h>

#include "model/report.h"

/* --- least resistance ---------------------------------------------------------------------------
 */

/* What can be walked: node pairs with ohms, listed by node. */
typedef struct Ways {
    uint32_t *first; /* by node, and one more */
    uint32_t *to;
    double *ohm;
} Ways;

typedef struct WaysFill {
    Ways *ways;
    bool counting;
} WaysFill;

static void add_way(WaysFill fill, uint32_t a, uint32_t b, double ohm) {
    if (fill.counting) {
        fill.ways->first[a + 2]++;
        fill.ways->first[b + 2]++;
        return;
    }
    const uint32_t ends[2] = {a, b};
    for (int side = 0; side < 2; side++) {
        uint32_t place = fill.ways->first[ends[side] + 1]++;
        fill.ways->to[place] = ends[1 - side];
        fill.ways->ohm[place] = ohm;
    }
}

/* Contacts and devices count nothing: the job's figure for contactor and joints stands for them. */
static void add_ways(WaysFill fill, const PowerNetwork *built, const NetworkState *state) {
    const Network *network = &built->network;
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        const NetworkResistor *row = &network->resistors[i];
        BuildSource source = built->resistor_source[i];
        double ohm = source.kind == BUILD_CONDUCTOR ? built->plain_ohm[source.index] : row->ohm;
        add_way(fill, row->a, row->b, ohm);
    }
    for (uint32_t i = 0; i < network->contact_count; i++) {
        if (state->contact_closed[i] && built->contact_source[i].kind == BUILD_GATE) {
            add_way(fill, network->contacts[i].a, network->contacts[i].b, 0.0);
        }
    }
}

static Ways list_ways(Arena *arena, const PowerNetwork *built, const NetworkState *state) {
    const Network *network = &built->network;
    size_t most = 2 * ((size_t)network->resistor_count + network->contact_count);
    Ways ways = {
        .first = ARENA_ARRAY(arena, uint32_t, (size_t)network->node_count + 2),
        .to = ARENA_ARRAY(arena, uint32_t, most),
        .ohm = ARENA_ARRAY(arena, double, most),
    };
    add_ways((WaysFill){&ways, true}, built, state);
    for (uint32_t node = 2; node < network->node_count + 2; node++) {
        ways.first[node] += ways.first[node - 1];
    }
    add_ways((WaysFill){&ways, false}, built, state);
    return ways;
}

/* A heap of nodes, least ohm on top; a node may stand in it several times. */
typedef struct Heap {
    Arena *arena;
    struct HeapItem {
        double ohm;
        uint32_t node;
    } * items;
    size_t count;
    size_t capacity;
} Heap;

static bool is_before(const struct HeapItem *a, const struct HeapItem *b) {
    return a->ohm < b->ohm || (!(a->ohm > b->ohm) && a->node < b->node);
}

static void heap_push(Heap *heap, double ohm, uint32_t node) {
    *ARENA_PUSH(heap->arena, heap->items, heap->count, heap->capacity) =
        (struct HeapItem){ohm, node};
    for (size_t at = heap->count - 1; at > 0;) {
        size_t above = (at - 1) / 2;
        if (!is_before(&heap->items[at], &heap->items[above])) {
            break;
        }
        struct HeapItem kept = heap->items[at];
        heap->items[at] = heap->items[above];
        heap->items[above] = kept;
        at = above;
    }
}

static struct HeapItem heap_pop(Heap *heap) {
    struct HeapItem top = heap->items[0];
    heap->items[0] = heap->items[--heap->count];
    for (size_t at = 0;;) {
        size_t least = at;
        for (size_t below = 2 * at + 1; below <= 2 * at + 2; below++) {
            if (below < heap->count && is_before(&heap->items[below], &heap->items[least])) {
                least = below;
            }
        }
        if (least == at) {
            return top;
        }
        struct HeapItem kept = heap->items[at];
        heap->items[at] = heap->items[least];
        heap->items[least] = kept;
        at = least;
    }
}

/* By node: least ohms from `start`, INFINITY where no metal leads. */
static double *least_ohm(Arena *arena, const Ways *ways, uint32_t node_count, uint32_t start) {
    double *ohm = ARENA_ARRAY(arena, double, node_count);
    for (uint32_t node = 0; node < node_count; node++) {
        ohm[node] = (double)INFINITY;
    }
    Heap heap = {.arena = arena};
    ohm[start] = 0.0;
    heap_push(&heap, 0.0, start);
    while (heap.count > 0) {
        struct HeapItem item = heap_pop(&heap);
        if (item.ohm > ohm[item.node]) {
            continue;
        }
        for (uint32_t i = ways->first[item.node]; i < ways->first[item.node + 1]; i++) {
            double there = item.ohm + ways->ohm[i];
            if (there < ohm[ways->to[i]]) {
                ohm[ways->to[i]] = there;
                heap_push(&heap, there, ways->to[i]);
            }
        }
    }
    return ohm;
}

static void find_plain(const Model *model, const PowerNetwork *built, PhasesCrank *crank) {
    const JobRow *job = &model->set->job.rows[0];
    const NetworkLoad *starter = &built->network.loads[built->starter];
    Arena scratch = {0};
    Ways ways = list_ways(&scratch, built, &crank->result.state);
    uint32_t nodes = built->network.node_count;
    double *there = least_ohm(&scratch, &ways, nodes, starter->plus);
    double *back = least_ohm(&scratch, &ways, nodes, starter->minus);
    double more_ohm = isnan(job->crank_mohm) ? 0.0 : job->crank_mohm / 1000.0;
    crank->source = ID_NONE;
    crank->plain_ohm = (double)INFINITY;
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        const BuildBattery *row = &built->batteries[i];
        double ohm = there[built->network.diodes[row->diode].cathode] +
                     back[built->network.batteries[i].minus] + row->r_ohm + more_ohm;
        if (ohm < crank->plain_ohm) {
            crank->plain_ohm = ohm;
            crank->plain_v = built->network.batteries[i].open_v - job->crank_a * ohm;
            crank->source = row->source;
        }
    }
    arena_free(&scratch);
}

/* --- solved -------------------------------------------------------------------------------------
 */

static void find_lost(Arena *out, const Supply *supply, const PowerNetwork *built, Phases *phases) {
    PhasesCrank *crank = &phases->crank;
    crank->lost = ARENA_ARRAY(out, uint32_t, supply->load_count);
    crank->ports = ARENA_ARRAY(out, PhasesPort, supply->load_count);
    const PhasesPort *before = &phases->ports[(size_t)crank->phase * supply->load_count];
    for (uint32_t i = 0; i < supply->load_count; i++) {
        if (supply->loads[i].load_row == ID_NONE) {
            continue;
        }
        crank->ports[i] = phases_port(built, &crank->result, i);
        if (before[i].state == PHASES_ON && crank->ports[i].state > PHASES_ON) {
            crank->lost[crank->lost_count++] = i;
        }
    }
}

static void report_lost(const Model *model, const Supply *supply, const PhasesCrank *crank,
                        Findings *findings) {
    const JobRow *job = &model->set->job.rows[0];
    Buffer names = {.arena = findings->arena};
    double lowest_v = (double)INFINITY;
    for (uint32_t i = 0; i < crank->lost_count; i++) {
        buffer_text(&names, i == 0 ? "" : " ");
        buffer_text(&names, model->terminals[supply->loads[crank->lost[i]].port].end);
        lowest_v = fmin(lowest_v, crank->ports[crank->lost[i]].volts_v);
    }
    Finding *finding =
        report_row(findings, model, RULE_SOLVE_CRANK, TABLE_job, 0, "crank_a",
                   "cranking at %.0f A leaves %.1f V at the starter; these drop out and start "
                   "again: %s",
                   job->crank_a, crank->starter_v, names.bytes);
    finding->value = lowest_v;
    finding->unit = "V";
    finding->rows = names.bytes;
    finding->hint = "start with them off, or feed them from a battery that does not crank";
}

static void judge_contactors(const Model *model, const Supply *supply, const PowerNetwork *built,
                             PhasesCrank *crank, const char *const *positions, Findings *findings) {
    crank->contactor_holds = true;
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        const SupplyCoil *coil = &supply->coils[i];
        bool energised = strcmp(positions[coil->owner], coil->rest) != 0;
        if (!energised || crank->result.state.coil_energised[i]) {
            continue;
        }
        crank->contactor_holds = false;
        Finding *finding = report_owner(
            findings, model, RULE_SOLVE_HELD, coil->owner,
            "%s is to be %s while cranking, but its coil has %.1f V and picks up at %.1f V",
            model->owners[coil->owner].tag, positions[coil->owner], crank->result.coil_v[i],
            built->network.coils[i].pickup_v);
        finding->value = crank->result.coil_v[i];
        finding->limit = built->network.coils[i].pickup_v;
        finding->unit = "V";
        finding->rows = "crank";
        finding->hint = "a stronger battery, thicker starter cables, or a coil that needs less";
    }
}

/* Row of the feed that supplies a port, ID_NONE. */
static uint32_t feed_of(const Model *model, TerminalId port) {
    for (uint32_t feed = 0; feed < model->set->feed.count; feed++) {
        const ModelFeed *row = &model->feeds[feed];
        for (uint32_t i = 0; row->usable && i < row->target_count; i++) {
            if (model->targets[row->target_first + i] == port) {
                return feed;
            }
        }
    }
    return ID_NONE;
}

/* --- exported -----------------------------------------------------------------------------------
 */

uint32_t crank_phase(const Model *model, const Phases *phases) {
    for (size_t i = 0; i < model->set->phase.count; i++) {
        uint32_t phase = phases->order[i];
        if (strcmp(model->set->phase.rows[phase].engine, "cranking") == 0 &&
            phases->solved[phase]) {
            return phase;
        }
    }
    return ID_NONE;
}

const char *const *crank_positions(Arena *out, const Model *model, const Supply *supply,
                                   uint32_t phase) {
    TerminalId starter = model_terminal(model, model->set->job.rows[0].starter);
    uint32_t feed = starter == ID_NONE ? ID_NONE : feed_of(model, starter);
    return feed == ID_NONE ? supply->positions[phase]
                           : supply_close_feed(out, model, supply, supply->positions[phase], feed);
}

void crank_run(Arena *out, const Model *model, const Supply *supply, PowerNetwork *built,
               Phases *phases, Findings *findings) {
    const JobRow *job = &model->set->job.rows[0];
    PhasesCrank *crank = &phases->crank;
    uint32_t phase = crank_phase(model, phases);
    if (built->starter == NETWORK_NONE || isnan(job->crank_a) || phase == ID_NONE) {
        return;
    }
    const char *const *positions = crank_positions(out, model, supply, phase);
    NetworkState state = network_state_copy(out, &built->network, &phases->results[phase].state);
    phases_set(built, model, supply, phase, positions, &state);
    built->network.loads[built->starter].nominal_a = job->crank_a;
    crank->done =
        phases_solve(phases->plan, built, supply, &state, NULL, out, &crank->result, NULL);
    crank->phase = phase;
    if (crank->done) {
        crank->starter_v = crank->result.load_v[built->starter];
        find_plain(model, built, crank);
        find_lost(out, supply, built, phases);
        judge_contactors(model, supply, built, crank, positions, findings);
        if (crank->lost_count > 0) {
            report_lost(model, supply, crank, findings);
        }
    } else {
        Finding *finding =
            report_row(findings, model, RULE_SOLVE_CONVERGE, TABLE_job, 0, "crank_a",
                       "no operating point while cranking was found; %.3g A are left over",
                       crank->result.residual_a);
        finding->value = crank->result.residual_a;
        finding->unit = "A";
    }
    built->network.loads[built->starter].nominal_a = 0.0;
}
