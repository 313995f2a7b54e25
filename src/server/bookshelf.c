#include "server/bookshelf.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include "app/book.h"
#include "base/check.h"
#include "base/file.h"
#include "store/offer.h"

struct Bookshelf {
    Desk *desk;
    pthread_mutex_t lock; /* of what follows */
    BookProgressNow now;
    char person[128];
    bool started; /* `thread` is to be joined */
    pthread_t thread;
    atomic_bool stop;
};

static void lock(Bookshelf *shelf) {
    CHECK(pthread_mutex_lock(&shelf->lock) == 0);
}

static void unlock(Bookshelf *shelf) {
    CHECK(pthread_mutex_unlock(&shelf->lock) == 0);
}

/* --- building -------------------------------------------------------------------------------- */

static void tell(void *context, const char *what, size_t done, size_t of) {
    Bookshelf *shelf = context;
    lock(shelf);
    snprintf(shelf->now.what, sizeof shelf->now.what, "%s", what);
    shelf->now.done = done;
    shelf->now.of = of;
    unlock(shelf);
}

static bool is_stopped(void *context) {
    return atomic_load(&((Bookshelf *)context)->stop);
}

static const char *folder_of(const Bookshelf *shelf, Arena *arena, const char *hash) {
    return arena_format(arena, "%s.books/%s", desk_shop(shelf->desk), hash);
}

/* Rows of one moment, on a connection of its own: nobody waits for it. */
static Status read_job(const Bookshelf *shelf, StoreJob job, Proof *proof, StoreAct *act) {
    Store *store;
    StoreAct library_act;
    Status status = store_open(desk_shop(shelf->desk), STORE_WRITE, &store);
    if (status.failed) {
        return status;
    }
    status = store_last_acts(store, job, act, &library_act);
    if (!status.failed) {
        status = store_load(store, &proof->arena, job, &proof->set, &proof->findings);
    }
    store_close(store);
    return status;
}

static Status note_book(const Bookshelf *shelf, Arena *arena, StoreJob job, const StoreBook *book) {
    Store *store = desk_store(shelf->desk);
    StoreBook *books = NULL;
    size_t count = 0;
    Status status = store_books(store, arena, job, &books, &count);
    bool there = false; /* built again: the same bytes */
    for (size_t i = 0; i < count; i++) {
        there |=
            strcmp(books[i].hash, book->hash) == 0 && strcmp(books[i].sha256, book->sha256) == 0;
    }
    if (!status.failed && !there) {
        status = store_note_book(store, job, book);
    }
    desk_store_done(shelf->desk);
    return status;
}

static Status write_book(Bookshelf *shelf, Arena *arena, Proof *proof, StoreJob job, StoreAct act) {
    DrawView view;
    DrawChoice choice = {.paper = NULL};
    const char *problem = "what can't be read has to be mended first";
    bool good = proof->complete && proof_exit_code(proof) != 2 &&
                draw_view_build(arena, proof, &choice, &view, &problem);
    if (!good) {
        return status_failed("no book:", problem, 0);
    }
    const char *folder = folder_of(shelf, arena, view.hash);
    BookOptions options = {.progress = tell, .stopped = is_stopped, .context = shelf};
    BookReport report;
    char *bytes = NULL;
    size_t length = 0;
    Status status = file_make_folder(arena_format(arena, "%s.books", desk_shop(shelf->desk)));
    status = status.failed ? status : book_write(arena, &view, folder, &options, &report);
    if (!status.failed) {
        status = file_read(arena, arena_format(arena, "%s/book.pdf", folder), &bytes, &length);
    }
    if (status.failed) {
        return status;
    }
    char sha256[REVISION_HEX];
    revision_hash_bytes(bytes, length, sha256);
    StoreBook book = {.hash = view.hash,
                      .act = act,
                      .person = shelf->person,
                      .at = store_now(arena),
                      .pages = (int64_t)report.pages,
                      .bytes = (int64_t)length,
                      .sha256 = sha256};
    return note_book(shelf, arena, job, &book);
}

static void *build(void *context) {
    Bookshelf *shelf = context;
    lock(shelf);
    StoreJob job = shelf->now.job;
    unlock(shelf);
    (void)setpriority(PRIO_PROCESS, 0,
                      10); /* of this thread alone, on Linux: who waits comes first */
    Arena arena = {0};
    Proof proof = {.complete = false};
    proof.findings.arena = &proof.arena;
    StoreAct act = 0;
    tell(shelf, "reading", 0, 0);
    Status status = read_job(shelf, job, &proof, &act);
    if (!status.failed) {
        ProofOptions options = {.threads = 1, .stop = &shelf->stop};
        tell(shelf, "proving", 0, 0);
        proof_run_set(&options, &proof);
        status = is_stopped(shelf) ? status : write_book(shelf, &arena, &proof, job, act);
    }
    bool stopped = is_stopped(shelf);
    lock(shelf);
    shelf->now.running = false;
    snprintf(shelf->now.problem, sizeof shelf->now.problem, "%s",
             stopped         ? "stopped: no book was written"
             : status.failed ? status.text
                             : "");
    unlock(shelf);
    proof_free(&proof);
    arena_free(&arena);
    return NULL;
}

/* --- exported -------------------------------------------------------------------------------- */

Bookshelf *bookshelf_open(Desk *desk) {
    Bookshelf *shelf = calloc(1, sizeof *shelf);
    CHECK(shelf != NULL);
    shelf->desk = desk;
    shelf->now.job = STORE_NO_JOB;
    pthread_mutex_init(&shelf->lock, NULL);
    return shelf;
}

void bookshelf_close(Bookshelf *shelf) {
    if (shelf == NULL) {
        return;
    }
    atomic_store(&shelf->stop, true);
    if (shelf->started) {
        CHECK(pthread_join(shelf->thread, NULL) == 0);
    }
    pthread_mutex_destroy(&shelf->lock);
    free(shelf);
}

bool bookshelf_build(Bookshelf *shelf, StoreJob job, const char *person) {
    lock(shelf);
    bool free_now = !shelf->now.running;
    if (free_now) {
        if (shelf->started) {
            CHECK(pthread_join(shelf->thread, NULL) == 0); /* it has done all but return */
        }
        atomic_store(&shelf->stop, false);
        shelf->now = (BookProgressNow){.job = job, .running = true};
        snprintf(shelf->person, sizeof shelf->person, "%s", person);
        shelf->started = pthread_create(&shelf->thread, NULL, build, shelf) == 0;
        shelf->now.running = shelf->started;
        if (!shelf->started) {
            snprintf(shelf->now.problem, sizeof shelf->now.problem,
                     "no thread is left to build the book");
        }
    }
    unlock(shelf);
    return free_now;
}

void bookshelf_stop(Bookshelf *shelf, StoreJob job) {
    lock(shelf);
    if (shelf->now.running && shelf->now.job == job) {
        atomic_store(&shelf->stop, true);
    }
    unlock(shelf);
}

BookProgressNow bookshelf_now(Bookshelf *shelf) {
    lock(shelf);
    BookProgressNow now = shelf->now;
    unlock(shelf);
    return now;
}

Status bookshelf_read(Bookshelf *shelf, Arena *arena, const char *hash, const char *sha256,
                      char **bytes, size_t *length) {
    const char *path = arena_format(arena, "%s/book.pdf", folder_of(shelf, arena, hash));
    Status status = file_read(arena, path, bytes, length);
    if (!status.failed) {
        char now[REVISION_HEX];
        revision_hash_bytes(*bytes, *length, now);
        if (strcmp(now, sha256) != 0) {
            status = status_failed("this book is not as it was built:", path, 0);
        }
    }
    return status;
}
