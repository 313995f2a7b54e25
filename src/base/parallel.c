/* Plain threads, joined before the call returns: nothing of them outlives it. */
#include "base/parallel.h"

#include <pthread.h>
#include <stdbool.h>
#include <unistd.h>

#include "base/check.h"

typedef struct Lane {
    pthread_t id;
    bool started;
    unsigned thread;
    unsigned threads;
    uint32_t count;
    ParallelWork work;
    void *context;
} Lane;

static void *run_lane(void *argument) {
    const Lane *lane = argument;
    for (uint64_t item = lane->thread; item < lane->count; item += lane->threads) {
        lane->work(lane->context, lane->thread, (uint32_t)item);
    }
    return NULL;
}

void parallel_run(unsigned threads, uint32_t count, ParallelWork work, void *context) {
    CHECK(threads >= 1 && threads <= PARALLEL_THREADS_MAX);
    Lane lanes[PARALLEL_THREADS_MAX] = {{.started = false}};
    for (unsigned i = 0; i < threads; i++) {
        lanes[i] = (Lane){
            .thread = i,
            .threads = threads,
            .count = count,
            .work = work,
            .context = context,
        };
    }
    for (unsigned i = 1; i < threads && i < count; i++) {
        lanes[i].started = pthread_create(&lanes[i].id, NULL, run_lane, &lanes[i]) == 0;
    }
    run_lane(&lanes[0]);
    for (unsigned i = 1; i < threads; i++) {
        if (lanes[i].started) {
            CHECK(pthread_join(lanes[i].id, NULL) == 0);
        } else if (i < count) {
            run_lane(&lanes[i]);
        }
    }
}

unsigned parallel_processors(void) {
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    if (processors < 1) {
        return 1;
    }
    return processors > (long)PARALLEL_THREADS_MAX ? PARALLEL_THREADS_MAX : (unsigned)processors;
}
