/* What the writers cost: a busy sheet of 2,000 items (wires with bends, their texts, boxes, discs)
 * in every format, best of a few runs; a document of 200 such pages, with links; and the SVG beside
 * what cairo's own SVG surface makes of the same list in the same run. */
#include <cairo-svg.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/text.h"
#include "out/paint.h"
#include "out/pdf.h"
#include "out/png.h"
#include "out/write.h"

enum { ITEM_COUNT = 2000, PAGE_COUNT = 200, RUN_COUNT = 3 };

typedef struct Bench {
    Arena arena;
    DrawFonts *fonts;
    char folder[32];
} Bench;

static double now_s(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* Items in groups of ten, as on a wiring sheet: three wires, six texts, a box; each in its row. */
static void draw_busy_sheet(Bench *bench, Arena *page, DrawList *list, unsigned number) {
    draw_start(list, page, bench->fonts, 420.0, 297.0);
    draw_anchor(list, arena_format(page, "sheet %u", number), 0.0, 0.0);
    for (unsigned i = 0; list->count < ITEM_COUNT; i++) {
        double x_mm = 22.0 + 19.0 * (i % 20);
        double y_mm = 12.0 + 23.0 * (i / 20 % 12);
        draw_row(list, TABLE_conductor, arena_format(page, "W%04u", i));
        for (unsigned j = 0; j < 3; j++) {
            double wire_mm = y_mm + 5.0 * j;
            draw_layer(list, LAYER_WIRE);
            draw_path(list,
                      (DrawPoint[]){{x_mm, wire_mm},
                                    {x_mm + 9.0, wire_mm},
                                    {x_mm + 9.0, wire_mm + 2.5},
                                    {x_mm + 18.0, wire_mm + 2.5}},
                      4, false, STYLE_MEDIUM_MM);
            draw_layer(list, LAYER_WIRE_TEXT);
            DrawTextStyle note = {.height_mm = STYLE_NOTE_MM};
            draw_text(list, x_mm, wire_mm - 1.0, note, arena_format(page, "W%04u", 3 * i + j));
            draw_text(list, x_mm + 10.0, wire_mm, note,
                      arena_format(page, "J%u-%u", number % 7 + 1, i % 50 + j));
        }
        draw_layer(list, LAYER_BOX);
        draw_rectangle(list, (DrawBox){x_mm, y_mm, x_mm + 18.0, y_mm + 20.0}, STYLE_THICK_MM);
    }
    draw_link(list, (DrawBox){10.0, 10.0, 40.0, 20.0},
              arena_format(page, "sheet %u", (number + 1) % PAGE_COUNT));
}

static size_t size_of(const char *path) {
    struct stat about;
    return stat(path, &about) == 0 ? (size_t)about.st_size : 0;
}

static void stop(const char *text) {
    fprintf(stderr, "bench: %s\n", text);
    exit(1);
}

static double write_cairo_svg(const DrawList *list, const char *path) {
    const double points_per_mm = 72.0 / 25.4;
    double start_s = now_s();
    cairo_surface_t *surface = cairo_svg_surface_create(path, list->width_mm * points_per_mm,
                                                        list->height_mm * points_per_mm);
    cairo_t *cairo = cairo_create(surface);
    cairo_scale(cairo, points_per_mm, points_per_mm);
    paint_list(cairo, list, true);
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        stop("cairo could not write its SVG");
    }
    cairo_surface_destroy(surface);
    return now_s() - start_s;
}

static void bench_sheet(Bench *bench) {
    static const char *const ENDINGS[] = {"svg", "pdf", "png", "dxf"};
    DrawList list;
    draw_busy_sheet(bench, &bench->arena, &list, 0);
    printf("a sheet of %zu items    ms       kB\n", list.count);
    for (size_t i = 0; i < sizeof ENDINGS / sizeof *ENDINGS; i++) {
        const char *path = arena_format(&bench->arena, "%s/x.%s", bench->folder, ENDINGS[i]);
        double best_s = INFINITY;
        for (int run = 0; run < RUN_COUNT; run++) {
            double start_s = now_s();
            Status status = out_write(&list, "busy", path);
            if (status.failed) {
                stop(status.text);
            }
            best_s = fmin(best_s, now_s() - start_s);
        }
        printf("%-20s %8.1f %8.1f\n", ENDINGS[i], 1e3 * best_s, (double)size_of(path) / 1e3);
        unlink(path);
    }
    const char *path = arena_format(&bench->arena, "%s/cairo.svg", bench->folder);
    double best_s = INFINITY;
    for (int run = 0; run < RUN_COUNT; run++) {
        best_s = fmin(best_s, write_cairo_svg(&list, path));
    }
    printf("%-20s %8.1f %8.1f\n\n", "svg by cairo itself", 1e3 * best_s,
           (double)size_of(path) / 1e3);
    unlink(path);
}

static void bench_document(Bench *bench) {
    const char *path = arena_format(&bench->arena, "%s/x.pdf", bench->folder);
    PdfMeta meta = {"busy", "", "2026-01-01", "bench"};
    size_t list_bytes = 0;
    double drawn_s = 0.0;
    double start_s = now_s();
    Pdf *pdf = pdf_open(&bench->arena, path, &meta);
    for (unsigned i = 0; i < PAGE_COUNT; i++) {
        Arena page = {0};
        DrawList list;
        double before_s = now_s();
        draw_busy_sheet(bench, &page, &list, i);
        drawn_s += now_s() - before_s;
        pdf_page(pdf, &list, "part", arena_format(&page, "sheet %u", i));
        list_bytes = page.used_bytes > list_bytes ? page.used_bytes : list_bytes;
        arena_free(&page);
    }
    size_t lost;
    Status status = pdf_close(pdf, &lost);
    if (status.failed || lost > 0) {
        stop(status.failed ? status.text : "links were lost");
    }
    double all_s = now_s() - start_s;
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    printf("a document of %d such pages: %.1f pages/s, %.1f ms a page of which recording the list "
           "%.1f ms; %.1f MB; a list %.2f MB; peak of the process %.0f MB\n",
           PAGE_COUNT, PAGE_COUNT / all_s, 1e3 * all_s / PAGE_COUNT, 1e3 * drawn_s / PAGE_COUNT,
           (double)size_of(path) / 1e6, (double)list_bytes / 1e6, (double)usage.ru_maxrss / 1e3);
    unlink(path);
}

int main(void) {
    Bench bench = {.fonts = fonts_open(), .folder = "bench-out-XXXXXX"};
    if (mkdtemp(bench.folder) == NULL) {
        stop("no place to write to");
    }
    bench_sheet(&bench);
    bench_document(&bench);
    rmdir(bench.folder);
    fonts_close(bench.fonts);
    arena_free(&bench.arena);
    return 0;
}
