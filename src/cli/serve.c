/* The desk: serves a shop file until it is told to stop. */
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "cli/common.h"
#include "cli/verbs.h"
#include "server/http.h"
#include "server/qr.h"
#include "store/people.h"

/* $XDG_DATA_HOME/marling, made when it is not there (XDG Base Directory Specification 0.8); NULL
 * when it can't be. */
static const char *data_folder(Arena *arena) {
    const char *data = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");
    const char *folder =
        data != NULL && *data == '/'
            ? arena_format(arena, "%s/marling", data)
            : arena_format(arena, "%s/.local/share/marling", home == NULL ? "." : home);
    return file_make_folder(folder).failed ? NULL : folder;
}

/* 0 for "any"; -1 for what is no port. */
static long read_port(const char *text) {
    char *end;
    long port = text == NULL ? LISTEN_PORT : strtol(text, &end, 10);
    return text != NULL && (*text == '\0' || *end != '\0' || port < 0 || port > 65535) ? -1 : port;
}

/* Where to listen; what is wrong with it, or NULL. */
static const char *read_place(const Options *options, ListenAt *at) {
    long port = read_port(options->port);
    if (port < 0) {
        return "--port wants a number from 0 to 65535";
    }
    *at = listen_here((uint16_t)port);
    return options->listen == NULL ? NULL : listen_parse(options->listen, (uint16_t)port, at);
}

/* --- people ---------------------------------------------------------------------------------- */

typedef struct Staff {
    size_t working;
    size_t designers; /* with a password */
    bool has_name;    /* the one who serves is among them */
} Staff;

static Status count_staff(Arena *arena, Desk *desk, const char *name, Staff *staff) {
    StorePerson *people = NULL;
    size_t count = 0;
    *staff = (Staff){.working = 0};
    Store *store = desk_store(desk);
    Status status = store_people(store, arena, &people, &count);
    desk_store_done(desk);
    for (size_t i = 0; i < count; i++) {
        if (*people[i].ended == '\0') {
            staff->working++;
            staff->designers += people[i].role == ROLE_DESIGNER && people[i].has_password ? 1 : 0;
            staff->has_name |= strcmp(people[i].name, name) == 0;
        }
    }
    return status;
}

/* --- telling --------------------------------------------------------------------------------- */

/* How others find the desk and learn to know it. */
static void tell_others(Arena *arena, const Http *http, const Authority *authority) {
    Buffer text = {.arena = arena};
    const char *trust = arena_format(arena, "%strust", http_url(http));
    if (isatty(STDOUT_FILENO) != 0) {
        qr_write_terminal(&text, trust);
    }
    buffer_format(
        &text,
        "A tablet that does not know this desk yet opens %s (it warns: go on), takes the\n"
        "certificate of the authority there, and shows its fingerprint. Install it only "
        "if it is\n  %s\n  in words: %s\n",
        trust, authority_fingerprint(authority), authority_words(authority));
    fputs(text.bytes, stdout);
}

static void tell_start(Arena *arena, const Http *http, const char *shop,
                       const Authority *authority) {
    printf("%s serves %s; Ctrl-C ends it\n", http_url(http), shop);
    if (authority != NULL) {
        tell_others(arena, http, authority);
    }
    fflush(stdout);
}

/* --- serving --------------------------------------------------------------------------------- */

/* Beyond this machine: somebody must be able to sign in, and the authority is opened or made. */
static Status prepare_for_others(Arena *arena, const char *shop, const Staff *staff,
                                 Authority **authority) {
    if (staff->designers == 0) {
        return status_failed(
            arena_format(
                arena, "nobody could sign in: first `marling admit %s NAME designer`, then", shop),
            "--listen", 0);
    }
    const char *folder = data_folder(arena);
    return folder == NULL ? status_failed("no folder for the desk's authority", "HOME", 0)
                          : authority_open(folder, authority);
}

static Status start(Arena *arena, const Options *options, const char *shop, const ListenAt *at,
                    Desk *desk, Authority **authority, Http **http) {
    StoreBy by = common_by(arena, options, "");
    Staff staff;
    Status status = count_staff(arena, desk, by.person, &staff);
    if (!status.failed && !at->loopback) {
        status = prepare_for_others(arena, shop, &staff, authority);
    }
    if (!status.failed && at->loopback && staff.working > 0 && !staff.has_name) {
        fprintf(stderr,
                "marling: the log will say %s, who is none of the people of %s; name one with "
                "--by\n",
                by.person, shop);
    }
    if (!status.failed) {
        HttpOptions http_options = {.at = *at, .person = by.person, .authority = *authority};
        status = http_start(desk, &http_options, http);
    }
    return status;
}

int verb_serve(const Options *options) {
    Arena arena = {0};
    ListenAt at;
    const char *folder = options->word_count > 0 ? NULL : data_folder(&arena);
    const char *shop = options->word_count > 0 ? options->words[0]
                       : folder != NULL        ? arena_format(&arena, "%s/shop.db", folder)
                                               : NULL;
    const char *fault = read_place(options, &at);
    fault = fault == NULL && shop == NULL ? "no folder for a shop file: name one" : fault;
    if (fault != NULL) {
        fprintf(stderr, "marling: %s\n", fault);
        arena_free(&arena);
        return EXIT_BAD_INPUT;
    }
    Desk *desk = NULL;
    Http *http = NULL;
    Authority *authority = NULL;
    sigset_t ends;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &ends, NULL); /* in all threads: sigwait() takes them */
    signal(SIGPIPE, SIG_IGN);
    Status status = desk_open(shop, &desk);
    if (!status.failed) {
        status = start(&arena, options, shop, &at, desk, &authority, &http);
    }
    int code = common_tell_status(status);
    if (code == EXIT_CLEAN) {
        tell_start(&arena, http, shop, authority);
        int signal_number;
        sigwait(&ends, &signal_number);
    }
    http_stop(http);
    authority_close(authority);
    desk_close(desk);
    arena_free(&arena);
    return code;
}
