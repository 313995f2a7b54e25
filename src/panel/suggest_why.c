/* Why a block has no place. All that could hinder it (what is behind, bends, free openings and
 * legends, pinned items) is tried with one of them left out after the other, and stays out as long
 * as there is still no place: what remains is needed, every one, to keep the block out. A block
 * that has places alone may have none that leaves room for some other block; then both are named.
 * The sheet counts as its box and, of what two blocks keep from each other, the largest rectangle
 * alone: both are less than is asked, so that no place here is no place. */
#include "panel/suggest_inner.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

enum { OTHERS_MOST = 12 };

/* What could stand in the way of one or two blocks. */
typedef struct Hurdles {
    bool *blocks;                 /* by block: fixed ones */
    bool *kinds[WALL_LEGEND + 1]; /* by row of that wall's kind */
} Hurdles;

static size_t rows_of(const Search *search, WallKind kind) {
    const Panel *panel = search->panel;
    return kind == WALL_BEHIND    ? panel->model->set->behind.count
           : kind == WALL_BEND    ? panel->bend_count
           : kind == WALL_OPENING ? panel->hole_count
                                  : panel->text_count;
}

/* --- is there a place ---------------------------------------------------------------------------
 */

static double area_of(const PanelBox *box) {
    return (box->u1_mm - box->u0_mm) * (box->v1_mm - box->v0_mm);
}

/* Where block `id` can't be because of the hurdles, and for the most part of `other` at `there`
 * (ID_NONE: none). */
static void fill(Search *search, uint32_t id, const Hurdles *hurdles, uint32_t other,
                 PanelPoint there, Boxes *room) {
    const Block *block = &search->blocks[id];
    room->count = 0;
    for (size_t i = 0; i < block->wall_count; i++) {
        const Wall *wall = &block->walls[i];
        if (hurdles->kinds[wall->kind][wall->row]) {
            *ARENA_PUSH(search->arena, room->rows, room->count, room->capacity) = wall->box;
        }
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        if (hurdles->blocks[i] && i != id && search->blocks[i].face == block->face) {
            suggest_room_beside(search, id, i, suggest_home(search, i), room);
        }
    }
    size_t first = room->count;
    if (other != ID_NONE) {
        suggest_room_beside(search, id, other, there, room);
    }
    for (size_t i = first + 1; i < room->count; i++) {
        if (area_of(&room->rows[i]) > area_of(&room->rows[first])) {
            room->rows[first] = room->rows[i];
        }
    }
    room->count = room->count > first ? first + 1 : first;
    search->work += room->count;
}

static bool has_place(Search *search, uint32_t id, const Hurdles *hurdles) {
    fill(search, id, hurdles, ID_NONE, (PanelPoint){0.0, 0.0}, &search->room);
    suggest_room_points(search, id, &search->room, search->blocks[id].range);
    return search->point_count > 0;
}

/* Pushed left and down as far as they go, both stand in corners. One rectangle is between them, so
 * they touch one way at most, and only one of them leans on the other: that other stands in a
 * corner of what never moves. So it is enough to try the corners of each alone. */
static bool have_places(Search *search, uint32_t a, uint32_t b, const Hurdles *hurdles) {
    Arena scratch = {0};
    bool found = false;
    for (int turn = 0; turn < 2 && !found; turn++) {
        uint32_t first = turn == 0 ? a : b;
        uint32_t second = turn == 0 ? b : a;
        fill(search, first, hurdles, ID_NONE, (PanelPoint){0.0, 0.0}, &search->room);
        suggest_room_points(search, first, &search->room, search->blocks[first].range);
        size_t count = search->point_count;
        PanelPoint *points = ARENA_ARRAY(&scratch, PanelPoint, count + 1);
        if (count > 0) {
            memcpy(points, search->points, count * sizeof *points);
        }
        for (size_t i = 0; i < count && !found; i++) {
            fill(search, second, hurdles, first, points[i], &search->room);
            suggest_room_points(search, second, &search->room, search->blocks[second].range);
            found = search->point_count > 0;
        }
    }
    arena_free(&scratch);
    return found;
}

static bool fit(Search *search, uint32_t a, uint32_t b, const Hurdles *hurdles) {
    return b == ID_NONE ? has_place(search, a, hurdles) : have_places(search, a, b, hurdles);
}

static void leave_out(Search *search, uint32_t a, uint32_t b, Hurdles *hurdles, bool *hurdle) {
    *hurdle = false;
    *hurdle = fit(search, a, b, hurdles);
}

/* As few hurdles as are needed. */
static void reduce(Search *search, uint32_t a, uint32_t b, Hurdles *hurdles) {
    for (int kind = WALL_LEGEND; kind >= WALL_BEHIND; kind--) {
        for (size_t i = 0; i < rows_of(search, (WallKind)kind); i++) {
            if (hurdles->kinds[kind][i]) {
                leave_out(search, a, b, hurdles, &hurdles->kinds[kind][i]);
            }
        }
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        if (hurdles->blocks[i]) {
            leave_out(search, a, b, hurdles, &hurdles->blocks[i]);
        }
    }
}

/* Those that concern the two. */
static Hurdles all_hurdles(Search *search, Arena *arena, uint32_t a, uint32_t b) {
    Hurdles hurdles = {.blocks = ARENA_ARRAY(arena, bool, search->block_count)};
    for (int kind = WALL_BEHIND; kind <= WALL_LEGEND; kind++) {
        hurdles.kinds[kind] = ARENA_ARRAY(arena, bool, rows_of(search, (WallKind)kind) + 1);
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *block = &search->blocks[i];
        hurdles.blocks[i] =
            block->fixed && i != a && i != b && block->face == search->blocks[a].face;
        for (size_t k = 0; (i == a || i == b) && k < block->wall_count; k++) {
            hurdles.kinds[block->walls[k].kind][block->walls[k].row] = true;
        }
    }
    return hurdles;
}

/* --- words --------------------------------------------------------------------------------------
 */

typedef struct Saying {
    Buffer rules;
    Buffer rows;
    Buffer words;
    uint32_t count;
} Saying;

static void add_word(Buffer *list, const char *word) {
    const char *so_far =
        arena_text(list->arena, list->bytes == NULL ? "" : list->bytes, list->length);
    if (!text_has_word(so_far, word)) {
        buffer_format(list, "%s%s", list->length == 0 ? "" : " ", word);
    }
}

/* The wall's row as a reason, for the first item of the blocks that meets it. */
static void say_wall(Search *search, Saying *saying, const Wall *wall) {
    const Panel *panel = search->panel;
    const TableSet *set = panel->model->set;
    const PanelItem *item = &panel->items[wall->item];
    buffer_text(&saying->words, saying->count++ == 0 ? ": " : "; ");
    if (wall->kind == WALL_BEHIND) {
        const BehindRow *row = &set->behind.rows[wall->row];
        add_word(&saying->rules, rule_name(RULE_PANEL_DEPTH));
        add_word(&saying->rows, row->behind);
        buffer_format(&saying->words, "%s needs %.2f mm behind it, %s (%s) leaves %.2f", item->key,
                      search->slabs[wall->item].depth_mm, row->behind, row->what, row->depth_mm);
    } else if (wall->kind == WALL_BEND) {
        const char *bend = set->panel_bend.rows[panel->bends[wall->row].row].bend;
        add_word(&saying->rules, rule_name(RULE_PANEL_BEND));
        add_word(&saying->rows, bend);
        buffer_format(&saying->words, "bend %s", bend);
    } else if (wall->kind == WALL_OPENING) {
        const char *hole = panel_hole_name(panel, saying->words.arena, wall->row);
        add_word(&saying->rules, rule_name(RULE_PANEL_WEB));
        add_word(&saying->rows, hole);
        buffer_format(&saying->words, "the opening %s of the sheet", hole);
    } else {
        const char *legend = set->legend.rows[panel->texts[wall->row].row].legend;
        add_word(&saying->rules, rule_name(RULE_PANEL_MARK));
        add_word(&saying->rows, legend);
        buffer_format(&saying->words, "legend %s stays", legend);
    }
}

static void say_hurdles(Search *search, Saying *saying, uint32_t a, uint32_t b,
                        const Hurdles *hurdles) {
    Arena *out = saying->words.arena;
    for (int kind = WALL_BEHIND; kind <= WALL_LEGEND; kind++) {
        for (size_t row = 0; row < rows_of(search, (WallKind)kind); row++) {
            const Wall *wall = NULL;
            for (int turn = 0; turn < 2 && wall == NULL; turn++) {
                uint32_t id = turn == 0 ? a : b;
                for (size_t i = 0; id != ID_NONE && i < search->blocks[id].wall_count; i++) {
                    const Wall *other = &search->blocks[id].walls[i];
                    wall = other->kind == (WallKind)kind && other->row == row ? other : wall;
                }
            }
            if (hurdles->kinds[kind][row] && wall != NULL) {
                say_wall(search, saying, wall);
            }
        }
    }
    for (uint32_t i = 0; i < search->block_count; i++) {
        if (hurdles->blocks[i]) {
            const char *name = suggest_block_name(search, out, i);
            add_word(&saying->rules, rule_name(RULE_PANEL_FRONT));
            buffer_format(&saying->rows, "%s%s", saying->rows.length == 0 ? "" : " ", name);
            buffer_format(&saying->words, "%s%s %s", saying->count++ == 0 ? ": " : "; ", name,
                          search->blocks[i].condoned ? "stays" : "is pinned");
        }
    }
}

static void add_bar(Arena *out, Search *search, uint32_t a, uint32_t b, const Hurdles *hurdles) {
    Suggest *suggest = search->suggest;
    if (suggest->bar_count == SUGGEST_BARS) {
        return;
    }
    Saying saying = {.rules = {.arena = out}, .rows = {.arena = out}, .words = {.arena = out}};
    const char *item = suggest_block_name(search, out, a);
    const char *face = search->panel->faces[search->blocks[a].face].key;
    if (b == ID_NONE && hurdles == NULL) {
        buffer_format(&saying.words,
                      "%s was found no place on %s beside all the others; it may still have one",
                      item, face);
    } else if (b == ID_NONE) {
        buffer_format(&saying.words, "%s has no place anywhere on %s, whatever else moves", item,
                      face);
    } else {
        const char *other = suggest_block_name(search, out, b);
        buffer_format(&saying.rows, "%s", other);
        buffer_format(&saying.words,
                      "%s and %s have no places on %s beside each other, whatever else moves", item,
                      other, face);
    }
    if (hurdles != NULL) {
        say_hurdles(search, &saying, a, b, hurdles);
        if (saying.count == 0 || b != ID_NONE) {
            add_word(&saying.rules, rule_name(b == ID_NONE ? RULE_PANEL_EDGE : RULE_PANEL_FRONT));
        }
        if (saying.count == 0 && b == ID_NONE) {
            buffer_text(&saying.words, ": the sheet is too small for it");
        }
    }
    suggest->bars[suggest->bar_count++] = (SuggestBar){
        .item = item,
        .rule = arena_text(out, saying.rules.bytes == NULL ? "" : saying.rules.bytes,
                           saying.rules.length),
        .rows =
            arena_text(out, saying.rows.bytes == NULL ? "" : saying.rows.bytes, saying.rows.length),
        .words = arena_text(out, saying.words.bytes, saying.words.length),
        .proved = hurdles != NULL,
    };
}

/* --- for the other files ------------------------------------------------------------------------
 */

/* The loose block of the same face that is the next smaller than `than`; ID_NONE. */
static uint32_t next_largest(const Search *search, uint32_t id, uint32_t than) {
    uint32_t best = ID_NONE;
    double than_area = than == ID_NONE ? (double)INFINITY : search->blocks[than].area;
    for (uint32_t i = 0; i < search->block_count; i++) {
        const Block *block = &search->blocks[i];
        bool later =
            than == ID_NONE || block->area < than_area || (block->area == than_area && i > than);
        if (!block->fixed && i != id && block->face == search->blocks[id].face && later &&
            (best == ID_NONE || block->area > search->blocks[best].area)) {
            best = i;
        }
    }
    return best;
}

bool suggest_why_not(Arena *out, Search *search, uint32_t id) {
    Arena scratch = {0};
    bool proved = false;
    memset(search->placed, 0, search->block_count * sizeof *search->placed);
    memset(search->there, 0, search->panel->item_count * sizeof *search->there);
    uint32_t other = ID_NONE;
    for (uint32_t i = 0; i <= OTHERS_MOST && !proved; i++) {
        Hurdles hurdles = all_hurdles(search, &scratch, id, other);
        if (!fit(search, id, other, &hurdles)) {
            reduce(search, id, other, &hurdles);
            add_bar(out, search, id, other, &hurdles);
            proved = true;
        }
        other = next_largest(search, id, other);
        if (other == ID_NONE) {
            break;
        }
    }
    if (!proved) {
        add_bar(out, search, id, ID_NONE, NULL);
    }
    arena_free(&scratch);
    return proved;
}

static double shared_mm2(const PanelBox *box, PanelPoint at) {
    /* How far the middle must move to be out of the rectangle, counted with its size. */
    double u_mm = fmin(at.u_mm - box->u0_mm, box->u1_mm - at.u_mm);
    double v_mm = fmin(at.v_mm - box->v0_mm, box->v1_mm - at.v_mm);
    return u_mm <= 0.0 || v_mm <= 0.0 ? 0.0 : fmin(u_mm, v_mm) * fmin(u_mm, v_mm);
}

void suggest_why_nearest(Search *search, uint32_t id) {
    Arena scratch = {0};
    Block *block = &search->blocks[id];
    Hurdles hurdles = all_hurdles(search, &scratch, id, ID_NONE);
    Boxes room = {0};
    fill(search, id, &hurdles, ID_NONE, (PanelPoint){0.0, 0.0}, &search->room);
    for (size_t i = 0; i < search->room.count; i++) {
        *ARENA_PUSH(&scratch, room.rows, room.count, room.capacity) = search->room.rows[i];
    }
    const PanelBox *sheet = &search->panel->faces[block->face].outline.box;
    PanelBox range = block->range;
    if (range.u0_mm > range.u1_mm || range.v0_mm > range.v1_mm) {
        double u_mm = (sheet->u0_mm + sheet->u1_mm) / 2.0;
        double v_mm = (sheet->v0_mm + sheet->v1_mm) / 2.0;
        range = (PanelBox){u_mm, u_mm, v_mm, v_mm};
    }
    enum { STEPS = 64 };
    PanelPoint best = {range.u0_mm, range.v0_mm};
    double least = INFINITY;
    for (int i = 0; i <= STEPS; i++) {
        for (int j = 0; j <= STEPS; j++) {
            PanelPoint at = {range.u0_mm + (range.u1_mm - range.u0_mm) * i / STEPS,
                             range.v0_mm + (range.v1_mm - range.v0_mm) * j / STEPS};
            double shared = 0.0;
            for (size_t k = 0; k < room.count && shared < least; k++) {
                shared += shared_mm2(&room.rows[k], at);
            }
            if (shared < least && suggest_on_sheet(search, id, at)) {
                least = shared;
                best = at;
            }
        }
    }
    best = (PanelPoint){round(best.u_mm * 100.0) / 100.0, round(best.v_mm * 100.0) / 100.0};
    for (uint32_t i = 0; i < block->count; i++) {
        search->suggest->home[block->items[i]] =
            (PanelPoint){best.u_mm + block->from[i].u_mm, best.v_mm + block->from[i].v_mm};
    }
    arena_free(&scratch);
}
