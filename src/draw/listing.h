/* Tables on paper: any result table, typeset from its schema. Widths come from measured content;
 * what is too long for its column is broken into lines, never cut. Narrow tables stand in several
 * strips beside each other; short ones follow each other on one page. */
#ifndef DRAW_LISTING_H
#define DRAW_LISTING_H

#include "draw/sheets.h"

/* Where cells come from. */
typedef struct ListingSource {
    const DrawView *view;
    TableId table;          /* the row an item stands for */
    const uint32_t *fields; /* columns of the schema that are shown */
    size_t column_count;
    size_t row_count;
    const uint32_t *order; /* rows in the order of their column `worst`; NULL: as they stand */
    int *places;           /* behind the point, by column of the schema; set by listing_measure */
    uint32_t *matrix_rows; /* of a matrix: first row of each line (a run of one first key) ... */
    const char **matrix_heads; /* ... and what stands above its columns after the first */
} ListingSource;

/* What a person adds to each row at the bench: nothing, a tick in a box, or a reading and a tick.
 */
typedef enum ListingHand { HAND_NONE, HAND_TICK, HAND_READING } ListingHand;

/* One table as it is laid out. */
typedef struct Listing {
    const char *name;  /* of its sheets: "wire-list" */
    const char *title; /* "Wire list" */
    ListingSource source;
    double *width_mm; /* of columns */
    double total_mm;  /* of one strip */
    ListingHand hand; /* what room there is for it at the right */
    size_t strips;
    double head_mm; /* height of the head */
    bool cramped;   /* words are broken, for there are more than the field is wide */
    bool grouped;   /* by the first column of its table, which stands in the title instead */
} Listing;

/* Measures a source for a field that wide. */
void listing_measure(Arena *arena, DrawFonts *fonts, Listing *listing, double field_mm);

/* Height of a row. */
double listing_row_mm(DrawFonts *fonts, Arena *scratch, const Listing *listing, size_t row);

/* Draws rows [first, end) below a title and the head, from `top_mm` on; the rows must fit, strip
 * after strip, `strip_rows` in each. Returns where the block ends. */
double listing_block(DrawList *list, const Listing *listing, DrawBox field, double top_mm,
                     size_t first, size_t end, size_t strip_rows, bool continued);

/* The group that a row belongs to; "" when the listing is not grouped. */
const char *listing_group(Arena *arena, const Listing *listing, size_t row);

/* Height of title and head together. */
double listing_top_mm(const Listing *listing);

#endif
