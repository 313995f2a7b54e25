/* Canonical CSV (RFC 4180, LF instead of CRLF). */
#include <string.h>

#include "table/value.h"
#include "table/write.h"

void table_write_cell(Buffer *out, const char *text) {
    size_t length = strlen(text);
    bool edges = length > 0 && (text[0] == ' ' || text[length - 1] == ' ');
    if (!edges && strpbrk(text, ",\"\n\r") == NULL) {
        buffer_add(out, text, length);
        return;
    }
    buffer_add(out, "\"", 1);
    for (const char *quote = strchr(text, '"'); quote != NULL; quote = strchr(text, '"')) {
        buffer_add(out, text, (size_t)(quote - text) + 1);
        buffer_add(out, "\"", 1);
        text = quote + 1;
    }
    buffer_text(out, text);
    buffer_add(out, "\"", 1);
}

void table_write_csv(Buffer *out, const TableSet *set, TableId table) {
    const TableSchema *schema = table_schema(table);
    Arena scratch = {0};
    for (size_t c = 0; c < schema->column_count; c++) {
        buffer_text(out, c == 0 ? "" : ",");
        buffer_text(out, schema->columns[c].name);
    }
    buffer_add(out, "\n", 1);
    for (size_t i = 0; i < set->any[table].count; i++) {
        const char *row = table_row(set, table, i);
        for (size_t c = 0; c < schema->column_count; c++) {
            const ColumnSchema *column = &schema->columns[c];
            if (c > 0) {
                buffer_add(out, ",", 1);
            }
            table_write_cell(out, value_text(&scratch, column, row + column->offset));
        }
        buffer_add(out, "\n", 1);
    }
    arena_free(&scratch);
}
