/* Seeded networks for tests and benches: an aircraft of any size (a star of buses, each fed from an
 * earlier one, loads at the end of long chains, both legs wired), and small ones that are as odd as
 * they come. Numbers are invented. */
#ifndef SUPPORT_NETWORK_GROW_H
#define SUPPORT_NETWORK_GROW_H

#include "network_make.h"

/* A wire with its two crimps, ohm in all but the crimps; now and then through a disconnect, then
 * two wires. Returns the count of wires. */
static inline uint32_t grow_wire(Maker *maker, Dice *dice, uint32_t a, uint32_t b, double ohm,
                                 double crimp_ohm) {
    uint32_t pieces = dice_chance(dice, 0.3) ? 2 : 1;
    uint32_t from = a;
    for (uint32_t piece = 0; piece < pieces; piece++) {
        uint32_t to = piece + 1 == pieces ? b : make_node(maker);
        uint32_t first = make_node(maker);
        uint32_t second = make_node(maker);
        make_resistor(maker, from, first, crimp_ohm * dice_between(dice, 0.5, 1.5));
        make_resistor(maker, first, second, ohm / pieces);
        make_resistor(maker, second, to, crimp_ohm * dice_between(dice, 0.5, 1.5));
        from = to;
    }
    return pieces;
}

static inline NetworkLoadKind grow_load_kind(Dice *dice) {
    double kind = dice_unit(dice);
    return kind < 0.45  ? NETWORK_LOAD_POWER
           : kind < 0.7 ? NETWORK_LOAD_CURRENT
                        : NETWORK_LOAD_RESISTANCE;
}

enum { GROW_BUS_LOADS = 15 };

/* The loads of one bus; returns their amps, adds their wires to *wires. Bus and wires are sized for
 * the current they carry, so that any size of aircraft has the same drops. */
static inline double grow_bus_loads(Maker *maker, Dice *dice, uint32_t bus, uint32_t loads,
                                    uint32_t *wires) {
    double sum_a = 0;
    uint32_t ground = make_node(maker);
    for (uint32_t i = 0; i < loads; i++) {
        double amps = dice_scale(dice, 0.05, 4);
        uint32_t feed = make_node(maker);
        uint32_t port = make_node(maker);
        uint32_t back = make_node(maker);
        make_contact(maker, bus, feed, 0.02 / (1 + amps), NETWORK_NONE, false);
        *wires += grow_wire(maker, dice, feed, port, dice_between(dice, 0.05, 0.3) / amps, 0.002);
        *wires += grow_wire(maker, dice, back, ground, dice_between(dice, 0.05, 0.2) / amps, 0.002);
        NetworkLoadKind kind = grow_load_kind(dice);
        double minimum_v = dice_chance(dice, 0.5) ? dice_between(dice, 8, 10) : 0;
        make_load(maker, port, back, kind, amps, 14, minimum_v, 0.5);
        if (dice_chance(dice, 0.1)) {
            /* A splice: a second, smaller load on the same feed. */
            uint32_t second = make_node(maker);
            *wires += grow_wire(maker, dice, port, second, 0.1 / amps, 0.002);
            make_load(maker, second, ground, grow_load_kind(dice), amps * 0.3, 14, 0, 0);
            sum_a += amps * 0.3;
        }
        sum_a += amps;
    }
    make_resistor(maker, ground, 0, 0.02 / sum_a);
    return sum_a;
}

/* An aircraft with about `wires` wires. Every contact that no coil moves is to be closed. */
static inline Network grow_aircraft(Arena *arena, uint64_t seed, uint32_t wires) {
    Maker maker = maker_new(arena);
    Dice dice = dice_new(seed);
    uint32_t bus_count = wires / (GROW_BUS_LOADS * 3) + 2;
    uint32_t *bus = ARENA_ARRAY(arena, uint32_t, bus_count);
    double *bus_a = ARENA_ARRAY(arena, double, bus_count);
    uint32_t made = 0;
    for (uint32_t i = 0; i < bus_count; i++) {
        bus[i] = make_node(&maker);
        uint32_t left = made < wires ? (wires - made) / 3 + 1 : 1;
        uint32_t loads = left < GROW_BUS_LOADS || i + 1 == bus_count ? left : GROW_BUS_LOADS;
        bus_a[i] = grow_bus_loads(&maker, &dice, bus[i], loads, &made);
    }
    for (uint32_t i = bus_count - 1; i > 1; i--) {
        uint32_t parent = dice_below(&dice, i);
        uint32_t breaker = make_node(&maker);
        double ohm = dice_between(&dice, 0.01, 0.05) / bus_a[i];
        make_contact(&maker, bus[parent], breaker, ohm / 10, NETWORK_NONE, false);
        if (dice_chance(&dice, 0.05)) {
            uint32_t cathode = make_node(&maker);
            make_diode(&maker, breaker, cathode, 0.4, ohm / 10);
            breaker = cathode;
        }
        grow_wire(&maker, &dice, breaker, bus[i], ohm, ohm / 20);
        bus_a[parent] += bus_a[i];
    }
    double total_a = bus_a[0] + bus_a[1];
    double unit_ohm = 0.1 / total_a;
    uint32_t main_plus = make_node(&maker);
    uint32_t second_plus = make_node(&maker);
    make_battery(&maker, main_plus, 0, 12.9, unit_ohm);
    make_battery(&maker, second_plus, 0, 13.1, 2 * unit_ohm);
    uint32_t coil = make_coil(&maker, main_plus, 0, 15, 7, 3);
    make_contact(&maker, main_plus, bus[0], unit_ohm / 10, coil, true);
    make_contact(&maker, second_plus, bus[1], unit_ohm / 10, NETWORK_NONE, false);
    make_diode(&maker, bus[0], bus[1], 0.4, unit_ohm / 5);
    uint32_t field = make_node(&maker);
    grow_wire(&maker, &dice, field, bus[0], unit_ohm / 2, unit_ohm / 20);
    make_alternator(&maker, field, 0, 14.2, unit_ohm / 2, 0.7 * total_a);
    make_alternator(&maker, bus[1], 0, 13.8, unit_ohm, 0.2 * total_a);
    return maker.network;
}

/* The states for grow_aircraft(): everything closed, the contactor held. */
static inline NetworkState grow_aircraft_state(Arena *arena, const Network *network) {
    NetworkState state = network_state_rest(arena, network);
    for (uint32_t i = 0; i < network->contact_count; i++) {
        state.contact_closed[i] = true;
    }
    for (uint32_t i = 0; i < network->coil_count; i++) {
        state.coil_energised[i] = true;
    }
    return state;
}

/* --- Small and odd --------------------------------------------------------------------------- */

/* What the odd network is made of. */
typedef struct Odd {
    Maker maker;
    Dice dice;
    double nominal_v;
    uint32_t places[16]; /* buses and grounds that things hang on */
    uint32_t place_count;
} Odd;

static inline uint32_t odd_place(Odd *odd) {
    return odd->places[dice_below(&odd->dice, odd->place_count)];
}

/* A place, or the reference three times in four. */
static inline uint32_t odd_ground(Odd *odd) {
    return dice_chance(&odd->dice, 0.75) ? 0 : odd_place(odd);
}

/* A chain of resistors and contacts from a to b. */
static inline void odd_link(Odd *odd, uint32_t a, uint32_t b) {
    Maker *maker = &odd->maker;
    uint32_t pieces = 1 + dice_below(&odd->dice, 5);
    for (uint32_t i = 0; i < pieces; i++) {
        uint32_t to = i + 1 == pieces ? b : make_node(maker);
        double ohm = dice_scale(&odd->dice, 1e-4, 0.2);
        ohm = dice_chance(&odd->dice, 0.01) ? HUGE_VAL : ohm;
        double kind = dice_unit(&odd->dice);
        bool swapped = dice_chance(&odd->dice, 0.5);
        uint32_t one = swapped ? to : a;
        uint32_t two = swapped ? a : to;
        if (kind < 0.65) {
            make_resistor(maker, one, two, ohm);
        } else if (kind < 0.85) {
            bool moved = maker->network.coil_count > 0 && dice_chance(&odd->dice, 0.5);
            uint32_t coil =
                moved ? dice_below(&odd->dice, maker->network.coil_count) : NETWORK_NONE;
            bool closes = dice_chance(&odd->dice, 0.8);
            make_contact(maker, one, two, ohm, coil, closes);
        } else {
            make_diode(maker, a, to, dice_between(&odd->dice, 0, 0.8), ohm);
        }
        a = to;
    }
}

static inline void odd_load(Odd *odd) {
    Maker *maker = &odd->maker;
    uint32_t plus = odd_place(odd);
    uint32_t minus = odd_ground(odd);
    if (dice_chance(&odd->dice, 0.7)) {
        uint32_t port = make_node(maker);
        odd_link(odd, plus, port);
        plus = port;
    }
    if (dice_chance(&odd->dice, 0.4)) {
        uint32_t back = make_node(maker);
        odd_link(odd, back, minus);
        minus = back;
    }
    double nominal_v = odd->nominal_v;
    NetworkLoadKind kind = grow_load_kind(&odd->dice);
    double amps = dice_scale(&odd->dice, 0.02, 8);
    bool cuts = dice_chance(&odd->dice, 0.5);
    double minimum_v = cuts ? nominal_v * dice_between(&odd->dice, 0.6, 0.92) : 0;
    double hysteresis_v = nominal_v * dice_between(&odd->dice, 0.02, 0.08);
    make_load(maker, plus, minus, kind, amps, nominal_v, minimum_v, hysteresis_v);
}

static inline void odd_source(Odd *odd, bool alternator) {
    Maker *maker = &odd->maker;
    Dice *dice = &odd->dice;
    uint32_t plus = odd_place(odd);
    uint32_t minus = dice_chance(dice, 0.9) ? 0 : odd_place(odd);
    if (dice_chance(dice, 0.6)) {
        uint32_t post = make_node(maker);
        odd_link(odd, post, plus);
        plus = post;
    }
    if (dice_chance(dice, 0.3)) {
        uint32_t post = make_node(maker);
        make_resistor(maker, post, minus, 1e-3);
        minus = post;
    }
    if (alternator) {
        double slope_ohm = dice_scale(dice, 1e-3, 5e-2);
        double limit_a = dice_scale(dice, 3, 60);
        uint32_t id =
            make_alternator(maker, plus, minus, odd->nominal_v * 1.01, slope_ohm, limit_a);
        maker->network.alternators[id].running = dice_chance(dice, 0.85);
    } else {
        double open_v = odd->nominal_v * dice_between(dice, 0.86, 1.04);
        double ohm = dice_scale(dice, 3e-3, 5e-2);
        make_battery(maker, plus, minus, open_v, ohm);
    }
}

/* A network of a dozen places, joined at random by chains with contacts, diodes and broken wires,
 * with two or three batteries, one or two alternators, relays, loads of every kind, dead ends,
 * rings, parts that float and nodes without anything. */
static inline Network grow_odd(Arena *arena, uint64_t seed) {
    Odd odd = {.maker = maker_new(arena), .dice = dice_new(seed)};
    Maker *maker = &odd.maker;
    Dice *dice = &odd.dice;
    odd.nominal_v = dice_chance(dice, 0.7) ? 14 : 28;
    odd.place_count = 3 + dice_below(dice, 9);
    for (uint32_t i = 0; i < odd.place_count; i++) {
        odd.places[i] = make_node(maker);
    }
    uint32_t coils = dice_below(dice, 4);
    for (uint32_t i = 0; i < coils; i++) {
        uint32_t plus = make_node(maker);
        make_resistor(maker, odd_place(&odd), plus, 0.1);
        double pickup_v = odd.nominal_v * dice_between(dice, 0.5, 0.7);
        double dropout_v = pickup_v * dice_between(dice, 0.2, 0.6);
        double ohm = dice_between(dice, 12, 100);
        make_coil(maker, plus, odd_ground(&odd), ohm, pickup_v, dropout_v);
    }
    for (uint32_t i = 0; i + 1 < odd.place_count; i++) {
        odd_link(&odd, odd.places[i], odd.places[dice_below(dice, odd.place_count)]);
        if (dice_chance(dice, 0.6)) {
            odd_link(&odd, odd.places[i], odd.places[i + 1]);
        }
    }
    odd_source(&odd, false);
    odd_source(&odd, true);
    odd_source(&odd, false);
    if (dice_chance(dice, 0.5)) {
        odd_source(&odd, true);
    }
    if (dice_chance(dice, 0.2)) {
        odd_source(&odd, false);
    }
    uint32_t loads = 3 + dice_below(dice, 14);
    for (uint32_t i = 0; i < loads; i++) {
        odd_load(&odd);
    }
    if (dice_chance(dice, 0.3)) {
        /* A lamp on its own cell, joined to nothing; a spare wire; a node without anything. */
        uint32_t plus = make_node(maker);
        uint32_t minus = make_node(maker);
        make_battery(maker, plus, minus, 3, 0.5);
        make_load(maker, plus, minus, NETWORK_LOAD_RESISTANCE, 0.1, 3, 0, 0);
        uint32_t spare = make_node(maker);
        odd_link(&odd, odd_place(&odd), spare);
        make_node(maker);
    }
    return maker->network;
}

/* A start state for grow_odd(): contacts and relays at random. */
static inline NetworkState grow_odd_state(Arena *arena, const Network *network, uint64_t seed) {
    Dice dice = dice_new(seed ^ 0x5eed);
    NetworkState state = network_state_rest(arena, network);
    for (uint32_t i = 0; i < network->contact_count; i++) {
        state.contact_closed[i] = dice_chance(&dice, 0.85);
    }
    for (uint32_t i = 0; i < network->coil_count; i++) {
        state.coil_energised[i] = dice_chance(&dice, 0.5);
    }
    for (uint32_t i = 0; i < network->load_count; i++) {
        state.load_on[i] = dice_chance(&dice, 0.9);
    }
    return state;
}

#endif
