/* Method: one item of work for each class, which tries it in all phases and keeps copies of what
 * comes out in its own thread's memory; then everything is put together in the order of classes. */
#include "power/faults_run.h"

#include <math.h>
#include <string.h>

#include "base/check.h"
#include "base/parallel.h"
#include "model/report.h"

typedef struct Work {
    const Faults *faults;
    Arena *arenas; /* by thread */
    FaultsTrier **triers;
    FaultsEffect *effects; /* by class and phase */
} Work;

static uint32_t *keep(Arena *arena, const uint32_t *ids, uint32_t count) {
    uint32_t *kept = ARENA_ARRAY(arena, uint32_t, count);
    if (count > 0) {
        memcpy(kept, ids, count * sizeof *ids);
    }
    return kept;
}

/* The same effect with its lists in `arena`. */
static FaultsEffect keep_effect(Arena *arena, const FaultsEffect *effect) {
    FaultsEffect kept = *effect;
    kept.lost = keep(arena, effect->lost, effect->lost_count);
    kept.restarted = keep(arena, effect->restarted, effect->restarted_count);
    kept.gained = keep(arena, effect->gained, effect->gained_count);
    kept.cycling = keep(arena, effect->cycling, effect->cycling_count);
    kept.over = keep(arena, effect->over, effect->over_count);
    kept.unproved = keep(arena, effect->unproved, effect->unproved_count);
    kept.functions = keep(arena, effect->functions, effect->function_count);
    kept.needs = keep(arena, effect->needs, effect->need_count);
    kept.ways = keep(arena, effect->ways, effect->way_count);
    FaultsOpening *openings = ARENA_ARRAY(arena, FaultsOpening, effect->opening_count);
    if (effect->opening_count > 0) {
        memcpy(openings, effect->openings, effect->opening_count * sizeof *openings);
    }
    kept.openings = openings;
    return kept;
}

static void try_class(void *context, unsigned thread, uint32_t item) {
    Work *work = context;
    const FaultsList *list = &work->faults->list;
    uint32_t first = list->class_members[list->class_first[item]];
    for (uint32_t phase = 0; phase < work->faults->phase_count; phase++) {
        FaultsEffect effect = faults_try(work->triers[thread], phase, &first, 1);
        work->effects[(size_t)item * work->faults->phase_count + phase] =
            keep_effect(&work->arenas[thread], &effect);
    }
}

/* --- putting together ---------------------------------------------------------------------------
 */

static bool same_ids(const uint32_t *a, uint32_t a_count, const uint32_t *b, uint32_t b_count) {
    return a_count == b_count && (a_count == 0 || memcmp(a, b, a_count * sizeof *a) == 0);
}

/* Everything but the seconds. */
static bool same_effect(const FaultsEffect *a, const FaultsEffect *b) {
    bool same = a->status == b->status && a->offender_kind == b->offender_kind &&
                a->offender == b->offender && a->stopped_alternators == b->stopped_alternators &&
                a->opening_count == b->opening_count &&
                same_ids(a->lost, a->lost_count, b->lost, b->lost_count) &&
                same_ids(a->restarted, a->restarted_count, b->restarted, b->restarted_count) &&
                same_ids(a->gained, a->gained_count, b->gained, b->gained_count) &&
                same_ids(a->unproved, a->unproved_count, b->unproved, b->unproved_count) &&
                same_ids(a->cycling, a->cycling_count, b->cycling, b->cycling_count) &&
                same_ids(a->over, a->over_count, b->over, b->over_count) &&
                same_ids(a->functions, a->function_count, b->functions, b->function_count) &&
                same_ids(a->needs, a->need_count, b->needs, b->need_count) &&
                same_ids(a->ways, a->way_count, b->ways, b->way_count);
    for (uint32_t i = 0; same && i < a->opening_count; i++) {
        same = a->openings[i].owner == b->openings[i].owner &&
               a->openings[i].rival == b->openings[i].rival;
    }
    return same;
}

static bool is_evident(const FaultsPhase *phase, const FaultsEffect *effect) {
    for (uint32_t i = 0; i < effect->lost_count; i++) {
        if (phase->in_use[effect->lost[i]]) {
            return true;
        }
    }
    for (uint32_t i = 0; i < effect->restarted_count; i++) {
        if (phase->in_use[effect->restarted[i]]) {
            return true;
        }
    }
    return false;
}

static void lengthen(FaultsEffect *kept, const FaultsEffect *effect) {
    FaultsOpening *openings = (FaultsOpening *)(uintptr_t)kept->openings; /* our own copy */
    for (uint32_t i = 0; i < kept->opening_count; i++) {
        openings[i].seconds = fmax(openings[i].seconds, effect->openings[i].seconds);
    }
}

/* The outcomes of one class: phases in order, those that do the same together. */
static void gather_class(Arena *out, const Work *work, uint32_t class_id, FaultsSweep *sweep) {
    uint32_t phases = work->faults->phase_count;
    const FaultsEffect *effects = &work->effects[(size_t)class_id * phases];
    uint32_t first = sweep->outcome_count;
    for (uint32_t phase = 0; phase < phases; phase++) {
        const FaultsEffect *effect = &effects[phase];
        bool evident = is_evident(&work->faults->phases[phase], effect);
        uint32_t at = first;
        while (at < sweep->outcome_count && !(sweep->outcomes[at].evident == evident &&
                                              same_effect(&sweep->outcomes[at].effect, effect))) {
            at++;
        }
        FaultsOutcome *outcome = &sweep->outcomes[at];
        if (at == sweep->outcome_count) {
            sweep->outcome_count++;
            *outcome = (FaultsOutcome){.effect = keep_effect(out, effect),
                                       .class_id = class_id,
                                       .phases = ARENA_ARRAY(out, uint32_t, phases),
                                       .evident = evident};
        } else {
            lengthen(&outcome->effect, effect);
        }
        ((uint32_t *)(uintptr_t)outcome->phases)[outcome->phase_count++] = phase;
    }
}

static void add_counts(FailCounts *sum, const FailCounts *more) {
    sum->applies += more->applies;
    sum->fast += more->fast;
    sum->full += more->full;
    sum->paths += more->paths;
    sum->substitutions += more->substitutions;
    sum->newton_steps += more->newton_steps;
    sum->state_changes += more->state_changes;
}

/* --- findings -----------------------------------------------------------------------------------
 */

/* The first outcome of those that end at one element, and how many failures do. */
static void report_unsettled(const Faults *faults, const FaultsSweep *sweep, Findings *findings,
                             FaultsStatus status) {
    const FaultsList *list = &faults->list;
    Arena scratch = {0};
    bool *told = ARENA_ARRAY(&scratch, bool, sweep->outcome_count);
    for (uint32_t i = 0; i < sweep->outcome_count; i++) {
        const FaultsOutcome *outcome = &sweep->outcomes[i];
        if (told[i] || outcome->effect.status != status) {
            continue;
        }
        uint32_t count = 0;
        for (uint32_t k = i; k < sweep->outcome_count; k++) {
            const FaultsOutcome *other = &sweep->outcomes[k];
            if (other->effect.status == status &&
                other->effect.offender_kind == outcome->effect.offender_kind &&
                other->effect.offender == outcome->effect.offender) {
                told[k] = true;
                count +=
                    list->class_first[other->class_id + 1] - list->class_first[other->class_id];
            }
        }
        const Failure *failure =
            &list->failures[list->class_members[list->class_first[outcome->class_id]]];
        const char *phase =
            faults->model->set->phase.rows[faults->phases[outcome->phases[0]].phase].phase;
        const char *name = faults_element_name(
            findings->arena, faults, outcome->effect.offender_kind, outcome->effect.offender);
        bool oscillates = status == FAULTS_OSCILLATES;
        Finding *finding = finding_report(
            findings, oscillates ? RULE_FAULT_OSCILLATES : RULE_FAULT_CONVERGE, "fault",
            failure->key, "",
            oscillates ? "with %s in %s %s switches to and fro: what then works is not proved"
                       : "with %s in %s no operating point was found near %s: what then works is "
                         "not proved",
            failure->key, phase, name);
        finding->value = count;
        finding->unit = "failures that end there";
        finding->rows = name;
    }
    arena_free(&scratch);
}

static void check_cues(const Faults *faults, Findings *findings) {
    const TableSet *set = faults->model->set;
    for (uint32_t i = 0; i < set->cue.count; i++) {
        const CueRow *row = &set->cue.rows[i];
        uint32_t count = 0;
        uint32_t first = faults_find_item(&faults->list, row->item, &count);
        bool found = count > 0 && strcmp(row->mode, "any") == 0;
        for (uint32_t k = first; k < first + count && !found; k++) {
            uint32_t mode = faults->list.failures[k].mode;
            found = strcmp(set->failure_mode.rows[mode].mode, row->mode) == 0;
        }
        if (!found) {
            Finding *finding =
                count == 0 ? report_row(findings, faults->model, RULE_FAULT_CUE, TABLE_cue, i,
                                        "item", "nothing that can fail is called %s", row->item)
                           : report_row(findings, faults->model, RULE_FAULT_CUE, TABLE_cue, i,
                                        "mode", "%s does not fail by %s", row->item, row->mode);
            finding->hint = "`marling show fault JOB` lists what can fail and how";
        }
    }
}

/* --- exported -----------------------------------------------------------------------------------
 */

void faults_run(Arena *out, const Faults *faults, unsigned threads, FaultsSweep *sweep,
                Findings *findings) {
    CHECK(threads >= 1 && threads <= PARALLEL_THREADS_MAX);
    *sweep = (FaultsSweep){0};
    const FaultsList *list = &faults->list;
    size_t tries = (size_t)list->class_count * faults->phase_count;
    Arena scratch = {0};
    Work work = {
        .faults = faults,
        .arenas = ARENA_ARRAY(&scratch, Arena, threads),
        .triers = ARENA_ARRAY(&scratch, FaultsTrier *, threads),
        .effects = ARENA_ARRAY(&scratch, FaultsEffect, tries),
    };
    for (unsigned i = 0; i < threads; i++) {
        work.triers[i] = faults_trier_new(&work.arenas[i], faults);
    }
    if (faults->phase_count > 0) {
        parallel_run(threads, list->class_count, try_class, &work);
    }
    sweep->tries = tries;
    sweep->outcomes = ARENA_ARRAY(out, FaultsOutcome, tries);
    sweep->class_first = ARENA_ARRAY(out, uint32_t, (size_t)list->class_count + 1);
    for (uint32_t i = 0; i < list->class_count; i++) {
        sweep->class_first[i] = sweep->outcome_count;
        gather_class(out, &work, i, sweep);
    }
    sweep->class_first[list->class_count] = sweep->outcome_count;
    for (unsigned i = 0; i < threads; i++) {
        for (uint32_t phase = 0; phase < faults->phase_count; phase++) {
            add_counts(&sweep->counts, faults_counts(work.triers[i], phase));
        }
        faults_trier_free(work.triers[i]);
        arena_free(&work.arenas[i]);
    }
    arena_free(&scratch);
    report_unsettled(faults, sweep, findings, FAULTS_OSCILLATES);
    report_unsettled(faults, sweep, findings, FAULTS_NOT_CONVERGED);
    check_cues(faults, findings);
}
