/* A panel as it would be: rows of `mount` moved without writing, what that makes of the findings,
 * legends that go along, proposals that come true when their rows are taken. On the corrected
 * example aircraft. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "app/panel_try.h"
#include "app/suggest.h"

static Proof proof;

static int prove(void **state) {
    (void)state;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    return 0;
}

static int forget(void **state) {
    (void)state;
    proof_free(&proof);
    return 0;
}

static const MountRow *mount_of(const char *item) {
    uint32_t row = model_row(&proof.model, TABLE_mount, item);
    assert_int_not_equal(row, ID_NONE);
    return &proof.set.mount.rows[row];
}

static const PanelItem *item_of(const Panel *panel, const char *key) {
    for (uint32_t i = 0; i < panel->item_count; i++) {
        if (strcmp(panel->items[i].key, key) == 0) {
            return &panel->items[i];
        }
    }
    fail_msg("no item %s", key);
    return NULL;
}

static const Finding *new_finding(const PanelTry *tried, RuleId rule, const char *key) {
    for (size_t i = 0; i < tried->findings.count; i++) {
        const Finding *finding = &tried->findings.rows[i];
        if (tried->is_new[i] && finding->rule == rule && strcmp(finding->key, key) == 0) {
            return finding;
        }
    }
    return NULL;
}

/* Without a change nothing is new, nothing gone, and no legend moves. */
static void nothing_changed(void **state) {
    (void)state;
    Arena arena = {0};
    PanelTry tried;
    PanelChange change = {0};
    assert_true(panel_try(&arena, &proof, &change, &tried));
    assert_int_equal(tried.new_count, 0);
    assert_int_equal(tried.gone_count, 0);
    assert_int_equal(tried.legend_count, 0);
    assert_int_equal(tried.panel.item_count, proof.panel.item_count);
    size_t of_panel = 0;
    for (size_t i = 0; i < proof.findings.count; i++) {
        of_panel += strncmp(rule_name(proof.findings.rows[i].rule), "panel.", 6) == 0;
    }
    assert_int_equal(tried.findings.count, of_panel);
    arena_free(&arena);
}

/* The standby instrument 9 mm outboard: its opening is 9.1 mm from the edge, 10 are asked. The
 * proof's own rows stay. Half as far nothing is wrong. */
static void a_drag_towards_the_edge(void **state) {
    (void)state;
    Arena arena = {0};
    double u_mm = mount_of("SBY")->u_mm;
    PanelMove move = {"SBY", u_mm - 9.0, NAN, NAN, INT_BLANK};
    PanelChange change = {.moves = &move, .move_count = 1};
    PanelTry tried;
    assert_true(panel_try(&arena, &proof, &change, &tried));
    const Finding *finding = new_finding(&tried, RULE_PANEL_EDGE, "SBY");
    assert_non_null(finding);
    assert_true(fabs(finding->value - 9.1) < 0.005);
    assert_true(fabs(item_of(&tried.panel, "SBY")->at.u_mm - (u_mm - 9.0)) < 1e-9);
    assert_true(mount_of("SBY")->u_mm == u_mm);
    assert_true(item_of(&proof.panel, "SBY")->at.u_mm == u_mm);
    move.u_mm = u_mm - 4.5;
    assert_true(panel_try(&arena, &proof, &change, &tried));
    assert_null(new_finding(&tried, RULE_PANEL_EDGE, "SBY"));
    arena_free(&arena);
}

/* A switch and its legend move as one; a legend that the change places stands there. */
static void legends_go_along(void **state) {
    (void)state;
    Arena arena = {0};
    const MountRow *mount = mount_of("SW_FLAP");
    uint32_t row = model_row(&proof.model, TABLE_legend, "SW_FLAP");
    const LegendRow *legend = &proof.set.legend.rows[row];
    PanelMove move = {"SW_FLAP", mount->u_mm + 3.0, mount->v_mm - 2.0, NAN, INT_BLANK};
    PanelChange change = {.moves = &move, .move_count = 1};
    PanelTry tried;
    assert_true(panel_try(&arena, &proof, &change, &tried));
    assert_int_equal(tried.legend_count, 1);
    assert_string_equal(tried.legends[0].legend, "SW_FLAP");
    assert_true(fabs(tried.legends[0].u_mm - (legend->u_mm + 3.0)) < 1e-9);
    assert_true(fabs(tried.legends[0].v_mm - (legend->v_mm - 2.0)) < 1e-9);
    PanelLegendMove placed = {"SW_FLAP", 30.0, 80.0};
    change.legends = &placed;
    change.legend_count = 1;
    assert_true(panel_try(&arena, &proof, &change, &tried));
    assert_int_equal(tried.legend_count, 1);
    assert_true(tried.legends[0].u_mm == 30.0 && tried.legends[0].v_mm == 80.0);
    arena_free(&arena);
}

/* An item that an `align` row holds stands where the row says; the row's value moves all of it. */
static void align_rows_hold(void **state) {
    (void)state;
    Arena arena = {0};
    PanelMove move = {"NVC", 25.0, NAN, NAN, INT_BLANK};
    PanelChange change = {.moves = &move, .move_count = 1};
    PanelTry tried;
    assert_true(panel_try(&arena, &proof, &change, &tried));
    assert_true(item_of(&tried.panel, "NVC")->at.u_mm == 0.0);
    PanelAlignMove stack = {"stack", 4.0};
    change = (PanelChange){.aligns = &stack, .align_count = 1};
    assert_true(panel_try(&arena, &proof, &change, &tried));
    assert_true(item_of(&tried.panel, "NVC")->at.u_mm == 4.0);
    assert_true(item_of(&tried.panel, "AUD")->at.u_mm == 4.0);
    arena_free(&arena);
}

static void names_that_are_not_there(void **state) {
    (void)state;
    Arena arena = {0};
    PanelMove move = {"SBX", 0.0, 0.0, NAN, INT_BLANK};
    PanelChange change = {.moves = &move, .move_count = 1};
    PanelTry tried;
    assert_false(panel_try(&arena, &proof, &change, &tried));
    assert_string_equal(tried.unknown, "SBX");
    arena_free(&arena);
}

/* Every proposal is taken as rows: no new finding, and legends stand to their items as before. */
static void proposals_come_true(void **state) {
    (void)state;
    Arena arena = {0};
    PanelProposals all;
    panel_propose(&arena, &proof, 3, &all);
    const PanelProposal *proposals = all.rows;
    assert_int_equal(all.count, PANEL_PROPOSALS);
    assert_int_equal(all.bar_count, 0);
    for (size_t i = 0; i < all.count; i++) {
        assert_int_equal(proposals[i].wrong_count, 0);
        assert_true(i == 0 || proposals[i].keeps || proposals[i].differs >= 0.2);
        assert_true(!proposals[i].keeps || proposals[i].moved == 0); /* nothing is wrong as it is */
        PanelTry tried;
        assert_true(panel_try(&arena, &proof, &proposals[i].change, &tried));
        for (size_t k = 0; k < tried.findings.count; k++) {
            if (tried.is_new[k] && tried.findings.rows[k].severity == SEVERITY_ERROR) {
                fail_msg("proposal %zu: %s", i + 1, tried.findings.rows[k].message);
            }
        }
        assert_true(proposals[i].wish_count > 0);
        for (uint32_t k = 0; k < tried.panel.text_count; k++) {
            const PanelText *text = &tried.panel.texts[k];
            if (text->item == ID_NONE) {
                continue;
            }
            const PanelItem *now = &tried.panel.items[text->item];
            const PanelItem *then = item_of(&proof.panel, now->key);
            const LegendRow *given = &proof.set.legend.rows[text->row];
            assert_true(fabs(text->at.u_mm - now->at.u_mm - (given->u_mm - then->at.u_mm)) < 0.01);
            assert_true(fabs(text->at.v_mm - now->at.v_mm - (given->v_mm - then->at.v_mm)) < 0.01);
        }
    }
    arena_free(&arena);
}

/* In the tables of suggestions every legend goes as far as its item. */
static void suggested_legends_go_along(void **state) {
    (void)state;
    assert_true(suggest_table(&proof, TABLE_suggestion_legend));
    size_t moved = 0;
    for (size_t i = 0; i < proof.set.suggestion_legend.count; i++) {
        const SuggestionLegendRow *legend = &proof.set.suggestion_legend.rows[i];
        uint32_t row = model_row(&proof.model, TABLE_legend, legend->legend);
        const LegendRow *given = &proof.set.legend.rows[row];
        for (size_t k = 0; k < proof.set.suggestion.count; k++) {
            const SuggestionRow *item = &proof.set.suggestion.rows[k];
            if (item->rank == legend->rank && strcmp(item->item, given->item) == 0) {
                const PanelItem *then = item_of(&proof.panel, item->item);
                assert_true(fabs((legend->u_mm - given->u_mm) - (item->u_mm - then->at.u_mm)) <
                            1e-6);
                assert_true(fabs((legend->v_mm - given->v_mm) - (item->v_mm - then->at.v_mm)) <
                            1e-6);
                moved += legend->moved_mm > 0.01;
            }
        }
    }
    assert_true(moved > 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_changed),
        cmocka_unit_test(a_drag_towards_the_edge),
        cmocka_unit_test(legends_go_along),
        cmocka_unit_test(align_rows_hold),
        cmocka_unit_test(names_that_are_not_there),
        cmocka_unit_test(proposals_come_true),
        cmocka_unit_test(suggested_legends_go_along),
    };
    return cmocka_run_group_tests(tests, prove, forget);
}
