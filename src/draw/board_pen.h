/* A board at any scale on paper: arms at their outer diameter with their middle lines, breakouts,
 * nails, ties, clamps, connectors, folds; and notes, each put where nothing is drawn yet, with a
 * leader when that is not beside its thing. Used at 1:1 for the plot and small for the overview. */
#ifndef DRAW_BOARD_PEN_H
#define DRAW_BOARD_PEN_H

#include "board/board.h"
#include "draw/view.h"

#define BOARD_EDGE "edge" /* key of the lines along a board, which stand for no row */

typedef struct PenStroke {
    DrawPoint a;
    DrawPoint b;
    double half_mm;
} PenStroke;

typedef struct BoardPen {
    DrawList *list;
    const DrawView *view;
    const Board *board;
    double scale;   /* mm on paper for one on the board */
    DrawPoint zero; /* on paper: lower left corner of the first board */
    bool alone;     /* only one of the boards is drawn, the others' arms end at its edges: */
    uint32_t column;
    uint32_t row;
    DrawBox limits; /* notes stay inside */
    PenStroke *strokes;
    size_t stroke_count;
    size_t stroke_capacity;
    size_t edge_count; /* the first strokes: edges of boards, which part nothing from its note */
    DrawBox *texts;
    size_t text_count;
    size_t text_capacity;
    PenStroke *leaders;
    size_t leader_count;
    size_t leader_capacity;
    const DrawPoint *anchors; /* of all notes to come: none is put where it seems to be another's;
                                 none: notes are not looked at so closely */
    size_t anchor_count;
    const char **lost; /* notes that found no place, with where their thing is */
    size_t lost_count;
    size_t lost_capacity;
} BoardPen;

/* The board that a point lies on; beyond the table the nearest. */
void board_pen_cell(const BoardSet *set, const Board *board, FlatPoint at, uint32_t *column,
                    uint32_t *row);

/* Whether what is at that point is drawn. */
bool board_pen_shows(const BoardPen *pen, FlatPoint at);

/* The part of a straight piece that lies on the board that is drawn alone; false: none of it. All
 * of any other piece of which the middle lies there. */
bool board_pen_cut(const BoardPen *pen, FlatPiece *piece);

/* Paper place of a point of the board. */
DrawPoint board_pen_at(const BoardPen *pen, double x_mm, double y_mm);

/* Size of all boards together. */
double board_pen_width_mm(const BoardSet *set, const Board *board);
double board_pen_height_mm(const BoardSet *set, const Board *board);

/* Draws and remembers a line, or only remembers it. */
void board_pen_line(BoardPen *pen, DrawPoint a, DrawPoint b, double weight_mm);
void board_pen_keep_clear(BoardPen *pen, DrawPoint a, DrawPoint b, double half_mm);

/* A text whose place is given: left end of its baseline. */
void board_pen_text(BoardPen *pen, DrawPoint at, DrawTextStyle style, const char *text);

/* A note for the thing at `anchor`, as near as there is room and with a leader that crosses no
 * other and as few arms as can be, at most `far_mm` away; false and listed in `lost` when there is
 * none. */
bool board_pen_note(BoardPen *pen, DrawPoint anchor, double height_mm, bool bold, const char *text,
                    double near_mm, double far_mm);

/* The same, looking first that way (on paper, clockwise from the right): where an arm ends. */
bool board_pen_note_beyond(BoardPen *pen, DrawPoint anchor, double toward_rad, double height_mm,
                           bool bold, const char *text, double near_mm, double far_mm);

/* Writes what found no place and where it is, in so many lines from that baseline down; nothing
 * when nothing was lost. */
void board_pen_write_lost(BoardPen *pen, DrawPoint at, double height_mm, double width_mm,
                          uint32_t lines);

/* Edges of the boards, gaps, what is laid on them; `full`: with ties, clamps, nails, bends. */
void board_pen_boards(BoardPen *pen);
void board_pen_arms(BoardPen *pen, bool full);
void board_pen_ends(BoardPen *pen);
void board_pen_nodes(BoardPen *pen, bool full);
void board_pen_folds(BoardPen *pen);
void board_pen_openings(BoardPen *pen, double height_mm);

#endif
