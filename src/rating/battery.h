/* Batteries: how long one lasts, how full it is. Goes in: capacity, load steps, resting volts,
 * published tables. Comes out: hours, minutes, percent, or "ambiguous" where published tables
 * disagree too much to say. docs/theory/battery.md. */
#ifndef RATING_BATTERY_H
#define RATING_BATTERY_H

#include <stdbool.h>
#include <stddef.h>

#include "rating/curve.h"

/* --- Peukert -------------------------------------------------------------------------------------
 */

/* t = Cp/I^k in hours; Cp is the capacity at 1 A (two worked examples; opened). */
double battery_one_amp_h(double capacity_ah, double current_a, double k);

/* t = H*(C/(I*H))^k in hours; C is the capacity at its rated H hours (algebraically the same as
 * C*(C/R)^(k-1)/I^k; opened). */
double battery_rated_h(double capacity_ah, double rated_h, double current_a, double k);

/* Ampere-hours really drawn: current times the time of the one-amp form (opened). */
double battery_one_amp_drawn_ah(double capacity_ah, double current_a, double k);

/* --- endurance -----------------------------------------------------------------------------------
 */

typedef struct BatteryStep {
    double current_a;
    double minutes;
} BatteryStep;

typedef struct BatteryEndurance {
    double total_min;   /* fixed steps and what is left between them */
    double open_min;    /* the part at the open-ended current */
    bool fixed_covered; /* false: the battery is flat before the fixed steps are over */
} BatteryEndurance;

/* Minutes from `capacity_ah * usable` when the fixed steps (before shedding, landing) are reserved
 * first and the rest is spent at `open_a`. Without enough for the fixed steps: they are walked in
 * order until it is flat. `open_a` of 0 gives INFINITY. Worked example of an installation manual
 * (p. 3-38; opened). */
BatteryEndurance battery_endurance(double capacity_ah, double usable, const BatteryStep *fixed,
                                   size_t count, double open_a);

/* --- state of charge -----------------------------------------------------------------------------
 */

/* Percent from resting volts (or specific gravity) by straight lines of one table, x = volts.
 * Above the last: 100 %'s row value (derived); below the first: the first row's (derived). */
RatingValue battery_charge_percent(RatingCurve percent_by_reading, double reading);

/* Resting volts from percent, the same table read the other way; not proved outside it. */
RatingValue battery_rest_v(RatingCurve percent_by_volts, double percent);

/* One published table with its ranges: the least and the most charge at a voltage. For a table
 * without ranges the two are the same. */
typedef struct BatteryChargeTable {
    RatingCurve least_by_volts;
    RatingCurve most_by_volts;
} BatteryChargeTable;

typedef enum BatteryVerdict {
    BATTERY_CLEAR,     /* the tables agree within the spread allowed */
    BATTERY_AMBIGUOUS, /* they don't: voltage alone says nothing here */
    BATTERY_NOT_IN_TABLES
} BatteryVerdict;

typedef struct BatteryCharge {
    double least_percent; /* lowest that any table allows; what a caller may count on */
    double most_percent;
    BatteryVerdict verdict;
} BatteryCharge;

/* What several tables together say about a resting voltage: the union of what those that reach the
 * voltage say; ambiguous when it is wider than `spread_percent`. */
BatteryCharge battery_charge_by_tables(const BatteryChargeTable *tables, size_t count,
                                       double rest_v, double spread_percent);

/* --- lead acid -----------------------------------------------------------------------------------
 */

/* A 12 V battery's resting voltage as it would read at 80 degF: 0.024 V is added per 10 degF above
 * it and taken off below (published beside one of the charge tables; opened). `cells` of a 12 V
 * battery are 6; others in proportion. */
double battery_lead_acid_v_at_reference(double measured_v, double electrolyte_degc, unsigned cells);

/* Specific gravity as at 80 degF: 0.004 per 10 degF, same source. */
double battery_lead_acid_gravity_at_reference(double measured, double electrolyte_degc);

/* Resting volts of one cell from specific gravity, about SG + 0.84 (opened). */
double battery_lead_acid_cell_v(double gravity);

#endif
