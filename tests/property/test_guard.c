/* Guard on the examples: every current that it reports is found again by solving the network with
 * the short in it from nothing, the phase's own way (whole network, contacts and coils as they are,
 * no parts, no updates); and what must hold for any wire, device and current. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/prove.h"
#include "power/guard.h"

/* Volts of the two ways apart, times the conductance of a short wire. */
#define AGREE_SHARE 1e-5

/* --- currents from nothing ----------------------------------------------------------------------
 */

static void read_example(const char *name, Proof *proof) {
    char job[512];
    snprintf(job, sizeof job, MARLING_SOURCE_DIR "/examples/%s", name);
    ProofOptions options = {
        .library = MARLING_SOURCE_DIR "/library", .no_results = true, .no_faults = true};
    proof_run(job, &options, proof);
    assert_true(proof->complete);
}

/* The whole network with loads and coils as resistances, cold copper when asked, and the short. */
static double short_a(Proof *proof, uint32_t phase, bool cold, uint32_t node, uint32_t target,
                      double ohm, uint32_t resistor) {
    Arena arena = {0};
    const Network *from = &proof->network.network;
    const SolveResult *point = &proof->phases.results[phase];
    NetworkState state = network_state_copy(&arena, from, &point->state);
    phases_set(&proof->network, &proof->model, &proof->supply, phase,
               proof->supply.positions[phase], &state);
    phases_stop_unfed(&proof->network, point, NULL);
    BuildOptions options = {.awg = proof->sizing.awg, .rating_a = proof->sizing.rating_a};
    PowerNetwork built;
    Findings unheard = {.arena = &arena};
    assert_true(build_network(&arena, &proof->model, &proof->wiring, &proof->routing,
                              &proof->disconnects, &proof->supply, &options, &built, &unheard));
    Network whole = *from;
    whole.resistor_count = from->resistor_count + from->load_count + from->coil_count + 1;
    whole.resistors = ARENA_ARRAY(&arena, NetworkResistor, whole.resistor_count);
    whole.contacts = ARENA_ARRAY(&arena, NetworkContact, from->contact_count);
    whole.load_count = 0;
    whole.coil_count = 0;
    NetworkResistor *to = whole.resistors;
    for (uint32_t i = 0; i < from->resistor_count; i++) {
        *to++ = cold ? built.network.resistors[i] : from->resistors[i];
    }
    for (uint32_t i = 0; i < from->load_count; i++) {
        double amps_a = point->load_a[i];
        double own = amps_a != 0.0 ? point->load_v[i] / amps_a : (double)INFINITY;
        *to++ = (NetworkResistor){from->loads[i].plus, from->loads[i].minus,
                                  own > 0.0 ? own : (double)INFINITY};
    }
    for (uint32_t i = 0; i < from->coil_count; i++) {
        *to++ = (NetworkResistor){from->coils[i].plus, from->coils[i].minus, from->coils[i].ohm};
    }
    *to = (NetworkResistor){node, target, ohm};
    for (uint32_t i = 0; i < from->contact_count; i++) {
        whole.contacts[i] = from->contacts[i];
        whole.contacts[i].coil = NETWORK_NONE;
    }
    NetworkState start = network_state_rest(&arena, &whole);
    memcpy(start.contact_closed, point->state.contact_closed,
           from->contact_count * sizeof *start.contact_closed);
    SolvePlan *plan = solve_analyse_whole(&arena, &whole);
    SolveResult result = {0};
    assert_true(solve_run(plan, &start, NULL, &arena, &result));
    double amps_a = fabs(result.resistor_a[resistor]);
    arena_free(&arena);
    return amps_a;
}

static uint32_t check_fault(Proof *proof, const GuardRow *row, const GuardFault *fault, bool cold) {
    if (row->at == ID_NONE || row->held || row->by_return || fault->phase == ID_NONE ||
        fault->lost || !(fault->wire_a > 0.0)) {
        return 0;
    }
    uint32_t node = proof->network.point_node[row->at];
    double ohm = cold ? BUILD_BOLTED_OHM : model_limit(&proof->model, GUARD_LIMIT_CONTACT) / 1000.0;
    double whole_a = short_a(proof, fault->phase, cold, node, 0, ohm,
                             proof->network.conductor_resistor[row->conductor]);
    if (!(fabs(whole_a - fault->wire_a) <= AGREE_SHARE * whole_a)) {
        fail_msg("%s, %s: %.9f A, from nothing %.9f A",
                 proof->wiring.conductors[row->conductor].key, cold ? "bolted" : "contact",
                 fault->wire_a, whole_a);
    }
    return 1;
}

static void currents_are_found_again(void **state) {
    (void)state;
    const char *const NAMES[] = {"osier_mended", "osier", "first"};
    for (int n = 0; n < 3; n++) {
        Proof proof;
        read_example(NAMES[n], &proof);
        uint32_t checked = 0;
        for (uint32_t i = 0; i < proof.guard.row_count; i++) {
            const GuardRow *row = &proof.guard.rows[i];
            checked += check_fault(&proof, row, &row->high, true);
            checked += check_fault(&proof, row, &row->low, false);
        }
        print_message("%s: %u currents found again\n", NAMES[n], checked);
        assert_true(checked >= (n == 2 ? 12U : 120U));
        proof_free(&proof);
    }
}

/* --- what holds for any wire --------------------------------------------------------------------
 */

static double random_between(uint64_t *seed, double low, double high) {
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    return low + (high - low) * ((double)(*seed >> 11) * 0x1p-53);
}

/* Sound gates: limits that fall with the percentage. */
static size_t random_gates(uint64_t *seed, ProtectorGate *gates) {
    size_t count = 2 + (size_t)random_between(seed, 0, 5);
    double percent = random_between(seed, 100, 150);
    double hold_s = pow(10, random_between(seed, 0, 4));
    double open_s = hold_s * pow(10, random_between(seed, 0, 2));
    for (size_t i = 0; i < count; i++) {
        gates[i] = (ProtectorGate){percent, hold_s, open_s};
        percent *= random_between(seed, 1.2, 3);
        hold_s *= random_between(seed, 0.02, 0.9);
        open_s = fmax(hold_s, open_s * random_between(seed, 0.02, 0.9));
    }
    return count;
}

static void more_current_never_clears_later(void **state) {
    (void)state;
    uint64_t seed = 20260611;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (int n = 0; n < 2000; n++) {
        ProtectorGate rows[8];
        ProtectorGates gates = {rows, random_gates(&seed, rows)};
        assert_true(protector_gates_are_sound(gates));
        GuardDevice device = {
            .rating_a = random_between(&seed, 1, 80), .all = gates, .firm = gates};
        double start_degc = random_between(&seed, 20, 140);
        double area = random_between(&seed, 0.2, 30);
        HeatingWire wire =
            heating_wire(area, start_degc, 150, fmin(start_degc, 70), 12 * pow(area, 0.65));
        double last_slow = (double)INFINITY;
        double last_fast = (double)INFINITY;
        double last_damage = (double)INFINITY;
        for (double amps_a = device.rating_a; amps_a < 40 * device.rating_a; amps_a *= 1.15) {
            GuardStage stage = {amps_a, amps_a, &device};
            GuardJudgement told = guard_judge(&wire, &stage, 1);
            assert_true(told.slow_s <= last_slow * (1 + 1e-12));
            assert_true(told.fast_s <= last_fast * (1 + 1e-12));
            assert_true(told.damage_s <= last_damage * (1 + 1e-12));
            assert_true(told.fast_s <= told.slow_s * (1 + 1e-12));
            last_slow = told.slow_s;
            last_fast = told.fast_s;
            last_damage = told.damage_s;
        }
    }
}

static void a_thicker_wire_is_never_judged_worse(void **state) {
    (void)state;
    uint64_t seed = 991;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (int n = 0; n < 4000; n++) {
        ProtectorGate rows[8];
        ProtectorGates gates = {rows, random_gates(&seed, rows)};
        ProtectorGates firm = {rows, random_between(&seed, 0, 1) < 0.5 ? gates.count : 0};
        GuardDevice device = {.rating_a = random_between(&seed, 1, 80), .all = gates, .firm = firm};
        double start_degc = random_between(&seed, 20, 140);
        double amps_a = device.rating_a * random_between(&seed, 1, 30);
        double area = random_between(&seed, 0.2, 10);
        GuardStage stage = {amps_a, amps_a, &device};
        GuardJudgement last = {0};
        for (int i = 0; i < 8; i++) {
            HeatingWire wire =
                heating_wire(area, start_degc, 150, fmin(start_degc, 70), 12 * pow(area, 0.65));
            GuardJudgement told = guard_judge(&wire, &stage, 1);
            if (i > 0) {
                assert_true(told.verdict <= last.verdict);
                assert_true(told.damage_s >= last.damage_s);
            }
            last = told;
            area *= 1.26; /* a gauge */
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(currents_are_found_again),
        cmocka_unit_test(more_current_never_clears_later),
        cmocka_unit_test(a_thicker_wire_is_never_judged_worse),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
