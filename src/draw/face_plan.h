/* Inside the connector sheets: what face.c lays out and face_table.c draws. */
#ifndef DRAW_FACE_PLAN_H
#define DRAW_FACE_PLAN_H

#include "draw/face.h"
#include "draw/shell_face.h"

/* COLUMN(identifier, head, text height mm) */
#define FACE_COLUMNS(COLUMN)                                                                       \
    COLUMN(CAVITY, "cav.", STYLE_VALUE_MM)                                                         \
    COLUMN(TERMINAL, "terminal", STYLE_VALUE_MM)                                                   \
    COLUMN(PORT, "port", STYLE_NOTE_MM)                                                            \
    COLUMN(DIRECTION, "dir.", STYLE_NOTE_MM)                                                       \
    COLUMN(WIRE, "wire", STYLE_VALUE_MM)                                                           \
    COLUMN(NUMBER, "number", STYLE_NOTE_MM)                                                        \
    COLUMN(AWG, "AWG", STYLE_NOTE_MM)                                                              \
    COLUMN(COLOUR, "colour", STYLE_NOTE_MM)                                                        \
    COLUMN(FAR, "goes to", STYLE_VALUE_MM)                                                         \
    COLUMN(CLASS, "class", STYLE_NOTE_MM)                                                          \
    COLUMN(SLIDE, "slide on > contact", STYLE_NOTE_MM)

typedef enum FaceColumn {
#define FACE_COLUMN_ID(id, head, height_mm) FACE_COLUMN_##id,
    FACE_COLUMNS(FACE_COLUMN_ID)
#undef FACE_COLUMN_ID
        FACE_COLUMN_COUNT
} FaceColumn;

typedef enum FaceBlockKind {
    FACE_BLOCK_HALF,
    FACE_BLOCK_CONNECTOR,
    FACE_BLOCK_TERMINALS
} FaceBlockKind;

/* One line of a table. */
typedef struct FaceRow {
    PinId pin;       /* connector, terminals; else ID_NONE */
    uint32_t cavity; /* half: from 0; else ID_NONE */
    EndId end;       /* ID_NONE: no wire */
    uint32_t place;  /* which wire on that pin, from 1 */
} FaceRow;

/* One connector half, or one group of terminals. */
typedef struct FaceBlock {
    FaceBlockKind kind;
    uint32_t shell_row; /* half: row of disconnect_shell */
    ShellSide side;
    OwnerId owner; /* connector */
    const char *connector;
    ShellId shell;         /* row of `shell`; ID_NONE for terminals */
    const ShellFace *face; /* NULL: none */
    FaceHalf half;
    const char *name; /* "NAV1.J1", "BK1.P", "Terminals: ..." */
    const char *what; /* beside it */
    const char *note; /* below it, and in lines that fit */
    const char **notes;
    size_t note_count;
    uint32_t row_first; /* into FaceSheets.rows */
    uint32_t row_count;
    uint32_t free_first; /* into FaceSheets.free: cavities without a row */
    uint32_t free_count;
    uint32_t free_per_line;
    bool wide;    /* its views take the whole width of the sheet */
    bool stacked; /* ... one above the other */
    double scale;
    double beside_mm; /* width of the views when they stand beside the name; 0: below it */
    double column_mm[FACE_COLUMN_COUNT]; /* 0: not shown */
    double table_mm;                     /* width of the table */
    bool compact;                        /* far ends in the small size, for want of room */
} FaceBlock;

/* A part of a block in one column of one sheet. */
typedef struct FacePart {
    uint32_t block;
    bool head; /* names and views; else "continued" */
    double left_mm;
    double top_mm;
    uint32_t line_first; /* lines: rows, then lines of free cavities */
    uint32_t line_count;
    double table_top_mm;
    double bottom_mm; /* of what it draws */
} FacePart;

typedef struct FaceSheets {
    Ends ends;
    FaceBlock *blocks;
    size_t block_count;
    size_t block_capacity;
    FaceRow *rows;
    size_t row_count;
    size_t row_capacity;
    uint32_t *free;
    size_t free_count;
    size_t free_capacity;
    FacePart *parts; /* in the order of sheets */
    size_t part_count;
    size_t part_capacity;
    uint32_t *sheet_part; /* by sheet of this kind, and one more: its parts */
    size_t sheet_count;
    size_t sheet_capacity;
    ShellFace **faces;      /* by ShellId; NULL until used */
    bool *bolted;           /* by TerminalId: joined to another without a wire */
    SheetPlace *half_place; /* 2 * row of disconnect_shell + side */
    NameMap place_of;       /* "NAV1.J1", "GBC" -> into places */
    SheetPlace *places;
    size_t place_count;
    size_t place_capacity;
    double column_mm; /* width of one column of the sheet */
    uint32_t columns;
    double gap_mm;
    double legend_mm;   /* height of the foot */
    double band_end_mm; /* while planning: below everything on the sheet so far */
} FaceSheets;

#define FACE_LINE_MM 6.0 /* one line of a table */
#define FACE_TABLE_HEAD_MM 5.5
#define FACE_NAME_MM 7.5 /* name of a block */
#define FACE_NOTE_MM 4.0 /* a line of notes below it */
#define FACE_CONTINUED_MM 6.0
#define FACE_BLOCK_GAP_MM 6.0

/* Texts of one line, by column ("" when blank); lives in `arena`. *facts is set when row->end is a
 * wire. */
void face_row_texts(Arena *arena, const FaceSheets *sheets, const FaceBlock *block,
                    const FaceRow *row, const char *texts[FACE_COLUMN_COUNT], EndFacts *facts);

/* Widths of the columns of a block so that its texts fit `width_mm`, as far as they can. */
void face_table_measure(DrawFonts *fonts, const FaceSheets *sheets, FaceBlock *block,
                        double width_mm);

/* Draws head, views and lines of a part. */
void face_part_draw(const SheetPlan *plan, const FaceSheets *sheets, const FacePart *part,
                    DrawBox field, DrawList *list);

/* Height of name and notes (and of views beside them); of the views below them. */
double face_head_mm(const FaceBlock *block);
double face_views_mm(const FaceBlock *block);

/* Views that a block has: 0, 1 or 2. */
size_t face_view_count(const FaceBlock *block);

/* Lines at the foot. */
size_t face_legend(DrawFonts *fonts, Arena *arena, double width_mm, const char ***lines);

#endif
