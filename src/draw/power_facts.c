/* One walk over the feeds makes a branch for every target, one over the loads those that are bolted
 * on. Figures of the phase come from its solved point; gauges from the sizing; marks from the
 * actions of the situations. Counting sorts put branches by bus. */
#include "draw/power_facts.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "base/units.h"

#define MARK_LETTERS 6

typedef struct Work {
    Arena *arena;
    const DrawView *view;
    const Model *model;
    PowerFacts *facts;
    const SolveResult *result; /* NULL: the phase has no operating point */
    uint32_t *net_first;       /* by row of `feed`, and one more: its nets, in net_rows */
    uint32_t *net_rows;
    uint32_t *load_coil;      /* by load: into Supply.coils; ID_NONE */
    uint32_t *load_branch;    /* by load: 1 when it stands on a branch */
    bool *owner_drawn;        /* by OwnerId */
    uint32_t *source_of_unit; /* by OwnerId: row of `source`, ID_NONE */
    bool *source_drawn;       /* by row of `source` */
    NameMap marks;            /* item -> into mark_off, mark_on */
    Buffer *mark_off;
    Buffer *mark_on;
    size_t mark_count;
    size_t mark_off_capacity;
    size_t mark_on_capacity;
} Work;

/* --- texts --------------------------------------------------------------------------------------
 */

static const char *amps_text(Arena *arena, double amps_a) {
    if (!isfinite(amps_a)) {
        return "";
    }
    double size_a = fabs(amps_a);
    return arena_format(arena,
                        size_a < 9.995   ? "%.2f A"
                        : size_a < 99.95 ? "%.1f A"
                                         : "%.0f A",
                        amps_a);
}

/* Current along a branch; "7.62 A back" against the way it is drawn. */
static const char *flow_text(Arena *arena, double amps_a) {
    const char *text = amps_text(arena, fabs(amps_a));
    return amps_a < -0.005 ? arena_format(arena, "%s back", text) : text;
}

static const char *volts_text(Arena *arena, double volts_v) {
    return isfinite(volts_v) ? arena_format(arena, "%.2f V", volts_v) : "";
}

/* No more letters than a device has room for; the legend has them all. */
static const char *short_mark(Arena *arena, const Buffer *letters) {
    if (letters->length > MARK_LETTERS) {
        return arena_format(arena, "%.*s+", MARK_LETTERS - 1, letters->bytes);
    }
    return letters->length > 0 ? letters->bytes : "";
}

/* "AB" put off or opened, "CD on" put elsewhere. */
static const char *mark_text(const Work *work, const char *item) {
    uint32_t at = name_map_find(&work->marks, item);
    if (at == NAME_NONE) {
        return "";
    }
    const char *off = short_mark(work->arena, &work->mark_off[at]);
    const char *on = short_mark(work->arena, &work->mark_on[at]);
    if (*on == '\0') {
        return off;
    }
    return arena_format(work->arena, "%s%s%s on", off, *off == '\0' ? "" : ", ", on);
}

static void add_gauge(Arena *arena, Buffer *text, unsigned cores, int32_t awg, const char **last) {
    char name[UNITS_AWG_TEXT];
    units_awg_format(awg, name);
    const char *one =
        cores > 1 ? arena_format(arena, "%u x %s", cores, name) : arena_format(arena, "%s", name);
    if (*last != NULL && strcmp(*last, one) == 0) {
        return;
    }
    buffer_format(text, "%s%s", *last == NULL ? "AWG " : ", ", one);
    *last = one;
}

/* Gauges of a feed on the way to its first target, or of the piece to a later one. */
static const char *gauge_text(const Work *work, uint32_t feed, uint32_t target) {
    if (feed == ID_NONE) {
        return "bolted";
    }
    const Wiring *wiring = work->view->wiring;
    Buffer text = {.arena = work->arena};
    const char *last = NULL;
    for (uint32_t i = work->net_first[feed]; i < work->net_first[feed + 1]; i++) {
        const Net *net = &wiring->nets[work->net_rows[i]];
        if (target > 0 && (i + 1 < work->net_first[feed + 1] || target >= net->cable_count)) {
            continue;
        }
        if (net->cable_count == 0) {
            continue;
        }
        const Cable *cable = &wiring->cables[net->cable_first + target];
        int32_t awg = work->view->sizing->awg[cable->conductor_first];
        if (awg != INT_BLANK) {
            add_gauge(work->arena, &text, cable->conductor_count, awg, &last);
        }
    }
    return last == NULL ? "bolted" : text.bytes;
}

/* --- slots --------------------------------------------------------------------------------------
 */

static const char *position_in_phase(const Work *work, OwnerId owner) {
    uint32_t phase = work->facts->phase;
    return phase == ID_NONE ? "" : work->view->supply->positions[phase][owner];
}

static PowerSlot device_slot(const Work *work, OwnerId owner) {
    const ModelOwner *who = &work->model->owners[owner];
    const TableSet *set = work->view->set;
    PowerSlot slot = {.key = who->tag, .tag = who->tag, .symbol = SYMBOL_COUNT, .note = ""};
    const char *position = position_in_phase(work, owner);
    if (who->kind == OWNER_PROTECTION) {
        slot.table = TABLE_protection;
        double rating_a = work->view->sizing->rating_a[who->row];
        const char *word = strcmp(position, "closed") == 0 ? "" : position;
        if (who->part != ID_NONE) {
            slot.symbol = symbol_of_device(set->device.rows[who->part].kind);
        }
        slot.note =
            isfinite(rating_a)
                ? arena_format(work->arena, *word == '\0' ? "%.3g A" : "%.3g A %s", rating_a, word)
                : word;
    } else {
        slot.table = TABLE_switchgear;
        const SwitchPartRow *part = who->part == ID_NONE ? NULL : &set->switch_part.rows[who->part];
        if (part != NULL) {
            slot.symbol = symbol_of_switch(part->kind, set->switchgear.rows[who->row].rest);
            bool moves = slot.symbol != SYMBOL_DIODE && slot.symbol != SYMBOL_SHUNT;
            slot.note = arena_format(work->arena, "%.3g A%s%s", part->rated_a,
                                     moves && *position != '\0' ? " " : "", moves ? position : "");
        }
    }
    slot.mark = mark_text(work, who->tag);
    return slot;
}

static void add_slots(Work *work, PowerBranch *branch, const ModelFeed *feed) {
    PowerFacts *facts = work->facts;
    branch->slot_first = (uint32_t)facts->slot_count;
    for (uint32_t i = 0; i < feed->step_count; i++) {
        const FeedStep *step = &work->model->steps[feed->step_first + i];
        const ModelOwner *who = &work->model->owners[step->owner];
        PowerSlot slot;
        if (step->kind == STEP_UNIT) {
            slot = (PowerSlot){
                .table = TABLE_unit,
                .key = who->tag,
                .symbol = SYMBOL_COUNT,
                .tag = who->tag,
                .note = arena_format(work->arena, "%s to %s", work->model->terminals[step->in].name,
                                     work->model->terminals[step->out].name),
                .mark = mark_text(work, who->tag),
            };
        } else {
            slot = device_slot(work, step->owner);
            slot.again = work->owner_drawn[step->owner];
            work->owner_drawn[step->owner] = true;
        }
        *ARENA_PUSH(work->arena, facts->slots, facts->slot_count, facts->slot_capacity) = slot;
    }
    branch->slot_count = (uint32_t)facts->slot_count - branch->slot_first;
}

/* Solved current of a feed's first device, NAN when none tells. */
static double feed_amps(const Work *work, const ModelFeed *feed) {
    if (work->result == NULL) {
        return (double)NAN;
    }
    for (uint32_t i = 0; i < feed->step_count; i++) {
        const FeedStep *step = &work->model->steps[feed->step_first + i];
        const Gates *gates = &work->view->supply->gates;
        if (step->kind != STEP_UNIT &&
            gates->owner_first[step->owner] != gates->owner_first[step->owner + 1]) {
            bool closed;
            return phases_owner_current_a(work->view->network, work->view->supply, work->result,
                                          step->owner, &closed);
        }
    }
    return (double)NAN;
}

/* Solved voltage of a terminal against the structure, NAN when it is in no part with a source. */
static double terminal_volts(const Work *work, TerminalId terminal) {
    if (work->result == NULL || work->result->node_v == NULL || terminal == ID_NONE) {
        return (double)NAN;
    }
    const ModelTerminal *at = &work->model->terminals[terminal];
    if (at->pin_count == 0) {
        return (double)NAN;
    }
    uint32_t node = work->view->network->point_node[at->pin_first];
    return node == NETWORK_NONE || work->result->node_state[node] == SOLVE_NODE_DEAD
               ? (double)NAN
               : work->result->node_v[node];
}

/* --- sources ------------------------------------------------------------------------------------
 */

/* Current out of a source, NAN when it is not in the network. */
static double source_amps(const Work *work, uint32_t row) {
    const PowerNetwork *network = work->view->network;
    if (work->result == NULL) {
        return (double)NAN;
    }
    for (uint32_t i = 0; i < network->network.battery_count; i++) {
        if (network->batteries[i].source == row) {
            return work->result->battery_a[i];
        }
    }
    for (uint32_t i = 0; i < network->network.alternator_count; i++) {
        if (network->alternators[i].source == row) {
            return work->result->alternator_a[i];
        }
    }
    return (double)NAN;
}

static PowerSource source_facts(const Work *work, uint32_t row, OwnerId owner) {
    const TableSet *set = work->view->set;
    const ModelOwner *who = &work->model->owners[owner];
    PowerSource source = {
        .table = TABLE_source,
        .key = who->tag,
        .symbol = SYMBOL_BATTERY_RIGHT,
        .tag = who->tag,
        .rating = "",
        .solved = "",
    };
    const char *part = set->unit.rows[who->row].part;
    uint32_t at = model_row(work->model, TABLE_alternator, part);
    if (at != ID_NONE) {
        source.symbol = SYMBOL_ALTERNATOR;
        source.rating = arena_format(work->arena, "%.3g A", set->alternator.rows[at].rated_a);
    } else if ((at = model_row(work->model, TABLE_battery, part)) != ID_NONE) {
        source.rating = arena_format(work->arena, "%.3g Ah", set->battery.rows[at].capacity_ah);
    }
    TerminalId plus = model_terminal(
        work->model, arena_format(work->arena, "%s.%s", who->tag, set->source.rows[row].plus));
    double volts_v = terminal_volts(work, plus);
    double amps_a = source_amps(work, row);
    if (strcmp(position_in_phase(work, owner), "off") == 0) {
        source.solved = "off";
    } else if (isfinite(amps_a)) {
        source.solved =
            arena_format(work->arena, "%s%s, %s", amps_a < -0.005 ? "takes " : "",
                         amps_text(work->arena, fabs(amps_a)), volts_text(work->arena, volts_v));
    }
    return source;
}

static uint32_t add_source(Work *work, PowerSource source) {
    PowerFacts *facts = work->facts;
    *ARENA_PUSH(work->arena, facts->sources, facts->source_count, facts->source_capacity) = source;
    return (uint32_t)facts->source_count - 1;
}

/* The source a branch begins at: a row of `source`, or a box that gives. */
static void begin_branch(Work *work, PowerBranch *branch, TerminalId start) {
    OwnerId owner = work->model->terminals[start].owner;
    uint32_t row = work->source_of_unit[owner];
    if (row != ID_NONE) {
        branch->source_again = work->source_drawn[row];
        work->source_drawn[row] = true;
        branch->source = add_source(work, source_facts(work, row, owner));
        double amps_a = source_amps(work, row);
        if (isfinite(amps_a)) {
            branch->amps_a = isfinite(branch->amps_a) ? copysign(branch->amps_a, amps_a) : amps_a;
        }
        return;
    }
    branch->source_again = true; /* a box is a load somewhere else */
    branch->source = add_source(work, (PowerSource){.table = TABLE_unit,
                                                    .key = work->model->owners[owner].tag,
                                                    .symbol = SYMBOL_TERMINAL,
                                                    .tag = work->model->terminals[start].end,
                                                    .rating = "",
                                                    .solved = ""});
}

/* --- branches -----------------------------------------------------------------------------------
 */

static PowerBranch *add_branch(Work *work, uint32_t feed, BusId from) {
    PowerFacts *facts = work->facts;
    PowerBranch *branch =
        ARENA_PUSH(work->arena, facts->branches, facts->branch_count, facts->branch_capacity);
    *branch = (PowerBranch){
        .feed = feed,
        .from = from,
        .to = ID_NONE,
        .source = ID_NONE,
        .giver = "",
        .amps_a = (double)NAN,
        .amps = "",
        .gauge = "",
        .table = TABLE_COUNT,
        .key = "",
        .tag = "",
        .role = "",
        .state = "",
        .mark = "",
    };
    return branch;
}

static void load_state(const Work *work, PowerBranch *branch, uint32_t load) {
    const Phases *phases = work->view->phases;
    if (work->result == NULL) {
        branch->state = "not solved";
        return;
    }
    uint32_t coil = work->load_coil[load];
    if (coil != ID_NONE) {
        double volts_v = work->result->coil_v[coil];
        bool on = fabs(volts_v) > 0.1;
        branch->amps_a = work->result->coil_a[coil];
        branch->amps = on ? amps_text(work->arena, fabs(branch->amps_a)) : "";
        branch->state = on ? volts_text(work->arena, fabs(volts_v)) : "off";
        return;
    }
    const PhasesPort *port =
        &phases->ports[(size_t)work->facts->phase * work->view->supply->load_count + load];
    branch->amps_a = port->state == PHASES_ON ? port->amps_a : 0.0;
    switch (port->state) {
    case PHASES_OFF:
        branch->state = "off";
        break;
    case PHASES_ON:
        branch->amps = amps_text(work->arena, port->amps_a);
        branch->state = volts_text(work->arena, port->volts_v);
        break;
    case PHASES_CUT_OUT:
        branch->state = "cut out";
        break;
    case PHASES_DEAD:
        branch->state = "no supply";
        break;
    }
}

static void describe_load(Work *work, PowerBranch *branch, TerminalId port) {
    const ModelTerminal *at = &work->model->terminals[port];
    const ModelOwner *who = &work->model->owners[at->owner];
    const TableSet *set = work->view->set;
    uint32_t load = work->view->supply->terminal_load[port];
    branch->key = who->tag;
    branch->tag = at->end;
    branch->mark = mark_text(work, at->end);
    if (who->kind == OWNER_UNIT) {
        branch->table = TABLE_unit;
        branch->role = set->unit.rows[who->row].role;
    } else if (who->kind == OWNER_SWITCHGEAR) {
        branch->table = TABLE_switchgear;
        const char *what = set->switchgear.rows[who->row].what;
        branch->role = load == ID_NONE
                           ? what
                           : arena_format(work->arena, "coil%s%s", *what == '\0' ? "" : ": ", what);
    }
    if (load == ID_NONE) {
        const JobRow *job = &set->job.rows[0];
        branch->state = strcmp(job->starter, at->end) == 0 && isfinite(job->crank_a)
                            ? arena_format(work->arena, "cranks at %.3g A", job->crank_a)
                            : "draws nothing";
        return;
    }
    branch->again = work->load_branch[load] > 0;
    work->load_branch[load]++;
    load_state(work, branch, load);
}

static BusId nearest_bus(const Work *work, const ModelFeed *feed) {
    for (uint32_t i = 0; i < feed->target_count; i++) {
        uint32_t load =
            work->view->supply->terminal_load[work->model->targets[feed->target_first + i]];
        if (load != ID_NONE) {
            return work->view->supply->loads[load].bus;
        }
    }
    return ID_NONE;
}

static void branch_feed(Work *work, uint32_t row) {
    const ModelFeed *feed = &work->model->feeds[row];
    if (!feed->usable) {
        return;
    }
    if (feed->to_bus != ID_NONE) {
        PowerBranch *branch = add_branch(work, row, feed->from_bus);
        branch->to = feed->to_bus;
        add_slots(work, branch, feed);
        branch->amps_a = feed_amps(work, feed);
        branch->gauge = gauge_text(work, row, 0);
        if (feed->from_bus == ID_NONE) {
            begin_branch(work, branch, feed->start);
        } else if (terminal_volts(work, work->model->buses[feed->from_bus].stud) <
                   terminal_volts(work, work->model->buses[feed->to_bus].stud)) {
            branch->amps_a = -branch->amps_a; /* metal only: it flows to the lower voltage */
        }
        branch->amps = flow_text(work->arena, branch->amps_a);
        return;
    }
    BusId bus = feed->from_bus != ID_NONE ? feed->from_bus : nearest_bus(work, feed);
    for (uint32_t i = 0; i < feed->target_count; i++) {
        PowerBranch *branch = add_branch(work, row, bus);
        branch->follows = i > 0;
        if (i == 0) {
            add_slots(work, branch, feed);
            if (feed->from_bus == ID_NONE) {
                branch->giver = work->model->terminals[feed->start].end;
            }
        }
        branch->gauge = gauge_text(work, row, i);
        describe_load(work, branch, work->model->targets[feed->target_first + i]);
    }
}

static void branch_bolted(Work *work) {
    const Supply *supply = work->view->supply;
    for (uint32_t i = 0; i < supply->load_count; i++) {
        if (work->load_branch[i] == 0) {
            PowerBranch *branch = add_branch(work, ID_NONE, supply->loads[i].bus);
            branch->gauge = supply->loads[i].bus == ID_NONE ? "" : "bolted";
            describe_load(work, branch, supply->loads[i].port);
        }
    }
}

/* Sources whose output is itself the stud of a bus; the others that nothing names stand loose. */
static void branch_studs(Work *work) {
    const TableSet *set = work->view->set;
    for (uint32_t row = 0; row < set->source.count; row++) {
        if (work->source_drawn[row]) {
            continue;
        }
        const char *end = arena_format(work->arena, "%s.%s", set->source.rows[row].unit,
                                       set->source.rows[row].plus);
        TerminalId plus = model_terminal(work->model, end);
        OwnerId owner = model_owner(work->model, set->source.rows[row].unit);
        if (owner == ID_NONE) {
            continue;
        }
        BusId bus = 0;
        while (bus < work->facts->bus_count && work->model->buses[bus].stud != plus) {
            bus++;
        }
        if (plus != ID_NONE && bus < work->facts->bus_count) {
            PowerBranch *branch = add_branch(work, ID_NONE, ID_NONE);
            branch->to = bus;
            branch->gauge = "bolted";
            begin_branch(work, branch, plus);
            branch->amps = flow_text(work->arena, branch->amps_a);
        } else {
            PowerFacts *facts = work->facts;
            *ARENA_PUSH(work->arena, facts->loose, facts->loose_count, facts->loose_capacity) =
                add_source(work, source_facts(work, row, owner));
        }
    }
}

/* --- by bus -------------------------------------------------------------------------------------
 */

/* Which list of which bus a branch stands in. */
static BusId list_key(const PowerBranch *branch, int list, BusId none) {
    switch (list) {
    case 0:
        return branch->to != ID_NONE ? ID_NONE : branch->from == ID_NONE ? none : branch->from;
    case 1:
        return branch->to == ID_NONE ? ID_NONE : branch->from;
    default:
        return branch->to == ID_NONE || branch->from != ID_NONE ? ID_NONE : branch->to;
    }
}

static PowerList sort_by_bus(const Work *work, int list) {
    const PowerFacts *facts = work->facts;
    PowerList sorted = {
        .first = ARENA_ARRAY(work->arena, uint32_t, facts->bus_count + 3),
        .rows = ARENA_ARRAY(work->arena, uint32_t, facts->branch_count + 1),
    };
    uint32_t *first = sorted.first + 1;
    for (size_t i = 0; i < facts->branch_count; i++) {
        BusId bus = list_key(&facts->branches[i], list, facts->bus_count);
        if (bus != ID_NONE) {
            first[bus + 1]++;
        }
    }
    for (BusId bus = 0; bus < facts->bus_count + 1; bus++) {
        first[bus + 1] += first[bus];
    }
    for (size_t i = 0; i < facts->branch_count; i++) {
        BusId bus = list_key(&facts->branches[i], list, facts->bus_count);
        if (bus != ID_NONE) {
            sorted.rows[first[bus]++] = (uint32_t)i;
        }
    }
    return sorted; /* filling moved every start to the next one's: now they are in place */
}

/* The branch every bus is drawn behind: its usual feed when that comes from a bus, else the first
 * that does; none where that would close a ring. */
static void find_parents(Work *work) {
    PowerFacts *facts = work->facts;
    facts->parent = ARENA_ARRAY(work->arena, uint32_t, facts->bus_count + 1);
    uint32_t *seen = ARENA_ARRAY(work->arena, uint32_t, facts->bus_count + 1);
    for (BusId bus = 0; bus <= facts->bus_count; bus++) {
        facts->parent[bus] = ID_NONE;
    }
    for (size_t i = 0; i < facts->branch_count; i++) {
        const PowerBranch *branch = &facts->branches[i];
        if (branch->to == ID_NONE || branch->from == ID_NONE) {
            continue;
        }
        bool usual = work->view->supply->bus_feed[branch->to] == branch->feed;
        if (usual || facts->parent[branch->to] == ID_NONE) {
            facts->parent[branch->to] = (uint32_t)i;
        }
    }
    /* Every bus is walked over once: a walk ends where an earlier one was. */
    for (BusId bus = 0; bus < facts->bus_count; bus++) {
        BusId at = bus;
        while (seen[at] == 0) {
            seen[at] = bus + 1;
            if (facts->parent[at] == ID_NONE) {
                break;
            }
            BusId up = facts->branches[facts->parent[at]].from;
            if (seen[up] == bus + 1) {
                facts->parent[at] = ID_NONE;
                break;
            }
            at = up;
        }
    }
}

/* --- situations ---------------------------------------------------------------------------------
 */

static const char *letter_of(Arena *arena, size_t index) {
    return index < 26 ? arena_format(arena, "%c", (char)('A' + (char)index))
                      : arena_format(arena, " %zu", index + 1);
}

static void mark_item(Work *work, const char *item, bool off, const char *letter) {
    uint32_t at = name_map_add(&work->marks, work->arena, item, (uint32_t)work->mark_count);
    if (at == NAME_NONE) {
        at = (uint32_t)work->mark_count;
        size_t count = work->mark_count;
        ARENA_PUSH(work->arena, work->mark_off, count, work->mark_off_capacity)->arena =
            work->arena;
        ARENA_PUSH(work->arena, work->mark_on, work->mark_count, work->mark_on_capacity)->arena =
            work->arena;
    }
    Buffer *text = off ? &work->mark_off[at] : &work->mark_on[at];
    size_t length = strlen(letter);
    if (text->length < length || strcmp(text->bytes + text->length - length, letter) != 0) {
        buffer_text(text, letter);
    }
}

static void find_situations(Work *work) {
    PowerFacts *facts = work->facts;
    const TableSet *set = work->view->set;
    for (uint32_t row = 0; row < set->situation.count; row++) {
        uint32_t count;
        uint32_t first = supply_actions(work->model, row, &count);
        if (count == 0) {
            continue;
        }
        const char *letter = letter_of(work->arena, facts->situation_count);
        Buffer text = {.arena = work->arena};
        const SituationRow *situation = &set->situation.rows[row];
        buffer_format(&text, "%s, %s:", situation->situation, situation->name);
        for (uint32_t i = 0; i < count; i++) {
            const ActionRow *action = &set->action.rows[first + i];
            bool off =
                strcmp(action->position, "off") == 0 || strcmp(action->position, "open") == 0;
            buffer_format(&text, "%s %s %s", i == 0 ? "" : ",", action->item, action->position);
            mark_item(work, action->item, off, letter);
        }
        *ARENA_PUSH(work->arena, facts->situations, facts->situation_count,
                    facts->situation_capacity) = (PowerSituation){letter, text.bytes};
    }
}

/* Buses that some source reaches through closed feeds. */
static void find_live(const Work *work, const char *const *positions, const char *lost, bool *live,
                      BusId *queue) {
    const PowerFacts *facts = work->facts;
    size_t count = 0;
    memset(live, 0, facts->bus_count * sizeof *live);
    for (BusId bus = 0; bus < facts->bus_count; bus++) {
        for (uint32_t i = facts->inward.first[bus]; i < facts->inward.first[bus + 1]; i++) {
            const PowerBranch *branch = &facts->branches[facts->inward.rows[i]];
            const PowerSource *source = &facts->sources[branch->source];
            OwnerId owner = model_owner(work->model, source->key);
            bool gives = source->table == TABLE_source && !text_has_word(lost, source->key) &&
                         strcmp(positions[owner], "off") != 0;
            if (gives && !live[bus] &&
                (branch->feed == ID_NONE ||
                 supply_feed_closed(work->model, work->view->supply, positions, branch->feed))) {
                live[bus] = true;
                queue[count++] = bus;
            }
        }
    }
    for (size_t next = 0; next < count; next++) {
        for (uint32_t i = facts->onward.first[queue[next]];
             i < facts->onward.first[queue[next] + 1]; i++) {
            const PowerBranch *branch = &facts->branches[facts->onward.rows[i]];
            if (!live[branch->to] &&
                supply_feed_closed(work->model, work->view->supply, positions, branch->feed)) {
                live[branch->to] = true;
                queue[count++] = branch->to;
            }
        }
    }
}

static void mark_buses(Work *work, Buffer *marks) {
    const PowerFacts *facts = work->facts;
    const TableSet *set = work->view->set;
    bool *before = ARENA_ARRAY(work->arena, bool, facts->bus_count + 1);
    bool *after = ARENA_ARRAY(work->arena, bool, facts->bus_count + 1);
    BusId *queue = ARENA_ARRAY(work->arena, BusId, facts->bus_count + 1);
    size_t index = 0;
    for (uint32_t row = 0; row < set->situation.count; row++) {
        uint32_t count;
        supply_actions(work->model, row, &count);
        uint32_t phase = name_map_find(&work->model->phase_by_name, set->situation.rows[row].phase);
        if (count == 0 || phase == NAME_NONE) {
            index += count > 0;
            continue;
        }
        Arena scratch = {0};
        const char *lost = set->situation.rows[row].lost;
        find_live(work,
                  supply_positions(&scratch, work->model, work->view->supply, phase, row, 0, NULL),
                  lost, before, queue);
        find_live(
            work,
            supply_positions(&scratch, work->model, work->view->supply, phase, row, count, NULL),
            lost, after, queue);
        for (BusId bus = 0; bus < facts->bus_count; bus++) {
            if (before[bus] && !after[bus]) {
                marks[bus].arena = work->arena;
                buffer_text(&marks[bus], facts->situations[index].letter);
            }
        }
        index++;
        arena_free(&scratch);
    }
}

/* --- buses and the rest -------------------------------------------------------------------------
 */

static void describe_buses(Work *work) {
    PowerFacts *facts = work->facts;
    Buffer *marks = ARENA_ARRAY(work->arena, Buffer, facts->bus_count + 1);
    mark_buses(work, marks);
    double *leaving_a = ARENA_ARRAY(work->arena, double, facts->bus_count + 1);
    for (size_t i = 0; i < facts->branch_count; i++) {
        const PowerBranch *branch = &facts->branches[i];
        if (branch->amps_a > 0.0 && branch->from != ID_NONE) {
            leaving_a[branch->from] += branch->amps_a;
        } else if (branch->amps_a < 0.0 && branch->to != ID_NONE) {
            leaving_a[branch->to] -= branch->amps_a;
        }
    }
    for (BusId bus = 0; bus < facts->bus_count; bus++) {
        double volts_v = terminal_volts(work, work->model->buses[bus].stud);
        facts->buses[bus] = (PowerBus){
            .name = work->view->set->bus.rows[bus].bus,
            .volts = work->result == NULL ? "not solved"
                     : isfinite(volts_v)  ? volts_text(work->arena, volts_v)
                                          : "dead",
            .amps = work->result == NULL ? "" : amps_text(work->arena, leaving_a[bus]),
            .mark = short_mark(work->arena, &marks[bus]),
        };
    }
}

static void find_idle(Work *work) {
    PowerFacts *facts = work->facts;
    for (OwnerId owner = 0; owner < work->model->owner_count; owner++) {
        const ModelOwner *who = &work->model->owners[owner];
        if ((who->kind != OWNER_PROTECTION && who->kind != OWNER_SWITCHGEAR) ||
            work->owner_drawn[owner]) {
            continue;
        }
        *ARENA_PUSH(work->arena, facts->idle, facts->idle_count, facts->idle_capacity) =
            (PowerIdle){device_slot(work, owner),
                        who->kind == OWNER_SWITCHGEAR
                            ? work->view->set->switchgear.rows[who->row].what
                            : work->view->set->protection.rows[who->row].place};
    }
}

static void index_nets(Work *work) {
    const Wiring *wiring = work->view->wiring;
    size_t feeds = work->view->set->feed.count;
    work->net_first = ARENA_ARRAY(work->arena, uint32_t, feeds + 2);
    work->net_rows = ARENA_ARRAY(work->arena, uint32_t, wiring->net_count + 1);
    uint32_t *first = work->net_first + 1;
    for (int round = 0; round < 2; round++) {
        for (NetId net = 0; net < wiring->net_count; net++) {
            if (wiring->nets[net].from_table != TABLE_feed) {
                continue;
            }
            uint32_t row = wiring->nets[net].from_row;
            if (round == 0) {
                work->net_first[row + 1]++;
            } else {
                work->net_rows[first[row]++] = net;
            }
        }
        if (round == 0) {
            /* net_first[row + 1] holds counts: make it starts, one place on. */
            uint32_t sum = 0;
            for (size_t row = 0; row < feeds; row++) {
                uint32_t count = first[row];
                first[row] = sum;
                sum += count;
            }
            first[feeds] = sum;
        }
    }
}

static uint32_t pick_phase(const DrawView *view) {
    if (view->phase != NULL) {
        uint32_t phase = name_map_find(&view->model->phase_by_name, view->phase);
        return phase == NAME_NONE ? ID_NONE : phase;
    }
    uint32_t best = ID_NONE;
    for (uint32_t phase = 0; phase < view->set->phase.count; phase++) {
        if (best == ID_NONE || view->loads->total_a[phase] > view->loads->total_a[best]) {
            best = phase;
        }
    }
    return best;
}

static void name_phase(const Work *work) {
    PowerFacts *facts = work->facts;
    if (facts->phase == ID_NONE) {
        facts->title = "No phase of flight is given: no currents, no voltages.";
        return;
    }
    const PhaseRow *phase = &work->view->set->phase.rows[facts->phase];
    facts->title = arena_format(work->arena, "Phase %s: %s%s", phase->phase, phase->name,
                                work->view->phase == NULL ? " (the largest load)" : "");
}

void power_facts(Arena *arena, const DrawView *view, PowerFacts *facts) {
    const Model *model = view->model;
    *facts = (PowerFacts){.phase = pick_phase(view)};
    facts->bus_count = (uint32_t)view->set->bus.count;
    facts->buses = ARENA_ARRAY(arena, PowerBus, facts->bus_count + 1);
    Work work = {.arena = arena, .view = view, .model = model, .facts = facts};
    if (facts->phase != ID_NONE && view->phases->solved != NULL &&
        view->phases->solved[facts->phase]) {
        work.result = &view->phases->results[facts->phase];
    }
    name_phase(&work);
    work.load_branch = ARENA_ARRAY(arena, uint32_t, view->supply->load_count + 1);
    work.load_coil = ARENA_ARRAY(arena, uint32_t, view->supply->load_count + 1);
    memset(work.load_coil, 0xff, (view->supply->load_count + 1) * sizeof *work.load_coil);
    for (uint32_t i = 0; i < view->supply->coil_count; i++) {
        if (view->supply->coils[i].load != ID_NONE) {
            work.load_coil[view->supply->coils[i].load] = i;
        }
    }
    work.owner_drawn = ARENA_ARRAY(arena, bool, model->owner_count + 1);
    work.source_drawn = ARENA_ARRAY(arena, bool, view->set->source.count + 1);
    work.source_of_unit = ARENA_ARRAY(arena, uint32_t, model->owner_count + 1);
    memset(work.source_of_unit, 0xff, (model->owner_count + 1) * sizeof *work.source_of_unit);
    for (uint32_t row = 0; row < view->set->source.count; row++) {
        OwnerId owner = model_owner(model, view->set->source.rows[row].unit);
        if (owner != ID_NONE) {
            work.source_of_unit[owner] = row;
        }
    }
    index_nets(&work);
    find_situations(&work);
    for (uint32_t row = 0; row < view->set->feed.count; row++) {
        branch_feed(&work, row);
    }
    branch_bolted(&work);
    branch_studs(&work);
    facts->loads = sort_by_bus(&work, 0);
    facts->onward = sort_by_bus(&work, 1);
    facts->inward = sort_by_bus(&work, 2);
    find_parents(&work);
    describe_buses(&work);
    find_idle(&work);
    facts->has_buses = facts->branch_count + facts->idle_count + facts->loose_count > 0;
}
