/* Every symbol is a short list of strokes in its own frame: u along the middle line from the first
 * terminal, v across it, down positive, both in mm. Drawing shifts and, for an upright one, turns
 * the strokes; letters stay upright. Numbers of IEC 60617 are from memory: they say where to look,
 * the shapes follow the standard's descriptions. */
#include "draw/symbol.h"

#include <string.h>

#include "base/check.h"

typedef enum StrokeKind {
    STROKE_NONE, /* ends the list */
    STROKE_LINE, /* u1 v1 u2 v2 */
    STROKE_RECTANGLE,
    STROKE_BLOCK,    /* filled rectangle */
    STROKE_CIRCLE,   /* u v radius */
    STROKE_DISC,     /* filled */
    STROKE_ARC,      /* u v radius from to (degrees, counter-clockwise) */
    STROKE_TRIANGLE, /* three corners, open */
    STROKE_WEDGE,    /* three corners, filled */
    STROKE_LETTER    /* middle u, baseline v */
} StrokeKind;

typedef struct Stroke {
    StrokeKind kind;
    double at[6];
    const char *text;
} Stroke;

#define LINE(u1, v1, u2, v2)                                                                       \
    { STROKE_LINE, {u1, v1, u2, v2}, "" }
#define RECTANGLE(u1, v1, u2, v2)                                                                  \
    { STROKE_RECTANGLE, {u1, v1, u2, v2}, "" }
#define BLOCK(u1, v1, u2, v2)                                                                      \
    { STROKE_BLOCK, {u1, v1, u2, v2}, "" }
#define CIRCLE(u, v, radius)                                                                       \
    { STROKE_CIRCLE, {u, v, radius}, "" }
#define DISC(u, v, radius)                                                                         \
    { STROKE_DISC, {u, v, radius}, "" }
#define ARC(u, v, radius, from, to)                                                                \
    { STROKE_ARC, {u, v, radius, from, to}, "" }
#define TRIANGLE(u1, v1, u2, v2, u3, v3)                                                           \
    { STROKE_TRIANGLE, {u1, v1, u2, v2, u3, v3}, "" }
#define WEDGE(u1, v1, u2, v2, u3, v3)                                                              \
    { STROKE_WEDGE, {u1, v1, u2, v2, u3, v3}, "" }
#define LETTER(u, v, text)                                                                         \
    { STROKE_LETTER, {u, v}, text }

/* Parts that several symbols share. A make contact's blade is hinged at the left; a break contact's
 * blade lies against a stub of the fixed side. The mark of an operation by hand stands above. */
#define ENDS(left, right, width) LINE(0.0, 0.0, left, 0.0), LINE(right, 0.0, width, 0.0)
#define MAKE_CONTACT ENDS(2.5, 7.5, 10.0), LINE(2.5, 0.0, 8.0, -2.5)
#define BREAK_CONTACT ENDS(2.5, 7.5, 10.0), LINE(2.5, 0.0, 8.5, -1.8), LINE(7.5, 0.0, 7.5, -1.5)
#define BY_HAND(top)                                                                               \
    LINE(5.0, top, 5.0, -2.95), LINE(5.0, -2.25, 5.0, -1.6), LINE(3.75, top, 6.25, top)
#define LAMP_IN_CIRCLE                                                                             \
    ENDS(1.25, 8.75, 10.0), CIRCLE(5.0, 0.0, 3.75), LINE(2.348, -2.652, 7.652, 2.652),             \
        LINE(2.348, 2.652, 7.652, -2.652)

static const struct {
    const char *name;
    double width_mm;
    double height_mm;
} SYMBOLS[] = {
#define SYMBOL_ROW(id, name, width_mm, height_mm) {name, width_mm, height_mm},
    DRAW_SYMBOLS(SYMBOL_ROW)
#undef SYMBOL_ROW
};

/* S01342 battery of cells; the long plate is the positive one. */
static const Stroke BATTERY[] = {
    ENDS(3.125, 6.875, 10.0),     LINE(3.125, -5.0, 3.125, 5.0), LINE(4.375, -2.5, 4.375, 2.5),
    LINE(4.375, 0.0, 5.625, 0.0), LINE(5.625, -5.0, 5.625, 5.0), LINE(6.875, -2.5, 6.875, 2.5),
    LINE(0.75, -2.5, 2.25, -2.5), LINE(1.5, -3.25, 1.5, -1.75),  {STROKE_NONE, {0.0}, ""},
};

static const Stroke BATTERY_RIGHT[] = {
    ENDS(3.125, 6.875, 10.0),     LINE(6.875, -5.0, 6.875, 5.0), LINE(5.625, -2.5, 5.625, 2.5),
    LINE(4.375, 0.0, 5.625, 0.0), LINE(4.375, -5.0, 4.375, 5.0), LINE(3.125, -2.5, 3.125, 2.5),
    LINE(7.75, -2.5, 9.25, -2.5), LINE(8.5, -3.25, 8.5, -1.75),  {STROKE_NONE, {0.0}, ""},
};

/* S00819 machine, generator; alternating current, S00641 rectified inside. */
static const Stroke ALTERNATOR[] = {
    CIRCLE(7.5, 0.0, 7.5),
    LETTER(7.5, -1.0, "G"),
    ARC(4.25, 2.75, 1.0, 0.0, 180.0),
    ARC(6.25, 2.75, 1.0, 180.0, 360.0),
    TRIANGLE(8.75, 1.5, 8.75, 4.0, 11.0, 2.75),
    LINE(11.0, 1.5, 11.0, 4.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S00819 machine, motor; S00001 direct current. */
static const Stroke MOTOR[] = {
    CIRCLE(7.5, 0.0, 7.5),      LETTER(7.5, 0.75, "M"),     LINE(5.0, 2.75, 10.0, 2.75),
    LINE(5.0, 4.25, 6.0, 4.25), LINE(7.0, 4.25, 8.0, 4.25), LINE(9.0, 4.25, 10.0, 4.25),
    {STROKE_NONE, {0.0}, ""},
};

/* Motor, with the wedge of a pump for liquids (ISO 1219-1, memory) at its rim. */
static const Stroke PUMP[] = {
    CIRCLE(7.5, 0.0, 7.5),
    LETTER(7.5, 2.75, "M"),
    WEDGE(5.75, -3.5, 9.25, -3.5, 7.5, -6.75),
    {STROKE_NONE, {0.0}, ""},
};

/* S00965 lamp. */
static const Stroke LAMP[] = {LAMP_IN_CIRCLE, {STROKE_NONE, {0.0}, ""}};

/* S00966 lamp, flashing: the square wave stands above it. */
static const Stroke STROBE[] = {
    ENDS(1.25, 8.75, 10.0),
    CIRCLE(5.0, 0.0, 3.75),
    LINE(2.348, -2.652, 7.652, 2.652),
    LINE(2.348, 2.652, 7.652, -2.652),
    LINE(6.75, -3.75, 7.75, -3.75),
    LINE(7.75, -3.75, 7.75, -5.0),
    LINE(7.75, -5.0, 8.75, -5.0),
    LINE(8.75, -5.0, 8.75, -3.75),
    LINE(8.75, -3.75, 9.75, -3.75),
    {STROKE_NONE, {0.0}, ""},
};

/* S00555 resistor. */
static const Stroke RESISTOR[] = {
    ENDS(1.25, 8.75, 10.0),
    RECTANGLE(1.25, -1.25, 8.75, 1.25),
    {STROKE_NONE, {0.0}, ""},
};

/* S00566 heating element. */
static const Stroke HEATER[] = {
    ENDS(1.25, 8.75, 10.0),          RECTANGLE(1.25, -1.25, 8.75, 1.25),
    LINE(3.125, -1.25, 3.125, 1.25), LINE(5.0, -1.25, 5.0, 1.25),
    LINE(6.875, -1.25, 6.875, 1.25), {STROKE_NONE, {0.0}, ""},
};

/* S00558 resistor that depends on what is measured: the bent line of inherent variability. */
static const Stroke SENSOR[] = {
    ENDS(1.25, 8.75, 10.0),      RECTANGLE(1.25, -1.25, 8.75, 1.25), LINE(1.25, 3.0, 2.75, 3.0),
    LINE(2.75, 3.0, 7.25, -3.0), {STROKE_NONE, {0.0}, ""},
};

/* S00952 thermocouple. */
static const Stroke THERMOCOUPLE[] = {
    LINE(0.0, -2.5, 2.5, -2.5), LINE(2.5, -2.5, 7.5, 0.0), LINE(0.0, 2.5, 2.5, 2.5),
    LINE(2.5, 2.5, 7.5, 0.0),   {STROKE_NONE, {0.0}, ""},
};

/* S01059 loudspeaker. */
static const Stroke SPEAKER[] = {
    LINE(0.0, -2.5, 1.25, -2.5), LINE(0.0, 2.5, 1.25, 2.5), RECTANGLE(1.25, -3.0, 3.75, 3.0),
    LINE(3.75, -3.0, 7.5, -5.0), LINE(7.5, -5.0, 7.5, 5.0), LINE(7.5, 5.0, 3.75, 3.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S01053 microphone. */
static const Stroke MICROPHONE[] = {
    LINE(0.0, -2.5, 1.92, -2.5),   LINE(0.0, 2.5, 1.92, 2.5), CIRCLE(3.75, 0.0, 3.1),
    LINE(6.85, -3.75, 6.85, 3.75), {STROKE_NONE, {0.0}, ""},
};

/* S00031, S00032 socket contacts in line, as of a jack: spring of the tip, sleeve. */
static const Stroke JACK[] = {
    LINE(0.0, -2.5, 6.25, -2.5), LINE(6.25, -2.5, 7.5, -1.25), LINE(7.5, -1.25, 8.75, -2.5),
    LINE(0.0, 2.5, 3.75, 2.5),   LINE(3.75, 2.5, 3.75, 1.25),  RECTANGLE(2.5, -0.75, 5.0, 1.25),
    {STROKE_NONE, {0.0}, ""},
};

/* S00362 fuse. */
static const Stroke FUSE[] = {
    RECTANGLE(1.25, -1.25, 8.75, 1.25),
    LINE(0.0, 0.0, 10.0, 0.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S00287 circuit breaker; pulled, as the standard has it. */
static const Stroke BREAKER[] = {
    MAKE_CONTACT,
    LINE(6.75, -0.75, 8.25, 0.75),
    LINE(6.75, 0.75, 8.25, -0.75),
    {STROKE_NONE, {0.0}, ""},
};

/* The same, S00167 operated by hand. */
static const Stroke SWITCH_BREAKER[] = {
    MAKE_CONTACT,   LINE(6.75, -0.75, 8.25, 0.75), LINE(6.75, 0.75, 8.25, -0.75),
    BY_HAND(-3.75), {STROKE_NONE, {0.0}, ""},
};

/* Ours: a fuse of the slow, large kind. */
static const Stroke LIMITER[] = {
    RECTANGLE(0.625, -2.5, 9.375, 2.5),
    RECTANGLE(1.875, -1.25, 8.125, 1.25),
    LINE(0.0, 0.0, 10.0, 0.0),
    {STROKE_NONE, {0.0}, ""},
};

/* Ours: a make contact inside an electronic box. */
static const Stroke CHANNEL[] = {
    ENDS(0.625, 11.875, 12.5),
    RECTANGLE(0.625, -3.75, 11.875, 3.75),
    RECTANGLE(1.625, -2.75, 10.875, 2.75),
    LINE(1.625, 0.0, 4.375, 0.0),
    LINE(4.375, 0.0, 8.25, -1.75),
    LINE(8.125, 0.0, 10.875, 0.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S00253 make contact, S00167 operated by hand. */
static const Stroke SWITCH_OPEN[] = {MAKE_CONTACT, BY_HAND(-3.75), {STROKE_NONE, {0.0}, ""}};

/* S00229 break contact, S00167 operated by hand. */
static const Stroke SWITCH_CLOSED[] = {BREAK_CONTACT, BY_HAND(-3.75), {STROKE_NONE, {0.0}, ""}};

/* S00230 change-over contact. */
static const Stroke CHANGEOVER[] = {
    LINE(0.0, 0.0, 2.5, 0.0),   LINE(2.5, 0.0, 8.5, -1.8), LINE(10.0, -5.0, 7.5, -5.0),
    LINE(7.5, -5.0, 7.5, -1.5), LINE(10.0, 5.0, 7.5, 5.0), LINE(7.5, 5.0, 7.5, 1.5),
    {STROKE_NONE, {0.0}, ""},
};

/* S00254 make contact, operated by pushing. */
static const Stroke PUSH[] = {
    MAKE_CONTACT,
    BY_HAND(-5.0),
    LINE(3.75, -5.0, 3.75, -4.25),
    LINE(6.25, -5.0, 6.25, -4.25),
    {STROKE_NONE, {0.0}, ""},
};

/* S00227 make contact. */
static const Stroke RELAY_OPEN[] = {MAKE_CONTACT, {STROKE_NONE, {0.0}, ""}};

/* S00229 break contact. */
static const Stroke RELAY_CLOSED[] = {BREAK_CONTACT, {STROKE_NONE, {0.0}, ""}};

/* S00284 main make contact of a contactor. */
static const Stroke CONTACTOR_OPEN[] = {
    MAKE_CONTACT,
    ARC(8.375, 0.0, 0.875, 180.0, 360.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S00286 main break contact of a contactor. */
static const Stroke CONTACTOR_CLOSED[] = {
    BREAK_CONTACT,
    ARC(8.375, 0.0, 0.875, 180.0, 360.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S00305 operating device. */
static const Stroke COIL[] = {
    ENDS(1.25, 6.25, 7.5),
    RECTANGLE(1.25, -5.0, 6.25, 5.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S00641 semiconductor diode. */
static const Stroke DIODE[] = {
    LINE(0.0, 0.0, 10.0, 0.0),
    TRIANGLE(3.125, -2.5, 3.125, 2.5, 7.5, 0.0),
    LINE(7.5, -2.5, 7.5, 2.5),
    {STROKE_NONE, {0.0}, ""},
};

/* S00564 shunt: resistor with separate terminals for current and voltage. */
static const Stroke SHUNT[] = {
    ENDS(1.25, 8.75, 10.0),        RECTANGLE(1.25, -1.25, 8.75, 1.25),
    LINE(3.125, 1.25, 3.125, 2.5), LINE(6.875, 1.25, 6.875, 2.5),
    {STROKE_NONE, {0.0}, ""},
};

/* S00200 earth, general: here the ground of the supply. */
static const Stroke GROUND[] = {
    LINE(0.0, 0.0, 0.0, 4.5),  LINE(-2.5, 4.5, 2.5, 4.5), LINE(-1.6, 6.0, 1.6, 6.0),
    LINE(-0.7, 7.5, 0.7, 7.5), {STROKE_NONE, {0.0}, ""},
};

/* S00203 frame, chassis. */
static const Stroke CHASSIS[] = {
    LINE(0.0, 0.0, 0.0, 4.5),    LINE(-2.5, 4.5, 2.5, 4.5), LINE(-0.8, 4.5, -2.5, 7.5),
    LINE(0.85, 4.5, -0.85, 7.5), LINE(2.5, 4.5, 0.8, 7.5),  {STROKE_NONE, {0.0}, ""},
};

/* S01102 antenna. */
static const Stroke ANTENNA[] = {
    LINE(0.0, 0.0, 0.0, -10.0),
    LINE(0.0, -5.0, -3.75, -10.0),
    LINE(0.0, -5.0, 3.75, -10.0),
    {STROKE_NONE, {0.0}, ""},
};

/* S00017 terminal. */
static const Stroke TERMINAL[] = {CIRCLE(1.25, 0.0, 1.25), {STROKE_NONE, {0.0}, ""}};

/* S00555 again. */
static const Stroke TERMINATOR[] = {
    ENDS(1.25, 6.25, 7.5),
    RECTANGLE(1.25, -1.25, 6.25, 1.25),
    {STROKE_NONE, {0.0}, ""},
};

/* S00033 plug and socket. */
static const Stroke CONTACT_PAIR[] = {
    ENDS(2.0, 5.5, 7.5),
    BLOCK(2.0, -0.625, 4.375, 0.625),
    ARC(3.75, 0.0, 1.75, -90.0, 90.0),
    {STROKE_NONE, {0.0}, ""},
};

/* Ours: the same between two shells that part. */
static const Stroke SHELL_PAIR[] = {
    ENDS(3.25, 6.75, 10.0),
    BLOCK(3.25, -0.625, 5.625, 0.625),
    ARC(5.0, 0.0, 1.75, -90.0, 90.0),
    RECTANGLE(0.75, -3.75, 9.25, 3.75),
    RECTANGLE(1.75, -2.75, 8.25, 2.75),
    {STROKE_NONE, {0.0}, ""},
};

/* S00016 junction, drawn as the barrel that is crimped on. */
static const Stroke SPLICE[] = {
    LINE(0.0, 0.0, 2.5, 0.0),
    BLOCK(0.5, -0.9, 2.0, 0.9),
    {STROKE_NONE, {0.0}, ""},
};

static const Stroke *const STROKES[] = {
#define SYMBOL_STROKES(id, name, width_mm, height_mm) id,
    DRAW_SYMBOLS(SYMBOL_STROKES)
#undef SYMBOL_STROKES
};

/* --- placing ------------------------------------------------------------------------------------
 */

static DrawPoint place(double x_mm, double y_mm, bool turned, double u_mm, double v_mm) {
    return turned ? (DrawPoint){x_mm - v_mm, y_mm + u_mm} : (DrawPoint){x_mm + u_mm, y_mm + v_mm};
}

static DrawBox place_box(double x_mm, double y_mm, bool turned, const double at[4]) {
    DrawPoint a = place(x_mm, y_mm, turned, at[0], at[1]);
    DrawPoint b = place(x_mm, y_mm, turned, at[2], at[3]);
    return (DrawBox){a.x_mm < b.x_mm ? a.x_mm : b.x_mm, a.y_mm < b.y_mm ? a.y_mm : b.y_mm,
                     a.x_mm < b.x_mm ? b.x_mm : a.x_mm, a.y_mm < b.y_mm ? b.y_mm : a.y_mm};
}

static void stroke_draw(DrawList *list, const Stroke *stroke, double x_mm, double y_mm,
                        bool turned) {
    const double *at = stroke->at;
    DrawPoint points[3] = {
        place(x_mm, y_mm, turned, at[0], at[1]),
        place(x_mm, y_mm, turned, at[2], at[3]),
        place(x_mm, y_mm, turned, at[4], at[5]),
    };
    double turn_deg = turned ? 90.0 : 0.0;
    switch (stroke->kind) {
    case STROKE_NONE:
        break;
    case STROKE_LINE:
        draw_path(list, points, 2, false, STYLE_MEDIUM_MM);
        break;
    case STROKE_RECTANGLE:
        draw_rectangle(list, place_box(x_mm, y_mm, turned, at), STYLE_MEDIUM_MM);
        break;
    case STROKE_BLOCK:
        draw_fill_rectangle(list, place_box(x_mm, y_mm, turned, at));
        break;
    case STROKE_CIRCLE:
        draw_circle(list, points[0].x_mm, points[0].y_mm, at[2], STYLE_MEDIUM_MM);
        break;
    case STROKE_DISC:
        draw_disc(list, points[0].x_mm, points[0].y_mm, at[2]);
        break;
    case STROKE_ARC:
        draw_arc(list, points[0].x_mm, points[0].y_mm, at[2], at[3] - turn_deg, at[4] - turn_deg,
                 STYLE_MEDIUM_MM);
        break;
    case STROKE_TRIANGLE:
        draw_path(list, points, 3, true, STYLE_MEDIUM_MM);
        break;
    case STROKE_WEDGE:
        draw_fill(list, points, 3);
        break;
    case STROKE_LETTER: {
        /* Upright in both: its middle is what turns. */
        DrawTextStyle style = {.height_mm = STYLE_VALUE_MM, .align = ALIGN_MIDDLE};
        DrawPoint middle = place(x_mm, y_mm, turned, at[0], at[1] - STYLE_VALUE_MM / 2.0);
        draw_text(list, middle.x_mm, middle.y_mm + STYLE_VALUE_MM / 2.0, style, stroke->text);
        break;
    }
    }
}

/* --- what others call ---------------------------------------------------------------------------
 */

const char *symbol_name(DrawSymbol symbol) {
    CHECK(symbol < SYMBOL_COUNT);
    return SYMBOLS[symbol].name;
}

double symbol_width_mm(DrawSymbol symbol) {
    CHECK(symbol < SYMBOL_COUNT);
    return SYMBOLS[symbol].width_mm;
}

double symbol_height_mm(DrawSymbol symbol) {
    CHECK(symbol < SYMBOL_COUNT);
    return SYMBOLS[symbol].height_mm;
}

void symbol_draw(DrawList *list, DrawSymbol symbol, double x_mm, double y_mm, bool turned) {
    CHECK(symbol < SYMBOL_COUNT);
    DrawLayer layer = list->layer;
    DrawDash dash = list->dash;
    draw_layer(list, LAYER_SYMBOL);
    draw_dash(list, DASH_NONE);
    for (const Stroke *stroke = STROKES[symbol]; stroke->kind != STROKE_NONE; stroke++) {
        stroke_draw(list, stroke, x_mm, y_mm, turned);
    }
    draw_layer(list, layer);
    draw_dash(list, dash);
}

DrawBox symbol_cell(DrawSymbol symbol, double x_mm, double y_mm, bool turned) {
    double width_mm = symbol_width_mm(symbol);
    double half_mm = symbol_height_mm(symbol) / 2.0;
    double at[4] = {0.0, -half_mm, width_mm, half_mm};
    if (symbol == SYMBOL_GROUND || symbol == SYMBOL_CHASSIS || symbol == SYMBOL_ANTENNA) {
        at[0] = -width_mm / 2.0;
        at[1] = symbol == SYMBOL_ANTENNA ? -2.0 * half_mm : 0.0;
        at[2] = width_mm / 2.0;
        at[3] = symbol == SYMBOL_ANTENNA ? 0.0 : 2.0 * half_mm;
    }
    return place_box(x_mm, y_mm, turned, at);
}

size_t symbol_terminals(DrawSymbol symbol, double x_mm, double y_mm, bool turned,
                        DrawPoint terminals[SYMBOL_TERMINALS]) {
    double width_mm = symbol_width_mm(symbol);
    terminals[0] = (DrawPoint){x_mm, y_mm};
    if (symbol == SYMBOL_GROUND || symbol == SYMBOL_CHASSIS || symbol == SYMBOL_ANTENNA) {
        return 1;
    }
    if (symbol == SYMBOL_SPEAKER || symbol == SYMBOL_MICROPHONE || symbol == SYMBOL_JACK ||
        symbol == SYMBOL_THERMOCOUPLE) {
        terminals[0] = place(x_mm, y_mm, turned, 0.0, -2.5);
        terminals[1] = place(x_mm, y_mm, turned, 0.0, 2.5);
        return 2;
    }
    if (symbol == SYMBOL_CHANGEOVER) {
        terminals[1] = place(x_mm, y_mm, turned, width_mm, -5.0);
        terminals[2] = place(x_mm, y_mm, turned, width_mm, 5.0);
        return 3;
    }
    terminals[1] = place(x_mm, y_mm, turned, width_mm, 0.0);
    return 2;
}

DrawSymbol symbol_of_device(const char *device_kind) {
    static const struct {
        const char *kind;
        DrawSymbol symbol;
    } KINDS[] = {{"breaker", SYMBOL_BREAKER},
                 {"switch-breaker", SYMBOL_SWITCH_BREAKER},
                 {"fuse", SYMBOL_FUSE},
                 {"limiter", SYMBOL_LIMITER},
                 {"channel", SYMBOL_CHANNEL}};
    for (size_t i = 0; i < sizeof(KINDS) / sizeof(KINDS[0]); i++) {
        if (strcmp(KINDS[i].kind, device_kind) == 0) {
            return KINDS[i].symbol;
        }
    }
    return SYMBOL_COUNT;
}

DrawSymbol symbol_of_switch(const char *switch_kind, const char *rest) {
    bool closed = strcmp(rest, "closed") == 0 || strcmp(rest, "on") == 0;
    if (strcmp(switch_kind, "diode") == 0) {
        return SYMBOL_DIODE;
    }
    if (strcmp(switch_kind, "shunt") == 0) {
        return SYMBOL_SHUNT;
    }
    if (strcmp(switch_kind, "contactor") == 0) {
        return closed ? SYMBOL_CONTACTOR_CLOSED : SYMBOL_CONTACTOR_OPEN;
    }
    if (strcmp(switch_kind, "relay") == 0) {
        return closed ? SYMBOL_RELAY_CLOSED : SYMBOL_RELAY_OPEN;
    }
    if (strcmp(switch_kind, "switch") == 0) {
        return closed ? SYMBOL_SWITCH_CLOSED : SYMBOL_SWITCH_OPEN;
    }
    return SYMBOL_COUNT;
}

DrawSymbol symbol_of_load(const char *load_kind) {
    if (strcmp(load_kind, "lamp") == 0) {
        return SYMBOL_LAMP;
    }
    if (strcmp(load_kind, "motor") == 0) {
        return SYMBOL_MOTOR;
    }
    if (strcmp(load_kind, "resistive") == 0) {
        return SYMBOL_HEATER;
    }
    return SYMBOL_COUNT;
}
