/* Fail: what a person wants to try by hand. In: a proved job and the keys of what fails, together:
 * "W0412:open", or "W0412" for each of its modes in turn. Out: phase by phase, in plain words,
 * which devices open and when, what goes dark, which voltages are left, which needs are lost. */
#ifndef APP_FAIL_H
#define APP_FAIL_H

#include "app/prove.h"

/* At most this many things fail at once, and this many combinations of modes are tried. */
enum { FAIL_KEYS_MAX = 8, FAIL_TRIES_MAX = 64 };

/* Writes the answer. `phase` NULL: the phases that failures are tried in, else only that one. False
 * with *problem (in `arena`) when a key or the phase is unknown, with the nearest that is known.
 * The proof must be complete; the numbers of its network are those of another phase afterwards. */
bool fail_write(Buffer *out, Arena *arena, Proof *proof, const char *const *keys, size_t count,
                const char *phase, const char **problem);

#endif
