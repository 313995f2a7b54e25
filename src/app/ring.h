/* Readings in, causes out: `marling diagnose`. The readings are a table of their own (`reading`),
 * measured on one module or more or on all mated; each is diagnosed by itself. */
#ifndef APP_RING_H
#define APP_RING_H

#include "app/bench.h"
#include "shop/rig.h"

/* Pieces of a complete proof with module and length, as rigs are built from. In `arena`. */
RigInput ring_input(Arena *arena, Proof *proof);

/* Diagnoses the readings in the file `path`. The answer goes to `out` in words and into the table
 * `cause` of proof->set. False when a reading can't be taken: `findings` then says which and why,
 * with the nearest name that is there; or when the file can't be read: `status`. */
bool ring_diagnose(Buffer *out, Arena *arena, Proof *proof, const char *path, Findings *findings,
                   Status *status);

/* The same of rows of `reading` in a set; `path`: what findings name as their place. The table
 * `cause` goes to `causes`, in `causes_arena`. */
bool ring_diagnose_rows(Buffer *out, Arena *arena, Proof *proof, const TableSet *readings,
                        const char *path, TableSet *causes, Arena *causes_arena,
                        Findings *findings);

#endif
