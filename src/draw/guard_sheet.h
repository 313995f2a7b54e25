/* Time–current plots that are not in the book: of one wire, circuit or device. Those of the book
 * are the kind GUARD of draw/sheets.h. In: what guard found (power/guard.h). Out: a sheet more in
 * the plan. docs/theory/guard.md says what is plotted. */
#ifndef DRAW_GUARD_SHEET_H
#define DRAW_GUARD_SHEET_H

#include "draw/sheets.h"

/* "protection-KEY", where KEY is a wire, a circuit or a device: adds the plot of it (of the wire
 * with least to spare among those it stands for) after the last sheet of a whole plan and returns
 * its index. ID_NONE: the name is not of that form, or no device protects what it names. */
uint32_t guard_sheet_ask(SheetPlan *plan, const char *name);

#endif
