/* A cut file as DXF, release 2000 in ASCII, the oldest form with lightweight polylines: units mm, y
 * up, seen from the front. Closed polylines with bulges, circles as circles, bend lines as lines;
 * no text, no typeface, no block. Source: the published DXF reference for release 2000, from
 * memory; ezdxf reads and audits it in the tests. */
#ifndef OUT_CUT_DXF_H
#define OUT_CUT_DXF_H

#include "base/text.h"
#include "draw/cutfile.h"

/* `notes`: lines for whoever opens the file as text, separated by line breaks. */
void cut_dxf_write(Buffer *out, const CutFile *file, const char *notes);

#endif
