/* The desk: serves a shop file until it is told to stop. */
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "cli/common.h"
#include "cli/verbs.h"
#include "server/http.h"

/* Where the shop file is when none is named: $XDG_DATA_HOME/marling/shop.db (XDG Base Directory
 * Specification 0.8). */
static const char *usual_shop(Arena *arena) {
    const char *data = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");
    const char *folder =
        data != NULL && *data == '/'
            ? arena_format(arena, "%s/marling", data)
            : arena_format(arena, "%s/.local/share/marling", home == NULL ? "." : home);
    return file_make_folder(folder).failed ? NULL : arena_format(arena, "%s/shop.db", folder);
}

/* 0 for "any"; -1 for what is no port. */
static long read_port(const char *text) {
    char *end;
    long port = text == NULL ? 8612 : strtol(text, &end, 10);
    return text != NULL && (*text == '\0' || *end != '\0' || port < 0 || port > 65535) ? -1 : port;
}

int verb_serve(const Options *options) {
    Arena arena = {0};
    const char *shop = options->word_count > 0 ? options->words[0] : usual_shop(&arena);
    long port = read_port(options->port);
    Desk *desk = NULL;
    Http *http = NULL;
    if (port < 0 || shop == NULL) {
        fprintf(stderr, port < 0 ? "marling: --port wants a number from 0 to 65535\n"
                                 : "marling: no folder for a shop file: name one\n");
        arena_free(&arena);
        return EXIT_BAD_INPUT;
    }
    sigset_t ends;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &ends, NULL); /* in all threads: sigwait() takes them */
    signal(SIGPIPE, SIG_IGN);
    Status status = desk_open(shop, &desk);
    if (!status.failed) {
        StoreBy by = common_by(&arena, options, "");
        HttpOptions http_options = {.port = (uint16_t)port, .person = by.person};
        status = http_start(desk, &http_options, &http);
    }
    int code = common_tell_status(status);
    if (code == EXIT_CLEAN) {
        printf("http://127.0.0.1:%u/ serves %s; Ctrl-C ends it\n", http_port(http), shop);
        fflush(stdout);
        int signal_number;
        sigwait(&ends, &signal_number);
    }
    http_stop(http);
    desk_close(desk);
    arena_free(&arena);
    return code;
}
