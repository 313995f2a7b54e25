/* Minutes of a battery stepped through the network, against sums that can be made by hand. */
#include "support/mini.h"

#include "rating/battery.h"

static const EnduranceSolved *solved_of(const Powered *powered, const char *name, bool aged) {
    for (uint32_t i = 0; i < powered->loads.endurance_count; i++) {
        const LoadsEndurance *row = &powered->loads.endurances[i];
        const SituationRow *situation = &powered->job.set.situation.rows[row->situation];
        if (row->aged == aged && strcmp(situation->situation, name) == 0) {
            return &powered->endurance.solved[i];
        }
    }
    fail_msg("no situation %s", name);
    return NULL;
}

/* The mini job with a box of constant current, a battery of constant voltage, a weak coil that is
 * a resistance, and one situation. */
static void read_job(Job *job, const char *asked) {
    mini_read(job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(job, TABLE_load, "box PWR", "law", "constant current");
    job_add(job, TABLE_situation,
            arena_format(&job->arena,
                         "situation,name,phase,lost,battery,asked_new_min,asked_aged_min\n"
                         "alone,battery alone,cruise,ALT,BAT,%s,\n",
                         asked));
    /* The field draws nothing once its alternator is lost. */
    job_add(job, TABLE_action, "situation,rank,item,position\nalone,1,ALT.FLD,off\n");
}

/* Coil current at the stud's voltage: 12 V behind 0.22 ohm with 2 A of box. */
static double coil_a(void) {
    double coil_ohm = 28.0 + 0.21;
    return (12.0 - 0.22 * 2.0) / (coil_ohm + 0.22);
}

static void constant_current_lasts_as_summed(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    mini_solve(&powered);
    double amps_a = 2.0 + coil_a();
    const EnduranceSolved *fresh = solved_of(&powered, "alone", false);
    const EnduranceSolved *aged = solved_of(&powered, "alone", true);
    assert_near(fresh->minutes_min, 10.0 * 0.8 * 60.0 / amps_a, 1e-6);
    assert_near(aged->minutes_min, 10.0 * 0.6 * 60.0 / amps_a, 1e-6);
    assert_string_equal(fresh->ends_with, "the battery's usable share is drawn");
    /* Plain: the coil at nominal voltage. */
    for (uint32_t i = 0; i < powered.loads.endurance_count; i++) {
        double share = powered.loads.endurances[i].aged ? 0.6 : 0.8;
        assert_near(powered.loads.endurances[i].load_a, 2.5, 1e-12);
        assert_near(powered.loads.endurances[i].plain_min, 10.0 * share * 60.0 / 2.5, 1e-9);
    }
    arena_free(&powered.job.arena);
}

/* A straight voltage curve, 12 V full to 10 V empty, and a box that needs 10.5 V: it goes out when
 * the resting voltage has fallen to what 10.5 V at the box asks for. */
static void box_goes_out_first(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    job_add(&powered.job, TABLE_ocv,
            "part,charge_pct,volts_v,source,status\n"
            "bat,0,10,test,shop\nbat,100,12,test,shop\n");
    job_write(&powered.job, TABLE_load, "box PWR", "volts_min_v", "10.5");
    mini_solve(&powered);
    const EnduranceSolved *fresh = solved_of(&powered, "alone", false);
    assert_non_null(strstr(fresh->ends_with, "BOX.PWR"));
    /* The box at 10.5 V with 2 A: stud at 10.5 + 2 x 0.26; rest = stud + 0.22 x (2 + coil). */
    double stud_v = 10.5 + 2.0 * 0.26;
    double end_a = 2.0 + stud_v / 28.21;
    double rest_v = stud_v + 0.22 * end_a;
    double drawn_ah = 10.0 * (12.0 - rest_v) / 2.0;
    double begin_a = 2.0 + coil_a();
    /* The current falls in a straight line with the voltage: an exponential in time, so the time
     * is charge over the logarithmic mean of the two currents. */
    double mean_a = (begin_a - end_a) / log(begin_a / end_a);
    /* Stepping takes straight lines for the exponential: within a twentieth of a minute. */
    assert_near(fresh->minutes_min, 60.0 * drawn_ah / mean_a, 0.05);
    arena_free(&powered.job.arena);
}

/* Actions with delays: 10 minutes at 2 A more before a second box is switched off. */
static void actions_come_late(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    job_add(&powered.job, TABLE_unit, "tag,part,node,stub_mm,module\nBOX2,box,N1,0,M\n");
    job_add(&powered.job, TABLE_protection,
            "tag,part,rating_a,node,stub_mm,bolted_on\nCB2,cb,5,N2,0,MAIN\n");
    job_add(&powered.job, TABLE_feed, "feed,onto,out_of,through\nBOX2,BOX2.PWR,MAIN,CB2\n");
    job_add(&powered.job, TABLE_ground, "ground,out_of,onto\nBOX2_GND,BOX2.GND,GB.t5\n");
    job_add(&powered.job, TABLE_mode, "phase,port,amps_a\ncruise,BOX2.PWR,2\n");
    job_add(&powered.job, TABLE_action,
            "situation,rank,item,position,delay_s\nalone,2,BOX2.PWR,off,600\n");
    mini_solve(&powered);
    double before_a = 4.0 + (12.0 - 0.22 * 4.0) / (28.21 + 0.22);
    double after_a = 2.0 + coil_a();
    double left_ah = 8.0 - before_a * 10.0 / 60.0;
    assert_near(solved_of(&powered, "alone", false)->minutes_min, 10.0 + 60.0 * left_ah / after_a,
                1e-6);
    arena_free(&powered.job.arena);
}

/* Above its rated current a battery gives less than it holds (Peukert). */
static void capacity_law(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    job_write(&powered.job, TABLE_battery, "bat", "rated_h", "20");
    job_write(&powered.job, TABLE_battery, "bat", "peukert", "1.2");
    mini_solve(&powered);
    double amps_a = 2.0 + coil_a();
    double hours = battery_rated_h(10.0, 20.0, amps_a, 1.2);
    assert_near(solved_of(&powered, "alone", false)->minutes_min, 0.8 * 60.0 * hours, 1e-6);
    arena_free(&powered.job.arena);
}

static void shorter_than_asked(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "195");
    mini_solve(&powered);
    /* Plain 192 min; solved lasts longer; the shorter counts. */
    const Finding *finding = job_finding(&powered.job, RULE_LOADS_ENDURANCE, "alone");
    assert_non_null(finding);
    assert_near(finding->value, 192.0, 1e-9);
    assert_near(finding->limit, 195.0, 1e-12);
    Powered less = {0};
    read_job(&less.job, "190");
    mini_solve(&less);
    assert_int_equal(job_count(&less.job, RULE_LOADS_ENDURANCE), 0);
    arena_free(&powered.job.arena);
    arena_free(&less.job.arena);
}

static void parked_too_long(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_job, "mini", "parked_day", "30");
    /* 8 Ah over 2.5 A: hours, not days. */
    powered_load(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_LOADS_PARKED, "BAT");
    assert_non_null(finding);
    assert_near(finding->value, 8.0 / 2.5 / 24.0, 1e-9);
    arena_free(&powered.job.arena);
}

static void nobody_carries_it(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_phase, "cruise", "carried_by", "");
    powered_load(&powered);
    assert_int_equal(job_count(&powered.job, RULE_LOADS_CARRIED), 1);
    assert_non_null(job_finding(&powered.job, RULE_LOADS_CARRIED, "cruise"));
    arena_free(&powered.job.arena);
}

static void rows_and_reasons(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "60");
    mini_solve(&powered);
    Arena *arena = &powered.job.arena;
    TableSet rows = {0};
    endurance_rows(arena, &powered.job.model, &powered.loads, &powered.endurance, &rows);
    assert_int_equal(rows.endurance.count, 2);
    assert_string_equal(rows.endurance.rows[0].battery, "BAT");
    assert_near(rows.endurance.rows[0].asked_min, 60.0, 1e-12);
    Buffer why = {.arena = arena};
    loads_why_endurance(&why, &powered.job.model, &powered.supply, &powered.loads, 0);
    endurance_why(&why, &powered.job.model, &powered.loads, &powered.endurance, 0);
    assert_non_null(strstr(why.bytes, "10 Ah x 0.80 x 60 / 2.5 A = 192.0 min"));
    assert_non_null(strstr(why.bytes, "MC.C+"));
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(constant_current_lasts_as_summed),
        cmocka_unit_test(box_goes_out_first),
        cmocka_unit_test(actions_come_late),
        cmocka_unit_test(capacity_law),
        cmocka_unit_test(shorter_than_asked),
        cmocka_unit_test(parked_too_long),
        cmocka_unit_test(nobody_carries_it),
        cmocka_unit_test(rows_and_reasons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
