/* Two sweeps over the pieces: the first finds the plugs and how many wires end in each, so that the
 * plugs can be put in order and their cavities numbered through; the second lays the edges. Nets
 * are the connected parts of what is left when terminators are taken away. */
#include "shop/rig.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"

typedef struct Builder {
    Arena *out;
    Arena scratch;
    const RigInput *input;
    const Ends *ends;
    const Model *model;
    Rig *rig;
    NameMap plug_by_name;
    size_t plug_count;
    size_t plug_capacity;
    size_t point_count;
    size_t point_capacity;
    size_t edge_count;
    size_t edge_capacity;
    const Face **faces; /* by ShellId */
    bool numbered;      /* plugs are in their order: none is added any more */
} Builder;

static bool installed(const Builder *builder) {
    return builder->rig->module == ID_NONE;
}

static bool hangs_here(const Builder *builder, uint32_t piece) {
    return installed(builder) || builder->input->piece_module[piece] == builder->rig->module;
}

/* --- plugs --------------------------------------------------------------------------------------
 */

static bool is_metal(const ShellRow *row) {
    bool by_rows = *row->form == '\0' && *row->rows != '\0';
    return by_rows || strcmp(row->form, "D") == 0 || strcmp(row->form, "circle") == 0 ||
           strcmp(row->form, "coax") == 0;
}

static const Face *face_of(Builder *builder, ShellId kind) {
    if (builder->faces[kind] == NULL) {
        Face *face = ARENA_NEW(builder->out, Face);
        face_read(builder->out, builder->model, kind, face);
        builder->faces[kind] = face;
    }
    return builder->faces[kind];
}

/* The plug of that name, made when it is new. */
static uint32_t plug_named(Builder *builder, const char *name, ShellId kind) {
    uint32_t found = name_map_find(&builder->plug_by_name, name);
    if (found != NAME_NONE || builder->numbered) {
        return found == NAME_NONE ? ID_NONE : found;
    }
    const ShellRow *row = &builder->model->set->shell.rows[kind];
    const char *form = row->form;
    uint32_t id = (uint32_t)builder->plug_count;
    RigPlug *plug = ARENA_PUSH(&builder->scratch, builder->rig->plugs, builder->plug_count,
                               builder->plug_capacity);
    *plug = (RigPlug){
        .name = name,
        .kind = kind,
        .face = face_of(builder, kind),
        .point_first = ID_NONE,
        .shell = is_metal(row) ? 0 : ID_NONE, /* set when points are numbered */
        .mate = ID_NONE,
        .cavities =
            strcmp(form, "studs") != 0 && strcmp(form, "leads") != 0 && strcmp(form, "coax") != 0,
    };
    name_map_add(&builder->plug_by_name, &builder->scratch, name, id);
    return id;
}

/* The plug in which a pin sits; ID_NONE for studs and where the library knows no shell. */
static uint32_t plug_of_pin(Builder *builder, PinId id) {
    const ModelPin *pin = &builder->model->pins[id];
    if (pin->shell == ID_NONE || *pin->connector == '\0' ||
        face_find(face_of(builder, pin->shell), pin->cavity) == ID_NONE) {
        return ID_NONE;
    }
    const ModelOwner *owner =
        &builder->model->owners[builder->model->terminals[pin->terminal].owner];
    return plug_named(builder, arena_format(builder->out, "%s.%s", owner->tag, pin->connector),
                      pin->shell);
}

static uint32_t plug_of_half(Builder *builder, uint32_t shell, ShellSide side) {
    const Model *model = builder->model;
    ShellId kind = model_row(model, TABLE_shell, model->set->disconnect_shell.rows[shell].shell);
    return plug_named(builder, ends_half_name(builder->out, builder->ends, shell, side), kind);
}

/* The plug that a terminal's shield is grounded on. */
static uint32_t plug_of_terminal(Builder *builder, TerminalId id) {
    const ModelTerminal *terminal = &builder->model->terminals[id];
    return terminal->pin_count == 0 ? ID_NONE : plug_of_pin(builder, terminal->pin_first);
}

static void find_plugs(Builder *builder) {
    const Ends *ends = builder->ends;
    for (uint32_t i = 0; i < 2 * ends->piece_count; i++) {
        const PieceEnd *end = &ends->pieces[i / 2].ends[i % 2];
        if (!hangs_here(builder, i / 2)) {
            continue;
        }
        uint32_t plug = ID_NONE;
        if (end->kind == PIECE_PIN) {
            plug = plug_of_pin(builder, end->pin);
        } else if (end->kind == PIECE_CAVITY) {
            plug = plug_of_half(builder, ends->disconnects->uses[end->use].shell,
                                end->far ? SHELL_FAR : SHELL_NEAR);
        }
        if (plug != ID_NONE) {
            builder->rig->plugs[plug].filled++;
        }
    }
}

static int compare_plugs(const void *left, const void *right) {
    const RigPlug *a = left;
    const RigPlug *b = right;
    if (a->filled != b->filled) {
        return a->filled > b->filled ? -1 : 1;
    }
    return text_compare_keys(a->name, b->name);
}

static RigPointId add_point(Builder *builder, RigPoint point) {
    RigPointId id = (RigPointId)builder->point_count;
    *ARENA_PUSH(&builder->scratch, builder->rig->points, builder->point_count,
                builder->point_capacity) = point;
    CHECK(name_map_add(&builder->rig->point_by_name, builder->out, point.name, id) == NAME_NONE);
    return id;
}

/* Resistance of one mated contact of a kind of shell. */
static double shell_contact_ohm(const Model *model, ShellId kind) {
    ContactId contact = model_row(model, TABLE_contact, model->set->shell.rows[kind].contact);
    return contact == ID_NONE ? 0.0 : 1e-3 * model->set->contact.rows[contact].r_mohm;
}

/* Plugs in their order, with a point for each cavity and the shell. */
static void number_plugs(Builder *builder) {
    Rig *rig = builder->rig;
    rig->plug_count = (uint32_t)builder->plug_count;
    RigPlug *plugs = ARENA_ARRAY(builder->out, RigPlug, builder->plug_count);
    if (builder->plug_count > 0) {
        memcpy(plugs, rig->plugs, builder->plug_count * sizeof *plugs);
        qsort(plugs, builder->plug_count, sizeof *plugs, compare_plugs);
    }
    rig->plugs = plugs;
    builder->numbered = true;
    builder->plug_by_name = (NameMap){0};
    for (uint32_t i = 0; i < rig->plug_count; i++) {
        RigPlug *plug = &plugs[i];
        name_map_add(&builder->plug_by_name, &builder->scratch, plug->name, i);
        plug->filled = 0;
        plug->point_first = (RigPointId)builder->point_count;
        RigPoint point = {.plug = i,
                          .reachable = true,
                          .net = ID_NONE,
                          .contact_ohm = shell_contact_ohm(builder->model, plug->kind)};
        for (uint32_t k = 0; k < plug->face->ways; k++) {
            point.cavity = k;
            point.name = arena_format(builder->out, "%s-%s", plug->name, plug->face->names[k]);
            add_point(builder, point);
        }
        if (plug->shell != ID_NONE) {
            point.kind = RIG_SHELL;
            point.cavity = ID_NONE;
            point.filled = true;
            point.contact_ohm = 0.0;
            point.name = arena_format(builder->out, "%s.shell", plug->name);
            plug->shell = add_point(builder, point);
        }
    }
}

/* --- where an end sits --------------------------------------------------------------------------
 */

static RigPointId fill(Builder *builder, RigPointId id) {
    RigPoint *point = &builder->rig->points[id];
    if (!point->filled) {
        point->filled = true;
        builder->rig->plugs[point->plug].filled++;
    }
    return id;
}

static RigPointId named_point(Builder *builder, RigPointKind kind, const char *name, bool reachable,
                              double contact_ohm) {
    RigPointId found = name_map_find(&builder->rig->point_by_name, name);
    return found != NAME_NONE ? found
                              : add_point(builder, (RigPoint){.kind = kind,
                                                              .name = name,
                                                              .plug = ID_NONE,
                                                              .cavity = ID_NONE,
                                                              .reachable = reachable,
                                                              .filled = true,
                                                              .contact_ohm = contact_ohm,
                                                              .net = ID_NONE});
}

/* Lugs that are bolted on a block or bar when the harness is in the aircraft. */
static bool is_block(const Model *model, TerminalId terminal) {
    OwnerKind kind = model->owners[model->terminals[terminal].owner].kind;
    return kind == OWNER_GROUND || kind == OWNER_BAR;
}

static RigPointId block_point(Builder *builder, OwnerId owner) {
    return named_point(builder, RIG_BLOCK, builder->model->owners[owner].tag, true, 0.0);
}

/* A wire on a pin: in its plug's cavity, or as a lug of its own: several lugs of one stud hang
 * apart until the stud is there, several wires in one contact do not. */
static RigPointId pin_point(Builder *builder, PinId id, const char *key) {
    const Model *model = builder->model;
    const ModelPin *pin = &model->pins[id];
    if (installed(builder) && is_block(model, pin->terminal)) {
        return block_point(builder, model->terminals[pin->terminal].owner);
    }
    const ContactRow *contact =
        pin->contact == ID_NONE ? NULL : &model->set->contact.rows[pin->contact];
    bool lug = contact == NULL || strcmp(contact->kind, "ring") == 0 ||
               strcmp(contact->kind, "tab") == 0 || strcmp(contact->kind, "spade") == 0;
    bool alone = builder->ends->pin_first[id + 1] - builder->ends->pin_first[id] <= 1;
    uint32_t plug = plug_of_pin(builder, id);
    if (plug != ID_NONE && (alone || !lug)) {
        const RigPlug *row = &builder->rig->plugs[plug];
        return fill(builder, row->point_first + face_find(row->face, pin->cavity));
    }
    const char *text = model_pin_text(model, builder->out, id);
    double ohm = contact == NULL ? 0.0 : 1e-3 * contact->r_mohm;
    return named_point(builder, RIG_LUG,
                       alone || !lug ? text : arena_format(builder->out, "%s:%s", text, key), true,
                       ohm);
}

static const char *pass_text(Builder *builder, const PieceEnd *end, const char *key) {
    return arena_format(builder->out, "%s.%s:%s",
                        builder->model->set->disconnect.rows[end->disconnect].disconnect,
                        end->far ? "far" : "near", key);
}

static RigPointId cavity_point(Builder *builder, const PieceEnd *end) {
    const CavityUse *use = &builder->ends->disconnects->uses[end->use];
    uint32_t plug = plug_of_half(builder, use->shell, end->far ? SHELL_FAR : SHELL_NEAR);
    return fill(builder, builder->rig->plugs[plug].point_first + use->cavity);
}

/* Where a shield is grounded at a terminal, or hangs cut back. */
static RigPointId shield_point(Builder *builder, TerminalId terminal, bool grounded,
                               const char *key) {
    const Model *model = builder->model;
    const char *end = model->terminals[terminal].end;
    if (!grounded) {
        return named_point(builder, RIG_CUT, arena_format(builder->out, "%s.cut:%s", end, key),
                           false, 0.0);
    }
    if (installed(builder) && is_block(model, terminal)) {
        return block_point(builder, model->terminals[terminal].owner);
    }
    uint32_t plug = plug_of_terminal(builder, terminal);
    if (plug != ID_NONE && builder->rig->plugs[plug].shell != ID_NONE) {
        return builder->rig->plugs[plug].shell;
    }
    return named_point(builder, RIG_LUG, arena_format(builder->out, "%s.shield:%s", end, key), true,
                       0.0);
}

static RigPointId end_point(Builder *builder, const PieceEnd *end, const char *key) {
    switch (end->kind) {
    case PIECE_PIN:
        return pin_point(builder, end->pin, key);
    case PIECE_CAVITY:
        return cavity_point(builder, end);
    case PIECE_PASS:
        return named_point(builder, RIG_LUG, pass_text(builder, end, key), true, 0.0);
    case PIECE_SHIELD:
        break;
    }
    return shield_point(builder, end->terminal, end->grounded, key);
}

/* The outer conductor of a coax at an end; of other shields that no cavity takes, cut back at every
 * disconnect. */
static RigPointId screen_point(Builder *builder, const Cable *cable, const PieceEnd *end, bool from,
                               const char *key) {
    if (end->kind == PIECE_PASS || end->kind == PIECE_CAVITY) {
        const char *text = pass_text(builder, end, key);
        return cable->coax ? named_point(builder, RIG_BODY,
                                         arena_format(builder->out, "%s.body", text), true, 0.0)
                           : named_point(builder, RIG_CUT,
                                         arena_format(builder->out, "%s.cut", text), false, 0.0);
    }
    if (!cable->coax) {
        return shield_point(builder, end->terminal, from ? cable->shield_from : cable->shield_to,
                            key);
    }
    uint32_t plug = plug_of_terminal(builder, end->terminal);
    if (plug != ID_NONE && builder->rig->plugs[plug].shell != ID_NONE) {
        return builder->rig->plugs[plug].shell;
    }
    return named_point(
        builder, RIG_BODY,
        arena_format(builder->out, "%s.body", builder->model->terminals[end->terminal].end), true,
        0.0);
}

/* --- edges --------------------------------------------------------------------------------------
 */

static void add_edge(Builder *builder, RigEdge edge) {
    *ARENA_PUSH(&builder->scratch, builder->rig->edges, builder->edge_count,
                builder->edge_capacity) = edge;
}

static double per_km_ohm(double ohm_per_km, double length_mm) {
    return ohm_per_km * units_m_from_mm(length_mm) / 1000.0;
}

static double wire_ohm_per_km(const Builder *builder, const Piece *piece, const Cable *cable) {
    const Model *model = builder->model;
    if (cable->part != ID_NONE && !isnan(model->set->cable.rows[cable->part].r20_ohm_per_km)) {
        return model->set->cable.rows[cable->part].r20_ohm_per_km;
    }
    int32_t awg =
        route_conductor_awg(model, builder->ends->wiring, piece->conductor, builder->ends->awg);
    const WireRow *wire = awg == INT_BLANK ? NULL : gauges_wire(model, &builder->ends->gauges, awg);
    return wire == NULL ? (double)NAN : wire->r20_ohm_per_km;
}

static double screen_ohm_per_km(const Model *model, const Cable *cable) {
    return cable->part == ID_NONE ? (double)NAN
                                  : model->set->cable.rows[cable->part].shield_ohm_per_km;
}

/* One piece of a conductor or of a shield that takes cavities; with the first core of a cable also
 * its screen when that takes none. */
static void lay_piece(Builder *builder, uint32_t id) {
    const Ends *ends = builder->ends;
    const Piece *piece = &ends->pieces[id];
    const Cable *cable = &ends->wiring->cables[piece->cable];
    const char *first_key = ends->wiring->conductors[cable->conductor_first].key;
    bool shield = piece->conductor == ID_NONE;
    const char *key = shield ? arena_format(builder->out, "%s.S", first_key)
                             : ends->wiring->conductors[piece->conductor].key;
    const InterfaceRow *class =
        wiring_class(builder->model, ends->wiring->nets[cable->net].class_id);
    double length_mm = builder->input->piece_mm[id];
    RigEdge edge = {
        .kind = shield ? RIG_SCREEN : RIG_WIRE,
        .key = key,
        .power = !shield && strcmp(class->kind, "signal") != 0 && !cable->coax,
        .alloy = !shield && cable->part != ID_NONE &&
                 *builder->model->set->cable.rows[cable->part].alloy != '\0',
        .coax = cable->coax,
    };
    edge.a = end_point(builder, &piece->ends[0], key);
    edge.b = end_point(builder, &piece->ends[1], key);
    edge.ohm = per_km_ohm(shield ? screen_ohm_per_km(builder->model, cable)
                                 : wire_ohm_per_km(builder, piece, cable),
                          length_mm);
    add_edge(builder, edge);
    uint32_t uses = ends->disconnects->cable_first[piece->cable + 1] -
                    ends->disconnects->cable_first[piece->cable];
    uint32_t crossings = ends->disconnects->crossings[piece->cable];
    bool through = crossings > 0 && uses / crossings > cable->conductor_count;
    if (piece->conductor != cable->conductor_first || !(cable->shielded || cable->coax) ||
        through) {
        return;
    }
    key = arena_format(builder->out, "%s.S", first_key);
    RigEdge screen = {.kind = RIG_SCREEN, .key = key, .coax = cable->coax};
    screen.a = screen_point(builder, cable, &piece->ends[0], true, key);
    screen.b = screen_point(builder, cable, &piece->ends[1], false, key);
    screen.ohm = per_km_ohm(screen_ohm_per_km(builder->model, cable), length_mm);
    add_edge(builder, screen);
}

static void mate_points(Builder *builder, RigPointId a, RigPointId b) {
    RigPoint *points = builder->rig->points;
    add_edge(builder,
             (RigEdge){.kind = RIG_MATE, .key = "", .a = a, .b = b, .ohm = points[a].contact_ohm});
    /* Shells stay in reach, what is inside them does not. */
    points[a].reachable = points[a].kind == RIG_SHELL;
    points[b].reachable = points[b].kind == RIG_SHELL;
}

/* Both halves of every shell, and of every bulkhead and stud of its own. */
static void mate_all(Builder *builder) {
    Rig *rig = builder->rig;
    const TableSet *set = builder->model->set;
    for (uint32_t i = 0; i < set->disconnect_shell.count; i++) {
        uint32_t halves[2];
        for (int side = 0; side < 2; side++) {
            halves[side] = name_map_find(
                &builder->plug_by_name,
                ends_half_name(builder->out, builder->ends, i, side == 0 ? SHELL_NEAR : SHELL_FAR));
        }
        if (halves[0] == NAME_NONE || halves[1] == NAME_NONE) {
            continue;
        }
        RigPlug *near = &rig->plugs[halves[0]];
        RigPlug *far = &rig->plugs[halves[1]];
        near->mate = halves[1];
        far->mate = halves[0];
        for (uint32_t k = 0; k < near->face->ways; k++) {
            mate_points(builder, near->point_first + k, far->point_first + k);
        }
        if (near->shell != ID_NONE && far->shell != ID_NONE) {
            mate_points(builder, near->shell, far->shell);
        }
    }
    for (uint32_t i = 0; i < builder->point_count; i++) {
        const char *near = strstr(rig->points[i].name, ".near:");
        if (near == NULL || rig->points[i].plug != ID_NONE) {
            continue;
        }
        const char *far_name =
            arena_format(builder->out, "%.*s.far:%s", (int)(near - rig->points[i].name),
                         rig->points[i].name, near + strlen(".near:"));
        RigPointId far = name_map_find(&rig->point_by_name, far_name);
        if (far != NAME_NONE && rig->points[i].kind != RIG_CUT) {
            mate_points(builder, i, far);
        }
    }
}

/* Ground blocks on structure and on each other, as bond rows say. */
static void bond_all(Builder *builder) {
    const TableSet *set = builder->model->set;
    RigPointId structure = named_point(builder, RIG_STRUCTURE, "structure", true, 0.0);
    for (size_t i = 0; i < set->bond.count; i++) {
        const BondRow *row = &set->bond.rows[i];
        RigPointId item = name_map_find(&builder->rig->point_by_name, row->item);
        RigPointId onto = strcmp(row->onto, "structure") == 0
                              ? structure
                              : name_map_find(&builder->rig->point_by_name, row->onto);
        if (item != NAME_NONE && onto != NAME_NONE) {
            add_edge(builder, (RigEdge){.kind = RIG_BOND,
                                        .key = row->item,
                                        .a = item,
                                        .b = onto,
                                        .ohm = 1e-3 * row->mohm,
                                        .power = true});
        }
    }
}

/* The point a wire on that pin has in this rig; ID_NONE: none of its wires is here. */
static RigPointId known_point(Builder *builder, PinId pin) {
    const Ends *ends = builder->ends;
    for (uint32_t i = ends->pin_first[pin]; i < ends->pin_first[pin + 1]; i++) {
        const Piece *piece = &ends->pieces[ends->pin_ends[i] / 2];
        if (hangs_here(builder, ends->pin_ends[i] / 2) && piece->conductor != ID_NONE) {
            return pin_point(builder, pin, ends->wiring->conductors[piece->conductor].key);
        }
    }
    return ID_NONE;
}

/* Terminators that sit in the plug: between the first two cores of their port. */
static void terminate(Builder *builder) {
    const Model *model = builder->model;
    for (size_t i = 0; i < model->set->terminator.count; i++) {
        const TerminatorRow *row = &model->set->terminator.rows[i];
        TerminalId terminal = model_terminal(model, row->port);
        if (row->fitted == 0 || strcmp(row->place, "connector") != 0 || terminal == ID_NONE ||
            model->terminals[terminal].pin_count < 2) {
            continue;
        }
        PinId pin = model->terminals[terminal].pin_first;
        RigPointId a = known_point(builder, pin);
        RigPointId b = known_point(builder, pin + 1);
        if (a != ID_NONE && b != ID_NONE) {
            add_edge(
                builder,
                (RigEdge){
                    .kind = RIG_TERMINATOR, .key = row->port, .a = a, .b = b, .ohm = row->ohm});
        }
    }
}

/* --- nets ---------------------------------------------------------------------------------------
 */

static uint32_t root(uint32_t *up, uint32_t i) {
    while (up[i] != i) {
        up[i] = up[up[i]];
        i = up[i];
    }
    return i;
}

/* The lower number stays the root, so that nets are in the order of their first point. */
static void unite(uint32_t *up, uint32_t a, uint32_t b) {
    a = root(up, a);
    b = root(up, b);
    up[a < b ? b : a] = a < b ? a : b;
}

static void number_nets(Arena *out, Arena *scratch, Rig *rig) {
    uint32_t *up = ARENA_ARRAY(scratch, uint32_t, rig->point_count);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        up[i] = i;
    }
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        if (rig->edges[i].kind != RIG_TERMINATOR) {
            unite(up, rig->edges[i].a, rig->edges[i].b);
        }
    }
    /* Empty cavities that are mated with empty ones are no net. */
    bool *used = ARENA_ARRAY(scratch, bool, rig->point_count);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        used[root(up, i)] |= rig->points[i].filled;
    }
    for (uint32_t i = 0; i < rig->point_count; i++) {
        uint32_t top = root(up, i);
        if (used[top]) {
            rig->points[i].net = top == i ? rig->net_count++ : rig->points[top].net;
        }
    }
    rig->net_point_first = ARENA_ARRAY(out, uint32_t, (size_t)rig->net_count + 1);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        if (rig->points[i].net != ID_NONE) {
            rig->net_point_first[rig->points[i].net + 1]++;
        }
    }
    uint32_t *at = ARENA_ARRAY(scratch, uint32_t, (size_t)rig->net_count + 1);
    for (uint32_t i = 0; i < rig->net_count; i++) {
        rig->net_point_first[i + 1] += rig->net_point_first[i];
        at[i + 1] = rig->net_point_first[i + 1];
    }
    rig->net_points = ARENA_ARRAY(out, RigPointId, rig->net_point_first[rig->net_count]);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        if (rig->points[i].net != ID_NONE) {
            rig->net_points[at[rig->points[i].net]++] = i;
        }
    }
    rig->net_group = ARENA_ARRAY(out, uint32_t, rig->net_count);
    for (uint32_t i = 0; i < rig->net_count; i++) {
        rig->net_group[i] = i;
    }
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        if (rig->edges[i].kind == RIG_TERMINATOR) {
            unite(rig->net_group, rig->points[rig->edges[i].a].net,
                  rig->points[rig->edges[i].b].net);
        }
    }
    for (uint32_t i = 0; i < rig->net_count; i++) {
        rig->net_group[i] = root(rig->net_group, i);
    }
}

static void index_edges(Arena *out, Arena *scratch, Rig *rig) {
    rig->point_edge_first = ARENA_ARRAY(out, uint32_t, (size_t)rig->point_count + 1);
    uint32_t *first = rig->point_edge_first;
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        first[rig->edges[i].a + 1]++;
        first[rig->edges[i].b + 1]++;
    }
    uint32_t *at = ARENA_ARRAY(scratch, uint32_t, (size_t)rig->point_count + 1);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        first[i + 1] += first[i];
        at[i + 1] = first[i + 1];
    }
    rig->point_edges = ARENA_ARRAY(out, uint32_t, first[rig->point_count]);
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        rig->point_edges[at[rig->edges[i].a]++] = i;
        rig->point_edges[at[rig->edges[i].b]++] = i;
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* Arrays that grew in the scratch go where they stay. */
static void keep_arrays(Builder *builder) {
    Rig *rig = builder->rig;
    rig->point_count = (uint32_t)builder->point_count;
    rig->edge_count = (uint32_t)builder->edge_count;
    RigPoint *points = ARENA_ARRAY(builder->out, RigPoint, rig->point_count);
    RigEdge *edges = ARENA_ARRAY(builder->out, RigEdge, rig->edge_count);
    if (rig->point_count > 0) {
        memcpy(points, rig->points, rig->point_count * sizeof *points);
    }
    if (rig->edge_count > 0) {
        memcpy(edges, rig->edges, rig->edge_count * sizeof *edges);
    }
    rig->points = points;
    rig->edges = edges;
}

void rig_index(Arena *out, Rig *rig) {
    Arena scratch = {0};
    number_nets(out, &scratch, rig);
    index_edges(out, &scratch, rig);
    arena_free(&scratch);
}

void rig_build(Arena *out, const RigInput *input, ModuleId module, Rig *rig) {
    const Model *model = input->ends->model;
    *rig = (Rig){
        .model = model,
        .name = module == ID_NONE ? RIG_INSTALLED : model->set->module.rows[module].module,
        .module = module,
    };
    Builder builder = {.out = out, .input = input, .ends = input->ends, .model = model, .rig = rig};
    builder.faces = ARENA_ARRAY(&builder.scratch, const Face *, model->set->shell.count);
    find_plugs(&builder);
    number_plugs(&builder);
    for (uint32_t i = 0; i < input->ends->piece_count; i++) {
        if (hangs_here(&builder, i)) {
            lay_piece(&builder, i);
        }
    }
    terminate(&builder);
    if (module == ID_NONE) {
        mate_all(&builder);
        bond_all(&builder);
    }
    keep_arrays(&builder);
    rig_index(out, rig);
    arena_free(&builder.scratch);
}
