/* Route: the shortest allowed way of every cable through the segments of the airframe, its length,
 * and what then runs in every segment. */
#ifndef ROUTE_ROUTE_H
#define ROUTE_ROUTE_H

#include "wiring/wiring.h"

/* One step of a way. */
typedef struct Hop {
    SegmentId segment;
    bool backward; /* walked from node_b to node_a */
} Hop;

typedef struct Routing {
    Hop *hops;
    uint32_t hop_count;
    uint32_t *cable_first; /* by CableId, and one more: its hops, from `from` to `to` */
    double *length_mm;     /* by CableId: way + both stubs + handling allowance; NAN: no way */
} Routing;

/* What runs in one segment. Heavy cables are counted apart and left out of the diameter. */
typedef struct Bundle {
    uint32_t cables;
    uint32_t conductors;
    uint32_t heavy;
    double diameter_mm; /* the shop's rule: 1.2 x root of the sum of squares */
    double mass_kg;     /* of all that runs here */
    double bend_mm;     /* smallest bend radius */
    uint32_t clamps;
} Bundle;

/* Finds every cable's way. Ties are broken by the order of segments, so the result does not depend
 * on the order of rows. Findings: route.*. */
bool route_find(Arena *out, const Model *model, const Wiring *wiring, Routing *routing,
                Findings *findings);

/* Fills bundles[segment] for the gauges given by conductor. */
void route_bundles(const Model *model, const Wiring *wiring, const Routing *routing,
                   const int32_t *awg, Bundle *bundles);

/* Findings on bundles: count limit, conduit fill, bend. */
void route_check(const Model *model, const Wiring *wiring, const Routing *routing,
                 const Bundle *bundles, Findings *findings);

/* Diameter and mass per metre of a cable, by its library part or by its wires' gauge. */
double route_cable_od_mm(const Model *model, const Wiring *wiring, CableId cable,
                         const int32_t *awg);
double route_cable_kg_per_m(const Model *model, const Wiring *wiring, CableId cable,
                            const int32_t *awg);

#endif
