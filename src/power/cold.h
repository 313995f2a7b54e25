/* Cold: what is left of a battery when its cells are cold. In: its `battery_cold` rows and a
 * temperature. Out: the share of its capacity and the multiple of its resistance, by straight lines
 * between the rows. The rows are memory, and only ever make a result stricter: no factor is better
 * than at the reference. docs/theory/time.md. */
#ifndef POWER_COLD_H
#define POWER_COLD_H

#include "model/model.h"

typedef struct ColdFactors {
    double capacity;   /* of the rated capacity, at most 1 */
    double resistance; /* times the library's, at least 1 */
    bool known;        /* false: no temperature is given, or the library has no row: both are 1 */
} ColdFactors;

/* Of row `battery` of `battery` with cells at `cells_degc` (NAN: not given). Below the coldest row
 * that row holds, above the warmest nothing is lost. */
ColdFactors cold_factors(const Model *model, uint32_t battery, double cells_degc);

#endif
