/* What a shop that cuts, countersinks, masks, marks and bends a part is given: closed contours and
 * bend lines, each on the layer of its process, in the order in which they are made. Units mm, x to
 * the right, y up, seen from the front. No text: letters are contours (draw/engrave). */
#ifndef DRAW_CUTFILE_H
#define DRAW_CUTFILE_H

#include "base/contour.h"
#include "draw/font.h"

/* L(identifier, name in files, colour index, what is done). The names are what a cutter reads. */
#define CUT_LAYERS(L)                                                                              \
    L(CUT, "CUT", 1, "cut through")                                                                \
    L(CSK_FRONT, "COUNTERSINK_FRONT", 5, "countersink from the front to this diameter")            \
    L(CSK_REAR, "COUNTERSINK_REAR", 4, "countersink from the rear to this diameter")               \
    L(MASK_FRONT, "MASK_FRONT", 6, "keep free of coating, front")                                  \
    L(MASK_REAR, "MASK_REAR", 30, "keep free of coating, rear")                                    \
    L(MARK_FRONT, "MARK_FRONT", 3, "mark the area inside the contours, front")                     \
    L(MARK_REAR, "MARK_REAR", 94, "mark the area inside the contours, rear; mirrored here")        \
    L(BEND, "BEND", 2, "bend along this line")                                                     \
    L(NOTE, "NOTE", 8, "not made: proof square, statements, edge of the stock sheet")

typedef enum CutLayer {
#define CUT_LAYER_ID(id, name, colour, what) CUT_LAYER_##id,
    CUT_LAYERS(CUT_LAYER_ID)
#undef CUT_LAYER_ID
        CUT_LAYER_COUNT
} CutLayer;

const char *cut_layer_name(CutLayer layer);
const char *cut_layer_what(CutLayer layer);
int cut_layer_colour(CutLayer layer);

typedef struct CutEntity {
    CutLayer layer;
    bool outline;    /* the outer edge of a part: cut last */
    bool line;       /* open: two points; else closed */
    const char *key; /* item it belongs to; "" */
    Contour contour;
} CutEntity;

typedef struct CutFile {
    Arena *arena;
    CutEntity *items;
    size_t count;
    size_t capacity;
} CutFile;

void cut_add(CutFile *file, CutLayer layer, const char *key, Contour contour);
void cut_add_outline(CutFile *file, const char *key, Contour contour);
void cut_add_line(CutFile *file, CutLayer layer, const char *key, double x1_mm, double y1_mm,
                  double x2_mm, double y2_mm);

/* One line of letters as contours. */
void cut_add_text(CutFile *file, DrawFonts *fonts, CutLayer layer, const char *key,
                  const char *text, double x_mm, double y_mm, double height_mm);

/* Adds all of `part`, moved. */
void cut_add_moved(CutFile *file, const CutFile *part, const ContourMove *move);

/* Puts the entities in the order they are made: layer by layer; of what is cut the small holes
 * first, outlines last; equal sizes by place. Leaves out every entity that lies on another one of
 * its layer (within a thousandth of a millimetre) and returns how many. */
size_t cut_sort(CutFile *file);

/* Of everything; of a file with nothing: all zero. */
ContourBox cut_box(const CutFile *file);

/* Side of the proof square. */
#define CUT_PROOF_MM 100.0

/* The proof square with its legend, lower left corner there. */
void cut_add_proof(CutFile *file, DrawFonts *fonts, double x_mm, double y_mm);

#endif
