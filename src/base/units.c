#include "base/units.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/check.h"

/* Method: the digits in front decide. A run of n noughts is n/0 (thicker than gauge 1, ASTM B258),
 * "n/0" says the same, anything else is the number itself. */

/* What may stand behind the number: nothing, or blanks and "AWG". */
static bool ends_in_awg(const char *rest) {
    const char word[] = "awg";
    while (*rest == ' ') {
        rest++;
    }
    if (*rest == '\0') {
        return true;
    }
    for (size_t i = 0; i < sizeof word - 1; i++, rest++) {
        if (tolower((unsigned char)*rest) != word[i]) {
            return false;
        }
    }
    while (*rest == ' ') {
        rest++;
    }
    return *rest == '\0';
}

bool units_awg_parse(const char *text, int *awg) {
    size_t digits = strspn(text, "0123456789");
    size_t noughts = strspn(text, "0");
    const char *rest = text + digits;
    int value = 0;
    if (digits == 0 || digits > 4) {
        return false;
    }
    if (noughts == digits) {
        value = 1 - (int)noughts;
    } else if (noughts > 0) {
        return false;
    } else {
        for (size_t i = 0; i < digits; i++) {
            value = value * 10 + (text[i] - '0');
        }
        if (rest[0] == '/' && rest[1] == '0') {
            value = 1 - value;
            rest += 2;
        }
    }
    if (value < UNITS_AWG_THICKEST || value > UNITS_AWG_THINNEST || !ends_in_awg(rest)) {
        return false;
    }
    *awg = value;
    return true;
}

char *units_awg_format(int awg, char text[UNITS_AWG_TEXT]) {
    CHECK(awg >= UNITS_AWG_THICKEST && awg <= UNITS_AWG_THINNEST);
    if (awg >= 1) {
        snprintf(text, UNITS_AWG_TEXT, "%d", awg);
    } else {
        snprintf(text, UNITS_AWG_TEXT, "%d/0", 1 - awg);
    }
    return text;
}
