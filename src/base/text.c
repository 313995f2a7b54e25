#include "base/text.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/check.h"

/* --- buffer ------------------------------------------------------------------------------------
 */

static void buffer_reserve(Buffer *buffer, size_t more) {
    size_t needed = buffer->length + more + 1;
    if (needed > buffer->capacity) {
        buffer->bytes = arena_grow(buffer->arena, buffer->bytes, buffer->length, 1,
                                   needed < 256 ? 256 : needed, &buffer->capacity);
    }
}

void buffer_add(Buffer *buffer, const char *bytes, size_t length) {
    buffer_reserve(buffer, length);
    if (length > 0) {
        memcpy(buffer->bytes + buffer->length, bytes, length);
    }
    buffer->length += length;
    buffer->bytes[buffer->length] = '\0';
}

void buffer_text(Buffer *buffer, const char *text) {
    buffer_add(buffer, text, strlen(text));
}

void buffer_format(Buffer *buffer, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    CHECK(length >= 0);
    buffer_reserve(buffer, (size_t)length);
    vsnprintf(buffer->bytes + buffer->length, (size_t)length + 1, format, again);
    va_end(again);
    buffer->length += (size_t)length;
}

/* --- names to numbers --------------------------------------------------------------------------
 */

static uint32_t hash_name(const char *name) {
    uint32_t hash = 2166136261u; /* FNV-1a */
    for (; *name != '\0'; name++) {
        hash = (hash ^ (unsigned char)*name) * 16777619u;
    }
    return hash;
}

static size_t slot_of(const NameMap *map, const char *name, uint32_t hash) {
    size_t slot = hash & (map->capacity - 1);
    while (map->names[slot] != NULL &&
           (map->hashes[slot] != hash || strcmp(map->names[slot], name) != 0)) {
        slot = (slot + 1) & (map->capacity - 1);
    }
    return slot;
}

static void name_map_grow(NameMap *map, Arena *arena) {
    NameMap larger = {.capacity = map->capacity == 0 ? 16 : map->capacity * 2};
    larger.names = ARENA_ARRAY(arena, const char *, larger.capacity);
    larger.values = ARENA_ARRAY(arena, uint32_t, larger.capacity);
    larger.hashes = ARENA_ARRAY(arena, uint32_t, larger.capacity);
    for (size_t i = 0; i < map->capacity; i++) {
        if (map->names[i] != NULL) {
            size_t slot = slot_of(&larger, map->names[i], map->hashes[i]);
            larger.names[slot] = map->names[i];
            larger.values[slot] = map->values[i];
            larger.hashes[slot] = map->hashes[i];
        }
    }
    larger.count = map->count;
    *map = larger;
}

uint32_t name_map_add(NameMap *map, Arena *arena, const char *name, uint32_t value) {
    if (map->count * 2 >= map->capacity) {
        name_map_grow(map, arena);
    }
    uint32_t hash = hash_name(name);
    size_t slot = slot_of(map, name, hash);
    if (map->names[slot] != NULL) {
        return map->values[slot];
    }
    map->names[slot] = name;
    map->values[slot] = value;
    map->hashes[slot] = hash;
    map->count++;
    return NAME_NONE;
}

uint32_t name_map_find(const NameMap *map, const char *name) {
    if (map->count == 0) {
        return NAME_NONE;
    }
    size_t slot = slot_of(map, name, hash_name(name));
    return map->names[slot] == NULL ? NAME_NONE : map->values[slot];
}

/* --- words -------------------------------------------------------------------------------------
 */

static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

bool text_next_word(const char **place, const char **word, size_t *length) {
    const char *at = *place;
    while (is_blank(*at)) {
        at++;
    }
    const char *start = at;
    while (*at != '\0' && !is_blank(*at)) {
        at++;
    }
    *place = at;
    *word = start;
    *length = (size_t)(at - start);
    return at != start;
}

bool text_has_word(const char *list, const char *word) {
    const char *found = NULL;
    size_t length = 0;
    size_t wanted = strlen(word);
    while (text_next_word(&list, &found, &length)) {
        if (length == wanted && memcmp(found, word, length) == 0) {
            return true;
        }
    }
    return false;
}

size_t text_split(Arena *arena, const char *text, char ***words) {
    size_t count = 0;
    size_t capacity = 0;
    const char *word = NULL;
    size_t length = 0;
    *words = NULL;
    while (text_next_word(&text, &word, &length)) {
        *ARENA_PUSH(arena, *words, count, capacity) = arena_text(arena, word, length);
    }
    return count;
}

static size_t digit_run(const char *text) {
    size_t length = 0;
    while (text[length] >= '0' && text[length] <= '9') {
        length++;
    }
    return length;
}

/* Compares two digit runs by value; 0 when the values are equal. */
static int compare_runs(const char *left, size_t left_length, const char *right,
                        size_t right_length) {
    while (left_length > 1 && *left == '0') {
        left++;
        left_length--;
    }
    while (right_length > 1 && *right == '0') {
        right++;
        right_length--;
    }
    if (left_length != right_length) {
        return left_length < right_length ? -1 : 1;
    }
    return memcmp(left, right, left_length);
}

int text_compare_keys(const char *left, const char *right) {
    /* What is the same at the start decides nothing, but a run of digits is looked at whole. */
    size_t same = 0;
    while (left[same] == right[same]) {
        if (left[same] == '\0') {
            return 0;
        }
        same++;
    }
    while (same > 0 && left[same - 1] >= '0' && left[same - 1] <= '9') {
        same--;
    }
    const char *l = left + same;
    const char *r = right + same;
    while (*l != '\0' && *r != '\0') {
        size_t left_run = digit_run(l);
        size_t right_run = digit_run(r);
        if (left_run > 0 && right_run > 0) {
            int order = compare_runs(l, left_run, r, right_run);
            if (order != 0) {
                return order;
            }
            l += left_run;
            r += right_run;
            continue;
        }
        if (*l != *r) {
            return (unsigned char)*l < (unsigned char)*r ? -1 : 1;
        }
        l++;
        r++;
    }
    if (*l != *r) {
        return *l == '\0' ? -1 : 1;
    }
    return strcmp(left, right);
}

/* --- nearest name ------------------------------------------------------------------------------
 */

enum { NEAREST_LONGEST = 63, STEP = 2 };

static int change_cost(char a, char b) {
    if (a == b) {
        return 0;
    }
    return tolower((unsigned char)a) == tolower((unsigned char)b) ? 1 : STEP;
}

static int smaller(int a, int b) {
    return a < b ? a : b;
}

/* Optimal string alignment distance in half steps; both at most NEAREST_LONGEST long. */
static int edit_distance(const char *a, size_t a_length, const char *b, size_t b_length) {
    int rows[3][NEAREST_LONGEST + 1];
    int *before = rows[0];
    int *last = rows[1];
    int *now = rows[2];
    for (size_t j = 0; j <= b_length; j++) {
        last[j] = (int)j * STEP;
    }
    for (size_t i = 1; i <= a_length; i++) {
        now[0] = (int)i * STEP;
        for (size_t j = 1; j <= b_length; j++) {
            int best = last[j - 1] + change_cost(a[i - 1], b[j - 1]);
            best = smaller(best, smaller(last[j], now[j - 1]) + STEP);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                best = smaller(best, before[j - 2] + STEP);
            }
            now[j] = best;
        }
        int *oldest = before;
        before = last;
        last = now;
        now = oldest;
    }
    return last[b_length];
}

const char *text_nearest(const char *name, const char *const *candidates, size_t count) {
    size_t name_length = strlen(name);
    const char *nearest = NULL;
    int nearest_distance = 0;
    if (name_length > NEAREST_LONGEST) {
        return NULL;
    }
    for (size_t i = 0; i < count; i++) {
        size_t length = strlen(candidates[i]);
        size_t longer = length > name_length ? length : name_length;
        size_t shorter = length > name_length ? name_length : length;
        int allowed = ((int)longer / 3 + 1) * STEP;
        if (length > NEAREST_LONGEST || (int)(longer - shorter) * STEP > allowed) {
            continue;
        }
        int distance = edit_distance(name, name_length, candidates[i], length);
        if (distance <= allowed && (nearest == NULL || distance < nearest_distance)) {
            nearest = candidates[i];
            nearest_distance = distance;
        }
    }
    return nearest;
}

/* --- numbers ------------------------------------------------------------------------------------
 */

const char *text_roman(Arena *arena, uint32_t number) {
    static const struct {
        uint32_t value;
        const char *letters;
    } STEPS[] = {{1000, "m"}, {900, "cm"}, {500, "d"}, {400, "cd"}, {100, "c"},
                 {90, "xc"},  {50, "l"},   {40, "xl"}, {10, "x"},   {9, "ix"},
                 {5, "v"},    {4, "iv"},   {1, "i"}};
    Buffer out = {.arena = arena};
    for (size_t i = 0; i < sizeof STEPS / sizeof *STEPS; i++) {
        for (; number >= STEPS[i].value; number -= STEPS[i].value) {
            buffer_format(&out, "%s", STEPS[i].letters);
        }
    }
    return out.bytes == NULL ? "" : out.bytes;
}
