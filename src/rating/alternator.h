/* Alternators: amperes by speed, read between published points only. Goes in: engine speed, pulley
 * ratio, the output points at the machine's reference voltage. Comes out: amperes. */
#ifndef RATING_ALTERNATOR_H
#define RATING_ALTERNATOR_H

#include "rating/curve.h"

/* Alternator speed from engine speed: `ratio` is alternator turns per engine turn. */
double alternator_rpm(double engine_rpm, double ratio);

/* Output at `rpm` of the alternator by straight lines between points (x rpm, y A). Below the first
 * point: 0 A, not proved (it may give something, nobody says what). Above the last: the last
 * point's amperes, not proved (the machine may not be turned faster than was measured). Points of
 * a small marine engine manual, p. 83 (opened). */
RatingValue alternator_output_a(RatingCurve amps_by_rpm, double rpm);

#endif
