/* Leaves: ends of pieces that hang at one node and go to one place, what length is kept there for
 * service, and where they point to. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "board/harness_inner.h"
#include "model/report.h"

/* --- grouping -----------------------------------------------------------------------------------
 */

typedef struct LeafKey {
    uint32_t node;
    HarnessLeafKind kind;
    uint32_t what; /* owner, row of disconnect_shell, or row of disconnect */
    const char *connector;
    SegmentId segment;
    bool far;
    double stub_mm;
    EndId end;
} LeafKey;

static int compare_numbers(uint32_t a, uint32_t b) {
    return (a > b) - (a < b);
}

/* Order of two leaves; 0: one and the same. */
static int compare_leaves(const LeafKey *a, const LeafKey *b) {
    int order = compare_numbers(a->node, b->node);
    order = order != 0 ? order : compare_numbers((uint32_t)a->kind, (uint32_t)b->kind);
    order = order != 0 ? order : compare_numbers(a->what, b->what);
    order = order != 0 ? order : text_compare_keys(a->connector, b->connector);
    order = order != 0 ? order : compare_numbers(a->segment, b->segment);
    order = order != 0 ? order : compare_numbers(a->far, b->far);
    return order != 0 ? order : (a->stub_mm > b->stub_mm) - (a->stub_mm < b->stub_mm);
}

static int compare_keys(const void *left, const void *right) {
    const LeafKey *a = left;
    const LeafKey *b = right;
    int order = compare_leaves(a, b);
    return order != 0 ? order : compare_numbers(a->end, b->end);
}

/* Where one end of a piece hangs. */
static LeafKey leaf_key(const HarnessSet *set, EndId end, SegmentId cross) {
    const Ends *ends = set->ends;
    const Model *model = ends->model;
    uint32_t piece = end / 2;
    const PieceEnd *at = &ends->pieces[piece].ends[end % 2];
    LeafKey key = {.node = set->runs[set->pieces[piece].run].node[end % 2],
                   .connector = "",
                   .segment = ID_NONE,
                   .end = end};
    if (at->kind == PIECE_CAVITY || at->kind == PIECE_PASS) {
        bool cavity = at->kind == PIECE_CAVITY;
        key.kind = cavity ? HARNESS_LEAF_SHELL : HARNESS_LEAF_PASS;
        key.what = cavity ? ends->disconnects->uses[at->use].shell : at->disconnect;
        key.segment = cross;
        key.far = at->far;
        return key;
    }
    const ModelTerminal *terminal = &model->terminals[at->terminal];
    const ModelPin *pin = at->pin != ID_NONE        ? &model->pins[at->pin]
                          : terminal->pin_count > 0 ? &model->pins[terminal->pin_first]
                                                    : NULL;
    bool connector = pin != NULL && *pin->connector != '\0';
    key.kind = connector ? HARNESS_LEAF_CONNECTOR : HARNESS_LEAF_STUDS;
    key.what = terminal->owner;
    key.connector = connector ? pin->connector : "";
    key.stub_mm = terminal->stub_mm;
    return key;
}

/* --- length kept for service --------------------------------------------------------------------
 */

typedef struct Allowances {
    const Model *model;
    Findings *findings;
    bool *told; /* by LengthPlace */
} Allowances;

static void allow(const Allowances *allowances, Arena *scratch, HarnessLeaf *leaf) {
    const Model *model = allowances->model;
    LengthKept kept = leaf->disconnect == ID_NONE
                          ? length_kept_at(model, leaf->owner)
                          : length_kept_at_half(scratch, model, leaf->disconnect, leaf->far);
    const char *word = length_place_word(kept.place);
    leaf->rule = kept.row;
    leaf->loop_mm = kept.loop_mm;
    if (kept.row != ID_NONE || allowances->told[kept.place]) {
        return;
    }
    allowances->told[kept.place] = true;
    Finding *finding =
        finding_report(allowances->findings, RULE_HARNESS_ALLOWANCE, "end_allowance", word, "",
                       "no row says what length is kept at ends of kind %s, such as %s: none is",
                       word, leaf->label);
    report_hint(allowances->findings, finding, "a row of end_allowance: %s, any", word);
}

/* --- where it points to -------------------------------------------------------------------------
 */

bool harness_unit_vector(double vector[3]) {
    double length = sqrt(vector[0] * vector[0] + vector[1] * vector[1] + vector[2] * vector[2]);
    for (int i = 0; i < 3; i++) {
        vector[i] = length > 0.0 ? vector[i] / length : 0.0;
    }
    return length > 0.0;
}

/* Away from the arms that meet at the node. */
static void point_away(const HarnessSet *set, const HarnessNode *node, double direction[3]) {
    for (uint32_t i = node->arm_first; i < node->arm_first + node->arm_count; i++) {
        const HarnessArm *arm = &set->arms[set->node_arms[i]];
        double along[3];
        if (!route_segment_direction(set->ends->model, arm->segment, along)) {
            continue;
        }
        bool leaves_a = &set->nodes[arm->node[0]] == node;
        for (int axis = 0; axis < 3; axis++) {
            direction[axis] += leaves_a ? -along[axis] : along[axis];
        }
    }
    harness_unit_vector(direction);
}

static void point(const HarnessSet *set, const Cuts *cuts, HarnessLeaf *leaf) {
    const Model *model = set->ends->model;
    const HarnessNode *node = &set->nodes[leaf->node];
    if (leaf->segment != ID_NONE) {
        /* Towards the other half: along the segment, from this side of it to that. */
        leaf->direction_known = route_segment_direction(model, leaf->segment, leaf->direction);
        bool on_a = leaf->far == cuts->far_is_a[leaf->segment];
        for (int axis = 0; axis < 3 && !on_a; axis++) {
            leaf->direction[axis] = -leaf->direction[axis];
        }
        return;
    }
    const ModelOwner *owner = &model->owners[leaf->owner];
    if (owner->kind == OWNER_ANTENNA) {
        const AntennaRow *row = &model->set->antenna.rows[owner->row];
        leaf->direction[0] = row->x_mm - node->at_mm[0];
        leaf->direction[1] = row->y_mm - node->at_mm[1];
        leaf->direction[2] = row->z_mm - node->at_mm[2];
        leaf->direction_known = harness_unit_vector(leaf->direction);
    }
    if (!leaf->direction_known) {
        point_away(set, node, leaf->direction);
    }
}

/* --- leaves -------------------------------------------------------------------------------------
 */

static const char *leaf_label(Arena *out, const Ends *ends, const HarnessLeaf *leaf) {
    const Model *model = ends->model;
    switch (leaf->kind) {
    case HARNESS_LEAF_SHELL:
        return ends_half_name(out, ends, leaf->disconnect_shell,
                              leaf->far ? SHELL_FAR : SHELL_NEAR);
    case HARNESS_LEAF_PASS:
        return arena_format(out, "%s bulkhead %s",
                            model->set->disconnect.rows[leaf->disconnect].disconnect,
                            model->set->segment.rows[leaf->segment].segment);
    case HARNESS_LEAF_CONNECTOR:
        return arena_format(out, "%s.%s", model->owners[leaf->owner].tag, leaf->connector);
    case HARNESS_LEAF_STUDS:
        break;
    }
    return model->owners[leaf->owner].tag;
}

static HarnessLeaf make_leaf(Arena *out, const HarnessSet *set, const Cuts *cuts,
                             const LeafKey *key) {
    const Ends *ends = set->ends;
    const PieceEnd *end = &ends->pieces[key->end / 2].ends[key->end % 2];
    HarnessLeaf leaf = {.kind = key->kind,
                        .harness = set->nodes[key->node].harness,
                        .node = key->node,
                        .owner = ID_NONE,
                        .connector = key->connector,
                        .shell = ID_NONE,
                        .disconnect_shell = ID_NONE,
                        .disconnect = end->disconnect,
                        .segment = key->segment,
                        .far = key->far,
                        .stub_mm = key->stub_mm};
    if (key->kind == HARNESS_LEAF_SHELL) {
        leaf.disconnect_shell = key->what;
        leaf.shell = cuts->kind[key->what];
    } else if (key->kind != HARNESS_LEAF_PASS) {
        const ModelTerminal *terminal = &ends->model->terminals[end->terminal];
        PinId pin = end->pin != ID_NONE ? end->pin : terminal->pin_first;
        leaf.owner = key->what;
        leaf.shell = key->kind == HARNESS_LEAF_CONNECTOR ? ends->model->pins[pin].shell : ID_NONE;
    }
    leaf.label = leaf_label(out, ends, &leaf);
    return leaf;
}

static LeafKey *list_ends(Arena *scratch, HarnessSet *set, const SegmentId (*cross)[2],
                          size_t *count) {
    LeafKey *keys = ARENA_ARRAY(scratch, LeafKey, 2 * (size_t)set->ends->piece_count);
    *count = 0;
    for (EndId i = 0; i < 2 * set->ends->piece_count; i++) {
        uint32_t run = set->pieces[i / 2].run;
        set->pieces[i / 2].leaf[i % 2] = ID_NONE;
        if (set->runs[run].harness != ID_NONE) {
            keys[(*count)++] = leaf_key(set, i, cross[run][i % 2]);
        }
    }
    if (*count > 1) {
        qsort(keys, *count, sizeof *keys, compare_keys);
    }
    return keys;
}

void harness_leaves_build(Arena *out, HarnessSet *set, const Cuts *cuts,
                          const SegmentId (*cross)[2], Findings *findings) {
    Arena scratch = {0};
    size_t count = 0;
    const LeafKey *keys = list_ends(&scratch, set, cross, &count);
    set->leaf_ends = ARENA_ARRAY(out, EndId, count);
    size_t leaves = 0;
    for (size_t i = 0; i < count; i++) {
        leaves += i == 0 || compare_leaves(&keys[i - 1], &keys[i]) != 0 ? 1u : 0u;
    }
    set->leaves = ARENA_ARRAY(out, HarnessLeaf, leaves);
    bool told[LENGTH_PLACE_COUNT] = {false};
    Allowances allowances = {.model = set->ends->model, .findings = findings, .told = told};
    for (uint32_t i = 0; i < count; i++) {
        if (i == 0 || compare_leaves(&keys[i - 1], &keys[i]) != 0) {
            HarnessLeaf *leaf = &set->leaves[set->leaf_count];
            *leaf = make_leaf(out, set, cuts, &keys[i]);
            leaf->end_first = i;
            allow(&allowances, &scratch, leaf);
            point(set, cuts, leaf);
            HarnessNode *node = &set->nodes[leaf->node];
            node->leaf_first = node->leaf_count++ == 0 ? set->leaf_count : node->leaf_first;
            Harness *harness = &set->harnesses[leaf->harness];
            harness->leaf_first =
                harness->leaf_count++ == 0 ? set->leaf_count : harness->leaf_first;
            set->leaf_count++;
        }
        set->leaves[set->leaf_count - 1].end_count++;
        set->leaf_ends[i] = keys[i].end;
        set->pieces[keys[i].end / 2].leaf[keys[i].end % 2] = set->leaf_count - 1;
    }
    arena_free(&scratch);
}
