#include "rating/field.h"

#include <math.h>

#include "base/check.h"
#include "base/units.h"

/* mu0/(4 pi) = 1e-7 T m/A, in microtesla. */
#define MU0_BY_4PI_UT_M_PER_A 0.1

static FieldVector minus(FieldVector a, FieldVector b) {
    return (FieldVector){a.x - b.x, a.y - b.y, a.z - b.z};
}

static FieldVector cross(FieldVector a, FieldVector b) {
    return (FieldVector){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static double dot(FieldVector a, FieldVector b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

FieldVector field_segment_ut(FieldVector from_m, FieldVector to_m, double current_a,
                             FieldVector at_m) {
    FieldVector along = minus(to_m, from_m);
    FieldVector from_to_at = minus(at_m, from_m);
    FieldVector to_to_at = minus(at_m, to_m);
    FieldVector turn = cross(along, from_to_at); /* |along| * distance from the line, its sense */
    double turn_square = dot(turn, turn);
    double length_square = dot(along, along);
    /* On the line itself the field is nought (or the point is in the copper, where a thin wire
     * says nothing): closer than a billionth of the segment counts as on it. */
    if (turn_square <= 1e-18 * length_square * length_square) {
        return (FieldVector){0};
    }
    /* cos of the angles at the two ends, times |along|. */
    double ends = dot(along, from_to_at) / sqrt(dot(from_to_at, from_to_at)) -
                  dot(along, to_to_at) / sqrt(dot(to_to_at, to_to_at));
    double scale = MU0_BY_4PI_UT_M_PER_A * current_a * ends / turn_square;
    return (FieldVector){turn.x * scale, turn.y * scale, turn.z * scale};
}

double field_endless_ut(double current_a, double away_m) {
    return 2.0 * MU0_BY_4PI_UT_M_PER_A * current_a / away_m;
}

FieldVector field_path_ut(const FieldVector *path_m, unsigned count, int closed, double current_a,
                          FieldVector at_m) {
    FieldVector sum = {0};
    unsigned segments = count < 2 ? 0 : closed ? count : count - 1;
    for (unsigned i = 0; i < segments; i++) {
        FieldVector part = field_segment_ut(path_m[i], path_m[(i + 1) % count], current_a, at_m);
        sum.x += part.x;
        sum.y += part.y;
        sum.z += part.z;
    }
    return sum;
}

double field_size_ut(FieldVector field) {
    return sqrt(dot(field, field));
}

double field_deviation_deg(double across_ut, double earth_horizontal_ut) {
    return units_deg_from_rad(atan2(across_ut, earth_horizontal_ut));
}

double field_earth_total_ut(double horizontal_ut, double inclination_deg) {
    return horizontal_ut / cos(units_rad_from_deg(inclination_deg));
}

/* --- compass safe distance
 * ------------------------------------------------------------------------ */

double field_compass_limit_deg(FieldCompass use, double earth_horizontal_ut) {
    return (use == COMPASS_STANDARD ? 5.4 : 18.0) / earth_horizontal_ut;
}

double field_safe_distance_m(double measured_m, double step_m) {
    const double rounding = 1e-9; /* 0.25 measured stays 0.25 */
    CHECK(step_m > 0.0);
    return ceil(measured_m / step_m - rounding) * step_m;
}
