#include "route/ends.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "route/cuts.h"
#include "route/slide.h"

/* --- pieces -------------------------------------------------------------------------------------
 */

/* A disconnect on the way of a cable. */
typedef struct Crossing {
    uint32_t disconnect;
    bool comes_far; /* the cable comes from the far side */
} Crossing;

typedef struct Builder {
    Arena scratch;
    Ends *ends;
    Cuts cuts;
    Crossing *crossings;
    size_t crossing_count;
    size_t crossing_capacity;
    size_t piece_capacity;
    size_t piece_count;
    uint32_t *votes; /* by row of disconnect_shell, side: supply wires that come from there */
} Builder;

static void list_crossings(Builder *builder, CableId cable) {
    const Routing *routing = builder->ends->routing;
    builder->crossing_count = 0;
    for (uint32_t i = routing->cable_first[cable]; i < routing->cable_first[cable + 1]; i++) {
        const Hop *hop = &routing->hops[i];
        uint32_t first = builder->cuts.segment_first[hop->segment];
        uint32_t count = builder->cuts.segment_first[hop->segment + 1] - first;
        for (uint32_t k = 0; k < count; k++) {
            uint32_t cut = first + (hop->backward ? count - 1 - k : k);
            *ARENA_PUSH(&builder->scratch, builder->crossings, builder->crossing_count,
                        builder->crossing_capacity) =
                (Crossing){.disconnect = builder->cuts.cuts[cut].disconnect,
                           .comes_far = builder->cuts.far_is_a[hop->segment] != hop->backward};
        }
    }
}

static PieceEnd pin_end(const Ends *ends, PinId pin) {
    return (PieceEnd){.kind = PIECE_PIN,
                      .pin = pin,
                      .terminal = ends->model->pins[pin].terminal,
                      .use = ID_NONE,
                      .disconnect = ID_NONE};
}

static PieceEnd shield_end(TerminalId terminal, bool grounded) {
    return (PieceEnd){.kind = PIECE_SHIELD,
                      .grounded = grounded,
                      .pin = ID_NONE,
                      .terminal = terminal,
                      .use = ID_NONE,
                      .disconnect = ID_NONE};
}

/* `use`: ID_NONE where the cable takes no cavity. */
static PieceEnd crossing_end(const Ends *ends, const Crossing *crossing, uint32_t use, bool far) {
    bool cavity = use != ID_NONE && ends->disconnects->uses[use].cavity != ID_NONE &&
                  ends->disconnects->uses[use].shell != ID_NONE;
    return (PieceEnd){.kind = cavity ? PIECE_CAVITY : PIECE_PASS,
                      .far = far,
                      .pin = ID_NONE,
                      .terminal = ID_NONE,
                      .use = cavity ? use : ID_NONE,
                      .disconnect = crossing->disconnect};
}

/* Supply wires vote for the side they come from. */
static void vote(Builder *builder, const Cable *cable, const PieceEnd *end) {
    const Net *net = &builder->ends->wiring->nets[cable->net];
    if (end->kind == PIECE_CAVITY && net->from_table == TABLE_feed) {
        builder->votes[2 * builder->ends->disconnects->uses[end->use].shell + end->far]++;
    }
}

/* Pieces of one core: `offset` is its place among the uses of one crossing, `per` how many those
 * are (0: the cable takes no cavities). */
static void add_core(Builder *builder, CableId id, uint32_t offset, uint32_t per,
                     ConductorId conductor) {
    Ends *ends = builder->ends;
    const Cable *cable = &ends->wiring->cables[id];
    uint32_t uses = ends->disconnects->cable_first[id];
    PieceEnd last;
    PieceEnd next;
    if (conductor == ID_NONE) {
        next = shield_end(cable->from, cable->shield_from);
        last = shield_end(cable->to, cable->shield_to);
    } else {
        next = pin_end(ends, ends->wiring->conductors[conductor].from);
        last = pin_end(ends, ends->wiring->conductors[conductor].to);
    }
    for (size_t i = 0; i <= builder->crossing_count; i++) {
        Piece *piece = ARENA_PUSH(&builder->scratch, ends->pieces, builder->piece_count,
                                  builder->piece_capacity);
        *piece = (Piece){.cable = id, .conductor = conductor, .index = (uint16_t)i};
        piece->ends[0] = next;
        if (i == builder->crossing_count) {
            piece->ends[1] = last;
            break;
        }
        const Crossing *crossing = &builder->crossings[i];
        uint32_t use = per == 0 ? ID_NONE : uses + (uint32_t)i * per + offset;
        piece->ends[1] = crossing_end(ends, crossing, use, crossing->comes_far);
        next = crossing_end(ends, crossing, use, !crossing->comes_far);
        vote(builder, cable, &piece->ends[1]);
    }
}

static void add_cable(Builder *builder, CableId id) {
    const Ends *ends = builder->ends;
    const Cable *cable = &ends->wiring->cables[id];
    uint32_t uses = ends->disconnects->cable_first[id + 1] - ends->disconnects->cable_first[id];
    if (cable->conductor_count == 0) {
        return; /* an end without pins: reported */
    }
    list_crossings(builder, id);
    uint32_t crossings = (uint32_t)builder->crossing_count;
    uint32_t per = uses == 0 || crossings == 0 ? 0 : uses / crossings;
    for (uint32_t core = 0; core < cable->conductor_count; core++) {
        add_core(builder, id, core, per, cable->conductor_first + core);
    }
    if (per > cable->conductor_count) {
        add_core(builder, id, cable->conductor_count, per, ID_NONE);
    }
}

/* --- who is where -------------------------------------------------------------------------------
 */

static void index_pins(Arena *out, Ends *ends) {
    uint32_t pins = ends->model->pin_count;
    ends->pin_first = ARENA_ARRAY(out, uint32_t, (size_t)pins + 1);
    uint32_t *fill = ARENA_ARRAY(out, uint32_t, (size_t)pins + 1);
    for (uint32_t i = 0; i < 2 * ends->piece_count; i++) {
        const PieceEnd *end = &ends->pieces[i / 2].ends[i % 2];
        if (end->kind == PIECE_PIN) {
            ends->pin_first[end->pin + 1]++;
        }
    }
    for (uint32_t i = 0; i < pins; i++) {
        ends->pin_first[i + 1] += ends->pin_first[i];
        fill[i + 1] = ends->pin_first[i + 1];
    }
    ends->pin_ends = ARENA_ARRAY(out, EndId, ends->pin_first[pins]);
    for (uint32_t i = 0; i < 2 * ends->piece_count; i++) {
        const PieceEnd *end = &ends->pieces[i / 2].ends[i % 2];
        if (end->kind == PIECE_PIN) {
            ends->pin_ends[fill[end->pin]++] = i;
        }
    }
}

static void index_cavities(Arena *out, const Builder *builder) {
    Ends *ends = builder->ends;
    size_t shells = ends->model->set->disconnect_shell.count;
    ends->shell_first = ARENA_ARRAY(out, uint32_t, shells + 1);
    ends->socket_side = ARENA_ARRAY(out, ShellSide, shells);
    ends->live_pins = ARENA_ARRAY(out, uint32_t, shells);
    for (size_t i = 0; i < shells; i++) {
        ends->shell_first[i + 1] = ends->shell_first[i] + builder->cuts.faces[i]->ways;
        uint32_t near = builder->votes[2 * i + SHELL_NEAR];
        uint32_t far = builder->votes[2 * i + SHELL_FAR];
        ends->socket_side[i] = far > near ? SHELL_FAR : SHELL_NEAR;
        ends->live_pins[i] = far > near ? near : far;
    }
    size_t slots = 2 * (size_t)ends->shell_first[shells];
    ends->cavity_ends = ARENA_ARRAY(out, EndId, slots);
    for (size_t i = 0; i < slots; i++) {
        ends->cavity_ends[i] = ID_NONE;
    }
    for (uint32_t i = 0; i < 2 * ends->piece_count; i++) {
        const PieceEnd *end = &ends->pieces[i / 2].ends[i % 2];
        if (end->kind == PIECE_CAVITY) {
            const CavityUse *use = &ends->disconnects->uses[end->use];
            CHECK(use->cavity < builder->cuts.faces[use->shell]->ways);
            ends->cavity_ends[2 * (ends->shell_first[use->shell] + use->cavity) + end->far] = i;
        }
    }
}

void ends_build(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                const Disconnects *disconnects, const int32_t *awg, Ends *ends) {
    *ends = (Ends){.model = model,
                   .wiring = wiring,
                   .routing = routing,
                   .disconnects = disconnects,
                   .awg = awg};
    Builder builder = {.ends = ends};
    const TableSet *set = model->set;
    cuts_read(&builder.scratch, model, &builder.cuts);
    builder.votes = ARENA_ARRAY(&builder.scratch, uint32_t, 2 * set->disconnect_shell.count);
    for (CableId i = 0; i < wiring->cable_count; i++) {
        add_cable(&builder, i);
    }
    CHECK(builder.piece_count < ID_NONE / 2);
    ends->piece_count = (uint32_t)builder.piece_count;
    Piece *pieces = ARENA_ARRAY(out, Piece, builder.piece_count);
    if (builder.piece_count > 0) {
        memcpy(pieces, ends->pieces, builder.piece_count * sizeof *pieces);
    }
    ends->pieces = pieces;
    index_pins(out, ends);
    index_cavities(out, &builder);
    arena_free(&builder.scratch);

    gauges_read(model, &ends->gauges);
    wiring_numbers(out, model, wiring, disconnects_pieces(out, wiring, disconnects),
                   &ends->numbers);
    ends->class_core = ARENA_ARRAY(out, uint32_t, set->interface.count);
    ends->class_cores = ARENA_ARRAY(out, uint32_t, set->interface.count);
    for (size_t i = 0; i < set->interface.count; i++) {
        ends->class_core[i] = model_rows_of(model, TABLE_interface_core,
                                            set->interface.rows[i].class, &ends->class_cores[i]);
    }
}

/* --- names --------------------------------------------------------------------------------------
 */

bool ends_shell_mates(const Model *model, ShellId shell) {
    const char *form = shell == ID_NONE ? "" : model->set->shell.rows[shell].form;
    return strcmp(form, "studs") != 0 && strcmp(form, "leads") != 0;
}

const char *ends_half_name(Arena *arena, const Ends *ends, uint32_t shell, ShellSide side) {
    const DisconnectShellRow *row = &ends->model->set->disconnect_shell.rows[shell];
    ShellId kind = model_row(ends->model, TABLE_shell, row->shell);
    char mark = side == SHELL_FAR ? 'F' : 'N';
    if (ends_shell_mates(ends->model, kind)) {
        mark = side == ends->socket_side[shell] ? 'S' : 'P';
    }
    return arena_format(arena, "%s.%c", row->tag, mark);
}

const char *ends_cavity_name(Arena *arena, const Model *model, ShellId shell, uint32_t cavity) {
    const ShellRow *row = &model->set->shell.rows[shell];
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_cavity, row->shell, &count);
    bool named = count > 0 && count == (uint32_t)row->ways && cavity < count;
    return named ? model->set->cavity.rows[first + cavity].cavity
                 : arena_format(arena, "%u", cavity + 1);
}

static const char *end_text(Arena *arena, const Ends *ends, const PieceEnd *end) {
    const Model *model = ends->model;
    switch (end->kind) {
    case PIECE_PIN:
        return model_pin_text(model, arena, end->pin);
    case PIECE_CAVITY: {
        const CavityUse *use = &ends->disconnects->uses[end->use];
        return arena_format(
            arena, "%s-%s",
            ends_half_name(arena, ends, use->shell, end->far ? SHELL_FAR : SHELL_NEAR),
            disconnect_cavity_text(arena, model, use));
    }
    case PIECE_PASS:
        return arena_format(arena, "%s %s side",
                            model->set->disconnect.rows[end->disconnect].disconnect,
                            end->far ? "far" : "near");
    case PIECE_SHIELD:
        break;
    }
    return arena_format(arena, "%s %s", model->terminals[end->terminal].end,
                        end->grounded ? "shield" : "cut back");
}

/* --- facts --------------------------------------------------------------------------------------
 */

static const InterfaceCoreRow *core_row(const Ends *ends, ClassId class_id, int32_t core) {
    uint32_t first = ends->class_core[class_id];
    for (uint32_t i = first; i < first + ends->class_cores[class_id]; i++) {
        if (ends->model->set->interface_core.rows[i].core == core) {
            return &ends->model->set->interface_core.rows[i];
        }
    }
    return NULL;
}

const char *ends_core_name(const Ends *ends, ClassId class_id, uint32_t core) {
    const InterfaceCoreRow *row =
        class_id == ID_NONE ? NULL : core_row(ends, class_id, (int32_t)core + 1);
    return row == NULL ? "" : row->name;
}

ContactId ends_contact(const Ends *ends, EndId id) {
    const Model *model = ends->model;
    const PieceEnd *end = &ends->pieces[id / 2].ends[id % 2];
    if (end->kind == PIECE_PASS) {
        const DisconnectRow *row = &model->set->disconnect.rows[end->disconnect];
        bool coax = ends->wiring->cables[ends->pieces[id / 2].cable].coax;
        return model_row(model, TABLE_contact, coax ? row->coax : row->stud);
    }
    if (end->kind == PIECE_PIN) {
        const ModelOwner *owner = &model->owners[model->terminals[end->terminal].owner];
        return owner->kind == OWNER_ANTENNA
                   ? model_row(model, TABLE_contact, model->set->antenna.rows[owner->row].plug)
                   : model->pins[end->pin].contact;
    }
    ShellId kind = ends_shell_kind(ends, end);
    return kind == ID_NONE ? ID_NONE
                           : model_row(model, TABLE_contact, model->set->shell.rows[kind].contact);
}

ShellId ends_shell_kind(const Ends *ends, const PieceEnd *end) {
    const Model *model = ends->model;
    if (end->kind == PIECE_PIN) {
        return model->pins[end->pin].shell;
    }
    if (end->kind != PIECE_CAVITY) {
        return ID_NONE;
    }
    const CavityUse *use = &ends->disconnects->uses[end->use];
    return model_row(model, TABLE_shell, model->set->disconnect_shell.rows[use->shell].shell);
}

static void shield_facts(Arena *arena, const Ends *ends, const Piece *piece, EndFacts *facts) {
    const Cable *cable = &ends->wiring->cables[piece->cable];
    facts->wire = arena_format(arena, "%s.S", ends->wiring->conductors[cable->conductor_first].key);
    facts->number = "";
    facts->core = "shield";
    facts->awg = INT_BLANK;
    facts->colour = "";
    facts->od_mm = (double)NAN;
}

static void conductor_facts(Arena *arena, const Ends *ends, const Piece *piece, EndFacts *facts) {
    const Model *model = ends->model;
    const Cable *cable = &ends->wiring->cables[piece->cable];
    const Conductor *conductor = &ends->wiring->conductors[piece->conductor];
    const InterfaceCoreRow *core =
        core_row(ends, ends->wiring->nets[cable->net].class_id, (int32_t)conductor->core + 1);
    facts->wire = conductor->key;
    facts->awg = route_conductor_awg(model, ends->wiring, piece->conductor, ends->awg);
    facts->number = wiring_number(arena, model, ends->wiring, &ends->numbers, piece->conductor,
                                  piece->index, facts->awg);
    facts->core = core == NULL ? "" : core->name;
    facts->colour = core == NULL ? "" : core->colour;
    const WireRow *wire =
        facts->awg == INT_BLANK ? NULL : gauges_wire(model, &ends->gauges, facts->awg);
    facts->od_mm = wire == NULL ? (double)NAN : wire->od_mm;
    if (facts->awg == INT_BLANK && cable->part != ID_NONE) {
        facts->od_mm = model->set->cable.rows[cable->part].od_mm;
    }
}

void ends_facts(Arena *arena, const Ends *ends, EndId id, EndFacts *facts) {
    const Model *model = ends->model;
    const Piece *piece = &ends->pieces[id / 2];
    const PieceEnd *end = &piece->ends[id % 2];
    const Cable *cable = &ends->wiring->cables[piece->cable];
    const Net *net = &ends->wiring->nets[cable->net];
    ContactId contact = ends_contact(ends, id);
    *facts = (EndFacts){
        .net = net->name,
        .class = wiring_class(model, net->class_id)->class,
        .at = end_text(arena, ends, end),
        .far = end_text(arena, ends, &piece->ends[1 - id % 2]),
        .contact = contact == ID_NONE ? "" : model->set->contact.rows[contact].contact,
        .jacket_mm =
            cable->part == ID_NONE ? (double)NAN : model->set->cable.rows[cable->part].od_mm,
    };
    if (piece->conductor == ID_NONE) {
        shield_facts(arena, ends, piece, facts);
    } else {
        conductor_facts(arena, ends, piece, facts);
    }
    slide_list(ends, id, facts);
}
