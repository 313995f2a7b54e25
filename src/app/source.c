#include "app/source.h"

#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/text.h"
#include "store/bench.h"

#define LIBRARY "library"
#define PHOTOS "photo"

bool source_parse(Arena *arena, const char *text, SourceName *name) {
    const char *colon = strrchr(text, ':');
    if (colon == NULL || file_is_there(text)) {
        return false;
    }
    const char *shop = arena_text(arena, text, (size_t)(colon - text));
    if (!store_is_shop_file(shop)) {
        return false;
    }
    const char *at = strrchr(colon, '@');
    size_t length = at == NULL ? strlen(colon + 1) : (size_t)(at - colon - 1);
    *name = (SourceName){
        .shop = shop,
        .job = arena_text(arena, colon + 1, length),
        .revision = at == NULL ? "" : arena_text(arena, at + 1, strlen(at + 1)),
    };
    return true;
}

/* "there is no job 'osire' in 'shop.db'; did you mean osier". */
static Status not_there(const char *kind, const char *what, const char *shop, const char *nearest) {
    Status status = {.failed = true};
    snprintf(status.text, sizeof status.text, "there is no %s '%s' in '%s'%s%s", kind, what, shop,
             nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
    return status;
}

static Status find_revision(Arena *arena, const SourceName *name, Source *source) {
    bool found = false;
    Status status = store_find_revision(source->store, arena, source->job, name->revision,
                                        &source->revision, &found);
    if (status.failed || found) {
        return status;
    }
    StoreRevision *revisions;
    size_t count;
    status = store_revisions(source->store, arena, source->job, &revisions, &count);
    const char **names = ARENA_ARRAY(arena, const char *, count);
    for (size_t i = 0; i < count; i++) {
        names[i] = revisions[i].name;
    }
    return status.failed ? status
                         : not_there("revision", name->revision, name->shop,
                                     text_nearest(name->revision, names, count));
}

Status source_open(Arena *arena, const SourceName *name, StoreMode mode, Source *source) {
    *source = (Source){0};
    Status status = store_open(name->shop, mode, &source->store);
    const char *nearest = NULL;
    if (!status.failed) {
        status = store_find_job(source->store, arena, name->job, &source->job, &nearest);
    }
    if (!status.failed && source->job == STORE_NO_JOB) {
        status = not_there("job", name->job, name->shop, nearest);
    }
    if (!status.failed && *name->revision != '\0') {
        status = find_revision(arena, name, source);
    }
    if (status.failed) {
        source_close(source);
    }
    return status;
}

void source_close(Source *source) {
    store_close(source->store);
    source->store = NULL;
}

Status source_read(Arena *arena, const Source *source, TableSet *set, Findings *findings) {
    if (source->revision.revision != 0) {
        return store_load_revision(source->store, arena, &source->revision, set, findings);
    }
    Status status = store_load(source->store, arena, source->job, set, findings);
    return status.failed ? status : store_bench_load(source->store, arena, source->job, set);
}

/* --- whole jobs in and out ------------------------------------------------------------------- */

/* Reads a folder, and its library so that references can be looked up. */
static Status read_folder(Arena *arena, const char *folder, const char *library, TableGroup group,
                          TableSet *set, Findings *findings) {
    Status status = status_ok();
    if (group == GROUP_JOB) {
        status = table_read_folder(arena, library, GROUP_LIBRARY, set, findings);
    }
    if (!status.failed) {
        status = table_read_folder(arena, folder, group, set, findings);
    }
    if (!status.failed) {
        table_check(arena, set, findings);
    }
    return status;
}

static Status has_library(Store *store, Arena *arena, bool *has) {
    StoreActInfo *acts;
    size_t count = 0;
    Status status = store_log(store, arena, STORE_LIBRARY, 1, &acts, &count);
    *has = count > 0;
    return status;
}

/* Pictures of the bench as files: photo/HASH.jpeg. */
static Status export_photos(Arena *arena, Store *store, const TableSet *set, const char *folder) {
    Status status = status_ok();
    if (set->bench_photo.count > 0) {
        status = file_make_folder(arena_format(arena, "%s/" PHOTOS, folder));
    }
    for (size_t i = 0; i < set->bench_photo.count && !status.failed; i++) {
        const BenchPhotoRow *row = &set->bench_photo.rows[i];
        Arena scratch = {0};
        const void *bytes = NULL;
        size_t length = 0;
        status = store_photo(store, &scratch, row->hash, &bytes, &length);
        if (!status.failed && bytes != NULL) {
            status = file_write(
                arena_format(&scratch, "%s/" PHOTOS "/%s.%s", folder, row->hash, row->type), bytes,
                length);
        }
        arena_free(&scratch);
    }
    return status;
}

/* And back, those of them that are there. */
static Status import_photos(Arena *arena, Store *store, const TableSet *set, const char *folder) {
    Status status = status_ok();
    for (size_t i = 0; i < set->bench_photo.count && !status.failed; i++) {
        const BenchPhotoRow *row = &set->bench_photo.rows[i];
        const char *path = arena_format(arena, "%s/" PHOTOS "/%s.%s", folder, row->hash, row->type);
        Arena scratch = {0};
        char *bytes = NULL;
        size_t length = 0;
        if (file_is_there(path)) {
            status = file_read(&scratch, path, &bytes, &length);
        }
        if (!status.failed && bytes != NULL) {
            char hash[REVISION_HEX];
            revision_hash_bytes(bytes, length, hash);
            status = strcmp(hash, row->hash) == 0 ? store_photo_keep(store, bytes, length, hash)
                                                  : status_failed("this is another picture than "
                                                                  "bench_photo says:",
                                                                  path, 0);
        }
        arena_free(&scratch);
    }
    return status;
}

Status source_import(Arena *arena, const char *folder, const char *library, const SourceName *name,
                     const StoreBy *by, size_t *changed, Findings *findings) {
    TableSet set = {0};
    bool is_library = strcmp(name->job, LIBRARY) == 0;
    *changed = 0;
    Status status =
        read_folder(arena, folder, library, is_library ? GROUP_LIBRARY : GROUP_JOB, &set, findings);
    if (status.failed || findings_open(findings, SEVERITY_UNREADABLE) > 0) {
        return status;
    }
    Store *store;
    status = store_open(name->shop, STORE_CREATE, &store);
    bool there = true;
    StoreJob job;
    size_t more = 0;
    if (!status.failed && !is_library) {
        status = has_library(store, arena, &there);
    }
    if (!status.failed && !there) {
        status = store_import(store, by, LIBRARY, &set, &job, &more);
    }
    if (!status.failed && !is_library) {
        status = import_photos(arena, store, &set, folder);
    }
    if (!status.failed) {
        status = store_import(store, by, name->job, &set, &job, changed);
    }
    *changed += more;
    store_close(store);
    return status;
}

Status source_export(Arena *arena, const SourceName *name, const char *folder) {
    char **there;
    size_t count = 0;
    if (file_is_there(folder)) {
        Status status = file_list(arena, folder, ".csv", &there, &count);
        if (status.failed) {
            return status;
        }
    }
    if (count > 0) {
        return status_failed("there are tables already in", folder, 0);
    }
    Source source;
    TableSet set = {0};
    Findings findings = {.arena = arena};
    Status status = source_open(arena, name, STORE_READ, &source);
    if (!status.failed) {
        status = source_read(arena, &source, &set, &findings);
        if (!status.failed) {
            status = file_make_folder(folder);
        }
        if (!status.failed) {
            status = export_photos(arena, source.store, &set, folder);
        }
        source_close(&source);
    }
    TableGroup group = strcmp(name->job, LIBRARY) == 0 ? GROUP_LIBRARY : GROUP_JOB;
    for (int i = 0; i < TABLE_COUNT && !status.failed; i++) {
        const TableSchema *schema = table_schema((TableId)i);
        if (schema->group != group || set.any[i].count == 0) {
            continue;
        }
        Buffer text = {.arena = arena};
        table_write_csv(&text, &set, (TableId)i);
        status = file_write(arena_format(arena, "%s/%s.csv", folder, schema->name), text.bytes,
                            text.length);
    }
    return status;
}
