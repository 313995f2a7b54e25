/* Wire rows by gauge, looked up once per pass. */
#ifndef ROUTE_GAUGES_H
#define ROUTE_GAUGES_H

#include "base/units.h"
#include "route/route.h"

#define GAUGES_COUNT (UNITS_AWG_THINNEST - UNITS_AWG_THICKEST + 1)

typedef struct RouteGauges {
    uint32_t wire[GAUGES_COUNT]; /* row of `wire` by gauge - UNITS_AWG_THICKEST; ID_NONE: none */
} RouteGauges;

void gauges_read(const Model *model, RouteGauges *gauges);

/* The row for a gauge, NULL when there is none. */
const WireRow *gauges_wire(const Model *model, const RouteGauges *gauges, int32_t awg);

/* Sum of squared diameters and mass per metre of a laid piece. */
double gauges_square_mm2(const Model *model, const Wiring *wiring, const RouteGauges *gauges,
                         CableId cable, const int32_t *awg);
double gauges_kg_per_m(const Model *model, const Wiring *wiring, const RouteGauges *gauges,
                       CableId cable, const int32_t *awg);

#endif
