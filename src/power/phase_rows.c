/* Result rows of the solved phases, and the lines that say where a solved voltage comes from. */
#include <math.h>
#include <string.h>

#include "power/phases.h"

static const char *state_name(PhasesState state) {
    static const char *const NAMES[] = {
        [PHASES_OFF] = "off",
        [PHASES_ON] = "on",
        [PHASES_CUT_OUT] = "cut out",
        [PHASES_DEAD] = "dead",
    };
    return NAMES[state];
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static void port_rows(Arena *arena, const Model *model, const Supply *supply,
                      const PowerNetwork *built, const PhasesPort *ports, const char *phase,
                      TableSet *results) {
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        if (load->load_row == ID_NONE || built->load_first[i] == built->load_first[i + 1]) {
            continue;
        }
        PortVoltageRow *row = table_append(results, arena, TABLE_port_voltage);
        row->port = model->terminals[load->port].end;
        row->phase = phase;
        row->volts_v = ports[i].volts_v;
        row->amps_a = ports[i].amps_a;
        row->minimum_v = load->minimum_v;
        row->state = state_name(ports[i].state);
    }
}

static void device_rows(Arena *arena, const Model *model, const Supply *supply,
                        const PowerNetwork *built, const SolveResult *result, const char *phase,
                        TableSet *results) {
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        OwnerKind kind = model->owners[owner].kind;
        bool device = kind == OWNER_PROTECTION || kind == OWNER_SWITCHGEAR;
        if (!device || supply->gates.owner_first[owner] == supply->gates.owner_first[owner + 1]) {
            continue;
        }
        bool closed = false;
        double amps_a = phases_owner_current_a(built, supply, result, owner, &closed);
        DeviceCurrentRow *row = table_append(results, arena, TABLE_device_current);
        row->device = model->owners[owner].tag;
        row->phase = phase;
        row->amps_a = amps_a;
        row->state = closed ? "closed" : "open";
    }
}

static void margin_row(const Model *model, const Supply *supply, const Phases *phases,
                       TableSet *results, uint32_t phase) {
    const char *name = model->set->phase.rows[phase].phase;
    for (size_t i = 0; i < results->supply_margin.count; i++) {
        SupplyMarginRow *row = &results->supply_margin.rows[i];
        if (strcmp(row->phase, name) != 0) {
            continue;
        }
        uint32_t lowest = phases->lowest_at[phase];
        row->solved_a = phases->delivered_a[phase];
        row->lowest_v = phases->lowest_v[phase];
        row->lowest_at = lowest == ID_NONE ? "" : model->terminals[supply->loads[lowest].port].end;
    }
}

void phases_rows(Arena *arena, const Model *model, const Supply *supply, const PowerNetwork *built,
                 const Phases *phases, TableSet *results) {
    for (size_t i = 0; i < model->set->phase.count; i++) {
        uint32_t phase = phases->order[i];
        if (!phases->solved[phase]) {
            continue;
        }
        const char *name = model->set->phase.rows[phase].phase;
        const SolveResult *result = &phases->results[phase];
        port_rows(arena, model, supply, built, &phases->ports[(size_t)phase * supply->load_count],
                  name, results);
        device_rows(arena, model, supply, built, result, name, results);
        margin_row(model, supply, phases, results, phase);
    }
    if (phases->crank.done) {
        port_rows(arena, model, supply, built, phases->crank.ports, "crank", results);
        device_rows(arena, model, supply, built, &phases->crank.result, "crank", results);
    }
}

/* --- why ----------------------------------------------------------------------------------------
 */

typedef struct Why {
    Buffer *out;
    const Model *model;
    const Wiring *wiring;
    const Supply *supply;
    const PowerNetwork *built;
    const SolveResult *result;
} Why;

static void why_piece(const Why *why, const char *name, const char *what, double ohm, double amps_a,
                      double volts_v) {
    buffer_format(why->out, "  %-10s %-34s %9.2f mohm x %8.3f A = %7.3f V\n", name, what,
                  1000.0 * ohm, amps_a, volts_v);
}

static void why_net(const Why *why, NetId net) {
    const Net *row = &why->wiring->nets[net];
    for (uint32_t c = 0; c < row->cable_count; c++) {
        const Cable *cable = &why->wiring->cables[row->cable_first + c];
        for (uint32_t k = 0; k < cable->conductor_count; k++) {
            ConductorId conductor = cable->conductor_first + k;
            uint32_t resistor = why->built->conductor_resistor[conductor];
            if (resistor == NETWORK_NONE) {
                continue;
            }
            const NetworkResistor *element = &why->built->network.resistors[resistor];
            double amps_a = fabs(why->result->resistor_a[resistor]);
            Buffer what = {.arena = why->out->arena};
            buffer_format(&what, "%s to %s", why->model->terminals[cable->from].end,
                          why->model->terminals[cable->to].end);
            why_piece(why, why->wiring->conductors[conductor].key, what.bytes, element->ohm, amps_a,
                      element->ohm * amps_a);
        }
    }
}

/* Gates of a feed's device between the terminals it is passed by. */
static void why_step(const Why *why, const FeedStep *step) {
    const Model *model = why->model;
    const Gates *gates = &why->supply->gates;
    const SolveResult *result = why->result;
    for (uint32_t i = gates->owner_first[step->owner]; i < gates->owner_first[step->owner + 1];
         i++) {
        const Gate *gate = &gates->rows[i];
        TerminalId a = gate->a < model->pin_count ? model->pins[gate->a].terminal : ID_NONE;
        TerminalId b = gate->b < model->pin_count ? model->pins[gate->b].terminal : ID_NONE;
        bool passed = (a == step->in && b == step->out) || (a == step->out && b == step->in);
        BuildElement element = why->built->gate_element[i];
        if (!passed || element.kind == NETWORK_KIND_COUNT) {
            continue;
        }
        const char *tag = model->owners[step->owner].tag;
        double amps_a = 0.0;
        if (element.kind == NETWORK_CONTACT) {
            const NetworkContact *contact = &why->built->network.contacts[element.index];
            amps_a = fabs(result->contact_a[element.index]);
            bool closed = result->state.contact_closed[element.index];
            why_piece(why, tag, closed ? "closed" : "open", contact->ohm, amps_a,
                      contact->ohm * amps_a);
        } else if (element.kind == NETWORK_DIODE) {
            const NetworkDiode *diode = &why->built->network.diodes[element.index];
            amps_a = fabs(result->diode_a[element.index]);
            double drop_v = amps_a > 0.0 ? diode->drop_v + diode->ohm * amps_a : 0.0;
            why_piece(why, tag, "diode: drop at no current and", diode->ohm, amps_a, drop_v);
        } else {
            const NetworkResistor *resistor = &why->built->network.resistors[element.index];
            amps_a = fabs(result->resistor_a[element.index]);
            why_piece(why, tag, "inside", resistor->ohm, amps_a, resistor->ohm * amps_a);
        }
    }
}

static void why_feed(const Why *why, uint32_t feed) {
    const ModelFeed *row = &why->model->feeds[feed];
    buffer_format(why->out, " feed %s:\n", why->model->set->feed.rows[feed].feed);
    for (uint32_t i = 0; i < row->step_count; i++) {
        why_step(why, &why->model->steps[row->step_first + i]);
    }
    for (NetId net = 0; net < why->wiring->net_count; net++) {
        if (why->wiring->nets[net].from_table == TABLE_feed &&
            why->wiring->nets[net].from_row == feed) {
            why_net(why, net);
        }
    }
}

void phases_why_port(Buffer *out, const Model *model, const Wiring *wiring, const Supply *supply,
                     const PowerNetwork *built, const Phases *phases, uint32_t phase,
                     uint32_t load) {
    const SupplyLoad *row = &supply->loads[load];
    const PhasesPort *port = &phases->ports[(size_t)phase * supply->load_count + load];
    const char *name = model->set->phase.rows[phase].phase;
    buffer_format(out, "%s in %s: %.3f V, %.3f A, %s", model->terminals[row->port].end, name,
                  port->volts_v, port->amps_a, state_name(port->state));
    if (isnan(row->minimum_v)) {
        buffer_text(out, "\n");
    } else {
        buffer_format(out, "; needs %.1f V\n", row->minimum_v);
    }
    if (!phases->solved[phase]) {
        buffer_text(out, "no operating point of this phase was found\n");
        return;
    }
    Why why = {out, model, wiring, supply, built, &phases->results[phase]};
    TerminalId stud = row->bus == ID_NONE ? ID_NONE : model->buses[row->bus].stud;
    if (stud != ID_NONE) {
        uint32_t node = built->point_node[model->terminals[stud].pin_first];
        buffer_format(out, " bus %s: %.3f V\n", model->set->bus.rows[row->bus].bus,
                      why.result->node_v[node]);
    }
    if (row->feed != ID_NONE) {
        why_feed(&why, row->feed);
    }
    NetId back = row->return_port == ID_NONE || row->return_port == row->port
                     ? ID_NONE
                     : wiring->pin_net[model->terminals[row->return_port].pin_first];
    if (back != ID_NONE) {
        buffer_format(out, " return %s:\n", wiring->nets[back].name);
        why_net(&why, back);
    }
    buffer_text(out, "method: nodal analysis of the whole network, docs/theory/solve.md; copper "
                     "R ~ 234.5 + T (AC 43.13-1B 11-66)\n");
}

void phases_why_crank(Buffer *out, const Model *model, const Phases *phases) {
    const PhasesCrank *crank = &phases->crank;
    if (!crank->done) {
        buffer_text(out, "nothing is cranked: no starter, no current, or no phase `cranking`\n");
        return;
    }
    const JobRow *job = &model->set->job.rows[0];
    buffer_format(out, "cranking at %.0f A:\n", job->crank_a);
    if (crank->source != ID_NONE) {
        buffer_format(out,
                      " plain, %s alone: V = Voc - I x sum of R; %.3f mohm of battery, copper "
                      "there and back at 20 degC, contactor and joints %.2f mohm: %.2f V\n",
                      model->set->source.rows[crank->source].unit, 1000.0 * crank->plain_ohm,
                      isnan(job->crank_mohm) ? 0.0 : job->crank_mohm, crank->plain_v);
    }
    buffer_format(out, " solved, whole network with the loads of %s: %.2f V at the starter\n",
                  model->set->phase.rows[crank->phase].phase, crank->starter_v);
}
