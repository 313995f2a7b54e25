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

void report_values(Finding *finding, double value, double limit, const char *unit,
                   const char *source) {
    finding->value = value;
    finding->limit = limit;
    finding->unit = unit;
    if (source != NULL) {
        finding->source = source;
    }
}
