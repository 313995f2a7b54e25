/* One row of the search is a class with itself and with every class after it. Where neither class
 * has a member that touches the other and no component is in both, one pair answers for all. Where
 * they meet, each failure of the second class is asked about by itself: once if it does not touch
 * the first class, else with each of its members. Rows are divided over the threads; each keeps
 * what it finds in its thread's arena, and the rows are joined in order. */
#include "power/cutset.h"

#include <string.h>

#include "base/check.h"
#include "base/parallel.h"

/* What one row found. */
typedef struct Row {
    CutPair *pairs;
    size_t count;
    size_t capacity;
    CutCounts counts;
} Row;

/* Scratch of one thread. */
typedef struct Hand {
    Arena arena;
    uint32_t *component_mark; /* by component: row + 1 when a member of the row's class is of it */
    uint32_t *touched;        /* by failure: row + 1 when it touches the row's class */
    uint32_t *meets;          /* by class: row + 1 when it does not meet the row's class cleanly */
    uint64_t *lost;
} Hand;

typedef struct Search {
    const CutSearch *given;
    uint32_t words;
    uint32_t *member_first; /* by class, class_count + 1 */
    uint32_t *members;
    uint32_t component_count;
    uint32_t *of_component_first; /* by component: its failures */
    uint32_t *of_component;
    uint32_t *toucher_first; /* by class: failures that touch it */
    uint32_t *touchers;
    uint64_t *none;
    uint64_t *single; /* by class */
    uint64_t *every;  /* all tops that are there to be lost */
    Row *rows;
    Hand *hands;
} Search;

/* --- bits ---------------------------------------------------------------------------------------
 */

/* True when a and b together have every bit of `all`. */
static bool covers(const uint64_t *a, const uint64_t *b, const uint64_t *all, uint32_t words) {
    for (uint32_t i = 0; i < words; i++) {
        if ((all[i] & ~(a[i] | b[i])) != 0) {
            return false;
        }
    }
    return true;
}

static bool any_bit(const uint64_t *bits, uint32_t words) {
    uint64_t all = 0;
    for (uint32_t i = 0; i < words; i++) {
        all |= bits[i];
    }
    return all != 0;
}

/* --- indices ------------------------------------------------------------------------------------
 */

/* Lists by number: first[n] .. first[n + 1] of `items` are the i with of[i] == n. */
static void list_by(Arena *arena, const uint32_t *of, uint32_t count, uint32_t numbers,
                    uint32_t **first, uint32_t **items) {
    uint32_t *start = ARENA_ARRAY(arena, uint32_t, (size_t)numbers + 2);
    uint32_t *list = ARENA_ARRAY(arena, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        start[of[i] + 2]++;
    }
    for (uint32_t i = 1; i <= numbers; i++) {
        start[i + 1] += start[i];
    }
    for (uint32_t i = 0; i < count; i++) {
        list[start[of[i] + 1]++] = i;
    }
    *first = start;
    *items = list;
}

static void list_touchers(Arena *arena, Search *search) {
    const CutSearch *given = search->given;
    uint32_t count = given->touch_first == NULL ? 0 : given->touch_first[given->failure_count];
    uint32_t *start = ARENA_ARRAY(arena, uint32_t, (size_t)given->class_count + 2);
    uint32_t *list = ARENA_ARRAY(arena, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        start[given->touch[i] + 2]++;
    }
    for (uint32_t i = 1; i <= given->class_count; i++) {
        start[i + 1] += start[i];
    }
    for (uint32_t f = 0; count > 0 && f < given->failure_count; f++) {
        for (uint32_t i = given->touch_first[f]; i < given->touch_first[f + 1]; i++) {
            list[start[given->touch[i] + 1]++] = f;
        }
    }
    search->toucher_first = start;
    search->touchers = list;
}

/* --- asking -------------------------------------------------------------------------------------
 */

/* Tops lost by the pair and by neither alone are left in hand->lost; true when there are any. */
static bool try_pair(const Search *search, Row *row, unsigned thread, uint32_t a, uint32_t b) {
    const CutSearch *given = search->given;
    uint64_t *lost = search->hands[thread].lost;
    memset(lost, 0, search->words * sizeof *lost);
    uint32_t pair[2] = {a < b ? a : b, a < b ? b : a};
    given->ask(given->triers[thread], pair, 2, lost);
    row->counts.tried++;
    const uint64_t *lost_a = &search->single[(size_t)given->class_of[a] * search->words];
    const uint64_t *lost_b = &search->single[(size_t)given->class_of[b] * search->words];
    for (uint32_t i = 0; i < search->words; i++) {
        lost[i] &= search->every[i] & ~(lost_a[i] | lost_b[i]);
    }
    return any_bit(lost, search->words);
}

static void keep(const Search *search, Row *row, unsigned thread, CutPair pair) {
    Hand *hand = &search->hands[thread];
    uint64_t *lost = ARENA_ARRAY(&hand->arena, uint64_t, search->words);
    memcpy(lost, hand->lost, search->words * sizeof *lost);
    pair.lost = lost;
    row->counts.pairs_found += pair.sets;
    *ARENA_PUSH(&hand->arena, row->pairs, row->count, row->capacity) = pair;
}

static const uint32_t *members_of(const Search *search, uint32_t class, uint32_t *count) {
    *count = search->member_first[class + 1] - search->member_first[class];
    return &search->members[search->member_first[class]];
}

/* --- one row ------------------------------------------------------------------------------------
 */

/* Marks what the class of this row meets: components of its members, failures that touch it, and
 * the classes that have such a failure or are touched by one of its members. */
static void mark_row(const Search *search, Hand *hand, uint32_t class) {
    const CutSearch *given = search->given;
    uint32_t mark = class + 1;
    uint32_t count = 0;
    const uint32_t *members = members_of(search, class, &count);
    for (uint32_t i = 0; i < count; i++) {
        uint32_t component = given->component[members[i]];
        if (hand->component_mark[component] != mark) {
            hand->component_mark[component] = mark;
            for (uint32_t k = search->of_component_first[component];
                 k < search->of_component_first[component + 1]; k++) {
                hand->meets[given->class_of[search->of_component[k]]] = mark;
            }
        }
        if (given->touch_first != NULL) {
            for (uint32_t k = given->touch_first[members[i]];
                 k < given->touch_first[members[i] + 1]; k++) {
                hand->meets[given->touch[k]] = mark;
            }
        }
    }
    for (uint32_t i = search->toucher_first[class]; i < search->toucher_first[class + 1]; i++) {
        uint32_t failure = search->touchers[i];
        hand->touched[failure] = mark;
        hand->meets[given->class_of[failure]] = mark;
    }
}

/* Failure b with the first `count` members of class a, which it touches or not. */
static void try_one(const Search *search, Row *row, unsigned thread, const uint32_t *members,
                    uint32_t count, uint32_t b) {
    const CutSearch *given = search->given;
    const Hand *hand = &search->hands[thread];
    bool each = hand->touched[b] == given->class_of[members[0]] + 1;
    uint32_t allowed = 0;
    uint32_t first = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (given->component[members[i]] == given->component[b]) {
            row->counts.one_thing++;
            continue;
        }
        first = allowed++ == 0 ? i : first;
        if (each && try_pair(search, row, thread, members[i], b)) {
            keep(search, row, thread, (CutPair){.a = members[i], .b = b, .sets = 1});
        }
    }
    if (each || allowed == 0) {
        return;
    }
    row->counts.stood_for += allowed - 1;
    if (try_pair(search, row, thread, members[first], b)) {
        keep(search, row, thread,
             (CutPair){.a = members[first], .b = b, .all_a = true, .sets = allowed});
    }
}

/* Pairs of one component among the members of a and b: they are no pairs anyhow. */
static uint64_t count_one_thing(const CutSearch *given, const uint32_t *a, uint32_t a_count,
                                const uint32_t *b, uint32_t b_count) {
    uint64_t count = 0;
    for (uint32_t i = 0; i < a_count; i++) {
        for (uint32_t k = 0; k < b_count; k++) {
            count += given->component[a[i]] == given->component[b[k]] ? 1 : 0;
        }
    }
    return count;
}

static bool is_alone(const CutSearch *given, uint32_t class) {
    return given->alone != NULL && given->alone[class];
}

static void try_classes(const Search *search, Row *row, unsigned thread, uint32_t class,
                        uint32_t other) {
    const CutSearch *given = search->given;
    const Hand *hand = &search->hands[thread];
    uint32_t a_count = 0;
    uint32_t b_count = 0;
    const uint32_t *a = members_of(search, class, &a_count);
    const uint32_t *b = members_of(search, other, &b_count);
    bool meets = hand->meets[other] == class + 1;
    if (is_alone(given, class) || is_alone(given, other)) {
        uint64_t one_thing = meets ? count_one_thing(given, a, a_count, b, b_count) : 0;
        row->counts.one_thing += one_thing;
        row->counts.alone += (uint64_t)a_count * b_count - one_thing;
        return;
    }
    if (covers(&search->single[(size_t) class * search->words],
               &search->single[(size_t)other * search->words], search->every, search->words)) {
        uint64_t one_thing = meets ? count_one_thing(given, a, a_count, b, b_count) : 0;
        row->counts.one_thing += one_thing;
        row->counts.contains_all += (uint64_t)a_count * b_count - one_thing;
        return;
    }
    if (meets) {
        for (uint32_t i = 0; i < b_count; i++) {
            try_one(search, row, thread, a, a_count, b[i]);
        }
        return;
    }
    row->counts.stood_for += (uint64_t)a_count * b_count - 1;
    if (try_pair(search, row, thread, a[0], b[0])) {
        keep(search, row, thread,
             (CutPair){
                 .a = a[0], .b = b[0], .all_a = true, .all_b = true, .sets = a_count * b_count});
    }
}

/* Two members of one class: for each, those before it. */
static void try_within(const Search *search, Row *row, unsigned thread, uint32_t class) {
    const CutSearch *given = search->given;
    uint32_t count = 0;
    const uint32_t *members = members_of(search, class, &count);
    const uint64_t *alone = &search->single[(size_t) class * search->words];
    bool all = covers(alone, alone, search->every, search->words);
    for (uint32_t i = 1; i < count; i++) {
        if (all || is_alone(given, class)) {
            uint64_t one_thing = count_one_thing(given, members, i, &members[i], 1);
            row->counts.one_thing += one_thing;
            *(is_alone(given, class) ? &row->counts.alone : &row->counts.contains_all) +=
                i - one_thing;
            continue;
        }
        size_t before = row->count;
        try_one(search, row, thread, members, i, members[i]);
        /* It stands for those before it, not for the whole class: written out one by one. */
        for (size_t k = before; k < row->count; k++) {
            CutPair *pair = &row->pairs[k];
            if (!pair->all_a) {
                continue;
            }
            pair->all_a = false;
            CutPair found = *pair;
            uint32_t sets = pair->sets;
            pair->sets = 1;
            for (uint32_t m = 0; m < i && sets > 1; m++) {
                if (members[m] != found.a &&
                    given->component[members[m]] != given->component[found.b]) {
                    found.a = members[m];
                    found.sets = 1;
                    *ARENA_PUSH(&search->hands[thread].arena, row->pairs, row->count,
                                row->capacity) = found;
                }
            }
            break;
        }
    }
}

static void run_row(void *context, unsigned thread, uint32_t class) {
    const Search *search = context;
    Row *row = &search->rows[class];
    mark_row(search, &search->hands[thread], class);
    try_within(search, row, thread, class);
    for (uint32_t other = class + 1; other < search->given->class_count; other++) {
        try_classes(search, row, thread, class, other);
    }
}

/* --- one alone ----------------------------------------------------------------------------------
 */

static void run_single(void *context, unsigned thread, uint32_t class) {
    const Search *search = context;
    const CutSearch *given = search->given;
    uint32_t first = search->members[search->member_first[class]];
    uint64_t *lost = &search->single[(size_t) class * search->words];
    given->ask(given->triers[thread], &first, 1, lost);
    for (uint32_t i = 0; i < search->words; i++) {
        lost[i] &= search->every[i];
    }
}

/* --- the whole ----------------------------------------------------------------------------------
 */

static void prepare(Arena *scratch, Search *search) {
    const CutSearch *given = search->given;
    uint32_t count = given->failure_count;
    for (uint32_t i = 0; i < count; i++) {
        CHECK(given->class_of[i] < given->class_count);
        uint32_t component = given->component[i] + 1;
        search->component_count =
            component > search->component_count ? component : search->component_count;
    }
    list_by(scratch, given->class_of, count, given->class_count, &search->member_first,
            &search->members);
    list_by(scratch, given->component, count, search->component_count, &search->of_component_first,
            &search->of_component);
    list_touchers(scratch, search);
    search->rows = ARENA_ARRAY(scratch, Row, given->class_count);
    search->single = ARENA_ARRAY(scratch, uint64_t, (size_t)given->class_count * search->words);
    search->every = ARENA_ARRAY(scratch, uint64_t, search->words);
    search->hands = ARENA_ARRAY(scratch, Hand, given->threads);
    for (unsigned t = 0; t < given->threads; t++) {
        Hand *hand = &search->hands[t];
        hand->component_mark = ARENA_ARRAY(&hand->arena, uint32_t, search->component_count);
        hand->touched = ARENA_ARRAY(&hand->arena, uint32_t, count);
        hand->meets = ARENA_ARRAY(&hand->arena, uint32_t, given->class_count);
        hand->lost = ARENA_ARRAY(&hand->arena, uint64_t, search->words);
    }
}

static void add_counts(CutCounts *sum, const CutCounts *counts) {
    sum->one_thing += counts->one_thing;
    sum->alone += counts->alone;
    sum->contains_all += counts->contains_all;
    sum->stood_for += counts->stood_for;
    sum->tried += counts->tried;
    sum->pairs_found += counts->pairs_found;
}

static void gather(Arena *out, const Search *search, CutResult *result) {
    const CutSearch *given = search->given;
    CutCounts *counts = &result->counts;
    size_t pairs = 0;
    for (uint32_t i = 0; i < given->class_count; i++) {
        add_counts(counts, &search->rows[i].counts);
        pairs += search->rows[i].count;
    }
    CHECK(pairs < UINT32_MAX);
    result->pairs = ARENA_ARRAY(out, CutPair, pairs);
    for (uint32_t i = 0; i < given->class_count; i++) {
        const Row *row = &search->rows[i];
        for (size_t k = 0; k < row->count; k++) {
            CutPair *pair = &result->pairs[result->pair_count++];
            *pair = row->pairs[k];
            uint64_t *lost = ARENA_ARRAY(out, uint64_t, search->words);
            memcpy(lost, row->pairs[k].lost, search->words * sizeof *lost);
            pair->lost = lost;
        }
    }
    result->single = ARENA_ARRAY(out, uint64_t, (size_t)given->failure_count * search->words);
    for (uint32_t i = 0; i < given->failure_count; i++) {
        const uint64_t *lost = &search->single[(size_t)given->class_of[i] * search->words];
        memcpy(&result->single[(size_t)i * search->words], lost, search->words * sizeof *lost);
        counts->singles_found += any_bit(lost, search->words) ? 1 : 0;
    }
    counts->failures = given->failure_count;
    counts->classes = given->class_count;
    counts->singles_tried = given->class_count;
    counts->pairs = given->failure_count == 0
                        ? 0
                        : (uint64_t)given->failure_count * (given->failure_count - 1) / 2;
    uint64_t accounted = counts->one_thing + counts->alone + counts->contains_all +
                         counts->stood_for + counts->tried;
    CHECK(given->singles_only || accounted == counts->pairs);
}

/* --- exported -----------------------------------------------------------------------------------
 */

void cutset_search(Arena *out, const CutSearch *given, CutResult *result) {
    *result = (CutResult){0};
    Arena scratch = {0};
    Search search = {.given = given, .words = cut_words(given->top_count)};
    prepare(&scratch, &search);
    result->none = ARENA_ARRAY(out, uint64_t, search.words);
    given->ask(given->triers[0], NULL, 0, result->none);
    for (uint32_t top = 0; top < given->top_count; top++) {
        search.every[top / 64] |= UINT64_C(1) << (top % 64);
    }
    for (uint32_t i = 0; i < search.words; i++) {
        search.every[i] &= ~result->none[i];
    }
    parallel_run(given->threads, given->class_count, run_single, &search);
    if (!given->singles_only) {
        parallel_run(given->threads, given->class_count, run_row, &search);
    }
    gather(out, &search, result);
    for (unsigned t = 0; t < given->threads; t++) {
        arena_free(&search.hands[t].arena);
    }
    arena_free(&scratch);
}

uint32_t cutset_expand(const CutSearch *search, const CutPair *pair,
                       void (*each)(void *context, uint32_t a, uint32_t b), void *context) {
    uint32_t sets = 0;
    uint32_t class_a = search->class_of[pair->a];
    uint32_t class_b = search->class_of[pair->b];
    for (uint32_t a = 0; a < search->failure_count; a++) {
        if (pair->all_a ? search->class_of[a] != class_a : a != pair->a) {
            continue;
        }
        for (uint32_t b = 0; b < search->failure_count; b++) {
            bool other = pair->all_b ? search->class_of[b] == class_b : b == pair->b;
            if (!other || search->component[a] == search->component[b]) {
                continue;
            }
            if (each != NULL) {
                each(context, a < b ? a : b, a < b ? b : a);
            }
            sets++;
        }
    }
    return sets;
}
