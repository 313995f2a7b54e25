/* Method: one sweep over the owners; each kind of owner has one or two tables of its part that say
 * what joins its terminals. */
#include "power/gates.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* --- words and terminals ------------------------------------------------------------------------
 */

bool gates_closed(const Gate *gate, const char *position) {
    bool moves = gate->kind == GATE_SWITCH || gate->kind == GATE_CONTACT;
    return !moves || text_has_word(gate->closed_in, position);
}

static TerminalId own_terminal(const Model *model, OwnerId owner, const char *name, size_t length) {
    const ModelOwner *row = &model->owners[owner];
    for (uint32_t i = 0; i < row->terminal_count; i++) {
        const char *own = model->terminals[row->terminal_first + i].name;
        if (strncmp(own, name, length) == 0 && own[length] == '\0') {
            return row->terminal_first + i;
        }
    }
    return ID_NONE;
}

uint32_t gates_owner_point(const Model *model, OwnerId owner, const char *terminal) {
    if (strcmp(terminal, "case") == 0) {
        return gates_case_point(model, owner);
    }
    const char *slash = strchr(terminal, '/');
    size_t length = slash == NULL ? strlen(terminal) : (size_t)(slash - terminal);
    unsigned long core = slash == NULL ? 1 : strtoul(slash + 1, NULL, 10);
    TerminalId found = own_terminal(model, owner, terminal, length);
    if (found == ID_NONE || core < 1 || core > model->terminals[found].pin_count) {
        return ID_NONE;
    }
    return model->terminals[found].pin_first + (uint32_t)core - 1;
}

TerminalId gates_coil(const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    if (row->kind != OWNER_SWITCHGEAR || row->part == ID_NONE) {
        return ID_NONE;
    }
    const SwitchPartRow *part = &model->set->switch_part.rows[row->part];
    bool moved = strcmp(part->kind, "relay") == 0 || strcmp(part->kind, "contactor") == 0;
    return moved && part->coil_a > 0.0 ? own_terminal(model, owner, "C+", 2) : ID_NONE;
}

/* --- one owner ----------------------------------------------------------------------------------
 */

typedef struct GateList {
    Gate *rows;
    size_t count;
    size_t capacity;
} GateList;

static void add(Arena *arena, GateList *list, Gate gate) {
    if (gate.a != ID_NONE && gate.b != ID_NONE && gate.a != gate.b) {
        *ARENA_PUSH(arena, list->rows, list->count, list->capacity) = gate;
    }
}

static void add_device(Arena *arena, GateList *list, const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    const DeviceRow *device = &model->set->device.rows[row->part];
    add(arena, list,
        (Gate){
            .kind = GATE_SWITCH,
            .a = gates_owner_point(model, owner, device->in_terminal),
            .b = gates_owner_point(model, owner, device->out_terminal),
            .owner = owner,
            .ohm = (double)NAN,
            .closed_in = "closed",
            .table = TABLE_device,
            .row = row->part,
        });
}

/* Diodes and shunts join their two terminals; the rest has a row for every pole. */
static void add_switchgear(Arena *arena, GateList *list, const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    const SwitchPartRow *part = &model->set->switch_part.rows[row->part];
    bool diode = strcmp(part->kind, "diode") == 0;
    if (diode || strcmp(part->kind, "shunt") == 0) {
        add(arena, list,
            (Gate){
                .kind = diode ? GATE_DIODE : GATE_RESISTOR,
                .a = gates_owner_point(model, owner, part->in_terminal),
                .b = gates_owner_point(model, owner, part->out_terminal),
                .owner = owner,
                .ohm = part->r_mohm / 1000.0,
                .drop_v = isnan(part->forward_v) ? 0.0 : part->forward_v,
                .closed_in = "",
                .table = TABLE_switch_part,
                .row = row->part,
            });
        return;
    }
    GateKind kind = gates_coil(model, owner) == ID_NONE ? GATE_SWITCH : GATE_CONTACT;
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_switch_pole, part->part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const SwitchPoleRow *pole = &model->set->switch_pole.rows[i];
        add(arena, list,
            (Gate){
                .kind = kind,
                .a = gates_owner_point(model, owner, pole->from_terminal),
                .b = gates_owner_point(model, owner, pole->to_terminal),
                .owner = owner,
                .ohm = part->r_mohm / 1000.0,
                .closed_in = pole->closed_in,
                .table = TABLE_switch_pole,
                .row = i,
            });
    }
}

static void add_inside(Arena *arena, GateList *list, const Model *model, OwnerId owner) {
    const char *part = model->set->part.rows[model->owners[owner].part].part;
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_inside, part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const InsideRow *inside = &model->set->inside.rows[i];
        if (strcmp(inside->kind, "isolated") == 0) {
            continue;
        }
        bool hand = strcmp(inside->kind, "switch") == 0;
        add(arena, list,
            (Gate){
                .kind = hand                                 ? GATE_SWITCH
                        : strcmp(inside->kind, "diode") == 0 ? GATE_DIODE
                                                             : GATE_RESISTOR,
                .a = gates_owner_point(model, owner, inside->from_port),
                .b = gates_owner_point(model, owner, inside->to_port),
                .owner = owner,
                .ohm = isnan(inside->ohm) ? 0.0 : inside->ohm,
                .drop_v = isnan(inside->forward_v) ? 0.0 : inside->forward_v,
                .closed_in = hand ? "closed on" : "",
                .table = TABLE_inside,
                .row = i,
            });
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void gates_build(Arena *out, const Model *model, Gates *gates) {
    GateList list = {0};
    gates->owner_first = ARENA_ARRAY(out, uint32_t, (size_t)model->owner_count + 1);
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        gates->owner_first[owner] = (uint32_t)list.count;
        if (row->part == ID_NONE) {
            continue;
        }
        if (row->kind == OWNER_PROTECTION) {
            add_device(out, &list, model, owner);
        } else if (row->kind == OWNER_SWITCHGEAR) {
            add_switchgear(out, &list, model, owner);
        } else if (row->kind == OWNER_UNIT) {
            add_inside(out, &list, model, owner);
        }
    }
    gates->owner_first[model->owner_count] = (uint32_t)list.count;
    gates->rows = list.rows;
    gates->count = (uint32_t)list.count;
}

bool gates_net_carries(const Model *model, const Wiring *wiring, NetId net) {
    const Net *row = &wiring->nets[net];
    if (row->from_table == TABLE_feed || row->from_table == TABLE_ground) {
        return true;
    }
    if (row->class_id != ID_NONE) {
        const char *kind = model->set->interface.rows[row->class_id].kind;
        if (strcmp(kind, "power") == 0 || strcmp(kind, "return") == 0 ||
            strcmp(kind, "heavy") == 0) {
            return true;
        }
    }
    for (uint32_t i = 0; i < row->end_count; i++) {
        TerminalId end = wiring->ends[row->end_first + i];
        if (model->owners[model->terminals[end].owner].kind == OWNER_SWITCHGEAR) {
            return true;
        }
    }
    return false;
}

/* --- those of the supply ------------------------------------------------------------------------
 */

/* Cases that something leads to: a bond, a load or a source that returns there. */
static bool *joined_cases(Arena *out, const Model *model) {
    const TableSet *set = model->set;
    bool *joined = ARENA_ARRAY(out, bool, model->owner_count);
    for (size_t i = 0; i < set->bond.count; i++) {
        const char *names[2] = {set->bond.rows[i].item, set->bond.rows[i].onto};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model_owner(model, names[end]);
            if (owner != ID_NONE) {
                joined[owner] = true;
            }
        }
    }
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_UNIT || row->part == ID_NONE) {
            continue;
        }
        const PartRow *part = &set->part.rows[row->part];
        uint32_t count = 0;
        uint32_t first = model_rows_of(model, TABLE_load, part->part, &count);
        joined[owner] = joined[owner] || part->case_ground == 1;
        for (uint32_t i = first; i < first + count; i++) {
            joined[owner] = joined[owner] || strcmp(set->load.rows[i].return_port, "case") == 0;
        }
    }
    return joined;
}

static bool is_signal(const Model *model, const Wiring *wiring, const bool *joined,
                      uint32_t point) {
    if (point >= model->pin_count) {
        uint32_t owner = point - model->pin_count;
        return owner < model->owner_count && !joined[owner];
    }
    NetId net = wiring->pin_net[point];
    if (net != ID_NONE) {
        return !gates_net_carries(model, wiring, net);
    }
    ClassId class_id = model->terminals[model->pins[point].terminal].class_id;
    const char *kind = class_id == ID_NONE ? "" : model->set->interface.rows[class_id].kind;
    return strcmp(kind, "signal") == 0 || strcmp(kind, "coax") == 0;
}

void gates_of_supply(Arena *out, const Model *model, const Wiring *wiring, const Gates *all,
                     Gates *kept) {
    const bool *joined = joined_cases(out, model);
    *kept = (Gates){
        .rows = ARENA_ARRAY(out, Gate, all->count),
        .owner_first = ARENA_ARRAY(out, uint32_t, (size_t)model->owner_count + 1),
    };
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        kept->owner_first[owner] = kept->count;
        for (uint32_t i = all->owner_first[owner]; i < all->owner_first[owner + 1]; i++) {
            const Gate *gate = &all->rows[i];
            if (gate->table != TABLE_inside || (!is_signal(model, wiring, joined, gate->a) &&
                                                !is_signal(model, wiring, joined, gate->b))) {
                kept->rows[kept->count++] = *gate;
            }
        }
    }
    kept->owner_first[model->owner_count] = kept->count;
}
