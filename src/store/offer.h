/* What was shown to customers and what they said: texts that an approval's hash is of, files that
 * were sent with the secret their reader answers with, the shop's key pair for signing them, and
 * the books that were built. In tables that no export, revision or question about tables shows. */
#ifndef STORE_OFFER_H
#define STORE_OFFER_H

#include <stddef.h>

#include "store/store.h"

/* --- texts ----------------------------------------------------------------------------------- */

/* Keeps a text under its SHA-256, which goes to `hash`: what an approval of that hash approved. */
STATUS_USE Status store_keep_text(Store *store, const char *text, size_t length,
                                  char hash[REVISION_HEX]);

/* The text of that hash; NULL when it was not kept. */
STATUS_USE Status store_find_text(Store *store, Arena *arena, const char *hash, const char **text);

/* --- signing --------------------------------------------------------------------------------- */

/* Ed25519 (RFC 8032, by libsodium). */
#define SIGNER_PUBLIC_BYTES 32
#define SIGNER_SECRET_BYTES 64

typedef struct StoreSigner {
    unsigned char public_key[SIGNER_PUBLIC_BYTES];
    unsigned char secret_key[SIGNER_SECRET_BYTES];
} StoreSigner;

/* The key pair of this shop file, made when it is first asked for. A backup of the file holds it.
 */
STATUS_USE Status store_signer(Store *store, StoreSigner *signer);

/* --- files sent to customers ----------------------------------------------------------------- */

#define PACK_SECRET_BYTES 32

typedef struct StorePack {
    int64_t pack;
    StoreJob job;
    const char *seen;    /* hash of what it shows */
    const char *content; /* hash of all that is in it */
    const char *choices; /* keys of the options it asks about, blanks between, in order */
    unsigned char secret[PACK_SECRET_BYTES];
    const char *person;
    const char *at;
    const char *what; /* for whom */
    int64_t ends_s;   /* seconds since 1970 */
} StorePack;

/* Notes a pack that is about to be written; its number goes to pack->pack. */
STATUS_USE Status store_note_pack(Store *store, StorePack *pack);

/* Says what all of its content hashes to, once it is written. */
STATUS_USE Status store_seal_pack(Store *store, int64_t pack, const char *content);

/* Packs of a job, the latest first. */
STATUS_USE Status store_packs(Store *store, Arena *arena, StoreJob job, StorePack **packs,
                              size_t *count);

/* --- books ----------------------------------------------------------------------------------- */

typedef struct StoreBook {
    int64_t book;
    const char *hash; /* of the revision it shows */
    StoreAct act;     /* the job's last act then */
    const char *person;
    const char *at;
    int64_t pages;
    int64_t bytes;
    const char *sha256; /* of book.pdf */
} StoreBook;

STATUS_USE Status store_note_book(Store *store, StoreJob job, const StoreBook *book);

/* Books of a job, the latest first. */
STATUS_USE Status store_books(Store *store, Arena *arena, StoreJob job, StoreBook **books,
                              size_t *count);

/* --- where all jobs stand -------------------------------------------------------------------- */

typedef struct StoreStanding {
    StoreJob job;
    const char *title;
    const char *gate; /* the last one passed; "" */
    const char *step; /* what it is */
    const char *date; /* when */
    const char *next; /* the first that is not passed; "" */
    const char *next_step;
    int64_t questions;       /* of the brief without an answer */
    int64_t questions_now;   /* of those, the ones that the next gate waits for */
    int64_t options;         /* without yes or no */
    int64_t notes;           /* problems noted at the bench that nobody settled */
    int64_t waiting_s;       /* since when a link or pack waits for an approval; 0: none does */
    const char *approved_by; /* last approval; "" */
    const char *approved_at;
} StoreStanding;

/* Of each of the jobs, in their order; STORE_NO_JOB where there is none (any more). */
STATUS_USE Status store_standings(Store *store, Arena *arena, const StoreJob *jobs, size_t count,
                                  int64_t now_s, StoreStanding *standings);

#endif
