/* Hanging subtrees on a chain: each in the first shape and direction that fits, straight and square
 * ones first. What finds no place is moved to the front of the order and all is hung again; if that
 * doesn't help, a subtree may go to the other side and is then called turned. */
#include "board/flat_shape.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"

/* Directions tried, in degrees off the chain's heading, with what they cost: square, then leaning
 * on, then back; on a grid of 15 degrees, then between. Where more leave than such a grid has room
 * for, on one that has. */
static const double LEANS_DEG[] = {90.0, 75.0, 105.0, 60.0, 120.0, 45.0, 135.0, 30.0, 150.0, 82.5,
                                   97.5, 67.5, 112.5, 52.5, 127.5, 37.5, 142.5, 22.5, 157.5};
#define LEAN_COUNT (sizeof LEANS_DEG / sizeof *LEANS_DEG)
#define LEANS_MOST 48u
#define CROWD_LEAST 10u     /* more at one node than this: a grid of its own */
#define CROWD_FAN_DEG 290.0 /* both sides */
#define CROWD_PITCH_DEG 4.0 /* no finer */
#define COST_PER_DEG (1.0 / 15.0)
#define COST_OFF_GRID 6.0   /* not a multiple of 15 degrees */
#define COST_CROWDED 0.4    /* for each already on that side of the node */
#define LEAST_APART_DEG 3.9 /* between two that leave one node */
#define SHORT_MM 350.0      /* shorter ones have few places to go and are hung first */
#define LOOSE_TRIES 6       /* stems that fit, on which the rest of a subtree is tried */
#define LOOSE_ROUNDS 2

typedef struct Option {
    double cost;
    uint32_t form; /* shape or stem */
    double leave_deg;
} Option;

typedef struct Hanging {
    FlatSearch *search;
    const FlatChain *chain;
    const FlatSide *sides;
    uint32_t side_count;
    const FlatPath *path;
    uint32_t *order;
    FlatPlace *places;
    bool *hung;
    Arena *scratch;
} Hanging;

static int by_cost(const void *a, const void *b) {
    const Option *x = a;
    const Option *y = b;
    if (x->cost != y->cost) {
        return x->cost < y->cost ? -1 : 1;
    }
    if (x->form != y->form) {
        return x->form < y->form ? -1 : 1;
    }
    return x->leave_deg < y->leave_deg ? -1 : x->leave_deg > y->leave_deg;
}

/* Whether leaving at that angle keeps apart from, and in order with, what already leaves the node.
 */
static bool is_in_order(const Hanging *hanging, uint32_t side, double leave_deg, bool turned) {
    const FlatSide *own = &hanging->sides[side];
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        const FlatSide *other = &hanging->sides[i];
        if (!hanging->hung[i] || other->at != own->at) {
            continue;
        }
        double other_deg = units_deg_from_rad(hanging->places[i].leave_rad);
        if (fabs(other_deg - leave_deg) < LEAST_APART_DEG) {
            return false;
        }
        if (turned || hanging->places[i].turned || isnan(own->order_deg) ||
            isnan(other->order_deg) || own->order_deg == other->order_deg) {
            continue;
        }
        if ((own->order_deg < other->order_deg) != (leave_deg < other_deg)) {
            return false;
        }
    }
    return true;
}

static uint32_t list_leans(const Hanging *hanging, uint32_t at, double leans_deg[LEANS_MOST]) {
    uint32_t crowd = 0;
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        crowd += hanging->sides[i].at == at ? 1 : 0;
    }
    if (crowd <= CROWD_LEAST) {
        memcpy(leans_deg, LEANS_DEG, sizeof LEANS_DEG);
        return LEAN_COUNT;
    }
    double pitch_deg = fmax(CROWD_PITCH_DEG, fmin(15.0, CROWD_FAN_DEG / crowd));
    uint32_t count = 0;
    leans_deg[count++] = 90.0;
    for (uint32_t i = 1; i * pitch_deg <= CROWD_FAN_DEG / 4.0 + 1.0 && count + 1 < LEANS_MOST;
         i++) {
        leans_deg[count++] = 90.0 - i * pitch_deg;
        leans_deg[count++] = 90.0 + i * pitch_deg;
    }
    return count;
}

/* Ways to hang a side, cheapest first: each of its shapes (or stems) in each direction. */
static uint32_t list_options(const Hanging *hanging, uint32_t side, bool turned, bool stems,
                             Option *options) {
    double leans_deg[LEANS_MOST] = {0.0};
    uint32_t leans = list_leans(hanging, hanging->sides[side].at, leans_deg);
    const FlatSearch *search = hanging->search;
    const FlatSide *row = &hanging->sides[side];
    uint32_t crowd[2] = {0, 0};
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        if (hanging->hung[i] && hanging->sides[i].at == row->at) {
            crowd[hanging->places[i].leave_rad < UNITS_PI ? 0 : 1]++;
        }
    }
    bool left = isnan(row->order_deg) || (row->order_deg < row->back_deg) != turned;
    bool right = isnan(row->order_deg) || !left;
    uint32_t forms = stems ? search->stem_counts[row->arm] : search->shape_counts[row->arm];
    uint32_t count = 0;
    for (uint32_t i = 0; i < 2 * leans; i++) {
        bool to_left = i % 2 == 0;
        double lean_deg = leans_deg[i / 2];
        double leave_deg = to_left ? lean_deg : 360.0 - lean_deg;
        if (!(to_left ? left : right) || !is_in_order(hanging, side, leave_deg, turned)) {
            continue;
        }
        double lean_cost = fabs(lean_deg - 90.0) * COST_PER_DEG +
                           (i / 2 < 9 || leans > LEAN_COUNT ? 0.0 : COST_OFF_GRID) +
                           COST_CROWDED * crowd[to_left ? 0 : 1];
        for (uint32_t form = 0; form < forms; form++) {
            double cost =
                stems ? search->stems[row->arm][form].cost : search->shapes[row->arm][form].cost;
            options[count++] = (Option){cost + lean_cost, form, leave_deg};
        }
    }
    qsort(options, count, sizeof *options, by_cost);
    return count;
}

/* Into the room, turned and shifted; false, and the room as before, when it does not fit. */
static bool put_samples(FlatRoom *room, const FlatSamples *samples, FlatPoint at,
                        double heading_rad, bool force) {
    double cosine = cos(heading_rad);
    double sine = sin(heading_rad);
    room->trials++;
    /* The end of a shape is met more often than its beginning. */
    for (size_t i = samples->count; !force && i-- > 0;) {
        FlatSample moved = flat_sample_moved(&samples->rows[i], at, cosine, sine);
        if (flat_room_hits(room, &moved)) {
            return false;
        }
    }
    for (size_t i = 0; i < samples->count; i++) {
        FlatSample moved = flat_sample_moved(&samples->rows[i], at, cosine, sine);
        flat_room_add(room, &moved);
    }
    return true;
}

static void note_place(Hanging *hanging, uint32_t side, const FlatShape *shape, double leave_deg,
                       bool turned, bool failed) {
    const FlatSide *row = &hanging->sides[side];
    hanging->hung[side] = true;
    hanging->places[side] = (FlatPlace){.arm = row->arm,
                                        .at = row->at,
                                        .shape = shape,
                                        .leave_rad = units_rad_from_deg(leave_deg),
                                        .turned = turned,
                                        .failed = failed};
}

static bool hang_rigid(Hanging *hanging, uint32_t side, bool turned, Option *options) {
    const FlatSide *row = &hanging->sides[side];
    FlatPoint at = hanging->path->points[row->at];
    uint32_t count = list_options(hanging, side, turned, false, options);
    for (uint32_t i = 0; i < count; i++) {
        const FlatShape *shape = &hanging->search->shapes[row->arm][options[i].form];
        double heading_rad =
            hanging->path->headings_rad[row->at] + units_rad_from_deg(options[i].leave_deg);
        if (put_samples(hanging->search->room, &shape->samples, at, heading_rad, false)) {
            note_place(hanging, side, shape, options[i].leave_deg, turned, false);
            return true;
        }
    }
    return false;
}

/* The chain of a subtree where it fits, then what hangs on it, as there is room around it. */
static bool put_loose(Hanging *hanging, uint32_t side, const Option *option, bool turned,
                      bool force, FlatHang *inner) {
    FlatSearch *search = hanging->search;
    const FlatSide *row = &hanging->sides[side];
    const FlatStem *stem = &search->stems[row->arm][option->form];
    const FlatChain *chain = &search->chains[row->arm];
    FlatPoint at = hanging->path->points[row->at];
    double heading_rad =
        hanging->path->headings_rad[row->at] + units_rad_from_deg(option->leave_deg);
    size_t mark = search->room->samples.count;
    if (!put_samples(search->room, &stem->samples, at, heading_rad, force)) {
        return false;
    }
    FlatPath path = stem->path;
    path.points = ARENA_ARRAY(hanging->scratch, FlatPoint, chain->count + 1);
    path.headings_rad = ARENA_ARRAY(hanging->scratch, double, chain->count + 1);
    double cosine = cos(heading_rad);
    double sine = sin(heading_rad);
    for (uint32_t i = 0; i <= chain->count; i++) {
        FlatPoint own = stem->path.points[i];
        path.points[i] = (FlatPoint){at.x_mm + own.x_mm * cosine - own.y_mm * sine,
                                     at.y_mm + own.x_mm * sine + own.y_mm * cosine};
        path.headings_rad[i] = heading_rad + stem->path.headings_rad[i];
    }
    search->depth++;
    *inner = flat_sides_hang(search, chain, search->sides[row->arm], search->side_counts[row->arm],
                             &path, LOOSE_ROUNDS, 1, force);
    search->depth--;
    if (inner->failed > 0 && !force) {
        flat_room_cut(search->room, mark);
        return false;
    }
    FlatShape *shape = ARENA_NEW(search->arena, FlatShape);
    *shape = (FlatShape){.folds = stem->folds,
                         .chain = *chain,
                         .places = inner->places,
                         .place_count = search->side_counts[row->arm],
                         .turned = inner->turned,
                         .cost = stem->cost};
    note_place(hanging, side, shape, option->leave_deg, turned, force);
    return true;
}

static bool hang_loose(Hanging *hanging, uint32_t side, bool turned, Option *options) {
    FlatSearch *search = hanging->search;
    FlatHang inner;
    uint32_t count = list_options(hanging, side, turned, true, options);
    uint32_t tries = 0;
    for (uint32_t i = 0; i < count && tries < LOOSE_TRIES; i++) {
        uint64_t before = search->room->trials;
        if (put_loose(hanging, side, &options[i], turned, false, &inner)) {
            return true;
        }
        tries += search->room->trials > before + 1 ? 1 : 0;
        if (search->room->trials > search->trials_end) {
            return false;
        }
    }
    return false;
}

static bool hang_one(Hanging *hanging, uint32_t side, bool turned) {
    const FlatSearch *search = hanging->search;
    uint32_t arm = hanging->sides[side].arm;
    Arena scratch = {0};
    Option *options = ARENA_ARRAY(&scratch, Option, FLAT_STEMS_MOST * 2 * LEANS_MOST);
    bool hung = hang_rigid(hanging, side, turned, options) ||
                (search->side_counts[arm] > 0 && search->room->trials < search->trials_end &&
                 hang_loose(hanging, side, turned, options));
    arena_free(&scratch);
    return hung;
}

/* Over whatever lies there. */
static void hang_forced(Hanging *hanging, uint32_t side, FlatHang *result) {
    FlatHang inner = {0};
    Arena scratch = {0};
    Option *options = ARENA_ARRAY(&scratch, Option, FLAT_STEMS_MOST * 2 * LEANS_MOST);
    uint32_t count = list_options(hanging, side, false, true, options);
    bool turned = count == 0;
    if (turned) {
        count = list_options(hanging, side, true, true, options);
    }
    if (count == 0) {
        options[0] = (Option){0.0, 0, 90.0};
    }
    put_loose(hanging, side, &options[0], turned, true, &inner);
    result->failed += 1 + inner.failed;
    arena_free(&scratch);
}

/* Moves those that failed to the front, in their order. */
static void promote(Hanging *hanging, Arena *scratch) {
    uint32_t *next = ARENA_ARRAY(scratch, uint32_t, hanging->side_count);
    uint32_t count = 0;
    for (int hung = 0; hung < 2; hung++) {
        for (uint32_t i = 0; i < hanging->side_count; i++) {
            if (hanging->hung[hanging->order[i]] == (hung == 1)) {
                next[count++] = hanging->order[i];
            }
        }
    }
    memcpy(hanging->order, next, hanging->side_count * sizeof *next);
}

/* What is added from now on came with that side of the trunk; of deeper ones nothing is told. */
static void set_owner(Hanging *hanging, uint32_t side) {
    if (hanging->search->depth == 0) {
        hanging->search->room->owner = side;
    }
}

/* --- moving others aside ------------------------------------------------------------------------
 */

#define RIP_TRIALS 300u /* for each arm of the tree */
#define RIP_WORTH 4u
#define RIP_STEPS 4u /* for each side */
#define BLOCKERS_MOST 8u
#define RIP_OPTIONS 260u

typedef struct Rip {
    uint32_t *queue; /* sides without a place */
    uint32_t first;
    uint32_t count;
    uint32_t *ripped; /* by side: how often it had to go */
    uint32_t blockers[BLOCKERS_MOST];
    uint32_t blocker_count;
} Rip;

static double rip_weight(const Hanging *hanging, const Rip *rip, const uint32_t *owners,
                         uint32_t count) {
    double sum = 0.0;
    for (uint32_t i = 0; i < count; i++) {
        double often = rip->ripped[owners[i]];
        sum += 1.0 + 0.5 * hanging->search->carried[hanging->sides[owners[i]].arm] +
               3.0 * often * often;
    }
    return sum;
}

/* The way to hang a side that has the lightest others in its way; false when there is none. */
static bool find_lightest(Hanging *hanging, uint32_t side, bool stems, Rip *rip, Option *options,
                          Option *best) {
    const FlatSearch *search = hanging->search;
    const FlatSide *row = &hanging->sides[side];
    FlatPoint at = hanging->path->points[row->at];
    uint32_t count = list_options(hanging, side, false, stems, options);
    double least = INFINITY;
    for (uint32_t i = 0; i < count && i < RIP_OPTIONS; i++) {
        const FlatSamples *samples = stems ? &search->stems[row->arm][options[i].form].samples
                                           : &search->shapes[row->arm][options[i].form].samples;
        double heading_rad =
            hanging->path->headings_rad[row->at] + units_rad_from_deg(options[i].leave_deg);
        double cosine = cos(heading_rad);
        double sine = sin(heading_rad);
        uint32_t owners[BLOCKERS_MOST];
        uint32_t owner_count = 0;
        bool possible = true;
        search->room->trials++;
        for (size_t k = samples->count; possible && k-- > 0;) {
            FlatSample moved = flat_sample_moved(&samples->rows[k], at, cosine, sine);
            possible =
                flat_room_blockers(search->room, &moved, owners, &owner_count, BLOCKERS_MOST);
        }
        double weight = 0.3 * options[i].cost + rip_weight(hanging, rip, owners, owner_count);
        if (possible && weight < least) {
            least = weight;
            *best = options[i];
            rip->blocker_count = owner_count;
            memcpy(rip->blockers, owners, sizeof owners);
        }
    }
    return isfinite(least);
}

static void take_out(Hanging *hanging, size_t mark, uint32_t side, Rip *rip) {
    flat_room_remove(hanging->search->room, mark, side);
    hanging->hung[side] = false;
    rip->ripped[side]++;
    rip->queue[(rip->first + rip->count++) % hanging->side_count] = side;
}

/* Whatever leaves the same node and may be hung elsewhere, when its order is what is in the way. */
static void take_siblings(Hanging *hanging, size_t mark, uint32_t side, Rip *rip) {
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        if (hanging->hung[i] && hanging->sides[i].at == hanging->sides[side].at) {
            take_out(hanging, mark, i, rip);
        }
    }
}

/* Sides that found no place push the lightest others out of theirs, which then look for another;
 * how often one had to go makes it heavier. Returns how many are left without. */
static uint32_t move_aside(Hanging *hanging, size_t mark, Arena *scratch) {
    FlatSearch *search = hanging->search;
    Rip rip = {.queue = ARENA_ARRAY(scratch, uint32_t, hanging->side_count + 1),
               .ripped = ARENA_ARRAY(scratch, uint32_t, hanging->side_count + 1)};
    Option *options = ARENA_ARRAY(scratch, Option, FLAT_STEMS_MOST * 2 * LEANS_MOST);
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        if (!hanging->hung[hanging->order[i]]) {
            rip.queue[rip.count++] = hanging->order[i];
        }
    }
    uint32_t steps = RIP_STEPS * hanging->side_count;
    search->trials_end = search->room->trials + RIP_TRIALS * search->frame.tree->arm_count;
    while (rip.count > 0 && steps-- > 0 && search->room->trials < search->trials_end) {
        uint32_t side = rip.queue[rip.first];
        rip.first = (rip.first + 1) % hanging->side_count;
        rip.count--;
        set_owner(hanging, side);
        if (hang_one(hanging, side, false)) {
            continue;
        }
        Option best = {0.0, 0, 0.0};
        bool stems = search->shape_counts[hanging->sides[side].arm] == 0;
        if (find_lightest(hanging, side, stems, &rip, options, &best)) {
            for (uint32_t i = 0; i < rip.blocker_count; i++) {
                take_out(hanging, mark, rip.blockers[i], &rip);
            }
        } else {
            take_siblings(hanging, mark, side, &rip);
        }
        set_owner(hanging, side);
        if (!hang_one(hanging, side, false)) {
            rip.ripped[side]++;
            rip.queue[(rip.first + rip.count++) % hanging->side_count] = side;
        }
    }
    return rip.count;
}

/* `turn`: what finds no place on its own side may go to the other. */
static uint32_t hang_all(Hanging *hanging, size_t mark, bool turn) {
    uint32_t failed = 0;
    flat_room_cut(hanging->search->room, mark);
    memset(hanging->hung, 0, hanging->side_count * sizeof *hanging->hung);
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        uint32_t side = hanging->order[i];
        set_owner(hanging, side);
        bool hinted = !isnan(hanging->sides[side].order_deg);
        if (!hang_one(hanging, side, false) && !(turn && hinted && hang_one(hanging, side, true))) {
            failed++;
        }
    }
    return failed;
}

/* Short ones first, as they stand along the chain, then the others, the bulkiest first; or what
 * carries others first. */
static void first_order(Hanging *hanging) {
    const FlatSearch *search = hanging->search;
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        uint32_t k = i;
        const FlatSide *own = &hanging->sides[i];
        bool own_first =
            search->branches_first ? search->side_counts[own->arm] > 0 : own->most_mm < SHORT_MM;
        for (; k > 0; k--) {
            const FlatSide *other = &hanging->sides[hanging->order[k - 1]];
            bool other_first = search->branches_first ? search->side_counts[other->arm] > 0
                                                      : other->most_mm < SHORT_MM;
            bool by_bulk = own_first == search->branches_first && own->bulk_mm > other->bulk_mm;
            if (!(own_first != other_first ? own_first : by_bulk)) {
                break;
            }
            hanging->order[k] = hanging->order[k - 1];
        }
        hanging->order[k] = i;
    }
}

/* What found no place: over others. */
static void hang_rest(Hanging *hanging, FlatHang *result) {
    for (uint32_t i = 0; i < hanging->side_count; i++) {
        if (!hanging->hung[hanging->order[i]]) {
            hang_forced(hanging, hanging->order[i], result);
        }
    }
}

FlatHang flat_sides_hang(FlatSearch *search, const FlatChain *chain, const FlatSide *sides,
                         uint32_t side_count, const FlatPath *path, uint32_t rounds,
                         uint32_t give_up, bool finish) {
    Arena scratch = {0};
    uint32_t owner = search->room->owner;
    FlatHang result = {.places = ARENA_ARRAY(search->arena, FlatPlace, side_count + 1)};
    Hanging hanging = {
        .search = search,
        .chain = chain,
        .sides = sides,
        .side_count = side_count,
        .path = path,
        .order = ARENA_ARRAY(&scratch, uint32_t, side_count + 1),
        .places = result.places,
        .hung = ARENA_ARRAY(&scratch, bool, side_count + 1),
        .scratch = &scratch,
    };
    uint32_t *best = ARENA_ARRAY(&scratch, uint32_t, side_count + 1);
    size_t mark = search->room->samples.count;
    uint32_t fewest = UINT32_MAX;
    first_order(&hanging);
    for (uint32_t round = 0; round < rounds && fewest > 0; round++) {
        uint32_t failed = hang_all(&hanging, mark, round + 1 >= rounds / 2 + rounds % 2);
        if (failed < fewest) {
            fewest = failed;
            memcpy(best, hanging.order, side_count * sizeof *best);
        }
        if (failed == 0 || (round == 0 && failed > give_up)) {
            break;
        }
        promote(&hanging, &scratch);
    }
    if (fewest > 0 && search->depth == 0 && fewest <= RIP_WORTH + side_count / 6) {
        memcpy(hanging.order, best, side_count * sizeof *best);
        hang_all(&hanging, mark, false);
        uint32_t left = move_aside(&hanging, mark, &scratch);
        if (left == 0) {
            fewest = 0;
        }
    }
    if (fewest > 0 && finish) {
        memcpy(hanging.order, best, side_count * sizeof *best);
        hang_all(&hanging, mark, true);
        hang_rest(&hanging, &result);
    } else {
        result.failed = fewest;
    }
    for (uint32_t i = 0; i < side_count; i++) {
        if (hanging.hung[i]) {
            result.turned += (result.places[i].turned ? 1 : 0) + result.places[i].shape->turned;
        }
    }
    search->room->owner = owner;
    arena_free(&scratch);
    return result;
}
