/* Inside of fail: what its sources share. Not for others. */
#ifndef POWER_FAIL_INNER_H
#define POWER_FAIL_INNER_H

#include "power/fail.h"
#include "power/point.h"

/* Limits of the fast way; beyond them the full one answers. */
enum {
    FAIL_EXTRA_CHAINS = 64, /* pieces and bridges */
    FAIL_EXTRA_NODES = 4,   /* inner nodes of chains laid bare */
    FAIL_MEMBERS = 24,      /* chains changed, pieces and bridges together */
    FAIL_UNKNOWNS = FAIL_MEMBERS + FAIL_EXTRA_NODES,
    FAIL_SERIES = 4
};

/* Elements whose state or curve a change of voltage over their chain can touch: by how much it may
 * change before they have to be looked at. Those between the same two nodes stand together and make
 * a group, which is looked at first. */
typedef struct FailWatches {
    uint32_t count;
    uint32_t *a, *b; /* kept nodes */
    double *low_v;   /* change of v(a) - v(b) that may be reached, < 0 */
    double *high_v;
    double *bend;     /* volts of error anywhere for a squared volt of change; 0: straight */
    double *port_ohm; /* what the network looks like from the chain */
    uint32_t *chain;
    uint32_t *index; /* of the element */
    uint8_t *kind;   /* NetworkKind */
    bool *bent;      /* a load that is on, with a law that is no straight line */

    uint32_t group_count;
    uint32_t *group_first; /* by group, and one more: into the arrays above */
    uint32_t *group_a, *group_b;
    double *group_low_v, *group_high_v; /* the narrowest of the group */
    double *group_bend;                 /* sum of the group */
    double *group_ohm;                  /* largest port_ohm */
    uint32_t *group_of;                 /* by watch */
    uint32_t *chain_group;              /* by chain with a bent load: its group; NETWORK_NONE */
    double *group_reach_v; /* up to this change of voltage the series below holds; 0: none */
    double *group_series;  /* FAIL_SERIES a group: current beyond the tangents is
                              change^2 * (c0 + c1 change + c2 change^2 + ...) */
} FailWatches;

struct FailBase {
    const SolvePlan *plan;
    Network network; /* own copies of all arrays */
    SolveResult result;
    Point *point; /* the solved point; its factor holds the tangents there */
    bool *works;  /* by load */
    bool fast;    /* the fast way can be taken */
    uint32_t height;
    uint32_t *resistor_chain; /* by resistor */
    uint32_t *node_kept;      /* by node: kept id; NETWORK_NONE for inner ones and unused ones */
    uint32_t *node_chain;     /* by inner node: its chain, and the first link after it */
    uint32_t *node_link;
    bool *tree;     /* by chain: in a spanning tree of all that conducts */
    bool *bridge;   /* by chain: alone joins its two sides */
    bool *floating; /* by kept node */
    FailWatches watches;
    double *row_ohm;      /* by row: volts there for an ampere there */
    uint32_t *load_first; /* by kept node, and one more: into load_group */
    uint32_t *load_group; /* groups with bent loads, by either node */

    /* A spanning tree of what conducts without loads. Nodes in the order of a walk from the root:
     * those below a node are walk[walk_place[node]] and the walk_size[node] - 1 after it. */
    uint32_t *walk;
    uint32_t *walk_place;
    uint32_t *walk_size;
    uint32_t *walk_source; /* by place in the walk, and one more: source ends before it */
    uint32_t *below;       /* by chain: the node below it, when it alone joins that to the root;
                              NETWORK_NONE */
};

/* One chain, piece or bridge that is not as the base's factor has it. */
typedef struct FailMember {
    uint32_t chain;        /* NETWORK_NONE: a group of loads, or an anchor that holds a dead part */
    uint32_t group;        /* NETWORK_NONE unless a group */
    uint32_t row_a, row_b; /* rows of the factor; FACTOR_NO_ROW */
    uint32_t extra_a, extra_b;     /* extra nodes; NETWORK_NONE */
    double base_s, base_a, base_v; /* as the factor has it */
    double more_s, more_a; /* current = the factor's + more_a + more_s * change of voltage */
    uint32_t *rows;        /* L^-1 of its ends */
    double *values;
    uint32_t row_count;
} FailMember;

struct FailRun {
    const FailBase *base;
    Arena arena; /* the lists below, given back by fail_run_free() */
    FailEdit *edits;
    size_t edit_count;
    size_t edit_capacity;
    size_t bridge_count;
    NetworkKind offender_kind;
    uint32_t offender;

    bool is_full; /* the point reached is in `full` */
    Arena full_arena;
    Network full_network;
    SolveResult full;

    /* The fast way: a point whose chains, network and state are changed and put back. */
    Network network;
    Collapse collapse;
    Point *point;
    uint32_t *resistor_chain;
    uint32_t base_chains;
    uint32_t extra_chains;
    uint32_t extra_links[FAIL_EXTRA_NODES];   /* the link that begins behind each extra node */
    bool split[FAIL_EXTRA_CHAINS];            /* of extra chains */
    bool *base_split;                         /* of the base's */
    uint32_t bridge_chain[FAIL_EXTRA_CHAINS]; /* by bridge since begin */
    uint32_t *member_of;                      /* chain -> member + 1 */
    bool *group_touched;                      /* a load of the group is a member of its own */
    uint32_t *group_member;                   /* group -> member + 1 */
    FailMember members[FAIL_MEMBERS];
    uint32_t member_count;
    double *path_ohm; /* FAIL_MEMBERS squared: what a current in one does to the other */
    double *dense;    /* FAIL_UNKNOWNS squared */
    double *right;    /* FAIL_UNKNOWNS */
    double *work;     /* rows, all 0 */
    double *change_v; /* kept nodes and the reference: from the base */
    double *next_v;
    double *bend_a; /* by row: what loads put in beyond their tangents */
    double *next_a; /* the same by the law at the voltages found with bend_a */
    double *last_a; /* bend_a and next_a of the round before */
    double *last_next_a;
    double least_ohm; /* an ampere too much is reckoned to make at least so many volts */
    bool bend_known;  /* bend_a is that of about here */
    double extra_v[FAIL_EXTRA_NODES];
    bool joined;
    bool state_changed;
    NetworkState before;  /* states before the present edits */
    uint32_t *candidates; /* watches outside their margins */
    uint32_t candidate_count;
    uint32_t *loads; /* that may fare otherwise than at the base */
    uint32_t load_count;

    uint32_t *lost;
    uint32_t *gained;
    FailCounts counts;
};

/* Copies of the arrays of `from`, with room for `bridges` more resistors (not counted). */
Network fail_network_copy(Arena *arena, const Network *from, uint32_t bridges);

/* Carries out one edit on a network and a state. A bridge becomes the next resistor. */
void fail_edit_network(Network *network, NetworkState *state, const FailEdit *edit);

/* Puts the numbers of the edited element back to those of `from`. */
void fail_unedit_network(Network *network, const Network *from, const FailEdit *edit);

/* Settles all edits of the run from nothing, starting from `state`, into run->full. */
SolveStatus fail_full_settle(FailRun *run, const NetworkState *state);

/* Looks over the solved base: where each thing is, what hangs on what, what to watch. */
void fail_base_prepare(Arena *arena, FailBase *base);

/* Makes the arrays of the fast way. */
void fail_fast_new(Arena *arena, FailRun *run);

/* Undoes everything since the base. */
void fail_fast_reset(FailRun *run);

/* Settles with the last `count` edits added; false when this way can't tell. */
bool fail_fast_apply(FailRun *run, const FailEdit *edits, uint32_t count, SolveStatus *status);

/* Reading the point of the fast way. */
double fail_fast_node_v(FailRun *run, uint32_t node, SolveNodeState *state);
double fail_fast_element_a(FailRun *run, NetworkKind kind, uint32_t index);
double fail_fast_load_v(FailRun *run, uint32_t load);
bool fail_fast_load_works(FailRun *run, uint32_t load);
double fail_fast_bridge_a(FailRun *run, uint32_t bridge);

#endif
