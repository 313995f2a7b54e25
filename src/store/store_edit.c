/* Acts. Every change of rows goes through store_act_row(), which puts the row and notes what was
 * and what is; so undoing is putting the noted rows back, and the log is whole. An undo is an act
 * of its own, which itself can't be undone but redone: what is in effect stands in `state`. */
#include <string.h>

#include "base/check.h"
#include "store/store_inner.h"

/* --- one act --------------------------------------------------------------------------------- */

void store_act_begin(StoreActing *acting, Store *store, StoreJob job, const StoreBy *by,
                     const char *kind, const char *state, StoreAct about, Status *status) {
    *acting = (StoreActing){.store = store, .job = job, .status = status};
    acting->tables = ARENA_ARRAY(&acting->scratch, StoreTable, TABLE_COUNT);
    sqlite3_stmt *insert =
        store_prepare(store,
                      "INSERT INTO shop_act(job, kind, state, about, person, at, what)"
                      " VALUES (?1, ?2, ?3, nullif(?4, 0), ?5, ?6, ?7)",
                      status);
    sqlite3_bind_int64(insert, 1, job);
    store_bind_text(insert, 2, kind);
    store_bind_text(insert, 3, state);
    sqlite3_bind_int64(insert, 4, about);
    store_bind_text(insert, 5, by->person);
    store_bind_text(insert, 6, by->at);
    store_bind_text(insert, 7, by->what);
    store_run(store, insert, status);
    sqlite3_finalize(insert);
    acting->act = sqlite3_last_insert_rowid(store->db);
    acting->note = store_prepare(
        store,
        "INSERT INTO shop_act_row(act, place, name, before, after) VALUES (?1, ?2, ?3, ?4, ?5)",
        status);
}

static StoreTable *acting_table(StoreActing *acting, TableId table) {
    StoreTable *of = &acting->tables[table];
    if (of->select == NULL) {
        store_table_open(acting->store, table, of, acting->status);
    }
    return of;
}

void store_act_row(StoreActing *acting, TableId table, const void *before, const void *after) {
    if (acting->status->failed) {
        return;
    }
    StoreTable *of = acting_table(acting, table);
    Arena scratch = {0};
    if (before != NULL) {
        store_row_drop(acting->store, of, acting->job, before, acting->status);
    }
    if (after != NULL) {
        store_row_put(acting->store, of, acting->job, after, acting->act, acting->status);
    }
    sqlite3_bind_int64(acting->note, 1, acting->act);
    sqlite3_bind_int64(acting->note, 2, (int64_t)acting->rows++);
    store_bind_text(acting->note, 3, table_schema(table)->name);
    store_bind_text(acting->note, 4,
                    before == NULL ? NULL : store_row_json(&scratch, table, before));
    store_bind_text(acting->note, 5, after == NULL ? NULL : store_row_json(&scratch, table, after));
    store_run(acting->store, acting->note, acting->status);
    arena_free(&scratch);
}

void store_act_end(StoreActing *acting) {
    sqlite3_finalize(acting->note);
    for (int i = 0; i < TABLE_COUNT; i++) {
        store_table_close(&acting->tables[i]);
    }
    arena_free(&acting->scratch);
}

void store_act_replace(StoreActing *acting, TableId table, const TableSet *set) {
    Arena scratch = {0};
    TableSet now = {0};
    store_rows_read(acting->store, &scratch, table, acting->job, &now, NULL, acting->status);
    table_set_sort(&now);
    size_t old = 0;
    size_t new = 0;
    while (old < now.any[table].count || new < set->any[table].count) {
        const void *was = old < now.any[table].count ? table_row(&now, table, old) : NULL;
        const void *is = new < set->any[table].count ? table_row(set, table, new) : NULL;
        int order = was == NULL ? 1 : is == NULL ? -1 : table_row_compare(table, was, is);
        if (order < 0) {
            store_act_row(acting, table, was, NULL);
        } else if (order > 0) {
            store_act_row(acting, table, NULL, is);
        } else if (!store_rows_equal(table, was, is)) {
            store_act_row(acting, table, was, is);
        }
        old += order <= 0 ? 1 : 0;
        new += order >= 0 ? 1 : 0;
    }
    arena_free(&scratch);
}

/* What was undone can't be redone after something else. */
static void forget_undone(Store *store, StoreJob job, Status *status) {
    sqlite3_stmt *update = store_prepare(
        store, "UPDATE shop_act SET state = 'gone' WHERE job = ?1 AND state = 'undone'", status);
    sqlite3_bind_int64(update, 1, job);
    store_run(store, update, status);
    sqlite3_finalize(update);
}

static void drop_act(Store *store, StoreAct act, Status *status) {
    sqlite3_stmt *drop = store_prepare(store, "DELETE FROM shop_act WHERE act = ?1", status);
    sqlite3_bind_int64(drop, 1, act);
    store_run(store, drop, status);
    sqlite3_finalize(drop);
}

void store_act_settle(const StoreActing *acting) {
    if (acting->rows == 0) {
        drop_act(acting->store, acting->act, acting->status);
    } else {
        forget_undone(acting->store, acting->job, acting->status);
    }
}

/* --- edits ----------------------------------------------------------------------------------- */

/* Fills in who made an act. */
static void tell_act(Store *store, Arena *arena, StoreAct act, StoreAnswer *answer,
                     Status *status) {
    sqlite3_stmt *select =
        store_prepare(store, "SELECT person, at FROM shop_act WHERE act = ?1", status);
    sqlite3_bind_int64(select, 1, act);
    if (store_step(store, select, status)) {
        answer->person = store_column_text(arena, select, 0);
        answer->at = store_column_text(arena, select, 1);
    }
    sqlite3_finalize(select);
    answer->act = act;
}

/* The last act that dropped a row of that key; 0. */
static StoreAct dropped_by(Store *store, StoreJob job, TableId table, const void *row,
                           Status *status) {
    Arena scratch = {0};
    StoreAct act = 0;
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT r.act, r.before FROM shop_act_row r JOIN shop_act a USING (act)"
                      " WHERE a.job = ?1 AND r.name = ?2 AND r.after IS NULL ORDER BY r.act DESC",
                      status);
    sqlite3_bind_int64(select, 1, job);
    store_bind_text(select, 2, table_schema(table)->name);
    while (act == 0 && store_step(store, select, status)) {
        void *before = store_row_of_json(&scratch, table, store_column_text(&scratch, select, 1));
        if (before != NULL && table_row_compare(table, before, row) == 0) {
            act = sqlite3_column_int64(select, 0);
        }
    }
    sqlite3_finalize(select);
    arena_free(&scratch);
    return act;
}

/* Does one edit, or says in *answer why not. */
static void edit_one(StoreActing *acting, Arena *arena, const StoreEdit *edit,
                     StoreAnswer *answer) {
    Store *store = acting->store;
    TableId table = edit->table;
    CHECK(store_holds(table) && (edit->before != NULL || edit->after != NULL));
    StoreAct act = 0;
    const void *now = NULL;
    if (edit->after != NULL) {
        answer->column = store_row_lacks(table, edit->after);
        if (answer->column != NULL) {
            answer->refusal = STORE_BLANK;
            return;
        }
    }
    if (edit->before != NULL) {
        now = store_row_find(store, arena, acting_table(acting, table), acting->job, edit->before,
                             &act, acting->status);
        if (now == NULL) {
            answer->refusal = STORE_GONE;
            tell_act(store, arena,
                     dropped_by(store, acting->job, table, edit->before, acting->status), answer,
                     acting->status);
            return;
        }
        if (edit->seen != 0 && act != edit->seen) {
            answer->refusal = STORE_CHANGED;
            tell_act(store, arena, act, answer, acting->status);
            return;
        }
    }
    bool same_key =
        now != NULL && edit->after != NULL && table_row_compare(table, now, edit->after) == 0;
    if (edit->after != NULL && !same_key &&
        store_row_find(store, arena, acting_table(acting, table), acting->job, edit->after, &act,
                       acting->status) != NULL) {
        answer->refusal = STORE_THERE;
        tell_act(store, arena, act, answer, acting->status);
        return;
    }
    if (!same_key || !store_rows_equal(table, now, edit->after)) {
        store_act_row(acting, table, now, edit->after);
    }
}

Status store_edit(Store *store, Arena *arena, StoreJob job, const StoreBy *by,
                  const StoreEdit *edits, size_t count, StoreAnswer *answer) {
    Status status = status_ok();
    *answer = (StoreAnswer){.person = "", .at = ""};
    store_begin(store, &status);
    if (status.failed) {
        return status;
    }
    StoreActing acting;
    store_act_begin(&acting, store, job, by, "edit", "done", 0, &status);
    for (size_t i = 0; i < count && answer->refusal == STORE_DONE && !status.failed; i++) {
        answer->edit = i;
        edit_one(&acting, arena, &edits[i], answer);
    }
    store_act_end(&acting);
    if (answer->refusal == STORE_DONE) {
        answer->act = acting.act;
        store_act_settle(&acting);
        store_end(store, &status);
    } else {
        store_execute(store, "ROLLBACK", &status);
    }
    return status;
}

Status store_replace(Store *store, StoreJob job, const StoreBy *by, const TableId *tables,
                     size_t count, const TableSet *set, size_t *changed) {
    Status status = status_ok();
    *changed = 0;
    store_begin(store, &status);
    if (status.failed) {
        return status;
    }
    StoreActing acting;
    store_act_begin(&acting, store, job, by, "edit", "done", 0, &status);
    for (size_t i = 0; i < count; i++) {
        store_act_replace(&acting, tables[i], set);
    }
    store_act_end(&acting);
    *changed = acting.rows;
    store_act_settle(&acting);
    store_end(store, &status);
    return status;
}

Status store_row_act(Store *store, StoreJob job, TableId table, const void *row, StoreAct *act) {
    Status status = status_ok();
    Arena scratch = {0};
    StoreTable of;
    store_table_open(store, table, &of, &status);
    *act = 0;
    if (!status.failed) {
        store_row_find(store, &scratch, &of, job, row, act, &status);
    }
    store_table_close(&of);
    arena_free(&scratch);
    return status;
}

/* --- undo, redo ------------------------------------------------------------------------------ */

typedef struct NotedRow {
    TableId table;
    void *before;
    void *after;
} NotedRow;

/* Rows of an act in the order in which they were put; those of tables that are no more are left
 * out. */
static NotedRow *read_notes(Store *store, Arena *arena, StoreAct act, size_t *count,
                            Status *status) {
    NotedRow *rows = NULL;
    size_t capacity = 0;
    *count = 0;
    sqlite3_stmt *select = store_prepare(
        store, "SELECT name, before, after FROM shop_act_row WHERE act = ?1 ORDER BY place",
        status);
    sqlite3_bind_int64(select, 1, act);
    while (store_step(store, select, status)) {
        TableId table = table_find(store_column_text(arena, select, 0));
        if (table != TABLE_COUNT) {
            *ARENA_PUSH(arena, rows, *count, capacity) = (NotedRow){
                .table = table,
                .before = store_row_of_json(arena, table, store_column_text(arena, select, 1)),
                .after = store_row_of_json(arena, table, store_column_text(arena, select, 2)),
            };
        }
    }
    sqlite3_finalize(select);
    return rows;
}

static void set_state(Store *store, StoreAct act, const char *state, Status *status) {
    sqlite3_stmt *update =
        store_prepare(store, "UPDATE shop_act SET state = ?2 WHERE act = ?1", status);
    sqlite3_bind_int64(update, 1, act);
    store_bind_text(update, 2, state);
    store_run(store, update, status);
    sqlite3_finalize(update);
}

static Status turn(Store *store, StoreJob job, const StoreBy *by, const char *find, bool undo,
                   StoreAct *about) {
    Status status = status_ok();
    *about = 0;
    store_begin(store, &status);
    sqlite3_stmt *select = store_prepare(store, find, &status);
    sqlite3_bind_int64(select, 1, job);
    if (store_step(store, select, &status)) {
        *about = sqlite3_column_int64(select, 0);
    }
    sqlite3_finalize(select);
    if (*about != 0) {
        Arena scratch = {0};
        size_t count;
        NotedRow *rows = read_notes(store, &scratch, *about, &count, &status);
        StoreActing acting;
        store_act_begin(&acting, store, job, by, undo ? "undo" : "redo", "", *about, &status);
        for (size_t i = 0; i < count; i++) {
            const NotedRow *row = &rows[undo ? count - 1 - i : i];
            store_act_row(&acting, row->table, undo ? row->after : row->before,
                          undo ? row->before : row->after);
        }
        store_act_end(&acting);
        set_state(store, *about, undo ? "undone" : "done", &status);
        arena_free(&scratch);
    }
    store_end(store, &status);
    if (status.failed) {
        *about = 0;
    }
    return status;
}

Status store_undo(Store *store, StoreJob job, const StoreBy *by, StoreAct *act) {
    return turn(store, job, by, "SELECT max(act) FROM shop_act WHERE job = ?1 AND state = 'done'",
                true, act);
}

Status store_redo(Store *store, StoreJob job, const StoreBy *by, StoreAct *act) {
    return turn(store, job, by, "SELECT min(act) FROM shop_act WHERE job = ?1 AND state = 'undone'",
                false, act);
}

Status store_last_acts(Store *store, StoreJob job, StoreAct *of_job, StoreAct *of_library) {
    Status status = status_ok();
    *of_job = 0;
    *of_library = 0;
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT ifnull((SELECT max(act) FROM shop_act WHERE job = ?1), 0),"
                      " ifnull((SELECT max(act) FROM shop_act WHERE job = 0), 0)",
                      &status);
    sqlite3_bind_int64(select, 1, job);
    if (store_step(store, select, &status)) {
        *of_job = sqlite3_column_int64(select, 0);
        *of_library = sqlite3_column_int64(select, 1);
    }
    sqlite3_finalize(select);
    return status;
}

/* --- the log --------------------------------------------------------------------------------- */

Status store_log(Store *store, Arena *arena, StoreJob job, size_t most, StoreActInfo **acts,
                 size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *acts = NULL;
    *count = 0;
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT a.act, a.kind, a.state, ifnull(a.about, 0), a.person, a.at, a.what,"
                      " (SELECT count(*) FROM shop_act_row r WHERE r.act = a.act)"
                      " FROM shop_act a WHERE a.job = ?1 ORDER BY a.act DESC LIMIT ?2",
                      &status);
    sqlite3_bind_int64(select, 1, job);
    sqlite3_bind_int64(select, 2, (int64_t)most);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *acts, *count, capacity) = (StoreActInfo){
            .act = sqlite3_column_int64(select, 0),
            .kind = store_column_text(arena, select, 1),
            .state = store_column_text(arena, select, 2),
            .about = sqlite3_column_int64(select, 3),
            .person = store_column_text(arena, select, 4),
            .at = store_column_text(arena, select, 5),
            .what = store_column_text(arena, select, 6),
            .rows = sqlite3_column_int64(select, 7),
        };
    }
    sqlite3_finalize(select);
    return status;
}
