/* Sessions and links: who has the token of one is taken for its person or customer. */
#include <sodium.h>
#include <string.h>
#include <time.h>

#include "base/check.h"
#include "store/people.h"
#include "store/store_inner.h"

enum { SECRET_BYTES = 32 };

int64_t store_now_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec;
}

/* The file keeps this of a token. A plain hash will do: tokens are random, nobody guesses them. */
static void bind_hash(sqlite3_stmt *statement, int place, const char *token) {
    unsigned char hash[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(hash, (const unsigned char *)token, strlen(token));
    sqlite3_bind_blob(statement, place, hash, sizeof hash, SQLITE_TRANSIENT);
}

static void make_token(char token[STORE_TOKEN_BYTES]) {
    unsigned char secret[SECRET_BYTES];
    _Static_assert(sodium_base64_ENCODED_LEN(
                       SECRET_BYTES, sodium_base64_VARIANT_URLSAFE_NO_PADDING) == STORE_TOKEN_BYTES,
                   "room for a token");
    CHECK(sodium_init() >= 0);
    randombytes_buf(secret, sizeof secret);
    sodium_bin2base64(token, STORE_TOKEN_BYTES, secret, sizeof secret,
                      sodium_base64_VARIANT_URLSAFE_NO_PADDING);
    sodium_memzero(secret, sizeof secret);
}

static bool has_form_of_token(const char *token) {
    return strlen(token) == STORE_TOKEN_BYTES - 1;
}

/* --- sessions -------------------------------------------------------------------------------- */

Status store_begin_session(Store *store, int64_t person, const char *hash, const char *address,
                           int64_t now_s, char token[STORE_TOKEN_BYTES]) {
    Status status = status_ok();
    make_token(token);
    store_begin(store, &status);
    sqlite3_stmt *forget =
        store_prepare(store, "DELETE FROM shop_session WHERE used_s < ?1 OR made_s < ?2", &status);
    sqlite3_bind_int64(forget, 1, now_s - SESSION_IDLE_S);
    sqlite3_bind_int64(forget, 2, now_s - SESSION_LONGEST_S);
    store_run(store, forget, &status);
    sqlite3_finalize(forget);
    sqlite3_stmt *insert =
        store_prepare(store,
                      "INSERT INTO shop_session(hash, person, address, made_s, used_s)"
                      " SELECT ?1, person, ?3, ?4, ?4 FROM shop_person"
                      " WHERE person = ?2 AND hash = ?5 AND ended = ''",
                      &status);
    bind_hash(insert, 1, token);
    sqlite3_bind_int64(insert, 2, person);
    store_bind_text(insert, 3, address);
    sqlite3_bind_int64(insert, 4, now_s);
    store_bind_text(insert, 5, hash);
    store_run(store, insert, &status);
    sqlite3_finalize(insert);
    store_end(store, &status);
    return status;
}

/* A file that can't be written just now keeps nobody from reading: the use is noted the next time.
 */
static void note_use(Store *store, const char *sql, int64_t number, int64_t now_s) {
    Status status = status_ok();
    sqlite3_stmt *update = store_prepare(store, sql, &status);
    sqlite3_bind_int64(update, 1, number);
    sqlite3_bind_int64(update, 2, now_s);
    store_run(store, update, &status);
    sqlite3_finalize(update);
}

Status store_find_session(Store *store, Arena *arena, const char *token, int64_t now_s,
                          StoreSession *session, bool *found) {
    Status status = status_ok();
    *found = false;
    if (!has_form_of_token(token)) {
        return status;
    }
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT s.session, s.address, s.made_s, s.used_s, p.person, p.name, p.role,"
                      " p.made FROM shop_session s JOIN shop_person p USING (person)"
                      " WHERE s.hash = ?1 AND p.ended = '' AND s.used_s >= ?2 AND s.made_s >= ?3",
                      &status);
    bind_hash(select, 1, token);
    sqlite3_bind_int64(select, 2, now_s - SESSION_IDLE_S);
    sqlite3_bind_int64(select, 3, now_s - SESSION_LONGEST_S);
    if (store_step(store, select, &status)) {
        StoreRole role = store_role_find(store_column_text(arena, select, 6));
        *session = (StoreSession){
            .session = sqlite3_column_int64(select, 0),
            .address = store_column_text(arena, select, 1),
            .made_s = sqlite3_column_int64(select, 2),
            .used_s = sqlite3_column_int64(select, 3),
            .person = {.person = sqlite3_column_int64(select, 4),
                       .name = store_column_text(arena, select, 5),
                       .role = role == ROLE_COUNT ? ROLE_BUYER : role,
                       .has_password = true,
                       .made = store_column_text(arena, select, 7),
                       .ended = ""},
        };
        *found = true;
    }
    sqlite3_finalize(select);
    if (*found && now_s - session->used_s >= SESSION_NOTE_S) {
        note_use(store, "UPDATE shop_session SET used_s = ?2 WHERE session = ?1", session->session,
                 now_s);
        session->used_s = now_s;
    }
    return status;
}

Status store_end_session(Store *store, const char *token) {
    Status status = status_ok();
    sqlite3_stmt *drop = store_prepare(store, "DELETE FROM shop_session WHERE hash = ?1", &status);
    bind_hash(drop, 1, token);
    store_run(store, drop, &status);
    sqlite3_finalize(drop);
    return status;
}

/* --- links ----------------------------------------------------------------------------------- */

#define LINK_COLUMNS "link, job, subject, person, what, made_s, ends_s, used_s, ended"

static StoreLink link_of(Arena *arena, sqlite3_stmt *select) {
    return (StoreLink){
        .link = sqlite3_column_int64(select, 0),
        .job = sqlite3_column_int64(select, 1),
        .subject = store_column_text(arena, select, 2),
        .person = store_column_text(arena, select, 3),
        .what = store_column_text(arena, select, 4),
        .made_s = sqlite3_column_int64(select, 5),
        .ends_s = sqlite3_column_int64(select, 6),
        .used_s = sqlite3_column_int64(select, 7),
        .ended = sqlite3_column_int(select, 8) != 0,
    };
}

static void note_link(Store *store, const StoreBy *by, StoreJob job, const char *what,
                      Status *status) {
    Arena scratch = {0};
    sqlite3_stmt *insert = store_prepare(store,
                                         "INSERT INTO shop_door(at, kind, person, address, what)"
                                         " SELECT ?1, 'link', ?2, '', name || ?3 FROM shop_job"
                                         " WHERE job = ?4",
                                         status);
    store_bind_text(insert, 1, by->at);
    store_bind_text(insert, 2, by->person);
    store_bind_text(insert, 3, arena_format(&scratch, ": %s", what));
    sqlite3_bind_int64(insert, 4, job);
    store_run(store, insert, status);
    sqlite3_finalize(insert);
    arena_free(&scratch);
}

Status store_make_link(Store *store, const StoreBy *by, StoreJob job, const char *subject,
                       int64_t now_s, int64_t ends_s, char token[STORE_TOKEN_BYTES]) {
    Status status = status_ok();
    Arena scratch = {0};
    make_token(token);
    store_begin(store, &status);
    sqlite3_stmt *insert =
        store_prepare(store,
                      "INSERT INTO shop_link(hash, job, subject, person, what, made_s, ends_s,"
                      " used_s, ended) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, 0, 0)",
                      &status);
    bind_hash(insert, 1, token);
    sqlite3_bind_int64(insert, 2, job);
    store_bind_text(insert, 3, subject);
    store_bind_text(insert, 4, by->person);
    store_bind_text(insert, 5, by->what);
    sqlite3_bind_int64(insert, 6, now_s);
    sqlite3_bind_int64(insert, 7, ends_s);
    store_run(store, insert, &status);
    sqlite3_finalize(insert);
    note_link(store, by, job, arena_format(&scratch, "%s made for %s", subject, by->what), &status);
    store_end(store, &status);
    arena_free(&scratch);
    return status;
}

Status store_find_link(Store *store, Arena *arena, const char *token, int64_t now_s,
                       StoreLink *link, bool *found) {
    Status status = status_ok();
    *found = false;
    if (!has_form_of_token(token)) {
        return status;
    }
    sqlite3_stmt *select = store_prepare(store,
                                         "SELECT " LINK_COLUMNS " FROM shop_link"
                                         " WHERE hash = ?1 AND ended = 0 AND ends_s > ?2",
                                         &status);
    bind_hash(select, 1, token);
    sqlite3_bind_int64(select, 2, now_s);
    if (store_step(store, select, &status)) {
        *link = link_of(arena, select);
        *found = true;
    }
    sqlite3_finalize(select);
    if (*found && now_s - link->used_s >= SESSION_NOTE_S) {
        note_use(store, "UPDATE shop_link SET used_s = ?2 WHERE link = ?1", link->link, now_s);
        link->used_s = now_s;
    }
    return status;
}

Status store_links(Store *store, Arena *arena, StoreJob job, StoreLink **links, size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *links = NULL;
    *count = 0;
    sqlite3_stmt *select = store_prepare(
        store, "SELECT " LINK_COLUMNS " FROM shop_link WHERE job = ?1 ORDER BY link DESC", &status);
    sqlite3_bind_int64(select, 1, job);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *links, *count, capacity) = link_of(arena, select);
    }
    sqlite3_finalize(select);
    return status;
}

Status store_end_link(Store *store, const StoreBy *by, StoreJob job, int64_t link, bool *done) {
    Status status = status_ok();
    store_begin(store, &status);
    sqlite3_stmt *update = store_prepare(
        store, "UPDATE shop_link SET ended = 1 WHERE link = ?1 AND job = ?2 AND ended = 0",
        &status);
    sqlite3_bind_int64(update, 1, link);
    sqlite3_bind_int64(update, 2, job);
    store_run(store, update, &status);
    *done = !status.failed && sqlite3_changes(store->db) > 0;
    sqlite3_finalize(update);
    if (*done) {
        note_link(store, by, job, "taken back", &status);
    }
    store_end(store, &status);
    return status;
}
