/* Every item once, each on the thread that is its own, whatever the number of threads. */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "base/parallel.h"

enum { ITEMS = 1000 };

typedef struct Tally {
    uint32_t calls[ITEMS];
    unsigned thread[ITEMS];
    uint64_t sum[PARALLEL_THREADS_MAX];
} Tally;

static void count_item(void *context, unsigned thread, uint32_t item) {
    Tally *tally = context;
    tally->calls[item]++;
    tally->thread[item] = thread;
    tally->sum[thread] += item;
}

static void every_item_once(void **state) {
    (void)state;
    const unsigned counts[] = {1, 2, 3, 7, PARALLEL_THREADS_MAX};
    for (size_t c = 0; c < sizeof counts / sizeof *counts; c++) {
        Tally tally;
        memset(&tally, 0, sizeof tally);
        parallel_run(counts[c], ITEMS, count_item, &tally);
        uint64_t sum = 0;
        for (uint32_t i = 0; i < ITEMS; i++) {
            assert_int_equal(tally.calls[i], 1);
            assert_int_equal(tally.thread[i], i % counts[c]);
        }
        for (unsigned i = 0; i < counts[c]; i++) {
            sum += tally.sum[i];
        }
        assert_int_equal(sum, (uint64_t)ITEMS * (ITEMS - 1) / 2);
    }
}

static void fewer_items_than_threads(void **state) {
    (void)state;
    Tally tally;
    for (uint32_t count = 0; count < 4; count++) {
        memset(&tally, 0, sizeof tally);
        parallel_run(8, count, count_item, &tally);
        for (uint32_t i = 0; i < 8; i++) {
            assert_int_equal(tally.calls[i], i < count ? 1 : 0);
        }
    }
}

static void there_is_a_processor(void **state) {
    (void)state;
    assert_in_range(parallel_processors(), 1, PARALLEL_THREADS_MAX);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_item_once),
        cmocka_unit_test(fewer_items_than_threads),
        cmocka_unit_test(there_is_a_processor),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
