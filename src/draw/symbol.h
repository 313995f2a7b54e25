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
    S(BATTERY, "battery, plus at the left", 10.0, 10.0)                                            \
    S(BATTERY_RIGHT, "battery, plus at the right", 10.0, 10.0)                                     \
    S(ALTERNATOR, "alternator with rectifier", 15.0, 15.0)                                         \
    S(MOTOR, "motor", 15.0, 15.0)                                                                  \
    S(PUMP, "pump with its motor", 15.0, 15.0)                                                     \
    S(LAMP, "lamp", 10.0, 10.0)                                                                    \
    S(STROBE, "lamp that flashes", 10.0, 10.0)                                                     \
    S(RESISTOR, "resistor", 10.0, 5.0)                                                             \
    S(HEATER, "heater", 10.0, 5.0)                                                                 \
    S(SENSOR, "resistor that follows what it measures", 10.0, 7.5)                                 \
    S(THERMOCOUPLE, "thermocouple (terminals at the left, 2.5 mm above and below)", 7.5, 10.0)     \
    S(SPEAKER, "loudspeaker (terminals at the left, 2.5 mm above and below)", 7.5, 10.0)           \
    S(MICROPHONE, "microphone (terminals at the left, 2.5 mm above and below)", 7.5, 10.0)         \
    S(JACK, "jack, tip and sleeve (terminals at the left, 2.5 mm above and below)", 10.0, 7.5)     \
    S(FUSE, "fuse", 10.0, 5.0)                                                                     \
    S(BREAKER, "circuit breaker", 10.0, 7.5)                                                       \
    S(SWITCH_BREAKER, "circuit breaker used as switch", 10.0, 7.5)                                 \
    S(LIMITER, "current limiter (ours)", 10.0, 5.0)                                                \
    S(CHANNEL, "electronic protected channel (ours)", 12.5, 7.5)                                   \
    S(SWITCH_OPEN, "switch, open at rest", 10.0, 7.5)                                              \
    S(SWITCH_CLOSED, "switch, closed at rest", 10.0, 7.5)                                          \
    S(CHANGEOVER, "changeover switch (two terminals at the right, 5 mm above and below)", 10.0,    \
      12.5)                                                                                        \
    S(PUSH, "push button, open at rest", 10.0, 10.0)                                               \
    S(RELAY_OPEN, "relay contact, open at rest", 10.0, 7.5)                                        \
    S(RELAY_CLOSED, "relay contact, closed at rest", 10.0, 7.5)                                    \
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
 * Those with one terminal above hang from (x, y), an antenna stands on it; those with two terminals
 * at the left have (x, y) midway between them. Layer symbol, weight medium; row and colour are the
 * list's. */
void symbol_draw(DrawList *list, DrawSymbol symbol, double x_mm, double y_mm, bool turned);

/* The cell of a symbol drawn so, and its terminals (the returned number of them, at most three; of
 * a changeover: common, the one joined at rest, the other). */
#define SYMBOL_TERMINALS 3
DrawBox symbol_cell(DrawSymbol symbol, double x_mm, double y_mm, bool turned);
size_t symbol_terminals(DrawSymbol symbol, double x_mm, double y_mm, bool turned,
                        DrawPoint terminals[SYMBOL_TERMINALS]);

/* The symbol of a protective device (word of `device.kind`); of switchgear (word of
 * `switch_part.kind`) in its rest position: "closed" and "on" are
 * drawn closed, everything else open; of a load (word of `load.kind`). SYMBOL_COUNT: a plain box.
 */
DrawSymbol symbol_of_device(const char *device_kind);
DrawSymbol symbol_of_switch(const char *switch_kind, const char *rest);
DrawSymbol symbol_of_load(const char *load_kind);

#endif
