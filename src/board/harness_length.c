/* Cut lengths: path + stubs + service loops + handling, then what slack, twisting and the place in
 * the bundle add, then up to whole steps. docs/theory/harness.md derives the three shares. */
#include <math.h>

#include "base/units.h"
#include "board/harness_inner.h"

double harness_twist_share(double helix_mm, double lay_mm) {
    double turn = UNITS_PI * helix_mm / lay_mm;
    return sqrt(1.0 + turn * turn) - 1.0;
}

double harness_sag_share(double sag_mm, double span_mm) {
    double ratio = sag_mm / span_mm;
    return 8.0 / 3.0 * ratio * ratio;
}

typedef struct Lengths {
    HarnessSet *set;
    const Model *model;
    const Wiring *wiring;
    double slack_share;
    double step_mm;
    double minus_mm;
    double plus_mm;
    double bend_least_mm;
} Lengths;

/* --- one run ------------------------------------------------------------------------------------
 */

static double angle_rad(const double a[3], const double b[3]) {
    double dot = a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    return acos(fmin(1.0, fmax(-1.0, dot)));
}

/* What a wire that lies outermost in every bend of the run is longer by than one in the middle: at
 * each bend the angle times the distance between the two. */
static double bend_mm(const Lengths *lengths, const HarnessRun *run, double od_mm) {
    const HarnessSet *set = lengths->set;
    double sum_mm = 0.0;
    double last[3] = {0};
    double last_od_mm = 0.0;
    bool known = false;
    for (uint32_t i = run->step_first; i < run->step_first + run->step_count; i++) {
        const HarnessArm *arm = &set->arms[set->steps[i].arm];
        double along[3];
        if (!harness_segment_direction(lengths->model, arm->segment, along)) {
            continue;
        }
        for (int axis = 0; axis < 3 && set->steps[i].backward; axis++) {
            along[axis] = -along[axis];
        }
        if (known) {
            double out_mm = (fmin(last_od_mm, arm->od_mm) - od_mm) / 2.0;
            sum_mm += angle_rad(last, along) * fmax(0.0, out_mm);
        }
        for (int axis = 0; axis < 3; axis++) {
            last[axis] = along[axis];
        }
        last_od_mm = arm->od_mm;
        known = true;
    }
    return sum_mm;
}

/* The share that twisting adds to a wire of a run: single wires of a class that is twisted in the
 * shop. The middles of n wires that touch lie on a circle of diameter od / sin(pi / n). */
static double twist_share(const Lengths *lengths, const HarnessRun *run, int32_t awg,
                          double od_mm) {
    const TableSet *set = lengths->model->set;
    const Cable *cable = &lengths->wiring->cables[run->cable];
    ClassId class_id = lengths->wiring->nets[cable->net].class_id;
    if (run->jacketed || cable->conductor_count < 2 || set->interface.rows[class_id].twisted != 1) {
        return 0.0;
    }
    for (size_t i = 0; i < set->twist.count; i++) {
        const TwistRow *row = &set->twist.rows[i];
        if (row->awg == awg && row->wires == cable->conductor_count && row->lay_mm > 0.0) {
            double helix_mm = od_mm / sin(UNITS_PI / cable->conductor_count);
            return harness_twist_share(helix_mm, row->lay_mm);
        }
    }
    return 0.0;
}

/* Half the job's handling allowance, and of what a person set the length longer by, at each end of
 * the cable. */
static double handling_mm(const Lengths *lengths, const HarnessRun *run, double whole_path_mm,
                          bool last) {
    const Ends *ends = lengths->set->ends;
    const Cable *cable = &lengths->wiring->cables[run->cable];
    double extra_mm = ends->routing->length_mm[run->cable] - whole_path_mm -
                      lengths->model->terminals[cable->from].stub_mm -
                      lengths->model->terminals[cable->to].stub_mm;
    const double LAST_DIGITS_MM = 1e-6; /* of sums taken in another order */
    double share = (run->index == 0 ? 0.5 : 0.0) + (last ? 0.5 : 0.0);
    return fabs(extra_mm) < LAST_DIGITS_MM ? 0.0 : extra_mm * share;
}

/* Everything but rounding. */
static void measure(const Lengths *lengths, uint32_t piece, double whole_path_mm, bool last) {
    HarnessSet *set = lengths->set;
    const Ends *ends = set->ends;
    HarnessPiece *p = &set->pieces[piece];
    const HarnessRun *run = &set->runs[p->run];
    const Cable *cable = &lengths->wiring->cables[run->cable];
    ConductorId conductor = ends->pieces[piece].conductor;
    int32_t awg = conductor == ID_NONE
                      ? INT_BLANK
                      : route_conductor_awg(lengths->model, lengths->wiring, conductor, ends->awg);
    const WireRow *wire = awg == INT_BLANK ? NULL : gauges_wire(lengths->model, &ends->gauges, awg);
    double od_mm = cable->part != ID_NONE ? lengths->model->set->cable.rows[cable->part].od_mm
                   : wire == NULL         ? 0.0
                                          : wire->od_mm;
    HarnessLength *length = &p->length;
    *length = (HarnessLength){
        .path_mm = run->path_mm, .minus_mm = lengths->minus_mm, .plus_mm = lengths->plus_mm};
    for (int side = 0; side < 2; side++) {
        length->stub_mm[side] = set->leaves[p->leaf[side]].stub_mm;
        length->loop_mm[side] = set->leaves[p->leaf[side]].loop_mm;
    }
    length->handling_mm = handling_mm(lengths, run, whole_path_mm, last);
    length->slack_mm = run->path_mm * lengths->slack_share;
    double straight_mm = run->path_mm + length->stub_mm[0] + length->stub_mm[1] +
                         length->loop_mm[0] + length->loop_mm[1];
    length->twist_mm = straight_mm * twist_share(lengths, run, awg, od_mm);
    double bend = bend_mm(lengths, run, od_mm);
    length->bend_mm = bend >= lengths->bend_least_mm ? bend : 0.0;
    length->cut_mm =
        straight_mm + length->handling_mm + length->slack_mm + length->twist_mm + length->bend_mm;
}

/* Up to whole steps; the pieces of a jacketed run are cut as one, by the longest. */
static void round_run(const Lengths *lengths, const HarnessRun *run) {
    HarnessSet *set = lengths->set;
    const double NEAR_MM = 1e-6; /* a sum that is a whole step but for its last digits */
    double longest_mm = 0.0;
    for (uint32_t i = 0; i < run->piece_count; i++) {
        longest_mm =
            fmax(longest_mm, set->pieces[set->run_pieces[run->piece_first + i]].length.cut_mm);
    }
    for (uint32_t i = 0; i < run->piece_count; i++) {
        HarnessLength *length = &set->pieces[set->run_pieces[run->piece_first + i]].length;
        double least_mm = run->jacketed ? longest_mm : length->cut_mm;
        double cut_mm = ceil((least_mm - NEAR_MM) / lengths->step_mm) * lengths->step_mm;
        length->round_mm = cut_mm - length->cut_mm;
        length->cut_mm = cut_mm;
    }
}

/* Wire and mass that go into the harness. */
static void count_run(const Lengths *lengths, const HarnessRun *run) {
    HarnessSet *set = lengths->set;
    const Ends *ends = set->ends;
    Harness *harness = &set->harnesses[run->harness];
    const Cable *cable = &lengths->wiring->cables[run->cable];
    double kg_per_m =
        gauges_kg_per_m(lengths->model, lengths->wiring, &ends->gauges, run->cable, ends->awg);
    double sum_mm = 0.0;
    uint32_t count = 0;
    for (uint32_t i = 0; i < run->piece_count; i++) {
        uint32_t piece = set->run_pieces[run->piece_first + i];
        if (ends->pieces[piece].conductor != ID_NONE && (!run->jacketed || count == 0)) {
            sum_mm += set->pieces[piece].length.cut_mm;
            count++;
        }
    }
    harness->wire_mm += sum_mm;
    double cut_as = run->jacketed ? 1.0 : (double)cable->conductor_count;
    harness->mass_kg += kg_per_m / cut_as * units_m_from_mm(sum_mm);
}

/* --- exported -----------------------------------------------------------------------------------
 */

static void lose(HarnessLength *length) {
    const double NONE = (double)NAN;
    *length = (HarnessLength){.path_mm = NONE,
                              .stub_mm = {NONE, NONE},
                              .loop_mm = {NONE, NONE},
                              .handling_mm = NONE,
                              .slack_mm = NONE,
                              .twist_mm = NONE,
                              .bend_mm = NONE,
                              .round_mm = NONE,
                              .cut_mm = NONE,
                              .minus_mm = NONE,
                              .plus_mm = NONE};
}

void harness_lengths(HarnessSet *set) {
    const Model *model = set->ends->model;
    Lengths lengths = {
        .set = set,
        .model = model,
        .wiring = set->ends->wiring,
        .slack_share = harness_sag_share(model_limit(model, HARNESS_LIMIT_SAG),
                                         model_limit(model, ROUTE_LIMIT_CLAMPS)),
        .step_mm = model_limit(model, HARNESS_LIMIT_STEP),
        .minus_mm = model_limit(model, HARNESS_LIMIT_MINUS),
        .plus_mm = model_limit(model, HARNESS_LIMIT_PLUS),
        .bend_least_mm = model_limit(model, HARNESS_LIMIT_BEND),
    };
    uint32_t first = 0;
    while (first < set->run_count) {
        uint32_t end = first;
        double whole_mm = 0.0;
        while (end < set->run_count && set->runs[end].cable == set->runs[first].cable) {
            whole_mm += set->runs[end++].path_mm;
        }
        for (uint32_t i = first; i < end; i++) {
            const HarnessRun *run = &set->runs[i];
            for (uint32_t k = 0; k < run->piece_count; k++) {
                uint32_t piece = set->run_pieces[run->piece_first + k];
                if (run->harness == ID_NONE) {
                    lose(&set->pieces[piece].length);
                } else {
                    measure(&lengths, piece, whole_mm, i + 1 == end);
                }
            }
            if (run->harness != ID_NONE) {
                round_run(&lengths, run);
                count_run(&lengths, run);
            }
        }
        first = end;
    }
}
