/* What the files of the cut plan share. Inside shop/cutplan: pieces and reels are sorted, the
 * longest first, and all indices count in that order. */
#ifndef SHOP_CUTPLAN_INNER_H
#define SHOP_CUTPLAN_INNER_H

#include "shop/cutplan.h"

typedef struct CutCase {
    Arena *arena;
    const int64_t *piece; /* falling */
    uint32_t pieces;
    const int64_t *reel; /* falling, all above 0 */
    uint32_t reels;
    int64_t useful;
    int64_t total; /* of the pieces */
    uint64_t looked;
} CutCase;

/* A plan under construction. */
typedef struct CutLayout {
    uint32_t *reel_of; /* by piece; CUT_NONE: left */
    int64_t *room;     /* by reel */
} CutLayout;

CutLayout cut_layout_new(const CutCase *cut);
void cut_layout_clear(const CutCase *cut, CutLayout *layout);
void cut_layout_copy(const CutCase *cut, CutLayout *to, const CutLayout *from);
CutScore cut_layout_score(const CutCase *cut, const CutLayout *layout);

/* --- cutplan_fill.c: quick ways of packing ---------------------------------------------------- */

/* Puts the open pieces, the longest first, into the listed reel with the least room left that takes
 * it (best fit). `reels` are indices; pieces that have a reel stay. Returns how many are left. */
uint32_t cut_best_fit(const CutCase *cut, const uint32_t *reels, uint32_t count, CutLayout *layout);

/* Fills the listed reels one after the other with the open pieces that leave least room (exactly,
 * when the table of sums is small enough, else from the longest down with an exact end). `force`:
 * the longest open piece that fits goes in first. Returns how many are left. */
uint32_t cut_fill_each(CutCase *cut, const uint32_t *reels, uint32_t count, bool force,
                       CutLayout *layout);

/* The most that open pieces can fill of a reel with that room; room itself when that is too much
 * work to find out. */
int64_t cut_fill_most(CutCase *cut, int64_t room);

/* --- cutplan_search.c: exact searches --------------------------------------------------------- */

/* Tries to put every open piece into the listed reels, looking at no more than `nodes` choices.
 * True: done, in `layout`. False: *exhausted tells that there is no way. */
bool cut_search_fit(CutCase *cut, const uint32_t *reels, uint32_t count, uint64_t nodes,
                    CutLayout *layout, bool *exhausted);

/* Looks at every plan that could be better than `best`; false when `nodes` did not suffice. */
bool cut_search_all(CutCase *cut, uint64_t nodes, CutLayout *best);

/* --- cutplan_bound.c: relaxations ------------------------------------------------------------- */

/* Fills most[reel] with the most that pieces can fill of it. */
void cut_bound_fill(CutCase *cut, int64_t *most);

/* Fewest reels (of the longest) that can hold all pieces; CUT_NONE: not even all. By length (`most`
 * from cut_bound_fill), and by the prices of the relaxation to patterns, which is more work and 0
 * when it could not be solved. */
uint32_t cut_bound_length(const CutCase *cut, const int64_t *most);
uint32_t cut_bound_prices(CutCase *cut);

/* Patterns of a relaxation for reels of one length. */
typedef struct CutPatterns {
    uint32_t types;    /* distinct lengths, falling */
    int64_t *length;   /* by type */
    uint32_t *demand;  /* by type */
    uint32_t *pattern; /* of column c: pattern[c*types + type] pieces */
    double *times;     /* by column (there are `types` columns): how often in the optimum */
    double *price;     /* by type: dual */
    double value;      /* of the optimum: reels, not whole */
} CutPatterns;

/* Solves the relaxation for the open pieces and reels of `reel`; false when the table would be too
 * large or the simplex method did not end. */
bool cut_patterns_solve(CutCase *cut, const int64_t *piece, uint32_t pieces, int64_t reel,
                        CutPatterns *patterns);

/* Packs the open pieces into the listed reels, which have one length and are empty, by rounding the
 * relaxation down again and again; when no pattern is used a whole time, the one that is used the
 * `variant`-th most (from 0; later always the first) is taken once. Returns how many are left. */
uint32_t cut_patterns_pack(CutCase *cut, const uint32_t *reels, uint32_t count, uint32_t variant,
                           CutLayout *layout);

#endif
