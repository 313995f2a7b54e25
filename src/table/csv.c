#include "table/csv.h"

#include <string.h>

static bool is_line_end(char c) {
    return c == '\n' || c == '\r';
}

/* Steps over one line end at csv->at: LF, CRLF or CR. */
static void step_line_end(Csv *csv) {
    csv->at += csv->at[0] == '\r' && csv->at + 1 < csv->end && csv->at[1] == '\n' ? 2 : 1;
    csv->line++;
}

/* Blank, tab, line break, or the no-break space (C2 A0) that pasted text brings; its size. */
static size_t blank_at(const char *at, const char *end) {
    if (at < end && (*at == ' ' || *at == '\t' || is_line_end(*at))) {
        return 1;
    }
    return end - at >= 2 && (unsigned char)at[0] == 0xC2 && (unsigned char)at[1] == 0xA0 ? 2 : 0;
}

static size_t blank_before(const char *start, const char *at) {
    if (at > start && (at[-1] == ' ' || at[-1] == '\t' || is_line_end(at[-1]))) {
        return 1;
    }
    return at - start >= 2 && (unsigned char)at[-2] == 0xC2 && (unsigned char)at[-1] == 0xA0 ? 2
                                                                                             : 0;
}

/* Trims [start, end) and puts a zero behind it; *end may be the place of a delimiter. */
static char *trimmed(char *start, char *end) {
    for (size_t size = blank_at(start, end); size > 0; size = blank_at(start, end)) {
        start += size;
    }
    for (size_t size = blank_before(start, end); size > 0; size = blank_before(start, end)) {
        end -= size;
    }
    *end = '\0';
    return start;
}

/* Unescapes the quoted part at csv->at (just behind the opening quote) to its own start; returns
 * the end of what was written, or NULL when the quote is never closed. */
static char *unquote(Csv *csv) {
    char *put = csv->at;
    char *at = csv->at;
    while (at < csv->end) {
        char c = *at++;
        if (c == '"') {
            if (at < csv->end && *at == '"') {
                at++;
            } else {
                csv->at = at;
                return put;
            }
        } else if (is_line_end(c)) {
            at += c == '\r' && at < csv->end && *at == '\n';
            c = '\n';
            csv->line++;
        }
        *put++ = c;
    }
    csv->at = at;
    return NULL;
}

static void step_to_stop(Csv *csv) {
    while (csv->at < csv->end && !csv->stops[(unsigned char)*csv->at]) {
        csv->at++;
    }
}

static bool is_blank_text(const char *start, const char *end) {
    while (start < end && blank_at(start, end) > 0) {
        start += blank_at(start, end);
    }
    return start == end;
}

/* Reads the cell at csv->at and stops at the delimiter, line end or end behind it. Returns its
 * text, which ends before *cell_end. */
static char *read_cell(Csv *csv, CsvRecord *record, char **cell_end) {
    char *start = csv->at;
    uint32_t line = csv->line;
    while (csv->at < csv->end && *csv->at == ' ') {
        csv->at++;
    }
    if (csv->at == csv->end || *csv->at != '"') {
        step_to_stop(csv);
        *cell_end = csv->at;
        return start;
    }
    start = ++csv->at;
    char *put = unquote(csv);
    if (put == NULL) {
        record->fault = CSV_UNCLOSED_QUOTE;
        record->fault_line = line;
        *cell_end = start;
        return start;
    }
    char *rest = csv->at;
    step_to_stop(csv);
    *cell_end = put;
    if (!is_blank_text(rest, csv->at)) {
        memmove(put, rest, (size_t)(csv->at - rest));
        *cell_end = put + (csv->at - rest);
        record->fault = CSV_TEXT_AFTER_QUOTE;
        record->fault_line = csv->line;
    }
    return start;
}

/* --- exported ----------------------------------------------------------------------------------
 */

void csv_set_delimiter(Csv *csv, char delimiter) {
    csv->delimiter = delimiter;
    memset(csv->stops, 0, sizeof csv->stops);
    csv->stops[(unsigned char)delimiter] = true;
    csv->stops['\n'] = true;
    csv->stops['\r'] = true;
}

void csv_open(Csv *csv, char *text, size_t length, char delimiter) {
    *csv = (Csv){.at = text, .end = text + length, .line = 1};
    csv_set_delimiter(csv, delimiter);
}

bool csv_next(Csv *csv, CsvRecord *record) {
    record->count = 0;
    record->extra = 0;
    record->blank = true;
    record->line = csv->line;
    record->fault = CSV_OK;
    if (csv->at >= csv->end) {
        return false;
    }
    for (;;) {
        char *cell_end = NULL;
        char *cell = read_cell(csv, record, &cell_end);
        bool more = csv->at < csv->end && *csv->at == csv->delimiter;
        bool line_ends = csv->at < csv->end && !more;
        if (more) {
            csv->at++;
        } else if (line_ends) {
            step_line_end(csv);
        }
        cell = trimmed(cell, cell_end);
        record->blank = record->blank && *cell == '\0';
        if (record->count < record->room) {
            record->cells[record->count] = cell;
        } else if (*cell != '\0' && record->extra == 0) {
            record->extra = record->count + 1;
        }
        record->count++;
        if (!more || record->fault == CSV_UNCLOSED_QUOTE) {
            return true;
        }
    }
}

void csv_skip_line(Csv *csv) {
    while (csv->at < csv->end && !is_line_end(*csv->at)) {
        csv->at++;
    }
    if (csv->at < csv->end) {
        step_line_end(csv);
    }
}

size_t csv_count_delimiters(const Csv *csv, char delimiter) {
    size_t count = 0;
    bool quoted = false;
    for (const char *at = csv->at; at < csv->end && (quoted || !is_line_end(*at)); at++) {
        quoted = quoted != (*at == '"');
        count += !quoted && *at == delimiter;
    }
    return count;
}
