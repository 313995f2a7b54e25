/* What must hold of any sizing: no wire can be one gauge thinner with all others as they are, and
 * the limit named is the one it then breaks; conductors only grow from where they start; they are
 * sized for what is cut; the order of rows changes nothing. Tried on the example and on grown
 * aircraft. */
#include "support/sized.h"

#include <stdlib.h>

#include "base/units.h"
#include "route/length.h"
#include "support/job_grow.h"

static const char *awg_text(Sized *sized, int32_t awg) {
    return value_awg_text(&sized->job.arena, awg);
}

/* --- one gauge thinner --------------------------------------------------------------------------
 */

/* Fixes every wire that the tool chose at its gauge, `thin` one gauge thinner, and sizes again. */
static void impose(Sized *again, const Sized *first, CableId thin) {
    const SizeDetail *detail = first->sizing.detail;
    size_t before = again->job.set.override.count;
    for (CableId c = 0; c < first->wiring.cable_count; c++) {
        if (detail->fixed[c] != SIZE_FREE || detail->place[c] == GAUGE_NONE) {
            continue;
        }
        uint32_t place = detail->place[c];
        place = c == thin ? limits_thinner(&detail->limits, place) : place;
        ConductorId wire = first->wiring.cables[c].conductor_first;
        sized_override(again, first->wiring.conductors[wire].key,
                       awg_text(again, detail->limits.gauges[place].awg));
    }
    sized_run(again);
    assert_int_equal(job_count(&again->job, RULE_SIZE_OVERRIDE_ROW), 0);
    again->job.set.override.count = before;
}

/* Whether one of the findings against gauges is about this wire, or about a feeder it is part of.
 */
static bool is_told(const Sized *sized, const char *key) {
    size_t length = strlen(key);
    for (size_t i = 0; i < sized->job.findings.count; i++) {
        const Finding *finding = &sized->job.findings.rows[i];
        if (finding->severity != SEVERITY_ERROR ||
            (finding->rule != RULE_SIZE_OVERRIDE && finding->rule != RULE_SIZE_DEVICE_LARGE &&
             finding->rule != RULE_SIZE_CONTACT)) {
            continue;
        }
        if (strcmp(finding->key, key) == 0) {
            return true;
        }
        for (const char *at = strstr(finding->rows, key); at != NULL; at = strstr(at + 1, key)) {
            bool starts = at == finding->rows || at[-1] == ' ';
            if (starts && (at[length] == '\0' || at[length] == ' ')) {
                return true;
            }
        }
    }
    return false;
}

static void no_wire_can_be_thinner(void **state) {
    (void)state;
    Sized first = {0};
    Sized again = {0};
    job_read_example(&first.job);
    sized_run(&first);
    const SizeDetail *detail = first.sizing.detail;
    uint32_t tried = 0;
    uint32_t by_limit[SIZE_LIMIT_COUNT] = {0};
    for (CableId c = 0; c < first.wiring.cable_count; c++) {
        ConductorId wire = first.wiring.cables[c].conductor_first;
        if (detail->fixed[c] != SIZE_FREE || detail->place[c] == GAUGE_NONE ||
            limits_thinner(&detail->limits, detail->place[c]) == GAUGE_NONE) {
            continue;
        }
        if (tried % 20 == 0) { /* a fresh arena now and then: each run takes some */
            arena_free(&again.job.arena);
            again = (Sized){0};
            job_read_example(&again.job);
        }
        impose(&again, &first, c);
        const GaugeChoice *before = &first.sizing.choices[wire];
        const GaugeChoice *after = &again.sizing.choices[wire];
        SizeLimit named = before->governing;
        const char *key = first.wiring.conductors[wire].key;
        /* The limit asked for the gauge the wire had, and does so still. */
        if (before->smallest_awg[named] != before->awg || after->awg <= before->awg ||
            after->smallest_awg[named] >= after->awg || !is_told(&again, key)) {
            fail_msg("%s: AWG %d by %s, but AWG %d passes", key, before->awg,
                     size_limit_name(named), after->awg);
        }
        tried++;
        by_limit[named]++;
    }
    for (int i = 0; i < SIZE_LIMIT_COUNT; i++) {
        print_message("%-18s %u wires\n", size_limit_name((SizeLimit)i), by_limit[i]);
    }
    assert_true(tried > 150);
    assert_true(by_limit[SIZE_HOT_DROP] > 0 && by_limit[SIZE_PROTECTION] > 0);
    arena_free(&again.job.arena);
    arena_free(&first.job.arena);
}

/* The same through the pass's own question, on grown aircraft: too many wires to size again for
 * each. */
static void no_wire_of_a_grown_aircraft_can_be_thinner(void **state) {
    (void)state;
    Job template;
    job_read_example(&template);
    for (uint64_t seed = 1; seed <= 4; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Sized sized = {0};
        job_start(&sized.job);
        job_grow(&sized.job.arena, &template.set, seed * 600, seed, &sized.job.set);
        table_check(&sized.job.arena, &sized.job.set, &sized.job.findings);
        sized_run(&sized);
        const SizeDetail *detail = sized.sizing.detail;
        uint32_t asked = 0;
        for (CableId c = 0; c < sized.wiring.cable_count; c++) {
            if (detail->fixed[c] != SIZE_FREE || detail->place[c] == GAUGE_NONE) {
                continue;
            }
            uint32_t thinner = limits_thinner(&detail->limits, detail->place[c]);
            SizeLimit named =
                sized.sizing.choices[sized.wiring.cables[c].conductor_first].governing;
            bool says = false;
            double value = 0.0;
            double limit = 0.0;
            assert_true(thinner != GAUGE_NONE && named < SIZE_LIMIT_COUNT);
            assert_false(sizing_holds(detail, c, named, thinner, false, &says, &value, &limit));
            asked++;
        }
        for (uint32_t f = 0; f < sized.sizing.feeder_count; f++) {
            const Feeder *feeder = &sized.sizing.feeders[f];
            for (int kind = 0; kind < DROP_KIND_COUNT; kind++) {
                double drop_v = kind == DROP_PLAIN ? feeder->plain_drop_v : feeder->hot_drop_v;
                assert_true(detail->given_up[kind][f] ||
                            drop_v <= feeder->limit_v + 2.0 * SIZE_SAME_V);
            }
        }
        assert_true(asked > 100);
        arena_free(&sized.job.arena);
    }
    arena_free(&template.arena);
}

/* --- growing ------------------------------------------------------------------------------------
 */

/* Steps from one place on the ladder to another. */
static uint32_t steps_between(const Limits *limits, uint32_t thin, uint32_t thick) {
    uint32_t steps = 0;
    for (; thin < thick; thin = limits_thicker(limits, thin)) {
        steps++;
    }
    return steps;
}

static void wires_only_grow(void **state) {
    (void)state;
    Sized sized = {0};
    job_read_example(&sized.job);
    sized_run(&sized);
    const SizeDetail *detail = sized.sizing.detail;
    uint32_t grown = 0;
    for (CableId c = 0; c < sized.wiring.cable_count; c++) {
        if (detail->fixed[c] != SIZE_FREE || detail->place[c] == GAUGE_NONE) {
            continue;
        }
        assert_true(detail->place[c] >= detail->low[c]);
        assert_true(detail->place[c] <= detail->thickest[c]);
        grown += steps_between(&detail->limits, detail->low[c], detail->place[c]);
    }
    assert_true(grown > 0);
    assert_int_equal(grown, sized.sizing.rounds - sized.sizing.thinned);
    arena_free(&sized.job.arena);
}

/* --- lengths ------------------------------------------------------------------------------------
 */

/* Every cable was sized for what its runs are cut to with the gauges chosen, and no run wants to be
 * longer. */
static void sized_for_what_is_cut(Sized *sized) {
    const Routing *routing = &sized->routing;
    for (CableId c = 0; c < sized->wiring.cable_count; c++) {
        double cut_mm = 0.0;
        for (uint32_t i = routing->run_first[c]; i < routing->run_first[c + 1]; i++) {
            cut_mm += routing->runs[i].parts.cut_mm;
        }
        bool way = !isnan(routing->length_mm[c]);
        assert_int_equal(way, routing->run_first[c] < routing->run_first[c + 1]);
        assert_true(!way || fabs(cut_mm - routing->length_mm[c]) < 1e-6);
        assert_true(!way || fabs(cut_mm - sized->sizing.length_mm[c]) < 1e-6);
    }
    assert_false(lengths_raise(&sized->routing, sized->sizing.awg));
}

static void wires_are_sized_for_what_is_cut(void **state) {
    (void)state;
    static const char *const JOBS[] = {MARLING_SOURCE_DIR "/examples/first",
                                       MARLING_SOURCE_DIR "/examples/osier",
                                       MARLING_SOURCE_DIR "/examples/osier_mended"};
    for (size_t i = 0; i < sizeof JOBS / sizeof *JOBS; i++) {
        Sized sized = {0};
        job_read_folder(&sized.job, JOBS[i]);
        sized_run(&sized);
        sized_for_what_is_cut(&sized);
        arena_free(&sized.job.arena);
    }
    Job template;
    job_read_example(&template);
    for (uint64_t seed = 1; seed <= 6; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Sized sized = {0};
        job_start(&sized.job);
        job_grow(&sized.job.arena, &template.set, seed * 700, seed, &sized.job.set);
        table_check(&sized.job.arena, &sized.job.set, &sized.job.findings);
        sized_run(&sized);
        sized_for_what_is_cut(&sized);
        arena_free(&sized.job.arena);
    }
    arena_free(&template.arena);
}

/* --- order of rows ------------------------------------------------------------------------------
 */

static const char *result_text(Sized *sized) {
    Buffer text = {.arena = &sized->job.arena};
    table_write_csv(&text, &sized->rows, TABLE_gauge);
    table_write_csv(&text, &sized->rows, TABLE_feeder);
    findings_sort(&sized->job.findings);
    for (size_t i = 0; i < sized->job.findings.count; i++) {
        buffer_format(&text, "%s\n", sized->job.findings.rows[i].message);
    }
    for (ConductorId w = 0; w < sized->wiring.conductor_count; w++) {
        size_why(&text, &sized->sizing, w);
    }
    return text.bytes;
}

static void shuffle(Job *job, TableId table, uint64_t *seed) {
    size_t bytes = table_schema(table)->row_bytes;
    char *rows = job->set.any[table].rows;
    char *held = arena_take(&job->arena, 1, bytes);
    for (size_t i = job->set.any[table].count; i > 1; i--) {
        *seed = *seed * 6364136223846793005u + 1442695040888963407u;
        size_t k = (size_t)(*seed >> 33) % i;
        memcpy(held, rows + k * bytes, bytes);
        memmove(rows + k * bytes, rows + (i - 1) * bytes, bytes);
        memcpy(rows + (i - 1) * bytes, held, bytes);
    }
}

static void order_of_rows_changes_nothing(void **state) {
    (void)state;
    Sized first = {0};
    job_read_example(&first.job);
    sized_run(&first);
    const char *expected = result_text(&first);
    for (uint64_t seed = 1; seed <= 5; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Sized sized = {0};
        job_read_example(&sized.job);
        uint64_t random = seed;
        for (int table = 0; table < TABLE_COUNT; table++) {
            shuffle(&sized.job, (TableId)table, &random);
        }
        sized_run(&sized);
        assert_string_equal(result_text(&sized), expected);
        arena_free(&sized.job.arena);
    }
    arena_free(&first.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_wire_can_be_thinner),
        cmocka_unit_test(no_wire_of_a_grown_aircraft_can_be_thinner),
        cmocka_unit_test(wires_only_grow),
        cmocka_unit_test(wires_are_sized_for_what_is_cut),
        cmocka_unit_test(order_of_rows_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
