/* Method: sums over Supply.loads; what hangs on a battery is what a walk from its plus reaches. */
#include "power/loads.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "power/build.h"
#include "power/merge.h"
#include "model/report.h"

/* --- totals -------------------------------------------------------------------------------------
 */

static BusId reported_under(const Model *model, const SupplyLoad *load) {
    return load->bus == ID_NONE ? ID_NONE : model->buses[load->bus].counts_in;
}

static void sum_buses(Arena *out, const Model *model, const Supply *supply, Loads *loads) {
    size_t phases = model->set->phase.count;
    loads->bus_count = (uint32_t)model->set->bus.count;
    loads->bus_a = ARENA_ARRAY(out, double, phases * loads->bus_count);
    loads->bus_used = ARENA_ARRAY(out, bool, loads->bus_count);
    loads->total_a = ARENA_ARRAY(out, double, phases);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        BusId bus = reported_under(model, load);
        for (size_t phase = 0; phase < phases; phase++) {
            loads->total_a[phase] += load->phase_a[phase];
            if (bus != ID_NONE) {
                loads->bus_a[phase * loads->bus_count + bus] += load->phase_a[phase];
                loads->bus_used[bus] = true;
            }
        }
    }
}

/* --- margins ------------------------------------------------------------------------------------
 */

/* Row of `alternator` of a source, ID_NONE for batteries. */
static uint32_t source_part(const Model *model, TableId table, uint32_t source) {
    OwnerId owner = model_owner(model, model->set->source.rows[source].unit);
    if (owner == ID_NONE || model->owners[owner].kind != OWNER_UNIT) {
        return ID_NONE;
    }
    return model_row(model, table, model->set->unit.rows[model->owners[owner].row].part);
}

/* True when some alternator is on and gives something in a phase. */
static bool has_alternator(const Model *model, const Supply *supply, uint32_t phase) {
    for (uint32_t i = 0; i < model->set->source.count; i++) {
        uint32_t part = source_part(model, TABLE_alternator, i);
        OwnerId owner = model_owner(model, model->set->source.rows[i].unit);
        if (part != ID_NONE && strcmp(supply->positions[phase][owner], "off") != 0 &&
            build_output_a(model, part, model->set->phase.rows[phase].engine) > 0.0) {
            return true;
        }
    }
    return false;
}

static LoadsMargin find_margin(const Model *model, const Supply *supply, const Loads *loads,
                               uint32_t phase) {
    const PhaseRow *row = &model->set->phase.rows[phase];
    LoadsMargin margin = {
        .total_a = loads->total_a[phase],
        .source =
            *row->carried_by == '\0' ? ID_NONE : model_row(model, TABLE_source, row->carried_by),
        .rated_a = (double)NAN,
        .available_a = (double)NAN,
        .rating_pct = (double)NAN,
        .available_pct = (double)NAN,
        .limit_pct = (double)NAN,
    };
    uint32_t part =
        margin.source == ID_NONE ? ID_NONE : source_part(model, TABLE_alternator, margin.source);
    if (part == ID_NONE) {
        margin.source = ID_NONE;
        return margin;
    }
    const AlternatorRow *alternator = &model->set->alternator.rows[part];
    OwnerId owner = model_owner(model, row->carried_by);
    bool off = strcmp(supply->positions[phase][owner], "off") == 0;
    margin.rated_a = alternator->rated_a;
    margin.available_a = off ? 0.0 : build_output_a(model, part, row->engine);
    margin.rating_pct = 100.0 * margin.total_a / margin.rated_a;
    margin.limit_pct = alternator->load_limit_pct;
    if (margin.available_a > 0.0) {
        margin.available_pct = 100.0 * margin.total_a / margin.available_a;
    }
    return margin;
}

static void judge_margin(const Model *model, const Supply *supply, const LoadsMargin *margin,
                         uint32_t phase, Findings *findings) {
    const PhaseRow *row = &model->set->phase.rows[phase];
    if (margin->source == ID_NONE) {
        if (margin->total_a > 0.0 && has_alternator(model, supply, phase)) {
            report_row(findings, model, RULE_LOADS_CARRIED, TABLE_phase, phase, "carried_by",
                       "%s draws %.2f A with an alternator on and names none to carry it",
                       row->phase, margin->total_a)
                ->hint = "name the alternator in carried_by";
        }
        return;
    }
    uint32_t part = source_part(model, TABLE_alternator, margin->source);
    const AlternatorRow *alternator = &model->set->alternator.rows[part];
    if (margin->rating_pct > margin->limit_pct) {
        Finding *finding =
            report_row(findings, model, RULE_LOADS_RATING, TABLE_phase, phase, "carried_by",
                       "%s draws %.2f A, %.1f %% of the %.4g A of %s; %.4g %% is allowed",
                       row->phase, margin->total_a, margin->rating_pct, margin->rated_a,
                       row->carried_by, margin->limit_pct);
        finding->value = margin->rating_pct;
        finding->limit = margin->limit_pct;
        finding->unit = "%";
        finding->source = alternator->source;
        finding->rows = row->carried_by;
        finding->hint = "shed load in this phase, or fit a larger alternator";
    }
    if (margin->total_a > margin->available_a) {
        Finding *finding =
            report_row(findings, model, RULE_LOADS_AVAILABLE, TABLE_phase, phase, "carried_by",
                       "%s draws %.2f A, %s gives %.4g A at engine speed %s", row->phase,
                       margin->total_a, row->carried_by, margin->available_a, row->engine);
        finding->value = margin->total_a;
        finding->limit = margin->available_a;
        finding->unit = "A";
        finding->rows = row->carried_by;
        finding->hint = margin->available_a > 0.0 ? "shed load, or raise the engine speed"
                                                  : "it is off in this phase: see `setting`";
    }
}

/* --- batteries ----------------------------------------------------------------------------------
 */

double loads_situation_a(const Model *model, const Supply *supply, const char *const *positions,
                         uint32_t situation, uint32_t actions, uint32_t load) {
    const SupplyLoad *row = &supply->loads[load];
    if (row->load_row == ID_NONE) {
        const char *rest = model->set->switchgear.rows[model->owners[row->owner].row].rest;
        return strcmp(positions[row->owner], rest) == 0 ? 0.0 : row->usual_a;
    }
    if (supply_put_off(model, situation, actions, row->port)) {
        return 0.0;
    }
    uint32_t phase =
        name_map_find(&model->phase_by_name, model->set->situation.rows[situation].phase);
    return row->phase_a[phase];
}

/* The spot of a source's plus, ID_NONE when it has no such port. */
static uint32_t source_spot(const Model *model, const Supply *supply, uint32_t source) {
    OwnerId owner = model_owner(model, model->set->source.rows[source].unit);
    uint32_t plus = owner == ID_NONE
                        ? ID_NONE
                        : gates_owner_point(model, owner, model->set->source.rows[source].plus);
    return plus == ID_NONE ? ID_NONE : supply->spots.point_spot[plus];
}

/* Walks from a source's plus; false when the source has no such port. */
static bool walk_from(const Model *model, const Supply *supply, const char *const *positions,
                      uint32_t source, SpotsWalk *walk) {
    uint32_t plus = source_spot(model, supply, source);
    if (plus == ID_NONE) {
        return false;
    }
    spots_reach(&supply->spots, positions, &plus, 1, walk);
    return true;
}

static bool is_reached(const Model *model, const Supply *supply, const SpotsWalk *walk,
                       TerminalId port) {
    uint32_t spot = supply->spots.point_spot[model->terminals[port].pin_first];
    return walk->seen[spot] == walk->number;
}

/* What hangs at each spot. */
typedef struct Hanging {
    SpotsIndex loads;
    SpotsIndex buses;
} Hanging;

static Hanging find_hanging(Arena *arena, const Model *model, const Supply *supply) {
    uint32_t buses = (uint32_t)model->set->bus.count;
    uint32_t *load_spot = ARENA_ARRAY(arena, uint32_t, supply->load_count);
    uint32_t *bus_spot = ARENA_ARRAY(arena, uint32_t, buses);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        load_spot[i] = supply->spots.point_spot[model->terminals[supply->loads[i].port].pin_first];
    }
    for (BusId bus = 0; bus < buses; bus++) {
        TerminalId stud = model->buses[bus].stud;
        bus_spot[bus] =
            stud == ID_NONE ? ID_NONE : supply->spots.point_spot[model->terminals[stud].pin_first];
    }
    return (Hanging){
        .loads = spots_index(arena, &supply->spots, load_spot, supply->load_count),
        .buses = spots_index(arena, &supply->spots, bus_spot, buses),
    };
}

static int compare_numbers(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return a < b ? -1 : (a > b ? 1 : 0);
}

/* The items of an index at the spots of the last walk, rising. */
static uint32_t reached_items(Arena *arena, const SpotsWalk *walk, const SpotsIndex *index,
                              uint32_t **items) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < walk->count; i++) {
        count += index->first[walk->queue[i] + 1] - index->first[walk->queue[i]];
    }
    *items = ARENA_ARRAY(arena, uint32_t, count);
    count = 0;
    for (uint32_t i = 0; i < walk->count; i++) {
        for (uint32_t k = index->first[walk->queue[i]]; k < index->first[walk->queue[i] + 1]; k++) {
            (*items)[count++] = index->items[k];
        }
    }
    if (count > 1) {
        qsort(*items, count, sizeof **items, compare_numbers);
    }
    return count;
}

static double minutes(double capacity_ah, double usable, double load_a) {
    return load_a > 0.0 ? capacity_ah * usable * 60.0 / load_a : (double)INFINITY;
}

static double situation_load(Arena *scratch, const Model *model, const Supply *supply,
                             uint32_t situation, uint32_t source, SpotsWalk *walk) {
    uint32_t phase =
        name_map_find(&model->phase_by_name, model->set->situation.rows[situation].phase);
    const char *const *positions =
        supply_positions(scratch, model, supply, phase, situation, UINT32_MAX, NULL);
    if (!walk_from(model, supply, positions, source, walk)) {
        return 0.0;
    }
    double sum_a = 0.0;
    for (uint32_t i = 0; i < supply->load_count; i++) {
        if (is_reached(model, supply, walk, supply->loads[i].port)) {
            sum_a += loads_situation_a(model, supply, positions, situation, UINT32_MAX, i);
        }
    }
    return sum_a;
}

static void find_endurances(Arena *out, Arena *scratch, const Model *model, const Supply *supply,
                            Loads *loads) {
    const TableSet *set = model->set;
    SpotsWalk walk = spots_walk_new(scratch, &supply->spots);
    loads->endurances = ARENA_ARRAY(out, LoadsEndurance, 2 * set->situation.count);
    for (uint32_t i = 0; i < set->situation.count; i++) {
        const SituationRow *row = &set->situation.rows[i];
        uint32_t source = model_row(model, TABLE_source, row->battery);
        uint32_t battery = source == ID_NONE ? ID_NONE : source_part(model, TABLE_battery, source);
        bool known =
            battery != ID_NONE && name_map_find(&model->phase_by_name, row->phase) != NAME_NONE;
        double load_a =
            known ? situation_load(scratch, model, supply, i, source, &walk) : (double)NAN;
        for (int aged = 0; aged < 2; aged++) {
            LoadsEndurance *endurance = &loads->endurances[loads->endurance_count++];
            *endurance = (LoadsEndurance){
                .situation = i,
                .aged = aged == 1,
                .source = known ? source : ID_NONE,
                .battery = battery,
                .load_a = load_a,
                .usable = (double)NAN,
                .plain_min = (double)NAN,
                .asked_min = aged == 1 ? row->asked_aged_min : row->asked_new_min,
            };
            if (known) {
                const BatteryRow *part = &set->battery.rows[battery];
                endurance->usable =
                    (aged == 1 ? part->usable_aged_pct : part->usable_new_pct) / 100.0;
                endurance->plain_min = minutes(part->capacity_ah, endurance->usable, load_a);
            }
        }
    }
}

/* --- parked -------------------------------------------------------------------------------------
 */

static const char *live_buses(Arena *out, Arena *scratch, const Model *model, const SpotsWalk *walk,
                              const Hanging *hanging) {
    Buffer text = {.arena = out};
    uint32_t *buses = NULL;
    uint32_t count = reached_items(scratch, walk, &hanging->buses, &buses);
    for (uint32_t i = 0; i < count; i++) {
        buffer_text(&text, i == 0 ? "" : " ");
        buffer_text(&text, model->set->bus.rows[buses[i]].bus);
    }
    return count == 0 ? "" : text.bytes;
}

static void judge_parked(const Model *model, const LoadsParked *parked, Findings *findings) {
    double asked_day = model->set->job.rows[0].parked_day;
    if (isnan(asked_day) || parked->days_day >= asked_day) {
        return;
    }
    const char *unit = model->set->source.rows[parked->source].unit;
    Finding *finding =
        report_row(findings, model, RULE_LOADS_PARKED, TABLE_source, parked->source, "",
                   "parked, %s gives %.1f mA and is flat after %.1f days; %.0f are asked for", unit,
                   1000.0 * parked->drain_a, parked->days_day, asked_day);
    finding->value = parked->days_day;
    finding->limit = asked_day;
    finding->unit = "day";
    finding->source = "job.parked_day";
    finding->rows = model->set->phase.rows[parked->phase].phase;
    finding->hint = "put the drain behind a contactor, or fit a larger battery";
}

/* One walk for all batteries that are wired together: by the first spot of what is joined to a
 * battery without a diode in between, its entry of loads->parked. */
typedef struct Islands {
    uint32_t *spot;  /* by spot: the first spot of its island */
    uint32_t *entry; /* by that spot; ID_NONE */
} Islands;

static Islands find_islands(Arena *arena, const Supply *supply, const char *const *positions) {
    const Spots *spots = &supply->spots;
    Islands islands = {
        .spot = ARENA_ARRAY(arena, uint32_t, spots->count),
        .entry = ARENA_ARRAY(arena, uint32_t, spots->count),
    };
    merge_start(islands.spot, spots->count);
    memset(islands.entry, 0xff, spots->count * sizeof *islands.entry);
    for (uint32_t i = 0; i < supply->gates.count; i++) {
        const Gate *gate = &supply->gates.rows[i];
        uint32_t a = spots->point_spot[gate->a];
        uint32_t b = spots->point_spot[gate->b];
        if (gate->kind != GATE_DIODE && !spots->grounded[a] && !spots->grounded[b] &&
            gates_closed(gate, positions[gate->owner])) {
            merge_join(islands.spot, a, b);
        }
    }
    return islands;
}

/* Drain and live buses of the battery from which `walk` has just gone. */
static void fill_parked(Arena *out, Arena *scratch, const Model *model, const Supply *supply,
                        const SpotsWalk *walk, const Hanging *hanging, LoadsParked *parked) {
    uint32_t *reached = NULL;
    uint32_t count = reached_items(scratch, walk, &hanging->loads, &reached);
    for (uint32_t i = 0; i < count; i++) {
        parked->drain_a += supply->loads[reached[i]].phase_a[parked->phase];
    }
    parked->live = live_buses(out, scratch, model, walk, hanging);
}

static void find_parked(Arena *out, Arena *scratch, const Model *model, const Supply *supply,
                        Loads *loads, Findings *findings) {
    const TableSet *set = model->set;
    SpotsWalk walk = spots_walk_new(scratch, &supply->spots);
    Hanging hanging = find_hanging(scratch, model, supply);
    loads->parked = ARENA_ARRAY(out, LoadsParked, set->phase.count * set->source.count);
    for (uint32_t phase = 0; phase < set->phase.count; phase++) {
        if (strcmp(set->phase.rows[phase].engine, "off") != 0) {
            continue;
        }
        Islands islands = find_islands(scratch, supply, supply->positions[phase]);
        for (uint32_t source = 0; source < set->source.count; source++) {
            uint32_t battery = source_part(model, TABLE_battery, source);
            uint32_t plus = source_spot(model, supply, source);
            if (battery == ID_NONE || plus == ID_NONE) {
                continue;
            }
            const BatteryRow *part = &set->battery.rows[battery];
            uint32_t entry = loads->parked_count++;
            uint32_t *first = &islands.entry[merge_root(islands.spot, plus)];
            LoadsParked *parked = &loads->parked[entry];
            *parked = (LoadsParked){.phase = phase, .source = source, .battery = battery};
            if (*first == ID_NONE) {
                *first = entry;
                spots_reach(&supply->spots, supply->positions[phase], &plus, 1, &walk);
                fill_parked(out, scratch, model, supply, &walk, &hanging, parked);
            } else {
                parked->drain_a = loads->parked[*first].drain_a;
                parked->live = loads->parked[*first].live;
            }
            double day_min = 24.0 * 60.0;
            parked->days_day =
                minutes(part->capacity_ah, part->usable_new_pct / 100.0, parked->drain_a) / day_min;
            parked->aged_day =
                minutes(part->capacity_ah, part->usable_aged_pct / 100.0, parked->drain_a) /
                day_min;
            judge_parked(model, parked, findings);
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool loads_run(Arena *out, const Model *model, const Supply *supply, Loads *loads,
               Findings *findings) {
    *loads = (Loads){0};
    Arena scratch = {0};
    sum_buses(out, model, supply, loads);
    loads->margins = ARENA_ARRAY(out, LoadsMargin, model->set->phase.count);
    for (uint32_t phase = 0; phase < model->set->phase.count; phase++) {
        loads->margins[phase] = find_margin(model, supply, loads, phase);
        judge_margin(model, supply, &loads->margins[phase], phase, findings);
    }
    find_endurances(out, &scratch, model, supply, loads);
    find_parked(out, &scratch, model, supply, loads, findings);
    arena_free(&scratch);
    return true;
}

void loads_rows(Arena *arena, const Model *model, const Loads *loads, TableSet *results) {
    for (uint32_t phase = 0; phase < model->set->phase.count; phase++) {
        const char *name = model->set->phase.rows[phase].phase;
        for (BusId bus = 0; bus < loads->bus_count; bus++) {
            if (loads->bus_used[bus]) {
                LoadTotalRow *row = table_append(results, arena, TABLE_load_total);
                row->phase = name;
                row->bus = model->set->bus.rows[bus].bus;
                row->amps_a = loads->bus_a[(size_t)phase * loads->bus_count + bus];
            }
        }
        LoadTotalRow *total = table_append(results, arena, TABLE_load_total);
        total->phase = name;
        total->bus = "total";
        total->amps_a = loads->total_a[phase];
        const LoadsMargin *margin = &loads->margins[phase];
        SupplyMarginRow *row = table_append(results, arena, TABLE_supply_margin);
        row->phase = name;
        row->total_a = margin->total_a;
        row->alternator =
            margin->source == ID_NONE ? "" : model->set->source.rows[margin->source].unit;
        row->rated_a = margin->rated_a;
        row->available_a = margin->available_a;
        row->rating_pct = margin->rating_pct;
        row->available_pct = margin->available_pct;
        row->limit_pct = margin->limit_pct;
    }
}

/* --- why ----------------------------------------------------------------------------------------
 */

static const char *load_name(const Model *model, const SupplyLoad *load) {
    return model->terminals[load->port].end;
}

static void why_load(Buffer *out, const Model *model, const SupplyLoad *load, double amps_a) {
    const char *source = load->load_row == ID_NONE
                             ? model->set->switch_part.rows[model->owners[load->owner].part].source
                             : model->set->load.rows[load->load_row].source;
    buffer_format(out, "  %-12s %8.4g A  %s%s\n", load_name(model, load), amps_a,
                  load->load_row == ID_NONE ? "coil; " : "", source);
}

void loads_why_total(Buffer *out, const Model *model, const Supply *supply, const Loads *loads,
                     uint32_t phase, BusId bus) {
    const char *name = model->set->phase.rows[phase].phase;
    double total_a =
        bus == ID_NONE ? loads->total_a[phase] : loads->bus_a[phase * loads->bus_count + bus];
    buffer_format(out, "%s in %s: %.4g A = sum of amps at %.0f V of\n",
                  bus == ID_NONE ? "all buses" : model->set->bus.rows[bus].bus, name, total_a,
                  model->set->job.rows[0].nominal_v);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        bool counted = bus == ID_NONE || reported_under(model, load) == bus;
        if (counted && load->phase_a[phase] > 0.0) {
            why_load(out, model, load, load->phase_a[phase]);
        }
    }
    buffer_text(out, "method: load analysis by operating condition, MIL-E-7016F\n");
}

void loads_why_margin(Buffer *out, const Model *model, const Loads *loads, uint32_t phase) {
    const PhaseRow *row = &model->set->phase.rows[phase];
    const LoadsMargin *margin = &loads->margins[phase];
    buffer_format(out, "%s draws %.2f A (sum of its loads)\n", row->phase, margin->total_a);
    if (margin->source == ID_NONE) {
        buffer_text(out, "no alternator is named to carry it (phase.carried_by)\n");
        return;
    }
    uint32_t part = source_part(model, TABLE_alternator, margin->source);
    const AlternatorRow *alternator = &model->set->alternator.rows[part];
    buffer_format(out, "%s is rated %.0f A: %.2f / %.0f = %.1f %%, allowed %.0f %% (%s)\n",
                  row->carried_by, margin->rated_a, margin->total_a, margin->rated_a,
                  margin->rating_pct, margin->limit_pct, alternator->source);
    buffer_format(out, "at engine speed %s it gives %.0f A: %.1f %%, allowed 100 %%\n", row->engine,
                  margin->available_a, margin->available_pct);
}

void loads_why_endurance(Buffer *out, const Model *model, const Supply *supply, const Loads *loads,
                         uint32_t endurance) {
    const LoadsEndurance *row = &loads->endurances[endurance];
    const SituationRow *situation = &model->set->situation.rows[row->situation];
    if (row->source == ID_NONE) {
        buffer_format(out, "%s names no battery of this job\n", situation->situation);
        return;
    }
    const BatteryRow *battery = &model->set->battery.rows[row->battery];
    buffer_format(out, "%s, %s battery: %.4g Ah x %.2f x 60 / %.4g A = %.1f min (%s)\n",
                  situation->situation, row->aged ? "aged" : "new", battery->capacity_ah,
                  row->usable, row->load_a, row->plain_min, battery->source);
    buffer_format(out, "on %s after all actions of the pilot, loads as in %s:\n",
                  situation->battery, situation->phase);
    Arena scratch = {0};
    SpotsWalk walk = spots_walk_new(&scratch, &supply->spots);
    uint32_t phase = name_map_find(&model->phase_by_name, situation->phase);
    const char *const *positions =
        supply_positions(&scratch, model, supply, phase, row->situation, UINT32_MAX, NULL);
    if (walk_from(model, supply, positions, row->source, &walk)) {
        for (uint32_t i = 0; i < supply->load_count; i++) {
            double amps_a =
                loads_situation_a(model, supply, positions, row->situation, UINT32_MAX, i);
            if (amps_a > 0.0 && is_reached(model, supply, &walk, supply->loads[i].port)) {
                why_load(out, model, &supply->loads[i], amps_a);
            }
        }
    }
    arena_free(&scratch);
}
