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

/* Cells half way between two rows: 85 % of the capacity, and no change to what follows. */
static void cold_battery_lasts_shorter(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    job_add(&powered.job, TABLE_battery_cold,
            "part,cells_degc,capacity_pct,resistance_pct,source,status\n"
            "bat,-10,70,100,test,shop\nbat,20,100,100,test,shop\n");
    job_write(&powered.job, TABLE_situation, "alone", "battery_degc", "5");
    mini_solve(&powered);
    double amps_a = 2.0 + coil_a();
    const EnduranceSolved *fresh = solved_of(&powered, "alone", false);
    assert_near(fresh->minutes_min, 0.85 * 10.0 * 0.8 * 60.0 / amps_a, 1e-6);
    assert_near(fresh->cells_degc, 5.0, 1e-12);
    assert_near(powered.built.batteries[0].r_ohm, 0.02, 1e-12);
    arena_free(&powered.job.arena);
}

/* Without a temperature nothing is derated; a traced run adds the aged battery at the coldest of
 * its zone, 0 degC: 80 %. */
static void coldest_is_told_beside(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    job_add(&powered.job, TABLE_battery_cold,
            "part,cells_degc,capacity_pct,resistance_pct,source,status\n"
            "bat,-10,70,100,test,shop\nbat,0,80,100,test,shop\nbat,20,100,100,test,shop\n");
    mini_solve(&powered);
    const EnduranceSolved *aged = solved_of(&powered, "alone", true);
    double aged_min = aged->minutes_min;
    assert_true(isnan(aged->cells_degc));
    assert_null(powered.endurance.cold);
    Endurance traced;
    endurance_run(&powered.job.arena, &powered.job.model, &powered.supply, &powered.built,
                  &powered.phases, &powered.loads, true, &traced, &powered.job.findings);
    for (uint32_t i = 0; i < traced.count; i++) {
        if (powered.loads.endurances[i].aged) {
            assert_near(traced.solved[i].minutes_min, aged_min, 1e-12);
            assert_near(traced.cold[i].minutes_min, 0.8 * aged_min, 1e-6);
            assert_near(traced.cold[i].cells_degc, 0.0, 1e-12);
        }
    }
    arena_free(&powered.job.arena);
}

/* Two boxes on a straight voltage curve: the one that needs 11 V ends the time, the other one goes
 * out later and is told of too. */
static void every_box_that_goes_out_is_told(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    job_add(&powered.job, TABLE_ocv,
            "part,charge_pct,volts_v,source,status\nbat,0,9,test,shop\nbat,100,12,test,shop\n");
    job_write(&powered.job, TABLE_load, "box PWR", "volts_min_v", "10.5");
    job_write(&powered.job, TABLE_load, "box PWR", "usual_a", "0.5");
    job_write(&powered.job, TABLE_load, "giver PWR", "volts_min_v", "9.8");
    job_add(&powered.job, TABLE_unit, "tag,part,node,stub_mm,module\nGIV,giver,N1,0,M\n");
    job_add(&powered.job, TABLE_protection,
            "tag,part,rating_a,node,stub_mm,bolted_on\nCG,cb,5,N2,0,MAIN\n");
    job_add(&powered.job, TABLE_feed, "feed,onto,out_of,through\nGIV_PWR,GIV.PWR,MAIN,CG\n");
    job_add(&powered.job, TABLE_ground, "ground,out_of,onto\nGIV_GND,GIV.GND,GB.t5\n");
    job_add(&powered.job, TABLE_mode, "phase,port,amps_a\ncruise,GIV.PWR,\n");
    mini_solve(&powered);
    Endurance traced;
    endurance_run(&powered.job.arena, &powered.job.model, &powered.supply, &powered.built,
                  &powered.phases, &powered.loads, true, &traced, &powered.job.findings);
    assert_non_null(strstr(traced.solved[0].ends_with, "BOX.PWR"));
    const EnduranceTrace *trace = &traced.traces[0];
    double box_min = -1.0;
    double giver_min = -1.0;
    for (size_t i = 0; i < trace->count; i++) {
        const EndurancePoint *point = &trace->points[i];
        if (strstr(point->event, "BOX.PWR goes out") != NULL) {
            assert_true(box_min < 0.0); /* once */
            box_min = point->minute_min;
        }
        if (strstr(point->event, "GIV.PWR goes out") != NULL) {
            assert_true(giver_min < 0.0);
            giver_min = point->minute_min;
            /* 9.8 V at the box behind 0.26 ohm, the giver's amp and the coil on 0.22 ohm. */
            double stud_v = 9.8 + 0.26;
            double rest_v = stud_v + 0.22 * (1.0 + stud_v / 28.21);
            double charge_pct = 100.0 * (rest_v - 9.0) / 3.0;
            assert_true(fabs(point->charge_pct - charge_pct) < 0.1);
        }
    }
    assert_near(box_min, traced.solved[0].minutes_min, 1e-3);
    assert_true(giver_min > box_min);
    assert_string_equal(trace->points[trace->count - 1].event, "usable share drawn");
    arena_free(&powered.job.arena);
}

/* Constant power P behind R on a battery whose resting voltage falls in a straight line with the
 * charge drawn, E = E0 - k q. The current solves P = (E - R I) I, so 1 / I = (E + s) / (2 P) with
 * s = sqrt(E^2 - 4 R P), and the time is the integral of dE / (k I): with a^2 = 4 R P
 *     t = [E^2 / 2 + (E s - a^2 ln(E + s)) / 2] / (2 P k) between the two ends. */
static double power_h(double e_v, double r_ohm, double p_w, double k_v_per_ah) {
    double a2 = 4.0 * r_ohm * p_w;
    double s = sqrt(e_v * e_v - a2);
    return (e_v * e_v / 2.0 + (e_v * s - a2 * log(e_v + s)) / 2.0) / (2.0 * p_w * k_v_per_ah);
}

static void constant_power_on_a_straight_curve(void **state) {
    (void)state;
    Powered powered = {0};
    read_job(&powered.job, "");
    /* Corners every 10 % of charge make short steps. */
    for (int pct = 0; pct <= 100; pct += 10) {
        job_add(&powered.job, TABLE_ocv,
                arena_format(&powered.job.arena,
                             "part,charge_pct,volts_v,source,status\nbat,%d,%.2f,test,shop\n", pct,
                             9.0 + 0.03 * pct));
    }
    job_write(&powered.job, TABLE_load, "box PWR", "law", "constant power");
    job_write(&powered.job, TABLE_load, "box PWR", "volts_min_v", "");
    job_write(&powered.job, TABLE_switch_part, "con", "coil_a", "0.000001");
    mini_solve(&powered);
    const EnduranceSolved *fresh = solved_of(&powered, "alone", false);
    double p_w = 2.0 * 14.0;
    double r_ohm = 0.22 + 0.26;
    double hours = power_h(12.0, r_ohm, p_w, 0.3) - power_h(9.6, r_ohm, p_w, 0.3);
    /* Steps take the mean of the currents at both ends: 10 % of charge each, a few in ten
     * thousand. */
    assert_near(fresh->minutes_min, 60.0 * hours, 60.0 * hours * 5e-4);
    arena_free(&powered.job.arena);
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
        cmocka_unit_test(cold_battery_lasts_shorter),
        cmocka_unit_test(coldest_is_told_beside),
        cmocka_unit_test(every_box_that_goes_out_is_told),
        cmocka_unit_test(constant_power_on_a_straight_curve),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
