/* Build: the solver's network from the job. Points that are bolted together become one node; wires
 * (copper at temperature, contacts at both ends and at every disconnect), devices, poles, diodes,
 * bonds, batteries, alternators, coils and boxes become elements. The structure is node 0; what no
 * bond row joins to it is isolated. docs/theory/network.md.
 *
 * The nodes and elements do not depend on the phase: a phase, a situation or a failure only changes
 * numbers and states, so one plan of the solver serves all of them. */
#ifndef POWER_BUILD_H
#define POWER_BUILD_H

#include "power/network.h"
#include "power/supply.h"
#include "route/disconnect.h"

/* Resistance of what is bolted or soldered and has no figure of its own: small against every wire,
 * large enough to keep the equations sound. */
#define BUILD_BOLTED_OHM 1e-5

typedef struct BuildOptions {
    const int32_t *awg;           /* by ConductorId; INT_BLANK for coax */
    const double *rating_a;       /* by row of `protection`; NULL: as given in the job */
    const double *conductor_degc; /* by ConductorId; NULL: copper at 20 degC */
    bool plain;   /* handbook resistances and no contacts: what a person works out by hand */
    bool signals; /* all nets, also those that no supply current passes, and the shields that are
                     grounded at both ends; `supply` should then have all gates (gates_build) */
} BuildOptions;

typedef enum BuildSourceKind {
    BUILD_CONDUCTOR, /* index is a ConductorId */
    BUILD_GATE,      /* index into Supply.gates */
    BUILD_BOND,      /* row of `bond` */
    BUILD_SHIELD,    /* the shield of a cable, from case to case; index is a CableId */
    BUILD_INNER      /* inside a battery; row of `source` */
} BuildSourceKind;

typedef struct BuildSource {
    BuildSourceKind kind;
    uint32_t index;
} BuildSource;

typedef struct BuildElement {
    NetworkKind kind; /* NETWORK_KIND_COUNT: not in the network */
    uint32_t index;
} BuildElement;

typedef struct BuildBattery {
    uint32_t source;  /* row of `source` */
    uint32_t battery; /* row of `battery` */
    uint32_t diode;   /* lets it give but not take, see build_set_charge */
    uint32_t bypass;  /* contact beside the diode */
    double r_ohm;     /* the library's times the factor set last */
} BuildBattery;

typedef struct BuildAlternator {
    uint32_t source;     /* row of `source` */
    uint32_t alternator; /* row of `alternator` */
    uint32_t field;      /* network load that excites it; NETWORK_NONE: needs none */
    double field_v;      /* voltage the field needs */
} BuildAlternator;

typedef struct PowerNetwork {
    Network network;
    uint32_t *point_node; /* by point (gates.h); NETWORK_NONE: not in the network */
    uint32_t *node_point; /* by node: its first point */

    BuildSource *resistor_source; /* by resistor */
    BuildSource *contact_source;  /* by contact */
    BuildSource *diode_source;    /* by diode */
    uint32_t *load_supply;        /* by network load: into Supply.loads; NETWORK_NONE: starter */
    BuildBattery *batteries;      /* by network battery */
    BuildAlternator *alternators; /* by network alternator */
    /* Coils of the network are Supply.coils, one to one. */

    uint32_t *conductor_resistor; /* by ConductorId; NETWORK_NONE */
    double *plain_ohm;            /* by ConductorId: handbook copper at 20 degC, no contacts */
    BuildElement *gate_element;   /* by gate */
    uint32_t *load_first; /* by supply load, and one more: its network loads. A box whose ports have
                             several cores draws an equal share through each, a reversing motor
                             has one each way; coils have none */
    uint32_t starter;     /* network load; NETWORK_NONE */
} PowerNetwork;

/* Builds the network. `disconnects` may be NULL (not allotted yet). Every load draws nothing and
 * every alternator stands until the setters below are called. Findings: solve.case (a box that
 * returns through its case, and no bond row says where to), solve.bond (a bond row names nothing).
 * Elements that could not be placed (a battery without library row) are left out and reported. */
bool build_network(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                   const Disconnects *disconnects, const Supply *supply,
                   const BuildOptions *options, PowerNetwork *built, Findings *findings);

/* The point (gates.h) at which a shield is grounded at an end: the metal of a ground point, else
 * the case of the box, switch or aerial. */
uint32_t build_shield_point(const Model *model, TerminalId end);

/* Temperatures for BuildOptions.conductor_degc: the hottest surrounding on the way, weighted by
 * length, plus `rise_degc`. */
double *build_conductor_degc(Arena *out, const Model *model, const Wiring *wiring,
                             const Routing *routing, double rise_degc);

/* Resistance in ohm of one conductor of gauge `awg` over its own length: wire, contacts at both
 * ends (`contacts`), cavities of disconnects. What build_network uses. */
typedef struct BuildWires {
    uint32_t row_of_awg[UINT8_MAX]; /* row of `wire` by awg - UNITS_AWG_THICKEST; ID_NONE */
} BuildWires;

void build_wires(const Model *model, BuildWires *wires);

/* Ohm per km at 20 degC of a conductor: the cable's, or that of the usual wire of its gauge (the
 * handbook's figure when `plain`, else the higher of the two). NAN when there is none. */
double build_ohm_per_km(const Model *model, const Wiring *wiring, const BuildWires *wires,
                        ConductorId conductor, int32_t awg, bool plain);

/* --- phase by phase ------------------------------------------------------------------------------
 */

/* Sets what one load of Supply.loads draws at nominal voltage (no effect on coils). With 0 it also
 * needs no minimum voltage. */
void build_set_load(PowerNetwork *built, const Supply *supply, uint32_t load, double amps_a);

/* Boxes that are off have not cut out: when they are switched on they start anew. */
void build_rest_loads(const PowerNetwork *built, NetworkState *state);

/* A reversing motor is two network loads, one each way; the first draws. Turns those that a solved
 * point finds with negative voltage (`load_v` by network load). True when any was turned: solve
 * again. */
bool build_turn_motors(PowerNetwork *built, const Supply *supply, const double *load_v);

/* Sets switches and devices (contacts without a coil) in `state` to `positions`. Contactors follow
 * their coils. */
void build_set_positions(const PowerNetwork *built, const Supply *supply,
                         const char *const *positions, NetworkState *state);

/* Sets every source: an alternator runs when its source's position is not `off` and it gives
 * something at that engine speed; a battery that is `off` is taken out. */
void build_set_sources(PowerNetwork *built, const Model *model, const char *const *positions,
                       const char *engine);

/* Sets a battery's open-circuit voltage by its state of charge. A full one (100 %) gives but takes
 * nothing: at rest it would draw a large charging current from any alternator, which a charged
 * battery does not; one that is not full takes what it gets. */
void build_set_charge(PowerNetwork *built, const Model *model, uint32_t battery, double charge_pct,
                      NetworkState *state);

/* Sets a battery's inner resistance to `factor` times the library's (cold cells); stays until it is
 * set again. One that is off stays off. */
void build_set_resistance(PowerNetwork *built, const Model *model, uint32_t battery, double factor);

/* Resting voltage of a battery at a state of charge: by its curve, never above its rated resting
 * voltage (published curves end with the voltage under charge). */
double build_rest_v(const Model *model, uint32_t battery_row, double charge_pct);

/* Output of an alternator at that engine speed, A; 0 when its library has no row for it. */
double build_output_a(const Model *model, uint32_t alternator_row, const char *engine);

#endif
