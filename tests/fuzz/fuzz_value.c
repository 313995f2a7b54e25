/* Any text as a cell of any column. The first line is "TABLE.COLUMN", with a comma behind it when
 * commas are decimal (any other first two bytes are a number of a column), the rest the cell. Never
 * a crash; what is taken reads back from its own text as the same value. */
#include <stdint.h>
#include <string.h>

#include "base/check.h"
#include "table/value.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char BLANKS[] = " \t\n\r";

/* The column of that number, in the order of the schema. */
static const ColumnSchema *column_by_number(size_t number) {
    size_t total = 0;
    for (int table = 0; table < TABLE_COUNT; table++) {
        total += table_schema((TableId)table)->column_count;
    }
    number %= total;
    for (int table = 0; table < TABLE_COUNT; table++) {
        const TableSchema *schema = table_schema((TableId)table);
        if (number < schema->column_count) {
            return &schema->columns[number];
        }
        number -= schema->column_count;
    }
    return NULL;
}

/* The column "TABLE.COLUMN", NULL when there is none. */
static const ColumnSchema *column_by_name(char *name) {
    char *point = strchr(name, '.');
    if (point == NULL) {
        return NULL;
    }
    *point = '\0';
    TableId table = table_find(name);
    if (table == TABLE_COUNT) {
        return NULL;
    }
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        if (strcmp(schema->columns[c].name, point + 1) == 0) {
            return &schema->columns[c];
        }
    }
    return NULL;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (size < 2) {
        return 0;
    }
    Arena arena = {0};
    const uint8_t *line_end = memchr(data, '\n', size);
    size_t used = line_end == NULL ? 0 : (size_t)(line_end - data);
    bool comma = used > 0 && data[used - 1] == ',';
    char *name = arena_text(&arena, (const char *)data, used - (comma ? 1 : 0));
    const ColumnSchema *column = column_by_name(name);
    if (column == NULL) {
        column = column_by_number((size_t)data[0] | (size_t)(data[1] & 0x7f) << 8);
        comma = data[1] >= 0x80;
        used = 1;
    }
    CHECK(column != NULL);
    char *text = arena_text(&arena, (const char *)data + used + 1, size - used - 1);
    text += strspn(text, BLANKS); /* as the contract wants it */
    for (size_t length = strlen(text); length > 0 && strchr(BLANKS, text[length - 1]) != NULL;) {
        text[--length] = '\0';
    }
    union {
        const char *text;
        double real;
        int32_t whole;
    } field = {.text = NULL}, again = {.text = NULL};
    const char *expected = NULL;
    ValueFault fault = value_parse(&arena, column, text, comma, &field, &expected);
    CHECK(expected != NULL);
    const char *written = value_text(&arena, column, &field);
    CHECK(fault == VALUE_OK || *written == '\0');
    CHECK(value_parse(&arena, column, written, false, &again, &expected) == VALUE_OK);
    CHECK(value_equal(column, &field, &again));
    CHECK(strcmp(written, value_text(&arena, column, &again)) == 0);
    CHECK(value_short_text(&arena, column, &field) != NULL);
    arena_free(&arena);
    return 0;
}
