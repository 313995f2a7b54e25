/* Phases: the network solved in every phase of flight, in their order in time, each from the states
 * that the one before ended in; then the same while the engine is cranked. docs/theory/network.md.
 */
#ifndef POWER_PHASES_H
#define POWER_PHASES_H

#include "power/build.h"
#include "power/solve.h"

/* How one load of Supply.loads fares. */
typedef enum PhasesState {
    PHASES_OFF, /* draws nothing in this phase */
    PHASES_ON,
    PHASES_CUT_OUT, /* below its minimum voltage */
    PHASES_DEAD     /* no supply at all */
} PhasesState;

typedef struct PhasesPort {
    double volts_v; /* lowest of its shares */
    double amps_a;  /* sum of its shares */
    PhasesState state;
} PhasesPort;

/* While the starter turns, in the phase whose engine speed is `cranking`. */
typedef struct PhasesCrank {
    bool done;          /* the job names a starter, its current and such a phase */
    uint32_t phase;     /* row of `phase` */
    SolveResult result; /* at job.crank_a */
    double starter_v;   /* solved, between the starter's plus and minus */
    uint32_t source;    /* plain figure: the battery nearest to the starter */
    double plain_ohm;   /* its inner resistance, copper there and back, job.crank_mohm */
    double plain_v;     /* resting voltage - crank_a x plain_ohm */
    PhasesPort *ports;  /* by load */
    uint32_t *lost;     /* loads of Supply.loads that drop out, in order */
    uint32_t lost_count;
    bool contactor_holds; /* every contactor on the starter's feed stays closed */
} PhasesCrank;

typedef struct Phases {
    SolvePlan *plan;      /* of built->network, for later passes */
    uint32_t *order;      /* rows of `phase` by rank */
    SolveResult *results; /* by row of `phase` */
    bool *solved;         /* by row of `phase`: an operating point was found */
    PhasesPort *ports;    /* [phase * load_count + load] */
    double *delivered_a;  /* by phase: what sources deliver */
    double *drop_v;       /* by load: its largest drop from its bus and back where that is beyond
                             the limit; 0 where none is */
    double *lowest_v;     /* by phase: at a box that is on; NAN when none is */
    uint32_t *lowest_at;  /* by phase: its load, ID_NONE */
    PhasesCrank crank;
} Phases;

/* Sets `built` to a phase: loads, switches, sources, charge of the batteries (source.charge_pct).
 */
void phases_set(PowerNetwork *built, const Model *model, const Supply *supply, uint32_t phase,
                const char *const *positions, NetworkState *state);

/* Stops alternators that run without field in `result`; true when any did. `unfed`: by alternator,
 * or NULL. */
bool phases_stop_unfed(PowerNetwork *built, const SolveResult *result, bool *unfed);

/* Solves, and again with motors turned to the way their current flows and without alternators whose
 * field has no voltage. Returns what solve_run returned. unfed[alternator] says which were stopped;
 * may be NULL. */
bool phases_solve(SolvePlan *plan, PowerNetwork *built, const Supply *supply,
                  const NetworkState *start, const SolveOptions *options, Arena *out,
                  SolveResult *result, bool *unfed);

/* How a load fares in a result, by the currents it is set to in `built` now. */
PhasesPort phases_port(const PowerNetwork *built, const SolveResult *result, uint32_t load);

/* Largest current through one pole of a device, switch or diode, A; *closed: one of them conducts.
 */
double phases_owner_current_a(const PowerNetwork *built, const Supply *supply,
                              const SolveResult *result, OwnerId owner, bool *closed);

/* Runs all phases. Findings: solve.*. False when nothing could be solved. `rating_a` by row of
 * `protection` (chosen ones included), NULL: as given. */
bool phases_run(Arena *out, const Model *model, const Wiring *wiring, const Supply *supply,
                PowerNetwork *built, const double *rating_a, Phases *phases, Findings *findings);

/* Appends port_voltage and device_current rows (while cranking as phase `crank`), and fills the
 * solved columns of the supply_margin rows that are there. */
void phases_rows(Arena *arena, const Model *model, const Supply *supply, const PowerNetwork *built,
                 const Phases *phases, TableSet *results);

/* Lines that say where the voltage of a port comes from: every piece on its feed and return with
 * ohm, amps and volts. */
void phases_why_port(Buffer *out, const Model *model, const Wiring *wiring, const Supply *supply,
                     const PowerNetwork *built, const Phases *phases, uint32_t phase,
                     uint32_t load);

/* Lines about the voltage while cranking, plain and solved. */
void phases_why_crank(Buffer *out, const Model *model, const Phases *phases);

#endif
