/* Ranks, and the next best reading: of many that could part the classes the one from which most
 * information is expected, the classes weighted by how likely they are. Proposed are readings that
 * the classes themselves suggest (two points that only this one joins, or parts) and groups of them
 * tied together, which halve many classes at a time. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "shop/diagnose_inner.h"

enum {
    ASKED_MAX = 200,   /* classes that propose readings */
    COMPARED_MAX = 400 /* classes that a proposal is tried on */
};

/* Of many classes: the likeliest, and as many spread evenly over the others. */
static uint32_t sample(uint32_t index, uint32_t most, uint32_t count) {
    uint32_t half = most / 2;
    if (count <= most || index < half) {
        return index;
    }
    return half + (uint32_t)((uint64_t)(index - half) * (count - half) / (most - half));
}

static int compare_classes(const void *left, const void *right) {
    const DiagnosisClass *a = left;
    const DiagnosisClass *b = right;
    if (a->errors != b->errors) {
        return a->errors < b->errors ? -1 : 1;
    }
    if (a->weight != b->weight) {
        return a->weight > b->weight ? -1 : 1;
    }
    const Wrong *x = a->members[0].wrongs;
    const Wrong *y = b->members[0].wrongs;
    for (int i = 0; i < DIAGNOSE_ERRORS_MAX; i++) {
        const uint32_t keys[3][2] = {
            {(uint32_t)x[i].kind, (uint32_t)y[i].kind}, {x[i].a, y[i].a}, {x[i].b, y[i].b}};
        for (int k = 0; k < 3; k++) {
            if (keys[k][0] != keys[k][1]) {
                return keys[k][0] < keys[k][1] ? -1 : 1;
            }
        }
    }
    return 0;
}

void diagnose_rank(Diagnoser *work) {
    Diagnosis *diagnosis = work->diagnosis;
    if (diagnosis->class_count > 1) {
        qsort(diagnosis->classes, diagnosis->class_count, sizeof *diagnosis->classes,
              compare_classes);
    }
}

/* --- proposals ----------------------------------------------------------------------------------
 */

typedef struct Proposal {
    RigPointId *a;
    RigPointId *b;
    uint32_t count[2];
} Proposal;

typedef struct Pair {
    RigPointId a;
    RigPointId b;
} Pair;

typedef struct Proposer {
    Diagnoser *work;
    Arena scratch;
    Proposal *proposals;
    size_t count;
    size_t capacity;
    Pair *joins; /* pairs that some class joins and the plan does not */
    size_t join_count;
    size_t join_capacity;
} Proposer;

static void propose(Proposer *proposer, const RigPointId *a, uint32_t a_count, const RigPointId *b,
                    uint32_t b_count) {
    Proposal *proposal =
        ARENA_PUSH(&proposer->scratch, proposer->proposals, proposer->count, proposer->capacity);
    proposal->a = ARENA_ARRAY(&proposer->scratch, RigPointId, a_count);
    proposal->b = ARENA_ARRAY(&proposer->scratch, RigPointId, b_count);
    memcpy(proposal->a, a, a_count * sizeof *a);
    memcpy(proposal->b, b, b_count * sizeof *b);
    proposal->count[0] = a_count;
    proposal->count[1] = b_count;
}

static void enter_class(Diagnoser *work, const DiagnosisClass *class) {
    for (uint32_t i = 0; i < class->errors; i++) {
        wrong_add(&work->state, class->members[0].wrongs[i]);
    }
    wrong_parts(&work->state);
}

static void leave_class(Diagnoser *work) {
    while (work->state.count > 0) {
        wrong_undo(&work->state);
    }
}

/* In each swept part the first point in reach, and the first of another net: joined by this class
 * alone. And for each net that is parted a point here against one there. */
static void propose_by_parts(Proposer *proposer) {
    Diagnoser *work = proposer->work;
    const Rig *rig = work->rig;
    const WrongRig *state = &work->state;
    RigPointId lead[4 * WRONG_MOST + 1];
    uint32_t leads = 0;
    for (uint32_t part = 0; part < state->part_count; part++) {
        RigPointId first = ID_NONE;
        bool mixed = false;
        for (uint32_t i = state->part_first[part]; i < state->part_first[part + 1]; i++) {
            RigPointId point = state->points[i];
            if (point >= rig->point_count || !rig->points[point].reachable) {
                continue;
            }
            if (first == ID_NONE) {
                first = point;
            } else if (!mixed && (rig->points[point].net != rig->points[first].net ||
                                  rig->points[point].net == ID_NONE)) {
                mixed = true;
                propose(proposer, &first, 1, &point, 1);
                /* An empty cavity on side B, else the higher number: so pairs of one net agree. */
                bool turned = rig->points[point].net == ID_NONE
                                  ? false
                                  : rig->points[first].net == ID_NONE || point < first;
                *ARENA_PUSH(&proposer->scratch, proposer->joins, proposer->join_count,
                            proposer->join_capacity) =
                    turned ? (Pair){point, first} : (Pair){first, point};
            }
        }
        if (first != ID_NONE) {
            lead[leads++] = first;
        }
    }
    for (uint32_t i = 0; i < leads; i++) {
        uint32_t net = rig->points[lead[i]].net;
        for (uint32_t k = net == ID_NONE ? 0 : rig->net_point_first[net];
             net != ID_NONE && k < rig->net_point_first[net + 1]; k++) {
            RigPointId other = rig->net_points[k];
            if (rig->points[other].reachable && !wrong_joined(state, lead[i], other)) {
                propose(proposer, &lead[i], 1, &other, 1);
                break;
            }
        }
    }
}

/* For an edge with too much resistance: a point in reach on either side of it. */
static void propose_across(Proposer *proposer, uint32_t index) {
    WrongRig *state = &proposer->work->state;
    uint32_t edge = state->wrongs[index].a;
    state->wrongs[index].kind = WRONG_OPEN;
    state->broken[edge] = true;
    wrong_parts(state);
    propose_by_parts(proposer);
    state->wrongs[index].kind = WRONG_HIGH;
    state->broken[edge] = false;
    wrong_parts(state);
}

static void add_side(RigPointId *side, uint32_t *count, RigPointId point) {
    for (uint32_t i = 0; i < *count; i++) {
        if (side[i] == point) {
            return;
        }
    }
    if (*count < DIAGNOSE_SIDE_MAX) {
        side[(*count)++] = point;
    }
}

/* By metal, or by terminators, which a reading of tied points passes as well. */
static bool are_joined_by_plan(const Rig *rig, RigPointId a, RigPointId b) {
    uint32_t net_a = rig->points[a].net;
    uint32_t net_b = rig->points[b].net;
    return a == b ||
           (net_a != ID_NONE && net_b != ID_NONE && rig->net_group[net_a] == rig->net_group[net_b]);
}

/* Every `step`-th run of joins from `first` on tied together. A point on both sides would make the
 * reading say nothing: its pair is left out. */
static void propose_group(Proposer *proposer, size_t first, size_t end, size_t step) {
    RigPointId a[DIAGNOSE_SIDE_MAX];
    RigPointId b[DIAGNOSE_SIDE_MAX];
    uint32_t a_count = 0;
    uint32_t b_count = 0;
    const Rig *rig = proposer->work->rig;
    for (size_t i = first; i < end; i += step) {
        const Pair *pair = &proposer->joins[i];
        bool clash = false;
        for (uint32_t k = 0; k < b_count && !clash; k++) {
            clash = are_joined_by_plan(rig, b[k], pair->a);
        }
        for (uint32_t k = 0; k < a_count && !clash; k++) {
            clash = are_joined_by_plan(rig, a[k], pair->b);
        }
        if (!clash) {
            add_side(a, &a_count, pair->a);
            add_side(b, &b_count, pair->b);
        }
    }
    if (a_count + b_count > 2) {
        propose(proposer, a, a_count, b, b_count);
    }
}

static int compare_joins(const void *left, const void *right) {
    const Pair *x = left;
    const Pair *y = right;
    if (x->a != y->a) {
        return x->a < y->a ? -1 : 1;
    }
    return x->b < y->b ? -1 : x->b > y->b ? 1 : 0;
}

/* Of points that many classes join with another one each: half of those others tied together. */
static void propose_halves(Proposer *proposer) {
    size_t kept = 0;
    if (proposer->join_count > 1) {
        qsort(proposer->joins, proposer->join_count, sizeof *proposer->joins, compare_joins);
    }
    for (size_t i = 0; i < proposer->join_count; i++) {
        if (i == 0 || compare_joins(&proposer->joins[i], &proposer->joins[i - 1]) != 0) {
            proposer->joins[kept++] = proposer->joins[i];
        }
    }
    proposer->join_count = kept;
    for (size_t i = 0, end = 0; i < kept; i = end) {
        for (end = i; end < kept && proposer->joins[end].a == proposer->joins[i].a; end++) {
        }
        if (end - i > 2) {
            propose_group(proposer, i, i + (end - i) / 2, 1);
            propose_group(proposer, i, i + (end - i) / 4, 1);
            propose_group(proposer, i, end, 1);
        }
    }
}

static void collect_proposals(Proposer *proposer) {
    Diagnoser *work = proposer->work;
    const Diagnosis *diagnosis = work->diagnosis;
    for (uint32_t i = 0; i < diagnosis->class_count && i < ASKED_MAX; i++) {
        enter_class(work, &diagnosis->classes[sample(i, ASKED_MAX, diagnosis->class_count)]);
        propose_by_parts(proposer);
        for (uint32_t k = 0; k < work->state.count; k++) {
            if (work->state.wrongs[k].kind == WRONG_HIGH) {
                propose_across(proposer, k);
            }
        }
        leave_class(work);
    }
    propose_halves(proposer);
    size_t joins = proposer->join_count;
    propose_group(proposer, 0, joins / 2, 1);
    propose_group(proposer, joins / 2, joins, 1);
    propose_group(proposer, 0, joins / 4, 1);
    propose_group(proposer, 0, joins, 2);
    propose_group(proposer, 1, joins, 2);
    propose_group(proposer, 0, joins, 4);
}

/* --- choice -------------------------------------------------------------------------------------
 */

/* 0 open, 1 through, 2 through with too many ohms, or by a terminator alone. */
static uint32_t outcome(WrongRig *state, const Proposal *proposal, bool terminated) {
    bool through = false;
    for (uint32_t i = 0; i < proposal->count[0] && !through; i++) {
        for (uint32_t k = 0; k < proposal->count[1] && !through; k++) {
            through = wrong_joined(state, proposal->a[i], proposal->b[k]);
        }
    }
    if (through && proposal->count[0] == 1 && proposal->count[1] == 1) {
        return wrong_is_high(state, proposal->a[0], proposal->b[0]) ? 2 : 1;
    }
    if (!through && terminated && proposal->count[0] == 1 && proposal->count[1] == 1) {
        return wrong_conducts(state, proposal->a[0], proposal->b[0]) ? 2 : 0;
    }
    return through || (terminated && diagnose_terminated(state, proposal->a, proposal->count[0],
                                                         proposal->b, proposal->count[1]));
}

static double information_bits(const double *weight) {
    double sum = weight[0] + weight[1] + weight[2];
    double bits = 0.0;
    for (int i = 0; i < 3; i++) {
        if (weight[i] > 0.0) {
            bits -= weight[i] / sum * log2(weight[i] / sum);
        }
    }
    return bits;
}

/* Two classes that no proposal parts: any two points that one joins and the other does not. */
static void propose_between(Proposer *proposer, const DiagnosisClass *one,
                            const DiagnosisClass *two) {
    Diagnoser *work = proposer->work;
    const Rig *rig = work->rig;
    const DiagnosisClass *classes[2] = {one, two};
    RigPointId *points = NULL;
    size_t count = 0;
    size_t capacity = 0;
    uint32_t *part[2];
    for (int c = 0; c < 2; c++) {
        enter_class(work, classes[c]);
        for (uint32_t i = 0; i < work->state.point_count; i++) {
            RigPointId point = work->state.points[i];
            if (point < rig->point_count && rig->points[point].reachable) {
                *ARENA_PUSH(&proposer->scratch, points, count, capacity) = point;
            }
        }
        leave_class(work);
    }
    /* What each point hangs together with, as the first of these points. */
    for (int c = 0; c < 2; c++) {
        enter_class(work, classes[c]);
        part[c] = ARENA_ARRAY(&proposer->scratch, uint32_t, count);
        for (size_t i = 0; i < count; i++) {
            part[c][i] = (uint32_t)i;
            for (uint32_t k = 0; k < i; k++) {
                if (wrong_joined(&work->state, points[k], points[i])) {
                    part[c][i] = k;
                    break;
                }
            }
        }
        leave_class(work);
    }
    for (size_t i = 0; i < count; i++) {
        if (part[0][i] != part[1][i]) {
            uint32_t other = part[0][i] == i ? part[1][i] : part[0][i];
            propose(proposer, &points[other], 1, &points[i], 1);
            if (part[0][i] != i && part[1][i] != i) {
                propose(proposer, &points[part[1][i]], 1, &points[i], 1);
            }
            return;
        }
    }
}

/* Between these two points a reading was taken already: to take it again tells nothing. */
static bool is_taken(const Diagnoser *work, RigPointId a, RigPointId b) {
    for (uint32_t e = work->point_pair_first[a]; e < work->point_pair_first[a + 1]; e++) {
        const PairReading *pair = &work->pairs[work->point_pairs[e]];
        if ((pair->a == a && pair->b == b) || (pair->a == b && pair->b == a)) {
            return true;
        }
    }
    return false;
}

static void choose(Proposer *proposer) {
    Diagnoser *work = proposer->work;
    Diagnosis *diagnosis = work->diagnosis;
    double(*weights)[3] = arena_take(&proposer->scratch, proposer->count, sizeof *weights);
    for (uint32_t i = 0; i < diagnosis->class_count && i < COMPARED_MAX; i++) {
        const DiagnosisClass *class =
            &diagnosis->classes[sample(i, COMPARED_MAX, diagnosis->class_count)];
        enter_class(work, class);
        for (size_t k = 0; k < proposer->count; k++) {
            uint32_t seen = outcome(&work->state, &proposer->proposals[k], work->terminated);
            weights[k][seen] += class->weight;
        }
        leave_class(work);
    }
    size_t best = SIZE_MAX;
    const double GROUP_SHARE = 0.9; /* of its bits: a group must tell more than a pair */
    const double LEAST_BITS = 1e-6; /* less is not worth a reading */
    for (size_t k = 0; k < proposer->count; k++) {
        const Proposal *proposal = &proposer->proposals[k];
        bool pair = proposal->count[0] == 1 && proposal->count[1] == 1;
        if (pair && is_taken(work, proposal->a[0], proposal->b[0])) {
            continue;
        }
        double bits = information_bits(weights[k]) * (pair ? 1.0 : GROUP_SHARE);
        if (bits > LEAST_BITS && bits > diagnosis->next_bits + 1e-9) {
            diagnosis->next_bits = bits;
            best = k;
        }
    }
    if (best == SIZE_MAX) {
        return;
    }
    const Proposal *chosen = &proposer->proposals[best];
    RigPointId *sides[2];
    for (int side = 0; side < 2; side++) {
        sides[side] = ARENA_ARRAY(work->out, RigPointId, chosen->count[side]);
        memcpy(sides[side], side == 0 ? chosen->a : chosen->b,
               chosen->count[side] * sizeof *chosen->a);
        diagnosis->next_count[side] = chosen->count[side];
    }
    diagnosis->next_a = sides[0];
    diagnosis->next_b = sides[1];
}

void diagnose_next(Diagnoser *work) {
    Diagnosis *diagnosis = work->diagnosis;
    if (diagnosis->class_count < 2) {
        return;
    }
    Proposer proposer = {.work = work};
    collect_proposals(&proposer);
    choose(&proposer);
    if (diagnosis->next_count[0] == 0) {
        propose_between(&proposer, &diagnosis->classes[0], &diagnosis->classes[1]);
        choose(&proposer);
    }
    arena_free(&proposer.scratch);
}
