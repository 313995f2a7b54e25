/* First every connector becomes a block (its name, its two views, its table), then blocks flow down
 * the columns of the sheets; a table that is longer than a column goes on in the next one. */
#include "draw/face.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "draw/face_plan.h"

#define COLUMN_LEAST_MM 178.0 /* a table of usual texts needs this */

/* Lines on the very edge would stand half outside. */
static DrawBox inner(DrawBox field) {
    double edge_mm = 0.5;
    return (DrawBox){field.left_mm + edge_mm, field.top_mm + edge_mm, field.right_mm - edge_mm,
                     field.bottom_mm - edge_mm};
}

/* --- blocks -------------------------------------------------------------------------------------
 */

typedef struct Planner {
    SheetPlan *plan;
    FaceSheets *sheets;
    const Model *model;
    const TableSet *set;
    Arena *arena;
    DrawBox field;
} Planner;

static const ShellFace *face_of(const Planner *planner, ShellId shell) {
    ShellFace **slot = &planner->sheets->faces[shell];
    if (*slot == NULL) {
        *slot = ARENA_NEW(planner->arena, ShellFace);
        shell_face_read(planner->arena, planner->plan->fonts, planner->model, shell, *slot);
    }
    return *slot;
}

static FaceBlock *add_block(const Planner *planner, FaceBlockKind kind) {
    FaceSheets *sheets = planner->sheets;
    FaceBlock *block =
        ARENA_PUSH(planner->arena, sheets->blocks, sheets->block_count, sheets->block_capacity);
    *block = (FaceBlock){.kind = kind,
                         .shell_row = ID_NONE,
                         .owner = ID_NONE,
                         .connector = "",
                         .shell = ID_NONE,
                         .row_first = (uint32_t)sheets->row_count,
                         .free_first = (uint32_t)sheets->free_count};
    return block;
}

static void add_row(const Planner *planner, FaceBlock *block, FaceRow row) {
    FaceSheets *sheets = planner->sheets;
    *ARENA_PUSH(planner->arena, sheets->rows, sheets->row_count, sheets->row_capacity) = row;
    block->row_count++;
}

static void add_free(const Planner *planner, FaceBlock *block, uint32_t cavity) {
    FaceSheets *sheets = planner->sheets;
    *ARENA_PUSH(planner->arena, sheets->free, sheets->free_count, sheets->free_capacity) = cavity;
    block->free_count++;
}

/* One row for each wire on a pin, one without when there is none. */
static void add_pin(const Planner *planner, FaceBlock *block, PinId pin) {
    const Ends *ends = &planner->sheets->ends;
    uint32_t first = ends->pin_first[pin];
    uint32_t count = ends->pin_first[pin + 1] - first;
    for (uint32_t i = 0; i < (count == 0 ? 1 : count); i++) {
        add_row(planner, block,
                (FaceRow){.pin = pin,
                          .cavity = ID_NONE,
                          .end = count == 0 ? ID_NONE : ends->pin_ends[first + i],
                          .place = i + 1});
    }
}

static const char *contact_words(Arena *arena, const TableSet *set, ContactId contact) {
    return contact == ID_NONE ? "not known"
                              : arena_format(arena, "%s (%s)", set->contact.rows[contact].contact,
                                             set->contact.rows[contact].kind);
}

static const char *first_slides(const ShellFace *face) {
    switch (face->form) {
    case FACE_D:
    case FACE_CIRCLE:
        return "; over all wires first: backshell";
    case FACE_BLOCK:
        return face->sealed ? "; over all wires first: boot" : "";
    case FACE_COAX:
    case FACE_STUDS:
    case FACE_LEADS:
        break;
    }
    return "";
}

static void add_half(const Planner *planner, uint32_t shell, ShellSide side) {
    const Ends *ends = &planner->sheets->ends;
    const TableSet *set = planner->set;
    Arena *arena = planner->arena;
    const DisconnectShellRow *row = &set->disconnect_shell.rows[shell];
    ShellId kind = model_row(planner->model, TABLE_shell, row->shell);
    uint32_t disconnect = model_row(planner->model, TABLE_disconnect, row->disconnect);
    if (kind == ID_NONE || disconnect == ID_NONE) {
        return; /* reported when the model was built */
    }
    FaceBlock *block = add_block(planner, FACE_BLOCK_HALF);
    bool mates = ends_shell_mates(planner->model, kind);
    bool sockets = side == ends->socket_side[shell];
    block->shell_row = shell;
    block->side = side;
    block->shell = kind;
    block->face = face_of(planner, kind);
    block->half = sockets ? FACE_SOCKETS : FACE_PINS;
    block->name = ends_half_name(arena, ends, shell, side);
    block->what = arena_format(arena, "%s, side %s module %s",
                               !mates    ? "studs"
                               : sockets ? "sockets"
                                         : "pins",
                               side == SHELL_FAR ? "of" : "away from",
                               set->disconnect.rows[disconnect].module);
    uint32_t live = !sockets && mates ? ends->live_pins[shell] : 0;
    block->note = arena_format(
        arena, "%s%s: %s. %s; contact %s%s%s%s; %s %s%s.",
        live == 0 ? ""
                  : arena_format(arena, "CAUTION: %u of these pins %s live when it is parted. ",
                                 live, live == 1 ? "stays" : "stay"),
        row->disconnect, set->disconnect.rows[disconnect].name, set->shell.rows[kind].name,
        contact_words(arena, set,
                      model_row(planner->model, TABLE_contact, set->shell.rows[kind].contact)),
        *row->keying == '\0' ? "" : "; keying ", row->keying, block->face->sealed ? "; sealed" : "",
        mates ? "mates with" : "other side",
        ends_half_name(arena, ends, shell, side == SHELL_FAR ? SHELL_NEAR : SHELL_FAR),
        first_slides(block->face));
    uint32_t ways = ends->shell_first[shell + 1] - ends->shell_first[shell];
    for (uint32_t i = 0; i < ways; i++) {
        EndId end = ends->cavity_ends[2 * (ends->shell_first[shell] + i) + (uint32_t)side];
        if (end == ID_NONE) {
            add_free(planner, block, i);
        } else {
            add_row(planner, block, (FaceRow){.pin = ID_NONE, .cavity = i, .end = end, .place = 1});
        }
    }
}

/* --- connectors of boxes ------------------------------------------------------------------------
 */

typedef struct PinOrder {
    const char *connector;
    const char *cavity;
    PinId pin;
} PinOrder;

static int compare_pins(const void *left, const void *right) {
    const PinOrder *a = left;
    const PinOrder *b = right;
    int order = text_compare_keys(a->connector, b->connector);
    order = order != 0 ? order : text_compare_keys(a->cavity, b->cavity);
    return order != 0 ? order : (a->pin < b->pin ? -1 : a->pin > b->pin);
}

static PinOrder *order_pins(Arena *arena, const Model *model, const ModelOwner *owner,
                            size_t *count) {
    *count = 0;
    for (uint32_t t = 0; t < owner->terminal_count; t++) {
        *count += model->terminals[owner->terminal_first + t].pin_count;
    }
    PinOrder *order = ARENA_ARRAY(arena, PinOrder, *count);
    size_t next = 0;
    for (uint32_t t = 0; t < owner->terminal_count; t++) {
        const ModelTerminal *terminal = &model->terminals[owner->terminal_first + t];
        for (uint32_t i = 0; i < terminal->pin_count; i++) {
            const ModelPin *pin = &model->pins[terminal->pin_first + i];
            order[next++] = (PinOrder){pin->connector, pin->cavity, terminal->pin_first + i};
        }
    }
    if (*count > 1) {
        qsort(order, *count, sizeof *order, compare_pins);
    }
    return order;
}

static const PartConnectorRow *connector_row(const Planner *planner, const ModelOwner *owner,
                                             const char *connector) {
    if (owner->kind != OWNER_UNIT || owner->part == ID_NONE) {
        return NULL;
    }
    uint32_t count = 0;
    uint32_t first = model_rows_of(planner->model, TABLE_part_connector,
                                   planner->set->part.rows[owner->part].part, &count);
    for (uint32_t i = first; i < first + count; i++) {
        if (strcmp(planner->set->part_connector.rows[i].connector, connector) == 0) {
            return &planner->set->part_connector.rows[i];
        }
    }
    return NULL;
}

static const char *keying_of(const Planner *planner, const ModelOwner *owner,
                             const PartConnectorRow *row) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(planner->model, TABLE_keying, owner->tag, &count);
    for (uint32_t i = first; i < first + count; i++) {
        if (strcmp(planner->set->keying.rows[i].connector, row->connector) == 0) {
            return planner->set->keying.rows[i].keying;
        }
    }
    return row->keying;
}

/* Cavities of the shell that are no pin of the box. */
static void add_free_ways(const Planner *planner, FaceBlock *block, const PinOrder *pins,
                          size_t count) {
    const ShellFace *face = block->face;
    Arena scratch = {0};
    NameMap known = {0};
    for (size_t i = 0; i < count; i++) {
        name_map_add(&known, &scratch, pins[i].cavity, (uint32_t)i);
    }
    for (uint32_t i = 0; i < face->ways; i++) {
        if (name_map_find(&known, face->names[i]) == NAME_NONE) {
            add_free(planner, block, i);
        }
    }
    arena_free(&scratch);
}

static void add_connector(const Planner *planner, OwnerId id, const PartConnectorRow *row,
                          ShellId shell, const PinOrder *pins, size_t count) {
    const TableSet *set = planner->set;
    Arena *arena = planner->arena;
    const ModelOwner *owner = &planner->model->owners[id];
    FaceBlock *block = add_block(planner, FACE_BLOCK_CONNECTOR);
    bool box_pins = strcmp(row->unit_side, "pins") == 0;
    block->owner = id;
    block->connector = row->connector;
    block->shell = shell;
    block->face = face_of(planner, shell);
    block->half = box_pins ? FACE_SOCKETS : FACE_PINS;
    block->name = arena_format(arena, "%s.%s", owner->tag, row->connector);
    block->what = block->face->form == FACE_COAX ? "coax plug of the harness"
                  : box_pins                     ? "sockets, the harness half"
                                                 : "pins, the harness half";
    const UnitRow *unit = &set->unit.rows[owner->row];
    const char *part = set->part.rows[owner->part].name;
    bool said = strncmp(unit->role, part, strlen(part)) == 0; /* the role repeats it */
    const char *keying = keying_of(planner, owner, row);
    block->note = arena_format(
        arena, "%s. %s; contact %s%s%s%s; the box has %s%s.",
        said                  ? unit->role
        : *unit->role == '\0' ? part
                              : arena_format(arena, "%s (%s)", unit->role, part),
        set->shell.rows[shell].name,
        contact_words(arena, set,
                      model_row(planner->model, TABLE_contact, set->shell.rows[shell].contact)),
        *keying == '\0' ? "" : "; keying ", keying, block->face->sealed ? "; sealed" : "",
        *row->unit_side == '\0' ? "contacts the library does not tell" : row->unit_side,
        first_slides(block->face));
    for (size_t i = 0; i < count; i++) {
        add_pin(planner, block, pins[i].pin);
    }
    add_free_ways(planner, block, pins, count);
}

static bool any_wire(const Ends *ends, const PinOrder *pins, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (ends->pin_first[pins[i].pin] < ends->pin_first[pins[i].pin + 1]) {
            return true;
        }
    }
    return false;
}

/* True when the pins have a face of their own; the others stand in the tables of terminals. */
static bool has_face(const Planner *planner, const ModelOwner *owner, const char *connector,
                     const PartConnectorRow **row, ShellId *shell) {
    *row = *connector == '\0' ? NULL : connector_row(planner, owner, connector);
    *shell = *row == NULL ? ID_NONE : model_row(planner->model, TABLE_shell, (*row)->shell);
    return *shell != ID_NONE && ends_shell_mates(planner->model, *shell);
}

static void add_units(const Planner *planner) {
    Arena scratch = {0};
    for (OwnerId i = 0; i < planner->model->owner_count; i++) {
        const ModelOwner *owner = &planner->model->owners[i];
        if (owner->kind != OWNER_UNIT) {
            continue;
        }
        size_t count = 0;
        PinOrder *pins = order_pins(&scratch, planner->model, owner, &count);
        for (size_t from = 0, to = 0; from < count; from = to) {
            const PartConnectorRow *row;
            ShellId shell;
            while (to < count && strcmp(pins[to].connector, pins[from].connector) == 0) {
                to++;
            }
            if (has_face(planner, owner, pins[from].connector, &row, &shell) &&
                any_wire(&planner->sheets->ends, pins + from, to - from)) {
                add_connector(planner, i, row, shell, pins + from, to - from);
            }
        }
        arena_free(&scratch);
    }
}

/* --- terminals ----------------------------------------------------------------------------------
 */

static const struct {
    OwnerKind kind;
    const char *name;
    const char *what;
} GROUPS[] = {
    {OWNER_UNIT, "Boxes", "studs, lugs and leads of boxes"},
    {OWNER_BAR, "Bars", "bus bars and studs"},
    {OWNER_PROTECTION, "Devices", "breakers, fuses, limiters, channels"},
    {OWNER_SWITCHGEAR, "Switches", "switches, relays, contactors, diodes, shunts"},
    {OWNER_GROUND, "Grounds", "ground blocks and studs"},
    {OWNER_ANTENNA, "Aerials", "coax at the aerial"},
};

static void add_terminals(const Planner *planner) {
    Arena scratch = {0};
    for (size_t g = 0; g < sizeof GROUPS / sizeof *GROUPS; g++) {
        FaceBlock *block = add_block(planner, FACE_BLOCK_TERMINALS);
        block->name = GROUPS[g].name;
        block->what = GROUPS[g].what;
        for (OwnerId i = 0; i < planner->model->owner_count; i++) {
            const ModelOwner *owner = &planner->model->owners[i];
            if (owner->kind != GROUPS[g].kind) {
                continue;
            }
            size_t count = 0;
            PinOrder *pins = order_pins(&scratch, planner->model, owner, &count);
            for (size_t k = 0; k < count; k++) {
                const PartConnectorRow *row;
                ShellId shell;
                if (!has_face(planner, owner, pins[k].connector, &row, &shell)) {
                    add_pin(planner, block, pins[k].pin);
                }
            }
            arena_free(&scratch);
        }
        if (block->row_count == 0) {
            planner->sheets->block_count--;
        }
    }
}

/* --- flow ---------------------------------------------------------------------------------------
 * A sheet is one or more bands, each as wide as the sheet. Blocks run down the columns of a band; a
 * block whose views take the whole width is a band of its own, its table spread evenly over the
 * columns. What stood above it is then spread evenly too, so that it can begin higher up. */

typedef struct Flow {
    const Planner *planner;
    uint32_t column;
    uint32_t band_part; /* first part of this band */
    double top_mm;      /* of this band */
    double y_mm;
    double bottom_mm; /* of the sheet */
} Flow;

static bool is_fresh(const Flow *flow) {
    return flow->planner->sheets->band_end_mm <= flow->planner->field.top_mm;
}

static void new_band(Flow *flow) {
    flow->column = 0;
    flow->band_part = (uint32_t)flow->planner->sheets->part_count;
    flow->top_mm = flow->planner->sheets->band_end_mm;
    flow->y_mm = flow->top_mm;
}

static void new_sheet(Flow *flow) {
    FaceSheets *sheets = flow->planner->sheets;
    *ARENA_PUSH(flow->planner->arena, sheets->sheet_part, sheets->sheet_count,
                sheets->sheet_capacity) = (uint32_t)sheets->part_count;
    sheets->band_end_mm = flow->planner->field.top_mm;
    new_band(flow);
}

static void new_column(Flow *flow) {
    if (flow->column + 1 < flow->planner->sheets->columns) {
        flow->column++;
        flow->y_mm = flow->top_mm;
    } else {
        new_sheet(flow);
    }
}

static uint32_t lines_of(const FaceBlock *block) {
    uint32_t per = block->free_per_line;
    return block->row_count + (per == 0 ? 0 : (block->free_count + per - 1) / per);
}

static double column_left_mm(const Planner *planner, uint32_t column) {
    return planner->field.left_mm + column * (planner->sheets->column_mm + planner->sheets->gap_mm);
}

static void add_part(Flow *flow, uint32_t id, bool head, uint32_t line_first, uint32_t line_count,
                     double head_mm) {
    const Planner *planner = flow->planner;
    FaceSheets *sheets = planner->sheets;
    FacePart *part =
        ARENA_PUSH(planner->arena, sheets->parts, sheets->part_count, sheets->part_capacity);
    *part = (FacePart){
        .block = id,
        .head = head,
        .left_mm = column_left_mm(planner, flow->column),
        .top_mm = flow->y_mm,
        .line_first = line_first,
        .line_count = line_count,
        .table_top_mm = flow->y_mm + head_mm,
    };
    part->bottom_mm = part->table_top_mm + (line_count == 0 ? 0.0 : FACE_TABLE_HEAD_MM) +
                      FACE_LINE_MM * line_count;
    flow->y_mm = part->bottom_mm + FACE_BLOCK_GAP_MM;
    sheets->band_end_mm = fmax(sheets->band_end_mm, flow->y_mm);
}

/* Lines of a table that fit below a head of that height. */
static uint32_t lines_that_fit(const Flow *flow, double head_mm) {
    double room_mm = flow->bottom_mm - flow->y_mm - head_mm - FACE_TABLE_HEAD_MM;
    return room_mm <= 0.0 ? 0 : (uint32_t)floor(room_mm / FACE_LINE_MM + 1e-9);
}

/* --- one column wide --- */

/* The rest of a block's lines, down this column and the next ones. `head_mm`: 0 when its head is
 * already there. */
static void flow_lines(Flow *flow, uint32_t id, uint32_t done, double head_mm) {
    uint32_t lines = lines_of(&flow->planner->sheets->blocks[id]);
    bool head = head_mm > 0.0;
    while (done < lines || head) {
        double over_mm = head ? head_mm : FACE_CONTINUED_MM;
        uint32_t fit = lines_that_fit(flow, over_mm);
        uint32_t count = lines - done < fit ? lines - done : fit;
        if (count == 0 && done < lines && flow->y_mm > flow->planner->field.top_mm) {
            new_column(flow);
            continue;
        }
        count = count == 0 && done < lines ? 1 : count; /* a field too small for anything */
        add_part(flow, id, head, done, count, over_mm);
        done += count;
        head = false;
        if (done < lines) {
            new_column(flow);
        }
    }
}

static void flow_block(Flow *flow, uint32_t id) {
    enum { LINES_TOGETHER = 6 };
    const FaceBlock *block = &flow->planner->sheets->blocks[id];
    uint32_t lines = lines_of(block);
    double head_mm = face_head_mm(block) + face_views_mm(block);
    uint32_t fit = lines_that_fit(flow, head_mm);
    bool split = fit >= LINES_TOGETHER && lines >= 2 * LINES_TOGETHER;
    if (fit < lines && !split && flow->y_mm > flow->top_mm) {
        new_column(flow);
        fit = lines_that_fit(flow, head_mm);
    }
    if (fit < lines && fit < LINES_TOGETHER && flow->top_mm > flow->planner->field.top_mm) {
        new_sheet(flow); /* a low band at the foot */
    }
    flow_lines(flow, id, 0, head_mm);
}

/* --- as wide as the sheet --- */

/* Height of the lowest column when the parts of the band run down columns of that height; false
 * when they don't fit. `set`: puts them there. */
static bool spread(const Flow *flow, double height_mm, bool set) {
    const Planner *planner = flow->planner;
    FaceSheets *sheets = planner->sheets;
    uint32_t column = 0;
    double y_mm = flow->top_mm;
    for (uint32_t i = flow->band_part; i < sheets->part_count; i++) {
        FacePart *part = &sheets->parts[i];
        double part_mm = part->bottom_mm - part->top_mm;
        if (y_mm > flow->top_mm && y_mm + part_mm > flow->top_mm + height_mm + 1e-6) {
            column++;
            y_mm = flow->top_mm;
        }
        if (column >= sheets->columns || y_mm + part_mm > flow->top_mm + height_mm + 1e-6) {
            return false;
        }
        if (set) {
            part->left_mm = column_left_mm(planner, column);
            part->table_top_mm += y_mm - part->top_mm;
            part->top_mm = y_mm;
            part->bottom_mm = y_mm + part_mm;
            sheets->band_end_mm = fmax(sheets->band_end_mm, part->bottom_mm + FACE_BLOCK_GAP_MM);
        }
        y_mm += part_mm + FACE_BLOCK_GAP_MM;
    }
    return true;
}

/* Makes the band as low as its parts allow. A table that already goes over columns stays. */
static void level_band(Flow *flow) {
    FaceSheets *sheets = flow->planner->sheets;
    for (uint32_t i = flow->band_part; i < sheets->part_count; i++) {
        if (!sheets->parts[i].head) {
            return;
        }
    }
    double low_mm = 0.0;
    double high_mm = flow->bottom_mm - flow->top_mm;
    if (flow->band_part == sheets->part_count || !spread(flow, high_mm, false)) {
        return;
    }
    while (high_mm - low_mm > 0.1) {
        double middle_mm = (low_mm + high_mm) / 2.0;
        if (spread(flow, middle_mm, false)) {
            high_mm = middle_mm;
        } else {
            low_mm = middle_mm;
        }
    }
    sheets->band_end_mm = flow->top_mm;
    spread(flow, high_mm, true);
}

static void flow_wide(Flow *flow, uint32_t id) {
    enum { LINES_TOGETHER = 6 };
    FaceSheets *sheets = flow->planner->sheets;
    const FaceBlock *block = &sheets->blocks[id];
    uint32_t lines = lines_of(block);
    uint32_t each = (lines + sheets->columns - 1) / sheets->columns;
    double head_mm = face_head_mm(block) + face_views_mm(block);
    level_band(flow);
    new_band(flow);
    if (lines_that_fit(flow, head_mm) < each && !is_fresh(flow)) {
        new_sheet(flow);
    }
    add_part(flow, id, true, 0, 0, head_mm);
    flow->y_mm -= FACE_BLOCK_GAP_MM;
    flow->top_mm = flow->y_mm;
    flow->band_part = (uint32_t)sheets->part_count;
    uint32_t fit = lines_that_fit(flow, 0.0);
    uint32_t done = 0;
    for (uint32_t column = 0; column < sheets->columns && done < lines && fit > 0; column++) {
        uint32_t count = each < fit ? each : fit;
        count = count < lines - done ? count : lines - done;
        flow->column = column;
        flow->y_mm = flow->top_mm;
        add_part(flow, id, false, done, count, 0.0);
        done += count;
    }
    if (done < lines) {
        new_sheet(flow);
        flow_lines(flow, id, done, 0.0);
    } else {
        new_band(flow);
    }
}

/* --- places --- */

static void keep_place(const Planner *planner, const char *name, SheetPlace place) {
    FaceSheets *sheets = planner->sheets;
    if (name_map_add(&sheets->place_of, planner->arena, name, (uint32_t)sheets->place_count) ==
        NAME_NONE) {
        *ARENA_PUSH(planner->arena, sheets->places, sheets->place_count, sheets->place_capacity) =
            place;
    }
}

static void keep_places(const Planner *planner, const FacePart *part, uint32_t sheet) {
    const Model *model = planner->model;
    const FaceBlock *block = &planner->sheets->blocks[part->block];
    SheetPlace place = {sheet, {part->left_mm + 1.0, part->top_mm + 1.0}};
    if (block->kind == FACE_BLOCK_HALF && part->head) {
        planner->sheets->half_place[2 * block->shell_row + (uint32_t)block->side] = place;
    }
    if (block->kind == FACE_BLOCK_CONNECTOR && part->head) {
        keep_place(planner, block->name, place);
    }
    if (block->kind != FACE_BLOCK_TERMINALS) {
        return;
    }
    for (uint32_t i = 0; i < part->line_count; i++) {
        const FaceRow *row = &planner->sheets->rows[block->row_first + part->line_first + i];
        const ModelPin *pin = &model->pins[row->pin];
        const char *tag = model->owners[model->terminals[pin->terminal].owner].tag;
        place.at.y_mm = part->table_top_mm + FACE_TABLE_HEAD_MM + FACE_LINE_MM * (i + 0.5);
        keep_place(planner, tag, place);
        if (*pin->connector != '\0') {
            keep_place(planner, arena_format(planner->arena, "%s.%s", tag, pin->connector), place);
        }
    }
}

/* --- measuring ----------------------------------------------------------------------------------
 */

static void wrap_notes(const Planner *planner, FaceBlock *block, double width_mm) {
    if (block->note != NULL) {
        block->note_count = fonts_wrap(planner->plan->fonts, planner->arena, block->note,
                                       STYLE_NOTE_MM, false, width_mm - 2.0, &block->notes);
    }
}

/* Numbers inside the cavities, side by side in a column, else over the whole sheet, else one above
 * the other; the last as it comes. */
static void choose_views(const Planner *planner, FaceBlock *block) {
    const FaceSheets *sheets = planner->sheets;
    const ShellFace *face = block->face;
    double whole_mm = planner->field.right_mm - planner->field.left_mm;
    double gap_mm = 6.0;
    double room_mm = planner->field.bottom_mm - planner->field.top_mm - sheets->legend_mm -
                     face_head_mm(block) - FACE_TABLE_HEAD_MM - 2.0 * FACE_LINE_MM;
    block->scale = shell_face_scale(face, (sheets->column_mm - gap_mm) / 2.0);
    if (shell_face_readable(face, block->scale) || face->form == FACE_STUDS) {
        return;
    }
    block->wide = true;
    block->scale = shell_face_scale(face, (whole_mm - gap_mm) / 2.0);
    if (!shell_face_readable(face, block->scale)) {
        double stacked = shell_face_scale(face, whole_mm);
        block->stacked = 2.0 * shell_face_height_mm(face, stacked) + gap_mm <= room_mm;
        block->scale = block->stacked ? stacked : block->scale;
    }
    while (!block->stacked && shell_face_height_mm(face, block->scale) > room_mm &&
           block->scale > 0.1) {
        block->scale *= 0.95; /* a tall face on a small sheet */
    }
}

/* Small views stand beside the name, which saves their height. */
static void choose_beside(const Planner *planner, FaceBlock *block) {
    const double TITLE_LEAST_MM = 49.0; /* the longest title, and a gap */
    const double NAME_LEAST_MM = 80.0;
    double view_mm = fmax(TITLE_LEAST_MM, shell_face_width_mm(block->face, block->scale) + 3.0);
    double both_mm = view_mm * (double)face_view_count(block);
    double name_mm = planner->sheets->column_mm - both_mm - 6.0;
    if (!block->wide && both_mm > 0.0 && name_mm >= NAME_LEAST_MM) {
        block->beside_mm = both_mm;
        wrap_notes(planner, block, name_mm);
    }
}

static void measure_blocks(const Planner *planner) {
    FaceSheets *sheets = planner->sheets;
    for (size_t i = 0; i < sheets->block_count; i++) {
        FaceBlock *block = &sheets->blocks[i];
        wrap_notes(planner, block, sheets->column_mm);
        if (block->face != NULL) {
            choose_views(planner, block);
            choose_beside(planner, block);
        }
        if (block->wide) {
            wrap_notes(planner, block, planner->field.right_mm - planner->field.left_mm);
        }
        if (block->face != NULL && block->free_count > 0) {
            double cell_mm = block->face->name_mm + 3.0;
            double per = floor((sheets->column_mm - 22.0) / cell_mm);
            block->free_per_line = per < 1.0 ? 1 : (uint32_t)per;
        }
        face_table_measure(planner->plan->fonts, sheets, block, sheets->column_mm);
    }
}

/* --- sheets -------------------------------------------------------------------------------------
 */

static void add_sheets(const Planner *planner, const uint32_t terminals_from) {
    FaceSheets *sheets = planner->sheets;
    Arena *arena = planner->arena;
    uint32_t before = (uint32_t)planner->plan->count;
    for (uint32_t i = 0; i < sheets->sheet_count; i++) {
        bool terminals = i >= terminals_from;
        uint32_t number = terminals ? i - terminals_from + 1 : i + 1;
        uint32_t end =
            i + 1 < sheets->sheet_count ? sheets->sheet_part[i + 1] : (uint32_t)sheets->part_count;
        const char *first = sheets->blocks[sheets->parts[sheets->sheet_part[i]].block].name;
        const char *last = sheets->blocks[sheets->parts[end - 1].block].name;
        const char *what = terminals ? "Terminals" : "Connectors";
        sheet_add(planner->plan, SHEET_FACE, i, "Connectors and pin-outs",
                  arena_format(arena, "%s-%u", terminals ? "terminals" : "connectors", number),
                  strcmp(first, last) == 0 ? arena_format(arena, "%s: %s", what, first)
                                           : arena_format(arena, "%s: %s to %s", what, first, last),
                  "not to scale");
        for (uint32_t k = sheets->sheet_part[i]; k < end; k++) {
            keep_places(planner, &sheets->parts[k], before + i);
        }
    }
    *ARENA_PUSH(arena, sheets->sheet_part, sheets->sheet_count, sheets->sheet_capacity) =
        (uint32_t)sheets->part_count;
    sheets->sheet_count--;
}

static void start(Planner *planner) {
    FaceSheets *sheets = planner->sheets;
    const DrawView *view = planner->plan->view;
    double width_mm = planner->field.right_mm - planner->field.left_mm;
    sheets->gap_mm = 8.0;
    sheets->columns = (uint32_t)fmax(
        1.0, floor((width_mm + sheets->gap_mm) / (COLUMN_LEAST_MM + sheets->gap_mm)));
    sheets->column_mm = (width_mm - sheets->gap_mm * (sheets->columns - 1)) / sheets->columns;
    sheets->faces = ARENA_ARRAY(planner->arena, ShellFace *, planner->set->shell.count);
    sheets->bolted = ARENA_ARRAY(planner->arena, bool, planner->model->terminal_count);
    for (uint32_t i = 0; i < planner->model->joint_count; i++) {
        sheets->bolted[planner->model->joints[i].a] = true;
        sheets->bolted[planner->model->joints[i].b] = true;
    }
    size_t halves = 2 * planner->set->disconnect_shell.count;
    sheets->half_place = ARENA_ARRAY(planner->arena, SheetPlace, halves);
    for (size_t i = 0; i < halves; i++) {
        sheets->half_place[i].sheet = ID_NONE;
    }
    const char **lines;
    size_t legend = face_legend(planner->plan->fonts, planner->arena, width_mm, &lines);
    sheets->legend_mm = FACE_NOTE_MM * (double)legend + 2.0;
    ends_build(planner->arena, view->model, view->wiring, view->routing, view->disconnects,
               view->sizing->awg, &sheets->ends);
}

void face_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    FaceSheets *sheets = ARENA_NEW(plan->arena, FaceSheets);
    plan->kept[SHEET_FACE] = sheets;
    Planner planner = {.plan = plan,
                       .sheets = sheets,
                       .model = view->model,
                       .set = view->set,
                       .arena = plan->arena,
                       .field = inner(sheet_field(view->paper))};
    start(&planner);
    for (uint32_t i = 0; i < view->set->disconnect_shell.count; i++) {
        add_half(&planner, i, SHELL_NEAR);
        add_half(&planner, i, SHELL_FAR);
    }
    add_units(&planner);
    size_t connectors = sheets->block_count;
    add_terminals(&planner);
    measure_blocks(&planner);
    Flow flow = {.planner = &planner, .bottom_mm = planner.field.bottom_mm - sheets->legend_mm};
    uint32_t terminals_from = 0;
    for (size_t i = 0; i < sheets->block_count; i++) {
        if (i == 0 || i == connectors) {
            new_sheet(&flow);
        }
        if (sheets->blocks[i].wide) {
            flow_wide(&flow, (uint32_t)i);
        } else {
            flow_block(&flow, (uint32_t)i);
        }
        terminals_from = i < connectors ? (uint32_t)sheets->sheet_count : terminals_from;
    }
    add_sheets(&planner, terminals_from);
}

void face_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const FaceSheets *sheets = plan->kept[SHEET_FACE];
    field = inner(field);
    for (uint32_t i = sheets->sheet_part[sheet->index]; i < sheets->sheet_part[sheet->index + 1];
         i++) {
        face_part_draw(plan, sheets, &sheets->parts[i], field, list);
    }
    const char **lines;
    size_t count = face_legend(list->fonts, list->arena, field.right_mm - field.left_mm, &lines);
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < count; i++) {
        draw_text(list, field.left_mm,
                  field.bottom_mm - FACE_NOTE_MM * (double)(count - 1 - i) - 0.8,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, lines[i]);
    }
}

/* --- places -------------------------------------------------------------------------------------
 */

SheetPlace face_half_place(const SheetPlan *plan, uint32_t shell, ShellSide side) {
    const FaceSheets *sheets = plan->kept[SHEET_FACE];
    return sheets->half_place[2 * shell + (uint32_t)side];
}

SheetPlace face_shell_place(const SheetPlan *plan, uint32_t shell) {
    return face_half_place(plan, shell, SHELL_NEAR);
}

SheetPlace face_owner_place(const SheetPlan *plan, OwnerId owner, const char *connector) {
    const FaceSheets *sheets = plan->kept[SHEET_FACE];
    const char *tag = plan->view->model->owners[owner].tag;
    Arena scratch = {0};
    const char *name = *connector == '\0' ? tag : arena_format(&scratch, "%s.%s", tag, connector);
    uint32_t place = name_map_find(&sheets->place_of, name);
    arena_free(&scratch);
    SheetPlace nowhere = {.sheet = ID_NONE};
    return place == NAME_NONE ? nowhere : sheets->places[place];
}
