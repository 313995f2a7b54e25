/* How many amperes a copper wire may carry without its insulation getting too hot, and how hot it
 * gets. Goes in: rows read off the published figures, temperature rise, wires in the bundle, their
 * loading, pressure altitude. Comes out: amperes, degC, and the basis of each.
 * Method of FAA AC 43.13-1B par. 11-66..11-69: free-air current * altitude factor * bundle factor;
 * its figures are those of MIL-W-5088L, read there. docs/theory/ampacity.md has the equations, the
 * disagreements between sources and a worked example. */
#ifndef RATING_AMPACITY_H
#define RATING_AMPACITY_H

#include <stddef.h>

#include "rating/curve.h"
#include "rating/resistance.h"

/* --- one wire in free air ------------------------------------------------------------------------
 */

/* A line of the free-air figure: I = b * rise^m, rise = wire rating minus ambient in kelvin.
 * MIL-W-5088L Fig. 3, digitised to about 2 % by an independent note (opened second-hand). */
typedef struct AmpacityLine {
    int awg;
    double area_cmil;
    double b;
    double m;
} AmpacityLine;

/* First and last rise at which the lines were read. */
#define AMPACITY_RISE_READ_FROM 30.0
#define AMPACITY_RISE_READ_TO 250.0

/* Free-air amperes of a gauge that has a line. Between 30 and 250 K published. Below 30 K derived:
 * the line's own current at 30 K times (rise/30)^0.625, the law of free convection (heat flow ~
 * rise^1.25), which falls faster than the line. Above 250 K derived: the current at 250 K. No rise
 * or less: 0 A, published (nothing may be carried). */
RatingValue ampacity_free_air(const AmpacityLine *line, double rise_k);

/* A law over all gauges at once: I = a * cmil^p * (rise/rise_at)^n. Ours has a = exp(-1.5539), p =
 * 0.6475, rise_at = 130, n = 0.488, fitted on the five points of the AC's figure that are printed
 * as text (derived; within 1.4 % of them). */
typedef struct AmpacityLaw {
    double a;
    double p;
    double rise_at_k;
    double n;
} AmpacityLaw;

/* Amperes by the law. */
double ampacity_law_a(const AmpacityLaw *law, double area_cmil, double rise_k);

/* Free-air amperes of any conductor area from the lines of the figure, sorted from thin to thick.
 * On a line's own area as ampacity_free_air. Between two lines: power law in the area (derived).
 * Thicker than the last: from the last line along the mean slope of all lines (least squares of
 * log I over log area), or the law when that is lower (derived). Thinner than the first: not
 * proved. `law` may be NULL. At least two lines. */
RatingValue ampacity_free_air_by_area(const AmpacityLine *lines, size_t count,
                                      const AmpacityLaw *law, double area_cmil, double rise_k);

/* --- bundle --------------------------------------------------------------------------------------
 */

/* A point of the bundle curves: factor on the free-air current by wires in the bundle and percent
 * of the harness' capacity in use. MIL-W-5088L bundle figure = AC 43.13-1B Fig. 11-5. */
typedef struct AmpacityBundlePoint {
    double wires;
    double percent;
    double factor;
} AmpacityBundlePoint;

typedef struct AmpacityBundleTable {
    const AmpacityBundlePoint *points; /* sorted by wires, then percent, no pair twice */
    size_t count;
} AmpacityBundleTable;

/* Factor for `wires` (one or more) at `percent`. Straight lines in percent and between wire counts
 * (published). Below the lowest percent: the lowest percent's factor (derived; the true one is
 * higher). Above 100 %: not proved. More wires than the last row that reaches this percent:
 * 1/(1 + g*((N-1)/(L-1))^0.89) with 1 + g = 1/factor of that last row L: derived; 0.89 is the
 * steepest of the curves' own tails (10 to 20 wires at 20 %), so it errs low at the other loads.
 * Never below 20 wires: there the table itself speaks. */
RatingValue ampacity_bundle_factor(AmpacityBundleTable table, double wires, double percent);

/* --- altitude ------------------------------------------------------------------------------------
 */

/* Factor at a pressure altitude in feet, from published points (x feet, y factor). Between points
 * the lower of the chord and the parabola through the three nearest points (the curve is hollow,
 * the chord lies above it). Below the first point: its factor. Above the last: not proved.
 * AC 43.13-1B Fig. 11-6 (Example 2 on p. 11-27 calls it 11-5); 20,000 ft opened, 60,000 ft memory.
 */
RatingValue ampacity_altitude_factor(RatingCurve points_ft, double altitude_ft);

/* --- what may flow -------------------------------------------------------------------------------
 */

/* Imax = free air * altitude factor * bundle factor (AC 43.13-1B par. 11-68, Example 2, p. 11-27;
 * opened), with the weakest basis of the three. */
RatingValue ampacity_allowed(RatingValue free_air_a, RatingValue altitude_factor,
                             RatingValue bundle_factor);

/* The published worst-bundle current (AC 43.13-1B Table 11-9, p. 11-23; opened): points x = wire
 * rating in degC, y = amperes. A wire between two columns takes the lower one; below the first
 * column not proved. Basis of that table: 70 degC ambient, 60,000 ft, 20 % of capacity, 33 or more
 * wires for 24..10 AWG, 9 wires for 8 AWG and thicker. */
RatingValue ampacity_worst_bundle_a(RatingCurve amps_by_rating, double rating_degc);

/* Harness total: sum of n_i * Imax_i times percent/100 (par. 11-69 example 1; memory). */
typedef struct AmpacityGroup {
    double wires;
    double allowed_a;
} AmpacityGroup;

double ampacity_harness_total_a(const AmpacityGroup *groups, size_t count, double percent);

/* --- how hot, how far ----------------------------------------------------------------------------
 */

/* T2 = T1 + (TR - T1)*sqrt(I2/Imax): conductor temperature under load (AC 43.13-1B
 * par. 11-66d(6), p. 11-23; symbols opened, the radical from memory and confirmed by Example 2).
 * Above Imax the rise is taken as (I2/Imax)^2, heat over heat, which is the higher there (derived).
 */
double ampacity_conductor_degc(double ambient_degc, double rating_degc, double current_a,
                               double allowed_a);

/* The same from the figure's own law: rise = (TR - T1)*(I2/Imax)^(1/m), m the exponent of the
 * wire's line (derived: the inverse of I = b*rise^m). Cooler than the AC's formula below Imax; for
 * a solution that must not err on the side of too much resistance. */
double ampacity_conductor_degc_by_line(double ambient_degc, double rating_degc, double current_a,
                                       double allowed_a, double m);

/* L2 = (zero + 20)*L1/(zero + T2): the run that keeps the drop of a chart made for 20 degC when
 * the conductor is at T2 (AC 43.13-1B par. 11-66d(4), p. 11-22; parentheses misprinted there, the
 * form follows from R ~ zero + T). */
double ampacity_length_at(RatingMetal metal, double length_at_20_m, double t2_degc);

/* --- space-flight rules: cross-checks only
 * -------------------------------------------------------- */

/* MIL-STD-975M app. A 3.16: 1 for one wire, (29-N)/28 for 2..15, 0.5 above (opened second-hand). */
double ampacity_space_bundle_factor(unsigned wires);

/* Single-wire amperes * bundle factor * insulation factor; points x = insulation rating in degC,
 * y = factor, a rating between two rows taking the lower (same paragraph). */
RatingValue ampacity_space_a(double single_a, unsigned wires, RatingCurve factor_by_insulation,
                             double insulation_degc);

/* One wire in vacuum, radiating only: I = sqrt(e*sigma*pi*D*(Tw^4-Te^4)/(R20*(1+Ct*(Tw-293.15))))
 * (ECSS-Q-ST-30-11C cl. 6.32.4; opened second-hand). D outer diameter, R20 ohm per metre at 20
 * degC, e emissivity, Ct per kelvin. */
typedef struct AmpacityVacuum {
    double diameter_m;
    double ohm_20_per_m;
    double surroundings_degc;
    double wire_degc;
    double emissivity;
    double per_kelvin;
} AmpacityVacuum;

double ampacity_vacuum_a(const AmpacityVacuum *wire);

#endif
