/* The library and every example that the project carries are read without a finding, and written
 * back they give the same bytes: what is committed is the canonical form. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/file.h"
#include "rating/dsub.h"
#include "table/rows.h"
#include "table/write.h"

#define LIBRARY MARLING_SOURCE_DIR "/library"
#define EXAMPLES MARLING_SOURCE_DIR "/examples"

static void print_findings(const Findings *findings) {
    for (size_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->rows[i];
        print_message("%s:%u: %s %s: %s\n", finding->file, (unsigned)finding->line,
                      rule_name(finding->rule), finding->column, finding->message);
    }
}

/* The bytes of folder/TABLE.csv are what the writer makes of the rows read. */
static void expect_canonical(Arena *arena, const char *folder, const TableSet *set, TableId table) {
    char path[1024];
    snprintf(path, sizeof path, "%s/%s.csv", folder, table_schema(table)->name);
    char *text = NULL;
    size_t length = 0;
    Status status = file_read(arena, path, &text, &length);
    if (status.failed) {
        assert_int_equal(set->any[table].count, 0);
        return;
    }
    Buffer out = {.arena = arena};
    table_write_csv(&out, set, table);
    if (out.length != length || memcmp(out.bytes, text, length) != 0) {
        size_t at = 0;
        while (at < length && at < out.length && text[at] == out.bytes[at]) {
            at++;
        }
        size_t line = 1;
        for (size_t i = 0; i < at; i++) {
            line += text[i] == '\n';
        }
        fail_msg("%s is not canonical from line %zu: \"%.60s\" should be \"%.60s\"", path, line,
                 text + at, out.bytes + at);
    }
}

static void read_folder(Arena *arena, const char *folder, TableGroup group, TableSet *set,
                        Findings *findings) {
    Status status = table_read_folder(arena, folder, group, set, findings);
    assert_false(status.failed);
}

static void test_library_alone(void **state) {
    (void)state;
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    TableSet set = {0};
    read_folder(&arena, LIBRARY, GROUP_LIBRARY, &set, &findings);
    table_check(&arena, &set, &findings);
    print_findings(&findings);
    assert_int_equal(findings.count, 0);
    for (TableId table = 0; table < TABLE_COUNT; table++) {
        if (table_schema(table)->group == GROUP_LIBRARY) {
            /* An empty library table would make every test below a test of nothing. */
            assert_true(set.any[table].count > 0);
            expect_canonical(&arena, LIBRARY, &set, table);
        }
    }
    arena_free(&arena);
}

static void test_examples(void **state) {
    (void)state;
    Arena names = {0};
    char **examples = NULL;
    size_t count = 0;
    Status status = file_list(&names, EXAMPLES, "", &examples, &count);
    assert_false(status.failed);
    size_t jobs = 0;
    for (size_t i = 0; i < count; i++) {
        char folder[1024];
        snprintf(folder, sizeof folder, "%s/%s", EXAMPLES, examples[i]);
        if (strchr(examples[i], '.') != NULL) {
            continue; /* README.md */
        }
        jobs++;
        Arena arena = {0};
        Findings findings = {.arena = &arena};
        TableSet set = {0};
        read_folder(&arena, LIBRARY, GROUP_LIBRARY, &set, &findings);
        read_folder(&arena, folder, GROUP_JOB, &set, &findings);
        table_check(&arena, &set, &findings);
        print_findings(&findings);
        assert_int_equal(findings.count, 0);
        assert_int_equal(set.job.count, 1);
        for (TableId table = 0; table < TABLE_COUNT; table++) {
            if (table_schema(table)->group == GROUP_JOB) {
                expect_canonical(&arena, folder, &set, table);
            }
        }
        arena_free(&arena);
    }
    assert_true(jobs >= 1);
    arena_free(&names);
}

/* Cavity positions are those of the numbering rule; tables carry four decimals. */
#define PLACE_TOLERANCE_MM 5e-5

static void test_cavities_follow_the_numbering_rule(void **state) {
    (void)state;
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    TableSet set = {0};
    read_folder(&arena, LIBRARY, GROUP_LIBRARY, &set, &findings);
    size_t compared = 0;
    size_t patterns = 0;
    for (size_t i = 0; i < set.shell.count; i++) {
        const ShellRow *shell = &set.shell.rows[i];
        DsubLayout layout = {0};
        if (shell->rows[0] == '\0') {
            continue;
        }
        assert_true(dsub_rows_parse(shell->rows, &layout));
        assert_int_equal(dsub_contacts(&layout), shell->ways);
        bool dense = strcmp(shell->contact, "22D") == 0;
        layout.pitch_mm = dense ? 2.286 : 2.77;
        layout.row_pitch_mm = dense ? 1.981 : 2.84;
        patterns++;
        for (size_t k = 0; k < set.cavity.count; k++) {
            const CavityRow *cavity = &set.cavity.rows[k];
            if (strcmp(cavity->shell, shell->shell) != 0) {
                continue;
            }
            DsubPlace place =
                dsub_place(&layout, DSUB_MALE_MATING, (unsigned)strtoul(cavity->cavity, NULL, 10));
            assert_true(fabs(place.x_mm - cavity->x_mm) <= PLACE_TOLERANCE_MM);
            assert_true(fabs(place.y_mm - cavity->y_mm) <= PLACE_TOLERANCE_MM);
            compared++;
        }
    }
    assert_int_equal(patterns, 10);
    assert_int_equal(compared, set.cavity.count);
    arena_free(&arena);
}

/* The checks of form can fail: one changed cell, one swapped row, one dangling name are seen. */
static void test_check_can_fail(void **state) {
    (void)state;
    static const char swapped[] = "nominal_v,continuous_v,intermittent_v,source,status\n"
                                  "28,1,2,\"AC 43.13-1B Table 11-6\",memory\n14,0.50,1,x,opened\n";
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    TableSet set = {0};
    table_read_text(&arena, "drop_limit.csv", TABLE_drop_limit, swapped, sizeof swapped - 1, &set,
                    &findings);
    table_check(&arena, &set, &findings);
    Buffer out = {.arena = &arena};
    table_write_csv(&out, &set, TABLE_drop_limit);
    assert_string_equal(out.bytes, "nominal_v,continuous_v,intermittent_v,source,status\n"
                                   "14,0.5,1,x,opened\n28,1,2,AC 43.13-1B Table 11-6,memory\n");
    static const char dangling[] = "shell,cavity,x_mm,y_mm\ndsub-9,1,0,0\n";
    table_read_text(&arena, "cavity.csv", TABLE_cavity, dangling, sizeof dangling - 1, &set,
                    &findings);
    assert_int_equal(findings.count, 0);
    table_check(&arena, &set, &findings);
    assert_int_equal(findings.count, 1);
    assert_int_equal(findings.rows[0].rule, RULE_READ_REFERENCE);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_library_alone),
        cmocka_unit_test(test_examples),
        cmocka_unit_test(test_cavities_follow_the_numbering_rule),
        cmocka_unit_test(test_check_can_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
