/* Wiring diagrams: crossings, bends and length of wire per sheet, ours against a plain barycentre
 * layout (barycentre sweeps, ports sorted by their neighbours, left-edge tracks under the same
 * constraints) on the very same sheets in the same run; and what planning and drawing cost for the
 * examples and for grown jobs. Counts come from the display lists (draw/measure.h). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/draw.h"
#include "draw/measure.h"
#include "draw/wiring.h"
#include "support/job_grow.h"

static double now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

typedef struct Sum {
    size_t crossings;
    size_t bends;
    double wire_mm;
    size_t wires;
} Sum;

static void add(Sum *sum, const Measure *measure) {
    sum->crossings += measure->crossings;
    sum->bends += measure->bends;
    sum->wire_mm += measure->wire_mm;
    sum->wires += measure->wires;
}

static void measure_sheet(const SheetPlan *plan, uint32_t index, bool plain, Measure *measure,
                          size_t *bytes) {
    Arena page = {0};
    DrawList list;
    DrawBox field = sheet_field(plan->view->paper);
    if (plain) {
        draw_start(&list, &page, plan->fonts, paper_width_mm(plan->view->paper),
                   paper_height_mm(plan->view->paper));
        wiring_draw_plain(plan, &plan->sheets[index], field, &list);
    } else {
        sheet_draw(plan, index, &page, false, &list);
    }
    draw_measure(&page, &list, field, measure);
    *bytes = page.used_bytes > *bytes ? page.used_bytes : *bytes;
    arena_free(&page);
}

/* One job on A3; with `each` a line for every sheet. */
static void run_job(const char *name, Proof *proof, DrawFonts *fonts, bool each) {
    Arena arena = {0};
    DrawView view;
    const char *problem;
    if (!draw_view_build(&arena, proof, &(DrawChoice){.paper = "A3"}, &view, &problem)) {
        fprintf(stderr, "bench: %s\n", problem);
        exit(2);
    }
    Findings findings = {.arena = &arena};
    SheetPlan plan = {.arena = &arena, .fonts = fonts, .view = &view, .findings = &findings};
    double start_s = now_s();
    wiring_plan(&plan);
    double plan_s = now_s() - start_s;
    Sum ours = {0};
    Sum plain = {0};
    size_t bytes = 0;
    size_t plain_bytes = 0;
    start_s = now_s();
    for (uint32_t i = 0; i < plan.count; i++) {
        Arena page = {0};
        DrawList list;
        sheet_draw(&plan, i, &page, false, &list);
        arena_free(&page);
    }
    double draw_s = now_s() - start_s;
    size_t worse = 0;
    for (uint32_t i = 0; i < plan.count && plan.count < 200; i++) {
        Measure mine;
        Measure theirs;
        measure_sheet(&plan, i, false, &mine, &bytes);
        measure_sheet(&plan, i, true, &theirs, &plain_bytes);
        add(&ours, &mine);
        add(&plain, &theirs);
        worse += mine.crossings + mine.bends > theirs.crossings + theirs.bends ? 1 : 0;
        if (each) {
            printf("  %-34s %5zu %9zu %9zu %9zu %9zu\n", plan.sheets[i].name, mine.wires,
                   mine.crossings, theirs.crossings, mine.bends, theirs.bends);
        }
    }
    if (ours.wires > 0) {
        printf("  %-34s %5zu %9zu %9zu %9zu %9zu   wire %.1f m, plain %.1f m; %zu sheets worse\n",
               name, ours.wires, ours.crossings, plain.crossings, ours.bends, plain.bends,
               ours.wire_mm / 1000.0, plain.wire_mm / 1000.0, worse);
    }
    printf("  %-34s %5u wires, %zu sheets, planned in %.1f ms, drawn in %.1f ms (%.2f ms a sheet)",
           name, view.wiring->conductor_count, plan.count, 1e3 * plan_s, 1e3 * draw_s,
           1e3 * draw_s / (double)plan.count);
    if (bytes > 0) {
        printf(", at most %.0f kB for one sheet", (double)bytes / 1e3);
    }
    printf("\n");
    arena_free(&arena);
}

static void run_grown(size_t size, DrawFonts *fonts) {
    Proof example = {0};
    Proof proof = {0};
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    example.findings.arena = &example.arena;
    Status library = table_read_folder(&example.arena, options.library, GROUP_LIBRARY, &example.set,
                                       &example.findings);
    Status job = table_read_folder(&example.arena, MARLING_SOURCE_DIR "/examples/osier", GROUP_JOB,
                                   &example.set, &example.findings);
    if (library.failed || job.failed) {
        fprintf(stderr, "bench: %s\n", library.failed ? library.text : job.text);
        exit(2);
    }
    table_check(&example.arena, &example.set, &example.findings);
    job_grow(&proof.arena, &example.set, size, 1, &proof.set);
    proof_run_set(&options, &proof);
    char name[32];
    snprintf(name, sizeof name, "grown, %zu", size);
    run_job(name, &proof, fonts, false);
    proof_free(&proof);
    arena_free(&example.arena);
}

int main(void) {
    static const char *const JOBS[] = {"first", "osier_mended"};
    DrawFonts *fonts = fonts_open();
    printf("wiring diagrams on A3: ours | plain barycentre, on the same sheets\n");
    printf("  %-34s %5s %9s %9s %9s %9s\n", "sheet", "wires", "crossings", "plain", "bends",
           "plain");
    for (size_t i = 0; i < sizeof JOBS / sizeof *JOBS; i++) {
        Proof proof;
        ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
        Arena scratch = {0};
        proof_run(arena_format(&scratch, "%s/examples/%s", MARLING_SOURCE_DIR, JOBS[i]), &options,
                  &proof);
        run_job(JOBS[i], &proof, fonts, true);
        proof_free(&proof);
        arena_free(&scratch);
    }
    run_grown(1000, fonts);
    run_grown(5000, fonts);
    fonts_close(fonts);
    return 0;
}
