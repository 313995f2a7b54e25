/* What was shown to customers, signed, answered; and where jobs stand. */
#include <sodium.h>
#include <string.h>

#include "base/check.h"
#include "store/offer.h"
#include "store/store_inner.h"

/* --- texts ----------------------------------------------------------------------------------- */

Status store_keep_text(Store *store, const char *text, size_t length, char hash[REVISION_HEX]) {
    Status status = status_ok();
    revision_hash_bytes(text, length, hash);
    store_begin(store, &status);
    sqlite3_stmt *insert = store_prepare(
        store, "INSERT OR IGNORE INTO shop_content(hash, bytes) VALUES (?1, ?2)", &status);
    store_bind_text(insert, 1, hash);
    sqlite3_bind_blob64(insert, 2, text, length, SQLITE_STATIC);
    store_run(store, insert, &status);
    sqlite3_finalize(insert);
    store_end(store, &status);
    return status;
}

Status store_find_text(Store *store, Arena *arena, const char *hash, const char **text) {
    Status status = status_ok();
    *text = NULL;
    sqlite3_stmt *select =
        store_prepare(store, "SELECT bytes FROM shop_content WHERE hash = ?1", &status);
    store_bind_text(select, 1, hash);
    if (store_step(store, select, &status)) {
        const char *bytes = sqlite3_column_blob(select, 0);
        size_t length = (size_t)sqlite3_column_bytes(select, 0);
        *text = arena_text(arena, bytes == NULL ? "" : bytes, length);
    }
    sqlite3_finalize(select);
    return status;
}

/* --- signing --------------------------------------------------------------------------------- */

static bool read_signer(Store *store, StoreSigner *signer, Status *status) {
    sqlite3_stmt *select =
        store_prepare(store, "SELECT public, secret FROM shop_signer WHERE signer = 1", status);
    bool found = store_step(store, select, status);
    if (found && (sqlite3_column_bytes(select, 0) != SIGNER_PUBLIC_BYTES ||
                  sqlite3_column_bytes(select, 1) != SIGNER_SECRET_BYTES)) {
        *status = status_failed("the shop's key pair is damaged:", store->path, 0);
    } else if (found) {
        memcpy(signer->public_key, sqlite3_column_blob(select, 0), SIGNER_PUBLIC_BYTES);
        memcpy(signer->secret_key, sqlite3_column_blob(select, 1), SIGNER_SECRET_BYTES);
    }
    sqlite3_finalize(select);
    return found;
}

Status store_signer(Store *store, StoreSigner *signer) {
    Status status = status_ok();
    _Static_assert(SIGNER_PUBLIC_BYTES == crypto_sign_PUBLICKEYBYTES &&
                       SIGNER_SECRET_BYTES == crypto_sign_SECRETKEYBYTES,
                   "keys of libsodium");
    CHECK(sodium_init() >= 0);
    *signer = (StoreSigner){.public_key = {0}};
    if (read_signer(store, signer, &status) || status.failed) {
        return status;
    }
    store_begin(store, &status);
    if (!status.failed && !read_signer(store, signer, &status)) { /* nobody was faster */
        crypto_sign_keypair(signer->public_key, signer->secret_key);
        sqlite3_stmt *insert = store_prepare(
            store, "INSERT INTO shop_signer(signer, public, secret) VALUES (1, ?1, ?2)", &status);
        sqlite3_bind_blob(insert, 1, signer->public_key, SIGNER_PUBLIC_BYTES, SQLITE_STATIC);
        sqlite3_bind_blob(insert, 2, signer->secret_key, SIGNER_SECRET_BYTES, SQLITE_STATIC);
        store_run(store, insert, &status);
        sqlite3_finalize(insert);
    }
    store_end(store, &status);
    return status;
}

/* --- packs ----------------------------------------------------------------------------------- */

Status store_note_pack(Store *store, StorePack *pack) {
    Status status = status_ok();
    store_begin(store, &status);
    sqlite3_stmt *insert =
        store_prepare(store,
                      "INSERT INTO shop_pack(job, seen, content, choices, secret, person, at, what,"
                      " ends_s) VALUES (?1, ?2, '', ?3, ?4, ?5, ?6, ?7, ?8)",
                      &status);
    sqlite3_bind_int64(insert, 1, pack->job);
    store_bind_text(insert, 2, pack->seen);
    store_bind_text(insert, 3, pack->choices);
    sqlite3_bind_blob(insert, 4, pack->secret, PACK_SECRET_BYTES, SQLITE_STATIC);
    store_bind_text(insert, 5, pack->person);
    store_bind_text(insert, 6, pack->at);
    store_bind_text(insert, 7, pack->what);
    sqlite3_bind_int64(insert, 8, pack->ends_s);
    store_run(store, insert, &status);
    sqlite3_finalize(insert);
    pack->pack = sqlite3_last_insert_rowid(store->db);
    store_end(store, &status);
    return status;
}

Status store_seal_pack(Store *store, int64_t pack, const char *content) {
    Status status = status_ok();
    sqlite3_stmt *update = store_prepare(
        store, "UPDATE shop_pack SET content = ?2 WHERE pack = ?1 AND content = ''", &status);
    sqlite3_bind_int64(update, 1, pack);
    store_bind_text(update, 2, content);
    store_run(store, update, &status);
    sqlite3_finalize(update);
    return status;
}

Status store_packs(Store *store, Arena *arena, StoreJob job, StorePack **packs, size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *packs = NULL;
    *count = 0;
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT pack, seen, content, choices, secret, person, at, what, ends_s"
                      " FROM shop_pack WHERE job = ?1 AND content <> '' ORDER BY pack DESC",
                      &status);
    sqlite3_bind_int64(select, 1, job);
    while (store_step(store, select, &status)) {
        StorePack *pack = ARENA_PUSH(arena, *packs, *count, capacity);
        *pack = (StorePack){
            .pack = sqlite3_column_int64(select, 0),
            .job = job,
            .seen = store_column_text(arena, select, 1),
            .content = store_column_text(arena, select, 2),
            .choices = store_column_text(arena, select, 3),
            .person = store_column_text(arena, select, 5),
            .at = store_column_text(arena, select, 6),
            .what = store_column_text(arena, select, 7),
            .ends_s = sqlite3_column_int64(select, 8),
        };
        if (sqlite3_column_bytes(select, 4) == PACK_SECRET_BYTES) {
            memcpy(pack->secret, sqlite3_column_blob(select, 4), PACK_SECRET_BYTES);
        }
    }
    sqlite3_finalize(select);
    return status;
}

/* --- books ----------------------------------------------------------------------------------- */

Status store_note_book(Store *store, StoreJob job, const StoreBook *book) {
    Status status = status_ok();
    store_begin(store, &status);
    sqlite3_stmt *insert =
        store_prepare(store,
                      "INSERT INTO shop_book(job, hash, act, person, at, pages, bytes, sha256)"
                      " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                      &status);
    sqlite3_bind_int64(insert, 1, job);
    store_bind_text(insert, 2, book->hash);
    sqlite3_bind_int64(insert, 3, book->act);
    store_bind_text(insert, 4, book->person);
    store_bind_text(insert, 5, book->at);
    sqlite3_bind_int64(insert, 6, book->pages);
    sqlite3_bind_int64(insert, 7, book->bytes);
    store_bind_text(insert, 8, book->sha256);
    store_run(store, insert, &status);
    sqlite3_finalize(insert);
    store_end(store, &status);
    return status;
}

Status store_books(Store *store, Arena *arena, StoreJob job, StoreBook **books, size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *books = NULL;
    *count = 0;
    sqlite3_stmt *select = store_prepare(store,
                                         "SELECT book, hash, act, person, at, pages, bytes, sha256"
                                         " FROM shop_book WHERE job = ?1 ORDER BY book DESC",
                                         &status);
    sqlite3_bind_int64(select, 1, job);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *books, *count, capacity) = (StoreBook){
            .book = sqlite3_column_int64(select, 0),
            .hash = store_column_text(arena, select, 1),
            .act = sqlite3_column_int64(select, 2),
            .person = store_column_text(arena, select, 3),
            .at = store_column_text(arena, select, 4),
            .pages = sqlite3_column_int64(select, 5),
            .bytes = sqlite3_column_int64(select, 6),
            .sha256 = store_column_text(arena, select, 7),
        };
    }
    sqlite3_finalize(select);
    return status;
}

/* --- standings ------------------------------------------------------------------------------- */

/* ?1: the job; ?2: now. Gates, questions and options are rows of the schema's own tables. */
static const char STANDING[] =
    "SELECT j.job,"
    " ifnull((SELECT title FROM job WHERE _job = j.job LIMIT 1), ''),"
    " p.gate, (SELECT step FROM gate WHERE gate = p.gate), p.date, n.gate, n.step,"
    " (SELECT count(*) FROM brief_question q WHERE NOT EXISTS (SELECT 1 FROM brief b WHERE"
    "  b._job = j.job AND b.question = q.question AND ifnull(b.answer, '') <> '')),"
    " (SELECT count(*) FROM brief_question q WHERE q.gate = n.gate AND NOT EXISTS (SELECT 1 FROM"
    "  brief b WHERE b._job = j.job AND b.question = q.question AND ifnull(b.answer, '') <> '')),"
    " (SELECT count(*) FROM \"option\" o WHERE o._job = j.job AND o.chosen IS NULL),"
    " (SELECT count(*) FROM bench_note b WHERE b._job = j.job AND ifnull(b.settles, '') = '' AND "
    "NOT"
    "  EXISTS (SELECT 1 FROM bench_note s WHERE s._job = j.job AND s.settles = b.note)),"
    " ifnull((SELECT min(s) FROM (SELECT made_s AS s FROM shop_link WHERE job = j.job AND ended = 0"
    "  AND ends_s > ?2 UNION ALL SELECT CAST(strftime('%s', at) AS INTEGER) FROM shop_pack WHERE"
    "  job = j.job AND content <> '' AND ends_s > ?2) WHERE s > ifnull((SELECT"
    "  CAST(strftime('%s', max(at)) AS INTEGER) FROM shop_approval WHERE job = j.job), 0)), 0),"
    " a.person, a.at"
    " FROM shop_job j"
    " LEFT JOIN passed p ON p._job = j.job AND p.gate = (SELECT d.gate FROM passed d JOIN gate g"
    "  USING (gate) WHERE d._job = j.job ORDER BY g.rank DESC LIMIT 1)"
    " LEFT JOIN gate n ON n.gate = (SELECT g.gate FROM gate g WHERE NOT EXISTS (SELECT 1 FROM"
    "  passed d WHERE d._job = j.job AND d.gate = g.gate) ORDER BY g.rank LIMIT 1)"
    " LEFT JOIN shop_approval a ON a.approval = (SELECT max(approval) FROM shop_approval WHERE"
    "  job = j.job)"
    " WHERE j.job = ?1";

Status store_standings(Store *store, Arena *arena, const StoreJob *jobs, size_t count,
                       int64_t now_s, StoreStanding *standings) {
    Status status = status_ok();
    sqlite3_stmt *select = store_prepare(store, STANDING, &status);
    for (size_t i = 0; i < count; i++) {
        standings[i] = (StoreStanding){.job = STORE_NO_JOB};
        sqlite3_bind_int64(select, 1, jobs[i]);
        sqlite3_bind_int64(select, 2, now_s);
        if (store_step(store, select, &status)) {
            standings[i] = (StoreStanding){
                .job = sqlite3_column_int64(select, 0),
                .title = store_column_text(arena, select, 1),
                .gate = store_column_text(arena, select, 2),
                .step = store_column_text(arena, select, 3),
                .date = store_column_text(arena, select, 4),
                .next = store_column_text(arena, select, 5),
                .next_step = store_column_text(arena, select, 6),
                .questions = sqlite3_column_int64(select, 7),
                .questions_now = sqlite3_column_int64(select, 8),
                .options = sqlite3_column_int64(select, 9),
                .notes = sqlite3_column_int64(select, 10),
                .waiting_s = sqlite3_column_int64(select, 11),
                .approved_by = store_column_text(arena, select, 12),
                .approved_at = store_column_text(arena, select, 13),
            };
        }
        sqlite3_reset(select);
    }
    sqlite3_finalize(select);
    return status;
}
