/* Method: what is in use in the entry's phase is the yardstick. The failures are tried there,
 * devices opening in time; then the switches are put as the situation leaves them, its lost sources
 * taken out, what it does not use switched off, and the network is solved once more: what then
 * works is left, what does not is lost, what is not used has been shed. */
#include "power/card.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/report.h"

typedef enum LoadFate {
    FATE_NONE, /* not in use before */
    FATE_LOST,
    FATE_SHED,
    FATE_OWN, /* without supply, but with a battery inside */
    FATE_LEFT
} LoadFate;

typedef struct Carding {
    Arena *out;
    Arena *scratch;
    const CardInput *in;
    const Model *model;
    const Supply *supply;
    Findings *findings;
    FaultsTrier *trier; /* NULL until something is tried */
    LoadFate *fates;    /* by load, of the present entry */
} Carding;

/* --- names --------------------------------------------------------------------------------------
 */

/* "primary display" of "primary display, left": the role up to its first comma, else the part. */
static const char *box_name(const Carding *carding, OwnerId owner) {
    const Model *model = carding->model;
    const ModelOwner *row = &model->owners[owner];
    if (row->kind != OWNER_UNIT) {
        return row->tag;
    }
    const char *role = model->set->unit.rows[row->row].role;
    if (*role == '\0') {
        role = model->set->part.rows[row->part].name;
    }
    return arena_text(carding->out, role, strcspn(role, ",;("));
}

typedef struct Name {
    const char *text;
    uint32_t load;
} Name;

static int compare_names(const void *left, const void *right) {
    const Name *a = left;
    const Name *b = right;
    int order = strcmp(a->text, b->text);
    return order != 0 ? order : (a->load < b->load ? -1 : (a->load > b->load ? 1 : 0));
}

/* Boxes whose loads meet that fate, each once, equal names counted: "bilge pump (2)". A box that
 * keeps one supply of two is named with the port it loses. */
static const char *names_of(const Carding *carding, LoadFate fate) {
    const Supply *supply = carding->supply;
    Name *names = ARENA_ARRAY(carding->scratch, Name, supply->load_count);
    size_t count = 0;
    for (uint32_t i = 0; i < supply->load_count;) {
        OwnerId owner = supply->loads[i].owner;
        uint32_t end = i;
        uint32_t met = 0;
        uint32_t others = 0;
        uint32_t first = ID_NONE;
        for (; end < supply->load_count && supply->loads[end].owner == owner; end++) {
            if (carding->fates[end] == fate) {
                first = met == 0 ? end : first;
                met++;
            } else if (carding->fates[end] != FATE_NONE) {
                others++;
            }
        }
        /* Of a box in two minds the loss is told, and what is left without a word of it. */
        if (met > 0 && (others == 0 || fate != FATE_SHED)) {
            const char *name = box_name(carding, owner);
            names[count++] =
                (Name){fate == FATE_LOST && others > 0
                           ? arena_format(carding->out, "%s (%s only)", name,
                                          carding->model->terminals[supply->loads[first].port].name)
                           : name,
                       first};
        }
        i = end;
    }
    if (count > 1) {
        qsort(names, count, sizeof *names, compare_names);
    }
    Buffer text = {.arena = carding->out};
    for (size_t i = 0; i < count;) {
        size_t end = i;
        while (end < count && strcmp(names[end].text, names[i].text) == 0) {
            end++;
        }
        buffer_format(&text, "%s%s", i == 0 ? "" : ", ", names[i].text);
        if (end - i > 1) {
            buffer_format(&text, " (%zu)", end - i);
        }
        i = end;
    }
    return text.length == 0 ? "" : text.bytes;
}

/* --- failures -----------------------------------------------------------------------------------
 */

static void report(const Carding *carding, uint32_t row, const char *column, const char *word,
                   const char *what) {
    Finding *finding =
        report_row(carding->findings, carding->model, RULE_CARD_ROW, TABLE_card, row, column,
                   "%s names %s: %s", carding->model->set->card.rows[row].card, word, what);
    finding->rows = word;
}

/* Failures of a row, as numbers; false when one of them is not there. */
static bool failures_of(const Carding *carding, uint32_t row, uint32_t **failures,
                        uint32_t *count) {
    const Faults *faults = carding->in->faults;
    const char *list = carding->model->set->card.rows[row].failures;
    char **words = NULL;
    size_t word_count = text_split(carding->scratch, list, &words);
    *failures = ARENA_ARRAY(carding->scratch, uint32_t, word_count);
    *count = 0;
    bool good = true;
    for (size_t i = 0; i < word_count; i++) {
        const char *word = arena_text(carding->out, words[i], strlen(words[i]));
        uint32_t failure = faults_find(&faults->list, word);
        if (failure == ID_NONE) {
            report(carding, row, "failures", word, "no such failure; `show fault` lists them");
            good = false;
        } else {
            (*failures)[(*count)++] = failure;
        }
    }
    return good;
}

/* Tries them in one phase and marks what they take of what is in use there. */
static FaultsEffect try_in(Carding *carding, uint32_t phase, const uint32_t *failures,
                           uint32_t count) {
    const Faults *faults = carding->in->faults;
    if (carding->trier == NULL) {
        carding->trier = faults_trier_new(carding->scratch, faults);
    }
    return faults_try(carding->trier, phase, failures, count);
}

/* The phase asked for, or the one in which most boxes in use are lost. ID_NONE: not tried there. */
static uint32_t pick_phase(Carding *carding, uint32_t row, const uint32_t *failures,
                           uint32_t count) {
    const Faults *faults = carding->in->faults;
    const char *asked = carding->model->set->card.rows[row].phase;
    uint32_t best = ID_NONE;
    uint32_t most = 0;
    for (uint32_t i = 0; i < faults->phase_count; i++) {
        const char *name = carding->model->set->phase.rows[faults->phases[i].phase].phase;
        if (*asked != '\0') {
            if (strcmp(asked, name) == 0) {
                return i;
            }
            continue;
        }
        FaultsEffect effect = try_in(carding, i, failures, count);
        uint32_t lost = effect.need_count * 1000; /* a need counts before any number of boxes */
        for (uint32_t k = 0; k < effect.lost_count; k++) {
            lost += faults->phases[i].in_use[effect.lost[k]];
        }
        if (best == ID_NONE || lost > most) {
            best = i;
            most = lost;
        }
    }
    return best;
}

static const char *needs_text(const Carding *carding, const FaultsEffect *effect) {
    Buffer text = {.arena = carding->out};
    for (uint32_t i = 0; i < effect->need_count; i++) {
        const ServiceNeed *need = service_need(carding->in->faults->service, effect->needs[i]);
        buffer_format(&text, "%s%s (%s)", text.length == 0 ? "" : ", ", need->title, need->name);
    }
    return text.length == 0 ? "" : text.bytes;
}

static const char *status_note(const Carding *carding, const FaultsEffect *effect) {
    if (effect->status == FAULTS_SOLVED) {
        return "";
    }
    if (effect->status == FAULTS_NOT_PROVED && effect->unproved_count > 0) {
        return arena_format(carding->out, "not proved: no published curve says when %s opens",
                            carding->model->owners[effect->unproved[0]].tag);
    }
    return effect->status == FAULTS_OSCILLATES ? "not proved: something switches to and fro"
                                               : "not proved: no operating point was found";
}

/* --- after the actions --------------------------------------------------------------------------
 */

typedef struct Edits {
    FailEdit *rows;
    size_t count;
    size_t capacity;
} Edits;

static void add_edit(const Carding *carding, Edits *edits, FailEdit edit) {
    *ARENA_PUSH(carding->scratch, edits->rows, edits->count, edits->capacity) = edit;
}

/* Switches that stand otherwise than in the phase, sources that are off, boxes that are not used.
 */
static void add_situation(const Carding *carding, uint32_t phase, uint32_t situation,
                          const char *const *positions, Edits *edits) {
    const Model *model = carding->model;
    const Supply *supply = carding->supply;
    const PowerNetwork *built = carding->in->faults->built;
    const char *const *before = supply->positions[phase];
    for (uint32_t i = 0; i < supply->gates.count; i++) {
        const Gate *gate = &supply->gates.rows[i];
        const BuildElement *element = &built->gate_element[i];
        if (element->kind == NETWORK_CONTACT &&
            built->network.contacts[element->index].coil == NETWORK_NONE &&
            strcmp(positions[gate->owner], before[gate->owner]) != 0) {
            add_edit(carding, edits,
                     fail_hold(element->index, gates_closed(gate, positions[gate->owner])));
        }
    }
    for (uint32_t i = 0; i < built->network.alternator_count; i++) {
        const SourceRow *source = &model->set->source.rows[built->alternators[i].source];
        if (strcmp(positions[model_owner(model, source->unit)], "off") == 0) {
            add_edit(carding, edits, fail_open(NETWORK_ALTERNATOR, i));
        }
    }
    for (uint32_t i = 0; i < built->network.battery_count; i++) {
        const SourceRow *source = &model->set->source.rows[built->batteries[i].source];
        if (strcmp(positions[model_owner(model, source->unit)], "off") == 0) {
            add_edit(carding, edits, fail_open(NETWORK_BATTERY, i));
        }
    }
    for (uint32_t i = 0; i < supply->load_count; i++) {
        if (supply->loads[i].load_row != ID_NONE && supply->loads[i].phase_a[phase] > 0.0 &&
            !(loads_situation_a(model, supply, positions, situation, UINT32_MAX, i) > 0.0)) {
            for (uint32_t k = built->load_first[i]; k < built->load_first[i + 1]; k++) {
                add_edit(carding, edits, fail_value(FAIL_DRAW, NETWORK_LOAD, k, 0.0));
            }
        }
    }
}

/* True for what is no box to a pilot: the field of an alternator. */
static bool is_source(const Model *model, OwnerId owner) {
    return model->owners[owner].kind == OWNER_UNIT &&
           strcmp(model->set->part.rows[model->owners[owner].part].supply, "source") == 0;
}

static bool has_own_battery(const Model *model, OwnerId owner) {
    return model->owners[owner].kind == OWNER_UNIT &&
           strcmp(model->set->part.rows[model->owners[owner].part].supply,
                  "powered, own battery") == 0;
}

/* Every share of a load works in the run. */
static bool works(const Carding *carding, FailRun *run, uint32_t load) {
    const PowerNetwork *built = carding->in->faults->built;
    bool any = false;
    for (uint32_t k = built->load_first[load]; k < built->load_first[load + 1]; k++) {
        any = true;
        if (!fail_load_works(run, k)) {
            return false;
        }
    }
    return any;
}

/* Sets the fates by the network after failures, openings and the situation (ID_NONE: none). Returns
 * false when no operating point was found. */
static bool settle(Carding *carding, uint32_t phase, const uint32_t *failures, uint32_t count,
                   const FaultsEffect *effect, uint32_t situation) {
    const Faults *faults = carding->in->faults;
    const FaultsPhase *at = &faults->phases[phase];
    const Model *model = carding->model;
    const Supply *supply = carding->supply;
    FailRun *run = fail_run_new(carding->scratch, at->base);
    fail_begin(run);
    Edits edits = {0};
    for (uint32_t i = 0; i < count; i++) {
        const Failure *failure = &faults->list.failures[failures[i]];
        for (uint32_t k = 0; k < failure->edit_count; k++) {
            add_edit(carding, &edits, faults->list.edits[failure->edit_first + k]);
        }
    }
    bool found = fail_apply(run, edits.rows, (uint32_t)edits.count) == SOLVE_OK;
    edits.count = 0;
    for (uint32_t i = 0; i < effect->opening_count; i++) {
        for (uint32_t k = 0; k < faults->device_count; k++) {
            if (faults->devices[k].owner == effect->openings[i].owner) {
                add_edit(carding, &edits, fail_hold(faults->devices[k].contact, false));
            }
        }
    }
    const char *const *positions = supply->positions[at->phase];
    if (situation != ID_NONE) {
        uint32_t row =
            name_map_find(&model->phase_by_name, model->set->situation.rows[situation].phase);
        positions =
            supply_positions(carding->scratch, model, supply, row, situation, UINT32_MAX, NULL);
        add_situation(carding, at->phase, situation, positions, &edits);
    }
    found = fail_apply(run, edits.rows, (uint32_t)edits.count) == SOLVE_OK && found;
    for (uint32_t i = 0; i < supply->load_count; i++) {
        const SupplyLoad *load = &supply->loads[i];
        if (load->load_row == ID_NONE || is_source(model, load->owner) || !at->in_use[i]) {
            continue;
        }
        bool draws = situation == ID_NONE ||
                     loads_situation_a(model, supply, positions, situation, UINT32_MAX, i) > 0.0;
        carding->fates[i] = !draws                                ? FATE_SHED
                            : works(carding, run, i)              ? FATE_LEFT
                            : has_own_battery(model, load->owner) ? FATE_OWN
                                                                  : FATE_LOST;
    }
    fail_run_free(run);
    return found;
}

/* Grows a list of ids of a loss. */
typedef struct Ids {
    uint32_t *rows;
    size_t count;
    size_t capacity;
} Ids;

static void add_ids(const Carding *carding, Ids *ids, const uint32_t *rows, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        *ARENA_PUSH(carding->scratch, ids->rows, ids->count, ids->capacity) = rows[i];
    }
}

/* Which functions are lost and kept with the fates as they are: what is off counts as lost. */
static void ask_service(const Carding *carding, uint32_t phase, const uint32_t *failures,
                        uint32_t count, CardEntry *entry) {
    const Faults *faults = carding->in->faults;
    const FaultsList *list = &faults->list;
    if (faults->service == NULL) {
        return;
    }
    Ids loads = {0};
    Ids owners = {0};
    Ids conductors = {0};
    Ids nets = {0};
    Ids ports = {0};
    add_ids(carding, &loads, faults->phases[phase].missing, faults->phases[phase].missing_count);
    for (uint32_t i = 0; i < carding->supply->load_count; i++) {
        if (carding->fates[i] == FATE_LOST || carding->fates[i] == FATE_SHED) {
            add_ids(carding, &loads, &i, 1);
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        const Failure *row = &list->failures[failures[i]];
        add_ids(carding, &owners, list->owners + row->owner_first, row->owner_count);
        add_ids(carding, &conductors, list->conductors + row->conductor_first,
                row->conductor_count);
        add_ids(carding, &nets, list->nets + row->net_first, row->net_count);
        add_ids(carding, &ports, list->ports + row->port_first, row->port_count);
    }
    ServiceLoss loss = {
        .loads = loads.rows,
        .load_count = (uint32_t)loads.count,
        .owners = owners.rows,
        .owner_count = (uint32_t)owners.count,
        .conductors = conductors.rows,
        .conductor_count = (uint32_t)conductors.count,
        .nets = nets.rows,
        .net_count = (uint32_t)nets.count,
        .ports = ports.rows,
        .port_count = (uint32_t)ports.count,
    };
    ServiceAnswer answer = service_ask(service_run_new(carding->scratch, faults->service), &loss);
    Buffer gone = {.arena = carding->out};
    Buffer kept = {.arena = carding->out};
    uint32_t next = 0;
    for (uint32_t i = 0; i < service_need_count(faults->service); i++) {
        bool lost = next < answer.need_count && answer.needs[next] == i;
        next += lost;
        lost = lost || service_need_missing(faults->service, i);
        Buffer *text = lost ? &gone : &kept;
        buffer_format(text, "%s%s", text->length == 0 ? "" : ", ",
                      service_need(faults->service, i)->title);
    }
    entry->gone = gone.length == 0 ? "" : gone.bytes;
    entry->kept = kept.length == 0 ? "" : kept.bytes;
}

/* Fills what is lost, shed and left; a note says why where that could not be done. */
static void fill_fates(Carding *carding, uint32_t row, uint32_t situation, CardEntry *entry) {
    const Model *model = carding->model;
    uint32_t *failures = NULL;
    uint32_t count = 0;
    entry->note = "not proved: this could not be tried";
    if (carding->in->faults == NULL || !failures_of(carding, row, &failures, &count) ||
        (count == 0 && situation == ID_NONE)) {
        return;
    }
    uint32_t phase = pick_phase(carding, row, failures, count);
    if (phase == ID_NONE) {
        report(carding, row, "phase", model->set->card.rows[row].phase,
               "failures are not tried in this phase");
        return;
    }
    FaultsEffect effect = try_in(carding, phase, failures, count);
    entry->phase = model->set->phase.rows[carding->in->faults->phases[phase].phase].phase;
    entry->needs = needs_text(carding, &effect);
    entry->note = status_note(carding, &effect);
    if (!settle(carding, phase, failures, count, &effect, situation)) {
        entry->note = "not proved: no operating point was found";
    }
    ask_service(carding, phase, failures, count, entry);
    entry->lost = names_of(carding, FATE_LOST);
    entry->shed = names_of(carding, FATE_SHED);
    entry->left = names_of(carding, FATE_LEFT);
    const char *own = names_of(carding, FATE_OWN);
    if (*own != '\0') {
        entry->left = arena_format(carding->out, "%s%s%s (own battery only)", entry->left,
                                   *entry->left == '\0' ? "" : ", ", own);
    }
}

/* --- minutes ------------------------------------------------------------------------------------
 */

static void add_minutes(const Carding *carding, uint32_t situation, CardEntry *entry) {
    const CardInput *in = carding->in;
    const SituationRow *row = &carding->model->set->situation.rows[situation];
    CardMinutes *minutes = &entry->minutes[entry->minutes_count++];
    OwnerId owner = model_owner(carding->model, row->battery);
    *minutes = (CardMinutes){
        .situation = situation,
        .battery = owner == ID_NONE ? row->battery : box_name(carding, owner),
        .new_min = (double)NAN,
        .aged_min = (double)NAN,
        .cold_min = (double)NAN,
        .cold_degc = (double)NAN,
    };
    for (uint32_t i = 0; i < in->loads->endurance_count; i++) {
        const LoadsEndurance *plain = &in->loads->endurances[i];
        if (plain->situation != situation) {
            continue;
        }
        const EnduranceSolved *solved = &in->endurance->solved[i];
        /* Nothing that could not be solved stands on a card as a number. */
        double shorter_min =
            isnan(solved->minutes_min) ? (double)NAN : fmin(plain->plain_min, solved->minutes_min);
        if (isinf(solved->minutes_min)) {
            shorter_min = solved->minutes_min; /* an alternator carries what is added up by hand */
        }
        if (plain->aged) {
            minutes->aged_min = shorter_min;
        } else {
            minutes->new_min = shorter_min;
        }
        if (plain->aged && in->endurance->cold != NULL &&
            *in->endurance->cold[i].ends_with != '\0') {
            minutes->cold_min = in->endurance->cold[i].minutes_min;
            minutes->cold_degc = in->endurance->cold[i].cells_degc;
        }
    }
}

/* --- actions ------------------------------------------------------------------------------------
 */

/* "ESS ALT on": by the label on the panel, else the tag. NULL for what no hand moves. */
static const char *action_text(const Carding *carding, const ActionRow *action) {
    const Model *model = carding->model;
    OwnerId owner = model_owner(model, action->item);
    if (owner == ID_NONE) { /* a port: the box is switched off */
        TerminalId port = model_terminal(model, action->item);
        return port == ID_NONE ? NULL
                               : arena_format(carding->out, "%s off",
                                              box_name(carding, model->terminals[port].owner));
    }
    const ModelOwner *row = &model->owners[owner];
    if (row->kind == OWNER_SWITCHGEAR) {
        const SwitchgearRow *gear = &model->set->switchgear.rows[row->row];
        if (row->part == ID_NONE ||
            strcmp(model->set->switch_part.rows[row->part].kind, "switch") != 0) {
            return NULL; /* a contactor follows its switch */
        }
        return arena_format(carding->out, "%s %s", *gear->legend == '\0' ? gear->tag : gear->legend,
                            action->position);
    }
    return arena_format(carding->out, "%s %s", row->tag, action->position);
}

static void add_actions(const Carding *carding, uint32_t row, uint32_t situation,
                        CardEntry *entry) {
    const Model *model = carding->model;
    const char *card = model->set->card.rows[row].card;
    uint32_t count = 0;
    uint32_t first = model_rows_of(model, TABLE_card_action, card, &count);
    uint32_t situation_count = 0;
    uint32_t situation_first =
        situation == ID_NONE ? 0 : supply_actions(model, situation, &situation_count);
    entry->actions = ARENA_ARRAY(carding->out, const char *, (size_t)count + situation_count);
    for (uint32_t i = first; i < first + count; i++) {
        const CardActionRow *action = &model->set->card_action.rows[i];
        entry->actions[entry->action_count++] = action->does;
        if (*action->item != '\0' && model_owner(model, action->item) == ID_NONE &&
            model_terminal(model, action->item) == ID_NONE) {
            Finding *finding =
                report_row(carding->findings, model, RULE_CARD_ROW, TABLE_card_action, i, "item",
                           "%s names %s, and nothing has that name", card, action->item);
            report_meant(carding->findings, finding, model, action->item);
        }
    }
    for (uint32_t i = 0; count == 0 && i < situation_count; i++) {
        const char *text = action_text(carding, &model->set->action.rows[situation_first + i]);
        if (text != NULL) {
            entry->actions[entry->action_count++] = text;
        }
    }
}

/* --- entries ------------------------------------------------------------------------------------
 */

static void make_entry(Carding *carding, uint32_t row, CardEntry *entry) {
    const Model *model = carding->model;
    *entry = (CardEntry){.row = row,
                         .phase = "",
                         .needs = "",
                         .gone = "",
                         .kept = "",
                         .lost = "",
                         .shed = "",
                         .left = "",
                         .note = ""};
    memset(carding->fates, 0, carding->supply->load_count * sizeof *carding->fates);
    char **words = NULL;
    size_t count = text_split(carding->scratch, model->set->card.rows[row].situations, &words);
    entry->minutes = ARENA_ARRAY(carding->out, CardMinutes, count);
    uint32_t first = ID_NONE;
    for (size_t i = 0; i < count; i++) {
        uint32_t situation = model_row(model, TABLE_situation, words[i]);
        if (situation == ID_NONE) {
            report(carding, row, "situations", arena_text(carding->out, words[i], strlen(words[i])),
                   "no such situation");
            continue;
        }
        first = first == ID_NONE ? situation : first;
        add_minutes(carding, situation, entry);
    }
    add_actions(carding, row, first, entry);
    fill_fates(carding, row, first, entry);
}

static int compare_rows(const void *left, const void *right, const Model *model) {
    const CardRow *a = &model->set->card.rows[*(const uint32_t *)left];
    const CardRow *b = &model->set->card.rows[*(const uint32_t *)right];
    if (a->rank != b->rank) {
        return a->rank < b->rank ? -1 : 1;
    }
    return strcmp(a->card, b->card);
}

/* Rows of `card` by rank: a card has few. */
static uint32_t *rows_in_order(Arena *arena, const Model *model) {
    size_t count = model->set->card.count;
    uint32_t *order = ARENA_ARRAY(arena, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        uint32_t at = i;
        for (; at > 0 && compare_rows(&order[at - 1], &i, model) > 0; at--) {
            order[at] = order[at - 1];
        }
        order[at] = i;
    }
    return order;
}

/* --- exported -----------------------------------------------------------------------------------
 */

void card_run(Arena *out, const CardInput *input, Card *card, Findings *findings) {
    const Model *model = input->model;
    size_t count = model->set->card.count;
    *card = (Card){.entries = ARENA_ARRAY(out, CardEntry, count), .count = (uint32_t)count};
    Arena scratch = {0};
    Carding carding = {
        .out = out,
        .scratch = &scratch,
        .in = input,
        .model = model,
        .supply = input->supply,
        .findings = findings,
        .fates = ARENA_ARRAY(&scratch, LoadFate, input->supply->load_count),
    };
    uint32_t *order = rows_in_order(&scratch, model);
    for (uint32_t i = 0; i < count; i++) {
        make_entry(&carding, order[i], &card->entries[i]);
    }
    if (carding.trier != NULL) {
        faults_trier_free(carding.trier);
    }
    arena_free(&scratch);
}

const char *card_minutes_text(Arena *arena, const CardMinutes *minutes) {
    if (isnan(minutes->aged_min) || isnan(minutes->new_min)) {
        return "?";
    }
    double shorter_min = fmin(minutes->new_min, minutes->aged_min);
    shorter_min = fmin(shorter_min, minutes->cold_min); /* leaves out what is not known */
    return isinf(shorter_min) ? "no limit" : arena_format(arena, "%.0f", floor(shorter_min));
}

static void add_line(Arena *arena, TableSet *results, const char *card, int32_t *line,
                     const char *kind, const char *text, const char *from) {
    if (*text == '\0') {
        return;
    }
    CardLineRow *row = table_append(results, arena, TABLE_card_line);
    row->card = card;
    row->line = ++*line;
    row->kind = kind;
    row->text = text;
    row->from = from;
}

void card_rows(Arena *arena, const Model *model, const Card *card, TableSet *results) {
    for (uint32_t i = 0; i < card->count; i++) {
        const CardEntry *entry = &card->entries[i];
        const CardRow *row = &model->set->card.rows[entry->row];
        int32_t line = 0;
        add_line(arena, results, row->card, &line, "title", row->title, "");
        add_line(arena, results, row->card, &line, "cue", row->cue, "");
        for (uint32_t k = 0; k < entry->action_count; k++) {
            add_line(arena, results, row->card, &line, "action", entry->actions[k], "");
        }
        for (uint32_t k = 0; k < entry->minutes_count; k++) {
            const CardMinutes *minutes = &entry->minutes[k];
            const char *text =
                isinf(minutes->new_min)
                    ? arena_format(arena, "%s: no limit, an alternator carries it",
                                   minutes->battery)
                    : arena_format(arena, "%s: %s min (new %.1f, aged %.1f, aged and cold %.1f)",
                                   minutes->battery, card_minutes_text(arena, minutes),
                                   minutes->new_min, minutes->aged_min, minutes->cold_min);
            add_line(arena, results, row->card, &line, "minutes", text,
                     model->set->situation.rows[minutes->situation].situation);
        }
        add_line(arena, results, row->card, &line, "lost at once", entry->needs, row->failures);
        add_line(arena, results, row->card, &line, "without", entry->gone, entry->phase);
        add_line(arena, results, row->card, &line, "with", entry->kept, entry->phase);
        add_line(arena, results, row->card, &line, "lost", entry->lost, entry->phase);
        add_line(arena, results, row->card, &line, "shed", entry->shed, entry->phase);
        add_line(arena, results, row->card, &line, "left", entry->left, entry->phase);
        add_line(arena, results, row->card, &line, "note", entry->note, "");
    }
}
