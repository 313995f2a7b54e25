/* The parts library against the published tables it was built from, value by value. The numbers
 * here were typed from the sources anew, so a slip of the hand in library/ shows. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/units.h"
#include "near.h"
#include "table/rows.h"

static Arena arena;
static TableSet set;

static int read_library(void **state) {
    (void)state;
    Findings findings = {.arena = &arena};
    Status status =
        table_read_folder(&arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY, &set, &findings);
    table_check(&arena, &set, &findings);
    return status.failed || findings.count > 0 ? 1 : 0;
}

static int free_library(void **state) {
    (void)state;
    arena_free(&arena);
    return 0;
}

static const WireRow *wire_of(const char *spec, int32_t awg) {
    for (size_t i = 0; i < set.wire.count; i++) {
        if (strcmp(set.wire.rows[i].spec, spec) == 0 && set.wire.rows[i].awg == awg) {
            return &set.wire.rows[i];
        }
    }
    fail_msg("no wire %s %d", spec, awg);
    return NULL;
}

/* AC 43.13-1B CHG 1, Table 11-9, page 11-23: amps at 105, 150, 200 degC. */
static void table_11_9_amps(void **state) {
    (void)state;
    static const double ROWS[][4] = {
        {24, 2.5, 4, 5},    {22, 3, 5, 6},      {20, 4, 7, 9},       {18, 6, 9, 12},
        {16, 7, 11, 14},    {14, 10, 14, 18},   {12, 13, 19, 25},    {10, 17, 26, 32},
        {8, 38, 57, 71},    {6, 50, 76, 97},    {4, 68, 103, 133},   {2, 95, 141, 179},
        {1, 113, 166, 210}, {0, 128, 192, 243}, {-1, 147, 222, 285},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const WireRatingRow *found = NULL;
        for (size_t k = 0; k < set.wire_rating.count; k++) {
            const WireRatingRow *row = &set.wire_rating.rows[k];
            found = row->awg == (int32_t)ROWS[i][0] ? row : found;
        }
        assert_non_null(found);
        assert_near(found->at105_a, ROWS[i][1], 0.0);
        assert_near(found->at150_a, ROWS[i][2], 0.0);
        assert_near(found->at200_a, ROWS[i][3], 0.0);
    }
}

/* AC 43.13-1B CHG 1, Table 11-9: ohm per 1000 ft at 20 degC. The library keeps this figure, or the
 * wire specification's where that is higher; never less. Tolerance: the library's four decimals. */
static void table_11_9_resistance(void **state) {
    (void)state;
    static const double ROWS[][2] = {
        {24, 28.40}, {22, 16.20}, {20, 9.88}, {18, 6.23}, {16, 4.81},
        {14, 3.06},  {12, 2.02},  {10, 1.26}, {8, 0.70},  {6, 0.44},
        {4, 0.28},   {2, 0.18},   {1, 0.15},  {0, 0.12},  {-1, 0.09},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        double table = units_ohm_per_km_from_ohm_per_kft(ROWS[i][1]);
        bool usual = false;
        for (size_t k = 0; k < set.wire.count; k++) {
            const WireRow *row = &set.wire.rows[k];
            if (row->awg != (int32_t)ROWS[i][0] || strcmp(row->use, "usual") != 0) {
                continue;
            }
            usual = true;
            assert_true(row->r20_ohm_per_km >= table - 1e-3);
            assert_near(isnan(row->hand_ohm_per_km) ? row->r20_ohm_per_km : row->hand_ohm_per_km,
                        table, 1e-3);
        }
        assert_true(usual);
    }
}

/* AC 43.13-1B, Table 11-3, page 11-15: largest breaker and fuse of a gauge. Lists paired by count.
 */
static void table_11_3_protectors(void **state) {
    (void)state;
    static const double ROWS[][3] = {
        {22, 5, 5},   {20, 7.5, 5}, {18, 10, 10}, {16, 15, 10}, {14, 20, 15},  {12, 30, 20},
        {10, 40, 30}, {8, 50, 50},  {6, 80, 70},  {4, 100, 70}, {2, 125, 100},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const ProtectorRow *found = NULL;
        for (size_t k = 0; k < set.protector.count; k++) {
            const ProtectorRow *row = &set.protector.rows[k];
            found = row->awg == (int32_t)ROWS[i][0] ? row : found;
        }
        assert_non_null(found);
        assert_near(found->breaker_a, ROWS[i][1], 0.0);
        assert_near(found->fuse_a, ROWS[i][2], 0.0);
    }
}

/* AC 43.13-1B, Table 11-6, page 11-21: allowed drop. Intermittent at 28 V from memory. */
static void table_11_6_drops(void **state) {
    (void)state;
    static const double ROWS[][3] = {
        {14, 0.5, 1.0},
        {28, 1.0, 2.0},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const DropLimitRow *found = NULL;
        for (size_t k = 0; k < set.drop_limit.count; k++) {
            const DropLimitRow *row = &set.drop_limit.rows[k];
            found = row->nominal_v == ROWS[i][0] ? row : found;
        }
        assert_non_null(found);
        assert_near(found->continuous_v, ROWS[i][1], 0.0);
        assert_near(found->intermittent_v, ROWS[i][2], 0.0);
    }
}

/* MIL-W-5088L Figure 3 as digitised in a public note: b and m of each gauge. */
static void figure_3_free_air(void **state) {
    (void)state;
    static const double ROWS[][3] = {
        {10, 7.56, 0.475}, {12, 5.81, 0.473}, {14, 4.19, 0.482},
        {16, 3.12, 0.483}, {18, 2.77, 0.474}, {20, 2.21, 0.461},
        {22, 1.83, 0.442}, {24, 1.35, 0.447}, {26, 0.964, 0.458},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const FreeAirRow *found = NULL;
        for (size_t k = 0; k < set.free_air.count; k++) {
            const FreeAirRow *row = &set.free_air.rows[k];
            found = row->awg == (int32_t)ROWS[i][0] ? row : found;
        }
        assert_non_null(found);
        assert_near(found->b, ROWS[i][1], 0.0);
        assert_near(found->m, ROWS[i][2], 0.0);
    }
}

/* MIL-W-5088L bundle figure as transcribed by hand, one row a point. */
static void bundle_curves(void **state) {
    (void)state;
    static const double ROWS[][3] = {
        {1, 20, 1},       {1, 40, 1},       {1, 60, 1},       {1, 80, 1},       {1, 100, 1},
        {2, 20, 0.9675},  {2, 40, 0.92},    {2, 60, 0.91},    {2, 80, 0.87},    {2, 100, 0.825},
        {3, 20, 0.935},   {3, 40, 0.855},   {3, 60, 0.815},   {3, 80, 0.77},    {3, 100, 0.725},
        {4, 20, 0.9075},  {4, 40, 0.805},   {4, 60, 0.75},    {4, 80, 0.705},   {4, 100, 0.66},
        {5, 20, 0.875},   {5, 40, 0.76},    {5, 60, 0.695},   {5, 80, 0.65},    {5, 100, 0.61},
        {6, 20, 0.85},    {6, 40, 0.725},   {6, 60, 0.655},   {6, 80, 0.605},   {6, 100, 0.5725},
        {7, 20, 0.82},    {7, 40, 0.695},   {7, 60, 0.625},   {7, 80, 0.57},    {7, 100, 0.54},
        {8, 20, 0.795},   {8, 40, 0.6675},  {8, 60, 0.595},   {8, 80, 0.5425},  {8, 100, 0.5125},
        {9, 20, 0.775},   {9, 40, 0.645},   {9, 60, 0.575},   {9, 80, 0.52},    {9, 100, 0.485},
        {10, 20, 0.755},  {10, 40, 0.6225}, {10, 60, 0.55},   {10, 80, 0.5},    {10, 100, 0.465},
        {11, 20, 0.735},  {11, 40, 0.6},    {11, 60, 0.53},   {11, 80, 0.48},   {11, 100, 0.445},
        {12, 20, 0.715},  {12, 40, 0.585},  {12, 60, 0.515},  {12, 80, 0.465},  {12, 100, 0.43},
        {13, 20, 0.6975}, {13, 40, 0.5675}, {13, 60, 0.495},  {13, 80, 0.4475}, {13, 100, 0.415},
        {14, 20, 0.685},  {14, 40, 0.5525}, {14, 60, 0.48},   {14, 80, 0.435},  {14, 100, 0.3975},
        {15, 20, 0.67},   {15, 40, 0.54},   {15, 60, 0.465},  {15, 80, 0.42},   {15, 100, 0.385},
        {16, 20, 0.6575}, {16, 40, 0.5275}, {16, 60, 0.455},  {16, 80, 0.41},   {16, 100, 0.37},
        {17, 20, 0.645},  {17, 40, 0.515},  {17, 60, 0.4425}, {17, 80, 0.3975}, {17, 100, 0.36},
        {18, 20, 0.635},  {18, 40, 0.505},  {18, 60, 0.4325}, {18, 80, 0.3875}, {18, 100, 0.35},
        {19, 20, 0.625},  {19, 40, 0.495},  {19, 60, 0.4225}, {19, 80, 0.38},   {19, 100, 0.3425},
        {20, 20, 0.615},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const BundleFactorRow *found = NULL;
        for (size_t k = 0; k < set.bundle_factor.count; k++) {
            const BundleFactorRow *row = &set.bundle_factor.rows[k];
            found = row->wires == (int32_t)ROWS[i][0] && row->load_pct == ROWS[i][1] ? row : found;
        }
        assert_non_null(found);
        assert_near(found->factor, ROWS[i][2], 0.0);
    }
}

/* A connector data sheet that cites MIL-C-26482 and MIL-T-7928: current by gauge in a contact. */
static void contact_currents(void **state) {
    (void)state;
    static const double ROWS[][4] = {
        {26, 3, 2, 1},     {24, 4.5, 3, 2},  {22, 9, 5, 3},    {20, 11, 7.5, 5},
        {18, 16, 10, 7.5}, {16, 22, 13, 10}, {14, 32, 17, 13},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const ContactCurrentRow *found = NULL;
        for (size_t k = 0; k < set.contact_current.count; k++) {
            const ContactCurrentRow *row = &set.contact_current.rows[k];
            found = row->awg == (int32_t)ROWS[i][0] ? row : found;
        }
        assert_non_null(found);
        assert_near(found->max_a, ROWS[i][1], 0.0);
        assert_near(found->operating_a, ROWS[i][2], 0.0);
        assert_near(found->recommended_a, ROWS[i][3], 0.0);
    }
}

/* AC 43.13-1B, Table 11-4, page 11-17: switch derating factors. */
static void table_11_4_switches(void **state) {
    (void)state;
    static const struct {
        double nominal_v;
        const char *load;
        double factor;
    } ROWS[] = {
        {28, "lamp", 8}, {28, "inductive", 4}, {28, "resistive", 2}, {28, "motor", 3},
        {12, "lamp", 5}, {12, "inductive", 2}, {12, "resistive", 1}, {12, "motor", 2},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const SwitchFactorRow *found = NULL;
        for (size_t k = 0; k < set.switch_factor.count; k++) {
            const SwitchFactorRow *row = &set.switch_factor.rows[k];
            bool same = row->nominal_v == ROWS[i].nominal_v && strcmp(row->load, ROWS[i].load) == 0;
            found = same ? row : found;
        }
        assert_non_null(found);
        assert_near(found->factor, ROWS[i].factor, 0.0);
    }
}

/* Pull-out minima: UL 486A (commercial) and MIL-T-7928 (military), lbf; military 8 and thicker from
 * memory. 10 AWG commercial is 80 lbf in two reproductions and 90 in one: the stricter is kept. The
 * library has newtons, rounded to 0.1. */
static void pull_forces(void **state) {
    (void)state;
    static const double ROWS[][3] = {
        {26, 3, 7},    {24, 5, 10},   {22, 8, 15},   {20, 13, 19},  {18, 20, 38},
        {16, 30, 50},  {14, 50, 70},  {12, 70, 110}, {10, 90, 150}, {8, 90, 225},
        {6, 100, 300}, {4, 140, 400}, {2, 180, 550}, {0, 250, 700}, {-1, 300, 750},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        int seen = 0;
        for (size_t k = 0; k < set.pull_force.count; k++) {
            const PullForceRow *row = &set.pull_force.rows[k];
            if (row->awg != (int32_t)ROWS[i][0] || strcmp(row->class, "contact") == 0) {
                continue;
            }
            bool military = strcmp(row->class, "military") == 0;
            assert_near(row->force_n, units_n_from_lbf(ROWS[i][military ? 2 : 1]), 0.06);
            seen++;
        }
        assert_int_equal(seen, 2);
    }
}

/* AS22759/16 and /32 data-sheet transcriptions: nominal outer diameter in inches (checks C78-C83).
 */
static void wire_diameters(void **state) {
    (void)state;
    static const struct {
        const char *spec;
        int32_t awg;
        double inch;
    } ROWS[] = {{"AS22759/16", 22, 0.052}, {"AS22759/16", 20, 0.060}, {"AS22759/16", 12, 0.114},
                {"AS22759/16", 8, 0.199},  {"AS22759/32", 22, 0.043}, {"AS22759/32", 12, 0.103}};
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const WireRow *wire = wire_of(ROWS[i].spec, ROWS[i].awg);
        /* Half a thousandth of an inch, the last printed digit. */
        assert_near(wire->od_mm / UNITS_MM_PER_IN, ROWS[i].inch, 0.0005);
    }
}

/* AS22759/16, 24 AWG: 26.2 ohm per 1000 ft; AC Table 11-9 prints 28.40, and the higher is kept
 * (check C85). */
static void thin_wire_takes_the_higher_resistance(void **state) {
    (void)state;
    const WireRow *wire = wire_of("AS22759/16", 24);
    double kft = units_ohm_per_kft_from_ohm_per_km(wire->r20_ohm_per_km);
    assert_true(kft >= 26.2);
    assert_near(kft, 28.40, 0.005);
}

/* MIL-DTL-24308 and DIN 41652: contacts in each row, wide side first. */
static void dsub_rows(void **state) {
    (void)state;
    static const struct {
        const char *shell;
        int32_t ways;
        const char *rows;
    } ROWS[] = {{"dsub-9", 9, "5+4"},        {"dsub-15", 15, "8+7"},      {"dsub-25", 25, "13+12"},
                {"dsub-37", 37, "19+18"},    {"dsub-50", 50, "17+16+17"}, {"hd-15", 15, "5+5+5"},
                {"hd-26", 26, "9+9+8"},      {"hd-44", 44, "15+15+14"},   {"hd-62", 62, "21+21+20"},
                {"hd-78", 78, "20+19+20+19"}};
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        const ShellRow *found = NULL;
        size_t cavities = 0;
        for (size_t k = 0; k < set.shell.count; k++) {
            found =
                strcmp(set.shell.rows[k].shell, ROWS[i].shell) == 0 ? &set.shell.rows[k] : found;
        }
        for (size_t k = 0; k < set.cavity.count; k++) {
            cavities += strcmp(set.cavity.rows[k].shell, ROWS[i].shell) == 0;
        }
        assert_non_null(found);
        assert_int_equal(found->ways, ROWS[i].ways);
        assert_string_equal(found->rows, ROWS[i].rows);
        assert_int_equal(cavities, ROWS[i].ways);
    }
}

/* DIN 41652: pitch 2.77 mm, rows 2.84 mm apart, contact 1 top left on the pin half's mating face.
 */
static void dsub_first_contact(void **state) {
    (void)state;
    for (size_t k = 0; k < set.cavity.count; k++) {
        const CavityRow *row = &set.cavity.rows[k];
        if (strcmp(row->shell, "dsub-9") == 0 && strcmp(row->cavity, "1") == 0) {
            assert_near(row->x_mm, -5.54, 0.02);
            assert_near(row->y_mm, 1.42, 0.02);
            return;
        }
    }
    fail_msg("dsub-9 has no cavity 1");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(table_11_9_amps),
        cmocka_unit_test(table_11_9_resistance),
        cmocka_unit_test(table_11_3_protectors),
        cmocka_unit_test(table_11_4_switches),
        cmocka_unit_test(table_11_6_drops),
        cmocka_unit_test(figure_3_free_air),
        cmocka_unit_test(bundle_curves),
        cmocka_unit_test(contact_currents),
        cmocka_unit_test(pull_forces),
        cmocka_unit_test(wire_diameters),
        cmocka_unit_test(thin_wire_takes_the_higher_resistance),
        cmocka_unit_test(dsub_rows),
        cmocka_unit_test(dsub_first_contact),
    };
    return cmocka_run_group_tests(tests, read_library, free_library);
}
