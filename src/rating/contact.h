/* Contacts, studs and switches: what may flow through them and which wires go in. Goes in: rows of
 * published ratings. Comes out: amperes, factors, yes or no. A gauge that a current table leaves
 * out takes the next thinner wire's row (rating/curve.h, gauge_value with GAUGE_THINNER_ROW). */
#ifndef RATING_CONTACT_H
#define RATING_CONTACT_H

#include <stdbool.h>
#include <stddef.h>

#include "rating/curve.h"

/* --- contacts ------------------------------------------------------------------------------------
 */

/* Whether a wire fits a contact made for `thinnest_awg` to `thickest_awg` (28 to 22: 24 fits). */
bool contact_takes_gauge(int thinnest_awg, int thickest_awg, int awg);

/* A row of a connector's loading factors: factor on the contact rating by percent of contacts
 * loaded; the column for a single contact stands at 0 %. */
typedef struct ContactLoading {
    int awg;
    RatingCurve factor_by_percent;
} ContactLoading;

/* Factor by gauge and percent of the contacts that carry current: straight lines between columns
 * (published for a gauge of the table). A gauge left out takes the next thinner row (derived);
 * thinner than all, or above the last percent: not proved. Product specification of a rectangular
 * size-20 connector; opened. */
RatingValue contact_loading_factor(const ContactLoading *rows, size_t count, int awg,
                                   double percent);

/* --- studs ---------------------------------------------------------------------------------------
 */

/* Most terminals on one stud (AC 43.13-1B par. 11-174b, p. 11-67; opened). */
#define CONTACT_LUGS_PER_STUD_MOST 4u

/* Whether `lugs` terminals may share `studs` studs: up to four each; more than four in all need two
 * or more adjacent studs joined by a metal bus. */
bool contact_lugs_accepted(unsigned lugs, unsigned studs);

/* Whether a stud rated `rated_a` may carry `current_a` (MIL-DTL-83454A Table VIII; opened). */
bool contact_stud_accepted(double rated_a, double current_a);

/* --- switches ------------------------------------------------------------------------------------
 */

typedef enum SwitchLoad {
    SWITCH_LOAD_LAMP,
    SWITCH_LOAD_INDUCTIVE, /* relay, solenoid */
    SWITCH_LOAD_RESISTIVE, /* heater */
    SWITCH_LOAD_MOTOR
} SwitchLoad;

typedef struct SwitchFactor {
    double nominal_v;
    SwitchLoad load;
    double factor;
} SwitchFactor;

/* Nominal switch rating needed for a continuous load: load * factor (AC 43.13-1B Table 11-4,
 * p. 11-17; opened). A nominal voltage without a row takes the nearest within a fifth (14 V the
 * 12 V rows, 24 V the 28 V rows), as derived; else not proved. */
RatingValue contact_switch_needed_a(const SwitchFactor *rows, size_t count, double nominal_v,
                                    SwitchLoad load, double load_a);

/* Silver contacts must not switch less than 8 V or 0.5 A (switches rated 28 V and 1 A or more;
 * AC 43.13-1B par. 11-53g, p. 11-17; opened). */
bool contact_silver_accepted(double volts, double current_a);

#endif
