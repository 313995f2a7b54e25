/* One workbook. Row 1 of a sheet is a comment line, so that the sheet saved as CSV is a table that
 * can be read again; row 2 is the head. Columns that hold text are formatted as text, which keeps a
 * spreadsheet from turning what is typed there into dates. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <xlsxwriter.h>

#include "table/utf8.h"
#include "table/value.h"
#include "table/write.h"

enum {
    COMMENT_ROW = 0,
    HEAD_ROW = 1,
    FIRST_ROW = 2,
    ROWS_MAX = 1048576,     /* of a sheet, by the file format */
    TEXT_MAX_BYTES = 32760, /* of a cell, the format has 32,767 characters; with a dot at the end */
    WIDTH_MIN = 6,
    WIDTH_MAX = 60
};

/* The same moment in every file, or the same rows would not give the same bytes: 2000-01-01. */
#define CREATED_S ((time_t)946684800)

typedef struct Formats {
    lxw_format *comment;
    lxw_format *head;
    lxw_format *text;
    lxw_format *whole;
    lxw_format *plain; /* a number without a unit: as it is */
    lxw_format *measured;
} Formats;

static Formats add_formats(lxw_workbook *book) {
    Formats formats = {
        .comment = workbook_add_format(book),
        .head = workbook_add_format(book),
        .text = workbook_add_format(book),
        .whole = workbook_add_format(book),
        .plain = workbook_add_format(book),
        .measured = workbook_add_format(book),
    };
    format_set_italic(formats.comment);
    format_set_bold(formats.head);
    format_set_bottom(formats.head, LXW_BORDER_THIN);
    format_set_num_format(formats.head, "@");
    format_set_num_format(formats.text, "@");
    format_set_num_format(formats.whole, "0");
    format_set_num_format(formats.measured, "0.0##");
    return formats;
}

static lxw_format *format_of(const Formats *formats, const ColumnSchema *column) {
    if (column->kind == COLUMN_INT) {
        return formats->whole;
    }
    if (column->kind == COLUMN_REAL) {
        return *value_unit(column) == '\0' ? formats->plain : formats->measured;
    }
    return formats->text;
}

/* Text as a cell may hold it: valid, and not longer than a cell can be. */
static const char *cell_text(Arena *scratch, const char *text) {
    text = utf8_safe(scratch, text);
    size_t length = strlen(text);
    if (length <= TEXT_MAX_BYTES) {
        return text;
    }
    length = TEXT_MAX_BYTES;
    while (((unsigned char)text[length] & 0xC0u) == 0x80u) {
        length--;
    }
    return arena_format(scratch, "%.*s...", (int)length, text);
}

static void set_widths(lxw_worksheet *sheet, const Formats *formats, const TableSet *set,
                       TableId table) {
    const TableSchema *schema = table_schema(table);
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        size_t width = strlen(column->name) + 3; /* room for the filter's arrow */
        Arena scratch = {0};
        for (size_t i = 0; i < set->any[table].count; i++) {
            const char *row = table_row(set, table, i);
            size_t needed =
                utf8_width(value_short_text(&scratch, column, row + column->offset)) + 1;
            width = needed > width ? needed : width;
        }
        arena_free(&scratch);
        width = width < WIDTH_MIN ? WIDTH_MIN : width > WIDTH_MAX ? WIDTH_MAX : width;
        worksheet_set_column(sheet, (lxw_col_t)c, (lxw_col_t)c, (double)width,
                             format_of(formats, column));
    }
}

static lxw_error write_row(lxw_worksheet *sheet, const Formats *formats, const TableSchema *schema,
                           const char *row, lxw_row_t at) {
    Arena scratch = {0};
    lxw_error error = LXW_NO_ERROR;
    for (size_t c = 0; c < schema->column_count && error == LXW_NO_ERROR; c++) {
        const ColumnSchema *column = &schema->columns[c];
        const char *field = row + column->offset;
        const char *text = value_text(&scratch, column, field);
        lxw_format *format = format_of(formats, column);
        double number = 0.0;
        if (*text == '\0') {
            continue;
        }
        if (column->kind == COLUMN_REAL) {
            memcpy(&number, field, sizeof number);
            error = worksheet_write_number(sheet, at, (lxw_col_t)c, number, format);
        } else if (column->kind == COLUMN_INT) {
            int32_t whole = 0;
            memcpy(&whole, field, sizeof whole);
            error = worksheet_write_number(sheet, at, (lxw_col_t)c, (double)whole, format);
        } else {
            error =
                worksheet_write_string(sheet, at, (lxw_col_t)c, cell_text(&scratch, text), format);
        }
    }
    arena_free(&scratch);
    return error;
}

static lxw_error write_sheet(lxw_workbook *book, const Formats *formats, const TableSet *set,
                             TableId table) {
    const TableSchema *schema = table_schema(table);
    size_t rows = set->any[table].count;
    lxw_worksheet *sheet = workbook_add_worksheet(book, schema->name);
    if (sheet == NULL) {
        return LXW_ERROR_PARAMETER_VALIDATION;
    }
    lxw_col_t last = (lxw_col_t)(schema->column_count - 1);
    lxw_row_t last_row = (lxw_row_t)(rows == 0 ? HEAD_ROW : HEAD_ROW + rows);
    Arena scratch = {0};
    set_widths(sheet, formats, set, table);
    worksheet_freeze_panes(sheet, FIRST_ROW, 0);
    worksheet_autofilter(sheet, HEAD_ROW, 0, last_row, last);
    lxw_error error = worksheet_write_string(
        sheet, COMMENT_ROW, 0, arena_format(&scratch, "# %s", schema->meaning), formats->comment);
    for (size_t c = 0; c < schema->column_count && error == LXW_NO_ERROR; c++) {
        error = worksheet_write_string(sheet, HEAD_ROW, (lxw_col_t)c, schema->columns[c].name,
                                       formats->head);
    }
    arena_free(&scratch);
    for (size_t i = 0; i < rows && error == LXW_NO_ERROR; i++) {
        error =
            write_row(sheet, formats, schema, table_row(set, table, i), (lxw_row_t)(FIRST_ROW + i));
    }
    /* A gauge or a connector's number is text that looks like a number: no green corners. */
    lxw_error ignored =
        worksheet_ignore_errors(sheet, LXW_IGNORE_NUMBER_STORED_AS_TEXT, "A1:XFD1048576");
    return error != LXW_NO_ERROR ? error : ignored;
}

Status table_write_xlsx(const char *path, const TableSet *set, const TableId *tables,
                        size_t count) {
    char beside[4096];
    int size = snprintf(beside, sizeof beside, "%s.part-%ld", path, (long)getpid());
    if (size < 0 || (size_t)size >= sizeof beside) {
        return status_failed("path too long:", path, 0);
    }
    for (size_t i = 0; i < count; i++) {
        if (set->any[tables[i]].count > ROWS_MAX - FIRST_ROW) {
            return status_failed("more rows than a sheet can hold:", path, 0);
        }
    }
    /* The library would tell the terminal what the caller is told here. */
    int file = open(beside, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (file < 0) {
        return status_failed("cannot write", path, errno);
    }
    close(file);
    /* Rows are written in order, so the library need not keep them. */
    lxw_workbook_options options = {.constant_memory = LXW_TRUE, .use_zip64 = LXW_FALSE};
    lxw_workbook *book = workbook_new_opt(beside, &options);
    if (book == NULL) {
        unlink(beside);
        return status_failed("cannot make a workbook for", path, 0);
    }
    lxw_doc_properties properties = {.created = CREATED_S};
    workbook_set_properties(book, &properties);
    Formats formats = add_formats(book);
    lxw_error error = LXW_NO_ERROR;
    for (size_t i = 0; i < count && error == LXW_NO_ERROR; i++) {
        error = write_sheet(book, &formats, set, tables[i]);
    }
    lxw_error closed = workbook_close(book); /* frees it, whatever happened */
    error = error != LXW_NO_ERROR ? error : closed;
    if (error != LXW_NO_ERROR) {
        unlink(beside);
        return status_failed(lxw_strerror(error), path, 0);
    }
    if (rename(beside, path) != 0) {
        Status status = status_failed("cannot write", path, errno);
        unlink(beside);
        return status;
    }
    return status_ok();
}
