/* Random failures for tests and benches: edits as src/power/fail.h has them. */
#ifndef SUPPORT_FAIL_MAKE_H
#define SUPPORT_FAIL_MAKE_H

#include <math.h>

#include "network_make.h"
#include "power/fail.h"

/* An element of any kind that can break open, chosen evenly among all there are. */
static inline FailEdit fail_make_open(Dice *dice, const Network *n) {
    uint32_t total = 0;
    for (NetworkKind kind = 0; kind < NETWORK_KIND_COUNT; kind++) {
        total += network_kind_count(n, kind);
    }
    uint32_t pick = dice_below(dice, total);
    NetworkKind kind = 0;
    while (pick >= network_kind_count(n, kind)) {
        pick -= network_kind_count(n, kind++);
    }
    return kind == NETWORK_LOAD ? fail_value(FAIL_DRAW, kind, pick, 0) : fail_open(kind, pick);
}

/* One failure of one edit. */
static inline FailEdit fail_make(Dice *dice, const Network *n) {
    double what = dice_unit(dice);
    if (what < 0.45) {
        return fail_make_open(dice, n);
    }
    if (what < 0.75) {
        double ohm = dice_scale(dice, 1e-4, 0.5);
        uint32_t a = dice_below(dice, n->node_count);
        uint32_t b = dice_chance(dice, 0.7) ? 0 : dice_below(dice, n->node_count);
        return fail_bridge(a, b, ohm);
    }
    if (what < 0.85 && n->contact_count > 0) {
        return fail_hold(dice_below(dice, n->contact_count), dice_chance(dice, 0.5));
    }
    if (what < 0.9 && n->resistor_count > 0) {
        return fail_value(FAIL_OHM, NETWORK_RESISTOR, dice_below(dice, n->resistor_count),
                          dice_scale(dice, 1e-3, 5));
    }
    if (what < 0.95 && n->load_count > 0) {
        uint32_t load = dice_below(dice, n->load_count);
        return fail_value(FAIL_DRAW, NETWORK_LOAD, load,
                          n->loads[load].nominal_a * dice_scale(dice, 0.1, 5));
    }
    if (n->alternator_count > 0) {
        uint32_t i = dice_below(dice, n->alternator_count);
        return fail_value(FAIL_VOLTS, NETWORK_ALTERNATOR, i,
                          n->alternators[i].set_v * dice_between(dice, 0.9, 1.25));
    }
    return fail_make_open(dice, n);
}

#endif
