/* Isolation: which nets are tied to which side, so that with few readings every pair of nets has
 * been on opposite sides once. All nets at once: a number in base two for each, a reading for each
 * digit: ceil(log2 N) readings, and fewer can't do (each reading halves at best what is not yet
 * parted). The first digits are a colouring of the nets that lie beside each other, so that
 * neighbouring cavities come first. A tester that holds fewer points takes the nets block by block,
 * two blocks at a time. */
#ifndef SHOP_ISOLATION_H
#define SHOP_ISOLATION_H

#include <stdbool.h>
#include <stdint.h>

#include "base/arena.h"

/* No session has more readings: 2^32 nets. */
enum { ISOLATION_READINGS_MAX = 33 };

typedef struct IsolationInput {
    uint32_t net_count;
    const uint32_t *lead; /* by net: plug or clip by which it is reached; equal ones together */
    const uint32_t *near_first; /* by net, and one more: nets that lie beside it */
    const uint32_t *near;
} IsolationInput;

/* One net in one session. Bit k: in reading k it is tied to that side; in neither: left open. */
typedef struct IsolationMember {
    uint32_t net;
    uint64_t side_a;
    uint64_t side_b;
} IsolationMember;

typedef struct IsolationSession {
    uint32_t first; /* into IsolationPlan.members */
    uint32_t count;
    uint32_t readings;
} IsolationSession;

typedef struct IsolationPlan {
    IsolationSession *sessions;
    uint32_t session_count;
    IsolationMember *members;
    uint32_t member_count;
    uint32_t readings;
    uint32_t adjacent_after; /* readings until all neighbours have been parted; 0: there are none */
} IsolationPlan;

/* How much a tester has to do. Counted, not listed: for a meter with two probes that would be a
 * session for each pair. */
typedef struct IsolationCount {
    double readings;
    double least; /* no scheme of two tied sides does with fewer on this tester */
    double sessions;
    double replugs; /* leads plugged or clipped, the first ones included */
} IsolationCount;

/* Plans for a tester that holds `points` (2 or more) by `leads` (2 or more). More sessions than
 * `most` are not listed: false then. */
bool isolation_plan(Arena *out, const IsolationInput *input, uint32_t points, uint32_t leads,
                    uint32_t most, IsolationPlan *plan);

IsolationCount isolation_count(const IsolationInput *input, uint32_t points, uint32_t leads);

/* Digits that numbers from 0 to count - 1 need in base two. */
uint32_t isolation_digits(uint32_t count);

#endif
