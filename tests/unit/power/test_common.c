/* What ways share, on the example aircraft: as issued, mended, and with a controller moved. */
#include "power/common.h"
#include "support/powered.h"

typedef struct Bench {
    Powered powered;
    Disconnects disconnects;
    Service *service;
    Common common;
} Bench;

static void bench_run(Bench *bench) {
    Powered *powered = &bench->powered;
    Job *job = &powered->job;
    powered_load(powered);
    powered_solve(powered);
    Findings unheard = {.arena = &job->arena};
    assert_true(disconnects_allot(&job->arena, &job->model, &powered->wiring, &powered->routing,
                                  powered->awg, &bench->disconnects, &unheard));
    job->findings.count = 0;
    bench->service =
        service_build(&job->arena, &job->model, &powered->wiring, &powered->supply, &job->findings);
    common_run(&job->arena, &job->model, &powered->wiring, &powered->routing, &bench->disconnects,
               &powered->supply, &powered->built, &powered->phases, bench->service, &bench->common,
               &job->findings);
    assert_true(bench->common.done);
}

static void bench_open(Bench *bench, const char *example) {
    *bench = (Bench){0};
    job_read_folder(&bench->powered.job, example);
}

static const CommonShare *find_share(const Bench *bench, const char *need, const char *clause,
                                     PlaceKind kind, const char *place) {
    const Common *common = &bench->common;
    for (uint32_t i = 0; i < common->share_count; i++) {
        const CommonShare *share = &common->shares[i];
        const Place *there = &common->places.places[share->place];
        if (strcmp(service_need_name(bench->service, share->need), need) == 0 &&
            strcmp(share->clause, clause) == 0 && there->kind == kind &&
            strcmp(there->name, place) == 0) {
            return share;
        }
    }
    return NULL;
}

/* Both indicators behind one breaker: as issued it takes both, mended it takes one. */
static void indicators_behind_one_breaker(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, MARLING_SOURCE_DIR "/examples/osier");
    bench_run(&bench);
    const CommonShare *share = find_share(&bench, "N4", "indicator", PLACE_PROTECTION, "CB_WPA");
    assert_non_null(share);
    assert_true(share->alone);
    assert_true(share->in_scope);
    assert_int_equal(share->way_count, 2);
    arena_free(&bench.powered.job.arena);
    bench_open(&bench, MARLING_SOURCE_DIR "/examples/osier_mended");
    bench_run(&bench);
    assert_null(find_share(&bench, "N4", "indicator", PLACE_PROTECTION, "CB_WPA"));
    arena_free(&bench.powered.job.arena);
}

/* A running engine: nothing in the need's scope takes both ways of a clause, but the injector block
 * itself, which is a declared exception. */
static void engine_ways_are_apart(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, MARLING_SOURCE_DIR "/examples/osier");
    bench_run(&bench);
    uint32_t inside = 0;
    for (uint32_t i = 0; i < bench.common.share_count; i++) {
        const CommonShare *share = &bench.common.shares[i];
        if (share->need == 0 && share->in_scope) {
            inside++;
            assert_string_equal(bench.common.places.places[share->place].name, "INJ");
        }
    }
    assert_int_equal(inside, 1);
    arena_free(&bench.powered.job.arena);
}

/* A shell that carries the main contactor's coil takes everything behind it; a data line that both
 * displays need is named with its conductors. */
static void what_hangs_on_a_coil_and_a_line(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, MARLING_SOURCE_DIR "/examples/osier_mended");
    bench_run(&bench);
    assert_non_null(find_share(&bench, "N2", "attitude", PLACE_SHELL, "BK1L"));
    const CommonShare *share = find_share(&bench, "N2", "attitude", PLACE_SEGMENT, "P02-P03");
    assert_non_null(share);
    assert_false(share->alone); /* the standby has its own battery */
    const Wiring *wiring = &bench.powered.wiring;
    bool line = false;
    for (uint32_t i = 0; i < share->conductor_count; i++) {
        CableId cable = wiring->conductors[share->conductors[i]].cable;
        line = line || strcmp(wiring->nets[wiring->cables[cable].net].name, "CAN_AV") == 0;
    }
    assert_true(line);
    /* One feed open at rest: the audio panel's two supplies come from two buses. */
    assert_null(find_share(&bench, "N3", "radio", PLACE_PROTECTION, "CB_AUD"));
    arena_free(&bench.powered.job.arena);
}

/* Engine circuits A and B: none as issued; controller B put beside A shares six segments. */
static void engine_circuits(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, MARLING_SOURCE_DIR "/examples/osier");
    bench_run(&bench);
    assert_int_equal(bench.common.lane_count, 0);
    assert_int_equal(job_count(&bench.powered.job, RULE_NEED_LANES), 0);
    TableSet rows = {0};
    common_rows(&bench.powered.job.arena, &bench.powered.job.model, &bench.powered.wiring,
                &bench.powered.routing, bench.service, &bench.common, &rows);
    uint32_t links = 0;
    for (size_t i = 0; i < rows.common.count; i++) {
        links += strcmp(rows.common.rows[i].clause, "cross-link") == 0;
    }
    assert_int_equal(links, 4); /* CAN_ENG, INJ_LOW, TRIG_A, TRIG_B */
    arena_free(&bench.powered.job.arena);

    bench_open(&bench, MARLING_SOURCE_DIR "/examples/osier");
    job_write(&bench.powered.job, TABLE_unit, "ECB", "node", "S01");
    bench_run(&bench);
    const char *const shared[] = {"E01-E03", "E03-E05", "E05-E09", "E09-F01", "F01-S01", "S01-P06"};
    uint32_t segments = 0;
    for (uint32_t i = 0; i < bench.common.lane_count; i++) {
        const Place *place = &bench.common.places.places[bench.common.lanes[i].place];
        if (place->kind == PLACE_SEGMENT) {
            assert_true(segments < 6);
            assert_string_equal(place->name, shared[segments++]);
        }
    }
    assert_int_equal(segments, 6);
    assert_int_equal(job_count(&bench.powered.job, RULE_NEED_LANES), 1);
    arena_free(&bench.powered.job.arena);
}

static const CommonRow *find_row(const TableSet *rows, const char *need, const char *kind,
                                 const char *place) {
    for (size_t i = 0; i < rows->common.count; i++) {
        const CommonRow *row = &rows->common.rows[i];
        if (strcmp(row->need, need) == 0 && strcmp(row->kind, kind) == 0 &&
            strcmp(row->place, place) == 0) {
            return row;
        }
    }
    fail_msg("no row %s %s %s", need, kind, place);
    return NULL;
}

/* Another way for one of two cables, one cable that serves both, another ground with a free tab. */
static void proposals(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, MARLING_SOURCE_DIR "/examples/osier_mended");
    bench_run(&bench);
    TableSet rows = {0};
    common_rows(&bench.powered.job.arena, &bench.powered.job.model, &bench.powered.wiring,
                &bench.powered.routing, bench.service, &bench.common, &rows);
    const CommonRow *row = find_row(&rows, "N4", "route segment", "F03-S02");
    assert_non_null(strstr(row->proposal, "longer in all"));
    row = find_row(&rows, "N2", "route segment", "S02-S03");
    assert_non_null(strstr(row->proposal, "itself serves several of the ways"));
    row = find_row(&rows, "N3", "ground", "GBR");
    assert_non_null(strstr(row->proposal, "tabs free"));
    arena_free(&bench.powered.job.arena);
}

static void words_of_a_scope(void **state) {
    (void)state;
    assert_true(place_in_scope("unit, route segment", "route segment"));
    assert_true(place_in_scope("unit,bus ", "bus"));
    assert_false(place_in_scope("unit, route segment", "segment"));
    assert_false(place_in_scope("", "unit"));
    assert_false(place_in_scope("units", "unit"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(indicators_behind_one_breaker),
        cmocka_unit_test(engine_ways_are_apart),
        cmocka_unit_test(what_hangs_on_a_coil_and_a_line),
        cmocka_unit_test(engine_circuits),
        cmocka_unit_test(proposals),
        cmocka_unit_test(words_of_a_scope),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
