/* Newton's method on the currents of the kept nodes. A load inside a chain is solved exactly for
 * the chain's voltage (a division or a quadratic), so that every chain obeys its law at every step
 * and only sums of currents are left to be made zero. */
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
/* Steps with secant conductances before tangents are tried again. */
enum { NEWTON_SECANT_STEPS = 4, NEWTON_HALVINGS = 5 };
/* A power load that takes nearly all its feed can carry has a nearly vertical law there. */
#define NEWTON_NOSE 1e-3

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

static void chain_law(const Point *point, Chain *chain, NewtonSlope slope) {
    if (chain->dead || chain->law == CHAIN_OPEN) {
        chain->current_a = 0;
        chain->slope_s = 0;
        chain->x_v = 0;
        return;
    }
    double w_v = chain_w_v(point, chain);
    if (chain->law == CHAIN_LINEAR) {
        chain->slope_s = 1 / chain->ohm;
        chain->current_a = w_v / chain->ohm;
    } else if (chain->law == CHAIN_LOAD) {
        load_chain_law(point, chain, w_v, slope);
    } else {
        chain->slope_s = 0;
        chain->current_a = -point->network->alternators[chain->alternator].limit_a;
        chain->x_v = w_v - chain->ohm * chain->current_a;
    }
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

static bool matrix_factor(Point *point) {
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
    point->counts.weak_pivots += outcome != FACTOR_LDL ? 1U : 0U;
    point->counts.klu_fallbacks += outcome != FACTOR_LDL ? 1U : 0U;
    return outcome != FACTOR_SINGULAR;
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

static void step_solve(Point *point) {
    uint32_t kept_count = point->collapse->kept_count;
    for (uint32_t k = 0; k < kept_count; k++) {
        point->step_v[k] = point->fixed[k] ? 0 : point->inflow_a[k];
    }
    factor_solve(point->factor, point->step_v);
    point->counts.substitutions++;
    point->counts.newton_steps++;
    step_add(point, 1);
}

/* --- Newton ---------------------------------------------------------------------------------- */

static bool residual_within(const Point *point, double ratio) {
    return point->residual_a <= ratio * point->total_a + NEWTON_FLOOR_A;
}

/* Loads as resistances, from 0 V. */
static bool newton_start(Point *point) {
    uint32_t kept_count = point->collapse->kept_count;
    memset(point->v, 0, ((size_t)kept_count + 1) * sizeof *point->v);
    memset(point->v_low, 0, ((size_t)kept_count + 1) * sizeof *point->v_low);
    point_evaluate(point, NEWTON_START);
    if (!matrix_factor(point)) {
        return false;
    }
    step_solve(point);
    point->cold = false;
    point->tangent_ready = true; /* if the loads are resistances; the first rate will tell */
    return true;
}

/* After a full step that did not help: shorter ones. False, and back where it began, if none
 * leaves less than before_a. */
static bool newton_halve(Point *point, double before_a) {
    double taken = 1;
    for (int i = 0; i < NEWTON_HALVINGS; i++) {
        step_add(point, -taken / 2);
        taken /= 2;
        point_evaluate(point, NEWTON_TANGENT);
        if (point->residual_a < before_a) {
            return true;
        }
    }
    step_add(point, -taken);
    return false;
}

/* Makes the factor that of the present slopes; where tangents are singular, of the secants. */
static bool newton_factor(Point *point, int *secant_left) {
    if (*secant_left == 0) {
        if (matrix_factor(point)) {
            point->tangent_ready = true;
            return true;
        }
        *secant_left = NEWTON_SECANT_STEPS;
        point_evaluate(point, NEWTON_SECANT);
    }
    point->tangent_ready = false;
    return matrix_factor(point);
}

bool point_newton(Point *point, double ratio) {
    bool started = point->cold;
    if (started && !newton_start(point)) {
        return false;
    }
    int secant_left = 0;
    double rate = started ? 0 : 1; /* how much of the residual the last step left */
    point_evaluate(point, NEWTON_TANGENT);
    for (uint32_t step = 0; step < point->options.newton_limit; step++) {
        if (residual_within(point, ratio)) {
            return true;
        }
        double before_a = point->residual_a;
        bool reused = secant_left == 0 && point->tangent_ready && rate < NEWTON_REUSE_RATE;
        if (!reused && !newton_factor(point, &secant_left)) {
            return false;
        }
        step_solve(point);
        if (secant_left > 0) {
            point->counts.secant_steps++;
            secant_left--;
            point_evaluate(point, secant_left > 0 ? NEWTON_SECANT : NEWTON_TANGENT);
            rate = 1;
            continue;
        }
        point_evaluate(point, NEWTON_TANGENT);
        rate = point->residual_a / before_a;
        if (rate < 1) {
            continue;
        }
        if (residual_within(point, NEWTON_STALL_RATIO)) {
            return true;
        }
        rate = 1;
        if (reused) {
            step_add(point, -1);
            point_evaluate(point, NEWTON_TANGENT);
        } else if (!newton_halve(point, before_a)) {
            secant_left = NEWTON_SECANT_STEPS;
            point_evaluate(point, NEWTON_SECANT);
        }
    }
    return residual_within(point, ratio);
}
