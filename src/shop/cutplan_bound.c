/* How few reels can do, by relaxation to patterns (Gilmore and Gomory 1961). A pattern is a set of
 * pieces that fits one reel; the fewest patterns, each taken any number of times and not only whole
 * ones, that give all pieces are found by the simplex method, new patterns by a knapsack table over
 * lengths. Its dual prices, rounded down to whole numbers, bound every plan exactly: let V be the
 * most that any set of pieces fitting a reel is worth; then k reels can hold all pieces only if the
 * V of the k longest add up to the worth of all pieces. The same holds for any prices; the length
 * itself as the price gives the bound by length. */
#include <math.h>

#include "base/check.h"
#include "shop/cutplan_inner.h"

/* Largest knapsack table, in entries, and steps of the simplex method. */
#define TABLE_ENTRIES 2000000
enum { TYPES_MOST = 300, STEPS_MOST = 3000 };

/* Rounding: what counts as whole; pieces left from which on a search may finish, and its choices.
 */
#define WHOLE_SMALL 1e-6
enum { ROUND_SEARCH = 60, ROUND_NODES = 4000 };

/* Whole numbers that prices are turned into, and rounding of the simplex method. */
#define PRICE_SCALE 1000000.0
#define SIMPLEX_SMALL 1e-9

/* --- types ------------------------------------------------------------------------------------ */

static int64_t common_divisor(int64_t a, int64_t b) {
    while (b != 0) {
        int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* Pieces that fit `reel`, as distinct lengths in units of `unit`, rounded down: what fits in
 * millimetres also fits then, so that the relaxation stays one. Lengths of 0 are left out. Returns
 * the count of entries that a knapsack table over `capacity` needs. */
static int64_t make_types(Arena *arena, const int64_t *piece, uint32_t pieces, int64_t unit,
                          int64_t reel, CutPatterns *p) {
    p->length = ARENA_ARRAY(arena, int64_t, pieces);
    p->demand = ARENA_ARRAY(arena, uint32_t, pieces);
    p->types = 0;
    for (uint32_t i = 0; i < pieces; i++) {
        int64_t length = piece[i] / unit;
        if (piece[i] > reel || length == 0) {
            continue;
        }
        if (p->types == 0 || p->length[p->types - 1] != length) {
            p->length[p->types++] = length;
        }
        p->demand[p->types - 1]++;
    }
    int64_t layers = 0;
    for (uint32_t t = 0; t < p->types; t++) {
        for (uint32_t rest = p->demand[t]; rest > 0; rest /= 2) {
            layers++;
        }
    }
    return layers * (reel / unit + 1);
}

/* --- knapsack --------------------------------------------------------------------------------- */

/* Table of a bounded knapsack: copies of each type are taken in lots of 1, 2, 4 ... */
typedef struct Knapsack {
    int64_t capacity;
    double *worth;  /* by room */
    uint8_t *taken; /* [layer][room] */
    uint32_t *layer_type;
    uint32_t *layer_lot;
    uint32_t layers;
} Knapsack;

static Knapsack knapsack_new(Arena *arena, const CutPatterns *p, int64_t capacity) {
    Knapsack sack = {.capacity = capacity};
    sack.layer_type = ARENA_ARRAY(arena, uint32_t, (size_t)p->types * 32);
    sack.layer_lot = ARENA_ARRAY(arena, uint32_t, (size_t)p->types * 32);
    for (uint32_t t = 0; t < p->types; t++) {
        uint32_t rest = p->demand[t];
        for (uint32_t lot = 1; rest > 0; lot *= 2) {
            uint32_t take = lot < rest ? lot : rest;
            sack.layer_type[sack.layers] = t;
            sack.layer_lot[sack.layers++] = take;
            rest -= take;
        }
    }
    sack.worth = ARENA_ARRAY(arena, double, (size_t)capacity + 1);
    sack.taken = ARENA_ARRAY(arena, uint8_t, sack.layers * ((size_t)capacity + 1));
    return sack;
}

/* The best pattern at these prices, into `pattern` (by type); returns its worth. */
static double knapsack_best(const Knapsack *sack, const CutPatterns *p, const double *price,
                            uint32_t *pattern) {
    size_t row = (size_t)sack->capacity + 1;
    for (size_t c = 0; c < row; c++) {
        sack->worth[c] = 0.0;
    }
    for (uint32_t k = 0; k < sack->layers; k++) {
        uint32_t t = sack->layer_type[k];
        int64_t length = p->length[t] * sack->layer_lot[k];
        double worth = price[t] * sack->layer_lot[k];
        uint8_t *taken = sack->taken + k * row;
        for (int64_t c = 0; c < (int64_t)row; c++) {
            taken[c] = 0;
        }
        for (int64_t c = sack->capacity; worth > 0.0 && c >= length; c--) {
            if (sack->worth[c - length] + worth > sack->worth[c]) {
                sack->worth[c] = sack->worth[c - length] + worth;
                taken[c] = 1;
            }
        }
    }
    for (uint32_t t = 0; t < p->types; t++) {
        pattern[t] = 0;
    }
    int64_t room = sack->capacity;
    for (uint32_t k = sack->layers; k-- > 0;) {
        if (sack->taken[k * row + (size_t)room] != 0) {
            pattern[sack->layer_type[k]] += sack->layer_lot[k];
            room -= p->length[sack->layer_type[k]] * sack->layer_lot[k];
        }
    }
    return sack->worth[sack->capacity];
}

/* --- simplex ---------------------------------------------------------------------------------- */

/* Revised, with the inverse of the basis as a full matrix. Columns are patterns at cost 1 and
 * surpluses of one type at cost 0 (a piece too many does no harm). */
typedef struct Simplex {
    CutPatterns *p;
    uint32_t m;
    double *inverse; /* [row][type] */
    double *value;   /* by row: of the basic column */
    double *cost;    /* by row */
    double *move;    /* by row: change of the basic columns */
    uint32_t *fresh; /* pattern that enters */
    Knapsack sack;
} Simplex;

static void simplex_prices(const Simplex *s) {
    for (uint32_t t = 0; t < s->m; t++) {
        double sum = 0.0;
        for (uint32_t row = 0; row < s->m; row++) {
            sum += s->cost[row] * s->inverse[row * s->m + t];
        }
        s->p->price[t] = sum;
    }
}

/* Column `fresh`, or the surplus of a type, enters; false when nothing limits it (it can't). */
static bool simplex_enter(Simplex *s, uint32_t surplus) {
    uint32_t leave = CUT_NONE;
    double least = 0.0;
    for (uint32_t row = 0; row < s->m; row++) {
        double sum = 0.0;
        const double *inverse = s->inverse + row * s->m;
        for (uint32_t t = 0; surplus == CUT_NONE && t < s->m; t++) {
            sum += s->fresh[t] * inverse[t];
        }
        s->move[row] = surplus == CUT_NONE ? sum : -inverse[surplus];
        if (s->move[row] > SIMPLEX_SMALL &&
            (leave == CUT_NONE || s->value[row] / s->move[row] < least)) {
            least = s->value[row] / s->move[row];
            leave = row;
        }
    }
    if (leave == CUT_NONE) {
        return false;
    }
    double pivot = s->move[leave];
    for (uint32_t t = 0; t < s->m; t++) {
        s->inverse[leave * s->m + t] /= pivot;
    }
    for (uint32_t row = 0; row < s->m; row++) {
        double times = s->move[row];
        if (row == leave || times == 0.0) {
            continue;
        }
        s->value[row] = fmax(s->value[row] - least * times, 0.0);
        for (uint32_t t = 0; t < s->m; t++) {
            s->inverse[row * s->m + t] -= times * s->inverse[leave * s->m + t];
        }
    }
    s->value[leave] = least;
    s->cost[leave] = surplus == CUT_NONE ? 1.0 : 0.0;
    for (uint32_t t = 0; t < s->m; t++) {
        s->p->pattern[leave * s->m + t] = surplus == CUT_NONE ? s->fresh[t] : 0;
    }
    return true;
}

static bool simplex_run(CutCase *cut, Simplex *s) {
    for (int step = 0; step < STEPS_MOST; step++) {
        simplex_prices(s);
        cut->looked++;
        uint32_t surplus = CUT_NONE;
        for (uint32_t t = 0; t < s->m; t++) {
            if (s->p->price[t] < -SIMPLEX_SMALL &&
                (surplus == CUT_NONE || s->p->price[t] < s->p->price[surplus])) {
                surplus = t;
            }
        }
        if (surplus == CUT_NONE &&
            knapsack_best(&s->sack, s->p, s->p->price, s->fresh) <= 1.0 + SIMPLEX_SMALL) {
            return true;
        }
        if (!simplex_enter(s, surplus)) {
            return false;
        }
    }
    return false;
}

/* Solves for types that are already there; `reel` in their unit. */
static bool solve_types(CutCase *cut, int64_t reel, CutPatterns *p) {
    Arena scratch = {0};
    uint32_t m = p->types;
    Simplex s = {.p = p, .m = m};
    s.inverse = ARENA_ARRAY(&scratch, double, (size_t)m *m);
    s.value = ARENA_ARRAY(&scratch, double, m);
    s.cost = ARENA_ARRAY(&scratch, double, m);
    s.move = ARENA_ARRAY(&scratch, double, m);
    s.fresh = ARENA_ARRAY(&scratch, uint32_t, m);
    s.sack = knapsack_new(&scratch, p, reel);
    for (uint32_t t = 0; t < m; t++) { /* a first plan: patterns of one type each */
        int64_t fit = reel / p->length[t];
        uint32_t copies = fit < p->demand[t] ? (uint32_t)fit : p->demand[t];
        CHECK(copies > 0);
        p->pattern[t * m + t] = copies;
        s.inverse[t * m + t] = 1.0 / copies;
        s.value[t] = (double)p->demand[t] / copies;
        s.cost[t] = 1.0;
    }
    bool solved = simplex_run(cut, &s);
    p->value = 0.0;
    for (uint32_t row = 0; row < m; row++) {
        p->times[row] = s.cost[row] > 0.0 ? s.value[row] : 0.0;
        p->value += p->times[row];
    }
    arena_free(&scratch);
    return solved;
}

static bool solve_in_units(CutCase *cut, const int64_t *piece, uint32_t pieces, int64_t unit,
                           int64_t reel, CutPatterns *p) {
    *p = (CutPatterns){0};
    int64_t entries = make_types(cut->arena, piece, pieces, unit, reel, p);
    if (p->types == 0 || p->types > TYPES_MOST || entries > TABLE_ENTRIES) {
        return false;
    }
    p->pattern = ARENA_ARRAY(cut->arena, uint32_t, (size_t)p->types * p->types);
    p->times = ARENA_ARRAY(cut->arena, double, p->types);
    p->price = ARENA_ARRAY(cut->arena, double, p->types);
    return solve_types(cut, reel / unit, p);
}

/* The unit in which nothing is lost. */
static int64_t exact_unit(const int64_t *piece, uint32_t pieces) {
    int64_t unit = 0;
    for (uint32_t i = 0; i < pieces; i++) {
        unit = common_divisor(piece[i], unit);
    }
    return unit;
}

bool cut_patterns_solve(CutCase *cut, const int64_t *piece, uint32_t pieces, int64_t reel,
                        CutPatterns *patterns) {
    return pieces > 0 &&
           solve_in_units(cut, piece, pieces, exact_unit(piece, pieces), reel, patterns);
}

/* --- bound ------------------------------------------------------------------------------------ */

/* The most that a set of pieces fitting a reel is worth, for every reel, at whole prices. */
static void most_worth(CutCase *cut, const CutPatterns *p, int64_t unit, const int64_t *price,
                       int64_t *most) {
    Arena scratch = {0};
    int64_t capacity = cut->reel[0] / unit;
    int64_t *worth = ARENA_ARRAY(&scratch, int64_t, (size_t)capacity + 1);
    for (uint32_t t = 0; t < p->types; t++) {
        uint32_t rest = p->demand[t];
        for (uint32_t lot = 1; rest > 0; lot *= 2) {
            uint32_t take = lot < rest ? lot : rest;
            rest -= take;
            int64_t length = p->length[t] * take;
            int64_t gain = price[t] * take;
            for (int64_t c = capacity; c >= length; c--) {
                int64_t with = worth[c - length] + gain;
                worth[c] = with > worth[c] ? with : worth[c];
            }
        }
    }
    for (uint32_t j = 0; j < cut->reels; j++) {
        most[j] = worth[cut->reel[j] / unit];
    }
    arena_free(&scratch);
}

/* Fewest of the first reels whose `most` add up to `due`; CUT_NONE: not even all. */
static uint32_t fewest(const CutCase *cut, const int64_t *most, int64_t due) {
    uint32_t count = 0;
    while (count < cut->reels && due > 0) {
        due -= most[count++];
    }
    return due > 0 ? CUT_NONE : count;
}

void cut_bound_fill(CutCase *cut, int64_t *most) {
    for (uint32_t j = 0; j < cut->reels; j++) {
        bool again = j > 0 && cut->reel[j] == cut->reel[j - 1];
        most[j] = again ? most[j - 1] : cut_fill_most(cut, cut->reel[j]);
    }
}

uint32_t cut_bound_length(const CutCase *cut, const int64_t *most) {
    if (cut->pieces > 0 && (cut->reels == 0 || cut->piece[0] > cut->reel[0])) {
        return CUT_NONE;
    }
    return fewest(cut, most, cut->total);
}

/* Lengths are rounded down until the table is small enough; the longest reel gives the prices. */
uint32_t cut_bound_prices(CutCase *cut) {
    if (cut->pieces == 0 || cut->reels == 0) {
        return 0;
    }
    CutPatterns p = {0};
    int64_t unit = exact_unit(cut->piece, cut->pieces);
    Arena scratch = {0};
    int64_t entries = make_types(&scratch, cut->piece, cut->pieces, unit, cut->reel[0], &p);
    arena_free(&scratch);
    if (entries > TABLE_ENTRIES) {
        unit *= entries / TABLE_ENTRIES + 1;
    }
    if (!solve_in_units(cut, cut->piece, cut->pieces, unit, cut->reel[0], &p)) {
        return 0;
    }
    int64_t *most = ARENA_ARRAY(cut->arena, int64_t, cut->reels);
    int64_t *price = ARENA_ARRAY(cut->arena, int64_t, p.types);
    int64_t due = 0;
    for (uint32_t t = 0; t < p.types; t++) {
        price[t] = (int64_t)floor(fmax(p.price[t], 0.0) * PRICE_SCALE);
        due += price[t] * p.demand[t];
    }
    most_worth(cut, &p, unit, price, most);
    return fewest(cut, most, due);
}

/* --- packing by rounding ---------------------------------------------------------------------- */

/* The open pieces, the longest first; returns their count. */
static uint32_t list_lengths(const CutCase *cut, const CutLayout *layout, int64_t *length) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < cut->pieces; i++) {
        if (layout->reel_of[i] == CUT_NONE) {
            length[count++] = cut->piece[i];
        }
    }
    return count;
}

/* Takes a pattern once, as far as pieces of its lengths are open; false when none is. */
static bool take_pattern(const CutCase *cut, const CutPatterns *p, int64_t unit, uint32_t column,
                         uint32_t reel, CutLayout *layout) {
    bool any = false;
    uint32_t piece = 0;
    for (uint32_t t = 0; t < p->types; t++) {
        uint32_t due = p->pattern[column * p->types + t];
        for (; piece < cut->pieces && cut->piece[piece] >= p->length[t] * unit; piece++) {
            if (due > 0 && cut->piece[piece] == p->length[t] * unit &&
                layout->reel_of[piece] == CUT_NONE) {
                layout->reel_of[piece] = reel;
                layout->room[reel] -= cut->piece[piece];
                CHECK(layout->room[reel] >= 0);
                due--;
                any = true;
            }
        }
    }
    return any;
}

/* The column used `rank`-th most often among those that are not whole. */
static uint32_t often_column(const CutPatterns *p, uint32_t rank) {
    uint32_t chosen = 0;
    double below = (double)INFINITY;
    for (uint32_t r = 0; r <= rank; r++) {
        uint32_t next = CUT_NONE;
        for (uint32_t c = 0; c < p->types; c++) {
            double part = p->times[c] - floor(p->times[c] + WHOLE_SMALL);
            if (part > WHOLE_SMALL && part < below &&
                (next == CUT_NONE || part > p->times[next] - floor(p->times[next] + WHOLE_SMALL))) {
                next = c;
            }
        }
        if (next == CUT_NONE) {
            return chosen;
        }
        below = p->times[next] - floor(p->times[next] + WHOLE_SMALL);
        chosen = next;
    }
    return chosen;
}

/* Takes every column as often as its whole part says; returns how many reels that filled. */
static uint32_t take_whole(const CutCase *cut, const CutPatterns *p, int64_t unit,
                           const uint32_t *reels, uint32_t count, CutLayout *layout) {
    uint32_t used = 0;
    for (uint32_t c = 0; c < p->types; c++) {
        for (double due = floor(p->times[c] + WHOLE_SMALL); due > 0.5 && used < count; due -= 1.0) {
            if (!take_pattern(cut, p, unit, c, reels[used], layout)) {
                break;
            }
            used++;
        }
    }
    return used;
}

uint32_t cut_patterns_pack(CutCase *cut, const uint32_t *reels, uint32_t count, uint32_t variant,
                           CutLayout *layout) {
    Arena scratch = {0};
    int64_t *length = ARENA_ARRAY(&scratch, int64_t, cut->pieces);
    uint32_t used = 0;
    uint32_t open = list_lengths(cut, layout, length);
    while (open > 0 && used < count) {
        bool exhausted = false;
        if (open <= ROUND_SEARCH &&
            cut_search_fit(cut, reels + used, count - used, ROUND_NODES, layout, &exhausted)) {
            open = 0;
            break;
        }
        CutPatterns p;
        if (exhausted || !cut_patterns_solve(cut, length, open, cut->reel[reels[0]], &p) ||
            p.value > (double)(count - used) + WHOLE_SMALL) {
            break; /* what was rounded so far leaves too little */
        }
        int64_t unit = exact_unit(length, open);
        uint32_t whole = take_whole(cut, &p, unit, reels + used, count - used, layout);
        used += whole;
        if (whole == 0) {
            take_pattern(cut, &p, unit, often_column(&p, variant), reels[used++], layout);
            variant = 0;
        }
        open = list_lengths(cut, layout, length);
    }
    arena_free(&scratch);
    return open == 0 ? 0 : cut_best_fit(cut, reels, count, layout);
}
