/* One question on its way to its answer, for the files that answer (answer_*.c): values and bodies
 * are read here, jobs found, answers put together. A function that refuses has answered: its caller
 * returns. To add a route: a line in routes.h and its function `ask_NAME` in a file of its area. */
#ifndef SERVER_ASKING_H
#define SERVER_ASKING_H

#include <jansson.h>

#include "server/answer.h"

typedef struct Asking {
    Desk *desk;
    Arena *arena; /* of the answer */
    const Asked *asked;
    Answer *answer;
} Asking;

/* --- answers --------------------------------------------------------------------------------- */

/* The text must live in the arena or for good. */
void asking_put_text(Asking *asking, unsigned code, const char *type, const char *text,
                     size_t length);
void asking_put_buffer(Asking *asking, const char *type, const Buffer *text);

/* The same of a text that lives shorter: it is copied. */
void asking_put_copy(Asking *asking, const char *type, const Buffer *text);

/* Takes the object over. */
void asking_put_json(Asking *asking, unsigned code, json_t *object);

/* `error` in words; `nearest`: the name that was meant, may be NULL. */
void asking_refuse(Asking *asking, unsigned code, const char *error, const char *nearest);

/* False after refusing because the file could not be read or written. */
bool asking_good(Asking *asking, Status status);

/* An edit was done: its act is the answer, and pages that look at the job are told. */
void asking_tell_done(Asking *asking, StoreJob job, StoreAct act);

/* --- what was asked -------------------------------------------------------------------------- */

/* A value of the query; NULL when it is not there. */
const char *asking_value(const Asking *asking, const char *name);

/* A value that must be there; NULL after refusing. */
const char *asking_need(Asking *asking, const char *name);

/* False after refusing. */
bool asking_find_job(Asking *asking, const char *name, StoreJob *job);

/* The job that the query names. */
bool asking_job(Asking *asking, StoreJob *job);

/* TABLE_COUNT after refusing. */
TableId asking_find_table(Asking *asking, const char *name);

/* What is derived from the job that the query names; NULL after refusing, or when it will be asked
 * for again (answer->later). desk_live_done() gives it back. */
Live *asking_live(Asking *asking, LiveKind kind);

/* The body as an object; NULL after refusing. The caller gives it back. */
json_t *asking_object(Asking *asking);

/* The same with a "job"; NULL after refusing. The caller gives it back. */
json_t *asking_body(Asking *asking, StoreJob *job);

/* False where everybody is taken for a designer and the page may say who stands before it. */
bool asking_signs_in(const Asking *asking);

/* Who changes something now; the body's "what" says why. */
StoreBy asking_by(Asking *asking, const json_t *body);

#endif
