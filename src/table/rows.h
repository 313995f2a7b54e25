/* Rows of any table, and the set of all of them. A pass reads typed rows (`set->unit.rows[i].tag`);
 * code that serves every table (reading, writing, comparing) walks the column list with
 * `table_schema()` and the offsets in it. */
#ifndef TABLE_ROWS_H
#define TABLE_ROWS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/findings.h"
#include "base/status.h"
#include "table/schema.h"

typedef struct ColumnSchema {
    const char *name;
    ColumnKind kind;
    ColumnFlag flag;
    const char *extra;   /* REF: table; WORD: the words, separated by | */
    const char *meaning; /* one line for docs */
    size_t offset;       /* of the field in the row struct */
} ColumnSchema;

typedef struct TableSchema {
    const char *name;
    TableGroup group;
    const char *meaning;
    const ColumnSchema *columns;
    size_t column_count;
    size_t row_bytes;
} TableSchema;

typedef struct AnyTable {
    void *rows;
    size_t count;
    size_t capacity;
} AnyTable;

/* Findings listed for one file by one step (reading, checking); the rest is counted. */
#define FINDINGS_PER_FILE_MAX 50

/* Most rows that are read from one file. */
#define TABLE_ROWS_MAX 4000000

/* A row that was left out because of its own error: a reference to it is no second error. */
typedef struct LeftOutRow {
    TableId table;
    const char *key;
} LeftOutRow;

/* All tables; those that were not read are empty. Rows are in the order of table_row_compare once
 * table_set_sort ran. */
typedef struct TableSet {
    union {
        AnyTable any[TABLE_COUNT];
        struct {
#define TABLE_MEMBER(group, table, Type, meaning)                                                  \
    struct {                                                                                       \
        Type *rows;                                                                                \
        size_t count;                                                                              \
        size_t capacity;                                                                           \
    } table;
            TABLE_LIST(TABLE_MEMBER)
#undef TABLE_MEMBER
        };
    };
    const char **files; /* paths that rows were read from; files[0] is "" */
    size_t file_count;
    size_t file_capacity;
    LeftOutRow *left_out;
    size_t left_out_count;
    size_t left_out_capacity;
    bool partial[TABLE_COUNT]; /* rows may be missing: the file broke off or could not be read */
} TableSet;

const TableSchema *table_schema(TableId table);

/* The table of that name, TABLE_COUNT when there is none. */
TableId table_find(const char *name);

/* The i-th row as bytes; its columns are at ColumnSchema.offset. */
void *table_row(const TableSet *set, TableId table, size_t index);

/* Appends a zeroed row in which every REAL is NAN, every INT, AWG and FLAG is INT_BLANK and every
 * text is "". The pointer is good until the next append to that table. */
void *table_append(TableSet *set, Arena *arena, TableId table);

/* Order of two rows by their key columns, one after the other: texts by text_compare_keys, numbers
 * by value, blanks first. 0 when the keys are equal. */
int table_row_compare(TableId table, const void *left, const void *right);

/* Sorts every table by its key; rows with equal keys keep their order. */
void table_set_sort(TableSet *set);

/* Number of key columns of a table. */
size_t table_key_columns(TableId table);

/* Key of a row as one text: its key columns joined by " " (a one-column key is the value
 * itself). */
const char *table_row_key(Arena *arena, TableId table, const void *row);

/* Adds a path to set->files and returns its index. The path is not copied. */
uint32_t table_set_file(TableSet *set, Arena *arena, const char *path);

/* Reads every *.csv in `folder` whose table belongs to `group` into `set` (files of other groups in
 * the same folder are a finding; hidden files and lock files "~$..." are passed over). Findings:
 * everything that can't be taken, all in one go, with file and line; at most FINDINGS_PER_FILE_MAX
 * a file, then one that says how many more. Rows with an unreadable key or a missing needed value
 * are left out; the rest is kept, so that later checks can still run. Returns a failed status only
 * when the folder itself can't be opened. */
STATUS_USE Status table_read_folder(Arena *arena, const char *folder, TableGroup group,
                                    TableSet *set, Findings *findings);

/* One table from `length` bytes of CSV (not changed). `path` is only for findings; not copied. */
void table_read_text(Arena *arena, const char *path, TableId table, const char *text, size_t length,
                     TableSet *set, Findings *findings);

/* After all folders are read: keys unique, references found in `set` (nearest name as a hint).
 * Sorts the set; of rows with one key the first in the file stays. References into a table that is
 * `partial`, or to a left-out row, are not judged: their cause has its own finding. */
void table_check(Arena *arena, TableSet *set, Findings *findings);

#endif
