/* Newton's method on the currents of the kept nodes. A load inside a chain is solved exactly for
 * the chain's voltage (a division or a quadratic), so that every chain obeys its law at every step
 * and only sums of currents are left to be made zero.
 *
 * These sums are the gradient of the network's co-content (Millar, Philosophical Magazine 42, 1951;
 * each chain adds the integral of its current over its voltage), and the matrix is its second
 * derivative. A point where the network can stay is a minimum of it. So each step must go downhill:
 * where power loads make the matrix indefinite their chords take the place of their tangents, and
 * the slope along the step decides how far to go. */
#include <math.h>
#include <string.h>

#include "base/check.h"
#include "power/point.h"

/* With a factor from an earlier step, a correction this much better than the last one is kept up.
 */
#define NEWTON_REUSE_RATE 1e-3
/* Where rounding stops Newton short of its aim, this share of the total current is still good. */
#define NEWTON_STALL_RATIO 1e-10
/* Below this current everything is at rest: the noise of one ulp of 30 V over the smallest
 * resistances, after the low parts of the voltages are counted. */
#define NEWTON_FLOOR_A 1e-15
/* A step is short enough when the slope at its end is no steeper uphill than this share of the
 * slope downhill at its beginning; otherwise it is shortened, so many times at most. */
#define NEWTON_UPHILL 0.5
enum { NEWTON_SHORTENINGS = 8 };
/* A power load that takes nearly all its feed can carry has a nearly vertical law there. */
#define NEWTON_NOSE 1e-3
/* An alternator at its limit whose voltage runs past the corner of its law is on its way back to
 * regulating; till then its current falls to nothing over this share of its set-point. */
#define NEWTON_LIMIT_BAND 0.1

typedef enum NewtonSlope {
    NEWTON_START,   /* loads are resistances: law and slope */
    NEWTON_TANGENT, /* their law and its derivative */
    NEWTON_SECANT   /* their law and current / voltage: always positive, always solvable */
} NewtonSlope;

/* --- Currents -------------------------------------------------------------------------------- */

/* The load's voltage for w_v over load and resistance together: u + ohm * i(u) = w. Of the two
 * answers a power load can have, the higher, which is the stable one. */
static double load_chain_v(const NetworkLoad *load, double ohm, double w_v, double ceiling_v) {
    double knee_v = NETWORK_LOAD_KNEE * load->nominal_v;
    double low_s = load->nominal_a / load->nominal_v;
    double high_s = low_s;
    double u_v = -1;
    switch (load->kind) {
    case NETWORK_LOAD_CURRENT:
        low_s = load->nominal_a / knee_v;
        high_s = load->nominal_a / ceiling_v;
        u_v = w_v - ohm * load->nominal_a;
        break;
    case NETWORK_LOAD_POWER: {
        double power_w = load->nominal_a * load->nominal_v;
        double inside = w_v * w_v - 4 * ohm * power_w;
        low_s = power_w / (knee_v * knee_v);
        high_s = power_w / (ceiling_v * ceiling_v);
        if (w_v > 0 && inside >= 0) {
            u_v = (w_v + sqrt(inside)) / 2;
        }
        break;
    }
    case NETWORK_LOAD_RESISTANCE:
    default:
        break;
    }
    if (u_v < knee_v || ceiling_v <= knee_v) {
        return w_v / (1 + low_s * ohm);
    }
    return u_v <= ceiling_v ? u_v : w_v / (1 + high_s * ohm);
}

/* Current and slope of a chain with a load that is on, with w_v = v(a) - v(b) - emf_v. */
static void load_chain_law(const Point *point, Chain *chain, double w_v, NewtonSlope slope) {
    const NetworkLoad *load = &point->network->loads[chain->load];
    if (slope == NEWTON_START) {
        double conductance_s = load->nominal_a / load->nominal_v;
        chain->slope_s = conductance_s / (1 + conductance_s * chain->ohm);
        chain->current_a = chain->slope_s * w_v;
        chain->x_v = w_v - chain->ohm * chain->current_a;
        return;
    }
    chain->x_v = load_chain_v(load, chain->ohm, w_v, point->ceiling_v);
    double tangent_s;
    chain->current_a = network_load_a(load, chain->x_v, point->ceiling_v, &tangent_s);
    if (slope == NEWTON_SECANT) {
        /* At 0 V the law is a resistance, whose tangent and secant are the same. */
        tangent_s = chain->x_v != 0 ? chain->current_a / chain->x_v : tangent_s;
    }
    double room = 1 + tangent_s * chain->ohm;
    chain->slope_s = tangent_s / (room > NEWTON_NOSE ? room : NEWTON_NOSE);
}

/* v(a) - v(b) - emf_v. The error of the first difference is found exactly (Knuth's two-sum) and
 * added with the low parts: what is left after the cancellation keeps its digits. */
static double chain_w_v(const Point *point, const Chain *chain) {
    double a = point->v[chain->a];
    double b = point->v[chain->b];
    double difference = a - b;
    double b_seen = a - difference;
    double a_seen = difference + b_seen;
    double error = (a - a_seen) + (b_seen - b);
    return (difference - chain->emf_v) +
           (error + (point->v_low[chain->a] - point->v_low[chain->b]));
}

/* The same for an alternator at its limit. */
static void limit_chain_law(const Point *point, Chain *chain, double w_v) {
    const NetworkAlternator *alternator = &point->network->alternators[chain->alternator];
    double corner_v = alternator->set_v - alternator->slope_ohm * alternator->limit_a;
    double band_s = alternator->limit_a / (NEWTON_LIMIT_BAND * alternator->set_v);
    chain->slope_s = 0;
    chain->current_a = -alternator->limit_a;
    chain->x_v = w_v + chain->ohm * alternator->limit_a;
    if (chain->x_v > corner_v) {
        chain->slope_s = band_s / (1 + band_s * chain->ohm);
        chain->x_v = corner_v + (chain->x_v - corner_v) / (1 + band_s * chain->ohm);
        chain->current_a = band_s * (chain->x_v - corner_v) - alternator->limit_a;
    }
}

/* With w_v = v(a) - v(b) - emf_v. */
static void chain_law_w(const Point *point, Chain *chain, double w_v, NewtonSlope slope) {
    if (chain->law == CHAIN_LINEAR) {
        chain->slope_s = 1 / chain->ohm;
        chain->current_a = w_v / chain->ohm;
    } else if (chain->law == CHAIN_LOAD) {
        load_chain_law(point, chain, w_v, slope);
    } else {
        limit_chain_law(point, chain, w_v);
    }
}

static void chain_law(const Point *point, Chain *chain, NewtonSlope slope) {
    if (chain->dead || chain->law == CHAIN_OPEN) {
        chain->current_a = 0;
        chain->slope_s = 0;
        chain->x_v = 0;
        return;
    }
    chain_law_w(point, chain, chain_w_v(point, chain), slope);
}

void point_chain_law_at(const Point *point, Chain *chain, double between_v) {
    if (!chain->dead && chain->law != CHAIN_OPEN) {
        chain_law_w(point, chain, between_v - chain->emf_v, NEWTON_TANGENT);
    }
}

void point_chain_law(const Point *point, Chain *chain) {
    chain_law(point, chain, NEWTON_TANGENT);
}

/* Currents and slopes of all chains, what is left over at the nodes, the total delivered. */
static void point_evaluate(Point *point, NewtonSlope slope) {
    const Network *network = point->network;
    uint32_t kept_count = point->collapse->kept_count;
    memset(point->inflow_a, 0, ((size_t)kept_count + 1) * sizeof *point->inflow_a);
    for (uint32_t c = 0; c < point->collapse->chain_count; c++) {
        Chain *chain = &point->chains[c];
        chain_law(point, chain, slope);
        point->inflow_a[chain->a] -= chain->current_a;
        point->inflow_a[chain->b] += chain->current_a;
    }
    point->residual_a = 0;
    point->worst_kept = kept_count;
    for (uint32_t k = 0; k < kept_count; k++) {
        double left_a = isnan(point->inflow_a[k]) ? HUGE_VAL : fabs(point->inflow_a[k]);
        if (!point->fixed[k] && left_a > point->residual_a) {
            point->residual_a = left_a;
            point->worst_kept = k;
        }
    }
    point->total_a = 0;
    for (uint32_t i = 0; i < network->battery_count; i++) {
        double delivered_a = -point_element_a(point, NETWORK_BATTERY, i);
        point->total_a += delivered_a > 0 ? delivered_a : 0;
    }
    for (uint32_t i = 0; i < network->alternator_count; i++) {
        double delivered_a = -point_element_a(point, NETWORK_ALTERNATOR, i);
        point->total_a += delivered_a > 0 ? delivered_a : 0;
    }
}

/* --- Matrix ---------------------------------------------------------------------------------- */

FactorOutcome point_factor(Point *point) {
    Factor *factor = point->factor;
    uint32_t kept_count = point->collapse->kept_count;
    factor_clear(factor);
    for (uint32_t c = 0; c < point->collapse->chain_count; c++) {
        const Chain *chain = &point->chains[c];
        if (chain->a == chain->b || chain->slope_s == 0) {
            continue;
        }
        bool free_a = !point->fixed[chain->a];
        bool free_b = !point->fixed[chain->b];
        if (free_a) {
            factor_add_diagonal(factor, chain->a, chain->slope_s);
        }
        if (free_b) {
            factor_add_diagonal(factor, chain->b, chain->slope_s);
        }
        if (free_a && free_b) {
            factor_add(factor, chain->slot, -chain->slope_s);
        }
    }
    for (uint32_t k = 0; k < kept_count; k++) {
        if (point->fixed[k]) {
            factor_add_diagonal(factor, k, 1);
        }
    }
    FactorOutcome outcome = factor_compute(factor, point->options.weak_pivot_growth);
    if (point->counts.factorisations == 0) {
        point->counts.factorisations = 1;
    } else {
        point->counts.refactorisations++;
    }
    bool weak = outcome == FACTOR_KLU || outcome == FACTOR_SINGULAR;
    point->counts.weak_pivots += weak ? 1U : 0U;
    point->counts.klu_fallbacks += weak ? 1U : 0U;
    return outcome;
}

/* Adds share * step_v to the voltages, keeping what rounding would lose. */
static void step_add(Point *point, double share) {
    for (uint32_t k = 0; k < point->collapse->kept_count; k++) {
        double high = point->v[k];
        double low = point->v_low[k] + share * point->step_v[k];
        double sum = high + low;
        double low_seen = sum - high;
        point->v_low[k] = (high - (sum - low_seen)) + (low - low_seen);
        point->v[k] = sum;
    }
}

/* The slope of the co-content along the step: negative downhill. */
static double step_slope(const Point *point) {
    double slope = 0;
    for (uint32_t k = 0; k < point->collapse->kept_count; k++) {
        slope -= point->fixed[k] ? 0 : point->inflow_a[k] * point->step_v[k];
    }
    return slope;
}

/* Finds the step from the factor and what is left over; its slope. */
static double step_find(Point *point) {
    uint32_t kept_count = point->collapse->kept_count;
    for (uint32_t k = 0; k < kept_count; k++) {
        point->step_v[k] = point->fixed[k] ? 0 : point->inflow_a[k];
    }
    factor_solve(point->factor, point->step_v);
    point->counts.substitutions++;
    return step_slope(point);
}

/* --- Newton ---------------------------------------------------------------------------------- */

static bool residual_within(const Point *point, double ratio) {
    return point->residual_a <= ratio * point->total_a + NEWTON_FLOOR_A;
}

/* True if no slope depends on a voltage. */
static bool point_is_linear(const Point *point) {
    for (uint32_t c = 0; c < point->collapse->chain_count; c++) {
        const Chain *chain = &point->chains[c];
        bool bends = chain->law == CHAIN_CURRENT ||
                     (chain->law == CHAIN_LOAD &&
                      point->network->loads[chain->load].kind != NETWORK_LOAD_RESISTANCE);
        if (bends && !chain->dead) {
            return false;
        }
    }
    return true;
}

/* Loads as resistances, from 0 V. */
static bool newton_start(Point *point) {
    uint32_t kept_count = point->collapse->kept_count;
    memset(point->v, 0, ((size_t)kept_count + 1) * sizeof *point->v);
    memset(point->v_low, 0, ((size_t)kept_count + 1) * sizeof *point->v_low);
    point_evaluate(point, NEWTON_START);
    if (point_factor(point) == FACTOR_SINGULAR) {
        return false;
    }
    step_find(point);
    step_add(point, 1);
    point->counts.newton_steps++;
    point->cold = false;
    point->tangent_ready = point_is_linear(point); /* then this was the last factor needed */
    return true;
}

/* True if a chain's current falls as its voltage rises: without the signs of pivots, nobody knows
 * then which way is downhill. */
static bool slopes_negative(const Point *point) {
    for (uint32_t c = 0; c < point->collapse->chain_count; c++) {
        if (point->chains[c].slope_s < 0) {
            return true;
        }
    }
    return false;
}

/* Finds a step downhill with a new factor: of the tangents, or of the chords where the tangents
 * lead uphill or nowhere. Its slope, 0 when there is none. */
static double newton_direction(Point *point) {
    FactorOutcome outcome = point_factor(point);
    point->tangent_ready =
        outcome == FACTOR_LDL || (outcome == FACTOR_KLU && !slopes_negative(point));
    double slope = point->tangent_ready ? step_find(point) : 0;
    if (slope < 0) {
        return slope;
    }
    point->tangent_ready = false;
    point->counts.secant_steps++;
    point_evaluate(point, NEWTON_SECANT);
    outcome = point_factor(point);
    return outcome == FACTOR_SINGULAR ? 0 : step_find(point);
}

/* Takes the step, or as much of it as goes downhill. */
static void newton_take(Point *point, double slope) {
    double taken = 1;
    step_add(point, 1);
    point_evaluate(point, NEWTON_TANGENT);
    point->counts.newton_steps++;
    for (int i = 0; i < NEWTON_SHORTENINGS; i++) {
        double end = step_slope(point);
        if (!(end > -NEWTON_UPHILL * slope)) {
            return;
        }
        double shorter = taken * -slope / (end - slope); /* where a straight slope is level */
        shorter = shorter > 0.1 * taken ? shorter : 0.1 * taken;
        step_add(point, shorter - taken);
        taken = shorter;
        point_evaluate(point, NEWTON_TANGENT);
    }
}

bool point_newton(Point *point, double ratio) {
    bool started = point->cold;
    if (started && !newton_start(point)) {
        return false;
    }
    double rate = started ? 0 : 1; /* how much of the residual the last step left */
    point_evaluate(point, NEWTON_TANGENT);
    for (uint32_t step = 0; step < point->options.newton_limit; step++) {
        if (residual_within(point, ratio)) {
            return true;
        }
        double before_a = point->residual_a;
        bool reused = point->tangent_ready && rate < NEWTON_REUSE_RATE;
        double slope = reused ? step_find(point) : newton_direction(point);
        if (slope < 0) {
            newton_take(point, slope);
        }
        rate = point->residual_a / before_a;
        if ((rate >= 1 || slope >= 0) && residual_within(point, NEWTON_STALL_RATIO)) {
            return true;
        }
        if (slope >= 0 && !reused) {
            return false;
        }
        rate = slope < 0 ? rate : 1;
    }
    return residual_within(point, ratio);
}
