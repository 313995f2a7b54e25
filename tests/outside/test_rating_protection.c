/* Fuses, breakers and short circuits against published gates, charts and laws: FAA AC 43.13-1B
 * Table 11-3, p. 11-15 (opened); blade fuse gates of the ISO 8820-3 family and miniature fuse gates
 * (opened second-hand); MIL-STD-975M app. A 3.9, p. A.20 (opened second-hand); Preece, Onderdonk,
 * the insulated cable engineers' and IEC 60364-5-54 forms. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "base/units.h"
#include "rating/adiabatic.h"
#include "rating/protector.h"
#include "rating/resistance.h"
#include "../near.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))
#define BLANK ((double)NAN)

/* --- wire protector chart
 * ------------------------------------------------------------------------- */

static const ProtectorWireRow chart[] = {
    {22, 5, 5},    {20, 7.5, 5},    {18, 10, 10},   {16, 15, 10}, {14, 20, 15},
    {12, 30, 20},  {10, 40, 30},    {8, 50, 50},    {6, 80, 70},  {4, 100, 70},
    {2, 125, 100}, {1, BLANK, 150}, {0, BLANK, 150}};

static RatingValue chart_a(int awg, ProtectorKind kind) {
    return protector_for_wire(chart, COUNT(chart), awg, kind);
}

/* C23, Table 11-3: No. 18 takes a 10 A breaker or fuse. Published. */
static void c23_no18(void **state) {
    (void)state;
    assert_near(chart_a(18, PROTECTOR_BREAKER).value, 10, 0.0);
    assert_near(chart_a(18, PROTECTOR_FUSE).value, 10, 0.0);
}

/* C24, Table 11-3: No. 12 takes a 30 A breaker, a 20 A fuse. Published. */
static void c24_no12(void **state) {
    (void)state;
    assert_near(chart_a(12, PROTECTOR_BREAKER).value, 30, 0.0);
    assert_near(chart_a(12, PROTECTOR_FUSE).value, 20, 0.0);
}

/* Sizes the chart leaves out or blank fall to the thinner wire's device; 24 AWG has none. */
static void table_11_3_gaps(void **state) {
    (void)state;
    RatingValue no3 = chart_a(3, PROTECTOR_BREAKER);
    assert_near(no3.value, 100, 0.0);
    assert_int_equal(no3.basis, RATING_DERIVED);
    RatingValue no1 = chart_a(1, PROTECTOR_BREAKER);
    assert_near(no1.value, 125, 0.0);
    assert_int_equal(no1.basis, RATING_DERIVED);
    assert_near(chart_a(1, PROTECTOR_FUSE).value, 150, 0.0);
    assert_int_equal(chart_a(24, PROTECTOR_FUSE).basis, RATING_NOT_PROVED);
}

/* --- fuse gates
 * ----------------------------------------------------------------------------------- */

static const ProtectorGate regular_blade[] = {
    {100, 360000, BLANK}, {135, 0.75, 600}, {200, 0.15, 5}, {350, 0.08, 0.5}, {600, BLANK, 0.15}};
static const ProtectorGate large_blade[] = {
    {100, 360000, BLANK}, {135, 60, 1800}, {200, 2, 50}, {350, 0.2, 7}, {600, 0.04, 1}};
static const ProtectorGate iec_fast[] = {
    {150, 3600, BLANK}, {210, BLANK, 1800}, {275, 0.05, 2}, {400, 0.01, 0.3}, {1000, BLANK, 0.02}};
static const ProtectorGate ul_fast[] = {{110, 14400, BLANK}, {135, BLANK, 3600}, {200, BLANK, 120}};

#define GATES(rows) ((ProtectorGates){(rows), COUNT(rows)})

/* C43: a regular blade fuse at 200 % must not open before 0.15 s: at 0.1 s it holds. */
static void c43_blade_holds(void **state) {
    (void)state;
    assert_int_equal(protector_state_by_gates(GATES(regular_blade), 200, 0.1), PROTECTOR_HOLDS);
    assert_int_equal(protector_state_by_band(GATES(regular_blade), 200, 0.1), PROTECTOR_HOLDS);
}

/* C44: and must be open after 5 s: at 5.1 s it is. Between the two nobody knows. */
static void c44_blade_is_open(void **state) {
    (void)state;
    assert_int_equal(protector_state_by_gates(GATES(regular_blade), 200, 5.1), PROTECTOR_OPEN);
    assert_int_equal(protector_state_by_band(GATES(regular_blade), 200, 5.1), PROTECTOR_OPEN);
    assert_int_equal(protector_state_by_gates(GATES(regular_blade), 200, 1.0), PROTECTOR_UNDECIDED);
}

/* C115: a 5 A fast miniature fuse at 275 % must not open before 50 ms: at 20 ms it holds. */
static void c115_miniature_holds(void **state) {
    (void)state;
    assert_int_equal(protector_state_by_gates(GATES(iec_fast), 275, 0.02), PROTECTOR_HOLDS);
}

/* Every gate of the four published classes, just inside and just outside each printed time. */
static void every_gate(void **state) {
    (void)state;
    const ProtectorGates classes[] = {GATES(regular_blade), GATES(large_blade), GATES(iec_fast),
                                      GATES(ul_fast)};
    for (size_t c = 0; c < COUNT(classes); c++) {
        assert_true(protector_gates_are_sound(classes[c]));
        for (size_t i = 0; i < classes[c].count; i++) {
            ProtectorGate gate = classes[c].rows[i];
            if (!isnan(gate.hold_s)) {
                assert_int_equal(
                    protector_state_by_gates(classes[c], gate.percent, gate.hold_s * 0.99),
                    PROTECTOR_HOLDS);
                assert_int_not_equal(
                    protector_state_by_gates(classes[c], gate.percent, gate.hold_s * 1.01),
                    PROTECTOR_HOLDS);
                assert_near(protector_band(classes[c], gate.percent).hold_s.value, gate.hold_s,
                            0.0);
            }
            if (!isnan(gate.open_s)) {
                assert_int_equal(
                    protector_state_by_gates(classes[c], gate.percent, gate.open_s * 1.01),
                    PROTECTOR_OPEN);
                assert_int_not_equal(
                    protector_state_by_gates(classes[c], gate.percent, gate.open_s * 0.99),
                    PROTECTOR_OPEN);
                assert_near(protector_band(classes[c], gate.percent).open_s.value, gate.open_s,
                            0.0);
            }
        }
    }
}

/* Breaker calibration of the MIL-C-5809 family (115 % holds an hour, 138 % trips within it;
 * memory): enough to say hold and trip, not enough for a time at 200 %. */
static void breaker_holds_and_trips(void **state) {
    (void)state;
    const ProtectorGate breaker[] = {{115, 3600, BLANK}, {138, BLANK, 3600}};
    ProtectorGates gates = GATES(breaker);
    assert_int_equal(protector_state_by_gates(gates, 100, 3000), PROTECTOR_HOLDS);
    assert_int_equal(protector_state_by_gates(gates, 115, 3599), PROTECTOR_HOLDS);
    assert_int_equal(protector_state_by_gates(gates, 120, 600), PROTECTOR_UNDECIDED);
    assert_int_equal(protector_state_by_gates(gates, 200, 3601), PROTECTOR_OPEN);
    assert_int_equal(protector_state_by_gates(gates, 200, 10), PROTECTOR_NOT_PROVED);
}

/* --- derating
 * ------------------------------------------------------------------------------------- */

static const RatingPoint space_fuse_points[] = {{0.125, 0.25}, {0.25, 0.3}, {0.375, 0.35},
                                                {0.5, 0.4},    {0.75, 0.4}, {1.0, 0.45},
                                                {1.5, 0.45},   {2, 0.5},    {15, 0.5}};

/* C160, MIL-STD-975M app. A 3.9: 5 A fuse at 65 degC: (0.50 - 0.20)*5 = 1.5 A. */
static void c160_fuse_in_the_heat(void **state) {
    (void)state;
    RatingCurve factors = {space_fuse_points, COUNT(space_fuse_points)};
    assert_near(protector_fuse_space_a(factors, 5, 65).value, 1.5, 0.001);
    assert_near(protector_fuse_space_a(factors, 2, 20).value, 1.0, 1e-9);
    /* 0.6 A lies between the rows of 0.5 and 0.75 A: the lower row's factor. */
    assert_near(protector_fuse_space_a(factors, 0.6, 25).value, 0.24, 1e-9);
    assert_near(protector_fuse_space_a(factors, 0.125, 200).value, 0.0, 0.0);
    assert_int_equal(protector_fuse_space_a(factors, 20, 25).basis, RATING_NOT_PROVED);
}

/* C161, same: a 10 A breaker into a motor carries 2.0 A. All five kinds of load. */
static void c161_breaker_into_a_motor(void **state) {
    (void)state;
    const ProtectorLoadRow rows[] = {{PROTECTOR_LOAD_RESISTIVE, 0.75},
                                     {PROTECTOR_LOAD_CAPACITIVE, 0.75},
                                     {PROTECTOR_LOAD_INDUCTIVE, 0.4},
                                     {PROTECTOR_LOAD_MOTOR, 0.2},
                                     {PROTECTOR_LOAD_LAMP, 0.1}};
    assert_near(protector_breaker_load_a(rows, 5, 10, PROTECTOR_LOAD_MOTOR).value, 2.0, 0.001);
    assert_near(protector_breaker_load_a(rows, 5, 10, PROTECTOR_LOAD_LAMP).value, 1.0, 0.001);
    assert_int_equal(protector_breaker_load_a(rows, 3, 10, PROTECTOR_LOAD_MOTOR).basis,
                     RATING_NOT_PROVED);
}

/* A large 40 A blade fuse carries 40, 34, 30, 25, 22 A at 20, 65, 85, 110, 125 degC (data-sheet
 * transcription). Between points on the line; above the last nothing is proved. */
static void blade_fuse_by_temperature(void **state) {
    (void)state;
    const RatingPoint points[] = {{20, 40}, {65, 34}, {85, 30}, {110, 25}, {125, 22}};
    RatingCurve curve = {points, COUNT(points)};
    assert_near(protector_usable_a(curve, 75).value, 32, 1e-9);
    assert_near(protector_usable_a(curve, 125).value, 22, 0.0);
    assert_near(protector_usable_a(curve, -40).value, 40, 0.0);
    assert_int_equal(protector_usable_a(curve, -40).basis, RATING_DERIVED);
    assert_int_equal(protector_usable_a(curve, 126).basis, RATING_NOT_PROVED);
}

/* --- melting and short circuits
 * ------------------------------------------------------------------- */

/* C30, C31: two rows of the published table for Preece's law (opened). */
static void c30_preece_100_a(void **state) {
    (void)state;
    assert_near(adiabatic_preece_a(0.0457), 100, 0.5);
}

static void c31_preece_10_a(void **state) {
    (void)state;
    assert_near(adiabatic_preece_a(0.0098), 10, 0.1);
}

/* All copper rows of that table. Diameters are printed to 0.0001 in, which is 1.5 times as much in
 * the current; another fifth for the page's own rounding. */
static void preece_table(void **state) {
    (void)state;
    const struct {
        double a;
        double in;
    } rows[] = {{1, 0.0021},   {2, 0.0034},   {3, 0.0044},   {4, 0.0053},   {5, 0.0062},
                {10, 0.0098},  {15, 0.0129},  {20, 0.0156},  {25, 0.0181},  {30, 0.0205},
                {35, 0.0227},  {40, 0.0248},  {45, 0.0268},  {50, 0.0288},  {60, 0.0325},
                {70, 0.036},   {80, 0.0394},  {90, 0.0426},  {100, 0.0457}, {120, 0.0516},
                {140, 0.0572}, {160, 0.0625}, {180, 0.0676}, {200, 0.0725}, {225, 0.0784},
                {250, 0.0841}, {275, 0.0897}, {300, 0.095}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        double rounding = 1.2 * 1.5 * 0.00005 / rows[i].in;
        assert_near(adiabatic_preece_a(rows[i].in), rows[i].a, rounding * rows[i].a);
    }
}

/* C32: 2581 cmil, 5 s, from 25 to 1083 degC: 168.9 A. The page with the example prints 178 A
 * because it puts 234-25 for 234+25. Recomputed. */
static void c32_onderdonk(void **state) {
    (void)state;
    assert_near(adiabatic_onderdonk_a(2581, 5, 25, ADIABATIC_COPPER_MELTS_DEGC), 168.9, 0.2);
}

/* Three more of the same law, recomputed: 22 AWG solid 1 s and 10 s, 24 AWG 1 s. */
static void onderdonk_rows(void **state) {
    (void)state;
    assert_near(adiabatic_onderdonk_a(642.4, 1, 25, 1083), 94.0, 0.05);
    assert_near(adiabatic_onderdonk_a(642.4, 10, 25, 1083), 29.7, 0.05);
    assert_near(adiabatic_onderdonk_a(404, 1, 25, 1083), 59.1, 0.05);
}

/* C33: 22 AWG (755 cmil) from 75 to 150 degC in 1 s: 40.0 A (formula opened). */
static void c33_icea(void **state) {
    (void)state;
    assert_near(adiabatic_current_a(adiabatic_icea_i2t(755, 75, 150), 1), 40.0, 0.1);
}

/* The same from other temperatures, recomputed: A2s per cmil2 and the current of 755 cmil in 1 s.
 */
static void icea_rows(void **state) {
    (void)state;
    const struct {
        double t1;
        double t2;
        double per_cmil2;
        double a;
    } rows[] = {{20, 150, 5.331076e-03, 55.1},  {70, 150, 3.013292e-03, 41.4},
                {75, 150, 2.802871e-03, 40.0},  {90, 250, 5.176720e-03, 54.3},
                {150, 200, 1.578808e-03, 30.0}, {150, 250, 2.985270e-03, 41.3}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        assert_near(adiabatic_icea_i2t(1, rows[i].t1, rows[i].t2), rows[i].per_cmil2, 1e-8);
        double i2t = adiabatic_icea_i2t(755, rows[i].t1, rows[i].t2);
        assert_near(adiabatic_current_a(i2t, 1), rows[i].a, 0.1);
        assert_near(adiabatic_time_s(i2t, adiabatic_current_a(i2t, 1)), 1.0, 1e-12);
    }
}

/* C34, IEC 60364-5-54: PVC 70 to 160 degC, k = 115 (memory, agrees with the formula). */
static void c34_iec_k(void **state) {
    (void)state;
    assert_near(adiabatic_iec_k(70, 160), 115, 0.2);
}

/* The published k of other insulations (memory): 143, 143, 176; whole numbers, so 0.5. */
static void iec_k_rows(void **state) {
    (void)state;
    assert_near(adiabatic_iec_k(90, 250), 143, 0.5);
    assert_near(adiabatic_iec_k(30, 160), 143, 0.5);
    assert_near(adiabatic_iec_k(30, 250), 176, 0.5);
}

/* The two laws differ by 1.7 % in A2s (both published); the lower one is used. */
static void laws_differ_and_the_lower_is_used(void **state) {
    (void)state;
    double mm2 = units_mm2_from_cmil(755);
    double icea = adiabatic_icea_i2t(755, 75, 150);
    double iec = adiabatic_iec_i2t(mm2, 75, 150);
    assert_near(fmax(icea, iec) / fmin(icea, iec), 1.017, 0.003);
    assert_near(adiabatic_safer_i2t(mm2, 75, 150), fmin(icea, iec), 1e-9 * iec);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c23_no18),
        cmocka_unit_test(c24_no12),
        cmocka_unit_test(table_11_3_gaps),
        cmocka_unit_test(c43_blade_holds),
        cmocka_unit_test(c44_blade_is_open),
        cmocka_unit_test(c115_miniature_holds),
        cmocka_unit_test(every_gate),
        cmocka_unit_test(breaker_holds_and_trips),
        cmocka_unit_test(c160_fuse_in_the_heat),
        cmocka_unit_test(c161_breaker_into_a_motor),
        cmocka_unit_test(blade_fuse_by_temperature),
        cmocka_unit_test(c30_preece_100_a),
        cmocka_unit_test(c31_preece_10_a),
        cmocka_unit_test(preece_table),
        cmocka_unit_test(c32_onderdonk),
        cmocka_unit_test(onderdonk_rows),
        cmocka_unit_test(c33_icea),
        cmocka_unit_test(icea_rows),
        cmocka_unit_test(c34_iec_k),
        cmocka_unit_test(iec_k_rows),
        cmocka_unit_test(laws_differ_and_the_lower_is_used),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
