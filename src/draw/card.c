/* The emergency card: a framed block for each failure that the shop chose, in the order of the
 * card; blocks fill a column from the top, then the next column, then the next sheet. A block is
 * laid out by one function, which measures when it is given no list. */
#include <math.h>

#include "base/text.h"
#include "draw/sheets.h"

#define TWO_COLUMNS_MM 340.0 /* a field as wide holds two columns */
#define COLUMN_GAP_MM 6.0
#define BLOCK_GAP_MM 3.0
#define HEAD_MM 12.0
#define EDGE_MM 3.0     /* between frame and text */
#define MINUTES_MM 66.0 /* column of the minutes */
#define DIGITS_MM 29.0  /* of it: the number */
#define NUMBER_MM 8.0   /* of an action */
#define HEADING_MM 33.0 /* of a list */
#define CARD_PART "Emergency card"

static const char CAUTION[] =
    "Derived from a model of the aircraft as wired; nobody has flown it. Fly first, read then. The "
    "flight manual comes before this card. Before the first flight the builder tries every step on "
    "the ground, measures a discharge of each battery, and writes the measured minutes in. Large: "
    "the battery aged, and as cold as its place ever is. Warm: aged. New: new and warm.";

/* A block as placed. */
typedef struct Block {
    uint32_t entry;
    double left_mm;
    double top_mm;
    double width_mm;
} Block;

/* How close the blocks are set: the loosest that leaves one sheet, else the second on several. */
typedef struct Setting {
    double action_mm;
    bool shed; /* with the list of what was switched off */
    bool full; /* with the list of everything that works */
} Setting;

static const Setting SETTINGS[] = {{STYLE_TAG_MM, true, true},
                                   {STYLE_TAG_MM, true, false},
                                   {STYLE_TAG_MM, false, false},
                                   {STYLE_VALUE_MM, false, false}};
enum { SETTING_COUNT = sizeof SETTINGS / sizeof *SETTINGS, SETTING_SEVERAL = 1 };

typedef struct CardPlan {
    Block *blocks;
    size_t count;
    size_t capacity;
    size_t *first; /* by sheet, and one more */
    size_t sheets;
    double caution_mm; /* height of the caution */
    Setting setting;
} CardPlan;

/* Where text goes: measured only while `list` is NULL. */
typedef struct Pen {
    DrawList *list;
    Arena *arena;
    DrawFonts *fonts;
    Setting setting;
} Pen;

static double line_mm(double height_mm) {
    return height_mm * (height_mm >= STYLE_TAG_MM ? 1.42 : 1.55);
}

/* Wrapped text from `top_mm` on; returns where it ends. */
static double write_lines(const Pen *pen, double left_mm, double top_mm, double width_mm,
                          double height_mm, bool bold, const char *text) {
    const char **lines = NULL;
    size_t count = fonts_wrap(pen->fonts, pen->arena, text, height_mm, bold, width_mm, &lines);
    for (size_t i = 0; i < count && pen->list != NULL; i++) {
        draw_text(pen->list, left_mm, top_mm + height_mm + line_mm(height_mm) * (double)i,
                  (DrawTextStyle){.height_mm = height_mm, .bold = bold}, lines[i]);
    }
    return top_mm + line_mm(height_mm) * (double)count;
}

/* Heading in bold at the left, its list beside it. Nothing for an empty list. */
static double write_list(const Pen *pen, double left_mm, double top_mm, double width_mm,
                         double height_mm, const char *heading, const char *text) {
    if (*text == '\0') {
        return top_mm;
    }
    if (pen->list != NULL) {
        draw_layer(pen->list, LAYER_TAG);
        draw_text(pen->list, left_mm, top_mm + height_mm,
                  (DrawTextStyle){.height_mm = fmin(height_mm, STYLE_VALUE_MM), .bold = true},
                  heading);
        draw_layer(pen->list, LAYER_NOTE);
    }
    return write_lines(pen, left_mm + HEADING_MM, top_mm, width_mm - HEADING_MM, height_mm, false,
                       text) +
           0.8;
}

static double write_actions(const Pen *pen, const CardEntry *entry, double left_mm, double top_mm,
                            double width_mm) {
    double height_mm = pen->setting.action_mm;
    for (uint32_t i = 0; i < entry->action_count; i++) {
        if (pen->list != NULL) {
            draw_layer(pen->list, LAYER_TAG);
            draw_text(pen->list, left_mm, top_mm + height_mm,
                      (DrawTextStyle){.height_mm = height_mm, .bold = true},
                      arena_format(pen->arena, "%u", i + 1));
        }
        top_mm = write_lines(pen, left_mm + NUMBER_MM, top_mm, width_mm - NUMBER_MM, height_mm,
                             true, entry->actions[i]);
        top_mm += 0.8;
    }
    return top_mm;
}

static const char *detail_text(Arena *arena, const CardMinutes *minutes) {
    if (isinf(minutes->new_min) || isnan(minutes->new_min) || isnan(minutes->aged_min)) {
        return isinf(minutes->new_min) ? "an alternator carries it" : "not proved";
    }
    if (isnan(minutes->cold_min)) {
        return arena_format(arena, "cold not known; new %.0f", floor(minutes->new_min));
    }
    return arena_format(arena, "warm %.0f, new %.0f", floor(minutes->aged_min),
                        floor(minutes->new_min));
}

/* The number at the left, what it is of beside it. */
static double write_minutes(const Pen *pen, const CardEntry *entry, double left_mm, double top_mm) {
    top_mm = write_lines(pen, left_mm, top_mm - 1.5, MINUTES_MM - EDGE_MM, STYLE_NOTE_MM, true,
                         "MINUTES LEFT") +
             1.0;
    for (uint32_t i = 0; i < entry->minutes_count; i++) {
        const CardMinutes *minutes = &entry->minutes[i];
        const char *number = card_minutes_text(pen->arena, minutes);
        bool digits = number[0] >= '0' && number[0] <= '9';
        double height_mm = digits ? STYLE_MINUTES_MM : STYLE_TITLE_MM;
        /* Words take the whole width, and what they are of stands below. */
        double beside_mm = digits ? left_mm + DIGITS_MM : left_mm;
        double width_mm = left_mm + MINUTES_MM - EDGE_MM - beside_mm;
        if (pen->list != NULL) {
            draw_layer(pen->list, LAYER_TAG);
            draw_text(pen->list, left_mm, top_mm + height_mm,
                      (DrawTextStyle){.height_mm = height_mm, .bold = true}, number);
            draw_layer(pen->list, LAYER_NOTE);
        }
        double end_mm = digits ? top_mm : top_mm + line_mm(height_mm);
        end_mm =
            write_lines(pen, beside_mm, end_mm, width_mm, STYLE_VALUE_MM, true, minutes->battery);
        end_mm = write_lines(pen, beside_mm, end_mm, width_mm, STYLE_NOTE_MM, false,
                             detail_text(pen->arena, minutes));
        if (digits) {
            end_mm = write_lines(pen, beside_mm, end_mm + 1.0, width_mm, STYLE_NOTE_MM, false,
                                 "measured .................");
        }
        top_mm = fmax(top_mm + height_mm + 1.5, end_mm) + 1.5;
    }
    return top_mm;
}

/* The title, and the cue behind it where there is room, else below. */
static double write_title(const Pen *pen, const CardRow *row, double left_mm, double top_mm,
                          double width_mm) {
    double title_mm = fonts_width_mm(pen->fonts, row->title, STYLE_TITLE_MM, true);
    double cue_mm = fonts_width_mm(pen->fonts, row->cue, STYLE_VALUE_MM, false);
    if (pen->list != NULL) {
        draw_layer(pen->list, LAYER_TAG);
    }
    double end_mm = write_lines(pen, left_mm, top_mm, width_mm, STYLE_TITLE_MM, true, row->title);
    if (pen->list != NULL) {
        draw_layer(pen->list, LAYER_NOTE);
    }
    if (*row->cue == '\0') {
        return end_mm;
    }
    if (title_mm + cue_mm + 6.0 > width_mm) {
        return write_lines(pen, left_mm, end_mm, width_mm, STYLE_VALUE_MM, false, row->cue);
    }
    if (pen->list != NULL) {
        draw_text(pen->list, left_mm + width_mm, top_mm + STYLE_TITLE_MM,
                  (DrawTextStyle){.height_mm = STYLE_VALUE_MM, .align = ALIGN_RIGHT}, row->cue);
    }
    return end_mm;
}

/* One block; returns its height. */
static double write_block(const Pen *pen, const DrawView *view, const Block *block) {
    const CardEntry *entry = &view->card->entries[block->entry];
    const CardRow *row = &view->set->card.rows[entry->row];
    double left_mm = block->left_mm + EDGE_MM;
    double width_mm = block->width_mm - 2.0 * EDGE_MM;
    double y_mm = block->top_mm + EDGE_MM;
    if (pen->list != NULL) {
        draw_row(pen->list, TABLE_card, row->card);
    }
    y_mm = write_title(pen, row, left_mm, y_mm, width_mm);
    if (pen->list != NULL) {
        draw_layer(pen->list, LAYER_RULE);
        draw_line(pen->list, block->left_mm, y_mm, block->left_mm + block->width_mm, y_mm,
                  STYLE_MEDIUM_MM);
    }
    y_mm += 2.5;
    bool timed = entry->minutes_count > 0;
    double actions_mm = timed ? width_mm - MINUTES_MM - EDGE_MM : width_mm;
    double below_mm = write_actions(pen, entry, left_mm, y_mm, actions_mm);
    if (timed) {
        below_mm = fmax(below_mm,
                        write_minutes(pen, entry, left_mm + width_mm - MINUTES_MM + EDGE_MM, y_mm));
    }
    if (pen->list != NULL) {
        draw_layer(pen->list, LAYER_RULE);
        if (timed) {
            double x_mm = left_mm + width_mm - MINUTES_MM;
            draw_line(pen->list, x_mm, y_mm - 2.5, x_mm, below_mm, STYLE_MEDIUM_MM);
        }
        draw_line(pen->list, block->left_mm, below_mm, block->left_mm + block->width_mm, below_mm,
                  STYLE_MEDIUM_MM);
    }
    y_mm = below_mm + 2.0;
    y_mm = write_list(pen, left_mm, y_mm, width_mm, STYLE_VALUE_MM, "STILL WORKS", entry->kept);
    y_mm = write_list(pen, left_mm, y_mm, width_mm, STYLE_VALUE_MM, "LOST", entry->gone);
    y_mm = write_list(pen, left_mm, y_mm, width_mm, STYLE_VALUE_MM, "NO SUPPLY", entry->lost);
    y_mm = write_list(pen, left_mm, y_mm, width_mm, STYLE_VALUE_MM, "CAREFUL", entry->note);
    if (pen->setting.shed) {
        y_mm = write_list(pen, left_mm, y_mm, width_mm, STYLE_NOTE_MM, "switched off", entry->shed);
    }
    if (pen->setting.full) {
        y_mm = write_list(pen, left_mm, y_mm, width_mm, STYLE_NOTE_MM, "on", entry->left);
    }
    y_mm += EDGE_MM - 1.0;
    if (pen->list != NULL) {
        draw_layer(pen->list, LAYER_BOX);
        draw_rectangle(
            pen->list,
            (DrawBox){block->left_mm, block->top_mm, block->left_mm + block->width_mm, y_mm},
            STYLE_THICK_MM);
        draw_row(pen->list, TABLE_COUNT, "");
    }
    return y_mm - block->top_mm;
}

/* --- sheets -------------------------------------------------------------------------------------
 */

/* Places all blocks as set, on as many sheets as that takes. */
static void place(const SheetPlan *plan, Setting setting, CardPlan *kept) {
    const DrawView *view = plan->view;
    DrawBox field = sheet_field(view->paper);
    double field_mm = field.right_mm - field.left_mm;
    Pen pen = {.arena = plan->arena, .fonts = plan->fonts, .setting = setting};
    size_t columns = field_mm >= TWO_COLUMNS_MM ? 2 : 1;
    double width_mm = (field_mm - COLUMN_GAP_MM * (double)(columns - 1)) / (double)columns;
    double top_mm = field.top_mm + HEAD_MM;
    double bottom_mm = field.bottom_mm - kept->caution_mm - 2.0;
    size_t column = 0;
    double y_mm = top_mm;
    kept->setting = setting;
    kept->count = 0;
    kept->sheets = 1;
    kept->first[0] = 0;
    for (uint32_t i = 0; i < view->card->count; i++) {
        Block block = {.entry = i, .width_mm = width_mm};
        double height_mm = write_block(&pen, view, &block);
        if (y_mm + height_mm > bottom_mm && y_mm > top_mm) {
            y_mm = top_mm;
            column++;
            if (column == columns) {
                column = 0;
                kept->first[kept->sheets++] = kept->count;
            }
        }
        block.left_mm = field.left_mm + (width_mm + COLUMN_GAP_MM) * (double)column;
        block.top_mm = y_mm;
        y_mm += height_mm + BLOCK_GAP_MM;
        *ARENA_PUSH(plan->arena, kept->blocks, kept->count, kept->capacity) = block;
    }
    kept->first[kept->sheets] = kept->count;
}

void card_plan(SheetPlan *plan) {
    const DrawView *view = plan->view;
    CardPlan *kept = ARENA_NEW(plan->arena, CardPlan);
    plan->kept[SHEET_CARD] = kept;
    uint32_t entries = view->card == NULL ? 0 : view->card->count;
    if (entries == 0) {
        return;
    }
    kept->first = ARENA_ARRAY(plan->arena, size_t, (size_t)entries + 1);
    DrawBox field = sheet_field(view->paper);
    Pen pen = {.arena = plan->arena, .fonts = plan->fonts};
    kept->caution_mm =
        write_lines(&pen, 0.0, 0.0, field.right_mm - field.left_mm, STYLE_VALUE_MM, true, CAUTION);
    for (size_t i = 0; i < SETTING_COUNT && kept->sheets != 1; i++) {
        place(plan, SETTINGS[i], kept);
    }
    if (kept->sheets != 1) {
        place(plan, SETTINGS[SETTING_SEVERAL], kept);
    }
    for (uint32_t i = 0; i < kept->sheets; i++) {
        sheet_add(plan, SHEET_CARD, i, CARD_PART,
                  i == 0 ? "card" : arena_format(plan->arena, "card-%u", i + 1), "Emergency card",
                  "diagram");
    }
}

void card_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    const CardPlan *kept = plan->kept[SHEET_CARD];
    Pen pen = {.list = list, .arena = list->arena, .fonts = list->fonts, .setting = kept->setting};
    draw_layer(list, LAYER_TAG);
    draw_text_fit(list, field.left_mm, field.top_mm + STYLE_TITLE_MM + 2.0,
                  (DrawTextStyle){.height_mm = STYLE_TITLE_MM, .bold = true},
                  "EMERGENCY CARD: electrical supply", field.right_mm - field.left_mm);
    for (size_t i = kept->first[sheet->index]; i < kept->first[sheet->index + 1]; i++) {
        write_block(&pen, plan->view, &kept->blocks[i]);
    }
    draw_layer(list, LAYER_NOTE);
    write_lines(&pen, field.left_mm, field.bottom_mm - kept->caution_mm,
                field.right_mm - field.left_mm, STYLE_VALUE_MM, true, CAUTION);
}
