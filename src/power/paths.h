/* Paths: everything metal that current could take, not only what is meant to carry it: the supply
 * network with all signal circuits, the shields that are grounded at both ends, and what the
 * `inside` rows of the library join in every box. What no row speaks of is known as unknown. Lifted
 * returns (power/lift.h) and sneak currents (power/sneak.h) are solved on it. docs/theory/paths.md.
 */
#ifndef POWER_PATHS_H
#define POWER_PATHS_H

#include "power/build.h"
#include "power/size.h"
#include "power/solve.h"

/* The limit read from the library: current of a cable's shield. */
#define PATHS_LIMIT_SHIELD "shield_current"

/* An element of the network at one of its nodes. */
typedef struct PathsEdge {
    NetworkKind kind;
    uint32_t index;
    uint32_t other; /* node at its other end */
} PathsEdge;

typedef struct Paths {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Sizing *sizing;
    const Supply *ordinary; /* the job's supply */
    Supply supply;          /* the same with every gate */
    PowerNetwork built;
    SolvePlan *plan;
    uint32_t *edge_first; /* by node, and one more: resistors, contacts, diodes */
    PathsEdge *edges;
    uint32_t *draw_first; /* by node, and one more: loads, coils, batteries, alternators */
    PathsEdge *draws;
    bool *ground;          /* by node: the structure, or the metal of a ground point */
    uint32_t *point_first; /* by node, and one more: its points (gates.h) */
    uint32_t *points;
    bool *inner;   /* by point: leads into a box: its case, a return, a return core, or named by an
                      inside row */
    bool *unknown; /* by point: a return core, a case with something on it, a shield of unknown
                      resistance: may be joined to what else is in its box, and no row says */
} Paths;

/* Builds it. Everything lives in `out`; the inputs must outlive it. False when there is no source.
 */
bool paths_build(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                 const Disconnects *disconnects, const Supply *supply, const Sizing *sizing,
                 Paths *paths);

/* What an element stands for. */
BuildSource paths_source(const Paths *paths, NetworkKind kind, uint32_t index);

/* Current that a thing stands for good, A. NAN: not known; INFINITY: bolted metal. */
double paths_rating_a(const Paths *paths, BuildSource source);

/* Where that rating comes from. */
const char *paths_rating_source(const Paths *paths, BuildSource source);

/* "W0123 ECA_GND2", "shield of W0201 CAN_AV", "inside ECA GND-GND2", "SW_AV", "bond GBC-structure".
 */
const char *paths_name(Arena *arena, const Paths *paths, BuildSource source);

/* "PD1.R1/2", "PD1 case": a point of a box as a person looks for it in the library. */
const char *paths_point_name(Arena *arena, const Paths *paths, uint32_t point);

/* The box a point belongs to, ID_NONE for the structure. */
OwnerId paths_point_owner(const Paths *paths, uint32_t point);

#endif
