/* Locks, in the order in which they may be taken one inside the other: the list's, then the
 * store's; a kept thing's own (while it is used), then the store's. */
#include "server/live.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include "app/bench.h"
#include "base/check.h"
#include "base/parallel.h"
#include "draw/wiring_memory.h"
#include "server/bookshelf.h"

enum { SPARE_FONTS = 4, SHAPES_MOST_BYTES = 16 << 20 };

/* A text that was asked for. */
typedef struct Said {
    struct Said *next;
    const char *name;
    Buffer text;
} Said;

/* What was derived at one moment. */
typedef struct Made {
    Live live; /* first: its holder has this alone */
    Said *said;
    Status status;
    Arena arena; /* of view and plan */
    DrawFonts *fonts;
    Findings sheet_findings;
} Made;

/* One job and kind; never freed before the desk is. */
typedef struct Kept {
    struct Kept *next;
    StoreJob job;
    LiveKind kind;
    pthread_mutex_t lock; /* of use of `made` */
    Made *made;
    /* Under the list's lock: */
    bool there; /* made, of this moment */
    DeskMoment moment;
    bool wanted;   /* somebody asked and nobody derives it yet */
    bool deriving; /* of this moment or later: */
    DeskMoment deriving_moment;
    atomic_bool stop; /* what is being derived is old */
    int drops;        /* one after the other */
    bool failed;      /* to derive it; whoever asks next is told */
    Status failure;
} Kept;

typedef struct Deriver {
    Desk *desk;
    LiveKind kind;
    pthread_t thread;
    WiringMemory *memory; /* this thread's alone */
} Deriver;

struct Desk {
    Arena arena;
    const char *shop;
    Store *store;
    pthread_mutex_t store_lock;
    pthread_mutex_t list_lock; /* of what follows */
    pthread_cond_t work;       /* something is wanted, or the desk closes */
    pthread_cond_t derived;
    Kept *kept;
    uint64_t count;
    uint64_t dropped;
    bool closing;
    DrawFonts *spare[SPARE_FONTS];
    size_t spare_count;
    unsigned hooks_running;
    DeskHook hook;
    void *hook_context;
    Deriver derivers[LIVE_KIND_COUNT]; /* the chain has none */
    Bookshelf *shelf;
};

static void lock(pthread_mutex_t *mutex) {
    CHECK(pthread_mutex_lock(mutex) == 0);
}

static void unlock(pthread_mutex_t *mutex) {
    CHECK(pthread_mutex_unlock(mutex) == 0);
}

/* --- deriving -------------------------------------------------------------------------------- */

/* Typefaces that were read and texts that were shaped serve the next, too: reading them anew takes
 * as long as all diagrams. */
static DrawFonts *take_fonts(Desk *desk) {
    lock(&desk->list_lock);
    DrawFonts *fonts = desk->spare_count == 0 ? NULL : desk->spare[--desk->spare_count];
    unlock(&desk->list_lock);
    if (fonts != NULL) {
        fonts_trim(fonts, SHAPES_MOST_BYTES);
    }
    return fonts == NULL ? fonts_open() : fonts;
}

static void give_fonts(Desk *desk, DrawFonts *fonts) {
    lock(&desk->list_lock);
    bool kept = desk->spare_count < SPARE_FONTS;
    if (kept) {
        desk->spare[desk->spare_count++] = fonts;
    }
    unlock(&desk->list_lock);
    if (!kept) {
        fonts_close(fonts);
    }
}

static void made_free(Desk *desk, Made *made) {
    if (made == NULL) {
        return;
    }
    if (made->fonts != NULL) {
        give_fonts(desk, made->fonts);
    }
    arena_free(&made->arena);
    proof_free(&made->live.proof);
    free(made);
}

/* The bench, step by step as long as somebody wants it. */
static void run_bench(Made *made, const atomic_bool *stop) {
    for (int step = 0; step < BENCH_STEP_COUNT && !atomic_load(stop); step++) {
        bench_step(&made->live.proof, (BenchStep)step);
    }
    if (!atomic_load(stop)) {
        draw_view_bench(&made->live.proof, &made->live.view);
    }
}

/* Sheets of a complete proof, laid out once. */
static void plan_sheets(Made *made, LiveKind kind, WiringMemory *memory, const atomic_bool *stop) {
    Live *live = &made->live;
    live->problem = "what can't be read has to be mended before anything can be drawn";
    if (!live->proof.complete || proof_exit_code(&live->proof) == 2) {
        return;
    }
    DrawChoice choice = {0};
    if (draw_view_live(&made->arena, &live->proof, &choice, &live->view, &live->problem)) {
        made->sheet_findings = (Findings){.arena = &made->arena};
        sheets_start(&made->arena, made->fonts, &live->view, &live->plan, &made->sheet_findings);
        wiring_memory_turn(memory);
        live->plan.memory = memory;
        sheets_plan_to(&live->plan, SHEET_LAST_LIVE);
        live->plan.memory = NULL; /* who draws is another thread */
        if (kind == LIVE_FULL) {
            run_bench(made, stop);
            sheets_plan_to(&live->plan, atomic_load(stop) ? SHEET_LAST_LIVE : SHEET_CONTENTS);
        }
        live->problem = NULL;
    }
}

/* Never NULL; made->status says what went wrong. `memory`: NULL for what has no sheets. */
static Made *make(Desk *desk, Kept *kept, WiringMemory *memory) {
    Made *made = calloc(1, sizeof *made);
    CHECK(made != NULL);
    Live *live = &made->live;
    live->kept = kept;
    live->proof.findings.arena = &live->proof.arena;
    Store *store = desk_store(desk);
    made->status = store_last_acts(store, kept->job, &live->act, &live->library_act);
    if (!made->status.failed) {
        made->status = store_load(store, &live->proof.arena, kept->job, &live->proof.set,
                                  &live->proof.findings);
    }
    desk_store_done(desk);
    if (!made->status.failed) {
        /* What is derived beside leaves the other processors to who edits. */
        ProofOptions options = {
            .no_faults = kept->kind != LIVE_FULL,
            .no_card = kept->kind != LIVE_FULL, /* of failures */
            .threads = kept->kind == LIVE_FULL ? 1 : parallel_processors(),
            .stop = &kept->stop,
        };
        options.fonts = made->fonts = take_fonts(desk);
        proof_run_set(&options, &live->proof);
        if (kept->kind != LIVE_CHAIN && !atomic_load(&kept->stop)) {
            plan_sheets(made, kept->kind, memory, &kept->stop);
        }
    }
    return made;
}

/* --- freshness ------------------------------------------------------------------------------- */

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

Status desk_moment(Desk *desk, StoreJob job, DeskMoment *moment) {
    Store *store = desk_store(desk);
    Status status = store_last_acts(store, job, &moment->act, &moment->library_act);
    desk_store_done(desk);
    return status;
}

static bool not_older(const DeskMoment *moment, const DeskMoment *since) {
    return moment->act >= since->act && moment->library_act >= since->library_act;
}

/* Under the list's lock: whether what is kept will do; if not it is wanted, and what is being
 * derived of an older moment is given up, unless that was done so often that nothing would ever be
 * finished. */
static bool there_or_wanted(Desk *desk, Kept *kept, const DeskMoment *since) {
    enum { DROPS_MOST = 3 };
    if (kept->failed || (kept->there && not_older(&kept->moment, since))) {
        return true;
    }
    bool coming = kept->deriving && not_older(&kept->deriving_moment, since);
    if (!coming && !kept->wanted) {
        kept->wanted = true;
        atomic_store(&kept->stop, kept->deriving && kept->drops < DROPS_MOST);
        CHECK(pthread_cond_broadcast(&desk->work) == 0);
    }
    return false;
}

bool desk_live_ready(Desk *desk, StoreJob job, LiveKind kind, const DeskMoment *since) {
    DeskMoment now;
    if (kind == LIVE_CHAIN || (since == NULL && desk_moment(desk, job, &now).failed)) {
        return true;
    }
    Kept *kept = find_kept(desk, job, kind);
    lock(&desk->list_lock);
    bool ready = there_or_wanted(desk, kept, since == NULL ? &now : since);
    unlock(&desk->list_lock);
    return ready;
}

/* Puts what was made in its place, unless making it failed or it is old. */
static void put_made(Desk *desk, Kept *kept, Made *made) {
    bool stopped = atomic_load(&kept->stop);
    bool good = !made->status.failed && !stopped;
    Made *old = made;
    if (good) {
        old = kept->made;
        kept->made = made;
    }
    lock(&desk->list_lock);
    if (good) {
        kept->there = true;
        kept->moment = (DeskMoment){made->live.act, made->live.library_act};
        kept->drops = 0;
        desk->count++;
    } else if (stopped) {
        kept->drops++;
        desk->dropped++;
    }
    kept->failed = made->status.failed;
    kept->failure = made->status;
    kept->deriving = false;
    atomic_store(&kept->stop, false);
    CHECK(pthread_cond_broadcast(&desk->derived) == 0);
    unlock(&desk->list_lock);
    made_free(desk, old);
}

/* --- beside ---------------------------------------------------------------------------------- */

/* The next that is wanted of a kind, marked as being derived; NULL when the desk closes. */
static Kept *next_wanted(Desk *desk, LiveKind kind) {
    lock(&desk->list_lock);
    Kept *kept = NULL;
    while (!desk->closing && kept == NULL) {
        for (kept = desk->kept; kept != NULL && !(kept->kind == kind && kept->wanted);) {
            kept = kept->next;
        }
        if (kept == NULL) {
            CHECK(pthread_cond_wait(&desk->work, &desk->list_lock) == 0);
        }
    }
    if (desk->closing) {
        kept = NULL;
    }
    if (kept != NULL) {
        kept->wanted = false;
        kept->deriving = true;
        atomic_store(&kept->stop, false);
        /* Rows are read later: what comes of them is at least as new. */
        if (desk_moment(desk, kept->job, &kept->deriving_moment).failed) {
            kept->deriving_moment = (DeskMoment){0};
        }
    }
    unlock(&desk->list_lock);
    return kept;
}

static void *derive(void *context) {
    Deriver *deriver = context;
    Desk *desk = deriver->desk;
    /* On Linux the calling thread's alone. */
    (void)setpriority(PRIO_PROCESS, 0, deriver->kind == LIVE_FULL ? 10 : 5);
    for (Kept *kept = next_wanted(desk, deriver->kind); kept != NULL;
         kept = next_wanted(desk, deriver->kind)) {
        Made *made = make(desk, kept, deriver->memory);
        lock(&kept->lock);
        put_made(desk, kept, made);
        unlock(&kept->lock);
        lock(&desk->list_lock);
        DeskHook hook = desk->hook;
        void *hook_context = desk->hook_context;
        desk->hooks_running++;
        unlock(&desk->list_lock);
        if (hook != NULL) {
            hook(hook_context, kept->job, kept->kind);
        }
        lock(&desk->list_lock);
        desk->hooks_running--;
        CHECK(pthread_cond_broadcast(&desk->derived) == 0);
        unlock(&desk->list_lock);
    }
    return NULL;
}

void desk_on_derived(Desk *desk, DeskHook hook, void *context) {
    lock(&desk->list_lock);
    desk->hook = hook;
    desk->hook_context = context;
    while (desk->hooks_running > 0) {
        CHECK(pthread_cond_wait(&desk->derived, &desk->list_lock) == 0);
    }
    unlock(&desk->list_lock);
}

/* --- exported -------------------------------------------------------------------------------- */

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
    pthread_cond_init(&opened->work, NULL);
    pthread_cond_init(&opened->derived, NULL);
    opened->shelf = bookshelf_open(opened);
    for (int kind = LIVE_DRAWN; kind < LIVE_KIND_COUNT; kind++) {
        Deriver *deriver = &opened->derivers[kind];
        *deriver =
            (Deriver){.desk = opened, .kind = (LiveKind)kind, .memory = wiring_memory_open()};
        CHECK(pthread_create(&deriver->thread, NULL, derive, deriver) == 0);
    }
    *desk = opened;
    return status;
}

void desk_close(Desk *desk) {
    if (desk == NULL) {
        return;
    }
    bookshelf_close(desk->shelf);
    lock(&desk->list_lock);
    desk->closing = true;
    for (Kept *kept = desk->kept; kept != NULL; kept = kept->next) {
        atomic_store(&kept->stop, true);
    }
    CHECK(pthread_cond_broadcast(&desk->work) == 0);
    unlock(&desk->list_lock);
    for (int kind = LIVE_DRAWN; kind < LIVE_KIND_COUNT; kind++) {
        CHECK(pthread_join(desk->derivers[kind].thread, NULL) == 0);
        wiring_memory_close(desk->derivers[kind].memory);
    }
    for (Kept *kept = desk->kept; kept != NULL; kept = kept->next) {
        made_free(desk, kept->made);
        pthread_mutex_destroy(&kept->lock);
    }
    for (size_t i = 0; i < desk->spare_count; i++) {
        fonts_close(desk->spare[i]);
    }
    store_close(desk->store);
    pthread_mutex_destroy(&desk->store_lock);
    pthread_mutex_destroy(&desk->list_lock);
    pthread_cond_destroy(&desk->work);
    pthread_cond_destroy(&desk->derived);
    Arena arena = desk->arena; /* holds the desk itself */
    arena_free(&arena);
}

Bookshelf *desk_shelf(Desk *desk) {
    return desk->shelf;
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

/* The chain, by who asks: under its lock, so that others who ask wait for it. */
static Live *chain(Desk *desk, Kept *kept, Status *status) {
    DeskMoment now;
    lock(&kept->lock);
    *status = desk_moment(desk, kept->job, &now);
    if (!status->failed && !(kept->there && not_older(&kept->moment, &now))) {
        Made *made = make(desk, kept, NULL);
        *status = made->status;
        put_made(desk, kept, made);
    }
    if (status->failed) {
        unlock(&kept->lock);
        return NULL;
    }
    return &kept->made->live;
}

/* Waits for a thread of the desk. */
static Live *beside(Desk *desk, Kept *kept, const DeskMoment *since, Status *status) {
    lock(&desk->list_lock);
    while (!there_or_wanted(desk, kept, since)) {
        CHECK(pthread_cond_wait(&desk->derived, &desk->list_lock) == 0);
    }
    bool failed = kept->failed;
    if (failed) {
        *status = kept->failure;
        kept->failed = false;
    }
    unlock(&desk->list_lock);
    if (failed) {
        return NULL;
    }
    lock(&kept->lock);
    return &kept->made->live;
}

Live *desk_live(Desk *desk, StoreJob job, LiveKind kind, const DeskMoment *since, Status *status) {
    Kept *kept = find_kept(desk, job, kind);
    DeskMoment now;
    *status = status_ok();
    if (kind == LIVE_CHAIN) {
        return chain(desk, kept, status);
    }
    if (since == NULL) {
        *status = desk_moment(desk, job, &now);
    }
    return status->failed ? NULL : beside(desk, kept, since == NULL ? &now : since, status);
}

const Buffer *live_said(const Live *live, const char *name) {
    const Said *said = ((const Made *)(const void *)live)->said;
    while (said != NULL && strcmp(said->name, name) != 0) {
        said = said->next;
    }
    return said == NULL ? NULL : &said->text;
}

Buffer *live_say(Live *live, const char *name) {
    Made *made = (Made *)(void *)live;
    Said *said = ARENA_NEW(&made->arena, Said);
    *said =
        (Said){made->said, arena_text(&made->arena, name, strlen(name)), {.arena = &made->arena}};
    made->said = said;
    return &said->text;
}

void desk_live_done(Desk *desk, Live *live) {
    (void)desk;
    unlock(&((Kept *)live->kept)->lock);
}

uint64_t desk_live_count(Desk *desk, uint64_t *dropped) {
    lock(&desk->list_lock);
    uint64_t count = desk->count;
    if (dropped != NULL) {
        *dropped = desk->dropped;
    }
    unlock(&desk->list_lock);
    return count;
}
