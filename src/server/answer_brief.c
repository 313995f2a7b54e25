/* Where jobs stand, what the customer answered, and what a choice moves. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "app/moved.h"
#include "base/parallel.h"
#include "server/offering.h"
#include "server/routes.h"
#include "store/offer.h"

/* --- today ----------------------------------------------------------------------------------- */

static json_t *standing_json(const StoreJobInfo *job, const StoreStanding *standing) {
    return json_pack("{s:s, s:s, s:I, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:I, s:I, s:I, s:I, s:I,"
                     " s:s, s:s}",
                     "name", job->name, "title", standing->title, "act", (json_int_t)job->last_act,
                     "person", job->last_person, "at", job->last_at, "gate", standing->gate, "step",
                     standing->step, "date", standing->date, "next", standing->next, "next_step",
                     standing->next_step, "questions", (json_int_t)standing->questions,
                     "questions_now", (json_int_t)standing->questions_now, "options",
                     (json_int_t)standing->options, "notes", (json_int_t)standing->notes,
                     "waiting_s", (json_int_t)standing->waiting_s, "approved_by",
                     standing->approved_by, "approved_at", standing->approved_at);
}

/* The one that was touched last first. */
static int compare_touched(const void *left, const void *right) {
    StoreAct l = ((const StoreJobInfo *)left)->last_act;
    StoreAct r = ((const StoreJobInfo *)right)->last_act;
    return l > r ? -1 : l < r ? 1 : 0;
}

/* Whether `text` has the words in it, letters of either case (ASCII). */
static bool has_words(const char *text, const char *words) {
    size_t length = strlen(words);
    for (; strlen(text) >= length; text++) {
        if (strncasecmp(text, words, length) == 0) {
            return true;
        }
    }
    return false;
}

/* `words`: only jobs with these in their name; `most`: how many. */
void ask_today(Asking *asking) {
    enum { USUAL = 40, MOST = 1000 };
    const char *words = asking_value(asking, "words");
    const char *asked_most = asking_value(asking, "most");
    long most = asked_most == NULL ? USUAL : strtol(asked_most, NULL, 10);
    StoreJobInfo *jobs = NULL;
    size_t all = 0;
    size_t found = 0;
    int64_t now_s = store_now_s();
    Store *store = desk_store(asking->desk);
    Status status = store_jobs(store, asking->arena, &jobs, &all);
    for (size_t i = 0; i < all; i++) {
        if (words == NULL || has_words(jobs[i].name, words)) {
            jobs[found++] = jobs[i];
        }
    }
    if (found > 1) {
        qsort(jobs, found, sizeof *jobs, compare_touched);
    }
    most = most < 1 ? 1 : most > MOST ? MOST : most;
    size_t count = found < (size_t)most ? found : (size_t)most;
    StoreJob *numbers = ARENA_ARRAY(asking->arena, StoreJob, count + 1);
    StoreStanding *standings = ARENA_ARRAY(asking->arena, StoreStanding, count + 1);
    for (size_t i = 0; i < count; i++) {
        numbers[i] = jobs[i].job;
    }
    if (!status.failed) {
        status = store_standings(store, asking->arena, numbers, count, now_s, standings);
    }
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return;
    }
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        if (standings[i].job != STORE_NO_JOB) {
            json_array_append_new(list, standing_json(&jobs[i], &standings[i]));
        }
    }
    asking_put_json(asking, 200,
                    json_pack("{s:s, s:I, s:I, s:I, s:o}", "shop", desk_shop(asking->desk), "now_s",
                              (json_int_t)now_s, "all", (json_int_t)all, "found", (json_int_t)found,
                              "jobs", list));
}

/* --- brief ----------------------------------------------------------------------------------- */

static json_t *questions_json(const Proof *proof) {
    const TableSet *set = &proof->set;
    json_t *list = json_array();
    for (size_t i = 0; i < set->brief_question.count; i++) {
        const BriefQuestionRow *question = &set->brief_question.rows[i];
        uint32_t row = model_row(&proof->model, TABLE_brief, question->question);
        const char *answer = row == ID_NONE ? "" : set->brief.rows[row].answer;
        json_array_append_new(list,
                              json_pack("{s:s, s:s, s:s, s:s, s:i}", "question", question->question,
                                        "asks", question->asks, "gate", question->gate, "answer",
                                        answer, "rank", (int)question->rank));
    }
    return list;
}

static json_t *gates_json(const Proof *proof) {
    const TableSet *set = &proof->set;
    json_t *list = json_array();
    for (size_t i = 0; i < set->gate.count; i++) {
        const GateRow *gate = &set->gate.rows[i];
        uint32_t row = model_row(&proof->model, TABLE_passed, gate->gate);
        const PassedRow *passed = row == ID_NONE ? NULL : &set->passed.rows[row];
        json_array_append_new(list, json_pack("{s:s, s:i, s:s, s:s, s:s}", "gate", gate->gate,
                                              "rank", (int)gate->rank, "step", gate->step, "passed",
                                              passed == NULL ? "" : passed->date, "evidence",
                                              passed == NULL ? "" : passed->evidence));
    }
    return list;
}

void ask_brief(Asking *asking) {
    Live *live = asking_live(asking, LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    const Proof *proof = &live->proof;
    const char *seen = NULL;
    json_t *offer = offering_json(asking->arena, proof, &seen);
    json_t *approval = NULL;
    Status status = status_ok();
    StoreJob job;
    if (offer != NULL && asking_job(asking, &job)) {
        Store *store = desk_store(asking->desk);
        approval = offering_approval(store, asking->arena, job, seen,
                                     json_string_value(json_object_get(offer, "hash")), &status);
        desk_store_done(asking->desk);
    }
    if (asking_good(asking, status)) {
        json_t *answer = json_pack("{s:I, s:o, s:o, s:o}", "act", (json_int_t)live->act,
                                   "questions", questions_json(proof), "gates", gates_json(proof),
                                   "options", offering_options(asking->arena, proof));
        json_object_set_new(answer, "panel", json_boolean(offer != NULL));
        json_object_set(answer, "approval", approval == NULL ? json_null() : approval);
        asking_put_json(asking, 200, answer);
    }
    json_decref(approval);
    json_decref(offer);
    desk_live_done(asking->desk, live);
}

/* --- what a choice moves --------------------------------------------------------------------- */

/* Names, the first MOST of them; what is left out is told by their number. */
static json_t *names_json(const char **names, size_t count) {
    enum { MOST = 400 };
    json_t *list = json_array();
    for (size_t i = 0; i < count && i < MOST; i++) {
        json_array_append_new(list, json_string(names[i]));
    }
    return list;
}

static json_t *figures_json(const MovedFigure *figures, size_t count) {
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_t *one = json_pack("{s:s}", "name", figures[i].name);
        json_object_set_new(one, "before",
                            isnan(figures[i].before) ? json_null() : json_real(figures[i].before));
        json_object_set_new(one, "after",
                            isnan(figures[i].after) ? json_null() : json_real(figures[i].after));
        json_array_append_new(list, one);
    }
    return list;
}

static json_t *moved_json(Arena *arena, const Proof *before, const Proof *after) {
    Moved moved = moved_between(arena, before, after);
    json_t *findings = json_array();
    for (size_t i = 0; i < moved.finding_count; i++) {
        const Finding *finding = moved.findings[i].finding;
        json_array_append_new(findings, json_pack("{s:b, s:s, s:s, s:s, s:s}", "came",
                                                  moved.findings[i].came ? 1 : 0, "severity",
                                                  severity_name(finding->severity), "rule",
                                                  rule_name(finding->rule), "key", finding->key,
                                                  "message", finding->message));
    }
    json_t *panel = json_array();
    const char *was;
    const char *is;
    char hash[65];
    if (offer_seen(arena, before, &was, hash) && offer_seen(arena, after, &is, hash)) {
        size_t count;
        const SeenChange *changes = offer_compare(arena, was, is, &count);
        for (size_t i = 0; i < count; i++) {
            if (strcmp(changes[i].kind, "option") != 0) {
                json_array_append_new(panel,
                                      json_pack("{s:s, s:s, s:s}", "kind", changes[i].kind, "key",
                                                changes[i].key, "what", changes[i].what));
            }
        }
    }
    json_t *answer = json_pack(
        "{s:b, s:o, s:o, s:o, s:o, s:I, s:I, s:o, s:o, s:o, s:I, s:o}", "complete",
        moved.complete ? 1 : 0, "boxes_gone", names_json(moved.boxes_gone, moved.boxes_gone_count),
        "boxes_come", names_json(moved.boxes_come, moved.boxes_come_count), "wires_gone",
        names_json(moved.wires_gone, moved.wires_gone_count), "wires_come",
        names_json(moved.wires_come, moved.wires_come_count), "wires_other",
        (json_int_t)moved.wires_other, "labels_other", (json_int_t)moved.labels_other, "masses",
        figures_json(moved.masses, moved.mass_count), "loads",
        figures_json(moved.loads, moved.load_count), "findings", findings, "findings_other",
        (json_int_t)moved.findings_other, "panel", panel);
    return answer;
}

static Status load_proof(Asking *asking, StoreJob job, Proof *proof) {
    *proof = (Proof){0};
    proof->findings.arena = &proof->arena;
    Store *store = desk_store(asking->desk);
    Status status = store_load(store, &proof->arena, job, &proof->set, &proof->findings);
    desk_store_done(asking->desk);
    return status;
}

static void run_proof(Proof *proof) {
    ProofOptions options = {.threads = parallel_processors()};
    proof_run_set(&options, proof);
}

static void answer_option(Proof *proof, const char *option, const char *word) {
    int32_t chosen;
    for (size_t i = 0; i < proof->set.option.count; i++) {
        OptionRow *row = &proof->set.option.rows[i];
        if (strcmp(row->option, option) == 0 && offering_word(word, &chosen)) {
            row->chosen = chosen;
        }
    }
}

/* Proves the job with the option as it was and as it is answered now; both from the same rows, so
 * that only the choice is told, whatever others edit meanwhile. */
static json_t *weigh(Asking *asking, StoreJob job, const char *option, const char *was,
                     const char *is) {
    Proof before;
    Proof after;
    json_t *moved = NULL;
    Status status = load_proof(asking, job, &before);
    if (!asking_good(asking, status)) {
        proof_free(&before);
        return NULL;
    }
    status = load_proof(asking, job, &after);
    if (asking_good(asking, status)) {
        answer_option(&before, option, was);
        answer_option(&after, option, is);
        run_proof(&before);
        run_proof(&after);
        moved = moved_json(asking->arena, &before, &after);
    }
    proof_free(&before);
    proof_free(&after);
    return moved;
}

/* The word that the option is answered with now; NULL after refusing. */
static const char *word_now(Asking *asking, StoreJob job, const char *option) {
    TableSet set = {0};
    StoreAct *acts = NULL;
    Store *store = desk_store(asking->desk);
    Status status = store_read_table(store, asking->arena, job, TABLE_option, &set, &acts);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return NULL;
    }
    for (size_t i = 0; i < set.option.count; i++) {
        if (strcmp(set.option.rows[i].option, option) == 0) {
            int32_t chosen = set.option.rows[i].chosen;
            return chosen == INT_BLANK ? "" : chosen == 0 ? "no" : "yes";
        }
    }
    asking_refuse(asking, 404, "this job has no such option", NULL);
    return NULL;
}

void ask_weigh(Asking *asking) {
    StoreJob job;
    const char *option = asking_need(asking, "option");
    const char *is = option == NULL ? NULL : asking_value(asking, "chosen");
    int32_t chosen;
    if (option == NULL || !asking_job(asking, &job)) {
        return;
    }
    if (!offering_word(is, &chosen)) {
        asking_refuse(asking, 400, "an option is answered with yes, no, or left open", NULL);
        return;
    }
    const char *was = word_now(asking, job, option);
    json_t *moved = was == NULL ? NULL : weigh(asking, job, option, was, is);
    if (moved != NULL) {
        asking_put_json(asking, 200, moved);
    }
}

void ask_choose(Asking *asking) {
    StoreJob job;
    json_t *body = asking_body(asking, &job);
    if (body == NULL) {
        return;
    }
    OfferChoice choice = {json_string_value(json_object_get(body, "option")),
                          json_string_value(json_object_get(body, "chosen"))};
    StoreBy by = asking_by(asking, body);
    StoreAct seen = (StoreAct)json_integer_value(json_object_get(body, "seen"));
    StoreAct act = 0;
    if (choice.option == NULL || choice.chosen == NULL) {
        asking_refuse(asking, 400, "\"option\" and \"chosen\" are wanted", NULL);
    } else {
        if (*by.what == '\0') {
            by.what = arena_format(asking->arena, "option %s: %s", choice.option,
                                   *choice.chosen == '\0' ? "open again" : choice.chosen);
        }
        const char *was = word_now(asking, job, choice.option);
        if (was != NULL && offering_choose(asking, job, &by, &choice, 1, seen, &act)) {
            json_t *moved = weigh(asking, job, choice.option, was, choice.chosen);
            if (moved != NULL) {
                asking_put_json(asking, 200,
                                json_pack("{s:I, s:o}", "act", (json_int_t)act, "moved", moved));
            }
        }
    }
    json_decref(body);
}
