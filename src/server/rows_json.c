#include "server/rows_json.h"

#include <string.h>

#include "table/value.h"

/* --- out ------------------------------------------------------------------------------------- */

static json_t *column_json(const ColumnSchema *column) {
    static const char *const KINDS[] = {"text", "ref", "list", "word",
                                        "real", "int", "awg",  "flag"};
    json_t *object = json_pack("{s:s, s:s, s:b, s:b, s:s, s:s}", "name", column->name, "kind",
                               KINDS[column->kind], "key", column->flag == FLAG_KEY ? 1 : 0, "need",
                               column->flag != FLAG_OPEN ? 1 : 0, "unit", value_unit(column),
                               "meaning", column->meaning);
    if (*column->extra != '\0') {
        json_object_set_new(object, "extra", json_string(column->extra));
    }
    return object;
}

json_t *rows_json_schema(void) {
    static const char *const GROUPS[] = {"job", "library", "result"};
    json_t *tables = json_array();
    for (int i = 0; i < TABLE_COUNT; i++) {
        const TableSchema *schema = table_schema((TableId)i);
        json_t *columns = json_array();
        for (size_t c = 0; c < schema->column_count; c++) {
            json_array_append_new(columns, column_json(&schema->columns[c]));
        }
        json_array_append_new(tables, json_pack("{s:s, s:s, s:s, s:o}", "name", schema->name,
                                                "group", GROUPS[schema->group], "meaning",
                                                schema->meaning, "columns", columns));
    }
    return json_pack("{s:o}", "tables", tables);
}

void rows_json_write(Buffer *out, const TableSet *set, TableId table, const StoreAct *acts,
                     StoreAct act) {
    buffer_format(out, "{\"act\":%lld,\"rows\":", (long long)act);
    table_write_json(out, set, table);
    if (acts != NULL) {
        buffer_text(out, ",\"acts\":[");
        for (size_t i = 0; i < set->any[table].count; i++) {
            buffer_format(out, "%s%lld", i > 0 ? "," : "", (long long)acts[i]);
        }
        buffer_text(out, "]");
    }
    buffer_text(out, "}\n");
}

/* --- in -------------------------------------------------------------------------------------- */

/* The text a person might have typed for a JSON value; NULL for one that is no value. */
static const char *typed_text(Arena *arena, const json_t *value) {
    if (json_is_string(value)) {
        const char *text = json_string_value(value);
        return strlen(text) == json_string_length(value) ? arena_text(arena, text, strlen(text))
                                                         : NULL; /* a nought byte inside */
    }
    if (json_is_number(value)) {
        char *text = json_dumps(value, JSON_ENCODE_ANY);
        const char *kept = arena_text(arena, text, strlen(text));
        free(text);
        return kept;
    }
    if (json_is_boolean(value)) {
        return json_is_true(value) ? "yes" : "no";
    }
    return json_is_null(value) ? "" : NULL;
}

typedef struct Reading {
    Arena *arena;
    json_t *faults;
    size_t edit;
    const char *problem;
} Reading;

static void add_fault(Reading *reading, const char *column, const char *value,
                      const char *expected) {
    json_array_append_new(reading->faults,
                          json_pack("{s:I, s:s, s:s, s:s}", "edit", (json_int_t)reading->edit,
                                    "column", column, "value", value, "expected", expected));
}

static const ColumnSchema *find_column(const TableSchema *schema, const char *name) {
    for (size_t c = 0; c < schema->column_count; c++) {
        if (strcmp(schema->columns[c].name, name) == 0) {
            return &schema->columns[c];
        }
    }
    return NULL;
}

static const char *trimmed(Arena *arena, const char *text) {
    while (*text == ' ' || *text == '\t') {
        text++;
    }
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t')) {
        length--;
    }
    return arena_text(arena, text, length);
}

/* A row from an object; NULL when it is absent or null. */
static void *read_row(Reading *reading, TableId table, const json_t *object) {
    if (object == NULL || json_is_null(object)) {
        return NULL;
    }
    if (!json_is_object(object)) {
        reading->problem = "a row is a JSON object";
        return NULL;
    }
    const TableSchema *schema = table_schema(table);
    TableSet one = {0};
    char *row = table_append(&one, reading->arena, table);
    /* Jansson's iterators want an object that may change. */
    for (void *at = json_object_iter((json_t *)(uintptr_t)object); at != NULL;
         at = json_object_iter_next((json_t *)(uintptr_t)object, at)) {
        const char *name = json_object_iter_key(at);
        const ColumnSchema *column = find_column(schema, name);
        const char *text = typed_text(reading->arena, json_object_iter_value(at));
        if (column == NULL) {
            add_fault(reading, name, "", "a column of the table");
            continue;
        }
        if (text == NULL) {
            add_fault(reading, name, "", "a text or a number");
            continue;
        }
        const char *expected = "";
        text = trimmed(reading->arena, text);
        if (value_parse(reading->arena, column, text, false, row + column->offset, &expected) !=
            VALUE_OK) {
            add_fault(reading, name, text, expected == NULL ? "" : expected);
        }
    }
    return row;
}

static void read_edit(Reading *reading, const json_t *object, TableGroup group, StoreEdit *edit) {
    const char *name = json_string_value(json_object_get(object, "table"));
    TableId table = name == NULL ? TABLE_COUNT : table_find(name);
    if (table == TABLE_COUNT || table_schema(table)->group != group) {
        reading->problem = arena_format(reading->arena, "edit %zu names no table that is kept here",
                                        reading->edit);
        return;
    }
    if (revision_grows(table)) {
        reading->problem = "what was done at the bench is added to there, and never edited";
        return;
    }
    const json_t *seen = json_object_get(object, "seen");
    *edit = (StoreEdit){
        .table = table,
        .before = read_row(reading, table, json_object_get(object, "before")),
        .after = read_row(reading, table, json_object_get(object, "after")),
        .seen = json_is_integer(seen) ? json_integer_value(seen) : 0,
    };
    if (edit->before == NULL && edit->after == NULL && reading->problem == NULL) {
        reading->problem =
            arena_format(reading->arena, "edit %zu has neither before nor after", reading->edit);
    }
}

const char *rows_json_edits(Arena *arena, const json_t *list, TableGroup group, StoreEdit **edits,
                            size_t *count, json_t **faults) {
    Reading reading = {.arena = arena, .faults = json_array()};
    *faults = reading.faults;
    *count = json_array_size(list);
    *edits = ARENA_ARRAY(arena, StoreEdit, *count);
    if (!json_is_array(list) || *count == 0) {
        return "\"edits\" is a list of at least one edit";
    }
    for (; reading.edit < *count && reading.problem == NULL; reading.edit++) {
        read_edit(&reading, json_array_get(list, reading.edit), group, &(*edits)[reading.edit]);
    }
    return reading.problem;
}

void *rows_json_row(Arena *arena, TableId table, const json_t *object, json_t **faults) {
    Reading reading = {.arena = arena, .faults = json_array()};
    *faults = reading.faults;
    void *row = read_row(&reading, table, object);
    return reading.problem == NULL ? row : NULL;
}
