/* Method: one sweep for each kind of thing in the library's `failure_mode` rows; each thing gets a
 * failure for each row of its kind. Names are collected first, order and classes come last. */
#include "power/faults.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "model/report.h"
#include "power/faults_inner.h"

/* --- one failure --------------------------------------------------------------------------------
 */

static Failure *current(FaultsLister *lister) {
    return &lister->list->failures[lister->failure_count - 1];
}

void faults_begin(FaultsLister *lister, uint32_t mode, const char *item, const char *component) {
    size_t same = lister->failure_count;
    Failure *failure = ARENA_PUSH(lister->out, lister->list->failures, lister->failure_count,
                                  lister->failure_capacity);
    *ARENA_PUSH(lister->scratch, lister->components, same, lister->component_capacity) = component;
    *failure = (Failure){
        .key = arena_format(lister->out, "%s:%s", item,
                            lister->in->model->set->failure_mode.rows[mode].mode),
        .item = item,
        .mode = mode,
        .edit_first = (uint32_t)lister->edit_count,
        .welded_first = (uint32_t)lister->welded_count,
        .conductor_first = (uint32_t)lister->conductor_count,
        .owner_first = (uint32_t)lister->owner_count,
        .net_first = (uint32_t)lister->net_count,
        .port_first = (uint32_t)lister->port_count,
    };
    lister->now++;
}

void faults_edit(FaultsLister *lister, FailEdit edit) {
    *ARENA_PUSH(lister->out, lister->list->edits, lister->edit_count, lister->edit_capacity) = edit;
    current(lister)->edit_count++;
}

/* True when some function or need asks what passes on that net. */
static bool is_asked(const FaultsLister *lister, NetId net) {
    const FaultsInput *in = lister->in;
    if (in->service != NULL) {
        return service_asks_net(in->service, net);
    }
    TableId from = in->wiring->nets[net].from_table;
    return from != TABLE_feed && from != TABLE_ground;
}

void faults_break(FaultsLister *lister, ConductorId conductor) {
    const FaultsInput *in = lister->in;
    uint32_t resistor = in->built->conductor_resistor[conductor];
    if (resistor != NETWORK_NONE) {
        faults_edit(lister, fail_open(NETWORK_RESISTOR, resistor));
    }
    CableId cable = in->wiring->conductors[conductor].cable;
    if (is_asked(lister, in->wiring->cables[cable].net) &&
        lister->cable_shield[cable] != lister->now) {
        /* One broken core breaks the line: its first core stands for all. */
        lister->cable_shield[cable] = lister->now;
        *ARENA_PUSH(lister->out, lister->list->conductors, lister->conductor_count,
                    lister->conductor_capacity) = in->wiring->cables[cable].conductor_first;
        current(lister)->conductor_count++;
    }
}

void faults_jam(FaultsLister *lister, NetId net) {
    const Failure *failure = current(lister);
    for (uint32_t i = 0; i < failure->net_count; i++) {
        if (lister->list->nets[failure->net_first + i] == net) {
            return;
        }
    }
    if (is_asked(lister, net)) {
        *ARENA_PUSH(lister->out, lister->list->nets, lister->net_count, lister->net_capacity) = net;
        current(lister)->net_count++;
    }
}

void faults_kill(FaultsLister *lister, OwnerId owner) {
    const FaultsInput *in = lister->in;
    const Supply *supply = in->supply;
    const ModelOwner *row = &in->model->owners[owner];
    *ARENA_PUSH(lister->out, lister->list->owners, lister->owner_count, lister->owner_capacity) =
        owner;
    current(lister)->owner_count++;
    for (uint32_t i = 0; i < row->terminal_count; i++) {
        uint32_t load = supply->terminal_load[row->terminal_first + i];
        if (load == ID_NONE) {
            continue;
        }
        for (uint32_t k = in->built->load_first[load]; k < in->built->load_first[load + 1]; k++) {
            faults_edit(lister, fail_value(FAIL_DRAW, NETWORK_LOAD, k, 0.0));
        }
    }
}

void faults_weld(FaultsLister *lister, OwnerId device) {
    *ARENA_PUSH(lister->out, lister->list->welded, lister->welded_count, lister->welded_capacity) =
        device;
    current(lister)->welded_count++;
}

void faults_bridge(FaultsLister *lister, uint32_t a, uint32_t b, double ohm) {
    if (a != NETWORK_NONE && b != NETWORK_NONE && a != b) {
        faults_edit(lister, fail_bridge(a < b ? a : b, a < b ? b : a, ohm));
    }
}

uint32_t faults_far_node(const FaultsLister *lister, ConductorId conductor) {
    const FaultsInput *in = lister->in;
    const Conductor *row = &in->wiring->conductors[conductor];
    if (in->built->conductor_resistor[conductor] == NETWORK_NONE) {
        return NETWORK_NONE;
    }
    bool back = in->wiring->nets[in->wiring->cables[row->cable].net].from_table == TABLE_ground;
    return in->built->point_node[back ? row->from : row->to];
}

/* --- modes --------------------------------------------------------------------------------------
 */

const FailureModeRow *faults_mode(FaultsLister *lister, uint32_t mode, const char *effects) {
    const FailureModeRow *row = &lister->in->model->set->failure_mode.rows[mode];
    size_t length = strlen(row->effect);
    for (const char *at = effects; at != NULL; at = strchr(at, '|')) {
        at += *at == '|' ? 1 : 0;
        if (strncmp(at, row->effect, length) == 0 && (at[length] == '\0' || at[length] == '|')) {
            bool ohm = strcmp(row->effect, "short") == 0 || strcmp(row->effect, "join") == 0 ||
                       strcmp(row->effect, "add ohm") == 0 || strcmp(row->effect, "burn") == 0;
            if (ohm && !(row->ohm > 0.0)) {
                break;
            }
            return row;
        }
    }
    report_row(lister->findings, lister->in->model, RULE_FAULT_MODE, TABLE_failure_mode, mode,
               "effect", "a %s can't have the effect \"%s\" as this row asks", row->kind,
               row->effect)
        ->hint = "effects of this kind that can be tried stand in docs/theory/faults.md; those "
                 "that join or add a resistance want its ohm";
    return NULL;
}

FaultsModes faults_modes(const FaultsLister *lister, const char *kind) {
    const TableSet *set = lister->in->model->set;
    FaultsModes modes = {0};
    for (uint32_t i = 0; i < set->failure_mode.count; i++) {
        if (strcmp(set->failure_mode.rows[i].kind, kind) == 0) {
            modes.first = modes.count == 0 ? i : modes.first;
            modes.count++;
        }
    }
    return modes;
}

/* The modes of a kind whose effects are all among `effects`: those that are not are reported and
 * left out. `keep` has room for all rows. */
static uint32_t usable(FaultsLister *lister, const char *kind, const char *effects,
                       uint32_t *keep) {
    FaultsModes modes = faults_modes(lister, kind);
    uint32_t count = 0;
    for (uint32_t i = 0; i < modes.count; i++) {
        if (faults_mode(lister, modes.first + i, effects) != NULL) {
            keep[count++] = modes.first + i;
        }
    }
    return count;
}

static const FailureModeRow *row_of(const FaultsLister *lister, uint32_t mode) {
    return &lister->in->model->set->failure_mode.rows[mode];
}

static bool has_effect(const FaultsLister *lister, uint32_t mode, const char *effect) {
    return strcmp(row_of(lister, mode)->effect, effect) == 0;
}

/* --- wires --------------------------------------------------------------------------------------
 */

static void list_conductors(FaultsLister *lister) {
    const Wiring *wiring = lister->in->wiring;
    uint32_t *modes[2];
    uint32_t counts[2];
    static const char *const KINDS[2] = {"conductor", "return"};
    for (int i = 0; i < 2; i++) {
        modes[i] =
            ARENA_ARRAY(lister->scratch, uint32_t, lister->in->model->set->failure_mode.count);
        counts[i] = usable(lister, KINDS[i], "open|short", modes[i]);
    }
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        const Conductor *row = &wiring->conductors[i];
        NetId net = wiring->cables[row->cable].net;
        int back = wiring->nets[net].from_table == TABLE_ground ? 1 : 0;
        for (uint32_t k = 0; k < counts[back]; k++) {
            uint32_t mode = modes[back][k];
            faults_begin(lister, mode, row->key, row->key);
            if (has_effect(lister, mode, "open")) {
                faults_break(lister, i);
            } else {
                faults_bridge(lister, faults_far_node(lister, i), 0, row_of(lister, mode)->ohm);
                if (wiring->nets[net].from_table != TABLE_ground) {
                    faults_jam(lister, net);
                }
            }
        }
    }
}

static void add_contact_ohm(FaultsLister *lister, ConductorId conductor, double ohm) {
    const PowerNetwork *built = lister->in->built;
    uint32_t resistor = built->conductor_resistor[conductor];
    if (resistor != NETWORK_NONE) {
        faults_edit(lister, fail_value(FAIL_OHM, NETWORK_RESISTOR, resistor,
                                       built->network.resistors[resistor].ohm + ohm));
    }
}

/* Contacts at the ends of wires that are in the network. What a resistance does to a line that only
 * carries data no table says. */
static void list_contacts(FaultsLister *lister) {
    const FaultsInput *in = lister->in;
    uint32_t *modes = ARENA_ARRAY(lister->scratch, uint32_t, in->model->set->failure_mode.count);
    uint32_t count = usable(lister, "contact", "add ohm", modes);
    for (PinId pin = 0; pin < in->model->pin_count && count > 0; pin++) {
        bool any = false;
        for (uint32_t i = lister->pin_conductor_first[pin];
             i < lister->pin_conductor_first[pin + 1]; i++) {
            any = any || in->built->conductor_resistor[lister->pin_conductors[i]] != NETWORK_NONE;
        }
        const char *item = any ? model_pin_text(in->model, lister->out, pin) : NULL;
        for (uint32_t k = 0; any && k < count; k++) {
            faults_begin(lister, modes[k], item, item);
            for (uint32_t i = lister->pin_conductor_first[pin];
                 i < lister->pin_conductor_first[pin + 1]; i++) {
                add_contact_ohm(lister, lister->pin_conductors[i], row_of(lister, modes[k])->ohm);
            }
        }
    }
    for (uint32_t i = 0; in->disconnects != NULL && i < in->disconnects->use_count; i++) {
        const CavityUse *use = &in->disconnects->uses[i];
        if (use->shell == ID_NONE || use->conductor == ID_NONE || use->cavity == ID_NONE ||
            in->built->conductor_resistor[use->conductor] == NETWORK_NONE) {
            continue;
        }
        const char *item = arena_format(lister->out, "%s-%s",
                                        in->model->set->disconnect_shell.rows[use->shell].tag,
                                        disconnect_cavity_text(lister->scratch, in->model, use));
        for (uint32_t k = 0; k < count; k++) {
            faults_begin(lister, modes[k], item, item);
            add_contact_ohm(lister, use->conductor, row_of(lister, modes[k])->ohm);
        }
    }
}

/* --- what switches ------------------------------------------------------------------------------
 */

static bool is_switch_kind(const FaultsLister *lister, OwnerId owner, const char *kind) {
    const ModelOwner *row = &lister->in->model->owners[owner];
    return row->kind == OWNER_SWITCHGEAR && row->part != ID_NONE &&
           strcmp(lister->in->model->set->switch_part.rows[row->part].kind, kind) == 0;
}

/* Both coil states of a contactor: its contacts as `energised` has them. A contact that opens is
 * simply open, the same failure as its wire's. */
static void hold_contacts(FaultsLister *lister, OwnerId owner, bool energised) {
    const FaultsInput *in = lister->in;
    const Gates *gates = &in->supply->gates;
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        BuildElement element = in->built->gate_element[i];
        if (element.kind != NETWORK_CONTACT) {
            continue;
        }
        const NetworkContact *contact = &in->built->network.contacts[element.index];
        if (contact->coil != NETWORK_NONE) {
            faults_edit(lister, contact->closed_when_energised == energised
                                    ? fail_hold(element.index, true)
                                    : fail_open(NETWORK_CONTACT, element.index));
        }
    }
}

/* One gate held open or closed, or broken. */
static void fail_gate(FaultsLister *lister, uint32_t gate, uint32_t mode) {
    const FaultsInput *in = lister->in;
    BuildElement element = in->built->gate_element[gate];
    if (element.kind == NETWORK_KIND_COUNT) {
        return;
    }
    if (has_effect(lister, mode, "open")) {
        faults_edit(lister, fail_open(element.kind, element.index));
    } else if (has_effect(lister, mode, "short")) {
        uint32_t ends[2];
        network_element_ends(&in->built->network, element.kind, element.index, ends);
        faults_bridge(lister, ends[0], ends[1], row_of(lister, mode)->ohm);
    } else if (element.kind == NETWORK_CONTACT) {
        faults_edit(lister, fail_hold(element.index, true));
    }
}

/* How many contacts of an owner close with its coil, and how many open. */
static void count_contacts(const FaultsLister *lister, OwnerId owner, uint32_t counts[2]) {
    const FaultsInput *in = lister->in;
    const Gates *gates = &in->supply->gates;
    counts[0] = counts[1] = 0;
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        BuildElement element = in->built->gate_element[i];
        if (element.kind == NETWORK_CONTACT &&
            in->built->network.contacts[element.index].coil != NETWORK_NONE) {
            counts[in->built->network.contacts[element.index].closed_when_energised ? 1 : 0]++;
        }
    }
}

static void list_contactors(FaultsLister *lister) {
    const FaultsInput *in = lister->in;
    uint32_t *modes[2];
    uint32_t counts[2];
    for (int i = 0; i < 2; i++) {
        modes[i] = ARENA_ARRAY(lister->scratch, uint32_t, in->model->set->failure_mode.count);
    }
    counts[0] = usable(lister, "contactor", "open|closed", modes[0]);
    counts[1] = usable(lister, "changeover", "at rest|picked up", modes[1]);
    for (uint32_t coil = 0; coil < in->supply->coil_count; coil++) {
        OwnerId owner = in->supply->coils[coil].owner;
        const char *tag = in->model->owners[owner].tag;
        uint32_t contacts[2];
        count_contacts(lister, owner, contacts);
        int both = contacts[0] > 0 && contacts[1] > 0 ? 1 : 0;
        for (uint32_t k = 0; k < counts[both] && contacts[0] + contacts[1] > 0; k++) {
            uint32_t mode = modes[both][k];
            faults_begin(lister, mode, tag, tag);
            bool closed = has_effect(lister, mode, "closed");
            bool energised =
                both == 1 ? has_effect(lister, mode, "picked up") : closed == (contacts[1] > 0);
            hold_contacts(lister, owner, energised);
        }
    }
}

/* "SW_FLAP.F-M" for one pole of several, else the tag. */
static const char *gate_name(FaultsLister *lister, OwnerId owner, uint32_t gate, bool alone) {
    const Model *model = lister->in->model;
    const Gate *row = &lister->in->supply->gates.rows[gate];
    const char *tag = model->owners[owner].tag;
    if (alone) {
        return tag;
    }
    const char *names[2];
    for (int i = 0; i < 2; i++) {
        uint32_t point = i == 0 ? row->a : row->b;
        if (point >= model->pin_count) {
            names[i] = "case";
            continue;
        }
        const ModelPin *pin = &model->pins[point];
        const char *name = model->terminals[pin->terminal].name;
        names[i] =
            pin->core == 0 ? name : arena_format(lister->scratch, "%s/%d", name, pin->core + 1);
    }
    return arena_format(lister->out, "%s.%s-%s", tag, names[0], names[1]);
}

/* All gates of one kind of owners. */
static void list_gates(FaultsLister *lister, OwnerId owner, GateKind kind, const uint32_t *modes,
                       uint32_t count, bool named) {
    const Gates *gates = &lister->in->supply->gates;
    uint32_t same = 0;
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        same += gates->rows[i].kind == kind ? 1 : 0;
    }
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        if (gates->rows[i].kind != kind) {
            continue;
        }
        const char *item = gate_name(lister, owner, i, same == 1 && !named);
        for (uint32_t k = 0; k < count; k++) {
            faults_begin(lister, modes[k], item, lister->in->model->owners[owner].tag);
            fail_gate(lister, i, modes[k]);
        }
    }
}

static void list_switches(FaultsLister *lister) {
    const Model *model = lister->in->model;
    size_t rows = model->set->failure_mode.count;
    uint32_t *switch_modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t *diode_modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t *shunt_modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t *device_modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t switch_count = usable(lister, "switch", "open|closed", switch_modes);
    uint32_t diode_count = usable(lister, "diode", "open|short", diode_modes);
    uint32_t shunt_count = usable(lister, "shunt", "open", shunt_modes);
    uint32_t device_count = usable(lister, "device", "open|closed", device_modes);
    const Gates *gates = &lister->in->supply->gates;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind == OWNER_PROTECTION) {
            for (uint32_t k = 0; k < device_count; k++) {
                faults_begin(lister, device_modes[k], row->tag, row->tag);
                bool open = has_effect(lister, device_modes[k], "open");
                for (uint32_t i = gates->owner_first[owner];
                     open && i < gates->owner_first[owner + 1]; i++) {
                    fail_gate(lister, i, device_modes[k]);
                }
                if (!open) {
                    faults_weld(lister, owner);
                }
            }
            continue;
        }
        list_gates(lister, owner, GATE_SWITCH, switch_modes, switch_count, row->kind == OWNER_UNIT);
        list_gates(lister, owner, GATE_DIODE, diode_modes, diode_count, row->kind == OWNER_UNIT);
        if (is_switch_kind(lister, owner, "shunt")) {
            list_gates(lister, owner, GATE_RESISTOR, shunt_modes, shunt_count, false);
        }
    }
}

/* --- boxes and sources --------------------------------------------------------------------------
 */

/* Opens the electronic channels that sit in a box: devices of kind `channel` bolted on a bus whose
 * stud is a port of it. */
static void open_channels(FaultsLister *lister, OwnerId box) {
    const FaultsInput *in = lister->in;
    const Model *model = in->model;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_PROTECTION || row->part == ID_NONE ||
            strcmp(model->set->device.rows[row->part].kind, "channel") != 0) {
            continue;
        }
        uint32_t bus =
            name_map_find(&model->bus_by_name, model->set->protection.rows[row->row].bolted_on);
        TerminalId stud = bus == NAME_NONE ? ID_NONE : model->buses[bus].stud;
        if (stud == ID_NONE || model->terminals[stud].owner != box) {
            continue;
        }
        for (uint32_t i = in->supply->gates.owner_first[owner];
             i < in->supply->gates.owner_first[owner + 1]; i++) {
            BuildElement element = in->built->gate_element[i];
            if (element.kind != NETWORK_KIND_COUNT) {
                faults_edit(lister, fail_open(element.kind, element.index));
            }
        }
    }
}

/* Boxes that hold channels, by owner: most hold none, and need not be searched for them. */
static bool *channel_boxes(FaultsLister *lister) {
    const Model *model = lister->in->model;
    bool *holds = ARENA_ARRAY(lister->scratch, bool, model->owner_count);
    for (BusId bus = 0; bus < model->set->bus.count; bus++) {
        TerminalId stud = model->buses[bus].stud;
        if (stud != ID_NONE) {
            holds[model->terminals[stud].owner] = true;
        }
    }
    return holds;
}

static bool is_source(const FaultsLister *lister, OwnerId owner) {
    return model_row(lister->in->model, TABLE_source, lister->in->model->owners[owner].tag) !=
           ID_NONE;
}

static void list_units(FaultsLister *lister) {
    const FaultsInput *in = lister->in;
    const Model *model = in->model;
    size_t rows = model->set->failure_mode.count;
    uint32_t *unit_modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t *port_modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t *talk_modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t unit_count = usable(lister, "unit", "dead", unit_modes);
    uint32_t port_count = usable(lister, "port", "short", port_modes);
    uint32_t talk_count = usable(lister, "talker", "jam", talk_modes);
    const bool *holds = channel_boxes(lister);
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        bool unit = row->kind == OWNER_UNIT || row->kind == OWNER_ANTENNA;
        for (uint32_t k = 0; k < unit_count && unit && !is_source(lister, owner); k++) {
            faults_begin(lister, unit_modes[k], row->tag, row->tag);
            faults_kill(lister, owner);
            if (holds[owner]) {
                open_channels(lister, owner);
            }
        }
        for (uint32_t t = 0; unit && t < row->terminal_count; t++) {
            TerminalId terminal = row->terminal_first + t;
            const ModelTerminal *port = &model->terminals[terminal];
            uint32_t load = in->supply->terminal_load[terminal];
            uint32_t first = load == ID_NONE ? 0 : in->built->load_first[load];
            uint32_t end = load == ID_NONE ? 0 : in->built->load_first[load + 1];
            for (uint32_t k = 0; first < end && k < port_count; k++) {
                faults_begin(lister, port_modes[k], port->end, row->tag);
                faults_kill(lister, owner);
                for (uint32_t i = first; i < end; i++) {
                    faults_bridge(lister, in->built->network.loads[i].plus,
                                  in->built->network.loads[i].minus,
                                  row_of(lister, port_modes[k])->ohm);
                }
                if (holds[owner]) {
                    open_channels(lister, owner);
                }
            }
            NetId net = port->pin_count == 0 ? ID_NONE : in->wiring->pin_net[port->pin_first];
            if (net == ID_NONE || port->direction != DIRECTION_BI ||
                in->wiring->nets[net].end_count < 3) {
                continue;
            }
            for (uint32_t k = 0; k < talk_count; k++) {
                faults_begin(lister, talk_modes[k], port->end, row->tag);
                faults_jam(lister, net);
            }
        }
    }
}

static void list_sources(FaultsLister *lister) {
    const FaultsInput *in = lister->in;
    const Model *model = in->model;
    size_t rows = model->set->failure_mode.count;
    uint32_t *modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    uint32_t count = usable(lister, "battery", "dead", modes);
    for (uint32_t i = 0; i < in->built->network.battery_count; i++) {
        const char *tag = model->set->source.rows[in->built->batteries[i].source].unit;
        for (uint32_t k = 0; k < count; k++) {
            faults_begin(lister, modes[k], tag, tag);
            faults_edit(lister, fail_open(NETWORK_BATTERY, i));
            faults_kill(lister, model_owner(model, tag));
        }
    }
    count = usable(lister, "alternator", "dead|volts", modes);
    for (uint32_t i = 0; i < in->built->network.alternator_count; i++) {
        const char *tag = model->set->source.rows[in->built->alternators[i].source].unit;
        for (uint32_t k = 0; k < count; k++) {
            const FailureModeRow *row = row_of(lister, modes[k]);
            faults_begin(lister, modes[k], tag, tag);
            if (has_effect(lister, modes[k], "dead")) {
                faults_edit(lister, fail_open(NETWORK_ALTERNATOR, i));
                faults_kill(lister, model_owner(model, tag));
            } else if (row->volts_pct > 0.0) {
                faults_edit(lister,
                            fail_value(FAIL_VOLTS, NETWORK_ALTERNATOR, i,
                                       row->volts_pct / 100.0 * model->set->job.rows[0].nominal_v));
            }
        }
    }
}

/* --- buses and grounds --------------------------------------------------------------------------
 */

/* Elements by node: what hangs on a piece of metal. */
typedef struct NodeElements {
    uint32_t *first; /* by node, and one more */
    CollapseLink *links;
} NodeElements;

static NodeElements elements_by_node(FaultsLister *lister) {
    const Network *network = &lister->in->built->network;
    NodeElements on = {.first =
                           ARENA_ARRAY(lister->scratch, uint32_t, (size_t)network->node_count + 2)};
    uint32_t total = 0;
    for (int sweep = 0; sweep < 2; sweep++) {
        for (NetworkKind kind = 0; kind < NETWORK_LOAD; kind++) {
            uint32_t count = network_kind_count(network, kind);
            for (uint32_t i = 0; i < count; i++) {
                uint32_t ends[2];
                network_element_ends(network, kind, i, ends);
                for (int end = 0; end < (ends[0] == ends[1] ? 1 : 2); end++) {
                    if (sweep == 0) {
                        on.first[ends[end] + 2]++;
                        total++;
                    } else {
                        on.links[on.first[ends[end] + 1]++] = collapse_link(kind, i, false);
                    }
                }
            }
        }
        for (uint32_t node = 0; sweep == 0 && node < network->node_count; node++) {
            on.first[node + 2] += on.first[node + 1];
        }
        if (sweep == 0) {
            on.links = ARENA_ARRAY(lister->scratch, CollapseLink, total);
        }
    }
    return on;
}

/* Everything on the node of a pin comes off. */
static void open_node(FaultsLister *lister, const NodeElements *on, uint32_t node) {
    const PowerNetwork *built = lister->in->built;
    for (uint32_t i = on->first[node]; i < on->first[node + 1]; i++) {
        NetworkKind kind = collapse_link_kind(on->links[i]);
        uint32_t index = collapse_link_index(on->links[i]);
        if (kind == NETWORK_RESISTOR && built->resistor_source[index].kind == BUILD_CONDUCTOR) {
            faults_break(lister, built->resistor_source[index].index);
        } else {
            faults_edit(lister, fail_open(kind, index));
        }
    }
}

static void list_buses(FaultsLister *lister) {
    const FaultsInput *in = lister->in;
    const Model *model = in->model;
    size_t rows = model->set->failure_mode.count;
    uint32_t *modes = ARENA_ARRAY(lister->scratch, uint32_t, rows);
    NodeElements on = elements_by_node(lister);
    uint32_t count = usable(lister, "bus", "open|short", modes);
    for (BusId bus = 0; bus < model->set->bus.count; bus++) {
        TerminalId stud = model->buses[bus].stud;
        uint32_t node = stud == ID_NONE ? NETWORK_NONE
                                        : in->built->point_node[model->terminals[stud].pin_first];
        const char *name = model->set->bus.rows[bus].bus;
        for (uint32_t k = 0; k < count && node != NETWORK_NONE; k++) {
            faults_begin(lister, modes[k], name, name);
            if (has_effect(lister, modes[k], "open")) {
                open_node(lister, &on, node);
            } else {
                faults_bridge(lister, node, 0, row_of(lister, modes[k])->ohm);
            }
        }
    }
    count = usable(lister, "ground", "open", modes);
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_GROUND || row->terminal_count == 0) {
            continue;
        }
        for (uint32_t k = 0; k < count; k++) {
            faults_begin(lister, modes[k], row->tag, row->tag);
            uint32_t node = in->built->point_node[model->terminals[row->terminal_first].pin_first];
            if (node != NETWORK_NONE && node != 0) {
                open_node(lister, &on, node);
            }
            for (uint32_t t = 0; t < row->terminal_count; t++) {
                const ModelTerminal *terminal = &model->terminals[row->terminal_first + t];
                for (PinId pin = terminal->pin_first;
                     pin < terminal->pin_first + terminal->pin_count; pin++) {
                    for (uint32_t i = lister->pin_conductor_first[pin];
                         i < lister->pin_conductor_first[pin + 1]; i++) {
                        if (in->built->conductor_resistor[lister->pin_conductors[i]] ==
                                NETWORK_NONE ||
                            node == NETWORK_NONE || node == 0) {
                            faults_break(lister, lister->pin_conductors[i]);
                        }
                    }
                }
            }
        }
    }
    count = usable(lister, "bond", "open", modes);
    for (uint32_t i = 0; i < in->built->network.resistor_count; i++) {
        if (in->built->resistor_source[i].kind != BUILD_BOND) {
            continue;
        }
        const BondRow *bond = &model->set->bond.rows[in->built->resistor_source[i].index];
        const char *item = arena_format(lister->out, "%s-%s", bond->item, bond->onto);
        for (uint32_t k = 0; k < count; k++) {
            faults_begin(lister, modes[k], item, item);
            faults_edit(lister, fail_open(NETWORK_RESISTOR, i));
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

static void conductors_by_pin(FaultsLister *lister) {
    const Model *model = lister->in->model;
    const Wiring *wiring = lister->in->wiring;
    uint32_t *first = ARENA_ARRAY(lister->scratch, uint32_t, (size_t)model->pin_count + 2);
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        first[wiring->conductors[i].from + 2]++;
        first[wiring->conductors[i].to + 2]++;
    }
    for (PinId pin = 0; pin < model->pin_count; pin++) {
        first[pin + 2] += first[pin + 1];
    }
    lister->pin_conductors =
        ARENA_ARRAY(lister->scratch, ConductorId, 2 * (size_t)wiring->conductor_count);
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        lister->pin_conductors[first[wiring->conductors[i].from + 1]++] = i;
        lister->pin_conductors[first[wiring->conductors[i].to + 1]++] = i;
    }
    lister->pin_conductor_first = first;
}

void faults_list(Arena *out, const FaultsInput *input, FaultsList *list, Findings *findings) {
    Arena scratch = {0};
    *list = (FaultsList){0};
    FaultsLister lister = {
        .out = out,
        .scratch = &scratch,
        .in = input,
        .list = list,
        .findings = findings,
        .cable_shield = ARENA_ARRAY(&scratch, uint32_t, input->wiring->cable_count),
        .stamp = ARENA_ARRAY(&scratch, uint32_t, input->built->network.node_count),
    };
    conductors_by_pin(&lister);
    list_conductors(&lister);
    list_contacts(&lister);
    list_contactors(&lister);
    list_switches(&lister);
    list_units(&lister);
    list_sources(&lister);
    list_buses(&lister);
    faults_list_places(&lister);
    faults_classify(&lister);
    arena_free(&scratch);
}

uint32_t faults_find_item(const FaultsList *list, const char *item, uint32_t *count) {
    uint32_t low = 0;
    uint32_t high = list->count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (text_compare_keys(list->failures[middle].item, item) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    *count = 0;
    while (low + *count < list->count && strcmp(list->failures[low + *count].item, item) == 0) {
        *count += 1;
    }
    return low;
}

uint32_t faults_find(const FaultsList *list, const char *key) {
    const char *colon = strrchr(key, ':');
    if (colon == NULL) {
        return ID_NONE;
    }
    Arena scratch = {0};
    uint32_t count = 0;
    uint32_t first =
        faults_find_item(list, arena_text(&scratch, key, (size_t)(colon - key)), &count);
    arena_free(&scratch);
    for (uint32_t i = first; i < first + count; i++) {
        if (strcmp(list->failures[i].key, key) == 0) {
            return i;
        }
    }
    return ID_NONE;
}
