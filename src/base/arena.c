/* Blocks double up to a limit, so that a small job stays small and a large one asks rarely. What is
 * taken is zeroed then and not before: most of a scratch block is never taken. */
#include "base/arena.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"

enum { FIRST_BLOCK_BYTES = 1 << 14, LARGEST_BLOCK_BYTES = 1 << 22 };

struct ArenaBlock {
    ArenaBlock *older;
    size_t capacity_bytes;
    size_t used_bytes;
    alignas(max_align_t) unsigned char bytes[];
};

static size_t round_up(size_t size) {
    size_t step = alignof(max_align_t);
    return (size + step - 1) / step * step;
}

static ArenaBlock *block_new(size_t capacity_bytes, ArenaBlock *older) {
    ArenaBlock *block = malloc(sizeof(ArenaBlock) + capacity_bytes);
    if (block == NULL) {
        fprintf(stderr, "marling: out of memory\n");
        exit(2);
    }
    block->older = older;
    block->capacity_bytes = capacity_bytes;
    block->used_bytes = 0;
    return block;
}

/* `bytes` is a whole number of steps. */
static void *take(Arena *arena, size_t bytes) {
    ArenaBlock *block = arena->block;
    if (block == NULL || block->capacity_bytes - block->used_bytes < bytes) {
        size_t capacity = block == NULL ? FIRST_BLOCK_BYTES : block->capacity_bytes * 2;
        capacity = capacity > LARGEST_BLOCK_BYTES ? LARGEST_BLOCK_BYTES : capacity;
        capacity = capacity < bytes ? bytes : capacity;
        block = block_new(capacity, block);
        arena->block = block;
    }
    void *place = block->bytes + block->used_bytes;
    block->used_bytes += bytes;
    arena->used_bytes += bytes;
    return place;
}

void *arena_take(Arena *arena, size_t count, size_t size) {
    CHECK(size > 0 && count <= SIZE_MAX / 4 / size);
    size_t bytes = round_up(count * size);
    return memset(take(arena, bytes), 0, bytes);
}

void arena_free(Arena *arena) {
    for (ArenaBlock *block = arena->block; block != NULL;) {
        ArenaBlock *older = block->older;
        free(block);
        block = older;
    }
    *arena = (Arena){0};
}

void arena_adopt(Arena *arena, Arena *other) {
    ArenaBlock **end = &arena->block; /* behind, so that what is half full goes on being filled */
    while (*end != NULL) {
        end = &(*end)->older;
    }
    *end = other->block;
    arena->used_bytes += other->used_bytes;
    *other = (Arena){0};
}

char *arena_text(Arena *arena, const char *text, size_t length) {
    CHECK(length < SIZE_MAX / 4);
    char *copy = take(arena, round_up(length + 1));
    if (length > 0) {
        memcpy(copy, text, length);
    }
    copy[length] = '\0';
    return copy;
}

/* Written into what is left of the block, and again only where that was too little. */
char *arena_format(Arena *arena, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    ArenaBlock *block = arena->block;
    size_t room = block == NULL ? 0 : block->capacity_bytes - block->used_bytes;
    char *left = room == 0 ? NULL : (char *)block->bytes + block->used_bytes;
    int length = vsnprintf(left, room, format, arguments);
    va_end(arguments);
    CHECK(length >= 0);
    size_t bytes = round_up((size_t)length + 1);
    char *text = take(arena, bytes);
    if (text != left) {
        vsnprintf(text, bytes, format, again);
    }
    va_end(again);
    return text;
}

void *arena_grow(Arena *arena, void *items, size_t count, size_t size, size_t needed,
                 size_t *capacity) {
    size_t larger = *capacity < 8 ? 8 : *capacity * 2;
    larger = larger < needed ? needed : larger;
    void *place = arena_take(arena, larger, size);
    if (count > 0) {
        memcpy(place, items, count * size);
    }
    *capacity = larger;
    return place;
}
