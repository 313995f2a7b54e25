#include "draw/shell_face.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rating/dsub.h"

#define TEXT_GAP_MM 0.2    /* between the corners of a number and the ring around it */
#define CAVITY_GAP_MM 0.3  /* between the rings of two cavities */
#define CAVITY_MOST_MM 4.6 /* radius on paper beyond which larger tells nobody more */
#define CAVITY_LEAST_MM 0.9
#define RIM_MM 1.6   /* between the outermost cavities and the outline, on paper */
#define SLANT_MM 2.0 /* a D is narrower below by this much on either side */
#define TITLE_MM STYLE_TAG_MM
#define PLUG_MM 0.55       /* between the two rings of a cavity plug */
#define MARK_MM 4.0        /* legs of the filled corner at cavity 1 */
#define PITCH_DRAWN_MM 5.0 /* distance of centres where places are set out by number */
#define PLACED_MOST 2000u  /* no shell has more; a slip in the library must not take all day */
#define PI 3.14159265358979323846

/* --- places -------------------------------------------------------------------------------------
 */

static void set_out_rows(ShellFace *face, uint32_t rows) {
    uint32_t columns = (face->ways + rows - 1) / rows;
    for (uint32_t i = 0; i < face->ways; i++) {
        face->x_mm[i] = PITCH_DRAWN_MM * (i % columns);
        uint32_t row = i / columns;
        face->y_mm[i] = -PITCH_DRAWN_MM * row;
    }
}

/* How many fit on a ring of `radius` pitches, side by side; in the very middle one. */
static uint32_t ring_holds(double radius) {
    return radius < 0.5 ? 1 : (uint32_t)floor(PI / asin(0.5 / radius) + 1e-9);
}

static uint32_t rings_hold(double radius) {
    uint32_t sum = 0;
    for (int ring = 0; radius - ring >= 0.0; ring++) {
        sum += ring_holds(radius - ring);
    }
    return sum;
}

/* Rings a pitch apart in the smallest circle that holds all, filled from the outside in; number 1
 * on top, clockwise on the mating face of the pins (common practice, no source). */
static void set_out_rings(ShellFace *face) {
    double radius = 0.0;
    while (rings_hold(radius) < face->ways) {
        radius += 0.05;
    }
    uint32_t next = 0;
    while (next < face->ways) {
        uint32_t left = face->ways - next;
        uint32_t count = ring_holds(radius) < left ? ring_holds(radius) : left;
        double away_mm = PITCH_DRAWN_MM * (count == 1 && radius < 1.0 ? 0.0 : radius);
        for (uint32_t i = 0; i < count; i++, next++) {
            double angle = PI / 2.0 - 2.0 * PI * i / count;
            face->x_mm[next] = away_mm * cos(angle);
            face->y_mm[next] = away_mm * sin(angle);
        }
        radius -= 1.0;
    }
}

static bool place_by_rows(ShellFace *face, const char *rows) {
    DsubLayout layout = {0};
    if (!dsub_rows_parse(rows, &layout) || dsub_contacts(&layout) != face->ways) {
        return false;
    }
    bool dense = layout.rows > 2 && layout.row_contacts[0] == layout.row_contacts[1];
    layout.pitch_mm = dense ? 2.286 : 2.77; /* rating/dsub.h */
    layout.row_pitch_mm = dense ? 1.981 : 2.84;
    for (uint32_t i = 0; i < face->ways; i++) {
        DsubPlace place = dsub_place(&layout, DSUB_MALE_MATING, i + 1);
        face->x_mm[i] = place.x_mm;
        face->y_mm[i] = place.y_mm;
    }
    return true;
}

static void place_by_number(ShellFace *face) {
    switch (face->form) {
    case FACE_CIRCLE:
    case FACE_COAX:
        set_out_rings(face);
        break;
    case FACE_STUDS:
    case FACE_LEADS:
        set_out_rows(face, face->ways > 16 ? (face->ways + 15) / 16 : 1);
        break;
    case FACE_D:
    case FACE_BLOCK: {
        uint32_t rows = face->ways <= 3 ? 1 : 2;
        /* Twice as wide as high; nearly square where numbers have three figures. */
        while (face->ways > 3 && rows * rows * (face->ways < 100 ? 6 : 4) / 3 < face->ways) {
            rows++;
        }
        set_out_rows(face, rows);
        break;
    }
    }
}

static void centre(ShellFace *face) {
    double left = (double)INFINITY;
    double right = -(double)INFINITY;
    double low = (double)INFINITY;
    double high = -(double)INFINITY;
    for (uint32_t i = 0; i < face->ways; i++) {
        left = fmin(left, face->x_mm[i]);
        right = fmax(right, face->x_mm[i]);
        low = fmin(low, face->y_mm[i]);
        high = fmax(high, face->y_mm[i]);
    }
    for (uint32_t i = 0; i < face->ways; i++) {
        face->x_mm[i] -= (left + right) / 2.0;
        face->y_mm[i] -= (low + high) / 2.0;
    }
    face->half_width_mm = face->ways == 0 ? 0.0 : (right - left) / 2.0;
    face->half_height_mm = face->ways == 0 ? 0.0 : (high - low) / 2.0;
}

static double smallest_distance(const ShellFace *face) {
    double smallest_mm = (double)INFINITY;
    for (uint32_t i = 0; i < face->ways; i++) {
        for (uint32_t k = i + 1; k < face->ways; k++) {
            double apart_mm = hypot(face->x_mm[i] - face->x_mm[k], face->y_mm[i] - face->y_mm[k]);
            smallest_mm = apart_mm > 0.0 ? fmin(smallest_mm, apart_mm) : smallest_mm;
        }
    }
    return isfinite(smallest_mm) ? smallest_mm : PITCH_DRAWN_MM;
}

static FaceForm form_of(const ShellRow *row) {
    static const struct {
        const char *name;
        FaceForm form;
    } FORMS[] = {{"D", FACE_D},       {"circle", FACE_CIRCLE}, {"block", FACE_BLOCK},
                 {"coax", FACE_COAX}, {"studs", FACE_STUDS},   {"leads", FACE_LEADS}};
    for (size_t i = 0; i < sizeof FORMS / sizeof *FORMS; i++) {
        if (strcmp(FORMS[i].name, row->form) == 0) {
            return FORMS[i].form;
        }
    }
    return row->coax == 1 ? FACE_COAX : *row->rows != '\0' ? FACE_D : FACE_BLOCK;
}

void shell_face_read(Arena *out, DrawFonts *fonts, const Model *model, ShellId shell,
                     ShellFace *face) {
    const ShellRow *row = &model->set->shell.rows[shell];
    uint32_t ways = row->ways > 0 ? (uint32_t)row->ways : 0;
    *face = (ShellFace){.form = form_of(row),
                        .ways = ways < PLACED_MOST ? ways : PLACED_MOST,
                        .sealed = row->sealed == 1};
    face->names = ARENA_ARRAY(out, const char *, face->ways);
    face->x_mm = ARENA_ARRAY(out, double, face->ways);
    face->y_mm = ARENA_ARRAY(out, double, face->ways);
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_cavity, row->shell, &count);
    bool placed = count == face->ways && count > 0;
    for (uint32_t i = 0; i < face->ways; i++) {
        const CavityRow *cavity = placed ? &model->set->cavity.rows[first + i] : NULL;
        face->names[i] = placed ? cavity->cavity : arena_format(out, "%u", i + 1);
        face->x_mm[i] = placed ? cavity->x_mm : 0.0;
        face->y_mm[i] = placed ? cavity->y_mm : 0.0;
        face->name_mm =
            fmax(face->name_mm, fonts_width_mm(fonts, face->names[i], STYLE_NOTE_MM, false));
    }
    face->measured = placed || place_by_rows(face, row->rows);
    if (!face->measured) {
        place_by_number(face);
    }
    centre(face);
    face->pitch_mm = smallest_distance(face);
}

bool shell_face_mirrored(FaceHalf half, FaceSide side) {
    return (half == FACE_SOCKETS) != (side == FACE_WIRE_SIDE);
}

DrawPoint shell_face_at(const ShellFace *face, FaceHalf half, FaceSide side, uint32_t cavity) {
    bool mirrored = face->form != FACE_STUDS && shell_face_mirrored(half, side);
    return (DrawPoint){mirrored ? -face->x_mm[cavity] : face->x_mm[cavity], -face->y_mm[cavity]};
}

/* --- size ---------------------------------------------------------------------------------------
 */

/* Radius that holds the longest number. */
static double wanted_radius_mm(const ShellFace *face) {
    return hypot(face->name_mm / 2.0, STYLE_NOTE_MM / 2.0) + TEXT_GAP_MM + STYLE_MEDIUM_MM / 2.0 +
           (face->sealed ? PLUG_MM : 0.0);
}

static double radius_mm(const ShellFace *face, double scale) {
    double radius = (face->pitch_mm * scale - CAVITY_GAP_MM) / 2.0;
    return fmin(CAVITY_MOST_MM, fmax(CAVITY_LEAST_MM, radius));
}

/* From the outermost centres to the edge of the view, sideways. */
static double side_mm(const ShellFace *face, double radius) {
    double slant_mm = face->form == FACE_D ? SLANT_MM : 0.0;
    return radius + RIM_MM + slant_mm + (face->form == FACE_CIRCLE ? MARK_MM : 0.0);
}

/* The pattern's reach as drawn: circles go by their corners. */
static double reach_x_mm(const ShellFace *face) {
    if (face->form != FACE_CIRCLE && face->form != FACE_COAX) {
        return face->half_width_mm;
    }
    double reach_mm = 0.0;
    for (uint32_t i = 0; i < face->ways; i++) {
        reach_mm = fmax(reach_mm, hypot(face->x_mm[i], face->y_mm[i]));
    }
    return reach_mm;
}

static double reach_y_mm(const ShellFace *face) {
    return face->form == FACE_CIRCLE || face->form == FACE_COAX ? reach_x_mm(face)
                                                                : face->half_height_mm;
}

double shell_face_scale(const ShellFace *face, double width_mm) {
    double wanted = (2.0 * wanted_radius_mm(face) + CAVITY_GAP_MM) / face->pitch_mm;
    if (face->ways <= 16) {
        wanted = fmax(wanted, (2.0 * 3.6 + CAVITY_GAP_MM) / face->pitch_mm);
    }
    double most = (width_mm - 2.0 * side_mm(face, CAVITY_LEAST_MM)) / (2.0 * reach_x_mm(face));
    for (int i = 0; i < 4 && isfinite(most); i++) { /* the rim grows with the radius */
        most = (width_mm - 2.0 * side_mm(face, radius_mm(face, fmin(wanted, most)))) /
               (2.0 * reach_x_mm(face));
    }
    return isfinite(most) ? fmax(0.1, fmin(wanted, most)) : wanted;
}

bool shell_face_readable(const ShellFace *face, double scale) {
    return radius_mm(face, scale) >= wanted_radius_mm(face) - 1e-6;
}

static const char *title_of(const ShellFace *face, FaceSide side) {
    return face->form == FACE_STUDS ? "FROM ABOVE"
           : side == FACE_WIRE_SIDE ? "WIRE SIDE"
                                    : "MATING FACE";
}

double shell_face_width_mm(const ShellFace *face, double scale) {
    double radius = radius_mm(face, scale);
    return 2.0 * (reach_x_mm(face) * scale + side_mm(face, radius));
}

/* Title, "cavity 1", outline. */
#define HEAD_MM (TITLE_MM + 6.8)

double shell_face_height_mm(const ShellFace *face, double scale) {
    double radius = radius_mm(face, scale);
    double mark_mm = face->form == FACE_CIRCLE ? MARK_MM : 0.0;
    return HEAD_MM + mark_mm + 2.0 * (reach_y_mm(face) * scale + radius + RIM_MM) + 1.0;
}

/* --- drawing ------------------------------------------------------------------------------------
 */

/* Black or white, whichever stands out. WCAG 2.1 weights without its gamma are near enough. */
static uint32_t text_rgb(uint32_t rgb) {
    double light =
        0.2126 * (rgb >> 16 & 0xFFu) + 0.7152 * (rgb >> 8 & 0xFFu) + 0.0722 * (rgb & 0xFFu);
    return light > 118.0 ? STYLE_INK : STYLE_PAPER;
}

/* The lower segment of a disc, for the tracer: below the number. */
static void draw_segment(DrawList *list, double x_mm, double y_mm, double radius, double from_mm) {
    enum { STEPS = 16 };
    DrawPoint points[STEPS + 1];
    double half = acos(from_mm / radius);
    for (int i = 0; i <= STEPS; i++) {
        double angle = PI / 2.0 - half + 2.0 * half * i / STEPS;
        points[i] = (DrawPoint){x_mm + radius * cos(angle), y_mm + radius * sin(angle)};
    }
    draw_fill(list, points, STEPS + 1);
}

static void draw_cavity(DrawList *list, const ShellFace *face, double x_mm, double y_mm,
                        double radius, const FaceCavity *cavity, const char *name) {
    uint32_t base = STYLE_PAPER;
    uint32_t tracer = STYLE_PAPER;
    bool coloured =
        cavity->used && !cavity->shield && style_insulation_rgb(cavity->colour, &base, &tracer);
    base = coloured ? base : STYLE_PAPER;
    tracer = coloured ? tracer : base;
    draw_layer(list, coloured ? LAYER_INSULATION : LAYER_PIN);
    draw_row(list, cavity->table, cavity->key);
    draw_rgb(list, base);
    draw_disc(list, x_mm, y_mm, radius);
    if (tracer != base) {
        draw_rgb(list, tracer);
        draw_segment(list, x_mm, y_mm, radius, fmin(radius * 0.8, STYLE_NOTE_MM / 2.0 + 0.3));
    }
    draw_rgb(list, STYLE_INK);
    draw_layer(list, LAYER_PIN);
    draw_circle(list, x_mm, y_mm, radius, cavity->used ? STYLE_MEDIUM_MM : STYLE_THIN_MM);
    if (!cavity->used && face->sealed) { /* a cavity plug: double outline */
        draw_circle(list, x_mm, y_mm, radius - PLUG_MM, STYLE_THIN_MM);
    }
    double inside_mm = radius - (!cavity->used && face->sealed ? PLUG_MM : 0.0);
    if (hypot(draw_text_width(list, (DrawTextStyle){.height_mm = STYLE_NOTE_MM}, name) / 2.0,
              STYLE_NOTE_MM / 2.0) <= inside_mm - STYLE_MEDIUM_MM / 2.0 - TEXT_GAP_MM + 1e-6) {
        draw_rgb(list, text_rgb(base));
        draw_text(list, x_mm, y_mm + STYLE_NOTE_MM / 2.0,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE}, name);
        draw_rgb(list, STYLE_INK);
    }
}

/* Box around the outline; the D is wide where the first row is. */
typedef struct Outline {
    double half_width_mm;
    double half_height_mm;
    double slant_mm;
} Outline;

static void draw_d(DrawList *list, double x_mm, double y_mm, const Outline *outline) {
    double w = outline->half_width_mm;
    double h = outline->half_height_mm;
    double narrow = w - outline->slant_mm;
    double cut_mm = 1.8;
    DrawPoint points[] = {
        {x_mm - w + cut_mm, y_mm - h},      {x_mm + w - cut_mm, y_mm - h},
        {x_mm + w, y_mm - h + cut_mm},      {x_mm + narrow, y_mm + h - cut_mm},
        {x_mm + narrow - cut_mm, y_mm + h}, {x_mm - narrow + cut_mm, y_mm + h},
        {x_mm - narrow, y_mm + h - cut_mm}, {x_mm - w, y_mm - h + cut_mm},
    };
    draw_path(list, points, sizeof points / sizeof *points, true, STYLE_THICK_MM);
}

/* The filled corner outside the outline, at the corner that cavity 1 is nearest to. */
static void draw_corner(DrawList *list, double x_mm, double y_mm, const Outline *outline,
                        bool at_right, bool at_bottom) {
    double sx = at_right ? 1.0 : -1.0;
    double sy = at_bottom ? 1.0 : -1.0;
    double cx = x_mm + sx * outline->half_width_mm;
    double cy = y_mm + sy * outline->half_height_mm;
    DrawPoint points[] = {{cx, cy}, {cx - sx * MARK_MM, cy}, {cx, cy - sy * MARK_MM}};
    draw_fill(list, points, 3);
}

static void draw_outline(DrawList *list, const ShellFace *face, double x_mm, double y_mm,
                         double scale, double radius, DrawPoint first) {
    Outline outline = {.half_width_mm = reach_x_mm(face) * scale + radius + RIM_MM,
                       .half_height_mm = reach_y_mm(face) * scale + radius + RIM_MM};
    draw_layer(list, LAYER_BOX);
    switch (face->form) {
    case FACE_D:
        outline.slant_mm = SLANT_MM;
        outline.half_width_mm += outline.slant_mm;
        draw_d(list, x_mm, y_mm, &outline);
        draw_corner(list, x_mm, y_mm, &outline, first.x_mm > 0.0, first.y_mm > 0.0);
        break;
    case FACE_CIRCLE:
    case FACE_COAX: {
        double r = outline.half_width_mm;
        draw_circle(list, x_mm, y_mm, r, STYLE_THICK_MM);
        if (face->form == FACE_CIRCLE) { /* a filled corner outside the rim that points at it */
            double away = hypot(first.x_mm, first.y_mm);
            double ux = away > 0.0 ? first.x_mm / away : 0.0;
            double uy = away > 0.0 ? first.y_mm / away : -1.0;
            double tip = r + 0.35;
            DrawPoint points[] = {
                {x_mm + ux * tip, y_mm + uy * tip},
                {x_mm + ux * (tip + MARK_MM - 0.6) - uy * 1.8,
                 y_mm + uy * (tip + MARK_MM - 0.6) + ux * 1.8},
                {x_mm + ux * (tip + MARK_MM - 0.6) + uy * 1.8,
                 y_mm + uy * (tip + MARK_MM - 0.6) - ux * 1.8},
            };
            draw_fill(list, points, 3);
        }
        break;
    }
    case FACE_BLOCK:
    case FACE_STUDS:
    case FACE_LEADS:
        draw_rectangle(list,
                       (DrawBox){x_mm - outline.half_width_mm, y_mm - outline.half_height_mm,
                                 x_mm + outline.half_width_mm, y_mm + outline.half_height_mm},
                       STYLE_THICK_MM);
        draw_corner(list, x_mm, y_mm, &outline, first.x_mm > 0.0, first.y_mm > 0.0);
        break;
    }
}

void shell_face_draw(DrawList *list, const ShellFace *face, FaceHalf half, FaceSide side,
                     double scale, double middle_mm, double top_mm, const FaceCavity *cavities) {
    double radius = radius_mm(face, scale);
    double reach_mm = reach_y_mm(face) * scale + radius + RIM_MM;
    double mark_mm = face->form == FACE_CIRCLE ? MARK_MM : 0.0;
    double y_mm = top_mm + HEAD_MM + mark_mm + reach_mm;
    draw_row(list, TABLE_COUNT, "");
    draw_layer(list, LAYER_TAG);
    draw_text(list, middle_mm, top_mm + TITLE_MM,
              (DrawTextStyle){.height_mm = TITLE_MM, .align = ALIGN_MIDDLE, .bold = true},
              title_of(face, side));
    if (face->ways == 0) {
        return;
    }
    DrawPoint first = shell_face_at(face, half, side, 0);
    draw_outline(list, face, middle_mm, y_mm, scale, radius, first);
    draw_layer(list, LAYER_PIN);
    if (face->ways > 1) {
        const char *words = arena_format(list->arena, "cavity %s", face->names[0]);
        DrawTextStyle small = {.height_mm = STYLE_NOTE_MM};
        double most_mm = fmax(0.0, shell_face_width_mm(face, scale) / 2.0 -
                                       draw_text_width(list, small, words) / 2.0);
        double aside_mm = face->form == FACE_CIRCLE ? 0.0 : first.x_mm * scale;
        double text_mm = middle_mm + fmax(-most_mm, fmin(most_mm, aside_mm));
        draw_text(list, text_mm, y_mm - reach_mm - mark_mm - 1.3,
                  (DrawTextStyle){.height_mm = STYLE_NOTE_MM, .align = ALIGN_MIDDLE}, words);
    }
    for (uint32_t i = 0; i < face->ways; i++) {
        DrawPoint at = shell_face_at(face, half, side, i);
        draw_cavity(list, face, middle_mm + at.x_mm * scale, y_mm + at.y_mm * scale, radius,
                    &cavities[i], face->names[i]);
    }
    draw_row(list, TABLE_COUNT, "");
}

const char *shell_face_legend(void) {
    return "Cavities: thick ring and colour of the insulation (its second colour below) with a "
           "wire, thin ring empty, double ring empty and closed by a plug. The filled corner is at "
           "cavity 1.";
}
