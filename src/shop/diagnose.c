/* Search by branching: a reading that the errors so far do not explain must be touched by one of
 * those still missing. If it was read open where metal joins its points, every way between them is
 * cut, so an error lies on the way that was found; if it was read through where nothing joins them,
 * an error lies at the part of either point, so at the smaller one. Only those are tried. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "shop/diagnose_inner.h"

/* --- candidates ---------------------------------------------------------------------------------
 */

typedef struct Candidates {
    Arena *arena;
    Wrong *wrongs;
    size_t count;
    size_t capacity;
    size_t enough; /* no more are kept: the list is of no interest; 0: all are */
} Candidates;

static void offer(Candidates *list, WrongKind kind, uint32_t a, uint32_t b) {
    bool turned = (kind == WRONG_MOVE || kind == WRONG_SHORT) && b < a;
    if (list->enough > 0 && list->count == list->enough) {
        return;
    }
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

/* What would break the shortest way from a to b, by edges; with `high`, the way of least ohms of
 * sound metal, and what would make it one of too many is offered as well. Returns how far it is;
 * infinite: there is none. */
static double offer_on_way(Diagnoser *work, Candidates *list, RigPointId a, RigPointId b,
                           bool high) {
    Ways ways = {.work = work, .by_ohms = high, .sound = high, .limit = (double)INFINITY};
    double far = diagnose_spread(&ways, a, b, false);
    for (uint32_t at = isinf(far) ? ID_NONE : b; at != ID_NONE; at = work->back[at]) {
        if (work->back_edge[at] != ID_NONE) {
            offer_edge(work, list, work->back_edge[at], WRONG_OPEN);
            if (high) {
                offer_edge(work, list, work->back_edge[at], WRONG_HIGH);
            }
        }
        offer_contact(work, list, at);
    }
    return far;
}

static void offer_part_by_value(Diagnoser *work, Candidates *list, RigPointId point) {
    const Rig *rig = work->rig;
    uint32_t count = 0;
    const uint32_t *points = diagnose_part(work, &point, &count);
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
    uint32_t count_a = 0;
    uint32_t count_b = 0;
    const uint32_t *a = diagnose_part(work, &pair->a, &count_a);
    const uint32_t *b = diagnose_part(work, &pair->b, &count_b);
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
        if (diagnose_get_bit(&work->side[side][(size_t)work->words * i], group) &&
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
        if (diagnose_get_bit(&work->side[0][(size_t)work->words * a], group)) {
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
    const uint32_t *points = diagnose_part(work, &point, &count);
    bool tied = false;
    for (uint32_t i = 0; i < count && !tied; i++) {
        tied = points[i] < work->rig->point_count &&
               diagnose_get_bit(&work->side[0][(size_t)work->words * points[i]], group);
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

static bool is_bridged(const Diagnoser *work, RigPointId point) {
    uint32_t net = diagnose_net(work->rig, point);
    return net != ID_NONE && work->bridged[net];
}

/* Two points of one net touch: nobody sees it until a contact of either is put elsewhere, when the
 * touch holds together what that parts. */
static bool is_hidden_touch(const Rig *rig, const Wrong *wrong) {
    return wrong->kind == WRONG_SHORT && diagnose_net(rig, wrong->a) != ID_NONE &&
           diagnose_net(rig, wrong->a) == diagnose_net(rig, wrong->b);
}

/* Where pairs were not as planned and errors account for them, an exchange in the parts of those
 * may leave all pairs as they were read and join a group: of the cavities there, any that touches
 * it. */
static void offer_group_moves(const Diagnoser *work, Candidates *list, uint32_t group) {
    const Rig *rig = work->rig;
    const WrongRig *state = &work->state;
    for (uint32_t i = 0; i < state->point_count; i++) {
        RigPointId point = state->points[i];
        if (point >= rig->point_count || rig->points[point].kind != RIG_CAVITY) {
            continue;
        }
        const RigPlug *plug = &rig->plugs[rig->points[point].plug];
        bool touches = touches_group(work, point, group);
        for (uint32_t k = 0; k < plug->face->ways; k++) {
            RigPointId other = plug->point_first + k;
            bool held = state->holds[point] != ID_NONE || state->holds[other] != ID_NONE;
            if (other != point && held && (touches || touches_group(work, other, group))) {
                offer(list, WRONG_MOVE, point, other);
            }
        }
    }
}

/* A group read through that nothing joins, while all pairs are as they should be: nets are whole,
 * so something joins them and parts none, or what it parts a touch holds together. One of those
 * missing is at a part of side A. When it is the last error, it alone must account for what is
 * left, and join nothing that was read open. */
static void offer_group_joiners(const Diagnoser *work, Candidates *list, uint32_t group) {
    bool last = work->state.count + 1 == work->limit;
    for (uint32_t i = 0; i < work->state.count; i++) {
        if (is_hidden_touch(work->rig, &work->state.wrongs[i])) {
            offer_moves(work, list, work->state.wrongs[i].a);
            offer_moves(work, list, work->state.wrongs[i].b);
        }
    }
    if (work->bad_count > 0) {
        offer_group_moves(work, list, group);
    }
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
        bool bridged = apart && (is_bridged(work, wrong->a) || is_bridged(work, wrong->b));
        bool held = !last && is_hidden_touch(work->rig, wrong);
        if (bridged || held ||
            (fits && ((apart && last) || touches_group(work, wrong->a, group) ||
                      touches_group(work, wrong->b, group)))) {
            offer(list, wrong->kind, wrong->a, wrong->b);
        }
    }
}

static void list_candidates(Diagnoser *work, const Mismatch *mismatch, Candidates *list) {
    if (mismatch->pair == ID_NONE) {
        if (diagnose_get_bit(work->through, mismatch->group)) {
            offer_group_joiners(work, list, mismatch->group);
        } else {
            offer_breaking_group(work, list, mismatch->group);
        }
        return;
    }
    const PairReading *pair = &work->pairs[mismatch->pair];
    bool joined = wrong_joined(&work->state, pair->a, pair->b);
    bool apart = pair->seen == SEEN_OPEN || pair->seen == SEEN_TERMINATOR;
    bool by_value = pair->chain || (pair->value && pair->seen != SEEN_OPEN);
    if (!by_value && apart && joined) {
        offer_on_way(work, list, pair->a, pair->b, false);
    } else if (!by_value && !apart && !joined) {
        offer_joining(work, list, pair);
    } else if (!by_value && pair->seen == SEEN_HIGH &&
               offer_on_way(work, list, pair->a, pair->b, true) <= pair->limit_ohm) {
        /* In truth every way of so few ohms is bad or cut, so also the one found. */
    } else { /* by ohms, or by way of terminators: anything there */
        offer_by_value(work, list, pair);
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

/* Every mismatch is touched by an error that is missing: that with the fewest candidates will do.
 */
static Candidates list_fewest(Diagnoser *work, Arena *arena, const Mismatch *mismatch) {
    Candidates fewest = {.arena = arena};
    uint32_t off[DIAGNOSE_OFF_MAX];
    uint32_t count = work->off_count;
    memcpy(off, work->off, sizeof off);
    list_candidates(work, mismatch, &fewest);
    for (uint32_t i = 0; i < count; i++) {
        Candidates list = {.arena = arena, .enough = fewest.count};
        list_candidates(work, &(Mismatch){.any = true, .pair = off[i]}, &list);
        if (list.count < fewest.count) {
            fewest = list;
        }
    }
    return fewest;
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
    Candidates list = list_fewest(work, &arena, &mismatch);
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

/* Nets that a terminator hangs on. */
static void mark_bridged(Diagnoser *work) {
    const Rig *rig = work->rig;
    work->bridged = ARENA_ARRAY(&work->scratch, bool, rig->net_count);
    for (uint32_t i = 0; i < work->state.terminator_count; i++) {
        const RigEdge *edge = &rig->edges[work->state.terminators[i]];
        work->bridged[diagnose_net(rig, edge->a)] = true;
        work->bridged[diagnose_net(rig, edge->b)] = true;
    }
}

static void list_joiners(Diagnoser *work) {
    const Rig *rig = work->rig;
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
            diagnose_join(work, &work->state.points[work->state.part_first[k]],
                          work->state.part_first[k + 1] - work->state.part_first[k],
                          &work->joiner_through[(size_t)i * work->words]);
        }
        wrong_undo(&work->state);
    }
    wrong_parts(&work->state);
}

/* --- what one error hides -----------------------------------------------------------------------
 */

/* What is planted now beside one that explains all: kept when all readings still fit. */
static void keep_if_fitting(Diagnoser *work) {
    wrong_parts(&work->state);
    if (!diagnose_compare(work).any) {
        keep(work);
    }
}

/* Sets of two of which one alone explains all readings: the search never reaches them, since it
 * stops when nothing is left to explain. Each error is tried beside those that explain all alone,
 * before and behind them where they are in one plug (contacts put about twice). */
static void list_hidden(Diagnoser *work, uint32_t singles) {
    for (uint32_t c = 0; c < singles; c++) {
        /* The classes move when more are kept. */
        uint32_t members = work->diagnosis->classes[c].member_count;
        for (uint32_t m = 0; m < members; m++) {
            Wrong known = work->diagnosis->classes[c].members[m].wrongs[0];
            for (uint32_t i = 0; i < work->list.count; i++) {
                Wrong other = work->list.wrongs[i];
                if (compare_wrongs(&other, &known) == 0) {
                    continue;
                }
                bool moves = known.kind == WRONG_MOVE || other.kind == WRONG_MOVE;
                for (int order = 0; order < (moves ? 2 : 1); order++) {
                    wrong_add(&work->state, order == 0 ? known : other);
                    wrong_add(&work->state, order == 0 ? other : known);
                    keep_if_fitting(work);
                    wrong_undo(&work->state);
                    wrong_undo(&work->state);
                }
            }
        }
    }
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
    work.far = ARENA_ARRAY(&work.scratch, double, points);
    for (uint32_t i = 0; i < rig->edge_count; i++) {
        work.terminated = work.terminated || rig->edges[i].kind == RIG_TERMINATOR;
    }
    mark_bridged(&work);
    diagnose_take(&work, readings, count);
    diagnosis->good = diagnosis->wrong_count == 0;
    if (!diagnosis->good) {
        list_joiners(&work);
        uint32_t singles = 0;
        while ((diagnosis->class_count == 0 || thorough) && work.limit < DIAGNOSE_ERRORS_MAX) {
            work.limit++;
            wrong_parts(&work.state);
            search(&work);
            if (work.limit == 1) {
                singles = (uint32_t)work.class_count;
            }
            diagnosis->class_count = (uint32_t)work.class_count;
        }
        if (thorough && singles > 0 && singles <= DIAGNOSE_HIDING_MAX) {
            list_hidden(&work, singles);
            diagnosis->class_count = (uint32_t)work.class_count;
        }
        diagnose_rank(&work);
        diagnosis->errors = diagnosis->class_count > 0 ? diagnosis->classes[0].errors : 0;
        diagnose_next(&work);
    }
    arena_free(&work.scratch);
}
