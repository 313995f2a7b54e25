/* Rows of pin_out and label. */
#include <math.h>
#include <string.h>

#include "route/slide.h"

/* --- pin-out ------------------------------------------------------------------------------------
 */

static void fill_pin(Arena *arena, const Ends *ends, PinId id, TableSet *out) {
    const Model *model = ends->model;
    const ModelPin *pin = &model->pins[id];
    const ModelTerminal *terminal = &model->terminals[pin->terminal];
    uint32_t wires = ends->pin_first[id + 1] - ends->pin_first[id];
    for (uint32_t i = 0; i < (wires == 0 ? 1 : wires); i++) {
        PinOutRow *row = table_append(out, arena, TABLE_pin_out);
        row->pin = model_pin_text(model, arena, id);
        row->place = (int32_t)i + 1;
        row->owner = model->owners[terminal->owner].tag;
        row->connector = pin->connector;
        row->cavity = pin->cavity;
        row->port = terminal->name;
        row->core = ends_core_name(ends, terminal->class_id, pin->core);
        row->direction = model_direction_name(terminal->direction);
        row->class = terminal->class_id == ID_NONE
                         ? ""
                         : model->set->interface.rows[terminal->class_id].class;
        row->contact =
            pin->contact == ID_NONE ? "" : model->set->contact.rows[pin->contact].contact;
        if (i < wires) {
            EndFacts facts;
            ends_facts(arena, ends, ends->pin_ends[ends->pin_first[id] + i], &facts);
            row->core = facts.core;
            row->wire = facts.wire;
            row->number = facts.number;
            row->awg = facts.awg;
            row->colour = facts.colour;
            row->far_end = facts.far;
            row->class = facts.class;
        }
    }
}

/* --- labels -------------------------------------------------------------------------------------
 */

static const char *code_text(Arena *arena, const Ends *ends, const char *item, const char *at) {
    const JobRow *job = &ends->model->set->job.rows[0];
    return arena_format(arena, "%s:%s:%s:%s", job->job,
                        *job->revision == '\0' ? "-" : job->revision, item, at);
}

/* The tube that the label is printed on, and what is unusual about it. */
static void fill_tube(const Ends *ends, const EndFacts *facts, SlideItem item, LabelRow *row) {
    for (size_t i = 0; i < facts->slide_count; i++) {
        const Slide *slide = &facts->slides[i];
        if (slide->item != item) {
            continue;
        }
        if (slide->sleeve == ID_NONE) {
            row->note = "no tube slides on and grips: tie the label on";
            continue;
        }
        row->sleeve = ends->model->set->sleeve.rows[slide->sleeve].sleeve;
        if (!slide_printable(ends->model, slide->sleeve)) {
            row->note = "tube too narrow for print: wrap a label, clear tube over it";
        }
    }
}

static void fill_wire_label(Arena *arena, const Ends *ends, EndId end, const EndFacts *facts,
                            TableSet *out) {
    const Piece *piece = &ends->pieces[end / 2];
    LabelRow *row = table_append(out, arena, TABLE_label);
    row->item = facts->wire;
    row->place = (int32_t)(2 * piece->index + end % 2) + 1;
    row->kind = "wire";
    row->at = facts->at;
    row->line_1 = arena_format(arena, "%s %s", facts->number, facts->wire);
    row->line_2 = facts->at;
    row->line_3 = arena_format(arena, "to %s", facts->far);
    row->far_end = facts->far;
    row->code = code_text(arena, ends, facts->wire, facts->at);
    row->diameter_mm = facts->od_mm;
    fill_tube(ends, facts, SLIDE_LABEL, row);
    row->contact = facts->contact;
    row->slide_on = ends_slide_words(arena, ends, facts);
}

/* "W0412 W0413": the cores of a cable. */
static const char *cores_text(Arena *arena, const Ends *ends, const Cable *cable) {
    Buffer out = {.arena = arena};
    for (uint32_t i = 0; i < cable->conductor_count; i++) {
        buffer_format(&out, i == 0 ? "%s" : " %s",
                      ends->wiring->conductors[cable->conductor_first + i].key);
    }
    return out.bytes;
}

static void fill_jacket_label(Arena *arena, const Ends *ends, EndId end, const EndFacts *facts,
                              TableSet *out) {
    const Piece *piece = &ends->pieces[end / 2];
    const Cable *cable = &ends->wiring->cables[piece->cable];
    LabelRow *row = table_append(out, arena, TABLE_label);
    row->item = arena_format(arena, "%s.J", facts->wire);
    row->place = (int32_t)(2 * piece->index + end % 2) + 1;
    row->kind = "jacket";
    row->at = facts->at;
    row->line_1 = cores_text(arena, ends, cable);
    row->line_2 = facts->at;
    row->line_3 = arena_format(arena, "to %s", facts->far);
    row->far_end = facts->far;
    row->code = code_text(arena, ends, row->item, facts->at);
    row->diameter_mm = facts->jacket_mm;
    fill_tube(ends, facts, SLIDE_JACKET, row);
}

static LabelRow *add_connector(Arena *arena, const Ends *ends, const char *name, TableSet *out) {
    LabelRow *row = table_append(out, arena, TABLE_label);
    row->item = name;
    row->place = 1;
    row->kind = "connector";
    row->at = name;
    row->line_1 = name;
    row->code = code_text(arena, ends, name, "-");
    return row;
}

static void fill_shell_labels(Arena *arena, const Ends *ends, TableSet *out) {
    const TableSet *set = ends->model->set;
    for (uint32_t i = 0; i < set->disconnect_shell.count; i++) {
        const DisconnectShellRow *shell = &set->disconnect_shell.rows[i];
        uint32_t disconnect = model_row(ends->model, TABLE_disconnect, shell->disconnect);
        for (int side = 0; side < 2; side++) {
            LabelRow *row =
                add_connector(arena, ends, ends_half_name(arena, ends, i, (ShellSide)side), out);
            row->line_2 = arena_format(arena, "mates with %s",
                                       ends_half_name(arena, ends, i, (ShellSide)(1 - side)));
            row->line_3 = disconnect == ID_NONE ? "" : set->disconnect.rows[disconnect].name;
        }
    }
}

/* Pins of a connector that has wires: the first with a wire stands for it. */
static void fill_unit_labels(Arena *arena, const Ends *ends, TableSet *out) {
    const Model *model = ends->model;
    Arena scratch = {0};
    NameMap seen = {0};
    for (PinId i = 0; i < model->pin_count; i++) {
        const ModelPin *pin = &model->pins[i];
        const ModelOwner *owner = &model->owners[model->terminals[pin->terminal].owner];
        if (*pin->connector == '\0' || owner->kind != OWNER_UNIT ||
            ends->pin_first[i] == ends->pin_first[i + 1]) {
            continue;
        }
        const char *name = arena_format(&scratch, "%s.%s", owner->tag, pin->connector);
        if (name_map_add(&seen, &scratch, name, i) != NAME_NONE) {
            continue;
        }
        LabelRow *row = add_connector(arena, ends, arena_text(arena, name, strlen(name)), out);
        const UnitRow *unit = &model->set->unit.rows[owner->row];
        const char *part = owner->part == ID_NONE ? "" : model->set->part.rows[owner->part].name;
        bool said = strncmp(unit->role, part, strlen(part)) == 0; /* the role repeats it */
        row->line_2 = said ? "" : part;
        row->line_3 = unit->role;
    }
    arena_free(&scratch);
}

void ends_rows(Arena *arena, const Ends *ends, TableSet *out) {
    for (PinId i = 0; i < ends->model->pin_count; i++) {
        fill_pin(arena, ends, i, out);
    }
    for (EndId i = 0; i < 2 * ends->piece_count; i++) {
        const Piece *piece = &ends->pieces[i / 2];
        const Cable *cable = &ends->wiring->cables[piece->cable];
        if (piece->conductor == ID_NONE) {
            continue; /* a shield has no label of its own */
        }
        EndFacts facts;
        ends_facts(arena, ends, i, &facts);
        fill_wire_label(arena, ends, i, &facts, out);
        if (piece->conductor == cable->conductor_first && slide_jacketed(ends, cable)) {
            fill_jacket_label(arena, ends, i, &facts, out);
        }
    }
    fill_shell_labels(arena, ends, out);
    fill_unit_labels(arena, ends, out);
}
