#include "rating/marking.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"

/* --- significant wire number ---------------------------------------------------------------------
 */

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static bool is_capital(char c) {
    return c >= 'A' && c <= 'Z';
}

/* Reads digits at *at as a number below a million; false when there are none or too many. */
static bool take_number(const char *text, size_t *at, unsigned *number) {
    size_t start = *at;
    unsigned value = 0;
    while (is_digit(text[*at]) && *at - start < 6) {
        value = value * 10 + (unsigned)(text[*at] - '0');
        (*at)++;
    }
    *number = value;
    return *at > start && !is_digit(text[*at]);
}

/* Reads a gauge at *at: the noughts of 1/0 and up, or one or two digits. */
static bool take_gauge(const char *text, size_t *at, int *awg) {
    char digits[8] = {0};
    size_t length = strspn(text + *at, "0123456789");
    if (length == 0 || length > 4) {
        return false;
    }
    memcpy(digits, text + *at, length);
    if (!units_awg_parse(digits, awg)) {
        return false;
    }
    *at += length;
    return true;
}

MarkingSlip marking_number_parse(const char *text, const char *circuit_letters,
                                 MarkingNumber *number, size_t *place) {
    MarkingNumber got = {0};
    size_t at = 0;
    *place = 0;
    if (is_digit(text[0]) && !take_number(text, &at, &got.unit)) {
        return MARKING_NO_CIRCUIT;
    }
    *place = at;
    if (!is_capital(text[at])) {
        return MARKING_NO_CIRCUIT;
    }
    if (strchr(circuit_letters, text[at]) == NULL) {
        return MARKING_UNKNOWN_CIRCUIT;
    }
    got.circuit = text[at++];
    *place = at;
    if (!take_number(text, &at, &got.wire) || got.wire == 0) {
        return MARKING_NO_WIRE;
    }
    *place = at;
    for (size_t i = 0; i < MARKING_SEGMENT_LETTERS && is_capital(text[at]); i++) {
        got.segment[i] = text[at++];
    }
    if (got.segment[0] == '\0') {
        return MARKING_NO_SEGMENT;
    }
    *place = at;
    if (!take_gauge(text, &at, &got.awg)) {
        return MARKING_NO_GAUGE;
    }
    *place = at;
    if (text[at] != '\0') {
        if (strchr("NVABC", text[at]) == NULL || text[at + 1] != '\0') {
            return MARKING_BAD_SUFFIX;
        }
        got.suffix = text[at++];
        *place = at;
    }
    *number = got;
    return MARKING_GOOD;
}

char *marking_number_format(const MarkingNumber *number, char text[MARKING_TEXT]) {
    char unit[12] = "";
    char gauge[12] = "";
    if (number->unit != 0) {
        snprintf(unit, sizeof unit, "%u", number->unit);
    }
    if (number->awg >= 1) {
        snprintf(gauge, sizeof gauge, "%d", number->awg);
    } else {
        CHECK(number->awg >= UNITS_AWG_THICKEST);
        memset(gauge, '0', (size_t)(1 - number->awg));
    }
    char suffix[2] = {number->suffix, '\0'};
    int length = snprintf(text, MARKING_TEXT, "%s%c%u%s%s%s", unit, number->circuit, number->wire,
                          number->segment, gauge, suffix);
    CHECK(length > 0 && length < MARKING_TEXT);
    return text;
}

void marking_segment(unsigned index, char letters[MARKING_SEGMENT_LETTERS + 1]) {
    const char alphabet[] = "ABCDEFGHJKLMNPQRSTUVWXYZ";
    const unsigned count = sizeof alphabet - 1;
    CHECK(index < count + count * count);
    size_t at = 0;
    if (index >= count) {
        index -= count;
        letters[at++] = alphabet[index / count];
        index %= count;
    }
    letters[at++] = alphabet[index];
    letters[at] = '\0';
}

/* --- colour code ---------------------------------------------------------------------------------
 */

bool marking_part_parse(const char *text, MarkingPart *part) {
    MarkingPart got = {0};
    size_t length = strcspn(text, "-");
    if (length == 0 || length >= sizeof got.specification || text[length] != '-') {
        return false;
    }
    memcpy(got.specification, text, length);
    size_t at = length + 1;
    if (!take_gauge(text, &at, &got.awg) || text[at] != '-') {
        return false;
    }
    at++;
    size_t digits = strspn(text + at, "0123456789");
    if (digits == 0 || digits > 4 || text[at + digits] != '\0') {
        return false;
    }
    for (size_t i = 0; i < digits; i++) {
        got.digits[i] = (unsigned)(text[at + i] - '0');
    }
    got.stripes = (unsigned)digits - 1;
    *part = got;
    return true;
}

/* --- places of marks
 * ------------------------------------------------------------------------------ */

/* Marks at `end_mm` from both ends and evenly between, at most `gap_mm` apart. */
static size_t place_evenly(double length_mm, double end_mm, double gap_mm, double *at_mm,
                           size_t room) {
    const double rounding = 1e-9;
    double span_mm = length_mm - 2.0 * end_mm;
    size_t gaps = (size_t)ceil(span_mm / gap_mm - rounding);
    gaps = gaps == 0 ? 1 : gaps;
    for (size_t i = 0; i <= gaps && i < room; i++) {
        at_mm[i] = end_mm + span_mm * (double)i / (double)gaps;
    }
    return gaps + 1;
}

size_t marking_places(double length_mm, double *at_mm, size_t room) {
    double length_in = units_in_from_mm(length_mm);
    if (length_in < MARKING_NONE_BELOW_IN) {
        return 0;
    }
    if (length_in <= MARKING_CENTRE_UP_TO_IN) {
        if (room > 0) {
            at_mm[0] = 0.5 * length_mm;
        }
        return 1;
    }
    return place_evenly(length_mm, units_mm_from_in(MARKING_END_IN),
                        units_mm_from_in(MARKING_GAP_IN), at_mm, room);
}

size_t marking_sleeve_places(double length_mm, double end_mm, double *at_mm, size_t room) {
    if (length_mm <= 2.0 * end_mm) {
        if (room > 0) {
            at_mm[0] = 0.5 * length_mm;
        }
        return 1;
    }
    return place_evenly(length_mm, end_mm, units_mm_from_m(units_m_from_ft(MARKING_SLEEVE_GAP_FT)),
                        at_mm, room);
}
