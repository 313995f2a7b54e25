/* The circuits derived from the example's feeds, grounds and links are those of the net list that
 * the same aircraft was first written as (tests/reference/nets.csv): ends in wiring order, class,
 * cores, joining, declared spares, engine circuit. Names of circuits are not compared: a feed row
 * makes several. At most 5 % may be written as explicit ends. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/file.h"
#include "wiring/wiring.h"

#define EXPLICIT_PERCENT_MAX 5

typedef struct Example {
    Arena arena;
    Findings findings;
    TableSet set;
    Model model;
    Wiring wiring;
    TableSet expected; /* rows of `net` */
} Example;

static void must(Status status) {
    if (status.failed) {
        fail_msg("%s", status.text);
    }
}

static void read_reference(Example *example) {
    char *text = NULL;
    size_t length = 0;
    must(
        file_read(&example->arena, MARLING_SOURCE_DIR "/tests/reference/nets.csv", &text, &length));
    table_read_text(&example->arena, "nets.csv", TABLE_net, text, length, &example->expected,
                    &example->findings);
}

static int setup(void **state) {
    Example *example = calloc(1, sizeof *example);
    example->findings.arena = &example->arena;
    must(table_read_folder(&example->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                           &example->set, &example->findings));
    must(table_read_folder(&example->arena, MARLING_SOURCE_DIR "/examples/osier", GROUP_JOB,
                           &example->set, &example->findings));
    table_check(&example->arena, &example->set, &example->findings);
    read_reference(example);
    assert_int_equal(example->findings.count, 0);
    assert_true(model_build(&example->arena, &example->set, &example->model, &example->findings));
    assert_true(
        wiring_derive(&example->arena, &example->model, &example->wiring, &example->findings));
    *state = example;
    return 0;
}

static int teardown(void **state) {
    Example *example = *state;
    arena_free(&example->arena);
    free(example);
    return 0;
}

/* "class cores joining spare: A.B > C.D": all of a circuit that is compared. */
static const char *derived_text(Example *example, const Net *net) {
    static const char *const joins[] = {"point to point", "chain", "hub at first"};
    const Model *model = &example->model;
    Buffer out = {.arena = &example->arena};
    buffer_format(&out, "%s %u %s%s:", model->set->interface.rows[net->class_id].class,
                  (unsigned)net->core_count,
                  net->end_count <= 2 ? joins[JOIN_POINT] : joins[net->join],
                  net->end_count == 1 ? " spare" : "");
    for (uint32_t i = 0; i < net->end_count; i++) {
        const TerminalId end = example->wiring.ends[net->end_first + i];
        buffer_format(&out, "%s %s", i == 0 ? "" : " >", model->terminals[end].end);
    }
    return out.bytes;
}

static const char *expected_text(Example *example, const NetRow *row) {
    Buffer out = {.arena = &example->arena};
    buffer_format(&out, "%s %d %s%s: %s", row->class, row->conductors, row->joining,
                  strchr(row->ends_in_order, '>') == NULL ? " spare" : "", row->ends_in_order);
    return out.bytes;
}

static int compare_texts(const void *left, const void *right) {
    return strcmp(*(const char *const *)left, *(const char *const *)right);
}

static void test_same_circuits(void **state) {
    Example *example = *state;
    size_t count = example->expected.net.count;
    assert_true(count > 200);
    assert_int_equal(example->wiring.net_count, count);
    const char **found = ARENA_ARRAY(&example->arena, const char *, count);
    const char **expected = ARENA_ARRAY(&example->arena, const char *, count);
    for (size_t i = 0; i < count; i++) {
        found[i] = derived_text(example, &example->wiring.nets[i]);
        expected[i] = expected_text(example, &example->expected.net.rows[i]);
    }
    qsort(found, count, sizeof *found, compare_texts);
    qsort(expected, count, sizeof *expected, compare_texts);
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(found[i], expected[i]);
    }
}

static void test_few_written_out(void **state) {
    Example *example = *state;
    assert_true(example->set.pin_net.count * 100 <=
                example->expected.net.count * EXPLICIT_PERCENT_MAX);
}

/* 273 laid pieces and 21 heavy leads, 360 and 21 conductors: reference totals.csv. */
static void test_same_counts(void **state) {
    Example *example = *state;
    uint32_t heavy = 0;
    uint32_t conductors = 0;
    for (CableId c = 0; c < example->wiring.cable_count; c++) {
        heavy += example->wiring.cables[c].heavy;
        conductors +=
            example->wiring.cables[c].heavy ? 0 : example->wiring.cables[c].conductor_count;
    }
    assert_int_equal(heavy, 21);
    assert_int_equal(example->wiring.cable_count - heavy, 273);
    assert_int_equal(conductors, 360);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_same_circuits),
        cmocka_unit_test(test_few_written_out),
        cmocka_unit_test(test_same_counts),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
