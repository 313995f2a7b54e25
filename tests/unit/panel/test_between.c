/* Bodies behind two faces that stand at an angle: a tilted panel and a pedestal before it. How far
 * their boxes share room is known here from plane geometry, for one body a side. */
#include "panel/check.h"
#include "support/job.h"
#include "near.h"

/* Face A is upright at x = 600 and face B leans by `tilt_deg` at x = `x_mm`, both 200 mm wide; each
 * has one breaker (11.3 mm wide, body 45 mm and connector 35 mm deep) in its middle at height 100.
 */
static void make_faces(Job *job, double x_mm, double z_mm, double tilt_deg) {
    job_start(job);
    job_read_library(job);
    job_add(job, TABLE_job, "job,title,nominal_v,return_style\nr,between,14,structure\n");
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,cabin,60,-20,3000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,panel\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN,0,0,0,Z,M\n");
    Buffer text = {.arena = &job->arena};
    buffer_format(&text,
                  "face,name,sheet,x_mm,y_mm,z_mm,tilt_deg,kerf_by\nA,panel,alu-2.5,600,0,400,0,"
                  "cutter\nB,pedestal,alu-2.5,%.6f,0,%.6f,%.6f,cutter\n",
                  x_mm, z_mm, tilt_deg);
    job_add(job, TABLE_panel_face, text.bytes);
    job_add(job, TABLE_outline,
            "face,contour,point,u_mm,v_mm\nA,1,1,-100,0\nA,1,2,100,0\nA,1,3,100,200\n"
            "A,1,4,-100,200\nB,1,1,-20,-20\nB,1,2,20,-20\nB,1,3,20,20\nB,1,4,-20,20\n");
    job_add(job, TABLE_mount,
            "item,face,cutout,serves,u_mm,v_mm\nA1,A,breaker-11,spare,0,100\n"
            "B1,B,breaker-11,spare,0,0\n");
    job_check(job);
    assert_true(model_build(&job->arena, &job->set, &job->model, &job->findings));
}

/* Largest room that bodies share, NAN: none; *sheets counts bodies that go through a sheet. */
static double shared_mm(Job *job, int *sheets) {
    Panel panel;
    PanelChecks checks;
    job->findings.count = 0;
    assert_true(panel_read(&job->arena, &job->model, &panel, &job->findings));
    panel_check(&job->arena, &panel, NULL, false, &checks, &job->findings);
    double most_mm = NAN;
    *sheets = 0;
    for (size_t i = 0; i < job->findings.count; i++) {
        const Finding *finding = &job->findings.rows[i];
        if (finding->rule == RULE_PANEL_BODIES) {
            bool sheet = strstr(finding->message, "goes through the sheet") != NULL;
            *sheets += sheet;
            most_mm = sheet ? most_mm : fmax(most_mm, finding->value);
        }
    }
    return most_mm;
}

/* B leans by 30 degrees, its body comes from behind: its lowest corner runs into the back of A's
 * connector at x = 600 - 80. The tip of a rectangle of depth 80 and half width 5.65, turned by 30
 * degrees, is at x0 - 80 cos 30 - 5.65 sin 30 and x0 - 80 cos 30 + 5.65 sin 30. */
static void tilted_boxes(void **state) {
    (void)state;
    const double s = 0.5;
    const double c = sqrt(3.0) / 2.0;
    /* The corner of B's front end that reaches farthest aft, at depth 2.5 of B's sheet, stands 1 mm
     * before A's back end; upright distance is plane geometry along x. */
    for (int step = 0; step < 2; step++) {
        double aft = -2.5 * c + 5.65 * s; /* of x0, corner v = -5.65 at the body's front */
        double x0 = 520 - aft + (step == 0 ? -0.01 : 0.01);
        /* That corner at the height of A's middle: z = z0 - 5.65 c - 2.5 s. */
        double z0 = 500 + 5.65 * c + 2.5 * s;
        Job job;
        make_faces(&job, x0, z0, 30);
        int sheets;
        double mm = shared_mm(&job, &sheets);
        if (step == 0) {
            assert_true(isnan(mm));
        } else {
            assert_near(mm, 0.01, 1e-6);
        }
        arena_free(&job.arena);
    }
}

/* Right through each other the least way out is across: the full width of both halves. */
static void crossed_boxes(void **state) {
    (void)state;
    Job job;
    make_faces(&job, 570, 530, 90);
    int sheets;
    double mm = shared_mm(&job, &sheets);
    assert_near(mm, 11.3, 1e-6);
    assert_int_equal(sheets, 0);
    arena_free(&job.arena);
}

/* The sheet of B, 40 mm square and upright, stands in A's connector room: told of once for each
 * body that meets it, and not when it stands behind. */
static void a_sheet_in_the_way(void **state) {
    (void)state;
    Job job;
    int sheets;
    make_faces(&job, 540, 500, 0);
    shared_mm(&job, &sheets);
    assert_int_equal(sheets, 1);
    arena_free(&job.arena);
    make_faces(&job, 520, 500, 0);
    shared_mm(&job, &sheets);
    assert_int_equal(sheets, 0);
    arena_free(&job.arena);
    make_faces(&job, 520.01, 500, 0);
    shared_mm(&job, &sheets);
    assert_int_equal(sheets, 1);
    arena_free(&job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tilted_boxes),
        cmocka_unit_test(crossed_boxes),
        cmocka_unit_test(a_sheet_in_the_way),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
