/* Lifted grounds on jobs small enough to work out by hand: two boxes joined by a shield, by an
 * audio return; one box with two grounds; then what no inside row speaks of, a source's return, and
 * switches that must be put on first. Bus at 14 V: the alternator stands beside the bus and its
 * slope is nothing. */
#include "power/lift.h"

#include <math.h>

#include "rating/resistance.h"
#include "support/mini.h"

/* A metre of wire: 0.1 ohm at 20 degC. Where no table says what a wire stands in free air it is
 * taken at its rated 150 degC. */
static double metre_ohm(void) {
    return resistance_at(METAL_COPPER, 0.1, 150.0);
}

/* The alternator's slope and the bolted joints together move the bus by less than this share. */
#define SHARE 2e-4

typedef struct Lifted {
    Powered powered;
    Paths paths;
    Lifts lifts;
    Findings findings;
} Lifted;

/* The small job of mini.h, its sources moved beside the bus, with boxes that talk. */
static void start(Lifted *lifted) {
    Job *job = &lifted->powered.job;
    mini_read(job, (MiniJob){"14", "structure", MINI_BONDS});
    job_add(job, TABLE_wire_rating,
            "awg,at105_a,at150_a,at200_a,source,status\n20,4,7,9,test,shop\n");
    job_add(job, TABLE_cable,
            "part,name,cores,awg,twisted,shielded,r20_ohm_per_km,shield_ohm_per_km,od_mm,"
            "mass_kg_per_km,rated_degc,source,status\n"
            "sh2,shielded pair,2,20,yes,yes,100,50,3,20,150,test,shop\n");
    job_add(job, TABLE_interface,
            "class,meaning,cores,cable,join,kind,shield_ground,source,status\n"
            "4,data pair,2,sh2,point to point,signal,both,test,shop\n"
            "A,audio pair,2,sh2,point to point,signal,one end,test,shop\n");
    job_add(job, TABLE_interface_core,
            "class,core,name,returns\n4,1,a,\n4,2,b,\nA,1,high,\nA,2,low,yes\n");
    job_add(job, TABLE_part,
            "part,name,supply,shield_host,source,status\n"
            "talk,box that talks,powered,,test,shop\n"
            "hear,box that hears,powered,A,test,shop\n"
            "two,box with two grounds,powered,,test,shop\n");
    job_add(job, TABLE_part_connector, "part,connector,shell\ntalk,J1,S9\nhear,J1,S9\ntwo,J1,S9\n");
    job_add(job, TABLE_port,
            "part,port,class,direction\n"
            "talk,GND,G,ret\ntalk,PWR,P,in\ntalk,DAT,4,out\ntalk,AUD,A,out\n"
            "hear,GND,G,ret\nhear,PWR,P,in\nhear,DAT,4,in\nhear,AUD,A,in\n"
            "two,GND,G,ret\ntwo,GND2,G,ret\ntwo,PWR,P,in\n");
    job_add(job, TABLE_port_pin,
            "part,port,core,connector,cavity\n"
            "talk,GND,1,J1,1\ntalk,PWR,1,J1,2\ntalk,DAT,1,J1,3\ntalk,DAT,2,J1,4\n"
            "talk,AUD,1,J1,5\ntalk,AUD,2,J1,6\n"
            "hear,GND,1,J1,1\nhear,PWR,1,J1,2\nhear,DAT,1,J1,3\nhear,DAT,2,J1,4\n"
            "hear,AUD,1,J1,5\nhear,AUD,2,J1,6\n"
            "two,GND,1,J1,1\ntwo,GND2,1,J1,2\ntwo,PWR,1,J1,3\n");
    job_add(job, TABLE_load,
            "part,port,return_port,duty,usual_a,design_a,law,volts_min_v,source,status\n"
            "talk,PWR,GND,continuous,2,2,constant resistance,9,test,shop\n"
            "hear,PWR,GND,continuous,2,2,constant resistance,9,test,shop\n"
            "two,PWR,GND,continuous,2,2,constant resistance,9,test,shop\n");
    job_write(job, TABLE_alternator, "alt", "slope_mohm", "0");
    job_write(job, TABLE_unit, "ALT", "node", "N2");
    job_write(job, TABLE_unit, "BAT", "node", "N2");
    job_add(job, TABLE_protection,
            "tag,part,rating_a,node,stub_mm,bolted_on\nC1,cb,5,N2,0,MAIN\nC2,cb,5,N2,0,MAIN\n");
}

/* Boxes T and H, 1,000 mm from bus and ground each; 2,000 mm from each other. */
static void add_talkers(Lifted *lifted, const char *link) {
    Job *job = &lifted->powered.job;
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nT,talk,N2,1000,M\nH,hear,N2,1000,M\n");
    job_add(job, TABLE_feed,
            "feed,onto,out_of,through\nT_PWR,T.PWR,MAIN,C1\nH_PWR,H.PWR,MAIN,C2\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nT_GND,T.GND,GB.t4\nH_GND,H.GND,GB.t5\n");
    job_add(job, TABLE_link, link);
    job_add(job, TABLE_mode, "phase,port,amps_a\ncruise,T.PWR,\ncruise,H.PWR,\n");
}

static void run(Lifted *lifted) {
    Job *job = &lifted->powered.job;
    job_check(job);
    powered_load(&lifted->powered);
    powered_solve(&lifted->powered);
    lifted->findings.arena = &job->arena;
    assert_true(paths_build(&job->arena, &job->model, &lifted->powered.wiring,
                            &lifted->powered.routing, NULL, &lifted->powered.supply,
                            &lifted->powered.sizing, &lifted->paths));
    assert_true(lift_run(&job->arena, &lifted->paths, &lifted->powered.built,
                         &lifted->powered.phases, &lifted->lifts, &lifted->findings));
}

static void end(Lifted *lifted) {
    arena_free(&lifted->powered.job.arena);
}

static const Lift *lift_of(const Lifted *lifted, const char *circuit) {
    const Wiring *wiring = &lifted->powered.wiring;
    for (uint32_t i = 0; i < lifted->lifts.count; i++) {
        const Lift *lift = &lifted->lifts.rows[i];
        if (lift->lifted.kind == BUILD_CONDUCTOR &&
            strcmp(
                wiring->nets[wiring->cables[wiring->conductors[lift->lifted.index].cable].net].name,
                circuit) == 0) {
            return lift;
        }
    }
    fail_msg("no lift of %s", circuit);
    return NULL;
}

static const LiftPath *path_of(const Lifted *lifted, const Lift *lift, uint32_t path) {
    assert_true(path < lift->path_count);
    return &lifted->lifts.paths[lift->path_first + path];
}

static void assert_way(Lifted *lifted, const LiftPath *path, const char *const *names,
                       uint32_t count) {
    assert_int_equal(path->hop_count, count);
    for (uint32_t i = 0; i < count; i++) {
        const char *name = paths_name(&lifted->powered.job.arena, &lifted->paths,
                                      lifted->lifts.hops[path->hop_first + i].source);
        assert_string_equal(strchr(names[i], ' ') == NULL ? strchr(name, ' ') + 1 : name, names[i]);
    }
}

static size_t count_rule(const Lifted *lifted, RuleId rule) {
    size_t count = 0;
    for (size_t i = 0; i < lifted->findings.count; i++) {
        count += lifted->findings.rows[i].rule == rule;
    }
    return count;
}

/* Bus to the return pin of a box: breaker, wire, 7 ohm. */
static double box_ohm(void) {
    return 0.05 + metre_ohm() + 7.0;
}

/* Two such boxes, the second returning through `second` ohm;
 * the first through `between` ohm to the second's ground. Amps of the first, by Kirchhoff. */
static double through_neighbour(double between, double second) {
    double box = box_ohm();
    /* V = i1 (box + between) + (i1 + i2) second;  V = i2 box + (i1 + i2) second */
    double ratio = (box + between) / box; /* i2 = ratio i1 */
    return 14.0 / (box + between + (1.0 + ratio) * second);
}

#define DATA_LINK "link,ends,class\nDATA,T.DAT H.DAT,4\n"

static void by_a_shield(void **state) {
    (void)state;
    Lifted lifted = {0};
    start(&lifted);
    add_talkers(&lifted, DATA_LINK);
    job_add(&lifted.powered.job, TABLE_inside,
            "part,from_port,to_port,kind,ohm,rated_a\n"
            "talk,case,GND,resistor,0.02,5\nhear,case,GND,resistor,0.02,5\n"
            "talk,AUD/2,GND,isolated,,\nhear,AUD/2,GND,isolated,,\n");
    run(&lifted);
    /* Whole: the shield lies between two equal grounds and carries nothing. */
    double whole_a = 14.0 / (box_ohm() + metre_ohm());
    const Lift *lift = lift_of(&lifted, "T_GND");
    assert_near(lift->before_a, whole_a, whole_a * SHARE);
    assert_int_equal(lift->path_count, 1);
    const LiftPath *path = path_of(&lifted, lift, 0);
    assert_way(&lifted, path,
               (const char *const[]){"inside T case-GND", "shield of W0006 DATA",
                                     "inside H case-GND", "H_GND"},
               4);
    /* 50 ohm/km over 2 m of shield, 0.02 ohm in each box. */
    double amps_a = through_neighbour(0.14, metre_ohm());
    assert_near(lifted.lifts.hops[path->hop_first + 1].amps_a, amps_a, amps_a * SHARE);
    assert_int_equal(lift->verdict, LIFT_OVERLOADS);
    const LiftHop *hop = &lifted.lifts.hops[path->weakest];
    assert_int_equal(hop->source.kind, BUILD_SHIELD);
    assert_near(hop->rating_a, 1.0, 0.0); /* limit shield_current */
    /* The neighbour's ground gets both currents, and stands them. */
    const LiftHop *last = &lifted.lifts.hops[path->hop_first + 3];
    double both_a = amps_a * (1.0 + (box_ohm() + 0.14) / box_ohm());
    assert_near(last->amps_a, both_a, both_a * SHARE);
    /* The way counts what its last piece gets more: the neighbour's own current falls a little. */
    assert_near(path->amps_a, both_a - whole_a, both_a * SHARE);
    assert_near(last->rating_a, 7.0, 0.0); /* AC 43.13-1B Table 11-9, AWG 20, 150 degC */
    assert_int_equal(lift->lost_count, 0);
    assert_int_equal(count_rule(&lifted, RULE_GROUND_LIFTED), 2);
    assert_int_equal(count_rule(&lifted, RULE_GROUND_LOOP), 0);
    assert_int_equal(count_rule(&lifted, RULE_GROUND_UNKNOWN), 0);
    end(&lifted);
}

/* The same shield grounded at one end only: nothing but the wire. */
static void shield_at_one_end(void **state) {
    (void)state;
    Lifted lifted = {0};
    start(&lifted);
    job_write(&lifted.powered.job, TABLE_interface, "4", "shield_ground", "one end");
    add_talkers(&lifted, DATA_LINK);
    run(&lifted);
    const Lift *lift = lift_of(&lifted, "T_GND");
    assert_int_equal(lift->verdict, LIFT_NONE);
    assert_int_equal(lift->path_count, 0);
    assert_int_equal(lift->lost_count, 1);
    double whole_a = 14.0 / (box_ohm() + metre_ohm());
    assert_near(lift->before_a, whole_a, whole_a * SHARE);
    assert_int_equal(lifted.lifts.solved, 1); /* the bond of GB; for wires connection decides */
    end(&lifted);
}

#define AUDIO_LINK "link,ends,class\nSOUND,T.AUD H.AUD,A\n"

static void by_an_audio_return(void **state) {
    (void)state;
    Lifted lifted = {0};
    start(&lifted);
    add_talkers(&lifted, AUDIO_LINK);
    job_add(&lifted.powered.job, TABLE_inside,
            "part,from_port,to_port,kind,ohm,rated_a\n"
            "talk,AUD/2,GND,resistor,0.5,0.3\nhear,AUD/2,GND,resistor,0.5,\n");
    run(&lifted);
    const Lift *lift = lift_of(&lifted, "T_GND");
    const LiftPath *path = path_of(&lifted, lift, 0);
    /* 2 m of core, cool while whole, at 100 ohm/km between two tracks of 0.5 ohm. */
    double amps_a = through_neighbour(1.2, metre_ohm());
    assert_near(lifted.lifts.hops[path->hop_first].amps_a, amps_a, amps_a * SHARE);
    assert_way(&lifted, path,
               (const char *const[]){"inside T AUD/2-GND", "SOUND", "inside H AUD/2-GND", "H_GND"},
               4);
    assert_int_equal(path->verdict, LIFT_OVERLOADS);
    assert_near(lifted.lifts.hops[path->weakest].rating_a, 0.3, 0.0);
    /* Without a rating for that track nothing is proved about it. */
    Lifted unrated = {0};
    start(&unrated);
    add_talkers(&unrated, AUDIO_LINK);
    job_add(&unrated.powered.job, TABLE_inside,
            "part,from_port,to_port,kind,ohm\n"
            "talk,AUD/2,GND,resistor,0.5\nhear,AUD/2,GND,resistor,0.5\n");
    run(&unrated);
    assert_int_equal(lift_of(&unrated, "T_GND")->verdict, LIFT_NOT_PROVED);
    assert_int_equal(count_rule(&unrated, RULE_GROUND_UNKNOWN), 1);
    assert_int_equal(count_rule(&unrated, RULE_GROUND_LIFTED), 0);
    end(&lifted);
    end(&unrated);
}

/* No row speaks of the audio return, at one box or the other. */
static void nobody_knows(void **state) {
    (void)state;
    static const char *const ROWS[3] = {
        "part,from_port,to_port,kind,ohm\nhear,AUD/2,GND,isolated,\n",
        "part,from_port,to_port,kind,ohm\ntalk,AUD/2,GND,resistor,0.5\n",
        "part,from_port,to_port,kind,ohm\ntalk,AUD/2,GND,isolated,\n",
    };
    static const LiftVerdict WANTED[3] = {LIFT_NOT_DECIDED, LIFT_NOT_DECIDED, LIFT_NONE};
    static const char *const UNKNOWN[3] = {"T.AUD/2", "H.AUD/2", ""};
    for (int i = 0; i < 3; i++) {
        Lifted lifted = {0};
        start(&lifted);
        add_talkers(&lifted, AUDIO_LINK);
        job_add(&lifted.powered.job, TABLE_inside, ROWS[i]);
        run(&lifted);
        const Lift *lift = lift_of(&lifted, "T_GND");
        assert_int_equal(lift->verdict, WANTED[i]);
        assert_string_equal(lift->unknown, UNKNOWN[i]);
        end(&lifted);
    }
}

static double parallel(double a, double b) {
    return a * b / (a + b);
}

/* Two grounds of 0.1 ohm, 0.02 ohm between their pins; the load returns at the first. */
static void by_its_second_ground(void **state) {
    (void)state;
    Lifted lifted = {0};
    start(&lifted);
    Job *job = &lifted.powered.job;
    job_add(job, TABLE_inside,
            "part,from_port,to_port,kind,ohm,rated_a\ntwo,GND,GND2,resistor,0.02,5\n");
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nD,two,N2,1000,M\n");
    job_add(job, TABLE_feed, "feed,onto,out_of,through\nD_PWR,D.PWR,MAIN,C1\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nD_GND,D.GND,GB.t4\nD_GND2,D.GND2,GB.t5\n");
    job_add(job, TABLE_mode, "phase,port,amps_a\ncruise,D.PWR,\n");
    run(&lifted);
    /* The second wire is sized for nothing, and so is cool. */
    double wire = metre_ohm();
    double joined_a = 14.0 / (box_ohm() + parallel(wire, 0.12));
    double first_a = joined_a * 0.12 / (wire + 0.12);
    const Lift *first = lift_of(&lifted, "D_GND");
    assert_near(first->before_a, first_a, first_a * SHARE);
    assert_int_equal(first->verdict, LIFT_CARRIES);
    const LiftPath *path = path_of(&lifted, first, 0);
    assert_way(&lifted, path, (const char *const[]){"inside D GND-GND2", "D_GND2"}, 2);
    double alone_a = 14.0 / (box_ohm() + 0.12);
    assert_near(lifted.lifts.hops[path->hop_first + 1].amps_a, alone_a, alone_a * SHARE);
    assert_near(path->amps_a, alone_a - (joined_a - first_a), joined_a * SHARE);
    /* The second lifted: what came by the joint does not any more; the first takes it. */
    const Lift *second = lift_of(&lifted, "D_GND2");
    assert_near(second->before_a, joined_a - first_a, joined_a * SHARE);
    assert_way(&lifted, path_of(&lifted, second, 0), (const char *const[]){"D_GND"}, 1);
    end(&lifted);
}

/* The alternator's ground strap: current comes in by it. Its block has a second one. */
static void a_source_returns(void **state) {
    (void)state;
    Lifted lifted = {0};
    start(&lifted);
    Job *job = &lifted.powered.job;
    job->set.bond.count = 0;
    job_add(job, TABLE_bond, "item,onto,mohm\nALT,BK,0\nGB,structure,0\n");
    job_add(job, TABLE_ground_point, "point,node,stub_mm,tabs,kind\nBK,N1,0,4,engine\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nSTRAP1,BK.a,GB.t6\nSTRAP2,BK.b,GB.t7\n");
    run(&lifted);
    const Lift *lift = lift_of(&lifted, "STRAP1");
    assert_true(lift->before_a > 1.0);
    const LiftPath *path = path_of(&lifted, lift, 0);
    assert_way(&lifted, path, (const char *const[]){"STRAP2"}, 1);
    /* Two equal straps: the other gets what this one had, but for the drop on it: all loads are
     * resistances in parallel behind them. */
    double loads_ohm = 14.0 / (2.0 * lift->before_a) - metre_ohm() / 2.0;
    double alone_a = 14.0 / (loads_ohm + metre_ohm());
    assert_near(path->amps_a, alone_a - lift->before_a, 2e-3);
    assert_int_equal(lift_of(&lifted, "BAT_NEG")->verdict, LIFT_NONE);
    end(&lifted);
}

/* A motor that no phase runs: its switch is put on, the switch's ground lifted. */
static void a_switch_is_put_on(void **state) {
    (void)state;
    Lifted lifted = {0};
    start(&lifted);
    Job *job = &lifted.powered.job;
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nMO,motor,N2,1000,M\n");
    job_add(job, TABLE_switchgear, "tag,part,node,stub_mm,rest\nRV,rev,N2,0,off\n");
    job_add(job, TABLE_feed, "feed,onto,out_of,through\nMO_PWR,MO.MOT,MAIN,C1 RV\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nRV_GND,RV.N,GB.t4\n");
    run(&lifted);
    const Lift *lift = lift_of(&lifted, "RV_GND");
    assert_int_equal(lift->verdict, LIFT_NONE);
    assert_near(lift->before_a, 2.0, 1e-9); /* usual current of the motor */
    assert_int_equal(lift->lost_count, 1);
    end(&lifted);
}

/* The order of rows in the tables does not matter, and more wires elsewhere change no lift. */
static void order_and_more(void **state) {
    (void)state;
    Lifted plain = {0};
    start(&plain);
    add_talkers(&plain, DATA_LINK);
    job_add(&plain.powered.job, TABLE_inside,
            "part,from_port,to_port,kind,ohm\ntalk,case,GND,resistor,0.02\n"
            "hear,case,GND,resistor,0.02\n");
    run(&plain);
    Lifted turned = {0};
    start(&turned);
    job_add(&turned.powered.job, TABLE_inside,
            "part,from_port,to_port,kind,ohm\nhear,case,GND,resistor,0.02\n"
            "talk,case,GND,resistor,0.02\n");
    job_add(&turned.powered.job, TABLE_mode, "phase,port,amps_a\ncruise,H.PWR,\ncruise,T.PWR,\n");
    job_add(&turned.powered.job, TABLE_link, DATA_LINK);
    job_add(&turned.powered.job, TABLE_ground,
            "ground,out_of,onto\nH_GND,H.GND,GB.t5\nT_GND,T.GND,GB.t4\n");
    job_add(&turned.powered.job, TABLE_feed,
            "feed,onto,out_of,through\nH_PWR,H.PWR,MAIN,C2\nT_PWR,T.PWR,MAIN,C1\n");
    job_add(&turned.powered.job, TABLE_unit,
            "tag,part,node,stub_mm,module\nH,hear,N2,1000,M\nT,talk,N2,1000,M\n");
    run(&turned);
    lift_rows(&plain.powered.job.arena, &plain.paths, &plain.lifts, &plain.powered.job.set);
    lift_rows(&turned.powered.job.arena, &turned.paths, &turned.lifts, &turned.powered.job.set);
    size_t count = plain.powered.job.set.return_path.count;
    assert_int_equal(count, turned.powered.job.set.return_path.count);
    assert_true(count >= 5);
    for (size_t i = 0; i < count; i++) {
        const ReturnPathRow *a = &plain.powered.job.set.return_path.rows[i];
        const ReturnPathRow *b = &turned.powered.job.set.return_path.rows[i];
        assert_string_equal(a->lifted, b->lifted);
        assert_string_equal(a->through, b->through);
        assert_string_equal(a->verdict, b->verdict);
        assert_true(a->before_a == b->before_a);
        assert_true(a->path_a == b->path_a || (isnan(a->path_a) && isnan(b->path_a)));
    }
    end(&plain);
    end(&turned);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_a_shield),          cmocka_unit_test(shield_at_one_end),
        cmocka_unit_test(by_an_audio_return),   cmocka_unit_test(nobody_knows),
        cmocka_unit_test(by_its_second_ground), cmocka_unit_test(a_source_returns),
        cmocka_unit_test(a_switch_is_put_on),   cmocka_unit_test(order_and_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
