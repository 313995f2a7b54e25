/* Dip: what the buses and boxes see while the engine is started. In: the phase in which it is
 * cranked, solved; the starter's current against time (`crank_profile` rows of its part, shares of
 * job.crank_a); batteries as cold as job.crank_degc says. The network is solved moment by moment,
 * each from the states the one before ended in: boxes go out and come back with their hysteresis,
 * contactors let go. Quasi-steady: coils and capacitors of the network hold nothing.
 * docs/theory/time.md. */
#ifndef POWER_DIP_H
#define POWER_DIP_H

#include "power/phases.h"
#include "power/service.h"

/* One row of the profile, solved. */
typedef struct DipStep {
    double second_s;
    const char *what; /* of the profile's row */
    double asked_a;   /* what the profile asks of the starter */
    double starter_a; /* what it gets: less when its contactor has let go */
    double starter_v;
    double *bus_v; /* by bus; NAN where it is dead; NULL unless traced */
    uint32_t coil; /* of Supply.coils: flutters or has let go; ID_NONE */
    double coil_v;
    bool flutters; /* no state of the coil lasts: closed lets it go, open pulls it in */
    bool solved;   /* false: no operating point; voltages are NAN */
} DipStep;

/* A box that was on and goes out. */
typedef struct DipRestart {
    uint32_t load; /* of Supply.loads */
    uint32_t times;
    double lowest_v; /* seen at its port; with the box off where it had gone out */
    double first_s;
    double back_s; /* NAN: not back at the last row */
    double out_s;
    double restart_s;  /* of the library; NAN */
    const char *needs; /* that rest on it, separated by blanks; filled by dip_judge */
} DipRestart;

typedef struct Dip {
    bool done; /* a starter with a profile, its current, and a solved phase */
    uint32_t phase;
    uint32_t starter_part;
    double cells_degc; /* NAN: not given */
    DipStep *steps;
    uint32_t step_count;
    DipRestart *restarts; /* in the order of loads */
    uint32_t restart_count;
    uint32_t solves;
} Dip;

/* Steps the start; `traced`: keeps the volts of every bus. Leaves `built` with the batteries' own
 * resistance and a starter that draws nothing. Findings: time.chatter, solve.converge. Always
 * returns true. */
bool dip_run(Arena *out, const Model *model, const Supply *supply, PowerNetwork *built,
             const Phases *phases, bool traced, Dip *dip, Findings *findings);

/* Finds which needs rest on the boxes that start again. Findings: time.restart. `service` NULL: no
 * needs are known, and nothing is said. */
void dip_judge(Arena *out, const Model *model, const Supply *supply, const Service *service,
               Dip *dip, Findings *findings);

/* Appends rows of `crank_step` (traced only) and `restart`. */
void dip_rows(Arena *arena, const Model *model, const Supply *supply, const Dip *dip,
              TableSet *results);

#endif
