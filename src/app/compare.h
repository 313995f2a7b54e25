/* Compare: what differs between two jobs, table by table, row by row; then what that does to the
 * wires and the findings. */
#ifndef APP_COMPARE_H
#define APP_COMPARE_H

#include "app/prove.h"

/* Writes the differences of the job's tables, the library rows both reach, the conductors that are
 * new, gone or changed, and the findings that came or went. format: "text" or "csv" (one line a
 * change: table,row,column,before,after). False for another format. Numbers of findings are left
 * out of the comparison: they only count. */
bool compare_write(Buffer *out, const Proof *before, const Proof *after, const char *format);

#endif
