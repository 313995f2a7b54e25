/* What board/harness.h guarantees, on the examples, on grown aircraft, and on the example with
 * disconnects, modules and ways changed by chance: each piece in one harness, each harness a
 * forest opened where the fewest conductors pass, lengths that add up and hold what leaves and arms
 * ask for. */
#include "board/harness.h"

#include <stdlib.h>

#include "support/job_grow.h"
#include "support/wired.h"

typedef struct Bench {
    Wired wired;
    Ends ends;
    HarnessSet set;
} Bench;

static void make(Bench *bench) {
    Wired *wired = &bench->wired;
    ends_build(&wired->job.arena, &wired->job.model, &wired->wiring, &wired->routing,
               &wired->disconnects, wired->awg, &bench->ends);
    wired->job.findings.count = 0;
    assert_true(harness_build(&wired->job.arena, &bench->ends, &bench->set, &wired->job.findings));
}

/* Equal but for the last digits of sums of up to a hundred lengths below 1e5 mm. */
static void assert_near(double a, double b) {
    const double SUM_MM = 1e-6;
    if (!(fabs(a - b) <= SUM_MM)) {
        fail_msg("%.12g is not %.12g", a, b);
    }
}

/* --- pieces, runs, leaves -----------------------------------------------------------------------
 */

static void each_piece_is_in_one_run(const HarnessSet *set) {
    uint32_t count = set->ends->piece_count;
    uint8_t *seen = calloc(count + 1, 1);
    for (uint32_t i = 0; i < set->run_count; i++) {
        const HarnessRun *run = &set->runs[i];
        assert_true(run->piece_count > 0);
        for (uint32_t k = 0; k < run->piece_count; k++) {
            uint32_t piece = set->run_pieces[run->piece_first + k];
            assert_int_equal(set->pieces[piece].run, i);
            assert_int_equal(set->ends->pieces[piece].cable, run->cable);
            assert_int_equal(set->ends->pieces[piece].index, run->index);
            assert_int_equal(seen[piece]++, 0);
        }
        bool way = !isnan(set->ends->routing->length_mm[run->cable]);
        assert_int_equal(way, run->harness != ID_NONE);
    }
    for (uint32_t i = 0; i < count; i++) {
        assert_int_equal(seen[i], 1);
    }
    free(seen);
}

static void each_end_hangs_on_one_leaf(const HarnessSet *set) {
    uint32_t count = 2 * set->ends->piece_count;
    uint8_t *seen = calloc(count + 1, 1);
    for (uint32_t i = 0; i < set->leaf_count; i++) {
        const HarnessLeaf *leaf = &set->leaves[i];
        const HarnessNode *node = &set->nodes[leaf->node];
        assert_true(leaf->end_count > 0);
        assert_int_equal(node->harness, leaf->harness);
        assert_true(i >= node->leaf_first && i < node->leaf_first + node->leaf_count);
        assert_true(*leaf->label != '\0');
        double length = 0.0;
        for (int axis = 0; axis < 3; axis++) {
            length += leaf->direction[axis] * leaf->direction[axis];
        }
        assert_true(fabs(length - 1.0) < 1e-9 || (length == 0.0 && !leaf->direction_known));
        for (uint32_t k = 0; k < leaf->end_count; k++) {
            EndId end = set->leaf_ends[leaf->end_first + k];
            const HarnessRun *run = &set->runs[set->pieces[end / 2].run];
            assert_int_equal(set->pieces[end / 2].leaf[end % 2], i);
            assert_int_equal(run->harness, leaf->harness);
            assert_int_equal(run->node[end % 2], leaf->node);
            assert_int_equal(seen[end]++, 0);
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        bool way = set->runs[set->pieces[i / 2].run].harness != ID_NONE;
        assert_int_equal(seen[i], way ? 1 : 0);
    }
    free(seen);
}

/* The far half hangs in the harness of the disconnect's module, and no leaf has both halves. */
static void halves_are_where_they_belong(const HarnessSet *set) {
    const Model *model = set->ends->model;
    for (EndId i = 0; i < 2 * set->ends->piece_count; i++) {
        const PieceEnd *end = &set->ends->pieces[i / 2].ends[i % 2];
        if (end->disconnect == ID_NONE || set->pieces[i / 2].leaf[i % 2] == ID_NONE) {
            continue;
        }
        const HarnessLeaf *leaf = &set->leaves[set->pieces[i / 2].leaf[i % 2]];
        assert_int_equal(leaf->far, end->far);
        assert_int_equal(leaf->disconnect, end->disconnect);
        const HarnessNode *node = &set->nodes[leaf->node];
        SegmentId segment = leaf->segment;
        assert_true(node->node == model->segment_a[segment] ||
                    node->node == model->segment_b[segment]);
    }
}

/* --- arms, steps, forests -----------------------------------------------------------------------
 */

static void steps_hang_together(const HarnessSet *set) {
    uint32_t *conductors = calloc(set->arm_count + 1, sizeof *conductors);
    uint32_t *runs = calloc(set->arm_count + 1, sizeof *runs);
    for (uint32_t i = 0; i < set->run_count; i++) {
        const HarnessRun *run = &set->runs[i];
        if (run->harness == ID_NONE) {
            continue;
        }
        double path_mm = 0.0;
        uint32_t at = run->node[0];
        for (uint32_t k = 0; k <= run->step_count; k++) {
            bool last = k == run->step_count;
            HarnessStep step = last ? (HarnessStep){0} : set->steps[run->step_first + k];
            uint32_t next = last ? run->node[1] : harness_step_node(set, step, 0);
            if (at != next) {
                const HarnessNode *a = &set->nodes[at];
                const HarnessNode *b = &set->nodes[next];
                uint32_t opening = a->opening != ID_NONE ? a->opening : b->opening;
                assert_true(opening != ID_NONE);
                assert_int_equal(a->node, b->node);
                const HarnessOpening *open = &set->openings[opening];
                bool through_one = (open->open == at && open->node == next) ||
                                   (open->open == next && open->node == at);
                assert_true(through_one || (a->opening != ID_NONE && b->opening != ID_NONE));
            }
            if (last) {
                break;
            }
            const HarnessArm *arm = &set->arms[step.arm];
            assert_int_equal(arm->harness, run->harness);
            path_mm += arm->length_mm;
            runs[step.arm]++;
            for (uint32_t m = 0; m < run->piece_count; m++) {
                uint32_t piece = set->run_pieces[run->piece_first + m];
                conductors[step.arm] += set->ends->pieces[piece].conductor != ID_NONE;
            }
            at = harness_step_node(set, step, 1);
        }
        assert_near(path_mm, run->path_mm);
    }
    for (uint32_t i = 0; i < set->arm_count; i++) {
        assert_int_equal(conductors[i], set->arms[i].conductors);
        assert_int_equal(runs[i], set->arms[i].runs);
        assert_true(set->arms[i].runs > 0 && set->arms[i].od_mm > 0.0);
        assert_near(set->arms[i].length_mm,
                    set->ends->model->segment_length_mm[set->arms[i].segment]);
    }
    free(conductors);
    free(runs);
}

static uint32_t root(uint32_t *parent, uint32_t node) {
    while (parent[node] != node) {
        node = parent[node] = parent[parent[node]];
    }
    return node;
}

/* Fewest conductors of an arm on the way from `from` to `to` through the forest; UINT32_MAX when
 * they are one node; 0 when nothing joins them. */
static uint32_t thinnest(const HarnessSet *set, uint32_t from, uint32_t to, uint32_t came) {
    if (from == to) {
        return UINT32_MAX;
    }
    const HarnessNode *node = &set->nodes[from];
    for (uint32_t i = node->arm_first; i < node->arm_first + node->arm_count; i++) {
        const HarnessArm *arm = &set->arms[set->node_arms[i]];
        if (set->node_arms[i] == came) {
            continue;
        }
        uint32_t next = arm->node[arm->node[0] == from ? 1 : 0];
        uint32_t rest = thinnest(set, next, to, set->node_arms[i]);
        if (rest > 0) {
            return rest < arm->conductors ? rest : arm->conductors;
        }
    }
    return 0;
}

static void each_harness_is_a_forest(const HarnessSet *set) {
    uint32_t *parent = malloc((set->node_count + 1) * sizeof *parent);
    for (uint32_t i = 0; i < set->node_count; i++) {
        parent[i] = i;
    }
    for (uint32_t i = 0; i < set->arm_count; i++) {
        uint32_t a = root(parent, set->arms[i].node[0]);
        uint32_t b = root(parent, set->arms[i].node[1]);
        assert_int_not_equal(a, b); /* it would close a loop */
        parent[a] = b;
        assert_int_equal(set->nodes[set->arms[i].node[0]].harness, set->arms[i].harness);
        assert_int_equal(set->nodes[set->arms[i].node[1]].harness, set->arms[i].harness);
    }
    for (uint32_t i = 0; i < set->harness_count; i++) {
        const Harness *harness = &set->harnesses[i];
        uint32_t trees = 0;
        for (uint32_t k = harness->node_first; k < harness->node_first + harness->node_count; k++) {
            assert_int_equal(set->nodes[k].harness, i);
            trees += root(parent, k) == k;
        }
        assert_int_equal(trees, harness->tree_count);
    }
    /* An arm is opened only where something else joins its two ends by thicker arms all the way. */
    for (uint32_t i = 0; i < set->opening_count; i++) {
        const HarnessOpening *opening = &set->openings[i];
        const HarnessArm *arm = &set->arms[opening->arm];
        assert_int_equal(arm->node[1], opening->open);
        assert_int_equal(set->nodes[opening->open].arm_count, 1);
        assert_int_equal(set->nodes[opening->open].leaf_count, 0);
        uint32_t least = thinnest(set, arm->node[0], opening->node, UINT32_MAX);
        assert_true(least >= arm->conductors);
        assert_int_equal(opening->conductors, arm->conductors);
    }
    free(parent);
}

/* --- lengths ------------------------------------------------------------------------------------
 */

/* What a wire of the run that lies outermost is longer by in the bends of the harness's own arms.
 */
static double outermost_mm(const HarnessSet *set, const HarnessRun *run, double od_mm) {
    double sum_mm = 0.0;
    double last[3] = {0};
    double last_mm = NAN;
    for (uint32_t k = run->step_first; k < run->step_first + run->step_count; k++) {
        const HarnessArm *arm = &set->arms[set->steps[k].arm];
        double along[3];
        if (!route_segment_direction(set->ends->model, arm->segment, along)) {
            continue;
        }
        double dot = 0.0;
        for (int axis = 0; axis < 3; axis++) {
            along[axis] = set->steps[k].backward ? -along[axis] : along[axis];
            dot += last[axis] * along[axis];
            last[axis] = along[axis];
        }
        double out_mm = (fmin(last_mm, arm->od_mm) - od_mm) / 2.0;
        sum_mm += isnan(last_mm) || out_mm < 0.0 ? 0.0 : acos(fmin(1.0, fmax(-1.0, dot))) * out_mm;
        last_mm = arm->od_mm;
    }
    return sum_mm;
}

/* The route layer knows no harness; what it says of stubs, loops and path is that of the leaves and
 * arms, and its bends are no smaller than those of the arms: bundles of two harnesses in one
 * segment count as one there. */
static void each_part_is_that_of_its_place(const HarnessSet *set, uint32_t i) {
    const Ends *ends = set->ends;
    const HarnessPiece *piece = &set->pieces[i];
    const LengthParts *length = &piece->length;
    const HarnessRun *run = &set->runs[piece->run];
    assert_near(length->path_mm, run->path_mm);
    for (int side = 0; side < 2; side++) {
        assert_near(length->stub_mm[side], set->leaves[piece->leaf[side]].stub_mm);
        assert_near(length->loop_mm[side], set->leaves[piece->leaf[side]].loop_mm);
    }
    ConductorId conductor = ends->pieces[i].conductor;
    if (conductor == ID_NONE) {
        return;
    }
    const Cable *cable = &ends->wiring->cables[run->cable];
    int32_t awg = route_conductor_awg(ends->model, ends->wiring, conductor, ends->awg);
    const WireRow *wire = gauges_wire(ends->model, &ends->gauges, awg);
    double od_mm = cable->part != ID_NONE ? ends->model->set->cable.rows[cable->part].od_mm
                   : wire == NULL         ? 0.0
                                          : wire->od_mm;
    double bend_mm = outermost_mm(set, run, od_mm);
    double least_mm = model_limit(ends->model, LENGTH_LIMIT_BEND);
    assert_true(bend_mm < least_mm || length->bend_mm + length->round_mm >= bend_mm - 1e-6);
}

static void lengths_add_up(const HarnessSet *set) {
    const Model *model = set->ends->model;
    double step_mm = model_limit(model, LENGTH_LIMIT_STEP);
    double electric_mm = 0.0;
    for (uint32_t i = 0; i < set->ends->piece_count; i++) {
        const HarnessPiece *piece = &set->pieces[i];
        const LengthParts *length = &piece->length;
        const Piece *cut = &set->ends->pieces[i];
        if (piece->leaf[0] == ID_NONE) {
            assert_true(isnan(length->cut_mm) && isnan(harness_board_mm(set, i)));
            continue;
        }
        double kept_mm = length->loop_mm[0] + length->loop_mm[1];
        double stubs_mm = length->stub_mm[0] + length->stub_mm[1];
        assert_near(length->cut_mm, length->path_mm + stubs_mm + kept_mm + length->handling_mm +
                                        length->slack_mm + length->twist_mm + length->bend_mm +
                                        length->round_mm);
        assert_near(harness_board_mm(set, i), length->path_mm + stubs_mm + kept_mm);
        assert_near(length->cut_mm, step_mm * round(length->cut_mm / step_mm));
        assert_true(length->round_mm >= -1e-6 && length->round_mm < step_mm);
        assert_true(length->slack_mm >= 0.0 && length->twist_mm >= 0.0 && length->bend_mm >= 0.0);
        each_part_is_that_of_its_place(set, i);
        /* All pieces of one core together are what the electrics reckon with. */
        electric_mm = cut->index == 0 ? 0.0 : electric_mm;
        electric_mm += length->cut_mm;
        bool last = i + 1 == set->ends->piece_count || set->ends->pieces[i + 1].index == 0;
        if (last) {
            assert_near(electric_mm, set->ends->routing->length_mm[cut->cable]);
        }
    }
    for (uint32_t i = 0; i < set->run_count; i++) {
        const HarnessRun *run = &set->runs[i];
        const HarnessPiece *first = &set->pieces[set->run_pieces[run->piece_first]];
        for (uint32_t k = 1; run->jacketed && run->harness != ID_NONE && k < run->piece_count;
             k++) {
            const HarnessPiece *other = &set->pieces[set->run_pieces[run->piece_first + k]];
            assert_near(first->length.cut_mm, other->length.cut_mm);
        }
    }
}

static void holds(const HarnessSet *set) {
    each_piece_is_in_one_run(set);
    each_end_hangs_on_one_leaf(set);
    halves_are_where_they_belong(set);
    steps_hang_together(set);
    each_harness_is_a_forest(set);
    lengths_add_up(set);
    for (uint32_t i = 0; i < set->harness_count; i++) {
        const Harness *harness = &set->harnesses[i];
        assert_int_equal(harness->module, i);
        assert_int_equal(harness->runs > 0, harness->node_count > 0);
        assert_int_equal(harness->runs > 0, harness->mass_kg > 0.0);
    }
}

/* --- tests --------------------------------------------------------------------------------------
 */

static void examples_hold(void **state) {
    (void)state;
    static const char *const JOBS[] = {MARLING_SOURCE_DIR "/examples/first",
                                       MARLING_SOURCE_DIR "/examples/osier",
                                       MARLING_SOURCE_DIR "/examples/osier_mended"};
    for (size_t i = 0; i < sizeof JOBS / sizeof *JOBS; i++) {
        Bench bench = {0};
        job_read_folder(&bench.wired.job, JOBS[i]);
        wired_run(&bench.wired, NULL);
        make(&bench);
        holds(&bench.set);
        assert_true(i == 0 || bench.set.opening_count > 0);
        arena_free(&bench.wired.job.arena);
    }
}

static void grown_aircraft_hold(void **state) {
    (void)state;
    Job template;
    job_read_example(&template);
    for (uint64_t seed = 1; seed <= 6; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Bench bench = {0};
        job_start(&bench.wired.job);
        job_grow(&bench.wired.job.arena, &template.set, seed * 700, seed, &bench.wired.job.set);
        table_check(&bench.wired.job.arena, &bench.wired.job.set, &bench.wired.job.findings);
        wired_run(&bench.wired, NULL);
        make(&bench);
        holds(&bench.set);
        arena_free(&bench.wired.job.arena);
    }
    arena_free(&template.arena);
}

static uint64_t chance(uint64_t *random) {
    uint64_t z = (*random += 0x9e3779b97f4a7c15u); /* splitmix64 */
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

/* Disconnects at other ends of their segments or gone, nodes in other modules, ways that close
 * loops, also between two nodes that a way joins already. */
static void spoil(Job *job, uint64_t *random) {
    TableSet *set = &job->set;
    for (size_t i = 0; i < set->disconnect_shell.count; i++) {
        DisconnectShellRow *row = &set->disconnect_shell.rows[i];
        const SegmentRow *segment =
            &set->segment.rows[model_row(&job->model, TABLE_segment, row->segment)];
        static const char *const OTHER[] = {"A01-A02", "C03-C04", "X04-X08", "S02-S03"};
        uint64_t what = chance(random) % 8;
        row->node = what < 2   ? segment->node_a
                    : what < 4 ? segment->node_b
                    : what < 5 ? set->node.rows[chance(random) % set->node.count].node
                               : "";
        row->segment = what == 7 ? OTHER[chance(random) % 4] : row->segment;
    }
    for (size_t i = 0; i < set->node.count; i++) {
        if (chance(random) % 10 == 0) {
            set->node.rows[i].module = set->module.rows[chance(random) % set->module.count].module;
        }
    }
    for (int i = 0; i < 12; i++) {
        SegmentRow *row = table_append(set, &job->arena, TABLE_segment);
        row->segment = arena_format(&job->arena, "Z%02d", i);
        row->node_a = set->node.rows[chance(random) % set->node.count].node;
        row->node_b = i < 3 ? set->segment.rows[i].node_b
                            : set->node.rows[chance(random) % set->node.count].node;
        row->zone = set->zone.rows[0].zone;
        row->length_mm = 1.0 + (double)(chance(random) % 2000);
    }
}

static void spoilt_examples_hold(void **state) {
    (void)state;
    uint32_t openings = 0;
    uint32_t halves = 0;
    for (uint64_t seed = 1; seed <= 60; seed++) {
        print_message("seed %llu\n", (unsigned long long)seed);
        Bench bench = {0};
        Job *job = &bench.wired.job;
        job_read_example(job);
        job_build(job);
        uint64_t random = seed;
        spoil(job, &random);
        wired_run(&bench.wired, NULL);
        make(&bench);
        holds(&bench.set);
        openings += bench.set.opening_count;
        for (uint32_t i = 0; i < bench.set.node_count; i++) {
            halves += bench.set.nodes[i].kind == HARNESS_NODE_HALF;
        }
        arena_free(&job->arena);
    }
    assert_true(openings > 60 && halves > 60); /* what was to be tried was tried */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_hold),
        cmocka_unit_test(grown_aircraft_hold),
        cmocka_unit_test(spoilt_examples_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
