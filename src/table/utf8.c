#include "table/utf8.h"

#include <stdbool.h>
#include <string.h>

/* Method: eight bytes at a time while they are plain ASCII without control characters, else byte by
 * byte. Lines are only counted once something is wrong, by going over the text again. */

static bool is_continuation(char c) {
    return ((unsigned char)c & 0xC0u) == 0x80u;
}

static bool is_control(unsigned char c) {
    return c < 0x20 && c != '\t' && c != '\n' && c != '\r';
}

/* True when all eight bytes are 0x20 to 0x7F. */
static bool eight_plain(const char *at) {
    uint64_t word = 0;
    memcpy(&word, at, sizeof word);
    uint64_t below_blank = (word - UINT64_C(0x2020202020202020)) & ~word;
    return ((word | below_blank) & UINT64_C(0x8080808080808080)) == 0;
}

static uint32_t line_at(const char *text, size_t place) {
    uint32_t line = 1;
    for (size_t i = 0; i < place; i++) {
        line += text[i] == '\n' || (text[i] == '\r' && text[i + 1] != '\n');
    }
    return line;
}

/* --- exported ----------------------------------------------------------------------------------
 */

size_t utf8_sequence(const char *at, const char *end) {
    if (at >= end) {
        return 0;
    }
    unsigned char lead = (unsigned char)at[0];
    size_t left = (size_t)(end - at);
    if (lead < 0x80) {
        return 1;
    }
    if (lead >= 0xC2 && lead <= 0xDF) {
        return left >= 2 && is_continuation(at[1]) ? 2 : 0;
    }
    unsigned char second = left >= 2 ? (unsigned char)at[1] : 0;
    if (lead >= 0xE0 && lead <= 0xEF) {
        bool good = left >= 3 && is_continuation(at[1]) && is_continuation(at[2]) &&
                    !(lead == 0xE0 && second < 0xA0) && !(lead == 0xED && second > 0x9F);
        return good ? 3 : 0;
    }
    if (lead >= 0xF0 && lead <= 0xF4) {
        bool good = left >= 4 && is_continuation(at[1]) && is_continuation(at[2]) &&
                    is_continuation(at[3]) && !(lead == 0xF0 && second < 0x90) &&
                    !(lead == 0xF4 && second > 0x8F);
        return good ? 4 : 0;
    }
    return 0;
}

Utf8Report utf8_clean(char *text, size_t length) {
    Utf8Report report = {0};
    size_t first_nul = 0;
    size_t first_bad = 0;
    size_t i = 0;
    while (i < length) {
        if (length - i >= 8 && eight_plain(text + i)) {
            i += 8;
            continue;
        }
        size_t size = utf8_sequence(text + i, text + length);
        if (text[i] == '\0') {
            first_nul = report.nul_count++ == 0 ? i : first_nul;
        } else if (size == 0 || (size == 1 && is_control((unsigned char)text[i]))) {
            if (report.bad_count++ == 0) {
                first_bad = i;
                report.bad_byte = (unsigned char)text[i];
            }
            text[i] = '?';
            size = 1;
        }
        i += size;
    }
    if (report.nul_count > 0) {
        report.nul_line = line_at(text, first_nul);
    }
    if (report.bad_count > 0) {
        report.bad_line = line_at(text, first_bad);
    }
    return report;
}

const char *utf8_safe(Arena *arena, const char *text) {
    size_t length = strlen(text);
    const char *end = text + length;
    for (const char *at = text; at < end;) {
        size_t size = utf8_sequence(at, end);
        if (size == 0 || (size == 1 && is_control((unsigned char)*at))) {
            char *copy = arena_text(arena, text, length);
            utf8_clean(copy, length);
            return copy;
        }
        at += size;
    }
    return text;
}

size_t utf8_width(const char *text) {
    size_t width = 0;
    for (; *text != '\0'; text++) {
        width += !is_continuation(*text);
    }
    return width;
}
