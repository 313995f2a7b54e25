/* The upper triangle is kept in the order of the pivots, the diagonal last in each column. KLU gets
 * the full matrix in the same order, built only when it is needed. */
#include "power/factor.h"

#include <limits.h>
#include <math.h>
#include <string.h>

#include <suitesparse/amd.h>
#include <suitesparse/klu.h>
#include <suitesparse/ldl.h>

#include "base/check.h"

struct FactorPattern {
    int count;
    int *column_first; /* count + 1 */
    int *row;          /* of each value, upper triangle */
    int *parent;       /* elimination tree */
    int *l_first;      /* count + 1 places in the columns of L */
    int *l_count;
};

struct Factor {
    const FactorPattern *pattern;
    double *value;
    double *l_value;
    double *pivot;
    double *work;
    int *l_row;
    int *l_count; /* LDL counts them again */
    int *stack;
    int *mark;
    klu_common klu;
    klu_symbolic *klu_symbols; /* NULL unless the last factorisation is KLU's */
    klu_numeric *klu_numbers;
};

/* --- Pattern --------------------------------------------------------------------------------- */

/* Counting sort of the couplings (both directions when `both`, else by the later row) into columns.
 * first gets count + 1 places, row and pair their entries. */
static void columns_fill(int count, uint32_t pair_count, const uint32_t *a, const uint32_t *b,
                         bool both, int *first, int *row, uint32_t *pair) {
    uint32_t none = (uint32_t)count;
    memset(first, 0, ((size_t)count + 1) * sizeof *first);
    for (uint32_t k = 0; k < pair_count; k++) {
        if (a[k] != b[k] && a[k] != none && b[k] != none) {
            first[a[k] > b[k] ? a[k] : b[k]]++;
            if (both) {
                first[a[k] > b[k] ? b[k] : a[k]]++;
            }
        }
    }
    int sum = 0;
    for (int column = 0; column <= count; column++) {
        int entries = first[column];
        first[column] = sum;
        sum += entries;
    }
    for (uint32_t k = 0; k < pair_count; k++) {
        if (a[k] != b[k] && a[k] != none && b[k] != none) {
            uint32_t low = a[k] > b[k] ? b[k] : a[k];
            uint32_t high = a[k] > b[k] ? a[k] : b[k];
            row[first[high]] = (int)low;
            pair[first[high]++] = k;
            if (both) {
                row[first[low]] = (int)high;
                pair[first[low]++] = k;
            }
        }
    }
    memmove(first + 1, first, (size_t)count * sizeof *first);
    first[0] = 0;
}

/* Merges equal couplings, appends the diagonals, and tells each pair its slot. */
static void pattern_merge(FactorPattern *pattern, const int *first, const int *row,
                          const uint32_t *pair, int32_t *slot, int *last_seen) {
    int entry = 0;
    for (int r = 0; r < pattern->count; r++) {
        last_seen[r] = -1;
    }
    for (int column = 0; column < pattern->count; column++) {
        int column_first = entry;
        pattern->column_first[column] = entry;
        for (int k = first[column]; k < first[column + 1]; k++) {
            int r = row[k];
            if (last_seen[r] < column_first) {
                last_seen[r] = entry;
                pattern->row[entry++] = r;
            }
            slot[pair[k]] = last_seen[r];
        }
        pattern->row[entry++] = column;
    }
    pattern->column_first[pattern->count] = entry;
}

FactorPattern *factor_analyse(Arena *arena, Arena *scratch, uint32_t count, uint32_t pair_count,
                              const uint32_t *a, const uint32_t *b, uint32_t *place_of,
                              int32_t *slot) {
    CHECK(count < INT_MAX / 4 && pair_count < INT_MAX / 4);
    FactorPattern *pattern = ARENA_NEW(arena, FactorPattern);
    int n = (int)count;
    pattern->count = n;
    int *first = ARENA_ARRAY(scratch, int, (size_t)count + 1);
    int *row = ARENA_ARRAY(scratch, int, 2 * (size_t)pair_count);
    uint32_t *pair = ARENA_ARRAY(scratch, uint32_t, 2 * (size_t)pair_count);
    int *order = ARENA_ARRAY(scratch, int, count);
    columns_fill(n, pair_count, a, b, true, first, row, pair);
    if (count > 0) {
        int outcome = amd_order(n, first, row, order, NULL, NULL);
        CHECK(outcome == AMD_OK || outcome == AMD_OK_BUT_JUMBLED);
    }
    for (int k = 0; k < n; k++) {
        place_of[order[k]] = (uint32_t)k;
    }

    uint32_t *new_a = ARENA_ARRAY(scratch, uint32_t, pair_count);
    uint32_t *new_b = ARENA_ARRAY(scratch, uint32_t, pair_count);
    for (uint32_t k = 0; k < pair_count; k++) {
        CHECK(a[k] <= count && b[k] <= count);
        new_a[k] = a[k] == count ? count : place_of[a[k]];
        new_b[k] = b[k] == count ? count : place_of[b[k]];
        slot[k] = -1;
    }
    columns_fill(n, pair_count, new_a, new_b, false, first, row, pair);
    pattern->column_first = ARENA_ARRAY(arena, int, (size_t)count + 1);
    pattern->row = ARENA_ARRAY(arena, int, (size_t)first[n] + count);
    pattern_merge(pattern, first, row, pair, slot, order);

    pattern->parent = ARENA_ARRAY(arena, int, count);
    pattern->l_first = ARENA_ARRAY(arena, int, (size_t)count + 1);
    pattern->l_count = ARENA_ARRAY(arena, int, count);
    ldl_symbolic(n, pattern->column_first, pattern->row, pattern->l_first, pattern->parent,
                 pattern->l_count, order, NULL, NULL);
    CHECK(pattern->l_first[n] >= 0);
    return pattern;
}

/* --- Numbers --------------------------------------------------------------------------------- */

Factor *factor_new(Arena *arena, const FactorPattern *pattern) {
    Factor *factor = ARENA_NEW(arena, Factor);
    size_t count = (size_t)pattern->count;
    size_t l_size = (size_t)pattern->l_first[pattern->count];
    factor->pattern = pattern;
    factor->value = ARENA_ARRAY(arena, double, (size_t)pattern->column_first[pattern->count]);
    factor->l_value = ARENA_ARRAY(arena, double, l_size);
    factor->l_row = ARENA_ARRAY(arena, int, l_size);
    factor->pivot = ARENA_ARRAY(arena, double, count);
    factor->work = ARENA_ARRAY(arena, double, count);
    factor->l_count = ARENA_ARRAY(arena, int, count);
    factor->stack = ARENA_ARRAY(arena, int, count);
    factor->mark = ARENA_ARRAY(arena, int, count);
    return factor;
}

void factor_clear(Factor *factor) {
    size_t size = (size_t)factor->pattern->column_first[factor->pattern->count];
    if (size > 0) {
        memset(factor->value, 0, size * sizeof *factor->value);
    }
}

void factor_add_diagonal(Factor *factor, uint32_t row, double value) {
    factor->value[factor->pattern->column_first[row + 1] - 1] += value;
}

void factor_add(Factor *factor, int32_t slot, double value) {
    factor->value[slot] += value;
}

/* True if L D L' ended and no entry of L is above the limit. In a network of conductances every
 * entry is at most 1; only the negative slope of power loads makes larger ones. */
static bool ldl_compute(Factor *factor, double growth_limit) {
    const FactorPattern *pattern = factor->pattern;
    int done = ldl_numeric(pattern->count, pattern->column_first, pattern->row, factor->value,
                           pattern->l_first, pattern->parent, factor->l_count, factor->l_row,
                           factor->l_value, factor->pivot, factor->work, factor->stack,
                           factor->mark, NULL, NULL);
    if (done < pattern->count) {
        /* LDL leaves its work vector dirty where it stopped. */
        memset(factor->work, 0, (size_t)pattern->count * sizeof *factor->work);
        return false;
    }
    bool sound = true;
    for (int k = 0; k < pattern->count; k++) {
        sound &= isfinite(factor->pivot[k]) != 0;
    }
    int l_size = pattern->l_first[pattern->count];
    for (int k = 0; k < l_size; k++) {
        sound &= fabs(factor->l_value[k]) <= growth_limit;
    }
    return sound;
}

static bool klu_compute(Factor *factor) {
    const FactorPattern *pattern = factor->pattern;
    Arena scratch = {0};
    size_t count = (size_t)pattern->count;
    size_t size = 2 * (size_t)pattern->column_first[count] - count;
    int *first = ARENA_ARRAY(&scratch, int, count + 1);
    int *row = ARENA_ARRAY(&scratch, int, size);
    double *value = ARENA_ARRAY(&scratch, double, size);
    for (int column = 0; column < pattern->count; column++) {
        int last = pattern->column_first[column + 1] - 1;
        first[column] += last - pattern->column_first[column] + 1;
        for (int k = pattern->column_first[column]; k < last; k++) {
            first[pattern->row[k]]++;
        }
    }
    int sum = 0;
    for (size_t column = 0; column <= count; column++) {
        int entries = first[column];
        first[column] = sum;
        sum += entries;
    }
    for (int column = 0; column < pattern->count; column++) {
        for (int k = pattern->column_first[column]; k < pattern->column_first[column + 1]; k++) {
            int r = pattern->row[k];
            row[first[column]] = r;
            value[first[column]++] = factor->value[k];
            if (r != column) {
                row[first[r]] = column;
                value[first[r]++] = factor->value[k];
            }
        }
    }
    memmove(first + 1, first, count * sizeof *first);
    first[0] = 0;
    klu_defaults(&factor->klu);
    factor->klu_symbols = klu_analyze(pattern->count, first, row, &factor->klu);
    if (factor->klu_symbols != NULL) {
        factor->klu_numbers = klu_factor(first, row, value, factor->klu_symbols, &factor->klu);
    }
    bool sound = factor->klu_numbers != NULL && factor->klu.status == KLU_OK;
    if (sound) {
        /* A pivot lost in rounding is as good as zero. */
        sound = klu_rcond(factor->klu_symbols, factor->klu_numbers, &factor->klu) == 1 &&
                factor->klu.rcond > 1e-15;
    }
    arena_free(&scratch);
    if (!sound) {
        factor_release(factor);
    }
    return sound;
}

FactorOutcome factor_compute(Factor *factor, double growth_limit) {
    factor_release(factor);
    if (factor->pattern->count == 0) {
        return FACTOR_LDL;
    }
    if (ldl_compute(factor, growth_limit)) {
        bool negative = false;
        for (int k = 0; k < factor->pattern->count; k++) {
            negative |= factor->pivot[k] < 0;
        }
        return negative ? FACTOR_INDEFINITE : FACTOR_LDL;
    }
    return klu_compute(factor) ? FACTOR_KLU : FACTOR_SINGULAR;
}

void factor_solve(Factor *factor, double *x) {
    const FactorPattern *pattern = factor->pattern;
    if (pattern->count == 0) {
        return;
    }
    if (factor->klu_numbers != NULL) {
        int solved =
            klu_solve(factor->klu_symbols, factor->klu_numbers, pattern->count, 1, x, &factor->klu);
        CHECK(solved == 1);
        return;
    }
    int *l_first = pattern->l_first;
    ldl_lsolve(pattern->count, x, l_first, factor->l_row, factor->l_value);
    ldl_dsolve(pattern->count, x, factor->pivot);
    ldl_ltsolve(pattern->count, x, l_first, factor->l_row, factor->l_value);
}

void factor_solve_forward(const Factor *factor, double *x) {
    const FactorPattern *pattern = factor->pattern;
    if (pattern->count > 0) {
        ldl_lsolve(pattern->count, x, pattern->l_first, factor->l_row, factor->l_value);
    }
}

void factor_solve_back(const Factor *factor, double *x) {
    const FactorPattern *pattern = factor->pattern;
    if (pattern->count > 0) {
        ldl_dsolve(pattern->count, x, factor->pivot);
        ldl_ltsolve(pattern->count, x, pattern->l_first, factor->l_row, factor->l_value);
    }
}

uint32_t factor_path(const Factor *factor, uint32_t a, uint32_t b, double *work, uint32_t *rows,
                     double *values) {
    const FactorPattern *pattern = factor->pattern;
    int i = a == FACTOR_NO_ROW ? pattern->count : (int)a;
    int j = b == FACTOR_NO_ROW ? pattern->count : (int)b;
    uint32_t count = 0;
    if (i == j) {
        return 0;
    }
    if (i < pattern->count) {
        work[i] = 1;
    }
    if (j < pattern->count) {
        work[j] = -1;
    }
    while (i < pattern->count || j < pattern->count) {
        int row = i < j ? i : j;
        double value = work[row];
        work[row] = 0;
        rows[count] = (uint32_t)row;
        values[count++] = value;
        int end = pattern->l_first[row] + factor->l_count[row];
        for (int p = pattern->l_first[row]; p < end; p++) {
            work[factor->l_row[p]] -= factor->l_value[p] * value;
        }
        int up = pattern->parent[row] < 0 ? pattern->count : pattern->parent[row];
        if (i == row) {
            i = up;
        }
        if (j == row) {
            j = up;
        }
    }
    return count;
}

uint32_t factor_height(const Factor *factor) {
    const FactorPattern *pattern = factor->pattern;
    uint32_t highest = 0;
    /* A parent has a larger number than its children: from the last row down, with stack as scratch
     * (LDL leaves nothing in it). */
    for (int k = pattern->count - 1; k >= 0; k--) {
        int up = pattern->parent[k];
        factor->stack[k] = up < 0 ? 1 : factor->stack[up] + 1;
        highest = (uint32_t)factor->stack[k] > highest ? (uint32_t)factor->stack[k] : highest;
    }
    return highest;
}

double factor_pivot(const Factor *factor, uint32_t row) {
    return factor->pivot[row];
}

void factor_release(Factor *factor) {
    if (factor->klu_numbers != NULL) {
        klu_free_numeric(&factor->klu_numbers, &factor->klu);
    }
    if (factor->klu_symbols != NULL) {
        klu_free_symbolic(&factor->klu_symbols, &factor->klu);
    }
}
