/* Units: the only place where one unit becomes another. Inside the program lengths are metres or
 * millimetres, forces newtons, temperatures degrees Celsius, resistances ohm/km, masses kg/km;
 * American tables and what people write come in and go out through these functions.
 * Definitions: international foot, pound and pound-force of 1959 (NIST SP 811, appendix B). */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#include <stdbool.h>
#include <stddef.h>

#define UNITS_PI 3.14159265358979323846
#define UNITS_MM_PER_IN 25.4
#define UNITS_M_PER_FT 0.3048
#define UNITS_N_PER_LBF 4.4482216152605
#define UNITS_KG_PER_LB 0.45359237
#define UNITS_M_PER_NAUTICAL_MILE 1852.0
#define UNITS_KELVIN_AT_0_DEGC 273.15
/* 1 circular mil: the area of a circle of 0.001 in = 0.0254 mm. */
#define UNITS_MM2_PER_CMIL (UNITS_PI / 4.0 * 0.0254 * 0.0254)

/* --- length --------------------------------------------------------------------------------------
 */

static inline double units_mm_from_in(double in) {
    return in * UNITS_MM_PER_IN;
}

static inline double units_in_from_mm(double mm) {
    return mm / UNITS_MM_PER_IN;
}

static inline double units_m_from_in(double in) {
    return in * (UNITS_MM_PER_IN / 1000.0);
}

static inline double units_in_from_m(double m) {
    return m / (UNITS_MM_PER_IN / 1000.0);
}

static inline double units_m_from_ft(double ft) {
    return ft * UNITS_M_PER_FT;
}

static inline double units_ft_from_m(double m) {
    return m / UNITS_M_PER_FT;
}

static inline double units_m_from_mm(double mm) {
    return mm / 1000.0;
}

static inline double units_mm_from_m(double m) {
    return m * 1000.0;
}

/* --- area ----------------------------------------------------------------------------------------
 */

static inline double units_mm2_from_cmil(double cmil) {
    return cmil * UNITS_MM2_PER_CMIL;
}

static inline double units_cmil_from_mm2(double mm2) {
    return mm2 / UNITS_MM2_PER_CMIL;
}

/* --- force, mass ---------------------------------------------------------------------------------
 */

static inline double units_n_from_lbf(double lbf) {
    return lbf * UNITS_N_PER_LBF;
}

static inline double units_lbf_from_n(double n) {
    return n / UNITS_N_PER_LBF;
}

static inline double units_kg_from_lb(double lb) {
    return lb * UNITS_KG_PER_LB;
}

static inline double units_lb_from_kg(double kg) {
    return kg / UNITS_KG_PER_LB;
}

/* --- per length: "kft" is 1000 ft ---------------------------------------------------------------
 */

static inline double units_ohm_per_km_from_ohm_per_kft(double ohm_per_kft) {
    return ohm_per_kft / UNITS_M_PER_FT;
}

static inline double units_ohm_per_kft_from_ohm_per_km(double ohm_per_km) {
    return ohm_per_km * UNITS_M_PER_FT;
}

static inline double units_kg_per_km_from_lb_per_kft(double lb_per_kft) {
    return lb_per_kft * (UNITS_KG_PER_LB / UNITS_M_PER_FT);
}

static inline double units_lb_per_kft_from_kg_per_km(double kg_per_km) {
    return kg_per_km / (UNITS_KG_PER_LB / UNITS_M_PER_FT);
}

static inline double units_db_per_m_from_db_per_100ft(double db_per_100ft) {
    return db_per_100ft / (100.0 * UNITS_M_PER_FT);
}

static inline double units_db_per_100ft_from_db_per_m(double db_per_m) {
    return db_per_m * (100.0 * UNITS_M_PER_FT);
}

/* --- temperature ---------------------------------------------------------------------------------
 */

static inline double units_degc_from_degf(double degf) {
    return (degf - 32.0) / 1.8;
}

static inline double units_degf_from_degc(double degc) {
    return degc * 1.8 + 32.0;
}

static inline double units_kelvin_from_degc(double degc) {
    return degc + UNITS_KELVIN_AT_0_DEGC;
}

/* --- angle ---------------------------------------------------------------------------------------
 */

static inline double units_rad_from_deg(double deg) {
    return deg * (UNITS_PI / 180.0);
}

static inline double units_deg_from_rad(double rad) {
    return rad * (180.0 / UNITS_PI);
}

/* --- American wire gauge as a number -------------------------------------------------------------
 */

/* Gauges are whole numbers that fall as the wire grows: 24, 22 ... 1, then 0 for 1/0, -1 for 2/0,
 * -2 for 3/0, -3 for 4/0. The range is that of ASTM B258. */
#define UNITS_AWG_THICKEST (-3)
#define UNITS_AWG_THINNEST 56

/* Reads "22", "0", "00", "000", "0000", "1/0" ... "4/0", with or without " AWG" behind it (any
 * case); the whole text must be used up. false, and *awg untouched, when it is no gauge. */
bool units_awg_parse(const char *text, int *awg);

/* Writes "22" or, for 1/0 and thicker, "1/0" ... "4/0"; room for UNITS_AWG_TEXT bytes. A number
 * that is no gauge is our own error. Returns text. */
#define UNITS_AWG_TEXT 8
char *units_awg_format(int awg, char text[UNITS_AWG_TEXT]);

#endif
