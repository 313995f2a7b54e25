/* Method: pango breaks a text into runs of one face and shapes them, at FONT_UNIT pixels and with
 * hinting off; places are divided by FONT_UNIT and kept in em. Two hash tables, for plain and bold,
 * lead from a text to its shape. */
#include "draw/font.h"

#include <hb.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <string.h>

#include "base/check.h"
#include "base/text.h"

#define FONT_FAMILY "B612, DejaVu Sans"
#define FONT_UNIT 200.0

struct DrawFonts {
    Arena arena;
    PangoFontMap *map;
    PangoContext *context;
    PangoLayout *layouts[2]; /* plain, bold */
    NameMap shapes[2];       /* text -> index into texts */
    FontText **texts;
    size_t text_count;
    size_t text_capacity;
    PangoFont **held; /* faces stay as long as glyph runs name them */
    size_t held_count;
    size_t held_capacity;
    double capital_em; /* height of a capital */
    bool usual;
};

/* --- opening ------------------------------------------------------------------------------------
 */

static PangoLayout *open_layout(PangoContext *context, bool bold) {
    PangoFontDescription *face = pango_font_description_from_string(FONT_FAMILY);
    pango_font_description_set_weight(face, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(face, FONT_UNIT * PANGO_SCALE);
    PangoLayout *layout = pango_layout_new(context);
    pango_layout_set_font_description(layout, face);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    pango_layout_set_auto_dir(layout, FALSE);
    pango_font_description_free(face);
    return layout;
}

DrawFonts *fonts_open(void) {
    Arena arena = {0};
    DrawFonts *fonts = ARENA_NEW(&arena, DrawFonts);
    fonts->arena = arena;
    fonts->map = pango_cairo_font_map_new();
    pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(fonts->map), 72.0);
    fonts->context = pango_font_map_create_context(fonts->map);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(fonts->context, options);
    cairo_font_options_destroy(options);
    pango_context_set_round_glyph_positions(fonts->context, FALSE);
    fonts->layouts[0] = open_layout(fonts->context, false);
    fonts->layouts[1] = open_layout(fonts->context, true);
    fonts->capital_em = fonts_shape(fonts, "H", false)->above_em;

    PangoFont *first = pango_context_load_font(
        fonts->context, pango_layout_get_font_description(fonts->layouts[0]));
    PangoFontDescription *got = pango_font_describe(first);
    const char *family = pango_font_description_get_family(got);
    fonts->usual = family != NULL && strcmp(family, "B612") == 0;
    pango_font_description_free(got);
    g_object_unref(first);
    return fonts;
}

void fonts_close(DrawFonts *fonts) {
    for (size_t i = 0; i < fonts->held_count; i++) {
        g_object_unref(fonts->held[i]);
    }
    g_object_unref(fonts->layouts[0]);
    g_object_unref(fonts->layouts[1]);
    g_object_unref(fonts->context);
    g_object_unref(fonts->map);
    Arena arena = fonts->arena; /* it holds `fonts` itself */
    arena_free(&arena);
}

bool fonts_usual(const DrawFonts *fonts) {
    return fonts->usual;
}

/* --- shaping ------------------------------------------------------------------------------------
 */

static cairo_font_face_t *face_of(DrawFonts *fonts, PangoFont *font) {
    bool held = false;
    for (size_t i = 0; i < fonts->held_count && !held; i++) {
        held = fonts->held[i] == font;
    }
    if (!held) {
        *ARENA_PUSH(&fonts->arena, fonts->held, fonts->held_count, fonts->held_capacity) =
            g_object_ref(font);
    }
    return cairo_scaled_font_get_font_face(
        pango_cairo_font_get_scaled_font(PANGO_CAIRO_FONT(font)));
}

/* Glyphs of one run, from `x_em` on; returns where the next run starts. */
static double take_run(DrawFonts *fonts, const char *text, PangoGlyphItem *item, double x_em,
                       FontRun *run) {
    const PangoGlyphString *glyphs = item->glyphs;
    run->face = face_of(fonts, item->item->analysis.font);
    run->outlines = hb_font_get_face(pango_font_get_hb_font(item->item->analysis.font));
    run->backward = item->item->analysis.level % 2 != 0;
    run->text = text + item->item->offset;
    run->length = (size_t)item->item->length;
    run->glyphs = ARENA_ARRAY(&fonts->arena, cairo_glyph_t, (size_t)glyphs->num_glyphs);
    size_t *place = ARENA_ARRAY(&fonts->arena, size_t, (size_t)glyphs->num_glyphs + 1);
    for (int i = 0; i < glyphs->num_glyphs; i++) {
        const PangoGlyphInfo *glyph = &glyphs->glyphs[i];
        place[i] = run->glyph_count;
        if (glyph->glyph != PANGO_GLYPH_EMPTY && (glyph->glyph & PANGO_GLYPH_UNKNOWN_FLAG) == 0) {
            run->glyphs[run->glyph_count++] = (cairo_glyph_t){
                .index = glyph->glyph,
                .x = x_em + glyph->geometry.x_offset / (FONT_UNIT * PANGO_SCALE),
                .y = glyph->geometry.y_offset / (FONT_UNIT * PANGO_SCALE),
            };
        }
        x_em += glyph->geometry.width / (FONT_UNIT * PANGO_SCALE);
    }
    place[glyphs->num_glyphs] = run->glyph_count;

    run->clusters = ARENA_ARRAY(&fonts->arena, cairo_text_cluster_t, run->length + 1);
    PangoGlyphItemIter at;
    for (gboolean more = pango_glyph_item_iter_init_start(&at, item, text); more;
         more = pango_glyph_item_iter_next_cluster(&at)) {
        /* In a right-to-left run glyphs are numbered downwards from start to end. */
        int low = at.start_glyph < at.end_glyph ? at.start_glyph : at.end_glyph + 1;
        int high = at.start_glyph < at.end_glyph ? at.end_glyph : at.start_glyph + 1;
        run->clusters[run->cluster_count++] = (cairo_text_cluster_t){
            .num_bytes = at.end_index - at.start_index,
            .num_glyphs = (int)(place[high] - place[low]),
        };
    }
    return x_em;
}

/* No letter to Unicode, nor to XML; and cairo's PDF comes to grief over it. */
static bool is_noncharacter(gunichar letter) {
    return (letter & 0xFFFEu) == 0xFFFEu || (letter >= 0xFDD0u && letter <= 0xFDEFu);
}

const char *fonts_clean(Arena *arena, const char *text) {
    Buffer out = {.arena = arena};
    const char *at = text;
    while (*at != '\0') {
        gunichar letter = g_utf8_get_char_validated(at, -1);
        bool valid = letter != (gunichar)-1 && letter != (gunichar)-2;
        size_t length = valid ? (size_t)g_utf8_skip[(unsigned char)*at] : 1;
        if (!valid || is_noncharacter(letter)) {
            buffer_text(&out, "\xEF\xBF\xBD");
        } else if (g_unichar_iscntrl(letter)) {
            buffer_text(&out, " ");
        } else {
            buffer_add(&out, at, length);
        }
        at += length;
    }
    return out.bytes == NULL ? "" : out.bytes;
}

static FontText *shape(DrawFonts *fonts, const char *text, bool bold) {
    FontText *shaped = ARENA_NEW(&fonts->arena, FontText);
    shaped->text = fonts_clean(&fonts->arena, text);
    shaped->bold = bold;
    PangoLayout *layout = fonts->layouts[bold ? 1 : 0];
    pango_layout_set_text(layout, shaped->text, -1);
    shaped->unknown = (size_t)pango_layout_get_unknown_glyphs_count(layout);
    PangoLayoutLine *line = pango_layout_get_line_readonly(layout, 0);
    size_t count = g_slist_length(line->runs);
    shaped->runs = ARENA_ARRAY(&fonts->arena, FontRun, count);
    double x_em = 0.0;
    for (GSList *at = line->runs; at != NULL; at = at->next) {
        x_em = take_run(fonts, shaped->text, at->data, x_em, &shaped->runs[shaped->run_count++]);
    }
    shaped->advance_em = x_em;
    PangoRectangle ink;
    pango_layout_line_get_extents(line, &ink, NULL);
    shaped->above_em = fmax(0.0, -ink.y / (FONT_UNIT * PANGO_SCALE));
    shaped->below_em = fmax(0.0, (ink.y + ink.height) / (FONT_UNIT * PANGO_SCALE));
    return shaped;
}

const FontText *fonts_shape(DrawFonts *fonts, const char *text, bool bold) {
    NameMap *map = &fonts->shapes[bold ? 1 : 0];
    uint32_t found = name_map_find(map, text);
    if (found != NAME_NONE) {
        return fonts->texts[found];
    }
    FontText *shaped = shape(fonts, text, bold);
    uint32_t id = (uint32_t)fonts->text_count;
    *ARENA_PUSH(&fonts->arena, fonts->texts, fonts->text_count, fonts->text_capacity) = shaped;
    name_map_add(map, &fonts->arena, arena_text(&fonts->arena, text, strlen(text)), id);
    return shaped;
}

/* --- measuring ----------------------------------------------------------------------------------
 */

double fonts_size_mm(const DrawFonts *fonts, double height_mm) {
    return height_mm / fonts->capital_em;
}

double fonts_width_mm(DrawFonts *fonts, const char *text, double height_mm, bool bold) {
    return fonts_shape(fonts, text, bold)->advance_em * fonts_size_mm(fonts, height_mm);
}

/* Bytes of the longest beginning that fits, cut between characters; at least one character. */
static size_t fitting_bytes(DrawFonts *fonts, Arena *scratch, const char *text, double height_mm,
                            bool bold, double width_mm) {
    size_t length = strlen(text);
    size_t low = 0;
    size_t high = length;
    while (low < high) {
        size_t middle = low + (high - low + 1) / 2;
        const char *part = arena_text(scratch, text, middle);
        FontText *shaped = shape(fonts, part, bold);
        if (shaped->advance_em * fonts_size_mm(fonts, height_mm) <= width_mm) {
            low = middle;
        } else {
            high = middle - 1;
        }
    }
    while (low > 0 && low < length && ((unsigned char)text[low] & 0xC0u) == 0x80u) {
        low--;
    }
    return low;
}

const char *fonts_fit(DrawFonts *fonts, Arena *arena, const char *text, double height_mm, bool bold,
                      double width_mm) {
    if (fonts_width_mm(fonts, text, height_mm, bold) <= width_mm) {
        return text;
    }
    static const char DOTS[] = "...";
    double left_mm = width_mm - fonts_width_mm(fonts, DOTS, height_mm, bold);
    size_t bytes = left_mm <= 0.0 ? 0 : fitting_bytes(fonts, arena, text, height_mm, bold, left_mm);
    return arena_format(arena, "%.*s%s", (int)bytes, text, DOTS);
}

size_t fonts_wrap(DrawFonts *fonts, Arena *arena, const char *text, double height_mm, bool bold,
                  double width_mm, const char ***lines) {
    size_t count = 0;
    size_t capacity = 0;
    const char **out = NULL;
    Buffer line = {.arena = arena};
    const char *at = text;
    while (*at != '\0') {
        while (*at == ' ' || *at == '\n' || *at == '\t') {
            at++;
        }
        size_t length = strcspn(at, " \n\t");
        if (length == 0) {
            break;
        }
        const char *word = arena_text(arena, at, length);
        const char *longer =
            line.length == 0 ? word : arena_format(arena, "%s %s", line.bytes, word);
        if (fonts_width_mm(fonts, longer, height_mm, bold) <= width_mm) {
            line.length = 0;
            buffer_text(&line, longer);
            at += length;
            continue;
        }
        if (line.length > 0) {
            *ARENA_PUSH(arena, out, count, capacity) = arena_text(arena, line.bytes, line.length);
            line.length = 0;
            continue;
        }
        size_t bytes = fitting_bytes(fonts, arena, word, height_mm, bold, width_mm);
        if (bytes == 0) {
            for (bytes = 1; ((unsigned char)word[bytes] & 0xC0u) == 0x80u; bytes++) {
            }
        }
        *ARENA_PUSH(arena, out, count, capacity) = arena_text(arena, word, bytes);
        at += bytes;
    }
    if (line.length > 0 || count == 0) {
        *ARENA_PUSH(arena, out, count, capacity) =
            arena_text(arena, line.length == 0 ? "" : line.bytes, line.length);
    }
    *lines = out;
    return count;
}
