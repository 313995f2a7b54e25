/* Heading: what the currents of the harness do to magnetometers and compasses. Goes in: where every
 * conductor runs (straight segments between nodes), the solved phases, the job's sensors. Comes
 * out: for every sensor the field of each circuit, on minus off, and of each phase, and the degrees
 * of heading that makes. Law of Biot and Savart (rating/field.h). Steady currents only; iron, coils
 * and magnets of the boxes themselves are not in it. docs/theory/heading.md. */
#ifndef POWER_HEADING_H
#define POWER_HEADING_H

#include "power/phases.h"
#include "rating/field.h"

/* Limits read from the library. */
#define HEADING_LIMIT_COMPASS "heading_compass"
#define HEADING_LIMIT_MAGNETOMETER "heading_magnetometer"
#define HEADING_LIMIT_PAIR "pair_spacing"

typedef struct HeadingInput {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Bundle *bundles; /* by SegmentId */
    const int32_t *awg;    /* by ConductorId */
    const Supply *supply;
    const PowerNetwork *built;
    const Phases *phases;
} HeadingInput;

typedef enum HeadingVerdict {
    HEADING_WITHIN,
    HEADING_NOT_JUDGED, /* a phase in which the engine stands or is cranked */
    HEADING_NOT_PROVED, /* it depends on how the wires lie in their bundles */
    HEADING_OVER
} HeadingVerdict;

typedef enum HeadingKind {
    HEADING_PHASE,  /* everything of a phase */
    HEADING_LOAD,   /* one load of Supply.loads; index says which */
    HEADING_DRIVEN, /* what one box drives in another; index is the driven port's TerminalId */
    HEADING_KIND_COUNT
} HeadingKind;

/* One thing, on minus off, at one sensor. The return through structure is taken two ways: spread
 * evenly around what is inside, so that it makes no field there, and straight from each bond to the
 * one with the least resistance. The worse of the two counts. */
typedef struct HeadingError {
    uint32_t sensor; /* row of `sensor` */
    HeadingKind kind;
    uint32_t index;
    uint32_t phase; /* row of `phase`; a load's worst one; ID_NONE for what is driven */
    double amps_a;  /* NAN for a phase */
    FieldVector field_ut;
    bool straight;    /* the straight way through structure is the worse one */
    double level_deg; /* atan(horizontal part / H): level, the field across north */
    double worst_deg; /* asin(B/H), any heading; of a compass in level flight (B: horizontal part),
                         of a magnetometer in any attitude (B: all of it); 180: none left */
    double
        bundle_deg;   /* what the places of its own wires in their bundles can add; NAN: no wires */
    double alone_deg; /* level_deg of its own feed without any return; NAN: no feed of its own */
    double limit_deg;
    HeadingVerdict verdict;
    ConductorId wire; /* of its own wires the one with the largest field here, ID_NONE */
    double away_mm;   /* from that wire's way to the sensor */
} HeadingError;

typedef struct Heading {
    HeadingError *errors;   /* by sensor: phases by rank, loads in their order, then driven ports */
    uint32_t *sensor_first; /* by row of `sensor`, and one more: into errors */
} Heading;

/* Every load is tried in every phase whose bus is live there, on or off, at its design current (or
 * what it draws solved, if that is more); one that is off is fed the shortest way through open
 * contacts. Linear in conductors x sensors x phases. Findings: field.*. Always true. */
bool heading_run(Arena *out, const HeadingInput *input, Heading *heading, Findings *findings);

/* "FLM.MOT", "KM.C+" of an error's circuit; "all" for a phase. */
const char *heading_circuit(const HeadingInput *input, const HeadingError *error);
const char *heading_verdict_name(HeadingVerdict verdict);

/* Fills the result table `heading`, sorted. */
void heading_rows(Arena *arena, const HeadingInput *input, const Heading *heading, TableSet *out);

/* Lines that say where a sensor's errors come from: its worst circuits, and wire by wire what adds
 * up to the worst. Nothing when `key` is no sensor. */
void heading_why(Buffer *out, const HeadingInput *input, const Heading *heading, const char *key);

/* --- map ----------------------------------------------------------------------------------------
 */

/* A part of the plan of the aircraft, and how far apart its places are. */
typedef struct HeadingArea {
    double x_from_mm;
    double x_to_mm;
    double y_from_mm;
    double y_to_mm;
    double step_mm;
} HeadingArea;

/* All nodes and the sensor with a margin around them; the step is left 0. */
void heading_area(const HeadingInput *input, uint32_t sensor, double margin_mm, HeadingArea *area);

/* Errors the sensor would have at other places of its own height: the largest of all circuits. */
typedef struct HeadingMap {
    uint32_t sensor;  /* row of `sensor` */
    uint32_t columns; /* along x */
    uint32_t rows;    /* along y */
    double x_mm;      /* of the first place */
    double y_mm;
    double step_mm;
    uint32_t own_column; /* where the sensor is */
    uint32_t own_row;
    double *worst_deg;      /* [row * columns + column] */
    uint32_t *error;        /* the same: the circuit, as an index into Heading.errors; ID_NONE */
    uint32_t circuit_count; /* circuits that were tried */
    uint32_t circuits_left; /* circuits with less current that were left out */
} HeadingMap;

/* The largest number of circuits a map tries: those with the most current. */
#define HEADING_MAP_CIRCUITS 120

/* Tries every circuit, as in its worst phase at the sensor's own place, at every place of an area.
 */
void heading_map(Arena *out, const HeadingInput *input, const Heading *heading, uint32_t sensor,
                 const HeadingArea *area, HeadingMap *map);

#endif
