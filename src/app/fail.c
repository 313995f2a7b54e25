#include "app/fail.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/summary.h"

/* Boxes that stay on and are told with their volts: the nearest to their limit. */
enum { LOWEST_TOLD = 3 };

typedef struct Trying {
    Buffer *out;
    Arena *arena;
    const Proof *proof;
    const Faults *faults;
    FaultsTrier *trier;
} Trying;

/* --- keys ---------------------------------------------------------------------------------------
 */

/* "no failure is called X; did you mean Y". Items and whole keys are both near. */
static const char *unknown(Arena *arena, const FaultsList *list, const char *key) {
    const char **names = ARENA_ARRAY(arena, const char *, 2 * (size_t)list->count);
    for (uint32_t i = 0; i < list->count; i++) {
        names[2 * i] = list->failures[i].item;
        names[2 * i + 1] = list->failures[i].key;
    }
    const char *nearest = text_nearest(key, names, 2 * (size_t)list->count);
    return arena_format(arena,
                        "nothing that can fail is called %s%s%s; `marling show fault JOB` "
                        "lists what can",
                        key, nearest == NULL ? "" : "; did you mean ",
                        nearest == NULL ? "" : nearest);
}

/* "W0412 does not fail by bent: its modes are open, short". */
static const char *unknown_mode(Arena *arena, const Faults *faults, const char *key,
                                const char *item, uint32_t first, uint32_t count) {
    Buffer modes = {.arena = arena};
    for (uint32_t i = first; i < first + count; i++) {
        const Failure *failure = &faults->list.failures[i];
        buffer_format(&modes, "%s%s", i == first ? "" : ", ",
                      faults->model->set->failure_mode.rows[failure->mode].mode);
    }
    return arena_format(arena, "%s does not fail by %s; its modes are %s", item,
                        key + strlen(item) + 1, modes.bytes);
}

/* The failures that a word means: [first, first + count) of the list. */
static bool meant(Trying *trying, const char *key, uint32_t *first, uint32_t *count,
                  const char **problem) {
    const FaultsList *list = &trying->faults->list;
    *first = faults_find(list, key);
    *count = 1;
    if (*first != ID_NONE) {
        return true;
    }
    *first = faults_find_item(list, key, count);
    if (*count > 0) {
        return true;
    }
    const char *colon = strrchr(key, ':');
    const char *item = colon == NULL ? key : arena_text(trying->arena, key, (size_t)(colon - key));
    uint32_t modes = 0;
    uint32_t at = faults_find_item(list, item, &modes);
    *problem = colon != NULL && modes > 0
                   ? unknown_mode(trying->arena, trying->faults, key, item, at, modes)
                   : unknown(trying->arena, list, key);
    return false;
}

/* --- words --------------------------------------------------------------------------------------
 */

enum { WIDTH = 98, INDENT = 16 };

/* Words, broken into lines that begin `indent` columns in; the first is there already. */
static void write_words(Buffer *out, int indent, const char *text) {
    size_t column = (size_t)indent;
    const char *place = text;
    const char *word;
    size_t length;
    for (bool first = true; text_next_word(&place, &word, &length); first = false) {
        if (!first && column + 1 + length > WIDTH) {
            buffer_format(out, "\n%*s", indent, "");
            column = (size_t)indent;
        } else if (!first) {
            buffer_text(out, " ");
            column++;
        }
        buffer_add(out, word, length);
        column += length;
    }
    buffer_text(out, "\n");
}

/* A labelled list. */
static void write_list(Buffer *out, const char *label, const char *text) {
    if (*text != '\0') {
        buffer_format(out, "  %-*s", INDENT - 2, label);
        write_words(out, INDENT, text);
    }
}

static const char *end_of(const Trying *trying, uint32_t load) {
    return trying->faults->model->terminals[trying->faults->supply->loads[load].port].end;
}

static const char *ends(const Trying *trying, const uint32_t *loads, uint32_t count) {
    Buffer text = {.arena = trying->arena};
    for (uint32_t i = 0; i < count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ", end_of(trying, loads[i]));
    }
    return count == 0 ? "" : text.bytes;
}

static const char *openings(const Trying *trying, const FaultsEffect *effect) {
    Buffer text = {.arena = trying->arena};
    for (uint32_t i = 0; i < effect->opening_count; i++) {
        const FaultsOpening *opening = &effect->openings[i];
        buffer_format(&text, "%s%s after %.3g s at the latest (%.0f %% of its rating)",
                      i == 0 ? "" : ", then ", trying->faults->model->owners[opening->owner].tag,
                      opening->seconds, opening->percent);
    }
    return effect->opening_count == 0 ? "" : text.bytes;
}

static const char *needs(const Trying *trying, const FaultsEffect *effect) {
    Buffer text = {.arena = trying->arena};
    for (uint32_t i = 0; i < effect->need_count; i++) {
        const ServiceNeed *need = service_need(trying->faults->service, effect->needs[i]);
        buffer_format(&text, "%s%s %s%s%s%s", i == 0 ? "" : ", ", need->name, need->title,
                      *need->severity == '\0' ? "" : " (", need->severity,
                      *need->severity == '\0' ? "" : ")");
    }
    return effect->need_count == 0 ? "" : text.bytes;
}

/* A box that stays on, by what it has to spare. */
typedef struct Left {
    uint32_t load;
    double volts_v;
    double spare_v;
} Left;

static int compare_left(const void *left, const void *right) {
    const Left *a = left;
    const Left *b = right;
    if (a->spare_v != b->spare_v) {
        return a->spare_v < b->spare_v ? -1 : 1;
    }
    return (a->load > b->load) - (a->load < b->load);
}

static bool is_among(const uint32_t *ids, uint32_t count, uint32_t id) {
    for (uint32_t i = 0; i < count; i++) {
        if (ids[i] == id) {
            return true;
        }
    }
    return false;
}

/* "10.9 V at TRC.PWR, which needs 10 V": boxes in use that keep their supply. */
static const char *lowest(const Trying *trying, const FaultsPhase *phase,
                          const FaultsEffect *effect) {
    const Faults *faults = trying->faults;
    FailRun *run = faults_run_of(trying->trier);
    Left *left = ARENA_ARRAY(trying->arena, Left, faults->supply->load_count);
    size_t count = 0;
    for (uint32_t load = 0; load < faults->supply->load_count; load++) {
        double minimum_v = faults->supply->loads[load].minimum_v;
        if (!phase->in_use[load] || isnan(minimum_v) ||
            is_among(effect->lost, effect->lost_count, load)) {
            continue;
        }
        double volts_v = (double)INFINITY;
        for (uint32_t i = faults->built->load_first[load]; i < faults->built->load_first[load + 1];
             i++) {
            double share_v = fail_load_v(run, i);
            volts_v = share_v > 0.0 ? fmin(volts_v, share_v) : volts_v;
        }
        if (isfinite(volts_v)) {
            left[count++] = (Left){load, volts_v, volts_v - minimum_v};
        }
    }
    if (count > 1) {
        qsort(left, count, sizeof *left, compare_left);
    }
    Buffer text = {.arena = trying->arena};
    for (size_t i = 0; i < count && i < LOWEST_TOLD; i++) {
        buffer_format(&text, "%s%.2f V at %s, which needs %.4g V", i == 0 ? "" : "; ",
                      left[i].volts_v, end_of(trying, left[i].load),
                      faults->supply->loads[left[i].load].minimum_v);
    }
    return count == 0 ? "" : text.bytes;
}

/* What the pilot may notice: rows of `cue`, and boxes in use that go dark. */
static const char *noticed(const Trying *trying, const FaultsPhase *phase,
                           const FaultsEffect *effect, const uint32_t *failures, uint32_t count) {
    Buffer text = {.arena = trying->arena};
    for (uint32_t i = 0; i < count; i++) {
        const CueRow *cue = faults_cue(trying->faults, &trying->faults->list.failures[failures[i]]);
        if (cue != NULL) {
            buffer_format(&text, "%s%s", text.length == 0 ? "by " : "; ", cue->cue);
        }
    }
    if (text.length > 0) {
        return text.bytes;
    }
    for (uint32_t i = 0; i < effect->lost_count; i++) {
        if (phase->in_use[effect->lost[i]]) {
            return "evident: boxes in use go dark";
        }
    }
    for (uint32_t i = 0; i < effect->restarted_count; i++) {
        if (phase->in_use[effect->restarted[i]]) {
            return "evident: boxes in use start again";
        }
    }
    return "latent: nothing in use goes dark, and no `cue` row names it";
}

/* --- answers ------------------------------------------------------------------------------------
 */

/* What happens in a phase; *volts gets the line of voltages, which differ a little from phase to
 * phase where nothing else does. */
static const char *answer(Trying *trying, uint32_t phase, const uint32_t *failures, uint32_t count,
                          const char **volts) {
    const Faults *faults = trying->faults;
    FaultsEffect effect = faults_try(trying->trier, phase, failures, count);
    Buffer text = {.arena = trying->arena};
    Buffer line = {.arena = trying->arena};
    write_list(&line, "lowest left", lowest(trying, &faults->phases[phase], &effect));
    *volts = line.length == 0 ? "" : line.bytes;
    write_list(&text, "opens", openings(trying, &effect));
    write_list(&text, "goes dark", ends(trying, effect.lost, effect.lost_count));
    write_list(&text, "starts again", ends(trying, effect.restarted, effect.restarted_count));
    write_list(&text, "gets supply", ends(trying, effect.gained, effect.gained_count));
    write_list(&text, "lost", faults_functions_text(trying->arena, faults, &effect));
    write_list(&text, "needs lost", needs(trying, &effect));
    if (effect.lost_count + effect.restarted_count + effect.function_count + effect.need_count ==
        0) {
        write_list(&text, "loses", "no supply, no function and no need");
    } else if (effect.need_count == 0) {
        write_list(&text, "needs lost", "none");
    }
    write_list(&text, "noticed", noticed(trying, &faults->phases[phase], &effect, failures, count));
    const char *note = faults_note(trying->arena, faults, &effect);
    if (*note != '\0') {
        bool solved = effect.status == FAULTS_SOLVED;
        write_list(&text, solved ? "note" : faults_status_name(effect.status), note);
    }
    return text.bytes;
}

static void write_try(Trying *trying, const uint32_t *failures, uint32_t count) {
    const Faults *faults = trying->faults;
    const FailureModeRow *modes = faults->model->set->failure_mode.rows;
    for (uint32_t i = 0; i < count; i++) {
        const Failure *failure = &faults->list.failures[failures[i]];
        buffer_format(trying->out, "%s%s: %s", i == 0 ? "" : "\n+ ", failure->key,
                      modes[failure->mode].meaning);
    }
    buffer_text(trying->out, "\n");
    const char *before = NULL;
    for (uint32_t phase = 0; phase < faults->phase_count; phase++) {
        const char *volts;
        const char *text = answer(trying, phase, failures, count, &volts);
        const char *name = faults->model->set->phase.rows[faults->phases[phase].phase].phase;
        if (before != NULL && strcmp(before, text) == 0) {
            buffer_format(trying->out, "%s: the same\n%s", name, volts);
        } else {
            buffer_format(trying->out, "%s\n%s%s", name, text, volts);
        }
        before = text;
    }
}

/* All combinations of the modes of the words, the last word's modes running fastest. */
static void write_tries(Trying *trying, const uint32_t *first, const uint32_t *counts,
                        uint32_t words) {
    uint32_t at[FAIL_KEYS_MAX] = {0};
    for (uint32_t tries = 0; tries < FAIL_TRIES_MAX; tries++) {
        uint32_t failures[FAIL_KEYS_MAX];
        for (uint32_t i = 0; i < words; i++) {
            failures[i] = first[i] + at[i];
        }
        if (tries > 0) {
            buffer_text(trying->out, "\n");
        }
        write_try(trying, failures, words);
        uint32_t word = words;
        while (word > 0 && ++at[word - 1] == counts[word - 1]) {
            at[--word] = 0;
        }
        if (word == 0) {
            return;
        }
    }
    buffer_format(trying->out, "\nmore combinations than %d: name the modes\n", FAIL_TRIES_MAX);
}

/* --- exported -----------------------------------------------------------------------------------
 */

static bool find_phase(Arena *arena, const Proof *proof, const char *name, uint32_t *phase,
                       const char **problem) {
    *phase = name_map_find(&proof->model.phase_by_name, name);
    if (*phase == NAME_NONE) {
        size_t count = proof->set.phase.count;
        const char **names = ARENA_ARRAY(arena, const char *, count);
        for (size_t i = 0; i < count; i++) {
            names[i] = proof->set.phase.rows[i].phase;
        }
        const char *nearest = text_nearest(name, names, count);
        *problem =
            arena_format(arena, "no phase is called %s%s%s", name,
                         nearest == NULL ? "" : "; did you mean ", nearest == NULL ? "" : nearest);
        return false;
    }
    if (!proof->phases.solved[*phase]) {
        *problem =
            arena_format(arena, "no operating point of %s was found: nothing can be tried", name);
        return false;
    }
    return true;
}

/* What trying takes: `input` must live as long as `faults`. */
static bool build(Arena *arena, Proof *proof, const char *phase, FaultsInput *input, Faults *faults,
                  const char **problem) {
    *input = proof_faults_input(proof);
    Findings unheard = {.arena = arena};
    if (phase != NULL) {
        if (!find_phase(arena, proof, phase, &input->phase, problem)) {
            return false;
        }
        input->only_phase = true;
    }
    faults_build(arena, input, faults, &unheard);
    if (faults->phase_count == 0) {
        *problem = "there is no solved phase to try failures in; name one with --phase";
        return false;
    }
    return true;
}

bool fail_write(Buffer *out, Arena *arena, Proof *proof, const char *const *keys, size_t count,
                const char *phase, const char **problem) {
    if (count > FAIL_KEYS_MAX) {
        *problem = arena_format(arena, "at most %d things fail at once here", FAIL_KEYS_MAX);
        return false;
    }
    FaultsInput input;
    Faults faults;
    if (!build(arena, proof, phase, &input, &faults, problem)) {
        return false;
    }
    Trying trying = {.out = out, .arena = arena, .proof = proof, .faults = &faults};
    uint32_t first[FAIL_KEYS_MAX];
    uint32_t counts[FAIL_KEYS_MAX];
    for (size_t i = 0; i < count; i++) {
        if (!meant(&trying, keys[i], &first[i], &counts[i], problem)) {
            return false;
        }
    }
    trying.trier = faults_trier_new(arena, &faults);
    write_tries(&trying, first, counts, (uint32_t)count);
    faults_trier_free(trying.trier);
    buffer_text(out, "\nTimes are the slow edge of each device's curve.\n");
    write_words(out, 0, summary_caution());
    return true;
}

/* --- as data ------------------------------------------------------------------------------------
 */

static FailItem item_of(const Trying *trying, uint32_t chosen) {
    const FaultsList *list = &trying->faults->list;
    const FailureModeRow *modes = trying->faults->model->set->failure_mode.rows;
    uint32_t count = 0;
    uint32_t first = faults_find_item(list, list->failures[chosen].item, &count);
    FailItem item = {
        .item = list->failures[chosen].item,
        .mode = modes[list->failures[chosen].mode].mode,
        .meaning = modes[list->failures[chosen].mode].meaning,
        .modes = ARENA_ARRAY(trying->arena, const char *, count),
        .mode_count = count,
    };
    for (uint32_t i = 0; i < count; i++) {
        item.modes[i] = modes[list->failures[first + i].mode].mode;
    }
    return item;
}

static FailPort *ports_of(const Trying *trying, const FaultsPhase *phase, const uint32_t *loads,
                          uint32_t count) {
    const Model *model = trying->faults->model;
    FailPort *ports = ARENA_ARRAY(trying->arena, FailPort, count);
    for (uint32_t i = 0; i < count; i++) {
        const SupplyLoad *load = &trying->faults->supply->loads[loads[i]];
        ports[i] = (FailPort){
            .end = model->terminals[load->port].end,
            .unit = model->owners[load->owner].tag,
            .in_use = phase->in_use[loads[i]],
        };
    }
    return ports;
}

/* Boxes that had a port in use and have none left. */
static void find_units(const Trying *trying, const FaultsPhase *phase, const FaultsEffect *effect,
                       FailPhase *told) {
    const Supply *supply = trying->faults->supply;
    uint32_t owners = trying->faults->model->owner_count;
    bool *kept = ARENA_ARRAY(trying->arena, bool, owners);
    bool *gone = ARENA_ARRAY(trying->arena, bool, owners);
    uint32_t lost = 0; /* rises with `load`, as effect->lost does */
    for (uint32_t load = 0; load < supply->load_count; load++) {
        bool is_lost = lost < effect->lost_count && effect->lost[lost] == load;
        lost += is_lost ? 1U : 0U;
        if (phase->in_use[load]) {
            (is_lost ? gone : kept)[supply->loads[load].owner] = true;
        }
    }
    told->units = ARENA_ARRAY(trying->arena, const char *, owners);
    for (uint32_t owner = 0; owner < owners; owner++) {
        if (gone[owner] && !kept[owner]) {
            told->units[told->unit_count++] = trying->faults->model->owners[owner].tag;
        }
    }
}

static void find_wires(const Trying *trying, const FaultsPhase *phase, FailPhase *told) {
    const PowerNetwork *built = trying->faults->built;
    const Wiring *wiring = trying->faults->wiring;
    const SolveResult *before = fail_base_result(phase->base);
    FailRun *run = faults_run_of(trying->trier);
    told->wires = ARENA_ARRAY(trying->arena, const char *, wiring->conductor_count);
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        uint32_t resistor = built->conductor_resistor[i];
        if (resistor == NETWORK_NONE) {
            continue;
        }
        const NetworkResistor *wire = &built->network.resistors[resistor];
        bool led = fabs(before->resistor_a[resistor]) >= FAIL_DARK_A ||
                   fabs(before->node_v[wire->a]) >= FAIL_DARK_V ||
                   fabs(before->node_v[wire->b]) >= FAIL_DARK_V;
        if (led && fabs(fail_element_a(run, NETWORK_RESISTOR, resistor)) < FAIL_DARK_A &&
            fabs(fail_node_v(run, wire->a)) < FAIL_DARK_V &&
            fabs(fail_node_v(run, wire->b)) < FAIL_DARK_V) {
            told->wires[told->wire_count++] = wiring->conductors[i].key;
        }
    }
}

static void find_buses(const Trying *trying, const FaultsPhase *phase, FailPhase *told) {
    const Model *model = trying->faults->model;
    const PowerNetwork *built = trying->faults->built;
    const SolveResult *before = fail_base_result(phase->base);
    FailRun *run = faults_run_of(trying->trier);
    told->buses = ARENA_ARRAY(trying->arena, const char *, model->set->bus.count);
    for (BusId bus = 0; bus < model->set->bus.count; bus++) {
        TerminalId stud = model->buses[bus].stud;
        uint32_t node =
            stud == ID_NONE ? NETWORK_NONE : built->point_node[model->terminals[stud].pin_first];
        if (node != NETWORK_NONE && fabs(before->node_v[node]) >= FAIL_DARK_V &&
            fabs(fail_node_v(run, node)) < FAIL_DARK_V) {
            told->buses[told->bus_count++] = model->set->bus.rows[bus].bus;
        }
    }
}

static double minutes(double capacity_ah, double usable, double amps_a) {
    return amps_a >= FAIL_DARK_A ? capacity_ah * usable * 60.0 / amps_a : (double)INFINITY;
}

static void find_batteries(const Trying *trying, const FaultsPhase *phase, FailPhase *told) {
    const PowerNetwork *built = trying->faults->built;
    const TableSet *set = trying->faults->model->set;
    const SolveResult *before = fail_base_result(phase->base);
    FailRun *run = faults_run_of(trying->trier);
    told->battery_count = built->network.battery_count;
    told->batteries = ARENA_ARRAY(trying->arena, FailBattery, told->battery_count);
    for (uint32_t i = 0; i < told->battery_count; i++) {
        const BatteryRow *part = &set->battery.rows[built->batteries[i].battery];
        double amps_a = fail_element_a(run, NETWORK_BATTERY, i);
        FailBattery *battery = &told->batteries[i];
        *battery = (FailBattery){
            .unit = set->source.rows[built->batteries[i].source].unit,
            .capacity_ah = part->capacity_ah,
            .usable_new = part->usable_new_pct / 100.0,
            .usable_aged = part->usable_aged_pct / 100.0,
            .amps_a = amps_a,
            .before_a = before->battery_a[i],
            .source = part->source,
        };
        battery->new_min = minutes(part->capacity_ah, battery->usable_new, amps_a);
        battery->aged_min = minutes(part->capacity_ah, battery->usable_aged, amps_a);
    }
}

static void find_opened(const Trying *trying, const FaultsEffect *effect, FailPhase *told) {
    const Faults *faults = trying->faults;
    told->opened_count = effect->opening_count;
    told->opened = ARENA_ARRAY(trying->arena, FailOpened, effect->opening_count);
    for (uint32_t i = 0; i < effect->opening_count; i++) {
        const FaultsOpening *opening = &effect->openings[i];
        told->opened[i] = (FailOpened){
            .device = faults->model->owners[opening->owner].tag,
            .seconds = opening->seconds,
            .percent = opening->percent,
        };
    }
    told->need_count = effect->need_count;
    told->needs = ARENA_ARRAY(trying->arena, FailNeed, effect->need_count);
    for (uint32_t i = 0; i < effect->need_count; i++) {
        const ServiceNeed *need = service_need(faults->service, effect->needs[i]);
        told->needs[i] = (FailNeed){need->name, need->title, need->severity};
    }
}

static FailPhase try_phase(const Trying *trying, uint32_t number, const uint32_t *failures,
                           uint32_t count) {
    const Faults *faults = trying->faults;
    const FaultsPhase *phase = &faults->phases[number];
    FaultsEffect effect = faults_try(trying->trier, number, failures, count);
    FailPhase told = {
        .phase = faults->model->set->phase.rows[phase->phase].phase,
        .status = faults_status_name(effect.status),
        .dark = ports_of(trying, phase, effect.lost, effect.lost_count),
        .dark_count = effect.lost_count,
        .restarted = ports_of(trying, phase, effect.restarted, effect.restarted_count),
        .restarted_count = effect.restarted_count,
        .gained = ports_of(trying, phase, effect.gained, effect.gained_count),
        .gained_count = effect.gained_count,
        .functions = faults_functions_text(trying->arena, faults, &effect),
        .lowest = lowest(trying, phase, &effect),
        .noticed = count == 0 ? "" : noticed(trying, phase, &effect, failures, count),
        .note = faults_note(trying->arena, faults, &effect),
    };
    find_units(trying, phase, &effect, &told);
    find_buses(trying, phase, &told);
    find_wires(trying, phase, &told);
    find_batteries(trying, phase, &told);
    find_opened(trying, &effect, &told);
    return told;
}

bool fail_try(Arena *arena, Proof *proof, const char *const *keys, size_t count, const char *phase,
              FailTrial *trial, const char **problem) {
    *trial = (FailTrial){0};
    if (count > FAIL_KEYS_MAX) {
        *problem = arena_format(arena, "at most %d things fail at once here", FAIL_KEYS_MAX);
        return false;
    }
    FaultsInput input;
    Faults faults;
    if (!build(arena, proof, phase, &input, &faults, problem)) {
        return false;
    }
    Trying trying = {.arena = arena, .proof = proof, .faults = &faults};
    uint32_t failures[FAIL_KEYS_MAX] = {0};
    trial->items = ARENA_ARRAY(arena, FailItem, count);
    for (size_t i = 0; i < count; i++) {
        uint32_t modes;
        if (!meant(&trying, keys[i], &failures[i], &modes, problem)) {
            return false;
        }
        trial->items[trial->item_count++] = item_of(&trying, failures[i]);
    }
    trying.trier = faults_trier_new(arena, &faults);
    trial->phases = ARENA_ARRAY(arena, FailPhase, faults.phase_count);
    for (uint32_t i = 0; i < faults.phase_count; i++) {
        trial->phases[trial->phase_count++] = try_phase(&trying, i, failures, (uint32_t)count);
    }
    faults_trier_free(trying.trier);
    return true;
}
