/* Electrical symbols, redrawn on the 2.5 mm grid of docs/style.md from the descriptions of IEC
 * 60617 (IEEE 315 where the two agree or the former has none); those of our own have a double
 * outline. Contacts are drawn at rest. A symbol lies in a cell `width` x `height`, its terminals at
 * the left and right end of its middle line unless said otherwise; turned symbols stand upright,
 * terminals above and below. */
#ifndef DRAW_SYMBOL_H
#define DRAW_SYMBOL_H

#include "draw/list.h"

/* S(identifier, name in words, width mm, height mm above and below the middle line together) */
#define DRAW_SYMBOLS(S)                                                                            \
    S(BATTERY, "battery", 10.0, 10.0)                                                              \
    S(ALTERNATOR, "alternator with rectifier", 15.0, 15.0)                                         \
    S(MOTOR, "motor", 15.0, 15.0)                                                                  \
    S(LAMP, "lamp", 10.0, 10.0)                                                                    \
    S(RESISTOR, "resistor or heater", 10.0, 5.0)                                                   \
    S(FUSE, "fuse", 10.0, 5.0)                                                                     \
    S(BREAKER, "circuit breaker", 10.0, 7.5)                                                       \
    S(SWITCH_BREAKER, "circuit breaker used as switch", 10.0, 7.5)                                 \
    S(LIMITER, "current limiter", 10.0, 5.0)                                                       \
    S(CHANNEL, "electronic protected channel", 12.5, 7.5)                                          \
    S(SWITCH_OPEN, "switch, open at rest", 10.0, 7.5)                                              \
    S(SWITCH_CLOSED, "switch, closed at rest", 10.0, 7.5)                                          \
    S(CHANGEOVER, "changeover switch", 10.0, 12.5)                                                 \
    S(PUSH, "push button, open at rest", 10.0, 10.0)                                               \
    S(CONTACTOR_OPEN, "contactor contact, open at rest", 10.0, 7.5)                                \
    S(CONTACTOR_CLOSED, "contactor contact, closed at rest", 10.0, 7.5)                            \
    S(COIL, "coil of a relay or contactor", 7.5, 10.0)                                             \
    S(DIODE, "diode, conducting to the right", 10.0, 5.0)                                          \
    S(SHUNT, "shunt", 10.0, 5.0)                                                                   \
    S(GROUND, "ground (terminal above)", 5.0, 7.5)                                                 \
    S(CHASSIS, "frame or chassis connection (terminal above)", 5.0, 7.5)                           \
    S(ANTENNA, "antenna (terminal below)", 7.5, 10.0)                                              \
    S(TERMINAL, "terminal, stud", 2.5, 2.5)                                                        \
    S(TERMINATOR, "terminating resistor", 7.5, 5.0)                                                \
    S(CONTACT_PAIR, "mated contacts of a disconnect, pin at the left", 7.5, 5.0)                   \
    S(SHELL_PAIR, "contacts of a disconnect in their shells (ours)", 10.0, 7.5)                    \
    S(SPLICE, "splice", 2.5, 2.5)

typedef enum DrawSymbol {
#define DRAW_SYMBOL_ID(id, name, width_mm, height_mm) SYMBOL_##id,
    DRAW_SYMBOLS(DRAW_SYMBOL_ID)
#undef DRAW_SYMBOL_ID
        SYMBOL_COUNT
} DrawSymbol;

const char *symbol_name(DrawSymbol symbol);
double symbol_width_mm(DrawSymbol symbol);
double symbol_height_mm(DrawSymbol symbol);

/* Draws it with its left terminal at (x, y) and the other at (x + width, y). `turned`: a quarter
 * turn clockwise, so that the first terminal is at (x, y) and the other below it at (x, y + width).
 * Layer symbol; the row is the list's. */
void symbol_draw(DrawList *list, DrawSymbol symbol, double x_mm, double y_mm, bool turned);

/* The symbol of a protective device (row of `device`), of switchgear (row of `switch_part`) in its
 * rest position, and of a unit by its part; SYMBOL_COUNT: a plain box. */
DrawSymbol symbol_of_device(const char *device_kind);
DrawSymbol symbol_of_switch(const char *switch_kind, const char *rest);

#endif
