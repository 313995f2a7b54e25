/* Resistance between two nodes of a network of resistors. */
#ifndef SHOP_OHMS_H
#define SHOP_OHMS_H

#include <stdint.h>

typedef struct OhmsEdge {
    uint32_t a;
    uint32_t b;
    double ohm; /* NAN: not known */
} OhmsEdge;

/* Nodes are 0 to node_count - 1. Infinite when there is no way. On a tree the sum along the way;
 * with loops the nodal equations, solved by conjugate gradients (which end after at most as many
 * steps as there are nodes, but for rounding). NAN when a resistance that matters is not known. */
double ohms_between(uint32_t node_count, const OhmsEdge *edges, uint32_t edge_count, uint32_t from,
                    uint32_t to);

#endif
