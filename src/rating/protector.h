/* Fuses and breakers: what one does at a given overcurrent after a given time, what it may carry,
 * what it may protect. Goes in: gate rows as published (at so many percent of rating it must hold
 * for t_min and be open after t_max), derating rows. Comes out: hold, open, undecided, or not
 * proved; never a guess.
 * Gates: ISO 8820-3 family and IEC 60127 style tables (opened second-hand), breaker calibration in
 * the MIL-C-5809 family (memory). docs/theory/protection.md. */
#ifndef RATING_PROTECTOR_H
#define RATING_PROTECTOR_H

#include <stdbool.h>
#include <stddef.h>

#include "rating/curve.h"

/* --- what it does --------------------------------------------------------------------------------
 */

/* One gate of the tolerance band. NAN where the table has no limit on that side. */
typedef struct ProtectorGate {
    double percent;
    double hold_s; /* must not open before: t_min */
    double open_s; /* must be open after: t_max */
} ProtectorGate;

/* Sorted by percent, no percent twice. */
typedef struct ProtectorGates {
    const ProtectorGate *rows;
    size_t count;
} ProtectorGates;

/* No hold time is longer than its open time, and neither grows with the percentage: what a reader
 * of tables tests once. */
bool protector_gates_are_sound(ProtectorGates gates);

typedef enum ProtectorState {
    PROTECTOR_HOLDS,     /* every device within the band still carries the current */
    PROTECTOR_OPEN,      /* every device within the band has opened */
    PROTECTOR_UNDECIDED, /* inside the tolerance band: some have, some have not */
    PROTECTOR_NOT_PROVED /* no published gate says anything here */
} ProtectorState;

const char *protector_state_name(ProtectorState state);

/* State after `seconds` at a steady `percent` of rating, by proof alone: a device that holds at a
 * higher current holds at a lower one, one that is open at a lower current is open at a higher
 * one. No interpolation. Not proved when neither follows and the percentage lies outside the gates.
 */
ProtectorState protector_state_by_gates(ProtectorGates gates, double percent, double seconds);

/* The tolerance band at one percentage. Published: at a gate, or on the straight line between the
 * logarithms of two gates that have that limit. Outside of those only a safe bound is left: hold_s
 * the longest hold time that a higher gate proves, else 0; open_s the shortest open time that a
 * lower gate proves, else INFINITY; the basis then is derived when a gate proves it, else not
 * proved. */
typedef struct ProtectorBand {
    RatingValue hold_s;
    RatingValue open_s;
} ProtectorBand;

ProtectorBand protector_band(ProtectorGates gates, double percent);

/* State from the interpolated band; not proved when the limit that would decide is not. */
ProtectorState protector_state_by_band(ProtectorGates gates, double percent, double seconds);

/* --- what it may carry ---------------------------------------------------------------------------
 */

/* Amperes a fuse may carry by ambient temperature, from its own points (x degC, y A). Below the
 * first: the first point's (derived). Above the last: not proved. */
RatingValue protector_usable_a(RatingCurve amps_by_degc, double ambient_degc);

/* Space-flight fuse derating: I <= (f25 - 0.005*max(T - 25, 0))*rating, never below 0; points x =
 * rating in A, y = f25, a rating between two rows taking the lower row's factor (derived).
 * MIL-STD-975M app. A 3.9, p. A.20; opened second-hand. Not proved outside the rows. */
RatingValue protector_fuse_space_a(RatingCurve factor_by_rating, double rating_a,
                                   double ambient_degc);

/* Kinds of load that derate a breaker or switch. */
typedef enum ProtectorLoad {
    PROTECTOR_LOAD_RESISTIVE,
    PROTECTOR_LOAD_CAPACITIVE,
    PROTECTOR_LOAD_INDUCTIVE,
    PROTECTOR_LOAD_MOTOR,
    PROTECTOR_LOAD_LAMP
} ProtectorLoad;

typedef struct ProtectorLoadRow {
    ProtectorLoad load;
    double factor;
} ProtectorLoadRow;

/* Amperes a breaker may carry into that kind of load: factor * rating (MIL-STD-975M app. A 3.9,
 * p. A.21; opened second-hand). Not proved without a row. */
RatingValue protector_breaker_load_a(const ProtectorLoadRow *rows, size_t count, double rating_a,
                                     ProtectorLoad load);

/* --- what it may protect -------------------------------------------------------------------------
 */

typedef enum ProtectorKind { PROTECTOR_BREAKER, PROTECTOR_FUSE } ProtectorKind;

/* A row of the wire protector chart; NAN where the source leaves a blank. */
typedef struct ProtectorWireRow {
    int awg;
    double breaker_a;
    double fuse_a;
} ProtectorWireRow;

/* The largest device for a copper wire: AC 43.13-1B Table 11-3, p. 11-15 (opened). A gauge between
 * rows takes the thinner wire's device (derived), thinner than all rows is not proved. The chart's
 * basis is open wiring: 12 AWG has a 30 A breaker here and 19 A in a large bundle (Table 11-9), so
 * this is one rule beside the ampacity, not instead of it. */
RatingValue protector_for_wire(const ProtectorWireRow *rows, size_t count, int awg,
                               ProtectorKind kind);

#endif
