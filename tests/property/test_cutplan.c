/* The cut plan on random problems from a fixed seed, which is printed: equal to trying every plan
 * on small ones; within a reel of the optimum where a plan without any waste was hidden in it;
 * sums, bounds, order. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>

#include <string.h>

#include "shop/cutplan.h"

enum { MOST = 200 };

static uint64_t random_state;

static uint32_t below(uint32_t count) {
    random_state = random_state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((random_state >> 33) % count);
}

typedef struct Case {
    int64_t pieces[MOST];
    int64_t reels[MOST];
    CutProblem problem;
} Case;

static void random_case(Case *c, uint32_t pieces, uint32_t reels, uint32_t coarse) {
    for (uint32_t i = 0; i < pieces; i++) {
        c->pieces[i] = 1 + (int64_t)below(60 / coarse) * coarse;
    }
    for (uint32_t j = 0; j < reels; j++) {
        c->reels[j] = (int64_t)below(120 / coarse) * coarse;
    }
    c->problem = (CutProblem){c->pieces, pieces, c->reels, reels, below(40)};
}

/* --- every plan, the simplest way ------------------------------------------------------------- */

/* Counts through all (reels + 1)^pieces plans. */
static CutScore best_of_all(const CutProblem *problem) {
    uint32_t choice[MOST] = {0};
    CutScore best = {INT64_MAX, 0, 0, 0};
    for (;;) {
        uint32_t reel_of[MOST];
        int64_t sums[MOST] = {0};
        bool fits = true;
        for (uint32_t i = 0; i < problem->piece_count; i++) {
            reel_of[i] = choice[i] == 0 ? CUT_NONE : choice[i] - 1;
            if (choice[i] > 0) {
                sums[choice[i] - 1] += problem->piece_mm[i];
                fits = fits && sums[choice[i] - 1] <= problem->reel_mm[choice[i] - 1];
            }
        }
        if (fits) {
            CutScore score = cutplan_score(problem, reel_of);
            best = cutplan_compare(&score, &best) < 0 ? score : best;
        }
        uint32_t at = 0;
        while (at < problem->piece_count && choice[at] == problem->reel_count) {
            choice[at++] = 0;
        }
        if (at == problem->piece_count) {
            return best;
        }
        choice[at]++;
    }
}

static void equals_every_plan(void **state) {
    (void)state;
    random_state = 20251125;
    print_message("seed %llu\n", (unsigned long long)random_state);
    uint32_t short_of_wire = 0;
    for (int round = 0; round < 400; round++) {
        static Case c;
        uint32_t reels = 1 + below(round % 10 == 0 ? 4 : 3);
        random_case(&c,
                    1 + below(reels == 1   ? 10
                              : reels == 2 ? 9
                                           : 7),
                    reels, round % 3 == 0 ? 10 : 1);
        Arena arena = {0};
        CutPlan plan;
        cutplan_find(&arena, &c.problem, &plan);
        CutScore best = best_of_all(&c.problem);
        assert_true(plan.complete);
        assert_int_equal(cutplan_compare(&plan.score, &best), 0);
        short_of_wire += best.left_mm > 0;
        arena_free(&arena);
    }
    print_message("short of wire in %u of 400\n", short_of_wire);
    assert_true(short_of_wire > 40 && short_of_wire < 360);
}

/* --- fewest reels of one length, by sets ------------------------------------------------------ */

enum { SETS = 18 };

/* Fewest reels and then least length in the last one, for every set of pieces. */
static uint32_t fewest_reels(const CutProblem *problem) {
    static struct {
        uint32_t reels;
        int64_t last;
    } best[1 << SETS];
    int64_t reel = problem->reel_mm[0];
    uint32_t sets = 1u << problem->piece_count;
    best[0].reels = 0;
    best[0].last = reel;
    for (uint32_t set = 1; set < sets; set++) {
        best[set].reels = UINT32_MAX;
        for (uint32_t i = 0; i < problem->piece_count; i++) {
            if ((set >> i & 1u) == 0) {
                continue;
            }
            uint32_t without = set & ~(1u << i);
            int64_t with = best[without].last + problem->piece_mm[i];
            uint32_t reels = best[without].reels + (with > reel);
            int64_t last = with > reel ? problem->piece_mm[i] : with;
            if (reels < best[set].reels || (reels == best[set].reels && last < best[set].last)) {
                best[set].reels = reels;
                best[set].last = last;
            }
        }
    }
    return best[sets - 1].reels;
}

/* Too many pieces for trying every plan: the optimum is still reached nearly always, never missed
 * by more than a reel, and no bound lies above it. */
static void fewest_reels_of_one_length(void **state) {
    (void)state;
    random_state = 4711;
    uint32_t reached = 0;
    for (int round = 0; round < 40; round++) {
        static Case c;
        random_case(&c, SETS, SETS, 1);
        for (uint32_t j = 0; j < SETS; j++) {
            c.reels[j] = 60 + 5 * (round % 9);
        }
        Arena arena = {0};
        CutPlan plan;
        cutplan_find(&arena, &c.problem, &plan);
        uint32_t optimum = fewest_reels(&c.problem);
        assert_int_equal(plan.score.left_mm, 0);
        assert_true(plan.bound_reels <= optimum);
        assert_true(cutplan_bound(&c.problem) <= optimum);
        assert_true(plan.score.reels <= optimum + 1);
        reached += plan.score.reels == optimum;
        arena_free(&arena);
    }
    print_message("optimum reached in %u of 40\n", reached);
    assert_true(reached >= 38);
}

/* --- a plan without waste is hidden ----------------------------------------------------------- */

/* Reels cut into pieces without waste, three to five of each, and the pieces shuffled: what is left
 * over would fit into one more reel like the shortest, so the plan is within a reel of the optimum.
 */
static void hidden_plan(void **state) {
    (void)state;
    random_state = 99;
    for (int round = 0; round < 12; round++) {
        static Case c;
        uint32_t reels = 5 + below(25);
        uint32_t count = 0;
        for (uint32_t j = 0; j < reels; j++) {
            int64_t length = round % 2 == 0 ? 1000 : 600 + below(900);
            c.reels[j] = length;
            uint32_t parts = 3 + below(3);
            for (uint32_t part = 1; part < parts; part++) {
                int64_t piece = 1 + length / (int64_t)(parts - part + 2) + below(100);
                c.pieces[count++] = piece;
                length -= piece;
            }
            assert_true(length > 0);
            c.pieces[count++] = length;
        }
        for (uint32_t i = count; i > 1; i--) {
            uint32_t other = below(i);
            int64_t kept = c.pieces[i - 1];
            c.pieces[i - 1] = c.pieces[other];
            c.pieces[other] = kept;
        }
        c.problem = (CutProblem){c.pieces, count, c.reels, reels, 50};
        Arena arena = {0};
        CutPlan plan;
        cutplan_find(&arena, &c.problem, &plan);
        print_message("%u reels, %u pieces: %lld mm left\n", reels, count,
                      (long long)plan.score.left_mm);
        assert_true(plan.bound_reels <= reels);
        assert_int_equal(plan.bound_left_mm, 0);
        int64_t shortest = c.reels[0];
        for (uint32_t j = 1; j < reels; j++) {
            shortest = c.reels[j] < shortest ? c.reels[j] : shortest;
        }
        assert_true(plan.score.left_mm <= shortest);
        arena_free(&arena);
    }
}

/* --- order, and more of it -------------------------------------------------------------------- */

static void order_does_not_matter(void **state) {
    (void)state;
    random_state = 3;
    for (int round = 0; round < 30; round++) {
        static Case c;
        static Case turned;
        random_case(&c, 20 + below(100), 2 + below(8), 1);
        for (uint32_t j = 0; j < c.problem.reel_count; j++) {
            c.reels[j] *= 10;
        }
        turned.problem = c.problem;
        turned.problem.piece_mm = turned.pieces;
        turned.problem.reel_mm = turned.reels;
        for (uint32_t i = 0; i < c.problem.piece_count; i++) {
            turned.pieces[i] = c.pieces[c.problem.piece_count - 1 - i];
        }
        for (uint32_t j = 0; j < c.problem.reel_count; j++) {
            turned.reels[j] = c.reels[c.problem.reel_count - 1 - j];
        }
        Arena arena = {0};
        CutPlan first;
        CutPlan again;
        CutPlan other;
        cutplan_find(&arena, &c.problem, &first);
        cutplan_find(&arena, &c.problem, &again);
        cutplan_find(&arena, &turned.problem, &other);
        assert_memory_equal(first.reel_of, again.reel_of,
                            c.problem.piece_count * sizeof *first.reel_of);
        assert_int_equal(cutplan_compare(&first.score, &other.score), 0);
        assert_true(first.score.left_mm >= first.bound_left_mm);
        uint32_t by_hand[MOST];
        CutScore hand = cutplan_first_fit(&c.problem, by_hand);
        assert_true(first.score.left_mm <= hand.left_mm);
        assert_true(first.score.left_mm < hand.left_mm || first.score.reels <= hand.reels);
        arena_free(&arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equals_every_plan),
        cmocka_unit_test(fewest_reels_of_one_length),
        cmocka_unit_test(hidden_plan),
        cmocka_unit_test(order_does_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
