/* The trunk of a tree on its boards: its longest way, straight or folded to and fro, at several
 * heights, on as few boards as will do; the rest is hung on it by shapes (small trees) or arm by
 * arm. The first layout in which all of it finds a place wins, in the order: boards, folds. */
#include "board/flat.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"
#include "board/flat_shape.h"

#define ROUNDS 8
#define FIRST_WAYS 4u /* tried on each number of boards at first */
#define WAYS 50u      /* in all */
#define NEAR_MOST 3u  /* left out: a plan is worth another try */
#define NEAR_SHARE 8u
#define TRIALS_AGAIN 4000u /* and as many when boards are to be saved */
#define TRIALS_ALL 9000u   /* places tried for one tree, for each arm */
#define ROWS_MOST 6
/* A trunk that meets an edge or a seam is moved a little: so many steps, so large. */
#define NUDGES_X 13u
#define NUDGES 65u
#define NUDGE_X_MM 11.0
#define NUDGE_Y_MM 17.0
#define PLANS_MOST 256
#define SHAPES_MOST 64u   /* nodes of a part that is first laid by shapes */
#define GROW_TRIALS 1500u /* places tried in one layout arm by arm, for each arm */
/* What leaves a share of all arms out is not tried again on less than so many times its boards. */
#define GROW_SAME 0.5
#define GROW_MORE 0.8
#define GROW_SHARE 0.26 /* no such layout fills more of its boards */
#define GROW_WAYS 4u    /* on each number of boards */
#define TRIALS_MOST                                                                                \
    250u /* places tried in one layout, for each arm, before it goes without loose ones */
#define AREA_SHARE 0.75 /* no layout fills more of its boards: not tried */

/* --- which trunk --------------------------------------------------------------------------------
 */

/* The farthest end from a node, over arms of its tree. */
static uint32_t farthest(FlatSearch *search, const uint32_t *nodes, uint32_t count, uint32_t from,
                         double *far_mm) {
    const FlatTree *tree = search->frame.tree;
    Arena scratch = {0};
    uint32_t *stack = ARENA_ARRAY(&scratch, uint32_t, count + 1);
    uint32_t depth = 0;
    uint32_t best = from;
    for (uint32_t i = 0; i < count; i++) {
        far_mm[nodes[i]] = -1.0;
    }
    far_mm[from] = 0.0;
    stack[depth++] = from;
    while (depth > 0) {
        uint32_t node = stack[--depth];
        for (uint32_t i = search->frame.incident_first[node];
             i < search->frame.incident_first[node + 1]; i++) {
            uint32_t arm = search->frame.incident[i];
            uint32_t next = flat_other(tree, arm, node);
            if (far_mm[next] < 0.0) {
                far_mm[next] = far_mm[node] + tree->arms[arm].length_mm;
                stack[depth++] = next;
            }
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        bool is_end =
            search->frame.incident_first[nodes[i] + 1] - search->frame.incident_first[nodes[i]] ==
            1;
        if (is_end && far_mm[nodes[i]] > far_mm[best]) {
            best = nodes[i];
        }
    }
    arena_free(&scratch);
    return best;
}

/* --- one layout ---------------------------------------------------------------------------------
 */

typedef struct Layout {
    uint32_t columns;
    uint32_t rows;
    uint32_t passes;
    FlatFolds folds;
    FlatPoint from;
    double heading_rad;
    FlatPlace *places;
    uint32_t failed;
    uint32_t turned;
    uint32_t fold_count;
    bool branches_first;
    uint32_t cost; /* of its plan */
    bool grown;    /* arm by arm */
    bool runs_on;  /* folded between these */
    FlatRuns runs;
} Layout;

/* How many boards and passes. */
typedef struct Plan {
    uint32_t columns;
    uint32_t rows;
    uint32_t passes;
    uint32_t tried;  /* ways */
    uint32_t missed; /* fewest left out so far */
    bool grown;      /* arm by arm */
    bool cut;        /* the trunk ends where it no longer fits straight; the rest hangs on it */
} Plan;

/* What a plan costs: boards; a table of more than two across can't be reached over. */
static uint32_t plan_cost(const Plan *plan) {
    uint32_t deep = plan->rows > 2 ? plan->rows - 2 : 0;
    return 2 * plan->columns * plan->rows + 3 * deep;
}

typedef struct Trunk {
    FlatChain chain;
    FlatSide *sides;
    uint32_t side_count;
    double before_mm; /* depth of the connectors at its ends */
    double after_mm;
    double length_mm;
    double thickest_mm;
    double radius_mm; /* largest of its turns */
} Trunk;

static double boards_mm(double board_mm, uint32_t count, double gap_mm) {
    return count * (board_mm + gap_mm) - gap_mm;
}

/* 0, 1, -1, 2, -2 ... steps. */
static double nudge_mm(uint32_t i, double step_mm) {
    uint32_t steps = (i + 1) / 2;
    return (i % 2 == 1 ? 1.0 : -1.0) * step_mm * steps;
}

/* The trunk alone into the room; false when it can't be folded so or does not fit. */
static bool put_trunk(Arena *out, const FlatSearch *search, const Trunk *trunk, size_t mark,
                      Layout *layout, bool finish, FlatPath *path) {
    FlatRoom *room = search->room;
    room->trials++;
    flat_room_cut(room, mark);
    bool fits =
        (!layout->runs_on || flat_runs_fold(search->arena, room, &trunk->chain, layout->from,
                                            trunk->after_mm, &layout->runs, &layout->folds)) &&
        flat_chain_lay(out, &search->frame, &trunk->chain, &layout->folds, layout->from,
                       layout->heading_rad, path);
    if (fits) {
        FlatSamples own = {0};
        flat_chain_samples(out, &search->frame, &trunk->chain, path, true, &own);
        for (size_t i = 0; i < own.count && fits; i++) {
            fits = finish || !flat_room_hits(room, &own.rows[i]);
            flat_room_add(room, &own.rows[i]);
        }
    }
    return fits;
}

/* Lays the trunk and hangs everything; true when the trunk itself could be laid. `finish`: nothing
 * is left out, whatever it lies over. */
static bool try_layout(FlatSearch *search, const Trunk *trunk, size_t mark, Layout *layout,
                       bool finish) {
    Arena scratch = {0};
    FlatRoom *room = search->room;
    FlatPath path;
    room->owner = FLAT_NONE;
    room->bounded = true;
    room->columns = layout->columns;
    room->rows = layout->rows;
    FlatPoint from = layout->from;
    bool fits = false;
    for (uint32_t i = 0; i < (finish ? 1u : NUDGES) && !fits; i++) {
        layout->from = (FlatPoint){from.x_mm + nudge_mm(i % NUDGES_X, NUDGE_X_MM),
                                   from.y_mm + nudge_mm(i / NUDGES_X, NUDGE_Y_MM)};
        fits = put_trunk(&scratch, search, trunk, mark, layout, finish, &path);
    }
    if (fits && layout->grown) {
        FlatHang hang = flat_arms_grow(search, &trunk->chain, trunk->sides, trunk->side_count,
                                       &path, GROW_TRIALS * search->frame.tree->arm_count);
        layout->places = hang.places;
        layout->failed = hang.failed;
        layout->turned = hang.turned;
        layout->fold_count = path.folds;
    } else if (fits) {
        search->trials_end = room->trials + TRIALS_MOST * search->frame.tree->arm_count;
        FlatHang hang = flat_sides_hang(search, &trunk->chain, trunk->sides, trunk->side_count,
                                        &path, ROUNDS, trunk->side_count / 6, finish);
        layout->places = hang.places;
        layout->failed = hang.failed;
        layout->turned = hang.turned;
        layout->fold_count = path.folds;
    }
    arena_free(&scratch);
    return fits;
}

/* The n-th way to lay the trunk on given boards in a number of passes; false when there is no such
 * way. One pass: straight, at several heights and shifted. More: runs as long as the boards are or
 * shorter by a share, which leaves room beyond the turns; a pitch of what the height gives, or
 * less.
 */
static bool nth_layout(const FlatSearch *search, const Trunk *trunk, uint32_t n, Layout *layout) {
    static const double PLACES[] = {0.5, 0.3, 0.7, 0.15, 0.85};
    static const double SHIFTS[] = {0.5, 0.0, 1.0, 0.25, 0.75};
    static const double SHARES[] = {1.0, 0.85, 0.93, 0.75, 0.65};
    static const double PITCHES[] = {1.0, 1.0, 0.8, 1.0, 0.6};
    static const double LOWS[] = {0.5, 0.3, 0.5, 0.7, 0.5};
    const FlatShop *shop = search->frame.shop;
    double width_mm = boards_mm(shop->board_length_mm, layout->columns, shop->gap_mm);
    double height_mm = boards_mm(shop->board_width_mm, layout->rows, shop->gap_mm);
    double edge_mm = shop->margin_mm + 1.0 + trunk->thickest_mm / 2.0;
    double usable_mm = width_mm - 2.0 * edge_mm;
    uint32_t a = n / 2 % 5;
    uint32_t b = (n / 10 + n / 2) % 5;
    bool up = n % 2 == 0;
    if (n >= WAYS) {
        return false;
    }
    layout->heading_rad = 0.0;
    if (layout->passes == 1) {
        double slack_mm = usable_mm - trunk->length_mm - trunk->before_mm - trunk->after_mm;
        if (slack_mm < 0.0 || !up) {
            return false;
        }
        layout->folds = (FlatFolds){.first_run_mm = INFINITY, .sign = 1.0};
        layout->from =
            (FlatPoint){edge_mm + trunk->before_mm + SHIFTS[b] * slack_mm, height_mm * PLACES[a]};
        return true;
    }
    double reach_mm = usable_mm * SHARES[b];
    double pitch_mm = height_mm / layout->passes * PITCHES[a];
    double low_mm = (height_mm - pitch_mm * (layout->passes - 1)) * LOWS[a];
    double left_mm = edge_mm + (usable_mm - reach_mm) / 2.0;
    layout->runs_on = true;
    layout->runs = (FlatRuns){left_mm, left_mm + reach_mm, pitch_mm, up};
    layout->from = (FlatPoint){left_mm + trunk->before_mm, up ? low_mm : height_mm - low_mm};
    return reach_mm > 400.0;
}

/* Tries `count` ways from the n-th on; true when one leaves nothing out and turns nothing. */
static bool try_plan(FlatSearch *search, const Trunk *trunk, size_t mark, Plan *plan,
                     uint32_t count, Layout *best) {
    for (uint32_t i = 0; i < count; i++) {
        Layout layout = {.columns = plan->columns,
                         .rows = plan->rows,
                         .passes = plan->passes,
                         .cost = plan_cost(plan),
                         .grown = plan->grown,
                         .failed = UINT32_MAX};
        uint32_t n = plan->tried;
        while (n < WAYS && !nth_layout(search, trunk, n, &layout)) {
            n++;
        }
        plan->tried = n + 1;
        if (n >= WAYS) {
            return false;
        }
        search->branches_first = n / 2 % 2 == 1;
        layout.branches_first = search->branches_first;
        if (!try_layout(search, trunk, mark, &layout, false)) {
            continue;
        }
        plan->missed = layout.failed < plan->missed ? layout.failed : plan->missed;
        if (layout.failed < best->failed ||
            (layout.failed == best->failed && layout.turned < best->turned)) {
            *best = layout;
        }
        if (layout.failed == 0 && layout.turned == 0) {
            return true;
        }
    }
    return false;
}

static int by_boards(const void *a, const void *b) {
    const Plan *x = a;
    const Plan *y = b;
    if (plan_cost(x) != plan_cost(y)) {
        return plan_cost(x) < plan_cost(y) ? -1 : 1;
    }
    if (x->rows != y->rows) {
        return x->rows < y->rows ? -1 : 1;
    }
    if (x->cut != y->cut) {
        return x->cut ? -1 : 1; /* fewer folds */
    }
    return x->passes < y->passes ? -1 : x->passes > y->passes;
}

static double area_mm2(const FlatSearch *search) {
    const FlatTree *tree = search->frame.tree;
    const FlatShop *shop = search->frame.shop;
    double sum_mm2 = 0.0;
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        sum_mm2 += tree->arms[i].length_mm * (tree->arms[i].od_mm + shop->spacing_mm);
    }
    return sum_mm2;
}

/* Numbers of boards that have that much ground, each with as few passes as the trunk needs and with
 * one more, cheapest first; for growing also with a trunk that is cut. */
static size_t list_plans(const FlatSearch *search, const Trunk *trunk, uint32_t least_columns,
                         uint32_t least_rows, double ground_mm2, bool grown,
                         Plan plans[PLANS_MOST]) {
    const FlatShop *shop = search->frame.shop;
    double all_mm = trunk->length_mm + trunk->before_mm + trunk->after_mm + 2.0 * shop->margin_mm;
    uint32_t straight = 1 + (uint32_t)(all_mm / shop->board_length_mm);
    size_t count = 0;
    for (uint32_t columns = least_columns; columns <= straight + 2 && columns < 24; columns++) {
        for (uint32_t rows = least_rows; rows <= ROWS_MOST; rows++) {
            if (ground_mm2 > columns * rows * shop->board_length_mm * shop->board_width_mm) {
                continue;
            }
            uint32_t passes =
                (uint32_t)(trunk->length_mm / (columns * shop->board_length_mm - 300.0)) + 1;
            Plan plan = {.columns = columns,
                         .rows = rows,
                         .passes = passes,
                         .missed = UINT32_MAX,
                         .grown = grown};
            if (grown && passes > 1 && count < PLANS_MOST) {
                plans[count] = plan;
                plans[count].passes = 1;
                plans[count++].cut = true;
            }
            for (uint32_t more = 0; more < 2; more++) {
                if (count < PLANS_MOST && passes + more <= 6 * rows) {
                    plans[count] = plan;
                    plans[count++].passes += more;
                }
            }
        }
    }
    qsort(plans, count, sizeof *plans, by_boards);
    return count;
}

/* Cheapest boards first, a few ways each, until nothing is left out; then the cheaper ones that
 * came near are tried again, while the allowance of work lasts. */
static bool lay_trunk(FlatSearch *search, const Trunk *trunk, size_t mark, uint32_t least_columns,
                      uint32_t least_rows, double area, Layout *best) {
    Plan plans[PLANS_MOST] = {{0}};
    size_t count =
        list_plans(search, trunk, least_columns, least_rows, area / AREA_SHARE, false, plans);
    uint64_t end = search->room->trials + TRIALS_ALL * search->frame.tree->arm_count;
    size_t fits = 0;
    bool clean = false;
    for (; fits < count && !clean && best->failed > 0 &&
           search->room->trials < end + TRIALS_ALL * search->frame.tree->arm_count;
         fits++) {
        clean = try_plan(search, trunk, mark, &plans[fits], FIRST_WAYS, best);
    }
    end = search->room->trials + TRIALS_AGAIN * search->frame.tree->arm_count;
    while (search->room->trials < end) {
        Plan *next = NULL;
        for (size_t i = 0; i < fits; i++) {
            bool cheaper = plan_cost(&plans[i]) < best->cost;
            bool open = plans[i].tried < WAYS && (cheaper || !clean);
            if (open && (next == NULL || plans[i].missed < next->missed)) {
                next = &plans[i];
            }
        }
        if (next == NULL || next->missed > NEAR_MOST + trunk->side_count / NEAR_SHARE) {
            break;
        }
        Layout found = {.failed = UINT32_MAX};
        bool ok = try_plan(search, trunk, mark, next, FIRST_WAYS, &found);
        bool cheaper = plan_cost(next) < best->cost;
        if (found.failed == 0 && (cheaper || best->failed > 0 || found.turned < best->turned)) {
            *best = found;
            clean = ok;
        }
    }
    return clean;
}

/* As much of the trunk's beginning as lies straight on that many boards, up to a node. */
static bool cut_trunk(const FlatSearch *search, const Trunk *trunk, uint32_t columns,
                      Trunk *shorter) {
    const FlatShop *shop = search->frame.shop;
    double room_mm = boards_mm(shop->board_length_mm, columns, shop->gap_mm) -
                     2.0 * (shop->margin_mm + 1.0) - trunk->thickest_mm - trunk->before_mm;
    uint32_t count = trunk->chain.count;
    while (count > 0 && trunk->chain.at_mm[count] > room_mm) {
        count--;
    }
    if (count == 0 || count == trunk->chain.count) {
        return false;
    }
    *shorter = *trunk;
    shorter->chain.count = count;
    shorter->length_mm = trunk->chain.at_mm[count];
    shorter->after_mm = 0.0;
    shorter->sides = ARENA_ARRAY(search->arena, FlatSide, trunk->side_count + 1);
    shorter->side_count = 0;
    for (uint32_t i = 0; i < trunk->side_count; i++) {
        if (trunk->sides[i].at <= count) {
            shorter->sides[shorter->side_count++] = trunk->sides[i];
        }
    }
    shorter->sides[shorter->side_count++] =
        (FlatSide){.arm = trunk->chain.arms[count], .at = count, .order_deg = (double)NAN};
    return true;
}

/* Arm by arm, cheapest boards first, but only on cheaper ones than those of `best` when that leaves
 * nothing out. *used: the trunk of the layout that is taken. */
static void lay_grown(FlatSearch *search, const Trunk *trunk, size_t mark, uint32_t least_columns,
                      uint32_t least_rows, double area, Trunk *used, Layout *best) {
    Plan plans[PLANS_MOST] = {{0}};
    size_t count =
        list_plans(search, trunk, least_columns, least_rows, area / GROW_SHARE, true, plans);
    double least_boards = 0.0; /* what left many out is not tried on hardly more ground */
    for (size_t i = 0; i < count; i++) {
        if (best->failed == 0 && plan_cost(&plans[i]) >= best->cost) {
            return;
        }
        uint32_t boards = plans[i].columns * plans[i].rows;
        if (boards < least_boards) {
            continue;
        }
        Layout found = {.failed = UINT32_MAX};
        Trunk own = *trunk;
        if (plans[i].cut && !cut_trunk(search, trunk, plans[i].columns, &own)) {
            continue;
        }
        try_plan(search, &own, mark, &plans[i], GROW_WAYS, &found);
        if (found.failed == 0) {
            *best = found;
            *used = own;
        } else if (found.failed < UINT32_MAX) {
            double missed = (double)found.failed / search->frame.tree->arm_count;
            least_boards = fmax(least_boards, boards * (GROW_SAME + GROW_MORE * missed));
        }
    }
}

/* --- result -------------------------------------------------------------------------------------
 */

typedef struct Emit {
    Arena *out;
    FlatSearch *search;
    Flat *flat;
    FlatRoom *boards;
    FlatPiece **lists; /* by arm */
    size_t *counts;
    size_t *capacities;
} Emit;

static FlatPiece reversed(const FlatPiece *piece) {
    FlatPiece back = *piece;
    double heading_rad;
    FlatPoint end = flat_piece_at(piece, piece->length_mm, &heading_rad);
    back.x_mm = end.x_mm;
    back.y_mm = end.y_mm;
    back.heading_rad = heading_rad + UNITS_PI;
    back.turn_per_mm = -piece->turn_per_mm;
    return back;
}

static void emit_chain(Emit *emit, const FlatChain *chain, const FlatFolds *folds,
                       const FlatPlace *places, uint32_t place_count, FlatPoint from,
                       double heading_rad, bool trunk) {
    Arena scratch = {0};
    FlatPath path;
    CHECK(flat_chain_lay(&scratch, &emit->search->frame, chain, folds, from, heading_rad, &path));
    const FlatTree *tree = emit->search->frame.tree;
    emit->flat->folds += path.folds;
    emit->flat->bends += path.bends;
    uint32_t index = 0;
    for (uint32_t i = 0; i < path.count; i++) {
        uint32_t arm = path.pieces[i].arm;
        while (chain->arms[index] != arm) {
            index++;
        }
        *ARENA_PUSH(emit->out, emit->lists[arm], emit->counts[arm], emit->capacities[arm]) =
            path.pieces[i];
    }
    for (index = 0; index < chain->count; index++) {
        uint32_t arm = chain->arms[index];
        emit->flat->trunk[arm] = trunk;
        if (tree->arms[arm].a != chain->nodes[index]) { /* walked from b to a */
            FlatPiece *list = emit->lists[arm];
            size_t count = emit->counts[arm];
            for (size_t i = 0; i < count / 2; i++) {
                FlatPiece kept = list[i];
                list[i] = list[count - 1 - i];
                list[count - 1 - i] = kept;
            }
            for (size_t i = 0; i < count; i++) {
                list[i] = reversed(&list[i]);
            }
        }
    }
    for (uint32_t i = 0; i <= chain->count; i++) {
        emit->flat->nodes[chain->nodes[i]] = (FlatNode){
            path.points[i].x_mm, path.points[i].y_mm, emit->search->frame.zone_mm[chain->nodes[i]]};
    }
    FlatSamples own = {0};
    flat_chain_samples(&scratch, &emit->search->frame, chain, &path, trunk, &own);
    for (size_t i = 0; i < own.count; i++) {
        flat_room_add(emit->boards, &own.rows[i]);
    }
    for (uint32_t i = 0; i < place_count; i++) {
        const FlatPlace *place = &places[i];
        emit->flat->leans[place->arm] = place->turned ? FLAT_TURNED : FLAT_KEPT;
        emit_chain(emit, &place->shape->chain, &place->shape->folds, place->shape->places,
                   place->shape->place_count, path.points[place->at],
                   path.headings_rad[place->at] + place->leave_rad, false);
    }
    arena_free(&scratch);
}

static void gather(Emit *emit) {
    Flat *flat = emit->flat;
    uint32_t arm_count = emit->search->frame.tree->arm_count;
    size_t total = 0;
    flat->arm_first = ARENA_ARRAY(emit->out, uint32_t, arm_count + 1);
    for (uint32_t i = 0; i < arm_count; i++) {
        total += emit->counts[i];
        flat->arm_first[i + 1] = (uint32_t)total;
    }
    flat->piece_count = (uint32_t)total;
    flat->pieces = ARENA_ARRAY(emit->out, FlatPiece, total + 1);
    for (uint32_t i = 0; i < arm_count; i++) {
        if (emit->counts[i] > 0) {
            memcpy(&flat->pieces[flat->arm_first[i]], emit->lists[i],
                   emit->counts[i] * sizeof *flat->pieces);
        }
        flat->path_mm += emit->search->frame.tree->arms[i].length_mm;
    }
}

static void measure_extent(const FlatTree *tree, Flat *flat) {
    for (uint32_t i = 0; i < flat->piece_count; i++) {
        const FlatPiece *piece = &flat->pieces[i];
        FlatPoint end = flat_piece_at(piece, piece->length_mm, NULL);
        flat->width_mm = fmax(flat->width_mm, fmax(piece->x_mm, end.x_mm));
        flat->height_mm = fmax(flat->height_mm, fmax(piece->y_mm, end.y_mm));
    }
    flat->travel_mm = flat_travel_mm(tree, flat);
}

double flat_travel_mm(const FlatTree *tree, const Flat *flat) {
    FlatPoint pen = {0.0, 0.0};
    bool *drawn = NULL;
    Arena scratch = {0};
    double travel_mm = 0.0;
    drawn = ARENA_ARRAY(&scratch, bool, tree->arm_count + 1);
    for (uint32_t n = 0; n < tree->arm_count; n++) {
        uint32_t next = FLAT_NONE;
        double least_mm = INFINITY;
        for (uint32_t i = 0; i < tree->arm_count; i++) {
            const FlatNode *a = &flat->nodes[tree->arms[i].a];
            const FlatNode *b = &flat->nodes[tree->arms[i].b];
            double away_mm = fmin(hypot(a->x_mm - pen.x_mm, a->y_mm - pen.y_mm),
                                  hypot(b->x_mm - pen.x_mm, b->y_mm - pen.y_mm));
            if (!drawn[i] && away_mm < least_mm) {
                least_mm = away_mm;
                next = i;
            }
        }
        const FlatNode *a = &flat->nodes[tree->arms[next].a];
        const FlatNode *b = &flat->nodes[tree->arms[next].b];
        bool from_a = hypot(a->x_mm - pen.x_mm, a->y_mm - pen.y_mm) <= least_mm;
        pen = from_a ? (FlatPoint){b->x_mm, b->y_mm} : (FlatPoint){a->x_mm, a->y_mm};
        travel_mm += least_mm + tree->arms[next].length_mm;
        drawn[next] = true;
    }
    arena_free(&scratch);
    return travel_mm;
}

/* --- parts of a forest --------------------------------------------------------------------------
 */

typedef struct Part {
    uint32_t *nodes;
    uint32_t count;
    double bulk_mm;
    uint32_t first; /* smallest node, for ties */
} Part;

static int by_bulk(const void *a, const void *b) {
    const Part *x = a;
    const Part *y = b;
    if (x->bulk_mm != y->bulk_mm) {
        return x->bulk_mm > y->bulk_mm ? -1 : 1;
    }
    return x->first < y->first ? -1 : x->first > y->first;
}

static Part *find_parts(FlatSearch *search, Arena *scratch, uint32_t *part_count) {
    const FlatTree *tree = search->frame.tree;
    Part *parts = ARENA_ARRAY(scratch, Part, tree->node_count + 1);
    bool *seen = ARENA_ARRAY(scratch, bool, tree->node_count + 1);
    *part_count = 0;
    for (uint32_t i = 0; i < tree->node_count; i++) {
        if (seen[i] || search->frame.incident_first[i] == search->frame.incident_first[i + 1]) {
            continue;
        }
        size_t count = 0;
        size_t capacity = 0;
        Part part = {.first = i};
        *ARENA_PUSH(scratch, part.nodes, count, capacity) = i;
        seen[i] = true;
        for (size_t k = 0; k < count; k++) {
            uint32_t node = part.nodes[k];
            for (uint32_t m = search->frame.incident_first[node];
                 m < search->frame.incident_first[node + 1]; m++) {
                uint32_t arm = search->frame.incident[m];
                uint32_t next = flat_other(tree, arm, node);
                part.bulk_mm += tree->arms[arm].length_mm / 2.0;
                if (!seen[next]) {
                    seen[next] = true;
                    *ARENA_PUSH(scratch, part.nodes, count, capacity) = next;
                }
            }
        }
        part.count = (uint32_t)count;
        parts[(*part_count)++] = part;
    }
    qsort(parts, *part_count, sizeof *parts, by_bulk);
    return parts;
}

static FlatSearch start_search(Arena *arena, const FlatTree *tree, const FlatShop *shop) {
    FlatSearch search = {.arena = arena};
    flat_frame_build(arena, tree, shop, &search.frame);
    search.parent_arm = ARENA_ARRAY(arena, uint32_t, tree->node_count + 1);
    search.most_mm = ARENA_ARRAY(arena, double, tree->node_count + 1);
    search.bulk_mm = ARENA_ARRAY(arena, double, tree->node_count + 1);
    search.chains = ARENA_ARRAY(arena, FlatChain, tree->arm_count + 1);
    search.sides = ARENA_ARRAY(arena, FlatSide *, tree->arm_count + 1);
    search.side_counts = ARENA_ARRAY(arena, uint32_t, tree->arm_count + 1);
    search.carried = ARENA_ARRAY(arena, uint32_t, tree->arm_count + 1);
    search.stems = ARENA_ARRAY(arena, FlatStem *, tree->arm_count + 1);
    search.stem_counts = ARENA_ARRAY(arena, uint32_t, tree->arm_count + 1);
    search.shapes = ARENA_ARRAY(arena, FlatShape *, tree->arm_count + 1);
    search.shape_counts = ARENA_ARRAY(arena, uint32_t, tree->arm_count + 1);
    return search;
}

static void measure_trunk(const FlatSearch *search, Trunk *trunk) {
    const FlatTree *tree = search->frame.tree;
    trunk->before_mm = tree->ends[trunk->chain.nodes[0]].depth_mm;
    trunk->after_mm = tree->ends[trunk->chain.nodes[trunk->chain.count]].depth_mm;
    trunk->length_mm = trunk->chain.at_mm[trunk->chain.count];
    trunk->radius_mm = 0.0;
    trunk->thickest_mm = 0.0;
    for (uint32_t i = 0; i < trunk->chain.count; i++) {
        uint32_t arm = trunk->chain.arms[i];
        trunk->radius_mm = fmax(trunk->radius_mm, flat_radius_mm(&search->frame, arm));
        trunk->thickest_mm = fmax(trunk->thickest_mm, tree->arms[arm].od_mm);
    }
}

/* From both ends of a part's longest way by shapes, until nothing is left out. */
static void lay_shapes(FlatSearch *search, const uint32_t roots[2], FlatRoom *shaping,
                       FlatRoom *boards, const Flat *flat, double area, Trunk *trunk,
                       Layout *best) {
    size_t mark = boards->samples.count;
    for (int i = 0; i < 2 && best->failed > 0; i++) {
        Trunk tried;
        Layout found = {.failed = UINT32_MAX};
        search->room = shaping;
        search->branches_first = false;
        flat_shapes_make(search, roots[i], &tried.chain, &tried.sides, &tried.side_count);
        measure_trunk(search, &tried);
        search->room = boards;
        lay_trunk(search, &tried, mark, flat->columns, flat->rows, area, &found);
        flat_room_cut(boards, mark);
        if (found.failed < best->failed ||
            (found.failed == best->failed && found.turned < best->turned)) {
            *best = found;
            *trunk = tried;
        }
    }
}

/* The least bad, with nothing left out. */
static void lay_over(FlatSearch *search, uint32_t root, FlatRoom *shaping, FlatRoom *boards,
                     const Flat *flat, Trunk *trunk, Layout *best) {
    const FlatShop *shop = search->frame.shop;
    size_t mark = boards->samples.count;
    search->room = shaping;
    search->branches_first = false;
    flat_shapes_make(search, root, &trunk->chain, &trunk->sides, &trunk->side_count);
    measure_trunk(search, trunk);
    search->room = boards;
    if (best->places == NULL) { /* not even the trunk: straight, whatever it lies over */
        double all_mm = trunk->length_mm + trunk->before_mm + trunk->after_mm +
                        2.0 * shop->margin_mm + trunk->thickest_mm + 10.0;
        *best = (Layout){.rows = flat->rows, .passes = 1};
        best->columns = 1 + (uint32_t)(all_mm / shop->board_length_mm);
        best->columns = best->columns < flat->columns ? flat->columns : best->columns;
        CHECK(nth_layout(search, trunk, 0, best));
    }
    search->branches_first = best->branches_first;
    try_layout(search, trunk, mark, best, true);
    flat_room_cut(boards, mark);
}

/* Small parts by shapes, which look better; then, or when that takes more boards, arm by arm. */
static void lay_part(FlatSearch *search, const Part *part, FlatRoom *shaping, FlatRoom *boards,
                     const Flat *flat, double area, double *far_mm, Trunk *trunk, Layout *best) {
    uint32_t one = farthest(search, part->nodes, part->count, part->nodes[0], far_mm);
    uint32_t two = farthest(search, part->nodes, part->count, one, far_mm);
    const uint32_t roots[2] = {one < two ? one : two, one < two ? two : one};
    size_t mark = boards->samples.count;
    *best = (Layout){.failed = UINT32_MAX};
    if (part->count <= SHAPES_MOST) {
        lay_shapes(search, roots, shaping, boards, flat, area, trunk, best);
    }
    for (int i = 0; i < 2 && (i == 0 || best->failed > 0); i++) {
        Trunk tried;
        Trunk used;
        Layout grown = *best;
        search->room = shaping;
        flat_arms_make(search, roots[i], &tried.chain, &tried.sides, &tried.side_count);
        measure_trunk(search, &tried);
        search->room = boards;
        lay_grown(search, &tried, mark, flat->columns, flat->rows, area, &used, &grown);
        flat_room_cut(boards, mark);
        if (grown.grown) {
            *best = grown;
            *trunk = used;
        }
    }
    if (best->failed > 0) {
        uint32_t root = best->places == NULL ? roots[0] : trunk->chain.nodes[0];
        lay_over(search, root, shaping, boards, flat, trunk, best);
    }
}

void flat_solve(Arena *out, const FlatTree *tree, const FlatShop *shop, Flat *flat) {
    Arena scratch = {0};
    FlatSearch search = start_search(&scratch, tree, shop);
    FlatRoom shaping;
    FlatRoom boards;
    flat_room_start(&scratch, &search.frame, &shaping);
    flat_room_start(&scratch, &search.frame, &boards);
    Emit emit = {.out = out,
                 .search = &search,
                 .flat = flat,
                 .boards = &boards,
                 .lists = ARENA_ARRAY(&scratch, FlatPiece *, tree->arm_count + 1),
                 .counts = ARENA_ARRAY(&scratch, size_t, tree->arm_count + 1),
                 .capacities = ARENA_ARRAY(&scratch, size_t, tree->arm_count + 1)};
    *flat = (Flat){.nodes = ARENA_ARRAY(out, FlatNode, tree->node_count + 1),
                   .leans = ARENA_ARRAY(out, FlatLean, tree->arm_count + 1),
                   .trunk = ARENA_ARRAY(out, bool, tree->arm_count + 1),
                   .columns = 1,
                   .rows = 1};
    uint32_t part_count;
    Part *parts = find_parts(&search, &scratch, &part_count);
    double *far_mm = ARENA_ARRAY(&scratch, double, tree->node_count + 1);
    double area = area_mm2(&search);
    for (uint32_t i = 0; i < part_count; i++) {
        Trunk trunk;
        Layout best;
        lay_part(&search, &parts[i], &shaping, &boards, flat, area, far_mm, &trunk, &best);
        CHECK(best.places != NULL); /* the last plan tried is straight, on boards long enough */
        flat->columns = best.columns;
        flat->rows = best.rows;
        flat->failed += best.failed;
        flat->turned += best.turned;
        emit_chain(&emit, &trunk.chain, &best.folds, best.places, trunk.side_count, best.from,
                   best.heading_rad, true);
    }
    flat->trials = shaping.trials + boards.trials;
    gather(&emit);
    measure_extent(tree, flat);
    arena_free(&scratch);
}
