/* The cut list: every piece of wire and cable of all harnesses, from which reel, in which order,
 * what is left of the reels, what must be bought. Goes in: pieces with their cut lengths, and the
 * rows of `reel`. Comes out: a plan for each kind of wire and colour (cutplan.h) and the tables
 * cut, reel_plan, cut_plan, offcut. Not part of the live chain. docs/theory/cutplan.md. */
#ifndef SHOP_CUTLIST_H
#define SHOP_CUTLIST_H

#include "board/harness.h"
#include "shop/cutplan.h"

/* One cut: a single wire, or a cable with all its cores. */
typedef struct CutPiece {
    uint32_t piece; /* into HarnessSet.pieces; of a cable its first core */
    uint32_t run;   /* into HarnessSet.runs */
    double length_mm;
    int64_t take_mm; /* at most taken from the reel: length, upper tolerance, waste of the cut */
    uint32_t reel;   /* row of `reel`; ID_NONE: none has room */
} CutPiece;

/* One kind of wire in one colour, or one kind of cable: what is interchangeable. */
typedef struct CutItem {
    const char *part;
    const char *colour; /* "" for cables */
    TableId table;      /* wire or cable */
    uint32_t row;
    int32_t awg;
    uint32_t piece_first; /* into CutList.pieces: the longest first */
    uint32_t piece_count;
    uint32_t reel_first; /* into CutList.reels */
    uint32_t reel_count;
    int64_t needed_mm;
    int64_t free_mm; /* usable on all its reels */
    CutScore score;
    int64_t bound_left_mm;
    uint32_t bound_reels;
    uint32_t bound_shorts;
    bool complete;
} CutItem;

typedef struct CutList {
    CutItem *items; /* wires by gauge, the thickest first, then cables; by part, colour */
    uint32_t item_count;
    CutPiece *pieces;
    uint32_t piece_count;
    uint32_t *reels; /* rows of `reel` */
    uint32_t reel_count;
    int64_t end_mm; /* unusable of each reel */
    int64_t useful_mm;
} CutList;

/* Limits read from the library. */
#define CUT_LIMIT_WASTE "cut_waste"
#define CUT_LIMIT_END "reel_end"
#define CUT_LIMIT_USEFUL "remnant_useful"

/* Gathers the pieces and plans the cuts of every item. Lengths are taken at their upper tolerance,
 * so that the last piece of a reel is there even if every cut before it was as long as it may be.
 * Findings: rules cut.*; a job without rows of `reel` has nothing on hand and no findings. */
void cutlist_run(Arena *out, const HarnessSet *set, CutList *list, Findings *findings);

/* Fills the tables cut, reel_plan, cut_plan and offcut. */
void cutlist_rows(Arena *arena, const HarnessSet *set, const CutList *list, TableSet *out);

#endif
