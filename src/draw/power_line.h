/* The power diagram: sources, buses and every load with the devices between them, as one line for
 * each branch, with what one phase of flight makes of it. Drawings of buses come first; buses whose
 * loads find no room there follow with their loads in columns. */
#ifndef DRAW_POWER_LINE_H
#define DRAW_POWER_LINE_H

#include "draw/sheets.h"

/* Where a bus stands: its loads when they have a place of their own, else its bar. */
SheetPlace power_bus_place(const SheetPlan *plan, BusId bus);

#endif
