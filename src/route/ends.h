/* The pieces that disconnects cut conductors into, and both ends of each: what a person holds in
 * the hand at the bench. Goes in: wiring, ways, cavities, gauges. Comes out: which end is crimped
 * where, where it goes on to, and what must be slid on before the contact. Connector sheets,
 * labels and the result tables pin_out and label are made from this. */
#ifndef ROUTE_ENDS_H
#define ROUTE_ENDS_H

#include "route/disconnect.h"
#include "route/gauges.h"

typedef enum PieceEndKind {
    PIECE_PIN,    /* lands on a pin of the model */
    PIECE_CAVITY, /* in a cavity of one half of a disconnect shell */
    PIECE_PASS,   /* by a bulkhead or stud of its own, or no cavity was left (reported) */
    PIECE_SHIELD  /* the end of a shield: grounded at its box or cut back */
} PieceEndKind;

typedef struct PieceEnd {
    PieceEndKind kind;
    bool far;            /* cavity, pass: on the far side of the disconnect */
    bool grounded;       /* shield */
    PinId pin;           /* pin; else ID_NONE */
    TerminalId terminal; /* pin, shield; else ID_NONE */
    uint32_t use;        /* cavity: into Disconnects.uses; else ID_NONE */
    uint32_t disconnect; /* cavity, pass: row of `disconnect`; else ID_NONE */
} PieceEnd;

typedef struct Piece {
    CableId cable;
    ConductorId conductor; /* ID_NONE: the cable's shield, which has pieces only where it passes
                              disconnects by cavities */
    uint16_t index;        /* along the cable, from 0 at its `from` end */
    PieceEnd ends[2];      /* towards `from`, towards `to` */
} Piece;

/* One end of one piece: 2 * piece + (0 or 1). */
typedef uint32_t EndId;

/* Half of a disconnect shell. */
typedef enum ShellSide { SHELL_NEAR, SHELL_FAR } ShellSide;

typedef struct Ends {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Disconnects *disconnects;
    const int32_t *awg; /* by ConductorId */
    Piece *pieces;      /* by cable, core (the shield last), place along it */
    uint32_t piece_count;
    uint32_t *pin_first; /* by PinId, and one more: its ends */
    EndId *pin_ends;
    uint32_t *shell_first;  /* by row of disconnect_shell, and one more: into cavity_ends / 2 */
    EndId *cavity_ends;     /* 2 * (shell_first + cavity) + side; ID_NONE: free */
    ShellSide *socket_side; /* by row of disconnect_shell: the half that has the sockets */
    uint32_t *live_pins;    /* by row of disconnect_shell: supply wires that come from the other
                               side and so stay live on pins when it is parted */
    WireNumbers numbers;
    RouteGauges gauges;
    uint32_t *class_core; /* by ClassId: first row of interface_core */
    uint32_t *class_cores;
} Ends;

/* Linear in conductors and crossings. The half towards the sources has the sockets, so that what is
 * live is not laid bare when the shell is parted: counted over the supply wires in it; the near
 * half when they are as many on both sides (common practice, no source). */
void ends_build(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                const Disconnects *disconnects, const int32_t *awg, Ends *ends);

/* --- what is slid on ---------------------------------------------------------------------------
 */

/* S(identifier, letter on sheets, words): in the order in which they go over the wire, the first
 * one first. docs/style.md says when each is due (common practice, no source). */
#define SLIDE_ITEMS(S)                                                                             \
    S(JACKET, "J", "label tube on the cable's jacket")                                             \
    S(SHIELD, "F", "solder sleeve on the shield, with its wire")                                   \
    S(CUT, "E", "tube over the cut shield")                                                        \
    S(LABEL, "L", "label tube on the wire")                                                        \
    S(COAX, "C", "boot and ferrule of the coax plug")                                              \
    S(BARREL, "H", "tube over the barrel of a ring, tab or solder joint")                          \
    S(SEAL, "S", "wire seal")

typedef enum SlideItem {
#define SLIDE_ID(id, letter, words) SLIDE_##id,
    SLIDE_ITEMS(SLIDE_ID)
#undef SLIDE_ID
        SLIDE_COUNT
} SlideItem;

const char *slide_letter(SlideItem item);
const char *slide_words(SlideItem item);

typedef struct Slide {
    SlideItem item;
    uint32_t sleeve; /* row of `sleeve`; ID_NONE: has no size, or none fits */
    bool sized;      /* wants a sleeve: none fits when sleeve is ID_NONE */
} Slide;

/* The smallest tube that slides over `od_mm` and grips it when shrunk, or solder sleeve for that
 * jacket (`kind` as in the table), at least `least_mm` wide as supplied; ID_NONE. */
uint32_t ends_sleeve(const Model *model, const char *kind, double least_mm, double od_mm);

/* --- facts of one end --------------------------------------------------------------------------
 */

typedef struct EndFacts {
    const char *wire;   /* key of the conductor, or "W0412.S" */
    const char *number; /* wire number of this piece; "" for a shield */
    const char *net;
    const char *core; /* what it carries */
    const char *class;
    const char *at;  /* "NAV1.J1-14", "BK1.P-14" */
    const char *far; /* the same of the other end */
    int32_t awg;     /* INT_BLANK: coax, shield */
    const char *colour;
    const char *contact; /* "" when the library does not say */
    double od_mm;        /* of the wire (for coax: the cable); NAN: not known */
    double jacket_mm;    /* of its jacketed cable; NAN: a single wire */
    Slide slides[SLIDE_COUNT];
    size_t slide_count;
} EndFacts;

/* The contact at an end: of the shell or stud by the library; of coax and heavy wires that pass a
 * disconnect by a bulkhead or stud of their own, and of a feeder at its aerial, what the job's row
 * names. ID_NONE where there is none, or nothing says. */
ContactId ends_contact(const Ends *ends, EndId id);

void ends_facts(Arena *arena, const Ends *ends, EndId end, EndFacts *facts);

/* "J4.8 F4.3 L2.4 S", "L? ..." where no size fits; and in words for a table. */
const char *ends_slide_letters(Arena *arena, const Ends *ends, const EndFacts *facts);
const char *ends_slide_words(Arena *arena, const Ends *ends, const EndFacts *facts);

/* "BK1.P": pins, "BK1.S": sockets; "BK1.N" and "BK1.F", near and far, where there are neither. */
const char *ends_half_name(Arena *arena, const Ends *ends, uint32_t shell, ShellSide side);

/* True when the contacts of that kind of shell are pins and sockets. */
bool ends_shell_mates(const Model *model, ShellId shell);

/* Number of a cavity (from 0) of a kind of shell, as moulded beside it. */
const char *ends_cavity_name(Arena *arena, const Model *model, ShellId shell, uint32_t cavity);

/* Fills the result tables pin_out and label. Inside the route layer and for tests; result.h calls
 * it. */
void ends_rows(Arena *arena, const Ends *ends, TableSet *out);

#endif
