/* Compare: what differs between two jobs, table by table, row by row; then what that does to the
 * wires and the findings. */
#ifndef APP_COMPARE_H
#define APP_COMPARE_H

#include "app/prove.h"

/* Writes the differences of the job's tables, the library rows both reach, the conductors that are
 * new, gone or changed, what is seen of
 * the panel and cut otherwise (table `panel`, of what is seen with both hashes), and the findings
 * that came or went. format: "text" or "csv" (one line a change: table,row,column,before,after).
 * False for another format. Numbers of findings are left out of the comparison: they only count. */
bool compare_write(Buffer *out, const Proof *before, const Proof *after, const char *format);

/* The panel of the second job as it will look, with what differs from the first drawn over it, as
 * .svg, .png or .pdf. False after writing in *problem (in the arena) why not. */
bool compare_picture(Arena *arena, const Proof *before, const Proof *after, const char *path,
                     Status *status, const char **problem);

#endif
