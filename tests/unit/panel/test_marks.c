/* Legends against what is around them: of everything that covers, cuts or crosses the sheet, a mark
 * that is a hundredth of a millimetre too near is told of, and one at the limit is not. Marks here
 * are plain squares of 2 mm, so that distances can be told without a typeface; what letters look
 * like is the business of draw/panel_ink. */
#include "panel/check.h"
#include "support/job.h"
#include "near.h"

/* The hundredth that decides. */
#define STEP_MM 0.01

typedef struct Sheet {
    Job job;
    Panel panel;
    PanelInk *ink;
} Sheet;

/* One face of 400 x 200 mm with a breaker at nought, a banded guard at (100, 0), a screwed plate at
 * (-100, 0), a free opening around (0, 60) and a bend at v = -60. */
static void make_sheet(Sheet *sheet, const char *legends) {
    Job *job = &sheet->job;
    job_start(job);
    job_read_library(job);
    job_add(job, TABLE_job, "job,title,nominal_v,return_style\nr,marks,14,structure\n");
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,cabin,60,-20,3000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,panel\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN,0,0,0,Z,M\n");
    job_add(job, TABLE_panel_face,
            "face,name,sheet,x_mm,y_mm,z_mm,kerf_by,coat_by\nF,panel,alu-2.5,600,0,400,cutter,"
            "shop\n");
    job_add(job, TABLE_outline,
            "face,contour,point,u_mm,v_mm\nF,1,1,-200,-100\nF,1,2,200,-100\nF,1,3,200,100\n"
            "F,1,4,-200,100\nF,2,1,-10,50\nF,2,2,10,50\nF,2,3,10,70\nF,2,4,-10,70\n");
    job_add(job, TABLE_mount,
            "item,face,cutout,serves,u_mm,v_mm\nA,F,breaker-11,spare,0,0\n"
            "B,F,toggle-13-guarded,spare,100,0\nC,F,plate-100,spare,-100,0\n");
    job_add(job, TABLE_panel_coat, "face,step,finish,item,band_mm\nF,1,band-yellow-black,B,20\n");
    job_add(job, TABLE_panel_bend,
            "bend,face,from_u_mm,from_v_mm,to_u_mm,to_v_mm,angle_deg,radius_mm\n"
            "K,F,-200,-60,200,-60,30,3\n");
    Buffer text = {.arena = &job->arena};
    buffer_format(&text, "legend,face,item,text,u_mm,v_mm,letter_mm,rotation_deg\n%s", legends);
    job_add(job, TABLE_legend, text.bytes);
    job_check(job);
    assert_true(model_build(&job->arena, &job->set, &job->model, &job->findings));
    assert_true(panel_read(&job->arena, &job->model, &sheet->panel, &job->findings));
    sheet->ink = ARENA_ARRAY(&job->arena, PanelInk, job->set.legend.count);
    for (size_t i = 0; i < job->set.legend.count; i++) {
        PanelContour *square = ARENA_NEW(&job->arena, PanelContour);
        *square = panel_rectangle(&job->arena, (PanelPoint){0, 0}, 2, 2, 0);
        sheet->ink[i] = (PanelInk){square, 1, square->box, false};
    }
    sheet->panel.ink = sheet->ink;
}

/* The only finding about marks; NULL when there is none. */
static const Finding *mark_found(Sheet *sheet) {
    Job *job = &sheet->job;
    PanelChecks checks;
    job->findings.count = 0;
    panel_check(&job->arena, &sheet->panel, NULL, false, &checks, &job->findings);
    const Finding *found = NULL;
    for (size_t i = 0; i < job->findings.count; i++) {
        if (job->findings.rows[i].rule == RULE_PANEL_MARK) {
            assert_null(found);
            found = &job->findings.rows[i];
        }
    }
    return found;
}

/* A mark at (u, v) keeps the limit; moved by a hundredth towards (du, dv) it is told of, with the
 * words and the distance. */
static void held_at(double u_mm, double v_mm, double du, double dv, const char *words) {
    for (int step = 0; step < 2; step++) {
        Sheet sheet;
        char legend[80];
        snprintf(legend, sizeof legend, "L,F,,X,%.6f,%.6f,5,\n", u_mm + step * STEP_MM * du,
                 v_mm + step * STEP_MM * dv);
        make_sheet(&sheet, legend);
        assert_near(model_limit(&sheet.job.model, "panel_mark"), 1.0, 0);
        const Finding *found = mark_found(&sheet);
        if (step == 0) {
            if (found != NULL) {
                fail_msg("%s at the limit", found->message);
            }
        } else {
            assert_non_null(found);
            assert_non_null(strstr(found->message, words));
            assert_near(found->value, 1.0 - STEP_MM, 1e-6);
            assert_string_equal(found->table, "legend");
            assert_string_equal(found->key, "L");
        }
        arena_free(&sheet.job.arena);
    }
}

static double right_of(const PanelBox *box) {
    return box->u1_mm + 1.0 + 1.0;
}

static void bezels(void **state) {
    (void)state;
    Sheet sheet;
    make_sheet(&sheet, "");
    const PanelBox bezel = sheet.panel.items[0].bezel.box;
    assert_string_equal(sheet.panel.items[0].key, "A");
    arena_free(&sheet.job.arena);
    held_at(right_of(&bezel), 0, -1, 0, "the bezel of A");
}

static void painted_bands(void **state) {
    (void)state;
    Sheet sheet;
    make_sheet(&sheet, "");
    PanelContour band;
    uint32_t item = ID_NONE;
    assert_true(panel_band(&sheet.job.arena, &sheet.panel, 0, &band, &item));
    assert_string_equal(sheet.panel.items[item].key, "B");
    /* 20 mm around a hole of 12.9 mm. */
    assert_near(band.box.u1_mm - 100, 26.45, 1e-9);
    arena_free(&sheet.job.arena);
    held_at(100 + 26.45 + 2.0, 0, -1, 0, "the band around B");
}

static void free_openings(void **state) {
    (void)state;
    held_at(12.0, 60, -1, 0, "a free opening");
}

static void edges_and_bends(void **state) {
    (void)state;
    held_at(198.0, 60, 1, 0, "the edge of the sheet");
    held_at(60, -58.0, 0, -1, "a bend");
    held_at(60, -62.0, 0, 1, "a bend");
}

/* Turned by 45 degrees a corner leads: half the diagonal, root 2. */
static void turned_marks(void **state) {
    (void)state;
    for (int step = 0; step < 2; step++) {
        Sheet sheet;
        char legend[80];
        snprintf(legend, sizeof legend, "L,F,,X,%.6f,60,5,45\n",
                 11.0 + sqrt(2.0) + 1e-9 - step * STEP_MM);
        make_sheet(&sheet, legend);
        const Finding *found = mark_found(&sheet);
        assert_int_equal(found != NULL, step);
        arena_free(&sheet.job.arena);
    }
}

/* Two marks; each pair is told of once, under the first. */
static void marks_beside_each_other(void **state) {
    (void)state;
    for (int step = 0; step < 2; step++) {
        Sheet sheet;
        char legend[160];
        snprintf(legend, sizeof legend, "L,F,,X,60,60,5,\nK,F,,Y,%.6f,60,5,\n",
                 63.0 - step * STEP_MM);
        make_sheet(&sheet, legend);
        const Finding *found = mark_found(&sheet);
        assert_int_equal(found != NULL, step);
        if (found != NULL) {
            assert_string_equal(found->key, "K");
            assert_string_equal(found->rows, "L");
            assert_near(found->value, 1.0 - STEP_MM, 1e-6);
        }
        arena_free(&sheet.job.arena);
    }
}

/* Beyond the edge, over the opening of its item: told of, with nought. What a frame surrounds is
 * not under it, what its line crosses is. */
static void over_and_around(void **state) {
    (void)state;
    Sheet sheet;
    make_sheet(&sheet, "L,F,,X,260,0,5,\n");
    const Finding *found = mark_found(&sheet);
    assert_non_null(found);
    assert_near(found->value, 0, 0);
    arena_free(&sheet.job.arena);
    make_sheet(&sheet, "L,F,A,X,0,0,5,\n");
    found = mark_found(&sheet);
    assert_non_null(found);
    assert_non_null(strstr(found->message, "runs into"));
    arena_free(&sheet.job.arena);
    for (int crossing = 0; crossing < 2; crossing++) {
        make_sheet(&sheet, "L,F,,X,0,0,5,\n");
        PanelContour *frame = ARENA_ARRAY(&sheet.job.arena, PanelContour, 2);
        double width_mm = crossing ? 8 : 40;
        frame[0] = panel_rectangle(&sheet.job.arena, (PanelPoint){0, 0}, width_mm, 40, 2);
        frame[1] = panel_rectangle(&sheet.job.arena, (PanelPoint){0, 0}, width_mm - 1, 39, 2);
        sheet.ink[0] = (PanelInk){frame, 2, frame[0].box, true};
        found = mark_found(&sheet);
        assert_int_equal(found != NULL, crossing);
        arena_free(&sheet.job.arena);
    }
}

/* Without ink nothing is said. */
static void without_a_typeface(void **state) {
    (void)state;
    Sheet sheet;
    make_sheet(&sheet, "L,F,A,X,0,0,5,\n");
    sheet.panel.ink = NULL;
    assert_null(mark_found(&sheet));
    arena_free(&sheet.job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bezels),          cmocka_unit_test(painted_bands),
        cmocka_unit_test(free_openings),   cmocka_unit_test(edges_and_bends),
        cmocka_unit_test(turned_marks),    cmocka_unit_test(marks_beside_each_other),
        cmocka_unit_test(over_and_around), cmocka_unit_test(without_a_typeface),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
