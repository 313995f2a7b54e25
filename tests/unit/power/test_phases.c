/* The network built from a small job whose voltages can be worked out by hand (support/mini.h), in
 * both systems of voltage and both styles of return; then one thing spoilt at a time. */
#include "support/mini.h"

#define TIGHT_V 1e-9

/* The circuit of mini.h as a person writes it down, ohms. */
typedef struct Hand {
    double box;     /* bus to ground through breaker, wire, box, wire */
    double coil;    /* stud to ground through the contactor's coil and the switch */
    double battery; /* inside it, and both its leads */
} Hand;

static Hand hand_of(double nominal_v) {
    return (Hand){
        .box = 0.05 + 0.1 + nominal_v / 2.0 + 0.1,
        .coil = nominal_v / 0.5 + 0.1 + 0.01 + 0.1,
        .battery = 0.02 + 0.1 + 0.1,
    };
}

static double parallel(double a, double b) {
    return a * b / (a + b);
}

/* Battery alone: 12 V (24 V) through its leads onto stud B; from there the coil, and the box
 * through the contactor. */
static void check_battery(const char *nominal, double nominal_v, const char *style,
                          const char *bonds, const char *open_v) {
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){nominal, style, bonds});
    job_write(&powered.job, TABLE_battery, "bat", "open_circuit_v", open_v);
    job_write(&powered.job, TABLE_alternator, "alt", "regulated_v", nominal_v > 20.0 ? "28" : "14");
    mini_solve(&powered);
    if (powered.job.findings.count > 0) {
        job_print_findings(&powered.job);
    }
    assert_int_equal(powered.job.findings.count, 0);
    Hand hand = hand_of(nominal_v);
    double stud_ohm = parallel(hand.box + 0.01, hand.coil);
    double emf_v = nominal_v > 20.0 ? 24.0 : 12.0;
    double stud_v = emf_v * stud_ohm / (stud_ohm + hand.battery);
    double box_a = stud_v / (hand.box + 0.01);
    const PhasesPort *port = powered_port(&powered, "ground", "BOX.PWR");
    assert_int_equal(port->state, PHASES_ON);
    assert_near(port->amps_a, box_a, TIGHT_V);
    assert_near(port->volts_v, box_a * nominal_v / 2.0, TIGHT_V);
    uint32_t ground = powered_phase(&powered, "ground");
    assert_near(powered.phases.delivered_a[ground], emf_v / (stud_ohm + hand.battery), TIGHT_V);
    /* Alternator: regulated voltage behind its slope and lead; its field returns to its case. */
    double field_ohm = 0.05 + 0.1 + nominal_v / 1.0;
    double rest_ohm = parallel(hand.box, hand.coil + 0.01) + 2.0 * BUILD_BOLTED_OHM;
    if (strcmp(style, "wired") == 0) {
        rest_ohm = parallel(hand.box, hand.coil + 0.01) + BUILD_BOLTED_OHM;
    }
    double load_ohm = parallel(field_ohm, rest_ohm);
    double set_v = nominal_v;
    double bus_v = set_v * load_ohm / (load_ohm + 0.01 + 0.1);
    double above_ground_v = bus_v * parallel(hand.box, hand.coil + 0.01) / rest_ohm;
    const PhasesPort *flying = powered_port(&powered, "cruise", "BOX.PWR");
    assert_near(flying->volts_v, above_ground_v / hand.box * nominal_v / 2.0, TIGHT_V);
    uint32_t cruise = powered_phase(&powered, "cruise");
    assert_near(powered.phases.delivered_a[cruise], set_v / (load_ohm + 0.01 + 0.1), TIGHT_V);
    arena_free(&powered.job.arena);
}

static void structure_return_14(void **state) {
    (void)state;
    check_battery("14", 14.0, "structure", MINI_BONDS, "12");
}

static void structure_return_28(void **state) {
    (void)state;
    check_battery("28", 28.0, "structure", MINI_BONDS, "24");
}

/* No bond onto the structure at all: the alternator's case is bolted on the ground block. */
static void wired_return_14(void **state) {
    (void)state;
    check_battery("14", 14.0, "wired", "ALT,GB,0\n", "12");
}

static void wired_return_28(void **state) {
    (void)state;
    check_battery("28", 28.0, "wired", "ALT,GB,0\n", "24");
}

/* An alternator at its limit gives just that; the bus falls to what the loads make of it. */
static void alternator_at_its_limit(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_phase, "cruise", "engine", "taxi");
    mini_solve(&powered);
    uint32_t cruise = powered_phase(&powered, "cruise");
    const SolveResult *result = &powered.phases.results[cruise];
    assert_near(result->alternator_a[0], 3.0, TIGHT_V);
    assert_near(result->battery_a[0], 0.0, 1e-6);
    Hand hand = hand_of(14.0);
    double rest_ohm = parallel(hand.box, hand.coil + 0.01) + 2.0 * BUILD_BOLTED_OHM;
    double bus_v = 3.0 * parallel(14.15, rest_ohm);
    assert_true(bus_v > 12.0 && bus_v < 14.0);
    double box_v = bus_v * parallel(hand.box, hand.coil + 0.01) / rest_ohm / hand.box * 7.0;
    assert_near(powered_port(&powered, "cruise", "BOX.PWR")->volts_v, box_v, TIGHT_V);
    assert_int_equal(job_count(&powered.job, RULE_SOLVE_DISCHARGE), 0);
    /* 0.2 A less, and the battery has to help. */
    Powered less = {0};
    mini_read(&less.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&less.job, TABLE_phase, "cruise", "engine", "taxi");
    job_write(&less.job, TABLE_alternator_output, "alt taxi", "output_a", "2.5");
    mini_solve(&less);
    assert_int_equal(job_count(&less.job, RULE_SOLVE_DISCHARGE), 1);
    assert_non_null(job_finding(&less.job, RULE_LOADS_AVAILABLE, "cruise"));
    assert_true(less.phases.results[cruise].battery_a[0] > 0.01);
    arena_free(&powered.job.arena);
    arena_free(&less.job.arena);
}

/* A battery that is not full charges from the alternator, a full one takes nothing. */
static void only_an_empty_battery_charges(void **state) {
    (void)state;
    Powered full = {0};
    mini_read(&full.job, (MiniJob){"14", "structure", MINI_BONDS});
    mini_solve(&full);
    uint32_t cruise = powered_phase(&full, "cruise");
    assert_near(full.phases.results[cruise].battery_a[0], 0.0, 1e-6);
    Powered half = {0};
    mini_read(&half.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&half.job, TABLE_source, "BAT", "charge_pct", "50");
    mini_solve(&half);
    assert_true(half.phases.results[cruise].battery_a[0] < -1.0);
    arena_free(&full.job.arena);
    arena_free(&half.job.arena);
}

static void open_switch_leaves_a_box_dead(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_setting, "ground SW", "position", "off");
    mini_solve(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_SOLVE_DEAD, "BOX.PWR ground");
    assert_non_null(finding);
    assert_int_equal(job_count(&powered.job, RULE_SOLVE_DEAD), 1);
    assert_int_equal(powered_port(&powered, "ground", "BOX.PWR")->state, PHASES_DEAD);
    assert_int_equal(powered_port(&powered, "cruise", "BOX.PWR")->state, PHASES_ON);
    arena_free(&powered.job.arena);
}

/* A coil that gets less than it picks up at does not close its contactor. */
static void weak_coil_does_not_hold(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_switch_part, "con", "pick_up_v", "12.5");
    mini_solve(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_SOLVE_HELD, "MC");
    assert_non_null(finding);
    assert_near(finding->limit, 12.5, 1e-12);
    assert_int_equal(powered_port(&powered, "ground", "BOX.PWR")->state, PHASES_DEAD);
    arena_free(&powered.job.arena);
}

static void box_below_its_minimum(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_load, "box PWR", "volts_min_v", "12.5");
    mini_solve(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_SOLVE_MINIMUM, "BOX.PWR ground");
    assert_non_null(finding);
    assert_near(finding->limit, 12.5, 1e-12);
    assert_int_equal(powered_port(&powered, "ground", "BOX.PWR")->state, PHASES_CUT_OUT);
    assert_int_equal(powered_port(&powered, "cruise", "BOX.PWR")->state, PHASES_ON);
    arena_free(&powered.job.arena);
}

/* 2 A over 0.25 ohm is within 0.5 V; over a breaker of 0.11 ohm it is not. */
static void drop_over_the_limit(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_device_rating, "cb 5", "r_mohm", "110");
    mini_solve(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_SOLVE_DROP, "BOX.PWR cruise");
    assert_non_null(finding);
    double box_a = powered_port(&powered, "cruise", "BOX.PWR")->amps_a;
    assert_near(finding->value, box_a * 0.31, 1e-4);
    arena_free(&powered.job.arena);
}

static void device_over_its_rating(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_protection, "CB", "rating_a", "1.5");
    mini_solve(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_SOLVE_OVERLOAD, "CB");
    assert_non_null(finding);
    assert_near(finding->limit, 1.5, 1e-12);
    assert_int_equal(job_count(&powered.job, RULE_SOLVE_OVERLOAD), 1);
    arena_free(&powered.job.arena);
}

/* An alternator whose field breaker is open gives nothing; the battery carries the phase. */
static void alternator_without_field(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_add(&powered.job, TABLE_setting, "phase,item,position\ncruise,CF,open\n");
    mini_solve(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_SOLVE_FIELD, "ALT");
    assert_non_null(finding);
    uint32_t cruise = powered_phase(&powered, "cruise");
    assert_near(powered.phases.results[cruise].alternator_a[0], 0.0, 1e-12);
    assert_near(powered_port(&powered, "cruise", "BOX.PWR")->volts_v,
                powered_port(&powered, "ground", "BOX.PWR")->volts_v, 1e-9);
    arena_free(&powered.job.arena);
}

/* A case that no bond row joins to anything is reported once, and its current has no way. */
static void case_without_bond(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", "GB,structure,0\n"});
    mini_solve(&powered);
    assert_int_equal(job_count(&powered.job, RULE_SOLVE_CASE), 1);
    assert_non_null(job_finding(&powered.job, RULE_SOLVE_CASE, "ALT"));
    arena_free(&powered.job.arena);
}

static void bond_to_nothing(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS "NOBODY,structure,1\n"});
    mini_solve(&powered);
    assert_int_equal(job_count(&powered.job, RULE_SOLVE_BOND), 1);
    arena_free(&powered.job.arena);
}

/* A source that is neither battery nor alternator of the library. */
static void source_of_no_kind(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_add(&powered.job, TABLE_source, "unit,plus,minus\nBOX,PWR,GND\n");
    mini_solve(&powered);
    assert_non_null(job_finding(&powered.job, RULE_SOLVE_SOURCE, "BOX"));
    arena_free(&powered.job.arena);
}

/* A motor between the two legs of a reversing switch: its voltage has the same size either way,
 * and none in the middle. */
static void reversing_motor(void **state) {
    (void)state;
    double volts_v[2];
    static const char *const POSITIONS[] = {"up", "down"};
    for (int turn = 0; turn < 2; turn++) {
        Powered powered = {0};
        mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
        job_add(&powered.job, TABLE_unit, "tag,part,node,stub_mm,module\nFM,motor,N1,0,M\n");
        job_add(&powered.job, TABLE_protection,
                "tag,part,rating_a,node,stub_mm,bolted_on\nCM,cb,5,N2,0,MAIN\n");
        job_add(&powered.job, TABLE_switchgear, "tag,part,node,stub_mm,rest\nSF,rev,N1,0,off\n");
        job_add(&powered.job, TABLE_feed, "feed,onto,out_of,through\nFM,FM.MOT,MAIN,CM SF\n");
        job_add(&powered.job, TABLE_ground, "ground,out_of,onto\nSF_GND,SF.N,GB.t4\n");
        job_add(&powered.job, TABLE_setting,
                arena_format(&powered.job.arena, "phase,item,position\nground,SF,%s\n",
                             POSITIONS[turn]));
        job_add(&powered.job, TABLE_mode, "phase,port,amps_a\nground,FM.MOT,2\n");
        mini_solve(&powered);
        const PhasesPort *port = powered_port(&powered, "ground", "FM.MOT");
        assert_int_equal(port->state, PHASES_ON);
        assert_true(port->amps_a > 1.0);
        volts_v[turn] = port->volts_v;
        assert_int_equal(powered_port(&powered, "cruise", "FM.MOT")->state, PHASES_OFF);
        assert_near(powered_port(&powered, "cruise", "FM.MOT")->volts_v, 0.0, 1e-9);
        arena_free(&powered.job.arena);
    }
    assert_near(volts_v[0], volts_v[1], 1e-9);
    assert_true(volts_v[0] > 10.0);
}

/* Ground point 6 mohm from the source's: over the handbook's 5. The two bonds are in series. */
static void ground_return_too_long(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", "ALT,structure,2\nGB,structure,4\n"});
    mini_solve(&powered);
    const Finding *finding = job_finding(&powered.job, RULE_SOLVE_GROUND_RETURN, "GB");
    assert_non_null(finding);
    assert_near(finding->value, 6.0, 1e-6);
    assert_string_equal(finding->rows, "ALT");
    arena_free(&powered.job.arena);
}

/* Two ground points with a cable of 100 mohm between them, each with a bond of 8 mohm: the
 * alternator's case is 1 mohm from the structure, the battery is grounded at the first. */
static void ground_return_within_an_island(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job,
              (MiniJob){"14", "structure", "ALT,structure,1\nGB,structure,8\nGC,structure,8\n"});
    job_add(&powered.job, TABLE_ground_point, "point,node,stub_mm,tabs,kind\nGC,N1,0,9,block\n");
    job_add(&powered.job, TABLE_ground, "ground,out_of,onto\nGG,GC.t1,GB.t8\n");
    job_write(&powered.job, TABLE_ground, "BOX_GND", "onto", "GC.t2");
    mini_solve(&powered);
    Arena *arena = &powered.job.arena;
    GroundReturn *rows = NULL;
    uint32_t count =
        ground_return_list(arena, &powered.job.model, &powered.wiring, &powered.built, &rows);
    assert_int_equal(count, 2); /* GB has the switch and the coil, GC the box */
    double to_structure_ohm = parallel(0.008, 0.108);
    double to_battery_ohm = parallel(0.1, 0.016);
    for (uint32_t i = 0; i < count; i++) {
        const char *tag = powered.job.model.owners[rows[i].point].tag;
        if (strcmp(tag, "GC") == 0) {
            /* The battery is grounded at GB: the way round over the cable or the structure. */
            assert_near(rows[i].ohm, to_battery_ohm, 1e-9);
            assert_string_equal(powered.job.set.source.rows[rows[i].source].unit, "BAT");
        } else {
            assert_near(rows[i].ohm, to_structure_ohm + 0.001, 1e-9);
            assert_string_equal(powered.job.set.source.rows[rows[i].source].unit, "ALT");
        }
    }
    arena_free(arena);
}

static void rows_of_results(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    mini_solve(&powered);
    Arena *arena = &powered.job.arena;
    TableSet rows = {0};
    loads_rows(arena, &powered.job.model, &powered.loads, &rows);
    phases_rows(arena, &powered.job.model, &powered.supply, &powered.built, &powered.phases, &rows);
    assert_int_equal(rows.supply_margin.count, 2);
    assert_int_equal(rows.port_voltage.count, 4);   /* two ports, two phases */
    assert_int_equal(rows.device_current.count, 8); /* CB CF MC SW */
    for (size_t i = 0; i < rows.port_voltage.count; i++) {
        const PortVoltageRow *row = &rows.port_voltage.rows[i];
        const PhasesPort *port = powered_port(&powered, row->phase, row->port);
        assert_near(row->volts_v, port->volts_v, 1e-12);
        if (strcmp(row->phase, "ground") == 0 && strcmp(row->port, "ALT.FLD") == 0) {
            assert_string_equal(row->state, "off");
        }
    }
    for (size_t i = 0; i < rows.supply_margin.count; i++) {
        const SupplyMarginRow *row = &rows.supply_margin.rows[i];
        assert_near(row->solved_a, powered.phases.delivered_a[powered_phase(&powered, row->phase)],
                    1e-12);
        assert_string_equal(row->lowest_at, "BOX.PWR");
    }
    Buffer why = {.arena = arena};
    phases_why_port(&why, &powered.job.model, &powered.wiring, &powered.supply, &powered.built,
                    &powered.phases, powered_phase(&powered, "cruise"),
                    powered_load_of(&powered, "BOX.PWR"));
    assert_non_null(strstr(why.bytes, "CB.L to BOX.PWR"));
    assert_non_null(strstr(why.bytes, "BOX.GND to GB.t2"));
    assert_non_null(strstr(why.bytes, "50.00 mohm"));
    arena_free(arena);
}

/* Cranking: V = Voc - I x sum of R. The starter hangs on stud B through its own contactor. */
static void crank_dip(void **state) {
    (void)state;
    Powered powered = {0};
    mini_read(&powered.job, (MiniJob){"14", "structure", MINI_BONDS});
    job_write(&powered.job, TABLE_job, "mini", "starter", "ST.PWR");
    job_write(&powered.job, TABLE_job, "mini", "crank_a", "10");
    job_write(&powered.job, TABLE_job, "mini", "crank_mohm", "30");
    job_write(&powered.job, TABLE_phase, "ground", "engine", "cranking");
    job_add(&powered.job, TABLE_unit, "tag,part,node,stub_mm,module\nST,cased,N1,0,M\n");
    job_add(&powered.job, TABLE_bond, "item,onto,mohm\nST,structure,0\n");
    job_add(&powered.job, TABLE_switchgear,
            "tag,part,node,stub_mm,rest,coil_plus_on\n"
            "SC,con,N2,0,open,BATT\nSS,tog,N1,0,off,\n");
    job_add(&powered.job, TABLE_feed, "feed,onto,out_of,through\nST,ST.PWR,BATT,SC\n");
    job_add(&powered.job, TABLE_ground, "ground,out_of,onto\nSS_GND,SS.2,GB.t4\n");
    job_add(&powered.job, TABLE_link, "link,ends,class\nSC_COIL,SC.C- SS.1,D\n");
    job_write(&powered.job, TABLE_load, "box PWR", "volts_min_v", "9.5");
    job_write(&powered.job, TABLE_load, "cased PWR", "volts_min_v", "0");
    job_write(&powered.job, TABLE_load, "cased PWR", "law", "constant current");
    mini_solve(&powered);
    const PhasesCrank *crank = &powered.phases.crank;
    assert_true(crank->done);
    assert_true(crank->contactor_holds);
    /* Battery 20, its lead 100, B to the contactor lies at the node, on to the starter 100; back
     * by two bolted bonds and the battery's other lead 100; 30 for contactor and joints. */
    assert_near(crank->plain_ohm, 0.02 + 0.1 + 0.1 + 0.1 + 0.03 + 2.0 * BUILD_BOLTED_OHM, 1e-9);
    assert_near(crank->plain_v, 12.0 - 10.0 * crank->plain_ohm, 1e-9);
    /* Ten amps and the other loads over 0.22 ohm: the box is below 9.5 V and starts again. */
    assert_int_equal(crank->lost_count, 1);
    assert_non_null(job_finding(&powered.job, RULE_SOLVE_CRANK, "mini"));
    assert_true(crank->starter_v < 9.0 && crank->starter_v > 7.0);
    arena_free(&powered.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(structure_return_14),
        cmocka_unit_test(structure_return_28),
        cmocka_unit_test(wired_return_14),
        cmocka_unit_test(wired_return_28),
        cmocka_unit_test(alternator_at_its_limit),
        cmocka_unit_test(only_an_empty_battery_charges),
        cmocka_unit_test(open_switch_leaves_a_box_dead),
        cmocka_unit_test(weak_coil_does_not_hold),
        cmocka_unit_test(box_below_its_minimum),
        cmocka_unit_test(drop_over_the_limit),
        cmocka_unit_test(device_over_its_rating),
        cmocka_unit_test(alternator_without_field),
        cmocka_unit_test(case_without_bond),
        cmocka_unit_test(bond_to_nothing),
        cmocka_unit_test(source_of_no_kind),
        cmocka_unit_test(reversing_motor),
        cmocka_unit_test(ground_return_too_long),
        cmocka_unit_test(ground_return_within_an_island),
        cmocka_unit_test(rows_of_results),
        cmocka_unit_test(crank_dip),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
