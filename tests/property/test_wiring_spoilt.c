/* Jobs and libraries with cells spoilt at random: wiring, ways, cavities, runs, results and reasons
 * come out without a crash, every cavity is on its shell and every result row can be written. How
 * many rounds: MARLING_ROUNDS in the environment, else a few. */
#include <stdlib.h>

#include "support/wired.h"

#include "route/result.h"
#include "table/write.h"

#define SEED 90125u
#define ROUNDS 150

static uint32_t next_random(uint32_t *state) {
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

/* Tables that wiring and routing read. Limits must be there (the library test sees to that). */
static const TableId SPOILT[] = {
    TABLE_node,       TABLE_segment,      TABLE_apart,
    TABLE_disconnect, TABLE_unit,         TABLE_disconnect_shell,
    TABLE_antenna,    TABLE_ground_point, TABLE_lug,
    TABLE_bus,        TABLE_protection,   TABLE_switchgear,
    TABLE_feed,       TABLE_ground,       TABLE_link,
    TABLE_terminator, TABLE_zone,         TABLE_cable,
    TABLE_contact,    TABLE_shell,        TABLE_cavity,
    TABLE_interface,  TABLE_part,         TABLE_part_connector,
    TABLE_port,       TABLE_port_pin,     TABLE_inside,
    TABLE_load,       TABLE_device,       TABLE_switch_part,
    TABLE_stud,       TABLE_wire,         TABLE_coax_loss,
    TABLE_job,        TABLE_allot,        TABLE_allot_cavity,
};

static void spoil_cell(Job *job, uint32_t *random) {
    TableId table = SPOILT[next_random(random) % (sizeof SPOILT / sizeof *SPOILT)];
    size_t count = job->set.any[table].count;
    if (count == 0) {
        return;
    }
    const TableSchema *schema = table_schema(table);
    const ColumnSchema *column = &schema->columns[next_random(random) % schema->column_count];
    char *row = table_row(&job->set, table, next_random(random) % count);
    char *other = table_row(&job->set, table, next_random(random) % count);
    static const char *const TEXTS[] = {"", "NONSENSE", "PD1.PWR", "PD1.PWR PD1.GND", "KM", "all"};
    static const double REALS[] = {0.0, 1e-9, 3.5, 1e7, 0.0 / 1.0};
    static const int32_t WHOLES[] = {INT_BLANK, 0, 1, 2, 3, 1000, -1, 24};
    switch (column->kind) {
    case COLUMN_TEXT:
    case COLUMN_REF:
    case COLUMN_LIST:
    case COLUMN_WORD:
        *(const char **)(void *)(row + column->offset) =
            next_random(random) % 2 == 0 ? *(const char **)(void *)(other + column->offset)
                                         : TEXTS[next_random(random) % 6];
        break;
    case COLUMN_REAL:
        *(double *)(void *)(row + column->offset) =
            next_random(random) % 4 == 0 ? (double)NAN : REALS[next_random(random) % 5];
        break;
    case COLUMN_INT:
    case COLUMN_FLAG:
        *(int32_t *)(void *)(row + column->offset) = WHOLES[next_random(random) % 8];
        break;
    case COLUMN_AWG:
        *(int32_t *)(void *)(row + column->offset) =
            next_random(random) % 2 == 0 ? INT_BLANK : (int32_t)(next_random(random) % 30) - 3;
        break;
    }
}

static void run_all(Wired *wired) {
    Job *job = &wired->job;
    job->findings.count = 0;
    table_check(&job->arena, &job->set, &job->findings);
    if (!model_build(&job->arena, &job->set, &job->model, &job->findings)) {
        return;
    }
    wiring_derive(&job->arena, &job->model, &wired->wiring, &job->findings);
    route_find(&job->arena, &job->model, &wired->wiring, &wired->routing, &job->findings);
    wired_gauges(wired, NULL);
    disconnects_allot(&job->arena, &job->model, &wired->wiring, &wired->routing, wired->awg,
                      &wired->disconnects, &job->findings);
    Bundle *bundles = ARENA_ARRAY(&job->arena, Bundle, job->set.segment.count);
    route_bundles(&job->model, &wired->wiring, &wired->routing, wired->awg, bundles);
    route_check(&job->model, &wired->wiring, &wired->routing, bundles, &job->findings);
    Runs runs;
    runs_measure(&job->arena, &job->model, &wired->wiring, &wired->routing, &wired->disconnects,
                 wired->awg, &runs, &job->findings);
    RouteView view = {&job->model, &wired->wiring, &wired->routing, &wired->disconnects,
                      bundles,     &runs,          wired->awg};
    TableSet result = {0};
    result_route_rows(&job->arena, &view, NULL, NULL, &result);
    Buffer text = {.arena = &job->arena};
    table_write_csv(&text, &result, TABLE_conductor);
    table_write_csv(&text, &result, TABLE_bundle);
    for (ConductorId i = 0; i < wired->wiring.conductor_count; i += 17) {
        assert_true(why_route(&view, wired->wiring.conductors[i].key, &text));
    }
    wired_allot(wired);
    findings_sort(&job->findings);
}

static void spoilt_jobs_do_no_harm(void **state) {
    (void)state;
    const char *asked = getenv("MARLING_ROUNDS");
    long rounds = asked == NULL ? ROUNDS : strtol(asked, NULL, 10);
    uint32_t random = SEED;
    printf("seed %u\n", SEED);
    size_t found = 0;
    for (long round = 0; round < rounds; round++) {
        Wired wired = {0};
        job_read_example(&wired.job);
        uint32_t cells = 1 + next_random(&random) % 12;
        for (uint32_t i = 0; i < cells; i++) {
            spoil_cell(&wired.job, &random);
        }
        run_all(&wired);
        found += wired.job.findings.count;
        if (next_random(&random) % 4 == 0) { /* once more with allotments, and spoilt again */
            spoil_cell(&wired.job, &random);
            run_all(&wired);
        }
        arena_free(&wired.job.arena);
    }
    assert_true(found > (size_t)rounds); /* the first issue alone has some */
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(spoilt_jobs_do_no_harm)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
