/* Small direct-current circuits whose answers are in any textbook of circuit theory: solved by the
 * product's own functions. A battery or a resistor without resistance is not in our model, so ideal
 * sources get 1e-9 ohm and the answers agree to that. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "../support/network_make.h"
#include "power/solve.h"

#define IDEAL_OHM 1e-9
/* Answers are given to seven digits; the ideal source costs less than that. */
#define ANSWER_TOLERANCE 5e-7

static SolveResult solved(Arena *arena, const Network *network) {
    SolveResult result;
    SolvePlan *plan = solve_analyse(arena, network);
    assert_true(solve_run(plan, NULL, NULL, arena, &result));
    assert_int_equal(result.status, SOLVE_OK);
    return result;
}

static void assert_near(double found, double expected, double tolerance) {
    if (!(fabs(found - expected) <= tolerance)) {
        print_error("found %.12g, expected %.12g\n", found, expected);
        fail();
    }
}

/* Textbook two-source network: 10 V over 2 ohm and 6 V over 4 ohm feed one node with 8 ohm to
 * ground. Node equation: v (1/2 + 1/8 + 1/4) = 10/2 + 6/4, so v = 6.5 / 0.875 = 52/7 V. */
static void two_sources(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = maker_new(&arena);
    uint32_t node = make_node(&maker);
    uint32_t ten = make_battery(&maker, node, 0, 10, 2);
    make_resistor(&maker, node, 0, 8);
    uint32_t six = make_battery(&maker, node, 0, 6, 4);
    SolveResult result = solved(&arena, &maker.network);
    assert_near(result.node_v[node], 7.428571, ANSWER_TOLERANCE);
    assert_near(result.battery_a[ten], 1.285714, ANSWER_TOLERANCE);
    assert_near(result.battery_a[six], -0.357143, ANSWER_TOLERANCE);
    arena_free(&arena);
}

/* Closed form by symmetry: a cube of twelve 1-ohm edges, between opposite corners 5/6 ohm. */
static void cube(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = maker_new(&arena);
    maker.network.node_count = 8; /* corners by their three bits; corner 0 is the reference */
    for (uint32_t corner = 0; corner < 8; corner++) {
        for (uint32_t axis = 1; axis < 8; axis *= 2) {
            if ((corner & axis) == 0) {
                make_resistor(&maker, corner, corner | axis, 1);
            }
        }
    }
    make_battery(&maker, 7, 0, 1, IDEAL_OHM);
    SolveResult result = solved(&arena, &maker.network);
    assert_near(result.node_v[7] / result.battery_a[0], 0.833333, ANSWER_TOLERANCE);
    arena_free(&arena);
}

/* Closed form: an endless ladder of 1 ohm in series, 1 ohm across has the golden ratio at its input
 * (r = 1 + r / (1 + r)). Sixty rungs differ from endless ones by far less than the tolerance. */
static void endless_ladder(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = maker_new(&arena);
    uint32_t input = make_node(&maker);
    uint32_t last = input;
    for (int rung = 0; rung < 60; rung++) {
        uint32_t node = make_node(&maker);
        make_resistor(&maker, last, node, 1);
        make_resistor(&maker, node, 0, 1);
        last = node;
    }
    make_battery(&maker, input, 0, 1, IDEAL_OHM);
    SolveResult result = solved(&arena, &maker.network);
    assert_near(result.node_v[input] / result.battery_a[0], 1.618034, ANSWER_TOLERANCE);
    arena_free(&arena);
}

/* Closed form: a bridge of 1 and 2 ohm against 2 and 4 ohm is in balance, whatever lies across. */
static void balanced_bridge(void **state) {
    (void)state;
    for (double bridge_ohm = 1e-3; bridge_ohm < 1e4; bridge_ohm *= 10) {
        Arena arena = {0};
        Maker maker = maker_new(&arena);
        uint32_t top = make_node(&maker);
        uint32_t left = make_node(&maker);
        uint32_t right = make_node(&maker);
        make_resistor(&maker, top, left, 1);
        make_resistor(&maker, left, 0, 2);
        make_resistor(&maker, top, right, 2);
        make_resistor(&maker, right, 0, 4);
        uint32_t bridge = make_resistor(&maker, left, right, bridge_ohm);
        make_battery(&maker, top, 0, 12, 0.1);
        SolveResult result = solved(&arena, &maker.network);
        assert_near(result.resistor_a[bridge], 0, 1e-12);
        arena_free(&arena);
    }
}

/* Closed form (every other Fibonacci number): three rungs of 1 ohm in series, 1 ohm across, on
 * 13 V have 5, 2 and 1 V and take 8 A. */
static void three_rungs(void **state) {
    (void)state;
    Arena arena = {0};
    Maker maker = maker_new(&arena);
    uint32_t last = make_node(&maker);
    uint32_t rungs[3];
    make_battery(&maker, last, 0, 13, IDEAL_OHM);
    for (int rung = 0; rung < 3; rung++) {
        rungs[rung] = make_node(&maker);
        make_resistor(&maker, last, rungs[rung], 1);
        make_resistor(&maker, rungs[rung], 0, 1);
        last = rungs[rung];
    }
    SolveResult result = solved(&arena, &maker.network);
    const double expected_v[3] = {5, 2, 1};
    for (int rung = 0; rung < 3; rung++) {
        assert_near(result.node_v[rungs[rung]], expected_v[rung], ANSWER_TOLERANCE);
    }
    assert_near(result.battery_a[0], 8, ANSWER_TOLERANCE);
    arena_free(&arena);
}

/* Closed form: a source of 12 V behind 1 ohm gives at most 12^2 / 4 = 36 W, at 6 V. A load of
 * constant power p draws the current of the higher root of u^2 - 12 u + p = 0. */
static void power_load_root(void **state) {
    (void)state;
    for (double power_w = 1; power_w < 36; power_w += 5) {
        Arena arena = {0};
        Maker maker = maker_new(&arena);
        uint32_t bus = make_node(&maker);
        uint32_t port = make_node(&maker);
        make_battery(&maker, bus, 0, 12, 0.75);
        make_resistor(&maker, bus, port, 0.25);
        make_load(&maker, port, 0, NETWORK_LOAD_POWER, power_w / 12, 12, 0, 0);
        SolveResult result = solved(&arena, &maker.network);
        double expected_v = 6 + sqrt(36 - power_w);
        assert_near(result.load_v[0], expected_v, 1e-9);
        assert_near(result.load_a[0], power_w / expected_v, 1e-9);
        arena_free(&arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_sources),    cmocka_unit_test(cube),
        cmocka_unit_test(endless_ladder), cmocka_unit_test(balanced_bridge),
        cmocka_unit_test(three_rungs),    cmocka_unit_test(power_load_root),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
