/* Suggested layouts of the panel, when asked for: a search beside the live chain, on a finished
 * proof. Its rows go into the tables suggestion and suggestion_wish, _legend, _layout, _bar. */
#ifndef APP_SUGGEST_H
#define APP_SUGGEST_H

#include "app/prove.h"
#include "base/text.h"

/* Fills these tables when `table` is one of them; false when it is not. Runs the search once.
 */
bool suggest_table(Proof *proof, TableId table);

/* The layouts for people: what each makes of the wishes, and what would move where. */
void suggest_write(Buffer *out, Proof *proof);

#endif
