/* CSV as people's spreadsheets write it (RFC 4180 and its relatives): records and cells out of text
 * in memory, each cell unescaped in place, trimmed and zero-terminated, each record with its line.
 * Quoted line breaks, doubled quotes, LF, CRLF or CR. One pass, no copies. */
#ifndef TABLE_CSV_H
#define TABLE_CSV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum CsvFault {
    CSV_OK,
    CSV_UNCLOSED_QUOTE,  /* the quote that starts at fault_line never ends; nothing comes after */
    CSV_TEXT_AFTER_QUOTE /* a quoted cell goes on after its end: "abc"def */
} CsvFault;

typedef struct Csv {
    char *at;
    char *end; /* one writable byte is there */
    uint32_t line;
    char delimiter;
    bool stops[256]; /* bytes that end a plain cell */
} Csv;

typedef struct CsvRecord {
    char **cells; /* room for `room`, given by the caller */
    size_t room;
    size_t count;  /* cells in the record; those beyond `room` are not kept */
    size_t extra;  /* number, from 1, of the first cell beyond `room` that is not blank; 0: none */
    bool blank;    /* every cell is blank */
    uint32_t line; /* where it starts, from 1 */
    CsvFault fault;
    uint32_t fault_line;
} CsvRecord;

/* Starts on `length` bytes of `text`, which are overwritten; text[length] is writable. */
void csv_open(Csv *csv, char *text, size_t length, char delimiter);

void csv_set_delimiter(Csv *csv, char delimiter);

/* The next record; false at the end. `cells` and `room` stay as the caller set them. */
bool csv_next(Csv *csv, CsvRecord *record);

/* Steps over the rest of this line, quotes or not. */
void csv_skip_line(Csv *csv);

/* How often `delimiter` stands outside quotes in the line at csv->at (nothing is changed). */
size_t csv_count_delimiters(const Csv *csv, char delimiter);

#endif
