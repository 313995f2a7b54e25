#include "table/value.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/check.h"
#include "base/text.h"
#include "base/units.h"
#include "table/date.h"

/* Numbers are read as a whole number times a power of ten, and a unit that is a power of ten away
 * only moves the exponent, so that "0.57 m" in a column of mm is 570 exactly. Other units (foot,
 * pound, hour) are multiplied and then rounded to 15 digits, so that "3 ft 2 in" is 965.2 and not
 * its neighbour. Nothing here depends on the locale. */

/* Beyond this no length, current or count of an aircraft lies. */
#define VALUE_LARGEST 1e9

enum {
    DIGITS_MAX = 60,      /* longest number that is read */
    EXACT_POWER_MAX = 22, /* 10^22 is the largest power of ten a double holds exactly */
    PARTS_MAX = 3         /* "1 h 2 min 3 s" */
};

#define EXACT_WHOLE_MAX (UINT64_C(1) << 53)

typedef enum Dimension {
    DIMENSION_NONE,
    DIMENSION_LENGTH,
    DIMENSION_CURRENT,
    DIMENSION_VOLTAGE,
    DIMENSION_RESISTANCE,
    DIMENSION_MASS,
    DIMENSION_TEMPERATURE,
    DIMENSION_PERCENT,
    DIMENSION_TIME,
    DIMENSION_FORCE,
    DIMENSION_LEVEL,
    DIMENSION_CHARGE,
    DIMENSION_FREQUENCY,
    DIMENSION_SPEED,
    DIMENSION_POWER,
    DIMENSION_AREA,
    DIMENSION_MOMENT,
    DIMENSION_ANGLE,
    DIMENSION_FIELD,
    DIMENSION_OHM_PER_LENGTH,
    DIMENSION_MASS_PER_LENGTH,
    DIMENSION_LOSS_PER_LENGTH,
    DIMENSION_CAPACITY,
    DIMENSION_COUNT
} Dimension;

/* What a person may write instead of the bare number; the value of a unit in its dimension's base
 * unit (m, A, V, ohm, kg, %, s, N, dB, Ah, MHz, rpm, W, cmil, kg m, ohm/km, kg/km, dB/m, F, deg,
 * uT) is factor x 10^power. Temperatures have their own way. */
typedef struct Unit {
    const char *name;
    Dimension dimension;
    int power;
    double factor;
} Unit;

#define SECONDS_PER_MINUTE 60.0
#define SECONDS_PER_HOUR 3600.0
#define SECONDS_PER_DAY 86400.0
#define OUNCES_PER_POUND 16.0

static const Unit UNITS[] = {
    {"mm", DIMENSION_LENGTH, -3, 1.0},
    {"MM", DIMENSION_LENGTH, -3, 1.0},
    {"cm", DIMENSION_LENGTH, -2, 1.0},
    {"m", DIMENSION_LENGTH, 0, 1.0},
    {"km", DIMENSION_LENGTH, 3, 1.0},
    {"in", DIMENSION_LENGTH, -3, UNITS_MM_PER_IN},
    {"in.", DIMENSION_LENGTH, -3, UNITS_MM_PER_IN},
    {"inch", DIMENSION_LENGTH, -3, UNITS_MM_PER_IN},
    {"inches", DIMENSION_LENGTH, -3, UNITS_MM_PER_IN},
    {"\"", DIMENSION_LENGTH, -3, UNITS_MM_PER_IN},
    {"\u2033", DIMENSION_LENGTH, -3, UNITS_MM_PER_IN}, /* double prime */
    {"\u201d", DIMENSION_LENGTH, -3, UNITS_MM_PER_IN}, /* curly quote that word processors put */
    {"ft", DIMENSION_LENGTH, 0, UNITS_M_PER_FT},
    {"ft.", DIMENSION_LENGTH, 0, UNITS_M_PER_FT},
    {"foot", DIMENSION_LENGTH, 0, UNITS_M_PER_FT},
    {"feet", DIMENSION_LENGTH, 0, UNITS_M_PER_FT},
    {"'", DIMENSION_LENGTH, 0, UNITS_M_PER_FT},
    {"\u2032", DIMENSION_LENGTH, 0, UNITS_M_PER_FT}, /* prime */
    {"\u2019", DIMENSION_LENGTH, 0, UNITS_M_PER_FT},
    {"deg", DIMENSION_ANGLE, 0, 1.0},
    {"\u00b0", DIMENSION_ANGLE, 0, 1.0},
    {"uT", DIMENSION_FIELD, 0, 1.0},
    {"\u00b5T", DIMENSION_FIELD, 0, 1.0}, /* micro sign */
    {"\u03bcT", DIMENSION_FIELD, 0, 1.0}, /* Greek small mu */
    {"nT", DIMENSION_FIELD, -3, 1.0},
    {"A", DIMENSION_CURRENT, 0, 1.0},
    {"mA", DIMENSION_CURRENT, -3, 1.0},
    {"kA", DIMENSION_CURRENT, 3, 1.0},
    {"V", DIMENSION_VOLTAGE, 0, 1.0},
    {"mV", DIMENSION_VOLTAGE, -3, 1.0},
    {"kV", DIMENSION_VOLTAGE, 3, 1.0},
    {"ohm", DIMENSION_RESISTANCE, 0, 1.0},
    {"ohms", DIMENSION_RESISTANCE, 0, 1.0},
    {"\u03a9", DIMENSION_RESISTANCE, 0, 1.0}, /* Greek capital omega */
    {"\u2126", DIMENSION_RESISTANCE, 0, 1.0}, /* ohm sign */
    {"mohm", DIMENSION_RESISTANCE, -3, 1.0},
    {"m\u03a9", DIMENSION_RESISTANCE, -3, 1.0},
    {"m\u2126", DIMENSION_RESISTANCE, -3, 1.0},
    {"kohm", DIMENSION_RESISTANCE, 3, 1.0},
    {"k\u03a9", DIMENSION_RESISTANCE, 3, 1.0},
    {"k\u2126", DIMENSION_RESISTANCE, 3, 1.0},
    {"kg", DIMENSION_MASS, 0, 1.0},
    {"g", DIMENSION_MASS, -3, 1.0},
    {"lb", DIMENSION_MASS, 0, UNITS_KG_PER_LB},
    {"lbs", DIMENSION_MASS, 0, UNITS_KG_PER_LB},
    {"oz", DIMENSION_MASS, 0, UNITS_KG_PER_LB / OUNCES_PER_POUND},
    {"degC", DIMENSION_TEMPERATURE, 0, 1.0},
    {"\u00b0C", DIMENSION_TEMPERATURE, 0, 1.0},
    {"\u2103", DIMENSION_TEMPERATURE, 0, 1.0}, /* degree Celsius as one sign */
    {"C", DIMENSION_TEMPERATURE, 0, 1.0},
    {"degF", DIMENSION_TEMPERATURE, 0, 1.0},
    {"\u00b0F", DIMENSION_TEMPERATURE, 0, 1.0},
    {"\u2109", DIMENSION_TEMPERATURE, 0, 1.0},
    {"F", DIMENSION_TEMPERATURE, 0, 1.0},
    {"K", DIMENSION_TEMPERATURE, 0, 1.0},
    {"%", DIMENSION_PERCENT, 0, 1.0},
    {"pct", DIMENSION_PERCENT, 0, 1.0},
    {"s", DIMENSION_TIME, 0, 1.0},
    {"ms", DIMENSION_TIME, -3, 1.0},
    {"min", DIMENSION_TIME, 0, SECONDS_PER_MINUTE},
    {"h", DIMENSION_TIME, 0, SECONDS_PER_HOUR},
    {"day", DIMENSION_TIME, 0, SECONDS_PER_DAY},
    {"days", DIMENSION_TIME, 0, SECONDS_PER_DAY},
    {"N", DIMENSION_FORCE, 0, 1.0},
    {"kN", DIMENSION_FORCE, 3, 1.0},
    {"lbf", DIMENSION_FORCE, 0, UNITS_N_PER_LBF},
    {"dB", DIMENSION_LEVEL, 0, 1.0},
    {"Ah", DIMENSION_CHARGE, 0, 1.0},
    {"mAh", DIMENSION_CHARGE, -3, 1.0},
    {"MHz", DIMENSION_FREQUENCY, 0, 1.0},
    {"kHz", DIMENSION_FREQUENCY, -3, 1.0},
    {"GHz", DIMENSION_FREQUENCY, 3, 1.0},
    {"Hz", DIMENSION_FREQUENCY, -6, 1.0},
    {"rpm", DIMENSION_SPEED, 0, 1.0},
    {"W", DIMENSION_POWER, 0, 1.0},
    {"mW", DIMENSION_POWER, -3, 1.0},
    {"kW", DIMENSION_POWER, 3, 1.0},
    {"cmil", DIMENSION_AREA, 0, 1.0},
    {"kcmil", DIMENSION_AREA, 3, 1.0},
    {"kg m", DIMENSION_MOMENT, 0, 1.0},
    {"kgm", DIMENSION_MOMENT, 0, 1.0},
    {"ohm/km", DIMENSION_OHM_PER_LENGTH, 0, 1.0},
    {"\u03a9/km", DIMENSION_OHM_PER_LENGTH, 0, 1.0},
    {"mohm/m", DIMENSION_OHM_PER_LENGTH, 0, 1.0},
    {"m\u03a9/m", DIMENSION_OHM_PER_LENGTH, 0, 1.0},
    {"ohm/m", DIMENSION_OHM_PER_LENGTH, 3, 1.0},
    {"ohm/kft", DIMENSION_OHM_PER_LENGTH, 0, 1.0 / UNITS_M_PER_FT},
    {"kg/km", DIMENSION_MASS_PER_LENGTH, 0, 1.0},
    {"g/m", DIMENSION_MASS_PER_LENGTH, 0, 1.0},
    {"kg/m", DIMENSION_MASS_PER_LENGTH, 3, 1.0},
    {"lb/kft", DIMENSION_MASS_PER_LENGTH, 0, UNITS_KG_PER_LB / UNITS_M_PER_FT},
    {"dB/m", DIMENSION_LOSS_PER_LENGTH, 0, 1.0},
    {"dB/100m", DIMENSION_LOSS_PER_LENGTH, -2, 1.0},
    {"dB/100ft", DIMENSION_LOSS_PER_LENGTH, -2, 1.0 / UNITS_M_PER_FT},
    {"uF", DIMENSION_CAPACITY, -6, 1.0},
    {"\u00b5F", DIMENSION_CAPACITY, -6, 1.0}, /* micro sign */
    {"\u03bcF", DIMENSION_CAPACITY, -6, 1.0}, /* Greek mu */
    {"mF", DIMENSION_CAPACITY, -3, 1.0},
    {"nF", DIMENSION_CAPACITY, -9, 1.0},
};

/* Endings of column names, longer ones before those they end in; a bare number is in this unit.
 * `whole` names are themselves a unit (`mohm`), the letter m or b alone is not. */
typedef struct Ending {
    const char *ending;
    bool whole;
    const char *unit;
    Dimension dimension;
    int power;
    double factor;
} Ending;

static const Ending ENDINGS[] = {
    {"_kg_per_km", false, "kg/km", DIMENSION_MASS_PER_LENGTH, 0, 1.0},
    {"_ohm_per_km", false, "ohm/km", DIMENSION_OHM_PER_LENGTH, 0, 1.0},
    {"_db_per_m", false, "dB/m", DIMENSION_LOSS_PER_LENGTH, 0, 1.0},
    {"_mohm", true, "mohm", DIMENSION_RESISTANCE, -3, 1.0},
    {"_ohm", true, "ohm", DIMENSION_RESISTANCE, 0, 1.0},
    {"_cmil", true, "cmil", DIMENSION_AREA, 0, 1.0},
    {"_kgm", false, "kg m", DIMENSION_MOMENT, 0, 1.0},
    {"_degc", false, "degC", DIMENSION_TEMPERATURE, 0, 1.0},
    {"_mhz", false, "MHz", DIMENSION_FREQUENCY, 0, 1.0},
    {"_deg", false, "deg", DIMENSION_ANGLE, 0, 1.0},
    {"_min", false, "min", DIMENSION_TIME, 0, SECONDS_PER_MINUTE},
    {"_day", false, "day", DIMENSION_TIME, 0, SECONDS_PER_DAY},
    {"_pct", false, "%", DIMENSION_PERCENT, 0, 1.0},
    {"_rpm", false, "rpm", DIMENSION_SPEED, 0, 1.0},
    {"_mm", false, "mm", DIMENSION_LENGTH, -3, 1.0},
    {"_ft", false, "ft", DIMENSION_LENGTH, 0, UNITS_M_PER_FT},
    {"_ut", false, "uT", DIMENSION_FIELD, 0, 1.0},
    {"_kg", false, "kg", DIMENSION_MASS, 0, 1.0},
    {"_uf", false, "uF", DIMENSION_CAPACITY, -6, 1.0},
    {"_ah", false, "Ah", DIMENSION_CHARGE, 0, 1.0},
    {"_db", false, "dB", DIMENSION_LEVEL, 0, 1.0},
    {"_m", false, "m", DIMENSION_LENGTH, 0, 1.0},
    {"_a", false, "A", DIMENSION_CURRENT, 0, 1.0},
    {"_v", false, "V", DIMENSION_VOLTAGE, 0, 1.0},
    {"_s", false, "s", DIMENSION_TIME, 0, 1.0},
    {"_h", false, "h", DIMENSION_TIME, 0, SECONDS_PER_HOUR},
    {"_n", false, "N", DIMENSION_FORCE, 0, 1.0},
    {"_w", false, "W", DIMENSION_POWER, 0, 1.0},
};

static const Ending NO_ENDING = {"", false, "", DIMENSION_NONE, 0, 1.0};

static const char *const EXPECTED[DIMENSION_COUNT] = {
    [DIMENSION_NONE] = "a plain number such as 0.85, without a unit",
    [DIMENSION_LENGTH] = "a length such as 950 mm, 0.95 m, 38 in or 3 ft 2 in",
    [DIMENSION_CURRENT] = "a current such as 5 A or 350 mA",
    [DIMENSION_VOLTAGE] = "a voltage such as 14 V or 500 mV",
    [DIMENSION_RESISTANCE] = "a resistance such as 60 ohm or 12 mohm",
    [DIMENSION_MASS] = "a mass such as 1.2 kg, 350 g or 2 lb 3 oz",
    [DIMENSION_TEMPERATURE] = "a temperature such as 70 degC or 158 degF",
    [DIMENSION_PERCENT] = "a percentage such as 80 or 80 %",
    [DIMENSION_TIME] = "a time such as 30 s, 20 min, 1.5 h or 21 day",
    [DIMENSION_FORCE] = "a force such as 35 N or 8 lbf",
    [DIMENSION_LEVEL] = "decibels such as 3 dB",
    [DIMENSION_CHARGE] = "a capacity such as 16 Ah or 800 mAh",
    [DIMENSION_FREQUENCY] = "a frequency such as 1090 MHz or 1.09 GHz",
    [DIMENSION_SPEED] = "a speed such as 2400 rpm",
    [DIMENSION_POWER] = "a power such as 60 W",
    [DIMENSION_AREA] = "an area such as 640 cmil",
    [DIMENSION_MOMENT] = "a moment such as 12 kg m",
    [DIMENSION_ANGLE] = "an angle such as 1.5 or 1.5 deg",
    [DIMENSION_FIELD] = "a magnetic field such as 18 uT",
    [DIMENSION_OHM_PER_LENGTH] = "resistance by length such as 53 ohm/km or 16.2 ohm/kft",
    [DIMENSION_MASS_PER_LENGTH] = "mass by length such as 4.2 kg/km, 4.2 g/m or 2.8 lb/kft",
    [DIMENSION_LOSS_PER_LENGTH] = "loss by length such as 0.3 dB/m or 9.1 dB/100ft",
    [DIMENSION_CAPACITY] = "a capacitance such as 470 uF or 1 mF",
};

static const char EXPECTED_POINT[] = "a number with a decimal point and no thousands separator: "
                                     "1234.5";
static const char EXPECTED_COMMA[] = "a number with a decimal comma and no thousands separator: "
                                     "1234,5";

/* --- numbers -----------------------------------------------------------------------------------
 */

/* A number as written: digits x 10^power. */
typedef struct Number {
    bool negative;
    char digits[DIGITS_MAX + 1]; /* without leading noughts; "" is zero */
    int digit_count;
    int power;
} Number;

typedef enum Scan { SCAN_OK, SCAN_NONE, SCAN_SEPARATOR, SCAN_TOO_LONG } Scan;

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static double to_double(const Number *number) {
    static const double powers[EXACT_POWER_MAX + 1] = {
        1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
        1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    double value = 0.0;
    uint64_t whole = 0;
    for (int i = 0; i < number->digit_count && i < 18; i++) {
        whole = whole * 10 + (uint64_t)(number->digits[i] - '0');
    }
    /* Both exact: one rounding, as the standard asks of a correct conversion. */
    if (number->digit_count <= 18 && whole <= EXACT_WHOLE_MAX && number->power <= EXACT_POWER_MAX &&
        number->power >= -EXACT_POWER_MAX) {
        value = number->power < 0 ? (double)whole / powers[-number->power]
                                  : (double)whole * powers[number->power];
    } else {
        char text[DIGITS_MAX + 16]; /* no decimal point in it: the same in every locale */
        snprintf(text, sizeof text, "%.*se%d", number->digit_count, number->digits, number->power);
        value = strtod(text, NULL);
    }
    return number->negative ? -value : value;
}

static void put_digit(Number *number, char digit) {
    if (number->digit_count > 0 || digit != '0') {
        number->digits[number->digit_count++] = digit;
    }
}

/* "1.234" where commas are decimal: a thousand and more, or one and a bit? */
static bool may_be_thousands(const char *start, const char *point, const char *end) {
    return point - start >= 1 && point - start <= 3 && *start != '0' && end - point == 4;
}

/* Reads the number at *at and steps over it. */
static Scan scan_number(const char **at, bool decimal_comma, Number *number) {
    const char *c = *at;
    *number = (Number){0};
    if (*c == '+' || *c == '-') {
        number->negative = *c++ == '-';
    } else if (strncmp(c, "\u2212", 3) == 0) { /* minus sign */
        number->negative = true;
        c += 3;
    }
    const char *start = c;
    for (; is_digit(*c); c++) {
        if (c - start >= DIGITS_MAX) {
            return SCAN_TOO_LONG;
        }
        put_digit(number, *c);
    }
    const char *point = c;
    bool any = c > start;
    if (*c == '.' || (decimal_comma && *c == ',')) {
        for (c++; is_digit(*c); c++) {
            if (c - start >= DIGITS_MAX) {
                return SCAN_TOO_LONG;
            }
            put_digit(number, *c);
            number->power--;
            any = true;
        }
    }
    if (!any) {
        return SCAN_NONE;
    }
    if (*c == ',' || (*c == '.' && is_digit(c[1])) ||
        (decimal_comma && *point == '.' && may_be_thousands(start, point, c))) {
        return SCAN_SEPARATOR;
    }
    if ((*c == 'e' || *c == 'E') &&
        (is_digit(c[1]) || ((c[1] == '+' || c[1] == '-') && is_digit(c[2])))) {
        bool down = c[1] == '-';
        int exponent = 0;
        for (c += is_digit(c[1]) ? 1 : 2; is_digit(*c); c++) {
            exponent = exponent < 10000 ? exponent * 10 + (*c - '0') : exponent;
        }
        number->power += down ? -exponent : exponent;
    }
    *at = c;
    return SCAN_OK;
}

/* The nearest double with at most so many digits. */
static double rounded_to(double value, int digits) {
    char text[40];
    snprintf(text, sizeof text, "%.*e", digits - 1, value);
    for (char *c = text; *c != '\0'; c++) {
        *c = is_digit(*c) || *c == 'e' || *c == '+' || *c == '-' ? *c : '.';
    }
    const char *at = text;
    Number number;
    return scan_number(&at, false, &number) == SCAN_OK ? to_double(&number) : value;
}

static double rounded(double value) {
    return rounded_to(value, 15);
}

/* --- units -------------------------------------------------------------------------------------
 */

static const Ending *ending_of(const char *name) {
    size_t length = strlen(name);
    for (size_t i = 0; i < sizeof ENDINGS / sizeof *ENDINGS; i++) {
        const char *ending = ENDINGS[i].ending;
        size_t size = strlen(ending);
        if ((length > size && strcmp(name + length - size, ending) == 0) ||
            (ENDINGS[i].whole && strcmp(name, ending + 1) == 0)) {
            return &ENDINGS[i];
        }
    }
    return &NO_ENDING;
}

/* What may follow a unit: the end, a blank, or the next number. */
static bool ends_unit(const char *at) {
    return *at == '\0' || *at == ' ' || is_digit(*at);
}

/* Case decides between milli and mega, so a unit in other letters is taken only when it does not
 * begin with M. */
static bool matches_unit(const char *at, const char *name, bool any_case) {
    size_t length = strlen(name);
    if (!any_case) {
        return strncmp(at, name, length) == 0 && ends_unit(at + length);
    }
    return *at != 'M' && *name != 'M' && strncasecmp(at, name, length) == 0 &&
           ends_unit(at + length);
}

/* The unit at *at, of the dimension wanted if there is one; steps over it. */
static const Unit *scan_unit(const char **at, Dimension dimension) {
    for (int any_case = 0; any_case < 2; any_case++) {
        const Unit *found = NULL;
        size_t found_length = 0;
        for (size_t i = 0; i < sizeof UNITS / sizeof *UNITS; i++) {
            size_t length = strlen(UNITS[i].name);
            if (UNITS[i].dimension == dimension && length > found_length &&
                matches_unit(*at, UNITS[i].name, any_case != 0)) {
                found = &UNITS[i];
                found_length = length;
            }
        }
        if (found != NULL) {
            *at += found_length;
            return found;
        }
    }
    return NULL;
}

/* Blanks, and the no-break ones that pasted text and some spreadsheets put before a unit. */
static void skip_blanks(const char **at) {
    static const char *const blanks[] = {" ", "\u00a0", "\u202f", "\u2009"};
    for (size_t i = 0; i < sizeof blanks / sizeof *blanks;) {
        size_t length = strlen(blanks[i]);
        if (strncmp(*at, blanks[i], length) == 0) {
            *at += length;
            i = 0;
        } else {
            i++;
        }
    }
}

/* `number` of `unit` in the unit of the column. */
static double convert(const Number *number, const Unit *unit, const Ending *column) {
    if (unit->dimension == DIMENSION_TEMPERATURE) {
        double value = to_double(number);
        const char *last = unit->name + strlen(unit->name) - 1;
        bool fahrenheit = *last == 'F' || strcmp(unit->name, "\u2109") == 0;
        if (fahrenheit) {
            value = units_degc_from_degf(value);
        } else if (*last == 'K') {
            value -= UNITS_KELVIN_AT_0_DEGC;
        } else {
            return value;
        }
        return round(value * 1e9) / 1e9; /* the difference of two hundreds: noise behind */
    }
    Number moved = *number;
    moved.power += unit->power - column->power;
    double value = to_double(&moved);
    if (unit->factor < column->factor || unit->factor > column->factor) {
        value = rounded(value * unit->factor / column->factor);
    }
    return value;
}

/* One or more parts "3 ft 2 in", each unit smaller than the one before. The first number is read
 * already and *at is behind it. */
static ValueFault read_parts(const char *at, const Ending *column, bool decimal_comma,
                             Number number, double *value) {
    bool negative = number.negative;
    double smallest = INFINITY;
    double sum = 0.0;
    number.negative = false;
    if (column->dimension == DIMENSION_TEMPERATURE) {
        number.negative = negative;
        negative = false;
    }
    for (int part = 0; part < PARTS_MAX; part++) {
        skip_blanks(&at);
        const Unit *unit = scan_unit(&at, column->dimension);
        if (unit == NULL) {
            return VALUE_WRONG_UNIT;
        }
        double size = unit->factor * pow(10.0, unit->power);
        if (!(size < smallest) || (part > 0 && column->dimension == DIMENSION_TEMPERATURE)) {
            return VALUE_WRONG_UNIT;
        }
        smallest = size;
        sum = part == 0 ? convert(&number, unit, column)
                        : rounded(sum + convert(&number, unit, column));
        skip_blanks(&at);
        if (*at == '\0') {
            *value = negative ? -sum : sum;
            return VALUE_OK;
        }
        if (!is_digit(*at) && *at != '.') {
            return VALUE_WRONG_UNIT;
        }
        if (scan_number(&at, decimal_comma, &number) != SCAN_OK) {
            return VALUE_NOT_A_NUMBER;
        }
    }
    return VALUE_WRONG_UNIT;
}

/* --- one cell by kind --------------------------------------------------------------------------
 */

static ValueFault parse_real(const ColumnSchema *column, const char *text, bool decimal_comma,
                             double *value, const char **expected) {
    const char *at = text;
    Number number;
    DateParts date;
    Scan scan = scan_number(&at, decimal_comma, &number);
    ValueFault fault = VALUE_OK;
    if (scan == SCAN_OK && *at == '\0') {
        *value = to_double(&number);
    } else if (date_recognise(text, &date)) {
        fault = VALUE_LOOKS_LIKE_DATE;
    } else if (scan == SCAN_SEPARATOR) {
        *expected = decimal_comma ? EXPECTED_COMMA : EXPECTED_POINT;
        return VALUE_NOT_A_NUMBER;
    } else if (scan != SCAN_OK) {
        fault = VALUE_NOT_A_NUMBER;
    } else {
        fault = read_parts(at, ending_of(column->name), decimal_comma, number, value);
    }
    if (fault == VALUE_OK && !(fabs(*value) <= VALUE_LARGEST)) {
        fault = VALUE_OUT_OF_RANGE;
    }
    if (fault != VALUE_OK) {
        *expected = fault == VALUE_OUT_OF_RANGE ? "a number between -1e9 and 1e9"
                                                : EXPECTED[ending_of(column->name)->dimension];
    }
    return fault;
}

static ValueFault parse_int(const char *text, bool decimal_comma, int32_t *value,
                            const char **expected) {
    const char *at = text;
    Number number;
    DateParts date;
    Scan scan = scan_number(&at, decimal_comma, &number);
    *expected = "a whole number";
    if (scan != SCAN_OK || *at != '\0') {
        return date_recognise(text, &date) ? VALUE_LOOKS_LIKE_DATE : VALUE_NOT_A_NUMBER;
    }
    double real = to_double(&number);
    if (!(fabs(real) <= VALUE_LARGEST)) {
        *expected = "a whole number between -1e9 and 1e9";
        return VALUE_OUT_OF_RANGE;
    }
    if (real < floor(real) || real > floor(real)) {
        return VALUE_NOT_WHOLE;
    }
    *value = (int32_t)real;
    return VALUE_OK;
}

static ValueFault parse_awg(const char *text, int32_t *value, const char **expected) {
    DateParts date;
    const char *at = text;
    int awg = 0;
    if (strncasecmp(at, "AWG", 3) == 0) {
        at += 3;
        skip_blanks(&at);
    }
    if (!units_awg_parse(at, &awg)) {
        *expected = "a wire gauge from 56 to 4/0, such as 22, 14 AWG or 2/0";
        return date_recognise(text, &date) ? VALUE_LOOKS_LIKE_DATE : VALUE_NOT_A_GAUGE;
    }
    *value = (int32_t)awg;
    return VALUE_OK;
}

static ValueFault parse_flag(const char *text, int32_t *value, const char **expected) {
    static const char *const words[][2] = {
        {"no", "yes"}, {"n", "y"}, {"false", "true"}, {"0", "1"}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        for (int32_t answer = 0; answer < 2; answer++) {
            if (strcasecmp(text, words[i][answer]) == 0) {
                *value = answer;
                return VALUE_OK;
            }
        }
    }
    *expected = "yes or no";
    return VALUE_NOT_YES_NO;
}

static ValueFault parse_word(Arena *arena, const ColumnSchema *column, const char *text,
                             const char **value, const char **expected) {
    size_t length = strlen(text);
    for (const char *word = column->extra; *word != '\0';) {
        size_t size = strcspn(word, "|");
        if (size == length && strncasecmp(word, text, size) == 0) {
            *value = memcmp(word, text, size) == 0 ? text : arena_text(arena, word, size);
            return VALUE_OK;
        }
        word += size + (word[size] == '|');
    }
    DateParts date;
    *expected = column->extra;
    return date_recognise(text, &date) ? VALUE_LOOKS_LIKE_DATE : VALUE_NOT_A_WORD;
}

/* Columns of prose in which a whole cell may well be a date. */
static bool takes_dates(const char *name) {
    static const char *const names[] = {"answer", "note", "evidence", "reason", "why",
                                        "source", "time", "kept",     "lot",    "words"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (strcmp(name, names[i]) == 0) {
            return true;
        }
    }
    return false;
}

/* Words of a list with single blanks between, so that lists that mean the same are the same. */
static const char *single_blanks(Arena *arena, const char *text) {
    bool clean = strpbrk(text, "\t\n\r") == NULL && strstr(text, "  ") == NULL;
    if (clean) {
        return text;
    }
    char *copy = arena_text(arena, text, strlen(text));
    char *put = copy;
    const char *place = text;
    const char *word = NULL;
    size_t length = 0;
    while (text_next_word(&place, &word, &length)) {
        if (put > copy) {
            *put++ = ' ';
        }
        memcpy(put, word, length);
        put += length;
    }
    *put = '\0';
    return copy;
}

static ValueFault parse_text(Arena *arena, const ColumnSchema *column, const char *text,
                             const char **value, const char **expected) {
    DateParts date;
    if (column->name[0] == 'd' && strcmp(column->name, "date") == 0) {
        *expected = "a date as year-month-day: 2026-04-03";
        *value = text;
        return date_is_iso(text) ? VALUE_OK : VALUE_NOT_A_DATE;
    }
    text = column->kind == COLUMN_LIST ? single_blanks(arena, text) : text;
    if (date_recognise(text, &date) && !takes_dates(column->name)) {
        *expected = "text that is no date";
        return VALUE_LOOKS_LIKE_DATE;
    }
    *value = text;
    return VALUE_OK;
}

static bool is_text(ColumnKind kind) {
    return kind == COLUMN_TEXT || kind == COLUMN_REF || kind == COLUMN_LIST || kind == COLUMN_WORD;
}

/* --- exported ----------------------------------------------------------------------------------
 */

ValueFault value_parse(Arena *arena, const ColumnSchema *column, const char *text,
                       bool decimal_comma, void *field, const char **expected) {
    const char *words = "";
    double real = (double)NAN;
    int32_t whole = INT_BLANK;
    ValueFault fault = VALUE_OK;
    *expected = "";
    if (*text != '\0') {
        switch (column->kind) {
        case COLUMN_TEXT:
        case COLUMN_REF:
        case COLUMN_LIST:
            fault = parse_text(arena, column, text, &words, expected);
            break;
        case COLUMN_WORD:
            fault = parse_word(arena, column, text, &words, expected);
            break;
        case COLUMN_REAL:
            fault = parse_real(column, text, decimal_comma, &real, expected);
            break;
        case COLUMN_INT:
            fault = parse_int(text, decimal_comma, &whole, expected);
            break;
        case COLUMN_AWG:
            fault = parse_awg(text, &whole, expected);
            break;
        case COLUMN_FLAG:
            fault = parse_flag(text, &whole, expected);
            break;
        }
    }
    bool good = fault == VALUE_OK;
    if (is_text(column->kind)) {
        words = good ? words : "";
        memcpy(field, &words, sizeof words);
    } else if (column->kind == COLUMN_REAL) {
        real = good ? real : (double)NAN;
        memcpy(field, &real, sizeof real);
    } else {
        whole = good ? whole : INT_BLANK;
        memcpy(field, &whole, sizeof whole);
    }
    return fault;
}

/* Whole thousandths and the like, without the printing machinery: digits / 10^places is correctly
 * rounded, so when it gives the value back these digits are the shortest that do. */
static bool print_short(double value, char text[40]) {
    static const double powers[] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6};
    double size = fabs(value);
    if (!(size < 1e9)) {
        return false;
    }
    for (int places = 0; places <= 6; places++) {
        double digits = rint(size * powers[places]);
        double back = digits / powers[places];
        if (back < size || back > size) {
            continue;
        }
        uint64_t whole = (uint64_t)digits;
        char *at = text + 39;
        *at = '\0';
        for (int i = 0; whole > 0 || i <= places; i++) {
            if (i == places && places > 0) {
                *--at = '.';
            }
            *--at = (char)('0' + whole % 10);
            whole /= 10;
        }
        if (value < 0.0) {
            *--at = '-';
        }
        memmove(text, at, (size_t)(text + 40 - at));
        return true;
    }
    return false;
}

static const char *real_text(Arena *arena, double value) {
    char text[40] = "";
    if (print_short(value, text)) {
        return arena_text(arena, text, strlen(text));
    }
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, sizeof text, "%.*g", digits, value);
        for (char *c = text; *c != '\0'; c++) { /* whatever point the locale has */
            *c = is_digit(*c) || strchr("e+-", *c) != NULL ? *c : '.';
        }
        const char *at = text;
        Number number;
        CHECK(scan_number(&at, false, &number) == SCAN_OK);
        double back = to_double(&number);
        if (!(back < value) && !(back > value)) {
            break;
        }
    }
    return arena_text(arena, text, strlen(text));
}

const char *value_text(Arena *arena, const ColumnSchema *column, const void *field) {
    if (is_text(column->kind)) {
        const char *text = NULL;
        memcpy(&text, field, sizeof text);
        return text;
    }
    if (column->kind == COLUMN_REAL) {
        double value = 0.0;
        memcpy(&value, field, sizeof value);
        return isfinite(value) ? real_text(arena, value) : "";
    }
    int32_t whole = 0;
    memcpy(&whole, field, sizeof whole);
    if (whole == INT_BLANK) {
        return "";
    }
    if (column->kind == COLUMN_FLAG) {
        return whole != 0 ? "yes" : "no";
    }
    if (column->kind == COLUMN_AWG) {
        return value_awg_text(arena, whole);
    }
    return arena_format(arena, "%d", (int)whole);
}

const char *value_short_text(Arena *arena, const ColumnSchema *column, const void *field) {
    if (column->kind != COLUMN_REAL) {
        return value_text(arena, column, field);
    }
    double value = 0.0;
    memcpy(&value, field, sizeof value);
    if (!isfinite(value)) {
        return "";
    }
    return real_text(arena, fabs(value) >= 1000.0 ? rint(value) : rounded_to(value, 4));
}

bool value_blank(const ColumnSchema *column, const void *field) {
    if (is_text(column->kind)) {
        const char *text = NULL;
        memcpy(&text, field, sizeof text);
        return *text == '\0';
    }
    if (column->kind == COLUMN_REAL) {
        double value = 0.0;
        memcpy(&value, field, sizeof value);
        return !isfinite(value);
    }
    int32_t whole = 0;
    memcpy(&whole, field, sizeof whole);
    return whole == INT_BLANK;
}

bool value_equal(const ColumnSchema *column, const void *left, const void *right) {
    if (is_text(column->kind)) {
        const char *a = NULL;
        const char *b = NULL;
        memcpy(&a, left, sizeof a);
        memcpy(&b, right, sizeof b);
        return strcmp(a, b) == 0;
    }
    if (column->kind == COLUMN_REAL) {
        double a = 0.0;
        double b = 0.0;
        memcpy(&a, left, sizeof a);
        memcpy(&b, right, sizeof b);
        return (isnan(a) && isnan(b)) || (a <= b && a >= b);
    }
    return memcmp(left, right, sizeof(int32_t)) == 0;
}

const char *value_unit(const ColumnSchema *column) {
    return column->kind == COLUMN_REAL ? ending_of(column->name)->unit : "";
}

const char *value_awg_text(Arena *arena, int32_t awg) {
    char text[UNITS_AWG_TEXT];
    units_awg_format((int)awg, text);
    return arena_text(arena, text, strlen(text));
}
