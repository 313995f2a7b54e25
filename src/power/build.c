/* Method: mark the points that carry supply current, merge what is bolted, number the nodes, then
 * one sweep for each kind of element. */
#include "power/build.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"
#include "power/merge.h"
#include "model/report.h"
#include "rating/resistance.h"
#include "route/length.h"

typedef struct Builder {
    Arena *out;
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Disconnects *disconnects;
    const Supply *supply;
    const BuildOptions *options;
    PowerNetwork *built;
    Findings *findings;
    BuildWires wires;
    uint32_t *parent; /* merged points */
    bool *used;       /* by point */
    bool *in;         /* by net: in the network */
    bool *bonded;     /* by owner: a bond row speaks of it */
    size_t resistor_capacity;
    size_t contact_capacity;
    size_t diode_capacity;
    size_t load_capacity;
    size_t resistor_source_capacity;
    size_t contact_source_capacity;
    size_t diode_source_capacity;
    size_t load_supply_capacity;
} Builder;

/* --- resistances --------------------------------------------------------------------------------
 */

void build_wires(const Model *model, BuildWires *wires) {
    memset(wires->row_of_awg, 0xff, sizeof wires->row_of_awg);
    for (size_t i = 0; i < model->set->wire.count; i++) {
        const WireRow *row = &model->set->wire.rows[i];
        int32_t place = row->awg - UNITS_AWG_THICKEST;
        if (strcmp(row->use, "usual") == 0 && place >= 0 && place < UINT8_MAX &&
            wires->row_of_awg[place] == ID_NONE) {
            wires->row_of_awg[place] = (uint32_t)i;
        }
    }
}

double build_ohm_per_km(const Model *model, const Wiring *wiring, const BuildWires *wires,
                        ConductorId conductor, int32_t awg, bool plain) {
    const Cable *cable = &wiring->cables[wiring->conductors[conductor].cable];
    if (cable->part != ID_NONE) {
        return model->set->cable.rows[cable->part].r20_ohm_per_km;
    }
    int32_t place = awg == INT_BLANK ? -1 : awg - UNITS_AWG_THICKEST;
    if (place < 0 || place >= UINT8_MAX || wires->row_of_awg[place] == ID_NONE) {
        return (double)NAN;
    }
    const WireRow *row = &model->set->wire.rows[wires->row_of_awg[place]];
    if (isnan(row->hand_ohm_per_km)) {
        return row->r20_ohm_per_km;
    }
    return plain ? row->hand_ohm_per_km : fmax(row->hand_ohm_per_km, row->r20_ohm_per_km);
}

static double contact_ohm(const Model *model, ContactId contact) {
    return contact == ID_NONE ? 0.0 : model->set->contact.rows[contact].r_mohm / 1000.0;
}

/* Contacts of the disconnect shells that one conductor passes. */
static double cavities_ohm(const Builder *builder, ConductorId conductor) {
    const Model *model = builder->model;
    const Disconnects *disconnects = builder->disconnects;
    CableId cable = builder->wiring->conductors[conductor].cable;
    if (disconnects == NULL) {
        return 0.0;
    }
    double sum_ohm = 0.0;
    for (uint32_t i = disconnects->cable_first[cable]; i < disconnects->cable_first[cable + 1];
         i++) {
        const CavityUse *use = &disconnects->uses[i];
        if (use->conductor != conductor || use->shell == ID_NONE) {
            continue; /* ID_NONE: no shell took it, which has its own finding */
        }
        uint32_t shell =
            model_row(model, TABLE_shell, model->set->disconnect_shell.rows[use->shell].shell);
        if (shell != ID_NONE) {
            sum_ohm += contact_ohm(
                model, model_row(model, TABLE_contact, model->set->shell.rows[shell].contact));
        }
    }
    return sum_ohm;
}

/* Copper of a conductor at 20 degC; 0 when its gauge or way is unknown: sizing and routing have
 * reported that. */
static double copper_ohm(const Builder *builder, ConductorId conductor, bool plain) {
    double ohm_per_km = build_ohm_per_km(builder->model, builder->wiring, &builder->wires,
                                         conductor, builder->options->awg[conductor], plain);
    double length_mm = builder->routing->length_mm[builder->wiring->conductors[conductor].cable];
    double ohm = ohm_per_km * length_mm * 1e-6;
    return isnan(ohm) ? 0.0 : ohm;
}

static double conductor_ohm(const Builder *builder, ConductorId conductor) {
    const BuildOptions *options = builder->options;
    const Conductor *row = &builder->wiring->conductors[conductor];
    double ohm = copper_ohm(builder, conductor, options->plain);
    if (options->conductor_degc != NULL) {
        ohm = resistance_at(METAL_COPPER, ohm, options->conductor_degc[conductor]);
    }
    if (!options->plain) {
        const ModelPin *pins = builder->model->pins;
        ohm += contact_ohm(builder->model, pins[row->from].contact) +
               contact_ohm(builder->model, pins[row->to].contact) +
               cavities_ohm(builder, conductor);
    }
    return fmax(ohm, BUILD_BOLTED_OHM);
}

double *build_conductor_degc(Arena *out, const Model *model, const Wiring *wiring,
                             const Routing *routing, double rise_degc) {
    double *degc = ARENA_ARRAY(out, double, wiring->conductor_count);
    for (CableId cable = 0; cable < wiring->cable_count; cable++) {
        double weighted = 0.0;
        double length_mm = 0.0;
        for (uint32_t i = 2 * routing->run_first[cable]; i < 2 * routing->run_first[cable + 1];
             i++) {
            const LengthRun *run = &routing->runs[i / 2];
            NodeId node = run->node[i % 2];
            ZoneId zone = node == ID_NONE ? ID_NONE : model->node_zone[node];
            if (zone != ID_NONE) {
                double end_mm = fmax(length_end_mm(run, (int)(i % 2)), 1.0);
                weighted += model->set->zone.rows[zone].ambient_max_degc * end_mm;
                length_mm += end_mm;
            }
        }
        for (uint32_t i = routing->cable_first[cable]; i < routing->cable_first[cable + 1]; i++) {
            SegmentId segment = routing->hops[i].segment;
            ZoneId zone = model->segment_zone[segment];
            if (zone != ID_NONE) {
                weighted += model->set->zone.rows[zone].ambient_max_degc *
                            model->segment_length_mm[segment];
                length_mm += model->segment_length_mm[segment];
            }
        }
        double mean_degc = length_mm > 0.0 ? weighted / length_mm : 20.0;
        const Cable *row = &wiring->cables[cable];
        for (uint32_t core = 0; core < row->conductor_count; core++) {
            degc[row->conductor_first + core] = mean_degc + rise_degc;
        }
    }
    return degc;
}

static double device_ohm(const Builder *builder, OwnerId owner) {
    const Model *model = builder->model;
    uint32_t protection = model->owners[owner].row;
    const ProtectionRow *row = &model->set->protection.rows[protection];
    double rating_a =
        builder->options->rating_a == NULL ? row->rating_a : builder->options->rating_a[protection];
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_device_rating, row->part, &count);
    double ohm = BUILD_BOLTED_OHM;
    for (uint32_t i = first; i < first + count; i++) {
        /* Rising ratings: the first that is not below, else the largest there is. */
        ohm = model->set->device_rating.rows[i].r_mohm / 1000.0;
        if (model->set->device_rating.rows[i].rating_a >= rating_a) {
            break;
        }
    }
    return ohm;
}

/* --- nodes --------------------------------------------------------------------------------------
 */

static uint32_t node_of(const Builder *builder, uint32_t point) {
    return builder->built->point_node[point];
}

static void use_terminal(Builder *builder, TerminalId terminal) {
    const ModelTerminal *row = &builder->model->terminals[terminal];
    for (uint32_t core = 0; core < row->pin_count; core++) {
        builder->used[row->pin_first + core] = true;
    }
}

static void mark_points(Builder *builder) {
    const Model *model = builder->model;
    const Wiring *wiring = builder->wiring;
    const Supply *supply = builder->supply;
    for (NetId net = 0; net < wiring->net_count; net++) {
        builder->in[net] = builder->options->signals || gates_net_carries(model, wiring, net);
    }
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        if (builder->in[wiring->cables[wiring->conductors[i].cable].net]) {
            builder->used[wiring->conductors[i].from] = true;
            builder->used[wiring->conductors[i].to] = true;
        }
    }
    for (uint32_t i = 0; i < supply->gates.count; i++) {
        builder->used[supply->gates.rows[i].a] = true;
        builder->used[supply->gates.rows[i].b] = true;
    }
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        use_terminal(builder, load->port);
        if (load->return_port != ID_NONE) {
            use_terminal(builder, load->return_port);
        }
    }
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        bool metal = row->kind == OWNER_GROUND || row->kind == OWNER_BAR;
        for (uint32_t i = 0; metal && i < row->terminal_count; i++) {
            use_terminal(builder, row->terminal_first + i);
        }
    }
}

/* Uses a point that is looked up by name later: a source's, a starter's, a case. */
static uint32_t use_point(Builder *builder, uint32_t point) {
    if (point != ID_NONE) {
        builder->used[point] = true;
    }
    return point;
}

uint32_t build_shield_point(const Model *model, TerminalId end) {
    const ModelTerminal *terminal = &model->terminals[end];
    return model->owners[terminal->owner].kind == OWNER_GROUND && terminal->pin_count > 0
               ? terminal->pin_first
               : gates_case_point(model, terminal->owner);
}

/* A shield carries current only when it is grounded at both ends. */
static bool is_path(const Cable *cable) {
    return cable->shielded && cable->shield_from && cable->shield_to;
}

static void mark_shields(Builder *builder) {
    const Wiring *wiring = builder->wiring;
    for (CableId i = 0; builder->options->signals && i < wiring->cable_count; i++) {
        if (is_path(&wiring->cables[i])) {
            use_point(builder, build_shield_point(builder->model, wiring->cables[i].from));
            use_point(builder, build_shield_point(builder->model, wiring->cables[i].to));
        }
    }
}

static void number_nodes(Builder *builder) {
    const Model *model = builder->model;
    PowerNetwork *built = builder->built;
    uint32_t points = gates_point_count(model);
    uint32_t structure = gates_structure_point(model);
    for (uint32_t i = 0; i < model->joint_count; i++) {
        const ModelTerminal *a = &model->terminals[model->joints[i].a];
        const ModelTerminal *b = &model->terminals[model->joints[i].b];
        uint32_t cores = a->pin_count < b->pin_count ? a->pin_count : b->pin_count;
        for (uint32_t core = 0; core < cores; core++) {
            uint32_t pins[2] = {a->pin_first + core, b->pin_first + core};
            if (builder->used[pins[0]] || builder->used[pins[1]]) {
                builder->used[pins[0]] = builder->used[pins[1]] = true;
                merge_join(builder->parent, pins[0], pins[1]);
            }
        }
    }
    built->point_node = ARENA_ARRAY(builder->out, uint32_t, points);
    built->node_point = ARENA_ARRAY(builder->out, uint32_t, (size_t)points + 1);
    memset(built->point_node, 0xff, points * sizeof *built->point_node);
    built->node_point[0] = structure;
    built->network.node_count = 1;
    for (uint32_t point = 0; point < structure; point++) {
        if (!builder->used[point]) {
            continue;
        }
        uint32_t root = merge_root(builder->parent, point);
        if (built->point_node[root] == NETWORK_NONE) {
            built->node_point[built->network.node_count] = point;
            built->point_node[root] = built->network.node_count++;
        }
        built->point_node[point] = built->point_node[root];
    }
    built->point_node[structure] = 0;
}

/* --- elements -----------------------------------------------------------------------------------
 */

static uint32_t add_resistor(Builder *builder, uint32_t a, uint32_t b, double ohm,
                             BuildSource source) {
    PowerNetwork *built = builder->built;
    size_t count = built->network.resistor_count;
    size_t same = count;
    *ARENA_PUSH(builder->out, built->network.resistors, count, builder->resistor_capacity) =
        (NetworkResistor){a, b, fmax(ohm, BUILD_BOLTED_OHM)};
    *ARENA_PUSH(builder->out, built->resistor_source, same, builder->resistor_source_capacity) =
        source;
    built->network.resistor_count = (uint32_t)count;
    return (uint32_t)count - 1;
}

static uint32_t add_contact(Builder *builder, NetworkContact contact, BuildSource source) {
    PowerNetwork *built = builder->built;
    size_t count = built->network.contact_count;
    size_t same = count;
    contact.ohm = fmax(contact.ohm, BUILD_BOLTED_OHM);
    *ARENA_PUSH(builder->out, built->network.contacts, count, builder->contact_capacity) = contact;
    *ARENA_PUSH(builder->out, built->contact_source, same, builder->contact_source_capacity) =
        source;
    built->network.contact_count = (uint32_t)count;
    return (uint32_t)count - 1;
}

static uint32_t add_diode(Builder *builder, NetworkDiode diode, BuildSource source) {
    PowerNetwork *built = builder->built;
    size_t count = built->network.diode_count;
    size_t same = count;
    diode.ohm = fmax(diode.ohm, BUILD_BOLTED_OHM);
    *ARENA_PUSH(builder->out, built->network.diodes, count, builder->diode_capacity) = diode;
    *ARENA_PUSH(builder->out, built->diode_source, same, builder->diode_source_capacity) = source;
    built->network.diode_count = (uint32_t)count;
    return (uint32_t)count - 1;
}

static uint32_t add_load(Builder *builder, NetworkLoad load, uint32_t supply_load) {
    PowerNetwork *built = builder->built;
    size_t count = built->network.load_count;
    size_t same = count;
    *ARENA_PUSH(builder->out, built->network.loads, count, builder->load_capacity) = load;
    *ARENA_PUSH(builder->out, built->load_supply, same, builder->load_supply_capacity) =
        supply_load;
    built->network.load_count = (uint32_t)count;
    return (uint32_t)count - 1;
}

static void add_conductors(Builder *builder) {
    const Wiring *wiring = builder->wiring;
    PowerNetwork *built = builder->built;
    built->conductor_resistor = ARENA_ARRAY(builder->out, uint32_t, wiring->conductor_count);
    built->plain_ohm = ARENA_ARRAY(builder->out, double, wiring->conductor_count);
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        const Conductor *row = &wiring->conductors[i];
        built->conductor_resistor[i] = NETWORK_NONE;
        built->plain_ohm[i] = copper_ohm(builder, i, true);
        if (builder->in[wiring->cables[row->cable].net]) {
            built->conductor_resistor[i] =
                add_resistor(builder, node_of(builder, row->from), node_of(builder, row->to),
                             conductor_ohm(builder, i), (BuildSource){BUILD_CONDUCTOR, i});
        }
    }
}

static void add_shields(Builder *builder) {
    const Model *model = builder->model;
    const Wiring *wiring = builder->wiring;
    for (CableId i = 0; builder->options->signals && i < wiring->cable_count; i++) {
        const Cable *cable = &wiring->cables[i];
        double ohm_per_km = !is_path(cable) || cable->part == ID_NONE
                                ? (double)NAN
                                : model->set->cable.rows[cable->part].shield_ohm_per_km;
        if (isnan(ohm_per_km) || isnan(builder->routing->length_mm[i])) {
            continue; /* of unknown resistance: no figure can be told */
        }
        add_resistor(builder, node_of(builder, build_shield_point(model, cable->from)),
                     node_of(builder, build_shield_point(model, cable->to)),
                     ohm_per_km * builder->routing->length_mm[i] * 1e-6,
                     (BuildSource){BUILD_SHIELD, i});
    }
}

static BuildElement add_gate(Builder *builder, uint32_t number, uint32_t coil) {
    const Gate *gate = &builder->supply->gates.rows[number];
    BuildSource source = {BUILD_GATE, number};
    uint32_t a = node_of(builder, gate->a);
    uint32_t b = node_of(builder, gate->b);
    if (gate->kind == GATE_DIODE) {
        NetworkDiode diode = {a, b, gate->drop_v, gate->ohm};
        return (BuildElement){NETWORK_DIODE, add_diode(builder, diode, source)};
    }
    NetworkContact contact = {.a = a, .b = b, .ohm = gate->ohm, .coil = NETWORK_NONE};
    if (gate->kind == GATE_CONTACT) {
        const SupplyCoil *row = &builder->supply->coils[coil];
        bool rest = text_has_word(gate->closed_in, row->rest);
        bool energised = text_has_word(gate->closed_in, row->energised);
        if (!rest && !energised) {
            return (BuildElement){NETWORK_KIND_COUNT, 0};
        }
        if (rest != energised) {
            contact.coil = coil;
            contact.closed_when_energised = energised;
            return (BuildElement){NETWORK_CONTACT, add_contact(builder, contact, source)};
        }
    } else if (gate->kind == GATE_SWITCH) {
        contact.ohm = isnan(gate->ohm) ? device_ohm(builder, gate->owner) : gate->ohm;
        return (BuildElement){NETWORK_CONTACT, add_contact(builder, contact, source)};
    }
    return (BuildElement){NETWORK_RESISTOR, add_resistor(builder, a, b, gate->ohm, source)};
}

static void add_gates(Builder *builder) {
    const Supply *supply = builder->supply;
    builder->built->gate_element = ARENA_ARRAY(builder->out, BuildElement, supply->gates.count);
    uint32_t coil = 0; /* both lists are in the order of owners */
    for (uint32_t i = 0; i < supply->gates.count; i++) {
        OwnerId owner = supply->gates.rows[i].owner;
        while (coil < supply->coil_count && supply->coils[coil].owner < owner) {
            coil++;
        }
        builder->built->gate_element[i] = add_gate(builder, i, coil);
    }
}

/* A coil without figures picks up at three quarters of the nominal voltage and lets go at a tenth:
 * common practice, no published source. */
#define BUILD_PICK_UP_SHARE 0.75
#define BUILD_DROP_OUT_SHARE 0.10

static void add_coils(Builder *builder) {
    const Model *model = builder->model;
    const Supply *supply = builder->supply;
    double nominal_v = model->set->job.rows[0].nominal_v;
    Network *network = &builder->built->network;
    network->coils = ARENA_ARRAY(builder->out, NetworkCoil, supply->coil_count);
    network->coil_count = supply->coil_count;
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        const SupplyCoil *coil = &supply->coils[i];
        const SwitchPartRow *part = &model->set->switch_part.rows[model->owners[coil->owner].part];
        double pickup_v =
            isnan(part->pick_up_v) ? BUILD_PICK_UP_SHARE * nominal_v : part->pick_up_v;
        double dropout_v =
            isnan(part->drop_out_v) ? BUILD_DROP_OUT_SHARE * nominal_v : part->drop_out_v;
        network->coils[i] = (NetworkCoil){
            .plus = node_of(builder, coil->plus),
            .minus = node_of(builder, coil->minus),
            .ohm = nominal_v / part->coil_a,
            .pickup_v = pickup_v,
            .dropout_v = fmin(dropout_v, pickup_v),
        };
    }
}

/* A box comes back this much above the voltage it went out at: common practice, no published
 * source. Given for a 14 V system, in proportion for others. */
#define BUILD_COME_BACK_SHARE (0.5 / 14.0)

static NetworkLoadKind kind_of(LoadLaw law) {
    switch (law) {
    case LAW_POWER:
        return NETWORK_LOAD_POWER;
    case LAW_CURRENT:
        return NETWORK_LOAD_CURRENT;
    case LAW_RESISTANCE:
    default:
        return NETWORK_LOAD_RESISTANCE;
    }
}

static void add_box(Builder *builder, uint32_t number) {
    const Model *model = builder->model;
    const SupplyLoad *load = &builder->supply->loads[number];
    const ModelTerminal *port = &model->terminals[load->port];
    double nominal_v = model->set->job.rows[0].nominal_v;
    NetworkLoad element = {
        .kind = kind_of(load->law),
        .nominal_v = nominal_v,
        .minimum_v = isnan(load->minimum_v) ? 0.0 : load->minimum_v,
        .hysteresis_v = isnan(load->minimum_v) ? 0.0 : BUILD_COME_BACK_SHARE * nominal_v,
    };
    if (load->return_port == load->port) {
        /* A reversing motor: between the two cores of its own port, one way or the other. */
        for (uint32_t turn = 0; turn < 2 && port->pin_count >= 2; turn++) {
            element.plus = node_of(builder, port->pin_first + turn);
            element.minus = node_of(builder, port->pin_first + 1 - turn);
            add_load(builder, element, number);
        }
        return;
    }
    uint32_t back_first = gates_case_point(model, load->owner);
    uint32_t back_count = 1;
    if (load->return_port != ID_NONE) {
        back_first = model->terminals[load->return_port].pin_first;
        back_count = model->terminals[load->return_port].pin_count;
    }
    uint32_t shares = port->pin_count > back_count ? port->pin_count : back_count;
    for (uint32_t i = 0; i < shares && back_count > 0; i++) {
        element.plus = node_of(builder, port->pin_first + i % port->pin_count);
        element.minus = node_of(builder, back_first + i % back_count);
        add_load(builder, element, number);
    }
}

/* The starter, unless it has a load row of its own: a motor between its port and its return pin or
 * case. */
static void add_starter(Builder *builder, TerminalId port, uint32_t back) {
    PowerNetwork *built = builder->built;
    built->starter = NETWORK_NONE;
    if (port == ID_NONE) {
        return;
    }
    const ModelTerminal *terminal = &builder->model->terminals[port];
    uint32_t own = builder->supply->terminal_load[port];
    if (own != ID_NONE) {
        built->starter = built->load_first[own];
        return;
    }
    NetworkLoad element = {
        .plus = node_of(builder, terminal->pin_first),
        .minus = node_of(builder, back),
        .kind = NETWORK_LOAD_CURRENT,
        .nominal_v = builder->model->set->job.rows[0].nominal_v,
    };
    built->starter = add_load(builder, element, NETWORK_NONE);
}

static void add_boxes(Builder *builder) {
    const Supply *supply = builder->supply;
    PowerNetwork *built = builder->built;
    built->load_first = ARENA_ARRAY(builder->out, uint32_t, (size_t)supply->load_count + 1);
    for (uint32_t i = 0; i < supply->load_count; i++) {
        built->load_first[i] = built->network.load_count;
        if (supply->loads[i].load_row != ID_NONE) {
            add_box(builder, i);
        }
    }
    built->load_first[supply->load_count] = built->network.load_count;
}

/* --- sources ------------------------------------------------------------------------------------
 */

typedef struct SourcePoints {
    OwnerId owner;
    uint32_t plus;
    uint32_t minus;
} SourcePoints;

static SourcePoints source_points(const Model *model, uint32_t source) {
    const SourceRow *row = &model->set->source.rows[source];
    SourcePoints points = {model_owner(model, row->unit), ID_NONE, ID_NONE};
    if (points.owner != ID_NONE) {
        const char *minus = *row->minus == '\0' ? "case" : row->minus;
        points.plus = gates_owner_point(model, points.owner, row->plus);
        points.minus = gates_owner_point(model, points.owner, minus);
    }
    return points;
}

static void add_battery(Builder *builder, uint32_t source, uint32_t row, SourcePoints points) {
    PowerNetwork *built = builder->built;
    Network *network = &built->network;
    BuildSource inner = {BUILD_INNER, source};
    double r_ohm = builder->model->set->battery.rows[row].r_mohm / 1000.0;
    uint32_t cells = network->node_count++;
    uint32_t plus = node_of(builder, points.plus);
    built->node_point[cells] = points.plus;
    built->batteries[network->battery_count] = (BuildBattery){
        .source = source,
        .battery = row,
        .diode = add_diode(builder, (NetworkDiode){cells, plus, 0.0, r_ohm / 2.0}, inner),
        .bypass = add_contact(
            builder,
            (NetworkContact){.a = cells, .b = plus, .ohm = r_ohm / 2.0, .coil = NETWORK_NONE},
            inner),
        .r_ohm = r_ohm,
    };
    network->batteries[network->battery_count++] = (NetworkBattery){
        .plus = cells,
        .minus = node_of(builder, points.minus),
        .open_v = build_rest_v(builder->model, row, 100.0),
        .ohm = fmax(r_ohm / 2.0, BUILD_BOLTED_OHM),
    };
}

/* Least field voltage of an alternator whose field port has no minimum of its own: common practice,
 * no published source. */
#define BUILD_FIELD_SHARE 0.1

static void add_alternator(Builder *builder, uint32_t source, uint32_t row, SourcePoints points) {
    const Model *model = builder->model;
    PowerNetwork *built = builder->built;
    Network *network = &built->network;
    const AlternatorRow *part = &model->set->alternator.rows[row];
    uint32_t field = NETWORK_NONE;
    const char *port = model->set->source.rows[source].field;
    if (*port != '\0') {
        uint32_t point = gates_owner_point(model, points.owner, port);
        uint32_t load = point >= model->pin_count
                            ? ID_NONE
                            : builder->supply->terminal_load[model->pins[point].terminal];
        bool there = load != ID_NONE && built->load_first[load] < built->load_first[load + 1];
        field = there ? built->load_first[load] : NETWORK_NONE;
    }
    double field_v = field == NETWORK_NONE ? 0.0 : network->loads[field].minimum_v;
    if (!(field_v > 0.0)) {
        field_v = BUILD_FIELD_SHARE * model->set->job.rows[0].nominal_v;
    }
    built->alternators[network->alternator_count] = (BuildAlternator){
        .source = source,
        .alternator = row,
        .field = field,
        .field_v = field_v,
    };
    network->alternators[network->alternator_count++] = (NetworkAlternator){
        .plus = node_of(builder, points.plus),
        .minus = node_of(builder, points.minus),
        .set_v = part->regulated_v,
        .slope_ohm = fmax(part->slope_mohm / 1000.0, BUILD_BOLTED_OHM),
    };
}

/* "its ports are POS NEG": the ports of a unit as a source row names them. */
static const char *port_names(Arena *arena, const Model *model, OwnerId owner) {
    if (owner == ID_NONE) {
        return "";
    }
    Buffer list = {.arena = arena};
    const ModelOwner *row = &model->owners[owner];
    for (uint32_t i = 0; i < row->terminal_count; i++) {
        const char *point = strchr(model->terminals[row->terminal_first + i].end, '.');
        if (point != NULL) {
            buffer_format(&list, "%s %s", list.length == 0 ? "its ports are" : ",", point + 1);
        }
    }
    return list.length == 0 ? "" : list.bytes;
}

static void add_sources(Builder *builder) {
    const Model *model = builder->model;
    const TableSet *set = model->set;
    PowerNetwork *built = builder->built;
    size_t count = set->source.count;
    built->network.batteries = ARENA_ARRAY(builder->out, NetworkBattery, count);
    built->network.alternators = ARENA_ARRAY(builder->out, NetworkAlternator, count);
    built->batteries = ARENA_ARRAY(builder->out, BuildBattery, count);
    built->alternators = ARENA_ARRAY(builder->out, BuildAlternator, count);
    for (uint32_t i = 0; i < count; i++) {
        SourcePoints points = source_points(model, i);
        if (points.plus == ID_NONE || points.minus == ID_NONE) {
            bool plus = points.plus == ID_NONE;
            const char *unit = set->source.rows[i].unit;
            const char *port = plus ? set->source.rows[i].plus : set->source.rows[i].minus;
            Finding *finding =
                report_row(builder->findings, model, RULE_SOLVE_SOURCE, TABLE_source, i,
                           plus ? "plus" : "minus", "%s has no port %s", unit, port);
            finding->hint = port_names(builder->findings->arena, model, points.owner);
            continue;
        }
        const char *part = set->unit.rows[model->owners[points.owner].row].part;
        uint32_t battery = model_row(model, TABLE_battery, part);
        uint32_t alternator = model_row(model, TABLE_alternator, part);
        if (battery != ID_NONE) {
            add_battery(builder, i, battery, points);
        } else if (alternator != ID_NONE) {
            add_alternator(builder, i, alternator, points);
        } else {
            report_row(builder->findings, model, RULE_SOLVE_SOURCE, TABLE_source, i, "unit",
                       "part %s of %s is neither a battery nor an alternator of the library", part,
                       set->source.rows[i].unit)
                ->hint = "add it to the library's `battery` or `alternator`, or take the row out";
        }
    }
}

/* A job whose boxes draw and that names no source: nothing can be solved, which must not look like
 * nothing being wrong. Sources that can't be placed have their own findings. */
static void report_no_source(Builder *builder) {
    if (builder->model->set->source.count > 0 || builder->supply->load_count == 0) {
        return;
    }
    Finding *finding = finding_report(builder->findings, RULE_SOLVE_SOURCE, "source", "", "",
                                      "the job names no source: no load, no voltage and no "
                                      "endurance is proved");
    finding->hint = "write a `source` row for every battery and alternator";
}

/* --- bonds --------------------------------------------------------------------------------------
 */

/* The point that a bond row's cell means: the structure, a ground point's metal, a case. */
static uint32_t bond_point(const Model *model, const char *name) {
    if (strcmp(name, "structure") == 0) {
        return gates_structure_point(model);
    }
    OwnerId owner = model_owner(model, name);
    if (owner == ID_NONE) {
        return ID_NONE;
    }
    const ModelOwner *row = &model->owners[owner];
    if (row->kind != OWNER_GROUND) {
        return gates_case_point(model, owner);
    }
    return row->terminal_count == 0 ? ID_NONE : model->terminals[row->terminal_first].pin_first;
}

static void mark_bonds(Builder *builder) {
    const Model *model = builder->model;
    for (uint32_t i = 0; i < model->set->bond.count; i++) {
        const BondRow *row = &model->set->bond.rows[i];
        const char *names[2] = {row->item, row->onto};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model_owner(model, names[end]);
            if (owner != ID_NONE) {
                builder->bonded[owner] = true;
            } else if (strcmp(names[end], "structure") != 0) {
                Finding *finding = report_row(builder->findings, model, RULE_SOLVE_BOND, TABLE_bond,
                                              i, end == 0 ? "item" : "onto",
                                              "nothing in this job is called %s", names[end]);
                if (!report_meant(builder->findings, finding, model, names[end])) {
                    finding->hint = "name a unit, a ground point, or `structure`";
                }
            }
            use_point(builder, bond_point(model, names[end]));
        }
    }
}

static void add_bonds(Builder *builder) {
    const Model *model = builder->model;
    for (uint32_t i = 0; i < model->set->bond.count; i++) {
        const BondRow *row = &model->set->bond.rows[i];
        uint32_t a = bond_point(model, row->item);
        uint32_t b = bond_point(model, row->onto);
        if (a != ID_NONE && b != ID_NONE) {
            add_resistor(builder, node_of(builder, a), node_of(builder, b), row->mohm / 1000.0,
                         (BuildSource){BUILD_BOND, i});
        }
    }
}

/* --- cases --------------------------------------------------------------------------------------
 */

static void need_case(Builder *builder, OwnerId owner, const char *what) {
    use_point(builder, gates_case_point(builder->model, owner));
    if (builder->bonded[owner]) {
        return;
    }
    builder->bonded[owner] = true; /* said once */
    report_owner(
        builder->findings, builder->model, RULE_SOLVE_CASE, owner,
        "%s returns through its case (%s), but no bond row says what the case is joined to",
        builder->model->owners[owner].tag, what)
        ->hint = "add a bond row: the case onto the engine block, a ground point or `structure`";
}

static TerminalId starter_port(const Model *model) {
    const char *end = model->set->job.rows[0].starter;
    return *end == '\0' ? ID_NONE : model_terminal(model, end);
}

/* Where the starter's current returns: its return port when it has one, else its case. */
static uint32_t starter_return(const Model *model, TerminalId port) {
    OwnerId owner = model->terminals[port].owner;
    const ModelOwner *row = &model->owners[owner];
    for (uint32_t i = 0; i < row->terminal_count; i++) {
        const ModelTerminal *terminal = &model->terminals[row->terminal_first + i];
        if (terminal->direction == DIRECTION_RET && terminal->pin_count > 0) {
            return terminal->pin_first;
        }
    }
    return gates_case_point(model, owner);
}

static void mark_cases(Builder *builder, TerminalId starter) {
    const Model *model = builder->model;
    const Supply *supply = builder->supply;
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        if (load->load_row != ID_NONE && load->return_port == ID_NONE) {
            need_case(builder, load->owner, model->terminals[load->port].name);
        }
    }
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        if (supply->coils[i].minus >= model->pin_count) {
            need_case(builder, supply->coils[i].owner, "coil");
        }
    }
    for (uint32_t i = 0; i < model->set->source.count; i++) {
        SourcePoints points = source_points(model, i);
        use_point(builder, points.plus);
        use_point(builder, points.minus);
        if (points.minus != ID_NONE && points.minus >= model->pin_count) {
            need_case(builder, points.owner, "minus");
        }
    }
    if (starter != ID_NONE) {
        uint32_t back = use_point(builder, starter_return(model, starter));
        use_terminal(builder, starter);
        if (back >= model->pin_count) {
            need_case(builder, model->terminals[starter].owner, model->terminals[starter].name);
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

bool build_network(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                   const Disconnects *disconnects, const Supply *supply,
                   const BuildOptions *options, PowerNetwork *built, Findings *findings) {
    CHECK(options->awg != NULL);
    *built = (PowerNetwork){0};
    uint32_t points = gates_point_count(model);
    Builder builder = {
        .out = out,
        .model = model,
        .wiring = wiring,
        .routing = routing,
        .disconnects = disconnects,
        .supply = supply,
        .options = options,
        .built = built,
        .findings = findings,
        .parent = ARENA_ARRAY(out, uint32_t, points),
        .used = ARENA_ARRAY(out, bool, points),
        .in = ARENA_ARRAY(out, bool, wiring->net_count),
        .bonded = ARENA_ARRAY(out, bool, model->owner_count),
    };
    merge_start(builder.parent, points);
    build_wires(model, &builder.wires);
    TerminalId starter = starter_port(model);
    if (starter == ID_NONE && *model->set->job.rows[0].starter != '\0') {
        const char *end = model->set->job.rows[0].starter;
        Finding *finding = report_row(findings, model, RULE_SOLVE_SOURCE, TABLE_job, 0, "starter",
                                      "there is no port %s", end);
        report_meant(findings, finding, model, end);
    }
    mark_points(&builder);
    mark_shields(&builder);
    mark_bonds(&builder);
    mark_cases(&builder, starter);
    number_nodes(&builder);
    add_conductors(&builder);
    add_shields(&builder);
    add_gates(&builder);
    add_coils(&builder);
    add_boxes(&builder);
    add_starter(&builder, starter, starter == ID_NONE ? 0 : starter_return(model, starter));
    add_sources(&builder);
    add_bonds(&builder);
    report_no_source(&builder);
    return built->network.battery_count + built->network.alternator_count > 0;
}

/* --- phase by phase -----------------------------------------------------------------------------
 */

void build_set_load(PowerNetwork *built, const Supply *supply, uint32_t load, double amps_a) {
    CHECK(load < supply->load_count);
    uint32_t first = built->load_first[load];
    uint32_t end = built->load_first[load + 1];
    bool motor = supply->loads[load].return_port == supply->loads[load].port;
    for (uint32_t i = first; i < end; i++) {
        double share = motor ? (i == first ? 1.0 : 0.0) : 1.0 / (double)(end - first);
        NetworkLoad *element = &built->network.loads[i];
        element->nominal_a = amps_a * share;
        /* What is off needs no voltage, and nobody waits to see it go out. */
        bool watched = amps_a > 0.0 && !isnan(supply->loads[load].minimum_v);
        element->minimum_v = watched ? supply->loads[load].minimum_v : 0.0;
    }
}

void build_rest_loads(const PowerNetwork *built, NetworkState *state) {
    for (uint32_t i = 0; i < built->network.load_count; i++) {
        state->load_on[i] = state->load_on[i] || !(built->network.loads[i].nominal_a > 0.0);
    }
}

bool build_turn_motors(PowerNetwork *built, const Supply *supply, const double *load_v) {
    bool turned = false;
    for (uint32_t i = 0; i < built->network.load_count; i++) {
        uint32_t load = built->load_supply[i];
        NetworkLoad *element = &built->network.loads[i];
        if (load == NETWORK_NONE || element->nominal_a <= 0.0 || load_v[i] >= 0.0 ||
            supply->loads[load].return_port != supply->loads[load].port) {
            continue;
        }
        uint32_t first = built->load_first[load];
        built->network.loads[i == first ? first + 1 : first].nominal_a = element->nominal_a;
        element->nominal_a = 0.0;
        turned = true;
    }
    return turned;
}

void build_set_positions(const PowerNetwork *built, const Supply *supply,
                         const char *const *positions, NetworkState *state) {
    for (uint32_t i = 0; i < built->network.contact_count; i++) {
        if (built->network.contacts[i].coil == NETWORK_NONE &&
            built->contact_source[i].kind == BUILD_GATE) {
            const Gate *gate = &supply->gates.rows[built->contact_source[i].index];
            state->contact_closed[i] = gates_closed(gate, positions[gate->owner]);
        }
    }
}

double build_output_a(const Model *model, uint32_t alternator_row, const char *engine) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_alternator_output,
                                   model->set->alternator.rows[alternator_row].part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        if (strcmp(model->set->alternator_output.rows[i].engine, engine) == 0) {
            return model->set->alternator_output.rows[i].output_a;
        }
    }
    return 0.0;
}

static bool is_off(const Model *model, const char *const *positions, uint32_t source) {
    OwnerId owner = model_owner(model, model->set->source.rows[source].unit);
    return strcmp(positions[owner], "off") == 0;
}

void build_set_sources(PowerNetwork *built, const Model *model, const char *const *positions,
                       const char *engine) {
    for (uint32_t i = 0; i < built->network.alternator_count; i++) {
        const BuildAlternator *row = &built->alternators[i];
        NetworkAlternator *alternator = &built->network.alternators[i];
        alternator->limit_a = build_output_a(model, row->alternator, engine);
        alternator->running = !is_off(model, positions, row->source) && alternator->limit_a > 0.0;
    }
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        const BuildBattery *row = &built->batteries[i];
        built->network.batteries[i].ohm = is_off(model, positions, row->source)
                                              ? (double)INFINITY
                                              : fmax(row->r_ohm / 2.0, BUILD_BOLTED_OHM);
    }
}

void build_set_resistance(PowerNetwork *built, const Model *model, uint32_t battery,
                          double factor) {
    BuildBattery *row = &built->batteries[battery];
    row->r_ohm = model->set->battery.rows[row->battery].r_mohm / 1000.0 * factor;
    double half_ohm = fmax(row->r_ohm / 2.0, BUILD_BOLTED_OHM);
    NetworkBattery *cells = &built->network.batteries[battery];
    cells->ohm = isinf(cells->ohm) ? cells->ohm : half_ohm;
    NetworkDiode *diode = &built->network.diodes[row->diode];
    diode->ohm = isinf(diode->ohm) ? diode->ohm : half_ohm;
    built->network.contacts[row->bypass].ohm = half_ohm;
}

double build_rest_v(const Model *model, uint32_t battery_row, double charge_pct) {
    const BatteryRow *battery = &model->set->battery.rows[battery_row];
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_ocv, battery->part, &count);
    const OcvRow *rows = model->set->ocv.rows;
    if (count == 0) {
        return battery->open_circuit_v;
    }
    double volts_v = rows[first].volts_v;
    for (uint32_t i = first; i + 1 < first + count && charge_pct > rows[i].charge_pct; i++) {
        double span = rows[i + 1].charge_pct - rows[i].charge_pct;
        double share = fmin((charge_pct - rows[i].charge_pct) / span, 1.0);
        volts_v = rows[i].volts_v + share * (rows[i + 1].volts_v - rows[i].volts_v);
    }
    return fmin(volts_v, battery->open_circuit_v);
}

void build_set_charge(PowerNetwork *built, const Model *model, uint32_t battery, double charge_pct,
                      NetworkState *state) {
    const BuildBattery *row = &built->batteries[battery];
    bool full = charge_pct >= 100.0;
    built->network.batteries[battery].open_v = build_rest_v(model, row->battery, charge_pct);
    built->network.diodes[row->diode].ohm =
        full ? fmax(row->r_ohm / 2.0, BUILD_BOLTED_OHM) : (double)INFINITY;
    state->contact_closed[row->bypass] = !full;
}
