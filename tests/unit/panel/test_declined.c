/* What belongs to an option: on the panel while it is taken or open, gone from holes, legends and
 * wants when the customer said no. On the corrected example aircraft, whose switch SW_CAM comes
 * with option O1 and whose tray APC with O4. */
#include "panel/check.h"
#include "support/job.h"

/* The panel with what the customer said of O1 and O4. */
static Panel read_with(Job *job, int32_t chosen) {
    job_read_folder(job, MARLING_SOURCE_DIR "/examples/osier_mended");
    job->set.option.rows[job_find(job, TABLE_option, "O1")].chosen = chosen;
    job->set.option.rows[job_find(job, TABLE_option, "O4")].chosen = chosen;
    assert_true(model_build(&job->arena, &job->set, &job->model, &job->findings));
    Panel panel;
    job->findings.count = 0;
    assert_true(panel_read(&job->arena, &job->model, &panel, &job->findings));
    return panel;
}

static size_t openings_of(Job *job, const Panel *panel, const char *item) {
    PanelChecks checks;
    panel_check(&job->arena, panel, NULL, true, &checks, &job->findings);
    panel_rows(&job->arena, panel, &checks, &job->set);
    size_t count = 0;
    for (size_t i = 0; i < job->set.opening.count; i++) {
        count += strcmp(job->set.opening.rows[i].item, item) == 0;
    }
    return count;
}

static size_t legends_of(const Panel *panel, const char *item) {
    size_t count = 0;
    for (uint32_t i = 0; i < panel->text_count; i++) {
        const LegendRow *row = &panel->model->set->legend.rows[panel->texts[i].row];
        count += strcmp(row->item, item) == 0;
    }
    return count;
}

static size_t wanted(const Job *job) {
    size_t count = 0;
    for (size_t i = 0; i < job->findings.count; i++) {
        count += job->findings.rows[i].rule == RULE_PANEL_DEVICE;
    }
    return count;
}

static void taken_or_open(void **state) {
    (void)state;
    for (int open = 0; open < 2; open++) {
        Job job;
        Panel panel = read_with(&job, open ? INT_BLANK : 1);
        assert_int_equal(openings_of(&job, &panel, "APC"), 1);
        assert_int_equal(legends_of(&panel, "SW_CAM"), 1);
        assert_int_equal(wanted(&job), 0);
        arena_free(&job.arena);
    }
}

static void declined(void **state) {
    (void)state;
    Job job;
    Panel panel = read_with(&job, 0);
    assert_int_equal(openings_of(&job, &panel, "APC"), 0);
    assert_int_equal(openings_of(&job, &panel, "SW_CAM"), 0);
    assert_int_equal(legends_of(&panel, "SW_CAM"), 0);
    assert_int_equal(wanted(&job), 0);
    arena_free(&job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(taken_or_open),
        cmocka_unit_test(declined),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
