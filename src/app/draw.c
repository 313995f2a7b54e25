#include "app/draw.h"

#include <string.h>

#include "app/bench.h"
#include "store/revision.h"
#include "base/text.h"

static const char *choices(Arena *arena, const char *what, const char *given,
                           const char *const *names, size_t count) {
    Buffer out = {.arena = arena};
    const char *nearest = text_nearest(given, names, count);
    buffer_format(&out, "no %s is called %s%s%s; there are", what, given,
                  nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
    for (size_t i = 0; i < count; i++) {
        buffer_format(&out, "%s %s", i == 0 ? "" : ",", names[i]);
    }
    return out.bytes;
}

void draw_view_bench(Proof *proof, DrawView *view) {
    if (proof->complete) {
        bench_all(proof);
        view->fits = &proof->bench->fits;
        view->harness = &proof->bench->harness;
        view->boards = &proof->bench->boards;
    }
}

bool draw_view_build(Arena *arena, Proof *proof, const DrawChoice *choice, DrawView *view,
                     const char **problem) {
    bool good = draw_view_live(arena, proof, choice, view, problem);
    if (good) {
        draw_view_bench(proof, view);
    }
    return good;
}

bool draw_view_live(Arena *arena, Proof *proof, const DrawChoice *choice, DrawView *view,
                    const char **problem) {
    char *hash = ARENA_ARRAY(arena, char, REVISION_HEX);
    revision_hash(&proof->whole, hash);
    *view = (DrawView){
        .set = &proof->set,
        .whole = &proof->whole,
        .model = &proof->model,
        .wiring = &proof->wiring,
        .routing = &proof->routing,
        .disconnects = &proof->disconnects,
        .supply = &proof->supply,
        .sizing = &proof->sizing,
        .loads = &proof->loads,
        .network = &proof->network,
        .phases = &proof->phases,
        .endurance = &proof->endurance,
        .heading = &proof->heading,
        .heading_input = proof_heading_input(proof),
        .guard = &proof->guard,
        .guard_input = proof_guard_input(proof),
        .dip = &proof->dip,
        .card = &proof->card,
        .findings = &proof->findings,
        .paper = choice->paper == NULL ? PAPER_A3 : paper_find(choice->paper),
        .units = choice->units == NULL ? LENGTH_MM : draw_units_find(choice->units),
        .phase = choice->phase,
        .hash = hash,
        .version = revision_program(),
    };
    if (view->paper == PAPER_COUNT) {
        const char *names[PAPER_COUNT];
        for (int i = 0; i < PAPER_COUNT; i++) {
            names[i] = paper_name((PaperSize)i);
        }
        *problem = choices(arena, "paper", choice->paper, names, PAPER_COUNT);
        return false;
    }
    if (view->units == LENGTH_COUNT) {
        static const char *const NAMES[] = {
#define UNIT_NAME(id, name, words) name,
            LENGTH_UNITS(UNIT_NAME)
#undef UNIT_NAME
        };
        *problem = choices(arena, "unit of length", choice->units, NAMES, LENGTH_COUNT);
        return false;
    }
    if (view->phase != NULL &&
        name_map_find(&proof->model.phase_by_name, view->phase) == NAME_NONE) {
        size_t count = proof->set.phase.count;
        const char **names = ARENA_ARRAY(arena, const char *, count);
        for (size_t i = 0; i < count; i++) {
            names[i] = proof->set.phase.rows[i].phase;
        }
        *problem = choices(arena, "phase", choice->phase, names, count);
        return false;
    }
    return true;
}
