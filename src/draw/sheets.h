/* All sheets of a job. Planning lays out whatever decides how many sheets there are and where a
 * thing stands (so that sheets can refer to each other); drawing fills one display list at a time,
 * so that memory does not grow with the number of sheets. Cover and contents are numbered i, ii,
 * iii, what follows 1, 2, 3: so its numbers do not hang on the length of the contents, and sheets
 * can be planned kind by kind, as far as somebody wants to see. */
#ifndef DRAW_SHEETS_H
#define DRAW_SHEETS_H

#include "draw/view.h"

typedef struct SheetPlan SheetPlan;

/* One page. */
typedef struct Sheet {
    const char *name;   /* unique: "wiring-engine-2" */
    const char *title;  /* "Wiring: engine, sheet 2" */
    const char *begins; /* what begins on it, parts separated by "; ": its lines in the contents;
                           "" when it only goes on with something */
    const char *part;   /* the part of the book it stands in: bookmark above it; "" for none */
    const char *scale;  /* "diagram" ... */
    uint32_t kind;      /* into SHEET_KINDS */
    uint32_t index;     /* which of its kind */
} Sheet;

/* KIND(identifier, plan function, draw function): in the order of the book, after its front. A plan
 * function lays out its sheets and calls sheet_add for each; what it wants to keep hangs on
 * plan->kept[kind]. A draw function draws what is inside the frame, into `field`. */
#define SHEET_KINDS(KIND)                                                                          \
    KIND(POWER, power_plan, power_draw)                                                            \
    KIND(WIRING, wiring_plan, wiring_draw)                                                         \
    KIND(FACE, face_plan, face_draw)                                                               \
    KIND(PLOT, plot_plan, plot_draw)                                                               \
    KIND(START, start_plan, start_draw)                                                            \
    KIND(GUARD, guard_plan, guard_draw)                                                            \
    KIND(HEADING, heading_plan, heading_draw)                                                      \
    KIND(CARD, card_plan, card_draw)                                                               \
    KIND(SECTION, section_plan, section_draw)                                                      \
    KIND(BOARD, board_plan, board_draw)                                                            \
    KIND(TABLE, listing_plan, listing_draw)                                                        \
    KIND(COVER, cover_plan, cover_draw)                                                            \
    KIND(CONTENTS, contents_plan, contents_draw)

typedef enum SheetKindId {
#define SHEET_KIND_ID(id, plan, draw) SHEET_##id,
    SHEET_KINDS(SHEET_KIND_ID)
#undef SHEET_KIND_ID
        SHEET_KIND_COUNT
} SheetKindId;

/* The last kind that is drawn from the live chain alone; those after it need failures tried
 * (view->card) or the bench. */
#define SHEET_LAST_LIVE SHEET_HEADING

struct SheetPlan {
    Arena *arena;
    DrawFonts *fonts; /* for measuring; also used by sheet_draw */
    const DrawView *view;
    Findings *findings;          /* draw.* */
    struct WiringMemory *memory; /* layouts of earlier plans, while planning; NULL: none */
    int planned;                 /* kinds, from the first */
    Sheet *sheets; /* the front (cover and contents) at the end: sheet_at() gives the order */
    size_t count;
    size_t front; /* of them, how many are the front; 0 until all kinds are planned */
    size_t capacity;
    void *kept[SHEET_KIND_COUNT];
};

/* Lays out every sheet. Findings: rules draw.*. */
void sheets_plan(Arena *arena, DrawFonts *fonts, const DrawView *view, SheetPlan *plan,
                 Findings *findings);

/* A plan of no sheets yet; sheets_plan_to() goes on with it. What the view points to may be filled
 * as late as the kinds that need it. */
void sheets_start(Arena *arena, DrawFonts *fonts, const DrawView *view, SheetPlan *plan,
                  Findings *findings);

/* Plans every kind up to `last` that is not planned yet. */
void sheets_plan_to(SheetPlan *plan, SheetKindId last);

/* Index in plan->sheets of what stands at `position` (from 0) of the book. */
uint32_t sheet_at(const SheetPlan *plan, uint32_t position);

/* The number printed on a sheet: "iv", "12". */
const char *sheet_number(const SheetPlan *plan, Arena *arena, uint32_t sheet);

/* Frame, title strip, then what the kind draws. The list is started here and lives in `arena`.
 * `alone`: not a page of a book: no links, no number of pages. Every sheet has an anchor of its
 * name. */
void sheet_draw(const SheetPlan *plan, uint32_t sheet, Arena *arena, bool alone, DrawList *list);

/* Reports texts of the list that no typeface here can draw (draw.glyph), each text once. */
void sheet_tell_glyphs(const DrawList *list, Findings *findings);

/* Index of the sheet of that name; else of the first whose name goes on with "-": "heading" finds
 * "heading-1". ID_NONE. */
uint32_t sheet_find(const SheetPlan *plan, const char *name);

/* The sheet of that name nearest to `name`, NULL. */
const char *sheet_nearest(const SheetPlan *plan, const char *name);

/* --- for the kinds ------------------------------------------------------------------------------
 */

/* Adds a sheet at the end; texts are kept. Returns its index in plan->sheets. */
uint32_t sheet_add(SheetPlan *plan, SheetKindId kind, uint32_t index, const char *part,
                   const char *name, const char *title, const char *scale);

typedef void (*SheetPlanner)(SheetPlan *plan);
typedef void (*SheetDrawer)(const SheetPlan *plan, const Sheet *sheet, DrawBox field,
                            DrawList *list);

#define SHEET_KIND_PROTOTYPE(id, plan, draw)                                                       \
    void plan(SheetPlan *);                                                                        \
    void draw(const SheetPlan *, const Sheet *, DrawBox, DrawList *);
SHEET_KINDS(SHEET_KIND_PROTOTYPE)
#undef SHEET_KIND_PROTOTYPE

/* Where a thing stands, for references from other sheets. A kind that others refer to keeps such
 * places while planning and has a function for them in its own header. */
typedef struct SheetPlace {
    uint32_t sheet; /* into plan->sheets; ID_NONE */
    DrawPoint at;   /* mm on that sheet */
} SheetPlace;

/* "page 4 B3" for a place; "" for none. */
const char *sheet_place_text(const SheetPlan *plan, Arena *arena, SheetPlace place);

#endif
