/* Ring-out: the script by which a harness is measured before power, for each module on the bench
 * and again when all are mated in the aircraft. Continuity: in every net a tree of readings that
 * covers every conductor, with what the meter should show. Isolation: every pair of nets, in groups
 * tied together. Coax, terminated chains, bonds. docs/theory/ringout.md: method, limits, sources.
 */
#ifndef SHOP_RINGOUT_H
#define SHOP_RINGOUT_H

#include "shop/isolation.h"
#include "shop/rig.h"

/* Limits read from the library. */
#define RINGOUT_LIMIT_WIRE "ring_wire"
#define RINGOUT_LIMIT_CONTACT "ring_contact"
#define RINGOUT_LIMIT_SIGNAL "ring_signal"
#define RINGOUT_LIMIT_ISOLATION "ring_isolation"
#define RINGOUT_LIMIT_ISOLATION_V "ring_isolation_v"
#define RINGOUT_LIMIT_CHAIN "ring_chain"
#define RINGOUT_LIMIT_BOND "bond_frame"

/* Isolation sessions that are listed; of a tester that wants more only the count is told. */
enum { RINGOUT_SESSIONS_MAX = 500 };

typedef enum RingKind {
    RING_CONTINUITY,
    RING_PARALLEL, /* more than one way: an open one shows by its ohms at best */
    RING_COAX,     /* centre against body */
    RING_CHAIN,
    RING_ISOLATION,
    RING_BOND,
    RING_KIND_COUNT
} RingKind;

typedef struct RingStep {
    RingKind kind;
    RigPointId a; /* ID_NONE: a group, or something that is not in the rig */
    RigPointId b;
    const char *a_name;
    const char *b_name;
    uint32_t *edges; /* passed, of a continuity reading; empty else */
    uint32_t edge_count;
    double expected_ohm; /* NAN: not known */
    double low_ohm;      /* NAN: none */
    double high_ohm;     /* NAN: none */
    bool four_wire;
    const char *note;
    uint32_t session; /* of an isolation reading: into plan.sessions */
    uint32_t reading; /* in it */
} RingStep;

/* What is told apart in isolation readings: nets that terminators join count as one. */
typedef struct RingNets {
    uint32_t count;
    RigPointId *at;       /* by isolation net: where it is taken */
    uint32_t *tied_first; /* by isolation net, and one more: where its parts are taken, one point
                             for each that terminators join; all are tied to one side */
    RigPointId *tied;
    uint32_t *net;    /* by isolation net: a net of the rig */
    uint32_t *of_net; /* by net of the rig; ID_NONE: no probe reaches it */
    IsolationInput input;
} RingNets;

typedef struct Ringout {
    const Rig *rig;
    RingStep *steps; /* in bench order */
    uint32_t step_count;
    RingNets nets;
    IsolationPlan plan;  /* for the usual tester */
    bool listed;         /* false: that tester wants too many sessions */
    uint32_t tester;     /* row of `tester`; ID_NONE: the library has none */
    uint32_t continuity; /* readings */
    uint32_t moves;
    uint32_t moves_by_wire;
} Ringout;

void ringout_build(Arena *out, const Rig *rig, Ringout *ringout);

/* Appends the rows of ringout, ringout_tie and ringout_count. */
void ringout_rows(Arena *arena, const Ringout *ringout, TableSet *set);

/* Scripts of every module that has wires, and of all mated: the three tables. */
void ringout_run(Arena *arena, const RigInput *input, TableSet *set);

/* Nets as isolation readings see them. */
void ringout_nets(Arena *out, const Rig *rig, RingNets *nets);

/* Conductors and shields of a net's group as one text. */
const char *ringout_net_wires(Arena *arena, const Rig *rig, uint32_t net);

/* Resistance between two points of one net of the whole rig, probe contacts left out; `without` an
 * edge (ID_NONE: all are there). NAN when a resistance on the way is not known, infinite when there
 * is no way. */
double ringout_ohm(const Rig *rig, RigPointId a, RigPointId b, uint32_t without);

const char *ringout_kind_name(RingKind kind);

#endif
