/* The panel's geometry against GEOS, which knows no arcs: contours are handed over as polygons
 * whose corners lie on the arcs, no chord further than FACET_MM from its arc. Random cut shapes,
 * turned and placed at random: distances, areas, points inside, offsets, and every web of whole
 * random panels pair by pair. Seeded, the seed printed. */
#include <geos_c.h>

#include "panel/check.h"
#include "panel/shapes.h"
#include "support/job.h"
#include "near.h"

#define SEED 20260420u

/* What a polygon may lose against its arc; two of them lose twice that. */
#define FACET_MM 1e-4
#define BOTH_MM (2.0 * FACET_MM + 1e-9)

static uint32_t seed;

static double draw(double from, double to) {
    seed = seed * 1664525u + 1013904223u;
    return from + (to - from) * ((double)(seed >> 8) / 16777216.0);
}

static uint32_t draw_below(uint32_t count) {
    return (uint32_t)draw(0, count - 1e-6);
}

/* --- random shapes -----------------------------------------------------------------------------
 */

static CutoutHoleRow random_row(void) {
    static const char *const kinds[] = {"round",      "rectangle", "slot",    "dee",
                                        "double_dee", "keyed",     "notched", "trapezoid"};
    static const char *const corners[] = {"left-down", "right-up left-down",
                                          "right-up left-up left-down right-down"};
    double width = draw(4, 90);
    return (CutoutHoleRow){
        .kind = kinds[draw_below(8)],
        .width_mm = width,
        .height_mm = draw(4, 60),
        .radius_mm = draw_below(3) == 0 ? 0 : draw(0.2, 1.9),
        .flat_mm = width * draw(0.6, 0.95),
        .notch_width_mm = width * draw(0.1, 0.3),
        .notch_mm = width * draw(0.51, 0.55),
        .corners = corners[draw_below(3)],
        .screw = "",
        .rotation_deg = draw_below(2) == 0 ? 0 : draw(0, 360),
    };
}

static PanelContour random_contour(Arena *arena, double span_mm) {
    CutoutHoleRow row = random_row();
    PanelContour contour;
    const char *wrong = panel_shape(arena, &row, row.width_mm, &contour);
    if (wrong != NULL) {
        print_error("%s: %s\n", row.kind, wrong);
    }
    assert_null(wrong);
    PanelPoint at = {draw(-span_mm, span_mm), draw(-span_mm, span_mm)};
    return panel_contour_moved(arena, &contour, 0.0, at);
}

/* --- the other program -------------------------------------------------------------------------
 */

static GEOSGeometry *polygon_of(GEOSContextHandle_t geos, Arena *arena,
                                const PanelContour *contour) {
    size_t count = 0;
    for (uint32_t i = 0; i < contour->count; i++) {
        count += 4096;
    }
    PanelPoint *points = ARENA_ARRAY(arena, PanelPoint, count + 1);
    count = 0;
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *piece = &contour->pieces[i];
        uint32_t steps = 1;
        if (piece->arc) {
            /* A chord of angle a stands r (1 - cos(a / 2)) off its arc. */
            double step = 2.0 * acos(1.0 - FACET_MM / piece->radius_mm);
            steps = 1 + (uint32_t)(fabs(piece->sweep_rad) / step);
            assert_true(steps < 4096);
        }
        for (uint32_t k = 0; k < steps; k++) {
            points[count++] = panel_piece_at(piece, (double)k / steps);
        }
    }
    points[count++] = points[0];
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(geos, (unsigned)count, 2);
    for (unsigned i = 0; i < count; i++) {
        GEOSCoordSeq_setX_r(geos, sequence, i, points[i].u_mm);
        GEOSCoordSeq_setY_r(geos, sequence, i, points[i].v_mm);
    }
    return GEOSGeom_createPolygon_r(geos, GEOSGeom_createLinearRing_r(geos, sequence), NULL, 0);
}

static double geos_distance(GEOSContextHandle_t geos, const GEOSGeometry *a,
                            const GEOSGeometry *b) {
    double mm = NAN;
    assert_int_equal(GEOSDistance_r(geos, a, b, &mm), 1);
    return mm;
}

/* --- tests -------------------------------------------------------------------------------------
 */

static void distances_agree(void **state) {
    (void)state;
    GEOSContextHandle_t geos = GEOS_init_r();
    uint32_t apart = 0;
    for (int i = 0; i < 400; i++) {
        Arena arena = {0};
        PanelContour a = random_contour(&arena, 60);
        PanelContour b = random_contour(&arena, 60);
        GEOSGeometry *ga = polygon_of(geos, &arena, &a);
        GEOSGeometry *gb = polygon_of(geos, &arena, &b);
        PanelPoint on_a = {0, 0};
        PanelPoint on_b = {0, 0};
        double ours = panel_area_distance_mm(&a, &b, INFINITY, &on_a, &on_b);
        assert_near(ours, geos_distance(geos, ga, gb), BOTH_MM);
        assert_near(panel_area_distance_mm(&b, &a, INFINITY, NULL, NULL), ours, 1e-9);
        if (ours > 0) {
            apart++;
            assert_near(panel_distance_mm(on_a, on_b), ours, 1e-9);
            /* Looking no further than it is finds it; a little less finds nothing. */
            assert_near(panel_area_distance_mm(&a, &b, ours + 1e-6, NULL, NULL), ours, 1e-9);
            assert_true(isinf(panel_area_distance_mm(&a, &b, ours - 1e-6, NULL, NULL)));
        }
        GEOSGeom_destroy_r(geos, ga);
        GEOSGeom_destroy_r(geos, gb);
        arena_free(&arena);
    }
    assert_true(apart > 100 && apart < 390);
    GEOS_finish_r(geos);
}

static void areas_and_points_agree(void **state) {
    (void)state;
    GEOSContextHandle_t geos = GEOS_init_r();
    for (int i = 0; i < 200; i++) {
        Arena arena = {0};
        PanelContour a = random_contour(&arena, 30);
        GEOSGeometry *ga = polygon_of(geos, &arena, &a);
        double area = NAN;
        assert_int_equal(GEOSArea_r(geos, ga, &area), 1);
        assert_near(panel_contour_area_mm2(&a), area, FACET_MM * panel_contour_length_mm(&a));
        assert_int_equal(GEOSisValid_r(geos, ga), 1);
        assert_true(panel_contour_closed(&a));
        GEOSGeometry *middle = GEOSGetCentroid_r(geos, ga);
        double u = NAN;
        double v = NAN;
        GEOSGeomGetX_r(geos, middle, &u);
        GEOSGeomGetY_r(geos, middle, &v);
        assert_near(panel_contour_centroid(&a).u_mm, u, 10 * FACET_MM);
        assert_near(panel_contour_centroid(&a).v_mm, v, 10 * FACET_MM);
        for (int k = 0; k < 40; k++) {
            PanelPoint at = {draw(a.box.u0_mm - 2, a.box.u1_mm + 2),
                             draw(a.box.v0_mm - 2, a.box.v1_mm + 2)};
            if (k % 4 == 0) {
                at.v_mm = a.pieces[draw_below(a.count)].from.v_mm; /* level with a corner */
            }
            GEOSGeometry *point = GEOSGeom_createPointFromXY_r(geos, at.u_mm, at.v_mm);
            GEOSGeometry *edge = GEOSBoundary_r(geos, ga);
            if (geos_distance(geos, edge, point) > BOTH_MM) {
                if (panel_contour_holds(&a, at) != (GEOSContains_r(geos, ga, point) == 1)) {
                    print_error("(%.17g, %.17g) in a contour of %u pieces, the first from "
                                "(%.17g, %.17g)\n",
                                at.u_mm, at.v_mm, a.count, a.pieces[0].from.u_mm,
                                a.pieces[0].from.v_mm);
                    fail();
                }
            }
            GEOSGeom_destroy_r(geos, edge);
            GEOSGeom_destroy_r(geos, point);
        }
        GEOSGeom_destroy_r(geos, middle);
        GEOSGeom_destroy_r(geos, ga);
        arena_free(&arena);
    }
    GEOS_finish_r(geos);
}

/* The other program's buffer, with its own arcs as fine: areas agree, and no part of the edge lies
 * nearer to the old one than the offset. */
static void offsets_agree(void **state) {
    (void)state;
    GEOSContextHandle_t geos = GEOS_init_r();
    uint32_t made = 0;
    for (int i = 0; i < 200; i++) {
        Arena arena = {0};
        PanelContour a = random_contour(&arena, 30);
        double d = (i % 2 == 0 ? 1 : -1) * draw(0.05, 0.4);
        PanelContour moved;
        if (!panel_contour_offset(&arena, &a, d, &moved)) {
            assert_true(d < 0 || a.count > 1); /* a notch narrower than the offset */
            arena_free(&arena);
            continue;
        }
        made++;
        GEOSGeometry *ga = polygon_of(geos, &arena, &a);
        GEOSGeometry *buffer = GEOSBuffer_r(geos, ga, d, 512);
        double area = NAN;
        GEOSArea_r(geos, buffer, &area);
        double along_mm = panel_contour_length_mm(&a) + panel_contour_length_mm(&moved);
        assert_near(panel_contour_area_mm2(&moved), area, FACET_MM * along_mm);
        assert_near(panel_contour_distance_mm(&a, &moved, INFINITY, NULL, NULL), fabs(d), 1e-6);
        GEOSGeom_destroy_r(geos, buffer);
        GEOSGeom_destroy_r(geos, ga);
        arena_free(&arena);
    }
    print_message("%u of 200 offsets made\n", made);
    assert_true(made > 150);
    GEOS_finish_r(geos);
}

/* --- whole panels ------------------------------------------------------------------------------
 */

enum { ITEMS = 60 };

/* The library's own cutouts, thrown onto a sheet. */
static void random_panel(Job *job) {
    job_start(job);
    job_read_library(job);
    job_add(job, TABLE_job, "job,title,nominal_v,return_style\nr,random,14,structure\n");
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,cabin,60,-20,3000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,panel\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN,0,0,0,Z,M\n");
    job_add(job, TABLE_panel_face,
            "face,name,sheet,x_mm,y_mm,z_mm,kerf_by\nF,panel,alu-2.5,600,0,400,cutter\n");
    job_add(job, TABLE_outline,
            "face,contour,point,u_mm,v_mm,round_mm,mid_u_mm,mid_v_mm\n"
            "F,1,1,-500,0,,,\nF,1,2,500,0,,,\nF,1,3,500,250,,0,330\nF,1,4,-500,250,,,\n");
    Buffer rows = {.arena = &job->arena};
    buffer_text(&rows, "item,face,cutout,serves,u_mm,v_mm,rotation_deg\n");
    for (int i = 0; i < ITEMS; i++) {
        const CutoutRow *cutout =
            &job->set.cutout.rows[draw_below((uint32_t)job->set.cutout.count)];
        buffer_format(&rows, "I%d,F,%s,spare,%.2f,%.2f,%.0f\n", i, cutout->cutout, draw(-500, 500),
                      draw(0, 300), draw_below(3) == 0 ? draw(0, 359) : 0.0);
    }
    job_add(job, TABLE_mount, arena_text(&job->arena, rows.bytes, rows.length));
    job_check(job);
    assert_true(model_build(&job->arena, &job->set, &job->model, &job->findings));
    job->findings.count = 0;
}

static bool found_web(const Job *job, const char *a, const char *b) {
    const char *either = NULL;
    for (size_t i = 0; i < job->findings.count; i++) {
        const Finding *finding = &job->findings.rows[i];
        if (finding->rule == RULE_PANEL_WEB && text_has_word(finding->rows, a) &&
            text_has_word(finding->rows, b)) {
            either = finding->rows;
        }
    }
    return either != NULL;
}

static void webs_of_random_panels_agree(void **state) {
    (void)state;
    GEOSContextHandle_t geos = GEOS_init_r();
    uint32_t webs = 0;
    uint32_t edges = 0;
    for (int round = 0; round < 3; round++) {
        Job job;
        random_panel(&job);
        Panel panel;
        PanelChecks checks;
        assert_true(panel_read(&job.arena, &job.model, &panel, &job.findings));
        assert_int_equal(panel.item_count, ITEMS);
        panel_check(&job.arena, &panel, NULL, true, &checks, &job.findings);
        GEOSGeometry **polygons = ARENA_ARRAY(&job.arena, GEOSGeometry *, panel.hole_count);
        double *nearest[2] = {ARENA_ARRAY(&job.arena, double, panel.hole_count),
                              ARENA_ARRAY(&job.arena, double, panel.hole_count)};
        for (uint32_t i = 0; i < panel.hole_count; i++) {
            polygons[i] = polygon_of(geos, &job.arena, &panel.holes[i].contour);
            nearest[0][i] = INFINITY;
            nearest[1][i] = INFINITY;
        }
        for (uint32_t i = 0; i < panel.hole_count; i++) {
            for (uint32_t j = i + 1; j < panel.hole_count; j++) {
                double mm = geos_distance(geos, polygons[i], polygons[j]);
                bool openings =
                    panel.holes[i].kind == PANEL_OPENING && panel.holes[j].kind == PANEL_OPENING;
                double limit_mm = openings ? 5.0 : 2.5;
                double *to_i = &nearest[panel.holes[j].kind == PANEL_OPENING ? 0 : 1][i];
                double *to_j = &nearest[panel.holes[i].kind == PANEL_OPENING ? 0 : 1][j];
                *to_i = fmin(*to_i, mm);
                *to_j = fmin(*to_j, mm);
                const char *a = panel_hole_name(&panel, &job.arena, i);
                const char *b = panel_hole_name(&panel, &job.arena, j);
                if (mm < limit_mm - BOTH_MM) {
                    assert_true(found_web(&job, a, b));
                    webs++;
                } else if (mm > limit_mm + BOTH_MM) {
                    assert_false(found_web(&job, a, b));
                }
            }
        }
        GEOSGeometry *sheet = polygon_of(geos, &job.arena, &panel.faces[0].outline);
        GEOSGeometry *rim = GEOSBoundary_r(geos, sheet);
        for (size_t i = 0; i < checks.web_count; i++) {
            const PanelWeb *web = &checks.webs[i];
            if (web->to != PANEL_TO_EDGE) {
                assert_near(web->distance_mm,
                            nearest[web->to == PANEL_TO_OPENING ? 0 : 1][web->hole], BOTH_MM);
                continue;
            }
            edges++;
            bool within = GEOSContains_r(geos, sheet, polygons[web->hole]) == 1;
            double mm = within ? geos_distance(geos, rim, polygons[web->hole]) : 0.0;
            assert_near(web->distance_mm, mm, BOTH_MM);
        }
        assert_int_equal(checks.web_count, 3 * panel.hole_count);
        for (uint32_t i = 0; i < panel.hole_count; i++) {
            GEOSGeom_destroy_r(geos, polygons[i]);
        }
        GEOSGeom_destroy_r(geos, rim);
        GEOSGeom_destroy_r(geos, sheet);
        arena_free(&job.arena);
    }
    print_message("%u webs, %u edges\n", webs, edges);
    assert_true(webs > 100);
    GEOS_finish_r(geos);
}

int main(void) {
    seed = SEED;
    print_message("seed %u\n", seed);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(distances_agree),
        cmocka_unit_test(areas_and_points_agree),
        cmocka_unit_test(offsets_agree),
        cmocka_unit_test(webs_of_random_panels_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
