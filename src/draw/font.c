/* Method: pango breaks a text into runs of one face and shapes them, at FONT_UNIT pixels and with
 * hinting off; places are divided by FONT_UNIT and kept in em. Two hash tables, for plain and bold,
 * lead from a text to its shape. Runs are asked for directly: a layout of pango's also looks for
 * places to break lines, which a drawing's short texts do not need and which costs more than their
 * shapes. Where a long text is cut or broken follows from the widths of its clusters, shaped once
 * as a whole; what comes of it is measured again, so that a line never is wider than its place. */
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
    Arena arena; /* of what stays: this, and faces */
    PangoFontMap *map;
    PangoContext *contexts[2]; /* plain, bold */
    Arena shape_arena;         /* of everything below that can be forgotten */
    NameMap shapes[2];         /* text -> index into texts */
    FontText **texts;
    size_t text_count;
    size_t text_capacity;
    NameMap kept_names; /* name -> index into kept */
    void ***kept;
    size_t kept_count;
    size_t kept_capacity;
    PangoFont **held; /* faces stay as long as glyph runs name them */
    size_t held_count;
    size_t held_capacity;
    double capital_em; /* height of a capital */
    bool usual;
};

/* --- opening ------------------------------------------------------------------------------------
 */

static PangoContext *open_context(PangoFontMap *map, bool bold) {
    PangoContext *context = pango_font_map_create_context(map);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(context, options);
    cairo_font_options_destroy(options);
    pango_context_set_round_glyph_positions(context, FALSE);
    PangoFontDescription *face = pango_font_description_from_string(FONT_FAMILY);
    pango_font_description_set_weight(face, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(face, FONT_UNIT * PANGO_SCALE);
    pango_context_set_font_description(context, face);
    pango_font_description_free(face);
    return context;
}

DrawFonts *fonts_open(void) {
    Arena arena = {0};
    DrawFonts *fonts = ARENA_NEW(&arena, DrawFonts);
    fonts->arena = arena;
    fonts->map = pango_cairo_font_map_new();
    pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(fonts->map), 72.0);
    fonts->contexts[0] = open_context(fonts->map, false);
    fonts->contexts[1] = open_context(fonts->map, true);
    fonts->capital_em = fonts_shape(fonts, "H", false)->above_em;

    PangoFont *first = pango_context_load_font(
        fonts->contexts[0], pango_context_get_font_description(fonts->contexts[0]));
    PangoFontDescription *got = pango_font_describe(first);
    const char *family = pango_font_description_get_family(got);
    fonts->usual = family != NULL && strcmp(family, "B612") == 0;
    pango_font_description_free(got);
    g_object_unref(first);
    return fonts;
}

void fonts_trim(DrawFonts *fonts, size_t most_bytes) {
    if (fonts->shape_arena.used_bytes > most_bytes) {
        arena_free(&fonts->shape_arena);
        memset(fonts->shapes, 0, sizeof fonts->shapes);
        fonts->texts = NULL;
        fonts->text_count = 0;
        fonts->text_capacity = 0;
        fonts->kept_names = (NameMap){0};
        fonts->kept = NULL;
        fonts->kept_count = 0;
        fonts->kept_capacity = 0;
    }
}

void **fonts_keep(DrawFonts *fonts, const char *name, Arena **arena) {
    *arena = &fonts->shape_arena;
    uint32_t found = name_map_find(&fonts->kept_names, name);
    if (found != NAME_NONE) {
        return fonts->kept[found];
    }
    void **place = ARENA_NEW(*arena, void *);
    uint32_t id = (uint32_t)fonts->kept_count;
    *ARENA_PUSH(*arena, fonts->kept, fonts->kept_count, fonts->kept_capacity) = place;
    name_map_add(&fonts->kept_names, *arena, arena_text(*arena, name, strlen(name)), id);
    return place;
}

void fonts_close(DrawFonts *fonts) {
    for (size_t i = 0; i < fonts->held_count; i++) {
        g_object_unref(fonts->held[i]);
    }
    g_object_unref(fonts->contexts[0]);
    g_object_unref(fonts->contexts[1]);
    g_object_unref(fonts->map);
    arena_free(&fonts->shape_arena);
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

static bool is_drawn(const PangoGlyphInfo *glyph) {
    return glyph->glyph != PANGO_GLYPH_EMPTY && (glyph->glyph & PANGO_GLYPH_UNKNOWN_FLAG) == 0;
}

/* Glyphs [low, high) of a cluster. In a right-to-left run they are numbered downwards from start to
 * end. */
static int cluster_low(const PangoGlyphItemIter *at) {
    return at->start_glyph < at->end_glyph ? at->start_glyph : at->end_glyph + 1;
}

static int cluster_high(const PangoGlyphItemIter *at) {
    return at->start_glyph < at->end_glyph ? at->end_glyph : at->start_glyph + 1;
}

/* Glyphs of one run, from `x_em` on; returns where the next run starts. */
static double take_run(DrawFonts *fonts, const char *text, PangoGlyphItem *item, double x_em,
                       FontRun *run) {
    Arena *arena = &fonts->shape_arena;
    const PangoGlyphString *glyphs = item->glyphs;
    run->face = face_of(fonts, item->item->analysis.font);
    run->outlines = hb_font_get_face(pango_font_get_hb_font(item->item->analysis.font));
    run->backward = item->item->analysis.level % 2 != 0;
    run->text = text + item->item->offset;
    run->length = (size_t)item->item->length;
    run->glyphs = ARENA_ARRAY(arena, cairo_glyph_t, (size_t)glyphs->num_glyphs);
    bool all = true; /* every glyph is drawn, as in nearly all texts */
    for (int i = 0; i < glyphs->num_glyphs; i++) {
        const PangoGlyphInfo *glyph = &glyphs->glyphs[i];
        if (is_drawn(glyph)) {
            run->glyphs[run->glyph_count++] = (cairo_glyph_t){
                .index = glyph->glyph,
                .x = x_em + glyph->geometry.x_offset / (FONT_UNIT * PANGO_SCALE),
                .y = glyph->geometry.y_offset / (FONT_UNIT * PANGO_SCALE),
            };
        } else {
            all = false;
        }
        x_em += glyph->geometry.width / (FONT_UNIT * PANGO_SCALE);
    }

    /* No more clusters than glyphs, for each has one at least. */
    run->clusters = ARENA_ARRAY(arena, cairo_text_cluster_t, (size_t)glyphs->num_glyphs);
    PangoGlyphItemIter at;
    for (gboolean more = pango_glyph_item_iter_init_start(&at, item, text); more;
         more = pango_glyph_item_iter_next_cluster(&at)) {
        int low = cluster_low(&at);
        int high = cluster_high(&at);
        int drawn = all ? high - low : 0;
        for (int i = low; i < high && !all; i++) {
            drawn += is_drawn(&glyphs->glyphs[i]) ? 1 : 0;
        }
        run->clusters[run->cluster_count++] = (cairo_text_cluster_t){
            .num_bytes = at.end_index - at.start_index,
            .num_glyphs = drawn,
        };
    }
    return x_em;
}

/* No letter to Unicode, nor to XML; and cairo's PDF comes to grief over it. */
static bool is_noncharacter(gunichar letter) {
    return (letter & 0xFFFEu) == 0xFFFEu || (letter >= 0xFDD0u && letter <= 0xFDEFu);
}

const char *fonts_clean(Arena *arena, const char *text) {
    size_t plain = 0;
    while (text[plain] >= ' ' && text[plain] <= '~') {
        plain++;
    }
    if (text[plain] == '\0') { /* nearly all */
        return arena_text(arena, text, plain);
    }
    Buffer out = {.arena = arena};
    const char *at = text;
    while (*at != '\0') {
        gunichar letter = g_utf8_get_char_validated(at, -1);
        bool valid = letter != (gunichar)-1 && letter != (gunichar)-2;
        size_t length = valid ? (size_t)g_utf8_skip[(unsigned char)*at] : 1;
        if (!valid || is_noncharacter(letter)) {
            buffer_text(&out, "\xEF\xBF\xBD");
        } else if (g_unichar_iscntrl(letter) || letter == 0x2028 || letter == 0x2029) {
            buffer_text(&out, " ");
        } else {
            buffer_add(&out, at, length);
        }
        at += length;
    }
    return out.bytes == NULL ? "" : out.bytes;
}

/* Runs of one face of a clean text, in the order they stand on paper; their number. Shape each with
 * shape_item, free them with free_items. */
static size_t open_items(DrawFonts *fonts, const char *text, bool bold, GList **items) {
    GList *logical =
        pango_itemize(fonts->contexts[bold ? 1 : 0], text, 0, (int)strlen(text), NULL, NULL);
    *items = pango_reorder_items(logical);
    g_list_free(logical);
    return g_list_length(*items);
}

static void free_items(GList *items) {
    g_list_free_full(items, (GDestroyNotify)pango_item_free);
}

static void shape_item(const char *text, const PangoItem *item, PangoGlyphString *glyphs) {
    pango_shape_with_flags(text + item->offset, item->length, text, -1, &item->analysis, glyphs,
                           PANGO_SHAPE_NONE);
}

static size_t count_unknown(const PangoGlyphString *glyphs) {
    size_t count = 0;
    for (int i = 0; i < glyphs->num_glyphs; i++) {
        count += (glyphs->glyphs[i].glyph & PANGO_GLYPH_UNKNOWN_FLAG) != 0;
    }
    return count;
}

static FontText *shape(DrawFonts *fonts, const char *text, bool bold) {
    FontText *shaped = ARENA_NEW(&fonts->shape_arena, FontText);
    shaped->text = fonts_clean(&fonts->shape_arena, text);
    shaped->bold = bold;
    GList *items;
    size_t count = open_items(fonts, shaped->text, bold, &items);
    shaped->runs = ARENA_ARRAY(&fonts->shape_arena, FontRun, count);
    PangoGlyphString *glyphs = pango_glyph_string_new();
    double x_em = 0.0;
    for (GList *at = items; at != NULL; at = at->next) {
        PangoItem *stretch = at->data;
        PangoGlyphItem piece = {stretch, glyphs, 0, 0, 0};
        shape_item(shaped->text, stretch, glyphs);
        x_em = take_run(fonts, shaped->text, &piece, x_em, &shaped->runs[shaped->run_count++]);
        shaped->unknown += count_unknown(glyphs);
        PangoRectangle ink;
        pango_glyph_string_extents(glyphs, stretch->analysis.font, &ink, NULL);
        shaped->above_em = fmax(shaped->above_em, -ink.y / (FONT_UNIT * PANGO_SCALE));
        shaped->below_em = fmax(shaped->below_em, (ink.y + ink.height) / (FONT_UNIT * PANGO_SCALE));
    }
    shaped->advance_em = x_em;
    pango_glyph_string_free(glyphs);
    free_items(items);
    return shaped;
}

const FontText *fonts_shape(DrawFonts *fonts, const char *text, bool bold) {
    NameMap *map = &fonts->shapes[bold ? 1 : 0];
    uint32_t found = name_map_find(map, text);
    if (found != NAME_NONE) {
        return fonts->texts[found];
    }
    Arena *arena = &fonts->shape_arena;
    FontText *shaped = shape(fonts, text, bold);
    uint32_t id = (uint32_t)fonts->text_count;
    *ARENA_PUSH(arena, fonts->texts, fonts->text_count, fonts->text_capacity) = shaped;
    bool same = strcmp(shaped->text, text) == 0;
    name_map_add(map, arena, same ? shaped->text : arena_text(arena, text, strlen(text)), id);
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

static double *measure_places(DrawFonts *fonts, const char *text, bool bold) {
    size_t length = strlen(text);
    double *width_em = ARENA_ARRAY(&fonts->shape_arena, double, length + 1); /* of a cluster */
    for (size_t i = 0; i <= length; i++) {
        width_em[i] = -1.0;
    }
    GList *items;
    open_items(fonts, text, bold, &items);
    PangoGlyphString *glyphs = pango_glyph_string_new();
    for (GList *at = items; at != NULL; at = at->next) {
        PangoItem *stretch = at->data;
        PangoGlyphItem piece = {stretch, glyphs, 0, 0, 0};
        shape_item(text, stretch, glyphs);
        PangoGlyphItemIter cluster;
        for (gboolean more = pango_glyph_item_iter_init_start(&cluster, &piece, text); more;
             more = pango_glyph_item_iter_next_cluster(&cluster)) {
            double sum = 0.0;
            for (int i = cluster_low(&cluster); i < cluster_high(&cluster); i++) {
                sum += glyphs->glyphs[i].geometry.width;
            }
            width_em[cluster.start_index] = sum / (FONT_UNIT * PANGO_SCALE);
        }
    }
    pango_glyph_string_free(glyphs);
    free_items(items);
    double before_em = 0.0;
    for (size_t i = 0; i < length; i++) {
        if (width_em[i] >= 0.0) {
            double width = width_em[i];
            width_em[i] = before_em;
            before_em += width;
        }
    }
    width_em[length] = before_em;
    return width_em;
}

/* What stands before each byte of a clean text at which a cluster begins, in em; -1 at others. The
 * array has an entry for the end of the text too. Kept with the shaped text. */
static const double *places_in(DrawFonts *fonts, const char *text, bool bold) {
    (void)fonts_shape(fonts, text, bold);
    FontText *shaped = fonts->texts[name_map_find(&fonts->shapes[bold ? 1 : 0], text)];
    if (shaped->place_em == NULL) {
        shaped->place_em = measure_places(fonts, text, bold);
    }
    return shaped->place_em;
}

/* The last byte in (from, to] at which a cluster begins and that lies within `room_em` of `from`;
 * `from` when there is none. */
static size_t last_within(const double *place_em, size_t from, size_t to, double room_em) {
    size_t last = from;
    for (size_t i = from + 1; i <= to && place_em[i] - place_em[from] <= room_em; i++) {
        last = place_em[i] >= 0.0 ? i : last;
    }
    return last;
}

/* The cluster's beginning before `at`, not before `from`. */
static size_t cluster_before(const double *place_em, size_t from, size_t at) {
    do {
        at--;
    } while (at > from && place_em[at] < 0.0);
    return at;
}

const char *fonts_fit(DrawFonts *fonts, Arena *arena, const char *text, double height_mm, bool bold,
                      double width_mm) {
    if (fonts_width_mm(fonts, text, height_mm, bold) <= width_mm) {
        return text;
    }
    static const char DOTS[] = "...";
    Arena scratch = {0};
    const char *whole = fonts_clean(&scratch, text);
    const double *place_em = places_in(fonts, whole, bold);
    double left_mm = width_mm - fonts_width_mm(fonts, DOTS, height_mm, bold);
    size_t bytes =
        last_within(place_em, 0, strlen(whole), left_mm / fonts_size_mm(fonts, height_mm));
    const char *out = arena_format(arena, "%.*s%s", (int)bytes, whole, DOTS);
    while (bytes > 0 && fonts_width_mm(fonts, out, height_mm, bold) > width_mm) {
        bytes = cluster_before(place_em, 0, bytes);
        out = arena_format(arena, "%.*s%s", (int)bytes, whole, DOTS);
    }
    arena_free(&scratch);
    return out;
}

/* A clean text with one blank between words and none around them. */
static const char *spaced(Arena *arena, const char *text) {
    Buffer out = {.arena = arena};
    const char *at = fonts_clean(arena, text);
    while (*at != '\0') {
        size_t length = strcspn(at, " ");
        if (length > 0) {
            buffer_text(&out, out.length > 0 ? " " : "");
            buffer_add(&out, at, length);
        }
        at += length + (at[length] == ' ' ? 1 : 0);
    }
    return out.bytes == NULL ? "" : out.bytes;
}

/* Where a line that begins at `from` ends: at a blank or the end of the text, else inside its first
 * word, after one cluster at least. */
static size_t line_end(const char *text, size_t length, const double *place_em, size_t from,
                       double room_em) {
    size_t reach = last_within(place_em, from, length, room_em);
    size_t end = reach;
    while (end > from && text[end] != ' ' && text[end] != '\0') {
        end--;
    }
    if (end > from) {
        return end;
    }
    if (reach > from) {
        return reach;
    }
    do {
        reach++;
    } while (reach < length && place_em[reach] < 0.0);
    return reach;
}

size_t fonts_wrap(DrawFonts *fonts, Arena *arena, const char *text, double height_mm, bool bold,
                  double width_mm, const char ***lines) {
    size_t count = 0;
    size_t capacity = 0;
    const char **out = NULL;
    const char *whole = spaced(arena, text);
    if (fonts_width_mm(fonts, whole, height_mm, bold) <= width_mm) {
        *ARENA_PUSH(arena, out, count, capacity) = whole;
        *lines = out;
        return count;
    }
    const double *place_em = places_in(fonts, whole, bold);
    double size_mm = fonts_size_mm(fonts, height_mm);
    size_t length = strlen(whole);
    size_t from = 0;
    while (from < length) {
        size_t end = line_end(whole, length, place_em, from, width_mm / size_mm);
        const char *line = arena_text(arena, whole + from, end - from);
        /* Alone it may be a hair wider than as a part of the whole. */
        while (cluster_before(place_em, from, end) > from &&
               fonts_width_mm(fonts, line, height_mm, bold) > width_mm) {
            double room_em = place_em[end] - place_em[from];
            size_t shorter = line_end(whole, length, place_em, from, room_em * (1.0 - 1e-6));
            end = shorter < end ? shorter : cluster_before(place_em, from, end);
            line = arena_text(arena, whole + from, end - from);
        }
        *ARENA_PUSH(arena, out, count, capacity) = line;
        from = end + (whole[end] == ' ' ? 1 : 0);
    }
    *lines = out;
    return count;
}
