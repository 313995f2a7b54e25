/* The example aircraft, read from the source tree and taken up to its wiring, for tests that start
 * from it. Include it after cmocka.h. */
#ifndef TESTS_SUPPORT_EXAMPLE_H
#define TESTS_SUPPORT_EXAMPLE_H

#include <string.h>

#include "power/loads.h"
#include "power/supply.h"

typedef struct Example {
    Arena arena;
    TableSet set;
    Findings findings;
    Model model;
    Wiring wiring;
    Supply supply;
} Example;

/* Reads library and job; the test may then spoil rows before example_derive. */
static inline void example_read(Example *example, const char *job) {
    *example = (Example){0};
    example->findings.arena = &example->arena;
    Status status = table_read_folder(&example->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                      &example->set, &example->findings);
    assert_false(status.failed);
    const char *folder = arena_format(&example->arena, MARLING_SOURCE_DIR "/examples/%s", job);
    status =
        table_read_folder(&example->arena, folder, GROUP_JOB, &example->set, &example->findings);
    assert_false(status.failed);
    table_check(&example->arena, &example->set, &example->findings);
    assert_int_equal(example->findings.count, 0);
}

/* Model, wiring and supply; the findings of model and wiring are dropped. */
static inline void example_derive(Example *example) {
    Findings unheard = {.arena = &example->arena};
    assert_true(model_build(&example->arena, &example->set, &example->model, &unheard));
    assert_true(wiring_derive(&example->arena, &example->model, &example->wiring, &unheard));
    assert_true(supply_build(&example->arena, &example->model, &example->wiring, &example->supply,
                             &example->findings));
}

/* Findings of one rule. */
static inline size_t example_count(const Findings *findings, RuleId rule) {
    size_t count = 0;
    for (size_t i = 0; i < findings->count; i++) {
        count += findings->rows[i].rule == rule;
    }
    return count;
}

static inline const Finding *example_find(const Findings *findings, RuleId rule) {
    for (size_t i = 0; i < findings->count; i++) {
        if (findings->rows[i].rule == rule) {
            return &findings->rows[i];
        }
    }
    return NULL;
}

#endif
