/* Runs that are more than a wire from here to there: aerial feeders with their loss, data chains
 * with their length and terminators, lengths and branches that classes limit, distances between
 * aerials; and what it all weighs and where. */
#ifndef ROUTE_RUNS_H
#define ROUTE_RUNS_H

#include "rating/curve.h"
#include "route/disconnect.h"

/* A feeder from a box to an aerial: loss per metre x length + loss of each connector. */
typedef struct CoaxRun {
    NetId net;
    OwnerId antenna;
    uint32_t part; /* row of `cable` */
    double length_mm;
    double frequency_mhz;
    uint32_t joints; /* coax connectors: two for each piece, two for each disconnect passed */
    RatingValue db_per_m;
    double loss_db;
    double limit_db;
} CoaxRun;

/* A chain of a class that wants terminators. */
typedef struct ChainRun {
    NetId net;
    double length_mm;     /* from first to last end, stubs included */
    double unpowered_ohm; /* fitted terminators in parallel; NAN when there are none */
} ChainRun;

/* Mass with its arm aft of the datum. A laid piece is spread along its way, its stubs are at their
 * nodes, a handling allowance half at each end; a box is at its node. */
typedef struct MassItem {
    double mass_kg;
    double moment_kgmm;
} MassItem;

typedef struct Masses {
    MassItem harness; /* all but heavy cables */
    MassItem heavy;
    MassItem units;
} Masses;

typedef struct Runs {
    CoaxRun *coax;
    uint32_t coax_count;
    ChainRun *chains;
    uint32_t chain_count;
    Masses masses;
} Runs;

/* Measures all runs. `awg` is by ConductorId. Findings: route.coax_loss, route.coax_table,
 * route.length, route.stub, route.antenna. */
bool runs_measure(Arena *out, const Model *model, const Wiring *wiring, const Routing *routing,
                  const Disconnects *disconnects, const int32_t *awg, Runs *runs,
                  Findings *findings);

/* Fitted terminators of a net: rows of `terminator` from *first; returns their number. */
uint32_t runs_terminators(const Model *model, const Net *net, uint32_t *first);

/* The centre of a mass aft of the datum; 0 for nothing. */
static inline double mass_arm_mm(MassItem item) {
    return item.mass_kg > 0.0 ? item.moment_kgmm / item.mass_kg : 0.0;
}

#endif
