#include "model/report.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static Finding *add(Findings *findings, const Model *model, RuleId rule, TableId table,
                    uint32_t row, const char *column, const char *format, va_list arguments)
    __attribute__((format(printf, 7, 0)));

static Finding *add(Findings *findings, const Model *model, RuleId rule, TableId table,
                    uint32_t row, const char *column, const char *format, va_list arguments) {
    char text[1024];
    vsnprintf(text, sizeof text, format, arguments);
    Finding *finding = finding_add(findings, rule);
    const void *bytes = table_row(model->set, table, row);
    const RowPlace *place = bytes;
    finding->table = table_schema(table)->name;
    finding->key = table_row_key(findings->arena, table, bytes);
    finding->column = column;
    if (place->line > 0 && place->file < model->set->file_count) {
        finding->file = model->set->files[place->file];
        finding->line = place->line;
    }
    finding->message = arena_text(findings->arena, text, strlen(text));
    return finding;
}

Finding *report_row(Findings *findings, const Model *model, RuleId rule, TableId table,
                    uint32_t row, const char *column, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    Finding *finding = add(findings, model, rule, table, row, column, format, arguments);
    va_end(arguments);
    return finding;
}

TableId report_kind_table(OwnerKind kind) {
    switch (kind) {
    case OWNER_PROTECTION:
        return TABLE_protection;
    case OWNER_SWITCHGEAR:
        return TABLE_switchgear;
    case OWNER_BAR:
        return TABLE_bus;
    case OWNER_GROUND:
        return TABLE_ground_point;
    case OWNER_ANTENNA:
        return TABLE_antenna;
    case OWNER_UNIT:
    default:
        return TABLE_unit;
    }
}

TableId report_owner_table(const Model *model, OwnerId owner) {
    return report_kind_table(model->owners[owner].kind);
}

Finding *report_owner(Findings *findings, const Model *model, RuleId rule, OwnerId owner,
                      const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    Finding *finding = add(findings, model, rule, report_owner_table(model, owner),
                           model->owners[owner].row, "", format, arguments);
    va_end(arguments);
    return finding;
}

void report_hint(Findings *findings, Finding *finding, const char *format, ...) {
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    finding->hint = arena_text(findings->arena, text, strlen(text));
}

/* Nearest of a tag among owners and buses, NULL. */
static const char *nearest_tag(Arena *scratch, const Model *model, const char *tag) {
    enum { LOOK_AT_MOST = 4000 }; /* a distance each: enough for any aircraft, bounded for a test */
    size_t buses = model->set->bus.count;
    size_t count = model->owner_count + buses;
    count = count < LOOK_AT_MOST ? count : LOOK_AT_MOST;
    const char **tags = ARENA_ARRAY(scratch, const char *, count);
    for (size_t i = 0; i < count; i++) {
        tags[i] = i < buses ? model->set->bus.rows[i].bus : model->owners[i - buses].tag;
    }
    return text_nearest(tag, tags, count);
}

bool report_meant(Findings *findings, Finding *finding, const Model *model, const char *end) {
    enum { LIST_AT_MOST = 12 };
    Arena scratch = {0};
    const char *point = strchr(end, '.');
    const char *tag =
        arena_text(&scratch, end, point == NULL ? strlen(end) : (size_t)(point - end));
    OwnerId owner = model_owner(model, tag);
    if (owner == ID_NONE) {
        const char *nearest = nearest_tag(&scratch, model, tag);
        if (nearest != NULL) {
            report_hint(findings, finding, "did you mean %s%s?", nearest,
                        point == NULL ? "" : point);
        }
    } else if (point != NULL) {
        const ModelOwner *row = &model->owners[owner];
        const char **ends = ARENA_ARRAY(&scratch, const char *, row->terminal_count);
        Buffer list = {.arena = &scratch};
        for (uint32_t i = 0; i < row->terminal_count; i++) {
            ends[i] = model->terminals[row->terminal_first + i].end;
            if (i < LIST_AT_MOST) {
                buffer_format(&list, "%s%s", i == 0 ? "" : " ", ends[i]);
            }
        }
        const char *nearest =
            point[1] == '\0' ? NULL : text_nearest(end, ends, row->terminal_count);
        if (nearest != NULL) {
            report_hint(findings, finding, "did you mean %s?", nearest);
        } else if (row->terminal_count > 0) {
            report_hint(findings, finding, "there are %s%s", list.bytes,
                        row->terminal_count > LIST_AT_MOST ? " and more" : "");
        }
    }
    arena_free(&scratch);
    return *finding->hint != '\0';
}

void report_values(Finding *finding, double value, double limit, const char *unit,
                   const char *source) {
    finding->value = value;
    finding->limit = limit;
    finding->unit = unit;
    if (source != NULL) {
        finding->source = source;
    }
}
