#include "server/offering.h"

#include <string.h>

#include "draw/paper.h"
#include "store/offer.h"

/* --- as JSON --------------------------------------------------------------------------------- */

/* An option without boxes has no figures of its own. */
static json_t *figure(const OfferOption *offer, double value) {
    return offer->boxes == 0 ? json_null() : json_real(value);
}

json_t *offering_options(Arena *arena, const Proof *proof) {
    size_t count;
    const OfferOption *offers = offer_options(arena, proof, &count);
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        const OfferOption *offer = &offers[i];
        const OptionRow *row = offer->option;
        json_t *one = json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s}", "option",
                                row->option, "name", row->name, "chosen",
                                row->chosen == INT_BLANK ? ""
                                : row->chosen == 0       ? "no"
                                                         : "yes",
                                "why", row->why, "why_not", row->why_not, "adds", offer->adds,
                                "cost", offer_cost(arena, offer), "touches", offer->touches,
                                "because", offer->because, "why_gate", offer->why_gate);
        json_object_set_new(one, "boxes", json_integer((json_int_t)offer->boxes));
        json_object_set_new(one, "mass_kg", figure(offer, offer->mass_kg));
        json_object_set_new(one, "steady_a", figure(offer, offer->steady_a));
        json_object_set_new(one, "brief_a", figure(offer, offer->brief_a));
        json_object_set_new(one, "gate", json_string(offer->gate == NULL ? "" : offer->gate->gate));
        json_object_set_new(one, "step", json_string(offer->gate == NULL ? "" : offer->gate->step));
        json_object_set_new(one, "sold", json_string(row->gate));
        json_object_set_new(one, "passed",
                            json_string(offer->passed == NULL ? "" : offer->passed->date));
        json_array_append_new(list, one);
    }
    return list;
}

json_t *offering_json(Arena *arena, const Proof *proof, const char **seen) {
    char hash[65];
    const char *text;
    if (!offer_seen(arena, proof, &text, hash)) {
        return NULL;
    }
    if (seen != NULL) {
        *seen = text;
    }
    const JobRow *job = &proof->set.job.rows[0];
    return json_pack("{s:s, s:s, s:s, s:o, s:s}", "job", job->job, "title", job->title, "hash",
                     hash, "options", offering_options(arena, proof), "caution", sheet_caution());
}

static json_t *change_list(Arena *arena, const char *before, const char *after) {
    size_t count;
    const SeenChange *changes = offer_compare(arena, before, after, &count);
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_array_append_new(list,
                              json_pack("{s:s, s:s, s:s, s:s, s:s}", "kind", changes[i].kind, "key",
                                        changes[i].key, "what", changes[i].what, "before",
                                        changes[i].before, "after", changes[i].after));
    }
    return list;
}

json_t *offering_approval(Store *store, Arena *arena, StoreJob job, const char *seen,
                          const char *hash, Status *status) {
    StoreApproval *approvals = NULL;
    size_t count = 0;
    *status = store_approvals(store, arena, job, &approvals, &count);
    const StoreApproval *last = NULL;
    for (size_t i = 0; i < count && last == NULL; i++) {
        last = strcmp(approvals[i].subject, "offer") == 0 ? &approvals[i] : NULL;
    }
    if (status->failed || last == NULL) {
        return NULL;
    }
    bool holds = strcmp(last->hash, hash) == 0;
    const char *then = NULL;
    if (!holds) {
        *status = store_find_text(store, arena, last->hash, &then);
    }
    return json_pack("{s:s, s:s, s:s, s:s, s:b, s:o}", "name", last->person, "at", last->at, "hash",
                     last->hash, "what", last->what, "holds", holds ? 1 : 0, "changes",
                     then == NULL ? json_array() : change_list(arena, then, seen));
}

/* --- choices --------------------------------------------------------------------------------- */

bool offering_word(const char *word, int32_t *chosen) {
    bool yes = word != NULL && strcmp(word, "yes") == 0;
    bool no = word != NULL && strcmp(word, "no") == 0;
    *chosen = yes ? 1 : no ? 0 : INT_BLANK;
    return yes || no || (word != NULL && *word == '\0');
}

static OptionRow *find_option(TableSet *set, const char *option) {
    for (size_t i = 0; option != NULL && i < set->option.count; i++) {
        if (strcmp(set->option.rows[i].option, option) == 0) {
            return &set->option.rows[i];
        }
    }
    return NULL;
}

/* False after refusing. Answers that are the same already make no edit. */
static bool make_edits(Asking *asking, TableSet *set, const OfferChoice *choices, size_t count,
                       StoreAct seen, StoreEdit *edits, size_t *made) {
    *made = 0;
    for (size_t i = 0; i < count; i++) {
        OptionRow *row = find_option(set, choices[i].option);
        int32_t chosen;
        if (row == NULL) {
            asking_refuse(asking, 404, "this job has no such option", NULL);
            return false;
        }
        if (!offering_word(choices[i].chosen, &chosen)) {
            asking_refuse(asking, 400, "an option is answered with yes, no, or left open", NULL);
            return false;
        }
        if (chosen != row->chosen) {
            OptionRow *after = ARENA_NEW(asking->arena, OptionRow);
            *after = *row;
            after->chosen = chosen;
            edits[(*made)++] =
                (StoreEdit){.table = TABLE_option, .before = row, .after = after, .seen = seen};
        }
    }
    return true;
}

bool offering_choose(Asking *asking, StoreJob job, const StoreBy *by, const OfferChoice *choices,
                     size_t count, StoreAct seen, StoreAct *act) {
    Arena *arena = asking->arena;
    TableSet set = {0};
    StoreAct *acts = NULL;
    StoreAnswer stored = {.refusal = STORE_DONE};
    StoreEdit *edits = ARENA_ARRAY(arena, StoreEdit, count + 1);
    size_t made = 0;
    *act = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_read_table(store, arena, job, TABLE_option, &set, &acts);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status) ||
        !make_edits(asking, &set, choices, count, seen, edits, &made)) {
        return false;
    }
    if (made == 0) {
        return true;
    }
    store = desk_store(asking->desk);
    status = store_edit(store, arena, job, by, edits, made, &stored);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return false;
    }
    if (stored.refusal != STORE_DONE) {
        asking_put_json(asking, 409,
                        json_pack("{s:s, s:s, s:s}", "error",
                                  "somebody has changed this option since", "person", stored.person,
                                  "at", stored.at));
        return false;
    }
    *act = stored.act;
    asking->answer->changed = job;
    asking->answer->act = stored.act;
    return true;
}
