/* Verbs of the people of a shop, and of its door. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "base/text.h"
#include "cli/common.h"
#include "cli/verbs.h"
#include "store/people.h"

/* --- passwords ------------------------------------------------------------------------------- */

/* One line of standard input; of a terminal, without showing what is typed. False at its end. */
static bool read_line(const char *prompt, char *line, size_t room) {
    struct termios shown;
    bool terminal = tcgetattr(STDIN_FILENO, &shown) == 0;
    if (terminal) {
        struct termios hidden = shown;
        hidden.c_lflag &= ~(tcflag_t)ECHO;
        fputs(prompt, stderr);
        tcsetattr(STDIN_FILENO, TCSAFLUSH, &hidden);
    }
    bool good = fgets(line, (int)room, stdin) != NULL;
    if (terminal) {
        tcsetattr(STDIN_FILENO, TCSAFLUSH, &shown);
        fputs("\n", stderr);
    }
    size_t length = good ? strcspn(line, "\r\n") : 0;
    if (good && length + 1 == room) {
        fputs("marling: this line is too long\n", stderr);
        return false;
    }
    line[length] = '\0';
    return good;
}

/* Asks for a new password (twice at a terminal) and hashes it; false after saying why not. */
static bool take_password(const char *name, char hash[PEOPLE_HASH_BYTES]) {
    char password[PEOPLE_PASSWORD_MOST + 3] = "";
    char again[sizeof password] = "";
    const char *fault = NULL;
    if (!read_line("Password: ", password, sizeof password)) {
        fault = "no password was given";
    } else {
        fault = people_password_fault(name, password);
    }
    if (fault == NULL && isatty(STDIN_FILENO) != 0 &&
        (!read_line("The same again: ", again, sizeof again) || strcmp(password, again) != 0)) {
        fault = "these are two different passwords";
    }
    if (fault != NULL) {
        fprintf(stderr, "marling: %s\n", fault);
    }
    bool good = fault == NULL && common_tell_status(people_hash(password, hash)) == EXIT_CLEAN;
    sodium_memzero(password, sizeof password);
    sodium_memzero(again, sizeof again);
    return good;
}

/* --- people ---------------------------------------------------------------------------------- */

int verb_people(const Options *options) {
    Arena arena = {0};
    Store *store;
    StorePerson *people = NULL;
    size_t count = 0;
    Status status = store_open(options->words[0], STORE_WRITE, &store);
    if (!status.failed) {
        status = store_people(store, &arena, &people, &count);
        store_close(store);
    }
    int code = common_tell_status(status);
    Buffer text = {.arena = &arena};
    for (size_t i = 0; i < count; i++) {
        const StorePerson *person = &people[i];
        buffer_format(&text, "%-24s %-9s since %s%s%s%s\n", person->name,
                      store_role_name(person->role), person->made,
                      *person->ended != '\0' ? ", left " : "", person->ended,
                      *person->ended == '\0' && !person->has_password ? ", no password yet" : "");
    }
    code = code == EXIT_CLEAN ? common_put(options, &text) : code;
    arena_free(&arena);
    return code;
}

/* Says what a change of people came to. */
static int tell_change(Status status, const char *name, bool done, bool last, const char *what) {
    int code = common_tell_status(status);
    if (code != EXIT_CLEAN) {
        return code;
    }
    if (last) {
        fprintf(stderr,
                "marling: %s is the last designer with a password: nobody could let anybody in any "
                "more\n",
                name);
    } else if (!done) {
        fprintf(stderr, "marling: nobody called %s works here\n", name);
    } else {
        fprintf(stderr, "marling: %s %s\n", name, what);
    }
    return done ? EXIT_CLEAN : EXIT_BAD_INPUT;
}

static int admit(Arena *arena, const Options *options, Store *store, StoreRole role) {
    const char *name = options->words[1];
    char hash[PEOPLE_HASH_BYTES];
    StorePerson person;
    bool found = false;
    bool done = false;
    bool last = false;
    StoreBy by = common_by(arena, options, "");
    Status status = store_find_person(store, arena, name, &person, NULL, &found);
    if (status.failed) {
        return common_tell_status(status);
    }
    const char *now = arena_format(arena, "works here as %s", store_role_name(role));
    if (found) {
        status = store_set_role(store, &by, name, role, &done, &last);
        return tell_change(status, name, done, last, now);
    }
    if (!take_password(name, hash)) {
        return EXIT_BAD_INPUT;
    }
    status = store_add_person(store, &by, name, role, hash, &done);
    return tell_change(status, name, done, false, now);
}

int verb_admit(const Options *options) {
    StoreRole role = store_role_find(options->words[2]);
    const char *fault = people_name_fault(options->words[1]);
    fault = role == ROLE_COUNT ? "a role is designer, bench or buyer" : fault;
    if (fault != NULL) {
        fprintf(stderr, "marling: %s\n", fault);
        return EXIT_BAD_INPUT;
    }
    Arena arena = {0};
    Store *store;
    int code = common_tell_status(store_open(options->words[0], STORE_CREATE, &store));
    if (code == EXIT_CLEAN) {
        code = admit(&arena, options, store, role);
        store_close(store);
    }
    arena_free(&arena);
    return code;
}

int verb_password(const Options *options) {
    Arena arena = {0};
    Store *store;
    const char *name = options->words[1];
    char hash[PEOPLE_HASH_BYTES];
    int code = common_tell_status(store_open(options->words[0], STORE_WRITE, &store));
    if (code == EXIT_CLEAN) {
        StoreBy by = common_by(&arena, options, "");
        bool done = false;
        code = EXIT_BAD_INPUT;
        if (take_password(name, hash)) {
            Status status = store_set_password(store, &by, name, hash, &done);
            code = tell_change(status, name, done, false, "has a new password");
        }
        store_close(store);
    }
    arena_free(&arena);
    return code;
}

int verb_dismiss(const Options *options) {
    Arena arena = {0};
    Store *store;
    int code = common_tell_status(store_open(options->words[0], STORE_WRITE, &store));
    if (code == EXIT_CLEAN) {
        StoreBy by = common_by(&arena, options, "");
        bool done = false;
        bool last = false;
        Status status = store_end_person(store, &by, options->words[1], &done, &last);
        code = tell_change(status, options->words[1], done, last, "does not work here any more");
        store_close(store);
    }
    arena_free(&arena);
    return code;
}

/* --- the door -------------------------------------------------------------------------------- */

/* Names and words of strangers go to a terminal: what could steer it is shown as a question mark.
 */
static const char *harmless(Arena *arena, const char *text) {
    char *copy = arena_text(arena, text, strlen(text));
    for (char *at = copy; *at != '\0'; at++) {
        if ((unsigned char)*at < 0x20 || *at == 0x7f) {
            *at = '?';
        }
    }
    return copy;
}

int verb_door(const Options *options) {
    enum { MOST = 200 };
    Arena arena = {0};
    Store *store;
    StoreVisit *visits = NULL;
    size_t count = 0;
    Status status = store_open(options->words[0], STORE_WRITE, &store);
    if (!status.failed) {
        status = store_visits(store, &arena, MOST, &visits, &count);
        store_close(store);
    }
    int code = common_tell_status(status);
    Buffer text = {.arena = &arena};
    for (size_t i = 0; i < count; i++) {
        buffer_format(&text, "%-20s  %-10s %-16s %-20s %s\n", visits[i].at, visits[i].kind,
                      harmless(&arena, visits[i].person), visits[i].address,
                      harmless(&arena, visits[i].what));
    }
    code = code == EXIT_CLEAN ? common_put(options, &text) : code;
    arena_free(&arena);
    return code;
}
