/* What is derived from each job of an open shop file, kept until the job or the library changes.
 * Three kinds, each by itself: the live chain, derived by whoever asks first after an edit; the
 * same with its diagrams laid out; and the whole, with every failure tried, the bench, and all
 * sheets. The last two are derived beside, by threads of the desk, on rows that were read at one
 * moment: a newer edit drops what was begun. A holder has the thing for itself. */
#ifndef SERVER_LIVE_H
#define SERVER_LIVE_H

#include "app/draw.h"
#include "app/source.h"
#include "draw/sheets.h"

typedef enum LiveKind { LIVE_CHAIN, LIVE_DRAWN, LIVE_FULL, LIVE_KIND_COUNT } LiveKind;

typedef struct Live {
    Proof proof;
    StoreAct act; /* of the job that it belongs to */
    StoreAct library_act;
    DrawView view; /* not of the chain: when nothing is a problem */
    SheetPlan plan;
    const char *problem; /* why nothing can be drawn; NULL */
    void *kept;          /* the desk's */
} Live;

typedef struct Desk Desk;

/* Opens the shop file for many threads. `shop` is made when it is not there. */
STATUS_USE Status desk_open(const char *shop, Desk **desk);

/* What is being derived is dropped. NULL is allowed. */
void desk_close(Desk *desk);

const char *desk_shop(const Desk *desk);

/* Books of this desk (server/bookshelf.h). */
struct Bookshelf *desk_shelf(Desk *desk);

/* The store, for one thread at a time; give it back soon. */
Store *desk_store(Desk *desk);
void desk_store_done(Desk *desk);

/* A state of the shop file: its last acts. Who asks for something that is derived beside gets what
 * is not older than when he asked; so he gets something also while others go on editing. */
typedef struct DeskMoment {
    StoreAct act;
    StoreAct library_act;
} DeskMoment;

STATUS_USE Status desk_moment(Desk *desk, StoreJob job, DeskMoment *moment);

/* What is derived from the job, not older than `since` (NULL: than now); waits for it. Held by one
 * thread at a time until desk_live_done(). NULL with *status when the file can't be read. */
Live *desk_live(Desk *desk, StoreJob job, LiveKind kind, const DeskMoment *since, Status *status);
void desk_live_done(Desk *desk, Live *live);

/* A text made of the holder's thing, kept as long as that is, under a name: many pages ask for the
 * same. NULL when there is none of that name yet; live_say() begins it (once) for the holder to
 * fill. */
const Buffer *live_said(const Live *live, const char *name);
Buffer *live_say(Live *live, const char *name);

/* True when desk_live() would not wait for anything to be derived beside. False: it is being
 * derived, and the hook is called when it is there. */
bool desk_live_ready(Desk *desk, StoreJob job, LiveKind kind, const DeskMoment *since);

/* Called by a thread of the desk, which holds nothing, whenever something was derived beside. */
typedef void (*DeskHook)(void *context, StoreJob job, LiveKind kind);

/* NULL: no more; no call of the former hook goes on when this returns. */
void desk_on_derived(Desk *desk, DeskHook hook, void *context);

/* How often anything was made anew since the desk was opened, for tests and benchmarks; `dropped`
 * (may be NULL): how often because of a newer edit what was begun was given up. */
uint64_t desk_live_count(Desk *desk, uint64_t *dropped);

#endif
