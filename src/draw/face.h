/* Connector sheets: for each half of each disconnect shell and for each connector of a box that has
 * wires, what its wire side and its mating face look like and a table of all that goes into it;
 * then the terminals of everything that has studs, tabs or lugs instead of a connector. */
#ifndef DRAW_FACE_H
#define DRAW_FACE_H

#include "draw/sheets.h"
#include "route/ends.h"

/* Where the first half of a disconnect shell (row of `disconnect_shell`) stands. */
SheetPlace face_shell_place(const SheetPlan *plan, uint32_t shell);

/* Where one half of it stands. */
SheetPlace face_half_place(const SheetPlan *plan, uint32_t shell, ShellSide side);

/* Where a connector of a box stands, or the first terminal of whatever has none (connector ""; also
 * for connectors without a face of their own, a stud say). ID_NONE when it has no wires. */
SheetPlace face_owner_place(const SheetPlan *plan, OwnerId owner, const char *connector);

#endif
