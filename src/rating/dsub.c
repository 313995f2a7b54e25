#include "rating/dsub.h"

#include <math.h>

#include "base/check.h"

unsigned dsub_contacts(const DsubLayout *layout) {
    unsigned sum = 0;
    for (size_t i = 0; i < layout->rows; i++) {
        sum += layout->row_contacts[i];
    }
    return sum;
}

bool dsub_rows_parse(const char *text, DsubLayout *layout) {
    unsigned contacts[DSUB_ROWS_MOST] = {0};
    size_t rows = 0;
    for (;; text++) {
        if (rows == DSUB_ROWS_MOST || *text < '1' || *text > '9') {
            return false;
        }
        for (; *text >= '0' && *text <= '9'; text++) {
            contacts[rows] = contacts[rows] * 10 + (unsigned)(*text - '0');
            if (contacts[rows] > 999) {
                return false;
            }
        }
        rows++;
        if (*text == '\0') {
            break;
        }
        if (*text != '+') {
            return false;
        }
    }
    layout->rows = rows;
    for (size_t i = 0; i < DSUB_ROWS_MOST; i++) {
        layout->row_contacts[i] = contacts[i];
    }
    return true;
}

/* How far the middle of `row` lies off the middle of the pattern, in pitches. With every row
 * centred, neighbours are staggered by half a pitch only if their lengths differ by an odd count.
 * Else all rows lie a quarter pitch off: to the left unless the stagger says right. */
static double row_shift(const DsubLayout *layout, size_t row) {
    bool all_centred = true;
    for (size_t i = 1; i < layout->rows; i++) {
        unsigned both = layout->row_contacts[i] + layout->row_contacts[i - 1];
        all_centred = all_centred && both % 2 == 1;
    }
    if (all_centred) {
        return 0.0;
    }
    /* A row of even length has its contacts half a pitch off its middle; rows of odd index must lie
     * half a pitch off those of even index. Where both or neither happens the shift is alike. */
    bool as_first =
        (layout->row_contacts[row] % 2 != layout->row_contacts[0] % 2) == (row % 2 == 1);
    return as_first ? -0.25 : 0.25;
}

DsubPlace dsub_place(const DsubLayout *layout, DsubFace face, unsigned number) {
    CHECK(number >= 1 && number <= dsub_contacts(layout));
    size_t row = 0;
    unsigned in_row = number - 1;
    while (in_row >= layout->row_contacts[row]) {
        in_row -= layout->row_contacts[row];
        row++;
    }
    double from_left = in_row - 0.5 * (layout->row_contacts[row] - 1.0);
    DsubPlace place = {.x_mm = (from_left + row_shift(layout, row)) * layout->pitch_mm,
                       .y_mm = (0.5 * ((double)layout->rows - 1.0) - (double)row) *
                               layout->row_pitch_mm};
    if (face == DSUB_FEMALE_MATING || face == DSUB_MALE_REAR) {
        place.x_mm = -place.x_mm;
    }
    return place;
}

unsigned dsub_contact_at(const DsubLayout *layout, DsubFace face, DsubPlace place) {
    unsigned nearest = 0;
    double nearest_mm = 0.5 * layout->pitch_mm;
    for (unsigned number = 1; number <= dsub_contacts(layout); number++) {
        DsubPlace at = dsub_place(layout, face, number);
        double away_mm = hypot(at.x_mm - place.x_mm, at.y_mm - place.y_mm);
        if (away_mm < nearest_mm) {
            nearest = number;
            nearest_mm = away_mm;
        }
    }
    return nearest;
}
