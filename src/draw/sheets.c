#include "draw/sheets.h"

#include <string.h>

#include "base/text.h"

static const struct {
    SheetPlanner plan;
    SheetDrawer draw;
} KINDS[] = {
#define SHEET_KIND_ROW(id, plan, draw) {plan, draw},
    SHEET_KINDS(SHEET_KIND_ROW)
#undef SHEET_KIND_ROW
};

uint32_t sheet_add(SheetPlan *plan, SheetKindId kind, uint32_t index, const char *part,
                   const char *name, const char *title, const char *scale) {
    Sheet *sheet = ARENA_PUSH(plan->arena, plan->sheets, plan->count, plan->capacity);
    *sheet = (Sheet){
        .name = name,
        .title = title,
        .begins = title,
        .part = part,
        .scale = scale,
        .kind = (uint32_t)kind,
        .index = index,
    };
    return (uint32_t)plan->count - 1;
}

static void plan_all(SheetPlan *plan) {
    plan->count = 0;
    for (int kind = 0; kind < SHEET_KIND_COUNT; kind++) {
        KINDS[kind].plan(plan);
    }
}

void sheets_plan(Arena *arena, DrawFonts *fonts, const DrawView *view, SheetPlan *plan,
                 Findings *findings) {
    *plan = (SheetPlan){
        .arena = arena, .fonts = fonts, .view = view, .findings = findings, .contents_pages = 1};
    /* Sheets refer to each other by number, so what stands before them must be known first. Only a
     * book with hundreds of sheets needs a second page of contents, and is planned again. */
    size_t told = findings->count;
    plan_all(plan);
    size_t needed = contents_pages(plan);
    if (needed > plan->contents_pages) {
        plan->contents_pages = needed;
        findings->count = told;
        plan_all(plan);
    }
}

void sheet_draw(const SheetPlan *plan, uint32_t sheet, Arena *arena, bool alone, DrawList *list) {
    const DrawView *view = plan->view;
    const Sheet *what = &plan->sheets[sheet];
    const JobRow *job = &view->set->job.rows[0];
    SheetHead head = {
        .name = what->name,
        .title = what->title,
        .job = job->job,
        .job_title = job->title,
        .revision = job->revision,
        .hash = view->hash,
        .date = job->date,
        .scale = what->scale,
        .units = draw_units_name(view->units),
        .version = view->version,
        .number = alone ? 0 : sheet + 1,
        .of = (uint32_t)plan->count,
    };
    draw_start(list, arena, plan->fonts, paper_width_mm(view->paper), paper_height_mm(view->paper));
    DrawBox field = sheet_frame(list, &head);
    draw_anchor(list, what->name, field.left_mm, field.top_mm);
    KINDS[what->kind].draw(plan, what, field, list);
}

void sheet_tell_glyphs(const DrawList *list, Findings *findings) {
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->kind != DRAW_TEXT || item->shaped->unknown == 0) {
            continue;
        }
        bool told = false;
        for (size_t j = 0; j < findings->count && !told; j++) {
            told = findings->rows[j].rule == RULE_DRAW_GLYPH &&
                   strstr(findings->rows[j].message, item->text) != NULL;
        }
        if (!told) {
            finding_report(findings, RULE_DRAW_GLYPH,
                           item->table == TABLE_COUNT ? "" : table_schema(item->table)->name,
                           item->key, "", "no typeface here has %zu of the letters of \"%s\"",
                           item->shaped->unknown, item->text);
        }
    }
}

uint32_t sheet_find(const SheetPlan *plan, const char *name) {
    for (size_t i = 0; i < plan->count; i++) {
        if (strcmp(plan->sheets[i].name, name) == 0) {
            return (uint32_t)i;
        }
    }
    size_t length = strlen(name);
    for (size_t i = 0; i < plan->count; i++) {
        if (strncmp(plan->sheets[i].name, name, length) == 0 &&
            plan->sheets[i].name[length] == '-') {
            return (uint32_t)i;
        }
    }
    return ID_NONE;
}

const char *sheet_nearest(const SheetPlan *plan, const char *name) {
    Arena scratch = {0};
    const char **names = ARENA_ARRAY(&scratch, const char *, plan->count);
    for (size_t i = 0; i < plan->count; i++) {
        names[i] = plan->sheets[i].name;
    }
    const char *nearest = text_nearest(name, names, plan->count);
    arena_free(&scratch);
    return nearest;
}

const char *sheet_place_text(const SheetPlan *plan, Arena *arena, SheetPlace place) {
    if (place.sheet == ID_NONE) {
        return "";
    }
    char zone[SHEET_ZONE_TEXT];
    return arena_format(arena, "page %u %s", place.sheet + 1,
                        sheet_zone(plan->view->paper, place.at.x_mm, place.at.y_mm, zone));
}
