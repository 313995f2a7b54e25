/* Feeds every file of the folders named on the command line to one fuzz target, so that ordinary
 * tests replay the corpus with any compiler. Fails when there is nothing to replay. */
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/arena.h"
#include "base/file.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static size_t replay_folder(Arena *arena, const char *folder) {
    char **names = NULL;
    size_t count = 0;
    Status status = file_list(arena, folder, "", &names, &count);
    for (size_t i = 0; i < count && !status.failed; i++) {
        const char *path = arena_format(arena, "%s/%s", folder, names[i]);
        char *text = NULL;
        size_t length = 0;
        status = file_read(arena, path, &text, &length);
        if (!status.failed) {
            LLVMFuzzerTestOneInput((const uint8_t *)text, length);
        }
    }
    if (status.failed) {
        fprintf(stderr, "%s\n", status.text);
        return 0;
    }
    return count;
}

int main(int count, char **arguments) {
    Arena arena = {0};
    size_t replayed = 0;
    for (int i = 1; i < count; i++) {
        replayed += replay_folder(&arena, arguments[i]);
    }
    arena_free(&arena);
    printf("%zu inputs replayed\n", replayed);
    return replayed > 0 ? 0 : 1;
}
