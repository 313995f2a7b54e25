/* Thin: words in, `app` does the work, text out. Machine output goes to standard output, everything
 * for people who wait goes to standard error. */
#include "cli/verbs.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "app/bench.h"
#include "app/suggest.h"
#include "app/compare.h"
#include "app/fail.h"
#include "app/ring.h"
#include "app/start.h"
#include "app/summary.h"
#include "app/why.h"
#include "cli/common.h"
#include "table/write.h"

/* --- tables --------------------------------------------------------------------------------------
 */

static const char *usual_format(const Options *options) {
    if (options->format != NULL) {
        return options->format;
    }
    const char *dot = options->output == NULL ? NULL : strrchr(options->output, '.');
    if (dot != NULL &&
        (strcmp(dot, ".csv") == 0 || strcmp(dot, ".json") == 0 || strcmp(dot, ".xlsx") == 0)) {
        return dot + 1;
    }
    return "text";
}

static int put_table(const Options *options, const TableSet *set, TableId table) {
    const char *format = usual_format(options);
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    int code = EXIT_CLEAN;
    if (strcmp(format, "xlsx") == 0) {
        if (options->output == NULL) {
            fprintf(stderr, "marling: a spreadsheet wants a file: -o FILE.xlsx\n");
            return EXIT_BAD_INPUT;
        }
        return common_tell_status(table_write_xlsx(options->output, set, &table, 1));
    }
    if (strcmp(format, "csv") == 0) {
        table_write_csv(&text, set, table);
    } else if (strcmp(format, "json") == 0) {
        table_write_json(&text, set, table);
    } else if (strcmp(format, "text") == 0) {
        table_write_text(&text, set, table);
    } else {
        fprintf(stderr, "marling: no format is called %s; there are text, csv, json, xlsx\n",
                format);
        code = EXIT_BAD_INPUT;
    }
    code = code == EXIT_CLEAN ? common_put(options, &text) : code;
    arena_free(&arena);
    return code;
}

/* Whether two names are the same but for underscores: cutset for cut_set. */
static bool same_letters(const char *a, const char *b) {
    for (;; a++, b++) {
        a += strspn(a, "_");
        b += strspn(b, "_");
        if (*a != *b || *a == '\0') {
            return *a == *b;
        }
    }
}

/* The table of that name, TABLE_COUNT after saying so. */
static TableId named_table(const char *name) {
    TableId table = table_find(name);
    for (int i = 0; table == TABLE_COUNT && i < TABLE_COUNT; i++) {
        table = same_letters(name, table_schema((TableId)i)->name) ? (TableId)i : TABLE_COUNT;
    }
    if (table == TABLE_COUNT) {
        const char *names[TABLE_COUNT];
        for (int i = 0; i < TABLE_COUNT; i++) {
            names[i] = table_schema((TableId)i)->name;
        }
        const char *nearest = text_nearest(name, names, TABLE_COUNT);
        fprintf(stderr, "marling: no table is called %s%s%s; `marling schema` lists them\n", name,
                nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
    }
    return table;
}

/* --- verbs --------------------------------------------------------------------------------------
 */

int verb_prove(const Options *options) {
    Proof proof;
    if (!common_prove(options, options->words[0], true, &proof)) {
        return EXIT_BAD_INPUT;
    }
    bool terminal = options->output == NULL && isatty(STDOUT_FILENO);
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    summary_write(&text, &proof, terminal ? &SUMMARY_TERMINAL : &SUMMARY_PLAIN);
    int code = common_put(options, &text);
    code = code == EXIT_CLEAN ? proof_exit_code(&proof) : code;
    arena_free(&arena);
    proof_free(&proof);
    return code;
}

/* Tables that say what pairs of failures do. */
static bool shows_pairs(TableId table) {
    return table == TABLE_cut_set || table == TABLE_cut_count || table == TABLE_cut_work;
}

/* Tables that say what failures do. */
static bool shows_failures(TableId table) {
    return table == TABLE_fault || table == TABLE_fault_effect || table == TABLE_finding ||
           shows_pairs(table);
}

int verb_show(const Options *options) {
    TableId table = named_table(options->words[0]);
    if (table == TABLE_COUNT) {
        return EXIT_BAD_INPUT;
    }
    Proof proof;
    Options asked = *options;
    asked.pairs = asked.pairs || shows_pairs(table);
    const char *job = options->words[1];
    bool good = table == TABLE_fault || table == TABLE_fault_effect
                    ? common_prove_all(&asked, job, true, &proof)
                : table == TABLE_guard || table == TABLE_selectivity
                    ? common_prove_shorts(options, job, true, &proof)
                : shows_failures(table) ? common_prove(&asked, job, true, &proof)
                                        : common_prove_whole(options, job, true, &proof);
    if (!good) {
        return EXIT_BAD_INPUT;
    }
    int code = EXIT_CLEAN;
    bool derived = table_schema(table)->group == GROUP_RESULT;
    if (derived && !proof.complete && table != TABLE_finding) {
        common_tell_unreadable(&proof);
        code = EXIT_BAD_INPUT;
    } else {
        if (proof.complete) {
            if (!bench_table(&proof, table)) {
                suggest_table(&proof, table);
            }
        }
        code = put_table(options, &proof.set, table);
        if (code == EXIT_CLEAN && proof_exit_code(&proof) == EXIT_BAD_INPUT) {
            if (table != TABLE_finding) {
                common_tell_unreadable(&proof);
            }
            code = EXIT_BAD_INPUT;
        }
    }
    proof_free(&proof);
    return code;
}

int verb_why(const Options *options) {
    Proof proof;
    /* Failures are tried only for the key of one. */
    bool failure = strchr(options->words[0], ':') != NULL;
    if (!(failure ? common_prove(options, options->words[1], true, &proof)
                  : common_prove_whole(options, options->words[1], true, &proof))) {
        return EXIT_BAD_INPUT;
    }
    int code = EXIT_CLEAN;
    Arena arena = {0};
    if (proof.complete) {
        bench_step(&proof, BENCH_HARNESS);
    }
    Buffer text = {.arena = &arena};
    if (!proof.complete) {
        common_tell_unreadable(&proof);
        code = EXIT_BAD_INPUT;
    } else if (!why_write(&text, &proof, options->words[0])) {
        const char *nearest = why_nearest(&arena, &proof, options->words[0]);
        fprintf(stderr, "marling: nothing in this job is called %s%s%s\n", options->words[0],
                nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
        code = EXIT_BAD_INPUT;
    } else {
        code = common_put(options, &text);
    }
    arena_free(&arena);
    proof_free(&proof);
    return code;
}

int verb_suggest(const Options *options) {
    Proof proof;
    if (!common_prove_whole(options, options->words[0], true, &proof)) {
        return EXIT_BAD_INPUT;
    }
    int code = EXIT_CLEAN;
    if (!proof.complete) {
        common_tell_unreadable(&proof);
        code = EXIT_BAD_INPUT;
    } else {
        Buffer text = {.arena = &proof.arena};
        suggest_write(&text, &proof);
        code = common_put(options, &text);
    }
    proof_free(&proof);
    return code;
}

int verb_fail(const Options *options) {
    Proof proof;
    if (!common_prove_whole(options, options->words[0], false, &proof)) {
        return EXIT_BAD_INPUT;
    }
    int code = EXIT_CLEAN;
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    const char *problem = NULL;
    if (!proof.complete) {
        common_tell_unreadable(&proof);
        code = EXIT_BAD_INPUT;
    } else if (!fail_write(&text, &arena, &proof, &options->words[1], options->word_count - 1,
                           options->phase, &problem)) {
        fprintf(stderr, "marling: %s\n", problem);
        code = EXIT_BAD_INPUT;
    } else {
        code = common_put(options, &text);
    }
    arena_free(&arena);
    proof_free(&proof);
    return code;
}

static bool is_picture(const char *path) {
    const char *dot = path == NULL ? NULL : strrchr(path, '.');
    return dot != NULL &&
           (strcmp(dot, ".svg") == 0 || strcmp(dot, ".png") == 0 || strcmp(dot, ".pdf") == 0);
}

int verb_diagnose(const Options *options) {
    Proof proof;
    if (!common_prove_whole(options, options->words[0], true, &proof)) {
        return EXIT_BAD_INPUT;
    }
    int code = EXIT_CLEAN;
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    Findings findings = {.arena = &arena};
    Status status = {0};
    if (!proof.complete) {
        common_tell_unreadable(&proof);
        code = EXIT_BAD_INPUT;
    } else if (!ring_diagnose(&text, &arena, &proof, options->words[1], &findings, &status)) {
        common_tell_findings(&findings);
        code = status.failed ? common_tell_status(status) : EXIT_BAD_INPUT;
    } else if (strcmp(usual_format(options), "text") == 0) {
        code = common_put(options, &text);
    } else {
        code = put_table(options, &proof.set, TABLE_cause);
    }
    arena_free(&arena);
    proof_free(&proof);
    return code;
}

int verb_compare(const Options *options) {
    Proof before;
    Proof after;
    if (!common_prove(options, options->words[0], true, &before)) {
        return EXIT_BAD_INPUT;
    }
    if (!common_prove(options, options->words[1], true, &after)) {
        proof_free(&before);
        return EXIT_BAD_INPUT;
    }
    common_tell_unreadable(&before);
    common_tell_unreadable(&after);
    int code =
        proof_exit_code(&before) == 2 || proof_exit_code(&after) == 2 ? EXIT_BAD_INPUT : EXIT_CLEAN;
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    if (is_picture(options->output)) {
        Status status = status_ok();
        const char *problem = NULL;
        if (!compare_picture(&arena, &before, &after, options->output, &status, &problem)) {
            fprintf(stderr, "marling: %s\n", problem);
            code = EXIT_BAD_INPUT;
        } else {
            int written = common_tell_status(status);
            code = written == EXIT_CLEAN ? code : written;
        }
    } else if (!compare_write(&text, &before, &after, usual_format(options))) {
        fprintf(stderr, "marling: compare writes text or csv, not %s\n", usual_format(options));
        code = EXIT_BAD_INPUT;
    } else {
        int written = common_put(options, &text);
        code = written == EXIT_CLEAN ? code : written;
    }
    arena_free(&arena);
    proof_free(&before);
    proof_free(&after);
    return code;
}

int verb_allot(const Options *options) {
    Proof proof;
    if (!common_prove_whole(options, options->words[0], true, &proof)) {
        return EXIT_BAD_INPUT;
    }
    int code = EXIT_CLEAN;
    if (!proof.complete || proof_exit_code(&proof) == 2) {
        common_tell_unreadable(&proof);
        fprintf(stderr, "marling: nothing kept: mend what can't be read first\n");
        code = EXIT_BAD_INPUT;
    } else {
        Arena arena = {0};
        StoreBy by = common_by(&arena, options, "wire keys and cavities kept");
        code = common_tell_status(start_allot(options->words[0], &by, &proof));
        arena_free(&arena);
        if (code == EXIT_CLEAN) {
            fprintf(stderr, "marling: kept %u wire keys and %u cavities in %s\n",
                    proof.wiring.conductor_count, proof.disconnects.use_count, options->words[0]);
        }
    }
    proof_free(&proof);
    return code;
}

static void describe_table(Buffer *text, TableId table) {
    const TableSchema *schema = table_schema(table);
    static const char *const KINDS[] = {"text",   "key of",       "list",  "one of",
                                        "number", "whole number", "gauge", "yes or no"};
    static const char *const FLAGS[] = {"", "needed", "key"};
    buffer_format(text, "%s: %s\n\n", schema->name, schema->meaning);
    for (size_t i = 0; i < schema->column_count; i++) {
        const ColumnSchema *column = &schema->columns[i];
        buffer_format(text, "  %-18s %-7s %s%s%s%s%s\n", column->name, FLAGS[column->flag],
                      KINDS[column->kind], *column->extra == '\0' ? "" : " ", column->extra,
                      *column->meaning == '\0' ? "" : ": ", column->meaning);
    }
}

static void list_tables(Buffer *text) {
    static const char *const GROUPS[] = {"What a job holds", "What the library holds",
                                         "What is derived"};
    for (int group = GROUP_JOB; group <= GROUP_RESULT; group++) {
        buffer_format(text, "%s%s\n", group > 0 ? "\n" : "", GROUPS[group]);
        for (int i = 0; i < TABLE_COUNT; i++) {
            const TableSchema *schema = table_schema((TableId)i);
            if ((int)schema->group == group) {
                buffer_format(text, "  %-18s %s\n", schema->name, schema->meaning);
            }
        }
    }
}

int verb_schema(const Options *options) {
    Arena arena = {0};
    Buffer text = {.arena = &arena};
    int code = EXIT_CLEAN;
    if (options->word_count == 1) {
        TableId table = named_table(options->words[0]);
        if (table == TABLE_COUNT) {
            return EXIT_BAD_INPUT;
        }
        describe_table(&text, table);
    } else if (options->format != NULL && strcmp(options->format, "md") == 0) {
        table_write_docs(&text);
    } else {
        list_tables(&text);
    }
    code = common_put(options, &text);
    arena_free(&arena);
    return code;
}

int verb_new(const Options *options) {
    int code = common_tell_status(start_new(options->words[0]));
    if (code == EXIT_CLEAN) {
        fprintf(stderr, "marling: %s is ready: fill its tables, then `marling prove %s`\n",
                options->words[0], options->words[0]);
    }
    return code;
}
