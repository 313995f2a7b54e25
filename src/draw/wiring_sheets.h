/* Wiring diagrams: what planning, building and drawing of a sheet share. Only for wiring_*.c. */
#ifndef DRAW_WIRING_SHEETS_H
#define DRAW_WIRING_SHEETS_H

#include "draw/symbol.h"
#include "draw/wiring.h"
#include "draw/wiring_layout.h"

/* Sizes, mm. */
#define WIRING_LEAD_MM 1.5     /* bare line beside a pin */
#define WIRING_SIGN_MM 5.0     /* room of an oval or a twist */
#define WIRING_BRACKET_MM 1.25 /* between the brackets of neighbouring cores */
#define WIRING_STRIPE_LONG_MM 5.0
#define WIRING_TERMINATOR_MM 11.0 /* inside a box, behind the texts of its pins */

typedef enum SpotKind {
    SPOT_BOX,     /* unit, or a device with more than a way in and out */
    SPOT_THROUGH, /* device with a wire in and a wire out */
    SPOT_BANK,    /* bus with the devices bolted on it */
    SPOT_GROUND,  /* tab or stud of a ground point: one for each wire end */
    SPOT_ANTENNA  /* one for each wire end */
} SpotKind;

/* What a node of the layout stands for. */
typedef struct Spot {
    SpotKind kind;
    OwnerId owner;       /* of a bank without a bar of its own: owner of the bus's stud */
    BusId bus;           /* of a bank */
    TerminalId terminal; /* of grounds and antennas */
} Spot;

/* What a link of the layout stands for: a cable, or a stub at a terminal that says where its other
 * wires are. */
typedef struct Strand {
    CableId cable;       /* of a stub: the one drawn elsewhere; ID_NONE: bolted, no wire */
    TerminalId terminal; /* of a stub */
    uint32_t more;       /* further wires there, on yet other sheets */
    bool stub;
} Strand;

#define WIRING_BANDS_MOST 4u

/* What is laid out together: a whole sheet, or a part of its height. */
typedef struct WiringBand {
    CableId *cables; /* in order of their ids */
    size_t cable_count;
    DrawBox field; /* to lay it out in */
} WiringBand;

/* No box, device or bus stands in two bands of a sheet. */
typedef struct WiringSheet {
    WiringBand bands[WIRING_BANDS_MOST];
    uint32_t band_count;
    uint32_t page; /* into plan->sheets */
} WiringSheet;

/* How a device stands in its wires; by OwnerId. */
typedef struct OwnerRole {
    SpotKind kind;
    BusId bus;       /* of a bar, and of a device that hangs on a bus by bolts */
    OwnerId next;    /* of such a device: the one between it and the bus, ID_NONE */
    bool bar;        /* the bar itself */
    bool toward_bus; /* its current flows to the bus */
} OwnerRole;

/* What a box is for, or how a device stands at rest, in lines of the small size. */
typedef struct RoleText {
    const char **lines;
    size_t count;
} RoleText;

typedef struct OwnerStand {
    OwnerId owner;
    SheetPlace place;
} OwnerStand;

/* What planning keeps. */
typedef struct WiringKept {
    WiringSheet *sheets;
    size_t sheet_count;
    uint32_t *conductor_sheet; /* by ConductorId: into sheets */
    DrawPoint *conductor_at;   /* by ConductorId: its text */
    OwnerStand *stands;        /* by owner, then page */
    size_t stand_count;
    uint32_t *stand_first; /* by OwnerId, and one more */
    WireNumbers numbers;
    uint32_t *conductor_row; /* by ConductorId: row of result table conductor, ID_NONE */
    uint32_t *landing_first; /* by TerminalId, and one more: cables that land there */
    CableId *landings;
    OwnerRole *roles;      /* by OwnerId */
    RoleText *role_texts;  /* by OwnerId: of those drawn as boxes */
    CableId *bus_feeder;   /* by BusId: a cable that feeds it over a device on it; ID_NONE */
    BusId *bus_of;         /* by TerminalId: the bus whose stud it is, ID_NONE */
    const char **bolted;   /* by TerminalId: what a terminal of a device that is drawn as a box
                              is bolted on, from there to the bus: "F_AV, MAIN"; NULL: nothing */
    uint32_t *terminator;  /* by TerminalId: row of terminator, ID_NONE */
    uint32_t *segment_cut; /* by SegmentId: row of disconnect, ID_NONE */
    double cavity_mm;      /* width of a pair of shells, by the longest number of a cavity */
    double reference_mm;   /* width of the longest page and zone */
} WiringKept;

/* What one sheet is drawn from. */
typedef struct WiringScene {
    LayoutProblem layout;
    Spot *spots;     /* by node */
    Strand *strands; /* by link */
    size_t spot_count;
    size_t spot_capacity;
    size_t strand_count;
    size_t strand_capacity;
} WiringScene;

/* What is free for the layout: the field less a strip at the foot that explains signs of ours. */
static inline DrawBox wiring_field(DrawBox field) {
    return (DrawBox){field.left_mm + 2.5, field.top_mm + 2.5, field.right_mm - 2.5,
                     field.bottom_mm - 10.0};
}

/* Room for looking things up while a scene is built; stamps make clearing unnecessary. */
typedef struct WiringLookup {
    uint32_t stamp;
    uint32_t *owner_stamp;
    uint32_t *owner_node;
    uint32_t *bus_stamp;
    uint32_t *bus_node;
    uint32_t *cable_stamp;
    uint32_t *terminal_stamp;
} WiringLookup;

void wiring_lookup_start(Arena *arena, const SheetPlan *plan, WiringLookup *lookup);

/* The layout problem of a set of cables: nodes, links, stubs. */
void wiring_scene_build(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                        WiringLookup *lookup, const CableId *cables, size_t count, DrawBox field,
                        WiringScene *scene);

/* --- small questions that building and drawing must answer alike -------------------------------
 */

/* Gate of a layout: row of disconnect_shell, or, behind all of those, row of disconnect. */
uint32_t wiring_gates(Arena *arena, const SheetPlan *plan, const WiringKept *kept, CableId cable,
                      uint32_t **gates);
const char *wiring_gate_name(const SheetPlan *plan, uint32_t gate);

/* The use of a cavity by a conductor (or, ID_NONE, the shield) at the n-th gate of its cable; NULL:
 * none. */
const CavityUse *wiring_cavity(const SheetPlan *plan, CableId cable, uint32_t nth,
                               ConductorId conductor);

/* Texts: "F2A22 22", number and gauge of a piece; "WH"; "CB_AD1" beside "5 A"; "PWR", "CAN high".
 */
const char *wiring_number_text(Arena *arena, const SheetPlan *plan, const WiringKept *kept,
                               ConductorId conductor, uint32_t piece);
const char *wiring_colour(const SheetPlan *plan, const WiringKept *kept, ConductorId conductor);
/* Fills kept->role_texts; kept->roles are known. */
void wiring_role_texts(Arena *arena, const SheetPlan *plan, WiringKept *kept);
const char *wiring_rating_text(Arena *arena, const SheetPlan *plan, OwnerId owner);
const char *wiring_port_text(Arena *arena, const SheetPlan *plan, PinId pin);
/* Room, before the texts of a terminal's pins, for the brackets of its further cores: where several
 * wires are in each of its pins. */
double wiring_brackets_mm(const SheetPlan *plan, const WiringKept *kept, TerminalId terminal);
const char *wiring_short_pin(Arena *arena, const SheetPlan *plan, PinId pin);

/* A shield that is drawn: not that of a coax. */
static inline bool wiring_has_shield(const Cable *cable) {
    return cable->shielded && !cable->coax;
}

bool wiring_is_twisted(const SheetPlan *plan, const Cable *cable);

/* The row an owner stands for. */
TableId wiring_owner_table(const SheetPlan *plan, OwnerId owner);

#endif
