/* What is written on wires and where. Goes in: significant wire numbers, part numbers with colour
 * digits, wire lengths. Comes out: their parts, colours, the places of the marks.
 * Numbers: unit, circuit letter, wire number, segment letter, gauge, suffix (MIL-W-5088L app. B
 * style; worked example P215A4N in a Navy training course, opened; letters CASA AC 21-99
 * Table 2-1, opened). Places: FAA AC 43.13-1B par. 11-208 and Fig. 11-23, p. 11-83 (opened). */
#ifndef RATING_MARKING_H
#define RATING_MARKING_H

#include <stdbool.h>
#include <stddef.h>

/* --- significant wire number ---------------------------------------------------------------------
 */

#define MARKING_SEGMENT_LETTERS 2
#define MARKING_TEXT 32

typedef struct MarkingNumber {
    unsigned unit;                             /* 0: none written */
    char circuit;                              /* circuit function letter */
    unsigned wire;                             /* 1 or more */
    char segment[MARKING_SEGMENT_LETTERS + 1]; /* "A", "B" ... changes at each terminal */
    int awg;                                   /* base/units.h; 1/0 is written 0, 2/0 is 00 */
    char suffix; /* 'N' to ground, 'V' single phase, 'A' 'B' 'C' phase; 0: none */
} MarkingNumber;

typedef enum MarkingSlip {
    MARKING_GOOD,
    MARKING_NO_CIRCUIT,      /* no capital letter where the circuit letter belongs */
    MARKING_UNKNOWN_CIRCUIT, /* a letter that is not in the list given */
    MARKING_NO_WIRE,
    MARKING_NO_SEGMENT,
    MARKING_NO_GAUGE,
    MARKING_BAD_SUFFIX /* what stands behind the gauge is none of the known suffixes */
} MarkingSlip;

/* Takes a number apart. `circuit_letters` lists the letters in use ("CDEFGHJKLMPQRSTUVWX"); *place
 * gets the offset of what is wrong, or the length. *number is only set when good. */
MarkingSlip marking_number_parse(const char *text, const char *circuit_letters,
                                 MarkingNumber *number, size_t *place);

/* Writes it back as parsed; returns text. */
char *marking_number_format(const MarkingNumber *number, char text[MARKING_TEXT]);

/* Segment letters of the index-th segment from 0: A to Z without I and O, then AA, AB ... (leaving
 * out I and O is common practice, no source). Past ZZ it is our own error to ask. */
void marking_segment(unsigned index, char letters[MARKING_SEGMENT_LETTERS + 1]);

/* --- colour code ---------------------------------------------------------------------------------
 */

/* A wire part number such as M22759/34-22-948: specification and sheet, gauge, colour digits. */
typedef struct MarkingPart {
    char specification[MARKING_TEXT]; /* "M22759/34" */
    int awg;
    unsigned stripes;   /* 0 to 3 */
    unsigned digits[4]; /* base, then stripes; each an index into the ten colours */
} MarkingPart;

/* false, *part untouched, when it is no such number. (MIL-STD-681 digits as given in CASA
 * AC 21-99; the example opened.) */
bool marking_part_parse(const char *text, MarkingPart *part);

/* --- places of marks
 * ------------------------------------------------------------------------------ */

/* Lengths of the rule. */
#define MARKING_NONE_BELOW_IN 3.0
#define MARKING_CENTRE_UP_TO_IN 7.0
#define MARKING_END_IN 3.0
#define MARKING_GAP_IN 15.0
/* Sleeves: each end and at most 6 ft apart (par. 11-208b; the unit is from memory). */
#define MARKING_SLEEVE_GAP_FT 6.0

/* Places of marks printed on a wire of that length, in mm from its first end, rising: none below
 * 3 in, one in the middle up to 7 in, else 3 in from each end and evenly between at most 15 in
 * apart. Returns how many there are; writes at most `room` of them (at_mm may be NULL for 0). */
size_t marking_places(double length_mm, double *at_mm, size_t room);

/* The same for marked sleeves, of which one sits at each end (`end_mm` from it) and others between
 * at most 6 ft apart. */
size_t marking_sleeve_places(double length_mm, double end_mm, double *at_mm, size_t room);

#endif
