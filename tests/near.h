/* assert_near: a double against what was expected, with a tolerance, and both shown when it fails
 * (cmocka's own check is for floats). Include it after cmocka.h. */
#ifndef TESTS_NEAR_H
#define TESTS_NEAR_H

#include <math.h>

static inline void near_check(double value, double expected, double tolerance, const char *what,
                              const char *file, int line) {
    if (!(fabs(value - expected) <= tolerance)) {
        print_error("%s is %.10g, expected %.10g within %.3g\n", what, value, expected, tolerance);
        _fail(file, line);
    }
}

#define assert_near(value, expected, tolerance)                                                    \
    near_check((value), (expected), (tolerance), #value, __FILE__, __LINE__)

#endif
