/* An operating point of a collapsed network while its states stand still: the numbers of each
 * chain, which nodes hang together, the voltages of the kept nodes, the currents, and Newton's
 * method that makes the currents at every node sum to zero. The work of solve_run(); the choice of
 * states is in solve.c. In a chain, current runs from a to b; over it lies
 *     v(a) - v(b) = ohm * current + emf_v + x_v
 * with x_v the voltage over its load or limiting alternator, if it has one. */
#ifndef POWER_POINT_H
#define POWER_POINT_H

#include "power/collapse.h"
#include "power/factor.h"
#include "power/solve.h"

typedef enum ChainLaw {
    CHAIN_OPEN,   /* something in it is open: no current */
    CHAIN_LINEAR, /* resistance and voltage */
    CHAIN_LOAD,   /* the same and a load that is on */
    CHAIN_CURRENT /* the same and an alternator at its limit */
} ChainLaw;

typedef struct Chain {
    double ohm;
    double emf_v;
    double x_v;
    double current_a;
    double slope_s; /* of the current against v(a) - v(b), as the matrix uses it */
    uint32_t a, b;  /* kept nodes; kept_count is the reference */
    int32_t slot;   /* in the factor; -1 for none */
    uint32_t load;  /* or NETWORK_NONE */
    uint32_t alternator;
    uint8_t law;
    bool dead; /* conducts, but hangs on no source */
} Chain;

/* Where the potential at one place in a chain comes from. */
typedef enum ChainSide {
    CHAIN_SIDE_A,       /* joined to node a */
    CHAIN_SIDE_B,       /* joined to node b */
    CHAIN_SIDE_BETWEEN, /* between two open elements, with a source */
    CHAIN_SIDE_DEAD     /* between two open elements, without */
} ChainSide;

/* One element that wants to change its state, and by what share of its threshold. */
typedef struct StatesOffer {
    double share;
    uint32_t index;
} StatesOffer;

typedef struct Point {
    const Network *network;
    const Collapse *collapse;
    Factor *factor;
    Chain *chains;
    double ceiling_v;
    NetworkState state;
    SolveOptions options; /* with the defaults filled in */
    SolveCounts counts;

    /* Kept nodes, kept_count + 1 each, the reference last. A voltage is v + v_low, so that the
     * small difference over a small resistance is known to full precision. */
    double *v;
    double *v_low;
    double *step_v;
    double *inflow_a;      /* current left over */
    uint32_t *root;        /* union-find, then the part's root */
    uint32_t *part_source; /* of a root: its first source (battery id, or battery_count +
                              alternator id), NETWORK_NONE for none */
    bool *fixed;           /* no equation: dead, or the reference of its part */
    bool *dead;
    uint32_t floating_parts;
    uint32_t
        extra_count; /* nodes beyond the reference that a failure has laid bare; no equation here */

    bool cold;          /* the next Newton starts with loads as resistances */
    bool tangent_ready; /* the factor holds the tangents of about here */
    double residual_a;
    double total_a;
    uint32_t worst_kept;

    bool *diode_wrong; /* scratch of the choice of states */
    NetworkAlternatorMode *alternator_wants;
    StatesOffer *offers;
    uint32_t offer_count;
    double *shares;

    double *potential_v; /* link_longest + 1: chain_expand()'s result */
    ChainSide *side;
} Point;

/* A point of `network` on `collapse`, its arrays in `arena`; slots are the factor's. */
void point_new(Point *point, Arena *arena, const Network *network, const Collapse *collapse,
               const FactorPattern *pattern, const int32_t *slots);

/* Reads all numbers of the network and the states of point->state anew; cold. */
void point_begin(Point *point, const SolveOptions *options);

/* Reads the numbers of one chain, after a state in it has changed. Finish with point_join(). */
void point_chain_read(Point *point, uint32_t chain);

/* Finds what hangs together, what is dead and what floats. An alternator at its limit that has no
 * way to return its current goes back to regulating (a state change). */
void point_join(Point *point);

/* Newton until the current left over at any node is at most ratio * total current. False when it
 * does not get there; point->worst_kept then has the most left over. */
bool point_newton(Point *point, double ratio);

/* Current, slope (tangent) and x_v of one chain at the present voltages. */
void point_chain_law(const Point *point, Chain *chain);

/* The same at `between_v` = v(a) - v(b). */
void point_chain_law_at(const Point *point, Chain *chain, double between_v);

/* Factors the slopes that the chains have now. */
FactorOutcome point_factor(Point *point);

/* The point that the plan's last run ended at. */
Point *solve_plan_point(SolvePlan *plan);

/* True if element `link` carries nothing whatever lies over it. */
bool point_link_open(const Point *point, CollapseLink link);

/* Writes the potentials before, between and after the links of `chain` to point->potential_v and
 * where each comes from to point->side. */
void point_chain_expand(Point *point, uint32_t chain);

/* The voltage over an element (first end minus second) and whether both its ends hang on a source;
 * 0 V where an end is dead is the end's potential, not a gap. */
double point_element_v(Point *point, NetworkKind kind, uint32_t index, bool *seen);

/* The current in an element, first end to second. Not for resistors. */
double point_element_a(const Point *point, NetworkKind kind, uint32_t index);

/* The voltage of kept node `kept`. */
static inline double point_kept_v(const Point *point, uint32_t kept) {
    return point->dead[kept] ? 0.0 : point->v[kept] + point->v_low[kept];
}

#endif
