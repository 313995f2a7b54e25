/* Arena: memory that is given back all at once. One per job, per request, per scratch. Everything
 * that comes out is zeroed; sizes are overflow-checked; out of memory stops the program here and
 * nowhere else (callers guard sizes at the edges: file size, rows, request body). */
#ifndef BASE_ARENA_H
#define BASE_ARENA_H

#include <stddef.h>
#include <stdint.h>

typedef struct ArenaBlock ArenaBlock;

typedef struct Arena {
    ArenaBlock *block; /* newest block; older ones hang behind it */
    size_t used_bytes; /* sum of all requests, for reports */
} Arena;

/* An arena whose bytes are all zero is ready for use; there is no init. */

/* Zeroed memory for `count` items of `size` bytes, aligned for any type. count may be 0 (the
 * pointer is then valid but must not be read). */
void *arena_take(Arena *arena, size_t count, size_t size);

/* Gives everything back; the arena is then empty and may be used again. */
void arena_free(Arena *arena);

/* All that `other` holds belongs to `arena` from now on; `other` is empty. */
void arena_adopt(Arena *arena, Arena *other);

/* A copy of `length` bytes of `text` with a terminating zero. */
char *arena_text(Arena *arena, const char *text, size_t length);

/* printf into the arena; the result is zero-terminated. */
char *arena_format(Arena *arena, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Grows an array that lives in the arena: returns room for at least `needed` items of `size`
 * bytes, the first `count` copied, and sets *capacity. The old place is wasted (bounded by
 * doubling). */
void *arena_grow(Arena *arena, void *items, size_t count, size_t size, size_t needed,
                 size_t *capacity);

#define ARENA_NEW(arena, type) ((type *)arena_take((arena), 1, sizeof(type)))
#define ARENA_ARRAY(arena, type, count) ((type *)arena_take((arena), (count), sizeof(type)))

/* Appends a slot to the growing array `items` with fields `count` and `capacity` beside it (both
 * size_t): ARENA_PUSH(arena, list->rows, list->count, list->capacity) is the new slot. */
#define ARENA_PUSH(arena, items, count, capacity)                                                  \
    ((void)((count) == (capacity)                                                                  \
                ? ((items) = arena_grow((arena), (items), (count), sizeof *(items), (count) + 1,   \
                                        &(capacity)))                                              \
                : NULL),                                                                           \
     (count)++, &(items)[(count)-1])

#endif
