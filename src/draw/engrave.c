/* Method: HarfBuzz gives the outline of a glyph as lines and Bezier curves in units of the
 * typeface. A curve becomes two arcs that leave and arrive in its directions and touch each other
 * smoothly (a biarc, with equal tangent lengths: the usual construction); where they stray farther
 * than the tolerance the curve is halved. Distances are measured at points of the curve, of which
 * there are more than an arc of so short a curve can bend between. */
#include "draw/engrave.h"

#include <hb.h>
#include <math.h>

#include "base/check.h"
#include "base/units.h"

#define CURVE_SAMPLES 12
#define CURVE_HALVINGS 8

typedef struct Place {
    double x;
    double y;
} Place;

typedef struct Engraver {
    Arena *arena;
    ContourList *out;
    ContourMove move;   /* of the whole text */
    double mm_per_unit; /* of the typeface */
    double x_mm;        /* of the glyph, before the move */
    double y_mm;
    ContourPoint *points; /* of the contour that is being drawn, in mm before the move */
    size_t count;
    size_t capacity;
    Place at;
} Engraver;

/* --- contours -----------------------------------------------------------------------------------
 */

static void add_point(Engraver *engraver, Place place, double bulge) {
    *ARENA_PUSH(engraver->arena, engraver->points, engraver->count, engraver->capacity) =
        (ContourPoint){place.x, place.y, bulge};
}

static bool same_place(const ContourPoint *a, const ContourPoint *b) {
    return hypot(a->x_mm - b->x_mm, a->y_mm - b->y_mm) < 1e-4;
}

/* Points that fall on the next one are left out; so is a contour with no area. */
static void finish_contour(Engraver *engraver) {
    size_t kept = 0;
    for (size_t i = 0; i < engraver->count; i++) {
        const ContourPoint *next = &engraver->points[(i + 1) % engraver->count];
        if (!same_place(&engraver->points[i], next)) {
            engraver->points[kept++] = engraver->points[i];
        }
    }
    Contour raw = {engraver->points, kept};
    if (kept >= 2 && fabs(contour_area_mm2(&raw)) > 1e-6) {
        contour_add(engraver->arena, engraver->out,
                    contour_moved(engraver->arena, &raw, &engraver->move));
    }
    engraver->count = 0;
}

/* --- curves -------------------------------------------------------------------------------------
 */

static Place between(Place a, Place b, double t) {
    return (Place){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
}

static Place curve_at(const Place p[4], double t) {
    Place a = between(between(p[0], p[1], t), between(p[1], p[2], t), t);
    Place b = between(between(p[1], p[2], t), between(p[2], p[3], t), t);
    return between(a, b, t);
}

/* Direction of unit length; (0, 0) for no way at all. */
static Place direction(Place from, Place to) {
    double length = hypot(to.x - from.x, to.y - from.y);
    return length < 1e-12 ? (Place){0.0, 0.0}
                          : (Place){(to.x - from.x) / length, (to.y - from.y) / length};
}

/* Bulge of the arc that leaves `from` in direction `along` and ends at `to`. */
static double bulge_of(Place from, Place along, Place to) {
    Place chord = direction(from, to);
    double half =
        atan2(along.x * chord.y - along.y * chord.x, along.x * chord.x + along.y * chord.y);
    return tan(half / 2.0);
}

static double distance_from_arc(Place point, Place from, double bulge, Place to) {
    ContourPoint a = {from.x, from.y, fabs(bulge) < 1e-9 ? 0.0 : bulge};
    ContourPoint b = {to.x, to.y, 0.0};
    double x;
    double y;
    double r;
    if (contour_arc(&a, &b, &x, &y, &r)) {
        return fabs(hypot(point.x - x, point.y - y) - r);
    }
    Place chord = direction(from, to);
    return fabs((point.x - from.x) * chord.y - (point.y - from.y) * chord.x);
}

/* Where the two arcs of the biarc meet; false when there is none that goes forward. */
static bool joint_of(Place from, Place leave, Place to, Place arrive, Place *joint) {
    Place v = {to.x - from.x, to.y - from.y};
    Place t = {leave.x + arrive.x, leave.y + arrive.y};
    double v_t = v.x * t.x + v.y * t.y;
    double spread = 2.0 * (1.0 - (leave.x * arrive.x + leave.y * arrive.y));
    double length;
    if (spread < 1e-9) {
        double along = v.x * leave.x + v.y * leave.y;
        if (fabs(along) < 1e-9) {
            return false;
        }
        length = (v.x * v.x + v.y * v.y) / (4.0 * along);
    } else {
        double square = v_t * v_t + spread * (v.x * v.x + v.y * v.y);
        length = (sqrt(square) - v_t) / spread;
    }
    if (!(length > 0.0)) {
        return false;
    }
    *joint = (Place){(from.x + to.x + length * (leave.x - arrive.x)) / 2.0,
                     (from.y + to.y + length * (leave.y - arrive.y)) / 2.0};
    return true;
}

static void add_curve(Engraver *engraver, const Place p[4], unsigned halvings) {
    Place leave = direction(p[0], p[1]);
    if (leave.x == 0.0 && leave.y == 0.0) {
        leave = direction(p[0], p[2]);
    }
    Place arrive = direction(p[2], p[3]);
    if (arrive.x == 0.0 && arrive.y == 0.0) {
        arrive = direction(p[1], p[3]);
    }
    Place joint = {0};
    bool good = joint_of(p[0], leave, p[3], arrive, &joint);
    double first = good ? bulge_of(p[0], leave, joint) : 0.0;
    /* Backwards along the second arc it turns the other way. */
    double second = good ? -bulge_of(p[3], (Place){-arrive.x, -arrive.y}, joint) : 0.0;
    if (fabs(first) > 1.0 || fabs(second) > 1.0) {
        good = false;
    }
    for (int i = 1; i < CURVE_SAMPLES && good; i++) {
        Place at = curve_at(p, (double)i / CURVE_SAMPLES);
        double off = fmin(distance_from_arc(at, p[0], first, joint),
                          distance_from_arc(at, joint, second, p[3]));
        good = off <= ENGRAVE_TOLERANCE_MM;
    }
    if (good || halvings == 0) {
        if (!good) {
            add_point(engraver, p[0], 0.0);
            return;
        }
        add_point(engraver, p[0], fabs(first) < 1e-9 ? 0.0 : first);
        add_point(engraver, joint, fabs(second) < 1e-9 ? 0.0 : second);
        return;
    }
    Place a = between(p[0], p[1], 0.5);
    Place b = between(p[1], p[2], 0.5);
    Place c = between(p[2], p[3], 0.5);
    Place ab = between(a, b, 0.5);
    Place bc = between(b, c, 0.5);
    Place middle = between(ab, bc, 0.5);
    add_curve(engraver, (Place[4]){p[0], a, ab, middle}, halvings - 1);
    add_curve(engraver, (Place[4]){middle, bc, c, p[3]}, halvings - 1);
}

/* --- glyphs -------------------------------------------------------------------------------------
 */

static Place place_of(const Engraver *engraver, float x, float y) {
    return (Place){engraver->x_mm + (double)x * engraver->mm_per_unit,
                   engraver->y_mm + (double)y * engraver->mm_per_unit};
}

static void on_move(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x, float y,
                    void *user) {
    (void)funcs;
    (void)state;
    (void)user;
    Engraver *engraver = data;
    engraver->at = place_of(engraver, x, y);
}

static void on_line(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x, float y,
                    void *user) {
    (void)funcs;
    (void)state;
    (void)user;
    Engraver *engraver = data;
    add_point(engraver, engraver->at, 0.0);
    engraver->at = place_of(engraver, x, y);
}

static void on_cubic(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x1, float y1,
                     float x2, float y2, float x, float y, void *user) {
    (void)funcs;
    (void)state;
    (void)user;
    Engraver *engraver = data;
    Place p[4] = {engraver->at, place_of(engraver, x1, y1), place_of(engraver, x2, y2),
                  place_of(engraver, x, y)};
    add_curve(engraver, p, CURVE_HALVINGS);
    engraver->at = p[3];
}

static void on_quadratic(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, float x1,
                         float y1, float x, float y, void *user) {
    (void)funcs;
    (void)state;
    (void)user;
    Engraver *engraver = data;
    Place from = engraver->at;
    Place control = place_of(engraver, x1, y1);
    Place to = place_of(engraver, x, y);
    Place p[4] = {from, between(from, control, 2.0 / 3.0), between(to, control, 2.0 / 3.0), to};
    add_curve(engraver, p, CURVE_HALVINGS);
    engraver->at = to;
}

static void on_close(hb_draw_funcs_t *funcs, void *data, hb_draw_state_t *state, void *user) {
    (void)funcs;
    (void)state;
    (void)user;
    Engraver *engraver = data;
    add_point(engraver, engraver->at, 0.0);
    finish_contour(engraver);
}

/* Letters of one typeface run either way round; all of ours run the same way. */
static void turn_glyph(Engraver *engraver, size_t first) {
    double area_mm2 = 0.0;
    for (size_t i = first; i < engraver->out->count; i++) {
        area_mm2 += contour_area_mm2(&engraver->out->items[i]);
    }
    if ((area_mm2 < 0.0) == engraver->move.mirrored) {
        return;
    }
    for (size_t i = first; i < engraver->out->count; i++) {
        engraver->out->items[i] = contour_reversed(engraver->arena, &engraver->out->items[i]);
    }
}

static hb_draw_funcs_t *open_funcs(void) {
    hb_draw_funcs_t *funcs = hb_draw_funcs_create();
    hb_draw_funcs_set_move_to_func(funcs, on_move, NULL, NULL);
    hb_draw_funcs_set_line_to_func(funcs, on_line, NULL, NULL);
    hb_draw_funcs_set_cubic_to_func(funcs, on_cubic, NULL, NULL);
    hb_draw_funcs_set_quadratic_to_func(funcs, on_quadratic, NULL, NULL);
    hb_draw_funcs_set_close_path_func(funcs, on_close, NULL, NULL);
    hb_draw_funcs_make_immutable(funcs);
    return funcs;
}

double engrave_text(Arena *arena, DrawFonts *fonts, const char *text, const EngraveStyle *style,
                    double x_mm, double y_mm, ContourList *out) {
    CHECK(style->height_mm > 0.0);
    const FontText *shaped = fonts_shape(fonts, text, style->bold);
    double size_mm = fonts_size_mm(fonts, style->height_mm);
    double width_mm = shaped->advance_em * size_mm;
    double before_mm = style->align == ALIGN_LEFT     ? 0.0
                       : style->align == ALIGN_MIDDLE ? width_mm / 2.0
                                                      : width_mm;
    Engraver engraver = {
        .arena = arena,
        .out = out,
        .move = {style->mirrored, style->turn_deg, x_mm, y_mm},
    };
    hb_draw_funcs_t *funcs = open_funcs();
    for (size_t i = 0; i < shaped->run_count; i++) {
        const FontRun *run = &shaped->runs[i];
        hb_font_t *font = hb_font_create(run->outlines);
        engraver.mm_per_unit = size_mm / hb_face_get_upem(run->outlines);
        for (size_t j = 0; j < run->glyph_count; j++) {
            engraver.x_mm = run->glyphs[j].x * size_mm - before_mm;
            engraver.y_mm = -run->glyphs[j].y * size_mm;
            size_t first = out->count;
            hb_font_get_glyph_shape(font, (hb_codepoint_t)run->glyphs[j].index, funcs, &engraver);
            turn_glyph(&engraver, first);
        }
        hb_font_destroy(font);
    }
    hb_draw_funcs_destroy(funcs);
    return width_mm;
}
