/* Shapes: rigid layouts of subtrees in a frame of their own (they begin at the origin and leave it
 * to the right), a few for each subtree, from which the larger ones are put together. */
#ifndef BOARD_FLAT_SHAPE_H
#define BOARD_FLAT_SHAPE_H

#include "board/flat_inner.h"

typedef struct FlatShape FlatShape;

/* A subtree where it leaves the chain it hangs on. */
typedef struct FlatPlace {
    uint32_t arm;
    uint32_t at; /* node of the chain, as its index */
    const FlatShape *shape;
    double leave_rad; /* to the left of the chain's heading there, 0 to 2 pi */
    bool turned;
    bool failed; /* lies over something */
} FlatPlace;

struct FlatShape {
    FlatFolds folds;
    FlatChain chain;
    FlatPlace *places;
    uint32_t place_count;
    FlatSamples samples; /* of all of it; none for a shape made on the spot */
    double cost;
    uint32_t turned; /* arms */
};

/* A subtree that hangs on a chain. */
typedef struct FlatSide {
    uint32_t arm;
    uint32_t at;      /* node of the chain, as its index */
    double order_deg; /* counter-clockwise from the chain's onward arm, 0 to 360; NAN: free */
    double back_deg;  /* the chain's own way back, in the same measure */
    double most_mm;   /* longest way to an end of it */
    double bulk_mm;   /* length of all its arms */
} FlatSide;

/* A chain alone, laid in one form from the origin to the right. */
typedef struct FlatStem {
    FlatFolds folds;
    FlatPath path;
    FlatSamples samples;
    double cost;
} FlatStem;

#define FLAT_STEMS_MOST 40

typedef struct FlatSearch {
    Arena *arena;
    FlatFrame frame;
    uint32_t *parent_arm; /* by node: towards the root; FLAT_NONE */
    double *most_mm;      /* by node: longest way to an end, away from the root */
    double *bulk_mm;      /* by node: length of all arms beyond */
    /* By arm that leaves a chain: */
    FlatChain *chains;
    FlatSide **sides;
    uint32_t *side_counts;
    uint32_t *carried; /* arms of the subtree */
    FlatStem **stems;
    uint32_t *stem_counts;
    FlatShape **shapes;
    uint32_t *shape_counts;
    FlatRoom *room;
    bool branches_first; /* what carries others is hung before what does not */
    uint32_t depth;      /* chains between the one being hung and the trunk */
    uint64_t trials_end; /* work after which only what is quick is tried */
} FlatSearch;

/* Makes chains, stems and shapes of everything beyond `root` (a node with one arm); *chain and its
 * sides are the trunk from there. */
void flat_shapes_make(FlatSearch *search, uint32_t root, FlatChain *chain, FlatSide **sides,
                      uint32_t *side_count);

/* For growing arm by arm: every arm beyond `root` as a chain of its own, with its stems and no
 * sides; *chain is the trunk from there, `sides` what leaves it. */
void flat_arms_make(FlatSearch *search, uint32_t root, FlatChain *chain, FlatSide **sides,
                    uint32_t *side_count);

typedef struct FlatHang {
    FlatPlace *places; /* by side */
    uint32_t failed;
    uint32_t turned;
} FlatHang;

/* Hangs the sides on a chain laid by `path` in the search's room, whose samples are already in it;
 * the room then holds everything that found a place. `rounds`: other orders are tried while some
 * find none, unless more than `give_up` did at first. `finish`: those may then go to the other side
 * of the chain, or lie over others: nothing is left out. */
FlatHang flat_sides_hang(FlatSearch *search, const FlatChain *chain, const FlatSide *sides,
                         uint32_t side_count, const FlatPath *path, uint32_t rounds,
                         uint32_t give_up, bool finish);

/* Grows all that hangs on a trunk laid by `path` arm by arm, in the search's room, whose samples
 * are already in it; the search is one made by flat_arms_make for that trunk, `sides` are the arms
 * that leave it. At most `trials` places are tried. The room then holds everything that found a
 * place. */
FlatHang flat_arms_grow(FlatSearch *search, const FlatChain *chain, const FlatSide *sides,
                        uint32_t side_count, const FlatPath *path, uint64_t trials);

#endif
