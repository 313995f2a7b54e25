/* The panel: reading it into curves and all its checks, against the same webs found pair by pair
 * between faceted polygons (chords within a hundredth of a millimetre of their arcs), in one run.
 * The example aircraft's panel of 67 items, then panels of the library's cutouts in rows, that grow
 * with their sheet. Both ways must find the same webs; large panels are not tried pair by pair.
 * Times are the least of several runs. What is gated is the work: pairs of contours measured may
 * not be more than MEASURED_MOST for each item, hole and legend, whatever the size; webs must be
 * found, the same both ways; the 60 items must take less than 5 ms. Else it ends with 1. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/panel_try.h"
#include "base/text.h"
#include "draw/panel_ink.h"
#include "panel/check.h"
#include "panel/suggest.h"

enum { RUNS = 30, PAIR_RUNS = 2, PAIR_HOLES = 300, MEASURED_MOST = 5 };

/* Millions of questions of a search for layouts; some seconds. */
static const double SUGGEST_WORK_MOST = 400.0;

/* Legends that were asked for before take less than this share. */
static const double INK_SHARE = 0.3;

static const double LIVE_S = 0.005; /* so that dragging feels live */

#define FACET_MM 0.01

static double now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

typedef struct Times {
    double read_s;
    double check_s;
    double figures_s;
    double pairs_s;
    size_t webs;
    size_t pair_webs;
    size_t measured;
    size_t things; /* items, holes, legends */
} Times;

/* --- plain geometry ----------------------------------------------------------------------------
 */

typedef struct Polygon {
    PanelPoint *points;
    uint32_t count;
} Polygon;

static Polygon facets(Arena *arena, const PanelContour *contour) {
    size_t capacity = 0;
    size_t count = 0;
    Polygon polygon = {0};
    for (uint32_t i = 0; i < contour->count; i++) {
        const PanelPiece *piece = &contour->pieces[i];
        uint32_t steps = 1;
        if (piece->arc) {
            double step = 2.0 * acos(1.0 - FACET_MM / piece->radius_mm);
            steps = 1 + (uint32_t)(fabs(piece->sweep_rad) / step);
        }
        for (uint32_t k = 0; k < steps; k++) {
            *ARENA_PUSH(arena, polygon.points, count, capacity) =
                panel_piece_at(piece, (double)k / steps);
        }
    }
    polygon.count = (uint32_t)count;
    return polygon;
}

static double point_segment_mm(PanelPoint p, PanelPoint a, PanelPoint b) {
    double du = b.u_mm - a.u_mm;
    double dv = b.v_mm - a.v_mm;
    double t = ((p.u_mm - a.u_mm) * du + (p.v_mm - a.v_mm) * dv) / (du * du + dv * dv);
    t = fmax(0.0, fmin(1.0, t));
    return hypot(p.u_mm - a.u_mm - t * du, p.v_mm - a.v_mm - t * dv);
}

static double polygons_mm(const Polygon *a, const Polygon *b) {
    double least_mm = INFINITY;
    for (uint32_t i = 0; i < a->count; i++) {
        PanelPoint a0 = a->points[i];
        PanelPoint a1 = a->points[(i + 1) % a->count];
        for (uint32_t j = 0; j < b->count; j++) {
            PanelPoint b0 = b->points[j];
            PanelPoint b1 = b->points[(j + 1) % b->count];
            least_mm =
                fmin(least_mm, fmin(point_segment_mm(a0, b0, b1), point_segment_mm(b0, a0, a1)));
        }
    }
    return least_mm;
}

/* Webs and edges that are too thin, every pair measured. */
static size_t pairs(Arena *arena, const Panel *panel) {
    size_t thin = 0;
    Polygon *polygons = ARENA_ARRAY(arena, Polygon, panel->hole_count);
    for (uint32_t i = 0; i < panel->hole_count; i++) {
        polygons[i] = facets(arena, &panel->holes[i].contour);
    }
    for (uint32_t i = 0; i < panel->hole_count; i++) {
        const PanelHole *hole = &panel->holes[i];
        double thickness_mm = panel->faces[hole->face].thickness_mm;
        for (uint32_t j = i + 1; j < panel->hole_count; j++) {
            const PanelHole *other = &panel->holes[j];
            bool openings = hole->kind == PANEL_OPENING && other->kind == PANEL_OPENING;
            double limit_mm = (openings ? 2.0 : 1.0) * thickness_mm;
            if (hole->face == other->face && polygons_mm(&polygons[i], &polygons[j]) < limit_mm) {
                thin++;
            }
        }
    }
    return thin;
}

/* --- ours --------------------------------------------------------------------------------------
 */

static void run_panel(const Model *model, const Supply *supply, const PanelInk *ink, Times *times,
                      uint32_t counts[2]) {
    *times = (Times){
        .read_s = INFINITY, .check_s = INFINITY, .figures_s = INFINITY, .pairs_s = INFINITY};
    for (int run = 0; run < RUNS; run++) {
        Arena arena = {0};
        Findings findings = {.arena = &arena};
        Panel panel;
        PanelChecks checks;
        double start_s = now_s();
        panel_read(&arena, model, &panel, &findings);
        panel.ink = ink;
        double read_s = now_s();
        panel_check(&arena, &panel, supply, false, &checks, &findings);
        double check_s = now_s();
        times->measured = checks.measured;
        times->things = (size_t)panel.item_count + panel.hole_count + panel.text_count;
        times->webs = 0;
        for (size_t i = 0; i < findings.count; i++) {
            times->webs += findings.rows[i].rule == RULE_PANEL_WEB;
        }
        findings.count = 0;
        panel_check(&arena, &panel, supply, true, &checks, &findings);
        double figures_s = now_s();
        times->read_s = fmin(times->read_s, read_s - start_s);
        times->check_s = fmin(times->check_s, check_s - read_s);
        times->figures_s = fmin(times->figures_s, figures_s - check_s);
        counts[0] = panel.item_count;
        counts[1] = panel.hole_count;
        if (run < PAIR_RUNS && panel.hole_count <= PAIR_HOLES) {
            double pair_s = now_s();
            times->pair_webs = pairs(&arena, &panel);
            times->pairs_s = fmin(times->pairs_s, now_s() - pair_s);
        }
        arena_free(&arena);
    }
}

/* False when a gate is passed. */
static bool print_times(const char *name, const Times *times, const uint32_t counts[2]) {
    double all_s = times->read_s + times->check_s;
    printf("%-14s %6u %6u %9.3f %9.3f %9.3f %9.3f %9zu", name, counts[0], counts[1],
           1e3 * times->read_s, 1e3 * times->check_s, 1e3 * all_s, 1e3 * times->figures_s,
           times->measured);
    bool compared = counts[1] <= PAIR_HOLES;
    if (compared) {
        printf(" %11.3f %8.0f", 1e3 * times->pairs_s, times->pairs_s / times->check_s);
    } else {
        printf(" %11s %8s", "-", "-");
    }
    bool same = !compared || times->webs == times->pair_webs;
    bool little = times->measured <= MEASURED_MOST * times->things;
    bool live = counts[0] > 70 || all_s < LIVE_S;
    printf(" %6zu%s%s%s\n", times->webs, same ? "" : "  DIFFERENT WEBS",
           little ? "" : "  TOO MUCH MEASURED", live ? "" : "  TOO SLOW");
    fflush(stdout);
    return same && little && live;
}

typedef struct Job {
    Arena arena;
    TableSet set;
    Findings findings;
    Model model;
} Job;

static void job_add(Job *job, TableId table, const char *text) {
    table_read_text(&job->arena, "bench", table, text, strlen(text), &job->set, &job->findings);
}

static void job_start(Job *job) {
    *job = (Job){0};
    job->findings.arena = &job->arena;
    Status status = table_read_folder(&job->arena, MARLING_SOURCE_DIR "/library", GROUP_LIBRARY,
                                      &job->set, &job->findings);
    if (status.failed) {
        fprintf(stderr, "bench: %s\n", status.text);
        exit(2);
    }
}

/* Rows of the library's small cutouts, 28 mm apart, every tenth nearer than its web allows. */
static void grow(Job *job, uint32_t items) {
    uint32_t columns = (uint32_t)ceil(sqrt(3.0 * items));
    uint32_t rows = (items + columns - 1) / columns;
    static const char *const cutouts[] = {"toggle-keyed", "breaker-11", "toggle-dee", "breaker-dee",
                                          "lamp-5"};
    job_start(job);
    job_add(job, TABLE_job, "job,title,nominal_v,return_style\nr,random,14,structure\n");
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,cabin,60,-20,3000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,panel\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN,0,0,0,Z,M\n");
    job_add(job, TABLE_seat, "seat,eye_x_mm,eye_y_mm,eye_z_mm\nP,1300,0,1000\n");
    job_add(job, TABLE_panel_face,
            "face,name,sheet,x_mm,y_mm,z_mm,seat,kerf_by\nF,panel,alu-2.5,600,0,400,P,cutter\n");
    Buffer text = {.arena = &job->arena};
    buffer_format(&text,
                  "face,contour,point,u_mm,v_mm\nF,1,1,0,0\nF,1,2,%u,0\nF,1,3,%u,%u\nF,1,4,0,%u\n",
                  28 * (columns + 1), 28 * (columns + 1), 28 * (rows + 1), 28 * (rows + 1));
    job_add(job, TABLE_outline, arena_text(&job->arena, text.bytes, text.length));
    text.length = 0;
    buffer_text(&text, "item,face,cutout,serves,u_mm,v_mm\n");
    for (uint32_t i = 0; i < items; i++) {
        double nearer_mm = i % 10 == 9 ? 15.0 : 0.0;
        buffer_format(&text, "I%u,F,%s,spare,%.1f,%u\n", i, cutouts[i % 5],
                      28.0 * (i % columns + 1) - nearer_mm, 28 * (i / columns + 1));
    }
    job_add(job, TABLE_mount, arena_text(&job->arena, text.bytes, text.length));
    table_check(&job->arena, &job->set, &job->findings);
    model_build(&job->arena, &job->set, &job->model, &job->findings);
}

/* Layouts from the places that there are. The questions asked on the way are the same on every
 * machine; false when there are too many, or fewer than three layouts that truly differ. */
static bool run_suggest(const char *name, const Model *model, const PanelInk *ink, Arena *arena) {
    Findings findings = {.arena = arena};
    Suggest suggest;
    SuggestOptions options = {.seed = 1, .ink = ink};
    double start_s = now_s();
    panel_suggest(arena, model, &options, &suggest, &findings);
    double took_s = now_s() - start_s;
    double work = (double)suggest.work / 1e6;
    bool good = work <= SUGGEST_WORK_MOST && suggest.legal && suggest.count == SUGGEST_BEST;
    printf(
        "suggest: %-14s %4u items, %3u layouts built, %u proposed, best score %6.1f, others differ "
        "in",
        name, suggest.panel.item_count, suggest.tried, suggest.count,
        suggest.count == 0 ? (double)NAN : suggest.best[0].score);
    for (uint32_t i = 1; i < suggest.count; i++) {
        printf(" %2.0f %%", 100.0 * suggest.best[i].differs);
    }
    printf(": %6.1f million questions, %.2f s%s\n", work, took_s,
           good ? "" : "  NOT AS IT SHOULD BE");
    fflush(stdout);
    return good;
}

/* Outlines of letters, found by typefaces that never saw them and by some that did: as in an edit.
 * False when remembering them is not worth it. */
static bool run_ink(const Model *model) {
    DrawFonts *fonts = fonts_open();
    double first_s = 0.0;
    double again_s = INFINITY;
    for (int run = 0; run < RUNS; run++) {
        Arena arena = {0};
        double start_s = now_s();
        panel_ink(&arena, fonts, model);
        double took_s = now_s() - start_s;
        first_s = run == 0 ? took_s : first_s;
        again_s = run == 0 ? again_s : fmin(again_s, took_s);
        arena_free(&arena);
    }
    fonts_close(fonts);
    bool good = again_s < INK_SHARE * first_s;
    printf("ink: %zu legends in %.3f ms, again in %.3f ms%s\n", model->set->legend.count,
           1e3 * first_s, 1e3 * again_s, good ? "" : "  NOT REMEMBERED");
    return good;
}

/* What a drag costs: an item moved, its legend with it, everything checked, nothing written. */
static void run_try(const Proof *proof) {
    double least_s = INFINITY;
    size_t found = 0;
    for (int run = 0; run < RUNS; run++) {
        Arena arena = {0};
        PanelMove move = {"SBY", -462.0 - 0.5 * run, NAN, NAN, INT_BLANK};
        PanelChange change = {.moves = &move, .move_count = 1};
        PanelTry tried;
        double start_s = now_s();
        panel_try(&arena, proof, &change, &tried);
        least_s = fmin(least_s, now_s() - start_s);
        found += tried.new_count;
        arena_free(&arena);
    }
    printf("try: one item moved, checked and compared in %.3f ms (%zu new findings in %d moves)\n",
           1e3 * least_s, found, RUNS);
}

int main(void) {
    printf("%-14s %6s %6s %9s %9s %9s %9s %9s %11s %8s %6s\n", "panel", "items", "holes", "read ms",
           "check ms", "both ms", "figures", "measured", "pairs ms", "x", "webs");
    bool good = true;
    Times times;
    uint32_t counts[2];
    Proof proof;
    ProofOptions options = {
        .library = MARLING_SOURCE_DIR "/library", .no_results = true, .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    run_panel(&proof.model, &proof.supply, proof.panel.ink, &times, counts);
    good = print_times("osier_mended", &times, counts) && good;
    good = run_ink(&proof.model) && good;
    run_try(&proof);
    good = run_suggest("osier_mended", &proof.model, proof.panel.ink, &proof.arena) && good;
    proof_free(&proof);
    static const uint32_t sizes[] = {60, 200, 400, 1000, 4000};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        Job job;
        grow(&job, sizes[i]);
        run_panel(&job.model, NULL, NULL, &times, counts);
        good = print_times("rows", &times, counts) && good;
        good = times.webs > 0 && good; /* else nothing was compared */
        if (sizes[i] <= 1000) {
            good = run_suggest("rows", &job.model, NULL, &job.arena) && good;
        }
        arena_free(&job.arena);
    }
    return good ? 0 : 1;
}
