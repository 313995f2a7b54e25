/* What failures do does not depend on how it is reckoned: a class's members one by one, in pairs
 * with what does not touch it; one thread or several; rows of the job in any order. On the example
 * aircraft, in the phases that it marks. */
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
#include "support/job_grow.h"
#include "table/write.h"

#define SEED 90817u
#define PAIRS 4000u
#define THREADS 3u

static uint32_t next_random(uint32_t *state) {
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

static const ProofOptions OPTIONS = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};

/* What a try says that the rows tell: lists, not seconds. */
static void describe(Buffer *text, const FaultsEffect *effect) {
    const uint32_t *lists[] = {effect->lost,     effect->restarted, effect->gained, effect->cycling,
                               effect->unproved, effect->functions, effect->needs,  effect->ways};
    const uint32_t counts[] = {effect->lost_count,     effect->restarted_count,
                               effect->gained_count,   effect->cycling_count,
                               effect->unproved_count, effect->function_count,
                               effect->need_count,     effect->way_count};
    buffer_format(text, "%d", (int)effect->status);
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        buffer_text(text, "|");
        for (uint32_t k = 0; k < counts[i]; k++) {
            buffer_format(text, " %u", lists[i][k]);
        }
    }
    for (uint32_t i = 0; i < effect->opening_count; i++) {
        buffer_format(text, "/%u %u", effect->openings[i].owner, effect->openings[i].rival);
    }
}

/* True when both tries say the same. */
static bool same_try(FaultsTrier *trier, uint32_t phase, const uint32_t *a, const uint32_t *b,
                     uint32_t count) {
    Arena arena = {0};
    Buffer left = {.arena = &arena};
    Buffer right = {.arena = &arena};
    FaultsEffect effect = faults_try(trier, phase, a, count);
    describe(&left, &effect);
    effect = faults_try(trier, phase, b, count);
    describe(&right, &effect);
    bool same = strcmp(left.bytes, right.bytes) == 0;
    if (!same) {
        fprintf(stderr, "%s\n%s\n", left.bytes, right.bytes);
    }
    arena_free(&arena);
    return same;
}

typedef struct Bench {
    Proof proof;
    Faults faults;
    FaultsTrier *trier;
} Bench;

static void bench_open(Bench *bench) {
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &OPTIONS, &bench->proof);
    assert_true(bench->proof.complete);
    FaultsInput input = proof_faults_input(&bench->proof);
    faults_build(&bench->proof.arena, &input, &bench->faults, &bench->proof.findings);
    assert_int_equal(bench->faults.phase_count, 2);
    bench->trier = faults_trier_new(&bench->proof.arena, &bench->faults);
}

static void bench_close(Bench *bench) {
    faults_trier_free(bench->trier);
    proof_free(&bench->proof);
}

static const char *key(const Bench *bench, uint32_t failure) {
    return bench->faults.list.failures[failure].key;
}

static void members_do_what_their_class_does(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    const FaultsList *list = &bench.faults.list;
    uint32_t compared = 0;
    for (uint32_t c = 0; c < list->class_count; c++) {
        uint32_t first = list->class_members[list->class_first[c]];
        for (uint32_t i = list->class_first[c] + 1; i < list->class_first[c + 1]; i++) {
            uint32_t member = list->class_members[i];
            for (uint32_t phase = 0; phase < bench.faults.phase_count; phase++) {
                if (!same_try(bench.trier, phase, &first, &member, 1)) {
                    fail_msg("%s and %s are one class", key(&bench, first), key(&bench, member));
                }
                compared++;
            }
        }
    }
    printf("%u failures, %u classes, %u comparisons\n", list->count, list->class_count, compared);
    assert_true(compared > 500);
    bench_close(&bench);
}

static bool touches(const FaultsList *list, uint32_t failure, uint32_t class_id) {
    for (uint32_t i = list->touch_first[failure]; i < list->touch_first[failure + 1]; i++) {
        if (list->touch[i] == class_id) {
            return true;
        }
    }
    return false;
}

static void members_stand_for_each_other_in_pairs(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    const FaultsList *list = &bench.faults.list;
    uint32_t random = SEED;
    printf("seed %u\n", SEED);
    uint32_t compared = 0;
    for (uint32_t round = 0; round < PAIRS; round++) {
        uint32_t member = next_random(&random) % list->count;
        uint32_t other = next_random(&random) % list->count;
        uint32_t class_id = list->class_of[member];
        uint32_t first = list->class_members[list->class_first[class_id]];
        uint32_t phase = next_random(&random) % bench.faults.phase_count;
        if (first == member || touches(list, other, class_id) ||
            list->component[other] == list->component[member] ||
            list->component[other] == list->component[first]) {
            continue;
        }
        uint32_t a[2] = {first, other};
        uint32_t b[2] = {other, member};
        if (!same_try(bench.trier, phase, a, b, 2)) {
            fail_msg("with %s, %s and %s differ", key(&bench, other), key(&bench, first),
                     key(&bench, member));
        }
        compared++;
    }
    printf("%u pairs compared\n", compared);
    assert_true(compared > PAIRS / 4);
    bench_close(&bench);
}

static const char *rows_text(Arena *arena, const Proof *proof) {
    Buffer text = {.arena = arena};
    table_write_csv(&text, &proof->set, TABLE_fault);
    table_write_csv(&text, &proof->set, TABLE_fault_effect);
    return text.bytes;
}

static void shuffle(TableSet *set, uint32_t *random) {
    for (int table = 0; table < TABLE_COUNT; table++) {
        size_t bytes = table_schema((TableId)table)->row_bytes;
        char *rows = set->any[table].rows;
        char keep[4096];
        assert_true(bytes <= sizeof keep);
        for (size_t i = set->any[table].count; i > 1; i--) {
            size_t k = next_random(random) % i;
            memcpy(keep, rows + (i - 1) * bytes, bytes);
            memcpy(rows + (i - 1) * bytes, rows + k * bytes, bytes);
            memcpy(rows + k * bytes, keep, bytes);
        }
    }
}

static void threads_and_order_of_rows_change_no_byte(void **state) {
    (void)state;
    Arena arena = {0};
    const char *expected = NULL;
    uint32_t random = SEED;
    for (unsigned run = 0; run < 3; run++) {
        Proof proof = {0};
        ProofOptions options = OPTIONS;
        options.no_faults = false;
        options.threads = run == 1 ? THREADS : 1;
        proof.findings.arena = &proof.arena;
        assert_false(table_read_folder(&proof.arena, OPTIONS.library, GROUP_LIBRARY, &proof.set,
                                       &proof.findings)
                         .failed);
        assert_false(table_read_folder(&proof.arena, MARLING_SOURCE_DIR "/examples/osier",
                                       GROUP_JOB, &proof.set, &proof.findings)
                         .failed);
        if (run == 2) {
            shuffle(&proof.set, &random);
        }
        proof_run_set(&options, &proof);
        assert_true(proof.complete);
        const char *text = rows_text(&arena, &proof);
        if (expected == NULL) {
            expected = text;
            assert_true(strlen(text) > 100000);
        }
        assert_true(strcmp(text, expected) == 0);
        proof_free(&proof);
    }
    arena_free(&arena);
}

/* The mistakes that a designer put into the first issue, and what the mended one makes of them. */
static bool loses(const Proof *proof, const char *failure, const char *need) {
    for (size_t i = 0; i < proof->set.fault.count; i++) {
        const FaultRow *row = &proof->set.fault.rows[i];
        if (strcmp(row->failure, failure) == 0 && text_has_word(row->needs, need)) {
            return true;
        }
    }
    return false;
}

static void planted_mistakes_show(void **state) {
    (void)state;
    static const char *const FOLDERS[2] = {MARLING_SOURCE_DIR "/examples/osier",
                                           MARLING_SOURCE_DIR "/examples/osier_mended"};
    for (int mended = 0; mended < 2; mended++) {
        Proof proof;
        ProofOptions options = OPTIONS;
        options.no_faults = false;
        proof_run(FOLDERS[mended], &options, &proof);
        assert_true(proof.complete);
        /* Both wheel indicators hang on one breaker. */
        assert_int_equal(loses(&proof, "CB_WPA:open", "N4"), mended == 0);
        /* One diode, one fuse feeds the whole essential bus, and with it the indicators. */
        assert_int_equal(loses(&proof, "DI1:open", "N4"), mended == 0);
        assert_int_equal(loses(&proof, "F_ESSM:open", "N4"), mended == 0);
        /* The declared exception stays one in both. */
        assert_true(loses(&proof, "INJ:dead", "N1"));
        proof_free(&proof);
    }
}

static void a_large_job_says_that_failures_are_left_out(void **state) {
    (void)state;
    Proof example = {0};
    example.findings.arena = &example.arena;
    assert_false(table_read_folder(&example.arena, OPTIONS.library, GROUP_LIBRARY, &example.set,
                                   &example.findings)
                     .failed);
    assert_false(table_read_folder(&example.arena, MARLING_SOURCE_DIR "/examples/osier", GROUP_JOB,
                                   &example.set, &example.findings)
                     .failed);
    Proof proof = {0};
    job_grow(&proof.arena, &example.set, PROOF_FAULTS_CONDUCTORS + 500, 1, &proof.set);
    ProofOptions options = {.library = OPTIONS.library, .no_results = true};
    proof_run_set(&options, &proof);
    assert_true(proof.complete && proof.faults.model == NULL);
    size_t told = 0;
    size_t shorts = 0;
    for (size_t i = 0; i < proof.findings.count; i++) {
        told += proof.findings.rows[i].rule == RULE_FAULT_LEFT_OUT ? 1 : 0;
        shorts += proof.findings.rows[i].rule == RULE_GUARD_LEFT_OUT ? 1 : 0;
    }
    assert_int_equal(told, 1);
    assert_int_equal(shorts, 1);
    assert_int_equal(proof.guard.row_count, 0);
    proof_free(&proof);
    proof_free(&example);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(members_do_what_their_class_does),
        cmocka_unit_test(members_stand_for_each_other_in_pairs),
        cmocka_unit_test(threads_and_order_of_rows_change_no_byte),
        cmocka_unit_test(planted_mistakes_show),
        cmocka_unit_test(a_large_job_says_that_failures_are_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
