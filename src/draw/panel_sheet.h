/* The page a customer signs, but for its pictures: what is on the panel, which options are taken,
 * which gates are passed, the coat, and the hash of everything that is seen. */
#ifndef DRAW_PANEL_SHEET_H
#define DRAW_PANEL_SHEET_H

#include "draw/panel_look.h"
#include "draw/view.h"

typedef struct PanelSheet {
    DrawBox front; /* room for the pictures */
    DrawBox rear;
    bool has_rear; /* small papers have no room for it */
} PanelSheet;

/* Starts and fills the list for the paper of the view; tells where the pictures go. */
void panel_sheet_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                      uint32_t face, const char *seen_hash, DrawList *list, PanelSheet *sheet);

/* The drilling template of a face at 1:1 on a page of its own size: contours, middles, a mark for
 * every hole that the table beside it explains, a proof square, a ruler. */
void panel_drill_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                      uint32_t face, DrawList *list);

#endif
