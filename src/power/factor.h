/* A sparse symmetric linear system whose pattern is fixed and whose numbers change: approximate
 * minimum degree order (AMD), then L D L' without pivoting (LDL). A factor whose entries grow past
 * a limit is not trusted and the matrix goes to KLU, which pivots. In: rows 0..count-1 and the
 * pairs of rows that are coupled. The order is given back once, so that callers can number their
 * unknowns by it and no vector is ever permuted. */
#ifndef POWER_FACTOR_H
#define POWER_FACTOR_H

#include "base/arena.h"

#include <stdbool.h>
#include <stdint.h>

typedef struct FactorPattern FactorPattern; /* constant once made; may be shared by threads */
typedef struct Factor Factor;               /* numbers and scratch; one a thread */

typedef enum FactorOutcome {
    FACTOR_LDL,        /* factored, positive definite */
    FACTOR_INDEFINITE, /* factored, with negative pivots (as many as negative eigenvalues) */
    FACTOR_KLU,        /* weak pivots in L D L', factored by KLU; signs not known */
    FACTOR_SINGULAR    /* neither could */
} FactorOutcome;

/* Analyses the pattern of `count` rows with the couplings a[k], b[k], k < pair_count; an end that
 * equals `count` is the reference and has no row, and a pair may repeat or couple a row to itself.
 * Writes place_of[row], the new number of each row, and slot[k], the place of pair k's value (-1
 * where the pair has none). From then on rows are known by their new numbers. */
FactorPattern *factor_analyse(Arena *arena, Arena *scratch, uint32_t count, uint32_t pair_count,
                              const uint32_t *a, const uint32_t *b, uint32_t *place_of,
                              int32_t *slot);

/* Numbers for `pattern`, which must outlive them. */
Factor *factor_new(Arena *arena, const FactorPattern *pattern);

/* All values to 0. */
void factor_clear(Factor *factor);

/* Adds to the diagonal of `row`, or to the value at `slot` >= 0 (which stands for both triangles).
 */
void factor_add_diagonal(Factor *factor, uint32_t row, double value);
void factor_add(Factor *factor, int32_t slot, double value);

/* Factors the values. An entry of L above growth_limit, or a pivot that is 0 or no number, is weak:
 * then KLU is tried. */
FactorOutcome factor_compute(Factor *factor, double growth_limit);

/* Solves in place: x (count values) holds the right side, then the solution. Only after
 * factor_compute gave something else than FACTOR_SINGULAR. */
void factor_solve(Factor *factor, double *x);

/* The same in two halves, of an L D L' only: x := L^-1 x, then x := L^-T D^-1 x. */
void factor_solve_forward(const Factor *factor, double *x);
void factor_solve_back(const Factor *factor, double *x);

/* x := L^-1 (e_a - e_b), touching only the rows above a and b in the elimination tree; an end that
 * is FACTOR_NO_ROW is left out. Writes these rows, rising, and their values; returns their count,
 * at most factor_height() * 2. `work` has a value for each row, all 0, and is so again. */
#define FACTOR_NO_ROW UINT32_MAX
uint32_t factor_path(const Factor *factor, uint32_t a, uint32_t b, double *work, uint32_t *rows,
                     double *values);

/* Rows on the longest way up the elimination tree. */
uint32_t factor_height(const Factor *factor);

/* D of a row. */
double factor_pivot(const Factor *factor, uint32_t row);

/* Gives KLU's own memory back; the factor can be computed again afterwards. */
void factor_release(Factor *factor);

#endif
