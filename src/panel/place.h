/* Where items stand: what their `mount` rows say, then what `align` rows make of it (rows, columns,
 * equal pitches, equal gaps), never moving what a person pinned. */
#ifndef PANEL_PLACE_H
#define PANEL_PLACE_H

#include "panel/panel.h"

/* By row of `mount`: the middle after all align rows; NAN where nothing says it. `half` holds half
 * the width and height of each item's bezel, for gaps. Findings: panel.align. */
void panel_place(Arena *out, const Model *model, const PanelPoint *half, PanelPoint *at,
                 Findings *findings);

#endif
