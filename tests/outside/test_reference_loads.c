/* Load totals, margins, endurance and parked drain of the example aircraft against figures that
 * were worked out apart from this program (tests/reference, with the method of each). They agree in
 * the last printed digit. */
#include <stdlib.h>

#include "support/powered.h"

/* The printed digits of the reference: half a unit of the last one, and the rounding of sums. */
#define CENTIAMP 0.005001
#define TENTH 0.05001

typedef struct Line {
    char *cell[8];
} Line;

/* Reads the next line of a plain file without quotes; false at the end. */
static bool next_line(FILE *file, char *text, size_t room, Line *line) {
    if (fgets(text, (int)room, file) == NULL) {
        return false;
    }
    text[strcspn(text, "\r\n")] = '\0';
    size_t count = 0;
    memset(line, 0, sizeof *line);
    for (char *at = text; at != NULL && count < 8; count++) {
        line->cell[count] = at;
        at = strchr(at, ',');
        if (at != NULL) {
            *at++ = '\0';
        }
    }
    return true;
}

static FILE *open_reference(const char *name, char *text, size_t room) {
    char path[512];
    snprintf(path, sizeof path, "%s/tests/reference/%s", MARLING_SOURCE_DIR, name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    Line header;
    assert_true(next_line(file, text, room, &header));
    return file;
}

static void totals_agree(void **state) {
    (void)state;
    Powered sums = {0};
    job_read_example(&sums.job);
    powered_load(&sums);
    assert_int_equal(sums.job.findings.count, 0);
    const Model *model = &sums.job.model;
    char text[512];
    FILE *file = open_reference("loads.csv", text, sizeof text);
    Line line;
    size_t compared = 0;
    while (next_line(file, text, sizeof text, &line)) {
        uint32_t phase = name_map_find(&model->phase_by_name, line.cell[0]);
        assert_int_not_equal(phase, NAME_NONE);
        double amps_a = sums.loads.total_a[phase];
        if (strcmp(line.cell[1], "total") != 0) {
            BusId bus = name_map_find(&model->bus_by_name, line.cell[1]);
            assert_int_not_equal(bus, NAME_NONE);
            amps_a = sums.loads.bus_a[phase * sums.loads.bus_count + bus];
        }
        assert_near(amps_a, strtod(line.cell[2], NULL), CENTIAMP);
        compared++;
    }
    fclose(file);
    assert_true(compared >= 63);
    arena_free(&sums.job.arena);
}

static void margins_agree(void **state) {
    (void)state;
    Powered sums = {0};
    job_read_example(&sums.job);
    powered_load(&sums);
    const Model *model = &sums.job.model;
    char text[512];
    FILE *file = open_reference("margins.csv", text, sizeof text);
    Line line;
    size_t compared = 0;
    while (next_line(file, text, sizeof text, &line)) {
        uint32_t phase = name_map_find(&model->phase_by_name, line.cell[0]);
        assert_int_not_equal(phase, NAME_NONE);
        const LoadsMargin *margin = &sums.loads.margins[phase];
        assert_int_not_equal(margin->source, ID_NONE);
        assert_string_equal(model->set->source.rows[margin->source].unit, line.cell[1]);
        assert_near(margin->rated_a, strtod(line.cell[2], NULL), CENTIAMP);
        assert_near(margin->available_a, strtod(line.cell[3], NULL), CENTIAMP);
        assert_near(margin->rating_pct, strtod(line.cell[4], NULL), TENTH);
        assert_near(margin->available_pct, strtod(line.cell[5], NULL), TENTH);
        compared++;
    }
    fclose(file);
    assert_int_equal(compared, 6);
    arena_free(&sums.job.arena);
}

static void endurance_agrees(void **state) {
    (void)state;
    Powered sums = {0};
    job_read_example(&sums.job);
    powered_load(&sums);
    char text[512];
    FILE *file = open_reference("endurance.csv", text, sizeof text);
    Line line;
    size_t compared = 0;
    while (next_line(file, text, sizeof text, &line)) {
        bool aged = strcmp(line.cell[2], "aged") == 0;
        bool found = false;
        for (uint32_t i = 0; i < sums.loads.endurance_count; i++) {
            const LoadsEndurance *row = &sums.loads.endurances[i];
            const SituationRow *situation = &sums.job.set.situation.rows[row->situation];
            if (row->aged == aged && strcmp(situation->situation, line.cell[0]) == 0) {
                assert_string_equal(situation->battery, line.cell[1]);
                assert_near(row->load_a, strtod(line.cell[3], NULL), CENTIAMP);
                /* The parked figure is printed in whole minutes. */
                double minutes_min = strtod(line.cell[4], NULL);
                assert_near(row->plain_min, minutes_min, minutes_min > 1000.0 ? 0.5001 : TENTH);
                found = true;
            }
        }
        if (!found) {
            fail_msg("no endurance of %s %s", line.cell[0], line.cell[2]);
        }
        compared++;
    }
    fclose(file);
    assert_int_equal(compared, 9);
    arena_free(&sums.job.arena);
}

/* 21.8 mA and 24.5 days, of 21 asked, with HOT, ENA and ENB live while it is moored. */
static void parked_agrees(void **state) {
    (void)state;
    Powered sums = {0};
    job_read_example(&sums.job);
    powered_load(&sums);
    const TableSet *set = &sums.job.set;
    size_t seen = 0;
    for (uint32_t i = 0; i < sums.loads.parked_count; i++) {
        const LoadsParked *parked = &sums.loads.parked[i];
        if (strcmp(set->source.rows[parked->source].unit, "BTM") == 0) {
            assert_near(1000.0 * parked->drain_a, 21.8, TENTH);
            assert_near(parked->days_day, 24.5, TENTH);
            assert_string_equal(parked->live, "BATM ENA HOT");
            seen++;
        } else {
            assert_string_equal(parked->live, "BATB ENB");
            seen++;
        }
    }
    assert_int_equal(seen, 2);
    arena_free(&sums.job.arena);
}

/* A standby alternator of 15 A instead of 20 A: emergency is at 129.2 % of 100 % allowed. */
static void smaller_standby_is_refused(void **state) {
    (void)state;
    Powered sums = {0};
    job_read_example(&sums.job);
    job_write(&sums.job, TABLE_alternator, "alternator-20", "rated_a", "15");
    powered_load(&sums);
    assert_int_equal(job_count(&sums.job, RULE_LOADS_RATING), 1);
    const Finding *finding = job_finding(&sums.job, RULE_LOADS_RATING, "emergency");
    assert_non_null(finding);
    assert_near(finding->value, 129.2, TENTH);
    assert_near(finding->limit, 100.0, 1e-9);
    arena_free(&sums.job.arena);
}

/* With the charge points off the survey day draws 29.28 A. */
static void charge_points_off(void **state) {
    (void)state;
    Powered sums = {0};
    job_read_example(&sums.job);
    job_write(&sums.job, TABLE_mode, "survey_day USB.PWR", "amps_a", "0");
    powered_load(&sums);
    uint32_t phase = name_map_find(&sums.job.model.phase_by_name, "survey_day");
    assert_near(sums.loads.total_a[phase], 29.28, CENTIAMP);
    arena_free(&sums.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(totals_agree),
        cmocka_unit_test(margins_agree),
        cmocka_unit_test(endurance_agrees),
        cmocka_unit_test(parked_agrees),
        cmocka_unit_test(smaller_standby_is_refused),
        cmocka_unit_test(charge_points_off),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
