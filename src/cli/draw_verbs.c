/* Verbs that draw: thin, as the others. */
#include <stdio.h>
#include <string.h>

#include "app/book.h"
#include "cli/common.h"
#include "cli/verbs.h"

/* A proof that may be drawn and its view; false after saying why not. */
static bool view_of(const Options *options, const char *job, Arena *arena, Proof *proof,
                    DrawView *view) {
    if (!common_prove(options, job, true, proof)) {
        return false;
    }
    const char *problem = NULL;
    DrawChoice choice = {options->paper, options->units, options->phase};
    if (!proof->complete || proof_exit_code(proof) == EXIT_BAD_INPUT) {
        common_tell_unreadable(proof);
        problem = "nothing drawn: mend what can't be read first";
    } else if (draw_view_live(arena, proof, &choice, view, &problem)) {
        return true;
    }
    fprintf(stderr, "marling: %s\n", problem);
    arena_free(arena);
    proof_free(proof);
    return false;
}

static void tell_findings(const Findings *findings) {
    for (size_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->rows[i];
        fprintf(stderr, "marling: %s: %s: %s\n", severity_name(finding->severity),
                rule_name(finding->rule), finding->message);
    }
}

/* What a reader must know who sees the drawing and not the findings. */
static void tell_open(const Proof *proof) {
    size_t open = findings_open(&proof->findings, SEVERITY_ERROR);
    if (open > 0) {
        fprintf(stderr, "marling: %zu findings of severity error are open in this job\n", open);
    }
}

int verb_draw(const Options *options) {
    if (options->word_count != (options->list ? 1 : 2)) {
        fprintf(stderr, "marling: draw wants SHEET JOB -o FILE, or --list JOB\n");
        return EXIT_BAD_INPUT;
    }
    if (!options->list && options->output == NULL) {
        fprintf(stderr, "marling: a drawing wants a file: -o FILE.svg, .pdf, .png or .dxf\n");
        return EXIT_BAD_INPUT;
    }
    Arena arena = {0};
    Proof proof;
    DrawView view;
    if (!view_of(options, options->words[options->word_count - 1], &arena, &proof, &view)) {
        return EXIT_BAD_INPUT;
    }
    int code = EXIT_CLEAN;
    if (options->list) {
        Buffer text = {.arena = &arena};
        draw_view_bench(&proof, &view);
        book_list_sheets(&text, &view);
        code = common_put(options, &text);
    } else {
        Findings findings = {.arena = &arena};
        Status status = status_ok();
        const char *problem = NULL;
        if (!book_draw_sheet(&arena, &proof, &view, options->words[0], options->output, &findings,
                             &status, &problem)) {
            fprintf(stderr, "marling: %s\n", problem);
            code = EXIT_BAD_INPUT;
        } else {
            tell_findings(&findings);
            tell_open(&proof);
            code = common_tell_status(status);
        }
    }
    arena_free(&arena);
    proof_free(&proof);
    return code;
}

/* Progress once a second has gone by, and then once a second; of a large job every step that is not
 * counted is told when it begins, for it may take long. */
#define LARGE_JOB_CONDUCTORS 1000

typedef struct BookTeller {
    double last_s;
    bool large;
} BookTeller;

static void tell_book(void *context, const char *what, size_t done, size_t of) {
    BookTeller *teller = context;
    double now_s = common_now_s();
    if (now_s - teller->last_s < 1.0 && !(teller->large && of == 0)) {
        return;
    }
    teller->last_s = now_s;
    if (of == 0) {
        fprintf(stderr, "marling: %s ...\n", what);
    } else {
        fprintf(stderr, "marling: %s: %zu of %zu\n", what, done, of);
    }
}

int verb_book(const Options *options) {
    if (options->output == NULL) {
        fprintf(stderr, "marling: a book wants a folder: -o FOLDER\n");
        return EXIT_BAD_INPUT;
    }
    Arena arena = {0};
    Proof proof;
    DrawView view;
    if (!view_of(options, options->words[0], &arena, &proof, &view)) {
        return EXIT_BAD_INPUT;
    }
    draw_view_bench(&proof, &view);
    BookTeller teller = {common_now_s(), proof.wiring.conductor_count > LARGE_JOB_CONDUCTORS};
    BookOptions book = {.progress = options->quiet ? NULL : tell_book, .context = &teller};
    BookReport report;
    int code = common_tell_status(book_write(&arena, &view, options->output, &book, &report));
    if (code == EXIT_CLEAN) {
        tell_findings(&report.findings);
        tell_open(&proof);
        fprintf(stderr, "marling: %zu pages, %.1f MB, in %s\n", report.pages,
                (double)report.pdf_bytes / 1e6, options->output);
    }
    arena_free(&arena);
    proof_free(&proof);
    return code;
}

int verb_labels(const Options *options) {
    if (options->output == NULL) {
        fprintf(stderr, "marling: labels want a file: -o FILE.pdf; as a table: `marling show label "
                        "JOB`\n");
        return EXIT_BAD_INPUT;
    }
    Arena arena = {0};
    Proof proof;
    DrawView view;
    if (!view_of(options, options->words[0], &arena, &proof, &view)) {
        return EXIT_BAD_INPUT;
    }
    Findings findings = {.arena = &arena};
    Status status = status_ok();
    size_t pages = 0;
    const char *problem = NULL;
    int code = EXIT_BAD_INPUT;
    if (!book_write_labels(&arena, &view, options->stock, options->output, &findings, &pages,
                           &status, &problem)) {
        fprintf(stderr, "marling: %s\n", problem);
    } else {
        tell_findings(&findings);
        tell_open(&proof);
        code = common_tell_status(status);
        if (code == EXIT_CLEAN) {
            fprintf(stderr, "marling: %zu pages in %s\n", pages, options->output);
        }
    }
    arena_free(&arena);
    proof_free(&proof);
    return code;
}
