/* Figures of the panel that do not come from this program: heights seen under an angle and depths
 * of countersinks by their closed forms, the ICAO standard atmosphere (Doc 7488, density from
 * memory), and what a designer reckoned by hand for the example aircraft, read through the result
 * tables. */
#include "app/prove.h"
#include "panel/check.h"
#include "support/job.h"
#include "near.h"

/* 15 minutes of arc at one metre: 2 x 1000 x tan(7.5') = 4.3633 mm; 20: 5.8178. */
static void heights_under_an_angle(void **state) {
    (void)state;
    assert_near(panel_letter_mm(15, 1000), 4.3633, 0.0001);
    assert_near(panel_letter_mm(20, 1000), 5.8178, 0.0001);
    assert_near(panel_arc_min(4.3633, 1000), 15, 0.001);
}

/* No. 6: head 0.279 in, thread 0.138 in (ASME B1.1). Of a 2.5 mm sheet the head of 82 degrees takes
 * 82.4 % and the one of 100 degrees 60.1 %, figures of a workshop's own notes. */
static void number_six_heads(void **state) {
    (void)state;
    double flat_mm = panel_sink_mm(0.279 * 25.4, 0.138 * 25.4, 100);
    double steep_mm = panel_sink_mm(0.279 * 25.4, 0.138 * 25.4, 82);
    assert_near(100 * flat_mm / 2.5, 60.1, 0.05);
    assert_near(100 * steep_mm / 2.5, 82.4, 0.05);
}

/* Density at 3000 m: 0.90925 of 1.2250 kg/m3, at 11 km 0.36480: the same air gets as much warmer.
 */
static void air_of_the_standard_atmosphere(void **state) {
    (void)state;
    double low = panel_rise_degc(100, 10, 0);
    assert_near(low, 100 / (1.225 * 1005 * 0.010), 1e-9);
    assert_near(panel_rise_degc(100, 10, 3000) / low, 1.2250 / 0.9091, 0.0005);
    assert_near(panel_rise_degc(100, 10, 11000) / low, 1.2250 / 0.36391, 0.0005);
}

static const LetterRow *letter_of(const TableSet *set, const char *legend) {
    for (size_t i = 0; i < set->letter.count; i++) {
        if (strcmp(set->letter.rows[i].legend, legend) == 0) {
            return &set->letter.rows[i];
        }
    }
    fail_msg("no letter %s", legend);
    return NULL;
}

/* The designer's figures: the legend of the hydraulic breaker is read from 971 mm and needs 4.24
 * mm, that of the wheel lever from 928 mm and 5.40 mm; the standby instrument is 18.1 mm from the
 * edge and takes 142 of 150 mm; the right display takes 145 mm where 138 mm are free. */
static void what_a_designer_reckoned(void **state) {
    (void)state;
    Proof proof;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier", &options, &proof);
    const TableSet *set = &proof.set;
    assert_near(letter_of(set, "CB26")->away_mm, 971, 0.5);
    assert_near(letter_of(set, "CB26")->needed_mm, 4.24, 0.005);
    assert_near(letter_of(set, "SW_WHEEL")->away_mm, 928, 0.5);
    assert_near(letter_of(set, "SW_WHEEL")->needed_mm, 5.40, 0.005);
    uint32_t seen = 0;
    for (size_t i = 0; i < set->web.count; i++) {
        const WebRow *row = &set->web.rows[i];
        if (strcmp(row->item, "SBY") == 0 && row->hole == 1 && strcmp(row->to, "edge") == 0) {
            assert_near(row->distance_mm, 18.1, 1e-9);
            seen++;
        }
    }
    for (size_t i = 0; i < set->depth.count; i++) {
        const DepthRow *row = &set->depth.rows[i];
        if (strcmp(row->item, "SBY") == 0) {
            assert_near(row->needed_mm, 142, 1e-9);
            assert_near(row->free_mm, 150, 1e-9);
            seen++;
        }
        if (strcmp(row->item, "PD2") == 0 && strcmp(row->behind, "Z6") == 0) {
            assert_near(row->needed_mm, 145, 1e-9);
            assert_near(row->free_mm, 138, 1e-9);
            seen++;
        }
    }
    assert_int_equal(seen, 3);
    proof_free(&proof);
}

static const Finding *finding_of(const Proof *proof, RuleId rule, const char *key) {
    for (size_t i = 0; i < proof->findings.count; i++) {
        const Finding *finding = &proof->findings.rows[i];
        if (finding->rule == rule && strcmp(finding->key, key) == 0) {
            return finding;
        }
    }
    return NULL;
}

/* Mistakes of the panel as it was issued, each by its rule and number; no other of severity error,
 * and none in the corrected twin. */
static void mistakes_of_the_panel(void **state) {
    (void)state;
    static const struct {
        RuleId rule;
        const char *key;
        double value;
        double limit;
    } MISTAKES[] = {
        {RULE_PANEL_DEPTH, "PD2", 145, 138}, {RULE_PANEL_KERF, "MAIN", 0, 1},
        {RULE_PANEL_COAT, "MAIN", 0, 1},     {RULE_PANEL_MARK, "SW_ENA", 0, 1},
        {RULE_PANEL_MARK, "SW_WHEEL", 0, 1},
    };
    Proof proof;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier", &options, &proof);
    size_t count = sizeof MISTAKES / sizeof *MISTAKES;
    for (size_t i = 0; i < count; i++) {
        const Finding *finding = finding_of(&proof, MISTAKES[i].rule, MISTAKES[i].key);
        assert_non_null(finding);
        assert_near(finding->value, MISTAKES[i].value, 1e-9);
        assert_near(finding->limit, MISTAKES[i].limit, 1e-9);
    }
    const Finding *heat = finding_of(&proof, RULE_PANEL_UNKNOWN, "MAIN");
    assert_non_null(heat);
    assert_non_null(strstr(heat->message, "146 W"));
    size_t errors = 0;
    for (size_t i = 0; i < proof.findings.count; i++) {
        const Finding *finding = &proof.findings.rows[i];
        errors += finding->severity == SEVERITY_ERROR &&
                  strncmp(rule_name(finding->rule), "panel.", 6) == 0;
    }
    assert_int_equal(errors, count);
    proof_free(&proof);
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    for (size_t i = 0; i < proof.findings.count; i++) {
        const Finding *finding = &proof.findings.rows[i];
        assert_false(finding->severity == SEVERITY_ERROR &&
                     strncmp(rule_name(finding->rule), "panel.", 6) == 0);
    }
    proof_free(&proof);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heights_under_an_angle),
        cmocka_unit_test(number_six_heads),
        cmocka_unit_test(air_of_the_standard_atmosphere),
        cmocka_unit_test(what_a_designer_reckoned),
        cmocka_unit_test(mistakes_of_the_panel),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
