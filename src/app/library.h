/* Where the parts library is: the folder asked for, else $MARLING_LIBRARY, else `library` in a
 * folder above the program (a build tree), else ../share/marling/library beside it (installed). */
#ifndef APP_LIBRARY_H
#define APP_LIBRARY_H

#include "base/arena.h"

/* The folder; NULL when none is found. A folder is taken when it holds wire.csv; `asked` (may be
 * NULL) is taken as it is. */
const char *library_find(Arena *arena, const char *asked);

#endif
