/* The search for layouts. One is built block by block, the largest first, each at its cheapest
 * legal place; then, again and again, some neighbours are taken out and put back in another order,
 * and what is not worse is kept. Blocks that found no place throw out what is in their way. Layouts
 * that place everything are kept; the best is the first proposed. The next one is looked for from
 * there with a price on every block that stays where the layouts before have it, and then brought
 * back as far as it may without becoming one of them: so what is proposed is truly different. */
#include "panel/suggest_inner.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    TRIES_USUAL = 24,
    PATIENCE = 6, /* times as many while there is none */
    CHANGES_MOST = 150,
    NEIGHBOURS_MOST = 7,
    ROUNDS_MOST = 4,
    OTHERS_TRIES = 12, /* for a layout that differs */
    KEPT_MOST = 64
};

/* Questions that a search may ask before it begins no further try: some seconds. */
static const uint64_t WORK_MOST = UINT64_C(250000000);

static const double UNPLACED_COST = 1e6;
static const double KEPT_SHARE = 0.7;

/* What share of all that is loose, by area, must stand elsewhere in a layout that is another: the
 * first of these that finds one. */
static const double OTHER_SHARES[] = {0.2, 0.08, 1e-6};
enum { OTHER_STEPS = sizeof OTHER_SHARES / sizeof *OTHER_SHARES };

typedef struct Kept {
    PanelPoint *at; /* by item */
    double score;
    bool keeps; /* looked for with nothing wished but that things stay */
    bool tested;
    bool legal;
} Kept;

typedef struct State {
    PanelPoint *at;
    bool *placed;
    bool *there;
} State;

typedef struct Layouts {
    Arena *out;
    Search *search;
    Kept kept[KEPT_MOST];
    uint32_t kept_count;
    uint32_t *loose; /* blocks, large ones first */
    uint32_t loose_count;
    uint32_t *taken; /* blocks that were taken out */
    uint32_t taken_count;
    State before;
    bool keeps; /* what is built now */
} Layouts;

typedef struct Order {
    uint32_t block;
    double rank;
} Order;

static double draw(Search *search) {
    search->random = search->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(search->random >> 40) / 16777216.0;
}

static uint32_t draw_below(Search *search, uint32_t count) {
    uint32_t number = (uint32_t)(draw(search) * count);
    return number < count ? number : count - 1;
}

/* --- scores -------------------------------------------------------------------------------------
 */

static double unplaced_cost(const Block *block) {
    return UNPLACED_COST * block->count * (1.0 + block->area / 1000.0);
}

/* Of the layout as it stands, blocks without a place among it. */
static double total(Search *search) {
    const PanelPoint **avoid = search->avoid;
    double sum = 0.0;
    for (uint32_t i = 0; i < search->suggest->wish_count; i++) {
        const SuggestWish *wish = &search->suggest->wishes[i];
        sum += wish->weight * panel_wish_lacks(search->panel, wish, search->at, search->there);
        search->work += wish->item_count + wish->other_count;
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *block = &search->blocks[i];
        if (!search->placed[i]) {
            sum += unplaced_cost(block);
            continue;
        }
        PanelPoint at = search->at[block->items[0]];
        sum += suggest_move_cost(search, i, at);
        sum += block->fixed ? 0.0 : suggest_tidy_cost(search, i, at);
        for (uint32_t k = 0; k < search->avoid_count && !block->fixed; k++) {
            if (panel_distance_mm(avoid[k][block->items[0]], at) < block->near_mm) {
                sum += SUGGEST_AVOID_COST * block->area / search->loose_area;
            }
        }
    }
    return sum;
}

/* The share of what is loose, by area, that stands in `a` where nothing of its kind does in `b`. */
static double difference(Search *search, const PanelPoint *a, const PanelPoint *b) {
    double differs = 0.0;
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *block = &search->blocks[i];
        bool same = block->fixed;
        for (uint32_t k = 0; k < search->block_count && !same; k++) {
            const Block *other = &search->blocks[k];
            same = other->kind == block->kind && !other->fixed &&
                   panel_distance_mm(a[block->items[0]], b[other->items[0]]) < block->near_mm;
        }
        differs += same ? 0.0 : block->area;
    }
    search->work += search->block_count;
    return search->loose_area > 0.0 ? differs / search->loose_area : 0.0;
}

/* --- changes ------------------------------------------------------------------------------------
 */

static void copy_state(const Layouts *layouts, State *to, const State *from) {
    const Search *search = layouts->search;
    memcpy(to->at, from->at, search->panel->item_count * sizeof *to->at);
    memcpy(to->there, from->there, search->panel->item_count * sizeof *to->there);
    memcpy(to->placed, from->placed, search->block_count * sizeof *to->placed);
}

static State state_of(const Search *search) {
    return (State){search->at, search->placed, search->there};
}

static int compare_orders(const void *left, const void *right) {
    const Order *a = left;
    const Order *b = right;
    if (a->rank != b->rank) {
        return a->rank > b->rank ? -1 : 1;
    }
    return a->block < b->block ? -1 : a->block > b->block;
}

static void take(Layouts *layouts, uint32_t id) {
    if (layouts->search->placed[id]) {
        suggest_take_out(layouts->search, id);
    }
    layouts->taken[layouts->taken_count++] = id;
}

/* Puts back what was taken, large ones first, more or less. */
static void put_back(Layouts *layouts, double spread, double packed) {
    Search *search = layouts->search;
    Arena scratch = {0};
    Order *order = ARENA_ARRAY(&scratch, Order, layouts->taken_count + 1);
    for (uint32_t i = 0; i < layouts->taken_count; i++) {
        uint32_t id = layouts->taken[i];
        order[i] = (Order){id, search->blocks[id].area * exp(spread * (draw(search) - 0.5) * 2.0)};
    }
    qsort(order, layouts->taken_count, sizeof *order, compare_orders);
    for (uint32_t i = 0; i < layouts->taken_count; i++) {
        PanelPoint best;
        if (suggest_best_place(search, order[i].block, packed, &best)) {
            suggest_put(search, order[i].block, best);
        }
    }
    layouts->taken_count = 0;
    arena_free(&scratch);
}

/* Every loose block taken out and put back where the whole is best, until none moves. */
static void better(Layouts *layouts) {
    const double WORTH_IT = 1e-6;
    Search *search = layouts->search;
    for (int round = 0; round < ROUNDS_MOST && search->work < WORK_MOST; round++) {
        bool any = false;
        for (uint32_t i = 0; i < layouts->loose_count; i++) {
            uint32_t id = layouts->loose[i];
            bool was = search->placed[id];
            PanelPoint old = search->at[search->blocks[id].items[0]];
            if (was) {
                suggest_take_out(search, id);
            }
            double old_cost = was ? suggest_cost_at(search, id, old, INFINITY) : (double)INFINITY;
            PanelPoint best = old;
            if (old_cost > WORTH_IT && suggest_best_place(search, id, 0.0, &best) &&
                suggest_cost_at(search, id, best, INFINITY) < old_cost - WORTH_IT) {
                suggest_put(search, id, best);
                any = true;
            } else if (was) {
                suggest_put(search, id, old);
            }
        }
        if (!any) {
            return;
        }
    }
}

/* A block without a place, or ID_NONE. */
static uint32_t unplaced(Layouts *layouts) {
    Search *search = layouts->search;
    uint32_t first = layouts->loose_count == 0 ? 0 : draw_below(search, layouts->loose_count);
    for (uint32_t i = 0; i < layouts->loose_count; i++) {
        uint32_t id = layouts->loose[(first + i) % layouts->loose_count];
        if (!search->placed[id]) {
            return id;
        }
    }
    return ID_NONE;
}

/* Takes out what stands in the way of block `id` somewhere on its sheet. */
static void make_way(Layouts *layouts, uint32_t id) {
    Search *search = layouts->search;
    const Block *block = &search->blocks[id];
    PanelPoint at = {block->range.u0_mm + draw(search) * (block->range.u1_mm - block->range.u0_mm),
                     block->range.v0_mm + draw(search) * (block->range.v1_mm - block->range.v0_mm)};
    PanelBox box = panel_box_moved(block->all, at);
    for (uint32_t i = 0; i < layouts->loose_count; i++) {
        uint32_t other = layouts->loose[i];
        const Block *beside = &search->blocks[other];
        if (other == id || !search->placed[other] || beside->face != block->face) {
            continue;
        }
        PanelBox there = panel_box_moved(beside->all, search->at[beside->items[0]]);
        if (suggest_boxes_overlap(&box, &there)) {
            take(layouts, other);
        }
    }
}

/* Takes out some block and its nearest neighbours. */
static void take_around(Layouts *layouts) {
    Search *search = layouts->search;
    uint32_t middle = layouts->loose[draw_below(search, layouts->loose_count)];
    uint32_t most = 1 + draw_below(search, NEIGHBOURS_MOST);
    Arena scratch = {0};
    Order *order = ARENA_ARRAY(&scratch, Order, layouts->loose_count);
    PanelPoint at = search->at[search->blocks[middle].items[0]];
    for (uint32_t i = 0; i < layouts->loose_count; i++) {
        uint32_t id = layouts->loose[i];
        bool there = search->placed[id] && search->blocks[id].face == search->blocks[middle].face;
        double away_mm = panel_distance_mm(at, search->at[search->blocks[id].items[0]]);
        order[i] = (Order){id, there ? -away_mm : (double)-INFINITY};
    }
    qsort(order, layouts->loose_count, sizeof *order, compare_orders);
    for (uint32_t i = 0; i < layouts->loose_count && i <= most; i++) {
        if (search->placed[order[i].block]) {
            take(layouts, order[i].block);
        }
    }
    arena_free(&scratch);
}

static double packed_by(uint32_t number) {
    return number % 3 == 0 ? 0.0 : number % 3 == 1 ? 0.3 : 30.0;
}

/* Some are taken out and put back, as often as it is worth it; what is not worse stays. */
static void change(Layouts *layouts) {
    const double SPREAD = 0.5;
    Search *search = layouts->search;
    if (layouts->loose_count == 0) {
        return;
    }
    State now = state_of(search);
    double least = total(search);
    for (uint32_t i = 0; i < CHANGES_MOST && search->work < WORK_MOST; i++) {
        if (least <= 0.0) {
            return; /* nothing is lacking and nothing moved */
        }
        copy_state(layouts, &layouts->before, &now);
        uint32_t id = unplaced(layouts);
        if (id != ID_NONE) {
            make_way(layouts, id);
            PanelPoint best;
            if (suggest_best_place(search, id, packed_by(i), &best)) {
                suggest_put(search, id, best);
            }
        } else {
            take_around(layouts);
        }
        put_back(layouts, SPREAD, id == ID_NONE ? 0.0 : packed_by(i));
        double after = total(search);
        if (after <= least) {
            least = after;
        } else {
            copy_state(layouts, &now, &layouts->before);
        }
    }
}

/* --- one layout ---------------------------------------------------------------------------------
 */

/* The first try keeps what is legal where it is, every fourth most of it; the others begin with the
 * pinned items alone. */
static void build(Layouts *layouts, uint32_t number) {
    Search *search = layouts->search;
    memset(search->placed, 0, search->block_count * sizeof *search->placed);
    memset(search->there, 0, search->panel->item_count * sizeof *search->there);
    Arena scratch = {0};
    Order *order = ARENA_ARRAY(&scratch, Order, search->block_count);
    double spread = number == 0 ? 0.0 : 0.2 + 0.8 * draw(search);
    double packed = packed_by(number);
    uint32_t count = 0;
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *block = &search->blocks[i];
        PanelPoint home = suggest_home(search, i);
        if (block->fixed) {
            suggest_put(search, i, home);
            continue;
        }
        double weight = 1.0;
        for (uint32_t j = 0; j < search->wish_counts[i] && packed < 1.0; j++) {
            weight +=
                0.2 * search->suggest->wishes[search->wishes_of[i][j]].weight / SUGGEST_RULE_WEIGHT;
        }
        order[count++] =
            (Order){i, block->area * weight * exp(spread * (draw(search) - 0.5) * 2.0)};
    }
    qsort(order, count, sizeof *order, compare_orders);
    for (int pass = 0; pass < 2; pass++) {
        bool keeps = number % 4 == 0; /* they stand before others look for a place */
        for (uint32_t i = 0; i < count; i++) {
            uint32_t id = order[i].block;
            PanelPoint best = suggest_home(search, id);
            if (search->placed[id]) {
                continue;
            }
            if (pass == 0) {
                if (keeps && (number == 0 || draw(search) < KEPT_SHARE) && !isnan(best.u_mm) &&
                    suggest_is_legal(search, id, best)) {
                    suggest_put(search, id, best);
                }
            } else if (suggest_best_place(search, id, packed, &best)) {
                suggest_put(search, id, best);
            }
        }
    }
    arena_free(&scratch);
}

static PanelPoint rounded(const Search *search, uint32_t item, PanelPoint at) {
    PanelPoint home = search->suggest->home[item];
    bool stays = (at.u_mm == home.u_mm && at.v_mm == home.v_mm) ||
                 search->blocks[search->block_of[item]].fixed;
    return stays ? at
                 : (PanelPoint){round(at.u_mm * 100.0) / 100.0, round(at.v_mm * 100.0) / 100.0};
}

/* Keeps the layout if every item has its place. */
static void keep(Layouts *layouts) {
    Search *search = layouts->search;
    for (uint32_t i = 0; i < search->block_count; i++) {
        if (!search->placed[i]) {
            return;
        }
    }
    uint32_t avoid_count = search->avoid_count;
    double move_weight = search->move_weight;
    search->avoid_count = 0;
    search->move_weight = SUGGEST_MOVE_WEIGHT;
    Kept kept = {.score = total(search), .keeps = layouts->keeps};
    search->avoid_count = avoid_count;
    search->move_weight = move_weight;
    uint32_t place = layouts->kept_count;
    if (place == KEPT_MOST) { /* instead of the worst */
        place = 0;
        for (uint32_t i = 0; i < KEPT_MOST; i++) {
            bool worse = layouts->kept[i].score > layouts->kept[place].score;
            place = !layouts->kept[i].keeps && (worse || layouts->kept[place].keeps) ? i : place;
        }
        if (layouts->kept[place].score <= kept.score) {
            return;
        }
    }
    kept.at = ARENA_ARRAY(layouts->out, PanelPoint, search->panel->item_count);
    for (uint32_t i = 0; i < search->panel->item_count; i++) {
        kept.at[i] = rounded(search, i, search->at[i]);
    }
    layouts->kept[place] = kept;
    layouts->kept_count += place == layouts->kept_count;
}

/* --- the best, and others -----------------------------------------------------------------------
 */

/* Nothing is proposed that the checks would refuse. */
static bool is_good(Layouts *layouts, Kept *kept) {
    if (!kept->tested) {
        kept->tested = true;
        kept->legal = panel_suggest_errors(layouts->search->suggest, kept->at) == 0;
    }
    return kept->legal || layouts->search->lenient;
}

/* The layout differs enough from all that it should differ from. */
static bool is_other(Search *search, const PanelPoint *at, uint32_t avoid_count, double share) {
    for (uint32_t k = 0; k < avoid_count; k++) {
        if (difference(search, at, search->avoid[k]) < share) {
            return false;
        }
    }
    return true;
}

/* The best one that differs by so much from all of `search->avoid`; NULL when there is none. */
static Kept *pick(Layouts *layouts, double share) {
    Search *search = layouts->search;
    bool refused[KEPT_MOST] = {false};
    for (;;) {
        Kept *best = NULL;
        for (uint32_t i = 0; i < layouts->kept_count; i++) {
            Kept *kept = &layouts->kept[i];
            if (!refused[i] && (best == NULL || kept->score < best->score)) {
                best = kept;
            }
        }
        if (best == NULL) {
            return NULL;
        }
        if (is_other(search, best->at, search->avoid_count, share) && is_good(layouts, best)) {
            return best;
        }
        refused[best - layouts->kept] = true;
    }
}

/* Starts from a layout with much of it taken out. */
static void disturb(Layouts *layouts, const PanelPoint *from, double share) {
    Search *search = layouts->search;
    for (uint32_t i = 0; i < search->block_count; i++) {
        suggest_put(search, i, from[search->blocks[i].items[0]]);
    }
    for (uint32_t i = 0; i < layouts->loose_count; i++) {
        if (draw(search) < share) {
            take(layouts, layouts->loose[i]);
        }
    }
    put_back(layouts, 0.8, 0.0);
}

/* What moved only to be different goes back where it is better, as far as the layout stays another:
 * small ones first, so that it is large ones that make the difference. */
static void bring_back(Layouts *layouts) {
    Search *search = layouts->search;
    uint32_t avoid_count = search->avoid_count;
    for (uint32_t i = layouts->loose_count; i > 0 && search->work < WORK_MOST; i--) {
        uint32_t id = layouts->loose[i - 1];
        PanelPoint old = search->at[search->blocks[id].items[0]];
        if (!search->placed[id]) {
            continue;
        }
        suggest_take_out(search, id);
        PanelPoint best = old;
        search->avoid_count = 0;
        bool found = suggest_best_place(search, id, 0.0, &best);
        search->avoid_count = avoid_count;
        suggest_put(search, id, found ? best : old);
        if (!is_other(search, search->at, avoid_count, OTHER_SHARES[0])) {
            suggest_put(search, id, old);
        }
    }
}

static void look_for_others(Layouts *layouts, const PanelPoint *from) {
    Search *search = layouts->search;
    for (uint32_t i = 0; i < OTHERS_TRIES; i++) {
        disturb(layouts, from, 0.2 + 0.8 * (i % 3) / 2.0);
        better(layouts);
        change(layouts);
        for (int round = 0; round < 2; round++) {
            bring_back(layouts);
        }
        keep(layouts);
        search->suggest->tried++;
        if (search->work > WORK_MOST && pick(layouts, OTHER_SHARES[1]) != NULL) {
            return;
        }
    }
}

static int compare_layouts(const void *left, const void *right) {
    double a = ((const SuggestLayout *)left)->score;
    double b = ((const SuggestLayout *)right)->score;
    return a < b ? -1 : a > b;
}

/* The layout in which least moves; NULL when it is not there, or hardly worse than the best, which
 * then is chosen. */
static Kept *pick_keeper(Layouts *layouts, const Kept *best) {
    const double WORSE = 1.0;
    for (uint32_t i = 0; i < layouts->kept_count; i++) {
        Kept *kept = &layouts->kept[i];
        if (kept->keeps && kept->score > best->score + WORSE && is_good(layouts, kept)) {
            return kept;
        }
    }
    return NULL;
}

/* Nothing is wished but that things stay. */
static void build_keeper(Layouts *layouts) {
    Search *search = layouts->search;
    layouts->keeps = true;
    search->move_weight = SUGGEST_KEEP_WEIGHT;
    build(layouts, 0);
    change(layouts);
    better(layouts);
    keep(layouts);
    layouts->keeps = false;
    search->move_weight = SUGGEST_MOVE_WEIGHT;
}

static void choose(Layouts *layouts) {
    Search *search = layouts->search;
    Suggest *suggest = search->suggest;
    const PanelPoint *chosen[SUGGEST_BEST] = {NULL};
    Kept *first = NULL;
    search->avoid = chosen;
    search->avoid_count = 0;
    for (uint32_t rank = 0; rank < SUGGEST_BEST; rank++) {
        search->avoid_count = rank;
        Kept *best = first != NULL && rank == 1 ? pick_keeper(layouts, first) : NULL;
        if (rank > 0 && best == NULL) {
            look_for_others(layouts, chosen[0]);
        }
        for (int step = 0; step < OTHER_STEPS && best == NULL; step++) {
            best = pick(layouts, OTHER_SHARES[step]);
        }
        if (best == NULL) {
            break;
        }
        first = rank == 0 ? best : first;
        chosen[rank] = best->at;
        SuggestLayout *layout = &suggest->best[suggest->count++];
        *layout = (SuggestLayout){.at = best->at, .score = best->score, .keeps = best->keeps};
        layout->lacks_mm = ARENA_ARRAY(layouts->out, double, suggest->wish_count);
        panel_suggest_score(suggest, layout->at, layout->lacks_mm);
    }
    search->avoid_count = 0;
    qsort(suggest->best, suggest->count, sizeof *suggest->best, compare_layouts);
    for (uint32_t i = 0; i < suggest->count; i++) {
        suggest->best[i].differs = difference(search, suggest->best[i].at, suggest->best[0].at);
    }
}

/* --- for the other files ------------------------------------------------------------------------
 */

void suggest_search(Arena *out, Search *search, uint32_t tries) {
    Layouts *layouts = ARENA_NEW(search->arena, Layouts);
    Arena *arena = search->arena;
    *layouts = (Layouts){
        .out = out,
        .search = search,
        .loose = ARENA_ARRAY(arena, uint32_t, search->block_count),
        .taken = ARENA_ARRAY(arena, uint32_t, search->block_count),
        .before = {.at = ARENA_ARRAY(arena, PanelPoint, search->panel->item_count),
                   .placed = ARENA_ARRAY(arena, bool, search->block_count),
                   .there = ARENA_ARRAY(arena, bool, search->panel->item_count)},
    };
    Order *order = ARENA_ARRAY(arena, Order, search->block_count);
    for (uint32_t i = 0; i < search->block_count; i++) {
        if (!search->blocks[i].fixed) {
            order[layouts->loose_count++] = (Order){i, search->blocks[i].area};
        }
    }
    qsort(order, layouts->loose_count, sizeof *order, compare_orders);
    for (uint32_t i = 0; i < layouts->loose_count; i++) {
        layouts->loose[i] = order[i].block;
    }
    double least = INFINITY;
    tries = tries == 0 ? TRIES_USUAL : tries;
    search->work = 0;
    for (uint32_t i = 0; i < tries * (pick(layouts, 0.0) == NULL ? PATIENCE : 1); i++) {
        if (i > 0 && search->work > WORK_MOST) {
            break;
        }
        build(layouts, i);
        change(layouts);
        better(layouts);
        keep(layouts);
        double lacks = total(search);
        if (lacks < least) {
            least = lacks;
            for (uint32_t k = 0; k < search->block_count; k++) {
                search->missing[k] = !search->placed[k];
            }
        }
        search->suggest->tried++;
    }
    bool any_home = false;
    for (uint32_t i = 0; i < layouts->loose_count; i++) {
        any_home = any_home || !isnan(suggest_home(search, layouts->loose[i]).u_mm);
    }
    if (any_home) {
        build_keeper(layouts);
    }
    choose(layouts);
    search->suggest->work += search->work;
}
