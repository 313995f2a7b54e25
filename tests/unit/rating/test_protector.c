/* Proof by gates and the interpolated band: what is said, and what is left unsaid. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "rating/protector.h"
#include "../../near.h"

#define BLANK ((double)NAN)

static const ProtectorGate rows[] = {
    {100, 360000, BLANK}, {135, 0.75, 600}, {200, 0.15, 5}, {350, 0.08, 0.5}, {600, BLANK, 0.15}};
static const ProtectorGates gates = {rows, 5};

static void proof_carries_over_to_other_currents(void **state) {
    (void)state;
    /* holds at 200 % for 0.15 s, so at 150 % too; open at 200 % after 5 s, so at 300 % too */
    assert_int_equal(protector_state_by_gates(gates, 150, 0.14), PROTECTOR_HOLDS);
    assert_int_equal(protector_state_by_gates(gates, 300, 5.01), PROTECTOR_OPEN);
    assert_int_equal(protector_state_by_gates(gates, 50, 300000), PROTECTOR_HOLDS);
    assert_int_equal(protector_state_by_gates(gates, 2000, 0.2), PROTECTOR_OPEN);
    assert_int_equal(protector_state_by_gates(gates, 300, 1.0), PROTECTOR_UNDECIDED);
    assert_int_equal(protector_state_by_gates(gates, 120, 7200), PROTECTOR_UNDECIDED);
    assert_int_equal(protector_state_by_gates(gates, 50, 400000), PROTECTOR_NOT_PROVED);
    assert_int_equal(protector_state_by_gates(gates, 2000, 0.01), PROTECTOR_NOT_PROVED);
    assert_int_equal(protector_state_by_gates((ProtectorGates){NULL, 0}, 100, 1),
                     PROTECTOR_NOT_PROVED);
}

static void band_between_points(void **state) {
    (void)state;
    ProtectorBand band = protector_band(gates, sqrt(200 * 350.0));
    assert_near(band.hold_s.value, sqrt(0.15 * 0.08), 1e-12);
    assert_near(band.open_s.value, sqrt(5 * 0.5), 1e-12);
    assert_int_equal(band.open_s.basis, RATING_PUBLISHED);
    /* between 350 and 600 % only the open limit goes on; no hold time is proved any more */
    band = protector_band(gates, 400);
    assert_int_equal(band.open_s.basis, RATING_PUBLISHED);
    assert_int_equal(band.hold_s.basis, RATING_NOT_PROVED);
    assert_near(band.hold_s.value, 0, 0.0);
    /* above 600 % opening within 0.15 s still follows */
    band = protector_band(gates, 1000);
    assert_near(band.open_s.value, 0.15, 0.0);
    assert_int_equal(band.open_s.basis, RATING_DERIVED);
    /* below 135 % nothing says it ever opens */
    band = protector_band(gates, 120);
    assert_true(isinf(band.open_s.value));
    assert_int_equal(band.open_s.basis, RATING_NOT_PROVED);
    band = protector_band(gates, 60);
    assert_near(band.hold_s.value, 360000, 0.0);
    assert_int_equal(band.hold_s.basis, RATING_DERIVED);
}

/* The interpolated band may say more than the proof, never the opposite. */
static void band_never_contradicts_the_proof(void **state) {
    (void)state;
    for (double percent = 40; percent < 1500; percent *= 1.03) {
        for (double seconds = 0.01; seconds < 1e6; seconds *= 1.4) {
            ProtectorState proof = protector_state_by_gates(gates, percent, seconds);
            ProtectorState band = protector_state_by_band(gates, percent, seconds);
            if (proof == PROTECTOR_HOLDS || proof == PROTECTOR_OPEN) {
                assert_int_equal(band, proof);
            }
        }
    }
}

static void band_states(void **state) {
    (void)state;
    assert_int_equal(protector_state_by_band(gates, 300, 1.0), PROTECTOR_OPEN);
    assert_int_equal(protector_state_by_band(gates, 300, 0.09), PROTECTOR_HOLDS);
    assert_int_equal(protector_state_by_band(gates, 300, 0.3), PROTECTOR_UNDECIDED);
    assert_int_equal(protector_state_by_band(gates, 120, 1e6), PROTECTOR_NOT_PROVED);
    assert_int_equal(protector_state_by_band(gates, 400, 0.01), PROTECTOR_NOT_PROVED);
    assert_string_equal(protector_state_name(PROTECTOR_NOT_PROVED), "not proved");
}

static void gates_that_contradict_each_other(void **state) {
    (void)state;
    const ProtectorGate crossed[] = {{100, 10, 5}};
    const ProtectorGate rising[] = {{100, 10, 20}, {200, 15, 18}};
    const ProtectorGate unsorted[] = {{200, 1, 2}, {100, 10, 20}};
    assert_true(protector_gates_are_sound(gates));
    assert_false(protector_gates_are_sound((ProtectorGates){crossed, 1}));
    assert_false(protector_gates_are_sound((ProtectorGates){rising, 2}));
    assert_false(protector_gates_are_sound((ProtectorGates){unsorted, 2}));
    assert_int_equal(protector_state_by_gates((ProtectorGates){crossed, 1}, 100, 7),
                     PROTECTOR_NOT_PROVED);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(proof_carries_over_to_other_currents),
        cmocka_unit_test(band_between_points),
        cmocka_unit_test(band_never_contradicts_the_proof),
        cmocka_unit_test(band_states),
        cmocka_unit_test(gates_that_contradict_each_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
