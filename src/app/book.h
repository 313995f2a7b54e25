/* The book: what is handed over with the aircraft, as one folder that needs no software of ours to
 * be read in ten years: book.pdf (every sheet), tables/ (every table as CSV), job.xlsx (a sheet for
 * every table that has rows), labels.pdf, README.txt, and MANIFEST, which `sha256sum -c` accepts.
 * The same job gives the same bytes. */
#ifndef APP_BOOK_H
#define APP_BOOK_H

#include "app/draw.h"

/* Called before each page and file. `done` of `of`; of 0: not counted. */
typedef void (*BookProgress)(void *context, const char *what, size_t done, size_t of);

typedef struct BookOptions {
    BookProgress progress; /* NULL: silent */
    bool (*stopped)(
        void *context); /* asked before each page; true: nothing is written. NULL: never */
    void *context;
} BookOptions;

typedef struct BookReport {
    size_t pages;
    double draw_s; /* wall time of planning and drawing pages */
    size_t pdf_bytes;
    size_t lost_links;      /* names that links lead to and no page has: our own mistake */
    size_t peak_list_bytes; /* largest display list with its texts */
    Findings findings;      /* rules draw.*; in the arena given */
} BookReport;

/* Writes the folder, by way of a folder beside it: either all of it is there afterwards, or
 * whatever was there before. A folder that is there already is replaced only when it is empty or
 * holds an earlier book and nothing beside it; anything else is refused. */
STATUS_USE Status book_write(Arena *arena, const DrawView *view, const char *folder,
                             const BookOptions *options, BookReport *report);

/* One sheet as a file of its own; the format is that of the ending: svg, pdf, png, dxf. The bench
 * is run only for a sheet that shows it. false after writing in *problem (in the arena) what is
 * wrong with the name of the sheet. */
bool book_draw_sheet(Arena *arena, Proof *proof, DrawView *view, const char *sheet,
                     const char *path, Findings *findings, Status *status, const char **problem);

/* Labels laid out for a stock of the library (NULL: the first sheet there) as a PDF of their own.
 * false after writing in *problem (in the arena) what is wrong with the stock. */
bool book_write_labels(Arena *arena, const DrawView *view, const char *stock, const char *path,
                       Findings *findings, size_t *pages, Status *status, const char **problem);

/* All sheets, one a line: name, title. The view must show the bench. */
void book_list_sheets(Buffer *out, const DrawView *view);

#endif
