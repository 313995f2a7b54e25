/* Modules become harnesses: each piece that disconnects cut (ends.h) gets its harness, the arms it
 * lies in and its cut length; loops are opened so that each harness can be laid flat. Goes in: the
 * pieces with both ends. Comes out: what the board is drawn from and wires are cut by. A pass
 * beside the live chain: it runs when a result of it is asked for (app/bench.h). Method, length
 * rules, sources: docs/theory/harness.md.
 *
 * Guaranteed, for every job (tests/property/test_harness.c):
 *  - every piece of `Ends` is in exactly one harness, or in none when its cable has no way
 *    (run->harness is ID_NONE; reported by the route pass);
 *  - the arms of each harness are a forest over its nodes (several trees when a module has several
 *    places that nothing joins): a loop is opened at the end of one of its arms, the one that the
 *    fewest conductors pass (on a tie the one whose segment has the last key);
 *  - nothing is cut by opening: the opened arm ends at a node of its own (HARNESS_NODE_OPEN), and
 *    what passes goes on at the true node. A run's steps hang together: each begins at the node
 *    where the one before it ended, or the two are the two sides of one opening;
 *  - path = sum of the lengths of a run's arms;
 *  - cut = path + stubs + loops + handling + slack + twist + bend + rounding, part by part, as the
 *    route layer has them (route/length.h). Over the pieces of one core it sums to
 *    `cable_run.length_mm`, which the electrics reckon with;
 *  - on the board, from leaf to leaf: harness_board_mm = path + the reach of both leaves. */
#ifndef BOARD_HARNESS_H
#define BOARD_HARNESS_H

#include "power/size.h"
#include "route/ends.h"

typedef enum HarnessNodeKind {
    HARNESS_NODE_AIRFRAME, /* a node of the airframe */
    HARNESS_NODE_HALF,     /* where a cut segment ends at its disconnect */
    HARNESS_NODE_OPEN      /* where an arm was opened: "close on aircraft" */
} HarnessNodeKind;

typedef struct HarnessNode {
    HarnessNodeKind kind;
    uint32_t harness;
    NodeId node;        /* the airframe node it is, lies at, or is to be closed with */
    SegmentId segment;  /* half: the cut segment; else ID_NONE */
    uint32_t opening;   /* open: into HarnessSet.openings; else ID_NONE */
    double at_mm[3];    /* x aft, y to the right, z up */
    const char *name;   /* "P03"; "S02-P03 at S02" (half); "R03 (open)", where several
                           are opened "R03 (open, S02-R03)": once in a harness */
    uint32_t arm_first; /* into HarnessSet.node_arms */
    uint32_t arm_count;
    uint32_t leaf_first; /* its leaves are together in HarnessSet.leaves */
    uint32_t leaf_count;
} HarnessNode;

/* A segment, or that part of it that belongs to this harness. */
typedef struct HarnessArm {
    uint32_t harness;
    SegmentId segment;
    uint32_t node[2]; /* towards the segment's node_a, node_b: into HarnessSet.nodes */
    double length_mm; /* true length, above 0 unless the segment has none */
    double od_mm;     /* 1.2 x root of the sum of squares over all that lies in it, heavy cables
                         too (limit bundle_factor) */
    uint32_t conductors;
    uint32_t runs;  /* laid lengths: single wires of one cable count once */
    uint32_t heavy; /* of them heavy cables */
    ZoneId zone;
    uint32_t opening;   /* ID_NONE: not opened */
    uint32_t run_first; /* into HarnessSet.arm_runs: its `runs` */
} HarnessArm;

/* A loop that is opened: `arm` stays on its other node and ends here at `open`, to be closed with
 * `node` on the aircraft. */
typedef struct HarnessOpening {
    uint32_t harness;
    uint32_t arm;
    uint32_t node;       /* the true node, into HarnessSet.nodes */
    uint32_t open;       /* the arm's own end there */
    uint32_t conductors; /* that pass, uncut */
    const char *name;    /* "R03": stands on both sides as "R03 close on aircraft" */
} HarnessOpening;

typedef enum HarnessLeafKind {
    HARNESS_LEAF_CONNECTOR, /* connector of a unit */
    HARNESS_LEAF_STUDS,     /* rings, tabs, joints at one unit, device, bar or ground point */
    HARNESS_LEAF_SHELL,     /* half of a disconnect shell */
    HARNESS_LEAF_PASS       /* coax bulkheads and studs of a disconnect on one segment */
} HarnessLeafKind;

/* What hangs at a node by a stub: ends of pieces that go to one place. */
typedef struct HarnessLeaf {
    HarnessLeafKind kind;
    uint32_t harness;
    uint32_t node;         /* into HarnessSet.nodes */
    OwnerId owner;         /* connector, studs; else ID_NONE */
    const char *connector; /* "J1"; "" for the others */
    ShellId shell;         /* connector, shell half: row of `shell` (its outline: ShellRow.form);
                              ID_NONE: not known, or studs */
    uint32_t disconnect_shell; /* shell half: row of `disconnect_shell`; else ID_NONE */
    uint32_t disconnect;       /* shell half, pass: row of `disconnect`; else ID_NONE */
    SegmentId segment;         /* shell half, pass: the cut segment; else ID_NONE */
    bool far;                  /* shell half, pass */
    double stub_mm;            /* from the node, by the job's tables; 0 at a disconnect */
    double loop_mm;            /* service loop or disconnect allowance on top of it */
    uint32_t rule;             /* row of end_allowance that says so; ID_NONE: none does */
    double direction[3];       /* unit vector in which it leaves the node in the airframe */
    bool direction_known;      /* false: nothing is known but that it leads away from the arms */
    const char *label;         /* "NAV1.J1", "GBC", "BK1C1.P" */
    uint32_t end_first;        /* into HarnessSet.leaf_ends: ends of pieces, by EndId */
    uint32_t end_count;
} HarnessLeaf;

/* One arm on the way of a run; `backward`: walked from node[1] to node[0]. */
typedef struct HarnessStep {
    uint32_t arm;
    bool backward;
} HarnessStep;

/* What is laid together from one place to the next: the pieces of one cable with one index. A
 * jacketed run is cut from the reel as one, of the others each piece by itself. */
typedef struct HarnessRun {
    CableId cable;
    uint16_t index;      /* along the cable, as Piece.index */
    bool jacketed;       /* one cable of the library (Cable.part) */
    uint32_t harness;    /* ID_NONE: the cable has no way */
    uint32_t node[2];    /* where it begins and ends: into HarnessSet.nodes; ID_NONE likewise */
    uint32_t step_first; /* into HarnessSet.steps */
    uint32_t step_count;
    uint32_t piece_first; /* into HarnessSet.run_pieces */
    uint32_t piece_count;
    double path_mm; /* sum of its arms; NAN: no way */
} HarnessRun;

/* By index as in Ends.pieces. */
typedef struct HarnessPiece {
    uint32_t run;
    uint32_t leaf[2];   /* towards `from`, towards `to`: into HarnessSet.leaves; ID_NONE: no way */
    LengthParts length; /* of its run (Routing.runs); NAN when it is in no harness */
    const char *key;    /* "W0412.2": wire (or "W0412.S" for a shield) and place along it from 1 */
} HarnessPiece;

/* One module. Index = ModuleId, also for a module that nothing lies in. */
typedef struct Harness {
    ModuleId module;
    uint32_t node_first; /* its nodes, arms, leaves, openings are together */
    uint32_t node_count;
    uint32_t arm_first;
    uint32_t arm_count;
    uint32_t leaf_first;
    uint32_t leaf_count;
    uint32_t opening_first;
    uint32_t opening_count;
    uint32_t tree_count;
    uint32_t runs;
    uint32_t pieces; /* without shields */
    double wire_mm;  /* sum of what is cut: jacketed runs and single pieces */
    double mass_kg;  /* of that */
} Harness;

typedef struct HarnessSet {
    const Ends *ends;
    double minus_mm;    /* tolerance of cutting: a piece may be shorter by */
    double plus_mm;     /* longer by */
    Harness *harnesses; /* by ModuleId */
    uint32_t harness_count;
    HarnessNode *nodes; /* by harness, airframe node, kind, segment */
    uint32_t node_count;
    HarnessArm *arms; /* by harness, segment */
    uint32_t arm_count;
    HarnessLeaf *leaves; /* by node, kind, owner or shell, connector */
    uint32_t leaf_count;
    HarnessOpening *openings; /* by harness, arm */
    uint32_t opening_count;
    HarnessRun *runs; /* by cable, index */
    uint32_t run_count;
    HarnessPiece *pieces; /* as Ends.pieces */
    HarnessStep *steps;
    uint32_t step_count;
    uint32_t *node_arms;  /* arms at each node, by segment */
    uint32_t *arm_runs;   /* runs in each arm, by run */
    EndId *leaf_ends;     /* ends of pieces at each leaf */
    uint32_t *run_pieces; /* pieces of each run */
} HarnessSet;

/* Limits read from the library. */
#define HARNESS_LIMIT_MINUS "cut_minus"
#define HARNESS_LIMIT_PLUS "cut_plus"

/* n log n in pieces and steps. Everything lives in `out`; `ends` must outlive it. Findings: rules
 * harness.*. */
bool harness_build(Arena *out, const Ends *ends, HarnessSet *set, Findings *findings);

/* Drops with the wires as they are cut, where that is longer than what they were sized for (rule
 * harness.drop): only when sizing stopped before lengths and gauges had settled. */
void harness_check_drops(const HarnessSet *set, const Supply *supply, const Sizing *sizing,
                         Findings *findings);

/* How far a leaf's connector lies from its node on the board: stub + loop. */
double harness_leaf_reach_mm(const HarnessLeaf *leaf);

/* Length of a piece on the board, leaf to leaf; NAN without a way. */
double harness_board_mm(const HarnessSet *set, uint32_t piece);

/* The node a step of a run starts from (side 0) or ends at (side 1). */
uint32_t harness_step_node(const HarnessSet *set, HarnessStep step, int side);

/* Fills the result tables harness and piece. */
void harness_rows(Arena *arena, const HarnessSet *set, TableSet *out);

/* How the length of each piece of a wire comes about, in words, for `why`. */
void harness_why(Buffer *out, const HarnessSet *set, ConductorId conductor);

/* The same of one piece by its key ("W0412.2"); false, nothing written, when none is called that.
 */
bool harness_why_piece(Buffer *out, const HarnessSet *set, const char *key);

#endif
