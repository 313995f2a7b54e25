/* What is derived from each job of an open shop file, kept until the job or the library changes.
 * Two kinds: the live chain, which runs again at each edit, and the same with every failure tried
 * and sheets planned, which is asked for beside it. A holder has the thing for itself. */
#ifndef SERVER_LIVE_H
#define SERVER_LIVE_H

#include "app/draw.h"
#include "app/source.h"
#include "draw/sheets.h"

typedef enum LiveKind { LIVE_CHAIN, LIVE_FULL, LIVE_KIND_COUNT } LiveKind;

typedef struct Live {
    Proof proof;
    StoreAct act; /* of the job that it belongs to */
    StoreAct library_act;
    DrawView view; /* full: when `drawn` */
    SheetPlan plan;
    const char *problem; /* why nothing can be drawn; NULL */
} Live;

typedef struct Desk Desk;

/* Opens the shop file for many threads. `shop` is made when it is not there. */
STATUS_USE Status desk_open(const char *shop, Desk **desk);
void desk_close(Desk *desk); /* NULL is allowed */

const char *desk_shop(const Desk *desk);

/* The store, for one thread at a time; give it back soon. */
Store *desk_store(Desk *desk);
void desk_store_done(Desk *desk);

/* What is derived from the job as it is now; made anew when it changed. Held by one thread at a
 * time until desk_live_done(). NULL with *status when the file can't be read. */
Live *desk_live(Desk *desk, StoreJob job, LiveKind kind, Status *status);
void desk_live_done(Desk *desk, Live *live);

/* How often anything was made anew since the desk was opened, for tests and benchmarks. */
uint64_t desk_live_count(Desk *desk);

#endif
