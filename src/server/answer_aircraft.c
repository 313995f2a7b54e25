/* What views of the whole aircraft are drawn from: where everything is and what runs through it,
 * on which sheets a thing stands, and what a failure does, as data. Texts that repeat are sent once
 * and referred to by number. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/fail.h"
#include "base/check.h"
#include "base/text.h"
#include "server/routes.h"

static json_t *real_or_null(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *id_or_null(uint32_t id) {
    return id == ID_NONE ? json_null() : json_integer((json_int_t)id);
}

/* False after refusing. */
static bool is_complete(Asking *asking, const Proof *proof) {
    if (!proof->complete) {
        asking_refuse(asking, 409, "what can't be read has to be mended first", NULL);
    }
    return proof->complete;
}

/* --- geometry -------------------------------------------------------------------------------- */

static json_t *nodes_json(const Model *model) {
    const TableSet *set = model->set;
    json_t *list = json_array();
    for (size_t i = 0; i < set->node.count; i++) {
        const NodeRow *row = &set->node.rows[i];
        json_array_append_new(list, json_pack("[s,o,o,o,s,s,s]", row->node, real_or_null(row->x_mm),
                                              real_or_null(row->y_mm), real_or_null(row->z_mm),
                                              row->zone, row->module, row->what));
    }
    return list;
}

static json_t *segments_json(const Proof *proof) {
    const Model *model = &proof->model;
    json_t *list = json_array();
    for (size_t i = 0; i < proof->set.segment.count; i++) {
        const SegmentRow *row = &proof->set.segment.rows[i];
        const Bundle *bundle = &proof->bundles[i];
        json_array_append_new(
            list,
            json_pack("[s,o,o,s,o,o,I,I]", row->segment, id_or_null(model->segment_a[i]),
                      id_or_null(model->segment_b[i]), row->zone,
                      real_or_null(model->segment_length_mm[i]), real_or_null(bundle->diameter_mm),
                      (json_int_t)bundle->cables, (json_int_t)bundle->conductors));
    }
    return list;
}

static const char *what_of(const Model *model, const ModelOwner *owner) {
    const TableSet *set = model->set;
    switch (owner->kind) {
    case OWNER_UNIT:
        return set->unit.rows[owner->row].role;
    case OWNER_PROTECTION:
        return set->protection.rows[owner->row].place;
    case OWNER_SWITCHGEAR:
        return set->switchgear.rows[owner->row].what;
    case OWNER_BAR:
        return set->bus.rows[owner->row].what;
    case OWNER_GROUND:
    case OWNER_ANTENNA:
        break;
    }
    return "";
}

static json_t *things_json(const Model *model) {
    static const char *const KINDS[] = {
        [OWNER_UNIT] = "unit", [OWNER_PROTECTION] = "protection", [OWNER_SWITCHGEAR] = "switchgear",
        [OWNER_BAR] = "bus",   [OWNER_GROUND] = "ground_point",   [OWNER_ANTENNA] = "antenna",
    };
    json_t *list = json_array();
    for (OwnerId i = 0; i < model->owner_count; i++) {
        const ModelOwner *owner = &model->owners[i];
        json_array_append_new(list, json_pack("[s,s,o,s]", owner->tag, KINDS[owner->kind],
                                              id_or_null(owner->node), what_of(model, owner)));
    }
    return list;
}

static json_t *disconnects_json(const Model *model) {
    const TableSet *set = model->set;
    json_t *list = json_array();
    for (size_t i = 0; i < set->disconnect_shell.count; i++) {
        const DisconnectShellRow *row = &set->disconnect_shell.rows[i];
        uint32_t segment = model_row(model, TABLE_segment, row->segment);
        uint32_t node =
            *row->node == '\0' ? NAME_NONE : name_map_find(&model->node_by_name, row->node);
        json_array_append_new(list,
                              json_pack("[s,s,o,o]", row->tag, row->disconnect, id_or_null(segment),
                                        node == NAME_NONE ? json_null() : id_or_null(node)));
    }
    return list;
}

/* Laid pieces with their way, and their conductors: [net, class, segments, [wire, from, to]]. */
static json_t *cables_json(Arena *arena, const Proof *proof) {
    const Model *model = &proof->model;
    const Wiring *wiring = &proof->wiring;
    const Routing *routing = &proof->routing;
    json_t *list = json_array();
    for (CableId i = 0; i < wiring->cable_count; i++) {
        const Cable *cable = &wiring->cables[i];
        json_t *way = json_array();
        for (uint32_t hop = routing->cable_first[i]; hop < routing->cable_first[i + 1]; hop++) {
            json_array_append_new(way, json_integer((json_int_t)routing->hops[hop].segment));
        }
        json_t *wires = json_array();
        for (uint32_t k = 0; k < cable->conductor_count; k++) {
            const Conductor *conductor = &wiring->conductors[cable->conductor_first + k];
            json_array_append_new(wires, json_pack("[s,s,s]", conductor->key,
                                                   model_pin_text(model, arena, conductor->from),
                                                   model_pin_text(model, arena, conductor->to)));
        }
        json_array_append_new(list,
                              json_pack("[s,o,o]", wiring->nets[cable->net].name, way, wires));
    }
    return list;
}

static json_t *zones_json(const TableSet *set) {
    json_t *list = json_array();
    for (size_t i = 0; i < set->zone.count; i++) {
        json_array_append_new(list,
                              json_pack("[s,s,o]", set->zone.rows[i].zone, set->zone.rows[i].name,
                                        real_or_null(set->zone.rows[i].ambient_max_degc)));
    }
    return list;
}

void ask_geometry(Asking *asking) {
    Live *live = asking_live(asking, LIVE_CHAIN);
    if (live == NULL) {
        return;
    }
    const Proof *proof = &live->proof;
    if (is_complete(asking, proof)) {
        json_t *shells = json_array();
        for (uint32_t i = 0; i < proof->disconnects.use_count; i++) {
            const CavityUse *use = &proof->disconnects.uses[i];
            if (use->conductor != ID_NONE) {
                json_array_append_new(shells,
                                      json_pack("[I,s]", (json_int_t)use->shell,
                                                proof->wiring.conductors[use->conductor].key));
            }
        }
        asking_put_json(asking, 200,
                        json_pack("{s:I,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "act", (json_int_t)live->act,
                                  "nodes", nodes_json(&proof->model), "segments",
                                  segments_json(proof), "things", things_json(&proof->model),
                                  "shells", disconnects_json(&proof->model), "passes", shells,
                                  "cables", cables_json(asking->arena, proof), "zones",
                                  zones_json(&proof->set)));
    }
    desk_live_done(asking->desk, live);
}

/* --- where a thing stands -------------------------------------------------------------------- */

static bool is_word_of(const char *key, const char *word) {
    size_t length = strlen(word);
    for (const char *place = strstr(key, word); place != NULL; place = strstr(place + 1, word)) {
        bool begins = place == key || place[-1] == ' ';
        char after = place[length];
        if (begins && (after == '\0' || after == ' ' || after == '.')) {
            return true;
        }
    }
    return false;
}

/* Whether the thing is drawn on the sheet, as itself or as a part of a key ("BK1L W0412"). */
static bool stands_on(const SheetPlan *plan, uint32_t sheet, const char *key) {
    Arena page = {0};
    DrawList list;
    sheet_draw(plan, sheet, &page, true, &list);
    bool found = false;
    for (size_t i = 0; i < list.count && !found; i++) {
        found = list.items[i].table != TABLE_COUNT && is_word_of(list.items[i].key, key);
    }
    arena_free(&page);
    return found;
}

/* Diagrams and connector faces alone: what lists a thing says where it is by itself. */
void ask_drawn(Asking *asking) {
    const char *key = asking_need(asking, "key");
    Live *live = key == NULL ? NULL : asking_live(asking, LIVE_DRAWN);
    if (live == NULL) {
        return;
    }
    json_t *list = json_array();
    for (uint32_t i = 0; live->problem == NULL && i < live->plan.count; i++) {
        uint32_t kind = live->plan.sheets[i].kind;
        if ((kind == SHEET_POWER || kind == SHEET_WIRING || kind == SHEET_FACE ||
             kind == SHEET_GUARD) &&
            stands_on(&live->plan, i, key)) {
            json_array_append_new(list, json_string(live->plan.sheets[i].name));
        }
    }
    asking_put_json(asking, 200,
                    json_pack("{s:I,s:o}", "act", (json_int_t)live->act, "sheets", list));
    desk_live_done(asking->desk, live);
}

/* --- fail it --------------------------------------------------------------------------------- */

static json_t *texts_json(const char *const *texts, uint32_t count) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < count; i++) {
        json_array_append_new(list, json_string(texts[i]));
    }
    return list;
}

static json_t *ports_json(const FailPort *ports, uint32_t count) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < count; i++) {
        json_array_append_new(list, json_pack("{s:s,s:s,s:b}", "end", ports[i].end, "unit",
                                              ports[i].unit, "in_use", ports[i].in_use ? 1 : 0));
    }
    return list;
}

static json_t *batteries_json(const FailPhase *phase) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < phase->battery_count; i++) {
        const FailBattery *battery = &phase->batteries[i];
        json_array_append_new(
            list,
            json_pack("{s:s,s:f,s:f,s:f,s:f,s:f,s:o,s:o,s:s}", "unit", battery->unit, "capacity_ah",
                      battery->capacity_ah, "usable_new", battery->usable_new, "usable_aged",
                      battery->usable_aged, "amps_a", battery->amps_a, "before_a",
                      battery->before_a, "new_min", real_or_null(battery->new_min), "aged_min",
                      real_or_null(battery->aged_min), "source", battery->source));
    }
    return list;
}

static json_t *phase_json(const FailPhase *phase) {
    json_t *opened = json_array();
    for (uint32_t i = 0; i < phase->opened_count; i++) {
        json_array_append_new(opened, json_pack("{s:s,s:f,s:f}", "device", phase->opened[i].device,
                                                "seconds", phase->opened[i].seconds, "percent",
                                                phase->opened[i].percent));
    }
    json_t *needs = json_array();
    for (uint32_t i = 0; i < phase->need_count; i++) {
        json_array_append_new(needs, json_pack("{s:s,s:s,s:s}", "need", phase->needs[i].need,
                                               "title", phase->needs[i].title, "severity",
                                               phase->needs[i].severity));
    }
    json_t *object = json_pack("{s:s,s:s,s:s,s:s,s:s,s:s}", "phase", phase->phase, "status",
                               phase->status, "functions", phase->functions, "lowest",
                               phase->lowest, "noticed", phase->noticed, "note", phase->note);
    json_object_set_new(object, "dark", ports_json(phase->dark, phase->dark_count));
    json_object_set_new(object, "restarted", ports_json(phase->restarted, phase->restarted_count));
    json_object_set_new(object, "gained", ports_json(phase->gained, phase->gained_count));
    json_object_set_new(object, "wires", texts_json(phase->wires, phase->wire_count));
    json_object_set_new(object, "buses", texts_json(phase->buses, phase->bus_count));
    json_object_set_new(object, "units", texts_json(phase->units, phase->unit_count));
    json_object_set_new(object, "opened", opened);
    json_object_set_new(object, "needs", needs);
    json_object_set_new(object, "batteries", batteries_json(phase));
    return object;
}

static json_t *items_json(const FailTrial *trial) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < trial->item_count; i++) {
        const FailItem *item = &trial->items[i];
        json_array_append_new(list, json_pack("{s:s,s:s,s:s,s:o}", "item", item->item, "mode",
                                              item->mode, "meaning", item->meaning, "modes",
                                              texts_json(item->modes, item->mode_count)));
    }
    return list;
}

static bool has_text(json_t *list, const char *text) {
    size_t i;
    json_t *value;
    json_array_foreach(list, i, value) {
        if (strcmp(json_string_value(value), text) == 0) {
            return true;
        }
    }
    return false;
}

/* Everything that a hand or a coil puts somewhere, where it is in the phase, and where it can be:
 * at rest, or where a pole of it joins something. */
static json_t *switches_json(Arena *arena, const Proof *proof, uint32_t phase) {
    const TableSet *set = &proof->set;
    json_t *list = json_array();
    for (OwnerId i = 0; i < proof->model.owner_count; i++) {
        const ModelOwner *owner = &proof->model.owners[i];
        if (owner->kind != OWNER_SWITCHGEAR) {
            continue;
        }
        const SwitchgearRow *row = &set->switchgear.rows[owner->row];
        json_t *choices = json_array();
        json_array_append_new(choices, json_string(row->rest));
        for (size_t pole = 0; pole < set->switch_pole.count; pole++) {
            char **words;
            size_t count = strcmp(set->switch_pole.rows[pole].part, row->part) == 0
                               ? text_split(arena, set->switch_pole.rows[pole].closed_in, &words)
                               : 0;
            for (size_t k = 0; k < count; k++) {
                if (!has_text(choices, words[k])) {
                    json_array_append_new(choices, json_string(words[k]));
                }
            }
        }
        const char *position = proof->supply.positions[phase][i];
        if (*position != '\0' && !has_text(choices, position)) {
            json_array_append_new(choices, json_string(position));
        }
        if (json_array_size(choices) < 2) {
            json_decref(choices);
            continue;
        }
        json_array_append_new(list, json_pack("{s:s,s:s,s:s,s:o}", "item", row->tag, "what",
                                              row->what, "position", position, "choices", choices));
    }
    return list;
}

/* One word "SW_NAV:off" of what a person has put otherwise. False with *problem. */
static bool put_setting(Arena *arena, TableSet *set, const char *phase, const char *word,
                        const char **problem) {
    const char *colon = strchr(word, ':');
    if (colon == NULL || colon == word || colon[1] == '\0') {
        *problem = arena_format(arena, "a setting is ITEM:POSITION, not \"%s\"", word);
        return false;
    }
    const char *item = arena_text(arena, word, (size_t)(colon - word));
    for (size_t i = 0; i < set->setting.count; i++) {
        SettingRow *row = &set->setting.rows[i];
        if (strcmp(row->phase, phase) == 0 && strcmp(row->item, item) == 0) {
            row->position = colon + 1;
            return true;
        }
    }
    SettingRow *row = table_append(set, arena, TABLE_setting);
    row->phase = phase;
    row->item = item;
    row->position = colon + 1;
    return true;
}

/* A proof of the job's rows with other switch positions in one phase. False after refusing. */
static bool prove_otherwise(Asking *asking, const char *phase, char **words, size_t count,
                            Proof *proof) {
    StoreJob job;
    if (!asking_job(asking, &job)) {
        return false;
    }
    proof->findings.arena = &proof->arena;
    Store *store = desk_store(asking->desk);
    Status status = store_load(store, &proof->arena, job, &proof->set, &proof->findings);
    desk_store_done(asking->desk);
    if (!asking_good(asking, status)) {
        return false;
    }
    const char *problem = NULL;
    for (size_t i = 0; i < count; i++) {
        if (!put_setting(&proof->arena, &proof->set, phase, words[i], &problem)) {
            asking_refuse(asking, 400, arena_format(asking->arena, "%s", problem), NULL);
            return false;
        }
    }
    table_set_sort(&proof->set);
    proof_run_set(&(ProofOptions){.no_faults = true, .no_results = true}, proof);
    for (size_t i = 0; i < proof->findings.count; i++) {
        const Finding *finding = &proof->findings.rows[i];
        for (size_t k = 0; k < count && finding->rule == RULE_SUPPLY_SETTING; k++) {
            const char *colon = strchr(words[k], ':');
            const char *item = arena_text(asking->arena, words[k], (size_t)(colon - words[k]));
            if (strstr(finding->message, item) != NULL) {
                asking_refuse(asking, 400, arena_format(asking->arena, "%s", finding->message),
                              NULL);
                return false;
            }
        }
    }
    return is_complete(asking, proof);
}

static void answer_trial(Asking *asking, Proof *proof, StoreAct act, char **keys, size_t count,
                         const char *phase) {
    FailTrial trial;
    const char *problem = NULL;
    if (!fail_try(asking->arena, proof, (const char *const *)keys, count, phase, &trial,
                  &problem)) {
        asking_refuse(asking, 404, arena_format(asking->arena, "%s", problem), NULL);
        return;
    }
    json_t *phases = json_array();
    for (uint32_t i = 0; i < trial.phase_count; i++) {
        json_array_append_new(phases, phase_json(&trial.phases[i]));
    }
    uint32_t row =
        name_map_find(&proof->model.phase_by_name, phase != NULL ? phase : trial.phases[0].phase);
    asking_put_json(asking, 200,
                    json_pack("{s:I,s:o,s:o,s:o}", "act", (json_int_t)act, "items",
                              items_json(&trial), "phases", phases, "switches",
                              switches_json(asking->arena, proof, row)));
}

/* keys: what fails at once; phase: which one (else those that failures are tried in); settings:
 * switches put otherwise in it. */
void ask_trial(Asking *asking) {
    char **keys = NULL;
    char **words = NULL;
    const char *value = asking_value(asking, "keys");
    size_t count = value == NULL ? 0 : text_split(asking->arena, value, &keys);
    value = asking_value(asking, "settings");
    size_t word_count = value == NULL ? 0 : text_split(asking->arena, value, &words);
    const char *phase = asking_value(asking, "phase");
    phase = phase == NULL || *phase == '\0' ? NULL : phase;
    if (word_count > 0 && phase == NULL) {
        asking_refuse(asking, 400, "switches are put otherwise in one phase: name it", NULL);
        return;
    }
    if (word_count > 0) {
        Proof *proof = calloc(1, sizeof *proof);
        CHECK(proof != NULL);
        if (prove_otherwise(asking, phase, words, word_count, proof)) {
            answer_trial(asking, proof, 0, keys, count, phase);
        }
        proof_free(proof);
        free(proof);
        return;
    }
    Live *live = asking_live(asking, LIVE_DRAWN);
    if (live == NULL) {
        return;
    }
    if (is_complete(asking, &live->proof)) {
        answer_trial(asking, &live->proof, live->act, keys, count, phase);
    }
    desk_live_done(asking->desk, live);
}
