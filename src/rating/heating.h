/* Heating: how long a conductor stands a current above what it may carry, heat loss included. Goes
 * in: copper area, where its temperature starts and must end, the surroundings, the current it may
 * carry for good. Comes out: seconds, or the temperature after some seconds; both err to the hot
 * side. Between two published laws: short times are the adiabatic I2t (rating/adiabatic.h, the
 * lower of two), endless ones the current of the heat balance (rating/ampacity.h: free air x bundle
 * x altitude). docs/theory/guard.md has the equation. */
#ifndef RATING_HEATING_H
#define RATING_HEATING_H

/* Steps of temperature between start and limit. More of them bring the time closer to the true one,
 * always from below. */
enum { HEATING_SLICES = 8 };

typedef struct HeatingWire {
    double start_degc;
    double limit_degc;
    double carries_a;                 /* for good, at the limit */
    double slice_i2t[HEATING_SLICES]; /* A2s that heat it through each slice when no heat leaves */
    double lost_a2[HEATING_SLICES];   /* square of the current that its cool end gives off */
} HeatingWire;

/* A wire of `area_mm2` that starts at `start_degc`, must stay below `limit_degc` and carries
 * `carries_a` for good in surroundings of `ambient_degc`. Heat leaves as rise^1.25 (free
 * convection; the published lines are flatter and would let more of it leave at a small rise). A
 * start at or above the limit leaves no time at all. */
HeatingWire heating_wire(double area_mm2, double start_degc, double limit_degc, double ambient_degc,
                         double carries_a);

/* Seconds from start to limit at a steady current; INFINITY when it carries that for good. Never
 * more than the heat balance gives, never less than the adiabatic law. */
double heating_time_s(const HeatingWire *wire, double current_a);

/* Temperature after `seconds`, never below the heat balance; beyond the limit as if no heat left,
 * at most the melting point of copper. INFINITY seconds: the limit when it carries the current for
 * good, else the melting point. */
double heating_degc(const HeatingWire *wire, double area_mm2, double current_a, double seconds);

#endif
