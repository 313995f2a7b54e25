/* The ink of legends as contours of the panel's geometry, for its checks: what is checked is what
 * is engraved. */
#ifndef DRAW_PANEL_INK_H
#define DRAW_PANEL_INK_H

#include "draw/font.h"
#include "panel/panel.h"

/* Ink by row of `legend`, each about its middle, not turned; outer contours of letters only, their
 * arcs as in the cut file. NULL when the job has no legend. Everything lives in `out`; `fonts`
 * remember words they were asked for, so that asking again copies: a hundred times quicker. */
const PanelInk *panel_ink(Arena *out, DrawFonts *fonts, const Model *model);

#endif
