/* Both sets are sorted: walk the two in step, as in a merge. */
#include <string.h>

#include "table/rows.h"
#include "table/value.h"
#include "table/write.h"

typedef struct Changes {
    Arena *arena;
    TableChange *rows;
    size_t count;
    size_t capacity;
} Changes;

static void add_change(Changes *changes, TableChange change) {
    *ARENA_PUSH(changes->arena, changes->rows, changes->count, changes->capacity) = change;
}

static void compare_rows(Changes *changes, TableId table, const char *before, const char *after) {
    const TableSchema *schema = table_schema(table);
    const char *key = NULL;
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        const char *old_field = before + column->offset;
        const char *new_field = after + column->offset;
        if (value_equal(column, old_field, new_field)) {
            continue;
        }
        key = key != NULL ? key : table_row_key(changes->arena, table, before);
        add_change(changes, (TableChange){
                                .table = table,
                                .key = key,
                                .column = column->name,
                                .before = value_text(changes->arena, column, old_field),
                                .after = value_text(changes->arena, column, new_field),
                            });
    }
}

static void compare_table(Changes *changes, TableId table, const TableSet *before,
                          const TableSet *after) {
    size_t old_count = before->any[table].count;
    size_t new_count = after->any[table].count;
    size_t old_at = 0;
    size_t new_at = 0;
    while (old_at < old_count || new_at < new_count) {
        const char *old_row = old_at < old_count ? table_row(before, table, old_at) : NULL;
        const char *new_row = new_at < new_count ? table_row(after, table, new_at) : NULL;
        int order = old_row == NULL   ? 1
                    : new_row == NULL ? -1
                                      : table_row_compare(table, old_row, new_row);
        if (order == 0) {
            compare_rows(changes, table, old_row, new_row);
            old_at++;
            new_at++;
        } else if (order < 0) {
            add_change(changes, (TableChange){.table = table,
                                              .key = table_row_key(changes->arena, table, old_row),
                                              .column = "",
                                              .before = ""});
            old_at++;
        } else {
            add_change(changes, (TableChange){.table = table,
                                              .key = table_row_key(changes->arena, table, new_row),
                                              .column = "",
                                              .after = ""});
            new_at++;
        }
    }
}

TableChange *table_compare(Arena *arena, const TableSet *before, const TableSet *after,
                           TableGroup group, size_t *count) {
    Changes changes = {.arena = arena};
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (table_schema((TableId)table)->group == group) {
            compare_table(&changes, (TableId)table, before, after);
        }
    }
    *count = changes.count;
    return changes.rows;
}
