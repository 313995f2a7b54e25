#include "server/live.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/parallel.h"

/* One job and kind; never freed before the desk is. */
typedef struct Kept {
    Live live; /* first: a Live that is given back is the Kept it came from */
    struct Kept *next;
    StoreJob job;
    LiveKind kind;
    bool made;
    pthread_mutex_t lock;
    Arena arena; /* of view and plan */
    DrawFonts *fonts;
    Findings sheet_findings;
} Kept;

struct Desk {
    Arena arena;
    const char *shop;
    Store *store;
    pthread_mutex_t store_lock;
    pthread_mutex_t list_lock; /* of `kept` and `count` */
    Kept *kept;
    uint64_t count;
};

/* --- opening --------------------------------------------------------------------------------- */

static void lock(pthread_mutex_t *mutex) {
    CHECK(pthread_mutex_lock(mutex) == 0);
}

static void unlock(pthread_mutex_t *mutex) {
    CHECK(pthread_mutex_unlock(mutex) == 0);
}

Status desk_open(const char *shop, Desk **desk) {
    *desk = NULL;
    Store *store;
    Status status = store_open(shop, STORE_CREATE, &store);
    if (status.failed) {
        return status;
    }
    Arena arena = {0};
    Desk *opened = ARENA_NEW(&arena, Desk);
    opened->shop = arena_text(&arena, shop, strlen(shop));
    opened->store = store;
    opened->arena = arena;
    pthread_mutex_init(&opened->store_lock, NULL);
    pthread_mutex_init(&opened->list_lock, NULL);
    *desk = opened;
    return status;
}

static void kept_empty(Kept *kept) {
    if (kept->made) {
        if (kept->fonts != NULL) {
            fonts_close(kept->fonts);
        }
        arena_free(&kept->arena);
        proof_free(&kept->live.proof);
        kept->fonts = NULL;
        kept->made = false;
    }
}

void desk_close(Desk *desk) {
    if (desk == NULL) {
        return;
    }
    for (Kept *kept = desk->kept; kept != NULL; kept = kept->next) {
        kept_empty(kept);
        pthread_mutex_destroy(&kept->lock);
    }
    store_close(desk->store);
    pthread_mutex_destroy(&desk->store_lock);
    pthread_mutex_destroy(&desk->list_lock);
    Arena arena = desk->arena; /* holds the desk itself */
    arena_free(&arena);
}

const char *desk_shop(const Desk *desk) {
    return desk->shop;
}

Store *desk_store(Desk *desk) {
    lock(&desk->store_lock);
    return desk->store;
}

void desk_store_done(Desk *desk) {
    unlock(&desk->store_lock);
}

/* --- deriving -------------------------------------------------------------------------------- */

static Kept *find_kept(Desk *desk, StoreJob job, LiveKind kind) {
    lock(&desk->list_lock);
    Kept *kept = desk->kept;
    while (kept != NULL && !(kept->job == job && kept->kind == kind)) {
        kept = kept->next;
    }
    if (kept == NULL) {
        kept = ARENA_NEW(&desk->arena, Kept);
        kept->job = job;
        kept->kind = kind;
        pthread_mutex_init(&kept->lock, NULL);
        kept->next = desk->kept;
        desk->kept = kept;
    }
    unlock(&desk->list_lock);
    return kept;
}

/* Sheets of a complete proof, laid out once. */
static void plan_sheets(Kept *kept) {
    Live *live = &kept->live;
    live->problem = "what can't be read has to be mended before anything can be drawn";
    if (!live->proof.complete || proof_exit_code(&live->proof) == 2) {
        return;
    }
    DrawChoice choice = {0};
    if (draw_view_build(&kept->arena, &live->proof, &choice, &live->view, &live->problem)) {
        kept->fonts = fonts_open();
        kept->sheet_findings = (Findings){.arena = &kept->arena};
        sheets_plan(&kept->arena, kept->fonts, &live->view, &live->plan, &kept->sheet_findings);
        live->problem = NULL;
    }
}

static Status make_live(Desk *desk, Kept *kept) {
    Live *live = &kept->live;
    *live = (Live){0};
    kept->arena = (Arena){0};
    kept->fonts = NULL;
    live->proof.findings.arena = &live->proof.arena;
    kept->made = true;
    Store *store = desk_store(desk);
    Status status = store_last_acts(store, kept->job, &live->act, &live->library_act);
    if (!status.failed) {
        status = store_load(store, &live->proof.arena, kept->job, &live->proof.set,
                            &live->proof.findings);
    }
    desk_store_done(desk);
    if (status.failed) {
        return status;
    }
    ProofOptions options = {
        .no_faults = kept->kind == LIVE_CHAIN,
        .threads = parallel_processors(),
    };
    proof_run_set(&options, &live->proof);
    if (kept->kind == LIVE_FULL) {
        plan_sheets(kept);
    }
    lock(&desk->list_lock);
    desk->count++;
    unlock(&desk->list_lock);
    return status;
}

static bool is_fresh(Desk *desk, const Kept *kept, Status *status) {
    StoreAct act;
    StoreAct library_act;
    Store *store = desk_store(desk);
    *status = store_last_acts(store, kept->job, &act, &library_act);
    desk_store_done(desk);
    return kept->made && act == kept->live.act && library_act == kept->live.library_act;
}

Live *desk_live(Desk *desk, StoreJob job, LiveKind kind, Status *status) {
    Kept *kept = find_kept(desk, job, kind);
    lock(&kept->lock);
    if (!is_fresh(desk, kept, status) && !status->failed) {
        kept_empty(kept);
        *status = make_live(desk, kept);
    }
    if (status->failed) {
        kept_empty(kept);
        unlock(&kept->lock);
        return NULL;
    }
    return &kept->live;
}

void desk_live_done(Desk *desk, Live *live) {
    (void)desk;
    Kept *kept = (Kept *)(void *)live;
    unlock(&kept->lock);
}

uint64_t desk_live_count(Desk *desk) {
    lock(&desk->list_lock);
    uint64_t count = desk->count;
    unlock(&desk->list_lock);
    return count;
}
