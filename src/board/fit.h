/* What a bundle needs room for: diameter by a real packing of its wires beside the shop's rule, the
 * grommet and the hole for it, heat-shrink and braid over it, bend radii, mass. Goes in: routes and
 * gauges. Comes out: a row for every segment that carries something. Not part of the live chain: a
 * packing takes some 10 ms. docs/theory/bundle.md. */
#ifndef BOARD_FIT_H
#define BOARD_FIT_H

#include "board/packing.h"
#include "route/route.h"

typedef struct FitInput {
    const Model *model;
    const Wiring *wiring;
    const Routing *routing;
    const Bundle *bundles; /* by SegmentId */
    const int32_t *awg;    /* by ConductorId */
    unsigned threads;      /* that pack; 0: one. The answer is the same with any number */
} FitInput;

/* A round thing in a bundle: a single wire, or a cable with all its cores. */
typedef struct FitWire {
    CableId cable;
    ConductorId conductor; /* of a cable its first */
    double diameter_mm;
    double kg_per_m;
    bool heavy; /* clamped apart from the bundle; passes the same hole */
} FitWire;

typedef enum FitVerdict {
    FIT_OPEN,       /* no hole or conduit is given */
    FIT_THROUGH,    /* a packing was found that leaves the room the shop wants */
    FIT_FULL,       /* a packing goes through, with less room */
    FIT_NOT_FOUND,  /* none was found that goes through; none is proved not to */
    FIT_TOO_SMALL,  /* no packing can go through */
    FIT_NOT_PACKED, /* too many wires, or bundles, to pack: not decided */
} FitVerdict;

typedef struct BundleFit {
    uint32_t wire_first; /* into Fits.wires */
    uint32_t wire_count; /* heavy ones last */
    uint32_t heavy;
    double packing_mm;    /* without the heavy ones; NAN: not packed */
    double all_mm;        /* with them */
    double least_mm;      /* without them: no bundle can be thinner; NAN: there is nothing else */
    double least_all_mm;  /* with them */
    double likely_all_mm; /* all_mm; where not packed what the rule along a route gives */
    double rule_mm;       /* the shop's rule, without the heavy ones */
    double bend_mm;
    double supported_mm; /* the same at a supported breakout */
    double kg_per_m;
    uint32_t grommet; /* row of `grommet`; ID_NONE: none of the library is large enough */
    uint32_t shrink;  /* row of `sleeve` */
    uint32_t braid;
    FitVerdict verdict;
} BundleFit;

typedef struct Fits {
    FitWire *wires;
    uint32_t wire_count;
    BundleFit *bundles; /* by SegmentId; wire_count 0: nothing runs there */
} Fits;

/* Limits read from the library. */
#define FIT_LIMIT_SUPPORTED "bend_supported"

/* Packs every segment's bundle; equal sets of diameters once; of more than 150 sets those with a
 * given hole and then the thickest (the others have no packing). Holes, sleeves and grommets go by
 * the larger of packing and rule, without heavy cables, which are clamped apart; a given hole or
 * conduit must let everything through that runs there. Findings: bundle.hole, only where
 * route.fill, which goes by the rule, has nothing to say. */
void fit_run(Arena *out, const FitInput *input, Fits *fits, Findings *findings);

/* Fills the table bundle_fit. */
void fit_rows(Arena *arena, const Model *model, const Fits *fits, TableSet *out);

/* The segments with most wires that are packed, thickest bundle first, no two with the same wires:
 * at most `most` of them into `segments`. Returns how many. */
uint32_t fit_largest(const Model *model, const Fits *fits, SegmentId *segments, uint32_t most);

/* The things in every segment, without packing them (bundles[].packing_mm is NAN). */
void fit_gather(Arena *out, const FitInput *input, Fits *fits);

const char *fit_verdict_text(FitVerdict verdict);

#endif
