/* What only shows once every table is read: keys that stand twice, references that lead nowhere. */
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "table/report.h"
#include "table/rows.h"
#include "table/value.h"

/* Names looked at in one table while searching for near ones, so that a table in which every
 * reference is wrong does not take the square of its size. A typical job stays far below. */
#define NEAREST_BUDGET 200000

/* Names of one table's rows, made when the first reference into it is checked. */
typedef struct Target {
    bool ready;
    NameMap rows; /* those that were left out as well */
    const char **names;
    size_t count;
} Target;

typedef struct Checking {
    Arena *arena;  /* of the rows */
    Arena scratch; /* of this call */
    TableSet *set;
    Findings *findings;
    Report *reports; /* one for each file, and for index 0 */
    Target *targets; /* by TableId */
} Checking;

static RowPlace place_of(const char *row) {
    RowPlace place;
    memcpy(&place, row, sizeof place); /* row_at is the first member of every row */
    return place;
}

static Report *report_of(Checking *checking, const char *row, TableId table) {
    uint32_t file = place_of(row).file;
    CHECK(file < checking->set->file_count);
    checking->reports[file].table = table_schema(table)->name;
    return &checking->reports[file];
}

/* --- keys --------------------------------------------------------------------------------------
 */

static void report_twice(Checking *checking, TableId table, const char *first, const char *second) {
    Report *report = report_of(checking, second, table);
    if (!report_room(report)) {
        return;
    }
    const char *key = table_row_key(checking->findings->arena, table, second);
    RowPlace at = place_of(first);
    const char *other_file = at.file == place_of(second).file ? "" : checking->set->files[at.file];
    report_add(report, RULE_READ_DUPLICATE, key, "", place_of(second).line,
               "\"%s\" stands in line %u already%s%s; the first one is used",
               report_excerpt(report, key), at.line, *other_file != '\0' ? " of " : "", other_file);
}

/* Sorted rows: of neighbours with one key the first stays. */
static void drop_duplicates(Checking *checking, TableId table) {
    AnyTable *rows = &checking->set->any[table];
    size_t row_bytes = table_schema(table)->row_bytes;
    char *base = rows->rows;
    size_t kept = rows->count > 0 ? 1 : 0;
    for (size_t i = 1; i < rows->count; i++) {
        const char *last = base + (kept - 1) * row_bytes;
        const char *row = base + i * row_bytes;
        if (table_row_compare(table, last, row) == 0) {
            report_twice(checking, table, last, row);
            continue;
        }
        if (kept != i) {
            memcpy(base + kept * row_bytes, row, row_bytes);
        }
        kept++;
    }
    rows->count = kept;
}

/* --- references --------------------------------------------------------------------------------
 */

static const Target *target_of(Checking *checking, TableId table) {
    Target *target = &checking->targets[table];
    if (target->ready) {
        return target;
    }
    const TableSet *set = checking->set;
    Arena *scratch = &checking->scratch;
    target->ready = true;
    target->names = ARENA_ARRAY(scratch, const char *, set->any[table].count + 1);
    for (size_t i = 0; i < set->any[table].count; i++) {
        const char *key = table_row_key(scratch, table, table_row(set, table, i));
        target->names[target->count++] = key;
        name_map_add(&target->rows, scratch, key, (uint32_t)i);
    }
    for (size_t i = 0; i < set->left_out_count; i++) {
        if (set->left_out[i].table == table) {
            name_map_add(&target->rows, scratch, set->left_out[i].key, (uint32_t)i);
        }
    }
    return target;
}

static void report_dangling(Checking *checking, TableId table, const ColumnSchema *column,
                            const char *row, const char *name, TableId into, size_t *budget) {
    const Target *target = target_of(checking, into);
    Report *report = report_of(checking, row, table);
    if (!report_room(report)) {
        return;
    }
    const char *key = table_row_key(checking->findings->arena, table, row);
    Finding *finding =
        report_add(report, RULE_READ_REFERENCE, key, column->name, place_of(row).line,
                   "table %s has no row \"%s\"", column->extra, report_excerpt(report, name));
    if (target->count <= *budget) {
        *budget -= target->count;
        report_nearest(report, finding, name, target->names, target->count);
    }
}

/* One finding for a whole column when the table it refers to has no rows at all. */
static void report_no_target(Checking *checking, TableId table, const ColumnSchema *column,
                             const char *row, const char *name) {
    Report *report = report_of(checking, row, table);
    if (report_room(report)) {
        Finding *finding = report_add(
            report, RULE_READ_REFERENCE, table_row_key(checking->findings->arena, table, row),
            column->name, place_of(row).line,
            "table %s has no rows, so there is no \"%s\" nor any other name of this column",
            column->extra, report_excerpt(report, name));
        finding->hint =
            arena_format(checking->findings->arena, "is %s.csv missing?", column->extra);
    }
}

static void check_column(Checking *checking, TableId table, const ColumnSchema *column,
                         size_t *budget) {
    const TableSet *set = checking->set;
    TableId into = table_find(column->extra);
    CHECK(into < TABLE_COUNT);
    if (set->partial[into]) {
        return;
    }
    const Target *target = target_of(checking, into);
    for (size_t i = 0; i < set->any[table].count; i++) {
        const char *row = table_row(set, table, i);
        const char *name = "";
        memcpy(&name, row + column->offset, sizeof name);
        if (*name == '\0' || name_map_find(&target->rows, name) != NAME_NONE) {
            continue;
        }
        if (target->rows.count == 0) {
            report_no_target(checking, table, column, row, name);
            return;
        }
        report_dangling(checking, table, column, row, name, into, budget);
    }
}

/* --- exported ----------------------------------------------------------------------------------
 */

void table_check(Arena *arena, TableSet *set, Findings *findings) {
    Checking checking = {.arena = arena, .set = set, .findings = findings};
    if (set->file_count == 0) {
        table_set_file(set, arena, "");
    }
    checking.reports = ARENA_ARRAY(&checking.scratch, Report, set->file_count);
    checking.targets = ARENA_ARRAY(&checking.scratch, Target, TABLE_COUNT);
    for (size_t i = 0; i < set->file_count; i++) {
        checking.reports[i] = (Report){.findings = findings, .file = set->files[i], .table = ""};
    }
    table_set_sort(set);
    for (int table = 0; table < TABLE_COUNT; table++) {
        drop_duplicates(&checking, (TableId)table);
    }
    for (int table = 0; table < TABLE_COUNT; table++) {
        const TableSchema *schema = table_schema((TableId)table);
        size_t budget = NEAREST_BUDGET;
        for (size_t c = 0; c < schema->column_count && set->any[table].count > 0; c++) {
            if (schema->columns[c].kind == COLUMN_REF) {
                check_column(&checking, (TableId)table, &schema->columns[c], &budget);
            }
        }
    }
    for (size_t i = 0; i < set->file_count; i++) {
        report_close(&checking.reports[i]);
    }
    arena_free(&checking.scratch);
}
