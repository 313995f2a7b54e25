/* Result rows of the boards. */
#include <math.h>

#include "base/text.h"
#include "board/board.h"

static uint32_t arcs_of(const Flat *flat, uint32_t arm) {
    uint32_t count = 0;
    for (uint32_t i = flat->arm_first[arm]; i < flat->arm_first[arm + 1]; i++) {
        count += flat->pieces[i].turn_per_mm != 0.0 ? 1 : 0;
    }
    return count;
}

static double or_blank(double value) {
    return isfinite(value) ? value : (double)NAN;
}

static void add_board(Arena *arena, const BoardSet *set, const Board *board, const char *module,
                      TableSet *out) {
    const Flat *flat = &board->flat;
    const FlatReport *found = &board->report;
    BoardRow *row = table_append(out, arena, TABLE_board);
    row->module = module;
    row->seen = board_sight_words(board->sight);
    row->boards = (int32_t)(flat->columns * flat->rows);
    row->along = (int32_t)flat->columns;
    row->across = (int32_t)flat->rows;
    row->branches = (int32_t)board->tree.arm_count;
    row->folds = (int32_t)flat->folds;
    row->bends = (int32_t)flat->bends;
    row->turned = (int32_t)flat->turned;
    row->opened = (int32_t)set->harness->harnesses[board->harness].opening_count;
    row->faults = (int32_t)(found->crossings + found->close + found->hands + found->off_board +
                            found->tight + found->broken + found->swapped);
    row->path_mm = flat->path_mm;
    row->travel_mm = flat->travel_mm;
    row->width_mm = flat->width_mm;
    row->height_mm = flat->height_mm;
    row->share_pct = 100.0 * board->area_share;
    row->closest_mm = or_blank(found->closest_mm);
    row->hand_mm = or_blank(found->closest_hand_mm);
}

static const char *leaf_labels(Arena *arena, const BoardSet *set, const Board *board,
                               uint32_t arm) {
    const BoardStub *stub = &board->stubs[arm - board->arm_count];
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < stub->leaf_count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ",
                      set->harness->leaves[stub->leaves[i]].label);
    }
    return text.bytes;
}

void board_rows(Arena *arena, const BoardSet *set, TableSet *out) {
    const Model *model = set->harness->ends->model;
    for (uint32_t i = 0; i < set->count; i++) {
        const Board *board = &set->boards[i];
        const Flat *flat = &board->flat;
        const char *module =
            model->set->module.rows[set->harness->harnesses[board->harness].module].module;
        if (flat->piece_count == 0) {
            continue;
        }
        add_board(arena, set, board, module, out);
        for (uint32_t k = 0; k < board->tree.arm_count; k++) {
            const FlatArm *arm = &board->tree.arms[k];
            BoardBranchRow *row = table_append(out, arena, TABLE_board_branch);
            row->name = board_arm_name(set, board, k);
            row->branch = arena_format(arena, "%s %s", module, row->name);
            row->module = module;
            row->leaves = k < board->arm_count ? "" : leaf_labels(arena, set, board, k);
            row->from_node = board_node_name(set, board, arm->a);
            row->to_node = board_node_name(set, board, arm->b);
            row->length_mm = arm->length_mm;
            row->od_mm = arm->od_mm;
            row->bend_mm = arm->bend_mm;
            row->bends = (int32_t)arcs_of(flat, k);
            row->trunk = flat->trunk[k];
            row->turned = flat->leans[k] == FLAT_TURNED;
        }
        for (uint32_t k = 0; k < board->tree.node_count; k++) {
            BoardNodeRow *row = table_append(out, arena, TABLE_board_node);
            row->name = board_node_name(set, board, k);
            row->place = arena_format(arena, "%s %s", module, row->name);
            row->module = module;
            row->x_mm = flat->nodes[k].x_mm;
            row->y_mm = flat->nodes[k].y_mm;
            row->zone_mm = flat->nodes[k].zone_mm;
        }
    }
}
