/* Where the contacts of a D-subminiature connector sit and which number each has. Goes in: row
 * lengths (the wide side of the D first), pitches, the face looked at. Comes out: x to the right, y
 * up, in mm from the middle of the pattern.
 * Numbering (MIL-STD-1560C par. 5.1b and MIL-DTL-24308 app. A, quoted in two opened pages): on the
 * male mating face, wide side up, contact 1 is top left, rows run left to right and down. The
 * female mating face is its mirror image, and the rear of either the mirror image of its own
 * mating face. Pitches 2.77 and 2.84 mm, high density 2.286 and 1.981 mm (opened second-hand). */
#ifndef RATING_DSUB_H
#define RATING_DSUB_H

#include <stdbool.h>
#include <stddef.h>

typedef enum DsubFace {
    DSUB_MALE_MATING,
    DSUB_MALE_REAR,
    DSUB_FEMALE_MATING,
    DSUB_FEMALE_REAR
} DsubFace;

#define DSUB_ROWS_MOST 4u

typedef struct DsubLayout {
    size_t rows;
    unsigned row_contacts[DSUB_ROWS_MOST]; /* wide side first: 5, 4 */
    double pitch_mm;                       /* along a row */
    double row_pitch_mm;                   /* between rows */
} DsubLayout;

typedef struct DsubPlace {
    double x_mm;
    double y_mm;
} DsubPlace;

unsigned dsub_contacts(const DsubLayout *layout);

/* Reads row lengths as tables write them, "13+12"; false when there are none, too many or an empty
 * row. Leaves the pitches alone. */
bool dsub_rows_parse(const char *text, DsubLayout *layout);

/* Place of contact `number` (1 up to dsub_contacts). Neighbouring rows are staggered by half a
 * pitch. Rows whose lengths differ by an odd count are centred; in a pattern with neighbouring rows
 * of equal (or evenly different) length each row lies a quarter pitch off the middle, the first to
 * the left on the male mating face (the stagger follows from the nesting of the rows; the side of
 * it is an assumption, no source at hand). */
DsubPlace dsub_place(const DsubLayout *layout, DsubFace face, unsigned number);

/* The number of the contact nearest to a place on that face, for a click or a probe; 0 when it is
 * further away than half a pitch. */
unsigned dsub_contact_at(const DsubLayout *layout, DsubFace face, DsubPlace place);

#endif
