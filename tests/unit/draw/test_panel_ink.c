/* Ink of legends: the same whether the typefaces were asked for it before or not, after they forgot
 * it, and after they were closed; words of another height or other words have ink of their own. */
#include "draw/panel_ink.h"

#include "support/job.h"
#include "near.h"

static const char LEGENDS[] =
    "legend,face,item,text,u_mm,v_mm,letter_mm,kind,symbol,width_mm,height_mm\n"
    "A,F,,MASTER,10,10,5,normal,,,\n"
    "B,F,,MASTER,60,10,5,normal,,,\n"
    "C,F,,MASTER,10,30,6,normal,,,\n"
    "D,F,,UP|DOWN,60,30,5,normal,,,\n"
    "E,F,,,10,50,,normal,dot,4,\n"
    "G,F,,,60,50,,normal,frame,20,10\n";

enum { A, B, C, D, E, G, LEGEND_COUNT };

static void make_job(Job *job) {
    job_start(job);
    job_read_library(job);
    job_add(job, TABLE_job, "job,title,nominal_v,return_style\nr,ink,14,structure\n");
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,cabin,60,-20,3000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,panel\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN,0,0,0,Z,M\n");
    job_add(job, TABLE_legend, LEGENDS);
    assert_true(model_build(&job->arena, &job->set, &job->model, &job->findings));
    assert_int_equal(job->set.legend.count, LEGEND_COUNT);
}

static bool same_point(PanelPoint a, PanelPoint b) {
    return a.u_mm == b.u_mm && a.v_mm == b.v_mm;
}

static bool same_ink(const PanelInk *a, const PanelInk *b) {
    bool same = a->count == b->count && a->hollow == b->hollow && a->box.u0_mm == b->box.u0_mm &&
                a->box.u1_mm == b->box.u1_mm && a->box.v0_mm == b->box.v0_mm &&
                a->box.v1_mm == b->box.v1_mm;
    for (uint32_t i = 0; same && i < a->count; i++) {
        const PanelContour *one = &a->contours[i];
        const PanelContour *other = &b->contours[i];
        same = one->count == other->count;
        for (uint32_t k = 0; same && k < one->count; k++) {
            const PanelPiece *p = &one->pieces[k];
            const PanelPiece *q = &other->pieces[k];
            same = same_point(p->from, q->from) && same_point(p->to, q->to) && p->arc == q->arc &&
                   same_point(p->centre, q->centre) && p->radius_mm == q->radius_mm &&
                   p->start_rad == q->start_rad && p->sweep_rad == q->sweep_rad &&
                   p->box.u0_mm == q->box.u0_mm && p->box.v1_mm == q->box.v1_mm;
        }
    }
    return same;
}

static void ink_is_the_same_whoever_asked_before(void **state) {
    (void)state;
    Job job;
    make_job(&job);
    DrawFonts *fonts = fonts_open();
    const PanelInk *first = panel_ink(&job.arena, fonts, &job.model);
    const PanelInk *again = panel_ink(&job.arena, fonts, &job.model);
    fonts_trim(fonts, 0); /* they forget all */
    const PanelInk *anew = panel_ink(&job.arena, fonts, &job.model);
    const PanelInk *last = panel_ink(&job.arena, fonts, &job.model);
    fonts_close(fonts); /* ink is no longer theirs */
    DrawFonts *others = fonts_open();
    const PanelInk *other = panel_ink(&job.arena, others, &job.model);
    fonts_close(others);
    for (int i = 0; i < LEGEND_COUNT; i++) {
        assert_true(first[i].count > 0);
        assert_true(same_ink(&first[i], &again[i]));
        assert_true(same_ink(&first[i], &anew[i]));
        assert_true(same_ink(&first[i], &last[i]));
        assert_true(same_ink(&first[i], &other[i]));
        assert_ptr_not_equal(first[i].contours, again[i].contours);
        assert_ptr_not_equal(first[i].contours[0].pieces, again[i].contours[0].pieces);
    }
    arena_free(&job.arena);
}

static void words_and_height_make_ink(void **state) {
    (void)state;
    Job job;
    make_job(&job);
    DrawFonts *fonts = fonts_open();
    const PanelInk *ink = panel_ink(&job.arena, fonts, &job.model);
    assert_true(same_ink(&ink[A], &ink[B]));
    assert_false(same_ink(&ink[A], &ink[C]));
    assert_int_equal(ink[A].count, 6); /* letters; the holes in A and R are left out */
    assert_near((ink[C].box.v1_mm - ink[C].box.v0_mm) / (ink[A].box.v1_mm - ink[A].box.v0_mm), 1.2,
                1e-6);
    assert_int_equal(ink[D].count, 6);
    assert_true(ink[G].hollow);
    /* One word of the job is another now: its ink is, and no other. */
    job.set.legend.rows[B].text = "MASTERS";
    const PanelInk *changed = panel_ink(&job.arena, fonts, &job.model);
    assert_int_equal(changed[B].count, 7);
    for (int i = 0; i < LEGEND_COUNT; i++) {
        assert_true(i == B || same_ink(&ink[i], &changed[i]));
    }
    fonts_close(fonts);
    arena_free(&job.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ink_is_the_same_whoever_asked_before),
        cmocka_unit_test(words_and_height_make_ink),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
