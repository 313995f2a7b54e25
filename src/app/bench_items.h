/* What a builder ticks, one after the other: the work list of a module broken down to single wires
 * and wire ends, in build order, with standard minutes; and how far it has come. Goes in: a proof
 * with its bench, rows of bench_tick and its kin. Comes out: items, and minutes that are made,
 * proven (inspected by somebody else), and ready to ship. Nothing here is kept anywhere. */
#ifndef APP_BENCH_ITEMS_H
#define APP_BENCH_ITEMS_H

#include "app/bench_ring.h"

typedef struct BenchItem {
    uint32_t work;     /* into bench->work.items */
    const char *key;   /* "W0412.2" piece, "W0412.2/1" its from end, "20 AWG 22" samples to
                          pull, leaf, segment; "" the module */
    const char *built; /* what of it the design may change: a tick for another counts no more */
    double minutes;
    uint32_t piece; /* into HarnessSet.pieces; ID_NONE */
    uint32_t end;   /* 0, 1; ID_NONE */
    uint32_t pull;  /* of samples to pull: row of pull_test; ID_NONE */
} BenchItem;

typedef struct BenchItems {
    BenchItem *items;
    size_t count;
    size_t capacity;
} BenchItems;

/* Items of a module in build order: steps as in the work list; pieces in the order in which they
 * are cut, ends at a connector by their cavities, samples by their kind of crimp. Their minutes are
 * those of the work list. n log n in pieces. */
void bench_items(Arena *arena, Proof *proof, ModuleId module, BenchItems *items);

/* The tick that counts for each item; NULL: none. The last that nobody took back, of an item that
 * is still built as it was. */
const BenchTickRow **bench_done(Arena *arena, const Proof *proof, const BenchItems *items,
                                const TableSet *kept);

typedef struct BenchProgress {
    double total_min;
    double made_min;      /* ticked */
    double proven_min;    /* made, and inspected after that by somebody who did not do it */
    double shippable_min; /* proven, of a module that nothing blocks */
    size_t items;
    size_t ticked;
    size_t own; /* inspections that count for nothing that the same person made */
    BenchRing ring;
    size_t problems; /* noted and not settled */
    size_t rebuilt;  /* ticked as it was before the design changed */
} BenchProgress;

void bench_progress(Arena *arena, Proof *proof, ModuleId module, const BenchItems *items,
                    const TableSet *kept, BenchProgress *progress);

#endif
