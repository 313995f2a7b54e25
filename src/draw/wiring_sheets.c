/* Method. A circuit belongs to the first system that takes its function letter and class. The
 * circuits of a system are put on sheets one after the other: next is the one that shares most
 * boxes with what is on the sheet already, tried with the real layout, until nothing fits any more;
 * so few references are cut and no sheet is fuller than it can be drawn. The last sheets of
 * systems, where they are small, are then put together as long as they fit. */
#include "draw/wiring_sheets.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"

#define MISSES_MAX 10u   /* circuits that did not fit before a sheet is closed */
#define CIRCUIT_MOST 4u  /* cables of a circuit that are kept together at any price */
#define MERGE_REACH 8u   /* sheets looked at further on for something to put beside a small one */
#define SYSTEMS_MOST 4u  /* on one sheet */
#define POWER_LETTER 'P' /* circuits between buses, and those with no box at all */

/* --- what holds for all sheets ------------------------------------------------------------------
 */

static void read_landings(Arena *arena, const DrawView *view, WiringKept *kept) {
    const Wiring *wiring = view->wiring;
    uint32_t count = view->model->terminal_count;
    kept->landing_first = ARENA_ARRAY(arena, uint32_t, count + 2);
    kept->landings = ARENA_ARRAY(arena, CableId, 2 * (size_t)wiring->cable_count);
    for (CableId i = 0; i < wiring->cable_count; i++) {
        kept->landing_first[wiring->cables[i].from + 2]++;
        if (wiring->cables[i].to != wiring->cables[i].from) {
            kept->landing_first[wiring->cables[i].to + 2]++;
        }
    }
    for (uint32_t i = 2; i < count + 2; i++) {
        kept->landing_first[i] += kept->landing_first[i - 1];
    }
    for (CableId i = 0; i < wiring->cable_count; i++) {
        kept->landings[kept->landing_first[wiring->cables[i].from + 1]++] = i;
        if (wiring->cables[i].to != wiring->cables[i].from) {
            kept->landings[kept->landing_first[wiring->cables[i].to + 1]++] = i;
        }
    }
}

static void read_rows(Arena *arena, const DrawView *view, WiringKept *kept) {
    kept->conductor_row = ARENA_ARRAY(arena, uint32_t, view->wiring->conductor_count);
    for (ConductorId i = 0; i < view->wiring->conductor_count; i++) {
        kept->conductor_row[i] = ID_NONE;
    }
    for (uint32_t i = 0; i < view->set->conductor.count; i++) {
        ConductorId id =
            name_map_find(&view->wiring->conductor_by_key, view->set->conductor.rows[i].wire);
        if (id != NAME_NONE) {
            kept->conductor_row[id] = i;
        }
    }
    kept->terminator = ARENA_ARRAY(arena, uint32_t, view->model->terminal_count);
    for (uint32_t i = 0; i < view->model->terminal_count; i++) {
        kept->terminator[i] = ID_NONE;
    }
    for (uint32_t i = 0; i < view->set->terminator.count; i++) {
        TerminalId terminal = model_terminal(view->model, view->set->terminator.rows[i].port);
        if (terminal != ID_NONE) {
            kept->terminator[terminal] = i;
        }
    }
    kept->segment_cut = ARENA_ARRAY(arena, uint32_t, view->set->segment.count);
    for (size_t i = 0; i < view->set->segment.count; i++) {
        kept->segment_cut[i] = ID_NONE;
    }
    for (size_t i = 0; i < view->set->disconnect_shell.count; i++) {
        const DisconnectShellRow *row = &view->set->disconnect_shell.rows[i];
        uint32_t segment = model_row(view->model, TABLE_segment, row->segment);
        if (segment != ID_NONE) {
            kept->segment_cut[segment] = model_row(view->model, TABLE_disconnect, row->disconnect);
        }
    }
}

/* --- roles of owners ----------------------------------------------------------------------------
 */

typedef struct Joints {
    uint32_t *first; /* by terminal, and one more */
    TerminalId *other;
} Joints;

static void read_joints(Arena *arena, const Model *model, Joints *joints) {
    joints->first = ARENA_ARRAY(arena, uint32_t, model->terminal_count + 2);
    joints->other = ARENA_ARRAY(arena, TerminalId, 2 * (size_t)model->joint_count);
    for (uint32_t i = 0; i < model->joint_count; i++) {
        joints->first[model->joints[i].a + 2]++;
        joints->first[model->joints[i].b + 2]++;
    }
    for (uint32_t i = 2; i < model->terminal_count + 2; i++) {
        joints->first[i] += joints->first[i - 1];
    }
    for (uint32_t i = 0; i < model->joint_count; i++) {
        joints->other[joints->first[model->joints[i].a + 1]++] = model->joints[i].b;
        joints->other[joints->first[model->joints[i].b + 1]++] = model->joints[i].a;
    }
}

static TerminalId named_terminal(const Model *model, const ModelOwner *owner, const char *name) {
    for (uint32_t i = 0; i < owner->terminal_count && *name != '\0'; i++) {
        if (strcmp(model->terminals[owner->terminal_first + i].name, name) == 0) {
            return owner->terminal_first + i;
        }
    }
    return ID_NONE;
}

static void way_through(const Model *model, OwnerId id, TerminalId *in, TerminalId *out) {
    const ModelOwner *owner = &model->owners[id];
    *in = ID_NONE;
    *out = ID_NONE;
    if (owner->part == ID_NONE) {
        return;
    }
    if (owner->kind == OWNER_PROTECTION) {
        *in = named_terminal(model, owner, model->set->device.rows[owner->part].in_terminal);
        *out = named_terminal(model, owner, model->set->device.rows[owner->part].out_terminal);
    } else if (owner->kind == OWNER_SWITCHGEAR) {
        *in = named_terminal(model, owner, model->set->switch_part.rows[owner->part].in_terminal);
        *out = named_terminal(model, owner, model->set->switch_part.rows[owner->part].out_terminal);
    }
}

static uint32_t landings_at(const WiringKept *kept, TerminalId terminal) {
    return terminal == ID_NONE ? 0
                               : kept->landing_first[terminal + 1] - kept->landing_first[terminal];
}

static uint32_t wired_terminals(const Model *model, const WiringKept *kept, OwnerId id) {
    const ModelOwner *owner = &model->owners[id];
    uint32_t count = 0;
    for (uint32_t i = 0; i < owner->terminal_count; i++) {
        count += landings_at(kept, owner->terminal_first + i) > 0 ? 1 : 0;
    }
    return count;
}

/* The bus that a terminal is bolted to, over at most `depth` devices without wires of their own.
 * *next: the first of those. */
static BusId bolted_bus(const Model *model, const WiringKept *kept, const Joints *joints,
                        TerminalId terminal, OwnerId *next, int depth) {
    *next = ID_NONE;
    for (uint32_t i = joints->first[terminal]; i < joints->first[terminal + 1]; i++) {
        if (kept->bus_of[joints->other[i]] != ID_NONE) {
            return kept->bus_of[joints->other[i]];
        }
    }
    for (uint32_t i = joints->first[terminal]; i < joints->first[terminal + 1] && depth > 0; i++) {
        OwnerId device = model->terminals[joints->other[i]].owner;
        TerminalId in;
        TerminalId out;
        way_through(model, device, &in, &out);
        if (in == ID_NONE || out == ID_NONE || wired_terminals(model, kept, device) > 0) {
            continue;
        }
        OwnerId further;
        BusId bus =
            bolted_bus(model, kept, joints, joints->other[i] == in ? out : in, &further, depth - 1);
        if (bus != ID_NONE) {
            *next = device;
            return bus;
        }
    }
    return ID_NONE;
}

static OwnerRole device_role(const Model *model, const WiringKept *kept, const Joints *joints,
                             OwnerId id) {
    OwnerRole role = {SPOT_BOX, ID_NONE, ID_NONE, false, false};
    TerminalId in;
    TerminalId out;
    way_through(model, id, &in, &out);
    uint32_t wired = wired_terminals(model, kept, id);
    if (in == ID_NONE || out == ID_NONE) {
        return role;
    }
    bool one_each = landings_at(kept, in) == 1 && landings_at(kept, out) == 1 &&
                    model->terminals[in].pin_count == 1 && model->terminals[out].pin_count == 1;
    if (wired == 2 && one_each) {
        role.kind = SPOT_THROUGH;
    } else if (wired <= 1 && (wired == 0 || landings_at(kept, in) + landings_at(kept, out) > 0)) {
        role.toward_bus = landings_at(kept, in) > 0;
        role.bus = bolted_bus(model, kept, joints, role.toward_bus ? out : in, &role.next, 6);
        role.kind = role.bus != ID_NONE ? SPOT_BANK : SPOT_BOX;
    }
    return role;
}

/* What a terminal without a wire is bolted on: devices without wires, up to a bus or a device that
 * is drawn. NULL: nothing. */
static const char *bolted_text(Arena *arena, const Model *model, const WiringKept *kept,
                               const Joints *joints, TerminalId terminal) {
    const char *text = NULL;
    for (int depth = 0; depth < 4 && terminal != ID_NONE; depth++) {
        if (joints->first[terminal] == joints->first[terminal + 1]) {
            break;
        }
        TerminalId other = joints->other[joints->first[terminal]];
        OwnerId owner = model->terminals[other].owner;
        BusId bus = kept->bus_of[other];
        const char *name =
            bus != ID_NONE ? model->set->bus.rows[bus].bus : model->owners[owner].tag;
        text = text == NULL ? name : arena_format(arena, "%s, %s", text, name);
        TerminalId in;
        TerminalId out;
        way_through(model, owner, &in, &out);
        bool ends = bus != ID_NONE || wired_terminals(model, kept, owner) > 0;
        terminal = ends ? ID_NONE : other == in ? out : in;
    }
    return text;
}

static void read_bolted(Arena *arena, const Model *model, const Joints *joints, WiringKept *kept) {
    kept->bolted = ARENA_ARRAY(arena, const char *, model->terminal_count);
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        bool device = owner->kind == OWNER_PROTECTION || owner->kind == OWNER_SWITCHGEAR;
        for (uint32_t k = 0; k < owner->terminal_count && device; k++) {
            TerminalId terminal = owner->terminal_first + k;
            if (kept->roles[i].kind == SPOT_BOX && landings_at(kept, terminal) == 0) {
                kept->bolted[terminal] = bolted_text(arena, model, kept, joints, terminal);
            }
        }
    }
}

static void read_feeders(Arena *arena, const Model *model, WiringKept *kept) {
    size_t count = model->set->bus.count;
    kept->bus_feeder = ARENA_ARRAY(arena, CableId, count);
    for (size_t i = 0; i < count; i++) {
        kept->bus_feeder[i] = ID_NONE;
    }
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const OwnerRole *role = &kept->roles[i];
        const ModelOwner *owner = &model->owners[i];
        if (role->kind != SPOT_BANK || role->bar || !role->toward_bus) {
            continue;
        }
        for (uint32_t k = 0; k < owner->terminal_count; k++) {
            TerminalId terminal = owner->terminal_first + k;
            if (landings_at(kept, terminal) > 0 && kept->bus_feeder[role->bus] == ID_NONE) {
                kept->bus_feeder[role->bus] = kept->landings[kept->landing_first[terminal]];
            }
        }
    }
}

static void read_roles(Arena *arena, const Model *model, WiringKept *kept) {
    Arena scratch = {0};
    Joints joints;
    read_joints(&scratch, model, &joints);
    kept->bus_of = ARENA_ARRAY(arena, BusId, model->terminal_count);
    for (TerminalId i = 0; i < model->terminal_count; i++) {
        kept->bus_of[i] = ID_NONE;
    }
    for (BusId i = 0; i < model->set->bus.count; i++) {
        if (model->buses[i].stud != ID_NONE) {
            kept->bus_of[model->buses[i].stud] = i;
        }
    }
    kept->roles = ARENA_ARRAY(arena, OwnerRole, model->owner_count);
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        OwnerRole *role = &kept->roles[i];
        *role = (OwnerRole){SPOT_BOX, ID_NONE, ID_NONE, false, false};
        switch (owner->kind) {
        case OWNER_UNIT:
            break;
        case OWNER_PROTECTION:
        case OWNER_SWITCHGEAR:
            *role = device_role(model, kept, &joints, i);
            break;
        case OWNER_BAR:
            for (uint32_t k = 0; k < owner->terminal_count; k++) {
                if (kept->bus_of[owner->terminal_first + k] != ID_NONE) {
                    role->kind = SPOT_BANK;
                    role->bar = true;
                    role->bus = kept->bus_of[owner->terminal_first + k];
                }
            }
            break;
        case OWNER_GROUND:
            role->kind = SPOT_GROUND;
            break;
        case OWNER_ANTENNA:
            role->kind = SPOT_ANTENNA;
            break;
        }
    }
    read_bolted(arena, model, &joints, kept);
    read_feeders(arena, model, kept);
    arena_free(&scratch);
}

/* --- systems ------------------------------------------------------------------------------------
 */

/* Rows of `system` by rank. */
static uint32_t *order_systems(Arena *arena, const TableSet *set) {
    uint32_t *order = ARENA_ARRAY(arena, uint32_t, set->system.count + 1);
    for (uint32_t i = 0; i < set->system.count; i++) {
        uint32_t at = i;
        for (; at > 0 && set->system.rows[order[at - 1]].rank > set->system.rows[i].rank; at--) {
            order[at] = order[at - 1];
        }
        order[at] = i;
    }
    return order;
}

static bool has_unit(const Model *model, const Wiring *wiring, const Net *net) {
    for (uint32_t i = 0; i < net->end_count; i++) {
        TerminalId end = wiring->ends[net->end_first + i];
        if (model->owners[model->terminals[end].owner].kind == OWNER_UNIT) {
            return true;
        }
    }
    return false;
}

/* Place in the order of systems of a net; the last of all when none takes it. */
static uint32_t net_system(const DrawView *view, const WiringKept *kept, const uint32_t *order,
                           NetId id) {
    const Net *net = &view->wiring->nets[id];
    const TableSet *set = view->set;
    char letter = kept->numbers.letter[id];
    bool between_buses =
        net->from_table == TABLE_feed && view->model->feeds[net->from_row].to_bus != ID_NONE;
    bool of_a_feed = net->from_table == TABLE_feed && !between_buses;
    if (between_buses || (!of_a_feed && !has_unit(view->model, view->wiring, net))) {
        letter = POWER_LETTER;
    }
    char word[2] = {letter, '\0'};
    const char *class = wiring_class(view->model, net->class_id)->class;
    for (uint32_t i = 0; i < set->system.count; i++) {
        const SystemRow *row = &set->system.rows[order[i]];
        if (text_has_word(row->letters, word) &&
            (*row->classes == '\0' || text_has_word(row->classes, class))) {
            return i;
        }
    }
    return (uint32_t)set->system.count;
}

/* --- filling sheets -----------------------------------------------------------------------------
 */

/* Cables that go on a sheet together. */
typedef struct Circuit {
    uint32_t first; /* into Filler.cables */
    uint32_t count;
    uint32_t system;
    bool done;
    uint32_t listed; /* stamp of the sheet it is a candidate of */
    uint32_t missed; /* stamp of the sheet it did not fit */
} Circuit;

typedef struct SheetDraft {
    WiringSheet sheet;
    uint32_t *systems; /* places in the order of systems */
    size_t system_count;
    uint32_t number; /* of its system, from 1 */
    uint32_t of;     /* how many its system has */
    bool last;       /* of its system */
    bool gone;       /* put onto another one */
} SheetDraft;

typedef struct Filler {
    Arena *arena;
    const SheetPlan *plan;
    const WiringKept *kept;
    WiringLookup lookup;
    DrawBox field;
    CableId *cables; /* in order of system, circuit, id */
    Circuit *circuits;
    size_t circuit_count;
    uint32_t *owner_circuit_first; /* by OwnerId, and one more */
    uint32_t *owner_circuits;
    uint32_t *on_sheet; /* by OwnerId: stamp */
    uint32_t stamp;
    uint32_t *candidates;
    size_t candidate_count;
    CableId *taken; /* cables on the sheet being filled */
    size_t taken_count;
    SheetDraft *drafts;
    size_t draft_count;
    size_t draft_capacity;
} Filler;

/* Boxes and devices tie circuits together; buses, grounds and antennas are drawn where needed. */
static bool ties(const Filler *filler, OwnerId owner) {
    SpotKind kind = filler->kept->roles[owner].kind;
    return kind == SPOT_BOX || kind == SPOT_THROUGH;
}

static int compare_ids(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

static bool fits(Filler *filler, const CableId *cables, size_t count, bool quick) {
    Arena scratch = {0};
    WiringScene scene;
    CableId *sorted = ARENA_ARRAY(&scratch, CableId, count);
    memcpy(sorted, cables, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, compare_ids);
    wiring_scene_build(&scratch, filler->plan, filler->kept, &filler->lookup, sorted, count,
                       filler->field, &scene);
    scene.layout.quick = quick;
    bool good = wiring_layout(&scratch, &scene.layout) && scene.layout.copies == 0;
    arena_free(&scratch);
    return good;
}

static void enter_owner(Filler *filler, OwnerId owner) {
    if (filler->on_sheet[owner] == filler->stamp) {
        return;
    }
    filler->on_sheet[owner] = filler->stamp;
    for (uint32_t i = filler->owner_circuit_first[owner];
         i < filler->owner_circuit_first[owner + 1]; i++) {
        Circuit *circuit = &filler->circuits[filler->owner_circuits[i]];
        if (!circuit->done && circuit->listed != filler->stamp) {
            circuit->listed = filler->stamp;
            filler->candidates[filler->candidate_count++] = filler->owner_circuits[i];
        }
    }
}

static void enter_circuit(Filler *filler, uint32_t id) {
    const Wiring *wiring = filler->plan->view->wiring;
    const Model *model = filler->plan->view->model;
    Circuit *circuit = &filler->circuits[id];
    circuit->done = true;
    for (uint32_t i = 0; i < circuit->count; i++) {
        CableId cable = filler->cables[circuit->first + i];
        filler->taken[filler->taken_count++] = cable;
        TerminalId ends[2] = {wiring->cables[cable].from, wiring->cables[cable].to};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model->terminals[ends[end]].owner;
            if (ties(filler, owner)) {
                enter_owner(filler, owner);
            }
        }
    }
}

/* How well a circuit goes with what is on the sheet: boxes shared, less boxes that are new. */
static int gain(const Filler *filler, const Circuit *circuit) {
    const Wiring *wiring = filler->plan->view->wiring;
    const Model *model = filler->plan->view->model;
    int sum = 0;
    for (uint32_t i = 0; i < circuit->count; i++) {
        const Cable *cable = &wiring->cables[filler->cables[circuit->first + i]];
        TerminalId ends[2] = {cable->from, cable->to};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model->terminals[ends[end]].owner;
            if (ties(filler, owner)) {
                sum += filler->on_sheet[owner] == filler->stamp ? 4 : -3;
            }
        }
    }
    return sum;
}

/* The candidate that goes best; else, where the sheet has nothing left that is linked to it, the
 * next of the system. ID_NONE: no more. */
static uint32_t best_circuit(Filler *filler, uint32_t system, size_t *next) {
    uint32_t best = ID_NONE;
    int best_gain = 0;
    size_t kept = 0;
    for (size_t i = 0; i < filler->candidate_count; i++) {
        uint32_t id = filler->candidates[i];
        const Circuit *circuit = &filler->circuits[id];
        if (circuit->done) {
            continue;
        }
        filler->candidates[kept++] = id;
        if (circuit->system != system || circuit->missed == filler->stamp) {
            continue;
        }
        int now = gain(filler, circuit);
        if (best == ID_NONE || now > best_gain || (now == best_gain && id < best)) {
            best = id;
            best_gain = now;
        }
    }
    filler->candidate_count = kept;
    for (size_t i = *next;
         best == ID_NONE && i < filler->circuit_count && filler->circuits[i].system == system;
         i++) {
        if (filler->circuits[i].done) {
            *next = i == *next ? i + 1 : *next;
        } else if (filler->circuits[i].missed != filler->stamp) {
            best = (uint32_t)i;
        }
    }
    return best;
}

static void start_sheet(Filler *filler) {
    filler->stamp++;
    filler->candidate_count = 0;
    filler->taken_count = 0;
}

/* Takes back the circuits entered last, from `from` on. */
static void take_back(Filler *filler, const uint32_t *entered, size_t from, size_t count) {
    for (size_t i = from; i < count; i++) {
        Circuit *circuit = &filler->circuits[entered[i]];
        circuit->done = false;
        filler->taken_count -= circuit->count;
    }
    /* Boxes that came with them stay marked only if others brought them too. */
    filler->stamp++;
    filler->candidate_count = 0;
    size_t taken = filler->taken_count;
    filler->taken_count = 0;
    for (size_t i = 0; i < from; i++) {
        enter_circuit(filler, entered[i]);
    }
    CHECK(filler->taken_count == taken);
}

static void keep_sheet(Filler *filler, uint32_t system, uint32_t number) {
    SheetDraft *draft =
        ARENA_PUSH(filler->arena, filler->drafts, filler->draft_count, filler->draft_capacity);
    *draft = (SheetDraft){.number = number, .system_count = 1};
    draft->systems =
        ARENA_ARRAY(filler->arena, uint32_t, filler->plan->view->set->system.count + 1);
    draft->systems[0] = system;
    draft->sheet.cable_count = filler->taken_count;
    draft->sheet.cables = ARENA_ARRAY(filler->arena, CableId, filler->taken_count);
    memcpy(draft->sheet.cables, filler->taken, filler->taken_count * sizeof *filler->taken);
    qsort(draft->sheet.cables, filler->taken_count, sizeof *filler->taken, compare_ids);
}

/* Fills one sheet. Doubles the number of circuits tried at once while they fit, then goes one by
 * one; at the end the sheet is laid out in earnest, and gives back what does not fit then. */
static void fill_sheet(Filler *filler, uint32_t system, size_t first, uint32_t *entered) {
    size_t place = first;
    size_t *next = &place;
    start_sheet(filler);
    size_t count = 0;
    size_t step = 1;
    uint32_t misses = 0;
    uint32_t missed[MISSES_MAX + 1];
    while (misses < MISSES_MAX) {
        size_t before = count;
        while (count < before + step) {
            uint32_t id = best_circuit(filler, system, next);
            if (id == ID_NONE) {
                break;
            }
            entered[count++] = id;
            enter_circuit(filler, id);
        }
        if (count == before) {
            break;
        }
        if (before == 0 || fits(filler, filler->taken, filler->taken_count, true)) {
            step = misses == 0 && step < 16 ? step * 2 : step;
            continue;
        }
        if (count - before == 1) {
            missed[misses++] = entered[before];
        }
        step = step > 2 ? step / 4 : 1;
        take_back(filler, entered, before, count);
        count = before;
        place = first;
        for (uint32_t i = 0; i < misses; i++) {
            filler->circuits[missed[i]].missed = filler->stamp;
        }
    }
    while (count > 1 && !fits(filler, filler->taken, filler->taken_count, false)) {
        take_back(filler, entered, count - 1, count);
        count--;
    }
}

static void fill_system(Filler *filler, uint32_t system, size_t first, uint32_t *entered) {
    size_t end = first;
    while (end < filler->circuit_count && filler->circuits[end].system == system) {
        end++;
    }
    for (uint32_t number = 1; first < end; number++) {
        fill_sheet(filler, system, first, entered);
        CHECK(filler->taken_count > 0);
        keep_sheet(filler, system, number);
        while (first < end && filler->circuits[first].done) {
            first++;
        }
    }
    if (filler->draft_count > 0) {
        filler->drafts[filler->draft_count - 1].last = true;
    }
}

/* --- putting small sheets together --------------------------------------------------------------
 */

/* Whether two sheets may become one: parts of one system, or the last sheets of systems that are
 * not too many. */
static bool may_merge(const SheetDraft *one, const SheetDraft *other) {
    if (one->gone || other->gone) {
        return false;
    }
    if (one->system_count == 1 && other->system_count == 1 &&
        one->systems[0] == other->systems[0]) {
        return true;
    }
    return one->last && other->last && one->system_count + other->system_count <= SYSTEMS_MOST;
}

static void merge_into(SheetDraft *draft, SheetDraft *other, CableId *both, size_t count) {
    qsort(both, count, sizeof *both, compare_ids);
    draft->sheet.cables = both;
    draft->sheet.cable_count = count;
    if (draft->systems[0] != other->systems[0]) {
        for (size_t s = 0; s < other->system_count; s++) {
            draft->systems[draft->system_count++] = other->systems[s];
        }
    }
    draft->last = draft->last || other->last;
    other->gone = true;
}

static void merge_small(Filler *filler) {
    Arena scratch = {0};
    for (size_t i = 0; i < filler->draft_count; i++) {
        SheetDraft *draft = &filler->drafts[i];
        uint32_t looked = 0;
        for (size_t k = i + 1; k < filler->draft_count && looked < MERGE_REACH; k++) {
            SheetDraft *other = &filler->drafts[k];
            if (!may_merge(draft, other)) {
                continue;
            }
            looked++;
            size_t count = draft->sheet.cable_count + other->sheet.cable_count;
            CableId *both = ARENA_ARRAY(&scratch, CableId, count);
            memcpy(both, draft->sheet.cables, draft->sheet.cable_count * sizeof *both);
            memcpy(both + draft->sheet.cable_count, other->sheet.cables,
                   other->sheet.cable_count * sizeof *both);
            if (fits(filler, both, count, true) && fits(filler, both, count, false)) {
                CableId *kept = ARENA_ARRAY(filler->arena, CableId, count);
                memcpy(kept, both, count * sizeof *both);
                merge_into(draft, other, kept, count);
            }
        }
    }
    arena_free(&scratch);
}

/* Numbers the sheets of every system anew. */
static void number_sheets(Filler *filler) {
    for (size_t i = 0; i < filler->draft_count; i++) {
        SheetDraft *draft = &filler->drafts[i];
        if (draft->gone) {
            continue;
        }
        uint32_t before = 0;
        uint32_t of = 0;
        size_t first = i;
        while (first > 0 && filler->drafts[first - 1].systems[0] == draft->systems[0]) {
            first--;
        }
        for (size_t k = first;
             k < filler->draft_count && filler->drafts[k].systems[0] == draft->systems[0]; k++) {
            of += filler->drafts[k].gone ? 0 : 1;
            before += k < i && !filler->drafts[k].gone ? 1 : 0;
        }
        draft->number = before + 1;
        draft->of = of;
    }
}

/* --- circuits -----------------------------------------------------------------------------------
 */

typedef struct CableSort {
    uint32_t system;
    TableId table;
    uint32_t row;
    uint32_t part; /* of a circuit too large for one sheet: every cable its own */
    CableId cable;
} CableSort;

static int compare_sort(const void *left, const void *right) {
    const CableSort *a = left;
    const CableSort *b = right;
    if (a->system != b->system) {
        return a->system < b->system ? -1 : 1;
    }
    if (a->table != b->table) {
        return a->table < b->table ? -1 : 1;
    }
    if (a->row != b->row) {
        return a->row < b->row ? -1 : 1;
    }
    return a->cable < b->cable ? -1 : a->cable > b->cable;
}

/* Whether a circuit can stand on a sheet of its own: else its cables are taken one by one. */
static void split_wide_circuits(Filler *filler) {
    Circuit *whole = filler->circuits;
    size_t count = filler->circuit_count;
    filler->circuits = ARENA_ARRAY(filler->arena, Circuit, filler->plan->view->wiring->cable_count);
    filler->circuit_count = 0;
    for (size_t i = 0; i < count; i++) {
        bool good = whole[i].count == 1 ||
                    fits(filler, &filler->cables[whole[i].first], whole[i].count, false);
        for (uint32_t k = 0; k < (good ? 1 : whole[i].count); k++) {
            filler->circuits[filler->circuit_count++] =
                (Circuit){.first = whole[i].first + k,
                          .count = good ? whole[i].count : 1,
                          .system = whole[i].system};
        }
    }
}

static void list_circuits(Filler *filler, const uint32_t *order) {
    const DrawView *view = filler->plan->view;
    const Wiring *wiring = view->wiring;
    Arena scratch = {0};
    CableSort *sort = ARENA_ARRAY(&scratch, CableSort, wiring->cable_count);
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        uint32_t system = net_system(view, filler->kept, order, i);
        for (uint32_t k = 0; k < net->cable_count; k++) {
            CableId cable = net->cable_first + k;
            sort[cable] = (CableSort){system, net->from_table, net->from_row,
                                      net->cable_count > CIRCUIT_MOST ? k : 0, cable};
        }
    }
    qsort(sort, wiring->cable_count, sizeof *sort, compare_sort);
    filler->cables = ARENA_ARRAY(filler->arena, CableId, wiring->cable_count);
    filler->circuits = ARENA_ARRAY(filler->arena, Circuit, wiring->cable_count);
    for (uint32_t i = 0; i < wiring->cable_count; i++) {
        filler->cables[i] = sort[i].cable;
        bool same = i > 0 && sort[i].system == sort[i - 1].system &&
                    sort[i].table == sort[i - 1].table && sort[i].row == sort[i - 1].row &&
                    sort[i].part == sort[i - 1].part;
        if (!same) {
            filler->circuits[filler->circuit_count++] =
                (Circuit){.first = i, .system = sort[i].system};
        }
        filler->circuits[filler->circuit_count - 1].count++;
    }
    arena_free(&scratch);
}

static void list_owner_circuits(Filler *filler) {
    const Wiring *wiring = filler->plan->view->wiring;
    const Model *model = filler->plan->view->model;
    uint32_t owners = model->owner_count;
    uint32_t *first = ARENA_ARRAY(filler->arena, uint32_t, owners + 2);
    filler->owner_circuits = ARENA_ARRAY(filler->arena, uint32_t, 2 * (size_t)wiring->cable_count);
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t i = 0; i < filler->circuit_count; i++) {
            for (uint32_t k = 0; k < filler->circuits[i].count; k++) {
                const Cable *cable = &wiring->cables[filler->cables[filler->circuits[i].first + k]];
                TerminalId ends[2] = {cable->from, cable->to};
                for (int end = 0; end < 2; end++) {
                    OwnerId owner = model->terminals[ends[end]].owner;
                    if (pass == 0) {
                        first[owner + 2]++;
                    } else {
                        filler->owner_circuits[first[owner + 1]++] = i;
                    }
                }
            }
        }
        for (uint32_t i = 2; pass == 0 && i < owners + 2; i++) {
            first[i] += first[i - 1];
        }
    }
    filler->owner_circuit_first = first;
}

/* --- pages --------------------------------------------------------------------------------------
 */

static const char *system_name(const TableSet *set, const uint32_t *order, uint32_t system,
                               bool words) {
    if (system >= set->system.count) {
        return "rest";
    }
    const SystemRow *row = &set->system.rows[order[system]];
    return words ? row->name : row->system;
}

static void add_page(SheetPlan *plan, const uint32_t *order, SheetDraft *draft, uint32_t index) {
    const TableSet *set = plan->view->set;
    Buffer name = {.arena = plan->arena};
    Buffer title = {.arena = plan->arena};
    buffer_text(&name, "wiring");
    buffer_text(&title, "Wiring: ");
    for (size_t i = 0; i < draft->system_count; i++) {
        buffer_format(&name, "-%s", system_name(set, order, draft->systems[i], false));
        buffer_format(&title, "%s%s", i == 0 ? "" : "; ",
                      system_name(set, order, draft->systems[i], true));
        if (i == 0 && draft->of > 1) {
            buffer_format(&name, "-%u", draft->number);
            buffer_format(&title, ", sheet %u of %u", draft->number, draft->of);
        }
    }
    draft->sheet.page =
        sheet_add(plan, SHEET_WIRING, index, "Wiring diagrams", name.bytes, title.bytes, "diagram");
}

static int compare_stands(const void *left, const void *right) {
    const OwnerStand *a = left;
    const OwnerStand *b = right;
    if (a->owner != b->owner) {
        return a->owner < b->owner ? -1 : 1;
    }
    return a->place.sheet < b->place.sheet ? -1 : a->place.sheet > b->place.sheet;
}

/* Lays out every sheet once more to know where everything stands. */
static void find_places(Filler *filler, WiringKept *kept) {
    const SheetPlan *plan = filler->plan;
    const Wiring *wiring = plan->view->wiring;
    size_t capacity = 0;
    for (uint32_t s = 0; s < kept->sheet_count; s++) {
        Arena scratch = {0};
        WiringSheet *sheet = &kept->sheets[s];
        WiringScene scene;
        wiring_scene_build(&scratch, plan, kept, &filler->lookup, sheet->cables, sheet->cable_count,
                           filler->field, &scene);
        wiring_layout(&scratch, &scene.layout);
        for (size_t i = 0; i < scene.layout.link_count; i++) {
            const LayoutPiece *piece = &scene.layout.pieces[scene.layout.links[i].piece_first];
            const Strand *strand = &scene.strands[i];
            for (uint32_t k = 0; !strand->stub && k < wiring->cables[strand->cable].conductor_count;
                 k++) {
                const LayoutLine *line = &scene.layout.lines[piece->line_first + k];
                uint32_t at = line->point_first + (piece->label_at_end ? line->point_count - 1 : 0);
                ConductorId id = wiring->cables[strand->cable].conductor_first + k;
                kept->conductor_sheet[id] = s;
                kept->conductor_at[id] = (DrawPoint){piece->label_mm, scene.layout.points[at].y_mm};
            }
        }
        for (size_t i = 0; i < scene.layout.node_count; i++) {
            const LayoutNode *node = &scene.layout.nodes[i];
            const Spot *spot = &scene.spots[node->copy_of];
            if (spot->owner != ID_NONE) {
                *ARENA_PUSH(plan->arena, kept->stands, kept->stand_count, capacity) =
                    (OwnerStand){spot->owner, {sheet->page, {node->box.left_mm, node->box.top_mm}}};
            }
        }
        arena_free(&scratch);
    }
    uint32_t owners = plan->view->model->owner_count;
    if (kept->stand_count > 1) {
        qsort(kept->stands, kept->stand_count, sizeof *kept->stands, compare_stands);
    }
    kept->stand_first = ARENA_ARRAY(plan->arena, uint32_t, owners + 1);
    uint32_t next = 0;
    for (OwnerId i = 0; i <= owners; i++) {
        while (next < kept->stand_count && kept->stands[next].owner < i) {
            next++;
        }
        kept->stand_first[i] = next;
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* Two shells with the longest number of a cavity in both. */
static double cavity_width_mm(const SheetPlan *plan) {
    Arena scratch = {0};
    double widest_mm = 0.0;
    const Disconnects *disconnects = plan->view->disconnects;
    for (uint32_t i = 0; i < disconnects->use_count; i++) {
        const char *text =
            disconnect_cavity_text(&scratch, plan->view->model, &disconnects->uses[i]);
        widest_mm = fmax(widest_mm, fonts_width_mm(plan->fonts, text, STYLE_VALUE_MM, false));
    }
    arena_free(&scratch);
    return 2.0 * (fmin(widest_mm, 12.0) + 3.2) + 2.5;
}

void wiring_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    const Wiring *wiring = view->wiring;
    WiringKept *kept = ARENA_NEW(plan->arena, WiringKept);
    plan->kept[SHEET_WIRING] = kept;
    kept->conductor_sheet = ARENA_ARRAY(plan->arena, uint32_t, wiring->conductor_count);
    kept->conductor_at = ARENA_ARRAY(plan->arena, DrawPoint, wiring->conductor_count);
    wiring_numbers(plan->arena, view->model, wiring,
                   disconnects_pieces(plan->arena, wiring, view->disconnects), &kept->numbers);
    read_landings(plan->arena, view, kept);
    read_rows(plan->arena, view, kept);
    read_roles(plan->arena, view->model, kept);
    kept->reference_mm = fonts_width_mm(plan->fonts, "page 000 A00", STYLE_NOTE_MM, false);
    kept->cavity_mm = cavity_width_mm(plan);
    Arena scratch = {0};
    uint32_t *order = order_systems(&scratch, view->set);
    Filler filler = {.arena = &scratch, .plan = plan, .kept = kept};
    filler.field = wiring_field(sheet_field(view->paper));
    wiring_lookup_start(&scratch, plan, &filler.lookup);
    list_circuits(&filler, order);
    split_wide_circuits(&filler);
    list_owner_circuits(&filler);
    filler.on_sheet = ARENA_ARRAY(&scratch, uint32_t, view->model->owner_count);
    filler.candidates = ARENA_ARRAY(&scratch, uint32_t, filler.circuit_count);
    filler.taken = ARENA_ARRAY(&scratch, CableId, wiring->cable_count);
    uint32_t *entered = ARENA_ARRAY(&scratch, uint32_t, filler.circuit_count);
    for (size_t i = 0; i < filler.circuit_count; i++) {
        if (i == 0 || filler.circuits[i].system != filler.circuits[i - 1].system) {
            fill_system(&filler, filler.circuits[i].system, i, entered);
        }
    }
    merge_small(&filler);
    number_sheets(&filler);
    kept->sheets = ARENA_ARRAY(plan->arena, WiringSheet, filler.draft_count);
    for (size_t i = 0; i < filler.draft_count; i++) {
        SheetDraft *draft = &filler.drafts[i];
        if (!draft->gone) {
            add_page(plan, order, draft, (uint32_t)kept->sheet_count);
            WiringSheet *sheet = &kept->sheets[kept->sheet_count++];
            *sheet = draft->sheet;
            sheet->cables = ARENA_ARRAY(plan->arena, CableId, sheet->cable_count);
            memcpy(sheet->cables, draft->sheet.cables, sheet->cable_count * sizeof(CableId));
        }
    }
    find_places(&filler, kept);
    arena_free(&scratch);
}

SheetPlace wiring_place(const SheetPlan *plan, ConductorId conductor) {
    const WiringKept *kept = plan->kept[SHEET_WIRING];
    if (kept == NULL || conductor >= plan->view->wiring->conductor_count) {
        return (SheetPlace){ID_NONE, {0.0, 0.0}};
    }
    return (SheetPlace){kept->sheets[kept->conductor_sheet[conductor]].page,
                        kept->conductor_at[conductor]};
}

SheetPlace wiring_owner_place(const SheetPlan *plan, OwnerId owner, uint32_t nth) {
    const WiringKept *kept = plan->kept[SHEET_WIRING];
    if (kept == NULL || kept->stand_first == NULL ||
        kept->stand_first[owner] + nth >= kept->stand_first[owner + 1]) {
        return (SheetPlace){ID_NONE, {0.0, 0.0}};
    }
    return kept->stands[kept->stand_first[owner] + nth].place;
}

const char *wiring_anchor(Arena *arena, const SheetPlan *plan, ConductorId conductor) {
    return arena_format(arena, "wire-%s", plan->view->wiring->conductors[conductor].key);
}
