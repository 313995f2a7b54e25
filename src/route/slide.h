/* What is slid on a wire before its contact. Inside the route layer. */
#ifndef ROUTE_SLIDE_H
#define ROUTE_SLIDE_H

#include "route/ends.h"

/* Kind of shell at an end; ID_NONE where there is none. */
ShellId ends_shell_kind(const Ends *ends, const PieceEnd *end);

/* What core `core` (from 0) of a class carries; "" when the library does not say. */
const char *ends_core_name(const Ends *ends, ClassId class_id, uint32_t core);

/* True when a line of the small letters fits on that tube, flat. */
bool slide_printable(const Model *model, uint32_t sleeve);

/* True when a jacket is cut at this end: a library cable of several cores, or shielded. */
bool slide_jacketed(const Ends *ends, const Cable *cable);

/* Fills facts->slides from what is already known in *facts. */
void slide_list(const Ends *ends, EndId end, EndFacts *facts);

#endif
