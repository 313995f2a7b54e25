/* What all verbs share: running the proof with progress, saying what can't be read, writing. */
#include "cli/common.h"

#include <errno.h>
#include <pwd.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "app/library.h"

#include "base/file.h"
#include "base/parallel.h"
#include "cli/verbs.h"

/* --- progress -----------------------------------------------------------------------------------
 */

double common_now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* Tells the steps once a second has gone by: a short run stays silent. */
static void tell_step(void *context, ProofStep step) {
    const double *start_s = context;
    if (common_now_s() - *start_s > 1.0) {
        fprintf(stderr, "marling: %s ...\n", proof_step_name(step));
    }
}

/* --- proving ------------------------------------------------------------------------------------
 */

static bool prove(const Options *options, const char *job, bool results, bool failures, bool all,
                  Proof *proof) {
    Arena scratch = {0};
    const char *library = library_find(&scratch, options->library);
    if (library == NULL) {
        fprintf(stderr, "marling: no parts library found; name it with --library FOLDER\n");
        arena_free(&scratch);
        return false;
    }
    double start_s = common_now_s();
    ProofOptions proof_options = {
        .library = library,
        .progress = options->quiet ? NULL : tell_step,
        .context = &start_s,
        .no_results = !results,
        .no_faults = !failures,
        .pairs = options->pairs,
        .all_faults = all,
        .threads = parallel_processors(),
    };
    proof_run(job, &proof_options, proof);
    arena_free(&scratch);
    return true;
}

bool common_prove(const Options *options, const char *job, bool results, Proof *proof) {
    return prove(options, job, results, true, false, proof);
}

bool common_prove_whole(const Options *options, const char *job, bool results, Proof *proof) {
    return prove(options, job, results, false, false, proof);
}

bool common_prove_shorts(const Options *options, const char *job, bool results, Proof *proof) {
    return prove(options, job, results, false, true, proof);
}

bool common_prove_all(const Options *options, const char *job, bool results, Proof *proof) {
    return prove(options, job, results, true, true, proof);
}

void common_tell_findings(const Findings *findings) {
    for (size_t i = 0; i < findings->count; i++) {
        const Finding *finding = &findings->rows[i];
        if (finding->severity == SEVERITY_UNREADABLE) {
            fprintf(stderr, "%s:%u: %s: %s%s%s\n",
                    *finding->file == '\0' ? finding->table : finding->file, finding->line,
                    rule_name(finding->rule), finding->message, *finding->hint == '\0' ? "" : "; ",
                    finding->hint);
        }
    }
}

void common_tell_unreadable(const Proof *proof) {
    common_tell_findings(&proof->findings);
}

StoreBy common_by(Arena *arena, const Options *options, const char *what) {
    struct passwd *account = getpwuid(getuid());
    const char *person = options->by != NULL ? options->by
                         : account != NULL   ? account->pw_name
                                             : "?";
    return (StoreBy){.person = arena_text(arena, person, strlen(person)),
                     .at = store_now(arena),
                     .what = options->note != NULL ? options->note : what};
}

/* --- output -------------------------------------------------------------------------------------
 */

int common_tell_status(Status status) {
    if (status.failed) {
        fprintf(stderr, "marling: %s\n", status.text);
        return EXIT_BAD_INPUT;
    }
    return EXIT_CLEAN;
}

int common_put(const Options *options, const Buffer *text) {
    const char *bytes = text->bytes == NULL ? "" : text->bytes;
    if (options->output != NULL) {
        return common_tell_status(file_write(options->output, bytes, text->length));
    }
    errno = 0;
    if (fwrite(bytes, 1, text->length, stdout) != text->length || fflush(stdout) != 0) {
        return common_tell_status(status_failed("cannot write", "standard output", errno));
    }
    return EXIT_CLEAN;
}
