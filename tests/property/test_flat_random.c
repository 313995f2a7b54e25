/* Trees of harnesses by chance, laid flat: every one gets a layout in which the checker finds
 * nothing, with bounded work. Work is counted in places tried, not in seconds: for one tree, and
 * for all together, beside the boards they take, so that a search that rots is seen on any machine.
 * The first few in the ordinary run; MARLING_FLAT_TREES=500 asks for as many. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "board/flat.h"
#include "support/random_tree.h"

/* The shop's own figures, as in the library of limits. */
static const FlatShop SHOP = {.board_length_mm = 2440.0,
                              .board_width_mm = 1220.0,
                              .margin_mm = 30.0,
                              .gap_mm = 0.0,
                              .seam_mm = 15.0,
                              .spacing_mm = 12.0,
                              .hand_mm = 12.0,
                              .zone_mm = 80.0};

#define TREES_ORDINARY 30u
#define ARMS_LEAST 5u
#define ARMS_MOST 300u
#define TRIALS_PER_ARM 30000u  /* no tree takes more; the worst seen takes two thirds of it */
#define TRIALS_MEAN_MOST 5000u /* for each arm of all trees together */
#define BOARDS_MEAN_MOST 4.8   /* for each tree, large ones too */

static uint32_t arms_of(uint64_t seed) {
    return ARMS_LEAST + (uint32_t)((seed * 2654435761u >> 8) % (ARMS_MOST - ARMS_LEAST + 1));
}

static uint32_t trees_wanted(void) {
    const char *text = getenv("MARLING_FLAT_TREES");
    unsigned long wanted = text == NULL ? 0 : strtoul(text, NULL, 10);
    return wanted > 0 && wanted <= 100000 ? (uint32_t)wanted : TREES_ORDINARY;
}

static void every_tree_gets_a_layout(void **state) {
    (void)state;
    uint32_t count = trees_wanted();
    uint64_t worst = 0;
    uint64_t trials = 0;
    uint64_t arms = 0;
    uint64_t boards = 0;
    uint64_t turned = 0;
    for (uint64_t seed = 1; seed <= count; seed++) {
        Arena arena = {0};
        Arena scratch = {0};
        FlatTree tree = random_tree(&arena, seed, arms_of(seed));
        Flat flat;
        FlatReport report;
        flat_solve(&arena, &tree, &SHOP, &flat);
        flat_check(&scratch, &tree, &SHOP, &flat, &report);
        if (!flat_is_clean(&report) || flat.failed > 0) {
            fail_msg("seed %llu, %u arms: %u without a place, %u cross, %u close, %u hands, %u off",
                     (unsigned long long)seed, tree.arm_count, flat.failed, report.crossings,
                     report.close, report.hands, report.off_board);
        }
        uint64_t per_arm = flat.trials / tree.arm_count;
        worst = per_arm > worst ? per_arm : worst;
        trials += flat.trials;
        arms += tree.arm_count;
        boards += (uint64_t)flat.columns * flat.rows;
        turned += flat.turned;
        arena_free(&scratch);
        arena_free(&arena);
    }
    print_message(
        "%u trees from seed 1: %.2f boards each, %llu arms turned, %llu places tried for an "
        "arm, at most %llu\n",
        count, (double)boards / count, (unsigned long long)turned,
        (unsigned long long)(trials / arms), (unsigned long long)worst);
    assert_true(worst < TRIALS_PER_ARM);
    assert_true(trials < TRIALS_MEAN_MOST * arms);
    assert_true((double)boards / count < BOARDS_MEAN_MOST);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_tree_gets_a_layout),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
