/* Readings of the ring-out as the bench has them: which count for a step of the script as it is
 * now. Goes in: a proof with its bench, rows of bench_reading. Comes out: the reading of each step,
 * those taken beside the script, and how many count no more. A reading carries the hash of what it
 * measured (both sides, wires, limits, voltage: ringout.measured), so that after a change of design
 * it can't count for something else that has its number or its words. Nothing is kept here. */
#ifndef APP_BENCH_RING_H
#define APP_BENCH_RING_H

#include "app/bench.h"

typedef struct BenchRing {
    const RingoutRow *script;
    size_t steps;
    const BenchReadingRow **of;     /* by step: the last of what it measures; NULL: none */
    const BenchReadingRow **beside; /* to tell causes apart: last of each pair of this design */
    size_t beside_count;
    const char *design; /* hash of the whole script; readings beside it carry this one */
    size_t good;        /* steps that were read, within limits */
    size_t bad;         /* read, out of limits */
    size_t earlier;     /* measurements of an earlier design, or without a hash: they never count */
} BenchRing;

/* `module`: a module's name, or RIG_INSTALLED for all mated in the aircraft. Readings that were
 * taken back count for nothing. n log n in steps and readings. */
void bench_ring(Arena *arena, Proof *proof, const char *module, const TableSet *kept,
                BenchRing *ring);

/* Whether a reading is within the limits of a step. */
bool bench_reading_good(const BenchReadingRow *reading, const RingoutRow *step);

#endif
