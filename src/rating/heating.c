#include "rating/heating.h"

#include <math.h>

#include "base/units.h"
#include "rating/adiabatic.h"

/* Method: copper's heat for one slice of temperature is the adiabatic law's I2t of that slice.
 * While the wire is in the slice it gives off at least what it gives off at the slice's cool end,
 * so the slice lasts at least i2t / (I^2 - lost). */

/* Current ~ root of the heat flow ~ rise^(1.25/2). */
#define LOSS_EXPONENT 0.625

HeatingWire heating_wire(double area_mm2, double start_degc, double limit_degc, double ambient_degc,
                         double carries_a) {
    HeatingWire wire = {.start_degc = start_degc, .limit_degc = limit_degc, .carries_a = carries_a};
    double span_k = limit_degc - start_degc;
    if (!(span_k > 0.0)) {
        return wire;
    }
    double rise_k = limit_degc - ambient_degc;
    for (int i = 0; i < HEATING_SLICES; i++) {
        double from_degc = start_degc + span_k * i / HEATING_SLICES;
        double to_degc = start_degc + span_k * (i + 1) / HEATING_SLICES;
        wire.slice_i2t[i] = adiabatic_safer_i2t(area_mm2, from_degc, to_degc);
        double share = rise_k > 0.0 ? fmax(from_degc - ambient_degc, 0.0) / rise_k : 0.0;
        wire.lost_a2[i] = carries_a * carries_a * pow(fmin(share, 1.0), 2.0 * LOSS_EXPONENT);
    }
    return wire;
}

double heating_time_s(const HeatingWire *wire, double current_a) {
    if (!(wire->limit_degc > wire->start_degc)) {
        return 0.0;
    }
    if (current_a <= wire->carries_a) {
        return (double)INFINITY;
    }
    double seconds = 0.0;
    double squared_a2 = current_a * current_a;
    for (int i = 0; i < HEATING_SLICES; i++) {
        seconds += wire->slice_i2t[i] / (squared_a2 - wire->lost_a2[i]);
    }
    return seconds;
}

double heating_degc(const HeatingWire *wire, double area_mm2, double current_a, double seconds) {
    double squared_a2 = current_a * current_a;
    double step_k = (wire->limit_degc - wire->start_degc) / HEATING_SLICES;
    double left_s = seconds;
    for (int i = 0; step_k > 0.0 && i < HEATING_SLICES; i++) {
        double gain_a2 = squared_a2 - wire->lost_a2[i];
        if (!(gain_a2 > 0.0)) {
            return wire->start_degc + step_k * (i + 1); /* it settles somewhere in this slice */
        }
        double slice_s = wire->slice_i2t[i] / gain_a2;
        if (left_s < slice_s) {
            return wire->start_degc + step_k * (i + left_s / slice_s);
        }
        left_s -= slice_s;
    }
    if (isinf(left_s)) {
        return current_a <= wire->carries_a ? wire->limit_degc : ADIABATIC_COPPER_MELTS_DEGC;
    }
    /* The insulated cable engineers' law turned round, from the limit on. */
    double cmil = units_cmil_from_mm2(area_mm2);
    double from_degc = fmax(wire->limit_degc, wire->start_degc);
    double degc = (from_degc + 234.0) * pow(10.0, squared_a2 * left_s / (0.0297 * cmil * cmil));
    return fmin(degc - 234.0, ADIABATIC_COPPER_MELTS_DEGC);
}
