/* Sneak: current from one feed into a bus or port that should be dead, in every combination of the
 * pilot's switches and of sources on and off. A bus should be dead when no closed declared feed
 * (rows of `feed`, followed upstream) leads to it from a source that gives. In: the network of all
 * metal (power/paths.h). Out: the ways found, with volts and amps, counts of combinations possible,
 * left out by proof and looked at, and the data lines shared by boxes on different buses.
 * docs/theory/paths.md has the proofs. */
#ifndef POWER_SNEAK_H
#define POWER_SNEAK_H

#include "power/phases.h"
#include "power/sneak_graph.h"

/* Limits read from the library: what a bus that should be dead may get. */
#define SNEAK_LIMIT_V "sneak_voltage"
#define SNEAK_LIMIT_A "sneak_current"

typedef enum SneakVerdict {
    SNEAK_LEAKS,      /* less than the limits */
    SNEAK_NOT_SOLVED, /* no operating point was found in one of its combinations */
    SNEAK_LIVE        /* more volts or amps than a limit */
} SneakVerdict;

/* One piece of a path. */
typedef enum SneakPieceKind {
    SNEAK_BY_GATE, /* index into Paths.supply.gates */
    SNEAK_BY_LOAD, /* through what draws there: index into Paths.supply.loads */
    SNEAK_BY_NET   /* index is a NetId */
} SneakPieceKind;

typedef struct SneakPiece {
    SneakPieceKind kind;
    uint32_t index;
} SneakPiece;

/* Current that reaches one bus or port from one other, by all combinations in which it does. */
typedef struct Sneak {
    TerminalId port; /* stud of the bus, or the port */
    BusId bus;       /* ID_NONE for a port */
    BusId from;      /* the bus it comes from; ID_NONE: straight from a source */
    uint32_t source; /* that source's row, when from is ID_NONE */
    uint64_t combinations;
    uint64_t live;    /* of those: more than a limit */
    uint64_t seen;    /* of those: solved, or shown by resistance to be below the limits */
    double bound_a;   /* no combination gives more, by resistance alone; NAN: no such bound */
    uint8_t *choice;  /* worst solved combination: position of each switch, then each source */
    double volts_v;   /* in it */
    double amps_a;    /* by the way named, or into the bus where that is more */
    SneakPiece *path; /* pieces from `from` to the bus, in order */
    uint32_t path_count;
    SneakVerdict verdict;
} Sneak;

/* A data line between boxes that do not hang on the same buses, with one bus off. */
typedef struct SharedLine {
    NetId net;
    BusId off;
    uint32_t outputs; /* ends that give */
    uint32_t inputs;
    OwnerId *dead; /* boxes without supply then, by tag; their ends are dead ends */
    uint32_t dead_count;
    bool driven;    /* a box that still lives gives on it */
    uint32_t known; /* dead ends whose inside a row speaks of */
} SharedLine;

typedef struct Sneaks {
    SneakGraph graph;
    Sneak *rows; /* by end, then by what they come from */
    uint32_t count;
    double possible;      /* combinations of all switches and sources */
    double alike;         /* of those: left out, as they differ only in what can't matter */
    uint64_t looked;      /* combinations looked at one by one */
    double not_tried;     /* beyond the bound on work */
    uint64_t with_sneaks; /* of those looked at: a bus or port is reached that should be dead */
    uint64_t solved;      /* operating points found on the network */
    SharedLine *lines;
    uint32_t line_count;
} Sneaks;

/* Findings: sneak.path, sneak.bound, sneak.shared_line. */
void sneak_run(Arena *out, const Paths *paths, Sneaks *sneaks, Findings *findings);

/* The same with nothing left out of the graph: every switch of the job is varied. For checks: finds
 * the same ways, each in as many times more combinations as there are positions left out. */
void sneak_run_whole(Arena *out, const Paths *paths, Sneaks *sneaks, Findings *findings);

/* What sneak_run does at its end. */
void sneak_shared_lines(Arena *out, const Paths *paths, Sneaks *sneaks);
void sneak_report(const Paths *paths, const Sneaks *sneaks, Findings *findings);

/* Appends rows of `sneak`, `sneak_count` and `shared_line`. */
void sneak_rows(Arena *arena, const Paths *paths, const Sneaks *sneaks, TableSet *results);

#endif
