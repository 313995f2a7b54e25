/* JSON (RFC 8259), one row a line, so that a line-based comparison shows rows. */
#include <math.h>
#include <string.h>

#include "table/utf8.h"
#include "table/value.h"
#include "table/write.h"

static void add_string(Buffer *out, const char *text) {
    buffer_add(out, "\"", 1);
    for (;;) {
        size_t plain = strcspn(text, "\"\\\n\r\t");
        buffer_add(out, text, plain);
        text += plain;
        if (*text == '\0') {
            break;
        }
        const char escape[] = {'\\', *text == '\n'   ? 'n'
                                     : *text == '\r' ? 'r'
                                     : *text == '\t' ? 't'
                                                     : *text};
        buffer_add(out, escape, sizeof escape);
        text++;
    }
    buffer_add(out, "\"", 1);
}

static void add_value(Buffer *out, Arena *scratch, const ColumnSchema *column, const char *field) {
    const char *text = value_text(scratch, column, field);
    if (*text == '\0') {
        buffer_text(out, "null");
        return;
    }
    switch (column->kind) {
    case COLUMN_TEXT:
    case COLUMN_REF:
    case COLUMN_LIST:
    case COLUMN_WORD:
    case COLUMN_AWG: /* "2/0" is no number, so no gauge is one */
        add_string(out, utf8_safe(scratch, text));
        break;
    case COLUMN_REAL:
    case COLUMN_INT:
        buffer_text(out, text);
        break;
    case COLUMN_FLAG:
        buffer_text(out, *text == 'y' ? "true" : "false");
        break;
    }
}

void table_write_json(Buffer *out, const TableSet *set, TableId table) {
    const TableSchema *schema = table_schema(table);
    Arena scratch = {0};
    buffer_text(out, "[");
    for (size_t i = 0; i < set->any[table].count; i++) {
        const char *row = table_row(set, table, i);
        buffer_text(out, i == 0 ? "\n{" : ",\n{");
        for (size_t c = 0; c < schema->column_count; c++) {
            const ColumnSchema *column = &schema->columns[c];
            buffer_text(out, c == 0 ? "\"" : ",\"");
            buffer_text(out, column->name);
            buffer_text(out, "\":");
            add_value(out, &scratch, column, row + column->offset);
        }
        buffer_text(out, "}");
    }
    buffer_text(out, "\n]\n");
    arena_free(&scratch);
}
