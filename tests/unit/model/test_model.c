/* The model resolves what names mean, and says what does not fit together. Each case starts from
 * the example aircraft and spoils one thing. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "model/model.h"

typedef struct Job {
    Arena arena;
    TableSet set;
    Findings findings;
    Model model;
} Job;

static void job_read(Job *job) {
    *job = (Job){0};
    job->findings.arena = &job->arena;
    Status status = table_read_folder(&job->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                      &job->set, &job->findings);
    assert_false(status.failed);
    status = table_read_folder(&job->arena, MARLING_SOURCE_DIR "/examples/osier", GROUP_JOB,
                               &job->set, &job->findings);
    assert_false(status.failed);
    table_check(&job->arena, &job->set, &job->findings);
    assert_int_equal(job->findings.count, 0);
}

static size_t count_rule(const Job *job, RuleId rule) {
    size_t count = 0;
    for (size_t i = 0; i < job->findings.count; i++) {
        count += job->findings.rows[i].rule == rule;
    }
    return count;
}

static const Finding *find_rule(const Job *job, RuleId rule) {
    for (size_t i = 0; i < job->findings.count; i++) {
        if (job->findings.rows[i].rule == rule) {
            return &job->findings.rows[i];
        }
    }
    return NULL;
}

static FeedRow *feed_row(Job *job, const char *name) {
    for (size_t i = 0; i < job->set.feed.count; i++) {
        if (strcmp(job->set.feed.rows[i].feed, name) == 0) {
            return &job->set.feed.rows[i];
        }
    }
    fail_msg("no feed %s", name);
    return NULL;
}

static void example_resolves(void **state) {
    (void)state;
    Job job;
    job_read(&job);
    assert_true(model_build(&job.arena, &job.set, &job.model, &job.findings));
    assert_int_equal(job.findings.count, 0);
    const Model *model = &job.model;
    TerminalId port = model_terminal(model, "PD1.R1T");
    assert_int_not_equal(port, ID_NONE);
    assert_int_equal(model->terminals[port].pin_count, 2);
    assert_int_equal(model->terminals[port].direction, DIRECTION_OUT);
    assert_string_equal(model_pin_text(model, &job.arena, model->terminals[port].pin_first),
                        "PD1.J1-6");
    /* A segment without a length is as long as its nodes are apart, unrounded. */
    uint32_t segment = model_row(model, TABLE_segment, "E01-E03");
    assert_true(fabs(model->segment_length_mm[segment] - sqrt(300.0 * 300 + 60 * 60 + 10 * 10)) <
                1e-9);
    for (size_t i = 0; i < job.set.feed.count; i++) {
        assert_true(model->feeds[i].usable);
    }
    arena_free(&job.arena);
}

static void unknown_end_names_the_nearest(void **state) {
    (void)state;
    Job job;
    job_read(&job);
    feed_row(&job, "PD1_PWR")->onto = "PD1.PWX";
    model_build(&job.arena, &job.set, &job.model, &job.findings);
    const Finding *finding = find_rule(&job, RULE_MODEL_END);
    assert_non_null(finding);
    assert_string_equal(finding->key, "PD1_PWR");
    assert_non_null(strstr(finding->hint, "PD1.PWR"));
    arena_free(&job.arena);
}

static void unknown_step_and_wrong_bus_are_told(void **state) {
    (void)state;
    Job job;
    job_read(&job);
    feed_row(&job, "PD1_PWR")->through = "CB_PD";
    feed_row(&job, "SBY_PWR")->out_of = "AV";
    model_build(&job.arena, &job.set, &job.model, &job.findings);
    assert_int_equal(count_rule(&job, RULE_MODEL_STEP), 1);
    assert_int_equal(count_rule(&job, RULE_MODEL_BOLT), 1);
    assert_non_null(strstr(find_rule(&job, RULE_MODEL_STEP)->hint, "CB_PD"));
    arena_free(&job.arena);
}

static void one_tag_names_one_thing(void **state) {
    (void)state;
    Job job;
    job_read(&job);
    job.set.protection.rows[0].tag = "PD1";
    model_build(&job.arena, &job.set, &job.model, &job.findings);
    assert_int_equal(count_rule(&job, RULE_MODEL_TAG), 1);
    arena_free(&job.arena);
}

static void segments_are_looked_at(void **state) {
    (void)state;
    Job job;
    job_read(&job);
    job.set.segment.rows[0].node_b = job.set.segment.rows[0].node_a;
    job.set.segment.rows[2].length_mm = 1.0;
    model_build(&job.arena, &job.set, &job.model, &job.findings);
    assert_int_equal(count_rule(&job, RULE_MODEL_SEGMENT), 1);
    assert_int_equal(count_rule(&job, RULE_MODEL_SHORT), 1);
    arena_free(&job.arena);
}

static void pin_tables_are_looked_at(void **state) {
    (void)state;
    Job job;
    job_read(&job);
    PortPinRow *rows = job.set.port_pin.rows;
    rows[1].part = rows[0].part;
    rows[1].connector = rows[0].connector;
    rows[1].cavity = rows[0].cavity;
    model_build(&job.arena, &job.set, &job.model, &job.findings);
    assert_true(count_rule(&job, RULE_MODEL_PIN) >= 1);
    arena_free(&job.arena);
}

static void empty_sets_do_not_build(void **state) {
    (void)state;
    Arena arena = {0};
    TableSet set = {0};
    Findings findings = {.arena = &arena};
    Model model;
    assert_false(model_build(&arena, &set, &model, &findings));
    assert_int_equal(findings.count, 1);
    assert_int_equal(findings.rows[0].rule, RULE_MODEL_JOB);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(example_resolves),
        cmocka_unit_test(unknown_end_names_the_nearest),
        cmocka_unit_test(unknown_step_and_wrong_bus_are_told),
        cmocka_unit_test(one_tag_names_one_thing),
        cmocka_unit_test(segments_are_looked_at),
        cmocka_unit_test(pin_tables_are_looked_at),
        cmocka_unit_test(empty_sets_do_not_build),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
