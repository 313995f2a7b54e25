/* Table of contents: every sheet with its page, in columns, each line a link. */
#include <string.h>

#include "draw/sheets.h"

#define LINE_MM 5.0
#define TOP_MM 14.0     /* below the title */
#define COLUMN_MM 118.0 /* at least */
#define GAP_MM 8.0
#define PAGE_MM 10.0 /* room of a page number */

typedef struct Raster {
    size_t columns;
    size_t lines; /* of a column */
    double column_mm;
} Raster;

static Raster raster_of(DrawBox field) {
    double width_mm = field.right_mm - field.left_mm;
    size_t columns = (size_t)((width_mm + GAP_MM) / (COLUMN_MM + GAP_MM));
    columns = columns < 1 ? 1 : columns;
    return (Raster){
        .columns = columns,
        .lines = (size_t)((field.bottom_mm - field.top_mm - TOP_MM) / LINE_MM),
        .column_mm = (width_mm - GAP_MM * (double)(columns - 1)) / (double)columns,
    };
}

static void draw_part(DrawList *list, const char *part, double left_mm, double base_mm,
                      double room_mm) {
    draw_text_fit(list, left_mm, base_mm + 0.4,
                  (DrawTextStyle){.height_mm = STYLE_VALUE_MM, .bold = true}, part, room_mm);
}

/* A line of the list: what begins on a sheet, and its page. */
static void draw_entry(DrawList *list, const Sheet *what, const char *page, const char *title,
                       double left_mm, double base_mm, double column_mm) {
    DrawTextStyle style = {.height_mm = STYLE_NOTE_MM};
    double indent_mm = *what->part == '\0' ? 0.0 : 4.0;
    draw_text_fit(list, left_mm + indent_mm, base_mm, style, title,
                  column_mm - PAGE_MM - indent_mm);
    style.align = ALIGN_RIGHT;
    draw_text(list, left_mm + column_mm, base_mm, style, page);
    draw_link(list,
              (DrawBox){left_mm, base_mm - STYLE_VALUE_MM, left_mm + column_mm, base_mm + 1.0},
              what->name);
}

/* The next of the parts of `begins`, separated by "; "; NULL at the end. */
static const char *next_title(Arena *arena, const char **at) {
    if (**at == '\0') {
        return NULL;
    }
    const char *end = strstr(*at, "; ");
    size_t length = end == NULL ? strlen(*at) : (size_t)(end - *at);
    const char *title = arena_text(arena, *at, length);
    *at += end == NULL ? length : length + 2;
    return title;
}

typedef struct Cursor {
    DrawList *list;
    const Raster *raster;
    DrawBox field;
    uint32_t page; /* of the contents, that is drawn */
    size_t line;
} Cursor;

/* Takes a line; true when it is on the page that is drawn, and then where. */
static bool take_line(Cursor *cursor, double *left_mm, double *base_mm) {
    size_t page = cursor->raster->columns * cursor->raster->lines;
    size_t here = cursor->line % page;
    size_t column = here / cursor->raster->lines;
    bool shown = cursor->line / page == cursor->page;
    cursor->line++;
    *left_mm = cursor->field.left_mm + (double)column * (cursor->raster->column_mm + GAP_MM);
    *base_mm = cursor->field.top_mm + TOP_MM + (double)(here % cursor->raster->lines) * LINE_MM +
               STYLE_VALUE_MM;
    return shown;
}

/* Goes through all lines; draws those of the cursor's page. */
static void walk(const SheetPlan *plan, Arena *arena, Cursor *cursor) {
    DrawList *list = cursor->list;
    const char *part = "";
    double left_mm;
    double base_mm;
    for (uint32_t i = 0; i < plan->count; i++) {
        uint32_t sheet = sheet_at(plan, i);
        const Sheet *what = &plan->sheets[sheet];
        if (strcmp(part, what->part) != 0 && *what->part != '\0') {
            part = what->part;
            if (cursor->line % cursor->raster->lines == cursor->raster->lines - 1) {
                cursor->line++; /* a part's line is not the last of a column */
            }
            if (take_line(cursor, &left_mm, &base_mm)) {
                draw_part(list, part, left_mm, base_mm, cursor->raster->column_mm);
            }
        }
        const char *at = what->begins;
        for (const char *title = next_title(arena, &at); title != NULL;
             title = next_title(arena, &at)) {
            if (take_line(cursor, &left_mm, &base_mm)) {
                draw_entry(list, what, sheet_number(plan, arena, sheet), title, left_mm, base_mm,
                           cursor->raster->column_mm);
            }
        }
    }
}

/* Lines of a whole book whose contents have one page: further pages have no lines of their own. */
static size_t page_count(const SheetPlan *plan) {
    Arena scratch = {0};
    Raster raster = raster_of(sheet_field(plan->view->paper));
    Cursor cursor = {.raster = &raster, .page = UINT32_MAX};
    walk(plan, &scratch, &cursor);
    arena_free(&scratch);
    size_t page = raster.columns * raster.lines;
    return (cursor.line + page - 1) / page;
}

void contents_plan(SheetPlan *plan) {
    sheet_add(plan, SHEET_CONTENTS, 0, "", "contents", "Contents", "");
    size_t pages = page_count(plan);
    for (uint32_t i = 1; i < pages; i++) {
        uint32_t sheet = sheet_add(plan, SHEET_CONTENTS, i, "",
                                   arena_format(plan->arena, "contents-%u", i + 1), "Contents", "");
        plan->sheets[sheet].begins = "";
    }
}

void contents_draw(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list) {
    draw_layer(list, LAYER_TAG);
    draw_text(list, field.left_mm, field.top_mm + STYLE_TITLE_MM + 1.0,
              (DrawTextStyle){.height_mm = STYLE_TITLE_MM, .bold = true}, "Contents");
    draw_layer(list, LAYER_NOTE);
    Raster raster = raster_of(field);
    Cursor cursor = {list, &raster, field, sheet->index, 0};
    walk(plan, list->arena, &cursor);
}
