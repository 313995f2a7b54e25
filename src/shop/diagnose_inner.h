/* Inner contracts of the diagnosis. */
#ifndef SHOP_DIAGNOSE_INNER_H
#define SHOP_DIAGNOSE_INNER_H

#include "shop/diagnose.h"

typedef enum Seen {
    SEEN_OPEN,
    SEEN_THROUGH,
    SEEN_HIGH,
    SEEN_TERMINATOR /* by way of a terminator alone */
} Seen;

/* A reading between two points. */
typedef struct PairReading {
    RigPointId a;
    RigPointId b;
    Seen seen;
    double limit_ohm; /* above it a joined pair is high; infinite: never */
    double ohm;       /* of a chain: what was read; infinite when open */
    bool value;       /* ohms decide: a loop, or a chain with terminators */
    bool chain;
    bool wide;       /* terminators join the net of an end with others */
    bool planned;    /* one net */
    bool terminated; /* the rig has terminators */
    bool bad;        /* not as planned */
} PairReading;

enum { DIAGNOSE_OFF_MAX = 8 };

typedef struct Diagnoser {
    Arena *out;
    Arena scratch;
    const Rig *rig;
    const Ringout *ringout;
    Diagnosis *diagnosis;
    WrongRig state;
    PairReading *pairs;
    uint32_t pair_count;
    bool terminated;            /* the rig has terminators */
    uint32_t *point_pair_first; /* by point, and one more: pairs that may change with its part */
    uint32_t *point_pairs;
    uint32_t bad_count; /* pairs that are not as planned */
    uint32_t *bad;
    uint32_t off[DIAGNOSE_OFF_MAX]; /* pairs that did not fit when last compared, some of them */
    uint32_t off_count;
    uint32_t *stamp; /* by pair: looked at in this round */
    uint32_t round;
    uint32_t group_count;    /* readings with several points on a side */
    uint32_t words;          /* of 64 groups each */
    uint64_t *side[2];       /* by point, `words` each: tied to that side */
    uint64_t *planned;       /* by word: through by plan */
    bool any_planned;        /* one of them */
    uint64_t *through;       /* by word: read as through */
    uint64_t *now;           /* by word: as things would be */
    uint32_t *group_reading; /* by group */
    double weight_sum;       /* of all single errors: one of them is taken for granted */
    uint32_t limit;          /* errors allowed now */
    uint32_t *back;          /* by point, floating ones too: for ways */
    uint32_t *back_edge;
    uint32_t *way_stamp;
    uint32_t way_round;
    double *far;     /* by point: the least found yet */
    uint32_t *queue; /* points to go on from */
    size_t queue_count;
    size_t queue_capacity;
    WrongList list;    /* all single errors */
    bool *bridged;     /* by net: a terminator hangs on it */
    uint32_t *joiners; /* of them those that pairs may not show: touches, and exchanges that leave
                          every net whole as far as probes reach; into list */
    uint32_t joiner_count;
    uint64_t *joiner_through; /* by joiner, `words` each: what it alone would join */
    uint32_t *slots;          /* classes by sign: index + 1 */
    uint32_t slot_count;
    size_t class_capacity;
    size_t class_count;
} Diagnoser;

/* A mismatch to branch on. */
typedef struct Mismatch {
    bool any;
    uint32_t pair; /* ID_NONE: a group */
    uint32_t group;
} Mismatch;

static inline uint32_t diagnose_net(const Rig *rig, RigPointId point) {
    return rig->points[point].net;
}

static inline void diagnose_set_bit(uint64_t *words, uint32_t bit) {
    words[bit / 64] |= (uint64_t)1 << bit % 64;
}

static inline bool diagnose_get_bit(const uint64_t *words, uint32_t bit) {
    return words[bit / 64] >> bit % 64 & 1;
}

/* Takes the readings, which stay the caller's; the state is that of a harness without errors. */
void diagnose_take(Diagnoser *work, const BenchReading *readings, uint32_t count);

/* Which groups the points of a part join: both sides in it. */
void diagnose_join(const Diagnoser *work, const uint32_t *points, uint32_t count,
                   uint64_t *through);

/* The points that one hangs together with now. */
const uint32_t *diagnose_part(const Diagnoser *work, const RigPointId *point, uint32_t *count);

typedef struct Ways {
    Diagnoser *work;
    bool by_ohms; /* else by edges */
    bool sound;   /* edges with too much resistance are passed by */
    double limit; /* nothing beyond it is of interest */
    RigPointId from;
} Ways;

/* Spreads from a, and with `any` only until b is reached. How far that is, the shortest way unless
 * `any`; infinite: there is none. work->back leads from b to a. */
double diagnose_spread(Ways *ways, RigPointId a, RigPointId b, bool any);

/* Compares all readings with the state (whose parts are swept). */
Mismatch diagnose_compare(Diagnoser *work);

/* Whether a terminator joins the sides of a reading. */
bool diagnose_terminated(const WrongRig *state, const RigPointId *a, uint32_t a_count,
                         const RigPointId *b, uint32_t b_count);

/* Ranks classes and finds the next reading. */
void diagnose_rank(Diagnoser *work);
void diagnose_next(Diagnoser *work);

#endif
