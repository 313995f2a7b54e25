#include "wiring/report.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

Finding *wiring_report(Findings *findings, const Model *model, RuleId rule, TableId table,
                       uint32_t row, const char *column, const char *format, ...) {
    char text[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    const TableSet *set = model->set;
    const void *bytes = table_row(set, table, row);
    const RowPlace *place = bytes;
    Finding *finding = finding_add(findings, rule);
    finding->table = table_schema(table)->name;
    finding->key = table_row_key(findings->arena, table, bytes);
    finding->column = column;
    if (place->line > 0 && place->file < set->file_count) {
        finding->file = set->files[place->file];
        finding->line = place->line;
    }
    finding->message = arena_text(findings->arena, text, strlen(text));
    return finding;
}

void wiring_hint(Findings *findings, Finding *finding, const char *format, ...) {
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    finding->hint = arena_text(findings->arena, text, strlen(text));
}

void wiring_values(Finding *finding, double value, double limit, const char *unit,
                   const char *source) {
    finding->value = value;
    finding->limit = limit;
    finding->unit = unit;
    if (source != NULL) {
        finding->source = source;
    }
}
