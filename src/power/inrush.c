/* Method: from each box up its feeds, collecting pairs of what closes and the box behind it; the
 * pairs sorted by what closes make the items. A bus is counted in the phase with the most inrush
 * behind it; a feed of boxes with all of them at once.
 *
 * Capacitors: charged through R they pass C V^2 / (2 R) of current squared times time, however
 * large the peak. A fuse whose published gate holds longer than that melts no sooner (adiabatic;
 * common practice for short pulses, no source); for breakers and electronic channels it proves
 * nothing. */
#include "power/inrush.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"
#include "rating/protector.h"

/* Gates no longer than this say what a fuse takes without cooling, s. */
#define INRUSH_ADIABATIC_S 0.1
/* A gate that holds as long holds for good, s. */
#define INRUSH_FOR_GOOD_S 3600.0

typedef struct Pair {
    OwnerId owner;
    uint32_t load;
    bool own; /* in the feed of the box itself */
} Pair;

/* What one box does when it is switched on. */
typedef struct Start {
    double usual_a;
    double inrush_a; /* NAN */
    double inrush_s; /* NAN */
    double charge_a2s;
    const char *basis;
} Start;

typedef struct Looking {
    Arena *out;
    Arena *scratch;
    const Model *model;
    const Supply *supply;
    const Sizing *sizing;
    Start *starts;       /* by load */
    double *way_ohm;     /* by load: of its feeder, there and back; 0: not known */
    uint32_t *bus_first; /* by BusId, and one more: into bus_feeds */
    uint32_t *bus_feeds; /* feeds onto a bus that something switches */
    Pair *pairs;
    size_t pair_count;
    size_t pair_capacity;
} Looking;

/* --- boxes --------------------------------------------------------------------------------------
 */

/* Needed rating over continuous current for that kind of load; NAN without a row. */
static double switch_factor(const Model *model, const char *kind) {
    double nominal_v = model->set->job.rows[0].nominal_v;
    double table_v = nominal_v < 20.0 ? 12.0 : 28.0; /* the published table has these two */
    for (size_t i = 0; i < model->set->switch_factor.count; i++) {
        const SwitchFactorRow *row = &model->set->switch_factor.rows[i];
        if (fabs(row->nominal_v - table_v) < 0.5 && strcmp(row->load, kind) == 0) {
            return row->factor;
        }
    }
    return (double)NAN;
}

/* A lamp with a filament follows its voltage as a resistance; other lamps are electronics. */
static bool has_filament(const LoadRow *row) {
    return strcmp(row->kind, "lamp") == 0 && strcmp(row->law, "constant resistance") == 0;
}

static Start start_of(const Looking *looking, uint32_t load) {
    const Model *model = looking->model;
    const SupplyLoad *entry = &looking->supply->loads[load];
    const LoadRow *row = &model->set->load.rows[entry->load_row];
    double usual_a = isnan(entry->usual_a) ? entry->design_a : entry->usual_a;
    Start start = {usual_a, row->inrush_a, row->inrush_s, 0.0, "inrush_a of the library"};
    double factor = has_filament(row) ? switch_factor(model, "lamp") : (double)NAN;
    if (isnan(start.inrush_a) && !isnan(factor)) {
        start.inrush_a = fmax(usual_a * factor, isnan(row->peak_a) ? 0.0 : row->peak_a);
        start.basis = "cold filament: factor of the published switch table";
    } else if (isnan(start.inrush_a) && !isnan(row->peak_a)) {
        start.inrush_a = fmax(row->peak_a, usual_a);
        start.basis = "peak_a of the library";
    } else if (isnan(start.inrush_a) && strcmp(row->kind, "resistive") == 0) {
        start.inrush_a = usual_a;
        start.inrush_s = 0.0;
        start.basis = "a resistance draws no more at first";
    } else if (isnan(start.inrush_a)) {
        start.basis = "the library gives no first current";
    }
    if (!isnan(row->input_uf) && row->input_uf > 0.0) {
        double volts_v = model->set->job.rows[0].nominal_v;
        double ohm = looking->way_ohm[load];
        start.charge_a2s =
            ohm > 0.0 ? row->input_uf * 1e-6 * volts_v * volts_v / (2.0 * ohm) : (double)INFINITY;
    }
    return start;
}

static void find_starts(Looking *looking) {
    const Supply *supply = looking->supply;
    looking->starts = ARENA_ARRAY(looking->scratch, Start, supply->load_count);
    looking->way_ohm = ARENA_ARRAY(looking->scratch, double, supply->load_count);
    for (uint32_t i = 0; i < looking->sizing->feeder_count; i++) {
        const Feeder *feeder = &looking->sizing->feeders[i];
        if (feeder->load != ID_NONE && feeder->design_a > 0.0) {
            /* The plain figure is the lower one: it lets more current pass. */
            looking->way_ohm[feeder->load] = feeder->plain_drop_v / feeder->design_a;
        }
    }
    for (uint32_t i = 0; i < supply->load_count; i++) {
        if (supply->loads[i].load_row != ID_NONE) {
            looking->starts[i] = start_of(looking, i);
        }
    }
}

/* --- what closes --------------------------------------------------------------------------------
 */

static bool is_contact(const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    if (row->kind != OWNER_SWITCHGEAR || row->part == ID_NONE) {
        return false;
    }
    const char *kind = model->set->switch_part.rows[row->part].kind;
    return strcmp(kind, "switch") == 0 || strcmp(kind, "relay") == 0 ||
           strcmp(kind, "contactor") == 0;
}

/* A feed that something switches. */
static bool is_switched(const Model *model, const ModelFeed *feed) {
    for (uint32_t i = 0; i < feed->step_count; i++) {
        if (is_contact(model, model->steps[feed->step_first + i].owner)) {
            return true;
        }
    }
    return false;
}

/* Feeds onto each bus that something switches, its usual one or not. */
static void index_feeds(Looking *looking) {
    const Model *model = looking->model;
    size_t buses = model->set->bus.count;
    looking->bus_first = ARENA_ARRAY(looking->scratch, uint32_t, buses + 2);
    looking->bus_feeds = ARENA_ARRAY(looking->scratch, uint32_t, model->set->feed.count);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t feed = 0; feed < model->set->feed.count; feed++) {
            const ModelFeed *row = &model->feeds[feed];
            if (!row->usable || row->to_bus == ID_NONE || !is_switched(model, row)) {
                continue;
            }
            if (pass == 0) {
                looking->bus_first[row->to_bus + 2]++;
            } else {
                looking->bus_feeds[looking->bus_first[row->to_bus + 1]++] = feed;
            }
        }
        for (size_t bus = 2; pass == 0 && bus < buses + 2; bus++) {
            looking->bus_first[bus] += looking->bus_first[bus - 1];
        }
    }
}

static void add_pairs(Looking *looking, const ModelFeed *feed, uint32_t load, bool own) {
    for (uint32_t i = 0; i < feed->step_count; i++) {
        OwnerId owner = looking->model->steps[feed->step_first + i].owner;
        if (looking->model->owners[owner].kind == OWNER_PROTECTION ||
            is_contact(looking->model, owner)) {
            *ARENA_PUSH(looking->scratch, looking->pairs, looking->pair_count,
                        looking->pair_capacity) = (Pair){owner, load, own};
        }
    }
}

/* Up the feeds of one box; a chain of buses that bites its tail ends after as many as there are. */
static void climb(Looking *looking, uint32_t load) {
    const Model *model = looking->model;
    const SupplyLoad *entry = &looking->supply->loads[load];
    if (entry->feed != ID_NONE && model->feeds[entry->feed].usable) {
        add_pairs(looking, &model->feeds[entry->feed], load, true);
    }
    BusId bus = entry->bus;
    for (size_t i = 0; i < model->set->bus.count && bus != ID_NONE; i++) {
        for (uint32_t k = looking->bus_first[bus]; k < looking->bus_first[bus + 1]; k++) {
            add_pairs(looking, &model->feeds[looking->bus_feeds[k]], load, false);
        }
        bus = looking->supply->bus_parent[bus];
    }
}

static int compare_pairs(const void *left, const void *right) {
    const Pair *a = left;
    const Pair *b = right;
    if (a->owner != b->owner) {
        return a->owner < b->owner ? -1 : 1;
    }
    if (a->load != b->load) {
        return a->load < b->load ? -1 : 1;
    }
    return (int)b->own - (int)a->own;
}

/* --- sums ---------------------------------------------------------------------------------------
 */

/* Adds what the loads of a phase (ID_NONE: all) do at first. */
static void add_up(const Looking *looking, uint32_t phase, InrushItem *item) {
    item->phase = phase;
    item->usual_a = 0.0;
    item->inrush_a = 0.0;
    item->inrush_s = 0.0;
    item->charge_a2s = 0.0;
    double root_sum = 0.0;
    for (uint32_t i = 0; i < item->load_count; i++) {
        uint32_t load = item->loads[i];
        if (phase != ID_NONE && !(looking->supply->loads[load].phase_a[phase] > 0.0)) {
            continue;
        }
        const Start *start = &looking->starts[load];
        item->usual_a += start->usual_a;
        item->inrush_a += start->inrush_a; /* a NAN stays */
        /* A box that draws no more at first does not lengthen the pulse. */
        if (!(start->inrush_a <= start->usual_a)) {
            item->inrush_s = isnan(start->inrush_s) || isnan(item->inrush_s)
                                 ? (double)NAN
                                 : fmax(item->inrush_s, start->inrush_s);
        }
        root_sum += sqrt(start->charge_a2s);
    }
    /* Pulses that fall together add as currents do: the root of each is in proportion to it. */
    item->charge_a2s = root_sum * root_sum;
}

/* The phase whose loads draw most at first; those of a box's own feed are all taken. */
static void sum_item(const Looking *looking, bool own, InrushItem *item) {
    add_up(looking, ID_NONE, item);
    if (own) {
        return;
    }
    InrushItem best = *item;
    bool any = false;
    for (uint32_t phase = 0; phase < looking->model->set->phase.count; phase++) {
        add_up(looking, phase, item);
        if (item->usual_a > 0.0 &&
            (!any || isnan(item->inrush_a) || item->inrush_a > best.inrush_a)) {
            best = *item;
            any = true;
        }
    }
    *item = best;
}

/* --- verdicts -----------------------------------------------------------------------------------
 */

/* Gates of a device at its rating, by percent. */
static ProtectorGates gates_of(Arena *arena, const Model *model, const char *part,
                               double rating_a) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_curve, part, &count);
    ProtectorGate *gates = ARENA_ARRAY(arena, ProtectorGate, count);
    size_t kept = 0;
    for (uint32_t i = first; i < first + count; i++) {
        const CurveRow *row = &model->set->curve.rows[i];
        if (rating_a < row->from_a || rating_a > row->to_a) {
            continue;
        }
        size_t at = kept++;
        for (; at > 0 && gates[at - 1].percent > row->load_pct; at--) {
            gates[at] = gates[at - 1];
        }
        gates[at] = (ProtectorGate){row->load_pct, row->t_min_s, row->t_max_s};
    }
    return (ProtectorGates){gates, kept};
}

/* What a fuse takes without cooling, A^2 s, by its steepest short gate; 0 when none is published.
 */
static double takes_a2s(ProtectorGates gates, double rating_a) {
    double most_a2s = 0.0;
    for (size_t i = 0; i < gates.count; i++) {
        const ProtectorGate *gate = &gates.rows[i];
        if (!isnan(gate->hold_s) && gate->hold_s <= INRUSH_ADIABATIC_S) {
            double amps_a = gate->percent / 100.0 * rating_a;
            most_a2s = amps_a * amps_a * gate->hold_s; /* the highest percentage is the last */
        }
    }
    return most_a2s;
}

static void judge_capacitors(const Looking *looking, const DeviceRow *device, ProtectorGates gates,
                             InrushItem *item) {
    if (!(item->charge_a2s > 0.0) || item->verdict != INRUSH_HOLDS) {
        return;
    }
    double takes = strcmp(device->family, "fuse") == 0 ? takes_a2s(gates, item->rating_a) : 0.0;
    if (item->charge_a2s <= takes) {
        item->why = arena_format(looking->out, "%s; capacitors %.2g of %.2g A2s", item->why,
                                 item->charge_a2s, takes);
        return;
    }
    item->verdict = INRUSH_UNDECIDED;
    item->why = arena_format(looking->out,
                             "%s; capacitors pass %.2g A2s at first, and no published gate says "
                             "whether it takes that",
                             item->why, item->charge_a2s);
}

static void judge_device(const Looking *looking, InrushItem *item) {
    const Model *model = looking->model;
    const ModelOwner *owner = &model->owners[item->owner];
    const DeviceRow *device = &model->set->device.rows[owner->part];
    item->rating_a = looking->sizing->rating_a == NULL
                         ? model->set->protection.rows[owner->row].rating_a
                         : looking->sizing->rating_a[owner->row];
    item->verdict = INRUSH_UNDECIDED;
    if (isnan(item->inrush_a)) {
        item->why = "a box behind it has no first current in the library";
        return;
    }
    if (isnan(item->rating_a) || item->rating_a <= 0.0) {
        item->why = "it has no rating";
        return;
    }
    ProtectorGates gates = gates_of(looking->scratch, model, device->part, item->rating_a);
    double percent = 100.0 * item->inrush_a / item->rating_a;
    ProtectorBand band = protector_band(gates, percent);
    if (percent <= 100.0 ||
        (band.hold_s.basis != RATING_NOT_PROVED && band.hold_s.value >= INRUSH_FOR_GOOD_S)) {
        item->verdict = INRUSH_HOLDS;
        item->why = arena_format(looking->out, "%.0f %% of its rating: it carries that", percent);
        judge_capacitors(looking, device, gates, item);
        return;
    }
    if (isnan(item->inrush_s)) {
        item->why =
            arena_format(looking->out,
                         "%.0f %% of its rating for a time that the library does not say", percent);
        return;
    }
    switch (protector_state_by_band(gates, percent, item->inrush_s)) {
    case PROTECTOR_HOLDS:
        item->verdict = INRUSH_HOLDS;
        item->why = arena_format(looking->out, "%.0f %% of its rating: it holds %.2g s", percent,
                                 band.hold_s.value);
        judge_capacitors(looking, device, gates, item);
        break;
    case PROTECTOR_OPEN:
        item->verdict = INRUSH_OPENS;
        item->why = arena_format(looking->out, "%.0f %% of its rating: open after %.2g s", percent,
                                 band.open_s.value);
        break;
    case PROTECTOR_UNDECIDED:
        item->verdict = INRUSH_MAY_OPEN;
        item->why =
            arena_format(looking->out, "%.0f %% of its rating: the earliest opens after %.2g s",
                         percent, band.hold_s.value);
        break;
    case PROTECTOR_NOT_PROVED:
    default:
        item->why = arena_format(looking->out,
                                 "no published gate of %s says whether it holds %.0f %% for %.2g s",
                                 device->part, percent, item->inrush_s);
        break;
    }
}

/* Continuous current times the published factor of each kind: what the table asks of a switch. */
static double table_a(const Looking *looking, const InrushItem *item) {
    double sum_a = 0.0;
    for (uint32_t i = 0; i < item->load_count; i++) {
        uint32_t load = item->loads[i];
        const SupplyLoad *entry = &looking->supply->loads[load];
        if (item->phase != ID_NONE && !(entry->phase_a[item->phase] > 0.0)) {
            continue;
        }
        const LoadRow *row = &looking->model->set->load.rows[entry->load_row];
        double factor = switch_factor(looking->model, row->kind);
        sum_a += looking->starts[load].usual_a * factor; /* NAN for a kind it does not have */
    }
    return sum_a;
}

static void judge_contact(const Looking *looking, InrushItem *item) {
    const Model *model = looking->model;
    const SwitchPartRow *part = &model->set->switch_part.rows[model->owners[item->owner].part];
    item->rating_a = isnan(part->makes_a) ? part->rated_a : part->makes_a;
    item->verdict = INRUSH_UNDECIDED;
    double asked_a = table_a(looking, item);
    if (item->inrush_a <= item->rating_a) {
        item->verdict = INRUSH_ENOUGH;
        item->why = isnan(part->makes_a) ? "no more than its rating at first"
                                         : "no more than it may switch on";
    } else if (!isnan(item->inrush_a) && !isnan(part->makes_a)) {
        item->verdict = INRUSH_TOO_SMALL;
        item->why = "more than it may switch on";
    } else if (asked_a <= part->rated_a) {
        item->verdict = INRUSH_ENOUGH;
        item->why = arena_format(
            looking->out, "the published switch table asks for %.3g A by kind of load", asked_a);
    } else if (isnan(item->inrush_a)) {
        item->why = "a box behind it has no first current in the library";
    } else if (strcmp(part->kind, "switch") == 0) {
        item->verdict = INRUSH_TOO_SMALL;
        item->why = "more than its rating, and the library does not say what it may switch on";
    } else {
        item->why = arena_format(looking->out,
                                 "more than its rating; what a %s of this kind may switch on is "
                                 "not in the library",
                                 part->kind);
    }
}

/* --- telling ------------------------------------------------------------------------------------
 */

static const char *ports_text(Arena *arena, const Model *model, const Supply *supply,
                              const InrushItem *item) {
    Buffer names = {.arena = arena};
    for (uint32_t i = 0; i < item->load_count; i++) {
        uint32_t load = item->loads[i];
        if (item->phase == ID_NONE || supply->loads[load].phase_a[item->phase] > 0.0) {
            buffer_format(&names, "%s%s", names.length == 0 ? "" : " ",
                          model->terminals[supply->loads[load].port].end);
        }
    }
    return names.length == 0 ? "" : names.bytes;
}

static void report_item(const Looking *looking, const InrushItem *item, Findings *findings) {
    const Model *model = looking->model;
    const char *tag = model->owners[item->owner].tag;
    Finding *finding = report_owner(
        findings, model, RULE_TIME_INRUSH, item->owner,
        item->verdict == INRUSH_TOO_SMALL
            ? "%s closes on %.3g A at first (%s) and is good for %.3g A: %s"
            : "switching on through %s draws %.3g A at first (%s); it is rated %.3g A: %s",
        tag, item->inrush_a, ports_text(findings->arena, model, looking->supply, item),
        item->rating_a, item->why);
    finding->table = "inrush";
    finding->key = tag;
    finding->value = item->inrush_a;
    finding->limit = item->rating_a;
    finding->unit = "A";
    finding->hint = item->verdict == INRUSH_TOO_SMALL
                        ? "a larger contact, or one whose maker says what it may switch on"
                        : "a larger or slower device with wire to match, or switch the boxes on "
                          "one after the other";
}

static void report_unknown(const Looking *looking, const Inrush *inrush, Findings *findings) {
    Buffer names = {.arena = findings->arena};
    uint32_t count = 0;
    for (uint32_t i = 0; i < inrush->count; i++) {
        if (inrush->items[i].verdict == INRUSH_UNDECIDED) {
            buffer_format(&names, "%s%s", count == 0 ? "" : " ",
                          looking->model->owners[inrush->items[i].owner].tag);
            count++;
        }
    }
    if (count == 0) {
        return;
    }
    Finding *finding = report_row(findings, looking->model, RULE_TIME_UNKNOWN, TABLE_job, 0, "",
                                  "what switching on does to %u of %u devices and contacts is not "
                                  "decided: `show inrush` says what is missing for each",
                                  count, inrush->count);
    finding->value = count;
    finding->rows = names.bytes;
    finding->hint = "the maker's first current, its time, and the device's curve above 200 % of "
                    "its rating";
}

/* --- exported -----------------------------------------------------------------------------------
 */

const char *inrush_verdict_name(InrushVerdict verdict) {
    static const char *const NAMES[INRUSH_VERDICT_COUNT] = {
        [INRUSH_HOLDS] = "holds",         [INRUSH_MAY_OPEN] = "may open",
        [INRUSH_OPENS] = "opens",         [INRUSH_ENOUGH] = "enough",
        [INRUSH_TOO_SMALL] = "too small", [INRUSH_UNDECIDED] = "not decided",
    };
    return verdict < INRUSH_VERDICT_COUNT ? NAMES[verdict] : "?";
}

bool inrush_run(Arena *out, const Model *model, const Supply *supply, const Sizing *sizing,
                Inrush *inrush, Findings *findings) {
    Arena scratch = {0};
    Looking looking = {
        .out = out,
        .scratch = &scratch,
        .model = model,
        .supply = supply,
        .sizing = sizing,
    };
    find_starts(&looking);
    index_feeds(&looking);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        if (supply->loads[i].load_row != ID_NONE) {
            climb(&looking, i);
        }
    }
    if (looking.pair_count > 1) {
        qsort(looking.pairs, looking.pair_count, sizeof *looking.pairs, compare_pairs);
    }
    *inrush = (Inrush){.items = ARENA_ARRAY(out, InrushItem, looking.pair_count)};
    for (size_t first = 0; first < looking.pair_count;) {
        size_t end = first;
        bool own = true;
        InrushItem *item = &inrush->items[inrush->count++];
        item->owner = looking.pairs[first].owner;
        for (; end < looking.pair_count && looking.pairs[end].owner == item->owner; end++) {
            own = own && looking.pairs[end].own;
        }
        item->loads = ARENA_ARRAY(out, uint32_t, end - first);
        for (size_t i = first; i < end; i++) {
            uint32_t load = looking.pairs[i].load;
            if (item->load_count == 0 || item->loads[item->load_count - 1] != load) {
                item->loads[item->load_count++] = load;
            }
        }
        sum_item(&looking, own, item);
        if (model->owners[item->owner].kind == OWNER_PROTECTION) {
            judge_device(&looking, item);
        } else {
            judge_contact(&looking, item);
        }
        if (item->verdict == INRUSH_MAY_OPEN || item->verdict == INRUSH_OPENS ||
            item->verdict == INRUSH_TOO_SMALL) {
            report_item(&looking, item, findings);
        }
        first = end;
    }
    report_unknown(&looking, inrush, findings);
    arena_free(&scratch);
    return true;
}

void inrush_rows(Arena *arena, const Model *model, const Supply *supply, const Inrush *inrush,
                 TableSet *results) {
    for (uint32_t i = 0; i < inrush->count; i++) {
        const InrushItem *item = &inrush->items[i];
        InrushRow *row = table_append(results, arena, TABLE_inrush);
        row->item = model->owners[item->owner].tag;
        row->ports = ports_text(arena, model, supply, item);
        row->phase = item->phase == ID_NONE ? "" : model->set->phase.rows[item->phase].phase;
        row->usual_a = item->usual_a;
        row->inrush_a = item->inrush_a;
        row->inrush_s = item->inrush_s;
        row->rating_a = item->rating_a;
        row->verdict = inrush_verdict_name(item->verdict);
        row->why = item->why;
    }
}
