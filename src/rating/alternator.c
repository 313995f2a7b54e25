#include "rating/alternator.h"

double alternator_rpm(double engine_rpm, double ratio) {
    return engine_rpm * ratio;
}

RatingValue alternator_output_a(RatingCurve amps_by_rpm, double rpm) {
    RatingValue output = curve_linear(amps_by_rpm, rpm);
    if (output.basis == RATING_NOT_PROVED) {
        size_t count = amps_by_rpm.count;
        bool above = count > 0 && rpm > amps_by_rpm.points[count - 1].x;
        output.value = above ? amps_by_rpm.points[count - 1].y : 0.0;
    }
    return output;
}
