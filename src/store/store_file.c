/* The file itself: opening, what it must hold, copying it, looking whether it is whole. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "store/store_inner.h"

/* "MRLG": tells our files from other databases. */
#define STORE_APPLICATION 0x4d524c47
#define STORE_WAIT_MS 5000

/* Of the tables shop_*; those of the schema are compared column by column. The n-th step makes
 * version n of version n - 1, so that a new file and an old one go the same way. */
static const char *const STEPS[] = {
    "CREATE TABLE shop_job(job INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);"
    "CREATE TABLE shop_act(act INTEGER PRIMARY KEY, job INTEGER NOT NULL, kind TEXT NOT NULL,"
    " state TEXT NOT NULL, about INTEGER REFERENCES shop_act, person TEXT NOT NULL,"
    " at TEXT NOT NULL, what TEXT NOT NULL);"
    "CREATE INDEX shop_act_job ON shop_act(job, state, act);"
    "CREATE TABLE shop_act_row(act INTEGER NOT NULL REFERENCES shop_act, place INTEGER NOT NULL,"
    " name TEXT NOT NULL, before TEXT, after TEXT, PRIMARY KEY(act, place)) WITHOUT ROWID;"
    "CREATE TABLE shop_content(hash TEXT PRIMARY KEY, bytes BLOB NOT NULL) WITHOUT ROWID;"
    "CREATE TABLE shop_revision(revision INTEGER PRIMARY KEY, job INTEGER NOT NULL,"
    " name TEXT NOT NULL, hash TEXT NOT NULL, act INTEGER NOT NULL, person TEXT NOT NULL,"
    " at TEXT NOT NULL, what TEXT NOT NULL, program TEXT NOT NULL, UNIQUE(job, name));"
    "CREATE TABLE shop_revision_table(revision INTEGER NOT NULL REFERENCES shop_revision,"
    " place INTEGER NOT NULL, name TEXT NOT NULL, hash TEXT NOT NULL REFERENCES shop_content,"
    " PRIMARY KEY(revision, place)) WITHOUT ROWID;"
    "CREATE TABLE shop_approval(approval INTEGER PRIMARY KEY, job INTEGER NOT NULL,"
    " subject TEXT NOT NULL, hash TEXT NOT NULL, person TEXT NOT NULL, at TEXT NOT NULL,"
    " what TEXT NOT NULL);"
    "INSERT INTO shop_job(job, name) VALUES (0, 'library');",

    /* People, and who came in. Names are compared without regard to the case of A to Z. */
    "CREATE TABLE shop_person(person INTEGER PRIMARY KEY, name TEXT NOT NULL COLLATE NOCASE,"
    " role TEXT NOT NULL, hash TEXT NOT NULL, made TEXT NOT NULL, ended TEXT NOT NULL);"
    "CREATE UNIQUE INDEX shop_person_name ON shop_person(name) WHERE ended = '';"
    "CREATE TABLE shop_session(session INTEGER PRIMARY KEY, hash BLOB NOT NULL UNIQUE,"
    " person INTEGER NOT NULL REFERENCES shop_person, address TEXT NOT NULL,"
    " made_s INTEGER NOT NULL, used_s INTEGER NOT NULL);"
    "CREATE TABLE shop_link(link INTEGER PRIMARY KEY, hash BLOB NOT NULL UNIQUE,"
    " job INTEGER NOT NULL REFERENCES shop_job, subject TEXT NOT NULL, person TEXT NOT NULL,"
    " what TEXT NOT NULL, made_s INTEGER NOT NULL, ends_s INTEGER NOT NULL,"
    " used_s INTEGER NOT NULL, ended INTEGER NOT NULL);"
    "CREATE INDEX shop_link_job ON shop_link(job);"
    "CREATE TABLE shop_door(visit INTEGER PRIMARY KEY, at TEXT NOT NULL, kind TEXT NOT NULL,"
    " person TEXT NOT NULL, address TEXT NOT NULL, what TEXT NOT NULL);",

    /* What customers were sent, what signs it, and books that were built. */
    "CREATE TABLE shop_signer(signer INTEGER PRIMARY KEY, public BLOB NOT NULL,"
    " secret BLOB NOT NULL);"
    "CREATE TABLE shop_pack(pack INTEGER PRIMARY KEY, job INTEGER NOT NULL REFERENCES shop_job,"
    " seen TEXT NOT NULL, content TEXT NOT NULL, choices TEXT NOT NULL, secret BLOB NOT NULL,"
    " person TEXT NOT NULL, at TEXT NOT NULL, what TEXT NOT NULL, ends_s INTEGER NOT NULL);"
    "CREATE INDEX shop_pack_job ON shop_pack(job);"
    "CREATE TABLE shop_book(book INTEGER PRIMARY KEY, job INTEGER NOT NULL REFERENCES shop_job,"
    " hash TEXT NOT NULL, act INTEGER NOT NULL, person TEXT NOT NULL, at TEXT NOT NULL,"
    " pages INTEGER NOT NULL, bytes INTEGER NOT NULL, sha256 TEXT NOT NULL);"
    "CREATE INDEX shop_book_job ON shop_book(job);"
    "CREATE INDEX shop_approval_job ON shop_approval(job);",
};
enum { STORE_VERSION = sizeof STEPS / sizeof *STEPS };

/* --- statements ------------------------------------------------------------------------------ */

Status store_refused(const Store *store, const char *what) {
    int code = store->db == NULL ? SQLITE_CANTOPEN : sqlite3_errcode(store->db);
    const char *said = store->db == NULL ? "out of memory" : sqlite3_errmsg(store->db);
    switch (code & 0xff) {
    case SQLITE_FULL:
        said = "no room is left on the disk; nothing was changed";
        break;
    case SQLITE_IOERR:
        said = "the disk failed to read or write; nothing was changed";
        break;
    case SQLITE_READONLY:
        said = "the file or its folder may not be written; nothing was changed";
        break;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        said = "another program is writing to it; nothing was changed";
        break;
    case SQLITE_NOTADB:
        said = "this is no shop file";
        break;
    case SQLITE_CORRUPT:
        said = "the file is damaged: restore a backup, and run check-shop on this one";
        break;
    default:
        break;
    }
    Status status = status_failed(what, store->path, 0);
    size_t length = strlen(status.text);
    snprintf(status.text + length, sizeof status.text - length, ": %s", said);
    return status;
}

sqlite3_stmt *store_prepare(Store *store, const char *sql, Status *status) {
    sqlite3_stmt *statement = NULL;
    if (!status->failed && sqlite3_prepare_v2(store->db, sql, -1, &statement, NULL) != SQLITE_OK) {
        *status = store_refused(store, "cannot use the shop file");
        return NULL;
    }
    return statement;
}

bool store_step(Store *store, sqlite3_stmt *statement, Status *status) {
    if (status->failed) {
        return false;
    }
    int code = sqlite3_step(statement);
    if (code != SQLITE_ROW && code != SQLITE_DONE) {
        *status = store_refused(store, "cannot use the shop file");
    }
    return code == SQLITE_ROW;
}

void store_run(Store *store, sqlite3_stmt *statement, Status *status) {
    while (store_step(store, statement, status)) {
    }
    sqlite3_reset(statement);
}

void store_execute(Store *store, const char *sql, Status *status) {
    if (!status->failed && sqlite3_exec(store->db, sql, NULL, NULL, NULL) != SQLITE_OK) {
        *status = store_refused(store, "cannot use the shop file");
    }
}

void store_bind_text(sqlite3_stmt *statement, int place, const char *text) {
    sqlite3_bind_text(statement, place, text, -1, SQLITE_STATIC);
}

const char *store_column_text(Arena *arena, sqlite3_stmt *statement, int column) {
    const unsigned char *text = sqlite3_column_text(statement, column);
    int length = sqlite3_column_bytes(statement, column);
    return text == NULL ? "" : arena_text(arena, (const char *)text, (size_t)length);
}

void store_begin(Store *store, Status *status) {
    store_execute(store, "BEGIN IMMEDIATE", status);
}

void store_end(Store *store, Status *status) {
    store_execute(store, "COMMIT", status);
    if (status->failed && sqlite3_get_autocommit(store->db) == 0) {
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
    }
}

/* --- opening --------------------------------------------------------------------------------- */

bool store_is_shop_file(const char *path) {
    static const char HEAD[] = "SQLite format 3";
    char head[sizeof HEAD] = {0};
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return false;
    }
    size_t length = fread(head, 1, sizeof head, file);
    fclose(file);
    return length == sizeof head && memcmp(head, HEAD, sizeof head) == 0;
}

const char *store_now(Arena *arena) {
    struct timespec now;
    struct tm parts;
    clock_gettime(CLOCK_REALTIME, &now);
    gmtime_r(&now.tv_sec, &parts);
    char text[32];
    strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &parts);
    return arena_text(arena, text, strlen(text));
}

static int64_t pragma_value(Store *store, const char *sql, Status *status) {
    int64_t value = 0;
    sqlite3_stmt *statement = store_prepare(store, sql, status);
    if (store_step(store, statement, status)) {
        value = sqlite3_column_int64(statement, 0);
    }
    sqlite3_finalize(statement);
    return value;
}

static Status not_ours(const Store *store, const char *why) {
    Status status = status_failed("cannot use", store->path, 0);
    size_t length = strlen(status.text);
    snprintf(status.text + length, sizeof status.text - length, ": %s", why);
    return status;
}

/* Takes the steps that the file lacks, all or none. Another program may have taken them meanwhile:
 * its version is read again once nobody else can write. */
static void take_steps(Store *store, Status *status) {
    char sql[128];
    store_begin(store, status);
    for (int64_t i = pragma_value(store, "PRAGMA user_version", status);
         i < STORE_VERSION && !status->failed; i++) {
        store_execute(store, STEPS[i], status);
    }
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d",
             STORE_APPLICATION, (int)STORE_VERSION);
    store_execute(store, sql, status);
    store_end(store, status);
}

/* An empty database becomes a shop file; another's is refused. */
static void recognise(Store *store, Status *status) {
    int64_t application = pragma_value(store, "PRAGMA application_id", status);
    int64_t version = pragma_value(store, "PRAGMA user_version", status);
    int64_t objects = pragma_value(store, "SELECT count(*) FROM sqlite_schema", status);
    if (status->failed) {
        return;
    }
    bool empty = application == 0 && objects == 0 && store->writes;
    if (!empty && application != STORE_APPLICATION) {
        *status = not_ours(store, "this is no shop file");
    } else if (version > STORE_VERSION) {
        *status = not_ours(store, "a later version of this program made it");
    } else if (store->writes && version < STORE_VERSION) {
        take_steps(store, status);
    }
}

Status store_open(const char *path, StoreMode mode, Store **store) {
    Status status = status_ok();
    *store = NULL;
    if (mode != STORE_CREATE && !file_is_there(path)) {
        return status_failed("cannot open", path, ENOENT);
    }
    Arena arena = {0};
    Store *opened = ARENA_NEW(&arena, Store);
    opened->path = arena_text(&arena, path, strlen(path));
    opened->writes = mode != STORE_READ;
    opened->arena = arena;
    int flags = SQLITE_OPEN_READWRITE | (mode == STORE_CREATE ? SQLITE_OPEN_CREATE : 0);
    if (mode == STORE_READ && access(path, W_OK) != 0) {
        flags = SQLITE_OPEN_READONLY;
    }
    if (sqlite3_open_v2(path, &opened->db, flags, NULL) != SQLITE_OK) {
        status = store_refused(opened, "cannot open");
        store_close(opened);
        return status;
    }
    sqlite3_extended_result_codes(opened->db, 1);
    sqlite3_busy_timeout(opened->db, STORE_WAIT_MS);
    if (opened->writes) {
        store_execute(opened, "PRAGMA journal_mode = WAL", &status);
    }
    store_execute(opened,
                  "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
                  "PRAGMA trusted_schema = OFF",
                  &status);
    recognise(opened, &status);
    if (opened->writes) {
        store_tables_make(opened, &status);
    } else {
        store_execute(opened, "PRAGMA query_only = ON", &status);
    }
    if (status.failed) {
        store_close(opened);
        return status;
    }
    *store = opened;
    return status;
}

void store_close(Store *store) {
    if (store != NULL) {
        sqlite3_close(store->db);
        Arena arena = store->arena; /* holds the store itself */
        arena_free(&arena);
    }
}

/* --- care ------------------------------------------------------------------------------------ */

Status store_backup(Store *store, const char *path) {
    Status status = status_ok();
    Arena scratch = {0};
    char *beside = arena_format(&scratch, "%s.part-%ld", path, (long)getpid());
    Store copy = {.path = beside};
    if (sqlite3_open(beside, &copy.db) != SQLITE_OK) {
        status = store_refused(&copy, "cannot write");
    } else {
        sqlite3_backup *backup = sqlite3_backup_init(copy.db, "main", store->db, "main");
        int code = backup == NULL ? SQLITE_ERROR : SQLITE_OK;
        while (code == SQLITE_OK || code == SQLITE_BUSY || code == SQLITE_LOCKED) {
            code = sqlite3_backup_step(backup, 1024);
            if (code == SQLITE_BUSY || code == SQLITE_LOCKED) {
                sqlite3_sleep(20);
            }
        }
        sqlite3_backup_finish(backup);
        if (code != SQLITE_DONE) {
            status = store_refused(&copy, "cannot write");
        } else {
            store_execute(&copy, "PRAGMA journal_mode = DELETE", &status);
        }
    }
    sqlite3_close(copy.db);
    struct stat about; /* a copy is for those who may read what it is of */
    if (!status.failed && stat(store->path, &about) == 0 && chmod(beside, about.st_mode) != 0) {
        status = status_failed("cannot write", beside, errno);
    }
    if (!status.failed && rename(beside, path) != 0) {
        status = status_failed("cannot write", path, errno);
    }
    if (status.failed) {
        unlink(beside);
    }
    arena_free(&scratch);
    return status;
}
