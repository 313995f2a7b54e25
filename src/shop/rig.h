/* Rig: what hangs on the bench when a harness is measured: the wires of one module before a box is
 * connected, or of all modules mated, as points that a probe can touch and contacts that sit in
 * them. Goes in: pieces with their ends, module and length. Comes out: points, wires between them,
 * and which points should be one piece of metal (nets). The ring-out script and the diagnosis both
 * stand on it; docs/theory/ringout.md says what is taken for granted. */
#ifndef SHOP_RIG_H
#define SHOP_RIG_H

#include "route/cavity.h"
#include "route/ends.h"

typedef uint32_t RigPointId;

typedef enum RigPointKind {
    RIG_CAVITY,   /* a cavity of a plug or of half a disconnect; with or without a contact */
    RIG_LUG,      /* a lug, tab, joint or shield wire that hangs free */
    RIG_SHELL,    /* metal shell of a plug, with the shields that are grounded on it */
    RIG_BODY,     /* body of a coax plug where the library names no plug */
    RIG_CUT,      /* a shield cut back under its tube: no probe reaches it */
    RIG_BLOCK,    /* ground block or bus bar with all its lugs bolted on */
    RIG_STRUCTURE /* the metal of the airframe */
} RigPointKind;

typedef struct RigPoint {
    RigPointKind kind;
    const char *name;   /* "BK1C1.P-14", "NAV1.J1.shell", "GBC.T05"; without blanks */
    uint32_t plug;      /* into Rig.plugs; ID_NONE: none */
    uint32_t cavity;    /* of a cavity: its place in numbering order; ID_NONE */
    bool reachable;     /* by a probe */
    bool filled;        /* a wire ends there */
    double contact_ohm; /* of the mated contact or joint */
    uint32_t net;       /* into the nets; ID_NONE: an empty cavity */
} RigPoint;

/* A plug of the harness, or half a disconnect shell. Its cavities are points that follow each
 * other; the metal shell, if it has one, comes behind them. */
typedef struct RigPlug {
    const char *name; /* "NAV1.J1", "BK1C1.P" */
    ShellId kind;
    const Face *face;
    RigPointId point_first; /* of face->ways points */
    RigPointId shell;       /* ID_NONE: not of metal */
    uint32_t mate;          /* the other half, when both hang here; ID_NONE */
    uint32_t filled;        /* cavities with a wire */
    bool cavities;          /* contacts are put into cavities: not studs, leads or coax */
} RigPlug;

typedef enum RigEdgeKind {
    RIG_WIRE,
    RIG_SCREEN,    /* shield of a cable, outer conductor of a coax */
    RIG_MATE,      /* a cavity, stud or shell with that of the other half */
    RIG_BOND,      /* a ground block on structure or on another */
    RIG_TERMINATOR /* joins no net, but carries current */
} RigEdgeKind;

/* Wires and screens end in contacts: they move along when a contact sits in a wrong cavity. The
 * other kinds join places. */
typedef struct RigEdge {
    RigEdgeKind kind;
    const char *key; /* "W0412", "W0412.S"; "" for mates; item of a bond; port of a terminator */
    RigPointId a;
    RigPointId b;
    double ohm; /* of the wire alone at 20 degC; of the joint; NAN: the library does not say */
    bool power; /* class kind power, return or heavy: measured with four wires */
    bool alloy; /* not copper: a larger resistance is no error */
    bool coax;
} RigEdge;

typedef struct Rig {
    const Model *model;
    const char *name; /* key of the module; "installed" */
    ModuleId module;  /* ID_NONE: installed */
    RigPoint *points;
    uint32_t point_count;
    RigPlug *plugs; /* the one with most wires first */
    uint32_t plug_count;
    RigEdge *edges;
    uint32_t edge_count;
    uint32_t *point_edge_first; /* by point, and one more: its edges */
    uint32_t *point_edges;
    uint32_t net_count;
    uint32_t *net_point_first; /* by net, and one more: its points, in their order */
    RigPointId *net_points;
    uint32_t *net_group; /* by net: the lowest net that terminators join it with; else itself */
    NameMap point_by_name;
} Rig;

typedef struct RigInput {
    const Ends *ends;
    const ModuleId *piece_module; /* by piece */
    const double *piece_mm;       /* cut length, by piece; NAN: not known */
} RigInput;

#define RIG_INSTALLED "installed"

/* The rig of a module as it leaves the bench; with ID_NONE of all modules mated in the aircraft:
 * boxes and devices off, lugs of ground blocks and bus bars bolted on, blocks bonded as the job
 * says. Linear in pieces. */
void rig_build(Arena *out, const RigInput *input, ModuleId module, Rig *rig);

/* Numbers the nets of points, plugs and edges that are there already, and sorts the edges by point:
 * the last step of rig_build, and all that a rig made by hand still wants. */
void rig_index(Arena *out, Rig *rig);

/* The other end of an edge. */
static inline RigPointId rig_other(const RigEdge *edge, RigPointId point) {
    return edge->a == point ? edge->b : edge->a;
}

#endif
