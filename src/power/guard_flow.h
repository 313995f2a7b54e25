/* Where the current of a fault comes from: from a node upstream, along everything that carries
 * current towards it, to the first protective device on each way, or to a source where a way has
 * none. In: a network, which of its contacts are devices, a solved failure (fail.h). */
#ifndef POWER_GUARD_FLOW_H
#define POWER_GUARD_FLOW_H

#include "power/fail.h"

/* Ways that are told apart; more of them are counted in `left_out`. */
enum { GUARD_FEEDS_MOST = 8 };

/* A node's element, seen from the node. */
typedef struct GuardLink {
    NetworkKind kind;
    uint32_t index;
    uint32_t local; /* its number in the network that failures are tried on */
    uint32_t other; /* the node at its far end */
    bool is_first;  /* the node is its a (plus, anode) */
} GuardLink;

/* Elements by node, loads and coils left out: they give nothing. */
typedef struct GuardNet {
    const Network *network;
    const uint32_t *contact_device; /* by contact: number of the device, NETWORK_NONE */
    const double *resistor_mm;      /* by resistor: length of the wire; NULL: none has any */
    uint32_t *first;                /* by node, and one more */
    GuardLink *links;
} GuardNet;

/* `local`: by kind and element, what fail_element_a() takes; NULL: the element's own number. */
GuardNet guard_net(Arena *out, const Network *network, uint32_t *const *local,
                   const uint32_t *contact_device, const double *resistor_mm);

/* One way that feeds a fault. */
typedef struct GuardFeed {
    uint32_t device;    /* NETWORK_NONE: the way ends at a source without passing one */
    uint32_t contact;   /* of the device */
    uint32_t upstream;  /* node on the other side of the device */
    NetworkKind source; /* of a way without device: battery or alternator, and its index */
    uint32_t index;
    double amps_a;  /* towards the fault */
    double wire_mm; /* length of the wires between the start of the walk and this end */
} GuardFeed;

typedef struct GuardFlow {
    GuardFeed feeds[GUARD_FEEDS_MOST];
    uint32_t count;
    double left_out_a; /* of ways beyond the most */
} GuardFlow;

/* Scratch of walks, one for a thread. */
typedef struct GuardWalk {
    const GuardNet *net;
    uint32_t *seen; /* by node: number of the walk that was here last */
    double *way_mm;
    uint32_t *queue;
    uint32_t number;
} GuardWalk;

GuardWalk guard_walk_new(Arena *out, const GuardNet *net);

/* Current of an element into the node that `link` belongs to. */
double guard_link_a(FailRun *run, const GuardLink *link);

/* The ways that feed `node` with more than `least_a` each, not through resistor `not_through`
 * (NETWORK_NONE: through any), in the order of the network. Does not pass node 0. */
void guard_flow(GuardWalk *walk, FailRun *run, uint32_t node, uint32_t not_through, double least_a,
                GuardFlow *flow);

#endif
