/* Whatever rows a table holds: written and read they are the same rows, and written again the same
 * bytes; also by way of the other styles of CSV that spreadsheets write, and with the rows and the
 * columns in any order. Seeds are printed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <stdlib.h>
#include <cmocka.h>

#include "../support/table_make.h"
#include "table/write.h"

enum { ROUNDS = 12, ROWS = 60 };

typedef struct Style {
    const char *name;
    const char *before; /* the head line */
    char delimiter;
    bool decimal_comma;
    const char *line_end;
    bool quote_all;
    bool shuffled; /* rows and columns */
} Style;

static const Style STYLES[] = {
    {"semicolons", "\xEF\xBB\xBF", ';', true, "\r\n", false, false},
    {"semicolons, all quoted", "", ';', true, "\n", true, false},
    {"tabs", "# a comment\n", '\t', false, "\r", false, false},
    {"commas, shuffled", "", ',', false, "\r\n", false, true},
    {"semicolons, shuffled", "sep=;\r\n", ';', true, "\r\n", true, true},
};

static void put_cell(Buffer *out, const Style *style, const char *text) {
    bool quoted =
        style->quote_all || strchr(text, style->delimiter) != NULL || strpbrk(text, "\"\n") != NULL;
    if (!quoted) {
        buffer_text(out, text);
        return;
    }
    buffer_text(out, "\"");
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\n') {
            buffer_text(out, style->line_end);
        } else {
            buffer_add(out, c, 1);
            buffer_add(out, c, *c == '"' ? 1 : 0);
        }
    }
    buffer_text(out, "\"");
}

static void shuffle(TableMaker *maker, size_t *order, size_t count, bool really) {
    for (size_t i = 0; i < count; i++) {
        order[i] = i;
    }
    for (size_t i = count; really && i > 1; i--) {
        size_t other = make_below(maker, i);
        size_t kept = order[i - 1];
        order[i - 1] = order[other];
        order[other] = kept;
    }
}

/* As some other program would write the table. */
static void write_style(TableMaker *maker, Buffer *out, const Style *style, const TableSet *set,
                        TableId table) {
    const TableSchema *schema = table_schema(table);
    size_t rows = set->any[table].count;
    size_t *row_order = ARENA_ARRAY(maker->arena, size_t, rows + 1);
    size_t *column_order = ARENA_ARRAY(maker->arena, size_t, schema->column_count);
    shuffle(maker, row_order, rows, style->shuffled);
    shuffle(maker, column_order, schema->column_count, style->shuffled);
    buffer_text(out, style->before);
    for (size_t i = 0; i <= rows; i++) {
        for (size_t c = 0; c < schema->column_count; c++) {
            const ColumnSchema *column = &schema->columns[column_order[c]];
            if (c > 0) {
                buffer_add(out, &style->delimiter, 1);
            }
            if (i == 0) {
                put_cell(out, style, column->name);
                continue;
            }
            const char *row = table_row(set, table, row_order[i - 1]);
            const char *text = value_text(maker->arena, column, row + column->offset);
            char *copy = arena_text(maker->arena, text, strlen(text));
            char *point = strchr(copy, '.');
            if (column->kind == COLUMN_REAL && style->decimal_comma && point != NULL) {
                *point = ',';
            }
            put_cell(out, style, copy);
        }
        buffer_text(out, style->line_end);
    }
}

static void read_back(Arena *arena, TableSet *again, TableId table, const Buffer *text,
                      const char *what, uint64_t seed) {
    Findings findings = {.arena = arena};
    table_read_text(arena, "again.csv", table, text->bytes, text->length, again, &findings);
    if (findings.count > 0) {
        fail_msg("%s, %s, seed %llu: line %u, %s: %s", table_schema(table)->name, what,
                 (unsigned long long)seed, findings.rows[0].line, findings.rows[0].column,
                 findings.rows[0].message);
    }
    table_set_sort(again);
}

static void same_rows(const TableSet *set, const TableSet *again, TableId table, const char *what,
                      uint64_t seed) {
    const TableSchema *schema = table_schema(table);
    Arena arena = {0};
    assert_int_equal(set->any[table].count, again->any[table].count);
    for (size_t i = 0; i < set->any[table].count; i++) {
        for (size_t c = 0; c < schema->column_count; c++) {
            const ColumnSchema *column = &schema->columns[c];
            const char *left = (const char *)table_row(set, table, i) + column->offset;
            const char *right = (const char *)table_row(again, table, i) + column->offset;
            if (!value_equal(column, left, right)) {
                fail_msg("%s, %s, seed %llu, row %zu, %s: \"%s\" became \"%s\"", schema->name, what,
                         (unsigned long long)seed, i, column->name,
                         value_text(&arena, column, left), value_text(&arena, column, right));
            }
        }
    }
    arena_free(&arena);
}

static void check_table(TableId table, uint64_t seed) {
    Arena arena = {0};
    TableMaker maker = {.arena = &arena, .random = seed};
    TableSet set = {0};
    make_rows(&maker, &set, table, ROWS);
    assert_true(set.any[table].count > 0);

    Buffer first = {.arena = &arena};
    Buffer second = {.arena = &arena};
    TableSet again = {0};
    table_write_csv(&first, &set, table);
    read_back(&arena, &again, table, &first, "canonical", seed);
    same_rows(&set, &again, table, "canonical", seed);
    table_write_csv(&second, &again, table);
    assert_int_equal(first.length, second.length);
    assert_memory_equal(first.bytes, second.bytes, first.length);

    for (size_t i = 0; i < sizeof STYLES / sizeof *STYLES; i++) {
        Buffer styled = {.arena = &arena};
        TableSet other = {0};
        write_style(&maker, &styled, &STYLES[i], &set, table);
        read_back(&arena, &other, table, &styled, STYLES[i].name, seed);
        same_rows(&set, &other, table, STYLES[i].name, seed);
    }
    arena_free(&arena);
}

static void written_and_read_is_the_same(void **state) {
    (void)state;
    for (uint64_t round = 0; round < ROUNDS; round++) {
        for (int table = 0; table < TABLE_COUNT; table++) {
            check_table((TableId)table, round * 1000 + (uint64_t)table + 1);
        }
    }
    print_message("seeds 1 to %d\n", (ROUNDS - 1) * 1000 + TABLE_COUNT);
}

/* Doubles of every size, as limits without a unit. */
static void every_number_reads_back_exactly(void **state) {
    (void)state;
    enum { COUNT = 200000 };
    Arena arena = {0};
    TableMaker maker = {.arena = &arena, .random = 7};
    const TableSchema *schema = table_schema(TABLE_limit);
    const ColumnSchema *column = &schema->columns[1];
    assert_string_equal(column->name, "value");
    for (int i = 0; i < COUNT; i++) {
        uint64_t bits = make_random(&maker) << 16 ^ make_random(&maker);
        double value = 0.0;
        double back = 0.0;
        const char *expected = NULL;
        memcpy(&value, &bits, sizeof value);
        if (!(fabs(value) <= 1e9)) {
            value = ldexp((double)(bits >> 11), -24);
        }
        Arena scratch = {0};
        const char *text = value_text(&scratch, column, &value);
        ValueFault fault = value_parse(&scratch, column, text, false, &back, &expected);
        if (fault != VALUE_OK || back != value) {
            fail_msg("%.17g became \"%s\", then %.17g", value, text, back);
        }
        arena_free(&scratch);
    }
    print_message("%d numbers, seed 7\n", COUNT);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(written_and_read_is_the_same),
        cmocka_unit_test(every_number_reads_back_exactly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
