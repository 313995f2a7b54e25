/* Search by branching: a reading that the errors so far do not explain must be touched by one of
 * those still missing. If it was read open where metal joins its points, every way between them is
 * cut, so an error lies on the way that was found; if it was read through where nothing joins them,
 * an error lies at the part of either point, so at the smaller one. Only those are tried. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
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

/* The most that sound wires and contacts of so many ohms may show. */
static double most_ohm(const Rig *rig, double ohm) {
    double joints_ohm = 4.0e-3 * model_limit(rig->model, RINGOUT_LIMIT_CONTACT);
    return model_limit(rig->model, RINGOUT_LIMIT_WIRE) * ohm + joints_ohm;
}

/* An edge with too much resistance, of an amount that nobody knows, hangs on the points. */
static bool has_bad_edge(const WrongRig *state, RigPointId point) {
    bool found = false;
    for (uint32_t i = 0; i < state->count && !found; i++) {
        if (state->wrongs[i].kind == WRONG_HIGH) {
            const RigEdge *edge = &state->rig->edges[state->wrongs[i].a];
            found = wrong_joined(state, state->at[edge->a], point) ||
                    wrong_joined(state, state->at[edge->b], point) ||
                    wrong_joined(state, edge->a, point) || wrong_joined(state, edge->b, point);
        }
    }
    return found;
}

/* Too many ohms, and no bad joint: a longer way must account for all of them. */
static bool length_fits(const WrongRig *state, const PairReading *pair) {
    double unknown_ohm = model_limit(state->rig->model, RINGOUT_LIMIT_SIGNAL);
    return has_bad_edge(state, pair->a) ||
           pair->ohm <=
               most_ohm(state->rig, wrong_ohm(state, pair->a, pair->b, HIGH_OHM, unknown_ohm));
}

static bool pair_fits(WrongRig *state, const PairReading *pair) {
    if (pair->chain) {
        return chain_fits(state, pair);
    }
    return seen_now(state, pair) == pair->seen &&
           (pair->seen != SEEN_HIGH || length_fits(state, pair));
}

static uint32_t net_of(const Rig *rig, RigPointId point) {
    return rig->points[point].net;
}

/* The step of the script between two points; its step or ID_NONE. */
static const RingStep *step_between(const Ringout *ringout, RigPointId a, RigPointId b) {
    for (uint32_t i = 0; i < ringout->step_count; i++) {
        const RingStep *step = &ringout->steps[i];
        if ((step->a == a && step->b == b) || (step->a == b && step->b == a)) {
            return step;
        }
    }
    return NULL;
}

/* Above this a reading between two points of one net is too high. */
static double pair_limit_ohm(const Rig *rig, RigPointId a, RigPointId b) {
    double ohm = ringout_ohm(rig, a, b, ID_NONE);
    return isnan(ohm) ? model_limit(rig->model, RINGOUT_LIMIT_SIGNAL) : most_ohm(rig, ohm);
}

static void take_pair(Diagnoser *work, const BenchReading *reading, PairReading *pair) {
    const Rig *rig = work->rig;
    *pair = (PairReading){.a = reading->a[0], .b = reading->b[0]};
    uint32_t net_a = net_of(rig, pair->a);
    uint32_t net_b = net_of(rig, pair->b);
    bool joined = pair->a == pair->b || (net_a != ID_NONE && net_a == net_b);
    bool chain = !joined && net_a != ID_NONE && net_b != ID_NONE &&
                 rig->net_group[net_a] == rig->net_group[net_b];
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

/* Calls for the points whose part decides a pair. Of a chain those of all its nets. */
static void index_pairs(Diagnoser *work) {
    const Rig *rig = work->rig;
    uint32_t *first = ARENA_ARRAY(&work->scratch, uint32_t, (size_t)rig->point_count + 1);
    uint32_t *at = ARENA_ARRAY(&work->scratch, uint32_t, (size_t)rig->point_count + 1);
    for (int sweep = 0; sweep < 2; sweep++) {
        for (uint32_t i = 0; i < work->pair_count; i++) {
            const PairReading *pair = &work->pairs[i];
            RigPointId ends[2] = {pair->a, pair->b};
            for (int side = 0; side < 2; side++) {
                uint32_t net = net_of(rig, ends[side]);
                uint32_t from = pair->chain ? rig->net_point_first[net] : 0;
                uint32_t end = pair->chain ? rig->net_point_first[net + 1] : 1;
                for (uint32_t k = from; k < end; k++) {
                    RigPointId point = pair->chain ? rig->net_points[k] : ends[side];
                    if (sweep == 0) {
                        first[point + 1]++;
                    } else {
                        work->point_pairs[at[point]++] = i;
                    }
                }
            }
        }
        if (sweep == 0) {
            for (uint32_t i = 0; i < rig->point_count; i++) {
                first[i + 1] += first[i];
                at[i + 1] = first[i + 1];
            }
            work->point_pairs = ARENA_ARRAY(&work->scratch, uint32_t, first[rig->point_count]);
        }
    }
    work->point_pair_first = first;
}

static bool is_group(const BenchReading *reading) {
    return reading->a_count != 1 || reading->b_count != 1;
}

static void set_bit(uint64_t *words, uint32_t bit) {
    words[bit / 64] |= (uint64_t)1 << bit % 64;
}

static bool get_bit(const uint64_t *words, uint32_t bit) {
    return words[bit / 64] >> bit % 64 & 1;
}

/* Which groups the points of a part join: both sides in it. */
static void join_groups(const Diagnoser *work, const uint32_t *points, uint32_t count,
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

/* The points that one hangs together with now. */
static const uint32_t *part_of(const Diagnoser *work, const RigPointId *point, uint32_t *count);

static void sides_of(const Diagnoser *work, uint32_t point, uint32_t word, uint64_t *a,
                     uint64_t *b) {
    uint32_t count = 0;
    const uint32_t *points = part_of(work, &point, &count);
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
            set_bit(&work->side[0][words * reading->a[k]], bit);
        }
        for (uint32_t k = 0; k < reading->b_count; k++) {
            set_bit(&work->side[1][words * reading->b[k]], bit);
        }
        if (!reading->open && reading->ohm < isolated_ohm) {
            set_bit(work->through, bit);
        }
        work->group_reading[bit++] = i;
    }
    for (uint32_t net = 0; net < rig->net_count && words > 0; net++) {
        uint32_t first = rig->net_point_first[net];
        join_groups(work, &rig->net_points[first], rig->net_point_first[net + 1] - first,
                    work->planned);
    }
    for (size_t w = 0; w < words; w++) {
        work->any_planned = work->any_planned || work->planned[w] != 0;
    }
}

static void add_wrong_row(Diagnoser *work, uint32_t row) {
    work->diagnosis->wrong_rows[work->diagnosis->wrong_count++] = row;
}

static void take_readings(Diagnoser *work, const BenchReading *readings, uint32_t count) {
    take_groups(work, readings, count);
    work->pairs = ARENA_ARRAY(&work->scratch, PairReading, count);
    work->bad = ARENA_ARRAY(&work->scratch, uint32_t, count);
    work->stamp = ARENA_ARRAY(&work->scratch, uint32_t, count);
    work->diagnosis->wrong_rows = ARENA_ARRAY(work->out, uint32_t, count);
    uint32_t group = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (is_group(&readings[i])) {
            if (get_bit(work->planned, group) != get_bit(work->through, group)) {
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

/* --- comparing ----------------------------------------------------------------------------------
 */

/* Pairs first: few errors can touch one. */
static void prefer(const Diagnoser *work, Mismatch *best, uint32_t pair) {
    const PairReading *now = &work->pairs[pair];
    const PairReading *held = best->any ? &work->pairs[best->pair] : NULL;
    /* What was read open or high lies on one way; what was read through may come from anywhere. */
    bool better = held == NULL || (held->value && !now->value) ||
                  (held->seen == SEEN_THROUGH && now->seen != SEEN_THROUGH && !now->value);
    if (better) {
        *best = (Mismatch){.any = true, .pair = pair};
    }
}

/* Pairs that the swept parts concern; with `ohms` those that ohms decide, else the others. With
 * `any` the first that does not fit is enough. */
static void compare_pairs(Diagnoser *work, bool ohms, bool any, Mismatch *best) {
    WrongRig *state = &work->state;
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
            const PairReading *pair = &work->pairs[id];
            bool by_ohms = pair->value || pair->seen == SEEN_HIGH;
            if (by_ohms == ohms && work->stamp[id] != work->round) {
                work->stamp[id] = work->round;
                if (!pair_fits(state, pair)) {
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
        if (!pair->chain && !wrong_concerns(&work->state, pair->a) &&
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
                join_groups(work, &rig->net_points[first], rig->net_point_first[net + 1] - first,
                            work->now);
            }
        }
        for (uint32_t i = 0; i < state->part_count; i++) {
            join_groups(work, &state->points[state->part_first[i]],
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

Mismatch diagnose_compare(Diagnoser *work) {
    WrongRig *state = &work->state;
    Mismatch best = {.pair = ID_NONE};
    bool last = state->count == work->limit; /* what does not fit is of no interest any more */
    work->round++;
    if (last && leaves_bad(work)) {
        return (Mismatch){.any = true, .pair = work->bad[0]};
    }
    compare_pairs(work, false, last, &best);
    /* Ohms are the dearest: when all must fit, after the groups. */
    uint32_t group = ID_NONE;
    if (last && !best.any && work->words > 0) {
        group = compare_groups(work);
    }
    if (!last || (!best.any && group == ID_NONE)) {
        compare_pairs(work, true, last, &best);
        for (uint32_t i = 0; i < work->bad_count; i++) {
            if (work->stamp[work->bad[i]] != work->round) {
                prefer(work, &best, work->bad[i]);
            }
        }
    }
    if (!last && !best.any && work->words > 0) {
        group = compare_groups(work);
    }
    return best.any ? best : (Mismatch){group != ID_NONE, ID_NONE, group};
}

/* --- candidates ---------------------------------------------------------------------------------
 */

typedef struct Candidates {
    Arena *arena;
    Wrong *wrongs;
    size_t count;
    size_t capacity;
} Candidates;

static void offer(Candidates *list, WrongKind kind, uint32_t a, uint32_t b) {
    bool turned = (kind == WRONG_MOVE || kind == WRONG_SHORT) && b < a;
    *ARENA_PUSH(list->arena, list->wrongs, list->count, list->capacity) =
        (Wrong){kind, turned ? b : a, turned ? a : b};
}

/* Cavities of one plug that the contact of `point` could be in, or whose contact could be here. */
static void offer_moves(const Diagnoser *work, Candidates *list, RigPointId point) {
    const Rig *rig = work->rig;
    const RigPoint *row = &rig->points[point];
    if (row->kind != RIG_CAVITY) {
        return;
    }
    const RigPlug *plug = &rig->plugs[row->plug];
    for (uint32_t k = 0; k < plug->face->ways; k++) {
        RigPointId other = plug->point_first + k;
        if (other != point &&
            (work->state.holds[point] != ID_NONE || work->state.holds[other] != ID_NONE)) {
            offer(list, WRONG_MOVE, point, other);
        }
    }
}

static void offer_shorts(const Diagnoser *work, Candidates *list, RigPointId point) {
    const Rig *rig = work->rig;
    const RigPoint *row = &rig->points[point];
    RigPointId structure = name_map_find(&rig->point_by_name, "structure");
    if (row->kind == RIG_CAVITY && row->filled) {
        const RigPlug *plug = &rig->plugs[row->plug];
        for (uint32_t e = plug->face->near_first[row->cavity];
             e < plug->face->near_first[row->cavity + 1]; e++) {
            RigPointId other = plug->point_first + plug->face->near[e];
            if (rig->points[other].filled) {
                offer(list, WRONG_SHORT, point, other);
            }
        }
        if (plug->shell != ID_NONE) {
            offer(list, WRONG_SHORT, point, plug->shell);
        }
    }
    if (row->kind == RIG_SHELL) {
        const RigPlug *plug = &rig->plugs[row->plug];
        for (uint32_t k = 0; k < plug->face->ways; k++) {
            if (rig->points[plug->point_first + k].filled) {
                offer(list, WRONG_SHORT, plug->point_first + k, point);
            }
        }
    }
    if (structure == NAME_NONE) {
        return;
    }
    if (point == structure) {
        for (uint32_t i = 0; i < rig->net_count; i++) {
            if (i != row->net) {
                offer(list, WRONG_SHORT, rig->net_points[rig->net_point_first[i]], structure);
            }
        }
    } else if (row->net != ID_NONE && row->net != rig->points[structure].net &&
               rig->net_points[rig->net_point_first[row->net]] == point) {
        offer(list, WRONG_SHORT, point, structure);
    }
}

static void offer_contact(const Diagnoser *work, Candidates *list, uint32_t point) {
    if (point >= work->rig->point_count) {
        return;
    }
    uint32_t contact = work->state.holds[point];
    if (work->rig->points[point].kind == RIG_CAVITY) {
        if (contact != ID_NONE && work->rig->points[contact].kind == RIG_CAVITY) {
            offer(list, WRONG_OUT, contact, ID_NONE);
        }
        offer_moves(work, list, point);
    }
}

static void offer_edge(const Diagnoser *work, Candidates *list, uint32_t edge, WrongKind kind) {
    RigEdgeKind row = work->rig->edges[edge].kind;
    if (row == RIG_WIRE || row == RIG_SCREEN || row == RIG_BOND) {
        offer(list, kind, edge, ID_NONE);
    }
}

typedef struct Search {
    Diagnoser *work;
    bool sound; /* edges with too much resistance are passed by */
    uint32_t *queue;
    uint32_t tail;
    uint32_t from;
} Search;

static void reach_point(void *context, uint32_t point, uint32_t edge) {
    Search *search = context;
    Diagnoser *work = search->work;
    if (edge != ID_NONE && work->rig->edges[edge].kind == RIG_TERMINATOR) {
        return;
    }
    for (uint32_t i = 0; i < work->state.count && search->sound && edge != ID_NONE; i++) {
        if (work->state.wrongs[i].kind == WRONG_HIGH && work->state.wrongs[i].a == edge) {
            return;
        }
    }
    if (work->way_stamp[point] != work->way_round) {
        work->way_stamp[point] = work->way_round;
        work->back[point] = search->from;
        work->back_edge[point] = edge;
        search->queue[search->tail++] = point;
    }
}

/* What would break a way from a to b; with `high`, the way is one of sound metal, and what would
 * make it one of too many ohms is offered as well. */
static void offer_on_way(Diagnoser *work, Candidates *list, RigPointId a, RigPointId b, bool high) {
    Arena scratch = {0};
    Search search = {.work = work, .sound = high, .from = ID_NONE};
    search.queue = ARENA_ARRAY(&scratch, uint32_t, 2 * (size_t)work->rig->point_count);
    work->way_round++;
    reach_point(&search, a, ID_NONE);
    for (uint32_t head = 0; head < search.tail && work->way_stamp[b] != work->way_round; head++) {
        search.from = search.queue[head];
        wrong_neighbours(&work->state, search.from, reach_point, &search);
    }
    if (work->way_stamp[b] == work->way_round) {
        for (uint32_t at = b; at != ID_NONE; at = work->back[at]) {
            if (work->back_edge[at] != ID_NONE) {
                offer_edge(work, list, work->back_edge[at], WRONG_OPEN);
                if (high) {
                    offer_edge(work, list, work->back_edge[at], WRONG_HIGH);
                }
            }
            offer_contact(work, list, at);
        }
    }
    arena_free(&scratch);
}

static const uint32_t *part_of(const Diagnoser *work, const RigPointId *point, uint32_t *count) {
    const WrongRig *state = &work->state;
    if (wrong_concerns(state, *point)) {
        uint32_t part = state->part[*point];
        *count = state->part_first[part + 1] - state->part_first[part];
        return &state->points[state->part_first[part]];
    }
    uint32_t net = *point < work->rig->point_count ? net_of(work->rig, *point) : ID_NONE;
    if (net == ID_NONE) {
        *count = 1;
        return point;
    }
    *count = work->rig->net_point_first[net + 1] - work->rig->net_point_first[net];
    return &work->rig->net_points[work->rig->net_point_first[net]];
}

static void offer_part_by_value(Diagnoser *work, Candidates *list, RigPointId point) {
    const Rig *rig = work->rig;
    uint32_t count = 0;
    const uint32_t *points = part_of(work, &point, &count);
    for (uint32_t i = 0; i < count; i++) {
        if (points[i] >= rig->point_count) {
            continue;
        }
        offer_shorts(work, list, points[i]);
        offer_contact(work, list, points[i]);
        uint32_t contact = work->state.holds[points[i]];
        contact = contact == ID_NONE ? points[i] : contact;
        for (uint32_t e = rig->point_edge_first[contact]; e < rig->point_edge_first[contact + 1];
             e++) {
            uint32_t edge = rig->point_edges[e];
            offer_edge(work, list, edge, WRONG_OPEN);
            offer_edge(work, list, edge, WRONG_HIGH);
            if (rig->edges[edge].kind == RIG_TERMINATOR) {
                offer(list, WRONG_ABSENT, edge, ID_NONE);
            }
        }
    }
}

/* Where ohms decide: everything at the parts of both ends, and at those beyond terminators. */
static void offer_by_value(Diagnoser *work, Candidates *list, const PairReading *pair) {
    const WrongRig *state = &work->state;
    offer_part_by_value(work, list, pair->a);
    offer_part_by_value(work, list, pair->b);
    for (uint32_t i = 0; i < state->terminator_count; i++) {
        const RigEdge *edge = &work->rig->edges[state->terminators[i]];
        const RigPointId ends[2] = {state->at[edge->a], state->at[edge->b]};
        for (int side = 0; side < 2; side++) {
            RigPointId end = ends[side];
            bool beyond =
                !wrong_joined(state, end, pair->a) && !wrong_joined(state, end, pair->b) &&
                (wrong_conducts(state, end, pair->a) || wrong_conducts(state, end, pair->b));
            if (beyond) {
                offer_part_by_value(work, list, end);
            }
        }
    }
}

/* What would join the parts of both: at the smaller one. */
static void offer_joining(Diagnoser *work, Candidates *list, const PairReading *pair) {
    if (work->terminated && pair->a != pair->b) { /* the way may lead through terminators */
        offer_by_value(work, list, pair);
    }
    uint32_t count_a = 0;
    uint32_t count_b = 0;
    const uint32_t *a = part_of(work, &pair->a, &count_a);
    const uint32_t *b = part_of(work, &pair->b, &count_b);
    const uint32_t *points = count_a <= count_b ? a : b;
    uint32_t count = count_a <= count_b ? count_a : count_b;
    for (uint32_t i = 0; i < count; i++) {
        if (points[i] < work->rig->point_count) {
            offer_shorts(work, list, points[i]);
            offer_moves(work, list, points[i]);
        }
    }
}

/* A point of that side that metal joins with `onto`; ID_NONE. */
static RigPointId tied_point(const Diagnoser *work, int side, uint32_t group, uint32_t onto) {
    for (RigPointId i = 0; i < work->rig->point_count; i++) {
        if (get_bit(&work->side[side][(size_t)work->words * i], group) &&
            wrong_joined(&work->state, i, onto)) {
            return i;
        }
    }
    return ID_NONE;
}

/* A group read open that metal joins, a point of each side in one part; or a terminator. */
static void offer_breaking_group(Diagnoser *work, Candidates *list, uint32_t group) {
    const Rig *rig = work->rig;
    for (RigPointId a = 0; a < rig->point_count; a++) {
        if (get_bit(&work->side[0][(size_t)work->words * a], group)) {
            RigPointId b = tied_point(work, 1, group, a);
            if (b != ID_NONE) {
                offer_on_way(work, list, a, b, false);
                return;
            }
        }
    }
    for (uint32_t i = 0; i < work->state.terminator_count; i++) {
        uint32_t edge = work->state.terminators[i];
        uint32_t ends[2] = {work->state.at[rig->edges[edge].a], work->state.at[rig->edges[edge].b]};
        for (int turned = 0; turned < 2 && !work->state.broken[edge]; turned++) {
            RigPointId a = tied_point(work, 0, group, ends[turned]);
            RigPointId b = tied_point(work, 1, group, ends[1 - turned]);
            if (a != ID_NONE && b != ID_NONE) {
                offer(list, WRONG_ABSENT, edge, ID_NONE);
                offer_on_way(work, list, a, ends[turned], false);
                offer_on_way(work, list, ends[1 - turned], b, false);
                return;
            }
        }
    }
}

static bool part_is_tied(const Diagnoser *work, uint32_t point, uint32_t group) {
    uint32_t count = 0;
    const uint32_t *points = part_of(work, &point, &count);
    bool tied = false;
    for (uint32_t i = 0; i < count && !tied; i++) {
        tied = points[i] < work->rig->point_count &&
               get_bit(&work->side[0][(size_t)work->words * points[i]], group);
    }
    return tied;
}

/* True when a point is in a part that is tied to side A of the group, itself or by a terminator. */
static bool touches_group(const Diagnoser *work, uint32_t point, uint32_t group) {
    const WrongRig *state = &work->state;
    bool touches = part_is_tied(work, point, group);
    for (uint32_t i = 0; i < state->terminator_count && !touches; i++) {
        const RigEdge *edge = &work->rig->edges[state->terminators[i]];
        uint32_t ends[2] = {state->at[edge->a], state->at[edge->b]};
        for (int side = 0; side < 2 && !state->broken[state->terminators[i]]; side++) {
            touches = touches || (wrong_joined(state, point, ends[side]) &&
                                  part_is_tied(work, ends[1 - side], group));
        }
    }
    return touches;
}

/* A group read through that nothing joins, while all pairs are as they should be: nets are whole,
 * so something joins them and parts none. One of those missing is at a part of side A. When it is
 * the last error, it alone must account for what is left, and join nothing that was read open. */
static void offer_group_joiners(const Diagnoser *work, Candidates *list, uint32_t group) {
    bool last = work->state.count + 1 == work->limit;
    for (uint32_t i = 0; i < work->joiner_count; i++) {
        const Wrong *wrong = &work->list.wrongs[work->joiners[i]];
        bool apart =
            !wrong_concerns(&work->state, wrong->a) && !wrong_concerns(&work->state, wrong->b);
        const uint64_t *joins = &work->joiner_through[(size_t)i * work->words];
        bool fits = true;
        for (uint32_t w = 0; w < work->words && fits && apart && last; w++) {
            uint64_t left = work->through[w] & ~work->now[w];
            fits = (joins[w] & ~work->through[w]) == 0 && (left & ~joins[w]) == 0;
        }
        /* By way of a terminator the sides meet beyond the parts that touch. */
        bool bridged = apart && (work->bridged[wrong->a] || work->bridged[wrong->b]);
        if (bridged || (fits && ((apart && last) || touches_group(work, wrong->a, group) ||
                                 touches_group(work, wrong->b, group)))) {
            offer(list, wrong->kind, wrong->a, wrong->b);
        }
    }
}

static void list_candidates(Diagnoser *work, const Mismatch *mismatch, Candidates *list) {
    if (mismatch->pair == ID_NONE) {
        if (get_bit(work->through, mismatch->group)) {
            offer_group_joiners(work, list, mismatch->group);
        } else {
            offer_breaking_group(work, list, mismatch->group);
        }
        return;
    }
    const PairReading *pair = &work->pairs[mismatch->pair];
    if (pair->chain || (pair->value && pair->seen != SEEN_OPEN)) {
        offer_by_value(work, list, pair);
    } else if (pair->seen == SEEN_OPEN || pair->seen == SEEN_TERMINATOR) {
        bool joined = wrong_joined(&work->state, pair->a, pair->b);
        if (joined) {
            offer_on_way(work, list, pair->a, pair->b, false);
        } else {
            offer_by_value(work, list, pair);
        }
    } else if (!wrong_joined(&work->state, pair->a, pair->b)) {
        offer_joining(work, list, pair);
    } else if (pair->seen == SEEN_HIGH) {
        if (work->state.count > 0 && seen_now(&work->state, pair) == SEEN_HIGH) {
            /* A longer way accounts for a part of it: what is missing is at any loop of it. */
            offer_by_value(work, list, pair);
        } else {
            /* In truth every way is bad or cut, so also this one. */
            offer_on_way(work, list, pair->a, pair->b, true);
        }
    }
}

/* --- classes ------------------------------------------------------------------------------------
 */

static int compare_wrongs(const void *left, const void *right) {
    const Wrong *a = left;
    const Wrong *b = right;
    if (a->kind != b->kind) {
        return a->kind < b->kind ? -1 : 1;
    }
    if (a->a != b->a) {
        return a->a < b->a ? -1 : 1;
    }
    return a->b < b->b ? -1 : a->b > b->b ? 1 : 0;
}

/* The class of that sign, made when it is new; NULL when there are too many. */
static DiagnosisClass *class_of(Diagnoser *work, WrongSign sign) {
    if (work->slot_count < 2 * work->class_count + 2) {
        work->slot_count = work->slot_count == 0 ? 256 : 4 * work->slot_count;
        work->slots = ARENA_ARRAY(&work->scratch, uint32_t, work->slot_count);
        for (uint32_t i = 0; i < work->class_count; i++) {
            uint64_t at = work->diagnosis->classes[i].sign.low % work->slot_count;
            while (work->slots[at] != 0) {
                at = (at + 1) % work->slot_count;
            }
            work->slots[at] = i + 1;
        }
    }
    uint64_t at = sign.low % work->slot_count;
    for (; work->slots[at] != 0; at = (at + 1) % work->slot_count) {
        DiagnosisClass *held = &work->diagnosis->classes[work->slots[at] - 1];
        if (wrong_sign_equal(held->sign, sign)) {
            return held;
        }
    }
    if (work->class_count == DIAGNOSE_CLASSES_MAX) {
        work->diagnosis->cut_off = true;
        return NULL;
    }
    DiagnosisClass *made =
        ARENA_PUSH(work->out, work->diagnosis->classes, work->class_count, work->class_capacity);
    *made = (DiagnosisClass){.sign = sign, .errors = work->state.count};
    work->slots[at] = (uint32_t)work->class_count;
    return made;
}

/* Words of how likely one kind of error is against another: common practice, no source. */
static double kind_weight(const Rig *rig, Wrong wrong) {
    switch (wrong.kind) {
    case WRONG_OPEN:
        return 2.0;
    case WRONG_OUT:
        return 3.0;
    case WRONG_MOVE: /* two exchanged, or one in an empty cavity */
        return rig->points[wrong.a].filled && rig->points[wrong.b].filled ? 3.0 : 1.5;
    case WRONG_SHORT:
        return 1.0;
    case WRONG_HIGH:
    case WRONG_ABSENT:
        return 2.0;
    case WRONG_KIND_COUNT:
        break;
    }
    return 0.0;
}

static void keep(Diagnoser *work) {
    DiagnosisClass *found = class_of(work, wrong_sign(&work->state));
    if (found == NULL || found->errors < work->state.count) {
        return;
    }
    DiagnosisMember member = {0};
    uint32_t count = work->state.count;
    memcpy(member.wrongs, work->state.wrongs, count * sizeof *member.wrongs);
    /* In the order in which they were made: exchanges of one cavity do not commute. */
    for (uint32_t i = 0; i < found->member_count; i++) {
        const Wrong *held = found->members[i].wrongs;
        bool same = true;
        bool turned = true;
        for (uint32_t k = 0; k < count; k++) {
            same = same && compare_wrongs(&member.wrongs[k], &held[k]) == 0;
            turned = turned && compare_wrongs(&member.wrongs[k], &held[count - 1 - k]) == 0;
        }
        if (same || turned) {
            return;
        }
    }
    double weight = work->weight_sum;
    for (uint32_t k = 0; k < count; k++) {
        weight *= kind_weight(work->rig, member.wrongs[k]) / work->weight_sum;
    }
    if (found->member_count == DIAGNOSE_MEMBERS_MAX) {
        found->more++; /* some may be counted twice */
        return;
    }
    found->weight += weight;
    size_t members = found->member_count;
    *ARENA_PUSH(work->out, found->members, members, found->member_capacity) = member;
    found->member_count = (uint32_t)members;
}

/* --- search -------------------------------------------------------------------------------------
 */

static bool repeats(const WrongRig *state, Wrong wrong) {
    for (uint32_t i = 0; i < state->count; i++) {
        if (compare_wrongs(&state->wrongs[i], &wrong) == 0) {
            return true;
        }
    }
    return false;
}

/* Depth is bounded by DIAGNOSE_ERRORS_MAX. */
// NOLINTNEXTLINE(misc-no-recursion)
static void search(Diagnoser *work) {
    if (work->diagnosis->tried == DIAGNOSE_TRIED_MAX) {
        work->diagnosis->cut_off = true;
        return;
    }
    Mismatch mismatch = diagnose_compare(work);
    work->diagnosis->tried++;
    if (!mismatch.any) {
        if (work->state.count == work->limit) {
            keep(work);
        }
        return;
    }
    if (work->state.count == work->limit) {
        return;
    }
    Arena arena = {0};
    Candidates list = {.arena = &arena};
    list_candidates(work, &mismatch, &list);
    if (list.count > 1) {
        qsort(list.wrongs, list.count, sizeof *list.wrongs, compare_wrongs);
    }
    for (size_t i = 0; i < list.count; i++) {
        if ((i > 0 && compare_wrongs(&list.wrongs[i], &list.wrongs[i - 1]) == 0) ||
            repeats(&work->state, list.wrongs[i])) {
            continue;
        }
        wrong_add(&work->state, list.wrongs[i]);
        wrong_parts(&work->state);
        search(work);
        wrong_undo(&work->state);
    }
    arena_free(&arena);
}

/* How a net takes it when the contact of a cavity is out. */
typedef struct Loss {
    bool whole;  /* no two of its points in reach come apart */
    bool looped; /* contact and cavity still hang together: what comes between them is bridged */
} Loss;

static Loss loss_of(Diagnoser *work, RigPointId point) {
    const Rig *rig = work->rig;
    if (!rig->points[point].filled) {
        return (Loss){.whole = true};
    }
    wrong_add(&work->state, (Wrong){WRONG_OUT, point, ID_NONE});
    wrong_parts(&work->state);
    uint32_t parts = 0; /* of that net with a point in reach */
    for (uint32_t i = 0; i < work->state.part_count; i++) {
        bool reached = false;
        for (uint32_t k = work->state.part_first[i]; k < work->state.part_first[i + 1]; k++) {
            uint32_t at = work->state.points[k];
            reached = reached || (at < rig->point_count && rig->points[at].reachable);
        }
        parts += reached;
    }
    bool looped = wrong_joined(&work->state, point, rig->point_count + point);
    wrong_undo(&work->state);
    return (Loss){.whole = parts <= 1, .looped = looped};
}

/* Exchanges that leave nets whole: of what hangs dead, or where a loop bridges. */
static bool is_joiner(const Loss *loss, const Wrong *wrong) {
    if (wrong->kind != WRONG_MOVE) {
        return wrong->kind == WRONG_SHORT;
    }
    return (loss[wrong->a].whole && loss[wrong->b].whole) || loss[wrong->a].looped ||
           loss[wrong->b].looped;
}

/* Points whose net a terminator hangs on. */
static void mark_bridged(Diagnoser *work) {
    const Rig *rig = work->rig;
    work->bridged = ARENA_ARRAY(&work->scratch, bool, rig->point_count);
    for (uint32_t i = 0; i < work->state.terminator_count; i++) {
        const RigEdge *edge = &rig->edges[work->state.terminators[i]];
        const uint32_t nets[2] = {net_of(rig, edge->a), net_of(rig, edge->b)};
        for (int side = 0; side < 2; side++) {
            for (uint32_t k = rig->net_point_first[nets[side]];
                 k < rig->net_point_first[nets[side] + 1]; k++) {
                work->bridged[rig->net_points[k]] = true;
            }
        }
    }
}

static void list_joiners(Diagnoser *work) {
    const Rig *rig = work->rig;
    mark_bridged(work);
    wrong_list(&work->scratch, rig, &work->list);
    work->joiners = ARENA_ARRAY(&work->scratch, uint32_t, work->list.count);
    Loss *loss = ARENA_ARRAY(&work->scratch, Loss, rig->point_count);
    for (uint32_t i = 0; i < rig->point_count; i++) {
        if (rig->points[i].kind == RIG_CAVITY) {
            loss[i] = loss_of(work, i);
        }
    }
    for (uint32_t i = 0; i < work->list.count; i++) {
        const Wrong *wrong = &work->list.wrongs[i];
        work->weight_sum += kind_weight(rig, *wrong);
        if (is_joiner(loss, wrong)) {
            work->joiners[work->joiner_count++] = i;
        }
    }
    work->joiner_through =
        ARENA_ARRAY(&work->scratch, uint64_t, (size_t)work->joiner_count * work->words);
    for (uint32_t i = 0; i < work->joiner_count && work->words > 0; i++) {
        wrong_add(&work->state, work->list.wrongs[work->joiners[i]]);
        wrong_parts(&work->state);
        for (uint32_t k = 0; k < work->state.part_count; k++) {
            join_groups(work, &work->state.points[work->state.part_first[k]],
                        work->state.part_first[k + 1] - work->state.part_first[k],
                        &work->joiner_through[(size_t)i * work->words]);
        }
        wrong_undo(&work->state);
    }
    wrong_parts(&work->state);
}

/* --- exported -----------------------------------------------------------------------------------
 */

void diagnose_run(Arena *out, const Rig *rig, const Ringout *ringout, const BenchReading *readings,
                  uint32_t count, bool thorough, Diagnosis *diagnosis) {
    *diagnosis = (Diagnosis){0};
    Diagnoser work = {.out = out, .rig = rig, .ringout = ringout, .diagnosis = diagnosis};
    size_t points = 2 * (size_t)rig->point_count;
    wrong_start(&work.scratch, rig, &work.state);
    wrong_parts(&work.state);
    work.back = ARENA_ARRAY(&work.scratch, uint32_t, points);
    work.back_edge = ARENA_ARRAY(&work.scratch, uint32_t, points);
    work.way_stamp = ARENA_ARRAY(&work.scratch, uint32_t, points);
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        work.terminated = work.terminated || rig->edges[i].kind == RIG_TERMINATOR;
    }
    take_readings(&work, readings, count);
    diagnosis->good = diagnosis->wrong_count == 0;
    if (!diagnosis->good) {
        list_joiners(&work);
        while ((diagnosis->class_count == 0 || thorough) && work.limit < DIAGNOSE_ERRORS_MAX) {
            work.limit++;
            wrong_parts(&work.state);
            search(&work);
            diagnosis->class_count = (uint32_t)work.class_count;
        }
        diagnose_rank(&work);
        diagnosis->errors = diagnosis->class_count > 0 ? diagnosis->classes[0].errors : 0;
        diagnose_next(&work);
    }
    arena_free(&work.scratch);
}
