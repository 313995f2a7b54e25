/* Common: places where two ways of one clause of a need are lost together, although each was to
 * stand in for the other; and what engine circuits A and B share. In: the routed job, its network
 * in one solved phase, its needs. Out: for each clause and place the ways that go with it, whether
 * the need goes too, the conductors there, and what would part them. docs/theory/needs.md. */
#ifndef POWER_COMMON_H
#define POWER_COMMON_H

#include "power/phases.h"
#include "power/place.h"
#include "power/service.h"

/* Two or more ways of a clause that one place takes. */
typedef struct CommonShare {
    uint32_t need;
    const char *clause;
    uint32_t place;       /* into Common.places */
    const uint32_t *ways; /* lost, by number, rising */
    uint32_t way_count;
    uint32_t clause_ways; /* ways of the clause that are there */
    bool alone;           /* losing the place loses the need */
    bool in_scope;
    bool excepted;                  /* a declared exception covers it in every way of failing */
    const ConductorId *conductors;  /* there, that the lost ways rest on; rising */
    const uint32_t *conductor_ways; /* by these: bit i (31 at most) for ways[i] that rests on it */
    uint32_t conductor_count;
} CommonShare;

/* A place where conductors of engine circuits A and B lie together. */
typedef struct CommonLanes {
    uint32_t place;
    const ConductorId *conductors; /* of both, rising */
    uint32_t conductor_count;
} CommonLanes;

typedef struct Common {
    bool done;      /* there was a solved phase to look at */
    uint32_t phase; /* row of `phase` */
    Places places;
    CommonShare *shares; /* by need, clause (in the order of their ways), place */
    uint32_t share_count;
    CommonLanes *lanes; /* by place */
    uint32_t lane_count;
    uint32_t tests; /* ports asked about with something taken out, for reports */
} Common;

/* The pass. `built` is set to the phase that is looked at (the first cruise, else the first with
 * the engine running, else the first solved). Findings: need.common, one for each clause (a warning
 * where a place is in the need's scope, else a note); need.lanes. */
void common_run(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                const Disconnects *disconnects, const Supply *supply, PowerNetwork *built,
                const Phases *phases, const Service *service, Common *common, Findings *findings);

/* Fills the result table `common`, proposals included: another way round a segment for one of the
 * ways, and how much longer; another ground point with a free tab. Cross-links are listed last. */
void common_rows(Arena *arena, const Model *model, const Wiring *wiring, const Routing *routing,
                 const Service *service, const Common *common, TableSet *out);

#endif
