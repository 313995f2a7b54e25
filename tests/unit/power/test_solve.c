/* Each law and each state by a circuit small enough to work out by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "../../support/network_make.h"
#include "power/solve.h"

static void assert_near(double found, double expected, double tolerance) {
    if (!(fabs(found - expected) <= tolerance)) {
        fail_msg("found %.12g, expected %.12g", found, expected);
    }
}

/* A maker with node 1 as a bus. */
static Maker bus_maker(Arena *arena) {
    Maker maker = maker_new(arena);
    make_node(&maker);
    return maker;
}

static SolveResult run(Arena *arena, const Network *network, const NetworkState *start) {
    SolveResult result;
    solve_run(solve_analyse(arena, network), start, NULL, arena, &result);
    return result;
}

/* --- Loads ----------------------------------------------------------------------------------- */

static void load_law_is_continuous(void **state) {
    (void)state;
    for (NetworkLoadKind kind = NETWORK_LOAD_RESISTANCE; kind <= NETWORK_LOAD_POWER; kind++) {
        NetworkLoad load = {.kind = kind, .nominal_a = 3, .nominal_v = 14};
        double before = network_load_a(&load, -5, 28, &(double){0});
        for (double u = -5; u < 40; u += 1e-3) {
            double slope;
            double amps = network_load_a(&load, u, 28, &slope);
            assert_near(amps, before, 2e-3);
            double ahead = network_load_a(&load, u + 1e-7, 28, &(double){0});
            if (fabs(u - 7) > 2e-3 && fabs(u - 28) > 2e-3) {
                assert_near((ahead - amps) / 1e-7, slope, 1e-4);
            }
            before = amps;
        }
        assert_near(network_load_a(&load, 14, 28, &(double){0}), 3, 1e-15);
    }
}

static void load_kinds(void **state) {
    (void)state;
    /* 12 V behind 1 ohm, loads that take 2 A at 10 V: 10 V is the answer of each. */
    for (NetworkLoadKind kind = NETWORK_LOAD_RESISTANCE; kind <= NETWORK_LOAD_POWER; kind++) {
        Arena arena = {0};
        Maker maker = bus_maker(&arena);
        make_battery(&maker, 1, 0, 12, 1);
        make_load(&maker, 1, 0, kind, 2, 10, 0, 0);
        SolveResult result = run(&arena, &maker.network, NULL);
        assert_int_equal(result.status, SOLVE_OK);
        assert_near(result.load_v[0], 10, 1e-12);
        assert_near(result.load_a[0], 2, 1e-12);
        assert_near(result.source_w, 24, 1e-11);
        assert_near(result.loss_w, 4, 1e-11);
        assert_near(result.load_w, 20, 1e-11);
        arena_free(&arena);
    }
}

/* More power than the source has: the load ends as the resistance it is below the knee. 12 V behind
 * 1 ohm give 36 W at most; 100 W at 12 V are 0.36 ohm below 6 V. */
static void power_beyond_source(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    make_battery(&maker, 1, 0, 12, 1);
    make_load(&maker, 1, 0, NETWORK_LOAD_POWER, 100.0 / 12, 12, 0, 0);
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OK);
    assert_near(result.load_v[0], 12 * 0.36 / 1.36, 1e-11);
    arena_free(&arena);
}

static void load_cuts_out_and_stays_out(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    make_battery(&maker, 1, 0, 12, 0.1);
    uint32_t starter = make_node(&maker);
    make_contact(&maker, 1, starter, 1e-3, NETWORK_NONE, false);
    make_resistor(&maker, starter, 0, 0.1);
    make_load(&maker, 1, 0, NETWORK_LOAD_CURRENT, 1, 12, 9, 3.5); /* back at 12.5 V: never */
    make_load(&maker, 1, 0, NETWORK_LOAD_CURRENT, 1, 12, 9, 1);   /* back at 10 V */
    make_load(&maker, 1, 0, NETWORK_LOAD_CURRENT, 1, 12, 0, 0);   /* never cuts */
    Network *network = &maker.network;
    NetworkState start = network_state_rest(&arena, network);
    SolvePlan *plan = solve_analyse(&arena, network);
    SolveResult result;
    assert_true(solve_run(plan, &start, NULL, &arena, &result));
    assert_true(solve_load_works(network, &result, 0) && solve_load_works(network, &result, 1));
    result.state.contact_closed[0] = true;
    assert_true(solve_run(plan, &result.state, NULL, &arena, &result));
    assert_true(result.load_v[0] < 7);
    assert_false(result.state.load_on[0] || result.state.load_on[1]);
    assert_true(solve_load_works(network, &result, 2));
    assert_true(result.load_a[0] == 0 && result.load_a[1] == 0);
    result.state.contact_closed[0] = false;
    assert_true(solve_run(plan, &result.state, NULL, &arena, &result));
    assert_false(result.state.load_on[0]);
    assert_true(result.state.load_on[1]);
    assert_near(result.load_v[1], 12 - 0.2, 1e-12);
    arena_free(&arena);
}

/* Two boxes at the end of a thin wire, both below their minimum: the one that is further below goes
 * first and its going saves the other. 12 V, 1 ohm, 2 + 2 A: 8 V; minima 8.5 and 9 of 12 V. */
static void most_violated_goes_first(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t end = make_node(&maker);
    make_battery(&maker, 1, 0, 12, 0.5);
    make_resistor(&maker, 1, end, 0.5);
    make_load(&maker, end, 0, NETWORK_LOAD_CURRENT, 2, 12, 8.5, 2);
    make_load(&maker, end, 0, NETWORK_LOAD_CURRENT, 2, 12, 9, 2);
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OK);
    assert_true(result.state.load_on[0]);
    assert_false(result.state.load_on[1]);
    assert_int_equal(result.counts.state_changes, 1);
    assert_near(result.load_v[0], 10, 1e-12);
    arena_free(&arena);
}

/* A crowd of a thousand equal boxes below their minimum is settled in few rounds. */
static void crowd_is_settled_in_parts(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    make_battery(&maker, 1, 0, 12, 0.01);
    Dice dice = dice_new(1);
    for (int i = 0; i < 1000; i++) {
        uint32_t port = make_node(&maker);
        make_resistor(&maker, 1, port, dice_between(&dice, 0.1, 1));
        make_load(&maker, port, 0, NETWORK_LOAD_CURRENT, 0.5, 12, 10, 1);
    }
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OK);
    uint32_t on = 0;
    for (int i = 0; i < 1000; i++) {
        on += result.state.load_on[i];
        assert_true(!result.state.load_on[i] || result.load_v[i] >= 10 - 1e-9);
    }
    /* All at once would leave 12 - 5 V on the bus; what is left on has some 10.1 V there. */
    assert_true(on > 200 && on < 400);
    assert_true(result.counts.newton_steps < 1000);
    arena_free(&arena);
}

/* --- Diodes and sources ---------------------------------------------------------------------- */

static void diode_conducts_one_way(void **state) {
    (void)state;
    for (int turned = 0; turned < 2; turned++) {
        Arena arena = {0};
        Maker maker = bus_maker(&arena);
        uint32_t end = make_node(&maker);
        make_battery(&maker, 1, 0, 12, 0.5);
        make_diode(&maker, turned ? end : 1, turned ? 1 : end, 0.7, 0.3);
        make_resistor(&maker, end, 0, 1.2);
        SolveResult result = run(&arena, &maker.network, NULL);
        double amps = turned ? 0 : 11.3 / 2;
        assert_int_equal(result.status, SOLVE_OK);
        assert_near(result.diode_a[0], amps, 1e-12);
        assert_near(result.node_v[end], 1.2 * amps, 1e-12);
        assert_int_equal(result.state.diode_on[0], !turned);
        arena_free(&arena);
    }
}

/* Two buses feed a third over diodes: the higher one alone until it sags. */
static void higher_source_feeds(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t other = make_node(&maker);
    uint32_t essential = make_node(&maker);
    make_battery(&maker, 1, 0, 12, 0.1);
    make_battery(&maker, other, 0, 13, 0.1);
    make_diode(&maker, 1, essential, 0.5, 0.01);
    make_diode(&maker, other, essential, 0.5, 0.01);
    uint32_t load = make_resistor(&maker, essential, 0, 2.39);
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_near(result.diode_a[1], 12.5 / 2.5, 1e-11);
    assert_true(result.diode_a[0] == 0 && !result.state.diode_on[0]);
    maker.network.resistors[load].ohm = 0.1;
    result = run(&arena, &maker.network, NULL);
    /* Node equation with both on: v (2/0.11 + 10) = 11.5/0.11 + 12.5/0.11. */
    double v = (24 / 0.11) / (2 / 0.11 + 10);
    assert_near(result.node_v[essential], v, 1e-11);
    assert_near(result.diode_a[0], (11.5 - v) / 0.11, 1e-9);
    arena_free(&arena);
}

/* Alternator 14 V, 0.02 ohm slope, 30 A, beside a battery of 12.5 V, 0.05 ohm. */
static void alternator_modes(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    make_alternator(&maker, 1, 0, 14, 0.02, 30);
    make_battery(&maker, 1, 0, 12.5, 0.05);
    make_load(&maker, 1, 0, NETWORK_LOAD_CURRENT, 0, 14, 0, 0);
    Network *network = &maker.network;
    /* Idle: 1.5 V over 0.07 ohm charge the battery. */
    SolveResult result = run(&arena, network, NULL);
    assert_int_equal(result.state.alternator_mode[0], NETWORK_ALTERNATOR_REGULATING);
    assert_near(result.alternator_a[0], 1.5 / 0.07, 1e-11);
    assert_near(result.charge_w, 12.5 * 1.5 / 0.07, 1e-10);
    /* 50 A: the alternator gives 30, the battery 20. */
    network->loads[0].nominal_a = 50;
    result = run(&arena, network, NULL);
    assert_int_equal(result.state.alternator_mode[0], NETWORK_ALTERNATOR_LIMITING);
    assert_near(result.alternator_a[0], 30, 1e-12);
    assert_near(result.battery_a[0], 20, 1e-10);
    assert_near(result.node_v[1], 12.5 - 1, 1e-11);
    /* A ground charger of 14.5 V blocks it. */
    network->batteries[0].open_v = 14.5;
    network->loads[0].nominal_a = 1;
    result = run(&arena, network, NULL);
    assert_int_equal(result.state.alternator_mode[0], NETWORK_ALTERNATOR_BLOCKED);
    assert_true(result.alternator_a[0] == 0);
    assert_near(result.node_v[1], 14.45, 1e-12);
    /* Not running, it is no source. */
    network->alternators[0].running = false;
    network->batteries[0].ohm = HUGE_VAL;
    result = run(&arena, network, NULL);
    assert_int_equal(result.node_state[1], SOLVE_NODE_DEAD);
    assert_true(result.node_v[1] == 0 && result.total_a == 0);
    arena_free(&arena);
}

/* An alternator alone with a power load: enough at its limit or not at all, never the unstable
 * point between. 100 W of 14 V at a limit of 8 A regulate; at 6 A the load drags the bus down to
 * where it is a resistance of 49 / 100 ohm. */
static void limit_alone_with_power_load(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    make_alternator(&maker, 1, 0, 14, 0.01, 8);
    make_load(&maker, 1, 0, NETWORK_LOAD_POWER, 100.0 / 14, 14, 0, 0);
    Network *network = &maker.network;
    NetworkState start = network_state_rest(&arena, network);
    start.alternator_mode[0] = NETWORK_ALTERNATOR_LIMITING;
    SolveResult result = run(&arena, network, &start);
    assert_int_equal(result.status, SOLVE_OK);
    assert_int_equal(result.state.alternator_mode[0], NETWORK_ALTERNATOR_REGULATING);
    assert_near(result.node_v[1], (14 + sqrt(14 * 14 - 4)) / 2, 1e-10);
    network->alternators[0].limit_a = 6;
    result = run(&arena, network, NULL);
    assert_int_equal(result.status, SOLVE_OK);
    assert_int_equal(result.state.alternator_mode[0], NETWORK_ALTERNATOR_LIMITING);
    assert_near(result.node_v[1], 6 * 0.49, 1e-10);
    arena_free(&arena);
}

/* Its only load gone, an alternator at its limit must let go. */
static void limit_without_return_regulates(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t end = make_node(&maker);
    make_alternator(&maker, 1, 0, 14, 0.01, 8);
    make_contact(&maker, 1, end, 1e-3, NETWORK_NONE, false);
    make_resistor(&maker, end, 0, 1);
    NetworkState start = network_state_rest(&arena, &maker.network);
    start.alternator_mode[0] = NETWORK_ALTERNATOR_LIMITING;
    SolveResult result = run(&arena, &maker.network, &start);
    assert_int_equal(result.status, SOLVE_OK);
    assert_near(result.node_v[1], 14, 1e-12);
    assert_int_equal(result.state.alternator_mode[0], NETWORK_ALTERNATOR_REGULATING);
    assert_int_equal(result.node_state[end], SOLVE_NODE_LIVE); /* over its resistor to ground */
    arena_free(&arena);
}

/* --- Contacts and coils ---------------------------------------------------------------------- */

/* A switch closes the coil of a contactor that closes the lamp; a second, normally closed contact
 * opens another lamp. The contactor holds between drop-out and pick-up. */
static void contactor_picks_up_and_holds(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t coil_plus = make_node(&maker);
    uint32_t lamp = make_node(&maker);
    uint32_t rest_lamp = make_node(&maker);
    make_battery(&maker, 1, 0, 12, 1e-3);
    uint32_t button = make_contact(&maker, 1, coil_plus, 1e-3, NETWORK_NONE, false);
    uint32_t coil = make_coil(&maker, coil_plus, 0, 50, 8, 3);
    uint32_t opens = make_contact(&maker, 1, rest_lamp, 1e-3, coil, false);
    uint32_t closes = make_contact(&maker, 1, lamp, 1e-3, coil, true);
    make_resistor(&maker, lamp, 0, 10);
    make_resistor(&maker, rest_lamp, 0, 10);
    Network *network = &maker.network;
    SolvePlan *plan = solve_analyse(&arena, network);
    NetworkState start = network_state_rest(&arena, network);
    SolveResult result;
    assert_true(solve_run(plan, &start, NULL, &arena, &result));
    assert_true(!result.state.contact_closed[closes] && result.state.contact_closed[opens]);
    assert_true(result.node_v[lamp] == 0 && result.node_v[rest_lamp] > 11.9);
    result.state.contact_closed[button] = true;
    assert_true(solve_run(plan, &result.state, NULL, &arena, &result));
    assert_true(result.state.coil_energised[coil]);
    assert_true(result.node_v[lamp] > 11.9 && result.node_v[rest_lamp] == 0);
    network->batteries[0].open_v = 5; /* below pick-up, above drop-out: holds */
    assert_true(solve_run(plan, &result.state, NULL, &arena, &result));
    assert_true(result.state.contact_closed[closes]);
    SolveResult fresh;
    NetworkState pressed = network_state_rest(&arena, network);
    pressed.contact_closed[button] = true;
    assert_true(solve_run(plan, &pressed, NULL, &arena, &fresh)); /* from rest: never picks up */
    assert_false(fresh.state.contact_closed[closes]);
    network->batteries[0].open_v = 2;
    assert_true(solve_run(plan, &result.state, NULL, &arena, &result));
    assert_false(result.state.contact_closed[closes]);
    arena_free(&arena);
}

/* A relay whose normally closed contact feeds its own coil is a buzzer. */
static void buzzer_oscillates(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t fed = make_node(&maker);
    make_battery(&maker, 1, 0, 12, 0.1);
    make_resistor(&maker, 1, 0, 100);
    make_coil(&maker, 1, 0, 100, 20, 1); /* never moves */
    uint32_t coil = make_coil(&maker, fed, 0, 50, 8, 3);
    make_contact(&maker, 1, fed, 1e-3, coil, false);
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OSCILLATES);
    assert_int_equal(result.offender_kind, NETWORK_COIL);
    assert_int_equal(result.offender, coil);
    arena_free(&arena);
}

/* A box that lifts its own supply above its come-back voltage when it cuts out hiccups. */
static void hiccup_oscillates(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    make_battery(&maker, 1, 0, 12, 0.5);
    make_load(&maker, 1, 0, NETWORK_LOAD_CURRENT, 0.1, 12, 0, 0);
    uint32_t box = make_load(&maker, 1, 0, NETWORK_LOAD_CURRENT, 6, 12, 10, 0.5);
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OSCILLATES);
    assert_int_equal(result.offender_kind, NETWORK_LOAD);
    assert_int_equal(result.offender, box);
    arena_free(&arena);
}

static void too_few_steps_names_a_node(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t end = make_node(&maker);
    make_battery(&maker, 1, 0, 12, 0.5);
    make_resistor(&maker, 1, end, 0.5);
    make_resistor(&maker, end, 0, 100);
    make_load(&maker, end, 0, NETWORK_LOAD_POWER, 2, 12, 0, 0);
    SolveOptions options = {.newton_limit = 1};
    SolveResult result;
    assert_false(
        solve_run(solve_analyse_whole(&arena, &maker.network), NULL, &options, &arena, &result));
    assert_int_equal(result.status, SOLVE_NOT_CONVERGED);
    assert_int_equal(result.worst_node, end);
    assert_true(result.residual_a > 1e-6);
    arena_free(&arena);
}

/* --- Dead, floating, collapsed --------------------------------------------------------------- */

static void dead_and_floating(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t dead_a = make_node(&maker);
    uint32_t dead_b = make_node(&maker);
    uint32_t bare = make_node(&maker);
    uint32_t plus = make_node(&maker);
    uint32_t middle = make_node(&maker);
    uint32_t minus = make_node(&maker);
    make_battery(&maker, 1, 0, 12, 1);
    make_resistor(&maker, 1, 0, 11);
    make_contact(&maker, 1, dead_a, 1e-3, NETWORK_NONE, false);
    make_resistor(&maker, dead_a, dead_b, 1);
    make_battery(&maker, plus, minus, 6, 1);
    make_resistor(&maker, plus, middle, 1);
    make_resistor(&maker, middle, minus, 1);
    for (int whole = 0; whole < 2; whole++) {
        SolvePlan *plan = whole ? solve_analyse_whole(&arena, &maker.network)
                                : solve_analyse(&arena, &maker.network);
        SolveResult result;
        assert_true(solve_run(plan, NULL, NULL, &arena, &result));
        assert_near(result.node_v[1], 11, 1e-12);
        const uint32_t dead[3] = {dead_a, dead_b, bare};
        for (int i = 0; i < 3; i++) {
            assert_int_equal(result.node_state[dead[i]], SOLVE_NODE_DEAD);
            assert_true(result.node_v[dead[i]] == 0);
        }
        assert_int_equal(result.node_state[plus], SOLVE_NODE_FLOATING);
        assert_near(result.node_v[plus], 4, 1e-12);
        assert_near(result.node_v[middle], 2, 1e-12);
        assert_near(result.node_v[minus], 0, 1e-12);
        assert_int_equal(result.node_state[0], SOLVE_NODE_LIVE);
    }
    arena_free(&arena);
}

/* A wire broken twice: what hangs on either side keeps that side's voltage, what lies between is
 * dead; with a cell in it, it floats. */
static void broken_chain(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t node[5];
    make_battery(&maker, 1, 0, 12, 1);
    make_resistor(&maker, 1, 0, 11);
    uint32_t last = 1;
    for (int i = 0; i < 5; i++) {
        node[i] = make_node(&maker);
        if (i == 3) {
            make_battery(&maker, node[i], last, 1.5, 0.1);
        } else {
            make_resistor(&maker, last, node[i], i == 1 ? HUGE_VAL : 1);
        }
        last = node[i];
    }
    make_contact(&maker, last, 0, 1e-3, NETWORK_NONE, false);
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OK);
    assert_near(result.node_v[node[0]], 11, 1e-12);
    assert_int_equal(result.node_state[node[0]], SOLVE_NODE_LIVE);
    assert_int_equal(result.node_state[node[1]], SOLVE_NODE_FLOATING);
    assert_near(result.node_v[node[2]], 0, 1e-12);
    assert_near(result.node_v[node[3]], 1.5, 1e-12);
    assert_near(result.node_v[node[4]], 1.5, 1e-12);
    maker.network.batteries[1].ohm = HUGE_VAL;
    result = run(&arena, &maker.network, NULL);
    for (int i = 1; i < 5; i++) {
        assert_int_equal(result.node_state[node[i]], SOLVE_NODE_DEAD);
        assert_true(result.node_v[node[i]] == 0);
    }
    arena_free(&arena);
}

/* A ring that hangs on nothing, an element with both ends on one node, an empty network. */
static void odd_shapes(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = maker_new(&arena);
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OK);
    assert_int_equal(result.node_state[0], SOLVE_NODE_DEAD);
    uint32_t a = make_node(&maker);
    uint32_t b = make_node(&maker);
    make_battery(&maker, a, b, 3, 1);
    make_resistor(&maker, a, b, 2);
    make_resistor(&maker, 0, 0, 1);
    result = run(&arena, &maker.network, NULL);
    assert_int_equal(result.status, SOLVE_OK);
    assert_near(result.resistor_a[0], 1, 1e-12);
    assert_near(result.node_v[a] - result.node_v[b], 2, 1e-12);
    assert_near(result.node_v[b], 0, 1e-12);
    assert_true(result.resistor_a[1] == 0);
    assert_int_equal(result.node_state[a], SOLVE_NODE_FLOATING);
    arena_free(&arena);
}

/* A thousand resistors in a row are one branch, expanded exactly; and the work is counted. */
static void chain_is_collapsed(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    make_battery(&maker, 1, 0, 10.01, 0.01);
    uint32_t last = 1;
    for (int i = 0; i < 1000; i++) {
        uint32_t next = i == 999 ? 0 : make_node(&maker);
        make_resistor(&maker, i % 2 == 0 ? last : next, i % 2 == 0 ? next : last, 0.01);
        last = next;
    }
    SolveResult result = run(&arena, &maker.network, NULL);
    assert_true(result.counts.unknowns <= 1 && result.counts.chains <= 2);
    assert_int_equal(result.counts.factorisations, 1);
    assert_int_equal(result.counts.refactorisations, 0);
    assert_int_equal(result.counts.analyses, 1);
    assert_true(result.counts.substitutions >= 1 && result.counts.klu_fallbacks == 0);
    for (uint32_t i = 0; i < 1000; i++) {
        assert_near(result.resistor_a[i], i % 2 == 0 ? 1 : -1, 1e-12);
    }
    assert_near(result.node_v[2], 9.99, 1e-11);
    arena_free(&arena);
}

/* Bolted joints beside a load of a milliampere: the current is still known to nine digits. */
static void small_current_over_bolted_joints(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t one = make_node(&maker);
    uint32_t two = make_node(&maker);
    make_battery(&maker, 1, 0, 12.6, 0.01);
    make_resistor(&maker, 1, one, 1e-7);
    make_resistor(&maker, 1, one, 1e-7);
    make_resistor(&maker, one, two, 1e-7);
    make_resistor(&maker, one, two, 3e-7);
    make_resistor(&maker, two, 0, 12599.99);
    SolveResult result;
    assert_true(
        solve_run(solve_analyse_whole(&arena, &maker.network), NULL, NULL, &arena, &result));
    assert_near(result.resistor_a[0], 0.5e-3, 1e-12);
    assert_near(result.resistor_a[2], 0.75e-3, 1e-12);
    assert_near(result.resistor_a[3], 0.25e-3, 1e-12);
    assert_near(result.resistor_a[4], 1e-3, 1e-12);
    arena_free(&arena);
}

/* Only the states and the boxes, without expanding: the same numbers. */
static void expansion_can_be_left_out(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = bus_maker(&arena);
    uint32_t end = make_node(&maker);
    make_battery(&maker, 1, 0, 12, 1);
    make_resistor(&maker, 1, end, 1);
    make_load(&maker, end, 0, NETWORK_LOAD_POWER, 1, 12, 0, 0);
    SolvePlan *plan = solve_analyse(&arena, &maker.network);
    SolveOptions options = {.skip_expand = true};
    SolveResult full;
    SolveResult brief;
    assert_true(solve_run(plan, NULL, NULL, &arena, &full));
    size_t used_bytes = arena.used_bytes;
    assert_true(solve_run(plan, NULL, &options, NULL, &brief));
    assert_int_equal(arena.used_bytes, used_bytes);
    assert_null(brief.node_v);
    assert_true(brief.load_v[0] == full.load_v[0] && brief.load_a[0] == full.load_a[0]);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(load_law_is_continuous),
        cmocka_unit_test(load_kinds),
        cmocka_unit_test(power_beyond_source),
        cmocka_unit_test(load_cuts_out_and_stays_out),
        cmocka_unit_test(most_violated_goes_first),
        cmocka_unit_test(crowd_is_settled_in_parts),
        cmocka_unit_test(diode_conducts_one_way),
        cmocka_unit_test(higher_source_feeds),
        cmocka_unit_test(alternator_modes),
        cmocka_unit_test(limit_alone_with_power_load),
        cmocka_unit_test(limit_without_return_regulates),
        cmocka_unit_test(contactor_picks_up_and_holds),
        cmocka_unit_test(buzzer_oscillates),
        cmocka_unit_test(hiccup_oscillates),
        cmocka_unit_test(too_few_steps_names_a_node),
        cmocka_unit_test(dead_and_floating),
        cmocka_unit_test(broken_chain),
        cmocka_unit_test(odd_shapes),
        cmocka_unit_test(chain_is_collapsed),
        cmocka_unit_test(small_current_over_bolted_joints),
        cmocka_unit_test(expansion_can_be_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
