/* What all verbs share. */
#ifndef CLI_COMMON_H
#define CLI_COMMON_H

#include "app/prove.h"
#include "app/source.h"
#include "cli/options.h"

/* Wall time, for progress. */
double common_now_s(void);

/* Runs the chain on `job`; passes are told on standard error once a second has gone by. False after
 * saying that there is no library. */
bool common_prove(const Options *options, const char *job, bool results, Proof *proof);

/* The same without trying failures, for what does not show them. */
bool common_prove_whole(const Options *options, const char *job, bool results, Proof *proof);

/* The same with failures tried however large the job is. */
bool common_prove_all(const Options *options, const char *job, bool results, Proof *proof);

/* Without failures, with shorts tried however large the job is. */
bool common_prove_shorts(const Options *options, const char *job, bool results, Proof *proof);

/* Findings that stop the work, on standard error, for verbs that print something else. */
void common_tell_unreadable(const Proof *proof);

/* The same for findings of a reading alone. */
void common_tell_findings(const Findings *findings);

/* Who (--by, else the name of the account) changes something now, and why (--note, else `what`). */
StoreBy common_by(Arena *arena, const Options *options, const char *what);

/* Prints a failure; the exit code. */
int common_tell_status(Status status);

/* Writes the text to the file asked for or to standard output; the exit code. */
int common_put(const Options *options, const Buffer *text);

#endif
