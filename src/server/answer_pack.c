/* Files for customers, and the codes they answer with. */
#include <string.h>

#include "server/offering.h"
#include "server/pack_take.h"
#include "server/routes.h"

enum { DAY_S = 24 * 3600, WORDS_MOST = 120 };

/* The file is the answer: the page hands it to the reader as a download. */
void ask_pack(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    StoreBy by = asking_by(asking, body);
    Status status = status_ok();
    if (job == STORE_LIBRARY || *by.what == '\0' || strlen(by.what) > WORDS_MOST) {
        asking_refuse(asking, 400, "a file wants a job and whom it is for", NULL);
        json_decref(body);
        return;
    }
    Live *live = desk_live(asking->desk, job, LIVE_CHAIN, NULL, &status);
    if (asking_good(asking, status)) {
        Buffer out = {.arena = asking->arena};
        const char *problem = NULL;
        Store *store = desk_store(asking->desk);
        status = pack_write(&out, store, job, &live->proof, &by,
                            store_now_s() + (int64_t)PACK_DAYS * DAY_S, &problem);
        desk_store_done(asking->desk);
        if (problem != NULL) {
            asking_refuse(asking, 409, problem, NULL);
        } else if (asking_good(asking, status)) {
            /* Not as a page of this desk: it must never run here. */
            asking_put_buffer(asking, "application/octet-stream", &out);
        }
        desk_live_done(asking->desk, live);
    }
    json_decref(body);
}

static void put_taken(Asking *asking, const PackTaken *taken) {
    json_t *changes = json_array();
    for (size_t i = 0; i < taken->change_count; i++) {
        const SeenChange *change = &taken->changes[i];
        json_array_append_new(changes, json_pack("{s:s, s:s, s:s, s:s, s:s}", "kind", change->kind,
                                                 "key", change->key, "what", change->what, "before",
                                                 change->before, "after", change->after));
    }
    asking_put_json(asking, 200,
                    json_pack("{s:I, s:b, s:b, s:b, s:I, s:I, s:o}", "pack",
                              (json_int_t)taken->pack, "approved", taken->approved ? 1 : 0, "again",
                              taken->again ? 1 : 0, "holds", taken->holds ? 1 : 0, "act",
                              (json_int_t)taken->act, "answers", (json_int_t)taken->answers,
                              "changes", changes));
}

void ask_code(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    const char *code = json_string_value(json_object_get(body, "code"));
    const char *name = json_string_value(json_object_get(body, "name"));
    StoreBy by = asking_by(asking, body);
    Status status = status_ok();
    if (code == NULL || name == NULL || strlen(code) > WORDS_MOST || strlen(name) > WORDS_MOST) {
        asking_refuse(asking, 400, "the code is wanted, and the name that was typed", NULL);
        json_decref(body);
        return;
    }
    Live *live = desk_live(asking->desk, job, LIVE_CHAIN, NULL, &status);
    if (asking_good(asking, status)) {
        PackTaken taken;
        StoreAct act = live->act;
        Store *store = desk_store(asking->desk);
        status = pack_take(asking->arena, store, job, &live->proof, &by, code, name, store_now_s(),
                           &taken);
        desk_store_done(asking->desk);
        desk_live_done(asking->desk, live);
        if (asking_good(asking, status)) {
            if (taken.problem != NULL) {
                asking_refuse(asking, 422, taken.problem, NULL);
            } else {
                asking->answer->changed = job;
                asking->answer->act = taken.act == 0 ? act : taken.act;
                put_taken(asking, &taken);
            }
        }
    }
    json_decref(body);
}
