#include "app/bench_ring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "shop/rig.h"
#include "store/revision.h"

static int compare_readings(const void *left, const void *right) {
    const BenchReadingRow *a = *(const BenchReadingRow *const *)left;
    const BenchReadingRow *b = *(const BenchReadingRow *const *)right;
    int order = strcmp(a->time, b->time);
    return order != 0 ? order : strcmp(a->reading, b->reading);
}

/* Readings of the mated aircraft have no module. */
static bool is_of(const BenchReadingRow *row, const char *module) {
    return strcmp(*row->module == '\0' ? RIG_INSTALLED : row->module, module) == 0;
}

/* Readings that nobody took back, in the order of their time. */
static const BenchReadingRow **standing(Arena *arena, const TableSet *kept, const char *module,
                                        size_t *count) {
    NameMap undone = {0};
    const BenchReadingRow *all = kept->bench_reading.rows;
    size_t all_count = kept->bench_reading.count;
    for (size_t i = 0; i < all_count; i++) {
        if (*all[i].undoes != '\0') {
            name_map_add(&undone, arena, all[i].undoes, 1);
        }
    }
    const BenchReadingRow **rows = ARENA_ARRAY(arena, const BenchReadingRow *, all_count);
    *count = 0;
    for (size_t i = 0; i < all_count; i++) {
        if (*all[i].undoes == '\0' && is_of(&all[i], module) &&
            name_map_find(&undone, all[i].reading) == NAME_NONE) {
            rows[(*count)++] = &all[i];
        }
    }
    if (*count > 1) {
        qsort(rows, *count, sizeof *rows, compare_readings);
    }
    return rows;
}

static const char *points(Arena *arena, const char *point_a, const char *point_b) {
    bool turned = strcmp(point_a, point_b) > 0;
    return arena_format(arena, "%s|%s", turned ? point_b : point_a, turned ? point_a : point_b);
}

/* The module's rows of the script, and the hash of them all. */
static void find_script(Arena *arena, const Proof *proof, const char *module, BenchRing *ring) {
    const RingoutRow *rows = proof->set.ringout.rows;
    Buffer all = {.arena = arena};
    buffer_text(&all, "");
    for (size_t i = 0; i < proof->set.ringout.count; i++) {
        if (strcmp(rows[i].module, module) == 0) {
            ring->script = ring->steps == 0 ? &rows[i] : ring->script;
            ring->steps++;
            buffer_format(&all, "%s\n", rows[i].measured);
        }
    }
    char *hash = ARENA_ARRAY(arena, char, REVISION_HEX);
    revision_hash_bytes(all.bytes, all.length, hash);
    hash[32] = '\0'; /* as long as those of single steps */
    ring->design = hash;
}

/* The last of each pair first. A pair of the script is read by its step. */
static void find_beside(Arena *arena, const BenchReadingRow **rows, size_t count, BenchRing *ring) {
    NameMap known = {0};
    for (size_t i = 0; i < ring->steps; i++) {
        name_map_add(&known, arena, points(arena, ring->script[i].point_a, ring->script[i].point_b),
                     0);
    }
    ring->beside = ARENA_ARRAY(arena, const BenchReadingRow *, count);
    for (size_t i = count; i-- > 0;) {
        if (strcmp(rows[i]->measured, ring->design) == 0 && *rows[i]->point_a != '\0' &&
            name_map_add(&known, arena, points(arena, rows[i]->point_a, rows[i]->point_b), 0) ==
                NAME_NONE) {
            ring->beside[ring->beside_count++] = rows[i];
        }
    }
}

void bench_ring(Arena *arena, Proof *proof, const char *module, const TableSet *kept,
                BenchRing *ring) {
    bench_step(proof, BENCH_RINGOUT);
    *ring = (BenchRing){0};
    find_script(arena, proof, module, ring);
    NameMap steps = {0};
    for (size_t i = 0; i < ring->steps; i++) {
        name_map_add(&steps, arena, ring->script[i].measured, (uint32_t)i);
    }
    ring->of = ARENA_ARRAY(arena, const BenchReadingRow *, ring->steps);
    NameMap earlier = {0};
    size_t count;
    const BenchReadingRow **rows = standing(arena, kept, module, &count);
    for (size_t i = 0; i < count; i++) {
        uint32_t at = name_map_find(&steps, rows[i]->measured);
        if (at != NAME_NONE) {
            ring->of[at] = rows[i];
        } else if (strcmp(rows[i]->measured, ring->design) != 0) {
            const char *what = arena_format(arena, "%s %d %s", rows[i]->measured, rows[i]->step,
                                            points(arena, rows[i]->point_a, rows[i]->point_b));
            ring->earlier += name_map_add(&earlier, arena, what, 0) == NAME_NONE ? 1 : 0;
        }
    }
    for (size_t i = 0; i < ring->steps; i++) {
        /* Where two steps measure the same, one reading is both's. */
        ring->of[i] = ring->of[name_map_find(&steps, ring->script[i].measured)];
        if (ring->of[i] != NULL) {
            bool good = bench_reading_good(ring->of[i], &ring->script[i]);
            ring->good += good ? 1 : 0;
            ring->bad += good ? 0 : 1;
        }
    }
    find_beside(arena, rows, count, ring);
}

bool bench_reading_good(const BenchReadingRow *reading, const RingoutRow *step) {
    double ohm = reading->open == 1 ? (double)INFINITY : reading->ohm;
    return !(!isnan(step->low_ohm) && ohm < step->low_ohm) &&
           !(!isnan(step->high_ohm) && ohm > step->high_ohm);
}
