/* A top is a need in a phase. One failure alone was tried by the sweep; the oracle asks faults_try
 * about pairs, in each phase, every thread with a trier of its own. */
#include "power/need_cuts.h"

#include <string.h>

#include "base/check.h"
#include "model/report.h"
#include "power/place.h"

typedef struct Trier {
    NeedCuts *cuts;
    FaultsTrier *trier;
    ServiceRun *service;
    Arena arena;
    uint32_t *loads;
    OwnerId *owners;
    ConductorId *conductors;
    NetId *nets;
    TerminalId *ports;
    uint64_t not_solved;
    uint64_t not_proved;
    uint64_t data_only;
} Trier;

/* --- asking -------------------------------------------------------------------------------------
 */

/* What the sweep found for a class in a phase. */
static const FaultsEffect *swept(const NeedCuts *cuts, uint32_t class_id, uint32_t phase) {
    const FaultsSweep *sweep = cuts->sweep;
    for (uint32_t i = sweep->class_first[class_id]; i < sweep->class_first[class_id + 1]; i++) {
        const FaultsOutcome *outcome = &sweep->outcomes[i];
        for (uint32_t k = 0; k < outcome->phase_count; k++) {
            if (outcome->phases[k] == phase) {
                return &outcome->effect;
            }
        }
    }
    return NULL;
}

/* A failure that changes nothing in the network: it only takes boxes or data. */
static bool is_data_only(const NeedCuts *cuts, uint32_t failure) {
    const Failure *row = &cuts->faults->list.failures[failure];
    return row->edit_count == 0 && row->welded_count == 0;
}

static void keep_needs(const NeedCuts *cuts, uint32_t phase, const uint32_t *needs, uint32_t count,
                       uint64_t *lost) {
    for (uint32_t i = 0; i < count; i++) {
        uint32_t top = needs[i] * cuts->phase_count + phase;
        lost[top / 64] |= UINT64_C(1) << (top % 64);
    }
}

static uint32_t append(uint32_t *to, uint32_t count, const uint32_t *from, uint32_t more) {
    if (more > 0) {
        memcpy(&to[count], from, more * sizeof *to);
    }
    return count + more;
}

/* Two failures of which one takes only boxes or data: the network is that of the other alone, which
 * was solved before; what it means together is asked of the service. */
static void ask_service(Trier *trier, uint32_t phase, uint32_t other, const uint32_t pair[2],
                        uint64_t *lost) {
    const NeedCuts *cuts = trier->cuts;
    const FaultsList *list = &cuts->faults->list;
    const FaultsPhase *at = &cuts->faults->phases[phase];
    const FaultsEffect *dark = swept(cuts, list->class_of[other], phase);
    ServiceLoss loss = {
        .loads = trier->loads,
        .owners = trier->owners,
        .conductors = trier->conductors,
        .nets = trier->nets,
        .ports = trier->ports,
    };
    loss.load_count = append(trier->loads, 0, at->missing, at->missing_count);
    if (dark != NULL) {
        loss.load_count = append(trier->loads, loss.load_count, dark->lost, dark->lost_count);
    }
    for (int i = 0; i < 2; i++) {
        const Failure *row = &list->failures[pair[i]];
        loss.owner_count = append(trier->owners, loss.owner_count, &list->owners[row->owner_first],
                                  row->owner_count);
        loss.conductor_count =
            append(trier->conductors, loss.conductor_count, &list->conductors[row->conductor_first],
                   row->conductor_count);
        loss.net_count =
            append(trier->nets, loss.net_count, &list->nets[row->net_first], row->net_count);
        loss.port_count =
            append(trier->ports, loss.port_count, &list->ports[row->port_first], row->port_count);
    }
    ServiceAnswer answer = service_ask(trier->service, &loss);
    for (uint32_t i = 0; i < answer.need_count; i++) {
        if (!at->needs_gone[answer.needs[i]]) {
            keep_needs(cuts, phase, &answer.needs[i], 1, lost);
        }
    }
}

static void count_status(Trier *trier, FaultsStatus status) {
    bool solved = status == FAULTS_SOLVED || status == FAULTS_NOT_PROVED;
    trier->not_solved += solved ? 0 : 1;
    trier->not_proved += status == FAULTS_NOT_PROVED ? 1 : 0;
}

static void ask_pair(Trier *trier, const uint32_t pair[2], uint64_t *lost) {
    const NeedCuts *cuts = trier->cuts;
    bool data_only = is_data_only(cuts, pair[0]) || is_data_only(cuts, pair[1]);
    uint32_t other = is_data_only(cuts, pair[0]) ? pair[1] : pair[0];
    trier->data_only += data_only ? 1 : 0;
    for (uint32_t phase = 0; phase < cuts->phase_count; phase++) {
        if (data_only) {
            ask_service(trier, phase, other, pair, lost);
        } else {
            FaultsEffect effect = faults_try(trier->trier, phase, pair, 2);
            count_status(trier, effect.status);
            keep_needs(cuts, phase, effect.needs, effect.need_count, lost);
        }
    }
}

/* One alone: the sweep has tried it. */
static void ask(void *context, const uint32_t *failures, uint32_t count, uint64_t *lost) {
    Trier *trier = context;
    const NeedCuts *cuts = trier->cuts;
    if (count == 2) {
        ask_pair(trier, failures, lost);
        return;
    }
    for (uint32_t phase = 0; count == 1 && phase < cuts->phase_count; phase++) {
        const FaultsEffect *effect = swept(cuts, cuts->faults->list.class_of[failures[0]], phase);
        if (effect != NULL) {
            count_status(trier, effect->status);
            keep_needs(cuts, phase, effect->needs, effect->need_count, lost);
        }
    }
}

/* Room for what two failures take together. */
static void make_room(Trier *trier) {
    const FaultsList *list = &trier->cuts->faults->list;
    uint32_t owners = 0;
    uint32_t conductors = 0;
    uint32_t nets = 0;
    uint32_t ports = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        const Failure *row = &list->failures[i];
        owners = row->owner_count > owners ? row->owner_count : owners;
        conductors = row->conductor_count > conductors ? row->conductor_count : conductors;
        nets = row->net_count > nets ? row->net_count : nets;
        ports = row->port_count > ports ? row->port_count : ports;
    }
    trier->loads =
        ARENA_ARRAY(&trier->arena, uint32_t, 2 * (size_t)trier->cuts->faults->supply->load_count);
    trier->owners = ARENA_ARRAY(&trier->arena, OwnerId, 2 * (size_t)owners);
    trier->conductors = ARENA_ARRAY(&trier->arena, ConductorId, 2 * (size_t)conductors);
    trier->nets = ARENA_ARRAY(&trier->arena, NetId, 2 * (size_t)nets);
    trier->ports = ARENA_ARRAY(&trier->arena, TerminalId, 2 * (size_t)ports);
}

/* Evident in any phase (a need that is lost is missed), or named by a cue row. */
static void find_signs(NeedCuts *cuts) {
    const FaultsList *list = &cuts->faults->list;
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t class_id = list->class_of[i];
        bool evident = faults_cue(cuts->faults, &list->failures[i]) != NULL;
        for (uint32_t k = cuts->sweep->class_first[class_id];
             k < cuts->sweep->class_first[class_id + 1]; k++) {
            const FaultsOutcome *outcome = &cuts->sweep->outcomes[k];
            evident = evident || outcome->evident || outcome->effect.need_count > 0;
        }
        cuts->sign[i] = evident ? NEED_SIGN_EVIDENT : NEED_SIGN_LATENT;
    }
}

/* Classes whose mode is tried alone only, by the library. */
static const bool *list_alone(Arena *scratch, const Faults *faults) {
    const FaultsList *list = &faults->list;
    bool *alone = ARENA_ARRAY(scratch, bool, list->class_count);
    for (uint32_t i = 0; i < list->count; i++) {
        const FailureModeRow *mode = &faults->model->set->failure_mode.rows[list->failures[i].mode];
        if (mode->alone == 1) {
            alone[list->class_of[i]] = true;
        }
    }
    return alone;
}

void need_cuts_search(Arena *out, const Faults *faults, const FaultsSweep *sweep, bool pairs,
                      unsigned threads, NeedCuts *cuts) {
    const FaultsList *list = &faults->list;
    *cuts = (NeedCuts){
        .faults = faults,
        .sweep = sweep,
        .service = faults->service,
        .need_count = service_need_count(faults->service),
        .phase_count = faults->phase_count,
        .pairs = pairs,
    };
    threads = pairs ? threads : 1;
    Arena scratch = {0};
    void **triers = ARENA_ARRAY(&scratch, void *, threads);
    for (unsigned i = 0; i < threads; i++) {
        Trier *trier = ARENA_NEW(&scratch, Trier);
        trier->cuts = cuts;
        if (pairs) {
            trier->trier = faults_trier_new(&trier->arena, faults);
            trier->service = service_run_new(&trier->arena, faults->service);
            make_room(trier);
        }
        triers[i] = trier;
    }
    cuts->search = (CutSearch){
        .failure_count = list->count,
        .top_count = cuts->need_count * cuts->phase_count,
        .component = list->component,
        .class_of = list->class_of,
        .class_count = list->class_count,
        .touch_first = list->touch_first,
        .touch = list->touch,
        .alone = list_alone(&scratch, faults),
        .singles_only = !pairs,
        .ask = ask,
        .triers = triers,
        .threads = threads,
    };
    cutset_search(out, &cuts->search, &cuts->result);
    cuts->sign = ARENA_ARRAY(out, uint8_t, list->count);
    find_signs(cuts);
    for (unsigned i = 0; i < threads; i++) {
        Trier *trier = triers[i];
        cuts->not_solved += trier->not_solved;
        cuts->not_proved += trier->not_proved;
        cuts->data_only += trier->data_only;
        if (pairs) {
            faults_trier_free(trier->trier);
        }
        arena_free(&trier->arena);
    }
    cuts->search.triers = NULL;
    cuts->search.ask = NULL;
    cuts->search.alone = NULL;
    arena_free(&scratch);
}

/* --- reading ------------------------------------------------------------------------------------
 */

static bool top_lost(const uint64_t *lost, uint32_t top) {
    return (lost[top / 64] >> (top % 64) & 1) != 0;
}

/* True when the need is among the lost tops in some phase. */
static bool need_lost(const NeedCuts *cuts, const uint64_t *lost, uint32_t need) {
    for (uint32_t phase = 0; phase < cuts->phase_count; phase++) {
        if (top_lost(lost, need * cuts->phase_count + phase)) {
            return true;
        }
    }
    return false;
}

static const uint64_t *single_of(const NeedCuts *cuts, uint32_t failure) {
    return &cuts->result.single[(size_t)failure * cut_words(cuts->search.top_count)];
}

bool need_cuts_single(const NeedCuts *cuts, uint32_t failure, uint32_t need) {
    return need_lost(cuts, single_of(cuts, failure), need);
}

static const FailureModeRow *mode_of(const NeedCuts *cuts, uint32_t failure) {
    return &cuts->faults->model->set->failure_mode.rows[cuts->faults->list.failures[failure].mode];
}

static bool in_scope(const NeedCuts *cuts, uint32_t failure, uint32_t need) {
    return place_in_scope(service_need(cuts->service, need)->scope, mode_of(cuts, failure)->scope);
}

static bool excepted(const NeedCuts *cuts, uint32_t failure, uint32_t need, uint32_t *row) {
    return service_excepted(cuts->service, need, cuts->faults->list.failures[failure].item,
                            mode_of(cuts, failure)->mode, row);
}

/* "cruise, climb": the phases in which the need is lost. */
static const char *phases_text(Arena *arena, const NeedCuts *cuts, const uint64_t *lost,
                               uint32_t need) {
    Buffer text = {.arena = arena};
    uint32_t count = 0;
    for (uint32_t phase = 0; phase < cuts->phase_count; phase++) {
        if (top_lost(lost, need * cuts->phase_count + phase)) {
            uint32_t row = cuts->faults->phases[phase].phase;
            buffer_format(&text, "%s%s", text.length == 0 ? "" : " ",
                          cuts->faults->model->set->phase.rows[row].phase);
            count++;
        }
    }
    return count == cuts->phase_count ? "all" : text.length == 0 ? "" : text.bytes;
}

/* --- findings -----------------------------------------------------------------------------------
 */

/* A declared exception that no failure asks for is out of date. */
static void judge_exceptions(const NeedCuts *cuts, const bool *used, Findings *findings) {
    const Model *model = cuts->faults->model;
    for (uint32_t row = 0; row < model->set->exception.count; row++) {
        const ExceptionRow *cell = &model->set->exception.rows[row];
        if (!used[row]) {
            Finding *finding =
                report_row(findings, model, RULE_NEED_EXCEPTION, TABLE_exception, row, "item",
                           "no failure of %s, mode %s, loses %s by itself", cell->item, cell->mode,
                           cell->need);
            finding->hint = "take it out, or name the item and mode as `show fault` does";
        }
    }
}

/* Of the tries in which failure `failure` alone loses the need. */
static FaultsStatus worst_status(const NeedCuts *cuts, uint32_t failure, uint32_t need) {
    FaultsStatus worst = FAULTS_SOLVED;
    for (uint32_t phase = 0; phase < cuts->phase_count; phase++) {
        if (top_lost(single_of(cuts, failure), need * cuts->phase_count + phase)) {
            FaultsStatus status = swept(cuts, cuts->faults->list.class_of[failure], phase)->status;
            worst = status > worst ? status : worst;
        }
    }
    return worst;
}

enum { NAMED_MAX = 8 };

/* Failures of one mode that lose the need within its scope, in one finding. */
typedef struct Losses {
    Buffer items;
    uint32_t count;
    FaultsStatus status; /* worst of the tries that lose it */
} Losses;

static bool settles(FaultsStatus status) {
    return status == FAULTS_SOLVED || status == FAULTS_NOT_PROVED;
}

static void add_loss(const NeedCuts *cuts, uint32_t need, uint32_t failure, Losses *losses,
                     Arena *arena) {
    FaultsStatus status = worst_status(cuts, failure, need);
    losses->items.arena = arena;
    losses->status = status > losses->status ? status : losses->status;
    if (losses->count++ >= NAMED_MAX) {
        return;
    }
    const char *phases = phases_text(arena, cuts, single_of(cuts, failure), need);
    bool all = strcmp(phases, "all") == 0;
    buffer_format(&losses->items, "%s%s%s%s%s", losses->items.length == 0 ? "" : ", ",
                  cuts->faults->list.failures[failure].item, all ? "" : " (in ", all ? "" : phases,
                  all ? "" : ")");
}

/* A network that does not settle after the failure proves neither: a warning. */
static void report_losses(const NeedCuts *cuts, uint32_t need, uint32_t mode, const Losses *losses,
                          Findings *findings) {
    const ServiceNeed *row = service_need(cuts->service, need);
    const FailureModeRow *kind = &cuts->faults->model->set->failure_mode.rows[mode];
    bool settled = settles(losses->status);
    Finding *finding = finding_report(
        findings, RULE_NEED_LOST, "need",
        arena_format(findings->arena, "%s %s:%s%s", row->name, kind->kind, kind->mode,
                     settled ? "" : " unsettled"),
        "", "%s (%s)%s%s, is lost by one failure: %s %s: %s%s%s", row->name, row->title,
        *row->severity == '\0' ? "" : ", class by its row: ", row->severity, kind->kind, kind->mode,
        losses->items.bytes, losses->count > NAMED_MAX ? " ..." : "",
        !settled ? "; the network does not settle after it: not proved"
        : losses->status == FAULTS_NOT_PROVED
            ? "; for some no published curve proves which device opens first"
            : "");
    finding->severity = settled ? finding->severity : SEVERITY_WARNING;
    finding->value = losses->count;
    finding->hint = "another way that does not rest on it, or an `exception` row with the reason; "
                    "`show fault` tells what each does";
}

/* What lies outside the scope: one note, with the first few names. */
static void report_outside(const NeedCuts *cuts, uint32_t need, uint32_t count, const Buffer *names,
                           Findings *findings) {
    const ServiceNeed *row = service_need(cuts->service, need);
    if (count == 0) {
        return;
    }
    Finding *finding = finding_report(
        findings, RULE_NEED_LOST, "need", row->name, "",
        "%s (%s): %u single failure%s outside its scope (%s) lose%s it: %s", row->name, row->title,
        count, count == 1 ? "" : "s", row->scope, count == 1 ? "s" : "", names->bytes);
    finding->severity = SEVERITY_NOTE;
    finding->value = count;
    finding->hint = "`show cut_set` lists them";
}

/* Failures of one item and mode are in the list one by one; findings are by mode. */
static void judge_need(const NeedCuts *cuts, uint32_t need, bool *used, Losses *by_mode,
                       Findings *findings) {
    const FaultsList *list = &cuts->faults->list;
    size_t modes = cuts->faults->model->set->failure_mode.count;
    Buffer outside = {.arena = findings->arena};
    uint32_t outside_count = 0;
    memset(by_mode, 0, 2 * modes * sizeof *by_mode);
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t row = ID_NONE;
        if (!need_cuts_single(cuts, i, need)) {
            continue;
        }
        if (excepted(cuts, i, need, &row)) {
            used[row] = true;
            continue;
        }
        if (in_scope(cuts, i, need)) {
            size_t unsettled = settles(worst_status(cuts, i, need)) ? 0 : modes;
            add_loss(cuts, need, i, &by_mode[unsettled + list->failures[i].mode], findings->arena);
            continue;
        }
        if (outside_count++ < NAMED_MAX) {
            buffer_format(&outside, "%s%s", outside.length == 0 ? "" : ", ", list->failures[i].key);
        } else if (outside_count == NAMED_MAX + 1) {
            buffer_text(&outside, " ...");
        }
    }
    for (size_t i = 0; i < 2 * modes; i++) {
        if (by_mode[i].count > 0) {
            report_losses(cuts, need, (uint32_t)(i % modes), &by_mode[i], findings);
        }
    }
    report_outside(cuts, need, outside_count, &outside, findings);
}

/* Sets of order 2 of a need, by how many of the two can lie hidden. */
typedef struct PairCounts {
    uint64_t sets;
    uint64_t latent[3]; /* none, one, both */
} PairCounts;

static void count_pairs(const NeedCuts *cuts, const CutPair *pair, PairCounts *counts) {
    /* Signs differ within a class only by cue rows: counted member by member where it matters. */
    const FaultsList *list = &cuts->faults->list;
    uint32_t class_a = list->class_of[pair->a];
    uint32_t class_b = list->class_of[pair->b];
    uint32_t a_first = pair->all_a ? list->class_first[class_a] : 0;
    uint32_t a_end = pair->all_a ? list->class_first[class_a + 1] : 1;
    uint32_t b_first = pair->all_b ? list->class_first[class_b] : 0;
    uint32_t b_end = pair->all_b ? list->class_first[class_b + 1] : 1;
    for (uint32_t i = a_first; i < a_end; i++) {
        uint32_t a = pair->all_a ? list->class_members[i] : pair->a;
        for (uint32_t k = b_first; k < b_end; k++) {
            uint32_t b = pair->all_b ? list->class_members[k] : pair->b;
            if (list->component[a] == list->component[b]) {
                continue;
            }
            unsigned latent = cuts->sign[a] == NEED_SIGN_LATENT ? 1 : 0;
            latent += cuts->sign[b] == NEED_SIGN_LATENT ? 1 : 0;
            counts->latent[latent]++;
            counts->sets++;
        }
    }
}

static PairCounts pairs_of(const NeedCuts *cuts, uint32_t need) {
    PairCounts counts = {0};
    for (uint32_t i = 0; i < cuts->result.pair_count; i++) {
        const CutPair *pair = &cuts->result.pairs[i];
        if (need_lost(cuts, pair->lost, need)) {
            count_pairs(cuts, pair, &counts);
        }
    }
    return counts;
}

static void judge_pairs(const NeedCuts *cuts, uint32_t need, Findings *findings) {
    const ServiceNeed *row = service_need(cuts->service, need);
    PairCounts counts = pairs_of(cuts, need);
    if (counts.sets == 0) {
        return;
    }
    Finding *finding = finding_report(
        findings, RULE_NEED_PAIR, "need", row->name, "",
        "%s (%s): %llu pairs of failures lose it, neither of which does alone; in %llu of them one "
        "shows nothing by itself, in %llu both",
        row->name, row->title, (unsigned long long)counts.sets,
        (unsigned long long)counts.latent[1], (unsigned long long)counts.latent[2]);
    finding->value = (double)counts.sets;
    finding->severity = counts.latent[2] > 0 ? SEVERITY_WARNING : SEVERITY_NOTE;
    finding->hint = counts.latent[2] > 0
                        ? "a cue, or a check before flight, that shows one of the two: `show "
                          "cut_set` lists them"
                        : "`show cut_set` lists them";
}

void need_cuts_judge(const NeedCuts *cuts, Findings *findings) {
    Arena scratch = {0};
    bool *used = ARENA_ARRAY(&scratch, bool, cuts->faults->model->set->exception.count);
    size_t modes = cuts->faults->model->set->failure_mode.count;
    Losses *by_mode = ARENA_ARRAY(&scratch, Losses, 2 * modes);
    for (uint32_t need = 0; need < cuts->need_count; need++) {
        judge_need(cuts, need, used, by_mode, findings);
        if (cuts->pairs) {
            judge_pairs(cuts, need, findings);
        }
    }
    judge_exceptions(cuts, used, findings);
    arena_free(&scratch);
}

/* --- rows ---------------------------------------------------------------------------------------
 */

static const char *sign_text(const NeedCuts *cuts, uint32_t failure) {
    return cuts->sign[failure] == NEED_SIGN_LATENT ? "latent" : "evident";
}

static void single_row(Arena *arena, const NeedCuts *cuts, uint32_t failure, uint32_t need,
                       TableSet *out) {
    const Model *model = cuts->faults->model;
    const ServiceNeed *there = service_need(cuts->service, need);
    CutSetRow *row = table_append(out, arena, TABLE_cut_set);
    uint32_t exception = ID_NONE;
    bool covered = excepted(cuts, failure, need, &exception);
    bool scope = in_scope(cuts, failure, need);
    row->need = there->name;
    row->failures = cuts->faults->list.failures[failure].key;
    row->order = 1;
    row->phases = phases_text(arena, cuts, single_of(cuts, failure), need);
    row->severity = there->severity;
    row->in_scope = scope;
    row->shows = sign_text(cuts, failure);
    row->exception = covered ? model->set->exception.rows[exception].reason : "";
    row->sets = 1;
    row->note = covered ? "declared exception" : scope ? "error: within the need's scope" : "";
}

/* "A | B | C": members of a class, the first named in `failures`. */
static const char *others_text(Arena *arena, const NeedCuts *cuts, uint32_t failure, bool all) {
    const FaultsList *list = &cuts->faults->list;
    Buffer text = {.arena = arena};
    uint32_t class_id = list->class_of[failure];
    for (uint32_t i = list->class_first[class_id]; all && i < list->class_first[class_id + 1];
         i++) {
        if (list->class_members[i] != failure) {
            buffer_format(&text, "%s%s", text.length == 0 ? "" : " ",
                          list->failures[list->class_members[i]].key);
        }
    }
    return text.length == 0 ? "" : text.bytes;
}

static void pair_row(Arena *arena, const NeedCuts *cuts, const CutPair *pair, uint32_t need,
                     TableSet *out) {
    const FaultsList *list = &cuts->faults->list;
    const ServiceNeed *there = service_need(cuts->service, need);
    const char *a = list->failures[pair->a].key;
    const char *b = list->failures[pair->b].key;
    bool turned = text_compare_keys(a, b) > 0;
    CutSetRow *row = table_append(out, arena, TABLE_cut_set);
    row->need = there->name;
    row->failures = arena_format(arena, "%s + %s", turned ? b : a, turned ? a : b);
    row->order = 2;
    row->phases = phases_text(arena, cuts, pair->lost, need);
    row->severity = there->severity;
    row->shows = strcmp(sign_text(cuts, pair->a), sign_text(cuts, pair->b)) == 0
                     ? sign_text(cuts, pair->a)
                     : "one latent";
    row->sets = (int32_t)pair->sets;
    row->for_first =
        others_text(arena, cuts, turned ? pair->b : pair->a, turned ? pair->all_b : pair->all_a);
    row->for_second =
        others_text(arena, cuts, turned ? pair->a : pair->b, turned ? pair->all_a : pair->all_b);
}

static void count_row(Arena *arena, const NeedCuts *cuts, uint32_t need, TableSet *out) {
    const ServiceNeed *there = service_need(cuts->service, need);
    CutCountRow *row = table_append(out, arena, TABLE_cut_count);
    row->need = there->name;
    row->name = there->title;
    row->severity = there->severity;
    row->order_1 = row->in_scope = row->excepted = 0;
    for (uint32_t i = 0; i < cuts->faults->list.count; i++) {
        if (!need_cuts_single(cuts, i, need)) {
            continue;
        }
        row->order_1++;
        bool covered = excepted(cuts, i, need, NULL);
        row->excepted += covered ? 1 : 0;
        row->in_scope += !covered && in_scope(cuts, i, need) ? 1 : 0;
    }
    if (cuts->pairs) {
        PairCounts counts = pairs_of(cuts, need);
        row->order_2 = (int32_t)counts.sets;
        row->one_latent = (int32_t)counts.latent[1];
        row->both_latent = (int32_t)counts.latent[2];
    }
}

static void work_row(Arena *arena, TableSet *out, int32_t rank, const char *what, uint64_t count,
                     const char *meaning) {
    CutWorkRow *row = table_append(out, arena, TABLE_cut_work);
    row->rank = rank;
    row->what = what;
    row->count = arena_format(arena, "%llu", (unsigned long long)count);
    row->meaning = meaning;
}

static void work_rows(Arena *arena, const NeedCuts *cuts, TableSet *out) {
    const CutCounts *counts = &cuts->result.counts;
    work_row(arena, out, 1, "failures", counts->failures, "every component in every mode");
    work_row(arena, out, 2, "phases", cuts->phase_count, "each is tried in each of these");
    work_row(arena, out, 3, "classes", counts->classes,
             "failures with the same effect, one of each tried alone");
    work_row(arena, out, 4, "order 1", counts->singles_found, "failures that lose a need alone");
    work_row(arena, out, 5, "not solved", cuts->not_solved,
             "tries that oscillate or have no operating point: not proved");
    work_row(arena, out, 6, "not proved", cuts->not_proved,
             "tries in which no published curve opens a device above its rating");
    if (!cuts->pairs) {
        return;
    }
    work_row(arena, out, 7, "pairs", counts->pairs, "n (n - 1) / 2");
    work_row(arena, out, 8, "one thing", counts->one_thing,
             "left out: one thing fails in one way at a time");
    work_row(arena, out, 9, "not searched", counts->alone,
             "one of the two is a mode that the library tries alone only");
    work_row(arena, out, 10, "contain all", counts->contains_all,
             "left out: their members alone lose every need in every phase");
    work_row(arena, out, 11, "stood for", counts->stood_for,
             "answered by another pair of the same classes");
    work_row(arena, out, 12, "tried", counts->tried, "asked, in every phase");
    work_row(arena, out, 13, "of these data only", cuts->data_only,
             "one of the two changes nothing in the network: solved before, asked of the needs");
    work_row(arena, out, 14, "order 2", counts->pairs_found,
             "pairs that lose a need neither loses alone");
}

void need_cuts_rows(Arena *arena, const NeedCuts *cuts, TableSet *out) {
    for (uint32_t need = 0; need < cuts->need_count; need++) {
        for (uint32_t i = 0; i < cuts->faults->list.count; i++) {
            if (need_cuts_single(cuts, i, need)) {
                single_row(arena, cuts, i, need, out);
            }
        }
        for (uint32_t i = 0; i < cuts->result.pair_count; i++) {
            if (need_lost(cuts, cuts->result.pairs[i].lost, need)) {
                pair_row(arena, cuts, &cuts->result.pairs[i], need, out);
            }
        }
        count_row(arena, cuts, need, out);
    }
    work_rows(arena, cuts, out);
}
