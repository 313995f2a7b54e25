/* A job taken through all passes up to the solved phases, the loads and the endurance. */
#ifndef SUPPORT_POWERED_H
#define SUPPORT_POWERED_H

#include "power/endurance.h"
#include "power/ground_return.h"
#include "power/loads.h"
#include "power/phases.h"
#include "power/size.h"
#include "support/job.h"
/* after cmocka */
#include "near.h"

typedef struct Powered {
    Job job; /* its findings are those of supply, loads and solve */
    Wiring wiring;
    Routing routing;
    Supply supply;
    Loads loads;
    Sizing sizing;
    PowerNetwork built;
    Phases phases;
    Endurance endurance;
    const int32_t *awg;   /* set before powered_solve to bypass sizing */
    BuildOptions options; /* awg and rating_a are filled in */
    bool hot;             /* copper at the hottest surrounding */
} Powered;

/* Model, wiring, ways, supply and loads of a job that was read (and spoilt). */
static inline void powered_load(Powered *powered) {
    Job *job = &powered->job;
    Arena *arena = &job->arena;
    Findings unheard = {.arena = arena};
    table_set_sort(&job->set);
    assert_true(model_build(arena, &job->set, &job->model, &unheard));
    assert_true(wiring_derive(arena, &job->model, &powered->wiring, &unheard));
    assert_true(route_find(arena, &job->model, &powered->wiring, &powered->routing, &unheard));
    job->findings.count = 0;
    assert_true(
        supply_build(arena, &job->model, &powered->wiring, &powered->supply, &job->findings));
    assert_true(loads_run(arena, &job->model, &powered->supply, &powered->loads, &job->findings));
}

/* Sizing (unless awg is set), network, phases, endurance. */
static inline void powered_solve(Powered *powered) {
    Job *job = &powered->job;
    Arena *arena = &job->arena;
    Findings unheard = {.arena = arena};
    const double *rating_a = NULL;
    if (powered->awg == NULL) {
        assert_true(size_run(arena, &job->model, &powered->wiring, &powered->routing,
                             &powered->supply, NULL, &powered->sizing, &unheard));
        powered->awg = powered->sizing.awg;
        rating_a = powered->sizing.rating_a;
    }
    powered->options.awg = powered->awg;
    powered->options.rating_a = rating_a;
    if (powered->hot) {
        powered->options.conductor_degc =
            build_conductor_degc(arena, &job->model, &powered->wiring, &powered->routing, 10.0);
    }
    assert_true(build_network(arena, &job->model, &powered->wiring, &powered->routing, NULL,
                              &powered->supply, &powered->options, &powered->built,
                              &job->findings));
    phases_run(arena, &job->model, &powered->wiring, &powered->supply, &powered->built, rating_a,
               &powered->phases, &job->findings);
    endurance_run(arena, &job->model, &powered->supply, &powered->built, &powered->phases,
                  &powered->loads, false, &powered->endurance, &job->findings);
}

static inline uint32_t powered_phase(const Powered *powered, const char *name) {
    uint32_t phase = name_map_find(&powered->job.model.phase_by_name, name);
    assert_int_not_equal(phase, NAME_NONE);
    return phase;
}

/* The load at that end: a supply port or "KM.C+". */
static inline uint32_t powered_load_of(const Powered *powered, const char *end) {
    TerminalId terminal = model_terminal(&powered->job.model, end);
    assert_int_not_equal(terminal, ID_NONE);
    uint32_t load = powered->supply.terminal_load[terminal];
    assert_int_not_equal(load, ID_NONE);
    return load;
}

static inline const PhasesPort *powered_port(const Powered *powered, const char *phase,
                                             const char *end) {
    return &powered->phases
                .ports[(size_t)powered_phase(powered, phase) * powered->supply.load_count +
                       powered_load_of(powered, end)];
}

#endif
