/* Runs first: each cable is walked along its way; where a disconnect cuts it the next run begins.
 * Nodes and arms come up as they are met, by harness; then the arms of each harness are taken
 * thickest first, and one that would close a loop is opened (Kruskal's way to a spanning forest of
 * greatest weight, which opens every loop where it is thinnest). At the end all of it is put in the
 * order of keys. */
#include "board/harness.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "board/harness_inner.h"
#include "model/report.h"

/* --- drafts -------------------------------------------------------------------------------------
 */

typedef struct DraftNode {
    uint32_t harness;
    HarnessNodeKind kind;
    HarnessPlace place;
    uint32_t opening; /* ID_NONE */
    uint32_t next;    /* of the same airframe node or segment */
    uint32_t root;    /* of its tree */
    uint32_t index;   /* where it stands before sorting, and after */
} DraftNode;

typedef struct DraftArm {
    uint32_t harness;
    SegmentId segment;
    uint32_t node[2];
    uint32_t conductors;
    uint32_t next; /* of the same segment */
    uint32_t opening;
    uint32_t index;
} DraftArm;

typedef struct Builder {
    Arena *out;
    Arena scratch;
    const Ends *ends;
    const Model *model;
    HarnessSet *set;
    Findings *findings;
    Cuts cuts;
    uint32_t *piece_first; /* by CableId, and one more: into Ends.pieces */
    SegmentId (*cross)[2]; /* by run */
    DraftNode *nodes;
    size_t node_count;
    size_t node_capacity;
    DraftArm *arms;
    size_t arm_count;
    size_t arm_capacity;
    uint32_t *node_head;    /* by NodeId: its drafts */
    uint32_t *segment_head; /* by SegmentId: halves on it */
    uint32_t *arm_head;     /* by SegmentId: arms on it */
    HarnessStep *steps;
    size_t step_count;
    size_t step_capacity;
    HarnessOpening *openings;
    size_t opening_count;
    size_t opening_capacity;
    uint32_t *astray; /* by harness x harness: runs from one into the other */
    CableId *astray_cable;
} Builder;

HarnessPlace harness_gap_place(const Model *model, const Cuts *cuts, SegmentId segment,
                               uint32_t gap, uint32_t end) {
    uint32_t last = cuts->segment_first[segment + 1] - cuts->segment_first[segment];
    uint32_t long_gap = cuts->long_gap[segment];
    NodeId a = model->segment_a[segment];
    NodeId b = model->segment_b[segment];
    bool at_a = gap < long_gap || (gap == long_gap && end == 0);
    bool whole = gap == long_gap;
    if (at_a && gap == 0) {
        return (HarnessPlace){.node = a, .segment = ID_NONE};
    }
    if (!at_a && gap == last) {
        return (HarnessPlace){.node = b, .segment = ID_NONE};
    }
    return (HarnessPlace){
        .node = at_a ? a : b, .segment = segment, .gap = gap, .end = whole ? end : 0};
}

static uint32_t *filled(Arena *arena, size_t count) {
    uint32_t *items = ARENA_ARRAY(arena, uint32_t, count);
    for (size_t i = 0; i < count; i++) {
        items[i] = ID_NONE;
    }
    return items;
}

static uint32_t draft_node(Builder *builder, uint32_t harness, HarnessPlace place) {
    bool half = place.segment != ID_NONE;
    uint32_t *head = half ? &builder->segment_head[place.segment] : &builder->node_head[place.node];
    for (uint32_t i = *head; i != ID_NONE; i = builder->nodes[i].next) {
        const DraftNode *node = &builder->nodes[i];
        if (node->harness == harness &&
            (!half || (node->place.gap == place.gap && node->place.end == place.end))) {
            return i;
        }
    }
    uint32_t index = (uint32_t)builder->node_count;
    *ARENA_PUSH(&builder->scratch, builder->nodes, builder->node_count, builder->node_capacity) =
        (DraftNode){.harness = harness,
                    .kind = half ? HARNESS_NODE_HALF : HARNESS_NODE_AIRFRAME,
                    .place = place,
                    .opening = ID_NONE,
                    .next = *head,
                    .root = index,
                    .index = index};
    *head = index;
    return index;
}

static uint32_t draft_arm(Builder *builder, uint32_t harness, SegmentId segment) {
    for (uint32_t i = builder->arm_head[segment]; i != ID_NONE; i = builder->arms[i].next) {
        if (builder->arms[i].harness == harness) {
            return i;
        }
    }
    const Model *model = builder->model;
    uint32_t gap = builder->cuts.long_gap[segment];
    uint32_t a =
        draft_node(builder, harness, harness_gap_place(model, &builder->cuts, segment, gap, 0));
    uint32_t b =
        draft_node(builder, harness, harness_gap_place(model, &builder->cuts, segment, gap, 1));
    uint32_t index = (uint32_t)builder->arm_count;
    *ARENA_PUSH(&builder->scratch, builder->arms, builder->arm_count, builder->arm_capacity) =
        (DraftArm){.harness = harness,
                   .segment = segment,
                   .node = {a, b},
                   .next = builder->arm_head[segment],
                   .opening = ID_NONE,
                   .index = index};
    builder->arm_head[segment] = index;
    return index;
}

static HarnessPlace airframe_place(NodeId node) {
    return (HarnessPlace){.node = node, .segment = ID_NONE};
}

/* --- runs ---------------------------------------------------------------------------------------
 */

/* The module that an end of a piece belongs to: at a disconnect the side it is on, else that of its
 * node. `cross`: the segment of the disconnect. */
static ModuleId end_module(const Builder *builder, const PieceEnd *end, SegmentId cross) {
    const Model *model = builder->model;
    if (end->kind == PIECE_CAVITY || end->kind == PIECE_PASS) {
        if (end->far) {
            return model_row(model, TABLE_module,
                             model->set->disconnect.rows[end->disconnect].module);
        }
        bool near_is_b = builder->cuts.far_is_a[cross];
        return model->node_module[near_is_b ? model->segment_b[cross] : model->segment_a[cross]];
    }
    NodeId node = model->terminals[end->terminal].node;
    return node == ID_NONE ? ID_NONE : model->node_module[node];
}

/* Gives the run its harness: where it begins, or ends when that is not known. */
static void place_run(Builder *builder, HarnessRun *run, const Piece *piece,
                      const SegmentId cross[2]) {
    ModuleId from = end_module(builder, &piece->ends[0], cross[0]);
    ModuleId to = end_module(builder, &piece->ends[1], cross[1]);
    run->harness = from == ID_NONE ? to : from;
    if (from == to || from == ID_NONE || to == ID_NONE) {
        return;
    }
    uint32_t pair = from * builder->set->harness_count + to;
    if (builder->astray[pair]++ == 0) {
        builder->astray_cable[pair] = run->cable;
    }
}

/* Whether all runs of a cable have a harness; none has one otherwise. */
static bool all_placed(HarnessSet *set, uint32_t first, uint32_t count) {
    bool placed = true;
    for (uint32_t i = first; i < first + count; i++) {
        placed = placed && set->runs[i].harness != ID_NONE;
    }
    for (uint32_t i = first; i < first + count && !placed; i++) {
        set->runs[i].harness = ID_NONE;
    }
    return placed;
}

/* The runs of a cable with a way: disconnects found, harness given. Returns how many. */
static uint32_t open_runs(Builder *builder, CableId id, uint32_t first) {
    const Routing *routing = builder->ends->routing;
    const Cuts *cuts = &builder->cuts;
    HarnessSet *set = builder->set;
    uint32_t count = 1;
    builder->cross[first][0] = ID_NONE;
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        SegmentId segment = routing->hops[i].segment;
        uint32_t passed = cuts->segment_first[segment + 1] - cuts->segment_first[segment];
        for (uint32_t k = 0; k < passed; k++, count++) {
            builder->cross[first + count - 1][1] = segment;
            builder->cross[first + count][0] = segment;
        }
    }
    builder->cross[first + count - 1][1] = ID_NONE;
    const Cable *cable = &builder->ends->wiring->cables[id];
    for (uint32_t i = 0; i < count; i++) {
        HarnessRun *run = &set->runs[first + i];
        *run = (HarnessRun){.cable = id,
                            .index = (uint16_t)i,
                            .jacketed = cable->part != ID_NONE,
                            .harness = ID_NONE,
                            .node = {ID_NONE, ID_NONE},
                            .step_first = (uint32_t)builder->step_count,
                            .path_mm = (double)NAN};
        if (!isnan(routing->length_mm[id])) {
            const Piece *piece = &builder->ends->pieces[builder->piece_first[id] + i];
            CHECK(piece->cable == id && piece->index == i);
            place_run(builder, run, piece, builder->cross[first + i]);
        }
    }
    return count;
}

static void add_step(Builder *builder, HarnessRun *run, SegmentId segment, bool backward) {
    *ARENA_PUSH(&builder->scratch, builder->steps, builder->step_count, builder->step_capacity) =
        (HarnessStep){.arm = draft_arm(builder, run->harness, segment), .backward = backward};
    run->step_count++;
    run->path_mm += builder->model->segment_length_mm[segment];
}

static void begin_run(Builder *builder, HarnessRun *run, HarnessPlace place) {
    run->path_mm = 0.0;
    run->step_first = (uint32_t)builder->step_count;
    run->node[0] = draft_node(builder, run->harness, place);
}

/* Walks the way of a cable through its runs. */
static void walk_runs(Builder *builder, CableId id, HarnessRun *run) {
    const Model *model = builder->model;
    const Routing *routing = builder->ends->routing;
    const Cuts *cuts = &builder->cuts;
    const Cable *cable = &builder->ends->wiring->cables[id];
    begin_run(builder, run, airframe_place(model->terminals[cable->from].node));
    for (uint32_t i = routing->cable_first[id]; i < routing->cable_first[id + 1]; i++) {
        const Hop *hop = &routing->hops[i];
        uint32_t last = cuts->segment_first[hop->segment + 1] - cuts->segment_first[hop->segment];
        for (uint32_t k = 0; k <= last; k++) {
            uint32_t gap = hop->backward ? last - k : k;
            if (gap == builder->cuts.long_gap[hop->segment]) {
                add_step(builder, run, hop->segment, hop->backward);
            }
            if (k == last) {
                break;
            }
            uint32_t next = hop->backward ? gap - 1 : gap + 1;
            run->node[1] = draft_node(
                builder, run->harness,
                harness_gap_place(model, &builder->cuts, hop->segment, gap, hop->backward ? 0 : 1));
            run++;
            begin_run(builder, run,
                      harness_gap_place(model, &builder->cuts, hop->segment, next,
                                        hop->backward ? 1 : 0));
        }
    }
    run->node[1] =
        draft_node(builder, run->harness, airframe_place(model->terminals[cable->to].node));
}

static void read_pieces(Builder *builder) {
    const Ends *ends = builder->ends;
    uint32_t cables = ends->wiring->cable_count;
    builder->piece_first = ARENA_ARRAY(&builder->scratch, uint32_t, (size_t)cables + 1);
    uint32_t next = 0;
    for (CableId i = 0; i < cables; i++) {
        builder->piece_first[i] = next;
        while (next < ends->piece_count && ends->pieces[next].cable == i) {
            next++;
        }
    }
    builder->piece_first[cables] = next;
    CHECK(next == ends->piece_count);
}

/* Each piece into its run: pieces of a cable stand by core, then index. */
static void fill_run_pieces(Builder *builder, CableId id, uint32_t first, uint32_t runs,
                            uint32_t *filled_pieces) {
    HarnessSet *set = builder->set;
    uint32_t begin = builder->piece_first[id];
    uint32_t cores = (builder->piece_first[id + 1] - begin) / runs;
    CHECK(cores * runs == builder->piece_first[id + 1] - begin);
    for (uint32_t i = 0; i < runs; i++) {
        HarnessRun *run = &set->runs[first + i];
        run->piece_first = *filled_pieces;
        run->piece_count = cores;
        for (uint32_t core = 0; core < cores; core++) {
            uint32_t piece = begin + core * runs + i;
            set->run_pieces[(*filled_pieces)++] = piece;
            set->pieces[piece].run = first + i;
        }
    }
}

static void build_runs(Builder *builder) {
    const Ends *ends = builder->ends;
    HarnessSet *set = builder->set;
    read_pieces(builder);
    set->pieces = ARENA_ARRAY(builder->out, HarnessPiece, ends->piece_count);
    set->runs = ARENA_ARRAY(builder->out, HarnessRun, ends->piece_count);
    set->run_pieces = ARENA_ARRAY(builder->out, uint32_t, ends->piece_count);
    builder->cross = arena_take(&builder->scratch, ends->piece_count, sizeof *builder->cross);
    uint32_t filled_pieces = 0;
    for (CableId i = 0; i < ends->wiring->cable_count; i++) {
        if (builder->piece_first[i] == builder->piece_first[i + 1]) {
            continue; /* an end without pins: reported */
        }
        uint32_t first = set->run_count;
        uint32_t runs = open_runs(builder, i, first);
        set->run_count += runs;
        fill_run_pieces(builder, i, first, runs, &filled_pieces);
        if (all_placed(set, first, runs)) {
            walk_runs(builder, i, &set->runs[first]);
        }
    }
}

/* --- loops --------------------------------------------------------------------------------------
 */

static uint32_t root_of(DraftNode *nodes, uint32_t node) {
    while (nodes[node].root != node) {
        nodes[node].root = nodes[nodes[node].root].root;
        node = nodes[node].root;
    }
    return node;
}

static uint32_t run_conductors(const HarnessSet *set, const HarnessRun *run) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < run->piece_count; i++) {
        uint32_t piece = set->run_pieces[run->piece_first + i];
        count += set->ends->pieces[piece].conductor != ID_NONE ? 1u : 0u;
    }
    return count;
}

static int compare_weight(const void *left, const void *right) {
    const DraftArm *a = *(DraftArm *const *)left;
    const DraftArm *b = *(DraftArm *const *)right;
    if (a->harness != b->harness) {
        return a->harness < b->harness ? -1 : 1;
    }
    if (a->conductors != b->conductors) {
        return a->conductors > b->conductors ? -1 : 1;
    }
    return (a->segment > b->segment) - (a->segment < b->segment);
}

/* The end of the arm towards node_b becomes a node of its own. */
static void open_arm(Builder *builder, DraftArm *arm) {
    uint32_t node = arm->node[1];
    uint32_t opening = (uint32_t)builder->opening_count;
    DraftNode open = builder->nodes[node];
    open.kind = HARNESS_NODE_OPEN;
    open.opening = opening;
    open.index = (uint32_t)builder->node_count;
    open.root = open.index;
    *ARENA_PUSH(&builder->scratch, builder->nodes, builder->node_count, builder->node_capacity) =
        open;
    arm->node[1] = open.index;
    arm->opening = opening;
    *ARENA_PUSH(&builder->scratch, builder->openings, builder->opening_count,
                builder->opening_capacity) = (HarnessOpening){.harness = arm->harness,
                                                              .arm = arm->index,
                                                              .node = node,
                                                              .open = open.index,
                                                              .conductors = arm->conductors};
}

static void open_loops(Builder *builder) {
    HarnessSet *set = builder->set;
    for (uint32_t i = 0; i < set->run_count; i++) {
        const HarnessRun *run = &set->runs[i];
        uint32_t conductors = run_conductors(set, run);
        for (uint32_t k = run->step_first; k < run->step_first + run->step_count; k++) {
            builder->arms[builder->steps[k].arm].conductors += conductors;
        }
    }
    DraftArm **order = ARENA_ARRAY(&builder->scratch, DraftArm *, builder->arm_count);
    for (size_t i = 0; i < builder->arm_count; i++) {
        order[i] = &builder->arms[i];
    }
    if (builder->arm_count > 1) {
        qsort(order, builder->arm_count, sizeof *order, compare_weight);
    }
    for (size_t i = 0; i < builder->arm_count; i++) {
        uint32_t a = root_of(builder->nodes, order[i]->node[0]);
        uint32_t b = root_of(builder->nodes, order[i]->node[1]);
        if (a == b) {
            open_arm(builder, order[i]);
        } else {
            builder->nodes[b].root = a;
        }
    }
}

/* --- in the order of keys -----------------------------------------------------------------------
 */

static int compare_numbers(uint32_t a, uint32_t b) {
    return (a > b) - (a < b);
}

static int compare_nodes(const void *left, const void *right) {
    const DraftNode *a = left;
    const DraftNode *b = right;
    int order = compare_numbers(a->harness, b->harness);
    order = order != 0 ? order : compare_numbers(a->place.node, b->place.node);
    order = order != 0 ? order : compare_numbers((uint32_t)a->kind, (uint32_t)b->kind);
    order = order != 0 ? order : compare_numbers(a->place.segment, b->place.segment);
    order = order != 0 ? order : compare_numbers(a->place.gap, b->place.gap);
    order = order != 0 ? order : compare_numbers(a->place.end, b->place.end);
    return order != 0 ? order : compare_numbers(a->opening, b->opening);
}

static int compare_arms(const void *left, const void *right) {
    const DraftArm *a = left;
    const DraftArm *b = right;
    int order = compare_numbers(a->harness, b->harness);
    return order != 0 ? order : compare_numbers(a->segment, b->segment);
}

/* Whether another arm of the same harness is opened at the same node. */
static bool is_open_again(const Builder *builder, size_t i) {
    const DraftNode *draft = &builder->nodes[i];
    for (size_t k = i == 0 ? 0 : i - 1; k <= i + 1 && k < builder->node_count; k++) {
        const DraftNode *other = &builder->nodes[k];
        if (k != i && other->kind == HARNESS_NODE_OPEN && other->harness == draft->harness &&
            other->place.node == draft->place.node) {
            return true;
        }
    }
    return false;
}

/* Of one harness all names differ. Nodes are sorted, arms as they were drafted. */
static const char *node_name(const Builder *builder, size_t i) {
    const TableSet *set = builder->model->set;
    const DraftNode *draft = &builder->nodes[i];
    const char *node = set->node.rows[draft->place.node].node;
    if (draft->kind == HARNESS_NODE_OPEN && is_open_again(builder, i)) {
        const DraftArm *arm = &builder->arms[builder->openings[draft->opening].arm];
        return arena_format(builder->out, "%s (open, %s)", node,
                            set->segment.rows[arm->segment].segment);
    }
    if (draft->kind == HARNESS_NODE_OPEN) {
        return arena_format(builder->out, "%s (open)", node);
    }
    if (draft->kind == HARNESS_NODE_HALF) {
        return arena_format(builder->out, "%s at %s",
                            set->segment.rows[draft->place.segment].segment, node);
    }
    return node;
}

/* Nodes in order; openings are numbered by harness and segment before, so that ties end. Returns
 * the new index of each draft. */
static uint32_t *settle_nodes(Builder *builder) {
    HarnessSet *set = builder->set;
    size_t count = builder->node_count;
    uint32_t *moved = ARENA_ARRAY(&builder->scratch, uint32_t, count);
    if (count > 1) {
        qsort(builder->nodes, count, sizeof *builder->nodes, compare_nodes);
    }
    CHECK(count < ID_NONE);
    set->node_count = (uint32_t)count;
    set->nodes = ARENA_ARRAY(builder->out, HarnessNode, count);
    for (uint32_t i = 0; i < count; i++) {
        const DraftNode *draft = &builder->nodes[i];
        const NodeRow *row = &builder->model->set->node.rows[draft->place.node];
        moved[draft->index] = i;
        set->nodes[i] = (HarnessNode){
            .kind = draft->kind,
            .harness = draft->harness,
            .node = draft->place.node,
            .segment = draft->kind == HARNESS_NODE_HALF ? draft->place.segment : ID_NONE,
            .opening = draft->opening,
            .at_mm = {row->x_mm, row->y_mm, row->z_mm},
            .name = node_name(builder, i),
        };
        Harness *harness = &set->harnesses[draft->harness];
        harness->node_first = harness->node_count++ == 0 ? i : harness->node_first;
    }
    return moved;
}

/* Arms in order, with their new nodes. Returns the new index of each draft. */
static uint32_t *settle_arms(Builder *builder, const uint32_t *moved_nodes) {
    HarnessSet *set = builder->set;
    const Model *model = builder->model;
    size_t count = builder->arm_count;
    uint32_t *moved = ARENA_ARRAY(&builder->scratch, uint32_t, count);
    if (count > 1) {
        qsort(builder->arms, count, sizeof *builder->arms, compare_arms);
    }
    set->arm_count = (uint32_t)count;
    set->arms = ARENA_ARRAY(builder->out, HarnessArm, count);
    for (uint32_t i = 0; i < count; i++) {
        const DraftArm *draft = &builder->arms[i];
        moved[draft->index] = i;
        set->arms[i] = (HarnessArm){
            .harness = draft->harness,
            .segment = draft->segment,
            .node = {moved_nodes[draft->node[0]], moved_nodes[draft->node[1]]},
            .length_mm = model->segment_length_mm[draft->segment],
            .conductors = draft->conductors,
            .zone = model->segment_zone[draft->segment],
            .opening = draft->opening,
        };
        Harness *harness = &set->harnesses[draft->harness];
        harness->arm_first = harness->arm_count++ == 0 ? i : harness->arm_first;
    }
    return moved;
}

static void settle_openings(Builder *builder, const uint32_t *moved_nodes) {
    HarnessSet *set = builder->set;
    set->opening_count = (uint32_t)builder->opening_count;
    set->openings = ARENA_ARRAY(builder->out, HarnessOpening, builder->opening_count);
    uint32_t next = 0;
    for (uint32_t i = 0; i < set->arm_count; i++) {
        HarnessArm *arm = &set->arms[i];
        if (arm->opening == ID_NONE) {
            continue;
        }
        HarnessOpening *opening = &set->openings[next];
        *opening = builder->openings[arm->opening];
        opening->arm = i;
        opening->node = moved_nodes[opening->node];
        opening->open = moved_nodes[opening->open];
        opening->name = set->nodes[opening->node].name;
        arm->opening = next;
        set->nodes[opening->open].opening = next;
        Harness *harness = &set->harnesses[arm->harness];
        harness->opening_first = harness->opening_count++ == 0 ? next : harness->opening_first;
        next++;
    }
}

static void settle_runs(Builder *builder, const uint32_t *moved_nodes, const uint32_t *moved_arms) {
    HarnessSet *set = builder->set;
    set->step_count = (uint32_t)builder->step_count;
    set->steps = ARENA_ARRAY(builder->out, HarnessStep, builder->step_count);
    for (size_t i = 0; i < builder->step_count; i++) {
        set->steps[i] = builder->steps[i];
        set->steps[i].arm = moved_arms[builder->steps[i].arm];
    }
    for (uint32_t i = 0; i < set->run_count; i++) {
        HarnessRun *run = &set->runs[i];
        if (run->harness == ID_NONE) {
            continue;
        }
        run->node[0] = moved_nodes[run->node[0]];
        run->node[1] = moved_nodes[run->node[1]];
        set->harnesses[run->harness].runs++;
        set->harnesses[run->harness].pieces += run_conductors(set, run);
    }
}

/* --- what hangs together ------------------------------------------------------------------------
 */

static void index_arms(Builder *builder) {
    HarnessSet *set = builder->set;
    set->node_arms = ARENA_ARRAY(builder->out, uint32_t, 2 * (size_t)set->arm_count);
    for (uint32_t i = 0; i < set->arm_count; i++) {
        set->nodes[set->arms[i].node[0]].arm_count++;
        set->nodes[set->arms[i].node[1]].arm_count++;
    }
    uint32_t next = 0;
    for (uint32_t i = 0; i < set->node_count; i++) {
        set->nodes[i].arm_first = next;
        next += set->nodes[i].arm_count;
        set->nodes[i].arm_count = 0;
    }
    for (uint32_t i = 0; i < set->arm_count; i++) {
        for (int side = 0; side < 2; side++) {
            HarnessNode *node = &set->nodes[set->arms[i].node[side]];
            set->node_arms[node->arm_first + node->arm_count++] = i;
        }
    }
    for (uint32_t i = 0; i < set->harness_count; i++) {
        Harness *harness = &set->harnesses[i];
        harness->tree_count = harness->node_count - harness->arm_count; /* it is a forest */
    }
}

static void fill_arms(Builder *builder) {
    HarnessSet *set = builder->set;
    const Ends *ends = builder->ends;
    for (uint32_t i = 0; i < set->step_count; i++) {
        set->arms[set->steps[i].arm].runs++;
    }
    uint32_t next = 0;
    for (uint32_t i = 0; i < set->arm_count; i++) {
        set->arms[i].run_first = next;
        next += set->arms[i].runs;
        set->arms[i].runs = 0;
    }
    set->arm_runs = ARENA_ARRAY(builder->out, uint32_t, set->step_count);
    for (uint32_t i = 0; i < set->run_count; i++) {
        const HarnessRun *run = &set->runs[i];
        double square_mm2 =
            gauges_square_mm2(ends->model, ends->wiring, &ends->gauges, run->cable, ends->awg);
        for (uint32_t k = run->step_first; k < run->step_first + run->step_count; k++) {
            HarnessArm *arm = &set->arms[set->steps[k].arm];
            set->arm_runs[arm->run_first + arm->runs++] = i;
            arm->heavy += ends->wiring->cables[run->cable].heavy ? 1u : 0u;
            arm->od_mm += square_mm2;
        }
    }
    double factor = model_limit(builder->model, ROUTE_LIMIT_FACTOR);
    for (uint32_t i = 0; i < set->arm_count; i++) {
        set->arms[i].od_mm = factor * sqrt(set->arms[i].od_mm);
    }
}

/* --- findings -----------------------------------------------------------------------------------
 */

static void report_loops(const Builder *builder) {
    const HarnessSet *set = builder->set;
    const Model *model = builder->model;
    for (uint32_t i = 0; i < set->opening_count; i++) {
        const HarnessOpening *opening = &set->openings[i];
        const HarnessArm *arm = &set->arms[opening->arm];
        Finding *finding = report_row(
            builder->findings, model, RULE_HARNESS_LOOP, TABLE_segment, arm->segment, "",
            "harness %s holds a loop: segment %s, which %u conductors pass, is laid open at %s and "
            "closed on the aircraft",
            model->set->module.rows[opening->harness].module,
            model->set->segment.rows[arm->segment].segment, opening->conductors, opening->name);
        finding->value = opening->conductors;
        finding->unit = "conductors";
        finding->hint = "nothing is cut for it; a way that makes no loop saves the work";
    }
}

static void report_modules(const Builder *builder) {
    const HarnessSet *set = builder->set;
    const Model *model = builder->model;
    for (uint32_t i = 0; i < set->harness_count; i++) {
        const char *name = model->set->module.rows[i].module;
        if (set->harnesses[i].runs == 0) {
            report_row(builder->findings, model, RULE_HARNESS_EMPTY, TABLE_module, i, "",
                       "no conductor lies in module %s: it has no harness", name)
                ->hint = "give nodes to it, or leave the row out";
        }
        for (uint32_t k = 0; k < set->harness_count; k++) {
            uint32_t pair = i * set->harness_count + k;
            if (builder->astray[pair] == 0) {
                continue;
            }
            CableId cable = builder->astray_cable[pair];
            const char *net =
                builder->ends->wiring->nets[builder->ends->wiring->cables[cable].net].name;
            Finding *finding = report_row(
                builder->findings, model, RULE_HARNESS_MODULE, TABLE_module, i, "",
                "%u runs go from module %s into %s and no disconnect parts them, the first of "
                "circuit %s: they are built into harness %s",
                builder->astray[pair], name, model->set->module.rows[k].module, net, name);
            finding->value = builder->astray[pair];
            finding->unit = "runs";
            finding->rows = net;
            finding->hint = "put a disconnect on the way, or the nodes into one module";
        }
    }
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        if (owner->kind != OWNER_UNIT || owner->node == ID_NONE || owner->module == ID_NONE ||
            owner->module == model->node_module[owner->node]) {
            continue;
        }
        report_owner(builder->findings, model, RULE_HARNESS_UNIT, i,
                     "%s is said to belong to module %s, its node %s to %s: its wires are built "
                     "into the latter",
                     owner->tag, model->set->module.rows[owner->module].module,
                     model->set->node.rows[owner->node].node,
                     model->set->module.rows[model->node_module[owner->node]].module)
            ->hint = "the module of the unit and of its node should be one";
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

uint32_t harness_step_node(const HarnessSet *set, HarnessStep step, int side) {
    return set->arms[step.arm].node[(side == 1) != step.backward ? 1 : 0];
}

double harness_leaf_reach_mm(const HarnessLeaf *leaf) {
    return leaf->stub_mm + leaf->loop_mm;
}

double harness_board_mm(const HarnessSet *set, uint32_t piece) {
    const HarnessPiece *p = &set->pieces[piece];
    if (p->leaf[0] == ID_NONE) {
        return (double)NAN;
    }
    return set->runs[p->run].path_mm + harness_leaf_reach_mm(&set->leaves[p->leaf[0]]) +
           harness_leaf_reach_mm(&set->leaves[p->leaf[1]]);
}

static const char *piece_key(Arena *out, const Ends *ends, uint32_t piece) {
    const Piece *p = &ends->pieces[piece];
    if (p->conductor == ID_NONE) {
        const Cable *cable = &ends->wiring->cables[p->cable];
        return arena_format(out, "%s.S.%u", ends->wiring->conductors[cable->conductor_first].key,
                            p->index + 1u);
    }
    return arena_format(out, "%s.%u", ends->wiring->conductors[p->conductor].key, p->index + 1u);
}

bool harness_build(Arena *out, const Ends *ends, HarnessSet *set, Findings *findings) {
    const Model *model = ends->model;
    const TableSet *tables = model->set;
    *set = (HarnessSet){.ends = ends,
                        .minus_mm = model_limit(model, HARNESS_LIMIT_MINUS),
                        .plus_mm = model_limit(model, HARNESS_LIMIT_PLUS),
                        .harness_count = (uint32_t)tables->module.count};
    set->harnesses = ARENA_ARRAY(out, Harness, set->harness_count);
    for (uint32_t i = 0; i < set->harness_count; i++) {
        set->harnesses[i].module = i;
    }
    Builder builder = {.out = out, .ends = ends, .model = model, .set = set, .findings = findings};
    Arena *scratch = &builder.scratch;
    size_t pairs = (size_t)set->harness_count * set->harness_count;
    builder.astray = ARENA_ARRAY(scratch, uint32_t, pairs);
    builder.astray_cable = ARENA_ARRAY(scratch, CableId, pairs);
    builder.node_head = filled(scratch, tables->node.count);
    builder.segment_head = filled(scratch, tables->segment.count);
    builder.arm_head = filled(scratch, tables->segment.count);
    cuts_read(scratch, model, &builder.cuts);
    cuts_check(model, &builder.cuts, findings);
    build_runs(&builder);
    open_loops(&builder);
    const uint32_t *moved_nodes = settle_nodes(&builder);
    const uint32_t *moved_arms = settle_arms(&builder, moved_nodes);
    settle_openings(&builder, moved_nodes);
    settle_runs(&builder, moved_nodes, moved_arms);
    index_arms(&builder);
    fill_arms(&builder);
    for (uint32_t i = 0; i < ends->piece_count; i++) {
        set->pieces[i].key = piece_key(out, ends, i);
    }
    harness_leaves_build(out, set, &builder.cuts, (const SegmentId(*)[2])builder.cross, findings);
    harness_lengths(set);
    report_loops(&builder);
    report_modules(&builder);
    arena_free(&builder.scratch);
    return true;
}
