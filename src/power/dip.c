/* Method: one solve for a row of the profile. A coil whose every state brings about the other is
 * what the solver calls oscillating: the contactor flutters, and the moment is left out of what is
 * said of boxes. A box that does the same is taken as out. */
#include "power/dip.h"

#include <math.h>
#include <string.h>

#include "model/report.h"
#include "power/cold.h"
#include "power/crank.h"

typedef struct Stepping {
    Arena *out;
    const Model *model;
    const Supply *supply;
    PowerNetwork *built;
    const Phases *phases;
    Dip *dip;
    Findings *findings;
    bool traced;
    const char *const *positions;
    NetworkState state;
    bool *was_on;       /* by load: on before the starter turned */
    bool *is_out;       /* by load */
    double *since_s;    /* by load: while it is out */
    uint32_t *restarts; /* by load: its place in dip->restarts, ID_NONE */
    size_t capacity;
} Stepping;

/* --- preparing ----------------------------------------------------------------------------------
 */

static void set_cold(PowerNetwork *built, const Model *model, double cells_degc) {
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        ColdFactors factors = cold_factors(model, built->batteries[i].battery, cells_degc);
        build_set_resistance(built, model, i, factors.resistance);
    }
}

static void prepare(Stepping *stepping) {
    const Model *model = stepping->model;
    const Supply *supply = stepping->supply;
    PowerNetwork *built = stepping->built;
    uint32_t phase = stepping->dip->phase;
    stepping->positions = crank_positions(stepping->out, model, supply, phase);
    stepping->state =
        network_state_copy(stepping->out, &built->network, &stepping->phases->results[phase].state);
    phases_set(built, model, supply, phase, stepping->positions, &stepping->state);
    set_cold(built, model, stepping->dip->cells_degc);
    stepping->was_on = ARENA_ARRAY(stepping->out, bool, supply->load_count);
    stepping->is_out = ARENA_ARRAY(stepping->out, bool, supply->load_count);
    stepping->since_s = ARENA_ARRAY(stepping->out, double, supply->load_count);
    stepping->restarts = ARENA_ARRAY(stepping->out, uint32_t, supply->load_count);
    const PhasesPort *before = &stepping->phases->ports[(size_t)phase * supply->load_count];
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const char *lives =
            supply->loads[i].load_row == ID_NONE ||
                    model->owners[supply->loads[i].owner].kind != OWNER_UNIT
                ? ""
                : model->set->part.rows[model->owners[supply->loads[i].owner].part].supply;
        /* A box with a battery inside does not start again. */
        bool bridges = strcmp(lives, "powered, own battery") == 0;
        bool starter =
            built->starter >= built->load_first[i] && built->starter < built->load_first[i + 1];
        stepping->restarts[i] = ID_NONE;
        stepping->was_on[i] = supply->loads[i].load_row != ID_NONE && !starter && !bridges &&
                              before[i].state == PHASES_ON;
    }
}

/* --- one moment ---------------------------------------------------------------------------------
 */

static double bus_v(const Stepping *stepping, const SolveResult *result, uint32_t bus) {
    TerminalId stud = stepping->model->buses[bus].stud;
    uint32_t node = stud == ID_NONE
                        ? NETWORK_NONE
                        : stepping->built->point_node[stepping->model->terminals[stud].pin_first];
    if (node == NETWORK_NONE || result->node_state[node] == SOLVE_NODE_DEAD) {
        return (double)NAN;
    }
    return result->node_v[node];
}

/* The first contactor that is not where it is to be. */
static void look_at_coils(const Stepping *stepping, const SolveResult *result, DipStep *step) {
    for (uint32_t i = 0; i < stepping->supply->coil_count && step->coil == ID_NONE; i++) {
        const SupplyCoil *coil = &stepping->supply->coils[i];
        bool energised = strcmp(stepping->positions[coil->owner], coil->rest) != 0;
        if (energised && !result->state.coil_energised[i]) {
            step->coil = i;
            step->coil_v = result->coil_v[i];
        }
    }
}

static DipRestart *restart_of(Stepping *stepping, uint32_t load) {
    Dip *dip = stepping->dip;
    if (stepping->restarts[load] == ID_NONE) {
        stepping->restarts[load] = dip->restart_count;
        size_t count = dip->restart_count;
        *ARENA_PUSH(stepping->out, dip->restarts, count, stepping->capacity) = (DipRestart){
            .load = load,
            .lowest_v = (double)INFINITY,
            .first_s = (double)NAN,
            .back_s = (double)NAN,
            .restart_s =
                stepping->model->set->load.rows[stepping->supply->loads[load].load_row].restart_s,
            .needs = "",
        };
        dip->restart_count = (uint32_t)count;
    }
    return &dip->restarts[stepping->restarts[load]];
}

static void look_at_boxes(Stepping *stepping, const SolveResult *result, uint32_t cycling,
                          double second_s) {
    for (uint32_t i = 0; i < stepping->supply->load_count; i++) {
        if (!stepping->was_on[i]) {
            continue;
        }
        PhasesPort port = phases_port(stepping->built, result, i);
        bool out = port.state > PHASES_ON || i == cycling;
        if (out) {
            DipRestart *restart = restart_of(stepping, i);
            restart->lowest_v = fmin(restart->lowest_v, port.volts_v);
            if (!stepping->is_out[i]) {
                restart->times++;
                restart->first_s = restart->times == 1 ? second_s : restart->first_s;
                restart->back_s = (double)NAN;
                stepping->since_s[i] = second_s;
            }
        } else if (stepping->is_out[i]) {
            DipRestart *restart = restart_of(stepping, i);
            restart->back_s = second_s;
            restart->out_s += second_s - stepping->since_s[i];
        }
        stepping->is_out[i] = out;
    }
}

static void tell_unsolved(const Stepping *stepping, const SolveResult *result,
                          const DipStep *step) {
    Finding *finding = report_row(stepping->findings, stepping->model, RULE_SOLVE_CONVERGE,
                                  TABLE_job, 0, "crank_a",
                                  "no operating point %.2f s after the starter's contactor closed "
                                  "was found; %.3g A are left over",
                                  step->second_s, result->residual_a);
    finding->value = result->residual_a;
    finding->unit = "A";
}

static void take_step(Stepping *stepping, const CrankProfileRow *row, DipStep *step) {
    PowerNetwork *built = stepping->built;
    double crank_a = stepping->model->set->job.rows[0].crank_a;
    *step = (DipStep){
        .second_s = row->second_s,
        .what = row->what,
        .asked_a = crank_a * row->current_pct / 100.0,
        .starter_v = (double)NAN,
        .coil = ID_NONE,
        .coil_v = (double)NAN,
    };
    built->network.loads[built->starter].nominal_a = step->asked_a;
    SolveOptions options = {.skip_expand = !stepping->traced};
    SolveResult result;
    stepping->dip->solves++;
    bool found = phases_solve(stepping->phases->plan, built, stepping->supply, &stepping->state,
                              &options, NULL, &result, NULL);
    uint32_t cycling = ID_NONE;
    if (!found && result.status == SOLVE_OSCILLATES) {
        if (result.offender_kind == NETWORK_COIL) {
            step->coil = result.offender;
            step->coil_v = result.coil_v[result.offender];
            step->flutters = true;
            return;
        }
        cycling = result.offender_kind == NETWORK_LOAD ? built->load_supply[result.offender]
                                                       : NETWORK_NONE;
        found = cycling != NETWORK_NONE;
    }
    if (!found) {
        tell_unsolved(stepping, &result, step);
        return;
    }
    step->solved = true;
    step->starter_a = result.load_a[built->starter];
    step->starter_v = result.load_v[built->starter];
    for (uint32_t bus = 0; stepping->traced && bus < stepping->model->set->bus.count; bus++) {
        if (bus == 0) {
            step->bus_v = ARENA_ARRAY(stepping->out, double, stepping->model->set->bus.count);
        }
        step->bus_v[bus] = bus_v(stepping, &result, bus);
    }
    look_at_coils(stepping, &result, step);
    look_at_boxes(stepping, &result, cycling, row->second_s);
    network_state_set(&stepping->state, &built->network, &result.state);
}

/* --- judging ------------------------------------------------------------------------------------
 */

/* One finding for each contactor: the first moment at which it is not held. */
static void judge_contactors(const Stepping *stepping) {
    const Dip *dip = stepping->dip;
    const Supply *supply = stepping->supply;
    Arena scratch = {0};
    uint32_t *times = ARENA_ARRAY(&scratch, uint32_t, supply->coil_count);
    for (uint32_t i = 0; i < dip->step_count; i++) {
        if (dip->steps[i].coil != ID_NONE) {
            times[dip->steps[i].coil]++;
        }
    }
    for (uint32_t i = 0; i < dip->step_count; i++) {
        const DipStep *step = &dip->steps[i];
        if (step->coil == ID_NONE || times[step->coil] == 0) {
            continue;
        }
        times[step->coil] = 0;
        const NetworkCoil *element = &stepping->built->network.coils[step->coil];
        OwnerId owner = supply->coils[step->coil].owner;
        const char *tag = stepping->model->owners[owner].tag;
        Finding *finding =
            step->flutters
                ? report_owner(
                      stepping->findings, stepping->model, RULE_TIME_CHATTER, owner,
                      "%s chatters %.2f s after the starter's contactor closed, at %.0f A: "
                      "closed, its coil has less than the %.1f V it lets go at; open, more "
                      "than the %.1f V it picks up at",
                      tag, step->second_s, step->asked_a, element->dropout_v, element->pickup_v)
                : report_owner(stepping->findings, stepping->model, RULE_TIME_CHATTER, owner,
                               "%s lets go %.2f s after the starter's contactor closed, at %.0f A: "
                               "its coil has %.1f V and lets go below %.1f V",
                               tag, step->second_s, step->asked_a, step->coil_v,
                               element->dropout_v);
        finding->table = "crank_step";
        finding->key = arena_format(stepping->findings->arena, "%s %u", tag, i + 1);
        finding->value = step->flutters ? (double)NAN : step->coil_v;
        finding->limit = element->dropout_v;
        finding->unit = "V";
        finding->rows = "crank_profile";
        finding->hint =
            "a battery of less resistance, thicker starter cables, warmer batteries, or "
            "a coil fed from a battery that does not crank";
    }
    arena_free(&scratch);
}

static void close_open_ends(Stepping *stepping, double end_s) {
    for (uint32_t i = 0; i < stepping->supply->load_count; i++) {
        if (stepping->is_out[i]) {
            restart_of(stepping, i)->out_s += end_s - stepping->since_s[i];
        }
    }
}

bool dip_run(Arena *out, const Model *model, const Supply *supply, PowerNetwork *built,
             const Phases *phases, bool traced, Dip *dip, Findings *findings) {
    *dip = (Dip){.phase = ID_NONE, .starter_part = ID_NONE, .cells_degc = (double)NAN};
    const JobRow *job = &model->set->job.rows[0];
    dip->phase = crank_phase(model, phases);
    TerminalId port = *job->starter == '\0' ? ID_NONE : model_terminal(model, job->starter);
    if (built->starter == NETWORK_NONE || isnan(job->crank_a) || dip->phase == ID_NONE ||
        port == ID_NONE) {
        return true;
    }
    const ModelOwner *owner = &model->owners[model->terminals[port].owner];
    uint32_t count = 0;
    uint32_t first = owner->kind != OWNER_UNIT
                         ? 0
                         : model_rows_of(model, TABLE_crank_profile,
                                         model->set->part.rows[owner->part].part, &count);
    if (count == 0) {
        return true;
    }
    dip->done = true;
    dip->starter_part = owner->part;
    dip->cells_degc = job->crank_degc;
    dip->steps = ARENA_ARRAY(out, DipStep, count);
    dip->step_count = count;
    Stepping stepping = {
        .out = out,
        .model = model,
        .supply = supply,
        .built = built,
        .phases = phases,
        .dip = dip,
        .findings = findings,
        .traced = traced,
    };
    prepare(&stepping);
    const CrankProfileRow *rows = &model->set->crank_profile.rows[first];
    for (uint32_t i = 0; i < count; i++) {
        take_step(&stepping, &rows[i], &dip->steps[i]);
    }
    close_open_ends(&stepping, rows[count - 1].second_s);
    judge_contactors(&stepping);
    set_cold(built, model, (double)NAN);
    built->network.loads[built->starter].nominal_a = 0.0;
    return true;
}

/* The needs of which a way is lost with this box. */
static const char *needs_on(Arena *out, const Service *service, ServiceRun *run, uint32_t load) {
    ServiceAnswer answer = service_ask(run, &(ServiceLoss){.loads = &load, .load_count = 1});
    Buffer names = {.arena = out};
    uint32_t before = ID_NONE;
    for (uint32_t i = 0; i < answer.way_count; i++) {
        uint32_t need = service_way(service, answer.ways[i])->need;
        if (need != before) {
            buffer_format(&names, "%s%s", names.length == 0 ? "" : " ",
                          service_need_name(service, need));
        }
        before = need;
    }
    return names.length == 0 ? "" : names.bytes;
}

void dip_judge(Arena *out, const Model *model, const Supply *supply, const Service *service,
               Dip *dip, Findings *findings) {
    if (!dip->done || dip->restart_count == 0 || service == NULL) {
        return;
    }
    Arena scratch = {0};
    ServiceRun *run = service_run_new(&scratch, service);
    Buffer names = {.arena = findings->arena};
    double lowest_v = (double)INFINITY;
    double longest_s = 0.0;
    bool unknown = false;
    for (uint32_t i = 0; i < dip->restart_count; i++) {
        DipRestart *restart = &dip->restarts[i];
        restart->needs = needs_on(out, service, run, restart->load);
        if (*restart->needs == '\0') {
            continue;
        }
        buffer_format(&names, "%s%s", names.length == 0 ? "" : " ",
                      model->terminals[supply->loads[restart->load].port].end);
        lowest_v = fmin(lowest_v, restart->lowest_v);
        double ready_s = restart->back_s + restart->restart_s;
        unknown = unknown || isnan(ready_s);
        longest_s = fmax(longest_s, ready_s); /* a NAN loses */
    }
    arena_free(&scratch);
    if (names.length == 0) {
        return;
    }
    Finding *finding = report_row(
        findings, model, RULE_TIME_RESTART, TABLE_job, 0, "crank_a",
        "starting the engine puts these out (lowest %.1f V), and needs rest on them: %s; the last "
        "one works again %.1f s after the starter's contactor closed%s",
        lowest_v, names.bytes, longest_s, unknown ? ", others at a time that is not known" : "");
    finding->value = longest_s;
    finding->unit = "s";
    finding->rows = names.bytes;
    finding->hint = "start with them off, warm the battery, or feed them from one that does not "
                    "crank; `show restart` has each with its times";
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void step_row(Arena *arena, const char *at, uint32_t step, double second_s, double volts_v,
                     double amps_a, const char *event, TableSet *results) {
    CrankStepRow *row = table_append(results, arena, TABLE_crank_step);
    row->at = at;
    row->step = (int32_t)step + 1;
    row->second_s = second_s;
    row->volts_v = volts_v;
    row->amps_a = amps_a;
    row->event = event;
}

static void coil_rows(Arena *arena, const Model *model, const Supply *supply, const Dip *dip,
                      TableSet *results) {
    for (uint32_t coil = 0; coil < supply->coil_count; coil++) {
        for (uint32_t i = 0; i < dip->step_count; i++) {
            const DipStep *step = &dip->steps[i];
            if (step->coil == coil) {
                step_row(arena, model->owners[supply->coils[coil].owner].tag, i, step->second_s,
                         step->coil_v, (double)NAN, step->flutters ? "chatters" : "lets go",
                         results);
            }
        }
    }
}

void dip_rows(Arena *arena, const Model *model, const Supply *supply, const Dip *dip,
              TableSet *results) {
    if (!dip->done) {
        return;
    }
    for (uint32_t bus = 0; bus < model->set->bus.count; bus++) {
        for (uint32_t i = 0; i < dip->step_count; i++) {
            const DipStep *step = &dip->steps[i];
            if (step->bus_v != NULL && !isnan(step->bus_v[bus])) {
                step_row(arena, model->set->bus.rows[bus].bus, i, step->second_s, step->bus_v[bus],
                         (double)NAN, "", results);
            }
        }
    }
    for (uint32_t i = 0; i < dip->step_count; i++) {
        const DipStep *step = &dip->steps[i];
        if (step->bus_v != NULL) {
            step_row(arena, model->set->job.rows[0].starter, i, step->second_s, step->starter_v,
                     step->starter_a, step->what, results);
        }
    }
    coil_rows(arena, model, supply, dip, results);
    for (uint32_t i = 0; i < dip->restart_count; i++) {
        const DipRestart *restart = &dip->restarts[i];
        const SupplyLoad *load = &supply->loads[restart->load];
        RestartRow *row = table_append(results, arena, TABLE_restart);
        row->port = model->terminals[load->port].end;
        row->lowest_v = restart->lowest_v;
        row->minimum_v = load->minimum_v;
        row->times = (int32_t)restart->times;
        row->first_s = restart->first_s;
        row->back_s = restart->back_s;
        row->out_s = restart->out_s;
        row->restart_s = restart->restart_s;
        row->ready_s = restart->back_s + restart->restart_s;
        row->needs = restart->needs;
    }
}
