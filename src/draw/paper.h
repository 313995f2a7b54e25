/* Paper: sizes, the frame with its zones, the title strip and the caution. Every sheet begins with
 * sheet_frame and then draws inside the field it returns. */
#ifndef DRAW_PAPER_H
#define DRAW_PAPER_H

#include "draw/list.h"

/* P(identifier, name, long edge mm, short edge mm): sheets lie on their side. ISO 216; ANSI/ASME
 * Y14.1 for the American ones. */
#define PAPER_SIZES(P)                                                                             \
    P(A4, "A4", 297.0, 210.0)                                                                      \
    P(A3, "A3", 420.0, 297.0)                                                                      \
    P(LETTER, "Letter", 279.4, 215.9)                                                              \
    P(TABLOID, "Tabloid", 431.8, 279.4)

typedef enum PaperSize {
#define PAPER_SIZE_ID(id, name, long_mm, short_mm) PAPER_##id,
    PAPER_SIZES(PAPER_SIZE_ID)
#undef PAPER_SIZE_ID
        PAPER_COUNT
} PaperSize;

/* PAPER_COUNT when no paper is called that; case does not matter. */
PaperSize paper_find(const char *name);
const char *paper_name(PaperSize size);
double paper_width_mm(PaperSize size);
double paper_height_mm(PaperSize size);

/* What the title strip says. */
typedef struct SheetHead {
    const char *name;      /* "wiring-engine-2": what `marling draw` calls it */
    const char *title;     /* "Wiring: engine, sheet 2" */
    const char *job;       /* its name ... */
    const char *job_title; /* ... and what it is */
    const char *revision;  /* as the shop calls it, "" when it says nothing */
    const char *hash;      /* of the revision, 64 hex digits; eight are printed */
    const char *date;      /* of the revision, "" when it says nothing */
    const char *scale;     /* "diagram", "1:1" */
    const char *units;     /* "mm", "in", "mm and in" */
    const char *version;   /* of the program */
    const char *number;    /* of this sheet: "iv", "12"; "" when it stands alone */
    uint32_t of;           /* 0: not said */
} SheetHead;

/* Draws frame, zones, title strip and caution; returns the field inside that is free. */
DrawBox sheet_frame(DrawList *list, const SheetHead *head);

/* The field alone, for layout before anything is drawn. */
DrawBox sheet_field(PaperSize size);

/* Zone of a place on such a paper: "B3". `text` needs SHEET_ZONE_TEXT bytes. */
#define SHEET_ZONE_TEXT 8
const char *sheet_zone(PaperSize size, double x_mm, double y_mm, char text[SHEET_ZONE_TEXT]);

/* The caution of every sheet. */
const char *sheet_caution(void);

#endif
