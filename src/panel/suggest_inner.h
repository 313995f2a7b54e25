/* Inside the search for layouts; others use panel/suggest.h. Items as rectangles that hold half of
 * every distance the rules ask for, blocks of items that move as one, and the room that is left for
 * a block: suggest_blocks.c makes them, suggest_room.c finds places, suggest_search.c layouts,
 * suggest_why.c says what stands against one. Work is counted where it is done, so that a limit on
 * it is the same on every machine. */
#ifndef PANEL_SUGGEST_INNER_H
#define PANEL_SUGGEST_INNER_H

#include "panel/wishes.h"

/* Places are proposed in hundredths of a millimetre: what rounding one of them can take away. */
#define SUGGEST_ROUND_MM 0.006

/* What a mm of an item's way costs: usually, and where nothing else is wished. */
#define SUGGEST_MOVE_WEIGHT 0.01
#define SUGGEST_KEEP_WEIGHT 100.0

/* What it costs a layout to stand, in all its area, where one stands that it should differ from. */
#define SUGGEST_AVOID_COST 2000.0

/* Rectangles that share less than this only touch. */
#define SUGGEST_TOUCH_MM 1e-7

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

typedef struct Boxes {
    PanelBox *rows;
    size_t count;
    size_t capacity;
} Boxes;

typedef enum WallKind { WALL_BEHIND, WALL_BEND, WALL_OPENING, WALL_LEGEND } WallKind;

/* What stands on a face and never moves: where a block's first item can't be for it. */
typedef struct Wall {
    WallKind kind;
    uint32_t row;  /* of `behind`; PanelBend; PanelHole; PanelText */
    uint32_t item; /* the item of the block that meets it */
    PanelBox box;  /* of the first item's middle */
} Wall;

typedef struct Block {
    uint32_t *items;
    PanelPoint *from; /* of each item to the first */
    uint32_t count;
    uint32_t face;
    uint32_t kind; /* blocks of one kind look the same and may change places unnoticed: the first
                      of them */
    uint32_t next_alike; /* of one kind; ID_NONE: the last */
    bool fixed;
    bool condoned;  /* fixed where it can't stand, since it can stand nowhere */
    bool wrong;     /* at home it breaks a rule by itself */
    double area;    /* of its box */
    double near_mm; /* moved by less it stands where it stood */
    PanelBox keep;  /* of all its items, about the first's middle */
    PanelBox all;   /* with legends and bands */
    PanelBox range; /* of the first's middle: everything on the box of the sheet */
    Wall *walls;
    size_t wall_count, wall_capacity;
    uint32_t many; /* among blocks of several items; ID_NONE */
} Block;

/* Two blocks that break a rule together where they stand now. */
typedef struct Quarrel {
    uint32_t a, b;
} Quarrel;

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
    PanelPoint *at; /* by item */
    bool *placed;   /* by block */
    bool *there;    /* by item */
    Boxes *pairs;   /* of blocks of several items, by theirs and the other's number: where the one
                       can't be beside the other at nought; made when first asked for */
    Quarrel *quarrels;
    size_t quarrel_count, quarrel_capacity;
    const PanelPoint **avoid; /* layouts that the next one should differ from */
    uint32_t avoid_count;
    double loose_area;
    double move_weight; /* of a mm */
    bool *missing;      /* by block: has no place in the layout that came nearest */
    bool lenient; /* takes layouts that the checks would refuse: the nearest, when all else fails */
    double gap_mm;  /* what two fronts keep, halved: in every `keep` */
    double mark_mm; /* what legends keep */
    double web;     /* times the thickness */
    double bend;
    Boxes room; /* used again by every question */
    PanelPoint *points;
    size_t point_count, point_capacity;
    uint64_t work;
    uint64_t random;
} Search;

/* A finding about room, with the items that it names, at most two. */
typedef struct Fault {
    Finding finding;
    uint32_t items[2];
    uint32_t item_count;
} Fault;

typedef struct Faults {
    Fault *rows;
    size_t count;
    size_t capacity;
} Faults;

/* --- suggest_blocks.c --- */

/* Makes slabs, blocks, their walls and the wishes of each, from the panel of search->suggest. */
void suggest_blocks_make(Search *search);

/* Free for moving. */
bool suggest_is_loose(const Search *search, uint32_t item);

/* "AUD NVC APC" */
const char *suggest_block_name(const Search *search, Arena *out, uint32_t id);

/* --- suggest_room.c --- */

bool suggest_boxes_overlap(const PanelBox *a, const PanelBox *b);

/* Adds where the first item of `id` can't be because of `other` at `there`. */
void suggest_room_beside(Search *search, uint32_t id, uint32_t other, PanelPoint there,
                         Boxes *room);

/* Fills search->points with every corner that the room leaves within `range`, those on the lines
 * that wishes and tidiness ask for among them (`search->placed` says which blocks those are taken
 * from). None: the block has no place. */
void suggest_room_points(Search *search, uint32_t id, Boxes *room, PanelBox range);

/* The legal place of least cost for a block that is taken out; `packed` adds a share of how far up
 * and right it is. False when there is none. */
bool suggest_best_place(Search *search, uint32_t id, double packed, PanelPoint *best);

/* The block is legal there, beside all that are placed. */
bool suggest_is_legal(Search *search, uint32_t id, PanelPoint at);

/* What the block's place costs: its wishes, its move, how it stands to its kind; at most `most`
 * (then any more). */
double suggest_cost_at(Search *search, uint32_t id, PanelPoint at, double most);

/* All of the block lies on the true sheet, as far from its edge as the rules ask. */
bool suggest_on_sheet(Search *search, uint32_t id, PanelPoint at);

void suggest_put(Search *search, uint32_t id, PanelPoint at);
void suggest_take_out(Search *search, uint32_t id);
PanelPoint suggest_home(const Search *search, uint32_t id);
/* A block that moved counts one when it stands level with no other of its kind that is there. */
double suggest_tidy_cost(Search *search, uint32_t id, PanelPoint at);
double suggest_move_cost(const Search *search, uint32_t id, PanelPoint at);

/* --- suggest_search.c --- */

/* Looks for layouts; puts up to three different ones into search->suggest. */
void suggest_search(Arena *out, Search *search, uint32_t tries);

/* --- suggest_why.c --- */

/* Adds to suggest->bars what keeps the block from having a place: alone on the sheet beside what is
 * pinned, or beside some other block that must stand as well, or else beside all of them. True for
 * the first two, which no search can cure. */
bool suggest_why_not(Arena *out, Search *search, uint32_t id);

/* Gives a block without a home the place where it shares least room with what must stay; that is
 * its home from now on. */
void suggest_why_nearest(Search *search, uint32_t id);

#endif
