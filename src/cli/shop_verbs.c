/* Verbs of the shop file. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/library.h"
#include "app/source.h"
#include "base/text.h"
#include "cli/common.h"
#include "cli/verbs.h"

/* --- what all of them need --------------------------------------------------------------------
 */

/* Opens the job of words[0], "SHOP.db:JOB"; tells what is wrong. */
static bool open_job(Arena *arena, const char *word, StoreMode mode, SourceName *name,
                     Source *source) {
    if (!source_parse(arena, word, name)) {
        fprintf(stderr, "marling: %s is no job in a shop file: write SHOP.db:JOB\n", word);
        return false;
    }
    return common_tell_status(source_open(arena, name, mode, source)) == EXIT_CLEAN;
}

/* --- in and out -------------------------------------------------------------------------------
 */

/* "SHOP.db:NAME", or "SHOP.db" and the last part of the folder's path as the name. */
static SourceName target_of(Arena *arena, const char *word, const char *folder) {
    const char *colon = strrchr(word, ':');
    if (colon != NULL && strchr(colon, '/') == NULL && colon[1] != '\0') {
        return (SourceName){.shop = arena_text(arena, word, (size_t)(colon - word)),
                            .job = colon + 1,
                            .revision = ""};
    }
    size_t end = strlen(folder);
    while (end > 1 && folder[end - 1] == '/') {
        end--;
    }
    size_t first = end;
    while (first > 0 && folder[first - 1] != '/') {
        first--;
    }
    return (SourceName){
        .shop = word, .job = arena_text(arena, folder + first, end - first), .revision = ""};
}

int verb_import(const Options *options) {
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    const char *folder = options->words[0];
    const char *library = library_find(&arena, options->library);
    SourceName name = target_of(&arena, options->words[1], folder);
    StoreBy by = common_by(&arena, options, arena_format(&arena, "taken in from %s", folder));
    size_t changed = 0;
    int code = EXIT_BAD_INPUT;
    if (library == NULL) {
        fprintf(stderr, "marling: no parts library found; name it with --library FOLDER\n");
    } else {
        code = common_tell_status(
            source_import(&arena, folder, library, &name, &by, &changed, &findings));
    }
    common_tell_findings(&findings);
    if (code == EXIT_CLEAN && findings_open(&findings, SEVERITY_UNREADABLE) > 0) {
        fprintf(stderr, "marling: nothing taken in: mend what can't be read first\n");
        code = EXIT_BAD_INPUT;
    } else if (code == EXIT_CLEAN) {
        fprintf(stderr, "marling: %s:%s holds it; %zu rows changed\n", name.shop, name.job,
                changed);
    }
    arena_free(&arena);
    return code;
}

int verb_export(const Options *options) {
    Arena arena = {0};
    SourceName name;
    int code = EXIT_BAD_INPUT;
    if (options->output == NULL) {
        fprintf(stderr, "marling: export wants --output FOLDER\n");
    } else if (!source_parse(&arena, options->words[0], &name)) {
        fprintf(stderr, "marling: %s is no job in a shop file: write SHOP.db:JOB\n",
                options->words[0]);
    } else {
        code = common_tell_status(source_export(&arena, &name, options->output));
    }
    arena_free(&arena);
    return code;
}

/* --- what is in it ----------------------------------------------------------------------------
 */

int verb_jobs(const Options *options) {
    Arena arena = {0};
    Store *store;
    StoreJobInfo *jobs = NULL;
    size_t count = 0;
    Status status = store_open(options->words[0], STORE_READ, &store);
    if (!status.failed) {
        status = store_jobs(store, &arena, &jobs, &count);
        store_close(store);
    }
    int code = common_tell_status(status);
    Buffer text = {.arena = &arena};
    for (size_t i = 0; i < count; i++) {
        buffer_format(&text, "%-24s last changed %s by %s\n", jobs[i].name, jobs[i].last_at,
                      jobs[i].last_person);
    }
    code = code == EXIT_CLEAN ? common_put(options, &text) : code;
    arena_free(&arena);
    return code;
}

static void write_act(Buffer *text, const StoreActInfo *act) {
    buffer_format(text, "%6lld  %-20s  %-10s %-7s %-6s %5lld rows  %s", (long long)act->act,
                  act->at, act->person, act->kind, act->state, (long long)act->rows, act->what);
    if (act->about != 0) {
        buffer_format(text, "%s(%lld)", *act->what == '\0' ? "" : " ", (long long)act->about);
    }
    buffer_text(text, "\n");
}

int verb_log(const Options *options) {
    enum { MOST = 200 };
    Arena arena = {0};
    SourceName name;
    Source source;
    int code = EXIT_BAD_INPUT;
    if (open_job(&arena, options->words[0], STORE_READ, &name, &source)) {
        StoreActInfo *acts = NULL;
        StoreRevision *revisions = NULL;
        size_t act_count = 0;
        size_t revision_count = 0;
        Status status = store_log(source.store, &arena, source.job, MOST, &acts, &act_count);
        if (!status.failed) {
            status = store_revisions(source.store, &arena, source.job, &revisions, &revision_count);
        }
        source_close(&source);
        Buffer text = {.arena = &arena};
        size_t next = 0;
        for (size_t i = 0; i <= act_count; i++) {
            StoreAct act = i < act_count ? acts[i].act : 0;
            for (; next < revision_count && revisions[next].act >= act; next++) {
                buffer_format(&text, "revision %s  %.12s  %s  %s: %s\n", revisions[next].name,
                              revisions[next].hash, revisions[next].at, revisions[next].person,
                              revisions[next].what);
            }
            if (i < act_count) {
                write_act(&text, &acts[i]);
            }
        }
        code = common_tell_status(status);
        code = code == EXIT_CLEAN ? common_put(options, &text) : code;
    }
    arena_free(&arena);
    return code;
}

/* --- revisions --------------------------------------------------------------------------------
 */

int verb_keep(const Options *options) {
    Arena arena = {0};
    SourceName name;
    Source source;
    int code = EXIT_BAD_INPUT;
    if (open_job(&arena, options->words[0], STORE_WRITE, &name, &source)) {
        StoreBy by = common_by(&arena, options, "");
        StoreRevision revision;
        code = common_tell_status(
            store_keep(source.store, &arena, source.job, &by, options->words[1], &revision));
        source_close(&source);
        if (code == EXIT_CLEAN) {
            printf("%s %s\n", revision.name, revision.hash);
        }
    }
    arena_free(&arena);
    return code;
}

int verb_restore(const Options *options) {
    Arena arena = {0};
    SourceName name;
    Source source;
    int code = EXIT_BAD_INPUT;
    if (open_job(&arena, options->words[0], STORE_WRITE, &name, &source)) {
        if (*name.revision == '\0') {
            fprintf(stderr, "marling: restore wants a revision: SHOP.db:JOB@REVISION\n");
        } else {
            StoreBy by = common_by(&arena, options,
                                   arena_format(&arena, "as in revision %s", name.revision));
            size_t changed;
            code = common_tell_status(
                store_restore(source.store, &arena, source.job, &by, &source.revision, &changed));
            if (code == EXIT_CLEAN) {
                fprintf(stderr, "marling: %zu rows changed; `marling undo` takes it back\n",
                        changed);
            }
        }
        source_close(&source);
    }
    arena_free(&arena);
    return code;
}

/* --- undo, redo -------------------------------------------------------------------------------
 */

static int turn(const Options *options, bool undo) {
    Arena arena = {0};
    SourceName name;
    Source source;
    int code = EXIT_BAD_INPUT;
    if (open_job(&arena, options->words[0], STORE_WRITE, &name, &source)) {
        StoreBy by = common_by(&arena, options, "");
        StoreAct act = 0;
        code = common_tell_status(undo ? store_undo(source.store, source.job, &by, &act)
                                       : store_redo(source.store, source.job, &by, &act));
        source_close(&source);
        if (code == EXIT_CLEAN && act == 0) {
            fprintf(stderr, "marling: there is nothing to %s\n", undo ? "undo" : "redo");
        } else if (code == EXIT_CLEAN) {
            fprintf(stderr, "marling: act %lld %s\n", (long long)act, undo ? "undone" : "redone");
        }
    }
    arena_free(&arena);
    return code;
}

int verb_undo(const Options *options) {
    return turn(options, true);
}

int verb_redo(const Options *options) {
    return turn(options, false);
}

/* --- care -------------------------------------------------------------------------------------
 */

int verb_check_shop(const Options *options) {
    Arena arena = {0};
    Store *store;
    const char **problems = NULL;
    size_t count = 0;
    Status status = store_open(options->words[0], STORE_READ, &store);
    if (!status.failed) {
        status = store_check(store, &arena, &problems, &count);
        store_close(store);
    }
    int code = common_tell_status(status);
    Buffer text = {.arena = &arena};
    for (size_t i = 0; i < count; i++) {
        buffer_format(&text, "%s\n", problems[i]);
    }
    if (code == EXIT_CLEAN && count == 0) {
        buffer_format(&text, "%s is whole\n", options->words[0]);
    }
    code = code == EXIT_CLEAN ? common_put(options, &text) : code;
    arena_free(&arena);
    return code == EXIT_CLEAN && count > 0 ? EXIT_FINDINGS : code;
}

int verb_backup(const Options *options) {
    Store *store;
    Status status = store_open(options->words[0], STORE_READ, &store);
    if (!status.failed) {
        status = store_backup(store, options->words[1]);
        store_close(store);
    }
    return common_tell_status(status);
}
