/* What a customer sees by a link, chooses and approves; links themselves. */
#include <string.h>

#include "server/door.h"
#include "server/offering.h"
#include "server/routes.h"
#include "store/offer.h"

enum {
    PICTURE_WIDTH_PX = 1600,
    NAME_BYTES_MOST = 120,
    LINK_DAYS_MOST = 60,
    LINK_DAYS = 14,
    DAY_S = 24 * 3600
};

/* --- what they all need ---------------------------------------------------------------------- */

/* The job of the link, or the one that is named: a customer need not know its name. */
static bool offered_job(Asking *asking, StoreJob *job) {
    if (asking->asked->who == WHO_CUSTOMER && asking_value(asking, "job") == NULL) {
        *job = asking->asked->link.job;
        return true;
    }
    return asking_job(asking, job);
}

static Live *offered_live(Asking *asking, StoreJob *job) {
    if (!offered_job(asking, job)) {
        return NULL;
    }
    Status status = status_ok();
    Live *live = desk_live(asking->desk, *job, LIVE_CHAIN, NULL, &status);
    asking_good(asking, status);
    return live;
}

static const char NO_PANEL[] = "there is no panel to be seen in this job yet";

/* --- seen ------------------------------------------------------------------------------------ */

void ask_offer(Asking *asking) {
    StoreJob job;
    Live *live = offered_live(asking, &job);
    if (live == NULL) {
        return;
    }
    const char *seen = NULL;
    json_t *offer = offering_json(asking->arena, &live->proof, &seen);
    if (offer == NULL) {
        asking_refuse(asking, 409, NO_PANEL, NULL);
    } else {
        Status status;
        Store *store = desk_store(asking->desk);
        json_t *approval =
            offering_approval(store, asking->arena, job, seen,
                              json_string_value(json_object_get(offer, "hash")), &status);
        desk_store_done(asking->desk);
        json_object_set_new(offer, "act", json_integer((json_int_t)live->act));
        json_object_set_new(offer, "approval", approval == NULL ? json_null() : approval);
        if (asking->asked->who == WHO_CUSTOMER) {
            json_object_set_new(offer, "ends_s",
                                json_integer((json_int_t)asking->asked->link.ends_s));
        }
        if (asking_good(asking, status)) {
            asking_put_json(asking, 200, offer);
        } else {
            json_decref(offer);
        }
    }
    desk_live_done(asking->desk, live);
}

void ask_offer_picture(Asking *asking) {
    StoreJob job;
    Live *live = offered_live(asking, &job);
    if (live == NULL) {
        return;
    }
    const Buffer *said = live_said(live, "offer picture");
    Status status = status_ok();
    bool there = true;
    if (said == NULL) {
        Buffer made = {.arena = asking->arena};
        there = offer_picture(asking->arena, &live->proof, PICTURE_WIDTH_PX, &made, &status);
        if (there && !status.failed) {
            Buffer *kept = live_say(live, "offer picture");
            buffer_add(kept, made.bytes, made.length);
            said = kept;
        }
    }
    if (!there) {
        asking_refuse(asking, 409, NO_PANEL, NULL);
    } else if (asking_good(asking, status)) {
        asking_put_copy(asking, "image/png", said);
    }
    desk_live_done(asking->desk, live);
}

/* --- said ------------------------------------------------------------------------------------ */

/* A name somebody typed: some letters, nothing that breaks a line. NULL after refusing. */
static const char *typed_name(Asking *asking, const json_t *body) {
    const char *name = json_string_value(json_object_get(body, "name"));
    bool good = name != NULL && strlen(name) <= NAME_BYTES_MOST;
    bool letters = false;
    for (const char *at = name; good && *at != '\0'; at++) {
        good = (unsigned char)*at >= ' ' && *at != 127;
        letters |= *at != ' ';
    }
    if (!good || !letters) {
        asking_refuse(asking, 400, "your name is wanted, as you would sign it", NULL);
        return NULL;
    }
    return name;
}

/* False after refusing: the last gate of the option is passed. */
static bool may_choose(Asking *asking, const Proof *proof, const char *option) {
    size_t count;
    const OfferOption *offers = offer_options(asking->arena, proof, &count);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(offers[i].option->option, option) == 0 && offers[i].passed != NULL) {
            asking_refuse(asking, 409,
                          arena_format(asking->arena,
                                       "this can't be chosen here any more: %s on %s. Ask the shop "
                                       "for a change order",
                                       offers[i].gate->step, offers[i].passed->date),
                          NULL);
            return false;
        }
    }
    return true;
}

void ask_offer_choose(Asking *asking) {
    json_t *body = asking_object(asking);
    StoreJob job = asking->asked->link.job;
    if (body == NULL) {
        return;
    }
    OfferChoice choice = {json_string_value(json_object_get(body, "option")),
                          json_string_value(json_object_get(body, "chosen"))};
    if (choice.option == NULL || choice.chosen == NULL) {
        asking_refuse(asking, 400, "\"option\" and \"chosen\" are wanted", NULL);
        json_decref(body);
        return;
    }
    Status status = status_ok();
    Live *live = desk_live(asking->desk, job, LIVE_CHAIN, NULL, &status);
    bool may = asking_good(asking, status) && may_choose(asking, &live->proof, choice.option);
    if (live != NULL) {
        desk_live_done(asking->desk, live);
    }
    StoreBy by = asking_by(asking, body);
    by.what = arena_format(asking->arena, "the customer says to option %s: %s", choice.option,
                           *choice.chosen == '\0' ? "not yet" : choice.chosen);
    StoreAct act = 0;
    if (may && offering_choose(asking, job, &by, &choice, 1, 0, &act)) {
        asking_put_json(asking, 200, json_pack("{s:I}", "act", (json_int_t)act));
    }
    json_decref(body);
}

/* Under the hash of what was sent: an approval of anything that changed meanwhile is refused. */
static void approve(Asking *asking, StoreJob job, const Live *live, const char *hash,
                    const char *name) {
    char now[65];
    const char *seen;
    if (!offer_seen(asking->arena, &live->proof, &seen, now)) {
        asking_refuse(asking, 409, NO_PANEL, NULL);
        return;
    }
    if (strcmp(hash, now) != 0) {
        asking_refuse(asking, 409,
                      "what you see has changed meanwhile: look at it again before you approve",
                      NULL);
        return;
    }
    StoreBy by = {.person = name,
                  .at = store_now(asking->arena),
                  .what =
                      arena_format(asking->arena, "by link %lld, made for %s",
                                   (long long)asking->asked->link.link, asking->asked->link.what)};
    char kept[REVISION_HEX];
    Store *store = desk_store(asking->desk);
    Status status = store_keep_text(store, seen, strlen(seen), kept);
    if (!status.failed) {
        status = store_approve(store, job, &by, "offer", kept);
    }
    desk_store_done(asking->desk);
    if (asking_good(asking, status)) {
        asking->answer->changed = job;
        asking->answer->act = live->act;
        asking_put_json(asking, 200, json_pack("{s:s, s:s}", "hash", kept, "name", name));
    }
}

void ask_offer_approve(Asking *asking) {
    json_t *body = asking_object(asking);
    StoreJob job = asking->asked->link.job;
    if (body == NULL) {
        return;
    }
    const char *hash = json_string_value(json_object_get(body, "hash"));
    const char *name = typed_name(asking, body);
    if (name != NULL && hash == NULL) {
        asking_refuse(asking, 400, "\"hash\" is missing", NULL);
    } else if (name != NULL) {
        Status status = status_ok();
        Live *live = desk_live(asking->desk, job, LIVE_CHAIN, NULL, &status);
        if (asking_good(asking, status)) {
            approve(asking, job, live, hash, name);
            desk_live_done(asking->desk, live);
        }
    }
    json_decref(body);
}

/* --- links ----------------------------------------------------------------------------------- */

void ask_link(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    const json_t *asked_days = json_object_get(body, "days");
    json_int_t days = asked_days == NULL ? LINK_DAYS : json_integer_value(asked_days);
    StoreBy by = asking_by(asking, body);
    if (job == STORE_LIBRARY || days < 1 || days > LINK_DAYS_MOST || *by.what == '\0' ||
        strlen(by.what) > NAME_BYTES_MOST) {
        asking_refuse(asking, 400,
                      arena_format(asking->arena,
                                   "a link wants a job, whom it is for, and 1 to %d days",
                                   (int)LINK_DAYS_MOST),
                      NULL);
    } else {
        char token[STORE_TOKEN_BYTES];
        int64_t now_s = store_now_s();
        int64_t ends_s = now_s + (int64_t)days * DAY_S;
        Store *store = desk_store(asking->desk);
        Status status = store_make_link(store, &by, job, "offer", now_s, ends_s, token);
        desk_store_done(asking->desk);
        if (asking_good(asking, status)) {
            /* Where others find the desk; the page knows it too where nobody else does. */
            const Door *door = asking->asked->door;
            const char *url = door == NULL ? "" : door_options(door)->url;
            asking_put_json(asking, 200,
                            json_pack("{s:s, s:s, s:I}", "desk", url, "path",
                                      arena_format(asking->arena, "customer.html#%s", token),
                                      "ends_s", (json_int_t)ends_s));
        }
    }
    json_decref(body);
}

void ask_links(Asking *asking) {
    StoreJob job;
    StoreLink *links = NULL;
    StorePack *packs = NULL;
    size_t link_count = 0;
    size_t pack_count = 0;
    if (!asking_job(asking, &job)) {
        return;
    }
    Store *store = desk_store(asking->desk);
    Status status = store_links(store, asking->arena, job, &links, &link_count);
    if (!status.failed) {
        status = store_packs(store, asking->arena, job, &packs, &pack_count);
    }
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < link_count; i++) {
        const StoreLink *link = &links[i];
        json_array_append_new(
            list, json_pack("{s:I, s:s, s:s, s:I, s:I, s:I, s:b}", "link", (json_int_t)link->link,
                            "person", link->person, "what", link->what, "made_s",
                            (json_int_t)link->made_s, "ends_s", (json_int_t)link->ends_s, "used_s",
                            (json_int_t)link->used_s, "ended", link->ended ? 1 : 0));
    }
    json_t *sent = json_array();
    for (size_t i = 0; i < pack_count; i++) {
        const StorePack *pack = &packs[i];
        json_array_append_new(sent, json_pack("{s:I, s:s, s:s, s:s, s:I, s:s}", "pack",
                                              (json_int_t)pack->pack, "person", pack->person, "at",
                                              pack->at, "what", pack->what, "ends_s",
                                              (json_int_t)pack->ends_s, "seen", pack->seen));
    }
    asking_put_json(asking, 200,
                    json_pack("{s:I, s:o, s:o}", "now_s", (json_int_t)store_now_s(), "links", list,
                              "packs", sent));
}

void ask_link_end(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    StoreBy by = asking_by(asking, body);
    bool done = false;
    Store *store = desk_store(asking->desk);
    Status status = store_end_link(
        store, &by, job, (int64_t)json_integer_value(json_object_get(body, "link")), &done);
    desk_store_done(asking->desk);
    if (asking_good(asking, status)) {
        if (done) {
            asking->answer->people = true;
            asking_put_json(asking, 200, json_pack("{s:b}", "done", 1));
        } else {
            asking_refuse(asking, 404, "there is no such link in this job", NULL);
        }
    }
    json_decref(body);
}
