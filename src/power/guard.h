/* Guard: does every protective device open before the wire behind it is damaged? In: the solved
 * phases of flight, gauges, devices. A fault to the structure (to the return where the job says
 * return_style wired) is laid at both ends of every conductor of the supply, bolted where the
 * sources can give most and through the limit `fault_contact` where they can give least; the
 * network says what flows in the wire and in the devices upstream, devices open one after the other
 * until no way feeds the fault. Out: a row for each conductor, one for each pair of devices in
 * series. docs/theory/guard.md. */
#ifndef POWER_GUARD_H
#define POWER_GUARD_H

#include "power/guard_flow.h"
#include "power/guard_judge.h"
#include "power/phases.h"
#include "power/size.h"

/* Limits read from the library. */
#define GUARD_LIMIT_CONTACT "fault_contact"
#define GUARD_LIMIT_BARE "device_distance"

enum { GUARD_STAGES_MOST = 4 };

/* The fault that decides a row. */
typedef enum GuardCase { GUARD_HIGH, GUARD_LOW, GUARD_BETWEEN, GUARD_CASE_COUNT } GuardCase;

/* What is known of a fault at one end of a conductor. */
typedef struct GuardFault {
    uint32_t phase; /* row of `phase`; ID_NONE: not tried */
    double wire_a;  /* through the conductor, before anything opens */
    GuardStage stages[GUARD_STAGES_MOST];
    uint32_t stage_count;
    double left_a;    /* still in the wire when all that can has opened */
    bool bare;        /* and a source gives it: */
    GuardFeed source; /* the nearest one */
    bool lost;        /* no operating point, more ways or stages than are followed */
} GuardFault;

typedef struct GuardRow {
    ConductorId conductor;
    PinId at;        /* the fault */
    GuardFault high; /* bolted, most capable phase */
    GuardFault low;  /* through a contact, least capable phase */
    bool held;       /* no phase feeds it: the switches on its feed were closed for the fault */
    bool by_return;  /* the fault is between a load's port and its return */
    GuardCase decides;
    double at_a; /* current in the wire that decides */
    GuardJudgement judgement;
    double carries_a; /* for good, at the hottest and fullest stretch of its way */
    double start_degc;
    double limit_degc;
    double reaches_degc; /* when the last device opens, slow edge; NAN: no gate says */
    double way_mm;       /* of a row without device: wire from the source to the fault */
    bool exempt;         /* of the same: carries the starter, or is a return */
} GuardRow;

/* A device and the next one upstream of it. */
typedef struct GuardPair {
    uint32_t device; /* rows of `protection` */
    uint32_t upstream;
    bool one_feed; /* both in one feed: nothing else hangs on the upstream one */
    GuardSelection selection[2];
    double device_a[2]; /* [GUARD_HIGH] the largest fault seen, [GUARD_LOW] the smallest */
    double upstream_a[2];
    uint32_t node[2];
    uint32_t phase[2];
} GuardPair;

typedef struct Guard {
    const GuardDevice *devices; /* by row of `protection` */
    GuardRow *rows;             /* by rising conductor */
    uint32_t row_count;
    uint32_t *row_of; /* by ConductorId; ID_NONE: not in the supply network */
    GuardPair *pairs; /* by tags */
    uint32_t pair_count;
    uint64_t faults; /* solved */
    uint64_t fast;   /* of these without a factorisation */
} Guard;

typedef struct GuardInput {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Supply *supply;
    const Sizing *sizing;
    const PowerNetwork *built;
    const Phases *phases;
} GuardInput;

/* The numbers of `built`, which is the one in `input`, are set to one phase after the other. Always
 * returns true: what can't be proved is a row that says so. Findings: guard.*. */
bool guard_run(Arena *out, const GuardInput *input, PowerNetwork *built, Guard *guard,
               Findings *findings);

/* Appends the rows of `guard` and `selectivity`. */
void guard_rows(Arena *arena, const GuardInput *input, const Guard *guard, TableSet *results);

/* Lines that say what protects a conductor, and what happens when it is shorted. */
void guard_why(Buffer *out, const GuardInput *input, const Guard *guard, ConductorId conductor);

/* The wire's heating as the guard reckons with; false when its gauge is not known. `area_mm2` may
 * be NULL. */
bool guard_wire(const GuardInput *input, ConductorId conductor, HeatingWire *wire,
                double *area_mm2);

/* What decides a row, in words. */
const char *guard_because(Arena *arena, const GuardInput *input, const GuardRow *row);

/* "feed", "return", "trunk", "control". */
const char *guard_role_name(const GuardInput *input, ConductorId conductor);

#endif
