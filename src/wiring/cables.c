/* Nets to laid pieces: neighbours of a chain, or the first end to each other one. A piece has as
 * many conductors as its class has cores, fewer where an end has fewer pins (reported by check.c).
 * Then at which ends shields are grounded: as the class says, as the box that hosts the shields of
 * that class says, as the `shield` rows say, the later over the earlier. */
#include <string.h>

#include "base/check.h"
#include "wiring/derive.h"

/* --- cables and conductors -------------------------------------------------------------------- */

static uint32_t piece_count(const Net *net) {
    return net->end_count > 1 ? net->end_count - 1 : 0;
}

static uint16_t common_cores(const Model *model, const Net *net, TerminalId from, TerminalId to) {
    uint16_t cores = net->core_count;
    uint16_t from_pins = model->terminals[from].pin_count;
    uint16_t to_pins = model->terminals[to].pin_count;
    cores = cores < from_pins ? cores : from_pins;
    return cores < to_pins ? cores : to_pins;
}

static void fill_cable(Deriver *deriver, NetId id, Cable *cable, TerminalId from, TerminalId to) {
    const Model *model = deriver->model;
    Wiring *wiring = deriver->wiring;
    const Net *net = &wiring->nets[id];
    const InterfaceRow *class = wiring_class(model, net->class_id);
    uint32_t part = model->class_cable[net->class_id];
    *cable = (Cable){
        .net = id,
        .from = from,
        .to = to,
        .part = part,
        .coax = strcmp(class->kind, "coax") == 0,
        .heavy = strcmp(class->kind, "heavy") == 0,
        .shielded = part == ID_NONE ? *class->shield_ground != '\0'
                                    : model->set->cable.rows[part].shielded == 1,
        .conductor_first = wiring->conductor_count,
        .conductor_count = common_cores(model, net, from, to),
    };
    CableId cable_id = (CableId)(cable - wiring->cables);
    for (uint16_t core = 0; core < cable->conductor_count; core++) {
        wiring->conductors[wiring->conductor_count++] = (Conductor){
            .cable = cable_id,
            .core = core,
            .from = model->terminals[from].pin_first + core,
            .to = model->terminals[to].pin_first + core,
            .key = "",
        };
    }
}

/* The ends that the place-th piece of a net joins. */
static void piece_ends(const Wiring *wiring, const Net *net, uint32_t place, TerminalId *from,
                       TerminalId *to) {
    const TerminalId *ends = &wiring->ends[net->end_first];
    *from = net->join == JOIN_HUB ? ends[0] : ends[place];
    *to = ends[place + 1];
}

void derive_cables(Deriver *deriver) {
    Wiring *wiring = deriver->wiring;
    size_t cables = 0;
    size_t conductors = 0;
    TerminalId from = ID_NONE;
    TerminalId to = ID_NONE;
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        cables += piece_count(net);
        for (uint32_t k = 0; k < piece_count(net); k++) {
            piece_ends(wiring, net, k, &from, &to);
            conductors += common_cores(deriver->model, net, from, to);
        }
    }
    CHECK(conductors < ID_NONE);
    wiring->cables = ARENA_ARRAY(deriver->out, Cable, cables);
    wiring->conductors = ARENA_ARRAY(deriver->out, Conductor, conductors);
    for (NetId i = 0; i < wiring->net_count; i++) {
        Net *net = &wiring->nets[i];
        net->cable_first = wiring->cable_count;
        net->cable_count = piece_count(net);
        for (uint32_t k = 0; k < net->cable_count; k++) {
            piece_ends(wiring, net, k, &from, &to);
            fill_cable(deriver, i, &wiring->cables[wiring->cable_count++], from, to);
        }
    }
}

/* --- shields ---------------------------------------------------------------------------------- */

static bool hosts_shield(const Model *model, TerminalId terminal, const char *class) {
    const ModelOwner *owner = &model->owners[model->terminals[terminal].owner];
    return owner->kind == OWNER_UNIT && owner->part != ID_NONE &&
           text_has_word(model->set->part.rows[owner->part].shield_host, class);
}

/* "one end" is the end that hosts shields of the class; else the listener; else the far end. */
static void ground_one_end(const Model *model, Cable *cable, const char *class) {
    bool from_hosts = hosts_shield(model, cable->from, class);
    bool to_hosts = hosts_shield(model, cable->to, class);
    if (from_hosts != to_hosts) {
        cable->shield_from = from_hosts;
    } else {
        cable->shield_from = model->terminals[cable->from].direction == DIRECTION_IN &&
                             model->terminals[cable->to].direction != DIRECTION_IN;
    }
    cable->shield_to = !cable->shield_from;
}

static void report_shield_row(Deriver *deriver, uint32_t row, const char *column,
                              const char *message, const char *hint) {
    Finding *finding = report_row(deriver->findings, deriver->model, RULE_WIRE_SHIELD, TABLE_shield,
                                  row, column, "%s", message);
    finding->hint = hint;
}

/* A row of `shield`: a box's manual over the class's rule, at that box's end of every piece. */
static void apply_shield_row(Deriver *deriver, uint32_t row) {
    const Model *model = deriver->model;
    Wiring *wiring = deriver->wiring;
    const ShieldRow *cell = &model->set->shield.rows[row];
    NetId id = name_map_find(&wiring->net_by_name, cell->circuit);
    TerminalId terminal = model_terminal(model, cell->port);
    if (id == NAME_NONE) {
        report_shield_row(deriver, row, "circuit", "no circuit of that name",
                          "name the circuit as `show net` lists it");
        return;
    }
    const Net *net = &wiring->nets[id];
    bool found = false;
    bool shielded = false;
    for (uint32_t k = 0; k < net->cable_count; k++) {
        Cable *cable = &wiring->cables[net->cable_first + k];
        shielded = shielded || cable->shielded;
        if (terminal != ID_NONE && cable->from == terminal) {
            cable->shield_from = cell->grounded == 1;
            found = true;
        }
        if (terminal != ID_NONE && cable->to == terminal) {
            cable->shield_to = cell->grounded == 1;
            found = true;
        }
    }
    if (!found) {
        report_shield_row(deriver, row, "port", "that port is no end of the circuit",
                          "name one of the circuit's ends");
    } else if (!shielded) {
        report_shield_row(deriver, row, "circuit", "the circuit's class has no shield",
                          "take the row out, or give the circuit a shielded class");
    }
}

/* A shield that ends up grounded nowhere shields nothing; one grounded at both ends although the
 * class wants one carries current between their grounds. */
static void check_shield(Deriver *deriver, const Cable *cable) {
    const Model *model = deriver->model;
    const Net *net = &deriver->wiring->nets[cable->net];
    const InterfaceRow *class = wiring_class(model, net->class_id);
    if (*class->shield_ground == '\0' || cable->coax) {
        return;
    }
    bool one_end = strcmp(class->shield_ground, "one end") == 0;
    bool both = cable->shield_from && cable->shield_to;
    if ((cable->shield_from || cable->shield_to) && !(one_end && both)) {
        return;
    }
    const char *from = model->terminals[cable->from].end;
    const char *to = model->terminals[cable->to].end;
    Finding *finding =
        both ? DERIVE_REPORT(
                   deriver, RULE_WIRE_SHIELD, net, "",
                   "the shield of %s is grounded at both %s and %s; class %s wants one end",
                   net->name, from, to, class->class)
             : DERIVE_REPORT(deriver, RULE_WIRE_SHIELD, net, "",
                             "the shield of %s is grounded neither at %s nor at %s", net->name,
                             from, to);
    finding->source = class->source;
    finding->hint = "mend the `shield` rows of this circuit";
    finding->severity = both ? SEVERITY_WARNING : finding->severity;
}

void derive_shields(Deriver *deriver) {
    const Model *model = deriver->model;
    Wiring *wiring = deriver->wiring;
    for (CableId i = 0; i < wiring->cable_count; i++) {
        Cable *cable = &wiring->cables[i];
        if (!cable->shielded) {
            continue;
        }
        const InterfaceRow *class = wiring_class(model, wiring->nets[cable->net].class_id);
        if (strcmp(class->shield_ground, "one end") == 0) {
            ground_one_end(model, cable, class->class);
        } else if (*class->shield_ground != '\0') {
            cable->shield_from = cable->shield_to = true;
        }
    }
    for (uint32_t i = 0; i < model->set->shield.count; i++) {
        apply_shield_row(deriver, i);
    }
    for (CableId i = 0; i < wiring->cable_count; i++) {
        if (wiring->cables[i].shielded) {
            check_shield(deriver, &wiring->cables[i]);
        }
    }
}
