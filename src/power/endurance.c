/* Method: between two events (an action, a corner of a battery's voltage curve, its usable share)
 * the resting voltage is a straight line and the currents nearly are: each step takes the charge up
 * to the next event at the mean of the currents at its two ends. The moment at which a box goes out
 * is found by halving. Situations that differ only in the battery asked about are one run. */
#include "power/endurance.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "model/report.h"
#include "power/cold.h"
#include "rating/battery.h"

enum {
    ENDURANCE_STEPS_MAX = 400,
    ENDURANCE_CORNERS = 32,
    ENDURANCE_HALVINGS = 20, /* of a step: to a millionth of the charge */
    ENDURANCE_TOLD_MAX = 64  /* boxes whose minute is found by halving; later ones are told at the
                                next moment that is solved anyway */
};
/* A battery giving less than this, A, is at rest. */
#define ENDURANCE_REST_A 1e-6

typedef struct Cells {
    double capacity_ah; /* when full, in this state of age */
    double limit_ah;    /* may be drawn */
    double drawn_ah;
    double peukert;
    double rated_h;
    double corner_pct[ENDURANCE_CORNERS]; /* of its curve, falling */
    uint32_t corner_count;
    bool removed; /* its usable share is drawn: out of the network */
} Cells;

/* The boxes on one battery. */
typedef struct Group {
    uint32_t *loads;
    size_t count;
} Group;

/* What is known of a box while all that goes out is followed. */
typedef enum BoxState { BOX_ON, BOX_OUT, BOX_HELD_OUT } BoxState;

typedef struct Stepper {
    Arena *scratch;
    const Model *model;
    const Supply *supply;
    PowerNetwork *built;
    const Phases *phases;
    uint32_t situation;
    uint32_t phase;
    uint32_t actions_done;
    const char *const *positions;
    NetworkState state;
    Group *groups;     /* by network battery */
    Cells *cells;      /* by network battery */
    double *rate_ah;   /* by network battery: ampere-hours counted for an hour */
    double *cells_ohm; /* by network battery, while it is not empty */
    double now_min;
    uint32_t solves;
    uint32_t cycling; /* load that the present point finds neither on nor out; ID_NONE */
    bool rates_known; /* rate_ah belongs to the present point, where nothing is out */
    bool failed;
    Arena *out;             /* of the traces */
    EnduranceTrace *traces; /* by network battery; NULL: not traced */
    bool *closed;           /* by network battery: its last moment is told */
    BoxState *boxes;        /* by supply load; only of a traced run */
    uint32_t told;          /* events of boxes so far */
    bool coldest;           /* cells as cold as the zone of each battery ever is */
} Stepper;

/* What one run of a situation found for every battery. */
typedef struct Ending {
    double minutes_min;
    uint32_t load; /* ID_NONE: the battery itself */
    bool found;
} Ending;

/* --- batteries ----------------------------------------------------------------------------------
 */

/* An aged battery holds as much less as its usable share is less, a cold one gives `left` of it;
 * both rest at the voltage of the share of what they still hold. */
static void fill_cells(const Model *model, const BuildBattery *battery, bool aged, double left,
                       Cells *cells) {
    const BatteryRow *row = &model->set->battery.rows[battery->battery];
    double charge_pct = model->set->source.rows[battery->source].charge_pct;
    charge_pct = isnan(charge_pct) ? 100.0 : charge_pct;
    double age = aged ? row->usable_aged_pct / row->usable_new_pct : 1.0;
    *cells = (Cells){
        .capacity_ah = row->capacity_ah * age * left,
        .limit_ah =
            row->capacity_ah * left * (aged ? row->usable_aged_pct : row->usable_new_pct) / 100.0,
        .peukert = isnan(row->peukert) ? 1.0 : row->peukert,
        .rated_h = row->rated_h,
    };
    cells->drawn_ah = cells->capacity_ah * (1.0 - charge_pct / 100.0);
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_ocv, row->part, &count);
    for (uint32_t i = count; i > 0 && cells->corner_count < ENDURANCE_CORNERS; i--) {
        /* Above the rated resting voltage the curve is cut off (build_rest_v): flat, no corner. */
        const OcvRow *corner = &model->set->ocv.rows[first + i - 1];
        if (corner->volts_v <= row->open_circuit_v) {
            cells->corner_pct[cells->corner_count++] = corner->charge_pct;
        }
    }
}

static double charge_pct(const Cells *cells) {
    return 100.0 * (1.0 - cells->drawn_ah / cells->capacity_ah);
}

/* What a current takes out of the battery in an hour: more than itself above the rated current
 * (Peukert), never less. */
static double rate_of(const Cells *cells, double amps_a) {
    if (amps_a <= ENDURANCE_REST_A) {
        return 0.0;
    }
    if (cells->peukert <= 1.0 || isnan(cells->rated_h)) {
        return amps_a;
    }
    double hours = battery_rated_h(cells->capacity_ah, cells->rated_h, amps_a, cells->peukert);
    return fmax(amps_a, cells->capacity_ah / hours);
}

/* --- one point ----------------------------------------------------------------------------------
 */

static void set_point(Stepper *stepper) {
    PowerNetwork *built = stepper->built;
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        build_set_charge(built, stepper->model, i, charge_pct(&stepper->cells[i]), &stepper->state);
        built->network.batteries[i].ohm =
            stepper->cells[i].removed ? (double)INFINITY : stepper->cells_ohm[i];
    }
}

/* Solves at the present charge; fills rate_ah. False when no operating point was found; a box that
 * goes out, comes back as its own voltage rises, and goes out again is told in `cycling`. */
static bool solve_point(Stepper *stepper, SolveResult *result) {
    set_point(stepper);
    stepper->solves++;
    SolveOptions options = {.skip_expand = true};
    stepper->cycling = ID_NONE;
    bool found = phases_solve(stepper->phases->plan, stepper->built, stepper->supply,
                              &stepper->state, &options, NULL, result, NULL);
    if (!found && result->status == SOLVE_OSCILLATES && result->offender_kind == NETWORK_LOAD) {
        stepper->cycling = stepper->built->load_supply[result->offender];
        found = stepper->cycling != NETWORK_NONE;
    }
    if (!found) {
        return false;
    }
    for (uint32_t i = 0; i < stepper->built->network.battery_count; i++) {
        stepper->rate_ah[i] = rate_of(&stepper->cells[i], result->battery_a[i]);
    }
    return true;
}

/* Puts loads, switches and sources as after the actions done so far. */
static void set_actions(Stepper *stepper) {
    const Model *model = stepper->model;
    const Supply *supply = stepper->supply;
    stepper->positions = supply_positions(stepper->scratch, model, supply, stepper->phase,
                                          stepper->situation, stepper->actions_done, NULL);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        if (supply->loads[i].load_row != ID_NONE) {
            build_set_load(stepper->built, supply, i,
                           loads_situation_a(model, supply, stepper->positions, stepper->situation,
                                             stepper->actions_done, i));
        }
    }
    build_rest_loads(stepper->built, &stepper->state);
    build_set_positions(stepper->built, supply, stepper->positions, &stepper->state);
    build_set_sources(stepper->built, model, stepper->positions,
                      model->set->phase.rows[stepper->phase].engine);
    for (uint32_t i = 0; i < stepper->built->network.battery_count; i++) {
        stepper->cells_ohm[i] = stepper->built->network.batteries[i].ohm;
    }
}

/* --- groups -------------------------------------------------------------------------------------
 */

/* The loads that hang on each battery after all actions and draw something. */
static void find_groups(Stepper *stepper) {
    const Model *model = stepper->model;
    const Supply *supply = stepper->supply;
    uint32_t batteries = stepper->built->network.battery_count;
    const char *const *positions = supply_positions(stepper->scratch, model, supply, stepper->phase,
                                                    stepper->situation, UINT32_MAX, NULL);
    uint32_t *spot_of = ARENA_ARRAY(stepper->scratch, uint32_t, supply->load_count);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        double amps_a =
            loads_situation_a(model, supply, positions, stepper->situation, UINT32_MAX, i);
        bool box = load->load_row != ID_NONE && amps_a > 0.0;
        spot_of[i] =
            box ? supply->spots.point_spot[model->terminals[load->port].pin_first] : ID_NONE;
    }
    SpotsIndex index = spots_index(stepper->scratch, &supply->spots, spot_of, supply->load_count);
    SpotsWalk walk = spots_walk_new(stepper->scratch, &supply->spots);
    stepper->groups = ARENA_ARRAY(stepper->scratch, Group, batteries);
    for (uint32_t k = 0; k < batteries; k++) {
        const SourceRow *source = &model->set->source.rows[stepper->built->batteries[k].source];
        uint32_t plus = gates_owner_point(model, model_owner(model, source->unit), source->plus);
        spots_reach(&supply->spots, positions, &supply->spots.point_spot[plus], 1, &walk);
        Group *group = &stepper->groups[k];
        size_t capacity = 0;
        for (uint32_t i = 0; i < walk.count; i++) {
            uint32_t spot = walk.queue[i];
            for (uint32_t at = index.first[spot]; at < index.first[spot + 1]; at++) {
                *ARENA_PUSH(stepper->scratch, group->loads, group->count, capacity) =
                    index.items[at];
            }
        }
    }
}

/* The first load of a battery's group that does not work, ID_NONE. */
static uint32_t first_out(const Stepper *stepper, const SolveResult *result, uint32_t battery) {
    const Group *group = &stepper->groups[battery];
    uint32_t first = ID_NONE;
    for (size_t i = 0; i < group->count; i++) {
        uint32_t load = group->loads[i];
        if (load < first && (load == stepper->cycling ||
                             phases_port(stepper->built, result, load).state > PHASES_ON)) {
            first = load;
        }
    }
    return first;
}

/* --- stepping -----------------------------------------------------------------------------------
 */

static double action_delay_min(const Stepper *stepper) {
    uint32_t count = 0;
    uint32_t first = supply_actions(stepper->model, stepper->situation, &count);
    if (stepper->actions_done >= count) {
        return (double)INFINITY;
    }
    double delay_s = stepper->model->set->action.rows[first + stepper->actions_done].delay_s;
    return isnan(delay_s) ? 0.0 : delay_s / 60.0;
}

/* Charge a battery may give in one step: down to the next corner, or its limit. */
static double step_ah(const Cells *cells) {
    double room_ah = cells->limit_ah - cells->drawn_ah;
    double now_pct = charge_pct(cells);
    for (uint32_t i = 0; i < cells->corner_count; i++) {
        double down_ah = (now_pct - cells->corner_pct[i]) / 100.0 * cells->capacity_ah;
        if (down_ah > 1e-9 * cells->capacity_ah) {
            room_ah = fmin(room_ah, down_ah);
            break;
        }
    }
    return room_ah;
}

/* Minutes until the first battery has given its step at these rates. */
static double step_minutes(const Stepper *stepper, const double *rate_ah) {
    double minutes_min = (double)INFINITY;
    for (uint32_t i = 0; i < stepper->built->network.battery_count; i++) {
        if (rate_ah[i] > 0.0 && !stepper->cells[i].removed) {
            minutes_min = fmin(minutes_min, 60.0 * step_ah(&stepper->cells[i]) / rate_ah[i]);
        }
    }
    return minutes_min;
}

static void draw(Stepper *stepper, const double *from_ah, const double *rate_ah,
                 double minutes_min) {
    for (uint32_t i = 0; i < stepper->built->network.battery_count; i++) {
        stepper->cells[i].drawn_ah = from_ah[i] + rate_ah[i] * minutes_min / 60.0;
    }
}

/* Marks endings at the present point: batteries taken out, boxes out. */
static void mark_endings(Stepper *stepper, const SolveResult *result, Ending *endings) {
    for (uint32_t k = 0; k < stepper->built->network.battery_count; k++) {
        bool removed = stepper->cells[k].removed;
        uint32_t out = removed || endings[k].found ? ID_NONE : first_out(stepper, result, k);
        if (!endings[k].found && (removed || out != ID_NONE)) {
            endings[k] = (Ending){stepper->now_min, out, true};
        }
    }
}

/* True when a box is out at the present point that nobody has told of yet. */
static bool any_untold(const Stepper *stepper, const SolveResult *result, uint32_t battery) {
    const Group *group = &stepper->groups[battery];
    for (size_t i = 0; i < group->count && stepper->told < ENDURANCE_TOLD_MAX; i++) {
        uint32_t load = group->loads[i];
        if (stepper->boxes[load] == BOX_ON &&
            (load == stepper->cycling ||
             phases_port(stepper->built, result, load).state > PHASES_ON)) {
            return true;
        }
    }
    return false;
}

/* True when a group that still lives has a box out at the present point; in a traced run, another
 * one than those told of. */
static bool any_out(const Stepper *stepper, const SolveResult *result, const Ending *endings) {
    for (uint32_t k = 0; k < stepper->built->network.battery_count; k++) {
        if (stepper->cells[k].removed) {
            continue;
        }
        if (stepper->traces != NULL
                ? any_untold(stepper, result, k)
                : !endings[k].found && first_out(stepper, result, k) != ID_NONE) {
            return true;
        }
    }
    return false;
}

/* Adds an event to the last moment of a trace. */
static void add_event(const Stepper *stepper, EnduranceTrace *trace, const char *event) {
    if (trace->count == 0) {
        return;
    }
    EndurancePoint *point = &trace->points[trace->count - 1];
    point->event =
        *point->event == '\0' ? event : arena_format(stepper->out, "%s; %s", point->event, event);
}

/* Tells of every box that has gone out, or come back, since the last settled point. One that finds
 * no state is switched off: what it does then is not followed. */
static void tell_boxes(Stepper *stepper, const SolveResult *result) {
    if (stepper->traces == NULL) {
        return;
    }
    uint32_t cycling = stepper->cycling;
    for (uint32_t k = 0; k < stepper->built->network.battery_count; k++) {
        const Group *group = &stepper->groups[k];
        for (size_t i = 0; i < group->count && !stepper->cells[k].removed; i++) {
            uint32_t load = group->loads[i];
            BoxState before = stepper->boxes[load];
            bool out =
                load == cycling || phases_port(stepper->built, result, load).state > PHASES_ON;
            if (before == BOX_HELD_OUT || out == (before == BOX_OUT)) {
                continue;
            }
            const char *end = stepper->model->terminals[stepper->supply->loads[load].port].end;
            add_event(stepper, &stepper->traces[k],
                      arena_format(stepper->out, out ? "%s goes out" : "%s comes back", end));
            stepper->told++;
            stepper->boxes[load] = !out ? BOX_ON : load == cycling ? BOX_HELD_OUT : BOX_OUT;
            if (load == cycling) {
                build_set_load(stepper->built, stepper->supply, load, 0.0);
            }
        }
    }
}

/* Boxes that hang on no battery any more draw nothing: spares the solver watching them go out. */
static void drop_orphans(Stepper *stepper) {
    Arena scratch = {0};
    bool *held = ARENA_ARRAY(&scratch, bool, stepper->supply->load_count);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t k = 0; k < stepper->built->network.battery_count; k++) {
            const Group *group = &stepper->groups[k];
            bool removed = stepper->cells[k].removed;
            for (size_t i = 0; i < group->count && removed == (pass == 1); i++) {
                if (pass == 0) {
                    held[group->loads[i]] = true;
                } else if (!held[group->loads[i]]) {
                    build_set_load(stepper->built, stepper->supply, group->loads[i], 0.0);
                }
            }
        }
    }
    arena_free(&scratch);
}

/* Takes batteries out whose usable share is drawn; true when there were any. */
static bool remove_empty(Stepper *stepper) {
    bool any = false;
    for (uint32_t i = 0; i < stepper->built->network.battery_count; i++) {
        Cells *cells = &stepper->cells[i];
        if (!cells->removed && cells->drawn_ah >= cells->limit_ah * (1.0 - 1e-9)) {
            cells->removed = true;
            any = true;
        }
    }
    return any;
}

/* Sees what is out at the beginning of a step and fills rate_ah, unless the step before ended in
 * just this point. False when there is no operating point. */
static bool begin_step(Stepper *stepper, bool settled, Ending *endings) {
    if (stepper->rates_known) {
        return true;
    }
    SolveResult result;
    if (!solve_point(stepper, &result)) {
        stepper->failed = true;
        return false;
    }
    network_state_set(&stepper->state, &stepper->built->network, &result.state);
    if (settled) {
        mark_endings(stepper, &result, endings);
        tell_boxes(stepper, &result);
    }
    return true;
}

/* rate_ah becomes the mean of itself and the rates of the point last solved. */
static void mean_rates(const Stepper *stepper, double *rate_ah) {
    for (uint32_t i = 0; i < stepper->built->network.battery_count; i++) {
        rate_ah[i] = (rate_ah[i] + stepper->rate_ah[i]) / 2.0;
    }
}

/* Minutes after which the first box goes out, at most `most_min`. In: the rates of the beginning.
 * Out: the mean ones up to then. The charge at which it goes out is found at the rates of the
 * beginning; the time it takes to get there follows from the mean ones. */
static double halve(Stepper *stepper, const double *from_ah, double *rate_ah, double most_min,
                    const Ending *endings) {
    double low_min = 0.0;
    double high_min = most_min;
    SolveResult result;
    for (int i = 0; i < ENDURANCE_HALVINGS; i++) {
        double middle_min = (low_min + high_min) / 2.0;
        draw(stepper, from_ah, rate_ah, middle_min);
        bool out = !solve_point(stepper, &result) || any_out(stepper, &result, endings);
        low_min = out ? low_min : middle_min;
        high_min = out ? middle_min : high_min;
    }
    draw(stepper, from_ah, rate_ah, low_min);
    if (!solve_point(stepper, &result)) {
        return high_min;
    }
    uint32_t strongest = 0;
    for (uint32_t i = 1; i < stepper->built->network.battery_count; i++) {
        strongest = rate_ah[i] > rate_ah[strongest] ? i : strongest;
    }
    double begin_ah = rate_ah[strongest];
    mean_rates(stepper, rate_ah);
    return rate_ah[strongest] > 0.0 ? high_min * begin_ah / rate_ah[strongest] : high_min;
}

/* One step of at most `most_min`. Returns false when nothing moves any more. */
static bool take_step(Stepper *stepper, double most_min, Ending *endings, double *from_ah,
                      double *rate_ah) {
    uint32_t batteries = stepper->built->network.battery_count;
    bool settled = isinf(most_min); /* all actions done: what is out now counts */
    if (!begin_step(stepper, settled, endings)) {
        return false;
    }
    stepper->rates_known = false;
    for (uint32_t i = 0; i < batteries; i++) {
        from_ah[i] = stepper->cells[i].drawn_ah;
        rate_ah[i] = stepper->rate_ah[i];
    }
    double minutes_min = fmin(step_minutes(stepper, rate_ah), most_min);
    if (isinf(minutes_min)) {
        return false;
    }
    /* The end at the rates of the beginning, then at the mean of both. */
    draw(stepper, from_ah, rate_ah, minutes_min);
    SolveResult result;
    if (!solve_point(stepper, &result)) {
        stepper->failed = true;
        return false;
    }
    bool falls = settled && any_out(stepper, &result, endings);
    if (falls) {
        minutes_min = halve(stepper, from_ah, rate_ah, minutes_min, endings);
    } else {
        mean_rates(stepper, rate_ah);
        draw(stepper, from_ah, rate_ah, 0.0);
        minutes_min = fmin(step_minutes(stepper, rate_ah), most_min);
    }
    draw(stepper, from_ah, rate_ah, minutes_min);
    bool emptied = remove_empty(stepper);
    if (emptied) {
        drop_orphans(stepper);
        build_rest_loads(stepper->built, &stepper->state);
    }
    stepper->rates_known = settled && !falls && !emptied;
    stepper->now_min += minutes_min;
    return true;
}

/* --- traces -------------------------------------------------------------------------------------
 */

/* The lowest voltage at a working box of a battery's group, NAN when none works. */
static double lowest_v(const Stepper *stepper, const SolveResult *result, uint32_t battery) {
    const Group *group = &stepper->groups[battery];
    double lowest = (double)NAN;
    for (size_t i = 0; i < group->count; i++) {
        PhasesPort port = phases_port(stepper->built, result, group->loads[i]);
        if (port.state <= PHASES_ON) {
            lowest = fmin(lowest, port.volts_v); /* a NAN loses */
        }
    }
    return lowest;
}

/* Keeps the present moment of every battery that is still watched. The point is solved for itself:
 * what the stepper knows stays as it is. */
static void trace_moment(Stepper *stepper, const char *event) {
    if (stepper->traces == NULL) {
        return;
    }
    uint32_t batteries = stepper->built->network.battery_count;
    double *rate_ah = ARENA_ARRAY(stepper->scratch, double, batteries);
    memcpy(rate_ah, stepper->rate_ah, batteries * sizeof *rate_ah);
    uint32_t cycling = stepper->cycling;
    SolveResult result;
    bool solved = solve_point(stepper, &result);
    for (uint32_t k = 0; k < batteries && solved; k++) {
        if (stepper->closed[k]) {
            continue;
        }
        EnduranceTrace *trace = &stepper->traces[k];
        const EndurancePoint *last = trace->count == 0 ? NULL : &trace->points[trace->count - 1];
        bool removed = stepper->cells[k].removed;
        if (last != NULL && !removed && *event == '\0' && stepper->now_min <= last->minute_min) {
            continue; /* nothing has moved */
        }
        /* An empty battery is out of the network: what it gave until now is told. */
        double amps_a = removed ? (last == NULL ? 0.0 : last->amps_a) : result.battery_a[k];
        EndurancePoint point = {
            .minute_min = stepper->now_min,
            .charge_pct = charge_pct(&stepper->cells[k]),
            .volts_v = stepper->built->network.batteries[k].open_v -
                       amps_a * stepper->built->batteries[k].r_ohm,
            .amps_a = amps_a,
            .lowest_v = removed ? (double)NAN : lowest_v(stepper, &result, k),
            .event = event,
        };
        EndurancePoint *place =
            ARENA_PUSH(stepper->out, trace->points, trace->count, trace->capacity);
        CHECK(place != NULL);
        *place = point;
        stepper->closed[k] = stepper->cells[k].removed;
    }
    memcpy(stepper->rate_ah, rate_ah, batteries * sizeof *rate_ah);
    stepper->cycling = cycling;
}

/* "SW_ESS to on": the action done last. */
static const char *action_text(const Stepper *stepper) {
    uint32_t count = 0;
    uint32_t first = supply_actions(stepper->model, stepper->situation, &count);
    const ActionRow *action = &stepper->model->set->action.rows[first + stepper->actions_done - 1];
    return arena_format(stepper->out, "%s to %s", action->item, action->position);
}

/* Moments after a step: a battery that is empty says so, once. */
static void trace_step(Stepper *stepper, bool *told) {
    if (stepper->traces == NULL) {
        return;
    }
    trace_moment(stepper, "");
    for (uint32_t k = 0; k < stepper->built->network.battery_count; k++) {
        if (!told[k] && stepper->cells[k].removed) {
            told[k] = true;
            add_event(stepper, &stepper->traces[k], "usable share drawn");
        }
    }
}

/* Every battery has come to its end; a traced run goes on until they are empty. */
static bool all_found(const Stepper *stepper, const Ending *endings) {
    for (uint32_t k = 0; k < stepper->built->network.battery_count; k++) {
        bool ended = stepper->traces == NULL ? endings[k].found : stepper->cells[k].removed;
        if (!ended) {
            return false;
        }
    }
    return true;
}

/* Temperature of a battery's cells: the coldest surrounding of its zone, or what the situation
 * says; NAN when nothing does. */
static double cells_degc(const Stepper *stepper, uint32_t battery) {
    const Model *model = stepper->model;
    if (!stepper->coldest) {
        return model->set->situation.rows[stepper->situation].battery_degc;
    }
    const SourceRow *source = &model->set->source.rows[stepper->built->batteries[battery].source];
    NodeId node = model->owners[model_owner(model, source->unit)].node;
    return model->set->zone.rows[model->node_zone[node]].ambient_min_degc;
}

/* Runs one situation in one state of age; endings by network battery. */
static void run_situation(Stepper *stepper, bool aged, Ending *endings) {
    uint32_t batteries = stepper->built->network.battery_count;
    stepper->cells = ARENA_ARRAY(stepper->scratch, Cells, batteries);
    stepper->rate_ah = ARENA_ARRAY(stepper->scratch, double, batteries);
    stepper->cells_ohm = ARENA_ARRAY(stepper->scratch, double, batteries);
    stepper->boxes = ARENA_ARRAY(stepper->scratch, BoxState, stepper->supply->load_count);
    double *from_ah = ARENA_ARRAY(stepper->scratch, double, batteries);
    double *rate_ah = ARENA_ARRAY(stepper->scratch, double, batteries);
    for (uint32_t i = 0; i < batteries; i++) {
        ColdFactors cold = cold_factors(stepper->model, stepper->built->batteries[i].battery,
                                        cells_degc(stepper, i));
        build_set_resistance(stepper->built, stepper->model, i, cold.resistance);
        fill_cells(stepper->model, &stepper->built->batteries[i], aged, cold.capacity,
                   &stepper->cells[i]);
        endings[i] = (Ending){.minutes_min = (double)INFINITY, .load = ID_NONE};
    }
    const SolveResult *before = &stepper->phases->results[stepper->phase];
    stepper->state =
        stepper->phases->solved[stepper->phase]
            ? network_state_copy(stepper->scratch, &stepper->built->network, &before->state)
            : network_state_rest(stepper->scratch, &stepper->built->network);
    remove_empty(stepper);
    find_groups(stepper);
    set_actions(stepper);
    bool *told = ARENA_ARRAY(stepper->scratch, bool, batteries);
    trace_moment(stepper, "");
    double left_min = action_delay_min(stepper);
    for (uint32_t step = 0; step < ENDURANCE_STEPS_MAX && !all_found(stepper, endings); step++) {
        double began_min = stepper->now_min;
        bool moved = true;
        if (left_min > 0.0) {
            moved = take_step(stepper, left_min, endings, from_ah, rate_ah);
        }
        if (stepper->failed || (!moved && isinf(left_min))) {
            return;
        }
        if (!moved) {
            stepper->now_min += left_min; /* nothing draws until the next action */
        }
        trace_step(stepper, told);
        left_min -= stepper->now_min - began_min;
        if (left_min <= 1e-12) {
            stepper->actions_done++;
            set_actions(stepper);
            trace_moment(stepper, stepper->traces == NULL ? "" : action_text(stepper));
            left_min = action_delay_min(stepper);
        }
    }
    trace_step(stepper, told);
}

/* --- all situations -----------------------------------------------------------------------------
 */

static bool same_actions(const Model *model, uint32_t left, uint32_t right) {
    uint32_t counts[2];
    const ActionRow *a = &model->set->action.rows[supply_actions(model, left, &counts[0])];
    const ActionRow *b = &model->set->action.rows[supply_actions(model, right, &counts[1])];
    if (counts[0] != counts[1]) {
        return false;
    }
    for (uint32_t i = 0; i < counts[0]; i++) {
        bool same_delay = (isnan(a[i].delay_s) && isnan(b[i].delay_s)) ||
                          fabs(a[i].delay_s - b[i].delay_s) <= 0.0;
        if (!same_delay || strcmp(a[i].item, b[i].item) != 0 ||
            strcmp(a[i].position, b[i].position) != 0) {
            return false;
        }
    }
    return true;
}

/* True when two situations differ in nothing but the battery asked about. */
static bool same_run(const Model *model, uint32_t left, uint32_t right) {
    const SituationRow *a = &model->set->situation.rows[left];
    const SituationRow *b = &model->set->situation.rows[right];
    bool same_cells = (isnan(a->battery_degc) && isnan(b->battery_degc)) ||
                      fabs(a->battery_degc - b->battery_degc) <= 0.0;
    return same_cells && strcmp(a->phase, b->phase) == 0 && strcmp(a->lost, b->lost) == 0 &&
           same_actions(model, left, right);
}

/* Network battery of a source row, NETWORK_NONE. */
static uint32_t battery_of(const PowerNetwork *built, uint32_t source) {
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        if (built->batteries[i].source == source) {
            return i;
        }
    }
    return NETWORK_NONE;
}

static void store(Arena *out, const Model *model, const Supply *supply, const Ending *ending,
                  bool failed, EnduranceSolved *solved) {
    *solved = (EnduranceSolved){ending->minutes_min, "", ending->load, (double)NAN};
    if (failed && !ending->found) {
        solved->minutes_min = (double)NAN;
        solved->ends_with = "no operating point found";
    } else if (!ending->found) {
        solved->ends_with = "nothing: no current is drawn";
    } else if (ending->load == ID_NONE) {
        solved->ends_with = "the battery's usable share is drawn";
    } else {
        const SupplyLoad *load = &supply->loads[ending->load];
        solved->ends_with =
            arena_format(out, "%s goes out below %.1f V", model->terminals[load->port].end,
                         isnan(load->minimum_v) ? 0.0 : load->minimum_v);
    }
}

static void judge(const Model *model, const LoadsEndurance *row, const EnduranceSolved *solved,
                  Findings *findings) {
    double least_min = fmin(row->plain_min, solved->minutes_min); /* a NAN loses */
    if (isnan(row->asked_min) || !(least_min < row->asked_min)) {
        return;
    }
    const SituationRow *situation = &model->set->situation.rows[row->situation];
    Finding *finding = report_row(
        findings, model, RULE_LOADS_ENDURANCE, TABLE_situation, row->situation,
        row->aged ? "asked_aged_min" : "asked_new_min",
        "%s: %s lasts %.1f min %s, %.4g are asked for (plain %.1f, %s: %s)", situation->situation,
        situation->battery, least_min, row->aged ? "aged" : "new", row->asked_min, row->plain_min,
        isnan(solved->minutes_min)
            ? "not solved"
            : arena_format(findings->arena, "solved %.1f", solved->minutes_min),
        solved->ends_with);
    finding->value = least_min;
    finding->limit = row->asked_min;
    finding->unit = "min";
    finding->source = row->aged ? "situation.asked_aged_min" : "situation.asked_new_min";
    finding->rows = situation->battery;
    finding->hint = "shed more in this situation, or fit a larger battery";
}

/* Which of the three runs of a situation. */
typedef enum RunKind {
    RUN_ENDINGS, /* the minutes, for findings */
    RUN_TRACE,   /* the moments on the way, until the batteries are empty */
    RUN_COLD     /* the minutes with cells as cold as their zones ever are */
} RunKind;

typedef struct Runs {
    Arena *out;
    const Model *model;
    const Supply *supply;
    PowerNetwork *built;
    const Phases *phases;
    const Loads *loads;
    Endurance *endurance;
} Runs;

/* Runs entry `first` and keeps what it found for all entries that are the same run. */
static void run_entry(const Runs *runs, RunKind kind, uint32_t first, bool *done) {
    const LoadsEndurance *row = &runs->loads->endurances[first];
    PowerNetwork *built = runs->built;
    Endurance *endurance = runs->endurance;
    Arena scratch = {0};
    Stepper stepper = {
        .scratch = &scratch,
        .model = runs->model,
        .supply = runs->supply,
        .built = built,
        .phases = runs->phases,
        .situation = row->situation,
        .phase = name_map_find(&runs->model->phase_by_name,
                               runs->model->set->situation.rows[row->situation].phase),
        .coldest = kind == RUN_COLD,
    };
    Ending *endings = ARENA_ARRAY(&scratch, Ending, built->network.battery_count);
    if (kind == RUN_TRACE) {
        stepper.out = runs->out;
        stepper.traces = ARENA_ARRAY(&scratch, EnduranceTrace, built->network.battery_count);
        stepper.closed = ARENA_ARRAY(&scratch, bool, built->network.battery_count);
    }
    run_situation(&stepper, row->aged, endings);
    endurance->solves += stepper.solves;
    for (uint32_t k = first; k < runs->loads->endurance_count; k++) {
        const LoadsEndurance *other = &runs->loads->endurances[k];
        uint32_t battery =
            other->source == ID_NONE ? NETWORK_NONE : battery_of(built, other->source);
        if (done[k] || battery == NETWORK_NONE || other->aged != row->aged ||
            !same_run(runs->model, row->situation, other->situation)) {
            continue;
        }
        done[k] = true;
        if (kind == RUN_TRACE) {
            endurance->traces[k] = stepper.traces[battery];
            continue;
        }
        EnduranceSolved *solved = kind == RUN_COLD ? &endurance->cold[k] : &endurance->solved[k];
        store(runs->out, runs->model, runs->supply, &endings[battery], stepper.failed, solved);
        solved->cells_degc = cells_degc(&stepper, battery);
    }
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        build_set_resistance(built, runs->model, i, 1.0);
    }
    arena_free(&scratch);
}

/* True when the cold is worth a run of its own: an aged battery whose zone gets colder than what
 * the situation reckons with, and whose library has rows for it. */
static bool wants_cold(const Runs *runs, uint32_t entry) {
    const LoadsEndurance *row = &runs->loads->endurances[entry];
    return row->aged && isnan(runs->model->set->situation.rows[row->situation].battery_degc) &&
           cold_factors(runs->model, row->battery, 0.0).known;
}

static void run_all(const Runs *runs, RunKind kind) {
    Arena scratch = {0};
    uint32_t count = runs->loads->endurance_count;
    bool *done = ARENA_ARRAY(&scratch, bool, count);
    for (uint32_t i = 0; i < count; i++) {
        if (!done[i] && runs->loads->endurances[i].source != ID_NONE &&
            (kind != RUN_COLD || wants_cold(runs, i))) {
            run_entry(runs, kind, i, done);
        }
    }
    arena_free(&scratch);
}

bool endurance_run(Arena *out, const Model *model, const Supply *supply, PowerNetwork *built,
                   const Phases *phases, const Loads *loads, bool traced, Endurance *endurance,
                   Findings *findings) {
    uint32_t count = loads->endurance_count;
    *endurance = (Endurance){
        .solved = ARENA_ARRAY(out, EnduranceSolved, count),
        .traces = traced ? ARENA_ARRAY(out, EnduranceTrace, count) : NULL,
        .cold = traced ? ARENA_ARRAY(out, EnduranceSolved, count) : NULL,
        .count = count,
    };
    for (uint32_t i = 0; i < count; i++) {
        endurance->solved[i] = (EnduranceSolved){
            .minutes_min = (double)NAN,
            .ends_with = loads->endurances[i].source == ID_NONE
                             ? "no battery is named"
                             : "the battery has no place in the network",
            .load = ID_NONE,
            .cells_degc = (double)NAN,
        };
        if (traced) {
            endurance->cold[i] = (EnduranceSolved){(double)NAN, "", ID_NONE, (double)NAN};
        }
    }
    Runs runs = {out, model, supply, built, phases, loads, endurance};
    run_all(&runs, RUN_ENDINGS);
    if (traced) {
        run_all(&runs, RUN_TRACE);
        run_all(&runs, RUN_COLD);
    }
    for (uint32_t i = 0; i < count; i++) {
        judge(model, &loads->endurances[i], &endurance->solved[i], findings);
    }
    return true;
}

static void step_rows(Arena *arena, const SituationRow *situation, const char *state,
                      const EnduranceTrace *trace, TableSet *results) {
    for (size_t i = 0; i < trace->count; i++) {
        const EndurancePoint *point = &trace->points[i];
        EnduranceStepRow *row = table_append(results, arena, TABLE_endurance_step);
        row->situation = situation->situation;
        row->state = state;
        row->step = (int32_t)i + 1;
        row->battery = situation->battery;
        row->minute_min = point->minute_min;
        row->charge_pct = point->charge_pct;
        row->volts_v = point->volts_v;
        row->amps_a = point->amps_a;
        row->lowest_v = point->lowest_v;
        row->event = point->event;
    }
}

static void solved_row(Arena *arena, const SituationRow *situation, const LoadsEndurance *entry,
                       const char *state, const EnduranceSolved *solved, TableSet *results) {
    EnduranceRow *row = table_append(results, arena, TABLE_endurance);
    row->situation = situation->situation;
    row->state = state;
    row->battery = situation->battery;
    row->load_a = entry->load_a;
    row->plain_min = entry->plain_min;
    row->solved_min = solved->minutes_min;
    row->ends_with = solved->ends_with;
    row->asked_min = entry->asked_min;
    row->battery_degc = solved->cells_degc;
}

void endurance_rows(Arena *arena, const Model *model, const Loads *loads,
                    const Endurance *endurance, TableSet *results) {
    for (uint32_t i = 0; i < loads->endurance_count; i++) {
        const LoadsEndurance *entry = &loads->endurances[i];
        const SituationRow *situation = &model->set->situation.rows[entry->situation];
        const char *state = entry->aged ? "aged" : "new";
        solved_row(arena, situation, entry, state, &endurance->solved[i], results);
        if (endurance->cold != NULL && *endurance->cold[i].ends_with != '\0') {
            LoadsEndurance cold = *entry;
            cold.asked_min = (double)NAN;
            solved_row(arena, situation, &cold, "aged, cold", &endurance->cold[i], results);
        }
        if (endurance->traces != NULL) {
            step_rows(arena, situation, state, &endurance->traces[i], results);
        }
    }
}

void endurance_why(Buffer *out, const Model *model, const Loads *loads, const Endurance *endurance,
                   uint32_t entry) {
    const LoadsEndurance *row = &loads->endurances[entry];
    const EnduranceSolved *solved = &endurance->solved[entry];
    buffer_format(out,
                  "solved: %.1f min until %s (voltage curve, inner resistance and network; the "
                  "pilot's actions with their delays; cells %s)\n",
                  solved->minutes_min, solved->ends_with,
                  isnan(solved->cells_degc)
                      ? "not derated for cold"
                      : arena_format(out->arena, "at %.0f degC", solved->cells_degc));
    if (endurance->cold != NULL && *endurance->cold[entry].ends_with != '\0') {
        buffer_format(out, "cold: %.1f min with cells at %.0f degC, the coldest of its zone\n",
                      endurance->cold[entry].minutes_min, endurance->cold[entry].cells_degc);
    }
    if (!isnan(row->asked_min)) {
        buffer_format(out, "asked: %.0f min for %s\n", row->asked_min,
                      model->set->situation.rows[row->situation].situation);
    }
}
