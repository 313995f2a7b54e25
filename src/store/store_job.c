/* Jobs: which there are, whole jobs in and out. */
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "model/report.h"
#include "store/store_inner.h"

static int compare_jobs(const void *left, const void *right) {
    return text_compare_keys(((const StoreJobInfo *)left)->name,
                             ((const StoreJobInfo *)right)->name);
}

Status store_jobs(Store *store, Arena *arena, StoreJobInfo **jobs, size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *jobs = NULL;
    *count = 0;
    sqlite3_stmt *select = store_prepare(
        store,
        "SELECT j.job, j.name, ifnull(a.act, 0), a.person, a.at FROM shop_job j LEFT JOIN shop_act "
        "a"
        " ON a.act = (SELECT max(act) FROM shop_act WHERE job = j.job) WHERE j.job > 0",
        &status);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *jobs, *count, capacity) = (StoreJobInfo){
            .job = sqlite3_column_int64(select, 0),
            .name = store_column_text(arena, select, 1),
            .last_act = sqlite3_column_int64(select, 2),
            .last_person = store_column_text(arena, select, 3),
            .last_at = store_column_text(arena, select, 4),
        };
    }
    sqlite3_finalize(select);
    if (*count > 1) {
        qsort(*jobs, *count, sizeof **jobs, compare_jobs);
    }
    return status;
}

static StoreJob job_of_name(Store *store, const char *name, Status *status) {
    StoreJob job = STORE_NO_JOB;
    sqlite3_stmt *select = store_prepare(store, "SELECT job FROM shop_job WHERE name = ?1", status);
    store_bind_text(select, 1, name);
    if (store_step(store, select, status)) {
        job = sqlite3_column_int64(select, 0);
    }
    sqlite3_finalize(select);
    return job;
}

Status store_find_job(Store *store, Arena *arena, const char *name, StoreJob *job,
                      const char **nearest) {
    Status status = status_ok();
    *job = job_of_name(store, name, &status);
    if (nearest == NULL || *job != STORE_NO_JOB) {
        return status;
    }
    const char **names = NULL;
    size_t count = 0;
    size_t capacity = 0;
    sqlite3_stmt *select =
        store_prepare(store, "SELECT name FROM shop_job WHERE job > 0 ORDER BY name", &status);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, names, count, capacity) = store_column_text(arena, select, 0);
    }
    sqlite3_finalize(select);
    *nearest = text_nearest(name, names, count);
    return status;
}

static StoreJob job_make(Store *store, const char *name, Status *status) {
    StoreJob job = job_of_name(store, name, status);
    if (job != STORE_NO_JOB || status->failed) {
        return job;
    }
    sqlite3_stmt *insert = store_prepare(store, "INSERT INTO shop_job(name) VALUES (?1)", status);
    store_bind_text(insert, 1, name);
    store_run(store, insert, status);
    sqlite3_finalize(insert);
    return sqlite3_last_insert_rowid(store->db);
}

Status store_import(Store *store, const StoreBy *by, const char *name, const TableSet *set,
                    StoreJob *job, size_t *changed) {
    Status status = status_ok();
    *changed = 0;
    store_begin(store, &status);
    *job = job_make(store, name, &status);
    if (status.failed) {
        store_end(store, &status);
        return status;
    }
    StoreActing acting;
    size_t grown = 0;
    store_act_begin(&acting, store, *job, by, "import", "done", 0, &status);
    for (int i = 0; i < TABLE_COUNT; i++) {
        TableId table = (TableId)i;
        if (revision_grows(table)) {
            grown +=
                *job == STORE_LIBRARY ? 0 : store_bench_merge(store, *job, table, set, &status);
        } else if (table_schema(table)->group ==
                   (*job == STORE_LIBRARY ? GROUP_LIBRARY : GROUP_JOB)) {
            store_act_replace(&acting, table, set);
        }
    }
    store_act_end(&acting);
    *changed = acting.rows + grown;
    store_act_settle(&acting);
    store_end(store, &status);
    return status;
}

/* Drops rows that lack a value they must have, from row `first` on. */
static void leave_out(TableSet *set, TableId table, size_t first, Findings *findings) {
    const TableSchema *schema = table_schema(table);
    AnyTable *rows = &set->any[table];
    size_t kept = first;
    for (size_t i = first; i < rows->count; i++) {
        char *row = table_row(set, table, i);
        const char *lacks = store_row_lacks(table, row);
        if (lacks != NULL) {
            Finding *finding = finding_add(findings, RULE_READ_MISSING);
            finding->table = schema->name;
            finding->key = table_row_key(findings->arena, table, row);
            finding->column = lacks;
            finding->message = arena_format(findings->arena, "%s is blank in the shop file", lacks);
            finding->hint = "fill it in; until then the row is left out";
            set->partial[table] = true;
            continue;
        }
        memmove((char *)rows->rows + kept * schema->row_bytes, row, schema->row_bytes);
        kept++;
    }
    rows->count = kept;
}

Status store_read_table(Store *store, Arena *arena, StoreJob job, TableId table, TableSet *set,
                        StoreAct **acts) {
    Status status = status_ok();
    StoreAct *read = NULL;
    TableSet as_read = {0};
    store_rows_read(store, arena, table, job, &as_read, &read, &status);
    size_t count = as_read.any[table].count;
    /* Sorting moves rows; each takes its number along where its place in a file would be. */
    for (size_t i = 0; i < count; i++) {
        RowPlace place = {.line = (uint32_t)i};
        memcpy(table_row(&as_read, table, i), &place, sizeof place);
    }
    table_set_sort(&as_read);
    *acts = ARENA_ARRAY(arena, StoreAct, count);
    for (size_t i = 0; i < count; i++) {
        RowPlace place;
        memcpy(&place, table_row(&as_read, table, i), sizeof place);
        (*acts)[i] = read[place.line];
        memset(table_row(&as_read, table, i), 0, sizeof place);
    }
    set->any[table] = as_read.any[table];
    return status;
}

Status store_load(Store *store, Arena *arena, StoreJob job, TableSet *set, Findings *findings) {
    Status status = status_ok();
    if (set->file_count == 0) {
        table_set_file(set, arena, "");
    }
    store_execute(store, "BEGIN", &status); /* one moment for all tables */
    for (int i = 0; i < TABLE_COUNT && !status.failed; i++) {
        TableId table = (TableId)i;
        if (store_holds(table) && !revision_grows(table)) {
            size_t first = set->any[table].count;
            store_rows_read(store, arena, table, job, set, NULL, &status);
            leave_out(set, table, first, findings);
        }
    }
    if (sqlite3_get_autocommit(store->db) == 0) {
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
    }
    table_set_sort(set);
    return status;
}
