/* Finds the route of a question and refuses who may not ask it. */
#include "server/answer.h"

#include <string.h>

#include "base/text.h"
#include "server/door.h"
#include "server/routes.h"

static const AnswerRoute ROUTE_LIST[] = {
#define ROUTE_ROW(method, path, function, who, changes, what) {method, path, who, changes, what},
    ROUTES(ROUTE_ROW)
#undef ROUTE_ROW
};
enum { ROUTE_COUNT = sizeof ROUTE_LIST / sizeof *ROUTE_LIST };

static void (*const FUNCTIONS[ROUTE_COUNT])(Asking *) = {
#define ROUTE_FUNCTION(method, path, function, who, changes, what) function,
    ROUTES(ROUTE_FUNCTION)
#undef ROUTE_FUNCTION
};

const AnswerRoute *answer_routes(size_t *count) {
    *count = ROUTE_COUNT;
    return ROUTE_LIST;
}

static void ask_route(Asking *asking, size_t route) {
    unsigned who = asking->asked->who;
    if ((who & ROUTE_LIST[route].who) != 0) {
        FUNCTIONS[route](asking);
    } else if ((who & (WHO_STAFF | WHO_CUSTOMER)) == 0) {
        asking_refuse(asking, 401, "nobody has signed in", NULL);
    } else {
        if (asking->asked->door != NULL) {
            door_note_refused(asking->asked->door, asking->desk, asking->asked, "not theirs",
                              asking->asked->person, ROUTE_LIST[route].path);
        }
        asking_refuse(asking, 403, "this is for others to do", NULL);
    }
}

void answer_ask(Desk *desk, Arena *arena, const Asked *asked, Answer *answer) {
    *answer = (Answer){.code = 404, .changed = STORE_NO_JOB};
    Asking asking = {.desk = desk, .arena = arena, .asked = asked, .answer = answer};
    const char *paths[ROUTE_COUNT];
    bool known = false;
    for (size_t i = 0; i < ROUTE_COUNT; i++) {
        paths[i] = ROUTE_LIST[i].path;
        if (strcmp(paths[i], asked->path) == 0) {
            known = true;
            if (strcmp(ROUTE_LIST[i].method, asked->method) == 0) {
                ask_route(&asking, i);
                return;
            }
        }
    }
    if (known) {
        asking_refuse(&asking, 405, "this path is not asked that way", NULL);
    } else {
        asking_refuse(&asking, 404, "there is nothing here",
                      text_nearest(asked->path, paths, ROUTE_COUNT));
    }
}
