/* Harnesses laid flat beside a plain radial layout (every subtree in its own wedge, all arms
 * straight) of the same trees in the same run: every module of the example, then random trees by
 * size, sums over SEEDS of them. Boards, folds, way of a pen that draws every arm once, and what a
 * checker that knows neither way finds: pairs of branches too near, connectors without room, things
 * on a seam. Parts that do not hang together are laid radially each on boards of their own.
 * `least` is a bound: fewer boards than that have not the ground that arms and connectors cover
 * where nothing else may lie. Nobody knows a layout for it; what is between it and `boards` is not
 * decided. `trials` is the work done, places tried: it is what is gated; milliseconds (processor
 * time) are told.
 *
 *     bench_board [LARGEST_TREE] */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/bench.h"
#include "board/harness_inner.h"
#include "board/packing.h"
#include "support/random_tree.h"

enum { SEEDS = 5 };

/* Work that a layout may take, at most: of the example's largest module, and of a random tree for
 * each of its branches; half more than was needed when these were set. */
#define MODULE_TRIALS 200000ull
#define BRANCH_TRIALS 12000ull

static const FlatShop SHOP = {.board_length_mm = 2440.0,
                              .board_width_mm = 1220.0,
                              .margin_mm = 25.0,
                              .seam_mm = 15.0,
                              .spacing_mm = 10.0,
                              .hand_mm = 12.0,
                              .zone_mm = 80.0};

typedef struct Quality {
    uint32_t layouts;
    uint32_t clean;
    uint32_t boards;
    uint32_t least;
    uint32_t folds;
    uint32_t turned;
    double path_mm;
    double travel_mm;
    uint32_t crossings;
    uint32_t near;
    uint32_t hands;
    uint32_t off;
    uint64_t trials;
    double worst_s;
    double s;
} Quality;

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* No layout takes fewer boards. Beyond the zones of its breakouts an arm has a strip to itself, as
 * wide as it is and half the spacing on either side; the margin is wider than that, so all of it
 * lies on boards. Connectors have theirs. */
static uint32_t least_boards(const FlatTree *tree, const FlatShop *shop, const Flat *flat) {
    double ground_mm2 = 0.0;
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        const FlatArm *arm = &tree->arms[i];
        double zones_mm = flat->nodes[arm->a].zone_mm + flat->nodes[arm->b].zone_mm;
        ground_mm2 += fmax(0.0, arm->length_mm - zones_mm) * (arm->od_mm + shop->spacing_mm);
    }
    for (uint32_t i = 0; i < tree->node_count; i++) {
        ground_mm2 += tree->ends[i].width_mm * tree->ends[i].depth_mm;
    }
    return 1 + (uint32_t)(ground_mm2 / (shop->board_length_mm * shop->board_width_mm));
}

static void add(Arena *scratch, const FlatTree *tree, const FlatShop *shop, const Flat *flat,
                double used_s, Quality *sum) {
    FlatReport found;
    flat_check(scratch, tree, shop, flat, &found);
    sum->layouts++;
    sum->clean += flat_is_clean(&found) ? 1 : 0;
    sum->boards += flat->columns * flat->rows;
    sum->least += least_boards(tree, shop, flat);
    sum->folds += flat->folds;
    sum->turned += flat->turned;
    sum->path_mm += flat->path_mm;
    sum->travel_mm += flat->travel_mm;
    sum->crossings += found.crossings;
    sum->near += found.close;
    sum->hands += found.hands;
    sum->off += found.off_board;
    sum->trials += flat->trials;
    sum->s += used_s;
    sum->worst_s = fmax(sum->worst_s, used_s);
}

/* The part of a tree that hangs together with `root`, as a tree of its own. */
static FlatTree part_of(Arena *arena, const FlatTree *tree, uint32_t root, bool *seen) {
    uint32_t *renamed = ARENA_ARRAY(arena, uint32_t, tree->node_count + 1);
    FlatArm *arms = ARENA_ARRAY(arena, FlatArm, tree->arm_count + 1);
    FlatEnd *ends = ARENA_ARRAY(arena, FlatEnd, tree->node_count + 1);
    bool *own = ARENA_ARRAY(arena, bool, tree->node_count + 1);
    FlatTree part = {.arms = arms, .ends = ends};
    own[root] = true;
    for (bool grown = true; grown;) {
        grown = false;
        for (uint32_t i = 0; i < tree->arm_count; i++) {
            const FlatArm *arm = &tree->arms[i];
            if (own[arm->a] != own[arm->b]) {
                own[arm->a] = own[arm->b] = grown = true;
            }
        }
    }
    for (uint32_t i = 0; i < tree->node_count; i++) {
        if (own[i]) {
            seen[i] = true;
            renamed[i] = part.node_count;
            ends[part.node_count++] = tree->ends[i];
        }
    }
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        if (own[tree->arms[i].a]) {
            arms[part.arm_count] = tree->arms[i];
            arms[part.arm_count].a = renamed[tree->arms[i].a];
            arms[part.arm_count++].b = renamed[tree->arms[i].b];
        }
    }
    return part;
}

static void lay_radial(const FlatTree *tree, const FlatShop *shop, Quality *sum) {
    Arena arena = {0};
    bool *seen = ARENA_ARRAY(&arena, bool, tree->node_count + 1);
    Quality parts = {0};
    for (uint32_t root = 0; root < tree->node_count; root++) {
        if (!seen[root]) {
            FlatTree part = part_of(&arena, tree, root, seen);
            Flat flat;
            double start_s = now_s();
            flat_radial(&arena, &part, shop, &flat);
            add(&arena, &part, shop, &flat, now_s() - start_s, &parts);
        }
    }
    sum->layouts++;
    sum->clean += parts.clean == parts.layouts ? 1 : 0;
    sum->boards += parts.boards;
    sum->path_mm += parts.path_mm;
    sum->travel_mm += parts.travel_mm;
    sum->crossings += parts.crossings;
    sum->near += parts.near;
    sum->hands += parts.hands;
    sum->off += parts.off;
    sum->s += parts.s;
    arena_free(&arena);
}

static void lay_ours(const FlatTree *tree, const FlatShop *shop, Quality *sum) {
    Arena arena = {0};
    Flat flat;
    double start_s = now_s();
    flat_solve(&arena, tree, shop, &flat);
    add(&arena, tree, shop, &flat, now_s() - start_s, sum);
    arena_free(&arena);
}

static void head(const char *what) {
    printf("\n%-12s          |                   radial                    |"
           "                                        ours\n",
           what);
    printf("          branches   m | boards   pen m clean  cross  near hands    ms |"
           " boards least folds turned   pen m clean  cross  near hands  off    trials      ms   "
           "worst\n");
}

static void print_row(const char *name, uint32_t branches, const Quality *radial,
                      const Quality *ours) {
    printf("%-10s %7u %4.0f | %6u %7.1f %5u %6u %5u %5u %5.1f | %6u %5u %5u %6u %7.1f %5u %6u %5u "
           "%5u %4u %9llu %7.1f %7.1f\n",
           name, branches, ours->path_mm / 1000.0, radial->boards, radial->travel_mm / 1000.0,
           radial->clean, radial->crossings, radial->near, radial->hands, radial->s * 1e3,
           ours->boards, ours->least, ours->folds, ours->turned, ours->travel_mm / 1000.0,
           ours->clean, ours->crossings, ours->near, ours->hands, ours->off,
           (unsigned long long)ours->trials, ours->s * 1e3, ours->worst_s * 1e3);
    fflush(stdout);
}

/* --- bends --------------------------------------------------------------------------------------
 */

/* Radius in its bundle of everything that lies in a segment, as Fits.wires. */
static double *radii_of(Arena *arena, const Model *model, const Fits *fits) {
    double *radius_mm = ARENA_ARRAY(arena, double, fits->wire_count + 1);
    for (SegmentId i = 0; i < model->set->segment.count; i++) {
        const BundleFit *fit = &fits->bundles[i];
        PackingCircle circles[PACKING_MOST];
        for (uint32_t k = 0; k < fit->wire_count && fit->wire_count <= PACKING_MOST; k++) {
            circles[k] =
                (PackingCircle){.diameter_mm = fits->wires[fit->wire_first + k].diameter_mm};
        }
        if (fit->wire_count > 0 && fit->wire_count <= PACKING_MOST) {
            packing_round(circles, fit->wire_count);
        }
        for (uint32_t k = 0; k < fit->wire_count; k++) {
            radius_mm[fit->wire_first + k] = hypot(circles[k].x_mm, circles[k].y_mm);
        }
    }
    return radius_mm;
}

/* Longer way of a conductor on the outside of its run's bends, at its place in each bundle. */
static double bend_by_place_mm(const Proof *proof, const HarnessRun *run, ConductorId conductor,
                               const double *radius_mm) {
    const HarnessSet *set = &proof->bench->harness;
    const Fits *fits = &proof->bench->fits;
    double last[3] = {0};
    double last_mm = NAN;
    double sum_mm = 0.0;
    for (uint32_t i = run->step_first; i < run->step_first + run->step_count; i++) {
        SegmentId segment = set->arms[set->steps[i].arm].segment;
        double along[3];
        if (!route_segment_direction(&proof->model, segment, along)) {
            continue;
        }
        const BundleFit *fit = &fits->bundles[segment];
        double own_mm = 0.0;
        for (uint32_t k = fit->wire_first; k < fit->wire_first + fit->wire_count; k++) {
            bool own = run->jacketed ? fits->wires[k].cable == run->cable
                                     : fits->wires[k].conductor == conductor;
            own_mm = own ? radius_mm[k] : own_mm;
        }
        double dot = 0.0;
        for (int axis = 0; axis < 3; axis++) {
            along[axis] = set->steps[i].backward ? -along[axis] : along[axis];
            dot += last[axis] * along[axis];
        }
        sum_mm += isnan(last_mm) ? 0.0 : acos(fmin(1.0, fmax(-1.0, dot))) * fmin(last_mm, own_mm);
        memcpy(last, along, sizeof last);
        last_mm = own_mm;
    }
    return sum_mm;
}

/* Sums over all pieces, and how many cut lengths would be other by whole steps. */
static void bench_bends(Proof *proof) {
    Arena arena = {0};
    bench_step(proof, BENCH_FIT);
    const HarnessSet *set = &proof->bench->harness;
    const double *radius_mm = radii_of(&arena, &proof->model, &proof->bench->fits);
    double least_mm = model_limit(&proof->model, LENGTH_LIMIT_BEND);
    double step_mm = model_limit(&proof->model, LENGTH_LIMIT_STEP);
    double outer_sum_mm = 0.0;
    double place_sum_mm = 0.0;
    double longest_mm = 0.0;
    double shortest_mm = 0.0;
    uint32_t pieces = 0;
    uint32_t longer = 0;
    uint32_t other = 0;
    for (uint32_t i = 0; i < set->ends->piece_count; i++) {
        const LengthParts *length = &set->pieces[i].length;
        ConductorId conductor = set->ends->pieces[i].conductor;
        if (conductor == ID_NONE || isnan(length->cut_mm)) {
            continue;
        }
        double place_mm =
            bend_by_place_mm(proof, &set->runs[set->pieces[i].run], conductor, radius_mm);
        place_mm = place_mm >= least_mm ? place_mm : 0.0;
        double rest_mm = length->cut_mm - length->round_mm - length->bend_mm;
        pieces++;
        outer_sum_mm += length->bend_mm;
        place_sum_mm += place_mm;
        longer += place_mm > length->bend_mm + 0.01 ? 1 : 0;
        longest_mm = fmax(longest_mm, place_mm - length->bend_mm);
        shortest_mm = fmax(shortest_mm, length->bend_mm - place_mm);
        other += ceil((rest_mm + place_mm) / step_mm - 1e-6) !=
                         ceil((rest_mm + length->bend_mm) / step_mm - 1e-6)
                     ? 1
                     : 0;
    }
    printf(
        "\nbends: %u pieces, %.0f mm as outermost, %.0f mm at their places in a packing: at most "
        "%.1f mm less; %u would get more, at most %.1f mm; %u cut lengths would be others\n",
        pieces, outer_sum_mm, place_sum_mm, shortest_mm, longer, longest_mm, other);
    arena_free(&arena);
}

/* --- all ----------------------------------------------------------------------------------------
 */

/* Every module of the example; false when one is not clean or took too much work. */
static bool bench_example(void) {
    Proof proof;
    ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
    proof_run(MARLING_SOURCE_DIR "/examples/osier_mended", &options, &proof);
    if (!proof.complete) {
        return false;
    }
    bench_step(&proof, BENCH_BOARD);
    const BoardSet *set = &proof.bench->boards;
    bool good = true;
    head("module");
    for (uint32_t i = 0; i < set->count; i++) {
        const Board *board = &set->boards[i];
        Quality radial = {0};
        Quality ours = {0};
        if (board->tree.arm_count == 0) {
            continue;
        }
        lay_radial(&board->tree, &set->shop, &radial);
        lay_ours(&board->tree, &set->shop, &ours);
        print_row(proof.set.module.rows[set->harness->harnesses[board->harness].module].module,
                  board->tree.arm_count, &radial, &ours);
        good = good && ours.clean == 1 && ours.trials <= MODULE_TRIALS;
    }
    bench_bends(&proof);
    proof_free(&proof);
    return good;
}

/* Random trees of one size; false when they took too much work. */
static bool bench_trees(uint32_t branches) {
    Quality radial = {0};
    Quality ours = {0};
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        Arena arena = {0};
        FlatTree tree = random_tree(&arena, seed, branches);
        lay_radial(&tree, &SHOP, &radial);
        lay_ours(&tree, &SHOP, &ours);
        arena_free(&arena);
    }
    char name[24];
    snprintf(name, sizeof name, "%d trees", SEEDS);
    print_row(name, branches, &radial, &ours);
    return ours.trials <= BRANCH_TRIALS * branches * SEEDS;
}

int main(int argc, char **argv) {
    static const uint32_t SIZES[] = {10, 20, 40, 60, 120, 200, 300};
    uint32_t largest = argc > 1 ? (uint32_t)strtoul(argv[1], NULL, 10) : UINT32_MAX;
    printf("harnesses laid flat on boards of %.0f x %.0f mm; `clean`: layouts without any fault\n",
           SHOP.board_length_mm, SHOP.board_width_mm);
    bool good = bench_example();
    head("by chance");
    for (size_t i = 0; i < sizeof SIZES / sizeof *SIZES && SIZES[i] <= largest; i++) {
        good = bench_trees(SIZES[i]) && good;
    }
    printf("\nwork: %s\n", good ? "within its bounds" : "TOO MUCH, or a module that is not clean");
    return good ? 0 : 1;
}
