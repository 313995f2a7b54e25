/* What must hold of any work list: it can be done in the order given, every end, arm and piece is
 * worked on once, the longest chain is one and nothing is longer. On the examples and on grown
 * aircraft, with the library's operations and with operations by chance. */
#include "shop/work.h"

#include <stdlib.h>

#include "support/job_grow.h"
#include "support/wired.h"

typedef struct Bench {
    Wired wired;
    Ends ends;
    HarnessSet harness;
    PrepSet prep;
    WorkList list;
} Bench;

static void make(Bench *bench) {
    Wired *wired = &bench->wired;
    wired_run(wired, NULL);
    ends_build(&wired->job.arena, &wired->job.model, &wired->wiring, &wired->routing,
               &wired->disconnects, wired->awg, &bench->ends);
    wired->job.findings.count = 0;
    assert_true(
        harness_build(&wired->job.arena, &bench->ends, &bench->harness, &wired->job.findings));
    assert_true(prep_build(&wired->job.arena, &bench->harness, &bench->prep, &wired->job.findings));
    assert_true(work_build(&wired->job.arena, &bench->prep, &bench->list, &wired->job.findings));
}

/* Longest way to the end of an item, by its predecessors; memo holds -1 where it is not known. */
static double longest(const WorkList *list, uint32_t item, double *memo) {
    if (memo[item] >= 0.0) {
        return memo[item];
    }
    double begin = 0.0;
    const WorkItem *row = &list->items[item];
    for (uint32_t i = 0; i < row->after_count; i++) {
        double end = longest(list, list->after[row->after_first + i], memo);
        begin = end > begin ? end : begin;
    }
    memo[item] = begin + row->minutes;
    return memo[item];
}

static void holds(const Bench *bench) {
    const double MINUTES = 1e-6;
    const WorkList *list = &bench->list;
    const TableSet *set = &bench->wired.job.set;
    double *memo = malloc((list->item_count + 1) * sizeof *memo);
    for (uint32_t i = 0; i < list->item_count; i++) {
        memo[i] = -1.0;
    }
    double ends = 0.0;
    uint32_t next = 0;
    for (uint32_t m = 0; m < bench->harness.harness_count; m++) {
        const WorkModule *module = &list->modules[m];
        double minutes = 0.0;
        double most = 0.0;
        assert_int_equal(module->item_first, next);
        for (uint32_t i = 0; i < module->item_count; i++, next++) {
            const WorkItem *item = &list->items[next];
            assert_int_equal(item->harness, m);
            assert_int_equal(item->step, i + 1);
            assert_true(item->quantity > 0.0 && item->float_min >= 0.0);
            for (uint32_t k = 0; k < item->after_count; k++) {
                const WorkItem *before = &list->items[list->after[item->after_first + k]];
                assert_int_equal(before->harness, m);
                assert_true(before->step < item->step);
            }
            double end = longest(list, next, memo);
            assert_true(fabs(item->early_min + item->minutes - end) < MINUTES);
            assert_true(end + item->float_min <= module->longest_min + MINUTES);
            most = end > most ? end : most;
            minutes += item->minutes;
            ends += strcmp(set->labour.rows[item->labour].operation, "crimp") == 0 ? item->quantity
                                                                                   : 0.0;
        }
        assert_true(fabs(most - module->longest_min) < MINUTES);
        assert_true(fabs(minutes - module->minutes) < MINUTES);
        double chain = 0.0;
        for (uint32_t i = 0; i < module->chain_count; i++) {
            assert_true(i == 0 || list->items[module->chain[i]].step >
                                      list->items[module->chain[i - 1]].step);
            assert_true(list->items[module->chain[i]].float_min < MINUTES);
            chain += list->items[module->chain[i]].minutes;
        }
        assert_true(fabs(chain - module->longest_min) < MINUTES);
    }
    assert_int_equal(next, list->item_count);
    double wanted = 0.0;
    for (uint32_t i = 0; i < 2 * bench->ends.piece_count; i++) {
        const Piece *piece = &bench->ends.pieces[i / 2];
        bool way = bench->harness.pieces[i / 2].leaf[0] != ID_NONE;
        bool held = piece->conductor != ID_NONE || piece->ends[i % 2].kind == PIECE_CAVITY;
        wanted += way && held && !bench->wired.wiring.cables[piece->cable].coax;
    }
    assert_true(fabs(ends - wanted) < 0.5);
    free(memo);
}

static void examples_hold(void **state) {
    (void)state;
    static const char *const JOBS[] = {MARLING_SOURCE_DIR "/examples/first",
                                       MARLING_SOURCE_DIR "/examples/osier_mended"};
    for (size_t i = 0; i < sizeof JOBS / sizeof *JOBS; i++) {
        Bench bench = {0};
        job_read_folder(&bench.wired.job, JOBS[i]);
        make(&bench);
        holds(&bench);
        assert_true(bench.list.item_count > 50);
        arena_free(&bench.wired.job.arena);
    }
}

static uint64_t chance(uint64_t *random) {
    uint64_t z = (*random += 0x9e3779b97f4a7c15u); /* splitmix64 */
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

/* Operations wait for others that come before them in the table, by chance; scopes, ranks and
 * minutes by chance too. `crimp` stays as it is but for what it waits for. */
static void shuffle_operations(Job *job, uint64_t *random) {
    static const char *const SCOPES[] = {"module", "leaf", "arm"};
    TableSet *set = &job->set;
    for (size_t i = 0; i < set->labour.count; i++) {
        LabourRow *row = &set->labour.rows[i];
        Buffer after = {.arena = &job->arena};
        for (size_t k = 0; k < i; k++) {
            if (chance(random) % 4 == 0) {
                buffer_format(&after, "%s%s", after.length == 0 ? "" : " ",
                              set->labour.rows[k].operation);
            }
        }
        row->after = after.bytes == NULL ? "" : after.bytes;
        row->rank = (int32_t)(chance(random) % 100);
        row->minutes_min = (double)(chance(random) % 50) / 10.0;
        row->scope = strcmp(row->operation, "crimp") == 0 ? "leaf" : SCOPES[chance(random) % 3];
    }
}

static void operations_by_chance_hold(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= 100; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Bench bench = {0};
        job_read_folder(&bench.wired.job, seed % 4 == 0 ? MARLING_SOURCE_DIR
                                              "/examples/osier_mended"
                                                        : MARLING_SOURCE_DIR "/examples/first");
        uint64_t random = seed;
        shuffle_operations(&bench.wired.job, &random);
        make(&bench);
        holds(&bench);
        arena_free(&bench.wired.job.arena);
    }
}

static void grown_aircraft_hold(void **state) {
    (void)state;
    Job template;
    job_read_example(&template);
    for (uint64_t seed = 1; seed <= 3; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Bench bench = {0};
        job_start(&bench.wired.job);
        job_grow(&bench.wired.job.arena, &template.set, seed * 900, seed, &bench.wired.job.set);
        table_check(&bench.wired.job.arena, &bench.wired.job.set, &bench.wired.job.findings);
        make(&bench);
        holds(&bench);
        arena_free(&bench.wired.job.arena);
    }
    arena_free(&template.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_hold),
        cmocka_unit_test(operations_by_chance_hold),
        cmocka_unit_test(grown_aircraft_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
