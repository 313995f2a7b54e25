/* Method: the edits go into the base point; then time runs. Of all devices that carry more than
 * they hold for good the one that reaches the slow edge of its band first opens, at the current
 * that flows then; the share of its time that each of the others has used up by that moment stays
 * with it. Contactors and boxes answer at once, inside fail_apply(). An alternator whose field has
 * lost its voltage stops when that lasts; a motor that is fed the other way round turns. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "power/faults.h"

/* A field that comes back within this time has not been lost: its current dies down more slowly.
 * Common practice, no published source. */
#define FIELD_LASTS_S 1.0

/* A device that is overloaded before anything has failed has its own finding; it counts here when
 * its current rises beyond this. */
#define OVERLOAD_RISES 1.05

struct FaultsTrier {
    const Faults *faults;
    Arena arena;
    FailRun **runs; /* by phase, made when first used */
    ServiceRun *service;

    uint32_t *ids; /* the failures, sorted */
    size_t id_capacity;
    FailEdit *edits;
    size_t edit_capacity;
    bool *welded;      /* by OwnerId */
    bool *opened;      /* by device */
    double *used;      /* by device: share of its time that is gone */
    double *open_s;    /* by device: at the present current; 0: holds */
    bool *rivals;      /* by device: could have opened before the last one */
    bool *unproved_at; /* by device */
    OwnerId *unproved;
    FaultsOpening *openings;
    uint32_t *cycling; /* loads that go out with their current on and come back without it */
    uint32_t cycling_count;
    uint32_t *over;
    const bool *now_in_use; /* of the phase that is tried */
    bool *stopped;          /* by alternator */
    bool *turned;           /* by motor */

    uint32_t stamp;
    uint32_t *now_lost;  /* by load: stamp of the point at which it had none */
    uint32_t *ever_lost; /* by load: stamp of the try in which it had none for a while */
    uint32_t try_stamp;
    uint32_t *touched; /* loads that were ever lost in this try */
    uint32_t touched_count;
    uint32_t *lost;
    uint32_t *restarted;
    uint32_t *gained;
    FailRun *last;

    uint32_t *loss_loads;
    uint32_t *loss_owners;
    size_t owner_capacity;
    uint32_t *loss_conductors;
    size_t conductor_capacity;
    uint32_t *loss_nets;
    size_t net_capacity;
    uint32_t *loss_ports;
    size_t port_capacity;
    uint32_t *needs;
    uint32_t *functions;
    uint32_t *ways;
};

FaultsTrier *faults_trier_new(Arena *arena, const Faults *faults) {
    FaultsTrier *trier = ARENA_NEW(arena, FaultsTrier);
    const Network *network = &faults->built->network;
    uint32_t loads = faults->supply->load_count;
    *trier = (FaultsTrier){
        .faults = faults,
        .runs = ARENA_ARRAY(arena, FailRun *, faults->phase_count),
        .welded = ARENA_ARRAY(arena, bool, faults->model->owner_count),
        .opened = ARENA_ARRAY(arena, bool, faults->device_count),
        .used = ARENA_ARRAY(arena, double, faults->device_count),
        .open_s = ARENA_ARRAY(arena, double, faults->device_count),
        .rivals = ARENA_ARRAY(arena, bool, faults->device_count),
        .unproved_at = ARENA_ARRAY(arena, bool, faults->device_count),
        .unproved = ARENA_ARRAY(arena, OwnerId, faults->device_count),
        .openings = ARENA_ARRAY(arena, FaultsOpening, faults->device_count),
        .cycling = ARENA_ARRAY(arena, uint32_t, loads),
        .over = ARENA_ARRAY(arena, uint32_t, loads),
        .stopped = ARENA_ARRAY(arena, bool, network->alternator_count),
        .turned = ARENA_ARRAY(arena, bool, faults->motor_count),
        .now_lost = ARENA_ARRAY(arena, uint32_t, loads),
        .ever_lost = ARENA_ARRAY(arena, uint32_t, loads),
        .touched = ARENA_ARRAY(arena, uint32_t, loads),
        .lost = ARENA_ARRAY(arena, uint32_t, loads),
        .restarted = ARENA_ARRAY(arena, uint32_t, loads),
        .gained = ARENA_ARRAY(arena, uint32_t, loads),
        .loss_loads = ARENA_ARRAY(arena, uint32_t, 2 * (size_t)loads),
    };
    for (uint32_t i = 0; i < faults->phase_count; i++) {
        trier->runs[i] = fail_run_new(arena, faults->phases[i].base);
    }
    if (faults->service != NULL) {
        trier->service = service_run_new(arena, faults->service);
        trier->needs = ARENA_ARRAY(arena, uint32_t, service_need_count(faults->service));
        trier->functions = ARENA_ARRAY(arena, uint32_t, service_function_count(faults->service));
        trier->ways = ARENA_ARRAY(arena, uint32_t, service_way_count(faults->service));
    }
    return trier;
}

void faults_trier_free(FaultsTrier *trier) {
    for (uint32_t i = 0; i < trier->faults->phase_count; i++) {
        fail_run_free(trier->runs[i]);
    }
    arena_free(&trier->arena);
}

/* --- what is given ------------------------------------------------------------------------------
 */

static int compare_ids(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left;
    uint32_t b = *(const uint32_t *)right;
    return (a > b) - (a < b);
}

/* The failures in order, each once. */
static uint32_t sort_failures(FaultsTrier *trier, const uint32_t *failures, uint32_t count) {
    size_t kept = 0;
    for (uint32_t i = 0; i < count; i++) {
        CHECK(failures[i] < trier->faults->list.count);
        *ARENA_PUSH(&trier->arena, trier->ids, kept, trier->id_capacity) = failures[i];
    }
    if (kept > 1) {
        qsort(trier->ids, kept, sizeof *trier->ids, compare_ids);
        size_t once = 1;
        for (size_t i = 1; i < kept; i++) {
            if (trier->ids[i] != trier->ids[once - 1]) {
                trier->ids[once++] = trier->ids[i];
            }
        }
        kept = once;
    }
    return (uint32_t)kept;
}

static uint32_t gather_edits(FaultsTrier *trier, uint32_t count) {
    const FaultsList *list = &trier->faults->list;
    size_t edits = 0;
    for (uint32_t i = 0; i < count; i++) {
        const Failure *failure = &list->failures[trier->ids[i]];
        for (uint32_t k = 0; k < failure->edit_count; k++) {
            *ARENA_PUSH(&trier->arena, trier->edits, edits, trier->edit_capacity) =
                list->edits[failure->edit_first + k];
        }
    }
    return (uint32_t)edits;
}

static void set_welded(FaultsTrier *trier, uint32_t count, bool welded) {
    const FaultsList *list = &trier->faults->list;
    for (uint32_t i = 0; i < count; i++) {
        const Failure *failure = &list->failures[trier->ids[i]];
        for (uint32_t k = 0; k < failure->welded_count; k++) {
            trier->welded[list->welded[failure->welded_first + k]] = welded;
        }
    }
}

/* --- one moment ---------------------------------------------------------------------------------
 */

static void mark_load(FaultsTrier *trier, uint32_t load) {
    if (load == NETWORK_NONE) {
        return;
    }
    trier->now_lost[load] = trier->stamp;
    if (trier->ever_lost[load] != trier->try_stamp) {
        trier->ever_lost[load] = trier->try_stamp;
        trier->touched[trier->touched_count++] = load;
    }
}

/* Marks the loads that have no supply at the point reached. */
static void mark_lost(FaultsTrier *trier, FailRun *run) {
    const Faults *faults = trier->faults;
    const uint32_t *loads = NULL;
    uint32_t count = fail_loads_lost(run, &loads);
    trier->stamp++;
    for (uint32_t i = 0; i < count; i++) {
        mark_load(trier, faults->built->load_supply[loads[i]]);
    }
    for (uint32_t i = 0; i < trier->cycling_count; i++) {
        mark_load(trier, trier->cycling[i]);
    }
}

static bool is_cycling(const FaultsTrier *trier, uint32_t load) {
    for (uint32_t i = 0; i < trier->cycling_count; i++) {
        if (trier->cycling[i] == load) {
            return true;
        }
    }
    return false;
}

/* The box to blame for a to and fro: the one that the solver names; when that is switched off
 * already and only looks on, the first that draws and is out at the moment. NETWORK_NONE: it is no
 * box, or none is left. */
static uint32_t to_blame(const FaultsTrier *trier, FailRun *run) {
    const PowerNetwork *built = trier->faults->built;
    NetworkKind kind;
    uint32_t index;
    fail_offender(run, &kind, &index);
    uint32_t load = kind == NETWORK_LOAD ? built->load_supply[index] : NETWORK_NONE;
    if (load == NETWORK_NONE || !is_cycling(trier, load)) {
        return load;
    }
    const uint32_t *out = NULL;
    uint32_t count = fail_loads_lost(run, &out);
    for (uint32_t i = 0; i < count; i++) {
        load = built->load_supply[out[i]];
        if (load != NETWORK_NONE && !is_cycling(trier, load) && trier->now_in_use[load]) {
            return load;
        }
    }
    return NETWORK_NONE;
}

/* Settles, and takes a box that goes out with its current on and comes back without it for lost: it
 * is switched off, and the rest settles without it. Any other kind of to and fro stays one. */
static SolveStatus settle(FaultsTrier *trier, FailRun *run, const FailEdit *edits, uint32_t count) {
    const PowerNetwork *built = trier->faults->built;
    SolveStatus status = fail_apply(run, edits, count);
    while (status == SOLVE_OSCILLATES) {
        uint32_t load = to_blame(trier, run);
        if (load == NETWORK_NONE) {
            return status;
        }
        trier->cycling[trier->cycling_count++] = load;
        FailEdit off[2]; /* shares two by two: boxes with more cores are rare */
        for (uint32_t i = built->load_first[load]; i < built->load_first[load + 1]; i += 2) {
            uint32_t shares = built->load_first[load + 1] - i;
            shares = shares < 2 ? shares : 2;
            for (uint32_t k = 0; k < shares; k++) {
                off[k] = fail_value(FAIL_DRAW, NETWORK_LOAD, i + k, 0.0);
            }
            status = fail_apply(run, off, shares);
        }
    }
    return status;
}

/* True when a motor that draws is fed the other way round: both ways are set, once for each. */
static uint32_t turn_motors(FaultsTrier *trier, const FaultsPhase *phase, FailRun *run,
                            FailEdit *edits) {
    const Faults *faults = trier->faults;
    uint32_t count = 0;
    for (uint32_t i = 0; i < faults->motor_count; i++) {
        uint32_t element = faults->motors[i];
        uint32_t load = faults->built->load_supply[element];
        uint32_t first = faults->built->load_first[load];
        uint32_t other = element == first ? first + 1 : first;
        if (trier->turned[i] || !(fail_element_a(run, NETWORK_LOAD, element) < 0.0) ||
            other >= faults->built->load_first[load + 1]) {
            continue;
        }
        double draw_a = fail_base_network(phase->base)->loads[element].nominal_a;
        edits[count++] = fail_value(FAIL_DRAW, NETWORK_LOAD, element, 0.0);
        edits[count++] = fail_value(FAIL_DRAW, NETWORK_LOAD, other, draw_a);
        trier->turned[i] = true;
        break;
    }
    return count;
}

static bool has_field(const Faults *faults, FailRun *run, uint32_t alternator) {
    const BuildAlternator *row = &faults->built->alternators[alternator];
    return row->field == NETWORK_NONE || fail_load_v(run, row->field) >= row->field_v;
}

/* The device that opens next, by the slow edge; device_count when none does. *after_s: from now. */
static uint32_t next_opening(FaultsTrier *trier, const FaultsPhase *phase, FailRun *run,
                             double *after_s) {
    const Faults *faults = trier->faults;
    uint32_t next = faults->device_count;
    *after_s = (double)INFINITY;
    for (uint32_t i = 0; i < faults->device_count; i++) {
        const FaultsDevice *device = &faults->devices[i];
        trier->open_s[i] = 0.0;
        trier->rivals[i] = false;
        if (trier->opened[i] || trier->welded[device->owner]) {
            continue;
        }
        double amps_a = fabs(fail_element_a(run, NETWORK_CONTACT, device->contact));
        if (amps_a <= device->hold_a || amps_a <= OVERLOAD_RISES * phase->device_a[i]) {
            continue;
        }
        double open_s =
            protector_band(device->gates, 100.0 * amps_a / device->rating_a).open_s.value;
        trier->open_s[i] = open_s;
        if (isinf(open_s)) {
            trier->unproved_at[i] = true;
            continue;
        }
        double rest_s = (1.0 - trier->used[i]) * open_s;
        if (rest_s < *after_s) {
            *after_s = rest_s;
            next = i;
        }
    }
    return next;
}

/* Devices whose fast edge comes before `next` opens, where no published gate tells them apart. */
static void mark_rivals(FaultsTrier *trier, FailRun *run, uint32_t next, double after_s) {
    const Faults *faults = trier->faults;
    for (uint32_t i = 0; i < faults->device_count; i++) {
        const FaultsDevice *device = &faults->devices[i];
        if (i == next || !(trier->open_s[i] > 0.0)) {
            continue;
        }
        double percent =
            100.0 * fabs(fail_element_a(run, NETWORK_CONTACT, device->contact)) / device->rating_a;
        ProtectorBand band = protector_band(device->gates, percent);
        trier->rivals[i] = band.open_s.basis != RATING_PUBLISHED &&
                           (1.0 - trier->used[i]) * band.hold_s.value < after_s;
    }
}

/* After `opening` the fault is gone for a rival that no longer carries too much: it might have been
 * the one to clear it. The one nearest to its rating's limits is named. */
static void name_rival(FaultsTrier *trier, FailRun *run, FaultsOpening *opening) {
    const Faults *faults = trier->faults;
    for (uint32_t i = 0; i < faults->device_count; i++) {
        if (trier->rivals[i] && opening->rival == ID_NONE &&
            fabs(fail_element_a(run, NETWORK_CONTACT, faults->devices[i].contact)) <=
                faults->devices[i].hold_a) {
            opening->rival = faults->devices[i].owner;
        }
        trier->rivals[i] = false;
    }
}

/* --- the run of time ----------------------------------------------------------------------------
 */

static SolveStatus stop_alternators(FaultsTrier *trier, const FaultsPhase *phase, FailRun *run,
                                    uint32_t *stopped) {
    const Faults *faults = trier->faults;
    const Network *base = fail_base_network(phase->base);
    SolveStatus status = SOLVE_OK;
    for (uint32_t i = 0; i < base->alternator_count && status == SOLVE_OK; i++) {
        if (base->alternators[i].running && !trier->stopped[i] && !has_field(faults, run, i)) {
            FailEdit edit = fail_open(NETWORK_ALTERNATOR, i);
            trier->stopped[i] = true;
            *stopped += 1;
            status = settle(trier, run, &edit, 1);
        }
    }
    return status;
}

static bool any_unfed(const FaultsTrier *trier, const FaultsPhase *phase, FailRun *run) {
    const Network *base = fail_base_network(phase->base);
    for (uint32_t i = 0; i < base->alternator_count; i++) {
        if (base->alternators[i].running && !trier->stopped[i] &&
            !has_field(trier->faults, run, i)) {
            return true;
        }
    }
    return false;
}

static SolveStatus open_device(FaultsTrier *trier, FailRun *run, FaultsEffect *effect,
                               uint32_t next, double after_s, double *elapsed_s) {
    const FaultsDevice *device = &trier->faults->devices[next];
    for (uint32_t i = 0; i < trier->faults->device_count; i++) {
        if (trier->open_s[i] > 0.0) {
            trier->used[i] = fmin(trier->used[i] + after_s / trier->open_s[i], 1.0);
        }
    }
    *elapsed_s += after_s;
    double amps_a = fabs(fail_element_a(run, NETWORK_CONTACT, device->contact));
    mark_rivals(trier, run, next, after_s);
    FaultsOpening *opening = &trier->openings[effect->opening_count++];
    *opening = (FaultsOpening){
        .owner = device->owner,
        .seconds = *elapsed_s,
        .percent = 100.0 * amps_a / device->rating_a,
        .rival = ID_NONE,
    };
    trier->opened[next] = true;
    FailEdit edit = fail_open(NETWORK_CONTACT, device->contact);
    SolveStatus status = settle(trier, run, &edit, 1);
    if (status == SOLVE_OK) {
        name_rival(trier, run, opening);
    }
    return status;
}

/* Runs time on until nothing more happens. Every turn opens a device, stops an alternator or turns
 * a motor, each of them once: it ends. */
static SolveStatus run_time(FaultsTrier *trier, const FaultsPhase *phase, FailRun *run,
                            FaultsEffect *effect) {
    double elapsed_s = 0.0;
    for (;;) {
        FailEdit turns[2];
        uint32_t turn_count = turn_motors(trier, phase, run, turns);
        SolveStatus status = SOLVE_OK;
        if (turn_count > 0) {
            status = settle(trier, run, turns, turn_count);
        } else {
            mark_lost(trier, run);
            double after_s;
            uint32_t next = next_opening(trier, phase, run, &after_s);
            bool none = next == trier->faults->device_count;
            if ((none || after_s > FIELD_LASTS_S) && any_unfed(trier, phase, run)) {
                status = stop_alternators(trier, phase, run, &effect->stopped_alternators);
            } else if (none) {
                return SOLVE_OK;
            } else {
                status = open_device(trier, run, effect, next, after_s, &elapsed_s);
            }
        }
        if (status != SOLVE_OK) {
            return status;
        }
    }
}

/* --- what is lost -------------------------------------------------------------------------------
 */

static void list_loads(FaultsTrier *trier, FailRun *run, FaultsEffect *effect) {
    const Faults *faults = trier->faults;
    mark_lost(trier, run);
    if (trier->touched_count > 1) {
        qsort(trier->touched, trier->touched_count, sizeof *trier->touched, compare_ids);
    }
    for (uint32_t i = 0; i < trier->touched_count; i++) {
        uint32_t load = trier->touched[i];
        if (trier->now_lost[load] == trier->stamp) {
            trier->lost[effect->lost_count++] = load;
        } else {
            trier->restarted[effect->restarted_count++] = load;
        }
    }
    const uint32_t *loads = NULL;
    uint32_t count = fail_loads_gained(run, &loads);
    uint32_t last = NETWORK_NONE;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t load = faults->built->load_supply[loads[i]];
        if (load != NETWORK_NONE && load != last && trier->now_lost[load] != trier->stamp) {
            trier->gained[effect->gained_count++] = load;
            last = load;
        }
    }
    effect->lost = trier->lost;
    effect->restarted = trier->restarted;
    effect->gained = trier->gained;
}

/* The ids that the failures list somewhere: `first_at` is where a Failure holds the place of its
 * first one in `ids`, and behind it their count. */
static uint32_t gather(FaultsTrier *trier, uint32_t count, const uint32_t *ids, size_t first_at,
                       uint32_t **buffer, size_t *capacity) {
    size_t gathered = 0;
    for (uint32_t i = 0; i < count; i++) {
        const char *failure = (const char *)&trier->faults->list.failures[trier->ids[i]];
        uint32_t range[2];
        memcpy(range, failure + first_at, sizeof range);
        for (uint32_t k = 0; k < range[1]; k++) {
            *ARENA_PUSH(&trier->arena, *buffer, gathered, *capacity) = ids[range[0] + k];
        }
    }
    return (uint32_t)gathered;
}

static uint32_t beyond(const uint32_t *ids, uint32_t count, const bool *gone, uint32_t *kept) {
    uint32_t out = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (!gone[ids[i]]) {
            kept[out++] = ids[i];
        }
    }
    return out;
}

static void ask_service(FaultsTrier *trier, const FaultsPhase *phase, uint32_t count,
                        FaultsEffect *effect) {
    const FaultsList *list = &trier->faults->list;
    ServiceLoss loss = {.loads = trier->loss_loads};
    memcpy(trier->loss_loads, phase->missing, phase->missing_count * sizeof *phase->missing);
    if (effect->lost_count > 0) {
        memcpy(&trier->loss_loads[phase->missing_count], effect->lost,
               effect->lost_count * sizeof *effect->lost);
    }
    loss.load_count = phase->missing_count + effect->lost_count;
    loss.owner_count = gather(trier, count, list->owners, offsetof(Failure, owner_first),
                              &trier->loss_owners, &trier->owner_capacity);
    loss.conductor_count =
        gather(trier, count, list->conductors, offsetof(Failure, conductor_first),
               &trier->loss_conductors, &trier->conductor_capacity);
    loss.net_count = gather(trier, count, list->nets, offsetof(Failure, net_first),
                            &trier->loss_nets, &trier->net_capacity);
    loss.port_count = gather(trier, count, list->ports, offsetof(Failure, port_first),
                             &trier->loss_ports, &trier->port_capacity);
    loss.owners = trier->loss_owners;
    loss.conductors = trier->loss_conductors;
    loss.nets = trier->loss_nets;
    loss.ports = trier->loss_ports;
    ServiceAnswer answer = service_ask(trier->service, &loss);
    effect->need_count = beyond(answer.needs, answer.need_count, phase->needs_gone, trier->needs);
    effect->function_count =
        beyond(answer.functions, answer.function_count, phase->functions_gone, trier->functions);
    effect->way_count = beyond(answer.ways, answer.way_count, phase->ways_gone, trier->ways);
    effect->needs = trier->needs;
    effect->functions = trier->functions;
    effect->ways = trier->ways;
}

/* Boxes in use above the voltage they stand, when a source was given another one. */
static void list_over(FaultsTrier *trier, FailRun *run, uint32_t edits, FaultsEffect *effect) {
    const Faults *faults = trier->faults;
    const PowerNetwork *built = faults->built;
    bool asked = false;
    for (uint32_t i = 0; i < edits; i++) {
        asked = asked || trier->edits[i].kind == FAIL_VOLTS;
    }
    effect->over = trier->over;
    for (uint32_t load = 0; load < faults->supply->load_count && asked; load++) {
        uint32_t row = faults->supply->loads[load].load_row;
        double most_v =
            row == ID_NONE ? (double)NAN : faults->model->set->load.rows[row].volts_max_v;
        if (isnan(most_v) || !trier->now_in_use[load]) {
            continue;
        }
        for (uint32_t i = built->load_first[load]; i < built->load_first[load + 1]; i++) {
            if (fail_load_v(run, i) > most_v) {
                trier->over[effect->over_count++] = load;
                break;
            }
        }
    }
}

static void list_unproved(FaultsTrier *trier, FaultsEffect *effect) {
    for (uint32_t i = 0; i < trier->faults->device_count; i++) {
        if (trier->unproved_at[i] && !trier->opened[i]) {
            trier->unproved[effect->unproved_count++] = trier->faults->devices[i].owner;
        }
        if (effect->status == FAULTS_SOLVED && trier->unproved_at[i] && !trier->opened[i]) {
            effect->status = FAULTS_NOT_PROVED;
        }
    }
    for (uint32_t i = 0; i < effect->opening_count; i++) {
        if (effect->status == FAULTS_SOLVED && trier->openings[i].rival != ID_NONE) {
            effect->status = FAULTS_NOT_PROVED;
        }
    }
    effect->unproved = trier->unproved;
    effect->cycling = trier->cycling;
    effect->cycling_count = trier->cycling_count;
    if (effect->cycling_count > 1) {
        qsort(trier->cycling, effect->cycling_count, sizeof *trier->cycling, compare_ids);
    }
    effect->openings = trier->openings;
}

/* --- exported -----------------------------------------------------------------------------------
 */

FaultsEffect faults_try(FaultsTrier *trier, uint32_t phase, const uint32_t *failures,
                        uint32_t count) {
    const Faults *faults = trier->faults;
    CHECK(phase < faults->phase_count);
    FaultsEffect effect = {0};
    const FaultsPhase *base = &faults->phases[phase];
    FailRun *run = trier->runs[phase];
    count = sort_failures(trier, failures, count);
    memset(trier->opened, 0, faults->device_count * sizeof *trier->opened);
    memset(trier->used, 0, faults->device_count * sizeof *trier->used);
    memset(trier->unproved_at, 0, faults->device_count * sizeof *trier->unproved_at);
    memset(trier->turned, 0, faults->motor_count * sizeof *trier->turned);
    memset(trier->stopped, 0, faults->built->network.alternator_count * sizeof *trier->stopped);
    trier->touched_count = 0;
    trier->cycling_count = 0;
    trier->try_stamp++;
    trier->last = run;
    trier->now_in_use = base->in_use;
    set_welded(trier, count, true);
    fail_begin(run);
    uint32_t edits = gather_edits(trier, count);
    SolveStatus status = edits == 0 ? SOLVE_OK : settle(trier, run, trier->edits, edits);
    if (status == SOLVE_OK && edits > 0) {
        status = run_time(trier, base, run, &effect);
    }
    set_welded(trier, count, false);
    if (status != SOLVE_OK) {
        effect.status = status == SOLVE_OSCILLATES ? FAULTS_OSCILLATES : FAULTS_NOT_CONVERGED;
        fail_offender(run, &effect.offender_kind, &effect.offender);
    }
    if (edits > 0) {
        list_loads(trier, run, &effect);
    }
    list_over(trier, run, edits, &effect);
    list_unproved(trier, &effect);
    if (faults->service != NULL) {
        ask_service(trier, base, count, &effect);
    }
    return effect;
}

FailRun *faults_run_of(const FaultsTrier *trier) {
    return trier->last;
}

const FailCounts *faults_counts(const FaultsTrier *trier, uint32_t phase) {
    return fail_counts(trier->runs[phase]);
}
