/* Cutting pieces of one wire from reels of given lengths: which piece from which reel. Nothing is
 * spliced: every piece comes whole from one reel. Goes in: lengths in whole millimetres, with
 * whatever a cut wastes already added to the pieces and taken off the reels. Comes out: a reel for
 * every piece, and how far from the best that can be, with what is proved. Knows nothing of wires:
 * the same solver packs any bins. docs/theory/cutplan.md. */
#ifndef SHOP_CUTPLAN_H
#define SHOP_CUTPLAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

#define CUT_NONE UINT32_MAX

typedef struct CutProblem {
    const int64_t *piece_mm; /* above 0; their order is the caller's */
    uint32_t piece_count;
    const int64_t *reel_mm; /* what can be used of each; a reel below 1 is not used */
    uint32_t reel_count;
    int64_t useful_mm; /* a remnant below this (and above 0) is a short one */
} CutProblem;

/* What makes one plan better than another, in this order: less left without a reel; fewer reels
 * touched; fewer short remnants; less length in the reels touched (short reels are finished and
 * long ones kept whole). */
typedef struct CutScore {
    int64_t left_mm;
    uint32_t reels;
    uint32_t shorts;
    int64_t touched_mm;
} CutScore;

typedef struct CutPlan {
    uint32_t *reel_of; /* by piece; CUT_NONE: no reel has room for it */
    CutScore score;
    /* No plan leaves less; none that leaves so little touches fewer reels; and (when the number of
     * reels is proved) none that also touches so few has fewer short remnants. */
    int64_t bound_left_mm;
    uint32_t bound_reels;
    uint32_t bound_shorts;
    bool complete;   /* every plan was looked at: the score is the best there is, in all four */
    uint64_t looked; /* plans, and parts of plans, looked at: counted, not timed */
} CutPlan;

/* 0 better, the same or worse: below, at or above 0. */
int cutplan_compare(const CutScore *left, const CutScore *right);

/* The plan. Its arrays live in `out`. The same problem gives the same plan; equal pieces are
 * interchangeable, and reels of equal length are taken in their order. */
void cutplan_find(Arena *out, const CutProblem *problem, CutPlan *plan);

/* First fit by falling length, reels in their order: what a person does at the bench, for
 * comparison. Fills reel_of (by piece) and returns its score. */
CutScore cutplan_first_fit(const CutProblem *problem, uint32_t *reel_of);

/* The score of a given plan; CHECKs that no reel holds more than it has. */
CutScore cutplan_score(const CutProblem *problem, const uint32_t *reel_of);

/* Fewest reels that any plan for all pieces touches: the largest of the bound by length and those
 * by dual prices of the relaxation to patterns (whole numbers, so exact), the latter only when the
 * table of lengths is small enough or can be made so by rounding down. CUT_NONE when they show that
 * all reels together don't hold the pieces. */
uint32_t cutplan_bound(const CutProblem *problem);

#endif
