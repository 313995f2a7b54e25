/* Method. What planning keeps of the wiring diagrams: which wires land where, how devices stand in
 * their wires, the sheets that wiring_fill.c made up, and where everything stands on them. */
#include "draw/wiring_fill.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "draw/wiring_memory.h"

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

/* --- pages --------------------------------------------------------------------------------------
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

static const char *system_name(const TableSet *set, const uint32_t *order, uint32_t system,
                               bool words) {
    if (system >= set->system.count) {
        return "rest";
    }
    const SystemRow *row = &set->system.rows[order[system]];
    return words ? row->name : row->system;
}

/* Whether another sheet has circuits of a system too. */
static bool stands_elsewhere(const WiringDraft *drafts, size_t count, size_t here,
                             uint32_t system) {
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < drafts[i].system_count && i != here && !drafts[i].gone; k++) {
            if (drafts[i].systems[k] == system) {
                return true;
            }
        }
    }
    return false;
}

static void add_page(SheetPlan *plan, const uint32_t *order, WiringDraft *drafts, size_t count,
                     size_t at, uint32_t index) {
    const TableSet *set = plan->view->set;
    WiringDraft *draft = &drafts[at];
    Buffer name = {.arena = plan->arena};
    Buffer title = {.arena = plan->arena};
    Buffer begins = {.arena = plan->arena};
    buffer_text(&name, "wiring");
    for (size_t i = 0; i < draft->system_count; i++) {
        const char *words = system_name(set, order, draft->systems[i], true);
        bool more = i > 0 && stands_elsewhere(drafts, count, at, draft->systems[i]);
        buffer_format(&name, "-%s", system_name(set, order, draft->systems[i], false));
        buffer_format(&title, "%s%s", i == 0 ? "Wiring: " : "; ", words);
        buffer_format(&begins, "%sWiring: %s%s", i == 0 ? "" : "; ", words, more ? ", a part" : "");
        if (i == 0 && draft->of > 1) {
            buffer_format(&name, "-%u", draft->number);
            buffer_format(&title, ", sheet %u of %u", draft->number, draft->of);
            buffer_format(&begins, ", sheet %u of %u", draft->number, draft->of);
        }
    }
    draft->sheet.page =
        sheet_add(plan, SHEET_WIRING, index, "Wiring diagrams", name.bytes, title.bytes, "diagram");
    plan->sheets[draft->sheet.page].begins = begins.bytes;
}

static int compare_stands(const void *left, const void *right) {
    const OwnerStand *a = left;
    const OwnerStand *b = right;
    if (a->owner != b->owner) {
        return a->owner < b->owner ? -1 : 1;
    }
    return a->place.sheet < b->place.sheet ? -1 : a->place.sheet > b->place.sheet;
}

/* Where the wires and nodes of a band stand; `at`: its sheet, into kept->sheets. */
static void find_places_of_band(const SheetPlan *plan, WiringKept *kept, WiringLookup *lookup,
                                uint32_t at, const WiringBand *band, size_t *capacity) {
    const Wiring *wiring = plan->view->wiring;
    Arena scratch = {0};
    WiringScene scene;
    wiring_scene_build(&scratch, plan, kept, lookup, band->cables, band->cable_count, band->field,
                       &scene);
    wiring_memory_layout(plan->memory, &scratch, &scene.layout);
    for (size_t i = 0; i < scene.layout.link_count; i++) {
        const LayoutPiece *piece = &scene.layout.pieces[scene.layout.links[i].piece_first];
        const Strand *strand = &scene.strands[i];
        for (uint32_t k = 0; !strand->stub && k < wiring->cables[strand->cable].conductor_count;
             k++) {
            const LayoutLine *line = &scene.layout.lines[piece->line_first + k];
            uint32_t end = line->point_first + (piece->label_at_end ? line->point_count - 1 : 0);
            ConductorId id = wiring->cables[strand->cable].conductor_first + k;
            kept->conductor_sheet[id] = at;
            kept->conductor_at[id] = (DrawPoint){piece->label_mm, scene.layout.points[end].y_mm};
        }
    }
    for (size_t i = 0; i < scene.layout.node_count; i++) {
        const LayoutNode *node = &scene.layout.nodes[i];
        const Spot *spot = &scene.spots[node->copy_of];
        if (spot->owner != ID_NONE) {
            *ARENA_PUSH(plan->arena, kept->stands, kept->stand_count, *capacity) = (OwnerStand){
                spot->owner, {kept->sheets[at].page, {node->box.left_mm, node->box.top_mm}}};
        }
    }
    arena_free(&scratch);
}

/* Lays out every sheet once more to know where everything stands. */
static void find_places(const SheetPlan *plan, WiringKept *kept) {
    Arena scratch = {0};
    WiringLookup lookup;
    wiring_lookup_start(&scratch, plan, &lookup);
    size_t capacity = 0;
    for (uint32_t s = 0; s < kept->sheet_count; s++) {
        for (uint32_t b = 0; b < kept->sheets[s].band_count; b++) {
            find_places_of_band(plan, kept, &lookup, s, &kept->sheets[s].bands[b], &capacity);
        }
    }
    arena_free(&scratch);
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
    wiring_role_texts(plan->arena, plan, kept);
    kept->reference_mm = fonts_width_mm(plan->fonts, "page 000 A00", STYLE_NOTE_MM, false);
    kept->cavity_mm = cavity_width_mm(plan);
    Arena scratch = {0};
    uint32_t *order = order_systems(&scratch, view->set);
    size_t draft_count;
    WiringDraft *drafts = wiring_fill(&scratch, plan, kept, order, &draft_count);
    kept->sheets = ARENA_ARRAY(plan->arena, WiringSheet, draft_count);
    for (size_t i = 0; i < draft_count; i++) {
        WiringDraft *draft = &drafts[i];
        if (draft->gone) {
            continue;
        }
        add_page(plan, order, drafts, draft_count, i, (uint32_t)kept->sheet_count);
        WiringSheet *sheet = &kept->sheets[kept->sheet_count++];
        *sheet = draft->sheet;
        for (uint32_t b = 0; b < sheet->band_count; b++) {
            WiringBand *band = &sheet->bands[b];
            band->cables = ARENA_ARRAY(plan->arena, CableId, band->cable_count);
            memcpy(band->cables, draft->sheet.bands[b].cables, band->cable_count * sizeof(CableId));
        }
    }
    find_places(plan, kept);
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
