/* What the desk derives beside: many ask while others edit; everybody gets what is not older than
 * when he asked, old work is dropped but never for ever, and closing in the middle is clean. Also
 * under the thread sanitizer. */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "server/live.h"

#define EXAMPLE MARLING_SOURCE_DIR "/examples/first"
#define LIBRARY MARLING_SOURCE_DIR "/library"

/* The sanitizers need not see it often. */
#ifdef MARLING_SANITIZED
enum { EDITS = 6, ASKERS = 4 };
#else
enum { EDITS = 25, ASKERS = 6 };
#endif

static const StoreBy BY = {.person = "Ada", .at = "2026-05-11T08:30:00Z", .what = "test"};

typedef struct Bench {
    char folder[64];
    char path[128];
    Desk *desk;
    StoreJob job;
    atomic_int edits; /* done; the first unit's role is "role N" since the Nth */
    atomic_int hooks;
    atomic_int wrong;
    atomic_bool over;
} Bench;

#define GOOD(call)                                                                                 \
    do {                                                                                           \
        Status good = (call);                                                                      \
        if (good.failed) {                                                                         \
            fail_msg("%s", good.text);                                                             \
        }                                                                                          \
    } while (0)

static void pause_ms(long ms) {
    nanosleep(&(struct timespec){.tv_nsec = ms * 1000000}, NULL);
}

static void open_bench(Bench *bench) {
    *bench = (Bench){0};
    snprintf(bench->folder, sizeof bench->folder, "/tmp/marling-live-XXXXXX");
    assert_non_null(mkdtemp(bench->folder));
    snprintf(bench->path, sizeof bench->path, "%s/shop.db", bench->folder);
    Arena arena = {0};
    TableSet set = {0};
    Findings findings = {.arena = &arena};
    GOOD(table_read_folder(&arena, LIBRARY, GROUP_LIBRARY, &set, &findings));
    GOOD(table_read_folder(&arena, EXAMPLE, GROUP_JOB, &set, &findings));
    table_check(&arena, &set, &findings);
    GOOD(desk_open(bench->path, &bench->desk));
    size_t changed;
    StoreJob library;
    Store *store = desk_store(bench->desk);
    GOOD(store_import(store, &BY, "library", &set, &library, &changed));
    GOOD(store_import(store, &BY, "first", &set, &bench->job, &changed));
    desk_store_done(bench->desk);
    arena_free(&arena);
}

static void close_bench(Bench *bench) {
    desk_close(bench->desk);
    static const char *const ENDS[] = {"", "-wal", "-shm"};
    for (size_t i = 0; i < sizeof ENDS / sizeof *ENDS; i++) {
        char path[160];
        snprintf(path, sizeof path, "%s%s", bench->path, ENDS[i]);
        unlink(path);
    }
    assert_int_equal(rmdir(bench->folder), 0);
}

/* The first unit's role becomes "role N". */
static void edit(Bench *bench, int number) {
    Arena arena = {0};
    TableSet set = {0};
    StoreAct *acts = NULL;
    StoreAnswer answer;
    Store *store = desk_store(bench->desk);
    GOOD(store_read_table(store, &arena, bench->job, TABLE_unit, &set, &acts));
    UnitRow before = set.unit.rows[0];
    UnitRow after = before;
    after.role = arena_format(&arena, "role %d", number);
    StoreEdit change = {.table = TABLE_unit, .before = &before, .after = &after, .seen = acts[0]};
    GOOD(store_edit(store, &arena, bench->job, &BY, &change, 1, &answer));
    desk_store_done(bench->desk);
    assert_int_equal(answer.refusal, STORE_DONE);
    atomic_store(&bench->edits, number);
    arena_free(&arena);
}

static int role_of(const Live *live) {
    int number = 0;
    for (size_t i = 0; i < live->proof.set.unit.count; i++) {
        const char *role = live->proof.set.unit.rows[i].role;
        if (strncmp(role, "role ", 5) == 0) {
            number = (int)strtol(role + 5, NULL, 10);
        }
    }
    return number;
}

static void *ask(void *context) {
    Bench *bench = context;
    unsigned turn = 0;
    while (!atomic_load(&bench->over)) {
        LiveKind kind = (LiveKind)(turn++ % LIVE_KIND_COUNT);
        int edits = atomic_load(&bench->edits);
        Status status;
        Live *live = desk_live(bench->desk, bench->job, kind, NULL, &status);
        bool good = live != NULL && !status.failed && role_of(live) >= edits &&
                    (kind == LIVE_CHAIN || (live->problem == NULL && live->plan.count > 3)) &&
                    (kind != LIVE_FULL || sheet_find(&live->plan, "contents") != ID_NONE);
        if (!good) {
            atomic_fetch_add(&bench->wrong, 1);
        }
        if (live != NULL) {
            desk_live_done(bench->desk, live);
        }
    }
    return NULL;
}

static void count_hook(void *context, StoreJob job, LiveKind kind) {
    Bench *bench = context;
    if (job != bench->job || kind == LIVE_CHAIN) {
        atomic_fetch_add(&bench->wrong, 1);
    }
    atomic_fetch_add(&bench->hooks, 1);
}

static void nobody_gets_what_is_older_than_his_question(void **state) {
    (void)state;
    Bench bench;
    open_bench(&bench);
    desk_on_derived(bench.desk, count_hook, &bench);
    pthread_t askers[ASKERS];
    for (int i = 0; i < ASKERS; i++) {
        assert_int_equal(pthread_create(&askers[i], NULL, ask, &bench), 0);
    }
    for (int i = 1; i <= EDITS; i++) {
        edit(&bench, i);
        pause_ms(i % 4 == 0 ? 60 : 3);
    }
    Status status;
    Live *live = desk_live(bench.desk, bench.job, LIVE_FULL, NULL, &status);
    assert_non_null(live);
    assert_int_equal(role_of(live), EDITS);
    desk_live_done(bench.desk, live);
    atomic_store(&bench.over, true);
    for (int i = 0; i < ASKERS; i++) {
        pthread_join(askers[i], NULL);
    }
    /* Askers go on before the hook is called. */
    for (int i = 0; i < 1000 && atomic_load(&bench.hooks) < 2; i++) {
        pause_ms(10);
    }
    desk_on_derived(bench.desk, NULL, NULL);
    assert_int_equal(atomic_load(&bench.wrong), 0);
    uint64_t dropped;
    uint64_t made = desk_live_count(bench.desk, &dropped);
    print_message("%d edits: %llu times derived, %llu dropped, %d told\n", EDITS,
                  (unsigned long long)made, (unsigned long long)dropped, atomic_load(&bench.hooks));
    assert_true(atomic_load(&bench.hooks) >= 2);
    close_bench(&bench);
}

static void asking_whether_it_is_there_makes_it(void **state) {
    (void)state;
    Bench bench;
    open_bench(&bench);
    DeskMoment since;
    GOOD(desk_moment(bench.desk, bench.job, &since));
    assert_true(desk_live_ready(bench.desk, bench.job, LIVE_CHAIN, NULL));
    assert_false(desk_live_ready(bench.desk, bench.job, LIVE_DRAWN, &since));
    int waited = 0;
    while (!desk_live_ready(bench.desk, bench.job, LIVE_DRAWN, &since) && waited++ < 3000) {
        pause_ms(10);
    }
    assert_true(waited < 3000);
    /* What is there will do for who asked before the edit, not for who asks after it. */
    edit(&bench, 1);
    assert_true(desk_live_ready(bench.desk, bench.job, LIVE_DRAWN, &since));
    Status status;
    Live *live = desk_live(bench.desk, bench.job, LIVE_DRAWN, &since, &status);
    assert_non_null(live);
    assert_int_equal(role_of(live), 0);
    desk_live_done(bench.desk, live);
    assert_false(desk_live_ready(bench.desk, bench.job, LIVE_DRAWN, NULL));
    assert_false(desk_live_ready(bench.desk, bench.job, LIVE_FULL, NULL));
    close_bench(&bench); /* while both are being derived */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nobody_gets_what_is_older_than_his_question),
        cmocka_unit_test(asking_whether_it_is_there_makes_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
