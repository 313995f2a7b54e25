/* Boards against GEOS, on the display list that every writer draws from: middle lines and
 * connectors are taken from it as they will be on paper, arcs cut into chords no further than
 * SAGITTA_MM off. Lengths are as asked for, no two branches cross or come nearer than the spacing
 * outside the zones of breakouts, connectors have room, everything is on a board. For every module
 * of the examples and for random trees; with MARLING_BOARDS=all for 500 of 10 to 300 branches. */
#include <geos_c.h>
#include <stdlib.h>

#include "app/bench.h"
#include "base/units.h"
#include "support/job.h"
#include "support/random_board.h"

#define SAGITTA_MM 0.001
#define ROUND_MM 0.01 /* of distances: chords and sums */
#define LENGTH_MM 1e-6
#define JOIN_MM 1e-6
#define MEET_MM 0.01
#define BOTH_SIDES_RAD 4.0 /* docs/theory/board.md */

typedef struct Spot {
    double x;
    double y;
} Spot;

/* A corner of a middle line, and how far along its arm. */
typedef struct Corner {
    Spot at;
    double way_mm;
} Corner;

typedef struct Line {
    Corner *corners;
    size_t count;
    size_t capacity;
} Line;

/* Part of an arm, cut where zones begin and end. */
typedef struct Strip {
    uint32_t arm;
    uint32_t *zones; /* nodes in whose zone it lies */
    size_t zone_count;
    GEOSGeometry *shape;
} Strip;

typedef struct Part {
    uint32_t node;
    double low_mm;
    double high_mm;
} Part;

typedef struct Parts {
    Part *rows;
    size_t count;
    size_t capacity;
} Parts;

typedef struct Measure {
    Arena *arena;
    GEOSContextHandle_t geos;
    const Board *board;
    const FlatShop *shop;
    const DrawList *list;
    Spot datum;
    Line *lines;           /* by arm */
    GEOSGeometry **whole;  /* by arm */
    GEOSGeometry **shells; /* by node; NULL: none */
    Parts *parts;          /* by arm */
    Strip *strips;
    size_t strip_count;
    size_t strip_capacity;
    size_t pairs; /* looked at */
    /* what was found */
    uint32_t crossings;
    uint32_t close;
    uint32_t hands;
    uint32_t off_board;
    double length_off_mm;
} Measure;

/* --- from the display list ----------------------------------------------------------------------
 */

static void add_corner(Measure *measure, Line *line, Spot at, double way_mm) {
    *ARENA_PUSH(measure->arena, line->corners, line->count, line->capacity) = (Corner){at, way_mm};
}

/* y upwards from here on. */
static Spot item_place(const Measure *measure, const DrawItem *item, double share) {
    const DrawPoint *points = draw_points(measure->list, item);
    if (item->kind == DRAW_PATH) {
        return (Spot){points[0].x_mm + share * (points[1].x_mm - points[0].x_mm),
                      -points[0].y_mm - share * (points[1].y_mm - points[0].y_mm)};
    }
    double rad = units_rad_from_deg(item->from_deg + share * (item->to_deg - item->from_deg));
    return (Spot){points[0].x_mm + item->radius_mm * cos(rad),
                  -points[0].y_mm + item->radius_mm * sin(rad)};
}

static double apart_mm(Spot a, Spot b) {
    return hypot(a.x - b.x, a.y - b.y);
}

/* Adds a piece to the end of its arm's line, from whichever end of it lies there. */
static void add_piece(Measure *measure, const DrawItem *item, Spot from, Line *line) {
    bool backward = apart_mm(item_place(measure, item, 1.0), from) <
                    apart_mm(item_place(measure, item, 0.0), from);
    assert_true(apart_mm(item_place(measure, item, backward ? 1.0 : 0.0), from) < JOIN_MM * 1e3);
    size_t parts = 1;
    double length_mm = apart_mm(item_place(measure, item, 0.0), item_place(measure, item, 1.0));
    if (item->kind == DRAW_ARC) {
        double sweep_rad = units_rad_from_deg(item->to_deg - item->from_deg);
        length_mm = sweep_rad * item->radius_mm;
        parts = 1 + (size_t)(sweep_rad / sqrt(8.0 * SAGITTA_MM / item->radius_mm));
    }
    double way_mm = line->count == 0 ? 0.0 : line->corners[line->count - 1].way_mm;
    if (line->count == 0) {
        add_corner(measure, line, from, 0.0);
    }
    for (size_t i = 1; i <= parts; i++) {
        double share = (double)i / (double)parts;
        add_corner(measure, line, item_place(measure, item, backward ? 1.0 - share : share),
                   way_mm + share * length_mm);
    }
}

static Spot node_place(const Measure *measure, uint32_t node) {
    const FlatNode *at = &measure->board->flat.nodes[node];
    return (Spot){measure->datum.x + at->x_mm, measure->datum.y + at->y_mm};
}

static void find_datum(Measure *measure) {
    size_t found = 0;
    for (size_t i = 0; i < measure->list->count; i++) {
        const DrawItem *item = &measure->list->items[i];
        if (item->kind == DRAW_ARC && item->layer == LAYER_BOARD) {
            measure->datum = (Spot){draw_points(measure->list, item)->x_mm,
                                    -draw_points(measure->list, item)->y_mm};
            found++;
        }
    }
    assert_int_equal(found, 1);
}

/* Whether the item is of the row whose key is the module and that name. */
static bool is_of(const DrawItem *item, const char *name) {
    const char *blank = strchr(item->key, ' ');
    return blank != NULL && strcmp(blank + 1, name) == 0;
}

static GEOSGeometry *shape_of(const Measure *measure, const Corner *corners, size_t count,
                              bool polygon) {
    GEOSCoordSequence *sequence =
        GEOSCoordSeq_create_r(measure->geos, (unsigned)(count + (polygon ? 1 : 0)), 2);
    for (size_t i = 0; i < count + (polygon ? 1 : 0); i++) {
        GEOSCoordSeq_setX_r(measure->geos, sequence, (unsigned)i, corners[i % count].at.x);
        GEOSCoordSeq_setY_r(measure->geos, sequence, (unsigned)i, corners[i % count].at.y);
    }
    return polygon ? GEOSGeom_createPolygon_r(measure->geos,
                                              GEOSGeom_createLinearRing_r(measure->geos, sequence),
                                              NULL, 0)
                   : GEOSGeom_createLineString_r(measure->geos, sequence);
}

/* Arms come one after the other, each from its node a to its node b. */
static void read_lines(Measure *measure, const BoardSet *set) {
    const Board *board = measure->board;
    uint32_t arm = 0;
    for (size_t i = 0; i < measure->list->count; i++) {
        const DrawItem *item = &measure->list->items[i];
        if (item->layer != LAYER_MIDDLE || item->table != TABLE_board_branch) {
            continue;
        }
        while (arm < board->tree.arm_count && !is_of(item, board_arm_name(set, board, arm))) {
            arm++;
        }
        assert_true(arm < board->tree.arm_count);
        Line *line = &measure->lines[arm];
        add_piece(measure, item,
                  line->count == 0 ? node_place(measure, board->tree.arms[arm].a)
                                   : line->corners[line->count - 1].at,
                  line);
    }
    for (arm = 0; arm < board->tree.arm_count; arm++) {
        const Line *line = &measure->lines[arm];
        assert_true(line->count > 1);
        const Corner *last = &line->corners[line->count - 1];
        measure->length_off_mm =
            fmax(measure->length_off_mm, fabs(last->way_mm - board->tree.arms[arm].length_mm));
        assert_true(apart_mm(last->at, node_place(measure, board->tree.arms[arm].b)) <
                    JOIN_MM * 1e3);
        measure->whole[arm] = shape_of(measure, line->corners, line->count, false);
    }
}

static void read_shells(Measure *measure, const BoardSet *set) {
    const Board *board = measure->board;
    for (size_t i = 0; i < measure->list->count; i++) {
        const DrawItem *item = &measure->list->items[i];
        if (item->layer != LAYER_BOX || item->table != TABLE_board_node) {
            continue;
        }
        uint32_t node = 0;
        while (node < board->tree.node_count && !is_of(item, board_node_name(set, board, node))) {
            node++;
        }
        assert_true(node < board->tree.node_count && measure->shells[node] == NULL);
        Corner corners[4];
        assert_int_equal(item->point_count, 4);
        for (uint32_t k = 0; k < 4; k++) {
            DrawPoint at = draw_points(measure->list, item)[k];
            corners[k] = (Corner){{at.x_mm, -at.y_mm}, 0.0};
        }
        measure->shells[node] = shape_of(measure, corners, 4, true);
    }
    for (uint32_t node = 0; node < board->tree.node_count; node++) {
        assert_int_equal(measure->shells[node] != NULL, board->tree.ends[node].depth_mm > 0.0);
    }
}

/* --- zones --------------------------------------------------------------------------------------
 */

typedef struct Step {
    uint32_t node;
    uint32_t by_arm;
    double way_mm;
} Step;

static double zone_mm(const Measure *measure, uint32_t node) {
    const FlatTree *tree = &measure->board->tree;
    double sum_mm = 0.0;
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        if (tree->arms[i].a == node || tree->arms[i].b == node) {
            sum_mm += tree->arms[i].od_mm + measure->shop->spacing_mm;
        }
    }
    return fmax(measure->shop->zone_mm, sum_mm / BOTH_SIDES_RAD);
}

static void reach_out(Measure *measure, uint32_t centre) {
    const FlatTree *tree = &measure->board->tree;
    double zone = zone_mm(measure, centre);
    Step *steps = NULL;
    size_t count = 0;
    size_t capacity = 0;
    *ARENA_PUSH(measure->arena, steps, count, capacity) = (Step){centre, FLAT_NONE, 0.0};
    for (size_t i = 0; i < count; i++) {
        Step step = steps[i];
        for (uint32_t arm = 0; arm < tree->arm_count; arm++) {
            const FlatArm *row = &tree->arms[arm];
            bool forward = row->a == step.node;
            if (arm == step.by_arm || (!forward && row->b != step.node)) {
                continue;
            }
            double far = fmin(row->length_mm, zone - step.way_mm);
            Parts *parts = &measure->parts[arm];
            *ARENA_PUSH(measure->arena, parts->rows, parts->count, parts->capacity) =
                forward ? (Part){centre, 0.0, far}
                        : (Part){centre, row->length_mm - far, row->length_mm};
            if (step.way_mm + row->length_mm < zone) {
                *ARENA_PUSH(measure->arena, steps, count, capacity) =
                    (Step){forward ? row->b : row->a, arm, step.way_mm + row->length_mm};
            }
        }
    }
}

/* --- strips -------------------------------------------------------------------------------------
 */

/* The corners of a line from `low` to `high`. */
static Line part_of(Measure *measure, const Line *line, double low_mm, double high_mm) {
    Line part = {0};
    for (size_t i = 1; i < line->count; i++) {
        const Corner *a = &line->corners[i - 1];
        const Corner *b = &line->corners[i];
        double from = fmax(low_mm, a->way_mm);
        double to = fmin(high_mm, b->way_mm);
        for (int end = 0; end < 2 && to > from; end++) {
            double way = end == 0 ? from : to;
            double share = (way - a->way_mm) / (b->way_mm - a->way_mm);
            if (end == 1 || part.count == 0) {
                add_corner(measure, &part,
                           (Spot){a->at.x + share * (b->at.x - a->at.x),
                                  a->at.y + share * (b->at.y - a->at.y)},
                           way);
            }
        }
    }
    return part;
}

static int by_number(const void *a, const void *b) {
    double x = *(const double *)a;
    double y = *(const double *)b;
    return x < y ? -1 : x > y;
}

static void cut_arm(Measure *measure, uint32_t arm) {
    const Parts *parts = &measure->parts[arm];
    double length_mm = measure->board->tree.arms[arm].length_mm;
    double *cuts = ARENA_ARRAY(measure->arena, double, 2 * parts->count + 2);
    size_t count = 0;
    cuts[count++] = 0.0;
    cuts[count++] = length_mm;
    for (size_t i = 0; i < parts->count; i++) {
        cuts[count++] = parts->rows[i].low_mm;
        cuts[count++] = parts->rows[i].high_mm;
    }
    qsort(cuts, count, sizeof *cuts, by_number);
    for (size_t i = 1; i < count; i++) {
        if (cuts[i] - cuts[i - 1] < 1e-6) {
            continue;
        }
        Strip strip = {.arm = arm,
                       .zones = ARENA_ARRAY(measure->arena, uint32_t, parts->count + 1)};
        for (size_t k = 0; k < parts->count; k++) {
            const Part *part = &parts->rows[k];
            if (part->low_mm <= cuts[i - 1] + 1e-6 && part->high_mm >= cuts[i] - 1e-6) {
                strip.zones[strip.zone_count++] = part->node;
            }
        }
        Line line = part_of(measure, &measure->lines[arm], cuts[i - 1], cuts[i]);
        strip.shape = shape_of(measure, line.corners, line.count, false);
        *ARENA_PUSH(measure->arena, measure->strips, measure->strip_count,
                    measure->strip_capacity) = strip;
    }
}

static bool in_one_zone(const Strip *p, const Strip *q) {
    for (size_t i = 0; i < p->zone_count; i++) {
        for (size_t k = 0; k < q->zone_count; k++) {
            if (p->zones[i] == q->zones[k]) {
                return true;
            }
        }
    }
    return false;
}

/* --- pairs --------------------------------------------------------------------------------------
 */

static double distance_mm(const Measure *measure, const GEOSGeometry *a, const GEOSGeometry *b) {
    double mm = 0.0;
    assert_int_equal(GEOSDistance_r(measure->geos, a, b, &mm), 1);
    return mm;
}

static double half_mm(const Measure *measure, uint32_t arm) {
    return measure->board->tree.arms[arm].od_mm / 2.0;
}

/* Whether two arms meet other than at their common node. */
static bool crosses(const Measure *measure, uint32_t one, uint32_t two) {
    const FlatArm *a = &measure->board->tree.arms[one];
    const FlatArm *b = &measure->board->tree.arms[two];
    if (GEOSIntersects_r(measure->geos, measure->whole[one], measure->whole[two]) != 1) {
        return false;
    }
    uint32_t node = a->a == b->a || a->a == b->b   ? a->a
                    : a->b == b->a || a->b == b->b ? a->b
                                                   : FLAT_NONE;
    if (node == FLAT_NONE) {
        return true;
    }
    GEOSGeometry *meet =
        GEOSIntersection_r(measure->geos, measure->whole[one], measure->whole[two]);
    Spot at = node_place(measure, node);
    GEOSGeometry *point = GEOSGeom_createPointFromXY_r(measure->geos, at.x, at.y);
    double far_mm = 0.0;
    assert_int_equal(GEOSHausdorffDistance_r(measure->geos, meet, point, &far_mm), 1);
    GEOSGeom_destroy_r(measure->geos, meet);
    GEOSGeom_destroy_r(measure->geos, point);
    return far_mm > MEET_MM;
}

typedef struct Asked {
    Measure *measure;
    size_t strip;
} Asked;

static void look_at_pair(void *other, void *user) {
    Asked *asked = user;
    Measure *measure = asked->measure;
    const Strip *p = &measure->strips[asked->strip];
    const Strip *q = other;
    if (q <= p || q->arm == p->arm) {
        return;
    }
    measure->pairs++;
    if (!in_one_zone(p, q) && distance_mm(measure, p->shape, q->shape) - half_mm(measure, p->arm) -
                                      half_mm(measure, q->arm) <
                                  measure->shop->spacing_mm - ROUND_MM) {
        measure->close++;
    }
}

static void look_at_strips(Measure *measure) {
    double thick_mm = 0.0;
    for (uint32_t i = 0; i < measure->board->tree.arm_count; i++) {
        thick_mm = fmax(thick_mm, measure->board->tree.arms[i].od_mm);
    }
    double reach_mm = thick_mm + measure->shop->spacing_mm;
    GEOSSTRtree *tree = GEOSSTRtree_create_r(measure->geos, 10);
    for (size_t i = 0; i < measure->strip_count; i++) {
        GEOSSTRtree_insert_r(measure->geos, tree, measure->strips[i].shape, &measure->strips[i]);
    }
    for (size_t i = 0; i < measure->strip_count; i++) {
        GEOSGeometry *wide = GEOSBuffer_r(measure->geos, measure->strips[i].shape, reach_mm, 2);
        GEOSGeometry *around = GEOSEnvelope_r(measure->geos, wide);
        Asked asked = {measure, i};
        GEOSSTRtree_query_r(measure->geos, tree, around, look_at_pair, &asked);
        GEOSGeom_destroy_r(measure->geos, wide);
        GEOSGeom_destroy_r(measure->geos, around);
    }
    GEOSSTRtree_destroy_r(measure->geos, tree);
}

static void look_at_crossings(Measure *measure) {
    uint32_t count = measure->board->tree.arm_count;
    for (uint32_t i = 0; i < count; i++) {
        measure->crossings += GEOSisSimple_r(measure->geos, measure->whole[i]) == 1 ? 0 : 1;
        for (uint32_t k = i + 1; k < count; k++) {
            measure->crossings += crosses(measure, i, k) ? 1 : 0;
        }
    }
}

static void look_at_shells(Measure *measure) {
    const FlatTree *tree = &measure->board->tree;
    double hand_mm = measure->shop->hand_mm - ROUND_MM;
    for (uint32_t node = 0; node < tree->node_count; node++) {
        const GEOSGeometry *shell = measure->shells[node];
        for (uint32_t arm = 0; arm < tree->arm_count && shell != NULL; arm++) {
            bool own = tree->arms[arm].a == node || tree->arms[arm].b == node;
            bool near =
                !own &&
                distance_mm(measure, shell, measure->whole[arm]) - half_mm(measure, arm) < hand_mm;
            measure->hands += near ? 1 : 0;
        }
        for (uint32_t other = 0; other < node && shell != NULL; other++) {
            bool near = measure->shells[other] != NULL &&
                        distance_mm(measure, shell, measure->shells[other]) < hand_mm;
            measure->hands += near ? 1 : 0;
        }
    }
}

static GEOSGeometry *rectangle(const Measure *measure, double left, double low, double right,
                               double high) {
    Corner corners[4] = {
        {{left, low}, 0.0}, {{right, low}, 0.0}, {{right, high}, 0.0}, {{left, high}, 0.0}};
    for (int i = 0; i < 4; i++) {
        corners[i].at.x += measure->datum.x;
        corners[i].at.y += measure->datum.y;
    }
    return shape_of(measure, corners, 4, true);
}

/* Boards side by side as one rectangle inside the margin; nothing sticks out of it. */
static void look_at_boards(Measure *measure) {
    const Flat *flat = &measure->board->flat;
    const FlatShop *shop = measure->shop;
    double edge_mm = shop->margin_mm - ROUND_MM;
    GEOSGeometry *all =
        rectangle(measure, edge_mm, edge_mm,
                  flat->columns * (shop->board_length_mm + shop->gap_mm) - shop->gap_mm - edge_mm,
                  flat->rows * (shop->board_width_mm + shop->gap_mm) - shop->gap_mm - edge_mm);
    for (uint32_t i = 0; i < measure->board->tree.arm_count; i++) {
        GEOSGeometry *body =
            GEOSBuffer_r(measure->geos, measure->whole[i], half_mm(measure, i), 64);
        measure->off_board += GEOSCovers_r(measure->geos, all, body) == 1 ? 0 : 1;
        GEOSGeom_destroy_r(measure->geos, body);
    }
    for (uint32_t i = 0; i < measure->board->tree.node_count; i++) {
        bool off =
            measure->shells[i] != NULL && GEOSCovers_r(measure->geos, all, measure->shells[i]) != 1;
        measure->off_board += off ? 1 : 0;
    }
    GEOSGeom_destroy_r(measure->geos, all);
}

/* --- a board ------------------------------------------------------------------------------------
 */

static Measure measured(Arena *arena, DrawFonts *fonts, const DrawView *view, const Board *board,
                        const FlatShop *shop) {
    DrawList list;
    board_plot_draw(arena, fonts, view, board, &list);
    Measure measure = {
        .arena = arena, .geos = GEOS_init_r(), .board = board, .shop = shop, .list = &list};
    measure.lines = ARENA_ARRAY(arena, Line, board->tree.arm_count);
    measure.whole = ARENA_ARRAY(arena, GEOSGeometry *, board->tree.arm_count);
    measure.parts = ARENA_ARRAY(arena, Parts, board->tree.arm_count);
    measure.shells = ARENA_ARRAY(arena, GEOSGeometry *, board->tree.node_count);
    find_datum(&measure);
    read_lines(&measure, view->boards);
    read_shells(&measure, view->boards);
    for (uint32_t i = 0; i < board->tree.node_count; i++) {
        reach_out(&measure, i);
    }
    for (uint32_t i = 0; i < board->tree.arm_count; i++) {
        cut_arm(&measure, i);
    }
    look_at_strips(&measure);
    look_at_crossings(&measure);
    look_at_shells(&measure);
    look_at_boards(&measure);
    for (size_t i = 0; i < measure.strip_count; i++) {
        GEOSGeom_destroy_r(measure.geos, measure.strips[i].shape);
    }
    for (uint32_t i = 0; i < board->tree.arm_count; i++) {
        GEOSGeom_destroy_r(measure.geos, measure.whole[i]);
    }
    for (uint32_t i = 0; i < board->tree.node_count; i++) {
        GEOSGeom_destroy_r(measure.geos, measure.shells[i]);
    }
    GEOS_finish_r(measure.geos);
    measure.list = NULL;
    return measure;
}

static bool is_clean(const Measure *found) {
    return found->crossings + found->close + found->hands + found->off_board == 0 &&
           found->length_off_mm < LENGTH_MM;
}

static void assert_clean(const Measure *found, const char *name) {
    if (!is_clean(found)) {
        fail_msg("%s: %u crossings, %u too near, %u without room for hands, %u off the boards, "
                 "lengths %.6f mm off",
                 name, found->crossings, found->close, found->hands, found->off_board,
                 found->length_off_mm);
    }
}

/* --- tests --------------------------------------------------------------------------------------
 */

static void every_module_of_the_examples(void **state) {
    (void)state;
    static const char *const FOLDERS[] = {MARLING_SOURCE_DIR "/examples/first",
                                          MARLING_SOURCE_DIR "/examples/osier_mended"};
    uint32_t boards = 0;
    for (size_t i = 0; i < 2; i++) {
        Proof proof;
        ProofOptions options = {.library = MARLING_SOURCE_DIR "/library", .no_faults = true};
        proof_run(FOLDERS[i], &options, &proof);
        assert_true(proof.complete);
        bench_step(&proof, BENCH_BOARD);
        DrawView view = {.set = &proof.set,
                         .model = &proof.model,
                         .harness = &proof.bench->harness,
                         .boards = &proof.bench->boards,
                         .hash = "00000000",
                         .version = "test"};
        DrawFonts *fonts = fonts_open();
        for (uint32_t k = 0; k < view.boards->count; k++) {
            const Board *board = &view.boards->boards[k];
            if (board->flat.piece_count > 0) {
                Arena arena = {0};
                Measure found = measured(&arena, fonts, &view, board, &view.boards->shop);
                assert_clean(&found, board_module(&view, board));
                assert_true(found.pairs > 0);
                arena_free(&arena);
                boards++;
            }
        }
        fonts_close(fonts);
        proof_free(&proof);
    }
    assert_int_equal(boards, 10);
}

/* How many of `count` trees are clean, by this measure and by the layout's own checker. What that
 * one calls clean must be so here. */
static uint32_t random_trees(uint32_t arms, uint32_t count) {
    uint32_t clean = 0;
    DrawFonts *fonts = fonts_open();
    for (uint64_t seed = 1; seed <= count; seed++) {
        Arena arena = {0};
        RandomBoard *made = ARENA_NEW(&arena, RandomBoard);
        random_board(&arena, seed, arms, made);
        Measure found = measured(&arena, fonts, &made->view, &made->board, &RANDOM_SHOP);
        assert_true(found.length_off_mm < LENGTH_MM);
        bool told_clean = flat_is_clean(&made->board.report);
        assert_true(is_clean(&found) || !told_clean);
        if (told_clean) {
            clean++;
        } else {
            print_message("%u branches, seed %u: %u crossings, %u too near, %u hands, %u off\n",
                          arms, (unsigned)seed, found.crossings, found.close, found.hands,
                          found.off_board);
        }
        arena_free(&arena);
    }
    fonts_close(fonts);
    print_message("%u branches: %u of %u clean\n", arms, clean, count);
    return clean;
}

static void random_trees_of_growing_size(void **state) {
    (void)state;
    static const uint32_t FEW[][2] = {{10, 20}, {20, 20}, {40, 10}, {60, 5}};
    static const uint32_t ALL[][2] = {{10, 60},  {20, 80},  {40, 80},  {60, 80},  {90, 60},
                                      {120, 50}, {160, 30}, {200, 30}, {250, 15}, {300, 15}};
    const char *asked = getenv("MARLING_BOARDS");
    bool all = asked != NULL && strcmp(asked, "all") == 0;
    uint32_t bad = 0;
    for (size_t i = 0; i < (all ? sizeof ALL / sizeof *ALL : sizeof FEW / sizeof *FEW); i++) {
        const uint32_t *row = all ? ALL[i] : FEW[i];
        bad += row[1] - random_trees(row[0], row[1]);
    }
    assert_int_equal(bad, 0);
}

/* What finds nothing must be able to find something: the same layout held against a shop that asks
 * for more, and against a tree with an arm that is 0.6 mm longer. */
static void planted_faults_are_seen(void **state) {
    (void)state;
    Arena arena = {0};
    DrawFonts *fonts = fonts_open();
    RandomBoard *made = ARENA_NEW(&arena, RandomBoard);
    random_board(&arena, 1, 40, made);
    Measure found = measured(&arena, fonts, &made->view, &made->board, &RANDOM_SHOP);
    assert_clean(&found, "before");
    FlatShop shop = RANDOM_SHOP;
    shop.spacing_mm = 40.0;
    found = measured(&arena, fonts, &made->view, &made->board, &shop);
    assert_true(found.close > 0 && found.crossings == 0);
    shop = RANDOM_SHOP;
    shop.zone_mm = 5.0;
    found = measured(&arena, fonts, &made->view, &made->board, &shop);
    assert_true(found.close > 0);
    shop = RANDOM_SHOP;
    shop.hand_mm = 100.0;
    found = measured(&arena, fonts, &made->view, &made->board, &shop);
    assert_true(found.hands > 0);
    shop = RANDOM_SHOP;
    shop.margin_mm = 300.0;
    found = measured(&arena, fonts, &made->view, &made->board, &shop);
    assert_true(found.off_board > 0);
    FlatArm *arms = ARENA_ARRAY(&arena, FlatArm, made->board.tree.arm_count);
    memcpy(arms, made->board.tree.arms, made->board.tree.arm_count * sizeof *arms);
    arms[3].length_mm += 0.6;
    made->board.tree.arms = arms;
    found = measured(&arena, fonts, &made->view, &made->board, &RANDOM_SHOP);
    assert_true(fabs(found.length_off_mm - 0.6) < 1e-6);
    fonts_close(fonts);
    arena_free(&arena);
}

/* Radial layouts cross nothing, but keep no spacing and no boards. */
static void a_crossing_is_seen(void **state) {
    (void)state;
    Arena arena = {0};
    DrawFonts *fonts = fonts_open();
    RandomBoard *made = ARENA_NEW(&arena, RandomBoard);
    random_board(&arena, 2, 40, made);
    flat_radial(&arena, &made->board.tree, &RANDOM_SHOP, &made->board.flat);
    Measure found = measured(&arena, fonts, &made->view, &made->board, &RANDOM_SHOP);
    assert_int_equal(found.crossings, 0);
    assert_true(found.close > 0);
    /* The piece of a stub laid through the breakouts' trunk. */
    Flat *flat = &made->board.flat;
    uint32_t stub = made->board.arm_count;
    FlatPiece *piece = &flat->pieces[flat->arm_first[stub]];
    FlatPoint from = {piece->x_mm, piece->y_mm};
    FlatPoint over = flat_arm_at(flat, made->board.tree.arms[stub].a == 0 ? 5 : 0, 60.0, NULL);
    piece->heading_rad = atan2(over.y_mm - from.y_mm, over.x_mm - from.x_mm);
    piece->length_mm = 2.0 * hypot(over.y_mm - from.y_mm, over.x_mm - from.x_mm);
    FlatPoint end = flat_piece_at(piece, piece->length_mm, NULL);
    flat->nodes[made->board.tree.arms[stub].b].x_mm = end.x_mm;
    flat->nodes[made->board.tree.arms[stub].b].y_mm = end.y_mm;
    found = measured(&arena, fonts, &made->view, &made->board, &RANDOM_SHOP);
    assert_true(found.crossings > 0);
    fonts_close(fonts);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_module_of_the_examples),
        cmocka_unit_test(random_trees_of_growing_size),
        cmocka_unit_test(planted_faults_are_seen),
        cmocka_unit_test(a_crossing_is_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
