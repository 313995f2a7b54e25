/* What can be wrong with a harness, and what a wrong harness looks like to a probe. Contacts sit in
 * cavities: an error takes one out, puts it elsewhere, breaks a wire or lets two points touch. What
 * probes can tell of it is which points in reach are one piece of metal; so two errors that leave
 * the same points together are one class, whatever is measured. */
#ifndef SHOP_WRONG_H
#define SHOP_WRONG_H

#include "shop/rig.h"

typedef enum WrongKind {
    WRONG_OPEN,   /* edge a is broken: a wire or screen anywhere along it, a bond not made */
    WRONG_OUT,    /* the contact of cavity a is not in it and touches nothing */
    WRONG_MOVE,   /* what sits in cavities a and b of one plug is exchanged; one may be empty */
    WRONG_SHORT,  /* points a and b touch */
    WRONG_HIGH,   /* edge a or a joint at its ends has too much resistance */
    WRONG_ABSENT, /* terminator: edge a is not there */
    WRONG_KIND_COUNT
} WrongKind;

typedef struct Wrong {
    WrongKind kind;
    uint32_t a;
    uint32_t b;
} Wrong;

enum { WRONG_MOST = 4 }; /* errors at once */

/* A harness with errors in it. Points of floating contacts (out of their cavity) are numbered
 * point_count + contact. Parts: what is one piece of metal now, of all points that the errors
 * concern; every other point is where it was. */
typedef struct WrongRig {
    const Rig *rig;
    Wrong wrongs[WRONG_MOST];
    uint32_t count;
    uint32_t *at;    /* by contact (its point when nothing is wrong): where it is */
    uint32_t *holds; /* by point: the contact in it; ID_NONE */
    bool *broken;    /* by edge */
    uint32_t *part;  /* by point: into parts, where stamp == round */
    uint32_t *stamp; /* by point */
    uint32_t round;
    uint32_t *points; /* of all parts, together */
    uint32_t point_count;
    uint32_t *part_first; /* by part, and one more */
    uint32_t part_count;
    uint32_t part_capacity;
    uint32_t *reach_count; /* by net of the rig: its points in reach */
    uint32_t *terminators; /* edges */
    uint32_t terminator_count;
} WrongRig;

void wrong_start(Arena *out, const Rig *rig, WrongRig *state);

/* Adds an error to those that are there; after the last one call wrong_parts. */
void wrong_add(WrongRig *state, Wrong wrong);

/* Takes back the error added last. */
void wrong_undo(WrongRig *state);

/* Sweeps the parts that the errors concern. */
void wrong_parts(WrongRig *state);

/* True when both points are one piece of metal now (terminators left out). After wrong_parts. */
bool wrong_joined(const WrongRig *state, RigPointId a, RigPointId b);

/* True when a current finds a way between them, by terminators if need be. After wrong_parts. */
bool wrong_conducts(const WrongRig *state, RigPointId a, RigPointId b);

/* The part of a point is among the swept ones. */
static inline bool wrong_concerns(const WrongRig *state, RigPointId point) {
    return state->stamp[point] == state->round;
}

/* What readings can see: equal for two sets of errors if and only if no reading parts them. `seen`
 * and `by_ohms` are false when it is that of a harness without errors. After wrong_parts. */
typedef struct WrongSign {
    uint64_t high;
    uint64_t low;
    bool seen; /* points in reach are joined or parted, or a wire alone between two has more ohms */
    bool by_ohms; /* seen at best by the ohms of a loop: an edge that other ways bridge */
} WrongSign;

WrongSign wrong_sign(WrongRig *state);

static inline bool wrong_sign_equal(WrongSign a, WrongSign b) {
    return a.high == b.high && a.low == b.low;
}

/* Calls for every point next to `point` as things are now, with the edge passed (ID_NONE: they
 * touch by an error). */
typedef void (*WrongVisit)(void *context, uint32_t point, uint32_t edge);
void wrong_neighbours(const WrongRig *state, uint32_t point, WrongVisit visit, void *context);

/* What a meter shows between two points as things are now: the way between them, terminators
 * included, and the contacts of both; infinite when there is no way; an edge of which it is not
 * known counts `unknown_ohm`. An edge with too much resistance counts `high_ohm` more. */
double wrong_ohm(const WrongRig *state, RigPointId a, RigPointId b, double high_ohm,
                 double unknown_ohm);

/* True when a part of the way between two joined points has too much resistance: they would be
 * apart without it. After wrong_parts. */
bool wrong_is_high(WrongRig *state, RigPointId a, RigPointId b);

/* Every single error that the rig can have; in a fixed order. Errors that come to the same thing by
 * their nature (both ends of one broken wire) stand there once. */
typedef struct WrongList {
    Wrong *wrongs;
    uint32_t count;
} WrongList;

void wrong_list(Arena *out, const Rig *rig, WrongList *list);

/* In words: "W0412 is open between BK1C1.P-14 and NAV1.J1-3". */
const char *wrong_text(Arena *arena, const Rig *rig, Wrong wrong);

/* Where looking settles whether it is that. */
const char *wrong_look(Arena *arena, const Rig *rig, Wrong wrong);

#endif
