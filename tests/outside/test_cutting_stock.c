/* Published instances of cutting stock and bin packing, solved by the cut plan: reels of one
 * length, as many as there are pieces. Optima: of two textbook instances proved again with a
 * mixed-integer solver; of one family from a theorem; of small examples from the books named, from
 * memory, and equal to the bound by length, so that nothing rests on memory but where they come
 * from. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>

#include "shop/cutplan.h"

typedef struct Demand {
    int64_t length;
    uint32_t count;
} Demand;

#define COUNT(rows) (uint32_t)(sizeof(rows) / sizeof *(rows))

enum { MOST = 1400 };

/* Solves and checks: every reel's sum (cutplan_score stops at a reel that holds too much), every
 * piece placed, the optimum reached, the bound equal to it. */
static void solve(const Demand *demand, uint32_t kinds, int64_t reel, uint32_t optimum) {
    static int64_t pieces[MOST];
    static int64_t reels[MOST];
    static uint32_t reel_of[MOST];
    int64_t sums[MOST] = {0};
    uint32_t count = 0;
    for (uint32_t k = 0; k < kinds; k++) {
        for (uint32_t i = 0; i < demand[k].count; i++) {
            pieces[count++] = demand[k].length;
        }
    }
    for (uint32_t j = 0; j < count; j++) {
        reels[j] = reel;
    }
    Arena arena = {0};
    CutProblem problem = {pieces, count, reels, count, 0};
    CutPlan plan;
    cutplan_find(&arena, &problem, &plan);
    CutScore first_fit = cutplan_first_fit(&problem, reel_of);
    print_message("%u pieces: %u reels, bound %u, first fit %u\n", count, plan.score.reels,
                  plan.bound_reels, first_fit.reels);
    for (uint32_t i = 0; i < count; i++) {
        assert_true(plan.reel_of[i] < count);
        sums[plan.reel_of[i]] += pieces[i];
    }
    for (uint32_t j = 0; j < count; j++) {
        assert_true(sums[j] <= reel);
    }
    assert_int_equal(plan.score.left_mm, 0);
    assert_int_equal(plan.score.reels, optimum);
    assert_int_equal(plan.bound_reels, optimum);
    assert_true(cutplan_bound(&problem) <= optimum);
    assert_true(first_fit.reels >= optimum);
    arena_free(&arena);
}

/* C141: bars of 5,600 mm, thirteen lengths, 219 pieces: 73. Textbook instance. */
static void c141_thirteen_lengths(void **state) {
    (void)state;
    const Demand demand[] = {{1380, 22}, {1520, 25}, {1560, 12}, {1710, 14}, {1820, 18},
                             {1880, 18}, {1930, 20}, {2000, 10}, {2050, 12}, {2100, 14},
                             {2140, 16}, {2150, 18}, {2200, 20}};
    solve(demand, COUNT(demand), 5600, 73);
}

/* C142: rolls of 100, four widths, 1,313 pieces: 453, where the length alone would allow 416.
 * Textbook instance; the bound by patterns proves it. */
static void c142_four_widths(void **state) {
    (void)state;
    const Demand demand[] = {{14, 211}, {31, 395}, {36, 610}, {45, 97}};
    solve(demand, COUNT(demand), 100, 453);
}

/* C143, C144: made here; the optimum equals the bound by length. */
static void c143_six_lengths(void **state) {
    (void)state;
    const Demand demand[] = {{39, 6}, {31, 7}, {27, 5}, {22, 8}, {17, 9}, {12, 10}};
    solve(demand, COUNT(demand), 144, 8);
}

static void c144_five_lengths(void **state) {
    (void)state;
    const Demand demand[] = {{210, 4}, {180, 6}, {140, 5}, {95, 7}, {60, 12}};
    solve(demand, COUNT(demand), 600, 7);
}

/* Johnson and others (1974): 6k of 1/2+e, 1/4+2e and 1/4+e, 12k of 1/4-2e need 9k bins, first fit
 * by falling length takes 11k: its worst case. e = 1/100. */
static void first_fit_at_its_worst(void **state) {
    (void)state;
    for (uint32_t k = 1; k <= 4; k++) {
        const Demand demand[] = {{51, 6 * k}, {27, 6 * k}, {26, 6 * k}, {23, 12 * k}};
        solve(demand, COUNT(demand), 100, 9 * k);
    }
}

/* Martello and Toth, Knapsack Problems (1990), chapter 8, from memory: ten weights, capacity 100.
 * Three bins by their sum of 299; first fit takes four. */
static void ten_weights(void **state) {
    (void)state;
    const Demand demand[] = {{49, 1}, {41, 1}, {34, 1}, {33, 1}, {29, 1},
                             {26, 2}, {22, 1}, {20, 1}, {19, 1}};
    solve(demand, COUNT(demand), 100, 3);
}

/* An encyclopaedia's example of first fit doing worse in larger bins, from memory: three bins of 60
 * are enough, of 61 first fit takes four. */
static void larger_bins(void **state) {
    (void)state;
    const Demand demand[] = {{44, 1}, {24, 2}, {22, 1}, {21, 1}, {17, 1}, {8, 2}, {6, 2}};
    solve(demand, COUNT(demand), 60, 3);
    solve(demand, COUNT(demand), 61, 3);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c141_thirteen_lengths),
        cmocka_unit_test(c142_four_widths),
        cmocka_unit_test(c143_six_lengths),
        cmocka_unit_test(c144_five_lengths),
        cmocka_unit_test(first_fit_at_its_worst),
        cmocka_unit_test(ten_weights),
        cmocka_unit_test(larger_bins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
