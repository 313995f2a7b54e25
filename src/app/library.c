#include "app/library.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { LEVELS_UP = 4 };

static const char *try_folder(Arena *arena, const char *base, const char *rest) {
    const char *folder = arena_format(arena, "%s/%s", base, rest);
    return access(arena_format(arena, "%s/wire.csv", folder), R_OK) == 0 ? folder : NULL;
}

const char *library_find(Arena *arena, const char *asked) {
    if (asked != NULL) {
        return asked;
    }
    const char *named = getenv("MARLING_LIBRARY");
    if (named != NULL && *named != '\0') {
        return named;
    }
    char program[4096];
    ssize_t length = readlink("/proc/self/exe", program, sizeof program - 1);
    if (length < 0) {
        return NULL;
    }
    program[length] = '\0';
    for (int level = 0; level < LEVELS_UP; level++) {
        char *slash = strrchr(program, '/');
        if (slash == NULL) {
            break;
        }
        *slash = '\0';
        const char *folder = try_folder(arena, program, "library");
        if (folder == NULL && level == 0) {
            folder = try_folder(arena, program, "../share/marling/library");
        }
        if (folder != NULL) {
            return folder;
        }
    }
    return NULL;
}
