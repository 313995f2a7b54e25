/* Tools by contact and gauge, least forces, samples; and the ends of the small example. */
#include "shop/prep.h"
#include "support/wired.h"

#include "near.h"

typedef struct Bench {
    Wired wired;
    Ends ends;
    HarnessSet harness;
    PrepSet prep;
} Bench;

static Bench bench;

static int set_up(void **state) {
    (void)state;
    Wired *wired = &bench.wired;
    job_read_folder(&wired->job, MARLING_SOURCE_DIR "/examples/osier_mended");
    wired_run(wired, NULL);
    ends_build(&wired->job.arena, &wired->job.model, &wired->wiring, &wired->routing,
               &wired->disconnects, wired->awg, &bench.ends);
    wired->job.findings.count = 0;
    return harness_build(&wired->job.arena, &bench.ends, &bench.harness, &wired->job.findings) &&
                   prep_build(&wired->job.arena, &bench.harness, &bench.prep, &wired->job.findings)
               ? 0
               : -1;
}

static int tear_down(void **state) {
    (void)state;
    arena_free(&bench.wired.job.arena);
    return 0;
}

static const ContactToolRow *tool_of(const char *contact, int32_t awg) {
    const Model *model = &bench.wired.job.model;
    uint32_t row = prep_tool(model, model_row(model, TABLE_contact, contact), awg);
    return row == ID_NONE ? NULL : &model->set->contact_tool.rows[row];
}

/* Bands of insulated lugs: red 22 to 18, blue 16 to 14, yellow 12 to 10 (trade colours). */
static void the_band_of_the_gauge(void **state) {
    (void)state;
    static const struct {
        int32_t awg;
        int32_t row_awg;
    } BANDS[] = {{24, 18}, {22, 18}, {18, 18}, {16, 14}, {14, 14}, {12, 10}, {10, 10}, {8, 8}};
    for (size_t i = 0; i < sizeof BANDS / sizeof *BANDS; i++) {
        const ContactToolRow *row = tool_of("ring-M5", BANDS[i].awg);
        assert_non_null(row);
        assert_int_equal(row->awg, BANDS[i].row_awg);
    }
    assert_null(tool_of("ring-M5", 6)); /* thicker than the lug takes */
    assert_null(tool_of("22D", 20));
    assert_non_null(tool_of("ring-M8-heavy", -1)); /* 2/0 */
}

/* NASA-STD-8739.4 Table 13-1 for contacts: 13 lbf at 22 AWG; AS7928 for lugs: 15 lbf at 22, 110 at
 * 12; a contact thicker than its table takes the lug's figure; a gauge left out the thicker row. */
static void least_forces(void **state) {
    (void)state;
    const Model *model = &bench.wired.job.model;
    assert_near(prep_pull(model, "contact", 22).least_n, 57.0, 1e-9);
    assert_near(prep_pull(model, "military", 22).least_n, 66.7, 1e-9);
    assert_near(prep_pull(model, "military", 12).least_n, 489.3, 1e-9);
    PrepPull thick = prep_pull(model, "contact", 16);
    assert_near(thick.least_n, 222.4, 1e-9);
    assert_false(thick.thicker);
    PrepPull between = prep_pull(model, "commercial", 15); /* no row: asks for that of 14 */
    assert_near(between.least_n, 222.4, 1e-9);
    assert_true(between.thicker);
    assert_true(isnan(prep_pull(model, "none", 22).least_n));
    assert_true(isnan(prep_pull(model, "military", INT_BLANK).least_n));
}

/* Three at the start of each shift, one after each full hundred. */
static void samples(void **state) {
    (void)state;
    const Model *model = &bench.wired.job.model;
    assert_int_equal(prep_samples(model, 1, 1), 3);
    assert_int_equal(prep_samples(model, 99, 1), 3);
    assert_int_equal(prep_samples(model, 100, 1), 4);
    assert_int_equal(prep_samples(model, 560, 2), 11);
}

/* Every end of a wire is one of: prepared with a tool, a coax, or told about; crimps are counted
 * once each. */
static void every_end_is_prepared(void **state) {
    (void)state;
    uint32_t prepared = 0;
    uint32_t coax = 0;
    uint32_t shields = 0;
    for (EndId i = 0; i < 2 * bench.ends.piece_count; i++) {
        const PrepEnd *end = &bench.prep.ends[i];
        const Piece *piece = &bench.ends.pieces[i / 2];
        const Cable *cable = &bench.wired.wiring.cables[piece->cable];
        if (piece->conductor == ID_NONE) {
            bool cavity = piece->ends[i % 2].kind == PIECE_CAVITY;
            assert_int_equal(end->contact != ID_NONE, cavity);
            assert_int_equal(end->tool != ID_NONE, cavity);
            prepared += cavity;
            continue;
        }
        assert_true(end->contact != ID_NONE);
        assert_int_equal(end->coax != ID_NONE, cable->coax);
        bool first = piece->conductor == cable->conductor_first;
        assert_int_equal(end->shield != ID_NONE, cable->shielded && !cable->coax && first);
        shields += end->shield != ID_NONE;
        coax += end->coax != ID_NONE;
        prepared += end->tool != ID_NONE;
        if (end->tool != ID_NONE) {
            const ContactToolRow *row = &bench.wired.job.set.contact_tool.rows[end->tool];
            assert_true(row->awg <= end->awg && row->strip_mm > 0.0);
        }
    }
    assert_true(shields > 90 && coax > 10);
    uint32_t crimps = 0;
    for (uint32_t i = 0; i < bench.prep.kind_count; i++) {
        crimps += bench.prep.kinds[i].crimps;
        assert_true(bench.prep.kinds[i].samples >= 3);
    }
    assert_true(crimps > 1000 && crimps < prepared); /* solder joints and splices are not pulled */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_band_of_the_gauge),
        cmocka_unit_test(least_forces),
        cmocka_unit_test(samples),
        cmocka_unit_test(every_end_is_prepared),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
