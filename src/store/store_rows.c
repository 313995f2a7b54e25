/* Rows of any table, from the schema: the SQL for a table, a row in and out of a statement, a row
 * as JSON for the log. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "store/store_inner.h"
#include "table/value.h"

static bool is_number(ColumnKind kind) {
    return kind == COLUMN_REAL || kind == COLUMN_INT || kind == COLUMN_AWG || kind == COLUMN_FLAG;
}

static bool belongs_to_job(TableId table) {
    return table_schema(table)->group == GROUP_JOB;
}

/* --- tables ---------------------------------------------------------------------------------- */

static const char *sql_type(ColumnKind kind) {
    return !is_number(kind) ? "TEXT" : kind == COLUMN_REAL ? "REAL" : "INTEGER";
}

static void create_table(Store *store, Arena *scratch, TableId table, Status *status) {
    const TableSchema *schema = table_schema(table);
    Buffer sql = {.arena = scratch};
    buffer_format(&sql, "CREATE TABLE \"%s\"(%s", schema->name,
                  belongs_to_job(table) ? "_job INTEGER NOT NULL REFERENCES shop_job, " : "");
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        buffer_format(&sql, "\"%s\" %s%s, ", column->name, sql_type(column->kind),
                      column->flag == FLAG_KEY ? " NOT NULL" : "");
    }
    buffer_text(&sql, "_act INTEGER NOT NULL, PRIMARY KEY(");
    const char *between = "";
    if (belongs_to_job(table)) {
        buffer_text(&sql, "_job");
        between = ", ";
    }
    for (size_t c = 0; c < schema->column_count; c++) {
        if (schema->columns[c].flag == FLAG_KEY) {
            buffer_format(&sql, "%s\"%s\"", between, schema->columns[c].name);
            between = ", ";
        }
    }
    buffer_text(&sql, ")) WITHOUT ROWID");
    store_execute(store, sql.bytes, status);
}

/* Names of the columns of a table in the file; none when it is not there. */
static size_t columns_there(Store *store, Arena *arena, TableId table, const char ***names,
                            Status *status) {
    size_t count = 0;
    size_t capacity = 0;
    *names = NULL;
    sqlite3_stmt *statement =
        store_prepare(store, "SELECT name FROM pragma_table_info(?1)", status);
    store_bind_text(statement, 1, table_schema(table)->name);
    while (store_step(store, statement, status)) {
        *ARENA_PUSH(arena, *names, count, capacity) = store_column_text(arena, statement, 0);
    }
    sqlite3_finalize(statement);
    return count;
}

static bool among(const char *const *names, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++) {
        if (strcmp(names[i], name) == 0) {
            return true;
        }
    }
    return false;
}

static void make_table(Store *store, Arena *scratch, TableId table, Status *status) {
    const TableSchema *schema = table_schema(table);
    const char **names;
    size_t count = columns_there(store, scratch, table, &names, status);
    if (count == 0) {
        create_table(store, scratch, table, status);
        return;
    }
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (among(names, count, column->name)) {
            continue;
        }
        Buffer sql = {.arena = scratch};
        buffer_format(&sql, "ALTER TABLE \"%s\" ADD COLUMN \"%s\" %s", schema->name, column->name,
                      sql_type(column->kind));
        store_execute(store, sql.bytes, status);
    }
}

void store_tables_make(Store *store, Status *status) {
    Arena scratch = {0};
    store_begin(store, status);
    for (int i = 0; i < TABLE_COUNT && !status->failed; i++) {
        if (store_holds((TableId)i)) {
            make_table(store, &scratch, (TableId)i, status);
        }
    }
    store_end(store, status);
    arena_free(&scratch);
}

void store_strange_columns(Store *store, Arena *arena, TableId table, const char ***names,
                           size_t *count, Status *status) {
    const TableSchema *schema = table_schema(table);
    const char **there;
    size_t there_count = columns_there(store, arena, table, &there, status);
    size_t kept = 0;
    for (size_t i = 0; i < there_count; i++) {
        bool known = strcmp(there[i], "_act") == 0 ||
                     (belongs_to_job(table) && strcmp(there[i], "_job") == 0);
        for (size_t c = 0; c < schema->column_count && !known; c++) {
            known = strcmp(schema->columns[c].name, there[i]) == 0;
        }
        if (!known) {
            there[kept++] = there[i];
        }
    }
    *names = there;
    *count = kept;
}

/* --- statements of one table ----------------------------------------------------------------- */

/* " WHERE job = ?1 AND key = ?2 ..."; library tables have no job, but the same places. */
static void add_where(Buffer *sql, TableId table) {
    const TableSchema *schema = table_schema(table);
    buffer_text(sql, belongs_to_job(table) ? " WHERE _job = ?1" : " WHERE ?1 = 0");
    int place = 2;
    for (size_t c = 0; c < schema->column_count; c++) {
        if (schema->columns[c].flag == FLAG_KEY) {
            buffer_format(sql, " AND \"%s\" = ?%d", schema->columns[c].name, place++);
        }
    }
}

static void add_columns(Buffer *sql, TableId table) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        buffer_format(sql, "\"%s\", ", schema->columns[c].name);
    }
    buffer_text(sql, "_act");
}

void store_table_open(Store *store, TableId table, StoreTable *of, Status *status) {
    Arena scratch = {0};
    const TableSchema *schema = table_schema(table);
    *of = (StoreTable){.table = table};
    Buffer select = {.arena = &scratch};
    buffer_text(&select, "SELECT ");
    add_columns(&select, table);
    buffer_format(&select, " FROM \"%s\"", schema->name);
    add_where(&select, table);
    of->select = store_prepare(store, select.bytes, status);

    Buffer insert = {.arena = &scratch};
    buffer_format(&insert, "INSERT INTO \"%s\"(%s", schema->name,
                  belongs_to_job(table) ? "_job, " : "");
    add_columns(&insert, table);
    buffer_text(&insert, ") VALUES (");
    for (size_t c = 0; c < schema->column_count; c++) {
        buffer_format(&insert, "%s?%zu", c > 0 ? ", " : belongs_to_job(table) ? "?1, " : "", c + 2);
    }
    buffer_format(&insert, ", ?%zu)", schema->column_count + 2);
    of->insert = store_prepare(store, insert.bytes, status);

    Buffer drop = {.arena = &scratch};
    buffer_format(&drop, "DELETE FROM \"%s\"", schema->name);
    add_where(&drop, table);
    of->drop = store_prepare(store, drop.bytes, status);
    arena_free(&scratch);
}

void store_table_close(StoreTable *of) {
    sqlite3_finalize(of->select);
    sqlite3_finalize(of->insert);
    sqlite3_finalize(of->drop);
    *of = (StoreTable){.table = of->table};
}

/* --- values ---------------------------------------------------------------------------------- */

static void bind_field(sqlite3_stmt *statement, int place, const ColumnSchema *column,
                       const char *row) {
    const char *field = row + column->offset;
    if (column->kind == COLUMN_REAL) {
        double value;
        memcpy(&value, field, sizeof value);
        if (isnan(value)) {
            sqlite3_bind_null(statement, place);
        } else {
            sqlite3_bind_double(statement, place, value);
        }
    } else if (is_number(column->kind)) {
        int32_t value;
        memcpy(&value, field, sizeof value);
        if (value == INT_BLANK) {
            sqlite3_bind_null(statement, place);
        } else {
            sqlite3_bind_int(statement, place, value);
        }
    } else {
        const char *text;
        memcpy(&text, field, sizeof text);
        if (*text == '\0' && column->flag != FLAG_KEY) {
            sqlite3_bind_null(statement, place);
        } else {
            store_bind_text(statement, place, text);
        }
    }
}

static void read_field(Arena *arena, sqlite3_stmt *statement, int place, const ColumnSchema *column,
                       char *row) {
    if (sqlite3_column_type(statement, place) == SQLITE_NULL) {
        return; /* rows begin blank */
    }
    char *field = row + column->offset;
    if (column->kind == COLUMN_REAL) {
        double value = sqlite3_column_double(statement, place);
        memcpy(field, &value, sizeof value);
    } else if (is_number(column->kind)) {
        int32_t value = sqlite3_column_int(statement, place);
        memcpy(field, &value, sizeof value);
    } else {
        const char *text = store_column_text(arena, statement, place);
        memcpy(field, &text, sizeof text);
    }
}

static void bind_key(sqlite3_stmt *statement, TableId table, StoreJob job, const void *row) {
    const TableSchema *schema = table_schema(table);
    sqlite3_bind_int64(statement, 1, job);
    int place = 2;
    for (size_t c = 0; c < schema->column_count; c++) {
        if (schema->columns[c].flag == FLAG_KEY) {
            bind_field(statement, place++, &schema->columns[c], row);
        }
    }
}

/* A blank row outside any set. */
static char *blank_row(Arena *arena, TableId table) {
    TableSet one = {0};
    return table_append(&one, arena, table);
}

static void read_row(Arena *arena, sqlite3_stmt *statement, TableId table, char *row) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        read_field(arena, statement, (int)c, &schema->columns[c], row);
    }
}

void *store_row_find(Store *store, Arena *arena, const StoreTable *of, StoreJob job,
                     const void *key, StoreAct *act, Status *status) {
    char *row = NULL;
    *act = 0;
    bind_key(of->select, of->table, job, key);
    if (store_step(store, of->select, status)) {
        row = blank_row(arena, of->table);
        read_row(arena, of->select, of->table, row);
        *act = sqlite3_column_int64(of->select, (int)table_schema(of->table)->column_count);
    }
    sqlite3_reset(of->select);
    return row;
}

void store_row_put(Store *store, const StoreTable *of, StoreJob job, const void *row, StoreAct act,
                   Status *status) {
    const TableSchema *schema = table_schema(of->table);
    sqlite3_bind_int64(of->insert, 1, job);
    for (size_t c = 0; c < schema->column_count; c++) {
        bind_field(of->insert, (int)c + 2, &schema->columns[c], row);
    }
    sqlite3_bind_int64(of->insert, (int)schema->column_count + 2, act);
    store_run(store, of->insert, status);
}

void store_row_drop(Store *store, const StoreTable *of, StoreJob job, const void *key,
                    Status *status) {
    bind_key(of->drop, of->table, job, key);
    store_run(store, of->drop, status);
}

void store_rows_read(Store *store, Arena *arena, TableId table, StoreJob job, TableSet *set,
                     StoreAct **acts, Status *status) {
    const TableSchema *schema = table_schema(table);
    Arena scratch = {0};
    Buffer sql = {.arena = &scratch};
    buffer_text(&sql, "SELECT ");
    add_columns(&sql, table);
    buffer_format(&sql, " FROM \"%s\" WHERE %s = ?1", schema->name,
                  belongs_to_job(table) ? "_job" : "0");
    sqlite3_stmt *statement = store_prepare(store, sql.bytes, status);
    sqlite3_bind_int64(statement, 1, belongs_to_job(table) ? job : 0);
    size_t count = 0;
    size_t capacity = 0;
    while (store_step(store, statement, status)) {
        read_row(arena, statement, table, table_append(set, arena, table));
        if (acts != NULL) {
            *ARENA_PUSH(arena, *acts, count, capacity) =
                sqlite3_column_int64(statement, (int)schema->column_count);
        }
    }
    sqlite3_finalize(statement);
    arena_free(&scratch);
}

/* --- rows as such ---------------------------------------------------------------------------- */

const char *store_row_json(Arena *arena, TableId table, const void *row) {
    const TableSchema *schema = table_schema(table);
    json_t *object = json_object();
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        const char *text = value_text(arena, column, (const char *)row + column->offset);
        if (*text != '\0') {
            json_object_set_new(object, column->name, json_string(text));
        }
    }
    char *text = json_dumps(object, JSON_COMPACT);
    CHECK(text != NULL);
    const char *kept = arena_text(arena, text, strlen(text));
    free(text);
    json_decref(object);
    return kept;
}

void *store_row_of_json(Arena *arena, TableId table, const char *json) {
    if (json == NULL || *json == '\0') {
        return NULL;
    }
    const TableSchema *schema = table_schema(table);
    json_t *object = json_loads(json, 0, NULL);
    if (!json_is_object(object)) {
        json_decref(object);
        return NULL;
    }
    char *row = blank_row(arena, table);
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        const char *text = json_string_value(json_object_get(object, column->name));
        if (text != NULL) {
            const char *expected;
            value_parse(arena, column, arena_text(arena, text, strlen(text)), false,
                        row + column->offset, &expected);
        }
    }
    json_decref(object);
    return row;
}

bool store_rows_equal(TableId table, const void *left, const void *right) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (!value_equal(column, (const char *)left + column->offset,
                         (const char *)right + column->offset)) {
            return false;
        }
    }
    return true;
}

const char *store_row_lacks(TableId table, const void *row) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (column->flag != FLAG_OPEN && value_blank(column, (const char *)row + column->offset)) {
            return column->name;
        }
    }
    return NULL;
}
