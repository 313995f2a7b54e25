/* Named snapshots and what is bound to them. A revision is a list of tables, each by the hash of
 * its canonical CSV; contents stand once in shop_content whatever number of revisions hold them. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "base/check.h"
#include "store/store_inner.h"

/* --- keeping --------------------------------------------------------------------------------- */

static void keep_content(Store *store, const Buffer *text, const char *hash, Status *status) {
    sqlite3_stmt *insert = store_prepare(
        store, "INSERT OR IGNORE INTO shop_content(hash, bytes) VALUES (?1, ?2)", status);
    store_bind_text(insert, 1, hash);
    sqlite3_bind_blob64(insert, 2, text->bytes, text->length, SQLITE_STATIC);
    store_run(store, insert, status);
    sqlite3_finalize(insert);
}

static void keep_tables(Store *store, int64_t revision, const TableSet *reached, Status *status) {
    sqlite3_stmt *insert = store_prepare(
        store,
        "INSERT INTO shop_revision_table(revision, place, name, hash) VALUES (?1, ?2, ?3, ?4)",
        status);
    for (int i = 0; i < TABLE_COUNT; i++) {
        TableId table = (TableId)i;
        if (!revision_holds(table)) {
            continue;
        }
        Arena scratch = {0};
        Buffer text = {.arena = &scratch};
        table_write_csv(&text, reached, table);
        char hash[REVISION_HEX];
        revision_hash_bytes(text.bytes, text.length, hash);
        keep_content(store, &text, hash, status);
        sqlite3_bind_int64(insert, 1, revision);
        sqlite3_bind_int(insert, 2, i);
        store_bind_text(insert, 3, table_schema(table)->name);
        store_bind_text(insert, 4, hash);
        store_run(store, insert, status);
        arena_free(&scratch);
    }
    sqlite3_finalize(insert);
}

static StoreAct last_act(Store *store, StoreJob job, Status *status) {
    StoreAct act = 0;
    sqlite3_stmt *select =
        store_prepare(store, "SELECT ifnull(max(act), 0) FROM shop_act WHERE job = ?1", status);
    sqlite3_bind_int64(select, 1, job);
    if (store_step(store, select, status)) {
        act = sqlite3_column_int64(select, 0);
    }
    sqlite3_finalize(select);
    return act;
}

static int64_t insert_revision(Store *store, StoreJob job, const StoreBy *by,
                               const StoreRevision *revision, Status *status) {
    sqlite3_stmt *insert =
        store_prepare(store,
                      "INSERT INTO shop_revision(job, name, hash, act, person, at, what, program)"
                      " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                      status);
    sqlite3_bind_int64(insert, 1, job);
    store_bind_text(insert, 2, revision->name);
    store_bind_text(insert, 3, revision->hash);
    sqlite3_bind_int64(insert, 4, revision->act);
    store_bind_text(insert, 5, by->person);
    store_bind_text(insert, 6, by->at);
    store_bind_text(insert, 7, by->what);
    store_bind_text(insert, 8, revision_program());
    store_run(store, insert, status);
    sqlite3_finalize(insert);
    return sqlite3_last_insert_rowid(store->db);
}

Status store_keep(Store *store, Arena *arena, StoreJob job, const StoreBy *by, const char *name,
                  StoreRevision *revision) {
    Status status = status_ok();
    Arena scratch = {0};
    TableSet set = {0};
    TableSet reached;
    StoreRevision earlier;
    bool taken = false;
    store_begin(store, &status);
    if (!status.failed) {
        status = store_find_revision(store, arena, job, name, &earlier, &taken);
    }
    if (taken) {
        status = status_failed("there is a revision of that name already:", name, 0);
    }
    for (int i = 0; i < TABLE_COUNT && !status.failed; i++) {
        if (store_holds((TableId)i)) {
            store_rows_read(store, &scratch, (TableId)i, job, &set, NULL, &status);
        }
    }
    table_set_sort(&set);
    revision_reach(&scratch, &set, &reached);
    *revision = (StoreRevision){
        .name = name,
        .act = last_act(store, job, &status),
        .person = arena_text(arena, by->person, strlen(by->person)),
        .at = arena_text(arena, by->at, strlen(by->at)),
        .what = arena_text(arena, by->what, strlen(by->what)),
        .program = revision_program(),
    };
    revision_hash(&set, revision->hash);
    revision->revision = insert_revision(store, job, by, revision, &status);
    keep_tables(store, revision->revision, &reached, &status);
    store_end(store, &status);
    arena_free(&scratch);
    return status;
}

/* --- finding --------------------------------------------------------------------------------- */

#define REVISION_COLUMNS "SELECT revision, name, hash, act, person, at, what, program"

static StoreRevision read_revision(Arena *arena, sqlite3_stmt *select) {
    StoreRevision revision = {
        .revision = sqlite3_column_int64(select, 0),
        .name = store_column_text(arena, select, 1),
        .act = sqlite3_column_int64(select, 3),
        .person = store_column_text(arena, select, 4),
        .at = store_column_text(arena, select, 5),
        .what = store_column_text(arena, select, 6),
        .program = store_column_text(arena, select, 7),
    };
    snprintf(revision.hash, sizeof revision.hash, "%s", store_column_text(arena, select, 2));
    return revision;
}

Status store_revisions(Store *store, Arena *arena, StoreJob job, StoreRevision **revisions,
                       size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *revisions = NULL;
    *count = 0;
    sqlite3_stmt *select = store_prepare(
        store, REVISION_COLUMNS " FROM shop_revision WHERE job = ?1 ORDER BY revision DESC",
        &status);
    sqlite3_bind_int64(select, 1, job);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *revisions, *count, capacity) = read_revision(arena, select);
    }
    sqlite3_finalize(select);
    return status;
}

StoreRevision *store_all_revisions(Store *store, Arena *arena, size_t *count, Status *status) {
    StoreRevision *revisions = NULL;
    size_t capacity = 0;
    *count = 0;
    sqlite3_stmt *select =
        store_prepare(store, REVISION_COLUMNS " FROM shop_revision ORDER BY revision", status);
    while (store_step(store, select, status)) {
        *ARENA_PUSH(arena, revisions, *count, capacity) = read_revision(arena, select);
    }
    sqlite3_finalize(select);
    return revisions;
}

Status store_find_revision(Store *store, Arena *arena, StoreJob job, const char *name,
                           StoreRevision *revision, bool *found) {
    Status status = status_ok();
    sqlite3_stmt *select = store_prepare(
        store, REVISION_COLUMNS " FROM shop_revision WHERE job = ?1 AND name = ?2", &status);
    sqlite3_bind_int64(select, 1, job);
    store_bind_text(select, 2, name);
    *found = store_step(store, select, &status);
    if (*found) {
        *revision = read_revision(arena, select);
    }
    sqlite3_finalize(select);
    return status;
}

/* --- reading --------------------------------------------------------------------------------- */

static Status hash_wrong(const Store *store, const char *name) {
    Status status = status_failed("cannot use revision", name, 0);
    size_t length = strlen(status.text);
    snprintf(status.text + length, sizeof status.text - length,
             " of '%s': its contents are not those that were kept", store->path);
    return status;
}

/* Goes through the tables of a revision; checks their hashes and its own. `take` may be NULL. */
static Status walk_revision(Store *store, const StoreRevision *revision,
                            void (*take)(void *context, TableId table, const char *bytes,
                                         size_t length),
                            void *context) {
    Status status = status_ok();
    crypto_hash_sha256_state state;
    crypto_hash_sha256_init(&state);
    sqlite3_stmt *select = store_prepare(
        store,
        "SELECT t.name, t.hash, c.bytes FROM shop_revision_table t JOIN shop_content c USING (hash)"
        " WHERE t.revision = ?1 ORDER BY t.place",
        &status);
    sqlite3_bind_int64(select, 1, revision->revision);
    bool whole = true;
    while (whole && store_step(store, select, &status)) {
        const char *name = (const char *)sqlite3_column_text(select, 0);
        const char *bytes = sqlite3_column_blob(select, 2);
        size_t length = (size_t)sqlite3_column_bytes(select, 2);
        bytes = bytes == NULL ? "" : bytes;
        char hash[REVISION_HEX];
        revision_hash_bytes(bytes, length, hash);
        whole = strcmp(hash, (const char *)sqlite3_column_text(select, 1)) == 0;
        crypto_hash_sha256_update(&state, (const unsigned char *)name, strlen(name));
        crypto_hash_sha256_update(&state, (const unsigned char *)"\n", 1);
        crypto_hash_sha256_update(&state, (const unsigned char *)bytes, length);
        TableId table = table_find(name);
        if (whole && take != NULL && table != TABLE_COUNT) {
            take(context, table, bytes, length);
        }
    }
    sqlite3_finalize(select);
    unsigned char digest[crypto_hash_sha256_BYTES];
    char hex[REVISION_HEX];
    crypto_hash_sha256_final(&state, digest);
    sodium_bin2hex(hex, sizeof hex, digest, sizeof digest);
    if (!status.failed && (!whole || strcmp(hex, revision->hash) != 0)) {
        status = hash_wrong(store, revision->name);
    }
    return status;
}

typedef struct Taking {
    Arena *arena;
    TableSet *set;
    Findings *findings;
    const char *path;
} Taking;

static void take_table(void *context, TableId table, const char *bytes, size_t length) {
    Taking *taking = context;
    table_read_text(taking->arena, taking->path, table, bytes, length, taking->set,
                    taking->findings);
}

Status store_load_revision(Store *store, Arena *arena, const StoreRevision *revision, TableSet *set,
                           Findings *findings) {
    if (set->file_count == 0) {
        table_set_file(set, arena, "");
    }
    Taking taking = {.arena = arena,
                     .set = set,
                     .findings = findings,
                     .path = arena_format(arena, "revision %s", revision->name)};
    Status status = walk_revision(store, revision, take_table, &taking);
    table_set_sort(set);
    return status;
}

Status store_restore(Store *store, Arena *arena, StoreJob job, const StoreBy *by,
                     const StoreRevision *revision, size_t *changed) {
    TableSet set = {0};
    Findings findings = {.arena = arena};
    *changed = 0;
    Status status = store_load_revision(store, arena, revision, &set, &findings);
    if (!status.failed && findings.count > 0) {
        status = status_failed("this program can't take all rows of revision", revision->name, 0);
    }
    if (status.failed) {
        return status;
    }
    store_begin(store, &status);
    if (status.failed) {
        return status;
    }
    StoreActing acting;
    store_act_begin(&acting, store, job, by, "restore", "done", 0, &status);
    for (int i = 0; i < TABLE_COUNT; i++) {
        TableId table = (TableId)i;
        if (table_schema(table)->group == GROUP_JOB && revision_holds(table)) {
            store_act_replace(&acting, table, &set);
        }
    }
    store_act_end(&acting);
    *changed = acting.rows;
    store_act_settle(&acting);
    store_end(store, &status);
    return status;
}

Status store_verify_revision(Store *store, const StoreRevision *revision) {
    return walk_revision(store, revision, NULL, NULL);
}

/* --- approvals ------------------------------------------------------------------------------- */

Status store_approve(Store *store, StoreJob job, const StoreBy *by, const char *subject,
                     const char *hash) {
    Status status = status_ok();
    store_begin(store, &status);
    sqlite3_stmt *insert =
        store_prepare(store,
                      "INSERT INTO shop_approval(job, subject, hash, person, at, what)"
                      " VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                      &status);
    sqlite3_bind_int64(insert, 1, job);
    store_bind_text(insert, 2, subject);
    store_bind_text(insert, 3, hash);
    store_bind_text(insert, 4, by->person);
    store_bind_text(insert, 5, by->at);
    store_bind_text(insert, 6, by->what);
    store_run(store, insert, &status);
    sqlite3_finalize(insert);
    store_end(store, &status);
    return status;
}

Status store_approvals(Store *store, Arena *arena, StoreJob job, StoreApproval **approvals,
                       size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *approvals = NULL;
    *count = 0;
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT subject, hash, person, at, what FROM shop_approval WHERE job = ?1"
                      " ORDER BY approval DESC",
                      &status);
    sqlite3_bind_int64(select, 1, job);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *approvals, *count, capacity) = (StoreApproval){
            .subject = store_column_text(arena, select, 0),
            .hash = store_column_text(arena, select, 1),
            .person = store_column_text(arena, select, 2),
            .at = store_column_text(arena, select, 3),
            .what = store_column_text(arena, select, 4),
        };
    }
    sqlite3_finalize(select);
    return status;
}
