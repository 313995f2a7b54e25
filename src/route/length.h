/* Length: what every cable is cut to, part by part, from its ends and the disconnects on its way.
 * In: ways, stubs, table end_allowance, limits; then gauges, for what twisting and bends add. Out:
 * Routing.runs and Routing.length_mm, one figure for all: gauges, resistances, currents of shorts,
 * drops and masses are reckoned with it, and the bench cuts by it. Formulas and sources:
 * docs/theory/harness.md. */
#ifndef ROUTE_LENGTH_H
#define ROUTE_LENGTH_H

#include "route/cuts.h"

/* Limits read from the library. */
#define LENGTH_LIMIT_SAG "slack_deflection"
#define LENGTH_LIMIT_STEP "cut_step"
#define LENGTH_LIMIT_BEND "place_matters"

/* Kinds of places at which length is kept, with their word in the table end_allowance. */
#define LENGTH_PLACES(P)                                                                           \
    P(UNIT, "unit")                                                                                \
    P(DEVICE, "device")                                                                            \
    P(SWITCH, "switch")                                                                            \
    P(BAR, "bar")                                                                                  \
    P(GROUND, "ground")                                                                            \
    P(ANTENNA, "antenna")                                                                          \
    P(NEAR_HALF, "near half")                                                                      \
    P(FAR_HALF, "far half")

typedef enum LengthPlace {
#define LENGTH_PLACE_ID(id, word) LENGTH_AT_##id,
    LENGTH_PLACES(LENGTH_PLACE_ID)
#undef LENGTH_PLACE_ID
        LENGTH_PLACE_COUNT
} LengthPlace;

const char *length_place_word(LengthPlace place);

/* What is kept at one place. */
typedef struct LengthKept {
    LengthPlace place;
    uint32_t row;   /* of end_allowance: the longest word of `where` that what the job says of the
                       place holds, else "any"; ID_NONE: none speaks of it */
    double loop_mm; /* 0 without a row */
} LengthKept;

LengthKept length_kept_at(const Model *model, OwnerId owner);
LengthKept length_kept_at_half(Arena *scratch, const Model *model, uint32_t disconnect, bool far);

/* Finds the runs of every cable that has a way (length_mm is no NAN) and their first lengths, with
 * the thinnest gauge of each class. `hops`, `cable_first`, `length_mm` must be there; the rest of
 * the routing lives in `out`; model and wiring must outlive it. Linear in hops. */
void lengths_find(Arena *out, const Model *model, const Wiring *wiring, Routing *routing);

/* Lengthens every run that these gauges (by ConductorId) make longer than it is; true when there
 * was any. No run is ever shortened, so that asking again after each round of sizing ends, and no
 * wire is cut longer than it was sized for. Linear in hops. */
bool lengths_raise(Routing *routing, const int32_t *awg);

/* The whole of a cable's pieces is as long as a person says, up to whole steps each: longer, half
 * of it at each end of the cable; shorter, each piece in proportion. `given_mm` above 0; the cable
 * has a way. */
void lengths_give(Routing *routing, CableId cable, double given_mm);

/* What lies at one end of a run (0: where it begins) beyond its path: stub, what is kept, and half
 * of all that is spread along it; never below 0. Both ends and the path sum to what is cut. */
double length_end_mm(const LengthRun *run, int end);

/* Length of a wire of diameter `helix_mm` / pi per turn laid as a helix, over its axis:
 * sqrt(1 + (pi d / lay)^2) - 1, the share that twisting adds. `helix_mm`: diameter of the circle
 * that the middle of the wire runs on. */
double length_twist_share(double helix_mm, double lay_mm);

/* Share that a sag of `sag_mm` in the middle of a span adds to it: 8/3 (sag / span)^2, the flat
 * parabola. */
double length_sag_share(double sag_mm, double span_mm);

#endif
