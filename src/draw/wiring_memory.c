/* Problems are written down field by field (structs have gaps), looked up by the hash of that, and
 * held against it byte by byte. What the last books needed lies in generations, each in one arena:
 * what is found in an older one is copied into the newest, and the oldest goes as a whole. */
#include "draw/wiring_memory.h"

#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"

/* Two people who edit two jobs in turn find theirs; more begin to forget. */
enum { GENERATIONS = 4, FIRST_SLOTS = 256 };

typedef struct Known {
    uint64_t hash;
    const char *key;
    size_t key_bytes;
    bool good;
    LayoutProblem out; /* arrays are the generation's */
} Known;

typedef struct Generation {
    Arena arena;
    Known **slots; /* a power of two of them, at most half used */
    size_t slot_count;
    size_t count;
} Generation;

struct WiringMemory {
    Generation generations[GENERATIONS];
    unsigned newest;
    size_t found;
    size_t made;
};

/* --- keys ---------------------------------------------------------------------------------------
 */

#define ADD(buffer, field) buffer_add((buffer), (const char *)&(field), sizeof(field))

static void add_node(Buffer *key, const LayoutNode *node) {
    ADD(key, node->width_mm);
    ADD(key, node->middle_mm);
    ADD(key, node->head_mm);
    ADD(key, node->foot_mm);
    ADD(key, node->row_mm);
    ADD(key, node->fill);
    ADD(key, node->through);
    ADD(key, node->lean);
    ADD(key, node->copy_of);
}

static void add_link(Buffer *key, const LayoutLink *link) {
    for (int i = 0; i < 2; i++) {
        ADD(key, link->end[i].node);
        ADD(key, link->end[i].port);
        ADD(key, link->end[i].mark_mm);
        ADD(key, link->end[i].inset_mm);
    }
    ADD(key, link->rows);
    ADD(key, link->quiet_rows);
    ADD(key, link->label_mm);
    ADD(key, link->gate_mark_mm);
    ADD(key, link->gate_first);
    ADD(key, link->gate_count);
}

static void write_key(Buffer *key, const LayoutProblem *problem) {
    ADD(key, problem->node_count);
    for (size_t i = 0; i < problem->node_count; i++) {
        add_node(key, &problem->nodes[i]);
    }
    ADD(key, problem->link_count);
    for (size_t i = 0; i < problem->link_count; i++) {
        add_link(key, &problem->links[i]);
    }
    ADD(key, problem->gate_count);
    for (size_t i = 0; i < problem->gate_count; i++) {
        ADD(key, problem->gates[i]);
    }
    ADD(key, problem->gate_width_mm);
    ADD(key, problem->gate_head_mm);
    ADD(key, problem->field.left_mm);
    ADD(key, problem->field.top_mm);
    ADD(key, problem->field.right_mm);
    ADD(key, problem->field.bottom_mm);
    ADD(key, problem->plain);
    ADD(key, problem->quick);
    ADD(key, problem->narrow);
}

/* FNV-1a; only where to look hangs on it. */
static uint64_t hash_of(const Buffer *key) {
    uint64_t hash = 14695981039346656037u;
    for (size_t i = 0; i < key->length; i++) {
        hash = (hash ^ (unsigned char)key->bytes[i]) * 1099511628211u;
    }
    return hash;
}

/* --- what is known ------------------------------------------------------------------------------
 */

static Known *find(const Generation *generation, uint64_t hash, const Buffer *key) {
    for (size_t i = hash; generation->slot_count > 0; i++) {
        Known *known = generation->slots[i & (generation->slot_count - 1)];
        if (known == NULL) {
            break;
        }
        if (known->hash == hash && known->key_bytes == key->length &&
            memcmp(known->key, key->bytes, key->length) == 0) {
            return known;
        }
    }
    return NULL;
}

static void put(Generation *generation, Known *known) {
    size_t at = known->hash & (generation->slot_count - 1);
    while (generation->slots[at] != NULL) {
        at = (at + 1) & (generation->slot_count - 1);
    }
    generation->slots[at] = known;
}

static void make_room(Generation *generation) {
    if (2 * generation->count < generation->slot_count) {
        return;
    }
    Known **old = generation->slots;
    size_t old_count = generation->slot_count;
    generation->slot_count = old_count == 0 ? FIRST_SLOTS : 2 * old_count;
    generation->slots = ARENA_ARRAY(&generation->arena, Known *, generation->slot_count);
    for (size_t i = 0; i < old_count; i++) {
        if (old[i] != NULL) {
            put(generation, old[i]);
        }
    }
}

static void *copy(Arena *arena, const void *items, size_t count, size_t size) {
    void *place = arena_take(arena, count, size);
    if (count > 0) {
        memcpy(place, items, count * size);
    }
    return place;
}

#define COPY(arena, from, items, count)                                                            \
    copy((arena), (from)->items, (from)->count, sizeof *(from)->items)

/* All that a layout fills in, into arrays of `arena`. Gates are as they were. */
static void copy_layout(Arena *arena, const LayoutProblem *from, LayoutProblem *to) {
    uint32_t *gates = to->gates;
    size_t gate_capacity = to->gate_capacity;
    *to = *from;
    to->gates = gates;
    to->gate_capacity = gate_capacity;
    to->nodes = COPY(arena, from, nodes, node_count);
    to->node_capacity = from->node_count;
    to->links = COPY(arena, from, links, link_count);
    to->link_capacity = from->link_count;
    to->pieces = COPY(arena, from, pieces, piece_count);
    to->lines = COPY(arena, from, lines, line_count);
    to->points = COPY(arena, from, points, point_count);
    to->point_capacity = from->point_count;
    to->stands = COPY(arena, from, stands, stand_count);
}

static void remember(Generation *generation, uint64_t hash, const Buffer *key, bool good,
                     const LayoutProblem *layout) {
    make_room(generation);
    Known *known = ARENA_NEW(&generation->arena, Known);
    known->hash = hash;
    known->key = copy(&generation->arena, key->bytes, key->length, 1);
    known->key_bytes = key->length;
    known->good = good;
    copy_layout(&generation->arena, layout, &known->out);
    put(generation, known);
    generation->count++;
}

/* --- exported -----------------------------------------------------------------------------------
 */

WiringMemory *wiring_memory_open(void) {
    WiringMemory *memory = calloc(1, sizeof *memory);
    CHECK(memory != NULL);
    return memory;
}

void wiring_memory_close(WiringMemory *memory) {
    for (int i = 0; memory != NULL && i < GENERATIONS; i++) {
        arena_free(&memory->generations[i].arena);
    }
    free(memory);
}

void wiring_memory_turn(WiringMemory *memory) {
    memory->newest = (memory->newest + 1) % GENERATIONS;
    Generation *newest = &memory->generations[memory->newest];
    arena_free(&newest->arena);
    *newest = (Generation){.count = 0};
}

bool wiring_memory_layout(WiringMemory *memory, Arena *arena, LayoutProblem *problem) {
    if (memory == NULL) {
        return wiring_layout(arena, problem);
    }
    Arena scratch = {0};
    Buffer key = {.arena = &scratch};
    write_key(&key, problem);
    uint64_t hash = hash_of(&key);
    Known *known = NULL;
    unsigned age = 0;
    for (; age < GENERATIONS && known == NULL; age++) {
        unsigned at = (memory->newest + GENERATIONS - age) % GENERATIONS;
        known = find(&memory->generations[at], hash, &key);
    }
    Generation *newest = &memory->generations[memory->newest];
    bool good = known != NULL ? known->good : wiring_layout(arena, problem);
    memory->found += known != NULL ? 1 : 0;
    memory->made += known == NULL ? 1 : 0;
    if (known != NULL) {
        copy_layout(arena, &known->out, problem);
    }
    if (known == NULL || age > 1) {
        remember(newest, hash, &key, good, problem);
    }
    arena_free(&scratch);
    return good;
}

void wiring_memory_count(const WiringMemory *memory, size_t *found, size_t *made) {
    *found = memory->found;
    *made = memory->made;
}
