/* Feeders, chains, aerials and mass; the result tables; and that every key answers why. */
#include "support/wired.h"

#include "near.h"
#include "route/result.h"

typedef struct Measured {
    Wired wired;
    Runs runs;
    Bundle *bundles;
    RouteView view;
    TableSet result;
} Measured;

static void measured_run(Measured *measured) {
    Wired *wired = &measured->wired;
    Job *job = &wired->job;
    wired_run(wired, NULL);
    job->findings.count = 0;
    measured->bundles = ARENA_ARRAY(&job->arena, Bundle, job->set.segment.count);
    route_bundles(&job->model, &wired->wiring, &wired->routing, wired->awg, measured->bundles);
    assert_true(runs_measure(&job->arena, &job->model, &wired->wiring, &wired->routing,
                             &wired->disconnects, wired->awg, &measured->runs, &job->findings));
    measured->view = (RouteView){
        .model = &job->model,
        .wiring = &wired->wiring,
        .routing = &wired->routing,
        .disconnects = &wired->disconnects,
        .bundles = measured->bundles,
        .runs = &measured->runs,
        .awg = wired->awg,
    };
    result_route_rows(&job->arena, &measured->view, NULL, NULL, &measured->result);
}

static void measured_read(Measured *measured) {
    *measured = (Measured){0};
    job_read_example(&measured->wired.job);
    job_plain_lengths(&measured->wired.job);
}

static void measured_free(Measured *measured) {
    arena_free(&measured->wired.job.arena);
}

static void the_first_issue_is_quiet_here(void **state) {
    (void)state;
    Measured measured;
    measured_read(&measured);
    measured_run(&measured);
    if (measured.wired.job.findings.count > 0) {
        job_print_findings(&measured.wired.job);
    }
    assert_int_equal(measured.wired.job.findings.count, 0);
    measured_free(&measured);
}

/* An aerial moved aft comes too near to another one. */
static void aerials_keep_their_distance(void **state) {
    (void)state;
    Measured measured;
    measured_read(&measured);
    job_write(&measured.wired.job, TABLE_antenna, "ANT_COM1", "x_mm", "2100");
    measured_run(&measured);
    const Finding *finding = job_finding(&measured.wired.job, RULE_ROUTE_ANTENNA, "ANT_COM1");
    assert_non_null(finding);
    assert_string_equal(finding->rows, "ANT_GNSS1");
    assert_near(finding->value, 847.0, 0.5);
    assert_near(finding->limit, 900.0, 0.0);
    measured_free(&measured);
}

static void a_lossy_feeder_is_told(void **state) {
    (void)state;
    Measured measured;
    measured_read(&measured);
    job_write(&measured.wired.job, TABLE_antenna, "ANT_NAV", "loss_limit_db", "1.6");
    job_write(&measured.wired.job, TABLE_antenna, "ANT_GNSS1", "frequency_mhz", "2400");
    measured_run(&measured);
    const Finding *finding = job_finding(&measured.wired.job, RULE_ROUTE_COAX, "RF_NAV");
    assert_non_null(finding);
    assert_near(finding->value, 1.633, 0.001);
    assert_non_null(job_finding(&measured.wired.job, RULE_ROUTE_COAX_TABLE, "RF_GNSS1"));
    measured_free(&measured);
}

static void long_runs_and_branches_are_told(void **state) {
    (void)state;
    Measured measured;
    measured_read(&measured);
    job_write(&measured.wired.job, TABLE_interface, "C", "length_max_mm", "9000");
    job_write(&measured.wired.job, TABLE_interface, "R", "length_max_mm", "1000");
    job_write(&measured.wired.job, TABLE_interface, "V", "stub_max_mm", "3000");
    measured_run(&measured);
    assert_non_null(job_finding(&measured.wired.job, RULE_ROUTE_LENGTH, "CAN_AV"));
    assert_null(job_finding(&measured.wired.job, RULE_ROUTE_LENGTH, "CAN_ENG"));
    assert_non_null(job_finding(&measured.wired.job, RULE_ROUTE_LENGTH, "NVC_ELB"));
    const Finding *finding = job_finding(&measured.wired.job, RULE_ROUTE_STUB, "SENS_RAIL");
    assert_non_null(finding);
    assert_true(finding->value > 3000.0);
    measured_free(&measured);
}

/* One terminator not fitted: a meter reads the other alone. The order changed: a new trunk. */
static void chains_say_what_a_meter_reads(void **state) {
    (void)state;
    Measured measured;
    measured_read(&measured);
    job_write(&measured.wired.job, TABLE_terminator, "CAN_ENG ECB.ECAN", "fitted", "no");
    job_write(&measured.wired.job, TABLE_link, "CAN_AV", "ends",
              "AD1.CAN EMS.CAN AD2.CAN PD1.CAN APC.CAN PD2.CAN RSV.CAN PSV.CAN");
    measured_run(&measured);
    const ChainRunRow *rows = measured.result.chain_run.rows;
    assert_string_equal(rows[1].net, "CAN_ENG");
    assert_near(rows[1].unpowered_ohm, 120.0, 1e-9);
    assert_string_equal(rows[1].terminated_at, "ECA");
    assert_near(rows[0].length_mm, 7790.0, 5.0);
    measured_free(&measured);
}

/* A single wire of 1 m between nodes 1 m apart, stubs 0.2 m and 0.3 m: its centre by hand. */
static void mass_is_spread_along_the_way(void **state) {
    (void)state;
    Measured measured;
    measured = (Measured){0};
    Job *job = &measured.wired.job;
    job_start(job);
    job_read_library(job);
    job_add(job, TABLE_part,
            "part,name,mass_kg,supply,source,status\nbox,a box,2,passive,test,invented\n");
    job_add(job, TABLE_port, "part,port,class,direction\nbox,A,X,out\nbox,B,X,in\n");
    job_add(job, TABLE_part_connector, "part,connector,shell\nbox,J1,dsub-9\n");
    job_add(job, TABLE_port_pin, "part,port,core,connector,cavity\nbox,A,1,J1,1\nbox,B,1,J1,2\n");
    job_add(job, TABLE_job,
            "job,title,nominal_v,return_style,handling_mm\nt,a test,14,structure,100\n");
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,here,40,0,1000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,all\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN1,1000,0,0,Z,M\nN2,2000,0,0,Z,M\n");
    job_add(job, TABLE_segment, "segment,node_a,node_b,zone\nS,N2,N1,Z\n");
    job_add(job, TABLE_unit, "tag,part,node,stub_mm,module\nU1,box,N1,200,M\nU2,box,N2,300,M\n");
    job_add(job, TABLE_link, "link,ends\nL,U1.A U2.B\n");
    job_check(job);
    job_plain_lengths(job);
    measured_run(&measured);
    const MassItem *harness = &measured.runs.masses.harness;
    double kg_per_m = 4.79 / 1000.0; /* etfe-22 */
    assert_near(harness->mass_kg, 1.6 * kg_per_m, 1e-12);
    double moment = kg_per_m * (0.25 * 1000.0 + 0.35 * 2000.0 + 1.0 * 1500.0);
    assert_near(harness->moment_kgmm, moment, 1e-9);
    assert_near(measured.runs.masses.units.mass_kg, 4.0, 1e-12);
    assert_near(mass_arm_mm(measured.runs.masses.units), 1500.0, 1e-9);
    measured_free(&measured);
}

static const char *device_of(void *context, ConductorId conductor) {
    (void)conductor;
    return context;
}

static void result_rows_say_all_of_a_wire(void **state) {
    (void)state;
    Measured measured;
    measured_read(&measured);
    measured_run(&measured);
    Job *job = &measured.wired.job;
    assert_int_equal(measured.result.net.count, 259);
    assert_int_equal(measured.result.cable_run.count, 294);
    assert_int_equal(measured.result.conductor.count, 381);
    assert_int_equal(measured.result.bundle.count, 81);
    assert_int_equal(measured.result.shell_use.count, 20);
    assert_int_equal(measured.result.cavity_use.count, measured.wired.disconnects.use_count);
    const ConductorRow *ptt = NULL;
    for (size_t i = 0; i < measured.result.conductor.count; i++) {
        if (strcmp(measured.result.conductor.rows[i].net, "PTT_L") == 0) {
            ptt = &measured.result.conductor.rows[i];
        }
    }
    assert_non_null(ptt);
    assert_string_equal(ptt->from_pin, "GRL.J1-1");
    assert_string_equal(ptt->to_pin, "AUD.J2-16");
    assert_string_equal(ptt->core, "signal");
    assert_string_equal(ptt->part, "etfe-22");
    assert_string_equal(ptt->device, "");
    assert_memory_equal(ptt->cavities, "BK1C1-", 6);
    /* It passes one disconnect: two pieces, two labels, the segment letter goes on. */
    assert_non_null(strstr(ptt->number, "A22 "));
    assert_string_equal(ptt->number + strlen(ptt->number) - 3, "B22");
    /* The caller names devices. */
    TableSet named = {0};
    char device[] = "CB_TEST";
    result_route_rows(&job->arena, &measured.view, device_of, device, &named);
    assert_string_equal(named.conductor.rows[0].device, "CB_TEST");
    /* Harness and heavy leads add up with the units. */
    const MassRow *mass = measured.result.mass.rows;
    assert_int_equal(measured.result.mass.count, 4);
    assert_near(mass[3].mass_kg, mass[0].mass_kg + mass[1].mass_kg + mass[2].mass_kg, 1e-12);
    measured_free(&measured);
}

static void assert_why(const Measured *measured, const char *key, const char *says) {
    Arena arena = {0};
    Buffer out = {.arena = &arena};
    if (!why_route(&measured->view, key, &out)) {
        fail_msg("%s does not answer why", key);
    }
    if (strstr(out.bytes, says) == NULL) {
        fail_msg("why %s does not say '%s' but:\n%s", key, says, out.bytes);
    }
    arena_free(&arena);
}

static void every_key_answers_why(void **state) {
    (void)state;
    Measured measured;
    measured_read(&measured);
    measured_run(&measured);
    const Wiring *wiring = &measured.wired.wiring;
    assert_why(&measured, "PTT_L", "from row link PTT_L");
    assert_why(&measured, "S02-C01", "limit bundle_cables: 75");
    assert_why(&measured, "BK5P", "contacts: ");
    const Net *net = &wiring->nets[name_map_find(&wiring->net_by_name, "PTT_L")];
    const char *key = wiring->conductors[wiring->cables[net->cable_first].conductor_first].key;
    assert_why(&measured, key, "length: 1816 mm = way 1315.9 + stub 350 at GRL.PTT + stub 150");
    assert_why(&measured, key, "C06 to C01 by segment C01-C06");
    assert_why(&measured, key, "shell BK1C1, because circuit PTT_L is of group 1");
    net = &wiring->nets[name_map_find(&wiring->net_by_name, "ELB_REMOTE")];
    key = arena_format(&measured.wired.job.arena, "%s.S",
                       wiring->conductors[wiring->cables[net->cable_first].conductor_first].key);
    assert_why(&measured, key, "the shield passes because class Y says so");
    for (uint32_t i = 0; i < wiring->conductor_count; i++) {
        assert_why(&measured, wiring->conductors[i].key, "length: ");
    }
    Buffer out = {.arena = &measured.wired.job.arena};
    assert_false(why_route(&measured.view, "NOTHING", &out));
    measured_free(&measured);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_first_issue_is_quiet_here),
        cmocka_unit_test(aerials_keep_their_distance),
        cmocka_unit_test(a_lossy_feeder_is_told),
        cmocka_unit_test(long_runs_and_branches_are_told),
        cmocka_unit_test(chains_say_what_a_meter_reads),
        cmocka_unit_test(mass_is_spread_along_the_way),
        cmocka_unit_test(result_rows_say_all_of_a_wire),
        cmocka_unit_test(every_key_answers_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
