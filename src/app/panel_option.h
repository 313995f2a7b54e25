/* The panel with an option in or out, whatever the customer said so far, and what that costs. */
#ifndef APP_PANEL_OPTION_H
#define APP_PANEL_OPTION_H

#include "panel/panel.h"

/* Row of `option`; ID_NONE. */
uint32_t panel_option_find(const Model *model, const char *option);

/* Reads the panel as it is with that row of `option` taken or not. Ink goes along from `from`.
 * False when there is no face. */
bool panel_with_option(Arena *out, const Panel *from, uint32_t option, bool taken, Panel *panel);

/* "2 boxes: 2.40 kg, 1.2 A steady; ...": mass and usual current of the option's boxes. */
const char *panel_option_cost(Arena *out, const Model *model, const char *option);

#endif
