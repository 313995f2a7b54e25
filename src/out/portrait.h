/* The picture of a panel as it will look: for the customer who approves it. Front as the pilot sees
 * it, rear with bodies, connectors and the way of the wires, and a section from the side; of one
 * face each, or finishes and options one above the other. Painted with cairo on a page of its own
 * in mm, the panel at 1:1. Faces of displays are of our own design and say that they illustrate.
 * The palette is in docs/style.md. */
#ifndef OUT_PORTRAIT_H
#define OUT_PORTRAIT_H

#include "base/status.h"
#include "draw/panel_cut.h"
#include "draw/panel_look.h"
#include "out/brush.h"

typedef enum PortraitView { PORTRAIT_FRONT, PORTRAIT_REAR, PORTRAIT_SIDE } PortraitView;

/* One picture among those on a page. */
typedef struct PortraitShot {
    PanelLook look;
    uint32_t face;
    PortraitView view;
    double section_u_mm; /* of a side: where it is cut */
    const char *caption; /* above it; "" */
    const char *detail;  /* below the caption; "" */
    /* Differences drawn over a front, which fades: NULL for none. */
    const Panel *before;
    const SeenChange *changes;
    size_t change_count;
} PortraitShot;

/* A page of pictures one below the other, with a head and a foot. */
typedef struct PortraitPage {
    const Panel *panel;
    const PortraitShot *shots;
    size_t count;
    const char *title;
    const char *right; /* at the right end of the head: revision and hash */
    const char *foot;  /* caution */
    size_t columns;    /* pictures side by side; 0 is 1 */
    bool strip;        /* the strip of finishes below the first picture */
} PortraitPage;

/* Width and height of the page in mm. */
void portrait_size(const PortraitPage *page, double *width_mm, double *height_mm);

/* Paints the page with its lower left corner at nought, y up, unit mm. */
void portrait_paint(const Brush *brush, const PortraitPage *page);

/* One picture alone, into a box (mm, y up), as large as goes. */
void portrait_paint_shot(const Brush *brush, const Panel *panel, const PortraitShot *shot,
                         double left_mm, double bottom_mm, double width_mm, double height_mm);

/* As .svg, .pdf, or .png (`width_px` wide); written beside and renamed. */
#define PORTRAIT_PIXELS 3840
STATUS_USE Status portrait_write(const PortraitPage *page, DrawFonts *fonts, const char *path,
                                 int width_px);

/* One picture alone as PNG, `margin_mm` around the face and nothing else on it, for pages that know
 * where things are: millimetres of the face fall on pixels at one scale. */
void portrait_png(Buffer *out, DrawFonts *fonts, const Panel *panel, const PortraitShot *shot,
                  double margin_mm, int width_px);

/* A picture in its place on a sheet. */
typedef struct PortraitPlaced {
    PortraitShot shot;
    DrawBox box; /* on the sheet, y down */
} PortraitPlaced;

/* A sheet with pictures on it. */
typedef struct PortraitSheet {
    const DrawList *list;
    const PortraitPlaced *pictures;
    size_t count;
} PortraitSheet;

/* Sheets of one paper in the same kinds of files, one a page; PNG (200 dots an inch) and SVG have
 * room for one. */
STATUS_USE Status portrait_write_sheets(const PortraitSheet *sheets, size_t count,
                                        const Panel *panel, const char *path);

#endif
