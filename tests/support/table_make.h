/* Random rows of any table, valid by the schema: texts with everything a cell may hold, numbers of
 * every size. For tests that write and read again. */
#ifndef TESTS_TABLE_MAKE_H
#define TESTS_TABLE_MAKE_H

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"
#include "table/date.h"
#include "table/rows.h"
#include "table/value.h"

typedef struct TableMaker {
    Arena *arena;
    uint64_t random;
} TableMaker;

static inline uint64_t make_random(TableMaker *maker) {
    maker->random = maker->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    uint64_t mixed = maker->random ^ (maker->random >> 29);
    return mixed * UINT64_C(0x9E3779B97F4A7C15) >> 16;
}

static inline uint64_t make_below(TableMaker *maker, uint64_t limit) {
    return make_random(maker) % limit;
}

static inline const char *make_text(TableMaker *maker, bool list) {
    static const char *const bits[] = {"A",  "b",  "W1",     "09", "-",      ".",  "x",
                                       "\"", ",",  ";",      "'",  "\u00fc", "|",  "#",
                                       " ",  "\n", "\u03a9", "=",  "\\",     "\t", "\U0001F6E9"};
    for (;;) {
        Buffer out = {.arena = maker->arena};
        size_t count = 1 + make_below(maker, 12);
        for (size_t i = 0; i < count; i++) {
            const char *bit = bits[make_below(maker, sizeof bits / sizeof *bits)];
            bool blank = strchr(" \n\t", *bit) != NULL;
            bool edge = i == 0 || i + 1 == count || strchr(" \n\t", out.bytes[out.length - 1]);
            if (blank && (edge || (list && *bit != ' '))) {
                bit = "y";
            }
            buffer_text(&out, bit);
        }
        DateParts date;
        if (!date_recognise(out.bytes, &date)) {
            return out.bytes;
        }
    }
}

static inline double make_real(TableMaker *maker, const TableSchema *schema,
                               const ColumnSchema *column) {
    double value = 0.0;
    switch (make_below(maker, 5)) {
    case 0:
        value = (double)make_below(maker, 5000);
        break;
    case 1:
        value = (double)make_below(maker, 1000000) / 1000.0;
        break;
    case 2:
        value = (double)make_below(maker, 1u << 30) / 3.0;
        break;
    case 3:
        value = ldexp((double)make_below(maker, UINT64_C(1) << 48), -(int)make_below(maker, 300));
        value = value > 1e9 ? 1e9 : value;
        break;
    default:
        value = (double)make_below(maker, 100000) / 100.0;
    }
    bool divides = strcmp(column->name, "nominal_v") == 0 || strcmp(column->name, "rated_a") == 0 ||
                   strcmp(column->name, "regulated_v") == 0;
    value = divides && value == 0.0 ? 1.0 : value; /* the reader refuses nought there */
    bool signed_here = schema->group == GROUP_RESULT || strcmp(column->name, "x_mm") == 0 ||
                       strstr(column->name, "_degc") != NULL || *value_unit(column) == '\0';
    return signed_here && make_below(maker, 2) == 0 ? -value : value;
}

static inline const char *make_word(TableMaker *maker, const char *words) {
    size_t count = 1;
    for (const char *c = words; *c != '\0'; c++) {
        count += *c == '|';
    }
    for (uint64_t skip = make_below(maker, count); skip > 0; skip--) {
        words = strchr(words, '|') + 1;
    }
    return arena_text(maker->arena, words, strcspn(words, "|"));
}

static inline void make_field(TableMaker *maker, const TableSchema *schema,
                              const ColumnSchema *column, char *field) {
    const char *text = NULL;
    double real = 0.0;
    int32_t whole = 0;
    if (column->flag == FLAG_OPEN && make_below(maker, 3) == 0) {
        return; /* stays blank */
    }
    switch (column->kind) {
    case COLUMN_TEXT:
        if (strcmp(column->name, "date") == 0) {
            text = arena_format(maker->arena, "20%02d-%02d-%02d", (int)make_below(maker, 100),
                                1 + (int)make_below(maker, 12), 1 + (int)make_below(maker, 28));
            break;
        }
        text = make_text(maker, false);
        break;
    case COLUMN_REF:
        text = make_text(maker, false);
        break;
    case COLUMN_LIST:
        text = make_text(maker, true);
        break;
    case COLUMN_WORD:
        text = make_word(maker, column->extra);
        break;
    case COLUMN_REAL:
        real = make_real(maker, schema, column);
        memcpy(field, &real, sizeof real);
        return;
    case COLUMN_INT:
        whole = (int32_t)make_below(maker, make_below(maker, 2) == 0 ? 20 : 1000000000);
        break;
    case COLUMN_AWG:
        whole = (int32_t)make_below(maker, UNITS_AWG_THINNEST - UNITS_AWG_THICKEST + 1) +
                UNITS_AWG_THICKEST;
        break;
    case COLUMN_FLAG:
        whole = (int32_t)make_below(maker, 2);
        break;
    }
    if (text != NULL) {
        memcpy(field, &text, sizeof text);
    } else {
        memcpy(field, &whole, sizeof whole);
    }
}

/* Appends rows, sorts, and keeps one of each key. */
static inline void make_rows(TableMaker *maker, TableSet *set, TableId table, size_t count) {
    const TableSchema *schema = table_schema(table);
    for (size_t i = 0; i < count; i++) {
        char *row = table_append(set, maker->arena, table);
        for (size_t c = 0; c < schema->column_count; c++) {
            make_field(maker, schema, &schema->columns[c], row + schema->columns[c].offset);
        }
    }
    table_set_sort(set);
    AnyTable *rows = &set->any[table];
    size_t kept = 0;
    for (size_t i = 0; i < rows->count; i++) {
        const char *row = table_row(set, table, i);
        if (kept == 0 || table_row_compare(table, table_row(set, table, kept - 1), row) != 0) {
            memmove(table_row(set, table, kept), row, schema->row_bytes);
            kept++;
        }
    }
    rows->count = kept;
}

#endif
