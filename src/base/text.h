/* Text helpers: a growing buffer, splitting lists, a name table, the nearest name. Text is UTF-8,
 * zero-terminated, owned by an arena. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

/* --- buffer ------------------------------------------------------------------------------------
 */

typedef struct Buffer {
    Arena *arena;
    char *bytes; /* always zero-terminated once something was added */
    size_t length;
    size_t capacity;
} Buffer;

void buffer_add(Buffer *buffer, const char *bytes, size_t length);
void buffer_text(Buffer *buffer, const char *text);
void buffer_format(Buffer *buffer, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* --- names to numbers --------------------------------------------------------------------------
 */

/* A map from text to a number. Keeps pointers to the names, not copies. All zero is empty. */
typedef struct NameMap {
    const char **names;
    uint32_t *values;
    uint32_t *hashes;
    size_t capacity;
    size_t count;
} NameMap;

#define NAME_NONE UINT32_MAX

/* Adds name -> value; returns NAME_NONE, or the value already there (which then stays). */
uint32_t name_map_add(NameMap *map, Arena *arena, const char *name, uint32_t value);

/* The value of `name`, NAME_NONE when it is not there. */
uint32_t name_map_find(const NameMap *map, const char *name);

/* --- words -------------------------------------------------------------------------------------
 */

/* Splits at spaces, tabs and line breaks; *words gets arena copies. Returns the count. */
size_t text_split(Arena *arena, const char *text, char ***words);

/* The next word at *place of a list separated by blanks; false at the end. Copies nothing. */
bool text_next_word(const char **place, const char **word, size_t *length);

/* True when `word` is one of the blank-separated words of `list`. */
bool text_has_word(const char *list, const char *word);

/* Order of keys: by bytes, but runs of digits by value, so that W9 comes before W10. Total: equal
 * only when the bytes are equal. */
int text_compare_keys(const char *left, const char *right);

/* --- nearest name ------------------------------------------------------------------------------
 */

/* The candidate with the smallest edit distance (insert, delete, change, swap of neighbours; case
 * ignored at a smaller cost), NULL when none is near enough to be meant: at most a third of the
 * longer one's length, plus one. Ties: the first in the list. */
const char *text_nearest(const char *name, const char *const *candidates, size_t count);

/* --- numbers ------------------------------------------------------------------------------------
 */

/* A number from 1 to 3999 in small Roman letters, as front pages have: "iv". */
const char *text_roman(Arena *arena, uint32_t number);

#endif
