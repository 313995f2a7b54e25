/* One wire against the devices that clear it, and one device against the next: what is proved, what
 * fails at which edge, what is left open, what memory may say. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "power/guard_judge.h"
#include "../../near.h"

#define BLANK ((double)NAN)

/* 22 AWG at 60 degC in 40 degC, 9 A for good: 150 degC after about 0.47 s at 65 A. */
static HeatingWire thin(void) {
    return heating_wire(0.382, 60, 150, 40, 9);
}

static const ProtectorGate QUICK[] = {
    {110, 3600, BLANK}, {135, 1, 100}, {200, 0.1, 5}, {600, 0.02, 0.1}, {2000, 0.005, 0.02}};
static const ProtectorGate SLOW[] = {
    {110, 3600, BLANK}, {135, 100, 900}, {600, 1, 20}, {2000, 0.5, 4}};
static const ProtectorGate HOUR[] = {{115, 3600, BLANK}, {140, BLANK, 3600}};

static GuardDevice device_of(double rating_a, const ProtectorGate *all, size_t all_count,
                             const ProtectorGate *firm, size_t firm_count) {
    return (GuardDevice){.rating_a = rating_a, .all = {all, all_count}, .firm = {firm, firm_count}};
}

static GuardJudgement judge_one(const GuardDevice *device, double current_a) {
    HeatingWire wire = thin();
    GuardStage stage = {current_a, current_a, device};
    return guard_judge(&wire, &stage, 1);
}

static void quick_device_is_proved(void **state) {
    (void)state;
    GuardDevice device = device_of(5, QUICK, 5, QUICK, 5);
    GuardJudgement told = judge_one(&device, 65); /* 1300 % */
    assert_int_equal(told.verdict, GUARD_PROVED);
    assert_true(told.covered && !told.memory);
    assert_true(told.slow_s < told.damage_s);
    assert_near(told.margin, told.damage_s / told.slow_s, 1e-9);
}

static void slow_device_fails_at_its_edge(void **state) {
    (void)state;
    GuardDevice device = device_of(5, SLOW, 4, SLOW, 4);
    GuardJudgement told = judge_one(&device, 30); /* 600 %: 1 to 20 s; the wire stands about 2 s */
    assert_int_equal(told.verdict, GUARD_FAILS);
    assert_int_equal(told.edge, GUARD_EDGE_SLOW);
    assert_true(told.margin < 1);
    told = judge_one(&device, 65); /* not before 0.67 s; the wire stands less */
    assert_int_equal(told.verdict, GUARD_FAILS);
    assert_int_equal(told.edge, GUARD_EDGE_FAST);
    assert_false(told.memory);
}

/* Beyond the last gate only a bound is left: it may prove, it may not condemn. */
static void beyond_the_gates(void **state) {
    (void)state;
    GuardDevice device = device_of(5, HOUR, 2, HOUR, 2);
    GuardJudgement told = judge_one(&device, 65);
    assert_int_equal(told.verdict, GUARD_NOT_PROVED);
    assert_false(told.covered);
    device = device_of(1, QUICK, 5, QUICK, 5);
    told = judge_one(&device, 65); /* 6500 %: within 0.02 s all the same */
    assert_int_equal(told.verdict, GUARD_PROVED);
    assert_near(told.slow_s, 0.02, 0);
    device = device_of(5, NULL, 0, NULL, 0);
    told = judge_one(&device, 65);
    assert_int_equal(told.verdict, GUARD_NOT_PROVED);
    assert_true(isinf(told.slow_s) && isnan(told.margin));
    device = device_of(BLANK, QUICK, 5, QUICK, 5);
    assert_int_equal(judge_one(&device, 65).verdict, GUARD_NOT_PROVED);
}

/* What memory says never proves; it condemns, and says so. */
static void memory_only_makes_stricter(void **state) {
    (void)state;
    GuardDevice device = device_of(5, QUICK, 5, NULL, 0);
    GuardJudgement told = judge_one(&device, 65);
    assert_int_equal(told.verdict, GUARD_NOT_PROVED);
    assert_true(told.memory);
    device = device_of(5, SLOW, 4, NULL, 0);
    told = judge_one(&device, 30);
    assert_int_equal(told.verdict, GUARD_FAILS);
    assert_true(told.memory);
    told = judge_one(&device, 65);
    assert_int_equal(told.edge, GUARD_EDGE_FAST);
    assert_true(told.memory);
}

static void what_it_carries_needs_no_device(void **state) {
    (void)state;
    GuardDevice device = device_of(50, QUICK, 5, QUICK, 5);
    GuardJudgement told = judge_one(&device, 9);
    assert_int_equal(told.verdict, GUARD_PROVED);
    assert_true(isinf(told.damage_s));
}

/* Two devices one after the other: the wire uses a share of its time in each. */
static void stages_add_up(void **state) {
    (void)state;
    HeatingWire wire = thin();
    GuardDevice device = device_of(5, QUICK, 5, QUICK, 5);
    const GuardStage stages[2] = {{65, 65, &device}, {30, 30, &device}};
    GuardJudgement both = guard_judge(&wire, stages, 2);
    GuardJudgement one = guard_judge(&wire, stages, 1);
    GuardJudgement two = guard_judge(&wire, stages + 1, 1);
    assert_near(both.slow_s, one.slow_s + two.slow_s, 1e-12);
    assert_near(1 / both.margin, 1 / one.margin + 1 / two.margin, 1e-9);
    assert_true(guard_is_worse(&both, &one));
}

static void order_of_two(void **state) {
    (void)state;
    GuardDevice near = device_of(5, QUICK, 5, QUICK, 5);
    GuardDevice far = device_of(20, SLOW, 4, SLOW, 4);
    GuardSelection told = guard_select(&near, 50, &far, 50);
    assert_int_equal(told.order, GUARD_ORDER_SELECTIVE); /* 1000 % in 0.1 s, 250 % not in seconds */
    told = guard_select(&far, 60, &near, 60);
    assert_int_equal(told.order, GUARD_ORDER_REVERSED);
    GuardDevice same = device_of(7, QUICK, 5, QUICK, 5);
    told = guard_select(&near, 50, &same, 50);
    assert_int_equal(told.order, GUARD_ORDER_EITHER);
    GuardDevice hour = device_of(5, HOUR, 2, HOUR, 2);
    told = guard_select(&hour, 50, &far, 50);
    assert_int_equal(told.order, GUARD_ORDER_NOT_PROVED);
    GuardDevice dim = device_of(20, SLOW, 4, NULL, 0);
    told = guard_select(&near, 50, &dim, 50);
    assert_int_equal(told.order, GUARD_ORDER_NOT_PROVED);
    assert_true(told.memory);
    /* up to its rating the one upstream never opens, whatever is known of it */
    told = guard_select(&near, 50, &dim, 20);
    assert_int_equal(told.order, GUARD_ORDER_SELECTIVE);
    assert_false(told.memory);
    told = guard_select(&(GuardDevice){.rating_a = 5}, 50, &dim, 20);
    assert_int_equal(told.order, GUARD_ORDER_NOT_PROVED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quick_device_is_proved),
        cmocka_unit_test(slow_device_fails_at_its_edge),
        cmocka_unit_test(beyond_the_gates),
        cmocka_unit_test(memory_only_makes_stricter),
        cmocka_unit_test(what_it_carries_needs_no_device),
        cmocka_unit_test(stages_add_up),
        cmocka_unit_test(order_of_two),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
