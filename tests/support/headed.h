/* A job taken through all passes up to the heading errors of its sensors. */
#ifndef SUPPORT_HEADED_H
#define SUPPORT_HEADED_H

#include "support/powered.h"

#include "power/heading_inner.h"

typedef struct Headed {
    Powered powered;
    HeadingInput input;
    Heading heading;
} Headed;

/* After the job was read and spoilt; findings of heading are those left in the job. */
static inline void headed_run(Headed *headed) {
    Powered *powered = &headed->powered;
    Job *job = &powered->job;
    powered_load(powered);
    powered_solve(powered);
    Bundle *bundles = ARENA_ARRAY(&job->arena, Bundle, job->set.segment.count);
    route_bundles(&job->model, &powered->wiring, &powered->routing, powered->awg, bundles);
    headed->input = (HeadingInput){
        .model = &job->model,
        .wiring = &powered->wiring,
        .routing = &powered->routing,
        .bundles = bundles,
        .awg = powered->awg,
        .supply = &powered->supply,
        .built = &powered->built,
        .phases = &powered->phases,
    };
    job->findings.count = 0;
    assert_true(heading_run(&job->arena, &headed->input, &headed->heading, &job->findings));
}

/* The error of a circuit at a sensor ("all" with a phase, else any phase); the test fails when
 * there is none. */
static inline const HeadingError *headed_error(const Headed *headed, const char *sensor,
                                               const char *circuit, const char *phase) {
    const Model *model = headed->input.model;
    uint32_t row = model_row(model, TABLE_sensor, sensor);
    assert_int_not_equal(row, ID_NONE);
    for (uint32_t i = headed->heading.sensor_first[row]; i < headed->heading.sensor_first[row + 1];
         i++) {
        const HeadingError *error = &headed->heading.errors[i];
        if (strcmp(heading_circuit(&headed->input, error), circuit) == 0 &&
            (phase == NULL || strcmp(model->set->phase.rows[error->phase].phase, phase) == 0)) {
            return error;
        }
    }
    fail_msg("no error of %s at %s", circuit, sensor);
    return NULL;
}

/* The largest error of a single circuit at a sensor. */
static inline double headed_worst_deg(const Headed *headed, const char *sensor) {
    uint32_t row = model_row(headed->input.model, TABLE_sensor, sensor);
    assert_int_not_equal(row, ID_NONE);
    double worst_deg = 0.0;
    for (uint32_t i = headed->heading.sensor_first[row]; i < headed->heading.sensor_first[row + 1];
         i++) {
        const HeadingError *error = &headed->heading.errors[i];
        if (error->kind != HEADING_PHASE) {
            worst_deg = fmax(worst_deg, error->worst_deg);
        }
    }
    return worst_deg;
}

#endif
