/* Plain voltage drop along a run and the limits on it. Goes in: ohm/km, metres, amperes, rows of
 * limits. Comes out: volts, the longest run, the thinnest gauge. The run is the whole conductor,
 * the wired return counted in, as FAA AC 43.13-1B counts it (Tables 11-7 and 11-8, p. 11-22;
 * opened): Vd = ohm per length * length * current (F1). Hot copper comes in through the ohm/km
 * (rating/resistance.h). */
#ifndef RATING_DROP_H
#define RATING_DROP_H

#include <stdbool.h>
#include <stddef.h>

#include "rating/curve.h"

/* Vd in volts. AC 43.13-1B Tables 11-7, 11-8; opened. */
double drop_v(double ohm_per_km, double length_m, double current_a);

/* The longest run that keeps the drop within `limit_v`; INFINITY without resistance or current. */
double drop_longest_m(double ohm_per_km, double current_a, double limit_v);

typedef struct DropGauge {
    int awg;
    double ohm_per_km; /* at the conductor temperature meant */
} DropGauge;

/* The thinnest gauge of `rows` (any order) that keeps the drop within `limit_v`: the row's index,
 * or `count` when none does. AC 43.13-1B par. 11-68 example 1, p. 11-26; opened. */
size_t drop_thinnest(const DropGauge *rows, size_t count, double length_m, double current_a,
                     double limit_v);

typedef struct DropLimit {
    double nominal_v;      /* as printed: 14, 28, 115, 200 */
    double continuous_v;   /* NAN: not at hand */
    double intermittent_v; /* NAN: not at hand, the continuous limit is then used */
} DropLimit;

typedef enum DropDuty { DUTY_CONTINUOUS, DUTY_INTERMITTENT } DropDuty;

/* Allowed drop, bus to the equipment's ground, at a nominal system voltage. AC 43.13-1B
 * Table 11-6, p. 11-21 (continuous column opened, most of the intermittent one from memory). A
 * voltage that has no row is not proved. An intermittent limit that is not at hand falls back on
 * the stricter continuous one, as derived. */
RatingValue drop_limit_v(const DropLimit *rows, size_t count, double nominal_v, DropDuty duty);

/* Share of the regulated voltage that a main feeder may lose with the generator at rated current
 * or the battery at its 5-minute rate: 2 % (AC 43.13-1B section 5, formula F8; opened). */
#define DROP_MAIN_FEEDER_SHARE 0.02

/* The same in volts. */
double drop_main_feeder_limit_v(double regulated_v);

#endif
