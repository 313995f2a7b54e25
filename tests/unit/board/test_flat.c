/* Laying a harness flat: what must come out of hand-made trees, and that the checker sees every
 * kind of fault that is planted in a clean layout. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "board/flat.h"
#include "support/random_tree.h"

static const FlatShop SHOP = {.board_length_mm = 2440.0,
                              .board_width_mm = 1220.0,
                              .margin_mm = 25.0,
                              .seam_mm = 15.0,
                              .spacing_mm = 10.0,
                              .hand_mm = 12.0,
                              .zone_mm = 80.0};

static FlatReport checked(const FlatTree *tree, const FlatShop *shop, const Flat *flat) {
    Arena scratch = {0};
    FlatReport report;
    flat_check(&scratch, tree, shop, flat, &report);
    arena_free(&scratch);
    return report;
}

/* A trunk of three arms with a branch on either side, as in the aircraft. */
static FlatTree small_tree(Arena *arena) {
    static const FlatArm ARMS[] = {
        {0, 1, 600.0, 12.0, 40.0, NAN, 180.0}, {1, 2, 500.0, 10.0, 40.0, 0.0, 180.0},
        {2, 3, 400.0, 8.0, 40.0, 0.0, NAN},    {1, 4, 300.0, 6.0, 30.0, 90.0, NAN},
        {2, 5, 250.0, 6.0, 30.0, 270.0, NAN},
    };
    FlatEnd *ends = ARENA_ARRAY(arena, FlatEnd, 6);
    ends[0] = ends[3] = ends[4] = ends[5] = (FlatEnd){40.0, 30.0};
    return (FlatTree){ARMS, 5, ends, 6};
}

static void a_small_tree_lies_as_in_the_aircraft(void **state) {
    (void)state;
    Arena arena = {0};
    FlatTree tree = small_tree(&arena);
    Flat flat;
    flat_solve(&arena, &tree, &SHOP, &flat);
    FlatReport report = checked(&tree, &SHOP, &flat);
    assert_true(flat_is_clean(&report));
    assert_int_equal(flat.columns * flat.rows, 1);
    assert_int_equal(flat.folds, 0);
    assert_int_equal(flat.failed + flat.turned, 0);
    /* Going from node 1 to node 2, arm 3 leaves to the left and arm 4 to the right. */
    double on = flat_leaving_rad(&tree, &flat, 1, 1);
    assert_true(sin(flat_leaving_rad(&tree, &flat, 3, 1) - on) > 0.5);
    assert_true(sin(flat_leaving_rad(&tree, &flat, 4, 2) - on) < -0.5);
    arena_free(&arena);
}

static void a_long_arm_is_folded_to_fit_one_board(void **state) {
    (void)state;
    Arena arena = {0};
    const FlatArm arms[] = {{0, 1, 4200.0, 10.0, 60.0, NAN, NAN},
                            {1, 2, 900.0, 10.0, 60.0, NAN, NAN},
                            {1, 3, 200.0, 5.0, 30.0, NAN, NAN}};
    const FlatEnd ends[4] = {{30, 30}, {0, 0}, {30, 30}, {20, 30}};
    FlatTree tree = {arms, 3, ends, 4};
    Flat flat;
    flat_solve(&arena, &tree, &SHOP, &flat);
    FlatReport report = checked(&tree, &SHOP, &flat);
    assert_true(flat_is_clean(&report));
    assert_int_equal(flat.columns * flat.rows, 1);
    assert_true(flat.folds >= 1);
    assert_true(report.length_off_mm < 1e-9);
    arena_free(&arena);
}

static void over_a_gap_lie_only_straight_parts(void **state) {
    (void)state;
    Arena arena = {0};
    FlatShop shop = SHOP;
    shop.gap_mm = 40.0;
    shop.board_width_mm = 320.0; /* no room to fold */
    const FlatArm arms[] = {{0, 1, 2400.0, 10.0, 60.0, NAN, NAN},
                            {1, 2, 2600.0, 10.0, 60.0, NAN, NAN},
                            {1, 3, 100.0, 5.0, 30.0, NAN, NAN}};
    const FlatEnd ends[4] = {{30, 30}, {0, 0}, {30, 30}, {20, 30}};
    FlatTree tree = {arms, 3, ends, 4};
    Flat flat;
    flat_solve(&arena, &tree, &shop, &flat);
    FlatReport report = checked(&tree, &shop, &flat);
    assert_true(flat_is_clean(&report));
    assert_true(flat.columns >= 2);
    arena_free(&arena);
}

static void parts_that_do_not_hang_together_share_a_board(void **state) {
    (void)state;
    Arena arena = {0};
    const FlatArm arms[] = {{0, 1, 1500.0, 10.0, 60.0, NAN, NAN},
                            {2, 3, 900.0, 8.0, 60.0, NAN, NAN},
                            {4, 5, 700.0, 8.0, 60.0, NAN, NAN}};
    const FlatEnd ends[6] = {{30, 30}, {30, 30}, {30, 30}, {30, 30}, {30, 30}, {30, 30}};
    FlatTree tree = {arms, 3, ends, 6};
    Flat flat;
    flat_solve(&arena, &tree, &SHOP, &flat);
    FlatReport report = checked(&tree, &SHOP, &flat);
    assert_true(flat_is_clean(&report));
    assert_int_equal(flat.columns * flat.rows, 1);
    arena_free(&arena);
}

static void what_cannot_fit_is_told(void **state) {
    (void)state;
    Arena arena = {0};
    FlatArm arms[60];
    FlatEnd ends[61] = {{0}};
    for (uint32_t i = 0; i < 60;
         i++) { /* sixty plugs a hand wide at the ends of one node's stubs */
        arms[i] = (FlatArm){0, i + 1, 80.0, 8.0, 30.0, NAN, NAN};
        ends[i + 1] = (FlatEnd){60.0, 40.0};
    }
    FlatTree tree = {arms, 60, ends, 61};
    Flat flat;
    flat_solve(&arena, &tree, &SHOP, &flat);
    FlatReport report = checked(&tree, &SHOP, &flat);
    assert_true(flat.failed > 0);
    assert_false(flat_is_clean(&report));
    assert_true(report.length_off_mm < 1e-9);
    arena_free(&arena);
}

/* --- the checker --------------------------------------------------------------------------------
 */

static void every_planted_fault_is_seen(void **state) {
    (void)state;
    Arena arena = {0};
    FlatTree tree = small_tree(&arena);
    Flat flat;
    flat_solve(&arena, &tree, &SHOP, &flat);
    FlatReport report = checked(&tree, &SHOP, &flat);
    assert_true(flat_is_clean(&report));

    uint32_t last = flat.arm_first[4] - 1; /* of arm 3 */
    flat.pieces[last].length_mm += 0.6;
    report = checked(&tree, &SHOP, &flat);
    assert_true(report.length_off_mm > 0.5);
    flat.pieces[last].length_mm -= 0.6;

    flat.nodes[4].x_mm += 0.1;
    report = checked(&tree, &SHOP, &flat);
    assert_int_equal(report.broken, 1);
    flat.nodes[4].x_mm -= 0.1;

    FlatShop shop = SHOP;
    shop.spacing_mm = 5000.0;
    report = checked(&tree, &shop, &flat);
    assert_true(report.close > 0);
    shop = SHOP;
    shop.hand_mm = 5000.0;
    report = checked(&tree, &shop, &flat);
    assert_true(report.hands > 0);
    shop = SHOP;
    shop.board_width_mm = 300.0;
    report = checked(&tree, &shop, &flat);
    assert_true(report.off_board > 0);

    /* The right branch drawn to the left: the mirror image of it in the trunk. */
    FlatPiece *piece = &flat.pieces[flat.arm_first[4]];
    assert_int_equal(flat.arm_first[5] - flat.arm_first[4], 1);
    double on = flat_leaving_rad(&tree, &flat, 1, 1);
    piece->heading_rad = 2.0 * on - piece->heading_rad;
    FlatPoint end = flat_piece_at(piece, piece->length_mm, NULL);
    flat.nodes[5].x_mm = end.x_mm;
    flat.nodes[5].y_mm = end.y_mm;
    report = checked(&tree, &SHOP, &flat);
    assert_int_equal(report.swapped, 1);
    flat.leans[4] = FLAT_TURNED;
    report = checked(&tree, &SHOP, &flat);
    assert_int_equal(report.swapped, 0);
    arena_free(&arena);
}

static void a_crossing_is_seen(void **state) {
    (void)state;
    Arena arena = {0};
    const FlatArm arms[] = {{0, 1, 1000.0, 5.0, 30.0, NAN, NAN},
                            {2, 3, 1000.0, 5.0, 30.0, NAN, NAN}};
    const FlatEnd ends[4] = {{0}};
    FlatTree tree = {arms, 2, ends, 4};
    FlatPiece pieces[] = {{0, 100.0, 600.0, 0.0, 1000.0, 0.0},
                          {1, 600.0, 100.0, 1.5707963267948966, 1000.0, 0.0}};
    uint32_t first[] = {0, 1, 2};
    FlatNode nodes[] = {{100, 600, 80}, {1100, 600, 80}, {600, 100, 80}, {600, 1100, 80}};
    FlatLean leans[2] = {FLAT_KEPT, FLAT_KEPT};
    bool trunk[2] = {true, true};
    Flat flat = {.pieces = pieces,
                 .piece_count = 2,
                 .arm_first = first,
                 .nodes = nodes,
                 .leans = leans,
                 .trunk = trunk,
                 .columns = 1,
                 .rows = 1};
    FlatReport report = checked(&tree, &SHOP, &flat);
    assert_int_equal(report.crossings, 1);
    assert_int_equal(report.close, 1);
    /* Parallel, 14 mm apart: 9 mm between the outsides. */
    pieces[1] = (FlatPiece){1, 100.0, 614.0, 0.0, 1000.0, 0.0};
    nodes[2] = (FlatNode){100, 614, 80};
    nodes[3] = (FlatNode){1100, 614, 80};
    report = checked(&tree, &SHOP, &flat);
    assert_int_equal(report.crossings, 0);
    assert_int_equal(report.close, 1);
    assert_true(fabs(report.closest_mm - 9.0) < 1e-9);
    /* An arc tighter than the arm may be bent. */
    pieces[1] = (FlatPiece){1, 100.0, 800.0, 0.0, 1000.0, 1.0 / 400.0};
    FlatPoint end = flat_piece_at(&pieces[1], 1000.0, NULL);
    nodes[2] = (FlatNode){100, 800, 80};
    nodes[3] = (FlatNode){end.x_mm, end.y_mm, 80};
    report = checked(&tree, &SHOP, &flat);
    assert_int_equal(report.tight, 0);
    pieces[1].turn_per_mm = 1.0 / 29.0;
    end = flat_piece_at(&pieces[1], 1000.0, NULL);
    nodes[3] = (FlatNode){end.x_mm, end.y_mm, 80};
    report = checked(&tree, &SHOP, &flat);
    assert_int_equal(report.tight, 1);
    arena_free(&arena);
}

/* --- the same again -----------------------------------------------------------------------------
 */

static void the_same_tree_is_laid_the_same(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= 5; seed++) {
        Arena arena = {0};
        FlatTree tree = random_tree(&arena, seed, 40);
        Flat one;
        Flat two;
        flat_solve(&arena, &tree, &SHOP, &one);
        flat_solve(&arena, &tree, &SHOP, &two);
        assert_int_equal(one.piece_count, two.piece_count);
        for (uint32_t i = 0; i < one.piece_count; i++) {
            assert_memory_equal(&one.pieces[i].x_mm, &two.pieces[i].x_mm, sizeof(double));
            assert_memory_equal(&one.pieces[i].y_mm, &two.pieces[i].y_mm, sizeof(double));
        }
        arena_free(&arena);
    }
}

static void a_radial_layout_crosses_nothing(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        Arena arena = {0};
        FlatTree tree = random_tree(&arena, seed, 60);
        Flat flat;
        flat_radial(&arena, &tree, &SHOP, &flat);
        FlatReport report = checked(&tree, &SHOP, &flat);
        assert_int_equal(report.crossings, 0);
        assert_int_equal(report.broken, 0);
        assert_true(report.length_off_mm < 1e-9);
        arena_free(&arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_small_tree_lies_as_in_the_aircraft),
        cmocka_unit_test(a_long_arm_is_folded_to_fit_one_board),
        cmocka_unit_test(over_a_gap_lie_only_straight_parts),
        cmocka_unit_test(parts_that_do_not_hang_together_share_a_board),
        cmocka_unit_test(what_cannot_fit_is_told),
        cmocka_unit_test(every_planted_fault_is_seen),
        cmocka_unit_test(a_crossing_is_seen),
        cmocka_unit_test(the_same_tree_is_laid_the_same),
        cmocka_unit_test(a_radial_layout_crosses_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
