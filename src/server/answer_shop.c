/* The shop file: its jobs, what was done to them, and changes. */
#include <jansson.h>
#include <string.h>

#include "server/routes.h"
#include "server/rows_json.h"

/* --- the shop -------------------------------------------------------------------------------- */

void ask_shop(Asking *asking) {
    StoreJobInfo *jobs = NULL;
    size_t count = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_jobs(store, asking->arena, &jobs, &count);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_array_append_new(list, json_pack("{s:s, s:I, s:s, s:s}", "name", jobs[i].name, "act",
                                              (json_int_t)jobs[i].last_act, "person",
                                              jobs[i].last_person, "at", jobs[i].last_at));
    }
    asking_put_json(asking, 200,
                    json_pack("{s:s, s:s, s:o}", "shop", desk_shop(asking->desk), "program",
                              revision_program(), "jobs", list));
}

void ask_schema(Asking *asking) {
    asking_put_json(asking, 200, rows_json_schema());
}

void ask_log(Asking *asking) {
    enum { MOST = 500 };
    StoreJob job;
    if (!asking_job(asking, &job)) {
        return;
    }
    StoreActInfo *acts = NULL;
    StoreRevision *revisions = NULL;
    size_t act_count = 0;
    size_t revision_count = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_log(store, asking->arena, job, MOST, &acts, &act_count);
    if (!status.failed) {
        status = store_revisions(store, asking->arena, job, &revisions, &revision_count);
    }
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < act_count; i++) {
        const StoreActInfo *act = &acts[i];
        json_array_append_new(list, json_pack("{s:I, s:s, s:s, s:I, s:s, s:s, s:s, s:I}", "act",
                                              (json_int_t)act->act, "kind", act->kind, "state",
                                              act->state, "about", (json_int_t)act->about, "person",
                                              act->person, "at", act->at, "what", act->what, "rows",
                                              (json_int_t)act->rows));
    }
    json_t *kept = json_array();
    for (size_t i = 0; i < revision_count; i++) {
        const StoreRevision *revision = &revisions[i];
        json_array_append_new(kept, json_pack("{s:s, s:s, s:I, s:s, s:s, s:s}", "name",
                                              revision->name, "hash", revision->hash, "act",
                                              (json_int_t)revision->act, "person", revision->person,
                                              "at", revision->at, "what", revision->what));
    }
    asking_put_json(asking, 200, json_pack("{s:o, s:o}", "acts", list, "revisions", kept));
}

/* --- changes --------------------------------------------------------------------------------- */

static void tell_refused(Asking *asking, const StoreAnswer *refused) {
    static const char *const WORDS[] = {
        "", "somebody has changed this row since", "this row is not there any more",
        "there is a row of that key already", "a value is missing that the row must have"};
    json_t *object = json_pack("{s:s, s:I, s:s, s:s, s:I}", "error", WORDS[refused->refusal],
                               "edit", (json_int_t)refused->edit, "person", refused->person, "at",
                               refused->at, "act", (json_int_t)refused->act);
    if (refused->column != NULL) {
        json_object_set_new(object, "column", json_string(refused->column));
    }
    asking_put_json(asking, refused->refusal == STORE_BLANK ? 422 : 409, object);
}

void ask_edit(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    StoreEdit *edits = NULL;
    size_t count = 0;
    json_t *faults = NULL;
    const char *problem =
        rows_json_edits(asking->arena, json_object_get(body, "edits"),
                        job == STORE_LIBRARY ? GROUP_LIBRARY : GROUP_JOB, &edits, &count, &faults);
    if (problem != NULL) {
        asking_refuse(asking, 400, problem, NULL);
    } else if (json_array_size(faults) > 0) {
        asking_put_json(
            asking, 422,
            json_pack("{s:s, s:O}", "error", "some values can't be taken", "cells", faults));
    } else {
        StoreBy by = asking_by(asking, body);
        StoreAnswer stored;
        Store *store = desk_store(asking->desk);
        Status status = store_edit(store, asking->arena, job, &by, edits, count, &stored);
        desk_store_done(asking->desk);
        if (asking_good(asking, status)) {
            if (stored.refusal == STORE_DONE) {
                asking_tell_done(asking, job, stored.act);
            } else {
                tell_refused(asking, &stored);
            }
        }
    }
    json_decref(faults);
    json_decref(body);
}

static void ask_turn(Asking *asking, bool undo) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    StoreBy by = asking_by(asking, body);
    StoreAct act = 0;
    Store *store = desk_store(asking->desk);
    Status status = undo ? store_undo(store, job, &by, &act) : store_redo(store, job, &by, &act);
    desk_store_done(asking->desk);
    if (asking_good(asking, status)) {
        asking_tell_done(asking, job, act);
    }
    json_decref(body);
}

void ask_undo(Asking *asking) {
    ask_turn(asking, true);
}

void ask_redo(Asking *asking) {
    ask_turn(asking, false);
}

void ask_keep(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    const char *name = json_string_value(json_object_get(body, "name"));
    if (name == NULL || *name == '\0') {
        asking_refuse(asking, 400, "\"name\" is missing", NULL);
    } else {
        StoreBy by = asking_by(asking, body);
        StoreRevision revision;
        bool taken = false;
        Store *store = desk_store(asking->desk);
        Status status = store_find_revision(store, asking->arena, job, name, &revision, &taken);
        if (!status.failed && !taken) {
            status = store_keep(store, asking->arena, job, &by, name, &revision);
        }
        desk_store_done(asking->desk);
        if (taken) {
            asking_refuse(asking, 409, "there is a revision of that name already", NULL);
        } else if (asking_good(asking, status)) {
            asking_put_json(asking, 200,
                            json_pack("{s:s, s:s}", "name", name, "hash", revision.hash));
        }
    }
    json_decref(body);
}
