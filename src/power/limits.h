/* Limits: what each gauge may carry, drops and fits, conductor by conductor. In: the wires of the
 * library, the published current tables, the way of every cable. Out: the ladder of gauges and, for
 * one conductor at one gauge, the allowed current (free air x altitude x bundle, hottest stretch of
 * its way), the resistance at 20 degC and hot, the joints it passes. AC 43.13-1B 11-66..11-69;
 * docs/theory/size.md. */
#ifndef POWER_LIMITS_H
#define POWER_LIMITS_H

#include "rating/protector.h"
#include "route/route.h"

/* One step of the ladder. */
typedef struct Gauge {
    int32_t awg;
    uint32_t wire;         /* row of `wire` */
    bool usual;            /* the tool may choose it */
    double hand_ohm_per_m; /* as the handbook prints it: for plain figures */
    double r20_ohm_per_m;
    double kg_per_m;
    double rated_degc;
    double worst_bundle_a; /* published worst-bundle current; NAN: none */
    double protector_a[2]; /* largest device by ProtectorKind; NAN: not proved */
} Gauge;

/* A stretch of a cable's way in one zone. */
typedef struct Stretch {
    ZoneId zone;
    double length_m;
    uint32_t wires; /* in its fullest segment there */
} Stretch;

typedef struct Limits {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    Gauge *gauges; /* thinnest first */
    uint32_t gauge_count;
    double *zone_a;          /* by zone and gauge: free air x altitude; 0: not proved */
    double *bundle_factor;   /* by wires in the bundle; 0: not proved */
    uint32_t *stretch_first; /* by CableId, and one more */
    Stretch *stretches;
    uint32_t *crossing_first; /* by CableId, and one more: segments with a disconnect */
    SegmentId *crossings;
    uint32_t *shell_first; /* by SegmentId, and one more: rows of `disconnect_shell` */
    uint32_t *shells;
    ContactId *shell_contact; /* by row of `disconnect_shell`; ID_NONE */
    int32_t *shell_largest;   /* by the same: thickest gauge it is used for; INT_BLANK */
} Limits;

#define GAUGE_NONE UINT32_MAX

/* Findings: size.unproved when a table that is needed has no row. */
void limits_find(Arena *out, Arena *scratch, const Model *model, const Wiring *wiring,
                 const Routing *routing, Limits *limits, Findings *findings);

/* Place of a gauge on the ladder, GAUGE_NONE when the library has no such wire. */
uint32_t limits_place(const Limits *limits, int32_t awg);

/* The thinnest usual gauge not thinner than `awg`; the next usual one thinner or thicker than a
 * place. GAUGE_NONE when there is none. */
uint32_t limits_from(const Limits *limits, int32_t awg);
uint32_t limits_thinner(const Limits *limits, uint32_t place);
uint32_t limits_thicker(const Limits *limits, uint32_t place);

/* Allowed current in A of one conductor of the cable at that gauge: the least over its way. */
double limits_allowed_a(const Limits *limits, CableId cable, uint32_t place);

/* Resistance in ohm of one conductor of the cable: copper at 20 degC by the handbook's figure; or
 * at the temperature that `current_a` brings it to in every zone, by the wire's own figure. */
double limits_plain_ohm(const Limits *limits, CableId cable, uint32_t place);
double limits_hot_ohm(const Limits *limits, CableId cable, uint32_t place, double current_a);

/* Resistance in ohm of the contacts at both pins and of the disconnect contacts on the way. */
double limits_joint_ohm(const Limits *limits, ConductorId conductor, uint32_t place);

/* The hottest the conductor gets under `current_a`, in degC. */
double limits_conductor_degc(const Limits *limits, CableId cable, uint32_t place, double current_a);

/* Row of `disconnect_shell` that a wire of that gauge of this net passes in a segment: that of its
 * group, else the power shell; ID_NONE when none takes it or its class passes beside the shells. */
uint32_t limits_shell(const Limits *limits, SegmentId segment, CableId cable, uint32_t place);

#endif
