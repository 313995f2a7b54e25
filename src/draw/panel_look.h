/* What is seen of a panel: its finishes and colours, which items are there (options in or out),
 * what is written on it; and the list of all of it, whose hash a customer signs. Anything that
 * changes what is seen changes the list; anything that doesn't, doesn't. */
#ifndef DRAW_PANEL_LOOK_H
#define DRAW_PANEL_LOOK_H

#include "base/text.h"
#include "panel/panel.h"

/* What a face looks like. */
typedef struct PanelLook {
    const FinishRow *finish; /* of the surface; NULL: bare sheet */
    uint32_t rgb;            /* of the surface */
    uint32_t mark_rgb;       /* of letters */
    double gloss_pct;
    const char *left_out; /* option whose items are not shown; "" */
    const char *shown;    /* option whose items are shown whatever the customer said; "" */
} PanelLook;

/* As the job says. */
PanelLook panel_look(const Panel *panel, uint32_t face);

/* With another finish of the library on its surface. */
PanelLook panel_look_with(const Panel *panel, uint32_t face, const FinishRow *finish);

/* True when the item is shown: not of the option left out, nor of one the customer declined. */
bool panel_look_shows(const Panel *panel, const PanelLook *look, uint32_t item);

/* What stands on the button of the item: the rated current of its breaker ("7.5"), "". */
const char *panel_item_rating(const Panel *panel, Arena *arena, uint32_t item);

/* Everything that is seen, a line a thing: kind, name, then what is seen of it, tabs between;
 * sorted by kind and name. Lengths in hundredths of a mm. */
void panel_seen_write(Buffer *out, const Panel *panel);

/* What is cut: a line for every item's holes, every free opening and every edge, as in the cut
 * file; the same form. */
void panel_cut_list(Buffer *out, const Panel *panel);

/* A line of one list against the other. */
typedef struct SeenChange {
    const char *kind; /* "item", "legend", "face" ... */
    const char *key;
    const char *what; /* moved, added, removed, changed, cut again */
    const char *before;
    const char *after;
} SeenChange;

/* What differs between two lists: rows by kind and name. */
SeenChange *panel_seen_compare(Arena *arena, const char *before, const char *after, size_t *count);

#endif
