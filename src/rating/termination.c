#include "rating/termination.h"

#include "base/units.h"

RatingValue termination_least_pull_n(const GaugeValue *rows_n, size_t count, int awg) {
    return gauge_value(rows_n, count, awg, GAUGE_THICKER_ROW);
}

bool termination_pull_accepted(double least_n, double measured_n) {
    return measured_n >= least_n;
}

double termination_untabled_pull_n(double wire_tensile_n) {
    return 0.6 * wire_tensile_n;
}

bool termination_gap_accepted(int awg, double gap_mm) {
    double gap_in = units_in_from_mm(gap_mm);
    /* A rule in hundredths of an inch, measured in hundredths of a millimetre. */
    const double reading_in = 1e-6;
    double most_in = awg >= 20 ? 0.03 : 0.05;
    return gap_in >= 0.01 - reading_in && gap_in <= most_in + reading_in;
}

bool termination_strands_accepted(const StrandLimit *rows, size_t count, int awg, unsigned nicked,
                                  unsigned broken) {
    for (size_t i = 0; i < count; i++) {
        if (awg <= rows[i].thinnest_awg && awg >= rows[i].thickest_awg) {
            return nicked <= rows[i].nicked_most && broken <= rows[i].broken_most;
        }
    }
    return nicked == 0 && broken == 0;
}
