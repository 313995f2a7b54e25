/* What a change moved, in the words of who made it: boxes and wires that came and went, wires that
 * are cut or marked otherwise, mass, amps by phase, findings that came and went. */
#ifndef APP_MOVED_H
#define APP_MOVED_H

#include "app/prove.h"

/* A figure before and after. */
typedef struct MovedFigure {
    const char *name; /* "total", a phase */
    double before;    /* NAN: not there */
    double after;
} MovedFigure;

typedef struct MovedFinding {
    const Finding *finding;
    bool came; /* else it went */
} MovedFinding;

typedef struct Moved {
    bool complete; /* both could be proved whole; else only findings are told */
    const char **boxes_gone;
    size_t boxes_gone_count;
    const char **boxes_come;
    size_t boxes_come_count;
    const char **wires_gone; /* keys, in key order */
    size_t wires_gone_count;
    const char **wires_come;
    size_t wires_come_count;
    size_t wires_other;  /* of those in both: another gauge, part, length or way */
    size_t labels_other; /* of those in both: another number on the label */
    MovedFigure *masses; /* kg, by item of the table `mass` */
    size_t mass_count;
    MovedFigure *loads; /* A, by phase */
    size_t load_count;
    MovedFinding *findings; /* open ones, worst first */
    size_t finding_count;
    size_t findings_other; /* the same rule on the same row, with other figures */
} Moved;

/* Both with result tables. Pointers into both proofs: they must outlive it. */
Moved moved_between(Arena *arena, const Proof *before, const Proof *after);

#endif
