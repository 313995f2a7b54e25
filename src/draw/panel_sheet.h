/* The page a customer signs, but for its pictures: what is on the panel, which options are taken,
 * which gates are passed, the coat, and the hash of everything that is seen; and the page of what
 * lies behind, which goes with it. */
#ifndef DRAW_PANEL_SHEET_H
#define DRAW_PANEL_SHEET_H

#include "draw/panel_look.h"
#include "draw/view.h"

typedef struct PanelSheet {
    DrawBox front; /* room for the pictures */
    DrawBox rear;
    bool has_rear; /* small papers have no room for it */
} PanelSheet;

/* Starts and fills the list for the paper of the view; tells where the pictures go. `number`: "1"
 * when the page of what lies behind follows, "" when it stands alone. */
void panel_sheet_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                      uint32_t face, const char *seen_hash, const char *number, DrawList *list,
                      PanelSheet *sheet);

enum { PANEL_BEHIND_SECTIONS = 3 };

typedef struct PanelBehindSheet {
    DrawBox rear; /* room for the pictures */
    DrawBox sections[PANEL_BEHIND_SECTIONS];
} PanelBehindSheet;

/* The page that goes with it: what lies behind the face, for the customer to see before signing.
 * Rear, sections with a caption each ("" for none), and how deep everything is, what is free there.
 * `number`: "2", or "" when it stands alone. */
void panel_behind_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                       uint32_t face, const char *seen_hash, const char *number,
                       const char *const captions[PANEL_BEHIND_SECTIONS], DrawList *list,
                       PanelBehindSheet *sheet);

/* The drilling template of a face at 1:1 on a page of its own size: contours, middles, a mark for
 * every hole that the table beside it explains, a proof square, a ruler. */
void panel_drill_draw(Arena *arena, DrawFonts *fonts, const DrawView *view, const Panel *panel,
                      uint32_t face, DrawList *list);

#endif
