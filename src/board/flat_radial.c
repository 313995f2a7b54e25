/* The plain layout to compare with: from the middle of the tree every subtree has a wedge as wide
 * as its share of the ends; arms are straight. A wedge moved along itself stays inside the one it
 * came from, so nothing crosses, however long the arms are. */
#include "board/flat.h"

#include <math.h>

#include "base/units.h"
#include "board/flat_inner.h"

typedef struct Radial {
    const FlatTree *tree;
    FlatFrame frame;
    uint32_t *order; /* nodes, from the root outwards */
    uint32_t count;
    uint32_t *by_arm; /* by node */
    double *ends;     /* by node: ends beyond it */
    double *low_rad;  /* by node: its wedge */
    double *high_rad;
} Radial;

static void walk_out(Radial *radial, uint32_t root) {
    uint32_t first = radial->count;
    radial->by_arm[root] = FLAT_NONE;
    radial->order[radial->count++] = root;
    for (uint32_t i = first; i < radial->count; i++) {
        uint32_t node = radial->order[i];
        for (uint32_t k = radial->frame.incident_first[node];
             k < radial->frame.incident_first[node + 1]; k++) {
            uint32_t arm = radial->frame.incident[k];
            if (arm != radial->by_arm[node]) {
                uint32_t next = flat_other(radial->tree, arm, node);
                radial->by_arm[next] = arm;
                radial->order[radial->count++] = next;
            }
        }
    }
    for (uint32_t i = radial->count; i-- > first;) {
        uint32_t node = radial->order[i];
        radial->ends[node] = fmax(1.0, radial->ends[node]);
        if (radial->by_arm[node] != FLAT_NONE) {
            radial->ends[flat_other(radial->tree, radial->by_arm[node], node)] +=
                radial->ends[node];
        }
    }
}

/* The node from which the farthest end is nearest by number of arms would do as well; the one with
 * most arms is the plainest. */
static uint32_t root_of(const Radial *radial, const bool *seen) {
    uint32_t best = FLAT_NONE;
    uint32_t most = 0;
    for (uint32_t i = 0; i < radial->tree->node_count; i++) {
        uint32_t degree = radial->frame.incident_first[i + 1] - radial->frame.incident_first[i];
        if (!seen[i] && degree > most) {
            most = degree;
            best = i;
        }
    }
    return best;
}

static void place(Radial *radial, uint32_t node, Flat *flat) {
    double at_rad = radial->low_rad[node];
    double sum = 0.0;
    for (uint32_t k = radial->frame.incident_first[node];
         k < radial->frame.incident_first[node + 1]; k++) {
        uint32_t arm = radial->frame.incident[k];
        sum +=
            arm == radial->by_arm[node] ? 0.0 : radial->ends[flat_other(radial->tree, arm, node)];
    }
    double span_rad = radial->high_rad[node] - radial->low_rad[node];
    for (uint32_t k = radial->frame.incident_first[node];
         k < radial->frame.incident_first[node + 1]; k++) {
        uint32_t arm = radial->frame.incident[k];
        if (arm == radial->by_arm[node]) {
            continue;
        }
        uint32_t next = flat_other(radial->tree, arm, node);
        double own_rad = span_rad * radial->ends[next] / sum;
        double heading_rad = at_rad + own_rad / 2.0;
        double length_mm = radial->tree->arms[arm].length_mm;
        radial->low_rad[next] = at_rad;
        radial->high_rad[next] = at_rad + fmin(own_rad, UNITS_PI * 0.9);
        flat->nodes[next].x_mm = flat->nodes[node].x_mm + length_mm * cos(heading_rad);
        flat->nodes[next].y_mm = flat->nodes[node].y_mm + length_mm * sin(heading_rad);
        bool from_a = radial->tree->arms[arm].a == node;
        const FlatNode *start = &flat->nodes[from_a ? node : next];
        flat->pieces[arm] = (FlatPiece){arm,         start->x_mm,
                                        start->y_mm, from_a ? heading_rad : heading_rad + UNITS_PI,
                                        length_mm,   0.0};
        at_rad += own_rad;
    }
}

/* Moves everything right and up by the margin, and counts boards and travel. */
static void settle(const FlatTree *tree, const FlatShop *shop, Flat *flat) {
    double low_x = INFINITY;
    double low_y = INFINITY;
    double high_x = -INFINITY;
    double high_y = -INFINITY;
    for (uint32_t i = 0; i < tree->node_count; i++) {
        low_x = fmin(low_x, flat->nodes[i].x_mm);
        low_y = fmin(low_y, flat->nodes[i].y_mm);
        high_x = fmax(high_x, flat->nodes[i].x_mm);
        high_y = fmax(high_y, flat->nodes[i].y_mm);
    }
    double edge_mm = shop->margin_mm + 60.0;
    for (uint32_t i = 0; i < tree->node_count; i++) {
        flat->nodes[i].x_mm += edge_mm - low_x;
        flat->nodes[i].y_mm += edge_mm - low_y;
    }
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        flat->pieces[i].x_mm += edge_mm - low_x;
        flat->pieces[i].y_mm += edge_mm - low_y;
    }
    flat->width_mm = high_x - low_x + edge_mm;
    flat->height_mm = high_y - low_y + edge_mm;
    flat->columns = (uint32_t)ceil((flat->width_mm + edge_mm) / shop->board_length_mm);
    flat->rows = (uint32_t)ceil((flat->height_mm + edge_mm) / shop->board_width_mm);
}

void flat_radial(Arena *out, const FlatTree *tree, const FlatShop *shop, Flat *flat) {
    Arena scratch = {0};
    Radial radial = {.tree = tree};
    flat_frame_build(&scratch, tree, shop, &radial.frame);
    radial.order = ARENA_ARRAY(&scratch, uint32_t, tree->node_count + 1);
    radial.by_arm = ARENA_ARRAY(&scratch, uint32_t, tree->node_count + 1);
    radial.ends = ARENA_ARRAY(&scratch, double, tree->node_count + 1);
    radial.low_rad = ARENA_ARRAY(&scratch, double, tree->node_count + 1);
    radial.high_rad = ARENA_ARRAY(&scratch, double, tree->node_count + 1);
    bool *seen = ARENA_ARRAY(&scratch, bool, tree->node_count + 1);
    *flat = (Flat){.nodes = ARENA_ARRAY(out, FlatNode, tree->node_count + 1),
                   .leans = ARENA_ARRAY(out, FlatLean, tree->arm_count + 1),
                   .trunk = ARENA_ARRAY(out, bool, tree->arm_count + 1),
                   .pieces = ARENA_ARRAY(out, FlatPiece, tree->arm_count + 1),
                   .piece_count = tree->arm_count,
                   .arm_first = ARENA_ARRAY(out, uint32_t, tree->arm_count + 1)};
    double beside_mm = 0.0; /* parts that do not hang together lie apart */
    for (uint32_t root = root_of(&radial, seen); root != FLAT_NONE; root = root_of(&radial, seen)) {
        uint32_t first = radial.count;
        walk_out(&radial, root);
        radial.high_rad[root] = 2.0 * UNITS_PI;
        flat->nodes[root].x_mm = beside_mm;
        for (uint32_t i = first; i < radial.count; i++) {
            seen[radial.order[i]] = true;
            place(&radial, radial.order[i], flat);
            beside_mm = fmax(beside_mm, flat->nodes[radial.order[i]].x_mm);
        }
        beside_mm += 1e5;
    }
    for (uint32_t i = 0; i < tree->arm_count; i++) {
        flat->arm_first[i + 1] = i + 1;
        flat->path_mm += tree->arms[i].length_mm;
    }
    for (uint32_t i = 0; i < tree->node_count; i++) {
        flat->nodes[i].zone_mm = radial.frame.zone_mm[i];
    }
    settle(tree, shop, flat);
    flat->travel_mm = flat_travel_mm(tree, flat);
    arena_free(&scratch);
}
