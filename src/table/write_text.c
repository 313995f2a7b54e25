/* Aligned columns. All cells are made first, so that every column gets the width it needs and a
 * column without any value is left out. */
#include <string.h>

#include "table/utf8.h"
#include "table/value.h"
#include "table/write.h"

enum { GAP = 2 }; /* blanks between columns */

static bool is_number(ColumnKind kind) {
    return kind == COLUMN_REAL || kind == COLUMN_INT || kind == COLUMN_AWG;
}

/* Text of a cell on one line. */
static const char *one_line(Arena *scratch, const char *text) {
    text = utf8_safe(scratch, text);
    if (strpbrk(text, "\n\r\t") == NULL) {
        return text;
    }
    char *copy = arena_text(scratch, text, strlen(text));
    for (char *c = copy; *c != '\0'; c++) {
        *c = *c == '\n' || *c == '\r' || *c == '\t' ? ' ' : *c;
    }
    return copy;
}

static void add_blanks(Buffer *out, size_t count) {
    static const char blanks[] = "                                ";
    while (count > 0) {
        size_t some = count < sizeof blanks - 1 ? count : sizeof blanks - 1;
        buffer_add(out, blanks, some);
        count -= some;
    }
}

/* One line of cells; blanks at its end are left out. */
static void add_line(Buffer *out, const TableSchema *schema, const char *const *cells,
                     const size_t *widths) {
    size_t owed = 0; /* blanks not written yet */
    bool first = true;
    for (size_t c = 0; c < schema->column_count; c++) {
        if (widths[c] == 0) {
            continue;
        }
        owed += first ? 0 : GAP;
        first = false;
        size_t pad = widths[c] - utf8_width(cells[c]);
        bool right = is_number(schema->columns[c].kind);
        owed += right ? pad : 0;
        if (*cells[c] != '\0') {
            add_blanks(out, owed);
            owed = 0;
            buffer_text(out, cells[c]);
        }
        owed += right ? 0 : pad;
    }
    buffer_add(out, "\n", 1);
}

void table_write_text(Buffer *out, const TableSet *set, TableId table) {
    const TableSchema *schema = table_schema(table);
    size_t columns = schema->column_count;
    size_t rows = set->any[table].count;
    Arena scratch = {0};
    const char **cells = ARENA_ARRAY(&scratch, const char *, (rows + 1) * columns);
    size_t *widths = ARENA_ARRAY(&scratch, size_t, columns);
    for (size_t c = 0; c < columns; c++) {
        const ColumnSchema *column = &schema->columns[c];
        cells[c] = column->name;
        for (size_t i = 0; i < rows; i++) {
            const char *row = table_row(set, table, i);
            const char *cell =
                one_line(&scratch, value_short_text(&scratch, column, row + column->offset));
            size_t width = utf8_width(cell);
            cells[(i + 1) * columns + c] = cell;
            widths[c] = width > widths[c] ? width : widths[c];
        }
        size_t head = strlen(column->name);
        bool shown = widths[c] > 0 || rows == 0; /* an empty table shows all its columns */
        widths[c] = shown && head > widths[c] ? head : widths[c];
    }
    for (size_t i = 0; i <= rows; i++) {
        add_line(out, schema, cells + i * columns, widths);
    }
    arena_free(&scratch);
}
