/* Takes the code that a sent file gave: answers to options become one edit, an approval is recorded
 * under the hash of what the file showed. */
#ifndef SERVER_PACK_TAKE_H
#define SERVER_PACK_TAKE_H

#include "server/pack.h"

typedef struct PackTaken {
    const char *problem; /* why nothing was taken; NULL */
    int64_t pack;
    bool approved;
    bool again;   /* this very approval was there already; nothing was recorded */
    bool holds;   /* what was approved is what the job shows now */
    StoreAct act; /* of the answers; 0: all were as they are */
    size_t answers;
    SeenChange *changes; /* what differs, when it does not hold */
    size_t change_count;
} PackTaken;

/* `proof` is of the job as it is. The edit is by->person's, the approval the customer's. */
STATUS_USE Status pack_take(Arena *arena, Store *store, StoreJob job, const Proof *proof,
                            const StoreBy *by, const char *code, const char *name, int64_t now_s,
                            PackTaken *taken);

#endif
