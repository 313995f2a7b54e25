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
    bool planned;    /* one net */
    bool terminated; /* the rig has terminators */
    bool bad;        /* not as planned */
} PairReading;

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
    WrongList list;    /* all single errors */
    bool *bridged;     /* by point: a terminator hangs on its net */
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

/* Compares all readings with the state (whose parts are swept). */
Mismatch diagnose_compare(Diagnoser *work);

/* Ranks classes and finds the next reading. */
void diagnose_rank(Diagnoser *work);
void diagnose_next(Diagnoser *work);

#endif
