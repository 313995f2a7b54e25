/* Changed parts always hold an end of an error: a broken edge leaves its two ends, a moved contact
 * the cavity it left and the one it came into, a touch its two points. So sweeping from those finds
 * every part that is not as it was, and costs no more than what is swept. */
#include "shop/wrong.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "shop/ohms.h"

/* --- state --------------------------------------------------------------------------------------
 */

void wrong_start(Arena *out, const Rig *rig, WrongRig *state) {
    uint32_t points = 2 * rig->point_count; /* floating contacts behind them */
    *state = (WrongRig){.rig = rig};
    state->at = ARENA_ARRAY(out, uint32_t, rig->point_count);
    state->holds = ARENA_ARRAY(out, uint32_t, points);
    state->broken = ARENA_ARRAY(out, bool, rig->edge_count);
    state->part = ARENA_ARRAY(out, uint32_t, points);
    state->stamp = ARENA_ARRAY(out, uint32_t, points);
    state->points = ARENA_ARRAY(out, uint32_t, points);
    state->part_capacity = 4 * WRONG_MOST + 1;
    state->part_first = ARENA_ARRAY(out, uint32_t, state->part_capacity + 1);
    state->reach_count = ARENA_ARRAY(out, uint32_t, rig->net_count);
    for (uint32_t i = 0; i < points; i++) {
        bool there = i < rig->point_count && rig->points[i].filled;
        state->holds[i] = there ? i : ID_NONE;
        if (i < rig->point_count) {
            state->at[i] = i;
        }
        if (there && rig->points[i].reachable && rig->points[i].net != ID_NONE) {
            state->reach_count[rig->points[i].net]++;
        }
    }
    state->terminators = ARENA_ARRAY(out, uint32_t, rig->edge_count);
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        if (rig->edges[i].kind == RIG_TERMINATOR) {
            state->terminators[state->terminator_count++] = i;
        }
    }
    /* An empty cavity in reach of a net can only be a mated one, which is not in reach. */
    state->round = 0;
}

static void put(WrongRig *state, uint32_t contact, uint32_t point) {
    if (contact != ID_NONE) {
        state->at[contact] = point;
    }
    state->holds[point] = contact;
}

static void exchange(WrongRig *state, uint32_t a, uint32_t b) {
    uint32_t held_a = state->holds[a];
    uint32_t held_b = state->holds[b];
    put(state, held_b, a);
    put(state, held_a, b);
}

void wrong_add(WrongRig *state, Wrong wrong) {
    CHECK(state->count < WRONG_MOST);
    state->wrongs[state->count++] = wrong;
    switch (wrong.kind) {
    case WRONG_OPEN:
    case WRONG_ABSENT:
        state->broken[wrong.a] = true;
        break;
    case WRONG_OUT: { /* bound to the contact, wherever it was put before */
        uint32_t floating = state->rig->point_count + wrong.a;
        if (state->at[wrong.a] != floating) {
            exchange(state, state->at[wrong.a], floating);
        }
        break;
    }
    case WRONG_MOVE:
        exchange(state, wrong.a, wrong.b);
        break;
    case WRONG_SHORT:
    case WRONG_HIGH:
    case WRONG_KIND_COUNT:
        break;
    }
}

static void reset(WrongRig *state, uint32_t point) {
    uint32_t contact =
        point < state->rig->point_count && state->rig->points[point].filled ? point : ID_NONE;
    state->holds[point] = contact;
    if (contact != ID_NONE) {
        state->at[contact] = point;
    }
}

/* Everything back to where it was, then all errors but the last again. */
void wrong_undo(WrongRig *state) {
    Wrong kept[WRONG_MOST];
    uint32_t count = state->count - 1;
    memcpy(kept, state->wrongs, sizeof kept);
    for (uint32_t i = 0; i <= count; i++) {
        const Wrong *wrong = &state->wrongs[i];
        if (wrong->kind == WRONG_OPEN || wrong->kind == WRONG_ABSENT) {
            state->broken[wrong->a] = false;
        } else if (wrong->kind == WRONG_OUT) {
            reset(state, wrong->a);
            reset(state, state->rig->point_count + wrong->a);
        } else if (wrong->kind == WRONG_MOVE) {
            reset(state, wrong->a);
            reset(state, wrong->b);
        }
    }
    state->count = 0;
    for (uint32_t i = 0; i < count; i++) {
        wrong_add(state, kept[i]);
    }
}

/* --- parts --------------------------------------------------------------------------------------
 */

static bool moves_along(RigEdgeKind kind) {
    return kind == RIG_WIRE || kind == RIG_SCREEN || kind == RIG_TERMINATOR;
}

void wrong_neighbours(const WrongRig *state, uint32_t point, WrongVisit visit, void *context) {
    const Rig *rig = state->rig;
    uint32_t contact = state->holds[point];
    if (contact != ID_NONE) {
        for (uint32_t e = rig->point_edge_first[contact]; e < rig->point_edge_first[contact + 1];
             e++) {
            uint32_t id = rig->point_edges[e];
            if (moves_along(rig->edges[id].kind) && !state->broken[id]) {
                visit(context, state->at[rig_other(&rig->edges[id], contact)], id);
            }
        }
    }
    if (point < rig->point_count) {
        for (uint32_t e = rig->point_edge_first[point]; e < rig->point_edge_first[point + 1]; e++) {
            uint32_t id = rig->point_edges[e];
            if (!moves_along(rig->edges[id].kind) && !state->broken[id]) {
                visit(context, rig_other(&rig->edges[id], point), id);
            }
        }
    }
    for (uint32_t i = 0; i < state->count; i++) {
        const Wrong *wrong = &state->wrongs[i];
        if (wrong->kind == WRONG_SHORT && (wrong->a == point || wrong->b == point)) {
            visit(context, wrong->a == point ? wrong->b : wrong->a, ID_NONE);
        }
    }
}

static void join_part(void *context, uint32_t point, uint32_t edge) {
    WrongRig *state = context;
    if (edge != ID_NONE && state->rig->edges[edge].kind == RIG_TERMINATOR) {
        return;
    }
    if (state->stamp[point] != state->round) {
        state->stamp[point] = state->round;
        state->part[point] = state->part_count;
        state->points[state->point_count++] = point;
    }
}

static void sweep_from(WrongRig *state, uint32_t point) {
    if (state->stamp[point] == state->round) {
        return;
    }
    CHECK(state->part_count < state->part_capacity);
    uint32_t head = state->point_count;
    join_part(state, point, ID_NONE);
    for (; head < state->point_count; head++) {
        wrong_neighbours(state, state->points[head], join_part, state);
    }
    state->part_first[++state->part_count] = state->point_count;
}

void wrong_parts(WrongRig *state) {
    const Rig *rig = state->rig;
    state->round++;
    state->point_count = 0;
    state->part_count = 0;
    for (uint32_t i = 0; i < state->count; i++) {
        const Wrong *wrong = &state->wrongs[i];
        switch (wrong->kind) {
        case WRONG_OPEN:
        case WRONG_HIGH:
        case WRONG_ABSENT: {
            const RigEdge *edge = &rig->edges[wrong->a];
            bool moves = moves_along(edge->kind);
            sweep_from(state, moves ? state->at[edge->a] : edge->a);
            sweep_from(state, moves ? state->at[edge->b] : edge->b);
            break;
        }
        case WRONG_OUT:
            sweep_from(state, wrong->a);
            sweep_from(state, state->at[wrong->a]);
            break;
        case WRONG_MOVE:
        case WRONG_SHORT:
            sweep_from(state, wrong->a);
            sweep_from(state, wrong->b);
            break;
        case WRONG_KIND_COUNT:
            break;
        }
    }
}

bool wrong_joined(const WrongRig *state, RigPointId a, RigPointId b) {
    bool swept_a = wrong_concerns(state, a);
    bool swept_b = wrong_concerns(state, b);
    if (swept_a && swept_b) {
        return state->part[a] == state->part[b];
    }
    if (swept_a || swept_b) {
        return false; /* a part is swept whole */
    }
    const RigPoint *points = state->rig->points;
    return a == b || (points[a].net != ID_NONE && points[a].net == points[b].net);
}

/* A way passes a terminator once at most: from a point that is reached to one that is not yet. So
 * many marks are kept as there are terminators to pass. */
bool wrong_conducts(const WrongRig *state, RigPointId a, RigPointId b) {
    enum { PASSED_MAX = 64 };
    uint32_t reached[PASSED_MAX + 1];
    uint32_t count = 0;
    reached[count++] = a;
    for (uint32_t head = 0; head < count; head++) {
        if (wrong_joined(state, reached[head], b)) {
            return true;
        }
        for (uint32_t i = 0; i < state->terminator_count && count <= PASSED_MAX; i++) {
            const RigEdge *edge = &state->rig->edges[state->terminators[i]];
            if (state->broken[state->terminators[i]]) {
                continue;
            }
            uint32_t ends[2] = {state->at[edge->a], state->at[edge->b]};
            for (int side = 0; side < 2; side++) {
                bool here = wrong_joined(state, reached[head], ends[side]);
                bool known = false;
                for (uint32_t k = 0; k < count && here && !known; k++) {
                    known = wrong_joined(state, reached[k], ends[1 - side]);
                }
                if (here && !known && count <= PASSED_MAX) {
                    reached[count++] = ends[1 - side];
                }
            }
        }
    }
    return false;
}

/* --- signs --------------------------------------------------------------------------------------
 */

static uint64_t mix(uint64_t hash, uint64_t value) {
    hash ^= value + 0x9e3779b97f4a7c15u + (hash << 6) + (hash >> 2);
    hash *= 0xff51afd7ed558ccdu;
    return hash ^ hash >> 33;
}

static int compare_points(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return a < b ? -1 : a > b ? 1 : 0;
}

/* The part as probes see it: its points in reach, sorted; 0 when it is as it was. */
static uint64_t part_hash(WrongRig *state, uint32_t part, uint64_t seed) {
    const Rig *rig = state->rig;
    uint32_t *first = &state->points[state->part_first[part]];
    uint32_t count = state->part_first[part + 1] - state->part_first[part];
    uint32_t seen = 0;
    uint32_t net = ID_NONE;
    bool mixed = false;
    uint64_t hash = seed;
    if (count > 1) {
        qsort(first, count, sizeof *first, compare_points);
    }
    for (uint32_t i = 0; i < count; i++) {
        if (first[i] >= rig->point_count || !rig->points[first[i]].reachable) {
            continue;
        }
        mixed = mixed || (seen > 0 && rig->points[first[i]].net != net);
        net = rig->points[first[i]].net;
        seen++;
        hash = mix(hash, first[i]);
    }
    bool same =
        !mixed && (seen == 0 || (net == ID_NONE ? seen == 1 : seen == state->reach_count[net]));
    return same ? 0 : hash;
}

/* Edges that no point in reach parts pass the same current: the lowest of them stands for all. */
static uint32_t series_of(const WrongRig *state, uint32_t edge) {
    const Rig *rig = state->rig;
    uint32_t lowest = edge;
    for (int side = 0; side < 2; side++) {
        uint32_t at = edge;
        RigPointId point = side == 0 ? rig->edges[edge].a : rig->edges[edge].b;
        for (uint32_t steps = 0; steps < rig->edge_count; steps++) {
            uint32_t first = rig->point_edge_first[point];
            if (rig->points[point].reachable || rig->point_edge_first[point + 1] - first != 2) {
                break;
            }
            at = rig->point_edges[first] == at ? rig->point_edges[first + 1]
                                               : rig->point_edges[first];
            lowest = at < lowest ? at : lowest;
            point = rig_other(&rig->edges[at], point);
        }
    }
    return lowest;
}

static void add_hash(WrongSign *sign, uint64_t hash) {
    sign->high += mix(0x5851f42d4c957f2du, hash); /* sums: the order of parts does not matter */
    sign->low ^= mix(0x14057b7ef767814fu, hash);
}

/* A broken edge that leaves its ends together lies in a loop: seen by ohms alone, if at all. */
static bool closes_loop(const WrongRig *state, uint32_t edge) {
    const RigEdge *row = &state->rig->edges[edge];
    bool moves = moves_along(row->kind);
    return wrong_joined(state, moves ? state->at[row->a] : row->a,
                        moves ? state->at[row->b] : row->b);
}

static void sign_loop(const WrongRig *state, uint32_t edge, uint64_t how, WrongSign *sign) {
    add_hash(sign, mix(how, series_of(state, edge)));
    sign->by_ohms = true;
}

/* Takes edges with too much resistance for broken ones, or puts them back; parts are swept anew.
 * Returns how many there are. Those that are broken already pass no current. */
static uint32_t part_highs(WrongRig *state, bool part, bool *taken) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < state->count; i++) {
        uint32_t edge = state->wrongs[i].a;
        if (part && state->wrongs[i].kind == WRONG_HIGH && !state->broken[edge]) {
            taken[i] = true;
            state->wrongs[i].kind = WRONG_OPEN;
            state->broken[edge] = true;
            count++;
        } else if (!part && taken[i]) {
            state->wrongs[i].kind = WRONG_HIGH;
            state->broken[edge] = false;
        }
    }
    if (count > 0 || !part) {
        wrong_parts(state);
    }
    return count;
}

static uint64_t sound_hash(WrongRig *state) {
    uint64_t sum = 0;
    for (uint32_t i = 0; i < state->part_count; i++) {
        sum += part_hash(state, i, 0x48494748u);
    }
    return sum;
}

/* What is left of the metal that is sound: the parts that would be there if all edges with too much
 * resistance were open. */
static void sign_highs(WrongRig *state, WrongSign *sign) {
    bool taken[WRONG_MOST] = {false};
    uint64_t before = sound_hash(state);
    if (part_highs(state, true, taken) == 0) {
        return;
    }
    uint64_t sound = sound_hash(state);
    for (uint32_t i = 0; i < state->count; i++) {
        if (taken[i] && closes_loop(state, state->wrongs[i].a)) {
            sign_loop(state, state->wrongs[i].a, 0x484c4f4fu, sign);
        }
    }
    if (sound != before) {
        add_hash(sign, mix(sound, 1));
        sign->seen = true;
    }
    part_highs(state, false, taken);
}

/* Of points in their order: those in reach; 0 when there are none. */
static uint64_t reach_hash(const Rig *rig, const uint32_t *points, uint32_t count) {
    uint64_t hash = 0x52454143u;
    bool any = false;
    for (uint32_t i = 0; i < count; i++) {
        if (points[i] < rig->point_count && rig->points[points[i]].reachable) {
            hash = mix(hash, points[i]);
            any = true;
        }
    }
    return any ? hash : 0;
}

/* What hangs together at a point, as probes see it: as planned, or as things are now. */
static uint64_t metal_hash(const WrongRig *state, uint32_t point, bool planned) {
    const Rig *rig = state->rig;
    if (!planned && wrong_concerns(state, point)) {
        uint32_t first = state->part_first[state->part[point]];
        uint32_t count = state->part_first[state->part[point] + 1] - first;
        if (count > 1) {
            qsort(&state->points[first], count, sizeof *state->points, compare_points);
        }
        return reach_hash(rig, &state->points[first], count);
    }
    uint32_t net = point < rig->point_count ? rig->points[point].net : ID_NONE;
    if (net == ID_NONE) {
        return reach_hash(rig, &point, 1);
    }
    uint32_t first = rig->net_point_first[net];
    return reach_hash(rig, &rig->net_points[first], rig->net_point_first[net + 1] - first);
}

/* A terminator as probes see it: the two pieces of metal that it is between. */
static uint64_t terminator_hash(const WrongRig *state, uint32_t edge, bool planned) {
    const RigEdge *row = &state->rig->edges[edge];
    if (!planned && state->broken[edge]) {
        return 0;
    }
    uint64_t a = metal_hash(state, planned ? row->a : state->at[row->a], planned);
    uint64_t b = metal_hash(state, planned ? row->b : state->at[row->b], planned);
    return a == 0 || b == 0 || a == b ? 0 : mix(a + b, (uint64_t)(1000.0 * row->ohm));
}

/* Two that lie between the same metal stand for each other: which of them is missing no reading
 * tells. */
static void sign_terminators(const WrongRig *state, WrongSign *sign) {
    for (uint32_t i = 0; i < state->terminator_count; i++) {
        uint64_t planned = terminator_hash(state, state->terminators[i], true);
        uint64_t now = terminator_hash(state, state->terminators[i], false);
        if (planned != now) {
            add_hash(sign, mix(planned, 0x4c4f5354u));
            add_hash(sign, mix(now, 0x5445524du));
            sign->seen = true;
        }
    }
}

WrongSign wrong_sign(WrongRig *state) {
    WrongSign sign = {0};
    for (uint32_t i = 0; i < state->part_count; i++) {
        uint64_t hash = part_hash(state, i, 0x50415254u);
        if (hash != 0) {
            add_hash(&sign, hash);
            sign.seen = true;
        }
    }
    for (uint32_t i = 0; i < state->count; i++) {
        if (state->wrongs[i].kind == WRONG_OPEN && closes_loop(state, state->wrongs[i].a)) {
            sign_loop(state, state->wrongs[i].a, 0x4c4f4f50u, &sign);
        }
    }
    sign_highs(state, &sign);
    sign_terminators(state, &sign);
    return sign;
}

/* --- ohms ---------------------------------------------------------------------------------------
 */

typedef struct Collect {
    const WrongRig *state;
    Arena *arena;
    uint32_t *number; /* by point: local number + 1 */
    uint32_t *order;
    uint32_t count;
    uint32_t from;
    double high_ohm;
    double unknown_ohm;
    OhmsEdge *edges;
    size_t edge_count;
    size_t edge_capacity;
} Collect;

static void collect(void *context, uint32_t point, uint32_t edge) {
    Collect *work = context;
    if (work->number[point] == 0) {
        work->order[work->count++] = point;
        work->number[point] = work->count;
    }
    /* Each edge is met from both its ends: kept from the one that was numbered first. */
    uint32_t a = work->number[work->from] - 1;
    uint32_t b = work->number[point] - 1;
    if (a >= b) {
        return;
    }
    double ohm = edge == ID_NONE ? 0.0 : work->state->rig->edges[edge].ohm;
    ohm = isnan(ohm) ? work->unknown_ohm : ohm;
    for (uint32_t i = 0; i < work->state->count && edge != ID_NONE; i++) {
        const Wrong *wrong = &work->state->wrongs[i];
        ohm += wrong->kind == WRONG_HIGH && wrong->a == edge ? work->high_ohm : 0.0;
    }
    *ARENA_PUSH(work->arena, work->edges, work->edge_count, work->edge_capacity) =
        (OhmsEdge){.a = a, .b = b, .ohm = ohm};
}

double wrong_ohm(const WrongRig *state, RigPointId a, RigPointId b, double high_ohm,
                 double unknown_ohm) {
    Arena scratch = {0};
    uint32_t points = 2 * state->rig->point_count;
    Collect work = {
        .state = state, .arena = &scratch, .high_ohm = high_ohm, .unknown_ohm = unknown_ohm};
    work.number = ARENA_ARRAY(&scratch, uint32_t, points);
    work.order = ARENA_ARRAY(&scratch, uint32_t, points);
    work.order[work.count++] = a;
    work.number[a] = 1;
    for (uint32_t head = 0; head < work.count; head++) {
        work.from = work.order[head];
        wrong_neighbours(state, work.from, collect, &work);
    }
    double ohm = work.number[b] == 0
                     ? (double)INFINITY
                     : ohms_between(work.count, work.edges, (uint32_t)work.edge_count, 0,
                                    work.number[b] - 1);
    arena_free(&scratch);
    for (int side = 0; side < 2; side++) {
        double contact_ohm = state->rig->points[side == 0 ? a : b].contact_ohm;
        ohm += isnan(contact_ohm) ? 0.0 : contact_ohm;
    }
    return ohm;
}

bool wrong_is_high(WrongRig *state, RigPointId a, RigPointId b) {
    bool taken[WRONG_MOST] = {false};
    if (part_highs(state, true, taken) == 0) {
        return false;
    }
    bool high = !wrong_joined(state, a, b);
    part_highs(state, false, taken);
    return high;
}
