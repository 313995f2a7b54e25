/* The pages as files inside the program, made by the build from web/. */
#ifndef SERVER_PAGES_H
#define SERVER_PAGES_H

#include <stddef.h>

typedef struct Page {
    const char *path; /* "/app.js" */
    const char *type;
    const unsigned char *bytes;
    size_t length;
    const unsigned char *small; /* the same by gzip */
    size_t small_length;
    const char *tag; /* of its content, for caches */
} Page;

/* NULL when there is none. */
const Page *page_find(const char *path);

#endif
