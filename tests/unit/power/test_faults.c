/* What failing does, on a job of a few rows that is worked out by hand: a battery behind a
 * contactor, an alternator, one bus, a breaker and a box (support/mini.h). */
#include "power/faults.h"
#include "support/mini.h"

typedef struct Bench {
    Powered powered;
    Faults faults;
    FaultsTrier *trier;
    FaultsEffect effect;
    uint32_t phase; /* into Faults.phases */
} Bench;

/* The modes of the library that comes with the program, and a curve for the breaker. */
static void add_modes(Job *job) {
    char *text = NULL;
    size_t length = 0;
    Status status =
        file_read(&job->arena, MARLING_SOURCE_DIR "/library/failure_mode.csv", &text, &length);
    assert_false(status.failed);
    job_add(job, TABLE_failure_mode, text);
}

#define CURVE_HEAD "part,from_a,to_a,load_pct,t_min_s,t_max_s,source,status\n"
#define CURVE_CB                                                                                   \
    CURVE_HEAD "cb,1,50,100,3600,,test,shop\ncb,1,50,200,1,10,test,shop\n"                         \
               "cb,1,50,1000,0.01,0.1,test,shop\ncb,1,50,100000,,0.05,test,shop\n"

static void bench_read(Bench *bench, const char *curve) {
    *bench = (Bench){0};
    mini_read(&bench->powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    add_modes(&bench->powered.job);
    job_add(&bench->powered.job, TABLE_curve, curve);
}

static void bench_build(Bench *bench, const char *phase) {
    Job *job = &bench->powered.job;
    mini_solve(&bench->powered);
    job->findings.count = 0;
    FaultsInput input = {
        .model = &job->model,
        .wiring = &bench->powered.wiring,
        .routing = &bench->powered.routing,
        .supply = &bench->powered.supply,
        .built = &bench->powered.built,
        .phases = &bench->powered.phases,
    };
    faults_build(&job->arena, &input, &bench->faults, &job->findings);
    bench->trier = faults_trier_new(&job->arena, &bench->faults);
    bench->phase = ID_NONE;
    for (uint32_t i = 0; i < bench->faults.phase_count; i++) {
        if (bench->faults.phases[i].phase == powered_phase(&bench->powered, phase)) {
            bench->phase = i;
        }
    }
    assert_int_not_equal(bench->phase, ID_NONE);
}

static void bench_open(Bench *bench, const char *phase) {
    bench_read(bench, CURVE_CB);
    bench_build(bench, phase);
}

static void bench_close(Bench *bench) {
    faults_trier_free(bench->trier);
    arena_free(&bench->powered.job.arena);
}

static uint32_t failure(Bench *bench, const char *key) {
    uint32_t found = faults_find(&bench->faults.list, key);
    if (found == ID_NONE) {
        for (uint32_t i = 0; i < bench->faults.list.count; i++) {
            fprintf(stderr, "%s\n", bench->faults.list.failures[i].key);
        }
        fail_msg("no failure %s", key);
    }
    return found;
}

static void try_all(Bench *bench, const char *const *keys) {
    uint32_t ids[8];
    uint32_t count = 0;
    for (; *keys != NULL; keys++) {
        ids[count++] = failure(bench, *keys);
    }
    bench->effect = faults_try(bench->trier, bench->phase, ids, count);
}

#define TRY(bench, ...) try_all((bench), (const char *const[]){__VA_ARGS__, NULL})

static bool dark(const Bench *bench, const char *end) {
    uint32_t load = powered_load_of(&bench->powered, end);
    for (uint32_t i = 0; i < bench->effect.lost_count; i++) {
        if (bench->effect.lost[i] == load) {
            return true;
        }
    }
    return false;
}

static const char *wire_of(const Bench *bench, const char *net) {
    NetId id = name_map_find(&bench->powered.wiring.net_by_name, net);
    assert_int_not_equal(id, NAME_NONE);
    const Wiring *wiring = &bench->powered.wiring;
    return wiring->conductors[wiring->cables[wiring->nets[id].cable_first].conductor_first].key;
}

static const char *key_of(Bench *bench, const char *net, const char *mode) {
    return arena_format(&bench->powered.job.arena, "%s:%s", wire_of(bench, net), mode);
}

/* --- tests --------------------------------------------------------------------------------------
 */

static void a_broken_wire_darkens_its_box(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, "cruise");
    TRY(&bench, key_of(&bench, "BOX_PWR", "open"));
    assert_int_equal(bench.effect.status, FAULTS_SOLVED);
    assert_true(dark(&bench, "BOX.PWR"));
    assert_int_equal(bench.effect.lost_count, 1);
    assert_int_equal(bench.effect.opening_count, 0);
    /* Breaker, both wires: one chain, one class. */
    uint32_t one = failure(&bench, "CB:open");
    assert_int_equal(
        bench.faults.list.class_of[one],
        bench.faults.list.class_of[failure(&bench, key_of(&bench, "BOX_GND", "open"))]);
    assert_int_not_equal(bench.faults.list.class_of[one],
                         bench.faults.list.class_of[failure(&bench, "CF:open")]);
    bench_close(&bench);
}

/* Battery 12 V, 20 mohm, wires of 100 mohm: the short behind the breaker draws what the wires let
 * through, far more than ten times its rating. */
static void a_short_opens_its_breaker(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, "cruise");
    TRY(&bench, "BOX.PWR:short");
    assert_int_equal(bench.effect.status, FAULTS_SOLVED);
    assert_int_equal(bench.effect.opening_count, 1);
    const FaultsOpening *opening = &bench.effect.openings[0];
    assert_string_equal(bench.powered.job.model.owners[opening->owner].tag, "CB");
    assert_true(opening->percent > 300.0);
    /* Slow edge, on the straight line between the logarithms of 200 %, 10 s and 1000 %, 0.1 s. */
    double expected_s = 10.0 * pow(opening->percent / 200.0, log(0.01) / log(5.0));
    assert_near(opening->seconds, expected_s, 1e-9 * expected_s);
    assert_true(dark(&bench, "BOX.PWR"));
    assert_false(dark(&bench, "ALT.FLD"));
    bench_close(&bench);
}

/* The same with a breaker that does not open: nothing ends the short. */
static void a_welded_breaker_matters_with_a_short(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, "cruise");
    TRY(&bench, "CB:welded");
    assert_int_equal(bench.effect.lost_count, 0);
    TRY(&bench, "BOX.PWR:short", "CB:welded");
    assert_int_equal(bench.effect.opening_count, 0);
    assert_true(dark(&bench, "BOX.PWR"));
    bench_close(&bench);
}

/* A curve that ends at 138 % within an hour proves an hour and no less; one that begins at 200 %
 * says nothing of 150 %. */
static void a_curve_that_does_not_reach_is_not_proved(void **state) {
    (void)state;
    Bench bench;
    bench_read(&bench, CURVE_HEAD "cb,1,50,115,3600,,test,shop\ncb,1,50,138,,3600,test,shop\n");
    bench_build(&bench, "cruise");
    TRY(&bench, "BOX.PWR:short");
    assert_int_equal(bench.effect.opening_count, 1);
    assert_near(bench.effect.openings[0].seconds, 3600.0, 1e-9);
    bench_close(&bench);
    bench_read(&bench, CURVE_HEAD "cb,1,50,100,3600,,test,shop\ncb,1,50,100000,1,10,test,shop\n");
    bench_build(&bench, "cruise");
    TRY(&bench, "BOX.PWR:short");
    assert_int_equal(bench.effect.opening_count, 0);
    assert_int_equal(bench.effect.status, FAULTS_NOT_PROVED);
    assert_int_equal(bench.effect.unproved_count, 1);
    bench_close(&bench);
}

static void device_is(const Bench *bench, uint32_t opening, const char *tag) {
    assert_true(opening < bench->effect.opening_count);
    assert_string_equal(bench->powered.job.model.owners[bench->effect.openings[opening].owner].tag,
                        tag);
}

/* Two devices in series, one curve: the one that is further above its rating opens, whichever is
 * nearer to the source; with both alike the first by key does. The other is not a rival here: its
 * curve is published as far as this current. */
static void of_two_in_series_the_smaller_opens(void **state) {
    (void)state;
    static const double RATINGS[3][2] = {{5, 10}, {10, 5}, {5, 5}};
    static const char *const OPENS[3] = {"CB", "CB2", "CB"};
    for (int i = 0; i < 3; i++) {
        Bench bench;
        bench_read(&bench, CURVE_CB);
        Job *job = &bench.powered.job;
        job_add(job, TABLE_protection,
                "tag,part,rating_a,node,stub_mm,bolted_on\nCB2,cb,5,N1,0,\n");
        job->set.feed.rows[job_find(job, TABLE_feed, "BOX_PWR")].through = "CB CB2";
        job->set.protection.rows[job_find(job, TABLE_protection, "CB")].rating_a = RATINGS[i][0];
        job->set.protection.rows[job_find(job, TABLE_protection, "CB2")].rating_a = RATINGS[i][1];
        bench_build(&bench, "cruise");
        TRY(&bench, "BOX.PWR:short");
        assert_int_equal(bench.effect.opening_count, 1);
        device_is(&bench, 0, OPENS[i]);
        assert_int_equal(bench.effect.status, FAULTS_SOLVED);
        /* The other alone is left when the first is welded. */
        TRY(&bench, "BOX.PWR:short", i == 1 ? "CB2:welded" : "CB:welded");
        assert_int_equal(bench.effect.opening_count, 1);
        device_is(&bench, 0, i == 1 ? "CB" : "CB2");
        bench_close(&bench);
    }
}

/* The contactor holds itself: its coil hangs on the bus it feeds. On the battery alone the short
 * pulls the bus to 12 V x 0.255 / (0.255 + 0.23) = 6.3 V. A coil that lets go at 3 V sits it out
 * until the breaker has opened; one that lets go at 9 V takes the bus with it for good, and the
 * breaker sees no current any more. */
static void a_contactor_that_lets_go_stays_open(void **state) {
    (void)state;
    for (int weak = 0; weak < 2; weak++) {
        Bench bench;
        bench_read(&bench, CURVE_CB);
        Job *job = &bench.powered.job;
        job->set.switchgear.rows[job_find(job, TABLE_switchgear, "MC")].coil_plus_on = "MAIN";
        SwitchPartRow *part = &job->set.switch_part.rows[job_find(job, TABLE_switch_part, "con")];
        part->pick_up_v = 9.5;
        part->drop_out_v = weak == 1 ? 9.0 : 3.0;
        job->set.phase.rows[job_find(job, TABLE_phase, "ground")].rank = 3;
        job->set.phase.rows[job_find(job, TABLE_phase, "ground")].failures = 1;
        bench_build(&bench, "ground");
        TRY(&bench, "BOX.PWR:short");
        assert_true(dark(&bench, "BOX.PWR"));
        assert_int_equal(bench.effect.opening_count, weak == 1 ? 0 : 1);
        assert_int_equal(dark(&bench, "ALT.FLD"), weak == 1);
        bench_close(&bench);
    }
}

/* A regulator that runs away to 130 % of 14 V: 18.2 V; the box stands 16 V. */
static void too_much_voltage_names_its_boxes(void **state) {
    (void)state;
    Bench bench;
    bench_read(&bench, CURVE_CB);
    Job *job = &bench.powered.job;
    job->set.load.rows[job_find(job, TABLE_load, "box PWR")].volts_max_v = 16.0;
    bench_build(&bench, "cruise");
    TRY(&bench, "ALT:over_voltage");
    assert_int_equal(bench.effect.over_count, 1);
    assert_int_equal(bench.effect.over[0], powered_load_of(&bench.powered, "BOX.PWR"));
    TRY(&bench, "ALT:over_voltage", "CB:open");
    assert_int_equal(bench.effect.over_count, 0);
    bench_close(&bench);
}

/* Without field current the alternator stops; the box goes on from the battery. */
static void an_alternator_without_field_stops(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, "cruise");
    TRY(&bench, "CF:open");
    assert_int_equal(bench.effect.stopped_alternators, 1);
    assert_int_equal(bench.effect.lost_count, 1);
    assert_true(dark(&bench, "ALT.FLD"));
    FailRun *run = faults_run_of(bench.trier);
    assert_near(fail_element_a(run, NETWORK_ALTERNATOR, 0), 0.0, 1e-9);
    assert_true(fail_element_a(run, NETWORK_BATTERY, 0) > 1.0);
    /* And with the battery gone as well nothing is left. */
    TRY(&bench, "CF:open", "BAT:lost");
    assert_true(dark(&bench, "BOX.PWR"));
    bench_close(&bench);
}

/* Two diodes onto one bus: either may be open, or both sides of one shorted; not both open. */
static void two_diodes_keep_a_bus(void **state) {
    (void)state;
    Bench bench;
    bench_read(&bench, CURVE_CB);
    Job *job = &bench.powered.job;
    job_add(job, TABLE_bus, "bus,stud,node,stub_mm\nESS,EB.T,N2,0\n");
    job_add(job, TABLE_switchgear,
            "tag,part,node,stub_mm,rest,bolted_on,bolts_to,coil_plus_on\n"
            "DA,dio,N2,0,closed,,,\nDB,dio,N2,0,closed,,,\n");
    job_add(job, TABLE_feed, "feed,onto,out_of,through\nESS_A,ESS,MAIN,DA\nESS_B,ESS,BATT,DB\n");
    job->set.feed.rows[job_find(job, TABLE_feed, "BOX_PWR")].out_of = "ESS";
    job->set.protection.rows[job_find(job, TABLE_protection, "CB")].bolted_on = "ESS";
    bench_build(&bench, "cruise");
    TRY(&bench, "DA:open");
    assert_int_equal(bench.effect.lost_count, 0);
    TRY(&bench, "DB:open");
    assert_int_equal(bench.effect.lost_count, 0);
    TRY(&bench, "DA:short");
    assert_int_equal(bench.effect.lost_count, 0);
    TRY(&bench, "DA:open", "DB:open");
    assert_int_equal(bench.effect.lost_count, 1);
    assert_true(dark(&bench, "BOX.PWR"));
    /* In either order, and named twice, it is the same set. */
    TRY(&bench, "DB:open", "DA:open", "DB:open");
    assert_int_equal(bench.effect.lost_count, 1);
    /* The main contactor open as well: one way is left. */
    TRY(&bench, "MC:stuck_open", "DB:open");
    assert_int_equal(bench.effect.lost_count, 0);
    TRY(&bench, "MC:stuck_open", "DB:open", "ALT:lost");
    assert_true(dark(&bench, "BOX.PWR"));
    TRY(&bench, "MC:stuck_open", "DA:open", "ALT:lost");
    assert_false(dark(&bench, "BOX.PWR"));
    bench_close(&bench);
}

/* A crimp of 1 ohm in front of a box of 7 ohm that needs 13 V of 14: it goes out with its current
 * on and comes back without it. It counts as lost, and the rest settles. */
static void a_box_that_cycles_is_lost(void **state) {
    (void)state;
    Bench bench;
    bench_read(&bench, CURVE_CB);
    Job *job = &bench.powered.job;
    job->set.load.rows[job_find(job, TABLE_load, "box PWR")].volts_min_v = 12.5;
    bench_build(&bench, "cruise");
    TRY(&bench, "BOX.J1-2:high");
    assert_int_equal(bench.effect.status, FAULTS_SOLVED);
    assert_int_equal(bench.effect.cycling_count, 1);
    assert_int_equal(bench.effect.lost_count, 1);
    assert_true(dark(&bench, "BOX.PWR"));
    bench_close(&bench);
}

static void the_phases_that_are_marked_are_tried(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, "cruise");
    assert_int_equal(bench.faults.phase_count, 1); /* the engine stands in the other */
    bench_close(&bench);
    bench_read(&bench, CURVE_CB);
    Job *job = &bench.powered.job;
    job->set.phase.rows[job_find(job, TABLE_phase, "ground")].failures = 1;
    bench_build(&bench, "ground");
    assert_int_equal(bench.faults.phase_count, 1);
    bench_close(&bench);
}

static void a_mode_that_cannot_be_is_reported(void **state) {
    (void)state;
    Bench bench;
    bench_read(&bench, CURVE_CB);
    job_add(&bench.powered.job, TABLE_failure_mode,
            "kind,mode,effect,ohm,volts_pct,scope,meaning,source,status\n"
            "conductor,sings,jam,,,conductor,it sings,test,shop\n"
            "bus,arcs,short,,,bus,no ohm given,test,shop\n");
    bench_build(&bench, "cruise");
    assert_int_equal(job_count(&bench.powered.job, RULE_FAULT_MODE), 2);
    assert_int_equal(faults_find(&bench.faults.list, "MAIN:arcs"), ID_NONE);
    assert_int_not_equal(faults_find(&bench.faults.list, "MAIN:short"), ID_NONE);
    bench_close(&bench);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_broken_wire_darkens_its_box),
        cmocka_unit_test(a_short_opens_its_breaker),
        cmocka_unit_test(a_welded_breaker_matters_with_a_short),
        cmocka_unit_test(a_curve_that_does_not_reach_is_not_proved),
        cmocka_unit_test(of_two_in_series_the_smaller_opens),
        cmocka_unit_test(a_contactor_that_lets_go_stays_open),
        cmocka_unit_test(too_much_voltage_names_its_boxes),
        cmocka_unit_test(an_alternator_without_field_stops),
        cmocka_unit_test(two_diodes_keep_a_bus),
        cmocka_unit_test(a_box_that_cycles_is_lost),
        cmocka_unit_test(the_phases_that_are_marked_are_tried),
        cmocka_unit_test(a_mode_that_cannot_be_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
