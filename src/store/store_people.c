/* People of the shop and the door log. */
#include <sodium.h>
#include <string.h>
#include <sys/stat.h>

#include "base/check.h"
#include "store/people.h"
#include "store/store_inner.h"

/* --- names, roles, passwords ----------------------------------------------------------------- */

static const char *const ROLES[ROLE_COUNT] = {"designer", "bench", "buyer"};

const char *store_role_name(StoreRole role) {
    return ROLES[role];
}

StoreRole store_role_find(const char *name) {
    int role = 0;
    while (role < (int)ROLE_COUNT && strcmp(ROLES[role], name) != 0) {
        role++;
    }
    return (StoreRole)role;
}

const char *people_name_fault(const char *name) {
    size_t length = strlen(name);
    if (length == 0 || length > PEOPLE_NAME_BYTES) {
        return "a name has 1 to 64 bytes";
    }
    if (name[0] == ' ' || name[length - 1] == ' ') {
        return "a name neither begins nor ends with a blank";
    }
    for (size_t i = 0; i < length; i++) {
        if ((unsigned char)name[i] < 0x20 || name[i] == 0x7f) {
            return "a name is one line of text";
        }
    }
    return NULL;
}

const char *people_password_fault(const char *name, const char *password) {
    size_t length = strlen(password);
    if (length < PEOPLE_PASSWORD_LEAST) {
        return "a password has at least 10 characters; a few words will do";
    }
    if (length > PEOPLE_PASSWORD_MOST) {
        return "a password has at most 256 bytes";
    }
    return sqlite3_stricmp(name, password) == 0 ? "a password is not one's name" : NULL;
}

Status people_hash(const char *password, char hash[PEOPLE_HASH_BYTES]) {
    _Static_assert(PEOPLE_HASH_BYTES == crypto_pwhash_STRBYTES, "as libsodium writes it");
    CHECK(sodium_init() >= 0);
    if (crypto_pwhash_str_alg(hash, password, strlen(password), crypto_pwhash_OPSLIMIT_INTERACTIVE,
                              crypto_pwhash_MEMLIMIT_INTERACTIVE,
                              crypto_pwhash_ALG_ARGON2ID13) != 0) {
        return status_failed("cannot hash a password", "no memory", 0);
    }
    return status_ok();
}

bool people_hash_fits(const char *hash, const char *password) {
    /* Of 32 random bytes that nobody kept, at the same cost as people_hash(). */
    static const char NOBODY[PEOPLE_HASH_BYTES] =
        "$argon2id$v=19$m=65536,t=2,p=1$bm9ib2R5IGhhcyB0aGlzIQ$"
        "qd4PfGmPaNjKDjCXJ0cKfYXu9u0MYCBWqAPVqsv8aB0";
    CHECK(sodium_init() >= 0);
    bool nobody = hash == NULL || *hash == '\0';
    bool fits = crypto_pwhash_str_verify(nobody ? NOBODY : hash, password, strlen(password)) == 0;
    return fits && !nobody;
}

/* --- people ---------------------------------------------------------------------------------- */

#define PERSON_COLUMNS "person, name, role, hash <> '', made, ended"

static StorePerson person_of(Arena *arena, sqlite3_stmt *select, int column) {
    StoreRole role = store_role_find(store_column_text(arena, select, column + 2));
    return (StorePerson){
        .person = sqlite3_column_int64(select, column),
        .name = store_column_text(arena, select, column + 1),
        /* A role that this program does not know may do least. */
        .role = role == ROLE_COUNT ? ROLE_BUYER : role,
        .has_password = sqlite3_column_int(select, column + 3) != 0,
        .made = store_column_text(arena, select, column + 4),
        .ended = store_column_text(arena, select, column + 5),
    };
}

Status store_people(Store *store, Arena *arena, StorePerson **people, size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *people = NULL;
    *count = 0;
    sqlite3_stmt *select = store_prepare(
        store, "SELECT " PERSON_COLUMNS " FROM shop_person ORDER BY name, person", &status);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *people, *count, capacity) = person_of(arena, select, 0);
    }
    sqlite3_finalize(select);
    return status;
}

Status store_find_person(Store *store, Arena *arena, const char *name, StorePerson *person,
                         const char **hash, bool *found) {
    Status status = status_ok();
    *found = false;
    sqlite3_stmt *select = store_prepare(
        store, "SELECT " PERSON_COLUMNS ", hash FROM shop_person WHERE name = ?1 AND ended = ''",
        &status);
    store_bind_text(select, 1, name);
    if (store_step(store, select, &status)) {
        *person = person_of(arena, select, 0);
        if (hash != NULL) {
            *hash = store_column_text(arena, select, 6);
        }
        *found = true;
    }
    sqlite3_finalize(select);
    return status;
}

/* --- changes of people ----------------------------------------------------------------------- */

static void note(Store *store, const StoreVisit *visit, Status *status) {
    sqlite3_stmt *insert = store_prepare(store,
                                         "INSERT INTO shop_door(at, kind, person, address, what)"
                                         " VALUES (?1, ?2, ?3, ?4, ?5)",
                                         status);
    store_bind_text(insert, 1, visit->at);
    store_bind_text(insert, 2, visit->kind);
    store_bind_text(insert, 3, visit->person);
    store_bind_text(insert, 4, visit->address);
    store_bind_text(insert, 5, visit->what);
    store_run(store, insert, status);
    sqlite3_finalize(insert);
    sqlite3_stmt *forget = store_prepare(store, "DELETE FROM shop_door WHERE visit <= ?1", status);
    sqlite3_bind_int64(forget, 1, sqlite3_last_insert_rowid(store->db) - DOOR_KEPT);
    store_run(store, forget, status);
    sqlite3_finalize(forget);
}

/* "Bo: bench", by whom. */
static void note_people(Store *store, const StoreBy *by, const char *name, const char *what,
                        Status *status) {
    Arena scratch = {0};
    StoreVisit visit = {.at = by->at,
                        .kind = "people",
                        .person = by->person,
                        .address = "",
                        .what = arena_format(&scratch, "%s: %s", name, what)};
    note(store, &visit, status);
    arena_free(&scratch);
}

/* Runs an UPDATE of the one person who works here by that name (?1), with another text (?2). True
 * when there was one. */
static bool change_person(Store *store, const char *sql, const char *name, const char *text,
                          Status *status) {
    sqlite3_stmt *update = store_prepare(store, sql, status);
    store_bind_text(update, 1, name);
    store_bind_text(update, 2, text);
    store_run(store, update, status);
    bool done = !status->failed && sqlite3_changes(store->db) > 0;
    sqlite3_finalize(update);
    return done;
}

static void end_sessions(Store *store, const char *name, Status *status) {
    sqlite3_stmt *drop = store_prepare(
        store,
        "DELETE FROM shop_session WHERE person IN (SELECT person FROM shop_person WHERE name = ?1)",
        status);
    store_bind_text(drop, 1, name);
    store_run(store, drop, status);
    sqlite3_finalize(drop);
}

static bool is_true(Store *store, const char *sql, const char *name, Status *status) {
    sqlite3_stmt *select = store_prepare(store, sql, status);
    store_bind_text(select, 1, name);
    bool yes = store_step(store, select, status) && sqlite3_column_int(select, 0) != 0;
    sqlite3_finalize(select);
    return yes;
}

/* True when nobody but this person could let anybody in. */
static bool is_last(Store *store, const char *name, Status *status) {
    return is_true(store,
                   "SELECT EXISTS (SELECT 1 FROM shop_person WHERE name = ?1 AND ended = '' AND"
                   " role = 'designer' AND hash <> '') AND NOT EXISTS (SELECT 1 FROM shop_person"
                   " WHERE name <> ?1 AND ended = '' AND role = 'designer' AND hash <> '') AND"
                   " EXISTS (SELECT 1 FROM shop_person WHERE name <> ?1 AND ended = '')",
                   name, status);
}

/* Once people are in it, the file and what the database keeps beside it are for its owner alone. */
static void keep_to_owner(const Store *store) {
    static const char *const ENDINGS[] = {"", "-wal", "-shm"};
    Arena scratch = {0};
    for (size_t i = 0; i < sizeof ENDINGS / sizeof *ENDINGS; i++) {
        const char *path = arena_format(&scratch, "%s%s", store->path, ENDINGS[i]);
        (void)!chmod(path, S_IRUSR | S_IWUSR); /* another's file is theirs to guard */
    }
    arena_free(&scratch);
}

Status store_add_person(Store *store, const StoreBy *by, const char *name, StoreRole role,
                        const char *hash, bool *done) {
    Status status = status_ok();
    CHECK(role < ROLE_COUNT && people_name_fault(name) == NULL);
    store_begin(store, &status);
    *done =
        !is_true(store, "SELECT 1 FROM shop_person WHERE name = ?1 AND ended = ''", name, &status);
    if (*done) {
        sqlite3_stmt *insert =
            store_prepare(store,
                          "INSERT INTO shop_person(name, role, hash, made, ended)"
                          " VALUES (?1, ?2, ?3, ?4, '')",
                          &status);
        store_bind_text(insert, 1, name);
        store_bind_text(insert, 2, ROLES[role]);
        store_bind_text(insert, 3, hash);
        store_bind_text(insert, 4, by->at);
        store_run(store, insert, &status);
        sqlite3_finalize(insert);
        note_people(store, by, name, ROLES[role], &status);
    }
    store_end(store, &status);
    if (*done && !status.failed) {
        keep_to_owner(store);
    }
    return status;
}

Status store_end_person(Store *store, const StoreBy *by, const char *name, bool *done, bool *last) {
    Status status = status_ok();
    *done = false;
    store_begin(store, &status);
    *last = is_last(store, name, &status);
    if (!*last) {
        end_sessions(store, name, &status);
        *done = change_person(store,
                              "UPDATE shop_person SET ended = ?2, hash = ''"
                              " WHERE name = ?1 AND ended = ''",
                              name, by->at, &status);
    }
    if (*done) {
        note_people(store, by, name, "left", &status);
    }
    store_end(store, &status);
    return status;
}

Status store_set_role(Store *store, const StoreBy *by, const char *name, StoreRole role, bool *done,
                      bool *last) {
    Status status = status_ok();
    *done = false;
    store_begin(store, &status);
    *last = role != ROLE_DESIGNER && is_last(store, name, &status);
    if (!*last) {
        end_sessions(store, name, &status);
        *done =
            change_person(store, "UPDATE shop_person SET role = ?2 WHERE name = ?1 AND ended = ''",
                          name, ROLES[role], &status);
    }
    if (*done) {
        note_people(store, by, name, ROLES[role], &status);
    }
    store_end(store, &status);
    return status;
}

Status store_set_password(Store *store, const StoreBy *by, const char *name, const char *hash,
                          bool *done) {
    Status status = status_ok();
    store_begin(store, &status);
    end_sessions(store, name, &status);
    *done = change_person(store, "UPDATE shop_person SET hash = ?2 WHERE name = ?1 AND ended = ''",
                          name, hash, &status);
    if (*done) {
        note_people(store, by, name, "new password", &status);
    }
    store_end(store, &status);
    return status;
}

/* --- the door log ---------------------------------------------------------------------------- */

Status store_note_visit(Store *store, const StoreVisit *visit) {
    Status status = status_ok();
    store_begin(store, &status);
    note(store, visit, &status);
    store_end(store, &status);
    return status;
}

Status store_visits(Store *store, Arena *arena, size_t most, StoreVisit **visits, size_t *count) {
    Status status = status_ok();
    size_t capacity = 0;
    *visits = NULL;
    *count = 0;
    sqlite3_stmt *select =
        store_prepare(store,
                      "SELECT visit, at, kind, person, address, what FROM shop_door"
                      " ORDER BY visit DESC LIMIT ?1",
                      &status);
    sqlite3_bind_int64(select, 1, (int64_t)most);
    while (store_step(store, select, &status)) {
        *ARENA_PUSH(arena, *visits, *count, capacity) = (StoreVisit){
            .visit = sqlite3_column_int64(select, 0),
            .at = store_column_text(arena, select, 1),
            .kind = store_column_text(arena, select, 2),
            .person = store_column_text(arena, select, 3),
            .address = store_column_text(arena, select, 4),
            .what = store_column_text(arena, select, 5),
        };
    }
    sqlite3_finalize(select);
    return status;
}
