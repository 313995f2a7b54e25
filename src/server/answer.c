/* One function a route. Each reads its values, asks the store or what is derived, and writes its
 * answer; what is wrong is answered in words with the nearest name that would do. */
#include "server/answer.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "app/bench.h"
#include "app/fail.h"
#include "app/why.h"
#include "base/check.h"
#include "base/text.h"
#include "out/svg.h"
#include "server/rows_json.h"

typedef struct Asking {
    Desk *desk;
    Arena *arena;
    const Asked *asked;
    Answer *answer;
} Asking;

/* --- answers --------------------------------------------------------------------------------- */

static void put_text(Asking *asking, unsigned code, const char *type, const char *text,
                     size_t length) {
    asking->answer->code = code;
    asking->answer->type = type;
    asking->answer->bytes = text;
    asking->answer->length = length;
}

static void put_buffer(Asking *asking, const char *type, const Buffer *text) {
    put_text(asking, 200, type, text->bytes == NULL ? "" : text->bytes, text->length);
}

/* Takes the object over. */
static void put_json(Asking *asking, unsigned code, json_t *object) {
    char *text = json_dumps(object, JSON_COMPACT);
    CHECK(text != NULL);
    size_t length = strlen(text);
    put_text(asking, code, "application/json", arena_text(asking->arena, text, length), length);
    free(text);
    json_decref(object);
}

/* `nearest` may be NULL. */
static void refuse(Asking *asking, unsigned code, const char *error, const char *nearest) {
    json_t *object = json_object();
    json_object_set_new(object, "error", json_string(error));
    if (nearest != NULL) {
        json_object_set_new(object, "nearest", json_string(nearest));
    }
    put_json(asking, code, object);
}

static bool good(Asking *asking, Status status) {
    if (status.failed) {
        refuse(asking, 503, status.text, NULL);
    }
    return !status.failed;
}

/* --- what was asked -------------------------------------------------------------------------- */

static const char *value_of(const Asking *asking, const char *name) {
    for (size_t i = 0; i < asking->asked->value_count; i++) {
        if (strcmp(asking->asked->values[i].name, name) == 0) {
            return asking->asked->values[i].value;
        }
    }
    return NULL;
}

/* A value that must be there; NULL after refusing. */
static const char *need_value(Asking *asking, const char *name) {
    const char *value = value_of(asking, name);
    if (value == NULL || *value == '\0') {
        refuse(asking, 400, arena_format(asking->arena, "\"%s\" is missing", name), NULL);
        return NULL;
    }
    return value;
}

static bool find_job(Asking *asking, const char *name, StoreJob *job) {
    const char *nearest = NULL;
    Store *store = desk_store(asking->desk);
    Status status = store_find_job(store, asking->arena, name, job, &nearest);
    desk_store_done(asking->desk);
    if (!good(asking, status)) {
        return false;
    }
    if (*job == STORE_NO_JOB) {
        refuse(asking, 404, arena_format(asking->arena, "there is no job \"%s\"", name), nearest);
    }
    return *job != STORE_NO_JOB;
}

/* The job that the query names. */
static bool asked_job(Asking *asking, StoreJob *job) {
    const char *name = need_value(asking, "job");
    return name != NULL && find_job(asking, name, job);
}

static TableId find_table(Asking *asking, const char *name) {
    TableId table = table_find(name);
    if (table == TABLE_COUNT) {
        const char *names[TABLE_COUNT];
        for (int i = 0; i < TABLE_COUNT; i++) {
            names[i] = table_schema((TableId)i)->name;
        }
        refuse(asking, 404, arena_format(asking->arena, "there is no table \"%s\"", name),
               text_nearest(name, names, TABLE_COUNT));
    }
    return table;
}

/* What is derived from the asked job; NULL after refusing. */
static Live *asked_live(Asking *asking, LiveKind kind) {
    StoreJob job;
    if (!asked_job(asking, &job)) {
        return NULL;
    }
    Status status = status_ok();
    Live *live = desk_live(asking->desk, job, kind, &status);
    good(asking, status);
    return live;
}

/* The body as an object with a "job"; NULL after refusing. The caller gives it back. */
static json_t *asked_body(Asking *asking, StoreJob *job) {
    json_error_t error;
    json_t *body =
        json_loadb(asking->asked->body, asking->asked->body_length, JSON_REJECT_DUPLICATES, &error);
    const char *name = json_string_value(json_object_get(body, "job"));
    if (!json_is_object(body)) {
        refuse(asking, 400,
               arena_format(asking->arena, "the body is no JSON object: %s at byte %d",
                            body == NULL ? error.text : "something else",
                            body == NULL ? error.position : 0),
               NULL);
    } else if (name == NULL) {
        refuse(asking, 400, "\"job\" is missing", NULL);
    } else if (find_job(asking, name, job)) {
        return body;
    }
    json_decref(body);
    return NULL;
}

static StoreBy by_of(Asking *asking, const json_t *body) {
    const char *what = json_string_value(json_object_get(body, "what"));
    return (StoreBy){.person = asking->asked->person,
                     .at = store_now(asking->arena),
                     .what = what == NULL ? "" : arena_text(asking->arena, what, strlen(what))};
}

/* --- the shop -------------------------------------------------------------------------------- */

static void ask_shop(Asking *asking) {
    StoreJobInfo *jobs = NULL;
    size_t count = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_jobs(store, asking->arena, &jobs, &count);
    desk_store_done(asking->desk);
    if (!good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_array_append_new(list, json_pack("{s:s, s:I, s:I, s:s, s:s}", "name", jobs[i].name,
                                              "rows", (json_int_t)jobs[i].rows, "act",
                                              (json_int_t)jobs[i].last_act, "person",
                                              jobs[i].last_person, "at", jobs[i].last_at));
    }
    put_json(asking, 200,
             json_pack("{s:s, s:s, s:o}", "shop", desk_shop(asking->desk), "program",
                       revision_program(), "jobs", list));
}

static void ask_schema(Asking *asking) {
    put_json(asking, 200, rows_json_schema());
}

static void ask_log(Asking *asking) {
    enum { MOST = 500 };
    StoreJob job;
    if (!asked_job(asking, &job)) {
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
    if (!good(asking, status)) {
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
    put_json(asking, 200, json_pack("{s:o, s:o}", "acts", list, "revisions", kept));
}

/* --- what is derived ------------------------------------------------------------------------- */

static void ask_job(Asking *asking) {
    Live *live = asked_live(asking, LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    const Proof *proof = &live->proof;
    json_t *open = json_object();
    for (int i = 0; i < SEVERITY_COUNT; i++) {
        size_t count = 0;
        for (size_t k = 0; k < proof->findings.count; k++) {
            const Finding *finding = &proof->findings.rows[k];
            count += finding->severity == (Severity)i && !finding->accepted ? 1U : 0U;
        }
        json_object_set_new(open, severity_name((Severity)i), json_integer((json_int_t)count));
    }
    json_t *phases = json_array();
    for (size_t i = 0; i < proof->set.phase.count; i++) {
        json_array_append_new(phases, json_string(proof->set.phase.rows[i].phase));
    }
    const char *title = proof->set.job.count > 0 ? proof->set.job.rows[0].title : "";
    put_json(asking, 200,
             json_pack("{s:I, s:I, s:b, s:s, s:o, s:o}", "act", (json_int_t)live->act, "library",
                       (json_int_t)live->library_act, "complete", proof->complete ? 1 : 0, "title",
                       title, "open", open, "phases", phases));
    desk_live_done(asking->desk, live);
}

/* Rows as they are in the file, each with the act that touched it last. */
static void ask_kept_table(Asking *asking, TableId table) {
    StoreJob job;
    if (!asked_job(asking, &job)) {
        return;
    }
    TableSet set = {0};
    StoreAct *acts = NULL;
    StoreAct act = 0;
    StoreAct library_act = 0;
    Store *store = desk_store(asking->desk);
    Status status = store_read_table(store, asking->arena, job, table, &set, &acts);
    if (!status.failed) {
        status = store_last_acts(store, job, &act, &library_act);
    }
    desk_store_done(asking->desk);
    if (good(asking, status)) {
        Buffer text = {.arena = asking->arena};
        rows_json_write(&text, &set, table, acts,
                        table_schema(table)->group == GROUP_JOB ? act : library_act);
        put_buffer(asking, "application/json", &text);
    }
}

static bool shows_failures(TableId table) {
    return table == TABLE_fault || table == TABLE_fault_effect || table == TABLE_cut_set ||
           table == TABLE_cut_count || table == TABLE_cut_work || table == TABLE_card_line ||
           table == TABLE_finding;
}

static void ask_table(Asking *asking) {
    const char *name = need_value(asking, "table");
    TableId table = name == NULL ? TABLE_COUNT : find_table(asking, name);
    if (table == TABLE_COUNT) {
        return;
    }
    if (table_schema(table)->group != GROUP_RESULT) {
        ask_kept_table(asking, table);
        return;
    }
    Live *live = asked_live(asking, shows_failures(table) ? LIVE_FULL : LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    if (live->proof.complete) {
        bench_table(&live->proof, table);
    }
    Buffer text = {.arena = asking->arena};
    rows_json_write(&text, &live->proof.set, table, NULL, live->act);
    put_buffer(asking, "application/json", &text);
    desk_live_done(asking->desk, live);
}

static void ask_sheets(Asking *asking) {
    Live *live = asked_live(asking, LIVE_FULL);
    if (live == NULL) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; live->problem == NULL && i < live->plan.count; i++) {
        const Sheet *sheet = &live->plan.sheets[i];
        json_array_append_new(list, json_pack("{s:s, s:s, s:s}", "name", sheet->name, "title",
                                              sheet->title, "part", sheet->part));
    }
    put_json(asking, 200,
             json_pack("{s:I, s:s?, s:o}", "act", (json_int_t)live->act, "problem", live->problem,
                       "sheets", list));
    desk_live_done(asking->desk, live);
}

static void ask_sheet(Asking *asking) {
    const char *name = need_value(asking, "sheet");
    Live *live = name == NULL ? NULL : asked_live(asking, LIVE_FULL);
    if (live == NULL) {
        return;
    }
    uint32_t sheet = live->problem == NULL ? sheet_find(&live->plan, name) : ID_NONE;
    if (live->problem != NULL) {
        refuse(asking, 409, live->problem, NULL);
    } else if (sheet == ID_NONE) {
        refuse(asking, 404, arena_format(asking->arena, "no sheet is called \"%s\"", name),
               sheet_nearest(&live->plan, name));
    } else {
        Arena page = {0};
        DrawList list;
        Buffer text = {.arena = asking->arena};
        sheet_draw(&live->plan, sheet, &page, true, &list);
        svg_write(&text, &list, live->plan.sheets[sheet].title);
        put_buffer(asking, "image/svg+xml", &text);
        arena_free(&page);
    }
    desk_live_done(asking->desk, live);
}

static void ask_why(Asking *asking) {
    const char *key = need_value(asking, "key");
    if (key == NULL) {
        return;
    }
    Live *live = asked_live(asking, strchr(key, ':') != NULL ? LIVE_FULL : LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    Buffer text = {.arena = asking->arena};
    if (!live->proof.complete) {
        refuse(asking, 409, "what can't be read has to be mended first", NULL);
    } else {
        bench_step(&live->proof, BENCH_HARNESS);
        if (why_write(&text, &live->proof, key)) {
            put_buffer(asking, "text/plain; charset=utf-8", &text);
        } else {
            refuse(asking, 404,
                   arena_format(asking->arena, "nothing in this job is called \"%s\"", key),
                   why_nearest(asking->arena, &live->proof, key));
        }
    }
    desk_live_done(asking->desk, live);
}

static void ask_fail(Asking *asking) {
    const char *words = need_value(asking, "keys");
    Live *live = words == NULL ? NULL : asked_live(asking, LIVE_FULL);
    if (live == NULL) {
        return;
    }
    char **keys;
    size_t count = text_split(asking->arena, words, &keys);
    const char *phase = value_of(asking, "phase");
    const char *problem = NULL;
    Buffer text = {.arena = asking->arena};
    if (!live->proof.complete) {
        refuse(asking, 409, "what can't be read has to be mended first", NULL);
    } else if (count > FAIL_KEYS_MAX) {
        refuse(asking, 400,
               arena_format(asking->arena, "at most %d things fail at once", (int)FAIL_KEYS_MAX),
               NULL);
    } else if (!fail_write(&text, asking->arena, &live->proof, (const char *const *)keys, count,
                           phase == NULL || *phase == '\0' ? NULL : phase, &problem)) {
        refuse(asking, 404, problem, NULL);
    } else {
        put_buffer(asking, "text/plain; charset=utf-8", &text);
    }
    desk_live_done(asking->desk, live);
}

/* --- search ---------------------------------------------------------------------------------- */

static bool found_in(const char *text, const char *wanted) {
    size_t length = strlen(wanted);
    for (; *text != '\0'; text++) {
        size_t i = 0;
        while (i < length && text[i] != '\0' &&
               (text[i] | 0x20) == (wanted[i] | 0x20)) { /* ASCII letters in either case */
            i++;
        }
        if (i == length) {
            return true;
        }
    }
    return false;
}

/* Units, wires, pins and circuits whose name, part or number has the words in it; those whose key
 * begins so come first. */
static void ask_search(Asking *asking) {
    enum { MOST = 60 };
    static const TableId LOOKED_AT[] = {TABLE_unit, TABLE_conductor, TABLE_pin_out, TABLE_net,
                                        TABLE_protection};
    const char *wanted = need_value(asking, "words");
    Live *live = wanted == NULL ? NULL : asked_live(asking, LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    json_t *list = json_array();
    for (int begins = 1; begins >= 0; begins--) {
        for (size_t t = 0; t < sizeof LOOKED_AT / sizeof *LOOKED_AT; t++) {
            TableId table = LOOKED_AT[t];
            const TableSchema *schema = table_schema(table);
            for (size_t i = 0; i < live->proof.set.any[table].count; i++) {
                const char *row = table_row(&live->proof.set, table, i);
                const char *text[3] = {"", "", ""}; /* the first columns say what a row is */
                bool found = false;
                for (size_t c = 0; c < 3 && c < schema->column_count; c++) {
                    if (schema->columns[c].kind <= COLUMN_WORD) {
                        memcpy(&text[c], row + schema->columns[c].offset, sizeof text[c]);
                        found |= found_in(text[c], wanted);
                    }
                }
                bool at_once = strlen(wanted) <= strlen(text[0]) &&
                               found_in(arena_text(asking->arena, text[0], strlen(wanted)), wanted);
                if (found && at_once == (begins == 1) && json_array_size(list) < MOST) {
                    json_array_append_new(list, json_pack("{s:s, s:s, s:s}", "table", schema->name,
                                                          "key", text[0], "about",
                                                          *text[2] != '\0' ? text[2] : text[1]));
                }
            }
        }
    }
    put_json(asking, 200, json_pack("{s:I, s:o}", "act", (json_int_t)live->act, "found", list));
    desk_live_done(asking->desk, live);
}

/* --- changes --------------------------------------------------------------------------------- */

static void tell_done(Asking *asking, StoreJob job, StoreAct act) {
    asking->answer->changed = act == 0 ? STORE_NO_JOB : job;
    asking->answer->act = act;
    put_json(asking, 200, json_pack("{s:I}", "act", (json_int_t)act));
}

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
    put_json(asking, refused->refusal == STORE_BLANK ? 422 : 409, object);
}

static void ask_edit(Asking *asking) {
    StoreJob job;
    json_t *body = asked_body(asking, &job);
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
        refuse(asking, 400, problem, NULL);
    } else if (json_array_size(faults) > 0) {
        put_json(asking, 422,
                 json_pack("{s:s, s:O}", "error", "some values can't be taken", "cells", faults));
    } else {
        StoreBy by = by_of(asking, body);
        StoreAnswer stored;
        Store *store = desk_store(asking->desk);
        Status status = store_edit(store, asking->arena, job, &by, edits, count, &stored);
        desk_store_done(asking->desk);
        if (good(asking, status)) {
            if (stored.refusal == STORE_DONE) {
                tell_done(asking, job, stored.act);
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
    json_t *body = asked_body(asking, &job);
    if (body == NULL) {
        return;
    }
    StoreBy by = by_of(asking, body);
    StoreAct act = 0;
    Store *store = desk_store(asking->desk);
    Status status = undo ? store_undo(store, job, &by, &act) : store_redo(store, job, &by, &act);
    desk_store_done(asking->desk);
    if (good(asking, status)) {
        tell_done(asking, job, act);
    }
    json_decref(body);
}

static void ask_undo(Asking *asking) {
    ask_turn(asking, true);
}

static void ask_redo(Asking *asking) {
    ask_turn(asking, false);
}

static void ask_keep(Asking *asking) {
    StoreJob job;
    json_t *body = asked_body(asking, &job);
    if (body == NULL) {
        return;
    }
    const char *name = json_string_value(json_object_get(body, "name"));
    if (name == NULL || *name == '\0') {
        refuse(asking, 400, "\"name\" is missing", NULL);
    } else {
        StoreBy by = by_of(asking, body);
        StoreRevision revision;
        bool taken = false;
        Store *store = desk_store(asking->desk);
        Status status = store_find_revision(store, asking->arena, job, name, &revision, &taken);
        if (!status.failed && !taken) {
            status = store_keep(store, asking->arena, job, &by, name, &revision);
        }
        desk_store_done(asking->desk);
        if (taken) {
            refuse(asking, 409, "there is a revision of that name already", NULL);
        } else if (good(asking, status)) {
            put_json(asking, 200, json_pack("{s:s, s:s}", "name", name, "hash", revision.hash));
        }
    }
    json_decref(body);
}

/* --- routes ---------------------------------------------------------------------------------- */

/* R(method, path, function, changes, what) */
#define ROUTES(R)                                                                                  \
    R("GET", "/api/shop", ask_shop, false, "jobs of the shop file")                                \
    R("GET", "/api/schema", ask_schema, false, "tables and columns")                               \
    R("GET", "/api/job", ask_job, false, "state of a job: open findings, phases")                  \
    R("GET", "/api/table", ask_table, false, "rows of any table")                                  \
    R("GET", "/api/sheets", ask_sheets, false, "names of all sheets")                              \
    R("GET", "/api/sheet", ask_sheet, false, "one sheet as SVG")                                   \
    R("GET", "/api/why", ask_why, false, "the chain of reasons for a key")                         \
    R("GET", "/api/fail", ask_fail, false, "what goes dark when things fail")                      \
    R("GET", "/api/search", ask_search, false, "rows by name, part, number")                       \
    R("GET", "/api/log", ask_log, false, "acts and revisions")                                     \
    R("POST", "/api/edit", ask_edit, true, "change rows")                                          \
    R("POST", "/api/undo", ask_undo, true, "undo the last edit")                                   \
    R("POST", "/api/redo", ask_redo, true, "redo what was undone last")                            \
    R("POST", "/api/keep", ask_keep, true, "keep a revision")

static const AnswerRoute ROUTE_LIST[] = {
#define ROUTE_ROW(method, path, function, changes, what) {method, path, changes, what},
    ROUTES(ROUTE_ROW)
#undef ROUTE_ROW
};
enum { ROUTE_COUNT = sizeof ROUTE_LIST / sizeof *ROUTE_LIST };

const AnswerRoute *answer_routes(size_t *count) {
    *count = ROUTE_COUNT;
    return ROUTE_LIST;
}

void answer_ask(Desk *desk, Arena *arena, const Asked *asked, Answer *answer) {
    static void (*const FUNCTIONS[ROUTE_COUNT])(Asking *) = {
#define ROUTE_FUNCTION(method, path, function, changes, what) function,
        ROUTES(ROUTE_FUNCTION)
#undef ROUTE_FUNCTION
    };
    *answer = (Answer){.code = 404, .changed = STORE_NO_JOB};
    Asking asking = {.desk = desk, .arena = arena, .asked = asked, .answer = answer};
    bool known = false;
    for (size_t i = 0; i < ROUTE_COUNT; i++) {
        if (strcmp(ROUTE_LIST[i].path, asked->path) == 0) {
            known = true;
            if (strcmp(ROUTE_LIST[i].method, asked->method) == 0) {
                FUNCTIONS[i](&asking);
                return;
            }
        }
    }
    if (known) {
        refuse(&asking, 405, "this path is not asked that way", NULL);
    } else {
        const char *paths[ROUTE_COUNT];
        for (size_t i = 0; i < ROUTE_COUNT; i++) {
            paths[i] = ROUTE_LIST[i].path;
        }
        refuse(&asking, 404, "there is nothing here",
               text_nearest(asked->path, paths, ROUTE_COUNT));
    }
}
