/* One display list as a file; what kind of file is said by the ending of its name. */
#ifndef OUT_WRITE_H
#define OUT_WRITE_H

#include "base/status.h"
#include "draw/list.h"

/* Writes beside and renames: either the whole file is there or what was there before. An unknown
 * ending is a failed status that lists the known ones. */
STATUS_USE Status out_write(const DrawList *list, const char *title, const char *path);

#endif
