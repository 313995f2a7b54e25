/* The boards on which harnesses are built: each harness as a tree (its arms, and a stub to every
 * leaf) laid flat (flat.h), with what it is seen from, how large its connectors are, and what was
 * found. A pass beside the live chain. docs/theory/board.md. */
#ifndef BOARD_BOARD_H
#define BOARD_BOARD_H

#include "board/flat.h"
#include "board/harness.h"

/* From where the aircraft is looked at, so that left and right mean something: where most of the
 * harness lies across the line of sight. V(identifier, words, the aircraft's directions) */
#define BOARD_VIEWS(V)                                                                             \
    V(ABOVE, "seen from above")                                                                    \
    V(AHEAD, "seen from ahead, looking aft")                                                       \
    V(RIGHT, "seen from the right side")

typedef enum BoardSight {
#define BOARD_SIGHT_ID(id, words) BOARD_##id,
    BOARD_VIEWS(BOARD_SIGHT_ID)
#undef BOARD_SIGHT_ID
        BOARD_SIGHT_COUNT
} BoardSight;

const char *board_sight_words(BoardSight sight);

/* Leaves that are laid as one branch: alone; the halves of a disconnect on one segment, which lie
 * one over the other as they will in its bracket; or a tail of single leads of one length. */
typedef struct BoardStub {
    uint32_t *leaves; /* into HarnessSet.leaves */
    uint32_t leaf_count;
    const char *name; /* "NAV1.J1"; "BK1C1.P + BK1C2.P"; "CB01 + 11 more" */
} BoardStub;

typedef struct Board {
    uint32_t harness; /* into HarnessSet.harnesses */
    BoardSight sight;
    FlatTree tree;      /* arms: those of the harness, in order, then one for each stub, in order */
    uint32_t arm_count; /* of the harness; stub i has arm arm_count + i and node node_count + i */
    uint32_t node_count;
    BoardStub *stubs;
    uint32_t stub_count;
    Flat flat;
    FlatReport report;
    double area_share; /* of the boards that is covered, with the spacing */
} Board;

typedef struct BoardSet {
    const HarnessSet *harness;
    FlatShop shop;
    double tie_mm; /* between two ties */
    double clamp_mm;
    Board *boards; /* by harness; no arms: nothing to lay */
    uint32_t count;
} BoardSet;

/* Limits read from the library. */
#define BOARD_LIMIT_LENGTH "board_length"
#define BOARD_LIMIT_WIDTH "board_width"
#define BOARD_LIMIT_MARGIN "board_margin"
#define BOARD_LIMIT_GAP "board_gap"
#define BOARD_LIMIT_SEAM "board_seam"
#define BOARD_LIMIT_SPACING "board_spacing"
#define BOARD_LIMIT_HAND "board_hand"
#define BOARD_LIMIT_ZONE "board_zone"
#define BOARD_LIMIT_TIE "board_tie"
#define BOARD_LIMIT_BOARDS "board_boards"

/* A harness of more branches is not laid flat. */
#define BOARD_ARMS_MOST 400u

/* Lays all harnesses flat. `bundles` by SegmentId. Everything lives in `out`. Findings: rules
 * board.*. */
bool board_lay(Arena *out, const HarnessSet *harness, const Bundle *bundles, BoardSet *set,
               Findings *findings);

/* One harness alone. */
void board_lay_one(Arena *out, const HarnessSet *harness, const Bundle *bundles, uint32_t index,
                   BoardSet *set);

/* Connector, lug or cut end of a leaf on the board. */
FlatEnd board_leaf_size(const HarnessSet *harness, const HarnessLeaf *leaf);

/* Fills the result tables board and board_branch. */
void board_rows(Arena *arena, const BoardSet *set, TableSet *out);

/* "S02-P03" of an arm of the harness, the name of a stub. */
const char *board_arm_name(const BoardSet *set, const Board *board, uint32_t arm);
/* The harness node's name; of the end of a stub the stub's. */
const char *board_node_name(const BoardSet *set, const Board *board, uint32_t node);

#endif
