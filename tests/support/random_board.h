/* Boards of random trees with all that drawing them asks for: the breakouts as nodes of one
 * harness, the arms between them as its segments, the rest as stubs to connectors. Names are
 * numbers. */
#ifndef TESTS_SUPPORT_RANDOM_BOARD_H
#define TESTS_SUPPORT_RANDOM_BOARD_H

#include "base/text.h"
#include "draw/board_plot.h"
#include "support/random_tree.h"

/* The shop that random trees are laid for. */
static const FlatShop RANDOM_SHOP = {.board_length_mm = 2440.0,
                                     .board_width_mm = 1220.0,
                                     .margin_mm = 25.0,
                                     .seam_mm = 15.0,
                                     .spacing_mm = 10.0,
                                     .hand_mm = 12.0,
                                     .zone_mm = 80.0};

typedef struct RandomBoard {
    TableSet set;
    JobRow job;
    ModuleRow module;
    Model model;
    Ends ends;
    HarnessSet harness;
    Harness own;
    BoardSet boards;
    Board board;
    DrawView view;
} RandomBoard;

/* Laid flat and measured; everything lives in `arena` and in `made`. */
static inline void random_board(Arena *arena, uint64_t seed, uint32_t arm_count,
                                RandomBoard *made) {
    *made = (RandomBoard){0};
    Board *board = &made->board;
    board->tree = random_tree(arena, seed, arm_count);
    board->node_count = 1 + arm_count / 3;
    board->arm_count = board->node_count - 1;
    board->stub_count = arm_count - board->arm_count;
    made->harness.leaves = ARENA_ARRAY(arena, HarnessLeaf, board->stub_count + 1);
    board->stubs = ARENA_ARRAY(arena, BoardStub, board->stub_count + 1);
    for (uint32_t i = 0; i < board->stub_count; i++) {
        const char *name = arena_format(arena, "J%u", i + 1);
        uint32_t *leaf = ARENA_NEW(arena, uint32_t);
        *leaf = i;
        made->harness.leaves[i].label = name;
        board->stubs[i] = (BoardStub){leaf, 1, name};
    }
    SegmentRow *segments = ARENA_ARRAY(arena, SegmentRow, board->arm_count + 1);
    made->harness.arms = ARENA_ARRAY(arena, HarnessArm, board->arm_count + 1);
    for (uint32_t i = 0; i < board->arm_count; i++) {
        segments[i].segment =
            arena_format(arena, "N%u-N%u", board->tree.arms[i].a + 1, board->tree.arms[i].b + 1);
        made->harness.arms[i].segment = i;
    }
    made->harness.nodes = ARENA_ARRAY(arena, HarnessNode, board->node_count);
    for (uint32_t i = 0; i < board->node_count; i++) {
        made->harness.nodes[i].name = arena_format(arena, "N%u", i + 1);
    }
    made->job.job = made->job.title = "CHANCE";
    made->job.revision = "";
    made->module.module = arena_format(arena, "T%u", (unsigned)seed);
    made->set.job.rows = &made->job;
    made->set.module.rows = &made->module;
    made->set.segment.rows = segments;
    made->model.set = &made->set;
    made->ends.model = &made->model;
    made->own.arm_count = board->arm_count;
    made->own.node_count = board->node_count;
    made->harness.ends = &made->ends;
    made->harness.harnesses = &made->own;
    made->harness.harness_count = 1;
    made->boards = (BoardSet){.harness = &made->harness,
                              .shop = RANDOM_SHOP,
                              .tie_mm = 100.0,
                              .clamp_mm = 450.0,
                              .boards = board,
                              .count = 1};
    made->view = (DrawView){.set = &made->set,
                            .model = &made->model,
                            .harness = &made->harness,
                            .boards = &made->boards,
                            .hash = "00000000",
                            .version = "test"};
    flat_solve(arena, &board->tree, &RANDOM_SHOP, &board->flat);
    flat_check(arena, &board->tree, &RANDOM_SHOP, &board->flat, &board->report);
}

#endif
