/* Method: a symbol is a short list of strokes in its own coordinates: the first terminal at 0, 0,
 * the second at `width`, 0, y down, unit mm. Turning exchanges the axes. The numbers of IEC 60617
 * beside the symbols are from memory. */
#include "draw/symbol.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"

static const struct {
    const char *name;
    double width_mm;
    double height_mm;
} SYMBOLS[] = {
#define SYMBOL_ROW(id, name, width_mm, height_mm) {name, width_mm, height_mm},
    DRAW_SYMBOLS(SYMBOL_ROW)
#undef SYMBOL_ROW
};

const char *symbol_name(DrawSymbol symbol) {
    return SYMBOLS[symbol].name;
}

double symbol_width_mm(DrawSymbol symbol) {
    return SYMBOLS[symbol].width_mm;
}

double symbol_height_mm(DrawSymbol symbol) {
    return SYMBOLS[symbol].height_mm;
}

/* --- pen ----------------------------------------------------------------------------------------
 */

/* Where a symbol stands and which way round. */
typedef struct Pen {
    DrawList *list;
    DrawPoint origin;
    bool turned;
} Pen;

/* A quarter turn clockwise as seen: right becomes down, down becomes left. */
static DrawPoint at(const Pen *pen, double x_mm, double y_mm) {
    double x = pen->turned ? -y_mm : x_mm;
    double y = pen->turned ? x_mm : y_mm;
    return (DrawPoint){pen->origin.x_mm + x, pen->origin.y_mm + y};
}

static void stroke(const Pen *pen, double x1, double y1, double x2, double y2) {
    DrawPoint a = at(pen, x1, y1);
    DrawPoint b = at(pen, x2, y2);
    draw_line(pen->list, a.x_mm, a.y_mm, b.x_mm, b.y_mm, STYLE_MEDIUM_MM);
}

static void thin(const Pen *pen, double x1, double y1, double x2, double y2) {
    DrawPoint a = at(pen, x1, y1);
    DrawPoint b = at(pen, x2, y2);
    draw_line(pen->list, a.x_mm, a.y_mm, b.x_mm, b.y_mm, STYLE_THIN_MM);
}

static void box(const Pen *pen, double left, double top, double right, double bottom) {
    DrawPoint corners[] = {at(pen, left, top), at(pen, right, top), at(pen, right, bottom),
                           at(pen, left, bottom)};
    draw_path(pen->list, corners, 4, true, STYLE_MEDIUM_MM);
}

static void circle(const Pen *pen, double x, double y, double radius) {
    DrawPoint centre = at(pen, x, y);
    draw_circle(pen->list, centre.x_mm, centre.y_mm, radius, STYLE_MEDIUM_MM);
}

/* An open ring that ends lines: a hinge, a terminal. */
static void ring(const Pen *pen, double x, double y) {
    DrawPoint centre = at(pen, x, y);
    draw_disc_outlined(pen->list, centre.x_mm, centre.y_mm, 0.6, STYLE_PAPER, STYLE_THIN_MM);
}

/* Degrees as in the unturned symbol. */
static void arc(const Pen *pen, double x, double y, double radius, double from_deg,
                double to_deg) {
    DrawPoint centre = at(pen, x, y);
    double turn_deg = pen->turned ? -90.0 : 0.0;
    draw_arc(pen->list, centre.x_mm, centre.y_mm, radius, from_deg + turn_deg, to_deg + turn_deg,
             STYLE_MEDIUM_MM);
}

static void letter(const Pen *pen, double x, double y, const char *text) {
    DrawPoint middle = at(pen, x, y);
    draw_text(pen->list, middle.x_mm, middle.y_mm + STYLE_VALUE_MM / 2.0,
              (DrawTextStyle){.height_mm = STYLE_VALUE_MM, .align = ALIGN_MIDDLE}, text);
}

static void solid(const Pen *pen, const double *xy, size_t count) {
    DrawPoint points[8];
    CHECK(count <= sizeof points / sizeof *points);
    for (size_t i = 0; i < count; i++) {
        points[i] = at(pen, xy[2 * i], xy[2 * i + 1]);
    }
    draw_fill(pen->list, points, count);
}

/* --- contacts -----------------------------------------------------------------------------------
 */

/* A make contact at rest: the blade stands off (IEC 60617 S00227). Hinge at the left. */
static void contact_open(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 2.5, 0.0);
    stroke(pen, 2.5, 0.0, 7.5, -2.5);
    stroke(pen, 7.5, 0.0, 10.0, 0.0);
}

/* A break contact: the blade touches a stop (S00229). */
static void contact_closed(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 2.5, 0.0);
    stroke(pen, 2.5, 0.0, 8.0, 1.4);
    stroke(pen, 7.5, 0.0, 10.0, 0.0);
    stroke(pen, 7.5, 0.0, 7.5, 2.5);
}

/* The sign of a contactor on the fixed contact: a half circle (S00284). */
static void contactor_sign(const Pen *pen) {
    arc(pen, 8.2, 0.0, 0.7, 0.0, 180.0);
}

/* Worked by hand: a thin link up to a short bar (S00253). */
static void hand(const Pen *pen, double x, double from_y) {
    thin(pen, x, from_y, x, -3.75);
    thin(pen, x - 1.2, -3.75, x + 1.2, -3.75);
}

/* --- single symbols -----------------------------------------------------------------------------
 */

/* S00898: long stroke plus. */
static void battery(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 3.0, 0.0);
    stroke(pen, 3.0, -5.0, 3.0, 5.0);
    stroke(pen, 4.5, -2.5, 4.5, 2.5);
    stroke(pen, 5.75, -5.0, 5.75, 5.0);
    stroke(pen, 7.25, -2.5, 7.25, 2.5);
    stroke(pen, 7.25, 0.0, 10.0, 0.0);
}

/* A machine (S00819) with the letter of its kind. */
static void machine(const Pen *pen, const char *kind) {
    circle(pen, 7.5, 0.0, 7.5);
    letter(pen, 7.5, 0.0, kind);
}

/* S00965. */
static void lamp(const Pen *pen) {
    double part = 5.0 * cos(units_rad_from_deg(45.0));
    circle(pen, 5.0, 0.0, 5.0);
    stroke(pen, 5.0 - part, -part, 5.0 + part, part);
    stroke(pen, 5.0 - part, part, 5.0 + part, -part);
}

/* S00555. */
static void resistor(const Pen *pen, double width) {
    stroke(pen, 0.0, 0.0, 1.25, 0.0);
    box(pen, 1.25, -1.25, width - 1.25, 1.25);
    stroke(pen, width - 1.25, 0.0, width, 0.0);
}

/* S00362: the line runs through. */
static void fuse(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 10.0, 0.0);
    box(pen, 1.25, -1.25, 8.75, 1.25);
}

/* S00287: a make contact with a cross, closed in service; drawn closed as a pushed-in breaker rests.
 */
static void breaker(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 1.9, 0.0);
    stroke(pen, 8.1, 0.0, 10.0, 0.0);
    ring(pen, 2.5, 0.0);
    ring(pen, 7.5, 0.0);
    arc(pen, 5.0, 1.9, 4.0, 45.0, 135.0);
}

static void breaker_hand(const Pen *pen) {
    breaker(pen);
    thin(pen, 5.0, -2.1, 5.0, -3.75);
    thin(pen, 3.75, -3.75, 6.25, -3.75);
}

/* A current limiter is a fuse element between two bolts (ours after S00362). */
static void limiter(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 10.0, 0.0);
    box(pen, 1.25, -1.9, 8.75, 1.9);
    ring(pen, 2.5, 0.0);
    ring(pen, 7.5, 0.0);
}

/* A block with the sign of a semiconductor switch (ours: double outline). */
static void channel(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 1.25, 0.0);
    box(pen, 1.25, -3.75, 11.25, 3.75);
    box(pen, 2.0, -3.0, 10.5, 3.0);
    stroke(pen, 3.5, 1.2, 5.5, 1.2);
    stroke(pen, 5.5, 1.2, 7.5, -1.2);
    stroke(pen, 7.5, -1.2, 9.0, -1.2);
    stroke(pen, 11.25, 0.0, 12.5, 0.0);
}

/* S00230: one hinge, two contacts; resting on the lower. */
static void changeover(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 2.5, 0.0);
    stroke(pen, 2.5, 0.0, 7.5, 2.5);
    stroke(pen, 7.0, -2.5, 10.0, -2.5);
    stroke(pen, 7.0, 2.5, 10.0, 2.5);
    stroke(pen, 10.0, 0.0, 10.0, -2.5);
    hand(pen, 5.0, 1.25);
}

/* S00254. */
static void push_button(const Pen *pen) {
    contact_open(pen);
    thin(pen, 5.0, -1.25, 5.0, -5.0);
    thin(pen, 3.75, -5.0, 6.25, -5.0);
    thin(pen, 3.75, -5.0, 3.75, -4.25);
    thin(pen, 6.25, -5.0, 6.25, -4.25);
}

/* S00305. */
static void coil(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 1.25, 0.0);
    box(pen, 1.25, -5.0, 6.25, 5.0);
    stroke(pen, 6.25, 0.0, 7.5, 0.0);
}

/* S00641. */
static void diode(const Pen *pen) {
    stroke(pen, 0.0, 0.0, 10.0, 0.0);
    solid(pen, (double[]){3.0, -2.0, 3.0, 2.0, 6.5, 0.0}, 3);
    stroke(pen, 6.5, -2.25, 6.5, 2.25);
}

/* S00563: a resistor with four terminals. */
static void shunt(const Pen *pen) {
    resistor(pen, 10.0);
    stroke(pen, 2.5, 1.25, 2.5, 2.5);
    stroke(pen, 7.5, 1.25, 7.5, 2.5);
}

/* S00200, terminal above: the symbol's first terminal; it hangs below the point. */
static void ground(const Pen *pen) {
    DrawPoint top = pen->origin;
    DrawList *list = pen->list;
    draw_line(list, top.x_mm, top.y_mm, top.x_mm, top.y_mm + 3.0, STYLE_MEDIUM_MM);
    for (int i = 0; i < 3; i++) {
        double half = 2.5 - 0.9 * i;
        double y = top.y_mm + 3.0 + 1.25 * i;
        draw_line(list, top.x_mm - half, y, top.x_mm + half, y, STYLE_MEDIUM_MM);
    }
}

/* S00202. */
static void chassis(const Pen *pen) {
    DrawPoint top = pen->origin;
    DrawList *list = pen->list;
    double y = top.y_mm + 4.0;
    draw_line(list, top.x_mm, top.y_mm, top.x_mm, y, STYLE_MEDIUM_MM);
    draw_line(list, top.x_mm - 2.5, y, top.x_mm + 2.5, y, STYLE_MEDIUM_MM);
    for (int i = 0; i < 3; i++) {
        double x = top.x_mm - 1.5 + 2.0 * i;
        draw_line(list, x, y, x - 1.0, y + 2.0, STYLE_MEDIUM_MM);
    }
}

/* S01102, terminal below. */
static void antenna(const Pen *pen) {
    DrawPoint foot = pen->origin;
    DrawList *list = pen->list;
    draw_line(list, foot.x_mm, foot.y_mm, foot.x_mm, foot.y_mm - 10.0, STYLE_MEDIUM_MM);
    draw_line(list, foot.x_mm, foot.y_mm - 5.0, foot.x_mm - 3.75, foot.y_mm - 10.0,
              STYLE_MEDIUM_MM);
    draw_line(list, foot.x_mm, foot.y_mm - 5.0, foot.x_mm + 3.75, foot.y_mm - 10.0,
              STYLE_MEDIUM_MM);
}

/* S00033: a male contact in a female one. */
static void contact_pair(const Pen *pen, double width) {
    double middle = width / 2.0;
    stroke(pen, 0.0, 0.0, middle - 1.0, 0.0);
    solid(pen, (double[]){middle - 1.0, -0.6, middle + 0.5, -0.6, middle + 0.5, 0.6, middle - 1.0,
                          0.6},
          4);
    arc(pen, middle + 0.9, 0.0, 1.4, 90.0, 270.0);
    stroke(pen, middle + 0.9, -1.4, middle + 1.4, -1.4);
    stroke(pen, middle + 0.9, 1.4, middle + 1.4, 1.4);
    stroke(pen, middle + 1.4, 0.0, width, 0.0);
}

/* Ours: the pair between its two shells, each with a double outline. */
static void shell_pair(const Pen *pen) {
    contact_pair(pen, 10.0);
    double edges[] = {0.0, 0.8, 9.2, 10.0};
    for (size_t i = 0; i < 4; i++) {
        thin(pen, edges[i], -3.75, edges[i], 3.75);
    }
}

void symbol_draw(DrawList *list, DrawSymbol symbol, double x_mm, double y_mm, bool turned) {
    Pen pen = {list, {x_mm, y_mm}, turned};
    draw_layer(list, LAYER_SYMBOL);
    switch (symbol) {
    case SYMBOL_BATTERY:
        battery(&pen);
        break;
    case SYMBOL_ALTERNATOR:
        machine(&pen, "G");
        break;
    case SYMBOL_MOTOR:
        machine(&pen, "M");
        break;
    case SYMBOL_LAMP:
        lamp(&pen);
        break;
    case SYMBOL_RESISTOR:
        resistor(&pen, 10.0);
        break;
    case SYMBOL_FUSE:
        fuse(&pen);
        break;
    case SYMBOL_BREAKER:
        breaker(&pen);
        break;
    case SYMBOL_SWITCH_BREAKER:
        breaker_hand(&pen);
        break;
    case SYMBOL_LIMITER:
        limiter(&pen);
        break;
    case SYMBOL_CHANNEL:
        channel(&pen);
        break;
    case SYMBOL_SWITCH_OPEN:
        contact_open(&pen);
        hand(&pen, 5.0, -1.25);
        break;
    case SYMBOL_SWITCH_CLOSED:
        contact_closed(&pen);
        hand(&pen, 5.0, 0.6);
        break;
    case SYMBOL_CHANGEOVER:
        changeover(&pen);
        break;
    case SYMBOL_PUSH:
        push_button(&pen);
        break;
    case SYMBOL_CONTACTOR_OPEN:
        contact_open(&pen);
        contactor_sign(&pen);
        break;
    case SYMBOL_CONTACTOR_CLOSED:
        contact_closed(&pen);
        contactor_sign(&pen);
        break;
    case SYMBOL_COIL:
        coil(&pen);
        break;
    case SYMBOL_DIODE:
        diode(&pen);
        break;
    case SYMBOL_SHUNT:
        shunt(&pen);
        break;
    case SYMBOL_GROUND:
        ground(&pen);
        break;
    case SYMBOL_CHASSIS:
        chassis(&pen);
        break;
    case SYMBOL_ANTENNA:
        antenna(&pen);
        break;
    case SYMBOL_TERMINAL:
        circle(&pen, 1.25, 0.0, 1.25);
        break;
    case SYMBOL_TERMINATOR:
        resistor(&pen, 7.5);
        break;
    case SYMBOL_CONTACT_PAIR:
        contact_pair(&pen, 7.5);
        break;
    case SYMBOL_SHELL_PAIR:
        shell_pair(&pen);
        break;
    case SYMBOL_SPLICE: {
        DrawPoint middle = at(&pen, 1.25, 0.0);
        draw_disc(list, middle.x_mm, middle.y_mm, STYLE_DOT_MM / 2.0);
        stroke(&pen, 0.0, 0.0, 2.5, 0.0);
        break;
    }
    case SYMBOL_COUNT:
        break;
    }
}

/* --- which symbol -------------------------------------------------------------------------------
 */

DrawSymbol symbol_of_device(const char *device_kind) {
    static const struct {
        const char *kind;
        DrawSymbol symbol;
    } KINDS[] = {{"breaker", SYMBOL_BREAKER},
                 {"switch-breaker", SYMBOL_SWITCH_BREAKER},
                 {"fuse", SYMBOL_FUSE},
                 {"limiter", SYMBOL_LIMITER},
                 {"channel", SYMBOL_CHANNEL}};
    for (size_t i = 0; i < sizeof KINDS / sizeof *KINDS; i++) {
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
    if (strcmp(switch_kind, "relay") == 0 || strcmp(switch_kind, "contactor") == 0) {
        return closed ? SYMBOL_CONTACTOR_CLOSED : SYMBOL_CONTACTOR_OPEN;
    }
    if (strcmp(switch_kind, "switch") == 0) {
        return closed ? SYMBOL_SWITCH_CLOSED : SYMBOL_SWITCH_OPEN;
    }
    return SYMBOL_COUNT;
}
