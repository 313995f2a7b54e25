/* One fault, one wire, the devices that clear it: does the wire stand the current until the last of
 * them has opened? In: the wire's heating (rating/heating.h), what the library says of each device
 * (rows of `curve`), the current in both, stage by stage. Out: proved, not proved or fails, at
 * which edge of the tolerance band, and with what margin. docs/theory/guard.md. */
#ifndef POWER_GUARD_JUDGE_H
#define POWER_GUARD_JUDGE_H

#include "model/model.h"
#include "rating/heating.h"
#include "rating/protector.h"

/* A protective device at its rating. */
typedef struct GuardDevice {
    OwnerId owner;
    double rating_a;     /* NAN: none was found, nothing is proved */
    ProtectorGates all;  /* every row of the library for this part and rating */
    ProtectorGates firm; /* those that are not from memory: only they prove */
} GuardDevice;

/* The devices of a job, by row of `protection`; ratings as given or chosen (`rating_a`, may be
 * NULL). Rows that contradict each other (protector_gates_are_sound) prove nothing. */
GuardDevice *guard_devices(Arena *out, const Model *model, const double *rating_a);

/* From best to worst. */
typedef enum GuardVerdict {
    GUARD_NO_CURRENT, /* no source reaches it, or all that flows is less than it carries */
    GUARD_PROVED,
    GUARD_NOT_PROVED,
    GUARD_BARE, /* no device between a source and the fault */
    GUARD_FAILS,
    GUARD_VERDICT_COUNT
} GuardVerdict;

typedef enum GuardEdge {
    GUARD_EDGE_NONE,
    GUARD_EDGE_SLOW, /* a device at the slow edge of its band lets the wire get too hot */
    GUARD_EDGE_FAST  /* even one at the fast edge does */
} GuardEdge;

/* "proved", "not proved", "no device", "fails", "no current"; "slow edge" ... */
const char *guard_verdict_name(GuardVerdict verdict);
const char *guard_edge_name(GuardEdge edge);

/* Until `device` opens, the wire carries wire_a and the device device_a. */
typedef struct GuardStage {
    double wire_a;
    double device_a;
    const GuardDevice *device;
} GuardStage;

typedef struct GuardJudgement {
    GuardVerdict verdict;
    GuardEdge edge;  /* that the verdict rests on: slow unless it fails at the fast one too */
    double damage_s; /* the wire reaches its limit, at the current of the first stage */
    double fast_s;   /* the last device opens: earliest, 0 when nothing says; ... */
    double slow_s;   /* ... and latest; INFINITY when nothing says */
    double margin;   /* time the wire stands / time to clear, at the slow edge; NAN: not known */
    bool covered; /* published gates on both sides of every current: slow_s is more than a bound */
    bool memory;  /* a value from memory made it stricter, or would be needed to prove it */
} GuardJudgement;

/* Judges stages that follow each other (count > 0). Heat adds up: each stage uses the share of the
 * wire's time that it lasts, and the wire is within its limit while the shares come to 1 or less.
 * Fails: at the published slow edge the shares come to more; or at the fast edge, where a bound is
 * enough. Proved: by firm rows alone, where a bound is enough too. */
GuardJudgement guard_judge(const HeatingWire *wire, const GuardStage *stages, uint32_t count);

/* The worse of two: verdict, then smaller margin; `left` of equals. */
bool guard_is_worse(const GuardJudgement *left, const GuardJudgement *right);

/* --- selectivity --------------------------------------------------------------------------------
 */

typedef enum GuardOrder {
    GUARD_ORDER_SELECTIVE, /* the near device has opened before the far one may */
    GUARD_ORDER_NOT_PROVED,
    GUARD_ORDER_EITHER,  /* the published bands lie over each other */
    GUARD_ORDER_REVERSED /* the upstream device has opened before the near one may */
} GuardOrder;

/* "selective", "not proved", "either may open", "upstream opens first". */
const char *guard_order_name(GuardOrder order);

/* What happens first when `device` and the next one upstream carry these currents. Selective rests
 * on firm rows alone, the others on all. Up to its rating the upstream one never opens. */
typedef struct GuardSelection {
    GuardOrder order;
    double slow_s;          /* the device has opened */
    double upstream_fast_s; /* the one upstream may open */
    bool memory;
} GuardSelection;

GuardSelection guard_select(const GuardDevice *device, double device_a, const GuardDevice *upstream,
                            double upstream_a);

#endif
