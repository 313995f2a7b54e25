/* Crimps and stripped ends: what a bench test accepts. Goes in: published minima, measured values.
 * Comes out: accepted or not. Least pull forces come by gauge from tables (gauge_value with
 * GAUGE_THICKER_ROW, so that a gauge left out is asked for more, not less). */
#ifndef RATING_TERMINATION_H
#define RATING_TERMINATION_H

#include <stdbool.h>
#include <stddef.h>

#include "rating/curve.h"

/* Least pull in newtons by gauge; rows hold newtons. AS7928 and UL 486A minima (opened for 26..10;
 * thicker ones memory on the military side); NASA-STD-8739.4 Table 13-1 for contacts (opened). */
RatingValue termination_least_pull_n(const GaugeValue *rows_n, size_t count, int awg);

/* A crimp that let go at `measured_n`, or was pulled to it, against the minimum: below is rejected.
 */
bool termination_pull_accepted(double least_n, double measured_n);

/* Least pull of a combination that no table lists: 60 % of the wire's own tensile strength
 * (NASA-STD-8739.4 par. 13.7.4; opened). */
double termination_untabled_pull_n(double wire_tensile_n);

/* Gap between insulation and crimp barrel: 0.01 in to 0.03 in for 20 AWG and thinner, to 0.05 in
 * for 18 AWG and thicker (NASA-STD-8739.4 par. 10.1.7b; opened). */
bool termination_gap_accepted(int awg, double gap_mm);

/* A row of the strand damage table: AC 43.13-1B Table 11-13, p. 11-62 (opened). */
typedef struct StrandLimit {
    int thinnest_awg;
    int thickest_awg;
    unsigned nicked_most;
    unsigned broken_most;
} StrandLimit;

/* Whether a copper end with so many nicked and broken strands may be used. A gauge without a row
 * takes no damage at all. */
bool termination_strands_accepted(const StrandLimit *rows, size_t count, int awg, unsigned nicked,
                                  unsigned broken);

#endif
