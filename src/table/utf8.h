/* UTF-8 (RFC 3629): is it, and what to do where it is not. Everything a table holds is valid UTF-8
 * without control characters other than line breaks and tabs; these functions see to that on the
 * way in, and again on the way out for texts that came from elsewhere (file names). */
#ifndef TABLE_UTF8_H
#define TABLE_UTF8_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

/* Bytes of the valid sequence at `at` (1 to 4), 0 when there is none before `end`. Overlong forms,
 * surrogates and numbers beyond U+10FFFF are not valid. */
size_t utf8_sequence(const char *at, const char *end);

/* What utf8_clean found. Lines count from 1; a lone CR ends a line too. */
typedef struct Utf8Report {
    size_t nul_count;
    size_t bad_count; /* bytes that are no UTF-8, control characters among them */
    uint32_t nul_line;
    uint32_t bad_line;
    unsigned char bad_byte; /* the first one */
} Utf8Report;

/* Replaces every bad byte of `text` by '?', in place, and tells where they were. NULs stay. */
Utf8Report utf8_clean(char *text, size_t length);

/* `text` itself when it is clean, else a copy of it that utf8_clean went over. */
const char *utf8_safe(Arena *arena, const char *text);

/* Characters in a zero-terminated text: its width on a terminal, near enough. */
size_t utf8_width(const char *text);

#endif
