/* Ground return: resistance of the metal between the ground of a battery or alternator and the
 * ground of any box: structure, bonds, cables between ground points (limit `return_path`). */
#ifndef POWER_GROUND_RETURN_H
#define POWER_GROUND_RETURN_H

#include "power/build.h"

/* Resistance in ohm from the ground of source row `source` to ground point `owner`; INFINITY when
 * no metal leads there. The ground of a source is the ground point its minus is wired to, or its
 * case. */
typedef struct GroundReturn {
    OwnerId point;   /* ground point at which boxes return */
    uint32_t source; /* the source it is worst to */
    double ohm;
} GroundReturn;

/* One entry for each ground point at which a box returns and that metal joins to a source. Arrays
 * in `out`; *rows gets the list; returns the count. */
uint32_t ground_return_list(Arena *out, const Model *model, const Wiring *wiring,
                            const PowerNetwork *built, GroundReturn **rows);

/* Findings: solve.ground_return. */
void ground_return_check(const Model *model, const Wiring *wiring, const PowerNetwork *built,
                         Findings *findings);

#endif
