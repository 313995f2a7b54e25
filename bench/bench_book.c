/* What the book costs. First the example's: planning, recording the display lists, and writing the
 * PDF, by kind of sheet; and beside it, on the same lists in the same run, what it would cost to
 * hand every text to pango again whenever it is drawn instead of keeping its glyphs (draw/font.h).
 * Then grown jobs (tests/support/job_grow.h), one process each: the largest page and the memory
 * that drawing adds must stay as they are while pages grow, and time must grow as the job does. */
#include <cairo-pdf.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "app/draw.h"
#include "draw/sheets.h"
#include "out/paint.h"
#include "out/pdf.h"
#include "support/job_grow.h"

enum { SIZE_COUNT = 4, RUNS = 5 };
static const size_t SIZES[SIZE_COUNT] = {0, 500, 1600, 5000}; /* 0: the example */

static const char *const KIND_NAMES[] = {
#define KIND_NAME(id, plan, draw) #id,
    SHEET_KINDS(KIND_NAME)
#undef KIND_NAME
};

typedef struct KindMeasure {
    size_t sheets;
    size_t items;
    double record_s;
    double write_s;
} KindMeasure;

typedef struct Measure {
    size_t conductors;
    size_t sheets;
    size_t items;
    size_t texts;
    double prove_s;
    double plan_s;
    double record_s; /* display lists of all sheets */
    double write_s;  /* PDF pages from them */
    double pdf_bytes;
    size_t most_items;    /* of a sheet */
    size_t most_bytes;    /* of a sheet's arena: list, texts of its own, layout */
    size_t plan_bytes;    /* kept from planning to the end */
    double proved_bytes;  /* peak of the process before anything is drawn */
    double planned_bytes; /* and after planning */
    double half_bytes;    /* and after half of the sheets */
    double peak_bytes;    /* and at the end */
    KindMeasure kinds[SHEET_KIND_COUNT];
} Measure;

/* Processor time, so that what else the machine does is not counted; drawing has one thread. */
static double now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double peak_bytes(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss * 1024.0;
}

/* --- jobs ---------------------------------------------------------------------------------------
 */

static void read_folder(Arena *arena, const char *path, TableGroup group, TableSet *set,
                        Findings *findings) {
    Status status = table_read_folder(arena, path, group, set, findings);
    if (status.failed) {
        fprintf(stderr, "bench: %s\n", status.text);
        exit(2);
    }
}

static void prove(size_t size, Arena *example, Proof *proof) {
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library"};
    if (size == 0) {
        proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, proof);
    } else {
        TableSet set = {0};
        Findings findings = {.arena = example};
        read_folder(example, options.library, GROUP_LIBRARY, &set, &findings);
        read_folder(example, MARLING_SOURCE_DIR "/examples/osier", GROUP_JOB, &set, &findings);
        table_check(example, &set, &findings);
        job_grow(&proof->arena, &set, size, 1, &proof->set);
        proof_run_set(&options, proof);
    }
    if (!proof->complete) {
        fprintf(stderr, "bench: the job of %zu conductors did not run to the end\n", size);
        exit(2);
    }
}

static void build_view(Arena *arena, Proof *proof, DrawView *view) {
    const char *problem;
    if (!draw_view_build(arena, proof, &(DrawChoice){0}, view, &problem)) {
        fprintf(stderr, "bench: %s\n", problem);
        exit(2);
    }
}

/* --- a book, timed ------------------------------------------------------------------------------
 */

static void count_texts(const DrawList *list, Measure *measure) {
    for (size_t i = 0; i < list->count; i++) {
        measure->texts += list->items[i].kind == DRAW_TEXT;
    }
}

/* Plans and draws the book as app/book.c does, and forgets it. Overwrites all of `measure` but what
 * the proof said. */
static void draw_book(const DrawView *view, Measure *measure) {
    char path[] = "bench-book-XXXXXX"; /* where the bench was started */
    int file = mkstemp(path);
    if (file < 0) {
        fprintf(stderr, "bench: cannot write %s\n", path);
        exit(2);
    }
    close(file);
    *measure = (Measure){.conductors = measure->conductors,
                         .prove_s = measure->prove_s,
                         .proved_bytes = measure->proved_bytes};
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    SheetPlan plan;
    double start_s = now_s();
    DrawFonts *fonts = fonts_open();
    sheets_plan(&arena, fonts, view, &plan, &findings);
    measure->plan_s = now_s() - start_s;
    measure->plan_bytes = arena.used_bytes;
    measure->planned_bytes = peak_bytes();
    measure->sheets = plan.count;
    Pdf *pdf = pdf_open(&arena, path, &(PdfMeta){"bench", "bench", "", "bench"});
    for (uint32_t i = 0; i < plan.count; i++) {
        KindMeasure *kind = &measure->kinds[plan.sheets[i].kind];
        Arena page = {0};
        DrawList list;
        double begun_s = now_s();
        sheet_draw(&plan, i, &page, false, &list);
        double recorded_s = now_s();
        pdf_page(pdf, &list, plan.sheets[i].part, plan.sheets[i].title);
        double written_s = now_s();
        kind->sheets++;
        kind->items += list.count;
        kind->record_s += recorded_s - begun_s;
        kind->write_s += written_s - recorded_s;
        measure->items += list.count;
        measure->record_s += recorded_s - begun_s;
        measure->write_s += written_s - recorded_s;
        count_texts(&list, measure);
        measure->most_items = list.count > measure->most_items ? list.count : measure->most_items;
        measure->most_bytes =
            page.used_bytes > measure->most_bytes ? page.used_bytes : measure->most_bytes;
        arena_free(&page);
        fonts_trim(fonts, (size_t)16 << 20); /* as app/book.c does */
        if (i == plan.count / 2) {
            measure->half_bytes = peak_bytes();
        }
    }
    double closing_s = now_s();
    Status status = pdf_close(pdf, NULL);
    measure->write_s += now_s() - closing_s;
    struct stat written;
    if (status.failed || stat(path, &written) != 0) {
        fprintf(stderr, "bench: %s\n", status.text);
        exit(2);
    }
    measure->pdf_bytes = (double)written.st_size;
    unlink(path);
    fonts_close(fonts);
    arena_free(&arena);
    measure->peak_bytes = peak_bytes();
}

static double draw_s(const Measure *measure) {
    return measure->plan_s + measure->record_s + measure->write_s;
}

static void measure_size(size_t size, Measure *best) {
    Arena example = {0};
    Arena arena = {0};
    Proof proof = {0};
    DrawView view;
    Measure measure = {0};
    double start_s = now_s();
    prove(size, &example, &proof);
    measure.prove_s = now_s() - start_s;
    measure.conductors = proof.wiring.conductor_count;
    build_view(&arena, &proof, &view);
    measure.proved_bytes = peak_bytes();
    /* Memory is the first run's: later ones find the peak of the one before. */
    for (int run = 0; run < (size > 1000 ? 2 : RUNS); run++) {
        draw_book(&view, &measure);
        if (run == 0) {
            *best = measure;
        } else if (draw_s(&measure) < draw_s(best)) {
            measure.planned_bytes = best->planned_bytes;
            measure.half_bytes = best->half_bytes;
            measure.peak_bytes = best->peak_bytes;
            *best = measure;
        }
    }
    proof_free(&proof);
    arena_free(&example);
    arena_free(&arena);
}

/* Runs one size in a process of its own, so that peak memory is that size's own. */
static bool measure_apart(size_t size, Measure *measure) {
    int ends[2];
    if (pipe(ends) != 0) {
        return false;
    }
    fflush(stdout);
    pid_t child = fork();
    if (child == 0) {
        Measure own = {0};
        measure_size(size, &own);
        ssize_t sent = write(ends[1], &own, sizeof own);
        _exit(sent == (ssize_t)sizeof own ? 0 : 1);
    }
    close(ends[1]);
    ssize_t got = read(ends[0], measure, sizeof *measure);
    close(ends[0]);
    int status = 0;
    waitpid(child, &status, 0);
    return got == (ssize_t)sizeof *measure && WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

/* --- against shaping at every drawing -----------------------------------------------------------
 */

static cairo_status_t swallow(void *context, const unsigned char *bytes, unsigned length) {
    (void)bytes;
    *(size_t *)context += length;
    return CAIRO_STATUS_SUCCESS;
}

/* A layout of the face and size that draw/font.c uses, so that glyphs come out alike. */
static PangoLayout *open_layout(PangoContext *context, bool bold) {
    PangoFontDescription *face = pango_font_description_from_string("B612, DejaVu Sans");
    pango_font_description_set_weight(face, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(face, 200.0 * PANGO_SCALE);
    PangoLayout *layout = pango_layout_new(context);
    pango_layout_set_font_description(layout, face);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    pango_font_description_free(face);
    return layout;
}

static void paint_shaping(cairo_t *cairo, PangoLayout *const layouts[2], DrawList *list) {
    paint_list(cairo, list, true); /* lines and areas: the texts are taken out of this list */
    for (size_t i = 0; i < list->count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->text == NULL || item->shaped == NULL) {
            continue;
        }
        PangoLayout *layout = layouts[item->bold ? 1 : 0];
        pango_layout_set_text(layout, item->text, -1);
        cairo_save(cairo);
        cairo_translate(cairo, item->origin.x_mm, item->origin.y_mm);
        if (item->turned) {
            cairo_rotate(cairo, -acos(0.0));
        }
        double size_mm = fonts_size_mm(list->fonts, item->height_mm) / 200.0;
        cairo_scale(cairo, size_mm, size_mm);
        cairo_set_source_rgb(cairo, (double)(item->rgb >> 16 & 0xFFu) / 255.0,
                             (double)(item->rgb >> 8 & 0xFFu) / 255.0,
                             (double)(item->rgb & 0xFFu) / 255.0);
        cairo_move_to(cairo, 0.0, 0.0);
        pango_cairo_show_layout_line(cairo, pango_layout_get_line_readonly(layout, 0));
        cairo_restore(cairo);
    }
}

/* The same list with its texts turned to anchors, which no painter paints. */
static DrawList without_texts(Arena *arena, const DrawList *list) {
    DrawList copy = *list;
    copy.items = ARENA_ARRAY(arena, DrawItem, list->count);
    memcpy(copy.items, list->items, list->count * sizeof *list->items);
    for (size_t i = 0; i < copy.count; i++) {
        if (copy.items[i].kind == DRAW_TEXT) {
            copy.items[i].kind = DRAW_ANCHOR;
        }
    }
    return copy;
}

static double replay_s(const DrawList *lists, DrawList *bare, size_t count, bool kept) {
    PangoFontMap *map = pango_cairo_font_map_new();
    pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(map), 72.0);
    PangoContext *context = pango_font_map_create_context(map);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(context, options);
    cairo_font_options_destroy(options);
    PangoLayout *const layouts[2] = {open_layout(context, false), open_layout(context, true)};
    size_t bytes = 0;
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(swallow, &bytes, 100.0, 100.0);
    cairo_t *cairo = cairo_create(surface);
    double start_s = now_s();
    for (size_t i = 0; i < count; i++) {
        double points = 72.0 / 25.4;
        cairo_pdf_surface_set_size(surface, lists[i].width_mm * points,
                                   lists[i].height_mm * points);
        cairo_identity_matrix(cairo);
        cairo_scale(cairo, points, points);
        if (kept) {
            paint_list(cairo, &lists[i], true);
        } else {
            paint_shaping(cairo, layouts, &bare[i]);
        }
        cairo_show_page(cairo);
    }
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    double took_s = now_s() - start_s;
    cairo_surface_destroy(surface);
    g_object_unref(layouts[0]);
    g_object_unref(layouts[1]);
    g_object_unref(context);
    g_object_unref(map);
    return took_s;
}

/* Shaping every text of the lists once, in fonts that know none yet. */
static double shape_once_s(const DrawList *lists, size_t count) {
    DrawFonts *fonts = fonts_open();
    double start_s = now_s();
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < lists[i].count; k++) {
            const DrawItem *item = &lists[i].items[k];
            if (item->kind == DRAW_TEXT) {
                fonts_shape(fonts, item->text, item->bold);
            }
        }
    }
    double took_s = now_s() - start_s;
    fonts_close(fonts);
    return took_s;
}

static void compare_shaping(void) {
    Arena arena = {0};
    Proof proof = {0};
    DrawView view;
    prove(0, &arena, &proof);
    build_view(&arena, &proof, &view);
    DrawFonts *fonts = fonts_open();
    Findings findings = {.arena = &arena};
    SheetPlan plan;
    sheets_plan(&arena, fonts, &view, &plan, &findings);
    DrawList *lists = ARENA_ARRAY(&arena, DrawList, plan.count);
    DrawList *bare = ARENA_ARRAY(&arena, DrawList, plan.count);
    for (uint32_t i = 0; i < plan.count; i++) {
        sheet_draw(&plan, i, &arena, false, &lists[i]);
        bare[i] = without_texts(&arena, &lists[i]);
    }
    double once_s = INFINITY;
    double kept_s = INFINITY;
    double anew_s = INFINITY;
    for (int run = 0; run < RUNS; run++) {
        once_s = fmin(once_s, shape_once_s(lists, plan.count));
        kept_s = fmin(kept_s, replay_s(lists, bare, plan.count, true));
        anew_s = fmin(anew_s, replay_s(lists, bare, plan.count, false));
    }
    double pages = (double)plan.count;
    printf("\nthe same %zu display lists written as PDF, best of %d:\n", plan.count, (int)RUNS);
    printf("  glyphs kept, with shaping each text once %8.1f ms  %7.0f pages/s\n",
           (kept_s + once_s) * 1e3, pages / (kept_s + once_s));
    printf("    of it: shaping each text once          %8.1f ms\n", once_s * 1e3);
    printf("  each text shaped anew when it is drawn   %8.1f ms  %7.0f pages/s\n", anew_s * 1e3,
           pages / anew_s);
    printf("  ratio                                    %8.2f\n", anew_s / (kept_s + once_s));
    fonts_close(fonts);
    proof_free(&proof);
    arena_free(&arena);
}

/* --- print --------------------------------------------------------------------------------------
 */

static void print_kinds(const Measure *measure) {
    printf("%-12s %7s %9s %12s %12s %12s\n", "example, by", "sheets", "items", "record ms",
           "write ms", "ms/sheet");
    for (int kind = 0; kind < SHEET_KIND_COUNT; kind++) {
        const KindMeasure *one = &measure->kinds[kind];
        if (one->sheets > 0) {
            printf("%-12s %7zu %9zu %12.2f %12.2f %12.3f\n", KIND_NAMES[kind], one->sheets,
                   one->items, one->record_s * 1e3, one->write_s * 1e3,
                   (one->record_s + one->write_s) * 1e3 / (double)one->sheets);
        }
    }
    double sixty = 60.0 / (double)measure->sheets;
    printf("a book of 60 such sheets: %.3f s (aim 0.35 s)\n\n", draw_s(measure) * sixty);
}

static void print_row(const char *name, const char *unit, const double *values, int decimals) {
    printf("%-18s %5s", name, unit);
    for (int i = 0; i < SIZE_COUNT; i++) {
        printf(" %12.*f", decimals, values[i]);
    }
    printf("\n");
}

typedef double (*Figure)(const Measure *measure);

static double conductors(const Measure *m) {
    return (double)m->conductors;
}
static double sheets(const Measure *m) {
    return (double)m->sheets;
}
static double texts(const Measure *m) {
    return (double)m->texts;
}
static double prove_ms(const Measure *m) {
    return m->prove_s * 1e3;
}
static double plan_ms(const Measure *m) {
    return m->plan_s * 1e3;
}
static double record_ms(const Measure *m) {
    return m->record_s * 1e3;
}
static double write_ms(const Measure *m) {
    return m->write_s * 1e3;
}
static double total_s(const Measure *m) {
    return draw_s(m);
}
static double pages_per_s(const Measure *m) {
    return (double)m->sheets / draw_s(m);
}
static double pdf_kb(const Measure *m) {
    return m->pdf_bytes / 1e3;
}
static double most_items(const Measure *m) {
    return (double)m->most_items;
}
static double most_kb(const Measure *m) {
    return (double)m->most_bytes / 1e3;
}
static double plan_mb(const Measure *m) {
    return (double)m->plan_bytes / 1e6;
}
static double proved_mb(const Measure *m) {
    return m->proved_bytes / 1e6;
}
static double planned_mb(const Measure *m) {
    return m->planned_bytes / 1e6;
}
static double half_mb(const Measure *m) {
    return m->half_bytes / 1e6;
}
static double peak_mb(const Measure *m) {
    return m->peak_bytes / 1e6;
}
static double kb_per_page(const Measure *m) {
    return (m->peak_bytes - m->half_bytes) / 1e3 / ((double)m->sheets / 2.0);
}

static void print_sizes(const Measure *measures) {
    static const struct {
        const char *name;
        const char *unit;
        Figure figure;
        int decimals;
    } ROWS[] = {
        {"conductors", "", conductors, 0},
        {"pages", "", sheets, 0},
        {"texts", "", texts, 0},
        {"prove", "ms", prove_ms, 1},
        {"plan sheets", "ms", plan_ms, 1},
        {"record lists", "ms", record_ms, 1},
        {"write PDF", "ms", write_ms, 1},
        {"book drawn", "s", total_s, 3},
        {"pages a second", "1/s", pages_per_s, 0},
        {"PDF", "kB", pdf_kb, 0},
        {"largest list", "items", most_items, 0},
        {"largest page arena", "kB", most_kb, 0},
        {"plan arena", "MB", plan_mb, 1},
        {"peak, proved", "MB", proved_mb, 1},
        {"peak, planned", "MB", planned_mb, 1},
        {"peak, half drawn", "MB", half_mb, 1},
        {"peak, all drawn", "MB", peak_mb, 1},
        {"2nd half, a page", "kB", kb_per_page, 1},
    };
    printf("%24s %12s %12s %12s %12s\n", "", "example", "grown", "grown", "grown");
    for (size_t row = 0; row < sizeof ROWS / sizeof *ROWS; row++) {
        double values[SIZE_COUNT];
        for (int i = 0; i < SIZE_COUNT; i++) {
            values[i] = ROWS[row].figure(&measures[i]);
        }
        print_row(ROWS[row].name, ROWS[row].unit, values, ROWS[row].decimals);
    }
}

static void print_growth(const Measure *measures) {
    const Measure *small = &measures[1];
    const Measure *large = &measures[SIZE_COUNT - 1];
    double size = log((double)large->conductors / (double)small->conductors);
    printf("growth exponent, %zu to %zu conductors:\n", small->conductors, large->conductors);
    printf("  plan   %5.2f\n", log(large->plan_s / small->plan_s) / size);
    printf("  record %5.2f\n", log(large->record_s / small->record_s) / size);
    printf("  write  %5.2f\n", log(large->write_s / small->write_s) / size);
    printf("  book   %5.2f\n", log(draw_s(large) / draw_s(small)) / size);
    printf("  pages  %5.2f\n", log((double)large->sheets / (double)small->sheets) / size);
}

/* Any argument: the example alone. */
int main(int argc, char **argv) {
    (void)argv;
    static Measure measures[SIZE_COUNT];
    int count = argc > 1 ? 1 : SIZE_COUNT;
    for (int i = 0; i < count; i++) {
        if (!measure_apart(SIZES[i], &measures[i])) {
            fprintf(stderr, "bench: the book of %zu conductors was not drawn\n", SIZES[i]);
            return 1;
        }
    }
    print_kinds(&measures[0]);
    if (count == SIZE_COUNT) {
        print_sizes(measures);
        print_growth(measures);
    }
    compare_shaping();
    return 0;
}
