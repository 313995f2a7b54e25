/* Walks need no adjacency lists: a node with two elements keeps the exclusive-or of their numbers,
 * so the one we come from gives the one we go to. Linear in elements and nodes. */
#include "power/collapse.h"

#include <string.h>

#include "base/check.h"

typedef struct Walk {
    const Network *network;
    Collapse *collapse;
    uint32_t first_item[NETWORK_KIND_COUNT + 1]; /* items: all elements counted through, by kind */
    uint32_t *item_ends;                         /* two a item */
    bool *item_done;
    uint8_t *degree;    /* ends at the node, no more than 3 counted */
    uint32_t *item_xor; /* of the items at the node; says the way on at degree 2 */
    bool *kept;
    uint32_t link_count;
} Walk;

/* --- Structure ------------------------------------------------------------------------------- */

static NetworkKind item_kind(const Walk *walk, uint32_t item) {
    NetworkKind kind = NETWORK_RESISTOR;
    while (item >= walk->first_item[kind + 1]) {
        kind++;
    }
    return kind;
}

/* Loads and alternators can be a current source: two in one chain would leave the node between them
 * without a voltage law, so a chain ends before a second one. */
static bool kind_is_single(NetworkKind kind) {
    return kind == NETWORK_LOAD || kind == NETWORK_ALTERNATOR;
}

static void item_meet(Walk *walk, uint32_t item, uint32_t a, uint32_t b) {
    CHECK(a < walk->network->node_count && b < walk->network->node_count);
    walk->item_ends[2 * (size_t)item] = a;
    walk->item_ends[2 * (size_t)item + 1] = b;
    walk->item_xor[a] ^= item;
    walk->item_xor[b] ^= item;
    walk->degree[a] = walk->degree[a] < 3 ? (uint8_t)(walk->degree[a] + 1) : 3;
    walk->degree[b] = walk->degree[b] < 3 ? (uint8_t)(walk->degree[b] + 1) : 3;
    if (a == b) {
        walk->kept[a] = true; /* its two ends are one item: there is no way on */
    }
}

static void walk_begin(Walk *walk, Arena *scratch, bool whole) {
    const Network *network = walk->network;
    uint32_t item_count = 0;
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        uint32_t count = network_kind_count(network, kind);
        CHECK(count < COLLAPSE_INDEX_LIMIT && item_count < COLLAPSE_INDEX_LIMIT);
        walk->first_item[kind] = item_count;
        item_count += count;
    }
    walk->first_item[NETWORK_KIND_COUNT] = item_count;
    walk->item_ends = ARENA_ARRAY(scratch, uint32_t, 2 * (size_t)item_count);
    walk->item_done = ARENA_ARRAY(scratch, bool, item_count);
    walk->degree = ARENA_ARRAY(scratch, uint8_t, network->node_count);
    walk->item_xor = ARENA_ARRAY(scratch, uint32_t, network->node_count);
    walk->kept = ARENA_ARRAY(scratch, bool, network->node_count);
    for (uint32_t i = 0; i < network->resistor_count; i++) {
        item_meet(walk, i, network->resistors[i].a, network->resistors[i].b);
    }
    for (NetworkKind kind = NETWORK_CONTACT; kind < NETWORK_KIND_COUNT; kind++) {
        for (uint32_t i = walk->first_item[kind]; i < walk->first_item[kind + 1]; i++) {
            uint32_t ends[2];
            network_element_ends(network, kind, i - walk->first_item[kind], ends);
            item_meet(walk, i, ends[0], ends[1]);
        }
    }
    for (uint32_t node = 0; node < network->node_count; node++) {
        uint8_t degree = walk->degree[node];
        walk->kept[node] |= degree == 1 || degree == 3 || (whole && degree > 0);
    }
    walk->kept[0] = true;
}

/* --- Chains ---------------------------------------------------------------------------------- */

/* Turns the links first..last-1 round. */
static void links_reverse(CollapseLink *links, uint32_t first, uint32_t last) {
    for (uint32_t i = first, j = last - 1; i <= j && j < last; i++, j--) {
        CollapseLink swapped = links[i] ^ 1U;
        links[i] = links[j] ^ 1U;
        links[j] = swapped;
    }
}

/* Walks from the kept `node` through `item` to the next kept node. */
static void chain_walk(Walk *walk, uint32_t node, uint32_t item) {
    Collapse *collapse = walk->collapse;
    uint32_t chain = collapse->chain_count++;
    uint32_t first = walk->link_count;
    uint32_t from = node;
    bool has_single = false;
    bool single_reversed = false;
    for (;;) {
        const uint32_t *ends = &walk->item_ends[2 * (size_t)item];
        NetworkKind kind = item_kind(walk, item);
        bool reversed = ends[0] != from;
        uint32_t index = item - walk->first_item[kind];
        collapse->links[walk->link_count++] = collapse_link(kind, index, reversed);
        walk->item_done[item] = true;
        if (kind != NETWORK_RESISTOR) {
            collapse->chain_of[kind][index] = chain;
        }
        if (kind_is_single(kind)) {
            has_single = true;
            single_reversed = reversed;
        }
        from = reversed ? ends[0] : ends[1];
        if (walk->kept[from]) {
            break;
        }
        item ^= walk->item_xor[from];
        if (has_single && kind_is_single(item_kind(walk, item))) {
            walk->kept[from] = true;
            break;
        }
    }
    collapse->chain_a[chain] = single_reversed ? from : node;
    collapse->chain_b[chain] = single_reversed ? node : from;
    if (single_reversed) {
        links_reverse(collapse->links, first, walk->link_count);
    }
    uint32_t length = walk->link_count - first;
    collapse->link_longest = length > collapse->link_longest ? length : collapse->link_longest;
    collapse->chain_first[chain + 1] = walk->link_count;
}

static void chains_walk(Walk *walk) {
    uint32_t item_count = walk->first_item[NETWORK_KIND_COUNT];
    for (uint32_t item = 0; item < item_count; item++) {
        if (walk->item_done[item]) {
            continue;
        }
        uint32_t a = walk->item_ends[2 * (size_t)item];
        uint32_t b = walk->item_ends[2 * (size_t)item + 1];
        if (walk->kept[a]) {
            chain_walk(walk, a, item);
        } else if (walk->kept[b]) {
            chain_walk(walk, b, item);
        }
    }
    /* What is left are rings that touch nothing: one node of each is kept. */
    for (uint32_t item = 0; item < item_count; item++) {
        if (!walk->item_done[item]) {
            uint32_t a = walk->item_ends[2 * (size_t)item];
            walk->kept[a] = true;
            chain_walk(walk, a, item);
        }
    }
}

/* --- Exported -------------------------------------------------------------------------------- */

Collapse *collapse_network(Arena *arena, Arena *scratch, const Network *network, bool whole) {
    CHECK(network->node_count > 0);
    Collapse *collapse = ARENA_NEW(arena, Collapse);
    Walk walk = {.network = network, .collapse = collapse};
    walk_begin(&walk, scratch, whole);
    uint32_t item_count = walk.first_item[NETWORK_KIND_COUNT];
    for (NetworkKind kind = NETWORK_CONTACT; kind < NETWORK_KIND_COUNT; kind++) {
        collapse->chain_of[kind] = ARENA_ARRAY(arena, uint32_t, network_kind_count(network, kind));
    }
    collapse->chain_first = ARENA_ARRAY(arena, uint32_t, (size_t)item_count + 1);
    collapse->chain_end = collapse->chain_first + 1;
    collapse->links = ARENA_ARRAY(arena, CollapseLink, item_count);
    collapse->chain_a = ARENA_ARRAY(arena, uint32_t, item_count);
    collapse->chain_b = ARENA_ARRAY(arena, uint32_t, item_count);
    chains_walk(&walk);

    uint32_t *kept_id = walk.item_xor; /* not needed any more */
    for (uint32_t node = 1; node < network->node_count; node++) {
        if (walk.kept[node]) {
            kept_id[node] = collapse->kept_count++;
        }
    }
    kept_id[0] = collapse->kept_count;
    collapse->kept_node = ARENA_ARRAY(arena, uint32_t, (size_t)collapse->kept_count + 1);
    for (uint32_t node = 0; node < network->node_count; node++) {
        if (walk.kept[node]) {
            collapse->kept_node[kept_id[node]] = node;
        }
    }
    for (uint32_t chain = 0; chain < collapse->chain_count; chain++) {
        collapse->chain_a[chain] = kept_id[collapse->chain_a[chain]];
        collapse->chain_b[chain] = kept_id[collapse->chain_b[chain]];
    }
    return collapse;
}

void collapse_renumber(Collapse *collapse, const uint32_t *place_of, Arena *scratch) {
    uint32_t count = collapse->kept_count;
    uint32_t *old_node = ARENA_ARRAY(scratch, uint32_t, count);
    for (uint32_t k = 0; k < count; k++) {
        old_node[k] = collapse->kept_node[k];
    }
    for (uint32_t k = 0; k < count; k++) {
        collapse->kept_node[place_of[k]] = old_node[k];
    }
    for (uint32_t chain = 0; chain < collapse->chain_count; chain++) {
        uint32_t a = collapse->chain_a[chain];
        uint32_t b = collapse->chain_b[chain];
        collapse->chain_a[chain] = a == count ? a : place_of[a];
        collapse->chain_b[chain] = b == count ? b : place_of[b];
    }
}
