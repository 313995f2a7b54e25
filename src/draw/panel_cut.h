/* From the panel's geometry to what is cut: every face as a cut file of its own, several of them
 * laid out on stock sheets, and the words that say how to read it. docs/theory/panel_output.md. */
#ifndef DRAW_PANEL_CUT_H
#define DRAW_PANEL_CUT_H

#include "draw/cutfile.h"
#include "panel/nest.h"
#include "panel/panel.h"

/* A contour of the panel as a cutter takes it; arcs of more than half a circle become two. */
Contour cut_contour(Arena *arena, const PanelContour *contour);

/* What is etched on the rear and names the file: "osier-MAIN-1a2b3c4d". */
const char *cut_part_number(Arena *arena, const Panel *panel, uint32_t face, const char *hash);

/* One face: openings before coating as the face's owners of kerf and coating ask, countersinks,
 * masks, marks, bends, edge. Sorted. `with_notes`: the proof square and statements beside it.
 * *left_out counts openings that are smaller than what they must shrink by (0). */
void cut_face(CutFile *file, DrawFonts *fonts, const Panel *panel, uint32_t face, const char *hash,
              bool with_notes, size_t *left_out);

/* All faces cut from one stock sheet (row of `sheet`), nested, with their sheets' edges; a proof
 * square and statements below. The plan tells sheets and the least possible. */
void cut_nested(CutFile *file, DrawFonts *fonts, const Panel *panel, uint32_t sheet,
                const char *hash, NestPlan *plan);

/* How the file is to be read, a sentence a line: units, view, material, layers, who allows for kerf
 * and coating. */
const char *cut_notes(Arena *arena, const Panel *panel, uint32_t face, const char *hash);

/* The text of a legend in lines; their number. A stroke begins a new line. */
size_t cut_legend_lines(Arena *arena, const char *text, const char ***lines);

/* Contours of a legend, words or symbol, where it stands. */
void cut_legend(Arena *arena, DrawFonts *fonts, const Panel *panel, const PanelText *text,
                ContourList *out);

#endif
