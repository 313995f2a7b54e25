/* Gates: everything inside switchgear, protective devices and boxes that can carry current from one
 * pin to another: poles, contacts, diodes, shunts, devices, and the `inside` rows of parts. Wires
 * and bolted joints are not gates. Supply walks over them, build makes network elements of them.
 *
 * A point is a pin, the case of an owner, or the structure, in one numbering. */
#ifndef POWER_GATES_H
#define POWER_GATES_H

#include "wiring/wiring.h"

typedef enum GateKind {
    GATE_RESISTOR, /* always conducts */
    GATE_SWITCH,   /* conducts when its owner's position is in closed_in: set by hand */
    GATE_CONTACT,  /* the same, but the owner has a coil that moves it */
    GATE_DIODE     /* conducts from a to b */
} GateKind;

typedef struct Gate {
    GateKind kind;
    uint32_t a; /* points; of a diode the anode */
    uint32_t b;
    OwnerId owner;
    double ohm;            /* NAN for a protective device: by its rating */
    double drop_v;         /* of a diode, at no current */
    const char *closed_in; /* positions in which it conducts, separated by blanks; "" for others */
    TableId table;         /* switch_pole, switch_part, device or inside */
    uint32_t row;
} Gate;

typedef struct Gates {
    Gate *rows; /* together by owner, in the order of owners */
    uint32_t count;
    uint32_t *owner_first; /* by OwnerId, and one more */
} Gates;

/* Points: pins first, then cases by owner, then the structure. */
static inline uint32_t gates_case_point(const Model *model, OwnerId owner) {
    return model->pin_count + owner;
}
static inline uint32_t gates_structure_point(const Model *model) {
    return model->pin_count + model->owner_count;
}
static inline uint32_t gates_point_count(const Model *model) {
    return model->pin_count + model->owner_count + 1;
}

/* True when supply current passes a net by what it is: a feed, a ground, a class of power, and what
 * switchgear stands in (a coil's circuit). */
bool gates_net_carries(const Model *model, const Wiring *wiring, NetId net);

/* All gates of a model. Rows of the library that name no terminal of their part give none (the
 * model pass reports them). */
void gates_build(Arena *out, const Model *model, Gates *gates);

/* Those of `all` that supply current can pass in a whole aircraft: without the `inside` rows that
 * lead to a pin of a signal circuit (signal grounds, audio returns, clamps) or to a case that
 * nothing joins to anything. What is left out only shows when a return is lifted (power/lift.h) or
 * a bus is dead (power/sneak.h). */
void gates_of_supply(Arena *out, const Model *model, const Wiring *wiring, const Gates *all,
                     Gates *kept);

/* True when a switch or contact conducts in that position of its owner; true for resistors and
 * diodes. */
bool gates_closed(const Gate *gate, const char *position);

/* The point of "TERMINAL" or "TERMINAL/2" of an owner, or of its `case`; ID_NONE when there is
 * none. */
uint32_t gates_owner_point(const Model *model, OwnerId owner, const char *terminal);

/* The coil terminal C+ of a relay or contactor, ID_NONE for everything else. */
TerminalId gates_coil(const Model *model, OwnerId owner);

#endif
