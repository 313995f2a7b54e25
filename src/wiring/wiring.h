/* Wiring: from what is to be connected to what, to every conductor pin to pin. Rows of feed,
 * ground, link and pin_net become nets (which ends are joined, in wiring order), a net becomes
 * cables (laid pieces between two ends), a cable its conductors. After routing, cables that cross
 * a disconnect get cavities there. */
#ifndef WIRING_WIRING_H
#define WIRING_WIRING_H

#include "model/model.h"

/* Classes of wires for which a row names none and no port decides (rows of `interface`): supply,
 * return, and the coil of a relay or any single control line. */
#define WIRING_CLASS_SUPPLY "P"
#define WIRING_CLASS_RETURN "G"
#define WIRING_CLASS_CONTROL "D"

/* Limits read from the library. */
#define WIRING_LIMIT_LUGS "lugs_per_stud"

typedef uint32_t NetId;
typedef uint32_t CableId;
typedef uint32_t ConductorId;

typedef enum Join { JOIN_POINT, JOIN_CHAIN, JOIN_HUB } Join;
typedef enum Lane { LANE_NONE, LANE_A, LANE_B, LANE_CROSS } Lane;

/* Nets are in the order of their names. */
typedef struct Net {
    const char *name;
    ClassId class_id;
    uint16_t core_count;
    Join join;
    Lane lane;
    uint8_t group;      /* shell group at disconnects, 1 or 2 */
    bool spare;         /* declared: one end, no cable */
    TableId from_table; /* feed, ground, link or pin_net */
    uint32_t from_row;
    uint16_t leg;       /* of a feed: 0 is the wire nearest the source */
    int32_t given_awg;  /* INT_BLANK when the tool sizes it */
    uint32_t end_first; /* into Wiring.ends */
    uint32_t end_count;
    CableId cable_first; /* its cables are together, in wiring order */
    uint32_t cable_count;
} Net;

/* One laid piece between two ends of a net. */
typedef struct Cable {
    NetId net;
    TerminalId from;
    TerminalId to;
    uint32_t part; /* row of `cable`; ID_NONE when laid as single wires */
    bool coax;     /* class kind coax */
    bool heavy;    /* class kind heavy: studs, counted apart */
    bool shielded;
    bool shield_from; /* shield grounded at `from` */
    bool shield_to;
    ConductorId conductor_first; /* its conductors are together, in core order */
    uint16_t conductor_count;
} Cable;

typedef struct Conductor {
    CableId cable;
    uint16_t core;
    PinId from;
    PinId to;
    const char *key; /* permanent: "W0412" */
    bool kept;       /* the key comes from an allot row */
} Conductor;

typedef struct Wiring {
    Net *nets;
    uint32_t net_count;
    TerminalId *ends;
    uint32_t end_count;
    Cable *cables;
    uint32_t cable_count;
    Conductor *conductors;
    uint32_t conductor_count;
    NameMap net_by_name;      /* -> NetId */
    NameMap conductor_by_key; /* -> ConductorId */
    NetId *pin_net;           /* by PinId: net that lands there, ID_NONE when free */
} Wiring;

/* Derives nets, cables and conductors and gives every conductor its key: the one of its allot row,
 * else the next free number in the order of circuit, ends and core (so that equal jobs get equal
 * keys; keys of retired allot rows are not used again). Findings: see rules wire.*. Returns false
 * when nothing could be derived. */
bool wiring_derive(Arena *out, const Model *model, Wiring *wiring, Findings *findings);

/* Significant wire numbers. All legs of a feed share one number for each core, every other net has
 * its own; segment letters run on along the circuit and change at every connector passed. */
typedef struct WireNumbers {
    char *letter; /* by NetId: function letter of the box, P for power distribution, M else */
    uint32_t
        *number; /* by CableId: wire number of core 0; the other cores have the ones after it */
    uint16_t *segment; /* by CableId: index of the segment letter of its first piece */
} WireNumbers;

/* Gives numbers in the order of nets. `pieces`, by CableId, says how many pieces disconnects cut a
 * cable into; NULL for one each. */
void wiring_numbers(Arena *out, const Model *model, const Wiring *wiring, const uint8_t *pieces,
                    WireNumbers *numbers);

/* The number printed on a label: "R12A22", with N for grounds. `piece` counts from 0 at the `from`
 * end. `awg` may be INT_BLANK (coax): no gauge is written then. */
const char *wiring_number(Arena *arena, const Model *model, const Wiring *wiring,
                          const WireNumbers *numbers, ConductorId conductor, unsigned piece,
                          int32_t awg);

/* Rows of `allot` for all conductors into `out` (table allot, which must be empty), sorted: those
 * in the aircraft, then every earlier key that is no longer in it, marked retired. */
void wiring_allot_rows(Arena *arena, const Model *model, const Wiring *wiring, TableSet *out);

/* Fills the result table `net`. */
void wiring_net_rows(Arena *arena, const Model *model, const Wiring *wiring, TableSet *out);

/* "point to point", "chain", "hub at first"; "", "A", "B", "cross-link". */
const char *wiring_join_name(Join join);
const char *wiring_lane_name(Lane lane);

/* Row of `interface` of a class. */
static inline const InterfaceRow *wiring_class(const Model *model, ClassId class_id) {
    return &model->set->interface.rows[class_id];
}

#endif
