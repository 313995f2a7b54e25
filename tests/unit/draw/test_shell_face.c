/* Faces of connectors: which way round they are. The classic mistake is a mirrored pin-out.
 * Known places (IEC 60807-3 and MIL-DTL-24308 as commonly drawn; numbering MIL-STD-1560C par. 5.1b,
 * quoted second-hand; the rest follows from looking at the same shell from the other side): seen
 * from the mating face of the pin half, wide side up, contact 1 is top left; so it is top right on
 * the mating face of the socket half and on the wire side of the pin half, and top left on the wire
 * (solder) side of the socket half. */
#include <math.h>

#include "draw/measure.h"
#include "draw/paper.h"
#include "draw/shell_face.h"
#include "rating/dsub.h"
#include "support/job.h"

typedef struct Desk {
    Job job;
    DrawFonts *fonts;
} Desk;

static int set_up(void **state) {
    static Desk desk;
    desk.fonts = fonts_open();
    job_start(&desk.job);
    job_read_library(&desk.job);
    job_add(&desk.job, TABLE_shell,
            "shell,name,ways,rows,contact,sealed,form,source,status\n"
            "rows-25,places from its rows only,25,13+12,20,no,D,test,invented\n"
            "ring-40,places by number,40,,16,yes,circle,test,invented\n");
    job_add(&desk.job, TABLE_job, "job,title,nominal_v,return_style\nj,t,14,structure\n");
    table_set_sort(&desk.job.set);
    desk.job.model.set = &desk.job.set;
    *state = &desk;
    return 0;
}

static int tear_down(void **state) {
    Desk *desk = *state;
    fonts_close(desk->fonts);
    arena_free(&desk->job.arena);
    return 0;
}

static ShellFace read_face(Desk *desk, const char *shell) {
    ShellFace face;
    ShellId id = model_row(&desk->job.model, TABLE_shell, shell);
    assert_int_not_equal(id, ID_NONE);
    shell_face_read(&desk->job.arena, desk->fonts, &desk->job.model, id, &face);
    return face;
}

static uint32_t cavity_named(const ShellFace *face, const char *name) {
    for (uint32_t i = 0; i < face->ways; i++) {
        if (strcmp(face->names[i], name) == 0) {
            return i;
        }
    }
    fail_msg("no cavity %s", name);
    return 0;
}

static void contact_1_of_a_25_way_d(void **state) {
    ShellFace face = read_face(*state, "dsub-25");
    uint32_t one = cavity_named(&face, "1");
    uint32_t thirteen = cavity_named(&face, "13");
    uint32_t fourteen = cavity_named(&face, "14");
    static const struct {
        FaceHalf half;
        FaceSide side;
        bool one_at_left;
    } KNOWN[] = {{FACE_PINS, FACE_MATING_FACE, true},
                 {FACE_PINS, FACE_WIRE_SIDE, false},
                 {FACE_SOCKETS, FACE_MATING_FACE, false},
                 {FACE_SOCKETS, FACE_WIRE_SIDE, true}};
    for (size_t i = 0; i < 4; i++) {
        DrawPoint at = shell_face_at(&face, KNOWN[i].half, KNOWN[i].side, one);
        DrawPoint end = shell_face_at(&face, KNOWN[i].half, KNOWN[i].side, thirteen);
        DrawPoint below = shell_face_at(&face, KNOWN[i].half, KNOWN[i].side, fourteen);
        assert_int_equal(at.x_mm < 0.0, KNOWN[i].one_at_left);
        assert_int_equal(end.x_mm > 0.0, KNOWN[i].one_at_left);
        assert_true(at.y_mm < 0.0);    /* y runs down: the row of 13 is above */
        assert_true(below.y_mm > 0.0); /* ... and 14 below */
        assert_true(fabs(fabs(at.x_mm) - 6.0 * 2.77) < 0.01);
    }
}

/* What is joined lies opposite: pressing the halves together, a pin meets the socket of its number.
 * Turning one mating face about the vertical axis gives the other. */
static void mated_faces_are_mirror_images(void **state) {
    static const char *const SHELLS[] = {"dsub-9", "dsub-50", "hd-78", "circular-37", "plug-6"};
    for (size_t s = 0; s < sizeof SHELLS / sizeof *SHELLS; s++) {
        ShellFace face = read_face(*state, SHELLS[s]);
        for (uint32_t i = 0; i < face.ways; i++) {
            DrawPoint pin = shell_face_at(&face, FACE_PINS, FACE_MATING_FACE, i);
            DrawPoint socket = shell_face_at(&face, FACE_SOCKETS, FACE_MATING_FACE, i);
            DrawPoint pin_wire = shell_face_at(&face, FACE_PINS, FACE_WIRE_SIDE, i);
            DrawPoint socket_wire = shell_face_at(&face, FACE_SOCKETS, FACE_WIRE_SIDE, i);
            assert_true(pin.x_mm == -socket.x_mm && pin.y_mm == socket.y_mm);
            assert_true(pin.x_mm == -pin_wire.x_mm && pin.y_mm == pin_wire.y_mm);
            assert_true(socket.x_mm == -socket_wire.x_mm && socket.y_mm == socket_wire.y_mm);
        }
    }
}

/* A strip of studs is looked at from above on both sides: nothing is turned over. */
static void studs_are_never_mirrored(void **state) {
    ShellFace face = read_face(*state, "strip-12");
    assert_int_equal(face.form, FACE_STUDS);
    for (uint32_t i = 0; i < face.ways; i++) {
        DrawPoint a = shell_face_at(&face, FACE_PINS, FACE_WIRE_SIDE, i);
        DrawPoint b = shell_face_at(&face, FACE_SOCKETS, FACE_MATING_FACE, i);
        DrawPoint c = shell_face_at(&face, FACE_SOCKETS, FACE_WIRE_SIDE, i);
        assert_true(a.x_mm == b.x_mm && b.x_mm == c.x_mm);
    }
    assert_true(face.x_mm[0] < face.x_mm[11]);
}

/* The two sources of places and the four faces of rating/dsub.h agree. */
static void rows_and_cavities_agree(void **state) {
    ShellFace by_rows = read_face(*state, "rows-25");
    ShellFace by_places = read_face(*state, "dsub-25");
    DsubLayout layout = {.pitch_mm = 2.77, .row_pitch_mm = 2.84};
    assert_true(dsub_rows_parse("13+12", &layout));
    assert_true(by_rows.measured && by_places.measured);
    static const struct {
        FaceHalf half;
        FaceSide side;
        DsubFace dsub;
    } SAME[] = {{FACE_PINS, FACE_MATING_FACE, DSUB_MALE_MATING},
                {FACE_PINS, FACE_WIRE_SIDE, DSUB_MALE_REAR},
                {FACE_SOCKETS, FACE_MATING_FACE, DSUB_FEMALE_MATING},
                {FACE_SOCKETS, FACE_WIRE_SIDE, DSUB_FEMALE_REAR}};
    for (uint32_t i = 0; i < 25; i++) {
        for (size_t k = 0; k < 4; k++) {
            DrawPoint a = shell_face_at(&by_rows, SAME[k].half, SAME[k].side, i);
            DrawPoint b = shell_face_at(&by_places, SAME[k].half, SAME[k].side, i);
            DsubPlace c = dsub_place(&layout, SAME[k].dsub, i + 1);
            assert_true(hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) < 0.01);
            assert_true(hypot(a.x_mm - c.x_mm, a.y_mm + c.y_mm) < 0.01);
        }
    }
}

/* Places set out by number: all different, none nearer than the pitch says, and said to be so. */
static void places_by_number_do_not_collide(void **state) {
    static const char *const SHELLS[] = {"ring-40",       "circular-10",   "circular-26", "plug-2",
                                         "sealed-plug-3", "sealed-plug-6", "strip-6"};
    for (size_t s = 0; s < sizeof SHELLS / sizeof *SHELLS; s++) {
        ShellFace face = read_face(*state, SHELLS[s]);
        assert_false(face.measured);
        assert_true(face.pitch_mm > 4.0);
        for (uint32_t i = 0; i < face.ways; i++) {
            for (uint32_t k = i + 1; k < face.ways; k++) {
                assert_true(hypot(face.x_mm[i] - face.x_mm[k], face.y_mm[i] - face.y_mm[k]) >
                            face.pitch_mm - 1e-9);
            }
        }
    }
    assert_true(read_face(*state, "dsub-9").measured);
}

/* As drawn: the view is as large as it says, its rings don't touch, the filled corner is at
 * cavity 1, the title names the side. */
static void views_are_drawn_as_they_are_measured(void **state) {
    Desk *desk = *state;
    static const char *const SHELLS[] = {"dsub-9",   "hd-78",    "circular-37", "sealed-plug-2",
                                         "coax-BNC", "strip-12", "ring-40"};
    for (size_t s = 0; s < sizeof SHELLS / sizeof *SHELLS; s++) {
        ShellFace face = read_face(desk, SHELLS[s]);
        FaceCavity *cavities = ARENA_ARRAY(&desk->job.arena, FaceCavity, face.ways);
        for (uint32_t i = 0; i < face.ways; i++) {
            cavities[i] = (FaceCavity){
                .used = i % 3 != 0, .colour = "white/blue", .table = TABLE_COUNT, .key = ""};
        }
        for (int side = 0; side < 2; side++) {
            Arena arena = {0};
            DrawList list;
            Measure measure;
            draw_start(&list, &arena, desk->fonts, 420.0, 297.0);
            double scale = shell_face_scale(&face, 180.0);
            double half_mm = fmax(25.0, shell_face_width_mm(&face, scale) / 2.0);
            assert_true(shell_face_readable(&face, scale));
            shell_face_draw(&list, &face, FACE_SOCKETS, (FaceSide)side, scale, 200.0, 50.0,
                            cavities);
            DrawBox box = {200.0 - half_mm, 50.0, 200.0 + half_mm,
                           50.0 + shell_face_height_mm(&face, scale)};
            draw_measure(&arena, &list, box, &measure);
            for (size_t i = 0; i < measure.mark_count; i++) {
                fprintf(stderr, "%s: %s\n", SHELLS[s],
                        draw_mark_text(&arena, &list, &measure.marks[i]));
            }
            assert_int_equal(measure.mark_count, 0);
            assert_int_equal(list.items[0].kind, DRAW_TEXT);
            assert_string_equal(list.items[0].text, face.form == FACE_STUDS  ? "FROM ABOVE"
                                                    : side == FACE_WIRE_SIDE ? "WIRE SIDE"
                                                                             : "MATING FACE");
            assert_true(list.items[0].height_mm >= STYLE_TAG_MM);
            size_t numbers = 0;
            for (size_t i = 0; i < list.count; i++) {
                numbers += list.items[i].kind == DRAW_TEXT && list.items[i].layer == LAYER_PIN;
            }
            assert_int_equal(numbers, face.ways + (face.ways > 1));
            arena_free(&arena);
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(contact_1_of_a_25_way_d),
        cmocka_unit_test(mated_faces_are_mirror_images),
        cmocka_unit_test(studs_are_never_mirrored),
        cmocka_unit_test(rows_and_cavities_agree),
        cmocka_unit_test(places_by_number_do_not_collide),
        cmocka_unit_test(views_are_drawn_as_they_are_measured),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
