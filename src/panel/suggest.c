/* Items become rectangles that already hold half of every distance the rules ask for, so two that
 * do not overlap keep all of them; items of one `align` row form a block. A layout is built block
 * by block, the largest first: its places are those where its sides meet sides of what stands, of
 * the sheet or of what its wishes ask for; the cheapest legal one is taken. Many such layouts are
 * built, in orders drawn at random, some packed low and left and some by their wishes; each is then
 * bettered by taking blocks out and putting them back where the score is least. The best are read
 * and checked by the same passes that check a person's layout. */
#include "panel/wishes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TRIES_USUAL = 24, PATIENCE = 6, ROUNDS_MAX = 4 };

static const double MOVE_WEIGHT = 0.01;
static const double UNPLACED_COST = 1e6;
static const double KEPT_SHARE = 0.7;
/* Places are proposed in hundredths of a millimetre: what rounding one of them can take away. */
static const double ROUND_MM = 0.006;
/* Rectangles that share less than this only touch. */
static const double TOUCH_MM = 1e-7;

/* One item as rectangles about its middle. Where it has neither legend nor band, these are turned
 * inside out and overlap nothing. */
typedef struct Slab {
    PanelBox keep;   /* with half of every distance to others */
    PanelBox inside; /* with the whole distance to the edge: must lie on the sheet */
    PanelBox body;   /* behind */
    double depth_mm;
    PanelBox mark;  /* of its legends, with what they must keep from others' `keep` */
    PanelBox paint; /* of its band, with half of what others' legends keep from it */
} Slab;

typedef struct Block {
    uint32_t *items;
    PanelPoint *from; /* of each item to the first */
    uint32_t count;
    uint32_t face;
    bool fixed;
    double area;   /* of its box */
    PanelBox keep; /* of all its items, about the first's middle */
    PanelBox all;  /* with legends and bands */
    PanelBox inside;
} Block;

typedef struct Search {
    Arena *arena; /* lives as long as one search */
    Suggest *suggest;
    const Panel *panel;
    Slab *slabs; /* by item */
    Block *blocks;
    uint32_t block_count;
    uint32_t *block_of;   /* by item */
    uint32_t **wishes_of; /* by block: wishes that concern it */
    uint32_t *wish_counts;
    PanelPoint *at;       /* by item */
    bool *placed;         /* by block */
    PanelPoint *home;     /* where items are now; NAN: nowhere */
    bool home_is_legal;   /* by the checks of a person's layout, which are finer than rectangles */
    PanelBox *free_marks; /* legends that go with no item, with what they keep from others */
    uint32_t *free_mark_faces;
    uint32_t free_mark_count;
    double gap_mm;  /* what two fronts keep, halved: in every `keep` */
    double mark_mm; /* what legends keep */
    double web;     /* times the thickness */
    double bend;
    double *us; /* candidate coordinates */
    double *vs;
    uint32_t u_count, v_count;
    uint64_t random;
} Search;

static const PanelBox NOWHERE = {INFINITY, -INFINITY, INFINITY, -INFINITY};

static double draw(Search *search) {
    search->random = search->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(search->random >> 40) / 16777216.0;
}

/* --- rectangles ---------------------------------------------------------------------------------
 */

static bool overlap(const PanelBox *a, const PanelBox *b) {
    return a->u0_mm < b->u1_mm - TOUCH_MM && b->u0_mm < a->u1_mm - TOUCH_MM &&
           a->v0_mm < b->v1_mm - TOUCH_MM && b->v0_mm < a->v1_mm - TOUCH_MM;
}

static void make_slab(Search *search, uint32_t id, double room_mm) {
    const Panel *panel = search->panel;
    const PanelItem *item = &panel->items[id];
    double t = panel->faces[item->face].thickness_mm;
    double web = search->web * t / 2.0;
    double web_screw = model_limit(panel->model, "panel_web_screw") * t;
    double gap = search->gap_mm;
    double edge = model_limit(panel->model, "panel_edge");
    double edge_screw = model_limit(panel->model, "panel_edge_screw");
    double half_screw = fmax(web_screw / 2.0, web_screw - web);
    Slab slab = {.keep = panel_box_grown(item->bezel.box, gap), .depth_mm = item->depth_mm};
    slab.inside = item->bezel.box;
    for (uint32_t i = item->front_first; i < item->front_first + item->front_count; i++) {
        const PanelFront *front = &panel->fronts[i];
        if (front->high_mm > 0.0) {
            slab.keep = panel_box_around(
                slab.keep, panel_box_grown(front->contour.box, fmax(gap, room_mm / 2.0)));
        }
    }
    for (uint32_t i = item->hole_first; i < item->hole_first + item->hole_count; i++) {
        const PanelHole *hole = &panel->holes[i];
        bool opening = hole->kind == PANEL_OPENING;
        PanelBox box = hole->contour.box;
        slab.keep = panel_box_around(slab.keep, panel_box_grown(box, opening ? web : half_screw));
        slab.inside = panel_box_around(
            slab.inside, panel_box_grown(box, opening ? edge : edge_screw * hole->diameter_mm));
        PanelBox head = panel_box_grown(
            (PanelBox){hole->centre.u_mm, hole->centre.u_mm, hole->centre.v_mm, hole->centre.v_mm},
            hole->head_mm / 2.0 + gap);
        slab.keep = panel_box_around(slab.keep, head);
    }
    for (uint32_t i = item->body_first; i < item->body_first + item->body_count; i++) {
        slab.keep = panel_box_around(slab.keep, panel->bodies[i].box);
        if (panel->bodies[i].kind == PANEL_BODY) {
            slab.body = panel->bodies[i].box;
        }
    }
    PanelPoint back = {-item->at.u_mm, -item->at.v_mm};
    slab.keep = panel_box_grown(panel_box_moved(slab.keep, back), ROUND_MM);
    slab.inside = panel_box_grown(panel_box_moved(slab.inside, back), ROUND_MM);
    slab.body = panel_box_grown(panel_box_moved(slab.body, back), ROUND_MM);
    slab.mark = NOWHERE;
    slab.paint = NOWHERE;
    search->slabs[id] = slab;
}

/* Legends and bands about the middles of their items. */
static void add_marks(Search *search) {
    const Panel *panel = search->panel;
    const double beyond_mm = search->mark_mm - search->gap_mm + ROUND_MM;
    search->free_marks = ARENA_ARRAY(search->arena, PanelBox, panel->text_count);
    search->free_mark_faces = ARENA_ARRAY(search->arena, uint32_t, panel->text_count);
    for (uint32_t i = 0; panel->ink != NULL && i < panel->text_count; i++) {
        const PanelText *text = &panel->texts[i];
        const PanelInk *ink = &panel->ink[text->row];
        if (ink->count == 0 || ink->hollow) {
            continue; /* what a frame surrounds is told by the checks alone */
        }
        PanelBox box = panel_box_grown(panel_text_box(search->arena, panel, i), beyond_mm);
        if (text->item == ID_NONE || isnan(search->home[text->item].u_mm)) {
            search->free_mark_faces[search->free_mark_count] = text->face;
            search->free_marks[search->free_mark_count++] = box;
            continue;
        }
        PanelPoint home = search->home[text->item];
        PanelBox *mark = &search->slabs[text->item].mark;
        box = panel_box_moved(box, (PanelPoint){-home.u_mm, -home.v_mm});
        *mark = isinf(mark->u0_mm) ? box : panel_box_around(*mark, box);
    }
    for (uint32_t i = 0; i < panel->model->set->panel_coat.count; i++) {
        PanelContour band;
        uint32_t item = ID_NONE;
        if (panel_band(search->arena, panel, i, &band, &item)) {
            PanelPoint at = panel->items[item].at;
            search->slabs[item].paint =
                panel_box_moved(panel_box_grown(band.box, search->gap_mm + ROUND_MM),
                                (PanelPoint){-at.u_mm, -at.v_mm});
        }
    }
}

/* The rectangle lies on the sheet, clear of its bends by so much. */
static bool on_sheet(const Panel *panel, const PanelFace *face, const PanelBox *box,
                     double bend_mm) {
    const PanelPoint corners[4] = {{box->u0_mm, box->v0_mm},
                                   {box->u1_mm, box->v0_mm},
                                   {box->u1_mm, box->v1_mm},
                                   {box->u0_mm, box->v1_mm}};
    if (box->u0_mm < face->outline.box.u0_mm - TOUCH_MM ||
        box->u1_mm > face->outline.box.u1_mm + TOUCH_MM ||
        box->v0_mm < face->outline.box.v0_mm - TOUCH_MM ||
        box->v1_mm > face->outline.box.v1_mm + TOUCH_MM) {
        return false;
    }
    for (int i = 0; i < 4; i++) {
        if (!panel_contour_holds(&face->outline, corners[i])) {
            return false;
        }
    }
    /* A corner of a concave outline that reaches into the rectangle. */
    PanelBox inner = panel_box_grown(*box, -1e-6);
    for (uint32_t i = 0; i < face->outline.count; i++) {
        for (int step = 0; step < 8; step++) {
            PanelPoint point = panel_piece_at(&face->outline.pieces[i], step / 8.0);
            PanelBox dot = {point.u_mm, point.u_mm, point.v_mm, point.v_mm};
            if (overlap(&dot, &inner)) {
                return false;
            }
        }
    }
    for (uint32_t i = face->bend_first; i < face->bend_first + face->bend_count; i++) {
        PanelPiece line = panel_line(panel->bends[i].from, panel->bends[i].to);
        PanelBox wide = panel_box_grown(line.box, bend_mm);
        if (overlap(&wide, box)) {
            return false;
        }
    }
    return true;
}

static bool deep_enough(const Panel *panel, const PanelFace *face, const PanelBox *body,
                        double depth_mm) {
    const TableSet *set = panel->model->set;
    for (size_t i = 0; i < set->behind.count; i++) {
        const BehindRow *row = &set->behind.rows[i];
        PanelBox box = {row->from_u_mm, row->to_u_mm, row->from_v_mm, row->to_v_mm};
        if (depth_mm > row->depth_mm + TOUCH_MM && strcmp(row->face, face->key) == 0 &&
            overlap(&box, body)) {
            return false;
        }
    }
    return true;
}

static bool collide(const Search *search, uint32_t item, PanelPoint at, uint32_t other,
                    PanelPoint there) {
    PanelPoint by = {there.u_mm - at.u_mm, there.v_mm - at.v_mm};
    const Slab *a = &search->slabs[item];
    const Slab *b = &search->slabs[other];
    PanelBox keep = panel_box_moved(b->keep, by);
    PanelBox mark = panel_box_moved(b->mark, by);
    PanelBox paint = panel_box_moved(b->paint, by);
    return overlap(&a->keep, &keep) || overlap(&a->mark, &keep) || overlap(&a->keep, &mark) ||
           overlap(&a->mark, &mark) || overlap(&a->mark, &paint) || overlap(&a->paint, &mark);
}

/* One item at its place against the sheet, its free openings and legends, and what is behind. */
static bool item_is_legal(const Search *search, uint32_t item, PanelPoint at) {
    const Panel *panel = search->panel;
    const PanelFace *face = &panel->faces[panel->items[item].face];
    const Slab *slab = &search->slabs[item];
    PanelBox inside = panel_box_moved(slab->inside, at);
    PanelBox body = panel_box_moved(slab->body, at);
    double thickness_mm = face->thickness_mm;
    if (!on_sheet(panel, face, &inside, search->bend * thickness_mm) ||
        !deep_enough(panel, face, &body, slab->depth_mm)) {
        return false;
    }
    PanelBox keep = panel_box_moved(slab->keep, at);
    PanelBox mark = panel_box_moved(slab->mark, at);
    bool marked = !isinf(slab->mark.u0_mm);
    PanelBox around = panel_box_grown(mark, search->gap_mm);
    if (marked && !on_sheet(panel, face, &around, 0.0)) {
        return false;
    }
    for (uint32_t k = face->hole_first; k < face->hole_first + face->hole_count; k++) {
        const PanelHole *hole = &panel->holes[k];
        if (hole->item != ID_NONE) {
            continue;
        }
        PanelBox web = panel_box_grown(hole->contour.box, search->web * thickness_mm / 2.0);
        if (overlap(&keep, &web) || (marked && overlap(&around, &hole->contour.box))) {
            return false;
        }
    }
    for (uint32_t k = 0; k < search->free_mark_count; k++) {
        if (search->free_mark_faces[k] == panel->items[item].face &&
            (overlap(&search->free_marks[k], &keep) || overlap(&search->free_marks[k], &mark))) {
            return false;
        }
    }
    return true;
}

/* Block `id` with its first item at `at` keeps clear of everything placed, its sheet and what is
 * behind. */
static bool is_legal(const Search *search, uint32_t id, PanelPoint at) {
    const Block *block = &search->blocks[id];
    PanelBox all = panel_box_moved(block->all, at);
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *other = &search->blocks[i];
        if (!search->placed[i] || i == id || other->face != block->face) {
            continue;
        }
        PanelBox box = panel_box_moved(other->all, search->at[other->items[0]]);
        if (!overlap(&all, &box)) {
            continue;
        }
        for (uint32_t j = 0; j < block->count; j++) {
            PanelPoint mine = {at.u_mm + block->from[j].u_mm, at.v_mm + block->from[j].v_mm};
            for (uint32_t k = 0; k < other->count; k++) {
                if (collide(search, block->items[j], mine, other->items[k],
                            search->at[other->items[k]])) {
                    return false;
                }
            }
        }
    }
    for (uint32_t j = 0; j < block->count; j++) {
        PanelPoint mine = {at.u_mm + block->from[j].u_mm, at.v_mm + block->from[j].v_mm};
        if (!item_is_legal(search, block->items[j], mine)) {
            return false;
        }
    }
    return true;
}

/* --- blocks -------------------------------------------------------------------------------------
 */

static uint32_t root(uint32_t *parent, uint32_t item) {
    while (parent[item] != item) {
        item = parent[item] = parent[parent[item]];
    }
    return item;
}

/* Items that align rows hold together, where all of them have a place. */
static uint32_t *find_groups(Search *search) {
    const Panel *panel = search->panel;
    const TableSet *set = search->suggest->model->set;
    uint32_t *parent = ARENA_ARRAY(search->arena, uint32_t, panel->item_count);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        parent[i] = i;
    }
    uint32_t *members = ARENA_ARRAY(search->arena, uint32_t, panel->item_count);
    for (size_t i = 0; i < set->align.count; i++) {
        uint32_t count =
            panel_items_listed(&search->suggest->panel, set->align.rows[i].members, members);
        bool placed = true;
        for (uint32_t j = 0; j < count; j++) {
            placed = placed && !isnan(search->home[members[j]].u_mm);
        }
        for (uint32_t j = 1; placed && j < count; j++) {
            parent[root(parent, members[j])] = root(parent, members[0]);
        }
    }
    return parent;
}

static void make_blocks(Search *search) {
    const Panel *panel = search->panel;
    Arena *arena = search->arena;
    uint32_t *parent = find_groups(search);
    search->blocks = ARENA_ARRAY(arena, Block, panel->item_count);
    search->block_of = ARENA_ARRAY(arena, uint32_t, panel->item_count);
    uint32_t *of_root = ARENA_ARRAY(arena, uint32_t, panel->item_count);
    memset(of_root, 0xFF, panel->item_count * sizeof *of_root);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        uint32_t head = root(parent, i);
        if (of_root[head] == ID_NONE) {
            of_root[head] = search->block_count++;
            search->blocks[of_root[head]] = (Block){
                .items = ARENA_ARRAY(arena, uint32_t, panel->item_count),
                .from = ARENA_ARRAY(arena, PanelPoint, panel->item_count),
                .face = panel->items[i].face,
            };
        }
        Block *block = &search->blocks[of_root[head]];
        search->block_of[i] = of_root[head];
        PanelPoint first = panel->items[block->count == 0 ? i : block->items[0]].at;
        PanelPoint from = {panel->items[i].at.u_mm - first.u_mm,
                           panel->items[i].at.v_mm - first.v_mm};
        PanelBox keep = panel_box_moved(search->slabs[i].keep, from);
        PanelBox inside = panel_box_moved(search->slabs[i].inside, from);
        block->keep = block->count == 0 ? keep : panel_box_around(block->keep, keep);
        block->inside = block->count == 0 ? inside : panel_box_around(block->inside, inside);
        block->all = block->count == 0 ? keep : panel_box_around(block->all, keep);
        block->all = panel_box_around(block->all, panel_box_moved(search->slabs[i].mark, from));
        block->all = panel_box_around(block->all, panel_box_moved(search->slabs[i].paint, from));
        block->items[block->count] = i;
        block->from[block->count++] = from;
        block->fixed =
            block->fixed || (panel_mount(panel, i)->pinned == 1 && !isnan(search->home[i].u_mm) &&
                             !isnan(search->home[i].v_mm));
        block->area =
            (block->keep.u1_mm - block->keep.u0_mm) * (block->keep.v1_mm - block->keep.v0_mm);
    }
}

static void link_wishes(Search *search) {
    const Suggest *suggest = search->suggest;
    search->wishes_of = ARENA_ARRAY(search->arena, uint32_t *, search->block_count);
    search->wish_counts = ARENA_ARRAY(search->arena, uint32_t, search->block_count);
    for (uint32_t i = 0; i < search->block_count; i++) {
        search->wishes_of[i] = ARENA_ARRAY(search->arena, uint32_t, suggest->wish_count);
    }
    for (uint32_t i = 0; i < suggest->wish_count; i++) {
        const SuggestWish *wish = &suggest->wishes[i];
        for (uint32_t j = 0; j < wish->item_count + wish->other_count; j++) {
            uint32_t item =
                j < wish->item_count ? wish->items[j] : wish->others[j - wish->item_count];
            uint32_t block = search->block_of[item];
            uint32_t *count = &search->wish_counts[block];
            if (*count == 0 || search->wishes_of[block][*count - 1] != i) {
                search->wishes_of[block][(*count)++] = i;
            }
        }
    }
}

/* --- places -------------------------------------------------------------------------------------
 */

static void put(Search *search, bool *there, uint32_t id, PanelPoint at) {
    const Block *block = &search->blocks[id];
    for (uint32_t i = 0; i < block->count; i++) {
        search->at[block->items[i]] =
            (PanelPoint){at.u_mm + block->from[i].u_mm, at.v_mm + block->from[i].v_mm};
        there[block->items[i]] = true;
    }
    search->placed[id] = true;
}

static void take_out(Search *search, bool *there, uint32_t id) {
    const Block *block = &search->blocks[id];
    for (uint32_t i = 0; i < block->count; i++) {
        there[block->items[i]] = false;
    }
    search->placed[id] = false;
}

static double move_cost(const Search *search, uint32_t id, PanelPoint at) {
    PanelPoint home = search->home[search->blocks[id].items[0]];
    return isnan(home.u_mm) ? 0.0
                            : MOVE_WEIGHT * search->blocks[id].count * panel_distance_mm(home, at);
}

static double cost_at(Search *search, bool *there, uint32_t id, PanelPoint at) {
    double cost = move_cost(search, id, at);
    put(search, there, id, at);
    for (uint32_t i = 0; i < search->wish_counts[id]; i++) {
        const SuggestWish *wish = &search->suggest->wishes[search->wishes_of[id][i]];
        cost += wish->weight * panel_wish_lacks(search->panel, wish, search->at, there);
    }
    take_out(search, there, id);
    return cost;
}

static int compare_doubles(const void *left, const void *right) {
    double a = *(const double *)left;
    double b = *(const double *)right;
    return a < b ? -1 : a > b;
}

static uint32_t distinct(double *values, uint32_t count) {
    qsort(values, count, sizeof *values, compare_doubles);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (kept == 0 || values[i] - values[kept - 1] > 1e-6) {
            values[kept++] = values[i];
        }
    }
    return kept;
}

/* Coordinates at which a side of the block meets a side of the sheet, of what stands, of the space
 * behind, or its middle a middle; where it is now, and before the eye. */
static void find_candidates(Search *search, uint32_t id) {
    const Panel *panel = search->panel;
    const Block *block = &search->blocks[id];
    const PanelFace *face = &panel->faces[block->face];
    const TableSet *set = panel->model->set;
    uint32_t u = 0;
    uint32_t v = 0;
    search->us[u++] = face->outline.box.u0_mm - block->inside.u0_mm;
    search->us[u++] = face->outline.box.u1_mm - block->inside.u1_mm;
    search->vs[v++] = face->outline.box.v0_mm - block->inside.v0_mm;
    search->vs[v++] = face->outline.box.v1_mm - block->inside.v1_mm;
    search->us[u++] = panel_eye_u_mm(panel, block->face);
    PanelPoint home = search->home[block->items[0]];
    if (!isnan(home.u_mm)) {
        search->us[u++] = home.u_mm;
        search->vs[v++] = home.v_mm;
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *other = &search->blocks[i];
        if (!search->placed[i] || i == id || other->face != block->face) {
            continue;
        }
        PanelPoint at = search->at[other->items[0]];
        PanelBox box = panel_box_moved(other->keep, at);
        search->us[u++] = box.u1_mm - block->keep.u0_mm;
        search->us[u++] = box.u0_mm - block->keep.u1_mm;
        search->us[u++] = box.u0_mm - block->keep.u0_mm;
        search->us[u++] = at.u_mm;
        search->vs[v++] = box.v1_mm - block->keep.v0_mm;
        search->vs[v++] = box.v0_mm - block->keep.v1_mm;
        search->vs[v++] = box.v0_mm - block->keep.v0_mm;
        search->vs[v++] = at.v_mm;
    }
    for (size_t i = 0; i < set->behind.count && i < 32; i++) {
        const BehindRow *row = &set->behind.rows[i];
        if (strcmp(row->face, face->key) == 0 && block->count == 1) {
            const PanelBox *body = &search->slabs[block->items[0]].body;
            search->us[u++] = row->to_u_mm - body->u0_mm;
            search->us[u++] = row->from_u_mm - body->u1_mm;
            search->vs[v++] = row->to_v_mm - body->v0_mm;
            search->vs[v++] = row->from_v_mm - body->v1_mm;
        }
    }
    search->u_count = distinct(search->us, u);
    search->v_count = distinct(search->vs, v);
}

/* The legal place of least cost; `packed` adds a share of how far up and right it is. False when
 * there is none. */
static bool best_place(Search *search, bool *there, uint32_t id, double packed, PanelPoint *best) {
    const PanelBox *sheet = &search->panel->faces[search->blocks[id].face].outline.box;
    double least = INFINITY;
    find_candidates(search, id);
    for (uint32_t i = 0; i < search->u_count; i++) {
        for (uint32_t j = 0; j < search->v_count; j++) {
            PanelPoint at = {search->us[i], search->vs[j]};
            PanelBox inside = panel_box_moved(search->blocks[id].inside, at);
            if (inside.u0_mm < sheet->u0_mm - TOUCH_MM || inside.u1_mm > sheet->u1_mm + TOUCH_MM ||
                inside.v0_mm < sheet->v0_mm - TOUCH_MM || inside.v1_mm > sheet->v1_mm + TOUCH_MM) {
                continue;
            }
            double low = packed * ((at.u_mm - sheet->u0_mm) * 0.1 + (at.v_mm - sheet->v0_mm));
            double cost = low;
            if (cost >= least) {
                continue;
            }
            cost += cost_at(search, there, id, at);
            if (cost < least - 1e-9 && is_legal(search, id, at)) {
                least = cost;
                *best = at;
            }
        }
    }
    return !isinf(least);
}

/* --- layouts ------------------------------------------------------------------------------------
 */

typedef struct Order {
    uint32_t block;
    double rank;
} Order;

static int compare_orders(const void *left, const void *right) {
    const Order *a = left;
    const Order *b = right;
    if (a->rank != b->rank) {
        return a->rank > b->rank ? -1 : 1;
    }
    return a->block < b->block ? -1 : a->block > b->block;
}

static double layout_score(Search *search, const bool *there) {
    double score = 0.0;
    for (uint32_t i = 0; i < search->suggest->wish_count; i++) {
        const SuggestWish *wish = &search->suggest->wishes[i];
        score += wish->weight * panel_wish_lacks(search->panel, wish, search->at, there);
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        score += search->placed[i] ? move_cost(search, i, search->at[search->blocks[i].items[0]])
                                   : UNPLACED_COST * search->blocks[i].count;
    }
    return score;
}

/* Every loose block taken out and put back where the whole is best, until none moves. */
static void better(Search *search, bool *there) {
    for (int round = 0; round < ROUNDS_MAX; round++) {
        bool any = false;
        for (uint32_t i = 0; i < search->block_count; i++) {
            if (search->blocks[i].fixed) {
                continue;
            }
            bool was = search->placed[i];
            PanelPoint old = search->at[search->blocks[i].items[0]];
            take_out(search, there, i);
            double old_cost = was ? cost_at(search, there, i, old) : (double)INFINITY;
            PanelPoint best = old;
            if (best_place(search, there, i, 0.0, &best) &&
                cost_at(search, there, i, best) < old_cost - 1e-6) {
                put(search, there, i, best);
                any = true;
            } else if (was) {
                put(search, there, i, old);
            }
        }
        if (!any) {
            return;
        }
    }
}

/* One layout. The first try keeps what is legal where it is, every fourth most of it; the others
 * begin with the pinned items alone. */
static double build(Search *search, bool *there, uint32_t number) {
    Order *order = ARENA_ARRAY(search->arena, Order, search->block_count);
    memset(search->placed, 0, search->block_count * sizeof *search->placed);
    memset(there, 0, search->panel->item_count * sizeof *there);
    double spread = number == 0 ? 0.0 : 0.2 + 0.8 * draw(search);
    double packed = number % 3 == 0 ? 0.0 : number % 3 == 1 ? 0.3 : 30.0;
    uint32_t count = 0;
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *block = &search->blocks[i];
        if (block->fixed) {
            put(search, there, i, search->home[block->items[0]]);
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
    for (uint32_t i = 0; i < count; i++) {
        uint32_t id = order[i].block;
        PanelPoint best = search->home[search->blocks[id].items[0]];
        bool keeps = number == 0 || (number % 4 == 3 && draw(search) < KEPT_SHARE);
        bool stays = keeps && !isnan(best.u_mm) &&
                     ((number == 0 && search->home_is_legal) || is_legal(search, id, best));
        if (stays || best_place(search, there, id, packed, &best)) {
            put(search, there, id, best);
        }
    }
    better(search, there);
    return layout_score(search, there);
}

static bool same_layout(const Panel *panel, const PanelPoint *a, const PanelPoint *b) {
    const double SAME_MM = 0.5;
    for (uint32_t i = 0; i < panel->item_count; i++) {
        if (panel_distance_mm(a[i], b[i]) > SAME_MM) {
            return false;
        }
    }
    return true;
}

/* Keeps the layout if it is among the best and not one of them already. */
static void keep(Arena *out, Search *search, const bool *there, double score) {
    Suggest *suggest = search->suggest;
    SuggestLayout layout = {.score = score};
    for (uint32_t i = 0; i < search->panel->item_count; i++) {
        layout.unplaced += !there[i];
    }
    if (layout.unplaced > 0) {
        return;
    }
    uint32_t place = suggest->count;
    for (uint32_t i = 0; i < suggest->count; i++) {
        if (same_layout(search->panel, suggest->best[i].at, search->at)) {
            return;
        }
        if (score < suggest->best[i].score && place == suggest->count) {
            place = i;
        }
    }
    if (place == SUGGEST_BEST) {
        return;
    }
    layout.at = ARENA_ARRAY(out, PanelPoint, search->panel->item_count);
    layout.lacks_mm = ARENA_ARRAY(out, double, suggest->wish_count);
    for (uint32_t i = 0; i < search->panel->item_count; i++) {
        bool pinned = panel_mount(search->panel, i)->pinned == 1;
        PanelPoint at = search->at[i];
        PanelPoint rounded = {round(at.u_mm * 100.0) / 100.0, round(at.v_mm * 100.0) / 100.0};
        layout.at[i] = pinned ? at : rounded;
    }
    layout.errors = panel_suggest_errors(suggest, layout.at);
    if (layout.errors > 0) {
        return; /* nothing is proposed that the checks would refuse */
    }
    panel_suggest_score(suggest, layout.at, layout.lacks_mm);
    if (suggest->count < SUGGEST_BEST) {
        suggest->count++;
    }
    for (uint32_t i = suggest->count - 1; i > place; i--) {
        suggest->best[i] = suggest->best[i - 1];
    }
    suggest->best[place] = layout;
}

/* --- exported -----------------------------------------------------------------------------------
 */

/* A copy of the model in which every item has a place. */
static const Model *with_places(Arena *out, const Model *model, const PanelPoint *at,
                                const Panel *panel) {
    Model *copy = ARENA_NEW(out, Model);
    TableSet *set = ARENA_NEW(out, TableSet);
    *copy = *model;
    *set = *model->set;
    copy->set = set;
    set->mount.rows = ARENA_ARRAY(out, MountRow, set->mount.count);
    if (set->mount.count > 0) {
        memcpy(set->mount.rows, model->set->mount.rows, set->mount.count * sizeof *set->mount.rows);
    }
    if (panel != NULL) {
        set->align.count = 0;
        for (uint32_t i = 0; i < panel->item_count; i++) {
            set->mount.rows[panel->items[i].row].u_mm = at[i].u_mm;
            set->mount.rows[panel->items[i].row].v_mm = at[i].v_mm;
        }
        return copy;
    }
    for (size_t i = 0; i < set->mount.count; i++) {
        MountRow *row = &set->mount.rows[i];
        row->u_mm = isnan(row->u_mm) ? 0.0 : row->u_mm;
        row->v_mm = isnan(row->v_mm) ? 0.0 : row->v_mm;
    }
    return copy;
}

PanelPoint panel_suggest_legend(const Suggest *suggest, const PanelPoint *at, uint32_t text) {
    const PanelText *given = &suggest->panel.texts[text];
    if (given->item == ID_NONE || isnan(suggest->home[given->item].u_mm)) {
        return given->at;
    }
    PanelPoint home = suggest->home[given->item];
    PanelPoint now = at[given->item];
    return (PanelPoint){given->at.u_mm + now.u_mm - home.u_mm,
                        given->at.v_mm + now.v_mm - home.v_mm};
}

/* The item of that name, or that of the legend of that name; ID_NONE. */
static uint32_t item_meant(const Panel *panel, const char *key) {
    for (uint32_t i = 0; i < panel->item_count; i++) {
        if (strcmp(panel->items[i].key, key) == 0) {
            return i;
        }
    }
    for (uint32_t i = 0; i < panel->text_count; i++) {
        if (strcmp(panel->model->set->legend.rows[panel->texts[i].row].legend, key) == 0) {
            return panel->texts[i].item;
        }
    }
    return ID_NONE;
}

/* A finding about a legend that another layout may be without. */
static bool is_curable(const Panel *panel, const Finding *finding) {
    uint32_t owner = ID_NONE;
    for (uint32_t i = 0; i < panel->text_count; i++) {
        if (strcmp(panel->model->set->legend.rows[panel->texts[i].row].legend, finding->key) == 0) {
            owner = panel->texts[i].item;
        }
    }
    uint32_t other = item_meant(panel, finding->rows);
    bool owner_moves = owner != ID_NONE && panel_mount(panel, owner)->pinned != 1;
    bool other_moves = other != ID_NONE && panel_mount(panel, other)->pinned != 1;
    return owner != other && (owner_moves || other_moves);
}

uint32_t panel_suggest_errors(const Suggest *suggest, const PanelPoint *at) {
    Arena arena = {0};
    Findings findings = {.arena = &arena};
    Panel panel;
    PanelChecks checks;
    const Model *model = with_places(&arena, suggest->model, at, &suggest->panel);
    panel_read(&arena, model, &panel, &findings);
    panel.ink = suggest->panel.ink;
    for (uint32_t i = 0; i < panel.text_count; i++) {
        panel.texts[i].at = panel_suggest_legend(suggest, at, i);
    }
    panel_check(&arena, &panel, NULL, false, &checks, &findings);
    uint32_t errors = 0;
    for (size_t i = 0; i < findings.count; i++) {
        const Finding *finding = &findings.rows[i];
        RuleId rule = finding->rule;
        errors += rule == RULE_PANEL_WEB || rule == RULE_PANEL_EDGE || rule == RULE_PANEL_BEND ||
                  rule == RULE_PANEL_FRONT || rule == RULE_PANEL_DEPTH ||
                  rule == RULE_PANEL_BODIES ||
                  (rule == RULE_PANEL_MARK && is_curable(&suggest->panel, finding));
    }
    arena_free(&arena);
    return errors;
}

/* Where items are now: NAN for those whose rows and align rows give no place. */
static PanelPoint *find_homes(Arena *out, const Panel *panel, const Model *model) {
    Arena scratch = {0};
    Findings unread = {.arena = &scratch};
    Panel now;
    panel_read(&scratch, model, &now, &unread);
    PanelPoint *home = ARENA_ARRAY(out, PanelPoint, panel->item_count);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        home[i] = (PanelPoint){NAN, NAN};
        for (uint32_t j = 0; j < now.item_count; j++) {
            if (now.items[j].row == panel->items[i].row) {
                home[i] = now.items[j].at;
            }
        }
    }
    arena_free(&scratch);
    return home;
}

bool panel_suggest(Arena *out, const Model *model, const SuggestOptions *options, Suggest *suggest,
                   Findings *findings) {
    *suggest = (Suggest){.model = with_places(out, model, NULL, NULL)};
    if (!panel_read(out, suggest->model, &suggest->panel, findings) ||
        suggest->panel.item_count == 0) {
        return false;
    }
    panel_wishes_read(out, suggest);
    suggest->panel.ink = options->ink;
    const Panel *panel = &suggest->panel;
    suggest->home = find_homes(out, panel, model);
    Arena arena = {0};
    Search search = {
        .arena = &arena,
        .suggest = suggest,
        .panel = panel,
        .home = suggest->home,
        .gap_mm = model_limit(model, "panel_front") / 2.0,
        .mark_mm = model_limit(model, "panel_mark"),
        .web = model_limit(model, "panel_web"),
        .bend = model_limit(model, "panel_bend"),
        .random = options->seed + UINT64_C(1),
    };
    double room_mm = 0.0;
    for (uint32_t i = 0; i < panel->front_count; i++) {
        room_mm = fmax(room_mm, panel->fronts[i].room_mm);
    }
    search.home_is_legal = true;
    for (uint32_t i = 0; i < panel->item_count; i++) {
        search.home_is_legal = search.home_is_legal && !isnan(search.home[i].u_mm);
    }
    search.home_is_legal = search.home_is_legal && panel_suggest_errors(suggest, search.home) == 0;
    search.slabs = ARENA_ARRAY(&arena, Slab, panel->item_count);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        make_slab(&search, i, room_mm);
    }
    add_marks(&search);
    make_blocks(&search);
    link_wishes(&search);
    search.at = ARENA_ARRAY(&arena, PanelPoint, panel->item_count);
    search.placed = ARENA_ARRAY(&arena, bool, search.block_count);
    search.us = ARENA_ARRAY(&arena, double, 4 * (size_t)search.block_count + 80);
    search.vs = ARENA_ARRAY(&arena, double, 4 * (size_t)search.block_count + 80);
    bool *there = ARENA_ARRAY(&arena, bool, panel->item_count);
    uint32_t tries = options->tries == 0 ? TRIES_USUAL : options->tries;
    /* As long as nothing was found, longer. */
    for (suggest->tried = 0; suggest->tried < tries * (suggest->count == 0 ? PATIENCE : 1);
         suggest->tried++) {
        double score = build(&search, there, suggest->tried);
        keep(out, &search, there, score);
    }
    arena_free(&arena);
    return true;
}

void panel_suggest_rows(Arena *out, const Model *model, const Suggest *suggest, TableSet *set) {
    const Panel *panel = &suggest->panel;
    for (uint32_t rank = 0; rank < suggest->count; rank++) {
        const SuggestLayout *layout = &suggest->best[rank];
        for (uint32_t i = 0; i < panel->item_count; i++) {
            const MountRow *mount = &model->set->mount.rows[panel->items[i].row];
            SuggestionRow *row = table_append(set, out, TABLE_suggestion);
            row->rank = (int32_t)rank + 1;
            row->item = mount->item;
            row->u_mm = layout->at[i].u_mm;
            row->v_mm = layout->at[i].v_mm;
            row->moved_mm =
                panel_distance_mm(layout->at[i], (PanelPoint){mount->u_mm, mount->v_mm});
            row->pinned = mount->pinned == 1 ? 1 : INT_BLANK;
        }
        for (uint32_t i = 0; i < panel->text_count; i++) {
            PanelPoint to = panel_suggest_legend(suggest, layout->at, i);
            SuggestionLegendRow *row = table_append(set, out, TABLE_suggestion_legend);
            row->rank = (int32_t)rank + 1;
            row->legend = model->set->legend.rows[panel->texts[i].row].legend;
            row->u_mm = to.u_mm;
            row->v_mm = to.v_mm;
            row->moved_mm = panel_distance_mm(panel->texts[i].at, to);
        }
        for (uint32_t i = 0; i < suggest->wish_count; i++) {
            if (suggest->wishes[i].item_count == 0) {
                continue;
            }
            SuggestionWishRow *row = table_append(set, out, TABLE_suggestion_wish);
            row->rank = (int32_t)rank + 1;
            row->wish = suggest->wishes[i].name;
            row->kept = layout->lacks_mm[i] <= SUGGEST_KEPT_MM;
            row->lacks_mm = layout->lacks_mm[i];
        }
    }
}
