/* Layouts of wiring diagrams that were found before. Goes in: a layout problem. Comes out: what
 * wiring_layout() makes of it, from memory when every input is the same to the last bit, else laid
 * out and remembered. Inputs are compared whole, not by their hash; a layout rests on nothing but
 * its problem, so a sheet is the same whatever was drawn before it. After an edit most problems are
 * those of the last time. One thread uses a memory at a time. */
#ifndef DRAW_WIRING_MEMORY_H
#define DRAW_WIRING_MEMORY_H

#include "draw/wiring_layout.h"

typedef struct WiringMemory WiringMemory;

WiringMemory *wiring_memory_open(void);
void wiring_memory_close(WiringMemory *memory);

/* A book is planned from here on; what none of the last few books needed is forgotten. */
void wiring_memory_turn(WiringMemory *memory);

/* wiring_layout(), with what is in `memory`; NULL: none. The geometry is in `arena` either way. */
bool wiring_memory_layout(WiringMemory *memory, Arena *arena, LayoutProblem *problem);

/* How often a layout was there, and how often not. */
void wiring_memory_count(const WiringMemory *memory, size_t *found, size_t *made);

#endif
