/* Method: loads are found in terminal order; their feed is the one that names their port; the bus
 * and device follow from walking feeds upstream. Positions by phase come from positions.c. */
#include "power/supply.h"

#include <math.h>
#include <string.h>

#include "model/report.h"

enum { WAY_UP_MAX = 64 }; /* feeds between a load and its source; more is a ring */

/* --- coils --------------------------------------------------------------------------------------
 */

/* The word for "with current": what closes or opens a pole against its rest. */
static const char *energised_word(Arena *out, const Gates *gates, OwnerId owner, const char *rest) {
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        const char *place = gates->rows[i].closed_in;
        const char *word = NULL;
        size_t length = 0;
        while (text_next_word(&place, &word, &length)) {
            if (strlen(rest) != length || memcmp(rest, word, length) != 0) {
                return arena_text(out, word, length);
            }
        }
    }
    return strcmp(rest, "closed") == 0 ? "open" : "closed";
}

static void find_coils(Arena *out, const Model *model, Supply *supply) {
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        supply->coil_count += gates_coil(model, owner) != ID_NONE;
    }
    supply->coils = ARENA_ARRAY(out, SupplyCoil, supply->coil_count);
    uint32_t count = 0;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        TerminalId plus = gates_coil(model, owner);
        if (plus == ID_NONE) {
            continue;
        }
        const SwitchgearRow *row = &model->set->switchgear.rows[model->owners[owner].row];
        bool onto_case = strcmp(row->coil_minus_on, "case") == 0;
        supply->coils[count++] = (SupplyCoil){
            .owner = owner,
            .plus = model->terminals[plus].pin_first,
            .minus = gates_owner_point(model, owner, onto_case ? "case" : "C-"),
            .rest = row->rest,
            .energised = energised_word(out, &supply->gates, owner, row->rest),
            .load = ID_NONE,
        };
    }
}

/* --- buses --------------------------------------------------------------------------------------
 */

bool supply_feed_closed(const Model *model, const Supply *supply, const char *const *positions,
                        uint32_t feed) {
    const ModelFeed *row = &model->feeds[feed];
    for (uint32_t i = 0; i < row->step_count; i++) {
        const FeedStep *step = &model->steps[row->step_first + i];
        const ModelTerminal *in = &model->terminals[step->in];
        const ModelTerminal *out = &model->terminals[step->out];
        const Gates *gates = &supply->gates;
        bool open = false; /* a gate between its two ends that does not conduct */
        bool conducts = false;
        for (uint32_t g = gates->owner_first[step->owner]; g < gates->owner_first[step->owner + 1];
             g++) {
            const Gate *gate = &gates->rows[g];
            bool between = (gate->a - in->pin_first < in->pin_count &&
                            gate->b - out->pin_first < out->pin_count) ||
                           (gate->b - in->pin_first < in->pin_count &&
                            gate->a - out->pin_first < out->pin_count);
            if (between) {
                conducts = conducts || gates_closed(gate, positions[step->owner]);
                open = true;
            }
        }
        if (open && !conducts) {
            return false;
        }
    }
    return true;
}

/* The usual feed of every bus: closed in most phases; of equals the first. */
static void find_bus_feeds(Arena *out, const Model *model, Supply *supply) {
    size_t buses = model->set->bus.count;
    supply->bus_parent = ARENA_ARRAY(out, BusId, buses);
    supply->bus_feed = ARENA_ARRAY(out, uint32_t, buses);
    uint32_t *best = ARENA_ARRAY(out, uint32_t, buses);
    for (size_t i = 0; i < buses; i++) {
        supply->bus_parent[i] = ID_NONE;
        supply->bus_feed[i] = ID_NONE;
    }
    for (uint32_t feed = 0; feed < model->set->feed.count; feed++) {
        const ModelFeed *row = &model->feeds[feed];
        if (!row->usable || row->to_bus == ID_NONE) {
            continue;
        }
        uint32_t closed = 0;
        for (size_t phase = 0; phase < model->set->phase.count; phase++) {
            closed += supply_feed_closed(model, supply, supply->positions[phase], feed);
        }
        if (supply->bus_feed[row->to_bus] == ID_NONE || closed > best[row->to_bus]) {
            supply->bus_feed[row->to_bus] = feed;
            supply->bus_parent[row->to_bus] = row->from_bus;
            best[row->to_bus] = closed;
        }
    }
}

/* --- loads --------------------------------------------------------------------------------------
 */

/* By TerminalId: row of `load`, ID_NONE. */
static uint32_t *find_load_rows(Arena *out, const Model *model) {
    const TableSet *set = model->set;
    uint32_t *by_port = ARENA_ARRAY(out, uint32_t, set->port.count);
    memset(by_port, 0xff, set->port.count * sizeof *by_port);
    for (uint32_t part = 0; part < set->part.count; part++) {
        uint32_t count = 0;
        uint32_t first = model_rows_of(model, TABLE_load, set->part.rows[part].part, &count);
        uint32_t port = model->part_port_first[part];
        for (uint32_t i = first; i < first + count; i++) {
            for (uint32_t k = 0; k < model->part_port_count[part]; k++) {
                if (strcmp(set->port.rows[port + k].port, set->load.rows[i].port) == 0) {
                    by_port[port + k] = i;
                }
            }
        }
    }
    uint32_t *rows = ARENA_ARRAY(out, uint32_t, model->terminal_count);
    for (TerminalId i = 0; i < model->terminal_count; i++) {
        uint32_t port = model->terminals[i].port;
        rows[i] = port == ID_NONE ? ID_NONE : by_port[port];
    }
    return rows;
}

static LoadLaw law_of(const char *word) {
    return strcmp(word, "constant power") == 0     ? LAW_POWER
           : strcmp(word, "constant current") == 0 ? LAW_CURRENT
                                                   : LAW_RESISTANCE;
}

/* Terminal of an owner by its name, ID_NONE. */
static TerminalId own_terminal(const Model *model, OwnerId owner, const char *name) {
    uint32_t point = strcmp(name, "case") == 0 ? ID_NONE : gates_owner_point(model, owner, name);
    return point == ID_NONE ? ID_NONE : model->pins[point].terminal;
}

static SupplyLoad port_load(const Model *model, TerminalId port, uint32_t load_row) {
    const LoadRow *row = &model->set->load.rows[load_row];
    OwnerId owner = model->terminals[port].owner;
    return (SupplyLoad){
        .port = port,
        .return_port = own_terminal(model, owner, row->return_port),
        .owner = owner,
        .load_row = load_row,
        .law = law_of(row->law),
        .intermittent = strcmp(row->duty, "intermittent") == 0,
        .usual_a = isnan(row->usual_a) ? row->design_a : row->usual_a,
        .design_a = row->design_a,
        .peak_a = row->peak_a,
        .minimum_v = row->volts_min_v,
    };
}

/* A coil is a resistance. It counts as intermittent: the drop limit is that of things that work
 * for a moment only when its contactor is at rest in every phase. */
static SupplyLoad coil_load(const Model *model, const SupplyCoil *coil) {
    const ModelOwner *owner = &model->owners[coil->owner];
    const SwitchPartRow *part = &model->set->switch_part.rows[owner->part];
    return (SupplyLoad){
        .port = model->pins[coil->plus].terminal,
        .return_port = coil->minus < model->pin_count ? model->pins[coil->minus].terminal : ID_NONE,
        .owner = coil->owner,
        .load_row = ID_NONE,
        .law = LAW_RESISTANCE,
        .usual_a = part->coil_a,
        .design_a = part->coil_a,
        .peak_a = (double)NAN,
        .minimum_v = part->pick_up_v,
    };
}

static void list_loads(Arena *out, const Model *model, Supply *supply) {
    uint32_t *load_rows = find_load_rows(out, model);
    uint32_t *coil_of = ARENA_ARRAY(out, uint32_t, model->terminal_count);
    memset(coil_of, 0xff, model->terminal_count * sizeof *coil_of);
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        coil_of[model->pins[supply->coils[i].plus].terminal] = i;
    }
    uint32_t count = supply->coil_count;
    for (TerminalId i = 0; i < model->terminal_count; i++) {
        count += load_rows[i] != ID_NONE && model->terminals[i].pin_count > 0;
    }
    supply->loads = ARENA_ARRAY(out, SupplyLoad, count);
    supply->terminal_load = ARENA_ARRAY(out, uint32_t, model->terminal_count);
    for (TerminalId i = 0; i < model->terminal_count; i++) {
        supply->terminal_load[i] = ID_NONE;
        bool port = load_rows[i] != ID_NONE && model->terminals[i].pin_count > 0;
        if (!port && coil_of[i] == ID_NONE) {
            continue;
        }
        if (port) {
            supply->loads[supply->load_count] = port_load(model, i, load_rows[i]);
        } else {
            supply->loads[supply->load_count] = coil_load(model, &supply->coils[coil_of[i]]);
            supply->coils[coil_of[i]].load = supply->load_count;
        }
        supply->terminal_load[i] = supply->load_count++;
    }
}

/* --- upstream -----------------------------------------------------------------------------------
 */

static void find_feeds(Arena *out, const Model *model, Supply *supply) {
    uint32_t *feed_of = ARENA_ARRAY(out, uint32_t, model->terminal_count);
    uint32_t *place_of = ARENA_ARRAY(out, uint32_t, model->terminal_count);
    memset(feed_of, 0xff, model->terminal_count * sizeof *feed_of);
    for (uint32_t feed = 0; feed < model->set->feed.count; feed++) {
        const ModelFeed *row = &model->feeds[feed];
        if (!row->usable || row->to_bus != ID_NONE) {
            continue;
        }
        for (uint32_t i = 0; i < row->target_count; i++) {
            TerminalId target = model->targets[row->target_first + i];
            if (feed_of[target] == ID_NONE) {
                feed_of[target] = feed;
                place_of[target] = i;
            }
        }
    }
    for (uint32_t i = 0; i < supply->load_count; i++) {
        supply->loads[i].feed = feed_of[supply->loads[i].port];
        supply->loads[i].target = place_of[supply->loads[i].port];
    }
}

/* The load whose port gives what `port` of the same box gives on: the one that an inside row joins
 * to it, else the box's first; ID_NONE when it has none. */
static uint32_t giving_load(const Model *model, const Supply *supply, TerminalId port) {
    OwnerId owner = model->terminals[port].owner;
    const Gates *gates = &supply->gates;
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        uint32_t ends[2] = {gates->rows[i].a, gates->rows[i].b};
        for (int side = 0; side < 2; side++) {
            uint32_t here = ends[side];
            uint32_t there = ends[1 - side];
            if (here < model->pin_count && there < model->pin_count &&
                model->pins[here].terminal == port &&
                supply->terminal_load[model->pins[there].terminal] != ID_NONE) {
                return supply->terminal_load[model->pins[there].terminal];
            }
        }
    }
    const ModelOwner *row = &model->owners[owner];
    for (uint32_t i = 0; i < row->terminal_count; i++) {
        if (supply->terminal_load[row->terminal_first + i] != ID_NONE) {
            return supply->terminal_load[row->terminal_first + i];
        }
    }
    return ID_NONE;
}

/* The bus bolted to a load's port: a coil fed from inside its contactor. */
static BusId bolted_bus(const Model *model, const Supply *supply, TerminalId port) {
    uint32_t spot = supply->spots.point_spot[model->terminals[port].pin_first];
    return supply->spots.spot_bus[spot];
}

static OwnerId last_device(const Model *model, uint32_t feed) {
    const ModelFeed *row = &model->feeds[feed];
    for (uint32_t i = row->step_count; i > 0; i--) {
        const FeedStep *step = &model->steps[row->step_first + i - 1];
        if (step->kind == STEP_PROTECTION) {
            return step->owner;
        }
    }
    return ID_NONE;
}

/* Walks from a load up to its bus, then on until a device is met. */
static void find_upstream(const Model *model, const Supply *supply, SupplyLoad *load) {
    load->bus = ID_NONE;
    load->device = ID_NONE;
    uint32_t feed = load->feed;
    if (feed == ID_NONE) {
        load->bus = bolted_bus(model, supply, load->port);
        feed = load->bus == ID_NONE ? ID_NONE : supply->bus_feed[load->bus];
    }
    for (uint32_t step = 0; feed != ID_NONE && step < WAY_UP_MAX; step++) {
        const ModelFeed *row = &model->feeds[feed];
        load->bus = load->bus == ID_NONE ? row->from_bus : load->bus;
        load->device = load->device == ID_NONE ? last_device(model, feed) : load->device;
        if (load->bus != ID_NONE && load->device != ID_NONE) {
            return;
        }
        if (row->from_bus != ID_NONE) {
            feed = supply->bus_feed[row->from_bus];
        } else {
            uint32_t giver = giving_load(model, supply, row->start);
            feed = giver == ID_NONE ? ID_NONE : supply->loads[giver].feed;
        }
    }
}

/* --- what they draw -----------------------------------------------------------------------------
 */

static void read_modes(Arena *out, const Model *model, Supply *supply, Findings *findings) {
    const TableSet *set = model->set;
    size_t phases = set->phase.count;
    double *amps = ARENA_ARRAY(out, double, supply->load_count *phases);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        supply->loads[i].phase_a = &amps[i * phases];
    }
    for (uint32_t i = 0; i < set->mode.count; i++) {
        const ModeRow *row = &set->mode.rows[i];
        uint32_t phase = name_map_find(&model->phase_by_name, row->phase);
        TerminalId port = model_terminal(model, row->port);
        uint32_t load = port == ID_NONE ? ID_NONE : supply->terminal_load[port];
        if (load == ID_NONE) {
            report_row(findings, model, RULE_SUPPLY_MODE, TABLE_mode, i, "port", "%s %s", row->port,
                       port == ID_NONE ? "is no port of this job"
                                       : "is no supply port: its part has no load row")
                ->hint = "name the port that the box is supplied by";
        } else if (phase != NAME_NONE) {
            SupplyLoad *drawn = &supply->loads[load];
            amps[load * phases + phase] = isnan(row->amps_a) ? drawn->usual_a : row->amps_a;
            drawn->design_a = fmax(drawn->design_a, amps[load * phases + phase]);
        }
    }
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        const SupplyCoil *coil = &supply->coils[i];
        bool ever = false;
        for (size_t phase = 0; phase < phases; phase++) {
            if (strcmp(supply->positions[phase][coil->owner], coil->rest) != 0) {
                amps[coil->load * phases + phase] = supply->loads[coil->load].usual_a;
                ever = true;
            }
        }
        supply->loads[coil->load].intermittent = !ever;
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool supply_build(Arena *out, const Model *model, const Wiring *wiring, Supply *supply,
                  Findings *findings) {
    *supply = (Supply){0};
    Gates all;
    gates_build(out, model, &all);
    gates_of_supply(out, model, wiring, &all, &supply->gates);
    spots_build(out, model, wiring, &supply->gates, &supply->spots);
    find_coils(out, model, supply);
    size_t phases = model->set->phase.count;
    const char *const **positions = ARENA_ARRAY(out, const char *const *, phases);
    for (uint32_t phase = 0; phase < phases; phase++) {
        positions[phase] = supply_positions(out, model, supply, phase, ID_NONE, 0, findings);
    }
    supply->positions = positions;
    find_bus_feeds(out, model, supply);
    list_loads(out, model, supply);
    find_feeds(out, model, supply);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        find_upstream(model, supply, &supply->loads[i]);
    }
    read_modes(out, model, supply, findings);
    return true;
}
