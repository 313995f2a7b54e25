/* Any bytes as the body of an edit, as JSON: what is taken is rows of tables that may be edited,
 * with every value such that its own text is taken again as the same. */
#include <jansson.h>
#include <stdint.h>
#include <string.h>

#include "base/check.h"
#include "server/rows_json.h"
#include "table/value.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_row(Arena *arena, TableId table, const void *row) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; row != NULL && c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        const void *field = (const char *)row + column->offset;
        union {
            const char *text;
            double real;
            int32_t whole;
        } again = {.text = NULL};
        const char *expected = NULL;
        const char *text = value_text(arena, column, field);
        CHECK(value_parse(arena, column, text, false, &again, &expected) == VALUE_OK);
        CHECK(value_equal(column, field, &again));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    json_t *body = json_loadb((const char *)data, size, JSON_REJECT_DUPLICATES, NULL);
    for (int group = GROUP_JOB; group <= GROUP_LIBRARY; group++) {
        Arena arena = {0};
        StoreEdit *edits = NULL;
        size_t count = 0;
        json_t *faults = NULL;
        const char *problem = rows_json_edits(&arena, json_object_get(body, "edits"),
                                              (TableGroup)group, &edits, &count, &faults);
        for (size_t i = 0; problem == NULL && json_array_size(faults) == 0 && i < count; i++) {
            CHECK(table_schema(edits[i].table)->group == (TableGroup)group);
            CHECK(edits[i].before != NULL || edits[i].after != NULL);
            check_row(&arena, edits[i].table, edits[i].before);
            check_row(&arena, edits[i].table, edits[i].after);
        }
        json_decref(faults);
        arena_free(&arena);
    }
    json_decref(body);
    return 0;
}
