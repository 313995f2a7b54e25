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
    plan->front += kind >= SHEET_COVER ? 1U : 0U;
    return (uint32_t)plan->count - 1;
}

void sheets_start(Arena *arena, DrawFonts *fonts, const DrawView *view, SheetPlan *plan,
                  Findings *findings) {
    *plan = (SheetPlan){.arena = arena, .fonts = fonts, .view = view, .findings = findings};
}

void sheets_plan_to(SheetPlan *plan, SheetKindId last) {
    for (; plan->planned <= (int)last; plan->planned++) {
        KINDS[plan->planned].plan(plan);
    }
}

void sheets_plan(Arena *arena, DrawFonts *fonts, const DrawView *view, SheetPlan *plan,
                 Findings *findings) {
    sheets_start(arena, fonts, view, plan, findings);
    sheets_plan_to(plan, SHEET_CONTENTS);
}

uint32_t sheet_at(const SheetPlan *plan, uint32_t position) {
    size_t body = plan->count - plan->front;
    return position < plan->front ? (uint32_t)body + position : position - (uint32_t)plan->front;
}

const char *sheet_number(const SheetPlan *plan, Arena *arena, uint32_t sheet) {
    size_t body = plan->count - plan->front;
    return sheet < body ? arena_format(arena, "%u", sheet + 1)
                        : text_roman(arena, sheet - (uint32_t)body + 1);
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
        .number = alone ? "" : sheet_number(plan, arena, sheet),
        .of = sheet < plan->count - plan->front ? (uint32_t)(plan->count - plan->front) : 0,
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
