/* The bench: what was done there, and what is to be done. Rows come in batches from tablets that
 * send again whatever they have no answer for; each is kept once (store/bench.h). */
#include <jansson.h>
#include <math.h>
#include <sodium.h>
#include <string.h>

#include "server/routes.h"
#include "server/rows_json.h"
#include "store/bench.h"
#include "table/value.h"

enum { ROWS_MOST = 1000, PHOTO_BYTES_MOST = 3 << 20, TIME_MOST = 32 };

/* --- adding ---------------------------------------------------------------------------------- */

/* One row as it came. */
typedef struct Coming {
    const char *key;
    const char *problem; /* why it can never be kept; NULL */
    size_t place;        /* among those that are put */
} Coming;

static bool key_is_good(const char *key) {
    size_t length = key == NULL ? 0 : strlen(key);
    return length > 0 && length <= STORE_BENCH_KEY_MOST &&
           strspn(key, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.") ==
               length;
}

/* Fills in who and when. Where nobody signs in, the page says who stands before it. */
static void fill(const Asking *asking, const char **person, const char **time, const char **kept) {
    const char *now = store_now(asking->arena);
    if (asking_signs_in(asking) || **person == '\0') {
        *person = asking->asked->person;
    }
    if (**time == '\0' || strlen(*time) > TIME_MOST) {
        *time = now;
    }
    *kept = now;
}

/* The picture of a photo row: checked by its first bytes, whatever it is said to be. */
static const char *take_photo(Asking *asking, const json_t *object, BenchPhotoRow *photo,
                              StoreBenchRow *row) {
    const char *data = json_string_value(json_object_get(object, "data"));
    size_t length = data == NULL ? 0 : strlen(data);
    if (length == 0) {
        return "\"data\" holds the picture, as base64";
    }
    unsigned char *bytes = ARENA_ARRAY(asking->arena, unsigned char, length);
    size_t count = 0;
    if (sodium_base642bin(bytes, length, data, length, NULL, &count, NULL,
                          sodium_base64_VARIANT_ORIGINAL) != 0) {
        return "\"data\" is no base64";
    }
    if (count > PHOTO_BYTES_MOST) {
        return "the picture is larger than 3 MiB";
    }
    photo->type = store_photo_type(bytes, count);
    if (photo->type == NULL) {
        return "the picture is neither JPEG nor PNG nor WebP";
    }
    char *hash = ARENA_ARRAY(asking->arena, char, REVISION_HEX);
    revision_hash_bytes(bytes, count, hash);
    photo->hash = hash;
    photo->bytes = (int32_t)count;
    row->bytes = bytes;
    row->length = count;
    return NULL;
}

/* A reading says one thing: ohms, open, or which reading it takes back. */
static const char *check_reading(const BenchReadingRow *reading) {
    int says = (isnan(reading->ohm) ? 0 : 1) + (reading->open == 1 ? 1 : 0) +
               (*reading->undoes == '\0' ? 0 : 1);
    if (says != 1) {
        return "a reading has ohms, or is open, or takes another back";
    }
    if (*reading->undoes == '\0' && reading->step == INT_BLANK &&
        (*reading->point_a == '\0' || *reading->point_b == '\0')) {
        return "a reading has a step, or points on both sides";
    }
    return !isnan(reading->ohm) && !(reading->ohm >= 0.0 && isfinite(reading->ohm))
               ? "ohms are a number from 0"
               : NULL;
}

static const char *finish(Asking *asking, const json_t *object, StoreBenchRow *row, void *columns) {
    const char *problem = NULL;
    if (row->table == TABLE_bench_tick) {
        BenchTickRow *tick = columns;
        fill(asking, &tick->person, &tick->time, &tick->kept);
        bool force = isnan(tick->pull_n) || (tick->pull_n > 0.0 && isfinite(tick->pull_n));
        problem = force ? NULL : "a force is a number above 0";
    } else if (row->table == TABLE_bench_reading) {
        BenchReadingRow *reading = columns;
        fill(asking, &reading->person, &reading->time, &reading->kept);
        problem = check_reading(reading);
    } else if (row->table == TABLE_bench_note) {
        BenchNoteRow *note = columns;
        fill(asking, &note->person, &note->time, &note->kept);
    } else {
        BenchPhotoRow *photo = columns;
        fill(asking, &photo->person, &photo->time, &photo->kept);
        problem = take_photo(asking, object, photo, row);
    }
    return problem;
}

/* First column that must have a value and has none; NULL. */
static const char *lacking(TableId table, const char *row) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (column->flag != FLAG_OPEN && value_blank(column, row + column->offset)) {
            return column->name;
        }
    }
    return NULL;
}

static void take(Asking *asking, const json_t *object, Coming *coming, StoreBenchRow *row) {
    const char *name = json_string_value(json_object_get(object, "table"));
    const json_t *values = json_object_get(object, "row");
    TableId table = name == NULL ? TABLE_COUNT : table_find(name);
    *coming = (Coming){.key = "", .problem = NULL};
    if (table == TABLE_COUNT || !revision_grows(table)) {
        coming->problem = "\"table\" names no table of the bench";
        return;
    }
    const char *key_name = table_schema(table)->columns[0].name;
    const char *key = json_string_value(json_object_get(values, key_name));
    if (!key_is_good(key)) {
        coming->problem = "the key is 1 to 64 letters, digits, - _ .";
        return;
    }
    coming->key = arena_text(asking->arena, key, strlen(key));
    json_t *faults = NULL;
    void *columns = rows_json_row(asking->arena, table, values, &faults);
    const json_t *fault = json_array_get(faults, 0);
    *row = (StoreBenchRow){.table = table, .row = columns};
    if (columns == NULL) {
        coming->problem = "\"row\" is an object of columns";
    } else if (fault != NULL) {
        coming->problem = arena_format(asking->arena, "%s \"%s\" can't be taken, wanted %s",
                                       json_string_value(json_object_get(fault, "column")),
                                       json_string_value(json_object_get(fault, "value")),
                                       json_string_value(json_object_get(fault, "expected")));
    } else {
        coming->problem = finish(asking, object, row, columns);
        const char *lacks = lacking(table, columns);
        if (coming->problem == NULL && lacks != NULL) {
            coming->problem = arena_format(asking->arena, "%s is missing", lacks);
        }
    }
    json_decref(faults);
}

static void tell_kept(Asking *asking, const Coming *coming, size_t count,
                      const StoreBenchKept *kept) {
    json_t *good = json_array();
    json_t *refused = json_array();
    size_t added = 0;
    for (size_t i = 0; i < count; i++) {
        const char *problem = coming[i].problem;
        if (problem == NULL && kept[coming[i].place] == STORE_BENCH_OTHER) {
            problem = "something else is kept under this key";
        }
        if (problem == NULL) {
            json_array_append_new(good, json_string(coming[i].key));
            added += kept[coming[i].place] == STORE_BENCH_NEW ? 1 : 0;
        } else {
            json_array_append_new(refused,
                                  json_pack("{s:s, s:s}", "key", coming[i].key, "error", problem));
        }
    }
    asking_put_json(
        asking, 200,
        json_pack("{s:o, s:o, s:I}", "kept", good, "refused", refused, "added", (json_int_t)added));
}

void ask_bench_add(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    const json_t *list = json_object_get(body, "rows");
    size_t count = json_array_size(list);
    if (job == STORE_LIBRARY) {
        asking_refuse(asking, 400, "the library has no bench", NULL);
    } else if (count == 0 || count > ROWS_MOST) {
        asking_refuse(asking, 400, "\"rows\" is a list of 1 to 1000 rows", NULL);
    } else {
        Coming *coming = ARENA_ARRAY(asking->arena, Coming, count);
        StoreBenchRow *rows = ARENA_ARRAY(asking->arena, StoreBenchRow, count);
        StoreBenchKept *kept = ARENA_ARRAY(asking->arena, StoreBenchKept, count);
        size_t put = 0;
        for (size_t i = 0; i < count; i++) {
            take(asking, json_array_get(list, i), &coming[i], &rows[put]);
            coming[i].place = put;
            put += coming[i].problem == NULL ? 1 : 0;
        }
        Store *store = desk_store(asking->desk);
        Status status = put == 0 ? status_ok() : store_bench_add(store, job, rows, put, kept);
        desk_store_done(asking->desk);
        if (asking_good(asking, status)) {
            asking->answer->changed = put == 0 ? STORE_NO_JOB : job;
            tell_kept(asking, coming, count, kept);
        }
    }
    json_decref(body);
}

/* --- what was done --------------------------------------------------------------------------- */

void ask_bench_kept(Asking *asking) {
    StoreJob job;
    if (!asking_job(asking, &job)) {
        return;
    }
    TableSet set = {0};
    Store *store = desk_store(asking->desk);
    Status status = store_bench_load(store, asking->arena, job, &set);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    Buffer text = {.arena = asking->arena};
    const char *before = "{";
    for (int i = 0; i < TABLE_COUNT; i++) {
        if (revision_grows((TableId)i)) {
            buffer_format(&text, "%s\"%s\":", before, table_schema((TableId)i)->name);
            table_write_json(&text, &set, (TableId)i);
            before = ",";
        }
    }
    buffer_text(&text, "}");
    asking_put_buffer(asking, "application/json", &text);
}

void ask_bench_photo(Asking *asking) {
    const char *hash = asking_need(asking, "hash");
    if (hash == NULL) {
        return;
    }
    const void *bytes = NULL;
    size_t length = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_photo(store, asking->arena, hash, &bytes, &length);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    const char *type = bytes == NULL ? NULL : store_photo_type(bytes, length);
    if (type == NULL) {
        asking_refuse(asking, 404, "there is no such picture", NULL);
    } else {
        asking_put_text(asking, 200, arena_format(asking->arena, "image/%s", type), bytes, length);
    }
}
