/* Readings as they come to the diagnosis: where a step of the script is taken, and what a harness
 * with errors in it would show there. */
#include <math.h>

#include "shop/diagnose_inner.h"

/* Whether metal joins any point of one side with any of the other. */
static bool groups_touch(const WrongRig *state, const RigPointId *a, uint32_t a_count,
                         const RigPointId *b, uint32_t b_count) {
    Arena scratch = {0};
    const Rig *rig = state->rig;
    bool *part = ARENA_ARRAY(&scratch, bool, state->part_count);
    bool *net = ARENA_ARRAY(&scratch, bool, rig->net_count);
    for (uint32_t i = 0; i < a_count; i++) {
        if (wrong_concerns(state, a[i])) {
            part[state->part[a[i]]] = true;
        } else if (rig->points[a[i]].net != ID_NONE) {
            net[rig->points[a[i]].net] = true;
        }
    }
    bool touch = false;
    for (uint32_t i = 0; i < b_count && !touch; i++) {
        touch = wrong_concerns(state, b[i])
                    ? part[state->part[b[i]]]
                    : rig->points[b[i]].net != ID_NONE && net[rig->points[b[i]].net];
    }
    arena_free(&scratch);
    return touch;
}

static bool any_joined(const WrongRig *state, const RigPointId *points, uint32_t count,
                       uint32_t onto) {
    for (uint32_t i = 0; i < count; i++) {
        if (wrong_joined(state, points[i], onto)) {
            return true;
        }
    }
    return false;
}

bool diagnose_terminated(const WrongRig *state, const RigPointId *a, uint32_t a_count,
                         const RigPointId *b, uint32_t b_count) {
    for (uint32_t e = 0; e < state->rig->edge_count; e++) {
        const RigEdge *edge = &state->rig->edges[e];
        if (edge->kind != RIG_TERMINATOR || state->broken[e]) {
            continue;
        }
        uint32_t one = state->at[edge->a];
        uint32_t two = state->at[edge->b];
        if ((any_joined(state, a, a_count, one) && any_joined(state, b, b_count, two)) ||
            (any_joined(state, a, a_count, two) && any_joined(state, b, b_count, one))) {
            return true;
        }
    }
    return false;
}

void diagnose_simulate(WrongRig *state, const RigPointId *a, uint32_t a_count, const RigPointId *b,
                       uint32_t b_count, double bad_ohm, BenchReading *reading) {
    const double TOUCH_OHM = 1.0; /* what tied points show that touch somewhere */
    *reading = (BenchReading){a, a_count, b, b_count, true, (double)NAN};
    if (a_count == 1 && b_count == 1) {
        double ohm = wrong_ohm(state, a[0], b[0], bad_ohm, 0.0);
        reading->open = isinf(ohm);
        reading->ohm = ohm;
        return;
    }
    if (groups_touch(state, a, a_count, b, b_count) ||
        diagnose_terminated(state, a, a_count, b, b_count)) {
        reading->open = false;
        reading->ohm = TOUCH_OHM;
    }
}

bool diagnose_step_points(Arena *arena, const Ringout *ringout, uint32_t step,
                          BenchReading *reading) {
    const RingStep *row = &ringout->steps[step];
    *reading = (BenchReading){0};
    if (row->kind == RING_ISOLATION) {
        const IsolationSession *session = &ringout->plan.sessions[row->session];
        const RingNets *nets = &ringout->nets;
        uint32_t most = 0;
        for (uint32_t m = session->first; m < session->first + session->count; m++) {
            uint32_t net = ringout->plan.members[m].net;
            most += nets->tied_first[net + 1] - nets->tied_first[net];
        }
        RigPointId *a = ARENA_ARRAY(arena, RigPointId, most);
        RigPointId *b = ARENA_ARRAY(arena, RigPointId, most);
        for (uint32_t m = session->first; m < session->first + session->count; m++) {
            const IsolationMember *member = &ringout->plan.members[m];
            for (uint32_t t = nets->tied_first[member->net]; t < nets->tied_first[member->net + 1];
                 t++) {
                if (member->side_a >> row->reading & 1) {
                    a[reading->a_count++] = nets->tied[t];
                } else if (member->side_b >> row->reading & 1) {
                    b[reading->b_count++] = nets->tied[t];
                }
            }
        }
        reading->a = a;
        reading->b = b;
        return true;
    }
    if (row->a == ID_NONE || row->b == ID_NONE) {
        return false;
    }
    RigPointId *ends = ARENA_ARRAY(arena, RigPointId, 2);
    ends[0] = row->a;
    ends[1] = row->b;
    *reading = (BenchReading){.a = &ends[0], .a_count = 1, .b = &ends[1], .b_count = 1};
    return true;
}
