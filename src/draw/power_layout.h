/* Where the power diagram's bars and rows go. A bus is an upright bar, a branch a level row from
 * bar to bar or from bar to load; bars stand one behind the other from the sources at the left, and
 * reach over the rows they touch. No row passes a bar that is not its own: what cannot be joined
 * that way ends in a stub with a reference. Rows are whole numbers until they are put on paper, so
 * that a drawing too high for a page is cut between two rows. */
#ifndef DRAW_POWER_LAYOUT_H
#define DRAW_POWER_LAYOUT_H

#include "draw/power_facts.h"

/* Measures all blocks share, mm. */
typedef struct PowerMeasure {
    double width_mm;    /* of the field */
    double source_mm;   /* a source with its text, left of its branch */
    double tail_mm;     /* name and values right of a bar at which a drawing ends */
    uint32_t page_rows; /* of a drawing of buses */
} PowerMeasure;

typedef enum PowerEndKind {
    POWER_END_BAR,  /* arrives at the bar `to` of the same drawing */
    POWER_END_STUB, /* arrives at a bus that stands elsewhere */
    POWER_END_LOAD,
    POWER_END_MORE /* no branch: the loads of a bus stand on another sheet */
} PowerEndKind;

/* A branch on its row. */
typedef struct PowerLine {
    uint32_t branch; /* ID_NONE for POWER_END_MORE */
    int32_t row;
    uint32_t bar_from; /* into bars; ID_NONE: begins at a source */
    uint32_t bar_to;   /* POWER_END_BAR */
    PowerEndKind end;
} PowerLine;

typedef struct PowerBar {
    BusId bus;
    double x_mm; /* from the left edge of the drawing */
    int32_t row_first;
    int32_t row_last;
    int32_t row_name;     /* its name stands in the row above this one, or right of this one */
    uint32_t parent;      /* bar it stands behind; ID_NONE */
    uint32_t parent_line; /* ID_NONE */
    bool inner;           /* something leaves it at the right: its name stands above */
    bool inward;          /* its branches from sources are here */
    bool onward;          /* its feeds of other buses are here */
    bool loads;           /* its loads are here */
} PowerBar;

/* One drawing. */
typedef struct PowerBlock {
    PowerBar *bars;
    size_t bar_count;
    size_t bar_capacity;
    PowerLine *lines;
    size_t line_count;
    size_t line_capacity;
    int32_t rows;
} PowerBlock;

typedef struct PowerLayout {
    PowerBlock *blocks;
    size_t block_count;
    size_t block_capacity;
    bool *loads_apart; /* by bus, and one more for what has no bus: its loads stand on sheets of
                          loads */
} PowerLayout;

/* Lays out the buses (branches know their width), with the loads of those that leave room for them.
 * `arena` keeps it. */
void power_layout(Arena *arena, const PowerFacts *facts, const PowerMeasure *measure,
                  PowerLayout *layout);

#endif
