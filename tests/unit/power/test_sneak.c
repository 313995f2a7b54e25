/* Sneak currents on jobs small enough to work out by hand. The first is the classic sneak circuit
 * of the motor car: hazard lights on, brake pedal pressed, ignition off, and the radio plays,
 * because the brake switch carries current the wrong way (told in J. P. Rankin, "Sneak circuit
 * analysis", Nuclear Safety 14(5), 1973; from memory). The second is the lamp between two feeds
 * with a common return that a switch opens (common practice). Then a clamp in an input; nothing
 * left out against what is left out; order of rows; more switches than can be tried. */
#include "power/sneak.h"

#include <math.h>

#include "rating/resistance.h"
#include "support/mini.h"

#define SHARE 2e-4

typedef struct Searched {
    Powered powered;
    Paths paths;
    Sneaks sneaks;
    Findings findings;
} Searched;

static double metre_ohm(void) {
    return resistance_at(METAL_COPPER, 0.1, 150.0);
}

/* The small job of mini.h with its sources beside the bus, an alternator of no slope, and two more
 * buses. */
static void start(Searched *searched) {
    Job *job = &searched->powered.job;
    mini_read(job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(job, TABLE_alternator, "alt", "slope_mohm", "0");
    job_write(job, TABLE_unit, "ALT", "node", "N2");
    job_write(job, TABLE_unit, "BAT", "node", "N2");
    job_add(job, TABLE_bus, "bus,stud,node,stub_mm\nAA,BA.T,N2,0\nCC,BC.T,N2,0\n");
    job_add(job, TABLE_unit,
            "tag,part,node,stub_mm,module\nRADIO,box,N2,1000,M\nLAMP,box,N2,1000,M\n");
    job_add(job, TABLE_protection,
            "tag,part,rating_a,node,stub_mm,bolted_on\nC1,cb,5,N2,0,MAIN\nC2,cb,5,N2,0,MAIN\n");
    job_add(job, TABLE_switchgear,
            "tag,part,node,stub_mm,rest\nSA,tog,N2,0,off\nSC,tog,N2,0,off\n");
}

static void run(Searched *searched, bool whole) {
    Job *job = &searched->powered.job;
    job_check(job);
    powered_load(&searched->powered);
    powered_solve(&searched->powered);
    searched->findings.arena = &job->arena;
    assert_true(paths_build(&job->arena, &job->model, &searched->powered.wiring,
                            &searched->powered.routing, NULL, &searched->powered.supply,
                            &searched->powered.sizing, &searched->paths));
    (whole ? sneak_run_whole : sneak_run)(&job->arena, &searched->paths, &searched->sneaks,
                                          &searched->findings);
}

static void end(Searched *searched) {
    arena_free(&searched->powered.job.arena);
}

static size_t count_rule(const Searched *searched, RuleId rule) {
    size_t count = 0;
    for (size_t i = 0; i < searched->findings.count; i++) {
        count += searched->findings.rows[i].rule == rule;
    }
    return count;
}

/* The only sneak, and what it must be. */
static const Sneak *only(const Searched *searched, const char *dead, const char *from) {
    const TableSet *set = &searched->powered.job.set;
    assert_int_equal(searched->sneaks.count, 1);
    const Sneak *sneak = &searched->sneaks.rows[0];
    assert_string_equal(set->bus.rows[sneak->bus].bus, dead);
    assert_string_equal(set->bus.rows[sneak->from].bus, from);
    assert_int_equal(sneak->seen, sneak->combinations);
    return sneak;
}

static const char *position(const Searched *searched, const Sneak *sneak, const char *tag) {
    const SneakGraph *graph = &searched->sneaks.graph;
    for (uint32_t i = 0; i < graph->switch_count; i++) {
        if (strcmp(searched->powered.job.model.owners[graph->switches[i].owner].tag, tag) == 0) {
            return graph->switches[i].words[sneak->choice[i]];
        }
    }
    fail_msg("switch %s is not varied", tag);
    return "";
}

/* AA is the ignition bus with the radio, CC the brake lamps: fed over the pedal (SB) from AA and
 * over the hazard switch (SC) from MAIN. `pedal` is what the pedal's feed passes. */
static void add_car(Searched *searched, const char *pedal) {
    Job *job = &searched->powered.job;
    job_add(job, TABLE_switchgear, "tag,part,node,stub_mm,rest\nSB,tog,N2,0,off\n");
    job_add(job, TABLE_feed,
            arena_format(&job->arena,
                         "feed,onto,out_of,through\nIGN,AA,MAIN,C1 SA\nPEDAL,CC,AA,%s\n"
                         "HAZ,CC,MAIN,C2 SC\nRADIO_PWR,RADIO.PWR,AA,\nLAMP_PWR,LAMP.PWR,CC,\n",
                         pedal));
    job_add(job, TABLE_ground, "ground,out_of,onto\nR_GND,RADIO.GND,GB.t4\nL_GND,LAMP.GND,GB.t5\n");
}

static void brake_pedal(void **state) {
    (void)state;
    Searched searched = {0};
    start(&searched);
    add_car(&searched, "SB");
    run(&searched, false);
    const Sneak *sneak = only(&searched, "AA", "CC");
    assert_int_equal(sneak->verdict, SNEAK_LIVE);
    assert_string_equal(position(&searched, sneak, "SA"), "off");
    assert_string_equal(position(&searched, sneak, "SB"), "on");
    assert_string_equal(position(&searched, sneak, "SC"), "on");
    /* MAIN is live with the alternator (4 positions of battery and its contactor's switch) or
     * without it from the battery with the contactor closed (1); of 64. */
    assert_int_equal(sneak->combinations, 5);
    assert_int_equal(searched.sneaks.looked, 64);
    /* 14 V at MAIN; breaker and hazard switch; then lamp, and radio behind the pedal. */
    double box_ohm = 7.0 + 2.0 * metre_ohm();
    double both_ohm = box_ohm * (box_ohm + 0.01) / (2.0 * box_ohm + 0.01);
    double lamp_v = 14.0 * both_ohm / (both_ohm + 0.05 + 0.01);
    double radio_v = lamp_v * box_ohm / (box_ohm + 0.01);
    assert_near(sneak->volts_v, radio_v, radio_v * SHARE);
    assert_near(sneak->amps_a, radio_v / box_ohm, radio_v / box_ohm * SHARE);
    assert_int_equal(sneak->path_count, 1);
    assert_int_equal(sneak->path[0].kind, SNEAK_BY_GATE); /* the pedal */
    assert_int_equal(count_rule(&searched, RULE_SNEAK_PATH), 1);
    assert_int_equal(count_rule(&searched, RULE_SNEAK_BOUND), 0);
    end(&searched);
}

/* The cure: a diode in the pedal's way. */
static void brake_pedal_with_a_diode(void **state) {
    (void)state;
    Searched searched = {0};
    start(&searched);
    job_add(&searched.powered.job, TABLE_switchgear,
            "tag,part,node,stub_mm,rest\nDP,dio,N2,0,closed\n");
    add_car(&searched, "SB DP");
    run(&searched, false);
    assert_int_equal(searched.sneaks.count, 0);
    assert_int_equal(count_rule(&searched, RULE_SNEAK_PATH), 0);
    end(&searched);
}

/* Lamps on AA and CC share a return that SG opens; the radio on CC is grounded for itself. */
static void add_lamps(Searched *searched) {
    Job *job = &searched->powered.job;
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nLAMPA,box,N2,1000,M\n");
    job_add(job, TABLE_switchgear, "tag,part,node,stub_mm,rest\nSG,tog,N2,0,off\n");
    job_add(job, TABLE_feed,
            "feed,onto,out_of,through\nA,AA,MAIN,C1 SA\nC,CC,MAIN,C2 SC\n"
            "LA,LAMPA.PWR,AA,\nLC,LAMP.PWR,CC,\nRADIO_PWR,RADIO.PWR,CC,\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nR_GND,RADIO.GND,GB.t4\nSG_GND,SG.2,GB.t5\n");
    job_add(job, TABLE_link, "link,ends,class,join\nBACK,SG.1 LAMP.GND LAMPA.GND,G,hub at first\n");
}

static void lamps_in_series(void **state) {
    (void)state;
    Searched searched = {0};
    start(&searched);
    add_lamps(&searched);
    run(&searched, false);
    const TableSet *set = &searched.powered.job.set;
    /* AA over CC's lamp as well, but nothing draws there: it floats. */
    assert_int_equal(searched.sneaks.count, 2);
    const Sneak *into_c = &searched.sneaks.rows[1];
    assert_string_equal(set->bus.rows[into_c->bus].bus, "CC");
    assert_string_equal(set->bus.rows[into_c->from].bus, "AA");
    assert_string_equal(position(&searched, into_c, "SA"), "on");
    assert_string_equal(position(&searched, into_c, "SC"), "off");
    assert_string_equal(position(&searched, into_c, "SG"), "off");
    /* Breaker and switch, wire, lamp, two pieces of the return, lamp, wire, CC; radio to ground.
     * Lamps are resistances both ways; a return is sized for its own lamp. */
    double wire = metre_ohm();
    double radio_ohm = 7.0 + 2.0 * wire;
    double way_ohm = 0.05 + 0.01 + 2.0 * 7.0 + 4.0 * wire;
    double volts_v = 14.0 * radio_ohm / (radio_ohm + way_ohm);
    assert_near(into_c->volts_v, volts_v, 0.01 * volts_v);
    assert_int_equal(into_c->verdict, SNEAK_LIVE);
    bool through_a_lamp = false;
    for (uint32_t i = 0; i < into_c->path_count; i++) {
        through_a_lamp = through_a_lamp || into_c->path[i].kind == SNEAK_BY_LOAD;
    }
    assert_true(through_a_lamp);
    /* With the return closed current sinks: nothing is reached in those combinations but what the
     * graph can't tell; the solved volts are those of the worst. */
    assert_int_equal(count_rule(&searched, RULE_SNEAK_PATH), 2);
    end(&searched);
}

/* A dimmer on AA drives a line into an input on CC whose clamp leads to its supply. */
static void add_clamp(Searched *searched, const char *ohm) {
    Job *job = &searched->powered.job;
    job_add(job, TABLE_part,
            "part,name,supply,source,status\ndim,dimmer,powered,test,shop\n"
            "dis,display,powered,test,shop\n");
    job_add(job, TABLE_part_connector, "part,connector,shell\ndim,J1,S9\ndis,J1,S9\n");
    job_add(job, TABLE_port,
            "part,port,class,direction\ndim,GND,G,ret\ndim,OUT,D,out\ndim,PWR,P,in\n"
            "dis,GND,G,ret\ndis,IN,D,in\ndis,PWR,P,in\n");
    job_add(job, TABLE_port_pin,
            "part,port,core,connector,cavity\ndim,GND,1,J1,1\ndim,OUT,1,J1,2\ndim,PWR,1,J1,3\n"
            "dis,GND,1,J1,1\ndis,IN,1,J1,2\ndis,PWR,1,J1,3\n");
    job_add(job, TABLE_load,
            "part,port,return_port,duty,usual_a,design_a,law,volts_min_v,source,status\n"
            "dim,PWR,GND,continuous,1,1,constant resistance,9,test,shop\n"
            "dis,PWR,GND,continuous,1,1,constant resistance,9,test,shop\n");
    job_add(job, TABLE_inside,
            arena_format(&job->arena,
                         "part,from_port,to_port,kind,ohm\ndim,PWR,OUT,resistor,10\n"
                         "dis,IN,PWR,diode,%s\n",
                         ohm));
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nDIM,dim,N2,0,M\nDIS,dis,N2,0,M\n");
    job_add(job, TABLE_feed,
            "feed,onto,out_of,through\nA,AA,MAIN,C1 SA\nC,CC,MAIN,C2 SC\n"
            "D1,DIM.PWR,AA,\nD2,DIS.PWR,CC,\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nD1_GND,DIM.GND,GB.t4\nD2_GND,DIS.GND,GB.t5\n");
    job_add(job, TABLE_link, "link,ends,class\nBRIGHT,DIM.OUT DIS.IN,D\n");
    job_drop(job, TABLE_unit, "RADIO");
    job_drop(job, TABLE_unit, "LAMP");
}

static void clamp_in_an_input(void **state) {
    (void)state;
    Searched searched = {0};
    start(&searched);
    add_clamp(&searched, "10000");
    run(&searched, false);
    const Sneak *sneak = only(&searched, "CC", "AA");
    assert_int_equal(sneak->verdict, SNEAK_LEAKS);
    assert_near(sneak->bound_a, 14.0 / 10000.0, 1e-12);
    double amps_a = 14.0 / (10000.0 + 10.0 + 14.0);
    assert_near(sneak->amps_a, amps_a, 0.01 * amps_a);
    assert_true(sneak->amps_a <= sneak->bound_a);
    assert_near(sneak->volts_v, amps_a * 14.0, 0.02 * amps_a * 14.0);
    assert_int_equal(searched.sneaks.solved, 1); /* the bound speaks for the others */
    assert_int_equal(count_rule(&searched, RULE_SNEAK_PATH), 0);
    /* The line stands in the list of shared ones, with what dies on it. */
    assert_int_equal(searched.sneaks.line_count, 2);
    const SharedLine *line = &searched.sneaks.lines[1];
    assert_string_equal(searched.powered.job.set.bus.rows[line->off].bus, "CC");
    assert_int_equal(line->outputs, 1);
    assert_int_equal(line->inputs, 1);
    assert_int_equal(line->dead_count, 1);
    assert_true(line->driven);
    assert_int_equal(line->known, 1);
    assert_int_equal(count_rule(&searched, RULE_SNEAK_SHARED_LINE), 1);
    end(&searched);
    /* Without a resistor in the input the display runs on the line. */
    Searched bare = {0};
    start(&bare);
    add_clamp(&bare, "1");
    run(&bare, false);
    sneak = only(&bare, "CC", "AA");
    assert_int_equal(sneak->verdict, SNEAK_LIVE);
    assert_true(isnan(sneak->bound_a));
    amps_a = 14.0 / (10.0 + 1.0 + 14.0);
    assert_near(sneak->amps_a, amps_a, 0.02 * amps_a);
    end(&bare);
}

typedef void (*AddRows)(Searched *searched);

static void add_pedal(Searched *searched) {
    add_car(searched, "SB");
}
static void add_small_clamp(Searched *searched) {
    add_clamp(searched, "1");
}

/* What the proofs leave out changes nothing: the same ways, the same volts, in exactly as many
 * times more combinations as there are positions of switches left out. */
static void nothing_is_lost(void **state) {
    (void)state;
    static const AddRows JOBS[] = {add_pedal, add_lamps, add_small_clamp};
    for (size_t i = 0; i < sizeof JOBS / sizeof *JOBS; i++) {
        Searched both[2];
        memset(both, 0, sizeof both);
        for (int whole = 0; whole < 2; whole++) {
            start(&both[whole]);
            JOBS[i](&both[whole]);
            /* A motor behind a reversing switch, and a switch that only grounds a box: neither lies
             * on any way to a bus. */
            Job *job = &both[whole].powered.job;
            job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nMO,motor,N2,0,M\n");
            job_add(job, TABLE_switchgear, "tag,part,node,stub_mm,rest\nRV,rev,N2,0,off\n");
            job_add(job, TABLE_protection,
                    "tag,part,rating_a,node,stub_mm,bolted_on\nC3,cb,5,N2,0,CC\n");
            job_add(job, TABLE_feed, "feed,onto,out_of,through\nMO_PWR,MO.MOT,CC,C3 RV\n");
            job_add(job, TABLE_ground, "ground,out_of,onto\nRV_GND,RV.N,GB.t8\n");
            run(&both[whole], whole == 1);
        }
        const Sneaks *pruned = &both[0].sneaks;
        const Sneaks *whole = &both[1].sneaks;
        assert_true(pruned->count > 0);
        assert_int_equal(pruned->count, whole->count);
        assert_true(pruned->looked < whole->looked);
        assert_true(pruned->possible == whole->possible);
        assert_true(pruned->alike + (double)pruned->looked == pruned->possible);
        assert_int_equal(whole->looked, (uint64_t)whole->possible);
        for (uint32_t k = 0; k < pruned->count; k++) {
            const Sneak *a = &pruned->rows[k];
            const Sneak *b = &whole->rows[k];
            assert_int_equal(a->port, b->port);
            assert_int_equal(a->from, b->from);
            assert_int_equal(a->verdict, b->verdict);
            assert_near(a->volts_v, b->volts_v, 1e-6);
            assert_int_equal(a->combinations * whole->looked, b->combinations * pruned->looked);
        }
        end(&both[0]);
        end(&both[1]);
    }
}

/* Rows written the other way round give the same bytes. */
static void order_of_rows(void **state) {
    (void)state;
    Searched both[2];
    memset(both, 0, sizeof both);
    for (int turned = 0; turned < 2; turned++) {
        start(&both[turned]);
        add_lamps(&both[turned]);
        Job *job = &both[turned].powered.job;
        for (size_t i = 0; turned == 1 && i < job->set.feed.count / 2; i++) {
            FeedRow *a = &job->set.feed.rows[i];
            FeedRow *b = &job->set.feed.rows[job->set.feed.count - 1 - i];
            FeedRow kept = *a;
            *a = *b;
            *b = kept;
        }
        run(&both[turned], false);
        sneak_rows(&job->arena, &both[turned].paths, &both[turned].sneaks, &job->set);
    }
    const TableSet *a = &both[0].powered.job.set;
    const TableSet *b = &both[1].powered.job.set;
    assert_true(a->sneak.count >= 2);
    assert_int_equal(a->sneak.count, b->sneak.count);
    for (size_t i = 0; i < a->sneak.count; i++) {
        assert_string_equal(a->sneak.rows[i].dead, b->sneak.rows[i].dead);
        assert_string_equal(a->sneak.rows[i].through, b->sneak.rows[i].through);
        assert_string_equal(a->sneak.rows[i].positions, b->sneak.rows[i].positions);
        assert_true(a->sneak.rows[i].volts_v == b->sneak.rows[i].volts_v);
    }
    end(&both[0]);
    end(&both[1]);
}

/* Seventeen switches between two buses: more combinations than are tried one by one, and said so.
 */
static void more_than_can_be_tried(void **state) {
    (void)state;
    Searched searched = {0};
    start(&searched);
    add_car(&searched, "SB");
    Job *job = &searched.powered.job;
    for (int i = 0; i < 17; i++) {
        job_add(job, TABLE_switchgear,
                arena_format(&job->arena, "tag,part,node,stub_mm,rest\nX%02d,tog,N2,0,off\n", i));
        job_add(
            job, TABLE_feed,
            arena_format(&job->arena, "feed,onto,out_of,through\nXF%02d,CC,MAIN,X%02d\n", i, i));
    }
    run(&searched, false);
    assert_int_equal(count_rule(&searched, RULE_SNEAK_BOUND), 1);
    assert_true(searched.sneaks.looked <= 1 << 16);
    assert_true(searched.sneaks.not_tried > 0.0);
    assert_true(searched.sneaks.not_tried + (double)searched.sneaks.looked +
                    searched.sneaks.alike ==
                searched.sneaks.possible);
    /* Two changes from the phases are enough to find the pedal. */
    assert_true(count_rule(&searched, RULE_SNEAK_PATH) >= 1);
    end(&searched);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(brake_pedal),
        cmocka_unit_test(brake_pedal_with_a_diode),
        cmocka_unit_test(lamps_in_series),
        cmocka_unit_test(clamp_in_an_input),
        cmocka_unit_test(nothing_is_lost),
        cmocka_unit_test(order_of_rows),
        cmocka_unit_test(more_than_can_be_tried),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
