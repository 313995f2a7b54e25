/* The whole chain gives one result: whatever the order of rows in the files, however often it runs,
 * in however many threads at once. Compared as the bytes of every result table. */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "app/prove.h"
#include "table/write.h"

#define LIBRARY MARLING_SOURCE_DIR "/library"

static const char *const JOBS[] = {MARLING_SOURCE_DIR "/examples/osier",
                                   MARLING_SOURCE_DIR "/examples/osier_mended",
                                   MARLING_SOURCE_DIR "/examples/first"};
/* The sanitizers look for slips: fewer rounds are enough for them. */
#ifdef MARLING_SANITIZED
enum { THREADS_MAX = 4, SHUFFLES = 3 };
#else
enum { THREADS_MAX = 8, SHUFFLES = 20 };
#endif

enum { JOB_COUNT = sizeof JOBS / sizeof *JOBS };

/* All result tables as one text; the file lines that findings carry are left out, they do depend
 * on the order of rows. */
static char *result_text(Arena *arena, Proof *proof) {
    Buffer text = {.arena = arena};
    for (size_t i = 0; i < proof->set.finding.count; i++) {
        proof->set.finding.rows[i].line = INT_BLANK;
    }
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (table_schema((TableId)table)->group == GROUP_RESULT) {
            buffer_format(&text, "== %s\n", table_schema((TableId)table)->name);
            table_write_csv(&text, &proof->set, (TableId)table);
        }
    }
    return text.bytes;
}

static char *prove_text(Arena *arena, const char *job) {
    ProofOptions options = {.library = LIBRARY};
    Proof proof;
    proof_run(job, &options, &proof);
    assert_true(proof.complete);
    char *text = result_text(arena, &proof);
    proof_free(&proof);
    return text;
}

/* Names the first line that differs. */
static void assert_same(const char *before, const char *after) {
    while (*before != '\0' && *before == *after) {
        before++;
        after++;
    }
    if (*before != *after) {
        fail_msg("differs from here on:\n%.200s\n--- and\n%.200s", before, after);
    }
}

static void runs_repeat(void **state) {
    (void)state;
    for (size_t i = 0; i < JOB_COUNT; i++) {
        Arena arena = {0};
        const char *first = prove_text(&arena, JOBS[i]);
        assert_same(first, prove_text(&arena, JOBS[i]));
        arena_free(&arena);
    }
}

/* --- threads ------------------------------------------------------------------------------------
 */

typedef struct Worker {
    const char *job;
    Arena arena;
    char *text;
} Worker;

static void *work(void *context) {
    Worker *worker = context;
    worker->text = prove_text(&worker->arena, worker->job);
    return NULL;
}

static void threads_agree(void **state) {
    (void)state;
    Arena arena = {0};
    const char *alone = prove_text(&arena, JOBS[0]);
    for (size_t count = 1; count <= THREADS_MAX; count *= 2) {
        pthread_t threads[THREADS_MAX];
        Worker workers[THREADS_MAX] = {0};
        for (size_t i = 0; i < count; i++) {
            workers[i].job = JOBS[0];
            assert_int_equal(pthread_create(&threads[i], NULL, work, &workers[i]), 0);
        }
        for (size_t i = 0; i < count; i++) {
            assert_int_equal(pthread_join(threads[i], NULL), 0);
            assert_same(alone, workers[i].text);
            arena_free(&workers[i].arena);
        }
    }
    arena_free(&arena);
}

/* --- order of rows ------------------------------------------------------------------------------
 */

static uint64_t next_random(uint64_t *random) {
    uint64_t z = (*random += 0x9e3779b97f4a7c15u); /* splitmix64 */
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static void shuffle_rows(TableSet *set, TableId table, uint64_t *random) {
    size_t bytes = table_schema(table)->row_bytes;
    char *spare = malloc(bytes);
    assert_non_null(spare);
    for (size_t i = set->any[table].count; i > 1; i--) {
        size_t other = (size_t)(next_random(random) % i);
        char *a = table_row(set, table, i - 1);
        char *b = table_row(set, table, other);
        memcpy(spare, a, bytes);
        memmove(a, b, bytes);
        memcpy(b, spare, bytes);
    }
    free(spare);
}

static void order_of_rows_does_not_show(void **state) {
    (void)state;
    Arena arena = {0};
    const char *sorted = prove_text(&arena, JOBS[0]);
    uint64_t random = 20261125;
    for (int round = 0; round < SHUFFLES; round++) {
        print_message("seed %llu\n", (unsigned long long)random);
        ProofOptions options = {.library = LIBRARY};
        Proof proof = {0};
        proof.findings.arena = &proof.arena;
        Status library =
            table_read_folder(&proof.arena, LIBRARY, GROUP_LIBRARY, &proof.set, &proof.findings);
        Status job =
            table_read_folder(&proof.arena, JOBS[0], GROUP_JOB, &proof.set, &proof.findings);
        assert_false(library.failed || job.failed);
        for (int table = 0; table < TABLE_COUNT; table++) {
            shuffle_rows(&proof.set, (TableId)table, &random);
        }
        proof_run_set(&options, &proof);
        assert_same(sorted, result_text(&arena, &proof));
        proof_free(&proof);
    }
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(runs_repeat),
        cmocka_unit_test(threads_agree),
        cmocka_unit_test(order_of_rows_does_not_show),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
