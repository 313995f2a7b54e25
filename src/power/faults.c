/* Builds what trying failures needs: the list, the devices with their curves, and a base point in
 * every phase that failures are tried in. */
#include "power/faults.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"

/* What is proved to hold this long is carried for good. */
#define HOLDS_FOR_GOOD_S 3600.0

/* --- devices ------------------------------------------------------------------------------------
 */

static void read_curve(Arena *out, const Model *model, const char *part, FaultsDevice *device) {
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_curve, part, &count);
    ProtectorGate *gates = ARENA_ARRAY(out, ProtectorGate, count);
    size_t kept = 0;
    for (uint32_t i = first; i < first + count; i++) {
        const CurveRow *row = &model->set->curve.rows[i];
        if (device->rating_a >= row->from_a && device->rating_a <= row->to_a) {
            gates[kept++] = (ProtectorGate){row->load_pct, row->t_min_s, row->t_max_s};
        }
    }
    /* Rows are sorted by from, to, percent; ranges that overlap need sorting by percent alone. */
    for (size_t i = 1; i < kept; i++) {
        ProtectorGate gate = gates[i];
        size_t at = i;
        for (; at > 0 && gates[at - 1].percent > gate.percent; at--) {
            gates[at] = gates[at - 1];
        }
        gates[at] = gate;
    }
    device->gates = (ProtectorGates){gates, kept};
    double hold_pct = 100.0;
    for (size_t i = 0; i < kept; i++) {
        if (gates[i].hold_s >= HOLDS_FOR_GOOD_S) {
            hold_pct = fmax(hold_pct, gates[i].percent);
        }
    }
    device->hold_a = hold_pct / 100.0 * device->rating_a;
}

static void find_devices(Arena *out, const FaultsInput *input, Faults *faults) {
    const Model *model = input->model;
    const Gates *gates = &input->supply->gates;
    faults->devices = ARENA_ARRAY(out, FaultsDevice, model->set->protection.count);
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        const ModelOwner *row = &model->owners[owner];
        if (row->kind != OWNER_PROTECTION || row->part == ID_NONE) {
            continue;
        }
        const ProtectionRow *protection = &model->set->protection.rows[row->row];
        double rating_a =
            input->rating_a == NULL ? protection->rating_a : input->rating_a[row->row];
        for (uint32_t i = gates->owner_first[owner];
             i < gates->owner_first[owner + 1] && rating_a > 0.0; i++) {
            BuildElement element = input->built->gate_element[i];
            if (element.kind == NETWORK_CONTACT) {
                FaultsDevice *device = &faults->devices[faults->device_count++];
                *device =
                    (FaultsDevice){.owner = owner, .contact = element.index, .rating_a = rating_a};
                read_curve(out, model, protection->part, device);
                break;
            }
        }
    }
}

static void find_motors(Arena *out, const FaultsInput *input, Faults *faults) {
    const PowerNetwork *built = input->built;
    faults->motors = ARENA_ARRAY(out, uint32_t, built->network.load_count);
    for (uint32_t i = 0; i < built->network.load_count; i++) {
        uint32_t load = built->load_supply[i];
        if (load != NETWORK_NONE &&
            input->supply->loads[load].return_port == input->supply->loads[load].port) {
            faults->motors[faults->motor_count++] = i;
        }
    }
}

/* --- phases -------------------------------------------------------------------------------------
 */

static bool is_flight(const char *engine) {
    return strcmp(engine, "taxi") == 0 || strcmp(engine, "climb") == 0 ||
           strcmp(engine, "cruise") == 0 || strcmp(engine, "approach") == 0;
}

static bool is_chosen(const FaultsInput *input, uint32_t phase, bool marked) {
    const PhaseRow *row = &input->model->set->phase.rows[phase];
    if (input->only_phase) {
        return phase == input->phase && input->phases->solved[phase];
    }
    return input->phases->solved[phase] && (marked ? row->failures == 1 : is_flight(row->engine));
}

/* Loads that have no supply at the base point, and those that use theirs. */
static void judge_loads(Arena *out, const FaultsInput *input, const SolveResult *result,
                        FaultsPhase *phase) {
    const Supply *supply = input->supply;
    const PowerNetwork *built = input->built;
    phase->missing = ARENA_ARRAY(out, uint32_t, supply->load_count);
    phase->in_use = ARENA_ARRAY(out, bool, supply->load_count);
    for (uint32_t load = 0; load < supply->load_count; load++) {
        uint32_t first = built->load_first[load];
        uint32_t end = built->load_first[load + 1];
        uint32_t working = 0;
        bool draws = false;
        for (uint32_t i = first; i < end; i++) {
            working += solve_load_works(&built->network, result, i) ? 1 : 0;
            draws = draws || built->network.loads[i].nominal_a > 0.0;
        }
        bool motor = supply->loads[load].return_port == supply->loads[load].port;
        bool works = motor ? working > 0 : working == end - first;
        if (first < end && !works) {
            phase->missing[phase->missing_count++] = load;
        }
        phase->in_use[load] = first < end && works && draws;
    }
}

/* What the phase's missing supply loses before anything has failed. */
static void judge_service(Arena *out, const Service *service, FaultsPhase *phase) {
    if (service == NULL) {
        return;
    }
    phase->needs_gone = ARENA_ARRAY(out, bool, service_need_count(service));
    phase->functions_gone = ARENA_ARRAY(out, bool, service_function_count(service));
    phase->ways_gone = ARENA_ARRAY(out, bool, service_way_count(service));
    Arena scratch = {0};
    ServiceLoss loss = {.loads = phase->missing, .load_count = phase->missing_count};
    ServiceAnswer answer = service_ask(service_run_new(&scratch, service), &loss);
    for (uint32_t i = 0; i < answer.need_count; i++) {
        phase->needs_gone[answer.needs[i]] = true;
    }
    for (uint32_t i = 0; i < answer.function_count; i++) {
        phase->functions_gone[answer.functions[i]] = true;
    }
    for (uint32_t i = 0; i < answer.way_count; i++) {
        phase->ways_gone[answer.ways[i]] = true;
    }
    arena_free(&scratch);
}

/* The numbers of one phase are set as the phases pass did it, and solved from the states that it
 * found: motors are turned and alternators without field stand. */
static bool add_phase(Arena *out, const FaultsInput *input, uint32_t row, Faults *faults) {
    FaultsPhase *phase = &faults->phases[faults->phase_count];
    Arena scratch = {0};
    NetworkState state =
        network_state_copy(&scratch, &input->built->network, &input->phases->results[row].state);
    phases_set(input->built, input->model, input->supply, row, input->supply->positions[row],
               &state);
    SolveResult result;
    bool solved = phases_solve(input->phases->plan, input->built, input->supply, &state, NULL,
                               &scratch, &result, NULL);
    if (solved) {
        *phase = (FaultsPhase){.phase = row};
        phase->base =
            fail_base_new(out, input->phases->plan, &input->built->network, &result.state);
        solved = fail_base_result(phase->base)->status == SOLVE_OK;
    }
    if (solved) {
        const SolveResult *base = fail_base_result(phase->base);
        judge_loads(out, input, base, phase);
        judge_service(out, input->service, phase);
        phase->device_a = ARENA_ARRAY(out, double, faults->device_count);
        for (uint32_t i = 0; i < faults->device_count; i++) {
            phase->device_a[i] = fabs(base->contact_a[faults->devices[i].contact]);
        }
        faults->phase_count++;
    }
    arena_free(&scratch);
    return solved;
}

/* --- exported -----------------------------------------------------------------------------------
 */

void faults_build(Arena *out, const FaultsInput *input, Faults *faults, Findings *findings) {
    *faults = (Faults){
        .model = input->model,
        .wiring = input->wiring,
        .supply = input->supply,
        .built = input->built,
        .service = input->service,
    };
    faults_list(out, input, &faults->list, findings);
    find_devices(out, input, faults);
    find_motors(out, input, faults);
    size_t count = input->model->set->phase.count;
    faults->phases = ARENA_ARRAY(out, FaultsPhase, count);
    bool marked = false;
    for (size_t i = 0; i < count; i++) {
        marked = marked || input->model->set->phase.rows[i].failures == 1;
    }
    for (size_t i = 0; i < count; i++) {
        uint32_t phase = input->phases->order[i];
        if (is_chosen(input, phase, marked)) {
            add_phase(out, input, phase, faults);
        }
    }
}
