/* Files as spreadsheets write them, and every way a file can be wrong: each with the finding that
 * says so, and a case beside it that is right. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>
#include <cmocka.h>

#include "reading.h"
#include "base/file.h"
#include "../../near.h"

/* --- what is taken -----------------------------------------------------------------------------
 */

static void check_two_modules(const Desk *desk) {
    desk_clean(desk);
    assert_int_equal(desk->set.module.count, 2);
    assert_string_equal(desk->set.module.rows[0].module, "M1");
    assert_string_equal(desk->set.module.rows[0].name, "panel, upper");
    assert_string_equal(desk->set.module.rows[1].module, "M2");
    assert_string_equal(desk->set.module.rows[1].name, "wing");
}

static void delimiters_line_ends_marks_and_comments(void **state) {
    (void)state;
    const char *texts[] = {
        "module,name\nM1,\"panel, upper\"\nM2,wing\n",
        "module,name\nM1,\"panel, upper\"\nM2,wing",
        "\xEF\xBB\xBFmodule,name\r\nM1,\"panel, upper\"\r\nM2,wing\r\n",
        "module;name\rM1;panel, upper\rM2;wing\r",
        "module\tname\nM1\tpanel, upper\nM2\twing\n",
        "# a comment, with \"a quote\nmodule,name\nM1,\"panel, upper\"\nM2,wing\n",
        "\"# a comment, over\ntwo lines\",\n\nmodule,name\nM1,\"panel, upper\"\nM2,wing\n",
        "# a comment;;\r\nsep=;\r\nmodule;name\r\nM1;panel, upper\r\nM2;wing\r\n",
        "\n,,\n  name , MODULE \n\"panel, upper\",M1\nwing,M2\n",
        "module,name,\nM1,\"panel, upper\",\n,,\n\nM2,wing,,,,\n,,\n",
        "module,name\n M1 , \"panel, upper\" \nM2\t,\u00a0wing\u00a0\n",
        "\"module\",\"name\"\n\"M1\",\"panel, upper\"\n\"M2\",\"wing\"\n",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        Desk *desk = desk_open();
        desk_read(desk, TABLE_module, texts[i]);
        if (desk->set.module.count != 2) {
            print_message("text %zu\n", i);
        }
        check_two_modules(desk);
        desk_close(desk);
    }
}

static void quoted_breaks_and_doubled_quotes(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module,
              "module,name\nM1,\"a \"\"b\"\"\r\nc\rd\"\nM2,3\" pipe\nM3,\"\"\"\"\n");
    desk_clean(desk);
    assert_string_equal(desk->set.module.rows[0].name, "a \"b\"\nc\nd");
    assert_string_equal(desk->set.module.rows[1].name, "3\" pipe");
    assert_string_equal(desk->set.module.rows[2].name, "\"");
    assert_int_equal(desk->set.module.rows[0].row_at.line, 2);
    assert_int_equal(desk->set.module.rows[1].row_at.line, 5);
    assert_int_equal(desk->set.module.rows[2].row_at.line, 6);
    assert_string_equal(desk->set.files[desk->set.module.rows[0].row_at.file], "job/module.csv");
    desk_close(desk);
}

static void decimal_commas_go_with_semicolons(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_node,
              "node;x_mm;y_mm;z_mm;zone;module\nN1;1,5;-0.25;1e3;Z;M\nN2;1 ft;2,5 m;0;Z;M\n");
    desk_clean(desk);
    assert_near(desk->set.node.rows[0].x_mm, 1.5, 0.0);
    assert_near(desk->set.node.rows[0].y_mm, -0.25, 0.0);
    assert_near(desk->set.node.rows[1].x_mm, 304.8, 0.0);
    assert_near(desk->set.node.rows[1].y_mm, 2500.0, 0.0);
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_node, "node;x_mm;y_mm;z_mm;zone;module\nN1;1.500;0;0;Z;M\n");
    const Finding *finding = desk_only(desk, RULE_READ_VALUE, 2, "x_mm");
    assert_says(finding->message, "1.500");
    assert_says(finding->message, "thousands");
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN1,\"1,5\",0,0,Z,M\n");
    desk_only(desk, RULE_READ_VALUE, 2, "x_mm");
    desk_close(desk);
}

static void open_columns_may_be_left_out_or_blank(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_segment, "segment,node_a,node_b,zone,length_mm\nE1,A,B,Z,\nE2,A,C,Z\n");
    desk_clean(desk);
    assert_int_equal(desk->set.segment.count, 2);
    assert_true(isnan(desk->set.segment.rows[0].length_mm));
    assert_true(isnan(desk->set.segment.rows[1].inner_mm));
    assert_string_equal(desk->set.segment.rows[1].classes, "");
    desk_close(desk);
}

static void a_table_without_rows_is_no_error(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\n");
    desk_clean(desk);
    assert_int_equal(desk->set.module.count, 0);
    assert_false(desk->set.partial[TABLE_module]);
    desk_close(desk);
}

/* --- encoding ----------------------------------------------------------------------------------
 */

static void what_is_no_text_is_said_once(void **state) {
    (void)state;
    const struct {
        const char *bytes;
        size_t length;
        uint32_t line;
        const char *says;
    } cases[] = {
        {"\xFF\xFEm\0o\0d\0", 8, 1, "UTF-16"},
        {"\xFE\xFF\0m\0o\0d", 8, 1, "UTF-16"},
        {"module,name\nM1\0,x\n", 18, 2, "zero bytes"},
        {"\x89PNG\r\n\x1a\n\x80\x81\x82\x83\x84\x85\x86", 15, 1, "0x89"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Desk *desk = desk_open();
        desk_read_bytes(desk, TABLE_module, cases[i].bytes, cases[i].length);
        assert_says(desk_only(desk, RULE_READ_TEXT, cases[i].line, "")->message, cases[i].says);
        assert_int_equal(desk->set.module.count, 0);
        assert_true(desk->set.partial[TABLE_module]);
        desk_close(desk);
    }
}

static void a_few_bad_bytes_do_not_hide_the_rest(void **state) {
    (void)state;
    const char *bad[] = {"\xE4",     "\xC0\x80", "\xED\xA0\x80", "\xF5\x80\x80\x80",
                         "\xE2\x82", "\x01"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        Desk *desk = desk_open();
        desk_read(desk, TABLE_module,
                  arena_format(&desk->arena,
                               "module,name\nM1,a long and well behaved name\nM2,Fl%sgel\n"
                               "M3,a longer name that is well behaved as well\n",
                               bad[i]));
        const Finding *finding = desk_only(desk, RULE_READ_TEXT, 3, "");
        assert_says(finding->message, "UTF-8");
        assert_int_equal(desk->set.module.count, 3);
        desk_close(desk);
    }
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\nM1,Fl\u00fcgel \u03a9 \u2300 \U0001F6E9\n");
    desk_clean(desk);
    assert_string_equal(desk->set.module.rows[0].name, "Fl\u00fcgel \u03a9 \u2300 \U0001F6E9");
    desk_close(desk);
}

/* --- head line ---------------------------------------------------------------------------------
 */

static void an_empty_file_asks_for_its_head_line(void **state) {
    (void)state;
    const char *texts[] = {"", "\n\n", "# only a comment\n", "\xEF\xBB\xBF", ",,,\n"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        Desk *desk = desk_open();
        desk_read(desk, TABLE_module, texts[i]);
        const Finding *finding = desk_only(desk, RULE_READ_TEXT, 1, "");
        assert_says(finding->message, "empty");
        assert_says(finding->hint, "module,name");
        desk_close(desk);
    }
}

static void unknown_missing_and_double_columns(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, "module,name,nmae\nM1,a,b\n");
    const Finding *finding = desk_only(desk, RULE_READ_COLUMN, 1, "nmae");
    assert_says(finding->hint, "\"name\"");
    assert_int_equal(desk->set.module.count, 1);
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_module, "module\nM1\nM2\n");
    finding = desk_only(desk, RULE_READ_COLUMN, 1, "name");
    assert_says(finding->message, "missing");
    assert_int_equal(desk->set.module.count, 0);
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_module, "module,name,Name\nM1,a,b\n");
    finding = desk_only(desk, RULE_READ_COLUMN, 1, "name");
    assert_says(finding->message, "twice");
    assert_string_equal(desk->set.module.rows[0].name, "a");
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_module, "M1,panel\nM2,wing\n");
    finding = desk_only(desk, RULE_READ_COLUMN, 1, "");
    assert_says(finding->hint, "module,name");
    desk_close(desk);
}

static void cells_without_a_column(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\nM1,panel,upper\n");
    const Finding *finding = desk_only(desk, RULE_READ_COLUMN, 2, "");
    assert_says(finding->message, "cell 3");
    assert_string_equal(finding->key, "M1");
    assert_int_equal(desk->set.module.count, 1);
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_module, "module,,name\nM1,,panel\nM2,x,wing\n");
    finding = desk_only(desk, RULE_READ_COLUMN, 3, "");
    assert_says(finding->message, "cell 2");
    desk_close(desk);

    desk = desk_open(); /* far beyond what is kept of a record */
    Buffer text = {.arena = &desk->arena};
    buffer_text(&text, "module,name\nM1,panel");
    for (int i = 0; i < 1000; i++) {
        buffer_text(&text, ",");
    }
    buffer_text(&text, "x\n");
    desk_read(desk, TABLE_module, text.bytes);
    assert_says(desk_only(desk, RULE_READ_COLUMN, 2, "")->message, "cell 1002");
    desk_close(desk);
}

/* --- rows --------------------------------------------------------------------------------------
 */

static void quotes_that_go_wrong(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\nM1,a\nM2,\"b\nM3,c\nM4,d\n");
    const Finding *finding = desk_only(desk, RULE_READ_TEXT, 3, "");
    assert_says(finding->message, "never closed");
    assert_int_equal(desk->set.module.count, 1);
    assert_true(desk->set.partial[TABLE_module]);
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\nM1,\"a\"b\nM2,\"c\" \n");
    finding = desk_only(desk, RULE_READ_TEXT, 2, "");
    assert_says(finding->message, "closing quote");
    assert_int_equal(desk->set.module.count, 2);
    assert_string_equal(desk->set.module.rows[1].name, "c");
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_module, "\"module,name\nM1,a\n");
    desk_only(desk, RULE_READ_TEXT, 1, "");
    desk_close(desk);
}

static void blank_where_a_value_is_needed(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\nM1,\n");
    const Finding *finding = desk_only(desk, RULE_READ_MISSING, 2, "name");
    assert_string_equal(finding->key, "M1");
    assert_int_equal(desk->set.module.count, 0);
    desk_close(desk);

    desk = desk_open();
    desk_read(desk, TABLE_module, "module,name\n,panel\n");
    desk_only(desk, RULE_READ_MISSING, 2, "module");
    assert_int_equal(desk->set.module.count, 0);
    desk_close(desk);
}

static void a_key_may_be_a_number(void **state) {
    (void)state;
    const char *rows[] = {",0.5", "many,0.5", "33,", "33,wide", "33,-20"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Desk *desk = desk_open();
        desk_read(desk, TABLE_bundle_factor,
                  arena_format(&desk->arena, "wires,load_pct,factor,source,status\n%s,1,s,memory\n",
                               rows[i]));
        assert_int_equal(desk->findings.count, 1);
        assert_int_equal(desk->findings.rows[0].line, 2);
        assert_int_equal(desk->set.bundle_factor.count, 0);
        assert_true(desk->set.partial[TABLE_bundle_factor]);
        desk_close(desk);
    }
}

static void values_that_can_not_be_taken(void **state) {
    (void)state;
    const struct {
        const char *row;
        RuleId rule;
        const char *column;
        const char *says;
        const char *hint;
        bool kept;
    } cases[] = {
        {"E1,A,B,Z,,long,", RULE_COUNT, "", "", "", true},
        {"E1,A,B,Z,5 kg,,", RULE_READ_VALUE, "length_mm", "a bare number is in mm", "", true},
        {"E1,A,B,Z,abc,,", RULE_READ_VALUE, "length_mm", "3 ft 2 in", "", true},
        {"E1,A,B,Z,-5,,", RULE_READ_RANGE, "length_mm", "below nought", "", true},
        {"E1,A,B,Z,0,,", RULE_COUNT, "", "", "", true},
        {"E1,A,B,Z,2e9,,", RULE_READ_RANGE, "length_mm", "beyond", "", true},
        {"E1,A,B,Z,3-Apr,,", RULE_READ_DATE, "length_mm", "3-4 or 4-3", "as text", true},
        {"3-Apr,A,B,Z,,,", RULE_READ_DATE, "segment", "3-4 or 4-3", "as text", false},
        {"E1,2026-04-03,B,Z,,,", RULE_READ_DATE, "node_a", "3-4 or 4-3", "as text", false},
        {"E1,A,Apr-22,Z,,,", RULE_READ_DATE, "node_b", "4-22", "as text", false},
        {"E1,A,B,03.04.2026,,,", RULE_READ_DATE, "zone", "3-4 or 4-3", "as text", false},
        {"E1,A,B,Z,,3/4/2026,", RULE_READ_DATE, "way", "3-4 or 4-3", "as text", true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        Desk *desk = desk_open();
        desk_read(desk, TABLE_segment,
                  arena_format(&desk->arena,
                               "segment,node_a,node_b,zone,length_mm,way,inner_mm\n%s\n",
                               cases[i].row));
        if (cases[i].rule == RULE_COUNT) {
            desk_clean(desk);
        } else {
            const Finding *finding = desk_only(desk, cases[i].rule, 2, cases[i].column);
            assert_says(finding->message, cases[i].says);
            assert_says(finding->hint, cases[i].hint);
            assert_string_equal(finding->table, "segment");
            assert_string_equal(finding->file, "job/segment.csv");
        }
        assert_int_equal(desk->set.segment.count, cases[i].kept ? 1 : 0);
        if (cases[i].kept && cases[i].rule != RULE_COUNT) { /* a refused value is a blank one */
            const SegmentRow *row = &desk->set.segment.rows[0];
            assert_true(isnan(row->length_mm) && *row->way == '\0');
        }
        desk_close(desk);
    }
}

static void words_and_flags_name_what_would_do(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_zone,
              "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture,pressurised\n"
              "Z1,nose,70,-40,-100,dmap,no\nZ2,tail,70,-40,3000,dry,perhaps\n");
    assert_int_equal(desk->findings.count, 2);
    assert_says(desk->findings.rows[0].message, "one of: dry, damp, wet");
    assert_says(desk->findings.rows[0].hint, "damp");
    assert_says(desk->findings.rows[1].message, "yes or no");
    assert_int_equal(desk->set.zone.count, 1); /* moisture is needed, pressurised is not */
    desk_close(desk);
}

static void results_may_be_negative(void **state) {
    (void)state;
    Desk *desk = desk_open();
    desk_read(desk, TABLE_device_current, "device,phase,amps_a,state\nD,P,-3.5,closed\n");
    desk_clean(desk);
    assert_near(desk->set.device_current.rows[0].amps_a, -3.5, 0.0);
    desk_close(desk);
}

static void a_flood_is_counted_not_listed(void **state) {
    (void)state;
    Desk *desk = desk_open();
    Buffer text = {.arena = &desk->arena};
    buffer_text(&text, "module,name\n");
    for (int i = 0; i < 50; i++) {
        buffer_format(&text, "M%d,\n", i);
    }
    desk_read(desk, TABLE_module, text.bytes);
    assert_int_equal(desk->findings.count, 50); /* just as many as are listed */
    desk_close(desk);

    desk = desk_open();
    text = (Buffer){.arena = &desk->arena};
    buffer_text(&text, "module,name\n");
    for (int i = 0; i < 1000; i++) {
        buffer_format(&text, "M%d,\n", i);
    }
    desk_read(desk, TABLE_module, text.bytes);
    assert_int_equal(desk->findings.count, FINDINGS_PER_FILE_MAX + 1);
    const Finding *last = &desk->findings.rows[FINDINGS_PER_FILE_MAX];
    assert_string_equal(rule_name(last->rule), "read.many");
    assert_says(last->message, "950 more");
    desk_close(desk);
}

static uint64_t next_random(uint64_t *state) {
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return *state >> 33;
}

static void unknown_columns_without_end(void **state) {
    (void)state;
    Desk *desk = desk_open();
    Buffer text = {.arena = &desk->arena};
    buffer_text(&text, "module,name");
    for (int i = 0; i < 200; i++) {
        buffer_format(&text, ",x%d", i);
    }
    buffer_text(&text, "\nM1,panel\n");
    desk_read(desk, TABLE_module, text.bytes);
    assert_int_equal(desk->findings.count, FINDINGS_PER_FILE_MAX + 1);
    assert_int_equal(desk->set.module.count, 1);
    desk_close(desk);
}

static void more_rows_than_are_read(void **state) {
    (void)state;
    static const char row[] = "A,B\n";
    static const char head[] = "module,name\n";
    size_t length = sizeof head - 1 + (sizeof row - 1) * (TABLE_ROWS_MAX + 1);
    char *text = malloc(length);
    assert_non_null(text);
    memcpy(text, head, sizeof head - 1);
    for (size_t i = sizeof head - 1; i < length; i += sizeof row - 1) {
        memcpy(text + i, row, sizeof row - 1);
    }
    Desk *desk = desk_open();
    desk_read_bytes(desk, TABLE_module, text, length - (sizeof row - 1));
    desk_clean(desk);
    assert_int_equal(desk->set.module.count, TABLE_ROWS_MAX);
    desk_close(desk);
    desk = desk_open();
    desk_read_bytes(desk, TABLE_module, text, length);
    desk_only(desk, RULE_READ_RANGE, TABLE_ROWS_MAX + 2, "");
    assert_int_equal(desk->set.module.count, TABLE_ROWS_MAX);
    assert_true(desk->set.partial[TABLE_module]);
    desk_close(desk);
    free(text);
}

/* Ten megabytes of anything end in a few findings; a reader that took the square of the size would
 * not end within the time a test has. */
static void ten_megabytes_of_noise(void **state) {
    (void)state;
    const char *alphabets[] = {
        NULL, /* any byte */
        "\"", "\"\n", ",", "\n", "\",\n", "abc,\"\n;\t#", "a\"\"\n,", "1-Apr,\n", "module,name\n\"",
    };
    enum { LENGTH = 10000000 };
    char *noise = malloc(LENGTH);
    assert_non_null(noise);
    for (size_t i = 0; i < sizeof alphabets / sizeof *alphabets; i++) {
        uint64_t random = 1 + i;
        const char *head = i == 0 ? "" : "module,name\n";
        size_t start = strlen(head);
        memcpy(noise, head, start);
        size_t letters = alphabets[i] == NULL ? 0 : strlen(alphabets[i]);
        for (size_t k = start; k < LENGTH; k++) {
            uint64_t r = next_random(&random);
            noise[k] = letters == 0 ? (char)(r & 255u) : alphabets[i][r % letters];
        }
        Desk *desk = desk_open();
        desk_read_bytes(desk, TABLE_module, noise, LENGTH);
        table_check(&desk->arena, &desk->set, &desk->findings);
        assert_true(desk->findings.count <= 2 * (FINDINGS_PER_FILE_MAX + 1));
        desk_close(desk);
    }
    free(noise);
}

/* --- folders -----------------------------------------------------------------------------------
 */

static void put_file(Desk *desk, const char *folder, const char *name, const char *text) {
    Status status =
        file_write(arena_format(&desk->arena, "%s/%s", folder, name), text, strlen(text));
    assert_false(status.failed);
}

static char *make_folder(char path[64]) {
    snprintf(path, 64, "/tmp/marling-test-XXXXXX");
    char *made = mkdtemp(path);
    assert_non_null(made);
    return made;
}

static void remove_folder(const char *folder) {
    Arena arena = {0};
    char **names = NULL;
    size_t count = 0;
    Status status = file_list(&arena, folder, "", &names, &count);
    assert_false(status.failed);
    for (size_t i = 0; i < count; i++) {
        const char *path = arena_format(&arena, "%s/%s", folder, names[i]);
        if (unlink(path) != 0) {
            rmdir(path);
        }
    }
    unlink(arena_format(&arena, "%s/.hidden.csv", folder));
    assert_int_equal(rmdir(folder), 0);
    arena_free(&arena);
}

static void read_folder(Desk *desk, const char *folder, TableGroup group) {
    Status status = table_read_folder(&desk->arena, folder, group, &desk->set, &desk->findings);
    assert_false(status.failed);
}

static void a_folder_is_read_whole(void **state) {
    (void)state;
    char path[64];
    char *folder = make_folder(path);
    Desk *desk = desk_open();
    put_file(desk, folder, "module.csv", "module,name\nM1,panel\n");
    put_file(desk, folder, "Zone.CSV",
             "zone;name;ambient_max_degc;ambient_min_degc;altitude_max_m;moisture\n"
             "Z;nose;70;-40;3000;dry\n");
    put_file(desk, folder, "~$module.csv", "lock");
    put_file(desk, folder, ".hidden.csv", "hidden");
    put_file(desk, folder, "notes.txt", "notes");
    read_folder(desk, folder, GROUP_JOB);
    desk_clean(desk);
    assert_int_equal(desk->set.module.count, 1);
    assert_int_equal(desk->set.zone.count, 1);
    const char *file = desk->set.files[desk->set.module.rows[0].row_at.file];
    assert_string_equal(file, arena_format(&desk->arena, "%s/module.csv", folder));
    desk_close(desk);
    remove_folder(folder);
}

static void files_that_are_no_tables_here(void **state) {
    (void)state;
    char path[64];
    char *folder = make_folder(path);
    Desk *desk = desk_open();
    put_file(desk, folder, "unti.csv", "tag\n");
    read_folder(desk, folder, GROUP_JOB);
    assert_says(desk_only(desk, RULE_READ_TABLE, 0, "")->hint, "\"unit\"");
    desk_close(desk);

    desk = desk_open();
    assert_int_equal(unlink(arena_format(&desk->arena, "%s/unti.csv", folder)), 0);
    put_file(desk, folder, "conductor.csv", "wire\n");
    read_folder(desk, folder, GROUP_JOB);
    assert_says(desk_only(desk, RULE_READ_TABLE, 0, "")->message, "result table");
    desk_close(desk);

    desk = desk_open();
    assert_int_equal(unlink(arena_format(&desk->arena, "%s/conductor.csv", folder)), 0);
    assert_int_equal(mkdir(arena_format(&desk->arena, "%s/module.csv", folder), 0777), 0);
    read_folder(desk, folder, GROUP_JOB);
    assert_says(desk_only(desk, RULE_READ_FILE, 0, "")->file, "module.csv");
    assert_true(desk->set.partial[TABLE_module]);
    desk_close(desk);
    remove_folder(folder);
}

static void a_file_that_may_not_be_read(void **state) {
    (void)state;
    char path[64];
    char *folder = make_folder(path);
    Desk *desk = desk_open();
    const char *aim = arena_format(&desk->arena, "%s/nowhere", folder);
    assert_int_equal(symlink(aim, arena_format(&desk->arena, "%s/zone.csv", folder)), 0);
    read_folder(desk, folder, GROUP_JOB);
    assert_says(desk_only(desk, RULE_READ_FILE, 0, "")->message, "No such file");
    desk_close(desk);
    remove_folder(folder);
}

static void a_folder_that_is_not_there(void **state) {
    (void)state;
    Desk *desk = desk_open();
    Status status =
        table_read_folder(&desk->arena, "/nonexistent/job", GROUP_JOB, &desk->set, &desk->findings);
    assert_true(status.failed);
    assert_says(status.text, "/nonexistent/job");
    desk_close(desk);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(delimiters_line_ends_marks_and_comments),
        cmocka_unit_test(quoted_breaks_and_doubled_quotes),
        cmocka_unit_test(decimal_commas_go_with_semicolons),
        cmocka_unit_test(open_columns_may_be_left_out_or_blank),
        cmocka_unit_test(a_table_without_rows_is_no_error),
        cmocka_unit_test(what_is_no_text_is_said_once),
        cmocka_unit_test(a_few_bad_bytes_do_not_hide_the_rest),
        cmocka_unit_test(an_empty_file_asks_for_its_head_line),
        cmocka_unit_test(unknown_missing_and_double_columns),
        cmocka_unit_test(cells_without_a_column),
        cmocka_unit_test(quotes_that_go_wrong),
        cmocka_unit_test(blank_where_a_value_is_needed),
        cmocka_unit_test(a_key_may_be_a_number),
        cmocka_unit_test(values_that_can_not_be_taken),
        cmocka_unit_test(words_and_flags_name_what_would_do),
        cmocka_unit_test(results_may_be_negative),
        cmocka_unit_test(a_flood_is_counted_not_listed),
        cmocka_unit_test(unknown_columns_without_end),
        cmocka_unit_test(more_rows_than_are_read),
        cmocka_unit_test(ten_megabytes_of_noise),
        cmocka_unit_test(a_folder_is_read_whole),
        cmocka_unit_test(files_that_are_no_tables_here),
        cmocka_unit_test(a_file_that_may_not_be_read),
        cmocka_unit_test(a_folder_that_is_not_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
