/* Method. Nodes are put into columns one after the other, the one most linked to those that stand
 * first, each into the column that costs least: too little room for the gates of a link costs most,
 * then a column filled over its height, links longer than needed, links that turn back on the same
 * side, and sources not at the left. Then every node is tried again in all columns. What is still
 * impossible is made possible by a copy: a second place for the box, with only that link. */
#include "draw/wiring_columns.h"

#include <math.h>
#include <string.h>

#define SWEEPS 4u

/* Costs. In rows of one link by one column. */
#define COST_NO_ROOM 3000.0  /* no room for the gates */
#define COST_SAME_SIDE 400.0 /* both ends of a through node on one side */
#define COST_TURN 9.0
#define COST_LONG 3.0
#define COST_LEAN 6.0
#define COST_FULL 40.0 /* for each row a column is overfilled */
#define COST_EVEN 3.0  /* for a column filled to the foot */

typedef struct Arm {
    uint32_t link;
    uint32_t end; /* of the link, at this node */
} Arm;

typedef struct Columns {
    LayoutProblem *problem;
    uint32_t count;
    double field_mm; /* height */
    Arm *arms;
    uint32_t *arm_first; /* by node, and one more */
    bool *placed;
    double *height_mm; /* by node: what it will take */
    double used_mm[LAYOUT_COLUMNS_MAX];
} Columns;

static double expected_height_mm(const Columns *columns, uint32_t node) {
    const LayoutNode *row = &columns->problem->nodes[node];
    uint32_t rows = 0;
    for (uint32_t i = columns->arm_first[node]; i < columns->arm_first[node + 1]; i++) {
        rows += columns->problem->links[columns->arms[i].link].rows;
    }
    if (row->through) {
        rows = 1;
    } else if (row->fill && rows > 2) {
        rows = (rows * 2 + 2) / 3; /* some at the left, some at the right */
    }
    return row->head_mm + row->foot_mm + row->row_mm * (double)(rows > 0 ? rows : 1);
}

static const LayoutEnd *far_end(const Columns *columns, Arm arm) {
    return &columns->problem->links[arm.link].end[1 - arm.end];
}

/* Side that the other links of a through node already leave by when it stands in `column`: -1 left,
 * +1 right, 0 none. `except`: the link not to look at. */
static int taken_side(const Columns *columns, uint32_t node, uint32_t column, uint32_t except) {
    for (uint32_t i = columns->arm_first[node]; i < columns->arm_first[node + 1]; i++) {
        Arm arm = columns->arms[i];
        uint32_t other = far_end(columns, arm)->node;
        if (arm.link != except && other != LAYOUT_NONE && columns->placed[other] && other != node) {
            return columns->problem->nodes[other].column < column ? -1 : 1;
        }
    }
    return 0;
}

static double place_cost(const Columns *columns, uint32_t node, uint32_t column) {
    const LayoutProblem *problem = columns->problem;
    const LayoutNode *row = &problem->nodes[node];
    double cost = 0.0;
    for (uint32_t i = columns->arm_first[node]; i < columns->arm_first[node + 1]; i++) {
        Arm arm = columns->arms[i];
        const LayoutLink *link = &problem->links[arm.link];
        uint32_t other = far_end(columns, arm)->node;
        if (other == LAYOUT_NONE || other == node || !columns->placed[other]) {
            continue;
        }
        uint32_t there = problem->nodes[other].column;
        int side = there < column ? -1 : 1; /* where the other one stands; turns leave right */
        double far = fabs((double)there - (double)column);
        double need = 1.0 + (double)link->gate_count;
        double rows = (double)link->rows;
        if (there == column && link->gate_count == 0) {
            cost += COST_TURN * rows;
        } else if (far < need) {
            cost += COST_NO_ROOM * rows;
        } else {
            cost += COST_LONG * rows * (far - need);
        }
        int lean = row->lean - problem->nodes[other].lean;
        if (lean != 0 && (there == column || (lean < 0) != (column < there))) {
            cost += COST_LEAN * rows;
        }
        if (row->through && taken_side(columns, node, column, arm.link) == side) {
            cost += COST_SAME_SIDE;
        }
        if (problem->nodes[other].through &&
            taken_side(columns, other, there, arm.link) == (there == column ? 1 : -side)) {
            cost += COST_SAME_SIDE;
        }
    }
    double height_mm = columns->used_mm[column] + columns->height_mm[node];
    if (height_mm > columns->field_mm) {
        cost += COST_FULL * (height_mm - columns->field_mm) / LAYOUT_ROW_MM;
    }
    return cost + COST_EVEN * height_mm / columns->field_mm;
}

/* Without `first` LAYOUT_NONE: where it costs least; else into that column. */
static void place(Columns *columns, uint32_t node, uint32_t first) {
    LayoutNode *row = &columns->problem->nodes[node];
    uint32_t best = 0;
    double best_cost = INFINITY;
    for (uint32_t i = 0; i < columns->count; i++) {
        /* From the middle outwards, so that equals stand in the middle. */
        uint32_t middle = (columns->count - 1) / 2;
        uint32_t away = (i + 1) / 2;
        uint32_t column = i % 2 == 1 ? middle + away : middle - away;
        if (column >= columns->count) {
            continue;
        }
        double cost = first == column ? -1.0 : place_cost(columns, node, column);
        if (cost < best_cost - 1e-9) {
            best = column;
            best_cost = cost;
        }
    }
    row->column = best;
    columns->used_mm[best] += columns->height_mm[node];
    columns->placed[node] = true;
}

/* The node not yet placed that is most linked to those that are; else the most linked one. */
static uint32_t choose(const Columns *columns, const double *drawn, const double *rows) {
    uint32_t best = LAYOUT_NONE;
    for (uint32_t i = 0; i < columns->problem->node_count; i++) {
        if (columns->placed[i]) {
            continue;
        }
        if (best == LAYOUT_NONE || drawn[i] > drawn[best] + 0.5 ||
            (drawn[i] > drawn[best] - 0.5 && rows[i] > rows[best] + 0.5)) {
            best = i;
        }
    }
    return best;
}

static void find_arms(Arena *arena, Columns *columns) {
    const LayoutProblem *problem = columns->problem;
    size_t count = problem->node_count;
    columns->arm_first = ARENA_ARRAY(arena, uint32_t, count + 2);
    for (size_t i = 0; i < problem->link_count; i++) {
        for (uint32_t end = 0; end < 2; end++) {
            uint32_t node = problem->links[i].end[end].node;
            if (node != LAYOUT_NONE) {
                columns->arm_first[node + 2]++;
            }
        }
    }
    for (size_t i = 2; i < count + 2; i++) {
        columns->arm_first[i] += columns->arm_first[i - 1];
    }
    columns->arms = ARENA_ARRAY(arena, Arm, 2 * problem->link_count);
    for (size_t i = 0; i < problem->link_count; i++) {
        for (uint32_t end = 0; end < 2; end++) {
            uint32_t node = problem->links[i].end[end].node;
            if (node != LAYOUT_NONE) {
                columns->arms[columns->arm_first[node + 1]++] = (Arm){(uint32_t)i, end};
            }
        }
    }
}

/* --- copies -------------------------------------------------------------------------------------
 */

static uint32_t add_copy(Arena *arena, LayoutProblem *problem, uint32_t of, uint32_t column) {
    LayoutNode *copy =
        ARENA_PUSH(arena, problem->nodes, problem->node_count, problem->node_capacity);
    *copy = problem->nodes[of];
    copy->copy_of = problem->nodes[of].copy_of;
    copy->column = column;
    copy->through = false;
    return (uint32_t)problem->node_count - 1;
}

/* Links that can't be drawn where their nodes stand get a copy of the smaller node; of both when
 * the larger one stands in the middle. */
static void copy_unreached(Arena *arena, Columns *columns) {
    LayoutProblem *problem = columns->problem;
    size_t links = problem->link_count;
    for (size_t i = 0; i < links; i++) {
        LayoutLink *link = &problem->links[i];
        uint32_t a = link->end[0].node;
        uint32_t b = link->end[1].node;
        if (b == LAYOUT_NONE) {
            continue;
        }
        uint32_t column_a = problem->nodes[a].column;
        uint32_t column_b = problem->nodes[b].column;
        uint32_t far = column_a < column_b ? column_b - column_a : column_a - column_b;
        uint32_t need = 1 + link->gate_count;
        bool turn = link->gate_count == 0 && far == 0 && a != b;
        if (turn || far >= need) {
            continue;
        }
        uint32_t degree_a = columns->arm_first[a + 1] - columns->arm_first[a];
        uint32_t degree_b = columns->arm_first[b + 1] - columns->arm_first[b];
        uint32_t small = degree_a < degree_b ? 0 : 1;
        uint32_t stays = problem->nodes[link->end[1 - small].node].column;
        uint32_t to;
        if (stays + need < columns->count) {
            to = stays + need;
        } else if (stays >= need) {
            to = stays - need;
        } else {
            link->end[1 - small].node = add_copy(arena, problem, link->end[1 - small].node, 0);
            to = need;
        }
        link->end[small].node = add_copy(arena, problem, link->end[small].node, to);
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

static void close_up(LayoutProblem *problem, uint32_t *count) {
    bool wanted[LAYOUT_COLUMNS_MAX] = {false};
    for (size_t i = 0; i < problem->node_count; i++) {
        wanted[problem->nodes[i].column] = true;
    }
    for (size_t i = 0; i < problem->link_count; i++) {
        const LayoutLink *link = &problem->links[i];
        if (link->gate_count > 0) {
            uint32_t a = problem->nodes[link->end[0].node].column;
            uint32_t b = problem->nodes[link->end[1].node].column;
            for (uint32_t k = a < b ? a : b; k <= (a < b ? b : a); k++) {
                wanted[k] = true; /* gates stand there, or may */
            }
        }
    }
    uint32_t to[LAYOUT_COLUMNS_MAX] = {0};
    uint32_t next = 0;
    for (uint32_t i = 0; i < *count; i++) {
        to[i] = next;
        next += wanted[i] ? 1 : 0;
    }
    for (size_t i = 0; i < problem->node_count; i++) {
        problem->nodes[i].column = to[problem->nodes[i].column];
    }
    *count = next;
}

/* Places all nodes, the first one in column `first`; returns what it costs. */
static double settle(Columns *columns, size_t nodes, uint32_t first, double *drawn,
                     const double *rows) {
    LayoutProblem *problem = columns->problem;
    memset(columns->placed, 0, nodes * sizeof *columns->placed);
    memset(columns->used_mm, 0, sizeof columns->used_mm);
    memset(drawn, 0, nodes * sizeof *drawn);
    for (size_t i = 0; i < nodes; i++) {
        uint32_t node = choose(columns, drawn, rows);
        place(columns, node, i == 0 ? first : LAYOUT_NONE);
        for (uint32_t k = columns->arm_first[node]; k < columns->arm_first[node + 1]; k++) {
            uint32_t other = far_end(columns, columns->arms[k])->node;
            if (other != LAYOUT_NONE) {
                drawn[other] += (double)problem->links[columns->arms[k].link].rows;
            }
        }
    }
    bool moved = true;
    for (uint32_t sweep = 0; sweep < SWEEPS && moved; sweep++) {
        moved = false;
        for (uint32_t node = 0; node < nodes; node++) {
            uint32_t before = problem->nodes[node].column;
            columns->used_mm[problem->nodes[node].column] -= columns->height_mm[node];
            columns->placed[node] = false;
            place(columns, node, LAYOUT_NONE);
            moved = moved || problem->nodes[node].column != before;
        }
    }
    double cost = 0.0;
    for (uint32_t node = 0; node < nodes; node++) {
        uint32_t column = problem->nodes[node].column;
        columns->used_mm[column] -= columns->height_mm[node];
        cost += place_cost(columns, node, column);
        columns->used_mm[column] += columns->height_mm[node];
    }
    return cost;
}

uint32_t wiring_columns(Arena *arena, LayoutProblem *problem, uint32_t most) {
    Columns columns = {.problem = problem, .count = most};
    columns.field_mm = problem->field.bottom_mm - problem->field.top_mm;
    size_t nodes = problem->node_count;
    find_arms(arena, &columns);
    columns.height_mm = ARENA_ARRAY(arena, double, nodes);
    for (uint32_t i = 0; i < nodes; i++) {
        columns.height_mm[i] = expected_height_mm(&columns, i);
    }
    columns.placed = ARENA_ARRAY(arena, bool, nodes + 2 * problem->link_count);
    double *drawn = ARENA_ARRAY(arena, double, nodes);
    double *rows = ARENA_ARRAY(arena, double, nodes);
    for (size_t i = 0; i < problem->link_count; i++) {
        for (uint32_t end = 0; end < 2; end++) {
            if (problem->links[i].end[end].node != LAYOUT_NONE) {
                rows[problem->links[i].end[end].node] += (double)problem->links[i].rows;
            }
        }
    }
    for (size_t i = 0; i < nodes; i++) {
        problem->nodes[i].copy_of = (uint32_t)i;
    }
    uint32_t *best = ARENA_ARRAY(arena, uint32_t, nodes);
    double least = INFINITY;
    uint32_t firsts[] = {(most - 1) / 2, 0, most - 1, most / 2, 1};
    for (size_t i = 0; i < sizeof firsts / sizeof *firsts; i++) {
        bool again = firsts[i] >= most;
        for (size_t k = 0; k < i; k++) {
            again = again || firsts[k] == firsts[i];
        }
        if (again) {
            continue;
        }
        double cost = settle(&columns, nodes, firsts[i], drawn, rows);
        for (size_t k = 0; k < nodes && cost < least - 1e-9; k++) {
            best[k] = problem->nodes[k].column;
        }
        least = fmin(least, cost);
    }
    for (size_t i = 0; i < nodes; i++) {
        problem->nodes[i].column = best[i];
    }
    copy_unreached(arena, &columns);
    uint32_t count = most;
    close_up(problem, &count);
    return count;
}
