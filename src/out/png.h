/* A display list as PNG (ISO/IEC 15948), white ground. */
#ifndef OUT_PNG_H
#define OUT_PNG_H

#include "base/status.h"
#include "draw/list.h"

/* 200 dots per inch: 2.5 mm capitals are 20 pixels high. */
#define PNG_PIXELS_PER_MM (200.0 / 25.4)

/* Written beside and renamed, as file_write does. */
STATUS_USE Status png_write(const DrawList *list, const char *path, double pixels_per_mm);

#endif
