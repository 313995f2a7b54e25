/* Books of the jobs of a desk: built one at a time by a thread of their own, on rows that were read
 * at one moment, with progress and a way to stop; kept in a folder beside the shop file
 * ("shop.db.books"), each under the hash of the revision it shows. */
#ifndef SERVER_BOOKSHELF_H
#define SERVER_BOOKSHELF_H

#include "server/live.h"

typedef struct Bookshelf Bookshelf;

/* How far the book is that is being built, or how the last one ended. */
typedef struct BookProgressNow {
    StoreJob job; /* STORE_NO_JOB: none was asked for since the desk was opened */
    bool running;
    char what[40]; /* "pages" */
    size_t done;   /* of `of`; of 0: not counted */
    size_t of;
    char problem[512]; /* why the last one was not written; "" */
} BookProgressNow;

Bookshelf *bookshelf_open(Desk *desk);

/* Stops what is being built and waits for it. NULL is allowed. */
void bookshelf_close(Bookshelf *shelf);

/* Begins a book; false when one is being built. */
bool bookshelf_build(Bookshelf *shelf, StoreJob job, const char *person);

/* What is being built of that job ends soon and leaves nothing. */
void bookshelf_stop(Bookshelf *shelf, StoreJob job);

BookProgressNow bookshelf_now(Bookshelf *shelf);

/* The bytes of the PDF of a book of that revision, held against `sha256`. A failed status: it is
 * gone or was changed. */
STATUS_USE Status bookshelf_read(Bookshelf *shelf, Arena *arena, const char *hash,
                                 const char *sha256, char **bytes, size_t *length);

#endif
