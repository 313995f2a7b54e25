/* Sizing of a job small enough for paper: a heater behind one breaker, 5 m away, in one zone. Then
 * the example aircraft spoilt one thing at a time: every rule of the size pass fires on the fault
 * it is for and is quiet without it. */
#include "support/sized.h"

#include "rating/ampacity.h"

/* --- the small job ------------------------------------------------------------------------------
 */

/* Bus and breaker at P, heater and ground block at Q, 5 m apart; 0.1 m of stub at every end but the
 * block's, which has none. */
static void small_job(Sized *sized, const char *nominal_v, const char *rating_a) {
    Job *job = &sized->job;
    job_start(job);
    job_read_library(job);
    job_add(job, TABLE_job,
            arena_format(&job->arena,
                         "job,title,nominal_v,return_style\nsmall,one heater,%s,"
                         "structure\n",
                         nominal_v));
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "CAB,cabin,55,-20,3660,dry\n");
    job_add(job, TABLE_module, "module,name\nFUS,fuselage\n");
    job_add(job, TABLE_node,
            "node,x_mm,y_mm,z_mm,zone,module\nP,0,0,0,CAB,FUS\nQ,5000,0,0,CAB,FUS\n");
    job_add(job, TABLE_segment, "segment,node_a,node_b,zone\nP-Q,P,Q,CAB\n");
    job_add(job, TABLE_unit,
            "tag,part,node,stub_mm,module\n"
            "BAT,battery-lithium-8,P,100,FUS\nHTR,aoa-heater,Q,100,FUS\n");
    job_add(job, TABLE_source, "unit,plus,minus\nBAT,POS,NEG\n");
    job_add(job, TABLE_bus, "bus,stud,node,stub_mm\nMAIN,BB.T,P,50\n");
    job_add(job, TABLE_protection,
            arena_format(&job->arena,
                         "tag,part,rating_a,node,stub_mm,bolted_on\nCB,breaker,%s,P,100,MAIN\n",
                         rating_a));
    job_add(job, TABLE_ground_point, "point,node,stub_mm,tabs,kind\nGND,Q,0,8,block\n");
    job_add(job, TABLE_feed,
            "feed,onto,out_of,through,class,awg\n"
            "BAT_POS,MAIN,BAT.POS,,E,8\nHTR_PWR,HTR.PWR,MAIN,CB,,\n");
    job_add(job, TABLE_ground, "ground,out_of,onto\nHTR_GND,HTR.GND,GND.t01\n");
    job_add(job, TABLE_phase, "phase,rank,name,engine\ncruise,1,cruise,cruise\n");
    job_add(job, TABLE_mode, "phase,port,amps_a\ncruise,HTR.PWR,2.8\n");
    job_check(job);
    job_plain_lengths(job);
}

/* By hand: feed 5.2 m (5 m and two stubs), return 0.1 m, 2.8 A, no bundle but the wire itself.
 * AWG 18 (20.4396 ohm/km): 2.8 x 0.0204396 x 5.3 = 0.303 V of 0.5 V. Hot: rise 95 degC; free air
 * 2.77 x 95^0.474 = 23.98 A, at 12,008 ft x 0.9436 = 22.63 A; T2 = 55 + 95 root(2.8/22.63) =
 * 88.4 degC, copper x (234.5 + 88.4)/254.5 = 1.2688: 0.385 V. Breaker 5 A 55 mohm: 0.154 V. Over
 * 0.5 V, so one gauge more. */
static void a_heater_worked_out_by_hand(void **state) {
    (void)state;
    Sized sized = {0};
    small_job(&sized, "14", "5");
    sized_run(&sized);
    const FeederRow *row = sized_feeder(&sized, "HTR.PWR");
    assert_near(row->feed_mm, 5200.0, 1e-6);
    assert_near(row->loop_mm, 5300.0, 1e-6);
    const GaugeChoice *choice = sized_choice(&sized, "HTR_PWR");
    assert_int_equal(choice->smallest_awg[SIZE_PLAIN_DROP], 20);
    assert_int_equal(choice->smallest_awg[SIZE_PROTECTION], 22);
    assert_int_equal(choice->smallest_awg[SIZE_CLASS], 18);
    assert_int_equal(choice->smallest_awg[SIZE_MECHANICAL], 22);
    assert_int_equal(choice->governing, SIZE_HOT_DROP);
    assert_int_equal(choice->awg, 16);
    assert_int_equal(choice->runner_up, SIZE_CLASS);

    const SizeDetail *detail = sized.sizing.detail;
    ConductorId wire = sized_wire(&sized, "HTR_PWR");
    CableId cable = sized.wiring.conductors[wire].cable;
    uint32_t awg18 = limits_place(&detail->limits, 18);
    assert_near(limits_plain_ohm(&detail->limits, cable, awg18), 5.2 * 0.0204396, 1e-9);
    assert_near(limits_allowed_a(&detail->limits, cable, awg18), 22.63, 0.02);
    assert_near(limits_conductor_degc(&detail->limits, cable, awg18, 2.8), 88.4, 0.1);
    assert_near(limits_hot_ohm(&detail->limits, cable, awg18, 2.8), 5.2 * 0.0204396 * 1.2688, 1e-4);
    /* With AWG 18 the whole way comes to what was refused: copper, breaker, contacts. */
    assert_true(choice->value[SIZE_HOT_DROP] > 0.5 && choice->value[SIZE_HOT_DROP] < 0.6);
    assert_near(choice->limit[SIZE_HOT_DROP], 0.5, 1e-12);
    assert_int_equal(sized.job.findings.count, 0);
    arena_free(&sized.job.arena);
}

/* A blank rating: 1.25 x 2.8 = 3.5 A, 0.8 x 4 = 3.2 A; the next breaker made is 5 A. */
static void a_blank_rating_is_chosen(void **state) {
    (void)state;
    Sized sized = {0};
    small_job(&sized, "14", "");
    sized_run(&sized);
    assert_near(sized.sizing.rating_a[0], 5.0, 1e-12);
    assert_near(sized_feeder(&sized, "HTR.PWR")->rating_a, 5.0, 1e-12);
    assert_int_equal(sized.job.findings.count, 0);
    arena_free(&sized.job.arena);
}

/* At 28 V the allowed drop is 1 V: the class's gauge will do. */
static void a_28_volt_system_may_drop_twice_as_much(void **state) {
    (void)state;
    Sized sized = {0};
    small_job(&sized, "28", "5");
    sized_run(&sized);
    assert_near(sized_feeder(&sized, "HTR.PWR")->limit_v, 1.0, 1e-12);
    assert_int_equal(sized_choice(&sized, "HTR_PWR")->awg, 18);
    assert_int_equal(sized_choice(&sized, "HTR_PWR")->governing, SIZE_CLASS);
    assert_int_equal(sized.job.findings.count, 0);
    arena_free(&sized.job.arena);
}

static void an_unknown_voltage_is_not_proved(void **state) {
    (void)state;
    Sized sized = {0};
    small_job(&sized, "24", "5");
    sized_run(&sized);
    assert_int_equal(job_count(&sized.job, RULE_SIZE_UNPROVED), 1);
    arena_free(&sized.job.arena);
    sized = (Sized){0};
    small_job(&sized, "14", "5");
    sized.job.set.protector.count = 0;
    sized_run(&sized);
    assert_non_null(job_finding(&sized.job, RULE_SIZE_UNPROVED, ""));
    arena_free(&sized.job.arena);
}

static void the_reasons_are_told(void **state) {
    (void)state;
    Sized sized = {0};
    small_job(&sized, "14", "5");
    sized_run(&sized);
    Buffer why = {.arena = &sized.job.arena};
    size_why(&why, &sized.sizing, sized_wire(&sized, "HTR_PWR"));
    static const char *const SAID[] = {
        "is AWG 16\n",
        "design current 2.8 A, behind CB (5 A)",
        "on the way of HTR.PWR: 2.8 A, way and back 5300 mm",
        "governing limit, hot drop: AWG 16; with AWG 18 ",
        "par. 11-66d(6)",
        "next behind it, class: AWG 18",
        "zone CAB, 55 degC, 3660 m: AWG ",
        "AC 43.13-1B Table 11-3",
    };
    for (size_t i = 0; i < sizeof SAID / sizeof *SAID; i++) {
        if (strstr(why.bytes, SAID[i]) == NULL) {
            fail_msg("\"%s\" is not in:\n%s", SAID[i], why.bytes);
        }
    }
    arena_free(&sized.job.arena);
}

/* --- currents -----------------------------------------------------------------------------------
 */

static double current_a(const Sized *sized, const char *net) {
    return sized->sizing.design_a[sized_wire(sized, net)];
}

static void currents_follow_the_circuits(void **state) {
    (void)state;
    Sized sized = {0};
    job_read_example(&sized.job);
    sized_run(&sized);
    const Wiring *wiring = &sized.wiring;
    /* Two loads on one feed share its first cable; each has a ground of its own. */
    const Net *chain = &wiring->nets[name_map_find(&wiring->net_by_name, "WPA_PWR")];
    assert_near(sized.sizing.design_a[wiring->cables[chain->cable_first].conductor_first], 0.55,
                1e-12);
    assert_near(sized.sizing.design_a[wiring->cables[chain->cable_first + 1].conductor_first], 0.3,
                1e-12);
    assert_near(current_a(&sized, "WPA_GND"), 0.25, 1e-12);
    /* What a box gives onward comes through its own feed, not through its ground. */
    assert_near(current_a(&sized, "AD1_PWR"), 0.4, 1e-12);
    assert_near(current_a(&sized, "AD1_GND"), 0.3, 1e-12);
    assert_near(current_a(&sized, "MAG_PWR"), 0.1, 1e-12);
    /* A second supply that stands by adds nothing to the ground both use. */
    assert_near(current_a(&sized, "AUD_GND"), 0.6, 1e-12);
    /* Both legs of a reversing motor, and the ground of its switch. */
    ConductorId leg = sized_wire(&sized, "FLAP.2");
    assert_near(sized.sizing.design_a[leg], 7.0, 1e-12);
    assert_near(sized.sizing.design_a[leg + 1], 7.0, 1e-12);
    assert_near(current_a(&sized, "FLAP_SGND"), 7.0, 1e-12);
    /* An injector feed returns by the driver pair of its own controller, half in each core. */
    ConductorId pair = sized_between(&sized, "ECA.INJ", "INJ.LOW");
    assert_near(sized.sizing.design_a[pair], 0.9, 1e-12);
    assert_near(sized.sizing.design_a[pair + 1], 0.9, 1e-12);
    /* Coils fed inside their contactors return through their switches and one chain. */
    ConductorId chain_end = sized_between(&sized, "SW_CAM.2", "GBC.t26");
    assert_near(sized.sizing.design_a[chain_end], 0.7 + 0.7 + 0.15, 1e-12);
    ConductorId chain_start = sized_between(&sized, "SW_MAIN.2", "SW_BATB.2");
    assert_near(sized.sizing.design_a[chain_start], 0.7, 1e-12);
    /* The starter: battery lead, both legs, return, both straps; nothing else. */
    assert_near(current_a(&sized, "BTM_POS"), 190.0, 1e-12);
    assert_near(current_a(&sized, "ENG_GND2"), 190.0, 1e-12);
    assert_near(current_a(&sized, "GND_LINKL"), 60.0, 1e-12);
    assert_near(current_a(&sized, "PDM_I1"), 0.0, 1e-12);
    arena_free(&sized.job.arena);
}

static void every_wire_knows_its_device(void **state) {
    (void)state;
    static const struct {
        const char *from;
        const char *to;
        const char *device;
    } EXPECTED[] = {
        {"CB_PD1.L", "PD1.PWR", "CB_PD1"},
        {"PD1.GND", "GBC.t01", "CB_PD1"},
        {"AD1.MAGP", "MAG.PWR", "CB_AD1"},
        {"SW_ENA.2", "BB_ENA.T", "F_ENA"},
        {"ALM.BOUT", "LM_ALM.I", "LM_ALM"},
        {"LM_MAIN.O", "BB_MAIN.T", "LM_MAIN"},
        {"SW_FLAP.M", "FLM.MOT", "CB_FLAP"},
        {"BTM.POS", "KM.B", ""},
        {"KS.O", "STR.BPOS", ""},
        {"KM.M2", "SHT.IN", ""},
    };
    Sized sized = {0};
    job_read_example(&sized.job);
    sized_run(&sized);
    for (size_t i = 0; i < sizeof EXPECTED / sizeof *EXPECTED; i++) {
        OwnerId device =
            sized.sizing.device[sized_between(&sized, EXPECTED[i].from, EXPECTED[i].to)];
        assert_string_equal(device == ID_NONE ? "" : sized.job.model.owners[device].tag,
                            EXPECTED[i].device);
    }
    /* The column of the conductor table is filled for the rows that are there. */
    TableSet rows = {0};
    ConductorRow *row = table_append(&rows, &sized.job.arena, TABLE_conductor);
    ConductorId wire = sized_between(&sized, "CB_PD1.L", "PD1.PWR");
    row->wire = sized.wiring.conductors[wire].key;
    size_rows(&sized.job.arena, &sized.sizing, &rows);
    assert_string_equal(rows.conductor.rows[0].device, "CB_PD1");
    arena_free(&sized.job.arena);
}

/* --- rules --------------------------------------------------------------------------------------
 */

/* The example with one cell changed; the finding of `rule` whose message holds `word`. */
static const Finding *spoilt(Sized *sized, TableId table, const char *key, const char *column,
                             const char *text, RuleId rule, const char *word) {
    *sized = (Sized){0};
    job_read_example(&sized->job);
    if (key != NULL) {
        job_write(&sized->job, table, key, column, text);
    }
    sized_run(sized);
    for (size_t i = 0; i < sized->job.findings.count; i++) {
        const Finding *finding = &sized->job.findings.rows[i];
        if (finding->rule == rule && strstr(finding->message, word) != NULL) {
            return finding;
        }
    }
    return NULL;
}

static void given_gauges_are_checked(void **state) {
    (void)state;
    Sized sized;
    assert_null(spoilt(&sized, TABLE_feed, "PD2_PWR", "awg", "20", RULE_SIZE_GIVEN, "PD2"));
    assert_int_equal(sized_choice(&sized, "PD2_PWR")->awg, 20);
    assert_int_equal(sized_choice(&sized, "PD2_PWR")->governing, SIZE_GIVEN);
    arena_free(&sized.job.arena);
    const Finding *finding =
        spoilt(&sized, TABLE_feed, "PIT_PWR", "awg", "18", RULE_SIZE_GIVEN, "PIT_PWR");
    assert_non_null(finding);
    assert_string_equal(finding->unit, "V");
    assert_true(finding->value > finding->limit && finding->line > 1);
    arena_free(&sized.job.arena);
    /* Too thin for its current: 33 A and more would want the gauge of a lead. */
    finding = spoilt(&sized, TABLE_feed, "HYP", "awg", "12", RULE_SIZE_GIVEN, "carries 38 A");
    assert_non_null(finding);
    arena_free(&sized.job.arena);
    finding = spoilt(&sized, TABLE_feed, "PD2_PWR", "awg", "21", RULE_SIZE_GAUGE, "AWG 21");
    assert_non_null(finding);
    assert_non_null(strstr(finding->hint, "22"));
    arena_free(&sized.job.arena);
    finding = spoilt(&sized, TABLE_link, "CAN_AV", "awg", "22", RULE_SIZE_GAUGE, "can-2x24");
    assert_non_null(finding);
    arena_free(&sized.job.arena);
}

static void overrides_are_applied_or_refused(void **state) {
    (void)state;
    Sized sized = {0};
    job_read_example(&sized.job);
    job_plain_lengths(&sized.job);
    sized_override(&sized, "PD1_GND", "18");     /* thicker than needed: a note */
    sized_override(&sized, "SGL_PWR", "24 AWG"); /* thinner than class and shop allow */
    sized_override(&sized, "PD1_GMD", "20");
    sized_override(&sized, "PD2_GND", "wide");
    sized_override(&sized, "CAN_AV", "22");
    sized_run(&sized);
    assert_int_equal(sized.sizing.awg[sized_wire(&sized, "PD1_GND")], 18);
    assert_int_equal(sized.sizing.awg[sized_wire(&sized, "SGL_PWR")], 24);
    uint32_t notes = 0;
    uint32_t errors = 0;
    for (size_t i = 0; i < sized.job.findings.count; i++) {
        const Finding *finding = &sized.job.findings.rows[i];
        if (finding->rule == RULE_SIZE_OVERRIDE) {
            notes += finding->severity == SEVERITY_NOTE;
            errors += finding->severity == SEVERITY_ERROR;
        }
    }
    assert_int_equal(notes, 1);
    assert_int_equal(errors, 2); /* class, shop */
    assert_int_equal(job_count(&sized.job, RULE_SIZE_OVERRIDE_ROW), 3);
    const Finding *finding = job_finding(&sized.job, RULE_SIZE_OVERRIDE_ROW, "gauge PD1_GMD awg");
    assert_non_null(finding);
    assert_string_equal(finding->hint, "did you mean PD1_GND?");
    arena_free(&sized.job.arena);
}

/* A row for one wire stands before one for its circuit, whatever their order. */
static void a_wire_stands_before_its_circuit(void **state) {
    (void)state;
    Sized sized = {0};
    job_read_example(&sized.job);
    sized_run(&sized);
    const Net *net = &sized.wiring.nets[name_map_find(&sized.wiring.net_by_name, "WPA_PWR")];
    ConductorId first = sized.wiring.cables[net->cable_first].conductor_first;
    ConductorId second = sized.wiring.cables[net->cable_first + 1].conductor_first;
    const char *key = sized.wiring.conductors[first].key;
    sized_override(&sized, "WPA_PWR", "18");
    sized_override(&sized, key, "16");
    sized_run(&sized);
    assert_int_equal(sized.sizing.awg[first], 16);
    assert_int_equal(sized.sizing.awg[second], 18);
    arena_free(&sized.job.arena);
}

static void devices_are_checked(void **state) {
    (void)state;
    Sized sized;
    assert_null(spoilt(&sized, TABLE_zone, NULL, NULL, NULL, RULE_SIZE_DEVICE_SMALL, ""));
    assert_null(job_finding(&sized.job, RULE_SIZE_DEVICE_LARGE, NULL));
    assert_null(job_finding(&sized.job, RULE_SIZE_DEVICE_RATING, NULL));
    arena_free(&sized.job.arena);
    /* 1.25 x 1.9 = 2.375 A continuous; 0.8 x 2.4 = 1.92 A peak. */
    const Finding *finding = spoilt(&sized, TABLE_protection, "CB_PD1", "rating_a", "2",
                                    RULE_SIZE_DEVICE_SMALL, "CB_PD1");
    assert_non_null(finding);
    assert_near(finding->limit, 2.375, 1e-9);
    assert_string_equal(finding->hint, "3 A would do, with wire to match");
    arena_free(&sized.job.arena);
    /* 0.8 x 4.8 = 3.84 A peak counts for breakers. */
    finding = spoilt(&sized, TABLE_protection, "CB_COM1", "rating_a", "3", RULE_SIZE_DEVICE_SMALL,
                     "peak");
    assert_non_null(finding);
    assert_near(finding->limit, 3.84, 1e-9);
    arena_free(&sized.job.arena);
    /* 1.1 x 38 = 41.8 A for a limiter. */
    finding = spoilt(&sized, TABLE_protection, "LM_HYP", "rating_a", "40", RULE_SIZE_DEVICE_SMALL,
                     "LM_HYP");
    assert_non_null(finding);
    assert_near(finding->limit, 41.8, 1e-9);
    arena_free(&sized.job.arena);
    finding = spoilt(&sized, TABLE_protection, "CB_PD1", "rating_a", "4", RULE_SIZE_DEVICE_RATING,
                     "CB_PD1");
    assert_non_null(finding);
    assert_string_equal(finding->hint, "the next larger one is 5 A");
    arena_free(&sized.job.arena);
    /* A device that no gauge of the class can stand behind: signal wires end at AWG 16. */
    finding = spoilt(&sized, TABLE_protection, "CB_HYC", "rating_a", "20", RULE_SIZE_DEVICE_LARGE,
                     "CB_HYC");
    assert_non_null(finding);
    assert_near(finding->limit, 15.0, 1e-9);
    arena_free(&sized.job.arena);
    /* More than any breaker of that kind. */
    sized = (Sized){0};
    job_read_example(&sized.job);
    job_write(&sized.job, TABLE_load, "wheel-pump PWR", "design_a", "300");
    job_write(&sized.job, TABLE_protection, "LM_HYP", "rating_a", "");
    sized_run(&sized);
    assert_int_equal(job_count(&sized.job, RULE_SIZE_DEVICE_NONE), 1);
    assert_true(job_count(&sized.job, RULE_SIZE_CURRENT) > 0);
    arena_free(&sized.job.arena);
}

static void contacts_are_checked(void **state) {
    (void)state;
    Sized sized;
    const Finding *finding =
        spoilt(&sized, TABLE_zone, NULL, NULL, NULL, RULE_SIZE_CONTACT_CURRENT, "GBC.t19");
    assert_non_null(finding); /* the pump's ground on a small tab, as issued */
    assert_near(finding->value, 57.0, 1e-9);
    assert_near(finding->limit, 20.0, 1e-9);
    arena_free(&sized.job.arena);
    assert_null(spoilt(&sized, TABLE_ground, "HYP_GND", "onto", "GBC.stud4",
                       RULE_SIZE_CONTACT_CURRENT, "HYP_GND"));
    arena_free(&sized.job.arena);
    finding = spoilt(&sized, TABLE_feed, "PD1_PWR", "awg", "16", RULE_SIZE_CONTACT, "PD1");
    assert_non_null(finding);
    assert_string_equal(finding->unit, "AWG");
    assert_true(finding->value < finding->limit); /* thicker */
    arena_free(&sized.job.arena);
    finding = spoilt(&sized, TABLE_feed, "HYP", "awg", "20", RULE_SIZE_CONTACT, "thinner");
    assert_non_null(finding);
    arena_free(&sized.job.arena);
}

static void switches_are_checked(void **state) {
    (void)state;
    Sized sized;
    assert_null(spoilt(&sized, TABLE_zone, NULL, NULL, NULL, RULE_SIZE_SWITCH, ""));
    arena_free(&sized.job.arena);
    /* A motor of 7 A asks for 2 x 7 A at 14 V. AC 43.13-1B Table 11-4. */
    const Finding *finding = spoilt(&sized, TABLE_switch_part, "lever-reversing-20", "rated_a",
                                    "12", RULE_SIZE_SWITCH, "SW_FLAP");
    assert_non_null(finding);
    assert_near(finding->value, 14.0, 1e-9);
    assert_string_equal(finding->source, "AC 43.13-1B Table 11-4");
    arena_free(&sized.job.arena);
    /* A coil of 0.7 A, 2 x. */
    finding =
        spoilt(&sized, TABLE_switch_part, "toggle-5", "rated_a", "1", RULE_SIZE_SWITCH, "SW_MAIN");
    assert_non_null(finding);
    assert_near(finding->value, 1.4, 1e-9);
    arena_free(&sized.job.arena);
    /* The starter's contactor carries its current as it is. */
    finding = spoilt(&sized, TABLE_switch_part, "contactor-300", "rated_a", "150", RULE_SIZE_SWITCH,
                     "KS");
    assert_non_null(finding);
    assert_near(finding->value, 190.0, 1e-9);
    arena_free(&sized.job.arena);
    assert_null(spoilt(&sized, TABLE_zone, NULL, NULL, NULL, RULE_SIZE_SWITCH_DRY, ""));
    arena_free(&sized.job.arena);
    /* Discretes declared too small for silver: the switches in them are rated 2 A. */
    finding =
        spoilt(&sized, TABLE_interface, "D", "gold_needed", "yes", RULE_SIZE_SWITCH_DRY, "SW_PRB");
    assert_non_null(finding);
    arena_free(&sized.job.arena);
}

static void drops_that_no_gauge_keeps_are_told(void **state) {
    (void)state;
    Sized sized;
    assert_null(spoilt(&sized, TABLE_zone, NULL, NULL, NULL, RULE_SIZE_DROP, ""));
    arena_free(&sized.job.arena);
    /* A breaker of 1 A has 0.7 ohm: at 0.8 A it takes 0.56 V alone. */
    const Finding *finding =
        spoilt(&sized, TABLE_protection, "CB_ECA", "rating_a", "1", RULE_SIZE_DROP, "ECA.PWR");
    assert_non_null(finding);
    assert_string_equal(finding->key, "ECA.PWR");
    assert_non_null(strstr(finding->hint, "devices and switches alone take"));
    arena_free(&sized.job.arena);
}

static void the_starter_is_exempt_and_named(void **state) {
    (void)state;
    Sized sized;
    const Finding *finding =
        spoilt(&sized, TABLE_zone, NULL, NULL, NULL, RULE_SIZE_CRANK, "6 cables");
    assert_non_null(finding);
    assert_int_equal(finding->severity, SEVERITY_NOTE);
    assert_null(job_finding(&sized.job, RULE_SIZE_STARTER, NULL));
    arena_free(&sized.job.arena);
    finding = spoilt(&sized, TABLE_job, "osier", "crank_a", "", RULE_SIZE_STARTER, "STR.BPOS");
    assert_non_null(finding);
    assert_int_equal(job_count(&sized.job, RULE_SIZE_CRANK), 0);
    arena_free(&sized.job.arena);
}

/* A cable's cores can't grow: if they carry too much it is the class that must change. */
static void cores_of_a_cable_are_checked(void **state) {
    (void)state;
    Sized sized;
    assert_null(spoilt(&sized, TABLE_zone, NULL, NULL, NULL, RULE_SIZE_CABLE, ""));
    arena_free(&sized.job.arena);
    sized = (Sized){0};
    job_read_example(&sized.job);
    job_write(&sized.job, TABLE_interface, "N", "cable", "pair-2x22");
    job_write(&sized.job, TABLE_load, "injector-block PWRA", "design_a", "14");
    sized_run(&sized);
    const Finding *finding = job_finding(&sized.job, RULE_SIZE_CABLE, NULL);
    assert_non_null(finding);
    arena_free(&sized.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_heater_worked_out_by_hand),
        cmocka_unit_test(a_blank_rating_is_chosen),
        cmocka_unit_test(a_28_volt_system_may_drop_twice_as_much),
        cmocka_unit_test(an_unknown_voltage_is_not_proved),
        cmocka_unit_test(the_reasons_are_told),
        cmocka_unit_test(currents_follow_the_circuits),
        cmocka_unit_test(every_wire_knows_its_device),
        cmocka_unit_test(given_gauges_are_checked),
        cmocka_unit_test(overrides_are_applied_or_refused),
        cmocka_unit_test(a_wire_stands_before_its_circuit),
        cmocka_unit_test(devices_are_checked),
        cmocka_unit_test(contacts_are_checked),
        cmocka_unit_test(switches_are_checked),
        cmocka_unit_test(drops_that_no_gauge_keeps_are_told),
        cmocka_unit_test(the_starter_is_exempt_and_named),
        cmocka_unit_test(cores_of_a_cable_are_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
