/* Dates that a spreadsheet makes of part numbers and pins: "3-4" typed, "3-Apr" saved. Recognised
 * in the forms the common spreadsheets write, so that the reader can say what has happened. */
#ifndef TABLE_DATE_H
#define TABLE_DATE_H

#include <stdbool.h>

#include "base/arena.h"

/* What a date-like cell says. 0: not given. */
typedef struct DateParts {
    int day;
    int month;
    int year;
} DateParts;

/* True when the whole of `text` is a date as a spreadsheet writes one: "3-Apr", "03. Apr",
 * "3-Apr-26", "Apr-22", "2026-04-03", with a time or without, "03.04.2026", "4/3/2026", "4/3/26".
 * Month names count only as spreadsheets write them (one capital), so that a tag DEC-10 stays a
 * tag. */
bool date_recognise(const char *text, DateParts *parts);

/* True for a real day written 2026-04-03. */
bool date_is_iso(const char *text);

/* What may have been typed: "3-4 or 4-3". In the arena. */
const char *date_guess(Arena *arena, DateParts parts);

#endif
