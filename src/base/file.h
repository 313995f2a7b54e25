/* Whole files in, whole files out. A file is written beside its place and renamed, so that a
 * reader never sees half of one and a failed write leaves the old one as it was. */
#ifndef BASE_FILE_H
#define BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/status.h"

/* The largest table file that is read; a larger one is refused, not cut. */
#define FILE_LARGEST_BYTES ((size_t)256 << 20)

/* Reads all of `path` into the arena; *text gets a zero after *length bytes. */
STATUS_USE Status file_read(Arena *arena, const char *path, char **text, size_t *length);

/* Writes `length` bytes to `path` by way of "path.part-PID" and a rename. */
STATUS_USE Status file_write(const char *path, const void *text, size_t length);

/* Names of the entries of the folder `path` that end in `ending` ("" for all), sorted bytewise;
 * names without the folder. */
STATUS_USE Status file_list(Arena *arena, const char *path, const char *ending, char ***names,
                            size_t *count);

/* Makes the folder `path` and those above it; no error when it is there already. */
STATUS_USE Status file_make_folder(const char *path);

/* Puts the whole folder `from` in the place of the folder `to`, which may be there or not: an
 * earlier one is moved aside, and put back when the new one can't be moved; then it is removed. */
STATUS_USE Status file_replace_folder(const char *from, const char *to);

/* Removes a folder with the files and folders in it. What can't be removed stays. */
void file_remove_folder(const char *path);

/* True when something of that name is there. */
bool file_is_there(const char *path);

#endif
