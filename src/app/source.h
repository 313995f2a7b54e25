/* Where a job is: a folder of CSV tables, or a job in a shop file ("shop.db:osier"), or one of its
 * revisions ("shop.db:osier@B"). Whole jobs between the two. */
#ifndef APP_SOURCE_H
#define APP_SOURCE_H

#include "store/store.h"

/* The words of "shop.db:osier@B". */
typedef struct SourceName {
    const char *shop;
    const char *job;      /* "library" for the library */
    const char *revision; /* "" for the job as it is */
} SourceName;

/* True when `text` is a shop file with a job behind a colon; the parts are in the arena. A folder
 * of that name comes first. */
bool source_parse(Arena *arena, const char *text, SourceName *name);

/* A job of an open shop file. */
typedef struct Source {
    Store *store;
    StoreJob job;
    StoreRevision revision; /* when one was asked for */
} Source;

/* Opens; a failed status also says when there is no such job or revision, with the nearest name. */
STATUS_USE Status source_open(Arena *arena, const SourceName *name, StoreMode mode, Source *source);
void source_close(Source *source);

/* Appends what a chain reads (job and library) to `set`, and of a job that is no revision what was
 * done at the bench. */
STATUS_USE Status source_read(Arena *arena, const Source *source, TableSet *set,
                              Findings *findings);

/* Reads the folder `folder` (of the library when name->job is "library") and puts it into the shop
 * file, which is made when it is not there; *changed rows came, went or changed. Anything in the
 * folder that can't be read is told in `findings`, and nothing is put. A library goes in with a
 * job when the file has none yet: that of the folder `library`. */
STATUS_USE Status source_import(Arena *arena, const char *folder, const char *library,
                                const SourceName *name, const StoreBy *by, size_t *changed,
                                Findings *findings);

/* Writes every table that has rows as canonical CSV into `folder`, which is made; one that holds
 * tables already is refused. Photos go into photo/HASH.TYPE; an import takes those that are there.
 */
STATUS_USE Status source_export(Arena *arena, const SourceName *name, const char *folder);

#endif
