/* Random networks with diodes, two and more sources, power loads, alternators at their limit,
 * relays, dead and floating parts: the solver agrees with a dense Newton written apart from it, no
 * state wants to change, currents and power balance, and nothing that should not matter does. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "../support/network_dense.h"
#include "../support/network_grow.h"

enum { ODD_COUNT = 500, AIRCRAFT_COUNT = 30 };

/* The aims: voltages by nominal voltage, currents and power by their totals. */
#define AGREE_RATIO 1e-6
#define BALANCE_RATIO 1e-9
#define POWER_RATIO 1e-9
/* Two ways through the same equations leave over different parts of 1e-12 of the total current,
 * here up to some hundred amperes, over some ohms. */
#define SAME_RATIO 1e-9
/* Where everything is at rest the totals are 0: currents of a picoampere are none. */
#define REST_A 1e-12

typedef struct Tally {
    uint32_t solved, oscillating, restarted;
    uint32_t with_diode_on, with_limit, with_block, with_cut, with_power, with_floating, with_dead;
    uint32_t charging;
} Tally;

static void tally_add(Tally *tally, const Network *n, const SolveResult *r) {
    bool on = false;
    bool limit = false;
    bool block = false;
    bool cut = false;
    bool power = false;
    bool floating = false;
    bool dead = false;
    for (uint32_t i = 0; i < n->diode_count; i++) {
        on |= r->diode_a[i] > 0.01;
    }
    for (uint32_t i = 0; i < n->alternator_count; i++) {
        limit |= r->state.alternator_mode[i] == NETWORK_ALTERNATOR_LIMITING;
        block |= r->state.alternator_mode[i] == NETWORK_ALTERNATOR_BLOCKED;
    }
    for (uint32_t i = 0; i < n->load_count; i++) {
        cut |= !r->state.load_on[i];
        power |= n->loads[i].kind == NETWORK_LOAD_POWER && r->load_v[i] > n->loads[i].nominal_v / 2;
    }
    for (uint32_t i = 0; i < n->node_count; i++) {
        floating |= r->node_state[i] == SOLVE_NODE_FLOATING;
        dead |= r->node_state[i] == SOLVE_NODE_DEAD;
    }
    tally->with_diode_on += on;
    tally->with_limit += limit;
    tally->with_block += block;
    tally->with_cut += cut;
    tally->with_power += power;
    tally->with_floating += floating;
    tally->with_dead += dead;
    tally->charging += r->charge_w > 1e-3;
}

static double nominal_of(const Network *n) {
    return n->load_count > 0 ? n->loads[0].nominal_v : 14;
}

static double worst_apart(const double *a, const double *b, uint32_t count) {
    double worst = 0;
    for (uint32_t i = 0; i < count; i++) {
        worst = fmax(worst, fabs(a[i] - b[i]));
    }
    return worst;
}

/* States, balance, laws, power and node states of one answer. */
static void check_answer(Arena *arena, uint64_t seed, const Network *n, const SolveResult *r) {
    Oracle oracle = oracle_new(arena, n, r);
    double balance_a = oracle_balance_a(arena, n, r);
    if (balance_a > BALANCE_RATIO * r->total_a + REST_A) {
        fail_msg("seed %llu: %g A left over of %g A", (unsigned long long)seed, balance_a,
                 r->total_a);
    }
    double law_v = oracle_law_v(&oracle);
    if (law_v > AGREE_RATIO * nominal_of(n)) {
        fail_msg("seed %llu: an element is %g V off its law", (unsigned long long)seed, law_v);
    }
    uint32_t unwilling =
        oracle_unwilling(&oracle, 1e-6 * nominal_of(n), 1e-8 * r->total_a + REST_A);
    if (unwilling != 0) {
        fail_msg("seed %llu: %u states want to change", (unsigned long long)seed, unwilling);
    }
    double power = oracle_power_ratio(&oracle);
    if (power > POWER_RATIO) {
        fail_msg("seed %llu: power is %g off", (unsigned long long)seed, power);
    }
    for (uint32_t i = 0; i < n->node_count; i++) {
        if (r->node_state[i] != oracle_node_state(&oracle, i)) {
            fail_msg("seed %llu: node %u is %d, should be %d", (unsigned long long)seed, i,
                     (int)r->node_state[i], (int)oracle_node_state(&oracle, i));
        }
    }
}

/* Agreement with the dense Newton from its own start; where that ends elsewhere or nowhere (a plain
 * Newton has no way out of a collapse), from the answer with every voltage moved by up to 1 %. */
static bool check_dense(Arena *arena, uint64_t seed, const Network *n, const SolveResult *r) {
    Oracle oracle = oracle_new(arena, n, r);
    double *v = ARENA_ARRAY(arena, double, n->node_count);
    double allowed = AGREE_RATIO * nominal_of(n);
    if (dense_solve(arena, &oracle, NULL, r->total_a, v) &&
        worst_apart(v, r->node_v, n->node_count) <= allowed) {
        return true;
    }
    Dice dice = dice_new(seed);
    double *start = ARENA_ARRAY(arena, double, n->node_count);
    for (uint32_t i = 0; i < n->node_count; i++) {
        start[i] = r->node_v[i] * dice_between(&dice, 0.99, 1.01);
    }
    bool solved = dense_solve(arena, &oracle, start, r->total_a, v);
    double apart = worst_apart(v, r->node_v, n->node_count);
    if (!solved || apart > allowed) {
        fail_msg("seed %llu: dense Newton is %g V apart", (unsigned long long)seed, apart);
    }
    return false;
}

static void odd_networks_agree(void **state) {
    (void)state;
    Tally tally = {0};
    for (uint64_t seed = 1; seed <= ODD_COUNT; seed++) {
        Arena arena = {0};
        Network n = grow_odd(&arena, seed);
        NetworkState start = grow_odd_state(&arena, &n, seed);
        SolveResult r;
        solve_run(solve_analyse(&arena, &n), &start, NULL, &arena, &r);
        if (r.status == SOLVE_NOT_CONVERGED) {
            fail_msg("seed %llu does not converge", (unsigned long long)seed);
        }
        if (r.status == SOLVE_OK) {
            tally.solved++;
            tally_add(&tally, &n, &r);
            check_answer(&arena, seed, &n, &r);
            tally.restarted += check_dense(&arena, seed, &n, &r) ? 0U : 1U;
        } else {
            /* Only what has a memory can come back: a cut-out or a relay, named. */
            tally.oscillating++;
            assert_true(r.offender_kind == NETWORK_LOAD || r.offender_kind == NETWORK_COIL);
            assert_true(r.offender < network_kind_count(&n, r.offender_kind));
        }
        arena_free(&arena);
    }
    print_message("seeds 1..%d: %u solved, %u oscillate; dense restarted %u; diode on %u, limit "
                  "%u, blocked %u, cut %u, power %u, floating %u, dead %u, charging %u\n",
                  ODD_COUNT, tally.solved, tally.oscillating, tally.restarted, tally.with_diode_on,
                  tally.with_limit, tally.with_block, tally.with_cut, tally.with_power,
                  tally.with_floating, tally.with_dead, tally.charging);
    assert_true(tally.solved >= 300);
    assert_true(tally.with_diode_on >= 50 && tally.with_limit >= 50 && tally.with_block >= 20);
    assert_true(tally.with_cut >= 50 && tally.with_power >= 50 && tally.with_floating >= 50);
    assert_true(tally.with_dead >= 50 && tally.charging >= 20);
    assert_true(tally.restarted * 10 <= tally.solved);
}

static void aircraft_agree(void **state) {
    (void)state;
    Tally tally = {0};
    for (uint64_t seed = 1; seed <= AIRCRAFT_COUNT; seed++) {
        Arena arena = {0};
        Network n = grow_aircraft(&arena, seed, 60 + 4 * (uint32_t)seed);
        NetworkState start = grow_aircraft_state(&arena, &n);
        SolveResult r;
        assert_true(solve_run(solve_analyse(&arena, &n), &start, NULL, &arena, &r));
        check_answer(&arena, seed, &n, &r);
        assert_true(check_dense(&arena, seed, &n, &r));
        tally_add(&tally, &n, &r);
        arena_free(&arena);
    }
    assert_true(tally.with_limit == AIRCRAFT_COUNT && tally.with_power == AIRCRAFT_COUNT);
}

/* --- What must not matter -------------------------------------------------------------------- */

static void assert_same_state(uint64_t seed, const Network *n, const NetworkState *a,
                              const NetworkState *b) {
    if (memcmp(a->contact_closed, b->contact_closed, n->contact_count * sizeof(bool)) != 0 ||
        memcmp(a->coil_energised, b->coil_energised, n->coil_count * sizeof(bool)) != 0 ||
        memcmp(a->load_on, b->load_on, n->load_count * sizeof(bool)) != 0 ||
        memcmp(a->diode_on, b->diode_on, n->diode_count * sizeof(bool)) != 0 ||
        memcmp(a->alternator_mode, b->alternator_mode,
               n->alternator_count * sizeof *a->alternator_mode) != 0) {
        fail_msg("seed %llu: other states", (unsigned long long)seed);
    }
}

static void assert_same_v(uint64_t seed, const Network *n, const double *a, const double *b) {
    double apart = worst_apart(a, b, n->node_count);
    if (apart > SAME_RATIO * nominal_of(n)) {
        fail_msg("seed %llu: %g V apart", (unsigned long long)seed, apart);
    }
}

/* Every array of two results of the same network has the same bytes. */
static void assert_same_bytes(const Network *n, const SolveResult *a, const SolveResult *b) {
    assert_memory_equal(a->node_v, b->node_v, n->node_count * sizeof(double));
    assert_memory_equal(a->resistor_a, b->resistor_a, n->resistor_count * sizeof(double));
    assert_memory_equal(a->contact_a, b->contact_a, n->contact_count * sizeof(double));
    assert_memory_equal(a->coil_v, b->coil_v, n->coil_count * sizeof(double));
    assert_memory_equal(a->diode_a, b->diode_a, n->diode_count * sizeof(double));
    assert_memory_equal(a->battery_a, b->battery_a, n->battery_count * sizeof(double));
    assert_memory_equal(a->alternator_a, b->alternator_a, n->alternator_count * sizeof(double));
    assert_memory_equal(a->load_a, b->load_a, n->load_count * sizeof(double));
    assert_memory_equal(a->load_v, b->load_v, n->load_count * sizeof(double));
    assert_memory_equal(&a->counts, &b->counts, sizeof a->counts);
    assert_true(a->status == b->status && a->source_w == b->source_w && a->loss_w == b->loss_w);
}

/* Collapsed or whole, by L D L' or by KLU, from 0 V or from the answer: the same. */
static void way_does_not_matter(void **state) {
    (void)state;
    uint32_t fallbacks = 0;
    for (uint64_t seed = 1; seed <= ODD_COUNT; seed++) {
        Arena arena = {0};
        Network n = grow_odd(&arena, seed);
        NetworkState start = grow_odd_state(&arena, &n, seed);
        SolvePlan *plan = solve_analyse(&arena, &n);
        SolveResult r;
        if (!solve_run(plan, &start, NULL, &arena, &r)) {
            arena_free(&arena);
            continue;
        }
        SolveResult whole;
        assert_true(solve_run(solve_analyse_whole(&arena, &n), &start, NULL, &arena, &whole));
        assert_same_state(seed, &n, &r.state, &whole.state);
        assert_same_v(seed, &n, r.node_v, whole.node_v);
        assert_memory_equal(r.node_state, whole.node_state, n.node_count * sizeof *r.node_state);

        SolveResult pivoted;
        SolveOptions distrust = {.weak_pivot_growth = 1e-30};
        assert_true(solve_run(plan, &start, &distrust, &arena, &pivoted));
        assert_same_state(seed, &n, &r.state, &pivoted.state);
        assert_same_v(seed, &n, r.node_v, pivoted.node_v);
        fallbacks += pivoted.counts.klu_fallbacks;

        SolveResult warm;
        SolveOptions from = {.start_v = r.node_v};
        assert_true(solve_run(plan, &r.state, &from, &arena, &warm));
        assert_same_state(seed, &n, &r.state, &warm.state);
        assert_same_v(seed, &n, r.node_v, warm.node_v);
        arena_free(&arena);
    }
    assert_true(fallbacks > 1000);
}

/* A plan keeps nothing: run again, after another run, and as a clone on a copy of the numbers, it
 * gives the same bytes. */
static void runs_repeat(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= 100; seed++) {
        Arena arena = {0};
        Network n = grow_odd(&arena, seed);
        NetworkState start = grow_odd_state(&arena, &n, seed);
        SolvePlan *plan = solve_analyse(&arena, &n);
        SolveResult first;
        SolveResult again;
        SolveResult cloned;
        solve_run(plan, &start, NULL, &arena, &first);
        double ohm = n.resistors[0].ohm;
        n.resistors[0].ohm = 1;
        solve_run(plan, NULL, NULL, NULL, &again);
        n.resistors[0].ohm = ohm;
        solve_run(plan, &start, NULL, NULL, &again);
        assert_same_bytes(&n, &first, &again);
        assert_same_state(seed, &n, &first.state, &again.state);
        Network copy = n;
        copy.resistors = ARENA_ARRAY(&arena, NetworkResistor, n.resistor_count);
        memcpy(copy.resistors, n.resistors, n.resistor_count * sizeof *n.resistors);
        SolvePlan *clone = solve_plan_clone(&arena, plan, &copy);
        solve_run(clone, &start, NULL, NULL, &cloned);
        assert_same_bytes(&n, &first, &cloned);
        arena_free(&arena);
    }
}

/* to[i] = from[order[i]], item by item. */
#define SHUFFLE_ITEMS(arena, dice, items, count, order)                                            \
    do {                                                                                           \
        void *copy_ = arena_take(arena, (count) + 1, sizeof *(items));                             \
        order = ARENA_ARRAY(arena, uint32_t, (count) + 1);                                         \
        for (uint32_t i_ = 0; i_ < (count); i_++) {                                                \
            uint32_t j_ = dice_below(dice, i_ + 1);                                                \
            order[i_] = order[j_];                                                                 \
            order[j_] = i_;                                                                        \
        }                                                                                          \
        for (uint32_t i_ = 0; i_ < (count); i_++) {                                                \
            memcpy((char *)copy_ + i_ * sizeof *(items), &(items)[order[i_]], sizeof *(items));    \
        }                                                                                          \
        (items) = copy_;                                                                           \
    } while (0)

/* The order in which elements are listed does not show in the voltages. */
static void order_does_not_matter(void **state) {
    (void)state;
    uint32_t compared = 0;
    for (uint64_t seed = 1; seed <= ODD_COUNT; seed++) {
        Arena arena = {0};
        Dice dice = dice_new(seed + 7);
        Network n = grow_odd(&arena, seed);
        NetworkState start = grow_odd_state(&arena, &n, seed);
        SolveResult r;
        bool solved = solve_run(solve_analyse(&arena, &n), &start, NULL, &arena, &r);
        Network m = n;
        uint32_t *order;
        SHUFFLE_ITEMS(&arena, &dice, m.resistors, m.resistor_count, order);
        SHUFFLE_ITEMS(&arena, &dice, m.diodes, m.diode_count, order);
        SHUFFLE_ITEMS(&arena, &dice, m.contacts, m.contact_count, order);
        NetworkState other = network_state_copy(&arena, &m, &start);
        for (uint32_t i = 0; i < m.contact_count; i++) {
            other.contact_closed[i] = start.contact_closed[order[i]];
        }
        SHUFFLE_ITEMS(&arena, &dice, m.loads, m.load_count, order);
        for (uint32_t i = 0; i < m.load_count; i++) {
            other.load_on[i] = start.load_on[order[i]];
        }
        SolveResult s;
        assert_int_equal(solved, solve_run(solve_analyse(&arena, &m), &other, NULL, &arena, &s));
        if (solved) {
            assert_same_v(seed, &n, r.node_v, s.node_v);
            compared++;
        }
        arena_free(&arena);
    }
    assert_true(compared >= 300);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(odd_networks_agree),    cmocka_unit_test(aircraft_agree),
        cmocka_unit_test(way_does_not_matter),   cmocka_unit_test(runs_repeat),
        cmocka_unit_test(order_does_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
