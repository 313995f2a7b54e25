/* Inside of the shop file: what its sources share. Not for others. */
#ifndef STORE_STORE_INNER_H
#define STORE_STORE_INNER_H

#include <sqlite3.h>

#include "store/store.h"

struct Store {
    sqlite3 *db;
    char *path;
    Arena arena; /* path and what is kept while it is open */
    bool writes;
};

/* --- statements ------------------------------------------------------------------------------ */

/* What the database refuses, with the file's name; a full disk and a file that may not be written
 * are told in plain words. */
Status store_refused(const Store *store, const char *what);

/* Prepares; NULL and a failed *status when that fails. When *status has failed already: NULL. */
sqlite3_stmt *store_prepare(Store *store, const char *sql, Status *status);

/* True when there is a row; false at the end or on a failure. */
bool store_step(Store *store, sqlite3_stmt *statement, Status *status);

/* Runs it to its end and resets it. */
void store_run(Store *store, sqlite3_stmt *statement, Status *status);

/* Runs SQL without values. */
void store_execute(Store *store, const char *sql, Status *status);

/* Texts that live as long as the statement does not move on (SQLITE_STATIC): those bound here are
 * the caller's and stay until it has run. */
void store_bind_text(sqlite3_stmt *statement, int place, const char *text);

/* A copy in the arena; "" for NULL. */
const char *store_column_text(Arena *arena, sqlite3_stmt *statement, int column);

/* begin immediate; commit when *status is good, else roll back. */
void store_begin(Store *store, Status *status);
void store_end(Store *store, Status *status);

/* --- rows of any table ----------------------------------------------------------------------- */

/* Statements for one table, made when first needed. */
typedef struct StoreTable {
    TableId table;
    sqlite3_stmt *select; /* one row by its key: its columns and _act */
    sqlite3_stmt *insert; /* all columns, then _act */
    sqlite3_stmt *drop;   /* by key */
} StoreTable;

/* True for tables that a shop file holds. */
static inline bool store_holds(TableId table) {
    return table_schema(table)->group != GROUP_RESULT;
}

/* Adds what this program has more than the file: tables, columns. */
void store_tables_make(Store *store, Status *status);

/* Columns of a table in the file that this program does not know, as texts. */
void store_strange_columns(Store *store, Arena *arena, TableId table, const char ***names,
                           size_t *count, Status *status);

void store_table_open(Store *store, TableId table, StoreTable *of, Status *status);
void store_table_close(StoreTable *of);

/* The row of that key, as a row in the arena; NULL when there is none. *act is who touched it. */
void *store_row_find(Store *store, Arena *arena, const StoreTable *of, StoreJob job,
                     const void *key, StoreAct *act, Status *status);
void store_row_put(Store *store, const StoreTable *of, StoreJob job, const void *row, StoreAct act,
                   Status *status);
void store_row_drop(Store *store, const StoreTable *of, StoreJob job, const void *key,
                    Status *status);

/* All rows of a table appended to `set`; of acts, when not NULL, their acts (in the arena). */
void store_rows_read(Store *store, Arena *arena, TableId table, StoreJob job, TableSet *set,
                     StoreAct **acts, Status *status);

/* A row as JSON for the log: {"tag": "NAV1", "stub_mm": "150"}, blank columns left out; and back,
 * columns that are not known any more left out. NULL and "" are no row. */
const char *store_row_json(Arena *arena, TableId table, const void *row);
void *store_row_of_json(Arena *arena, TableId table, const char *json);

/* True when all columns hold the same. */
bool store_rows_equal(TableId table, const void *left, const void *right);

/* First key or needed column that is blank; NULL. */
const char *store_row_lacks(TableId table, const void *row);

/* --- acts ------------------------------------------------------------------------------------ */

/* An act under way: its rows are put one by one. */
typedef struct StoreActing {
    Store *store;
    StoreJob job;
    StoreAct act;
    sqlite3_stmt *note; /* into shop_act_row */
    StoreTable *tables; /* by TableId; table.select is NULL until opened */
    size_t rows;
    Arena scratch;
    Status *status;
} StoreActing;

/* Writes the act; `about` 0 for none; state "done" for what can be undone, else "". */
void store_act_begin(StoreActing *acting, Store *store, StoreJob job, const StoreBy *by,
                     const char *kind, const char *state, StoreAct about, Status *status);

/* Puts `after` in the place of `before` (either may be NULL) and notes both. */
void store_act_row(StoreActing *acting, TableId table, const void *before, const void *after);

void store_act_end(StoreActing *acting);

/* After the end of an act that can be undone: one without rows is taken back; one with rows ends
 * what could be redone. */
void store_act_settle(const StoreActing *acting);

/* Makes a table hold what `set` holds, within an act. */
void store_act_replace(StoreActing *acting, TableId table, const TableSet *set);

/* --- bench ----------------------------------------------------------------------------------- */

/* Adds the rows of a table that grows which the file does not have, within a transaction; how many.
 * Those it has stay as they are. */
size_t store_bench_merge(Store *store, StoreJob job, TableId table, const TableSet *set,
                         Status *status);

/* --- revisions ------------------------------------------------------------------------------- */

/* Reads all contents and holds every hash against them. */
Status store_verify_revision(Store *store, const StoreRevision *revision);

/* All revisions of all jobs, in the order in which they were kept. */
StoreRevision *store_all_revisions(Store *store, Arena *arena, size_t *count, Status *status);

#endif
