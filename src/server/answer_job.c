/* What is derived from a job: tables, sheets, reasons, what a failure costs, search. */
#include <jansson.h>
#include <string.h>

#include "app/bench.h"
#include "app/fail.h"
#include "app/why.h"
#include "base/text.h"
#include "out/svg.h"
#include "server/routes.h"
#include "server/rows_json.h"

/* --- what is derived ------------------------------------------------------------------------- */

void ask_job(Asking *asking) {
    Live *live = asking_live(asking, LIVE_CHAIN);
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
    asking_put_json(asking, 200,
                    json_pack("{s:I, s:I, s:b, s:s, s:o, s:o}", "act", (json_int_t)live->act,
                              "library", (json_int_t)live->library_act, "complete",
                              proof->complete ? 1 : 0, "title", title, "open", open, "phases",
                              phases));
    desk_live_done(asking->desk, live);
}

/* Rows as they are in the file, each with the act that touched it last. */
static void ask_kept_table(Asking *asking, TableId table) {
    StoreJob job;
    if (!asking_job(asking, &job)) {
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
    if (asking_good(asking, status)) {
        Buffer text = {.arena = asking->arena};
        rows_json_write(&text, &set, table, acts,
                        table_schema(table)->group == GROUP_JOB ? act : library_act);
        asking_put_buffer(asking, "application/json", &text);
    }
}

static bool shows_failures(TableId table) {
    return table == TABLE_fault || table == TABLE_fault_effect || table == TABLE_cut_set ||
           table == TABLE_cut_count || table == TABLE_cut_work || table == TABLE_card_line ||
           table == TABLE_finding;
}

void ask_table(Asking *asking) {
    const char *name = asking_need(asking, "table");
    TableId table = name == NULL ? TABLE_COUNT : asking_find_table(asking, name);
    if (table == TABLE_COUNT) {
        return;
    }
    if (table_schema(table)->group != GROUP_RESULT) {
        ask_kept_table(asking, table);
        return;
    }
    Live *live = asking_live(asking, shows_failures(table) ? LIVE_FULL : LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    const char *said = arena_format(asking->arena, "table %s", name);
    if (live_said(live, said) == NULL) {
        if (live->proof.complete) {
            bench_table(&live->proof, table);
        }
        rows_json_write(live_say(live, said), &live->proof.set, table, NULL, live->act);
    }
    asking_put_copy(asking, "application/json", live_said(live, said));
    desk_live_done(asking->desk, live);
}

/* All sheets once they are planned; until then the diagrams alone, and "all" is false. */
void ask_sheets(Asking *asking) {
    StoreJob job;
    if (!asking_job(asking, &job)) {
        return;
    }
    bool all = asking->asked->before == NULL || desk_live_ready(asking->desk, job, LIVE_FULL, NULL);
    Live *live = asking_live(asking, all ? LIVE_FULL : LIVE_DRAWN);
    if (live == NULL) {
        return;
    }
    json_t *list = json_array();
    for (uint32_t i = 0; live->problem == NULL && i < live->plan.count; i++) {
        const Sheet *sheet = &live->plan.sheets[sheet_at(&live->plan, i)];
        json_array_append_new(list, json_pack("{s:s, s:s, s:s}", "name", sheet->name, "title",
                                              sheet->title, "part", sheet->part));
    }
    asking_put_json(asking, 200,
                    json_pack("{s:I, s:s?, s:b, s:o}", "act", (json_int_t)live->act, "problem",
                              live->problem, "all", all ? 1 : 0, "sheets", list));
    desk_live_done(asking->desk, live);
}

void ask_sheet(Asking *asking) {
    const char *name = asking_need(asking, "sheet");
    Live *live = name == NULL ? NULL : asking_live(asking, LIVE_DRAWN);
    if (live != NULL && live->problem == NULL && sheet_find(&live->plan, name) == ID_NONE) {
        desk_live_done(asking->desk, live);
        live = asking_live(asking, LIVE_FULL);
    }
    if (live == NULL) {
        return;
    }
    uint32_t sheet = live->problem == NULL ? sheet_find(&live->plan, name) : ID_NONE;
    if (live->problem != NULL) {
        asking_refuse(asking, 409, live->problem, NULL);
    } else if (sheet == ID_NONE) {
        asking_refuse(asking, 404, arena_format(asking->arena, "no sheet is called \"%s\"", name),
                      sheet_nearest(&live->plan, name));
    } else {
        const char *said = arena_format(asking->arena, "sheet %s", name);
        if (live_said(live, said) == NULL) {
            Arena page = {0};
            DrawList list;
            sheet_draw(&live->plan, sheet, &page, true, &list);
            svg_write(live_say(live, said), &list, live->plan.sheets[sheet].title);
            arena_free(&page);
        }
        asking_put_copy(asking, "image/svg+xml", live_said(live, said));
    }
    desk_live_done(asking->desk, live);
}

void ask_why(Asking *asking) {
    const char *key = asking_need(asking, "key");
    if (key == NULL) {
        return;
    }
    Live *live = asking_live(asking, strchr(key, ':') != NULL ? LIVE_FULL : LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    Buffer text = {.arena = asking->arena};
    if (!live->proof.complete) {
        asking_refuse(asking, 409, "what can't be read has to be mended first", NULL);
    } else {
        bench_step(&live->proof, BENCH_HARNESS);
        if (why_write(&text, &live->proof, key)) {
            asking_put_buffer(asking, "text/plain; charset=utf-8", &text);
        } else {
            asking_refuse(asking, 404,
                          arena_format(asking->arena, "nothing in this job is called \"%s\"", key),
                          why_nearest(asking->arena, &live->proof, key));
        }
    }
    desk_live_done(asking->desk, live);
}

void ask_fail(Asking *asking) {
    const char *words = asking_need(asking, "keys");
    Live *live = words == NULL ? NULL : asking_live(asking, LIVE_FULL);
    if (live == NULL) {
        return;
    }
    char **keys;
    size_t count = text_split(asking->arena, words, &keys);
    const char *phase = asking_value(asking, "phase");
    const char *problem = NULL;
    Buffer text = {.arena = asking->arena};
    if (!live->proof.complete) {
        asking_refuse(asking, 409, "what can't be read has to be mended first", NULL);
    } else if (count > FAIL_KEYS_MAX) {
        asking_refuse(
            asking, 400,
            arena_format(asking->arena, "at most %d things fail at once", (int)FAIL_KEYS_MAX),
            NULL);
    } else if (!fail_write(&text, asking->arena, &live->proof, (const char *const *)keys, count,
                           phase == NULL || *phase == '\0' ? NULL : phase, &problem)) {
        asking_refuse(asking, 404, problem, NULL);
    } else {
        asking_put_buffer(asking, "text/plain; charset=utf-8", &text);
    }
    desk_live_done(asking->desk, live);
}

/* --- search ---------------------------------------------------------------------------------- */

/* Where `wanted` (in small letters) begins in `text`, ASCII letters in either case; -1. */
static int found_at(const char *text, const char *wanted, size_t length) {
    for (int at = 0; text[at] != '\0'; at++) {
        size_t i = 0;
        while (i < length && text[(size_t)at + i] != '\0' &&
               (text[(size_t)at + i] | 0x20) == wanted[i]) {
            i++;
        }
        if (i == length) {
            return at;
        }
    }
    return -1;
}

/* A row that has the words in its first columns, which say what a row is. */
static json_t *found_row(const TableSchema *schema, const char *row, const char *wanted,
                         size_t length, bool *begins) {
    const char *text[3] = {"", "", ""};
    bool found = false;
    *begins = false;
    for (size_t c = 0; c < 3 && c < schema->column_count; c++) {
        if (schema->columns[c].kind <= COLUMN_WORD) {
            memcpy(&text[c], row + schema->columns[c].offset, sizeof text[c]);
            int at = found_at(text[c], wanted, length);
            found |= at >= 0;
            *begins |= c == 0 && at == 0;
        }
    }
    return found ? json_pack("{s:s, s:s, s:s}", "table", schema->name, "key", text[0], "about",
                             *text[2] != '\0' ? text[2] : text[1])
                 : NULL;
}

/* Units, wires, pins, circuits and places whose name, part or number has the words in it; those
 * whose key begins so come first. No more is looked at once there are enough of these. */
void ask_search(Asking *asking) {
    enum { MOST = 60 };
    static const TableId LOOKED_AT[] = {TABLE_unit,       TABLE_conductor,  TABLE_pin_out,
                                        TABLE_net,        TABLE_protection, TABLE_switchgear,
                                        TABLE_disconnect, TABLE_segment,    TABLE_node};
    const char *words = asking_need(asking, "words");
    Live *live = words == NULL ? NULL : asking_live(asking, LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    size_t length = strlen(words);
    char *wanted = ARENA_ARRAY(asking->arena, char, length + 1);
    for (size_t i = 0; i < length; i++) {
        wanted[i] = (char)(words[i] | 0x20);
    }
    json_t *first = json_array();
    json_t *others = json_array();
    for (size_t t = 0; t < sizeof LOOKED_AT / sizeof *LOOKED_AT; t++) {
        TableId table = LOOKED_AT[t];
        size_t count = live->proof.set.any[table].count;
        for (size_t i = 0; i < count && json_array_size(first) < MOST; i++) {
            bool begins;
            json_t *row = found_row(table_schema(table), table_row(&live->proof.set, table, i),
                                    wanted, length, &begins);
            if (row != NULL && (begins || json_array_size(others) < MOST)) {
                json_array_append_new(begins ? first : others, row);
            } else {
                json_decref(row);
            }
        }
    }
    for (size_t i = 0; i < json_array_size(others) && json_array_size(first) < MOST; i++) {
        json_array_append(first, json_array_get(others, i));
    }
    json_decref(others);
    asking_put_json(asking, 200,
                    json_pack("{s:I, s:o}", "act", (json_int_t)live->act, "found", first));
    desk_live_done(asking->desk, live);
}
