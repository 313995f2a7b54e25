/* A page for a customer whose phone can't reach the shop: one HTML file with picture, options and
 * all it needs, signed by the shop (Ed25519), whose answer is a short code that somebody reads out
 * or types into a message.
 *
 * What the code proves: whoever made it had this very file (its secret and its content as it was
 * written), typed that name, and gave those answers. It does not prove who that was: a file that is
 * passed on answers for whoever has it. What the signature proves: the file is as this shop wrote
 * it, to anybody who knows the shop's key from elsewhere; the file alone can't prove its own key.
 */
#ifndef SERVER_PACK_H
#define SERVER_PACK_H

#include "app/offer.h"
#include "store/offer.h"

#define PACK_DAYS 30

/* Writes such a file of the job as proved; keeps its secret, its number and what it shows in the
 * shop file. by->what: for whom. *problem (may be NULL after): why there is nothing to send. */
STATUS_USE Status pack_write(Buffer *out, Store *store, StoreJob job, const Proof *proof,
                             const StoreBy *by, int64_t ends_s, const char **problem);

/* NULL when the bytes are as a shop with that key wrote them; else what is wrong, in words. */
const char *pack_fault(const unsigned char public_key[SIGNER_PUBLIC_BYTES], const char *bytes,
                       size_t length);

/* Most options a pack asks about: what is more is left to the desk. */
#define PACK_OPTIONS_MOST 40

/* What a code says. */
typedef struct PackAnswer {
    const StorePack *pack;
    bool approves; /* else it only answers options, and wants to see the result */
    size_t count;  /* of options */
    const char *options[PACK_OPTIONS_MOST];
    const char *chosen[PACK_OPTIONS_MOST]; /* "yes", "no", "" */
} PackAnswer;

/* Finds the pack of the job whose reader, having typed that name, was given that code. NULL when it
 * is found; else what is wrong. Letters in either case, anything between groups; O is 0, I and L
 * are 1. Of names, case (A to Z) and the number of blanks do not count. */
const char *pack_read(Arena *arena, const StorePack *packs, size_t count, const char *code,
                      const char *name, PackAnswer *answer);

/* The code that the file gives: for tests. `digits`: first 1 (approves) or 0, then a digit an
 * option (0 open, 1 no, 2 yes). */
const char *pack_code(Arena *arena, const StorePack *pack, const char *name, const char *digits);

#endif
