/* The one list of every table: what a workshop writes (JOB), what it keeps for all jobs (LIBRARY)
 * and what the passes give (RESULT). From this list come the row structs, the CSV reader and
 * writer, JSON, the spreadsheet, aligned text, the difference between two jobs and docs/tables.md.
 * Adding a column is one line here.
 *
 * T(group, table, RowType, meaning); columns in tables_*.h: C(kind, column, flag, extra, meaning)
 *   kind  TEXT  any text                         const char *, "" when blank
 *         REF   key of a row of table `extra`    const char *, "" when blank
 *         LIST  words separated by blanks        const char *, "" when blank
 *         WORD  one of `extra` ("a|b|c")         const char *, "" when blank
 *         REAL  number, unit by column ending    double, NAN when blank
 *         INT   whole number                     int32_t, INT_BLANK when blank
 *         AWG   wire gauge: 22, 1/0, 2/0         int32_t (1/0 is 0, 2/0 is -1), INT_BLANK
 *         FLAG  yes or no                        int32_t 1 or 0, INT_BLANK when blank
 *   flag  KEY   part of the row's key (never blank), NEED never blank, OPEN may be blank
 * Units by ending: _mm _m _a _v _ohm _mohm _ohm_per_km _kg _kg_per_km _degc _pct _s _min _ah _mhz
 * _db_per_m _db _ft _rpm _day _n _w _uf _deg _ut; conversions are made on reading
 * (table/value.h). */
#ifndef TABLE_SCHEMA_H
#define TABLE_SCHEMA_H

#include <stdint.h>

#include "table/tables_job.h"
#include "table/tables_library.h"
#include "table/tables_result.h"

#define TABLE_LIST(T) JOB_TABLES(T) LIBRARY_TABLES(T) RESULT_TABLES(T)

#define INT_BLANK INT32_MIN

typedef enum TableGroup { GROUP_JOB, GROUP_LIBRARY, GROUP_RESULT } TableGroup;

typedef enum ColumnKind {
    COLUMN_TEXT,
    COLUMN_REF,
    COLUMN_LIST,
    COLUMN_WORD,
    COLUMN_REAL,
    COLUMN_INT,
    COLUMN_AWG,
    COLUMN_FLAG
} ColumnKind;

typedef enum ColumnFlag { FLAG_OPEN, FLAG_NEED, FLAG_KEY } ColumnFlag;

typedef enum TableId {
#define TABLE_ID(group, table, Type, meaning) TABLE_##table,
    TABLE_LIST(TABLE_ID)
#undef TABLE_ID
        TABLE_COUNT
} TableId;

/* Where a row was read: index into TableSet.files, and its first line there (0: not from a file).
 */
typedef struct RowPlace {
    uint32_t file;
    uint32_t line;
} RowPlace;

#define FIELD_TEXT(column) const char *column;
#define FIELD_REF(column) const char *column;
#define FIELD_LIST(column) const char *column;
#define FIELD_WORD(column) const char *column;
#define FIELD_REAL(column) double column;
#define FIELD_INT(column) int32_t column;
#define FIELD_AWG(column) int32_t column;
#define FIELD_FLAG(column) int32_t column;
#define ROW_FIELD(kind, column, flag, extra, meaning) FIELD_##kind(column)
#define ROW_STRUCT(group, table, Type, meaning)                                                    \
    typedef struct Type {                                                                          \
        RowPlace row_at;                                                                           \
        COLUMNS_##table(ROW_FIELD)                                                                 \
    } Type;
TABLE_LIST(ROW_STRUCT)
#undef ROW_STRUCT
#undef ROW_FIELD

#endif
