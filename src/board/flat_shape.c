/* From a tree to chains and shapes: from the root the longest way to an end is the trunk; what
 * hangs on it is split the same way; then every subtree, smallest first, gets a few rigid shapes:
 * straight, turned aside after a stretch, folded to and fro. */
#include "board/flat_shape.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/units.h"

#define ROUNDS 4
#define SHAPES_WITH_SIDES 14 /* for a chain that carries others */
#define LARGE_ARMS 24u       /* larger subtrees get no rigid shapes: they never fit anywhere */
#define LAST_STRETCH_MM 20.0 /* left after a turn, at least */

/* --- tree ---------------------------------------------------------------------------------------
 */

/* Parents and lengths beyond, from the root out and back. */
static void measure(FlatSearch *search, uint32_t root, Arena *scratch) {
    const FlatTree *tree = search->frame.tree;
    uint32_t *queue = ARENA_ARRAY(scratch, uint32_t, tree->node_count + 1);
    uint32_t count = 0;
    queue[count++] = root;
    search->parent_arm[root] = FLAT_NONE;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t node = queue[i];
        search->most_mm[node] = 0.0;
        search->bulk_mm[node] = 0.0;
        for (uint32_t k = search->frame.incident_first[node];
             k < search->frame.incident_first[node + 1]; k++) {
            uint32_t arm = search->frame.incident[k];
            if (arm != search->parent_arm[node]) {
                uint32_t next = flat_other(tree, arm, node);
                search->parent_arm[next] = arm;
                CHECK(count < tree->node_count); /* else there is a loop */
                queue[count++] = next;
            }
        }
    }
    for (uint32_t i = count; i-- > 1;) {
        uint32_t node = queue[i];
        uint32_t arm = search->parent_arm[node];
        uint32_t up = flat_other(tree, arm, node);
        double length_mm = tree->arms[arm].length_mm;
        search->most_mm[up] = fmax(search->most_mm[up], search->most_mm[node] + length_mm);
        search->bulk_mm[up] += search->bulk_mm[node] + length_mm;
    }
}

static double bearing_at(const FlatTree *tree, uint32_t arm, uint32_t node) {
    const FlatArm *row = &tree->arms[arm];
    return row->a == node ? row->bearing_a_deg : row->bearing_b_deg;
}

static double wrapped_deg(double deg) {
    double wrapped = fmod(deg, 360.0);
    return wrapped < 0.0 ? wrapped + 360.0 : wrapped;
}

/* The place of an arm in the order around a node of a chain. Fewer than three known directions say
 * nothing about left and right. */
static void find_order(const FlatSearch *search, const FlatChain *chain, FlatSide *side) {
    const FlatTree *tree = search->frame.tree;
    uint32_t node = chain->nodes[side->at];
    double out_deg = bearing_at(tree, chain->arms[side->at], node);
    double back_deg = bearing_at(tree, chain->arms[side->at - 1], node);
    uint32_t known = 0;
    for (uint32_t i = search->frame.incident_first[node];
         i < search->frame.incident_first[node + 1]; i++) {
        known += isnan(bearing_at(tree, search->frame.incident[i], node)) ? 0 : 1;
    }
    side->order_deg = NAN;
    side->back_deg = 180.0;
    if (known < 3) {
        return;
    }
    if (isnan(out_deg)) {
        out_deg = isnan(back_deg) ? 0.0 : back_deg + 180.0;
    }
    if (isnan(back_deg)) {
        back_deg = out_deg + 180.0;
    }
    side->order_deg = wrapped_deg(bearing_at(tree, side->arm, node) - out_deg);
    side->back_deg = wrapped_deg(back_deg - out_deg);
}

/* The chain that begins with `arm` at `node`: always on along the longest way. */
static void make_chain(FlatSearch *search, uint32_t arm, uint32_t node, FlatChain *chain) {
    const FlatTree *tree = search->frame.tree;
    uint32_t count = 0;
    for (int pass = 0; pass < 2; pass++) {
        uint32_t next_arm = arm;
        uint32_t at = node;
        count = 0;
        while (next_arm != FLAT_NONE) {
            uint32_t next = flat_other(tree, next_arm, at);
            if (pass == 1) {
                chain->arms[count] = next_arm;
                chain->nodes[count + 1] = next;
                chain->at_mm[count + 1] = chain->at_mm[count] + tree->arms[next_arm].length_mm;
            }
            count++;
            at = next;
            next_arm = FLAT_NONE;
            double most_mm = -1.0;
            for (uint32_t i = search->frame.incident_first[at];
                 i < search->frame.incident_first[at + 1]; i++) {
                uint32_t way = search->frame.incident[i];
                double way_mm =
                    tree->arms[way].length_mm + search->most_mm[flat_other(tree, way, at)];
                if (way != search->parent_arm[at] && way_mm > most_mm) {
                    most_mm = way_mm;
                    next_arm = way;
                }
            }
        }
        if (pass == 0) {
            *chain = (FlatChain){.arms = ARENA_ARRAY(search->arena, uint32_t, count),
                                 .nodes = ARENA_ARRAY(search->arena, uint32_t, count + 1),
                                 .at_mm = ARENA_ARRAY(search->arena, double, count + 1),
                                 .count = count};
            chain->nodes[0] = node;
        }
    }
}

static uint32_t make_sides(FlatSearch *search, const FlatChain *chain, FlatSide **sides) {
    const FlatTree *tree = search->frame.tree;
    size_t count = 0;
    size_t capacity = 0;
    *sides = NULL;
    for (uint32_t k = 1; k < chain->count; k++) {
        uint32_t node = chain->nodes[k];
        for (uint32_t i = search->frame.incident_first[node];
             i < search->frame.incident_first[node + 1]; i++) {
            uint32_t arm = search->frame.incident[i];
            if (arm == chain->arms[k] || arm == chain->arms[k - 1]) {
                continue;
            }
            uint32_t next = flat_other(tree, arm, node);
            FlatSide side = {.arm = arm,
                             .at = k,
                             .most_mm = search->most_mm[next] + tree->arms[arm].length_mm,
                             .bulk_mm = search->bulk_mm[next] + tree->arms[arm].length_mm};
            find_order(search, chain, &side);
            *ARENA_PUSH(search->arena, *sides, count, capacity) = side;
        }
    }
    return (uint32_t)count;
}

/* --- shapes -------------------------------------------------------------------------------------
 */

typedef struct Form {
    FlatFolds folds;
    double cost;
} Form;

static FlatFolds folds_of(double first_deg, double first_at_mm, double run_mm, double sign,
                          double pitch_mm) {
    return (FlatFolds){.first_deg = first_deg,
                       .first_at_mm = first_at_mm,
                       .first_run_mm = run_mm,
                       .run_mm = run_mm,
                       .sign = sign,
                       .pitch_mm = pitch_mm};
}

/* The ways to lay a chain that are tried, those to be preferred first. */
static uint32_t list_forms(double length_mm, double radius_mm, Form forms[FLAT_STEMS_MOST]) {
    static const double STRETCHES_MM[] = {60.0, 5.0, 120.0, 200.0, 320.0, 480.0, 700.0};
    static const double RUNS_MM[] = {1900.0, 1000.0, 600.0};
    static const double PITCHES_MM[] = {90.0, 240.0};
    double quarter_mm = radius_mm * UNITS_PI / 2.0 + LAST_STRETCH_MM;
    uint32_t count = 0;
    forms[count++] = (Form){folds_of(0.0, 0.0, INFINITY, 1.0, 0.0), 0.0};
    for (int i = 0; i < 4; i++) {
        int stretch = i / 2;
        double at_mm = STRETCHES_MM[stretch];
        double sign = i % 2 == 0 ? 1.0 : -1.0;
        if (at_mm + quarter_mm < length_mm) {
            forms[count++] =
                (Form){folds_of(90.0 * sign, at_mm, INFINITY, 1.0, 0.0), 2.0 + 0.2 * stretch};
        }
    }
    for (int i = 0; i < 6; i++) { /* long ones: to and fro beside their trunk, or across it */
        int run = i / 2;
        double run_mm = RUNS_MM[run];
        double sign = i % 2 == 0 ? 1.0 : -1.0;
        if (run_mm + 2.0 * quarter_mm + 160.0 < length_mm) {
            for (int k = 0; k < 2 && length_mm < 12.0 * run_mm; k++) {
                forms[count++] = (Form){folds_of(90.0 * sign, 100.0, run_mm, -sign, PITCHES_MM[k]),
                                        6.0 + run + k};
            }
        }
    }
    for (int i = 4; i < 14; i++) {
        int stretch = i / 2;
        double at_mm = STRETCHES_MM[stretch];
        double sign = i % 2 == 0 ? 1.0 : -1.0;
        if (at_mm + quarter_mm < length_mm) {
            forms[count++] =
                (Form){folds_of(90.0 * sign, at_mm, INFINITY, 1.0, 0.0), 2.0 + 0.2 * stretch};
        }
    }
    for (int i = 0; i < 4; i++) {
        double at_mm = i < 2 ? 60.0 : 150.0;
        double sign = i % 2 == 0 ? 1.0 : -1.0;
        if (at_mm + quarter_mm < length_mm) {
            forms[count++] = (Form){folds_of(45.0 * sign, at_mm, INFINITY, 1.0, 0.0), 1.8};
        }
    }
    for (int i = 0; i < 4; i++) {
        double run_mm = i < 2 ? length_mm / 2.0 - quarter_mm : length_mm / 3.0;
        double sign = i % 2 == 0 ? 1.0 : -1.0;
        if (run_mm > 60.0 && run_mm + 2.0 * quarter_mm < length_mm) {
            FlatFolds folds = folds_of(0.0, 0.0, run_mm, sign, 60.0);
            folds.run_mm = INFINITY;
            forms[count++] = (Form){folds, 4.0};
        }
    }
    return count;
}

static bool make_stem(FlatSearch *search, uint32_t arm, const Form *form, FlatStem *stem) {
    const FlatChain *chain = &search->chains[arm];
    *stem = (FlatStem){.folds = form->folds, .cost = form->cost};
    if (!flat_chain_lay(search->arena, &search->frame, chain, &form->folds, (FlatPoint){0.0, 0.0},
                        0.0, &stem->path)) {
        return false;
    }
    flat_chain_samples(search->arena, &search->frame, chain, &stem->path, false, &stem->samples);
    flat_room_cut(search->room, 0);
    bool fits = true;
    for (size_t i = 0; i < stem->samples.count && fits; i++) {
        fits = !flat_room_hits(search->room, &stem->samples.rows[i]);
        flat_room_add(search->room, &stem->samples.rows[i]);
    }
    return fits;
}

/* A stem with all that hangs on it; false when something finds no place. The room holds the stem.
 */
static bool make_shape(FlatSearch *search, uint32_t arm, const FlatStem *stem, FlatShape *shape) {
    uint32_t side_count = search->side_counts[arm];
    FlatRoom *room = search->room;
    *shape = (FlatShape){.folds = stem->folds,
                         .chain = search->chains[arm],
                         .samples = stem->samples,
                         .cost = stem->cost};
    if (side_count == 0) {
        return true;
    }
    search->trials_end = 0; /* nothing loose in here */
    search->depth++;
    FlatHang hang = flat_sides_hang(search, &search->chains[arm], search->sides[arm], side_count,
                                    &stem->path, ROUNDS, 1 + side_count / 4, false);
    search->depth--;
    if (hang.failed > 0 || hang.turned > 0) {
        return false;
    }
    shape->places = hang.places;
    shape->place_count = side_count;
    shape->samples = (FlatSamples){
        .rows = ARENA_ARRAY(search->arena, FlatSample, room->samples.count),
        .count = room->samples.count,
        .capacity = room->samples.count,
    };
    memcpy(shape->samples.rows, room->samples.rows,
           room->samples.count * sizeof *room->samples.rows);
    for (uint32_t i = 0; i < side_count; i++) {
        shape->cost += 0.25 * shape->places[i].shape->cost;
    }
    return true;
}

static void make_shapes(FlatSearch *search, uint32_t arm) {
    const FlatChain *chain = &search->chains[arm];
    Form forms[FLAT_STEMS_MOST];
    uint32_t count = list_forms(chain->at_mm[chain->count],
                                flat_radius_mm(&search->frame, chain->arms[0]), forms);
    search->carried[arm] = chain->count;
    for (uint32_t i = 0; i < search->side_counts[arm]; i++) {
        search->carried[arm] += search->carried[search->sides[arm][i].arm];
    }
    search->stems[arm] = ARENA_ARRAY(search->arena, FlatStem, count);
    search->shapes[arm] = ARENA_ARRAY(search->arena, FlatShape, count);
    search->stem_counts[arm] = 0;
    search->shape_counts[arm] = 0;
    uint32_t most = search->side_counts[arm] == 0        ? FLAT_STEMS_MOST
                    : search->carried[arm] <= LARGE_ARMS ? SHAPES_WITH_SIDES
                                                         : 0;
    for (uint32_t i = 0; i < count; i++) {
        FlatStem *stem = &search->stems[arm][search->stem_counts[arm]];
        bool fits = make_stem(search, arm, &forms[i], stem);
        if (!fits && i > 0) {
            continue;
        }
        search->stem_counts[arm]++; /* straight is kept whatever comes near */
        if (fits && search->shape_counts[arm] < most &&
            make_shape(search, arm, stem, &search->shapes[arm][search->shape_counts[arm]])) {
            search->shape_counts[arm]++;
        }
    }
}

/* The stems of a chain that keep clear of themselves; straight is kept whatever comes near. */
static void make_stems(FlatSearch *search, uint32_t arm) {
    const FlatChain *chain = &search->chains[arm];
    Form forms[FLAT_STEMS_MOST];
    uint32_t count = list_forms(chain->at_mm[chain->count],
                                flat_radius_mm(&search->frame, chain->arms[0]), forms);
    search->stems[arm] = ARENA_ARRAY(search->arena, FlatStem, count);
    search->stem_counts[arm] = 0;
    for (uint32_t i = 0; i < count; i++) {
        FlatStem *stem = &search->stems[arm][search->stem_counts[arm]];
        if (make_stem(search, arm, &forms[i], stem) || i == 0) {
            search->stem_counts[arm]++;
        }
    }
}

void flat_shapes_make(FlatSearch *search, uint32_t root, FlatChain *chain, FlatSide **sides,
                      uint32_t *side_count) {
    const FlatTree *tree = search->frame.tree;
    Arena scratch = {0};
    measure(search, root, &scratch);
    uint32_t *heads = ARENA_ARRAY(&scratch, uint32_t, tree->arm_count + 1);
    uint32_t *starts = ARENA_ARRAY(&scratch, uint32_t, tree->arm_count + 1);
    uint32_t count = 0;
    heads[count] = search->frame.incident[search->frame.incident_first[root]];
    starts[count++] = root;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t arm = heads[i];
        make_chain(search, arm, starts[i], &search->chains[arm]);
        search->side_counts[arm] = make_sides(search, &search->chains[arm], &search->sides[arm]);
        for (uint32_t k = 0; k < search->side_counts[arm]; k++) {
            heads[count] = search->sides[arm][k].arm;
            starts[count++] = search->chains[arm].nodes[search->sides[arm][k].at];
        }
    }
    for (uint32_t i = count; i-- > 1;) {
        make_shapes(search, heads[i]);
    }
    *chain = search->chains[heads[0]];
    *sides = search->sides[heads[0]];
    *side_count = search->side_counts[heads[0]];
    arena_free(&scratch);
}

void flat_arms_make(FlatSearch *search, uint32_t root, FlatChain *chain, FlatSide **sides,
                    uint32_t *side_count) {
    const FlatTree *tree = search->frame.tree;
    Arena scratch = {0};
    measure(search, root, &scratch);
    uint32_t head = search->frame.incident[search->frame.incident_first[root]];
    make_chain(search, head, root, chain);
    *side_count = make_sides(search, chain, sides);
    uint32_t *stack = ARENA_ARRAY(&scratch, uint32_t, tree->node_count + 1);
    uint32_t depth = 0;
    stack[depth++] = root;
    while (depth > 0) {
        uint32_t node = stack[--depth];
        for (uint32_t i = search->frame.incident_first[node];
             i < search->frame.incident_first[node + 1]; i++) {
            uint32_t arm = search->frame.incident[i];
            if (arm == search->parent_arm[node]) {
                continue;
            }
            uint32_t next = flat_other(tree, arm, node);
            FlatChain *own = &search->chains[arm];
            *own = (FlatChain){.arms = ARENA_ARRAY(search->arena, uint32_t, 1),
                               .nodes = ARENA_ARRAY(search->arena, uint32_t, 2),
                               .at_mm = ARENA_ARRAY(search->arena, double, 2),
                               .count = 1};
            own->arms[0] = arm;
            own->nodes[0] = node;
            own->nodes[1] = next;
            own->at_mm[1] = tree->arms[arm].length_mm;
            search->side_counts[arm] = 0;
            make_stems(search, arm);
            stack[depth++] = next;
        }
    }
    arena_free(&scratch);
}
