/* Measures text before it is placed, in the typeface of docs/style.md: B612, and DejaVu Sans where
 * it has no glyph. A text is shaped once at size 1 and kept; heights only scale it, so nothing
 * depends on hinting. Not for two threads at once. */
#ifndef DRAW_FONT_H
#define DRAW_FONT_H

#include <cairo.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

/* One stretch of glyphs of one face. Places are in em, from the start of the text, y down. */
typedef struct FontRun {
    cairo_font_face_t *face;    /* owned by DrawFonts */
    struct hb_face_t *outlines; /* the same face's tables; owned by DrawFonts */
    cairo_glyph_t *glyphs;
    size_t glyph_count;
    const char *text; /* bytes it stands for */
    size_t length;
    cairo_text_cluster_t *clusters;
    size_t cluster_count;
    bool backward; /* right-to-left script */
} FontRun;

typedef struct FontText {
    const char *text;
    bool bold;
    double advance_em;
    double above_em; /* ink above and below the baseline, both positive */
    double below_em;
    FontRun *runs;
    size_t run_count;
    size_t unknown;   /* characters that no installed face can draw */
    double *place_em; /* where clusters begin, once somebody asked; NULL */
} FontText;

typedef struct DrawFonts DrawFonts;

/* Opens the typefaces. Owns what it gives until fonts_close. Never NULL; fonts_usual says whether
 * B612 was found (else another face stands in and drawings differ). */
DrawFonts *fonts_open(void);
void fonts_close(DrawFonts *fonts);
bool fonts_usual(const DrawFonts *fonts);

/* `text` in the arena as it is drawn: control characters are blanks; bytes that are no UTF-8, and
 * letters that Unicode has none at, are U+FFFD. */
const char *fonts_clean(Arena *arena, const char *text);

/* Forgets all shapes, and what others keep with them, when they take more than `most_bytes`. What
 * fonts_shape and fonts_keep gave, and every display list with texts, is then no longer good: for
 * books, between sheets. */
void fonts_trim(DrawFonts *fonts, size_t most_bytes);

/* A place for what somebody derived from typefaces alone, under a name that says from what: nought
 * at first, then what was put there. It lives as long as shapes do; what hangs on it belongs into
 * `*arena`. Whoever takes it for longer copies it. */
void **fonts_keep(DrawFonts *fonts, const char *name, Arena **arena);

/* The shaped text; the same pointer for the same text. It is cleaned first. */
const FontText *fonts_shape(DrawFonts *fonts, const char *text, bool bold);

/* Size in mm (of the em) whose capitals are `height_mm` high. */
double fonts_size_mm(const DrawFonts *fonts, double height_mm);

/* Width in mm of a text whose capitals are `height_mm` high. */
double fonts_width_mm(DrawFonts *fonts, const char *text, double height_mm, bool bold);

/* The longest beginning of `text` that fits `width_mm`, with "..." behind it when something was
 * left out; `text` itself when all of it fits. Cuts between characters only. */
const char *fonts_fit(DrawFonts *fonts, Arena *arena, const char *text, double height_mm, bool bold,
                      double width_mm);

/* Breaks `text` at blanks (and inside words longer than a line) into lines that fit `width_mm`.
 * Returns their number; *lines in the arena. Text "" gives one empty line. */
size_t fonts_wrap(DrawFonts *fonts, Arena *arena, const char *text, double height_mm, bool bold,
                  double width_mm, const char ***lines);

#endif
