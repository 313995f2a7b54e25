/* Size: the gauge of every conductor and the rating of every blank device. Each conductor starts at
 * the smallest gauge its class allows and is only ever enlarged, so the rounds end. Limits: voltage
 * drop (plain and with hot copper and contacts, feed and return together), current in the bundle at
 * the zone's temperature and altitude (never above the published worst-bundle table), protection
 * (the device opens before the wire is damaged), contact and terminal range, mechanical minimum,
 * the gauge a person gave. Says which limit governs and which comes next. For every conductor whose
 * gauge is the tool's, one gauge thinner breaks the governing limit, all others as they are.
 * docs/theory/size.md has the rules and a worked example. */
#ifndef POWER_SIZE_H
#define POWER_SIZE_H

#include "power/supply.h"
#include "route/route.h"

typedef enum SizeLimit {
    SIZE_GIVEN,      /* a person's gauge (circuit row or override) */
    SIZE_CLASS,      /* smallest of the interface class, or the cable's own gauge */
    SIZE_MECHANICAL, /* smallest the shop uses */
    SIZE_PLAIN_DROP,
    SIZE_HOT_DROP,
    SIZE_FREE_AIR, /* free air x bundle x altitude */
    SIZE_TABLE,    /* published worst-bundle table */
    SIZE_PROTECTION,
    SIZE_CONTACT, /* smallest the contact takes */
    SIZE_PAIRED,  /* as the feed it returns, or the wire it is paired with */
    SIZE_LIMIT_COUNT
} SizeLimit;

typedef struct GaugeChoice {
    int32_t awg; /* INT_BLANK for coax */
    int32_t
        smallest_awg[SIZE_LIMIT_COUNT]; /* thinnest gauge each limit allows; INT_BLANK: no say */
    double value[SIZE_LIMIT_COUNT];     /* what one gauge thinner than it would come to */
    double limit[SIZE_LIMIT_COUNT];
    SizeLimit governing;
    SizeLimit runner_up; /* SIZE_LIMIT_COUNT when none */
} GaugeChoice;

/* Plain and hot figures of one supply port, as a person would work them out. */
typedef struct Feeder {
    uint32_t load; /* into Supply.loads; ID_NONE for a feeder of a bus */
    uint32_t feed; /* row of `feed` */
    double design_a;
    double feed_mm;      /* first net of the feed */
    double loop_mm;      /* all of feed and return */
    double plain_drop_v; /* 20 degC, no contacts */
    double hot_drop_v;   /* conductor temperature under load, contacts, devices */
    double limit_v;
    int32_t thickest_awg;
    int32_t thinnest_awg;
} Feeder;

typedef struct SizeDetail SizeDetail;

typedef struct Sizing {
    GaugeChoice *choices; /* by ConductorId */
    int32_t *awg;         /* by ConductorId */
    double *design_a;     /* by ConductorId: 0 for signals */
    OwnerId *device;      /* by ConductorId: protective device upstream, ID_NONE */
    double *length_mm;    /* by CableId: what was reckoned with; NAN: no way */
    double *rating_a;     /* by row of `protection`: given or chosen */
    Feeder *feeders;
    uint32_t feeder_count;
    uint32_t rounds;    /* single enlargements */
    uint32_t thinned;   /* single steps back that no limit minded */
    SizeDetail *detail; /* for size_why and size_rows */
} Sizing;

/* Chooses all gauges and blank ratings. network_v: by Supply.loads, volts that the solved network
 * loses on the way of that load beyond its hot drop here (a lower bus voltage draws more); NULL:
 * none. They count as the devices on the way do. Lengthens the runs of `routing` to what is cut
 * with the gauges chosen (lengths_raise), so no wire is sized for less than it is cut to.
 * Everything lives in `out`; the inputs must outlive it. Findings: size.*. Always returns true:
 * what can't be met is a finding. */
bool size_run(Arena *out, const Model *model, const Wiring *wiring, Routing *routing,
              const Supply *supply, const double *network_v, Sizing *sizing, Findings *findings);

/* Raises conductor_degc[conductor] to what the design current heats each sized wire to in the
 * hottest zone on its way (AC 43.13-1B 11-66d(6)); never lowers one. */
void size_heat(const Sizing *sizing, double *conductor_degc);

/* Current in A that one conductor of the cable stands for good at its gauge: free air x bundle x
 * altitude on its way, never above the published worst-bundle table. NAN when no table says. */
double size_allowed_a(const Sizing *sizing, CableId cable);

/* For passes that ask the same tables: the limits of all gauges (power/limits.h), the place of a
 * cable's gauge among them, what a conductor is for (WireRole of power/feeders.h), whether it
 * carries the starter's current. They live as long as the sizing. */
const struct Limits *size_limits(const Sizing *sizing);
uint32_t size_place(const Sizing *sizing, CableId cable);
uint8_t size_role(const Sizing *sizing, ConductorId conductor);
bool size_cranks(const Sizing *sizing, ConductorId conductor);

/* Drop of a feeder if each wire on its way were `factor` times as long as was reckoned with (by
 * ConductorId), plain, or hot with contacts and devices as they are. */
double size_drop_of_lengths(const Sizing *sizing, uint32_t feeder, const double *factor, bool hot);

/* "plain drop", "bundle current" ... */
const char *size_limit_name(SizeLimit limit);

/* Appends rows of `gauge` (every conductor that carries supply current) and `feeder` to `results`,
 * and fills the column `device` of the rows of `conductor` that are there. Texts live in `arena`.
 */
void size_rows(Arena *arena, const Sizing *sizing, TableSet *results);

/* Lines that say why a conductor has its gauge, one a line: what it carries and on whose behalf,
 * the governing limit with formula, inputs and source, the one behind it, the rest. */
void size_why(Buffer *out, const Sizing *sizing, ConductorId conductor);

#endif
