/* The instrument panel as true geometry. In: the rows of panel_face, outline, mount, align, legend,
 * behind and the cut shapes of the library. Out: every face with its outline, every opening as
 * lines and arcs, screws, countersinks, nutplates, bezels, what stands out in front, the boxes
 * behind in three dimensions, texts; each with the row it comes from. Axes: u right and v up as the
 * pilot sees the face; depth is measured from its front to the back. docs/theory/panel.md. */
#ifndef PANEL_PANEL_H
#define PANEL_PANEL_H

#include "model/model.h"
#include "panel/contour.h"

/* A point in the airframe: x aft of the datum, y right, z up. */
typedef struct PanelSpot {
    double x_mm, y_mm, z_mm;
} PanelSpot;

typedef enum PanelHoleKind {
    PANEL_OPENING, /* what an item sits in, or a free opening of the outline */
    PANEL_SCREW,   /* clearance hole of a screw */
    PANEL_RIVET    /* of a nutplate */
} PanelHoleKind;

/* One hole through the sheet. `contour` is the finished size: as it measures when coated. */
typedef struct PanelHole {
    PanelHoleKind kind;
    uint32_t face;
    uint32_t item;  /* PanelItem; ID_NONE: a free opening of the outline */
    uint32_t row;   /* of `cutout_hole`; of `outline` (its first corner) for free openings */
    int32_t number; /* within its item: the row's `hole`; rivets 100 x hole + 1, 2 */
    PanelContour contour;
    PanelPoint centre;  /* the row's middle */
    double diameter_mm; /* of round holes; 0 for others */
    uint32_t screw;     /* row of `screw`; ID_NONE */
    double head_mm;     /* diameter in front of the screw's or rivet's head; 0: none */
    double sink_mm;     /* depth of the countersink from the front; 0: none */
    double sink_deg;    /* its angle */
    double coat_mm; /* coats on its edge, those it is masked from left out: the finished opening is
                       narrower than the bare one by twice this */
} PanelHole;

/* What stands out of the front: knobs, levers, guards; screens and windows lie flush. */
typedef struct PanelFront {
    uint32_t item;
    uint32_t row;         /* of `cutout_front` */
    PanelContour contour; /* itself, with its travel */
    double high_mm;       /* out of the face; 0: flush */
    double room_mm;       /* for fingers, around it */
} PanelFront;

typedef enum PanelBoxKind {
    PANEL_BODY,      /* the thing itself */
    PANEL_CONNECTOR, /* its connectors and the first bend of the wires */
    PANEL_TOOL,      /* hand or tool that fits it */
    PANEL_NUTPLATE   /* riveted behind the sheet */
} PanelBoxKind;

/* A box behind a face, upright in the face's axes (for a turned item the box around it). */
typedef struct PanelBody {
    uint32_t item;
    PanelBoxKind kind;
    PanelBox box;
    double from_mm; /* depth at which it begins: the front of the face is 0 */
    double to_mm;
} PanelBody;

/* One row of `mount`. */
typedef struct PanelItem {
    const char *key;
    uint32_t row;    /* of `mount` */
    uint32_t cutout; /* row of `cutout` */
    uint32_t face;
    PanelPoint at;
    double rotation_rad;
    bool spare;         /* plugged */
    PanelContour bezel; /* what it covers in front: at least its largest opening */
    double bezel_high_mm;
    double depth_mm;      /* body, connector and tool room together */
    uint32_t owner_first; /* into Panel.owners: what it serves */
    uint32_t owner_count;
    uint32_t hole_first; /* into Panel.holes: its openings first, in the order of their numbers */
    uint32_t hole_count;
    uint32_t front_first;
    uint32_t front_count;
    uint32_t body_first;
    uint32_t body_count;
} PanelItem;

/* What a legend puts on the sheet, about its own middle and not turned: outer contours of letters
 * or of a symbol. Made above this layer, where typefaces are known. */
typedef struct PanelInk {
    PanelContour *contours;
    uint32_t count;
    PanelBox box;
    bool hollow; /* a frame: what stands inside is not covered */
} PanelInk;

/* One row of `legend`. */
typedef struct PanelText {
    uint32_t row;
    uint32_t face;
    uint32_t item; /* ID_NONE: of no item */
    PanelPoint at; /* middle */
    double rotation_rad;
    double letter_mm; /* height of capitals; 0 for a symbol */
    bool emergency;
} PanelText;

/* One row of `panel_bend`. */
typedef struct PanelBend {
    uint32_t row;
    uint32_t face;
    PanelPoint from;
    PanelPoint to;
    double radius_mm; /* inside */
    double angle_rad;
} PanelBend;

typedef struct PanelFace {
    const char *key;
    uint32_t row; /* of `panel_face` */
    uint32_t sheet;
    double thickness_mm;
    PanelContour outline; /* its edge */
    double coat_mm;       /* all coats on one side together, and on its edge */
    bool coat_by_shop;    /* the cut file's holes are opened by the coating; else the cutter does */
    double kerf_mm;       /* width of the cut that the cut file allows for; 0: the cutter does */
    PanelSpot origin;     /* u = v = 0 on the front */
    double tilt_rad;
    uint32_t item_first, item_count;
    uint32_t hole_first, hole_count; /* of all its items, then its free openings */
    uint32_t text_first, text_count;
    uint32_t bend_first, bend_count;
} PanelFace;

/* Sorted by face key, then item key; everything of one face is together. */
typedef struct Panel {
    const Model *model;
    PanelFace *faces;
    uint32_t face_count;
    PanelItem *items;
    uint32_t item_count;
    PanelHole *holes;
    uint32_t hole_count;
    PanelFront *fronts;
    uint32_t front_count;
    PanelBody *bodies;
    uint32_t body_count;
    PanelText *texts;
    uint32_t text_count;
    PanelBend *bends;
    uint32_t bend_count;
    OwnerId *owners;
    uint32_t owner_count;
    const PanelInk *ink; /* by row of `legend`; NULL: not known, legends are not held against what
                            is around them. Set by the caller after reading */
} Panel;

/* Reads the panel of a checked model. A job without rows of panel_face has an empty panel and no
 * finding. Findings: panel.row for what can't be built (the rest is), panel.align for rows that
 * contradict a pinned place. False when there is no face to work with. `out` owns everything. */
bool panel_read(Arena *out, const Model *model, Panel *panel, Findings *findings);

/* Depth of a countersink for a head of that diameter and angle down to the diameter of the thread:
 * (D - d) / 2 / tan(angle / 2). */
double panel_sink_mm(double head_mm, double body_mm, double angle_deg);

/* The contour in the cut file for a hole: the finished one, opened by the coating on its edge where
 * the shop does that, and moved into the waste by half the kerf where the shop allows for it. False
 * when the hole is smaller than that. */
bool panel_cut_hole(Arena *out, const Panel *panel, uint32_t hole, PanelContour *cut);

/* The same for the edge of a face: smaller by the coating, larger by half the kerf. */
bool panel_cut_edge(Arena *out, const Panel *panel, uint32_t face, PanelContour *cut);

/* What a row of `panel_coat` paints around an item: its first opening grown by the band. False when
 * the row is no band, or its item or opening is not there. */
bool panel_band(Arena *out, const Panel *panel, uint32_t coat, PanelContour *band, uint32_t *item);

/* True for an option that the customer said no to: what belongs to it is not there. */
bool panel_declined(const Model *model, const char *option);

/* The box around the ink of a text where it stands; the panel knows ink and there is some. */
PanelBox panel_text_box(Arena *out, const Panel *panel, uint32_t text);

/* The place of (u, v) at a depth behind the front, in the airframe. */
PanelSpot panel_spot(const PanelFace *face, PanelPoint at, double depth_mm);

/* "SBY.2", for findings and rows; free openings are named after their face. */
const char *panel_hole_name(const Panel *panel, Arena *arena, uint32_t hole);

/* Row of `behind` that leaves least of what the item's body stands over; ID_NONE: not stated. */
uint32_t panel_behind(const Panel *panel, uint32_t item);

const MountRow *panel_mount(const Panel *panel, uint32_t item);
const CutoutRow *panel_cutout(const Panel *panel, uint32_t item);

#endif
