/* Small rules of the published regulations, one function each: what must be there, what may not be
 * exceeded, when something is due. Goes in: numbers of the aircraft. Comes out: a number or a
 * verdict; each names its paragraph. The sections 23.13xx and 23.15xx were replaced in 2017 and are
 * used as good practice (memory); their texts were opened. */
#ifndef RATING_REQUIRED_H
#define RATING_REQUIRED_H

#include <stdbool.h>
#include <stddef.h>

#include "rating/curve.h"

/* --- supply --------------------------------------------------------------------------------------
 */

/* Spare fuses to carry of one rating, of which `fitted` can be replaced in flight: the greater of
 * one and half of them, rounded up (14 CFR 23.1357(e)). None for none. */
unsigned required_spare_fuses(unsigned fitted);

/* Spares of one kind for night flight: a full set, or three of each kind (14 CFR 91.205(c)(6)):
 * the fewer. */
unsigned required_spare_fuses_night(unsigned fitted);

/* Share of a generator's rating that continuous load may use without placards or monitoring
 * (FAA AC 43.13-1B par. 11-35a, p. 11-12). */
#define REQUIRED_GENERATOR_SHARE 0.80
bool required_generator_accepted(double rated_a, double continuous_a);

/* Minutes the battery must carry the essential loads: 30 up to 25,000 ft, 60 above
 * (14 CFR 23.1353(h); the split and the 60 minutes from memory). */
double required_battery_min(double certified_ceiling_ft);

/* A circuit that stays live with the master switch off: allowed when the engine needs it, or when
 * it is protected at 5 A or less next to the source (14 CFR 23.1361(b)(2)). */
#define REQUIRED_HOT_CIRCUIT_A 5.0
bool required_hot_circuit_accepted(double protected_at_a, bool engine_needs_it);

/* Two or more such circuits may not feed one load with more than 5 A together. */
bool required_hot_sum_accepted(const double *protected_at_a, size_t count);

/* Bus voltage below which the low-voltage warning must show: 13 V in a 14 V system, 26 V in a 28 V
 * one (AC 43.13-1B par. 11-35b, p. 11-12). Other systems not proved. */
RatingValue required_low_volt_warning_v(double nominal_v);

/* --- bonding -------------------------------------------------------------------------------------
 */

/* Three different limits on three different things, not three opinions about one. */
typedef enum RequiredBond {
    BOND_FRAME,  /* exposed equipment frame to structure: 2.5 milliohm (AC 11-188f, p. 11-74) */
    BOND_JUMPER, /* each connection of a jumper: 3 milliohm (AC 11-189, p. 11-75) */
    BOND_RETURN, /* source ground to any device ground: 5 milliohm (handbook, powerplant wiring) */
    BOND_STATIC, /* isolated part over 3 in2 and 3 in long: 1 ohm (AC 11-187c, p. 11-73) */
    BOND_COUNT
} RequiredBond;

double required_bond_limit_ohm(RequiredBond bond);
bool required_bond_accepted(RequiredBond bond, double measured_ohm);

/* --- flight rules --------------------------------------------------------------------------------
 */

typedef enum RequiredOxygen {
    OXYGEN_NONE,
    OXYGEN_CREW,    /* required flight crew must use it */
    OXYGEN_EVERYONE /* crew use it, and each occupant is provided with it */
} RequiredOxygen;

/* By cabin pressure altitude and minutes spent there (14 CFR 91.211(a)): above 12,500 ft up to
 * 14,000 ft the crew after 30 minutes; above 14,000 ft the crew always; above 15,000 ft everyone.
 */
RequiredOxygen required_oxygen(double cabin_ft, double minutes);

/* Reported altitude within 125 ft of the altimeter (14 CFR 91.217). */
bool required_altitude_report_accepted(double altimeter_ft, double reported_ft);

/* Locator beacon battery: replace after more than one hour of cumulative use, or when half of its
 * useful life is over (14 CFR 91.207(c)). */
bool required_beacon_battery_replace(double used_min, double life_used_share);

/* Compass deviation: above 10 degrees needs a placard and a stabilised or gyro direction source
 * (14 CFR 23.1327, 23.1547(e)). */
typedef enum RequiredCompass {
    COMPASS_ACCEPTED,
    COMPASS_NEEDS_PLACARD_AND_SECOND_SOURCE
} RequiredCompass;

RequiredCompass required_compass(double deviation_deg);

/* Headings on the deviation card may not be further apart than 30 degrees (14 CFR 23.1547(d)). */
bool required_compass_card_accepted(double step_deg);

/* Marks of powerplant instruments (14 CFR 23.1549). */
typedef enum RequiredRange {
    RANGE_LIMIT, /* maximum and safe minimum */
    RANGE_NORMAL,
    RANGE_CAUTION, /* take-off and precautionary */
    RANGE_RESTRICTED
} RequiredRange;

typedef enum RequiredMark {
    MARK_RED_RADIAL,
    MARK_GREEN_ARC,
    MARK_YELLOW_ARC,
    MARK_RED_ARC
} RequiredMark;

RequiredMark required_instrument_mark(RequiredRange range);

/* --- dates ---------------------------------------------------------------------------------------
 */

typedef struct RequiredDate {
    int year;
    int month; /* 1 to 12 */
    int day;
} RequiredDate;

/* Last day on which something done on `last` and valid for `months` calendar months is still good:
 * the last day of that month (24 for 14 CFR 91.411 and 91.413, 12 for 91.207(d)). */
RequiredDate required_due(RequiredDate last, int months);

/* --- safety --------------------------------------------------------------------------------------
 */

typedef enum RequiredSeverity {
    FAILURE_MINOR,
    FAILURE_MAJOR,
    FAILURE_HAZARDOUS,
    FAILURE_CATASTROPHIC,
    FAILURE_COUNT
} RequiredSeverity;

/* A row of the allowed probabilities per flight hour, by aircraft class 1 to 4. */
typedef struct RequiredProbability {
    int aircraft_class;
    double per_hour[FAILURE_COUNT];
} RequiredProbability;

/* FAA AC 23.1309-1E (opened second-hand). A class without a row is not proved. */
RatingValue required_probability(const RequiredProbability *rows, size_t count, int aircraft_class,
                                 RequiredSeverity severity);

#endif
