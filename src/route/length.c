/* Path + stubs + what is kept for service + handling, then what slack, twisting and the place in
 * the bundle add, then up to whole steps; docs/theory/harness.md derives the three shares. All but
 * twist and bend is known with the way; those two follow the gauges. */
#include "route/length.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "route/gauges.h"

struct Lengths {
    const Model *model;
    const Wiring *wiring;
    RouteGauges gauges;
    LengthParts *fresh; /* room for the runs of one cable */
    double *turn_rad;   /* by hop: angle to the hop before it; NAN: its segment has no direction */
    double *od_mm;      /* by segment: of all that lies in it, heavy cables too */
    double slack_share;
    double step_mm;
    double bend_least_mm;
    double bundle_factor;
    double handling_mm;
};

double length_twist_share(double helix_mm, double lay_mm) {
    double turn = UNITS_PI * helix_mm / lay_mm;
    return sqrt(1.0 + turn * turn) - 1.0;
}

double length_sag_share(double sag_mm, double span_mm) {
    double ratio = sag_mm / span_mm;
    return 8.0 / 3.0 * ratio * ratio;
}

double length_end_mm(const LengthRun *run, int end) {
    const LengthParts *parts = &run->parts;
    double spread_mm =
        parts->handling_mm + parts->slack_mm + parts->twist_mm + parts->bend_mm + parts->round_mm;
    return fmax(0.0, parts->stub_mm[end] + parts->loop_mm[end] + spread_mm / 2.0);
}

/* --- what is kept -------------------------------------------------------------------------------
 */

const char *length_place_word(LengthPlace place) {
    static const char *const WORDS[] = {
#define LENGTH_PLACE_WORD(id, word) word,
        LENGTH_PLACES(LENGTH_PLACE_WORD)
#undef LENGTH_PLACE_WORD
    };
    return WORDS[place];
}

/* `where`: what the job says of the place. */
static LengthKept find_kept(const Model *model, LengthPlace place, const char *where) {
    const TableSet *set = model->set;
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_end_allowance, length_place_word(place), &count);
    uint32_t best = ID_NONE;
    size_t best_length = 0;
    for (uint32_t i = first; i < first + count; i++) {
        const char *word = set->end_allowance.rows[i].where;
        bool any = strcmp(word, "any") == 0;
        size_t length = any ? 1 : strlen(word) + 1;
        if ((any || strstr(where, word) != NULL) && length > best_length) {
            best = i;
            best_length = length;
        }
    }
    double loop_mm = best == ID_NONE ? 0.0 : set->end_allowance.rows[best].loop_mm;
    return (LengthKept){place, best, loop_mm};
}

LengthKept length_kept_at(const Model *model, OwnerId id) {
    const TableSet *set = model->set;
    const ModelOwner *owner = &model->owners[id];
    switch (owner->kind) {
    case OWNER_UNIT:
        return find_kept(model, LENGTH_AT_UNIT, set->unit.rows[owner->row].mount);
    case OWNER_PROTECTION:
        return find_kept(model, LENGTH_AT_DEVICE, set->protection.rows[owner->row].place);
    case OWNER_SWITCHGEAR:
        return find_kept(model, LENGTH_AT_SWITCH, set->switchgear.rows[owner->row].what);
    case OWNER_BAR:
        return find_kept(model, LENGTH_AT_BAR, "");
    case OWNER_GROUND:
        return find_kept(model, LENGTH_AT_GROUND, "");
    case OWNER_ANTENNA:
        break;
    }
    return find_kept(model, LENGTH_AT_ANTENNA, "");
}

LengthKept length_kept_at_half(Arena *scratch, const Model *model, uint32_t disconnect, bool far) {
    const TableSet *set = model->set;
    const DisconnectRow *row = &set->disconnect.rows[disconnect];
    uint32_t module = model_row(model, TABLE_module, row->module);
    const char *where = arena_format(scratch, "%s, %s", row->name,
                                     module == ID_NONE ? "" : set->module.rows[module].name);
    return find_kept(model, far ? LENGTH_AT_FAR_HALF : LENGTH_AT_NEAR_HALF, where);
}

/* --- runs ---------------------------------------------------------------------------------------
 */

/* Finds the runs. */
typedef struct Walker {
    Arena scratch;
    const Model *model;
    Routing *routing;
    Cuts cuts;
    LengthKept *owners; /* by OwnerId */
    LengthKept *halves; /* by row of disconnect, near and far */
    LengthRun *run;     /* the one that is walked */
    LengthRun *next;    /* the one after it */
} Walker;

static void read_kept(Walker *walker) {
    const Model *model = walker->model;
    size_t disconnects = model->set->disconnect.count;
    walker->owners = ARENA_ARRAY(&walker->scratch, LengthKept, model->owner_count);
    walker->halves = ARENA_ARRAY(&walker->scratch, LengthKept, 2 * disconnects);
    for (OwnerId i = 0; i < model->owner_count; i++) {
        walker->owners[i] = length_kept_at(model, i);
    }
    for (uint32_t i = 0; i < 2 * disconnects; i++) {
        walker->halves[i] = length_kept_at_half(&walker->scratch, model, i / 2, i % 2 != 0);
    }
}

/* One end of the run: 0 where it begins, 1 where it ends. */
static void keep(Walker *walker, int end, NodeId node, const LengthKept *kept) {
    walker->run->node[end] = node;
    walker->run->kept[end] = kept->row;
    walker->run->parts.loop_mm[end] = kept->loop_mm;
}

static void begin_run(Walker *walker, NodeId node, const LengthKept *kept) {
    walker->run = walker->next++;
    *walker->run = (LengthRun){.hop_first = ID_NONE};
    keep(walker, 0, node, kept);
}

static void add_hop(Walker *walker, uint32_t hop) {
    LengthRun *run = walker->run;
    SegmentId segment = walker->routing->hops[hop].segment;
    run->hop_first = run->hop_count == 0 ? hop : run->hop_first;
    run->hop_count++;
    run->parts.path_mm += walker->model->segment_length_mm[segment];
}

/* A hop: what of it lies before its disconnects, at them, behind them. */
static void walk_hop(Walker *walker, uint32_t i) {
    const Cuts *cuts = &walker->cuts;
    const Hop *hop = &walker->routing->hops[i];
    uint32_t first = cuts->segment_first[hop->segment];
    uint32_t last = cuts->segment_first[hop->segment + 1] - first;
    bool comes_far = cuts->far_is_a[hop->segment] != hop->backward;
    for (uint32_t k = 0; k <= last; k++) {
        uint32_t gap = hop->backward ? last - k : k;
        if (gap == cuts->long_gap[hop->segment]) {
            add_hop(walker, i);
        }
        if (k < last) {
            uint32_t cut = hop->backward ? gap - 1 : gap;
            NodeId node = cuts_node(walker->model, cuts, hop->segment, cut);
            const LengthKept *halves = &walker->halves[2 * cuts->cuts[first + cut].disconnect];
            keep(walker, 1, node, &halves[comes_far ? 1 : 0]);
            begin_run(walker, node, &halves[comes_far ? 0 : 1]);
        }
    }
}

static void walk_cable(Walker *walker, const Cable *cable, CableId id) {
    const Model *model = walker->model;
    Routing *routing = walker->routing;
    const ModelTerminal *from = &model->terminals[cable->from];
    const ModelTerminal *to = &model->terminals[cable->to];
    begin_run(walker, from->node, &walker->owners[from->owner]);
    walker->run->parts.stub_mm[0] = from->stub_mm;
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        walk_hop(walker, i);
    }
    keep(walker, 1, to->node, &walker->owners[to->owner]);
    walker->run->parts.stub_mm[1] = to->stub_mm;
}

/* Where the runs of each cable stand; returns how many those of the cable with most are. */
static uint32_t number_runs(Arena *out, const Walker *walker, uint32_t cables) {
    Routing *routing = walker->routing;
    const Cuts *cuts = &walker->cuts;
    uint32_t next = 0;
    uint32_t most = 0;
    routing->run_first = ARENA_ARRAY(out, uint32_t, (size_t)cables + 1);
    for (CableId c = 0; c < cables; c++) {
        routing->run_first[c] = next;
        if (isnan(routing->length_mm[c])) {
            continue;
        }
        next++;
        for (uint32_t i = routing->cable_first[c]; i < routing->cable_first[c + 1]; i++) {
            SegmentId segment = routing->hops[i].segment;
            next += cuts->segment_first[segment + 1] - cuts->segment_first[segment];
        }
        uint32_t count = next - routing->run_first[c];
        most = count > most ? count : most;
    }
    routing->run_first[cables] = next;
    routing->runs = ARENA_ARRAY(out, LengthRun, next);
    return most;
}

/* --- turns --------------------------------------------------------------------------------------
 */

/* By hop of a cable: the angle to the last hop before it that has a direction. */
static void find_turns(const Model *model, const Routing *routing, CableId id, double *turn_rad) {
    double last[3] = {0.0, 0.0, 0.0};
    bool known = false;
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        const Hop *hop = &routing->hops[i];
        double along[3];
        turn_rad[i] = (double)NAN;
        if (!route_segment_direction(model, hop->segment, along)) {
            continue;
        }
        double dot = 0.0;
        for (int axis = 0; axis < 3; axis++) {
            along[axis] = hop->backward ? -along[axis] : along[axis];
            dot += last[axis] * along[axis];
            last[axis] = along[axis];
        }
        turn_rad[i] = known ? acos(fmin(1.0, fmax(-1.0, dot))) : 0.0;
        known = true;
    }
}

/* --- what gauges decide -------------------------------------------------------------------------
 */

/* The shop's rule for the diameter of a bundle, over all that lies in each segment. */
static void measure_bundles(Lengths *lengths, const Routing *routing, const int32_t *awg) {
    size_t segments = lengths->model->set->segment.count;
    for (size_t i = 0; i < segments; i++) {
        lengths->od_mm[i] = 0.0;
    }
    for (CableId c = 0; c < lengths->wiring->cable_count; c++) {
        double square_mm2 =
            gauges_square_mm2(lengths->model, lengths->wiring, &lengths->gauges, c, awg);
        for (uint32_t i = routing->cable_first[c]; i < routing->cable_first[c + 1]; i++) {
            lengths->od_mm[routing->hops[i].segment] += square_mm2;
        }
    }
    for (size_t i = 0; i < segments; i++) {
        lengths->od_mm[i] = lengths->bundle_factor * sqrt(lengths->od_mm[i]);
    }
}

/* What a wire that lies outermost in every bend of the run is longer by than one in the middle: at
 * each bend the angle times the distance between the two. */
static double bend_mm(const Lengths *lengths, const Routing *routing, const LengthRun *run,
                      double od_mm) {
    double sum_mm = 0.0;
    double last_od_mm = (double)NAN;
    for (uint32_t i = run->hop_first; i < run->hop_first + run->hop_count; i++) {
        if (isnan(lengths->turn_rad[i])) {
            continue;
        }
        double bundle_mm = lengths->od_mm[routing->hops[i].segment];
        if (!isnan(last_od_mm)) {
            double out_mm = (fmin(last_od_mm, bundle_mm) - od_mm) / 2.0;
            sum_mm += lengths->turn_rad[i] * fmax(0.0, out_mm);
        }
        last_od_mm = bundle_mm;
    }
    return sum_mm;
}

/* The share that twisting adds: single wires of a class that is twisted in the shop. The middles of
 * n wires that touch lie on a circle of diameter od / sin(pi / n). */
static double twist_share(const Lengths *lengths, const Cable *cable, int32_t awg, double od_mm) {
    const TableSet *set = lengths->model->set;
    ClassId class_id = lengths->wiring->nets[cable->net].class_id;
    if (cable->part != ID_NONE || cable->conductor_count < 2 ||
        set->interface.rows[class_id].twisted != 1) {
        return 0.0;
    }
    for (size_t i = 0; i < set->twist.count; i++) {
        const TwistRow *row = &set->twist.rows[i];
        if (row->awg == awg && row->wires == cable->conductor_count && row->lay_mm > 0.0) {
            double helix_mm = od_mm / sin(UNITS_PI / cable->conductor_count);
            return length_twist_share(helix_mm, row->lay_mm);
        }
    }
    return 0.0;
}

/* --- sums ---------------------------------------------------------------------------------------
 */

static double straight_mm(const LengthParts *parts) {
    return parts->path_mm + parts->stub_mm[0] + parts->stub_mm[1] + parts->loop_mm[0] +
           parts->loop_mm[1];
}

/* Handling, rounding and the sum of all parts of a cable's runs. */
static void add_up(const Lengths *lengths, double given_mm, LengthParts *parts, uint32_t count) {
    const double NEAR_MM = 1e-6; /* a sum that is a whole step but for its last digits */
    double whole_mm = 0.0;
    for (uint32_t i = 0; i < count; i++) {
        parts[i].cut_mm =
            straight_mm(&parts[i]) + parts[i].slack_mm + parts[i].twist_mm + parts[i].bend_mm;
        whole_mm += parts[i].cut_mm;
    }
    double more_mm = isnan(given_mm) ? lengths->handling_mm : given_mm - whole_mm;
    for (uint32_t i = 0; i < count; i++) {
        double ends = (i == 0 ? 0.5 : 0.0) + (i + 1 == count ? 0.5 : 0.0);
        parts[i].handling_mm =
            more_mm * (more_mm < 0.0 && whole_mm > 0.0 ? parts[i].cut_mm / whole_mm : ends);
        double least_mm = parts[i].cut_mm + parts[i].handling_mm;
        parts[i].cut_mm = lengths->step_mm > 0.0
                              ? ceil((least_mm - NEAR_MM) / lengths->step_mm) * lengths->step_mm
                              : least_mm;
        parts[i].round_mm = parts[i].cut_mm - least_mm;
    }
}

static void sum_runs(Routing *routing, CableId id) {
    double sum_mm = 0.0;
    for (uint32_t i = routing->run_first[id]; i < routing->run_first[id + 1]; i++) {
        sum_mm += routing->runs[i].parts.cut_mm;
    }
    routing->length_mm[id] = sum_mm;
}

/* Takes the fresh parts of a cable's runs where they are longer; true when any is. */
static bool take_longer(Routing *routing, CableId id) {
    const double SAME_MM = 1e-6; /* lengths are whole steps but for their last digits */
    const LengthParts *fresh = routing->lengths->fresh;
    bool longer = false;
    for (uint32_t i = routing->run_first[id]; i < routing->run_first[id + 1]; i++, fresh++) {
        LengthParts *parts = &routing->runs[i].parts;
        if (fresh->cut_mm > parts->cut_mm + SAME_MM) {
            *parts = *fresh;
            longer = true;
        }
    }
    return longer;
}

static void measure_cable(const Lengths *lengths, const Routing *routing, CableId id,
                          const int32_t *awg) {
    const Cable *cable = &lengths->wiring->cables[id];
    int32_t gauge =
        cable->conductor_count == 0
            ? INT_BLANK
            : route_conductor_awg(lengths->model, lengths->wiring, cable->conductor_first, awg);
    const WireRow *wire = gauges_wire(lengths->model, &lengths->gauges, gauge);
    double od_mm = cable->part != ID_NONE ? lengths->model->set->cable.rows[cable->part].od_mm
                   : wire == NULL         ? 0.0
                                          : wire->od_mm;
    double twist = twist_share(lengths, cable, gauge, od_mm);
    uint32_t first = routing->run_first[id];
    uint32_t count = routing->run_first[id + 1] - first;
    for (uint32_t i = 0; i < count; i++) {
        const LengthRun *run = &routing->runs[first + i];
        LengthParts *parts = &lengths->fresh[i];
        double bend = bend_mm(lengths, routing, run, od_mm);
        *parts = run->parts;
        parts->slack_mm = parts->path_mm * lengths->slack_share;
        parts->twist_mm = straight_mm(parts) * twist;
        parts->bend_mm = bend >= lengths->bend_least_mm ? bend : 0.0;
    }
    add_up(lengths, routing->given_mm[id], lengths->fresh, count);
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool lengths_raise(Routing *routing, const int32_t *awg) {
    Lengths *lengths = routing->lengths;
    bool raised = false;
    measure_bundles(lengths, routing, awg);
    for (CableId c = 0; c < lengths->wiring->cable_count; c++) {
        if (!isnan(routing->length_mm[c])) {
            measure_cable(lengths, routing, c, awg);
            if (take_longer(routing, c)) {
                sum_runs(routing, c);
                raised = true;
            }
        }
    }
    return raised;
}

void lengths_give(Routing *routing, CableId cable, double given_mm) {
    const Lengths *lengths = routing->lengths;
    uint32_t first = routing->run_first[cable];
    uint32_t count = routing->run_first[cable + 1] - first;
    routing->given_mm[cable] = given_mm;
    for (uint32_t i = 0; i < count; i++) {
        lengths->fresh[i] = routing->runs[first + i].parts;
    }
    add_up(lengths, given_mm, lengths->fresh, count);
    for (uint32_t i = 0; i < count; i++) {
        routing->runs[first + i].parts = lengths->fresh[i];
    }
    sum_runs(routing, cable);
}

void lengths_find(Arena *out, const Model *model, const Wiring *wiring, Routing *routing) {
    uint32_t cables = wiring->cable_count;
    Walker walker = {.model = model, .routing = routing};
    cuts_find(&walker.scratch, model, &walker.cuts);
    read_kept(&walker);
    uint32_t most = number_runs(out, &walker, cables);
    double handling_mm = model->set->job.rows[0].handling_mm;
    Lengths *lengths = ARENA_NEW(out, Lengths);
    *lengths = (Lengths){
        .model = model,
        .wiring = wiring,
        .fresh = ARENA_ARRAY(out, LengthParts, most),
        .turn_rad = ARENA_ARRAY(out, double, routing->hop_count),
        .od_mm = ARENA_ARRAY(out, double, model->set->segment.count),
        .slack_share = length_sag_share(model_limit(model, LENGTH_LIMIT_SAG),
                                        model_limit(model, ROUTE_LIMIT_CLAMPS)),
        .step_mm = model_limit(model, LENGTH_LIMIT_STEP),
        .bend_least_mm = model_limit(model, LENGTH_LIMIT_BEND),
        .bundle_factor = model_limit(model, ROUTE_LIMIT_FACTOR),
        .handling_mm = isnan(handling_mm) ? 0.0 : handling_mm,
    };
    gauges_read(model, &lengths->gauges);
    routing->lengths = lengths;
    routing->given_mm = ARENA_ARRAY(out, double, cables);
    for (CableId c = 0; c < cables; c++) {
        routing->given_mm[c] = (double)NAN;
        if (!isnan(routing->length_mm[c])) {
            walker.next = &routing->runs[routing->run_first[c]];
            walk_cable(&walker, &wiring->cables[c], c);
            find_turns(model, routing, c, lengths->turn_rad);
        }
    }
    int32_t *awg = ARENA_ARRAY(&walker.scratch, int32_t, wiring->conductor_count);
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        awg[i] = INT_BLANK;
    }
    lengths_raise(routing, awg);
    arena_free(&walker.scratch);
}
