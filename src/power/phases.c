/* Method: one plan of the solver for all phases; a phase only changes numbers and switch states.
 * Judging walks the loads, the gates and the coils once for each phase. */
#include "power/phases.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "power/crank.h"
#include "power/ground_return.h"
#include "model/report.h"

/* A box with less than this share of the nominal voltage has no supply: what is left is a leak. */
#define PHASES_DEAD_SHARE 0.1

typedef struct Run {
    Arena *out;
    const Model *model;
    const Wiring *wiring;
    const Supply *supply;
    PowerNetwork *built;
    const double *rating_a;
    Phases *phases;
    Findings *findings;
    uint32_t *ground_node;   /* by load: node its drop is counted to */
    uint32_t *worst_minimum; /* by load: phase with the lowest voltage below the minimum, ID_NONE */
    uint32_t *worst_drop;    /* by load: phase with the largest drop over the limit, ID_NONE */
    double *drop_v;          /* by load: that drop */
    uint32_t *worst_device;  /* by owner: phase with the largest current over the rating, ID_NONE */
    double *device_a;        /* by owner: that current */
} Run;

/* --- one phase ----------------------------------------------------------------------------------
 */

void phases_set(PowerNetwork *built, const Model *model, const Supply *supply, uint32_t phase,
                const char *const *positions, NetworkState *state) {
    for (uint32_t i = 0; i < supply->load_count; i++) {
        build_set_load(built, supply, i, supply->loads[i].phase_a[phase]);
    }
    build_rest_loads(built, state);
    build_set_positions(built, supply, positions, state);
    build_set_sources(built, model, positions, model->set->phase.rows[phase].engine);
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        double charge_pct = model->set->source.rows[built->batteries[i].source].charge_pct;
        build_set_charge(built, model, i, isnan(charge_pct) ? 100.0 : charge_pct, state);
    }
}

/* True when an alternator's field port has the voltage it needs. */
static bool has_field(const PowerNetwork *built, const SolveResult *result, uint32_t alternator) {
    uint32_t field = built->alternators[alternator].field;
    if (field == NETWORK_NONE) {
        return true;
    }
    return result->load_v[field] >= built->alternators[alternator].field_v;
}

bool phases_stop_unfed(PowerNetwork *built, const SolveResult *result, bool *unfed) {
    bool stopped = false;
    for (uint32_t i = 0; i < built->network.alternator_count; i++) {
        NetworkAlternator *alternator = &built->network.alternators[i];
        if (alternator->running && !has_field(built, result, i)) {
            alternator->running = false;
            stopped = true;
            if (unfed != NULL) {
                unfed[i] = true;
            }
        }
    }
    return stopped;
}

bool phases_solve(SolvePlan *plan, PowerNetwork *built, const Supply *supply,
                  const NetworkState *start, const SolveOptions *options, Arena *out,
                  SolveResult *result, bool *unfed) {
    for (uint32_t i = 0; unfed != NULL && i < built->network.alternator_count; i++) {
        unfed[i] = false;
    }
    bool turned = false; /* once: what turns back has no way that suits it */
    for (;;) {
        bool found = solve_run(plan, start, options, out, result);
        if (found && !turned && build_turn_motors(built, supply, result->load_v)) {
            turned = true;
            continue;
        }
        if (!found || !phases_stop_unfed(built, result, unfed)) {
            return found;
        }
    }
}

/* Puts coils, with their contacts, where the phase expects them; moved[coil] says which moved. */
static bool expect_coils(const PowerNetwork *built, const Supply *supply,
                         const char *const *positions, NetworkState *state, bool *moved) {
    bool any = false;
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        const SupplyCoil *coil = &supply->coils[i];
        bool energised = strcmp(positions[coil->owner], coil->rest) != 0;
        moved[i] = energised != state->coil_energised[i];
        state->coil_energised[i] = energised;
        any = any || moved[i];
    }
    for (uint32_t i = 0; any && i < built->network.contact_count; i++) {
        const NetworkContact *contact = &built->network.contacts[i];
        if (contact->coil != NETWORK_NONE) {
            state->contact_closed[i] =
                state->coil_energised[contact->coil] == contact->closed_when_energised;
        }
    }
    return any;
}

/* Spots of the sources that are on. */
static uint32_t live_spots(const Run *run, uint32_t *spots) {
    const Model *model = run->model;
    const Network *network = &run->built->network;
    uint32_t count = 0;
    for (uint32_t i = 0; i < network->battery_count + network->alternator_count; i++) {
        bool battery = i < network->battery_count;
        uint32_t at = battery ? i : i - network->battery_count;
        bool on = battery ? !isinf(network->batteries[at].ohm) : network->alternators[at].running;
        const SourceRow *source =
            &model->set->source.rows[battery ? run->built->batteries[at].source
                                             : run->built->alternators[at].source];
        uint32_t plus = gates_owner_point(model, model_owner(model, source->unit), source->plus);
        if (on && plus != ID_NONE) {
            spots[count++] = run->supply->spots.point_spot[plus];
        }
    }
    return count;
}

/* True when the coils that are to pick up can do so one after the other: each is reached from a
 * source while its own contacts, and those of the ones after it, still stand as before. A contactor
 * that only its own contact would hold is not. */
static bool pick_up_in_turn(const Run *run, uint32_t phase, const NetworkState *before,
                            const bool *moved, Arena *scratch) {
    const Supply *supply = run->supply;
    const SupplyCoil *coils = supply->coils;
    const char **positions = ARENA_ARRAY(scratch, const char *, run->model->owner_count);
    memcpy(positions, supply->positions[phase], run->model->owner_count * sizeof *positions);
    uint32_t waiting = 0;
    bool *waits = ARENA_ARRAY(scratch, bool, supply->coil_count);
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        waits[i] = moved[i] && !before->coil_energised[i];
        if (waits[i]) {
            positions[coils[i].owner] = coils[i].rest;
            waiting++;
        }
    }
    const Network *network = &run->built->network;
    uint32_t *starts =
        ARENA_ARRAY(scratch, uint32_t, (size_t)network->battery_count + network->alternator_count);
    uint32_t start_count = live_spots(run, starts);
    SpotsWalk walk = spots_walk_new(scratch, &supply->spots);
    for (bool any = true; any && waiting > 0;) {
        any = false;
        spots_reach(&supply->spots, positions, starts, start_count, &walk);
        for (uint32_t i = 0; i < supply->coil_count; i++) {
            if (waits[i] && walk.seen[supply->spots.point_spot[coils[i].plus]] == walk.number) {
                waits[i] = false;
                positions[coils[i].owner] = supply->positions[phase][coils[i].owner];
                waiting--;
                any = true;
            }
        }
    }
    return waiting == 0;
}

/* True when every coil that was moved would also have moved by itself: above its pick-up voltage,
 * or below its drop-out voltage, and nothing moved it back. */
static bool expected_rightly(const PowerNetwork *built, const NetworkState *expected,
                             const SolveResult *result, const bool *moved) {
    for (uint32_t i = 0; i < built->network.coil_count; i++) {
        if (!moved[i]) {
            continue;
        }
        const NetworkCoil *coil = &built->network.coils[i];
        double volts_v = fabs(result->coil_v[i]);
        bool right =
            result->state.coil_energised[i] == expected->coil_energised[i] &&
            (expected->coil_energised[i] ? volts_v >= coil->pickup_v : volts_v < coil->dropout_v);
        if (!right) {
            return false;
        }
    }
    return true;
}

/* Solves a phase from the states of the one before. Contactors that are to move are moved at once,
 * which spares a solution for each; where that was not what they would have done, they go their own
 * way, one after the other. */
static bool solve_phase(Run *run, uint32_t phase, const NetworkState *before, SolveResult *result,
                        bool *unfed) {
    const Supply *supply = run->supply;
    PowerNetwork *built = run->built;
    Arena scratch = {0};
    bool *moved = ARENA_ARRAY(&scratch, bool, supply->coil_count);
    NetworkState expected = network_state_copy(&scratch, &built->network, before);
    bool found = false;
    if (expect_coils(built, supply, supply->positions[phase], &expected, moved) &&
        pick_up_in_turn(run, phase, before, moved, &scratch)) {
        found = phases_solve(run->phases->plan, built, supply, &expected, NULL, run->out, result,
                             unfed) &&
                expected_rightly(built, &expected, result, moved);
    }
    if (!found) {
        NetworkState own = network_state_copy(&scratch, &built->network, before);
        phases_set(built, run->model, supply, phase, supply->positions[phase], &own);
        found = phases_solve(run->phases->plan, built, supply, &own, NULL, run->out, result, unfed);
    }
    arena_free(&scratch);
    return found;
}

PhasesPort phases_port(const PowerNetwork *built, const SolveResult *result, uint32_t load) {
    PhasesPort port = {.volts_v = (double)INFINITY, .state = PHASES_OFF};
    double idle_v = 0.0;
    for (uint32_t i = built->load_first[load]; i < built->load_first[load + 1]; i++) {
        const NetworkLoad *element = &built->network.loads[i];
        if (element->nominal_a <= 0.0) {
            idle_v = fmax(idle_v, result->load_v[i]);
            continue;
        }
        port.volts_v = fmin(port.volts_v, result->load_v[i]);
        port.amps_a += result->load_a[i];
        PhasesState state = PHASES_ON;
        if (result->load_v[i] < PHASES_DEAD_SHARE * element->nominal_v) {
            state = PHASES_DEAD;
        } else if (!solve_load_works(&built->network, result, i)) {
            state = PHASES_CUT_OUT;
        }
        port.state = state > port.state ? state : port.state;
    }
    port.volts_v = isinf(port.volts_v) ? idle_v : port.volts_v;
    return port;
}

/* --- judging ------------------------------------------------------------------------------------
 */

static const char *phase_name(const Run *run, uint32_t phase) {
    return run->model->set->phase.rows[phase].phase;
}

static const char *load_end(const Run *run, uint32_t load) {
    return run->model->terminals[run->supply->loads[load].port].end;
}

/* What a person calls an element. */
static const char *element_name(const Run *run, NetworkKind kind, uint32_t index) {
    const PowerNetwork *built = run->built;
    const Model *model = run->model;
    const BuildSource *source = NULL;
    switch (kind) {
    case NETWORK_COIL:
        return model->owners[run->supply->coils[index].owner].tag;
    case NETWORK_LOAD:
        return built->load_supply[index] == NETWORK_NONE ? "the starter"
                                                         : load_end(run, built->load_supply[index]);
    case NETWORK_ALTERNATOR:
        return model->set->source.rows[built->alternators[index].source].unit;
    case NETWORK_BATTERY:
        return model->set->source.rows[built->batteries[index].source].unit;
    case NETWORK_CONTACT:
        source = &built->contact_source[index];
        break;
    case NETWORK_DIODE:
        source = &built->diode_source[index];
        break;
    case NETWORK_RESISTOR:
    case NETWORK_KIND_COUNT:
    default:
        return "a wire";
    }
    return source->kind == BUILD_GATE
               ? model->owners[run->supply->gates.rows[source->index].owner].tag
               : model->set->source.rows[source->index].unit;
}

static void report_failure(const Run *run, uint32_t phase, const SolveResult *result) {
    if (result->status == SOLVE_OSCILLATES) {
        const char *name = element_name(run, result->offender_kind, result->offender);
        Finding *finding =
            report_row(run->findings, run->model, RULE_SOLVE_OSCILLATES, TABLE_phase, phase, "",
                       "in %s %s switches to and fro: each state brings about the other",
                       phase_name(run, phase), name);
        finding->rows = name;
        finding->hint =
            result->offender_kind == NETWORK_COIL
                ? "feed its coil from where its own contacts don't take the supply away"
                : "it goes out with its load on and comes back without: thicker wire, a shorter "
                  "way, or a stronger source";
        return;
    }
    const char *where = "";
    if (result->worst_node != NETWORK_NONE && result->worst_node > 0) {
        uint32_t point = run->built->node_point[result->worst_node];
        if (point < run->model->pin_count) {
            where = run->model->terminals[run->model->pins[point].terminal].end;
        }
    }
    Finding *finding =
        report_row(run->findings, run->model, RULE_SOLVE_CONVERGE, TABLE_phase, phase, "",
                   "no operating point of %s was found; %.3g A are left over at %s",
                   phase_name(run, phase), result->residual_a, *where == '\0' ? "a node" : where);
    finding->value = result->residual_a;
    finding->unit = "A";
    finding->rows = where;
}

/* Voltage lost between a load's bus and the ground its return ends at. */
static double load_drop_v(const Run *run, const SolveResult *result, uint32_t load,
                          double volts_v) {
    const SupplyLoad *row = &run->supply->loads[load];
    TerminalId stud = row->bus == ID_NONE ? ID_NONE : run->model->buses[row->bus].stud;
    if (stud == ID_NONE) {
        return 0.0;
    }
    uint32_t bus = run->built->point_node[run->model->terminals[stud].pin_first];
    if (bus == NETWORK_NONE || result->node_state[bus] == SOLVE_NODE_DEAD) {
        return 0.0;
    }
    double across_v = result->node_v[bus] - result->node_v[run->ground_node[load]];
    return across_v - volts_v;
}

static double drop_limit_v(const Model *model, bool intermittent) {
    for (size_t i = 0; i < model->set->drop_limit.count; i++) {
        const DropLimitRow *row = &model->set->drop_limit.rows[i];
        if (fabs(row->nominal_v - model->set->job.rows[0].nominal_v) < 0.5) {
            return intermittent ? row->intermittent_v : row->continuous_v;
        }
    }
    return (double)NAN;
}

static void judge_loads(Run *run, uint32_t phase) {
    Phases *phases = run->phases;
    const SolveResult *result = &phases->results[phase];
    PhasesPort *ports = &phases->ports[(size_t)phase * run->supply->load_count];
    const double limits_v[2] = {drop_limit_v(run->model, false), drop_limit_v(run->model, true)};
    for (uint32_t i = 0; i < run->supply->load_count; i++) {
        const SupplyLoad *load = &run->supply->loads[i];
        if (load->load_row == ID_NONE) {
            continue;
        }
        ports[i] = phases_port(run->built, result, i);
        const PhasesPort *port = &ports[i];
        if (port->state == PHASES_DEAD) {
            Finding *finding =
                report_owner(run->findings, run->model, RULE_SOLVE_DEAD, load->owner,
                             "%s is to draw %.3g A in %s and has no supply", load_end(run, i),
                             load->phase_a[phase], phase_name(run, phase));
            finding->table = "port_voltage";
            finding->key = arena_format(run->findings->arena, "%s %s", load_end(run, i),
                                        phase_name(run, phase));
            finding->hint = "is every switch and source on its way set in this phase?";
        }
        if (port->state == PHASES_CUT_OUT) {
            uint32_t worst = run->worst_minimum[i];
            if (worst == ID_NONE ||
                port->volts_v <
                    phases->ports[(size_t)worst * run->supply->load_count + i].volts_v) {
                run->worst_minimum[i] = phase;
            }
        }
        if (port->state != PHASES_ON) {
            continue;
        }
        if (isnan(phases->lowest_v[phase]) || port->volts_v < phases->lowest_v[phase]) {
            phases->lowest_v[phase] = port->volts_v;
            phases->lowest_at[phase] = i;
        }
        double drop_v = load_drop_v(run, result, i, port->volts_v);
        if (drop_v > limits_v[load->intermittent] &&
            (run->worst_drop[i] == ID_NONE || drop_v > run->drop_v[i])) {
            run->worst_drop[i] = phase;
            run->drop_v[i] = drop_v;
        }
    }
}

double phases_owner_current_a(const PowerNetwork *built, const Supply *supply,
                              const SolveResult *result, OwnerId owner, bool *closed) {
    double most_a = 0.0;
    *closed = false;
    for (uint32_t i = supply->gates.owner_first[owner]; i < supply->gates.owner_first[owner + 1];
         i++) {
        const BuildElement *element = &built->gate_element[i];
        if (element->kind == NETWORK_CONTACT) {
            most_a = fmax(most_a, fabs(result->contact_a[element->index]));
            *closed = *closed || result->state.contact_closed[element->index];
        } else if (element->kind == NETWORK_DIODE) {
            most_a = fmax(most_a, fabs(result->diode_a[element->index]));
            *closed = *closed || result->state.diode_on[element->index];
        } else if (element->kind == NETWORK_RESISTOR) {
            most_a = fmax(most_a, fabs(result->resistor_a[element->index]));
            *closed = true;
        }
    }
    return most_a;
}

/* Rated current of a device or switch, NAN for others. */
static double owner_rating_a(const Run *run, OwnerId owner) {
    const ModelOwner *row = &run->model->owners[owner];
    if (row->kind == OWNER_PROTECTION) {
        return run->rating_a == NULL ? run->model->set->protection.rows[row->row].rating_a
                                     : run->rating_a[row->row];
    }
    if (row->kind == OWNER_SWITCHGEAR && row->part != ID_NONE) {
        return run->model->set->switch_part.rows[row->part].rated_a;
    }
    return (double)NAN;
}

static void judge_owners(Run *run, uint32_t phase) {
    const SolveResult *result = &run->phases->results[phase];
    for (OwnerId owner = 0; owner < run->model->owner_count; owner++) {
        double rating_a = owner_rating_a(run, owner);
        if (isnan(rating_a)) {
            continue;
        }
        bool closed = false;
        double amps_a = phases_owner_current_a(run->built, run->supply, result, owner, &closed);
        if (amps_a > rating_a &&
            (run->worst_device[owner] == ID_NONE || amps_a > run->device_a[owner])) {
            run->worst_device[owner] = phase;
            run->device_a[owner] = amps_a;
        }
    }
}

static void judge_coils(const Run *run, uint32_t phase) {
    const SolveResult *result = &run->phases->results[phase];
    for (uint32_t i = 0; i < run->supply->coil_count; i++) {
        const SupplyCoil *coil = &run->supply->coils[i];
        const char *wanted = run->supply->positions[phase][coil->owner];
        bool energised = strcmp(wanted, coil->rest) != 0;
        if (energised == result->state.coil_energised[i]) {
            continue;
        }
        const NetworkCoil *element = &run->built->network.coils[i];
        const char *tag = run->model->owners[coil->owner].tag;
        Finding *finding = report_owner(
            run->findings, run->model, RULE_SOLVE_HELD, coil->owner,
            energised ? "%s is to be %s in %s, but its coil has %.1f V and picks up at %.1f V"
                      : "%s is to be %s in %s, but its coil has %.1f V and lets go below %.1f V",
            tag, wanted, phase_name(run, phase), result->coil_v[i],
            energised ? element->pickup_v : element->dropout_v);
        finding->value = result->coil_v[i];
        finding->limit = energised ? element->pickup_v : element->dropout_v;
        finding->unit = "V";
        finding->rows = phase_name(run, phase);
        finding->hint =
            !energised ? "open the switch in its coil circuit in this phase"
            : result->coil_v[i] < PHASES_DEAD_SHARE * element->pickup_v
                ? "is every switch in its coil circuit, and the source before it, on in this phase?"
                : "a coil of less voltage, thicker wire to it, or another source before it";
    }
}

static void judge_fields(const Run *run, uint32_t phase, const bool *unfed) {
    const SolveResult *result = &run->phases->results[phase];
    for (uint32_t i = 0; i < run->built->network.alternator_count; i++) {
        if (!unfed[i]) {
            continue;
        }
        const BuildAlternator *row = &run->built->alternators[i];
        const SourceRow *source = &run->model->set->source.rows[row->source];
        Finding *finding =
            report_row(run->findings, run->model, RULE_SOLVE_FIELD, TABLE_source, row->source,
                       "field", "%s is on in %s, but its field has %.1f V and it gives nothing",
                       source->unit, phase_name(run, phase), result->load_v[row->field]);
        finding->value = result->load_v[row->field];
        finding->limit = row->field_v;
        finding->unit = "V";
        finding->rows = phase_name(run, phase);
        finding->hint = "close its field switch in this phase, or set the alternator `off`";
    }
}

/* Less than this from a battery, A, is the noise of its diode. */
#define PHASES_REST_A 1e-3

/* A battery that gives while an alternator turns: either all of them are at their limit, or they
 * are not and something stands between them and the battery. */
static void judge_batteries(const Run *run, uint32_t phase) {
    const SolveResult *result = &run->phases->results[phase];
    const Network *network = &run->built->network;
    double limit_a = 0.0;
    double given_a = 0.0;
    bool all_at_limit = true;
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        if (network->alternators[i].running && network->alternators[i].limit_a > 0.0) {
            limit_a += network->alternators[i].limit_a;
            given_a += result->alternator_a[i];
            all_at_limit =
                all_at_limit && result->state.alternator_mode[i] == NETWORK_ALTERNATOR_LIMITING;
        }
    }
    for (uint32_t i = 0; i < network->battery_count && limit_a > 0.0; i++) {
        if (result->battery_a[i] <= PHASES_REST_A) {
            continue;
        }
        const char *unit = run->model->set->source.rows[run->built->batteries[i].source].unit;
        Finding *finding =
            all_at_limit
                ? report_row(run->findings, run->model, RULE_SOLVE_DISCHARGE, TABLE_phase, phase,
                             "",
                             "in %s %s gives %.1f A: the alternators are at their %.4g A, which "
                             "plain amps at %.0f V do not show",
                             phase_name(run, phase), unit, result->battery_a[i], limit_a,
                             run->model->set->job.rows[0].nominal_v)
                : report_row(run->findings, run->model, RULE_SOLVE_DISCHARGE, TABLE_phase, phase,
                             "",
                             "in %s %s gives %.1f A, and the alternators only %.1f A of the %.4g A "
                             "they could: they do not hold up its voltage",
                             phase_name(run, phase), unit, result->battery_a[i], given_a, limit_a);
        finding->value = result->battery_a[i];
        finding->limit = 0.0;
        finding->unit = "A";
        finding->rows = unit;
        finding->hint =
            all_at_limit ? "shed load in this phase"
                         : "is a contactor open between them, a wire too thin, a return missing?";
    }
}

/* --- what was worst over all phases -------------------------------------------------------------
 */

/* How far above its minimum a load that went out starts again, V. */
static double come_back_v(const Run *run, uint32_t load) {
    const PowerNetwork *built = run->built;
    double most_v = 0.0;
    for (uint32_t i = built->load_first[load]; i < built->load_first[load + 1]; i++) {
        most_v = fmax(most_v, built->network.loads[i].hysteresis_v);
    }
    return most_v;
}

static void report_minimum(const Run *run, uint32_t load) {
    uint32_t phase = run->worst_minimum[load];
    const SupplyLoad *row = &run->supply->loads[load];
    const PhasesPort *port = &run->phases->ports[(size_t)phase * run->supply->load_count + load];
    /* With the box off its voltage may be above what it needs: then no voltage that it lacks is
     * known, and none is given. */
    bool rises = port->volts_v >= row->minimum_v;
    Finding *finding =
        rises ? report_owner(run->findings, run->model, RULE_SOLVE_MINIMUM, row->owner,
                             "%s goes out below %.4g V and stays out in %s: with it off %.2f V "
                             "stand there, it starts again at %.4g V",
                             load_end(run, load), row->minimum_v, phase_name(run, phase),
                             port->volts_v, row->minimum_v + come_back_v(run, load))
              : report_owner(run->findings, run->model, RULE_SOLVE_MINIMUM, row->owner,
                             "%s has %.2f V in %s and needs %.4g V", load_end(run, load),
                             port->volts_v, phase_name(run, phase), row->minimum_v);
    finding->table = "port_voltage";
    finding->key =
        arena_format(run->findings->arena, "%s %s", load_end(run, load), phase_name(run, phase));
    finding->value = rises ? (double)NAN : port->volts_v;
    finding->limit = row->minimum_v;
    finding->unit = "V";
    finding->source = run->model->set->load.rows[row->load_row].source;
    finding->hint = "thicker wire, less load on its way, or a box that works with less";
}

static void report_drop(const Run *run, uint32_t load) {
    const SupplyLoad *row = &run->supply->loads[load];
    const char *phase = phase_name(run, run->worst_drop[load]);
    double limit_v = drop_limit_v(run->model, row->intermittent);
    Finding *finding = report_owner(run->findings, run->model, RULE_SOLVE_DROP, row->owner,
                                    "%s loses %.3f V from %s and back in %s; %.1f V are allowed",
                                    load_end(run, load), run->drop_v[load],
                                    run->model->set->bus.rows[row->bus].bus, phase, limit_v);
    finding->table = "port_voltage";
    finding->key = arena_format(run->findings->arena, "%s %s", load_end(run, load), phase);
    finding->value = run->drop_v[load];
    finding->limit = limit_v;
    finding->unit = "V";
    finding->hint = "thicker wire, a shorter way, or a device with less resistance";
}

static void report_overload(const Run *run, OwnerId owner) {
    const char *phase = phase_name(run, run->worst_device[owner]);
    double rating_a = owner_rating_a(run, owner);
    Finding *finding =
        report_owner(run->findings, run->model, RULE_SOLVE_OVERLOAD, owner,
                     "%s carries %.1f A in %s and is rated %.4g A", run->model->owners[owner].tag,
                     run->device_a[owner], phase, rating_a);
    finding->value = run->device_a[owner];
    finding->limit = rating_a;
    finding->unit = "A";
    finding->rows = phase;
    finding->hint = "less load behind it, or a larger one with wire to match";
}

static void report_worst(const Run *run) {
    for (uint32_t i = 0; i < run->supply->load_count; i++) {
        if (run->worst_minimum[i] != ID_NONE) {
            report_minimum(run, i);
        }
        if (run->worst_drop[i] != ID_NONE) {
            report_drop(run, i);
        }
    }
    for (OwnerId owner = 0; owner < run->model->owner_count; owner++) {
        if (run->worst_device[owner] != ID_NONE) {
            report_overload(run, owner);
        }
    }
}

/* --- preparing ----------------------------------------------------------------------------------
 */

typedef struct RankedPhase {
    int32_t rank;
    uint32_t phase;
} RankedPhase;

static int compare_ranks(const void *left, const void *right) {
    const RankedPhase *a = left;
    const RankedPhase *b = right;
    if (a->rank != b->rank) {
        return a->rank < b->rank ? -1 : 1;
    }
    return a->phase < b->phase ? -1 : (a->phase > b->phase ? 1 : 0);
}

static uint32_t *order_phases(Arena *out, const Model *model) {
    size_t count = model->set->phase.count;
    RankedPhase *ranked = ARENA_ARRAY(out, RankedPhase, count);
    uint32_t *order = ARENA_ARRAY(out, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        ranked[i] = (RankedPhase){model->set->phase.rows[i].rank, i};
    }
    if (count > 1) {
        qsort(ranked, count, sizeof *ranked, compare_ranks);
    }
    for (size_t i = 0; i < count; i++) {
        order[i] = ranked[i].phase;
    }
    return order;
}

static bool is_bonded(const Model *model) {
    for (size_t i = 0; i < model->set->bond.count; i++) {
        if (strcmp(model->set->bond.rows[i].onto, "structure") == 0) {
            return true;
        }
    }
    return false;
}

/* The node that drops are counted to where a return ends at no ground point: the structure, or the
 * minus of the first source when nothing is bonded to it. */
static uint32_t common_ground(const Run *run) {
    const Network *network = &run->built->network;
    if (is_bonded(run->model)) {
        return 0;
    }
    return network->battery_count > 0      ? network->batteries[0].minus
           : network->alternator_count > 0 ? network->alternators[0].minus
                                           : 0;
}

static void find_grounds(Run *run) {
    const Model *model = run->model;
    uint32_t common = common_ground(run);
    for (uint32_t i = 0; i < run->supply->load_count; i++) {
        const SupplyLoad *load = &run->supply->loads[i];
        run->ground_node[i] = common;
        if (load->return_port == ID_NONE || load->return_port == load->port) {
            continue;
        }
        NetId net = run->wiring->pin_net[model->terminals[load->return_port].pin_first];
        if (net == ID_NONE) {
            continue;
        }
        const Net *row = &run->wiring->nets[net];
        for (uint32_t k = 0; k < row->end_count; k++) {
            const ModelTerminal *end = &model->terminals[run->wiring->ends[row->end_first + k]];
            if (model->owners[end->owner].kind == OWNER_GROUND &&
                run->built->point_node[end->pin_first] != NETWORK_NONE) {
                run->ground_node[i] = run->built->point_node[end->pin_first];
                break;
            }
        }
    }
}

static void prepare(Run *run) {
    const Supply *supply = run->supply;
    size_t phases = run->model->set->phase.count;
    Phases *result = run->phases;
    result->order = order_phases(run->out, run->model);
    result->results = ARENA_ARRAY(run->out, SolveResult, phases);
    result->solved = ARENA_ARRAY(run->out, bool, phases);
    result->ports = ARENA_ARRAY(run->out, PhasesPort, phases * supply->load_count);
    result->delivered_a = ARENA_ARRAY(run->out, double, phases);
    result->lowest_v = ARENA_ARRAY(run->out, double, phases);
    result->lowest_at = ARENA_ARRAY(run->out, uint32_t, phases);
    for (size_t i = 0; i < phases; i++) {
        result->lowest_v[i] = (double)NAN;
        result->lowest_at[i] = ID_NONE;
    }
    run->ground_node = ARENA_ARRAY(run->out, uint32_t, supply->load_count);
    run->worst_minimum = ARENA_ARRAY(run->out, uint32_t, supply->load_count);
    run->worst_drop = ARENA_ARRAY(run->out, uint32_t, supply->load_count);
    run->drop_v = ARENA_ARRAY(run->out, double, supply->load_count);
    run->phases->drop_v = run->drop_v;
    run->worst_device = ARENA_ARRAY(run->out, uint32_t, run->model->owner_count);
    run->device_a = ARENA_ARRAY(run->out, double, run->model->owner_count);
    memset(run->worst_minimum, 0xff, supply->load_count * sizeof(uint32_t));
    memset(run->worst_drop, 0xff, supply->load_count * sizeof(uint32_t));
    memset(run->worst_device, 0xff, run->model->owner_count * sizeof(uint32_t));
    find_grounds(run);
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool phases_run(Arena *out, const Model *model, const Wiring *wiring, const Supply *supply,
                PowerNetwork *built, const double *rating_a, Phases *phases, Findings *findings) {
    *phases = (Phases){0};
    Run run = {
        .out = out,
        .model = model,
        .wiring = wiring,
        .supply = supply,
        .built = built,
        .rating_a = rating_a,
        .phases = phases,
        .findings = findings,
    };
    prepare(&run);
    phases->plan = solve_analyse(out, &built->network);
    bool *unfed = ARENA_ARRAY(out, bool, built->network.alternator_count);
    NetworkState state = network_state_rest(out, &built->network);
    bool any = false;
    for (size_t i = 0; i < model->set->phase.count; i++) {
        uint32_t phase = phases->order[i];
        SolveResult *result = &phases->results[phase];
        phases_set(built, model, supply, phase, supply->positions[phase], &state);
        phases->solved[phase] = solve_phase(&run, phase, &state, result, unfed);
        if (!phases->solved[phase]) {
            report_failure(&run, phase, result);
            continue;
        }
        any = true;
        phases->delivered_a[phase] = result->total_a;
        judge_loads(&run, phase);
        judge_owners(&run, phase);
        judge_coils(&run, phase);
        judge_fields(&run, phase, unfed);
        judge_batteries(&run, phase);
        network_state_set(&state, &built->network, &result->state);
    }
    report_worst(&run);
    crank_run(out, model, supply, built, phases, findings);
    ground_return_check(model, wiring, built, findings);
    return any;
}
