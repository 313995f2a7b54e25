/* Sneak graph: the part of the aircraft in which current could come from a source to a bus by any
 * way, with every switch free. In: the network of all metal (power/paths.h). Out: spots and edges
 * that lie on some way between two of {source, bus} without touching ground, what may ground the
 * inside of such a way, the circuits of the coils that move them, and the switches and sources that
 * matter for those. Everything else is left
 * out, with the proof that it can't matter (docs/theory/paths.md). */
#ifndef POWER_SNEAK_GRAPH_H
#define POWER_SNEAK_GRAPH_H

#include "power/paths.h"

enum { SNEAK_POSITIONS_MAX = 16 }; /* positions of one switch that are told apart */

typedef enum SneakEdgeKind {
    SNEAK_METAL,   /* always conducts */
    SNEAK_SWITCH,  /* when its switch is in one of `positions` */
    SNEAK_CONTACT, /* when its coil is as `energised` */
    SNEAK_DIODE,   /* from a to b */
    SNEAK_LOAD     /* a load or coil: conducts, but commands nothing */
} SneakEdgeKind;

typedef struct SneakEdge {
    SneakEdgeKind kind;
    uint32_t a, b;      /* nodes of this graph */
    uint32_t gate;      /* into Paths.supply.gates; ID_NONE for a load */
    uint32_t load;      /* into Paths.supply.loads; ID_NONE for a gate */
    double ohm;         /* least resistance; 0 when small or unknown */
    uint32_t item;      /* switch or coil of this graph */
    uint32_t positions; /* of the switch: a bit each */
    bool energised;
    bool feeds; /* on a way between sources and buses; else only in a coil's circuit */
} SneakEdge;

/* A switch that matters, put by hand. */
typedef struct SneakSwitch {
    OwnerId owner;
    uint32_t count;
    const char *words[SNEAK_POSITIONS_MAX]; /* the rest position first */
} SneakSwitch;

/* A coil that moves an edge. */
typedef struct SneakCoil {
    uint32_t coil; /* into Supply.coils */
    uint32_t plus; /* nodes */
    uint32_t minus;
} SneakCoil;

typedef struct SneakSource {
    uint32_t source; /* row of `source` */
    uint32_t node;
} SneakSource;

/* When a feed row conducts: all its steps do, each as one of its edges. */
typedef struct SneakFeed {
    uint32_t feed; /* row of `feed` */
    uint32_t step_first;
    uint32_t step_count;
} SneakFeed;

typedef struct SneakStep {
    uint32_t edge_first; /* into step_edges; none: always closed */
    uint32_t edge_count;
} SneakStep;

typedef struct SneakGraph {
    uint32_t node_count;
    uint32_t *node_spot; /* by node */
    uint32_t *spot_node; /* by spot of Paths.supply.spots; ID_NONE */
    bool *grounded;      /* by node */
    BusId *bus;          /* by node: the first bus there, ID_NONE */
    double *tied_v;      /* by node: tied to ground so firmly that it never gets more than this;
                            NAN: not tied. Tied nodes are not passed */
    SneakEdge *edges;
    uint32_t edge_count;
    uint32_t *edge_first; /* by node, and one more */
    uint32_t *node_edges;
    SneakSwitch *switches;
    uint32_t switch_count;
    SneakCoil *coils;
    uint32_t coil_count;
    SneakSource *sources;
    uint32_t source_count;
    SneakFeed *feeds; /* onto buses and ports */
    uint32_t feed_count;
    SneakStep *steps;
    uint32_t *step_edges;
    uint32_t all_switches;   /* of the job, before anything was left out */
    double all_combinations; /* positions of all switches x sources on and off */
} SneakGraph;

/* Builds it; everything lives in `out`. `limit_v` is the voltage below which a node tied to ground
 * counts as ground. With `whole` nothing is left out. */
void sneak_graph_build(Arena *out, const Paths *paths, double limit_v, bool whole,
                       SneakGraph *graph);

#endif
