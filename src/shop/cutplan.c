/* Method. The longest k reels can hold whatever any k reels can, so the fewest reels are found by
 * trying the k longest, from the lower bound on: by best fit, by filling reel after reel, by
 * rounding the relaxation to patterns (reels of one length), by a search. Then other sets of k
 * reels are tried, the shortest together first, each filled exactly but for one reel, which keeps
 * what is left as a single remnant. Too little wire: all reels are filled as far as they can be. A
 * small problem is searched through afterwards, so that its plan is the best there is. */
#include "shop/cutplan.h"

#include <stdlib.h>

#include "base/check.h"
#include "shop/cutplan_inner.h"

/* Choices that one search may look at, and the size below which everything is looked at. */
#define SEARCH_NODES 200000u
#define EVERY_NODES 400000u
enum { EVERY_PIECES = 16, EVERY_REELS = 12 };

/* Ways of rounding the relaxation that are tried. */
enum { VARIANTS = 6 };

/* Sets of reels that are tried: only of so many reels, and so many sets. */
enum { CHOOSE_REELS = 16, CHOOSE_OF = 8, CHOOSE_SETS = 40 };

int cutplan_compare(const CutScore *left, const CutScore *right) {
    int order = (left->left_mm > right->left_mm) - (left->left_mm < right->left_mm);
    order = order != 0 ? order : (left->reels > right->reels) - (left->reels < right->reels);
    order = order != 0 ? order : (left->shorts > right->shorts) - (left->shorts < right->shorts);
    return order != 0
               ? order
               : (left->touched_mm > right->touched_mm) - (left->touched_mm < right->touched_mm);
}

/* --- sorting ---------------------------------------------------------------------------------- */

typedef struct Sorted {
    int64_t length;
    uint32_t index;
} Sorted;

static int compare_sorted(const void *left, const void *right) {
    const Sorted *a = left;
    const Sorted *b = right;
    int order = (a->length < b->length) - (a->length > b->length);
    return order != 0 ? order : (a->index > b->index) - (a->index < b->index);
}

/* The lengths of at least 1, the longest first; equal ones as given. Returns their count. */
static uint32_t sort_lengths(Arena *arena, const int64_t *length, uint32_t count, Sorted **sorted,
                             int64_t **falling) {
    *sorted = ARENA_ARRAY(arena, Sorted, count);
    *falling = ARENA_ARRAY(arena, int64_t, count);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (length[i] > 0) {
            (*sorted)[kept++] = (Sorted){length[i], i};
        }
    }
    if (kept > 1) {
        qsort(*sorted, kept, sizeof **sorted, compare_sorted);
    }
    for (uint32_t i = 0; i < kept; i++) {
        (*falling)[i] = (*sorted)[i].length;
    }
    return kept;
}

/* --- everything into k reels ------------------------------------------------------------------ */

typedef struct Finder {
    CutCase *cut;
    CutLayout trial;
    CutLayout best;
    CutScore best_score;
    uint32_t *reels; /* a list of reels being tried */
} Finder;

static void keep_if_better(Finder *finder) {
    CutScore score = cut_layout_score(finder->cut, &finder->trial);
    if (cutplan_compare(&score, &finder->best_score) < 0) {
        finder->best_score = score;
        cut_layout_copy(finder->cut, &finder->best, &finder->trial);
    }
}

/* finder->reels = the k longest, falling or rising. */
static void list_longest(const Finder *finder, uint32_t k, bool rising) {
    for (uint32_t i = 0; i < k; i++) {
        finder->reels[i] = rising ? k - 1 - i : i;
    }
}

/* Tries to put all pieces into the k longest reels, quickly. */
static bool pack_quickly(Finder *finder, uint32_t k) {
    CutCase *cut = finder->cut;
    list_longest(finder, k, true);
    for (int way = 0; way < 4; way++) {
        if (way == 3) {
            list_longest(finder, k, false);
        }
        cut_layout_clear(cut, &finder->trial);
        uint32_t left = way == 0 ? cut_best_fit(cut, finder->reels, k, &finder->trial)
                                 : cut_fill_each(cut, finder->reels, k, way != 2, &finder->trial);
        if (left == 0) {
            return true;
        }
    }
    return false;
}

/* The same with more work. *exhausted: there is no way. */
static bool pack_thoroughly(Finder *finder, uint32_t k, bool *exhausted) {
    CutCase *cut = finder->cut;
    list_longest(finder, k, false);
    for (uint32_t variant = 0; variant < VARIANTS && cut->reel[0] == cut->reel[k - 1]; variant++) {
        cut_layout_clear(cut, &finder->trial);
        if (cut_patterns_pack(cut, finder->reels, k, variant, &finder->trial) == 0) {
            return true;
        }
    }
    cut_layout_clear(cut, &finder->trial);
    return cut_search_fit(cut, finder->reels, k, SEARCH_NODES, &finder->trial, exhausted);
}

/* Finds the fewest reels for all pieces; false when they don't all fit. *bound: no plan for all
 * pieces touches fewer; CUT_NONE: there is no such plan. */
static bool find_fewest(Finder *finder, const int64_t *most, uint32_t *bound) {
    CutCase *cut = finder->cut;
    bool priced = false;
    *bound = cut_bound_length(cut, most);
    for (uint32_t k = *bound; *bound != CUT_NONE && k <= cut->reels;) {
        if (pack_quickly(finder, k)) {
            keep_if_better(finder);
            return true;
        }
        if (!priced) {
            priced = true;
            uint32_t least = cut_bound_prices(cut);
            if (least > k) {
                *bound = k = least;
                continue;
            }
        }
        bool exhausted = false;
        if (pack_thoroughly(finder, k, &exhausted)) {
            keep_if_better(finder);
            return true;
        }
        k++;
        *bound = exhausted && *bound + 1 == k ? k : *bound;
    }
    if (*bound > cut->reels) {
        *bound = CUT_NONE;
    }
    return false;
}

/* --- which k reels ---------------------------------------------------------------------------- */

/* Fills the listed reels exactly but for one, each of them in turn. */
static void try_reels(Finder *finder, uint32_t k) {
    CutCase *cut = finder->cut;
    for (uint32_t turn = 0; turn < k; turn++) {
        for (int force = 0; force < 2; force++) {
            cut_layout_clear(cut, &finder->trial);
            if (cut_fill_each(cut, finder->reels, k, force == 1, &finder->trial) == 0) {
                keep_if_better(finder);
            }
        }
        uint32_t first = finder->reels[0]; /* another one comes last */
        for (uint32_t i = 0; i + 1 < k; i++) {
            finder->reels[i] = finder->reels[i + 1];
        }
        finder->reels[k - 1] = first;
    }
}

typedef struct ReelSet {
    int64_t sum;
    uint32_t mask;
} ReelSet;

static int compare_sets(const void *left, const void *right) {
    const ReelSet *a = left;
    const ReelSet *b = right;
    int order = (a->sum > b->sum) - (a->sum < b->sum);
    return order != 0 ? order : (a->mask > b->mask) - (a->mask < b->mask);
}

/* Sets of k of few reels, the shortest together first. The first that takes all pieces without a
 * short remnant can't be beaten; else the best of those tried stands. */
static void choose_sets(Finder *finder, uint32_t k) {
    CutCase *cut = finder->cut;
    ReelSet *sets = ARENA_ARRAY(cut->arena, ReelSet, (size_t)1 << cut->reels);
    uint32_t count = 0;
    for (uint32_t mask = 1; mask < 1u << cut->reels; mask++) {
        int64_t sum = 0;
        for (uint32_t j = 0; j < cut->reels; j++) {
            sum += (mask >> j & 1u) != 0 ? cut->reel[j] : 0;
        }
        if ((uint32_t)__builtin_popcount(mask) == k && sum >= cut->total) {
            sets[count++] = (ReelSet){sum, mask};
        }
    }
    if (count > 1) {
        qsort(sets, count, sizeof *sets, compare_sets);
    }
    for (uint32_t s = 0; s < count && s < CHOOSE_SETS; s++) {
        if (finder->best_score.shorts == 0 && sets[s].sum >= finder->best_score.touched_mm) {
            return;
        }
        uint32_t listed = 0;
        for (uint32_t j = cut->reels; j-- > 0;) { /* rising */
            if ((sets[s].mask >> j & 1u) != 0) {
                finder->reels[listed++] = j;
            }
        }
        try_reels(finder, k);
    }
}

/* Of many reels: the shortest k neighbours in length that could hold all pieces. */
static void choose_window(Finder *finder, uint32_t k) {
    CutCase *cut = finder->cut;
    int64_t sum = 0;
    for (uint32_t first = cut->reels; first-- > 0;) {
        sum += cut->reel[first];
        sum -= first + k < cut->reels ? cut->reel[first + k] : 0;
        if (first + k > cut->reels || sum < cut->total) {
            continue;
        }
        for (uint32_t i = 0; i < k; i++) {
            finder->reels[i] = first + k - 1 - i;
        }
        cut_layout_clear(cut, &finder->trial);
        if (cut_fill_each(cut, finder->reels, k, true, &finder->trial) == 0) {
            keep_if_better(finder);
        }
        return;
    }
}

/* --- too little wire -------------------------------------------------------------------------- */

static void fill_all(Finder *finder) {
    CutCase *cut = finder->cut;
    for (int way = 0; way < 4; way++) {
        list_longest(finder, cut->reels, way % 2 == 0);
        cut_layout_clear(cut, &finder->trial);
        cut_fill_each(cut, finder->reels, cut->reels, way >= 2, &finder->trial);
        keep_if_better(finder);
    }
    cut_layout_clear(cut, &finder->trial);
    cut_best_fit(cut, finder->reels, cut->reels, &finder->trial);
    keep_if_better(finder);
}

/* The least that is left: what the reels' fill can't reach, and one piece at least when they are
 * known not to hold all. */
static int64_t bound_left(const CutCase *cut, const int64_t *most, bool never_all) {
    int64_t left = cut->total;
    for (uint32_t j = 0; j < cut->reels && left > 0; j++) {
        left -= most[j];
    }
    int64_t one = never_all && cut->pieces > 0 ? cut->piece[cut->pieces - 1] : 0;
    return left > one ? left : one;
}

/* --- plan ------------------------------------------------------------------------------------- */

static void solve(Finder *finder, CutPlan *plan) {
    CutCase *cut = finder->cut;
    int64_t *most = ARENA_ARRAY(cut->arena, int64_t, cut->reels);
    cut_bound_fill(cut, most);
    uint32_t bound = 0;
    if (find_fewest(finder, most, &bound)) {
        plan->bound_reels = bound;
        uint32_t k = finder->best_score.reels;
        if (k > 0 && cut->reels <= CHOOSE_REELS && k <= CHOOSE_OF) {
            choose_sets(finder, k);
        } else if (k > 0) {
            choose_window(finder, k);
        }
        /* All reels are touched in any plan for all pieces: what is over is one short remnant. */
        int64_t over = finder->best_score.touched_mm - cut->total;
        plan->bound_shorts = bound == cut->reels && over > 0 && over < cut->useful ? 1 : 0;
    } else {
        plan->bound_left_mm = bound_left(cut, most, bound == CUT_NONE);
        fill_all(finder);
    }
    if (cut->pieces <= EVERY_PIECES && cut->reels <= EVERY_REELS &&
        cut_search_all(cut, EVERY_NODES, &finder->best)) {
        finder->best_score = cut_layout_score(cut, &finder->best);
        plan->complete = true;
        plan->bound_left_mm = finder->best_score.left_mm;
        plan->bound_reels = finder->best_score.reels;
        plan->bound_shorts = finder->best_score.shorts;
    }
}

void cutplan_find(Arena *out, const CutProblem *problem, CutPlan *plan) {
    Arena scratch = {0};
    *plan = (CutPlan){.reel_of = ARENA_ARRAY(out, uint32_t, problem->piece_count)};
    for (uint32_t i = 0; i < problem->piece_count; i++) {
        CHECK(problem->piece_mm[i] > 0);
        plan->reel_of[i] = CUT_NONE;
    }
    Sorted *pieces = NULL;
    Sorted *reels = NULL;
    int64_t *piece = NULL;
    int64_t *reel = NULL;
    uint32_t count =
        sort_lengths(&scratch, problem->piece_mm, problem->piece_count, &pieces, &piece);
    CutCase cut = {.arena = &scratch, .useful = problem->useful_mm};
    cut.reels = sort_lengths(&scratch, problem->reel_mm, problem->reel_count, &reels, &reel);
    cut.reel = reel;
    /* Pieces longer than every reel are left, whatever else is done. */
    int64_t too_long = 0;
    uint32_t first = 0;
    while (first < count && (cut.reels == 0 || piece[first] > reel[0])) {
        too_long += piece[first++];
    }
    cut.piece = piece + first;
    cut.pieces = count - first;
    for (uint32_t i = first; i < count; i++) {
        cut.total += piece[i];
    }
    Finder finder = {.cut = &cut, .trial = cut_layout_new(&cut), .best = cut_layout_new(&cut)};
    finder.reels = ARENA_ARRAY(&scratch, uint32_t, cut.reels);
    finder.best_score = cut_layout_score(&cut, &finder.best);
    plan->complete = true;
    if (cut.pieces > 0) {
        plan->complete = false;
        solve(&finder, plan);
    }
    for (uint32_t i = 0; i < cut.pieces; i++) {
        uint32_t at = finder.best.reel_of[i];
        plan->reel_of[pieces[first + i].index] = at == CUT_NONE ? CUT_NONE : reels[at].index;
    }
    plan->score = cutplan_score(problem, plan->reel_of);
    plan->bound_left_mm += too_long;
    plan->looked = cut.looked;
    arena_free(&scratch);
}

uint32_t cutplan_bound(const CutProblem *problem) {
    Arena scratch = {0};
    Sorted *sorted = NULL;
    int64_t *piece = NULL;
    int64_t *reel = NULL;
    CutCase cut = {.arena = &scratch};
    cut.pieces = sort_lengths(&scratch, problem->piece_mm, problem->piece_count, &sorted, &piece);
    cut.reels = sort_lengths(&scratch, problem->reel_mm, problem->reel_count, &sorted, &reel);
    cut.piece = piece;
    cut.reel = reel;
    for (uint32_t i = 0; i < cut.pieces; i++) {
        cut.total += piece[i];
    }
    int64_t *most = ARENA_ARRAY(&scratch, int64_t, cut.reels);
    cut_bound_fill(&cut, most);
    uint32_t bound = cut_bound_length(&cut, most);
    uint32_t priced = bound == CUT_NONE ? 0 : cut_bound_prices(&cut);
    arena_free(&scratch);
    return priced > bound ? priced : bound;
}

/* --- other plans ------------------------------------------------------------------------------ */

CutScore cutplan_first_fit(const CutProblem *problem, uint32_t *reel_of) {
    Arena scratch = {0};
    Sorted *sorted = NULL;
    int64_t *falling = NULL;
    uint32_t count =
        sort_lengths(&scratch, problem->piece_mm, problem->piece_count, &sorted, &falling);
    int64_t *room = ARENA_ARRAY(&scratch, int64_t, problem->reel_count);
    for (uint32_t j = 0; j < problem->reel_count; j++) {
        room[j] = problem->reel_mm[j];
    }
    for (uint32_t i = 0; i < count; i++) {
        uint32_t j = 0;
        while (j < problem->reel_count && room[j] < falling[i]) {
            j++;
        }
        reel_of[sorted[i].index] = j < problem->reel_count ? j : CUT_NONE;
        if (j < problem->reel_count) {
            room[j] -= falling[i];
        }
    }
    arena_free(&scratch);
    return cutplan_score(problem, reel_of);
}

CutScore cutplan_score(const CutProblem *problem, const uint32_t *reel_of) {
    Arena scratch = {0};
    int64_t *room = ARENA_ARRAY(&scratch, int64_t, problem->reel_count);
    bool *touched = ARENA_ARRAY(&scratch, bool, problem->reel_count);
    CutScore score = {0};
    for (uint32_t i = 0; i < problem->piece_count; i++) {
        if (reel_of[i] == CUT_NONE) {
            score.left_mm += problem->piece_mm[i];
            continue;
        }
        CHECK(reel_of[i] < problem->reel_count);
        room[reel_of[i]] += problem->piece_mm[i];
        touched[reel_of[i]] = true;
    }
    for (uint32_t j = 0; j < problem->reel_count; j++) {
        if (touched[j]) {
            int64_t over = problem->reel_mm[j] - room[j];
            CHECK(over >= 0);
            score.reels++;
            score.shorts += over > 0 && over < problem->useful_mm ? 1 : 0;
            score.touched_mm += problem->reel_mm[j];
        }
    }
    arena_free(&scratch);
    return score;
}
