/* The pictures of docs/pictures drawn again, and compared with those that are stored or put in
 * their place.
 *
 *     pictures compare|write SOURCE_FOLDER SCRATCH_FOLDER
 *
 * What is drawn depends on the job, the program, the typeface, and on the library that turns
 * outlines into pixels. Text is drawn as outlines on unrounded places, so that two versions of that
 * library differ only in how they round the grey of an edge: by a few of 256 steps, as long as both
 * cover pixels by exact area. A letter that is another one, or that stands a pixel beside its
 * place, makes tens of pixels differ by more than half of the range. So a pixel counts as different
 * beyond STEPS_ALLOWED, and PIXELS_ALLOWED of those are let pass: far fewer than one letter has. */
#include <cairo.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/draw.h"
#include "base/file.h"
#include "base/text.h"
#include "draw/sheets.h"
#include "out/png.h"

#define PIXELS_PER_MM (100.0 / 25.4) /* a hundred dots per inch: readable on a page of the web */
#define BYTES_ALLOWED ((size_t)300000)
#define STEPS_ALLOWED 48
#define PIXELS_ALLOWED 10

typedef struct Picture {
    const char *job;
    const char *paper;
    const char *sheet;
    const char *file;
} Picture;

typedef struct Studio {
    Arena arena;
    const char *source;
    const char *scratch;
    bool write;
    size_t bad;
} Studio;

static void complain(Studio *studio, const char *about, const char *what) {
    fprintf(stderr, "%s: %s\n", about, what);
    studio->bad++;
}

/* --- drawing ------------------------------------------------------------------------------------
 */

static void draw_picture(Studio *studio, const Picture *picture, const char *path) {
    Proof proof;
    ProofOptions options = {.library = arena_format(&studio->arena, "%s/library", studio->source)};
    proof_run(arena_format(&studio->arena, "%s/examples/%s", studio->source, picture->job),
              &options, &proof);
    DrawFonts *fonts = fonts_open();
    DrawView view;
    const char *problem = "the job can't be read";
    if (!fonts_usual(fonts)) {
        complain(studio, picture->file, "the typeface of drawings is not installed");
    } else if (!proof.complete ||
               !draw_view_build(&studio->arena, &proof, &(DrawChoice){.paper = picture->paper},
                                &view, &problem)) {
        complain(studio, picture->job, problem);
    } else {
        Findings findings = {.arena = &studio->arena};
        SheetPlan plan;
        sheets_plan(&studio->arena, fonts, &view, &plan, &findings);
        uint32_t sheet = sheet_find(&plan, picture->sheet);
        if (sheet == ID_NONE) {
            complain(studio, picture->sheet, "the job has no such sheet");
        } else {
            DrawList list;
            sheet_draw(&plan, sheet, &studio->arena, true, &list);
            Status status = png_write(&list, path, PIXELS_PER_MM);
            if (status.failed) {
                complain(studio, path, status.text);
            }
        }
    }
    fonts_close(fonts);
    proof_free(&proof);
}

/* --- comparing ----------------------------------------------------------------------------------
 */

static int furthest(const unsigned char *left, const unsigned char *right) {
    int most = 0;
    for (int channel = 0; channel < 3; channel++) { /* the fourth byte means nothing */
        int apart = abs(left[channel] - right[channel]);
        most = apart > most ? apart : most;
    }
    return most;
}

static void compare_pixels(Studio *studio, const Picture *picture, cairo_surface_t *stored,
                           cairo_surface_t *drawn) {
    int width = cairo_image_surface_get_width(stored);
    int height = cairo_image_surface_get_height(stored);
    if (width != cairo_image_surface_get_width(drawn) ||
        height != cairo_image_surface_get_height(drawn)) {
        complain(studio, picture->file, "is of another size than what is drawn now");
        return;
    }
    size_t differ = 0;
    size_t beyond = 0;
    int most = 0;
    for (int y = 0; y < height; y++) {
        const unsigned char *left = cairo_image_surface_get_data(stored) +
                                    (ptrdiff_t)y * cairo_image_surface_get_stride(stored);
        const unsigned char *right = cairo_image_surface_get_data(drawn) +
                                     (ptrdiff_t)y * cairo_image_surface_get_stride(drawn);
        for (int x = 0; x < width; x++) {
            int steps = furthest(left + 4 * x, right + 4 * x);
            most = steps > most ? steps : most;
            differ += steps > 0;
            beyond += steps > STEPS_ALLOWED;
        }
    }
    printf("%s: %zu of %d pixels differ, by %d steps at most, %zu by more than %d\n", picture->file,
           differ, width * height, most, beyond, STEPS_ALLOWED);
    if (beyond > PIXELS_ALLOWED) {
        complain(studio, picture->file,
                 "shows something else than what is drawn now; look at both, then "
                 "`ninja -C build/dev pictures`");
    }
}

static void compare_picture(Studio *studio, const Picture *picture, const char *stored_path) {
    const char *drawn_path = arena_format(&studio->arena, "%s/%s", studio->scratch, picture->file);
    draw_picture(studio, picture, drawn_path);
    cairo_surface_t *stored = cairo_image_surface_create_from_png(stored_path);
    cairo_surface_t *drawn = cairo_image_surface_create_from_png(drawn_path);
    if (cairo_surface_status(stored) != CAIRO_STATUS_SUCCESS) {
        complain(studio, stored_path, "is not stored as a picture");
    } else if (cairo_surface_status(drawn) == CAIRO_STATUS_SUCCESS) {
        compare_pixels(studio, picture, stored, drawn);
    } else {
        complain(studio, drawn_path, "was not drawn");
    }
    cairo_surface_destroy(stored);
    cairo_surface_destroy(drawn);
}

/* A picture that makes the page slow to open is no help to who reads it. */
static void check_bytes(Studio *studio, const Picture *picture, const char *path) {
    char *bytes;
    size_t length = 0;
    Status status = file_read(&studio->arena, path, &bytes, &length);
    if (status.failed || length > BYTES_ALLOWED) {
        complain(studio, picture->file,
                 status.failed ? status.text
                               : arena_format(&studio->arena, "has %zu bytes, more than %zu",
                                              length, BYTES_ALLOWED));
    }
}

/* --- the list -----------------------------------------------------------------------------------
 */

/* Every picture of the list is shown in the README, by this path. */
static void check_shown(Studio *studio, const Picture *picture) {
    char *text;
    size_t length;
    Status status =
        file_read(&studio->arena, arena_format(&studio->arena, "%s/README.md", studio->source),
                  &text, &length);
    if (status.failed ||
        strstr(text, arena_format(&studio->arena, "(docs/pictures/%s)", picture->file)) == NULL) {
        complain(studio, picture->file, "is not shown in README.md");
    }
}

static void take_line(Studio *studio, char *line) {
    char *rest = line;
    Picture picture = {strtok_r(rest, " ", &rest), strtok_r(rest, " ", &rest),
                       strtok_r(rest, " ", &rest), strtok_r(rest, " ", &rest)};
    if (picture.file == NULL) {
        complain(studio, line, "a line names a job, a paper, a sheet and a file");
        return;
    }
    const char *path =
        arena_format(&studio->arena, "%s/docs/pictures/%s", studio->source, picture.file);
    if (studio->write) {
        draw_picture(studio, &picture, path);
    } else {
        compare_picture(studio, &picture, path);
        check_shown(studio, &picture);
    }
    check_bytes(studio, &picture, path);
}

int main(int count, char **words) {
    if (count != 4 || (strcmp(words[1], "compare") != 0 && strcmp(words[1], "write") != 0)) {
        fprintf(stderr, "pictures wants: compare|write SOURCE_FOLDER SCRATCH_FOLDER\n");
        return 2;
    }
    Studio studio = {
        .source = words[2], .scratch = words[3], .write = strcmp(words[1], "write") == 0};
    char *text;
    size_t length;
    Status status = file_make_folder(studio.scratch);
    status =
        status.failed
            ? status
            : file_read(&studio.arena,
                        arena_format(&studio.arena, "%s/docs/pictures/list.txt", studio.source),
                        &text, &length);
    size_t pictures = 0;
    if (status.failed) {
        complain(&studio, "docs/pictures/list.txt", status.text);
    } else {
        char *rest = text;
        for (char *line = strtok_r(rest, "\n", &rest); line != NULL;
             line = strtok_r(rest, "\n", &rest)) {
            if (*line != '#') {
                take_line(&studio, line);
                pictures++;
            }
        }
    }
    if (pictures == 0) {
        complain(&studio, "docs/pictures/list.txt", "names no picture");
    }
    arena_free(&studio.arena);
    return studio.bad == 0 ? 0 : 1;
}
