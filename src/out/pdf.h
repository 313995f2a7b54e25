/* A PDF document (ISO 32000-1), page after page: text that can be searched, faces embedded,
 * bookmarks, links between pages. Streams to the file, so that memory does not grow with the pages.
 * The same pages give the same bytes. */
#ifndef OUT_PDF_H
#define OUT_PDF_H

#include "base/arena.h"
#include "base/status.h"
#include "draw/list.h"

typedef struct PdfMeta {
    const char *title;
    const char *subject;
    const char *date; /* year-month-day; else 1970-01-01 stands in the file */
    const char *program;
} PdfMeta;

typedef struct Pdf Pdf;

/* Begins to write beside `path`. Never NULL; what goes wrong is kept until pdf_close. */
Pdf *pdf_open(Arena *arena, const char *path, const PdfMeta *meta);

/* One page of the list's size. `part` is the bookmark above its own ("" for none; a new one only
 * when it differs from the last page's), `title` its own. The first anchor of a name counts. */
void pdf_page(Pdf *pdf, const DrawList *list, const char *part, const char *title);

/* The number that readers show for the next page, where it is not its place in the file: "iv". */
void pdf_number(Pdf *pdf, const char *number);

/* Ends the document and moves it to its place; the first thing that went wrong. *lost, unless
 * NULL: how many names links lead to that no page anchored (they lead to the last page). */
STATUS_USE Status pdf_close(Pdf *pdf, size_t *lost);

#endif
