#include "table/date.h"

#include <stddef.h>
#include <string.h>

/* Method: read the parts one after the other (number, separator, month name); every form is a fixed
 * order of such parts and must use up the text. */

typedef struct MonthName {
    const char *name;
    int month;
} MonthName;

/* English and German short names, as spreadsheets abbreviate them. */
static const MonthName MONTHS[] = {
    {"Jan", 1},  {"Feb", 2},  {"Mar", 3},  {"Mrz", 3},  {"M\u00e4r", 3}, {"Apr", 4},
    {"May", 5},  {"Mai", 5},  {"Jun", 6},  {"Jul", 7},  {"Aug", 8},      {"Sep", 9},
    {"Oct", 10}, {"Okt", 10}, {"Nov", 11}, {"Dec", 12}, {"Dez", 12},
};

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* Reads a run of digits; returns its length and steps over it. */
static int read_digits(const char **at, int *value) {
    int length = 0;
    *value = 0;
    while (is_digit(**at) && length < 5) {
        *value = *value * 10 + (**at - '0');
        (*at)++;
        length++;
    }
    return length;
}

static int read_month(const char **at) {
    for (size_t i = 0; i < sizeof MONTHS / sizeof *MONTHS; i++) {
        if ((*at)[0] != MONTHS[i].name[0]) {
            continue;
        }
        size_t length = strlen(MONTHS[i].name);
        if (strncmp(*at, MONTHS[i].name, length) == 0) {
            *at += length;
            return MONTHS[i].month;
        }
    }
    return 0;
}

/* Steps over "-", " ", ".", ". " and the like: one or two of these characters. */
static bool skip_separator(const char **at) {
    int count = 0;
    while (count < 2 && (**at == '-' || **at == ' ' || **at == '.')) {
        (*at)++;
        count++;
    }
    return count > 0;
}

/* Nothing, or a time of day such as "T00:00:00" or " 12:30". */
static bool ends_in_time(const char *at) {
    if (*at == '\0') {
        return true;
    }
    if (*at != 'T' && *at != ' ') {
        return false;
    }
    at++;
    return is_digit(*at) && at[strspn(at, "0123456789:.Z+")] == '\0' && strchr(at, ':') != NULL;
}

static bool is_year(int length, int year) {
    return length == 2 || (length == 4 && year >= 1900 && year <= 2099);
}

static bool is_day(int day) {
    return day >= 1 && day <= 31;
}

static bool is_month(int month) {
    return month >= 1 && month <= 12;
}

/* 3-Apr, 03. Apr, 3-Apr-26, 3 Apr 2026 */
static bool day_and_name(const char *at, DateParts *parts) {
    int length = read_digits(&at, &parts->day);
    if (length < 1 || length > 2 || !is_day(parts->day) || !skip_separator(&at)) {
        return false;
    }
    parts->month = read_month(&at);
    if (parts->month == 0) {
        return false;
    }
    if (*at == '.') {
        at++;
    }
    if (*at == '\0') {
        return true;
    }
    if (!skip_separator(&at)) {
        return false;
    }
    length = read_digits(&at, &parts->year);
    return is_year(length, parts->year) && ends_in_time(at);
}

/* Apr-22, Apr 2026 */
static bool name_and_number(const char *at, DateParts *parts) {
    parts->month = read_month(&at);
    if (parts->month == 0 || !skip_separator(&at)) {
        return false;
    }
    int length = read_digits(&at, &parts->year);
    return is_year(length, parts->year) && *at == '\0';
}

/* 2026-04-03, 2026/04/03 */
static bool year_first(const char *at, DateParts *parts) {
    if (read_digits(&at, &parts->year) != 4 || !is_year(4, parts->year)) {
        return false;
    }
    char separator = *at++;
    if (separator != '-' && separator != '/') {
        return false;
    }
    if (read_digits(&at, &parts->month) != 2 || !is_month(parts->month) || *at++ != separator) {
        return false;
    }
    return read_digits(&at, &parts->day) == 2 && is_day(parts->day) && ends_in_time(at);
}

/* 03.04.2026, 03.04.26, 4/3/2026, 4/3/26, 03-04-2026; which of the first two is the day depends on
 * the country, so either may be. A short year after points or hyphens is too near to paragraph
 * and part numbers (4.3.26), unless both have their noughts. */
static bool year_last(const char *at, DateParts *parts) {
    int first = 0;
    int second = 0;
    int first_length = read_digits(&at, &first);
    char separator = *at;
    if (first_length < 1 || first_length > 2 || strchr("./-", separator) == NULL ||
        separator == '\0') {
        return false;
    }
    at++;
    int second_length = read_digits(&at, &second);
    if (second_length < 1 || second_length > 2 || *at++ != separator) {
        return false;
    }
    int year_length = read_digits(&at, &parts->year);
    if (!is_year(year_length, parts->year) || !ends_in_time(at)) {
        return false;
    }
    if (year_length == 2 &&
        (separator == '-' || (separator == '.' && (first_length != 2 || second_length != 2)))) {
        return false;
    }
    bool day_first = is_day(first) && is_month(second);
    parts->day = day_first ? first : second;
    parts->month = day_first ? second : first;
    return day_first || (is_day(second) && is_month(first));
}

/* --- exported ----------------------------------------------------------------------------------
 */

bool date_recognise(const char *text, DateParts *parts) {
    *parts = (DateParts){0};
    if (text[0] >= 'A' && text[0] <= 'S') { /* of Apr to Sep */
        return name_and_number(text, parts);
    }
    if (!is_digit(text[0])) {
        return false;
    }
    DateParts try = {0};
    bool found = day_and_name(text, &try);
    if (!found) {
        try = (DateParts){0};
        found = year_first(text, &try);
    }
    if (!found) {
        try = (DateParts){0};
        found = year_last(text, &try);
    }
    *parts = found ? try:
        *parts;
    return found;
}

bool date_is_iso(const char *text) {
    static const int days[] = {31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    DateParts parts = {0};
    if (strlen(text) != 10 || text[4] != '-' || !year_first(text, &parts)) {
        return false;
    }
    bool leap = (parts.year % 4 == 0 && parts.year % 100 != 0) || parts.year % 400 == 0;
    return parts.day <= days[parts.month - 1] && !(parts.month == 2 && parts.day == 29 && !leap);
}

const char *date_guess(Arena *arena, DateParts parts) {
    if (parts.day == 0) {
        return arena_format(arena, "%d-%d", parts.month, parts.year);
    }
    if (parts.day == parts.month) {
        return arena_format(arena, "%d-%d", parts.day, parts.month);
    }
    return arena_format(arena, "%d-%d or %d-%d", parts.day, parts.month, parts.month, parts.day);
}
