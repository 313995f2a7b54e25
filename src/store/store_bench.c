/* Rows that only grow, and the pictures that belong to some of them. */
#include "store/bench.h"

#include <string.h>

#include "base/check.h"
#include "store/store_inner.h"
#include "table/value.h"

/* True when all columns are the same but for those that the desk itself fills in. */
static bool same(TableId table, const void *left, const void *right) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        bool own = strcmp(column->name, "kept") == 0 || strcmp(column->name, "person") == 0;
        if (!own && !value_equal(column, (const char *)left + column->offset,
                                 (const char *)right + column->offset)) {
            return false;
        }
    }
    return true;
}

static StoreAct last_act(Store *store, StoreJob job, Status *status) {
    StoreAct act = 0;
    StoreAct library_act = 0;
    if (!status->failed) {
        *status = store_last_acts(store, job, &act, &library_act);
    }
    return act;
}

static void keep_photo(Store *store, const void *bytes, size_t length, const char *hash,
                       Status *status) {
    sqlite3_stmt *insert = store_prepare(
        store, "INSERT OR IGNORE INTO shop_content(hash, bytes) VALUES (?1, ?2)", status);
    store_bind_text(insert, 1, hash);
    sqlite3_bind_blob64(insert, 2, bytes, length, SQLITE_STATIC);
    store_run(store, insert, status);
    sqlite3_finalize(insert);
}

static StoreBenchKept add(Store *store, StoreJob job, const StoreTable *of,
                          const StoreBenchRow *row, StoreAct act, Status *status) {
    Arena scratch = {0};
    StoreAct seen;
    const void *there = store_row_find(store, &scratch, of, job, row->row, &seen, status);
    StoreBenchKept kept = there == NULL                       ? STORE_BENCH_NEW
                          : same(row->table, there, row->row) ? STORE_BENCH_KNOWN
                                                              : STORE_BENCH_OTHER;
    if (kept == STORE_BENCH_NEW) {
        store_row_put(store, of, job, row->row, act, status);
        if (row->bytes != NULL) {
            const BenchPhotoRow *photo = row->row;
            keep_photo(store, row->bytes, row->length, photo->hash, status);
        }
    }
    arena_free(&scratch);
    return kept;
}

Status store_bench_add(Store *store, StoreJob job, const StoreBenchRow *rows, size_t count,
                       StoreBenchKept *kept) {
    Status status = status_ok();
    StoreTable tables[TABLE_COUNT] = {{.table = (TableId)0}};
    bool open[TABLE_COUNT] = {false};
    store_begin(store, &status);
    if (status.failed) {
        return status;
    }
    StoreAct act = last_act(store, job, &status);
    for (size_t i = 0; i < count && !status.failed; i++) {
        TableId table = rows[i].table;
        CHECK(revision_grows(table));
        if (!open[table]) {
            store_table_open(store, table, &tables[table], &status);
            open[table] = true;
        }
        if (!status.failed) {
            kept[i] = add(store, job, &tables[table], &rows[i], act, &status);
        }
    }
    for (int i = 0; i < TABLE_COUNT; i++) {
        if (open[i]) {
            store_table_close(&tables[i]);
        }
    }
    store_end(store, &status);
    return status;
}

size_t store_bench_merge(Store *store, StoreJob job, TableId table, const TableSet *set,
                         Status *status) {
    size_t added = 0;
    StoreTable of;
    StoreAct act = last_act(store, job, status);
    store_table_open(store, table, &of, status);
    for (size_t i = 0; i < set->any[table].count && !status->failed; i++) {
        StoreBenchRow row = {.table = table, .row = table_row(set, table, i)};
        added += add(store, job, &of, &row, act, status) == STORE_BENCH_NEW ? 1 : 0;
    }
    store_table_close(&of);
    return added;
}

Status store_bench_load(Store *store, Arena *arena, StoreJob job, TableSet *set) {
    Status status = status_ok();
    if (set->file_count == 0) {
        table_set_file(set, arena, "");
    }
    store_execute(store, "BEGIN", &status);
    for (int i = 0; i < TABLE_COUNT && !status.failed; i++) {
        if (revision_grows((TableId)i)) {
            store_rows_read(store, arena, (TableId)i, job, set, NULL, &status);
        }
    }
    if (sqlite3_get_autocommit(store->db) == 0) {
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
    }
    table_set_sort(set);
    return status;
}

Status store_photo(Store *store, Arena *arena, const char *hash, const void **bytes,
                   size_t *length) {
    Status status = status_ok();
    *bytes = NULL;
    *length = 0;
    /* Contents of revisions lie in the same table: only what a photo names is given out. */
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT bytes FROM shop_content WHERE hash = ?1"
                      " AND EXISTS (SELECT 1 FROM bench_photo WHERE bench_photo.hash = ?1)",
                      &status);
    store_bind_text(select, 1, hash);
    if (store_step(store, select, &status)) {
        *length = (size_t)sqlite3_column_bytes(select, 0);
        *bytes = arena_text(arena, sqlite3_column_blob(select, 0), *length);
    }
    sqlite3_finalize(select);
    return status;
}

Status store_photo_keep(Store *store, const void *bytes, size_t length, const char *hash) {
    Status status = status_ok();
    store_begin(store, &status);
    keep_photo(store, bytes, length, hash, &status);
    store_end(store, &status);
    return status;
}

const char *store_photo_type(const void *bytes, size_t length) {
    const unsigned char *head = bytes;
    if (length >= 3 && memcmp(head, "\xff\xd8\xff", 3) == 0) {
        return "jpeg";
    }
    if (length >= 8 && memcmp(head, "\x89PNG\r\n\x1a\n", 8) == 0) {
        return "png";
    }
    if (length >= 12 && memcmp(head, "RIFF", 4) == 0 && memcmp(head + 8, "WEBP", 4) == 0) {
        return "webp";
    }
    return NULL;
}
