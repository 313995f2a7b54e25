/* Cutset: minimal cut sets of order 1 and 2 by exhaustive search. In: n ways something can fail,
 * and an oracle that says which tops (things that must survive) are lost when one or two of them
 * are there at once. Out: every failure that loses a top by itself, every pair that loses a top
 * neither of its members loses alone, and a tally that accounts for each of the n (n - 1) / 2
 * pairs. What may be left out without losing anything, and why: docs/theory/needs.md. */
#ifndef POWER_CUTSET_H
#define POWER_CUTSET_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

/* Tops are bits of words: top t is bit t % 64 of word t / 64. */
static inline uint32_t cut_words(uint32_t tops) {
    return (tops + 63) / 64;
}

typedef struct CutSearch {
    uint32_t failure_count;
    uint32_t top_count;
    /* By failure: the thing that fails. It fails in one way at a time, so two failures of one thing
     * are no pair. */
    const uint32_t *component;
    /* By failure: its class, numbered from 0 by first member. Members of a class stand for each
     * other: for every failure x that does not touch the class, the oracle says the same of {m, x}
     * for each member m of another component than x, and of {m} alone. */
    const uint32_t *class_of;
    uint32_t class_count;
    /* Failure f touches the classes touch[touch_first[f]] .. touch[touch_first[f + 1] - 1]: with f,
     * their members need not stand for each other. NULL: none touches any. */
    const uint32_t *touch_first;
    const uint32_t *touch;
    /* By class: tried alone, not in pairs. NULL: none. */
    const bool *alone;
    /* Adds to `lost` (zeroed) the tops lost with the `count` failures; thread t gets triers[t]. The
     * same answer for the same set, in any order of asking. */
    void (*ask)(void *trier, const uint32_t *failures, uint32_t count, uint64_t *lost);
    void *const *triers; /* one for each thread; not shared */
    unsigned threads;
    bool singles_only; /* no pairs */
} CutSearch;

/* A found set of order 2 and those that it stands for. */
typedef struct CutPair {
    uint32_t a; /* failures, a's class first in order; of one class: a < b */
    uint32_t b;
    bool all_a;    /* every member of a's class in place of a, of another component than b's */
    bool all_b;    /* every member of b's class in place of b */
    uint32_t sets; /* how many sets that is */
    const uint64_t *lost; /* tops lost by the pair and by neither alone */
} CutPair;

typedef struct CutCounts {
    uint64_t failures;
    uint64_t classes;
    uint64_t pairs;         /* n (n - 1) / 2 */
    uint64_t one_thing;     /* left out: both failures of one component */
    uint64_t alone;         /* not searched: one of the two is tried alone only */
    uint64_t contains_all;  /* left out: its members alone lose every top between them */
    uint64_t stood_for;     /* answered by a pair of the same classes */
    uint64_t tried;         /* asked of the oracle; these five add up to `pairs` */
    uint64_t singles_tried; /* one for each class */
    uint64_t singles_found; /* failures that lose a top by themselves */
    uint64_t pairs_found;   /* sets of order 2, all of them */
} CutCounts;

typedef struct CutResult {
    uint64_t *none;   /* tops lost with nothing failed: no set is found for them */
    uint64_t *single; /* by failure, cut_words() each: tops it loses by itself */
    CutPair *pairs;   /* by class of a, class of b, then failure */
    uint32_t pair_count;
    CutCounts counts;
} CutResult;

/* The search. Work: one question for each class and for each pair of classes, more where they
 * touch, divided over search->threads threads; the result does not depend on how many. */
void cutset_search(Arena *out, const CutSearch *search, CutResult *result);

/* Calls `each` for every set of order 2 that `pair` stands for, with the smaller failure first.
 * Returns how many. `each` may be NULL. */
uint32_t cutset_expand(const CutSearch *search, const CutPair *pair,
                       void (*each)(void *context, uint32_t a, uint32_t b), void *context);

#endif
