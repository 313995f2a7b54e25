/* Supply: everything that draws current, with the bus and the device it hangs on, and the position
 * of everything that switches, by phase. The common ground of sizing (design currents along every
 * wire), load totals (amps by phase and bus) and the network (what to solve). A load is a supply
 * port of a unit (row of `load`) or the coil of a relay or contactor (switch_part.coil_a). */
#ifndef POWER_SUPPLY_H
#define POWER_SUPPLY_H

#include "power/spots.h"
#include "wiring/wiring.h"

typedef enum LoadLaw { LAW_POWER, LAW_CURRENT, LAW_RESISTANCE } LoadLaw;

typedef struct SupplyLoad {
    TerminalId port;        /* supply port, or C+ of a coil */
    TerminalId return_port; /* ID_NONE: through its case; the port itself for a motor pair */
    OwnerId owner;
    uint32_t load_row; /* row of `load`; ID_NONE for a coil */
    LoadLaw law;
    bool intermittent; /* decides the drop limit */
    double usual_a;    /* at nominal voltage, when on */
    double design_a;   /* sizes the wire: the part's, or more where a phase asks more */
    double peak_a;     /* NAN when unknown */
    double minimum_v;  /* NAN when unknown; a coil's pick-up voltage */
    uint32_t feed;     /* row of `feed` that supplies it; ID_NONE when none (reported by the wire
                          pass), or bolted on its bus */
    uint32_t target;   /* its place in the feed's targets */
    BusId bus;         /* nearest bus upstream, following ports that give supply; ID_NONE */
    OwnerId device;    /* nearest protective device upstream, also before the bus; ID_NONE */
    const double *phase_a; /* amps at nominal voltage by row of `phase`; 0 when off */
} SupplyLoad;

/* The coil of a relay or contactor. */
typedef struct SupplyCoil {
    OwnerId owner;
    uint32_t plus; /* points (gates.h) */
    uint32_t minus;
    const char *rest;      /* position without current */
    const char *energised; /* position with it */
    uint32_t load;         /* into Supply.loads */
} SupplyCoil;

typedef struct Supply {
    SupplyLoad *loads; /* in terminal order */
    uint32_t load_count;
    uint32_t *terminal_load; /* by TerminalId: its load, ID_NONE */
    BusId *bus_parent;  /* by BusId: bus upstream by its usual feed, ID_NONE: fed by a source */
    uint32_t *bus_feed; /* by BusId: its usual feed: the one closed in most phases, the first of
                           equals; ID_NONE */
    SupplyCoil *coils;  /* in owner order */
    uint32_t coil_count;
    Gates gates;
    Spots spots;
    const char *const **positions; /* by row of `phase`: positions by OwnerId, "" for what has none
                                    */
} Supply;

/* Which load hangs where, and what it draws in each phase: `mode` rows for ports; a coil draws
 * whenever its owner is away from its rest position. Findings: supply.* (a mode row of a port that
 * is no load, a setting of an unknown item or position, a contactor that its coil circuit
 * contradicts; a load without feed is left to the wire pass). Always returns true: what could not
 * be understood is left out. */
bool supply_build(Arena *out, const Model *model, const Wiring *wiring, Supply *supply,
                  Findings *findings);

/* Position of a switchgear or protection item, or source, in a phase: its `setting`, else its rest
 * position ("closed" for protection, "on" for a source). `item` is the owner. What follows from
 * other settings is in Supply.positions. */
const char *supply_position(const Model *model, uint32_t phase, OwnerId item);

/* Positions of everything, by OwnerId, in a phase, and with `situation` (row of `situation`, else
 * ID_NONE) its lost sources off and the first `actions` of its actions done. A later word overrides
 * an earlier one: a contactor without a word of its own is where its coil circuit puts it; a switch
 * without one in the circuit of a contactor that has is where that contactor needs it. Findings may
 * be NULL. */
const char *const *supply_positions(Arena *out, const Model *model, const Supply *supply,
                                    uint32_t phase, uint32_t situation, uint32_t actions,
                                    Findings *findings);

/* A copy of `positions` with every device of feed row `feed` conducting: switches put by hand,
 * contactors energised by closing their coil circuits. What cannot be closed stays. */
const char *const *supply_close_feed(Arena *out, const Model *model, const Supply *supply,
                                     const char *const *positions, uint32_t feed);

/* First row and number of rows of a situation's actions, in their order. */
uint32_t supply_actions(const Model *model, uint32_t situation, uint32_t *count);

/* True when one of the first `actions` of the situation puts this load's port off. */
bool supply_put_off(const Model *model, uint32_t situation, uint32_t actions, TerminalId port);

/* True for every device, switch and box port of feed row `feed` conducting in those positions. */
bool supply_feed_closed(const Model *model, const Supply *supply, const char *const *positions,
                        uint32_t feed);

#endif
