/* Inside of guard: what its sources share. Not for others. */
#ifndef POWER_GUARD_INNER_H
#define POWER_GUARD_INNER_H

#include "power/feeders.h"
#include "power/guard.h"
#include "power/limits.h"

/* Currents below this are rounding and leaks. */
#define GUARD_LEAST_A 0.05
/* A way that brings less than this share of a fault's current is not told apart at first; when the
 * others have opened and more than the wire carries is left, it is. */
#define GUARD_LEAST_SHARE 0.01
/* A node with less than this share of the nominal voltage is on the return side. */
#define GUARD_LIVE_SHARE 0.05

/* What a phase sets at the sources, by battery and alternator of the network. */
typedef struct GuardPhase {
    NetworkBattery *batteries;
    NetworkAlternator *alternators;
} GuardPhase;

typedef struct GuardWork {
    Arena *out;
    Arena *scratch;
    const GuardInput *in;
    PowerNetwork *built; /* the one of `in` */
    Guard *guard;
    GuardNet net;
    GuardWalk walk;
    double contact_ohm;
    bool wired;
    double *given_a[2]; /* [GUARD_HIGH, GUARD_LOW], by node: what the sources joined to it give */
    uint32_t *phase_of[2]; /* by node: the phase of that; ID_NONE */
    uint32_t *feed_of;     /* by node: feed that ends a wire here, ID_NONE */
    uint16_t *core_of;     /* by node: its core there */
    uint32_t *target;      /* by node: the node that a fault leads to */
    GuardPhase *phases;    /* by row of `phase` */
    double *cold_ohm;      /* by resistor: with its copper at 20 degC */

    /* The network in parts (guard_part.c); numbers in a part begin with 0, the structure's node is
     * 0 everywhere. */
    uint32_t part_count;
    uint32_t *part_of;   /* by node */
    uint32_t *part_node; /* by part, and one more: into `nodes` */
    uint32_t *nodes;
    uint32_t *local_node;                        /* by node: its number in its part */
    uint32_t *element[NETWORK_KIND_COUNT];       /* elements, part by part */
    uint32_t *element_first[NETWORK_KIND_COUNT]; /* by part, and more: into `element` */
    uint32_t *local[NETWORK_KIND_COUNT];         /* by element: its number in its part */

    /* The part that is looked at. */
    uint32_t part;
    uint32_t wire_count; /* of its resistors: those that are resistors of the network */
    Network network;
    SolvePlan *plan;
    FailRun **runs; /* by row of `phase`, twice: copper hot, copper at 20 degC */
    Arena part_arena;

    uint32_t *pair_next; /* by pair: the next of the same device */
    uint32_t *pair_head; /* by row of `protection` */
    size_t pair_capacity;
    size_t pair_next_capacity;
    HeatingWire *wires; /* by row of the guard */
    bool *wire_known;
} GuardWork;

/* Notes what a solved phase sets at the sources. */
void guard_keep_phase(GuardWork *work, uint32_t phase);

/* Sorts the network into parts. */
void guard_parts_find(GuardWork *work);

/* Makes the network of a part, and gives it back. */
void guard_part_enter(GuardWork *work, uint32_t part);
void guard_part_leave(GuardWork *work);

/* Failures of the part in a phase; `cold`: with copper at 20 degC. */
FailRun *guard_run_of(GuardWork *work, uint32_t phase, bool cold);

/* Which phases give most and least at every node. */
void guard_rank_phases(GuardWork *work);

/* Lays a fault of `ohm` from `node` to `target`, both in the part that is looked at, in a phase,
 * with the switches on the way of `feed` (ID_NONE: none) closed. Bolted (BUILD_BOLTED_OHM) copper
 * is at 20 degC, else hot. NULL when no operating point was found. */
FailRun *guard_lay(GuardWork *work, uint32_t phase, uint32_t node, uint32_t target, double ohm,
                   uint32_t feed, uint16_t core);

/* Notes a device and those upstream of it in the state that `run` is in. */
void guard_note_pairs(GuardWork *work, FailRun *run, const GuardFeed *feed, GuardCase which,
                      uint32_t node, uint32_t phase);

/* A wire that ends at a fault, and what the faults do there. */
typedef struct GuardSide {
    const GuardLink *link; /* of the node, the conductor */
    uint32_t row;
    GuardFault faults[2];
} GuardSide;

void guard_start_fault(GuardFault *fault, uint32_t phase, double wire_a);

/* No operating point: nothing is known of a case on these sides. */
void guard_mark_lost(GuardSide *sides, uint32_t count, GuardCase which, uint32_t phase);

/* Keeps a side in its conductor's row if it is worse than what stands there. */
void guard_keep_side(GuardWork *work, const GuardSide *side, PinId at, bool held, bool by_return);

/* The heating of a row's wire, worked out when it is first asked for; NULL when its gauge is not
 * known. */
const HeatingWire *guard_row_wire(GuardWork *work, uint32_t row);

double guard_length_mm(const GuardInput *in, ConductorId conductor);

/* The conductor that a resistor of the network is; ID_NONE. */
uint32_t guard_conductor_of(const GuardWork *work, uint32_t resistor);

/* Notes the source that gives most without a device on the way; false when none does. What all of
 * them give. */
bool guard_note_source(GuardFault *fault, const GuardFlow *flow);
double guard_bare_a(const GuardFlow *flow);

/* Where a fault at a node is tried. */
typedef struct GuardPlace {
    uint32_t phase[2]; /* by GuardCase; ID_NONE: in none */
    uint32_t feed;     /* whose switches are closed for it; ID_NONE: none need be */
} GuardPlace;
GuardPlace guard_place(const GuardWork *work, uint32_t node);

/* Shorts of the part that is looked at which only returns, straps and leads of sources see. */
void guard_fault_returns(GuardWork *work);
void guard_fault_trunks(GuardWork *work);

/* Tags to rows, for reading. */
const char *guard_device_tag(const GuardInput *input, const GuardDevice *device);

/* Adds findings. */
void guard_report(const GuardInput *input, const Guard *guard, Findings *findings);

#endif
