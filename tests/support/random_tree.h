/* Trees of harnesses by chance, for tests and the bench: a third of the arms join breakouts, the
 * rest are stubs to connectors of 15 to 60 mm. Breakouts follow each other along a trunk four times
 * of five; arms leave them in directions 45 degrees apart, give or take ten. Arms of 120 to
 * 1,320 mm, stubs of 150 to 750 mm, short ones more often; 3 to 15 mm thick. */
#ifndef TESTS_BOARD_RANDOM_TREE_H
#define TESTS_BOARD_RANDOM_TREE_H

#include <math.h>

#include "board/flat.h"

typedef struct TreeChance {
    uint64_t state;
} TreeChance;

/* 0 to 1 (xorshift, Marsaglia 2003). */
static inline double tree_chance(TreeChance *chance) {
    chance->state ^= chance->state << 13;
    chance->state ^= chance->state >> 7;
    chance->state ^= chance->state << 17;
    return (double)(chance->state >> 11) / 9007199254740992.0;
}

static inline double tree_wrapped_deg(double deg) {
    return fmod(deg + 3600.0, 360.0);
}

static inline FlatTree random_tree(Arena *arena, uint64_t seed, uint32_t arm_count) {
    static const double SLOTS_DEG[7] = {0.0, 90.0, -90.0, 45.0, -45.0, 135.0, -135.0};
    TreeChance chance = {88172645463325252u + seed * 7919000003u};
    for (int i = 0; i < 20; i++) {
        tree_chance(&chance);
    }
    FlatArm *arms = ARENA_ARRAY(arena, FlatArm, arm_count + 1);
    FlatEnd *ends = ARENA_ARRAY(arena, FlatEnd, arm_count + 2);
    uint32_t *degree = ARENA_ARRAY(arena, uint32_t, arm_count + 2);
    uint32_t *used = ARENA_ARRAY(arena, uint32_t, arm_count + 2);
    double *heading_deg = ARENA_ARRAY(arena, double, arm_count + 2);
    uint32_t breakouts = 1 + arm_count / 3;
    uint32_t nodes = 1;
    uint32_t count = 0;
    while (nodes < breakouts) {
        uint32_t from = nodes - 1;
        bool on = tree_chance(&chance) < 0.8 && degree[from] < 4;
        while (!on && (from = (uint32_t)(tree_chance(&chance) * nodes), degree[from] >= 4)) {
        }
        uint32_t slot = tree_chance(&chance) < 0.75 ? 0 : 1 + (uint32_t)(tree_chance(&chance) * 6);
        while ((used[from] & 1u << slot) != 0) {
            slot = (slot + 1) % 7;
        }
        used[from] |= 1u << slot;
        double leaves_deg =
            heading_deg[from] + SLOTS_DEG[slot] + 20.0 * tree_chance(&chance) - 10.0;
        heading_deg[nodes] =
            leaves_deg + (tree_chance(&chance) < 0.2 ? 90.0 * tree_chance(&chance) - 45.0 : 0.0);
        arms[count++] =
            (FlatArm){.a = from,
                      .b = nodes,
                      .length_mm = 120.0 + 1200.0 * tree_chance(&chance) * tree_chance(&chance),
                      .bearing_a_deg = tree_wrapped_deg(leaves_deg),
                      .bearing_b_deg = tree_wrapped_deg(heading_deg[nodes] + 180.0)};
        degree[from]++;
        degree[nodes++]++;
    }
    while (count < arm_count) {
        uint32_t from = (uint32_t)(tree_chance(&chance) * breakouts);
        if (degree[from] < 7) {
            arms[count++] =
                (FlatArm){.a = from,
                          .b = nodes,
                          .length_mm = 150.0 + 600.0 * tree_chance(&chance) * tree_chance(&chance),
                          .bearing_a_deg = NAN,
                          .bearing_b_deg = NAN};
            degree[from]++;
            degree[nodes++]++;
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        arms[i].od_mm = 3.0 + 12.0 * tree_chance(&chance);
        arms[i].bend_mm = 20.0 + 50.0 * tree_chance(&chance);
    }
    for (uint32_t i = 0; i < nodes; i++) {
        if (degree[i] == 1) {
            ends[i].width_mm = 15.0 + 45.0 * tree_chance(&chance);
            ends[i].depth_mm = 20.0 + 30.0 * tree_chance(&chance);
        }
    }
    return (FlatTree){arms, count, ends, nodes};
}

#endif
