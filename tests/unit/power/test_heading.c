/* What is tried, what is judged and by which limit, on the small example: a tree of wires, every
 * return beside its feed, unless a test says otherwise. */
#include "support/headed.h"

#define FIRST MARLING_SOURCE_DIR "/examples/first"
#define SENSOR "sensor,kind,x_mm,y_mm,z_mm,horizontal_ut,limit_deg,swung_in\n"

static void start(Headed *headed) {
    job_read_folder(&headed->powered.job, FIRST);
}

/* The radio returns by a stud of its own in the panel. */
static void return_through_structure(Job *job) {
    job_add(job, TABLE_ground_point, "point,node,stub_mm,tabs,kind\nGP,P2,50,2,stud\n");
    job_add(job, TABLE_bond, "item,onto,mohm\nGP,structure,1\n");
    job_write(job, TABLE_ground, "COM_GND", "onto", "GP.t01");
}

static void usual_limits(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    start(&headed);
    job_add(job, TABLE_sensor,
            SENSOR "A,magnetometer,600,0,1500,18,,\nB,compass,600,0,1500,18,,\n"
                   "C,compass,600,0,1500,18,3,\n");
    headed_run(&headed);
    assert_near(headed_error(&headed, "A", "COM.PWR", NULL)->limit_deg, 1.0, 0.0);
    assert_near(headed_error(&headed, "B", "COM.PWR", NULL)->limit_deg, 10.0, 0.0);
    assert_near(headed_error(&headed, "C", "COM.PWR", NULL)->limit_deg, 3.0, 0.0);
    arena_free(&job->arena);
}

static void nothing_to_look_with(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    start(&headed);
    headed_run(&headed);
    assert_null(headed.heading.errors);
    assert_int_equal(headed.heading.sensor_first[0], 0);
    assert_int_equal(job->findings.count, 0);
    arena_free(&job->arena);
}

/* Feed and return along one line cancel; how far apart they may lie is told beside it. */
static void feed_beside_its_return(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    start(&headed);
    job_add(job, TABLE_sensor,
            SENSOR "FAR,magnetometer,600,0,900,18,,\nNEAR,magnetometer,600,0,680,18,,\n");
    headed_run(&headed);
    const HeadingError *far = headed_error(&headed, "FAR", "ALT.FLD", NULL);
    const HeadingError *near = headed_error(&headed, "NEAR", "ALT.FLD", NULL);
    assert_near(far->worst_deg, 0.0, 1e-9);
    assert_true(far->bundle_deg > 0.0 && far->bundle_deg < near->bundle_deg);
    assert_int_equal(far->verdict, HEADING_WITHIN);
    assert_int_equal(near->verdict, HEADING_NOT_PROVED);
    assert_near(near->away_mm, 80.0, 1e-6);
    assert_non_null(job_finding(job, RULE_FIELD_BUNDLE, "NEAR ALT.FLD"));
    assert_null(job_finding(job, RULE_FIELD_BUNDLE, "FAR ALT.FLD"));
    arena_free(&job->arena);
}

/* The return either spreads around, and the feed is alone, or runs straight, beside the feed or on
 * the sensor's side of it: above the feed alone is the worse, between the two the straight one. */
static void structure_taken_two_ways(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    start(&headed);
    return_through_structure(job);
    /* From the stud at P2 straight to the block at F1: half way lies (320, 140, 510). */
    job_add(job, TABLE_sensor,
            SENSOR "ABOVE,magnetometer,600,0,800,18,,\nTHERE,magnetometer,320,140,530,18,,\n");
    headed_run(&headed);
    const HeadingError *above = headed_error(&headed, "ABOVE", "COM.PWR", NULL);
    const HeadingError *there = headed_error(&headed, "THERE", "COM.PWR", NULL);
    assert_true(above->worst_deg > 1.0);
    assert_int_equal(above->verdict, HEADING_OVER);
    assert_true(there->straight);
    /* 20 mm from one ampere: 10 uT and more. */
    assert_true(field_size_ut(there->field_ut) > 9.0);
    assert_non_null(job_finding(job, RULE_FIELD_HEADING, "ABOVE COM.PWR"));
    arena_free(&job->arena);
}

/* Against the phase it is swung in a phase is measured; that phase itself errs by nothing. */
static void swung_in_a_phase(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    start(&headed);
    return_through_structure(job);
    job_add(job, TABLE_sensor,
            SENSOR "COLD,magnetometer,600,0,800,18,,\nSWUNG,magnetometer,600,0,800,18,,cruise\n");
    headed_run(&headed);
    assert_true(headed_error(&headed, "COLD", "all", "cruise")->worst_deg > 0.5);
    assert_near(headed_error(&headed, "SWUNG", "all", "cruise")->worst_deg, 0.0, 1e-9);
    FieldVector climb = headed_error(&headed, "COLD", "all", "climb")->field_ut;
    FieldVector cruise = headed_error(&headed, "COLD", "all", "cruise")->field_ut;
    FieldVector apart = heading_add(climb, cruise, -1.0);
    assert_false(headed_error(&headed, "COLD", "all", "climb")->straight);
    assert_false(headed_error(&headed, "COLD", "all", "cruise")->straight);
    assert_near(headed_error(&headed, "SWUNG", "all", "climb")->worst_deg,
                heading_worst_deg(field_size_ut(apart), 18.0), 1e-6);
    arena_free(&job->arena);
}

/* A compass is judged by what lies level, a magnetometer by all of it. */
static void compass_is_level(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    start(&headed);
    return_through_structure(job);
    job_add(job, TABLE_sensor, SENSOR "C,compass,700,0,700,18,,\nM,magnetometer,700,0,700,18,,\n");
    headed_run(&headed);
    const HeadingError *compass = headed_error(&headed, "C", "COM.PWR", NULL);
    const HeadingError *whole = headed_error(&headed, "M", "COM.PWR", NULL);
    double level_ut = hypot(compass->field_ut.x, compass->field_ut.y);
    assert_near(compass->worst_deg, heading_worst_deg(level_ut, 18.0), 1e-9);
    assert_true(fabs(compass->field_ut.z) > 0.1);
    assert_near(whole->worst_deg, heading_worst_deg(field_size_ut(whole->field_ut), 18.0), 1e-9);
    assert_true(whole->worst_deg > compass->worst_deg);
    arena_free(&job->arena);
}

/* What is off in every phase is tried all the same, fed through its open switches: the pump of the
 * wheels through its contactor, at its design current. */
static void what_is_off_is_tried(void **state) {
    (void)state;
    Headed headed = {0};
    Job *job = &headed.powered.job;
    job_read_example(job);
    headed_run(&headed);
    const HeadingError *pump = headed_error(&headed, "CMP", "HYP.PWR", NULL);
    assert_near(pump->amps_a, 38.0, 1e-9);
    assert_true(pump->worst_deg > 1.0);
    uint32_t load = powered_load_of(&headed.powered, "HYP.PWR");
    for (uint32_t phase = 0; phase < job->set.phase.count; phase++) {
        assert_near(headed.powered.supply.loads[load].phase_a[phase], 0.0, 0.0);
    }
    /* Phases in which the engine stands or is cranked are shown and not judged. */
    assert_int_equal(headed_error(&headed, "CMP", "all", "parked")->verdict, HEADING_NOT_JUDGED);
    assert_int_equal(headed_error(&headed, "CMP", "all", "start")->verdict, HEADING_NOT_JUDGED);
    arena_free(&job->arena);
}

/* Larger currents err more: in proportion, as all is linear. */
static void twice_the_current(void **state) {
    (void)state;
    double field_ut[2];
    for (int i = 0; i < 2; i++) {
        Headed headed = {0};
        Job *job = &headed.powered.job;
        job_read_example(job);
        job_write(job, TABLE_driven, "trim-motor MOT", "amps_a", i == 0 ? "1.3" : "2.6");
        headed_run(&headed);
        field_ut[i] = field_size_ut(headed_error(&headed, "MAG", "PTM.MOT", NULL)->field_ut);
        arena_free(&job->arena);
    }
    assert_near(field_ut[1] / field_ut[0], 2.0, 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(usual_limits),           cmocka_unit_test(nothing_to_look_with),
        cmocka_unit_test(feed_beside_its_return), cmocka_unit_test(structure_taken_two_ways),
        cmocka_unit_test(swung_in_a_phase),       cmocka_unit_test(compass_is_level),
        cmocka_unit_test(what_is_off_is_tried),   cmocka_unit_test(twice_the_current),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
