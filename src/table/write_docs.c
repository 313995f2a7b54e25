/* docs/tables.md, out of the schema. */
#include <string.h>

#include "table/value.h"
#include "table/write.h"

static const char *kind_text(Arena *scratch, const ColumnSchema *column) {
    switch (column->kind) {
    case COLUMN_TEXT:
        return strcmp(column->name, "date") == 0 ? "date, year-month-day" : "text";
    case COLUMN_REF:
        return arena_format(scratch, "key of [%s](#%s)", column->extra, column->extra);
    case COLUMN_LIST:
        return "words, separated by blanks";
    case COLUMN_WORD: {
        char *words = arena_format(scratch, "`%s`", column->extra);
        Buffer out = {.arena = scratch};
        for (const char *c = words; *c != '\0'; c++) {
            if (*c == '|') {
                buffer_text(&out, "`, `");
            } else {
                buffer_add(&out, c, 1);
            }
        }
        return out.bytes;
    }
    case COLUMN_REAL:
        return *value_unit(column) == '\0'
                   ? "number"
                   : arena_format(scratch, "number, %s", value_unit(column));
    case COLUMN_INT:
        return "whole number";
    case COLUMN_AWG:
        return "wire gauge";
    case COLUMN_FLAG:
        return "yes or no";
    }
    return "";
}

static const char *need_text(ColumnFlag flag) {
    return flag == FLAG_KEY ? "key" : flag == FLAG_NEED ? "needed" : "";
}

/* A bar would end the cell of a Markdown table. */
static void add_escaped(Buffer *out, const char *text) {
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '|') {
            buffer_text(out, "\\");
        }
        buffer_add(out, c, 1);
    }
}

static void add_table(Buffer *out, const TableSchema *schema) {
    Arena scratch = {0};
    buffer_format(out, "\n### %s\n\n", schema->name);
    add_escaped(out, schema->meaning);
    buffer_text(out, "\n\n| column | kind | | meaning |\n| --- | --- | --- | --- |\n");
    for (size_t c = 0; c < schema->column_count; c++) {
        const ColumnSchema *column = &schema->columns[c];
        buffer_format(out, "| `%s` | %s | %s | ", column->name, kind_text(&scratch, column),
                      need_text(column->flag));
        add_escaped(out, column->meaning);
        buffer_text(out, " |\n");
    }
    arena_free(&scratch);
}

static const char INTRODUCTION[] =
    "# Tables\n"
    "\n"
    "Generated from `src/table/tables_*.h`; a test compares this page with them.\n"
    "\n"
    "A job is a folder with one file `TABLE.csv` for each table it uses; the parts library is "
    "such\n"
    "a folder too. Results are never read from a job; they are shown and written with the same\n"
    "columns. One row is one thing. Rows may stand in any order.\n"
    "\n"
    "## How a file may look\n"
    "\n"
    "- UTF-8 text, with or without a byte-order mark; lines end in LF, CRLF or CR.\n"
    "- Lines that start with `#` may stand above the head line. The head line names the columns, "
    "in\n"
    "  any order and any case; columns that are not needed may be left out.\n"
    "- Cells are separated by `,` or `;` or a tab, whichever the head line uses. With `;` a "
    "number\n"
    "  may have a decimal comma. A thousands separator is never read: 1.234 in a file with "
    "decimal\n"
    "  commas, or 1,234 in one without, is refused, because it can mean two things.\n"
    "- A cell with a separator, quote or line break in it is put in double quotes, and a quote in\n"
    "  it is doubled.\n"
    "- Blank rows, and blank cells beyond the last column, are passed over.\n"
    "- A value that a spreadsheet has turned into a date (`3-Apr`, `03.04.2026`, `2026-04-03`) is\n"
    "  refused with a guess at what was typed, except in columns named `date` (which want\n"
    "  year-month-day) and in columns of prose: `answer`, `note`, `evidence`, `reason`, `why`,\n"
    "  `source`. Format the columns of a sheet as text before typing.\n"
    "\n"
    "## How a value may look\n"
    "\n"
    "The ending of a column's name is its unit, and a bare number is in that unit. Another unit "
    "of\n"
    "the same kind may stand behind the number, with or without a blank:\n"
    "\n"
    "| kind | units |\n"
    "| --- | --- |\n"
    "| length | mm, cm, m, km, in, ft; also `3 ft 2 in` and `3'2\"` |\n"
    "| current, voltage, power | mA, A, kA; mV, V, kV; mW, W, kW |\n"
    "| resistance | mohm, ohm, kohm, or with the letter omega |\n"
    "| mass, force, moment | g, kg, oz, lb, also `2 lb 3 oz`; N, kN, lbf; kg m |\n"
    "| temperature | degC, \u00b0C, degF, \u00b0F, K |\n"
    "| time | ms, s, min, h, day; also `1 h 30 min` |\n"
    "| charge, frequency, speed | mAh, Ah; Hz, kHz, MHz, GHz; rpm |\n"
    "| level, percentage | dB; % |\n"
    "| by length | ohm/km, mohm/m, ohm/m, ohm/kft; kg/km, g/m, kg/m, lb/kft; dB/m, dB/100m,\n"
    "dB/100ft |\n"
    "\n"
    "Small and capital letters tell milli from mega, so `MV` is not read as mV. A wire gauge is\n"
    "`22`, `14 AWG`, `AWG 14`, `1/0`, `2/0`, `0000`; write `2/0` rather than `00`, which a\n"
    "spreadsheet saves as `0`. Yes and no may also be y, n, true, false, 1, 0. Numbers lie "
    "between\n"
    "-1e9 and 1e9; places, temperatures, heights and numbers without a unit may be negative, "
    "other\n"
    "inputs not.\n";

void table_write_docs(Buffer *out) {
    static const char *const titles[] = {
        [GROUP_JOB] = "Job",
        [GROUP_LIBRARY] = "Parts library",
        [GROUP_RESULT] = "Results",
    };
    buffer_text(out, INTRODUCTION);
    for (int group = 0; group < (int)(sizeof titles / sizeof *titles); group++) {
        buffer_format(out, "\n## %s\n\n", titles[group]);
        for (int table = 0; table < TABLE_COUNT; table++) {
            const TableSchema *schema = table_schema((TableId)table);
            if ((int)schema->group == group) {
                buffer_format(out, "- [%s](#%s): ", schema->name, schema->name);
                buffer_text(out, schema->meaning);
                buffer_text(out, "\n");
            }
        }
        for (int table = 0; table < TABLE_COUNT; table++) {
            if ((int)table_schema((TableId)table)->group == group) {
                add_table(out, table_schema((TableId)table));
            }
        }
    }
}
