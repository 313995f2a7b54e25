/* Route: the shortest allowed way of every cable through the segments of the airframe, the length
 * it is cut to (length.h), and what then runs in every segment. */
#ifndef ROUTE_ROUTE_H
#define ROUTE_ROUTE_H

#include "wiring/wiring.h"

/* One step of a way. */
typedef struct Hop {
    SegmentId segment;
    bool backward; /* walked from node_b to node_a */
} Hop;

/* The parts of a cut length, all in mm; 0 or above but for `handling`. */
typedef struct LengthParts {
    double path_mm;     /* along the segments */
    double stub_mm[2];  /* towards `from`, towards `to`; 0 at a disconnect */
    double loop_mm[2];  /* kept there for service */
    double handling_mm; /* the job's allowance, half at each end of the cable; or what a person set
                           the length longer or shorter by */
    double slack_mm;    /* sag between supports */
    double twist_mm;    /* longer way of a wire that is twisted with others in the shop */
    double bend_mm;     /* longer way on the outside of the bundle's bends, where it matters */
    double round_mm;    /* up to the next whole step */
    double cut_mm;      /* sum of all above */
} LengthParts;

/* What of a cable is laid from one place to the next: from an end or a disconnect to an end or a
 * disconnect. All its cores are cut to one length. */
typedef struct LengthRun {
    NodeId node[2];     /* where it begins and ends */
    uint32_t kept[2];   /* rows of end_allowance that say what is kept there; ID_NONE: none does */
    uint32_t hop_first; /* into Routing.hops: segments whose length lies in it; one that disconnects
                           cut lies whole in one run */
    uint32_t hop_count;
    LengthParts parts;
} LengthRun;

typedef struct Lengths Lengths;

typedef struct Routing {
    Hop *hops;
    uint32_t hop_count;
    uint32_t *cable_first; /* by CableId, and one more: its hops, from `from` to `to` */
    uint32_t *run_first; /* by CableId, and one more: its runs, from `from` to `to`; none without a
                            way */
    LengthRun *runs;
    double *length_mm; /* by CableId: sum of what its runs are cut to; NAN: no way */
    double *given_mm;  /* by CableId: what a person set it to; NAN: nobody did */
    Lengths *lengths;  /* for lengths_raise and lengths_give (length.h) */
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

/* Finds every cable's way, and its length with the thinnest gauge of its class: lengths_raise goes
 * on from there. Ties are broken by the order of segments, so the result does not depend on the
 * order of rows. Model and wiring must outlive the routing. Findings: route.*. */
bool route_find(Arena *out, const Model *model, const Wiring *wiring, Routing *routing,
                Findings *findings);

/* Limits read from the library. */
#define ROUTE_LIMIT_CABLES "bundle_cables"
#define ROUTE_LIMIT_DIAMETER "bundle_diameter"
#define ROUTE_LIMIT_FACTOR "bundle_factor"
#define ROUTE_LIMIT_FILL "conduit_fill"
#define ROUTE_LIMIT_BEND_WIRE "bend_wire"
#define ROUTE_LIMIT_BEND_COAX "bend_coax"
#define ROUTE_LIMIT_CLAMPS "clamp_spacing"
#define ROUTE_LIMIT_COAX_JOINT "coax_connector_loss"

/* Fills bundles[segment] for the gauges given by conductor. The diameter is the shop's factor times
 * the root of the sum of squares, single wires counted one by one; the bend radius the larger of
 * that of the thickest wire or cable and of the thickest coax; clamps as far apart as allowed. */
void route_bundles(const Model *model, const Wiring *wiring, const Routing *routing,
                   const int32_t *awg, Bundle *bundles);

/* Findings on bundles (count, diameter, conduit fill) and on what shares them (`apart` rows). */
void route_check(const Model *model, const Wiring *wiring, const Routing *routing,
                 const Bundle *bundles, Findings *findings);

/* Row of `wire` that is laid for a gauge: the one in usual use, else the first of that gauge;
 * ID_NONE when the library has none. */
uint32_t route_wire_row(const Model *model, int32_t awg);

/* Diameter and mass per metre of a laid piece: by its library part, or by its wires' gauges (single
 * wires: the diameter whose square is the sum of theirs). `awg` is by ConductorId; blank: the
 * thinnest of the class. 0 when the library has no such wire. */
double route_cable_od_mm(const Model *model, const Wiring *wiring, CableId cable,
                         const int32_t *awg);
double route_cable_kg_per_m(const Model *model, const Wiring *wiring, CableId cable,
                            const int32_t *awg);

/* The gauge of a conductor: of its cable, else as given in awg (by ConductorId), else the class's
 * thinnest; INT_BLANK for coax. */
int32_t route_conductor_awg(const Model *model, const Wiring *wiring, ConductorId conductor,
                            const int32_t *awg);

/* The segment's direction from node_a to node_b, a unit vector; false when both lie at one point.
 */
bool route_segment_direction(const Model *model, SegmentId segment, double direction[3]);

/* "P03>S02>S01": the nodes a cable passes. */
const char *route_text(Arena *arena, const Model *model, const Wiring *wiring,
                       const Routing *routing, CableId cable);

#endif
