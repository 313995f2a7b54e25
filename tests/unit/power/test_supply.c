/* What hangs where, and where every switch stands: on the example aircraft, spoilt one thing at a
 * time. */
#include "support/powered.h"

static const char *position_of(const Powered *powered, const char *phase, const char *tag) {
    OwnerId owner = model_owner(&powered->job.model, tag);
    assert_int_not_equal(owner, ID_NONE);
    return powered->supply.positions[powered_phase(powered, phase)][owner];
}

static const char *bus_of(const Powered *powered, const char *end) {
    const SupplyLoad *load = &powered->supply.loads[powered_load_of(powered, end)];
    return load->bus == ID_NONE ? "" : powered->job.set.bus.rows[load->bus].bus;
}

static const char *device_of(const Powered *powered, const char *end) {
    const SupplyLoad *load = &powered->supply.loads[powered_load_of(powered, end)];
    return load->device == ID_NONE ? "" : powered->job.model.owners[load->device].tag;
}

static void loads_know_their_bus_and_device(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    powered_load(&powered);
    assert_int_equal(powered.job.findings.count, 0);
    assert_string_equal(bus_of(&powered, "PD1.PWR"), "ESS");
    assert_string_equal(device_of(&powered, "PD1.PWR"), "CB_PD1");
    /* Second of a chain. */
    assert_string_equal(device_of(&powered, "WLP.PWR"), "CB_WPA");
    assert_int_equal(powered.supply.loads[powered_load_of(&powered, "WLP.PWR")].target, 1);
    /* Fed by another box: what feeds that box. */
    assert_string_equal(bus_of(&powered, "MAG.PWR"), "ESS");
    assert_string_equal(device_of(&powered, "MAG.PWR"), "CB_AD1");
    /* Coils: one wired, one bolted on a bus, whose limiter stands before the bus. */
    assert_string_equal(bus_of(&powered, "KH.C+"), "MAINP");
    assert_string_equal(device_of(&powered, "KH.C+"), "CB_HYC");
    assert_string_equal(bus_of(&powered, "KA.C+"), "MAIN");
    assert_string_equal(device_of(&powered, "KA.C+"), "LM_MAIN");
    assert_string_equal(bus_of(&powered, "KM.C+"), "BATM");
    assert_string_equal(device_of(&powered, "KM.C+"), "");
    arena_free(&powered.job.arena);
}

/* ESS has two feeds; the one closed in most phases counts, though the other comes first by name. */
static void usual_feed_of_a_bus(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    powered_load(&powered);
    const Model *model = &powered.job.model;
    BusId ess = name_map_find(&model->bus_by_name, "ESS");
    BusId main_bus = name_map_find(&model->bus_by_name, "MAIN");
    assert_int_equal(powered.supply.bus_parent[ess], main_bus);
    BusId batm = name_map_find(&model->bus_by_name, "BATM");
    assert_int_equal(powered.supply.bus_parent[batm], ID_NONE);
    arena_free(&powered.job.arena);
}

/* Takes out the setting of `item` in every phase. */
static void drop_settings(Job *job, const char *item) {
    for (size_t i = 0; i < job->set.phase.count; i++) {
        const char *phase = job->set.phase.rows[i].phase;
        for (size_t k = 0; k < job->set.setting.count; k++) {
            const SettingRow *row = &job->set.setting.rows[k];
            if (strcmp(row->item, item) == 0 && strcmp(row->phase, phase) == 0) {
                job_drop(job, TABLE_setting, arena_format(&job->arena, "%s %s", phase, item));
                break;
            }
        }
    }
}

/* A contactor without a word of its own is where the switch in its coil circuit puts it. */
static void contactors_follow_switches(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    drop_settings(&powered.job, "KM");
    drop_settings(&powered.job, "KT");
    drop_settings(&powered.job, "KA");
    powered_load(&powered);
    assert_int_equal(powered.job.findings.count, 0);
    assert_string_equal(position_of(&powered, "cruise_night", "KM"), "closed");
    assert_string_equal(position_of(&powered, "parked", "KM"), "open");
    assert_string_equal(position_of(&powered, "cruise_night", "KA"), "closed");
    assert_string_equal(position_of(&powered, "emergency", "KA"), "open");
    assert_near(powered.loads.total_a[powered_phase(&powered, "emergency")], 19.38, 0.005);
    arena_free(&powered.job.arena);
}

/* A switch without a word is where a contactor that has one needs it. */
static void switches_follow_contactors(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    drop_settings(&powered.job, "SW_MAIN");
    drop_settings(&powered.job, "SW_AV");
    powered_load(&powered);
    assert_int_equal(powered.job.findings.count, 0);
    assert_string_equal(position_of(&powered, "cruise_night", "SW_MAIN"), "on");
    assert_string_equal(position_of(&powered, "parked", "SW_MAIN"), "off");
    assert_string_equal(position_of(&powered, "emergency", "SW_AV"), "on");
    assert_string_equal(position_of(&powered, "cruise_night", "SW_AV"), "off");
    arena_free(&powered.job.arena);
}

static void contradictions_are_found(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    job_write(&powered.job, TABLE_setting, "cruise_night SW_MAIN", "position", "off");
    powered_load(&powered);
    assert_int_equal(job_count(&powered.job, RULE_SUPPLY_CONTACTOR), 1);
    assert_non_null(job_finding(&powered.job, RULE_SUPPLY_CONTACTOR, "cruise_night KM"));
    arena_free(&powered.job.arena);
    /* And the other way round. */
    Powered other = {0};
    job_read_example(&other.job);
    job_write(&other.job, TABLE_setting, "cruise_night KM", "position", "open");
    powered_load(&other);
    assert_int_equal(job_count(&other.job, RULE_SUPPLY_CONTACTOR), 1);
    arena_free(&other.job.arena);
}

static void unknown_words_are_found(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    job_write(&powered.job, TABLE_setting, "cruise_night SW_NAV", "position", "onn");
    job_write(&powered.job, TABLE_setting, "cruise_night SW_HFN", "item", "SW_HFX");
    job_write(&powered.job, TABLE_mode, "cruise_night AD1.PWR", "port", "AD1.GND");
    powered_load(&powered);
    const Finding *position = job_finding(&powered.job, RULE_SUPPLY_SETTING, "cruise_night SW_NAV");
    assert_non_null(position);
    assert_string_equal(position->hint, "did you mean on?");
    const Finding *item = job_finding(&powered.job, RULE_SUPPLY_SETTING, "cruise_night SW_HFX");
    assert_non_null(item);
    assert_non_null(strstr(item->hint, "SW_HF"));
    assert_int_equal(job_count(&powered.job, RULE_SUPPLY_SETTING), 2);
    assert_int_equal(job_count(&powered.job, RULE_SUPPLY_MODE), 1);
    arena_free(&powered.job.arena);
}

/* A phase that asks more of a port than its part's design current sizes its wire; one that asks
 * less does not. */
static void a_phase_may_ask_more(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    job_write(&powered.job, TABLE_mode, "cruise_night PD1.PWR", "amps_a", "6");
    job_write(&powered.job, TABLE_mode, "cruise_night AD1.PWR", "amps_a", "0.1");
    powered_load(&powered);
    const SupplyLoad *more = &powered.supply.loads[powered_load_of(&powered, "PD1.PWR")];
    assert_near(more->design_a, 6.0, 1e-12);
    assert_near(more->usual_a, 1.9, 1e-12);
    assert_near(more->phase_a[powered_phase(&powered, "climb_night")], 1.9, 1e-12);
    const SupplyLoad *less = &powered.supply.loads[powered_load_of(&powered, "AD1.PWR")];
    assert_near(less->design_a, 0.3, 1e-12);
    arena_free(&powered.job.arena);
}

/* An action that opens a contactor moves the switch that holds it, though the phase set it. */
static void actions_override_settings(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    job_drop(&powered.job, TABLE_action, "alternators_main 1"); /* SW_BATB off */
    powered_load(&powered);
    const Model *model = &powered.job.model;
    uint32_t situation = model_row(model, TABLE_situation, "alternators_main");
    uint32_t phase = powered_phase(&powered, "emergency");
    const char *const *before =
        supply_positions(&powered.job.arena, model, &powered.supply, phase, situation, 0, NULL);
    const char *const *after = supply_positions(&powered.job.arena, model, &powered.supply, phase,
                                                situation, UINT32_MAX, &powered.job.findings);
    OwnerId contactor = model_owner(model, "KT");
    OwnerId by = model_owner(model, "SW_BATB");
    OwnerId lost = model_owner(model, "ALS");
    assert_string_equal(before[contactor], "closed");
    assert_string_equal(before[by], "on");
    assert_string_equal(before[lost], "off");
    assert_string_equal(after[contactor], "open");
    assert_string_equal(after[by], "off");
    assert_int_equal(powered.job.findings.count, 0);
    arena_free(&powered.job.arena);
}

/* A box switched off by an action no longer counts on its battery. */
static void a_port_put_off(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    job_add(&powered.job, TABLE_action,
            "situation,rank,item,position\nalternators_main,3,PD1.PWR,off\n");
    powered_load(&powered);
    for (uint32_t i = 0; i < powered.loads.endurance_count; i++) {
        const LoadsEndurance *row = &powered.loads.endurances[i];
        const char *name = powered.job.set.situation.rows[row->situation].situation;
        if (strcmp(name, "alternators_main") == 0) {
            assert_near(row->load_a, 15.68 - 1.9, 1e-9);
        }
    }
    arena_free(&powered.job.arena);
}

/* Cranking closes the start switch and the starter's contactor. */
static void a_feed_is_closed(void **state) {
    (void)state;
    Powered powered = {0};
    job_read_example(&powered.job);
    powered_load(&powered);
    const Model *model = &powered.job.model;
    uint32_t feed = model_row(model, TABLE_feed, "STR_FEED");
    const char *const *closed =
        supply_close_feed(&powered.job.arena, model, &powered.supply,
                          powered.supply.positions[powered_phase(&powered, "start")], feed);
    assert_string_equal(closed[model_owner(model, "KS")], "closed");
    assert_string_equal(closed[model_owner(model, "SW_START")], "on");
    assert_string_equal(position_of(&powered, "start", "SW_START"), "off");
    arena_free(&powered.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(loads_know_their_bus_and_device),
        cmocka_unit_test(usual_feed_of_a_bus),
        cmocka_unit_test(contactors_follow_switches),
        cmocka_unit_test(switches_follow_contactors),
        cmocka_unit_test(contradictions_are_found),
        cmocka_unit_test(unknown_words_are_found),
        cmocka_unit_test(a_phase_may_ask_more),
        cmocka_unit_test(actions_override_settings),
        cmocka_unit_test(a_port_put_off),
        cmocka_unit_test(a_feed_is_closed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
