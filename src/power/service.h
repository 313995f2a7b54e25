/* Service: what a loss means. In: ports without supply, boxes that do not work, conductors that are
 * broken, circuits on which nothing passes. Out: which functions of boxes and which `need`s are
 * lost by it. A box's function rests on its ports (`depends` rows of the library: any of its ways,
 * a way needs all its ports); a data port serves while a chain of whole conductors leads to a
 * partner port whose own box works. What no row says is noted as not decided. docs/theory/needs.md.
 */
#ifndef POWER_SERVICE_H
#define POWER_SERVICE_H

#include "power/supply.h"

typedef struct Service Service;       /* constant once made; may be shared by threads */
typedef struct ServiceRun ServiceRun; /* scratch of one thread */

/* Sparse: everything that is lost, also what the phase leaves without supply before anything has
 * failed. Ids may repeat. */
typedef struct ServiceLoss {
    const uint32_t *loads; /* of Supply.loads: no supply at that port */
    uint32_t load_count;
    const OwnerId *owners; /* boxes (sensors, switches) that do not work whatever their supply */
    uint32_t owner_count;
    const ConductorId *conductors; /* no longer join their ends */
    uint32_t conductor_count;
    const NetId *nets; /* shorted, or held by a talker that babbles: nothing passes */
    uint32_t net_count;
    const TerminalId *ports; /* data ports that neither give nor take: one contact of a sensor */
    uint32_t port_count;
} ServiceLoss;

/* What is lost beyond what is missing with nothing lost at all (service_need_missing). */
typedef struct ServiceAnswer {
    const uint32_t *needs; /* lost, by number (service_need_name), in rising order */
    uint32_t need_count;
    const uint32_t *functions; /* lost functions of boxes, by number, in rising order */
    uint32_t function_count;
    const uint32_t *ways; /* lost ways of needs, by number, in rising order */
    uint32_t way_count;
} ServiceAnswer;

/* A need: the rows of table `need` with its name. */
typedef struct ServiceNeed {
    const char *name;     /* "N1" */
    const char *title;    /* "engine keeps running" */
    const char *severity; /* "" when no row says */
    const char *scope;    /* as written */
    uint32_t row_first;   /* its rows of `need` */
    uint32_t row_count;
    uint32_t way_first; /* its ways are together, clause by clause */
    uint32_t way_count;
} ServiceNeed;

typedef struct ServiceWay {
    uint32_t need;
    const char *clause;
    const char *way;
    uint32_t row_first; /* its rows of `need` */
    uint32_t row_count;
} ServiceWay;

typedef struct ServiceFunction {
    OwnerId owner;
    const char *name; /* "works" for the box itself */
    bool undecided;   /* no row says which of its ports it rests on, and there is more than one */
} ServiceFunction;

/* Resolves `need`, `exception` and `depends` rows. Findings: need.row and need.depends (a row names
 * what is not there), need.missing (a need that is not met with nothing failed), need.undecided. */
Service *service_build(Arena *out, const Model *model, const Wiring *wiring, const Supply *supply,
                       Findings *findings);

uint32_t service_need_count(const Service *service);
const ServiceNeed *service_need(const Service *service, uint32_t need);
const char *service_need_name(const Service *service, uint32_t need);

/* True for a need that is not met with nothing failed; service_ask never lists it. */
bool service_need_missing(const Service *service, uint32_t need);

uint32_t service_way_count(const Service *service);
const ServiceWay *service_way(const Service *service, uint32_t way);

uint32_t service_function_count(const Service *service);
const ServiceFunction *service_function(const Service *service, uint32_t function);

/* "WPA.right main up"; "WPA" for the box itself. In `arena`. */
const char *service_function_name(const Service *service, Arena *arena, uint32_t function);

/* The mode of an exception that covers every way of failing. */
#define SERVICE_ANY_MODE "any"

/* True when an `exception` row covers the loss of `need` by failure mode `mode` of `item`. `row`
 * (may be NULL) gets its row of `exception`, ID_NONE when there is none. */
bool service_excepted(const Service *service, uint32_t need, const char *item, const char *mode,
                      uint32_t *row);

/* True when some function or need asks what passes on that circuit. */
bool service_asks_net(const Service *service, NetId net);

/* Scratch of one thread, in `arena`. */
ServiceRun *service_run_new(Arena *arena, const Service *service);

/* The answer lives in the run until its next call. Work is proportional to what the loss reaches
 * (times the logarithm of it). */
ServiceAnswer service_ask(ServiceRun *run, const ServiceLoss *loss);

/* What a way of a need rests on, followed through boxes and data lines: supply ports, boxes, and
 * circuits that data passes. In rising order, each once; in `arena`. */
typedef struct ServiceRoots {
    const uint32_t *loads; /* of Supply.loads */
    uint32_t load_count;
    const OwnerId *owners;
    uint32_t owner_count;
    const NetId *nets;
    uint32_t net_count;
} ServiceRoots;

/* Only what the way can't do without by itself: of things of which any will do, none is listed
 * while there are two. */
ServiceRoots service_way_roots(const Service *service, Arena *arena, uint32_t way);

/* Everything below the ways [first, end), also what only stands in for something else. */
ServiceRoots service_ways_below(const Service *service, Arena *arena, uint32_t first, uint32_t end);

#endif
