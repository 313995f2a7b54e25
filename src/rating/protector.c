#include "rating/protector.h"

/* Method: more current never opens a device later. So a gate's hold time bounds every lower
 * current from below, its open time every higher current from above. */

const char *protector_state_name(ProtectorState state) {
    switch (state) {
    case PROTECTOR_HOLDS:
        return "holds";
    case PROTECTOR_OPEN:
        return "open";
    case PROTECTOR_UNDECIDED:
        return "undecided";
    case PROTECTOR_NOT_PROVED:
        break;
    }
    return "not proved";
}

/* --- what it does --------------------------------------------------------------------------------
 */

bool protector_gates_are_sound(ProtectorGates gates) {
    double last_percent = 0.0;
    double last_hold_s = (double)INFINITY;
    double last_open_s = (double)INFINITY;
    for (size_t i = 0; i < gates.count; i++) {
        const ProtectorGate *gate = &gates.rows[i];
        if (!(gate->percent > last_percent) || gate->hold_s > gate->open_s ||
            gate->hold_s > last_hold_s || gate->open_s > last_open_s) {
            return false;
        }
        last_percent = gate->percent;
        last_hold_s = isnan(gate->hold_s) ? last_hold_s : gate->hold_s;
        last_open_s = isnan(gate->open_s) ? last_open_s : gate->open_s;
    }
    return true;
}

ProtectorState protector_state_by_gates(ProtectorGates gates, double percent, double seconds) {
    bool holds = false;
    bool open = false;
    for (size_t i = 0; i < gates.count; i++) {
        const ProtectorGate *gate = &gates.rows[i];
        /* A blank is NAN and fails both comparisons. */
        holds = holds || (gate->percent >= percent && seconds < gate->hold_s);
        open = open || (gate->percent <= percent && seconds > gate->open_s);
    }
    if (holds != open) {
        return holds ? PROTECTOR_HOLDS : PROTECTOR_OPEN;
    }
    bool inside = gates.count > 0 && gates.rows[0].percent <= percent &&
                  percent <= gates.rows[gates.count - 1].percent;
    return inside && !holds ? PROTECTOR_UNDECIDED : PROTECTOR_NOT_PROVED;
}

/* One limit of a gate: its hold time or its open time, NAN when blank. */
static double limit_of(const ProtectorGate *gate, bool open) {
    return open ? gate->open_s : gate->hold_s;
}

/* The limit between the two gates that have it, log-log; NAN when there is none on one side. */
static double limit_between(ProtectorGates gates, double percent, bool open) {
    const ProtectorGate *below = NULL;
    for (size_t i = 0; i < gates.count; i++) {
        const ProtectorGate *gate = &gates.rows[i];
        double limit_s = limit_of(gate, open);
        if (isnan(limit_s)) {
            continue;
        }
        if (gate->percent == percent) {
            return limit_s;
        }
        if (gate->percent > percent) {
            if (below == NULL) {
                break;
            }
            RatingPoint ends[] = {{below->percent, limit_of(below, open)},
                                  {gate->percent, limit_s}};
            return curve_log_log((RatingCurve){ends, 2}, percent).value;
        }
        below = gate;
    }
    return (double)NAN;
}

/* What monotony proves where no interpolation reaches. */
static RatingValue safe_bound(ProtectorGates gates, double percent, bool open) {
    double bound_s = open ? (double)INFINITY : 0.0;
    bool proved = false;
    for (size_t i = 0; i < gates.count; i++) {
        const ProtectorGate *gate = &gates.rows[i];
        double limit_s = limit_of(gate, open);
        bool reaches = open ? gate->percent <= percent : gate->percent >= percent;
        if (!isnan(limit_s) && reaches) {
            bound_s = open ? fmin(bound_s, limit_s) : fmax(bound_s, limit_s);
            proved = true;
        }
    }
    return (RatingValue){bound_s, proved ? RATING_DERIVED : RATING_NOT_PROVED};
}

ProtectorBand protector_band(ProtectorGates gates, double percent) {
    double hold_s = limit_between(gates, percent, false);
    double open_s = limit_between(gates, percent, true);
    return (ProtectorBand){
        .hold_s = isnan(hold_s) ? safe_bound(gates, percent, false) : rating_published(hold_s),
        .open_s = isnan(open_s) ? safe_bound(gates, percent, true) : rating_published(open_s)};
}

ProtectorState protector_state_by_band(ProtectorGates gates, double percent, double seconds) {
    ProtectorBand band = protector_band(gates, percent);
    bool hold_proved = band.hold_s.basis != RATING_NOT_PROVED;
    bool open_proved = band.open_s.basis != RATING_NOT_PROVED;
    if (hold_proved && seconds < band.hold_s.value) {
        return PROTECTOR_HOLDS;
    }
    if (open_proved && seconds > band.open_s.value) {
        return PROTECTOR_OPEN;
    }
    return hold_proved && open_proved ? PROTECTOR_UNDECIDED : PROTECTOR_NOT_PROVED;
}

/* --- what it may carry ---------------------------------------------------------------------------
 */

RatingValue protector_usable_a(RatingCurve amps_by_degc, double ambient_degc) {
    if (amps_by_degc.count > 0 && ambient_degc < amps_by_degc.points[0].x) {
        return rating_derived(amps_by_degc.points[0].y);
    }
    return curve_linear(amps_by_degc, ambient_degc);
}

RatingValue protector_fuse_space_a(RatingCurve factor_by_rating, double rating_a,
                                   double ambient_degc) {
    if (curve_linear(factor_by_rating, rating_a).basis == RATING_NOT_PROVED) {
        return rating_not_proved(); /* outside the rows */
    }
    double at_25 = curve_step_down(factor_by_rating, rating_a).value;
    double factor = fmax(at_25 - 0.005 * fmax(ambient_degc - 25.0, 0.0), 0.0);
    for (size_t i = 0; i < factor_by_rating.count; i++) {
        if (factor_by_rating.points[i].x == rating_a) {
            return rating_published(factor * rating_a);
        }
    }
    return rating_derived(factor * rating_a);
}

RatingValue protector_breaker_load_a(const ProtectorLoadRow *rows, size_t count, double rating_a,
                                     ProtectorLoad load) {
    for (size_t i = 0; i < count; i++) {
        if (rows[i].load == load) {
            return rating_published(rows[i].factor * rating_a);
        }
    }
    return rating_not_proved();
}

/* --- what it may protect -------------------------------------------------------------------------
 */

RatingValue protector_for_wire(const ProtectorWireRow *rows, size_t count, int awg,
                               ProtectorKind kind) {
    const ProtectorWireRow *nearest = NULL;
    double nearest_a = 0.0;
    for (size_t i = 0; i < count; i++) {
        double rating_a = kind == PROTECTOR_FUSE ? rows[i].fuse_a : rows[i].breaker_a;
        if (isnan(rating_a) || rows[i].awg < awg) {
            continue;
        }
        if (nearest == NULL || rows[i].awg < nearest->awg) {
            nearest = &rows[i];
            nearest_a = rating_a;
        }
    }
    if (nearest == NULL) {
        return rating_not_proved();
    }
    return nearest->awg == awg ? rating_published(nearest_a) : rating_derived(nearest_a);
}
