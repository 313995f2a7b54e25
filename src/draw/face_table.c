/* Heads, views and tables of the connector sheets. */
#include <math.h>
#include <string.h>

#include "draw/face_plan.h"
#include "table/value.h"

static const struct {
    const char *head;
    double height_mm;
} COLUMNS[] = {
#define FACE_COLUMN_ROW(id, head, height_mm) {head, height_mm},
    FACE_COLUMNS(FACE_COLUMN_ROW)
#undef FACE_COLUMN_ROW
};

#define CELL_GAP_MM 1.6 /* between the text of one column and the next */
#define SWATCH_MM 4.0   /* length of a colour's field */
#define SWATCH_HIGH_MM 2.6
#define VIEW_GAP_MM 6.0
#define VIEW_TOP_MM 1.6  /* above views that stand beside the name */
#define FACE_WHAT_MM 5.5 /* line of its own for what stands beside the name otherwise */

/* --- texts --------------------------------------------------------------------------------------
 */

static const char *port_text(Arena *arena, const ModelTerminal *terminal, const char *core) {
    return *core == '\0' || strcmp(core, terminal->name) == 0
               ? terminal->name
               : arena_format(arena, "%s %s", terminal->name, core);
}

static const char *slide_text(Arena *arena, const FaceSheets *sheets, const EndFacts *facts) {
    const char *letters = ends_slide_letters(arena, &sheets->ends, facts);
    const char *contact = *facts->contact == '\0' ? "?" : facts->contact;
    return *letters == '\0' ? arena_format(arena, "> %s", contact)
                            : arena_format(arena, "%s > %s", letters, contact);
}

static void pin_texts(Arena *arena, const FaceSheets *sheets, const FaceBlock *block,
                      const FaceRow *row, const char **texts) {
    const Model *model = sheets->ends.model;
    const ModelPin *pin = &model->pins[row->pin];
    const ModelTerminal *terminal = &model->terminals[pin->terminal];
    const char *core = "";
    if (terminal->class_id != ID_NONE) {
        const Ends *ends = &sheets->ends;
        uint32_t first = ends->class_core[terminal->class_id];
        for (uint32_t i = first; i < first + ends->class_cores[terminal->class_id]; i++) {
            if (model->set->interface_core.rows[i].core == pin->core + 1) {
                core = model->set->interface_core.rows[i].name;
            }
        }
        texts[FACE_COLUMN_CLASS] = model->set->interface.rows[terminal->class_id].class;
    }
    if (block->kind == FACE_BLOCK_TERMINALS) {
        texts[FACE_COLUMN_TERMINAL] = model_pin_text(model, arena, row->pin);
        texts[FACE_COLUMN_PORT] = terminal->port == ID_NONE ? "" : terminal->name;
    } else {
        texts[FACE_COLUMN_CAVITY] = pin->cavity;
        texts[FACE_COLUMN_PORT] = port_text(arena, terminal, core);
    }
    texts[FACE_COLUMN_DIRECTION] = model_direction_name(terminal->direction);
    if (row->end == ID_NONE) {
        texts[FACE_COLUMN_FAR] = sheets->bolted[pin->terminal] ? "bolted" : "free";
    }
}

void face_row_texts(Arena *arena, const FaceSheets *sheets, const FaceBlock *block,
                    const FaceRow *row, const char *texts[FACE_COLUMN_COUNT], EndFacts *facts) {
    for (int i = 0; i < FACE_COLUMN_COUNT; i++) {
        texts[i] = "";
    }
    if (row->pin != ID_NONE) {
        pin_texts(arena, sheets, block, row, texts);
    } else {
        texts[FACE_COLUMN_CAVITY] = block->face->ways > row->cavity
                                        ? block->face->names[row->cavity]
                                        : arena_format(arena, "%u", row->cavity + 1);
    }
    if (row->end == ID_NONE) {
        return;
    }
    char code[STYLE_CODE_TEXT];
    ends_facts(arena, &sheets->ends, row->end, facts);
    texts[FACE_COLUMN_WIRE] = facts->wire;
    texts[FACE_COLUMN_NUMBER] = facts->number;
    texts[FACE_COLUMN_AWG] = facts->awg == INT_BLANK ? "" : value_awg_text(arena, facts->awg);
    const char *words = style_insulation_code(facts->colour, code);
    texts[FACE_COLUMN_COLOUR] = sheets->ends.pieces[row->end / 2].conductor == ID_NONE
                                    ? "bare"
                                    : arena_text(arena, words, strlen(words));
    texts[FACE_COLUMN_FAR] = facts->far;
    texts[FACE_COLUMN_CLASS] = facts->class;
    texts[FACE_COLUMN_SLIDE] = slide_text(arena, sheets, facts);
}

/* --- widths -------------------------------------------------------------------------------------
 */

static double extra_mm(int column) {
    return CELL_GAP_MM + (column == FACE_COLUMN_COLOUR ? SWATCH_MM + 1.0 : 0.0);
}

static double cell_mm(const FaceBlock *block, int column) {
    return block->compact && column == FACE_COLUMN_FAR ? STYLE_NOTE_MM : COLUMNS[column].height_mm;
}

/* Widths that all texts fit; returns their sum. */
static double measure_columns(DrawFonts *fonts, const FaceSheets *sheets, FaceBlock *block) {
    double *wide = block->column_mm;
    Arena scratch = {0};
    for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
        wide[k] = 0.0;
    }
    for (uint32_t i = 0; i < block->row_count; i++) {
        const char *texts[FACE_COLUMN_COUNT];
        EndFacts facts;
        face_row_texts(&scratch, sheets, block, &sheets->rows[block->row_first + i], texts, &facts);
        for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
            if (*texts[k] != '\0') {
                bool bold = k == FACE_COLUMN_CAVITY || k == FACE_COLUMN_TERMINAL;
                wide[k] = fmax(wide[k], extra_mm(k) + fonts_width_mm(fonts, texts[k],
                                                                     cell_mm(block, k), bold));
            }
        }
        if (i % 256 == 255) {
            arena_free(&scratch);
        }
    }
    arena_free(&scratch);
    double sum_mm = 0.0;
    for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
        if (wide[k] > 0.0) {
            wide[k] = fmax(wide[k], CELL_GAP_MM + fonts_width_mm(fonts, COLUMNS[k].head,
                                                                 STYLE_NOTE_MM, false));
        }
        sum_mm += wide[k];
    }
    return sum_mm;
}

void face_table_measure(DrawFonts *fonts, const FaceSheets *sheets, FaceBlock *block,
                        double width_mm) {
    double *wide = block->column_mm;
    double sum_mm = measure_columns(fonts, sheets, block);
    if (sum_mm > width_mm) {
        block->compact = true;
        sum_mm = measure_columns(fonts, sheets, block);
    }
    /* What is too wide is taken from the longest texts, the widest column first. */
    while (sum_mm > width_mm) {
        int widest = 0;
        int next = 0;
        for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
            if (wide[k] > wide[widest]) {
                next = widest;
                widest = k;
            } else if (k != widest && wide[k] > wide[next]) {
                next = k;
            }
        }
        double cut_mm = fmin(sum_mm - width_mm, fmax(1.0, wide[widest] - wide[next]));
        wide[widest] -= cut_mm;
        sum_mm -= cut_mm;
    }
    int shown = 0;
    for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
        shown += wide[k] > 0.0;
    }
    double share_mm = shown == 0 ? 0.0 : fmin(5.0, (width_mm - sum_mm) / shown);
    for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
        wide[k] += wide[k] > 0.0 ? share_mm : 0.0;
    }
    block->table_mm = sum_mm + share_mm * shown;
}

/* --- heads and views ----------------------------------------------------------------------------
 */

size_t face_view_count(const FaceBlock *block) {
    return block->face == NULL || block->face->form == FACE_LEADS ? 0
           : block->face->form == FACE_STUDS                      ? 1
                                                                  : 2;
}

/* What has to be said below the views; "" for nothing. A row of studs is never set out otherwise.
 */
static const char *views_note(const FaceBlock *block) {
    const ShellFace *face = block->face;
    bool by_number = !face->measured && face->ways >= 2 && face->form != FACE_STUDS;
    bool room = shell_face_readable(face, block->scale);
    if (!room) {
        return by_number ? "Set out by number. Numbers that find no room are left out."
                         : "Numbers that find no room are left out.";
    }
    return !by_number             ? ""
           : block->beside_mm > 0 ? "Set out by number: go by the numbers on the shell."
                                  : "Set out by number, the library has no places: go by the "
                                    "numbers moulded on the shell.";
}

static double views_mm(const FaceBlock *block) {
    if (face_view_count(block) == 0) {
        return 0.0;
    }
    double height_mm = shell_face_height_mm(block->face, block->scale);
    double note_mm = *views_note(block) != '\0' ? FACE_NOTE_MM : 0.0;
    return (block->stacked ? 2.0 * height_mm + VIEW_GAP_MM : height_mm) + note_mm + 3.0;
}

double face_head_mm(const FaceBlock *block) {
    double text_mm =
        FACE_NAME_MM + FACE_NOTE_MM * (double)block->note_count + (block->face == NULL ? 1.0 : 3.0);
    return block->beside_mm > 0.0
               ? fmax(text_mm + FACE_WHAT_MM - 1.0, views_mm(block) + VIEW_TOP_MM - 2.0)
               : text_mm;
}

double face_views_mm(const FaceBlock *block) {
    return block->beside_mm > 0.0 ? 0.0 : views_mm(block);
}

/* What is in each cavity of a block, by cavity of its face. */
static FaceCavity *fill_cavities(Arena *arena, const FaceSheets *sheets, const FaceBlock *block) {
    const ShellFace *face = block->face;
    const Model *model = sheets->ends.model;
    FaceCavity *cavities = ARENA_ARRAY(arena, FaceCavity, face->ways);
    NameMap by_name = {0};
    for (uint32_t i = 0; i < face->ways; i++) {
        cavities[i] = (FaceCavity){.colour = "", .table = TABLE_COUNT, .key = ""};
        name_map_add(&by_name, arena, face->names[i], i);
        if (block->kind == FACE_BLOCK_HALF) {
            cavities[i].table = TABLE_cavity_use;
            cavities[i].key = arena_format(arena, "%s %s",
                                           model->set->disconnect_shell.rows[block->shell_row].tag,
                                           face->names[i]);
        }
    }
    for (uint32_t i = 0; i < block->row_count; i++) {
        const FaceRow *row = &sheets->rows[block->row_first + i];
        const char *name = row->pin == ID_NONE ? "" : model->pins[row->pin].cavity;
        uint32_t cavity = row->pin == ID_NONE ? row->cavity : name_map_find(&by_name, name);
        if (cavity >= face->ways || row->place > 1) {
            continue; /* not of this shell: reported */
        }
        if (row->pin != ID_NONE) {
            cavities[cavity].table = TABLE_pin_out;
            cavities[cavity].key =
                arena_format(arena, "%s 1", model_pin_text(model, arena, row->pin));
        }
        if (row->end != ID_NONE) {
            EndFacts facts;
            ends_facts(arena, &sheets->ends, row->end, &facts);
            cavities[cavity].used = true;
            cavities[cavity].shield = sheets->ends.pieces[row->end / 2].conductor == ID_NONE;
            cavities[cavity].colour = facts.colour;
        }
    }
    return cavities;
}

static void draw_views(const FaceSheets *sheets, const FaceBlock *block, DrawBox box,
                       DrawList *list) {
    size_t views = face_view_count(block);
    if (views == 0) {
        return;
    }
    const ShellFace *face = block->face;
    FaceCavity *cavities = fill_cavities(list->arena, sheets, block);
    double middle_mm = (box.left_mm + box.right_mm) / 2.0;
    double height_mm = shell_face_height_mm(face, block->scale);
    double apart_mm = (box.right_mm - box.left_mm) / 4.0;
    double y_mm = box.top_mm;
    for (size_t i = 0; i < views; i++) {
        double x_mm = views == 1 || block->stacked ? middle_mm
                      : i == 0                     ? middle_mm - apart_mm
                                                   : middle_mm + apart_mm;
        shell_face_draw(list, face, block->half, i == 0 ? FACE_WIRE_SIDE : FACE_MATING_FACE,
                        block->scale, x_mm, y_mm, cavities);
        y_mm += block->stacked ? height_mm + VIEW_GAP_MM : 0.0;
    }
    y_mm += block->stacked ? -VIEW_GAP_MM : height_mm;
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, middle_mm, y_mm + FACE_NOTE_MM - 0.8,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE},
                  views_note(block), box.right_mm - box.left_mm);
}

static void draw_head(const FaceSheets *sheets, const FaceBlock *block, DrawBox box,
                      DrawList *list) {
    TableId table = TABLE_COUNT;
    const char *key = "";
    if (block->kind == FACE_BLOCK_HALF) {
        table = TABLE_disconnect_shell;
        key = sheets->ends.model->set->disconnect_shell.rows[block->shell_row].tag;
    } else if (block->kind == FACE_BLOCK_CONNECTOR) {
        table = TABLE_unit;
        key = sheets->ends.model->owners[block->owner].tag;
    }
    draw_layer(list, LAYER_TAG);
    draw_row(list, table, key);
    draw_line(list, box.left_mm, box.top_mm, box.right_mm, box.top_mm, STYLE_MEDIUM_MM);
    DrawTextStyle style = {.height_mm = STYLE_TAG_MM, .bold = true};
    double base_mm = box.top_mm + FACE_NAME_MM - 0.8;
    double width_mm = box.right_mm - box.left_mm;
    DrawTextStyle what = {.height_mm = STYLE_VALUE_MM};
    if (block->beside_mm > 0.0) {
        width_mm -= block->beside_mm + VIEW_GAP_MM;
        draw_text_fit(list, box.left_mm, base_mm, style, block->name, width_mm);
        base_mm += FACE_WHAT_MM;
        what.height_mm =
            draw_text_width(list, what, block->what) > width_mm ? STYLE_NOTE_MM : STYLE_VALUE_MM;
        draw_text_fit(list, box.left_mm, base_mm, what, block->what, width_mm);
    } else {
        double used_mm =
            draw_text_fit(list, box.left_mm, base_mm, style, block->name, 0.6 * width_mm);
        draw_text_fit(list, box.left_mm + used_mm + 4.0, base_mm, what, block->what,
                      width_mm - used_mm - 5.0);
    }
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < block->note_count; i++) {
        draw_text(list, box.left_mm, base_mm + FACE_NOTE_MM * (double)(i + 1) + 0.4,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, block->notes[i]);
    }
    draw_row(list, TABLE_COUNT, "");
}

/* --- table --------------------------------------------------------------------------------------
 */

static void draw_table_head(const FaceBlock *block, double left_mm, double top_mm, DrawList *list) {
    draw_row(list, TABLE_COUNT, "");
    double x_mm = left_mm;
    for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
        if (block->column_mm[k] > 0.0) {
            draw_layer(list, LAYER_NOTE);
            draw_text_fit(list, x_mm, top_mm + FACE_TABLE_HEAD_MM - 1.6,
                          (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .bold = true},
                          COLUMNS[k].head, block->column_mm[k] - 0.8);
        }
        x_mm += block->column_mm[k];
    }
    draw_layer(list, LAYER_RULE);
    draw_line(list, left_mm, top_mm + FACE_TABLE_HEAD_MM, left_mm + block->table_mm,
              top_mm + FACE_TABLE_HEAD_MM, STYLE_MEDIUM_MM);
}

static void draw_swatch(DrawList *list, double left_mm, double base_mm, const char *colour) {
    uint32_t base;
    uint32_t tracer;
    if (!style_insulation_rgb(colour, &base, &tracer)) {
        return;
    }
    double top_mm = base_mm - SWATCH_HIGH_MM;
    draw_layer(list, LAYER_INSULATION);
    DrawBox box = {left_mm, top_mm, left_mm + SWATCH_MM, base_mm};
    draw_rgb(list, base);
    draw_fill_rectangle(list, box);
    if (tracer != base) {
        draw_rgb(list, tracer);
        draw_fill_rectangle(list, (DrawBox){left_mm, top_mm + 0.9, left_mm + SWATCH_MM,
                                            top_mm + SWATCH_HIGH_MM - 0.9});
    }
    draw_rgb(list, STYLE_INK);
    draw_rectangle(list, box, STYLE_THIN_MM);
}

/* Where the far end is drawn on these sheets. */
static SheetPlace far_place(const SheetPlan *plan, const FaceSheets *sheets, EndId end) {
    const PieceEnd *far = &sheets->ends.pieces[end / 2].ends[1 - end % 2];
    const Model *model = sheets->ends.model;
    if (far->kind == PIECE_CAVITY) {
        return face_half_place(plan, sheets->ends.disconnects->uses[far->use].shell,
                               far->far ? SHELL_FAR : SHELL_NEAR);
    }
    if (far->kind == PIECE_PIN) {
        return face_owner_place(plan, model->terminals[far->terminal].owner,
                                model->pins[far->pin].connector);
    }
    return (SheetPlace){.sheet = ID_NONE};
}

/* Sets the row that a cell of that column stands for. */
static void set_row(DrawList *list, const FaceSheets *sheets, const FaceBlock *block,
                    const FaceRow *row, int column, const char *cavity) {
    const Model *model = sheets->ends.model;
    Arena *arena = list->arena;
    draw_layer(list, LAYER_WIRE_TEXT);
    if ((column == FACE_COLUMN_WIRE || column == FACE_COLUMN_NUMBER) && row->end != ID_NONE) {
        ConductorId conductor = sheets->ends.pieces[row->end / 2].conductor;
        if (conductor != ID_NONE) {
            draw_row(list, TABLE_conductor, sheets->ends.wiring->conductors[conductor].key);
            return;
        }
    }
    if (row->pin == ID_NONE) {
        draw_row(list, TABLE_cavity_use,
                 arena_format(arena, "%s %s",
                              model->set->disconnect_shell.rows[block->shell_row].tag, cavity));
    } else {
        draw_row(list, TABLE_pin_out,
                 arena_format(arena, "%s %u", model_pin_text(model, arena, row->pin), row->place));
    }
}

static void draw_table_row(const SheetPlan *plan, const FaceSheets *sheets, const FaceBlock *block,
                           const FaceRow *row, double left_mm, double base_mm, DrawList *list) {
    const char *texts[FACE_COLUMN_COUNT];
    EndFacts facts = {.colour = ""};
    face_row_texts(list->arena, sheets, block, row, texts, &facts);
    double x_mm = left_mm;
    for (int k = 0; k < FACE_COLUMN_COUNT; k++) {
        double at_mm = x_mm;
        x_mm += block->column_mm[k];
        if (*texts[k] == '\0') {
            continue;
        }
        double room_mm = block->column_mm[k] - 0.8;
        set_row(list, sheets, block, row, k, texts[FACE_COLUMN_CAVITY]);
        if (k == FACE_COLUMN_COLOUR) {
            draw_swatch(list, at_mm, base_mm, facts.colour);
            draw_layer(list, LAYER_WIRE_TEXT);
            at_mm += SWATCH_MM + 1.0;
            room_mm -= SWATCH_MM + 1.0;
        }
        DrawTextStyle style = {.height_mm = cell_mm(block, k),
                               .bold = k == FACE_COLUMN_CAVITY || k == FACE_COLUMN_TERMINAL};
        double used_mm = draw_text_fit(list, at_mm, base_mm, style, texts[k], room_mm);
        SheetPlace far = k == FACE_COLUMN_FAR && row->end != ID_NONE
                             ? far_place(plan, sheets, row->end)
                             : (SheetPlace){.sheet = ID_NONE};
        if (far.sheet != ID_NONE) {
            draw_link(list,
                      (DrawBox){at_mm, base_mm - STYLE_VALUE_MM, at_mm + used_mm, base_mm + 1.0},
                      plan->sheets[far.sheet].name);
        }
    }
}

/* Numbers of cavities without a wire, each by itself so that each stands there. */
static void draw_free_line(const FaceSheets *sheets, const FaceBlock *block, uint32_t line,
                           double left_mm, double base_mm, DrawList *list) {
    const Model *model = sheets->ends.model;
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM};
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_NOTE);
    if (line == 0) {
        draw_text(list, left_mm, base_mm, style, block->face->sealed ? "free, plug" : "free");
    }
    draw_layer(list, LAYER_WIRE_TEXT);
    uint32_t first = line * block->free_per_line;
    for (uint32_t i = first; i < first + block->free_per_line && i < block->free_count; i++) {
        uint32_t cavity = sheets->free[block->free_first + i];
        const char *name = cavity < block->face->ways ? block->face->names[cavity]
                                                      : arena_format(list->arena, "%u", cavity + 1);
        if (block->kind == FACE_BLOCK_HALF) {
            draw_row(list, TABLE_cavity_use,
                     arena_format(list->arena, "%s %s",
                                  model->set->disconnect_shell.rows[block->shell_row].tag, name));
        }
        draw_text(list, left_mm + 22.0 + (i - first) * (block->face->name_mm + 3.0), base_mm,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .bold = true}, name);
    }
}

void face_part_draw(const SheetPlan *plan, const FaceSheets *sheets, const FacePart *part,
                    DrawBox field, DrawList *list) {
    const FaceBlock *block = &sheets->blocks[part->block];
    bool whole = block->wide && part->head;
    DrawBox box = {whole ? field.left_mm : part->left_mm, part->top_mm,
                   whole ? field.right_mm : part->left_mm + sheets->column_mm, field.bottom_mm};
    if (part->head) {
        draw_head(sheets, block, box, list);
        DrawBox views = box;
        if (block->beside_mm > 0.0) {
            views.top_mm += VIEW_TOP_MM;
            views.left_mm = views.right_mm - block->beside_mm;
        } else {
            views.top_mm += face_head_mm(block);
        }
        draw_views(sheets, block, views, list);
    } else if (part->table_top_mm > part->top_mm) {
        draw_layer(list, LAYER_TAG);
        draw_text_fit(list, box.left_mm, part->top_mm + FACE_CONTINUED_MM - 1.6,
                      (DrawTextStyle){.height_mm = STYLE_VALUE_MM, .bold = true},
                      arena_format(list->arena, "%s, continued", block->name), sheets->column_mm);
    }
    if (part->line_count == 0) {
        return;
    }
    draw_table_head(block, box.left_mm, part->table_top_mm, list);
    for (uint32_t i = 0; i < part->line_count; i++) {
        uint32_t line = part->line_first + i;
        double bottom_mm = part->table_top_mm + FACE_TABLE_HEAD_MM + FACE_LINE_MM * (i + 1);
        double base_mm = bottom_mm - 1.6;
        if (line < block->row_count) {
            draw_table_row(plan, sheets, block, &sheets->rows[block->row_first + line], box.left_mm,
                           base_mm, list);
        } else {
            draw_free_line(sheets, block, line - block->row_count, box.left_mm, base_mm, list);
        }
        draw_row(list, TABLE_COUNT, "");
        draw_layer(list, LAYER_RULE);
        draw_line(list, box.left_mm, bottom_mm, box.left_mm + block->table_mm, bottom_mm,
                  STYLE_THIN_MM);
    }
}

size_t face_legend(DrawFonts *fonts, Arena *arena, double width_mm, const char ***lines) {
    Buffer text = {.arena = arena};
    buffer_format(&text,
                  "%s \"Slide on\" lists what goes over the wire before its contact, the "
                  "first first:",
                  shell_face_legend());
    for (int i = 0; i < SLIDE_COUNT; i++) {
        buffer_format(&text, " %s %s%s", slide_letter((SlideItem)i), slide_words((SlideItem)i),
                      i + 1 < SLIDE_COUNT ? ";" : ".");
    }
    buffer_text(&text, " Figures are millimetres inside before shrinking, ? where no size fits. "
                       ".P pins and .S sockets of a disconnect.");
    return fonts_wrap(fonts, arena, text.bytes, STYLE_NOTE_MM, false, width_mm, lines);
}
