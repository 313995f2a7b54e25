/* Quick ways of packing pieces into reels: best fit by falling length, and filling one reel after
 * the other by a table of sums. The table has a bit for every length that some of the pieces add up
 * to; it is built piece by piece, the longest first, by shifting, and remembers for each length the
 * piece that reached it first, so that the set can be read back. */
#include "shop/cutplan_inner.h"

#include "base/check.h"

/* Largest table that is filled at once, in words touched; beyond it the longest pieces go in until
 * what room is left is small enough for an exact end. */
#define FILL_WORDS 4000000
#define FILL_LEAST 50000
/* Pieces that an exact end may choose from when there are too many: an even choice of those that
 * fit. The shortest alone would soon be used up, and the last reels left with long ones. */
enum { FILL_LAST = 400 };

/* --- layouts ---------------------------------------------------------------------------------- */

CutLayout cut_layout_new(const CutCase *cut) {
    CutLayout layout = {ARENA_ARRAY(cut->arena, uint32_t, cut->pieces),
                        ARENA_ARRAY(cut->arena, int64_t, cut->reels)};
    cut_layout_clear(cut, &layout);
    return layout;
}

void cut_layout_clear(const CutCase *cut, CutLayout *layout) {
    for (uint32_t i = 0; i < cut->pieces; i++) {
        layout->reel_of[i] = CUT_NONE;
    }
    for (uint32_t j = 0; j < cut->reels; j++) {
        layout->room[j] = cut->reel[j];
    }
}

void cut_layout_copy(const CutCase *cut, CutLayout *to, const CutLayout *from) {
    for (uint32_t i = 0; i < cut->pieces; i++) {
        to->reel_of[i] = from->reel_of[i];
    }
    for (uint32_t j = 0; j < cut->reels; j++) {
        to->room[j] = from->room[j];
    }
}

CutScore cut_layout_score(const CutCase *cut, const CutLayout *layout) {
    CutScore score = {0};
    for (uint32_t i = 0; i < cut->pieces; i++) {
        score.left_mm += layout->reel_of[i] == CUT_NONE ? cut->piece[i] : 0;
    }
    for (uint32_t j = 0; j < cut->reels; j++) {
        if (layout->room[j] < cut->reel[j]) {
            score.reels++;
            score.shorts += layout->room[j] > 0 && layout->room[j] < cut->useful ? 1 : 0;
            score.touched_mm += cut->reel[j];
        }
    }
    return score;
}

static void put(const CutCase *cut, CutLayout *layout, uint32_t piece, uint32_t reel) {
    CHECK(layout->reel_of[piece] == CUT_NONE && layout->room[reel] >= cut->piece[piece]);
    layout->reel_of[piece] = reel;
    layout->room[reel] -= cut->piece[piece];
}

/* --- best fit --------------------------------------------------------------------------------- */

uint32_t cut_best_fit(const CutCase *cut, const uint32_t *reels, uint32_t count,
                      CutLayout *layout) {
    uint32_t left = 0;
    for (uint32_t i = 0; i < cut->pieces; i++) {
        if (layout->reel_of[i] != CUT_NONE) {
            continue;
        }
        uint32_t best = CUT_NONE;
        for (uint32_t k = 0; k < count; k++) {
            int64_t room = layout->room[reels[k]];
            if (room >= cut->piece[i] && (best == CUT_NONE || room < layout->room[best])) {
                best = reels[k];
            }
        }
        if (best == CUT_NONE) {
            left++;
        } else {
            put(cut, layout, i, best);
        }
    }
    return left;
}

/* --- table of sums ---------------------------------------------------------------------------- */

typedef struct Sums {
    int64_t room;
    uint64_t *bits;  /* by length */
    uint32_t *first; /* by length: index into the pieces given; NULL: not wanted */
} Sums;

static void mark_new(Sums *sums, size_t word, uint64_t fresh, uint32_t piece) {
    sums->bits[word] |= fresh;
    while (sums->first != NULL && fresh != 0) {
        size_t bit = (size_t)__builtin_ctzll(fresh);
        sums->first[word * 64 + bit] = piece;
        fresh &= fresh - 1;
    }
}

/* Adds a piece: from the top down, so that every sum holds it at most once. */
static void sums_add(Sums *sums, int64_t length, uint32_t piece) {
    size_t words = (size_t)sums->room / 64 + 1;
    size_t shift = (size_t)length / 64;
    unsigned bits = (unsigned)(length % 64);
    for (size_t word = words; word-- > shift;) {
        uint64_t moved = sums->bits[word - shift] << bits;
        if (bits > 0 && word > shift) {
            moved |= sums->bits[word - shift - 1] >> (64 - bits);
        }
        uint64_t fresh = moved & ~sums->bits[word];
        if (fresh != 0) {
            mark_new(sums, word, fresh, piece);
        }
    }
}

/* The largest sum that is not above the room. */
static int64_t sums_most(const Sums *sums) {
    int64_t most = sums->room;
    while ((sums->bits[most / 64] >> (most % 64) & 1u) == 0) {
        most--;
    }
    return most;
}

/* Fills the room of a reel as far as the `count` listed pieces can. */
static void fill_exactly(CutCase *cut, const uint32_t *open, uint32_t count, uint32_t reel,
                         CutLayout *layout) {
    Arena scratch = {0};
    size_t words = (size_t)layout->room[reel] / 64 + 1;
    Sums sums = {layout->room[reel], ARENA_ARRAY(&scratch, uint64_t, words),
                 ARENA_ARRAY(&scratch, uint32_t, words * 64)};
    sums.bits[0] = 1;
    for (uint32_t k = 0; k < count; k++) {
        sums_add(&sums, cut->piece[open[k]], k);
        cut->looked++;
        if ((sums.bits[sums.room / 64] >> (sums.room % 64) & 1u) != 0) {
            break;
        }
    }
    for (int64_t sum = sums_most(&sums); sum > 0;) {
        uint32_t piece = open[sums.first[sum]];
        put(cut, layout, piece, reel);
        sum -= cut->piece[piece];
    }
    arena_free(&scratch);
}

int64_t cut_fill_most(CutCase *cut, int64_t room) {
    if (room / 64 * cut->pieces > FILL_WORDS) {
        return room;
    }
    Arena scratch = {0};
    Sums sums = {room, ARENA_ARRAY(&scratch, uint64_t, (size_t)room / 64 + 1), NULL};
    sums.bits[0] = 1;
    for (uint32_t i = 0; i < cut->pieces; i++) {
        if (cut->piece[i] <= room) {
            sums_add(&sums, cut->piece[i], i);
            cut->looked++;
        }
    }
    int64_t most = sums_most(&sums);
    arena_free(&scratch);
    return most;
}

/* --- reel after reel -------------------------------------------------------------------------- */

/* The open pieces that fit, the longest first; returns their count. */
static uint32_t list_open(const CutCase *cut, const CutLayout *layout, int64_t room,
                          uint32_t *open) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < cut->pieces; i++) {
        if (layout->reel_of[i] == CUT_NONE && cut->piece[i] <= room) {
            open[count++] = i;
        }
    }
    return count;
}

static void fill_reel(CutCase *cut, uint32_t reel, bool force, uint32_t *open, CutLayout *layout) {
    uint32_t count = list_open(cut, layout, layout->room[reel], open);
    int64_t sum = 0;
    for (uint32_t k = 0; k < count; k++) {
        sum += cut->piece[open[k]];
    }
    uint32_t first = 0;
    if (sum <= layout->room[reel]) {
        for (uint32_t k = 0; k < count; k++) {
            put(cut, layout, open[k], reel);
        }
        return;
    }
    if (force && count > 0) {
        put(cut, layout, open[first++], reel);
    }
    /* From the longest down, until an exact end is little work; each of many reels gets its share.
     */
    const int64_t share =
        FILL_WORDS / cut->reels > FILL_LEAST ? FILL_WORDS / cut->reels : FILL_LEAST;
    while (first < count &&
           layout->room[reel] / 64 * (count - first < FILL_LAST ? count - first : FILL_LAST) >
               share) {
        if (cut->piece[open[first]] <= layout->room[reel]) {
            put(cut, layout, open[first], reel);
        }
        first++;
    }
    uint32_t fitting = first;
    for (uint32_t k = first; k < count; k++) {
        if (cut->piece[open[k]] <= layout->room[reel]) {
            open[fitting++] = open[k];
        }
    }
    uint32_t choice = fitting - first;
    if (choice > FILL_LAST) {
        for (uint32_t k = 0; k < FILL_LAST; k++) {
            open[first + k] = open[first + (uint64_t)choice * k / FILL_LAST];
        }
        choice = FILL_LAST;
    }
    fill_exactly(cut, open + first, choice, reel, layout);
}

uint32_t cut_fill_each(CutCase *cut, const uint32_t *reels, uint32_t count, bool force,
                       CutLayout *layout) {
    Arena scratch = {0};
    uint32_t *open = ARENA_ARRAY(&scratch, uint32_t, cut->pieces);
    for (uint32_t k = 0; k < count; k++) {
        fill_reel(cut, reels[k], force, open, layout);
    }
    arena_free(&scratch);
    return cut_best_fit(cut, reels, count, layout);
}
