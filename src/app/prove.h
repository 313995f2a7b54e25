/* The whole chain as one call: read, model, wire, route, size, solve, loads, brief, judgement, and
 * the result tables. Command line and pages call this and show what comes out. */
#ifndef APP_PROVE_H
#define APP_PROVE_H

#include <stdatomic.h>

#include "draw/font.h"
#include "panel/check.h"
#include "power/common.h"
#include "power/endurance.h"
#include "power/faults_run.h"
#include "power/guard.h"
#include "power/need_cuts.h"
#include "power/service.h"
#include "power/card.h"
#include "power/dip.h"
#include "power/inrush.h"
#include "power/lift.h"
#include "power/heading.h"
#include "power/size.h"
#include "power/sneak.h"
#include "route/result.h"

/* STEP(identifier, name): the passes in their order, as timed and reported. */
#define PROOF_STEPS(STEP)                                                                          \
    STEP(READ, "read")                                                                             \
    STEP(MODEL, "model")                                                                           \
    STEP(WIRE, "wire")                                                                             \
    STEP(ROUTE, "route")                                                                           \
    STEP(SUPPLY, "supply")                                                                         \
    STEP(SIZE, "size")                                                                             \
    STEP(DISCONNECT, "disconnect")                                                                 \
    STEP(BUILD, "build")                                                                           \
    STEP(SOLVE, "solve")                                                                           \
    STEP(PLACE, "place")                                                                           \
    STEP(LOADS, "loads")                                                                           \
    STEP(ENDURE, "endure")                                                                         \
    STEP(NEEDS, "needs")                                                                           \
    STEP(LIFT, "lift")                                                                             \
    STEP(START, "start")                                                                           \
    STEP(INRUSH, "inrush")                                                                         \
    STEP(SNEAK, "sneak")                                                                           \
    STEP(GUARD, "guard")                                                                           \
    STEP(FIELD, "field")                                                                           \
    STEP(FAULTS, "faults")                                                                         \
    STEP(CARD, "card")                                                                             \
    STEP(CUTS, "cut sets")                                                                         \
    STEP(PANEL, "panel")                                                                           \
    STEP(JUDGE, "judge")                                                                           \
    STEP(RESULT, "result")

typedef enum ProofStep {
#define PROOF_STEP_ID(id, name) PROOF_##id,
    PROOF_STEPS(PROOF_STEP_ID)
#undef PROOF_STEP_ID
        PROOF_STEP_COUNT
} ProofStep;

/* Jobs with more conductors are proved without trying their failures unless that is asked for: the
 * work grows with the square of their number. */
enum { PROOF_FAULTS_CONDUCTORS = 3000 };

typedef struct ProofOptions {
    const char *library; /* folder of the parts library; not read when the job is in a shop file,
                            which has its own */
    /* Called before each step; NULL: silent. */
    void (*progress)(void *context, ProofStep step);
    void *context;
    bool no_results;  /* leave the result tables empty (benchmarks, live edits) */
    bool no_faults;   /* do not try failures */
    bool no_card;     /* leave the emergency card out */
    bool pairs;       /* try every pair of failures too: takes its time */
    bool all_faults;  /* try them however many there are */
    DrawFonts *fonts; /* borrowed for outlines of legends; NULL: opened for it, which takes longer
                         than all the rest of a small job */
    unsigned threads; /* that try failures; 0: one. The answer is the same with any number */
    /* Once true, long steps that have not begun are left out: nobody wants the proof any more.
     * NULL: never. */
    const atomic_bool *stop;
} ProofOptions;

/* What the passes beside the live chain give: app/bench.h. */
typedef struct Bench Bench;

typedef struct Proof {
    Arena arena;    /* owns everything below */
    TableSet set;   /* job, library and, when asked for, results; without what was declined */
    TableSet whole; /* job and library as they are written, what was declined too */
    Model model;
    Wiring wiring;
    Routing routing;
    Supply supply;
    Sizing sizing;
    Disconnects disconnects;
    Bundle *bundles; /* by SegmentId */
    Runs runs;
    Loads loads;
    PowerNetwork network;
    Phases phases;
    Endurance endurance;
    Service *service; /* NULL when the chain did not get that far */
    Paths paths;      /* the network of all metal */
    Lifts lifts;
    Common common;
    Sneaks sneaks; /* beside the live chain: empty when no results were asked for */
    Dip dip;       /* while the engine is started */
    Inrush inrush;
    Guard guard; /* shorts against devices and wires */
    Heading heading;
    Faults faults;                       /* everything that can fail; when the step ran */
    FaultsSweep sweep;                   /* what each does */
    Card card;                           /* when results were asked for */
    NeedCuts cuts;                       /* which failures lose a need; when FAULTS ran */
    Panel panel;                         /* empty without rows of panel_face */
    PanelChecks panel_checks;            /* what was measured of it */
    SolveCounts counts;                  /* work of all phases together, in the last round */
    uint32_t rounds;                     /* of sizing and solving */
    Findings findings;                   /* in final order */
    ProofStep reached;                   /* the last step that ran */
    bool complete;                       /* every step ran */
    Bench *bench;                        /* NULL until something of it is asked for */
    double step_s[PROOF_STEP_COUNT];     /* wall time of each step */
    size_t step_bytes[PROOF_STEP_COUNT]; /* arena bytes each step took */
} Proof;

/* Reads the job (a folder, or SHOP.db:JOB) and the library and runs every step that can run. A step
 * whose input is not there is left out; what was found until then stands in the findings. `proof`
 * is overwritten. */
void proof_run(const char *job, const ProofOptions *options, Proof *proof);

/* The same on tables that are already read into proof->set (with proof->arena): bench, tests. */
void proof_run_set(const ProofOptions *options, Proof *proof);

void proof_free(Proof *proof);

/* 2: something could not be read; 1: an open finding of severity error; 0: neither. */
int proof_exit_code(const Proof *proof);

const char *proof_step_name(ProofStep step);

/* Fills the table `finding`, or one of the same columns, from a list of findings. */
void proof_finding_rows(Proof *proof, const Findings *findings, TableId table);

/* What listing and trying failures takes; the network's numbers are set by it. */
FaultsInput proof_faults_input(Proof *proof);

/* What the guard's explanations and rows take; `built` only to read names from. */
GuardInput proof_guard_input(const Proof *proof);

/* What the route layer's explanations and result rows take. */
RouteView proof_route_view(const Proof *proof);

/* What heading takes. */
HeadingInput proof_heading_input(const Proof *proof);

#endif
