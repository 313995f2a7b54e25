/* Files for customers: written, checked, and their codes taken. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/source.h"
#include "base/file.h"
#include "cli/common.h"
#include "cli/verbs.h"
#include "server/pack_take.h"
#include "store/people.h"

enum { DAY_S = 24 * 3600 };

/* The job of the first word, opened, and proved as it is. False after saying why not. */
static bool open_proved(const Options *options, Arena *arena, Source *source, Proof *proof) {
    SourceName name;
    if (!source_parse(arena, options->words[0], &name) || *name.revision != '\0') {
        fprintf(stderr, "marling: %s is no job in a shop file: write SHOP.db:JOB\n",
                options->words[0]);
        return false;
    }
    if (common_tell_status(source_open(arena, &name, STORE_WRITE, source)) != EXIT_CLEAN) {
        return false;
    }
    *proof = (Proof){0};
    proof->findings.arena = &proof->arena;
    Status status = source_read(&proof->arena, source, &proof->set, &proof->findings);
    if (common_tell_status(status) != EXIT_CLEAN) {
        proof_free(proof);
        source_close(source);
        return false;
    }
    ProofOptions proof_options = {.no_faults = true};
    proof_run_set(&proof_options, proof);
    return true;
}

int verb_pack(const Options *options) {
    Arena arena = {0};
    Source source;
    Proof proof;
    int code = EXIT_BAD_INPUT;
    if (options->output == NULL) {
        fprintf(stderr, "marling: pack wants a file: -o FILE.html\n");
    } else if (open_proved(options, &arena, &source, &proof)) {
        Buffer out = {.arena = &arena};
        StoreBy by = common_by(&arena, options, "the customer");
        const char *problem = NULL;
        Status status = pack_write(&out, source.store, source.job, &proof, &by,
                                   store_now_s() + (int64_t)PACK_DAYS * DAY_S, &problem);
        if (!status.failed && problem == NULL) {
            status = file_write(options->output, out.bytes, out.length);
        }
        code = common_tell_status(status);
        if (problem != NULL) {
            fprintf(stderr, "marling: %s\n", problem);
            code = EXIT_BAD_INPUT;
        } else if (code == EXIT_CLEAN) {
            fprintf(stderr, "marling: %s, %zu kB, answers for %d days\n", options->output,
                    out.length / 1000, PACK_DAYS);
        }
        proof_free(&proof);
        source_close(&source);
    }
    arena_free(&arena);
    return code;
}

int verb_check_pack(const Options *options) {
    Arena arena = {0};
    Store *store;
    StoreSigner signer;
    char *bytes = NULL;
    size_t length = 0;
    Status status = store_open(options->words[0], STORE_WRITE, &store);
    if (!status.failed) {
        status = store_signer(store, &signer);
        store_close(store);
    }
    if (!status.failed) {
        status = file_read(&arena, options->words[1], &bytes, &length);
    }
    int code = common_tell_status(status);
    if (code == EXIT_CLEAN) {
        const char *fault = pack_fault(signer.public_key, bytes, length);
        printf("%s: %s\n", options->words[1],
               fault == NULL ? "as this shop wrote it, every byte" : fault);
        code = fault == NULL ? EXIT_CLEAN : EXIT_FINDINGS;
    }
    arena_free(&arena);
    return code;
}

static void tell_taken(const PackTaken *taken, const char *name) {
    if (!taken->approved) {
        printf(
            "%zu answers of %s taken; the picture may differ now: send a new file for approval\n",
            taken->answers, name);
        return;
    }
    printf("file %lld: approval of %s%s; %s\n", (long long)taken->pack, name,
           taken->again ? " was taken before" : " recorded",
           taken->holds ? "it is what the job shows now" : "the job shows something else now:");
    for (size_t i = 0; i < taken->change_count; i++) {
        const SeenChange *change = &taken->changes[i];
        printf("  %s %s: %s\n", change->kind, change->key, change->what);
    }
}

int verb_take_code(const Options *options) {
    Arena arena = {0};
    Source source;
    Proof proof;
    int code = EXIT_BAD_INPUT;
    if (open_proved(options, &arena, &source, &proof)) {
        PackTaken taken;
        StoreBy by = common_by(&arena, options, "");
        code = common_tell_status(pack_take(&arena, source.store, source.job, &proof, &by,
                                            options->words[1], options->words[2], store_now_s(),
                                            &taken));
        if (code == EXIT_CLEAN && taken.problem != NULL) {
            fprintf(stderr, "marling: %s\n", taken.problem);
            code = EXIT_FINDINGS;
        } else if (code == EXIT_CLEAN) {
            tell_taken(&taken, options->words[2]);
        }
        proof_free(&proof);
        source_close(&source);
    }
    arena_free(&arena);
    return code;
}
