/* Supply: everything that draws current, with the bus and the device it hangs on. The common ground
 * of sizing (design currents along every wire), load totals (amps by phase and bus) and the network
 * (what to solve). A load is a supply port of a unit (row of `load`) or the coil of a relay or
 * contactor (switch_part.coil_a). */
#ifndef POWER_SUPPLY_H
#define POWER_SUPPLY_H

#include "wiring/wiring.h"

typedef enum LoadLaw { LAW_POWER, LAW_CURRENT, LAW_RESISTANCE } LoadLaw;

typedef struct SupplyLoad {
    TerminalId port;        /* supply port, or C+ of a coil */
    TerminalId return_port; /* ID_NONE: through its case; the port itself for a motor pair */
    OwnerId owner;
    uint32_t load_row; /* row of `load`; ID_NONE for a coil */
    LoadLaw law;
    bool intermittent;     /* decides the drop limit */
    double usual_a;        /* at nominal voltage, when on */
    double design_a;       /* sizes the wire */
    double peak_a;         /* NAN when unknown */
    double minimum_v;      /* NAN when unknown; a coil's pick-up voltage */
    uint32_t feed;         /* row of `feed` that supplies it; ID_NONE when none (reported) */
    uint32_t target;       /* its place in the feed's targets */
    BusId bus;             /* nearest bus upstream, following ports that give supply; ID_NONE */
    OwnerId device;        /* nearest protective device upstream; ID_NONE */
    const double *phase_a; /* amps at nominal voltage by row of `phase`; 0 when off */
} SupplyLoad;

typedef struct Supply {
    SupplyLoad *loads; /* in terminal order */
    uint32_t load_count;
    uint32_t *terminal_load; /* by TerminalId: its load, ID_NONE */
    BusId *bus_parent; /* by BusId: bus upstream by its first feed, ID_NONE: fed by a source */
} Supply;

/* Which load hangs where, and what it draws in each phase: `mode` rows for ports; a coil draws
 * whenever the phase's settings (or rest state) have it energised. Findings: supply.* (mode row of
 * a port that is no load, load without feed is left to the wire pass). */
bool supply_build(Arena *out, const Model *model, const Wiring *wiring, Supply *supply,
                  Findings *findings);

/* Position of a switchgear or protection item, or source, in a phase: its `setting`, else its rest
 * position ("closed" for protection, "on" for a source). `item` is the owner. */
const char *supply_position(const Model *model, uint32_t phase, OwnerId item);

#endif
