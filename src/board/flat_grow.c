/* Growing a tree on its trunk arm by arm: each arm in the form and direction that has room and
 * stays out of the crowd. One that finds no place pushes the lightest others out of theirs, with
 * all that hangs on them; what had to go often grows heavier. Slower to a good picture than shapes,
 * but no subtree is too large for it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"
#include "board/flat_shape.h"

#define LEAN_STEP_DEG 15.0
#define LEAN_MOST_DEG 150.0 /* off the heading with which the arm before arrives */
#define LEANS_MOST 64u
#define FINE_LEAST 9u /* more arms at a node: half steps are no dearer */
#define OPTIONS_MOST (FLAT_STEMS_MOST * LEANS_MOST)
#define LEAST_APART_DEG 3.9 /* between two that leave one node */
#define SAME_DEG 0.5        /* directions nearer than this have no order */
#define COST_PER_DEG (1.0 / 15.0)
#define COST_OFF_GRID 1.5
#define COST_CROWD 30.0 /* ground all covered around the end of what carries others */
#define COST_WHIM 1.5   /* and each time an arm had to move more of it */
#define WHIM_MOST 8u
#define CELL_MM 150.0 /* of the ground's cover */
#define PUSH_OPTIONS 160u
#define PUSHED_MOST 8u
#define TRIES_OWN_SIDE 2u /* failures after which an arm may go to the other side */
#define TRIES_MOST 24u    /* and after which growing is given up */
#define STALL_TRIALS 45u  /* for each arm, without fewer left over than before: given up */

typedef struct Spot {
    FlatPoint from;
    FlatPoint to;
    double from_rad; /* heading */
    double to_rad;
    double leave_deg; /* from_rad less the heading of the arm before, 0 to 360 */
    size_t sample_first;
    size_t sample_count;
    uint32_t form;
    uint32_t pushed; /* how often it had to go */
    uint32_t failed; /* how often it found nothing */
    bool placed;
    bool fixed; /* of the trunk */
    bool turned;
} Spot;

typedef struct Choice {
    double cost;
    uint32_t form;
    double leave_deg;
} Choice;

typedef struct Grow {
    FlatSearch *search;
    const FlatTree *tree;
    FlatRoom *room;
    Spot *spots;        /* by arm */
    uint32_t *order;    /* arms, none before the one it hangs on */
    uint32_t count;     /* of them */
    uint32_t *carried;  /* by arm: arms beyond, itself included */
    double *weights;    /* by arm: of taking it out with all beyond */
    double *beyond_mm2; /* by arm: ground that it and all beyond cover */
    double *cover_mm2;  /* by cell */
    uint32_t wide;      /* cells */
    uint32_t high;
    size_t mark;   /* samples of the room that stay */
    size_t live;   /* samples of placed arms */
    uint32_t left; /* arms without a place */
    Choice *choices;
} Grow;

static uint32_t far_node(const Grow *grow, uint32_t arm) {
    return grow->search->chains[arm].nodes[1];
}

static uint32_t near_node(const Grow *grow, uint32_t arm) {
    return grow->search->chains[arm].nodes[0];
}

/* The arm it hangs on; FLAT_NONE at the root. */
static uint32_t arm_before(const Grow *grow, uint32_t arm) {
    return grow->search->parent_arm[near_node(grow, arm)];
}

/* --- cover --------------------------------------------------------------------------------------
 */

static double arm_mm2(const Grow *grow, uint32_t arm) {
    const FlatArm *row = &grow->tree->arms[arm];
    const FlatShop *shop = grow->search->frame.shop;
    const FlatEnd *end = &grow->tree->ends[far_node(grow, arm)];
    double shell_mm2 = 0.0;
    if (end->depth_mm > 0.0) {
        shell_mm2 = (end->width_mm + shop->hand_mm) * (end->depth_mm + shop->hand_mm);
    }
    return row->length_mm * (row->od_mm + shop->spacing_mm) + shell_mm2;
}

static uint32_t cell_at(double at_mm, uint32_t count) {
    double cell = floor(at_mm / CELL_MM);
    return cell < 0.0 ? 0u : cell > count - 1.0 ? count - 1u : (uint32_t)cell;
}

static void cover_add(Grow *grow, FlatPoint at, double mm2) {
    grow->cover_mm2[cell_at(at.y_mm, grow->high) * grow->wide + cell_at(at.x_mm, grow->wide)] +=
        mm2;
}

/* What a node's stubs will need close to it. */
static void cover_around(Grow *grow, FlatPoint at, double mm2) {
    for (int dy = -1; dy <= 1; dy++) {
        for (int dx = -1; dx <= 1; dx++) {
            cover_add(grow, (FlatPoint){at.x_mm + dx * CELL_MM, at.y_mm + dy * CELL_MM}, mm2 / 9.0);
        }
    }
}

/* Share of the ground around a point that is covered; what is off the boards counts as covered. */
static double cover_share(const Grow *grow, FlatPoint at, int reach) {
    double sum = 0.0;
    double column = floor(at.x_mm / CELL_MM);
    double row = floor(at.y_mm / CELL_MM);
    for (int dy = -reach; dy <= reach; dy++) {
        for (int dx = -reach; dx <= reach; dx++) {
            double x = column + dx;
            double y = row + dy;
            bool out = x < 0.0 || y < 0.0 || x >= grow->wide || y >= grow->high;
            sum += out ? 1.0
                       : grow->cover_mm2[(size_t)y * grow->wide + (size_t)x] / (CELL_MM * CELL_MM);
        }
    }
    return sum / ((2.0 * reach + 1.0) * (2.0 * reach + 1.0));
}

static int cover_reach(const Grow *grow, uint32_t arm) {
    double side_mm = sqrt(2.0 * grow->beyond_mm2[arm]);
    return side_mm < 300.0 ? 1 : side_mm < 600.0 ? 2 : side_mm < 1000.0 ? 3 : 4;
}

/* Samples of an arm that lies, and what its own stubs will need: added or taken away. */
static void cover_arm(Grow *grow, uint32_t arm, double sign) {
    const Spot *spot = &grow->spots[arm];
    const FlatShop *shop = grow->search->frame.shop;
    double wide_mm = grow->tree->arms[arm].od_mm + shop->spacing_mm;
    for (size_t i = 0; i < spot->sample_count; i++) {
        const FlatSample *sample = &grow->room->samples.rows[spot->sample_first + i];
        double mm = hypot(sample->x2_mm - sample->x1_mm, sample->y2_mm - sample->y1_mm);
        FlatPoint middle = {(sample->x1_mm + sample->x2_mm) / 2.0,
                            (sample->y1_mm + sample->y2_mm) / 2.0};
        double across_mm = sample->kind == SAMPLE_END ? shop->hand_mm : wide_mm;
        cover_add(grow, middle, sign * mm * across_mm);
    }
    if (!spot->fixed && grow->carried[arm] == 1) { /* no more to come */
        cover_around(grow, spot->from, -sign * arm_mm2(grow, arm));
    }
    uint32_t node = far_node(grow, arm);
    for (uint32_t i = grow->search->frame.incident_first[node];
         i < grow->search->frame.incident_first[node + 1]; i++) {
        uint32_t next = grow->search->frame.incident[i];
        if (next != arm && !grow->spots[next].fixed && grow->carried[next] == 1) {
            cover_around(grow, spot->to, sign * arm_mm2(grow, next));
        }
    }
}

/* --- places -------------------------------------------------------------------------------------
 */

/* Samples that went are many: the room is filled anew. */
static void refill(Grow *grow) {
    FlatRoom *room = grow->room;
    Arena scratch = {0};
    size_t count = room->samples.count - grow->mark;
    FlatSample *rows = ARENA_ARRAY(&scratch, FlatSample, count + 1);
    memcpy(rows, &room->samples.rows[grow->mark], count * sizeof *rows);
    flat_room_cut(room, grow->mark);
    for (uint32_t i = 0; i < grow->count; i++) {
        Spot *spot = &grow->spots[grow->order[i]];
        if (!spot->placed || spot->fixed) {
            continue;
        }
        size_t first = spot->sample_first - grow->mark;
        spot->sample_first = room->samples.count;
        room->owner = grow->order[i];
        for (size_t k = 0; k < spot->sample_count; k++) {
            flat_room_add(room, &rows[first + k]);
        }
    }
    arena_free(&scratch);
}

/* Takes an arm out with all that hangs on it. */
static void take_out(Grow *grow, uint32_t arm) {
    Spot *spot = &grow->spots[arm];
    if (!spot->placed || spot->fixed) {
        return;
    }
    uint32_t node = far_node(grow, arm);
    for (uint32_t i = grow->search->frame.incident_first[node];
         i < grow->search->frame.incident_first[node + 1]; i++) {
        if (grow->search->frame.incident[i] != arm) {
            take_out(grow, grow->search->frame.incident[i]);
        }
    }
    cover_arm(grow, arm, -1.0);
    for (size_t i = 0; i < spot->sample_count; i++) {
        grow->room->samples.rows[spot->sample_first + i].gone = true;
    }
    grow->live -= spot->sample_count;
    spot->placed = false;
    grow->left++;
}

static void put(Grow *grow, uint32_t arm, const Choice *choice, bool turned) {
    Spot *spot = &grow->spots[arm];
    const Spot *before = &grow->spots[arm_before(grow, arm)];
    const FlatStem *stem = &grow->search->stems[arm][choice->form];
    FlatRoom *room = grow->room;
    spot->form = choice->form;
    spot->leave_deg = choice->leave_deg;
    spot->turned = turned;
    spot->from = before->to;
    spot->from_rad = before->to_rad + units_rad_from_deg(choice->leave_deg);
    double cosine = cos(spot->from_rad);
    double sine = sin(spot->from_rad);
    FlatPoint end = stem->path.points[1];
    spot->to = (FlatPoint){spot->from.x_mm + end.x_mm * cosine - end.y_mm * sine,
                           spot->from.y_mm + end.x_mm * sine + end.y_mm * cosine};
    spot->to_rad = spot->from_rad + stem->path.headings_rad[1];
    if (room->samples.count > 2 * (grow->live + grow->mark) + 500) {
        refill(grow);
    }
    spot->sample_first = room->samples.count;
    spot->sample_count = stem->samples.count;
    room->owner = arm;
    for (size_t i = 0; i < stem->samples.count; i++) {
        FlatSample moved = flat_sample_moved(&stem->samples.rows[i], spot->from, cosine, sine);
        flat_room_add(room, &moved);
    }
    spot->placed = true;
    grow->live += spot->sample_count;
    grow->left--;
    cover_arm(grow, arm, 1.0);
}

/* --- choices ------------------------------------------------------------------------------------
 */

static double bearing_of(const Grow *grow, uint32_t arm, uint32_t node) {
    const FlatArm *row = &grow->tree->arms[arm];
    return row->a == node ? row->bearing_a_deg : row->bearing_b_deg;
}

static double wrapped_deg(double deg) {
    double wrapped = fmod(deg, 360.0);
    return wrapped < 0.0 ? wrapped + 360.0 : wrapped;
}

/* What leaves a node already, as seen from the arm that arrives there: directions on the board
 * counter-clockwise from the way back, and in the aircraft. */
typedef struct Around {
    double board_deg[2 * LEANS_MOST];
    double aircraft_deg[2 * LEANS_MOST]; /* NAN: none, or turned */
    uint32_t count;
    uint32_t degree;
} Around;

static void look_around(const Grow *grow, uint32_t arm, Around *around) {
    uint32_t node = near_node(grow, arm);
    const FlatFrame *frame = &grow->search->frame;
    around->count = 0;
    around->degree = frame->incident_first[node + 1] - frame->incident_first[node];
    uint32_t back = arm_before(grow, arm);
    for (uint32_t i = frame->incident_first[node]; i < frame->incident_first[node + 1]; i++) {
        uint32_t other = frame->incident[i];
        const Spot *spot = &grow->spots[other];
        if (other == arm || !spot->placed || around->count == 2 * LEANS_MOST) {
            continue;
        }
        around->board_deg[around->count] =
            other == back ? 0.0 : wrapped_deg(spot->leave_deg + 180.0);
        around->aircraft_deg[around->count++] =
            spot->turned ? (double)NAN : bearing_of(grow, other, node);
    }
}

/* Between which of those an arm of that bearing must leave: from *low counter-clockwise to the sum
 * of *low and *span. */
static void order_limits(const Around *around, double bearing_deg, double *low_deg,
                         double *span_deg) {
    double least_before = 361.0;
    double least_after = 361.0;
    double before_deg = 0.0;
    double after_deg = 0.0;
    uint32_t known = 0;
    *low_deg = 0.0;
    *span_deg = 360.0;
    for (uint32_t i = 0; i < around->count && !isnan(bearing_deg); i++) {
        double on_deg = wrapped_deg(around->aircraft_deg[i] - bearing_deg);
        if (isnan(on_deg) || on_deg < SAME_DEG || on_deg > 360.0 - SAME_DEG) {
            continue;
        }
        known++;
        if (on_deg < least_after) {
            least_after = on_deg;
            after_deg = around->board_deg[i];
        }
        if (360.0 - on_deg < least_before) {
            least_before = 360.0 - on_deg;
            before_deg = around->board_deg[i];
        }
    }
    if (known >= 2) {
        *low_deg = before_deg;
        *span_deg = wrapped_deg(after_deg - before_deg);
    }
}

static bool may_leave(const Around *around, double leave_deg, double low_deg, double span_deg) {
    double board_deg = wrapped_deg(leave_deg + 180.0);
    for (uint32_t i = 0; i < around->count; i++) {
        double apart_deg = fabs(remainder(board_deg - around->board_deg[i], 360.0));
        if (apart_deg < LEAST_APART_DEG) {
            return false;
        }
    }
    return span_deg >= 360.0 || wrapped_deg(board_deg - low_deg) < span_deg;
}

static int by_cost(const void *a, const void *b) {
    const Choice *x = a;
    const Choice *y = b;
    if (x->cost != y->cost) {
        return x->cost < y->cost ? -1 : 1;
    }
    if (x->form != y->form) {
        return x->form < y->form ? -1 : 1;
    }
    return x->leave_deg < y->leave_deg ? -1 : x->leave_deg > y->leave_deg;
}

/* Whether it is the longest way on from its node, of those that do not belong to the trunk. */
static bool goes_on(const Grow *grow, uint32_t arm) {
    uint32_t node = near_node(grow, arm);
    const FlatSearch *search = grow->search;
    double own_mm = search->most_mm[far_node(grow, arm)] + grow->tree->arms[arm].length_mm;
    for (uint32_t i = search->frame.incident_first[node];
         i < search->frame.incident_first[node + 1]; i++) {
        uint32_t other = search->frame.incident[i];
        if (other == arm || other == search->parent_arm[node]) {
            continue;
        }
        double way_mm = search->most_mm[far_node(grow, other)] + grow->tree->arms[other].length_mm;
        if (grow->spots[other].fixed || way_mm > own_mm || (way_mm == own_mm && other < arm)) {
            return false;
        }
    }
    return true;
}

/* 0 to 1, by the arm, how often it had to move, the form and the direction: what had to move looks
 * elsewhere next time, and never goes round in circles. */
static double whim(uint32_t arm, uint32_t often, uint32_t form, int lean) {
    uint64_t x = ((uint64_t)arm << 40) ^ ((uint64_t)often << 20) ^ ((uint64_t)form << 8) ^
                 (uint64_t)(lean + 64);
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u; /* the finalizer of SplitMix64 (Steele 2014) */
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return (double)((x ^ (x >> 31)) >> 11) / 9007199254740992.0;
}

/* All ways to lay an arm, cheapest first. */
static uint32_t list_choices(Grow *grow, uint32_t arm, bool turned) {
    Around around;
    double low_deg;
    double span_deg;
    look_around(grow, arm, &around);
    order_limits(&around, turned ? (double)NAN : bearing_of(grow, arm, near_node(grow, arm)),
                 &low_deg, &span_deg);
    const Spot *before = &grow->spots[arm_before(grow, arm)];
    bool on = goes_on(grow, arm);
    bool carries = grow->carried[arm] > 1;
    uint32_t often = grow->spots[arm].pushed + grow->spots[arm].failed;
    often = often < WHIM_MOST ? often : WHIM_MOST;
    int reach = cover_reach(grow, arm);
    double step_deg = LEAN_STEP_DEG / 2.0;
    if (around.degree > 2 * FINE_LEAST) {
        step_deg = fmax(4.0, 300.0 / around.degree);
    }
    int steps = (int)(LEAN_MOST_DEG / step_deg);
    steps = steps > (int)LEANS_MOST / 2 - 1 ? (int)LEANS_MOST / 2 - 1 : steps;
    uint32_t count = 0;
    for (int i = -steps; i <= steps; i++) {
        double lean_deg = i * step_deg;
        if (!may_leave(&around, lean_deg, low_deg, span_deg)) {
            continue;
        }
        double cost = COST_PER_DEG * (on ? fabs(lean_deg) : fabs(fabs(lean_deg) - 90.0)) +
                      (i % 2 != 0 && around.degree < FINE_LEAST ? COST_OFF_GRID : 0.0);
        double heading_rad = before->to_rad + units_rad_from_deg(lean_deg);
        double cosine = cos(heading_rad);
        double sine = sin(heading_rad);
        for (uint32_t form = 0; form < grow->search->stem_counts[arm]; form++) {
            const FlatStem *stem = &grow->search->stems[arm][form];
            double crowd = 0.0;
            if (carries) {
                FlatPoint end = stem->path.points[1];
                FlatPoint to = {before->to.x_mm + end.x_mm * cosine - end.y_mm * sine,
                                before->to.y_mm + end.x_mm * sine + end.y_mm * cosine};
                crowd = COST_CROWD * cover_share(grow, to, reach);
            }
            double moved = COST_WHIM * often * whim(arm, grow->spots[arm].pushed, form, i);
            grow->choices[count++] = (Choice){cost + stem->cost + crowd + moved, form, lean_deg};
        }
    }
    if (count > 1) {
        qsort(grow->choices, count, sizeof *grow->choices, by_cost);
    }
    return count;
}

static bool fits(Grow *grow, uint32_t arm, const Choice *choice) {
    const Spot *before = &grow->spots[arm_before(grow, arm)];
    const FlatSamples *samples = &grow->search->stems[arm][choice->form].samples;
    double heading_rad = before->to_rad + units_rad_from_deg(choice->leave_deg);
    double cosine = cos(heading_rad);
    double sine = sin(heading_rad);
    grow->room->trials++;
    for (size_t i = samples->count; i-- > 0;) {
        FlatSample moved = flat_sample_moved(&samples->rows[i], before->to, cosine, sine);
        if (flat_room_hits(grow->room, &moved)) {
            return false;
        }
    }
    return true;
}

static bool hangs_on(const Grow *grow, uint32_t arm, uint32_t other) {
    for (uint32_t at = arm; at != FLAT_NONE; at = arm_before(grow, at)) {
        if (at == other) {
            return true;
        }
    }
    return false;
}

static void weigh(Grow *grow) {
    memset(grow->weights, 0, grow->tree->arm_count * sizeof *grow->weights);
    for (uint32_t i = grow->count; i-- > 0;) {
        uint32_t arm = grow->order[i];
        const Spot *spot = &grow->spots[arm];
        if (spot->placed && !spot->fixed) {
            grow->weights[arm] += 1.0 + 0.5 * (double)spot->pushed * spot->pushed;
            uint32_t before = arm_before(grow, arm);
            if (before != FLAT_NONE) {
                grow->weights[before] += grow->weights[arm];
            }
        }
    }
}

/* The choice with the lightest others in its way, which are then listed; false: there is none. */
static bool find_lightest(Grow *grow, uint32_t arm, uint32_t count, Choice *best,
                          uint32_t *blockers, uint32_t *blocker_count) {
    const Spot *before = &grow->spots[arm_before(grow, arm)];
    double least = INFINITY;
    weigh(grow);
    for (uint32_t i = 0; i < count && i < PUSH_OPTIONS; i++) {
        const Choice *choice = &grow->choices[i];
        const FlatSamples *samples = &grow->search->stems[arm][choice->form].samples;
        double heading_rad = before->to_rad + units_rad_from_deg(choice->leave_deg);
        double cosine = cos(heading_rad);
        double sine = sin(heading_rad);
        uint32_t owners[PUSHED_MOST];
        uint32_t owner_count = 0;
        uint32_t weighed = 0;
        double weight = 0.3 * choice->cost;
        bool possible = true;
        grow->room->trials++;
        for (size_t k = samples->count; possible && weight < least && k-- > 0;) {
            FlatSample moved = flat_sample_moved(&samples->rows[k], before->to, cosine, sine);
            possible = flat_room_blockers(grow->room, &moved, owners, &owner_count, PUSHED_MOST);
            for (; weighed < owner_count && possible; weighed++) {
                possible = !hangs_on(grow, arm, owners[weighed]);
                weight += grow->weights[owners[weighed]];
            }
        }
        if (possible && weight < least) {
            least = weight;
            *best = *choice;
            *blocker_count = owner_count;
            memcpy(blockers, owners, sizeof owners);
        }
    }
    return isfinite(least);
}

/* --- growing ------------------------------------------------------------------------------------
 */

/* The next to be laid: what carries most, and what had to go often, first. */
static uint32_t next_arm(const Grow *grow) {
    uint32_t best = FLAT_NONE;
    double most = -1.0;
    for (uint32_t i = 0; i < grow->count; i++) {
        uint32_t arm = grow->order[i];
        const Spot *spot = &grow->spots[arm];
        if (spot->placed || !grow->spots[arm_before(grow, arm)].placed) {
            continue;
        }
        double rank = grow->carried[arm] + 2.0 * spot->pushed + 3.0 * spot->failed;
        if (rank > most) {
            most = rank;
            best = arm;
        }
    }
    return best;
}

/* Nothing it could push aside: what leaves the same node goes, or what it hangs on. False when that
 * was done too often. */
static bool make_way(Grow *grow, uint32_t arm) {
    Spot *spot = &grow->spots[arm];
    uint32_t node = near_node(grow, arm);
    uint32_t before = arm_before(grow, arm);
    spot->failed++;
    if (spot->failed % 2 == 0 && !grow->spots[before].fixed) {
        for (uint32_t up = spot->failed / 4; up > 0 && !grow->spots[arm_before(grow, before)].fixed;
             up--) {
            before = arm_before(grow, before);
        }
        take_out(grow, before);
        grow->spots[before].pushed++;
    } else {
        for (uint32_t i = grow->search->frame.incident_first[node];
             i < grow->search->frame.incident_first[node + 1]; i++) {
            uint32_t other = grow->search->frame.incident[i];
            if (other != before && grow->spots[other].placed && !grow->spots[other].fixed) {
                take_out(grow, other);
                grow->spots[other].pushed++;
            }
        }
    }
    return spot->failed < TRIES_MOST;
}

static bool lay_arm(Grow *grow, uint32_t arm, bool turned) {
    uint32_t count = list_choices(grow, arm, turned);
    for (uint32_t i = 0; i < count; i++) {
        if (fits(grow, arm, &grow->choices[i])) {
            put(grow, arm, &grow->choices[i], turned);
            return true;
        }
    }
    Choice best = {0.0, 0, 0.0};
    uint32_t blockers[PUSHED_MOST];
    uint32_t blocker_count = 0;
    if (!find_lightest(grow, arm, count, &best, blockers, &blocker_count)) {
        return false;
    }
    for (uint32_t i = 0; i < blocker_count; i++) {
        if (grow->spots[blockers[i]].placed) {
            take_out(grow, blockers[i]);
            grow->spots[blockers[i]].pushed++;
        }
    }
    put(grow, arm, &best, turned);
    return true;
}

static void grow_all(Grow *grow, uint64_t trials) {
    uint64_t end = grow->room->trials + trials;
    uint64_t stall = grow->room->trials + STALL_TRIALS * grow->count;
    uint32_t least = grow->left;
    while (grow->left > 0 && grow->room->trials < end && grow->room->trials < stall) {
        if (grow->left < least) {
            least = grow->left;
            stall = grow->room->trials + STALL_TRIALS * grow->count;
        }
        uint32_t arm = next_arm(grow);
        CHECK(arm != FLAT_NONE);
        bool may_turn = grow->spots[arm].failed >= TRIES_OWN_SIDE &&
                        !isnan(bearing_of(grow, arm, near_node(grow, arm)));
        if (!lay_arm(grow, arm, false) && !(may_turn && lay_arm(grow, arm, true)) &&
            !make_way(grow, arm)) {
            return;
        }
    }
}

/* --- all ----------------------------------------------------------------------------------------
 */

/* Arms from the trunk outwards, and what they carry. */
static void put_in_order(Grow *grow, const FlatChain *chain) {
    const FlatFrame *frame = &grow->search->frame;
    for (uint32_t i = 0; i < chain->count; i++) {
        grow->order[grow->count++] = chain->arms[i];
    }
    for (uint32_t i = 0; i < grow->count; i++) {
        uint32_t arm = grow->order[i];
        uint32_t node = far_node(grow, arm);
        for (uint32_t k = frame->incident_first[node]; k < frame->incident_first[node + 1]; k++) {
            if (frame->incident[k] != arm && !grow->spots[frame->incident[k]].fixed) {
                grow->order[grow->count++] = frame->incident[k];
            }
        }
    }
    for (uint32_t i = grow->count; i-- > 0;) {
        uint32_t arm = grow->order[i];
        uint32_t before = arm_before(grow, arm);
        grow->carried[arm] += 1;
        grow->beyond_mm2[arm] += arm_mm2(grow, arm);
        if (before != FLAT_NONE) {
            grow->carried[before] += grow->carried[arm];
            grow->beyond_mm2[before] += grow->beyond_mm2[arm];
        }
    }
}

/* The trunk lies already. */
static void fix_trunk(Grow *grow, const FlatChain *chain, const FlatPath *path) {
    for (uint32_t i = 0; i < chain->count; i++) {
        grow->spots[chain->arms[i]].fixed = true;
    }
    put_in_order(grow, chain);
    for (uint32_t i = 0; i < chain->count; i++) {
        Spot *spot = &grow->spots[chain->arms[i]];
        spot->placed = true;
        spot->from = path->points[i];
        spot->to = path->points[i + 1];
        spot->from_rad = path->headings_rad[i];
        spot->to_rad = path->headings_rad[i + 1];
    }
    for (size_t i = 0; i < grow->mark; i++) {
        const FlatSample *sample = &grow->room->samples.rows[i];
        double mm = hypot(sample->x2_mm - sample->x1_mm, sample->y2_mm - sample->y1_mm);
        cover_add(grow,
                  (FlatPoint){(sample->x1_mm + sample->x2_mm) / 2.0,
                              (sample->y1_mm + sample->y2_mm) / 2.0},
                  mm * (2.0 * sample->half_mm + grow->search->frame.shop->spacing_mm));
    }
    for (uint32_t i = 0; i < chain->count; i++) {
        cover_arm(grow, chain->arms[i], 1.0);
    }
    grow->left = grow->count - chain->count;
}

/* An arm with what hangs on it, as the shape it has become. */
static FlatPlace place_of(const Grow *grow, uint32_t arm, uint32_t at, uint32_t *turned) {
    const Spot *spot = &grow->spots[arm];
    FlatSearch *search = grow->search;
    uint32_t node = far_node(grow, arm);
    uint32_t degree = search->frame.incident_first[node + 1] - search->frame.incident_first[node];
    FlatShape *shape = ARENA_NEW(search->arena, FlatShape);
    *shape = (FlatShape){.folds = search->stems[arm][spot->form].folds,
                         .chain = search->chains[arm],
                         .places = ARENA_ARRAY(search->arena, FlatPlace, degree)};
    *turned += spot->turned ? 1 : 0;
    for (uint32_t i = search->frame.incident_first[node];
         i < search->frame.incident_first[node + 1]; i++) {
        uint32_t next = search->frame.incident[i];
        if (next != arm) {
            shape->places[shape->place_count++] = place_of(grow, next, 1, turned);
        }
    }
    return (FlatPlace){.arm = arm,
                       .at = at,
                       .shape = shape,
                       .leave_rad = units_rad_from_deg(spot->leave_deg),
                       .turned = spot->turned};
}

FlatHang flat_arms_grow(FlatSearch *search, const FlatChain *chain, const FlatSide *sides,
                        uint32_t side_count, const FlatPath *path, uint64_t trials) {
    Arena scratch = {0};
    const FlatShop *shop = search->frame.shop;
    FlatRoom *room = search->room;
    uint32_t arm_count = search->frame.tree->arm_count;
    uint32_t owner = room->owner;
    Grow grow = {
        .search = search,
        .tree = search->frame.tree,
        .room = room,
        .spots = ARENA_ARRAY(&scratch, Spot, arm_count + 1),
        .order = ARENA_ARRAY(&scratch, uint32_t, arm_count + 1),
        .carried = ARENA_ARRAY(&scratch, uint32_t, arm_count + 1),
        .weights = ARENA_ARRAY(&scratch, double, arm_count + 1),
        .beyond_mm2 = ARENA_ARRAY(&scratch, double, arm_count + 1),
        .wide = 1 + (uint32_t)(room->columns * (shop->board_length_mm + shop->gap_mm) / CELL_MM),
        .high = 1 + (uint32_t)(room->rows * (shop->board_width_mm + shop->gap_mm) / CELL_MM),
        .mark = room->samples.count,
        .choices = ARENA_ARRAY(&scratch, Choice, OPTIONS_MOST),
    };
    grow.cover_mm2 = ARENA_ARRAY(&scratch, double, (size_t)grow.wide *grow.high + 1);
    fix_trunk(&grow, chain, path);
    grow_all(&grow, trials);
    FlatHang hang = {.failed = grow.left};
    if (grow.left == 0) {
        hang.places = ARENA_ARRAY(search->arena, FlatPlace, side_count + 1);
        for (uint32_t i = 0; i < side_count; i++) {
            hang.places[i] = place_of(&grow, sides[i].arm, sides[i].at, &hang.turned);
        }
    }
    room->owner = owner;
    arena_free(&scratch);
    return hang;
}
