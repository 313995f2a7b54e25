#include "cli/options.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"

/* OPTION(long name, short name or 0, takes a value, member) */
#define OPTION_LIST(OPTION)                                                                        \
    OPTION("--format", "-f", format)                                                               \
    OPTION("--output", "-o", output)                                                               \
    OPTION("--library", "-l", library)                                                             \
    OPTION("--paper", "-p", paper)                                                                 \
    OPTION("--units", "-u", units)                                                                 \
    OPTION("--phase", "--phase", phase)                                                            \
    OPTION("--stock", "--stock", stock)                                                            \
    OPTION("--port", "--port", port)                                                               \
    OPTION("--listen", "--listen", listen)                                                         \
    OPTION("--by", "--by", by)                                                                     \
    OPTION("--note", "--note", note)

static bool take_value(const char *word, int argc, char **argv, int *at, const char **value) {
    if (*at + 1 >= argc) {
        fprintf(stderr, "marling: %s wants a value behind it\n", word);
        return false;
    }
    *at += 1;
    *value = argv[*at];
    return true;
}

/* True when the word was an option; *good turns false when it was a bad one. */
static bool take_option(int argc, char **argv, int *at, Options *options, bool *good) {
    const char *word = argv[*at];
#define OPTION_MATCH(long_name, short_name, member)                                                \
    if (strcmp(word, long_name) == 0 || strcmp(word, short_name) == 0) {                           \
        *good = take_value(word, argc, argv, at, &options->member);                                \
        return true;                                                                               \
    }                                                                                              \
    if (strncmp(word, long_name "=", strlen(long_name) + 1) == 0) {                                \
        options->member = word + strlen(long_name) + 1;                                            \
        return true;                                                                               \
    }
    OPTION_LIST(OPTION_MATCH)
#undef OPTION_MATCH
    if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
        options->help = true;
        return true;
    }
    if (strcmp(word, "--list") == 0) {
        options->list = true;
        return true;
    }
    if (strcmp(word, "--pairs") == 0) {
        options->pairs = true;
        return true;
    }
    if (strcmp(word, "--quiet") == 0 || strcmp(word, "-q") == 0) {
        options->quiet = true;
        return true;
    }
    return false;
}

bool options_parse(int argc, char **argv, Options *options) {
    static const char *const KNOWN[] = {"--pairs", "--format", "--output", "--library", "--paper",
                                        "--units", "--phase",  "--stock",  "--list",    "--help",
                                        "--quiet", "--by",     "--note",   "--port",    "--listen"};
    *options = (Options){0};
    for (int i = 1; i < argc; i++) {
        bool good = true;
        if (take_option(argc, argv, &i, options, &good)) {
            if (!good) {
                return false;
            }
        } else if (argv[i][0] == '-' && argv[i][1] != '\0') {
            const char *nearest = text_nearest(argv[i], KNOWN, sizeof KNOWN / sizeof *KNOWN);
            fprintf(stderr, "marling: unknown option %s%s%s\n", argv[i],
                    nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
            return false;
        } else if (options->verb == NULL) {
            options->verb = argv[i];
        } else if (options->word_count < sizeof options->words / sizeof *options->words) {
            options->words[options->word_count++] = argv[i];
        } else {
            fprintf(stderr, "marling: too many words, from \"%s\" on\n", argv[i]);
            return false;
        }
    }
    return true;
}
