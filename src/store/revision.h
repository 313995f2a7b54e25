/* What names a revision: SHA-256 (FIPS 180-4) over the canonical CSV of every table the result
 * rests on: the job's tables, and the library without parts that no unit of the job is. The
 * program's version is told beside it, not hashed. */
#ifndef STORE_REVISION_H
#define STORE_REVISION_H

#include "table/rows.h"

#define REVISION_HEX 65 /* 64 digits and a zero */

/* The set must be sorted. Result tables are not looked at. */
void revision_hash(const TableSet *set, char hex[REVISION_HEX]);

/* True for tables that are part of what a revision names. */
bool revision_holds(TableId table);

/* True for tables of what was done at the bench: rows are added and never changed or dropped, by
 * no edit, undo, import or restore. */
bool revision_grows(TableId table);

/* What of `set` is hashed, as a set of its own: texts and rows are shared, nothing is copied twice.
 */
void revision_reach(Arena *arena, const TableSet *set, TableSet *reached);

/* SHA-256 of some bytes: for lists of files. */
void revision_hash_bytes(const void *bytes, size_t length, char hex[REVISION_HEX]);

/* The program's version. */
const char *revision_program(void);

#endif
