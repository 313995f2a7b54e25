#include "table/rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "table/value.h"

/* Sorting: every key becomes a string of bytes whose plain order (memcmp) is the order of
 * table_row_compare, so that a comparison is a few instructions however many key columns there are;
 * pairs (key bytes, row number) are sorted, then the rows are moved once. */

typedef struct SortItem {
    uint64_t head; /* the first eight bytes of the key, big end first */
    const unsigned char *key;
    uint32_t key_bytes;
    uint32_t index;
} SortItem;

typedef struct KeyWriter {
    unsigned char *bytes;
    size_t length;
} KeyWriter;

static bool is_text(ColumnKind kind) {
    return kind == COLUMN_TEXT || kind == COLUMN_REF || kind == COLUMN_LIST || kind == COLUMN_WORD;
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static double number_of(const ColumnSchema *column, const void *field) {
    if (column->kind == COLUMN_REAL) {
        double value = 0.0;
        memcpy(&value, field, sizeof value);
        return value == 0.0 ? 0.0 : value; /* one nought, not two */
    }
    int32_t whole = 0;
    memcpy(&whole, field, sizeof whole);
    return whole == INT_BLANK ? (double)NAN : (double)whole;
}

static const char *text_of(const void *field) {
    const char *text = NULL;
    memcpy(&text, field, sizeof text);
    return text;
}

/* --- keys as bytes -----------------------------------------------------------------------------
 */

static void put_byte(KeyWriter *writer, unsigned byte) {
    writer->bytes[writer->length++] = (unsigned char)byte;
}

/* Room that put_text may need: a run of one digit takes three bytes, longer ones less for each
 * digit; then two marks, the text again and its end. */
static size_t text_room(const char *text) {
    return strlen(text) * 4 + 3;
}

/* A run of digits as a mark in the place of digits, its length without leading noughts, its
 * digits. */
static const char *put_digit_run(KeyWriter *writer, const char *at) {
    while (*at == '0' && is_digit(at[1])) {
        at++;
    }
    size_t length = 0;
    while (is_digit(at[length])) {
        length++;
    }
    put_byte(writer, '0');
    if (length < 255) {
        put_byte(writer, (unsigned)length);
    } else {
        put_byte(writer, 255);
        for (int shift = 24; shift >= 0; shift -= 8) {
            put_byte(writer, (unsigned)(length >> shift) & 255u);
        }
    }
    memcpy(writer->bytes + writer->length, at, length);
    writer->length += length;
    return at + length;
}

/* As text_compare_keys orders: digit runs by value, other bytes as they are, an end mark. Texts
 * that are then equal differ at most in leading noughts and go by their bytes: one without any run
 * that starts with a nought is the last of them (mark 255), the others follow their own bytes
 * (mark 1). */
static void put_text(KeyWriter *writer, const char *text) {
    bool nought_first = false;
    const char *at = text;
    while (*at != '\0') {
        if (is_digit(*at)) {
            nought_first = nought_first || *at == '0';
            at = put_digit_run(writer, at);
        } else {
            put_byte(writer, (unsigned char)*at++);
        }
    }
    put_byte(writer, 0);
    put_byte(writer, nought_first ? 1 : 255);
    if (nought_first) {
        size_t length = strlen(text) + 1;
        memcpy(writer->bytes + writer->length, text, length);
        writer->length += length;
    }
}

/* Eight bytes in the order of the numbers; all zero for a blank. */
static void put_number(KeyWriter *writer, double value) {
    uint64_t bits = 0;
    if (!isnan(value)) {
        memcpy(&bits, &value, sizeof bits);
        bits = (bits >> 63) != 0 ? ~bits : bits | (UINT64_C(1) << 63);
    }
    for (int shift = 56; shift >= 0; shift -= 8) {
        put_byte(writer, (unsigned)(bits >> shift) & 255u);
    }
}

static SortItem make_item(Arena *scratch, const TableSchema *schema, const char *row,
                          uint32_t index) {
    size_t room = 0;
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (column->flag == FLAG_KEY) {
            room += is_text(column->kind) ? text_room(text_of(row + column->offset)) : 8;
        }
    }
    unsigned char small[512];
    KeyWriter writer = {.bytes = room <= sizeof small ? small : arena_take(scratch, room, 1)};
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        const char *field = row + column->offset;
        if (column->flag == FLAG_KEY && is_text(column->kind)) {
            put_text(&writer, text_of(field));
        } else if (column->flag == FLAG_KEY) {
            put_number(&writer, number_of(column, field));
        }
    }
    SortItem item = {.index = index, .key_bytes = (uint32_t)writer.length};
    for (size_t i = 0; i < 8; i++) {
        item.head = item.head << 8 | (i < writer.length ? writer.bytes[i] : 0u);
    }
    item.key = writer.bytes;
    if (writer.bytes == small) {
        unsigned char *kept = arena_take(scratch, writer.length + 1, 1);
        // cppcheck-suppress uninitvar; the writer filled `length` bytes of it
        memcpy(kept, small, writer.length);
        item.key = kept;
    }
    return item;
}

static int compare_items(const void *left, const void *right) {
    const SortItem *a = left;
    const SortItem *b = right;
    if (a->head != b->head) {
        return a->head < b->head ? -1 : 1;
    }
    size_t shorter = a->key_bytes < b->key_bytes ? a->key_bytes : b->key_bytes;
    int order = memcmp(a->key, b->key, shorter);
    if (order == 0 && a->key_bytes != b->key_bytes) {
        order = a->key_bytes < b->key_bytes ? -1 : 1;
    }
    if (order == 0 && a->index != b->index) {
        order = a->index < b->index ? -1 : 1;
    }
    return order;
}

static void sort_table(Arena *scratch, TableId table, AnyTable *rows) {
    const TableSchema *schema = table_schema(table);
    SortItem *items = ARENA_ARRAY(scratch, SortItem, rows->count);
    bool sorted = true;
    for (size_t i = 0; i < rows->count; i++) {
        const char *row = (const char *)rows->rows + i * schema->row_bytes;
        items[i] = make_item(scratch, schema, row, (uint32_t)i);
        sorted = sorted && (i == 0 || compare_items(&items[i - 1], &items[i]) < 0);
    }
    if (sorted) {
        return;
    }
    qsort(items, rows->count, sizeof *items, compare_items);
    char *moved = arena_take(scratch, rows->count, schema->row_bytes);
    for (size_t i = 0; i < rows->count; i++) {
        memcpy(moved + i * schema->row_bytes,
               (const char *)rows->rows + items[i].index * schema->row_bytes, schema->row_bytes);
    }
    memcpy(rows->rows, moved, rows->count * schema->row_bytes);
}

static void set_blank(const ColumnSchema *column, char *row) {
    if (is_text(column->kind)) {
        const char *empty = "";
        memcpy(row + column->offset, &empty, sizeof empty);
    } else if (column->kind == COLUMN_REAL) {
        double blank = (double)NAN;
        memcpy(row + column->offset, &blank, sizeof blank);
    } else {
        int32_t blank = INT_BLANK;
        memcpy(row + column->offset, &blank, sizeof blank);
    }
}

/* --- exported ----------------------------------------------------------------------------------
 */

const TableSchema *table_schema(TableId table) {
    switch (table) {
#define SCHEMA_COLUMN(kind, column, flag, extra, meaning)                                          \
    {#column, COLUMN_##kind, FLAG_##flag, extra, meaning, offsetof(Row, column)},
#define SCHEMA_TABLE(group, table, Type, meaning)                                                  \
    case TABLE_##table: {                                                                          \
        typedef Type Row;                                                                          \
        static const ColumnSchema columns[] = {COLUMNS_##table(SCHEMA_COLUMN)};                    \
        static const TableSchema schema = {#table,                                                 \
                                           GROUP_##group,                                          \
                                           meaning,                                                \
                                           columns,                                                \
                                           sizeof columns / sizeof *columns,                       \
                                           sizeof(Row)};                                           \
        return &schema;                                                                            \
    }
        TABLE_LIST(SCHEMA_TABLE)
#undef SCHEMA_TABLE
#undef SCHEMA_COLUMN
    case TABLE_COUNT:
        break;
    }
    check_fail(__FILE__, __LINE__, "no such table");
}

TableId table_find(const char *name) {
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (strcmp(table_schema((TableId)table)->name, name) == 0) {
            return (TableId)table;
        }
    }
    return TABLE_COUNT;
}

void *table_row(const TableSet *set, TableId table, size_t index) {
    CHECK(table < TABLE_COUNT && index < set->any[table].count);
    return (char *)set->any[table].rows + index * table_schema(table)->row_bytes;
}

uint32_t table_set_file(TableSet *set, Arena *arena, const char *path) {
    if (set->file_count == 0) {
        *ARENA_PUSH(arena, set->files, set->file_count, set->file_capacity) = "";
    }
    if (path[0] == '\0') {
        return 0;
    }
    *ARENA_PUSH(arena, set->files, set->file_count, set->file_capacity) = path;
    return (uint32_t)(set->file_count - 1);
}

void *table_append(TableSet *set, Arena *arena, TableId table) {
    const TableSchema *schema = table_schema(table);
    AnyTable *rows = &set->any[table];
    if (set->file_count == 0) {
        table_set_file(set, arena, "");
    }
    if (rows->count == rows->capacity) {
        rows->rows = arena_grow(arena, rows->rows, rows->count, schema->row_bytes, rows->count + 1,
                                &rows->capacity);
    }
    char *row = (char *)rows->rows + rows->count++ * schema->row_bytes;
    memset(row, 0, schema->row_bytes);
    for (size_t c = 0; c < schema->column_count; c++) {
        set_blank(&schema->columns[c], row);
    }
    return row;
}

int table_row_compare(TableId table, const void *left, const void *right) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (column->flag != FLAG_KEY) {
            continue;
        }
        const char *left_field = (const char *)left + column->offset;
        const char *right_field = (const char *)right + column->offset;
        if (is_text(column->kind)) {
            int order = text_compare_keys(text_of(left_field), text_of(right_field));
            if (order != 0) {
                return order;
            }
            continue;
        }
        double a = number_of(column, left_field);
        double b = number_of(column, right_field);
        if (isnan(a) || isnan(b)) {
            if (isnan(a) != isnan(b)) {
                return isnan(a) ? -1 : 1;
            }
        } else if (a < b || a > b) {
            return a < b ? -1 : 1;
        }
    }
    return 0;
}

void table_set_sort(TableSet *set) {
    for (int table = 0; table < TABLE_COUNT; table++) {
        if (set->any[table].count > 1) {
            Arena scratch = {0};
            sort_table(&scratch, (TableId)table, &set->any[table]);
            arena_free(&scratch);
        }
    }
}

size_t table_key_columns(TableId table) {
    const TableSchema *schema = table_schema(table);
    size_t count = 0;
    for (size_t c = 0; c < schema->column_count; c++) {
        count += schema->columns[c].flag == FLAG_KEY;
    }
    return count;
}

const char *table_row_key(Arena *arena, TableId table, const void *row) {
    const TableSchema *schema = table_schema(table);
    const char *key = NULL;
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (column->flag == FLAG_KEY) {
            const char *part = value_text(arena, column, (const char *)row + column->offset);
            key = key == NULL ? part : arena_format(arena, "%s %s", key, part);
        }
    }
    return key == NULL ? "" : key;
}
