/* Status: what the world refused (a file, a folder, a socket). Data, not a message to print: the
 * caller that can act on it does, the last one prints it. */
#ifndef BASE_STATUS_H
#define BASE_STATUS_H

#include <stdbool.h>

typedef struct Status {
    bool failed;
    int system_error; /* errno of the failed call, 0 when it was not a system call */
    char text[320];   /* "cannot open 'path': No such file or directory" */
} Status;

#define STATUS_USE __attribute__((warn_unused_result))

/* The status that says nothing went wrong. */
static inline Status status_ok(void) {
    return (Status){0};
}

/* A failed status: `what` and `path` as "what 'path'", then the text of `system_error` unless 0. */
Status status_failed(const char *what, const char *path, int system_error);

#endif
