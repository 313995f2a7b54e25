/* Parallel: the same work on many items, on several threads. Which thread takes which item is fixed
 * (item i goes to thread i modulo the number of threads), every item writes only what is its own,
 * and whoever gathers results goes through the items in order: the answer has the same bytes on one
 * thread, two, or any number. The only place that starts threads. */
#ifndef BASE_PARALLEL_H
#define BASE_PARALLEL_H

#include <stdint.h>

#define PARALLEL_THREADS_MAX 64u

/* Work on one item. `thread` counts from 0 and names the scratch it may use. */
typedef void (*ParallelWork)(void *context, unsigned thread, uint32_t item);

/* Calls `work` once for each item below `count`, on `threads` threads (1 to PARALLEL_THREADS_MAX;
 * with 1, or fewer than two items, on the caller's own). Returns when all are done. A thread that
 * can't be started leaves its items to the caller. */
void parallel_run(unsigned threads, uint32_t count, ParallelWork work, void *context);

/* Processors the machine offers, at least 1 and at most PARALLEL_THREADS_MAX. */
unsigned parallel_processors(void);

#endif
