#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static Status read_all(Arena *arena, int file, const char *path, char **text, size_t *length) {
    struct stat info;
    if (fstat(file, &info) != 0) {
        return status_failed("cannot read", path, errno);
    }
    if (S_ISDIR(info.st_mode)) {
        return status_failed("cannot read", path, EISDIR);
    }
    if (!S_ISREG(info.st_mode)) {
        return status_failed("not an ordinary file:", path, 0);
    }
    if ((size_t)info.st_size > FILE_LARGEST_BYTES) {
        return status_failed("larger than 256 MiB, not read:", path, 0);
    }
    size_t capacity = (size_t)info.st_size;
    char *bytes = arena_take(arena, capacity + 1, 1);
    size_t used = 0;
    while (used < capacity) {
        ssize_t got = read(file, bytes + used, capacity - used);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            return status_failed("cannot read", path, errno);
        }
        if (got == 0) {
            break;
        }
        used += (size_t)got;
    }
    bytes[used] = '\0';
    *text = bytes;
    *length = used;
    return status_ok();
}

static int compare_names(const void *left, const void *right) {
    return strcmp(*(char *const *)left, *(char *const *)right);
}

static int has_ending(const char *name, const char *ending) {
    size_t name_length = strlen(name);
    size_t ending_length = strlen(ending);
    return name_length >= ending_length && strcmp(name + name_length - ending_length, ending) == 0;
}

static Status write_all(int file, const char *path, const char *bytes, size_t length) {
    while (length > 0) {
        ssize_t put = write(file, bytes, length);
        if (put < 0 && errno == EINTR) {
            continue;
        }
        if (put < 0) {
            return status_failed("cannot write", path, errno);
        }
        bytes += put;
        length -= (size_t)put;
    }
    if (fsync(file) != 0 && errno != EINVAL && errno != ENOTSUP) {
        return status_failed("cannot write", path, errno);
    }
    return status_ok();
}

/* --- exported ----------------------------------------------------------------------------------
 */

Status file_read(Arena *arena, const char *path, char **text, size_t *length) {
    /* Without O_NONBLOCK a named pipe in a job folder would hang the program. */
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file < 0) {
        return status_failed("cannot open", path, errno);
    }
    Status status = read_all(arena, file, path, text, length);
    close(file);
    return status;
}

Status file_write(const char *path, const void *text, size_t length) {
    char beside[4096];
    int size = snprintf(beside, sizeof beside, "%s.part-%ld", path, (long)getpid());
    if (size < 0 || (size_t)size >= sizeof beside) {
        return status_failed("path too long:", path, 0);
    }
    int file = open(beside, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (file < 0) {
        return status_failed("cannot write", path, errno);
    }
    Status status = write_all(file, path, text, length);
    if (close(file) != 0 && !status.failed) {
        status = status_failed("cannot write", path, errno);
    }
    if (!status.failed && rename(beside, path) != 0) {
        status = status_failed("cannot write", path, errno);
    }
    if (status.failed) {
        unlink(beside);
    }
    return status;
}

Status file_list(Arena *arena, const char *path, const char *ending, char ***names, size_t *count) {
    *names = NULL;
    *count = 0;
    DIR *folder = opendir(path);
    if (folder == NULL) {
        return status_failed("cannot open folder", path, errno);
    }
    size_t capacity = 0;
    for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        if (entry->d_name[0] == '.' || !has_ending(entry->d_name, ending)) {
            continue;
        }
        *ARENA_PUSH(arena, *names, *count, capacity) =
            arena_text(arena, entry->d_name, strlen(entry->d_name));
    }
    closedir(folder);
    if (*count > 1) {
        qsort(*names, *count, sizeof **names, compare_names);
    }
    return status_ok();
}

Status file_make_folder(const char *path) {
    char part[4096];
    size_t length = strlen(path);
    if (length == 0 || length >= sizeof part) {
        return status_failed("not a usable folder name:", path, 0);
    }
    for (size_t i = 1; i <= length; i++) {
        if (i < length && path[i] != '/') {
            continue;
        }
        memcpy(part, path, i);
        part[i] = '\0';
        if (mkdir(part, 0777) != 0 && errno != EEXIST) {
            return status_failed("cannot make folder", path, errno);
        }
    }
    struct stat info;
    if (stat(path, &info) != 0 || !S_ISDIR(info.st_mode)) {
        return status_failed("not a folder:", path, 0);
    }
    return status_ok();
}

bool file_is_there(const char *path) {
    struct stat info;
    return lstat(path, &info) == 0;
}

/* nftw would need XSI; folders that we make are two deep. */
static void remove_entries(Arena *arena, const char *path) {
    DIR *folder = opendir(path);
    if (folder == NULL) {
        return;
    }
    for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0) {
            continue;
        }
        const char *inside = arena_format(arena, "%s/%s", path, entry->d_name);
        struct stat info;
        if (lstat(inside, &info) == 0 && S_ISDIR(info.st_mode)) {
            remove_entries(arena, inside);
            rmdir(inside);
        } else {
            unlink(inside);
        }
    }
    closedir(folder);
}

void file_remove_folder(const char *path) {
    Arena arena = {0};
    remove_entries(&arena, path);
    rmdir(path);
    arena_free(&arena);
}

Status file_replace_folder(const char *from, const char *to) {
    char aside[4096];
    int size = snprintf(aside, sizeof aside, "%s.old-%ld", to, (long)getpid());
    if (size < 0 || (size_t)size >= sizeof aside) {
        return status_failed("path too long:", to, 0);
    }
    bool earlier = file_is_there(to);
    if (earlier && rename(to, aside) != 0) {
        return status_failed("cannot replace", to, errno);
    }
    if (rename(from, to) != 0) {
        Status status = status_failed("cannot write", to, errno);
        if (earlier && rename(aside, to) != 0) {
            return status_failed("cannot put back what was moved to", aside, errno);
        }
        return status;
    }
    if (earlier) {
        file_remove_folder(aside);
    }
    return status_ok();
}
