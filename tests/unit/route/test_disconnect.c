/* Cavities at disconnects: which shell, which cavity, and every rule fires on the fault it is for.
 * Each case starts from the example aircraft and spoils one thing. */
#include "support/wired.h"

#include "route/cavity.h"

static const CavityUse *find_use(const Wired *wired, const char *net_name, const char *shell) {
    NetId id = name_map_find(&wired->wiring.net_by_name, net_name);
    assert_int_not_equal(id, NAME_NONE);
    const Net *net = &wired->wiring.nets[id];
    for (uint32_t k = 0; k < net->cable_count; k++) {
        CableId cable = net->cable_first + k;
        for (uint32_t i = wired->disconnects.cable_first[cable];
             i < wired->disconnects.cable_first[cable + 1]; i++) {
            const CavityUse *use = &wired->disconnects.uses[i];
            if (use->shell != ID_NONE &&
                strcmp(wired->job.set.disconnect_shell.rows[use->shell].tag, shell) == 0) {
                return use;
            }
        }
    }
    return NULL;
}

static void wires_take_the_shell_of_their_group_or_gauge(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, "PIT_PWR");
    assert_non_null(find_use(&wired, "W1_LND", "BK5P"));
    assert_non_null(find_use(&wired, "W2_LND", "BK5Q"));
    assert_non_null(find_use(&wired, "PIT_PWR", "BK3P")); /* 12 AWG */
    assert_null(find_use(&wired, "PIT_PWR", "BK3"));
    assert_non_null(find_use(&wired, "PIT_GND", "BK3"));
    const CavityUse *use = find_use(&wired, "PIT_PWR", "BK3P");
    assert_non_null(strstr(
        disconnect_shell_reason(&wired.job.arena, &wired.job.model, &wired.wiring, wired.awg, use),
        "12 AWG is thicker"));
    arena_free(&wired.job.arena);
}

static void a_chain_has_contacts_in_and_out(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    /* Three cables of the CAN chain pass the centre panel shell, each with two cores and shield. */
    uint32_t contacts = 0;
    for (uint32_t i = 0; i < wired.disconnects.use_count; i++) {
        const CavityUse *use = &wired.disconnects.uses[i];
        const Net *net = &wired.wiring.nets[wired.wiring.cables[use->cable].net];
        contacts += strcmp(net->name, "CAN_AV") == 0 &&
                    strcmp(wired.job.set.disconnect_shell.rows[use->shell].tag, "BK1C1") == 0;
    }
    assert_int_equal(contacts, 6);
    TableSet out = {0};
    disconnects_allot_rows(&wired.job.arena, &wired.job.model, &wired.wiring, &wired.routing,
                           &wired.disconnects, &out);
    size_t sides[2] = {0, 0};
    for (size_t i = 0; i < out.allot_cavity.count; i++) {
        sides[strcmp(out.allot_cavity.rows[i].side, "out") == 0]++;
    }
    assert_int_equal(out.allot_cavity.count, wired.disconnects.use_count);
    assert_true(sides[0] > 0 && sides[1] > 0);
    arena_free(&wired.job.arena);
}

static void coax_and_heavy_leads_pass_by_bulkhead(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    NetId nav = name_map_find(&wired.wiring.net_by_name, "RF_NAV");
    CableId cable = wired.wiring.nets[nav].cable_first;
    assert_int_equal(wired.disconnects.crossings[cable], 2);
    assert_int_equal(wired.disconnects.cable_first[cable],
                     wired.disconnects.cable_first[cable + 1]);
    arena_free(&wired.job.arena);
}

/* No cavity holds two things, and none lies outside its shell. */
static void every_cavity_holds_one_thing(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    NameMap seen = {0};
    for (uint32_t i = 0; i < wired.disconnects.use_count; i++) {
        const CavityUse *use = &wired.disconnects.uses[i];
        const char *kind = wired.job.set.disconnect_shell.rows[use->shell].shell;
        uint32_t shell = model_row(&wired.job.model, TABLE_shell, kind);
        assert_true(use->cavity < (uint32_t)wired.job.set.shell.rows[shell].ways);
        const char *name = arena_format(&wired.job.arena, "%u %u", use->shell, use->cavity);
        assert_int_equal(name_map_add(&seen, &wired.job.arena, name, i), NAME_NONE);
    }
    arena_free(&wired.job.arena);
}

static void power_lies_apart_from_signals(void **state) {
    (void)state;
    Arena arena = {0};
    Wired wired = {0};
    job_read_example(&wired.job);
    job_build(&wired.job);
    Face face;
    face_read(&arena, &wired.job.model, model_row(&wired.job.model, TABLE_shell, "dsub-37"), &face);
    CavityKind taken[37] = {CAVITY_FREE};
    uint32_t at[4];
    /* A pair and its shield lie side by side from the left; power comes from the right. */
    assert_int_equal(face_place(&face, taken, CAVITY_SIGNAL, 3, false, at), 3);
    assert_string_equal(face.names[at[0]], "1");
    assert_string_equal(face.names[at[1]], "2");
    assert_string_equal(face.names[at[2]], "20");
    assert_int_equal(face_place(&face, taken, CAVITY_POWER, 1, false, at), 1);
    assert_string_equal(face.names[at[0]], "19");
    /* Filled up with signals, the last ones keep off the power as long as they can. */
    for (int i = 0; i < 31; i++) {
        assert_int_equal(face_place(&face, taken, CAVITY_SIGNAL, 1, false, at), 1);
        assert_false(face_clashes(&face, taken, at[0], CAVITY_SIGNAL));
    }
    assert_int_equal(face_place(&face, taken, CAVITY_SIGNAL, 1, false, at), 1);
    assert_true(face_clashes(&face, taken, at[0], CAVITY_SIGNAL));
    arena_free(&arena);
    arena_free(&wired.job.arena);
}

/* --- one fault, one finding ------------------------------------------------------------------- */

static void the_first_issue_has_its_mistakes(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_ALLOY), 1);
    assert_non_null(job_finding(&wired.job, RULE_DISCONNECT_ALLOY, "BK2R"));
    assert_int_equal(job_count(&wired.job, RULE_PLACE_SEALED), 1);
    assert_non_null(job_finding(&wired.job, RULE_PLACE_SEALED, "FHR"));
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_KEYING), 0);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_SEALED), 0);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_WAYS), 0);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_BESIDE), 0);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_GAUGE), 0);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_SHELL), 0);
    arena_free(&wired.job.arena);
}

static const struct {
    RuleId rule;
    const char *shell; /* row of disconnect_shell that is changed */
    const char *column;
    const char *text;
    const char *said_on;
    const char *says;
} FAULTS[] = {
    {RULE_DISCONNECT_WAYS, "BK1L", "shell", "dsub-9", "BK1L", "too few"},
    {RULE_DISCONNECT_GAUGE, "BK3", "shell", "circular-10-12", "BK3", "too thin"},
    {RULE_DISCONNECT_GAUGE, "BK3P", "shell", "circular-10", "BK3P", "too thick"},
    {RULE_DISCONNECT_SHELL, "BK3P", "segment", "R06-W01", "BK3", "too thick for all"},
    {RULE_DISCONNECT_SEALED, "BK5P", "shell", "dsub-37", "BK5P", "not sealed"},
    {RULE_DISCONNECT_KEYING, "BK5Q", "keying", "A", "BK5Q", "mates with the other"},
};

static void each_fault_is_found(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof FAULTS / sizeof *FAULTS; i++) {
        Wired wired = {0};
        job_read_example(&wired.job);
        job_write(&wired.job, TABLE_disconnect_shell, FAULTS[i].shell, FAULTS[i].column,
                  FAULTS[i].text);
        wired_run(&wired, "PIT_PWR");
        const Finding *finding = job_finding(&wired.job, FAULTS[i].rule, FAULTS[i].said_on);
        if (finding == NULL || strstr(finding->message, FAULTS[i].says) == NULL) {
            job_print_findings(&wired.job);
            fail_msg("fault %zu: no %s on %s", i, rule_name(FAULTS[i].rule), FAULTS[i].said_on);
        }
        arena_free(&wired.job.arena);
    }
}

static void few_spares_are_told(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    size_t before = job_count(&wired.job, RULE_DISCONNECT_SPARE);
    job_add(&wired.job, TABLE_rule_limit, "limit,value,reason,who\nspare_contacts,1000,test,me\n");
    wired_run(&wired, NULL);
    assert_true(job_count(&wired.job, RULE_DISCONNECT_SPARE) > before + 5);
    const Finding *finding = job_finding(&wired.job, RULE_DISCONNECT_SPARE, "BK2R");
    assert_non_null(finding);
    assert_true(finding->value < finding->limit);
    arena_free(&wired.job.arena);
}

static void alloy_contacts_cure_it(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    job_write(&wired.job, TABLE_disconnect_shell, "BK2R", "alloy", "K");
    wired_run(&wired, NULL);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_ALLOY), 0);
    arena_free(&wired.job.arena);
}

static void write_cavity(Wired *wired, const char *wire, const char *shell, const char *cavity) {
    AllotCavityRow *row = table_append(&wired->job.set, &wired->job.arena, TABLE_allot_cavity);
    row->wire = arena_text(&wired->job.arena, wire, strlen(wire));
    row->shell = shell;
    row->side = "in";
    row->cavity = cavity;
}

static void kept_cavities_that_cannot_be_kept_are_told(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    const CavityUse *use = find_use(&wired, "HATCH_L", "BK5P");
    const char *hatch = disconnect_use_key(&wired.job.arena, &wired.wiring, use);
    use = find_use(&wired, "BILGE_L_RUN", "BK5P");
    const char *bilge = disconnect_use_key(&wired.job.arena, &wired.wiring, use);
    write_cavity(&wired, hatch, "BK5P", "30");
    write_cavity(&wired, bilge, "BK5P", "99"); /* no such cavity */
    wired_run(&wired, NULL);
    use = find_use(&wired, "HATCH_L", "BK5P");
    assert_true(use->kept);
    assert_int_equal(use->cavity, 29);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_ALLOT), 1);
    assert_non_null(strstr(job_finding(&wired.job, RULE_DISCONNECT_ALLOT, NULL)->message, "99"));

    /* Two in one cavity: the first by key stays. And a wire that passes elsewhere. */
    wired.job.set.allot_cavity.count = 0;
    write_cavity(&wired, hatch, "BK5P", "30");
    write_cavity(&wired, bilge, "BK5P", "30");
    write_cavity(&wired, hatch, "BK1L", "3");
    wired_run(&wired, NULL);
    assert_int_equal(job_count(&wired.job, RULE_DISCONNECT_ALLOT), 2);
    arena_free(&wired.job.arena);
}

static void power_beside_signal_is_told_where_it_is_wet(void **state) {
    (void)state;
    Wired wired = {0};
    job_read_example(&wired.job);
    wired_run(&wired, NULL);
    const CavityUse *use = find_use(&wired, "BPL_PWR", "BK5P");
    assert_non_null(use);
    const char *pump = disconnect_use_key(&wired.job.arena, &wired.wiring, use);
    use = find_use(&wired, "HATCH_L", "BK5P");
    const char *hatch = disconnect_use_key(&wired.job.arena, &wired.wiring, use);
    write_cavity(&wired, pump, "BK5P", "20");
    write_cavity(&wired, hatch, "BK5P", "21");
    wired_run(&wired, NULL);
    assert_non_null(job_finding(&wired.job, RULE_DISCONNECT_BESIDE, "BK5P"));
    arena_free(&wired.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wires_take_the_shell_of_their_group_or_gauge),
        cmocka_unit_test(a_chain_has_contacts_in_and_out),
        cmocka_unit_test(coax_and_heavy_leads_pass_by_bulkhead),
        cmocka_unit_test(every_cavity_holds_one_thing),
        cmocka_unit_test(power_lies_apart_from_signals),
        cmocka_unit_test(the_first_issue_has_its_mistakes),
        cmocka_unit_test(each_fault_is_found),
        cmocka_unit_test(few_spares_are_told),
        cmocka_unit_test(alloy_contacts_cure_it),
        cmocka_unit_test(kept_cavities_that_cannot_be_kept_are_told),
        cmocka_unit_test(power_beside_signal_is_told_where_it_is_wet),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
