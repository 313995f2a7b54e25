/* Resistance and geometry of wires. Goes in: gauge, strands, temperature. Comes out: diameter,
 * area, ohm/km, kg/km.
 * Gauge: d = 0.005 in * 92^((36-n)/39) (definition of the American wire gauge, ASTM B258; opened
 * as a table, the formula from memory and equal to every row of it).
 * Copper: 10.371 ohm-cmil/ft at 20 degC (100 % IACS; memory, agrees with the opened 25 and 65 degC
 * columns), R ~ 234.5 + T; aluminium R ~ 238.1 + T (FAA AC 43.13-1B par. 11-66d(4); opened). */
#ifndef RATING_RESISTANCE_H
#define RATING_RESISTANCE_H

#include <stddef.h>

#include "rating/curve.h"

typedef enum RatingMetal { METAL_COPPER, METAL_ALUMINIUM, METAL_COUNT } RatingMetal;

/* Temperature (degC below zero) where the metal's straight-line resistance would vanish: 234.5 for
 * copper, 238.1 for aluminium. */
double resistance_zero_degc(RatingMetal metal);

/* Resistance at `t_degc` over resistance at 20 degC: (zero + t)/(zero + 20). */
double resistance_ratio(RatingMetal metal, double t_degc);

/* `ohm_20` (any unit of resistance or resistance per length, at 20 degC) taken to `t_degc`. */
double resistance_at(RatingMetal metal, double ohm_20, double t_degc);

/* --- solid wire by gauge (ASTM B258) -------------------------------------------------------------
 */

double awg_diameter_mm(int awg);
double awg_diameter_in(int awg);
double awg_area_mm2(int awg);
double awg_area_cmil(int awg);

/* Solid annealed copper of that gauge. A stranded wire has more (lay, tin): use its own table row
 * where there is one. */
double awg_solid_ohm_per_km(int awg, double t_degc);

/* Bare copper of that area, 8.89 g/cm3 (memory; ASTM B258 table). */
double resistance_copper_kg_per_km(double area_mm2);

/* The thinnest gauge whose solid area is not below `cmil`: the gauge to crimp for several wires in
 * one barrel, whose circular mils are added (NASA-STD-8739.4 par. 19.11, p. 86; opened). Not
 * proved above 4/0; the value is the gauge number. */
RatingValue awg_for_area(double cmil);

/* --- stranded wire
 * -------------------------------------------------------------------------------- */

/* `strands` strands of `strand_in` diameter: n*(1000 d)^2 circular mils (definition). */
double stranded_area_cmil(unsigned strands, double strand_in);

/* Copper of that area at `t_degc` without allowance for lay or tin: a lower bound. */
double resistance_copper_ohm_per_km(double area_cmil, double t_degc);

#endif
