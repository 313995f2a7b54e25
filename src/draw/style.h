/* The look of every drawing as numbers: docs/style.md says why. Weights, text heights, colours and
 * dashes are chosen from here and from nowhere else. All lengths in mm on paper. */
#ifndef DRAW_STYLE_H
#define DRAW_STYLE_H

#include <stdbool.h>
#include <stdint.h>

/* Line weights (ISO 128 series). */
#define STYLE_THICK_MM 0.70  /* frame, outline of a box */
#define STYLE_MEDIUM_MM 0.50 /* conductors, symbols */
#define STYLE_THIN_MM 0.25   /* leaders, rules, dimensions, shields, twists */

/* Text heights, of a capital (ISO 3098 series). */
#define STYLE_MINUTES_MM 12.0 /* minutes on the emergency card, and nothing else */
#define STYLE_TITLE_MM 7.0
#define STYLE_TAG_MM 5.0
#define STYLE_VALUE_MM 3.5
#define STYLE_NOTE_MM 2.5

/* Everything electrical stands on this grid. */
#define STYLE_GRID_MM 2.5
#define STYLE_DOT_MM 1.5    /* diameter of the dot where conductors join */
#define STYLE_STRIPE_MM 1.5 /* width of the insulation's colour beside a conductor */

/* Dashed: hidden, or not fitted. Chain: an axis. */
#define STYLE_DASH_ON_MM 3.0
#define STYLE_DASH_OFF_MM 1.5

/* Colours, 0xRRGGBB. */
#define STYLE_INK 0x1A1A1Au
#define STYLE_PAPER 0xFFFFFFu
/* Between the edges of a tolerance band. */
#define STYLE_BAND 0xDEDEDEu
#define STYLE_SELECTED 0x00609Cu
#define STYLE_ERROR 0x9E1B32u
#define STYLE_WARNING 0x8A4B00u
#define STYLE_NOTE 0x33475Bu

/* Insulation colours with their codes. COLOUR(name in the library, code of IEC 60757, 0xRRGGBB) */
#define STYLE_INSULATIONS(COLOUR)                                                                  \
    COLOUR("black", "BK", 0x1A1A1Au)                                                               \
    COLOUR("brown", "BN", 0x7A4A21u)                                                               \
    COLOUR("red", "RD", 0xC8202Fu)                                                                 \
    COLOUR("orange", "OG", 0xE8770Cu)                                                              \
    COLOUR("yellow", "YE", 0xF2C500u)                                                              \
    COLOUR("green", "GN", 0x1E8A3Cu)                                                               \
    COLOUR("blue", "BU", 0x1F5FAEu)                                                                \
    COLOUR("violet", "VT", 0x7B3F98u)                                                              \
    COLOUR("grey", "GY", 0x8C8C8Cu)                                                                \
    COLOUR("white", "WH", 0xFFFFFFu)                                                               \
    COLOUR("pink", "PK", 0xE79AB0u)                                                                \
    COLOUR("turquoise", "TQ", 0x2BA9A4u)

/* Code of an insulation ("WH"); two colours "white/blue" give "WHBU"; an unknown word is given back
 * as it is, blank stays blank. `text` needs room for STYLE_CODE_TEXT bytes. */
#define STYLE_CODE_TEXT 24
const char *style_insulation_code(const char *name, char text[STYLE_CODE_TEXT]);

/* Its colours on paper: base and tracer (the same when there is one only). Unknown or blank: ink
 * and false. */
bool style_insulation_rgb(const char *name, uint32_t *base_rgb, uint32_t *tracer_rgb);

#endif
