#define _GNU_SOURCE /* memmem */
/* People, sessions, links and the door log in a shop file: what is kept, what is over when, and
 * that the file gives no secret away. */
#include <math.h>
#include <setjmp.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/file.h"
#include "store/people.h"

static const StoreBy BY = {.person = "Ada", .at = "2026-05-11T08:30:00Z", .what = "test"};
static const char PASSWORD[] = "four words of nonsense";
enum { NOW_S = 1780000000 };

typedef struct Bench {
    Arena arena;
    char folder[64];
    char path[128];
    Store *store;
} Bench;

#define GOOD(call)                                                                                 \
    do {                                                                                           \
        Status good = (call);                                                                      \
        if (good.failed) {                                                                         \
            fail_msg("%s", good.text);                                                             \
        }                                                                                          \
    } while (0)

static int set_up(void **state) {
    Bench *bench = calloc(1, sizeof *bench);
    *state = bench;
    snprintf(bench->folder, sizeof bench->folder, "/tmp/marling-people-XXXXXX");
    assert_non_null(mkdtemp(bench->folder));
    snprintf(bench->path, sizeof bench->path, "%s/shop.db", bench->folder);
    GOOD(store_open(bench->path, STORE_CREATE, &bench->store));
    return 0;
}

static int tear_down(void **state) {
    Bench *bench = *state;
    store_close(bench->store);
    file_remove_folder(bench->folder);
    arena_free(&bench->arena);
    free(bench);
    return 0;
}

static bool add(Bench *bench, const char *name, StoreRole role, const char *hash) {
    bool done;
    GOOD(store_add_person(bench->store, &BY, name, role, hash, &done));
    return done;
}

static int64_t number_of(Bench *bench, const char *name) {
    StorePerson person;
    bool found;
    GOOD(store_find_person(bench->store, &bench->arena, name, &person, NULL, &found));
    assert_true(found);
    return person.person;
}

static bool session_holds(Bench *bench, const char *token, int64_t now_s) {
    StoreSession session;
    bool found;
    GOOD(store_find_session(bench->store, &bench->arena, token, now_s, &session, &found));
    return found;
}

static bool link_holds(Bench *bench, const char *token, int64_t now_s) {
    StoreLink link;
    bool found;
    GOOD(store_find_link(bench->store, &bench->arena, token, now_s, &link, &found));
    return found;
}

/* --- people ---------------------------------------------------------------------------------- */

static void people_come_and_go(void **state) {
    Bench *bench = *state;
    assert_true(add(bench, "Ada", ROLE_DESIGNER, "x"));
    assert_true(add(bench, "Bo", ROLE_BENCH, ""));
    assert_false(add(bench, "ada", ROLE_BUYER, "")); /* whatever the case */
    bool done;
    bool last;
    GOOD(store_end_person(bench->store, &BY, "Ada", &done, &last));
    assert_true(!done && last); /* nobody could let anybody in any more */
    GOOD(store_set_role(bench->store, &BY, "Ada", ROLE_BENCH, &done, &last));
    assert_true(!done && last);
    GOOD(store_set_role(bench->store, &BY, "Bo", ROLE_DESIGNER, &done, &last));
    assert_true(done && !last);
    GOOD(store_end_person(bench->store, &BY, "Ada", &done, &last));
    assert_true(!done && last); /* Bo has no password yet */
    GOOD(store_set_password(bench->store, &BY, "Bo", "y", &done));
    assert_true(done);
    GOOD(store_end_person(bench->store, &BY, "Ada", &done, &last));
    assert_true(done && !last);
    GOOD(store_end_person(bench->store, &BY, "Ada", &done, &last));
    assert_true(!done && !last); /* has left already */
    GOOD(store_set_password(bench->store, &BY, "Ada", "z", &done));
    assert_false(done);
    assert_true(add(bench, "Ada", ROLE_BUYER, "")); /* comes back as another */
    StorePerson *people;
    size_t count;
    GOOD(store_people(bench->store, &bench->arena, &people, &count));
    assert_int_equal(count, 3);
    assert_string_equal(people[0].name, "Ada");
    assert_string_not_equal(people[0].ended, "");
    assert_false(people[0].has_password); /* is forgotten with the person */
    assert_int_equal(people[1].role, ROLE_BUYER);
    assert_int_equal(people[2].role, ROLE_DESIGNER);
    StoreVisit *visits;
    GOOD(store_visits(bench->store, &bench->arena, 100, &visits, &count));
    assert_int_equal(count, 6); /* every change that was done, and no other */
    assert_string_equal(visits[0].what, "Ada: buyer");
    assert_string_equal(visits[5].what, "Ada: designer");
}

static void bad_names_and_passwords_are_told(void **state) {
    (void)state;
    char longest[PEOPLE_PASSWORD_MOST + 2];
    memset(longest, 'a', sizeof longest - 1);
    longest[sizeof longest - 1] = '\0';
    static const char *const BAD[] = {"", " Bo", "Bo ", "B\no", "B\x7fo", "\x1b[2J"};
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        assert_non_null(people_name_fault(BAD[i]));
    }
    assert_non_null(people_name_fault(longest));
    assert_null(people_name_fault("Zo\xc3\xab O'Hara"));
    assert_non_null(people_password_fault("Bo", "ninechars"));
    assert_null(people_password_fault("Bo", "ten chars."));
    assert_non_null(people_password_fault("Bo", longest));
    assert_null(people_password_fault("Bo", longest + 1));
    assert_non_null(people_password_fault("Bo the builder", "bo the builder"));
}

static double seconds_of(const char *hash, const char *password) {
    struct timespec begin;
    struct timespec end;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &begin);
    people_hash_fits(hash, password);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &end);
    return (double)(end.tv_sec - begin.tv_sec) + 1e-9 * (double)(end.tv_nsec - begin.tv_nsec);
}

static void passwords_are_argon2id(void **state) {
    (void)state;
    char hash[PEOPLE_HASH_BYTES];
    char other[PEOPLE_HASH_BYTES];
    GOOD(people_hash(PASSWORD, hash));
    GOOD(people_hash(PASSWORD, other));
    assert_memory_equal(hash, "$argon2id$v=19$m=65536,t=2,p=1$", 31);
    assert_string_not_equal(hash, other);
    assert_true(people_hash_fits(hash, PASSWORD));
    assert_false(people_hash_fits(hash, "four words of nonsensf"));
    assert_false(people_hash_fits("", PASSWORD));
    assert_false(people_hash_fits(NULL, ""));
    /* Processor time, the least of three: a name that is not there costs what one that is does. The
     * bound is wide because the machine is shared; a missing hash would be a thousand times less.
     */
    double known = 1e9;
    double unknown = 1e9;
    for (int i = 0; i < 3; i++) {
        known = fmin(known, seconds_of(hash, "not the password"));
        unknown = fmin(unknown, seconds_of("", "not the password"));
    }
    assert_true(unknown > 0.5 * known && unknown < 2.0 * known);
}

/* --- sessions, links ------------------------------------------------------------------------- */

static void sessions_end(void **state) {
    Bench *bench = *state;
    char tokens[6][STORE_TOKEN_BYTES];
    add(bench, "Ada", ROLE_DESIGNER, "x");
    add(bench, "Bo", ROLE_BENCH, "x");
    for (int i = 0; i < 6; i++) {
        GOOD(store_begin_session(bench->store, number_of(bench, i < 3 ? "Bo" : "Ada"), "x",
                                 "192.0.2.7", NOW_S, tokens[i]));
        assert_int_equal(strlen(tokens[i]), STORE_TOKEN_BYTES - 1);
        assert_true(session_holds(bench, tokens[i], NOW_S));
    }
    StoreSession session;
    bool found;
    GOOD(store_find_session(bench->store, &bench->arena, tokens[0], NOW_S, &session, &found));
    assert_string_equal(session.person.name, "Bo");
    assert_int_equal(session.person.role, ROLE_BENCH);
    char wrong[STORE_TOKEN_BYTES];
    memcpy(wrong, tokens[0], sizeof wrong);
    wrong[5] = wrong[5] == 'A' ? 'B' : 'A';
    assert_false(session_holds(bench, wrong, NOW_S));
    assert_false(session_holds(bench, "", NOW_S));
    /* Signing out ends one; leaving, another role and a new password end all of a person. */
    GOOD(store_end_session(bench->store, tokens[0]));
    assert_false(session_holds(bench, tokens[0], NOW_S));
    assert_true(session_holds(bench, tokens[1], NOW_S));
    bool done;
    bool last;
    GOOD(store_end_person(bench->store, &BY, "Bo", &done, &last));
    assert_false(session_holds(bench, tokens[1], NOW_S));
    assert_true(session_holds(bench, tokens[3], NOW_S));
    GOOD(store_set_password(bench->store, &BY, "Ada", "y", &done));
    assert_false(session_holds(bench, tokens[3], NOW_S));
    GOOD(store_begin_session(bench->store, number_of(bench, "Ada"), "x", "", NOW_S, tokens[0]));
    assert_false(session_holds(bench, tokens[0], NOW_S)); /* by a password that is no more */
    GOOD(store_begin_session(bench->store, number_of(bench, "Ada"), "y", "", NOW_S, tokens[0]));
    assert_true(session_holds(bench, tokens[0], NOW_S));
    add(bench, "Cy", ROLE_DESIGNER, "x");
    GOOD(store_set_role(bench->store, &BY, "Ada", ROLE_BUYER, &done, &last));
    assert_false(session_holds(bench, tokens[0], NOW_S));
}

static void sessions_grow_old(void **state) {
    Bench *bench = *state;
    char idle[STORE_TOKEN_BYTES];
    char busy[STORE_TOKEN_BYTES];
    add(bench, "Ada", ROLE_DESIGNER, "x");
    GOOD(store_begin_session(bench->store, number_of(bench, "Ada"), "x", "", NOW_S, idle));
    GOOD(store_begin_session(bench->store, number_of(bench, "Ada"), "x", "", NOW_S, busy));
    for (int64_t s = 0; s <= SESSION_LONGEST_S; s += SESSION_IDLE_S / 2) {
        assert_true(session_holds(bench, busy, NOW_S + s));
    }
    assert_false(session_holds(bench, busy, NOW_S + SESSION_LONGEST_S + 1));
    assert_false(session_holds(bench, idle, NOW_S + SESSION_IDLE_S + 1));
    assert_true(session_holds(bench, idle, NOW_S + SESSION_IDLE_S));
}

static void links_end(void **state) {
    Bench *bench = *state;
    TableSet none = {0};
    StoreJob jobs[2];
    size_t changed;
    GOOD(store_import(bench->store, &BY, "one", &none, &jobs[0], &changed));
    GOOD(store_import(bench->store, &BY, "two", &none, &jobs[1], &changed));
    char tokens[2][STORE_TOKEN_BYTES];
    for (int i = 0; i < 2; i++) {
        GOOD(store_make_link(bench->store, &BY, jobs[i], "brief", NOW_S, NOW_S + 100, tokens[i]));
    }
    StoreLink link;
    bool found;
    GOOD(store_find_link(bench->store, &bench->arena, tokens[1], NOW_S + 99, &link, &found));
    assert_true(found && link.job == jobs[1] && link.used_s == NOW_S + 99);
    assert_string_equal(link.subject, "brief");
    assert_false(link_holds(bench, tokens[1], NOW_S + 100));
    assert_false(link_holds(bench, "", NOW_S));
    bool done;
    GOOD(store_end_link(bench->store, &BY, jobs[0], link.link, &done));
    assert_false(done); /* of another job */
    GOOD(store_end_link(bench->store, &BY, jobs[1], link.link, &done));
    assert_true(done);
    assert_false(link_holds(bench, tokens[1], NOW_S + 1));
    assert_true(link_holds(bench, tokens[0], NOW_S + 1));
    StoreLink *links;
    size_t count;
    GOOD(store_links(bench->store, &bench->arena, jobs[1], &links, &count));
    assert_true(count == 1 && links[0].ended);
    /* A session's token is no link's, nor the other way round. */
    assert_false(session_holds(bench, tokens[0], NOW_S));
}

/* --- the file -------------------------------------------------------------------------------- */

static void the_file_gives_no_secret_away(void **state) {
    Bench *bench = *state;
    char token[STORE_TOKEN_BYTES];
    char hash[PEOPLE_HASH_BYTES];
    GOOD(people_hash(PASSWORD, hash));
    add(bench, "Ada", ROLE_DESIGNER, hash);
    GOOD(store_begin_session(bench->store, number_of(bench, "Ada"), hash, "", NOW_S, token));
    char copy[160];
    snprintf(copy, sizeof copy, "%s/copy.db", bench->folder);
    GOOD(store_backup(bench->store, copy));
    char *text;
    size_t length;
    GOOD(file_read(&bench->arena, copy, &text, &length));
    assert_non_null(memmem(text, length, hash, strlen(hash))); /* the search itself works */
    assert_null(memmem(text, length, PASSWORD, strlen(PASSWORD)));
    assert_null(memmem(text, length, token, strlen(token)));
    struct stat about;
    assert_int_equal(stat(bench->path, &about), 0);
    assert_int_equal(about.st_mode & 077, 0); /* for its owner alone, once people are in it */
    assert_int_equal(stat(copy, &about), 0);
    assert_int_equal(about.st_mode & 077, 0);
}

static void the_door_log_forgets_the_oldest(void **state) {
    Bench *bench = *state;
    StoreVisit visit = {.at = "2026-05-11T08:30:00Z",
                        .kind = "refused",
                        .person = "Bo",
                        .address = "192.0.2.7",
                        .what = "wrong password"};
    sqlite3 *db;
    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db,
                                  "INSERT INTO shop_door SELECT value, '', '', '', '', '' FROM"
                                  " (WITH RECURSIVE c(value) AS (SELECT 1 UNION ALL"
                                  " SELECT value + 1 FROM c WHERE value < 20500) SELECT * FROM c)",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_close(db);
    GOOD(store_note_visit(bench->store, &visit));
    StoreVisit *visits;
    size_t count;
    GOOD(store_visits(bench->store, &bench->arena, 100000, &visits, &count));
    assert_int_equal(count, DOOR_KEPT);
    assert_string_equal(visits[0].what, "wrong password");
}

/* A file from before there were people takes them when it is opened for writing. */
static void a_file_without_people_takes_them(void **state) {
    Bench *bench = *state;
    store_close(bench->store);
    sqlite3 *db;
    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    /* Whatever came since then is taken out. */
    static const char LATER[] =
        "SELECT type || ' ' || name FROM sqlite_schema WHERE name LIKE 'shop\\_%' ESCAPE '\\'"
        " AND name NOT IN ('shop_act_job', 'shop_job', 'shop_act', 'shop_act_row', 'shop_content',"
        " 'shop_revision', 'shop_revision_table', 'shop_approval') ORDER BY type";
    sqlite3_stmt *select;
    char drops[2048] = "PRAGMA foreign_keys = OFF;";
    assert_int_equal(sqlite3_prepare_v2(db, LATER, -1, &select, NULL), SQLITE_OK);
    int later = 0;
    for (; sqlite3_step(select) == SQLITE_ROW; later++) {
        size_t length = strlen(drops);
        snprintf(drops + length, sizeof drops - length, "DROP %s;",
                 (const char *)sqlite3_column_text(select, 0));
    }
    sqlite3_finalize(select);
    assert_true(later >= 4);
    assert_int_equal(sqlite3_exec(db, drops, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA user_version = 1", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    GOOD(store_open(bench->path, STORE_WRITE, &bench->store));
    assert_true(add(bench, "Ada", ROLE_DESIGNER, "x"));
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(people_come_and_go),
        cmocka_unit_test(bad_names_and_passwords_are_told),
        cmocka_unit_test(passwords_are_argon2id),
        TEST(sessions_end),
        TEST(sessions_grow_old),
        TEST(links_end),
        TEST(the_file_gives_no_secret_away),
        TEST(the_door_log_forgets_the_oldest),
        TEST(a_file_without_people_takes_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
