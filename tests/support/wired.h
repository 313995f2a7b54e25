/* A job taken through wiring, ways and disconnects, and its result as one text to compare. */
#ifndef SUPPORT_WIRED_H
#define SUPPORT_WIRED_H

#include "route/disconnect.h"
#include "route/length.h"
#include "support/job.h"

typedef struct Wired {
    Job job;
    Wiring wiring;
    Routing routing;
    Disconnects disconnects;
    int32_t *awg;
} Wired;

/* Gauges that a test needs: heavy 4, of power kind 20, else 22; `thick` names a net laid in 12. */
static inline void wired_gauges(Wired *wired, const char *thick) {
    const Wiring *wiring = &wired->wiring;
    wired->awg = ARENA_ARRAY(&wired->job.arena, int32_t, wiring->conductor_count);
    for (uint32_t i = 0; i < wiring->conductor_count; i++) {
        const Cable *cable = &wiring->cables[wiring->conductors[i].cable];
        const Net *net = &wiring->nets[cable->net];
        bool power = strcmp(wiring_class(&wired->job.model, net->class_id)->kind, "power") == 0;
        wired->awg[i] = cable->heavy ? 4 : (power ? 20 : 22);
        if (thick != NULL && strcmp(net->name, thick) == 0) {
            wired->awg[i] = 12;
        }
        if (cable->coax) {
            wired->awg[i] = INT_BLANK;
        }
    }
}

static inline void wired_run(Wired *wired, const char *thick) {
    Job *job = &wired->job;
    job->findings.count = 0;
    table_set_sort(&job->set);
    job_build(job);
    assert_true(wiring_derive(&job->arena, &job->model, &wired->wiring, &job->findings));
    assert_true(
        route_find(&job->arena, &job->model, &wired->wiring, &wired->routing, &job->findings));
    wired_gauges(wired, thick);
    lengths_raise(&wired->routing, wired->awg);
    assert_true(disconnects_allot(&job->arena, &job->model, &wired->wiring, &wired->routing,
                                  wired->awg, &wired->disconnects, &job->findings));
}

/* Along the segments; what is cut also depends on what lies beside it. */
static inline double wired_path_mm(const Wired *wired, CableId cable) {
    double sum_mm = 0.0;
    for (uint32_t i = wired->routing.run_first[cable]; i < wired->routing.run_first[cable + 1];
         i++) {
        sum_mm += wired->routing.runs[i].parts.path_mm;
    }
    return sum_mm;
}

/* One line for each conductor and shield: net, key, pins, way, cavities. Lines of the net `without`
 * are left out. */
static inline const char *wired_text(Wired *wired, const char *without) {
    const Wiring *wiring = &wired->wiring;
    const Model *model = &wired->job.model;
    Arena *arena = &wired->job.arena;
    Buffer text = {.arena = arena};
    for (CableId i = 0; i < wiring->cable_count; i++) {
        const Cable *cable = &wiring->cables[i];
        const Net *net = &wiring->nets[cable->net];
        if (without != NULL && strcmp(net->name, without) == 0) {
            continue;
        }
        buffer_format(&text, "%s %s %.17g %d%d\n", net->name,
                      route_text(arena, model, wiring, &wired->routing, i), wired_path_mm(wired, i),
                      cable->shield_from, cable->shield_to);
        for (uint32_t core = 0; core < cable->conductor_count; core++) {
            const Conductor *conductor = &wiring->conductors[cable->conductor_first + core];
            buffer_format(&text, "  %s %s %s\n", conductor->key,
                          model_pin_text(model, arena, conductor->from),
                          model_pin_text(model, arena, conductor->to));
        }
        for (uint32_t k = wired->disconnects.cable_first[i];
             k < wired->disconnects.cable_first[i + 1]; k++) {
            const CavityUse *use = &wired->disconnects.uses[k];
            buffer_format(&text, "  %s in %s of %s\n", disconnect_use_key(arena, wiring, use),
                          disconnect_cavity_text(arena, model, use),
                          use->shell == ID_NONE
                              ? "nothing"
                              : model->set->disconnect_shell.rows[use->shell].tag);
        }
    }
    return text.bytes;
}

/* Writes keys and cavities into the job, as `marling allot` does. */
static inline void wired_allot(Wired *wired) {
    TableSet out = {0};
    Arena *arena = &wired->job.arena;
    wiring_allot_rows(arena, &wired->job.model, &wired->wiring, &out);
    disconnects_allot_rows(arena, &wired->job.model, &wired->wiring, &wired->routing,
                           &wired->disconnects, &out);
    wired->job.set.any[TABLE_allot] = out.any[TABLE_allot];
    wired->job.set.any[TABLE_allot_cavity] = out.any[TABLE_allot_cavity];
}

#endif
