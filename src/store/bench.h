/* What was done at the bench, in the shop file: ticks, readings, notes, photos. Rows are added and
 * never change or go: no edit, undo, import or restore touches them, and they are no part of a
 * revision. Every row has a key that was made where it was typed, so that it may be sent again and
 * again until somebody says that it is kept: a row that is there already counts as kept and stands
 * once. A row that was told as kept is on the disk. */
#ifndef STORE_BENCH_H
#define STORE_BENCH_H

#include "store/store.h"

/* Longest key of a row. */
enum { STORE_BENCH_KEY_MOST = 64 };

typedef struct StoreBenchRow {
    TableId table;     /* one that grows (revision_grows) */
    const void *row;   /* every column it must have */
    const void *bytes; /* bench_photo: the picture, else NULL */
    size_t length;
} StoreBenchRow;

typedef enum StoreBenchKept {
    STORE_BENCH_NEW,   /* added */
    STORE_BENCH_KNOWN, /* it was there already, the same */
    STORE_BENCH_OTHER  /* another row of that key is there; this one was not added */
} StoreBenchKept;

/* Adds the rows, in their order and in one transaction; kept[i] says what became of each. `kept`
 * (the column) and `person` may differ from those of the row that is there. A failed status:
 * nothing was added. */
STATUS_USE Status store_bench_add(Store *store, StoreJob job, const StoreBenchRow *rows,
                                  size_t count, StoreBenchKept *kept);

/* Appends all rows of the bench's tables to `set` and sorts it. */
STATUS_USE Status store_bench_load(Store *store, Arena *arena, StoreJob job, TableSet *set);

/* A picture by its hash; NULL when there is none. */
STATUS_USE Status store_photo(Store *store, Arena *arena, const char *hash, const void **bytes,
                              size_t *length);

/* Keeps a picture without a row. `hash` is that of its bytes. */
STATUS_USE Status store_photo_keep(Store *store, const void *bytes, size_t length,
                                   const char *hash);

/* "jpeg", "png", "webp" by the first bytes; NULL: something else. */
const char *store_photo_type(const void *bytes, size_t length);

#endif
