/* Magnetic field of wires, and what it does to a compass. Goes in: amperes, ends of straight
 * segments in metres, the earth's horizontal field. Comes out: microtesla, degrees, the distance to
 * keep. Law of Biot and Savart for a straight segment: B = mu0 I/(4 pi d)*(cos a + cos b). */
#ifndef RATING_FIELD_H
#define RATING_FIELD_H

/* metres for places, microtesla for fields. */
typedef struct FieldVector {
    double x;
    double y;
    double z;
} FieldVector;

/* Field at `at_m` of a straight piece of wire with `current_a` flowing from `from_m` to `to_m`.
 * None on the wire's own line. */
FieldVector field_segment_ut(FieldVector from_m, FieldVector to_m, double current_a,
                             FieldVector at_m);

/* Endless straight wire: mu0 I/(2 pi d). */
double field_endless_ut(double current_a, double away_m);

/* Sum of the segments of a path of `count` points; closed when `closed` is not 0. */
FieldVector field_path_ut(const FieldVector *path_m, unsigned count, int closed, double current_a,
                          FieldVector at_m);

double field_size_ut(FieldVector field);

/* Deviation of a compass by a field across the earth's horizontal one: atan(B/H). */
double field_deviation_deg(double across_ut, double earth_horizontal_ut);

/* Whole field of the earth from its horizontal part and inclination: F = H/cos I. */
double field_earth_total_ut(double horizontal_ut, double inclination_deg);

/* --- compass safe distance (IEC 60945, ISO 25862; opened in two texts)
 * ---------------------------- */

typedef enum FieldCompass {
    COMPASS_STANDARD, /* 5.4 deg uT / H */
    COMPASS_STANDBY   /* steering, standby, emergency: 18 deg uT / H */
} FieldCompass;

/* Deviation allowed at the safe distance, degrees. */
double field_compass_limit_deg(FieldCompass use, double earth_horizontal_ut);

/* A measured distance rounded up to the next multiple of `step_m` (0.05 or 0.10). */
double field_safe_distance_m(double measured_m, double step_m);

#endif
