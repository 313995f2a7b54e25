/* Lift: every ground conductor and every bond of a ground point lifted in turn, and where the
 * current goes that used to return there: another ground of the box, a shield, an audio or data
 * return, another box. In: the network of all metal (power/paths.h) in the phase that asks most of
 * the sources. Out: the ways with their amps, against what the weakest piece of each stands; "none"
 * where the box just loses its return; "not decided" where the inside of a box is unknown.
 * docs/theory/paths.md. */
#ifndef POWER_LIFT_H
#define POWER_LIFT_H

#include "power/fail.h"
#include "power/paths.h"
#include "power/phases.h"

typedef enum LiftVerdict {
    LIFT_NO_CURRENT,  /* nothing returns there in this phase, with the box on */
    LIFT_NONE,        /* no other way: the box is dead */
    LIFT_CARRIES,     /* every piece of every way stands what it gets */
    LIFT_NOT_DECIDED, /* a box may have a way that no inside row speaks of */
    LIFT_NOT_PROVED,  /* a piece of a way has no known rating */
    LIFT_OVERLOADS,   /* a piece gets more than it stands */
    LIFT_NOT_SOLVED   /* no operating point was found, or it lies beyond the bound on work */
} LiftVerdict;

/* One piece of a way. */
typedef struct LiftHop {
    BuildSource source;
    double amps_a;   /* all that flows in it now */
    double before_a; /* the same with everything whole */
    double rating_a; /* NAN: not known; INFINITY: bolted metal */
} LiftHop;

typedef struct LiftPath {
    double amps_a; /* what its tightest piece carries more than before */
    uint32_t hop_first;
    uint32_t hop_count;
    uint32_t weakest; /* hop that gets most of its rating, the first without one before any that
                         keeps it; ID_NONE */
    LiftVerdict verdict;
} LiftPath;

typedef struct Lift {
    BuildSource lifted; /* conductor or bond */
    OwnerId box;        /* at the end away from the ground */
    double before_a;    /* through the lifted piece, with the box on */
    LiftVerdict verdict;
    uint32_t path_first; /* largest first */
    uint32_t path_count;
    uint32_t lost_first; /* into Lifts.lost: loads of Supply.loads that stop working */
    uint32_t lost_count;
    const char *unknown; /* points that no inside row speaks of, "" */
} Lift;

typedef struct Lifts {
    uint32_t phase; /* row of `phase` */
    Lift *rows;     /* conductors by id, then bonds by row */
    uint32_t count;
    LiftPath *paths;
    LiftHop *hops;
    uint32_t *lost;
    LiftHop *loops; /* shields, signal wires, insides of boxes beyond their rating with nothing
                       lifted */
    uint32_t loop_count;
    uint32_t solved;     /* lifts that needed the network */
    uint32_t structural; /* lifts that connection alone decides */
} Lifts;

/* Lifts them all. `ordinary` is the network that `phases` solved: its states are where the network
 * of all metal starts from. Findings: ground.lifted, ground.loop, ground.unknown. False when the
 * phase can't be solved on this network (the ordinary one's findings say more). */
bool lift_run(Arena *out, const Paths *paths, const PowerNetwork *ordinary, const Phases *phases,
              Lifts *lifts, Findings *findings);

/* What lift_run reports at its end. */
void lift_report(const Paths *paths, const Lifts *lifts, Findings *findings);

/* Appends rows of `return_path`. */
void lift_rows(Arena *arena, const Paths *paths, const Lifts *lifts, TableSet *results);

/* Lines about a wire or ground point whose key that is. */
void lift_why(Buffer *out, const Paths *paths, const Lifts *lifts, const char *key);

const char *lift_verdict_name(LiftVerdict verdict);

#endif
