/* Every bus but the roots stands behind the bus of its usual feed, which makes trees. A tree is
 * walked downwards: the first branch of a bus keeps the row of the branch it came by, every other
 * one takes the next free row, so that branches of the tree cannot cross. Other feeds (a tie, a
 * second supply) have a row at the bus they leave and reach the bar they feed when that can be
 * stretched to them past nothing else. Trees are put on one drawing until the page is full. */
#include "draw/power_layout.h"

#include <string.h>

#include "base/check.h"

#define PUSH_ROUNDS 8
#define SQUEEZE_MOST 0.9 /* share of its width that a branch needs at least */

typedef struct Trees {
    Arena *arena;
    const PowerFacts *facts;
    const PowerMeasure *measure;
    PowerLayout *layout;
    BusId *queue; /* roots still to be drawn */
    size_t queue_count;
    size_t queue_capacity;
    uint32_t *fed_count; /* by bus: branches that arrive at it */
    uint32_t *bar_of;    /* by bus: its bar in the drawing at hand; ID_NONE */
    PowerBlock *block;
    int32_t next_row;
    int32_t last_source_row;
} Trees;

/* --- what a bus has -----------------------------------------------------------------------------
 */

static uint32_t list_count(const PowerList *list, BusId bus) {
    return list->first[bus + 1] - list->first[bus];
}

static bool is_child(const PowerFacts *facts, uint32_t branch) {
    return facts->parent[facts->branches[branch].to] == branch;
}

/* Room its loads need right of a bar. */
static double loads_mm(const Trees *trees, BusId bus) {
    const PowerFacts *facts = trees->facts;
    double widest_mm = 0.0;
    for (uint32_t i = facts->loads.first[bus]; i < facts->loads.first[bus + 1]; i++) {
        const PowerBranch *branch = &facts->branches[facts->loads.rows[i]];
        double mm = branch->width_mm + branch->need_mm;
        widest_mm = mm > widest_mm ? mm : widest_mm;
    }
    return widest_mm;
}

/* --- walking a tree -----------------------------------------------------------------------------
 */

static uint32_t add_bar(Trees *trees, BusId bus, double x_mm, int32_t row) {
    PowerBlock *block = trees->block;
    *ARENA_PUSH(trees->arena, block->bars, block->bar_count, block->bar_capacity) = (PowerBar){
        .bus = bus,
        .x_mm = x_mm,
        .row_first = row,
        .row_last = row,
        .row_name = row,
        .parent = ID_NONE,
        .parent_line = ID_NONE,
    };
    uint32_t bar = (uint32_t)block->bar_count - 1;
    trees->bar_of[bus] = bar;
    return bar;
}

static PowerLine *add_line(Trees *trees, uint32_t branch, int32_t row, uint32_t from) {
    PowerBlock *block = trees->block;
    PowerLine *line =
        ARENA_PUSH(trees->arena, block->lines, block->line_count, block->line_capacity);
    *line = (PowerLine){branch, row, from, ID_NONE, POWER_END_STUB};
    return line;
}

/* Whether a bus that stands at x has room for what leaves it. */
static bool fits(const Trees *trees, BusId bus, double x_mm) {
    const PowerFacts *facts = trees->facts;
    double widest_mm = trees->measure->tail_mm;
    for (uint32_t i = facts->onward.first[bus]; i < facts->onward.first[bus + 1]; i++) {
        double mm = facts->branches[facts->onward.rows[i]].width_mm + trees->measure->tail_mm;
        widest_mm = mm > widest_mm ? mm : widest_mm;
    }
    return x_mm + widest_mm <= trees->measure->width_mm;
}

static bool loads_here(const Trees *trees, BusId bus) {
    return !trees->layout->loads_apart[bus] && list_count(&trees->facts->loads, bus) > 0;
}

/* The heaviest child comes last: what else ends at its bars comes from further down. A child with
 * sources or second feeds anywhere behind it counts as heavy. */
static uint32_t weight(const Trees *trees, BusId bus, uint32_t depth) {
    const PowerFacts *facts = trees->facts;
    uint32_t sum = 1 + 8 * (trees->fed_count[bus] - (trees->fed_count[bus] > 0));
    for (uint32_t i = facts->onward.first[bus]; depth < 12 && i < facts->onward.first[bus + 1];
         i++) {
        uint32_t branch = facts->onward.rows[i];
        if (is_child(facts, branch)) {
            sum += weight(trees, facts->branches[branch].to, depth + 1);
        }
    }
    return sum;
}

typedef struct Item {
    uint32_t branch;
    uint32_t weight;
} Item;

static void reach(PowerBar *bar, int32_t row) {
    bar->row_first = row < bar->row_first ? row : bar->row_first;
    bar->row_last = row > bar->row_last ? row : bar->row_last;
}

/* Branches from sources to a bar: to a root from its first row on, to any other one each on a row
 * of its own below its tree. */
static void place_sources(Trees *trees, uint32_t bar) {
    const PowerFacts *facts = trees->facts;
    BusId bus = trees->block->bars[bar].bus;
    bool root = trees->block->bars[bar].parent == ID_NONE;
    int32_t row = root ? trees->block->bars[bar].row_first : trees->next_row;
    trees->block->bars[bar].inward = true;
    for (uint32_t i = facts->inward.first[bus]; i < facts->inward.first[bus + 1]; i++) {
        if (row < trees->last_source_row + 2) {
            row = trees->last_source_row + 2;
        }
        PowerLine *line = add_line(trees, facts->inward.rows[i], row, ID_NONE);
        line->bar_to = bar;
        line->end = POWER_END_BAR;
        trees->last_source_row = row;
        reach(&trees->block->bars[bar], row);
        trees->next_row = row + 1 > trees->next_row ? row + 1 : trees->next_row;
        row += 2;
    }
}

static void place_bus(Trees *trees, uint32_t bar, uint32_t depth);

static uint32_t depth_of(const PowerFacts *facts, BusId bus) {
    uint32_t depth = 0;
    while (facts->parent[bus] != ID_NONE && depth < 200) {
        bus = facts->branches[facts->parent[bus]].from;
        depth++;
    }
    return depth;
}

/* Second feeds first, those that end nearest on top; then children, the heaviest last. */
static bool comes_before(const Trees *trees, const Item *item, const Item *other) {
    const PowerFacts *facts = trees->facts;
    if (item->weight == 0 && other->weight == 0) {
        return depth_of(facts, facts->branches[item->branch].to) <
               depth_of(facts, facts->branches[other->branch].to);
    }
    return item->weight < other->weight;
}

/* Rows of a bus's loads, or the one that says where they are; false when there is nothing to say.
 */
static bool place_loads(Trees *trees, uint32_t bar, int32_t row) {
    const PowerFacts *facts = trees->facts;
    BusId bus = trees->block->bars[bar].bus;
    if (list_count(&facts->loads, bus) == 0) {
        return false;
    }
    if (loads_here(trees, bus)) {
        for (uint32_t i = facts->loads.first[bus]; i < facts->loads.first[bus + 1]; i++) {
            add_line(trees, facts->loads.rows[i], row, bar)->end = POWER_END_LOAD;
            reach(&trees->block->bars[bar], row++);
        }
        trees->block->bars[bar].loads = true;
    } else if (list_count(&facts->onward, bus) > 0) {
        add_line(trees, ID_NONE, row, bar)->end = POWER_END_MORE;
        reach(&trees->block->bars[bar], row++);
    } else {
        return false; /* said beside its name */
    }
    trees->next_row = row;
    return true;
}

/* Onward branches of a bus in the order they are drawn. */
static size_t sorted_items(const Trees *trees, BusId bus, Arena *scratch, Item **items) {
    const PowerFacts *facts = trees->facts;
    size_t count = list_count(&facts->onward, bus);
    *items = ARENA_ARRAY(scratch, Item, count + 1);
    for (size_t i = 0; i < count; i++) {
        uint32_t branch = facts->onward.rows[facts->onward.first[bus] + i];
        Item item = {branch,
                     is_child(facts, branch) ? weight(trees, facts->branches[branch].to, 0) : 0};
        /* Insertion keeps equal ones in order; more than a page of children needs no order. */
        size_t at = i;
        while (at > 0 && i < 64 && comes_before(trees, &item, &(*items)[at - 1])) {
            (*items)[at] = (*items)[at - 1];
            at--;
        }
        (*items)[at] = item;
    }
    return count;
}

/* Whether anything leaves a bus on this drawing: then its name stands above its bar. */
static bool has_more(const Trees *trees, BusId bus) {
    return list_count(&trees->facts->onward, bus) > 0 || loads_here(trees, bus);
}

/* Where a bus stands at least: behind its sources. */
static double least_x_mm(const Trees *trees, BusId bus) {
    const PowerFacts *facts = trees->facts;
    double widest_mm = 0.0;
    for (uint32_t i = facts->inward.first[bus]; i < facts->inward.first[bus + 1]; i++) {
        double mm = trees->measure->source_mm + facts->branches[facts->inward.rows[i]].width_mm;
        widest_mm = mm > widest_mm ? mm : widest_mm;
    }
    return widest_mm > 0.0 ? widest_mm : 2.5;
}

static void place_child(Trees *trees, uint32_t bar, uint32_t branch, double leaf_mm, int32_t *row,
                        bool first, uint32_t depth) {
    const PowerFacts *facts = trees->facts;
    BusId to = facts->branches[branch].to;
    double x_mm = trees->block->bars[bar].x_mm + facts->branches[branch].width_mm;
    if (x_mm < least_x_mm(trees, to)) {
        x_mm = least_x_mm(trees, to);
    }
    if (is_child(facts, branch) && !has_more(trees, to) && x_mm < leaf_mm) {
        x_mm = leaf_mm;
    }
    if (is_child(facts, branch) && !has_more(trees, to) && !fits(trees, to, x_mm)) {
        /* Where the drawing ends devices may stand a little closer. */
        double most_mm = trees->measure->width_mm - trees->measure->tail_mm;
        double least_mm =
            trees->block->bars[bar].x_mm + SQUEEZE_MOST * facts->branches[branch].width_mm;
        x_mm = most_mm > least_mm ? most_mm : x_mm;
    }
    bool here = is_child(facts, branch) && fits(trees, to, x_mm) && depth < 200;
    bool inner = here && has_more(trees, to);
    if (!first && inner) {
        (*row)++; /* its name stands above it */
    }
    size_t at = trees->block->line_count;
    add_line(trees, branch, *row, bar);
    trees->next_row = *row + 1;
    if (here) {
        uint32_t child = add_bar(trees, to, x_mm, *row);
        trees->block->lines[at].end = POWER_END_BAR;
        trees->block->lines[at].bar_to = child;
        trees->block->bars[child].parent = bar;
        trees->block->bars[child].parent_line = (uint32_t)at;
        place_bus(trees, child, depth + 1);
    } else if (is_child(facts, branch)) {
        *ARENA_PUSH(trees->arena, trees->queue, trees->queue_count, trees->queue_capacity) = to;
    }
}

static void place_bus(Trees *trees, uint32_t bar, uint32_t depth) {
    const PowerFacts *facts = trees->facts;
    BusId bus = trees->block->bars[bar].bus;
    int32_t row = trees->block->bars[bar].row_first;
    bool first = true;
    bool root = trees->block->bars[bar].parent == ID_NONE;
    trees->block->bars[bar].onward = true;
    int32_t source_end = 0;
    if (root) {
        int32_t next_row = trees->next_row;
        place_sources(trees, bar); /* at its left, on the rows of what leaves it at the right */
        source_end = trees->next_row;
        trees->next_row = next_row;
    }
    Arena scratch = {0};
    Item *items;
    size_t count = sorted_items(trees, bus, &scratch, &items);
    double leaf_mm = 0.0; /* bars at which the drawing ends stand in one line */
    for (size_t i = 0; i < count; i++) {
        const PowerBranch *branch = &facts->branches[items[i].branch];
        if (is_child(facts, items[i].branch) && !has_more(trees, branch->to) &&
            branch->width_mm > leaf_mm) {
            leaf_mm = branch->width_mm;
        }
    }
    leaf_mm += trees->block->bars[bar].x_mm;
    bool loads_placed = false;
    for (size_t i = 0; i <= count; i++) {
        row = first ? row : trees->next_row;
        if (!loads_placed && (i == count || items[i].weight > 0)) {
            first = place_loads(trees, bar, row) ? false : first;
            loads_placed = true;
            row = first ? row : trees->next_row;
        }
        if (i == count) {
            break;
        }
        place_child(trees, bar, items[i].branch, leaf_mm, &row, first, depth);
        reach(&trees->block->bars[bar], row);
        first = false;
    }
    arena_free(&scratch);
    PowerBar *at = &trees->block->bars[bar];
    at->inner = !first;
    if (trees->next_row < source_end) {
        trees->next_row = source_end;
    }
    if (!root) {
        place_sources(trees, bar);
    }
}

/* --- feeds that are no branch of a tree ---------------------------------------------------------
 */

static double line_end_mm(const Trees *trees, const PowerLine *line) {
    double from_mm = line->bar_from == ID_NONE ? trees->measure->source_mm
                                               : trees->block->bars[line->bar_from].x_mm;
    switch (line->end) {
    case POWER_END_BAR:
        return trees->block->bars[line->bar_to].x_mm;
    case POWER_END_STUB:
        return from_mm + trees->facts->branches[line->branch].width_mm + trees->measure->tail_mm;
    case POWER_END_MORE:
        return from_mm + trees->measure->tail_mm;
    case POWER_END_LOAD:
        break;
    }
    const PowerBranch *load = &trees->facts->branches[line->branch];
    return from_mm + load->width_mm + load->text_mm + 2.0;
}

/* True when a bar at x that reaches from row a to row b would meet something, `but` left out. */
static bool bar_meets(const Trees *trees, uint32_t but, double x_mm, int32_t a, int32_t b) {
    const PowerBlock *block = trees->block;
    for (uint32_t i = 0; i < block->bar_count; i++) {
        const PowerBar *bar = &block->bars[i];
        double right_mm = bar->x_mm + (bar->inner ? 4.0 : trees->measure->tail_mm);
        /* A name above a bar takes the row before. */
        int32_t top = bar->inner ? bar->row_name - 1 : bar->row_first;
        double name_mm = bar->inner ? bar->x_mm + trees->measure->tail_mm : right_mm;
        if (i == but) {
            continue;
        }
        if (bar->x_mm - 4.0 < x_mm && x_mm < right_mm && bar->row_first <= b &&
            bar->row_last >= a) {
            return true;
        }
        if (bar->inner && bar->x_mm - 4.0 < x_mm && x_mm < name_mm && top >= a && top <= b) {
            return true;
        }
    }
    for (size_t i = 0; i < block->line_count; i++) {
        const PowerLine *line = &block->lines[i];
        if (line->bar_from == ID_NONE && x_mm < trees->measure->source_mm + 4.0 &&
            line->row - 1 <= b && line->row + 1 >= a) {
            return true; /* a source is higher than a row */
        }
        double from_mm = line->bar_from == ID_NONE ? 0.0 : block->bars[line->bar_from].x_mm;
        if (line->bar_from == but || (line->end == POWER_END_BAR && line->bar_to == but)) {
            continue;
        }
        if (line->row >= a && line->row <= b && from_mm < x_mm + 4.0 &&
            line_end_mm(trees, line) > x_mm - 4.0) {
            return true;
        }
    }
    return false;
}

/* True when the line from x a to x b on a row passes a bar that is not its own. */
static bool line_meets(const Trees *trees, const PowerLine *line, uint32_t to, double a_mm,
                       double b_mm) {
    for (uint32_t i = 0; i < trees->block->bar_count; i++) {
        const PowerBar *bar = &trees->block->bars[i];
        if (i != to && i != line->bar_from && bar->row_first <= line->row &&
            bar->row_last >= line->row && bar->x_mm > a_mm - 1.0 && bar->x_mm < b_mm + 1.0) {
            return true;
        }
    }
    return false;
}

static bool is_behind(const PowerBlock *block, uint32_t bar, uint32_t ancestor) {
    while (bar != ID_NONE && bar != ancestor) {
        bar = block->bars[bar].parent;
    }
    return bar == ancestor;
}

/* Pushes a bar and all behind it to the right so that it stands at least at x; false when the page
 * is too narrow. */
static bool push_bar(Trees *trees, uint32_t to, double x_mm) {
    PowerBlock *block = trees->block;
    double by_mm = x_mm - block->bars[to].x_mm;
    if (by_mm <= 0.0) {
        return true;
    }
    for (uint32_t i = 0; i < block->bar_count; i++) {
        if (is_behind(block, i, to)) {
            BusId bus = block->bars[i].bus;
            double at_mm = block->bars[i].x_mm + by_mm;
            if (!fits(trees, bus, at_mm) ||
                (block->bars[i].loads && at_mm + loads_mm(trees, bus) > trees->measure->width_mm)) {
                return false;
            }
        }
    }
    for (uint32_t i = 0; i < block->bar_count; i++) {
        if (is_behind(block, i, to)) {
            block->bars[i].x_mm += by_mm;
        }
    }
    return true;
}

/* Stretches bar `to` down or up to the line's row when nothing is in the way. */
static bool stretch(Trees *trees, PowerLine *line, uint32_t to, double from_mm) {
    PowerBar *bar = &trees->block->bars[to];
    int32_t a = line->row < bar->row_first ? line->row : bar->row_last + 1;
    int32_t b = line->row < bar->row_first ? bar->row_first - 1 : line->row;
    if (line_meets(trees, line, to, from_mm, bar->x_mm) ||
        (a <= b && bar_meets(trees, to, bar->x_mm, a, b))) {
        return false;
    }
    bar->row_first = line->row < bar->row_first ? line->row : bar->row_first;
    bar->row_last = line->row > bar->row_last ? line->row : bar->row_last;
    return true;
}

/* A bar whose source could not be joined shrinks back to what it still touches. */
static void settle_bars(PowerBlock *block) {
    for (size_t i = 0; i < block->bar_count; i++) {
        block->bars[i].row_first = INT32_MAX;
        block->bars[i].row_last = INT32_MIN;
    }
    for (size_t i = 0; i < block->line_count; i++) {
        const PowerLine *line = &block->lines[i];
        uint32_t ends[2] = {line->bar_from, line->end == POWER_END_BAR ? line->bar_to : ID_NONE};
        for (size_t k = 0; k < 2; k++) {
            if (ends[k] != ID_NONE) {
                PowerBar *bar = &block->bars[ends[k]];
                bar->row_first = line->row < bar->row_first ? line->row : bar->row_first;
                bar->row_last = line->row > bar->row_last ? line->row : bar->row_last;
            }
        }
    }
    for (size_t i = 0; i < block->bar_count; i++) {
        PowerBar *bar = &block->bars[i];
        if (bar->row_first > bar->row_last) {
            bar->row_first = bar->row_name;
            bar->row_last = bar->row_name;
        }
    }
}

/* The bar a second feed is to reach; ID_NONE when it stands elsewhere or left of the feed. */
static uint32_t second_bar(const Trees *trees, const PowerLine *line) {
    if (line->end != POWER_END_STUB || line->bar_from == ID_NONE) {
        return ID_NONE;
    }
    uint32_t to = trees->bar_of[trees->facts->branches[line->branch].to];
    return to == line->bar_from || (to != ID_NONE && is_behind(trees->block, line->bar_from, to))
               ? ID_NONE
               : to;
}

/* Makes room for second feeds until nothing moves any more; a bar that would leave the page stays.
 */
static void push_bars(Trees *trees) {
    PowerBlock *block = trees->block;
    for (int round = 0; round < PUSH_ROUNDS; round++) {
        bool moved = false;
        for (size_t i = 0; i < block->line_count; i++) {
            const PowerLine *line = &block->lines[i];
            uint32_t to = second_bar(trees, line);
            if (to != ID_NONE) {
                double x_mm = block->bars[line->bar_from].x_mm +
                              trees->facts->branches[line->branch].width_mm;
                moved = (block->bars[to].x_mm < x_mm && push_bar(trees, to, x_mm)) || moved;
            }
        }
        if (!moved) {
            return;
        }
    }
}

/* Whether a source on a row, with its text above and below, meets a bar at the left edge. */
static bool source_meets(const Trees *trees, int32_t row) {
    for (size_t i = 0; i < trees->block->bar_count; i++) {
        const PowerBar *bar = &trees->block->bars[i];
        if (bar->x_mm < trees->measure->source_mm + 1.0 && bar->row_first <= row + 1 &&
            bar->row_last >= row - 1) {
            return true;
        }
    }
    return false;
}

/* A source whose way is barred, or whose place is taken, ends in a stub below everything else. */
static void free_sources(Trees *trees) {
    PowerBlock *block = trees->block;
    for (size_t i = 0; i < block->line_count; i++) {
        PowerLine *line = &block->lines[i];
        if (line->end == POWER_END_BAR && line->bar_from == ID_NONE &&
            (source_meets(trees, line->row) ||
             line_meets(trees, line, line->bar_to, 0.0, block->bars[line->bar_to].x_mm))) {
            line->end = POWER_END_STUB;
            int32_t row = trees->next_row + 1;
            line->row = row < trees->last_source_row + 2 ? trees->last_source_row + 2 : row;
            trees->last_source_row = line->row;
            trees->next_row = line->row + 1;
        }
    }
    settle_bars(block);
}

static void join_others(Trees *trees) {
    PowerBlock *block = trees->block;
    push_bars(trees);
    free_sources(trees);
    for (size_t i = 0; i < block->line_count; i++) {
        PowerLine *line = &block->lines[i];
        uint32_t to = second_bar(trees, line);
        if (to == ID_NONE) {
            continue;
        }
        double from_mm = block->bars[line->bar_from].x_mm;
        if (block->bars[to].x_mm < from_mm + trees->facts->branches[line->branch].width_mm - 0.01) {
            continue;
        }
        /* While it is tried its own line must not be in its way. */
        line->end = POWER_END_BAR;
        line->bar_to = to;
        if (!stretch(trees, line, to, from_mm)) {
            line->end = POWER_END_STUB;
            line->bar_to = ID_NONE;
        }
    }
}

/* --- drawings -----------------------------------------------------------------------------------
 */

static void place_tree(Trees *trees, BusId root) {
    bool inner = has_more(trees, root);
    int32_t row = trees->next_row;
    if (trees->last_source_row >= 0 && row < trees->last_source_row + 2) {
        row = trees->last_source_row + 2; /* the text of a source reaches down */
    }
    row += inner ? 1 : 0;
    trees->next_row = row + 1;
    place_bus(trees, add_bar(trees, root, least_x_mm(trees, root), row), 0);
}

/* Draws a tree on the block at hand, to see how high it is; puts the block back. */
static int32_t tree_rows(Trees *trees, BusId root) {
    size_t bars = trees->block->bar_count;
    size_t lines = trees->block->line_count;
    size_t queue = trees->queue_count;
    int32_t next_row = trees->next_row;
    int32_t last_source_row = trees->last_source_row;
    place_tree(trees, root);
    int32_t rows =
        trees->last_source_row + 2 > trees->next_row ? trees->last_source_row + 2 : trees->next_row;
    for (size_t i = bars; i < trees->block->bar_count; i++) {
        trees->bar_of[trees->block->bars[i].bus] = ID_NONE;
    }
    trees->block->bar_count = bars;
    trees->block->line_count = lines;
    trees->queue_count = queue;
    trees->next_row = next_row;
    trees->last_source_row = last_source_row;
    return rows;
}

static void new_block(Trees *trees) {
    trees->block = ARENA_PUSH(trees->arena, trees->layout->blocks, trees->layout->block_count,
                              trees->layout->block_capacity);
    *trees->block = (PowerBlock){0};
    trees->next_row = 0;
    trees->last_source_row = -1; /* the first source stands half a row down */
}

static void close_block(Trees *trees) {
    join_others(trees);
    settle_bars(trees->block);
    trees->block->rows =
        trees->last_source_row + 2 > trees->next_row ? trees->last_source_row + 2 : trees->next_row;
    for (size_t i = 0; i < trees->block->bar_count; i++) {
        trees->bar_of[trees->block->bars[i].bus] = ID_NONE;
    }
}

/* The larger tree above: second feeds reach up to bars that end there. The many of a large job stay
 * in the order of their names, beside their neighbours. */
static void sort_roots(Trees *trees) {
    for (size_t i = 1; i < trees->queue_count && trees->queue_count <= 32; i++) {
        BusId root = trees->queue[i];
        uint32_t own = weight(trees, root, 0);
        size_t at = i;
        while (at > 0 && weight(trees, trees->queue[at - 1], 0) < own) {
            trees->queue[at] = trees->queue[at - 1];
            at--;
        }
        trees->queue[at] = root;
    }
}

static void lay_out(Trees *trees) {
    const PowerFacts *facts = trees->facts;
    trees->queue_count = 0;
    trees->layout->block_count = 0;
    for (BusId bus = 0; bus < facts->bus_count; bus++) {
        trees->bar_of[bus] = ID_NONE;
        if (facts->parent[bus] == ID_NONE) {
            *ARENA_PUSH(trees->arena, trees->queue, trees->queue_count, trees->queue_capacity) =
                bus;
        }
    }
    sort_roots(trees);
    for (size_t i = 0; i < trees->queue_count; i++) {
        BusId root = trees->queue[i];
        if (i == 0) {
            new_block(trees);
        } else if (tree_rows(trees, root) > (int32_t)trees->measure->page_rows) {
            close_block(trees);
            new_block(trees);
        }
        place_tree(trees, root);
    }
    if (trees->queue_count > 0) {
        close_block(trees);
    }
}

/* Loads stand on the drawing of their bus where the page has room for all of them. The buses with
 * fewest come first; a large job is not tried bus by bus. */
static void try_loads(Trees *trees) {
    const PowerFacts *facts = trees->facts;
    PowerLayout *layout = trees->layout;
    size_t blocks = layout->block_count;
    if (blocks != 1 || layout->blocks[0].rows > (int32_t)trees->measure->page_rows) {
        return;
    }
    size_t bars = layout->blocks[0].bar_count;
    for (uint32_t count = 1; count <= trees->measure->page_rows; count++) {
        for (BusId bus = 0; bus < facts->bus_count && bars <= 64; bus++) {
            if (list_count(&facts->loads, bus) != count) {
                continue;
            }
            layout->loads_apart[bus] = false;
            lay_out(trees);
            bool good = layout->block_count == 1 &&
                        layout->blocks[0].rows <= (int32_t)trees->measure->page_rows;
            for (size_t i = 0; good && i < layout->blocks[0].bar_count; i++) {
                const PowerBar *bar = &layout->blocks[0].bars[i];
                good = !bar->loads ||
                       bar->x_mm + loads_mm(trees, bar->bus) <= trees->measure->width_mm;
            }
            layout->loads_apart[bus] = !good;
        }
    }
    lay_out(trees);
}

void power_layout(Arena *arena, const PowerFacts *facts, const PowerMeasure *measure,
                  PowerLayout *layout) {
    uint32_t *fed_count = ARENA_ARRAY(arena, uint32_t, facts->bus_count + 1);
    for (size_t i = 0; i < facts->branch_count; i++) {
        if (facts->branches[i].to != ID_NONE) {
            fed_count[facts->branches[i].to]++;
        }
    }
    *layout = (PowerLayout){.loads_apart = ARENA_ARRAY(arena, bool, facts->bus_count + 1)};
    memset(layout->loads_apart, 1, facts->bus_count + 1);
    Trees trees = {
        .arena = arena,
        .facts = facts,
        .measure = measure,
        .layout = layout,
        .fed_count = fed_count,
        .bar_of = ARENA_ARRAY(arena, uint32_t, facts->bus_count + 1),
    };
    lay_out(&trees);
    try_loads(&trees);
}
