/* A job folder to start from, and the kept allotments of a job. */
#ifndef APP_START_H
#define APP_START_H

#include "app/prove.h"
#include "app/source.h"
#include "base/status.h"

/* Makes the folder `job` with every table a job can have: head lines, and the few rows without
 * which nothing can be proved (the job itself, one zone, module and node). Refuses a folder that
 * holds tables already. */
STATUS_USE Status start_new(const char *job);

/* Writes the tables allot and allot_cavity of a job (a folder or SHOP.db:JOB, there as one edit):
 * every wire key and disconnect cavity of the proof, and the rows of before whose wires are gone,
 * as retired. */
STATUS_USE Status start_allot(const char *job, const StoreBy *by, const Proof *proof);

#endif
