/* Exact searches, depth first with a limit on the choices looked at. */
#include "shop/cutplan_inner.h"

/* Deeper than this is not searched: the work would not end anyway. */
enum { SEARCH_PIECES = 2000 };

/* --- everything into these reels -------------------------------------------------------------- */

typedef struct Fit {
    CutCase *cut;
    const uint32_t *reels;
    uint32_t reel_count;
    uint32_t *open; /* pieces, the longest first */
    uint32_t open_count;
    int64_t open_sum; /* of those not placed yet */
    uint64_t nodes;
    bool cut_short;
    CutLayout *layout;
} Fit;

/* Room that can still take the shortest piece: less than what is to be placed is hopeless. */
static bool is_hopeless(const Fit *fit) {
    int64_t shortest = fit->cut->piece[fit->open[fit->open_count - 1]];
    int64_t sum = 0;
    for (uint32_t k = 0; k < fit->reel_count; k++) {
        int64_t room = fit->layout->room[fit->reels[k]];
        sum += room >= shortest ? room : 0;
    }
    return sum < fit->open_sum;
}

static bool fit_next(Fit *fit, uint32_t at);

static bool fit_in(Fit *fit, uint32_t at, uint32_t reel) {
    uint32_t piece = fit->open[at];
    int64_t length = fit->cut->piece[piece];
    fit->layout->reel_of[piece] = reel;
    fit->layout->room[reel] -= length;
    fit->open_sum -= length;
    if (fit_next(fit, at + 1)) {
        return true;
    }
    fit->layout->reel_of[piece] = CUT_NONE;
    fit->layout->room[reel] += length;
    fit->open_sum += length;
    return false;
}

/* The longest open piece goes into every reel that has room, the fullest first. Reels with the same
 * room are tried once. A piece that fills a reel to the end need not be tried elsewhere: in any
 * other plan it could change places with what is in that room. */
static bool fit_next(Fit *fit, uint32_t at) {
    if (at == fit->open_count) {
        return true;
    }
    if (fit->nodes == 0) {
        fit->cut_short = true;
        return false;
    }
    fit->nodes--;
    fit->cut->looked++;
    if (is_hopeless(fit)) {
        return false;
    }
    int64_t length = fit->cut->piece[fit->open[at]];
    for (int64_t above = length - 1;;) {
        uint32_t next = CUT_NONE;
        for (uint32_t k = 0; k < fit->reel_count; k++) {
            int64_t room = fit->layout->room[fit->reels[k]];
            if (room > above && (next == CUT_NONE || room < fit->layout->room[next])) {
                next = fit->reels[k];
            }
        }
        if (next == CUT_NONE) {
            return false;
        }
        above = fit->layout->room[next];
        if (fit_in(fit, at, next)) {
            return true;
        }
        if (above == length || fit->cut_short) {
            return false;
        }
    }
}

bool cut_search_fit(CutCase *cut, const uint32_t *reels, uint32_t count, uint64_t nodes,
                    CutLayout *layout, bool *exhausted) {
    Arena scratch = {0};
    Fit fit = {.cut = cut, .reels = reels, .reel_count = count, .nodes = nodes, .layout = layout};
    fit.open = ARENA_ARRAY(&scratch, uint32_t, cut->pieces);
    for (uint32_t i = 0; i < cut->pieces; i++) {
        if (layout->reel_of[i] == CUT_NONE) {
            fit.open[fit.open_count++] = i;
            fit.open_sum += cut->piece[i];
        }
    }
    bool found = fit.open_count <= SEARCH_PIECES && fit_next(&fit, 0);
    *exhausted = !found && fit.open_count <= SEARCH_PIECES && !fit.cut_short;
    arena_free(&scratch);
    return found;
}

/* --- every plan ------------------------------------------------------------------------------- */

typedef struct Every {
    CutCase *cut;
    uint64_t nodes;
    bool cut_short;
    CutLayout now;
    CutScore now_score; /* of what is placed; shorts are not counted */
    int64_t open_sum;
    CutScore best_score;
    CutLayout *best;
} Every;

/* True when nothing that can come of `now` is better than the best: by the least that must be left,
 * the fewest reels, and the length touched. */
static bool no_better(const Every *every) {
    const CutCase *cut = every->cut;
    int64_t room = 0;
    int64_t room_touched = 0;
    for (uint32_t j = 0; j < cut->reels; j++) {
        room += every->now.room[j];
        room_touched += every->now.room[j] < cut->reel[j] ? every->now.room[j] : 0;
    }
    CutScore least = every->now_score;
    least.left_mm += every->open_sum > room ? every->open_sum - room : 0;
    if (least.left_mm != every->best_score.left_mm) {
        return least.left_mm > every->best_score.left_mm;
    }
    /* Equal is possible at best, and only if so much more is placed. */
    int64_t due = every->open_sum - (every->best_score.left_mm - every->now_score.left_mm);
    for (uint32_t j = 0; j < cut->reels && due > room_touched; j++) {
        if (every->now.room[j] == cut->reel[j]) { /* the longest untouched one */
            due -= cut->reel[j];
            least.reels++;
        }
    }
    if (least.reels != every->best_score.reels) {
        return least.reels > every->best_score.reels;
    }
    return every->best_score.shorts == 0 && least.touched_mm >= every->best_score.touched_mm;
}

static void every_next(Every *every, uint32_t piece);

static void every_put(Every *every, uint32_t piece, uint32_t reel) {
    CutCase *cut = every->cut;
    int64_t length = cut->piece[piece];
    CutScore before = every->now_score;
    if (reel == CUT_NONE) {
        every->now_score.left_mm += length;
    } else if (every->now.room[reel] == cut->reel[reel]) {
        every->now_score.reels++;
        every->now_score.touched_mm += cut->reel[reel];
    }
    if (reel != CUT_NONE) {
        every->now.room[reel] -= length;
    }
    every->now.reel_of[piece] = reel;
    every->open_sum -= length;
    every_next(every, piece + 1);
    every->open_sum += length;
    every->now.reel_of[piece] = CUT_NONE;
    if (reel != CUT_NONE) {
        every->now.room[reel] += length;
    }
    every->now_score = before;
}

/* Two reels of one length with the same room are interchangeable. */
static bool has_twin(const Every *every, uint32_t reel) {
    const CutCase *cut = every->cut;
    for (uint32_t j = reel; j-- > 0 && cut->reel[j] == cut->reel[reel];) {
        if (every->now.room[j] == every->now.room[reel]) {
            return true;
        }
    }
    return false;
}

static void every_next(Every *every, uint32_t piece) {
    CutCase *cut = every->cut;
    if (piece == cut->pieces) {
        CutScore score = cut_layout_score(cut, &every->now);
        if (cutplan_compare(&score, &every->best_score) < 0) {
            every->best_score = score;
            cut_layout_copy(cut, every->best, &every->now);
        }
        return;
    }
    if (every->nodes == 0) {
        every->cut_short = true;
        return;
    }
    every->nodes--;
    cut->looked++;
    if (no_better(every)) {
        return;
    }
    for (uint32_t j = 0; j < cut->reels && !every->cut_short; j++) {
        if (every->now.room[j] >= cut->piece[piece] && !has_twin(every, j)) {
            every_put(every, piece, j);
        }
    }
    if (!every->cut_short) {
        every_put(every, piece, CUT_NONE);
    }
}

bool cut_search_all(CutCase *cut, uint64_t nodes, CutLayout *best) {
    Every every = {.cut = cut, .nodes = nodes, .open_sum = cut->total, .best = best};
    every.now = cut_layout_new(cut);
    every.best_score = cut_layout_score(cut, best);
    every_next(&every, 0);
    return !every.cut_short;
}
