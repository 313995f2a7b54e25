/* Feeders: what current flows in every conductor of the supply, and on which way it goes there and
 * back. In: the circuits and what hangs on them. Out: one feeder for each load (bus or giving port
 * to the load and back to its ground point) and each feed of a bus, with the conductors of its
 * way; by conductor the design current, the device upstream and what the wire is for; by device and
 * switch what it carries. The first half of the size pass; docs/theory/size.md has the rules. */
#ifndef POWER_FEEDERS_H
#define POWER_FEEDERS_H

#include "power/size.h"

/* What a conductor is for. */
typedef enum WireRole {
    WIRE_SIGNAL, /* no supply current known */
    WIRE_FEED,   /* from a source, bus or giving port towards loads */
    WIRE_RETURN, /* from a load towards its ground point */
    WIRE_TRUNK   /* between ground points, engine and sources: carries what returns there */
} WireRole;

/* Kinds of load, for switches; the published table has the first four. */
typedef enum DrawKind {
    DRAW_LAMP,
    DRAW_INDUCTIVE,
    DRAW_RESISTIVE,
    DRAW_MOTOR,
    DRAW_ELECTRONIC,
    DRAW_KIND_COUNT
} DrawKind;

/* What a device or switch must carry. */
typedef struct Duty {
    double steady_a; /* continuous loads; of a bus: its highest phase sum */
    double design_a; /* with intermittent loads */
    double peak_a;   /* one load at its peak, the others at their design current */
    double by_kind_a[DRAW_KIND_COUNT]; /* design_a by kind of load */
    bool feeds_bus;
    bool crank; /* carries the starter's current */
} Duty;

/* The conductors of a feeder: wires[first .. first+feed_count) lead there, the return_count behind
 * them back. */
typedef struct FeederPath {
    uint32_t first;
    uint32_t feed_count;
    uint32_t return_count;
    double through_a;         /* in the devices of the feed: its loads together */
    double return_switch_ohm; /* switches on the way back */
} FeederPath;

typedef struct Feeders {
    Feeder *rows;
    FeederPath *paths; /* beside rows */
    uint32_t count;
    ConductorId *wires;
    double *design_a;     /* by ConductorId */
    OwnerId *device;      /* by ConductorId: nearest device upstream, ID_NONE */
    uint8_t *role;        /* by ConductorId: WireRole */
    bool *crank;          /* by ConductorId: carries the starter's current */
    Duty *protection;     /* by row of `protection` */
    Duty *switchgear;     /* by row of `switchgear` */
    double *motor_a;      /* by ConductorId: of it, for heaters and motors */
    uint32_t *pair_first; /* by CableId, and one more: the feed cables it must be as thick as */
    CableId *pairs;
} Feeders;

/* Finds all feeders: drops and gauges are left blank, limits set. `scratch` is used for the work.
 * Findings: size.starter. */
void feeders_find(Arena *out, Arena *scratch, const Model *model, const Wiring *wiring,
                  const Routing *routing, const Supply *supply, Feeders *feeders,
                  Findings *findings);

/* Resistance in ohm of one step of a feed: a device at its rating (NAN: the smallest rating), a
 * closed switch, what joins the two ports of a box; 0 when not known. */
double feeders_step_ohm(const Model *model, const FeedStep *step, const double *rating_a);

/* Row of `device_rating` of a device at a rating: that of the rating, else the next smaller one,
 * else the smallest; ID_NONE when the library lists none. */
uint32_t feeders_rating_row(const Model *model, const char *part, double rating_a);

#endif
