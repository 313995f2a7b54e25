/* Judgement: what a person decided over the tool. Overrides replace derived values, acceptances
 * close findings; both carry a reason and a name, both are reported when they no longer fit. */
#ifndef APP_JUDGE_H
#define APP_JUDGE_H

#include "route/route.h"

/* Applies `override` rows that set the length of a laid piece (table cable_run, column length_mm;
 * row: cable key or, when the circuit has one piece, the circuit). Gauge overrides belong to size.
 * Rows that name an unknown table, column or row are findings. */
void judge_lengths(const Model *model, const Wiring *wiring, Routing *routing, Findings *findings);

/* Marks findings that an `accept` row covers: same rule, same row key (`*`: any row) and, when the
 * acceptance carries a value, not worse than that. Acceptances that are void or cover nothing are
 * findings themselves. */
void judge_accept(const Model *model, Findings *findings);

/* The same for rules of the passes beside the live chain: judge_accept passes over rows that name
 * one, for their findings are not there when it runs. */
void judge_accept_bench(const Model *model, Findings *findings);

#endif
