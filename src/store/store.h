/* The shop file: one SQLite database that holds all jobs of a workshop, its parts library, who
 * changed what and when, and named snapshots that approvals are bound to. The same list of tables
 * as the CSV folders (table/schema.h): every job or library table is a table of the same name and
 * columns, job tables with the number of the job (_job) before them, so that any SQLite program can
 * read it. Every edit is one transaction with person, time and words, on disk before the call
 * returns, and can be undone and redone without limit. docs/decisions/0008-shop-file.md. */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include "base/findings.h"
#include "store/revision.h"
#include "table/write.h"

typedef struct Store Store;

typedef int64_t StoreJob; /* number of a job in this file, from 1 */
typedef int64_t StoreAct; /* number of an act (an edit, an import ...), rising in time */

/* The parts library is edited like a job. */
#define STORE_LIBRARY ((StoreJob)0)
#define STORE_NO_JOB ((StoreJob)-1)

typedef enum StoreMode {
    STORE_READ,  /* must be there; nothing is written */
    STORE_WRITE, /* must be there; tables and columns that this program has more are added */
    STORE_CREATE /* made when it is not there */
} StoreMode;

/* Opens the shop file `path`. A failed status says what is wrong: not there, not a shop file, made
 * by a later program, locked, not writable. *store is NULL then. One Store must not be used by two
 * threads at once; several may be open on one file, in several processes. */
STATUS_USE Status store_open(const char *path, StoreMode mode, Store **store);

/* NULL is allowed. */
void store_close(Store *store);

/* True when the file `path` begins as an SQLite database does. */
bool store_is_shop_file(const char *path);

/* --- who does what --------------------------------------------------------------------------- */

/* Who changes something, when and why. Texts are copied into the file. */
typedef struct StoreBy {
    const char *person;
    const char *at;   /* UTC, "2026-05-11T08:30:00Z" */
    const char *what; /* words for the log: "wing root moved 40 mm outboard" */
} StoreBy;

/* The present time in that form. */
const char *store_now(Arena *arena);

/* --- jobs ------------------------------------------------------------------------------------ */

typedef struct StoreJobInfo {
    StoreJob job;
    const char *name;
    StoreAct last_act; /* 0: none */
    const char *last_person;
    const char *last_at;
} StoreJobInfo;

/* All jobs by name (text_compare_keys). */
STATUS_USE Status store_jobs(Store *store, Arena *arena, StoreJobInfo **jobs, size_t *count);

/* The number of the job of that name; STORE_NO_JOB when there is none, and then *nearest, unless
 * NULL, is the name meant or NULL. */
STATUS_USE Status store_find_job(Store *store, Arena *arena, const char *name, StoreJob *job,
                                 const char **nearest);

/* Makes the job of that name (or takes the one there is; "library": the library) hold exactly the
 * job (or library) tables of `set`, which must be sorted and checked. One act, which can be undone;
 * only rows that differ are touched. *changed: how many. */
STATUS_USE Status store_import(Store *store, const StoreBy *by, const char *name,
                               const TableSet *set, StoreJob *job, size_t *changed);

/* Appends the rows of a job and of the library to `set` (its files[0] must be there or it is added)
 * and sorts it; not what was done at the bench (store/bench.h). A row that lacks a value it must
 * have (a column that came later) is a finding read.missing and is left out. Afterwards
 * table_check(). */
STATUS_USE Status store_load(Store *store, Arena *arena, StoreJob job, TableSet *set,
                             Findings *findings);

/* The rows of one job or library table, each with the act that last touched it (for
 * StoreEdit.seen), by key. `set` begins empty. */
STATUS_USE Status store_read_table(Store *store, Arena *arena, StoreJob job, TableId table,
                                   TableSet *set, StoreAct **acts);

/* --- edits ----------------------------------------------------------------------------------- */

/* One row that changes. */
typedef struct StoreEdit {
    TableId table;
    const void *before; /* row with the key of the row to change or drop; NULL: a new row */
    const void *after;  /* the row as it shall be; NULL: drop it */
    StoreAct seen;      /* act that last touched the row when the person saw it; 0: not asked */
} StoreEdit;

/* Why an edit was not done: somebody was faster, or the row can't be. */
typedef enum StoreRefusal {
    STORE_DONE,
    STORE_CHANGED, /* the row is not as seen: changed since */
    STORE_GONE,    /* there is no such row (any more) */
    STORE_THERE,   /* a row of that key is there already */
    STORE_BLANK    /* a key or needed column is blank */
} StoreRefusal;

typedef struct StoreAnswer {
    StoreRefusal refusal;
    StoreAct act;       /* of the edit when done; else the one that was in the way, 0: none */
    size_t edit;        /* which of the edits was refused */
    const char *column; /* STORE_BLANK */
    const char *person; /* who was in the way, and when; "" */
    const char *at;
} StoreAnswer;

/* All of the edits or, when one is refused, none. A failed status: the file could not be written,
 * and nothing was. Texts of the answer live in `arena`. */
STATUS_USE Status store_edit(Store *store, Arena *arena, StoreJob job, const StoreBy *by,
                             const StoreEdit *edits, size_t count, StoreAnswer *answer);

/* Makes some tables of a job hold what `set` (sorted, checked) holds: one edit. */
STATUS_USE Status store_replace(Store *store, StoreJob job, const StoreBy *by,
                                const TableId *tables, size_t count, const TableSet *set,
                                size_t *changed);

/* The act that last touched a row (its key is read); 0 when there is no such row. */
STATUS_USE Status store_row_act(Store *store, StoreJob job, TableId table, const void *row,
                                StoreAct *act);

/* The last act of a job and of the library: what is derived from both is as new as these. */
STATUS_USE Status store_last_acts(Store *store, StoreJob job, StoreAct *of_job,
                                  StoreAct *of_library);

/* Undoes the last edit of the job that is in effect; redoes the last one undone, unless something
 * else has been edited since. *act is the act it was about, 0 when there is none. */
STATUS_USE Status store_undo(Store *store, StoreJob job, const StoreBy *by, StoreAct *act);
STATUS_USE Status store_redo(Store *store, StoreJob job, const StoreBy *by, StoreAct *act);

typedef struct StoreActInfo {
    StoreAct act;
    const char *kind;  /* edit, import, restore, undo, redo */
    const char *state; /* done, undone, gone (undone, and something else was edited since); of an
                          undo or redo: "" */
    StoreAct about;    /* undo, redo: the act; else 0 */
    const char *person;
    const char *at;
    const char *what;
    int64_t rows;
} StoreActInfo;

/* The last `most` acts of a job, the latest first. */
STATUS_USE Status store_log(Store *store, Arena *arena, StoreJob job, size_t most,
                            StoreActInfo **acts, size_t *count);

/* --- revisions ------------------------------------------------------------------------------- */

typedef struct StoreRevision {
    int64_t revision;
    const char *name;
    char hash[REVISION_HEX]; /* revision_hash() of what it holds */
    StoreAct act;            /* the last one of the job when it was kept */
    const char *person;
    const char *at;
    const char *what;
    const char *program; /* version that kept it */
} StoreRevision;

/* Keeps the job as it is, with every library row it reaches, under a name that the job has not
 * used. Contents are kept once however many revisions hold them. */
STATUS_USE Status store_keep(Store *store, Arena *arena, StoreJob job, const StoreBy *by,
                             const char *name, StoreRevision *revision);

/* Revisions of a job, the latest first. */
STATUS_USE Status store_revisions(Store *store, Arena *arena, StoreJob job,
                                  StoreRevision **revisions, size_t *count);

/* The revision of that name; *found false when there is none. */
STATUS_USE Status store_find_revision(Store *store, Arena *arena, StoreJob job, const char *name,
                                      StoreRevision *revision, bool *found);

/* Appends its rows to `set`, as store_load does. Its hash is checked. */
STATUS_USE Status store_load_revision(Store *store, Arena *arena, const StoreRevision *revision,
                                      TableSet *set, Findings *findings);

/* Puts the job's own tables back as they were in the revision: one act. The library stays, and so
 * does what a revision does not hold (revision_holds). */
STATUS_USE Status store_restore(Store *store, Arena *arena, StoreJob job, const StoreBy *by,
                                const StoreRevision *revision, size_t *changed);

/* --- approvals ------------------------------------------------------------------------------- */

typedef struct StoreApproval {
    const char *subject; /* what is approved: "panel" */
    const char *hash;    /* of everything visible in it */
    const char *person;  /* the name typed by who approves */
    const char *at;
    const char *what;
} StoreApproval;

/* An approval is bound to a hash and never changed; it counts for what has that hash. */
STATUS_USE Status store_approve(Store *store, StoreJob job, const StoreBy *by, const char *subject,
                                const char *hash);
STATUS_USE Status store_approvals(Store *store, Arena *arena, StoreJob job,
                                  StoreApproval **approvals, size_t *count);

/* --- care ------------------------------------------------------------------------------------ */

/* Copies the file as it is now to `path`, also while others write to it: beside it first, then
 * renamed. */
STATUS_USE Status store_backup(Store *store, const char *path);

/* Everything that is not as it should be, in words: the database's own structure, references,
 * contents whose hash is wrong, revisions whose hash is wrong, rows that are not as the log left
 * them, columns that this program does not know. */
STATUS_USE Status store_check(Store *store, Arena *arena, const char ***problems, size_t *count);

#endif
