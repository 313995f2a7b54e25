/* Wishes of a layout: rows of `wish` and those that follow from rules. Inside the search for
 * layouts; others use panel/suggest.h. */
#ifndef PANEL_WISHES_H
#define PANEL_WISHES_H

#include "panel/suggest.h"

/* Weight of the wishes that follow from rules. */
#define SUGGEST_RULE_WEIGHT 20.0

/* Fills the wishes of `suggest`, whose panel is read. */
void panel_wishes_read(Arena *out, Suggest *suggest);

/* What a wish lacks with the items at these places that are there (NULL: all), in mm. */
double panel_wish_lacks(const Panel *panel, const SuggestWish *wish, const PanelPoint *at,
                        const bool *there);

/* Items of the panel that a list names, in the panel's order; `items` has room for all. */
uint32_t panel_items_listed(const Panel *panel, const char *list, uint32_t *items);

/* u straight before the eye of the face's seat; 0 without one. */
double panel_eye_u_mm(const Panel *panel, uint32_t face);

#endif
