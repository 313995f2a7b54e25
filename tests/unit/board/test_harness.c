/* Harnesses of the small example, worked out by hand; drops of wires that came out longer than they
 * were sized for. */
#include "board/harness.h"
#include "support/sized.h"
#include "support/wired.h"

typedef struct Bench {
    Wired wired;
    Ends ends;
    HarnessSet set;
} Bench;

static void make(Bench *bench) {
    Wired *wired = &bench->wired;
    wired_run(wired, NULL);
    ends_build(&wired->job.arena, &wired->job.model, &wired->wiring, &wired->routing,
               &wired->disconnects, wired->awg, &bench->ends);
    wired->job.findings.count = 0;
    assert_true(harness_build(&wired->job.arena, &bench->ends, &bench->set, &wired->job.findings));
}

static void begin(Bench *bench) {
    *bench = (Bench){0};
    job_read_folder(&bench->wired.job, MARLING_SOURCE_DIR "/examples/first");
}

static void end(Bench *bench) {
    arena_free(&bench->wired.job.arena);
}

/* The n-th piece, from 0, of the circuit. */
static uint32_t piece_of(const Bench *bench, const char *net, uint32_t index) {
    for (uint32_t i = 0; i < bench->ends.piece_count; i++) {
        const Piece *piece = &bench->ends.pieces[i];
        const Cable *cable = &bench->wired.wiring.cables[piece->cable];
        if (piece->index == index && strcmp(bench->wired.wiring.nets[cable->net].name, net) == 0) {
            return i;
        }
    }
    fail_msg("no piece %u of %s", index, net);
    return 0;
}

static const LengthParts *length_of(const Bench *bench, const char *net, uint32_t index) {
    return &bench->set.pieces[piece_of(bench, net, index)].length;
}

static const char *module_of(const Bench *bench, uint32_t piece) {
    uint32_t harness = bench->set.runs[bench->set.pieces[piece].run].harness;
    return bench->wired.job.set.module.rows[harness].module;
}

/* ALT_FLD.2: SW_ALT.2 at P2 (stub 120) > panel disconnect at F1 > firewall disconnect at F1 >
 * E2-E1 > ALT at E1 (stub 200). Segments P1-P2 340 mm and F1-P1 straight between its nodes. */
static void a_wire_in_three_modules(void **state) {
    (void)state;
    Bench bench;
    begin(&bench);
    make(&bench);
    assert_string_equal(module_of(&bench, piece_of(&bench, "ALT_FLD.2", 0)), "PNL");
    assert_string_equal(module_of(&bench, piece_of(&bench, "ALT_FLD.2", 1)), "FUS");
    assert_string_equal(module_of(&bench, piece_of(&bench, "ALT_FLD.2", 2)), "ENG");
    const LengthParts *panel = length_of(&bench, "ALT_FLD.2", 0);
    const double F1_P1_MM = sqrt(560.0 * 560.0 + 300.0 * 300.0 + 180.0 * 180.0);
    assert_near(panel->path_mm, 340.0 + F1_P1_MM, 1e-9);
    assert_near(panel->stub_mm[0], 120.0, 1e-12);
    assert_near(panel->stub_mm[1], 0.0, 1e-12);
    assert_near(panel->loop_mm[0], 75.0, 1e-12);  /* switch, any */
    assert_near(panel->loop_mm[1], 350.0, 1e-12); /* far half of the panel: it tilts */
    assert_near(panel->handling_mm, 25.0, 1e-9);  /* half of the job's 50 */
    /* Both disconnects sit at F1: the piece between has no way at all. */
    const LengthParts *between = length_of(&bench, "ALT_FLD.2", 1);
    assert_near(between->path_mm, 0.0, 1e-12);
    assert_near(between->cut_mm, 150.0, 1e-9);
    assert_near(between->handling_mm, 0.0, 1e-12);
    const LengthParts *engine = length_of(&bench, "ALT_FLD.2", 2);
    assert_near(engine->stub_mm[1], 200.0, 1e-12);
    assert_near(engine->handling_mm, 25.0, 1e-9);
    end(&bench);
}

/* Moved to the other end of its segment the disconnect takes the segment to its near side. */
static void a_disconnect_at_the_other_end(void **state) {
    (void)state;
    Bench bench;
    begin(&bench);
    size_t row = job_find(&bench.wired.job, TABLE_disconnect_shell, "PN1");
    bench.wired.job.set.disconnect_shell.rows[row].node = "P1";
    make(&bench);
    const double F1_P1_MM = sqrt(560.0 * 560.0 + 300.0 * 300.0 + 180.0 * 180.0);
    assert_near(length_of(&bench, "ALT_FLD.2", 0)->path_mm, 340.0, 1e-9);
    assert_near(length_of(&bench, "ALT_FLD.2", 1)->path_mm, F1_P1_MM, 1e-9);
    const HarnessPiece *piece = &bench.set.pieces[piece_of(&bench, "ALT_FLD.2", 1)];
    const HarnessNode *node = &bench.set.nodes[bench.set.leaves[piece->leaf[0]].node];
    assert_int_equal(node->kind, HARNESS_NODE_HALF);
    assert_string_equal(node->name, "F1-P1 at P1");
    assert_near(node->at_mm[0], 600.0, 1e-12);
    end(&bench);
}

/* Towards the other half: from the fuselage side of F1-P1 that is from F1 to P1, and back. */
static void halves_point_at_each_other(void **state) {
    (void)state;
    Bench bench;
    begin(&bench);
    make(&bench);
    const HarnessLeaf *near = NULL;
    const HarnessLeaf *far = NULL;
    for (uint32_t i = 0; i < bench.set.leaf_count; i++) {
        const HarnessLeaf *leaf = &bench.set.leaves[i];
        if (leaf->kind == HARNESS_LEAF_SHELL && strncmp(leaf->label, "PN1", 3) == 0) {
            near = leaf->far ? near : leaf;
            far = leaf->far ? leaf : far;
        }
    }
    assert_non_null(near);
    assert_non_null(far);
    assert_true(near->direction_known && far->direction_known);
    assert_true(near->direction[0] > 0.5); /* aft, to the panel at x 600 from x 40 */
    for (int axis = 0; axis < 3; axis++) {
        assert_near(near->direction[axis], -far->direction[axis], 1e-12);
    }
    assert_int_not_equal(near->harness, far->harness);
    end(&bench);
}

/* A way F1 - C2 beside F1 - C1 - C2, and the oil sensor and the locator's aerial at C1: three
 * conductors of the tank at C2 go straight to F1, the sensor's from F1 to C1, the aerial's coax
 * from C2 to C1: a triangle that is thinnest in C1 - C2. */
static void a_loop_is_opened(void **state) {
    (void)state;
    Bench bench;
    begin(&bench);
    TableSet *set = &bench.wired.job.set;
    SegmentRow *row = table_append(set, &bench.wired.job.arena, TABLE_segment);
    row->segment = "F1-C2";
    row->node_a = "F1";
    row->node_b = "C2";
    row->zone = "CAB";
    row->length_mm = 800.0;
    set->unit.rows[job_find(&bench.wired.job, TABLE_unit, "OIX")].node = "C1";
    set->antenna.rows[job_find(&bench.wired.job, TABLE_antenna, "ANT_ELT")].node = "C1";
    make(&bench);
    uint32_t harness = model_row(&bench.wired.job.model, TABLE_module, "FUS");
    assert_int_equal(bench.set.harnesses[harness].opening_count, 1);
    const HarnessOpening *opening = &bench.set.openings[0];
    assert_string_equal(set->segment.rows[bench.set.arms[opening->arm].segment].segment, "C1-C2");
    assert_string_equal(opening->name, "C2");
    assert_int_equal(opening->conductors, 1);
    assert_string_equal(bench.set.nodes[opening->open].name, "C2 (open)");
    assert_int_equal(job_count(&bench.wired.job, RULE_HARNESS_LOOP), 1);
    end(&bench);
}

/* What a person set a length longer by is cut longer, half at each end. */
static void a_length_that_a_person_set(void **state) {
    (void)state;
    Bench bench;
    begin(&bench);
    make(&bench);
    uint32_t piece = piece_of(&bench, "ALT_FLD", 0);
    CableId cable = bench.ends.pieces[piece].cable;
    double before_mm = bench.set.pieces[piece].length.cut_mm;
    lengths_give(&bench.wired.routing, cable, before_mm + 200.0);
    bench.wired.job.findings.count = 0;
    harness_build(&bench.wired.job.arena, &bench.ends, &bench.set, &bench.wired.job.findings);
    assert_near(bench.set.pieces[piece].length.cut_mm, before_mm + 200.0, 1e-9);
    end(&bench);
}

/* --- drops --------------------------------------------------------------------------------------
 */

/* Findings harness.drop of the small example when the field wire of its alternator is cut longer by
 * that much after gauges were chosen. */
static size_t drops_when_longer(double more_mm) {
    Sized sized = {0};
    Job *job = &sized.job;
    job_read_folder(job, MARLING_SOURCE_DIR "/examples/first");
    sized_run(&sized);
    CableId cable = sized.wiring.conductors[sized_wire(&sized, "ALT_FLD.2")].cable;
    lengths_give(&sized.routing, cable, sized.routing.length_mm[cable] + more_mm);
    Disconnects disconnects;
    Ends ends;
    HarnessSet set;
    assert_true(disconnects_allot(&job->arena, &job->model, &sized.wiring, &sized.routing,
                                  sized.sizing.awg, &disconnects, &job->findings));
    ends_build(&job->arena, &job->model, &sized.wiring, &sized.routing, &disconnects,
               sized.sizing.awg, &ends);
    assert_true(harness_build(&job->arena, &ends, &set, &job->findings));
    harness_check_drops(&set, &sized.supply, &sized.sizing, &job->findings);
    size_t count = job_count(job, RULE_HARNESS_DROP);
    arena_free(&job->arena);
    return count;
}

/* 0.5 V is allowed; 3 A through AWG 20, some 33 milliohm a metre, lose that over 5 m. */
static void wires_cut_longer_than_they_were_sized_for(void **state) {
    (void)state;
    assert_int_equal(drops_when_longer(0.0), 0);
    assert_int_equal(drops_when_longer(5000.0), 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wire_in_three_modules),
        cmocka_unit_test(a_disconnect_at_the_other_end),
        cmocka_unit_test(halves_point_at_each_other),
        cmocka_unit_test(a_loop_is_opened),
        cmocka_unit_test(a_length_that_a_person_set),
        cmocka_unit_test(wires_cut_longer_than_they_were_sized_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
