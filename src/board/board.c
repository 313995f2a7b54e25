/* From harnesses to boards: the tree that is laid flat, its findings, its result rows. */
#include "board/board.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "base/units.h"

/* An arm that is seen at less than this share of its length says nothing about left and right. */
#define SEEN_SHARE 0.25
#define TAIL_MM 40.0       /* a tail of lugs is as broad as this */
#define LEAST_ARM_MM 0.001 /* a segment without length */

const char *board_sight_words(BoardSight sight) {
    static const char *const WORDS[] = {
#define BOARD_SIGHT_WORDS(id, words) words,
        BOARD_VIEWS(BOARD_SIGHT_WORDS)
#undef BOARD_SIGHT_WORDS
    };
    return WORDS[sight];
}

/* --- sizes of ends ------------------------------------------------------------------------------
 */

/* Over the flange of a D-subminiature by the number of contacts in its longest row, and the depth
 * of a connector with its hood or clamp: for the room on the board alone; makers differ. All from
 * memory. */
static double dsub_width_mm(int32_t ways, const char *contact) {
    bool dense = strcmp(contact, "22D") == 0;
    static const struct {
        int32_t ways;
        int32_t dense_ways;
        double width_mm;
    } SHELLS[] = {{9, 15, 30.8}, {15, 26, 39.1}, {25, 44, 53.0}, {37, 62, 69.3}, {50, 78, 66.9}};
    for (size_t i = 0; i < sizeof SHELLS / sizeof *SHELLS; i++) {
        if (ways <= (dense ? SHELLS[i].dense_ways : SHELLS[i].ways)) {
            return SHELLS[i].width_mm;
        }
    }
    return 70.0;
}

FlatEnd board_leaf_size(const HarnessSet *harness, const HarnessLeaf *leaf) {
    const double HOOD_MM = 42.0;
    const double CIRCULAR_MM = 50.0;
    const double LUG_MM = 12.0;
    if (leaf->shell == ID_NONE) { /* lugs and joints side by side, at most as broad as a hand */
        double lugs = fmin(5.0, fmax(1.0, (double)leaf->end_count));
        return (FlatEnd){LUG_MM * lugs, 25.0};
    }
    const ShellRow *row = &harness->ends->model->set->shell.rows[leaf->shell];
    if (row->coax) {
        return (FlatEnd){15.0, 38.0};
    }
    if (strcmp(row->form, "circle") == 0) {
        return (FlatEnd){18.0 + 2.6 * sqrt((double)row->ways) * 1.6, CIRCULAR_MM};
    }
    if (strcmp(row->form, "block") == 0) {
        int32_t rows = (row->ways + 1) / 2;
        return (FlatEnd){12.0 + 6.0 * (double)rows, 35.0};
    }
    if (strcmp(row->form, "studs") == 0) {
        double studs = fmin(6.0, (double)row->ways);
        return (FlatEnd){LUG_MM * fmax(1.0, fmin(studs, (double)leaf->end_count)), 25.0};
    }
    if (strcmp(row->form, "leads") == 0) {
        return (FlatEnd){20.0, 25.0};
    }
    return (FlatEnd){dsub_width_mm(row->ways, row->contact), HOOD_MM};
}

/* --- sight --------------------------------------------------------------------------------------
 */

typedef struct Sight3 {
    double right;
    double up;
    double away;
} Sight3;

/* x aft, y to the right, z up, as seen: each sight is right-handed, so nothing is mirrored. */
static Sight3 seen(BoardSight sight, const double d[3]) {
    switch (sight) {
    case BOARD_ABOVE:
        return (Sight3){d[0], d[1], d[2]};
    case BOARD_AHEAD:
        return (Sight3){-d[1], d[2], d[0]};
    case BOARD_RIGHT:
        return (Sight3){-d[0], d[2], d[1]};
    case BOARD_SIGHT_COUNT:
        break;
    }
    return (Sight3){0.0, 0.0, 0.0};
}

static double bearing_deg(BoardSight sight, const double d[3]) {
    Sight3 dir = seen(sight, d);
    double across = hypot(dir.right, dir.up);
    double all = hypot(across, dir.away);
    return across <= SEEN_SHARE * all ? (double)NAN : units_deg_from_rad(atan2(dir.up, dir.right));
}

static void between(const HarnessSet *set, uint32_t from, uint32_t to, double d[3]) {
    for (int i = 0; i < 3; i++) {
        d[i] = set->nodes[to].at_mm[i] - set->nodes[from].at_mm[i];
    }
}

static BoardSight choose_sight(const HarnessSet *set, const Harness *harness) {
    BoardSight best = BOARD_ABOVE;
    double best_mm = -1.0;
    for (int i = 0; i < BOARD_SIGHT_COUNT; i++) {
        double sum_mm = 0.0;
        for (uint32_t k = 0; k < harness->arm_count; k++) {
            const HarnessArm *arm = &set->arms[harness->arm_first + k];
            double d[3];
            between(set, arm->node[0], arm->node[1], d);
            Sight3 dir = seen((BoardSight)i, d);
            sum_mm += hypot(dir.right, dir.up);
        }
        if (sum_mm > best_mm + 1.0) { /* as seen from above unless another shows more */
            best_mm = sum_mm;
            best = (BoardSight)i;
        }
    }
    return best;
}

/* --- stubs --------------------------------------------------------------------------------------
 */

#define TAIL_LEAST 4 /* single leads of one length at one node: fewer are laid each by itself */
#define TAIL_MOST 10 /* in one tail */
#define SAME_MM 0.05

/* What two leaves must have in common to be laid as one. */
static bool may_join(const HarnessLeaf *a, const HarnessLeaf *b) {
    bool halves = a->segment != ID_NONE && a->segment == b->segment;
    bool leads = a->kind == HARNESS_LEAF_STUDS && b->kind == HARNESS_LEAF_STUDS;
    return a->node == b->node && (halves || leads) &&
           fabs(harness_leaf_reach_mm(a) - harness_leaf_reach_mm(b)) < SAME_MM;
}

static const char *stub_name(Arena *out, const HarnessSet *set, const BoardStub *stub) {
    const HarnessLeaf *first = &set->leaves[stub->leaves[0]];
    if (stub->leaf_count == 1) {
        return first->label;
    }
    if (first->kind == HARNESS_LEAF_STUDS) {
        return arena_format(out, "%s + %u more", first->label, stub->leaf_count - 1);
    }
    Buffer text = {.arena = out};
    for (uint32_t i = 0; i < stub->leaf_count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " + ", set->leaves[stub->leaves[i]].label);
    }
    return text.bytes;
}

/* Leaves in their order; each joins the stub of the first it may join, while that has room. */
static void find_stubs(Arena *out, const HarnessSet *set, const Harness *harness, Board *board) {
    board->stubs = ARENA_ARRAY(out, BoardStub, harness->leaf_count + 1);
    for (uint32_t i = 0; i < harness->leaf_count; i++) {
        const HarnessLeaf *leaf = &set->leaves[harness->leaf_first + i];
        uint32_t alike = 0;
        for (uint32_t k = 0; k < harness->leaf_count; k++) {
            alike += may_join(leaf, &set->leaves[harness->leaf_first + k]) ? 1 : 0;
        }
        uint32_t most = leaf->kind != HARNESS_LEAF_STUDS ? harness->leaf_count
                        : alike < TAIL_LEAST             ? 1
                                                         : TAIL_MOST;
        uint32_t at = 0;
        while (at < board->stub_count &&
               !(board->stubs[at].leaf_count < most &&
                 may_join(leaf, &set->leaves[board->stubs[at].leaves[0]]))) {
            at++;
        }
        BoardStub *stub = &board->stubs[at];
        if (at == board->stub_count) {
            stub->leaves = ARENA_ARRAY(out, uint32_t, alike + 1);
            board->stub_count++;
        }
        stub->leaves[stub->leaf_count++] = harness->leaf_first + i;
    }
    for (uint32_t i = 0; i < board->stub_count; i++) {
        board->stubs[i].name = stub_name(out, set, &board->stubs[i]);
    }
    /* One ground block may hang at two nodes: its leads are then told apart by them. */
    bool *twice = ARENA_ARRAY(out, bool, board->stub_count + 1);
    for (uint32_t i = 0; i < board->stub_count; i++) {
        for (uint32_t k = 0; k < board->stub_count; k++) {
            twice[i] =
                twice[i] || (k != i && strcmp(board->stubs[i].name, board->stubs[k].name) == 0);
        }
    }
    for (uint32_t i = 0; i < board->stub_count; i++) {
        if (twice[i]) {
            uint32_t node = set->leaves[board->stubs[i].leaves[0]].node;
            board->stubs[i].name =
                arena_format(out, "%s at %s", board->stubs[i].name, set->nodes[node].name);
        }
    }
}

/* Diameter and bend radius of what goes there, by the rules of the bundles; its size. */
static FlatEnd size_stub(const HarnessSet *set, const BoardStub *stub, FlatArm *arm) {
    const Ends *ends = set->ends;
    const Model *model = ends->model;
    double square_mm2 = 0.0;
    FlatEnd size = {0.0, 0.0};
    for (uint32_t k = 0; k < stub->leaf_count; k++) {
        const HarnessLeaf *leaf = &set->leaves[stub->leaves[k]];
        uint32_t last = ID_NONE;
        for (uint32_t i = 0; i < leaf->end_count; i++) {
            uint32_t piece = set->leaf_ends[leaf->end_first + i] / 2;
            uint32_t cable = ends->pieces[piece].cable;
            double od_mm = route_cable_od_mm(model, ends->wiring, cable, ends->awg);
            bool coax = ends->wiring->cables[cable].part != ID_NONE &&
                        ends->wiring->cables[cable].conductor_count == 1;
            square_mm2 += cable != last ? od_mm * od_mm : 0.0;
            last = cable;
            arm->bend_mm =
                fmax(arm->bend_mm, od_mm * model_limit(model, coax ? ROUTE_LIMIT_BEND_COAX
                                                                   : ROUTE_LIMIT_BEND_WIRE));
        }
        FlatEnd own = board_leaf_size(set, leaf);
        size.width_mm = fmax(size.width_mm, own.width_mm);
        size.depth_mm = fmax(size.depth_mm, own.depth_mm);
    }
    if (stub->leaf_count > 1 && set->leaves[stub->leaves[0]].kind == HARNESS_LEAF_STUDS) {
        size.width_mm = fmax(size.width_mm, TAIL_MM);
    }
    arm->od_mm = fmax(2.0, model_limit(model, ROUTE_LIMIT_FACTOR) * sqrt(square_mm2));
    return size;
}

/* --- tree ---------------------------------------------------------------------------------------
 */

static void build_tree(Arena *out, const HarnessSet *set, const Bundle *bundles,
                       const Harness *harness, Board *board) {
    board->arm_count = harness->arm_count;
    board->node_count = harness->node_count;
    find_stubs(out, set, harness, board);
    uint32_t arm_count = harness->arm_count + board->stub_count;
    FlatArm *arms = ARENA_ARRAY(out, FlatArm, arm_count + 1);
    FlatEnd *ends = ARENA_ARRAY(out, FlatEnd, harness->node_count + board->stub_count + 1);
    for (uint32_t i = 0; i < harness->arm_count; i++) {
        const HarnessArm *arm = &set->arms[harness->arm_first + i];
        double d[3];
        between(set, arm->node[0], arm->node[1], d);
        const double back[3] = {-d[0], -d[1], -d[2]};
        arms[i] = (FlatArm){.a = arm->node[0] - harness->node_first,
                            .b = arm->node[1] - harness->node_first,
                            .length_mm = fmax(LEAST_ARM_MM, arm->length_mm),
                            .od_mm = fmax(2.0, arm->od_mm),
                            .bend_mm = bundles[arm->segment].bend_mm,
                            .bearing_a_deg = bearing_deg(board->sight, d),
                            .bearing_b_deg = bearing_deg(board->sight, back)};
    }
    for (uint32_t i = 0; i < board->stub_count; i++) {
        const HarnessLeaf *leaf = &set->leaves[board->stubs[i].leaves[0]];
        FlatArm *arm = &arms[harness->arm_count + i];
        *arm = (FlatArm){.a = leaf->node - harness->node_first,
                         .b = harness->node_count + i,
                         .length_mm = fmax(LEAST_ARM_MM, harness_leaf_reach_mm(leaf)),
                         .bearing_a_deg = leaf->direction_known
                                              ? bearing_deg(board->sight, leaf->direction)
                                              : (double)NAN,
                         .bearing_b_deg = NAN};
        ends[arm->b] = size_stub(set, &board->stubs[i], arm);
    }
    board->tree = (FlatTree){arms, arm_count, ends, harness->node_count + board->stub_count};
}

/* --- names --------------------------------------------------------------------------------------
 */

const char *board_arm_name(const BoardSet *set, const Board *board, uint32_t arm) {
    const HarnessSet *harness = set->harness;
    const Harness *own = &harness->harnesses[board->harness];
    if (arm >= board->arm_count) {
        return board->stubs[arm - board->arm_count].name;
    }
    SegmentId segment = harness->arms[own->arm_first + arm].segment;
    return harness->ends->model->set->segment.rows[segment].segment;
}

const char *board_node_name(const BoardSet *set, const Board *board, uint32_t node) {
    const HarnessSet *harness = set->harness;
    const Harness *own = &harness->harnesses[board->harness];
    return node >= board->node_count ? board->stubs[node - board->node_count].name
                                     : harness->nodes[own->node_first + node].name;
}

/* --- laying -------------------------------------------------------------------------------------
 */

static void read_shop(const Model *model, BoardSet *set) {
    set->shop = (FlatShop){.board_length_mm = model_limit(model, BOARD_LIMIT_LENGTH),
                           .board_width_mm = model_limit(model, BOARD_LIMIT_WIDTH),
                           .margin_mm = model_limit(model, BOARD_LIMIT_MARGIN),
                           .gap_mm = model_limit(model, BOARD_LIMIT_GAP),
                           .seam_mm = model_limit(model, BOARD_LIMIT_SEAM),
                           .spacing_mm = model_limit(model, BOARD_LIMIT_SPACING),
                           .hand_mm = model_limit(model, BOARD_LIMIT_HAND),
                           .zone_mm = model_limit(model, BOARD_LIMIT_ZONE)};
    set->tie_mm = model_limit(model, BOARD_LIMIT_TIE);
    set->clamp_mm = model_limit(model, ROUTE_LIMIT_CLAMPS);
}

void board_lay_one(Arena *out, const HarnessSet *harness, const Bundle *bundles, uint32_t index,
                   BoardSet *set) {
    Board *board = &set->boards[index];
    const Harness *own = &harness->harnesses[index];
    *board = (Board){.harness = index, .sight = choose_sight(harness, own)};
    build_tree(out, harness, bundles, own, board);
    if (board->tree.arm_count == 0 || board->tree.arm_count > BOARD_ARMS_MOST) {
        return;
    }
    Arena scratch = {0};
    flat_solve(out, &board->tree, &set->shop, &board->flat);
    flat_check(&scratch, &board->tree, &set->shop, &board->flat, &board->report);
    arena_free(&scratch);
    double covered_mm2 = 0.0;
    for (uint32_t i = 0; i < board->tree.arm_count; i++) {
        const FlatArm *arm = &board->tree.arms[i];
        covered_mm2 += arm->length_mm * (arm->od_mm + set->shop.spacing_mm);
    }
    for (uint32_t i = 0; i < board->tree.node_count; i++) {
        covered_mm2 += board->tree.ends[i].width_mm * board->tree.ends[i].depth_mm;
    }
    board->area_share = covered_mm2 / ((double)board->flat.columns * board->flat.rows *
                                       set->shop.board_length_mm * set->shop.board_width_mm);
}

static void report(const BoardSet *set, const Board *board, Findings *findings) {
    const Flat *flat = &board->flat;
    const FlatReport *found = &board->report;
    const Model *model = set->harness->ends->model;
    const char *module =
        model->set->module.rows[set->harness->harnesses[board->harness].module].module;
    double most = model_limit(model, BOARD_LIMIT_BOARDS);
    uint32_t used = flat->columns * flat->rows;
    if (flat->failed > 0 || !flat_is_clean(found)) {
        const char *first =
            found->first_arm == FLAT_NONE ? "" : board_arm_name(set, board, found->first_arm);
        Finding *row = finding_report(
            findings, RULE_BOARD_FIT, "module", module, "",
            "the harness of %s finds no flat layout: %u branches lie over others or over an edge, "
            "first %s",
            module, flat->failed, first);
        row->value = flat->failed;
        row->limit = 0.0;
        row->hint = "larger boards, less spacing (rule_limit), or a longer stub at a crowded node";
    }
    if (used > most) {
        Finding *row = finding_report(findings, RULE_BOARD_BOARDS, "module", module, "",
                                      "the harness of %s needs %u boards of %.0f x %.0f mm", module,
                                      used, set->shop.board_length_mm, set->shop.board_width_mm);
        row->value = used;
        row->limit = most;
        row->hint = "a larger board, or more of them (rule_limit)";
    }
    for (uint32_t i = 0; i < board->tree.arm_count; i++) {
        const char *name = board_arm_name(set, board, i);
        if (flat->leans[i] == FLAT_TURNED) {
            finding_report(findings, RULE_BOARD_TURNED, "module", module, "",
                           "on the board of %s %s leaves to the other side than in the aircraft: "
                           "turn it over when it is installed",
                           module, name);
        }
    }
}

static void report_large(const BoardSet *set, const Board *board, Findings *findings) {
    const Harness *own = &set->harness->harnesses[board->harness];
    const char *module = set->harness->ends->model->set->module.rows[own->module].module;
    Finding *row = finding_report(findings, RULE_BOARD_FIT, "module", module, "",
                                  "the harness of %s has %u branches and is not laid flat: part "
                                  "it by disconnects",
                                  module, board->tree.arm_count);
    row->value = board->tree.arm_count;
    row->limit = BOARD_ARMS_MOST;
    row->unit = "branches";
}

static void report_bends(const BoardSet *set, const Board *board, Findings *findings) {
    const Model *model = set->harness->ends->model;
    const Harness *own = &set->harness->harnesses[board->harness];
    const char *module = model->set->module.rows[own->module].module;
    for (uint32_t i = 0; i < board->arm_count; i++) {
        const FlatArm *arm = &board->tree.arms[i];
        if (arm->length_mm < arm->bend_mm) {
            Finding *row = finding_report(
                findings, RULE_BOARD_BEND, "module", module, "",
                "%s of %s is %.0f mm long, but what lies in it needs a bend of %.0f mm radius: it "
                "can't turn aside within it",
                board_arm_name(set, board, i), module, arm->length_mm, arm->bend_mm);
            row->value = arm->length_mm;
            row->limit = arm->bend_mm;
            row->unit = "mm";
        }
    }
}

bool board_lay(Arena *out, const HarnessSet *harness, const Bundle *bundles, BoardSet *set,
               Findings *findings) {
    *set = (BoardSet){.harness = harness, .count = harness->harness_count};
    set->boards = ARENA_ARRAY(out, Board, set->count + 1);
    read_shop(harness->ends->model, set);
    for (uint32_t i = 0; i < set->count; i++) {
        board_lay_one(out, harness, bundles, i, set);
        if (set->boards[i].tree.arm_count > BOARD_ARMS_MOST) {
            report_large(set, &set->boards[i], findings);
        }
        if (set->boards[i].flat.piece_count > 0) {
            report(set, &set->boards[i], findings);
            report_bends(set, &set->boards[i], findings);
        }
    }
    return true;
}
