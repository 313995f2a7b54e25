/* What names a revision: SHA-256 (FIPS 180-4) over the canonical CSV of every table the result
 * rests on: the job's tables, and the library without parts that no unit of the job is. The
 * program's version is told beside it, not hashed. */
#ifndef APP_REVISION_H
#define APP_REVISION_H

#include "table/rows.h"

#define REVISION_HEX 65 /* 64 digits and a zero */

/* The set must be sorted. Result tables are not looked at. */
void revision_hash(const TableSet *set, char hex[REVISION_HEX]);

/* SHA-256 of some bytes: for lists of files. */
void revision_hash_bytes(const void *bytes, size_t length, char hex[REVISION_HEX]);

/* The program's version. */
const char *revision_program(void);

#endif
