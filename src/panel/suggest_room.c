/* Room for one block. Where its first item can't be is a set of rectangles: one for each pair of
 * rectangles that may not overlap. A place worth trying is a corner of what they leave: it touches
 * something in both directions. These are found by a sweep along u over the rectangles' sides, each
 * walked along v past the rectangles that lie across it there: work in proportion to the corners
 * and their neighbours, not to the square of what stands. Lines that wishes and tidiness ask for
 * are swept as well. */
#include "panel/suggest_inner.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Lines through the middles of others, and at corners of the sheet, that are tried each way. */
enum { MATES_MOST = 12, CORNERS_MOST = 16, LINES_MOST = 2 + MATES_MOST + CORNERS_MOST };

static const double TIDY_COST = 1.0;

bool suggest_boxes_overlap(const PanelBox *a, const PanelBox *b) {
    return a->u0_mm < b->u1_mm - SUGGEST_TOUCH_MM && b->u0_mm < a->u1_mm - SUGGEST_TOUCH_MM &&
           a->v0_mm < b->v1_mm - SUGGEST_TOUCH_MM && b->v0_mm < a->v1_mm - SUGGEST_TOUCH_MM;
}

/* --- where a block can't be ---------------------------------------------------------------------
 */

static void add_box(Search *search, Boxes *boxes, PanelBox box) {
    if (box.u0_mm < box.u1_mm && box.v0_mm < box.v1_mm) {
        *ARENA_PUSH(search->arena, boxes->rows, boxes->count, boxes->capacity) = box;
    }
}

/* Where item `a` can't be, moved by `by` against the first of its block, for item `b` at `there`.
 */
static void add_items(Search *search, uint32_t a, PanelPoint by, uint32_t b, PanelPoint there,
                      Boxes *boxes) {
    const Slab *mine = &search->slabs[a];
    const Slab *theirs = &search->slabs[b];
    const PanelBox *pairs[6][2] = {{&mine->keep, &theirs->keep},  {&mine->mark, &theirs->keep},
                                   {&mine->keep, &theirs->mark},  {&mine->mark, &theirs->mark},
                                   {&mine->mark, &theirs->paint}, {&mine->paint, &theirs->mark}};
    double u_mm = there.u_mm - by.u_mm;
    double v_mm = there.v_mm - by.v_mm;
    for (int i = 0; i < 6; i++) {
        const PanelBox *m = pairs[i][0];
        const PanelBox *t = pairs[i][1];
        if (!isinf(m->u0_mm) && !isinf(t->u0_mm)) {
            add_box(search, boxes,
                    (PanelBox){t->u0_mm - m->u1_mm + u_mm + SUGGEST_TOUCH_MM,
                               t->u1_mm - m->u0_mm + u_mm - SUGGEST_TOUCH_MM,
                               t->v0_mm - m->v1_mm + v_mm + SUGGEST_TOUCH_MM,
                               t->v1_mm - m->v0_mm + v_mm - SUGGEST_TOUCH_MM});
        }
    }
}

static int compare_boxes(const void *left, const void *right) {
    const PanelBox *a = left;
    const PanelBox *b = right;
    const double keys[4][2] = {
        {a->u0_mm, b->u0_mm}, {a->v0_mm, b->v0_mm}, {a->u1_mm, b->u1_mm}, {a->v1_mm, b->v1_mm}};
    for (int i = 0; i < 4; i++) {
        if (keys[i][0] != keys[i][1]) {
            return keys[i][0] < keys[i][1] ? -1 : 1;
        }
    }
    return 0;
}

/* Two rectangles side by side, of one height and without a gap, are one; one in another is none. */
static bool swallows(PanelBox *a, const PanelBox *b) {
    const double SAME_MM = 1e-9;
    bool one_v = fabs(a->v0_mm - b->v0_mm) < SAME_MM && fabs(a->v1_mm - b->v1_mm) < SAME_MM;
    bool one_u = fabs(a->u0_mm - b->u0_mm) < SAME_MM && fabs(a->u1_mm - b->u1_mm) < SAME_MM;
    bool meet_u = a->u0_mm <= b->u1_mm && b->u0_mm <= a->u1_mm;
    bool meet_v = a->v0_mm <= b->v1_mm && b->v0_mm <= a->v1_mm;
    bool holds = a->u0_mm <= b->u0_mm && a->u1_mm >= b->u1_mm && a->v0_mm <= b->v0_mm &&
                 a->v1_mm >= b->v1_mm;
    if (holds || (one_v && meet_u) || (one_u && meet_v)) {
        *a = panel_box_around(*a, *b);
        return true;
    }
    return false;
}

/* As few rectangles as that joins them to; rows of like items leave a handful. */
static void join(Boxes *boxes) {
    bool any = true;
    while (any) {
        any = false;
        qsort(boxes->rows, boxes->count, sizeof *boxes->rows, compare_boxes);
        for (size_t i = 0; i < boxes->count; i++) {
            size_t kept = i + 1;
            for (size_t j = i + 1; j < boxes->count; j++) {
                if (swallows(&boxes->rows[i], &boxes->rows[j])) {
                    any = true;
                } else {
                    boxes->rows[kept++] = boxes->rows[j];
                }
            }
            boxes->count = kept;
        }
    }
}

/* Of a block of several items, beside another that stands at nought. */
static const Boxes *pair_of(Search *search, uint32_t id, uint32_t other) {
    Boxes *boxes = &search->pairs[(size_t)search->blocks[id].many * search->block_count + other];
    if (boxes->count == 0) {
        const Block *a = &search->blocks[id];
        const Block *b = &search->blocks[other];
        for (uint32_t i = 0; i < a->count; i++) {
            for (uint32_t j = 0; j < b->count; j++) {
                add_items(search, a->items[i], a->from[i], b->items[j], b->from[j], boxes);
            }
        }
        search->work += boxes->count;
        join(boxes);
    }
    return boxes;
}

void suggest_room_beside(Search *search, uint32_t id, uint32_t other, PanelPoint there,
                         Boxes *room) {
    const Block *block = &search->blocks[id];
    const Block *beside = &search->blocks[other];
    if (block->count == 1 && beside->count == 1) {
        add_items(search, block->items[0], (PanelPoint){0.0, 0.0}, beside->items[0], there, room);
    } else if (block->count > 1) {
        const Boxes *pair = pair_of(search, id, other);
        for (size_t i = 0; i < pair->count; i++) {
            add_box(search, room, panel_box_moved(pair->rows[i], there));
        }
    } else {
        const Boxes *pair = pair_of(search, other, id); /* the other way around */
        for (size_t i = 0; i < pair->count; i++) {
            const PanelBox *box = &pair->rows[i];
            PanelBox turned = {-box->u1_mm, -box->u0_mm, -box->v1_mm, -box->v0_mm};
            add_box(search, room, panel_box_moved(turned, there));
        }
    }
}

static void fill_room(Search *search, uint32_t id, Boxes *room) {
    const Block *block = &search->blocks[id];
    room->count = 0;
    for (size_t i = 0; i < block->wall_count; i++) {
        add_box(search, room, block->walls[i].box);
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *other = &search->blocks[i];
        if (search->placed[i] && i != id && other->face == block->face) {
            suggest_room_beside(search, id, i, search->at[other->items[0]], room);
        }
    }
    search->work += room->count;
}

/* --- corners ------------------------------------------------------------------------------------
 */

/* A side of a rectangle, or a line all over the sheet. */
typedef struct Side {
    double u_mm;
    double v0_mm, v1_mm;
} Side;

static int compare_sides(const void *left, const void *right) {
    const Side *a = left;
    const Side *b = right;
    const double keys[3][2] = {{a->u_mm, b->u_mm}, {a->v0_mm, b->v0_mm}, {a->v1_mm, b->v1_mm}};
    for (int i = 0; i < 3; i++) {
        if (keys[i][0] != keys[i][1]) {
            return keys[i][0] < keys[i][1] ? -1 : 1;
        }
    }
    return 0;
}

typedef struct Lines {
    double us[LINES_MOST];
    double vs[LINES_MOST];
    uint32_t u_count, v_count;
} Lines;

static void add_line(double *lines, uint32_t *count, uint32_t most, double at_mm) {
    const double SAME_MM = 1e-6;
    for (uint32_t i = 0; i < *count; i++) {
        if (fabs(lines[i] - at_mm) < SAME_MM) {
            return;
        }
    }
    if (*count < most) {
        lines[(*count)++] = at_mm;
    }
}

/* A rounded or bevelled corner of the sheet keeps out what the box around the sheet would hold: at
 * the ends of its pieces what goes deepest into the corner stands. */
static void add_corners(const Search *search, uint32_t id, Lines *lines) {
    const Block *block = &search->blocks[id];
    const PanelContour *sheet = &search->panel->faces[block->face].outline;
    PanelBox inside = {sheet->box.u0_mm - block->range.u0_mm, sheet->box.u1_mm - block->range.u1_mm,
                       sheet->box.v0_mm - block->range.v0_mm,
                       sheet->box.v1_mm - block->range.v1_mm};
    for (uint32_t i = 0; i < sheet->count; i++) {
        PanelPoint end = sheet->pieces[i].from;
        bool left = end.u_mm < (sheet->box.u0_mm + sheet->box.u1_mm) / 2.0;
        bool low = end.v_mm < (sheet->box.v0_mm + sheet->box.v1_mm) / 2.0;
        add_line(lines->us, &lines->u_count, LINES_MOST,
                 end.u_mm - (left ? inside.u0_mm : inside.u1_mm));
        add_line(lines->vs, &lines->v_count, LINES_MOST,
                 end.v_mm - (low ? inside.v0_mm : inside.v1_mm));
    }
}

/* Where it is now, before the eye, and level with others of its kind or its wishes. */
static Lines find_lines(const Search *search, uint32_t id) {
    const Block *block = &search->blocks[id];
    Lines lines = {0};
    PanelPoint home = suggest_home(search, id);
    if (!isnan(home.u_mm)) {
        add_line(lines.us, &lines.u_count, MATES_MOST + 2, home.u_mm);
        add_line(lines.vs, &lines.v_count, MATES_MOST + 2, home.v_mm);
    }
    add_line(lines.us, &lines.u_count, MATES_MOST + 2, panel_eye_u_mm(search->panel, block->face));
    for (uint32_t i = 0; i < search->wish_counts[id]; i++) {
        const SuggestWish *wish = &search->suggest->wishes[search->wishes_of[id][i]];
        bool level = wish->kind == SUGGEST_STACKED || wish->kind == SUGGEST_TOGETHER;
        for (uint32_t j = 0; level && j < wish->item_count; j++) {
            if (search->there[wish->items[j]]) {
                PanelPoint at = search->at[wish->items[j]];
                add_line(lines.us, &lines.u_count, MATES_MOST + 2, at.u_mm);
                add_line(lines.vs, &lines.v_count, MATES_MOST + 2, at.v_mm);
            }
        }
    }
    for (uint32_t i = block->kind; i != ID_NONE; i = search->blocks[i].next_alike) {
        if (search->placed[i] && i != id) {
            PanelPoint at = search->at[search->blocks[i].items[0]];
            add_line(lines.us, &lines.u_count, MATES_MOST + 2, at.u_mm);
            add_line(lines.vs, &lines.v_count, MATES_MOST + 2, at.v_mm);
        }
    }
    add_corners(search, id, &lines);
    return lines;
}

static void add_point(Search *search, double u_mm, double v_mm) {
    *ARENA_PUSH(search->arena, search->points, search->point_count, search->point_capacity) =
        (PanelPoint){u_mm, v_mm};
}

/* The ends of a free stretch of a side, and where lines cross it. */
static void add_stretch(Search *search, double u_mm, double from_mm, double to_mm,
                        const Lines *lines) {
    add_point(search, u_mm, from_mm);
    if (to_mm > from_mm) {
        add_point(search, u_mm, to_mm);
    }
    for (uint32_t i = 0; i < lines->v_count; i++) {
        if (lines->vs[i] > from_mm && lines->vs[i] < to_mm) {
            add_point(search, u_mm, lines->vs[i]);
        }
    }
}

/* Rectangles across the sweep's line, by their lower ends. */
typedef struct Across {
    uint32_t *rows;
    size_t count;
} Across;

static void step_to(const Boxes *room, size_t *next, Across *across, double u_mm) {
    size_t kept = 0;
    for (size_t i = 0; i < across->count; i++) {
        if (room->rows[across->rows[i]].u1_mm > u_mm) {
            across->rows[kept++] = across->rows[i];
        }
    }
    across->count = kept;
    for (; *next < room->count && room->rows[*next].u0_mm < u_mm; (*next)++) {
        if (room->rows[*next].u1_mm <= u_mm) {
            continue;
        }
        size_t place = across->count++;
        double v_mm = room->rows[*next].v0_mm;
        for (; place > 0 && room->rows[across->rows[place - 1]].v0_mm > v_mm; place--) {
            across->rows[place] = across->rows[place - 1];
        }
        across->rows[place] = (uint32_t)*next;
    }
}

void suggest_room_points(Search *search, uint32_t id, Boxes *room, PanelBox range) {
    search->point_count = 0;
    if (range.u0_mm > range.u1_mm || range.v0_mm > range.v1_mm) {
        return;
    }
    Lines lines = find_lines(search, id);
    if (room->count > 0) {
        qsort(room->rows, room->count, sizeof *room->rows, compare_boxes);
    }
    size_t most = 2 * room->count + 2 + lines.u_count;
    Arena scratch = {0};
    Side *sides = ARENA_ARRAY(&scratch, Side, most);
    Across across = {.rows = ARENA_ARRAY(&scratch, uint32_t, room->count + 1)};
    size_t count = 0;
    sides[count++] = (Side){range.u0_mm, range.v0_mm, range.v1_mm};
    sides[count++] = (Side){range.u1_mm, range.v0_mm, range.v1_mm};
    for (uint32_t i = 0; i < lines.u_count; i++) {
        if (lines.us[i] > range.u0_mm && lines.us[i] < range.u1_mm) {
            sides[count++] = (Side){lines.us[i], range.v0_mm, range.v1_mm};
        }
    }
    for (size_t i = 0; i < room->count; i++) {
        const PanelBox *box = &room->rows[i];
        Side side = {box->u0_mm, fmax(box->v0_mm, range.v0_mm), fmin(box->v1_mm, range.v1_mm)};
        if (side.v0_mm > side.v1_mm) {
            continue;
        }
        if (side.u_mm > range.u0_mm && side.u_mm < range.u1_mm) {
            sides[count++] = side;
        }
        side.u_mm = box->u1_mm;
        if (side.u_mm > range.u0_mm && side.u_mm < range.u1_mm) {
            sides[count++] = side;
        }
    }
    qsort(sides, count, sizeof *sides, compare_sides);
    size_t next = 0;
    for (size_t i = 0; i < count; i++) {
        const Side *side = &sides[i];
        step_to(room, &next, &across, side->u_mm);
        double from_mm = side->v0_mm;
        size_t k = 0;
        for (; k < across.count && from_mm <= side->v1_mm; k++) {
            const PanelBox *box = &room->rows[across.rows[k]];
            if (box->v0_mm >= side->v1_mm) {
                break;
            }
            if (box->v1_mm > from_mm) {
                if (box->v0_mm >= from_mm) {
                    add_stretch(search, side->u_mm, from_mm, box->v0_mm, &lines);
                }
                from_mm = box->v1_mm;
            }
        }
        search->work += k + 1;
        if (from_mm <= side->v1_mm) {
            add_stretch(search, side->u_mm, from_mm, side->v1_mm, &lines);
        }
    }
    arena_free(&scratch);
}

/* --- true outlines ------------------------------------------------------------------------------
 */

static bool on_sheet(const PanelFace *face, const PanelBox *box) {
    const PanelPoint corners[4] = {{box->u0_mm, box->v0_mm},
                                   {box->u1_mm, box->v0_mm},
                                   {box->u1_mm, box->v1_mm},
                                   {box->u0_mm, box->v1_mm}};
    const PanelBox *sheet = &face->outline.box;
    if (box->u0_mm < sheet->u0_mm - SUGGEST_TOUCH_MM ||
        box->u1_mm > sheet->u1_mm + SUGGEST_TOUCH_MM ||
        box->v0_mm < sheet->v0_mm - SUGGEST_TOUCH_MM ||
        box->v1_mm > sheet->v1_mm + SUGGEST_TOUCH_MM) {
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
            if (suggest_boxes_overlap(&dot, &inner)) {
                return false;
            }
        }
    }
    return true;
}

bool suggest_on_sheet(Search *search, uint32_t id, PanelPoint at) {
    const Block *block = &search->blocks[id];
    const PanelFace *face = &search->panel->faces[block->face];
    for (uint32_t i = 0; i < block->count; i++) {
        const Slab *slab = &search->slabs[block->items[i]];
        PanelPoint mine = {at.u_mm + block->from[i].u_mm, at.v_mm + block->from[i].v_mm};
        PanelBox inside = panel_box_moved(slab->inside, mine);
        PanelBox around = panel_box_grown(panel_box_moved(slab->mark, mine), search->gap_mm);
        search->work += face->outline.count;
        if (!on_sheet(face, &inside) || (!isinf(slab->mark.u0_mm) && !on_sheet(face, &around))) {
            return false;
        }
    }
    return true;
}

static bool in_any(const Boxes *room, size_t from, PanelPoint at) {
    for (size_t i = from; i < room->count; i++) {
        const PanelBox *box = &room->rows[i];
        if (at.u_mm > box->u0_mm && at.u_mm < box->u1_mm && at.v_mm > box->v0_mm &&
            at.v_mm < box->v1_mm) {
            return true;
        }
    }
    return false;
}

static bool is_home(const Search *search, uint32_t id, PanelPoint at) {
    PanelPoint home = suggest_home(search, id);
    return at.u_mm == home.u_mm && at.v_mm == home.v_mm;
}

static bool quarrel(const Search *search, uint32_t a, uint32_t b) {
    for (size_t i = 0; i < search->quarrel_count; i++) {
        const Quarrel *row = &search->quarrels[i];
        if ((row->a == a && row->b == b) || (row->a == b && row->b == a)) {
            return true;
        }
    }
    return false;
}

/* Two that both stand where they stood are judged by the checks of a person's layout, which know
 * true curves: closer than rectangles may be. */
bool suggest_is_legal(Search *search, uint32_t id, PanelPoint at) {
    const Block *block = &search->blocks[id];
    bool home = is_home(search, id, at);
    Boxes room = search->room;
    room.count = 0;
    for (size_t i = 0; i < block->wall_count && !home; i++) {
        add_box(search, &room, block->walls[i].box);
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *other = &search->blocks[i];
        if (!search->placed[i] || i == id) {
            continue;
        }
        PanelPoint there = search->at[other->items[0]];
        if (home && is_home(search, i, there)) {
            if (quarrel(search, id, i)) {
                search->room = room;
                return false;
            }
        } else if (other->face == block->face) {
            suggest_room_beside(search, id, i, there, &room);
        }
    }
    search->room = room;
    search->work += room.count;
    return !in_any(&room, 0, at) && (home ? !block->wrong : suggest_on_sheet(search, id, at));
}

/* --- places -------------------------------------------------------------------------------------
 */

PanelPoint suggest_home(const Search *search, uint32_t id) {
    return search->suggest->home[search->blocks[id].items[0]];
}

void suggest_put(Search *search, uint32_t id, PanelPoint at) {
    const Block *block = &search->blocks[id];
    for (uint32_t i = 0; i < block->count; i++) {
        search->at[block->items[i]] =
            (PanelPoint){at.u_mm + block->from[i].u_mm, at.v_mm + block->from[i].v_mm};
        search->there[block->items[i]] = true;
    }
    search->placed[id] = true;
}

void suggest_take_out(Search *search, uint32_t id) {
    const Block *block = &search->blocks[id];
    for (uint32_t i = 0; i < block->count; i++) {
        search->there[block->items[i]] = false;
    }
    search->placed[id] = false;
}

/* Asked so often that hypot's care for overflow would be felt. */
static double apart_mm(PanelPoint a, PanelPoint b) {
    double u_mm = a.u_mm - b.u_mm;
    double v_mm = a.v_mm - b.v_mm;
    return sqrt(u_mm * u_mm + v_mm * v_mm);
}

double suggest_move_cost(const Search *search, uint32_t id, PanelPoint at) {
    PanelPoint home = suggest_home(search, id);
    return isnan(home.u_mm) ? 0.0
                            : search->move_weight * search->blocks[id].count * apart_mm(home, at);
}

double suggest_tidy_cost(Search *search, uint32_t id, PanelPoint at) {
    const double LEVEL_MM = 0.02;
    bool alone = true;
    if (is_home(search, id, at)) {
        return 0.0;
    }
    for (uint32_t i = search->blocks[id].kind; i != ID_NONE; i = search->blocks[i].next_alike) {
        if (search->placed[i] && i != id) {
            PanelPoint there = search->at[search->blocks[i].items[0]];
            search->work++;
            alone = false;
            if (fabs(there.u_mm - at.u_mm) < LEVEL_MM || fabs(there.v_mm - at.v_mm) < LEVEL_MM) {
                return 0.0;
            }
        }
    }
    return alone ? 0.0 : TIDY_COST;
}

/* What it costs to stand where the block stands in layouts that are to be different. */
static double avoid_cost(const Search *search, uint32_t id, PanelPoint at) {
    const Block *block = &search->blocks[id];
    double cost = 0.0;
    for (uint32_t i = 0; i < search->avoid_count; i++) {
        if (apart_mm(search->avoid[i][block->items[0]], at) < block->near_mm) {
            cost += SUGGEST_AVOID_COST * block->area / search->loose_area;
        }
    }
    return cost;
}

double suggest_cost_at(Search *search, uint32_t id, PanelPoint at, double most) {
    double cost = suggest_move_cost(search, id, at) + avoid_cost(search, id, at);
    search->work++;
    if (cost < most) {
        cost += suggest_tidy_cost(search, id, at);
    }
    if (cost >= most || search->wish_counts[id] == 0) {
        return cost;
    }
    suggest_put(search, id, at);
    for (uint32_t i = 0; i < search->wish_counts[id] && cost < most; i++) {
        const SuggestWish *wish = &search->suggest->wishes[search->wishes_of[id][i]];
        cost += wish->weight * panel_wish_lacks(search->panel, wish, search->at, search->there);
        search->work += wish->item_count + wish->other_count;
    }
    suggest_take_out(search, id);
    return cost;
}

bool suggest_best_place(Search *search, uint32_t id, double packed, PanelPoint *best) {
    const PanelBox *sheet = &search->panel->faces[search->blocks[id].face].outline.box;
    double least = INFINITY;
    PanelPoint home = suggest_home(search, id);
    if (!isnan(home.u_mm) && suggest_is_legal(search, id, home)) {
        least = packed * ((home.u_mm - sheet->u0_mm) * 0.1 + (home.v_mm - sheet->v0_mm)) +
                suggest_cost_at(search, id, home, INFINITY);
        *best = home;
    }
    fill_room(search, id, &search->room);
    suggest_room_points(search, id, &search->room, search->blocks[id].range);
    for (size_t i = 0; i < search->point_count; i++) {
        PanelPoint at = search->points[i];
        double low = packed * ((at.u_mm - sheet->u0_mm) * 0.1 + (at.v_mm - sheet->v0_mm));
        if (low >= least) {
            continue;
        }
        double cost = low + suggest_cost_at(search, id, at, least - low);
        if (cost < least - 1e-9 && suggest_on_sheet(search, id, at)) {
            least = cost;
            *best = at;
        }
    }
    return !isinf(least);
}
