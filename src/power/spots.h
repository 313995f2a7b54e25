/* Spots: points that wires and bolted joints make one, as a person sees a circuit who looks only at
 * what is connected to what. Gates lead from spot to spot. Answers: what does this battery reach
 * with everything in these positions; is the circuit of this coil closed, and through which
 * switches. */
#ifndef POWER_SPOTS_H
#define POWER_SPOTS_H

#include "power/gates.h"
#include "wiring/wiring.h"

typedef struct Spots {
    const Gates *gates;
    uint32_t *point_spot; /* by point (gates.h) */
    uint32_t count;
    uint32_t *gate_first; /* by spot, and one more: its gates, in spot_gates */
    uint32_t *spot_gates;
    BusId *spot_bus; /* the bus whose stud is here, ID_NONE; the first of several */
    bool *grounded;  /* a ground point, a case or the structure is here */
    bool *fed;       /* the output of a source is here */
} Spots;

void spots_build(Arena *out, const Model *model, const Wiring *wiring, const Gates *gates,
                 Spots *spots);

/* Things by spot: items[first[spot]] .. items[first[spot + 1] - 1], in rising order. */
typedef struct SpotsIndex {
    uint32_t *first; /* by spot, and one more */
    uint32_t *items;
} SpotsIndex;

/* The index of `count` things; spot_of[i] is the spot of thing i, ID_NONE: left out. */
SpotsIndex spots_index(Arena *out, const Spots *spots, const uint32_t *spot_of, uint32_t count);

/* Scratch of a walk: as long as there are spots, all zero at first, used again by later walks. */
typedef struct SpotsWalk {
    uint32_t *seen;  /* number of the walk that was here last */
    uint32_t *from;  /* gate it came by */
    uint32_t *queue; /* the spots of the last walk, in the order of reaching them */
    uint32_t count;  /* of them */
    uint32_t number;
} SpotsWalk;

SpotsWalk spots_walk_new(Arena *arena, const Spots *spots);

/* Marks in walk->seen (== walk->number) all spots that current from the spots `starts` reaches
 * through gates conducting in `positions` (by OwnerId), diodes forward only, without entering a
 * grounded spot. */
void spots_reach(const Spots *spots, const char *const *positions, const uint32_t *starts,
                 uint32_t start_count, SpotsWalk *walk);

/* A shortest way from a coil's plus end up to a bus or source (`upstream`), or from its minus end
 * down to a ground, through gates that conduct in `positions`, and through switches that do not
 * when stamp[owner] < movable_below. Writes the gates passed, from the coil on, into `gates_out`
 * (room for `room`) and their number into *count; false when there is no way. */
bool spots_coil_way(const Spots *spots, const char *const *positions, const uint32_t *stamp,
                    uint32_t movable_below, bool upstream, uint32_t start, SpotsWalk *walk,
                    uint32_t *gates_out, uint32_t room, uint32_t *count);

#endif
