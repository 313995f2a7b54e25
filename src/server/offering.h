/* What answer_brief.c, answer_offer.c and packs share: a job's options and what a customer sees as
 * JSON, and how a choice is written down. */
#ifndef SERVER_OFFERING_H
#define SERVER_OFFERING_H

#include "app/offer.h"
#include "server/asking.h"

/* An array of options. */
json_t *offering_options(Arena *arena, const Proof *proof);

/* {"job", "title", "hash", "options", "caution"}; NULL without a panel. *seen (may be NULL) is the
 * text of the hash. */
json_t *offering_json(Arena *arena, const Proof *proof, const char **seen);

/* What the last approval is worth now: {"name", "at", "hash", "what", "holds", "changes": [...]};
 * NULL when there is none. `seen` and `hash` are of the job as it is. The caller holds the store.
 */
json_t *offering_approval(Store *store, Arena *arena, StoreJob job, const char *seen,
                          const char *hash, Status *status);

/* One answer to one option: "yes", "no" or "" (open again). */
typedef struct OfferChoice {
    const char *option;
    const char *chosen;
} OfferChoice;

/* Writes answers down in one act. `seen`: act that last touched the row, of a single choice; 0: not
 * asked. False after refusing. *act 0: all were as they are. */
bool offering_choose(Asking *asking, StoreJob job, const StoreBy *by, const OfferChoice *choices,
                     size_t count, StoreAct seen, StoreAct *act);

/* INT_BLANK, 0 or 1; false for another word. */
bool offering_word(const char *word, int32_t *chosen);

#endif
