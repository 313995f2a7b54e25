/* What the files of the portrait share. All places in mm on the face, u right, v up. */
#ifndef OUT_PORTRAIT_INNER_H
#define OUT_PORTRAIT_INNER_H

#include "out/portrait.h"

/* Palette of the portrait (docs/style.md). */
#define ROOM_HIGH_RGB 0xF3F1EDu /* background: above ... */
#define ROOM_LOW_RGB 0xDDD9D2u  /* ... and below */
#define WORDS_RGB 0x2B2D30u     /* captions */
#define FAINT_RGB 0x6F6B64u     /* small captions */
#define BEZEL_RGB 0x1E2023u     /* black anodised aluminium */
#define PLASTIC_RGB 0x17181Au   /* moulded black */
#define METAL_RGB 0xC3C7CBu     /* bright metal */
#define STEEL_RGB 0x8E9499u     /* screws */
#define GLASS_RGB 0x070A0Eu     /* a screen that is off */
#define LIT_RGB 0xE8EEF2u       /* figures on screens */
#define AMBER_RGB 0xE6A23Cu
#define GREEN_RGB 0x5FBF7Fu
#define GUARD_RGB 0xA3271Eu
#define HOLE_RGB 0x0B0C0Du

typedef struct Portrait {
    Brush brush;
    const Panel *panel;
    uint32_t face;
    const PanelLook *look;
} Portrait;

/* A box on the face, from a contour. */
typedef struct PortraitBox {
    double u_mm; /* middle */
    double v_mm;
    double width_mm;
    double height_mm;
} PortraitBox;

static inline PortraitBox portrait_box(const PanelContour *contour) {
    const PanelBox *box = &contour->box;
    return (PortraitBox){(box->u0_mm + box->u1_mm) / 2.0, (box->v0_mm + box->v1_mm) / 2.0,
                         box->u1_mm - box->u0_mm, box->v1_mm - box->v0_mm};
}

/* One item with bezel, controls and screws. */
void portrait_item(const Portrait *portrait, uint32_t item);

/* What a screen shows. */
typedef enum PortraitScreen {
    SCREEN_PRIMARY,
    SCREEN_MAP,
    SCREEN_SMALL,
    SCREEN_FIGURES
} PortraitScreen;

/* A screen: dark glass and what a display might show, of our own design: attitude with scales, a
 * map with bars, attitude alone, figures. `round`: cut to a circle. */
void portrait_screen(const Brush *brush, PortraitBox box, PortraitScreen shows, bool round);

/* A panel-mounted box's narrow window with a few figures. */
void portrait_window(const Brush *brush, PortraitBox box, const char *text);

/* Lights behind one dark pane. */
void portrait_lights(const Brush *brush, PortraitBox box);

void portrait_rear(const Portrait *portrait);
/* Cut at that u: only what it passes through. */
void portrait_side(const Portrait *portrait, double u_mm);

/* The plate from the front or the rear: shadow, surface, edge, free openings. */
void portrait_plate(const Portrait *portrait, bool rear);

/* What differs from shot->before, over the front. */
void portrait_changes(const Portrait *portrait, const PortraitShot *shot);

/* Extent of a view in its own coordinates. */
PanelBox portrait_extent(const Panel *panel, uint32_t face, PortraitView view);

#endif
