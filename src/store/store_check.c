/* Whether the file is whole: the database's own structure, references, hashes, and that the rows
 * are what the log says they became. */
#include <string.h>

#include "base/text.h"
#include "store/store_inner.h"

typedef struct Problems {
    Store *store;
    Arena *arena;
    const char **texts;
    size_t count;
    size_t capacity;
    Status *status;
} Problems;

static void add_problem(Problems *problems, const char *text) {
    *ARENA_PUSH(problems->arena, problems->texts, problems->count, problems->capacity) = text;
}

/* One problem for each row of a query, but for one that says `good`. */
static void each_row(Problems *problems, const char *sql, const char *before, const char *behind,
                     const char *good) {
    sqlite3_stmt *select = store_prepare(problems->store, sql, problems->status);
    while (store_step(problems->store, select, problems->status)) {
        const char *text = store_column_text(problems->arena, select, 0);
        if (strcmp(text, good) != 0) {
            add_problem(problems, arena_format(problems->arena, "%s%s%s", before, text, behind));
        }
    }
    sqlite3_finalize(select);
}

static void check_columns(Problems *problems) {
    for (int i = 0; i < TABLE_COUNT; i++) {
        TableId table = (TableId)i;
        if (!store_holds(table)) {
            continue;
        }
        const char **names;
        size_t count;
        store_strange_columns(problems->store, problems->arena, table, &names, &count,
                              problems->status);
        for (size_t k = 0; k < count; k++) {
            add_problem(problems, arena_format(problems->arena,
                                               "table %s has a column %s that this program does "
                                               "not know: a later version wrote it",
                                               table_schema(table)->name, names[k]));
        }
    }
}

static void check_revisions(Problems *problems) {
    size_t count;
    StoreRevision *revisions =
        store_all_revisions(problems->store, problems->arena, &count, problems->status);
    for (size_t i = 0; i < count; i++) {
        Status status = store_verify_revision(problems->store, &revisions[i]);
        if (status.failed) {
            add_problem(problems, arena_text(problems->arena, status.text, strlen(status.text)));
        }
    }
}

/* Pictures by their hash. */
static void check_photos(Problems *problems) {
    sqlite3_stmt *select =
        store_prepare(problems->store,
                      "SELECT p.photo, p.hash, c.bytes FROM bench_photo p LEFT JOIN shop_content c"
                      " ON c.hash = p.hash ORDER BY p._job, p.photo",
                      problems->status);
    while (store_step(problems->store, select, problems->status)) {
        const char *photo = store_column_text(problems->arena, select, 0);
        const char *wanted = store_column_text(problems->arena, select, 1);
        const void *bytes = sqlite3_column_blob(select, 2);
        char hash[REVISION_HEX] = "";
        if (bytes != NULL) {
            revision_hash_bytes(bytes, (size_t)sqlite3_column_bytes(select, 2), hash);
        }
        if (bytes == NULL) {
            /* Rows may have come as a table alone, from a folder. */
            add_problem(problems, arena_format(problems->arena,
                                               "photo %s: its picture is not in the file", photo));
        } else if (strcmp(hash, wanted) != 0) {
            add_problem(problems,
                        arena_format(problems->arena,
                                     "photo %s: its picture is not the one that was kept", photo));
        }
    }
    sqlite3_finalize(select);
}

/* --- rows against the log -------------------------------------------------------------------- */

/* What the log says each row became. */
typedef struct Noted {
    Arena arena;
    NameMap places;    /* "job table key" -> index */
    const char **rows; /* JSON; "" for none */
    bool *seen;
    size_t count;
    size_t capacity;
} Noted;

static const char *note_name(Noted *noted, StoreJob job, TableId table, const void *row) {
    return arena_format(&noted->arena, "%lld %s %s", (long long)job, table_schema(table)->name,
                        table_row_key(&noted->arena, table, row));
}

static void note(Noted *noted, StoreJob job, TableId table, const char *row_json, bool is_there) {
    const void *row = store_row_of_json(&noted->arena, table, row_json);
    if (row == NULL) {
        return;
    }
    /* Written anew: columns that came or went since count as blank. */
    const char *text = is_there ? store_row_json(&noted->arena, table, row) : "";
    uint32_t at = name_map_add(&noted->places, &noted->arena, note_name(noted, job, table, row),
                               (uint32_t)noted->count);
    if (at == NAME_NONE) {
        *ARENA_PUSH(&noted->arena, noted->rows, noted->count, noted->capacity) = text;
    } else {
        noted->rows[at] = text;
    }
}

/* Goes through the log forwards; what is noted last counts. */
static void read_notes(Problems *problems, Noted *noted) {
    sqlite3_stmt *select = store_prepare(
        problems->store,
        "SELECT a.job, r.name, r.before, r.after FROM shop_act_row r JOIN shop_act a USING (act)"
        " ORDER BY r.act, r.place",
        problems->status);
    while (store_step(problems->store, select, problems->status)) {
        TableId table = table_find(store_column_text(&noted->arena, select, 1));
        if (table != TABLE_COUNT && store_holds(table)) {
            StoreJob job = sqlite3_column_int64(select, 0);
            note(noted, job, table, store_column_text(&noted->arena, select, 2), false);
            note(noted, job, table, store_column_text(&noted->arena, select, 3), true);
        }
    }
    sqlite3_finalize(select);
    noted->seen = ARENA_ARRAY(&noted->arena, bool, noted->count);
}

static void check_rows(Problems *problems, Noted *noted, StoreJob job, const char *job_name,
                       TableId table) {
    TableSet set = {0};
    store_rows_read(problems->store, &noted->arena, table, job, &set, NULL, problems->status);
    for (size_t k = 0; k < set.any[table].count; k++) {
        const void *row = table_row(&set, table, k);
        uint32_t at = name_map_find(&noted->places, note_name(noted, job, table, row));
        if (at != NAME_NONE) {
            noted->seen[at] = true;
        }
        if (at == NAME_NONE ||
            strcmp(noted->rows[at], store_row_json(&noted->arena, table, row)) != 0) {
            add_problem(problems, arena_format(problems->arena,
                                               "job %s, table %s, row %s is not as the log left it",
                                               job_name, table_schema(table)->name,
                                               table_row_key(problems->arena, table, row)));
        }
    }
}

static void check_log(Problems *problems) {
    Noted noted = {0};
    read_notes(problems, &noted);
    sqlite3_stmt *jobs =
        store_prepare(problems->store, "SELECT job, name FROM shop_job", problems->status);
    while (store_step(problems->store, jobs, problems->status)) {
        StoreJob job = sqlite3_column_int64(jobs, 0);
        const char *name = store_column_text(problems->arena, jobs, 1);
        for (int i = 0; i < TABLE_COUNT; i++) {
            if (!revision_grows((TableId)i) &&
                table_schema((TableId)i)->group ==
                    (job == STORE_LIBRARY ? GROUP_LIBRARY : GROUP_JOB)) {
                check_rows(problems, &noted, job, name, (TableId)i);
            }
        }
    }
    sqlite3_finalize(jobs);
    for (size_t i = 0; i < noted.places.capacity; i++) {
        const char *name = noted.places.names[i];
        uint32_t at = name == NULL ? 0 : noted.places.values[i];
        if (name != NULL && *noted.rows[at] != '\0' && !noted.seen[at]) {
            add_problem(problems,
                        arena_format(problems->arena, "a row is gone that the log has: %s", name));
        }
    }
    arena_free(&noted.arena);
}

/* --- exported -------------------------------------------------------------------------------- */

Status store_check(Store *store, Arena *arena, const char ***problems, size_t *count) {
    Status status = status_ok();
    Problems found = {.store = store, .arena = arena, .status = &status};
    each_row(&found, "PRAGMA integrity_check", "the database: ", "", "ok");
    if (found.count == 0) { /* else nothing below can be trusted */
        each_row(&found, "SELECT \"table\" FROM pragma_foreign_key_check", "table ",
                 " points to something that is not there", "");
        check_columns(&found);
        check_revisions(&found);
        check_photos(&found);
        check_log(&found);
    }
    *problems = found.texts;
    *count = found.count;
    return status;
}
