/* Inside of heading: what its sources share. Not for others.
 *
 * Every element of the network is given a way in space, so that all currents run in closed loops: a
 * conductor its route, everything else a straight piece between the nodes of its two ends, and from
 * there to the place of its network node, where all that is joined there meets. Pieces that end at
 * the structure are `metal` and kept apart. */
#ifndef POWER_HEADING_INNER_H
#define POWER_HEADING_INNER_H

#include "power/factor.h"
#include "power/heading.h"

/* A straight piece that carries the current of an element, first to second end. */
typedef struct HeadingPiece {
    uint32_t element;
    NodeId from;
    NodeId to;
    bool metal;
} HeadingPiece;

/* One port that another box drives. */
typedef struct HeadingDriven {
    TerminalId port;
    NetId net;
    double amps_a;
} HeadingDriven;

/* What does not depend on the phase nor on where one looks from. Elements of all kinds in one
 * numbering: first[kind] + index. */
typedef struct HeadingScene {
    const HeadingInput *input;
    FieldVector *node_m; /* by NodeId */
    double *radius_m;    /* by SegmentId: half its bundle */

    uint32_t first[NETWORK_KIND_COUNT + 1];
    uint32_t *a; /* by element: its ends; of a source plus and minus */
    uint32_t *b;
    HeadingPiece *pieces; /* by element */
    size_t piece_count;
    size_t piece_capacity;

    uint32_t *near_first; /* by network node, and one more: resistors, contacts and diodes at it */
    uint32_t *near;

    uint32_t *feed_first; /* by row of `feed`, and one more: its nets, legs in order */
    NetId *feed_nets;
    uint32_t *load_coil; /* by load of Supply.loads: its coil, ID_NONE */
    HeadingDriven *driven;
    size_t driven_count;
    size_t driven_capacity;

    uint32_t *diode_battery; /* by diode: the network battery it is inside of, NETWORK_NONE */
    FactorPattern *pattern;
    int32_t *slot;      /* by element */
    uint32_t *place_of; /* by network node - 1: its row in the factor */
} HeadingScene;

void heading_scene_build(Arena *out, const HeadingInput *input, HeadingScene *scene);

static inline uint32_t heading_element(const HeadingScene *scene, NetworkKind kind,
                                       uint32_t index) {
    return scene->first[kind] + index;
}
NetworkKind heading_kind(const HeadingScene *scene, uint32_t element);

/* What one ampere in each thing does at one place. */
typedef struct HeadingSight {
    FieldVector at_m;
    double pair_m;           /* between the middles of two cores of one cable */
    FieldVector *segment_ut; /* by SegmentId: from its node a to its node b */
    FieldVector *across;     /* by SegmentId: change for each metre sideways, level */
    double *slope;           /* by SegmentId: largest change for each metre in any direction */
    double *away_m;          /* by SegmentId: nearest point of it */
    FieldVector *cable_ut;   /* by CableId: along its way, from its first end to its second */
    FieldVector *cable_across;
    FieldVector *element_ut; /* by element, first end to second, without metal pieces */
    FieldVector *piece_ut;   /* by piece */
} HeadingSight;

/* Arrays of a sight in `out`. */
void heading_sight_new(Arena *out, const HeadingScene *scene, HeadingSight *sight);
/* Only segments and pieces: what a map needs. */
void heading_sight_ways(const HeadingScene *scene, FieldVector at_m, double pair_m,
                        HeadingSight *sight);
void heading_sight_set(const HeadingScene *scene, FieldVector at_m, double pair_m,
                       HeadingSight *sight);

/* One ampere along a core from the first end of its cable to the second. */
FieldVector heading_core_ut(const HeadingScene *scene, const HeadingSight *sight,
                            ConductorId conductor);

/* The wires that belong to one circuit alone: the nets of its feed up to its port, those of its
 * return, those to a driven port. */
typedef struct HeadingOwn {
    FieldVector alone_ut; /* one ampere from the bus to the port */
    bool fed;             /* alone_ut is something */
    double slack_ut;      /* one ampere in all of them, each at the worst edge of its bundle */
    ConductorId wire;
    double wire_ut;
    bool any;
} HeadingOwn;

HeadingOwn heading_own(const HeadingScene *scene, const HeadingSight *sight, uint32_t load);
HeadingOwn heading_own_driven(const HeadingScene *scene, const HeadingSight *sight,
                              const HeadingDriven *driven, FieldVector *pair_ut);
double heading_away_mm(const HeadingScene *scene, const HeadingSight *sight, ConductorId wire);

/* The network of one phase as it conducts at its operating point: linear, with loads and coils as
 * currents that are put in. */
typedef enum HeadingSide { HEADING_HOT, HEADING_GROUND, HEADING_SIDES } HeadingSide;

typedef struct HeadingSystem {
    const HeadingScene *scene;
    const SolveResult *result;
    Factor *factor;
    double *conductance_s;          /* by element; 0: carries nothing */
    uint32_t *wired;                /* by node: what wires join, for merge.h */
    uint32_t *joined;               /* by node: the same with sources */
    uint8_t *live;                  /* by node: bit of a side its part is of */
    uint32_t *order[HEADING_SIDES]; /* nodes that are not live, in the order of reaching them */
    uint32_t order_count[HEADING_SIDES]; /* of them */
    uint32_t *parent[HEADING_SIDES];     /* by node: element it hangs on; NETWORK_NONE: live, or out
                                            of reach */
    uint32_t *anchor[HEADING_SIDES];     /* by node: the live node from which it is reached */
    double *right;                       /* one right side */
} HeadingSystem;

void heading_system_new(Arena *out, const HeadingScene *scene, HeadingSystem *system);
void heading_system_set(HeadingSystem *system, uint32_t phase);

/* Field at a sight for one ampere drawn at each node out of the network; difference of two nodes:
 * for one ampere through a load between them. */
typedef struct HeadingPotential {
    FieldVector wires_ut;
    FieldVector metal_ut;
} HeadingPotential;

/* By side and node. Live nodes have the same on both sides. */
void heading_potentials(HeadingSystem *system, const HeadingSight *sight,
                        HeadingPotential *const by_side[HEADING_SIDES]);

/* The network loads of one load, or its coil: elements, and how much of its current each takes. */
typedef struct HeadingShares {
    uint32_t first; /* element */
    uint32_t count;
} HeadingShares;
HeadingShares heading_shares(const HeadingScene *scene, uint32_t load);

/* True when that load can be tried in the phase the system is set to: its bus is live and both its
 * ends are in reach. */
bool heading_can_try(const HeadingSystem *system, uint32_t load);

/* Currents in all elements when `load` draws one ampere more, into element_a (by element). */
void heading_trace(HeadingSystem *system, uint32_t load, double *element_a);

/* What a load is tried at in a phase, A. */
double heading_try_a(const HeadingScene *scene, uint32_t load, const SolveResult *result);

/* What turns a sensor: a compass card in level flight the horizontal part (14 CFR 23.1327 speaks of
 * level flight); a magnetometer, which is used in any attitude, the whole. */
double heading_turning_ut(bool compass, FieldVector field_ut);

/* Between the middles of two cores of one cable, as the sensor's row or the limit says. */
double heading_pair_m(const Model *model, const SensorRow *row);
FieldVector heading_place_m(const SensorRow *row);

/* Degrees of a field at a sensor. */
double heading_level_deg(FieldVector field_ut, double horizontal_ut);
double heading_worst_deg(double whole_ut, double horizontal_ut);

static inline FieldVector heading_add(FieldVector a, FieldVector b, double times) {
    return (FieldVector){a.x + times * b.x, a.y + times * b.y, a.z + times * b.z};
}

#endif
