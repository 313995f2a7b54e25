/* A display list as DXF, release 12 in ASCII: the oldest form that every cutter and drafting
 * program reads. Units mm, y up, one DXF layer for each draw layer. Texts are fitted between the
 * ends of their measured baseline, so that they are as wide as on paper whatever face the reader
 * has. Fills are solids. Source: the published DXF reference for release 12, from memory. */
#ifndef OUT_DXF_H
#define OUT_DXF_H

#include "base/text.h"
#include "draw/list.h"

void dxf_write(Buffer *out, const DrawList *list);

#endif
