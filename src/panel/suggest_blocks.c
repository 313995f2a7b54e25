/* Blocks of items for the search: items that `align` rows hold together move as one; each block
 * knows where it can't be because of what never moves (walls), and which wishes concern it. */
#include "panel/suggest_inner.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

/* A block that moved by less still stands where it stood. */
static const double NEAR_LEAST_MM = 25.0;

static const PanelBox NOWHERE = {INFINITY, -INFINITY, INFINITY, -INFINITY};

/* --- rectangles ---------------------------------------------------------------------------------
 */

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
    slab.keep = panel_box_grown(panel_box_moved(slab.keep, back), SUGGEST_ROUND_MM);
    slab.inside = panel_box_grown(panel_box_moved(slab.inside, back), SUGGEST_ROUND_MM);
    slab.body = panel_box_grown(panel_box_moved(slab.body, back), SUGGEST_ROUND_MM);
    slab.mark = NOWHERE;
    slab.paint = NOWHERE;
    search->slabs[id] = slab;
}

/* Legends and bands about the middles of their items. */
static void add_marks(Search *search) {
    const Panel *panel = search->panel;
    const double beyond_mm = search->mark_mm - search->gap_mm + SUGGEST_ROUND_MM;
    for (uint32_t i = 0; panel->ink != NULL && i < panel->text_count; i++) {
        const PanelText *text = &panel->texts[i];
        const PanelInk *ink = &panel->ink[text->row];
        if (ink->count == 0 || ink->hollow || text->item == ID_NONE ||
            isnan(search->suggest->home[text->item].u_mm)) {
            continue; /* what a frame surrounds is told by the checks alone */
        }
        PanelPoint home = search->suggest->home[text->item];
        PanelBox *mark = &search->slabs[text->item].mark;
        PanelBox box = panel_box_grown(panel_text_box(search->arena, panel, i), beyond_mm);
        box = panel_box_moved(box, (PanelPoint){-home.u_mm, -home.v_mm});
        *mark = isinf(mark->u0_mm) ? box : panel_box_around(*mark, box);
    }
    for (uint32_t i = 0; i < panel->model->set->panel_coat.count; i++) {
        PanelContour band;
        uint32_t item = ID_NONE;
        if (panel_band(search->arena, panel, i, &band, &item)) {
            PanelPoint at = panel->items[item].at;
            search->slabs[item].paint =
                panel_box_moved(panel_box_grown(band.box, search->gap_mm + SUGGEST_ROUND_MM),
                                (PanelPoint){-at.u_mm, -at.v_mm});
        }
    }
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
            placed = placed && !isnan(search->suggest->home[members[j]].u_mm);
        }
        for (uint32_t j = 1; placed && j < count; j++) {
            parent[root(parent, members[j])] = root(parent, members[0]);
        }
    }
    return parent;
}

static void add_item(Search *search, uint32_t id, uint32_t item) {
    const Panel *panel = search->panel;
    Block *block = &search->blocks[id];
    const Slab *slab = &search->slabs[item];
    const PanelBox *sheet = &panel->faces[block->face].outline.box;
    bool first = block->count == 0;
    PanelPoint middle = panel->items[first ? item : block->items[0]].at;
    PanelPoint from = {panel->items[item].at.u_mm - middle.u_mm,
                       panel->items[item].at.v_mm - middle.v_mm};
    PanelBox keep = panel_box_moved(slab->keep, from);
    PanelBox inside = panel_box_moved(slab->inside, from);
    if (!isinf(slab->mark.u0_mm)) {
        inside = panel_box_around(
            inside, panel_box_moved(panel_box_grown(slab->mark, search->gap_mm), from));
    }
    PanelBox range = {sheet->u0_mm - inside.u0_mm, sheet->u1_mm - inside.u1_mm,
                      sheet->v0_mm - inside.v0_mm, sheet->v1_mm - inside.v1_mm};
    block->keep = first ? keep : panel_box_around(block->keep, keep);
    block->all = first ? keep : panel_box_around(block->all, keep);
    block->all = panel_box_around(block->all, panel_box_moved(slab->mark, from));
    block->all = panel_box_around(block->all, panel_box_moved(slab->paint, from));
    block->range = first ? range
                         : (PanelBox){fmax(block->range.u0_mm, range.u0_mm),
                                      fmin(block->range.u1_mm, range.u1_mm),
                                      fmax(block->range.v0_mm, range.v0_mm),
                                      fmin(block->range.v1_mm, range.v1_mm)};
    block->items[block->count] = item;
    block->from[block->count++] = from;
    block->fixed = block->fixed || (panel_mount(panel, item)->pinned == 1 &&
                                    !isnan(search->suggest->home[item].u_mm) &&
                                    !isnan(search->suggest->home[item].v_mm));
}

/* Single items of one cutout, turned alike, look the same: the first of them names the kind. */
static uint32_t kind_of(const Search *search, uint32_t id) {
    const PanelItem *item = &search->panel->items[search->blocks[id].items[0]];
    for (uint32_t i = 0; i < id && search->blocks[id].count == 1; i++) {
        const PanelItem *other = &search->panel->items[search->blocks[i].items[0]];
        if (search->blocks[i].count == 1 && other->cutout == item->cutout &&
            other->face == item->face && other->rotation_rad == item->rotation_rad) {
            return i;
        }
    }
    return id;
}

static void make_blocks(Search *search) {
    const Panel *panel = search->panel;
    Arena *arena = search->arena;
    uint32_t *parent = find_groups(search);
    uint32_t *of_root = ARENA_ARRAY(arena, uint32_t, panel->item_count);
    uint32_t *counts = ARENA_ARRAY(arena, uint32_t, panel->item_count);
    search->blocks = ARENA_ARRAY(arena, Block, panel->item_count);
    search->block_of = ARENA_ARRAY(arena, uint32_t, panel->item_count);
    memset(of_root, 0xFF, panel->item_count * sizeof *of_root);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        counts[root(parent, i)]++;
    }
    for (uint32_t i = 0; i < panel->item_count; i++) {
        uint32_t head = root(parent, i);
        if (of_root[head] == ID_NONE) {
            of_root[head] = search->block_count++;
            search->blocks[of_root[head]] = (Block){
                .items = ARENA_ARRAY(arena, uint32_t, counts[head]),
                .from = ARENA_ARRAY(arena, PanelPoint, counts[head]),
                .face = panel->items[i].face,
                .many = ID_NONE,
            };
        }
        search->block_of[i] = of_root[head];
        add_item(search, of_root[head], i);
    }
    uint32_t many = 0;
    for (uint32_t i = 0; i < search->block_count; i++) {
        Block *block = &search->blocks[i];
        double wide_mm = block->keep.u1_mm - block->keep.u0_mm;
        double high_mm = block->keep.v1_mm - block->keep.v0_mm;
        block->area = wide_mm * high_mm;
        block->near_mm = fmax(NEAR_LEAST_MM, fmin(wide_mm, high_mm) / 2.0);
        block->kind = kind_of(search, i);
        block->next_alike = ID_NONE;
        block->many = block->count > 1 ? many++ : ID_NONE;
        search->loose_area += block->fixed ? 0.0 : block->area;
    }
    for (uint32_t i = search->block_count; i > 0; i--) {
        Block *block = &search->blocks[i - 1];
        uint32_t *last = &search->blocks[block->kind].next_alike;
        if (block->kind != i - 1) { /* between the first and what came before */
            block->next_alike = *last;
            *last = i - 1;
        }
    }
    search->pairs = ARENA_ARRAY(arena, Boxes, (size_t)many * search->block_count);
}

/* --- walls --------------------------------------------------------------------------------------
 */

/* Where `mine`, about an item that stands `from` off the first, would overlap `theirs`. */
static void add_wall(Search *search, Block *block, Wall wall, const PanelBox *mine,
                     const PanelBox *theirs, PanelPoint from) {
    if (isinf(mine->u0_mm)) {
        return;
    }
    wall.box = (PanelBox){theirs->u0_mm - mine->u1_mm - from.u_mm + SUGGEST_TOUCH_MM,
                          theirs->u1_mm - mine->u0_mm - from.u_mm - SUGGEST_TOUCH_MM,
                          theirs->v0_mm - mine->v1_mm - from.v_mm + SUGGEST_TOUCH_MM,
                          theirs->v1_mm - mine->v0_mm - from.v_mm - SUGGEST_TOUCH_MM};
    if (wall.box.u0_mm < wall.box.u1_mm && wall.box.v0_mm < wall.box.v1_mm) {
        *ARENA_PUSH(search->arena, block->walls, block->wall_count, block->wall_capacity) = wall;
    }
}

static void add_item_walls(Search *search, Block *block, uint32_t item, PanelPoint from) {
    const Panel *panel = search->panel;
    const PanelFace *face = &panel->faces[block->face];
    const Slab *slab = &search->slabs[item];
    const TableSet *set = panel->model->set;
    for (uint32_t i = 0; i < set->behind.count; i++) {
        const BehindRow *row = &set->behind.rows[i];
        PanelBox box = {row->from_u_mm, row->to_u_mm, row->from_v_mm, row->to_v_mm};
        if (slab->depth_mm > row->depth_mm + SUGGEST_TOUCH_MM &&
            strcmp(row->face, face->key) == 0) {
            add_wall(search, block, (Wall){.kind = WALL_BEHIND, .row = i, .item = item},
                     &slab->body, &box, from);
        }
    }
    for (uint32_t i = face->bend_first; i < face->bend_first + face->bend_count; i++) {
        PanelBox wide = panel_box_grown(panel_line(panel->bends[i].from, panel->bends[i].to).box,
                                        search->bend * face->thickness_mm);
        add_wall(search, block, (Wall){.kind = WALL_BEND, .row = i, .item = item}, &slab->inside,
                 &wide, from);
    }
    PanelBox around = panel_box_grown(slab->mark, search->gap_mm);
    for (uint32_t i = face->hole_first; i < face->hole_first + face->hole_count; i++) {
        const PanelHole *hole = &panel->holes[i];
        Wall wall = {.kind = WALL_OPENING, .row = i, .item = item};
        PanelBox web = panel_box_grown(hole->contour.box, search->web * face->thickness_mm / 2.0);
        if (hole->item == ID_NONE) {
            add_wall(search, block, wall, &slab->keep, &web, from);
            add_wall(search, block, wall, &around, &hole->contour.box, from);
        }
    }
    for (uint32_t i = face->text_first; i < face->text_first + face->text_count; i++) {
        const PanelText *text = &panel->texts[i];
        const PanelInk *ink = panel->ink == NULL ? NULL : &panel->ink[text->row];
        if (ink != NULL && ink->count > 0 && !ink->hollow &&
            (text->item == ID_NONE || isnan(search->suggest->home[text->item].u_mm))) {
            PanelBox box = panel_box_grown(panel_text_box(search->arena, panel, i),
                                           search->mark_mm - search->gap_mm + SUGGEST_ROUND_MM);
            Wall wall = {.kind = WALL_LEGEND, .row = i, .item = item};
            add_wall(search, block, wall, &slab->keep, &box, from);
            add_wall(search, block, wall, &slab->mark, &box, from);
        }
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

/* --- for the other files ------------------------------------------------------------------------
 */

void suggest_blocks_make(Search *search) {
    const Panel *panel = search->panel;
    double room_mm = 0.0;
    for (uint32_t i = 0; i < panel->front_count; i++) {
        room_mm = fmax(room_mm, panel->fronts[i].room_mm);
    }
    search->slabs = ARENA_ARRAY(search->arena, Slab, panel->item_count);
    for (uint32_t i = 0; i < panel->item_count; i++) {
        make_slab(search, i, room_mm);
    }
    add_marks(search);
    make_blocks(search);
    for (uint32_t i = 0; i < search->block_count; i++) {
        Block *block = &search->blocks[i];
        for (uint32_t j = 0; j < block->count; j++) {
            add_item_walls(search, block, block->items[j], block->from[j]);
        }
    }
    link_wishes(search);
    search->at = ARENA_ARRAY(search->arena, PanelPoint, panel->item_count);
    search->there = ARENA_ARRAY(search->arena, bool, panel->item_count);
    search->missing = ARENA_ARRAY(search->arena, bool, search->block_count);
    search->placed = ARENA_ARRAY(search->arena, bool, search->block_count);
}

bool suggest_is_loose(const Search *search, uint32_t item) {
    return !search->blocks[search->block_of[item]].fixed;
}

const char *suggest_block_name(const Search *search, Arena *out, uint32_t id) {
    const Block *block = &search->blocks[id];
    Buffer text = {.arena = out};
    for (uint32_t i = 0; i < block->count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ", search->panel->items[block->items[i]].key);
    }
    return arena_text(out, text.bytes, text.length);
}
