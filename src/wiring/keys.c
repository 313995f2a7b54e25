/* Permanent keys. A conductor is the same one as long as its circuit, its two ends
 * and its core are the same; the `allot` rows keep which key it has. New conductors take the
 * numbers after the highest one ever given, in the order of circuit, ends and core. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "wiring/derive.h"

#define NUMBER_MAX 99999999u

/* --- order of ends ---------------------------------------------------------------------------- */

typedef struct CableOrder {
    TerminalId from;
    TerminalId to;
    CableId cable;
} CableOrder;

static int compare_cables(const void *left, const void *right) {
    const CableOrder *a = left;
    const CableOrder *b = right;
    if (a->from != b->from) {
        return a->from < b->from ? -1 : 1;
    }
    if (a->to != b->to) {
        return a->to < b->to ? -1 : 1;
    }
    return a->cable < b->cable ? -1 : (a->cable > b->cable ? 1 : 0);
}

/* By cable: the cables of each net in the order of their ends (ids of terminals follow the order of
 * their names). */
static CableOrder *order_cables(Deriver *deriver) {
    const Wiring *wiring = deriver->wiring;
    CableOrder *order = ARENA_ARRAY(&deriver->scratch, CableOrder, wiring->cable_count);
    for (CableId i = 0; i < wiring->cable_count; i++) {
        order[i] = (CableOrder){wiring->cables[i].from, wiring->cables[i].to, i};
    }
    for (NetId i = 0; i < wiring->net_count; i++) {
        const Net *net = &wiring->nets[i];
        if (net->cable_count > 1) {
            qsort(order + net->cable_first, net->cable_count, sizeof *order, compare_cables);
        }
    }
    return order;
}

/* The first cable of the net between those ends in that direction, ID_NONE. */
static CableId find_cable(const CableOrder *order, const Net *net, TerminalId from, TerminalId to) {
    uint32_t low = net->cable_first;
    uint32_t high = net->cable_first + net->cable_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        bool before =
            order[middle].from != from ? order[middle].from < from : order[middle].to < to;
        if (before) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool found =
        low < net->cable_first + net->cable_count && order[low].from == from && order[low].to == to;
    return found ? order[low].cable : ID_NONE;
}

/* --- reading kept keys ------------------------------------------------------------------------ */

/* The number of a key "W0412"; 0 when it is not one of ours. */
static uint32_t key_number(const char *key) {
    if (key[0] != 'W' || key[1] == '\0') {
        return 0;
    }
    uint32_t number = 0;
    for (const char *c = key + 1; *c != '\0'; c++) {
        if (!isdigit((unsigned char)*c) || number > NUMBER_MAX / 10) {
            return 0;
        }
        number = number * 10 + (uint32_t)(*c - '0');
    }
    return number;
}

static void report_allot(Deriver *deriver, uint32_t row, const char *message, const char *hint) {
    Finding *finding = report_row(deriver->findings, deriver->model, RULE_WIRE_ALLOT, TABLE_allot,
                                  row, "wire", "%s", message);
    finding->hint = hint;
}

/* The conductor that an allot row speaks of, ID_NONE when it is no longer there. Ends may stand in
 * either order: turning a link round is no new wire. */
static ConductorId kept_conductor(const Deriver *deriver, const CableOrder *order,
                                  const AllotRow *row) {
    const Wiring *wiring = deriver->wiring;
    NetId id = name_map_find(&wiring->net_by_name, row->circuit);
    TerminalId from = model_terminal(deriver->model, row->from_end);
    TerminalId to = model_terminal(deriver->model, row->to_end);
    if (id == NAME_NONE || from == ID_NONE || to == ID_NONE || row->core < 1) {
        return ID_NONE;
    }
    CableId cable_id = find_cable(order, &wiring->nets[id], from, to);
    if (cable_id == ID_NONE) {
        cable_id = find_cable(order, &wiring->nets[id], to, from);
    }
    if (cable_id == ID_NONE) {
        return ID_NONE;
    }
    const Cable *cable = &wiring->cables[cable_id];
    return (uint32_t)row->core <= cable->conductor_count
               ? cable->conductor_first + (uint32_t)row->core - 1
               : ID_NONE;
}

/* Gives kept keys. Returns the highest number ever given. */
static uint32_t keep_keys(Deriver *deriver, const CableOrder *order) {
    const TableSet *set = deriver->model->set;
    NameMap seen = {0};
    uint32_t highest = 0;
    for (uint32_t i = 0; i < set->allot.count; i++) {
        const AllotRow *row = &set->allot.rows[i];
        uint32_t number = key_number(row->wire);
        highest = number > highest ? number : highest;
        if (number == 0) {
            report_allot(deriver, i, "a wire key is W and a number",
                         "let the tool write this table");
            continue;
        }
        if (name_map_add(&seen, &deriver->scratch, row->wire, i) != NAME_NONE) {
            report_allot(deriver, i, "this key is given twice", "let the tool write this table");
            continue;
        }
        ConductorId id = row->retired == 1 ? ID_NONE : kept_conductor(deriver, order, row);
        if (id == ID_NONE) {
            continue; /* retired, or taken out since: the number stays used */
        }
        Conductor *conductor = &deriver->wiring->conductors[id];
        if (conductor->kept) {
            report_allot(deriver, i, "two keys are kept for one conductor",
                         "let the tool write this table");
            continue;
        }
        conductor->key = row->wire;
        conductor->kept = true;
    }
    return highest;
}

/* --- new keys --------------------------------------------------------------------------------- */

void derive_keys(Deriver *deriver) {
    Wiring *wiring = deriver->wiring;
    const CableOrder *order = order_cables(deriver);
    uint32_t next = keep_keys(deriver, order) + 1;
    for (CableId i = 0; i < wiring->cable_count; i++) { /* cables lie in the order of nets */
        const Cable *cable = &wiring->cables[order[i].cable];
        for (uint32_t core = 0; core < cable->conductor_count; core++) {
            Conductor *conductor = &wiring->conductors[cable->conductor_first + core];
            if (!conductor->kept) {
                conductor->key = arena_format(deriver->out, "W%04u", next++);
            }
        }
    }
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        name_map_add(&wiring->conductor_by_key, deriver->out, wiring->conductors[i].key, i);
    }
}

/* --- rows to keep ----------------------------------------------------------------------------- */

static void add_allot_row(Arena *arena, TableSet *out, AllotRow row) {
    AllotRow *slot = table_append(out, arena, TABLE_allot);
    row.row_at = slot->row_at;
    *slot = row;
}

static int compare_allot(const void *left, const void *right) {
    const AllotRow *a = left;
    const AllotRow *b = right;
    int order = text_compare_keys(a->circuit, b->circuit);
    order = order != 0 ? order : text_compare_keys(a->from_end, b->from_end);
    order = order != 0 ? order : text_compare_keys(a->to_end, b->to_end);
    order = order != 0 ? order : (a->core > b->core) - (a->core < b->core);
    return order != 0 ? order : text_compare_keys(a->wire, b->wire);
}

void wiring_allot_rows(Arena *arena, const Model *model, const Wiring *wiring, TableSet *out) {
    for (ConductorId i = 0; i < wiring->conductor_count; i++) {
        const Conductor *conductor = &wiring->conductors[i];
        const Cable *cable = &wiring->cables[conductor->cable];
        add_allot_row(arena, out,
                      (AllotRow){
                          .circuit = wiring->nets[cable->net].name,
                          .from_end = model->terminals[cable->from].end,
                          .to_end = model->terminals[cable->to].end,
                          .core = conductor->core + 1,
                          .wire = conductor->key,
                          .retired = INT_BLANK,
                      });
    }
    for (size_t i = 0; i < model->set->allot.count; i++) {
        AllotRow row = model->set->allot.rows[i];
        if (key_number(row.wire) != 0 &&
            name_map_find(&wiring->conductor_by_key, row.wire) == NAME_NONE) {
            row.retired = 1;
            add_allot_row(arena, out, row);
        }
    }
    if (out->allot.count > 1) {
        qsort(out->allot.rows, out->allot.count, sizeof *out->allot.rows, compare_allot);
    }
}
