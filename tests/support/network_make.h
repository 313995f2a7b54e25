/* Builds a Network one element at a time, for tests and benches: growing arrays in an arena, each
 * add returns the id of the element. */
#ifndef SUPPORT_NETWORK_MAKE_H
#define SUPPORT_NETWORK_MAKE_H

#include <math.h>
#include <stdlib.h>

#include "base/arena.h"
#include "power/network.h"

typedef struct Maker {
    Arena *arena;
    Network network;
    size_t capacity[NETWORK_KIND_COUNT];
} Maker;

static inline Maker maker_new(Arena *arena) {
    return (Maker){.arena = arena, .network = {.node_count = 1}};
}

static inline uint32_t make_node(Maker *maker) {
    return maker->network.node_count++;
}

/* Appends `value` to the array `items` of the network with its count. */
#define MAKER_ADD(maker, kind, items, count, ...)                                                  \
    do {                                                                                           \
        Network *n_ = &(maker)->network;                                                           \
        if (n_->count == (maker)->capacity[kind]) {                                                \
            n_->items = arena_grow((maker)->arena, n_->items, n_->count, sizeof *n_->items,        \
                                   n_->count + 1, &(maker)->capacity[kind]);                       \
        }                                                                                          \
        n_->items[n_->count++] = __VA_ARGS__;                                                      \
    } while (0)

static inline uint32_t make_resistor(Maker *maker, uint32_t a, uint32_t b, double ohm) {
    MAKER_ADD(maker, NETWORK_RESISTOR, resistors, resistor_count, (NetworkResistor){a, b, ohm});
    return maker->network.resistor_count - 1;
}

static inline uint32_t make_contact(Maker *maker, uint32_t a, uint32_t b, double ohm, uint32_t coil,
                                    bool closed_when_energised) {
    MAKER_ADD(maker, NETWORK_CONTACT, contacts, contact_count,
              (NetworkContact){a, b, ohm, coil, closed_when_energised});
    return maker->network.contact_count - 1;
}

static inline uint32_t make_coil(Maker *maker, uint32_t plus, uint32_t minus, double ohm,
                                 double pickup_v, double dropout_v) {
    MAKER_ADD(maker, NETWORK_COIL, coils, coil_count,
              (NetworkCoil){plus, minus, ohm, pickup_v, dropout_v});
    return maker->network.coil_count - 1;
}

static inline uint32_t make_diode(Maker *maker, uint32_t anode, uint32_t cathode, double drop_v,
                                  double ohm) {
    MAKER_ADD(maker, NETWORK_DIODE, diodes, diode_count,
              (NetworkDiode){anode, cathode, drop_v, ohm});
    return maker->network.diode_count - 1;
}

static inline uint32_t make_battery(Maker *maker, uint32_t plus, uint32_t minus, double open_v,
                                    double ohm) {
    MAKER_ADD(maker, NETWORK_BATTERY, batteries, battery_count,
              (NetworkBattery){plus, minus, open_v, ohm});
    return maker->network.battery_count - 1;
}

static inline uint32_t make_alternator(Maker *maker, uint32_t plus, uint32_t minus, double set_v,
                                       double slope_ohm, double limit_a) {
    MAKER_ADD(maker, NETWORK_ALTERNATOR, alternators, alternator_count,
              (NetworkAlternator){plus, minus, set_v, slope_ohm, limit_a, true});
    return maker->network.alternator_count - 1;
}

static inline uint32_t make_load(Maker *maker, uint32_t plus, uint32_t minus, NetworkLoadKind kind,
                                 double nominal_a, double nominal_v, double minimum_v,
                                 double hysteresis_v) {
    MAKER_ADD(maker, NETWORK_LOAD, loads, load_count,
              (NetworkLoad){plus, minus, kind, nominal_a, nominal_v, minimum_v, hysteresis_v});
    return maker->network.load_count - 1;
}

/* A seeded stream of numbers (xorshift64*, Vigna, ACM TOMS 42, 2016): the same on every machine. */
typedef struct Dice {
    uint64_t state;
} Dice;

static inline Dice dice_new(uint64_t seed) {
    return (Dice){(seed + 1) * UINT64_C(0x9e3779b97f4a7c15) | 1U};
}

static inline double dice_unit(Dice *dice) {
    dice->state ^= dice->state >> 12;
    dice->state ^= dice->state << 25;
    dice->state ^= dice->state >> 27;
    return (double)(dice->state * UINT64_C(0x2545f4914f6cdd1d) >> 11) / 9007199254740992.0;
}

static inline double dice_between(Dice *dice, double low, double high) {
    return low + (high - low) * dice_unit(dice);
}

/* Evenly over the logarithm. */
static inline double dice_scale(Dice *dice, double low, double high) {
    return low * pow(high / low, dice_unit(dice));
}

static inline uint32_t dice_below(Dice *dice, uint32_t count) {
    return (uint32_t)(dice_unit(dice) * count);
}

static inline bool dice_chance(Dice *dice, double chance) {
    return dice_unit(dice) < chance;
}

#endif
