/* Tables out: CSV, JSON, spreadsheet, aligned text; the reference page; the difference between two
 * sets. All from the schema; the same rows give the same bytes. */
#ifndef TABLE_WRITE_H
#define TABLE_WRITE_H

#include "base/arena.h"
#include "base/status.h"
#include "base/text.h"
#include "table/rows.h"

/* Canonical CSV: UTF-8 without mark, comma, LF, header line, schema column order, rows as they
 * stand, quotes only where needed. Reading it back gives the same rows. */
void table_write_csv(Buffer *out, const TableSet *set, TableId table);

/* One cell of such a file, quoted only where needed. */
void table_write_cell(Buffer *out, const char *text);

/* A JSON array of objects, one row a line; blank values are null, flags true or false, gauges
 * strings ("2/0"). */
void table_write_json(Buffer *out, const TableSet *set, TableId table);

/* Columns aligned for a terminal or paper, numbers to the right with four digits (the whole part
 * is never cut), blank columns left out. */
void table_write_text(Buffer *out, const TableSet *set, TableId table);

/* One workbook with a sheet for each of `tables` (each once): a comment line, the column names
 * (with their units) as a frozen head with a filter, widths that fit. A sheet saved as CSV can be
 * read again; its numbers have 16 digits, which is what the library writes. Written beside and
 * renamed. The same rows give the same bytes. */
STATUS_USE Status table_write_xlsx(const char *path, const TableSet *set, const TableId *tables,
                                   size_t count);

/* docs/tables.md: every table of the schema with columns, kinds, units, meaning. */
void table_write_docs(Buffer *out);

/* One line of a difference. */
typedef struct TableChange {
    TableId table;
    const char *key;
    const char *column; /* "" when the whole row came or went */
    const char *before; /* NULL: the row is new; "" in the other when a whole row came or went */
    const char *after;  /* NULL: the row is gone */
} TableChange;

/* Rows and values that differ in the tables of `group`, by key, in table and key order. Both sets
 * sorted. Returns the changes in the arena and their number. */
TableChange *table_compare(Arena *arena, const TableSet *before, const TableSet *after,
                           TableGroup group, size_t *count);

#endif
