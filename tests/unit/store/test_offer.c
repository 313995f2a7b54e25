/* What customers were shown is found again under its hash, and where jobs stand is told as the rows
 * say. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "store/offer.h"
#include "store/people.h"

#define GOOD(call)                                                                                 \
    do {                                                                                           \
        Status good = (call);                                                                      \
        if (good.failed) {                                                                         \
            fail_msg("%s", good.text);                                                             \
        }                                                                                          \
    } while (0)

typedef struct Bench {
    Arena arena;
    char path[64];
    Store *store;
    StoreJob job;
} Bench;

static const StoreBy ADA = {.person = "Ada", .at = "2026-05-11T08:30:00Z", .what = "test"};

static int set_up(void **state) {
    Bench *bench = calloc(1, sizeof *bench);
    Findings findings = {.arena = &bench->arena};
    TableSet set = {0};
    size_t changed;
    *state = bench;
    snprintf(bench->path, sizeof bench->path, "/tmp/marling-offer-XXXXXX");
    int file = mkstemp(bench->path);
    assert_true(file >= 0);
    close(file);
    unlink(bench->path);
    GOOD(table_read_folder(&bench->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY, &set,
                           &findings));
    table_check(&bench->arena, &set, &findings);
    GOOD(store_open(bench->path, STORE_CREATE, &bench->store));
    GOOD(store_import(bench->store, &ADA, "library", &set, &bench->job, &changed));
    TableSet job = {0};
    GOOD(table_read_folder(&bench->arena, MARLING_SOURCE_DIR "/examples/osier_mended", GROUP_JOB,
                           &job, &findings));
    table_set_sort(&job);
    GOOD(store_import(bench->store, &ADA, "osier", &job, &bench->job, &changed));
    return 0;
}

static int tear_down(void **state) {
    Bench *bench = *state;
    store_close(bench->store);
    unlink(bench->path);
    unlink(arena_format(&bench->arena, "%s-wal", bench->path));
    unlink(arena_format(&bench->arena, "%s-shm", bench->path));
    arena_free(&bench->arena);
    free(bench);
    return 0;
}

static void texts_are_found_by_their_hash(void **state) {
    Bench *bench = *state;
    static const char TEXT[] = "title\tosier\tan aircraft\n";
    char hash[REVISION_HEX];
    char again[REVISION_HEX];
    const char *found;
    GOOD(store_keep_text(bench->store, TEXT, strlen(TEXT), hash));
    GOOD(store_keep_text(bench->store, TEXT, strlen(TEXT), again));
    assert_string_equal(hash, again);
    GOOD(store_find_text(bench->store, &bench->arena, hash, &found));
    assert_string_equal(found, TEXT);
    hash[0] = hash[0] == '0' ? '1' : '0';
    GOOD(store_find_text(bench->store, &bench->arena, hash, &found));
    assert_null(found);
    const char **problems;
    size_t count;
    GOOD(store_check(bench->store, &bench->arena, &problems, &count));
    assert_int_equal(count, 0);
}

static StoreStanding standing(Bench *bench, int64_t now_s) {
    StoreStanding one;
    GOOD(store_standings(bench->store, &bench->arena, &bench->job, 1, now_s, &one));
    return one;
}

static void put_row(Bench *bench, TableId table, const void *before, const void *after) {
    StoreEdit edit = {.table = table, .before = before, .after = after};
    StoreAnswer answer;
    GOOD(store_edit(bench->store, &bench->arena, bench->job, &ADA, &edit, 1, &answer));
    assert_int_equal(answer.refusal, STORE_DONE);
}

static void jobs_stand_as_their_rows_say(void **state) {
    Bench *bench = *state;
    const int64_t now_s = INT64_C(1790000000);
    StoreStanding at = standing(bench, now_s);
    assert_string_equal(at.gate, "");
    assert_string_equal(at.next, "A");
    assert_int_equal(at.questions, 0);
    assert_int_equal(at.options, 3);
    assert_int_equal(at.notes, 0);
    assert_int_equal(at.waiting_s, 0);

    PassedRow a = {.gate = "A", .date = "2026-04-01", .evidence = "orders"};
    PassedRow b = {.gate = "B", .date = "2026-05-01", .evidence = "the sheet"};
    put_row(bench, TABLE_passed, NULL, &a);
    put_row(bench, TABLE_passed, NULL, &b);
    BriefRow icing = {.question = "icing", .answer = "no; probe heat is all"};
    BriefRow open = {.question = "icing", .answer = ""};
    put_row(bench, TABLE_brief, &icing, &open);
    at = standing(bench, now_s);
    assert_string_equal(at.gate, "B");
    assert_string_equal(at.date, "2026-05-01");
    assert_string_equal(at.next, "C");
    assert_int_equal(at.questions, 1);
    assert_int_equal(at.questions_now, 0); /* of gate A */

    BenchNoteRow note = {.note = "n1",
                         .module = "PNL",
                         .operation = "",
                         .item = "",
                         .words = "torn",
                         .settles = "",
                         .person = "Bo",
                         .time = "2026-05-11T08:30:00Z",
                         .kept = "2026-05-11T08:30:00Z"};
    BenchNoteRow settled = note;
    put_row(bench, TABLE_bench_note, NULL, &note);
    assert_int_equal(standing(bench, now_s).notes, 1);
    settled.note = "n2";
    settled.settles = "n1";
    put_row(bench, TABLE_bench_note, NULL, &settled);
    assert_int_equal(standing(bench, now_s).notes, 0);
}

/* Asked by a link, waiting until an approval that is later; a link that is over asks nothing. */
static void approvals_wait_from_when_they_were_asked(void **state) {
    Bench *bench = *state;
    const int64_t asked_s = INT64_C(1778488200); /* 2026-05-11T08:30:00Z */
    char token[STORE_TOKEN_BYTES];
    GOOD(store_make_link(bench->store, &ADA, bench->job, "offer", asked_s, asked_s + 1000, token));
    assert_int_equal(standing(bench, asked_s + 10).waiting_s, asked_s);
    assert_int_equal(standing(bench, asked_s + 1000).waiting_s, 0);
    StoreBy customer = {.person = "Brigid", .at = "2026-05-11T08:35:00Z", .what = ""};
    GOOD(store_approve(bench->store, bench->job, &customer, "offer", "5e"));
    StoreStanding at = standing(bench, asked_s + 500);
    assert_int_equal(at.waiting_s, 0);
    assert_string_equal(at.approved_by, "Brigid");
    GOOD(store_make_link(bench->store, &ADA, bench->job, "offer", asked_s + 600, asked_s + 9000,
                         token));
    assert_int_equal(standing(bench, asked_s + 700).waiting_s, asked_s + 600);
}

static void books_are_listed_latest_first(void **state) {
    Bench *bench = *state;
    StoreBook book = {.hash = "aa",
                      .act = 1,
                      .person = "Ada",
                      .at = "now",
                      .pages = 3,
                      .bytes = 5,
                      .sha256 = "bb"};
    GOOD(store_note_book(bench->store, bench->job, &book));
    book.hash = "cc";
    GOOD(store_note_book(bench->store, bench->job, &book));
    StoreBook *books;
    size_t count;
    GOOD(store_books(bench->store, &bench->arena, bench->job, &books, &count));
    assert_int_equal(count, 2);
    assert_string_equal(books[0].hash, "cc");
    assert_string_equal(books[1].hash, "aa");
    GOOD(store_books(bench->store, &bench->arena, STORE_LIBRARY, &books, &count));
    assert_int_equal(count, 0);
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        TEST(texts_are_found_by_their_hash),
        TEST(jobs_stand_as_their_rows_say),
        TEST(approvals_wait_from_when_they_were_asked),
        TEST(books_are_listed_latest_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
