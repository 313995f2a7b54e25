/* From files to rows: encoding, delimiter, head line, then row by row. A cell that can't be taken
 * is a finding and never stops the reading; what makes the rest of a file unreadable marks the
 * table as partial, so that references into it are not reported as well. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/check.h"
#include "base/file.h"
#include "base/text.h"
#include "table/csv.h"
#include "table/date.h"
#include "table/report.h"
#include "table/rows.h"
#include "table/utf8.h"
#include "table/value.h"

enum {
    COLUMNS_MAX = 64,      /* more than any table has; checked */
    HEAD_CELLS_MAX = 256,  /* cells of a record that are kept */
    BAD_BYTES_OF_TEXT = 16 /* one bad byte in so many: no text at all */
};

typedef struct Reading {
    Arena *arena;  /* of the rows */
    Arena scratch; /* of this call */
    TableSet *set;
    TableId table;
    const TableSchema *schema;
    Report report;
    uint32_t file;
    Csv csv;
    CsvRecord record;
    bool decimal_comma;
    int cell_of[COLUMNS_MAX]; /* which cell holds a column, -1: none */
    size_t head_cells;        /* cells of the head line up to the last that is not blank */
    bool lacks_column;        /* a needed one: no row can be whole */
} Reading;

static bool is_text(ColumnKind kind) {
    return kind == COLUMN_TEXT || kind == COLUMN_REF || kind == COLUMN_LIST || kind == COLUMN_WORD;
}

/* --- encoding ----------------------------------------------------------------------------------
 */

/* True when the bytes are text that can be read on. Steps over a byte-order mark. */
static bool check_encoding(Reading *reading, char **text, size_t *length) {
    const unsigned char *bytes = (const unsigned char *)*text;
    if (*length >= 2 &&
        ((bytes[0] == 0xFF && bytes[1] == 0xFE) || (bytes[0] == 0xFE && bytes[1] == 0xFF))) {
        report_add(&reading->report, RULE_READ_TEXT, "", "", 1,
                   "the file is UTF-16, not UTF-8: save it again as CSV UTF-8");
        return false;
    }
    if (*length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
        *text += 3;
        *length -= 3;
    }
    Utf8Report found = utf8_clean(*text, *length);
    if (found.nul_count > 0) {
        report_add(&reading->report, RULE_READ_TEXT, "", "", found.nul_line,
                   "the file holds %zu zero bytes: it is no text file, or text in UTF-16; save it "
                   "as CSV UTF-8",
                   found.nul_count);
        return false;
    }
    if (found.bad_count > 0) {
        bool text_at_all = found.bad_count <= *length / BAD_BYTES_OF_TEXT + 1;
        report_add(&reading->report, RULE_READ_TEXT, "", "", found.bad_line,
                   "%zu bytes are not UTF-8 text, the first is 0x%02X in this line: %s",
                   found.bad_count, found.bad_byte,
                   text_at_all ? "save the file again as CSV UTF-8" : "this is no table of text");
        return text_at_all;
    }
    return true;
}

/* --- head line ---------------------------------------------------------------------------------
 */

static void expected_head(const TableSchema *schema, char *text, size_t room) {
    size_t used = 0;
    text[0] = '\0';
    for (size_t c = 0; c < schema->column_count && used + 1 < room; c++) {
        int length =
            snprintf(text + used, room - used, "%s%s", c == 0 ? "" : ",", schema->columns[c].name);
        used += length > 0 ? (size_t)length : 0;
    }
}

static void report_empty(Reading *reading) {
    char head[512];
    expected_head(reading->schema, head, sizeof head);
    Finding *finding = report_add(&reading->report, RULE_READ_TEXT, "", "", 1,
                                  "the file is empty: a head line with the column names is needed");
    finding->hint = arena_format(reading->report.findings->arena, "head line: %s", head);
}

/* Index of the column of that name in any case, -1 when there is none. */
static int find_column(const TableSchema *schema, const char *name) {
    for (size_t c = 0; c < schema->column_count; c++) {
        if (strcasecmp(schema->columns[c].name, name) == 0) {
            return (int)c;
        }
    }
    return -1;
}

/* Comment lines, blank lines and a line "sep=;" may stand above the head. A spreadsheet may have
 * quoted a comment or filled its line with delimiters. */
static void skip_preamble(Reading *reading, char *given_delimiter) {
    Csv *csv = &reading->csv;
    while (csv->at < csv->end) {
        const char *at = csv->at;
        while (at < csv->end && (*at == ' ' || *at == ',' || *at == ';' || *at == '\t')) {
            at++;
        }
        size_t left = (size_t)(csv->end - csv->at);
        if (at == csv->end || *at == '\n' || *at == '\r' || *csv->at == '#') {
            csv_skip_line(csv);
        } else if (left >= 2 && csv->at[0] == '"' && csv->at[1] == '#') {
            csv_next(csv, &reading->record);
        } else if (left >= 5 && strncasecmp(csv->at, "sep=", 4) == 0) {
            *given_delimiter = csv->at[4];
            csv_skip_line(csv);
        } else {
            return;
        }
    }
}

/* The delimiter that occurs most often in the head line; the first of equals. */
static char detect_delimiter(const Csv *csv) {
    const char candidates[] = {',', ';', '\t'};
    char best = ',';
    size_t most = 0;
    for (size_t i = 0; i < sizeof candidates; i++) {
        size_t count = csv_count_delimiters(csv, candidates[i]);
        if (count > most) {
            most = count;
            best = candidates[i];
        }
    }
    return best;
}

static void report_unknown_column(Reading *reading, const char *name, size_t cell) {
    if (!report_room(&reading->report)) {
        return;
    }
    const TableSchema *schema = reading->schema;
    const char *names[COLUMNS_MAX];
    for (size_t c = 0; c < schema->column_count; c++) {
        names[c] = schema->columns[c].name;
    }
    const char *shown = report_excerpt(&reading->report, name);
    Finding *finding = report_add(
        &reading->report, RULE_READ_COLUMN, "", shown, reading->record.line,
        "table %s has no column \"%s\" (cell %zu of the head line)", schema->name, shown, cell + 1);
    report_nearest(&reading->report, finding, name, names, schema->column_count);
}

/* Finds the cell of every column; true when rows can be read. */
static bool read_head(Reading *reading) {
    const TableSchema *schema = reading->schema;
    CsvRecord *record = &reading->record;
    size_t known = 0;
    size_t kept = record->count < record->room ? record->count : record->room;
    for (size_t c = 0; c < schema->column_count; c++) {
        reading->cell_of[c] = -1;
    }
    for (size_t i = 0; i < kept; i++) {
        int column = find_column(schema, record->cells[i]);
        known += column >= 0;
        reading->head_cells = *record->cells[i] != '\0' ? i + 1 : reading->head_cells;
    }
    if (known == 0) {
        char head[512];
        expected_head(schema, head, sizeof head);
        Finding *finding =
            report_add(&reading->report, RULE_READ_COLUMN, "", "", record->line,
                       "the head line \"%s\" names no column of table %s",
                       report_excerpt(&reading->report, record->cells[0]), schema->name);
        finding->hint = arena_format(reading->report.findings->arena, "head line: %s", head);
        return false;
    }
    for (size_t i = 0; i < reading->head_cells; i++) {
        const char *name = record->cells[i];
        int column = find_column(schema, name);
        if (*name == '\0') {
            continue; /* a nameless column is a finding only if it holds something */
        }
        if (column < 0) {
            report_unknown_column(reading, name, i);
        } else if (reading->cell_of[column] >= 0) {
            if (report_room(&reading->report)) {
                report_add(&reading->report, RULE_READ_COLUMN, "", schema->columns[column].name,
                           record->line,
                           "column \"%s\" stands twice, as cells %d and %zu of the "
                           "head line; the first is read",
                           schema->columns[column].name, reading->cell_of[column] + 1, i + 1);
            }
        } else {
            reading->cell_of[column] = (int)i;
        }
    }
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        if (column->flag != FLAG_OPEN && reading->cell_of[c] < 0) {
            reading->lacks_column = true;
            if (report_room(&reading->report)) {
                report_add(&reading->report, RULE_READ_COLUMN, "", column->name, record->line,
                           "the needed column \"%s\" (%s) is missing", column->name,
                           column->meaning);
            }
        }
    }
    return true;
}

/* --- rows --------------------------------------------------------------------------------------
 */

/* Numbers that may lie below nought: places, temperatures, heights, factors without a unit. All
 * other lengths, currents, masses, times of an input are nought or more. */
static bool may_be_negative(const ColumnSchema *column) {
    static const char *const places[] = {"x_mm",        "y_mm",           "z_mm",
                                         "altitude_ft", "altitude_max_m", "u_mm",
                                         "v_mm",        "tilt_deg",       "value_mm"};
    static const char *const endings[] = {"_x_mm", "_y_mm", "_z_mm", "_u_mm", "_v_mm"};
    if (column->kind == COLUMN_INT) {
        return false;
    }
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        if (strcmp(column->name, places[i]) == 0) {
            return true;
        }
    }
    size_t length = strlen(column->name);
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        size_t ending = strlen(endings[i]);
        if (length > ending && strcmp(column->name + length - ending, endings[i]) == 0) {
            return true;
        }
    }
    const char *unit = value_unit(column);
    return *unit == '\0' || strcmp(unit, "degC") == 0;
}

/* Numbers by which others are divided: nought can't be. */
static bool must_be_positive(const TableSchema *schema, const ColumnSchema *column) {
    static const struct {
        TableId table;
        const char *column;
    } numbers[] = {{TABLE_job, "nominal_v"},          {TABLE_alternator, "rated_a"},
                   {TABLE_alternator, "regulated_v"}, {TABLE_switch_factor, "nominal_v"},
                   {TABLE_drop_limit, "nominal_v"},   {TABLE_sensor, "horizontal_ut"}};
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        if (schema == table_schema(numbers[i].table) &&
            strcmp(column->name, numbers[i].column) == 0) {
            return true;
        }
    }
    return false;
}

static bool is_nought(const ColumnSchema *column, const char *field) {
    double value = 1.0;
    if (column->kind == COLUMN_REAL) {
        memcpy(&value, field, sizeof value);
    }
    return value == 0.0;
}

static bool is_negative(const ColumnSchema *column, const char *field) {
    if (column->kind == COLUMN_REAL) {
        double value = 0.0;
        memcpy(&value, field, sizeof value);
        return value < 0.0;
    }
    int32_t whole = 0;
    memcpy(&whole, field, sizeof whole);
    return column->kind == COLUMN_INT && whole < 0 && whole != INT_BLANK;
}

/* Key of the row as far as it is read; "" when a part is missing. Only for findings. */
static const char *key_so_far(Reading *reading, const char *row) {
    const char *key = table_row_key(reading->report.findings->arena, reading->table, row);
    return report_excerpt(&reading->report, key);
}

static void hint_at_word(Reading *reading, Finding *finding, const char *cell, const char *words) {
    const char *names[32];
    size_t count = 0;
    Arena *arena = reading->report.findings->arena;
    for (const char *word = words; *word != '\0' && count < sizeof names / sizeof *names;) {
        size_t size = strcspn(word, "|");
        names[count++] = arena_text(arena, word, size);
        word += size + (word[size] == '|');
    }
    report_nearest(&reading->report, finding, cell, names, count);
}

static void report_date(Reading *reading, const char *row, const ColumnSchema *column,
                        const char *cell) {
    DateParts parts = {0};
    Arena *arena = reading->report.findings->arena;
    const char *guess = date_recognise(cell, &parts) ? date_guess(arena, parts) : "";
    Finding *finding =
        report_add(&reading->report, RULE_READ_DATE, key_so_far(reading, row), column->name,
                   reading->record.line,
                   "\"%s\" is a date, and column %s holds none: a spreadsheet has changed what was "
                   "typed, which may have been %s",
                   cell, column->name, guess);
    finding->hint =
        arena_format(arena, "format the column as text, then type it again (perhaps %s)", guess);
}

static void report_value(Reading *reading, const char *row, const ColumnSchema *column,
                         const char *cell, ValueFault fault, const char *expected) {
    if (!report_room(&reading->report)) {
        return;
    }
    if (fault == VALUE_LOOKS_LIKE_DATE) {
        report_date(reading, row, column, cell);
        return;
    }
    const char *unit = value_unit(column);
    char wanted[512];
    if (fault == VALUE_NOT_A_WORD) {
        size_t used = (size_t)snprintf(wanted, sizeof wanted, "one of: ");
        for (const char *c = expected; *c != '\0' && used + 3 < sizeof wanted; c++) {
            bool bar = *c == '|';
            wanted[used++] = bar ? ',' : *c;
            if (bar) {
                wanted[used++] = ' ';
            }
        }
        wanted[used] = '\0';
    } else {
        snprintf(wanted, sizeof wanted, "%s%s%s", expected,
                 *unit != '\0' ? "; a bare number is in " : "", unit);
    }
    const char *what = fault == VALUE_WRONG_UNIT     ? "has no unit that fits here"
                       : fault == VALUE_OUT_OF_RANGE ? "is beyond what is possible"
                       : fault == VALUE_NOT_WHOLE    ? "is not a whole number"
                                                     : "can't be understood";
    Finding *finding = report_add(
        &reading->report, fault == VALUE_OUT_OF_RANGE ? RULE_READ_RANGE : RULE_READ_VALUE,
        key_so_far(reading, row), column->name, reading->record.line, "\"%s\" %s; expected %s",
        report_excerpt(&reading->report, cell), what, wanted);
    if (fault == VALUE_NOT_A_WORD) {
        hint_at_word(reading, finding, cell, expected);
    }
}

/* Fills one field; false when the row can't be kept for it. */
static bool read_field(Reading *reading, char *row, size_t c) {
    const ColumnSchema *column = &reading->schema->columns[c];
    const CsvRecord *record = &reading->record;
    char *field = row + column->offset;
    int index = reading->cell_of[c];
    bool there = index >= 0 && (size_t)index < record->count;
    const char *cell = there ? record->cells[index] : "";
    bool needed = column->flag != FLAG_OPEN;
    if (*cell == '\0') {
        if (needed && index >= 0 && report_room(&reading->report)) {
            report_add(&reading->report, RULE_READ_MISSING, key_so_far(reading, row), column->name,
                       record->line, "\"%s\" (%s) is blank but needed", column->name,
                       column->meaning);
        }
        return !needed;
    }
    const char *expected = "";
    ValueFault fault =
        value_parse(reading->arena, column, cell, reading->decimal_comma, field, &expected);
    if (fault != VALUE_OK) {
        report_value(reading, row, column, cell, fault, expected);
        return !needed;
    }
    bool nought = is_nought(column, field) && must_be_positive(reading->schema, column);
    if (!is_text(column->kind) && reading->schema->group != GROUP_RESULT &&
        (nought || (is_negative(column, field) && !may_be_negative(column)))) {
        if (report_room(&reading->report)) {
            Finding *finding = report_add(
                &reading->report, RULE_READ_RANGE, key_so_far(reading, row), column->name,
                record->line, "\"%s\" is %snought, and %s can't be",
                report_excerpt(&reading->report, cell), nought ? "" : "below ", column->name);
            finding->limit = 0.0;
            finding->unit = value_unit(column);
        }
        value_parse(reading->arena, column, "", false, field, &expected); /* not kept */
        return !needed;
    }
    return true;
}

/* True when every key column of the row is filled. */
static bool has_key(const Reading *reading, const char *row) {
    for (size_t c = 0; c < reading->schema->column_count; c++) {
        const ColumnSchema *column = &reading->schema->columns[c];
        const char *text = "";
        if (column->flag != FLAG_KEY) {
            continue;
        }
        if (is_text(column->kind)) {
            memcpy(&text, row + column->offset, sizeof text);
            if (*text == '\0') {
                return false;
            }
        } else if (column->kind == COLUMN_REAL) {
            double value = 0.0;
            memcpy(&value, row + column->offset, sizeof value);
            if (isnan(value)) {
                return false;
            }
        } else {
            int32_t whole = 0;
            memcpy(&whole, row + column->offset, sizeof whole);
            if (whole == INT_BLANK) {
                return false;
            }
        }
    }
    return true;
}

/* Cells that belong to no column: beyond the head line, or under a nameless head cell. */
static void check_stray_cells(Reading *reading, const char *row) {
    const CsvRecord *record = &reading->record;
    size_t kept = record->count < record->room ? record->count : record->room;
    size_t stray = 0;
    for (size_t i = reading->head_cells; i < kept && stray == 0; i++) {
        stray = *record->cells[i] != '\0' ? i + 1 : 0;
    }
    stray = stray == 0 ? record->extra : stray;
    if (stray != 0 && report_room(&reading->report)) {
        report_add(&reading->report, RULE_READ_COLUMN, key_so_far(reading, row), "", record->line,
                   "too many cells: cell %zu is filled, but the head line names %zu columns; a "
                   "value with a delimiter in it must be put in quotes",
                   stray, reading->head_cells);
    }
}

/* A value under a head cell without a name; looked at only when there is such a head cell. */
static void check_nameless(Reading *reading, const bool *named, const char *row) {
    const CsvRecord *record = &reading->record;
    for (size_t i = 0; i < reading->head_cells && i < record->count; i++) {
        if (!named[i] && *record->cells[i] != '\0' && report_room(&reading->report)) {
            report_add(&reading->report, RULE_READ_COLUMN, key_so_far(reading, row), "",
                       record->line, "cell %zu holds \"%s\", but the head line has no name there",
                       i + 1, report_excerpt(&reading->report, record->cells[i]));
        }
    }
}

static void read_row(Reading *reading, const bool *named) {
    TableSet *set = reading->set;
    AnyTable *rows = &set->any[reading->table];
    char *row = table_append(set, reading->arena, reading->table);
    RowPlace place = {.file = reading->file, .line = reading->record.line};
    memcpy(row, &place, sizeof place); /* row_at is the first member of every row */
    bool keep = !reading->lacks_column;
    for (size_t c = 0; c < reading->schema->column_count; c++) {
        keep = read_field(reading, row, c) && keep;
    }
    if (reading->record.count > reading->head_cells) {
        check_stray_cells(reading, row);
    }
    if (named != NULL) {
        check_nameless(reading, named, row);
    }
    if (reading->record.fault == CSV_TEXT_AFTER_QUOTE && report_room(&reading->report)) {
        report_add(&reading->report, RULE_READ_TEXT, key_so_far(reading, row), "",
                   reading->record.fault_line,
                   "text goes on after a closing quote: a quote inside a quoted cell is written "
                   "twice");
    }
    if (!keep) {
        if (has_key(reading, row)) {
            LeftOutRow *left_out = ARENA_PUSH(reading->arena, set->left_out, set->left_out_count,
                                              set->left_out_capacity);
            *left_out = (LeftOutRow){
                .table = reading->table,
                .key = table_row_key(reading->arena, reading->table, row),
            };
        } else {
            set->partial[reading->table] = true;
        }
        rows->count--;
    }
}

/* Room for the rows to come, so that a large table is not copied while it grows. */
static void reserve_rows(Reading *reading) {
    const Csv *csv = &reading->csv;
    AnyTable *rows = &reading->set->any[reading->table];
    size_t lines = 1;
    CHECK(reading->head_cells > 0); /* a head without a key column is not read on */
    for (const char *at = csv->at; at < csv->end; lines++) {
        const char *next = memchr(at, '\n', (size_t)(csv->end - at));
        at = next == NULL ? csv->end : next + 1;
    }
    size_t bytes = (size_t)(csv->end - csv->at);
    size_t most = bytes / (2 * reading->head_cells) + 1; /* shorter lines are mostly blank */
    size_t needed = rows->count + (lines < most ? lines : most);
    if (needed > rows->capacity && needed - rows->count > 8) {
        rows->capacity = 0; /* exactly as many */
        rows->rows = arena_grow(reading->arena, rows->rows, rows->count, reading->schema->row_bytes,
                                needed, &rows->capacity);
    }
}

static void report_unclosed(Reading *reading) {
    if (report_room(&reading->report)) {
        report_add(&reading->report, RULE_READ_TEXT, "", "", reading->record.fault_line,
                   "a quote opens in this line and is never closed: nothing after it was read");
    }
    reading->set->partial[reading->table] = true;
}

static void read_rows(Reading *reading) {
    bool named[HEAD_CELLS_MAX] = {false};
    bool all_named = true;
    for (size_t i = 0; i < reading->head_cells; i++) {
        named[i] = *reading->record.cells[i] != '\0';
        all_named = all_named && named[i];
    }
    size_t count = 0;
    reserve_rows(reading);
    while (csv_next(&reading->csv, &reading->record)) {
        if (reading->record.fault == CSV_UNCLOSED_QUOTE) {
            report_unclosed(reading);
            return;
        }
        if (reading->record.blank) {
            continue;
        }
        if (count++ == TABLE_ROWS_MAX) {
            if (report_room(&reading->report)) {
                report_add(&reading->report, RULE_READ_RANGE, "", "", reading->record.line,
                           "more than %d rows: the rest was not read", TABLE_ROWS_MAX);
            }
            reading->set->partial[reading->table] = true;
            return;
        }
        read_row(reading, all_named ? NULL : named);
    }
}

/* The whole of one file that is in memory and may be overwritten; text[length] is there. */
static void read_table(Reading *reading, char *text, size_t length) {
    CHECK(reading->schema->column_count <= COLUMNS_MAX);
    bool *partial = &reading->set->partial[reading->table];
    if (!check_encoding(reading, &text, &length)) {
        *partial = true;
        return;
    }
    char delimiter = '\0';
    csv_open(&reading->csv, text, length, ',');
    skip_preamble(reading, &delimiter);
    if (delimiter != ',' && delimiter != ';' && delimiter != '\t') {
        delimiter = detect_delimiter(&reading->csv);
    }
    csv_set_delimiter(&reading->csv, delimiter);
    reading->decimal_comma = delimiter == ';';
    if (!csv_next(&reading->csv, &reading->record)) {
        report_empty(reading);
        *partial = true;
    } else if (reading->record.fault == CSV_UNCLOSED_QUOTE) {
        report_unclosed(reading);
    } else if (read_head(reading)) {
        *partial = *partial || reading->lacks_column;
        read_rows(reading);
    } else {
        *partial = true;
    }
}

static Reading start_reading(Arena *arena, const char *path, TableId table, TableSet *set,
                             Findings *findings) {
    const TableSchema *schema = table_schema(table);
    return (Reading){
        .arena = arena,
        .set = set,
        .table = table,
        .schema = schema,
        .report = {.findings = findings, .file = path, .table = schema->name},
        .file = table_set_file(set, arena, path),
    };
}

static void run_reading(Reading *reading, char *text, size_t length) {
    reading->record.room = HEAD_CELLS_MAX;
    reading->record.cells = ARENA_ARRAY(&reading->scratch, char *, HEAD_CELLS_MAX);
    read_table(reading, text, length);
    report_close(&reading->report);
    arena_free(&reading->scratch);
}

/* --- folder ------------------------------------------------------------------------------------
 */

/* The table a file name stands for ("unit.csv", in any case); TABLE_COUNT when none. `stem` gets
 * the name without its ending. */
static TableId table_of_file(Arena *arena, const char *name, const char **stem) {
    char *lower = arena_text(arena, name, strlen(name) - strlen(".csv"));
    *stem = arena_text(arena, lower, strlen(lower));
    for (char *c = lower; *c != '\0'; c++) {
        *c = *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
    }
    return table_find(lower);
}

static void report_unknown_table(Report *report, const char *stem, TableGroup group) {
    const char *names[TABLE_COUNT];
    size_t count = 0;
    for (int table = 0; table < TABLE_COUNT; table++) {
        const TableSchema *schema = table_schema((TableId)table);
        if (schema->group == group) {
            names[count++] = schema->name;
        }
    }
    const char *shown = report_excerpt(report, stem);
    Finding *finding =
        report_add(report, RULE_READ_TABLE, "", "", 0, "there is no table \"%s\"", shown);
    report_nearest(report, finding, stem, names, count);
}

static bool is_table_file(const char *name) {
    size_t length = strlen(name);
    return length > 4 && strcasecmp(name + length - 4, ".csv") == 0 && name[0] != '.' &&
           strncmp(name, "~$", 2) != 0;
}

static const char *group_name(TableGroup group) {
    return group == GROUP_JOB ? "job" : group == GROUP_LIBRARY ? "library" : "result";
}

/* --- exported ----------------------------------------------------------------------------------
 */

void table_read_text(Arena *arena, const char *path, TableId table, const char *text, size_t length,
                     TableSet *set, Findings *findings) {
    Reading reading = start_reading(arena, path, table, set, findings);
    run_reading(&reading, arena_text(arena, text, length), length);
}

Status table_read_folder(Arena *arena, const char *folder, TableGroup group, TableSet *set,
                         Findings *findings) {
    char **names = NULL;
    size_t count = 0;
    Status status = file_list(arena, folder, "", &names, &count);
    if (status.failed) {
        return status;
    }
    size_t folder_length = strlen(folder);
    bool slash = folder_length > 0 && folder[folder_length - 1] == '/';
    Report report = {.findings = findings, .table = ""};
    for (size_t i = 0; i < count; i++) {
        if (!is_table_file(names[i])) {
            continue;
        }
        const char *stem = NULL;
        TableId table = table_of_file(arena, names[i], &stem);
        const char *path = arena_format(arena, "%s%s%s", folder, slash ? "" : "/", names[i]);
        report.file = path;
        report.table = table == TABLE_COUNT ? "" : table_schema(table)->name;
        if (table == TABLE_COUNT) {
            if (report_room(&report)) {
                report_unknown_table(&report, stem, group);
            }
            continue;
        }
        TableGroup found = table_schema(table)->group;
        if (found != group) {
            if (report_room(&report)) {
                report_add(&report, RULE_READ_TABLE, "", "", 0,
                           "%s is a %s table and is not read from a %s folder",
                           table_schema(table)->name, group_name(found), group_name(group));
            }
            continue;
        }
        char *text = NULL;
        size_t length = 0;
        Status read = file_read(arena, path, &text, &length);
        if (read.failed) {
            set->partial[table] = true;
            if (report_room(&report)) {
                report_add(&report, RULE_READ_FILE, "", "", 0, "%s", read.text);
            }
            continue;
        }
        Reading reading = start_reading(arena, path, table, set, findings);
        run_reading(&reading, text, length);
    }
    report.file = folder;
    report.table = "";
    report_close(&report);
    return status_ok();
}
