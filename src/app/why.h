/* Why: the chain of reasons behind one row. Any key a person can see has an answer: a wire,
 * circuit, box, port, pin, device, bus, phase, segment, shell, situation, option, question, rule,
 * limit. */
#ifndef APP_WHY_H
#define APP_WHY_H

#include "app/prove.h"

/* Writes what is known of `key` and why it is so: governing limit, runner-up, formula with inputs,
 * source, and the findings on it. False when nothing is called that. The proof must be complete and
 * hold its result tables. */
bool why_write(Buffer *out, const Proof *proof, const char *key);

/* The nearest name that has an answer, NULL. */
const char *why_nearest(Arena *arena, const Proof *proof, const char *key);

#endif
