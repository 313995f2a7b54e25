/* Service: what a loss means. In: ports without supply, boxes that do not work, conductors that are
 * broken, circuits on which nothing passes. Out: which functions of boxes and which `need`s are lost
 * by it. A box's function rests on its ports (`depends` rows of the library: any of its ways, a way
 * needs all its ports); a data port serves while a chain of whole conductors leads to a partner port
 * whose own box works. What no row says is noted as not decided, never as working. */
#ifndef POWER_SERVICE_H
#define POWER_SERVICE_H

#include "power/supply.h"

typedef struct Service Service;       /* constant once made; may be shared by threads */
typedef struct ServiceRun ServiceRun; /* scratch of one thread */

/* Sparse: what is lost. Ids may repeat. */
typedef struct ServiceLoss {
    const uint32_t *loads; /* of Supply.loads: no supply at that port */
    uint32_t load_count;
    const OwnerId *owners; /* boxes (sensors, switches) that do not work whatever their supply */
    uint32_t owner_count;
    const ConductorId *conductors; /* no longer join their ends */
    uint32_t conductor_count;
    const NetId *nets; /* shorted, or held by a talker that babbles: nothing passes */
    uint32_t net_count;
} ServiceLoss;

typedef struct ServiceAnswer {
    const uint32_t *needs; /* lost, by number (service_need_name), in rising order */
    uint32_t need_count;
    const uint32_t *functions; /* lost functions of boxes, by number, in rising order */
    uint32_t function_count;
    const uint32_t *ways; /* lost ways of needs, by number, in rising order */
    uint32_t way_count;
} ServiceAnswer;

/* Resolves `need`, `exception` and `depends` rows. Findings: need.* (a row names what is not
 * there). */
Service *service_build(Arena *out, const Model *model, const Wiring *wiring, const Supply *supply,
                       Findings *findings);

uint32_t service_need_count(const Service *service);
const char *service_need_name(const Service *service, uint32_t need);

ServiceRun *service_run_new(Arena *arena, const Service *service);

/* The answer lives in the run until its next call. Work is proportional to what the loss reaches. */
ServiceAnswer service_ask(ServiceRun *run, const ServiceLoss *loss);

#endif
