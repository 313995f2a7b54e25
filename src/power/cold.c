/* Method: a walk over the rows of one battery, which stand in the order of temperature. */
#include "power/cold.h"

#include <math.h>

ColdFactors cold_factors(const Model *model, uint32_t battery, double cells_degc) {
    ColdFactors factors = {1.0, 1.0, false};
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(model, TABLE_battery_cold, model->set->battery.rows[battery].part, &count);
    if (isnan(cells_degc) || count == 0) {
        return factors;
    }
    factors.known = true;
    const BatteryColdRow *rows = &model->set->battery_cold.rows[first];
    uint32_t above = 0;
    while (above < count && rows[above].cells_degc < cells_degc) {
        above++;
    }
    if (above == count) {
        return factors; /* warmer than every row */
    }
    const BatteryColdRow *low = &rows[above == 0 ? 0 : above - 1];
    const BatteryColdRow *high = &rows[above];
    double span_degc = high->cells_degc - low->cells_degc;
    double share = span_degc > 0.0 ? (cells_degc - low->cells_degc) / span_degc : 0.0;
    double capacity_pct = low->capacity_pct + share * (high->capacity_pct - low->capacity_pct);
    double resistance_pct =
        low->resistance_pct + share * (high->resistance_pct - low->resistance_pct);
    factors.capacity = fmin(1.0, capacity_pct / 100.0);
    factors.resistance = fmax(1.0, resistance_pct / 100.0);
    return factors;
}
