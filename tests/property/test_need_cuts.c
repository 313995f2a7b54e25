/* Cut sets of a whole small aircraft: the search with classes, and on several threads, against
 * trying every failure and every pair by itself, with nothing left out. This holds the claims of
 * the fault list's classes too. */
#include <pthread.h>

#include "power/need_cuts.h"
#include "support/powered.h"

typedef struct Bench {
    Powered powered;
    Disconnects disconnects;
    Service *service;
    Faults faults;
    FaultsSweep sweep;
} Bench;

static void bench_build(Bench *bench) {
    Powered *powered = &bench->powered;
    Job *job = &powered->job;
    Arena *arena = &job->arena;
    powered_load(powered);
    powered_solve(powered);
    Findings unheard = {.arena = arena};
    assert_true(disconnects_allot(arena, &job->model, &powered->wiring, &powered->routing,
                                  powered->awg, &bench->disconnects, &unheard));
    bench->service =
        service_build(arena, &job->model, &powered->wiring, &powered->supply, &job->findings);
    FaultsInput input = {
        .model = &job->model,
        .wiring = &powered->wiring,
        .routing = &powered->routing,
        .disconnects = &bench->disconnects,
        .supply = &powered->supply,
        .built = &powered->built,
        .phases = &powered->phases,
        .rating_a = powered->sizing.rating_a,
        .service = bench->service,
    };
    job->findings.count = 0;
    faults_build(arena, &input, &bench->faults, &job->findings);
    faults_run(arena, &bench->faults, 1, &bench->sweep, &job->findings);
}

/* Two radios in place of one, so that there are pairs: the second is an intercom of its own
 * breaker.
 */
static void bench_open(Bench *bench) {
    *bench = (Bench){0};
    Job *job = &bench->powered.job;
    job_start(job);
    job_read_library(job);
    Status status = table_read_folder(&job->arena, MARLING_SOURCE_DIR "/examples/first", GROUP_JOB,
                                      &job->set, &job->findings);
    assert_false(status.failed);
    job_add(job, TABLE_need,
            "need,clause,way,port,name,severity,scope\n"
            "N2,box,a,COM.PWR,something that answers,minor,\"unit, conductor\"\n"
            "N2,box,b,XPD.PWR,something that answers,minor,\"unit, conductor\"\n"
            "N3,reading,a,EMS.oil pressure,a reading,major,bus\n"
            "N3,reading,b,EMS.oil temperature,a reading,major,bus\n");
    job_check(job);
    bench_build(bench);
}

/* Tops lost, asked of the network itself. */
static void try_all(FaultsTrier *trier, const NeedCuts *cuts, const uint32_t *failures,
                    uint32_t count, uint64_t *lost) {
    for (uint32_t phase = 0; phase < cuts->phase_count; phase++) {
        FaultsEffect effect = faults_try(trier, phase, failures, count);
        for (uint32_t i = 0; i < effect.need_count; i++) {
            uint32_t top = effect.needs[i] * cuts->phase_count + phase;
            *lost |= UINT64_C(1) << top;
        }
    }
}

typedef struct Found {
    uint32_t count; /* failures */
    uint64_t *lost; /* by a * count + b */
    uint64_t now;
} Found;

static void note(void *context, uint32_t a, uint32_t b) {
    Found *found = context;
    assert_int_equal(found->lost[(size_t)a * found->count + b], 0);
    found->lost[(size_t)a * found->count + b] = found->now;
}

static bool tried_alone(const Bench *bench, uint32_t failure) {
    const FailureModeRow *mode =
        &bench->powered.job.set.failure_mode.rows[bench->faults.list.failures[failure].mode];
    return mode->alone == 1;
}

static void same_as_trying_every_pair(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    Arena *arena = &bench.powered.job.arena;
    const FaultsList *list = &bench.faults.list;
    NeedCuts cuts;
    need_cuts_search(arena, &bench.faults, &bench.sweep, true, 1, &cuts);
    assert_true(cuts.search.top_count <= 64);
    Found found = {.count = list->count};
    found.lost = ARENA_ARRAY(arena, uint64_t, (size_t)list->count * list->count);
    for (uint32_t i = 0; i < cuts.result.pair_count; i++) {
        found.now = cuts.result.pairs[i].lost[0];
        cutset_expand(&cuts.search, &cuts.result.pairs[i], note, &found);
    }
    FaultsTrier *trier = faults_trier_new(arena, &bench.faults);
    uint64_t *single = ARENA_ARRAY(arena, uint64_t, list->count);
    for (uint32_t a = 0; a < list->count; a++) {
        try_all(trier, &cuts, &a, 1, &single[a]);
        if (single[a] != cuts.result.single[a]) {
            fail_msg("%s alone", list->failures[a].key);
        }
    }
    uint32_t sets = 0;
    for (uint32_t a = 0; a < list->count; a++) {
        for (uint32_t b = a + 1; b < list->count; b++) {
            uint64_t lost = 0;
            if (list->component[a] != list->component[b] && !tried_alone(&bench, a) &&
                !tried_alone(&bench, b)) {
                try_all(trier, &cuts, (uint32_t[]){a, b}, 2, &lost);
            }
            lost &= ~(single[a] | single[b]);
            if (lost != found.lost[(size_t)a * list->count + b]) {
                fail_msg("%s + %s: %llx tried, %llx found", list->failures[a].key,
                         list->failures[b].key, (unsigned long long)lost,
                         (unsigned long long)found.lost[(size_t)a * list->count + b]);
            }
            sets += lost != 0 ? 1 : 0;
        }
    }
    assert_int_equal(sets, cuts.result.counts.pairs_found);
    assert_true(sets > 10);
    assert_true(cuts.result.counts.stood_for > 1000);
    faults_trier_free(trier);
    arena_free(arena);
}

static void same_bytes_on_any_number_of_threads(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    Arena *arena = &bench.powered.job.arena;
    NeedCuts one;
    need_cuts_search(arena, &bench.faults, &bench.sweep, true, 1, &one);
    for (unsigned threads = 2; threads < 5; threads++) {
        NeedCuts many;
        need_cuts_search(arena, &bench.faults, &bench.sweep, true, threads, &many);
        assert_memory_equal(&one.result.counts, &many.result.counts, sizeof one.result.counts);
        assert_int_equal(one.not_solved, many.not_solved);
        assert_int_equal(one.not_proved, many.not_proved);
        assert_int_equal(one.data_only, many.data_only);
        assert_int_equal(one.result.pair_count, many.result.pair_count);
        for (uint32_t i = 0; i < one.result.pair_count; i++) {
            const CutPair *a = &one.result.pairs[i];
            const CutPair *b = &many.result.pairs[i];
            assert_int_equal(a->a, b->a);
            assert_int_equal(a->b, b->b);
            assert_int_equal(a->sets, b->sets);
            assert_int_equal(a->lost[0], b->lost[0]);
        }
    }
    arena_free(arena);
}

/* Counts of a row and what the rows stand for agree; every finding has its rows. */
static void rows_agree_with_findings(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    Job *job = &bench.powered.job;
    NeedCuts cuts;
    need_cuts_search(&job->arena, &bench.faults, &bench.sweep, true, 1, &cuts);
    job->findings.count = 0;
    need_cuts_judge(&cuts, &job->findings);
    TableSet rows = {0};
    need_cuts_rows(&job->arena, &cuts, &rows);
    assert_int_equal(rows.cut_count.count, 3);
    for (size_t i = 0; i < rows.cut_count.count; i++) {
        const CutCountRow *count = &rows.cut_count.rows[i];
        int32_t singles = 0;
        int32_t inside = 0;
        int32_t pairs = 0;
        for (size_t k = 0; k < rows.cut_set.count; k++) {
            const CutSetRow *row = &rows.cut_set.rows[k];
            if (strcmp(row->need, count->need) == 0) {
                singles += row->order == 1 ? row->sets : 0;
                inside += row->order == 1 && row->in_scope == 1;
                pairs += row->order == 2 ? row->sets : 0;
            }
        }
        assert_int_equal(singles, count->order_1);
        assert_int_equal(inside, count->in_scope);
        assert_int_equal(pairs, count->order_2);
    }
    assert_true(rows.cut_count.rows[1].in_scope > 0);
    assert_true(rows.cut_count.rows[1].order_1 > 0);
    assert_true(rows.cut_count.rows[1].order_2 > 0);
    assert_true(rows.cut_count.rows[2].in_scope > 0);
    arena_free(&job->arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_as_trying_every_pair),
        cmocka_unit_test(same_bytes_on_any_number_of_threads),
        cmocka_unit_test(rows_agree_with_findings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
