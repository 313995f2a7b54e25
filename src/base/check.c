#include "base/check.h"

#include <stdio.h>
#include <stdlib.h>

_Noreturn void check_fail(const char *file, int line, const char *what) {
    fprintf(stderr, "%s:%d: internal check failed: %s\n", file, line, what);
    abort();
}
