/* A small shop file for fuzz targets, in memory where the system has such a folder: the first
 * example with the library, and three people. Made anew whenever it is opened. */
#ifndef FUZZ_SHOP_H
#define FUZZ_SHOP_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "app/source.h"
#include "base/check.h"
#include "server/live.h"
#include "store/people.h"

static inline void shop_path(char *path, size_t room, const char *ending) {
    snprintf(path, room, "%s/marling-fuzz-%ld.db%s",
             access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp", (long)getpid(), ending);
}

static inline void shop_remove(void) {
    static const char *const ENDINGS[] = {"", "-wal", "-shm"};
    char path[64];
    for (size_t i = 0; i < 3; i++) {
        shop_path(path, sizeof path, ENDINGS[i]);
        unlink(path);
    }
}

static inline Desk *shop_open(void) {
    static const char *const NAMES[] = {"Ada", "Bo", "Cy"};
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    char path[64];
    shop_remove();
    shop_path(path, sizeof path, "");
    SourceName name = {.shop = path, .job = "first", .revision = ""};
    StoreBy by = {.person = "Ada", .at = "2026-05-11T08:30:00Z", .what = "fuzz"};
    size_t changed = 0;
    Status status = source_import(&arena, MARLING_SOURCE_DIR "/examples/first",
                                  MARLING_SOURCE_DIR "/library", &name, &by, &changed, &findings);
    CHECK(!status.failed);
    Store *store;
    status = store_open(path, STORE_WRITE, &store);
    for (size_t i = 0; i < 3 && !status.failed; i++) {
        bool done;
        status = store_add_person(store, &by, NAMES[i], (StoreRole)i, "x", &done);
    }
    CHECK(!status.failed);
    store_close(store);
    Desk *desk;
    status = desk_open(path, &desk);
    CHECK(!status.failed);
    arena_free(&arena);
    return desk;
}

#endif
