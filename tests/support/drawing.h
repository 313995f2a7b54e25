/* One drawing with everything on it that a display list can hold, for the tests of the writers: all
 * kinds of items, all alignments, turned and bold text, other scripts, dashes, fills, arcs from a
 * hair to nearly all round, links, anchors, and texts that a format could take for its own signs.
 * Every text is on the drawing once, so that a test can find it again by what it says. */
#ifndef SUPPORT_DRAWING_H
#define SUPPORT_DRAWING_H

#include <math.h>

#include "draw/list.h"

#define DRAWING_WIDTH_MM 420.0
#define DRAWING_HEIGHT_MM 297.0
#define DRAWING_TITLE "Everything <at> \"once\" & 'more'"
#define DRAWING_ANCHOR "sheet:one 'quoted' (in \\ brackets)"
#define DRAWING_ANCHOR_CYRILLIC "\xD0\x9B\xD0\xB8\xD1\x81\xD1\x82 2" /* List 2 */
#define DRAWING_URI "https://example.invalid/a(b)c?d=e&f=g"
/* Before cleaning; the control bytes and the byte that is no text are blanks and U+FFFD after it.
 */
#define DRAWING_BYTES                                                                              \
    "bell\x07tab\tnewline\nescape\x1B"                                                             \
    "end \xFF byte"
/* U+FFFE and U+FFFF are letters to UTF-8 but not to XML. */
#define DRAWING_NONCHARACTERS "no \xEF\xBF\xBE letter \xEF\xBF\xBF here"

static const char *const DRAWING_TEXTS[] = {
    "plain W0412-20",
    "less < more > and & \"double\" 'single'",
    "]]> &amp; &#38; <!-- no comment -->",
    "percent %%d %%c %%u %% 50% \\U+0041 \\P caret ^J ^ {braces} ;",
    "\xD0\x9D\xD0\x90\xD0\x92 \xD0\xBA\xD0\xB0\xD0\xB1\xD0\xB5\xD0\xBB\xD1\x8C", /* NAV kabel' */
    "\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D",                                          /* Hebrew */
    "mix \xD7\x90\xD7\x91 12 \xD0\x96\xD0\x96 end",
    "\xCE\xA9 \xC2\xB5 \xC2\xB0 \xC3\x97 \xE2\x89\xA4 \xC3\x85ngstr\xC3\xB6m",
    "combining e\xCC\x81 a\xCC\x8A",
    "  blanks  kept  ",
};
#define DRAWING_TEXT_COUNT (sizeof DRAWING_TEXTS / sizeof *DRAWING_TEXTS)

static inline void drawing_texts(DrawList *list) {
    draw_layer(list, LAYER_TAG);
    for (size_t i = 0; i < DRAWING_TEXT_COUNT; i++) {
        draw_text(list, 30.0, 30.0 + 9.0 * (double)i, (DrawTextStyle){.height_mm = STYLE_VALUE_MM},
                  DRAWING_TEXTS[i]);
    }
    draw_layer(list, LAYER_NOTE);
    draw_text(list, 30.0, 130.0, (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, DRAWING_BYTES);
    draw_text(list, 30.0, 138.0, (DrawTextStyle){.height_mm = STYLE_NOTE_MM},
              DRAWING_NONCHARACTERS);
    static const char *const ALIGNED[2][3] = {{"level left", "level middle", "level right"},
                                              {"turned left", "turned middle", "turned right"}};
    draw_layer(list, LAYER_WIRE_TEXT);
    for (int turned = 0; turned < 2; turned++) {
        for (int align = 0; align < 3; align++) {
            draw_text(list, 200.0 + 15.0 * align * turned, 40.0 + 12.0 * align + 80.0 * turned,
                      (DrawTextStyle){.height_mm = STYLE_TAG_MM,
                                      .align = (DrawAlign)align,
                                      .bold = align == 1,
                                      .turned = turned == 1},
                      ALIGNED[turned][align]);
        }
    }
    draw_layer(list, LAYER_FRAME);
    draw_rgb(list, STYLE_ERROR);
    draw_text(list, 30.0, 160.0, (DrawTextStyle){.height_mm = STYLE_TITLE_MM, .bold = true},
              "Title in bold");
    draw_rgb(list, STYLE_INK);
    draw_text_fit(list, 30.0, 172.0, (DrawTextStyle){.height_mm = STYLE_VALUE_MM},
                  "a text that is much longer than the place it was given", 40.0);
    draw_text(list, 30.0, 176.0, (DrawTextStyle){.height_mm = STYLE_VALUE_MM}, "");
}

static inline void drawing_lines(DrawList *list) {
    static const DrawDash DASHES[] = {DASH_NONE, DASH_HIDDEN, DASH_AXIS};
    static const double WEIGHTS_MM[] = {STYLE_THIN_MM, STYLE_MEDIUM_MM, STYLE_THICK_MM};
    draw_layer(list, LAYER_WIRE);
    for (int i = 0; i < 3; i++) {
        draw_row(list, TABLE_conductor, i == 0 ? "W0001" : i == 1 ? "W<2>&\"'" : "W\xD0\x96\x01");
        draw_dash(list, DASHES[i]);
        draw_line(list, 270.0, 30.0 + 5.0 * i, 400.0, 30.0 + 5.0 * i, WEIGHTS_MM[i]);
        draw_path(list,
                  (DrawPoint[]){{270.0, 50.0 + 5.0 * i},
                                {300.0, 50.0 + 5.0 * i},
                                {300.0, 70.0 + 5.0 * i},
                                {400.0, 70.0 + 5.0 * i}},
                  4, i == 2, WEIGHTS_MM[i]);
    }
    draw_row(list, TABLE_unit, "NAV1");
    draw_dash(list, DASH_NONE);
    draw_layer(list, LAYER_BOX);
    draw_rectangle(list, (DrawBox){270.0, 90.0, 320.0, 110.0}, STYLE_THICK_MM);
    draw_row(list, TABLE_COUNT, "");
    /* Nearly nothing, and beyond the paper. */
    draw_line(list, 100.0, 200.0, 100.0004, 200.0, STYLE_THIN_MM);
    draw_layer(list, LAYER_RULE);
    draw_line(list, -10.0, 290.0, -0.0001, 290.0, STYLE_THIN_MM);
}

static inline void drawing_fills(DrawList *list) {
    draw_layer(list, LAYER_INSULATION);
    draw_rgb(list, 0xC8202Fu);
    draw_fill_rectangle(list, (DrawBox){330.0, 90.0, 350.0, 91.5});
    draw_fill(list, (DrawPoint[]){{330.0, 95.0}, {340.0, 95.0}, {335.0, 105.0}}, 3);
    draw_rgb(list, STYLE_INK);
    draw_layer(list, LAYER_FINDING);
    /* A star, a U that winds the other way, an L with a corner in the middle of an edge. */
    DrawPoint star[10];
    for (int i = 0; i < 10; i++) {
        double radius_mm = i % 2 == 0 ? 8.0 : 3.0;
        star[i] = (DrawPoint){370.0 + radius_mm * sin(0.62831853071795865 * i),
                              100.0 - radius_mm * cos(0.62831853071795865 * i)};
    }
    draw_fill_outlined(list, star, 10, 0xF2C500u, STYLE_THIN_MM);
    draw_fill(list,
              (DrawPoint[]){{330.0, 120.0},
                            {330.0, 140.0},
                            {350.0, 140.0},
                            {350.0, 120.0},
                            {345.0, 120.0},
                            {345.0, 135.0},
                            {335.0, 135.0},
                            {335.0, 120.0}},
              8);
    draw_fill(list,
              (DrawPoint[]){{360.0, 120.0},
                            {370.0, 120.0},
                            {370.0, 130.0},
                            {380.0, 130.0},
                            {380.0, 140.0},
                            {370.0, 140.0},
                            {360.0, 140.0}},
              7);
    draw_layer(list, LAYER_CODE);
    draw_disc(list, 390.0, 120.0, STYLE_DOT_MM / 2.0);
    draw_disc_outlined(list, 390.0, 130.0, 4.0, STYLE_PAPER, STYLE_MEDIUM_MM);
    draw_circle(list, 390.0, 145.0, 5.0, STYLE_MEDIUM_MM);
}

/* From and to of every arc, in degrees. */
static const double DRAWING_ARCS[][2] = {{0.0, 90.0},    {0.0, 0.5},       {10.0, 190.0},
                                         {-30.0, 45.0},  {200.0, 379.0},   {0.0, 359.999},
                                         {90.0, 449.0},  {350.0, 370.0},   {0.0, 180.0001},
                                         {-180.0, 90.0}, {270.0, 629.9999}};
#define DRAWING_ARC_COUNT (sizeof DRAWING_ARCS / sizeof *DRAWING_ARCS)

static inline void drawing_arcs(DrawList *list) {
    draw_layer(list, LAYER_SYMBOL);
    for (size_t i = 0; i < DRAWING_ARC_COUNT; i++) {
        draw_arc(list, 180.0 + 20.0 * (double)i, 215.0, 6.0, DRAWING_ARCS[i][0], DRAWING_ARCS[i][1],
                 STYLE_MEDIUM_MM);
    }
    draw_arc(list, 200.0, 235.0, 0.3, 0.0, 359.99, STYLE_THIN_MM);
    draw_arc(list, 250.0, 600.0, 360.0, 80.0, 100.0, STYLE_THIN_MM);
}

static inline void drawing_links(DrawList *list) {
    draw_layer(list, LAYER_REFERENCE);
    draw_anchor(list, DRAWING_ANCHOR, 30.0, 30.0);
    draw_anchor(list, DRAWING_ANCHOR_CYRILLIC, 30.0, 40.0);
    draw_link(list, (DrawBox){30.0, 240.0, 60.0, 245.0}, DRAWING_ANCHOR);
    draw_link(list, (DrawBox){70.0, 240.0, 100.0, 245.0}, DRAWING_ANCHOR_CYRILLIC);
    draw_link(list, (DrawBox){110.0, 240.0, 140.0, 245.0}, DRAWING_URI);
    draw_text(list, 30.0, 244.0, (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, "to sheet one");
}

/* Begins `list` and draws all of it. */
static inline void drawing_make(DrawList *list, Arena *arena, DrawFonts *fonts) {
    draw_start(list, arena, fonts, DRAWING_WIDTH_MM, DRAWING_HEIGHT_MM);
    drawing_texts(list);
    drawing_lines(list);
    drawing_fills(list);
    drawing_arcs(list);
    drawing_links(list);
}

#endif
