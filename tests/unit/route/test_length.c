/* Lengths of the small example, worked out by hand; shares of length against the figures they come
 * from. */
#include "route/length.h"
#include "support/wired.h"

#include "near.h"

static void begin(Wired *wired) {
    *wired = (Wired){0};
    job_read_folder(&wired->job, MARLING_SOURCE_DIR "/examples/first");
    wired_run(wired, NULL);
}

static CableId cable_of(const Wired *wired, const char *net) {
    NetId id = name_map_find(&wired->wiring.net_by_name, net);
    assert_int_not_equal(id, NAME_NONE);
    return wired->wiring.nets[id].cable_first;
}

static double step_mm(const Wired *wired) {
    return model_limit(&wired->job.model, LENGTH_LIMIT_STEP);
}

/* --- runs ---------------------------------------------------------------------------------------
 */

/* ALT_FLD.2: SW_ALT.2 at P2 (stub 120, a switch keeps 75) > P1 > panel disconnect at F1 (its half
 * in the panel keeps 350, the other 75) > firewall disconnect at F1 (75 and 75) > E2 > ALT at E1
 * (stub 200, a unit of the engine keeps 75). The job's handling is 50 mm, half at each end. */
static void a_wire_through_two_disconnects(void **state) {
    (void)state;
    Wired wired;
    begin(&wired);
    const Routing *routing = &wired.routing;
    CableId cable = cable_of(&wired, "ALT_FLD.2");
    const LengthRun *run = &routing->runs[routing->run_first[cable]];
    assert_int_equal(routing->run_first[cable + 1] - routing->run_first[cable], 3);
    const double F1_P1_MM = sqrt(560.0 * 560.0 + 300.0 * 300.0 + 180.0 * 180.0);
    assert_int_equal(run[0].hop_count, 2);
    assert_near(run[0].parts.path_mm, 340.0 + F1_P1_MM, 1e-9);
    assert_near(run[0].parts.stub_mm[0], 120.0, 1e-12);
    assert_near(run[0].parts.loop_mm[0], 75.0, 1e-12);
    assert_near(run[0].parts.loop_mm[1], 350.0, 1e-12);
    assert_near(run[0].parts.handling_mm, 25.0, 1e-12);
    assert_near(run[0].parts.slack_mm, run[0].parts.path_mm * length_sag_share(12.7, 610.0), 1e-9);
    /* Both disconnects sit at F1. */
    assert_int_equal(run[1].hop_count, 0);
    assert_int_equal(run[1].node[0], run[1].node[1]);
    assert_near(run[1].parts.cut_mm, 150.0, 1e-9);
    assert_near(run[2].parts.loop_mm[0], 75.0, 1e-12);
    assert_near(run[2].parts.stub_mm[1], 200.0, 1e-12);
    assert_near(run[2].parts.loop_mm[1], 75.0, 1e-12);
    assert_int_equal(run[2].hop_count, 2);
    double sum_mm = 0.0;
    for (int i = 0; i < 3; i++) {
        double steps = run[i].parts.cut_mm / step_mm(&wired);
        assert_near(steps, round(steps), 1e-9);
        sum_mm += run[i].parts.cut_mm;
    }
    assert_near(routing->length_mm[cable], sum_mm, 1e-9);
    arena_free(&wired.job.arena);
}

/* The longest word of `where` that the job's words of the place hold wins over "any". */
static void what_is_kept_follows_the_place(void **state) {
    (void)state;
    Wired wired;
    begin(&wired);
    const Model *model = &wired.job.model;
    LengthKept engine = length_kept_at(model, model_owner(model, "ALT"));
    assert_int_equal(engine.place, LENGTH_AT_UNIT);
    assert_near(engine.loop_mm, 75.0, 1e-12);
    assert_near(length_kept_at(model, model_owner(model, "COM")).loop_mm, 100.0, 1e-12);
    assert_near(length_kept_at(model, model_owner(model, "BAT")).loop_mm, 150.0, 1e-12); /* tray */
    uint32_t panel = model_row(model, TABLE_disconnect, "PN");
    LengthKept far = length_kept_at_half(&wired.job.arena, model, panel, true);
    LengthKept near = length_kept_at_half(&wired.job.arena, model, panel, false);
    assert_string_equal(length_place_word(far.place), "far half");
    assert_near(far.loop_mm, 350.0, 1e-12);
    assert_near(near.loop_mm, 75.0, 1e-12);
    wired.job.set.end_allowance.count = 0;
    LengthKept none = length_kept_at(model, model_owner(model, "ALT"));
    assert_int_equal(none.row, ID_NONE);
    assert_near(none.loop_mm, 0.0, 1e-12);
    arena_free(&wired.job.arena);
}

/* --- gauges -------------------------------------------------------------------------------------
 */

/* Thicker wires make thicker bundles, and what turns with them longer; thinner ones afterwards take
 * nothing back. */
static void thicker_wires_only_lengthen(void **state) {
    (void)state;
    Wired wired;
    begin(&wired);
    Routing *routing = &wired.routing;
    CableId cable = cable_of(&wired, "ALT_FLD.2");
    double before_mm = routing->length_mm[cable];
    assert_false(lengths_raise(routing, wired.awg)); /* wired_run has raised them */
    uint32_t count = wired.wiring.conductor_count;
    int32_t *thick = ARENA_ARRAY(&wired.job.arena, int32_t, count);
    for (ConductorId i = 0; i < count; i++) {
        thick[i] = wired.awg[i] == INT_BLANK ? INT_BLANK : 4;
    }
    thick[wired.wiring.cables[cable].conductor_first] = 22;
    assert_true(lengths_raise(routing, thick));
    double after_mm = routing->length_mm[cable];
    assert_true(after_mm > before_mm + 1.0);
    assert_false(lengths_raise(routing, thick));
    assert_false(lengths_raise(routing, wired.awg));
    assert_near(routing->length_mm[cable], after_mm, 1e-12);
    arena_free(&wired.job.arena);
}

/* --- what a person says -------------------------------------------------------------------------
 */

/* Longer: half at each end of the cable. Shorter: every piece in proportion, none to nothing. */
static void a_length_that_a_person_gave(void **state) {
    (void)state;
    Wired wired;
    begin(&wired);
    Routing *routing = &wired.routing;
    CableId cable = cable_of(&wired, "ALT_FLD.2");
    const LengthRun *run = &routing->runs[routing->run_first[cable]];
    double middle_mm = run[1].parts.cut_mm;
    double own_mm = routing->length_mm[cable];
    lengths_give(routing, cable, own_mm + 1000.0);
    assert_true(routing->length_mm[cable] >= own_mm + 1000.0 - 1e-6);
    assert_true(routing->length_mm[cable] < own_mm + 1000.0 + 3.0 * step_mm(&wired));
    assert_near(run[1].parts.cut_mm, middle_mm, 1e-9);
    assert_near(run[0].parts.handling_mm, run[2].parts.handling_mm, 1e-9);
    lengths_give(routing, cable, 300.0);
    assert_true(routing->length_mm[cable] >= 300.0 - 1e-6);
    assert_true(routing->length_mm[cable] < 300.0 + 3.0 * step_mm(&wired));
    for (int i = 0; i < 3; i++) {
        assert_true(run[i].parts.cut_mm > 0.0);
    }
    lengths_raise(routing, wired.awg); /* gauges don't undo what a person said */
    assert_true(routing->length_mm[cable] < 300.0 + 3.0 * step_mm(&wired));
    arena_free(&wired.job.arena);
}

/* --- shares -------------------------------------------------------------------------------------
 */

/* One turn unrolled is a right triangle: pi d, lay and wire. With sides 3 : 4 the wire is 5. */
static void one_turn_unrolled(void **state) {
    (void)state;
    const double PI = 3.14159265358979323846;
    assert_near(length_twist_share(3.0 / PI, 4.0), 0.25, 1e-12);
    assert_near(length_twist_share(5.0 / PI, 12.0), 13.0 / 12.0 - 1.0, 1e-12);
    assert_near(length_twist_share(0.0, 30.0), 0.0, 1e-12);
}

/* A helix walked in 100,000 chords; a chord is shorter than its arc by less than 1e-9 of it. */
static void a_helix_walked(void **state) {
    (void)state;
    enum { CHORDS = 100000 };
    const double TURN_RAD = 6.28318530717958647692;
    const double D_MM = 1.32;
    const double LAY_MM = 30.48; /* ten turns a foot */
    double sum_mm = 0.0;
    double x = D_MM / 2.0;
    double y = 0.0;
    for (int i = 1; i <= CHORDS; i++) {
        double angle = TURN_RAD * i / CHORDS;
        double dx = D_MM / 2.0 * cos(angle) - x;
        double dy = D_MM / 2.0 * sin(angle) - y;
        double dz = LAY_MM / CHORDS;
        sum_mm += sqrt(dx * dx + dy * dy + dz * dz);
        x += dx;
        y += dy;
    }
    assert_near(sum_mm / LAY_MM - 1.0, length_twist_share(D_MM, LAY_MM), 1e-8);
}

/* A parabola of 12.7 mm sag in 610 mm walked in chords: the flat formula leaves out terms of the
 * order of (sag / span)^4, here 1e-6 of the span. */
static void a_sag_walked(void **state) {
    (void)state;
    enum { CHORDS = 100000 };
    const double SAG_MM = 12.7;
    const double SPAN_MM = 610.0;
    double sum_mm = 0.0;
    double last = 0.0;
    for (int i = 1; i <= CHORDS; i++) {
        double u = (double)i / CHORDS;
        double y = 4.0 * SAG_MM * u * (1.0 - u);
        sum_mm += hypot(SPAN_MM / CHORDS, y - last);
        last = y;
    }
    assert_near(sum_mm / SPAN_MM - 1.0, length_sag_share(SAG_MM, SPAN_MM), 2e-6);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wire_through_two_disconnects),
        cmocka_unit_test(what_is_kept_follows_the_place),
        cmocka_unit_test(thicker_wires_only_lengthen),
        cmocka_unit_test(a_length_that_a_person_gave),
        cmocka_unit_test(one_turn_unrolled),
        cmocka_unit_test(a_helix_walked),
        cmocka_unit_test(a_sag_walked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
