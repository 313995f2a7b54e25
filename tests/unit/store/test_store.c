/* The shop file: a job in and out, random edits undone and redone, edits that meet, snapshots,
 * damage that check finds, disks that are full. All on the example aircraft. */
#include <fcntl.h>
#include <math.h>
#include <setjmp.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/file.h"
#include "base/text.h"
#include "store/bench.h"

#define EXAMPLE MARLING_SOURCE_DIR "/examples/osier_mended"
#define LIBRARY MARLING_SOURCE_DIR "/library"

static const StoreBy BY = {.person = "Ada", .at = "2026-05-11T08:30:00Z", .what = "test"};
static const StoreBy OTHER = {.person = "Bo", .at = "2026-05-11T08:31:00Z", .what = "test"};

typedef struct Bench {
    Arena arena;
    char folder[64];
    char path[128];
    Store *store;
    StoreJob job;
    TableSet set; /* as read from the folders */
} Bench;

#define GOOD(call)                                                                                 \
    do {                                                                                           \
        Status good = (call);                                                                      \
        if (good.failed) {                                                                         \
            fail_msg("%s", good.text);                                                             \
        }                                                                                          \
    } while (0)

static void read_example(Bench *bench) {
    Findings findings = {.arena = &bench->arena};
    GOOD(table_read_folder(&bench->arena, LIBRARY, GROUP_LIBRARY, &bench->set, &findings));
    GOOD(table_read_folder(&bench->arena, EXAMPLE, GROUP_JOB, &bench->set, &findings));
    table_check(&bench->arena, &bench->set, &findings);
    assert_int_equal(findings.count, 0);
}

static int set_up(void **state) {
    Bench *bench = calloc(1, sizeof *bench);
    *state = bench;
    snprintf(bench->folder, sizeof bench->folder, "/tmp/marling-store-XXXXXX");
    assert_non_null(mkdtemp(bench->folder));
    snprintf(bench->path, sizeof bench->path, "%s/shop.db", bench->folder);
    read_example(bench);
    GOOD(store_open(bench->path, STORE_CREATE, &bench->store));
    size_t changed;
    GOOD(store_import(bench->store, &BY, "library", &bench->set, &bench->job, &changed));
    assert_int_equal(bench->job, STORE_LIBRARY);
    GOOD(store_import(bench->store, &BY, "osier", &bench->set, &bench->job, &changed));
    assert_true(bench->job > 0 && changed > 1000);
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

/* All tables of both groups as one text. */
static const char *text_of(Arena *arena, const TableSet *set) {
    Buffer text = {.arena = arena};
    for (int i = 0; i < TABLE_COUNT; i++) {
        if (table_schema((TableId)i)->group != GROUP_RESULT) {
            buffer_format(&text, "%s\n", table_schema((TableId)i)->name);
            table_write_csv(&text, set, (TableId)i);
        }
    }
    return text.bytes;
}

static const char *stored_text(Bench *bench, Arena *arena) {
    TableSet set = {0};
    Findings findings = {.arena = arena};
    GOOD(store_load(bench->store, arena, bench->job, &set, &findings));
    assert_int_equal(findings.count, 0);
    return text_of(arena, &set);
}

static size_t problems_of(Bench *bench, Arena *arena, const char **first) {
    const char **problems;
    size_t count;
    GOOD(store_check(bench->store, arena, &problems, &count));
    *first = count > 0 ? problems[0] : "";
    return count;
}

static void assert_whole(Bench *bench) {
    Arena arena = {0};
    const char *first;
    if (problems_of(bench, &arena, &first) > 0) {
        fail_msg("%s", first);
    }
    arena_free(&arena);
}

/* SQL behind the program's back. */
static void tamper(const Bench *bench, const char *sql) {
    sqlite3 *db;
    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    char *message = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &message) != SQLITE_OK) {
        fail_msg("%s", message);
    }
    sqlite3_close(db);
}

/* --- in and out ------------------------------------------------------------------------------ */

static void gives_back_what_it_was_given(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    assert_string_equal(stored_text(bench, &arena), text_of(&arena, &bench->set));
    size_t changed = 1;
    StoreJob job;
    GOOD(store_import(bench->store, &BY, "osier", &bench->set, &job, &changed));
    assert_int_equal(changed, 0); /* nothing is otherwise: no act */
    StoreActInfo *acts;
    size_t count;
    GOOD(store_log(bench->store, &arena, bench->job, 10, &acts, &count));
    assert_int_equal(count, 1);
    assert_whole(bench);
    arena_free(&arena);
}

static void finds_jobs_and_near_names(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    StoreJob job;
    const char *nearest = NULL;
    GOOD(store_find_job(bench->store, &arena, "osire", &job, &nearest));
    assert_int_equal(job, STORE_NO_JOB);
    assert_string_equal(nearest, "osier");
    StoreJobInfo *jobs;
    size_t count;
    GOOD(store_jobs(bench->store, &arena, &jobs, &count));
    assert_int_equal(count, 1);
    assert_string_equal(jobs[0].last_person, "Ada");
    arena_free(&arena);
}

/* --- edits ----------------------------------------------------------------------------------- */

static uint64_t seed = 20260511;

static uint32_t draw(uint32_t below) { /* Marsaglia's xorshift64 */
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return (uint32_t)(seed % below);
}

/* A change of one random unit or node: its stub, its place, a drop, a new one. */
static StoreEdit random_edit(Bench *bench, Arena *arena, int number) {
    TableSet set = {0};
    Findings findings = {.arena = arena};
    GOOD(store_load(bench->store, arena, bench->job, &set, &findings));
    if (draw(3) == 0) {
        NodeRow *node = table_append(&set, arena, TABLE_node);
        *node = set.node.rows[0];
        node->node = arena_format(arena, "NEW%d", number);
        node->x_mm = draw(1000) * 0.1;
        return (StoreEdit){.table = TABLE_node, .after = node};
    }
    if (draw(4) == 0) {
        return (StoreEdit){.table = TABLE_node,
                           .before = &set.node.rows[draw((uint32_t)set.node.count)]};
    }
    UnitRow *before = &set.unit.rows[draw((uint32_t)set.unit.count)];
    UnitRow *after = ARENA_NEW(arena, UnitRow);
    *after = *before;
    after->stub_mm = draw(2) == 0 ? (double)draw(5000) / 7.0 : after->stub_mm + 1.0;
    if (draw(5) == 0) {
        after->tag = arena_format(arena, "%s_%d", after->tag, number); /* another key */
    }
    return (StoreEdit){.table = TABLE_unit, .before = before, .after = after};
}

static void undoes_and_redoes_without_limit(void **state) {
    enum { EDITS = 60 };
    Bench *bench = *state;
    Arena arena = {0};
    const char *texts[EDITS + 1];
    texts[0] = stored_text(bench, &arena);
    for (int i = 0; i < EDITS; i++) {
        StoreEdit edit = random_edit(bench, &arena, i);
        StoreAnswer answer;
        GOOD(store_edit(bench->store, &arena, bench->job, &BY, &edit, 1, &answer));
        assert_int_equal(answer.refusal, STORE_DONE);
        texts[i + 1] = stored_text(bench, &arena);
        assert_string_not_equal(texts[i + 1], texts[i]);
    }
    StoreAct act;
    for (int i = EDITS; i > 0; i--) {
        assert_string_equal(stored_text(bench, &arena), texts[i]);
        GOOD(store_undo(bench->store, bench->job, &BY, &act));
        assert_true(act != 0);
    }
    assert_string_equal(stored_text(bench, &arena), texts[0]);
    assert_whole(bench);
    for (int i = 1; i <= EDITS; i++) {
        GOOD(store_redo(bench->store, bench->job, &BY, &act));
        assert_true(act != 0);
        assert_string_equal(stored_text(bench, &arena), texts[i]);
    }
    GOOD(store_redo(bench->store, bench->job, &BY, &act));
    assert_int_equal(act, 0);
    assert_whole(bench);
    arena_free(&arena);
}

static StoreAnswer move_unit(Bench *bench, Arena *arena, const StoreBy *by, const char *tag,
                             double stub_mm, StoreAct seen) {
    UnitRow *row = NULL;
    for (size_t i = 0; i < bench->set.unit.count; i++) {
        if (strcmp(bench->set.unit.rows[i].tag, tag) == 0) {
            row = ARENA_NEW(arena, UnitRow);
            *row = bench->set.unit.rows[i];
        }
    }
    assert_non_null(row);
    row->stub_mm = stub_mm;
    StoreEdit edit = {.table = TABLE_unit, .before = row, .after = row, .seen = seen};
    StoreAnswer answer;
    GOOD(store_edit(bench->store, arena, bench->job, by, &edit, 1, &answer));
    return answer;
}

static void a_new_edit_ends_what_could_be_redone(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    StoreAct act;
    const char *tag = bench->set.unit.rows[0].tag;
    move_unit(bench, &arena, &BY, tag, 111.0, 0);
    GOOD(store_undo(bench->store, bench->job, &BY, &act));
    assert_true(act != 0);
    move_unit(bench, &arena, &BY, tag, 222.0, 0);
    GOOD(store_redo(bench->store, bench->job, &BY, &act));
    assert_int_equal(act, 0);
    StoreActInfo *acts;
    size_t count;
    GOOD(store_log(bench->store, &arena, bench->job, 10, &acts, &count));
    assert_int_equal(count, 4); /* edit, undo, edit, import */
    assert_string_equal(acts[2].state, "gone");
    assert_string_equal(acts[0].state, "done");
    assert_whole(bench);
    arena_free(&arena);
}

static void tells_who_was_faster(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    const char *tag = bench->set.unit.rows[0].tag;
    StoreAct seen;
    GOOD(store_row_act(bench->store, bench->job, TABLE_unit, &bench->set.unit.rows[0], &seen));
    StoreAnswer first = move_unit(bench, &arena, &OTHER, tag, 111.0, seen);
    assert_int_equal(first.refusal, STORE_DONE);
    const char *text = stored_text(bench, &arena);
    StoreAnswer second = move_unit(bench, &arena, &BY, tag, 222.0, seen);
    assert_int_equal(second.refusal, STORE_CHANGED);
    assert_int_equal(second.act, first.act);
    assert_string_equal(second.person, "Bo");
    assert_string_equal(stored_text(bench, &arena), text);

    StoreEdit drop = {.table = TABLE_unit, .before = &bench->set.unit.rows[0]};
    StoreAnswer answer;
    GOOD(store_edit(bench->store, &arena, bench->job, &OTHER, &drop, 1, &answer));
    assert_int_equal(answer.refusal, STORE_DONE);
    StoreAnswer third = move_unit(bench, &arena, &BY, tag, 333.0, first.act);
    assert_int_equal(third.refusal, STORE_GONE);
    assert_int_equal(third.act, answer.act);
    assert_string_equal(third.person, "Bo");
    arena_free(&arena);
}

static void refuses_all_when_one_is_refused(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    const char *text = stored_text(bench, &arena);
    UnitRow moved = bench->set.unit.rows[0];
    moved.stub_mm += 5.0;
    UnitRow blank = bench->set.unit.rows[1];
    blank.part = "";
    StoreEdit edits[] = {
        {.table = TABLE_unit, .before = &bench->set.unit.rows[0], .after = &moved},
        {.table = TABLE_unit, .before = &bench->set.unit.rows[1], .after = &blank},
    };
    StoreAnswer answer;
    GOOD(store_edit(bench->store, &arena, bench->job, &BY, edits, 2, &answer));
    assert_int_equal(answer.refusal, STORE_BLANK);
    assert_int_equal(answer.edit, 1);
    assert_string_equal(answer.column, "part");
    assert_string_equal(stored_text(bench, &arena), text);
    StoreEdit twice = {.table = TABLE_unit, .after = &bench->set.unit.rows[3]};
    GOOD(store_edit(bench->store, &arena, bench->job, &BY, &twice, 1, &answer));
    assert_int_equal(answer.refusal, STORE_THERE);
    assert_whole(bench);
    arena_free(&arena);
}

/* --- revisions ------------------------------------------------------------------------------- */

static void keeps_and_restores(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    StoreRevision kept;
    StoreRevision again;
    const char *before = stored_text(bench, &arena);
    GOOD(store_keep(bench->store, &arena, bench->job, &BY, "A", &kept));
    char hash[REVISION_HEX];
    revision_hash(&bench->set, hash);
    assert_string_equal(kept.hash, hash);
    assert_true(store_keep(bench->store, &arena, bench->job, &BY, "A", &again).failed);
    move_unit(bench, &arena, &BY, bench->set.unit.rows[4].tag, 4321.0, 0);
    GOOD(store_keep(bench->store, &arena, bench->job, &BY, "B", &again));
    assert_string_not_equal(again.hash, kept.hash);
    size_t changed;
    GOOD(store_restore(bench->store, &arena, bench->job, &BY, &kept, &changed));
    assert_int_equal(changed, 1);
    assert_string_equal(stored_text(bench, &arena), before);
    StoreAct act;
    GOOD(store_undo(bench->store, bench->job, &BY, &act)); /* a restore can be undone too */
    assert_string_not_equal(stored_text(bench, &arena), before);

    TableSet set = {0};
    Findings findings = {.arena = &arena};
    bool found;
    GOOD(store_find_revision(bench->store, &arena, bench->job, "A", &kept, &found));
    assert_true(found);
    GOOD(store_load_revision(bench->store, &arena, &kept, &set, &findings));
    assert_int_equal(findings.count, 0);
    revision_hash(&set, hash);
    assert_string_equal(kept.hash, hash);
    assert_whole(bench);
    arena_free(&arena);
}

static void a_later_library_changes_no_revision(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    StoreRevision kept;
    GOOD(store_keep(bench->store, &arena, bench->job, &BY, "A", &kept));
    PartRow part = bench->set.part.rows[0];
    part.mass_kg = 99.0;
    StoreEdit edit = {.table = TABLE_part, .before = &part, .after = &part};
    StoreAnswer answer;
    GOOD(store_edit(bench->store, &arena, STORE_LIBRARY, &BY, &edit, 1, &answer));
    assert_int_equal(answer.refusal, STORE_DONE);
    TableSet set = {0};
    Findings findings = {.arena = &arena};
    GOOD(store_load_revision(bench->store, &arena, &kept, &set, &findings));
    for (size_t i = 0; i < set.part.count; i++) {
        assert_true(set.part.rows[i].mass_kg != 99.0);
    }
    arena_free(&arena);
}

static void approvals_stay(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    GOOD(store_approve(bench->store, bench->job, &BY, "panel", "00ff"));
    StoreApproval *approvals;
    size_t count;
    GOOD(store_approvals(bench->store, &arena, bench->job, &approvals, &count));
    assert_int_equal(count, 1);
    assert_string_equal(approvals[0].hash, "00ff");
    assert_string_equal(approvals[0].person, "Ada");
    arena_free(&arena);
}

/* --- damage ---------------------------------------------------------------------------------- */

static void check_finds_damage(void **state) {
    static const char *const DAMAGE[] = {
        "UPDATE unit SET stub_mm = stub_mm + 1 WHERE tag = (SELECT min(tag) FROM unit)",
        "DELETE FROM node WHERE node = (SELECT min(node) FROM node)",
        "UPDATE shop_content SET bytes = bytes || 'x' WHERE hash = (SELECT hash FROM "
        "shop_revision_table WHERE name = 'unit')",
        "UPDATE shop_revision SET hash = replace(hash, 'a', 'b')",
        "ALTER TABLE unit ADD COLUMN of_a_later_version TEXT",
        "PRAGMA foreign_keys = OFF; DELETE FROM shop_content WHERE hash = (SELECT hash FROM "
        "shop_revision_table WHERE name = 'unit')",
    };
    Bench *bench = *state;
    Arena arena = {0};
    StoreRevision kept;
    GOOD(store_keep(bench->store, &arena, bench->job, &BY, "A", &kept));
    char copy[128];
    snprintf(copy, sizeof copy, "%s/copy.db", bench->folder);
    GOOD(store_backup(bench->store, copy));
    for (size_t i = 0; i < sizeof DAMAGE / sizeof *DAMAGE; i++) {
        char hurt[128];
        snprintf(hurt, sizeof hurt, "%s/hurt%zu.db", bench->folder, i);
        char *text;
        size_t length;
        GOOD(file_read(&arena, copy, &text, &length));
        GOOD(file_write(hurt, text, length));
        Bench other = *bench;
        snprintf(other.path, sizeof other.path, "%s", hurt);
        tamper(&other, DAMAGE[i]);
        GOOD(store_open(hurt, STORE_READ, &other.store));
        const char *first;
        if (problems_of(&other, &arena, &first) == 0) {
            fail_msg("not found: %s", DAMAGE[i]);
        }
        print_message("%s\n", first);
        store_close(other.store);
    }
    assert_whole(bench);
    arena_free(&arena);
}

static void refuses_what_is_not_its_own(void **state) {
    Bench *bench = *state;
    char path[128];
    Store *store;
    snprintf(path, sizeof path, "%s/none.db", bench->folder);
    assert_true(store_open(path, STORE_WRITE, &store).failed);
    assert_false(file_is_there(path));
    GOOD(file_write(path, "this is a letter, not a database", 32));
    assert_true(store_open(path, STORE_CREATE, &store).failed);
    assert_null(store);
    Bench other = *bench;
    snprintf(other.path, sizeof other.path, "%s/other.db", bench->folder);
    tamper(&other, "CREATE TABLE diary(day TEXT)");
    assert_true(store_open(other.path, STORE_CREATE, &store).failed);
    tamper(bench, "PRAGMA user_version = 1000");
    Status status = store_open(bench->path, STORE_WRITE, &store);
    assert_true(status.failed && strstr(status.text, "later version") != NULL);
}

/* A file of an earlier version lacks columns and tables. */
static void takes_the_file_of_an_earlier_version(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    store_close(bench->store);
    bench->store = NULL;
    tamper(bench, "ALTER TABLE unit DROP COLUMN role; DROP TABLE cue;"
                  "ALTER TABLE card DROP COLUMN title");
    GOOD(store_open(bench->path, STORE_WRITE, &bench->store));
    TableSet set = {0};
    Findings findings = {.arena = &arena};
    GOOD(store_load(bench->store, &arena, bench->job, &set, &findings));
    assert_int_equal(set.cue.count, 0);
    assert_int_equal(set.unit.count, bench->set.unit.count);
    assert_int_equal(set.card.count, 0); /* a title is needed: told, and left out */
    assert_int_equal(findings.count, bench->set.card.count);
    assert_int_equal(findings.rows[0].rule, RULE_READ_MISSING);
    assert_string_equal(findings.rows[0].column, "title");
    arena_free(&arena);
}

/* Rows of the bench from before readings had a hash and samples a force. */
static void bench_rows_of_an_earlier_version_stay(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    BenchReadingRow reading = {.reading = "r1",
                               .module = "PNL",
                               .step = 3,
                               .point_a = "A.1",
                               .point_b = "B.2",
                               .ohm = 0.06,
                               .open = 0,
                               .undoes = "",
                               .person = "Bo",
                               .time = "2026-05-11T08:30:00Z",
                               .kept = "2026-05-11T08:30:01Z",
                               .tool = "M-7",
                               .measured = "1a2b"};
    BenchTickRow tick = {.tick = "t1",
                         .module = "PNL",
                         .operation = "pull",
                         .item = "20 AWG 22",
                         .built = "",
                         .undoes = "",
                         .person = "Bo",
                         .time = "2026-05-11T08:30:00Z",
                         .kept = "2026-05-11T08:30:01Z",
                         .tool = "CT-3",
                         .lot = "2291",
                         .pull_n = 61.0};
    StoreBenchRow rows[] = {{.table = TABLE_bench_reading, .row = &reading},
                            {.table = TABLE_bench_tick, .row = &tick}};
    StoreBenchKept kept[2];
    GOOD(store_bench_add(bench->store, bench->job, rows, 2, kept));
    store_close(bench->store);
    bench->store = NULL;
    tamper(bench, "ALTER TABLE bench_reading DROP COLUMN measured;"
                  "ALTER TABLE bench_tick DROP COLUMN pull_n");
    GOOD(store_open(bench->path, STORE_WRITE, &bench->store));
    TableSet set = {0};
    GOOD(store_bench_load(bench->store, &arena, bench->job, &set));
    assert_int_equal(set.bench_reading.count, 1);
    assert_string_equal(set.bench_reading.rows[0].measured, "");
    assert_true(set.bench_reading.rows[0].ohm == 0.06);
    assert_int_equal(set.bench_tick.count, 1);
    assert_true(isnan(set.bench_tick.rows[0].pull_n));
    assert_string_equal(set.bench_tick.rows[0].lot, "2291");
    reading.reading = "r2";
    tick.tick = "t2";
    GOOD(store_bench_add(bench->store, bench->job, rows, 2, kept));
    TableSet after = {0};
    GOOD(store_bench_load(bench->store, &arena, bench->job, &after));
    assert_string_equal(after.bench_reading.rows[1].measured, "1a2b");
    assert_true(after.bench_tick.rows[1].pull_n == 61.0);
    assert_whole(bench);
    arena_free(&arena);
}

static void a_full_disk_loses_nothing(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    const char *text = stored_text(bench, &arena);
    struct rlimit before;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    struct rlimit small = {.rlim_cur = 4096, .rlim_max = before.rlim_max};
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    UnitRow moved = bench->set.unit.rows[0];
    moved.stub_mm += 5.0;
    StoreEdit edit = {.table = TABLE_unit, .before = &moved, .after = &moved};
    StoreAnswer answer;
    Status status = store_edit(bench->store, &arena, bench->job, &BY, &edit, 1, &answer);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_true(status.failed);
    print_message("%s\n", status.text);
    assert_string_equal(stored_text(bench, &arena), text);
    GOOD(store_edit(bench->store, &arena, bench->job, &BY, &edit, 1, &answer));
    assert_int_equal(answer.refusal, STORE_DONE);
    assert_whole(bench);
    arena_free(&arena);
}

static void reading_writes_nothing(void **state) {
    Bench *bench = *state;
    Arena arena = {0};
    Store *reader;
    GOOD(store_open(bench->path, STORE_READ, &reader));
    UnitRow moved = bench->set.unit.rows[0];
    moved.stub_mm += 5.0;
    StoreEdit edit = {.table = TABLE_unit, .before = &moved, .after = &moved};
    StoreAnswer answer;
    Status status = store_edit(reader, &arena, bench->job, &BY, &edit, 1, &answer);
    assert_true(status.failed);
    assert_non_null(strstr(status.text, "may not be written"));
    store_close(reader);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
        TEST(gives_back_what_it_was_given),
        TEST(finds_jobs_and_near_names),
        TEST(undoes_and_redoes_without_limit),
        TEST(a_new_edit_ends_what_could_be_redone),
        TEST(tells_who_was_faster),
        TEST(refuses_all_when_one_is_refused),
        TEST(keeps_and_restores),
        TEST(a_later_library_changes_no_revision),
        TEST(approvals_stay),
        TEST(check_finds_damage),
        TEST(refuses_what_is_not_its_own),
        TEST(takes_the_file_of_an_earlier_version),
        TEST(bench_rows_of_an_earlier_version_stay),
        TEST(a_full_disk_loses_nothing),
        TEST(reading_writes_nothing),
    };
    return cmocka_run_group_tests_name("store", tests, NULL, NULL);
}
