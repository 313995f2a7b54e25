/* From a proof to what sheets are drawn from. */
#ifndef APP_DRAW_H
#define APP_DRAW_H

#include "app/prove.h"
#include "draw/view.h"

/* What the reader asked for, as words; NULL: the usual (A3, mm, the phase of the largest load). */
typedef struct DrawChoice {
    const char *paper;
    const char *units;
    const char *phase;
} DrawChoice;

/* The view of a proof that holds its result tables; runs the bench on a complete one. False after
 * writing in *problem (in the arena) which word was wrong and which are right. */
bool draw_view_build(Arena *arena, Proof *proof, const DrawChoice *choice, DrawView *view,
                     const char **problem);

/* The same without the bench: enough for the kinds of sheets up to SHEET_LAST_LIVE. */
bool draw_view_live(Arena *arena, Proof *proof, const DrawChoice *choice, DrawView *view,
                    const char **problem);

/* Runs the bench, if the proof is complete, and lets the view show it. */
void draw_view_bench(Proof *proof, DrawView *view);

#endif
