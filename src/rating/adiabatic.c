#include "rating/adiabatic.h"

#include <math.h>

#include "base/units.h"

double adiabatic_icea_i2t(double area_cmil, double t1_degc, double t2_degc) {
    return area_cmil * area_cmil * 0.0297 * log10((t2_degc + 234.0) / (t1_degc + 234.0));
}

double adiabatic_iec_k(double ti_degc, double tf_degc) {
    return 226.0 * sqrt(log(1.0 + (tf_degc - ti_degc) / (234.5 + ti_degc)));
}

double adiabatic_iec_i2t(double area_mm2, double ti_degc, double tf_degc) {
    double k = adiabatic_iec_k(ti_degc, tf_degc);
    return k * k * area_mm2 * area_mm2;
}

double adiabatic_safer_i2t(double area_mm2, double t1_degc, double t2_degc) {
    return fmin(adiabatic_iec_i2t(area_mm2, t1_degc, t2_degc),
                adiabatic_icea_i2t(units_cmil_from_mm2(area_mm2), t1_degc, t2_degc));
}

double adiabatic_current_a(double i2t, double seconds) {
    return sqrt(i2t / seconds);
}

double adiabatic_time_s(double i2t, double current_a) {
    return i2t / (current_a * current_a);
}

double adiabatic_onderdonk_a(double area_cmil, double seconds, double ta_degc, double tm_degc) {
    return area_cmil *
           sqrt(log10((tm_degc - ta_degc) / (234.0 + ta_degc) + 1.0) / (33.0 * seconds));
}

double adiabatic_preece_a(double diameter_in) {
    return 10244.0 * pow(diameter_in, 1.5);
}
