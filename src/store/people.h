/* Who works in the shop, and who came in. People with their role and the Argon2id hash of their
 * password (RFC 9106, by libsodium), sessions, links for customers, and the door log live in the
 * shop file beside the jobs, in tables that no export, revision or question about tables shows. Of
 * sessions and links only the SHA-256 of their secret is kept: who reads the file can't use them.
 */
#ifndef STORE_PEOPLE_H
#define STORE_PEOPLE_H

#include "store/store.h"

/* --- people ---------------------------------------------------------------------------------- */

typedef enum StoreRole { ROLE_DESIGNER, ROLE_BENCH, ROLE_BUYER, ROLE_COUNT } StoreRole;

/* "designer", "bench", "buyer". */
const char *store_role_name(StoreRole role);

/* ROLE_COUNT when there is none of that name. */
StoreRole store_role_find(const char *name);

typedef struct StorePerson {
    int64_t person;
    const char *name; /* UTF-8; no two people of one shop share it, whatever their case (ASCII) */
    StoreRole role;
    bool has_password;
    const char *made;  /* UTC, as StoreBy.at */
    const char *ended; /* "" as long as the person works here */
} StorePerson;

#define PEOPLE_HASH_BYTES 128
#define PEOPLE_NAME_BYTES ((size_t)64)
#define PEOPLE_PASSWORD_LEAST ((size_t)10)
#define PEOPLE_PASSWORD_MOST ((size_t)256)

/* What is wrong with a name or password, in words; NULL when nothing is. Length alone is asked of a
 * password, and that it is not the name (NIST SP 800-63B 5.1.1.2 advises against rules of
 * composition and asks for at least 8; we ask for 10). */
const char *people_name_fault(const char *name);
const char *people_password_fault(const char *name, const char *password);

/* Argon2id with a salt of its own; takes about a tenth of a second and 64 MiB. */
STATUS_USE Status people_hash(const char *password, char hash[PEOPLE_HASH_BYTES]);

/* True when the hash is of that password. Takes as long when it is not, and when the hash is NULL
 * or "" (nobody of that name): then it is held against a hash of nothing. */
bool people_hash_fits(const char *hash, const char *password);

/* All people by name, those who left too. */
STATUS_USE Status store_people(Store *store, Arena *arena, StorePerson **people, size_t *count);

/* The person of that name who works here, with the password's hash ("" for none; in the arena);
 * *found false when there is none. `hash` may be NULL. */
STATUS_USE Status store_find_person(Store *store, Arena *arena, const char *name,
                                    StorePerson *person, const char **hash, bool *found);

/* Adds a person; `hash` "" for no password yet. *done false when somebody of that name works here.
 * A person who left comes back as a new one. Name and role are checked by the caller. */
STATUS_USE Status store_add_person(Store *store, const StoreBy *by, const char *name,
                                   StoreRole role, const char *hash, bool *done);

/* These end the person's sessions; *done false when nobody of that name works here. The last
 * designer with a password can neither leave nor take another role as long as others work here:
 * *done false, and *last true. */
STATUS_USE Status store_end_person(Store *store, const StoreBy *by, const char *name, bool *done,
                                   bool *last);
STATUS_USE Status store_set_role(Store *store, const StoreBy *by, const char *name, StoreRole role,
                                 bool *done, bool *last);
STATUS_USE Status store_set_password(Store *store, const StoreBy *by, const char *name,
                                     const char *hash, bool *done);

/* --- sessions -------------------------------------------------------------------------------- */

/* 32 random bytes as URL-safe base64, and a zero. */
#define STORE_TOKEN_BYTES 44

enum {
    SESSION_IDLE_S = 12 * 3600,        /* unused so long, a session is over: a working day */
    SESSION_LONGEST_S = 7 * 24 * 3600, /* and used or not, after a week */
    SESSION_NOTE_S = 60 /* its last use is written down no more often, and only if it can be */
};

typedef struct StoreSession {
    int64_t session;
    StorePerson person;
    const char *address; /* that signed in */
    int64_t made_s;      /* seconds since 1970, as all times of sessions and links */
    int64_t used_s;
} StoreSession;

int64_t store_now_s(void);

/* Begins a session and writes its token, which is nowhere else. `hash` is that of the password as
 * it was found right: when it is another by now, or the person has left, the token opens nothing.
 */
STATUS_USE Status store_begin_session(Store *store, int64_t person, const char *hash,
                                      const char *address, int64_t now_s,
                                      char token[STORE_TOKEN_BYTES]);

/* The session of a token; *found false when there is none, it is over, or its person left. */
STATUS_USE Status store_find_session(Store *store, Arena *arena, const char *token, int64_t now_s,
                                     StoreSession *session, bool *found);

STATUS_USE Status store_end_session(Store *store, const char *token);

/* --- links for customers --------------------------------------------------------------------- */

typedef struct StoreLink {
    int64_t link;
    StoreJob job;
    const char *subject; /* what it shows or asks for, in words of who makes it: "brief" */
    const char *person;  /* who made it */
    const char *what;    /* for whom, in words */
    int64_t made_s;
    int64_t ends_s;
    int64_t used_s; /* 0: never */
    bool ended;     /* taken back */
} StoreLink;

/* Makes a link that shows one job until `ends_s`; its token is nowhere else. by->what: for whom. */
STATUS_USE Status store_make_link(Store *store, const StoreBy *by, StoreJob job,
                                  const char *subject, int64_t now_s, int64_t ends_s,
                                  char token[STORE_TOKEN_BYTES]);

/* The link of a token; *found false when there is none, it is over, or taken back. */
STATUS_USE Status store_find_link(Store *store, Arena *arena, const char *token, int64_t now_s,
                                  StoreLink *link, bool *found);

/* Links of a job, the latest first, those that are over too. */
STATUS_USE Status store_links(Store *store, Arena *arena, StoreJob job, StoreLink **links,
                              size_t *count);

/* Takes a link of that job back; *done false when there is none. */
STATUS_USE Status store_end_link(Store *store, const StoreBy *by, StoreJob job, int64_t link,
                                 bool *done);

/* --- the door log ---------------------------------------------------------------------------- */

/* Who came in, who was turned away, who was let in or sent off by whom. */
typedef struct StoreVisit {
    int64_t visit;
    const char *at;
    const char *kind; /* "in", "refused", "out", "not theirs", "people", "link" */
    const char *person;
    const char *address; /* "" for the command line */
    const char *what;
} StoreVisit;

enum { DOOR_KEPT = 20000 }; /* the oldest are forgotten */

STATUS_USE Status store_note_visit(Store *store, const StoreVisit *visit);

/* The last `most`, the latest first. */
STATUS_USE Status store_visits(Store *store, Arena *arena, size_t most, StoreVisit **visits,
                               size_t *count);

#endif
