/* What a loss means, on the example aircraft with its library. */
#include "power/service.h"
#include "support/powered.h"

typedef struct Bench {
    Powered powered;
    Service *service;
    ServiceRun *run;
    ServiceAnswer answer;
} Bench;

static void bench_build(Bench *bench) {
    powered_load(&bench->powered);
    Job *job = &bench->powered.job;
    bench->service = service_build(&job->arena, &job->model, &bench->powered.wiring,
                                   &bench->powered.supply, &job->findings);
    bench->run = service_run_new(&job->arena, bench->service);
}

static void bench_open(Bench *bench) {
    *bench = (Bench){0};
    job_read_folder(&bench->powered.job, MARLING_SOURCE_DIR "/examples/osier_mended");
    bench_build(bench);
}

static void bench_close(Bench *bench) {
    arena_free(&bench->powered.job.arena);
}

static bool lost_function(Bench *bench, const char *name) {
    for (uint32_t i = 0; i < bench->answer.function_count; i++) {
        if (strcmp(service_function_name(bench->service, &bench->powered.job.arena,
                                         bench->answer.functions[i]),
                   name) == 0) {
            return true;
        }
    }
    return false;
}

static bool lost_need(Bench *bench, const char *name) {
    for (uint32_t i = 0; i < bench->answer.need_count; i++) {
        if (strcmp(service_need_name(bench->service, bench->answer.needs[i]), name) == 0) {
            return true;
        }
    }
    return false;
}

static bool lost_way(Bench *bench, const char *need, const char *clause, const char *name) {
    for (uint32_t i = 0; i < bench->answer.way_count; i++) {
        const ServiceWay *way = service_way(bench->service, bench->answer.ways[i]);
        if (strcmp(service_need_name(bench->service, way->need), need) == 0 &&
            strcmp(way->clause, clause) == 0 && strcmp(way->way, name) == 0) {
            return true;
        }
    }
    return false;
}

/* Asks with ports without supply, dead boxes and broken circuits by name; NULL ends each list. */
static void ask(Bench *bench, const char *const *ports, const char *const *boxes,
                const char *const *nets) {
    uint32_t loads[32];
    OwnerId owners[32];
    ConductorId conductors[64];
    ServiceLoss loss = {.loads = loads, .owners = owners, .conductors = conductors};
    const Wiring *wiring = &bench->powered.wiring;
    for (; ports != NULL && *ports != NULL; ports++) {
        loads[loss.load_count++] = powered_load_of(&bench->powered, *ports);
    }
    for (; boxes != NULL && *boxes != NULL; boxes++) {
        OwnerId owner = model_owner(&bench->powered.job.model, *boxes);
        assert_int_not_equal(owner, ID_NONE);
        owners[loss.owner_count++] = owner;
    }
    for (; nets != NULL && *nets != NULL; nets++) {
        NetId net = name_map_find(&wiring->net_by_name, *nets);
        assert_int_not_equal(net, NAME_NONE);
        for (ConductorId i = 0; i < wiring->conductor_count; i++) {
            if (wiring->cables[wiring->conductors[i].cable].net == net) {
                conductors[loss.conductor_count++] = i;
            }
        }
    }
    bench->answer = service_ask(bench->run, &loss);
}

#define LIST(...) ((const char *const[]){__VA_ARGS__, NULL})

static void nothing_lost_loses_nothing(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    assert_int_equal(service_need_count(bench.service), 4);
    assert_string_equal(service_need(bench.service, 0)->severity, "catastrophic");
    ask(&bench, NULL, NULL, NULL);
    assert_int_equal(bench.answer.need_count + bench.answer.function_count + bench.answer.way_count,
                     0);
    for (uint32_t i = 0; i < 4; i++) {
        assert_false(service_need_missing(bench.service, i));
    }
    assert_int_equal(job_count(&bench.powered.job, RULE_NEED_ROW), 0);
    assert_int_equal(job_count(&bench.powered.job, RULE_NEED_DEPENDS), 0);
    bench_close(&bench);
}

/* One controller, its pump, its feeds: the other carries on. Both of a kind: the need is lost. */
static void engine_lives_on_either_side(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    ask(&bench, LIST("ECA.PWR", "FPA.PWR", "IGA.PWR", "INJ.PWRA"), NULL, NULL);
    assert_false(lost_need(&bench, "N1"));
    assert_true(lost_way(&bench, "N1", "controller", "a"));
    assert_true(lost_way(&bench, "N1", "fuel pump", "a"));
    assert_true(lost_way(&bench, "N1", "injector feed", "a"));
    /* The other controller still drives coil pack B and, wired-or, the injectors. */
    assert_false(lost_way(&bench, "N1", "ignition feed", "b"));
    assert_false(lost_way(&bench, "N1", "injector feed", "b"));
    ask(&bench, LIST("FPA.PWR", "FPB.PWR"), NULL, NULL);
    assert_true(lost_need(&bench, "N1"));
    /* A controller without its crank sensor, the other without supply. */
    ask(&bench, LIST("ECB.PWR"), NULL, LIST("CRANK_A"));
    assert_true(lost_need(&bench, "N1"));
    ask(&bench, LIST("ECB.PWR"), NULL, LIST("CRANK_B"));
    assert_false(lost_need(&bench, "N1"));
    bench_close(&bench);
}

/* Any one controller, coil pack or pump out: the engine runs on; two of a kind: it does not. */
static void engine_without_any_one_box(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    const char *const boxes[] = {"ECA", "ECB", "IGA", "IGB", "FPA", "FPB"};
    for (size_t i = 0; i < sizeof boxes / sizeof *boxes; i++) {
        ask(&bench, NULL, LIST(boxes[i]), NULL);
        assert_false(lost_need(&bench, "N1"));
        assert_true(bench.answer.way_count > 0);
    }
    for (size_t i = 0; i < sizeof boxes / sizeof *boxes; i += 2) {
        ask(&bench, NULL, LIST(boxes[i], boxes[i + 1]), NULL);
        assert_true(lost_need(&bench, "N1"));
    }
    /* The injector block is one: a declared exception. */
    ask(&bench, NULL, LIST("INJ"), NULL);
    assert_true(lost_need(&bench, "N1"));
    assert_true(service_excepted(bench.service, 0, "INJ", "dead", NULL));
    bench_close(&bench);
}

/* Right main "up", contact of circuit 1 open: circuit 1 does not know, circuit 2 still shows it. */
static void one_contact_of_a_wheel_sensor(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    ask(&bench, NULL, NULL, LIST("W1_RMU"));
    assert_true(lost_function(&bench, "WPA.right main up"));
    assert_false(lost_function(&bench, "WLP.right main up"));
    assert_false(lost_function(&bench, "WPA.right main down"));
    assert_false(lost_function(&bench, "WRMU"));
    assert_int_equal(bench.answer.function_count, 1);
    assert_int_equal(bench.answer.way_count, 0);
    /* The same said of the contact itself. */
    TerminalId contact = model_terminal(&bench.powered.job.model, "WRMU.C1");
    bench.answer = service_ask(bench.run, &(ServiceLoss){.ports = &contact, .port_count = 1});
    assert_true(lost_function(&bench, "WPA.right main up"));
    assert_int_equal(bench.answer.function_count, 1);
    ask(&bench, NULL, NULL, LIST("W1_RMU", "W2_RMU"));
    assert_true(lost_function(&bench, "WRMU"));
    assert_true(lost_way(&bench, "N4", "sensor right main", "up"));
    assert_false(lost_need(&bench, "N4"));
    ask(&bench, NULL, LIST("WRMU", "WRMD"), NULL);
    assert_true(lost_need(&bench, "N4"));
    bench_close(&bench);
}

/* Unpowered or dead, the audio panel joins the pilot to comm 1; nobody else. */
static void audio_panel_at_rest(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    ask(&bench, LIST("AUD.PWR", "AUD.PWR2"), NULL, NULL);
    assert_false(lost_function(&bench, "JK1"));
    assert_true(lost_function(&bench, "JK2"));
    assert_false(lost_need(&bench, "N3"));
    ask(&bench, NULL, LIST("AUD"), NULL);
    assert_false(lost_function(&bench, "JK1"));
    assert_false(lost_need(&bench, "N3"));
    ask(&bench, LIST("NVC.PWR2"), LIST("AUD"), NULL);
    assert_true(lost_function(&bench, "JK1"));
    assert_true(lost_need(&bench, "N3"));
    ask(&bench, LIST("NVC.PWR2"), NULL, NULL);
    assert_false(lost_function(&bench, "JK2"));
    assert_false(lost_need(&bench, "N3"));
    /* Its aerial is part of a radio. */
    ask(&bench, LIST("NVC.PWR2"), NULL, LIST("RF_COM2"));
    assert_true(lost_need(&bench, "N3"));
    bench_close(&bench);
}

/* A chain falls apart where it breaks; each display needs an air-data unit on its own piece. */
static void chain_of_data(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    const Wiring *wiring = &bench.powered.wiring;
    NetId can = name_map_find(&wiring->net_by_name, "CAN_AV");
    const Net *net = &wiring->nets[can];
    /* AD1 EMS AD2 PD1 APC PD2 ...: between PD1 and APC. */
    ConductorId cut = wiring->cables[net->cable_first + 3].conductor_first;
    bench.answer = service_ask(bench.run, &(ServiceLoss){.conductors = &cut, .conductor_count = 1});
    assert_false(lost_function(&bench, "PD1.attitude"));
    assert_true(lost_function(&bench, "PD2.attitude"));
    assert_true(lost_function(&bench, "RSV.drive"));
    assert_false(lost_need(&bench, "N2"));
    ask(&bench, LIST("AD1.PWR"), NULL, NULL);
    assert_false(lost_function(&bench, "PD1.attitude"));
    ask(&bench, LIST("AD1.PWR", "AD2.PWR"), NULL, NULL);
    assert_true(lost_function(&bench, "PD1.attitude"));
    assert_false(lost_need(&bench, "N2"));
    ask(&bench, LIST("AD1.PWR", "AD2.PWR"), LIST("SBY"), NULL);
    assert_true(lost_need(&bench, "N2"));
    /* A talker that babbles: nothing passes. */
    bench.answer = service_ask(bench.run, &(ServiceLoss){.nets = &can, .net_count = 1});
    assert_true(lost_function(&bench, "PD1.attitude"));
    assert_true(lost_function(&bench, "PD2.engine"));
    assert_false(lost_function(&bench, "PD1"));
    bench_close(&bench);
}

/* The rail of the engine monitor carries several readings, and not those of its own pairs. */
static void readings_on_one_rail(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    NetId rail = name_map_find(&bench.powered.wiring.net_by_name, "SENS_RAIL");
    bench.answer = service_ask(bench.run, &(ServiceLoss){.nets = &rail, .net_count = 1});
    assert_true(lost_function(&bench, "EMS.oil pressure"));
    assert_true(lost_function(&bench, "EMS.fuel left"));
    assert_true(lost_function(&bench, "EMS.flap position"));
    assert_false(lost_function(&bench, "EMS.oil temperature"));
    assert_false(lost_function(&bench, "EMS.EGT 1"));
    assert_false(lost_function(&bench, "EMS"));
    bench_close(&bench);
}

/* Without rows, a box with two supplies works on either, and a need that rests on it says so. */
static void what_no_row_says(void **state) {
    (void)state;
    Bench bench = {0};
    job_read_folder(&bench.powered.job, MARLING_SOURCE_DIR "/examples/osier_mended");
    Job *job = &bench.powered.job;
    size_t kept = 0;
    for (size_t i = 0; i < job->set.depends.count; i++) {
        if (strcmp(job->set.depends.rows[i].part, "audio-panel") != 0) {
            job->set.depends.rows[kept++] = job->set.depends.rows[i];
        }
    }
    job->set.depends.count = kept;
    bench_build(&bench);
    assert_int_equal(job_count(job, RULE_NEED_UNDECIDED), 1);
    ask(&bench, LIST("AUD.PWR"), NULL, NULL);
    assert_false(lost_function(&bench, "AUD"));
    ask(&bench, LIST("AUD.PWR", "AUD.PWR2"), NULL, NULL);
    assert_true(lost_function(&bench, "AUD"));
    bench_close(&bench);
}

static void names_that_are_not_there(void **state) {
    (void)state;
    Bench bench = {0};
    job_read_folder(&bench.powered.job, MARLING_SOURCE_DIR "/examples/osier_mended");
    Job *job = &bench.powered.job;
    job_write(job, TABLE_need, "N2 attitude c SBY", "port", "SBI");
    job_write(job, TABLE_depends, "coil-pack works a TRG", "port", "TRX");
    job_write(job, TABLE_exception, "N1 INJ any", "need", "N9");
    bench_build(&bench);
    assert_int_equal(job_count(job, RULE_NEED_ROW), 2);
    assert_int_equal(job_count(job, RULE_NEED_DEPENDS), 1);
    bench_close(&bench);
}

static void exceptions_cover_what_they_name(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench);
    uint32_t row = 0;
    assert_true(service_excepted(bench.service, 0, "INJ", "dead", &row));
    assert_string_equal(bench.powered.job.set.exception.rows[row].item, "INJ");
    assert_false(service_excepted(bench.service, 1, "INJ", "dead", NULL));
    assert_false(service_excepted(bench.service, 0, "ECA", "dead", &row));
    assert_int_equal(row, ID_NONE);
    bench_close(&bench);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_lost_loses_nothing),
        cmocka_unit_test(engine_lives_on_either_side),
        cmocka_unit_test(engine_without_any_one_box),
        cmocka_unit_test(one_contact_of_a_wheel_sensor),
        cmocka_unit_test(audio_panel_at_rest),
        cmocka_unit_test(chain_of_data),
        cmocka_unit_test(readings_on_one_rail),
        cmocka_unit_test(what_no_row_says),
        cmocka_unit_test(names_that_are_not_there),
        cmocka_unit_test(exceptions_cover_what_they_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
