/* Series chains: a maximal run of elements joined by nodes that carry nothing else has one current,
 * so only its two end nodes need an equation. In: a Network. Out: the chains, each a list of
 * elements in walking order, and the nodes that are kept. A chain holds at most one load or
 * alternator (the elements that are not a resistance and a voltage in series). Only structure is
 * looked at, no number: open contacts and broken wires keep their place. */
#ifndef POWER_COLLAPSE_H
#define POWER_COLLAPSE_H

#include "power/network.h"

/* A link is one element of a chain: index, kind, and whether the chain runs through it from its
 * second end to its first. */
typedef uint32_t CollapseLink;

enum { COLLAPSE_INDEX_LIMIT = 1 << 28 };

static inline CollapseLink collapse_link(NetworkKind kind, uint32_t index, bool reversed) {
    return index << 4 | (uint32_t)kind << 1 | (reversed ? 1U : 0U);
}
static inline uint32_t collapse_link_index(CollapseLink link) {
    return link >> 4;
}
static inline NetworkKind collapse_link_kind(CollapseLink link) {
    return (NetworkKind)(link >> 1 & 7U);
}
/* +1 when the chain runs from the element's first end to its second, else -1. */
static inline double collapse_link_sign(CollapseLink link) {
    return (link & 1U) != 0 ? -1.0 : 1.0;
}

typedef struct Collapse {
    uint32_t chain_count;
    uint32_t
        *chain_first; /* a chain's links are links[chain_first[c]] .. links[chain_end[c] - 1] */
    uint32_t *chain_end;
    CollapseLink *links;   /* every element once; a chain's load or alternator is not reversed */
    uint32_t link_longest; /* links in the longest chain */
    uint32_t *chain_a;     /* first and last node of each chain, as kept ids; equal for a loop */
    uint32_t *chain_b;
    uint32_t kept_count;                    /* kept nodes, the reference not counted */
    uint32_t *kept_node;                    /* kept id -> node; kept_node[kept_count] is node 0 */
    uint32_t *chain_of[NETWORK_KIND_COUNT]; /* element -> chain; NULL for resistors */
} Collapse;

/* The chains of `network`, in `arena`; `scratch` is used for the work. With `whole` every element
 * is a chain of its own and every node that has an element is kept. Nodes without an element are
 * not kept in either case. */
Collapse *collapse_network(Arena *arena, Arena *scratch, const Network *network, bool whole);

/* Renumbers the kept nodes: kept id k becomes place_of[k] (a permutation of 0..kept_count-1). */
void collapse_renumber(Collapse *collapse, const uint32_t *place_of, Arena *scratch);

#endif
