/* Rows become nets, cables and conductors; and every rule of the wire pass fires on the fault it is
 * for. Each case starts from the example aircraft and spoils one thing. */
#include "support/job.h"

#include "wiring/wiring.h"

typedef struct Wired {
    Job job;
    Wiring wiring;
} Wired;

static void wired_derive(Wired *wired) {
    table_set_sort(&wired->job.set);
    job_build(&wired->job);
    assert_true(
        wiring_derive(&wired->job.arena, &wired->job.model, &wired->wiring, &wired->job.findings));
}

static const Net *wired_net(const Wired *wired, const char *name) {
    NetId id = name_map_find(&wired->wiring.net_by_name, name);
    if (id == NAME_NONE) {
        fail_msg("no net %s", name);
    }
    return &wired->wiring.nets[id];
}

static void assert_ends(const Wired *wired, const char *net_name, const char *expected) {
    const Net *net = wired_net(wired, net_name);
    char text[512] = "";
    for (uint32_t i = 0; i < net->end_count; i++) {
        strcat(text, i == 0 ? "" : " ");
        strcat(text, wired->job.model.terminals[wired->wiring.ends[net->end_first + i]].end);
    }
    assert_string_equal(text, expected);
}

static const char *net_class(const Wired *wired, const char *name) {
    return wiring_class(&wired->job.model, wired_net(wired, name)->class_id)->class;
}

/* --- derivation ------------------------------------------------------------------------------- */

static void feeds_become_legs(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    wired_derive(&wired);
    /* Bolted steps need no wire; each other leg has the class of what it arrives at. */
    assert_ends(&wired, "PD1_PWR", "CB_PD1.L PD1.PWR");
    assert_ends(&wired, "HYC", "CB_HYC.L SW_WHEEL.F");
    assert_ends(&wired, "HYC.2", "SW_WHEEL.A HYP.PS1");
    assert_ends(&wired, "HYC.3", "HYP.PS2 KH.C+");
    assert_string_equal(net_class(&wired, "HYC"), "P");
    assert_string_equal(net_class(&wired, "HYC.2"), "D");
    assert_string_equal(net_class(&wired, "HYC.3"), "D");
    /* A leg that arrives at a pair is a pair. */
    assert_string_equal(net_class(&wired, "FLAP.2"), "B");
    assert_int_equal(wired.wiring.cables[wired_net(&wired, "FLAP.2")->cable_first].conductor_count,
                     2);
    /* Several ports hang on one feed in a chain. */
    assert_ends(&wired, "WPA_PWR", "CB_WPA.L WPA.PWR WLP.PWR");
    assert_int_equal(wired_net(&wired, "WPA_PWR")->join, JOIN_CHAIN);
    arena_free(&wired.job.arena);
}

static void groups_are_crossed(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    wired_derive(&wired);
    assert_ends(&wired, "PD1_NVC.a", "PD1.R1T NVC.R1R");
    assert_ends(&wired, "PD1_NVC.b", "NVC.R1T PD1.R1R");
    assert_ends(&wired, "TPX_PD2", "TPX.R2T PD2.R2R");
    arena_free(&wired.job.arena);
}

static void talkers_come_first(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    job_write(&wired.job, TABLE_link, "PTT_L", "ends", "AUD.PT1 GRL.PTT");
    wired_derive(&wired);
    assert_ends(&wired, "PTT_L", "GRL.PTT AUD.PT1");
    arena_free(&wired.job.arena);
}

static void hubs_join_each_to_the_first(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    wired_derive(&wired);
    const Net *net = wired_net(&wired, "TRIM_UP");
    assert_int_equal(net->cable_count, 2);
    TerminalId first = model_terminal(&wired.job.model, "TRC.UP");
    assert_int_equal(wired.wiring.cables[net->cable_first].from, first);
    assert_int_equal(wired.wiring.cables[net->cable_first + 1].from, first);
    arena_free(&wired.job.arena);
}

static void shields_are_grounded_where_the_class_says(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    job_add(&wired.job, TABLE_shield,
            "circuit,port,grounded,why\nCRANK_A,CSA.SIG,yes,manual\nCRANK_A,ECA.CRK,no,manual\n");
    wired_derive(&wired);
    const Cable *cables = wired.wiring.cables;
    const Cable *audio = &cables[wired_net(&wired, "NVC_AUDIO")->cable_first];
    assert_false(audio->shield_from); /* at the audio panel only */
    assert_true(audio->shield_to);
    const Cable *mic = &cables[wired_net(&wired, "NVC_MIC")->cable_first];
    assert_true(mic->shield_from); /* the audio panel talks here */
    assert_false(mic->shield_to);
    const Cable *data = &cables[wired_net(&wired, "NVC_429")->cable_first];
    assert_true(data->shield_from && data->shield_to);
    const Cable *crank = &cables[wired_net(&wired, "CRANK_A")->cable_first];
    assert_true(crank->shield_from);
    assert_false(crank->shield_to);
    assert_int_equal(job_count(&wired.job, RULE_WIRE_SHIELD), 0);
    arena_free(&wired.job.arena);
}

static void example_has_the_faults_of_its_first_issue(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    wired_derive(&wired);
    const Finding *finding = job_finding(&wired.job, RULE_WIRE_TALKERS, "SGL_LINK1");
    assert_non_null(finding);
    assert_non_null(strstr(finding->message, "transmit to transmit: SCM.TX and SGL.TX"));
    assert_non_null(job_finding(&wired.job, RULE_WIRE_TALKERS, "SGL_LINK2"));
    /* Nothing else but notes. */
    assert_int_equal(findings_open(&wired.job.findings, SEVERITY_ERROR), 2);
    assert_int_equal(findings_open(&wired.job.findings, SEVERITY_WARNING), 0);
    arena_free(&wired.job.arena);
}

/* --- one fault, one finding ------------------------------------------------------------------- */

typedef struct Fault {
    RuleId rule;
    TableId table; /* row that is changed */
    const char *key;
    const char *column;
    const char *text;
    const char *said_on; /* key of the finding's row */
    const char *says;    /* part of its message */
} Fault;

static const Fault FAULTS[] = {
    {RULE_WIRE_ONE_END, TABLE_link, "CAN_ENG", "ends", "ECA.ECAN", "CAN_ENG", "has one end"},
    {RULE_WIRE_ONE_END, TABLE_link, "SPARE_PD1", "spare", "no", "SPARE_PD1", "PD1.AUX"},
    {RULE_WIRE_SPARE, TABLE_link, "DOOR", "spare", "yes", "DOOR", "declared spare"},
    {RULE_WIRE_TWICE, TABLE_link, "TRIM_UP", "ends", "TRC.UP GRL.TUP GRL.TUP", "TRIM_UP",
     "GRL.TUP stands twice"},
    {RULE_WIRE_PIN, TABLE_link, "HATCH_L", "ends", "FHL.SW EMS.DOOR", "HATCH_L",
     "EMS.DOOR is in two circuits"},
    {RULE_WIRE_PIN, TABLE_ground, "AD1_GND", "onto", "GBC.t01", "PD1_GND",
     "GBC.t01 is in two circuits"},
    {RULE_WIRE_TABS, TABLE_ground_point, "GBR", "tabs", "12", "GBR", "GBR has 12 tabs"},
    {RULE_WIRE_JOIN, TABLE_link, "AP_DISC", "join", "", "AP_DISC", "5 ends"},
    {RULE_WIRE_CLASS, TABLE_link, "DOOR", "ends", "DSW.SW EMS.SP1", "DOOR", "is of class D"},
    {RULE_WIRE_CLASS, TABLE_link, "DOOR", "class", "X", "DOOR", "DSW.SW is a port of class D"},
    {RULE_WIRE_TALKERS, TABLE_link, "NVC_429", "ends", "NVC.N4T NVC.R3T PD1.N4R", "NVC_429",
     "2 talkers"},
    {RULE_WIRE_LISTENERS, TABLE_interface, "4", "listeners_max", "0", "NVC_429", "1 listeners"},
    {RULE_WIRE_ENDS, TABLE_interface, "C", "ends_max", "8", "CAN_AV", "9 ends"},
    {RULE_WIRE_CROSS, TABLE_link, "PD1_NVC", "ends", "PD1.R1 AD1.CAN", "PD1_NVC",
     "nothing that one end"},
    {RULE_WIRE_TERMINATOR, TABLE_terminator, "CAN_ENG ECB.ECAN", "fitted", "no", "CAN_ENG",
     "1 terminators fitted"},
    {RULE_WIRE_TERMINATOR, TABLE_terminator, "CAN_ENG ECB.ECAN", "ohm", "100", "CAN_ENG ECB.ECAN",
     "another resistance"},
    {RULE_WIRE_TERMINATOR, TABLE_link, "CAN_AV", "ends", "AD1.CAN MAG.CAN EMS.CAN",
     "CAN_AV MAG.CAN", "in the middle"},
    {RULE_WIRE_DEVICE, TABLE_feed, "HFN_PWR", "through", "", "HFN_PWR",
     "without a protective device"},
};

static void each_fault_is_found(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof FAULTS / sizeof *FAULTS; i++) {
        const Fault *fault = &FAULTS[i];
        Wired wired;
        job_read_example(&wired.job);
        job_write(&wired.job, fault->table, fault->key, fault->column, fault->text);
        wired_derive(&wired);
        const Finding *finding = job_finding(&wired.job, fault->rule, fault->said_on);
        if (finding == NULL || strstr(finding->message, fault->says) == NULL) {
            job_print_findings(&wired.job);
            fail_msg("fault %zu: no %s on %s that says '%s'", i, rule_name(fault->rule),
                     fault->said_on, fault->says);
        }
        assert_string_not_equal(finding->file, "");
        assert_int_not_equal(finding->line, 0);
        arena_free(&wired.job.arena);
    }
}

/* A row taken out, and the finding that must follow. */
static void missing_rows_are_found(void **state) {
    (void)state;
    static const struct {
        TableId table;
        const char *key;
        RuleId rule;
        const char *said_on;
    } MISSING[] = {
        {TABLE_ground, "PD1_GND", RULE_WIRE_GROUND, "PD1"},
        {TABLE_ground, "ECA_GND2", RULE_WIRE_PORT, "ECA"},
        {TABLE_feed, "SBY_PWR", RULE_WIRE_FEED, "SBY"},
        {TABLE_link, "DOOR", RULE_WIRE_PORT, "EMS"},
    };
    for (size_t i = 0; i < sizeof MISSING / sizeof *MISSING; i++) {
        Wired wired;
        job_read_example(&wired.job);
        job_drop(&wired.job, MISSING[i].table, MISSING[i].key);
        wired_derive(&wired);
        if (job_finding(&wired.job, MISSING[i].rule, MISSING[i].said_on) == NULL) {
            job_print_findings(&wired.job);
            fail_msg("%s taken out: no %s", MISSING[i].key, rule_name(MISSING[i].rule));
        }
        arena_free(&wired.job.arena);
    }
}

static void a_box_with_nothing_is_found(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    job_add(&wired.job, TABLE_unit, "tag,part,node,stub_mm,module\nPD9,pd,P02,100,PNL\n");
    size_t pd1 = job_find(&wired.job, TABLE_unit, "PD1");
    size_t pd9 = job_find(&wired.job, TABLE_unit, "PD9");
    wired.job.set.unit.rows[pd9].part = wired.job.set.unit.rows[pd1].part;
    wired_derive(&wired);
    assert_non_null(job_finding(&wired.job, RULE_WIRE_UNIT, "PD9"));
    assert_non_null(job_finding(&wired.job, RULE_WIRE_GROUND, "PD9"));
    assert_non_null(job_finding(&wired.job, RULE_WIRE_FEED, "PD9"));
    arena_free(&wired.job.arena);
}

static PortRow *find_port(Job *job, const char *tag, const char *port) {
    size_t unit = job_find(job, TABLE_unit, tag);
    char key[128];
    snprintf(key, sizeof key, "%s %s", job->set.unit.rows[unit].part, port);
    return &job->set.port.rows[job_find(job, TABLE_port, key)];
}

static void active_levels_must_be_there_and_agree(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    find_port(&wired.job, "GRL", "PTT")->level = "";
    wired_derive(&wired);
    const Finding *finding = job_finding(&wired.job, RULE_WIRE_LEVEL, "PTT_L");
    assert_non_null(finding);
    assert_int_equal(finding->severity, SEVERITY_ERROR);
    arena_free(&wired.job.arena);

    job_read_example(&wired.job);
    find_port(&wired.job, "GRL", "PTT")->level = "high";
    wired_derive(&wired);
    assert_non_null(job_finding(&wired.job, RULE_WIRE_LEVELS, "PTT_L"));
    arena_free(&wired.job.arena);
}

/* RS-232 without its ground core: one pin where the class lays two. */
static void a_missing_core_is_named(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    size_t unit = job_find(&wired.job, TABLE_unit, "SBY");
    char key[128];
    snprintf(key, sizeof key, "%s RR 2", wired.job.set.unit.rows[unit].part);
    job_drop(&wired.job, TABLE_port_pin, key);
    wired_derive(&wired);
    const Finding *finding = job_finding(&wired.job, RULE_WIRE_CORES, "NVC_SBY");
    assert_non_null(finding);
    assert_non_null(strstr(finding->message, "without \"signal ground\""));
    assert_int_equal(wired.wiring.cables[wired_net(&wired, "NVC_SBY")->cable_first].conductor_count,
                     1);
    arena_free(&wired.job.arena);
}

static void a_circuit_needs_a_class(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    job_drop(&wired.job, TABLE_interface, "D");
    wired_derive(&wired);
    assert_non_null(job_finding(&wired.job, RULE_WIRE_NO_CLASS, "KM_COIL"));
    arena_free(&wired.job.arena);
}

static void a_stud_takes_four_lugs(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    static const char *const ROWS[] = {"ENG_GND1", "GND_LINKL", "ENG_GND2", "GND_LINKR"};
    for (size_t i = 0; i < 3; i++) {
        job_write(&wired.job, TABLE_ground, ROWS[i], "onto", "GBL.stud");
    }
    wired_derive(&wired);
    assert_int_equal(job_count(&wired.job, RULE_WIRE_LUGS), 0);
    arena_free(&wired.job.arena);

    job_read_example(&wired.job);
    for (size_t i = 0; i < 4; i++) {
        job_write(&wired.job, TABLE_ground, ROWS[i], "onto", "GBL.stud");
    }
    wired_derive(&wired);
    assert_int_equal(job_count(&wired.job, RULE_WIRE_LUGS), 1);
    arena_free(&wired.job.arena);
}

static void two_circuits_of_one_name_are_told_and_kept_apart(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    job_write(&wired.job, TABLE_ground, "DSW_GND", "ground", "DOOR");
    wired_derive(&wired);
    assert_int_equal(job_count(&wired.job, RULE_WIRE_NAME), 1);
    assert_int_equal(wired.wiring.net_count, 259);
    assert_int_equal(wired.wiring.conductor_by_key.count, wired.wiring.conductor_count);
    arena_free(&wired.job.arena);
}

static void shield_rows_must_fit(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    job_add(&wired.job, TABLE_shield,
            "circuit,port,grounded,why\nDOOR,DSW.SW,yes,manual\nNOWHERE,DSW.SW,yes,manual\n"
            "CRANK_A,AUD.PT1,yes,manual\nCRANK_B,CSB.SIG,no,manual\nCRANK_B,ECB.CRK,no,manual\n");
    wired_derive(&wired);
    assert_int_equal(job_count(&wired.job, RULE_WIRE_SHIELD), 4);
    assert_non_null(job_finding(&wired.job, RULE_WIRE_SHIELD, "CRANK_B"));
    arena_free(&wired.job.arena);
}

/* --- keys and numbers ------------------------------------------------------------------------- */

static void keys_are_kept_and_retired_ones_not_used_again(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    job_add(&wired.job, TABLE_allot,
            "circuit,from_end,to_end,core,wire,retired\nPTT_L,AUD.PT1,GRL.PTT,1,W0777,\n"
            "GONE,AUD.PT1,GRL.PTT,1,W0900,yes\nPTT_R,GRR.PTT,AUD.PT2,1,W0777,\n");
    wired_derive(&wired);
    const Conductor *kept =
        &wired.wiring.conductors[wired.wiring.cables[wired_net(&wired, "PTT_L")->cable_first]
                                     .conductor_first];
    assert_string_equal(kept->key, "W0777");
    assert_true(kept->kept);
    assert_int_equal(job_count(&wired.job, RULE_WIRE_ALLOT), 1); /* W0777 stands twice */
    /* New keys come after the highest ever given. */
    for (uint32_t i = 0; i < wired.wiring.conductor_count; i++) {
        const Conductor *conductor = &wired.wiring.conductors[i];
        assert_true(conductor->kept || text_compare_keys(conductor->key, "W0900") > 0);
    }
    TableSet out = {0};
    wiring_allot_rows(&wired.job.arena, &wired.job.model, &wired.wiring, &out);
    assert_int_equal(out.allot.count, wired.wiring.conductor_count + 1);
    size_t retired = 0;
    for (size_t i = 0; i < out.allot.count; i++) {
        retired += out.allot.rows[i].retired == 1;
    }
    assert_int_equal(retired, 1);
    arena_free(&wired.job.arena);
}

static void wire_numbers_follow_the_published_form(void **state) {
    (void)state;
    Wired wired;
    job_read_example(&wired.job);
    wired_derive(&wired);
    Arena *arena = &wired.job.arena;
    const Wiring *wiring = &wired.wiring;
    WireNumbers numbers;
    wiring_numbers(arena, &wired.job.model, wiring, NULL, &numbers);
    const Cable *ground = &wiring->cables[wired_net(&wired, "PD1_GND")->cable_first];
    const char *text =
        wiring_number(arena, &wired.job.model, wiring, &numbers, ground->conductor_first, 0, 22);
    assert_int_equal(text[strlen(text) - 1], 'N');
    /* Legs of one feed share the number; the segment letter goes on. */
    const Cable *first = &wiring->cables[wired_net(&wired, "FLAP")->cable_first];
    const Cable *second = &wiring->cables[wired_net(&wired, "FLAP.2")->cable_first];
    const char *a =
        wiring_number(arena, &wired.job.model, wiring, &numbers, first->conductor_first, 0, 16);
    const char *b =
        wiring_number(arena, &wired.job.model, wiring, &numbers, second->conductor_first, 0, 16);
    assert_int_equal(strlen(a), strlen(b));
    assert_non_null(strstr(a, "A16"));
    assert_non_null(strstr(b, "B16"));
    assert_memory_equal(a, b, strlen(a) - 3);
    /* No two conductors of the aircraft are labelled alike. */
    NameMap seen = {0};
    for (uint32_t i = 0; i < wiring->conductor_count; i++) {
        const char *number = wiring_number(arena, &wired.job.model, wiring, &numbers, i, 0, 22);
        assert_int_equal(name_map_add(&seen, arena, number, i), NAME_NONE);
    }
    arena_free(&wired.job.arena);
}

/* --- a class by rows alone -------------------------------------------------------------------- */

/* Four-wire differential serial: a pair out and a pair in at each box, terminated at the far end of
 * each pair. Nothing but rows says so. */
static void a_new_class_is_rows_alone(void **state) {
    (void)state;
    Wired wired;
    Job *job = &wired.job;
    job_start(job);
    job_read_library(job);
    job_add(job, TABLE_interface,
            "class,meaning,cores,join,kind,cross,talkers_max,ends_max,shield_ground,terminators,"
            "terminator_ohm,length_max_mm,source,status\n"
            "FW,\"four-wire differential serial, one pair each way\",2,point to point,signal,yes,1,"
            "10,one end,1,100,1200000,test,invented\n");
    job_add(job, TABLE_interface_core, "class,core,name,colour\nFW,1,A,white\nFW,2,B,blue\n");
    job_add(job, TABLE_part, "part,name,supply,source,status\nbox,a box,passive,test,invented\n");
    job_add(job, TABLE_port,
            "part,port,group,class,direction,level\nbox,T,S,FW,out,\nbox,R,S,FW,in,\n");
    job_add(job, TABLE_part_connector, "part,connector,shell\nbox,J1,dsub-9\n");
    job_add(job, TABLE_port_pin,
            "part,port,core,connector,cavity\nbox,T,1,J1,1\nbox,T,2,J1,2\nbox,R,1,J1,3\n"
            "box,R,2,J1,4\n");
    job_add(job, TABLE_job, "job,title,nominal_v,return_style\nt,a test,14,structure\n");
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,here,40,0,1000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,all\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN,0,0,0,Z,M\n");
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nU1,box,N,100,M\nU2,box,N,100,M\n");
    job_add(job, TABLE_link, "link,ends\nSER,U1.S U2.S\n");
    job_check(job);
    wired_derive(&wired);
    assert_int_equal(wired.wiring.net_count, 2);
    assert_int_equal(wired.wiring.conductor_count, 4);
    assert_ends(&wired, "SER.a", "U1.T U2.R");
    assert_ends(&wired, "SER.b", "U2.T U1.R");
    /* The class wants one terminator on each pair, and none is fitted. */
    assert_int_equal(job_count(job, RULE_WIRE_TERMINATOR), 2);
    assert_true(wired.wiring.cables[0].shielded);
    assert_true(wired.wiring.cables[0].shield_to && !wired.wiring.cables[0].shield_from);

    /* Ports by name, wrongly: transmit to transmit. */
    job->findings.count = 0;
    job->set.link.rows[0].ends = "U1.T U2.T";
    wired_derive(&wired);
    assert_int_equal(job_count(job, RULE_WIRE_TALKERS), 1);
    arena_free(&job->arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(feeds_become_legs),
        cmocka_unit_test(groups_are_crossed),
        cmocka_unit_test(talkers_come_first),
        cmocka_unit_test(hubs_join_each_to_the_first),
        cmocka_unit_test(shields_are_grounded_where_the_class_says),
        cmocka_unit_test(example_has_the_faults_of_its_first_issue),
        cmocka_unit_test(each_fault_is_found),
        cmocka_unit_test(missing_rows_are_found),
        cmocka_unit_test(a_box_with_nothing_is_found),
        cmocka_unit_test(active_levels_must_be_there_and_agree),
        cmocka_unit_test(a_missing_core_is_named),
        cmocka_unit_test(a_circuit_needs_a_class),
        cmocka_unit_test(a_stud_takes_four_lugs),
        cmocka_unit_test(two_circuits_of_one_name_are_told_and_kept_apart),
        cmocka_unit_test(shield_rows_must_fit),
        cmocka_unit_test(keys_are_kept_and_retired_ones_not_used_again),
        cmocka_unit_test(wire_numbers_follow_the_published_form),
        cmocka_unit_test(a_new_class_is_rows_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
