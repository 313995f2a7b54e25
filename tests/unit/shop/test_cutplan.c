/* The cut plan at its edges: nothing to cut, nothing to cut from, pieces too long, metres enough
 * but no reel long enough, and which of two plans is the better one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>

#include "shop/cutplan.h"

enum { MOST = 64 };

static CutScore plan(const int64_t *pieces, uint32_t count, const int64_t *reels,
                     uint32_t reel_count, uint32_t *reel_of, CutPlan *found) {
    Arena arena = {0};
    CutProblem problem = {pieces, count, reels, reel_count, 100};
    cutplan_find(&arena, &problem, found);
    for (uint32_t i = 0; i < count; i++) {
        reel_of[i] = found->reel_of[i];
    }
    found->reel_of = NULL;
    CutScore again = cutplan_score(&problem, reel_of);
    assert_int_equal(cutplan_compare(&again, &found->score), 0);
    assert_true(found->score.left_mm >= found->bound_left_mm);
    assert_true(found->score.left_mm > 0 || found->score.reels >= found->bound_reels);
    arena_free(&arena);
    return found->score;
}

static void nothing(void **state) {
    (void)state;
    uint32_t reel_of[MOST];
    CutPlan found;
    const int64_t reels[] = {500, 700};
    CutScore score = plan(NULL, 0, reels, 2, reel_of, &found);
    assert_int_equal(score.reels, 0);
    assert_int_equal(score.left_mm, 0);
    assert_true(found.complete);
    const int64_t pieces[] = {300, 200};
    score = plan(pieces, 2, NULL, 0, reel_of, &found);
    assert_int_equal(score.left_mm, 500);
    assert_int_equal(found.bound_left_mm, 500);
    assert_int_equal(reel_of[0], CUT_NONE);
    const int64_t empty[] = {0, -5};
    score = plan(pieces, 2, empty, 2, reel_of, &found);
    assert_int_equal(score.left_mm, 500);
}

/* 900 mm on three reels, 400 in one piece: enough by the sum, not by any reel. */
static void metres_enough_but_no_reel_long_enough(void **state) {
    (void)state;
    uint32_t reel_of[MOST];
    CutPlan found;
    const int64_t reels[] = {300, 300, 300};
    const int64_t pieces[] = {400, 100};
    CutScore score = plan(pieces, 2, reels, 3, reel_of, &found);
    assert_int_equal(score.left_mm, 400);
    assert_int_equal(found.bound_left_mm, 400);
    assert_int_equal(reel_of[0], CUT_NONE);
    assert_int_equal(reel_of[1], 0);
    /* Each piece fits a reel but not together: 3 x 200 on two reels of 300. */
    const int64_t three[] = {200, 200, 200};
    score = plan(three, 3, reels, 2, reel_of, &found);
    assert_int_equal(score.left_mm, 200);
    assert_int_equal(found.bound_left_mm, 200);
}

/* One reel is better than two; then no short remnant; then the shorter reel. */
static void better_plans(void **state) {
    (void)state;
    uint32_t reel_of[MOST];
    CutPlan found;
    const int64_t two_do[] = {250, 1000, 250};
    const int64_t halves[] = {250, 250};
    CutScore score = plan(halves, 2, two_do, 3, reel_of, &found);
    assert_int_equal(score.reels, 1);
    assert_int_equal(reel_of[0], 1);
    assert_int_equal(reel_of[1], 1);
    /* 450 from 500 leaves 50, which is short; from 2000 it leaves 1550. */
    const int64_t long_or_short[] = {500, 2000};
    const int64_t one[] = {450};
    score = plan(one, 1, long_or_short, 2, reel_of, &found);
    assert_int_equal(reel_of[0], 1);
    assert_int_equal(score.shorts, 0);
    /* 400 leaves 100 of the shorter: useful, so the long one is kept whole. */
    const int64_t shorter[] = {400};
    score = plan(shorter, 1, long_or_short, 2, reel_of, &found);
    assert_int_equal(reel_of[0], 0);
    assert_int_equal(score.touched_mm, 500);
    /* 280 and 300 of 300 and 500: either fills the first exactly or leaves 20 and 200. */
    const int64_t exact[] = {280, 300};
    const int64_t pair[] = {300, 500};
    score = plan(exact, 2, pair, 2, reel_of, &found);
    assert_int_equal(reel_of[1], 0);
    assert_int_equal(reel_of[0], 1);
    assert_int_equal(score.shorts, 0);
    assert_true(found.complete);
}

static void compares(void **state) {
    (void)state;
    const CutScore rising[] = {
        {0, 1, 0, 5}, {0, 1, 0, 6}, {0, 1, 1, 4}, {0, 2, 0, 3}, {1, 0, 0, 0}};
    for (int i = 0; i < 5; i++) {
        for (int j = 0; j < 5; j++) {
            int order = cutplan_compare(&rising[i], &rising[j]);
            assert_int_equal((order > 0) - (order < 0), (i > j) - (i < j));
        }
    }
}

/* The textbook order: 7, 6, 5, 4 into reels of 11: 7+4, 6+5. First fit in the order given (4, 5, 6,
 * 7) would have needed three; sorted it needs two. */
static void first_fit(void **state) {
    (void)state;
    const int64_t pieces[] = {4, 5, 6, 7};
    const int64_t reels[] = {11, 11, 11};
    CutProblem problem = {pieces, 4, reels, 3, 0};
    uint32_t reel_of[4];
    CutScore score = cutplan_first_fit(&problem, reel_of);
    assert_int_equal(score.reels, 2);
    assert_int_equal(reel_of[3], 0);
    assert_int_equal(reel_of[0], 0);
    assert_int_equal(reel_of[1], 1);
    assert_int_equal(reel_of[2], 1);
    assert_int_equal(cutplan_bound(&problem), 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing),      cmocka_unit_test(metres_enough_but_no_reel_long_enough),
        cmocka_unit_test(better_plans), cmocka_unit_test(compares),
        cmocka_unit_test(first_fit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
