/* Marks, colours, connector faces: FAA AC 43.13-1B par. 11-208 and Fig. 11-23, p. 11-83 (opened); a
 * Navy training course's wire number (opened); colour digits of MIL-STD-681 as in CASA AC 21-99
 * (opened); D-subminiature pitches (two supplier tables) and the numbering rule of MIL-STD-1560C
 * par. 5.1b and MIL-DTL-24308 app. A (quoted in two opened pages). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdbool.h>
#include <cmocka.h>
#include "base/units.h"
#include "rating/dsub.h"
#include "rating/marking.h"
#include "../near.h"

#define COUNT(rows) (sizeof(rows) / sizeof *(rows))

static const char circuit_letters[] = "CDEFGHJKLMPQRSTUVWX";

/* --- wire numbers
 * --------------------------------------------------------------------------------- */

/* C39: P215A4N: DC power, wire 215, first segment, size 4, to ground. Published. */
static void c39_wire_number(void **state) {
    (void)state;
    MarkingNumber number;
    size_t place = 99;
    assert_int_equal(marking_number_parse("P215A4N", circuit_letters, &number, &place),
                     MARKING_GOOD);
    assert_int_equal(place, 7);
    assert_int_equal(number.unit, 0);
    assert_int_equal(number.circuit, 'P');
    assert_int_equal(number.wire, 215);
    assert_string_equal(number.segment, "A");
    assert_int_equal(number.awg, 4);
    assert_int_equal(number.suffix, 'N');
    char text[MARKING_TEXT];
    assert_string_equal(marking_number_format(&number, text), "P215A4N");
}

/* The other parts of the system: unit number in front, noughts for 1/0 and thicker, phase letters;
 * and every slip is found where it stands. */
static void wire_number_parts(void **state) {
    (void)state;
    const char *good[] = {"2P215A4N", "L12B22", "X7C000A", "R1044AA20V", "P1A0", "12H3D16C"};
    for (size_t i = 0; i < COUNT(good); i++) {
        MarkingNumber number;
        size_t place = 0;
        char text[MARKING_TEXT];
        assert_int_equal(marking_number_parse(good[i], circuit_letters, &number, &place),
                         MARKING_GOOD);
        assert_string_equal(marking_number_format(&number, text), good[i]);
    }
    const struct {
        const char *text;
        MarkingSlip slip;
        size_t place;
    } bad[] = {{"", MARKING_NO_CIRCUIT, 0},
               {"p215A4", MARKING_NO_CIRCUIT, 0},
               {"A215A4", MARKING_UNKNOWN_CIRCUIT, 0},
               {"PA4", MARKING_NO_WIRE, 1},
               {"P0A4", MARKING_NO_WIRE, 1},
               {"P2154", MARKING_NO_SEGMENT, 5},
               {"P215A", MARKING_NO_GAUGE, 5},
               {"P215A99", MARKING_NO_GAUGE, 5},
               {"P215A4Q", MARKING_BAD_SUFFIX, 6},
               {"P215A4NN", MARKING_BAD_SUFFIX, 6}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        MarkingNumber number = {.wire = 7};
        size_t place = 99;
        assert_int_equal(marking_number_parse(bad[i].text, circuit_letters, &number, &place),
                         bad[i].slip);
        assert_int_equal(place, bad[i].place);
        assert_int_equal(number.wire, 7);
    }
}

/* Segment letters change at each terminal, I and O left out (common practice, no source). */
static void segment_letters(void **state) {
    (void)state;
    char letters[MARKING_SEGMENT_LETTERS + 1];
    const char *expected[] = {"A", "B", "H", "J", "N", "P", "Z", "AA", "AB", "BA"};
    const unsigned index[] = {0, 1, 7, 8, 12, 13, 23, 24, 25, 48};
    for (size_t i = 0; i < COUNT(index); i++) {
        marking_segment(index[i], letters);
        assert_string_equal(letters, expected[i]);
    }
}

/* C40: M22759/34-22-948: white base, yellow stripe, grey stripe. Published (CASA AC 21-99). */
static void c40_colour_code(void **state) {
    (void)state;
    const char *colours[] = {"black", "brown", "red",    "orange", "yellow",
                             "green", "blue",  "violet", "grey",   "white"};
    MarkingPart part;
    assert_true(marking_part_parse("M22759/34-22-948", &part));
    assert_string_equal(part.specification, "M22759/34");
    assert_int_equal(part.awg, 22);
    assert_int_equal(part.stripes, 2);
    assert_string_equal(colours[part.digits[0]], "white");
    assert_string_equal(colours[part.digits[1]], "yellow");
    assert_string_equal(colours[part.digits[2]], "grey");
    assert_true(marking_part_parse("M22759/16-0-9", &part));
    assert_int_equal(part.awg, 0);
    assert_int_equal(part.stripes, 0);
    const char *bad[] = {"",
                         "M22759/34",
                         "M22759/34-22",
                         "M22759/34-22-",
                         "M22759/34-22-94812",
                         "M22759/34-22-9X",
                         "-22-9",
                         "M22759/34-99-9"};
    for (size_t i = 0; i < COUNT(bad); i++) {
        assert_false(marking_part_parse(bad[i], &part));
    }
}

/* --- places of marks
 * ------------------------------------------------------------------------------ */

/* C46: a wire of 5 in is marked once, in the middle. Published. */
static void c46_five_inches(void **state) {
    (void)state;
    double at_mm[4] = {0};
    assert_int_equal(marking_places(units_mm_from_in(5), at_mm, 4), 1);
    assert_near(units_in_from_mm(at_mm[0]), 2.5, 1e-9);
}

/* C47: a wire of 40 in is marked 3 in from each end and in between at most 15 in apart. Published.
 */
static void c47_forty_inches(void **state) {
    (void)state;
    double at_mm[8] = {0};
    size_t count = marking_places(units_mm_from_in(40), at_mm, 8);
    assert_int_equal(count, 4); /* 34 in between the outer two: three gaps */
    assert_near(units_in_from_mm(at_mm[0]), 3, 1e-9);
    assert_near(units_in_from_mm(at_mm[count - 1]), 37, 1e-9);
    for (size_t i = 1; i < count; i++) {
        assert_true(at_mm[i] - at_mm[i - 1] <= units_mm_from_in(15) + 1e-9);
    }
}

/* The same rule at every length: none below 3 in, no gap above 15 in, no mark too many. */
static void marks_at_every_length(void **state) {
    (void)state;
    assert_int_equal(marking_places(units_mm_from_in(2.9), NULL, 0), 0);
    assert_int_equal(marking_places(units_mm_from_in(7), NULL, 0), 1);
    assert_int_equal(marking_places(units_mm_from_in(21), NULL, 0), 2); /* 15 in exactly */
    for (double in = 7.1; in < 400; in += 3.7) {
        double at_mm[64];
        size_t count = marking_places(units_mm_from_in(in), at_mm, 64);
        double gap_in = units_in_from_mm(at_mm[1] - at_mm[0]);
        assert_true(gap_in <= 15 + 1e-9);
        /* one mark fewer would leave too wide a gap */
        assert_true(count == 2 || (in - 6) / (double)(count - 2) > 15);
        assert_near(units_in_from_mm(at_mm[count - 1]), in - 3, 1e-9);
    }
    /* Sleeves: par. 11-208b, each end and at most 6 ft apart (unit from memory). */
    double at_mm[8];
    size_t count = marking_sleeve_places(units_mm_from_in(20 * 12), 50, at_mm, 8);
    assert_int_equal(count, 5);
    assert_near(at_mm[0], 50, 1e-9);
    assert_true(at_mm[1] - at_mm[0] <= 6 * 304.8 + 1e-9);
}

/* --- D-subminiature
 * ------------------------------------------------------------------------------- */

static DsubLayout layout(const char *rows, double pitch_mm, double row_pitch_mm) {
    DsubLayout got = {.pitch_mm = pitch_mm, .row_pitch_mm = row_pitch_mm};
    assert_true(dsub_rows_parse(rows, &got));
    return got;
}

static void check_place(DsubLayout of, DsubFace face, unsigned number, double x_mm, double y_mm) {
    DsubPlace place = dsub_place(&of, face, number);
    assert_near(place.x_mm, x_mm, 0.02);
    assert_near(place.y_mm, y_mm, 0.02);
    assert_int_equal(dsub_contact_at(&of, face, place), number);
}

/* C108..C111: from the pitches of DIN 41652, 2.77 and 2.84 mm (2.76 on one page: 0.02 mm). Derived.
 */
static void c108_nine_way_male_pin_1(void **state) {
    (void)state;
    check_place(layout("5+4", 2.77, 2.84), DSUB_MALE_MATING, 1, -5.54, 1.42);
}

static void c109_nine_way_female_pin_1(void **state) {
    (void)state;
    check_place(layout("5+4", 2.77, 2.84), DSUB_FEMALE_MATING, 1, 5.54, 1.42);
}

static void c110_nine_way_female_rear_pin_6(void **state) {
    (void)state;
    check_place(layout("5+4", 2.77, 2.84), DSUB_FEMALE_REAR, 6, -4.155, -1.42);
}

static void c111_twenty_five_way_pin_13(void **state) {
    (void)state;
    check_place(layout("13+12", 2.77, 2.84), DSUB_MALE_MATING, 13, 16.62, 1.42);
}

/* C112: hole spacing of shell B, 47.04 mm, is the 1.852 in of the shell drawing (second-hand; the
 * inches from memory). */
static void c112_shell_b_holes(void **state) {
    (void)state;
    assert_near(units_mm_from_in(1.852), 47.04, 0.1);
}

/* All contacts of the 9- and 15-way male mating face, recomputed from the pitch. */
static void all_contacts_of_nine_and_fifteen(void **state) {
    (void)state;
    const double nine[] = {-5.54, -2.77, 0, 2.77, 5.54, -4.155, -1.385, 1.385, 4.155};
    const double fifteen[] = {-9.695, -6.925, -4.155, -1.385, 1.385, 4.155, 6.925, 9.695,
                              -8.31,  -5.54,  -2.77,  0,      2.77,  5.54,  8.31};
    for (unsigned n = 1; n <= 9; n++) {
        check_place(layout("5+4", 2.77, 2.84), DSUB_MALE_MATING, n, nine[n - 1],
                    n <= 5 ? 1.42 : -1.42);
    }
    for (unsigned n = 1; n <= 15; n++) {
        check_place(layout("8+7", 2.77, 2.84), DSUB_MALE_MATING, n, fifteen[n - 1],
                    n <= 8 ? 1.42 : -1.42);
    }
}

/* All ten published layouts: the counts, the mirrors of the rule, and that neighbouring rows are
 * staggered by half a pitch. */
static void all_layouts(void **state) {
    (void)state;
    const struct {
        const char *rows;
        unsigned contacts;
    } layouts[] = {{"5+4", 9},       {"8+7", 15},        {"13+12", 25}, {"19+18", 37},
                   {"17+16+17", 50}, {"5+5+5", 15},      {"9+9+8", 26}, {"15+15+14", 44},
                   {"21+21+20", 62}, {"20+19+20+19", 78}};
    for (size_t i = 0; i < COUNT(layouts); i++) {
        bool high = i >= 5;
        DsubLayout of = layout(layouts[i].rows, high ? 2.286 : 2.77, high ? 1.981 : 2.84);
        assert_int_equal(dsub_contacts(&of), layouts[i].contacts);
        for (unsigned n = 1; n <= layouts[i].contacts; n++) {
            DsubPlace male = dsub_place(&of, DSUB_MALE_MATING, n);
            assert_near(dsub_place(&of, DSUB_FEMALE_MATING, n).x_mm, -male.x_mm, 1e-12);
            assert_near(dsub_place(&of, DSUB_MALE_REAR, n).x_mm, -male.x_mm, 1e-12);
            assert_near(dsub_place(&of, DSUB_FEMALE_REAR, n).x_mm, male.x_mm, 1e-12);
        }
        unsigned first = 1;
        for (size_t row = 1; row < of.rows; row++) {
            unsigned next = first + of.row_contacts[row - 1];
            double apart = fabs(dsub_place(&of, DSUB_MALE_MATING, next).x_mm -
                                dsub_place(&of, DSUB_MALE_MATING, first).x_mm) /
                           of.pitch_mm;
            assert_near(apart - floor(apart), 0.5, 1e-9);
            first = next;
        }
    }
    DsubLayout kept = {.rows = 7};
    const char *bad[] = {"", "5+", "+4", "5+0", "5,4", "5+4+3+2+1", "5+4 ", "99999"};
    for (size_t i = 0; i < COUNT(bad); i++) {
        assert_false(dsub_rows_parse(bad[i], &kept));
        assert_int_equal(kept.rows, 7);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(c39_wire_number),
        cmocka_unit_test(wire_number_parts),
        cmocka_unit_test(segment_letters),
        cmocka_unit_test(c40_colour_code),
        cmocka_unit_test(c46_five_inches),
        cmocka_unit_test(c47_forty_inches),
        cmocka_unit_test(marks_at_every_length),
        cmocka_unit_test(c108_nine_way_male_pin_1),
        cmocka_unit_test(c109_nine_way_female_pin_1),
        cmocka_unit_test(c110_nine_way_female_rear_pin_6),
        cmocka_unit_test(c111_twenty_five_way_pin_13),
        cmocka_unit_test(c112_shell_b_holes),
        cmocka_unit_test(all_contacts_of_nine_and_fifteen),
        cmocka_unit_test(all_layouts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
