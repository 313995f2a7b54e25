/* Wiring diagrams: one set of sheets for each system (library table `system`). Every conductor is
 * drawn once, whole, on one sheet; a box stands, with the pins that matter there, on every sheet
 * that has a wire to it. Where a wire goes on elsewhere the pin says which wire, page and zone. */
#ifndef DRAW_WIRING_H
#define DRAW_WIRING_H

#include "draw/sheets.h"

/* Where a conductor is drawn. Anchor: "wire-W0412". */
SheetPlace wiring_place(const SheetPlan *plan, ConductorId conductor);

/* The n-th place of a box, device, bar, ground point or antenna, in the order of the book;
 * sheet ID_NONE behind the last. */
SheetPlace wiring_owner_place(const SheetPlan *plan, OwnerId owner, uint32_t nth);

/* Name of the anchor at a conductor. */
const char *wiring_anchor(Arena *arena, const SheetPlan *plan, ConductorId conductor);

/* The same sheet laid out by plain barycentre and left-edge tracks, for comparison: as the draw
 * function of the kind, without the frame. */
void wiring_draw_plain(const SheetPlan *plan, const Sheet *sheet, DrawBox field, DrawList *list);

#endif
