#include "draw/label.h"

#include <math.h>
#include <qrencode.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

#define MARGIN_MM 0.7       /* between the edge of a label and its text */
#define DESCENT_MM 0.7      /* what reaches below the line */
#define LINE_GAP_MM 1.3     /* between two lines */
#define POINTER_MM 2.0      /* length of the triangle at the contact's end */
#define QUIET_MODULES 4     /* light modules around a code (ISO/IEC 18004) */
#define MODULE_MOST_MM 0.33 /* larger reads no better from a hand's breadth */
#define TEXT_LEAST_MM 14.0  /* room for text beside a code, else no code */
#define SHEET_LINE_MM 3.8
#define SHEET_EDGE_MM 5.0 /* printers leave this much of a sheet blank */
#define LINES_MOST 6

/* --- planning -----------------------------------------------------------------------------------
 */

static const LabelStockRow *find_stock(const DrawView *view, const char *name) {
    const TableSet *set = view->set;
    for (size_t i = 0; i < set->label_stock.count; i++) {
        const LabelStockRow *row = &set->label_stock.rows[i];
        if (name == NULL ? strcmp(row->kind, "sheet") == 0 : strcmp(row->stock, name) == 0) {
            return row;
        }
    }
    return NULL;
}

static const char *no_stock(Arena *arena, const DrawView *view, const char *name) {
    const TableSet *set = view->set;
    size_t count = set->label_stock.count;
    const char **names = ARENA_ARRAY(arena, const char *, count);
    for (size_t i = 0; i < count; i++) {
        names[i] = set->label_stock.rows[i].stock;
    }
    Buffer out = {.arena = arena};
    if (name == NULL) {
        buffer_text(&out, "the library has no sheet of labels");
    } else {
        const char *nearest = text_nearest(name, names, count);
        buffer_format(&out, "no label stock is called %s%s%s", name,
                      nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
    }
    for (size_t i = 0; i < count; i++) {
        buffer_format(&out, "%s %s", i == 0 ? "; there are" : ",", names[i]);
    }
    return out.bytes;
}

static bool is_sheet(const LabelStockRow *stock) {
    return strcmp(stock->kind, "sheet") == 0;
}

/* Blank gaps and margins count as none. */
static double or_none(double value_mm) {
    return isfinite(value_mm) ? value_mm : 0.0;
}

static bool has_sizes(const LabelStockRow *stock) {
    bool label = stock->label_width_mm > 0.0 && stock->label_height_mm > 0.0;
    return label &&
           (!is_sheet(stock) || (stock->page_width_mm > 0.0 && stock->page_height_mm > 0.0 &&
                                 stock->columns > 0 && stock->rows > 0));
}

/* Connectors last; else by key and place. */
static int compare_labels(const void *left, const void *right) {
    const LabelRow *a = *(const LabelRow *const *)left;
    const LabelRow *b = *(const LabelRow *const *)right;
    bool last_a = strcmp(a->kind, "connector") == 0;
    bool last_b = strcmp(b->kind, "connector") == 0;
    if (last_a != last_b) {
        return last_a ? 1 : -1;
    }
    return table_row_compare(TABLE_label, a, b);
}

bool label_plan(Arena *arena, DrawFonts *fonts, const DrawView *view, const char *stock_name,
                LabelPlan *plan, const char **problem) {
    const LabelStockRow *stock = find_stock(view, stock_name);
    if (stock == NULL) {
        *problem = no_stock(arena, view, stock_name);
        return false;
    }
    if (!has_sizes(stock)) {
        *problem = arena_format(arena,
                                "label stock %s lacks sizes: a label needs width and height, a "
                                "sheet also its own, and columns and rows",
                                stock->stock);
        return false;
    }
    const TableSet *set = view->set;
    *plan = (LabelPlan){
        .view = view,
        .fonts = fonts,
        .stock = stock,
        .labels = ARENA_ARRAY(arena, const LabelRow *, set->label.count),
        .per_page = is_sheet(stock) ? (uint32_t)stock->columns * (uint32_t)stock->rows : 1,
        .page_width_mm = is_sheet(stock) ? stock->page_width_mm
                                         : stock->label_width_mm + or_none(stock->gap_x_mm),
        .page_height_mm = is_sheet(stock) ? stock->page_height_mm : stock->label_height_mm,
    };
    for (size_t i = 0; i < set->label.count; i++) {
        const LabelRow *row = &set->label.rows[i];
        if (*stock->sleeve == '\0' || strcmp(stock->sleeve, row->sleeve) == 0) {
            plan->labels[plan->label_count++] = row;
        }
    }
    if (plan->label_count > 1) {
        qsort(plan->labels, plan->label_count, sizeof *plan->labels, compare_labels);
    }
    plan->page_count = (uint32_t)((plan->label_count + plan->per_page - 1) / plan->per_page);
    return true;
}

const char *label_page_title(const LabelPlan *plan, Arena *arena, uint32_t page) {
    return arena_format(arena, "labels, page %u of %u", page + 1, plan->page_count);
}

/* --- square code --------------------------------------------------------------------------------
 */

/* Dark modules as rectangles: runs along a line, lengthened downwards over lines with the same run.
 */
static void draw_modules(DrawList *list, QRcode *code, double left_mm, double top_mm,
                         double module_mm) {
    int width = code->width;
    bool *done = ARENA_ARRAY(list->arena, bool, (size_t)(width * width));
    for (int y = 0; y < width; y++) {
        for (int x = 0; x < width; x++) {
            if ((code->data[y * width + x] & 1) == 0 || done[y * width + x]) {
                continue;
            }
            int right = x;
            while (right < width && (code->data[y * width + right] & 1) != 0 &&
                   !done[y * width + right]) {
                right++;
            }
            int bottom = y + 1;
            for (bool same = true; bottom < width && same; bottom += same ? 1 : 0) {
                for (int k = x; k < right && same; k++) {
                    same = (code->data[bottom * width + k] & 1) != 0 && !done[bottom * width + k];
                }
            }
            for (int line = y; line < bottom; line++) {
                memset(done + line * width + x, true, (size_t)(right - x) * sizeof *done);
            }
            draw_fill_rectangle(list, (DrawBox){left_mm + x * module_mm, top_mm + y * module_mm,
                                                left_mm + right * module_mm,
                                                top_mm + bottom * module_mm});
        }
    }
}

/* The strongest code whose modules are large enough: 15 percent may be lost, else 7. */
static QRcode *encode(const char *text, double room_mm, double *module_mm) {
    static const QRecLevel LEVELS[] = {QR_ECLEVEL_M, QR_ECLEVEL_L};
    const double LEAST_MODULES = 21.0 + 2.0 * QUIET_MODULES; /* of the smallest code there is */
    if (room_mm < LEAST_MODULES * LABEL_MODULE_MM) {
        return NULL;
    }
    for (size_t i = 0; i < sizeof LEVELS / sizeof *LEVELS; i++) {
        QRcode *code = QRcode_encodeString(text, 0, LEVELS[i], QR_MODE_8, 1);
        if (code == NULL) {
            continue; /* too long */
        }
        *module_mm = fmin(MODULE_MOST_MM, room_mm / (code->width + 2 * QUIET_MODULES));
        if (*module_mm >= LABEL_MODULE_MM) {
            return code;
        }
        QRcode_free(code);
    }
    return NULL;
}

static void draw_code(DrawList *list, DrawBox box, QRcode *code, double module_mm) {
    double side_mm = code->width * module_mm;
    draw_layer(list, LAYER_CODE);
    draw_modules(list, code, (box.left_mm + box.right_mm - side_mm) / 2.0,
                 (box.top_mm + box.bottom_mm - side_mm) / 2.0, module_mm);
}

bool label_code_draw(DrawList *list, DrawBox box, const char *text) {
    double room_mm = fmin(box.right_mm - box.left_mm, box.bottom_mm - box.top_mm);
    double module_mm = 0.0;
    QRcode *code = encode(text, room_mm, &module_mm);
    if (code != NULL) {
        draw_code(list, box, code, module_mm);
        QRcode_free(code);
    }
    return code != NULL;
}

/* --- labels -------------------------------------------------------------------------------------
 */

/* Pieces of text that are never cut in two, and how much each wants a line of its own: lines are
 * first begun wherever one wants it, then only where one wants it most, then nowhere. */
typedef enum FieldWish { WISH_NONE, WISH_SOME, WISH_MOST, WISH_COUNT } FieldWish;

typedef struct Field {
    const char *text;
    FieldWish new_line;
} Field;

typedef struct Fields {
    Field *items;
    size_t count;
    size_t capacity;
} Fields;

static void add_words(Arena *arena, Fields *fields, const char *text, size_t most,
                      FieldWish others) {
    const char *word;
    size_t length;
    for (size_t i = 0; i < most && text_next_word(&text, &word, &length); i++) {
        *ARENA_PUSH(arena, fields->items, fields->count, fields->capacity) =
            (Field){arena_text(arena, word, length), i == 0 ? WISH_MOST : others};
    }
}

static void add_whole(Arena *arena, Fields *fields, const char *text) {
    if (*text != '\0') {
        *ARENA_PUSH(arena, fields->items, fields->count, fields->capacity) =
            (Field){text, WISH_MOST};
    }
}

/* What a label says, from everything (0) to the least (LEVELS - 1). A wire keeps its number and
 * the end it is on; a connector its name. */
enum { LEVELS = 4 };

static Fields fields_of(Arena *arena, const LabelRow *row, int level) {
    Fields fields = {0};
    bool wire = strcmp(row->kind, "wire") == 0;
    add_words(arena, &fields, row->line_1, level == 0 || level == 2 ? SIZE_MAX : 1,
              wire ? WISH_SOME : WISH_NONE);
    if (strcmp(row->kind, "connector") == 0) {
        add_words(arena, &fields, level < 3 ? row->line_2 : "", SIZE_MAX, WISH_NONE);
        add_words(arena, &fields, level < 2 ? row->line_3 : "", SIZE_MAX, WISH_NONE);
    } else {
        add_whole(arena, &fields, row->line_2);
        add_whole(arena, &fields, level < 2 ? row->line_3 : "");
    }
    return fields;
}

typedef struct Lines {
    const char *texts[LINES_MOST];
    size_t count;
} Lines;

static double line_mm(DrawFonts *fonts, const char *text, size_t line) {
    return fonts_width_mm(fonts, text, STYLE_NOTE_MM, line == 0);
}

/* Fills at most `most` lines of that width, a new one at every field that wants it as much as
 * `wish`. False when there is too much. */
static bool fill_lines(Arena *arena, DrawFonts *fonts, const Fields *fields, size_t most,
                       double width_mm, FieldWish wish, Lines *lines) {
    lines->count = 0;
    for (size_t i = 0; i < fields->count; i++) {
        const Field *field = &fields->items[i];
        bool go_on = lines->count > 0 && field->new_line < wish;
        const char *joined =
            go_on ? arena_format(arena, "%s %s", lines->texts[lines->count - 1], field->text) : "";
        if (go_on && line_mm(fonts, joined, lines->count - 1) <= width_mm) {
            lines->texts[lines->count - 1] = joined;
        } else if (lines->count < most && line_mm(fonts, field->text, lines->count) <= width_mm) {
            lines->texts[lines->count++] = field->text;
        } else {
            return false;
        }
    }
    return true;
}

/* The most that fits uncut; else false, and number and end, which are then shortened in drawing. */
static bool set_lines(Arena *arena, DrawFonts *fonts, const LabelRow *row, double width_mm,
                      double height_mm, Lines *lines) {
    double room_mm = height_mm - 2.0 * MARGIN_MM + LINE_GAP_MM;
    double fit = floor(room_mm / (STYLE_NOTE_MM + LINE_GAP_MM) + 1e-9);
    size_t most = fit < 1.0 ? 1 : fit > LINES_MOST ? LINES_MOST : (size_t)fit;
    for (int level = 0; level < LEVELS; level++) {
        Fields fields = fields_of(arena, row, level);
        for (int wish = WISH_SOME; wish <= WISH_COUNT; wish++) {
            if (fill_lines(arena, fonts, &fields, most, width_mm, (FieldWish)wish, lines)) {
                return true;
            }
        }
    }
    Fields least = fields_of(arena, row, LEVELS - 1);
    lines->count = 0;
    for (size_t i = 0; i < least.count && i < most; i++) {
        lines->texts[lines->count++] = least.items[i].text;
    }
    return false;
}

static void draw_pointer(DrawList *list, DrawBox box) {
    double middle_mm = (box.top_mm + box.bottom_mm) / 2.0;
    double half_mm = fmin(1.5, (box.bottom_mm - box.top_mm) / 2.0 - 0.3);
    DrawPoint points[] = {{box.left_mm + MARGIN_MM, middle_mm},
                          {box.left_mm + MARGIN_MM + POINTER_MM - 0.5, middle_mm - half_mm},
                          {box.left_mm + MARGIN_MM + POINTER_MM - 0.5, middle_mm + half_mm}};
    draw_layer(list, LAYER_NOTE);
    draw_fill(list, points, 3);
}

static void draw_label(DrawList *list, const LabelRow *row, DrawBox box) {
    double height_mm = box.bottom_mm - box.top_mm;
    draw_row(list, TABLE_label, table_row_key(list->arena, TABLE_label, row));
    bool wire = strcmp(row->kind, "connector") != 0;
    double left_mm = box.left_mm + MARGIN_MM;
    if (wire) {
        draw_pointer(list, box);
        left_mm += POINTER_MM;
    }
    double text_mm = box.right_mm - left_mm - MARGIN_MM;
    double module_mm = 0.0;
    QRcode *code = encode(row->code, height_mm, &module_mm);
    double code_mm = code == NULL ? 0.0 : (code->width + 2 * QUIET_MODULES) * module_mm;
    double beside_mm = text_mm + MARGIN_MM - code_mm;
    Lines lines;
    /* Text that a person can read comes before a code. */
    if (code != NULL && beside_mm >= TEXT_LEAST_MM &&
        set_lines(list->arena, list->fonts, row, beside_mm, height_mm, &lines)) {
        text_mm = beside_mm;
        draw_code(list, (DrawBox){box.right_mm - code_mm, box.top_mm, box.right_mm, box.bottom_mm},
                  code, module_mm);
    } else {
        set_lines(list->arena, list->fonts, row, text_mm, height_mm, &lines);
    }
    QRcode_free(code);
    double sum_mm = (STYLE_NOTE_MM + LINE_GAP_MM) * (double)lines.count - LINE_GAP_MM;
    bool large = lines.count > 0 &&
                 height_mm - 2.0 * MARGIN_MM >= sum_mm + STYLE_VALUE_MM - STYLE_NOTE_MM + 1.0 &&
                 fonts_width_mm(list->fonts, lines.texts[0], STYLE_VALUE_MM, true) <= text_mm;
    sum_mm += large ? STYLE_VALUE_MM - STYLE_NOTE_MM : 0.0;
    double y_mm = (box.top_mm + box.bottom_mm - sum_mm - DESCENT_MM) / 2.0;
    draw_layer(list, LAYER_TAG);
    for (size_t i = 0; i < lines.count; i++) {
        DrawTextStyle style = {.height_mm = large && i == 0 ? STYLE_VALUE_MM : STYLE_NOTE_MM,
                               .bold = i == 0};
        y_mm += style.height_mm;
        draw_text_fit(list, left_mm, y_mm, style, lines.texts[i], text_mm);
        y_mm += LINE_GAP_MM;
    }
    draw_row(list, TABLE_COUNT, "");
}

/* --- pages --------------------------------------------------------------------------------------
 */

/* Lines of small text in the blank edge of a sheet, as many as there is room for. */
static void draw_edge(DrawList *list, const LabelPlan *plan, double top_mm, double bottom_mm,
                      const char *text) {
    const char **lines;
    double left_mm = fmax(SHEET_EDGE_MM, or_none(plan->stock->left_mm));
    size_t count = fonts_wrap(list->fonts, list->arena, text, STYLE_NOTE_MM, false,
                              plan->page_width_mm - 2.0 * left_mm, &lines);
    double room_mm = bottom_mm - top_mm + LINE_GAP_MM;
    if (room_mm < SHEET_LINE_MM * (double)count) {
        return;
    }
    draw_layer(list, LAYER_NOTE);
    for (size_t i = 0; i < count; i++) {
        draw_text(list, left_mm, top_mm + STYLE_NOTE_MM + SHEET_LINE_MM * (double)i,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, lines[i]);
    }
}

static void draw_edges(DrawList *list, const LabelPlan *plan, uint32_t page) {
    const LabelStockRow *stock = plan->stock;
    const JobRow *job = &plan->view->set->job.rows[0];
    double top_mm = or_none(stock->top_mm);
    double end_mm = top_mm + stock->rows * stock->label_height_mm +
                    (stock->rows - 1) * or_none(stock->gap_y_mm);
    draw_edge(list, plan, SHEET_EDGE_MM - 2.0, top_mm - 0.8,
              arena_format(list->arena,
                           "%s %s, %s, %s. The text begins at the contact (triangle) and runs "
                           "towards the tail of the wire: label 75 mm from the contact.",
                           job->job, job->revision, label_page_title(plan, list->arena, page),
                           stock->stock));
    draw_edge(list, plan, end_mm + 0.8, plan->page_height_mm - SHEET_EDGE_MM + 2.0,
              sheet_caution());
}

void label_draw(const LabelPlan *plan, uint32_t page, Arena *arena, DrawList *list) {
    const LabelStockRow *stock = plan->stock;
    draw_start(list, arena, plan->fonts, plan->page_width_mm, plan->page_height_mm);
    if (is_sheet(stock)) {
        draw_edges(list, plan, page);
    }
    uint32_t columns = is_sheet(stock) ? (uint32_t)stock->columns : 1;
    size_t first = (size_t)page * plan->per_page;
    for (uint32_t i = 0; i < plan->per_page && first + i < plan->label_count; i++) {
        double left_mm = is_sheet(stock) ? or_none(stock->left_mm) : or_none(stock->gap_x_mm) / 2.0;
        double top_mm = is_sheet(stock) ? or_none(stock->top_mm) : 0.0;
        uint32_t row = i / columns;
        left_mm += (i % columns) * (stock->label_width_mm + or_none(stock->gap_x_mm));
        top_mm += row * (stock->label_height_mm + or_none(stock->gap_y_mm));
        draw_label(list, plan->labels[first + i],
                   (DrawBox){left_mm, top_mm, left_mm + stock->label_width_mm,
                             top_mm + stock->label_height_mm});
    }
}
