/* Files of the instrument panel that are no sheets of the book: cut files, drilling templates, the
 * pictures and the page a customer approves. Written on request. */
#ifndef APP_PANEL_FILES_H
#define APP_PANEL_FILES_H

#include "draw/view.h"
#include "panel/panel.h"

/* F(name, endings, what it is): a face may follow ("panel-cut-MAIN"); without one it is the first.
 * panel-option wants an option, panel-nest takes a stock sheet. */
#define PANEL_FILES(F)                                                                             \
    F("panel-cut", ".dxf", "what is cut, countersunk, masked, marked and bent")                    \
    F("panel-nest", ".dxf", "all faces of one stock sheet, laid out on it")                        \
    F("panel-drill", ".pdf .svg .png .dxf", "drilling template at 1:1 with a proof square")        \
    F("panel-tiles", ".pdf", "the same over several pages of the paper asked for, at 1:1")         \
    F("panel-front", ".svg .png .pdf", "as the pilot will see it")                                 \
    F("panel-rear", ".svg .png .pdf", "bodies, connectors and wires behind it")                    \
    F("panel-side", ".svg .png .pdf", "sections from the left, with what stands behind")           \
    F("panel-finish", ".svg .png .pdf", "the same panel in other coats, one above the other")      \
    F("panel-option", ".svg .png .pdf", "without and with an option: mass and amps")               \
    F("panel-approval", ".pdf .png .svg", "what the customer signs; as .pdf with panel-behind")    \
    F("panel-behind", ".pdf .png .svg", "what lies behind: rear, sections, depth of each thing")

/* True when the name is that of such a file or begins with one and a hyphen. */
bool panel_file_is(const char *name);

/* Writes it. False after writing in *problem (in the arena) what is wrong with the name, the ending
 * or the job. */
bool panel_file_write(Arena *arena, const DrawView *view, const char *name, const char *path,
                      Status *status, const char **problem);

/* One a line: name, what it is. Nothing for a job without a panel. */
void panel_file_list(Buffer *out, const DrawView *view);

/* SHA-256 of everything that is seen of the panel, in hex. `text` (may be NULL) gets the list. */
void panel_seen_hash(Arena *arena, const Panel *panel, char hex[65], const char **text);

#endif
