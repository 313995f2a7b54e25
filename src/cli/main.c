#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "app/summary.h"
#include "base/status.h"
#include "base/text.h"
#include "cli/verbs.h"

typedef struct Verb {
    const char *name;
    int (*run)(const Options *options);
    const char *arguments;
    size_t least;
    size_t most;
    const char *what;
} Verb;

static const Verb VERBS[] = {
#define VERB_ROW(name, function, arguments, least, most, what)                                     \
    {name, function, arguments, least, most, what},
    VERB_LIST(VERB_ROW)
#undef VERB_ROW
};

enum { VERB_COUNT = sizeof VERBS / sizeof *VERBS };

static void print_help(FILE *file) {
    fprintf(file,
            "marling: from a job's tables to a proved wire list, its drawings and its book\n\n");
    for (size_t i = 0; i < VERB_COUNT; i++) {
        fprintf(file, "  marling %-10s %-18s %s\n", VERBS[i].name, VERBS[i].arguments,
                VERBS[i].what);
    }
    fprintf(
        file,
        "\nJOB is a folder of CSV tables; `marling schema` lists them.\n\n"
        "  -f, --format text|csv|json|xlsx   how `show`, `compare`, `schema` write\n"
        "  -o, --output FILE                 write there instead of to the terminal\n"
        "  -p, --paper A4|A3|Letter|Tabloid  of drawings and the book; usual: A3\n"
        "  -u, --units mm|in|both            of lengths on them; usual: mm\n"
        "      --phase PHASE                 that the power diagram shows, or that things fail in\n"
        "      --stock STOCK                 that labels are laid out for\n"
        "      --list                        with `draw`: which sheets there are\n"
        "      --pairs                       try every pair of failures too (takes its time)\n"
        "  -l, --library FOLDER              parts library; usual: the one beside the program\n"
        "      --port PORT                   that `serve` listens on; usual: 8612\n"
        "      --listen ADDRESS[:PORT]       serve others too, by TLS; 0.0.0.0: all addresses\n"
        "      --by NAME, --note TEXT        who changes a shop file and why, for its log\n"
        "  -q, --quiet                       no progress\n"
        "  -h, --help                        this page\n\n"
        "Exit code: 0 clean or accepted, 1 open findings of severity error, 2 bad input.\n\n"
        "%s\n",
        summary_caution());
}

static const Verb *find_verb(const char *name) {
    const char *names[VERB_COUNT];
    for (size_t i = 0; i < VERB_COUNT; i++) {
        names[i] = VERBS[i].name;
        if (strcmp(name, VERBS[i].name) == 0) {
            return &VERBS[i];
        }
    }
    const char *nearest = text_nearest(name, names, VERB_COUNT);
    fprintf(stderr, "marling: no verb is called %s%s%s; `marling --help` lists them\n", name,
            nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
    return NULL;
}

int main(int argc, char **argv) {
    Options options;
    if (!options_parse(argc, argv, &options)) {
        return EXIT_BAD_INPUT;
    }
    if (options.verb == NULL) {
        print_help(options.help ? stdout : stderr);
        return options.help ? EXIT_CLEAN : EXIT_BAD_INPUT;
    }
    const Verb *verb = find_verb(options.verb);
    if (verb == NULL) {
        return EXIT_BAD_INPUT;
    }
    if (options.help) {
        printf("marling %s %s: %s\n", verb->name, verb->arguments, verb->what);
        return EXIT_CLEAN;
    }
    if (options.word_count < verb->least || options.word_count > verb->most) {
        fprintf(stderr, "marling: %s wants %s\n", verb->name, verb->arguments);
        return EXIT_BAD_INPUT;
    }
    int code = verb->run(&options);
    if (fflush(stdout) != 0 || ferror(stdout)) {
        fprintf(stderr, "%s\n",
                status_failed("marling: cannot write to", "standard output", errno).text);
        return EXIT_BAD_INPUT;
    }
    return code;
}
