/* Lists for people, drawn together from what the passes know: equipment, devices, sources. */
#ifndef APP_LISTS_H
#define APP_LISTS_H

#include "app/prove.h"

/* Appends rows of equipment, device_list and source_used; device_current must be there. */
void lists_rows(const Proof *proof, Arena *arena, TableSet *out);

#endif
