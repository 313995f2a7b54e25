/* Another program opens our workbooks: Python's zip and XML parsers read them, save every sheet as
 * a spreadsheet would save it as CSV, and the tables read back from that are the same. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>
#include <cmocka.h>

#include "../support/table_make.h"
#include "base/file.h"
#include "table/write.h"

static const char SCRIPT[] = MARLING_SOURCE_DIR "/tests/outside/read_xlsx.py";

/* What the script prints; fails when it fails. */
static Buffer run_script(Arena *arena, const char *path, const char *what) {
    Buffer out = {.arena = arena};
    buffer_text(&out, "");
    const char *command = arena_format(arena, "python3 '%s' '%s' %s", SCRIPT, path, what);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    char part[4096];
    for (size_t got = fread(part, 1, sizeof part, pipe); got > 0;
         got = fread(part, 1, sizeof part, pipe)) {
        buffer_add(&out, part, got);
    }
    assert_int_equal(pclose(pipe), 0);
    return out;
}

static char *temporary(char path[64]) {
    snprintf(path, 64, "/tmp/marling-xlsx-XXXXXX");
    int file = mkstemp(path);
    assert_true(file >= 0);
    close(file);
    return path;
}

/* Numbers within half a unit of the 16th digit, which is what a workbook holds; all else exactly.
 */
static void same_rows(const TableSet *set, const TableSet *again, TableId table) {
    const TableSchema *schema = table_schema(table);
    Arena arena = {0};
    assert_int_equal(set->any[table].count, again->any[table].count);
    for (size_t i = 0; i < set->any[table].count; i++) {
        for (size_t c = 0; c < schema->column_count; c++) {
            const ColumnSchema *column = &schema->columns[c];
            const char *left = (const char *)table_row(set, table, i) + column->offset;
            const char *right = (const char *)table_row(again, table, i) + column->offset;
            double a = 0.0;
            double b = 0.0;
            bool same = value_equal(column, left, right);
            if (!same && column->kind == COLUMN_REAL) {
                memcpy(&a, left, sizeof a);
                memcpy(&b, right, sizeof b);
                same = fabs(a - b) <= 5e-16 * fabs(a);
            }
            if (!same) {
                fail_msg("%s, row %zu, %s: \"%s\" became \"%s\"", schema->name, i, column->name,
                         value_text(&arena, column, left), value_text(&arena, column, right));
            }
        }
    }
    arena_free(&arena);
}

static void every_table_survives_a_workbook(void **state) {
    (void)state;
    Arena arena = {0};
    TableMaker maker = {.arena = &arena, .random = 11};
    TableSet set = {0};
    TableId tables[TABLE_COUNT];
    Buffer names = {.arena = &arena};
    for (int table = 0; table < TABLE_COUNT; table++) {
        tables[table] = (TableId)table;
        make_rows(&maker, &set, (TableId)table, 25);
        buffer_format(&names, "%s\n", table_schema((TableId)table)->name);
    }
    char path[64];
    temporary(path);
    Status status = table_write_xlsx(path, &set, tables, TABLE_COUNT);
    if (status.failed) {
        fail_msg("%s", status.text);
    }
    assert_string_equal(run_script(&arena, path, "sheets").bytes, names.bytes);
    for (int table = 0; table < TABLE_COUNT; table += 3) {
        const TableSchema *schema = table_schema((TableId)table);
        Buffer saved = run_script(&arena, path, arena_format(&arena, "csv %s", schema->name));
        TableSet again = {0};
        Findings findings = {.arena = &arena};
        table_read_text(&arena, schema->name, (TableId)table, saved.bytes, saved.length, &again,
                        &findings);
        if (findings.count > 0) {
            fail_msg("%s: %s", schema->name, findings.rows[0].message);
        }
        table_set_sort(&again);
        same_rows(&set, &again, (TableId)table);
    }
    unlink(path);
    arena_free(&arena);
}

static void head_is_frozen_filtered_and_typed(void **state) {
    (void)state;
    Arena arena = {0};
    TableSet set = {0};
    TableId tables[] = {TABLE_wire};
    WireRow *wire = table_append(&set, &arena, TABLE_wire);
    wire->part = "W22";
    wire->awg = 22;
    char path[64];
    temporary(path);
    assert_false(table_write_xlsx(path, &set, tables, 1).failed);
    Buffer head = run_script(&arena, path, "head wire");
    const char *start = "frozen above row 3\nfilter A2:";
    assert_memory_equal(head.bytes, start, strlen(start));
    /* part, awg, spec, strands are text; conductor_mm, od_mm measured; cmil ... */
    assert_non_null(strstr(head.bytes, "format @\nformat @\nformat @\nformat @\nformat 0.0##\n"));
    unlink(path);
    arena_free(&arena);
}

static void same_rows_same_bytes(void **state) {
    (void)state;
    Arena arena = {0};
    TableMaker maker = {.arena = &arena, .random = 5};
    TableSet set = {0};
    make_rows(&maker, &set, TABLE_unit, 50);
    TableId tables[] = {TABLE_unit, TABLE_module};
    char first[64];
    char second[64];
    temporary(first);
    temporary(second);
    assert_false(table_write_xlsx(first, &set, tables, 2).failed);
    /* Dates in a zip file count in steps of two seconds. */
    const struct timespec pause = {.tv_sec = 2, .tv_nsec = 100000000};
    nanosleep(&pause, NULL);
    assert_false(table_write_xlsx(second, &set, tables, 2).failed);
    char *left = NULL;
    char *right = NULL;
    size_t left_length = 0;
    size_t right_length = 0;
    assert_false(file_read(&arena, first, &left, &left_length).failed);
    assert_false(file_read(&arena, second, &right, &right_length).failed);
    assert_int_equal(left_length, right_length);
    assert_memory_equal(left, right, left_length);
    unlink(first);
    unlink(second);
    arena_free(&arena);
}

static void what_can_not_be_written_is_a_status(void **state) {
    (void)state;
    TableSet set = {0};
    TableId tables[] = {TABLE_module};
    Status status = table_write_xlsx("/nonexistent/folder/x.xlsx", &set, tables, 1);
    assert_true(status.failed);
    assert_non_null(strstr(status.text, "/nonexistent/folder/x.xlsx"));
    char folder[] = "/tmp/marling-xlsx-XXXXXX"; /* a folder stands where the file should go */
    assert_non_null(mkdtemp(folder));
    assert_true(table_write_xlsx(folder, &set, tables, 1).failed);
    char beside[96];
    snprintf(beside, sizeof beside, "%s.part-%ld", folder, (long)getpid());
    assert_int_not_equal(access(beside, F_OK), 0);
    assert_int_equal(rmdir(folder), 0);
    TableId twice[] = {TABLE_module, TABLE_module}; /* two sheets of one name */
    char path[64];
    temporary(path);
    assert_true(table_write_xlsx(path, &set, twice, 2).failed);
    Arena arena = {0};
    char *text = NULL;
    size_t length = 1;
    assert_false(file_read(&arena, path, &text, &length).failed);
    assert_int_equal(length, 0); /* what was there before is untouched */
    unlink(path);
    arena_free(&arena);
}

static void a_text_longer_than_a_cell_is_cut(void **state) {
    (void)state;
    Arena arena = {0};
    TableSet set = {0};
    TableId tables[] = {TABLE_module};
    ModuleRow *row = table_append(&set, &arena, TABLE_module);
    char *name = arena_take(&arena, 80001, 1);
    for (size_t i = 0; i < 80000; i += 2) {
        memcpy(name + i, "\u00fc", 2);
    }
    row->module = "M";
    row->name = name;
    char path[64];
    temporary(path);
    assert_false(table_write_xlsx(path, &set, tables, 1).failed);
    Buffer saved = run_script(&arena, path, "csv module");
    assert_non_null(strstr(saved.bytes, "\u00fc..."));
    unlink(path);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_table_survives_a_workbook),
        cmocka_unit_test(head_is_frozen_filtered_and_typed),
        cmocka_unit_test(same_rows_same_bytes),
        cmocka_unit_test(what_can_not_be_written_is_a_status),
        cmocka_unit_test(a_text_longer_than_a_cell_is_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
