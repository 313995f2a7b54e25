/* Tables out: CSV and text as they look, JSON as another parser reads it, the page of tables
 * against the one that is kept, differences. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <stdlib.h>
#include <cmocka.h>
#include <jansson.h>

#include "reading.h"
#include "../../support/table_make.h"
#include "base/file.h"
#include "table/write.h"
#include "../../near.h"

static const char SEGMENTS[] = "segment,node_a,node_b,zone,length_mm,way,inner_mm,classes\n"
                               "E1,A,B,Z,950.25,\"conduit, \"\"new\"\"\",20.5,P S\n"
                               "E2,A,C,Z,,\"two\nlines\",,\n"
                               "E10,C,D\u00fc,Z,12345.678,,,\n";

static void csv_is_canonical(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_segment,
              "classes;zone;node_b;node_a;segment;length_mm;way;inner_mm\r\n"
              "P  S;Z;B;A;E1;0,95025 m;\"conduit, \"\"new\"\"\";2,05 cm\r\n"
              ";Z;D\u00fc;C;E10;12345,678;;\r\n"
              ";Z;C;A;E2;;\"two\r\nlines\"\r\n");
    table_set_sort(&desk->set);
    desk_clean(desk);
    Buffer out = {.arena = &desk->arena};
    table_write_csv(&out, &desk->set, TABLE_segment);
    assert_string_equal(out.bytes, SEGMENTS);
    out = (Buffer){.arena = &desk->arena};
    table_write_csv(&out, &desk->set, TABLE_module);
    assert_string_equal(out.bytes, "module,name\n");
    desk_close(desk);
}

static void text_is_aligned(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_segment, SEGMENTS);
    desk_clean(desk);
    Buffer out = {.arena = &desk->arena};
    table_write_text(&out, &desk->set, TABLE_segment);
    assert_string_equal(
        out.bytes, "segment  node_a  node_b  zone  length_mm  way             inner_mm  classes\n"
                   "E1       A       B       Z         950.2  conduit, \"new\"      20.5  P S\n"
                   "E2       A       C       Z                two lines\n"
                   "E10      C       D\u00fc      Z         12346\n");
    out = (Buffer){.arena = &desk->arena};
    desk->set.segment.count = 1;
    desk->set.segment.rows[0].way = "";
    table_write_text(&out, &desk->set, TABLE_segment);
    assert_string_equal(out.bytes, "segment  node_a  node_b  zone  length_mm  inner_mm  classes\n"
                                   "E1       A       B       Z         950.2      20.5  P S\n");
    out = (Buffer){.arena = &desk->arena};
    table_write_text(&out, &desk->set, TABLE_module);
    assert_string_equal(out.bytes, "module  name\n");
    desk_close(desk);
}

static void check_json_field(const ColumnSchema *column, const char *field, const json_t *value) {
    Arena arena = {0};
    const char *text = value_text(&arena, column, field);
    double real = 0.0;
    int32_t whole = 0;
    if (*text == '\0') {
        assert_true(json_is_null(value));
    } else if (column->kind == COLUMN_REAL) {
        memcpy(&real, field, sizeof real);
        assert_true(json_number_value(value) == real);
    } else if (column->kind == COLUMN_INT) {
        memcpy(&whole, field, sizeof whole);
        assert_true(json_is_integer(value));
        assert_int_equal(json_integer_value(value), whole);
    } else if (column->kind == COLUMN_FLAG) {
        memcpy(&whole, field, sizeof whole);
        assert_true(json_is_boolean(value));
        assert_int_equal(json_is_true(value), whole);
    } else {
        assert_string_equal(json_string_value(value), text);
    }
    arena_free(&arena);
}

static void json_reads_back_in_another_parser(void **state) {
    (void)state;
    for (int table = 0; table < TABLE_COUNT; table++) {
        const TableSchema *schema = table_schema((TableId)table);
        Arena arena = {0};
        TableMaker maker = {.arena = &arena, .random = (uint64_t)table + 1};
        TableSet set = {0};
        make_rows(&maker, &set, (TableId)table, 30);
        Buffer out = {.arena = &arena};
        table_write_json(&out, &set, (TableId)table);
        json_error_t error;
        json_t *list = json_loadb(out.bytes, out.length, JSON_REJECT_DUPLICATES, &error);
        if (list == NULL) {
            fail_msg("%s, line %d: %s", schema->name, error.line, error.text);
        }
        assert_int_equal(json_array_size(list), set.any[table].count);
        for (size_t i = 0; i < set.any[table].count; i++) {
            const char *row = table_row(&set, (TableId)table, i);
            const json_t *object = json_array_get(list, i);
            assert_int_equal(json_object_size(object), schema->column_count);
            for (size_t c = 0; c < schema->column_count; c++) {
                const ColumnSchema *column = &schema->columns[c];
                check_json_field(column, row + column->offset,
                                 json_object_get(object, column->name));
            }
        }
        json_decref(list);
        arena_free(&arena);
    }
}

static void json_is_valid_whatever_a_file_is_called(void **state) {
    (void)state;
    Desk *desk = desk_open();
    FindingRow *row = table_append(&desk->set, &desk->arena, TABLE_finding);
    row->number = 1;
    row->file = "job/\xFF\x01\".csv";
    Buffer out = {.arena = &desk->arena};
    table_write_json(&out, &desk->set, TABLE_finding);
    json_t *list = json_loadb(out.bytes, out.length, 0, NULL);
    assert_non_null(list);
    assert_string_equal(json_string_value(json_object_get(json_array_get(list, 0), "file")),
                        "job/??\".csv");
    json_decref(list);
    desk_close(desk);
}

static void json_of_an_empty_table(void **state) {
    (void)state;
    Desk *desk = desk_open();
    Buffer out = {.arena = &desk->arena};
    table_write_json(&out, &desk->set, TABLE_module);
    assert_string_equal(out.bytes, "[\n]\n");
    desk_close(desk);
}

static void the_page_of_tables_is_up_to_date(void **state) {
    (void)state;
    Arena arena = {0};
    Buffer out = {.arena = &arena};
    char *kept = NULL;
    size_t length = 0;
    Status status = file_read(&arena, MARLING_SOURCE_DIR "/docs/tables.md", &kept, &length);
    assert_false(status.failed);
    table_write_docs(&out);
    if (strcmp(out.bytes, kept) != 0) {
        fail_msg("docs/tables.md is not what the schema gives; HACKING.md says how to rewrite it");
    }
    assert_int_equal(out.length, length);
    arena_free(&arena);
}

static void differences_by_key(void **state) {
    (void)state;
    Desk *before = desk_open();
    Desk *after = desk_open();
    desk_read(before, TABLE_module, "module,name\nM1,panel\nM2,wing\nM10,tail\n");
    desk_read(after, TABLE_module, "module,name\nM10,tail\nM3,float\nM1,panel left\n");
    desk_read(before, TABLE_segment, "segment,node_a,node_b,zone,length_mm\nE1,A,B,Z,\n");
    desk_read(after, TABLE_segment, "segment,node_a,node_b,zone,length_mm\nE1,A,B,Z,1 m\n");
    table_set_sort(&before->set);
    table_set_sort(&after->set);
    size_t count = 0;
    TableChange *changes =
        table_compare(&before->arena, &before->set, &after->set, GROUP_JOB, &count);
    const struct {
        TableId table;
        const char *key;
        const char *column;
        const char *before;
        const char *after;
    } expected[] = {
        {TABLE_module, "M1", "name", "panel", "panel left"},
        {TABLE_module, "M2", "", "", NULL},
        {TABLE_module, "M3", "", NULL, ""},
        {TABLE_segment, "E1", "length_mm", "", "1000"},
    };
    assert_int_equal(count, sizeof expected / sizeof *expected);
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(changes[i].table, expected[i].table);
        assert_string_equal(changes[i].key, expected[i].key);
        assert_string_equal(changes[i].column, expected[i].column);
        assert_int_equal(changes[i].before == NULL, expected[i].before == NULL);
        assert_int_equal(changes[i].after == NULL, expected[i].after == NULL);
        if (changes[i].before != NULL && changes[i].after != NULL) {
            assert_string_equal(changes[i].before, expected[i].before);
            assert_string_equal(changes[i].after, expected[i].after);
        }
    }
    table_compare(&before->arena, &before->set, &before->set, GROUP_JOB, &count);
    assert_int_equal(count, 0);
    table_compare(&before->arena, &before->set, &after->set, GROUP_LIBRARY, &count);
    assert_int_equal(count, 0);
    desk_close(before);
    desk_close(after);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(csv_is_canonical),
        cmocka_unit_test(text_is_aligned),
        cmocka_unit_test(json_reads_back_in_another_parser),
        cmocka_unit_test(json_is_valid_whatever_a_file_is_called),
        cmocka_unit_test(json_of_an_empty_table),
        cmocka_unit_test(the_page_of_tables_is_up_to_date),
        cmocka_unit_test(differences_by_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
