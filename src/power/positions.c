/* Method: words that people wrote (settings of the phase, then the actions in order) carry a stamp,
 * later ones a higher one. A contactor with a word moves the switches of its coil circuit that have
 * an earlier word or none; a contactor without one follows its circuit. Where two words of the same
 * stamp contradict each other, that is a finding and the contactor's word counts. */
#include <string.h>

#include "model/report.h"
#include "power/supply.h"

enum { WAY_ROOM = 64 }; /* gates in one leg of a coil circuit; longer ones count as open */

typedef struct Resolver {
    Arena *arena;
    const Model *model;
    const Supply *supply;
    const char **position;
    uint32_t *stamp; /* by owner: 0 no word, 1 setting, 2 and up actions */
    SpotsWalk walk;
    uint32_t way[2 * WAY_ROOM];
    uint32_t way_count;
    uint32_t phase;
    Findings *findings; /* may be NULL */
} Resolver;

/* --- words --------------------------------------------------------------------------------------
 */

static const char *rest_position(const Model *model, OwnerId owner) {
    const ModelOwner *row = &model->owners[owner];
    switch (row->kind) {
    case OWNER_PROTECTION:
        return "closed";
    case OWNER_SWITCHGEAR:
        return model->set->switchgear.rows[row->row].rest;
    case OWNER_UNIT:
    case OWNER_BAR:
    case OWNER_GROUND:
    case OWNER_ANTENNA:
    default:
        return "";
    }
}

/* Row of `setting` for (phase, item), ID_NONE. Rows of a phase are together, sorted by item. */
static uint32_t find_setting(const Model *model, uint32_t phase, const char *item) {
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(model, TABLE_setting, model->set->phase.rows[phase].phase, &count);
    uint32_t low = first;
    uint32_t high = first + count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (text_compare_keys(model->set->setting.rows[middle].item, item) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool found = low < first + count && strcmp(model->set->setting.rows[low].item, item) == 0;
    return found ? low : ID_NONE;
}

const char *supply_position(const Model *model, uint32_t phase, OwnerId item) {
    uint32_t row = find_setting(model, phase, model->owners[item].tag);
    if (row != ID_NONE) {
        return model->set->setting.rows[row].position;
    }
    bool source = model->owners[item].kind == OWNER_UNIT &&
                  model_row(model, TABLE_source, model->owners[item].tag) != ID_NONE;
    return source ? "on" : rest_position(model, item);
}

uint32_t supply_actions(const Model *model, uint32_t situation, uint32_t *count) {
    return model_rows_of(model, TABLE_action, model->set->situation.rows[situation].situation,
                         count);
}

bool supply_put_off(const Model *model, uint32_t situation, uint32_t actions, TerminalId port) {
    if (situation == ID_NONE) {
        return false;
    }
    uint32_t count = 0;
    uint32_t first = supply_actions(model, situation, &count);
    bool off = false;
    for (uint32_t i = first; i < first + count && i < first + actions; i++) {
        if (strcmp(model->set->action.rows[i].item, model->terminals[port].end) == 0) {
            off = strcmp(model->set->action.rows[i].position, "off") == 0;
        }
    }
    return off;
}

/* --- what can be said of an item ----------------------------------------------------------------
 */

/* Words that mean something for an owner: those in which one of its gates conducts, and its rest
 * position; fewer than `room`. */
static size_t known_words(const Resolver *resolver, OwnerId owner, const char **words,
                          size_t room) {
    const Gates *gates = &resolver->supply->gates;
    const Model *model = resolver->model;
    size_t count = 0;
    words[count++] = rest_position(model, owner);
    for (uint32_t i = gates->owner_first[owner]; i < gates->owner_first[owner + 1]; i++) {
        const char *place = gates->rows[i].closed_in;
        const char *word = NULL;
        size_t length = 0;
        while (count < room && text_next_word(&place, &word, &length)) {
            words[count++] = arena_text(resolver->arena, word, length);
        }
    }
    return count;
}

/* A position in which no gate of the item conducts is its rest position or a plain word for open;
 * anything else is most likely misspelt. */
static void check_position(const Resolver *resolver, TableId table, uint32_t row, OwnerId owner,
                           const char *position) {
    enum { ROOM = 64 };
    static const char *const OPEN[] = {"open", "off", "closed", "on", "out", "in"};
    const char *words[ROOM];
    size_t count = known_words(resolver, owner, words, ROOM);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(words[i], position) == 0) {
            return;
        }
    }
    for (size_t i = 0; i < sizeof OPEN / sizeof *OPEN; i++) {
        if (strcmp(OPEN[i], position) == 0) {
            return;
        }
    }
    const char *nearest = text_nearest(position, words, count);
    Finding *finding = report_row(resolver->findings, resolver->model, RULE_SUPPLY_SETTING, table,
                                  row, "position", "%s has no position %s that closes anything",
                                  resolver->model->owners[owner].tag, position);
    if (nearest != NULL && *nearest != '\0') {
        finding->hint = arena_format(resolver->findings->arena, "did you mean %s?", nearest);
        return;
    }
    Buffer list = {.arena = resolver->findings->arena};
    for (size_t i = 0; i < count; i++) {
        bool before = false;
        for (size_t k = 0; k < i; k++) {
            before = before || strcmp(words[k], words[i]) == 0;
        }
        if (!before && *words[i] != '\0') {
            buffer_format(&list, "%s%s", list.length == 0 ? "its positions are: " : ", ", words[i]);
        }
    }
    finding->hint = list.length == 0 ? "" : list.bytes;
}

static void unknown_item(const Resolver *resolver, TableId table, uint32_t row, const char *item) {
    Finding *finding = report_row(resolver->findings, resolver->model, RULE_SUPPLY_SETTING, table,
                                  row, "item", "nothing in this job is called %s", item);
    report_meant(resolver->findings, finding, resolver->model, item);
}

static void say(Resolver *resolver, TableId table, uint32_t row, const char *item,
                const char *position, uint32_t stamp) {
    OwnerId owner = model_owner(resolver->model, item);
    if (owner == ID_NONE) {
        if (resolver->findings != NULL && model_terminal(resolver->model, item) == ID_NONE) {
            unknown_item(resolver, table, row, item);
        }
        return;
    }
    OwnerKind kind = resolver->model->owners[owner].kind;
    if (resolver->findings != NULL && (kind == OWNER_SWITCHGEAR || kind == OWNER_PROTECTION)) {
        check_position(resolver, table, row, owner, position);
    }
    resolver->position[owner] = position;
    resolver->stamp[owner] = stamp;
}

static void say_all(Resolver *resolver, uint32_t situation, uint32_t actions) {
    const Model *model = resolver->model;
    const TableSet *set = model->set;
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        resolver->position[owner] = rest_position(model, owner);
    }
    for (size_t i = 0; i < set->source.count; i++) {
        OwnerId owner = model_owner(model, set->source.rows[i].unit);
        if (owner != ID_NONE) {
            resolver->position[owner] = "on";
        }
    }
    uint32_t count = 0;
    uint32_t first =
        model_rows_of(model, TABLE_setting, set->phase.rows[resolver->phase].phase, &count);
    for (uint32_t i = first; i < first + count; i++) {
        const SettingRow *row = &set->setting.rows[i];
        say(resolver, TABLE_setting, i, row->item, row->position, 1);
    }
    if (situation == ID_NONE) {
        return;
    }
    const char *lost = set->situation.rows[situation].lost;
    const char *word = NULL;
    size_t length = 0;
    while (text_next_word(&lost, &word, &length)) {
        OwnerId owner = model_owner(model, arena_text(resolver->arena, word, length));
        if (owner != ID_NONE) {
            resolver->position[owner] = "off";
            resolver->stamp[owner] = 1;
        } else if (resolver->findings != NULL) {
            unknown_item(resolver, TABLE_situation, situation,
                         arena_text(resolver->arena, word, length));
        }
    }
    first = supply_actions(model, situation, &count);
    for (uint32_t i = 0; i < count && i < actions; i++) {
        const ActionRow *row = &set->action.rows[first + i];
        say(resolver, TABLE_action, first + i, row->item, row->position, 2 + i);
    }
}

/* --- coil circuits ------------------------------------------------------------------------------
 */

/* Finds both legs of a coil's circuit into resolver->way. */
static bool find_circuit(Resolver *resolver, const SupplyCoil *coil, uint32_t movable_below) {
    const Spots *spots = &resolver->supply->spots;
    const char *const *position = resolver->position;
    uint32_t count = 0;
    resolver->way_count = 0;
    if (!spots_coil_way(spots, position, resolver->stamp, movable_below, false,
                        spots->point_spot[coil->minus], &resolver->walk, resolver->way, WAY_ROOM,
                        &count)) {
        return false;
    }
    resolver->way_count = count;
    if (!spots_coil_way(spots, position, resolver->stamp, movable_below, true,
                        spots->point_spot[coil->plus], &resolver->walk, resolver->way + count,
                        WAY_ROOM, &count)) {
        return false;
    }
    resolver->way_count += count;
    return true;
}

static const char *first_word(Arena *arena, const char *list) {
    const char *word = NULL;
    size_t length = 0;
    return text_next_word(&list, &word, &length) ? arena_text(arena, word, length) : "";
}

/* The contactor has no word of its own (any more). */
static void let_follow(Resolver *resolver, const SupplyCoil *coil) {
    resolver->stamp[coil->owner] = 0;
    resolver->position[coil->owner] = coil->rest;
}

static void contradiction(Resolver *resolver, const SupplyCoil *coil, const char *what) {
    if (resolver->findings == NULL) {
        return;
    }
    const Model *model = resolver->model;
    uint32_t row = find_setting(model, resolver->phase, model->owners[coil->owner].tag);
    const char *phase = model->set->phase.rows[resolver->phase].phase;
    Finding *finding =
        row != ID_NONE
            ? report_row(resolver->findings, model, RULE_SUPPLY_CONTACTOR, TABLE_setting, row,
                         "position", "%s is set %s in phase %s, but %s",
                         model->owners[coil->owner].tag, resolver->position[coil->owner], phase,
                         what)
            : report_owner(resolver->findings, model, RULE_SUPPLY_CONTACTOR, coil->owner,
                           "%s is put %s in phase %s, but %s", model->owners[coil->owner].tag,
                           resolver->position[coil->owner], phase, what);
    finding->hint = "set the switch in its coil circuit too, or leave the contactor's setting out";
}

/* Moves the switches that a contactor with a word needs moved. */
static void command(Resolver *resolver, const SupplyCoil *coil) {
    uint32_t stamp = resolver->stamp[coil->owner];
    const Gates *gates = &resolver->supply->gates;
    bool energise = strcmp(resolver->position[coil->owner], coil->rest) != 0;
    if (energise) {
        if (!find_circuit(resolver, coil, stamp)) {
            if (find_circuit(resolver, coil, UINT32_MAX)) {
                /* Only later or equal words stand in the way. */
                bool later = false;
                for (uint32_t i = 0; i < resolver->way_count; i++) {
                    later = later || resolver->stamp[gates->rows[resolver->way[i]].owner] > stamp;
                }
                if (later) {
                    let_follow(resolver, coil);
                    return;
                }
            }
            contradiction(resolver, coil, "no switch closes its coil circuit");
            return;
        }
        for (uint32_t i = 0; i < resolver->way_count; i++) {
            const Gate *gate = &gates->rows[resolver->way[i]];
            if (!gates_closed(gate, resolver->position[gate->owner])) {
                resolver->position[gate->owner] = first_word(resolver->arena, gate->closed_in);
                resolver->stamp[gate->owner] = stamp;
            }
        }
        return;
    }
    for (uint32_t round = 0; find_circuit(resolver, coil, 0); round++) {
        const Gate *movable = NULL;
        bool later = false;
        for (uint32_t i = 0; i < resolver->way_count && movable == NULL; i++) {
            const Gate *gate = &gates->rows[resolver->way[i]];
            if (gate->kind == GATE_SWITCH) {
                movable = resolver->stamp[gate->owner] < stamp ? gate : NULL;
                later = later || resolver->stamp[gate->owner] > stamp;
            }
        }
        if (movable == NULL && later) {
            let_follow(resolver, coil);
            return;
        }
        if (movable == NULL || round >= WAY_ROOM) {
            contradiction(resolver, coil, "its coil circuit is closed");
            return;
        }
        const char *rest = rest_position(resolver->model, movable->owner);
        resolver->position[movable->owner] = gates_closed(movable, rest) ? "open" : rest;
        resolver->stamp[movable->owner] = stamp;
    }
}

/* Contactors without a word follow their circuits; a circuit may pass another contactor. */
static void follow(Resolver *resolver) {
    enum { ROUNDS = 16 };
    const Supply *supply = resolver->supply;
    bool moved = true;
    for (uint32_t round = 0; moved && round < ROUNDS; round++) {
        moved = false;
        for (uint32_t i = 0; i < supply->coil_count; i++) {
            const SupplyCoil *coil = &supply->coils[i];
            if (resolver->stamp[coil->owner] != 0) {
                continue;
            }
            const char *to = find_circuit(resolver, coil, 0) ? coil->energised : coil->rest;
            moved = moved || strcmp(to, resolver->position[coil->owner]) != 0;
            resolver->position[coil->owner] = to;
        }
    }
}

const char *const *supply_positions(Arena *out, const Model *model, const Supply *supply,
                                    uint32_t phase, uint32_t situation, uint32_t actions,
                                    Findings *findings) {
    Resolver resolver = {
        .arena = out,
        .model = model,
        .supply = supply,
        .position = ARENA_ARRAY(out, const char *, model->owner_count),
        .stamp = ARENA_ARRAY(out, uint32_t, model->owner_count),
        .walk = spots_walk_new(out, &supply->spots),
        .phase = phase,
        .findings = findings,
    };
    say_all(&resolver, situation, actions);
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        if (resolver.stamp[supply->coils[i].owner] != 0) {
            command(&resolver, &supply->coils[i]);
        }
    }
    follow(&resolver);
    return resolver.position;
}

/* Puts the owner of `gate` where the gate conducts; a contactor by closing its coil circuit. */
static void close_gate(Resolver *resolver, const Gate *gate) {
    const Supply *supply = resolver->supply;
    if (gates_closed(gate, resolver->position[gate->owner])) {
        return;
    }
    resolver->position[gate->owner] = first_word(resolver->arena, gate->closed_in);
    resolver->stamp[gate->owner] = 1;
    for (uint32_t i = 0; i < supply->coil_count; i++) {
        if (supply->coils[i].owner == gate->owner) {
            command(resolver, &supply->coils[i]);
        }
    }
}

const char *const *supply_close_feed(Arena *out, const Model *model, const Supply *supply,
                                     const char *const *positions, uint32_t feed) {
    Resolver resolver = {
        .arena = out,
        .model = model,
        .supply = supply,
        .position = ARENA_ARRAY(out, const char *, model->owner_count),
        .stamp = ARENA_ARRAY(out, uint32_t, model->owner_count),
        .walk = spots_walk_new(out, &supply->spots),
    };
    for (OwnerId owner = 0; owner < model->owner_count; owner++) {
        resolver.position[owner] = positions[owner];
    }
    const Gates *gates = &supply->gates;
    const ModelFeed *row = &model->feeds[feed];
    for (uint32_t i = 0; i < row->step_count; i++) {
        const FeedStep *step = &model->steps[row->step_first + i];
        for (uint32_t g = gates->owner_first[step->owner]; g < gates->owner_first[step->owner + 1];
             g++) {
            const Gate *gate = &gates->rows[g];
            TerminalId a = gate->a < model->pin_count ? model->pins[gate->a].terminal : ID_NONE;
            TerminalId b = gate->b < model->pin_count ? model->pins[gate->b].terminal : ID_NONE;
            if ((a == step->in && b == step->out) || (a == step->out && b == step->in)) {
                close_gate(&resolver, gate);
                break;
            }
        }
    }
    return resolver.position;
}
