/* The operating point of a direct-current network: node voltages, element currents and the states
 * that contacts, cut-outs, diodes and alternators end in. Kirchhoff's current law at every node,
 * each element's own law (power/network.h), Newton on the loads. Series chains are collapsed first
 * and expanded afterwards, both exactly; what is left goes through a symmetric LDL' in AMD order.
 * Analyse once, then run as often as numbers or states change. docs/theory/solve.md has the method.
 */
#ifndef POWER_SOLVE_H
#define POWER_SOLVE_H

#include "power/network.h"

typedef enum SolveStatus {
    SOLVE_OK,
    SOLVE_OSCILLATES,   /* a state came back: offender_kind and offender name the element */
    SOLVE_NOT_CONVERGED /* Newton did not end: worst_node has the largest current left over */
} SolveStatus;

typedef enum SolveNodeState {
    SOLVE_NODE_LIVE,     /* joined to the reference and to a source */
    SOLVE_NODE_FLOATING, /* joined to a source, not to the reference: voltages are told against the
                            minus end of the first source of that part (batteries first) */
    SOLVE_NODE_DEAD      /* joined to no source: 0 V */
} SolveNodeState;

/* What the work cost. Sums over one run; `analyses` is that of the plan. */
typedef struct SolveCounts {
    uint32_t analyses;         /* orderings and symbolic factorisations */
    uint32_t factorisations;   /* first numeric factorisation of a run */
    uint32_t refactorisations; /* the others */
    uint32_t substitutions;    /* forward and back substitutions */
    uint32_t newton_steps;     /* corrections, the first (loads as resistors) included */
    uint32_t secant_steps;     /* of these: taken with secant instead of tangent conductances */
    uint32_t state_changes;    /* all kinds, those before the result included */
    uint32_t weak_pivots;      /* factorisations whose pivots were too small to trust */
    uint32_t klu_fallbacks;    /* factorisations done again by KLU */
    uint32_t chains;           /* branches left after collapsing */
    uint32_t unknowns;         /* node voltages left after collapsing */
} SolveCounts;

/* All zero = defaults. */
typedef struct SolveOptions {
    const double *start_v;       /* node_count voltages to start Newton from; NULL: loads start as
                                    resistances */
    double balance_ratio;        /* current left over at a node / total current; 0: 1e-12 */
    uint32_t newton_limit;       /* corrections between two state changes; 0: 100 */
    uint32_t state_change_limit; /* 0: 200 + 4 for every element that has a state */
    double weak_pivot_growth;    /* largest entry of L that is trusted; 0: 1e4. Tests lower it to
                                    send every factorisation to KLU */
    bool skip_expand;            /* do not fill node_v, node_state, resistor_a, contact_a (NULL) */
} SolveOptions;

/* The result. Currents: resistors and contacts a to b, diodes anode to cathode, loads and coils
 * plus to minus, batteries and alternators out of plus (positive = delivers). When `out` was NULL
 * the arrays belong to the plan and live until its next run, otherwise they live in `out`. */
typedef struct SolveResult {
    SolveStatus status;
    NetworkKind offender_kind; /* SOLVE_OSCILLATES only */
    uint32_t offender;         /* NETWORK_NONE unless SOLVE_OSCILLATES */
    uint32_t worst_node;       /* NETWORK_NONE unless SOLVE_NOT_CONVERGED */
    double residual_a;         /* largest current left over at a node */
    double total_a;            /* sum of the currents that sources deliver */

    double *node_v;             /* node_count */
    SolveNodeState *node_state; /* node_count */
    double *resistor_a;
    double *contact_a;
    double *coil_a;
    double *coil_v;
    double *diode_a;
    double *battery_a;
    double *alternator_a;
    double *load_a;
    double *load_v; /* v(plus) - v(minus), also while cut out; 0 where an end hangs on no source */

    NetworkState state; /* the states found; pass as start of the next phase */

    /* source_w = charge_w + load_w + loss_w. */
    double source_w; /* delivered: batteries at open_v, alternators at their terminals */
    double charge_w; /* taken by batteries at open_v */
    double load_w;   /* in loads */
    double loss_w;   /* in resistors, contacts, coils, diodes and inside batteries */

    SolveCounts counts;
} SolveResult;

typedef struct SolvePlan SolvePlan;

/* Orders and collapses `network`, which must outlive the plan; all memory comes from `arena`. The
 * plan keeps no result: the same inputs give the same bytes at any run. */
SolvePlan *solve_analyse(Arena *arena, const Network *network);

/* The same without collapsing: every element keeps its two nodes. For checks and comparisons. */
SolvePlan *solve_analyse_whole(Arena *arena, const Network *network);

/* A second plan for another thread: shares the analysis of `plan` (which must outlive it), has its
 * own scratch, and reads the numbers of `network`, which has the same nodes, counts and kinds. */
SolvePlan *solve_plan_clone(Arena *arena, const SolvePlan *plan, const Network *network);

/* Finds the operating point from the states `start` (NULL: network_state_rest). States change in
 * the order of how fast the real thing is, each class settled before the next is looked at:
 *   1 diodes and alternators (no memory: all that want to at once while that makes fewer, then the
 *     lowest id alone);  2 loads that cut out;  3 coils, each with its contacts;  4 loads that
 *     come back.
 * In classes 2 to 4 one element at a time, the most violated first (share of its threshold), ties
 * by id; of a crowd of more than 4 the most violated half at once. A load without any voltage
 * keeps its state, whatever that was: there is nothing to see.
 * options NULL = defaults; out NULL = results in the plan. Returns status == SOLVE_OK; on false
 * the result holds the last point reached. One plan must not run in two threads at once. */
bool solve_run(SolvePlan *plan, const NetworkState *start, const SolveOptions *options, Arena *out,
               SolveResult *result);

/* True if load `index` works: on, and at or above its minimum voltage (and not at next to none). */
bool solve_load_works(const Network *network, const SolveResult *result, uint32_t index);

#endif
