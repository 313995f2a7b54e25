#include "server/pack_take.h"

#include <string.h>

#include "server/offering.h"

/* --- answers --------------------------------------------------------------------------------- */

/* An option whose gate was passed meanwhile is no longer the customer's to choose. */
static const char *late_option(Arena *arena, const Proof *proof, const char *option) {
    size_t count;
    const OfferOption *offers = offer_options(arena, proof, &count);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(offers[i].option->option, option) == 0) {
            return offers[i].passed == NULL
                       ? NULL
                       : arena_format(arena, "option %s can't be chosen any more: %s on %s", option,
                                      offers[i].gate->step, offers[i].passed->date);
        }
    }
    return arena_format(arena, "there is no option %s any more", option);
}

static Status take_answers(Arena *arena, Store *store, StoreJob job, const Proof *proof,
                           const StoreBy *by, const PackAnswer *answer, PackTaken *taken) {
    TableSet set = {0};
    StoreAct *acts = NULL;
    StoreAnswer stored = {.refusal = STORE_DONE};
    StoreEdit *edits = ARENA_ARRAY(arena, StoreEdit, answer->count + 1);
    size_t made = 0;
    Status status = store_read_table(store, arena, job, TABLE_option, &set, &acts);
    for (size_t i = 0; i < answer->count && !status.failed && taken->problem == NULL; i++) {
        int32_t chosen;
        offering_word(answer->chosen[i], &chosen);
        for (size_t k = 0; k < set.option.count; k++) {
            OptionRow *row = &set.option.rows[k];
            if (strcmp(row->option, answer->options[i]) != 0 || row->chosen == chosen) {
                continue;
            }
            taken->problem = late_option(arena, proof, row->option);
            OptionRow *after = ARENA_NEW(arena, OptionRow);
            *after = *row;
            after->chosen = chosen;
            edits[made++] =
                (StoreEdit){.table = TABLE_option, .before = row, .after = after, .seen = acts[k]};
        }
    }
    if (!status.failed && taken->problem == NULL && made > 0) {
        status = store_edit(store, arena, job, by, edits, made, &stored);
        if (!status.failed && stored.refusal != STORE_DONE) {
            taken->problem = "somebody has changed an option just now: try again";
        }
        taken->act = stored.act;
        taken->answers = made;
    }
    return status;
}

/* --- approval -------------------------------------------------------------------------------- */

static Status take_approval(Arena *arena, Store *store, StoreJob job, const Proof *proof,
                            const StoreBy *by, const char *name, const PackAnswer *answer,
                            PackTaken *taken) {
    char now[65];
    const char *seen = "";
    const char *then = NULL;
    StoreApproval *approvals = NULL;
    size_t count = 0;
    StoreBy customer = {
        .person = name,
        .at = by->at,
        .what = arena_format(arena, "by the code of file %lld, sent to %s, taken by %s",
                             (long long)answer->pack->pack, answer->pack->what, by->person)};
    taken->holds = offer_seen(arena, proof, &seen, now) && strcmp(now, answer->pack->seen) == 0;
    Status status = store_approvals(store, arena, job, &approvals, &count);
    const char *head =
        arena_format(arena, "by the code of file %lld,", (long long)answer->pack->pack);
    for (size_t i = 0; i < count; i++) {
        taken->again |= strcmp(approvals[i].hash, answer->pack->seen) == 0 &&
                        strncmp(approvals[i].what, head, strlen(head)) == 0;
    }
    if (!status.failed && !taken->again) {
        status = store_approve(store, job, &customer, "offer", answer->pack->seen);
    }
    if (!status.failed && !taken->holds) {
        status = store_find_text(store, arena, answer->pack->seen, &then);
    }
    if (then != NULL) {
        taken->changes = offer_compare(arena, then, seen, &taken->change_count);
    }
    taken->approved = true;
    return status;
}

/* --- exported -------------------------------------------------------------------------------- */

Status pack_take(Arena *arena, Store *store, StoreJob job, const Proof *proof, const StoreBy *by,
                 const char *code, const char *name, int64_t now_s, PackTaken *taken) {
    StorePack *packs = NULL;
    size_t count = 0;
    PackAnswer answer;
    *taken = (PackTaken){.problem = NULL};
    Status status = store_packs(store, arena, job, &packs, &count);
    if (status.failed) {
        return status;
    }
    taken->problem = pack_read(arena, packs, count, code, name, &answer);
    if (taken->problem != NULL) {
        return status;
    }
    taken->pack = answer.pack->pack;
    if (answer.pack->ends_s <= now_s) {
        taken->problem = "the time of that file is over: send a new one";
    } else if (answer.approves) {
        status = take_approval(arena, store, job, proof, by, name, &answer, taken);
    } else {
        StoreBy edit = {.person = by->person,
                        .at = by->at,
                        .what = arena_format(arena, "answers of %s, by the code of file %lld", name,
                                             (long long)answer.pack->pack)};
        status = take_answers(arena, store, job, proof, &edit, &answer, taken);
    }
    return status;
}
