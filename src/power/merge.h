/* Merging of things that turn out to be one: a forest over 0..count-1 in a plain array. The root of
 * a set is its lowest member, so what comes out does not depend on the order of merging. */
#ifndef POWER_MERGE_H
#define POWER_MERGE_H

#include <stdint.h>

/* Every thing is alone. */
static inline void merge_start(uint32_t *parent, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        parent[i] = i;
    }
}

/* The lowest member of the set of `item`. Halves the way it walks. */
static inline uint32_t merge_root(uint32_t *parent, uint32_t item) {
    while (parent[item] != item) {
        parent[item] = parent[parent[item]];
        item = parent[item];
    }
    return item;
}

static inline void merge_join(uint32_t *parent, uint32_t a, uint32_t b) {
    a = merge_root(parent, a);
    b = merge_root(parent, b);
    if (a < b) {
        parent[b] = a;
    } else {
        parent[a] = b;
    }
}

#endif
