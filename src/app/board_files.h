/* Files of the boards that are no sheets of the book: the full-scale drawing of a harness, and the
 * same cut into pages. Written on request. */
#ifndef APP_BOARD_FILES_H
#define APP_BOARD_FILES_H

#include "base/text.h"
#include "draw/view.h"

/* F(ending of the name behind "board-MODULE", endings of the file, what it is) */
#define BOARD_FILES(F)                                                                             \
    F("-plot", ".pdf .svg .dxf", "full-scale drawing of the board; as PDF a page for each board")  \
    F("-tiles", ".pdf", "the same on any paper (--paper A4, A3, Letter): map, then pages to join")

/* True when the name is one of a board's file. */
bool board_file_is(const char *name);

/* Writes it. False after writing in *problem (in the arena) what is wrong with the name, the ending
 * or the job. */
bool board_file_write(Arena *arena, const DrawView *view, const char *name, const char *path,
                      Status *status, const char **problem);

/* One a line: name, what it is. */
void board_file_list(Buffer *out, const DrawView *view);

#endif
