/* What a checker with a pencil would mark on a sheet: text on text, a line through text, symbols
 * that touch or have a wire through them, anything outside the frame; and what he would count:
 * crossings and bends of conductors. Works on the display list alone. */
#ifndef DRAW_MEASURE_H
#define DRAW_MEASURE_H

#include "draw/list.h"

typedef enum MeasureFault {
    MEASURE_TEXT_ON_TEXT,
    MEASURE_LINE_ON_TEXT,
    MEASURE_SYMBOL_TOUCHED, /* by a symbol of another row, or crossed by a wire */
    MEASURE_OUTSIDE, /* of `field`; items of layer frame may lie outside it, but not off the paper
                      */
    MEASURE_FAULT_COUNT
} MeasureFault;

typedef struct MeasureMark {
    MeasureFault fault;
    uint32_t item;  /* into DrawList.items */
    uint32_t other; /* the second item; ID_NONE for MEASURE_OUTSIDE */
} MeasureMark;

typedef struct Measure {
    MeasureMark *marks; /* in order of item */
    size_t mark_count;
    size_t mark_capacity;
    size_t fault_count[MEASURE_FAULT_COUNT];
    size_t crossings; /* pairs of pieces of layer wire, of different conductors, that cross */
    size_t bends;     /* corners inside paths of layer wire */
    size_t wires;     /* different conductors drawn on layer wire */
    double wire_mm;   /* length of all of layer wire */
} Measure;

/* Less than this between two symbols counts as touching. */
#define MEASURE_CLEAR_MM 0.4

/* Links and anchors are no ink and are left out. Touching is no fault: boxes are shrunk by
 * MEASURE_SLACK_MM. A filled shape behind a text (a label's ground) is not a line; its outline is.
 * n log n in the number of items for sheets as people draw them. */
#define MEASURE_SLACK_MM 0.05

void draw_measure(Arena *arena, const DrawList *list, DrawBox field, Measure *measure);

/* "text 'NAV1' crosses line of wire W0412 at 120.0, 45.0": for tests and for people. */
const char *draw_mark_text(Arena *arena, const DrawList *list, const MeasureMark *mark);

#endif
