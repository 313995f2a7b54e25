#include "power/guard_judge.h"

#include <math.h>
#include <string.h>

/* --- devices ------------------------------------------------------------------------------------
 */

/* Rows of `curve` that hold for a part at a rating, rising by percent, without those from memory
 * when `firm`. */
static ProtectorGates gates_of(Arena *out, const Model *model, const char *part, double rating_a,
                               bool firm) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_curve, part, &count);
    const CurveRow *rows = model->set->curve.rows;
    ProtectorGate *gates = ARENA_ARRAY(out, ProtectorGate, count);
    size_t taken = 0;
    for (uint32_t i = first; i < first + count; i++) {
        bool fits = rows[i].from_a <= rating_a && rating_a <= rows[i].to_a;
        if (!fits || (firm && strcmp(rows[i].status, "memory") == 0)) {
            continue;
        }
        size_t at = taken++;
        for (; at > 0 && gates[at - 1].percent > rows[i].load_pct; at--) {
            gates[at] = gates[at - 1];
        }
        gates[at] = (ProtectorGate){rows[i].load_pct, rows[i].t_min_s, rows[i].t_max_s};
    }
    ProtectorGates found = {gates, taken};
    return protector_gates_are_sound(found) ? found : (ProtectorGates){gates, 0};
}

GuardDevice *guard_devices(Arena *out, const Model *model, const double *rating_a) {
    const TableSet *set = model->set;
    GuardDevice *devices = ARENA_ARRAY(out, GuardDevice, set->protection.count);
    /* Devices of one part and rating share their gates: look for the last one of the part first. */
    uint32_t *last = ARENA_ARRAY(out, uint32_t, set->device.count + 1);
    memset(last, 0xff, (set->device.count + 1) * sizeof *last);
    for (uint32_t i = 0; i < set->protection.count; i++) {
        const ProtectionRow *row = &set->protection.rows[i];
        double own_a = rating_a == NULL ? row->rating_a : rating_a[i];
        uint32_t part = model_row(model, TABLE_device, row->part);
        uint32_t before = part == ID_NONE ? ID_NONE : last[part];
        devices[i] = (GuardDevice){.owner = model_owner(model, row->tag), .rating_a = own_a};
        if (before != ID_NONE && devices[before].rating_a == own_a) {
            devices[i].all = devices[before].all;
            devices[i].firm = devices[before].firm;
        } else if (!isnan(own_a)) {
            devices[i].all = gates_of(out, model, row->part, own_a, false);
            devices[i].firm = gates_of(out, model, row->part, own_a, true);
        }
        if (part != ID_NONE) {
            last[part] = i;
        }
    }
    return devices;
}

/* --- wire against device ------------------------------------------------------------------------
 */

const char *guard_verdict_name(GuardVerdict verdict) {
    static const char *const NAMES[GUARD_VERDICT_COUNT] = {
        [GUARD_NO_CURRENT] = "no current", [GUARD_PROVED] = "proved",
        [GUARD_NOT_PROVED] = "not proved", [GUARD_BARE] = "no device",
        [GUARD_FAILS] = "fails",
    };
    return NAMES[verdict];
}

const char *guard_edge_name(GuardEdge edge) {
    return edge == GUARD_EDGE_SLOW ? "slow edge" : edge == GUARD_EDGE_FAST ? "fast edge" : "";
}

/* Share of the wire's time that one stage lasts; 0 when the wire carries the current for good. */
static double share(double seconds, double damage_s) {
    if (isinf(damage_s)) {
        return 0.0;
    }
    return damage_s > 0.0 ? seconds / damage_s : (double)INFINITY;
}

GuardJudgement guard_judge(const HeatingWire *wire, const GuardStage *stages, uint32_t count) {
    GuardJudgement told = {.covered = true, .margin = (double)NAN};
    double fast = 0.0;
    double slow = 0.0;
    double firm_fast = 0.0;
    double firm = 0.0;
    for (uint32_t i = 0; i < count; i++) {
        const GuardStage *stage = &stages[i];
        const GuardDevice *device = stage->device;
        double percent = 100.0 * stage->device_a / device->rating_a;
        double damage_s = heating_time_s(wire, stage->wire_a);
        ProtectorBand all = {rating_not_proved(), rating_not_proved()};
        ProtectorBand proof = all;
        if (!isnan(percent)) {
            all = protector_band(device->all, percent);
            proof = protector_band(device->firm, percent);
        }
        double hold_s = all.hold_s.basis == RATING_NOT_PROVED ? 0.0 : all.hold_s.value;
        double open_s = all.open_s.basis == RATING_NOT_PROVED ? (double)INFINITY : all.open_s.value;
        double firm_hold_s = proof.hold_s.basis == RATING_NOT_PROVED ? 0.0 : proof.hold_s.value;
        double proof_s =
            proof.open_s.basis == RATING_NOT_PROVED ? (double)INFINITY : proof.open_s.value;
        told.damage_s = i == 0 ? damage_s : told.damage_s;
        told.fast_s += hold_s;
        told.slow_s += open_s;
        told.covered = told.covered && all.open_s.basis == RATING_PUBLISHED;
        fast += share(hold_s, damage_s);
        firm_fast += share(firm_hold_s, damage_s);
        slow += share(open_s, damage_s);
        firm += share(proof_s, damage_s);
    }
    told.edge = GUARD_EDGE_SLOW;
    if (fast > 1.0) {
        told.verdict = GUARD_FAILS;
        told.edge = GUARD_EDGE_FAST;
    } else if (told.covered && slow > 1.0) {
        told.verdict = GUARD_FAILS;
    } else {
        told.verdict = firm <= 1.0 ? GUARD_PROVED : GUARD_NOT_PROVED;
        told.edge = told.verdict == GUARD_PROVED ? GUARD_EDGE_SLOW : GUARD_EDGE_NONE;
    }
    if (told.verdict == GUARD_FAILS) {
        told.memory = told.edge == GUARD_EDGE_FAST ? !(firm_fast > 1.0) : firm != slow;
    } else {
        told.memory = (firm > 1.0) != (slow > 1.0);
    }
    double used = told.verdict == GUARD_PROVED ? firm : slow;
    told.margin = isinf(used) ? (double)NAN : 1.0 / used;
    return told;
}

bool guard_is_worse(const GuardJudgement *left, const GuardJudgement *right) {
    if (left->verdict != right->verdict) {
        return left->verdict > right->verdict;
    }
    double left_margin = isnan(left->margin) ? 0.0 : left->margin;
    double right_margin = isnan(right->margin) ? 0.0 : right->margin;
    return left_margin < right_margin;
}

/* --- selectivity --------------------------------------------------------------------------------
 */

const char *guard_order_name(GuardOrder order) {
    switch (order) {
    case GUARD_ORDER_SELECTIVE:
        return "selective";
    case GUARD_ORDER_EITHER:
        return "either may open";
    case GUARD_ORDER_REVERSED:
        return "upstream opens first";
    case GUARD_ORDER_NOT_PROVED:
        break;
    }
    return "not proved";
}

/* The band at a current; bounds that nothing proves become 0 and INFINITY. */
static ProtectorBand band_of(ProtectorGates gates, const GuardDevice *device, double current_a) {
    double percent = 100.0 * current_a / device->rating_a;
    ProtectorBand band = {rating_not_proved(), rating_not_proved()};
    if (!isnan(percent)) {
        band = protector_band(gates, percent);
    }
    band.hold_s.value = band.hold_s.basis == RATING_NOT_PROVED ? 0.0 : band.hold_s.value;
    band.open_s.value =
        band.open_s.basis == RATING_NOT_PROVED ? (double)INFINITY : band.open_s.value;
    return band;
}

GuardSelection guard_select(const GuardDevice *device, double device_a, const GuardDevice *upstream,
                            double upstream_a) {
    ProtectorBand near = band_of(device->all, device, device_a);
    ProtectorBand far = band_of(upstream->all, upstream, upstream_a);
    ProtectorBand near_firm = band_of(device->firm, device, device_a);
    ProtectorBand far_firm = band_of(upstream->firm, upstream, upstream_a);
    if (upstream_a <= upstream->rating_a) { /* what a rating means: it carries that for good */
        far.hold_s = far_firm.hold_s = rating_published((double)INFINITY);
    }
    GuardSelection told = {.slow_s = near.open_s.value, .upstream_fast_s = far.hold_s.value};
    bool covered = near.open_s.basis == RATING_PUBLISHED && far.hold_s.basis == RATING_PUBLISHED;
    bool by_all = near.open_s.value < far.hold_s.value;
    bool by_firm = near_firm.open_s.value < far_firm.hold_s.value;
    if (far.open_s.value < near.hold_s.value) {
        told.order = GUARD_ORDER_REVERSED;
    } else if (by_firm && by_all) {
        told.order = GUARD_ORDER_SELECTIVE;
    } else if (covered && !by_all) {
        told.order = GUARD_ORDER_EITHER;
    } else {
        told.order = GUARD_ORDER_NOT_PROVED;
    }
    told.memory = by_all != by_firm || (told.order != GUARD_ORDER_SELECTIVE &&
                                        (near.open_s.value != near_firm.open_s.value ||
                                         far.hold_s.value != far_firm.hold_s.value));
    return told;
}
