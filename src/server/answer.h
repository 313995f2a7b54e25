/* Questions and answers of the desk's pages, without any socket: what the network glue, tests and
 * the fuzzer call. Everything under /api/ is JSON (sheets SVG, explanations plain text); a refusal
 * is an object with `error` and what would do. Names come in query values, never in paths. */
#ifndef SERVER_ANSWER_H
#define SERVER_ANSWER_H

#include "server/live.h"
#include "store/people.h"

typedef struct Door Door; /* server/door.h */

/* Largest body that is taken. */
#define ANSWER_BODY_BYTES ((size_t)4 << 20)

/* What a person may do. Without sign-in (on this machine alone) everybody is a designer. */
typedef enum Who {
    WHO_DESIGN = 1,   /* designs: everything */
    WHO_BENCH = 2,    /* builds and tests */
    WHO_BUY = 4,      /* orders and keeps the shelves */
    WHO_CUSTOMER = 8, /* came by a link: sees the one job it was made for (store/people.h) */
    WHO_NOBODY = 16,  /* has not signed in */
    WHO_STAFF = WHO_DESIGN | WHO_BENCH | WHO_BUY,
    WHO_ANYBODY = WHO_STAFF | WHO_CUSTOMER | WHO_NOBODY
} Who;

typedef struct AskedValue {
    const char *name;
    const char *value;
} AskedValue;

/* Kept by who asks again: what was asked for is derived as of the first time, or later. */
typedef struct AskedBefore {
    bool before;
    DeskMoment since;
} AskedBefore;

typedef struct Asked {
    const char *method; /* "GET", "POST" */
    const char *path;   /* "/api/table" */
    const AskedValue *values;
    size_t value_count;
    const char *body;
    size_t body_length;
    const char *person; /* who asks, for the log */
    unsigned who;       /* one of Who: as what they ask */
    const char *token;  /* of the session or link by which they ask; NULL */
    const char *address;
    StoreLink link;      /* of a customer. asking_find_job() refuses every job but its own */
    AskedBefore *before; /* begins all zero; NULL: the answer is waited for */
    Door *door;          /* who may come in; NULL: nobody signs in at this desk */
} Asked;

typedef struct Answer {
    bool later; /* nothing yet: ask again once this was derived (desk_live_ready) */
    StoreJob later_job;
    LiveKind later_kind;
    unsigned code;    /* HTTP status */
    const char *type; /* of the content */
    const char *bytes;
    size_t length;
    StoreJob changed;  /* job (or library) whose rows this changed; STORE_NO_JOB */
    StoreAct act;      /* the act that did */
    const char *token; /* of a session that began; "": it ended; NULL: as it was */
    bool people;       /* sessions ended or links were taken back: streams look again */
    unsigned wait_s;   /* 429: how long to wait */
} Answer;

/* Bytes of the answer live in `arena`. May be called by many threads at once. */
void answer_ask(Desk *desk, Arena *arena, const Asked *asked, Answer *answer);

/* Every path: for the table of who may what. */
typedef struct AnswerRoute {
    const char *method;
    const char *path;
    unsigned who; /* sum of Who */
    bool changes;
    const char *what;
} AnswerRoute;

const AnswerRoute *answer_routes(size_t *count);

#endif
