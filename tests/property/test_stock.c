/* What holds for the cut list and the room of bundles of every job: both examples, and the large
 * one with its reels changed at random from a fixed seed, which is printed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <string.h>
#include <cmocka.h>

#include "app/bench.h"
#include "base/text.h"
#include "rating/bundle.h"
#include "../near.h"

enum { JOBS = 3, ROUNDS = 12 };

static const char *const JOB_FOLDERS[JOBS] = {
    MARLING_SOURCE_DIR "/examples/first",
    MARLING_SOURCE_DIR "/examples/osier",
    MARLING_SOURCE_DIR "/examples/osier_mended",
};

static Proof proofs[JOBS];

static int open_all(void **state) {
    (void)state;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    for (int i = 0; i < JOBS; i++) {
        proof_run(JOB_FOLDERS[i], &options, &proofs[i]);
        assert_true(proofs[i].complete);
        bench_all(&proofs[i]);
    }
    return 0;
}

static int close_all(void **state) {
    (void)state;
    for (int i = 0; i < JOBS; i++) {
        proof_free(&proofs[i]);
    }
    return 0;
}

/* --- cuts ------------------------------------------------------------------------------------- */

/* Every piece of a conductor lies in exactly one cut: by itself, or in the cable it is a core of.
 */
static void check_each_once(Arena *arena, const HarnessSet *set, const CutList *list) {
    uint32_t *times = ARENA_ARRAY(arena, uint32_t, set->ends->piece_count);
    for (uint32_t i = 0; i < list->piece_count; i++) {
        const CutPiece *cut = &list->pieces[i];
        const HarnessRun *run = &set->runs[cut->run];
        assert_near(cut->length_mm, set->pieces[cut->piece].length.cut_mm, 0.0);
        assert_int_equal(set->pieces[cut->piece].run, cut->run);
        if (!run->jacketed) {
            times[cut->piece]++;
            continue;
        }
        for (uint32_t k = 0; k < run->piece_count; k++) {
            times[set->run_pieces[run->piece_first + k]]++;
        }
    }
    for (uint32_t i = 0; i < set->ends->piece_count; i++) {
        bool shield = set->ends->pieces[i].conductor == ID_NONE;
        bool laid = isfinite(set->pieces[i].length.cut_mm);
        if (laid && !shield) {
            assert_int_equal(times[i], 1);
        } else if (!laid) {
            assert_int_equal(times[i], 0);
        }
    }
}

/* The tables again, by nothing but themselves: sums of reels, order, what is left after each cut.
 */
static void check_tables(Arena *arena, const TableSet *set, const CutList *list) {
    const LimitRow *limits = set->limit.rows;
    double waste_mm = 0.0;
    double plus_mm = 0.0;
    for (size_t i = 0; i < set->limit.count; i++) {
        waste_mm += strcmp(limits[i].limit, "cut_waste") == 0 ? limits[i].value : 0.0;
        plus_mm += strcmp(limits[i].limit, "cut_plus") == 0 ? limits[i].value : 0.0;
    }
    bool *ranks = ARENA_ARRAY(arena, bool, set->cut.count + 1);
    double placed_m = 0.0;
    double missing_m = 0.0;
    for (size_t i = 0; i < set->cut.count; i++) {
        const CutRow *row = &set->cut.rows[i];
        const CutRow *before = i == 0 ? NULL : &set->cut.rows[i - 1];
        assert_true(row->rank >= 1 && row->rank <= (int32_t)set->cut.count);
        assert_false(ranks[row->rank]);
        ranks[row->rank] = true;
        bool goes_on = before != NULL && strcmp(before->reel, row->reel) == 0;
        assert_int_equal(row->place, goes_on ? before->place + 1 : 1);
        if (goes_on) {
            assert_true(row->length_mm <= before->length_mm + 1e-9);
            assert_string_equal(row->part, before->part);
            assert_string_equal(row->colour, before->colour);
        }
        double takes_m = ceil(row->length_mm + plus_mm + waste_mm - 1e-6) / 1000.0;
        if (isnan(row->left_m)) {
            missing_m += takes_m;
            continue;
        }
        placed_m += takes_m;
        assert_true(row->left_m >= (double)list->end_mm / 1000.0 - 1e-9);
        if (goes_on) {
            assert_near(row->left_m, before->left_m - takes_m, 1e-9);
        }
    }
    double used_m = 0.0;
    for (size_t i = 0; i < set->reel_plan.count; i++) {
        const ReelPlanRow *row = &set->reel_plan.rows[i];
        used_m += row->used_m;
        assert_near(row->before_m - row->used_m, row->left_m, 1e-9);
        assert_true(row->cuts == 0 || row->left_m >= (double)list->end_mm / 1000.0 - 1e-9);
    }
    assert_near(used_m, placed_m, 1e-6);
    double needed_m = 0.0;
    for (size_t i = 0; i < set->cut_plan.count; i++) {
        const CutPlanRow *row = &set->cut_plan.rows[i];
        needed_m += row->needed_m;
        missing_m -= row->missing_m;
        assert_true(row->missing_m >= row->missing_least_m - 1e-9);
        assert_true(row->missing_m > 0.0 || row->reels >= row->reels_least);
        assert_int_equal(row->pieces_missing > 0, row->missing_m > 0.0);
    }
    assert_near(missing_m, 0.0, 1e-6);
    assert_true(needed_m >= placed_m - 1e-6);
}

static void cuts_of_the_examples(void **state) {
    (void)state;
    for (int i = 0; i < JOBS; i++) {
        Arena arena = {0};
        const Bench *bench = proofs[i].bench;
        assert_true(bench->cutlist.piece_count > 20);
        check_each_once(&arena, &bench->harness, &bench->cutlist);
        check_tables(&arena, &proofs[i].set, &bench->cutlist);
        arena_free(&arena);
    }
}

static uint64_t random_state;

static uint32_t below(uint32_t count) {
    random_state = random_state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((random_state >> 33) % count);
}

/* Reels longer, shorter, reserved, empty: nothing is cut twice or beyond a reel's end, and with
 * less wire never fewer pieces are missing. */
static void cuts_from_other_reels(void **state) {
    (void)state;
    random_state = 20251126;
    print_message("seed %llu\n", (unsigned long long)random_state);
    Proof *proof = &proofs[2];
    const HarnessSet *set = &proof->bench->harness;
    TableSet *tables = &proof->set;
    ReelRow kept[200];
    assert_true(tables->reel.count <= 200);
    memcpy(kept, tables->reel.rows, tables->reel.count * sizeof *kept);
    for (int round = 0; round < ROUNDS; round++) {
        Arena arena = {0};
        Findings findings = {.arena = &arena};
        int64_t left_mm[2] = {0, 0};
        for (uint32_t i = 0; i < tables->reel.count; i++) {
            tables->reel.rows[i] = kept[i];
            tables->reel.rows[i].on_hand_m *= 0.1 * (double)(1 + below(14));
            tables->reel.rows[i].reserved_m *= below(3);
        }
        for (int less = 0; less < 2; less++) {
            CutList list;
            cutlist_run(&arena, set, &list, &findings);
            check_each_once(&arena, set, &list);
            TableSet rows = {.limit = {tables->limit.rows, tables->limit.count, 0}};
            cutlist_rows(&arena, set, &list, &rows);
            AnyTable limits = rows.any[TABLE_limit];
            table_set_sort(&rows);
            rows.any[TABLE_limit] = limits;
            check_tables(&arena, &rows, &list);
            for (uint32_t i = 0; i < list.item_count; i++) {
                left_mm[less] += list.items[i].bound_left_mm;
                assert_true(list.items[i].score.left_mm >= list.items[i].bound_left_mm);
            }
            for (uint32_t i = 0; i < tables->reel.count; i++) {
                tables->reel.rows[i].on_hand_m *= 0.5;
            }
        }
        assert_true(left_mm[1] >= left_mm[0]);
        arena_free(&arena);
    }
    memcpy(tables->reel.rows, kept, tables->reel.count * sizeof *kept);
}

/* --- bundles ---------------------------------------------------------------------------------- */

static FitInput fit_input(const Proof *proof, unsigned threads) {
    return (FitInput){.model = &proof->model,
                      .wiring = &proof->wiring,
                      .routing = &proof->routing,
                      .bundles = proof->bundles,
                      .awg = proof->sizing.awg,
                      .threads = threads};
}

/* Every conductor that passes a segment is in its bundle once; what is said of it follows. */
static void bundles_of_the_examples(void **state) {
    (void)state;
    for (int i = 0; i < JOBS; i++) {
        const Proof *proof = &proofs[i];
        const Fits *fits = &proof->bench->fits;
        Arena arena = {0};
        uint32_t *passes = ARENA_ARRAY(&arena, uint32_t, proof->set.segment.count);
        for (CableId id = 0; id < proof->wiring.cable_count; id++) {
            const Cable *cable = &proof->wiring.cables[id];
            for (uint32_t k = proof->routing.cable_first[id];
                 k < proof->routing.cable_first[id + 1]; k++) {
                passes[proof->routing.hops[k].segment] +=
                    cable->part != ID_NONE ? 1u : cable->conductor_count;
            }
        }
        for (SegmentId s = 0; s < proof->set.segment.count; s++) {
            const BundleFit *fit = &fits->bundles[s];
            assert_int_equal(fit->wire_count, passes[s]);
            if (fit->wire_count == 0) {
                continue;
            }
            double d[PACKING_MOST];
            double squares = 0.0;
            for (uint32_t k = 0; k < fit->wire_count; k++) {
                d[k] = fits->wires[fit->wire_first + k].diameter_mm;
                squares += k + fit->heavy < fit->wire_count ? d[k] * d[k] : 0.0;
            }
            assert_true(fit->all_mm >= bundle_least_mm(d, fit->wire_count) * (1.0 - 1e-9));
            assert_true(fit->packing_mm <= fit->all_mm * 1.01);
            assert_near(fit->rule_mm, 1.2 * sqrt(squares), 1e-9 * fit->rule_mm);
            if (fit->grommet != ID_NONE) {
                double inner_mm = proof->set.grommet.rows[fit->grommet].inner_mm;
                assert_true(inner_mm * 0.9 >= fit->packing_mm - 1e-9);
            }
        }
        arena_free(&arena);
    }
}

/* A segment lies whole in the harness of one module, so the bundle of a segment is the bundle of an
 * arm; were it used by two, their arms together would hold what it holds. */
static void bundles_of_segments_are_those_of_arms(void **state) {
    (void)state;
    for (int i = 0; i < JOBS; i++) {
        const Proof *proof = &proofs[i];
        const HarnessSet *set = &proof->bench->harness;
        Arena arena = {0};
        uint32_t *things = ARENA_ARRAY(&arena, uint32_t, proof->set.segment.count);
        uint32_t *arms = ARENA_ARRAY(&arena, uint32_t, proof->set.segment.count);
        for (uint32_t k = 0; k < set->arm_count; k++) {
            const HarnessArm *arm = &set->arms[k];
            arms[arm->segment]++;
            for (uint32_t r = arm->run_first; r < arm->run_first + arm->runs; r++) {
                const Cable *cable = &proof->wiring.cables[set->runs[set->arm_runs[r]].cable];
                things[arm->segment] += cable->part != ID_NONE ? 1u : cable->conductor_count;
            }
        }
        for (SegmentId s = 0; s < proof->set.segment.count; s++) {
            assert_int_equal(things[s], proof->bench->fits.bundles[s].wire_count);
            assert_true(arms[s] <= 1);
        }
        arena_free(&arena);
    }
}

static void threads_change_nothing(void **state) {
    (void)state;
    const Proof *proof = &proofs[1];
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    Fits one;
    Fits many;
    FitInput input = fit_input(proof, 1);
    fit_run(&arena, &input, &one, &findings);
    input = fit_input(proof, 5);
    fit_run(&arena, &input, &many, &findings);
    assert_memory_equal(one.bundles, many.bundles, proof->set.segment.count * sizeof *one.bundles);
    assert_memory_equal(one.bundles, proof->bench->fits.bundles,
                        proof->set.segment.count * sizeof *one.bundles);
    arena_free(&arena);
}

/* The largest first, each set of wires once. */
static void largest_bundles(void **state) {
    (void)state;
    for (int i = 0; i < JOBS; i++) {
        const Fits *fits = &proofs[i].bench->fits;
        SegmentId all[200];
        SegmentId some[3];
        uint32_t count = fit_largest(&proofs[i].model, fits, all, 200);
        assert_true(count >= 3);
        assert_int_equal(fit_largest(&proofs[i].model, fits, some, 3), 3);
        assert_memory_equal(all, some, sizeof some);
        for (uint32_t k = 1; k < count; k++) {
            assert_true(fits->bundles[all[k]].rule_mm <= fits->bundles[all[k - 1]].rule_mm + 1e-9);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cuts_of_the_examples),
        cmocka_unit_test(cuts_from_other_reels),
        cmocka_unit_test(bundles_of_the_examples),
        cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(largest_bundles),
        cmocka_unit_test(bundles_of_segments_are_those_of_arms),
    };
    return cmocka_run_group_tests(tests, open_all, close_all);
}
