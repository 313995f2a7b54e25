/* What readings say, and whether a harness with errors would have given them. Cheap comparisons
 * come first: what metal joins, then groups, then ohms where they decide, then lengths of ways. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "shop/diagnose_inner.h"

static const double HIGH_OHM = 10.0; /* any figure beyond all limits */

/* --- readings -----------------------------------------------------------------------------------
 */

/* What a pair would show. */
static Seen seen_now(WrongRig *state, const PairReading *pair) {
    bool concerned = wrong_concerns(state, pair->a);
    if (!wrong_joined(state, pair->a, pair->b)) {
        bool by_terminator = pair->terminated && wrong_conducts(state, pair->a, pair->b);
        return by_terminator ? SEEN_TERMINATOR : SEEN_OPEN;
    }
    if (!concerned || isinf(pair->limit_ohm)) {
        return SEEN_THROUGH;
    }
    /* Ohms are reckoned only where they decide: a loop, a joint gone bad, a longer way. */
    if (pair->value || pair->seen == SEEN_HIGH) {
        return wrong_ohm(state, pair->a, pair->b, HIGH_OHM, 0.0) > pair->limit_ohm ? SEEN_HIGH
                                                                                   : SEEN_THROUGH;
    }
    return wrong_is_high(state, pair->a, pair->b) ? SEEN_HIGH : SEEN_THROUGH;
}

/* Whether a chain with terminators would show what was read. */
static bool chain_fits(WrongRig *state, const PairReading *pair) {
    const double SHARE = 0.1; /* 60 from 40 and 120 is told with room to spare */
    const double ROOM_OHM = 2.0;
    double ohm = wrong_ohm(state, pair->a, pair->b, HIGH_OHM, 0.0);
    if (isinf(ohm) || isinf(pair->ohm)) {
        return isinf(ohm) && isinf(pair->ohm);
    }
    return isnan(ohm) || fabs(ohm - pair->ohm) <= SHARE * ohm + ROOM_OHM;
}

/* What is sound shows at most so many ohms, and at least: an allowance for four contacts either
 * way, and a share for wire. */
static double most_ohm(const Rig *rig, double ohm) {
    double joints_ohm = 4.0e-3 * model_limit(rig->model, RINGOUT_LIMIT_CONTACT);
    return model_limit(rig->model, RINGOUT_LIMIT_WIRE) * ohm + joints_ohm;
}

static double least_ohm(const Rig *rig, double ohm) {
    double joints_ohm = 4.0e-3 * model_limit(rig->model, RINGOUT_LIMIT_CONTACT);
    return ohm / model_limit(rig->model, RINGOUT_LIMIT_WIRE) - joints_ohm;
}

/* More was read than wires and contacts of that way show when they are sound. */
static bool is_more_than_sound(const WrongRig *state, const PairReading *pair) {
    double unknown_ohm = model_limit(state->rig->model, RINGOUT_LIMIT_SIGNAL);
    double ohm = wrong_ohm(state, pair->a, pair->b, 0.0, unknown_ohm);
    return pair->ohm > most_ohm(state->rig, ohm);
}

/* An edge with too much resistance hangs on the point, or with `touch` a place where metal touches:
 * how many ohms those are nobody knows. */
static bool has_loose_ohms(const WrongRig *state, RigPointId point, bool touch) {
    bool found = false;
    for (uint32_t i = 0; i < state->count && !found; i++) {
        const Wrong *wrong = &state->wrongs[i];
        if (wrong->kind == WRONG_HIGH) {
            const RigEdge *edge = &state->rig->edges[wrong->a];
            found = wrong_joined(state, state->at[edge->a], point) ||
                    wrong_joined(state, state->at[edge->b], point) ||
                    wrong_joined(state, edge->a, point) || wrong_joined(state, edge->b, point);
        } else if (wrong->kind == WRONG_SHORT && touch) {
            found = wrong_joined(state, wrong->a, point);
        }
    }
    return found;
}

/* Too many ohms, and no bad joint: a longer way must account for all of them. */
static bool high_fits(const WrongRig *state, const PairReading *pair) {
    return has_loose_ohms(state, pair->a, false) || !is_more_than_sound(state, pair);
}

/* Metal between points that are none by plan: few ohms are no way by a bad joint alone. */
static bool stray_fits(WrongRig *state, const PairReading *pair) {
    if (is_more_than_sound(state, pair)) {
        return has_loose_ohms(state, pair->a, true);
    }
    return !wrong_is_high(state, pair->a, pair->b);
}

/* Ohms decide, and they are dear to reckon. */
static bool is_by_ohms(const PairReading *pair) {
    return pair->value || pair->seen == SEEN_HIGH || (!pair->planned && pair->seen == SEEN_THROUGH);
}

static bool pair_fits(WrongRig *state, const PairReading *pair) {
    if (pair->chain) {
        return chain_fits(state, pair);
    }
    if (seen_now(state, pair) != pair->seen) {
        return false;
    }
    if (!pair->planned && pair->seen == SEEN_THROUGH) {
        return stray_fits(state, pair);
    }
    return pair->seen != SEEN_HIGH || high_fits(state, pair);
}

/* The step of the script between two points, of several the one with the least limit; NULL. */
static const RingStep *step_between(const Ringout *ringout, RigPointId a, RigPointId b) {
    const RingStep *found = NULL;
    for (uint32_t i = 0; i < ringout->step_count; i++) {
        const RingStep *step = &ringout->steps[i];
        bool between = (step->a == a && step->b == b) || (step->a == b && step->b == a);
        if (between &&
            (found == NULL || isnan(found->high_ohm) || step->high_ohm < found->high_ohm)) {
            found = step;
        }
    }
    return found;
}

/* Above this a reading between two points of one net is too high. */
static double pair_limit_ohm(const Rig *rig, RigPointId a, RigPointId b) {
    double ohm = ringout_ohm(rig, a, b, ID_NONE);
    return isnan(ohm) ? model_limit(rig->model, RINGOUT_LIMIT_SIGNAL) : most_ohm(rig, ohm);
}

static void take_pair(Diagnoser *work, const BenchReading *reading, PairReading *pair) {
    const Rig *rig = work->rig;
    *pair = (PairReading){.a = reading->a[0], .b = reading->b[0]};
    uint32_t net_a = diagnose_net(rig, pair->a);
    uint32_t net_b = diagnose_net(rig, pair->b);
    bool joined = pair->a == pair->b || (net_a != ID_NONE && net_a == net_b);
    bool chain = !joined && net_a != ID_NONE && net_b != ID_NONE &&
                 rig->net_group[net_a] == rig->net_group[net_b];
    pair->wide =
        (net_a != ID_NONE && work->bridged[net_a]) || (net_b != ID_NONE && work->bridged[net_b]);
    const RingStep *step = step_between(work->ringout, pair->a, pair->b);
    pair->chain = chain;
    pair->planned = joined;
    pair->terminated = work->terminated;
    pair->value = chain || (step != NULL && step->kind == RING_PARALLEL);
    pair->ohm = reading->open ? (double)INFINITY : reading->ohm;
    pair->limit_ohm = (double)INFINITY;
    bool resistor = pair->terminated && pair->ohm > DIAGNOSE_TERMINATOR_OHM;
    if (joined) {
        pair->limit_ohm = step != NULL && !isnan(step->high_ohm)
                              ? step->high_ohm
                              : pair_limit_ohm(rig, pair->a, pair->b);
        pair->seen = pair->ohm > DIAGNOSE_OPEN_OHM ? SEEN_OPEN
                     : resistor                    ? SEEN_TERMINATOR
                     : pair->ohm > pair->limit_ohm ? SEEN_HIGH
                                                   : SEEN_THROUGH;
    } else {
        double isolated_ohm = 1e6 * model_limit(rig->model, RINGOUT_LIMIT_ISOLATION);
        pair->seen = !(pair->ohm < isolated_ohm) ? SEEN_OPEN
                     : resistor                  ? SEEN_TERMINATOR
                                                 : SEEN_THROUGH;
    }
}

/* Nets that terminators join with this one by plan. */
static uint32_t group_of(const Rig *rig, uint32_t net) {
    return net == ID_NONE ? ID_NONE : rig->net_group[net];
}

static void index_point(Diagnoser *work, uint32_t *at, RigPointId point, uint32_t pair) {
    if (work->point_pairs == NULL) {
        at[point]++;
    } else {
        work->point_pairs[at[point]++] = pair;
    }
}

/* Points whose part decides a pair: its own, and of what terminators join those of all nets. */
static void index_pair(Diagnoser *work, uint32_t *at, uint32_t pair) {
    const Rig *rig = work->rig;
    RigPointId ends[2] = {work->pairs[pair].a, work->pairs[pair].b};
    uint32_t groups[2] = {group_of(rig, diagnose_net(rig, ends[0])),
                          group_of(rig, diagnose_net(rig, ends[1]))};
    for (int side = 0; side < 2; side++) {
        uint32_t group = groups[side];
        if (!work->pairs[pair].wide || group == ID_NONE) {
            index_point(work, at, ends[side], pair);
        }
        for (uint32_t net = 0; net < rig->net_count && work->pairs[pair].wide; net++) {
            bool counts = rig->net_group[net] == group && (side == 0 || groups[0] != group);
            for (uint32_t k = rig->net_point_first[net];
                 counts && k < rig->net_point_first[net + 1]; k++) {
                index_point(work, at, rig->net_points[k], pair);
            }
        }
    }
}

static void index_pairs(Diagnoser *work) {
    const Rig *rig = work->rig;
    uint32_t *first = ARENA_ARRAY(&work->scratch, uint32_t, (size_t)rig->point_count + 1);
    uint32_t *at = ARENA_ARRAY(&work->scratch, uint32_t, (size_t)rig->point_count + 1);
    for (uint32_t i = 0; i < work->pair_count; i++) {
        index_pair(work, at, i);
    }
    for (uint32_t i = 0; i < rig->point_count; i++) {
        first[i + 1] = first[i] + at[i];
        at[i] = first[i];
    }
    work->point_pairs = ARENA_ARRAY(&work->scratch, uint32_t, first[rig->point_count]);
    for (uint32_t i = 0; i < work->pair_count; i++) {
        index_pair(work, at, i);
    }
    work->point_pair_first = first;
}

static bool is_group(const BenchReading *reading) {
    return reading->a_count != 1 || reading->b_count != 1;
}

void diagnose_join(const Diagnoser *work, const uint32_t *points, uint32_t count,
                   uint64_t *through) {
    for (uint32_t w = 0; w < work->words; w++) {
        uint64_t a = 0;
        uint64_t b = 0;
        for (uint32_t i = 0; i < count; i++) {
            if (points[i] < work->rig->point_count) {
                a |= work->side[0][(size_t)points[i] * work->words + w];
                b |= work->side[1][(size_t)points[i] * work->words + w];
            }
        }
        through[w] |= a & b;
    }
}

const uint32_t *diagnose_part(const Diagnoser *work, const RigPointId *point, uint32_t *count) {
    const WrongRig *state = &work->state;
    if (wrong_concerns(state, *point)) {
        uint32_t part = state->part[*point];
        *count = state->part_first[part + 1] - state->part_first[part];
        return &state->points[state->part_first[part]];
    }
    uint32_t net = *point < work->rig->point_count ? diagnose_net(work->rig, *point) : ID_NONE;
    if (net == ID_NONE) {
        *count = 1;
        return point;
    }
    *count = work->rig->net_point_first[net + 1] - work->rig->net_point_first[net];
    return &work->rig->net_points[work->rig->net_point_first[net]];
}

static void sides_of(const Diagnoser *work, uint32_t point, uint32_t word, uint64_t *a,
                     uint64_t *b) {
    uint32_t count = 0;
    const uint32_t *points = diagnose_part(work, &point, &count);
    for (uint32_t i = 0; i < count; i++) {
        if (points[i] < work->rig->point_count) {
            *a |= work->side[0][(size_t)points[i] * work->words + word];
            *b |= work->side[1][(size_t)points[i] * work->words + word];
        }
    }
}

/* The tester sees a terminator as metal. */
static void join_by_terminators(const Diagnoser *work, uint64_t *through) {
    const Rig *rig = work->rig;
    for (uint32_t e = 0; e < rig->edge_count && work->terminated; e++) {
        if (rig->edges[e].kind != RIG_TERMINATOR || work->state.broken[e]) {
            continue;
        }
        for (uint32_t w = 0; w < work->words; w++) {
            uint64_t a = 0;
            uint64_t b = 0;
            sides_of(work, work->state.at[rig->edges[e].a], w, &a, &b);
            sides_of(work, work->state.at[rig->edges[e].b], w, &a, &b);
            through[w] |= a & b;
        }
    }
}

static void take_groups(Diagnoser *work, const BenchReading *readings, uint32_t count) {
    const Rig *rig = work->rig;
    for (uint32_t i = 0; i < count; i++) {
        work->group_count += is_group(&readings[i]);
    }
    work->words = (work->group_count + 63) / 64;
    size_t words = work->words;
    Arena *arena = &work->scratch;
    work->side[0] = ARENA_ARRAY(arena, uint64_t, words * rig->point_count);
    work->side[1] = ARENA_ARRAY(arena, uint64_t, words * rig->point_count);
    work->planned = ARENA_ARRAY(arena, uint64_t, words);
    work->through = ARENA_ARRAY(arena, uint64_t, words);
    work->now = ARENA_ARRAY(arena, uint64_t, words);
    work->group_reading = ARENA_ARRAY(arena, uint32_t, work->group_count);
    double isolated_ohm = 1e6 * model_limit(rig->model, RINGOUT_LIMIT_ISOLATION);
    uint32_t bit = 0;
    for (uint32_t i = 0; i < count; i++) {
        const BenchReading *reading = &readings[i];
        if (!is_group(reading)) {
            continue;
        }
        for (uint32_t k = 0; k < reading->a_count; k++) {
            diagnose_set_bit(&work->side[0][words * reading->a[k]], bit);
        }
        for (uint32_t k = 0; k < reading->b_count; k++) {
            diagnose_set_bit(&work->side[1][words * reading->b[k]], bit);
        }
        if (!reading->open && reading->ohm < isolated_ohm) {
            diagnose_set_bit(work->through, bit);
        }
        work->group_reading[bit++] = i;
    }
    for (uint32_t net = 0; net < rig->net_count && words > 0; net++) {
        uint32_t first = rig->net_point_first[net];
        diagnose_join(work, &rig->net_points[first], rig->net_point_first[net + 1] - first,
                      work->planned);
    }
    for (size_t w = 0; w < words; w++) {
        work->any_planned = work->any_planned || work->planned[w] != 0;
    }
}

static void add_wrong_row(Diagnoser *work, uint32_t row) {
    work->diagnosis->wrong_rows[work->diagnosis->wrong_count++] = row;
}

void diagnose_take(Diagnoser *work, const BenchReading *readings, uint32_t count) {
    take_groups(work, readings, count);
    work->pairs = ARENA_ARRAY(&work->scratch, PairReading, count);
    work->bad = ARENA_ARRAY(&work->scratch, uint32_t, count);
    work->stamp = ARENA_ARRAY(&work->scratch, uint32_t, count);
    work->diagnosis->wrong_rows = ARENA_ARRAY(work->out, uint32_t, count);
    uint32_t group = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (is_group(&readings[i])) {
            if (diagnose_get_bit(work->planned, group) != diagnose_get_bit(work->through, group)) {
                add_wrong_row(work, i);
            }
            group++;
            continue;
        }
        PairReading *pair = &work->pairs[work->pair_count];
        take_pair(work, &readings[i], pair);
        pair->bad = !pair_fits(&work->state, pair);
        if (pair->bad) {
            work->bad[work->bad_count++] = work->pair_count;
            add_wrong_row(work, i);
        }
        work->pair_count++;
    }
    index_pairs(work);
}

/* --- ways ---------------------------------------------------------------------------------------
 */

static void reach_point(void *context, uint32_t point, uint32_t edge) {
    Ways *ways = context;
    Diagnoser *work = ways->work;
    const RigEdge *row = edge == ID_NONE ? NULL : &work->rig->edges[edge];
    if (row != NULL && row->kind == RIG_TERMINATOR) {
        return;
    }
    for (uint32_t i = 0; i < work->state.count && ways->sound && edge != ID_NONE; i++) {
        if (work->state.wrongs[i].kind == WRONG_HIGH && work->state.wrongs[i].a == edge) {
            return;
        }
    }
    double step = !ways->by_ohms ? 1.0 : row == NULL || isnan(row->ohm) ? 0.0 : row->ohm;
    double far = ways->from == ID_NONE ? 0.0 : work->far[ways->from] + step;
    if (far <= ways->limit &&
        (work->way_stamp[point] != work->way_round || far < work->far[point])) {
        work->way_stamp[point] = work->way_round;
        work->back[point] = ways->from;
        work->back_edge[point] = edge;
        work->far[point] = far;
        *ARENA_PUSH(&work->scratch, work->queue, work->queue_count, work->queue_capacity) = point;
    }
}

double diagnose_spread(Ways *ways, RigPointId a, RigPointId b, bool any) {
    Diagnoser *work = ways->work;
    work->way_round++;
    work->queue_count = 0;
    ways->from = ID_NONE;
    reach_point(ways, a, ID_NONE);
    bool reached = a == b;
    for (size_t head = 0; head < work->queue_count && !(any && reached); head++) {
        ways->from = work->queue[head];
        wrong_neighbours(&work->state, ways->from, reach_point, ways);
        reached = work->way_stamp[b] == work->way_round;
    }
    return reached ? work->far[b] : (double)INFINITY;
}

/* --- comparing ----------------------------------------------------------------------------------
 */

/* Pairs first: few errors can touch one. */
static void prefer(Diagnoser *work, Mismatch *best, uint32_t pair) {
    if (work->off_count < DIAGNOSE_OFF_MAX) {
        work->off[work->off_count++] = pair;
    }
    const PairReading *now = &work->pairs[pair];
    const PairReading *held = best->any ? &work->pairs[best->pair] : NULL;
    /* What was read open or high lies on one way; what was read through may come from anywhere. */
    bool better = held == NULL || (held->value && !now->value) ||
                  (held->seen == SEEN_THROUGH && now->seen != SEEN_THROUGH && !now->value);
    if (better) {
        *best = (Mismatch){.any = true, .pair = pair};
    }
}

typedef enum Aspect {
    ASPECT_METAL,  /* of pairs that ohms do not decide: what is joined */
    ASPECT_OHMS,   /* of the others */
    ASPECT_LENGTH, /* of the former: a way that is longer than was read; the dearest */
    ASPECT_COUNT
} Aspect;

/* Within the limit was read, and that way is beyond it by more than sound wires and contacts
 * differ. Several ways together are no longer than one of them. */
static bool is_too_long(Diagnoser *work, const PairReading *pair) {
    Ways ways = {.work = work, .by_ohms = true, .limit = pair->limit_ohm};
    if (!isinf(diagnose_spread(&ways, pair->a, pair->b, true))) {
        return false;
    }
    double ohm = wrong_ohm(&work->state, pair->a, pair->b, 0.0, 0.0);
    return ohm > pair->limit_ohm && pair->ohm < least_ohm(work->rig, ohm);
}

static bool aspect_fits(Diagnoser *work, const PairReading *pair, Aspect aspect) {
    if (is_by_ohms(pair) != (aspect == ASPECT_OHMS)) {
        return true;
    }
    if (aspect == ASPECT_LENGTH) {
        return pair->seen != SEEN_THROUGH || !is_too_long(work, pair);
    }
    return pair_fits(&work->state, pair);
}

/* Pairs that the swept parts concern. With `any` the first that does not fit is enough. */
static void compare_pairs(Diagnoser *work, Aspect aspect, bool any, Mismatch *best) {
    WrongRig *state = &work->state;
    work->round++;
    /* Deciding about ohms sweeps parts anew, but the same ones in the same order. */
    uint32_t count = state->point_count;
    for (uint32_t i = 0; i < count && !(any && best->any); i++) {
        uint32_t point = state->points[i];
        if (point >= work->rig->point_count) {
            continue;
        }
        for (uint32_t e = work->point_pair_first[point]; e < work->point_pair_first[point + 1];
             e++) {
            uint32_t id = work->point_pairs[e];
            if (work->stamp[id] != work->round) {
                work->stamp[id] = work->round;
                if (!aspect_fits(work, &work->pairs[id], aspect)) {
                    prefer(work, best, id);
                }
            }
        }
    }
}

/* True when a pair that is not as planned is out of the swept parts: it stays as it is. */
static bool leaves_bad(const Diagnoser *work) {
    for (uint32_t i = 0; i < work->bad_count; i++) {
        const PairReading *pair = &work->pairs[work->bad[i]];
        if (!pair->wide && !wrong_concerns(&work->state, pair->a) &&
            !wrong_concerns(&work->state, pair->b)) {
            return true;
        }
    }
    return false;
}

/* Works out which groups would read through; the first that was read otherwise, or ID_NONE. */
static uint32_t compare_groups(Diagnoser *work) {
    const Rig *rig = work->rig;
    const WrongRig *state = &work->state;
    memcpy(work->now, work->planned, work->words * sizeof *work->now);
    if (state->point_count > 0) {
        memset(work->now, 0, work->words * sizeof *work->now);
        /* Nets that no error concerns join what they joined. */
        for (uint32_t net = 0; net < rig->net_count && work->any_planned; net++) {
            uint32_t first = rig->net_point_first[net];
            if (!wrong_concerns(state, rig->net_points[first])) {
                diagnose_join(work, &rig->net_points[first], rig->net_point_first[net + 1] - first,
                              work->now);
            }
        }
        for (uint32_t i = 0; i < state->part_count; i++) {
            diagnose_join(work, &state->points[state->part_first[i]],
                          state->part_first[i + 1] - state->part_first[i], work->now);
        }
    }
    join_by_terminators(work, work->now);
    for (uint32_t w = 0; w < work->words; w++) {
        uint64_t apart = work->now[w] ^ work->through[w];
        for (uint32_t k = 0; k < 64 && apart != 0; k++) {
            if (apart >> k & 1) {
                return 64 * w + k;
            }
        }
    }
    return ID_NONE;
}

/* Bad pairs that no swept part concerns are as they were. */
static void prefer_left(Diagnoser *work, Mismatch *best) {
    for (uint32_t i = 0; i < work->bad_count; i++) {
        if (work->stamp[work->bad[i]] != work->round) {
            prefer(work, best, work->bad[i]);
        }
    }
}

Mismatch diagnose_compare(Diagnoser *work) {
    WrongRig *state = &work->state;
    Mismatch best = {.pair = ID_NONE};
    bool last = state->count == work->limit; /* what does not fit is of no interest any more */
    work->off_count = 0;
    if (last && leaves_bad(work)) {
        return (Mismatch){.any = true, .pair = work->bad[0]};
    }
    compare_pairs(work, ASPECT_METAL, last, &best);
    /* Ohms are the dearest: when all must fit, after the groups. */
    uint32_t group = ID_NONE;
    if (last && !best.any && work->words > 0) {
        group = compare_groups(work);
    }
    if (!last || (!best.any && group == ID_NONE)) {
        compare_pairs(work, ASPECT_OHMS, last, &best);
        prefer_left(work, &best);
    }
    if (!last && !best.any && work->words > 0) {
        group = compare_groups(work);
    }
    if (!best.any && group == ID_NONE) {
        compare_pairs(work, ASPECT_LENGTH, last, &best);
    }
    return best.any ? best : (Mismatch){group != ID_NONE, ID_NONE, group};
}
