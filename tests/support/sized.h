/* A job taken through wiring, ways, supply and sizing, with what it gave as rows. */
#ifndef SUPPORT_SIZED_H
#define SUPPORT_SIZED_H

#include "power/size.h"
#include "power/sizing.h"
#include "support/job.h"
#include "near.h"
#include "table/write.h"

typedef struct Sized {
    Job job; /* its findings are those of the size pass alone */
    Wiring wiring;
    Routing routing;
    Supply supply;
    Sizing sizing;
    TableSet rows; /* gauge and feeder */
} Sized;

static inline void sized_run(Sized *sized) {
    Job *job = &sized->job;
    Arena *arena = &job->arena;
    Findings unheard = {.arena = arena};
    table_set_sort(&job->set);
    assert_true(model_build(arena, &job->set, &job->model, &unheard));
    assert_true(wiring_derive(arena, &job->model, &sized->wiring, &unheard));
    assert_true(route_find(arena, &job->model, &sized->wiring, &sized->routing, &unheard));
    assert_true(supply_build(arena, &job->model, &sized->wiring, &sized->supply, &unheard));
    job->findings.count = 0;
    assert_true(size_run(arena, &job->model, &sized->wiring, &sized->routing, &sized->supply, NULL,
                         &sized->sizing, &job->findings));
    sized->rows = (TableSet){0};
    size_rows(arena, &sized->sizing, &sized->rows);
}

/* Sets a gauge as a person would: `row` is a wire's key or a circuit. */
static inline void sized_override(Sized *sized, const char *row, const char *awg) {
    OverrideRow *cell = table_append(&sized->job.set, &sized->job.arena, TABLE_override);
    cell->table = "gauge";
    cell->row = arena_text(&sized->job.arena, row, strlen(row));
    cell->column = "awg";
    cell->value = arena_text(&sized->job.arena, awg, strlen(awg));
    cell->reason = "test";
    cell->who = "test";
}

static inline const FeederRow *sized_feeder(const Sized *sized, const char *port) {
    for (size_t i = 0; i < sized->rows.feeder.count; i++) {
        if (strcmp(sized->rows.feeder.rows[i].port, port) == 0) {
            return &sized->rows.feeder.rows[i];
        }
    }
    fail_msg("no feeder %s", port);
    return NULL;
}

/* First conductor of a circuit. */
static inline ConductorId sized_wire(const Sized *sized, const char *net) {
    NetId id = name_map_find(&sized->wiring.net_by_name, net);
    if (id == NAME_NONE || sized->wiring.nets[id].cable_count == 0) {
        fail_msg("no circuit %s", net);
    }
    return sized->wiring.cables[sized->wiring.nets[id].cable_first].conductor_first;
}

/* The conductor between two ends; the test fails when there is none. */
static inline ConductorId sized_between(const Sized *sized, const char *from, const char *to) {
    TerminalId a = model_terminal(&sized->job.model, from);
    TerminalId b = model_terminal(&sized->job.model, to);
    for (CableId c = 0; c < sized->wiring.cable_count; c++) {
        const Cable *cable = &sized->wiring.cables[c];
        if ((cable->from == a && cable->to == b) || (cable->from == b && cable->to == a)) {
            return cable->conductor_first;
        }
    }
    fail_msg("no wire from %s to %s", from, to);
    return 0;
}

static inline const GaugeChoice *sized_choice(const Sized *sized, const char *net) {
    return &sized->sizing.choices[sized_wire(sized, net)];
}

static inline double sized_plain_v(const Sized *sized, ConductorId wire) {
    const SizeDetail *detail = sized->sizing.detail;
    return sizing_volts(detail, DROP_PLAIN, wire,
                        detail->place[sized->wiring.conductors[wire].cable]);
}

#endif
