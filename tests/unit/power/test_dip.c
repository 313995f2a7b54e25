/* The engine's start, moment by moment, against sums that can be made by hand. */
#include "support/mini.h"

#include "power/dip.h"

/* From the stud back to itself: battery 20 mohm, its two leads 100 each. */
#define SOURCE_OHM 0.22
/* A coil of 0.5 A at 14 V, its switch and two wires. */
#define COIL_OHM (28.0 + 0.21)
/* The starter's contactor and wire. */
#define STARTER_OHM 0.11
/* The box: contactor, breaker, two wires. */
#define BOX_OHM 0.26

static void add_starter(Job *job) {
    mini_read(job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(job, TABLE_job, "mini", "starter", "ST.PWR");
    job_write(job, TABLE_job, "mini", "crank_a", "10");
    job_write(job, TABLE_phase, "ground", "engine", "cranking");
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nST,cased,N1,0,M\n");
    job_add(job, TABLE_bond, "item,onto,mohm\nST,structure,0\n");
    job_add(job, TABLE_switchgear,
            "tag,part,node,stub_mm,rest,coil_plus_on\n"
            "SC,con,N2,0,open,BATT\nSS,tog,N1,0,off,\n");
    job_add(job, TABLE_feed, "feed,onto,out_of,through\nST,ST.PWR,BATT,SC\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nSS_GND,SS.2,GB.t4\n");
    job_add(job, TABLE_link, "link,ends,class\nSC_COIL,SC.C- SS.1,D\n");
    job_write(job, TABLE_load, "box PWR", "volts_min_v", "9.5");
    job_write(job, TABLE_load, "box PWR", "law", "constant current");
    job_write(job, TABLE_load, "cased PWR", "volts_min_v", "0");
    job_write(job, TABLE_load, "cased PWR", "law", "constant current");
    job_add(job, TABLE_crank_profile,
            "part,second_s,current_pct,what,source,status\n"
            "cased,0,130,locked,test,shop\ncased,0.1,100,,test,shop\n"
            "cased,0.3,50,,test,shop\ncased,0.5,0,let go,test,shop\ncased,1,0,,test,shop\n");
}

static void run(Powered *powered, bool traced, Dip *dip) {
    mini_solve(powered);
    powered->job.findings.count = 0;
    assert_true(dip_run(&powered->job.arena, &powered->job.model, &powered->supply, &powered->built,
                        &powered->phases, traced, dip, &powered->job.findings));
}

/* Volts at the stud with these loads of constant current and both coils. */
static double stud_v(double source_ohm, double amps_a) {
    return (12.0 - source_ohm * amps_a) / (1.0 + 2.0 * source_ohm / COIL_OHM);
}

/* 12 V less I x R, with the box while it is on. Bolted joints count 10 microhm each. */
#define BOLTED_V 0.003

static void follows_the_profile(void **state) {
    (void)state;
    Powered powered = {0};
    add_starter(&powered.job);
    Dip dip;
    run(&powered, true, &dip);
    assert_true(dip.done);
    assert_int_equal(dip.step_count, 5);
    assert_int_equal(dip.solves, 5);
    static const struct {
        double starter_a;
        double box_a;
    } EXPECTED[] = {{13.0, 0.0}, {10.0, 0.0}, {5.0, 2.0}, {0.0, 2.0}, {0.0, 2.0}};
    for (uint32_t i = 0; i < 5; i++) {
        const DipStep *step = &dip.steps[i];
        double amps_a = EXPECTED[i].starter_a + EXPECTED[i].box_a;
        double bus_v = stud_v(SOURCE_OHM, amps_a);
        assert_true(step->solved);
        assert_near(step->asked_a, EXPECTED[i].starter_a, 1e-12);
        assert_near(step->starter_a, EXPECTED[i].starter_a, 1e-9);
        assert_true(fabs(step->bus_v[0] - step->starter_v - STARTER_OHM * EXPECTED[i].starter_a) <
                    BOLTED_V);
        /* BATT is the first bus; it is measured from the structure, beyond the battery's return. */
        assert_true(fabs(step->bus_v[0] - bus_v) < BOLTED_V);
        assert_int_equal(step->coil, ID_NONE);
    }
    assert_string_equal(dip.steps[0].what, "locked");
    arena_free(&powered.job.arena);
}

/* 8.6 V while the rotor is locked puts the box out; 9.65 V at 10 A is above its 9.5 V and below the
 * voltage it comes back at; with 5 A there is enough. */
static void comes_back_with_hysteresis(void **state) {
    (void)state;
    Powered powered = {0};
    add_starter(&powered.job);
    Dip dip;
    run(&powered, false, &dip);
    assert_int_equal(dip.restart_count, 1);
    const DipRestart *restart = &dip.restarts[0];
    assert_int_equal(restart->load, powered_load_of(&powered, "BOX.PWR"));
    assert_int_equal(restart->times, 1);
    assert_near(restart->first_s, 0.0, 1e-12);
    assert_near(restart->back_s, 0.3, 1e-12);
    assert_near(restart->out_s, 0.3, 1e-12);
    assert_true(isnan(restart->restart_s));
    assert_true(fabs(restart->lowest_v - stud_v(SOURCE_OHM, 13.0)) < BOLTED_V);
    assert_true(stud_v(SOURCE_OHM, 10.0) > 9.5);
    assert_true(stud_v(SOURCE_OHM, 5.0 + 2.0) - 2.0 * BOX_OHM > 9.5);
    /* The starter draws nothing any more. */
    assert_near(powered.built.network.loads[powered.built.starter].nominal_a, 0.0, 1e-12);
    arena_free(&powered.job.arena);
}

/* A box that never comes back is out until the last row. */
static void stays_out(void **state) {
    (void)state;
    Powered powered = {0};
    add_starter(&powered.job);
    job_write(&powered.job, TABLE_crank_profile, "cased 0.3", "current_pct", "100");
    job_write(&powered.job, TABLE_crank_profile, "cased 0.5", "current_pct", "100");
    job_write(&powered.job, TABLE_crank_profile, "cased 1", "current_pct", "100");
    Dip dip;
    run(&powered, false, &dip);
    assert_int_equal(dip.restart_count, 1);
    assert_true(isnan(dip.restarts[0].back_s));
    assert_near(dip.restarts[0].out_s, 1.0, 1e-12);
    arena_free(&powered.job.arena);
}

/* Half way between 20 degC and -10 degC: twice the resistance, 40 mohm, and back to 20 mohm
 * afterwards. */
static void cold_cells_have_more_resistance(void **state) {
    (void)state;
    Powered powered = {0};
    add_starter(&powered.job);
    job_add(&powered.job, TABLE_battery_cold,
            "part,cells_degc,capacity_pct,resistance_pct,source,status\n"
            "bat,-10,70,300,test,shop\nbat,20,100,100,test,shop\n");
    job_write(&powered.job, TABLE_job, "mini", "crank_degc", "5");
    Dip dip;
    run(&powered, true, &dip);
    assert_true(fabs(dip.steps[0].bus_v[0] - stud_v(SOURCE_OHM + 0.02, 13.0)) < BOLTED_V);
    assert_near(powered.built.batteries[0].r_ohm, 0.02, 1e-12);
    assert_near(powered.built.network.batteries[0].ohm, 0.01, 1e-12);
    arena_free(&powered.job.arena);
}

/* Closed, the coils have 8.9 V and let go below 9; open, more than the 10 V they pick up at. */
static void contactor_chatters(void **state) {
    (void)state;
    Powered powered = {0};
    add_starter(&powered.job);
    job_write(&powered.job, TABLE_switch_part, "con", "drop_out_v", "9");
    job_write(&powered.job, TABLE_switch_part, "con", "pick_up_v", "10");
    Dip dip;
    run(&powered, true, &dip);
    assert_true(dip.steps[0].flutters);
    assert_false(dip.steps[0].solved);
    assert_true(dip.steps[1].solved);
    assert_true(powered.job.findings.count > 0);
    const Finding *finding = &powered.job.findings.rows[0];
    assert_int_equal(finding->rule, RULE_TIME_CHATTER);
    assert_non_null(strstr(finding->message, "chatters 0.00 s"));
    arena_free(&powered.job.arena);
}

/* 8.9 V at the coil is enough when it lets go at 8.8. */
static void contactor_holds(void **state) {
    (void)state;
    Powered powered = {0};
    add_starter(&powered.job);
    job_write(&powered.job, TABLE_switch_part, "con", "drop_out_v", "8.8");
    job_write(&powered.job, TABLE_switch_part, "con", "pick_up_v", "10");
    Dip dip;
    run(&powered, true, &dip);
    assert_int_equal(powered.job.findings.count, 0);
    for (uint32_t i = 0; i < dip.step_count; i++) {
        assert_int_equal(dip.steps[i].coil, ID_NONE);
    }
    arena_free(&powered.job.arena);
}

/* Nothing is stepped without a profile, and nothing is said. */
static void no_profile(void **state) {
    (void)state;
    Powered powered = {0};
    add_starter(&powered.job);
    for (int i = 0; i < 5; i++) {
        static const char *const KEYS[] = {"cased 0", "cased 0.1", "cased 0.3", "cased 0.5",
                                           "cased 1"};
        job_drop(&powered.job, TABLE_crank_profile, KEYS[i]);
    }
    Dip dip;
    run(&powered, true, &dip);
    assert_false(dip.done);
    assert_int_equal(powered.job.findings.count, 0);
    arena_free(&powered.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(follows_the_profile), cmocka_unit_test(comes_back_with_hysteresis),
        cmocka_unit_test(stays_out),           cmocka_unit_test(cold_cells_have_more_resistance),
        cmocka_unit_test(contactor_chatters),  cmocka_unit_test(contactor_holds),
        cmocka_unit_test(no_profile),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
