#include "rating/resistance.h"

#include "base/check.h"
#include "base/units.h"

/* 100 % IACS copper at 20 degC as the American tables write it. */
#define COPPER_OHM_CMIL_PER_FT 10.371
#define COPPER_KG_PER_KM_MM2 8.89

double resistance_zero_degc(RatingMetal metal) {
    switch (metal) {
    case METAL_COPPER:
        return 234.5;
    case METAL_ALUMINIUM:
        return 238.1;
    case METAL_COUNT:
        break;
    }
    CHECK(!"a metal of the list");
    return 0.0;
}

double resistance_ratio(RatingMetal metal, double t_degc) {
    double zero = resistance_zero_degc(metal);
    return (zero + t_degc) / (zero + 20.0);
}

double resistance_at(RatingMetal metal, double ohm_20, double t_degc) {
    return ohm_20 * resistance_ratio(metal, t_degc);
}

/* --- solid wire by gauge -------------------------------------------------------------------------
 */

double awg_diameter_in(int awg) {
    CHECK(awg >= UNITS_AWG_THICKEST && awg <= UNITS_AWG_THINNEST);
    return 0.005 * pow(92.0, (36.0 - awg) / 39.0);
}

double awg_diameter_mm(int awg) {
    return units_mm_from_in(awg_diameter_in(awg));
}

double awg_area_cmil(int awg) {
    return stranded_area_cmil(1, awg_diameter_in(awg));
}

double awg_area_mm2(int awg) {
    return units_mm2_from_cmil(awg_area_cmil(awg));
}

double awg_solid_ohm_per_km(int awg, double t_degc) {
    return resistance_copper_ohm_per_km(awg_area_cmil(awg), t_degc);
}

double resistance_copper_kg_per_km(double area_mm2) {
    return area_mm2 * COPPER_KG_PER_KM_MM2;
}

RatingValue awg_for_area(double cmil) {
    /* Rounding must not push an exact gauge to the next one. */
    const double rounding = 1e-9;
    for (int awg = UNITS_AWG_THINNEST; awg >= UNITS_AWG_THICKEST; awg--) {
        if (awg_area_cmil(awg) * (1.0 + rounding) >= cmil) {
            return rating_published(awg);
        }
    }
    return rating_not_proved();
}

/* --- stranded wire
 * -------------------------------------------------------------------------------- */

double stranded_area_cmil(unsigned strands, double strand_in) {
    double mils = strand_in * 1000.0;
    return strands * mils * mils;
}

double resistance_copper_ohm_per_km(double area_cmil, double t_degc) {
    double ohm_per_kft = COPPER_OHM_CMIL_PER_FT * 1000.0 / area_cmil;
    return resistance_at(METAL_COPPER, units_ohm_per_km_from_ohm_per_kft(ohm_per_kft), t_degc);
}
