/* What failures do, in words. */
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "power/faults_run.h"

/* Classes of need.severity, worst first (AC 23.1309-1E). */
static const char *const SEVERITIES[] = {"catastrophic", "hazardous", "major", "minor",
                                         "no safety effect"};
enum { SEVERITY_WORDS = sizeof SEVERITIES / sizeof *SEVERITIES };

static uint32_t severity_rank(const char *word) {
    uint32_t rank = 0;
    while (rank < SEVERITY_WORDS && strcmp(SEVERITIES[rank], word) != 0) {
        rank++;
    }
    return rank;
}

const char *faults_status_name(FaultsStatus status) {
    switch (status) {
    case FAULTS_NOT_PROVED:
        return "not proved";
    case FAULTS_OSCILLATES:
        return "oscillates";
    case FAULTS_NOT_CONVERGED:
        return "not converged";
    case FAULTS_SOLVED:
    default:
        return "solved";
    }
}

const char *faults_severity(const Faults *faults, const FaultsEffect *effect) {
    uint32_t worst = SEVERITY_WORDS;
    for (uint32_t i = 0; i < effect->need_count; i++) {
        uint32_t rank = severity_rank(service_need(faults->service, effect->needs[i])->severity);
        worst = rank < worst ? rank : worst;
    }
    return worst == SEVERITY_WORDS ? "" : SEVERITIES[worst];
}

static const char *tag(const Faults *faults, OwnerId owner) {
    return faults->model->owners[owner].tag;
}

static const char *node_name(Arena *arena, const Faults *faults, uint32_t node) {
    if (node == 0) {
        return "the structure";
    }
    uint32_t point = faults->built->node_point[node];
    return point < faults->model->pin_count ? model_pin_text(faults->model, arena, point)
                                            : "a case";
}

const char *faults_element_name(Arena *arena, const Faults *faults, NetworkKind kind,
                                uint32_t index) {
    const PowerNetwork *built = faults->built;
    const TableSet *set = faults->model->set;
    const BuildSource *source = NULL;
    switch (kind) {
    case NETWORK_COIL:
        return tag(faults, faults->supply->coils[index].owner);
    case NETWORK_LOAD:
        return built->load_supply[index] == NETWORK_NONE
                   ? "the starter"
                   : faults->model->terminals[faults->supply->loads[built->load_supply[index]].port]
                         .end;
    case NETWORK_ALTERNATOR:
        return set->source.rows[built->alternators[index].source].unit;
    case NETWORK_BATTERY:
        return set->source.rows[built->batteries[index].source].unit;
    case NETWORK_CONTACT:
        source = &built->contact_source[index];
        break;
    case NETWORK_DIODE:
        source = &built->diode_source[index];
        break;
    case NETWORK_RESISTOR:
        source = &built->resistor_source[index];
        break;
    case NETWORK_KIND_COUNT:
    default:
        return index == NETWORK_NONE ? "a node" : node_name(arena, faults, index);
    }
    switch (source->kind) {
    case BUILD_GATE:
        return tag(faults, faults->supply->gates.rows[source->index].owner);
    case BUILD_CONDUCTOR:
        return faults->wiring->conductors[source->index].key;
    case BUILD_BOND:
        return set->bond.rows[source->index].item;
    case BUILD_SHIELD:
        return "a shield";
    case BUILD_INNER:
    default:
        return set->source.rows[source->index].unit;
    }
}

const CueRow *faults_cue(const Faults *faults, const Failure *failure) {
    const TableSet *set = faults->model->set;
    uint32_t count = 0;
    uint32_t first = model_rows_of(faults->model, TABLE_cue, failure->item, &count);
    const CueRow *any = NULL;
    for (uint32_t i = first; i < first + count; i++) {
        const CueRow *row = &set->cue.rows[i];
        if (strcmp(row->mode, set->failure_mode.rows[failure->mode].mode) == 0) {
            return row;
        }
        any = strcmp(row->mode, "any") == 0 ? row : any;
    }
    return any;
}

/* --- lists as texts -----------------------------------------------------------------------------
 */

static const char *ends_text(Arena *arena, const Faults *faults, const uint32_t *loads,
                             uint32_t count) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ",
                      faults->model->terminals[faults->supply->loads[loads[i]].port].end);
    }
    return count == 0 ? "" : text.bytes;
}

static const char *needs_text(Arena *arena, const Faults *faults, const FaultsEffect *effect) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < effect->need_count; i++) {
        buffer_format(&text, "%s%s", i == 0 ? "" : " ",
                      service_need_name(faults->service, effect->needs[i]));
    }
    return effect->need_count == 0 ? "" : text.bytes;
}

/* A box that is gone takes its functions with it: they are not listed beside it. */
const char *faults_functions_text(Arena *arena, const Faults *faults, const FaultsEffect *effect) {
    Buffer text = {.arena = arena};
    Arena scratch = {0};
    bool *gone = ARENA_ARRAY(&scratch, bool, faults->model->owner_count);
    for (uint32_t i = 0; i < effect->function_count; i++) {
        const ServiceFunction *function = service_function(faults->service, effect->functions[i]);
        gone[function->owner] = gone[function->owner] || strcmp(function->name, "works") == 0;
    }
    for (uint32_t i = 0; i < effect->function_count; i++) {
        const ServiceFunction *function = service_function(faults->service, effect->functions[i]);
        if (strcmp(function->name, "works") == 0 || !gone[function->owner]) {
            buffer_format(&text, "%s%s", text.length == 0 ? "" : ", ",
                          service_function_name(faults->service, arena, effect->functions[i]));
        }
    }
    arena_free(&scratch);
    return text.length == 0 ? "" : text.bytes;
}

const char *faults_openings_text(Arena *arena, const Faults *faults, const FaultsEffect *effect) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < effect->opening_count; i++) {
        buffer_format(&text, "%s%s %.2g s", i == 0 ? "" : ", ",
                      tag(faults, effect->openings[i].owner), effect->openings[i].seconds);
    }
    return effect->opening_count == 0 ? "" : text.bytes;
}

/* "; cycles: A B": the words of a list with its label, in front of the first name. */
static void add_note(Buffer *text, uint32_t number, const char *label, const char *name) {
    if (number == 0) {
        buffer_format(text, "%s%s: ", text->length == 0 ? "" : "; ", label);
    } else {
        buffer_text(text, " ");
    }
    buffer_text(text, name);
}

const char *faults_note(Arena *arena, const Faults *faults, const FaultsEffect *effect) {
    Buffer text = {.arena = arena};
    if (effect->status == FAULTS_OSCILLATES || effect->status == FAULTS_NOT_CONVERGED) {
        buffer_format(&text,
                      effect->status == FAULTS_OSCILLATES ? "%s switches to and fro"
                                                          : "no operating point was found near %s",
                      faults_element_name(arena, faults, effect->offender_kind, effect->offender));
    }
    for (uint32_t i = 0; i < effect->cycling_count; i++) {
        const SupplyLoad *load = &faults->supply->loads[effect->cycling[i]];
        add_note(&text, i, "out with current on and back without, again and again",
                 faults->model->terminals[load->port].end);
    }
    for (uint32_t i = 0; i < effect->over_count; i++) {
        const SupplyLoad *load = &faults->supply->loads[effect->over[i]];
        add_note(&text, i, "above the voltage they stand",
                 faults->model->terminals[load->port].end);
    }
    for (uint32_t i = 0; i < effect->unproved_count; i++) {
        add_note(&text, i, "overloaded, and no published gate opens",
                 tag(faults, effect->unproved[i]));
    }
    uint32_t rivals = 0;
    for (uint32_t i = 0; i < effect->opening_count; i++) {
        const FaultsOpening *opening = &effect->openings[i];
        if (opening->rival != ID_NONE) {
            add_note(&text, rivals++, "no published gate tells which opens first",
                     arena_format(arena, "%s or %s", tag(faults, opening->rival),
                                  tag(faults, opening->owner)));
            buffer_text(&text, i + 1 < effect->opening_count ? "," : "");
        }
    }
    while (text.length > 0 && text.bytes[text.length - 1] == ',') {
        text.bytes[--text.length] = '\0';
    }
    return text.length == 0 ? "" : text.bytes;
}

static const char *phases_text(Arena *arena, const Faults *faults, const FaultsOutcome *outcome) {
    Buffer text = {.arena = arena};
    for (uint32_t i = 0; i < outcome->phase_count; i++) {
        uint32_t phase = faults->phases[outcome->phases[i]].phase;
        buffer_format(&text, "%s%s", i == 0 ? "" : " ",
                      faults->model->set->phase.rows[phase].phase);
    }
    return outcome->phase_count == 0 ? "" : text.bytes;
}

/* --- rows ---------------------------------------------------------------------------------------
 */

/* Everything that is the same for all failures of an outcome. */
typedef struct OutcomeText {
    const char *phases;
    const char *severity;
    const char *needs;
    const char *dark;
    const char *restarts;
    const char *functions;
    const char *opens;
    const char *note;
} OutcomeText;

static OutcomeText outcome_text(Arena *arena, const Faults *faults, const FaultsOutcome *outcome) {
    const FaultsEffect *effect = &outcome->effect;
    return (OutcomeText){
        .phases = phases_text(arena, faults, outcome),
        .severity = faults_severity(faults, effect),
        .needs = needs_text(arena, faults, effect),
        .dark = ends_text(arena, faults, effect->lost, effect->lost_count),
        .restarts = ends_text(arena, faults, effect->restarted, effect->restarted_count),
        .functions = faults_functions_text(arena, faults, effect),
        .opens = faults_openings_text(arena, faults, effect),
        .note = faults_note(arena, faults, effect),
    };
}

static void fault_rows(Arena *arena, const Faults *faults, const FaultsSweep *sweep,
                       const OutcomeText *texts, TableSet *out) {
    const FaultsList *list = &faults->list;
    for (uint32_t i = 0; i < list->count; i++) {
        const Failure *failure = &list->failures[i];
        const CueRow *cue = faults_cue(faults, failure);
        uint32_t first = sweep->class_first[failure->class_id];
        uint32_t end = sweep->class_first[failure->class_id + 1];
        for (uint32_t k = first; k < end; k++) {
            const OutcomeText *text = &texts[k];
            FaultRow *row = table_append(out, arena, TABLE_fault);
            row->failure = failure->key;
            row->effect = (int32_t)(k - first) + 1;
            row->phases = text->phases;
            row->scope = faults->model->set->failure_mode.rows[failure->mode].scope;
            row->severity = text->severity;
            row->needs = text->needs;
            row->dark = text->dark;
            row->restarts = text->restarts;
            row->functions = text->functions;
            row->opens = text->opens;
            row->noticed = cue != NULL || sweep->outcomes[k].evident ? "evident" : "latent";
            row->cue = cue == NULL ? "" : cue->cue;
            row->status = faults_status_name(sweep->outcomes[k].effect.status);
            row->note = text->note;
        }
    }
}

/* An outcome as it stands in `fault_effect`: long lists are cut there, `fault` has them whole. */
typedef struct Ranked {
    uint32_t outcome;
    uint32_t severity;
    uint32_t needs;
    uint32_t dark;
    OutcomeText text;
} Ranked;

enum { PORTS_NAMED_MAX = 10, FAILURES_NAMED_MAX = 16 };

static const char *some_ends(Arena *arena, const Faults *faults, const uint32_t *loads,
                             uint32_t count) {
    if (count <= PORTS_NAMED_MAX) {
        return ends_text(arena, faults, loads, count);
    }
    return arena_format(arena, "%s and %u more", ends_text(arena, faults, loads, PORTS_NAMED_MAX),
                        count - PORTS_NAMED_MAX);
}

static int compare_text(const OutcomeText *a, const OutcomeText *b) {
    const char *const left[] = {a->needs, a->dark, a->restarts, a->functions,
                                a->opens, a->note, a->phases};
    const char *const right[] = {b->needs, b->dark, b->restarts, b->functions,
                                 b->opens, b->note, b->phases};
    for (size_t i = 0; i < sizeof left / sizeof *left; i++) {
        int order = text_compare_keys(left[i], right[i]);
        if (order != 0) {
            return order;
        }
    }
    return 0;
}

/* Worst first: class of the worst need, how many needs, how much goes dark. */
static int compare_worst(const Ranked *a, const Ranked *b) {
    if (a->severity != b->severity) {
        return a->severity < b->severity ? -1 : 1;
    }
    if (a->needs != b->needs) {
        return a->needs > b->needs ? -1 : 1;
    }
    return (a->dark < b->dark) - (a->dark > b->dark);
}

static int compare_ranked(const void *left, const void *right) {
    const Ranked *a = left;
    const Ranked *b = right;
    int order = compare_worst(a, b);
    order = order == 0 ? compare_text(&a->text, &b->text) : order;
    return order != 0 ? order : (a->outcome > b->outcome) - (a->outcome < b->outcome);
}

/* Failures of all classes with one effect, in the order of classes; a word for each scope. */
static void name_failures(Arena *arena, const Faults *faults, const FaultsSweep *sweep,
                          const Ranked *ranked, size_t count, FaultEffectRow *row) {
    const FaultsList *list = &faults->list;
    Buffer keys = {.arena = arena};
    Buffer scopes = {.arena = arena};
    uint32_t total = 0;
    for (size_t i = 0; i < count; i++) {
        uint32_t class_id = sweep->outcomes[ranked[i].outcome].class_id;
        for (uint32_t k = list->class_first[class_id]; k < list->class_first[class_id + 1]; k++) {
            const Failure *failure = &list->failures[list->class_members[k]];
            const char *scope = faults->model->set->failure_mode.rows[failure->mode].scope;
            if (total < FAILURES_NAMED_MAX) {
                buffer_format(&keys, "%s%s", total == 0 ? "" : " ", failure->key);
            }
            if (scopes.length == 0 || strstr(scopes.bytes, scope) == NULL) {
                buffer_format(&scopes, "%s%s", scopes.length == 0 ? "" : ", ", scope);
            }
            total++;
        }
    }
    if (total > FAILURES_NAMED_MAX) {
        buffer_format(&keys, " and %u more", total - FAILURES_NAMED_MAX);
    }
    row->failures = keys.bytes;
    row->count = (int32_t)total;
    row->scopes = scopes.bytes;
}

/* The worst outcome of every class that loses anything; how many. */
static size_t rank_classes(Arena *arena, const Faults *faults, const FaultsSweep *sweep,
                           const OutcomeText *texts, Ranked *ranked) {
    size_t count = 0;
    for (uint32_t c = 0; c < faults->list.class_count; c++) {
        bool any = false;
        for (uint32_t i = sweep->class_first[c]; i < sweep->class_first[c + 1]; i++) {
            const FaultsEffect *effect = &sweep->outcomes[i].effect;
            Ranked next = {
                .outcome = i,
                .severity = severity_rank(texts[i].severity),
                .needs = effect->need_count,
                .dark = effect->lost_count,
                .text = texts[i],
            };
            bool loses = effect->need_count + effect->lost_count + effect->restarted_count +
                             effect->function_count >
                         0;
            if (loses && (!any || compare_worst(&next, &ranked[count]) < 0)) {
                next.text.dark = some_ends(arena, faults, effect->lost, effect->lost_count);
                next.text.restarts =
                    some_ends(arena, faults, effect->restarted, effect->restarted_count);
                ranked[count] = next;
                any = true;
            }
        }
        count += any ? 1 : 0;
    }
    return count;
}

static void effect_rows(Arena *arena, const Faults *faults, const FaultsSweep *sweep,
                        const OutcomeText *texts, TableSet *out) {
    Arena scratch = {0};
    Ranked *ranked = ARENA_ARRAY(&scratch, Ranked, (size_t)faults->list.class_count + 1);
    size_t count = rank_classes(arena, faults, sweep, texts, ranked);
    if (count > 1) {
        qsort(ranked, count, sizeof *ranked, compare_ranked);
    }
    int32_t number = 0;
    for (size_t i = 0, end = 0; i < count; i = end) {
        const FaultsOutcome *outcome = &sweep->outcomes[ranked[i].outcome];
        const OutcomeText *text = &ranked[i].text;
        bool evident = true;
        for (end = i; end < count && compare_text(text, &ranked[end].text) == 0; end++) {
            evident = evident && sweep->outcomes[ranked[end].outcome].evident;
        }
        FaultEffectRow *row = table_append(out, arena, TABLE_fault_effect);
        row->number = ++number;
        row->severity = text->severity;
        row->needs = text->needs;
        row->phases = text->phases;
        row->dark = text->dark;
        row->restarts = text->restarts;
        row->functions = text->functions;
        row->opens = text->opens;
        row->noticed = evident ? "evident" : "latent";
        row->status = faults_status_name(outcome->effect.status);
        row->note = text->note;
        name_failures(arena, faults, sweep, &ranked[i], end - i, row);
    }
    arena_free(&scratch);
}

void faults_rows(Arena *arena, const Faults *faults, const FaultsSweep *sweep, TableSet *out) {
    OutcomeText *texts = ARENA_ARRAY(arena, OutcomeText, sweep->outcome_count);
    for (uint32_t i = 0; i < sweep->outcome_count; i++) {
        texts[i] = outcome_text(arena, faults, &sweep->outcomes[i]);
    }
    fault_rows(arena, faults, sweep, texts, out);
    effect_rows(arena, faults, sweep, texts, out);
}
