/* Method. Every cable is a link; what it ends at is a node: the box (once on a sheet), the device,
 * the bus (once, with the devices bolted on it), or a ground tab or antenna of its own. Wires that
 * land on the same terminals but are drawn elsewhere become stubs. Room is measured here: nothing
 * is placed that was not measured. */
#include "draw/wiring_sheets.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "model/report.h"

#define BOX_TEXT_MOST_MM 42.0  /* of a pin's texts inside a box */
#define LEAF_TEXT_MOST_MM 40.0 /* of a ground tab or antenna */
#define TAG_MOST_MM 60.0
#define ROLE_MOST_MM 40.0 /* of one line; then it is wrapped */
#define ROLE_LEAST_MM 20.0
#define ROLE_STEP_MM 2.5
#define ROLE_LINES 3u
#define CONTACT_MM 12.5      /* room for contacts between the ends of a device */
#define CONTACT_COIL_MM 17.5 /* and for a coil beside them */
#define STUBS_PER_TERMINAL 2u

/* --- questions ----------------------------------------------------------------------------------
 */

TableId wiring_owner_table(const SheetPlan *plan, OwnerId owner) {
    return report_owner_table(plan->view->model, owner);
}

bool wiring_is_twisted(const SheetPlan *plan, const Cable *cable) {
    const TableSet *set = plan->view->set;
    return cable->part != ID_NONE && !cable->coax && cable->conductor_count > 1 &&
           set->cable.rows[cable->part].twisted == 1;
}

const CavityUse *wiring_cavity(const SheetPlan *plan, CableId cable, uint32_t nth,
                               ConductorId conductor) {
    const Disconnects *disconnects = plan->view->disconnects;
    for (uint32_t i = disconnects->cable_first[cable]; i < disconnects->cable_first[cable + 1];
         i++) {
        const CavityUse *use = &disconnects->uses[i];
        if (use->crossing == nth && use->conductor == conductor) {
            return use;
        }
    }
    return NULL;
}

/* Disconnects on the way of a cable that takes no cavity, in order. */
static uint32_t bulkhead_gates(const SheetPlan *plan, const WiringKept *kept, CableId cable,
                               uint32_t *gates, uint32_t count) {
    const DrawView *view = plan->view;
    const Routing *routing = view->routing;
    uint32_t found = 0;
    for (uint32_t i = routing->cable_first[cable];
         i < routing->cable_first[cable + 1] && found < count; i++) {
        uint32_t cut = kept->segment_cut[routing->hops[i].segment];
        if (cut != ID_NONE) {
            gates[found++] = (uint32_t)view->set->disconnect_shell.count + cut;
        }
    }
    return found;
}

uint32_t wiring_gates(Arena *arena, const SheetPlan *plan, const WiringKept *kept, CableId cable,
                      uint32_t **gates) {
    const Disconnects *disconnects = plan->view->disconnects;
    uint32_t count = disconnects->crossings[cable];
    *gates = ARENA_ARRAY(arena, uint32_t, count);
    uint32_t found = 0;
    for (uint32_t i = disconnects->cable_first[cable];
         i < disconnects->cable_first[cable + 1] && found < count; i++) {
        if (disconnects->uses[i].crossing == found) {
            (*gates)[found++] = disconnects->uses[i].shell;
        }
    }
    return found > 0 ? found : bulkhead_gates(plan, kept, cable, *gates, count);
}

const char *wiring_gate_name(const SheetPlan *plan, uint32_t gate) {
    const TableSet *set = plan->view->set;
    return gate < set->disconnect_shell.count
               ? set->disconnect_shell.rows[gate].tag
               : set->disconnect.rows[gate - set->disconnect_shell.count].disconnect;
}

static const ConductorRow *conductor_row(const SheetPlan *plan, const WiringKept *kept,
                                         ConductorId conductor) {
    uint32_t row = kept->conductor_row[conductor];
    return row == ID_NONE ? NULL : &plan->view->set->conductor.rows[row];
}

const char *wiring_number_text(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                               ConductorId conductor, uint32_t piece) {
    const DrawView *view = plan->view;
    const ConductorRow *row = conductor_row(plan, kept, conductor);
    int32_t awg = row == NULL ? INT_BLANK : row->awg;
    const char *number =
        wiring_number(arena, view->model, view->wiring, &kept->numbers, conductor, piece, awg);
    if (awg == INT_BLANK) {
        return number;
    }
    return awg <= 0 ? arena_format(arena, "%s %d/0", number, 1 - awg)
                    : arena_format(arena, "%s %d", number, awg);
}

const char *wiring_colour(const SheetPlan *plan, const WiringKept *kept, ConductorId conductor) {
    const ConductorRow *row = conductor_row(plan, kept, conductor);
    return row == NULL ? "" : row->colour;
}

static double rating_a(const SheetPlan *plan, const ModelOwner *owner) {
    const DrawView *view = plan->view;
    return view->sizing != NULL && view->sizing->rating_a != NULL
               ? view->sizing->rating_a[owner->row]
               : view->set->protection.rows[owner->row].rating_a;
}

const char *wiring_rating_text(Arena *arena, const SheetPlan *plan, OwnerId id) {
    const DrawView *view = plan->view;
    const ModelOwner *owner = &view->model->owners[id];
    if (owner->kind == OWNER_PROTECTION) {
        double amps_a = rating_a(plan, owner);
        return isfinite(amps_a) ? arena_format(arena, "%g A", amps_a) : "";
    }
    if (owner->kind == OWNER_SWITCHGEAR && owner->part != ID_NONE &&
        strcmp(view->set->switch_part.rows[owner->part].kind, "diode") != 0) {
        return view->set->switchgear.rows[owner->row].rest;
    }
    return "";
}

static double longest_word_mm(DrawFonts *fonts, Arena *arena, const char *text) {
    double longest_mm = 0.0;
    const char *at = text;
    const char *word;
    size_t length;
    while (text_next_word(&at, &word, &length)) {
        longest_mm = fmax(longest_mm, fonts_width_mm(fonts, arena_text(arena, word, length),
                                                     STYLE_NOTE_MM, false));
    }
    return longest_mm;
}

/* What a box is for, or how a device stands at rest, in lines as narrow as their number allows: so
 * no word stands alone in the last one. */
static RoleText role_text(Arena *arena, const SheetPlan *plan, OwnerId id) {
    const Model *model = plan->view->model;
    const ModelOwner *owner = &model->owners[id];
    const char *role = owner->kind == OWNER_UNIT ? model->set->unit.rows[owner->row].role
                                                 : wiring_rating_text(arena, plan, id);
    RoleText text = {NULL, 0};
    if (*role == '\0') {
        return text;
    }
    text.count =
        fonts_wrap(plan->fonts, arena, role, STYLE_NOTE_MM, false, ROLE_MOST_MM, &text.lines);
    double least_mm = fmax(ROLE_LEAST_MM, longest_word_mm(plan->fonts, arena, role) + 0.05);
    for (double most_mm = ROLE_MOST_MM - ROLE_STEP_MM; most_mm >= least_mm && text.count > 1;
         most_mm -= ROLE_STEP_MM) {
        const char **narrow;
        if (fonts_wrap(plan->fonts, arena, role, STYLE_NOTE_MM, false, most_mm, &narrow) >
            text.count) {
            break;
        }
        text.lines = narrow;
    }
    if (text.count > ROLE_LINES) {
        const char *last =
            arena_format(arena, "%s %s", text.lines[ROLE_LINES - 1], text.lines[ROLE_LINES]);
        text.lines[ROLE_LINES - 1] =
            fonts_fit(plan->fonts, arena, last, STYLE_NOTE_MM, false, ROLE_MOST_MM);
        text.count = ROLE_LINES;
    }
    return text;
}

void wiring_role_texts(Arena *arena, const SheetPlan *plan, WiringKept *kept) {
    kept->role_texts = ARENA_ARRAY(arena, RoleText, plan->view->model->owner_count);
    for (OwnerId i = 0; i < plan->view->model->owner_count; i++) {
        if (kept->roles[i].kind == SPOT_BOX) {
            kept->role_texts[i] = role_text(arena, plan, i);
        }
    }
}

const char *wiring_short_pin(Arena *arena, const SheetPlan *plan, PinId id) {
    const Model *model = plan->view->model;
    const ModelPin *pin = &model->pins[id];
    const ModelTerminal *terminal = &model->terminals[pin->terminal];
    if (*pin->connector != '\0' || *pin->cavity != '\0') {
        return arena_format(arena, "%s-%s", pin->connector, pin->cavity);
    }
    return terminal->pin_count > 1 ? arena_format(arena, "%s/%d", terminal->name, pin->core + 1)
                                   : terminal->name;
}

const char *wiring_port_text(Arena *arena, const SheetPlan *plan, PinId id) {
    const Model *model = plan->view->model;
    const ModelPin *pin = &model->pins[id];
    const ModelTerminal *terminal = &model->terminals[pin->terminal];
    if (*pin->connector == '\0' && *pin->cavity == '\0') {
        return "";
    }
    if (terminal->pin_count < 2 || terminal->class_id == ID_NONE) {
        return terminal->name;
    }
    uint32_t count = 0;
    const char *class = model->set->interface.rows[terminal->class_id].class;
    uint32_t first = model_rows_of(model, TABLE_interface_core, class, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const InterfaceCoreRow *row = &model->set->interface_core.rows[i];
        if (row->core == (int32_t)pin->core + 1) {
            return arena_format(arena, "%s %s", terminal->name, row->name);
        }
    }
    return terminal->name;
}

double wiring_brackets_mm(const SheetPlan *plan, const WiringKept *kept, TerminalId id) {
    uint32_t cores = plan->view->model->terminals[id].pin_count;
    bool several = kept->landing_first[id + 1] - kept->landing_first[id] > 1;
    return several && cores > 1 ? WIRING_BRACKET_MM * (double)((cores < 3 ? cores : 3) - 1) : 0.0;
}

/* --- measuring ----------------------------------------------------------------------------------
 */

static double note_mm(const SheetPlan *plan, const char *text) {
    return fonts_width_mm(plan->fonts, text, STYLE_NOTE_MM, false);
}

static double value_mm(const SheetPlan *plan, const char *text) {
    return fonts_width_mm(plan->fonts, text, STYLE_VALUE_MM, false);
}

/* Room of the texts of a terminal's pins inside a box. */
static double pin_inset_mm(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                           TerminalId id) {
    const ModelTerminal *terminal = &plan->view->model->terminals[id];
    double widest_mm = 0.0;
    for (uint32_t i = 0; i < terminal->pin_count; i++) {
        PinId pin = terminal->pin_first + i;
        widest_mm = fmax(widest_mm, value_mm(plan, wiring_short_pin(arena, plan, pin)));
        widest_mm = fmax(widest_mm, note_mm(plan, wiring_port_text(arena, plan, pin)));
    }
    return 4.7 + wiring_brackets_mm(plan, kept, id) + fmin(widest_mm, BOX_TEXT_MOST_MM);
}

/* Devices of a row of a bank, side by side: each symbol with its leads and texts. */
static double bank_inset_mm(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                            OwnerId owner) {
    double sum_mm = 0.0;
    uint32_t devices = 0;
    for (OwnerId id = owner; id != ID_NONE && devices < 8; id = kept->roles[id].next, devices++) {
        const char *rating = wiring_rating_text(arena, plan, id);
        double text_mm = value_mm(plan, plan->view->model->owners[id].tag) +
                         (*rating == '\0' ? 0.0 : 1.5 + note_mm(plan, rating));
        sum_mm += fmax(15.0, 2.5 * ceil((fmin(text_mm, TAG_MOST_MM) + 2.0) / 2.5));
    }
    return sum_mm;
}

/* --- nodes --------------------------------------------------------------------------------------
 */

typedef struct Builder {
    Arena *arena;
    const SheetPlan *plan;
    const WiringKept *kept;
    WiringLookup *lookup;
    WiringScene *scene;
} Builder;

static uint32_t add_node(Builder *builder, Spot spot, LayoutNode node) {
    WiringScene *scene = builder->scene;
    LayoutProblem *layout = &scene->layout;
    *ARENA_PUSH(builder->arena, layout->nodes, layout->node_count, layout->node_capacity) = node;
    *ARENA_PUSH(builder->arena, scene->spots, scene->spot_count, scene->spot_capacity) = spot;
    return (uint32_t)layout->node_count - 1;
}

static uint32_t add_box(Builder *builder, OwnerId id) {
    const Model *model = builder->plan->view->model;
    const ModelOwner *owner = &model->owners[id];
    double tag_mm = fonts_width_mm(builder->plan->fonts, owner->tag, STYLE_TAG_MM, true) + 3.0;
    const RoleText *role = &builder->kept->role_texts[id];
    double role_mm = 20.0;
    for (size_t i = 0; i < role->count; i++) {
        role_mm = fmax(role_mm, note_mm(builder->plan, role->lines[i]) + 3.2);
    }
    bool coil = owner->kind == OWNER_SWITCHGEAR && owner->part != ID_NONE &&
                isfinite(model->set->switch_part.rows[owner->part].coil_a);
    double contact_mm = coil ? CONTACT_COIL_MM : CONTACT_MM;
    double head_mm = 11.25 + 3.75 * (double)(role->count > 0 ? role->count : 1);
    head_mm += owner->kind == OWNER_UNIT ? 0.0 : 2.5; /* symbols reach over their row */
    return add_node(builder, (Spot){SPOT_BOX, id, ID_NONE, ID_NONE},
                    (LayoutNode){.width_mm = fmax(fmin(tag_mm, TAG_MOST_MM), role_mm),
                                 .middle_mm = owner->kind == OWNER_UNIT ? 3.0 : contact_mm,
                                 .head_mm = 2.5 * ceil(head_mm / 2.5),
                                 .foot_mm = 0.0,
                                 .row_mm = LAYOUT_ROW_MM,
                                 .fill = true});
}

static uint32_t add_through(Builder *builder, OwnerId id) {
    double tag_mm = value_mm(builder->plan, builder->plan->view->model->owners[id].tag) + 2.0;
    return add_node(builder, (Spot){SPOT_THROUGH, id, ID_NONE, ID_NONE},
                    (LayoutNode){.width_mm = fmax(15.0, fmin(tag_mm, TAG_MOST_MM)),
                                 .middle_mm = 0.0,
                                 .head_mm = 5.0,
                                 .foot_mm = 5.0,
                                 .row_mm = LAYOUT_ROW_MM,
                                 .through = true,
                                 .lean = -1});
}

static uint32_t add_bank(Builder *builder, BusId bus) {
    const Model *model = builder->plan->view->model;
    double tag_mm =
        fonts_width_mm(builder->plan->fonts, model->set->bus.rows[bus].bus, STYLE_TAG_MM, true) +
        2.0;
    TerminalId stud = model->buses[bus].stud;
    OwnerId owner = stud == ID_NONE ? ID_NONE : model->terminals[stud].owner;
    return add_node(builder, (Spot){SPOT_BANK, owner, bus, stud},
                    (LayoutNode){.width_mm = fmax(fmin(tag_mm, TAG_MOST_MM), 20.0),
                                 .middle_mm = 2.5,
                                 .head_mm = 15.0,
                                 .foot_mm = 2.5,
                                 .row_mm = 15.0,
                                 .lean = -1});
}

static uint32_t add_terminal(Builder *builder, SpotKind kind, TerminalId terminal) {
    OwnerId owner = builder->plan->view->model->terminals[terminal].owner;
    return add_node(builder, (Spot){kind, owner, ID_NONE, terminal},
                    (LayoutNode){.width_mm = 10.0,
                                 .head_mm = kind == SPOT_ANTENNA ? 7.5 : 0.0,
                                 .foot_mm = 2.5,
                                 .row_mm = LAYOUT_ROW_MM,
                                 .lean = 1});
}

static uint32_t owner_node(Builder *builder, OwnerId id, SpotKind kind) {
    WiringLookup *lookup = builder->lookup;
    if (lookup->owner_stamp[id] != lookup->stamp) {
        lookup->owner_stamp[id] = lookup->stamp;
        lookup->owner_node[id] =
            kind == SPOT_THROUGH ? add_through(builder, id) : add_box(builder, id);
    }
    return lookup->owner_node[id];
}

static uint32_t bus_node(Builder *builder, BusId bus) {
    WiringLookup *lookup = builder->lookup;
    if (lookup->bus_stamp[bus] != lookup->stamp) {
        lookup->bus_stamp[bus] = lookup->stamp;
        lookup->bus_node[bus] = add_bank(builder, bus);
    }
    return lookup->bus_node[bus];
}

/* The node a cable ends at, and the room its end needs inside it. */
static LayoutEnd find_end(Builder *builder, TerminalId terminal) {
    const Model *model = builder->plan->view->model;
    OwnerId owner = model->terminals[terminal].owner;
    const OwnerRole *role = &builder->kept->roles[owner];
    LayoutEnd end = {.port = terminal};
    switch (role->kind) {
    case SPOT_BANK:
        end.node = bus_node(builder, role->bus);
        end.inset_mm =
            role->bar ? 7.5 : bank_inset_mm(builder->arena, builder->plan, builder->kept, owner);
        break;
    case SPOT_GROUND:
    case SPOT_ANTENNA:
        end.node = add_terminal(builder, role->kind, terminal);
        end.inset_mm = 8.0 + fmin(LEAF_TEXT_MOST_MM,
                                  fmax(value_mm(builder->plan, model->terminals[terminal].end),
                                       role->kind == SPOT_GROUND ? 15.0 : 0.0));
        break;
    case SPOT_THROUGH:
        end.node = owner_node(builder, owner, SPOT_THROUGH);
        end.inset_mm = pin_inset_mm(builder->arena, builder->plan, builder->kept, terminal);
        break;
    case SPOT_BOX:
        end.node = owner_node(builder, owner, SPOT_BOX);
        end.inset_mm =
            pin_inset_mm(builder->arena, builder->plan, builder->kept, terminal) +
            (builder->kept->terminator[terminal] != ID_NONE ? WIRING_TERMINATOR_MM : 0.0);
        break;
    }
    return end;
}

/* --- links --------------------------------------------------------------------------------------
 */

static double label_width_mm(Builder *builder, CableId id) {
    const Wiring *wiring = builder->plan->view->wiring;
    const Cable *cable = &wiring->cables[id];
    double widest_mm = 0.0;
    uint32_t pieces = builder->plan->view->disconnects->crossings[id] + 1u;
    for (uint32_t i = 0; i < cable->conductor_count; i++) {
        ConductorId conductor = cable->conductor_first + i;
        widest_mm = fmax(widest_mm, value_mm(builder->plan, wiring->conductors[conductor].key));
        for (uint32_t piece = 0; piece < pieces; piece++) {
            widest_mm =
                fmax(widest_mm,
                     note_mm(builder->plan, wiring_number_text(builder->arena, builder->plan,
                                                               builder->kept, conductor, piece)));
        }
    }
    return widest_mm;
}

/* Room beside a pin: lead, sign, stripe with its code. */
static double mark_width_mm(Builder *builder, const Cable *cable) {
    double code_mm = WIRING_STRIPE_LONG_MM;
    for (uint32_t i = 0; i < cable->conductor_count; i++) {
        char text[STYLE_CODE_TEXT];
        const char *colour =
            wiring_colour(builder->plan, builder->kept, cable->conductor_first + i);
        code_mm = fmax(code_mm, note_mm(builder->plan, style_insulation_code(colour, text)));
    }
    bool sign = wiring_has_shield(cable) || cable->coax || wiring_is_twisted(builder->plan, cable);
    double signs_mm = sign ? WIRING_SIGN_MM : 0.0;
    return WIRING_LEAD_MM + signs_mm + code_mm + 1.5;
}

static void add_link(Builder *builder, CableId id) {
    const Cable *cable = &builder->plan->view->wiring->cables[id];
    WiringScene *scene = builder->scene;
    LayoutProblem *layout = &scene->layout;
    LayoutLink link = {
        .end = {find_end(builder, cable->from), find_end(builder, cable->to)},
        .rows = cable->conductor_count + (wiring_has_shield(cable) ? 1u : 0u),
        .quiet_rows = wiring_has_shield(cable) ? 1u : 0u,
        .label_mm = label_width_mm(builder, id),
        .gate_mark_mm = wiring_has_shield(cable) ? WIRING_LEAD_MM + WIRING_SIGN_MM : 2.5,
        .gate_first = (uint32_t)layout->gate_count,
    };
    link.end[0].mark_mm = mark_width_mm(builder, cable);
    link.end[1].mark_mm = link.end[0].mark_mm;
    uint32_t *gates;
    link.gate_count = wiring_gates(builder->arena, builder->plan, builder->kept, id, &gates);
    for (uint32_t i = 0; i < link.gate_count; i++) {
        *ARENA_PUSH(builder->arena, layout->gates, layout->gate_count, layout->gate_capacity) =
            gates[i];
    }
    *ARENA_PUSH(builder->arena, layout->links, layout->link_count, layout->link_capacity) = link;
    *ARENA_PUSH(builder->arena, scene->strands, scene->strand_count, scene->strand_capacity) =
        (Strand){id, ID_NONE, 0, false};
}

/* --- stubs --------------------------------------------------------------------------------------
 */

static void add_stub(Builder *builder, uint32_t node, TerminalId terminal, CableId cable,
                     uint32_t more) {
    WiringScene *scene = builder->scene;
    LayoutProblem *layout = &scene->layout;
    LayoutLink link = {
        .end = {{.node = node,
                 .port = terminal,
                 .mark_mm = WIRING_LEAD_MM,
                 .inset_mm =
                     scene->spots[node].kind == SPOT_BOX
                         ? pin_inset_mm(builder->arena, builder->plan, builder->kept, terminal)
                         : 0.0},
                {.node = LAYOUT_NONE}},
        .rows = 1,
        .label_mm = 4.0 + (cable == ID_NONE
                               ? fmin(LEAF_TEXT_MOST_MM,
                                      fmax(note_mm(builder->plan, "joined to"),
                                           note_mm(builder->plan, builder->kept->bolted[terminal])))
                               : builder->kept->reference_mm),
    };
    *ARENA_PUSH(builder->arena, layout->links, layout->link_count, layout->link_capacity) = link;
    *ARENA_PUSH(builder->arena, scene->strands, scene->strand_count, scene->strand_capacity) =
        (Strand){cable, terminal, more, true};
}

/* Stubs for the wires of a terminal that are drawn elsewhere. */
static void add_stubs(Builder *builder, uint32_t node, TerminalId terminal) {
    WiringLookup *lookup = builder->lookup;
    const WiringKept *kept = builder->kept;
    if (lookup->terminal_stamp[terminal] == lookup->stamp) {
        return;
    }
    lookup->terminal_stamp[terminal] = lookup->stamp;
    if (kept->bolted[terminal] != NULL) {
        add_stub(builder, node, terminal, ID_NONE, 0);
        return;
    }
    uint32_t elsewhere = 0;
    for (uint32_t i = kept->landing_first[terminal]; i < kept->landing_first[terminal + 1]; i++) {
        elsewhere += lookup->cable_stamp[kept->landings[i]] == lookup->stamp ? 0 : 1;
    }
    uint32_t shown = 0;
    for (uint32_t i = kept->landing_first[terminal];
         i < kept->landing_first[terminal + 1] && shown < STUBS_PER_TERMINAL; i++) {
        CableId cable = kept->landings[i];
        if (lookup->cable_stamp[cable] != lookup->stamp) {
            shown++;
            add_stub(builder, node, terminal, cable,
                     shown == STUBS_PER_TERMINAL ? elsewhere - shown : 0);
        }
    }
}

/* Units say where the other wires of the pins go that are used here; devices where the wires of
 * all their terminals go. */
static void add_all_stubs(Builder *builder, const CableId *cables, size_t count) {
    const Model *model = builder->plan->view->model;
    const Wiring *wiring = builder->plan->view->wiring;
    WiringLookup *lookup = builder->lookup;
    for (size_t i = 0; i < count; i++) {
        TerminalId ends[2] = {wiring->cables[cables[i]].from, wiring->cables[cables[i]].to};
        for (int end = 0; end < 2; end++) {
            OwnerId owner = model->terminals[ends[end]].owner;
            SpotKind kind = builder->kept->roles[owner].kind;
            if (kind != SPOT_BOX && kind != SPOT_THROUGH) {
                continue;
            }
            uint32_t node = lookup->owner_node[owner];
            if (model->owners[owner].kind == OWNER_UNIT) {
                add_stubs(builder, node, ends[end]);
                continue;
            }
            const ModelOwner *row = &model->owners[owner];
            for (uint32_t k = 0; k < row->terminal_count; k++) {
                add_stubs(builder, node, row->terminal_first + k);
            }
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void wiring_lookup_start(Arena *arena, const SheetPlan *plan, WiringLookup *lookup) {
    const Model *model = plan->view->model;
    lookup->stamp = 0;
    lookup->owner_stamp = ARENA_ARRAY(arena, uint32_t, model->owner_count);
    lookup->owner_node = ARENA_ARRAY(arena, uint32_t, model->owner_count);
    lookup->bus_stamp = ARENA_ARRAY(arena, uint32_t, model->set->bus.count);
    lookup->bus_node = ARENA_ARRAY(arena, uint32_t, model->set->bus.count);
    lookup->cable_stamp = ARENA_ARRAY(arena, uint32_t, plan->view->wiring->cable_count);
    lookup->terminal_stamp = ARENA_ARRAY(arena, uint32_t, model->terminal_count);
}

void wiring_scene_build(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                        WiringLookup *lookup, const CableId *cables, size_t count, DrawBox field,
                        WiringScene *scene) {
    *scene = (WiringScene){0};
    scene->layout.field = field;
    lookup->stamp++;
    Builder builder = {arena, plan, kept, lookup, scene};
    for (size_t i = 0; i < count; i++) {
        lookup->cable_stamp[cables[i]] = lookup->stamp;
    }
    for (size_t i = 0; i < count; i++) {
        add_link(&builder, cables[i]);
    }
    add_all_stubs(&builder, cables, count);
    double gate_mm = 17.5;
    for (size_t i = 0; i < scene->layout.gate_count; i++) {
        const char *name = wiring_gate_name(plan, scene->layout.gates[i]);
        gate_mm = fmax(gate_mm, fmin(40.0, value_mm(plan, name) + 1.0));
        if (scene->layout.gates[i] < plan->view->set->disconnect_shell.count) {
            gate_mm = fmax(gate_mm, kept->cavity_mm);
        }
    }
    scene->layout.gate_width_mm = gate_mm;
    scene->layout.gate_head_mm = 7.5;
}
