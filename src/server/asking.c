/* What every route needs: values read, jobs found, answers put together. */
#include "server/asking.h"

#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"
#include "server/door.h"

/* --- answers --------------------------------------------------------------------------------- */

void asking_put_text(Asking *asking, unsigned code, const char *type, const char *text,
                     size_t length) {
    asking->answer->code = code;
    asking->answer->type = type;
    asking->answer->bytes = text;
    asking->answer->length = length;
}

void asking_put_buffer(Asking *asking, const char *type, const Buffer *text) {
    asking_put_text(asking, 200, type, text->bytes == NULL ? "" : text->bytes, text->length);
}

void asking_put_copy(Asking *asking, const char *type, const Buffer *text) {
    const char *bytes =
        text->bytes == NULL ? "" : arena_text(asking->arena, text->bytes, text->length);
    asking_put_text(asking, 200, type, bytes, text->length);
}

/* Takes the object over. */
void asking_put_json(Asking *asking, unsigned code, json_t *object) {
    char *text = json_dumps(object, JSON_COMPACT);
    CHECK(text != NULL);
    size_t length = strlen(text);
    asking_put_text(asking, code, "application/json", arena_text(asking->arena, text, length),
                    length);
    free(text);
    json_decref(object);
}

/* `nearest` may be NULL. */
void asking_refuse(Asking *asking, unsigned code, const char *error, const char *nearest) {
    json_t *object = json_object();
    json_object_set_new(object, "error", json_string(error));
    if (nearest != NULL) {
        json_object_set_new(object, "nearest", json_string(nearest));
    }
    asking_put_json(asking, code, object);
}

bool asking_good(Asking *asking, Status status) {
    if (status.failed) {
        asking_refuse(asking, 503, status.text, NULL);
    }
    return !status.failed;
}

/* --- what was asked -------------------------------------------------------------------------- */

const char *asking_value(const Asking *asking, const char *name) {
    for (size_t i = 0; i < asking->asked->value_count; i++) {
        if (strcmp(asking->asked->values[i].name, name) == 0) {
            return asking->asked->values[i].value;
        }
    }
    return NULL;
}

/* A value that must be there; NULL after refusing. */
const char *asking_need(Asking *asking, const char *name) {
    const char *value = asking_value(asking, name);
    if (value == NULL || *value == '\0') {
        asking_refuse(asking, 400, arena_format(asking->arena, "\"%s\" is missing", name), NULL);
        return NULL;
    }
    return value;
}

/* A customer learns nothing of other jobs, not even which there are. */
static bool may_see(const Asking *asking, StoreJob job) {
    return asking->asked->who != WHO_CUSTOMER ||
           (job > STORE_LIBRARY && job == asking->asked->link.job);
}

bool asking_find_job(Asking *asking, const char *name, StoreJob *job) {
    const char *nearest = NULL;
    Store *store = desk_store(asking->desk);
    Status status = store_find_job(store, asking->arena, name, job, &nearest);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return false;
    }
    if (!may_see(asking, *job)) {
        *job = STORE_NO_JOB;
        if (asking->asked->door != NULL) {
            door_note_refused(asking->asked->door, asking->desk, asking->asked, "not theirs",
                              asking->asked->person, "another job than the link's");
        }
        asking_refuse(asking, 403, "this link is for another job", NULL);
    } else if (*job == STORE_NO_JOB) {
        asking_refuse(asking, 404, arena_format(asking->arena, "there is no job \"%s\"", name),
                      nearest);
    }
    return *job != STORE_NO_JOB;
}

/* The job that the query names. */
bool asking_job(Asking *asking, StoreJob *job) {
    const char *name = asking_need(asking, "job");
    return name != NULL && asking_find_job(asking, name, job);
}

TableId asking_find_table(Asking *asking, const char *name) {
    TableId table = table_find(name);
    if (table == TABLE_COUNT) {
        const char *names[TABLE_COUNT];
        for (int i = 0; i < TABLE_COUNT; i++) {
            names[i] = table_schema((TableId)i)->name;
        }
        asking_refuse(asking, 404, arena_format(asking->arena, "there is no table \"%s\"", name),
                      text_nearest(name, names, TABLE_COUNT));
    }
    return table;
}

/* What is derived from the asked job; NULL after refusing. */
Live *asking_live(Asking *asking, LiveKind kind) {
    StoreJob job;
    if (!asking_job(asking, &job)) {
        return NULL;
    }
    AskedBefore *before = asking->asked->before;
    Status status = status_ok();
    if (before != NULL && !before->before) {
        status = desk_moment(asking->desk, job, &before->since);
        before->before = !status.failed;
    }
    const DeskMoment *since = before == NULL ? NULL : &before->since;
    if (!asking_good(asking, status)) {
        return NULL;
    }
    if (since != NULL && !desk_live_ready(asking->desk, job, kind, since)) {
        asking->answer->later = true;
        asking->answer->later_job = job;
        asking->answer->later_kind = kind;
        return NULL;
    }
    Live *live = desk_live(asking->desk, job, kind, since, &status);
    asking_good(asking, status);
    return live;
}

json_t *asking_object(Asking *asking) {
    json_error_t error;
    json_t *body =
        json_loadb(asking->asked->body, asking->asked->body_length, JSON_REJECT_DUPLICATES, &error);
    if (json_is_object(body)) {
        return body;
    }
    asking_refuse(asking, 400,
                  arena_format(asking->arena, "the body is no JSON object: %s at byte %d",
                               body == NULL ? error.text : "something else",
                               body == NULL ? error.position : 0),
                  NULL);
    json_decref(body);
    return NULL;
}

json_t *asking_body(Asking *asking, StoreJob *job) {
    json_t *body = asking_object(asking);
    if (body == NULL) {
        return NULL;
    }
    const char *name = json_string_value(json_object_get(body, "job"));
    if (name == NULL) {
        asking_refuse(asking, 400, "\"job\" is missing", NULL);
    } else if (asking_find_job(asking, name, job)) {
        return body;
    }
    json_decref(body);
    return NULL;
}

bool asking_signs_in(const Asking *asking) {
    return asking->asked->door != NULL && door_options(asking->asked->door)->signs_in;
}

StoreBy asking_by(Asking *asking, const json_t *body) {
    const char *what = json_string_value(json_object_get(body, "what"));
    return (StoreBy){.person = asking->asked->person,
                     .at = store_now(asking->arena),
                     .what = what == NULL ? "" : arena_text(asking->arena, what, strlen(what))};
}

void asking_tell_done(Asking *asking, StoreJob job, StoreAct act) {
    asking->answer->changed = act == 0 ? STORE_NO_JOB : job;
    asking->answer->act = act;
    asking_put_json(asking, 200, json_pack("{s:I}", "act", (json_int_t)act));
}
