/* One cell: text to value and back. Values carry units where a person writes them ("3 ft 2 in",
 * "950", "0.95 m", "14 AWG", "5 A", "12 mohm"); a bare number is in the column's own unit, which
 * the end of the column's name says. */
#ifndef TABLE_VALUE_H
#define TABLE_VALUE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "table/rows.h"

/* How a cell could not be taken. */
typedef enum ValueFault {
    VALUE_OK,
    VALUE_NOT_A_NUMBER,
    VALUE_WRONG_UNIT, /* a unit of another kind, or an unknown one */
    VALUE_NOT_WHOLE,
    VALUE_NOT_A_GAUGE,
    VALUE_NOT_YES_NO,
    VALUE_NOT_A_WORD, /* not among the words of the column */
    VALUE_LOOKS_LIKE_DATE,
    VALUE_NOT_A_DATE,  /* a column `date` that is not year-month-day */
    VALUE_OUT_OF_RANGE /* not finite, or beyond what any aircraft has (see value.c) */
} ValueFault;

/* Parses `text` (no surrounding blanks) for `column` into `field` (the row's member). With
 * `decimal_comma` "1,5" is one and a half. Blank text sets the blank value. On a fault the field is
 * set blank and *expected says what would do, for the finding (a constant; of a WORD column the
 * words, separated by |). A text field keeps pointing at `text`, which must live as long. */
ValueFault value_parse(Arena *arena, const ColumnSchema *column, const char *text,
                       bool decimal_comma, void *field, const char **expected);

/* The canonical text of a field: shortest decimal that reads back to the same double, "yes"/"no",
 * "1/0"; "" when blank. Lives in the arena (or is the field's own text). */
const char *value_text(Arena *arena, const ColumnSchema *column, const void *field);

/* The field for people: as value_text, but numbers rounded to four digits; the whole part is never
 * cut ("1816", "0.4231", "12.35", "626123"). */
const char *value_short_text(Arena *arena, const ColumnSchema *column, const void *field);

/* True when the field holds nothing: its text would be "". */
bool value_blank(const ColumnSchema *column, const void *field);

/* True when both fields hold the same value (NAN equals NAN). */
bool value_equal(const ColumnSchema *column, const void *left, const void *right);

/* Unit of a column by its name's ending: "mm", "A", "ohm/km"; "" when it has none. */
const char *value_unit(const ColumnSchema *column);

/* "22", "1/0", "2/0" for a gauge number. */
const char *value_awg_text(Arena *arena, int32_t awg);

#endif
